"""A job: typed rows as a job file gives them.

Nothing here knows what a job is about; `job_schema` says what it may hold, `job_reading` reads it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from .errors import TemplateError, unknown
from .job_language import Group
from .quantity import By, Quantity

if TYPE_CHECKING:
    from .job_schema import Schema

TYPED_KEY = "typed"
"""A table of the job file for typed cells that no other key covers: a cell's name and its value, or a column's list."""

YES_NO = ("yes", "no")
"""Words for true and false in a cell of text: programs keep true and false differently, a word stays a word."""

TRUTHS = {"yes": True, "no": False, "true": True, "false": False}
"""What such a cell may hold, in lower case; a typed TRUE is that word too."""

JobValue = Quantity | By | str | bool | int | float | date
Loose = str | int | float | bool | date
Typed = Loose | list[Loose] | dict[str, Loose]
"""What `typed` may say of a cell, of a column from its first row on, or of a column's rows by number, from 1."""


class Row:
    """One table of a job file.

    Attributes:
        index: position among all rows of its path, in file order, from 0.
        group: its declaration.
        parent: the row it stands in.
        key: its mark or name; "" where its list has no keys.
        values: every value it has: typed, inherited, or by default.
    """

    __slots__ = ("_given", "_number", "_referred", "_within", "group", "index", "key", "parent", "values")

    def __init__(self, group: Group, index: int, number: int, parent: Row | None) -> None:
        self.group = group
        self.index = index
        self.parent = parent
        self.key = ""
        self.values: dict[str, JobValue] = {}
        self._number = number
        self._given: frozenset[str] = frozenset()
        self._referred: dict[str, Row] = {}
        self._within: dict[str, Row | None] = {}

    @property
    def place(self) -> str:
        """Where it stands, in words of the file."""
        if not self.group.many:
            own = self.group.label
        elif self.key:
            own = f"{self.group.label} {self.key}"
        else:
            own = f"{self.group.label} no. {self._number}" if self.group.key else f"{self.group.label} {self._number}"
        return f"{self.parent.place}, {own}" if self.parent else own

    def value(self, path: str) -> JobValue | None:
        """A value of this row, of one it stands in, or of a table that stands once in it, None where absent.

        "oven.tray.width" and "oven.mark" are both values of a tray; so is "oven.tray.glaze.colour" where a tray has at
        most one glaze.

        A path ending in ".by" gives the quantity of a value of the form "by 45 deg".

        Raises:
            TemplateError: the path names no table that this row is or stands in, or no key of it.
        """
        head, _, name = path.rpartition(".")
        row: Row | None = self
        while row is not None:
            if head in row._within:
                inner = row._within[head]
                return None if inner is None else inner.values.get(name)
            if row.group.path == head:
                if name not in row.values and name not in [one.name for one in row.group.field]:
                    known = [f"{head}.{one.name}" for one in row.group.field]
                    raise TemplateError(f"a job has no {path!r}", allowed=unknown(path, known, "paths"))
                return row.values.get(name)
            row = row.parent
        if name == "by":
            found = self.value(head)
            return found.quantity if isinstance(found, By) else None
        raise TemplateError(f"a row of {self.group.path} has no {path!r}", allowed=f"it is in {self.group.path}")

    def given(self, path: str) -> bool:
        """Whether the file itself says this value, as against a default or one inherited."""
        head, _, name = path.rpartition(".")
        row: Row | None = self
        while row is not None and row.group.path != head:
            row = row.parent
        return row is not None and name in row._given

    def __repr__(self) -> str:
        return f"Row({self.place!r})"


@dataclass(frozen=True, eq=False)
class Job:
    """A job file that fits its schema.

    Attributes:
        file: its name, for messages.
        units: the edition that its plain numbers are in.
        schema: what it was read against.
        typed: values of typed cells by the cell's name, where no key of the schema covers them.
    """

    file: str
    units: str
    schema: Schema = field(repr=False)
    _rows: Mapping[str, list[Row]] = field(repr=False)
    typed: Mapping[str, Typed] = field(default_factory=dict, repr=False)

    def rows(self, path: str) -> list[Row]:
        """Every row of a path ("oven.tray": the trays of all ovens), in file order.

        Raises:
            TemplateError: the schema has no such table.
        """
        self.schema.group(path)
        return self._rows.get(path, [])

    def value(self, path: str) -> JobValue | None:
        """A value of a table that stands once ("job.name"), None where the file does not say it.

        Raises:
            TemplateError: the schema has no such key, or the table may stand more than once.
        """
        head, _, name = path.rpartition(".")
        if name == "by" and head in self.schema.fields:
            found = self.value(head)
            return found.quantity if isinstance(found, By) else None
        self.schema.field(path)
        if self.schema.group(head).many:
            raise TemplateError(f"{path!r} has a value for each row", allowed="ask a row for it")
        rows = self._rows.get(head, [])
        return rows[0].value(path) if rows else None
