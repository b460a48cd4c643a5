"""A second opinion on every working column of the Route, row by row, from what is typed.

What a leg rests on is read from the cells that are typed into, from the reference tables, and from what Items and
Outlets hold of it; then it is a vector in space with a work point at each end. Who meets whom, turns, clocks, roles at
a tee, take-outs and what is said of them follow from there. Cells that mean nothing where they stand, such as the
radius of what is no elbow, are not looked at.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

import numpy as np
from gauges import Place, Value, clock_text, hours_of, number
from live import Live, one_inch
from paperwork import said
from walk import NORTH, UPWARDS, Facts, Vector, between
from walk_ends import CORNERS, COUPLINGS, FLANGES, FOLLOWERS, RETURNS, SIDES, SMALL

HAIR = 1e-9
QUARTER, HALF, BETWEEN = 90.0, 45.0, 67.5
COCKED, MOST_BEND, MOST_ALONG, UPRIGHT = 15.0, 170.0, 0.7, 0.001
TEES, REDUCERS, NOTHING = ("tee", "cross"), ("reducer", "eccentric_reducer"), ("weld", "bevel", "plain")
LONGEST = {"inch": 120000.0, "mm": 3000000.0}

JOINTS: Mapping[str, str] = {
    **dict.fromkeys(("weld_neck_flange", "lap_joint", "lateral", "cap", "weld"), "butt"),
    **dict.fromkeys((*CORNERS, *RETURNS, *TEES, *REDUCERS), "butt"),
    "slip_on_flange": "fillet",
    "socket_weld_flange": "fillet",
    "threaded_flange": "threaded",
    "bevel": "field",
    "plain": "none",
    "other": "other",
    **dict.fromkeys((*COUPLINGS, "union"), ""),
}
"""How each end is joined where nothing else is said; all that can stand at an end."""
ONE_GAP = {kind for kind, joint in JOINTS.items() if joint == "butt"} - {"weld"}
CLOSED = {*FLANGES, "half_coupling", "cap", "bevel", "plain"}
"""Nothing starts there."""


def text(value: Any) -> str:
    """What a cell is as text."""
    if value is None:
        return ""
    return value if isinstance(value, str) else f"{value:.15g}"


def alike_words(one: str, other: str) -> bool:
    """Whether two texts are one for a lookup, which does not see capitals."""
    return one.casefold() == other.casefold()


def total(*parts: float | None) -> float | None:
    """A sum, None where a part is not known."""
    known = [part for part in parts if part is not None]
    return math.fsum(known) if len(known) == len(parts) else None


def positive(value: float | None) -> float | None:
    """A value of a table; an empty cell is none."""
    return value if value is not None and value > 0 else None


def flag(holds: bool) -> float:
    """A cell that is 1 or 0."""
    return 1.0 if holds else 0.0


def way_said(vector: Vector, length: float) -> str:
    """Compass and slope in words."""
    east, north, up = (0.0 if abs(part) <= HAIR else float(part) for part in vector)
    words = ""
    if east or north:
        words = "north" if north > 0 else "south" if north < 0 else ""
        if east and north:
            words += f" {degrees_said(math.degrees(math.atan2(abs(east), abs(north))))} "
        words += "east" if east > 0 else "west" if east < 0 else ""
    if up:
        slope = degrees_said(math.degrees(math.asin(min(1.0, abs(up) / length))))
        words += f", {'up' if up > 0 else 'down'} {slope}" if words else "up" if up > 0 else "down"
    return words


def degrees_said(angle: float, places: int = 1) -> str:
    """An angle to so many places, a half going up."""
    scale: int = 10**places
    return f"{math.floor(round(angle * scale, 9) + 0.5) / scale:g}°"


def dial(way: Vector) -> tuple[Vector, Vector]:
    """12 and 3 of the clock, looking along a leg; a leg straight up or down has north at 12."""
    upright = math.hypot(way[0], way[1]) < UPRIGHT
    twelve = (NORTH if upright else UPWARDS) - ((NORTH if upright else UPWARDS) @ way) * way
    if not upright:
        twelve = twelve / math.hypot(*twelve)
    return twelve, np.cross(way, (NORTH if upright else twelve))


class Route:
    """The Route of an open workbook.

    Args:
        book: it as it stands, typed into and computed.
    """

    def __init__(self, book: Live) -> None:
        self.book, self.edition = book, book.edition
        self.facts = Facts(book.edition)
        self.inch = one_inch(book.edition)
        self._columns: dict[str, list[Any]] = {}
        self._places: dict[str, dict[str, int]] = {}
        self.legs = [LegRow(self, at) for at, mark in enumerate(self.column("legs.spool")) if mark is not None]
        self.by_number = {leg.number: leg for leg in self.legs}
        within = self.rule("stock_angle_within")
        self.near = (within or 0.0) + HAIR
        self.step, self.root_gap = number(self.cell("rules.step", 1)), self.rule("root_gap")

    def column(self, name: str) -> list[Any]:
        """A column as it stands."""
        if name not in self._columns:
            self._columns[name] = self.book.column(name)
        return self._columns[name]

    def cell(self, name: str, row: int) -> Any:
        """A cell of a column, rows counted from 1."""
        column = self.column(name)
        return column[row - 1] if 0 < row <= len(column) else None

    def rule(self, name: str) -> float | None:
        """A rule, None where it is blank."""
        return number(self.cell(f"rules.{name}", 1))

    def place(self, name: str, key: str) -> int | None:
        """The first row of a column that holds a text, counted from 1."""
        if name not in self._places:
            found: dict[str, int] = {}
            for row, value in enumerate(self.column(name), start=1):
                found.setdefault(text(value).casefold(), row)
            self._places[name] = found
        return self._places[name].get(key.casefold()) if key else None

    def said(self, length: float) -> str:
        """A length in words with its unit."""
        assert self.step is not None
        return said(length, self.step, self.edition) + ('"' if self.edition == "inch" else " mm")

    def steps(self, length: float) -> int:
        """A size in whole steps of the precision."""
        assert self.step is not None
        return math.floor(round(abs(length) / self.step, 6) + 0.5)

    def nominal(self, size: str) -> float:
        """A nominal size as a number, 0 where there is none."""
        row = self.facts.row("nominal_size", size=size)
        return float(row["nominal"]) if row else 0.0


class LegRow:
    """A row of the Route.

    Args:
        route: that it stands on.
        at: its row, counted from 0.
    """

    def __init__(self, route: Route, at: int) -> None:
        self.route, self.at, self.number = route, at, at + 1
        self.spool, self.name, self.end, self.size, self.schedule = (
            text(route.cell(f"legs.{name}", at + 1)) for name in ("spool", "leg", "end", "size", "schedule")
        )
        self.key = f"{self.spool}|{self.name}"

    def detail(self, name: str) -> str:
        """What is typed on Leg details."""
        return text(self.route.cell(f"details.{name}", self.number))

    def more(self, name: str) -> str:
        """What is typed on More on legs."""
        return text(self.route.cell(f"more.{name}", self.number))

    def detail_number(self, name: str) -> float | None:
        """A number on Leg details."""
        return number(self.route.cell(f"details.{name}", self.number))

    def more_number(self, name: str) -> float | None:
        """A number on More on legs."""
        return number(self.route.cell(f"more.{name}", self.number))

    def of_spool(self, name: str) -> str:
        """What is typed on Spools; nothing where the spool is not there."""
        return text(self.route.cell(f"spools.{name}", self.spool_row)) if self.spool_row else ""

    def of_spool_number(self, name: str) -> float | None:
        """A number on Spools."""
        return number(self.route.cell(f"spools.{name}", self.spool_row)) if self.spool_row else None

    def of_outlet(self, name: str) -> Any:
        """What Outlets holds of the one it starts from."""
        return self.route.cell(f"outlets.{name}", self.outlet_row)

    # -- who meets whom ------------------------------------------------------------------------------------------------

    @cached_property
    def above(self) -> list[LegRow]:
        """The legs that stand above it."""
        return [leg for leg in self.route.legs if leg.number < self.number]

    @cached_property
    def spool_row(self) -> int | None:
        return self.route.place("spools.mark", self.spool)

    @cached_property
    def from_said(self) -> str:
        said_from = text(self.route.cell("legs.from", self.number))
        before = self.route.by_number.get(self.number - 1)
        if said_from:
            return said_from
        return before.name if before and alike_words(before.spool, self.spool) else "start"

    @cached_property
    def leg_said(self) -> LegRow | None:
        """The leg above that it is said to come from."""
        return self._named(self.from_said)

    def _named(self, name: str) -> LegRow | None:
        return next((leg for leg in self.above if alike_words(leg.key, f"{self.spool}|{name}")), None)

    @cached_property
    def outlet_row(self) -> int:
        """Row of the outlet that it starts from; a leg of that name goes first."""
        if alike_words(self.from_said, "start") or self.leg_said:
            return 0
        keys = zip(self.route.column("outlets.spool"), self.route.column("outlets.name"), strict=True)
        wanted = f"{self.spool}|{self.from_said}"
        rows = (
            row for row, key in enumerate(keys, start=1) if key[0] and alike_words("|".join(map(text, key)), wanted)
        )
        return next(rows, 0)

    @cached_property
    def header(self) -> int | None:
        """Row of the leg that its outlet stands on, 0 where it starts from none."""
        if not self.outlet_row:
            return 0
        on = self._named(text(self.of_outlet("on")))
        return on.number if on else None

    @cached_property
    def parent_row(self) -> int | None:
        """Row of the leg that it comes from, 0 at the start of a spool."""
        if self.outlet_row:
            return self.header
        if alike_words(self.from_said, "start"):
            return 0
        return self.leg_said.number if self.leg_said else None

    @cached_property
    def parent(self) -> LegRow | None:
        return self.route.by_number.get(self.parent_row or 0)

    @property
    def first(self) -> bool:
        """Whether it starts where its spool does."""
        return self.parent_row == 0

    @cached_property
    def start_node(self) -> float | None:
        if self.parent_row is None or self.spool_row is None:
            return None
        return self.outlet_row + 0.5 if self.outlet_row else float(self.parent_row or -self.spool_row)

    @cached_property
    def beside(self) -> list[LegRow]:
        """All legs that start where it does, itself among them."""
        return [leg for leg in self.route.legs if leg.start_node == self.start_node is not None]

    @cached_property
    def elder(self) -> LegRow | None:
        """The first leg from there, where that is another."""
        return next((leg for leg in self.beside if leg.number < self.number), None)

    @cached_property
    def others(self) -> int | None:
        """Legs that leave its work point; of those at a spool's start the first counts as coming in."""
        if self.start_node is None:
            return None
        return len(self.beside) - (0 if self.parent else 1)

    @cached_property
    def other(self) -> LegRow | None:
        """The second one that leaves."""
        if self.others != 2 or self.first and not self.elder:
            return None
        rest = [leg for leg in self.beside if leg is not self and (self.parent or leg is not self.elder)]
        return rest[0]

    @cached_property
    def kids(self) -> list[LegRow]:
        """The legs that start at its end."""
        return [leg for leg in self.route.legs if leg.start_node == self.number]

    @property
    def kid(self) -> LegRow | None:
        return self.kids[0] if self.kids else None

    @cached_property
    def pointer(self) -> LegRow | None:
        """The first that turns there."""
        return next((leg for leg in self.kids if leg.turn_class not in (0, None)), None)

    @property
    def straight_kids(self) -> int:
        return sum(leg.turn_class == 0 for leg in self.kids)

    @property
    def square_kids(self) -> int:
        return sum(leg.turn_class == 90 for leg in self.kids)

    # -- in space ------------------------------------------------------------------------------------------------------

    @cached_property
    def vector(self) -> Vector:
        """From start to end; what is absurd counts as nothing."""
        parts = [number(self.route.cell(f"legs.{axis}", self.number)) or 0.0 for axis in ("east", "north", "up")]
        return np.array([part if abs(part) <= LONGEST[self.route.edition] else 0.0 for part in parts])

    @cached_property
    def length(self) -> float | None:
        return math.hypot(*self.vector) or None

    @cached_property
    def way(self) -> Vector | None:
        return self.vector / self.length if self.length else None

    @cached_property
    def comes_in(self) -> Vector | None:
        """The direction in which one arrives where it starts."""
        if self.parent_row is None or self.start_node is None:
            return None
        if self.parent:
            return self.parent.way
        return -self.elder.way if self.elder and self.elder.way is not None else None

    @cached_property
    def turn_start(self) -> float | None:
        return None if self.way is None or self.comes_in is None else between(self.way, self.comes_in)

    @cached_property
    def turn_end(self) -> float | None:
        leaves = self.pointer or self.kid
        return leaves.turn_start if leaves else None

    @cached_property
    def cocked_tee(self) -> bool | None:
        """Whether the tee that it starts from may be cocked."""
        if self.parent_row is None:
            return None
        stock = self.parent is not None and self.start_kind in TEES and self.start_joint not in SMALL
        return stock and self.parent is not None and self.parent.detail("fitting") == "stock"

    @cached_property
    def turn_class(self) -> int | None:
        """0 straight on, 90 square, -1 neither."""
        if self.turn_start is None or self.route.rule("stock_angle_within") is None:
            return None
        if self.turn_start <= self.route.near:
            return 0
        square = COCKED if self.cocked_tee else self.route.near
        return 90 if abs(self.turn_start - QUARTER) <= max(square, self.route.near) else -1

    def near_to(self, angle: float | None, wanted: float) -> bool:
        """Whether an angle counts as the stock one."""
        return angle is not None and abs(angle - wanted) <= self.route.near

    @cached_property
    def other_turn(self) -> float | None:
        if self.other is None or self.way is None or self.other.way is None:
            return None
        return between(self.way, self.other.way)

    def on_dial(self, way: Vector | None) -> tuple[float, float] | None:
        """A direction's parts towards 12 and 3, looking along this leg."""
        if self.way is None or way is None:
            return None
        twelve, three = dial(self.way)
        return float(way @ twelve), float(way @ three)

    @cached_property
    def roll(self) -> tuple[float, float] | None:
        """How the next leg leaves, on the clock of this one."""
        return self.on_dial(self.pointer.way) if self.pointer else None

    @property
    def rolls(self) -> bool:
        """Whether that is a clock, and not straight on."""
        return self.roll is not None and math.hypot(*self.roll) >= UPRIGHT

    @cached_property
    def back(self) -> tuple[float, float] | None:
        """The way back into the leg before, on the clock of this one."""
        return None if self.comes_in is None else self.on_dial(-self.comes_in)

    @cached_property
    def clock_turn(self) -> float | None:
        """What a line along a pulled pipe has moved round the clock since the pipe began."""
        if self.parent_row is None:
            return None
        if not self.start_pulled:
            return 0.0
        assert self.parent is not None
        so_far, leaves = self.parent.clock_turn, self.parent.roll
        if so_far is None or leaves is None or not self.parent.rolls or self.back is None:
            return None
        angles = [math.degrees(math.atan2(side, up)) for up, side in (self.back, leaves)]
        return so_far + angles[0] - angles[1]

    @property
    def at_six(self) -> bool:
        """Whether a bend of its pipe stands at 6 of the clock, half a turn or minus that by a last digit."""
        dials = [each for leg in self.pipe_legs for each in (leg.back, leg.parent.roll if leg.parent else None) if each]
        return any(up < 0 and abs(side) < 1e-9 for up, side in dials)

    @cached_property
    def flat(self) -> str:
        """The flat side of the eccentric reducer that it starts from."""
        if self.start_kind != "eccentric_reducer":
            return ""
        return self.parent.more("flat") if self.parent else self.of_spool("start_flat")

    @cached_property
    def od_before(self) -> float | None:
        if self.parent_row is None or self.spool_row is None:
            return None
        if self.parent:
            return self.parent.od
        return self.route.facts.value(self.route.facts.row("nominal_size", size=self.of_spool("size")), "od")

    @cached_property
    def flat_along(self) -> float | None:
        if not self.flat or self.way is None:
            return None
        return float(SIDES.get(self.flat, np.zeros(3)) @ self.way)

    @cached_property
    def shift(self) -> float | None:
        """Towards the flat side: half of what the pipe gets smaller."""
        if self.flat_along is None or self.od is None or self.od_before is None or abs(self.flat_along) > MOST_ALONG:
            return None
        return (self.od_before - self.od) / 2

    @cached_property
    def shifted(self) -> Vector | None:
        """The same as a vector, square to the leg."""
        if self.shift is None or self.way is None:
            return None
        side = SIDES.get(self.flat, np.zeros(3))
        square = side - float(side @ self.way) * self.way
        return self.shift * square / (math.hypot(*square) or 1.0)

    @cached_property
    def before(self) -> Vector | None:
        """The work point that it starts from."""
        if self.parent_row is None:
            return None
        if self.outlet_row:
            header = self.parent
            assert header is not None
            if header.start is None or header.way is None:
                return None
            at = number(self.of_outlet("at")) or 0.0
            return header.start + at * header.way
        return self.parent.finish if self.parent else np.zeros(3)

    @cached_property
    def start(self) -> Vector | None:
        if self.before is None:
            return None
        return self.before if self.shifted is None else self.before + self.shifted

    @cached_property
    def finish(self) -> Vector | None:
        return None if self.start is None else self.start + self.vector

    # -- where it should end -------------------------------------------------------------------------------------------

    @cached_property
    def wanted_point(self) -> list[float | None]:
        """The coordinates of the drawing that it is to end at."""
        return [self.more_number(f"to_{axis}") for axis in ("east", "north", "up")]

    @property
    def origin(self) -> Vector:
        """The drawing's coordinates of the spool's start."""
        return np.array([self.of_spool_number(f"origin_{axis}") or 0.0 for axis in ("east", "north", "up")])

    @cached_property
    def to_point(self) -> list[float | None]:
        """How far it is to each of them from where it starts, without the shift of a reducer."""
        before = self.before
        if before is None or self.spool_row is None:
            return [None, None, None]
        here = before + self.origin
        return [
            None if wanted is None else wanted - float(each)
            for wanted, each in zip(self.wanted_point, here, strict=True)
        ]

    @cached_property
    def fall(self) -> float | None:
        """Down for 1 along the level."""
        typed = self.detail_number("fall")
        return None if typed is None else typed / (12 if self.route.edition == "inch" else 1000)

    @property
    def falls_to(self) -> bool:
        """Whether a fall and an elevation say how far it runs along its bearing, or contradict one another."""
        up = self.to_point[2]
        return self.fall is not None and up is not None and (self.fall != 0 or abs(up) > HAIR)

    @cached_property
    def level_run(self) -> float | None:
        """How far it runs along its bearing, level."""
        bearing, run = self.more_number("bearing"), self.more_number("run")
        if bearing is None or run is not None:
            return None if bearing is None else run
        up = self.to_point[2]
        if self.falls_to:
            assert self.fall is not None and up is not None
            return abs(up / self.fall) if abs(up) > HAIR and self.fall * up < 0 else None
        ways = (math.sin(math.radians(bearing)), math.cos(math.radians(bearing)))
        seen = [(way, far) for way, far in zip(ways, self.to_point, strict=False) if far is not None]
        reach = math.hypot(*(way for way, _ in seen))
        if reach <= math.sin(math.radians(self.route.near)):
            return None
        return positive(sum(way * far for way, far in seen) / reach**2)

    @property
    def adrift(self) -> bool:
        """Whether nothing says how far along its bearing."""
        on_bearing = self.more_number("bearing") is not None
        return on_bearing and self.level_run is None and not math.hypot(*self.vector[:2])

    @cached_property
    def missed(self) -> list[float]:
        """By how much it misses each coordinate; 0 where it does not."""
        if self.finish is None or self.spool_row is None:
            return [0.0, 0.0, 0.0]
        there = self.finish + self.origin
        off = [
            0.0 if wanted is None else float(each) - wanted
            for each, wanted in zip(there, self.wanted_point, strict=True)
        ]
        hair = self.route.inch / 25.4 / 1000 + HAIR
        return [0.0 if abs(each) <= hair else each for each in off]

    def missed_said(self) -> list[str]:
        """The same in words."""
        ways = ((" too far east", " too far west"), (" too far north", " too far south"), (" too high", " too low"))
        words = []
        for off, (over, under) in zip(self.missed, ways, strict=True):
            size = self.route.said(abs(off)) if self.route.steps(off) else "a hair"
            words.append(f", {size}{over if off > 0 else under}" if off else "")
        return words

    @property
    def close_said(self) -> str:
        return self.more("close_to")

    @cached_property
    def close_row(self) -> int | None:
        """Row of the leg that it closes to, 0 is the start."""
        if not self.close_said:
            return None
        if alike_words(self.close_said, "start"):
            return 0
        leg = self._named(self.close_said)
        return leg.number if leg else None

    @cached_property
    def closing_point(self) -> Vector | None:
        if self.close_row is None:
            return None
        return self.route.by_number[self.close_row].finish if self.close_row else np.zeros(3)

    @cached_property
    def misclosed(self) -> float | None:
        if self.finish is None or self.closing_point is None:
            return None
        return math.hypot(*(self.finish - self.closing_point))

    # -- what stands at its ends ---------------------------------------------------------------------------------------

    @property
    def known_start(self) -> bool:
        """Whether it is known what stands where it starts."""
        return self.parent_row is not None and self.spool_row is not None

    @cached_property
    def start_kind(self) -> str:
        if not self.known_start:
            return ""
        if self.outlet_row:
            return text(self.of_outlet("kind"))
        return self.parent.end if self.parent else self.of_spool("start")

    @property
    def enters(self) -> str:
        """Which side of the tee at its start is entered, where that is said."""
        return self.parent.detail("enters") if self.parent else self.of_spool("start_enters")

    @staticmethod
    def _joined(own: str, kind: str, spools: str) -> str:
        if kind not in JOINTS:
            return ""
        return own or (spools or "butt" if kind in FOLLOWERS else JOINTS[kind])

    @cached_property
    def end_joint(self) -> str:
        return self._joined(self.detail("joint"), self.end, self.of_spool("joints"))

    @cached_property
    def start_joint(self) -> str:
        if not self.known_start:
            return ""
        if self.outlet_row:
            return text(self.of_outlet("joint"))
        if self.parent:
            return self.parent.end_joint
        return self._joined(self.of_spool("start_joint"), self.start_kind, self.of_spool("joints"))

    @property
    def small_end(self) -> bool:
        """Whether a socket or threaded fitting stands at its end."""
        return self.end_joint in SMALL and self.end in FOLLOWERS

    @property
    def small_at_start(self) -> bool:
        """Whether its spool starts with one."""
        return self.first and self.small_start

    @property
    def small_start(self) -> bool:
        return self.start_joint in SMALL and self.start_kind in FOLLOWERS

    @cached_property
    def inside(self) -> bool | None:
        """Whether it runs within a return: from its first corner to the second."""
        if self.parent_row is None:
            return None
        return self.parent is not None and self.start_kind in RETURNS and not self.parent.inside

    @property
    def pulled(self) -> bool:
        return self.end == "bend" and self.more("pulled") == "yes"

    @cached_property
    def start_pulled(self) -> bool | None:
        if self.parent_row is None:
            return None
        return self.parent is not None and not self.outlet_row and self.parent.pulled

    @cached_property
    def pipe_legs(self) -> list[LegRow]:
        """The legs that pulled bends join to one pipe, up to this one."""
        before = self.parent.pipe_legs if self.start_pulled and self.parent else []
        return [*before, self]

    @property
    def chain_first(self) -> int:
        return self.pipe_legs[0].number

    @cached_property
    def chain_last(self) -> int:
        ends = (leg.number for leg in self.route.legs if not leg.pulled and leg.chain_first == self.chain_first)
        return next(ends, self.number)

    @staticmethod
    def _role_in(legs: int, straight: int, square: int, enters: str) -> str:
        """The side of a tee by which one comes in."""
        if not legs:
            return "branch" if enters == "branch" else "run"
        if straight:
            return "run"
        if square < legs:
            return "?"
        return "branch" if legs > 1 else enters or "?"

    @cached_property
    def role_end(self) -> str:
        if self.end == "tee":
            return self._role_in(len(self.kids), self.straight_kids, self.square_kids, self.detail("enters"))
        if self.end != "cross":
            return ""
        if any(leg.turn_class not in (0, 90) for leg in self.kids):
            return "?"
        return "branch" if self.detail("enters") == "branch" else "run"

    @cached_property
    def role_start(self) -> str:
        if self.others is None or self.start_kind not in TEES:
            return ""
        straight = sum(leg.turn_class == 0 for leg in self.beside)
        square = sum(leg.turn_class == 90 for leg in self.beside)
        if self.first and not self.elder:
            return self._role_in(self.others, straight, square, self.enters)
        if self.turn_class in (None, -1):
            return "?"
        across = {"run": "branch", "branch": "run"}
        if self.start_kind == "cross":
            came_in = self.parent.role_end if self.parent else ""
            return came_in if self.turn_class == 0 else across.get(came_in, "?")
        if self.turn_class == 0:
            return "run"
        if straight:
            return "branch"
        return "run" if self.others > 1 else across.get(self.enters, "?")

    # -- pipe, flanges -------------------------------------------------------------------------------------------------

    @cached_property
    def pipe_row(self) -> int | None:
        return self.route.place("pipe.key", f"{self.size}|{self.schedule}") if self.size else None

    def _pipe(self, name: str, schedule: str) -> float | None:
        facts = self.route.facts
        return facts.value(facts.row("pipe", size=self.size, schedule=schedule), name)

    @cached_property
    def od(self) -> float | None:
        return self._pipe("od", self.schedule) if self.pipe_row else None

    @cached_property
    def wall(self) -> float | None:
        return self._pipe("wall", self.schedule) if self.pipe_row else None

    @cached_property
    def standard_wall(self) -> float | None:
        return self._pipe("wall", "STD")

    @cached_property
    def flange_class(self) -> str:
        return self.detail("flange_class") or self.of_spool("flange_class")

    @property
    def start_class(self) -> str:
        return self.of_spool("flange_class") or self.flange_class

    def _flange_rows(self, flange_class: str) -> tuple[Mapping[str, str], Mapping[str, str]]:
        """A flange's rows of the two tables; that of EN counts in millimetres only."""
        facts = self.route.facts
        where = {"class": flange_class, "size": self.size}
        en: Mapping[str, str] = facts.row("flange_en", **where) if self.route.edition == "mm" else {}
        return facts.row("flange", **where), en

    def _ring(self, flange_class: str) -> Mapping[str, str]:
        return self.route.facts.row("ring_joint", **{"class": flange_class, "size": self.size})

    @cached_property
    def facing_end(self) -> str:
        if self.spool_row is None or self.end not in FLANGES:
            return ""
        return self.more("facing") or self.of_spool("facing") or "RF"

    @cached_property
    def facing_start(self) -> str:
        if not self.known_start or not self.first or self.start_kind not in FLANGES:
            return ""
        return self.of_spool("start_facing") or self.of_spool("facing") or "RF"

    def _facing_more(self, kind: str, facing: str, flange_class: str) -> float | None:
        """What a facing adds to the length with a raised face."""
        if facing in ("", "RF"):
            return 0.0
        (row, by_pn), ring, value = self._flange_rows(flange_class), self._ring(flange_class), self.route.facts.value
        hub = {"weld_neck_flange": "weld_neck", "socket_weld_flange": "socket_weld", "threaded_flange": "threaded"}.get(
            kind
        )
        less = (value(row, f"{hub}_flat") or 0.0) - (value(row, hub) or 0.0) if hub else 0.0
        if facing == "FF":
            if by_pn or kind in ("slip_on_flange", "lap_joint"):
                return 0.0
            return less if row else None
        if facing != "RTJ" or kind == "lap_joint" or not row or not ring:
            return None
        if kind == "weld_neck_flange":
            return (value(ring, "weld_neck") or 0.0) - (value(row, "weld_neck") or 0.0)
        return less + (value(ring, "groove_depth") or 0.0) if hub else 0.0

    @cached_property
    def facing_more_end(self) -> float | None:
        return self._facing_more(self.end, self.facing_end, self.flange_class)

    @cached_property
    def facing_more_start(self) -> float | None:
        return self._facing_more(self.start_kind, self.facing_start, self.start_class if self.spool_row else "")

    @property
    def gasket_end(self) -> float:
        return (self.more_number("gasket") or 0.0) if self.end in FLANGES else 0.0

    @property
    def gasket_start(self) -> float | None:
        if not self.known_start:
            return None
        return (self.of_spool_number("start_gasket") or 0.0) if self.first and self.start_kind in FLANGES else 0.0

    @cached_property
    def make_up(self) -> float | None:
        """How far its thread is screwed in."""
        row = self.route.facts.row("pipe_thread", size=self.size)
        shop = text(self.route.cell("rules.thread_make_up_by", 1)) == "shop practice"
        return self.route.facts.value(row, "shop_make_up" if shop else "make_up")

    @cached_property
    def thread_depth(self) -> float | None:
        row = self.route.facts.row("pipe_thread", size=self.size)
        return 0.8 * self.route.inch / float(row["threads_per_inch"]) if row else None

    @property
    def threaded(self) -> bool:
        """Whether a thread is cut on its pipe."""
        flanges = {self.route.cell("items.flange", row) for row in self.item_rows}
        ends = {self.route.cell("items.ends", row) for row in self.item_rows}
        return "threaded" in {self.end_joint, self.start_joint, *ends} or "threaded_flange" in flanges

    @cached_property
    def cap_take(self) -> float | None:
        facts = self.route.facts
        row = facts.row("cap", size=self.size)
        if not row or self.wall is None:
            return None
        limit = facts.value(row, "limiting_wall")
        heavy = limit is not None and self.wall > limit + HAIR
        return positive(facts.value(row, "length_heavy" if heavy else "length"))

    def _single(self, kind: str, stub: str, flange_class: str) -> float | None:
        """Take-out of an end at which nothing turns."""
        if kind in NOTHING:
            return 0.0
        if kind == "cap":
            return self.cap_take
        (row, by_pn), value = self._flange_rows(flange_class), self.route.facts.value
        if kind == "weld_neck_flange":
            return positive(value(by_pn or row, "weld_neck"))
        if not row:
            return None
        back = self.route.rule("socket_pullback")
        if kind == "slip_on_flange":
            setback = self.route.rule("slip_on_setback")
            if not value(row, "slip_on") or self.wall is None or setback is None:
                return None
            return min(self.wall, setback)
        if kind == "socket_weld_flange":
            depth = value(row, "socket_depth")
            return total(value(row, "socket_weld"), -depth, back) if depth else None
        if kind == "threaded_flange":
            through = positive(value(row, "threaded"))
            return None if through is None or self.make_up is None else through - self.make_up
        stubs = self.route.facts.row("stub_end", size=self.size)
        return value(stubs, "short_length" if stub == "short" else "long_length") if kind == "lap_joint" else None

    @cached_property
    def single_end(self) -> float | None:
        return self._single(self.end, self.detail("stub"), self.flange_class)

    @cached_property
    def single_start(self) -> float | None:
        if not self.known_start or not self.first:
            return None
        return self._single(self.start_kind, self.of_spool("start_stub"), self.start_class)

    def _single_memory(self, kind: str, flange_class: str) -> bool:
        facts = self.route.facts
        if kind == "cap":
            cap = facts.row("cap", size=self.size)
            return facts.doubtful(cap) or facts.doubtful(cap, "limiting_wall_status")
        if kind not in FLANGES:
            return False
        if kind in ("slip_on_flange", "threaded_flange", "lap_joint"):
            return True
        row, by_pn = self._flange_rows(flange_class)
        return facts.doubtful(by_pn or row)

    # -- corners -------------------------------------------------------------------------------------------------------

    @cached_property
    def stock(self) -> str:
        """Whose dimensions its elbow or return has; the second corner of a return has those of the first."""
        return self.parent.stock if self.inside and self.parent else self.more("stock")

    @cached_property
    def bend_turn(self) -> float | None:
        return self.turn_end if self.kids else QUARTER

    @property
    def kept(self) -> bool:
        """Whether a stock elbow is kept where the turn is another."""
        return self.detail("fitting") == "stock"

    @cached_property
    def fit_turn(self) -> float | None:
        """The turn that its elbow is made for."""
        turn = self.bend_turn
        if turn is None or self.end == "bend":
            return turn
        halves = self.end in ("elbow", "elbow_3d")
        if self.near_to(turn, QUARTER):
            return QUARTER
        if halves and self.near_to(turn, HALF):
            return HALF
        if self.kept:
            return HALF if halves and turn <= BETWEEN else QUARTER
        return turn

    @property
    def most_turn(self) -> float:
        if self.end == "bend":
            return MOST_BEND
        cocked = self.kept and self.end != "reducing_elbow" and self.end_joint not in SMALL
        return QUARTER + (COCKED + HAIR if cocked else self.route.near)

    def _corner(self, kind: str, old: bool, size: str) -> tuple[Mapping[str, str], str, str, str, str]:
        """A corner's row of the tables: what the 90 and the 45 are called there, and their remarks."""
        row = self.route.facts.row
        if kind == "elbow_3d":
            return row("elbow_3d", size=size), "radius_90", "radius_45", "status", "status"
        if kind == "elbow" and old:
            return row("elbow_old_stock", size=size), "long_90", "long_45", "status", "long_45_status"
        if kind == "elbow_short_radius":
            return row("elbow", size=size), "short_90", "", "short_status", "short_status"
        return row("elbow", size=size), "long_90", "long_45", "status", "status"

    @property
    def largest(self) -> LegRow:
        """The larger of its own pipe and that of the leg after it."""
        kid = self.kid
        return kid if kid and kid.od is not None and self.od is not None and kid.od > self.od else self

    @cached_property
    def radius(self) -> float | None:
        """Centre to end of the 90, or the radius of a bend."""
        if self.spool_row is None:
            return None
        if self.end == "bend":
            return self.more_number("radius")
        size = self.largest.size if self.end == "reducing_elbow" else self.size
        row, quarter, *_ = self._corner(self.end, self.stock == "old", size)
        return positive(self.route.facts.value(row, quarter))

    @cached_property
    def half_turn_take(self) -> float | None:
        """The 45's centre to end, of what has a 45."""
        if self.fit_turn is None or self.radius is None:
            return None
        row, _, half, *_ = self._corner(self.end, self.stock == "old", self.size)
        found = positive(self.route.facts.value(row, half))
        if found is None and self.end == "elbow_3d":
            return self.radius * math.tan(math.radians(self.fit_turn / 2))
        return found

    @property
    def tangent(self) -> float:
        return self.more_number("tangent") or 0.0

    @cached_property
    def arc(self) -> float | None:
        """What a bend takes of the pipe along its centreline."""
        if self.radius is None or self.bend_turn is None:
            return None
        return self.radius * math.radians(self.bend_turn)

    def _small_take(self, joint: str, key: str, dimension: str) -> float | None:
        """From the work point to the pipe of a small fitting: to the bottom and back, or to the end and in."""
        table = "socket_weld_fitting" if joint == "socket" else "threaded_fitting"
        value = self.route.facts.value(self.route.facts.row(table, key=key), dimension)
        if dimension == "coupling":
            value = None if value is None else value / 2
        if joint == "socket":
            return total(value, self.route.rule("socket_pullback"))
        return None if value is None or self.make_up is None else value - self.make_up

    def _small_elbow(self, joint: str, turn: float, key: str) -> float | None:
        stock = {QUARTER: "elbow_90", HALF: "elbow_45"}.get(turn)
        return self._small_take(joint, key, stock) if stock else None

    @cached_property
    def elbow_take(self) -> float | None:
        turn, fit = self.bend_turn, self.fit_turn
        if self.end not in CORNERS or turn is None or fit is None or self.route.rule("stock_angle_within") is None:
            return None
        if self.near_to(turn, 0.0) or turn > self.most_turn:
            return None
        if self.end_joint in SMALL:
            return self._small_elbow(self.end_joint, fit, self.end_fitting_key) if self.end == "elbow" else None
        if self.radius is None:
            return None
        if self.end == "bend":
            return self.radius * math.tan(math.radians(turn / 2)) + self.tangent
        if fit == QUARTER:
            return self.radius
        if self.end == "reducing_elbow":
            return None
        if fit == HALF and self.end != "elbow_short_radius":
            return self.half_turn_take
        return self.radius * math.tan(math.radians(fit / 2))

    @cached_property
    def quarter_start(self) -> float | None:
        """An elbow that only this leg joins."""
        if self.start_joint in SMALL:
            key = self.start_fitting_key
            return self._small_elbow(self.start_joint, QUARTER, key) if self.start_kind == "elbow" else None
        row, quarter, *_ = self._corner(self.start_kind, self.start_stock == "old", self.size)
        if self.start_kind in ("bend", "reducing_elbow"):
            quarter = "short_90"
        return positive(self.route.facts.value(row, quarter))

    @property
    def start_stock(self) -> str:
        return self.parent.more("stock") if self.parent else self.of_spool("start_stock")

    def _corner_memory(self, kind: str, old: bool) -> bool:
        """Whether a corner rests on a value from memory: the 90 or, of old stock, the 45."""
        if kind in ("bend", "reducing_elbow"):
            return kind == "reducing_elbow"
        row, _, _, status, half_status = self._corner(kind, old, self.size)
        marks = (status, half_status) if old and kind == "elbow" else (status,)
        return any(self.route.facts.doubtful(row, mark) for mark in marks)

    @property
    def elbow_memory(self) -> bool:
        return not self.small_end and self._corner_memory(self.end, self.stock == "old")

    @cached_property
    def return_centres(self) -> float | None:
        facts = self.route.facts
        if self.end == "return_short_radius":
            return positive(facts.value(facts.row("elbow", size=self.size), "short_return_centre"))
        table = "elbow_old_stock" if self.stock == "old" else "elbow"
        return positive(facts.value(facts.row(table, size=self.size), "long_return_centre"))

    @property
    def return_take(self) -> float | None:
        return None if self.return_centres is None else self.return_centres / 2

    @cached_property
    def return_memory(self) -> bool:
        facts = self.route.facts
        if self.end == "return" and self.stock == "old":
            return facts.doubtful(facts.row("elbow_old_stock", size=self.size))
        status = {"return": "return_status", "return_short_radius": "short_return_status"}.get(self.end)
        if status is None:
            return False
        return facts.doubtful(facts.row("elbow", size=self.size), f"{status}_{self.route.edition}")

    # -- tees, small fittings, reducers --------------------------------------------------------------------------------

    @property
    def end_fitting_class(self) -> str:
        return self.more("fitting_class") or self.of_spool("fitting_class")

    @property
    def start_fitting_class(self) -> str:
        if not self.known_start:
            return ""
        return self.parent.end_fitting_class if self.parent else self.of_spool("fitting_class")

    @property
    def run_at_end(self) -> str:
        """The size across which a branch that comes in stands."""
        leaves = self.pointer if self.end == "cross" and self.pointer else self.kid
        return leaves.size if leaves else self.size

    @property
    def run_at_start(self) -> str:
        """The size across which it stands as a branch."""
        if self.parent:
            on = self.start_kind == "cross" and self.role_start == "branch" and self.turn_class == 0
            return (self.parent.pointer if on and self.parent.pointer else self.parent).size
        if self.elder:
            return self.elder.size
        later = [leg for leg in self.beside if leg.number > self.number]
        return later[0].size if later else self.size

    @property
    def end_fitting_key(self) -> str:
        """Class and size of the row: a reducing fitting has the body of its largest end."""
        return f"{self.end_fitting_class}|{self.run_at_end if self.role_end == 'branch' else self.size}"

    @property
    def start_fitting_key(self) -> str:
        return f"{self.start_fitting_class}|{self.run_at_start if self.role_start == 'branch' else self.size}"

    def _branch_wrong(self, joint: str, flange_class: str, run: str) -> int:
        """1 where a branch of its size is larger than the run, 2 where the class is not made in it."""
        if 0 < self.route.nominal(run) < self.route.nominal(self.size):
            return 1
        if joint not in SMALL:
            return 0
        table = "socket_weld_fitting" if joint == "socket" else "threaded_fitting"
        return 2 if flange_class and not self.route.facts.row(table, key=f"{flange_class}|{self.size}") else 0

    @cached_property
    def branch_wrong(self) -> int | None:
        if not self.known_start:
            return None
        if self.start_kind not in TEES or self.role_start != "branch":
            return 0
        return self._branch_wrong(self.start_joint, self.start_fitting_class, self.run_at_start)

    @cached_property
    def branch_wrong_end(self) -> int:
        if self.end not in TEES or self.role_end != "branch":
            return 0
        return self._branch_wrong(self.end_joint, self.end_fitting_class, self.run_at_end)

    @staticmethod
    def _worst(faults: list[int | None]) -> int:
        return 1 if 1 in faults else 2 if 2 in faults else 0

    @cached_property
    def tee_wrong(self) -> int:
        return self.branch_wrong_end or self._worst([leg.branch_wrong for leg in self.kids])

    @cached_property
    def tee_wrong_start(self) -> int | None:
        if self.start_node is None:
            return None
        if self.outlet_row:
            return 0
        return self.parent.tee_wrong if self.parent else self._worst([leg.branch_wrong for leg in self.beside])

    def _tee_row(self, role: str, run: str) -> tuple[Mapping[str, str], str]:
        facts = self.route.facts
        if role == "branch" and run != self.size:
            return facts.row("reducing_tee", run_size=run, outlet_size=self.size), "branch"
        return facts.row("tee", size=self.size), role

    def _tee(self, joint: str, key: str, wrong: int | None, role: str, run: str) -> float | None:
        if wrong:
            return None
        if joint in SMALL:
            return self._small_take(joint, key, "tee")
        row, dimension = self._tee_row(role, run)
        return positive(self.route.facts.value(row, dimension)) if role in ("run", "branch") else None

    @cached_property
    def tee_start(self) -> float | None:
        if self.tee_wrong_start is None:
            return None
        return self._tee(
            self.start_joint, self.start_fitting_key, self.tee_wrong_start, self.role_start, self.run_at_start
        )

    @cached_property
    def tee_end(self) -> float | None:
        return self._tee(self.end_joint, self.end_fitting_key, self.tee_wrong, self.role_end, self.run_at_end)

    @cached_property
    def coupling_end(self) -> float | None:
        return self._small_take(self.end_joint, self.end_fitting_key, self.end) if self.end_joint in SMALL else None

    @cached_property
    def coupling_start(self) -> float | None:
        if self.start_joint not in SMALL:
            return None
        return self._small_take(self.start_joint, self.start_fitting_key, self.start_kind)

    def _reducer(self, other: str) -> Mapping[str, str]:
        row = self.route.facts.row
        return row("reducer", key=f"{self.size}x{other}") or row("reducer", key=f"{other}x{self.size}")

    @cached_property
    def reducer_end(self) -> Mapping[str, str]:
        return self._reducer(self.kid.size) if self.kid else {}

    @cached_property
    def reducer_start(self) -> Mapping[str, str]:
        return self._reducer(self.of_spool("size")) if self.first and self.spool_row else {}

    def _reducer_take(self, row: Mapping[str, str]) -> float | None:
        return positive(self.route.facts.value(row, "length"))

    def _small_memory(self, kind: str, joint: str, turn: float, key: str) -> bool:
        if joint == "threaded":
            return True
        facts = self.route.facts
        row = facts.row("socket_weld_fitting", key=key)
        inner = kind == "coupling" or kind not in (*TEES, "half_coupling") and turn == HALF
        status = "tee_status" if kind in TEES else "half_status" if kind == "half_coupling" else "inner_status"
        status = status if kind in (*TEES, "half_coupling") or inner else "status"
        return facts.doubtful(row, status if status in row else f"{status}_{self.route.edition}")

    def _tee_memory(self, role: str, run: str) -> bool:
        row, _ = self._tee_row("run" if role == "run" else "branch", run)
        return self.route.facts.doubtful(row)

    # -- take-outs -----------------------------------------------------------------------------------------------------

    @cached_property
    def typed_start(self) -> float | None:
        """A take-out typed for its start."""
        if not self.known_start or self.outlet_row:
            return None
        if not self.parent:
            return self.of_spool_number("start_takeout")
        if self.start_kind == "lateral" and self.turn_class != 0:
            return self.parent.more_number("takeout_branch")
        out, own = self.parent.detail_number("takeout_out"), self.parent.detail_number("takeout")
        return own if self.start_kind == "union" and out is None else out

    @property
    def typed_end(self) -> float | None:
        return self.detail_number("takeout")

    @cached_property
    def takeout_start(self) -> float | None:
        if not self.known_start:
            return None
        kind = self.start_kind
        if self.outlet_row:
            return number(self.of_outlet("takeout"))
        if self.typed_start is not None:
            return self.typed_start + (self.gasket_start or 0.0)
        if self.inside:
            return None if self.length is None else self.length / 2
        if kind in TEES:
            return self.tee_start
        if kind in COUPLINGS:
            return self.coupling_start
        if self.parent:
            return self._after(self.parent)
        if kind in CORNERS:
            return self.quarter_start
        if kind in REDUCERS:
            return self._reducer_take(self.reducer_start)
        if kind == "cap" and self.start_joint in SMALL:
            return None
        return self.faced_start

    def _after(self, before: LegRow) -> float | None:
        """The far side of what stands at the end of the leg before."""
        if before.end in CORNERS:
            return before.elbow_take
        if before.end in RETURNS:
            return before.return_take
        return 0.0 if before.end in (*REDUCERS, "weld") else None

    @property
    def faced_end(self) -> float | None:
        return total(self.single_end, self.facing_more_end, self.gasket_end)

    @property
    def faced_start(self) -> float | None:
        return total(self.single_start, self.facing_more_start, self.gasket_start)

    @cached_property
    def takeout_end(self) -> float | None:
        if self.spool_row is None:
            return None
        if self.typed_end is not None:
            return self.typed_end + self.gasket_end
        if self.inside:
            return None if self.length is None else self.length / 2
        if self.end in CORNERS:
            return self.elbow_take
        if self.end in RETURNS:
            return self.return_take
        if self.end in TEES:
            return self.tee_end
        if self.end in COUPLINGS:
            return self.coupling_end
        if self.end in REDUCERS:
            return self._reducer_take(self.reducer_end)
        return None if self.end == "cap" and self.end_joint in SMALL else self.faced_end

    @cached_property
    def memory_start(self) -> float | None:
        if self.tee_wrong_start is None:
            return None
        if self.outlet_row:
            return number(self.of_outlet("memory"))
        return flag(self._doubt_start())

    def _doubt_start(self) -> bool:
        kind, before = self.start_kind, self.parent
        if self.typed_start is not None or not kind:
            return False
        if self.small_start:
            turn = before.fit_turn if before else None
            return not self.tee_wrong_start and self._small_memory(
                kind, self.start_joint, turn or 0.0, self.start_fitting_key
            )
        if kind in TEES:
            return not self.tee_wrong_start and self._tee_memory(self.role_start, self.run_at_start)
        if kind in CORNERS:
            return before.elbow_memory if before else self._corner_memory(kind, self.start_stock == "old")
        if kind in RETURNS:
            return before is not None and before.return_memory
        if kind in REDUCERS:
            return not before and self.route.facts.doubtful(self.reducer_start)
        return self._single_memory(kind, self.start_class)

    @cached_property
    def memory_end(self) -> float:
        return flag(self._doubt_end())

    def _doubt_end(self) -> bool:
        kind = self.end
        if self.typed_end is not None or not kind:
            return False
        if self.small_end:
            return not self.tee_wrong and self._small_memory(
                kind, self.end_joint, self.fit_turn or 0.0, self.end_fitting_key
            )
        if kind in TEES:
            return not self.tee_wrong and self._tee_memory(self.role_end, self.run_at_end)
        if kind in CORNERS:
            return self.elbow_memory
        if kind in RETURNS:
            return self.return_memory
        if kind in REDUCERS:
            return self.route.facts.doubtful(self.reducer_end)
        return self._single_memory(kind, self.flange_class)

    # -- along it ------------------------------------------------------------------------------------------------------

    @staticmethod
    def _share(kind: str, joint: str, field_gap: str) -> float:
        """Root gaps that a joint takes from the pipe."""
        if kind in ("bevel", "plain"):
            return {"half": 0.5, "full": 1.0}.get(field_gap, 0.0)
        if joint != "butt":
            return 0.0
        return 1.0 if kind in ONE_GAP or kind == "other" else 0.5 if kind == "weld" else 0.0

    @cached_property
    def share_start(self) -> float | None:
        if not self.known_start:
            return None
        if self.outlet_row:
            return number(self.of_outlet("share"))
        if self.inside or self.start_pulled:
            return 0.0
        return self._share(self.start_kind, self.start_joint, self.of_spool("start_field_gap"))

    @cached_property
    def share_end(self) -> float:
        if self.inside or self.pulled:
            return 0.0
        return self._share(self.end, self.end_joint, self.detail("field_gap"))

    @property
    def made_up(self) -> bool:
        return self.detail("make_up") == "yes"

    @property
    def gaps(self) -> float | None:
        if self.share_start is None or self.route.root_gap is None:
            return None
        return (1.0 if self.made_up else self.share_start + self.share_end) * self.route.root_gap

    @property
    def make_up_difference(self) -> float | None:
        if not self.made_up or self.length is None:
            return None
        return total(self.takeout_start, self.takeout_end, self.route.root_gap, -self.length)

    @cached_property
    def item_rows(self) -> list[int]:
        """Rows of the items within it."""
        return [row for row, leg in enumerate(self.route.column("items.leg_row"), start=1) if leg == self.number]

    def of_items(self, name: str) -> float:
        """A column of Items added up over its items."""
        return math.fsum(number(self.route.cell(f"items.{name}", row)) or 0.0 for row in self.item_rows)

    @cached_property
    def outlet_rows(self) -> list[int]:
        """Rows of the outlets on it."""
        return [row for row, leg in enumerate(self.route.column("outlets.header_row"), start=1) if leg == self.number]

    @property
    def pieces(self) -> int:
        if self.made_up or self.inside:
            return 0
        against = self.of_items("at_start") + self.of_items("at_end")
        return max(0, 1 + len(self.item_rows) - round(against) - self.pulled)

    @cached_property
    def straight(self) -> float | None:
        if self.length is None or self.takeout_start is None or self.takeout_end is None:
            return None
        return self.length - self.takeout_start - self.takeout_end

    @cached_property
    def carried(self) -> float | None:
        """Pipe that bends bring along from the legs before."""
        if self.parent_row is None:
            return None
        if not self.start_pulled:
            return 0.0
        parts = [part for leg in self.pipe_legs[:-1] for part in (leg.straight, leg.arc)]
        return total(*parts)

    @property
    def shop_welds(self) -> float | None:
        if self.share_start is None or self.parent_row is None:
            return None
        if self.made_up:
            return 1.0
        loose = ("bevel", "plain")
        at_start = not self.of_items("at_start") and self.start_kind not in loose
        if self.start_kind == "weld" and self.parent:
            at_start = False
        at_end = not self.of_items("at_end") and self.end not in loose
        return (at_start and self.share_start > 0) + (at_end and self.share_end > 0) + self.of_items("welds")

    @staticmethod
    def _welded(kind: str, joint: str) -> bool:
        if kind == "other":
            return joint in ("butt", "fillet", "socket", "threaded")
        return kind not in ("", "plain")

    @property
    def joint_at_start(self) -> bool | None:
        """Whether it has a joint of its own where it starts."""
        if self.parent_row is None:
            return None
        if self.inside or self.start_pulled:
            return False
        if self.made_up or self.of_items("at_start"):
            return self.made_up
        if self.outlet_row:
            return bool(self.of_outlet("joint"))
        return not (self.parent and self.start_kind == "weld") and self._welded(self.start_kind, self.start_joint)

    @property
    def joint_at_end(self) -> bool:
        taken = self.inside or self.pulled or self.made_up or self.of_items("at_end") > 0
        return not taken and self._welded(self.end, self.end_joint)

    @property
    def joints(self) -> float | None:
        outlets = math.fsum(number(self.route.cell("outlets.weld", row)) or 0.0 for row in self.outlet_rows)
        if self.joint_at_start is None:
            return None
        return self.joint_at_start + self.of_items("joints") + outlets + self.joint_at_end


# -- the cells ---------------------------------------------------------------------------------------------------------


def parts_of(name: str, vector: Vector | None) -> dict[str, Value]:
    """Three cells of a vector."""
    return {name.format(axis): None if vector is None else float(vector[at]) for at, axis in enumerate("xyz")}


def row_or_none(leg: LegRow | None) -> Value:
    """The row of a leg."""
    return float(leg.number) if leg else None


def _node_cells(leg: LegRow) -> dict[str, Value]:
    node = leg.start_node is not None
    return {
        "key": leg.key,
        "spool_text": leg.spool,
        "spool_row": None if leg.spool_row is None else float(leg.spool_row),
        "from_said": leg.from_said or None,
        "outlet_row": float(leg.outlet_row),
        "header": None if leg.header is None else float(leg.header),
        "parent": None if leg.parent_row is None else float(leg.parent_row),
        "start_node": leg.start_node,
        "elder": (row_or_none(leg.elder) or 0.0) if node else None,
        "node_legs": float(len(leg.beside)) if node else None,
        "others": None if leg.others is None else float(leg.others),
        "other": (row_or_none(leg.other) or 0.0) if node else None,
        "kids": float(len(leg.kids)),
        "kid": row_or_none(leg.kid),
        "pointer": row_or_none(leg.pointer),
        "straight_kids": float(leg.straight_kids),
        "square_kids": float(leg.square_kids),
        "start_straight": float(sum(each.turn_class == 0 for each in leg.beside)) if node else None,
        "start_square": float(sum(each.turn_class == 90 for each in leg.beside)) if node else None,
        "turning_node": leg.start_node if leg.turn_class in (-1, 90) else None,
    }


def _clear(leg: LegRow) -> bool:
    """Whether no angle of its direction lies half way between two tenths, where a last digit decides."""
    east, north, up = (float(part) for part in leg.vector)
    angles = (math.degrees(math.atan2(east, north)), math.degrees(math.atan2(up, math.hypot(east, north))))
    return all(abs(angle * 10 % 1 - 0.5) > 1e-6 for angle in angles)


def _space_cells(leg: LegRow) -> dict[str, Value]:
    way, back = leg.way, leg.comes_in
    met = way is not None and back is not None
    rolls = leg.roll if leg.rolls else None
    turned = (
        None if rolls is None else math.floor(round(math.degrees(math.atan2(rolls[1], rolls[0])) + 360, 6) + 0.5) % 360
    )
    arc = None if turned is None or leg.od is None else math.pi * leg.od * turned / 360
    told = None
    if arc is not None and rolls is not None and leg.route.step is not None:
        told = f"{clock_text(hours_of(*rolls))}, {turned}°, arc {said(arc, leg.route.step, leg.route.edition)}"
    return {
        "length": leg.length,
        **({"direction": way_said(leg.vector, leg.length) if leg.length else None} if _clear(leg) else {}),
        **{f"{axis}_part": float(leg.vector[at]) for at, axis in enumerate(("east", "north", "up"))},
        "level": math.hypot(leg.vector[0], leg.vector[1]),
        **parts_of("u{}", way),
        **parts_of("in_{}", back),
        "along": float(way @ back) if way is not None and back is not None else None,
        **{
            f"across_{axis}": float(np.cross(back, way)[at]) if met else None  # type: ignore[arg-type]
            for at, axis in enumerate(("east", "north", "up"))
        },
        "turn_start": leg.turn_start,
        "turn_end": leg.turn_end,
        "cocked_tee": None if leg.cocked_tee is None else flag(leg.cocked_tee),
        "turn_class": None if leg.turn_class is None else float(leg.turn_class),
        "other_turn": leg.other_turn,
        "upright": None if way is None else flag(math.hypot(way[0], way[1]) < UPRIGHT),
        "roll_up": None if leg.roll is None else leg.roll[0],
        "roll_side": None if leg.roll is None else leg.roll[1],
        "roll_at_end": None if rolls is None else hours_of(*rolls),
        "roll_degrees": None if turned is None else float(turned),
        "roll_arc": arc,
        "roll_said": told,
        "back_up": None if leg.back is None else leg.back[0],
        "back_side": None if leg.back is None else leg.back[1],
        **({} if leg.start_pulled and leg.at_six else {"clock_turn": leg.clock_turn}),
        "flat": leg.flat or None,
        "od_before": leg.od_before,
        "flat_along": leg.flat_along,
        "shift": leg.shift,
        **parts_of("shift_{}", leg.shifted),
        **parts_of("{}_before", leg.before),
        **{f"{axis}_to": leg.to_point[at] for at, axis in enumerate(("east", "north", "up"))},
        "falls_to": flag(leg.falls_to),
        "level_run": leg.level_run,
        "adrift": flag(leg.adrift),
        **parts_of("{}_start", leg.start),
        **parts_of("{}_end", leg.finish),
        "close_said": leg.close_said or None,
        "close_row": None if leg.close_row is None else float(leg.close_row),
        **parts_of("close_{}", leg.closing_point),
        "misclosed": leg.misclosed,
    }


def _end_cells(leg: LegRow) -> dict[str, Value]:
    found: dict[str, Value] = {
        "start_kind": leg.start_kind or None,
        "node_enters": leg.enters or None if leg.known_start else None,
        "end_joint": leg.end_joint or None,
        "start_joint": leg.start_joint or None,
        "inside": None if leg.inside is None else flag(leg.inside),
        "pulled": flag(leg.pulled),
        "start_pulled": None if leg.start_pulled is None else flag(leg.start_pulled),
        "chain_first": float(leg.chain_first),
        "chain_closed": None if leg.pulled else float(leg.chain_first),
        "chain_last": float(leg.chain_last),
        "role_start": leg.role_start or None,
        "role_end": leg.role_end or None,
        "pipe_row": None if leg.pipe_row is None else float(leg.pipe_row),
        "od": leg.od,
        "wall": leg.wall,
        "flange_class": leg.flange_class or None,
        "start_class": leg.start_class or None if leg.spool_row else None,
        "facing_end": leg.facing_end or None,
        "facing_start": leg.facing_start or None,
        "facing_more_end": leg.facing_more_end,
        "gasket_end": leg.gasket_end,
        "gasket_start": leg.gasket_start,
        "threaded": flag(leg.threaded),
        "make_up_length": leg.make_up,
        "thread_depth": leg.thread_depth,
        "standard_wall": leg.standard_wall,
        "cap_take": leg.cap_take,
        "stock_said": leg.stock or None,
        "start_stock_said": leg.start_stock or None if leg.known_start else None,
        "end_fitting_class": leg.end_fitting_class or None,
        "start_fitting_class": leg.start_fitting_class or None,
        "bend_turn": leg.bend_turn,
        "tangent": leg.tangent,
        "one_size": _one_size(leg),
        "branch_wrong": None if leg.branch_wrong is None else float(leg.branch_wrong),
        "branch_wrong_end": float(leg.branch_wrong_end),
        "tee_wrong": float(leg.tee_wrong),
        "tee_wrong_start": None if leg.tee_wrong_start is None else float(leg.tee_wrong_start),
        "takeout_start_typed": leg.typed_start,
        "takeout_end_typed": leg.typed_end,
        "small_at_end": flag(leg.small_end),
        "small_at_start": None if leg.parent_row is None else flag(leg.small_at_start),
    }
    return {**found, **_where_it_means_something(leg)}


def _one_size(leg: LegRow) -> float | None:
    nominal = leg.route.nominal(leg.size)
    return nominal * (1.0 if leg.route.edition == "inch" else 25.0) or None


def _where_it_means_something(leg: LegRow) -> dict[str, Value]:
    """Cells that are filled in every row, and read only where such a thing stands."""
    found: dict[str, Value] = {}
    if leg.known_start and (leg.first or leg.facing_start == ""):
        found["facing_more_start"] = leg.facing_more_start
    if leg.end in (*FLANGES, *NOTHING, "cap"):
        found |= {"single_take_end": leg.single_end, "faced_take_end": leg.faced_end}
    if leg.first and leg.start_kind in (*FLANGES, *NOTHING, "cap"):
        found |= {"single_take_start": leg.single_start, "faced_take_start": leg.faced_start}
    if leg.end in CORNERS:
        fit = leg.fit_turn
        found |= {"fit_turn": fit, "most_turn": leg.most_turn, "elbow_take": leg.elbow_take}
        found["elbow_memory"] = flag(leg.elbow_memory)
        found["cant"] = None if fit is None or leg.bend_turn is None else abs(leg.bend_turn - fit)
        found |= {"bend_radius": leg.radius, "arc": leg.arc}
        if leg.end in ("elbow", "elbow_3d") and fit == HALF and leg.end_joint not in SMALL:
            found["half_turn_take"] = leg.half_turn_take
    if leg.end in RETURNS:
        found |= {"return_centres": leg.return_centres, "return_take": leg.return_take}
    found |= {"return_memory": flag(leg.return_memory)}
    stubs = leg.route.facts.row("stub_end", size=leg.size)
    found |= {f"stub_{long}": leg.route.facts.value(stubs, f"{long}_length") for long in ("long", "short")}
    caps = leg.route.facts.row("cap", size=leg.size)
    found["cap_memory"] = flag(any(leg.route.facts.doubtful(caps, mark) for mark in ("status", "limiting_wall_status")))
    if leg.known_start and leg.first and leg.start_kind in CORNERS:
        found["quarter_take_start"] = leg.quarter_start
    if leg.end in TEES:
        found |= {"tee_end": leg.tee_end, "run_at_end": leg.run_at_end or None}
    if leg.start_kind in TEES:
        found |= {"tee_start": leg.tee_start, "run_at_start": leg.run_at_start or None}
    if leg.end in COUPLINGS:
        found["coupling_end"] = leg.coupling_end
    if leg.start_kind in COUPLINGS:
        found["coupling_start"] = leg.coupling_start
    if leg.end in FOLLOWERS:
        found["end_fitting_key"] = leg.end_fitting_key
    if leg.known_start and leg.start_kind in FOLLOWERS:
        found["start_fitting_key"] = leg.start_fitting_key
    if leg.end in REDUCERS:
        found["reducer_take"] = leg._reducer_take(leg.reducer_end)
    if leg.first and leg.start_kind in REDUCERS:
        found["start_reducer_take"] = leg._reducer_take(leg.reducer_start)
    return found


def _table_rows(leg: LegRow) -> dict[str, Value]:
    """Where each table has what the leg asks for."""
    own = {
        "elbow": "elbow",
        "tee": "tee",
        "cap": "cap",
        "stub": "stub_end",
        "elbow_3d": "elbow_3d",
        "old": "elbow_old_stock",
    }
    asked: dict[str, tuple[str, str]] = {f"{name}_row": (f"{table}.size", leg.size) for name, table in own.items()}
    asked |= {"kind_row": ("kinds.kind", leg.end), "thread_row": ("pipe_thread.size", leg.size)}
    for name, flange_class in (("flange", leg.flange_class), ("start_flange", leg.start_class)):
        known = flange_class and (name == "flange" or leg.spool_row)
        key = f"{flange_class}|{leg.size}" if known else ""
        asked[f"{name}_row"] = ("flange.key", key)
        asked["ring_end" if name == "flange" else "ring_start"] = ("ring_joint.key", key)
        if leg.route.edition == "mm":
            asked["en_row" if name == "flange" else "start_en_row"] = ("flange_en.job_key", key)
    if leg.known_start:
        asked["start_kind_row"] = ("kinds.kind", leg.start_kind)
    if leg.end in FOLLOWERS:
        asked["end_socket_row"] = ("socket_weld_fitting.key", leg.end_fitting_key)
        asked["end_threaded_row"] = ("threaded_fitting.key", leg.end_fitting_key)
    if leg.known_start and leg.start_kind in FOLLOWERS:
        asked["start_socket_row"] = ("socket_weld_fitting.key", leg.start_fitting_key)
        asked["start_threaded_row"] = ("threaded_fitting.key", leg.start_fitting_key)
    if leg.end in TEES:
        asked["reduced_end"] = ("reducing_tee.key", f"{leg.run_at_end}x{leg.size}")
    if leg.start_kind in TEES:
        asked["reduced_start"] = ("reducing_tee.key", f"{leg.run_at_start}x{leg.size}")
    if leg.end in REDUCERS:
        asked["reducer_row"] = ("reducer.key", leg.reducer_end.get("key", ""))
    if leg.first and leg.start_kind in REDUCERS:
        asked["start_reducer_row"] = ("reducer.key", leg.reducer_start.get("key", ""))
    rows = {name: leg.route.place(*each) for name, each in asked.items()}
    if leg.end == "reducing_elbow":
        rows["largest_elbow_row"] = leg.route.place("elbow.size", leg.largest.size)
    return {name: None if row is None else float(row) for name, row in rows.items()}


def _along_cells(leg: LegRow) -> dict[str, Value]:
    welded = leg.joint_at_start
    from_field = (leg.first and leg.start_kind == "bevel") + (leg.end == "bevel")
    saddle = number(leg.of_outlet("saddle")) if leg.outlet_row else 0.0
    return {
        "takeout_start": leg.takeout_start,
        "takeout_end": leg.takeout_end,
        "memory_start": leg.memory_start,
        "memory_end": leg.memory_end,
        "share_start": leg.share_start,
        "share_end": leg.share_end,
        "made_up": flag(leg.made_up),
        "gaps": leg.gaps,
        "make_up_difference": leg.make_up_difference,
        "item_count": float(len(leg.item_rows)),
        "items_at_start": leg.of_items("at_start"),
        "items_at_end": leg.of_items("at_end"),
        "item_welds": leg.of_items("welds"),
        "piece_count": float(leg.pieces),
        "straight": leg.straight,
        "carried": leg.carried,
        "carried_known": None if leg.carried is None else 1.0,
        "shop_welds": leg.shop_welds,
        "field_welds": None if leg.parent_row is None else float(from_field),
        "joint_at_start": None if welded is None else flag(welded),
        "joint_at_end": flag(leg.joint_at_end),
        "joints_at_items": leg.of_items("joints"),
        "saddle_start": saddle,
        "joint_count": leg.joints,
        "reach_count": 1.0 + len(leg.item_rows) + len(leg.outlet_rows),
    }


def _typed_by_formula(route: Route) -> Iterator[tuple[Place, Value]]:
    """Components that the job gives by way of something else."""
    fields = route.book.book.fields
    for at, axis in enumerate(("east", "north", "up")):
        for row, formula in fields[f"legs.{axis}"].instead.items():
            leg = route.by_number[row + 1]
            yield (f"legs.{axis}", row), _component(leg, at, formula)


def _component(leg: LegRow, at: int, formula: str) -> float | None:
    others = [float(part) for each, part in enumerate(leg.vector) if each != at]
    bearing = leg.more_number("bearing")
    if "by_run" in formula:
        angle = leg.detail_number("by_angle")
        assert angle is not None
        return math.copysign(math.hypot(*others) / math.tan(math.radians(abs(angle))), angle)
    if "close_" in formula:
        if leg.closing_point is None or leg.before is None:
            return None
        return float(leg.closing_point[at] - leg.before[at])
    if f"{('east', 'north', 'up')[at]}_to" in formula:
        upright = at == 2 and bearing is not None and not math.hypot(*others)
        return None if upright else leg.to_point[at]
    if "by_bearing" in formula:
        assert bearing is not None
        return None if leg.level_run is None else leg.level_run * (math.sin, math.cos)[at](math.radians(bearing))
    return None if leg.fall is None else -leg.fall * math.hypot(*others)


def expected_legs(book: Live) -> dict[Place, Value]:
    """What every row of the Route holds but for what it says, by name and row.

    Args:
        book: an open workbook as it stands, nothing of the Route changed.
    """
    return cells_of(Route(book))


def cells_of(route: Route) -> dict[Place, Value]:
    """What every row of the Route holds, but for what it says."""
    found: dict[Place, Value] = dict(_typed_by_formula(route))
    pieces, joints, reached = 0.0, 0.0, 0.0
    kinds: list[int] = []
    for leg in route.legs:
        cells = {**_node_cells(leg), **_space_cells(leg), **_end_cells(leg), **_table_rows(leg), **_along_cells(leg)}
        cells |= {"pieces_before": pieces, "joints_before": joints, "reach_before": reached}
        if leg.pipe_row is not None:
            cells["pipe_rank"] = None if leg.pipe_row in kinds else float(len(set(kinds)) + 1)
            kinds.append(leg.pipe_row)
        found |= {(f"legs.{name}", leg.at): value for name, value in cells.items()}
        pieces, joints = pieces + leg.pieces, joints + (leg.joints or 0.0)
        reached += 1 + len(leg.item_rows) + len(leg.outlet_rows)
    found["route.pieces_total", 0] = pieces
    return found
