"""The shapes of a workbook laid out: fields, sheets, tables, and the book that holds them by name.

Nothing is decided here; `layout` fills these, every later step reads them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from . import expression
from .errors import TemplateError
from .job import Job, JobValue
from .quantity import Units
from .template import Case, Chart, Column, Constant, Input, Result, SheetTemplate, Table, WorkbookTemplate

CellValue = float | str | bool | None

FieldKind = Literal["input", "constant", "result", "column", "reference", "list"]

LABEL_CHARACTERS = 30  # width that a scalar's label wants
CHART_ROW = 20  # height of a row under a chart, in pixels
TEXT_CHARACTERS = 24  # width that a scalar's text wants
DATE_CHARACTERS = 11  # and a date
NAME = re.compile(r"[a-z][a-z0-9_]*")
LONGEST_NAME = 200
RESERVED = ("previous", "next", "above", "true", "false")


@dataclass(slots=True)
class Field:
    """A named cell or a named column of cells.

    Attributes:
        name: dotted, as formulas say it.
        kind: what fills it.
        tab: the worksheet it stands on.
        row, column: first cell, 0-based.
        rows: how many cells below one another (1 for a scalar).
        unit_kind: length, angle, number, text …
        unit: the unit that this edition shows, "" for text and plain numbers.
        formula: the text declared, macros not yet expanded; "" where the cell is typed or fixed.
        declared: the template entry it came from, None for made fields.
        values: what fixed cells hold (constants, reference tables, counting columns, defaults of typed cells).
        status: for a reference column, the column of its table that says how far its values were checked.
        named: whether the workbook gets a defined name for it.
        instead: formulas that stand in single typed cells, by row offset, as the job asks; a user may type over them.
        row_formulas: a formula for each row where they are not one pattern (worked examples), with plain addresses.
    """

    name: str
    kind: FieldKind
    tab: str
    row: int
    column: int
    unit_kind: str
    unit: str
    label: str
    file: str
    rows: int = 1
    formula: str = ""
    declared: Input | Constant | Result | Column | None = None
    table: str = ""
    working: bool = False
    values: Sequence[JobValue | float | None] = ()
    format: str = ""
    status: str = ""
    named: bool = True
    row_formulas: list[str] = field(default_factory=list)
    instead: dict[int, str] = field(default_factory=dict)

    @property
    def typed(self) -> bool:
        """Whether a user types into it."""
        if isinstance(self.declared, Input):
            return not self.declared.locked
        return isinstance(self.declared, Column) and not (
            self.formula or self.declared.count or self.declared.made or self.declared.fixed
        )

    @property
    def scalar(self) -> bool:
        """Whether it is one cell with a name of its own, not a column."""
        return not self.table and self.kind in ("input", "constant", "result")

    @property
    def last_row(self) -> int:
        """Last row it covers, 0-based."""
        return self.row + self.rows - 1

    @property
    def defined_name(self) -> str:
        """The workbook's name for it; a reference table's starts with `table_`, since its own may be short (`tee`)."""
        plain = self.name.replace(".", "_")
        return f"table_{plain}" if self.kind == "reference" else plain


@dataclass(slots=True)
class Line:
    """Running text across the printed width."""

    row: int
    text: str
    style: str  # "title", "purpose", "heading", "text", "caution", "note", "source"
    formula: str = ""


@dataclass(slots=True)
class ScalarRow:
    """A label, its cell, unit, note and source; a typed cell's limits are tested in `check`, in the note's place."""

    row: int
    field: Field
    note: str
    source: str
    last: int  # last column of its value; a text may run over several
    unit: int  # column of its unit, -1: none
    beside: int  # column where note and source start
    check: Field | None = None


@dataclass(slots=True)
class TablePlace:
    """Where a table stands: heading rows, body, its fields from left to right."""

    table: Table | None
    name: str
    title: str
    top: int  # first heading row
    header: int  # row with the column labels
    first: int
    rows: int
    fields: list[Field]
    seed: bool = False
    source: str = ""


@dataclass(slots=True)
class ChartPlace:
    """Where a chart stands."""

    row: int
    chart: Chart


@dataclass(slots=True)
class SheetPlan:
    """One worksheet with all that stands on it."""

    template: SheetTemplate
    tab: str
    widths: list[float]
    printed: int = 0  # printed columns; workings stand right of them
    lines: list[Line] = field(default_factory=list)
    scalars: list[ScalarRow] = field(default_factory=list)
    tables: list[TablePlace] = field(default_factory=list)
    charts: list[ChartPlace] = field(default_factory=list)
    samples: int = -1  # row where the kinds of cell are shown, -1: nowhere
    workings: list[tuple[int, int, CellValue, bool]] = field(default_factory=list)  # row, column, content, formula?
    last_row: int = 0
    last_printed: int = 0  # rows below it stay on the screen
    plain: bool = True  # no table on it: the grid is label, value, unit, note, source

    def value_column(self) -> int:
        """Column of a scalar's value: the first that leaves the label its width."""
        if self.plain:
            return 1
        reached = 0.0
        for index, width in enumerate(self.widths[: self.printed]):
            if reached >= LABEL_CHARACTERS and width >= 7:
                return index
            reached += width
        return 1

    def value_columns(self, unit_kind: str) -> tuple[int, int, int, int]:
        """Columns of a scalar row: value, its last column, unit (-1: none), note."""
        first = last = self.value_column()
        wanted = {"text": TEXT_CHARACTERS, "date": DATE_CHARACTERS}.get(unit_kind, 0.0)
        if self.widths[first] >= wanted:
            return first, last, first + 1, first + 2
        while last + 1 < self.printed and sum(self.widths[first : last + 1]) < wanted:
            last += 1
        return first, last, -1, last + 1


@dataclass(slots=True)
class Book:
    """A workbook laid out: sheets, fields by name, macros by name."""

    template: WorkbookTemplate
    edition: str
    units: Units
    sheets: list[SheetPlan] = field(default_factory=list)
    fields: dict[str, Field] = field(default_factory=dict)
    tables: dict[str, TablePlace] = field(default_factory=dict)
    macros: dict[str, expression.MacroBody] = field(default_factory=dict)
    lists: dict[tuple[str, ...], Field] = field(default_factory=dict)
    job: Job | None = None
    cases: list[Case] = field(default_factory=list)
    results: list[str] = field(default_factory=list)
    defined: dict[str, str] = field(default_factory=dict)

    def add(self, made: Field) -> Field:
        """Register a field; two of one name are the author's mistake."""
        check_name(f"table_{made.name}" if made.kind == "reference" else made.name, made.file)
        if made.name in self.fields:
            raise TemplateError(f"the name {made.name!r} is given twice", file=made.file, place=made.label)
        other = self.defined.setdefault(made.defined_name, made.name)
        if other != made.name:
            raise TemplateError(
                f"{other!r} and {made.name!r} are both {made.defined_name} in the workbook",
                file=made.file,
                place=made.label,
            )
        self.fields[made.name] = made
        return made


def column_letters(column: int) -> str:
    """Letters of a 0-based column: 0 is A, 26 is AA."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def check_name(name: str, file: str) -> None:
    """A name must be safe as a spreadsheet's defined name in every program.

    Lower case letters, digits and underscores; at least four letters before the dot (so that `legs_up` can never be
    read as a cell address or in row-and-column notation).
    """
    space, _, rest = name.partition(".")
    if not NAME.fullmatch(space) or not NAME.fullmatch(rest) or len(name) > LONGEST_NAME:
        raise TemplateError(
            f"{name!r} cannot be a name", file=file,
            allowed=f"a name is lower case letters, digits and underscores, a letter first, {LONGEST_NAME} at most",
        )  # fmt: skip
    letters = space.split("_")[0]
    if len(letters) < 4 or not letters.isalpha():
        raise TemplateError(
            f"{name!r} could be read as a cell address",
            file=file,
            allowed="a sheet or table name starts with four letters",
        )
    if space in RESERVED or rest in RESERVED:
        raise TemplateError(
            f"{name!r} has a word with a meaning of its own", file=file, allowed=f"not {', '.join(RESERVED)}"
        )


def check_tab(tab: str, file: str, taken: Sequence[str]) -> None:
    """A sheet's tab must be one that every program takes, and no other sheet's."""
    if not tab or len(tab) > 31 or set(tab) & set("[]:*?/\\") or tab.startswith("'") or tab.endswith("'"):
        raise TemplateError(
            f"{tab!r} cannot be a sheet's tab", file=file, allowed="1 to 31 characters, none of [ ] : * ? / \\"
        )
    if tab.casefold() in (other.casefold() for other in (HIDDEN_TAB, *taken)):
        raise TemplateError(f"the tab {tab!r} is given twice", file=file)


def text_height(text: str, width: float) -> int:
    """Rows of text that a text needs in a column `width` characters wide (measured for Arial 10)."""
    return max(1, sum(math.ceil(max(1, len(part)) / max(1.0, width * 1.15)) for part in text.split("\n")))


HIDDEN_TAB = "Names"
"""The hidden sheet: a row for each name, limits and drop-down lists to the right."""

HIDDEN_HEAD = [
    "name", "kind", "unit", "unit_kind", "rows", "table", "key", "typed", "fingerprint", "cell", "working", "label",
    "defined", "job",
]  # fmt: skip
"""What the hidden sheet tells of a name, one column each.

The fingerprint is that of the formula, or of each row's formula where they differ (separated by blanks), or of the
fixed values; a typed cell has none. A line of kind `cells` has no name: it is for formulas that stand outside the
fields.
"""

HIDDEN_COLUMNS = len(HIDDEN_HEAD)
SCHEMA = 1
"""Which form of the hidden sheet it is."""
