"""Readings from the job file: entries that belong to rows which only the computed workbook knows.

A joint's row follows from the route, so its place is not known before the workbook is computed. The keys of the live
rows are looked up in the computed values, the entries' values are put into the typed cells, and what follows from them
is computed anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from .book import Book, CellValue, Field, TablePlace
from .errors import JobError, listed, unknown
from .job import Job, Row
from .layout import job_cell
from .template import Column, Table
from .values import Computed

Key = tuple[str, ...]


def put_readings(book: Book, computed: Computed) -> list[Field]:
    """Fill the typed cells of live tables from the job's entries; gives the fields that were filled.

    Several tables may take entries of one path, each the keys that its columns hold.

    Raises:
        JobError: an entry names a row that the workbook does not have, or two entries name one.
    """
    job = book.job
    takers: dict[str, list[Taker]] = {}
    for place in book.tables.values():
        if job is not None and place.table is not None and place.table.takes and job.rows(place.table.takes):
            takers.setdefault(place.table.takes, []).append(Taker(book, job, place, place.table, computed))
    for path, tables in takers.items():
        for entry in job.rows(path) if job else ():
            there = [taker for taker in tables if taker.key(entry) in taker.rows]
            for taker in tables:
                if taker in there or not there or taker.concerned(entry):
                    taker.put(entry)
    return [field for tables in takers.values() for taker in tables for field, _ in taker.targets]


class Taker:
    """A table whose typed cells are filled from entries of the job."""

    def __init__(self, book: Book, job: Job, place: TablePlace, table: Table, computed: Computed) -> None:
        self.book = book
        self.job = job
        self.title = place.title.lower()
        self.match = table.match
        columns = [computed.values[f"{place.name}.{column}"] for column in table.match.values()]
        self.names = list(zip(*map(texts, columns), strict=True))
        self.rows = {folded(key): at for at, key in enumerate(self.names) if all(key)}
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
        return folded(str(entry.value(path) or "") for path in self.match)

    def concerned(self, entry: Row) -> bool:
        """Whether an entry has anything for this table."""
        return any(entry.value(path) is not None for _, path in self.targets)

    def put(self, entry: Row) -> None:
        """Fill an entry's row.

        Raises:
            JobError: there is no such row, or another entry has it.
        """
        key = self.key(entry)
        said = " ".join(str(entry.value(path)) for path in self.match)
        if key not in self.rows:
            known = [name for name in self.names if all(name)]
            siblings = [name[-1] for name in known if folded(name)[:-1] == key[:-1]]
            last = str(entry.value([*self.match][-1]))
            near = unknown(last, siblings, "names") if siblings else f"there are {listed(map(' '.join, known))}"
            raise JobError(f"{self.title} have no {said}", file=self.job.file, place=entry.place, allowed=near)
        at = self.rows[key]
        if at in self.taken:
            raise JobError(f"{said} is given twice", file=self.job.file, place=entry.place)
        self.taken.add(at)
        for field, path in self.targets:
            assert isinstance(field.values, list)
            value = job_cell(self.book, entry.value(path), field.unit_kind, f"{entry.place}, {path}")
            if value is not None:
                field.values[at] = value


def folded(key: Iterable[str]) -> Key:
    """Keys as a spreadsheet compares them, blind to case."""
    return tuple(each.casefold() for each in key)


def texts(values: Sequence[CellValue]) -> list[str]:
    """Key cells as text; a whole number as its digits."""
    return [
        "" if value is None else str(int(value)) if isinstance(value, float) and value == int(value) else str(value)
        for value in values
    ]
