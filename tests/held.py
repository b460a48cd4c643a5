"""What the cells of an open workbook hold, read by name and row, for a model that starts where other sheets end."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from functools import cache
from typing import Any

from live import Live, Place, Value
from paperwork import said
from walk import Facts, _rows


class Held:
    """Cells as they stand; rows are counted from 1, as the sheets count them.

    Args:
        book: an open workbook, computed.
        own: tables and sheets that a model looks at; their formulas are never read.
    """

    def __init__(self, book: Live, own: Collection[str] = ()) -> None:
        self.book, self.edition, self.own = book, book.edition, own
        self.facts = Facts(book.edition)
        self._columns: dict[str, list[Any]] = {}

    def all(self, name: str) -> list[Any]:
        """A column."""
        if name not in self._columns:
            field = self.book.book.fields[name]
            assert field.typed or name.partition(".")[0] not in self.own, f"{name} is what is looked at"
            self._columns[name] = self.book.take(field)
        return self._columns[name]

    def value(self, name: str, row: float | None = 1) -> Any:
        """What one cell holds, None where it is blank or there is no such row; a row as another cell counts it."""
        return None if row is None else self.all(name)[int(row) - 1]

    def number(self, name: str, row: float | None = 1) -> float | None:
        """A number, None where none stands there."""
        value = self.value(name, row)
        return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None

    def sure(self, name: str, row: float = 1) -> float:
        """A number that is there."""
        found = self.number(name, row)
        assert found is not None, f"{name}, row {row}"
        return found

    def count(self, table: str) -> int:
        """Rows of a table."""
        return self.book.book.tables[table].fields[0].rows

    def text(self, name: str, row: float | None = 1) -> str:
        """What one cell holds, as a text; "" where it is blank."""
        return as_text(self.value(name, row))

    def row_of(self, name: str, text: str) -> int | None:
        """The first row of a column that holds a text, None where none does."""
        wanted = text.casefold()
        return next((at for at, each in enumerate(self.all(name), start=1) if as_text(each).casefold() == wanted), None)

    def vector(self, names: tuple[str, str, str], row: int | None) -> tuple[float, float, float] | None:
        """East, north and up, None where one of them is not known."""
        east, north, up = (self.number(name, row) for name in names)
        return None if east is None or north is None or up is None else (east, north, up)


def expected_after(
    expected: Callable[[Held], dict[Place, Value]], book: Live, typed: Mapping[Place, Value]
) -> dict[Place, Value]:
    """What every cell must hold once this is typed over the workbook as it was built; it is left with this typed.

    Args:
        expected: works out a model's cells from those of other sheets.
        book: the open workbook.
        typed: by name and row.
    """
    book.reset()
    book.put_all(typed)
    return expected(Held(book))


def with_unit(held: Held, length: float) -> str:
    """A length with its unit, in the job's precision."""
    step = held.number("rules.step")
    assert step is not None
    return said(length, step, held.edition) + ('"' if held.edition == "inch" else " mm")


def as_text(value: Value) -> str:
    """A value as a cell shows it in the middle of a sentence."""
    if value is None:
        return ""
    return f"{value:.15g}" if isinstance(value, float) else str(value)


@cache
def table_row(name: str, key: tuple[tuple[str, str], ...]) -> int | None:
    """The row of a reference table, counted from 1, whose columns hold these; None where none does."""
    for at, row in enumerate(_rows(name), start=1):
        if all(row[column].casefold() == value.casefold() for column, value in key):
            return at
    return None


def flange_rows(edition: str, flange_class: str, size: str) -> tuple[int | None, int | None]:
    """Where a flange stands in the table by class and in that by PN, which has no inches."""
    key = (("class", flange_class), ("size", size))
    return table_row("flange", key), table_row("flange_en", key) if edition == "mm" else None


def one_place(value: float) -> str:
    """A number to one place, a half away from 0, without a 0 behind the point."""
    tenths = int(abs(value) * 10 + 0.5 + 1e-9)
    whole, part = divmod(tenths, 10)
    return ("-" if value < 0 and tenths else "") + f"{whole}" + (f".{part}" if part else "")
