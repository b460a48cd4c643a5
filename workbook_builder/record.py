"""From a filled workbook back to a job: what was typed, in the words of a job file.

The hidden sheet says of each cell which job path it holds. Cells that no path covers go under `typed`, by name, so that
nothing typed is lost. The job text is then read like any other, with every check that a written one gets.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import tomli_w

from .errors import WorkbookError
from .job import TYPED_KEY
from .job_language import Group
from .job_schema import Schema
from .quantity import Units
from .read import Json, Named, Reading

BY, HAS_DEFAULT, INSTEAD = "by ", "=", " ~"
"""Marks in the hidden sheet's job column: a quantity by which another value is given; a cell that has a default; a path
whose value stands in place of this one, as a formula in the cell."""

Table = dict[str, Any]


def job_path(one: Named) -> str:
    """The job path that a name's cells hold, "" where they hold none."""
    return "" if one.job.startswith(BY) else one.job.partition(" ")[0]


@dataclass(slots=True)
class Pending:
    """What can be said of an entry only when all of its tables were read.

    Attributes:
        formulas: keys whose cells hold a formula, each with the keys that may stand in its place.
        by: a quantity that gives another value ("by 45 deg").
        by_names: the keys that it may give.
    """

    formulas: dict[str, list[str]] = field(default_factory=dict)
    by: str = ""
    by_names: list[str] = field(default_factory=list)

    def join(self, other: Pending) -> None:
        """Add what another table says of the same entry."""
        self.formulas |= other.formulas
        self.by, self.by_names = self.by or other.by, self.by_names or other.by_names

    def settle(self, entry: Table) -> None:
        """Say a formula's cell by what it follows from; a formula that follows from nothing known stays its value."""
        for name, instead in self.formulas.items():
            if any(other in entry for other in instead):
                entry.pop(name, None)
            elif self.by and name in self.by_names:
                entry[name] = self.by


@dataclass(slots=True)
class _Entries:
    """Job entries as they are gathered: nested tables, and where each stands by its keys."""

    schema: Schema
    document: Table
    known: dict[tuple[str, ...], Table] = field(default_factory=dict)
    pending: dict[int, tuple[Table, Pending]] = field(default_factory=dict)

    def entry(self, group: Group, keys: Sequence[str], fresh: bool) -> Table:
        """The entry of a group with these keys, its parents' first; made when it is not there yet."""
        at = (group.path, *keys)
        if keys[-1] and not fresh and at in self.known:
            return self.known[at]
        parent_path, _, name = group.path.rpartition(".")
        holder = self.document
        if parent_path:
            parent = self.schema.group(parent_path)
            if parent.many:
                holder = self.entry(parent, keys[:-1], False)
        made: Table = {}
        if group.key and keys[-1]:
            made[group.key] = keys[-1]
        siblings = holder.setdefault(name, [])
        siblings.append(made)
        self.known[at] = made
        if group.key_default and not keys[-1]:  # other tables name it by its place
            self.known[group.path, *keys[:-1], group.key_default.format(n=len(siblings))] = made
        return made


def job_text(reading: Reading, schema: Schema, units: Units) -> str:
    """A job file's text that builds a workbook with the same typed values.

    Raises:
        WorkbookError: the workbook says nothing of its job paths.
    """
    if not any(one.job for one in reading.names):
        raise WorkbookError("tells of no job: it was built without job paths", file=reading.file)
    document: Table = {"schema": schema.version}
    entries = _Entries(schema, document)
    loose: dict[str, Any] = {}
    first, _, units_key = schema.edition_path.rpartition(".")
    document[first] = {units_key: reading.edition}
    for one in reading.scalars:
        if one.typed:
            scalar(one, reading, schema, units, document, loose)
    for columns in reading.tables.values():
        table(columns, reading, entries, units, loose)
    for entry, pending in entries.pending.values():
        pending.settle(entry)
    if loose:
        document[TYPED_KEY] = loose
    return tomli_w.dumps(document)


def scalar(one: Named, reading: Reading, schema: Schema, units: Units, document: Table, loose: Table) -> None:
    """A single typed cell."""
    value = reading.values[one.name][0]
    path = job_path(one)
    if value is None:
        if one.job.endswith(HAS_DEFAULT):
            loose[one.name] = ""  # blanked on purpose: the default must not come back
        return
    if path and path in schema.fields:
        group, _, name = path.rpartition(".")
        document.setdefault(group, {})[name] = spoken(value, one, schema.field(path).unit, units)
    else:
        loose[one.name] = spoken(value, one, one.unit_kind, units)


def table(columns: Sequence[Named], reading: Reading, entries: _Entries, units: Units, loose: Table) -> None:
    """The typed cells of a table: entries of the job where its rows have keys, else a list by name."""
    schema = entries.schema
    paths = {job_path(one): one for one in columns if job_path(one) in schema.fields}
    groups = {path.rpartition(".")[0] for path in paths}
    deepest = max(groups, key=lambda path: path.count("."), default="")
    if not deepest or not schema.group(deepest).many:
        for one in columns:
            remember(one, reading, units, loose)
        return
    for one in columns:
        if one.typed and job_path(one) not in schema.fields and not one.job.startswith(BY):
            remember(one, reading, units, loose)
    group = schema.group(deepest)
    own_key = paths.get(f"{deepest}.{group.key}") if group.key else None
    own = {path: one for path, one in paths.items() if path.rpartition(".")[0] == deepest and one is not own_key}
    identity = {path: one for path, one in own.items() if not one.typed}
    defines = own_key.typed if own_key else not identity
    for at in range(columns[0].rows):
        keys = keys_of(group, paths, schema, reading, at)
        if keys is None:
            continue
        said = {
            path.rpartition(".")[2]: spoken(value, one, schema.field(path).unit, units)
            for path, one in own.items()
            if one.typed and (value := reading.values[one.name][at]) is not None
        }
        if said:
            said = {path.rpartition(".")[2]: reading.values[one.name][at] for path, one in identity.items()} | said
        pending = by_way_of(columns, reading, at, units, paths)
        if said or pending.by or defines and (keys[-1] or not group.key):
            entry = entries.entry(group, keys, defines)
            entry.update(said)
            entries.pending.setdefault(id(entry), (entry, Pending()))[1].join(pending)


def keys_of(
    group: Group, paths: Mapping[str, Named], schema: Schema, reading: Reading, at: int
) -> tuple[str, ...] | None:
    """The keys of a row, its parents' first; None for a row that belongs to nothing."""
    keys: list[str] = []
    path = group.path
    while path:
        one = schema.group(path)
        if one.many:
            holder = paths.get(f"{path}.{one.key}") if one.key else None
            value = reading.values[holder.name][at] if holder else None
            if value is None and one is not group:
                return None
            keys.append("" if value is None else str(value))
        path = path.rpartition(".")[0]
    keys.reverse()
    return tuple(keys) if len(keys) > 1 or keys[0] else None


def by_way_of(columns: Sequence[Named], reading: Reading, at: int, units: Units, paths: Mapping[str, Named]) -> Pending:
    """What a row says of values that stand as formulas in their typed cells, and of quantities that give them."""
    pending = Pending()
    for path, one in paths.items():
        if one.typed and at in one.formulas:
            pending.formulas[path.rpartition(".")[2]] = [
                other.rpartition(".")[2] for other in one.job.split(INSTEAD)[1:]
            ]
    for one in columns:
        if one.job.startswith(BY) and (value := reading.values[one.name][at]) is not None:
            pending.by = f"by {spoken(value, one, one.unit_kind, units)}"
            pending.by_names = [path.rpartition(".")[2] for path in one.job.removeprefix(BY).split()]
    return pending


def remember(one: Named, reading: Reading, units: Units, loose: Table) -> None:
    """A typed column that no job path covers, as a list, blanks as empty text."""
    values = reading.values[one.name]
    if one.typed and any(value is not None for value in values):
        last = max(at for at, value in enumerate(values) if value is not None)
        loose[one.name] = ["" if v is None else spoken(v, one, one.unit_kind, units) for v in values[: last + 1]]


def spoken(value: Json, one: Named, kind: str, units: Units) -> Any:
    """A cell's value as a job file says it: a quantity with its unit, a date, a word."""
    if kind == "boolean":
        return value in (True, "yes")
    if one.unit_kind == "date" and isinstance(value, str):
        try:
            return date.fromisoformat(value[:10])
        except ValueError:
            return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if one.unit and kind in units.kinds and units.kinds[kind].holds == "quantity":
            return f"{value!r} {one.unit}"
        return str(value) if kind == "text" else value
    return value
