"""Bores and Bore sizes: a second opinion on every cell, and scenes for `mutants.py`.

Both parts of a joint are two rings read with calipers and a wall gauge. An oval bore is a mean diameter and an arrow
that goes twice round while the pipe goes once; what two bores leave when they are lined up, turned or trimmed follows
from the means and these arrows. Where nobody measured, the limits of the reference tables say how far a bore may be
off. What a joint is called and what its leg is made of is read from the other sheets, which have oracles of their own.

All lengths are in the edition's unit, angles in degrees.
"""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import joinery
import numpy as np
from gauges import DIAMETERS, HAIR, LIMITS, bounded, counts_told, fine, hours_of, number, short, steps
from joinery import NO_RULE, OPEN, OUTSIDE, WITHIN
from live import Live, Place, Value, one_inch
from numpy.typing import NDArray
from routes import job_text
from staging import Case, Scene
from walk import Facts, _rows

Array = NDArray[np.float64]
Readings = Mapping[str, Value]
"""What was read of one part, by column."""
Pair = tuple[Readings, Readings]
Line = dict[str, Value]

BUILT = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "ends", "fitup",
    "bores", "bore_sizes", "key", "tables_used",
)  # fmt: skip
PLACES = {"12": 0, "3": 90, "6": 180, "9": 270}
"""Where a wall is read, in degrees clockwise from 12."""
ROWS = 20
OPPOSITE = {"12_6": ("12", "6"), "3_9": ("3", "9")}
"""Diameters along which two walls are read."""
READ = (
    *(f"od_{name}" for name in DIAMETERS), *(f"wall_{name}" for name in PLACES),
    *(f"bore_{name}" for name in DIAMETERS), "design_minimum",
)  # fmt: skip
SPOKEN = {"12_6": "12 – 6", "1_7": "1:30 – 7:30", "3_9": "3 – 9", "4_10": "4:30 – 10:30"}
POINTING = {"inch": 0.005, "mm": 0.1}
"""An oval under this points nowhere."""
RUNS = {"1 in 3": 3.0, "1 in 4": 4.0, "30 deg": 1 / math.tan(math.radians(30))}
"""Length of a taper for one of depth."""


# -- parts in the hand -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Tube:
    """The end of a part.

    Attributes:
        bore: mean bore.
        oval: longest less shortest diameter.
        long_at: where the long diameter lies, degrees clockwise from 12.
        outside: outside diameter, round.
        off: how far the outside stands off the middle of the bore, towards 12 and towards 3.
    """

    bore: float
    oval: float
    long_at: float
    outside: float
    off: tuple[float, float] = (0.0, 0.0)

    def inside(self, turn: Any) -> Any:
        """Radius of the bore at a turn from 12, in radians."""
        return self.bore / 2 + self.oval / 4 * np.cos(2 * (turn - math.radians(self.long_at)))

    def out(self, turn: Any) -> Any:
        """From the middle of the bore to the outside."""
        along = self.off[0] * np.cos(turn) + self.off[1] * np.sin(turn)
        across = self.off[0] * np.sin(turn) - self.off[1] * np.cos(turn)
        return along + np.sqrt((self.outside / 2) ** 2 - across**2)

    def read(self, chance: random.Random) -> dict[str, float]:
        """What calipers and a wall gauge show, the tube lying anywhere in space."""
        axes, _ = np.linalg.qr(np.array([[chance.gauss(0, 1) for _ in range(3)] for _ in range(3)]))
        place = np.array([chance.uniform(-50, 50) for _ in range(3)])

        def point(radius: float, degrees: float, middle: tuple[float, float] = (0.0, 0.0)) -> Array:
            turn = math.radians(degrees)
            up, side = middle[0] + radius * math.cos(turn), middle[1] + radius * math.sin(turn)
            found: Array = place + up * axes[:, 0] + side * axes[:, 1]
            return found

        found: dict[str, float] = {}
        for name, at in DIAMETERS.items():
            ends = [point(float(self.inside(math.radians(each))), each) for each in (at, at + 180)]
            found[f"bore_{name}"] = float(np.linalg.norm(ends[0] - ends[1]))
            # the calipers find the largest distance: through the middle of the outside
            ends = [point(self.outside / 2, each, self.off) for each in (at, at + 180)]
            found[f"od_{name}"] = float(np.linalg.norm(ends[0] - ends[1]))
        for name, at in PLACES.items():
            turn = math.radians(at)
            walls = point(float(self.out(turn)), at) - point(float(self.inside(turn)), at)
            found[f"wall_{name}"] = float(np.linalg.norm(walls))
        return found


def diameters(*bores: float) -> dict[str, float]:
    """Bores read across 12–6, 1:30–7:30, 3–9 and 4:30–10:30."""
    return dict(zip((f"bore_{name}" for name in DIAMETERS), bores, strict=True))


def said(value: float, edition: str) -> str:
    """A measured size: thousandths of an inch, hundredths of a mm."""
    step, digits, sign = (0.001, 3, '"') if edition == "inch" else (0.01, 2, " mm")
    return f"{round(steps(bounded(value), step) * step, digits):.15g}{sign}"


# -- what stands on the other sheets -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Joints:
    """Joints and legs as the other sheets have them.

    Attributes:
        labels, firsts, seconds: each joint's name and its two parts.
        leg_rows: the row of each joint's leg, from 1.
        pipes: marks of all pipes.
        sizes, ods, walls: of each leg.
    """

    labels: Sequence[Any]
    firsts: Sequence[Any]
    seconds: Sequence[Any]
    leg_rows: Sequence[Any]
    pipes: frozenset[Any]
    sizes: Sequence[Any]
    ods: Sequence[Any]
    walls: Sequence[Any]

    @classmethod
    def of(cls, book: Live) -> Joints:
        """Those of an open workbook."""
        labels, firsts, seconds, rows = (
            book.column(f"joints.{name}") for name in ("label", "first_part", "second_part", "leg_row")
        )
        sizes, ods, walls = (book.column(f"legs.{name}") for name in ("size", "od", "wall"))
        pipes = frozenset(book.column("pieces.mark")) - {None}
        return cls(labels, firsts, seconds, rows, pipes, sizes, ods, walls)

    @property
    def known(self) -> list[str]:
        """The names of the joints that there are."""
        return [label for label in self.labels if label]

    @property
    def pairs(self) -> list[tuple[Any, Any]]:
        """The two parts of each joint."""
        return list(zip(self.firsts, self.seconds, strict=True))

    def row(self, label: Value) -> int | None:
        """Row of a joint by its name, from 0; capitals do not matter."""
        names = [str(each or "").casefold() for each in self.labels]
        wanted = str(label or "").casefold()
        return names.index(wanted) if wanted and wanted in names else None


# -- one part ----------------------------------------------------------------------------------------------------------


def place_in(table: str, size: str | None) -> int | None:
    """Row of a size in a reference table, from 1."""
    return next((at for at, row in enumerate(_rows(table), start=1) if row["size"] == size), None)


def wall_limit(key: str, column: str) -> float:
    """A wall limit of pipe, per cent, by the row of the table."""
    return float(next(row for row in _rows("pipe_tolerance") if row["key"] == key)[column])


@dataclass(frozen=True)
class Part:
    """One part of a joint: what it is, and what was read of it.

    Attributes:
        joints: what the other sheets hold.
        edition: "inch" or "mm".
        joint: row of its joint from 0, None where none is chosen.
        second: whether it is the second part of the joint.
        typed: what stands in its cells, by column.
    """

    joints: Joints
    edition: str
    joint: int | None
    second: bool
    typed: Readings

    def numbers(self, kind: str, names: Mapping[str, Any]) -> list[float] | None:
        """All readings of a kind, None where one is missing."""
        values = [number(self.typed.get(f"{kind}_{name}")) for name in names]
        return None if None in values else [value for value in values if value is not None]

    @cached_property
    def bores(self) -> list[float] | None:
        """Four bores, where all are read."""
        return self.numbers("bore", DIAMETERS)

    @cached_property
    def walls(self) -> list[float] | None:
        """Four walls, where all are read."""
        return self.numbers("wall", PLACES)

    @cached_property
    def outsides(self) -> list[float] | None:
        """Four outside diameters, where all are read."""
        return self.numbers("od", DIAMETERS)

    @cached_property
    def words(self) -> str | None:
        """What the part is called on Fit-up."""
        if self.joint is None:
            return None
        return str((self.joints.seconds if self.second else self.joints.firsts)[self.joint])

    @property
    def is_pipe(self) -> bool:
        """Whether it is a pipe of the job."""
        return self.words in self.joints.pipes

    @property
    def name(self) -> str:
        """What a sentence calls it."""
        words = str(self.words)
        return f"pipe {words}" if self.is_pipe else short(words)

    @cached_property
    def leg(self) -> int | None:
        """Row of its leg, from 0."""
        return None if self.joint is None else int(self.joints.leg_rows[self.joint]) - 1

    def of_leg(self, column: Sequence[Any]) -> Any:
        """What its leg has in a column."""
        return None if self.leg is None else column[self.leg]

    @property
    def size(self) -> str | None:
        """Nominal size."""
        found = self.of_leg(self.joints.sizes)
        return None if found is None else str(found)

    @property
    def od(self) -> float | None:
        """Nominal outside diameter."""
        return number(self.of_leg(self.joints.ods))

    @property
    def wall(self) -> float | None:
        """Nominal wall."""
        return number(self.of_leg(self.joints.walls))

    @cached_property
    def mean(self) -> float | None:
        """Mean bore."""
        return None if self.joint is None or self.bores is None else math.fsum(self.bores) / 4

    @cached_property
    def arrow(self) -> complex | None:
        """Its oval: half of how far it is long, at twice the clock's angle of the long diameter."""
        if self.joint is None or self.bores is None:
            return None
        upright, slanting, level, leaning = self.bores
        return complex(upright - level, slanting - leaning) / 2

    @property
    def oval(self) -> float | None:
        """Longest less shortest diameter."""
        return None if self.arrow is None else 2 * length_of(self.arrow)

    @property
    def points(self) -> bool:
        """Whether it is oval enough to have a long diameter."""
        return self.oval is not None and self.oval >= POINTING[self.edition] - HAIR

    @cached_property
    def long_angle(self) -> float | None:
        """Where the long diameter lies, from 12."""
        if self.arrow is None:
            return None
        return math.degrees(cmath.phase(self.arrow)) / 2 if self.points else 0.0

    @property
    def thinnest(self) -> float | None:
        """Thinnest wall read."""
        read = [value for name in PLACES if (value := number(self.typed.get(f"wall_{name}"))) is not None]
        return min(read) if read and self.joint is not None else None

    @property
    def minimum(self) -> float | None:
        """Design minimum wall."""
        return number(self.typed.get("design_minimum"))

    @property
    def too_thin(self) -> bool:
        """Whether its wall is under its design minimum."""
        return self.thinnest is not None and self.minimum is not None and self.thinnest < self.minimum - HAIR

    @property
    def mean_wall(self) -> float | None:
        """Mean of four walls."""
        return None if self.joint is None or self.walls is None else math.fsum(self.walls) / 4

    @property
    def through(self) -> list[float] | None:
        """Bores across 12–6 and 3–9, from outside and walls."""
        if self.joint is None or self.walls is None or self.outsides is None:
            return None
        top, right, bottom, left = self.walls
        return [self.outsides[0] - top - bottom, self.outsides[2] - right - left]

    @property
    def nominal(self) -> float | None:
        """Its size as a number."""
        row = Facts(self.edition).row("nominal_size", size=str(self.size))
        return float(row["nominal"]) if row else None

    @property
    def wall_over(self) -> float | None:
        """How far its wall may be over nominal, per cent; by size and by how thin it is for its diameter."""
        if self.nominal is None or self.od is None or self.wall is None:
            return None
        thin = self.wall / self.od <= 0.05
        if self.nominal <= 2.5:
            key = "10"
        elif self.nominal <= 18:
            key = "11" if thin else "12"
        else:
            key = "14" if thin else "15"
        return wall_limit(key, "over_percent")

    def allowed(self, column: str) -> float | None:
        """A length that the table of pipe or that of fittings allows for its size."""
        table = "pipe_od_tolerance" if self.is_pipe else "fitting_tolerance"
        facts = Facts(self.edition)
        return facts.value(facts.row(table, size=str(self.size)), column)

    @cached_property
    def bought(self) -> tuple[float | None, float | None]:
        """The smallest and the largest bore that its standard allows."""
        if self.od is None or self.wall is None:
            return None, None
        if not self.is_pipe:
            within = self.allowed("bore")
            bore = self.od - 2 * self.wall
            return (None, None) if within is None else (bore - within, bore + within)
        under, over, more = self.allowed("under"), self.allowed("over"), self.wall_over
        assert under is not None and over is not None and more is not None
        thick = self.wall * (1 + more / 100)
        thin = self.wall * (1 - wall_limit("9", "under_percent") / 100)
        return self.od - under - 2 * thick, self.od + over - 2 * thin

    @cached_property
    def span(self) -> tuple[float | None, float | None]:
        """The smallest and the largest bore: of the best oval and the readings, else as near as anything tells."""
        if self.joint is None:
            return None, None
        if self.bores is not None and self.mean is not None and self.oval is not None:
            half = self.oval / 2
            return min(self.mean - half, *self.bores), max(self.mean + half, *self.bores)
        if self.through is not None:
            return min(self.through), max(self.through)
        return self.bought

    @cached_property
    def out_span(self) -> tuple[float | None, float | None]:
        """The smallest and the largest outside diameter, read or allowed."""
        if self.joint is None:
            return None, None
        if self.outsides is not None:
            return min(self.outsides), max(self.outsides)
        names = ("under", "over") if self.is_pipe else ("od_minus", "od_plus")
        under, over = (self.allowed(name) for name in names)
        if self.od is None or under is None or over is None:
            return None, None
        return self.od - under, self.od + over

    @property
    def disagreement(self) -> float | None:
        """How far outside, walls and bore do not agree, the larger of two diameters."""
        if self.joint is None:
            return None
        found = [0.0]
        for name, sides in OPPOSITE.items():
            read = [number(self.typed.get(f"{kind}_{name}")) for kind in ("od", "bore")]
            walls = [number(self.typed.get(f"wall_{side}")) for side in sides]
            if None not in (*read, *walls):
                outside, bore = (value for value in read if value is not None)
                found.append(abs(outside - math.fsum(value for value in walls if value is not None) - bore))
        return max(found)

    @property
    def stops(self) -> str:
        """What is wrong in its cells."""
        words = {f"{kind}_{name}": SPOKEN[name] for kind in ("od", "bore") for name in DIAMETERS}
        words |= {f"wall_{name}": name for name in PLACES} | {"design_minimum": "Design min. wall"}
        unit, wide, thick = ("in", 100, 6) if self.edition == "inch" else ("mm", 2500, 150)
        told = ""
        for column in READ:
            value, most = self.typed.get(column), wide if column.startswith(("od", "bore")) else thick
            read = number(value)
            if isinstance(value, str) and value:
                told += f"{words[column]}: not a number. "
            if read is not None and read < 0:
                told += f"{words[column]}: under 0 {unit}. "
            if read is not None and read > most:
                told += f"{words[column]}: over {most} {unit}. "
        return told + ("Wall under the design minimum. " if self.too_thin else "")

    @property
    def cautions(self) -> str:
        """What is doubtful in its cells."""
        told = ""
        least = None if self.wall is None else self.wall * (1 - wall_limit("9", "under_percent") / 100)
        if self.thinnest is not None and least is not None and self.thinnest < least - HAIR:
            told += "Wall under the purchase minimum, 0.875 t. "
        within = 1 / 32 if self.edition == "inch" else 0.8
        if self.disagreement is not None and self.disagreement > within + HAIR:
            told += "Outside, walls and bore do not agree: measure again. "
        return told

    def line(self, row: int) -> Line:
        """What Bore sizes shows of it; `row` from 0."""
        chosen = self.joint is not None
        found: Line = {
            "which": "second" if row % 2 else "first",
            "pair": float(row // 2 + 1),
            "second": float(row % 2),
            "bored": float(self.bores is not None),
            "walled": float(self.walls is not None),
            "outed": float(self.outsides is not None),
            "joint": str(self.joints.labels[self.joint]) if self.joint is not None else None,
            "part": f"{2 if self.second else 1}: {self.words}" if chosen else None,
            "joint_row": float(self.joint + 1) if self.joint is not None else None,
            "leg_row": float(self.leg + 1) if self.leg is not None else None,
            "is_pipe": float(self.is_pipe) if chosen else None,
            "short": self.name if chosen else None,
            "size": self.size,
            "od": self.od,
            "wall": self.wall,
            "nominal": self.nominal,
            "bore_mean": self.mean,
            "oval": self.oval,
            "oval_up": None if self.arrow is None else self.arrow.real,
            "oval_side": None if self.arrow is None else self.arrow.imag,
            "long_angle": self.long_angle,
            "thinnest": self.thinnest,
            "wall_mean": self.mean_wall,
            "wall_most": self.wall_over,
            "across_12": None if self.through is None else self.through[0],
            "across_3": None if self.through is None else self.through[1],
            "too_thin": float(self.too_thin) if chosen else None,
            "disagrees": self.disagreement,
            "stops": (self.stops or None) if chosen else None,
            "cautions": (self.cautions or None) if chosen else None,
            "message": (self.stops + self.cautions or None) if chosen else None,
        }
        for name, table in (("pipe_limit_row", "pipe_od_tolerance"), ("fitting_limit_row", "fitting_tolerance")):
            at = place_in(table, self.size)
            found[name] = None if at is None else float(at)
        for name, pair in (("nominal", self.bought), ("bore", self.span), ("od", self.out_span)):
            found[f"{name}_low"], found[f"{name}_high"] = pair
        found |= self._clock()
        return found

    def _clock(self) -> Line:
        """Where the long diameter lies on the clock."""
        if self.long_angle is None:
            return {"long_hours": None, "long_at": None}
        turn = math.radians(self.long_angle)
        hours = hours_of(math.cos(turn), math.sin(turn))
        hours -= 6 if 6.25 < hours < 12.25 else 0  # a diameter has two ends: the one from 12 to 5:30
        hours = 12.0 if hours == 6 else hours
        return {"long_hours": (hours - 12 if hours >= 12 else hours) * 2, "long_at": hours if self.points else None}


def length_of(arrow: complex) -> float:
    """Length of an arrow, its parts bounded so that a slip of the keys does not overflow."""
    return math.hypot(bounded(arrow.real), bounded(arrow.imag))


# -- two parts of a joint ----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Meeting:
    """Both parts of a joint.

    Attributes:
        one, two: its parts.
        limit: hi-lo limit in force, None where it is blank.
        slope: what is chosen as taper of a trimmed bore.
    """

    one: Part
    two: Part
    limit: float | None
    slope: Value

    @property
    def parts(self) -> tuple[Part, Part]:
        """Both."""
        return self.one, self.two

    @property
    def edition(self) -> str:
        """Inch or mm."""
        return self.one.edition

    @property
    def measured(self) -> int:
        """Parts with four bores."""
        return sum(part.bores is not None for part in self.parts)

    @property
    def walled(self) -> int:
        """Parts with four walls."""
        return sum(part.walls is not None for part in self.parts)

    def within(self, size: float | None) -> bool:
        """Whether a hi-lo is known and within the limit."""
        return size is not None and self.limit is not None and size <= self.limit + HAIR

    @cached_property
    def now(self) -> float | None:
        """Largest step all round as the parts stand: of the ovals, and at the readings."""
        if not self.one.bores or not self.two.bores:
            return None
        mean, arrow = self._between
        at_readings = [abs(a - b) for a, b in zip(self.one.bores, self.two.bores, strict=True)]
        return max(abs(mean) + length_of(arrow), *at_readings) / 2

    @property
    def _between(self) -> tuple[float, complex]:
        """How far the first part's mean bore and its oval are from the second's."""
        assert self.one.mean is not None and self.two.mean is not None
        assert self.one.arrow is not None and self.two.arrow is not None
        return self.one.mean - self.two.mean, self.one.arrow - self.two.arrow

    @property
    def _lengths(self) -> tuple[float, float]:
        assert self.one.arrow is not None and self.two.arrow is not None
        return length_of(self.one.arrow), length_of(self.two.arrow)

    @cached_property
    def best(self) -> float | None:
        """Smallest step: the arrows laid over one another; from tolerances, the nearest that two bores can be."""
        spans = self._spans("span")
        if spans is None:
            return None
        if self.measured == 2:
            first, second = self._lengths
            return (abs(self._between[0]) + abs(first - second)) / 2
        (low, high), (other_low, other_high) = spans
        return max(0.0, low - other_high, other_low - high) / 2

    @property
    def worst(self) -> float | None:
        """Largest step that two such bores can have."""
        return self._apart("span")

    def _spans(self, name: str) -> tuple[tuple[float, float], tuple[float, float]] | None:
        low, high, other_low, other_high = (each for part in self.parts for each in getattr(part, name))
        if low is None or high is None or other_low is None or other_high is None:
            return None
        return (low, high), (other_low, other_high)

    def _apart(self, name: str) -> float | None:
        spans = self._spans(name)
        return None if spans is None else max(spans[0][1] - spans[1][0], spans[1][1] - spans[0][0]) / 2

    @property
    def turn_raw(self) -> float:
        """Long diameter of the first part less that of the second."""
        if self.one.long_angle is None or self.two.long_angle is None:
            return 0.0
        return self.one.long_angle - self.two.long_angle

    @cached_property
    def turn(self) -> float | None:
        """How far the second part is turned, clockwise +, for its long diameter to lie over the first's."""
        if not (self.one.points and self.two.points):
            return None
        turn = self.turn_raw
        if turn > 90 + HAIR:
            turn -= 180
        elif turn <= -90 + HAIR:
            turn += 180
        return turn

    def _steps(self, kind: str, diameter_sign: float, wall_sign: float) -> float | None:
        """Largest difference of half a diameter and a wall, at 12, 3, 6 and 9."""
        found = []
        for part in self.parts:
            read = part.numbers(kind, DIAMETERS)
            if read is None or part.walls is None:
                return None
            halves = np.array([read[0], read[2], read[0], read[2]]) / 2
            found.append(diameter_sign * halves + wall_sign * np.array(part.walls))
        return float(np.abs(found[0] - found[1]).max())

    @cached_property
    def outside_step(self) -> float | None:
        """Step on the outside with the bores lined up: half bore and wall; else by the outside diameters."""
        found = self._steps("bore", 1, 1)
        return self._apart("out_span") if found is None else found

    @cached_property
    def clamped(self) -> float | None:
        """Step inside with the outsides lined up: half outside diameter less wall."""
        return self._steps("od", 1, -1)

    @property
    def clamped_out(self) -> bool:
        """Whether that is over the limit."""
        return self.clamped is not None and self.limit is not None and not self.within(self.clamped)

    @property
    def counterbore(self) -> float | None:
        """C = OD − 0.031 − 1.75 t − 0.010 in (0.79 and 0.25 mm): PFI ES-21-1992 3.3.3."""
        if self.one.od is None or self.one.wall is None:
            return None
        less = 0.031 + 0.010 if self.edition == "inch" else 0.79 + 0.25
        return self.one.od - less - 1.75 * self.one.wall

    @property
    def left_at_c(self) -> float | None:
        """Wall that boring both to C leaves, as if the deepest cut met the thinnest wall."""
        left = []
        for part in self.parts:
            low = part.span[0]
            if self.counterbore is None or low is None or part.walls is None or part.thinnest is None:
                return None
            left.append(part.thinnest - max(0.0, self.counterbore - low) / 2)
        return min(left)

    @cached_property
    def narrow(self) -> int | None:
        """The narrower part, 1 or 2; of two alike the first."""
        if self.one.mean is None or self.two.mean is None:
            return None
        return 2 if self.two.mean < self.one.mean else 1

    @property
    def narrow_part(self) -> Part:
        """That part."""
        return self.parts[(self.narrow or 1) - 1]

    @property
    def wide_part(self) -> Part:
        """The other part."""
        return self.parts[2 - (self.narrow or 1)]

    @property
    def trim_to(self) -> float | None:
        """Mean bore of the wider part, where the hi-lo does not come in."""
        out = self.now is not None and self.limit is not None and not self.within(self.now)
        return self.wide_part.mean if out else None

    @property
    def cut_deep(self) -> float | None:
        """Deepest cut when the narrow part is bored to that."""
        low = self.narrow_part.span[0]
        return None if self.trim_to is None or low is None else max(0.0, self.trim_to - low) / 2

    @property
    def run(self) -> float | None:
        """Length of the taper for one of depth."""
        return RUNS.get(str(self.slope))

    @property
    def taper(self) -> float | None:
        """Length of the taper."""
        return None if self.cut_deep is None or self.run is None else self.cut_deep * self.run

    @property
    def wall_left(self) -> float | None:
        """Thinnest wall of the narrow part less the deepest cut."""
        part = self.narrow_part
        if self.cut_deep is None or part.walls is None or part.thinnest is None:
            return None
        return part.thinnest - self.cut_deep

    @property
    def wide_oval(self) -> float | None:
        """Hi-lo that trimming leaves: the wider part's oval."""
        return None if self.narrow is None or self.wide_part.arrow is None else length_of(self.wide_part.arrow) / 2

    @property
    def ratio(self) -> float | None:
        """Mean wall of the thicker part to the thinner's."""
        one, two = self.one.mean_wall, self.two.mean_wall
        if one is None or two is None or min(one, two) <= HAIR:
            return None
        return max(one, two) / min(one, two)

    @property
    def unequal(self) -> bool:
        """Whether the walls differ more than 1.5 to 1: B31.3-2004 328.4.2(a)(5)."""
        return self.ratio is not None and self.ratio > 1.5 + 1e-6

    @property
    def thin(self) -> int:
        """The part under its design minimum, 0 for none; of both the first."""
        return 1 if self.one.too_thin else 2 if self.two.too_thin else 0

    @property
    def turner(self) -> int:
        """The pipe that may be turned: the second part where both are, 0 where neither is."""
        return 2 if self.two.is_pipe else 1 if self.one.is_pipe else 0

    @property
    def verdict(self) -> str:
        """In, out or open."""
        if self.thin:
            return OUTSIDE
        if self.limit is None:
            return NO_RULE if self.measured == 2 else OPEN
        if self.measured == 2:
            return WITHIN if self.within(self.now) else OUTSIDE
        return OUTSIDE if self.best is not None and not self.within(self.best) else OPEN

    # -- sentences

    def size(self, value: float | None) -> str:
        """A measured size in words."""
        assert value is not None
        return said(value, self.edition)

    def gauge(self, value: float | None) -> str:
        """A fit-up amount in words."""
        assert value is not None
        return fine(value, self.edition)

    @property
    def action(self) -> str:
        """What to do."""
        if self.thin:
            part = self.parts[self.thin - 1]
            rest = "under its design minimum: do not weld it in, ask the engineer."
            return f"Stop: the wall of the {part.name} is {self.size(part.thinnest)}, {rest}"
        told = ""
        if self.unequal and self.ratio is not None:
            tenths = math.floor(round(min(self.ratio, 1000) * 10, 6) + 0.5)
            told = (
                f"Walls differ {tenths / 10:g} to 1, over 1.5 to 1: unequal-wall ends of B16.25 as the code and the "
                "design say (B31.3-2004 328.4.2(a)(5)), no plain trim. "
            )
        if self.limit is None:
            return told + "Rules first: the hi-lo limit is blank."
        if self.measured < 2:
            return told + self.open_action
        if self.within(self.now):
            by = ""
            if self.clamped_out:
                by = f" when lined up by the bores: clamped on the outside it would be {self.gauge(self.clamped)}"
            return f"{told}Within {self.gauge(self.limit)}{by}. {self.step_action}"
        return told + str(self.turn_action if self.within(self.best) else self.trim_action)

    @property
    def open_action(self) -> str:
        """What to do before both parts are measured."""
        if self.best is None or self.worst is None:
            return "Measure four bores and four walls of both parts (Bore sizes)."
        by = "what is measured and the tolerances" if self.measured == 1 else "the tolerances"
        lacking = "both parts"
        if self.measured == 1:
            lacking = "the " + (self.one if self.one.bores is None else self.two).name
        return (
            f"By {by} hi-lo comes to {self.gauge(self.best)} at best, {self.gauge(self.worst)} at worst: "
            f"measure four bores and walls of {lacking} (Bore sizes)."
        )

    @property
    def step_action(self) -> str:
        """What to do about the outside."""
        if self.outside_step is None or self.walled < 2:
            return ""
        step = 1 / 64 if self.edition == "inch" else 0.1
        if math.floor(round(self.outside_step / step, 6) + 0.5) == 0:
            return ""
        return f"Outside steps by up to {self.gauge(self.outside_step)}: taper the weld across it."

    @property
    def turn_action(self) -> str | None:
        """What to do where a turn brings the hi-lo in."""
        if self.now is None or self.best is None or self.limit is None:
            return None
        if self.turn is None or self.one.od is None:
            return f"Hi-lo {self.gauge(self.now)} over {self.gauge(self.limit)} at one place: round it out there."
        degrees = math.floor(round(abs(self.turn), 6) + 0.5)
        if not self.turner:
            reason = "neither part can be turned (an elbow not at all, a flange by whole holes)"
            return f"Ovals {degrees}° apart, and {reason}: round the bores out."
        if not degrees:
            return "The ovals lie over one another already: round the bores out."
        part = self.parts[self.turner - 1]
        way = self.turn if self.turner == 2 else -self.turn
        words = "counter-clockwise" if way < -HAIR else "clockwise"
        along = self.gauge(self.one.od / 2 * math.radians(self.turn))
        return (
            f"Turn the {part.name} {degrees}° {words} ({along} along the rim): the ovals then match, "
            f"hi-lo {self.gauge(self.best)}. If it may not turn, round it out."
        )

    @property
    def left_said(self) -> str | None:
        """Wall left in words."""
        if self.wall_left is None:
            return None
        step = 0.001 if self.edition == "inch" else 0.01
        gone = self.wall_left < 0 or math.floor(round(self.wall_left / step, 6) + 0.5) == 0
        return "nothing" if gone else self.size(self.wall_left)

    @property
    def trim_action(self) -> str | None:
        """What to do where no turn brings the hi-lo in."""
        if self.trim_to is None or self.wide_oval is None or self.limit is None:
            return None
        if not self.within(self.wide_oval):
            by = self.gauge(4 * self.wide_oval)
            return f"The {self.wide_part.name} is oval by {by}: round it out before trimming the other."
        part, left, to = self.narrow_part, self.left_said, self.size(self.trim_to)
        differ = f"Bores differ by {self.size(self._between[0])}. "
        if self.wall_left is None:
            return f"{differ}Read four walls of the {part.name} before trimming."
        if part.minimum is None:
            waits = "it waits for a design minimum wall (0.875 t is the purchase minimum)."
            return f"{differ}Trimming the {part.name} to {to} would leave {left}: {waits}"
        if self.unequal:
            return differ
        least = self.size(part.minimum)
        if self.wall_left >= part.minimum - HAIR:
            how = "choose a taper" if self.taper is None else f"taper {self.gauge(self.taper)} long at {self.slope}"
            return f"{differ}Trim the {part.name} to {to}, {how}: leaves {left}, design minimum {least}."
        return (
            f"{differ}Do not trim: the {part.name} would be left {left}, under its design minimum {least}. "
            "Another part, or ask the engineer."
        )

    def line(self) -> Line:
        """What Bores shows of it."""
        found: Line = {
            "parts": f"{self.one.words} – {self.two.words}",
            "now": self.now,
            "best": self.best,
            "worst": self.worst,
            "turn": self.turn,
            "outside_step": self.outside_step,
            "counterbore": self.counterbore,
            "left_at_c": self.left_at_c,
            "trim_to": self.trim_to,
            "taper": self.taper,
            "wall_left": self.wall_left,
            "verdict": self.verdict,
            "action": self.action,
            "od": self.one.od,
            "wall": self.one.wall,
            "measured": float(self.measured),
            "walled": float(self.walled),
            "turn_raw": self.turn_raw,
            "turner": float(self.turner),
            "narrow": None if self.narrow is None else float(self.narrow),
            "cut_deep": self.cut_deep,
            "slope_run": self.run,
            "thin_known": 1.0 if self.narrow and self.narrow_part.walls is not None else None,
            "minimum": self.narrow_part.minimum if self.narrow else None,
            "thin": float(self.thin),
            "thin_wall": self.parts[1 if self.thin == 2 else 0].thinnest,
            "ratio": self.ratio,
            "unequal": float(self.unequal),
            "clamped": self.clamped,
            "clamped_out": float(self.clamped_out),
            "wide_oval": self.wide_oval,
            "open_action": self.open_action,
            "step_action": self.step_action or None,
            "turn_action": self.turn_action,
            "trim_action": self.trim_action,
            "left_said": self.left_said,
        }
        for at, part in enumerate(self.parts, start=1):
            found |= {
                f"part_{at}": part.name,
                f"mean_{at}": part.mean,
                f"up_{at}": None if part.arrow is None else part.arrow.real,
                f"side_{at}": None if part.arrow is None else part.arrow.imag,
                f"low_{at}": part.span[0],
                f"high_{at}": part.span[1],
                f"out_low_{at}": part.out_span[0],
                f"out_high_{at}": part.out_span[1],
                f"minimum_{at}": part.minimum,
            }
        return found


# -- the sheets --------------------------------------------------------------------------------------------------------


COLUMNS = (
    "parts", "now", "best", "worst", "turn", "outside_step", "counterbore", "left_at_c", "trim_to", "taper",
    "wall_left", "verdict", "action", "od", "wall", "measured", "walled", "turn_raw", "turner", "narrow", "cut_deep",
    "slope_run", "thin_known", "minimum", "thin", "thin_wall", "ratio", "unequal", "clamped", "clamped_out",
    "wide_oval", "open_action", "step_action", "turn_action", "trim_action", "left_said",
    *(f"{name}_{at}" for at in (1, 2) for name in ("part", "mean", "up", "side", "low", "high", "out_low", "out_high",
                                                   "minimum")),
)  # fmt: skip
"""Columns of Bores that are blank where no joint is chosen."""


def expected_bores(joints: Joints, edition: str, typed: Mapping[Place, Value]) -> dict[Place, Value]:
    """What Bores and Bore sizes show, by name and row."""
    limit = LIMITS["hi_lo_max"][0 if edition == "inch" else 1]
    limit = number(typed.get(("rules.hi_lo_max", 0), limit))
    slope = typed.get(("bores.slope", 0), "1 in 4")
    found: dict[Place, Value] = {}
    verdicts: list[Value] = []
    chosen = [typed.get(("bores.joint", row)) for row in range(ROWS)]
    for row, label in enumerate(chosen):
        joint = joints.row(label)
        parts = []
        for half in (0, 1):
            at = 2 * row + half
            read = {name: typed.get((f"bore_sizes.{name}", at)) for name in READ}
            parts.append(Part(joints, edition, joint, bool(half), read))
            found |= {(f"bore_sizes.{name}", at): value for name, value in parts[-1].line(at).items()}
        line: Line = dict.fromkeys(COLUMNS)
        if joint is not None:
            line |= Meeting(parts[0], parts[1], limit, slope).line()
        line |= {"joint_row": None if joint is None else float(joint + 1)}
        line |= {"row_1": float(2 * row + 1), "row_2": float(2 * row + 2)}
        told = "Joint: not in the list. " if label and joint is None else ""
        if label and str(label).casefold() in [str(each or "").casefold() for each in chosen[:row]]:
            told += "Chosen above already. "
        line |= {"stops": told or None, "message": told or None, "cautions": None}
        verdicts.append(line["verdict"])
        found |= {(f"bores.{name}", row): value for name, value in line.items()}
    note = (
        "1 in 3: B16.25 Fig. 1 †; 1 in 4: pipeline codes B31.4 and B31.8 †; both from memory, verify. "
        "30 deg: B31.1 127.3, the most"
    )
    wrong = "✗ Taper of the trimmed bore: not in the list. "
    found["bores.slope_check", 0] = note if not slope or slope in RUNS else wrong
    found["bores.told", 0] = counts_told(verdicts)
    date = typed.get(("bore_sizes.calibrated", 0))
    found["bore_sizes.calibrated_check", 0] = "Calibrated on: not a date. " if isinstance(date, str) and date else None
    found["bore_sizes.wall_under", 0] = wall_limit("9", "under_percent")
    overs = {"small": "10", "thin": "11", "thick": "12", "large_thin": "14", "large_thick": "15"}
    for name, key in overs.items():
        found[f"bore_sizes.over_{name}", 0] = wall_limit(key, "over_percent")
    return found


# -- scenes ------------------------------------------------------------------------------------------------------------


def spools(units: str) -> list[dict[str, Any]]:
    """Pipes of every class of wall limit, parts joined without pipe, items in the pipe, pipe welded to pipe."""
    far = 120 if units == "inch" else 3000
    six = {"size": "6", "schedule": "STD", "class": "150"}
    near, short_item = (30, 8) if units == "inch" else (750, 200)
    valve = {"item": "valve", "length": short_item, "ends": "butt"}
    found: list[dict[str, Any]] = [
        {"mark": "M1", **six, "start": "weld_neck_flange",
         "leg": [{"north": 1, "make_up": True, "end": "elbow"}, {"up": far, "end": "weld_neck_flange"}]},
        {"mark": "I1", **six, "start": "weld_neck_flange",
         "leg": [{"east": far, "end": "elbow", "inline": [{**valve, "at": near}]},
                 {"up": far, "end": "weld", "inline": [{**valve, "against": "start"}]},
                 {"up": far, "end": "elbow", "inline": [{**valve, "against": "end"}]},
                 {"north": far, "end": "bevel"}]},
    ]  # fmt: skip
    pipes = (("1/4", "40"), ("2-1/2", "40"), ("3", "40"), ("12", "STD"), ("18", "80"), ("18", "10"), ("20", "160"),
             ("20", "10"), ("24", "80"), ("1", "5S"), ("1/8", "40"), ("1/2", "40"))  # fmt: skip
    for at, (size, schedule) in enumerate(pipes, start=1):
        one = {"mark": f"Q{at}", "size": size, "schedule": schedule, "start": "bevel"}
        found.append({**one, "leg": [{"east": far, "end": "bevel"}]})
    return found


def job(units: str) -> str:
    """Those, and the spools of `joinery`."""
    return job_text([*joinery.spools(units)[:2], *spools(units), *joinery.spools(units)[2:]], units)


def chance_tube(chance: random.Random, edition: str, od: float, wall: float) -> Tube:
    """A tube near its nominal sizes, oval and eccentric more or less."""
    one = one_inch(edition)
    bore = od - 2 * wall + chance.uniform(-0.06, 0.06) * one
    off = (chance.uniform(-0.02, 0.02) * one, chance.uniform(-0.02, 0.02) * one)
    oval = chance.choice([0.0, 0.001, chance.uniform(0.02, 0.2), chance.uniform(0.1, 0.3)]) * one
    thick = wall * chance.uniform(0.86, 1.05)
    return Tube(bore, oval, chance.uniform(0, 180), bore + 2 * thick, off)


def chance_part(chance: random.Random, edition: str, od: float, wall: float) -> dict[str, Value]:
    """Readings of one part: all, or without some kind or some cell; with and without a design minimum."""
    tube = chance_tube(chance, edition, od, wall)
    some = 0.02 * one_inch(edition)
    read: dict[str, Value] = {
        # no outside is round, and scale and weld beads stand in the calipers' way
        name: value if name.startswith("wall") else value + chance.choice([0.0, chance.uniform(-some, some)])
        for name, value in tube.read(chance).items()
    }
    left_out = chance.choice(["", "", "", "", "bore", "wall", "od", "one", "all"])
    if left_out == "one":
        del read[chance.choice(sorted(read))]
    elif left_out:
        read = {name: value for name, value in read.items() if not name.startswith(left_out) and left_out != "all"}
    if read and chance.random() < 0.5:
        read["design_minimum"] = wall * chance.choice([0.4, 0.7, 0.8, 0.9])
    return read


def cells(labels: Sequence[Value], pairs: Sequence[Pair], **more: Value) -> dict[Place, Value]:
    """Everything typed into both tables: a joint of each row and the readings of its parts; `more` by name."""
    found: dict[Place, Value] = {(name.replace("__", "."), 0): value for name, value in more.items()}
    for row in range(ROWS):
        found["bores.joint", row] = labels[row] if row < len(labels) else None
        for half in (0, 1):
            read = pairs[row][half] if row < len(pairs) else {}
            found |= {(f"bore_sizes.{name}", 2 * row + half): read.get(name) for name in READ}
    return found


def by_chance(joints: Joints, edition: str, seed: int, among: Sequence[str] = (), **more: Value) -> dict[Place, Value]:
    """Chance readings of chance joints, or of those among which to choose."""
    chance = random.Random(seed)
    labels: list[Value] = [*chance.sample(among or joints.known, ROWS)]
    pairs: list[Pair] = []
    for label in labels:
        leg = int(joints.leg_rows[joints.row(label) or 0]) - 1
        od, wall = joints.ods[leg], joints.walls[leg]
        one, two = (chance_part(chance, edition, od, wall) for _ in range(2))
        pairs.append((one, two))
    return cells(labels, pairs, **more)


def oval(mean: float, long: float, at: float) -> dict[str, float]:
    """Four bores of an oval: its mean, longest less shortest, where it is longest in degrees from 12."""
    turns = (math.radians(2 * (turn - at)) for turn in DIAMETERS.values())
    return diameters(*(mean + long / 2 * math.cos(turn) for turn in turns))


def all_round(kind: str, value: float) -> dict[str, float]:
    """The same wall or diameter all round."""
    return {f"{kind}_{name}": value for name in (PLACES if kind == "wall" else DIAMETERS)}


def spoken_pairs(edition: str) -> list[Pair]:
    """One pair for each thing that may be said, with bores out of true at one place only and walls of many kinds."""
    one = one_inch(edition)
    true: Readings = {**all_round("bore", 6.0 * one), **all_round("wall", 0.3 * one), **all_round("od", 6.6 * one)}
    wide: Readings = {**true, **all_round("bore", 6.2 * one)}
    unwalled: Readings = {name: value for name, value in true.items() if not name.startswith("wall")}
    enough: Readings = {**true, "design_minimum": 0.15 * one}
    short_of: Readings = {**true, "design_minimum": 0.25 * one}
    under: Readings = {**true, "design_minimum": 0.31 * one}
    thick: Readings = {**wide, **all_round("wall", 0.51 * one)}
    far: Readings = {**all_round("bore", 7.0 * one)}
    bumps: list[Pair] = []
    for name in DIAMETERS:
        for half in (0, 1):
            bump: Readings = {**true, f"bore_{name}": 6.24 * one}
            bumps.append((bump, true) if half else (true, bump))
    return [
        *bumps, (true, true), (unwalled, wide), (wide, unwalled), (true, wide), (wide, true), (enough, wide),
        (wide, enough), (short_of, wide), (wide, short_of), (under, true), (true, under), (under, under),
        (enough, thick), (thick, enough), (true, {**thick, **all_round("bore", 6.0 * one)}),
        (true, {**true, **oval(6.4 * one, 0.3 * one, 0.0)}), ({**true, **oval(6.4 * one, 0.3 * one, 30.0)}, true),
        (far, {}), ({}, far), (far, {**all_round("od", 6.6 * one), **all_round("wall", 0.3 * one)}),
        (true, {**true, **oval(6.0 * one, 0.24 * one, 0.0)}), ({**true, "wall_12": 0.35 * one}, true),
        ({**true, "wall_9": 0.08 * one}, true), ({**true, "od_3_9": 6.9 * one}, {**true, "od_12_6": 6.4 * one}),
    ]  # fmt: skip


def oval_pairs(edition: str) -> list[Pair]:
    """Ovals of one size that lie otherwise, so that the hi-lo is on its limit once one is turned: by nothing, by less
    than a degree and by half a degree, by a right angle and a hair more."""
    one, most = one_inch(edition), LIMITS["hi_lo_max"][0 if edition == "inch" else 1] or 0.0
    true: Readings = {**all_round("wall", 0.3 * one), **all_round("od", 6.6 * one)}
    angles = [
        (0.0, 0.0), (0.0, 40.0), (40.0, 0.0), (0.0, 90.0), (90.0, 0.0), (45.0, 135.0), (135.0, 45.0), (50.0, 160.0),
        (10.0, 130.0), (90.0, 179.995), (179.995, 90.0), (0.0, 0.3), (0.0, 0.4999998), (0.4999992, 0.0), (20.0, 60.5),
        (0.0, 60.4999998), (60.4999992, 0.0), (7.5 - 1.2e-5, 90.0), (7.5 - 3e-6, 90.0), (97.5 - 1.2e-5, 30.0),
    ]  # fmt: skip
    return [
        ({**true, **oval(6.0 * one, 0.2 * one, first)}, {**true, **oval(6.0 * one + 2 * most, 0.2 * one, second)})
        for first, second in angles
    ]


def limit_pairs(edition: str) -> list[Pair]:
    """Sizes at their limits, just under and just over."""
    one = one_inch(edition)
    most = LIMITS["hi_lo_max"][0 if edition == "inch" else 1] or 0.0
    step, points, agree = (1 / 64, 0.005, 1 / 32) if edition == "inch" else (0.1, 0.1, 0.8)
    true: Readings = {**all_round("bore", 6.0 * one), **all_round("wall", 0.3 * one), **all_round("od", 6.6 * one)}
    wide: Readings = {**true, **all_round("bore", 6.2 * one)}
    found: list[Pair] = []
    for share in (1.0, 0.999, 1.001):
        found.append((true, {**true, **all_round("bore", 6.0 * one + 2 * share * most)}))
        found.append(({**true, **oval(6.4 * one, 4 * share * most, 0.0)}, true))
        # the walls make the step on either side
        found.append((true, {**true, **all_round("wall", 0.3 * one + share * most)}))
        found.append((true, {**true, **oval(6.0 * one + 2 * share * most, 0.1 * one, 90.0)}))
    found += [(true, {**true, **all_round("wall", 0.3 * one + share * step)}) for share in (0.49, 0.5, 0.51, 0.4999992)]
    for minimum in (0.2, 0.1999, 0.2001, 0.3, 0.3001):
        found.append(({**true, "design_minimum": minimum * one}, wide))
    for ratio in (1.5, 1.5 + 5e-7, 1.501, 1.54999992, 1.54999998, 5000.0):
        found.append(({**true, **all_round("wall", 0.3 / ratio * one)}, {**true, **all_round("wall", 0.3 * one)}))
    found.append(({**true, **all_round("wall", 0.0)}, true))
    found.append(({**true, **all_round("wall", 1e-9)}, true))
    for off in (agree, 0.995 * agree, 1.001 * agree, -agree, -1.1 * agree):
        found.append(({**true, "od_12_6": 6.6 * one + off}, {**true, "bore_3_9": 6.0 * one + off}))
    for long in (points, 0.999 * points, 1.01 * points):
        for at in (0.0, 90.0):
            found.append(({**true, **oval(6.0 * one, long, at)}, {**true, **oval(6.24 * one, 1.2 * long, at + 30)}))
            found.append(({**true, **oval(6.24 * one, 0.1 * one, at)}, {**true, **oval(6.0 * one, long, at)}))
    # what trimming leaves: nothing, less than can be read, the smallest that can be read
    for left in (0.0, -0.01, 0.0004, 0.0005, 0.0004999999, 0.0004999992, 0.0015):
        found.append(({**true, **all_round("wall", 0.1 * one + left * (1 if edition == "inch" else 10))}, wide))
    return found


def walls_at_limit(wall: float) -> Iterator[Pair]:
    """Walls at the purchase minimum of a nominal wall, just under and just over."""
    for share in (1.0, 0.999, 1.001):
        for name in PLACES:
            thin = {f"wall_{name}": 0.875 * share * wall}
            yield thin, all_round("wall", wall) | thin


def absurd_pairs(edition: str) -> list[Pair]:
    """Slips of the keys: below nothing, far too much, words."""
    one = one_inch(edition)
    true: Readings = {**all_round("bore", 6.0 * one), **all_round("wall", 0.3 * one), **all_round("od", 6.6 * one)}
    found: list[Pair] = []
    for value in (-1.0, 0.0, 3e6, 3e12, "abc"):
        found.append((dict.fromkeys(READ, value), {**true, "design_minimum": 0.1 * one}))
        found.append((true, dict.fromkeys(READ, value)))
    # a mean bore of nothing, and nothing but that
    found.append((diameters(one, 0.0, -one, 0.0), all_round("bore", 0.0)))
    found += [(all_round("bore", 0.0), {}), ({}, all_round("bore", 0.0))]
    for at, name in enumerate(READ):
        found.append(({**true, name: ("12", -0.5, 101 * one)[at % 3]}, {**true, name: (-1e-7, 5e12, "x")[at % 3]}))
    return found


def scenes() -> list[Scene]:
    """One in each edition."""
    return [_scene(edition) for edition in joinery.EDITIONS]


def _scene(edition: str) -> Scene:
    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        joints = Joints.of(book)
        cases = [
            Case(name, typed, expected_bores(joints, edition, typed), own=not at)
            for at, (name, typed) in enumerate(_states(joints, edition))
        ]
        return cases[0].typed, [*cases, _without_size(book, edition)]

    return Scene(f"bores {edition}", edition, partial(job, edition), made, ("bores", "bore_sizes"), BUILT)


def _without_size(book: Live, edition: str) -> Case:
    """Two legs whose size is blank or none that there is."""
    legs: dict[Place, Value] = {("legs.size", 0): None, ("legs.size", 1): "7"}
    joints = Joints.of(book)
    typed = by_chance(joints, edition, 9)
    typed |= {("bores.joint", row): label for row, label in enumerate(joints.known[:4])}
    book.put_all(legs)
    wanted = expected_bores(Joints.of(book), edition, typed)
    book.reset()
    book.calculate()
    return Case("no size", typed | legs, wanted, own=False)


def _states(joints: Joints, edition: str) -> Iterator[tuple[str, dict[Place, Value]]]:
    """What is typed in each case."""
    one = one_inch(edition)
    for seed, slope in enumerate(("1 in 4", "1 in 3", "30 deg")):
        yield f"chance {seed}", by_chance(joints, edition, seed, bores__slope=slope)
    # plain pipes of every class of limits
    pipes = joints.known[ROWS:]
    yield "narrower limit", by_chance(joints, edition, 3, pipes[:ROWS], rules__hi_lo_max=0.03 * one)
    yield "no limit", by_chance(joints, edition, 4, pipes[ROWS : 2 * ROWS], rules__hi_lo_max=None)
    # a joint twice, one that is not there, no row between; a taper that is none
    known = joints.known
    labels: list[Value] = [*known[:2], known[0], None, "W99", known[1].lower(), *known[2:]]
    pairs = spoken_pairs(edition)
    more: dict[str, Value] = {"bores__slope": "steep", "bore_sizes__calibrated": "yesterday"}
    yield "chosen", cells(labels, pairs[7:], **more)
    yield "no taper", cells(known, pairs[12:], bores__slope=None)
    for name, pairs_of in PAIRS.items():
        pairs = pairs_of(edition)
        for begin in range(0, len(pairs), ROWS):
            yield f"{name} {begin}", cells(known, pairs[begin : begin + ROWS])
    # an elbow welded to a flange: neither is turned
    fixed = next(label for label, pair in zip(known, joints.pairs, strict=False) if not joints.pipes & set(pair))
    yield "ovals of fittings", cells([fixed] * ROWS, oval_pairs(edition))
    yield "walls", cells(known, list(walls_at_limit(joints.walls[0])))


PAIRS: Mapping[str, Callable[[str], list[Pair]]] = {
    "said": spoken_pairs,
    "ovals": oval_pairs,
    "limits": limit_pairs,
    "absurd": absurd_pairs,
}
