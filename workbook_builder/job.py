"""A job file read against its schema: typed rows, or one plain sentence saying what to mend.

Which tables a job file has, their keys, units, limits and how they hang together is data (`job.toml`). Nothing here
knows what a job is about.
"""

from __future__ import annotations

import os
import re
import stat
import tomllib
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, NoReturn, Protocol

import msgspec

from .errors import JobError, TemplateError, listed, unknown
from .quantity import By, Kind, Quantity, QuantityError, Units, load_units
from .shipped import TEMPLATES, home
from .template import read_toml

__all__ = [
    "By",
    "Field",
    "Group",
    "Job",
    "JobValue",
    "Quantity",
    "Row",
    "Schema",
    "load_schema",
    "parse_job",
    "read",
    "schema_from",
]

FILE = "job.toml"
VERSION_KEY = "schema"
LONGEST_TYPED = 1000
TYPED_KEY = "typed"
"""A table of the job file for typed cells that no other key covers: a cell's name and its value, or a column's list."""
LARGEST_FILE = 16 * 1024 * 1024
LONGEST_LINE = 4000  # a dotted key takes memory by the square of its length

JobValue = Quantity | By | str | bool | int | float | date
Scalar = str | int | float | bool
Typed = str | int | float | bool | date | list[str | int | float | bool | date]
PerEdition = dict[str, Scalar]
Conditions = dict[str, list[Scalar]]


# -- the schema's language --------------------------------------------------------------------------------------------


class Declared(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """Base of all declarations: an unknown key is an error."""


class Measure(Declared):
    """What a value must be and how large it may get. A limit may be given for each edition apart."""

    unit: str = "text"
    minimum: Scalar | PerEdition | None = None
    maximum: Scalar | PerEdition | None = None
    above: Scalar | PerEdition | None = None  # larger than this
    below: Scalar | PerEdition | None = None  # smaller than this
    nonzero: bool = False
    whole: bool = False  # a number without decimals


class Field(Measure, kw_only=True):
    """One key of a table."""

    name: str
    about: str
    required: bool = False
    default: Scalar | PerEdition | None = None
    digits: bool = False  # a whole number is taken as text: 40 is "40"
    longest: int = 120
    refuse: str = ""  # characters that the text may not have
    choices: list[str] | str = []  # texts, or "table.column"
    ignore: list[str] = []  # words before or after a choice that change nothing: "No. 7" is "7"
    choices_for: dict[str, str] = {}  # other column of that table -> path whose value stands in the same row
    choices_when: Conditions = {}  # `choices_for` holds only then
    inherits: list[str] = []  # paths that give the value when the key is absent, first one that has it
    earlier: bool = False  # names an earlier row of the same list by its key
    words: list[str] = []  # words that may stand instead of such a name
    first: str = ""  # with `earlier`: the word for the first row; other rows continue the one before
    or_by: Measure | None = None  # may also be "by QUANTITY" of this measure
    required_when: Conditions = {}
    only_when: Conditions = {}


class Rule(Declared):
    """A condition over several keys. Each rule has one of: a count, `rising`, `same`, `shared`, `table`.

    It is tried when every `when` matches and no `unless` does, every value of `when_given` is there and none of
    `unless_given`, and the two of `unless_same` differ. `say` is the half sentence for the error; {path} in it is
    replaced by that value.
    """

    at: str = ""  # key to name as the place
    say: str = ""
    allowed: str = ""
    when: Conditions = {}
    unless: Conditions = {}
    when_given: list[str] = []
    unless_given: list[str] = []
    unless_same: list[str] = []

    given: list[str] = []  # count: these keys are in the file
    nonzero: list[str] = []  # count: these quantities are not zero
    by: list[str] = []  # count: these are given by another quantity
    at_least: int = 0
    at_most: int | None = None

    rising: list[str] = []  # none of these is smaller than the one before, absent ones left out
    same: list[str] = []  # two paths with one value
    shared: str = ""  # at most `at_most` rows of one list have the same value here

    table: str = ""  # a row of this reference table has in `columns` the values of one of `rows`
    columns: list[str] = []
    rows: list[list[str]] = []
    filled: str = ""  # and a value in this column


class Group(Declared):
    """One table of the job file, or a list of them."""

    path: str
    label: str
    about: str
    field: list[Field]
    rule: list[Rule] = []
    required: bool = False
    many: bool = False
    at_least: int = 0
    limit: int = 0  # in the whole file
    limit_each: int = 0  # in one parent
    key: str = ""
    key_default: str = ""  # "L{n}"
    unique_within: str = ""  # path of an ancestor; absent is the list itself


class SchemaFile(Declared):
    """The whole file."""

    schema: int
    job_schema: int
    units: str  # path of the key that says the edition
    group: list[Group]


# -- what a job holds ------------------------------------------------------------------------------------------------


class Row:
    """One table of a job file.

    Attributes:
        index: position among all rows of its path, in file order, from 0.
        group: its declaration.
        parent: the row it stands in.
        key: its mark or name; "" where its list has no keys.
        values: every value it has: typed, inherited, or by default.
    """

    __slots__ = ("_given", "_number", "_referred", "group", "index", "key", "parent", "values")

    def __init__(self, group: Group, index: int, number: int, parent: Row | None) -> None:
        self.group = group
        self.index = index
        self.parent = parent
        self.key = ""
        self.values: dict[str, JobValue] = {}
        self._number = number
        self._given: frozenset[str] = frozenset()
        self._referred: dict[str, Row] = {}

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
        """A value of this row or of one it stands in ("oven.tray.width", "oven.mark"), None where absent.

        A path ending in ".by" gives the quantity of a value of the form "by 45 deg".

        Raises:
            TemplateError: the path names no table that this row is or stands in, or no key of it.
        """
        head, _, name = path.rpartition(".")
        row: Row | None = self
        while row is not None:
            if row.group.path == head:
                if name not in row.values and not any(one.name == name for one in row.group.field):
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


# -- reference tables as far as a job needs them ---------------------------------------------------------------------


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


class _Reference:
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


# -- the schema, ready for reading -----------------------------------------------------------------------------------

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

    @cached_property
    def plans(self) -> dict[str, dict[str, _Plan]]:
        """For each edition and path, the ready-made readers and rules."""
        return {
            edition: {path: _Plan(self, group, edition) for path, group in self.groups.items()}
            for edition in self.units.editions
        }

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
        if head in own and own[head].earlier and name in own:
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
            for child in self.children[group.path]:
                if child.path.rpartition(".")[2] in names:
                    self.fail("a key and a table have one name", child.path)
        for edition_name in self.units.editions:
            assert self.plans[edition_name]


def load_schema(folder: Traversable | None = None, units: Units | None = None) -> Schema:
    """The job schema of a folder, by default the shipped one.

    Raises:
        TemplateError: the file is missing or damaged, or something in it names what is not declared.
    """
    where = home(TEMPLATES) if folder is None else folder
    return schema_from(read_toml(where / FILE), units or load_units(where), FILE)


def schema_from(data: Mapping[str, Any], units: Units, file: str = FILE) -> Schema:
    """A job schema from TOML data.

    Raises:
        TemplateError: it is damaged, or something in it names what is not declared.
    """
    try:
        whole = msgspec.convert(data, SchemaFile)
    except msgspec.ValidationError as wrong:
        raise TemplateError(str(wrong), file=file) from wrong
    if whole.schema != 1:
        raise TemplateError(f"schema {whole.schema} is not known", file=file, allowed="this builder reads schema = 1")
    return Schema(whole, units, file)


# -- readers of single values ----------------------------------------------------------------------------------------


class _Wrong(Exception):
    """A value cannot be used; carries problem and what is allowed."""

    def __init__(self, problem: str, allowed: str = "") -> None:
        self.problem = problem
        self.allowed = allowed
        super().__init__(problem)


def _shown(value: object) -> str:
    """A value of a job file inside a sentence."""
    if isinstance(value, str):
        return repr(value if len(value) <= 60 else value[:60] + "…")
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and not -(10**20) < value < 10**20:
        return "a number of more than twenty digits"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return str(value)


def _plain_text(value: object, longest: int, refuse: str, digits: bool) -> str:
    """Text that is safe to stand in a cell and in a comparison.

    Raises:
        _Wrong: it is no text, empty, too long, or has characters that cannot be shown or are refused.
    """
    if digits and isinstance(value, int) and not isinstance(value, bool):
        if abs(value) >= 10**18:
            raise _Wrong(f"{_shown(value)} is too long", "write text in quotes")
        value = str(value)
    if not isinstance(value, str):
        raise _Wrong(f"{_shown(value)} is not text", "write text in quotes")
    text = value if value.isascii() else "".join(" " if unicodedata.category(one) == "Zs" else one for one in value)
    text = text.strip()
    if not text:
        raise _Wrong(f"{_shown(value)} is empty", "write text, or leave the key out")
    if len(text) > longest:
        raise _Wrong(f"{_shown(text)} is too long", f"at most {longest} characters")
    if not text.isprintable():
        raise _Wrong(f"{_shown(text)} has a character that cannot be shown", "write plain text on one line")
    for sign in refuse:
        if sign in text:
            raise _Wrong(f"{_shown(text)} has {sign!r}", f"not allowed here: {' '.join(refuse)}")
    return text


def _per_edition(value: Any, edition: str) -> Any:
    return value.get(edition) if isinstance(value, dict) else value


class _Reader:
    """Turns the TOML value of one key into a job value, in one edition."""

    def __init__(self, schema: Schema, one: Field, edition: str, place: str) -> None:
        self.field = one
        self.schema = schema
        self.edition = edition
        if one.unit not in schema.units.kinds:
            schema.fail(f"unknown unit {one.unit!r}; {unknown(one.unit, schema.units.kinds, 'units')}", place)
        self.kind = schema.units.kinds[one.unit]
        self.limits = self._limits(one, self.kind, place)
        self.by: tuple[Measure, Kind, list[tuple[str, Any, str]]] | None = None
        if one.or_by:
            kind = schema.units.kinds[one.or_by.unit]
            self.by = (one.or_by, kind, self._limits(one.or_by, kind, place))
        self.fixed: dict[str, str] = {}
        if isinstance(one.choices, list):
            self.fixed = {choice.casefold(): choice for choice in one.choices}
        self.default: JobValue | None = None
        default = _per_edition(one.default, edition)
        if default is not None:
            try:
                self.default = self.read(default, None)
            except _Wrong as wrong:
                schema.fail(f"its default: {wrong.problem}", place)

    def read(self, value: object, reference: _Reference | None) -> JobValue:
        """The job value.

        Raises:
            _Wrong: it cannot be used.
        """
        holds = self.kind.holds
        if holds == "text":
            return self._text(value, reference)
        if holds == "boolean":
            if not isinstance(value, bool):
                raise _Wrong(f"{_shown(value)} is neither true nor false", "write true or false, without quotes")
            return value
        if holds == "date":
            return self._date(value)
        if self.by and isinstance(value, str) and (found := re.match(r"\s*by\b(.*)", value, re.DOTALL | re.I)):
            measure, kind, limits = self.by
            return By(self._quantity(found[1].strip(), value, measure, kind, limits))
        quantity = self._quantity(value, value, self.field, self.kind, self.limits)
        if holds == "number":
            return int(quantity.value) if quantity.value.denominator == 1 else float(quantity.value)
        return quantity

    def _text(self, value: object, reference: _Reference | None) -> str:
        one = self.field
        text = _plain_text(value, one.longest, one.refuse, one.digits)
        if not one.choices:
            return text
        known = self.fixed
        if isinstance(one.choices, str):
            if reference is None:
                return text
            known = reference.choices(one.choices, {})
        found = known.get(text.casefold()) or (self._bare(text, known) if one.ignore else None)
        if found is None:
            allowed = list(known.values())
            raise _Wrong(f"unknown {one.name} {_shown(text)}", unknown(text, allowed, f"for {one.name}"))
        return found

    def _bare(self, text: str, known: Mapping[str, str]) -> str | None:
        """The choice that is left when the ignored words are taken off a text, None where there is none."""
        bare = text.casefold()
        for word in self.field.ignore:
            bare = bare.removeprefix(word).removesuffix(word).strip(" .-")
        return known.get(bare) or known.get("-".join(bare.split()))

    def _date(self, value: object) -> date:
        allowed = "write a date such as 2025-03-14"
        if isinstance(value, str):
            try:
                value = date.fromisoformat(value.strip())
            except ValueError:
                raise _Wrong(f"{_shown(value)} is not a date", allowed) from None
        if not isinstance(value, date) or isinstance(value, datetime):
            raise _Wrong(f"{_shown(value)} is not a date", allowed)
        for how, limit, _ in self.limits:
            if _beyond(how, value, limit):
                raise _Wrong(f"{value} is out of range", _limit_words(self.limits))
        return value

    def _quantity(
        self, said: object, shown: object, measure: Measure, kind: Kind, limits: list[tuple[str, Any, str]]
    ) -> Quantity:
        units = self.schema.units
        try:
            quantity = units.parse(said, kind.name, kind.shown[self.edition])
        except QuantityError as error:
            raise _Wrong(error.problem, error.allowed) from None
        if measure.whole and quantity.value.denominator != 1:
            raise _Wrong(f"{_shown(shown)} is not a whole number", "write a whole number")
        if measure.nonzero and quantity.value == 0:
            raise _Wrong(f"{_shown(shown)} is zero", "write another value, or leave the key out")
        for how, limit, _ in limits:
            if _beyond(how, units.convert(quantity, limit.unit), limit.value):
                raise _Wrong(f"{_shown(shown)} is out of range", _limit_words(limits))
        return quantity

    def _limits(self, measure: Measure, kind: Kind, place: str) -> list[tuple[str, Any, str]]:
        """Limits of this edition: which, its value, its text."""
        found: list[tuple[str, Any, str]] = []
        for how in _LIMIT_WORDS:
            said = _per_edition(getattr(measure, how), self.edition)
            if said is None:
                continue
            try:
                if kind.holds == "date":
                    found.append((how, date.fromisoformat(str(said)), str(said)))
                else:
                    limit = self.schema.units.parse(said, kind.name, kind.shown[self.edition])
                    found.append((how, limit, str(said)))
            except ValueError as wrong:
                self.schema.fail(f"its {how}: {wrong}", place)
        return found


_LIMIT_WORDS = {"minimum": "at least ", "above": "more than ", "maximum": "at most ", "below": "less than "}


def _limit_words(limits: Iterable[tuple[str, Any, str]]) -> str:
    return "allowed: " + " and ".join(_LIMIT_WORDS[how] + text for how, _, text in limits)


def _beyond(how: str, value: Any, limit: Any) -> bool:
    """Whether a value breaks a limit."""
    if how == "minimum":
        return bool(value < limit)
    if how == "maximum":
        return bool(value > limit)
    return bool(value <= limit if how == "above" else value >= limit)


# -- rules over several keys -----------------------------------------------------------------------------------------


class _Conditions:
    """When something holds, from a schema's `when` and `unless`."""

    def __init__(self, schema: Schema, group: Group, place: str, when: Conditions, rule: Rule | None = None) -> None:
        unless = rule.unless if rule else {}
        self._when = [(schema.getter(group, path, place), set(values)) for path, values in when.items()]
        self._unless = [(schema.getter(group, path, place), set(values)) for path, values in unless.items()]
        self._when_given = [schema.given(group, path, place) for path in (rule.when_given if rule else ())]
        self._unless_given = [schema.given(group, path, place) for path in (rule.unless_given if rule else ())]
        self._unless_same = [schema.getter(group, path, place) for path in (rule.unless_same if rule else ())]
        for path, values in (*when.items(), *unless.items()):
            self._known(schema, group, path, values, place)

    @staticmethod
    def _known(schema: Schema, group: Group, path: str, values: list[Scalar], place: str) -> None:
        own = {one.name: one for one in group.field}
        one = (
            own.get(path)
            or own.get(path.rpartition(".")[2] if path not in schema.fields else "")
            or schema.fields[path]
        )
        if isinstance(one.choices, list) and one.choices:
            for value in values:
                if value not in one.choices and value not in one.words:
                    schema.fail(f"{path} is never {value!r}", place)

    def hold(self, row: Row) -> bool:
        """Whether they hold for a row."""
        for get, values in self._when:
            if get(row) not in values:
                return False
        for get, values in self._unless:
            if get(row) in values:
                return False
        for given in self._when_given:
            if not given(row):
                return False
        for given in self._unless_given:
            if given(row):
                return False
        return not self._unless_same or len({get(row) for get in self._unless_same}) > 1

    def words(self, row: Row) -> str:
        """The values that made them hold, as a half sentence."""
        return ", ".join(str(get(row)) for get, _ in self._when)


class _Rule:
    """One rule, ready to be tried on rows."""

    def __init__(self, schema: Schema, group: Group, rule: Rule, place: str) -> None:
        self.rule = rule
        self.units = schema.units
        self.conditions = _Conditions(schema, group, place, rule.when, rule)
        self.given = [schema.given(group, path, place) for path in rule.given]
        if rule.at and rule.at not in (one.name for one in group.field):
            schema.fail(f"{rule.at!r} is no key of {group.path}", place)
        kinds = [bool(rule.given or rule.nonzero or rule.by), bool(rule.rising), bool(rule.same), bool(rule.shared)]
        if sum([*kinds, bool(rule.table)]) != 1:
            schema.fail("it has not exactly one of: a count, rising, same, shared, table", place)
        if not rule.say and not rule.rising:
            schema.fail("it says nothing", place)

        def getters(paths: Iterable[str]) -> list[Getter]:
            return [schema.getter(group, path, place) for path in paths]

        self.nonzero, self.by = getters(rule.nonzero), getters(rule.by)
        self.rising, self.same = getters(rule.rising), getters(rule.same)
        self.shared = getters([rule.shared] if rule.shared else [])
        self.rows = [getters(paths) for paths in rule.rows]
        if rule.table and any(len(paths) != len(rule.columns) for paths in rule.rows):
            schema.fail("each of its rows has as many values as it has columns", place)
        said = re.findall(r"\{([^}]*)\}", rule.say + rule.allowed)
        self.said = dict(zip(said, getters(said), strict=True))

    def fill(self, text: str, row: Row) -> str:
        """The rule's text with the row's values."""

        def found(match: re.Match[str]) -> str:
            value = self.said[match[1]](row)
            return "nothing" if value is None else str(value)

        return re.sub(r"\{([^}]*)\}", found, text)

    def broken(
        self, row: Row, reference: _Reference, shared: dict[tuple[int, int, object], int]
    ) -> tuple[str, str] | None:
        """Problem and what is allowed when the rule is broken, else None."""
        rule = self.rule
        if not self.conditions.hold(row):
            return None
        if self.rising:
            return self._falling(row)
        if self.same:
            first, second = (get(row) for get in self.same)
            bad = first is not None and second is not None and first != second
        elif self.shared:
            value = self.shared[0](row)
            count = (id(self), id(row.parent), value)
            shared[count] = shared.get(count, 0) + 1
            bad = rule.at_most is not None and shared[count] > rule.at_most
        elif rule.table:
            bad = not self._found(row, reference)
        else:
            count_of = sum(given(row) for given in self.given)
            count_of += sum(isinstance(value := get(row), Quantity) and value.value != 0 for get in self.nonzero)
            count_of += sum(isinstance(get(row), By) for get in self.by)
            bad = count_of < rule.at_least or (rule.at_most is not None and count_of > rule.at_most)
        return (self.fill(rule.say, row), self.fill(rule.allowed, row)) if bad else None

    def _found(self, row: Row, reference: _Reference) -> bool:
        every = [[get(row) for get in getters] for getters in self.rows]
        if all(None in values for values in every):
            return True
        return any(
            None not in values
            and reference.has(self.rule.table, self.rule.columns, [str(value) for value in values], self.rule.filled)
            for values in every
        )

    def _falling(self, row: Row) -> tuple[str, str] | None:
        before: tuple[str, Quantity] | None = None
        for path, get in zip(self.rule.rising, self.rising, strict=True):
            value = get(row)
            if not isinstance(value, Quantity):
                continue
            if before and self.units.convert(value, before[1].unit) < before[1].value:
                return f"{path} {value} is smaller than {before[0]} {before[1]}", self.fill(self.rule.allowed, row)
            before = (path, value)
        return None


class _Plan:
    """Readers and rules of one table in one edition."""

    def __init__(self, schema: Schema, group: Group, edition: str) -> None:
        self.group = group
        self.children = schema.children[group.path]
        self.child_names = {child.path.rpartition(".")[2] for child in self.children}
        self.readers = {one.name: _Reader(schema, one, edition, f"{group.path}.{one.name}") for one in group.field}
        self.known = [*self.readers, *self.child_names]
        self.required = [one.name for one in group.field if one.required]
        self.defaults = {name: reader.default for name, reader in self.readers.items() if reader.default is not None}
        self.earlier = [one for one in group.field if one.earlier]
        self.inherits: list[tuple[str, list[Getter]]] = []
        self.needed: list[tuple[Field, _Conditions]] = []
        self.barred: list[tuple[Field, _Conditions]] = []
        self.combined: list[tuple[Field, dict[str, Getter], _Conditions]] = []
        for one in group.field:
            place = f"{group.path}.{one.name}"
            if one.inherits:
                self.inherits.append((one.name, [schema.getter(group, path, place) for path in one.inherits]))
            if one.required_when:
                self.needed.append((one, _Conditions(schema, group, place, one.required_when)))
            if one.only_when:
                self.barred.append((one, _Conditions(schema, group, place, one.only_when)))
            if one.choices_for:
                where = {column: schema.getter(group, path, place) for column, path in one.choices_for.items()}
                self.combined.append((one, where, _Conditions(schema, group, place, one.choices_when)))
        self.rules = [
            _Rule(schema, group, rule, f"{group.path}, rule {at}") for at, rule in enumerate(group.rule, start=1)
        ]


# -- reading ---------------------------------------------------------------------------------------------------------


def _same_to_a_sheet(key: str) -> str:
    """What a spreadsheet's comparison makes of a key: letters' case is lost, and so are zeros before a number."""
    folded = key.casefold()
    return str(int(folded)) if folded.isascii() and folded.isdigit() else folded


class _Reading:
    """One pass over one job file."""

    def __init__(self, schema: Schema, library: Library, file: str, edition: str) -> None:
        self.schema = schema
        self.file = file
        self.plans = schema.plans[edition]
        self.reference = _Reference(library, edition)
        self.rows: dict[str, list[Row]] = {path: [] for path in schema.groups}
        self.shared: dict[tuple[int, int, object], int] = {}
        self.marks: dict[tuple[str, int, str], Row] = {}

    def fail(self, place: str, problem: str, allowed: str = "") -> NoReturn:
        raise JobError(problem, file=self.file, place=place, allowed=allowed)

    def unknown_key(self, key: str, known: Iterable[str], place: str) -> NoReturn:
        self.fail(place, f"unknown key {_shown(key)}", unknown(key[:60], known, "keys"))

    def group(self, group: Group, holder: Mapping[str, object], parent: Row | None) -> None:
        """Read one table, or one list of tables, of a parent."""
        name = group.path.rpartition(".")[2]
        where = f"{parent.place}, {group.label}" if parent else group.label
        if name not in holder:
            if group.required or group.at_least:
                header = f"[[{group.path}]]" if group.many else f"[{group.path}]"
                self.fail(parent.place if parent else "", f"there is no {group.label}", f"write a table {header}")
            if not group.many and (parent is None):
                self.row(group, {}, parent, 1, {}, [])
            return
        found = holder[name]
        if not group.many:
            if not isinstance(found, dict):
                self.fail(where, f"{_shown(found)} is not a table", f"write it as [{group.path}]")
            self.row(group, found, parent, 1, {}, [])
            return
        if not isinstance(found, list) or not all(isinstance(entry, dict) for entry in found):
            self.fail(where, f"{_shown(found)} is not a list of tables", f"write each as [[{group.path}]]")
        if len(found) < group.at_least:
            self.fail(where, f"there are {len(found)} of them", f"at least {group.at_least}")
        if group.limit_each and len(found) > group.limit_each:
            self.fail(where, f"there are {len(found)} of them", f"at most {group.limit_each}")
        if group.limit and len(self.rows[group.path]) + len(found) > group.limit:
            self.fail(where, f"there are more than {group.limit} of them in the file", f"at most {group.limit}")
        names: dict[str, Row] = {}
        for number, entry in enumerate(found, start=1):
            self.row(group, entry, parent, number, names, found)

    def row(
        self,
        group: Group,
        entry: Mapping[str, object],
        parent: Row | None,
        number: int,
        names: dict[str, Row],
        every: Sequence[Mapping[str, object]],
    ) -> None:
        """Read one table; `names` are the earlier ones of its list, `every` all of it."""
        plan = self.plans[group.path]
        rows = self.rows[group.path]
        row = Row(group, len(rows), number, parent)
        if group.key:
            self.mark(plan, row, entry, names)
        for key, value in entry.items():
            reader = plan.readers.get(key)
            if reader is None:
                if key not in plan.child_names:
                    self.unknown_key(key, plan.known, row.place)
                continue
            if key == group.key:
                continue
            try:
                row.values[key] = reader.read(value, self.reference)
            except _Wrong as wrong:
                self.fail(f"{row.place}, {key}", wrong.problem, wrong.allowed)
        row._given = frozenset(entry)
        self.earlier(plan, row, names, every)
        self.complete(plan, row)
        rows.append(row)
        if row.key:
            names[row.key.casefold()] = row
        for child in plan.children:
            self.group(child, entry, row)

    def mark(self, plan: _Plan, row: Row, entry: Mapping[str, object], names: Mapping[str, Row]) -> None:
        """Read a row's key and see that no other has it."""
        group, name = plan.group, plan.group.key
        if name in entry:
            try:
                row.values[name] = plan.readers[name].read(entry[name], self.reference)
            except _Wrong as wrong:
                self.fail(f"{row.place}, {name}", wrong.problem, wrong.allowed)
        elif group.key_default:
            row.values[name] = group.key_default.format(n=row._number)
        else:
            self.fail(row.place, f"{name} is missing")
        key = str(row.values[name])
        words = [word for one in plan.earlier for word in one.words]
        if key.casefold() in (word.casefold() for word in words):
            self.fail(f"{row.place}, {name}", f"{_shown(key)} has a meaning of its own", "write another one")
        owner: Row | None = row.parent
        while owner is not None and group.unique_within and owner.group.path != group.unique_within:
            owner = owner.parent
        first = self.marks.setdefault((group.path, id(owner), _same_to_a_sheet(key)), row)
        if first is not row:
            other = f"{_shown(key)} is already taken by {group.label} no. {first._number}"
            if first.key != key:
                other += f" ({first.key}: a spreadsheet takes the two for one)"
            self.fail(f"{row.place}, {name}", other, f"each {group.label} needs a {name} of its own")
        row.key = key

    def earlier(self, plan: _Plan, row: Row, names: Mapping[str, Row], every: Sequence[Mapping[str, object]]) -> None:
        """Settle the keys that name an earlier row."""
        for one in plan.earlier:
            said = row.values.get(one.name)
            if said is None:
                if not one.first:
                    continue
                before = list(names.values())[-1] if names else None
                row.values[one.name] = before.key if before else one.first
                if before:
                    row._referred[one.name] = before
                continue
            folded = str(said).casefold()
            word = next((word for word in one.words if word.casefold() == folded), None)
            if word is not None:
                row.values[one.name] = word
            elif folded in names:
                row.values[one.name] = names[folded].key
                row._referred[one.name] = names[folded]
            else:
                key, label = plan.group.key, plan.group.label
                later = {
                    str(entry.get(key, plan.group.key_default.format(n=number))).casefold()
                    for number, entry in enumerate(every, start=1)
                }
                known = [*(before.key for before in names.values()), *one.words]
                if folded in later:
                    problem = f"{_shown(said)} is not an earlier {label}"
                    self.fail(f"{row.place}, {one.name}", problem, f"allowed: {listed(known)}")
                self.fail(
                    f"{row.place}, {one.name}", f"there is no {label} {_shown(said)}", unknown(str(said), known, "here")
                )

    def complete(self, plan: _Plan, row: Row) -> None:
        """Fill in what is inherited or by default, then try every rule."""
        values = row.values
        for name, getters in plan.inherits:
            if name not in values:
                inherited = next((value for get in getters if (value := get(row)) is not None), None)
                if inherited is not None:
                    values[name] = inherited
        for name, default in plan.defaults.items():
            values.setdefault(name, default)
        for name in plan.required:
            if name not in values:
                self.fail(row.place, f"{name} is missing", self.allowed(plan, name))
        for one, conditions in plan.needed:
            if one.name not in values and conditions.hold(row):
                self.fail(
                    row.place, f"{one.name} is missing ({conditions.words(row)} needs it)", self.allowed(plan, one.name)
                )
        for one, conditions in plan.barred:
            if one.name in row._given and not conditions.hold(row):
                allowed = "; ".join(f"{path} = {listed(map(str, said))}" for path, said in one.only_when.items())
                self.fail(f"{row.place}, {one.name}", f"{one.name} has no meaning here", f"it goes with {allowed}")
        for one, where, conditions in plan.combined:
            self.combination(row, one, where, conditions)
        for rule in plan.rules:
            broken = rule.broken(row, self.reference, self.shared)
            if broken:
                self.fail(f"{row.place}, {rule.rule.at}" if rule.rule.at else row.place, *broken)

    def allowed(self, plan: _Plan, name: str) -> str:
        """What a missing key may be."""
        reader = plan.readers[name]
        choices: Iterable[str] = reader.field.choices
        if isinstance(choices, str):
            choices = self.reference.choices(choices, {}).values()
        if choices:
            return f"allowed: {listed(choices)}"
        return "" if reader.kind.holds == "text" else reader.kind.allowed(reader.kind.shown[reader.edition])

    def combination(self, row: Row, one: Field, where: Mapping[str, Getter], conditions: _Conditions) -> None:
        """See that a value stands in a reference table beside the values of other keys."""
        value = row.values.get(one.name)
        if value is None or not isinstance(one.choices, str) or not conditions.hold(row):
            return
        wanted = {column: str(said) for column, get in where.items() if (said := get(row)) is not None}
        if len(wanted) < len(where):
            return
        known = self.reference.choices(one.choices, wanted)
        if str(value).casefold() not in known:
            beside = ", ".join(
                f"{path.rpartition('.')[2]} {wanted[column]}" for column, path in one.choices_for.items()
            )
            self.fail(
                f"{row.place}, {one.name}",
                f"no such combination in the tables: {beside} with {one.name} {value}",
                f"allowed for {beside}: {listed(known.values(), 20)}"
                if known
                else f"the tables have no {one.name} for {beside}",
            )


def _toml(text: str, file: str) -> dict[str, Any]:
    """TOML data of a text.

    Raises:
        JobError: it is not TOML; the sentence has the line.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            allowed = f"at most {LONGEST_LINE} characters in a line"
            raise JobError("the line is too long", file=file, place=f"line {number}", allowed=allowed)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        said = str(wrong)
        found = re.search(r"^(.*) \(at (?:line (\d+), column (\d+)|end of document)\)$", said, re.DOTALL)
        place = f"line {found[2]}, column {found[3]}" if found and found[2] else "its end" if found else ""
        reason = " ".join((found[1] if found else said).split())[:120]
        raise JobError(f"is not TOML: {reason[:1].lower()}{reason[1:]}", file=file, place=place) from None
    except RecursionError:
        raise JobError("is nested too deeply", file=file) from None
    except ValueError as wrong:
        raise JobError(f"has a value that cannot be read: {' '.join(str(wrong).split())[:120]}", file=file) from None


def parse_job(text: str, file: str, schema: Schema, library: Library) -> Job:
    """The job that a TOML text describes.

    Args:
        text: the whole file.
        file: its name, for messages.
        schema: what a job file may hold.
        library: reference tables that values must stand in.

    Raises:
        JobError: anything in it cannot be used; the sentence says where, what and what is allowed.
    """
    data = _toml(text, file)
    version = data.get(VERSION_KEY)
    if isinstance(version, bool) or not isinstance(version, int) or version != schema.version:
        said = "is missing" if version is None else f"is {_shown(version)}"
        raise JobError(
            f"{VERSION_KEY} {said}", file=file, allowed=f"write {VERSION_KEY} = {schema.version} as the first line"
        )
    first, _, key = schema.edition_path.rpartition(".")
    holder = data.get(first)
    typed = holder.get(key) if isinstance(holder, dict) else None
    folded = typed.strip().casefold() if isinstance(typed, str) else ""
    edition = next((one for one in schema.units.editions if one.casefold() == folded), schema.units.editions[0])
    reading = _Reading(schema, library, file, edition)
    top = schema.children[""]
    loose = _typed(data.pop(TYPED_KEY, {}), file)
    for name in data:
        if name != VERSION_KEY and name not in schema.groups:
            reading.unknown_key(name, [group.path for group in top], "")
    for group in top:
        reading.group(group, data, None)
    return Job(file, edition, schema, reading.rows, loose)


def _typed(given: object, file: str) -> dict[str, Typed]:
    """The table of loose typed cells: plain values, or lists of them."""
    if not isinstance(given, dict):
        raise JobError(
            f"{TYPED_KEY} is {_shown(given)}", file=file, allowed=f"[{TYPED_KEY}] is a table of names and values"
        )
    for name, value in given.items():
        for one in value if isinstance(value, list) else [value]:
            if not isinstance(one, (str, int, float, date)) or isinstance(one, float) and one - one != 0:
                raise JobError(
                    f"{name} holds {_shown(one)}", file=file, place=TYPED_KEY, allowed="texts, numbers and dates"
                )
            if isinstance(one, str) and (len(one) > LONGEST_TYPED or not one.isprintable()):
                raise JobError(f"{name} holds a text that cannot be shown", file=file, place=TYPED_KEY)
    return given


def read(path: str | os.PathLike[str], schema: Schema, library: Library) -> Job:
    """The job in a file.

    Raises:
        JobError: there is no such file, it cannot be read, is too large, or is no job; see `parse_job`.
    """
    file = os.fspath(path)
    shown = file if file.isprintable() else ascii(file)
    try:
        mode = os.stat(file).st_mode
        if stat.S_ISDIR(mode):
            raise JobError("is a folder", file=shown, allowed="name a job file")
        if not stat.S_ISREG(mode):
            raise JobError("is not a file", file=shown, allowed="name a job file")
        with Path(file).open("rb") as stream:
            content = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise JobError("there is no such file", file=shown, allowed="name a job file") from None
    except (OSError, ValueError) as wrong:
        reason = wrong.strerror if isinstance(wrong, OSError) and wrong.strerror else str(wrong)
        raise JobError(f"cannot be read: {reason}", file=shown) from None
    if len(content) > LARGEST_FILE:
        raise JobError("is too large", file=shown, allowed=f"a job file has at most {LARGEST_FILE // 1024 // 1024} MiB")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = content.count(b"\n", 0, wrong.start) + 1
        raise JobError("is not UTF-8 text", file=shown, place=f"line {line}", allowed="save it as UTF-8") from None
    return parse_job(text, shown, schema, library)
