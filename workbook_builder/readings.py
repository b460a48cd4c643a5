"""Readings from the job file: entries that belong to rows which only the computed workbook knows.

A joint's row follows from the route, so its place is not known before the workbook is computed. The keys of the live
rows are looked up in the computed values, the entries' values are put into the typed cells, and the workbook is
computed anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from .book import Book, CellValue, TablePlace
from .errors import JobError, listed, unknown
from .job import Job, Row
from .layout import job_cell
from .template import Column
from .values import Computed

Key = tuple[str, ...]


def put_readings(book: Book, computed: Computed) -> bool:
    """Fill the typed cells of live tables from the job's entries; tells whether there were any.

    Raises:
        JobError: an entry names a row that the workbook does not have, or two entries name one.
    """
    found = False
    for place in book.tables.values():
        if book.job is None or place.table is None or not place.table.takes:
            continue
        entries = book.job.rows(place.table.takes)
        if entries:
            put(book, book.job, place, place.table.match, entries, computed)
            found = True
    return found


def put(
    book: Book, job: Job, place: TablePlace, match: Mapping[str, str], entries: Sequence[Row], computed: Computed
) -> None:
    """Fill one table's typed cells."""
    columns = [computed.values[f"{place.name}.{column}"] for column in match.values()]
    rows = {key: at for at, key in enumerate(zip(*map(texts, columns), strict=True)) if all(key)}
    targets = [
        (field, field.declared.from_job)
        for field in place.fields
        if isinstance(field.declared, Column) and field.declared.from_job.startswith(f"{place.table.takes}.")  # type: ignore[union-attr]
    ]
    for field, _ in targets:
        field.values = [None] * field.rows
    taken: set[int] = set()
    for entry in entries:
        key = tuple(str(entry.value(path) or "") for path in match)
        if key not in rows:
            siblings = [other[-1] for other in rows if other[:-1] == key[:-1]]
            near = unknown(key[-1], siblings, "names") if siblings else f"there are {listed(' '.join(k) for k in rows)}"
            raise JobError(
                f"{place.title.lower()} have no {' '.join(key)}", file=job.file, place=entry.place, allowed=near
            )
        at = rows[key]
        if at in taken:
            raise JobError(f"{' '.join(key)} is given twice", file=job.file, place=entry.place)
        taken.add(at)
        for field, path in targets:
            assert isinstance(field.values, list)
            field.values[at] = job_cell(book, entry.value(path), field.unit_kind, f"{entry.place}, {path}")


def texts(values: Sequence[CellValue]) -> list[str]:
    """Key cells as text."""
    return ["" if value is None else str(value) for value in values]
