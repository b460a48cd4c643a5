"""A second opinion on Dimensions, Prediction, Weld log and Release: spools laid out in space with NumPy.

Nothing of the templates is used here. A dimension is the distance between two points of a walked spool; a prediction is
what happens to its open end when one thing at a time is made wrong by its tolerance and the spool is laid out anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import engines
import numpy as np
import walk_outlets
from live import Live, Value, Wrong, some
from routes import Routes
from walk import ELBOWS, FLANGES, LOOSE, REDUCERS, Leg, Vector, Walk, _rows
from walk_ends import CORNERS, RETURNS

from workbook_builder.book import column_letters

Place = tuple[str, int]

EDITIONS = ("inch", "mm")
WITHIN, OUTSIDE, OPEN, NO_RULE = "✓ within", "✗ outside", "… not yet measured", "… rule missing"
SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "sketch", "predictions",
    "closure_steps", "cutlist", "cut_steps",
    "ends", "fitup", "bevels", "groove", "bores", "bore_sizes", "tacks", "tack_practice", "flanges", "faces", "drilled",
    "face_steps", "levels", "dimensions", "welds", "release", "release_points", "key", "tables_used",
)  # fmt: skip
"""What the sheets that are tried here rest on; the others would only take time."""

OWN = "dimensions predictions closure_steps chains welds release record release_points released"
AXES = ("east", "north", "up")
WORDS = (("west", "east"), ("south", "north"), ("down", "up"))

THREADED = """
schema = 1
[job]
name = "n"
number = "1"
units = "inch"
[[spool]]
mark = "T"
size = "1"
schedule = "80"
joint = "threaded"
fitting_class = 3000
start = "plain"
[[spool.leg]]
east = 20
end = "elbow"
[[spool.leg]]
up = 20
end = "plain"
"""
"""A spool whose joints are all threaded: no welds, no tacks."""


@cache
def opened(text: str | None, edition: str) -> Live:
    """A job in that workbook; whoever types into it resets it first."""
    return Live(text, edition, some(SHEETS))


def cleared(text: str | None, edition: str) -> Live:
    """The same with nothing typed."""
    book = opened(text, edition)
    book.reset()
    book.calculate()
    return book


@cache
def random_job(seed: int, units: str, count: int = 12) -> str:
    """A job of random spools."""
    return Routes(seed, units).job(count)


@cache
def walked(text: str, edition: str) -> Walk:
    """A job walked."""
    return Walk(text, edition)


def errors(book: Live) -> list[str]:
    """Cells of these sheets that hold an error value."""
    return [
        f"{field.name}, row {at + 1}: {value}"
        for field in book.computed
        if field.name.partition(".")[0] in OWN.split()
        for at, value in enumerate(book.take(field))
        if isinstance(value, Wrong)
    ]


def disagreements(book: Live, states: Iterable[Mapping[Place, Value]], folder: Path) -> list[str]:
    """Cells of these sheets on which LibreOffice does not agree with the engine that builds, over typed states."""
    engines.require_libreoffice()
    built = folder / f"built-{book.edition}.xlsx"
    built.write_bytes(book.bytes)

    def cell(name: str, row: int) -> engines.Cell:
        field = book.book.fields[name]
        return field.tab, f"{column_letters(field.column)}{field.row + row + 1}"

    paths: list[Path] = []
    wanted: list[dict[engines.Cell, Any]] = []
    for number, state in enumerate(states):
        book.reset()
        book.put_all(state)
        wanted.append(
            {
                cell(field.name, row): value
                for field in book.computed
                if field.name.partition(".")[0] in OWN.split()
                for row, value in enumerate(book.take(field))
            }
        )
        typed = {cell(name, row): value for (name, row), value in state.items()}
        paths.append(engines.type_into(built, folder / f"typed-{book.edition}-{number}.xlsx", typed))
    book.reset()
    answers = engines.recompute_with_libreoffice(paths, folder / "office")
    found: list[str] = []
    for path, ours in zip(paths, wanted, strict=True):
        found += [str(each) for each in engines.differences(ours, answers[path])]
    return found


# -- chains of legs ----------------------------------------------------------------------------------------------------


def chain(leg: Leg) -> list[Leg]:
    """The legs from the start to this one."""
    found = [leg]
    while not found[0].node.first:
        assert found[0].node.owner is not None
        found.insert(0, found[0].node.owner)
    return found


def datum(leg: Leg) -> Leg | None:
    """The leg whose end this one's chain is measured from; None where that is the start."""
    root = chain(leg)[0]
    first = root.node.arms[0].leg
    return None if first is root else first


def leaf(leg: Leg) -> bool:
    """Whether nothing starts from its end."""
    return len(leg.end_node.arms) == 1


def loose(leg: Leg, at_end: bool) -> bool:
    """Whether a leg has a loose end there."""
    end = leg.at_end if at_end else leg.at_start
    if end.kind not in (*LOOSE, "weld"):
        return False
    return leaf(leg) if at_end else leg.node.first and leg.node.arms[0].leg is leg


def trim(walk: Walk, leg: Leg, at_end: bool) -> float:
    """Trim left on a loose end."""
    if not loose(leg, at_end):
        return 0.0
    return walk.length(leg.said.get("trim", 0) if at_end else leg.node.said.get("start_trim", 0))


def longer(walk: Walk, leg: Leg, at_end: bool, trim_on: bool = True) -> float:
    """By how much a loose end leaves the shop longer than it is drawn: trim, less the share of a field gap."""
    if not loose(leg, at_end):
        return 0.0
    end = leg.at_end if at_end else leg.at_start
    return (trim(walk, leg, at_end) if trim_on else 0.0) - end.gaps * walk.rules["root_gap"]


def tip(walk: Walk, leg: Leg, trim_on: bool = True) -> Vector:
    """Where the end of a leg is as it leaves the shop, or once its trim is cut off."""
    found: Vector = leg.end + longer(walk, leg, True, trim_on) * leg.way
    return found


def origin(walk: Walk, leg: Leg, trim_on: bool = True) -> Vector:
    """Where the open end of a chain is measured from."""
    other = datum(leg)
    if other is not None:
        return tip(walk, other, trim_on)
    root = chain(leg)[0]
    found: Vector = -longer(walk, root, False, trim_on) * root.way
    return found


# -- dimensions --------------------------------------------------------------------------------------------------------


@dataclass
class Dimension:
    """A drawing dimension: of which leg, what of it, its size with the sign, and its size once trim is cut off."""

    leg: Leg
    what: str
    signed: float
    cut_back: float

    @property
    def size(self) -> float:
        """Without the sign."""
        return abs(self.signed)


def dimensions_of(walk: Walk) -> list[Dimension]:
    """Every dimension of a job in the order of the sheet."""
    found: list[Dimension] = []
    for leg in walk.legs:
        own = leg.length + longer(walk, leg, True) + longer(walk, leg, False)
        found.append(Dimension(leg, "leg", own, abs(own - trim(walk, leg, True) - trim(walk, leg, False))))
        along_an_axis = max(abs(leg.way)) > 1 - 1e-6
        if leaf(leg) and not (leg.node.first and datum(leg) is None and along_an_axis):
            apart = tip(walk, leg) - origin(walk, leg)
            bare = tip(walk, leg, False) - origin(walk, leg, False)
            found += [Dimension(leg, word, float(apart[at]), abs(float(bare[at]))) for at, word in enumerate(AXES)]
            found.append(Dimension(leg, "straight", float(np.linalg.norm(apart)), float(np.linalg.norm(bare))))
    return found


ES_3 = ((10, 1 / 8, 3.0), (24, 3 / 16, 5.0), (36, 1 / 4, 6.0), (47, 1 / 4, 6.0), (48, 5 / 16, 8.0))
"""PFI ES-3 2.2 and 2.3: up to this nominal size, inch and mm."""

ISO_13920 = (
    (30, 1, 1, 1, 1), (120, 1, 2, 3, 4), (400, 1, 2, 4, 7), (1000, 2, 3, 6, 9), (2000, 3, 4, 8, 12),
    (4000, 4, 6, 11, 16), (8000, 5, 8, 14, 21), (12000, 6, 10, 18, 27), (16000, 7, 12, 21, 32), (20000, 8, 14, 24, 36),
    (math.inf, 9, 16, 27, 40),
)  # fmt: skip
"""Up to this length in mm, classes A to D in mm."""


def nominal(size: str) -> float:
    """A nominal size as a number: 1-1/4 is 1.25."""
    whole, _, part = size.rpartition("-") if "/" in size else (size, "", "")
    if not part:
        return float(whole)
    over, under = part.split("/")
    return (float(whole) if whole else 0.0) + float(over) / float(under)


def es_3(size: str, edition: str) -> float:
    """The linear tolerance of a pipe size."""
    return next((inch if edition == "inch" else mm) for upto, inch, mm in ES_3 if nominal(size) <= upto)


def iso_13920(length: float, letter: str, edition: str) -> float | None:
    """The linear tolerance of a length, in the edition's unit; none for less than a millimetre."""
    in_mm = length * (25.4 if edition == "inch" else 1.0)
    if in_mm < 1:
        return None
    row = next(row for row in ISO_13920 if round(in_mm, 3) <= row[0])
    return row[1 + "ABCD".index(letter)] / (25.4 if edition == "inch" else 1.0)


# -- predictions -------------------------------------------------------------------------------------------------------


@dataclass
class Fault:
    """One thing that may be wrong: a leg too long by `along`, or turned about an axis by an angle in degrees."""

    leg: Leg
    along: float = 0.0
    axis: Vector | None = None
    degrees: float = 0.0
    part: bool = False


@dataclass(frozen=True)
class Doubts:
    """How far off things may be, in the edition's unit and in degrees."""

    cut: float
    gap: float
    shrinkage: float
    item: float
    level: float


OUTLETS = (*walk_outlets.SOCKET, *walk_outlets.THREAD, *walk_outlets.BUTT, *walk_outlets.STUBS)
UNTOLD = ("other", "lateral", "union", "bend", *OUTLETS)
"""Ends whose length no standard's tolerance covers: outlets, bends, laterals, unions and whatever has another name."""

TURNING = (*(kind for kind in CORNERS if kind != "bend"), *RETURNS, "tee", "cross")
"""Forged fittings with a centre, whose centre-to-end length has a tolerance."""


def size_row(size: str) -> Mapping[str, str]:
    """A size's row of the table of fitting tolerances."""
    return next((row for row in _rows("fitting_tolerance") if row["size"] == size), {})


def part_doubt(kind: str, takeout: float | None, typed: bool, size: str, edition: str, item: float) -> float:
    """How far the take-out of what stands at an end of this pipe size may be off; `item` is the doubt of an item."""
    if kind in UNTOLD:
        return item
    if typed or takeout == 0:
        return 0.0
    if kind == "weld_neck_flange":
        return flange_doubt(size, edition)
    column = {"cap": "cap_length", **dict.fromkeys(REDUCERS, "reducer_length")}.get(kind, "")
    if kind in TURNING or kind == "lap_joint":
        column = "centre_to_end"
    if not column:
        return 0.0
    row = size_row(size)
    return float(row[f"{column}_{'in' if edition == 'inch' else 'mm'}"]) if row else item


def flange_doubt(size: str, edition: str) -> float:
    """How far the length of a weld neck flange may be off."""
    at = 0 if nominal(size) <= 4 else 1 if nominal(size) <= 10 else 2
    return (0.06, 0.12, 0.18)[at] if edition == "inch" else (1.5, 3.0, 5.0)[at]


def faults_of(walk: Walk, leg: Leg, doubts: Doubts) -> list[Fault]:
    """Everything that may be wrong with one leg: its length in many parts, its direction in two planes."""
    edition = walk.edition
    found = [
        Fault(leg, part_doubt(end.kind, end.takeout, end.typed, leg.size, edition, doubts.item), part=True)
        for end in (leg.at_start, leg.at_end)
    ]
    for said, item in zip(leg.said.get("inline", []), leg.items, strict=True):
        found.append(Fault(leg, doubts.item, part=True))
        if said.get("flange") == "weld_neck_flange":
            found += [Fault(leg, flange_doubt(leg.size, edition), part=True)] * (1 if item.bolted else 2)
    found += [Fault(leg, doubts.cut)] * len(leg.pieces)
    found += [Fault(leg, doubts.gap), Fault(leg, doubts.shrinkage)] * leg.shop_welds
    east, north, _ = leg.way
    flat = math.hypot(east, north)
    level: Vector = np.array([1.0, 0.0, 0.0]) if flat < 0.001 else np.array([-north, east, 0.0]) / flat
    for axis in (level, np.cross(leg.way, level)):
        found.append(Fault(leg, axis=axis, degrees=doubts.level))
    return found


def turned(vector: Vector, axis: Vector, degrees: float) -> Vector:
    """A vector turned about an axis."""
    angle, axis = math.radians(degrees), axis / np.linalg.norm(axis)
    found: Vector = (
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + axis * float(axis @ vector) * (1 - math.cos(angle))
    )
    return found


def laid_end(legs: Sequence[Leg], faults: Iterable[Fault]) -> Vector:
    """Where a chain of legs ends when it is laid out with these faults."""
    vectors = {id(leg): leg.vector.copy() for leg in legs}
    for fault in faults:
        if id(fault.leg) not in vectors:
            continue
        vector = vectors[id(fault.leg)]
        if fault.axis is None:
            vectors[id(fault.leg)] = vector + fault.along * vector / np.linalg.norm(vector)
        else:
            vectors[id(fault.leg)] = turned(vector, fault.axis, fault.degrees)
    found: Vector = np.sum([vectors[id(leg)] for leg in legs], axis=0)
    return found


@dataclass
class Forecast:
    """What a chain's faults do to its open end: a row for each fault, east, north, up."""

    leg: Leg
    faults: list[Fault]
    moves: Vector

    def worst(self) -> Vector:
        """All at once."""
        found: Vector = np.sum(np.abs(self.moves), axis=0)
        return found

    def likely(self, chosen: Sequence[bool] | None = None) -> Vector:
        """Root of the sum of the squares, of all faults or of the chosen ones."""
        moves = self.moves if chosen is None else self.moves[np.array(chosen, dtype=bool)]
        found: Vector = np.sqrt(np.sum(moves**2, axis=0))
        return found


def forecast(walk: Walk, leg: Leg, doubts: Doubts) -> Forecast:
    """Lay an open end's chain out once for each fault."""
    legs = chain(leg)
    other = datum(leg)
    base = laid_end(legs, []) - (laid_end([other], []) if other else 0.0)
    faults = [fault for each in [*legs, *([other] if other else [])] for fault in faults_of(walk, each, doubts)]
    moves = [laid_end(legs, [fault]) - (laid_end([other], [fault]) if other else 0.0) - base for fault in faults]
    return Forecast(leg, faults, np.array(moves))


def swings_of(walk: Walk, leg: Leg) -> list[tuple[Leg, float]]:
    """Fittings that swing the open end when nobody corrects them: the leg that leaves each, and the slope."""
    suffix = {"inch": "_in", "mm": "_mm"}[walk.edition]
    found: list[tuple[Leg, float]] = []
    for each in chain(leg):
        row = size_row(each.size)
        kind = each.at_start.kind
        there = not each.node.first or datum(leg) is not None
        if not there or kind not in (*ELBOWS, "tee", *REDUCERS) or not row:
            continue
        slope = (float(row[f"off_angle{suffix}"]) / each.od) ** 2
        reach = each.at_start.takeout or 0.0
        if kind in ELBOWS and reach and each.node.owner:
            column = "long_90" if kind == "elbow" else "short_90"
            radius = walk.facts.value(walk.facts.row("elbow", size=each.node.owner.size), column)
            turn = each.turn_start or 0.0
            cocked = each.node.said.get("fitting") == "stock" and turn <= 67.5 and abs(turn - 90) > walk.near
            made = 45.0 if kind == "elbow" and (cocked or abs(turn - 45) <= walk.near) else turn
            if made != 45.0 and radius:
                reach = max(reach, radius)
        if kind not in REDUCERS and reach > 0:
            slope += (float(row[f"off_plane{suffix}"]) / reach) ** 2
        found.append((each, math.sqrt(slope)))
    return found


def open_ends(walk: Walk) -> list[Leg]:
    """Legs that nothing starts from, in the order of the sheet."""
    return [leg for leg in walk.legs if leaf(leg)]


def is_flange(kind: str) -> bool:
    """Whether a dimension is taken to its face."""
    return kind in FLANGES
