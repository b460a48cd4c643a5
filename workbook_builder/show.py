"""Text for people: aligned rows, never wider than a screen, and a reading told sheet by sheet."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from .errors import listed
from .fingerprint import VALUES
from .read import Named, Reading
from .tables import WORKED_OUT

WIDE = 100
"""Characters of the widest line."""

WIDEST_COLUMN = 44
MOST_TOLD = 20
MOST_KEYS = 8


def number(value: float) -> str:
    """A number with the digits that a shop can use."""
    return f"{value:.7g}"


def said(value: Any) -> str:
    """A value as a cell of a text table."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return number(value) if isinstance(value, (int, float)) else " ".join(str(value).split())


def aligned(head: Sequence[str], units: Sequence[str], rows: Sequence[Sequence[Any]], keep: int = 0) -> Iterator[str]:
    """Rows as lines of a text table.

    Args:
        head: a word over each column.
        units: a unit under each word, "" where there is none.
        rows: the values.
        keep: how many leading columns are repeated when the table must be cut into blocks beside one another.
    """
    body = [[shortened(said(value)) for value in row] for row in rows]
    right = [
        bool(rows) and all(isinstance(row[at], (int, float)) or row[at] is None for row in rows)
        for at in range(len(head))
    ]
    widths = [max(len(line[at]) for line in [head, units, *body]) for at in range(len(head))]
    for at, block in enumerate(blocks(widths, keep)):
        if at:
            yield ""
        for line in [head, units, *body] if any(units[column] for column in block) else [head, *body]:
            yield "  ".join(
                line[column].rjust(widths[column]) if right[column] else line[column].ljust(widths[column])
                for column in block
            ).rstrip()


def counts(tables: Mapping[str, Mapping[str, int]]) -> Iterator[str]:
    """How many values of each table have each status, one table a line, and the sums below."""
    words = list(dict.fromkeys(word for each in tables.values() for word in each))
    rows = [
        (name, sum(each.values()) - each[WORKED_OUT], *(each.get(word, 0) for word in words))
        for name, each in tables.items()
    ]
    total = ("all tables", *(sum(row[at] for row in rows) for at in range(1, len(words) + 2)))  # type: ignore[misc]
    halves = [word.rpartition(", ") for word in words]
    over = ["", "", *(first for first, _, _ in halves)]
    yield from aligned(over, ["table", "values", *(last for *_, last in halves)], [*rows, total], 1)


def wrapped(text: str, indent: str = "") -> Iterator[str]:
    """Running text in lines that fit a screen, all but the first indented."""
    yield from textwrap.wrap(text, WIDE, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)


def footnotes(names: Sequence[str], keys: Sequence[str], columns: Sequence[Sequence[Any]]) -> Iterator[str]:
    """Long texts of some columns below a table: each once, with the rows that it belongs to."""
    for name, values in zip(names, columns, strict=True):
        rows: dict[str, list[str]] = {}
        for key, value in zip(keys, values, strict=True):
            if value is not None:
                rows.setdefault(said(value), []).append(key)
        for text, where in rows.items():
            yield from wrapped(f"{name} of {listed(where, MOST_KEYS)}: {text}", "  ")


def counted_words(counted: Mapping[str, int]) -> str:
    """A table's counts in a line, those of nothing left out."""
    said = [f"{count} {word}" for word, count in counted.items() if count]
    return "; ".join(said) or "none in this edition"


def shortened(text: str) -> str:
    """A text that fits into a column."""
    return text if len(text) <= WIDEST_COLUMN else text[: WIDEST_COLUMN - 1] + "…"


def blocks(widths: Sequence[int], keep: int) -> list[list[int]]:
    """Columns side by side as far as a line holds; further blocks start with the kept ones."""
    first = list(range(keep))
    done: list[list[int]] = []
    block, used = list(first), sum(widths[column] + 2 for column in first)
    start = used
    for column in range(keep, len(widths)):
        if used + widths[column] > WIDE and len(block) > keep:
            done.append(block)
            block, used = list(first), start
        block.append(column)
        used += widths[column] + 2
    return [*done, block]


def reading(found: Reading) -> Iterator[str]:
    """A reading for people: typed values and results of each sheet, then its tables."""
    yield f"{found.file}: workbook {found.workbook}, {found.edition} edition"
    for tab in dict.fromkeys(one.tab for one in found.names):
        lines = [*scalars(found, tab), *tables(found, tab)]
        if lines:
            yield ""
            yield tab
            yield "=" * len(tab)
            yield from lines


def scalars(found: Reading, tab: str) -> Iterator[str]:
    """Single cells of a sheet: typed, then computed; checks only where they say that something is wrong."""
    own = [one for one in found.scalars if one.tab == tab]
    typed = [one for one in own if one.typed]
    computed = [one for one in own if one.kind == "result"]
    for title, group in (("typed", typed), ("computed", computed)):
        if group:
            yield f"{title}:"
            texts = [shortened(said(found.values[one.name][0])) or "-" for one in group]
            units = [found.units.get(one.name, "") for one in group]
            name, wide, unit = (max(map(len, part)) for part in ([one.name for one in group], texts, units))
            for one, text, shown in zip(group, texts, units, strict=True):
                yield f"  {one.name:<{name}}  {text:<{wide}}  {shown:<{unit}}  {one.label}".rstrip()
    for one in own:
        text = said(found.values[one.name][0])
        if one.kind == "check" and text and (text.startswith("✗") or not one.name.endswith("_check")):
            yield f"  {text}"


def tables(found: Reading, tab: str) -> Iterator[str]:
    """Tables of a sheet, their filled rows; what the builder fixed and helpers are left out."""
    for name, columns in found.tables.items():
        shown = shown_columns(columns)
        if columns[0].tab != tab or not any(one.typed or computed(one) for one in shown):
            continue
        rows = found.rows(name)
        filled = [
            row for row in rows if any(row.get(one.short) is not None for one in shown if one.typed or computed(one))
        ]
        yield f"{name}: {len(filled)} row{'' if len(filled) == 1 else 's'} filled of {max(one.rows for one in columns)}"
        if filled:
            used = [one for one in shown if any(row.get(one.short) is not None for row in filled)]
            used.sort(key=lambda one: one.short != one.key)
            head = ["row", *(one.short for one in used)]
            body = [[row["row"], *(row.get(one.short) for one in used)] for row in filled]
            for line in aligned(head, ["", *(found.units.get(one.name, "") for one in used)], body, keep=kept(body)):
                yield f"  {line}".rstrip()


def kept(body: Sequence[Sequence[Any]]) -> int:
    """Leading columns that tell rows apart: the row's number, its key, and one more where keys come twice."""
    keys = [row[1] for row in body]
    return min(len(body[0]), 2 if len(set(keys)) == len(keys) else 3)


def shown_columns(columns: Sequence[Named]) -> list[Named]:
    """Columns that stand on the printed part of a sheet."""
    return [one for one in columns if not one.working]


def computed(one: Named) -> bool:
    """Whether a column's cells hold formulas."""
    return bool(one.prints) and not one.prints[0].startswith(VALUES)


def complaints(found: Reading) -> Iterator[str]:
    """What was found out about the file itself, for the error output; the gravest first."""
    groups = (
        ("altered", found.findings),
        ("an error value", found.errors),
        ("a stale stored value", [str(one) for one in found.stale]),
    )
    for what, sentences in groups:
        for sentence in sentences[:MOST_TOLD]:
            yield f"{found.file}: {what}: {sentence}"
        if len(sentences) > MOST_TOLD:
            yield f"{found.file}: {what}: and {len(sentences) - MOST_TOLD} more"
    if found.missing:
        names = [f"{one.cell} ({one.name})" if one.name else one.cell for one in found.missing]
        what = "formula has no stored value" if len(names) == 1 else "formulas have no stored value"
        yield f"{found.file}: {len(names)} {what}: {listed(names, 5)}"
