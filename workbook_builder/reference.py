"""Reference tables on sheets: those that a workbook uses, stacked on one sheet, or whole tables for a reader.

Also the three long lists that a workbook of tables is searched by: every number of every table, every row, every
column.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from . import expression
from .book import Book, CellValue, Field, Line, SheetPlan, TablePlace
from .errors import TemplateError, unknown
from .tables import WORKED_OUT, Edition, Library, Table, TableColumn
from .template import Column, Input

VALUES, VALUE_ROWS, VALUE_COLUMNS, TABLE_LIST = "values", "value_rows", "value_columns", "table_list"
"""What a made table has a row for: each number of the library, each row and each column of its tables, each table."""

LISTS = (VALUES, VALUE_ROWS, VALUE_COLUMNS, TABLE_LIST)
OF_TABLE = "reference."
"""`rows = "reference.NAME"`: as many rows as that reference table has."""

KEY_JOIN = " / "

NARROWEST = 6.0
WIDEST = {"source": 36.0, "note": 36.0}
WIDEST_TEXT = 30.0
"""Widths of columns in characters; what is longer takes more lines."""

Facts = list[dict[str, CellValue]]


def used_tables(book: Book, library: Library) -> dict[str, list[str]]:
    """Reference tables that any formula or drop-down names, with the columns used, in the library's order."""
    used: dict[str, set[str]] = {}
    known = set(library.names())
    texts: dict[str, Field] = {}
    for made in book.fields.values():
        said = [made.formula, *made.instead.values()]
        if isinstance(made.declared, (Column, Input)) and isinstance(made.declared.choices, str):
            said.append(made.declared.choices)
        if isinstance(made.declared, Column):
            said += made.declared.choices_for
        texts.update((text, made) for text in said if text)
    bodies = [expression.parse_said(text, made.file, made.name) for text, made in texts.items()]
    for body in [*bodies, *(macro.body for macro in book.macros.values())]:
        for name in expression.names(body):
            space, _, rest = name.partition(".")
            if space in known and rest and f"{space}.{rest}" not in book.fields:
                used.setdefault(space, set()).add(rest)
    return {name: sorted(used[name]) for name in library.names() if name in used}


def used_tables_sheet(book: Book, library: Library, plan: SheetPlan) -> None:
    """Stack the reference tables that the workbook uses on one sheet, each under its title and source."""
    widths: list[float] = []
    row = plan.last_row + 1
    for name, wanted in used_tables(book, library).items():
        table = library.table(name)
        known = {column.name: column for column in table.columns(cast(Edition, book.edition))}
        for column in wanted:
            if column not in known:
                raise TemplateError(
                    f"table {name!r} has no column {column!r}", allowed=unknown(column, known, "columns")
                )
        wanted += [known[column].status for column in wanted if known[column].status]
        keys = {one.quantity for one in table.fields if one.name in table.primary_key}
        keep = [column for column in known.values() if column.name in wanted or column.name in keys]
        row = block(book, plan, table, keep, row, widths, wanted)
    if widths:
        plan.widths, plan.printed, plan.last_row = widths, len(widths), row


def whole_tables_sheet(book: Book, library: Library, plan: SheetPlan) -> None:
    """Put whole tables on a sheet, one under the other, with source and note of every row."""
    widths: list[float] = []
    row = plan.last_row + (1 if len(plan.template.tables) > 1 else 0)
    for name in plan.template.tables:
        table = library.table(name)
        columns = table.columns(cast(Edition, book.edition))
        told = [f"Sources: {'; '.join(table.sources)}", *([table.description] if table.description else [])]
        row = block(book, plan, table, columns, row, widths, [column.name for column in columns], told)
    plan.widths, plan.printed, plan.last_row = widths, len(widths), row


def block(
    book: Book,
    plan: SheetPlan,
    table: Table,
    columns: Sequence[TableColumn],
    row: int,
    widths: list[float],
    named: Sequence[str],
    told: Sequence[str] = (),
) -> int:
    """One table under its title and source, from a row on; gives the row after it.

    Args:
        book: the workbook; gets a field for each column.
        plan: the sheet.
        table: the reference table.
        columns: the columns to show.
        row: first free row.
        widths: column widths so far, widened where this table needs it.
        named: columns that get a defined name.
        told: what else stands above the heading: where the values were read, what to know before using them.
    """
    source = "; ".join(part for part in (table.standard, table.edition_of_standard, table.status) if part)
    plan.lines.append(Line(row, table.title, "heading"))
    plan.lines.append(Line(row + 1, source, "source"))
    plan.lines += [Line(row + 2 + at, text, "note") for at, text in enumerate(told)]
    header = row + 2 + len(told)
    place = TablePlace(
        None, table.name, table.title, header - 1, header, header + 2, table.row_count, [], source=source
    )
    for at, column in enumerate(columns):
        made = Field(
            f"{table.name}.{column.name}", "reference", plan.tab, place.first, at, column.kind, column.unit,
            column.title,
            "", rows=table.row_count, table=table.name, values=column.values, status=column.status,
            named=column.name in named, format=format_of(column),
        )  # fmt: skip
        place.fields.append(book.add(made))
        width = width_of(column)
        if at == len(widths):
            widths.append(width)
        widths[at] = max(widths[at], width)
    plan.tables.append(place)
    book.tables[table.name] = place
    return place.first + place.rows + 1


def format_of(column: TableColumn) -> str:
    """A number format with every digit that the column carries; plain numbers and text take the usual one."""
    if column.kind in ("text", "number"):
        return ""
    digits = max((decimals(value) for value in column.values if isinstance(value, (int, float))), default=0)
    return "0." + "0" * digits if digits else "0"


def decimals(value: float) -> int:
    """Digits behind the point that a number is written with."""
    return len(f"{value:.8f}".rstrip("0").partition(".")[2])


def width_of(column: TableColumn) -> float:
    """Width that a column wants: room for its longest value and for the longest word of its heading."""
    word = max(map(len, column.title.split()), default=0) + 1.0
    if column.kind != "text":
        numbers = [value for value in column.values if isinstance(value, (int, float))]
        digits = max(map(decimals, numbers), default=0)
        longest = max((len(f"{value:.{digits}f}") for value in numbers), default=0)
        return max(NARROWEST, word, longest + 1.5)
    longest = max((len(str(value)) for value in column.values if value is not None), default=0)
    return max(NARROWEST, word, min(WIDEST.get(column.name, WIDEST_TEXT), longest * 1.05 + 2))


# -- the lists ---------------------------------------------------------------------------------------------------------


def keys_of(table: Table, edition: str) -> list[str]:
    """One text for each row that tells it from the others."""
    wanted = {one.quantity for one in table.fields if one.name in table.primary_key}
    columns = [column for column in table.columns(cast(Edition, edition)) if column.name in wanted]
    if not columns:
        return [str(number) for number in range(1, table.row_count + 1)]
    return [KEY_JOIN.join(str(column.values[at]) for column in columns) for at in range(table.row_count)]


def facts_of_list(library: Library, what: str, edition: str) -> Facts:
    """The rows of one of the lists, in the library's order."""
    found: Facts = []
    for name in library.names():
        table = library.table(name)
        columns = table.numbers(cast(Edition, edition))
        if not columns:
            continue
        keys = keys_of(table, edition)
        if what == TABLE_LIST:
            source = "; ".join(table.sources)
            found.append(
                {
                    "table": name, "title": table.title, "standard": table.standard,
                    "edition": table.edition_of_standard,
                    "rows": float(table.row_count), "status": table.status, "source": source, "note": table.description,
                }
            )  # fmt: skip
        elif what == VALUE_ROWS:
            found += [{"table": name, "row": key} for key in keys]
        elif what == VALUE_COLUMNS:
            found += [
                {"table": name, "column": column.name, "title": column.title, "unit": column.unit} for column in columns
            ]
        else:
            found += [fact for column in columns for fact in values_of(table, column, keys, edition)]
    return found


def values_of(table: Table, column: TableColumn, keys: Sequence[str], edition: str) -> Facts:
    """Every number of one column with its key, unit, status and source."""
    others = {one.name: one.values for one in table.columns(cast(Edition, edition))}
    empty: list[float | str | None] = [None] * table.row_count
    status = others.get(column.status, empty)
    source, note = others.get("source", empty), others.get("note", empty)
    worked_out = f"; {WORKED_OUT}: {column.computed}" if column.computed else ""
    return [
        {
            "key": f"{table.name}|{key}|{column.name}", "table": table.name, "row": key, "column": column.name,
            "value": value, "unit": column.unit, "status": status[at], "source": f"{source[at]}{worked_out}",
            "worked_out": WORKED_OUT if worked_out else None, "note": note[at],
        }
        for at, (key, value) in enumerate(zip(keys, column.values, strict=True))
        if value is not None
    ]  # fmt: skip
