"""Scenes of Envelope and Envelope parts: every cell of them, from where legs, items and outlets lie.

Each part is a row of round discs along an axis. A disc of radius r, square to a direction, reaches r times the sine of
the angle between that direction and east to the east of its middle; the box of a spool is what its discs reach. Rims
and thicknesses of flanges are read from the reference tables.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from held import Held, expected_after, flange_rows, one_place
from live import Live, Place, Value
from outlet_jobs import OutletRoutes
from paperwork import said
from routes import job_text
from staging import Case, Scene
from walk import _rows

SHEETS = ("envelope", "envelope_parts")
BUILT = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "closure_steps", "cutlist", "cut_steps",
    "ends", "fitup", "parts", "material", "envelope", "envelope_parts", "key", "tables_used",
)  # fmt: skip
FLANGES = ("weld_neck_flange", "slip_on_flange", "socket_weld_flange", "threaded_flange", "lap_joint")
REDUCERS = ("reducer", "eccentric_reducer")
ELBOWS = ("elbow", "elbow_short_radius", "elbow_3d", "bend", "reducing_elbow")
RETURNS = ("return", "return_short_radius")
HAIR = 1e-9
AXES = ("east", "north", "up")
OWN = 2
"""Cases with an open workbook of their own: they notice most."""
PLACES = ("truck", "bath", "door")


# -- parts -------------------------------------------------------------------------------------------------------------


@dataclass
class Rim:
    """A flange's outside: half of its diameter, and from its contact face to the back of its rim; 0 for none."""

    half: float = 0.0
    thick: float = 0.0


def rim(held: Held, flange_class: str, size: str, faced: float | None) -> Rim:
    """The rim of a flange by class and size; `faced` is what its facing adds."""
    flange, en = flange_rows(held.edition, flange_class, size)
    if not flange and not en:
        return Rim()
    row = _rows("flange_en")[en - 1] if en else _rows("flange")[(flange or 0) - 1]
    wide, thick = held.facts.value(row, "od"), held.facts.value(row, "thickness")
    assert wide is not None and thick is not None
    return Rim(wide / 2, thick + (faced or 0.0))


@dataclass
class Part:
    """A row of Envelope parts: the leg itself, an item in it or an outlet on it; lengths along its axis.

    Attributes:
        leg, spool: rows of its leg and spool, counted from 1.
        place: 0 is the leg, then its items, then its outlets.
        item, outlet: the row of the item or outlet, 0 for none.
        cells: its columns.
        low, high: how far it reaches, east, north and up; None where that is not known.
    """

    leg: int
    spool: int | None
    place: int
    item: int = 0
    outlet: int = 0
    cells: dict[str, Value] = field(default_factory=dict)
    low: list[float | None] = field(default_factory=lambda: [None] * 3)
    high: list[float | None] = field(default_factory=lambda: [None] * 3)


def parts_of(held: Held) -> Iterator[Part]:
    """The parts of all legs, in their order."""
    slots = {
        (kind, of, rank): row
        for kind, of_leg in (("items", "leg_row"), ("outlets", "header_row"))
        for row in range(len(held.all(f"{kind}.{of_leg}")), 0, -1)
        if (of := held.number(f"{kind}.{of_leg}", row)) is not None
        and (rank := held.number(f"{kind}.rank", row)) is not None
    }
    for leg in range(1, len(held.all("legs.spool")) + 1):
        parts = int(held.number("legs.reach_count", leg) or 0)
        items = int(held.number("legs.item_count", leg) or 0)
        spool = held.number("legs.spool_row", leg)
        for place in range(parts):
            part = Part(leg, None if spool is None else int(spool), place)
            if 0 < place <= items:
                part.item = slots.get(("items", leg, place), 0)
            elif place:
                part.outlet = slots.get(("outlets", leg, place - items), 0)
            yield part


class Curve:
    """The curve of an elbow or bend at a leg's end, where both of its take-outs are the tables' or a bend's.

    Attributes:
        kid: row of the leg behind it, None where it is none or its corner is square.
        radius, turn: of the centreline, None where the radius is not known.
        half: half of what is curved.
        take: from where it begins to the work point.
        swell: how far it reaches between its ends, east, north and up; None where it is farthest at an end.
    """

    def __init__(self, held: Held, row: int) -> None:
        number = held.number
        self.radius: float | None = None
        self.turn: float | None = None
        self.over_sine: float | None = None
        self.half: float | None = None
        self.take = 0.0
        self.swell: list[float | None] = [None] * 3
        self.kid = number("legs.kid", row)
        known = (self.kid, number("legs.takeout_end", row), number("legs.turn_end", row))
        if None in known or number("legs.takeout_end_typed", row) is not None:
            self.kid = None
        if self.kid is not None and number("legs.takeout_start_typed", self.kid) is not None:
            self.kid = None
        if self.kid is None:
            return
        kind, small = held.text("legs.end", row), held.text("legs.end_joint", row) in ("socket", "threaded")
        self.half = max(number("legs.od", row) or 0.0, number("legs.od", self.kid) or 0.0) / 2
        if kind in RETURNS:
            self.radius = number("legs.takeout_end", row)
        elif kind in ELBOWS and not small:
            self.radius = number("legs.bend_radius", row)
        if self.radius is None:
            return
        self.turn = number("legs.turn_end", row)
        assert self.turn is not None
        turn = math.radians(self.turn)
        self.over_sine = self.radius / math.sin(turn)
        self.take = self.radius * math.tan(turn / 2)
        corner = held.vector(("legs.x_end", "legs.y_end", "legs.z_end"), row)
        into, out = (held.vector(("legs.ux", "legs.uy", "legs.uz"), int(leg)) for leg in (row, self.kid))
        if corner is not None and into is not None and out is not None:
            self._swell(corner, into, out, turn)

    def _swell(self, corner: Sequence[float], into: Sequence[float], out: Sequence[float], turn: float) -> None:
        """Where the curve runs square to a direction, it is farthest that way."""
        assert self.radius is not None and self.half is not None
        for at in range(3):
            # along the curve its way is into × cos + inwards × sin
            inwards = (out[at] - math.cos(turn) * into[at]) / math.sin(turn)
            square = math.atan2(into[at], -inwards) % math.pi
            # the ends are looked at by the signs of the two ways: an angle may miss them by a rounding
            if into[at] * out[at] >= 0:
                continue
            begins = corner[at] - self.take * into[at]
            middle = begins + self.radius * (math.sin(square) * into[at] + (1 - math.cos(square)) * inwards)
            self.swell[at] = middle + math.copysign(self.half, into[at])

    def columns(self) -> dict[str, Value]:
        """Its cells."""
        found: dict[str, Value] = {
            "kid": self.kid, "radius": self.radius, "turn": self.turn, "curve": self.over_sine,
            "curve_take": self.take, "half_curve": self.half,
        }  # fmt: skip
        return found | {f"swell_{axis}": swell for axis, swell in zip(AXES, self.swell, strict=True)}


class Leg:
    """What a leg brings to each of its parts."""

    def __init__(self, held: Held, row: int, spool: int | None) -> None:
        number, text = held.number, held.text
        size = text("legs.size", row)
        first = number("legs.outlet_row", row) == 0 and number("legs.parent", row) == 0
        start, end = text("legs.start_kind", row), text("legs.end", row)
        self.half = (number("legs.od", row) or 0.0) / 2
        self.curve = Curve(held, row)
        parent = number("legs.parent", row)
        from_leg = parent is not None and parent > 0 and number("legs.outlet_row", row) == 0
        self.curve_before = Curve(held, int(parent or 0)).take if from_leg else 0.0
        self.begins = -(number("chains.more_start", row) or 0.0)
        self.ends = (number("legs.length", row) or 0.0) + (number("chains.more_end", row) or 0.0)
        self.start, self.end = Rim(), Rim()
        if first and start in FLANGES:
            more = number("legs.facing_more_start", row)
            self.start = rim(held, text("legs.start_class", row), size, more)
        if end in FLANGES:
            self.end = rim(held, text("legs.flange_class", row), size, number("legs.facing_more_end", row))
        self.before = (number("legs.od_before", row) or 0.0) / 2 if first and start in REDUCERS else 0.0
        self.blinds = (text("spools.start_blind", spool) == "yes", text("more.blind", row) == "yes")
        self.way = [number(f"legs.u{axis}", row) for axis in "xyz"]
        self.origin = [number(f"legs.{axis}_start", row) for axis in "xyz"]
        shifts = [number(f"legs.shift_{axis}", row) or 0.0 for axis in "xyz"]
        self.aside = [-shift if number("legs.parent", row) == 0 else 0.0 for shift in shifts]


@dataclass
class Disc:
    """A round face square to the axis: how far along it, half of its diameter, and whether it is shifted aside."""

    along: float
    half: float
    aside: bool = False


def measured(held: Held, part: Part) -> None:
    """Fill in a part's columns and how far it reaches."""
    leg, line = Leg(held, part.leg, part.spool), part.cells
    is_leg = part.place == 0
    ends = held.text("items.ends", part.item or None)
    flanged = bool(part.item) and ends in ("flanged", "wafer")
    centre, half = (held.number(f"items.{name}", part.item or None) for name in ("centre", "half"))
    reach, od = (held.number(f"outlets.{name}", part.outlet or None) for name in ("reach", "od"))
    tip, root = (
        [held.number(f"outlets.{point}_{axis}", part.outlet or None) for axis in AXES] for point in ("tip", "root")
    )
    known = is_leg or (centre is not None and half is not None)
    if part.outlet:
        known = bool(reach and reach > 0 and od is not None and None not in tip)
    beside = Rim()
    if part.item:
        flange_class = held.text("items.flange_class", part.item) or held.text("legs.flange_class", part.leg)
        faced = held.number("items.facing_adds", part.item)
        beside = rim(held, flange_class, held.text("legs.size", part.leg), faced)
    line |= {
        "spool": held.text("legs.spool", part.leg) or None,
        "leg": held.text("legs.leg", part.leg) or None,
        "part": "pipe, flanges" if is_leg else named(held, part),
        "leg_row": float(part.leg), "spool_row": None if part.spool is None else float(part.spool),
        "place": float(part.place), "item_row": float(part.item), "outlet_row": float(part.outlet),
        "known": 1.0 if known else None, "half_pipe": leg.half, "begins": leg.begins, "ends_at": leg.ends,
        "start_half": leg.start.half, "start_thick": leg.start.thick,
        "end_half": leg.end.half, "end_thick": leg.end.thick,
        "item_flanged": float(flanged), "item_reach": None, "curve_before": leg.curve_before if is_leg else 0.0,
    }  # fmt: skip
    curve = leg.curve.columns()
    line |= curve if is_leg else dict.fromkeys(curve) | {"curve_take": 0.0}
    way: list[float | None] = [None] * 3
    origin: list[float | None] = [None] * 3
    if known:
        way, origin = leg.way, leg.origin
        if part.outlet:
            assert reach is not None
            way = [(a - b) / reach for a, b in zip(tip, root, strict=True) if a is not None and b is not None]
            origin = root
    aside = leg.aside if is_leg else [0.0] * 3
    for at, axis in enumerate(AXES):
        line |= {f"way_{axis}": way[at], f"origin_{axis}": origin[at], f"aside_{axis}": aside[at]}
    discs: list[Disc] = []
    if known:
        out = 0.0
        if part.item:
            assert half is not None
            alone = held.number("items.takes", part.item) is not None or not flanged
            out = half + (0.0 if alone else beside.thick)
        line["item_reach"] = out
        wide = (od or 0.0) / 2 if part.outlet else max(leg.half, beside.half) if flanged else leg.half
        line["half_part"] = wide
        line |= {"half_first": wide, "half_start": wide, "half_end": wide}
        if is_leg:
            line["half_first"] = max(leg.half, leg.start.half, leg.before)
            line["half_start"] = max(leg.half, leg.start.half)
            line["half_end"] = max(leg.half, leg.end.half)
        if part.spool is not None:
            discs = list(discs_of(leg, part, centre, out, reach, wide))
    for name, at in (("first", 0), ("first_back", 1), ("last_back", 2), ("last", 3)):
        line[name] = discs[at].along if discs else None
    for name in ("half_part", "half_first", "half_start", "half_end"):
        line.setdefault(name, None)
    for at in range(3):
        share, begins = way[at], origin[at]
        if discs and share is not None and begins is not None:
            low, high = zip(*(reaches(disc, share, aside[at]) for disc in discs), strict=True)
            part.low[at], part.high[at] = begins + min(low), begins + max(high)
            if is_leg and (swell := leg.curve.swell[at]) is not None:
                part.low[at], part.high[at] = min(begins + min(low), swell), max(begins + max(high), swell)
        line |= {f"{AXES[at]}_low": part.low[at], f"{AXES[at]}_high": part.high[at]}


def named(held: Held, part: Part) -> str | None:
    """What a part is called."""
    return held.text("items.item", part.item or None) or held.text("outlets.words", part.outlet or None) or None


def discs_of(
    leg: Leg, part: Part, centre: float | None, out: float, reach: float | None, wide: float
) -> Iterator[Disc]:
    """The four discs between which a part lies: at its first end, behind what stands there, and so at its last."""
    if part.place == 0:
        blind_first = leg.start.thick if leg.blinds[0] else 0.0
        blind_last = leg.end.thick if leg.blinds[1] else 0.0
        start, end = max(leg.half, leg.start.half), max(leg.half, leg.end.half)
        first, last = leg.begins + leg.curve_before, leg.ends - leg.curve.take
        yield Disc(first - blind_first, max(start, leg.before), aside=True)
        yield Disc(first + leg.start.thick, start)
        yield Disc(last - leg.end.thick, end)
        yield Disc(last + blind_last, end)
        return
    first = last = reach or 0.0
    if part.item:
        assert centre is not None
        first, last = max(leg.begins, centre - out), min(leg.ends, centre + out)
    for along in (first, first, last, last):
        yield Disc(along, wide)


def reaches(disc: Disc, share: float, aside: float) -> tuple[float, float]:
    """From where to where a disc reaches along an axis of which its direction has this share."""
    middle = disc.along * share + (aside if disc.aside else 0.0)
    sideways = disc.half * math.sin(math.acos(max(-1.0, min(1.0, share))))
    return middle - sideways, middle + sideways


def expected_parts(held: Held) -> tuple[list[Part], dict[Place, Value]]:
    """The parts, and what every cell of Envelope parts must hold."""
    parts = list(parts_of(held))
    cells: dict[Place, Value] = {("envelope_parts.total", 0): float(len(parts))}
    so_far: dict[str, float | None] = {}
    columns: list[str] = []
    for at, part in enumerate(parts):
        measured(held, part)
        if at == 0 or parts[at - 1].spool != part.spool:
            so_far = {}
        for axis, low, high in zip("xyz", part.low, part.high, strict=True):
            for name, own, better in ((f"{axis}_least", low, min), (f"{axis}_most", high, max)):
                before = so_far.get(name)
                so_far[name] = own if before is None else before if own is None else better(own, before)
                part.cells[name] = so_far[name] if part.spool is not None else None
        columns = list(part.cells)
        cells |= {(f"reaches.{name}", at): value for name, value in part.cells.items()}
    for at in range(len(parts), len(held.all("reaches.number"))):
        cells |= {(f"reaches.{name}", at): None for name in columns}
    return parts, cells


# -- spools ------------------------------------------------------------------------------------------------------------


def with_unit(held: Held, length: float, step: float) -> str:
    """A length with its unit, in the job's precision."""
    return said(length, step, held.edition) + ('"' if held.edition == "inch" else " mm")


def verdict(held: Held, at: int, sides: Sequence[float], mass: float | None, remark: str) -> str | None:
    """Whether a spool goes through a place: its sides in order against the limits in order, and its mass."""
    step = held.number("rules.step")
    if step is None:
        return None
    limits = [held.number(f"places.{name}", at) for name in ("long", "middle", "short")]
    most = held.number("places.mass", at)
    if most is None and limits == [None] * 3:
        return "… no limit typed"
    ordered = sorted(sides, reverse=True)
    over = max(max(0.0, side - limit) for side, limit in zip(ordered, limits, strict=True) if limit is not None) if any(
        limit is not None for limit in limits
    ) else 0.0  # fmt: skip
    wrong: list[str] = []
    if over > HAIR:
        overs = [0.0 if limit is None else max(0.0, side - limit) for side, limit in zip(ordered, limits, strict=True)]
        which = ("longest", "middle", "shortest")[overs.index(max(overs))]
        wrong.append(f"too large by {with_unit(held, over, step)} ({which} side)")
    if mass is not None and most is not None and mass > most:
        unit = "lb" if held.edition == "inch" else "kg"
        more = "less than 0.1" if mass - most < 0.05 else one_place(mass - most)
        wrong.append(f"too heavy by {more} {unit} ({one_place(mass)} against {one_place(most)})")
    if wrong:
        return "✗ " + ", ".join(wrong)
    return "… mass not complete" if most is not None and remark.startswith("not") else "✓ within"


def expected_envelope(held: Held) -> dict[Place, Value]:
    """What every cell of Envelope and Envelope parts must hold, by name and row."""
    parts, cells = expected_parts(held)
    for row in range(1, len(held.all("spools.mark")) + 1):
        line = dict(spool_columns(held, row, parts))
        cells |= {(f"envelopes.{name}", row - 1): value for name, value in line.items()}
    return cells


def spool_columns(held: Held, row: int, parts: Sequence[Part]) -> Iterator[tuple[str, Value]]:
    """The columns of a spool's row."""
    mark = held.text("spools.mark", row)
    legs = [at for at, of in enumerate(held.all("legs.spool_row"), start=1) if of == row]
    counted = int(held.number("spools.legs", row) or 0)
    last = legs[0] + counted - 1 if mark and counted and legs else None
    first = None if last is None else last - counted + 1
    yield "spool", mark or None
    yield "has_legs", 1.0 if mark else None
    yield "last_leg", None if last is None else float(last)
    yield "first_leg", None if first is None else float(first)
    to_here = None if last is None else sum(part.leg <= last for part in parts)
    yield "parts_to_here", None if to_here is None else float(to_here)
    own = parts[to_here - 1].cells if to_here else {}
    boxes = [(own.get(f"{axis}_least"), own.get(f"{axis}_most")) for axis in "xyz"]
    sides = [most - least for least, most in boxes if isinstance(least, float) and isinstance(most, float)]
    whole = len(sides) == 3
    yield "last_part", float(to_here) if to_here and whole else None
    for at, axis in enumerate(AXES):
        yield axis, sides[at] if whole else None
    yield "diagonal", math.hypot(*sides) if whole else None
    for name, side in zip(("least", "between", "most"), sorted(sides), strict=False):
        yield name, side if whole else None
    if not whole:
        yield from dict.fromkeys(("least", "between", "most")).items()
    far = held.vector(("chains.far_east", "chains.far_north", "chains.far_up"), last)
    more = held.number("chains.more_start", first)
    yield "both_ends", 1.0 if far is not None and more is not None else None
    straight = None
    if far is not None and more is not None:
        way = [held.number(f"legs.u{axis}", first) or 0.0 for axis in "xyz"]
        straight = math.dist(far, [-more * share for share in way])
    yield "straight", straight
    mass, remark = held.number("spool_list.mass", row), held.text("spool_list.remark", row)
    yield "mass", mass if last else None
    yield "complete", (remark or None) if last else None
    for at, place in enumerate(PLACES, start=1):
        yield place, verdict(held, at, sides, mass if last else None, remark) if whole else None


# -- the job -----------------------------------------------------------------------------------------------------------

Entry = dict[str, Any]


def by_hand(edition: str) -> list[Entry]:
    """Spools with what chance hardly brings: blinds, trims and gaskets at both ends, an eccentric start, ring joints,
    items against both ends, the first flanges of the tables."""
    six: Entry = {"size": "6", "schedule": "STD", "class": "150"}
    wn = "weld_neck_flange"
    valve: Entry = {"item": "valve", "length": "10 in", "ends": "flanged", "flange": wn, "gasket": "1/8 in"}
    boss: Entry = {"name": "B", "on": "L1", "at": "30 in", "kind": "weldolet", "size": "2", "height": "1 1/2 in",
                   "schedule": "STD"}  # fmt: skip
    half: Entry = {"size": "1/2", "schedule": "STD", "class": "150"}
    flat: Entry = {"east": "60 in", "north": "1.5 in", "up": "-1.5 in"}  # the back of its flange reaches farthest
    small: Entry = {"start": wn, "leg": [{"north": "40 in", "end": wn, "inline": [{**valve, "at": "20 in"}]}]}
    return [
        {"mark": "H1", **six, "start": wn,
         "leg": [{"up": "50 in", "end": "elbow"},
                 {"east": "70 in", "end": wn,
                  "inline": [{**valve, "item": "check", "against": "end", "ends": "wafer"},
                             {**valve, "item": "orifice", "takes": "14 in", "at": "25 in"}]}]},
        {"mark": "H2", **six, "start": wn, "start_gasket": "1/8 in", "start_blind": True,
         "leg": [{"north": "60 in", "east": "11 in", "end": wn, "gasket": "1/8 in", "blind": True,
                  "inline": [{**valve, "at": "30 in", "class": "600", "facing": "RTJ", "mass": "310 lb"}]}]},
        {"mark": "H3", "size": "8", "schedule": "STD", "start": "eccentric_reducer", "start_flat": "top",
         "outlet": [{**boss, "towards": "up"}, {**boss, "name": "C", "at": "50 in", "towards": "north"}],
         "leg": [{**six, "east": "90 in", "north": "33 in", "up": "21 in", "end": "plain"}]},
        {"mark": "H4", **six, "class": "600", "facing": "RTJ", "start": wn,
         "leg": [{"east": "40 in", "up": "-30 in", "north": "12 in", "end": wn,
                  "inline": [{**valve, "against": "start"}]}]},
        {"mark": "H5", **six, "start": "bevel", "start_trim": "6 in", "start_field_gap": "half",
         "leg": [{"east": "90 in", "up": "20 in", "end": "bevel", "trim": "7 in", "field_gap": "full"}]},
        {"mark": "H6", **six, "size": "4", "start": "reducer",
         "outlet": [{**boss, "clock": 1.5}],
         "leg": [{**six, "north": "80 in", "up": "33 in", "end": "plain",
                  "inline": [{"item": "strainer", "length": "8 in", "at": "60 in", "ends": "butt"}]}]},
        {"mark": "H7", **half, **small},
        {"mark": "H8", **half, **small} | ({"class": "PN10"} if edition == "mm" else {}),
        {"mark": "H9", **six, "start": wn, "leg": [{**flat, "end": "plain"}]},
        {"mark": "H10", **six, "start": "plain", "leg": [{**flat, "end": wn}]},
        *curved(six),
    ]  # fmt: skip


def curved(six: Entry) -> list[Entry]:
    """Corners over the top and round the bottom: bends with tangents and pulled, elbows of all sorts, returns; a typed
    take-out and threads are taken square."""
    up, down = {"east": "60 in", "up": "55 in"}, {"east": "60 in", "north": "9 in", "up": "-55 in"}
    bend: Entry = {"end": "bend", "radius": "30 in"}
    ends: list[Entry] = [
        {**bend, "tangent": "3 in"}, {"end": "elbow", "takeout": "9 in"}, {"end": "elbow", "takeout_out": "9 in"},
        {"end": "elbow_short_radius"}, {**bend, "pulled": True},
    ]  # fmt: skip
    found: list[Entry] = [
        {"mark": f"K{at}", **six, "start": "plain",
         "leg": [{**up, **end}, {**down, **(end if at == 4 else {"end": "elbow"})}, {**up, "end": "plain"}]}
        for at, end in enumerate(ends)
    ]  # fmt: skip
    small: Entry = {"size": "1", "schedule": "80", "joints": "threaded", "fitting_class": "3000", "start": "plain"}
    found += [
        {"mark": "K5", **six, "start": "plain",
         "leg": [{"up": "50 in", "end": "return"}, {"east": "18 in", "end": "return"},
                 {"up": "-40 in", "end": "plain"}]},
        {"mark": "K6", **small, "leg": [{"up": "20 in", "end": "elbow"}, {"east": "20 in", "end": "plain"}]},
        {"mark": "K7", **six, "start": "plain",
         "leg": [{"north": "40 in", "end": "reducing_elbow"}, {"up": "40 in", "size": "4", "end": "plain"}]},
    ]  # fmt: skip
    return found


def text_of(edition: str) -> str:
    """Spools by hand, and some at random with outlets."""
    routes = OutletRoutes(7 if edition == "inch" else 8, edition)
    spools = [routes.with_outlets(routes.spool(f"S{number}")) for number in range(1, 3)]
    return job_text([*by_hand(edition), *spools], edition, {"root_gap": "1/8 in"})


# -- what is typed -----------------------------------------------------------------------------------------------------


def chance(book: Live, seed: int) -> dict[Place, Value]:
    """Ends, classes, facings, trims, items and limits at chance."""
    rng, unit = random.Random(seed), 1.0 if book.edition == "inch" else 25.4
    typed: dict[Place, Value] = {}

    def some(name: str, key: str, share: float, values: Sequence[Value]) -> None:
        for row, value in enumerate(book.column(key)):
            if value is not None and rng.random() < share:
                typed[name, row] = rng.choice(values)

    def lengths(*inches: float | None) -> list[Value]:
        return [None if each is None else each * unit for each in inches]

    legs, spools, items, outlets = "legs.spool", "spools.mark", "items.spool", "outlets.spool"
    kinds: list[Value] = [*FLANGES, "bevel", "plain", "elbow", "cap", None]
    classes: list[Value] = ["150", "300", "600", "PN16", "PN40", None]
    facings: list[Value] = ["RF", "FF", "RTJ", None]
    some("legs.end", legs, 0.2, kinds)
    some("spools.start", spools, 0.4, [*kinds, *REDUCERS])
    some("details.flange_class", legs, 0.3, classes)
    some("spools.flange_class", spools, 0.3, classes)
    some("more.facing", legs, 0.2, facings)
    some("spools.start_facing", spools, 0.3, facings)
    some("more.blind", legs, 0.3, ["yes", "no"])
    some("spools.start_blind", spools, 0.4, ["yes", "no"])
    some("more.gasket", legs, 0.2, lengths(0.125, None))
    some("spools.start_gasket", spools, 0.3, lengths(0.125, None))
    some("details.trim", legs, 0.2, lengths(1.5, None))
    some("spools.start_trim", spools, 0.3, lengths(2.25, None))
    some("legs.size", legs, 0.05, ["6", "4", None])
    some("legs.east", legs, 0.1, lengths(30.0, -17.5, None))
    some("items.flange_class", items, 0.5, classes)
    some("items.facing", items, 0.4, facings)
    some("items.ends", items, 0.4, ["flanged", "wafer", "butt", "socket", "threaded", None])
    some("items.flange", items, 0.2, [*FLANGES, None])
    some("items.takes", items, 0.2, lengths(9.0, None))
    some("items.at", items, 0.2, lengths(1.0, 35.0, 500.0, None))
    some("items.length", items, 0.1, lengths(5.0, None))
    some("items.item", items, 0.2, ["cock", None])
    some("outlets.size", outlets, 0.2, ["1", "2", None])
    some("outlets.height", outlets, 0.2, lengths(1.0, 4.0, None))
    some("spools.mark", spools, 0.1, [None])
    for row in range(3):
        for name, values in (
            ("long", lengths(60.0, 100.0, 200.0, 30.0, None)),
            ("middle", lengths(20.0, 40.0, 80.0, None)),
            ("short", lengths(7.0, 12.0, 30.0, None)),
            ("mass", [50.04, 120.01, 300.03, 0.0, None]),
        ):
            typed[f"places.{name}", row] = rng.choice(values)
    return typed


def limits(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Limits on a spool's own sides and mass, a hair and a step beside them, and one alone."""
    sides = sorted(book.value(f"envelopes.{axis}", 0) for axis in AXES)
    mass = book.value("envelopes.mass", 0)
    unit = 1.0 if book.edition == "inch" else 25.4
    names = ("short", "middle", "long")
    exact: dict[Place, Value] = {(f"places.{name}", 0): side for name, side in zip(names, sides, strict=True)}
    exact |= {(f"places.{name}", 1): side - 5e-10 for name, side in zip(names, sides, strict=True)}
    exact |= {(f"places.{name}", 2): side - unit for name, side in zip(names, sides, strict=True)}
    masses = {("places.mass", 0): mass, ("places.mass", 1): mass - 0.04, ("places.mass", 2): mass - 0.3}
    yield "on the limits", exact | masses
    apart = {("places.long", 0): sides[2] - 3 * unit, ("places.middle", 1): sides[1] - 2 * unit}
    yield "one limit each", apart | {("places.short", 2): sides[0] - unit}
    yield "mass alone", {("places.mass", 0): mass - 1.0, ("places.mass", 1): 1e5, ("places.mass", 2): 0.0}


def states(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """What is typed, by name; what notices most comes first."""
    # items and outlets of whose place or size something is not known, once the first, once others
    unit = 1.0 if book.edition == "inch" else 25.4
    unknown: list[dict[Place, Value]] = [
        {("items.against", 0): None, ("items.at", 0): 30 * unit, ("items.length", 0): None, ("items.ends", 0): "wafer",
         ("items.ends", 1): "butt", ("items.at", 2): None, ("items.length", 4): None, ("outlets.on", 0): "L9"},
        {("items.ends", 0): "butt", ("items.at", 1): None, ("items.ends", 1): "flanged", ("items.at", 3): None,
         ("outlets.size", 0): None},
    ]  # fmt: skip
    for seed, more in enumerate(unknown, start=1):
        yield f"chance {seed}", chance(book, seed) | more
    yield from limits(book)
    for flange_class, facing in (("150", None), ("PN16", None), ("600", "RTJ")):
        yield f"the first item between flanges of {flange_class} {facing or ''}, the second welded", {
            ("items.ends", 0): "flanged", ("items.flange", 0): "weld_neck_flange", ("items.takes", 0): None,
            ("items.flange_class", 0): flange_class, ("items.facing", 0): facing, ("items.length", 0): 5 * unit,
            ("items.ends", 1): "butt",
        }  # fmt: skip
    legs = [row for row, leg in enumerate(book.column("legs.leg")) if leg and leg != "L1"]
    yield "legs from nowhere", {("legs.from", row): "nowhere" for row in legs if row % 2}
    yield "other legs from nowhere", {("legs.from", row): "nowhere" for row in legs if row % 2 == 0}
    yield "no precision, a spool without legs", {
        ("rules.precision", 0): None, ("places.long", 0): 60.0, ("spools.mark", 0): "nobody",
    }  # fmt: skip


def _scene(edition: str) -> Scene:
    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        every = [("as built", dict[Place, Value]()), *states(book)]
        cases = [
            Case(name, typed, expected_after(expected_envelope, book, typed), own=at < OWN)
            for at, (name, typed) in enumerate(every)
        ]
        book.reset()
        return {}, cases

    return Scene(f"envelope {edition}", edition, lambda: text_of(edition), made, SHEETS, BUILT)


def scenes() -> list[Scene]:
    """Envelope and Envelope parts in both editions."""
    return [_scene("inch"), _scene("mm")]
