"""A job file read against its schema: typed rows, or one plain sentence saying what to mend.

Which tables a job file has, their keys, units, limits and how they hang together is data (`job.toml`).
"""

from __future__ import annotations

import os
import re
import stat
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, NoReturn

import msgspec

from .errors import JobError, TemplateError, listed, unknown
from .job import TYPED_KEY, Job, Row, Typed
from .job_language import Field, Group, SchemaFile
from .job_rules import Holding, Plan, links, plans
from .job_schema import FILE, Getter, Library, Reference, Schema
from .job_values import Wrong, shown_value
from .quantity import Units, load_units
from .shipped import TEMPLATES, home
from .template import read_toml

VERSION_KEY = "schema"
LONGEST_TYPED = 1500  # written out on one line of the file, where a quote or a new line takes two characters
ROW_NUMBER = re.compile(r"[1-9][0-9]{0,6}")
LARGEST_FILE = 16 * 1024 * 1024
LONGEST_LINE = 4000  # a dotted key takes memory by the square of its length


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
    schema = Schema(whole, units, file)
    plans(schema)  # what a rule names must be declared: seen now, not when a job is read
    return schema


def _same_to_a_sheet(key: str) -> str:
    """What a spreadsheet's comparison makes of a key: letters' case is lost, and so are zeros before a number."""
    folded = key.casefold()
    return str(int(folded)) if folded.isascii() and folded.isdigit() else folded


class _Reading:
    """One pass over one job file."""

    def __init__(self, schema: Schema, library: Library, file: str, edition: str) -> None:
        self.schema = schema
        self.file = file
        self.plans = plans(schema)[edition]
        self.reference = Reference(library, edition)
        self.rows: dict[str, list[Row]] = {path: [] for path in schema.groups}
        self.shared: dict[tuple[int, int, object], int] = {}
        self.marks: dict[tuple[str, int, str], Row] = {}
        self.lists: dict[tuple[str, int], dict[str, Row]] = {}

    def fail(self, place: str, problem: str, allowed: str = "") -> NoReturn:
        raise JobError(problem, file=self.file, place=place, allowed=allowed)

    def unknown_key(self, key: str, known: Iterable[str], place: str) -> NoReturn:
        self.fail(place, f"unknown key {shown_value(key)}", unknown(key[:60], known, "keys"))

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
        if group.word_is and isinstance(found, str):
            return  # the parent has read it
        if not group.many:
            if not isinstance(found, dict):
                self.fail(where, f"{shown_value(found)} is not a table", f"write it as [{group.path}]")
            self.row(group, found, parent, 1, {}, [])
            return
        if not isinstance(found, list) or not all(isinstance(entry, dict) for entry in found):
            self.fail(where, f"{shown_value(found)} is not a list of tables", f"write each as [[{group.path}]]")
        if len(found) < group.at_least:
            self.fail(where, f"there are {len(found)} of them", f"at least {group.at_least}")
        if group.limit_each and len(found) > group.limit_each:
            self.fail(where, f"there are {len(found)} of them", f"at most {group.limit_each}")
        if group.limit and len(self.rows[group.path]) + len(found) > group.limit:
            self.fail(where, f"there are more than {group.limit} of them in the file", f"at most {group.limit}")
        names = self.lists[group.path, id(parent)] = {}
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
        given: set[str] = set()
        for key, value in entry.items():
            reader = plan.readers.get(key)
            if reader is None and isinstance(value, str) and key in plan.words:
                name = plan.words[key]
                if name in entry:
                    self.fail(f"{row.place}, {key}", f"{key} and {name} are both given", "give one of them")
                reader, key = plan.readers[name], name
            given.add(key)
            if reader is None:
                if key not in plan.child_names:
                    self.unknown_key(key, plan.known, row.place)
                continue
            if key == group.key:
                continue
            try:
                row.values[key] = reader.read(value, self.reference)
            except Wrong as wrong:
                self.fail(f"{row.place}, {key}", wrong.problem, wrong.allowed)
        row._given = frozenset(given)
        self.earlier(plan, row, names, every)
        self.complete(plan, row)
        rows.append(row)
        if row.key:
            names[row.key.casefold()] = row
        for child in plan.children:
            if not child.many:
                row._within[child.path] = None
            self.group(child, entry, row)
        if parent is not None and not group.many:
            parent._within[group.path] = row
        self.linked(plan.links, row)

    def beside(self, path: str, parent: Row | None) -> dict[str, Row]:
        """The rows of a list of this parent, by folded key."""
        return self.lists.get((path, id(parent)), {})

    def linked(self, found: Iterable[tuple[str, Field]], parent: Row | None) -> None:
        """Settle the keys that name a row of another list, now that all lists of this parent are read."""
        for path, one in found:
            named = self.schema.groups[one.names]
            either = [other for other in named.field if path in other.earlier_by]  # keys that name rows of both lists
            for row in self.beside(path, parent).values():
                known = self.beside(one.names, row._referred.get(one.of) if one.of else parent)
                if one.name in row.values:
                    self.settle(one, row, known, named.label)
                taken = [each.key for each in known.values()] + [word for other in either for word in other.words]
                if either and _same_to_a_sheet(row.key) in map(_same_to_a_sheet, taken):
                    problem = f"{shown_value(row.key)} is the name of a {named.label} too, or has a meaning of its own"
                    self.fail(f"{row.place}, {row.group.key}", problem, "write another one")

    def settle(self, one: Field, row: Row, known: Mapping[str, Row], label: str) -> None:
        """The row or the word that a key names, in its own spelling."""
        said = str(row.values[one.name])
        word = next((word for word in one.words if word.casefold() == said.casefold()), None)
        if word is not None:
            row.values[one.name] = word
        elif said.casefold() in known:
            row._referred[one.name] = known[said.casefold()]
            row.values[one.name] = known[said.casefold()].key
        else:
            whose = f" in {row._referred[one.of].place}" if one.of else ""
            allowed = unknown(said, [*(each.key for each in known.values()), *one.words], "here")
            self.fail(f"{row.place}, {one.name}", f"there is no {label} {shown_value(said)}{whose}", allowed)

    def mark(self, plan: Plan, row: Row, entry: Mapping[str, object], names: Mapping[str, Row]) -> None:
        """Read a row's key and see that no other has it."""
        group, name = plan.group, plan.group.key
        if name in entry:
            try:
                row.values[name] = plan.readers[name].read(entry[name], self.reference)
            except Wrong as wrong:
                self.fail(f"{row.place}, {name}", wrong.problem, wrong.allowed)
        elif group.key_default:
            row.values[name] = group.key_default.format(n=row._number)
        else:
            self.fail(row.place, f"{name} is missing")
        key = str(row.values[name])
        words = [word for one in plan.earlier for word in one.words]
        if key.casefold() in (word.casefold() for word in words):
            self.fail(f"{row.place}, {name}", f"{shown_value(key)} has a meaning of its own", "write another one")
        owner: Row | None = row.parent
        while owner is not None and group.unique_within and owner.group.path != group.unique_within:
            owner = owner.parent
        first = self.marks.setdefault((group.path, id(owner), _same_to_a_sheet(key)), row)
        if first is not row:
            other = f"{shown_value(key)} is already taken by {group.label} no. {first._number}"
            if first.key != key:
                other += f" ({first.key}: a spreadsheet takes the two for one)"
            self.fail(f"{row.place}, {name}", other, f"each {group.label} needs a {name} of its own")
        row.key = key

    def earlier(self, plan: Plan, row: Row, names: Mapping[str, Row], every: Sequence[Mapping[str, object]]) -> None:
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
            elif (other := self.by_way_of(one, row, folded, names)) is not None:
                row.values[one.name] = other.key
                row._referred[one.name] = other
            else:
                key, label = plan.group.key, plan.group.label
                later = {
                    str(entry.get(key, plan.group.key_default.format(n=number))).casefold()
                    for number, entry in enumerate(every, start=1)
                }
                known = [*(before.key for before in names.values()), *one.words]
                known += [each.key for path in one.earlier_by for each in self.beside(path, row.parent).values()]
                if folded in later:
                    problem = f"{shown_value(said)} is not an earlier {label}"
                    self.fail(f"{row.place}, {one.name}", problem, f"allowed: {listed(known)}")
                self.fail(
                    f"{row.place}, {one.name}",
                    f"there is no {label} {shown_value(said)}",
                    unknown(str(said), known, "here"),
                )

    def by_way_of(self, one: Field, row: Row, folded: str, names: Mapping[str, Row]) -> Row | None:
        """The row of another list that a key names, where that row hangs on an earlier row of this list."""
        for path, key in one.earlier_by.items():
            other = self.beside(path, row.parent).get(folded)
            if other is None:
                continue
            holder = str(other.values.get(key, ""))
            if holder.casefold() not in names:
                problem = f"{other.group.label} {other.key} stands on {shown_value(holder)}, which is no earlier "
                allowed = f"allowed: {listed(before.key for before in names.values())}"
                self.fail(f"{row.place}, {one.name}", problem + row.group.label, allowed)
            return other
        return None

    def complete(self, plan: Plan, row: Row) -> None:
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
        for rule in plan.rules_about(row):
            broken = rule.broken(row, self.reference, self.shared)
            if broken:
                self.fail(f"{row.place}, {rule.rule.at}" if rule.rule.at else row.place, *broken)

    def allowed(self, plan: Plan, name: str) -> str:
        """What a missing key may be."""
        reader = plan.readers[name]
        choices: Iterable[str] = reader.field.choices
        if isinstance(choices, str):
            choices = self.reference.choices(choices, {}).values()
        if choices:
            return f"allowed: {listed(choices)}"
        return "" if reader.kind.holds == "text" else reader.kind.allowed(reader.kind.shown[reader.edition])

    def combination(self, row: Row, one: Field, where: Mapping[str, Getter], conditions: Holding) -> None:
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
        said = "is missing" if version is None else f"is {shown_value(version)}"
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
    reading.linked(links(top), None)
    return Job(file, edition, schema, reading.rows, loose)


def cell_may_hold(text: str) -> bool:
    """Whether a typed cell may hold a text: on one line or several, with nothing in it that cannot be shown."""
    return len(text) <= LONGEST_TYPED and text.replace("\n", "").replace("\t", "").isprintable()


def _typed(given: object, file: str) -> dict[str, Typed]:
    """The table of loose typed cells: plain values, lists of them, or tables of them by row number."""
    if not isinstance(given, dict):
        raise JobError(
            f"{TYPED_KEY} is {shown_value(given)}", file=file, allowed=f"[{TYPED_KEY}] is a table of names and values"
        )
    for name, value in given.items():
        if isinstance(value, dict):
            for row in value:
                if not ROW_NUMBER.fullmatch(row):
                    raise JobError(
                        f"{shown_value(row)} is no row of {name}", file=file, place=TYPED_KEY,
                        allowed="rows are numbered from 1",
                    )  # fmt: skip
        cells = value.values() if isinstance(value, dict) else value if isinstance(value, list) else [value]
        for one in cells:
            if not isinstance(one, (str, int, float, date)) or isinstance(one, float) and one - one != 0:
                raise JobError(
                    f"{name} holds {shown_value(one)}", file=file, place=TYPED_KEY, allowed="texts, numbers and dates"
                )
            if isinstance(one, str) and not cell_may_hold(one):
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
