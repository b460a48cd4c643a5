"""Dimensions, Prediction and Closure steps staged for `mutants.py`: every cell of theirs, worked out anew.

What the sheets before these hold (where each leg runs, its take-outs, its pieces, what is typed) is read from the
workbook; they have oracles of their own. From there on nothing of the templates is used. A chain is a list of legs, a
sum runs over it; a dimension is the difference of two points; how far a fitting swings an end is its slope times the
distance between two points; the standards' numbers come from `handover.py` and the reference tables.

Lengths are in the edition's unit, angles in degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import gauges
import handover
import numpy as np
import paperwork
from gauges import HAIR, bounded
from handover import AXES, NO_RULE, OPEN, OUTSIDE, WITHIN
from held import Held
from live import Live, Place, Value, one_inch
from routes import job_text
from routes_wild import Wild
from staging import Case, Scene
from walk import LOOSE, REDUCERS, Vector, _rows
from walk_ends import CORNERS, FLANGES, RETURNS

SHEETS = ("dimensions", "predictions", "closure_steps")
BUILT = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "predictions",
    "closure_steps", "dimensions", "key", "tables_used",
)  # fmt: skip
"""What these sheets rest on."""

OWN = ("dimensions", "predictions", "closure_steps", "chains")
WORDS = (("west", "east"), ("south", "north"), ("down", "up"))
LINES = ("east-west", "north-south", "up-down")
LOOSE_ENDS = (*LOOSE, "weld")
CENTRES = (*CORNERS, *RETURNS, "tee", "cross", "lateral", "coupling", "union")
SWINGING = (*CORNERS, *RETURNS, "tee", "cross", *REDUCERS)
UPRIGHT = 0.001
"""What of a direction of length 1 may be level while the leg still counts as upright."""
ALIKE = 1e-6
"""Shares of a direction that differ by less are the same."""
LEAST_SHARE, FINEST = 0.5, 0.05
"""A leg carries an allowance when so much of it runs that way; nobody is asked to level finer than so many degrees."""
MINUS = "Minus says that it came out on the other side of where it is measured from: sizes are typed without a sign. "
SAYABLE = 1e9
"""A larger amount has not all the digits that its fraction needs: how it is put into words is nobody's concern."""
FIELD = {"inch": ("-10000 ft", -120000.0, "10000 ft", 120000.0), "mm": ("-3000000 mm", -3e6, "3000000 mm", 3e6)}
"""Between what an as-built size may be, as it is said and as a number."""


def vector(there: Held, names: Sequence[str], row: int) -> Vector:
    """Three numbers: east, north, up."""
    found: Vector = np.array([there.sure(name, row) for name in names])
    return found


def within(value: float, limit: float) -> bool:
    """Whether a length is within a limit."""
    return value <= limit + HAIR


def sign(there: bool) -> float:
    """1 for yes."""
    return float(there)


@dataclass(frozen=True)
class Doubts:
    """How far off things may be; None where the rule is not there."""

    cut: float | None
    gap: float | None
    shrinkage: float | None
    item: float | None
    level: float


def doubts_of(there: Held) -> Doubts:
    """From the rules as they stand."""
    low, aimed, high = (there.number(f"rules.root_gap{tail}") for tail in ("_min", "", "_max"))
    gap = None
    if low is not None and aimed is not None and high is not None:
        gap = bounded(max(high - aimed, aimed - low, 0.0))

    def amount(name: str) -> float | None:
        typed = there.number(name)
        return None if typed is None else max(0.0, bounded(typed))

    level = there.number("rules.level_within")
    if level is None:  # PFI ES-3 Fig. 1: 3/64 in per ft, 3.9 mm per m
        level = math.degrees(math.atan(3 / 64 / 12 if there.edition == "inch" else 0.0039))
    else:
        level = max(0.0, min(level, 45.0))
    return Doubts(there.number("rules.step"), gap, amount("rules.shrinkage_within"), amount("rules.item_within"), level)


class Tolerances:
    """Which tolerance a dimension has, by the rules as they stand."""

    def __init__(self, there: Held) -> None:
        self.edition = there.edition
        self.own = there.number("rules.spool_max")
        self.by = there.text("rules.tolerance_by")
        standard, _, letters = self.by.rpartition("-")
        self.letter = letters if standard == "ISO 13920" and letters and letters in "ABCD" else ""

    def of(self, size: str, length: float) -> float | None:
        """The tolerance of a length of pipe of a size."""
        if self.own is not None:
            return bounded(self.own)
        if self.by == "PFI ES-3":
            return handover.es_3(size, self.edition)
        return handover.iso_13920(length, self.letter, self.edition) if self.letter else None

    def said(self) -> str:
        """Where it comes from, in words."""
        if self.own is not None:
            return f"your own, ± {gauges.fine(self.own, self.edition)} (Rules)"
        if self.by == "PFI ES-3":
            return "PFI ES-3 2.2, by pipe size"
        return f"ISO 13920 class {self.letter}, by length in mm" if self.letter else "✗ no tolerance chosen on Rules"


# -- chains of legs ----------------------------------------------------------------------------------------------------


class Link:
    """A leg in a chain of legs.

    Args:
        job: all of them.
        row: its row on the Route, from 1.
        before: the leg that it starts from; None for the start.
    """

    def __init__(self, job: Chains, row: int, before: Link | None) -> None:
        there = job.there
        self.job, self.row, self.before = job, row, before
        self.spool, self.leg = there.text("legs.spool", row), there.text("legs.leg", row)
        self.size = there.text("legs.size", row)
        self.length, self.od = there.sure("legs.length", row), there.sure("legs.od", row)
        self.start, self.end = there.text("legs.start_kind", row), there.text("legs.end", row)
        self.way = vector(there, ("legs.ux", "legs.uy", "legs.uz"), row)
        self.begins = vector(there, ("legs.x_start", "legs.y_start", "legs.z_start"), row)
        self.stops = vector(there, ("legs.x_end", "legs.y_end", "legs.z_end"), row)
        self.pieces = int(there.sure("legs.piece_count", row))
        self.items = int(there.sure("legs.item_count", row))
        self.welds = int(there.sure("legs.shop_welds", row))
        self.kids = int(there.sure("legs.kids", row))
        self.made_up = there.sure("legs.made_up", row) == 1
        self.spool_row = int(there.sure("legs.spool_row", row))
        self.elder = int(there.sure("legs.elder", row)) if before is None else 0
        """Row of the first leg from the start, where this is another one from there; 0 else."""

    @cached_property
    def chain(self) -> list[Link]:
        """The legs from the start to this one."""
        return [*(self.before.chain if self.before else []), self]

    @cached_property
    def root(self) -> Link:
        """The first of them."""
        return self.chain[0]

    @cached_property
    def datum(self) -> Link | None:
        """The leg whose end this one's chain is measured from; None where that is the start."""
        return self.job.links.get(self.root.elder)

    @cached_property
    def leaf(self) -> bool:
        """Whether nothing starts from its end."""
        return self.kids == 0

    # -- along it

    @cached_property
    def first_piece(self) -> int:
        """Row of the piece at its start, 0 where none is there."""
        there = self.job.there
        if not self.pieces or there.sure("legs.items_at_start", self.row):
            return 0
        return 1 + sum(int(there.number("legs.piece_count", row) or 0) for row in range(1, self.row))

    @cached_property
    def last_piece(self) -> int:
        """Row of the piece at its end, 0 where none is there."""
        there = self.job.there
        if not self.pieces or there.sure("legs.items_at_end", self.row):
            return 0
        return sum(int(there.number("legs.piece_count", row) or 0) for row in range(1, self.row + 1))

    def measured(self, side: str) -> int:
        """How often what stands at an end was measured: at its piece, and as a take-out typed."""
        there = self.job.there
        piece = self.first_piece if side == "start" else self.last_piece
        found = sign(piece > 0 and there.number(f"cuts.measured_{side}", max(1, piece)) is not None)
        return int(found + sign(there.number(f"legs.takeout_{side}_typed", self.row) is not None))

    def part(self, side: str) -> float | None:
        """How far the take-out of what stands at an end may be off."""
        item = self.job.doubts.item
        if item is None:
            return None
        kind = self.start if side == "start" else self.end
        takeout = self.job.there.number(f"legs.takeout_{side}", self.row)
        return handover.part_doubt(kind, takeout, self.measured(side) > 0, self.size, self.job.edition, item)

    @cached_property
    def item_flanges(self) -> int:
        """Weld neck flanges beside its items: one at each side that is not bolted to an end."""
        there = self.job.there
        mine = [
            row
            for row in range(1, there.count("items") + 1)
            if there.number("items.leg_row", row) == self.row and there.text("items.flange", row) == "weld_neck_flange"
        ]
        return sum(int(there.number("items.joints", row) or 0) for row in mine)

    @cached_property
    def fittings(self) -> list[float] | None:
        """Doubts of its parts and items, one by one."""
        start, end, item = self.part("start"), self.part("end"), self.job.doubts.item
        if start is None or end is None or item is None:
            return None
        flange = handover.flange_doubt(self.size, self.job.edition)
        return [start, end, *[item] * self.items, *[flange] * self.item_flanges]

    @cached_property
    def along(self) -> list[float] | None:
        """Every doubt of its length, one by one."""
        doubts = self.job.doubts
        if self.fittings is None or doubts.cut is None or doubts.gap is None or doubts.shrinkage is None:
            return None
        return [*self.fittings, *[doubts.cut] * self.pieces, *[doubts.gap, doubts.shrinkage] * self.welds]

    @cached_property
    def sideways(self) -> float:
        """How far its end may stand off, square to it, by levelling."""
        return self.length * math.tan(math.radians(self.job.doubts.level))

    @cached_property
    def flat(self) -> float:
        """The level part of its direction."""
        return math.hypot(self.way[0], self.way[1])

    @cached_property
    def out(self) -> Vector:
        """What a unit off in each of two planes, one level and one upright, comes to east, north and up."""
        east, north, _ = self.way
        if self.flat < UPRIGHT:
            return np.array([1.0, 1.0, self.flat])
        level = np.array([-north, east, 0.0]) / self.flat
        found: Vector = np.abs(level) + np.abs(np.cross(self.way, level))
        return found

    # -- what swings it

    @cached_property
    def swings(self) -> bool:
        """Whether a fitting at its start can swing it."""
        after = self.before is not None or self.elder > 0
        return after and self.start in SWINGING and bool(handover.size_row(self.size))

    @cached_property
    def reach(self) -> float:
        """Centre to end of that fitting, 0 where it has none; of a cut elbow its radius."""
        there = self.job.there
        takeout = there.number("legs.takeout_start", self.row)
        if not self.swings or self.start in REDUCERS or takeout is None:
            return 0.0
        if self.before is None or self.start not in CORNERS:
            return takeout
        radius = there.number("legs.bend_radius", self.before.row)
        made = there.number("legs.fit_turn", self.before.row)
        return takeout if made == 45.0 or radius is None else max(takeout, radius)

    @cached_property
    def slope(self) -> float:
        """How far that fitting may lean: its off-angle over the diameter, its off-plane over the reach."""
        if not self.swings:
            return 0.0
        row, tail = handover.size_row(self.size), "in" if self.job.edition == "inch" else "mm"
        plane = float(row[f"off_plane_{tail}"]) / self.reach if self.reach > 0 else 0.0
        return math.hypot(float(row[f"off_angle_{tail}"]) / self.od, min(1.0, plane))

    @cached_property
    def path(self) -> float:
        """Length along the pipe from the start to its end; of a branch, along the header to its outlet."""
        outlet = int(self.job.there.sure("legs.outlet_row", self.row))
        if outlet:
            assert self.before is not None
            return self.before.path - self.before.length + self.job.there.sure("outlets.place", outlet) + self.length
        return self.length + (self.before.path if self.before else 0.0)

    # -- its ends

    @cached_property
    def loose_end(self) -> bool:
        """Whether its end is a loose one."""
        return self.leaf and self.end in LOOSE_ENDS

    @cached_property
    def loose_start(self) -> bool:
        """Whether its start is a loose one."""
        return self.before is None and self.elder == 0 and self.start in LOOSE_ENDS

    @cached_property
    def trim_end(self) -> float:
        """Trim left on its end."""
        return bounded(self.job.there.number("details.trim", self.row) or 0.0) if self.loose_end else 0.0

    @cached_property
    def trim_start(self) -> float:
        """Trim left on its start."""
        return bounded(self.job.there.number("spools.start_trim", self.spool_row) or 0.0) if self.loose_start else 0.0

    def _gap(self, side: str) -> float:
        gap, share = self.job.there.number("rules.root_gap"), self.job.there.number(f"legs.share_{side}", self.row)
        return 0.0 if gap is None or share is None else share * bounded(gap)

    @cached_property
    def more_end(self) -> float:
        """By how much it is longer at its end as it leaves the shop: trim, less a field gap, or less a gasket."""
        if self.loose_end:
            return self.trim_end - self._gap("end")
        return -bounded(self.job.there.number("legs.gasket_end", self.row) or 0.0)

    @cached_property
    def more_start(self) -> float:
        """The same at its start."""
        if self.loose_start:
            return self.trim_start - self._gap("start")
        return -bounded(self.job.there.number("legs.gasket_start", self.row) or 0.0)

    @cached_property
    def far(self) -> Vector:
        """Its end as it leaves the shop."""
        found: Vector = self.stops + self.more_end * self.way
        return found

    @cached_property
    def near(self) -> Vector | None:
        """Where its end is measured from; None where that leg cannot be made."""
        if self.root.elder:
            return self.datum.far if self.datum else None
        found: Vector = -self.root.more_start * self.root.way
        return found

    @cached_property
    def along_an_axis(self) -> bool:
        """Whether it runs along east, north or up."""
        return bool(max(abs(self.way)) > 1 - ALIKE)

    @cached_property
    def dimensions(self) -> int:
        """How many dimensions it has: its length; at an open end also east, north, up and straight."""
        more = self.leaf and (self.before is not None or self.elder > 0 or not self.along_an_axis)
        return 5 if more else 1

    def best(self, axis: int) -> Link | None:
        """The last leg of its chain with pipe in it that runs most along an axis."""
        shares = [(abs(float(link.way[axis])), link) for link in self.chain if link.pieces]
        most = max((share for share, _ in shares), default=0.0)
        return next((link for share, link in reversed(shares) if share >= most - ALIKE), None)


class Chains:
    """All legs with a length, each hung on the one it starts from.

    Args:
        there: the sheets before.
    """

    def __init__(self, there: Held) -> None:
        self.there, self.edition = there, there.edition
        self.doubts, self.tolerances = doubts_of(there), Tolerances(there)
        self.links: dict[int, Link] = {}
        for row in range(1, there.count("legs") + 1):
            known = all(
                there.number(f"legs.{name}", row) is not None for name in ("length", "parent", "spool_row", "od")
            )
            if not known or not there.text("legs.spool", row):
                continue
            parent = int(there.sure("legs.parent", row))
            if parent == 0 or parent in self.links:
                self.links[row] = Link(self, row, self.links.get(parent))

    @property
    def leaves(self) -> list[Link]:
        """Legs with an open end."""
        return [link for link in self.links.values() if link.leaf]


def expected_chains(chains: Chains) -> dict[Place, Value]:
    """Every cell of Closure steps."""
    there, doubts = chains.there, chains.doubts
    found: dict[Place, Value] = {
        ("closure_steps.level_used", 0): doubts.level,
        ("closure_steps.gap_within", 0): doubts.gap,
        ("closure_steps.shrinkage_off", 0): doubts.shrinkage,
        ("closure_steps.item_off", 0): doubts.item,
    }
    columns = [field.name for field in there.book.computed if field.table == "chains"]
    dimensions = leaves = 0
    for row in range(1, there.count("chains") + 1):
        line: dict[str, Value] = {name.partition(".")[2]: None for name in columns}
        spool = there.text("legs.spool", row)
        line |= {"spool": spool or None, "leaf": 0.0, "dimension_count": 0.0, "dimensions_before": float(dimensions)}
        if spool:
            line |= {"leg": there.text("legs.leg", row) or None, "runs": there.text("legs.direction", row) or None}
        if row in chains.links:
            link = chains.links[row]
            line |= dict(_link_cells(link))
            dimensions += link.dimensions
            leaves += link.leaf
            line["leaf_number"] = float(leaves) if link.leaf else None
        found |= {(f"chains.{name}", row - 1): value for name, value in line.items()}
    return found


def _link_cells(link: Link) -> Iterator[tuple[str, Value]]:
    """What Closure steps shows of a leg."""
    doubts, chain, before = link.job.doubts, link.chain, link.before
    sizes = [row["size"] for row in _rows("fitting_tolerance")]
    yield "present", 1.0
    yield "length", link.length
    yield "parent", float(before.row if before else 0)
    yield "od", link.od
    yield "elder", float(link.elder)
    yield "root", float(link.root.row)
    yield "fit_row", float(sizes.index(link.size) + 1) if link.size in sizes else None
    yield "start_kind", link.start or None
    yield "end_kind", link.end or None
    yield "first_piece", float(link.first_piece)
    yield "last_piece", float(link.last_piece)
    yield "measured_start", float(link.measured("start"))
    yield "measured_end", float(link.measured("end"))
    yield "start_within", link.part("start")
    yield "end_within", link.part("end")
    yield "item_count", float(link.items)
    yield "item_flanges", float(link.item_flanges)
    yield "welds", float(link.welds)
    yield "cuts", None if doubts.cut is None else link.pieces * doubts.cut
    yield "gaps", None if doubts.gap is None else link.welds * doubts.gap
    yield "shrinkage", None if doubts.shrinkage is None else link.welds * doubts.shrinkage
    if link.fittings is not None:
        yield "items_within", math.fsum(link.fittings[2:])
        yield "fittings", math.fsum(link.fittings)
        yield "fittings_square", squares(link.fittings)
    yield "sideways", link.sideways
    yield from _swing_cells(link)
    yield from _end_cells(link)
    if link.along is None:
        return
    yield "along", math.fsum(link.along)
    yield "along_square", squares(link.along)
    yield "along_likely", math.sqrt(squares(link.along))
    yield "flat", link.flat
    for at, axis in enumerate(AXES):
        yield f"u{'xyz'[at]}", float(link.way[at])
        if axis != "up":
            yield f"out_{axis}", float(link.out[at])
        sums = sums_of(chain, at)
        for name, value in sums.items():
            yield f"{name}_{axis}", value
        best = link.best(at)
        yield f"fit_{axis}", float(best.row) if best else None


def squares(values: Sequence[float]) -> float:
    """Sum of squares."""
    return math.fsum(value * value for value in values)


def sums_of(chain: Sequence[Link], axis: int) -> dict[str, float]:
    """What the legs of a chain add to where its end may stand along an axis: worst cases and squares."""
    found = dict.fromkeys(("line", "side", "line_square", "part_square", "side_square", "length_square"), 0.0)
    for link in chain:
        assert link.along is not None and link.fittings is not None
        share = abs(float(link.way[axis]))
        across = 1 - share * share  # of all that is square to the leg, what is seen along the axis, squared
        found["line"] += math.fsum(link.along) * share
        found["side"] += link.sideways * float(link.out[axis])
        found["line_square"] += squares([each * share for each in link.along])
        found["part_square"] += squares([each * share for each in link.fittings])
        found["side_square"] += link.sideways**2 * max(0.0, across)
        found["length_square"] += link.length**2 * max(0.0, across)
    return found


def _swing_cells(link: Link) -> Iterator[tuple[str, Value]]:
    """How fittings swing what follows."""
    chain = link.chain
    yield "path", link.path
    yield "swings", sign(link.swings)
    yield "swing_reach", link.reach
    yield "swing", math.degrees(math.atan(link.slope))
    yield "swing_square", link.slope**2
    yield "swing_sum", math.fsum(each.slope for each in chain)
    yield "swing_place", math.fsum(each.slope * (each.path - each.length) for each in chain)
    yield "swing_squares", squares([each.slope for each in chain])
    yield "swing_far", math.fsum(float(each.begins @ each.begins) * each.slope**2 for each in chain)
    for at, axis in enumerate(AXES):
        yield f"swing_{axis}", math.fsum(float(each.begins[at]) * each.slope**2 for each in chain)


def _end_cells(link: Link) -> Iterator[tuple[str, Value]]:
    """Its ends as it leaves the shop, and how many dimensions it has."""
    yield "leaf", sign(link.leaf)
    yield "loose_end", sign(link.loose_end)
    yield "loose_start", sign(link.loose_start)
    yield "trim_end", link.trim_end
    yield "trim_start", link.trim_start
    yield "more_end", link.more_end
    yield "more_start", link.more_start
    for at, axis in enumerate(AXES):
        yield f"far_{axis}", float(link.far[at])
        yield f"near_{axis}", None if link.near is None else float(link.near[at])
    yield "square_up", sign(link.along_an_axis)
    yield "dimension_count", float(link.dimensions)


# -- predictions -------------------------------------------------------------------------------------------------------


class Forecast:
    """Where an open end may come to stand.

    Args:
        link: the leg that ends there; its rules are all there, and those of the leg it is measured from.
    """

    def __init__(self, link: Link) -> None:
        self.link, self.edition = link, link.job.edition
        datum, near = link.datum, link.near
        assert near is not None
        self.distance = math.hypot(*(link.far - near))
        self.tolerance = link.job.tolerances.of(link.size, self.distance)
        self.sums: list[dict[str, float]] = []
        for at in range(3):
            own = sums_of(link.chain, at)
            others = sums_of(datum.chain, at) if datum else dict.fromkeys(own, 0.0)
            self.sums.append({name: value + others[name] for name, value in own.items()})
        self.worst = [each["line"] + each["side"] for each in self.sums]
        self.likely = [math.sqrt(each["line_square"] + each["side_square"]) for each in self.sums]

    @cached_property
    def swing_worst(self) -> float:
        """Each fitting's slope times the pipe that follows it."""
        parts = [each.slope * (self.link.path - (each.path - each.length)) for each in self.link.chain]
        return max(0.0, math.fsum(parts))

    @cached_property
    def swing_square(self) -> float:
        """Each fitting's slope times the straight distance from it to the open end, squared."""
        end = self.link.stops
        return math.fsum((each.slope * math.hypot(*(end - each.begins))) ** 2 for each in self.link.chain)

    def comes_in(self, off: Sequence[float]) -> bool | None:
        """Whether the largest of these is within the tolerance."""
        return None if self.tolerance is None else within(max(off), self.tolerance)

    @cached_property
    def axis(self) -> int:
        """Where it is worst off: likely, if that is outside already; the first of equals."""
        off = self.likely if self.comes_in(self.likely) is False else self.worst
        return off.index(max(off))

    @cached_property
    def carried(self) -> list[float]:
        """How far it is off over its tolerance along each axis that a leg runs along; else 0."""
        if self.tolerance is None:
            return []
        off = self.likely if self.comes_in(self.likely) is False else self.worst
        best = [self.link.best(at) for at in range(3)]
        runs = [each is not None and abs(float(each.way[at])) >= LEAST_SHARE for at, each in enumerate(best)]
        over = [not within(each, self.tolerance) for each in off]
        return [amount if carries and out else 0.0 for amount, carries, out in zip(off, runs, over, strict=True)]

    @cached_property
    def fit_axis(self) -> int | None:
        """Along which a leg is fitted in the field: the worst that one can take up, else where it is worst off."""
        if self.tolerance is None:
            return None
        return self.carried.index(max(self.carried)) if max(self.carried) > 0 else self.axis

    @cached_property
    def fit(self) -> Link | None:
        """The leg for a field fit."""
        return None if self.fit_axis is None else self.link.best(self.fit_axis)

    @cached_property
    def share(self) -> float | None:
        """How much of it runs that way."""
        return abs(float(self.fit.way[self.fit_axis])) if self.fit and self.fit_axis is not None else None

    @cached_property
    def needed(self) -> float | None:
        """Trim that takes up the worst case along that leg, in whole steps."""
        if self.fit_axis is None:
            return None
        step = self.link.job.doubts.cut
        assert step is not None
        share = 1.0 if self.share is None else max(self.share, LEAST_SHARE)
        return math.ceil(round(self.worst[self.fit_axis] / share / step, 6)) * step

    @cached_property
    def trim(self) -> float:
        """Trim that it has."""
        return self.link.job.there.number("details.trim", self.fit.row) or 0.0 if self.fit else 0.0

    @cached_property
    def allowance(self) -> str | None:
        """What the leg for a field fit needs, in words."""
        if self.fit_axis is None or self.needed is None:
            return None
        if self.fit is None or self.share is None:
            return "no leg has pipe to carry an allowance."
        if self.share < LEAST_SHARE:
            return "no leg runs that way to carry an allowance: hold it by levelling."
        first = ""
        if self.fit_axis != self.axis:
            first = f"no leg runs that way to carry an allowance: hold it by levelling; {LINES[self.fit_axis]}: "
        if self.trim + HAIR >= self.needed:
            return f"{first}leg {self.fit.leg} carries trim enough for it."
        step = self.link.job.doubts.cut
        assert step is not None
        amount = paperwork.said(self.needed, step, self.edition) + ('"' if self.edition == "inch" else " mm")
        return f"{first}leave leg {self.fit.leg} for a field fit, trim of {amount} or more."

    def room(self, axis: int) -> float | None:
        """What the tolerance leaves for levelling along an axis, squared."""
        return None if self.tolerance is None else self.tolerance**2 - self.sums[axis]["line_square"]

    def steepest(self, axis: int) -> float | None:
        """The slope at which levelling just takes that room; None where none is left."""
        room, squared = self.room(axis), self.sums[axis]["length_square"]
        if room is None or room <= 0:
            return None
        return 1.0 if squared <= 0 else min(1.0, math.sqrt(room / max(squared, HAIR**2)))

    @cached_property
    def level_to(self) -> float | None:
        """The angle at which it likely comes in."""
        slopes = [self.steepest(at) for at in range(3)]
        known = [slope for slope in slopes if slope is not None]
        return math.degrees(math.atan(min(known))) if len(known) == 3 else None

    @cached_property
    def without_parts(self) -> bool | None:
        """Whether it comes in once the fittings are measured."""
        rest = [likely**2 - each["part_square"] for likely, each in zip(self.likely, self.sums, strict=True)]
        return self.comes_in([math.sqrt(max(0.0, each)) for each in rest])

    @cached_property
    def cure(self) -> str:
        """What would bring it in."""
        level = self.level_to or 0.0
        if level >= FINEST:
            return f"level to {math.floor(round(100 * level, 6)) / 100:.12g}° or better"
        if self.without_parts:
            return "measure the fittings first (Cut steps)"
        return "measure the fittings (Cut steps) and level finer"

    @cached_property
    def action(self) -> str:
        """What to do."""
        if self.tolerance is None:
            return "A rule or a dimension is missing."
        if self.comes_in(self.worst):
            return "Comes in even at the worst."
        line = LINES[self.axis]
        if self.comes_in(self.likely):
            amount = gauges.fine(self.worst[self.axis], self.edition)
            return f"Likely comes in; up to {amount} {line} at the worst: {self.allowance}"
        amount = gauges.fine(self.likely[self.axis], self.edition)
        joint = ", or " if str(self.allowance).startswith("leave") else "; "
        return f"Likely {amount} {line}: {self.cure}{joint}{self.allowance}"


VERDICTS = {True: WITHIN, False: OUTSIDE, None: NO_RULE}


def forecast(link: Link) -> Forecast | None:
    """Where an open end may come to stand; None where a rule or a leg is missing."""
    lost = link.root.elder and link.datum is None
    return None if lost or link.along is None else Forecast(link)


def expected_predictions(chains: Chains) -> dict[Place, Value]:
    """Every cell of Prediction."""
    columns = [field.name for field in chains.there.book.computed if field.table == "predictions"]
    verdicts: list[str] = []
    found: dict[Place, Value] = {}
    for row in range(chains.there.count("predictions")):
        line: dict[str, Value] = {name.partition(".")[2]: None for name in columns}
        if row < len(chains.leaves):
            line |= dict(_prediction_cells(chains.leaves[row]))
            verdicts.append(str(line["verdict"]))
            needed = line["needed"]
            if isinstance(needed, float) and needed > SAYABLE:
                line = {name: value for name, value in line.items() if name not in ("action", "allowance")}
        found |= {(f"predictions.{name}", row): value for name, value in line.items()}
    level = f"{round(chains.doubts.level, 2):.12g}°"
    typed = chains.there.number("rules.level_within") is not None
    told = f"{verdicts.count(WITHIN)} ✓, {verdicts.count(OUTSIDE)} ✗, {verdicts.count(NO_RULE)} … rule missing"
    return found | {
        ("predictions.level_said", 0): level
        + (", typed on Rules" if typed else ", PFI ES-3's face limit: type what you level to on Rules"),
        ("predictions.told", 0): told,
        ("predictions.ends_total", 0): float(len(chains.leaves)),
    }


def _prediction_cells(link: Link) -> Iterator[tuple[str, Value]]:
    """What Prediction shows of an open end."""
    elder = link.root.elder
    yield "leg_row", float(link.row)
    yield "spool", link.spool
    yield "spool_row", float(link.spool_row)
    yield "elder", float(elder)
    from_end = f" from end of {link.job.there.text('legs.leg', elder)}" if elder else ""
    yield "open_end", f"end of {link.leg}{from_end}"
    made = forecast(link)
    if made is None:
        yield "verdict", NO_RULE
        yield "worst_verdict", NO_RULE
        yield "action", "A rule or a dimension is missing."
        return
    yield "sums", 1.0
    yield "distance", made.distance
    yield "tolerance", made.tolerance
    for at, axis in enumerate(AXES):
        yield f"worst_{axis}", made.worst[at]
        yield f"likely_{axis}", made.likely[at]
        yield f"rest_{axis}", made.room(at)
        yield f"steepest_{axis}", made.steepest(at)
    yield "worst", math.hypot(*made.worst)
    yield "likely", math.hypot(*made.likely)
    yield "swing_worst", made.swing_worst
    yield "swing_square", made.swing_square
    yield "raw_worst", math.hypot(*(each["line"] for each in made.sums)) + made.swing_worst
    yield "raw_likely", math.sqrt(math.fsum(each["line_square"] for each in made.sums) + made.swing_square)
    yield "level_to", made.level_to
    yield "verdict", VERDICTS[made.comes_in(made.likely)]
    yield "worst_verdict", VERDICTS[made.comes_in(made.worst)]
    yield "action", made.action
    yield "axis", float(made.axis + 1)
    yield "most", made.worst[made.axis]
    yield "most_likely", made.likely[made.axis]
    if made.fit_axis is not None:
        yield from zip(("carry_east", "carry_north", "carry_up"), made.carried, strict=True)
        yield "fit_axis", made.fit_axis + 1.0
    yield "fit_leg", float(made.fit.row) if made.fit else None
    yield "fit_share", made.share
    yield "allowance", made.allowance
    yield "trim_there", made.trim
    yield "needed", made.needed
    if made.without_parts is not None:
        yield "without_parts", sign(made.without_parts)
        yield "cure", made.cure


# -- dimensions --------------------------------------------------------------------------------------------------------


WHAT = ("leg", *AXES, "straight")


@dataclass(eq=False)
class Dimension:
    """A drawing dimension of a leg: `place` says what of it; `as_built` is what the tape says, None before."""

    link: Link
    place: int
    as_built: float | None

    @cached_property
    def edition(self) -> str:
        """The workbook's."""
        return self.link.job.edition

    @cached_property
    def apart(self) -> Vector | None:
        """From where the leg's end is measured to that end; None where the one is not known."""
        near = self.link.near
        return None if near is None else self.link.far - near

    @cached_property
    def trim(self) -> Vector:
        """What of it is trim."""
        link, datum = self.link, self.link.datum
        root = link.root
        found: Vector = link.trim_end * link.way
        found = found - datum.trim_end * datum.way if datum else found + root.trim_start * root.way
        return found

    @cached_property
    def signed(self) -> float | None:
        """Its size with the sign."""
        if self.apart is None:
            return None
        if self.place == 0:
            return self.link.length + self.link.more_end + self.link.more_start
        if self.place == 4:
            return math.hypot(*self.apart)
        size = float(self.apart[self.place - 1])
        return 0.0 if abs(size) < HAIR else size

    @cached_property
    def size(self) -> float | None:
        """Its size on the drawing, trim included."""
        return None if self.signed is None else abs(self.signed)

    @cached_property
    def cut_back(self) -> float | None:
        """Its size once trim is cut off."""
        if self.apart is None or self.signed is None:
            return None
        if self.place == 0:
            return abs(self.signed - self.link.trim_end - self.link.trim_start)
        bare = self.apart - self.trim
        return math.hypot(*bare) if self.place == 4 else abs(float(bare[self.place - 1]))

    @cached_property
    def trimmed(self) -> bool:
        """Whether trim makes a difference to it."""
        return self.size is not None and self.cut_back is not None and abs(self.size - self.cut_back) > HAIR

    @cached_property
    def fittings(self) -> float:
        """What fitting to fitting adds to the tolerance: both fittings' centre to end."""
        start, end = self.link.part("start"), self.link.part("end")
        added = self.place == 0 and self.link.made_up and start is not None and end is not None
        return start + end if added and start is not None and end is not None else 0.0

    @cached_property
    def base(self) -> float | None:
        """The tolerance of its size; where nothing is drawn that of the straight distance."""
        if self.size is None or self.apart is None:
            return None
        nothing = self.size < one_inch(self.edition) / 25.4
        length = math.hypot(*self.apart) if nothing else self.size
        return self.link.job.tolerances.of(self.link.size, length)

    @cached_property
    def tolerance(self) -> float | None:
        """What it may be off by."""
        return None if self.base is None else self.base + self.fittings

    @cached_property
    def off(self) -> float | None:
        """As built less drawn; nothing is off while some of its trim, or none, is there."""
        if self.as_built is None or self.size is None or self.cut_back is None:
            return None
        if not self.trimmed:
            return self.as_built - self.size
        low, high = sorted((self.size, self.cut_back))
        return self.as_built - min(max(self.as_built, low), high)

    @cached_property
    def verdict(self) -> str:
        """In, out or open."""
        if self.as_built is None:
            return OPEN
        if self.tolerance is None or self.off is None:
            return NO_RULE
        return WITHIN if within(abs(self.off), self.tolerance) else OUTSIDE

    @cached_property
    def over(self) -> str | None:
        """Off by, in words."""
        return None if self.off is None else gauges.fine(self.off, self.edition)

    @cached_property
    def beyond(self) -> str | None:
        """How far beyond the tolerance, in words."""
        if self.off is None or self.tolerance is None:
            return None
        amount = max(0.0, abs(self.off) - self.tolerance)
        if gauges.said_nothing(amount, self.edition):
            return "just over"
        return f"{gauges.fine(amount, self.edition)} over"

    @cached_property
    def loose(self) -> bool:
        """Whether its leg has a loose end."""
        return self.link.loose_end or self.link.loose_start

    @cached_property
    def action(self) -> str:
        """What to do."""
        if self.verdict == OPEN:
            return "Measure it on the tacked spool."
        if self.verdict == NO_RULE or self.off is None or self.tolerance is None:
            return "Rules first: no tolerance for it."
        if self.verdict == WITHIN:
            return f"Within ± {gauges.fine(self.tolerance, self.edition)}.{self._left()}"
        long = self.off > 0
        word = "long" if long else "short"
        if self.place == 4:
            return f"{self.over} {word}, {self.beyond}: east, north and up show which way."
        if self.place:
            towards = WORDS[self.place - 1][int((self.off > 0) == ((self.signed or 0.0) >= 0))]
            return f"The end stands {self.over} too far {towards}, {self.beyond}: swing or re-cut before the last weld."
        if self.loose:
            cure = "dress the loose end." if long else "no pipe left there: re-cut the piece."
        elif long:
            cure = "close up an open joint of this leg as far as the gap allows, else re-cut the piece."
        else:
            cure = "open up a joint of this leg only as far as the gap allows, else re-cut the piece."
        return f"{self.over} {word}, {self.beyond}: {cure}"

    def _left(self) -> str:
        if not self.trimmed or self.as_built is None or self.cut_back is None:
            return ""
        left = self.as_built - self.cut_back
        return f" Trim left: {gauges.fine(left, self.edition) if left > 0 else 'none'}."

    @cached_property
    def start_kind(self) -> str:
        """What stands where it is measured from."""
        if self.place == 0:
            return self.link.start
        elder = self.link.root.elder
        return self.link.job.there.text("legs.end", elder) if elder else self.link.root.start

    @cached_property
    def from_said(self) -> str:
        """Where it is measured from."""
        elder = self.link.root.elder
        return f"end of {self.link.job.there.text('legs.leg', elder)}" if elder else "start"

    @cached_property
    def words(self) -> str | None:
        """What is measured."""
        if self.signed is None:
            return None
        link = self.link
        tail = ", trim left on" if self.trimmed else ""
        if self.place == 0:
            fit = ", fitting to fitting" if link.made_up else ""
            return f"{link.leg}, {work_point(self.start_kind)} to {work_point(link.end)}{fit}{tail}"
        if self.place == 4:
            faces = self.start_kind in FLANGES and link.end in FLANGES
            how = "straight, face to face" if faces else "straight"
        else:
            how = WORDS[self.place - 1][int(self.signed >= 0)] + ("" if self.signed else " (none drawn)")
        return f"{self.from_said} to end of {link.leg}, {how}{tail}"


def work_point(kind: str) -> str:
    """What a dimension is measured to."""
    return "face" if kind in FLANGES else "centre" if kind in CENTRES else "end"


def dimensions_of(chains: Chains) -> list[Dimension]:
    """Every dimension that the list has room for, in its order."""
    found = [Dimension(link, place, None) for link in chains.links.values() for place in range(5)[: link.dimensions]]
    found = found[: chains.there.count("dimensions")]
    for row, dimension in enumerate(found, start=1):
        dimension.as_built = chains.there.number("dimensions.as_built", row)
    return found


def expected_dimensions(chains: Chains) -> dict[Place, Value]:
    """Every cell of Dimensions."""
    there = chains.there
    columns = [field.name for field in there.book.computed if field.table == "dimensions"]
    listed = dimensions_of(chains)
    total = sum(link.dimensions for link in chains.links.values())
    found: dict[Place, Value] = {}
    for row in range(there.count("dimensions")):
        line: dict[str, Value] = {name.partition(".")[2]: None for name in columns}
        if row < len(listed):
            line |= dict(_dimension_cells(listed[row]))
            line |= dict(_message_cells(listed[row], there.all("dimensions.as_built")[row]))
        found |= {(f"dimensions.{name}", row): value for name, value in line.items()}
    verdicts = [each.verdict for each in listed]
    inside, outside = verdicts.count(WITHIN), verdicts.count(OUTSIDE)
    told = f"{inside} ✓, {outside} ✗, {len(verdicts) - inside - outside} …"
    if total > len(listed):
        told += f"; ✗ this list is too short: {total - len(listed)} more"
    letter = chains.tolerances.letter
    dated = isinstance(there.all("dimensions.calibrated")[0], str)
    found["dimensions.judged_by", 0] = chains.tolerances.said()
    return found | {
        ("dimensions.told", 0): told,
        ("dimensions.total", 0): float(total),
        ("dimensions.iso_class", 0): float("ABCD".index(letter) + 1) if letter else None,
        ("dimensions.calibrated_check", 0): "Checked on: not a date. " if dated else None,
    }


def _dimension_cells(one: Dimension) -> Iterator[tuple[str, Value]]:
    """What Dimensions shows of a dimension."""
    link = one.link
    yield "spool", link.spool
    yield "dimension", one.words
    yield "drawing", one.size
    yield "tolerance", one.tolerance
    yield "off", one.off
    yield "verdict", one.verdict
    yield "action", one.action
    yield "leg_row", float(link.row)
    yield "place", float(one.place + 1)
    yield "leg", link.leg
    yield "what", WHAT[one.place]
    yield "spool_row", float(link.spool_row)
    yield "root", float(link.root.row)
    yield "elder", float(link.root.elder)
    yield "start_kind", one.start_kind or None
    yield "from_said", one.from_said
    yield "loose", sign(one.loose)
    yield "made_up", sign(link.made_up)
    yield "fittings", one.fittings
    yield "base", one.base
    yield "over_said", one.over
    yield "beyond_said", one.beyond
    if one.apart is None or one.signed is None:
        return
    yield "known", 1.0
    for at, axis in enumerate(AXES):
        yield axis, float(one.apart[at])
        yield f"trim_{axis}", float(one.trim[at])
    yield "straight", math.hypot(*one.apart)
    yield "signed", one.signed
    yield "cut_back", one.cut_back
    yield "trimmed", sign(one.trimmed)


def _message_cells(one: Dimension, typed: Value) -> Iterator[tuple[str, Value]]:
    """What Dimensions says of a size that cannot be meant."""
    least_said, least, most_said, most = FIELD[one.edition]
    stops = cautions = ""
    if isinstance(typed, str):
        stops = "As built: not a number. "
    elif one.as_built is not None:
        stops = f"As built: under {least_said}. " if one.as_built < least else ""
        stops = f"As built: over {most_said}. " if one.as_built > most else stops
        cautions = MINUS if one.as_built < -HAIR and one.size is not None else ""
    yield "stops", stops or None
    yield "cautions", cautions or None
    yield "message", stops + cautions or None


def expected(book: Live) -> dict[Place, Value]:
    """Every formula cell of these sheets, from what the others hold now."""
    chains = Chains(Held(book, OWN))
    return {**expected_chains(chains), **expected_predictions(chains), **expected_dimensions(chains)}


# -- scenes ------------------------------------------------------------------------------------------------------------


PLAIN: dict[str, Any] = {"size": "6", "schedule": "STD", "class": "150", "start": "weld_neck_flange"}


def shop_spools(units: str) -> list[dict[str, Any]]:
    """Spools for limits and sentences: several sizes, a made-up leg, trim, a tee at the start, one loose pipe."""
    far = 1 if units == "inch" else 25.4
    return [
        {
            "mark": "S1",
            **PLAIN,
            "leg": [{"east": 40 * far, "end": "elbow"}, {"up": 50 * far, "end": "weld_neck_flange"}],
        },
        {
            "mark": "S2",
            **PLAIN,
            "leg": [
                {"north": 40 * far, "end": "elbow"},
                {"up": 18.125 * far, "end": "elbow", "make_up": True},
                {"east": -60 * far, "end": "weld_neck_flange"},
            ],
        },
        {
            "mark": "S3",
            "size": "12",
            "schedule": "STD",
            "start": "bevel",
            "start_trim": 2 * far,
            "start_field_gap": "full",
            "leg": [{"east": 80 * far, "end": "bevel", "trim": 4 * far, "field_gap": "half"}],
        },
        {"mark": "S4", "size": "30", "schedule": "STD", "start": "bevel", "leg": [{"up": 200 * far, "end": "plain"}]},
        {
            "mark": "S5",
            **PLAIN,
            "start": "tee",
            "leg": [
                {"east": -30 * far, "end": "weld_neck_flange"},
                {"east": 35 * far, "from": "start", "end": "weld_neck_flange"},
                {"up": 25 * far, "from": "start", "end": "elbow"},
                {"north": 90 * far, "end": "cap"},
            ],
        },
        {"mark": "S6", "size": "48", "schedule": "STD", "start": "plain", "leg": [{"east": 300 * far, "end": "plain"}]},
        {"mark": "S7", **PLAIN, "start": "slip_on_flange", "leg": [{"east": 12 * far, "end": "slip_on_flange"}]},
    ]


def shop_job(units: str) -> str:
    """A job of them."""
    return job_text(shop_spools(units), units)


ISO_LENGTHS = (0.5, 1.5, 30.0, 30.02, 120.0, 400.0, 1000.0003, 2000.0, 4001.0, 8001.0, 12001.0, 16001.0)
"""In mm: less than the table knows, and about the limits of its ranges; a thousandth is not told apart."""


def rare_spools(units: str) -> list[dict[str, Any]]:
    """What chance hardly brings: loose ends that leave one start, legs without pipe, gaskets, items, outlets."""
    far = 1 if units == "inch" else 25.4
    wn, six = "weld_neck_flange", {"size": "6", "schedule": "STD"}

    def leg(end: str, east: Any = 0, north: Any = 0, up: Any = 0, **more: Any) -> dict[str, Any]:
        parts = {"east": east * far, "north": north * far, "up": up * far}
        return {**{name: value for name, value in parts.items() if value}, "end": end, **more}

    def item(ends: str, **more: Any) -> dict[str, Any]:
        return {"item": f"{ends} item", "length": 8 * far, "ends": ends, **more}

    first = {"from": "start"}
    welded = {"flange": wn, "gasket": far / 8}
    outlets = [
        {"name": "A1", "on": "L1", "at": 30 * far, "kind": "weldolet", "size": "2", "height": 1.5 * far},
        {"name": "A2", "on": "L1", "at": 50 * far, "kind": "stub_on", "size": "3"},
        {"name": "A3", "on": "L2", "at": 20 * far, "kind": "sockolet", "size": "1", "height": far},
    ]
    branch = {"schedule": "XS"}
    return [
        # legs from one start, their ends loose
        {"mark": "R01", **six, "start": "tee", "leg": [
            leg("bevel", 40, 10, 7, trim=3 * far, field_gap="full"),
            leg("plain", -9, 30, 33, **first, trim=1.5 * far)]},
        {"mark": "R02", **six, "start": "tee", "leg": [
            leg("bevel", 60, trim=2 * far, field_gap="half"), leg("elbow", -45, **first),
            leg("plain", up=30, trim=far), leg("weld", 0, 50, **first, trim=5 * far)]},
        {"mark": "R03", **six, "start": "plain", "start_trim": 2 * far, "leg": [
            leg("elbow", 30, 20, 10), leg("bevel", -20, 40, 15, trim=far, field_gap="half")]},
        {"mark": "R04", **six, "start": "weld", "start_trim": far, "leg": [leg("weld", 0, 30, trim=far)]},
        # legs without pipe
        {"mark": "R05", **PLAIN, "leg": [leg(wn, 7.125, make_up=True)]},
        {"mark": "R06", **PLAIN, "leg": [
            leg("elbow", 0, 40), leg("elbow", up=18.125, make_up=True), leg("elbow", 0, 18.125, make_up=True),
            leg(wn, 60)]},
        # a leg that runs a little more that way, one a little less
        {"mark": "R07", **PLAIN, "leg": [leg("elbow", 30, 0, 30), leg("elbow", 0, 40),
            leg("elbow", 30, 0, -30), leg(wn, 50, 50)]},
        # gaskets in the dimension
        {"mark": "R08", **PLAIN, "start_gasket": far / 8, "leg": [
            leg("elbow", 30, 20, 10), leg("slip_on_flange", up=40, gasket=far / 16)]},
        {"mark": "R09", **PLAIN, "start": "tee", "leg": [
            leg("lap_joint", 40, gasket=far / 8), leg("slip_on_flange", 0, 40, **first, gasket=far / 4)]},
        # items beside and between ends
        {"mark": "R10", "size": "12", "schedule": "STD", "class": "150", "start": wn, "leg": [
            leg("elbow", 120, inline=[item("flanged", against="start", **welded), item("butt", at=70 * far)]),
            leg(wn, 0, 90, inline=[item("wafer", at=40 * far, **welded), item("flanged", against="end", **welded)])]},
        {"mark": "R11", "size": "4", "schedule": "STD", "class": "150", "start": "cap", "leg": [
            leg(wn, 0, 0, 90, inline=[item("flanged", at=30 * far, **welded),
                item("flanged", at=60 * far, **welded)])]},
        # a fitting with next to no reach, fittings at half a right angle
        {"mark": "R12", "size": "10", "schedule": "STD", "start": "bevel", "leg": [
            leg("tee", 60, takeout_out=0.01 * far), leg("cap", 0, 0, 50),
            leg("plain", 60, **{"from": "L1"})]},
        {"mark": "R13", **six, "start": "bevel", "leg": [
            leg("elbow", 50), leg("elbow_short_radius", 40, 40), leg("elbow", 70), leg("plain", 60, 0, 40)]},
        {"mark": "R14", **six, "start": "reducer", "leg": [leg("reducer", 50, size="4"),
            leg("elbow", 40, size="6"),
            leg("eccentric_reducer", up=40), leg("elbow", up=30, size="8"), leg("cap", 0, -70)]},
        # outlets
        {"mark": "R15", "size": "8", "schedule": "STD", "start": "cap", "outlet": outlets, "leg": [
            leg("elbow", 80), leg("cap", 0, 60), leg("plain", up=20, **{"from": "A1"}, **branch),
            leg("elbow", 0, -30, **{"from": "A2"}, **branch), leg("plain", 0, 0, 40, trim=2 * far),
            leg("plain", up=30, **{"from": "A3"}, **branch)]},
        # a millimetre one way
        {"mark": "R16", **six, "start": "plain", "leg": [{"east": "1 mm", "up": "1500 mm", "end": "plain"}]},
        # nearly upright, nearly along an axis
        {"mark": "R17", **six, "start": "plain", "leg": [leg("elbow", 0.04, 0.03, 60), leg("plain", 80, 0.0002)]},
        {"mark": "R18", **six, "start": "plain", "leg": [leg("plain", 0.09, 0, -60)]},
        # small bore: measured from the middle of a coupling or a union
        {"mark": "R19", "size": "1", "schedule": "80", "joints": "threaded", "fitting_class": 3000, "start": "coupling",
         "leg": [leg("coupling", 40), leg("union", 30, takeout=1.125 * far), leg("plain", 20)]},
        *({"mark": f"T{at}", **six, "start": "plain", "leg": [{"north": f"{length} mm", "end": "plain"}]}
          for at, length in enumerate(ISO_LENGTHS)),
    ]  # fmt: skip


def wide_job(units: str) -> str:
    """The shop's spools, rare ones, and random ones of every kind of end."""
    made = Wild(5, units)
    chance = [made.spool(f"W{number}") for number in range(1, 5)]
    return job_text([fork(units), *shop_spools(units), *rare_spools(units), *chance], units)


def fork(units: str) -> dict[str, Any]:
    """A spool whose first leg runs furthest north, with others from its end and from the start."""
    inch = 25.0 if units == "mm" else 1.0
    legs = [
        {"north": 60 * inch, "end": "elbow"},
        {"east": 40 * inch, "end": "bevel", "from": "L1"},
        {"north": -30 * inch, "end": "bevel", "from": "start", "trim": 2 * inch},
    ]
    return {"mark": "F1", "size": "4", "schedule": "40", "start": "tee", "leg": legs}


FACTORS = (0.0, 0.5, -0.5, 1.0, -1.0, 1 + 1e-5, -1 - 1e-5, 3.0, None, -3.0, 8.0, -8.0)
"""Off by so many times the tolerance; None is not measured."""


def measured(dimensions: Sequence[Dimension], shift: int) -> dict[Place, Value]:
    """What the tape says of each dimension, from what is drawn or, now and then, from what is left without trim."""
    found: dict[Place, Value] = {}
    for row, one in enumerate(dimensions):
        factor = FACTORS[(row * 5 + shift) % len(FACTORS)]
        tolerance = one.tolerance or 1.0
        if factor is None or one.size is None or one.cut_back is None:
            continue
        drawn = max(one.size, one.cut_back) if factor > 0 else min(one.size, one.cut_back)
        found["dimensions.as_built", row] = drawn + factor * tolerance
    return found


def by_rules(edition: str) -> list[dict[Place, Value]]:
    """Other rules: every tolerance, none, levels and doubts at their bounds, absurd, blank; several at once."""
    inch = one_inch(edition)
    fine, coarse = (1 / 64, 0.25) if edition == "inch" else (0.5, 10.0)
    return [
        rules(inch, tolerance_by="ISO 13920-A", level_within=0.1, root_gap_max=0.2, shrinkage_within=0.3),
        rules(inch, tolerance_by="ISO 13920-B", level_within=0.0, root_gap_min=0.02, item_within=0.3),
        rules(inch, tolerance_by="ISO 13920-C", level_within=1.236, root_gap_min=0.3, root_gap_max=0.0),
        rules(inch, tolerance_by="ISO 13920-D", level_within=30.0, root_gap_min=0.3, item_within=0.0),
        rules(inch, tolerance_by="ISO 13920-E", level_within=45.0, root_gap_max=1e300, shrinkage_within=0.0),
        rules(inch, tolerance_by="ISO 13920", level_within=60.0, root_gap=1e300),
        rules(inch, tolerance_by=None, level_within=-1.0, shrinkage_within=-1.0, item_within=-1.0),
        rules(inch, spool_max=0.25, level_within=1e300, shrinkage_within=1e300) | {("rules.precision", 0): fine},
        rules(inch, spool_max=2.0, root_gap_min=None),
        rules(inch, spool_max=1e300, root_gap_max=None, shrinkage_within=None),
        rules(inch, spool_max=0.125, root_gap=None, level_within=2.0),
        rules(inch, spool_max=0.0, shrinkage_within="no", item_within=None),
        rules(inch) | {("rules.precision", 0): None, ("dimensions.calibrated", 0): "soon"},
        rules(inch, item_within=1e300, tolerance_by=None)
        | {("rules.precision", 0): coarse, ("dimensions.calibrated", 0): 45000.0},
    ]


def rules(inch: float, **said: Value) -> dict[Place, Value]:
    """Rules; lengths are said in inches."""
    found: dict[Place, Value] = {}
    for name, value in said.items():
        scaled = value * inch if isinstance(value, float) and name != "level_within" else value
        found[f"rules.{name}", 0] = scaled
    return found


def by_limits(chains: Chains, count: int) -> Iterator[dict[Place, Value]]:
    """Your own tolerance on, just under and just over what an open end likely or at the worst comes to."""
    amounts: set[float] = set()
    for one in filter(None, map(forecast, chains.leaves)):
        rest = [likely**2 - each["part_square"] for likely, each in zip(one.likely, one.sums, strict=True)]
        amounts |= {max(one.worst), max(one.likely), math.sqrt(max(0.0, *rest))}
    spread = sorted(amounts)
    for at in range(count):
        amount = spread[(2 * at + 1) * len(spread) // (2 * count)]
        yield {("rules.spool_max", 0): amount + (0.0, HAIR / 2, -HAIR / 2, 1e-7, -1e-7)[at % 5]}


def by_trim(chains: Chains) -> Iterator[dict[Place, Value]]:
    """The leg for a field fit has as much trim as it needs, a hair less, less, a step less."""
    made = [each for each in map(forecast, chains.leaves) if each and each.fit]
    step = chains.doubts.cut or 0.0
    for less in (0.0, HAIR / 2, 1e-6, step):
        found: dict[Place, Value] = {("rules.spool_max", 0): 0.01 * one_inch(chains.edition)}
        for one in made:
            assert one.fit is not None and one.needed is not None
            found["details.trim", one.fit.row - 1] = one.needed - less
        yield found


def by_route(chains: Chains) -> Iterator[Mapping[Place, Any]]:
    """Trims, take-outs measured, starts and sizes changed, legs taken away."""
    inch, there = one_inch(chains.edition), chains.there
    legs, spools, pieces = (range(there.count(table)) for table in ("legs", "spools", "cuts"))
    trims = (1e300, -1e300, "no", 1e12, -inch, 3 * inch)
    yield (
        {("details.trim", row): trims[row % 6] for row in legs}
        | {("spools.start_trim", row): trims[row % 5] for row in spools}
        | {("cuts.measured_start", row): (2 + row % 3) * inch for row in pieces if row % 3}
    )
    yield (
        {("details.trim", row): (row % 4 + 1) / 2 * inch for row in legs}
        | {("spools.start_trim", row): (row % 3 + 1) / 4 * inch for row in spools}
        | {("cuts.measured_end", row): (2 + row % 3) * inch for row in pieces if row % 3}
    )
    for left_out in (1, 2):
        kept = [row for row in pieces if row % 3 != left_out]
        yield {("cuts.measured_start", row): (2 + row % 3) * inch for row in kept}
        yield {("cuts.measured_end", row): (2 + row % 3) * inch for row in kept}
    names = ("takeout", "takeout_out")
    yield {(f"details.{name}", row): (row % 3) * inch for row in legs for name in names if row % 2}
    yield {("legs.east", 1): None}
    yield {("legs.end", 0): "bevel", ("details.trim", 0): 2 * inch, ("legs.from", 1): "start"}
    yield {("spools.start", row): "elbow" for row in spools}
    yield {("legs.size", row): "7" for row in legs if row % 3 == 0}
    yield {("legs.end", row): None for row in legs if row % 5 == 0} | {
        ("legs.from", row): "nowhere" for row in legs if row % 6 == 1
    }
    yield {("legs.spool", link.row - 1): None for link in chains.links.values() if link.before is None}


def by_tape(dimensions: Sequence[Dimension], edition: str) -> list[dict[Place, Value]]:
    """Other readings, and absurd ones."""
    blank: dict[Place, Value] = {("dimensions.as_built", row): None for row in range(len(dimensions))}
    found = [blank | measured(dimensions, shift) for shift in range(1, len(FACTORS))]
    odd = ("no", -1.0, -HAIR, -2 * HAIR, 1e300, -1e300, 0.0, FIELD[edition][1], FIELD[edition][3], True, "12")
    for shift in range(2):
        found.insert(5 + 6 * shift, {place: odd[(row + 4 * shift) % len(odd)] for row, place in enumerate(blank)})
    return found


def _read(edition: str) -> Scene:
    """Spools of many kinds, measured; then by other rules."""

    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        chains = Chains(Held(book, OWN))
        listed = dimensions_of(chains)
        typed = measured(listed, 0)
        tapes = by_tape(listed, edition)
        states: list[Mapping[Place, Value]] = [{}]
        states += [
            rule | tapes[at % len(tapes)] for at, rule in enumerate(by_rules(edition)[: 14 if edition == "inch" else 7])
        ]
        if edition == "inch":
            states += [*by_limits(chains, 5), *by_trim(chains), *by_route(chains)]
        else:
            states += by_limits(chains, 2)
        return typed, cases_of(book, typed, states)

    return Scene(f"dimensions {edition}", edition, lambda: wide_job(edition), made, SHEETS, BUILT)


def cases_of(book: Live, typed: Mapping[Place, Value], states: Sequence[Mapping[Place, Value]]) -> list[Case]:
    """The first state in a workbook of its own, the others typed into it."""
    found: list[Case] = []
    for at, more in enumerate(states):
        book.put_all({**typed, **more})
        found.append(Case(f"state {at}", dict(more) if found else dict(typed), expected(book), own=not found))
        book.reset()
    book.calculate()
    return found


def scenes() -> list[Scene]:
    """Both editions."""
    return [_read(edition) for edition in ("inch", "mm")]
