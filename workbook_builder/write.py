"""Writing: the laid-out, proved and computed workbook becomes an .xlsx file's bytes.

XlsxWriter only warns where it drops a name, a list or a chart; here a warning is an error. Values are written by type,
never guessed, so that a text which starts with = stays text.
"""

from __future__ import annotations

import io
import math
import warnings
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

import xlsxwriter
from xlsxwriter.exceptions import XlsxWriterException
from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from . import style
from .book import (
    CHART_ROW,
    HIDDEN_HEAD,
    HIDDEN_TAB,
    SCHEMA,
    Book,
    CellValue,
    ChartPlace,
    Field,
    Line,
    ScalarRow,
    SheetPlan,
    TablePlace,
    column_letters,
    text_height,
)
from .errors import TemplateError
from .fingerprint import fingerprint, fingerprint_of_values
from .prove import Proof
from .render import Renderer, address, full_range, quoted
from .template import Chart, Column, Input, Result, for_edition
from .values import Computed, serial

STAMP = datetime(2000, 1, 1)
"""Creation date of every workbook: same input, same bytes."""

COLUMN_SCALE = 1.15
"""Columns are that much wider than asked: programs that lack the font put a wider one in its place."""

LAPTOP = 1330
"""Pixels across that a small laptop's screen leaves for columns."""

SMALLEST_ZOOM = 75
"""Per cent below which a sheet rather runs over the screen."""

HEADLINE_CHARACTERS = 22.0
"""Characters that a headline wants beside the title."""

READABLE = 160.0
"""Characters that running text may be wide and still stand on a laptop's screen."""

MOST_KEPT = 24.0
"""Characters of the columns that stay in sight where no key column is printed."""

LONGEST_HEADER = 200
"""Characters of a printed page's heading; the writer takes 255 with the codes."""

PAPER_SIZES = {"inch": (1, 3), "mm": (9, 8)}
"""Paper of each edition by its number in the file: Letter and Tabloid, A4 and A3."""

WIDE_SHEET = 190.0
"""Characters across above which reference tables go on the larger paper: on the usual one they would be too small."""


class _Sheet(Worksheet):  # type: ignore[misc]  # XlsxWriter tells no types
    """A worksheet that takes formulas as they are.

    XlsxWriter looks through every formula for some thirty functions of late programs and renames them, also inside
    texts.
    No template may use one of them, and the search takes most of the time that writing takes.
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")


class _Writer:
    """Writes one workbook; `write_book` is its only door."""

    def __init__(self, book: Book, proof: Proof, renderer: Renderer, computed: Computed) -> None:
        self.book = book
        self.proven = {one.field.name: one for one in proof.proven}
        self.renderer = renderer
        self.computed = computed
        self.buffer = io.BytesIO()
        self.out: Workbook = xlsxwriter.Workbook(
            self.buffer,
            {
                "in_memory": True,
                "strings_to_formulas": False,
                "strings_to_urls": False,
                "default_format_properties": {"font_name": style.FONT, "font_size": style.SIZE},
                "default_row_height": 17,
            },
        )
        self.out.set_properties({"title": book.template.title, "created": STAMP})
        self.out.set_calc_mode("auto")
        self.formats: dict[tuple[tuple[str, Any], ...], Format] = {}
        self.nameless: list[tuple[str, int, int, str]] = []  # formulas outside the fields: sheet, row, column, text
        self.sheets: dict[str, Worksheet] = {}

    def look(self, properties: Mapping[str, Any]) -> Format:
        """The workbook's format for properties; each combination is made once."""
        key = tuple(sorted(properties.items()))
        if key not in self.formats:
            self.formats[key] = self.out.add_format(dict(properties))
        return self.formats[key]

    def text(self, name: str, **more: Any) -> Format:
        """The format of a kind of running text."""
        return self.look(style.text_look(name) | more)

    # -- cells ---------------------------------------------------------------------------------------------------

    def put(self, sheet: Worksheet, row: int, column: int, value: CellValue, look: Format) -> None:
        """A fixed value, by its type."""
        if value is None:
            sheet.write_blank(row, column, None, look)
        elif isinstance(value, bool):
            sheet.write_boolean(row, column, value, look)
        elif isinstance(value, str):
            sheet.write_string(row, column, value, look)
        else:
            sheet.write_number(row, column, value, look)

    def body(self, sheet: Worksheet, field: Field, look: Format | None = None) -> None:
        """All cells of a field, in its own look or another."""
        look = look or self.look(style.cell_look(field, self.book.edition))
        values = self.computed.values[field.name]
        pattern = self.computed.patterns.get(field.name)
        if field.row_formulas:
            for at, text in enumerate(field.row_formulas):
                sheet.write_formula(field.row + at, field.column, text, look, values[at])
            return
        if pattern is None:
            marked = self.daggered(field)
            for at, value in enumerate(values):
                if single := self.computed.singles.get((field.name, at)):
                    said = self.look(style.single_look(field, self.book.edition))
                    sheet.write_formula(field.row + at, field.column, single, said, value)
                    continue
                used = look
                if at in marked:
                    used = self.look(self.dagger_look(field))
                self.put(sheet, field.row + at, field.column, value, used)
            return
        if field.scalar:
            said = self.renderer.for_people(self.proven[field.name])
            sheet.write_formula(field.row, field.column, said, look, values[0])
            return
        for row, value in enumerate(values, field.row):
            sheet.write_formula(row, field.column, pattern.at(row), look, value)

    def dagger_look(self, field: Field) -> dict[str, Any]:
        """A cell that shows † behind a number from memory; the number itself stays a number."""
        look = style.cell_look(field, self.book.edition)
        return look | {"num_format": f'{look["num_format"]}"{style.DAGGER}"'}

    def daggered(self, field: Field) -> set[int]:
        """Rows of a reference column whose values are from memory."""
        if field.kind != "reference" or field.unit_kind == "text" or not field.status:
            return set()
        status = self.book.fields.get(f"{field.table}.{field.status}")
        return {at for at, word in enumerate(status.values if status else []) if str(word).startswith("from memory")}

    # -- text ----------------------------------------------------------------------------------------------------

    def across(self, sheet: Worksheet, plan: SheetPlan, row: int, text: str, look: Format, first: int = 0) -> float:
        """Text over the printed width, or as much of it as one reads; gives the width in characters."""
        last = plan.printed - 1
        while last > first and sum(plan.widths[: last + 1]) > READABLE:
            last -= 1
        if last > first:
            sheet.merge_range(row, first, row, last, "", look)
        sheet.write_string(row, first, text, look)
        return sum(plan.widths[first : last + 1])

    def line(self, sheet: Worksheet, plan: SheetPlan, line: Line) -> None:
        """One line of running text with the height it needs."""
        if line.style == "told":
            field = self.book.fields[line.formula]
            look = self.text("caution", bg_color="#FFFFFF", left=0)
            if plan.printed > 1:
                sheet.merge_range(line.row, 0, line.row, plan.printed - 1, "", look)
            shown = self.computed.values[field.name][0]
            sheet.write_formula(line.row, 0, self.renderer.for_people(self.proven[field.name]), look, shown)
            return
        if line.style == "title":
            sheet.set_row(line.row, 28)
            sheet.write_string(line.row, 0, line.text, self.text("title"))
            return
        if line.style in ("heading", "table"):
            for column in range(plan.printed):
                sheet.write_blank(line.row, column, None, self.text(line.style))
            sheet.write_string(line.row, 0, line.text, self.text(line.style))
            sheet.set_row(line.row, 22)
            return
        width = self.across(sheet, plan, line.row, line.text, self.text(line.style))
        size = 1.12 if line.style in ("purpose", "caution") else 1.0
        sheet.set_row(line.row, 4 + 13.5 * size * text_height(line.text, width / size))

    def headline(self, sheet: Worksheet, plan: SheetPlan) -> None:
        """Job and revision at the top right of a sheet, live."""
        field = self.book.fields.get(self.book.template.headline)
        if field is None or field.tab == plan.tab or plan.printed < 3:
            return
        title = len(plan.template.title) * 2.0
        first, reached = 0, 0.0
        while first < plan.printed - 1 and reached < title:
            reached += plan.widths[first]
            first += 1
        if reached < title or sum(plan.widths[first : plan.printed]) < HEADLINE_CHARACTERS:
            return  # no room beside the title
        look = self.text("headline")
        if first < plan.printed - 1:
            sheet.merge_range(0, first, 0, plan.printed - 1, "", look)
        sheet.write_formula(0, first, f"={field.defined_name}", look, self.computed.values[field.name][0])
        self.nameless.append((plan.tab, 0, first, f"={full_range(field)}"))

    def scalar(self, sheet: Worksheet, plan: SheetPlan, row: ScalarRow) -> None:
        """A label, its cell, its unit, and note and source to the right."""
        field = row.field
        typed = f"{style.PENCIL} " if field.typed else ""
        if field.column > 1:
            sheet.merge_range(row.row, 0, row.row, field.column - 1, "", self.text("label"))
        link = field.declared.link if isinstance(field.declared, Result) else ""
        if link:
            target = next(plan.tab for plan in self.book.sheets if plan.template.name == link)
            sheet.write_url(row.row, 0, f"internal:{quoted(target)}A1", self.text("label", underline=1), field.label)
        else:
            sheet.write_string(row.row, 0, typed + field.label, self.text("label"))
        lines = text_height(typed + field.label, sum(plan.widths[: field.column]))
        wrap = {"text_wrap": True} if field.unit_kind == "text" else {}
        body = self.look(style.cell_look(field, self.book.edition) | wrap)
        if row.last > field.column:
            sheet.merge_range(row.row, field.column, row.row, row.last, "", body)
        self.body(sheet, field, body)
        if row.unit >= 0:
            sheet.write_string(row.row, row.unit, style.shown_unit(field), self.text("unit", indent=int(plan.plain)))
        note, source, beside = row.note, row.source, row.beside
        if plan.plain:
            for column, text, look in ((beside, note, "note"), (beside + 1, source, "source")):
                if text:
                    sheet.write_string(row.row, column, text, self.text(look, indent=1))
                    lines = max(lines, text_height(text, plan.widths[column]))
        elif beside < plan.printed and (note or source):
            said = "; ".join(part for part in (note, source) if part)
            width = self.across(sheet, plan, row.row, said, self.text("note"), beside)
            lines = max(lines, text_height(said, width))
        if row.check is not None:
            self.body(sheet, row.check, self.text("note", indent=int(plan.plain)))
        shown = self.computed.values[field.name][0]
        if isinstance(shown, str):
            lines = max(lines, text_height(shown, sum(plan.widths[field.column : row.last + 1])))
        sheet.set_row(row.row, 5 + 13.5 * lines)

    # -- tables --------------------------------------------------------------------------------------------------

    def table(self, sheet: Worksheet, plan: SheetPlan, place: TablePlace) -> None:
        """Headings, units and body of a table."""
        if place.table is not None:
            self.line(sheet, plan, Line(place.top, place.title, "table"))
        deepest = 1
        for field in place.fields:
            typed = f"{style.PENCIL} " if field.typed else ""
            if not field.working:
                deepest = max(deepest, text_height(typed + field.label, plan.widths[field.column] * 0.9))
            sheet.write_string(place.header, field.column, typed + field.label, self.text("head"))
            sheet.write_string(place.header + 1, field.column, style.shown_unit(field), self.text("head_unit"))
            if place.seed:
                sheet.write_blank(place.first - 1, field.column, None, self.text("seed"))
            self.body(sheet, field)
            if place.table is not None and field.declared is not None:
                self.help(sheet, place.header, field)
        sheet.set_row(place.header, 4 + 13.5 * deepest)
        if place.seed:
            sheet.set_row(place.first - 1, 4)
        self.heights(sheet, plan, place)
        self.bands(sheet, place)
        for field in place.fields:
            self.validate(sheet, field)
            self.verdict(sheet, field)

    def heights(self, sheet: Worksheet, plan: SheetPlan, place: TablePlace) -> None:
        """Row heights: what the values want now, and at least what the table asks for its later sentences."""
        wrapped = [
            (self.computed.values[field.name], plan.widths[field.column])
            for field in place.fields
            if not field.working and field.unit_kind == "text" and not field.typed
        ]
        least = place.table.lines if place.table else 1
        for at in range(place.rows):
            said = [(values[at], width) for values, width in wrapped]
            lines = max((text_height(text, width) for text, width in said if isinstance(text, str) and text), default=1)
            if max(least, lines) > 1:
                sheet.set_row(place.first + at, 4 + 12.5 * max(least, lines))

    def bands(self, sheet: Worksheet, place: TablePlace) -> None:
        """Headings over groups of neighbouring columns."""
        start = 0
        fields = place.fields
        while start < len(fields):
            band = getattr(fields[start].declared, "band", "")
            end = start
            while (
                end + 1 < len(fields)
                and getattr(fields[end + 1].declared, "band", "") == band
                and fields[end + 1].working == fields[start].working
            ):
                end += 1
            if band:
                look = self.text("band")
                if end > start:
                    first, last = fields[start].column, fields[end].column
                    sheet.merge_range(place.header - 1, first, place.header - 1, last, "", look)
                sheet.write_string(place.header - 1, fields[start].column, band, look)
            start = end + 1

    def help(self, sheet: Worksheet, row: int, field: Field) -> None:
        """What a column means, as a note on its heading."""
        declared = field.declared
        said = [getattr(declared, name, "") for name in ("note", "method", "source")]
        text = ". ".join(part for part in said if part)
        if text:
            sheet.write_comment(row, field.column, text, {"author": "", "font_name": style.FONT, "x_scale": 2.0})

    def verdict(self, sheet: Worksheet, field: Field) -> None:
        """Second sign of a verdict, after the mark itself: its colour."""
        if not style.is_verdict(field):
            return
        for mark, colour in (("✓", style.PAPER_GOOD), ("✗", style.PAPER_BAD), ("…", style.PAPER_OPEN)):
            sheet.conditional_format(
                field.row, field.column, field.last_row, field.column,
                {"type": "text", "criteria": "begins with", "value": mark,
                 "format": self.look({"bg_color": colour})},
            )  # fmt: skip

    def validate(self, sheet: Worksheet, field: Field) -> None:
        """Drop-downs and limits of a typed field."""
        declared = field.declared
        if not field.typed or not isinstance(declared, (Input, Column)):
            return
        area = (field.row, field.column, field.last_row, field.column)
        rule: dict[str, Any] = {"ignore_blank": True}
        if declared.choices:
            rule |= {"validate": "list", "source": "=" + self.choices(field, declared)}
            said = f"{declared.label}: choose from the list."
            rule |= {"error_title": "Not in the list", "error_message": said[:255]}
            rule["error_type"] = "warning"
        else:
            low, high = (self.limit(limit, field) for limit in (declared.minimum, declared.maximum))
            if low is None and high is None:
                return
            shown = [str(for_edition(limit, self.book.edition)) for limit in (declared.minimum, declared.maximum)]
            rule["validate"] = "decimal"
            if low is not None and high is not None:
                rule |= {"criteria": "between", "minimum": low, "maximum": high}
                said = f"from {shown[0]} to {shown[1]}"
            elif low is not None:
                rule |= {"criteria": ">=", "value": low}
                said = f"{shown[0]} or more"
            else:
                rule |= {"criteria": "<=", "value": high}
                said = f"{shown[1]} or less"
            rule |= {"error_title": "Outside the limits", "error_message": f"{declared.label}: {said}."[:255]}
            rule["error_type"] = "warning"
        sheet.data_validation(*area, rule)

    def limit(self, value: Any, field: Field) -> float | None:
        """A declared limit as a number of this edition."""
        value = for_edition(value, self.book.edition)
        if value is None:
            return None
        if field.unit_kind == "date":
            return serial(date.fromisoformat(value))
        return float(self.book.units.cell_value(value, field.unit_kind, self.book.edition))  # type: ignore[arg-type]

    def choices(self, field: Field, declared: Input | Column) -> str:
        """The range that a drop-down shows; with `choices_for` the part of it that fits another cell of the row."""
        if not isinstance(declared.choices, str):
            return full_range(self.book.lists[tuple(declared.choices)])
        source = self.book.fields[declared.choices]
        if isinstance(declared, Input) or not declared.choices_for:
            return full_range(source)
        (key, other), *_ = declared.choices_for.items()
        keys = self.book.fields[key]
        chooser = self.book.fields[f"{field.table}.{other}"]
        cell = f"${column_letters(chooser.column)}{field.row + 1}"
        column, listed = full_range(source), full_range(keys)
        first = f"MATCH({cell},{listed},0)"
        return f"INDEX({column},{first}):INDEX({column},{first}+COUNTIF({listed},{cell})-1)"

    # -- charts --------------------------------------------------------------------------------------------------

    def chart(self, sheet: Worksheet, plan: SheetPlan, place: ChartPlace) -> None:
        """A drawing from cells."""
        chart = place.chart
        made: Any = self.out.add_chart({"type": "scatter", "subtype": "straight"})
        if made is None:
            raise TemplateError(f"the chart {chart.title!r} cannot be made", file=plan.template.file)
        for series in chart.series:
            self.series(made, chart, series, plan)
        plain = {"visible": False, "major_gridlines": {"visible": False}, "label_position": "none"}
        shown = {
            "num_font": {"name": style.FONT, "size": 9},
            "major_gridlines": {"visible": True, "line": {"color": "#D5DBDF"}},
        }
        for axis, limits in ((made.set_x_axis, chart.x_range), (made.set_y_axis, chart.y_range)):
            settings = dict(shown if chart.axes else plain)
            if limits:
                settings |= {"min": limits[0], "max": limits[1]}
            axis(settings)
        made.set_title({"name": chart.title, "name_font": {"name": style.FONT, "size": 11}, "overlay": False})
        if not chart.legend:
            made.set_legend({"none": True})
        made.set_size({"width": chart.wide, "height": chart.tall})
        if not chart.axes and len(chart.x_range) == len(chart.y_range) == 2:
            # equal scale: the plot area is as square as the ranges are
            aspect = (chart.x_range[1] - chart.x_range[0]) / (chart.y_range[1] - chart.y_range[0])
            tall = 0.88
            wide = min(0.96, tall * chart.tall / chart.wide * aspect)
            tall = wide * chart.wide / chart.tall / aspect
            made.set_plotarea({"layout": {"x": (1 - wide) / 2, "y": 0.10, "width": wide, "height": tall}})
        for row in range(place.row, place.row + math.ceil(chart.tall / CHART_ROW) + 1):
            sheet.set_row_pixels(row, CHART_ROW)  # programs differ in their usual height, and would squeeze the drawing
        placed = {"object_position": 2, "x_offset": 4, "y_offset": 4, "description": chart.title}
        sheet.insert_chart(place.row, 0, made, placed)

    def series(self, made: Any, chart: Chart, series: Chart.Series, plan: SheetPlan) -> None:
        """One line through the rows of two columns, or a line for each row."""
        table = series.table or chart.table
        place = self.book.tables.get(table)
        if place is None:
            raise TemplateError(f"the chart {chart.title!r} has no table {table!r}", file=plan.template.file)
        line: dict[str, Any] = {"color": series.colour or style.INK, "width": series.width}
        if series.dashed:
            line["dash_type"] = "dash"
        if series.width == 0:
            line = {"none": True}
        look: dict[str, Any] = {"line": line}
        look["marker"] = (
            {"type": "circle", "size": 6, "border": {"color": style.INK}, "fill": {"color": series.colour or style.INK}}
            if series.marks
            else {"type": "none"}
        )
        if series.label:
            look["name"] = series.label
        fields = [self.book.fields[f"{table}.{name}"] for name in (*series.x, *series.y)]
        if not series.each:
            x, y = fields
            made.add_series(look | {"categories": "=" + full_range(x), "values": "=" + full_range(y)})
            return
        words = self.book.fields[f"{table}.{series.labels}"] if series.labels else None
        if words:
            # a series' name can be a live cell in every program, a point's own label cannot
            look["data_labels"] = {
                "series_name": True, "value": False, "position": "left", "custom": [{"delete": True}],
                "font": {"name": style.FONT, "size": 10, "bold": True}, "fill": {"color": "#FFFFFF"},
            }  # fmt: skip
        x_from, x_to, y_from, y_to = fields
        for row in range(place.first, place.first + place.rows):
            if words:
                look["name"] = f"={quoted(words.tab)}{address(words, row)}"
            pairs = {
                axis: f"={quoted(first.tab)}{address(first, row)}:{address(second, row)}"
                for axis, first, second in (("categories", x_from, x_to), ("values", y_from, y_to))
            }
            made.add_series(look | pairs)

    # -- sheets --------------------------------------------------------------------------------------------------

    def sheet(self, plan: SheetPlan) -> None:
        """One worksheet."""
        sheet = self.sheets[plan.tab]
        for column, width in enumerate(plan.widths):
            sheet.set_column(column, column, width * COLUMN_SCALE)
        for line in plan.lines:
            self.line(sheet, plan, line)
        self.headline(sheet, plan)
        for scalar in plan.scalars:
            self.scalar(sheet, plan, scalar)
            self.validate(sheet, scalar.field)
            self.verdict(sheet, scalar.field)
        for place in plan.tables:
            self.table(sheet, plan, place)
        for chart in plan.charts:
            self.chart(sheet, plan, chart)
        for row, column, content, is_formula in plan.workings:
            look = self.text("note", text_wrap=False)
            if is_formula:
                sheet.write_formula(row, column, str(content), look, self.computed.extra[plan.tab, row, column])
            else:
                self.put(sheet, row, column, content, look)
        if plan.samples >= 0:
            self.samples(sheet, plan)
        self.page(sheet, plan)

    def samples(self, sheet: Worksheet, plan: SheetPlan) -> None:
        """A sample of each kind of cell with its meaning."""
        kinds: list[tuple[str, str, dict[str, Any]]] = [
            (f"{style.PENCIL} typed", "boxed: type here", {"border": 1, "bg_color": style.PAPER_TYPED}),
            ("computed", "plain: a formula, locked", {"bottom": 4}),
            ("looked up", "italic: from a table, locked", {"bottom": 4, "italic": True}),
            ("✓ ✗ …", "verdict: within, outside, not yet measured", {"bold": True}),
        ]
        for row, (word, meaning, look) in enumerate(kinds, plan.samples):
            sheet.write_string(row, 0, word, self.text("sample", **look))
            self.across(sheet, plan, row, meaning, self.text("note", indent=1), 1)

    def page(self, sheet: Worksheet, plan: SheetPlan) -> None:
        """Paper, header, frozen heading, protection."""
        whole = plan.template.made == "reference"
        wide = plan.template.made in ("reference", "tables") and sum(plan.widths[: plan.printed]) > WIDE_SHEET
        sheet.set_paper(PAPER_SIZES[self.book.edition][wide])
        if plan.template.landscape:
            sheet.set_landscape()
        sheet.set_margins(left=0.4, right=0.4, top=0.75, bottom=0.6)
        sheet.fit_to_pages(1, 0)
        sheet.print_area(0, 0, max(plan.last_printed or plan.last_row, 1), max(plan.printed - 1, 0))
        # the blank after a size keeps it apart from a text that starts with a digit
        sheet.set_header(f"&L&8 {self.page_header()}&R&8 &A")
        sheet.set_footer(f"&L&8 {escaped(self.book.template.title)}&R&8 Page &P of &N")
        own = plan.tables if whole else [place for place in plan.tables if place.table is not None]
        # a sheet takes one filter: where tables stand one below the other it would be the first one's alone
        for place in [one for one in own if (whole and len(own) == 1) or (one.table and one.table.filter)]:
            shown = sum(not field.working for field in place.fields)
            sheet.autofilter(place.header + 1, 0, place.first + place.rows - 1, shown - 1)
        if len(own) == 1:
            place = own[0]
            sheet.repeat_rows(place.header - (1 if place.header > place.top + 1 else 0), place.header + 1)
            if place.first <= 14:
                sheet.freeze_panes(place.first, self.frozen_columns(place, plan.widths))
        sheet.protect("", {"format_columns": True, "format_rows": True, "autofilter": True, "sort": False})
        sheet.hide_gridlines(2)
        sheet.set_zoom(zoom(plan.widths[: plan.printed]))

    def frozen_columns(self, place: TablePlace, widths: Sequence[float]) -> int:
        """Columns that stay in sight, two at most: up to the row's key, or the leading words that tell rows apart."""
        if place.table is None:
            return 1
        key = place.table.key
        for field in place.fields[:2]:
            if field.name == f"{place.name}.{key}":
                return field.column + 1
        words = [field.column for field in place.fields[:2] if field.unit_kind == "text" and not field.working]
        return sum(sum(widths[: column + 1]) <= MOST_KEPT for column in words)

    def page_header(self) -> str:
        """Job and revision on every printed page, from the job; a line to fill in by hand where there is none."""
        job = self.book.job
        said: dict[str, str] = {}
        parts: list[str] = []
        for label, path in self.book.template.page_header.items():
            value = job.value(path) if job else None
            said[label] = str(value) if value is not None else "________"
            parts.append(f"{label} {said[label]}")
        return escaped("   ".join(parts))

    def hidden(self) -> None:
        """The hidden sheet: a row for each name, drop-down lists and limits beside it."""
        sheet = self.sheets[HIDDEN_TAB]
        book = self.book
        head: list[CellValue] = ["schema", float(SCHEMA), "edition", book.edition, "workbook", book.template.name]
        for column, word in enumerate(head):
            self.put(sheet, 0, column, word, self.text("text", text_wrap=False))
        look = self.text("text", text_wrap=False)
        for column, word in enumerate(HIDDEN_HEAD):
            sheet.write_string(1, column, word, look)
        told = [self.told(field) for field in self.book.fields.values() if field.kind != "reference" or field.named]
        for row, line in enumerate([*told, *self.told_nameless()], 2):
            for column, value in enumerate(line):
                self.put(sheet, row, column, value, look)
        for field in self.book.fields.values():
            if field.kind == "list":
                for at, value in enumerate(self.computed.values[field.name]):
                    self.put(sheet, field.row + at, field.column, value, look)
        sheet.hide()
        sheet.protect()

    def told(self, field: Field) -> list[CellValue]:
        """What the hidden sheet tells of a field."""
        pattern = self.computed.patterns.get(field.name)
        if field.row_formulas:
            each = enumerate(field.row_formulas, field.row)
            prints = " ".join(fingerprint(text, field.tab, row) for row, text in each)
        elif pattern:
            prints = fingerprint(pattern.at(field.row), field.tab, field.row)
        else:
            prints = "" if field.typed else fingerprint_of_values(self.computed.values[field.name])
        place = self.book.tables.get(field.table)
        key = place.table.key if place and place.table else ""
        kind = "check" if field.kind == "result" and field.declared is None else field.kind
        return [
            field.name, kind, field.unit, field.unit_kind, float(field.rows), field.table, key, float(field.typed),
            prints, full_range(field), float(field.working), field.label, field.defined_name, self.job_path(field),
        ]  # fmt: skip

    def job_path(self, field: Field) -> str:
        """The job path that a field's cells hold: its own, or the one that its table is matched by."""
        declared = field.declared
        if isinstance(declared, Input):
            # a job that leaves such a value out gets the default: a blank must be said
            return f"{declared.from_job} =" if declared.default is not None else declared.from_job
        if isinstance(declared, Column) and (declared.from_job or declared.by):
            instead = "".join(f" ~{path}" for path in declared.instead if path != "by")
            return declared.from_job + instead if declared.from_job else f"by {' '.join(declared.by)}"
        place = self.book.tables.get(field.table)
        match = place.table.match if place and place.table else {}
        return next((path for path, column in match.items() if field.name == f"{field.table}.{column}"), "")

    def told_nameless(self) -> list[list[CellValue]]:
        """What the hidden sheet tells of the cells that have no name: headings that show a cell, worked examples."""
        lines: dict[tuple[str, int], dict[int, str]] = {}
        for tab, row, column, text in self.nameless:
            lines.setdefault((tab, row), {})[column] = fingerprint(text, tab, row)
        for plan in self.book.sheets:
            for row, column, content, is_formula in plan.workings:
                made = fingerprint(str(content), plan.tab, row) if is_formula else fingerprint_of_values([content])
                lines.setdefault((plan.tab, row), {})[column] = made
        blank = fingerprint_of_values([None])
        told: list[list[CellValue]] = []
        for (tab, row), prints in lines.items():
            first, last = min(prints), max(prints)
            cells = f"{quoted(tab)}${column_letters(first)}${row + 1}:${column_letters(last)}${row + 1}"
            each = " ".join(prints.get(column, blank) for column in range(first, last + 1))
            told.append(["", "cells", "", "", 1.0, "", "", 0.0, each, cells, 1.0, "", "", ""])
        return told

    def names(self) -> None:
        """A defined name for every field; names not accepted are an error."""
        for field in self.book.fields.values():
            if field.kind == "reference" and not field.named:
                continue
            if self.out.define_name(field.defined_name, "=" + full_range(field)) not in (0, None):
                raise TemplateError(f"the workbook refuses the name {field.defined_name!r}", file=field.file)

    def finish(self, step: Callable[[], None]) -> bytes:
        """Write everything and give the file's bytes."""
        for plan in self.book.sheets:
            self.sheets[plan.tab] = self.out.add_worksheet(plan.tab, _Sheet)
        self.sheets[HIDDEN_TAB] = self.out.add_worksheet(HIDDEN_TAB, _Sheet)
        for plan in self.book.sheets:
            self.sheet(plan)
            step()
        self.hidden()
        self.names()
        self.sheets[self.book.sheets[0].tab].activate()
        self.out.close()
        step()
        return self.buffer.getvalue()


def zoom(widths: Sequence[float]) -> int:
    """Per cent at which a sheet's printed columns stand side by side on a laptop, as far as they can be read."""
    pixels = sum(width * COLUMN_SCALE * 7 + 5 for width in widths)
    return max(SMALLEST_ZOOM, min(100, int(100 * LAPTOP / pixels)))


def escaped(text: str) -> str:
    """Text for a page header, where & starts a code; as much of it as a header takes, never half a sign."""
    while len(told := text.replace("&", "&&")) > LONGEST_HEADER:
        text = text[:-1]
    return told


def write_book(
    book: Book,
    proof: Proof,
    renderer: Renderer,
    computed: Computed,
    step: Callable[[], None] = lambda: None,
) -> bytes:
    """The workbook as the bytes of an .xlsx file; same input, same bytes.

    Raises:
        TemplateError: XlsxWriter failed, or warned about anything (it would go on without the name, list or chart).
    """
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        try:
            content = _Writer(book, proof, renderer, computed).finish(step)
        except XlsxWriterException as wrong:
            raise TemplateError(f"the workbook cannot be written: {wrong}", file=book.template.file) from wrong
    for warning in caught:
        if issubclass(warning.category, UserWarning):
            raise TemplateError(f"the workbook cannot be written: {warning.message}", file=book.template.file)
    return content
