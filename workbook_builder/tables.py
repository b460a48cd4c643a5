"""Reference tables: CSV files described by a `datapackage.json` (Data Package / Table Schema).

Nothing here knows what a table is about. A field of the description carries a few properties of its own:

* `quantity`: the column's name as templates see it; a field for inches and a field for millimetres share one;
* `kind`: what the column measures (`length`, `mass_per_length`, `angle`, `number`, `text` …);
* `unit`: the unit of its numbers, absent for text and plain numbers;
* `edition`: `inch` or `mm`, absent when the field serves both;
* `status`: the quantity of the status column that holds for this field, absent when that is the column `status`;
* `computed`: how the field was computed from others, absent for collected values.

A description is read when a library is loaded, a CSV file when its table's columns are first asked for.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, Literal

from workbook_builder.errors import TableError, unknown
from workbook_builder.shipped import TABLES, home

DESCRIPTION = "datapackage.json"

Edition = Literal["inch", "mm"]
Value = float | str | None

STATUSES = ("published, seen twice", "published, seen once", "corrected misprint", "from memory, verify")
"""How far a value may have been checked, the best first."""

WORKED_OUT = "worked out"
"""Counted apart: values that were computed from others of the table, as their field says."""


@dataclass(frozen=True)
class TableColumn:
    """One column of a table, in one edition.

    Attributes:
        name: the quantity, as templates name it.
        title: a heading a reader understands.
        kind: what it measures.
        unit: unit of the numbers; "" for text and plain numbers.
        values: one for each row: a number or text by the field's type, None where the cell is empty.
        status: name of the status column of the same table that holds for these values; "" for keys and words.
        computed: how the values were computed; "" for collected ones.
    """

    name: str
    title: str
    kind: str
    unit: str
    values: list[Value]
    status: str = ""
    computed: str = ""


def _text(described: Mapping[str, Any], key: str, file: str, place: str, needed: bool = True) -> str:
    """A text property of the description; TableError when it is missing or no text."""
    said = described.get(key)
    if said is None and not needed:
        return ""
    if not isinstance(said, str) or (needed and not said.strip()):
        raise TableError(f"{key!r} is {said!r}", file=file, place=place, allowed="it must be text")
    return said


def _number(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(text)
    return value


_READERS: dict[str, Callable[[str], Value]] = {"string": str, "number": _number, "integer": int}


@dataclass(frozen=True)
class Field:
    """One field of a table, as described."""

    name: str
    title: str
    type: str
    quantity: str
    kind: str
    unit: str
    edition: str
    status: str
    computed: str


@dataclass(frozen=True)
class Table:
    """One reference table.

    Attributes:
        name: the name templates use.
        title: a heading a reader understands.
        standard: the standard its values belong to.
        edition_of_standard: which edition, or plainly that it was not seen.
        sources: what was read, each with the short key its rows use.
        status: how far the whole table was checked, in words.
        description: what to know before using it; "" when there is nothing.
        hash: fingerprint of the CSV file, `sha256:` and 64 hex digits.
        fields: every field, both editions, in file order.
        primary_key: names of the fields that tell rows apart.
    """

    name: str
    title: str
    standard: str
    edition_of_standard: str
    sources: tuple[str, ...]
    status: str
    description: str
    hash: str
    fields: tuple[Field, ...]
    primary_key: tuple[str, ...]
    path: str
    _folder: Traversable = field(repr=False, compare=False)

    @cached_property
    def _bytes(self) -> bytes:
        try:
            return self._folder.joinpath(self.path).read_bytes()
        except OSError as error:
            raise TableError(f"cannot be read ({type(error).__name__})", file=self.path, place=self.name) from error

    def fingerprint(self) -> str:
        """Fingerprint of the CSV file as it stands, to compare with `hash`."""
        return "sha256:" + hashlib.sha256(self._bytes).hexdigest()

    @cached_property
    def _cells(self) -> dict[str, list[Value]]:
        """Values of each field, typed.

        Raises:
            TableError: the file has other fields than described, a ragged row, or a value that is not of its type.
        """
        try:
            lines = list(csv.reader(io.StringIO(self._bytes.decode("utf-8"), newline=""), strict=True))
        except (UnicodeDecodeError, csv.Error) as error:
            raise TableError(f"is not UTF-8 CSV: {error}", file=self.path, place=self.name) from error
        names = [one.name for one in self.fields]
        if not lines or lines[0] != names:
            found = ", ".join(lines[0]) if lines else "nothing"
            raise TableError(
                f"the heading is {found}", file=self.path, place="line 1", allowed=f"described are {names}"
            )
        cells: dict[str, list[Value]] = {name: [] for name in names}
        for number, line in enumerate(lines[1:], start=2):
            if len(line) != len(names):
                raise TableError(
                    f"the row has {len(line)} cells",
                    file=self.path,
                    place=f"line {number}",
                    allowed=f"{len(names)} fields",
                )
            for described, text in zip(self.fields, line, strict=True):
                if text == "":
                    cells[described.name].append(None)
                    continue
                try:
                    cells[described.name].append(_READERS[described.type](text))
                except ValueError:
                    raise TableError(
                        f"{described.name} is {text!r}",
                        file=self.path,
                        place=f"line {number}",
                        allowed=f"its type is {described.type}",
                    ) from None
        return cells

    @property
    def row_count(self) -> int:
        """Number of rows, heading not counted."""
        return len(self._cells[self.fields[0].name])

    def columns(self, edition: Edition) -> list[TableColumn]:
        """Columns of one edition, in file order: its own fields and those that serve both.

        Args:
            edition: "inch" or "mm"; the values are that edition's own, none is converted here.

        Raises:
            TableError: the edition is neither, or the CSV file does not fit its description.
        """
        if edition not in ("inch", "mm"):
            raise TableError(f"edition {edition!r}", place=self.name, allowed="allowed editions: inch, mm")
        return [
            TableColumn(
                one.quantity, one.title, one.kind, one.unit, list(self._cells[one.name]), one.status, one.computed
            )
            for one in self.fields
            if one.edition in ("", edition)
        ]

    def column(self, name: str, edition: Edition) -> TableColumn:
        """One column by its quantity.

        Raises:
            TableError: no such column; the nearest name is offered.
        """
        every = self.columns(edition)
        for one in every:
            if one.name == name:
                return one
        raise TableError(
            f"table {self.name!r} has no column {name!r}", allowed=unknown(name, [one.name for one in every], "columns")
        )

    def rows(self, edition: Edition) -> list[dict[str, Value]]:
        """The rows as mappings from quantity to value, in one edition."""
        every = self.columns(edition)
        return [{one.name: one.values[at] for one in every} for at in range(self.row_count)]

    def numbers(self, edition: Edition) -> list[TableColumn]:
        """The columns that hold numbers in one edition, those that tell rows apart left out."""
        keys = {one.quantity for one in self.fields if one.name in self.primary_key}
        return [
            one
            for one in self.columns(edition)
            if one.kind != "text" and one.name not in keys and any(value is not None for value in one.values)
        ]

    def counts(self, edition: Edition) -> dict[str, int]:
        """How many numbers have each status in one edition; and, counted in those too, how many were worked out."""
        counted = dict.fromkeys((*STATUSES, WORKED_OUT), 0)
        status = {one.name: one.values for one in self.columns(edition)}
        for one in self.numbers(edition):
            for value, said in zip(one.values, status[one.status], strict=True):
                if value is not None:
                    counted[str(said)] = counted.get(str(said), 0) + 1
                    counted[WORKED_OUT] += bool(one.computed)
        return counted


@dataclass(frozen=True)
class Library:
    """The tables of one folder."""

    title: str
    tables: Mapping[str, Table]

    def names(self) -> list[str]:
        """Names of the tables, in the order of the description."""
        return list(self.tables)

    def table(self, name: str) -> Table:
        """A table by name.

        Raises:
            TableError: no such table; the nearest name is offered.
        """
        found = self.tables.get(name)
        if found is None:
            raise TableError(f"there is no table {name!r}", allowed=unknown(name, self.tables, "tables"))
        return found


def _field(described: Any, file: str, place: str) -> Field:
    if not isinstance(described, dict):
        raise TableError("a field is not an object", file=file, place=place)
    name = _text(described, "name", file, place)
    place = f"{place}, field {name}"
    kind = _text(described, "kind", file, place)
    said = _text(described, "type", file, place)
    if said not in _READERS:
        raise TableError(f"type {said!r}", file=file, place=place, allowed=unknown(said, _READERS, "types"))
    edition = _text(described, "edition", file, place, needed=False)
    if edition not in ("", "inch", "mm"):
        raise TableError(
            f"edition {edition!r}", file=file, place=place, allowed="allowed editions: inch, mm, or absent"
        )
    measured = kind != "text"
    return Field(
        name,
        _text(described, "title", file, place),
        said,
        _text(described, "quantity", file, place),
        kind,
        _text(described, "unit", file, place, needed=False),
        edition,
        _text(described, "status", file, place, needed=False) or ("status" if measured else ""),
        _text(described, "computed", file, place, needed=False),
    )


def _table(described: Any, folder: Traversable, file: str) -> Table:
    if not isinstance(described, dict):
        raise TableError("a resource is not an object", file=file)
    name = _text(described, "name", file, "resources")
    schema = described.get("schema")
    fields = schema.get("fields") if isinstance(schema, dict) else None
    if not isinstance(schema, dict) or not isinstance(fields, list) or not fields:
        raise TableError("it has no schema with fields", file=file, place=name)
    sources = described.get("sources")
    if not isinstance(sources, list) or not sources:
        raise TableError("it names no sources", file=file, place=name)
    primary = schema.get("primaryKey", [])
    path = _text(described, "path", file, name)
    if "/" in path or "\\" in path:
        raise TableError(f"path {path!r}", file=file, place=name, allowed="a file of the same folder")
    built = tuple(_field(one, file, name) for one in fields)
    for edition in ("inch", "mm"):
        seen: set[str] = set()
        for one in built:
            if one.edition not in ("", edition):
                continue
            if one.quantity in seen:
                raise TableError(f"quantity {one.quantity!r} twice in the {edition} edition", file=file, place=name)
            seen.add(one.quantity)
        for one in built:
            if one.edition in ("", edition) and one.status and one.status not in seen:
                raise TableError(
                    f"field {one.name} has no status column {one.status!r} in the {edition} edition",
                    file=file,
                    place=name,
                )
    return Table(
        name=name,
        title=_text(described, "title", file, name),
        standard=_text(described, "standard", file, name),
        edition_of_standard=_text(described, "edition", file, name),
        sources=tuple(
            _text(one if isinstance(one, dict) else {}, "title", file, f"{name}, sources") for one in sources
        ),
        status=_text(described, "status", file, name),
        description=_text(described, "description", file, name, needed=False),
        hash=_text(described, "hash", file, name),
        fields=built,
        primary_key=(primary,) if isinstance(primary, str) else tuple(primary),
        path=path,
        _folder=folder,
    )


def load(folder: Path | Traversable | None = None) -> Library:
    """The tables of a folder, by default those that ship.

    Args:
        folder: where `datapackage.json` and its CSV files lie.

    Raises:
        TableError: the description cannot be read, is damaged, or names a table twice.
    """
    where: Traversable = home(TABLES) if folder is None else folder
    file = where.joinpath(DESCRIPTION)
    try:
        package = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise TableError(f"cannot be read ({type(error).__name__})", file=DESCRIPTION) from error
    except ValueError as error:
        raise TableError(f"is not JSON: {error}", file=DESCRIPTION) from error
    resources = package.get("resources") if isinstance(package, dict) else None
    if not isinstance(resources, list) or not resources:
        raise TableError("it lists no resources", file=DESCRIPTION)
    tables: dict[str, Table] = {}
    for described in resources:
        table = _table(described, where, DESCRIPTION)
        if table.name in tables:
            raise TableError(f"table {table.name!r} is described twice", file=DESCRIPTION)
        tables[table.name] = table
    return Library(_text(package, "title", DESCRIPTION, "package", needed=False), tables)
