"""The schema of a job file, ready for reading: paths settled, groups nested, reference columns found."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NoReturn, Protocol

from .errors import TemplateError, unknown
from .job import JobValue, Row
from .job_language import Field, Group, SchemaFile
from .quantity import Units

FILE = "job.toml"


class LibraryColumn(Protocol):
    """A column of a reference table."""

    @property
    def name(self) -> str: ...
    @property
    def values(self) -> Sequence[float | str | None]: ...


class LibraryTable(Protocol):
    """A reference table."""

    def columns(self, edition: Any, /) -> Sequence[LibraryColumn]: ...


class Library(Protocol):
    """Reference tables by name."""

    def table(self, name: str, /) -> LibraryTable: ...


class Reference:
    """Columns of reference tables as text, each looked up once."""

    def __init__(self, library: Library, edition: str, editions: Sequence[str] = ("inch", "mm")) -> None:
        self._library = library
        self._edition = edition
        self._editions = editions
        self._columns: dict[str, dict[str, list[str | None]]] = {}
        self._found: dict[tuple[str, ...], bool] = {}
        self._choices: dict[tuple[str, ...], dict[str, str]] = {}

    def column(self, table: str, name: str) -> list[str | None]:
        """Values of one column; numbers as text, None where empty."""
        if table not in self._columns:
            self._columns[table] = {
                one.name: [None if value is None else str(value) for value in one.values]
                for one in self._library.table(table).columns(self._edition)
            }
        columns = self._columns[table]
        if name not in columns:
            raise TemplateError(f"table {table!r} has no column {name!r}", allowed=unknown(name, columns, "columns"))
        return columns[name]

    def choices(self, path: str, where: Mapping[str, str]) -> dict[str, str]:
        """Different values of a column in rows that have the wanted values elsewhere, by folded text."""
        key = (path, *where, *where.values())
        if key not in self._choices:
            table, _, name = path.partition(".")
            wanted = [(self.column(*other.split(".", 1)), value) for other, value in where.items()]
            self._choices[key] = {
                value.casefold(): value
                for at, value in enumerate(self.column(table, name))
                if value is not None and all(column[at] == want for column, want in wanted)
            }
        return self._choices[key]

    def filled(self, table: str, name: str) -> list[str | None]:
        """Values of a column that must be filled; all empty where only the other edition has it."""
        if any(one.name == name for one in self._library.table(table).columns(self._edition)):
            return self.column(table, name)
        rows = self._library.table(table).columns(self._edition)[0].values
        others = [edition for edition in self._editions if edition != self._edition]
        if not any(one.name == name for edition in others for one in self._library.table(table).columns(edition)):
            return self.column(table, name)
        return [None] * len(rows)

    def has(self, table: str, columns: Sequence[str], values: Sequence[str], filled: str) -> bool:
        """Whether a row has these values in these columns, and something in the column `filled`."""
        key = (table, filled, *columns, *values)
        if key not in self._found:
            wanted = [self.column(table, name) for name in columns]
            must = self.filled(table, filled) if filled else None
            self._found[key] = any(
                all(column[at] == value for column, value in zip(wanted, values, strict=True))
                and (must is None or must[at] is not None)
                for at in range(len(wanted[0]))
            )
        return self._found[key]


Getter = Callable[[Row], JobValue | None]


class Schema:
    """A job file's schema, proved to be consistent.

    Attributes:
        version: the number that a job file gives for its schema.
        groups: every table, parents before children.
        fields: every key by its path.
        units: units of the quantities.
        edition_path: path of the key that says the edition.
    """

    def __init__(self, data: SchemaFile, units: Units, file: str = FILE) -> None:
        self.version = data.job_schema
        self.units = units
        self.file = file
        self.edition_path = data.units
        self.groups: dict[str, Group] = {}
        self.fields: dict[str, Field] = {}
        self.children: dict[str, list[Group]] = {"": []}
        self.plans: dict[str, dict[str, Any]] = {}
        for group in data.group:
            self._add(group)
        self._check(data)

    def group(self, path: str) -> Group:
        """A table's declaration.

        Raises:
            TemplateError: there is none; the nearest path is offered.
        """
        if path not in self.groups:
            raise TemplateError(f"a job has no {path!r}", allowed=unknown(path, self.groups, "tables"))
        return self.groups[path]

    def field(self, path: str) -> Field:
        """A key's declaration.

        Raises:
            TemplateError: there is none; the nearest path is offered.
        """
        if path not in self.fields:
            raise TemplateError(f"a job has no {path!r}", allowed=unknown(path, self.fields, "paths"))
        return self.fields[path]

    def home(self, path: str) -> str:
        """The table whose row holds a key: a table that stands once in a row is part of that row."""
        head = path.rpartition(".")[0]
        while not self.groups[head].many and (above := head.rpartition(".")[0]) in self.groups:
            head = above
        return head

    def reference_paths(self) -> set[str]:
        """Every "table.column" of the reference tables that reading may look at."""
        found: set[str] = set()
        for one in self.fields.values():
            if isinstance(one.choices, str):
                found |= {one.choices, *one.choices_for}
        for group in self.groups.values():
            for rule in group.rule:
                found |= {
                    f"{rule.table}.{name}" for name in (*rule.columns, *filter(None, [rule.filled])) if rule.table
                }
        return found

    def fail(self, problem: str, place: str) -> NoReturn:
        """Refuse the schema."""
        raise TemplateError(problem, file=self.file, place=place)

    def getter(self, group: Group, path: str, place: str) -> Getter:
        """A function that finds a path's value from a row of a group.

        The path is a key of the row, `key.other` for a key of the earlier row that `key` names, or a path of a table
        that the row stands in.
        """
        own = {one.name: one for one in group.field}
        if path in own:
            return lambda row: row.values.get(path)
        head, _, name = path.partition(".")
        linked = [f"{other}.{name}" for other in own[head].earlier_by] if head in own else []
        if head in own and own[head].earlier and (name in own or any(each in self.fields for each in linked)):
            return lambda row: row._referred[head].values.get(name) if head in row._referred else None
        above = path.rpartition(".")[0]
        if path in self.fields and (group.path + ".").startswith(above + "."):
            return lambda row: row.value(path)
        self.fail(f"{path!r} names no value", place)

    def given(self, group: Group, path: str, place: str) -> Callable[[Row], bool]:
        """A function that tells whether a key or a list of a row is in the file, or a value elsewhere is there."""
        if path in (child.path.rpartition(".")[2] for child in self.children[group.path]) or path in (
            one.name for one in group.field
        ):
            return lambda row: path in row._given
        get = self.getter(group, path, place)
        return lambda row: get(row) is not None

    def _add(self, group: Group) -> None:
        parent, _, _ = group.path.rpartition(".")
        if parent not in self.children or group.path in self.groups:
            self.fail("its parent is not declared before it, or it is declared twice", group.path)
        self.groups[group.path] = group
        self.children[parent].append(group)
        self.children[group.path] = []
        for one in group.field:
            path = f"{group.path}.{one.name}"
            if path in self.fields:
                self.fail("it is declared twice", path)
            self.fields[path] = one

    def _check(self, data: SchemaFile) -> None:
        edition = self.fields.get(self.edition_path)
        if edition is None or not edition.required or edition.choices != list(self.units.editions):
            self.fail("it must be a required key whose choices are the editions", f"units = {self.edition_path!r}")
        if self.edition_path.rpartition(".")[0] != data.group[0].path or data.group[0].many:
            self.fail("it must stand in the first table", f"units = {self.edition_path!r}")
        for group in self.groups.values():
            names = {one.name for one in group.field}
            if group.key and group.key not in names:
                self.fail(f"key {group.key!r} is not declared", group.path)
            if group.many is False and (group.key or group.limit):
                self.fail("a table that stands once has no key and no limit", group.path)
            for one in group.field:
                self._check_links(group, one)
            for child in self.children[group.path]:
                if child.path.rpartition(".")[2] in names:
                    self.fail("a key and a table have one name", child.path)
                if child.word_is and child.word_is not in names:
                    self.fail(f"word_is {child.word_is!r} is no key of {group.path}", child.path)

    def _check_links(self, group: Group, one: Field) -> None:
        """See that the lists which a key may name stand beside its own, those it looks back at before it."""
        place, beside = f"{group.path}.{one.name}", self.children[group.path.rpartition(".")[0]]
        lists = [each.path for each in beside if each.many and each.key]
        for path in (*one.earlier_by, *filter(None, [one.names])):
            if path not in lists and not one.of:
                self.fail(f"{path!r} is no list with a key beside it", place)
        if one.of:
            earlier = [each.name for each in group.field[: group.field.index(one)] if each.names]
            within = self.groups.get(one.names)
            parent = self.fields[f"{group.path}.{one.of}"].names if one.of in earlier else ""
            if not parent or within is None or not within.key or one.names.rpartition(".")[0] != parent:
                self.fail(f"{one.names!r} is no list with a key in what {one.of!r}, a key before it, names", place)
        for path, key in one.earlier_by.items():
            link = self.fields.get(f"{path}.{key}")
            before = lists.index(path) < lists.index(group.path)
            if not (one.earlier and before and link is not None and link.names == group.path):
                self.fail(f"{path}.{key} does not name a row of {group.path}, or is read after it", place)
