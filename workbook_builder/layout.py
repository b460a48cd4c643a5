"""Layout: every declared thing gets its place, a sheet, a row and a column.

After this step each name (`rules.gap`, `trays.length`, `flour.price`) is a `Field` that knows its cells, its unit and
the formula text it was declared with. Nothing is computed here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

import msgspec

from . import expression, reference
from .book import (
    CHART_ROW,
    HIDDEN_COLUMNS,
    HIDDEN_TAB,
    NAME,
    Book,
    ChartPlace,
    Field,
    Line,
    ScalarRow,
    SheetPlan,
    TablePlace,
    check_tab,
)
from .errors import JobError, TemplateError, naming, unknown
from .job import TRUTHS, TYPED_KEY, YES_NO, Job, JobValue, Typed
from .quantity import By, Units
from .tables import Library
from .template import (
    Chart,
    Check,
    Column,
    Constant,
    Formula,
    Input,
    Macro,
    Result,
    Section,
    SheetTemplate,
    Shelf,
    Table,
    WorkbookTemplate,
    cases_of,
    for_edition,
)

PIXELS_PER_CHARACTER = 7.5  # of a column, with the room that is left for other fonts
PLAIN_GRID = [22.0, 26.0, 9.0, 46.0, 52.0]  # sheets without a table: label, value, unit, note, source
# label and value stand side by side on a phone 400 pixels wide
HELPER = "Helper sheet: {tab} is drawn from it. Nothing to read or to type here; a print shows this heading alone."
TEXT_KINDS = ("text", "date")
LEVELS = {"stop": "What cannot be", "caution": "What to look at"}


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
        if table.rows.startswith(reference.OF_TABLE):
            return self.library.table(table.rows.removeprefix(reference.OF_TABLE)).row_count
        if table.rows in reference.LISTS:
            return len(reference.facts_of_list(self.library, table.rows, self.book.edition))
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
                columns += told_columns([check for check in checks if check.level == level], level)
            if not any(column.name == "message" for column in columns):
                made = Column(
                    name="message",
                    label="Message",
                    unit="text",
                    formula="stops & cautions",
                    width=table.message_width,
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
        lives = table.takes and column.from_job.startswith(f"{table.takes}.")
        if column.from_job and not lives and (table.as_many_as or not isinstance(table.rows, str)):
            raise TemplateError(
                f"from_job = {column.from_job!r}, and the rows of {table.name!r} are not the job's",
                allowed='say with rows = "…" which of the job\'s lists they are',
            )
        if column.choices_for and not isinstance(column.choices, str):
            raise TemplateError("choices_for, and no column of a table to choose from")

    def typed_limits(self, space: str, column: Column | Input) -> Iterator[tuple[str, str, list[str]]]:
        """Conditions that test a typed cell's limits by formula too, since pasting removes validation."""
        name = column.name
        if isinstance(column, Column) and (column.formula or column.count or column.made or column.fixed):
            return
        # where the builder alone reads a cell, a number that some program made of a word is that word still
        joined = ' & ""' if self.book.template.describes_job else ""
        if isinstance(column, Column) and column.choices_for:
            others = " and ".join(other.replace("_", " ") for other in column.choices_for.values())
            beside = " * ".join(f"({key} = {other}{joined})" for key, other in column.choices_for.items())
            yield (
                f'IF({name} = "", FALSE, SUMPRODUCT(({column.choices} = {name}{joined}) * {beside}) = 0)',
                (f"{column.label}: not in the list for this {others}. "),
                [],
            )
            return
        if column.choices:
            if isinstance(column.choices, str):
                source = column.choices
            else:
                source = self.list_field(tuple(column.choices)).name
            if self.book.template.describes_job and tuple(column.choices) == YES_NO:
                # a typed TRUE is no text, and the number 1 in some programs: the builder looks at it
                words = self.list_field(tuple(TRUTHS)).name
                wrong = f"IF(ISTEXT({name}), NOT(ISNUMBER(MATCH({name}, {words}, 0))), FALSE)"
                yield f'IF({name}="", FALSE, {wrong})', f"{column.label}: ✗ neither yes nor no. ", []
                return
            yield (
                f'IF({name}="", FALSE, NOT(ISNUMBER(MATCH({name}{joined}, {source}, 0))))',
                f"{column.label}: not in the list. ",
                [],
            )
            return
        if column.unit == "text":
            return
        wanted = {"date": "a date", "boolean": "true or false"}.get(column.unit, "a number")
        yield f'AND(ISTEXT({name}), {name} <> "")', f"{column.label}: not {wanted}. ", []
        for declared, sign, word in ((column.minimum, "<", "under"), (column.maximum, ">", "over")):
            limit = for_edition(declared, self.book.edition)
            if limit is None:
                continue
            made = self.limit_field(space, name, word, limit, column)
            said = self.limit_said(declared, column.unit) if limit is declared else str(limit)
            yield f"{name} {sign} {made}", f"{column.label}: {word} {said}. ", [name]

    def limit_said(self, limit: object, kind: str) -> str:
        """A limit that is declared once for both editions, in the unit of this one."""
        shown = self.unit_of(kind)
        if not isinstance(limit, str) or not shown or limit.endswith(f" {shown}"):
            return str(limit)
        value = self.quantity(limit, kind, f"limit {limit}")
        return f"{value:.12g} {shown}" if isinstance(value, float) else str(limit)

    def limit_field(self, space: str, name: str, word: str, limit: object, column: Column | Input) -> str:
        """A cell on the hidden sheet that holds a limit, so that no formula buries a constant."""
        full = f"{space}_limits.{name}_{word}"
        if full not in self.book.fields:
            unit = self.unit_of(column.unit)
            self.book.add(
                Field(
                    full, "list", HIDDEN_TAB, len(self.hidden_limits) + 1, HIDDEN_COLUMNS + 1, column.unit, unit, full,
                    "", values=[self.quantity(limit, column.unit, f"{space}.{name}")],
                )
            )  # fmt: skip
            self.hidden_limits.append(full)
        return full

    hidden_limits: list[str]

    def list_field(self, choices: tuple[str, ...]) -> Field:
        """The hidden range that a literal drop-down points at; equal lists share one."""
        if choices not in self.book.lists:
            number = len(self.book.lists) + 1
            made = Field(
                f"choice_lists.list_{number}", "list", HIDDEN_TAB, 1, HIDDEN_COLUMNS + 1 + number, "text", "",
                f"List {number}", "", rows=len(choices), values=choices,
            )  # fmt: skip
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
        return job_cell(self.book, value, kind, place)

    # -- sheets --------------------------------------------------------------------------------------------------

    def sheet(self, template: SheetTemplate) -> SheetPlan:
        """Lay out one sheet from top to bottom."""
        plan = SheetPlan(template, template.tab, list(PLAIN_GRID))
        columns = {table.name: self.columns_of(table, template) for table in template.table}
        if columns:
            plan.widths, plan.printed = self.grid(columns)
        else:
            groups = (template.input, template.constant, template.result)
            sourced = any(entry.source for group in groups for entry in group)
            plan.widths = list(PLAIN_GRID if sourced else PLAIN_GRID[:-1])
            plan.printed = len(plan.widths)
        plan.plain = not columns
        widest = max((chart.wide for chart in template.chart), default=0)
        missing = widest / PIXELS_PER_CHARACTER - sum(plan.widths[: plan.printed])
        if missing > 0:
            plan.widths[plan.printed - 1] += missing  # a drawing must not run over the printed edge
        row = below_heading = self.heading(plan, template)
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
        cut = [place.first + place.table.prints - 1 for place in plan.tables if place.table and place.table.prints]
        plan.last_printed = min([row, *cut])
        if template.serves:
            plan.last_printed = below_heading - 1
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
        if template.serves:
            names = {other.name: other.tab for other in self.templates}
            if template.serves not in names:
                raise TemplateError(f"serves = {template.serves!r}", allowed=unknown(template.serves, names, "sheets"))
            plan.lines.append(Line(row, HELPER.format(tab=names[template.serves]), "note"))
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
            row += 4  # one for each kind of cell
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
                    Field(
                        name, "result", plan.tab, row, 0, "text", "", "Check", template.file, formula=check_text(told)
                    )
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
            loose = self.typed_loose(name)
            own = self.book.job is None or self.book.job.units == self.book.edition or not entry.unconverted
            given = self.from_job(entry.from_job, entry.unit, name) if own else None
            if given is None:
                given = self.quantity(entry.default, entry.unit, name)
            made.values = [given if loose is None else self.loose_value(loose, entry.unit, name)]
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
            made.values = [] if table.takes else self.job_column(table, column, rows, name)
            made.instead = self.instead(table, column)
        if made.typed and (loose := self.typed_loose(name)) is not None:
            made.values = self.with_loose(list(made.values), loose, column.unit, name, rows)
            if isinstance(loose, dict):  # what is typed over a formula stays
                made.instead = {at: text for at, text in made.instead.items() if str(at + 1) not in loose}
        return made

    def with_loose(
        self, values: list[JobValue | float | None], loose: Typed, kind: str, name: str, rows: int
    ) -> list[JobValue | float | None]:
        """A typed column with what the job says of it by name: the whole list, or some rows by number."""
        each = loose if isinstance(loose, dict) else None
        listed = loose if isinstance(loose, list) else [] if each is not None else [loose]
        most = max(map(int, each), default=0) if each is not None else len(listed)
        if most > rows:
            raise JobError(
                f"{name} has row {most}" if each is not None else f"{name} has {most} values",
                file=self.book.job.file if self.book.job else "", place=TYPED_KEY,
                allowed=f"its column has {rows} rows",
            )  # fmt: skip
        if each is None:
            return [self.loose_value(value, kind, name) for value in listed]
        whole = [*values, *[None] * (rows - len(values))]
        for row, value in each.items():
            whole[int(row) - 1] = self.loose_value(value, kind, name)
        return whole

    def typed_loose(self, name: str) -> Typed | None:
        """What the job's table of loose typed cells says of a cell or column, None where it is silent."""
        return self.book.job.typed.get(name) if self.book.job else None

    def loose_value(self, value: Typed, kind: str, name: str) -> JobValue | float | None:
        """A loose value as its cell holds it: empty text is a blank, plain numbers are in the job's unit.

        Raises:
            JobError: it is not of the cell's kind.
        """
        job = self.book.job
        assert job is not None
        if value == "" or isinstance(value, (list, dict)):
            return None
        if isinstance(value, date):
            return value
        try:
            if self.book.units.kinds[kind].holds == "quantity":
                said = self.book.units.parse(value, kind, self.book.units.shown(kind, job.units))
                return self.book.units.cell_value(said, kind, self.book.edition)
            return self.book.units.cell_value(value, kind, self.book.edition)
        except ValueError as wrong:
            raise JobError(str(wrong), file=job.file, place=f"{TYPED_KEY}, {name}") from wrong

    def instead(self, table: Table, column: Column) -> dict[int, str]:
        """Rows whose typed cell gets a formula, because the job says the value by way of another one."""
        if not column.instead or self.book.job is None or not isinstance(table.rows, str):
            return {}
        found: dict[int, str] = {}
        for at, row in enumerate(self.book.job.rows(table.rows)):
            for path, formula in column.instead.items():
                own = row.value(column.from_job)
                if isinstance(own, By) if path == "by" else own is None and row.value(path) is not None:
                    found[at] = formula
        return found

    def by_column(self, column: Column, table: Table, rows: int, name: str) -> list[JobValue | float | None]:
        """The quantity by which the job gives one of several components, one value a row."""
        if self.book.job is None or not isinstance(table.rows, str):
            return []
        given = [
            next(
                (self.cell(value, column.unit, name) for path in column.by if isinstance(value := row.value(path), By)),
                None,
            )
            for row in self.book.job.rows(table.rows)
        ]
        return given + [None] * (rows - len(given))

    def job_column(self, table: Table, column: Column, rows: int, name: str) -> list[JobValue | float | None]:
        """What the job says for a typed column, one value a row, None where it is silent."""
        if self.book.job is None or not isinstance(table.rows, str):
            return []
        given = [self.cell(row.value(column.from_job), column.unit, name) for row in self.book.job.rows(table.rows)]
        return given + [None] * (rows - len(given))


EXAMPLES, RESULTS = "examples", "results"
"""What a made table has a row for: each expected value of a worked example, each result."""


def job_cell(book: Book, value: JobValue | None, kind: str, place: str) -> JobValue | float | None:
    """A job's value as a cell of a kind holds it in the book's edition.

    Raises:
        TemplateError: the value is of another kind; `place` names the cell.
    """
    if isinstance(value, bool) and kind == "text":
        return YES_NO[0] if value else None
    if value is None or isinstance(value, (str, bool)):
        return value
    if isinstance(value, By):
        if kind == "text":
            return str(value)
        if value.quantity.unit not in book.units.kinds[kind].accept:
            return None
        value = value.quantity
    try:
        return book.units.cell_value(value, kind, book.edition)
    except ValueError as wrong:
        raise TemplateError(str(wrong), place=place) from wrong


def told_columns(checks: Sequence[Check], level: str) -> list[Column]:
    """Columns that say what is wrong in a row: the whole, and one for each part that is told apart, in its place."""
    told: dict[str, list[str]] = {"": []}
    for check in checks:
        if check.apart and check.apart not in told:
            told[""].append(f"{check.apart}_{level}s")
        told.setdefault(check.apart, []).append(check_text(check))
    return [
        Column(
            name=f"{part}_{level}s" if part else f"{level}s",
            label=f"{LEVELS[level]}: {part}" if part else LEVELS[level],
            unit="text",
            formula=" & ".join(texts) or '""',
            working=True,
            width=20,
        )
        for part, texts in sorted(told.items(), reverse=True)
    ]


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
        templates = rolled_up([of_edition(shelf.sheet(name), edition) for name in workbook.sheets])
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
        with naming(plan.template.file):
            if plan.template.made == "tables":
                reference.used_tables_sheet(book, library, plan)
            elif plan.template.made == "reference":
                reference.whole_tables_sheet(book, library, plan)
        for place in plan.charts:
            with naming(plan.template.file, f"chart {place.chart.title}"):
                check_chart(place.chart, book)
    check_sorted(book)
    check_typed(book)
    if workbook.headline and workbook.headline not in book.fields:
        raise TemplateError(
            f"unknown name {workbook.headline!r}", file=workbook.file, place="headline",
            allowed=unknown(workbook.headline, book.fields, "names"),
        )  # fmt: skip
    return book


def check_typed(book: Book) -> None:
    """Every loose typed value of the job must have a cell.

    Raises:
        JobError: there is no such typed cell; the nearest name is offered.
    """
    if book.job is None:
        return
    known = [made.name for made in book.fields.values() if made.typed]
    for name in book.job.typed:
        if name not in known:
            raise JobError(
                f"no typed cell is named {name!r}", file=book.job.file, place=TYPED_KEY,
                allowed=unknown(name, known, "names"),
            )  # fmt: skip


def check_sorted(book: Book) -> None:
    """A drop-down that depends on another cell shows neighbouring rows: they must stand together in the table."""
    for made in book.fields.values():
        for key in getattr(made.declared, "choices_for", ()):
            values = list(book.fields[key].values) if key in book.fields else []
            runs = [value for at, value in enumerate(values) if at == 0 or value != values[at - 1]]
            if len(runs) > len(set(runs)):
                raise TemplateError(
                    f"choices_for goes by {key}, and equal values of it do not stand together",
                    file=made.file,
                    place=made.name,
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
            raise TemplateError(
                f"x = {series.x}, y = {series.y}", allowed="one column each, or two each where each = true"
            )
        for name in filter(None, (*series.x, *series.y, series.labels)):
            if name not in known:
                raise TemplateError(f"unknown column {name!r}", allowed=unknown(name, known, "columns"))
        if series.labels and not series.each:
            raise TemplateError("labels need each = true: only a line of its own has a live name")
        if series.each:
            far = {
                book.fields[f"{table}.{second}"].column - book.fields[f"{table}.{first}"].column
                for first, second in (series.x, series.y)
            }
            if len(far) > 1 or min(far) < 1:
                raise TemplateError(
                    f"{series.x!r} and {series.y!r} are not as many columns, the second to the right of the first",
                    allowed="a line goes through the columns from the first to the second, as many x as y",
                )


def of_edition(template: SheetTemplate, edition: str) -> SheetTemplate:
    """A sheet without the tables that only the other edition has."""
    tables = [table for table in template.table if table.edition in ("", edition)]
    return template if len(tables) == len(template.table) else msgspec.structs.replace(template, table=tables)


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
                every = [
                    f'IF({template.name}.check_{at} = "", 0, 1)'
                    for at, other in enumerate(template.check, start=1)
                    if other.counts_in == check.counts_in
                ]
                label = f"{template.title}: things to see to"
                count(check, template.file, f"{template.name}_checks", label, " + ".join(every))
    return [
        msgspec.structs.replace(template, result=[*template.result, *made[template.name]]) for template in templates
    ]
