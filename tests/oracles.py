"""States of the spool workbook, and what independent work says its cells must hold in them.

A state is a job, an edition and what was typed over it. `expected` gathers what the walk, the gauges and the take-off
find for it; nothing of it is taken from the templates. The tests compare states with it, so that a changed formula is
noticed.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
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
