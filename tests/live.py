"""The spool workbook open in an engine: type into its cells by name, recompute, and look at what its formulas give.

The workbook is built once and stays open in the engine that computed it; typing then recomputes only what follows from
the typed cell, so that thousands of readings and of changed formulas can be tried in a minute. A test that looks at a
few sheets builds those alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from functools import cache, cached_property
from typing import Any

import formualizer
import msgspec

from workbook_builder.book import Book, Field, column_letters
from workbook_builder.build import Workshop, compute_with_readings, workshop
from workbook_builder.job import Job
from workbook_builder.job_reading import load_schema, parse_job
from workbook_builder.job_schema import Schema
from workbook_builder.prove import Proof
from workbook_builder.render import Renderer
from workbook_builder.template import Column, Shelf, WorkbookTemplate
from workbook_builder.write import write_book

WORKBOOK = "spool"

Value = float | str | bool | None
"""What a cell holds; a blank and an empty text are both None."""

Place = tuple[str, int]
"""A name and a row of it, 0-based."""


class Wrong:
    """An error value."""

    def __init__(self, kind: str) -> None:
        self.kind = kind

    def __repr__(self) -> str:
        return f"#{self.kind}"


def one_inch(edition: str) -> float:
    """One inch in the edition's unit."""
    return 1.0 if edition == "inch" else 25.4


NASTY: tuple[Value, ...] = (
    0.0, -0.0, -1.0, 1e-300, -1e-12, 1e12, -1e12, 1e300, -1e300, "abc", "1/16", "", "12", 0.05, 3.0, 90.0, 45000.0
)  # fmt: skip
"""What a cell may hold by a slip of the keys."""

READINGS = (
    "rules", "spools", "route", "details", "leg_more", "outlets",
    "items", "sketch", "cutlist", "cut_steps", "ends", "fitup", "dial", "parts",
    "material", "key", "tables_used", "method", "checks",
)  # fmt: skip
"""The sheets that lead from a route to readings and material, in their order."""


class Some(Shelf):
    """The shipped templates, with some sheets of a workbook left out."""

    sheets: Sequence[str] = ()

    def workbook(self, name: str) -> WorkbookTemplate:
        """The workbook's template without the other sheets; a headline needs its sheet."""
        template = super().workbook(name)
        kept = [sheet for sheet in template.sheets if sheet in self.sheets]
        headline = template.headline if template.headline.partition(".")[0] in kept else ""
        return msgspec.structs.replace(template, sheets=kept, headline=headline)


@cache
def some(sheets: tuple[str, ...] = READINGS) -> Workshop:
    """A workshop that builds these sheets only."""
    made = Workshop()
    shelf = Some(made.shelf.folder)
    shelf.sheets = sheets
    made.shelf = shelf
    return made


@cache
def schema() -> Schema:
    """What a job file may hold."""
    return load_schema(workshop().shelf.folder, workshop().units)


def job_of(text: str) -> Job:
    """A job from the text of its file."""
    return parse_job(text, "job.toml", schema(), workshop().library)


def typed_fields(book: Book) -> list[Field]:
    """The fields that a user types into."""
    return [field for field in book.fields.values() if field.typed]


def place(field: Field, row: int = 0) -> tuple[str, str]:
    """Sheet and address of a field's cell."""
    return field.tab, f"{column_letters(field.column)}{field.row + row + 1}"


def plain(value: Any) -> Any:
    """An engine's answer: blanks are None, error values are `Wrong`."""
    if isinstance(value, dict):
        return Wrong(str(value.get("kind")))
    return None if value == "" else value


class Live:
    """A workbook that can be typed into.

    Args:
        text: the job file; None for the workbook with blank rows.
        edition: "inch" or "mm".
        shop: the workshop to build with; by default all sheets are built.
    """

    def __init__(self, text: str | None, edition: str, shop: Workshop | None = None) -> None:
        self.edition = edition
        self.book: Book
        self.proof: Proof
        self.renderer: Renderer
        made = (shop or workshop()).prepare(WORKBOOK, None if text is None else job_of(text), edition)
        self.book, self.proof, self.renderer = made
        self.built = compute_with_readings(*made, lambda: None)
        self.typed: dict[Place, Value] = {}
        self.engine: formualizer.Workbook = self.built.engine.book
        self.engine.set_temporal_egress("serial")

    @cached_property
    def bytes(self) -> bytes:
        """The workbook as it is built, as a file."""
        return write_book(self.book, self.proof, self.renderer, self.built)

    def again(self, typed: Mapping[Place, Value]) -> Live:
        """The same workbook open once more, with these cells as its state to go back to."""
        other = copy(self)
        other.engine = formualizer.Workbook.from_bytes(self.bytes)
        other.engine.set_temporal_egress("serial")
        other.typed = {}
        other.calculate()  # once computed, the engine takes a typed cell a hundred times faster
        other.put_all(typed)
        other.typed = {}
        return other

    @property
    def computed(self) -> list[Field]:
        """Every field that a formula fills."""
        return [one.field for one in self.proof.proven]

    def calculate(self) -> None:
        """Recompute what follows from the cells that changed."""
        self.engine.evaluate_all()

    def put(self, name: str, value: Value, row: int = 0) -> None:
        """Type a value; None clears the cell. Nothing is recomputed yet."""
        field = self.book.fields[name]
        printed = isinstance(field.declared, Column) and field.declared.made and not field.row_formulas
        assert field.typed or printed, f"{name} is not a cell to type into"
        assert row < field.rows, f"{name} has {field.rows} rows"
        if (name, row) not in self.typed:
            self.typed[name, row] = plain(self.engine.get_value(field.tab, field.row + row + 1, field.column + 1))
        self.engine.set_value(field.tab, field.row + row + 1, field.column + 1, value)

    def put_all(self, values: Mapping[Place, Value]) -> None:
        """Type values by name and row, and recompute."""
        for (name, row), value in values.items():
            self.put(name, value, row)
        self.calculate()

    def reset(self) -> None:
        """Everything as it was built. Nothing is recomputed yet."""
        for (name, row), value in self.typed.items():
            field = self.book.fields[name]
            self.engine.set_value(field.tab, field.row + row + 1, field.column + 1, value)
        self.typed.clear()

    def take(self, field: Field) -> list[Any]:
        """All values of a field."""
        first, column = field.row + 1, field.column + 1
        area = formualizer.RangeAddress(field.tab, first, column, first + field.rows - 1, column)
        return [plain(line[0]) for line in self.engine.sheet(field.tab).get_values(area)]

    def column(self, name: str) -> list[Any]:
        """All values of a name."""
        return self.take(self.book.fields[name])

    def value(self, name: str, row: int = 0) -> Any:
        """The value of a name in one row."""
        return self.column(name)[row]

    def row(self, table: str, row: int) -> dict[str, Any]:
        """A row of a table by column."""
        fields = self.book.tables[table].fields
        first, last = min(made.column for made in fields), max(made.column for made in fields)
        at = fields[0].row + row + 1
        area = formualizer.RangeAddress(fields[0].tab, at, first + 1, at, last + 1)
        (line,) = self.engine.sheet(fields[0].tab).get_values(area)
        return {made.name.partition(".")[2]: plain(line[made.column - first]) for made in fields}

    def rows(self, table: str, columns: Iterable[str]) -> list[dict[str, Any]]:
        """Rows of a table by column."""
        taken = {column: self.column(f"{table}.{column}") for column in columns}
        return [dict(zip(taken, line, strict=True)) for line in zip(*taken.values(), strict=True)]

    def values(self) -> dict[str, list[Any]]:
        """What every formula gives, by name."""
        return {field.name: self.take(field) for field in self.computed}

    def errors(self) -> list[str]:
        """Cells that hold an error value."""
        return [
            f"{name}, row {row + 1}: {value}"
            for name, column in self.values().items()
            for row, value in enumerate(column)
            if isinstance(value, Wrong)
        ]

    def put_formulas(self, field: Field, formulas: Sequence[str]) -> None:
        """Other formulas in a field's cells."""
        self.engine.set_formulas_batch(field.tab, field.row + 1, field.column + 1, [[text] for text in formulas])
