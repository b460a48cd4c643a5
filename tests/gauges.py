"""A second opinion on Ends, Fit-up and Clock: joints listed from the walk, readings worked out with NumPy.

Nothing of the templates is used here. The joints of a leg are found by putting its parts side by side and asking of
each two neighbours how they are joined; a flat face or a shifted bore is fitted to the readings by least squares;
sentences are put together from whole gauge steps.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
from walk import Item, Leg, Piece, Walk

Value = float | str | bool | None
Place = tuple[str, int]
Typed = Mapping[Place, Value]

HAIR = 1e-9
FARTHEST = 1e5
QUARTERS = ("12", "3", "6", "9")
SMALL = ("socket", "threaded")
CLOCK = {"12": 0, "1_30": 45, "3": 90, "4_30": 135, "6": 180, "7_30": 225, "9": 270, "10_30": 315}
DIAMETERS = {"12_6": 0, "1_7": 45, "3_9": 90, "4_10": 135}
WORDS = {
    "weld_neck_flange": "weld neck flange",
    "slip_on_flange": "slip-on flange",
    "socket_weld_flange": "socket weld flange",
    "threaded_flange": "threaded flange",
    "lap_joint": "stub end, lap joint",
    "elbow": "elbow, long radius",
    "elbow_short_radius": "elbow, short radius",
    "elbow_3d": "elbow, 3D radius",
    "bend": "bend",
    "reducing_elbow": "elbow, reducing",
    "return": "return, long radius",
    "return_short_radius": "return, short radius",
    "tee": "tee",
    "cross": "cross",
    "lateral": "lateral",
    "reducer": "reducer",
    "eccentric_reducer": "reducer, eccentric",
    "coupling": "coupling",
    "half_coupling": "half coupling",
    "union": "union",
    "cap": "cap",
    "weld": "pipe to pipe",
    "bevel": "bevelled end",
    "plain": "plain end",
    "other": "other item",
}
WITHIN, OUTSIDE, OPEN, NO_RULE, FILLET = (
    "✓ within",
    "✗ outside",
    "… not yet measured",
    "… rule missing",
    "– fillet",
)

LIMITS: Mapping[str, tuple[float | None, float | None]] = {
    "root_gap": (1 / 8, 3.0),
    "root_gap_min": (3 / 32, 2.5),
    "root_gap_max": (5 / 32, 4.0),
    "hi_lo_max": (1 / 16, 1.5),
    "root_face": (1 / 16, 1.6),
    "waviness_max": (1 / 32, 0.8),
    "square_max": (None, None),
    "slip_on_setback": (1 / 4, 6.0),
    "socket_pullback": (1 / 16, 1.6),
    "socket_within": (1 / 32, 0.8),
}
"""Defaults, inch and mm."""


def number(value: Value) -> float | None:
    """A typed value as a reading; text is none."""
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


# -- joints ------------------------------------------------------------------------------------------------------------


@dataclass
class Joint:
    """A joint of a leg.

    Attributes:
        leg: the leg it is listed with.
        kind: butt, fillet, socket, threaded or field.
        first, second: the words of its two parts, in the order of the walk.
        piece: the pipe at it, whose far end swings.
        first_end, second_end: rows of Ends (0-based) of the pipe ends that meet here.
        mover: what a sentence calls the second part.
        flange: kind of the flange at it, "" for none.
    """

    leg: Leg
    kind: str
    first: str
    second: str
    piece: Piece | None
    first_end: int | None
    second_end: int | None
    mover: str
    flange: str
    label: str = ""


@dataclass
class _Part:
    """Something that stands in a leg: its words, how it is welded, and the pipe or item it is."""

    words: str
    how: str = ""
    piece: Piece | None = None
    row: int = -1
    item: Item | None = None
    flange: str = ""


def short(words: str) -> str:
    """What a fitter calls a part."""
    return words.split(",")[0]


def end_words(leg: Leg, at_start: bool) -> str:
    """What stands at an end of a leg, in words."""
    end, node = (leg.at_start, leg.node) if at_start else (leg.at_end, leg.end_node)
    if end.kind == "tee":
        return f"tee, {end.role or '?'}"
    if end.kind == "other":
        item = node.said.get("start_item" if node.first else "item")
        return str(item) if item else WORDS["other"]
    return kind_words(end.kind, end.joint)


def kind_words(kind: str, joint: str) -> str:
    """What stands at an end; elbows of socket and threaded pipe have one radius, so nobody names it."""
    return "elbow" if kind == "elbow" and joint in SMALL else WORDS[kind]


def how_joined(leg: Leg, at_start: bool) -> str:
    """How the pipe is joined to what stands at an end of its leg; "" where nothing is welded there."""
    joint = (leg.at_start if at_start else leg.at_end).joint
    return "" if joint == "none" else joint


def items_said(walk: Walk, leg: Leg) -> list[Mapping[str, Any]]:
    """What the job says of a leg's items, in their order along it."""

    def place(said: Mapping[str, Any]) -> float:
        if "at" in said:
            return walk.length(said["at"])
        return -math.inf if said["against"] == "start" else math.inf

    return sorted(leg.said.get("inline", []), key=place)


def item_part(said: Mapping[str, Any], item: Item) -> _Part:
    """An item as it stands in its leg: what its pipe is welded to, and how."""
    flange = str(said.get("flange", ""))
    if said["ends"] == "butt":
        return _Part(item.name, "butt", item=item, flange=flange)
    if said["ends"] == "threaded":
        return _Part(item.name, "threaded", item=item)
    how = {"weld_neck_flange": "butt", "lap_joint": "butt", "threaded_flange": "threaded"}.get(flange, "fillet")
    return _Part(WORDS.get(flange, item.name), how, item=item, flange=flange)


def joints_of(walk: Walk) -> list[Joint]:
    """Every joint of a job in the order of the sheet."""
    rows = piece_rows(walk)
    found: list[Joint] = []
    for spool in walk.spools:
        in_spool = [joint for leg in spool.legs for joint in _joints(walk, leg, rows)]
        for at, joint in enumerate(in_spool, start=1):
            joint.label = f"{'FW' if joint.kind == 'field' else 'T' if joint.kind == 'threaded' else 'W'}{at}"
        found += in_spool
    return found


def pieces_of(walk: Walk) -> list[tuple[Leg, Piece]]:
    """Every pipe in the order of Cut steps."""
    return [(leg, piece) for leg in walk.legs for piece in leg.pieces]


def piece_rows(walk: Walk) -> dict[int, int]:
    """Row of Cut steps (0-based) of each pipe."""
    return {id(piece): row for row, (_, piece) in enumerate(pieces_of(walk))}


def _joints(walk: Walk, leg: Leg, rows: Mapping[int, int]) -> Iterator[Joint]:
    start = _Part(_outer(leg, True), how_joined(leg, True), flange=leg.at_start.kind)
    end = _Part(_outer(leg, False), how_joined(leg, False), flange=leg.at_end.kind)
    if leg.said.get("make_up"):
        yield Joint(leg, "butt", start.words, end.words, None, None, None, short(end.words), start.flange)
        return
    pieces = pipes_at(leg)[:1] if runs_on(leg) else leg.pieces
    pipes = [_Part(piece.mark, piece=piece, row=rows[id(piece)]) for piece in pieces]
    said = items_said(walk, leg)
    items = [item_part(*each) for each in zip(said, leg.items, strict=True)]
    chain = [start]
    if said and said[0].get("against") == "start":
        chain.append(items.pop(0))
    while pipes or items:
        chain += [*pipes[:1], *items[:1]]
        pipes, items = pipes[1:], items[1:]
    chain.append(end)
    for at in range(len(chain) - 1):
        joint = _joint(leg, chain[at], chain[at + 1], at == 0, at == len(chain) - 2, rows)
        if joint:
            yield joint


def _outer(leg: Leg, at_start: bool) -> str:
    """What the far side of a leg's first or last joint is called."""
    end = leg.at_start if at_start else leg.at_end
    if end.kind == "bevel":
        return "field part"
    if end.kind == "weld":
        if at_start:
            return "part before"
        after = _next_piece(leg)
        return after.mark if after else "next part"
    return end_words(leg, at_start)


def _next_piece(leg: Leg) -> Piece | None:
    """The pipe that a pipe-to-pipe weld at a leg's end joins it to."""
    if leg.at_end.kind != "weld" or len(leg.end_node.arms) < 2:
        return None
    after = leg.end_node.arms[1].leg
    if any(each.get("against") == "start" for each in after.said.get("inline", [])):
        return None
    pipes = pipes_at(after)
    return pipes[0] if pipes else None


def runs_on(leg: Leg) -> bool:
    """Whether its pipe runs on into the next leg, bent where they meet."""
    return leg.at_end.kind == "bend" and leg.at_end.joint == "none"


def pipe_begins(leg: Leg) -> Leg:
    """The leg that a leg's first pipe begins with: one before it, where the pipe was bent on the way."""
    while leg.node.owner is not None and runs_on(leg.node.owner):
        leg = leg.node.owner
    return leg


def pipes_at(leg: Leg) -> list[Piece]:
    """The pipes that begin with a leg: those of the leg that its pipe runs on to."""
    while runs_on(leg):
        leg = leg.end_node.arms[1].leg
    return leg.pieces


def _joint(leg: Leg, left: _Part, right: _Part, first: bool, last: bool, rows: Mapping[int, int]) -> Joint | None:
    """The joint between two neighbours, None where they are bolted or not joined."""
    item = left if left.item else right if right.item else None
    if item:
        if item.item and item.item.bolted and not (left.piece or right.piece):
            return None
        how, flange = item.how, item.flange
    elif first:
        if leg.at_start.kind == "weld" and not leg.node.first:
            return None
        how, flange = left.how, left.flange
    else:
        how, flange = right.how, right.flange
    if not how:
        return None
    piece = left.piece or right.piece
    second_end: int | None = 2 * right.row if right.piece else None
    mover = f"pipe {right.words}" if right.piece else short(right.words)
    if last and not item and (after := _next_piece(leg)):
        second_end, mover = 2 * rows[id(after)], f"pipe {after.mark}"
    first_end = 2 * left.row + 1 if left.piece else None
    return Joint(leg, how, left.words, right.words, piece, first_end, second_end, mover, flange)


# -- words for amounts -------------------------------------------------------------------------------------------------


def bounded(value: float, most: float = FARTHEST) -> float:
    """A number within reason."""
    return max(-most, min(most, value))


def steps(value: float, step: float) -> int:
    """A size in whole steps, a half going up."""
    return math.floor(round(abs(value) / step, 6) + 0.5)


def fine(value: float, edition: str) -> str:
    """An amount as a fitter reads it off a gauge: 64ths of an inch in the lowest terms, or tenths of a mm."""
    if edition == "mm":
        tenths = steps(bounded(value), 0.1)
        return f"{tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "") + " mm"
    whole, part = divmod(Fraction(steps(bounded(value), 1 / 64), 64), 1)
    if not part:
        return f"{whole}"
    return f"{whole}-{part}" if whole else f"{part}"


def said_nothing(value: float, edition: str) -> bool:
    """Whether an amount comes to no step of the gauge."""
    return steps(bounded(value), 1 / 64 if edition == "inch" else 0.1) == 0


def hours_of(upward: float, sideways: float) -> float:
    """Clock of a direction to the next half hour, half way between two the later one."""
    half = math.floor(round(math.degrees(math.atan2(sideways, upward)) / 15 + 24, 6) + 0.5) % 24
    return half / 2 + 12 if half < 2 else half / 2


def clock_text(hours: float) -> str:
    """1.5 is 1:30."""
    return f"{int(hours)}" + (":30" if hours > int(hours) else "")


def across(hours: float) -> float:
    """The clock on the other side."""
    return hours + 6 if hours < 7 else hours - 6


# -- fits --------------------------------------------------------------------------------------------------------------


def resultant(up: float, side: float) -> float:
    """Size of a direction's two parts, bounded."""
    return math.hypot(bounded(up), bounded(side))


def points(size: float, edition: str) -> bool:
    """Whether an amount is large enough to point anywhere."""
    return size >= (0.005 if edition == "inch" else 0.1) - HAIR


@dataclass
class Fit:
    """Readings round a pipe as a mean, a part that points up and to 3, and one that goes twice round."""

    mean: float
    up: float
    side: float
    twice: float
    over: float
    under: float

    @property
    def left(self) -> float:
        """The largest reading, whichever its sign, once the part that points somewhere is taken out."""
        return max(abs(self.mean + self.over), abs(self.mean + self.under))

    @property
    def size(self) -> float:
        """Of the part that points somewhere."""
        return resultant(self.up, self.side)

    @property
    def at(self) -> float:
        """Where it points."""
        return hours_of(self.up, self.side)


def fit_round(readings: Mapping[str, float | None]) -> Fit | None:
    """Least squares over the four readings, or over all eight where they are there."""
    names = list(CLOCK) if all(readings[name] is not None for name in CLOCK) else list(QUARTERS)
    values = [readings[name] for name in names]
    if any(value is None for value in values):
        return None
    turn = np.radians([CLOCK[name] for name in names])
    design = np.column_stack([np.ones(len(turn)), np.cos(turn), np.sin(turn), np.cos(2 * turn)])
    heights = np.clip(np.array(values, dtype=np.float64), -FARTHEST, FARTHEST)
    found, *_ = np.linalg.lstsq(design, heights, rcond=None)
    rest = heights - design[:, :3] @ found[:3]
    mean, up, side, twice = map(float, found)
    return Fit(mean, up, side, twice, float(np.max(rest)), float(np.min(rest)))


def fit_across(readings: Mapping[str, float | None]) -> tuple[float, float, float | None] | None:
    """A plane through an end, from the differences across its diameters: up, side, and what the plane leaves."""
    names = list(DIAMETERS) if all(readings[name] is not None for name in DIAMETERS) else ["12_6", "3_9"]
    values = [readings[name] for name in names]
    if any(value is None for value in values):
        return None
    turn = np.radians([DIAMETERS[name] for name in names])
    design = np.column_stack([np.cos(turn), np.sin(turn)])
    heights = np.clip(np.array(values, dtype=np.float64), -FARTHEST, FARTHEST)
    found, *_ = np.linalg.lstsq(design, heights, rcond=None)
    waviness = float(np.max(np.abs(heights - design @ found))) if len(names) == 4 else None
    return float(found[0]), float(found[1]), waviness


# -- the sheets --------------------------------------------------------------------------------------------------------


class Limits:
    """The rules in force: the job's, or what was typed over them.

    Args:
        walk: the job walked.
        typed: cells typed into.
    """

    def __init__(self, walk: Walk, typed: Typed) -> None:
        said = walk.job.get("rules", {})
        at = 0 if walk.edition == "inch" else 1
        self.found: dict[str, float | None] = {}
        for name, defaults in LIMITS.items():
            given = walk.length(said[name]) if name in said else defaults[at]
            self.found[name] = number(typed[f"rules.{name}", 0]) if (f"rules.{name}", 0) in typed else given
        self.facts = walk.facts
        turns = typed.get(("rules.thread_within_turns", 0), said.get("thread_within_turns", 1))
        self.turns = number(turns)
        self.made_up_by = typed.get(("rules.thread_make_up_by", 0), said.get("thread_make_up_by", "theory"))

    def __getitem__(self, name: str) -> float | None:
        return self.found[name]

    def own(self, kind: str, size: str) -> tuple[float | None, float | None]:
        """What a socket is pulled back or a thread screwed in, and how far that may be off; a turn is one pitch."""
        if kind == "socket":
            return self["socket_pullback"], self["socket_within"]
        row = self.facts.row("pipe_thread", size=size)
        made_up = self.facts.value(row, "make_up" if self.made_up_by == "theory" else "shop_make_up")
        if not row or self.turns is None:
            return made_up, None
        pitch = (1.0 if self.facts.edition == "inch" else 25.4) / float(row["threads_per_inch"])
        return made_up, self.turns * pitch

    @property
    def band(self) -> float | None:
        """Room between the smallest and the largest gap."""
        low, high = self["root_gap_min"], self["root_gap_max"]
        return None if low is None or high is None or high <= low else high - low


def counts_told(verdicts: Sequence[Value]) -> str:
    """How many of a sheet's rows are in, out and open; a row without a verdict is none of them."""
    within, outside = verdicts.count(WITHIN), verdicts.count(OUTSIDE)
    still_open = sum(bool(verdict) for verdict in verdicts) - within - outside
    return f"{within} ✓, {outside} ✗, {still_open} …"


def expected_readings(walk: Walk, typed: Typed) -> dict[Place, Value]:
    """What Ends and Fit-up show, by name and row, for every pipe end and joint of a job."""
    limits = Limits(walk, typed)
    found: dict[Place, Value] = {}
    planes: list[tuple[float, float] | None] = []
    for row, (leg, piece, last) in enumerate((leg, piece, last) for leg, piece in pieces_of(walk) for last in (0, 1)):
        line, plane = _end(leg, piece, bool(last), row, typed, limits, walk.edition)
        planes.append(plane)
        found |= {(f"ends.{name}", row): value for name, value in line.items()}
    for row, joint in enumerate(joints_of(walk)):
        line = _reading(joint, row, typed, limits, walk, planes)
        found |= {(f"joints.{name}", row): value for name, value in line.items()}
    for table in ("ends", "joints"):
        verdicts = [value for (name, _), value in found.items() if name == f"{table}.verdict"]
        found[{"ends": "ends.told", "joints": "fitup.told"}[table], 0] = counts_told(verdicts)
    found["fitup.joints_total", 0] = float(len(joints_of(walk)))
    return found


def _end(
    leg: Leg, piece: Piece, last: bool, row: int, typed: Typed, limits: Limits, edition: str
) -> tuple[dict[str, Value], tuple[float, float] | None]:
    read = {name: number(typed.get((f"ends.square_{name}", row))) for name in DIAMETERS}
    sweep = number(typed.get(("ends.sweep", row)))
    plane = fit_across(read)
    size = None if plane is None else resultant(*plane[:2])
    long_at = None if plane is None or size is None or not points(size, edition) else hours_of(*plane[:2])
    by_size = max(3 / 64 / 12 * leg.od, 1 / 32) if edition == "inch" else max(0.0039 * leg.od, 0.8)
    by_rule = limits["square_max"] if limits["square_max"] is not None else by_size
    limit = None if limits.band is None else min(by_rule, limits.band / 2)
    waviness = plane[2] if plane else None
    seen = [abs(value) for value in read.values() if value is not None]
    waves = [value for value in (waviness, sweep) if value is not None]
    most = limits["waviness_max"]
    wavy = most is not None and bool(waves) and max(waves) > most + HAIR
    crooked = limit is not None and bool(seen) and max([*seen, size or 0.0]) > limit + HAIR
    missing = [name for name in ("12_6", "3_9") if read[name] is None]
    half_read = (read["1_7"] is None) != (read["4_10"] is None)
    spoken = {"12_6": "12–6", "1_7": "1:30–7:30", "3_9": "3–9", "4_10": "4:30–10:30"}
    if wavy:
        verdict, action = OUTSIDE, f"Wavy by {fine(max(waves), edition)}: re-face and re-bevel."
    elif crooked:
        assert limit is not None
        verdict = OUTSIDE
        if size is None:
            by = f"{fine(max(seen), edition)}, over {fine(limit, edition)}"
            action = f"One side is long by {by}: read across 12–6 and 3–9."
        elif size <= limit + HAIR:
            action = f"One reading is over {fine(limit, edition)}: re-face and read again."
        elif long_at is None:
            action = "Re-face."
        else:
            action = f"Dress the long side at {clock_text(long_at)} by {fine(size, edition)}."
    elif missing:
        verdict, action = OPEN, f"Read across {' and '.join(spoken[name] for name in missing)}."
    elif half_read:
        lacking = "1_7" if read["1_7"] is None else "4_10"
        verdict, action = OPEN, f"Read across {spoken[lacking]} too, or clear the other."
    elif limit is None or most is None:
        verdict, action = NO_RULE, "Rules first: a limit is blank, or the root gaps leave no room."
    else:
        assert size is not None and limits.band is not None
        share = math.floor(round(100 * size / limits.band, 6) + 0.5)
        verdict, action = WITHIN, f"Takes {share} % of the gap band."
    line: dict[str, Value] = {
        "spool": leg.spool,
        "piece": piece.mark,
        "end": "end" if last else "start",
        "out_of_square": size,
        "long_at": long_at,
        "limit": limit,
        "waviness": waviness,
        "verdict": verdict,
        "action": action,
    }
    return line, None if plane is None else plane[:2]


def _reading(
    joint: Joint,
    row: int,
    typed: Typed,
    limits: Limits,
    walk: Walk,
    planes: Sequence[tuple[float, float] | None],
) -> dict[str, Value]:
    edition, leg = walk.edition, joint.leg
    gaps = {name: number(typed.get((f"joints.gap_{name}", row))) for name in CLOCK}
    steps_read = {name: number(typed.get((f"joints.hi_lo_{name}", row))) for name in CLOCK}
    worst_gap = number(typed.get(("joints.gap_worst", row)))
    worst_step = number(typed.get(("joints.hi_lo_worst", row)))
    gap, shift = fit_round(gaps), fit_round(steps_read)
    land, aimed = limits["root_face"], limits["root_gap"]
    across_root = None if land is None else leg.od - 2 * leg.wall + land
    if across_root is not None and across_root <= 0:
        across_root = None
    line: dict[str, Value] = {
        "spool": leg.spool,
        "joint": joint.label,
        "label": f"{leg.spool} {joint.label}",
        "kind": joint.kind,
        "first_part": joint.first,
        "second_part": joint.second,
        "root_diameter": across_root,
    }
    tilt = None if gap is None else 2 * gap.size
    widest = None if gap is None or tilt is None or not points(tilt, edition) else gap.at
    wide = None if gap is None or tilt is None or aimed is None else gap.mean + tilt / 2 - aimed
    tight = None if gap is None or tilt is None or aimed is None else gap.mean - tilt / 2 - aimed
    cocked = None if tilt is None or across_root is None else math.degrees(math.atan(tilt / across_root))
    length = joint.piece.cut_length if joint.piece else None
    throw = None if cocked is None or length is None else length * math.tan(math.radians(cocked))
    line |= {
        "gap_mean": None if gap is None else gap.mean,
        "gap_tilt": tilt,
        "gap_widest_at": widest,
        "gap_uneven": None if gap is None else gap.twice,
        "close_wide": wide,
        "close_tight": tight,
        "cocked": cocked,
        "throw": throw,
    }
    seen = [abs(value) for value in (*steps_read.values(), worst_step) if value is not None]
    moved = None if shift is None else shift.size
    line |= {
        "hi_lo_max": max(seen) if seen else None,
        "hi_lo_mean": None if shift is None else shift.mean,
        "hi_lo_oval": None if shift is None else shift.twice,
        "hi_lo_shift": moved,
        "hi_lo_shift_at": None if shift is None or moved is None or not points(moved, edition) else shift.at,
        "hi_lo_after_shift": None if shift is None else abs(shift.mean) + abs(shift.twice),
        "hi_lo_left": None if shift is None else shift.left,
    }
    low, high, most = limits["root_gap_min"], limits["root_gap_max"], limits["hi_lo_max"]
    open_gaps = [value for value in (*gaps.values(), worst_gap) if value is not None]
    gap_bad = low is not None and high is not None and any(_outside(value, low, high) for value in open_gaps)
    step_bad = most is not None and bool(seen) and max(seen) > most + HAIR
    unread = [
        (word, [name for name in QUARTERS if values[name] is None])
        for word, values in (("gap", gaps), ("hi-lo", steps_read))
    ]
    asked = [f"{word} at {', '.join(names)}" for word, names in unread if names]
    own = number(typed.get(("joints.drawn_back", row)))
    if joint.kind in SMALL:
        wanted, within = limits.own(joint.kind, leg.size)
        line |= {"own_wanted": wanted, "own_within": within}
        verdict, action = _small(joint.kind, own, wanted, within, edition)
    elif joint.kind == "fillet":
        verdict, action = FILLET, _fillet(joint, limits, edition)
    elif gap_bad or step_bad:
        verdict = OUTSIDE
        action = ""
        if gap_bad:
            assert low is not None and high is not None
            rule = (low, aimed, high)
            action += _gap_sentence(joint, gap, gaps, worst_gap, rule, throw, across_root, planes, edition)
        if step_bad:
            assert most is not None
            action += _step_sentence(joint, shift, max(seen), most, edition)
    elif asked:
        verdict, action = OPEN, f"Read {'; '.join(asked)}."
    elif None in (low, high, most, aimed):
        verdict, action = NO_RULE, "Read the rules first: a limit is blank."
    else:
        verdict, action = WITHIN, "Within the limits typed on Rules: ready to tack."
    if joint.kind in (*SMALL, "fillet"):
        readings = (*gaps.values(), *steps_read.values(), worst_gap, worst_step)
        if any(value is not None for value in readings):
            action += f" The gap or hi-lo typed here is not looked at: a {joint.kind} joint has none."
    return line | {"verdict": verdict, "action": action}


def _small(kind: str, own: float | None, wanted: float | None, within: float | None, edition: str) -> tuple[str, str]:
    """Verdict and sentence of a socket or threaded joint: it has one reading of its own."""
    if wanted is None or within is None:
        return (OPEN if own is None else NO_RULE), "A rule is blank, or the table has no such thread."
    told = fine(wanted, edition)
    if own is None:
        if kind == "socket":
            return OPEN, f"Bottom the pipe, scribe it, pull back {told}, and type what it is."
        return OPEN, f"Screw in {told} †, and type how far it went."
    if abs(own - wanted) <= within + HAIR:
        return WITHIN, "Within the limits typed on Rules" + (": ready to tack." if kind == "socket" else ".")
    off = fine(own - wanted, edition)
    if kind == "socket":
        move = "push in" if own > wanted else "draw out"
        return OUTSIDE, f"Pulled back {fine(own, edition)}, wanted {told}: {move} by {off}."
    what = "too far: look at thread and gauge, do not back it off" if own > wanted else f"screw in {off} more"
    return OUTSIDE, f"Screwed in {fine(own, edition)}, wanted {told}: {what}."


def _fillet(joint: Joint, limits: Limits, edition: str) -> str:
    if joint.flange == "slip_on_flange":
        most = limits["slip_on_setback"]
        told = "…" if most is None else fine(min(joint.leg.wall, most), edition)
        return f"Slip-on: pipe end {told} behind the face †; square the flange, no root gap."
    if joint.flange == "socket_weld_flange":
        back = limits["socket_pullback"]
        told = "…" if back is None else fine(back, edition)
        return f"Socket: bottom the pipe, then pull back {told} before welding."
    return "Fillet weld: no root gap, no hi-lo; see the procedure."


def _outside(value: float, low: float, high: float) -> bool:
    return value < low - HAIR or value > high + HAIR


def _gap_sentence(
    joint: Joint,
    gap: Fit | None,
    read: Mapping[str, float | None],
    worst: float | None,
    rule: tuple[float, float | None, float],
    throw: float | None,
    across_root: float | None,
    planes: Sequence[tuple[float, float] | None],
    edition: str,
) -> str:
    low, aimed, high = rule
    between = f"A gap is outside {fine(low, edition)} to {fine(high, edition)}"
    if gap is None:
        return f"{between}: read it at 12, 3, 6 and 9. "
    if aimed is None:
        return f"{between}; the root gap on Rules is blank. "
    tilt = 2 * gap.size
    every = {**read, "worst": worst}
    away = {name: value for name, value in every.items() if value is not None and _outside(value, low, high)}
    swings = points(tilt, edition) and not said_nothing(tilt, edition)
    if gap.mean - tilt / 2 >= low - HAIR and gap.mean + tilt / 2 <= high + HAIR:
        cured = aimed + gap.under >= low - HAIR and aimed + gap.over <= high + HAIR
        if swings and cured and "worst" not in away:
            return _swing_sentence(joint, gap, aimed, throw, across_root, planes, edition)
        if said_nothing(2 * gap.twice, edition) or not away.keys() & set(QUARTERS):
            if len(away) > 1:
                return (
                    f"Outside at {len(away)} places, which no swing takes out: dress the tight ones, "
                    "then set it to the root gap again. "
                )
            if min(away.values()) < low:
                return "Tight at one place only: dress it there and read again. "
            return "Wide at one place only: dress the rest to it and close up, or as the procedure allows. "
        where = "3 and 9" if gap.twice > 0 else "12 and 6"
        by = fine(2 * gap.twice, edition)
        return (
            f"Uneven by {by}, which no swing takes out: dress the tight places at {where}, "
            "then set it to the root gap again. "
        )
    if not swings:
        apart = gap.mean - aimed
        if said_nothing(apart, edition):
            return "A gap is outside by less than a gauge shows: read again. "
        return f"{'Close' if apart > 0 else 'Open'} all round by {fine(apart, edition)}. "
    return _swing_sentence(joint, gap, aimed, throw, across_root, planes, edition)


def _swing_sentence(
    joint: Joint,
    gap: Fit,
    aimed: float,
    throw: float | None,
    across_root: float | None,
    planes: Sequence[tuple[float, float] | None],
    edition: str,
) -> str:
    at, tilt = gap.at, 2 * gap.size

    def move(hours: float, by: float) -> str:
        if said_nothing(by, edition):
            return f"leave {clock_text(hours)}"
        return f"{'close' if by > 0 else 'open'} {clock_text(hours)} by {fine(by, edition)}"

    moves = f"{move(at, gap.mean + tilt / 2 - aimed)}, {move(across(at), gap.mean - tilt / 2 - aimed)}"
    far = f" (far end moves {fine(throw, edition)})" if throw is not None else ""
    dress = f"dress the tight side at {clock_text(across(at))} by {fine(tilt, edition)}"
    mine = [row for row in (joint.first_end, joint.second_end) if row is not None]
    known = [plane for row in mine if (plane := planes[row]) is not None]
    if not mine or len(known) < len(mine) or across_root is None:
        why = f"if level or square shows the piece out the same way, swing it{far}; if the piece is true, {dress}"
    else:
        # an end that stands long by so much across its outside is long by half of it on that side, less at the root
        up, side = (-sum(plane[at] for plane in known) / 2 * across_root / joint.leg.od for at in (0, 1))
        left = 2 * math.hypot(gap.up - up, gap.side - side)
        if left <= tilt / 2 + HAIR:
            why = f"the ends are out of square by as much (Ends): {dress}"
        elif len(mine) == 2:
            why = f"the ends (Ends) do not explain it: swing the piece{far}"
        else:
            other = "the pipe's end (Ends) does not explain it: look at the other part's"
            why = f"{other}; if that is true too, swing the piece{far}"
    return f"{clock_text(at)} o'clock wide by {fine(tilt, edition)}: {moves}; {why}. "


def _step_sentence(joint: Joint, shift: Fit | None, largest: float, most: float, edition: str) -> str:
    if shift is None:
        return f"Hi-lo {fine(largest, edition)} is over {fine(most, edition)}: read it at 12, 3, 6 and 9. "
    if shift.left <= most + HAIR:
        if not points(shift.size, edition) or said_nothing(shift.size, edition) or largest - shift.size > most + HAIR:
            return "Hi-lo is over at one place only: round it out there. "
        return f"Move the {joint.mover} {fine(shift.size, edition)} towards {clock_text(shift.at)}. "
    if 2 * abs(shift.mean) >= shift.left - HAIR:
        told = fine(2 * shift.mean, edition)
        return f"Bores differ by {told} on diameter: trim or taper, keep the minimum wall, see the procedure. "
    return "Oval: turn the second part or round it out before trimming. "
