"""A second opinion on Flange face, Face steps and Level: every cell, from what is typed and what other sheets hold.

A face is a plane whose slope comes out of four readings; a lean is the angle between two parts, plane by plane; the
drilled face is drawn hole by hole. Of the templates nothing is used but limits, which the sheets print with their
source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from gauges import (
    HAIR,
    OPEN,
    OUTSIDE,
    QUARTERS,
    WITHIN,
    across,
    bounded,
    clock_text,
    counts_told,
    fine,
    fit_round,
    hours_of,
    number,
    points,
    resultant,
    said_nothing,
    steps,
)
from live import Live, Place, Value
from staged_flanges import flanges_of
from walk import Walk

OWN = frozenset(
    {"faces", "levels", "flange_rings", "hole_line", "wanted_holes", "pins_line", "flange_legs", "flange_items"}
)
"""Tables and sheets that are looked at; what they hold is never read here."""

UNITS = ("degrees", "mm/m", "in/ft")

FACE_SLOPE = {"inch": 3 / 64 / 12, "mm": 0.0039}
FACE_LEAST = {"inch": 1 / 32, "mm": 0.8}
"""PFI ES-3 Fig. 1."""
ASSEMBLY_SLOPE = {"inch": 1 / 16 / 12, "mm": 0.005}
"""ASME B31.3 335.1.1(c): 1/16 in per ft, 1 mm in 200 mm."""
SEALING = {"inch": 1 / 32, "mm": 0.8}
"""ASME PCC-1 Appendix E."""
MARKS_LEAST = {"inch": 0.5, "mm": 10.0}
FAR_MOST = {"inch": 1 / 8, "mm": 3.0}
"""PFI ES-3 2.2: linear tolerance of NPS 10 and under."""
LEAST_TURN = 0.01
"""Degrees: a lean under this points nowhere."""


def squareness_limit(od: float, edition: str) -> float:
    """PFI ES-3: how far a face or an end may be out of square across this diameter."""
    return max(FACE_SLOPE[edition] * od, FACE_LEAST[edition])


# -- what stands on other sheets ---------------------------------------------------------------------------------------


@dataclass
class Held:
    """What is typed, and what other sheets hold then.

    Attributes:
        book: the open workbook.
        typed: by name and row.
        columns: of other sheets, by name.
    """

    book: Live
    typed: Mapping[Place, Value]
    columns: Mapping[str, list[Any]]

    @property
    def edition(self) -> str:
        """inch or mm."""
        return self.book.edition

    def __call__(self, name: str, row: int = 0) -> Any:
        """A value of another sheet."""
        return self.columns[name][row]

    def number(self, name: str, row: int = 0) -> float | None:
        """A number of another sheet, None where there is none."""
        return number(self.columns[name][row])

    def said(self, name: str, row: int = 0) -> Value:
        """What is typed in a cell; a blank and an empty text are None."""
        value = self.typed.get((name, row))
        return None if value == "" else value

    def reading(self, name: str, row: int = 0) -> float | None:
        """A reading that is typed; text is none."""
        return number(self.said(name, row))

    def rows(self, table: str) -> int:
        """How many rows a table has."""
        return self.book.book.tables[table].fields[0].rows


READ = (
    "flanges.spool", "flanges.flange", "flanges.facing", "flanges.leg_row", "flanges.od", "flanges.raised_face_od",
    "flanges.kind", "flanges.label", "flanges.bolt_count", "flanges.bolt_circle", "flanges.hole",
    "drilled.flange_row", "drilled.error_drawn", "drilled.target_drawn", "drilled.pin_lean", "drilled.pin_half",
    "legs.od", "legs.wall", "legs.ux", "legs.uy", "legs.uz", "legs.upright", "legs.takeout_end",
    "joints.spool", "joints.joint", "joints.first_part", "joints.second_part", "joints.leg_row", "joints.kind",
    "joints.root_diameter", "joints.side", "joints.before", "joints.item_row", "cuts.mark", "cuts.cut_length",
    "joints.gap_mean", "flanges.side",
    "items.ends", "items.length_taken", "items.side_take",
    "rules.root_gap", "rules.root_gap_min", "rules.root_gap_max", "rules.root_face",
)  # fmt: skip


class Elsewhere:
    """What other sheets hold, whatever is typed on them; readings of a face or a lean change nothing there.

    Args:
        book: the workbook as built.
    """

    def __init__(self, book: Live) -> None:
        assert not {name.partition(".")[0] for name in READ} & OWN
        self.book = book
        self.known: dict[frozenset[tuple[Place, Value]], Mapping[str, list[Any]]] = {}

    def held(self, typed: Mapping[Place, Value], unmoved: frozenset[str] = frozenset()) -> Held:
        """These cells typed, and what follows from them.

        Args:
            typed: by name and row.
            unmoved: more sheets on which nothing that matters here follows from what is typed.
        """
        still = OWN | unmoved
        there = {place: value for place, value in typed.items() if place[0].partition(".")[0] not in still}
        key = frozenset(there.items())
        if key not in self.known:
            self.book.put_all(there)
            self.known[key] = {name: self.book.column(name) for name in READ}
            self.book.reset()
        rules = {name: [typed[name, 0]] for name in READ if name.startswith("rules.") and (name, 0) in typed}
        return Held(self.book, typed, {**self.known[key], **rules})


def leg_of(held: Held, table: str, row: int) -> int | None:
    """Row of the leg that a flange or a joint is listed with, 0-based; None where none is listed."""
    at = held.number(f"{table}.leg_row", row)
    return None if at is None else int(at) - 1


SLIPS: Mapping[str, tuple[str, tuple[str, float, float], tuple[str, float, float]]] = {
    "faces.marks": ("Marks apart", ("in", 0.5, 100.0), ("mm", 10.0, 2500.0)),
    "levels.read_in": ("Read in", ("", 0.0, 0.0), ("", 0.0, 0.0)),
    "levels.first_12": ("first", ("", -1000.0, 1000.0), ("", -1000.0, 1000.0)),
    "levels.second_12": ("second", ("", -1000.0, 1000.0), ("", -1000.0, 1000.0)),
    "levels.first_3": ("first", ("", -1000.0, 1000.0), ("", -1000.0, 1000.0)),
    "levels.second_3": ("second", ("", -1000.0, 1000.0), ("", -1000.0, 1000.0)),
    "levels.fall": ("Design fall", ("in/ft", -12.0, 12.0), ("mm/m", -1000.0, 1000.0)),
    "levels.length_typed": ("Length to look at", ("in", 0.0, 120000.0), ("mm", 0.0, 3000000.0)),
}
"""Typed cells that slips of the keys are tried in: what they are called, unit, least and most; inch and mm."""


def slips(held: Held, table: str, row: int) -> str:
    """What a row says of cells that hold no number, or none that can be."""
    told = ""
    for name, (label, *ranges) in SLIPS.items():
        value = held.said(name, row)
        unit, least, most = ranges[0 if held.edition == "inch" else 1]
        if not name.startswith(f"{table}.") or value is None:
            continue
        if name == "levels.read_in":
            told += "" if value in UNITS else f"{label}: not in the list. "
        elif not isinstance(value, float):
            told += f"{label}: not a number. "
        elif not least <= value <= most:
            word, bound = ("under", least) if value < least else ("over", most)
            in_words = "1/2" if bound == 0.5 else f"{bound:.0f}"
            told += f"{label}: {word} {in_words} {unit}".rstrip() + ". "
    return told


# -- faces -------------------------------------------------------------------------------------------------------------


def forward(held: Held, row: int, clock: str) -> float | None:
    """How far the face stands forward at a clock, over the length between the marks.

    With tape and blade the pipe falls away from a blade that leans out where the face stands forward; with the arm of
    a square over the face the gap opens towards where it lies back, and nothing typed means that the arm touches.
    """
    near, far = (held.reading(f"faces.{mark}_{clock}", row) for mark in ("near", "far"))
    if held.said("faces.way", row) == "gap":
        if near is None and far is None:
            return None
        return bounded(near or 0.0) - bounded(far or 0.0)
    if near is None or far is None:
        return None
    return bounded(far) - bounded(near)


def expected_faces(held: Held) -> dict[Place, Value]:
    """Every cell of Flange face, by name and row."""
    found: dict[Place, Value] = {}
    for row in range(held.rows("faces")):
        found |= {(f"faces.{name}", row): value for name, value in face_line(held, row).items()}
    verdicts = [found["faces.verdict", row] for row in range(held.rows("faces"))]
    found["faces.told", 0] = counts_told([verdict for verdict in verdicts if verdict is not None])
    return found


def face_line(held: Held, row: int) -> dict[str, Value]:
    """A row of Flange face."""
    edition = held.edition
    leg = leg_of(held, "flanges", row)
    marks = held.reading("faces.marks", row)
    apart = bounded(marks) if marks is not None and marks >= MARKS_LEAST[edition] - HAIR else None
    read = {clock: None if apart is None else forward(held, row, clock) for clock in QUARTERS}
    od = None if leg is None else held.number("flanges.od", row)
    line: dict[str, Value] = {"apart": apart, "od": od}
    line |= {f"read_{clock}": value for clock, value in read.items()}
    up = side = error = warp = None
    if od is not None and apart is not None:
        share = od / apart
        up, side = (half_difference(read[one], read[other], share) for one, other in (("12", "6"), ("3", "9")))
        diagonals = dict.fromkeys(("1_30", "4_30", "7_30", "10_30"))
        plane = fit_round(read | diagonals)
        if plane is not None:
            error, warp = plane.mean * share, plane.twice * share
    line |= {"face_up": up, "face_side": side, "square_error": error, "warp": warp}
    tilt = None if up is None or side is None else resultant(up, side)
    at = None if up is None or side is None or tilt is None or not points(tilt, edition) else hours_of(up, side)
    limit = None if od is None else squareness_limit(od, edition)
    together = None if od is None else ASSEMBLY_SLOPE[edition] * od
    raised = None if leg is None else held.number("flanges.raised_face_od", row)
    sealing = None if od is None else raised if raised is not None else od
    at_seal = None if tilt is None or od is None or sealing is None else tilt * sealing / od
    line |= {
        "face_tilt": tilt,
        "face_at": at,
        "limit": limit,
        "assembly_limit": together,
        "sealing_diameter": sealing,
        "sealing_tilt": at_seal,
    }
    alone = ""
    line["mate"] = None
    if tilt is not None and together is not None and at_seal is not None:
        fits = (tilt <= together + HAIR, at_seal <= SEALING[edition] + HAIR)
        marked = zip(fits, (together, SEALING[edition]), strict=True)
        line["mate"] = "; ".join(f"{'✓' if fit else '✗'} {fine(most, edition)}" for fit, most in marked)
        alone = "" if all(fits) else " Alone it uses up what two faces may have between them at assembly."
    line["mate_said"] = alone or None
    cautions = ""
    if warp is not None and abs(warp) > FACE_LEAST[edition] + HAIR:
        cautions += f"Not flat by {fine(warp, edition)}, or a slip in one reading. "
    if error is not None and abs(error) > FACE_LEAST[edition] + HAIR:
        cautions += (
            f"All four sides read alike by {fine(error, edition)}: turn the square round, look for a hub or a raised "
            "face under it. "
        )
    stops = "" if leg is None else slips(held, "faces", row)
    line |= {"cautions": cautions or None, "stops": stops or None, "message": stops + cautions or None}
    if leg is None:
        blank = (
            "spool", "flange", "three_at", "leg_row", "wedge", "verdict", "action", "largest", "bad", "butt",
            "root_diameter", "how_to", "wedge_said", "joint_row", "gap_now", "room_close", "room_open", "missing_said",
        )  # fmt: skip
        return line | dict.fromkeys(blank)
    largest = max([0.0, *(abs(value) for value in (up, side) if value is not None)])
    bad = limit is not None and max(largest, tilt or 0.0) > limit + HAIR
    butt = held("flanges.kind", row) in ("weld_neck_flange", "lap_joint")
    root = root_across(held, leg) if butt else None
    wedge = None if tilt is None or root is None or od is None else tilt * root / od
    weld = weld_of(held, row, leg)
    gap = gap_of(held, weld)
    room = rooms(held, gap)
    told = None if at is None or wedge is None else wedge_words(held, wedge, at, gap, room)
    how = None
    if at is not None:
        how = told
        if told is None and butt:
            how = f"close the root gap there, or open it at {clock_text(across(at))}"
        elif told is None:
            how = f"draw it back there, or forward at {clock_text(across(at))}, before the next tack"
        how = f"{how}."
    line |= {
        "spool": held("flanges.spool", row),
        "flange": held("flanges.flange", row),
        "three_at": "right" if held("flanges.facing", row) == 1 else "left",
        "leg_row": float(leg + 1),
        "wedge": wedge,
        "largest": largest,
        "bad": float(bad),
        "butt": float(butt),
        "root_diameter": root,
        "joint_row": 0.0 if weld is None else weld + 1.0,
        "gap_now": gap,
        "room_close": room[0],
        "room_open": room[1],
        "wedge_said": told,
        "how_to": how,
        "missing_said": face_asked(held, row, apart, read),
    }
    line["verdict"] = OUTSIDE if bad else OPEN if tilt is None or limit is None else WITHIN
    typed = ("marks", *(f"{side}_{clock}" for side in ("near", "far") for clock in read))
    untouched = all(held.reading(f"faces.{name}", row) is None for name in typed)
    line["action"] = face_action(line, edition, alone, untouched)
    return line


def half_difference(one: float | None, other: float | None, share: float) -> float | None:
    """Slope between opposite sides, across the flange: an error of the square falls out."""
    return None if one is None or other is None else (one - other) / 2 * share


def root_across(held: Held, leg: int) -> float | None:
    """Mean root diameter of the weld behind a flange: the bore and a land; None where there is none."""
    od, wall, land = held.number("legs.od", leg), held.number("legs.wall", leg), held.number("rules.root_face")
    if od is None or wall is None or land is None:
        return None
    root = od - 2 * wall + land
    return root if root > 0 else None


def weld_of(held: Held, row: int, leg: int) -> int | None:
    """Row on Fit-up of the weld of a flange at a leg's start or end, 0-based; None beside an item."""
    side = held("flanges.side", row)
    legs, sides = held.columns["joints.leg_row"], held.columns["joints.side"]
    found = [at for at, each in enumerate(zip(legs, sides, strict=True)) if each == (leg + 1, side)]
    return found[0] if found and side != "item" else None


def gap_of(held: Held, joint: int | None) -> float | None:
    """The mean gap of a weld as it is read, or the one that Rules want."""
    read = None if joint is None else held.number("joints.gap_mean", joint)
    return held.number("rules.root_gap") if read is None else bounded(read)


def rooms(held: Held, gap: float | None) -> tuple[float, float]:
    """How far a root gap may be closed, and opened, within its limits."""
    low, high = (held.number(f"rules.root_gap_{end}") for end in ("min", "max"))
    close = 0.0 if gap is None or low is None else max(0.0, gap - low)
    return close, 0.0 if gap is None or high is None else max(0.0, high - gap)


def amount_said(amount: float, edition: str) -> str:
    """An amount as a gauge shows it; what none shows is a hair."""
    return "a hair" if said_nothing(amount, edition) else fine(amount, edition)


def wedge_words(held: Held, wedge: float, at: float, gap: float | None, room: tuple[float, float]) -> str:
    """How a wedge is spread over the root gap, so that the gap stays within its limits on both sides."""
    edition, opposite = held.edition, clock_text(across(at))
    by, (close, widen) = amount_said(wedge, edition), room
    low, high = held.number("rules.root_gap_min"), held.number("rules.root_gap_max")
    limits_known = None not in (gap, low, high)
    closes, opens = wedge <= close + HAIR, wedge <= widen + HAIR
    if not limits_known or (closes and opens):
        return f"close the root gap there by {by}, or open it at {opposite} by as much"
    if closes:
        return f"close the root gap there by {by}"
    if opens:
        return f"open the root gap at {opposite} by {by}"
    if wedge <= close + widen + HAIR:
        rest = amount_said(wedge - close, edition)
        return f"close the root gap there by {amount_said(close, edition)} and open it at {opposite} by {rest}"
    return (
        f"that is a wedge of {by}, more than the root gap has room for: "
        "dress the pipe's end square (Ends) and fit it again"
    )


def face_asked(held: Held, row: int, apart: float | None, read: Mapping[str, float | None]) -> str:
    """What is still to be read, as the sentence goes on after Read."""
    missing = [clock for clock, value in read.items() if value is None]
    if held.reading("faces.marks", row) is None:
        return "how far the marks are apart"
    if apart is None:
        return "marks further apart"
    what = "the gap at" if held.said("faces.way", row) == "gap" else "near and far mark at"
    return f"{what} {', '.join(missing)}"


def face_action(line: Mapping[str, Any], edition: str, alone: str, untouched: bool) -> str:
    """What to do with a face.

    Args:
        line: what its row shows.
        edition: inch or mm.
        alone: what is said of its mate.
        untouched: whether nothing of it is typed yet.
    """
    tilt, limit, at = line["face_tilt"], line["limit"], line["face_at"]
    if limit is None:
        return "No such flange in the tables: no diameter to measure across."
    if line["bad"] and tilt is None:
        just = "just " if fine(line["largest"], edition) == fine(limit, edition) else ""
        out = f"Out by {fine(line['largest'], edition)} on one pair, {just}over {fine(limit, edition)}"
        return f"{out}: read the other pair too."
    if line["bad"]:
        most = "just over" if fine(tilt, edition) == fine(limit, edition) else "limit"
        return f"Forward at {clock_text(at)} by {fine(tilt, edition)} ({most} {fine(limit, edition)}): {line['how_to']}"
    if tilt is not None and (at is None or said_nothing(tilt, edition)):
        return f"Square.{alone}"
    if tilt is not None:
        return f"Within the shop limit; forward at {clock_text(at)} by {fine(tilt, edition)}.{alone}"
    return "Square and tape at 12, 3, 6 and 9." if untouched else f"Read {line['missing_said']}."


# -- Face steps --------------------------------------------------------------------------------------------------------

RINGS, ROUND, WANTED_ROWS = 49, 361, 24
OUTER, STEPS, ROUND_STEPS = 0.43, 360, 270
"""Radius of the flange on the paper; steps of the line for each hole, and how many of them go round it."""


def on_circle(radius: float, clockwise: float) -> tuple[float, float]:
    """A point of the paper, so many degrees clockwise from 12."""
    turn = math.radians(clockwise)
    return 0.5 + radius * math.sin(turn), 0.5 + radius * math.cos(turn)


def expected_drawing(held: Held) -> dict[Place, Value]:
    """The lines of Drilled face: flange, raised face, bolt circle and holes, strokes where they are wanted, pins."""
    found: dict[Place, Value] = {}
    row = held.number("drilled.flange_row")
    names = ("bolt_count", "bolt_circle", "hole", "od")
    flange = [None if row is None else held.number(f"flanges.{name}", int(row) - 1) for name in names]
    drawn = None not in flange
    count, circle, hole, od = (value or 1.0 for value in flange)
    raised = held.number("flanges.raised_face_od", int(row) - 1) if row is not None else None
    scale = 2 * OUTER / od
    radius, small, turn = scale * circle / 2, scale * hole / 2, 360 / count
    face = scale * raised / 2 if drawn and raised is not None else 0.0
    error, target = (held.number(f"drilled.{name}_drawn") or 0.0 for name in ("error", "target"))
    for at in range(RINGS):
        clockwise = 7.5 * at
        found["flange_rings.turn", at] = clockwise
        for name, size in (("outer", OUTER), ("face", face)):
            x, y = on_circle(size, clockwise)
            found[f"flange_rings.{name}_x", at], found[f"flange_rings.{name}_y", at] = x, y
    half = math.degrees(math.asin(min(1.0, hole / circle)))  # half of what a hole takes of the bolt circle
    for at in range(ROUND):
        which, part = divmod(at * round(count), STEPS) if drawn else (0, 0)
        middle = (which + 0.5) * turn - target - error if drawn else 0.0
        if not drawn:
            x = y = 0.5
        elif part < ROUND_STEPS:
            centre, off = on_circle(radius, middle), on_circle(small, middle - 90 + 2 * part)
            x, y = (mid + away - 0.5 for mid, away in zip(centre, off, strict=True))
        else:
            gone = (part - ROUND_STEPS) / (STEPS - ROUND_STEPS)
            x, y = on_circle(radius, middle + half + (turn - 2 * half) * gone)
        found["hole_line.part", at], found["hole_line.middle", at] = float(part), middle
        found["hole_line.across", at], found["hole_line.upward", at] = x, y
    for at in range(WANTED_ROWS):
        middle = (min(at + 1, count) - 0.5) * turn - target if drawn else 0.0
        found["wanted_holes.middle", at] = middle
        for word, out in (("from", -1.5 * small), ("to", 1.5 * small)):
            x, y = on_circle(radius + out, middle) if drawn else (0.5, 0.5)
            found[f"wanted_holes.x_{word}", at], found[f"wanted_holes.y_{word}", at] = x, y
    lean, apart = held.number("drilled.pin_lean"), held.number("drilled.pin_half")
    for word, sign in (("from", -1), ("to", 1)):
        x, y = (0.5, 0.5) if lean is None or apart is None else on_circle(radius, -lean + sign * apart)
        found[f"pins_line.x_{word}", 0], found[f"pins_line.y_{word}", 0] = x, y
    return found


def expected_counts(held: Held, walk: Walk) -> dict[Place, Value]:
    """How many flanges each leg and each item has, from the job's own words; rows that nobody filled have none."""
    found: dict[Place, Value] = {}
    flanges = flanges_of(walk)
    before = 0
    legs: dict[int, Any] = {leg.row: leg for leg in walk.legs}
    first = min(legs)
    for row in range(held.rows("flange_legs")):
        mine = [flange for flange in flanges if flange.leg is legs.get(row + first)]
        at_items = sum(flange.side == "item" for flange in mine)
        at_start = sum(flange.side == "start" for flange in mine)
        counts = {
            "at_start": at_start,
            "at_items": at_items,
            "at_end": len(mine) - at_items - at_start,
            "flange_count": len(mine),
            "before": before,
        }
        found |= {(f"flange_legs.{name}", row): float(value) for name, value in counts.items()}
        before += len(mine)
    items = [(leg, said) for leg in walk.legs for said in leg.said.get("inline", [])]
    listed = [flange.item_row for flange in flanges]
    for row in range(held.rows("flange_items")):
        if row >= len(items):
            found["flange_items.flange_count", row], found["flange_items.before", row] = 0.0, None
            continue
        leg, said = items[row]
        found["flange_items.flange_count", row] = float(listed.count(row + 1))
        ours = [items[flange.item_row - 1][1] for flange in flanges if flange.side == "item" and flange.leg is leg]
        earlier = [one for one in ours if place_of(walk, one) < place_of(walk, said)]
        found["flange_items.before", row] = float(len(earlier))
    return found


def place_of(walk: Walk, said: Mapping[str, Any]) -> float:
    """Where an item stands along its leg."""
    return walk.length(said["at"]) if "at" in said else {"start": -math.inf, "end": math.inf}[said["against"]]


# -- levels ------------------------------------------------------------------------------------------------------------

FIRST = "First: wipe the magnet, scrape paint and spatter off, turn the level end for end; type yes and read again. "
PLANES = (("12", "up"), ("3", "side"))


def shown(angle: float, way: str) -> float:
    """What a level shows of an inclination."""
    if way == "degrees":
        return angle
    return math.tan(math.radians(angle)) * (1000 if way == "mm/m" else 12)


def inclined(reading: float, way: str) -> float:
    """The inclination that a level shows, in degrees; upright at most."""
    if way in ("mm/m", "in/ft"):
        return math.degrees(math.atan(reading / (1000 if way == "mm/m" else 12)))
    return max(-90.0, min(90.0, reading))


STEEPEST = 45.0
"""Degrees; what leans more is a slip of the keys."""


def rises(angle: float) -> float:
    """Tangent of an angle in degrees, of 45° at most."""
    return math.tan(math.radians(max(-STEEPEST, min(STEEPEST, angle))))


def lean_said(angle: float) -> str:
    """An angle to a hundredth of a degree."""
    return f"{steps(angle, 0.01) / 100:g}°"


def expected_levels(held: Held) -> dict[Place, Value]:
    """Every cell of Level, by name and row."""
    found: dict[Place, Value] = {}
    for row in range(held.rows("levels")):
        found |= {(f"levels.{name}", row): value for name, value in level_line(held, row).items()}
    verdicts = [found["levels.verdict", row] for row in range(held.rows("levels"))]
    found["levels.told", 0] = counts_told([verdict for verdict in verdicts if verdict is not None])
    proofs = [held.reading(f"levels.proof_{which}") for which in ("one", "two")]
    known = [max(-1000.0, min(1000.0, value)) for value in proofs if value is not None]
    found["levels.own_error", 0] = (known[0] - known[1]) / 2 if len(known) == 2 else None
    return found


LEVEL_COLUMNS = (
    "spool", "joint", "first_part", "second_part", "error", "error_at", "gap_change", "far_end", "verdict", "action",
    "message", "leg_row", "od", "unit_used", "first_up", "second_up", "first_side", "second_side", "design",
    "off_fall", "first_due", "error_up", "error_side", "tilt", "error_most", "limit", "bad", "root_diameter",
    "second_piece", "second_item", "second_length", "far_length", "lean_words", "tack_words", "missing_said",
    "stops", "cautions",
)  # fmt: skip


def design_of(held: Held, row: int, leg: int) -> float | None:
    """How steeply the line should climb, in degrees; an upright leg has no fall."""
    fall = held.reading("levels.fall", row)
    if fall is not None:
        return -math.degrees(math.atan(fall / (12 if held.edition == "inch" else 1000)))
    east, north, up = (held.number(f"legs.{name}", leg) for name in ("ux", "uy", "uz"))
    if east is None or north is None or up is None or held("legs.upright", leg) == 1:
        return None
    return math.degrees(math.atan2(up, math.hypot(east, north)))


def second_of(held: Held, row: int, leg: int) -> tuple[int | None, int | None, float | None]:
    """Which pipe or item the second part is (0-based rows), and how long it is from the joint to its far end."""
    marks, words = held.columns["cuts.mark"], held("joints.second_part", row)
    if words in marks:
        piece = marks.index(words)
        return piece, None, held.number("cuts.cut_length", piece)
    side = held("joints.side", row)
    if side == "item" and held("joints.before", row) == 1:
        item = int(held("joints.item_row", row)) - 1
        welded = held("items.ends", item) in ("butt", "threaded")
        return None, item, held.number("items.length_taken" if welded else "items.side_take", item)
    return None, None, None if side == "outlet" else held.number("legs.takeout_end", leg)


def level_line(held: Held, row: int) -> dict[str, Value]:
    """A row of Level."""
    edition = held.edition
    leg = leg_of(held, "joints", row)
    if leg is None:
        return dict.fromkeys(LEVEL_COLUMNS)
    way = str(held.said("levels.read_in", row) or held.said("levels.usual") or "degrees")
    read = {
        (part, plane): held.reading(f"levels.{part}_{plane}", row)
        for part in ("first", "second")
        for plane, _ in PLANES
    }
    angles = {place: None if value is None else inclined(value, way) for place, value in read.items()}
    design = design_of(held, row, leg)
    climbs = angles["first", "12"]
    off = None if climbs is None or design is None else climbs - design
    plumb = held.said("levels.meant", row) == "plumb" and off is not None
    due = {"12": off if plumb else climbs, "3": angles["first", "3"]}
    leans: dict[str, float | None] = {}
    for plane, _ in PLANES:
        second, first = angles["second", plane], due[plane]
        leans[plane] = None if second is None or first is None else second - first
    up, aside = leans["12"], leans["3"]
    error = None if up is None or aside is None else math.hypot(up, aside)
    at = None
    if up is not None and aside is not None and error is not None and error >= LEAST_TURN - HAIR:
        at = hours_of(up, aside)
    most = max([0.0, *(abs(value) for value in leans.values() if value is not None)])
    od = held.number("legs.od", leg)
    limit = None if od is None else squareness_limit(od, edition)
    tilt = None if od is None else od * rises(most if error is None else error)
    anything = any(value is not None for value in leans.values())
    bad = limit is not None and tilt is not None and anything and tilt > limit + HAIR
    kind = held("joints.kind", row)
    root = held.number("joints.root_diameter", row) if kind in ("butt", "field") else None
    piece, item, reach = second_of(held, row, leg)
    own = held.reading("levels.length_typed", row)
    far = reach if own is None else bounded(own) if own > 0 else None
    gap = None if root is None or error is None else root * rises(error)
    off_end = None if far is None or error is None else far * rises(error)
    line: dict[str, Value] = {
        "spool": held("joints.spool", row),
        "joint": held("joints.joint", row),
        "first_part": held("joints.first_part", row),
        "second_part": held("joints.second_part", row),
        "leg_row": float(leg + 1),
        "od": od,
        "unit_used": way,
        "first_up": climbs,
        "second_up": angles["second", "12"],
        "first_side": angles["first", "3"],
        "second_side": angles["second", "3"],
        "design": design,
        "off_fall": off,
        "first_due": due["12"],
        "error_up": up,
        "error_side": aside,
        "error": error,
        "error_at": at,
        "error_most": most,
        "tilt": tilt,
        "limit": limit,
        "bad": float(bad),
        "root_diameter": root,
        "second_piece": None if piece is None else float(piece + 1),
        "second_item": None if item is None else float(item + 1),
        "second_length": reach,
        "far_length": far,
        "gap_change": gap,
        "far_end": off_end,
        "missing_said": level_asked(read, held("legs.upright", leg) == 1),
        "lean_words": None if at is None or error is None else lean_words(error, at, gap, off_end, edition),
        "tack_words": None if at is None else tack_words(kind, at),
    }
    cautions = ""
    if off is not None and design and abs(design) > HAIR and od is not None and limit is not None:  # noqa: SIM102
        if od * abs(rises(off)) > limit + HAIR:
            cautions += f"First part is {lean_said(off)} off its design fall of {lean_said(design)}. "
    if off_end is not None and not bad and off_end > FAR_MOST[edition] + HAIR:
        over = fine(FAR_MOST[edition], edition)
        cautions += f"Far end off by over {over}, the linear tolerance: look at the dimension. "
    if error is not None and error > STEEPEST + HAIR:
        cautions += f"Over {lean_said(STEEPEST)} is no lean: look at the readings and at what they are read in. "
    stops = slips(held, "levels", row)
    line |= {"cautions": cautions or None, "stops": stops or None, "message": stops + cautions or None}
    clean = held.said("levels.clean", row) == "yes"
    line["verdict"] = OUTSIDE if bad else WITHIN if clean and error is not None and limit is not None else OPEN
    dirty = not clean and any(value is not None for value in read.values())
    line["action"] = (FIRST if dirty else "") + level_action(line)
    return line


def level_asked(read: Mapping[tuple[str, str], float | None], upright: bool) -> str:
    """What is still to be read of a joint."""
    if all(value is None for value in read.values()):
        return "Level and surface clean? Then both parts, 12–6 and 3–9."
    asked = []
    for plane, words in (("12", "12–6"), ("3", "3–9" if upright else "3–9, rolled a quarter turn")):
        missing = [part for part in ("first", "second") if read[part, plane] is None]
        if missing:
            asked.append(f"{'both parts' if len(missing) == 2 else f'the {missing[0]} part'} in {words}")
    return f"Read {'; '.join(asked)}."


def lean_words(error: float, at: float, gap: float | None, off_end: float | None, edition: str) -> str:
    """How far the second part leans, and what that does to gap and far end."""
    words = f"leans {lean_said(error)} to {clock_text(at)}"
    if gap is not None and not said_nothing(gap, edition):
        words += f", gap {fine(gap, edition)} wider at {clock_text(across(at))}"
    if off_end is not None and not said_nothing(off_end, edition):
        words += f", far end {fine(off_end, edition)} off"
    return words


def tack_words(kind: str, at: float) -> str:
    """Where the next tack goes: on the side that has opened."""
    if kind == "threaded":
        return "Threaded: no tack draws it in. Look for a crooked thread or a bent fitting."
    return f"Next tack at {clock_text(across(at))}: a tack draws its side in."


def level_action(line: Mapping[str, Any]) -> str:
    """What to do with a joint, after what is said of a level that is not clean."""
    if line["limit"] is None:
        return "No pipe size in the tables: nothing to measure across."
    if line["bad"] and line["error"] is None:
        up, aside = line["error_up"], line["error_side"]
        towards = ("12" if up > 0 else "6") if up is not None else ("3" if aside > 0 else "9")
        return f"Outside in one plane, leans to {towards}: read the other plane too."
    if line["bad"]:
        return f"Second part {line['lean_words']}. {line['tack_words']}"
    if line["error"] is None:
        return str(line["missing_said"])
    return "In line." if line["error_at"] is None else f"Within: second part {line['lean_words']}."
