"""A job for the sheets between Fit-up and the welder: every preparation of an end, every number of tacks.

The workbook is open in an engine; whoever types into it resets it first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import engines
from live import Live, Value, Wrong, some
from routes import job_text

from workbook_builder.book import column_letters

EDITIONS = ("inch", "mm")
SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "ends", "fitup",
    "bevels", "groove", "bores", "bore_sizes", "tacks", "tack_practice", "key", "tables_used",
)  # fmt: skip
"""What the sheets that are tried here rest on; the others would only take time."""

WITHIN, OUTSIDE, OPEN, NO_RULE = "✓ within", "✗ outside", "… not yet measured", "… rule missing"
CLOCK = {"12": 0, "3": 90, "6": 180, "9": 270}
PIPES = (
    ("P01", "1", "40"), ("P02", "2", "5S"), ("P03", "2", "80"), ("P04", "4", "40"), ("P05", "12", "160"),
    ("P06", "24", "STD"), ("P07", "30", "STD"), ("P08", "36", "STD"), ("P09", "48", "STD"), ("P10", "8", "XXS"),
)  # fmt: skip
"""Plain pipes between two field welds: mark, size, schedule."""


def spools(units: str) -> list[dict[str, Any]]:
    """A spool with flange, elbow and flange, one with a slip-on and a socket of its own, and pipes of many sizes."""
    far = 120 if units == "inch" else 3000
    six = {"size": "6", "schedule": "STD", "class": "150"}
    found: list[dict[str, Any]] = [
        {"mark": "S1", **six, "start": "weld_neck_flange",
         "leg": [{"east": far, "end": "elbow"}, {"up": far, "end": "weld_neck_flange"}]},
        {"mark": "S2", **six, "start": "slip_on_flange", "leg": [{"north": far, "end": "cap"}]},
    ]  # fmt: skip
    for mark, size, schedule in PIPES:
        found.append(
            {"mark": mark, "size": size, "schedule": schedule, "start": "bevel", "leg": [{"east": far, "end": "bevel"}]}
        )
    return found


@cache
def book(edition: str) -> Live:
    """The job's workbook in one edition."""
    return Live(job_text(spools(edition), edition), edition, some(SHEETS))


def cleared(edition: str) -> Live:
    """The workbook with nothing typed."""
    opened = book(edition)
    opened.reset()
    opened.calculate()
    return opened


def row_of(opened: Live, column: str, value: str) -> int:
    """Row of a table where a column holds a value."""
    return opened.column(column).index(value)


def typed(opened: Live, tables: Sequence[str]) -> list[tuple[str, int]]:
    """Every cell of some tables that somebody types into."""
    return [
        (field.name, row)
        for field in opened.book.fields.values()
        if field.typed and field.table in tables
        for row in range(field.rows)
    ]


def wrong_cells(opened: Live, spaces: Sequence[str]) -> list[str]:
    """Cells of some sheets and tables that hold an error value."""
    found: list[str] = []
    for field in opened.computed:
        if field.name.partition(".")[0] in spaces:
            found += [
                f"{field.name}, row {at + 1}" for at, value in enumerate(opened.take(field)) if isinstance(value, Wrong)
            ]
    return found


def disagreements(states: Iterable[tuple[Live, Mapping[tuple[str, int], Value]]], folder: Path) -> list[str]:
    """Cells on which LibreOffice does not agree with the engine that builds, over some workbooks and what is typed."""
    engines.require_libreoffice()
    paths: list[Path] = []
    wanted: list[dict[engines.Cell, Any]] = []
    for number, (opened, state) in enumerate(states):
        built = folder / f"built-{number}.xlsx"
        built.write_bytes(opened.bytes)
        opened.reset()
        opened.put_all(state)
        wanted.append(
            {
                (field.tab, f"{column_letters(field.column)}{field.row + row + 1}"): value
                for field in opened.computed
                for row, value in enumerate(opened.take(field))
            }
        )
        opened.reset()
        cells: dict[engines.Cell, Any] = {}
        for (name, row), value in state.items():
            field = opened.book.fields[name]
            cells[field.tab, f"{column_letters(field.column)}{field.row + row + 1}"] = value
        paths.append(engines.type_into(built, folder / f"typed-{number}.xlsx", cells))
    answers = engines.recompute_with_libreoffice(paths, folder / "office")
    found: list[str] = []
    for path, ours in zip(paths, wanted, strict=True):
        found += [str(each) for each in engines.differences(ours, answers[path])]
    return found
