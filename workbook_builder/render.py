"""Rendering: a proved tree becomes formula text, once with names for people and once with plain addresses.

A row formula is compiled once to a `Pattern`; filling it for a row is a text replacement. That is where the speed of a
large workbook comes from.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from . import expression
from .book import Book, Field, column_letters
from .errors import TemplateError
from .prove import Proven, reference

ROW, BEFORE, AFTER = "\x00", "\x01", "\x02"
"""Slots of a pattern: this row's number, the one before, the one after."""

LONGEST_FORMULA = 8000
"""Characters of a formula that every program takes, with a little room."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A formula with slots for the row number (none in a scalar's formula).

    Attributes:
        text: formula text with a leading = and slots.
    """

    text: str

    def at(self, row: int) -> str:
        """The formula for a 0-based row."""
        text = self.text
        if ROW in text:
            text = text.replace(ROW, str(row + 1))
        if BEFORE in text:
            text = text.replace(BEFORE, str(row))
        if AFTER in text:
            text = text.replace(AFTER, str(row + 2))
        return text


def quoted(tab: str) -> str:
    """A sheet name as a formula writes it."""
    return "'" + tab.replace("'", "''") + "'!"


def address(field: Field, row: int | None = None) -> str:
    """Absolute address of a field's first cell (or of its cell in a 0-based row), without the sheet."""
    return f"${column_letters(field.column)}${(field.row if row is None else row) + 1}"


def whole_range(field: Field) -> str:
    """Absolute address of all cells of a field, without the sheet."""
    return f"{address(field)}:{address(field, field.last_row)}" if field.rows > 1 else address(field)


def full_range(field: Field) -> str:
    """Absolute address of all cells of a field with its sheet."""
    return quoted(field.tab) + whole_range(field)


class Renderer:
    """Spells settled names for one workbook.

    Args:
        book: the workbook laid out.
    """

    def __init__(self, book: Book) -> None:
        self.book = book

    def spelled(self, name: str, tab: str, instead: Mapping[str, str] | None = None) -> str:
        """Address text of a settled name, seen from a sheet.

        Args:
            name: settled name ("row legs.length").
            tab: sheet that the formula stands on.
            instead: other addresses for some fields (worked examples feed their own cells).
        """
        how, full = reference(name)
        if instead and full in instead:
            return instead[full]
        field = self.book.fields[full]
        sheet = "" if field.tab == tab else quoted(field.tab)
        letters = column_letters(field.column)
        match how:
            case "row":
                return f"{sheet}{letters}{ROW}"
            case "previous":
                return f"{sheet}{letters}{BEFORE}"
            case "next":
                return f"{sheet}{letters}{AFTER}"
            case "above":
                return f"{sheet}{letters}${field.row}:{letters}{BEFORE}"
            case "cell":
                return sheet + address(field)
        return sheet + whole_range(field)

    def named(self, name: str) -> str:
        """The workbook's defined name of a settled name."""
        return self.book.fields[reference(name)[1]].defined_name

    def pattern(self, proven: Proven) -> Pattern:
        """The formula with plain addresses."""
        text = "=" + expression.write(proven.node, lambda name: self.spelled(name, proven.field.tab))
        return Pattern(self.short_enough(text, proven.field))

    def for_people(self, proven: Proven) -> str:
        """A scalar's formula with names."""
        return self.short_enough("=" + expression.write(proven.node, self.named), proven.field)

    @staticmethod
    def short_enough(text: str, field: Field) -> str:
        """The formula text, refused where it is longer than a cell takes."""
        if len(text) + text.count(ROW) * 6 > LONGEST_FORMULA:
            raise TemplateError(
                f"the formula is too long for a cell: {len(text)} characters (formula: {field.formula[:200]})",
                file=field.file,
                place=field.name,
                allowed=f"at most {LONGEST_FORMULA}: give a part a column of its own",
            )
        return text
