"""States of the spool workbook, and what independent work says its cells must hold in them.

A state is a job, an edition and what was typed over it. `expected` gathers what the walk, the gauges and the take-off
find for it; nothing of it is taken from the templates. The tests compare states with it, so that a changed formula is
noticed.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import gauges
import takeoff
from gauges import CLOCK, DIAMETERS, QUARTERS, Place, Value
from live import Live, some
from walk import Walk
from walk_ends import WideWalk

YARD = Path(__file__).with_name("yard.toml")
TOLERANCE = 1e-9
PER_INCH = {"inch": 1.0, "mm": 25.4}


@dataclass(frozen=True)
class State:
    """A job in an edition, with cells typed into.

    Attributes:
        name: what it is called in messages.
        text: the job file.
        edition: "inch" or "mm".
        typed: by name and row, what was typed.
    """

    name: str
    text: str
    edition: str
    typed: Mapping[Place, Value] = field(default_factory=dict, hash=False)


@cache
def yard() -> str:
    """The job of `yard.toml`."""
    return YARD.read_text(encoding="utf-8")


@cache
def walked(text: str, edition: str) -> Walk:
    """A job walked."""
    return WideWalk(text, edition)


@cache
def live(text: str, edition: str) -> Live:
    """A job's workbook, open; whoever types into it clears what was typed before."""
    return Live(text, edition, some())


def agree(found: Any, wanted: Value) -> bool:
    """Whether a cell holds what it should."""
    if isinstance(wanted, float) and isinstance(found, float):
        return abs(found - wanted) <= TOLERANCE * max(1.0, abs(wanted))
    return type(found) is type(wanted) and bool(found == wanted)


def mismatches(book: Live, wanted: Mapping[Place, Value]) -> list[str]:
    """Cells that do not hold what they should, in words."""
    columns: dict[str, list[Any]] = {}
    told: list[str] = []
    for (name, row), value in wanted.items():
        if name not in columns:
            columns[name] = book.column(name)
        if not agree(columns[name][row], value):
            told.append(f"{name}, row {row + 1}: {columns[name][row]!r}, not {value!r}")
    return told


# -- readings ----------------------------------------------------------------------------------------------------------


def all_readings(walk: Walk, value: Value) -> dict[Place, Value]:
    """The same in every cell for a reading."""
    cells: dict[Place, Value] = {}
    for row in range(len(gauges.joints_of(walk))):
        for name in (*CLOCK, "worst"):
            cells[f"joints.gap_{name}", row] = cells[f"joints.hi_lo_{name}", row] = value
    for row in range(2 * len(gauges.pieces_of(walk))):
        for name in DIAMETERS:
            cells[f"ends.square_{name}", row] = value
        cells["ends.sweep", row] = value
    return cells


def one_by_one(walk: Walk) -> Iterator[dict[Place, Value]]:
    """States in which every single reading matters in some row: it alone is read, alone not read, alone outside, and
    on a limit or a hair over it. The joints and ends of the job take turns."""
    patterns = _joint_patterns(walk.edition)
    rows = [row for row, joint in enumerate(gauges.joints_of(walk)) if joint.kind != "fillet"]
    at_ends = _end_patterns(walk.edition)
    ends = 2 * len(gauges.pieces_of(walk))
    for begin in range(0, len(patterns), len(rows)):
        cells: dict[Place, Value] = {}
        for row, pattern in zip(rows, patterns[begin:], strict=False):
            cells |= {(f"joints.{name}", row): value for name, value in pattern.items()}
        for row in range(ends):
            cells |= {(f"ends.{name}", row): v for name, v in at_ends[(begin + row) % len(at_ends)].items()}
        yield cells


def _joint_patterns(edition: str) -> list[dict[str, Value]]:
    """Readings of one joint in which one of them stands out."""
    low, aimed, high, most = (3 / 32, 1 / 8, 5 / 32, 1 / 16) if edition == "inch" else (2.5, 3.0, 4.0, 1.5)
    unit = PER_INCH[edition]
    fine: dict[str, Value] = dict.fromkeys((f"gap_{name}" for name in CLOCK), aimed)
    fine |= dict.fromkeys((f"hi_lo_{name}" for name in CLOCK), 0.0)
    four = {name: value for name, value in fine.items() if name.partition("_")[2].removeprefix("lo_") in QUARTERS}
    wrong: dict[str, tuple[float, ...]] = {"gap": (0.21 * unit, 0.04 * unit), "hi_lo": (0.11 * unit, -0.09 * unit)}
    edge = {"gap": (low, high), "hi_lo": (most, -most)}
    found: list[dict[str, Value]] = []
    for kind, values in wrong.items():
        for name in (*CLOCK, "worst"):
            for at, value in enumerate(values):
                found.append({f"{kind}_{name}": value})
                whole = four if name in (*QUARTERS, "worst") and at else fine
                found.append({**whole, f"{kind}_{name}": value})
        for name in CLOCK:
            found.append({key: value for key, value in fine.items() if key != f"{kind}_{name}"})
            if name in QUARTERS:
                found.append({key: value for key, value in four.items() if key != f"{kind}_{name}"})
        for at, limit in enumerate(edge[kind]):
            for over in (0.0, 5e-10, 3e-9):
                beyond = limit - over if limit == low or limit < 0 else limit + over
                found.append({**four, f"{kind}_{QUARTERS[at]}": beyond})
    # nearly even, but outside: the unevenness is too small to be said
    little, off = (0.003, 0.001) if edition == "inch" else (0.02, 0.01)
    for mean in (high - off, low + off):
        round_ = {name: mean + little * (1 if name in ("12", "6") else -1) for name in QUARTERS}
        found.append({**four, **{f"gap_{name}": value for name, value in round_.items()}})
        found.append({**four, **{f"gap_{name}": 2 * mean - value for name, value in round_.items()}})
    return found


def _end_patterns(edition: str) -> list[dict[str, Value]]:
    """Readings of one pipe end in which one of them stands out."""
    unit = PER_INCH[edition]
    square: dict[str, Value] = {f"square_{name}": 0.0 for name in DIAMETERS}
    found: list[dict[str, Value]] = [{**square, "sweep": 1 / 32 * unit if edition == "inch" else 0.8}]
    for name in square:
        for value in (0.06 * unit, -0.07 * unit):
            found += [{name: value}, {**square, name: value}]
        found += [{key: 0.0 for key in square if key != name}, {name: 0.0}, {**square, name: 0.012 * unit}]
    for value in (0.05 * unit, 0.01 * unit):
        found += [{"sweep": value}, {**square, "sweep": value}]
    return found


class Reader:
    """Makes up readings as a fitter would type them: some on the fractions of a gauge, some not, some left out.

    Args:
        edition: "inch" or "mm".
        seed: the same one gives the same readings.
    """

    def __init__(self, edition: str, seed: int) -> None:
        self.rng = random.Random(seed)
        self.edition = edition
        self.unit = PER_INCH[edition]

    def said(self, inches: float, exact: bool) -> float:
        """A length, on the gauge's marks or as it is."""
        if exact:
            return inches * self.unit
        return round(inches * 64) / 64 if self.edition == "inch" else round(inches * self.unit, 1)

    def round_pipe(self, mean: float, share: float, eight: bool) -> dict[str, Value]:
        """Readings round a pipe: a tilt, an oval and noise, each small, middling or large."""
        rng = self.rng
        size = rng.choice([0.002, 0.01, 0.03, 0.07])
        up, side, twice, noise = (rng.gauss(0, size) * rng.choice([0, 0.2, 1]) for _ in range(4))
        exact = rng.random() < 0.4
        found: dict[str, Value] = {}
        for name, turn in CLOCK.items():
            there = rng.random() < share if name in QUARTERS else eight and rng.random() < 0.98
            circle = (1, 0.5**0.5, 0, -(0.5**0.5), -1, -(0.5**0.5), 0, 0.5**0.5)
            cosine, sine, double = circle[turn // 45], circle[(turn // 45 - 2) % 8], circle[(turn // 45 * 2) % 8]
            value = mean + up * cosine + side * sine + twice * double + rng.gauss(0, abs(noise) / 2)
            found[name] = self.said(value, exact) if there else None
        return found

    def readings(self, walk: Walk) -> dict[Place, Value]:
        """Readings at every end and joint of a job."""
        rng = self.rng
        cells: dict[Place, Value] = {}
        share = rng.choice([1, 1, 0.97, 0.8])
        for row in range(len(gauges.joints_of(walk))):
            eight = rng.random() < 0.3
            gap = rng.choice([0.125, 0.125, 0.125, 0.1, 0.16, 0.2])
            step = rng.choice([0, 0, 0, 0.04, -0.07])
            cells |= {(f"joints.gap_{name}", row): v for name, v in self.round_pipe(gap, share, eight).items()}
            cells |= {(f"joints.hi_lo_{name}", row): v for name, v in self.round_pipe(step, share, eight).items()}
            cells["joints.gap_worst", row] = rng.choice([None, None, 0.125, 0.2, 0.03])
            cells["joints.hi_lo_worst", row] = rng.choice([None, None, 0.0, 0.1, -0.1])
            for name in ("gap", "hi_lo"):
                value = cells[f"joints.{name}_worst", row]
                if isinstance(value, float):
                    cells[f"joints.{name}_worst", row] = self.said(value, False)
        for row in range(2 * len(gauges.pieces_of(walk))):
            size, exact, four = rng.choice([0.003, 0.01, 0.03, 0.1]), rng.random() < 0.4, rng.random() < 0.5
            up, side, noise = rng.gauss(0, size), rng.gauss(0, size), rng.choice([0, 0.002, 0.02])
            tilted = (up, (up + side) * 0.5**0.5, side, (side - up) * 0.5**0.5)
            for name, value in zip(DIAMETERS, tilted, strict=True):
                there = rng.random() < share if name in ("12_6", "3_9") else four and rng.random() < 0.95
                cells[f"ends.square_{name}", row] = self.said(value + rng.gauss(0, noise), exact) if there else None
            sweep = rng.choice([None, None, None, 0.0, 1 / 64, 3 / 64])
            cells["ends.sweep", row] = None if sweep is None else self.said(sweep, False)
        return cells


def expected(state: State) -> dict[Place, Value]:
    """What independent work says the cells of a state must hold."""
    walk = walked(state.text, state.edition)
    found: dict[Place, Value] = {}
    found |= gauges.expected_readings(walk, state.typed)
    found |= takeoff.expected_material(walk)
    return found


def opened(state: State) -> Live:
    """The workbook in a state."""
    book = live(state.text, state.edition)
    book.reset()
    book.put_all(state.typed)
    return book
