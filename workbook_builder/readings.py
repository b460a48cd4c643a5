"""Readings from the job file: entries that belong to rows which only the computed workbook knows.

A joint's row follows from the route, so its place is not known before the workbook is computed. The keys of the live
rows are looked up in the computed values, the entries' values are put into the typed cells, and the workbook is
computed anew.
"""

from __future__ import annotations

from collections.abc import Sequence

from .book import Book, CellValue, TablePlace
from .errors import JobError, listed, unknown
from .job import Job, Row
from .layout import job_cell
from .template import Column, Table
from .values import Computed

Key = tuple[str, ...]


def put_readings(book: Book, computed: Computed) -> bool:
    """Fill the typed cells of live tables from the job's entries; tells whether there were any.

    Several tables may take entries of one path, each the keys that its columns hold.

    Raises:
        JobError: an entry names a row that the workbook does not have, or two entries name one.
    """
    takers: dict[str, list[Taker]] = {}
    for place in book.tables.values():
        if book.job is not None and place.table is not None and place.table.takes:
            takers.setdefault(place.table.takes, []).append(Taker(book, book.job, place, place.table, computed))
    found = False
    for path, tables in takers.items():
        for entry in book.job.rows(path) if book.job else ():
            found = True
            there = [taker for taker in tables if taker.key(entry) in taker.rows]
            for taker in tables:
                if taker in there or not there or taker.concerned(entry):
                    taker.put(entry)
    return found


class Taker:
    """A table whose typed cells are filled from entries of the job."""

    def __init__(self, book: Book, job: Job, place: TablePlace, table: Table, computed: Computed) -> None:
        self.book = book
        self.job = job
        self.title = place.title.lower()
        self.match = table.match
        columns = [computed.values[f"{place.name}.{column}"] for column in table.match.values()]
        self.rows = {key: at for at, key in enumerate(zip(*map(texts, columns), strict=True)) if all(key)}
        self.targets = [
            (field, field.declared.from_job)
            for field in place.fields
            if isinstance(field.declared, Column) and field.declared.from_job.startswith(f"{table.takes}.")
        ]
        for field, _ in self.targets:
            field.values = [*field.values, *[None] * (field.rows - len(field.values))]
        self.taken: set[int] = set()

    def key(self, entry: Row) -> Key:
        """What an entry says of the row it belongs to."""
        return tuple(str(entry.value(path) or "") for path in self.match)

    def concerned(self, entry: Row) -> bool:
        """Whether an entry has anything for this table."""
        return any(entry.value(path) is not None for _, path in self.targets)

    def put(self, entry: Row) -> None:
        """Fill an entry's row.

        Raises:
            JobError: there is no such row, or another entry has it.
        """
        key = self.key(entry)
        if key not in self.rows:
            siblings = [other[-1] for other in self.rows if other[:-1] == key[:-1]]
            near = (
                unknown(key[-1], siblings, "names")
                if siblings
                else f"there are {listed(' '.join(other) for other in self.rows)}"
            )
            raise JobError(f"{self.title} have no {' '.join(key)}", file=self.job.file, place=entry.place, allowed=near)
        at = self.rows[key]
        if at in self.taken:
            raise JobError(f"{' '.join(key)} is given twice", file=self.job.file, place=entry.place)
        self.taken.add(at)
        for field, path in self.targets:
            assert isinstance(field.values, list)
            value = job_cell(self.book, entry.value(path), field.unit_kind, f"{entry.place}, {path}")
            if value is not None:
                field.values[at] = value


def texts(values: Sequence[CellValue]) -> list[str]:
    """Key cells as text; a whole number as its digits."""
    return ["" if value is None else f"{value:g}" if isinstance(value, float) else str(value) for value in values]
