"""Layout: every declared thing gets its place, a sheet, a row and a column.

After this step each name (`rules.root_gap`, `legs.length`, `pipe.wall`) is a `Field` that knows its cells, its unit and the
formula text it was declared with. Nothing is computed here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, cast

import msgspec

from . import expression
from .errors import TemplateError, naming, unknown
from .job import Job, JobValue
from .quantity import By, Units
from .tables import Edition, Library
from .template import (
    Case,
    Chart,
    Check,
    Column,
    Constant,
    Input,
    Formula,
    Macro,
    Result,
    Section,
    Shelf,
    SheetTemplate,
    Table,
    WorkbookTemplate,
    cases_of,
    for_edition,
)

CellValue = float | str | bool | None

FieldKind = Literal["input", "constant", "result", "column", "reference", "list"]

LABEL_CHARACTERS = 30  # width that a scalar's label wants
PIXELS_PER_CHARACTER = 7.5  # of a column, with the room that is left for other fonts
CHART_ROW = 20  # height of a row under a chart, in pixels
TEXT_CHARACTERS = 24  # width that a scalar's text wants
PLAIN_GRID = [34.0, 26.0, 9.0, 40.0, 46.0]  # sheets without a table: label, value, unit, note, source
TEXT_KINDS = ("text", "date")
NAME = re.compile(r"[a-z][a-z0-9_]*")
LONGEST_NAME = 200
RESERVED = ("previous", "next", "above", "true", "false")
LEVELS = {"stop": "What cannot be", "caution": "What to look at"}


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
    plain: bool = True  # no table on it: the grid is label, value, unit, note, source

    def value_column(self) -> int:
        """Column of a scalar's value: the first that leaves the label its width."""
        reached = 0.0
        for index, width in enumerate(self.widths[: self.printed]):
            if reached >= LABEL_CHARACTERS and width >= 7:
                return index
            reached += width
        return 1

    def value_columns(self, unit_kind: str) -> tuple[int, int, int, int]:
        """Columns of a scalar row: value, its last column, unit (-1: none), note."""
        first = last = self.value_column()
        if unit_kind != "text" or self.widths[first] >= TEXT_CHARACTERS:
            return first, last, first + 1, first + 2
        while last + 1 < self.printed and sum(self.widths[first : last + 1]) < TEXT_CHARACTERS:
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
                f"{other!r} and {made.name!r} are both {made.defined_name} in the workbook", file=made.file, place=made.label
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

    Lower case letters, digits and underscores; at least four letters before the dot (so that `legs_up` can never be read as
    a cell address or in row-and-column notation).
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
            f"{name!r} could be read as a cell address", file=file, allowed="a sheet or table name starts with four letters"
        )
    if space in RESERVED or rest in RESERVED:
        raise TemplateError(f"{name!r} has a word with a meaning of its own", file=file, allowed=f"not {', '.join(RESERVED)}")


def check_tab(tab: str, file: str, taken: Sequence[str]) -> None:
    """A sheet's tab must be one that every program takes, and no other sheet's."""
    if not tab or len(tab) > 31 or set(tab) & set("[]:*?/\\") or tab.startswith("'") or tab.endswith("'"):
        raise TemplateError(f"{tab!r} cannot be a sheet's tab", file=file, allowed="1 to 31 characters, none of [ ] : * ? / \\")
    if tab.casefold() in (other.casefold() for other in (HIDDEN_TAB, *taken)):
        raise TemplateError(f"the tab {tab!r} is given twice", file=file)


def text_height(text: str, width: float) -> int:
    """Rows of text that a text needs in a column `width` characters wide (measured for Arial 10)."""
    return max(1, sum(math.ceil(max(1, len(part)) / max(1.0, width * 1.15)) for part in text.split("\n")))


class _Layout:
    """The work of laying out one workbook; `lay_out` is its only door."""

    def __init__(self, book: Book, shelf: Shelf, library: Library, templates: list[SheetTemplate]) -> None:
        self.book = book
        self.shelf = shelf
        self.library = library
        self.templates = templates
        self.declared_tables: dict[str, tuple[Table, SheetTemplate]] = {}
        for template in templates:
            for table in template.table:
                if table.name in self.declared_tables or table.name in library.names():
                    raise TemplateError(f"there is another table {table.name!r}", file=template.file, place=table.title)
                self.declared_tables[table.name] = (table, template)

    # -- counting rows -------------------------------------------------------------------------------------------

    def row_count(self, name: str, asked: tuple[str, ...] = ()) -> int:
        """How many rows a table gets."""
        if name not in self.declared_tables:
            raise TemplateError(f"there is no table {name!r}", allowed=unknown(name, self.declared_tables, "tables"))
        table, template = self.declared_tables[name]
        if name in asked:
            raise TemplateError(f"table {name!r} asks for as many rows as itself", file=template.file)
        if table.as_many_as:
            return sum(self.row_count(other, (*asked, name)) for other in table.as_many_as) + table.spare
        if isinstance(table.rows, int):
            return max(1, table.rows)
        if table.rows == EXAMPLES:
            return max(1, len(self.book.cases))
        if table.rows == RESULTS:
            return max(1, len(self.declared_results()))
        if self.book.job is None:
            return max(1, table.blank)
        return max(1, len(self.book.job.rows(table.rows)) + table.spare)

    def declared_results(self) -> list[tuple[SheetTemplate, str, Result | Column]]:
        """Every result and computed column of the workbook with its full name, in the order of the sheets."""
        found: list[tuple[SheetTemplate, str, Result | Column]] = []
        for template in self.templates:
            if template.made:
                continue
            found += [(template, f"{template.name}.{result.name}", result) for result in template.result]
            for table in template.table:
                found += [
                    (template, f"{table.name}.{column.name}", column)
                    for column in table.column
                    if column.formula and column.edition in ("", self.book.edition)
                ]
        return found

    # -- columns of a table --------------------------------------------------------------------------------------

    def width_of(self, column: Column, unit: str) -> float:
        """Width in characters: what is declared, or what kind, label and unit ask for."""
        if column.width:
            return column.width
        words = [len(word) + (2 if not column.formula and not column.count else 0) for word in column.label.split()]
        kind = {"text": 12.0, "length": 9.0, "number": 7.0}.get(column.unit, 8.0)
        return max(kind, max(words, default=0) * 1.15 + 1.0, len(unit) + 2.0)

    def columns_of(self, table: Table, template: SheetTemplate) -> list[Column]:
        """Columns of a table with the ones that its checks make."""
        columns = [column for column in table.column if column.edition in ("", self.book.edition)]
        for column in columns:
            with naming(template.file, f"{table.name}.{column.name}"):
                self.unit_of(column.unit)
                self.one_way(table, column)
        typed = [
            Check(when=when, say=say, needs=needs)
            for column in columns
            for when, say, needs in self.typed_limits(table.name, column)
        ]
        checks = [*typed, *table.check]
        if checks:
            for level in ("stop", "caution"):
                told = [check_text(check) for check in checks if check.level == level]
                columns.append(
                    Column(
                        name=f"{level}s",
                        label=LEVELS[level],
                        unit="text",
                        formula=" & ".join(told) or '""',
                        working=True,
                        width=20,
                    )
                )
            if not any(column.name == "message" for column in columns):
                made = Column(
                    name="message", label="Message", unit="text", formula="stops & cautions", width=table.message_width,
                    method="what cannot be made, then what to look at",
                )
                printed = sum(not column.working for column in columns)
                columns.insert(printed, made) if all(
                    not column.working for column in columns[:printed]
                ) else columns.append(made)
        return columns

    @staticmethod
    def one_way(table: Table, column: Column) -> None:
        """A column is filled in one way, and from the job only where the job has its rows."""
        typed = column.typed or column.from_job or column.by
        if sum(map(bool, (column.formula, column.count, column.made, column.fixed, typed))) > 1:
            raise TemplateError(
                "the column is filled in two ways", allowed="one of formula, count, made, fixed, or typed with from_job"
            )
        if column.from_job and (table.as_many_as or not isinstance(table.rows, str)):
            raise TemplateError(
                f"from_job = {column.from_job!r}, and the rows of {table.name!r} are not the job's",
                allowed="say with rows = \"…\" which of the job's lists they are",
            )
        if column.choices_for and not isinstance(column.choices, str):
            raise TemplateError("choices_for, and no column of a table to choose from")

    def typed_limits(self, space: str, column: Column | Input) -> Iterator[tuple[str, str, list[str]]]:
        """Conditions that test a typed cell's limits by formula too, since pasting removes validation."""
        name = column.name
        if isinstance(column, Column) and (
            column.formula or column.count or column.made or column.fixed
        ):
            return
        if isinstance(column, Column) and column.choices_for:
            others = " and ".join(other.replace("_", " ") for other in column.choices_for.values())
            beside = " * ".join(f"({key} = {other})" for key, other in column.choices_for.items())
            yield f'IF({name} = "", FALSE, SUMPRODUCT(({column.choices} = {name}) * {beside}) = 0)', (
                f"{column.label}: not in the list for this {others}. "
            ), []
            return
        if column.choices:
            if isinstance(column.choices, str):
                source = column.choices
            else:
                source = self.list_field(tuple(column.choices)).name
            yield f'IF({name}="", FALSE, NOT(ISNUMBER(MATCH({name}, {source}, 0))))', (
                f"{column.label}: not in the list. "
            ), []
            return
        if column.unit == "text":
            return
        low, high = (for_edition(value, self.book.edition) for value in (column.minimum, column.maximum))
        wanted = {"date": "a date", "boolean": "true or false"}.get(column.unit, "a number")
        yield f'AND(ISTEXT({name}), {name} <> "")', f"{column.label}: not {wanted}. ", []
        for limit, sign, word in ((low, "<", "under"), (high, ">", "over")):
            if limit is None:
                continue
            made = self.limit_field(space, name, word, limit, column)
            yield f"{name} {sign} {made}", f"{column.label}: {word} {limit}. ", [name]

    def limit_field(self, space: str, name: str, word: str, limit: object, column: Column | Input) -> str:
        """A cell on the hidden sheet that holds a limit, so that no formula buries a constant."""
        full = f"{space}_limits.{name}_{word}"
        if full not in self.book.fields:
            unit = self.unit_of(column.unit)
            self.book.add(
                Field(full, "list", HIDDEN_TAB, len(self.hidden_limits) + 1, HIDDEN_COLUMNS + 1, column.unit, unit, full, "",
                      values=[self.quantity(limit, column.unit, f"{space}.{name}")])
            )
            self.hidden_limits.append(full)
        return full

    hidden_limits: list[str]

    def list_field(self, choices: tuple[str, ...]) -> Field:
        """The hidden range that a literal drop-down points at; equal lists share one."""
        if choices not in self.book.lists:
            number = len(self.book.lists) + 1
            made = Field(
                f"lists.list_{number}", "list", HIDDEN_TAB, 1, HIDDEN_COLUMNS + 1 + number, "text", "", f"List {number}", "",
                rows=len(choices), values=choices,
            )  # fmt: skip
            made.name = f"choice_lists.list_{number}"
            self.book.lists[choices] = self.book.add(made)
        return self.book.lists[choices]

    # -- values --------------------------------------------------------------------------------------------------

    def formula(self, said: Formula) -> str:
        """A declared formula in this edition."""
        text = for_edition(said, self.book.edition)
        if not text:
            raise TemplateError(f"there is no formula for the {self.book.edition} edition")
        return str(text)

    def unit_of(self, kind: str) -> str:
        """Unit that this edition shows for a kind."""
        try:
            return self.book.units.shown(kind, self.book.edition)
        except KeyError as wrong:
            raise TemplateError(
                f"unknown unit kind {kind!r}", allowed=unknown(kind, self.book.units.kinds, "kinds")
            ) from wrong

    def quantity(self, value: object, kind: str, place: str) -> JobValue | float | None:
        """A declared value ("1/8 in", 3, "text") as a cell holds it in this edition."""
        value = for_edition(value, self.book.edition)
        if value is None or kind == "text" or isinstance(value, bool):
            return value  # type: ignore[return-value]
        try:
            if kind == "date":
                return date.fromisoformat(str(value))
            return self.book.units.cell_value(value, kind, self.book.edition)
        except ValueError as wrong:
            raise TemplateError(str(wrong), place=place) from wrong

    def from_job(self, path: str, kind: str, place: str) -> JobValue | float | None:
        """A scalar's value in the job, None where the job does not say it."""
        if self.book.job is None or not path:
            return None
        return self.cell(self.book.job.value(path), kind, place)

    def cell(self, value: JobValue | None, kind: str, place: str) -> JobValue | float | None:
        """A job's value as a cell holds it in this edition."""
        if isinstance(value, bool) and kind == "text":
            return "yes" if value else None  # programs keep true and false differently; a word stays a word
        if value is None or isinstance(value, (str, bool)):
            return value
        if isinstance(value, By):
            if value.quantity.unit not in self.book.units.kinds[kind].accept:
                return None
            value = value.quantity
        try:
            return self.book.units.cell_value(value, kind, self.book.edition)
        except ValueError as wrong:
            raise TemplateError(str(wrong), place=place) from wrong

    # -- sheets --------------------------------------------------------------------------------------------------

    def sheet(self, template: SheetTemplate) -> SheetPlan:
        """Lay out one sheet from top to bottom."""
        plan = SheetPlan(template, template.tab, list(PLAIN_GRID))
        columns = {table.name: self.columns_of(table, template) for table in template.table}
        if columns:
            plan.widths, plan.printed = self.grid(columns)
        else:
            sourced = any(entry.source for group in (template.input, template.constant, template.result) for entry in group)
            plan.widths = list(PLAIN_GRID if sourced else PLAIN_GRID[:-1])
            plan.printed = len(plan.widths)
        plan.plain = not columns
        widest = max((chart.wide for chart in template.chart), default=0)
        missing = widest / PIXELS_PER_CHARACTER - sum(plan.widths[: plan.printed])
        if missing > 0:
            plan.widths[plan.printed - 1] += missing  # a drawing must not run over the printed edge
        row = self.heading(plan, template)
        order = {section.name: section for section in template.section}
        parts: list[Section] = list(order.values())
        if "" not in order:
            parts.insert(0, Section(name=""))
        for section in parts:
            row = self.section(plan, template, section, row, columns)
        used = {entry.section for group in (template.input, template.constant, template.result) for entry in group}
        used |= {entry.section for group in (template.table, template.chart, template.check) for entry in group}
        if lost := used - {section.name for section in parts}:
            raise TemplateError(f"there is no section {sorted(lost)[0]!r}", file=template.file)
        plan.last_row = row
        return plan

    def grid(self, columns: dict[str, list[Column]]) -> tuple[list[float], int]:
        """Column widths of a sheet with tables: printed columns first, one empty column, then workings."""
        printed = [[c for c in group if not c.working] for group in columns.values()]
        working = [[c for c in group if c.working] for group in columns.values()]
        widths: list[float] = []
        for groups in (printed, working):
            most = max((len(group) for group in groups), default=0)
            widths += [
                max(self.width_of(group[i], self.unit_of(group[i].unit)) for group in groups if i < len(group))
                for i in range(most)
            ]
            if groups is printed:
                count = most
                widths.append(3.0)
        return widths, count

    def heading(self, plan: SheetPlan, template: SheetTemplate) -> int:
        """Title, purpose and cautions."""
        plan.lines.append(Line(0, template.title, "title"))
        row = 1
        if template.purpose:
            plan.lines.append(Line(row, template.purpose, "purpose"))
            row += 1
        for caution in template.cautions:
            plan.lines.append(Line(row, "⚠ " + caution, "caution"))
            row += 1
        return row

    def section(
        self,
        plan: SheetPlan,
        template: SheetTemplate,
        section: Section,
        row: int,
        columns: Mapping[str, list[Column]],
    ) -> int:
        """One section: heading, lines, scalars, charts, tables."""
        scalars = [
            entry
            for group in (template.input, template.constant, template.result)
            for entry in group
            if entry.section == section.name
        ]
        charts = [chart for chart in template.chart if chart.section == section.name]
        tables = [table for table in template.table if table.section == section.name]
        if section.title:
            row += 1
            plan.lines.append(Line(row, section.title, "heading"))
            row += 1
        for line in section.lines:
            plan.lines.append(Line(row, line, "caution" if section.caution else "text"))
            row += 1
        if section.kinds:
            plan.samples = row
            row += 2
        for entry in scalars:
            value, last, unit, beside = plan.value_columns(entry.unit)
            made = self.scalar(template, entry, plan.tab, row, value)
            note = getattr(entry, "note", "") or (entry.method if isinstance(entry, Result) else "")
            check = self.input_check(template, entry, note, made, beside)
            plan.scalars.append(ScalarRow(row, made, note, entry.source, last, unit, beside, check))
            row += 1
        for number, told in enumerate(template.check):
            if told.section == section.name:
                name = f"{template.name}.check_{number + 1}"
                self.book.add(
                    Field(name, "result", plan.tab, row, 0, "text", "", "Check", template.file, formula=check_text(told))
                )
                plan.lines.append(Line(row, "", "told", name))
                row += 1
        for chart in charts:
            plan.charts.append(ChartPlace(row, chart))
            row += math.ceil(chart.tall / CHART_ROW) + 1
        for table in tables:
            row = self.table(plan, template, table, list(columns[table.name]), row)
        return row

    def scalar(
        self, template: SheetTemplate, entry: Input | Constant | Result, tab: str, row: int, column: int
    ) -> Field:
        """A scalar's field."""
        name = f"{template.name}.{entry.name}"
        with naming(template.file, name):
            return self.book.add(self.scalar_field(template, entry, name, tab, row, column))

    def scalar_field(
        self, template: SheetTemplate, entry: Input | Constant | Result, name: str, tab: str, row: int, column: int
    ) -> Field:
        """A scalar's field, not yet registered."""
        unit = self.unit_of(entry.unit)
        made = Field(name, "input", tab, row, column, entry.unit, unit, entry.label, template.file, declared=entry)
        made.format = entry.format
        if isinstance(entry, Result):
            made.kind = "result"
            made.formula = guarded(self.formula(entry.formula), entry.needs, "")
        elif isinstance(entry, Constant):
            made.kind = "constant"
            made.values = [self.quantity(entry.value, entry.unit, name)]
            if made.values[0] is None:
                raise TemplateError(f"there is no value for the {self.book.edition} edition")
        else:
            own = self.book.job is None or self.book.job.units == self.book.edition or not entry.unconverted
            given = self.from_job(entry.from_job, entry.unit, name) if own else None
            if given is None:
                given = self.quantity(entry.default, entry.unit, name)
            made.values = [given]
        return made

    def input_check(
        self, template: SheetTemplate, entry: Input | Constant | Result, note: str, typed: Field, column: int
    ) -> Field | None:
        """The cell beside a typed one that says what is wrong with it, else its note."""
        if not isinstance(entry, Input) or entry.locked:
            return None
        told = [
            check_text(Check(when=when, say=say, needs=needs))
            for when, say, needs in self.typed_limits(template.name, entry)
        ]
        if not told:
            return None
        wrong = " & ".join(told)
        said = '"' + note.replace('"', '""') + '"'
        return self.book.add(
            Field(
                f"{typed.name}_check", "result", typed.tab, typed.row, column, "text", "", f"{entry.label}: check",
                template.file, formula=f'IF(({wrong})="", {said}, "✗ " & {wrong})' if note else wrong,
            )
        )  # fmt: skip

    def table(self, plan: SheetPlan, template: SheetTemplate, table: Table, columns: list[Column], row: int) -> int:
        """A table's heading and fields."""
        top = row + 1
        if table.note:
            plan.lines.append(Line(top + 1, table.note, "note"))
        header = top + (2 if table.note else 1) + (1 if any(column.band for column in columns) else 0)
        first = header + 2 + (1 if table.seed else 0)
        rows = self.row_count(table.name)
        printed = [column for column in columns if not column.working]
        working = [column for column in columns if column.working]
        place = TablePlace(table, table.name, table.title, top, header, first, rows, [], table.seed)
        for start, group in ((0, printed), (plan.printed + 1, working)):
            for offset, column in enumerate(group):
                place.fields.append(self.column(template, table, column, plan.tab, first, start + offset, rows))
        names = {made.name for made in place.fields}
        if table.key and f"{table.name}.{table.key}" not in names:
            raise TemplateError(f"table {table.name!r} has no column {table.key!r} to be its key", file=template.file)
        plan.tables.append(place)
        self.book.tables[table.name] = place
        return first + rows + 1

    def column(
        self, template: SheetTemplate, table: Table, column: Column, tab: str, first: int, at: int, rows: int
    ) -> Field:
        """A column's field; a formula is guarded so that blank rows stay blank."""
        name = f"{table.name}.{column.name}"
        with naming(template.file, name):
            return self.book.add(self.column_field(template, table, column, name, tab, first, at, rows))

    def column_field(
        self, template: SheetTemplate, table: Table, column: Column, name: str, tab: str, first: int, at: int, rows: int
    ) -> Field:
        """A column's field, not yet registered."""
        made = Field(
            name, "column", tab, first, at, column.unit, self.unit_of(column.unit), column.label, template.file,
            rows=rows, declared=column, table=table.name, working=column.working, format=column.format,
        )  # fmt: skip
        if column.formula:
            key = "" if column.always or table.key == column.name else table.key
            text = self.formula(column.formula)
            made.formula = guarded(text, column.needs, "" if column.needs else key)
        elif column.count:
            made.values = [float(number) for number in range(1, rows + 1)]
        elif column.fixed:
            made.values = [self.quantity(value, column.unit, name) for value in column.fixed]
        elif column.by:
            made.values = self.by_column(column, table, rows, name)
        elif column.from_job:
            made.values = self.job_column(table, column, rows, name)
            made.instead = self.instead(table, column)
        return made

    def instead(self, table: Table, column: Column) -> dict[int, str]:
        """Rows whose typed cell gets a formula, because the job says the value by way of another one."""
        if not column.instead or self.book.job is None or not isinstance(table.rows, str):
            return {}
        found: dict[int, str] = {}
        for at, row in enumerate(self.book.job.rows(table.rows)):
            for path, formula in column.instead.items():
                given = row.value(column.from_job) if path == "by" else row.value(path)
                if isinstance(given, By) if path == "by" else given is not None:
                    found[at] = formula
        return found

    def by_column(self, column: Column, table: Table, rows: int, name: str) -> list[JobValue | float | None]:
        """The quantity by which the job gives one of several components, one value a row."""
        if self.book.job is None or not isinstance(table.rows, str):
            return []
        given = [
            next((self.cell(value, column.unit, name) for path in column.by if isinstance(value := row.value(path), By)), None)
            for row in self.book.job.rows(table.rows)
        ]
        return given + [None] * (rows - len(given))

    def job_column(
        self, table: Table, column: Column, rows: int, name: str
    ) -> list[JobValue | float | None]:
        """What the job says for a typed column, one value a row, None where it is silent."""
        if self.book.job is None or not isinstance(table.rows, str):
            return []
        given = [self.cell(row.value(column.from_job), column.unit, name) for row in self.book.job.rows(table.rows)]
        return given + [None] * (rows - len(given))

    # -- reference tables ----------------------------------------------------------------------------------------

    def used_tables(self) -> dict[str, list[str]]:
        """Reference tables that any formula or drop-down names, with the columns used."""
        used: dict[str, set[str]] = {}
        known = set(self.library.names())
        texts: dict[str, Field] = {}
        for made in self.book.fields.values():
            said = [made.formula]
            if isinstance(made.declared, (Column, Input)) and isinstance(made.declared.choices, str):
                said.append(made.declared.choices)
            if isinstance(made.declared, Column):
                said += made.declared.choices_for
            texts.update((text, made) for text in said if text)
        bodies = [expression.parse_said(text, made.file, made.name) for text, made in texts.items()]
        for body in [*bodies, *(macro.body for macro in self.book.macros.values())]:
            for name in expression.names(body):
                space, _, rest = name.partition(".")
                if space in known and rest:
                    used.setdefault(space, set()).add(rest)
        return {name: sorted(used[name]) for name in self.library.names() if name in used}

    def tables_sheet(self, plan: SheetPlan) -> None:
        """Stack the reference tables that the workbook uses on one sheet, each under its title and source."""
        used = self.used_tables()
        row = plan.last_row + 1
        widths: list[float] = []
        for name, wanted in used.items():
            table = self.library.table(name)
            columns = table.columns(cast(Edition, self.book.edition))
            known = {column.name: column for column in columns}
            for column in wanted:
                if column not in known:
                    raise TemplateError(
                        f"table {name!r} has no column {column!r}", allowed=unknown(column, known, "columns")
                    )
            wanted += [known[column].status for column in wanted if known[column].status]
            keys = {one.quantity for one in table.fields if one.name in table.primary_key}
            keep = [column for column in columns if column.name in wanted or column.name in keys]
            plan.lines.append(Line(row, table.title, "heading"))
            source = "; ".join(part for part in (table.standard, table.edition_of_standard, table.status) if part)
            plan.lines.append(Line(row + 1, source, "source"))
            place = TablePlace(None, name, table.title, row, row + 2, row + 4, table.row_count, [], source=source)
            for at, reference in enumerate(keep):
                made = Field(
                    f"{name}.{reference.name}", "reference", plan.tab, place.first, at, reference.kind, reference.unit,
                    reference.title, "", rows=table.row_count, table=name, values=reference.values, status=reference.status,
                    named=reference.name in wanted,
                )  # fmt: skip
                place.fields.append(self.book.add(made))
                longest = max((len(str(v)) for v in reference.values if v is not None), default=4)
                width = min(46.0, max(8.0, longest * 1.1 + 1 if reference.kind == "text" else 9.0))
                if at == len(widths):
                    widths.append(width)
                widths[at] = max(widths[at], width)
            plan.tables.append(place)
            self.book.tables[name] = place
            row = place.first + place.rows + 1
        if widths:
            plan.widths, plan.printed, plan.last_row = widths, len(widths), row


EXAMPLES, RESULTS = "examples", "results"
"""What a made table has a row for: each expected value of a worked example, each result."""

HIDDEN_TAB = "Names"
"""The hidden sheet: a row for each name, limits and drop-down lists to the right."""

HIDDEN_HEAD = [
    "name", "kind", "unit", "unit_kind", "rows", "table", "key", "typed", "fingerprint", "cell", "working", "label",
    "defined",
]  # fmt: skip
"""What the hidden sheet tells of a name, one column each.

The fingerprint is that of the formula, or of each row's formula where they differ (separated by blanks), or of the fixed
values; a typed cell has none. A line of kind `cells` has no name: it is for formulas that stand outside the fields.
"""

HIDDEN_COLUMNS = len(HIDDEN_HEAD)
SCHEMA = 1
"""Which form of the hidden sheet it is."""


def check_text(check: Check) -> str:
    """Formula text that gives the check's sentence when its condition holds, else nothing."""
    say = check.say[1:] if check.say.startswith("=") else '"' + check.say.strip().replace('"', '""') + ' "'
    return guarded(f'IF({check.when}, {say}, "")', check.needs, "")


def guarded(formula: str, needs: Sequence[str], key: str) -> str:
    """A formula that stays blank until the cells it needs hold numbers, or its row's key is filled."""
    if needs:
        return f'IF(COUNT({", ".join(needs)}) < {len(needs)}, "", {formula})'
    return f'IF({key}="", "", {formula})' if key else formula


def macro_bodies(groups: Sequence[tuple[str, Mapping[str, Macro]]], edition: str) -> dict[str, expression.MacroBody]:
    """Macros of several files as trees for one edition; a later file may not give a name again."""
    bodies: dict[str, expression.MacroBody] = {}
    for file, group in groups:
        for name, macro in group.items():
            place = f"macro {name}"
            if name in bodies:
                raise TemplateError("it is given twice", file=file, place=place)
            if not NAME.fullmatch(name) or len(set(macro.takes)) < len(macro.takes):
                raise TemplateError(
                    "its name or what it takes cannot be used", file=file, place=place,
                    allowed="lower case letters, digits and underscores, each value named once",
                )  # fmt: skip
            text = for_edition(macro.formula, edition)
            if not text:
                raise TemplateError(f"there is no formula for the {edition} edition", file=file, place=place)
            body = expression.parse_said(text, file, place)
            bodies[name] = expression.MacroBody(tuple(macro.takes), body, file)
    return bodies


def lay_out(
    workbook: WorkbookTemplate, edition: str, shelf: Shelf, library: Library, units: Units, job: Job | None = None
) -> Book:
    """Give every declared thing of a workbook its place.

    Raises:
        TemplateError: a name twice, a name that is no name, a table without its key, an unknown unit kind.
    """
    with naming(workbook.file, "sheets and macros"):
        templates = rolled_up([shelf.sheet(name) for name in workbook.sheets])
        groups = [(f"{name}.toml", shelf.macros(name)) for name in workbook.macros]
    groups += [(template.file, template.macro) for template in templates]
    book = Book(workbook, edition, units, macros=macro_bodies(groups, edition), job=job)
    book.cases = cases_of([template for template in templates if not template.made], edition)
    work = _Layout(book, shelf, library, templates)
    work.hidden_limits = []
    book.results = [name for _, name, _ in work.declared_results()]
    for template in templates:
        with naming(template.file):
            check_tab(template.tab, template.file, [plan.tab for plan in book.sheets])
            book.sheets.append(work.sheet(template))
    for plan in book.sheets:
        if plan.template.made == "tables":
            with naming(plan.template.file):
                work.tables_sheet(plan)
        for place in plan.charts:
            with naming(plan.template.file, f"chart {place.chart.title}"):
                check_chart(place.chart, book)
    check_sorted(book)
    if workbook.headline and workbook.headline not in book.fields:
        raise TemplateError(
            f"unknown name {workbook.headline!r}", file=workbook.file, place="headline",
            allowed=unknown(workbook.headline, book.fields, "names"),
        )  # fmt: skip
    return book


def check_sorted(book: Book) -> None:
    """A drop-down that depends on another cell shows neighbouring rows: they must stand together in the table."""
    for made in book.fields.values():
        for key in getattr(made.declared, "choices_for", ()):
            values = list(book.fields[key].values) if key in book.fields else []
            runs = [value for at, value in enumerate(values) if at == 0 or value != values[at - 1]]
            if len(runs) > len(set(runs)):
                raise TemplateError(
                    f"choices_for goes by {key}, and equal values of it do not stand together", file=made.file, place=made.name
                )


def check_chart(chart: Chart, book: Book) -> None:
    """A chart's columns must be there: two that give points, or four that give where each line starts and ends."""
    if not chart.series:
        raise TemplateError("it has no series")
    for series in chart.series:
        table = series.table or chart.table
        if table not in book.tables:
            raise TemplateError(f"there is no table {table!r}", allowed=unknown(table, book.tables, "tables"))
        known = [made.name.partition(".")[2] for made in book.tables[table].fields]
        if len(series.x) != len(series.y) or len(series.x) != (2 if series.each else 1):
            raise TemplateError(f"x = {series.x}, y = {series.y}", allowed="one column each, or two each where each = true")
        for name in filter(None, (*series.x, *series.y, series.labels)):
            if name not in known:
                raise TemplateError(f"unknown column {name!r}", allowed=unknown(name, known, "columns"))
        if series.labels and not series.each:
            raise TemplateError("labels need each = true: only a line of its own has a live name")
        if series.each:
            for first, second in (series.x, series.y):
                if book.fields[f"{table}.{first}"].column + 1 != book.fields[f"{table}.{second}"].column:
                    raise TemplateError(f"{first!r} and {second!r} must be neighbouring columns")


def rolled_up(templates: Sequence[SheetTemplate]) -> list[SheetTemplate]:
    """The templates with a result for everything that is counted on another sheet (`counts_in`)."""
    made: dict[str, list[Result]] = {template.name: [] for template in templates}

    def count(check: Check, file: str, name: str, label: str, formula: str) -> None:
        target, _, section = check.counts_in.partition(".")
        if target not in made:
            raise TemplateError(
                f"counts_in = {check.counts_in!r}", file=file, place=label, allowed=unknown(target, made, "sheets")
            )
        if all(result.name != name for result in made[target]):
            made[target].append(Result(name=name, label=label, formula=formula, section=section, format="count"))

    for template in templates:
        for table in template.table:
            for check in table.check:
                if check.counts_in:
                    name, what = f"{table.name}_{check.level}s", LEVELS[check.level].lower()
                    formula = f'SUMPRODUCT(({table.name}.{check.level}s <> "") * 1)'
                    count(check, template.file, name, f"{table.title}: rows that say {what}", formula)
        for check in template.check:
            if check.counts_in:
                every = [f'IF({template.name}.check_{at} = "", 0, 1)' for at, other in enumerate(template.check, start=1)
                         if other.counts_in == check.counts_in]  # fmt: skip
                count(check, template.file, f"{template.name}_checks", f"{template.title}: things to see to", " + ".join(every))
    return [
        msgspec.structs.replace(template, result=[*template.result, *made[template.name]]) for template in templates
    ]
