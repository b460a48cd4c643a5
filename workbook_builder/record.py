"""From a filled workbook back to a job: what was typed, in the words of a job file.

The hidden sheet says of each cell which job path it holds. Cells that no path covers go under `typed`, by name, and so
does what the keys cannot say: a value beyond its limits, one typed beside rows that belong to nothing, a default that
was cleared. The job text is read like any other before it is given out; what it cannot carry is named.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import tomli_w

from .book import Book, CellValue
from .errors import JobError, WorkbookError, listed, nearest, unknown
from .job import TRUTHS, TYPED_KEY, YES_NO, Row
from .job_language import Group
from .job_reading import cell_may_hold, parse_job
from .job_rules import plans
from .job_schema import Library, Reference, Schema
from .job_values import Reader, Wrong, shown_value
from .quantity import Units
from .read import Json, Named, Reading, cell_text

if TYPE_CHECKING:
    from .build import Workshop

BY, HAS_DEFAULT, INSTEAD = "by ", "=", " ~"
"""Marks in the hidden sheet's job column: a quantity by which another value is given; a cell that has a default; a path
whose value stands in place of this one, as a formula in the cell."""

Table = dict[str, Any]


def job_path(one: Named) -> str:
    """The job path that a name's cells hold, "" where they hold none."""
    return "" if one.job.startswith(BY) else one.job.partition(" ")[0]


def put(entry: Table, name: str, value: Any) -> None:
    """Say a key of an entry; "lid.colour" is a key of the table that stands once in it."""
    *heads, last = name.split(".")
    for head in heads:
        entry = entry.setdefault(head, {})
    entry[last] = value


def found_in(entry: Table, name: str) -> Any:
    """What an entry says under such a key, None where it says nothing."""
    held: Any = entry
    for part in name.split("."):
        held = held.get(part) if isinstance(held, dict) else None
    return held


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
            if any(found_in(entry, other) is not None for other in instead):
                entry.pop(name, None)
            elif self.by and name in self.by_names:
                entry[name] = self.by


@dataclass(slots=True)
class _Entries:
    """Job entries as they are gathered: nested tables, and where each stands by its keys.

    Attributes:
        unheard: parents that a row of theirs named before anything else did, with the key that it gave.
    """

    schema: Schema
    document: Table
    known: dict[tuple[str, ...], Table] = field(default_factory=dict)
    unheard: list[tuple[Group, str]] = field(default_factory=list)
    pending: dict[int, tuple[Table, Pending]] = field(default_factory=dict)

    def entry(self, group: Group, keys: Sequence[str], fresh: bool, identity: Sequence[str] = ()) -> Table:
        """The entry of a group with these keys, its parents' first; made when it is not there yet.

        `identity` tells entries of a list without keys apart.
        """
        at = (group.path, *(key.casefold() for key in keys), *identity)
        if (keys[-1] or identity) and not fresh and at in self.known:
            return self.known[at]
        parent_path, _, name = group.path.rpartition(".")
        holder = self.document
        if parent_path:
            parent = self.schema.group(parent_path)
            if parent.many:
                before = len(self.known)
                holder = self.entry(parent, keys[:-1], False)
                if len(self.known) > before:
                    self.unheard.append((parent, keys[-2]))
        made: Table = {}
        if group.key and keys[-1]:
            made[group.key] = keys[-1]
        siblings = holder.setdefault(name, [])
        siblings.append(made)
        self.known[at] = made
        if group.key_default and not keys[-1]:  # other tables name it by its place
            by_place = (*keys[:-1], group.key_default.format(n=len(siblings)))
            self.known[group.path, *(key.casefold() for key in by_place)] = made
        return made


@dataclass(slots=True)
class Gathered:
    """What a workbook says, on its way to a job file.

    Attributes:
        document: the job file's tables.
        loose: what goes under `typed`.
        strays: typed cells that no key can say, each with its row, from 0.
        rows: the entry that a table's row belongs to.
        paths: by table, the job path whose entries are its rows; only where a row is an entry of its own.
        left_out: one sentence for each typed value that no job file can carry.
        strict: whether every typed cell must be part of the job: nothing else is made of such a workbook.
        wrong: cells that cannot be used, each with its sentence.
        sources: the cell that an entry's key was said in, and with "" the first cell of the entry.
        references: the reference tables by edition, each looked up once.
    """

    reading: Reading
    schema: Schema
    units: Units
    document: Table
    library: Library | None = None
    strict: bool = False
    loose: dict[str, Any] = field(default_factory=dict)
    strays: list[tuple[Named, int]] = field(default_factory=list)
    rows: dict[tuple[str, int], Table] = field(default_factory=dict)
    paths: dict[str, str] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    wrong: list[WorkbookError] = field(default_factory=list)
    sources: dict[tuple[int, str], str] = field(default_factory=dict)
    references: dict[str, Reference] = field(default_factory=dict)

    @property
    def edition(self) -> str:
        """The edition that the job's plain numbers are in: what its own cell says, else the workbook's."""
        first, _, key = self.schema.edition_path.rpartition(".")
        said = str(self.document.get(first, {}).get(key, "")).casefold()
        return next((one for one in self.schema.units.editions if one.casefold() == said), self.reading.edition)

    @property
    def reference(self) -> Reference | None:
        """The tables that words must stand in, where every word must be one that can be used."""
        if self.library is None or not self.strict:
            return None
        edition = self.edition
        if edition not in self.references:
            self.references[edition] = Reference(self.library, edition)
        return self.references[edition]

    def reader(self, path: str) -> Reader:
        """What reads a key's value from a job file."""
        group, _, name = path.rpartition(".")
        found: Reader = plans(self.schema)[self.edition][group].readers[name]
        return found

    def refuse(self, one: Named, at: int, problem: str, allowed: str = "") -> None:
        """Note a cell that cannot be used."""
        self.wrong.append(WorkbookError(problem, file=self.reading.file, place=called(one, at), allowed=allowed))

    def refuse_value(self, one: Named, at: int, path: str, value: Any) -> None:
        """Note a cell whose value its key cannot take, with what it may be."""
        try:
            self.reader(path).read(value, self.reference)
        except Wrong as wrong:
            self.refuse(one, at, *self.told(path, value, wrong))

    def told(self, path: str, value: Any, wrong: Wrong) -> tuple[str, str]:
        """Problem and what is allowed, in the words of a cell: the nearest word, then all of them."""
        reader = self.reader(path)
        if reader.kind.holds == "boolean":
            return f"{shown_value(value)} is neither yes nor no", offered(str(value), YES_NO)
        choices = reader.field.choices
        if isinstance(choices, str):
            choices = [*reference.choices(choices, {}).values()] if (reference := self.reference) else []
        if not choices or not isinstance(value, str):
            return wrong.problem, wrong.allowed
        return f"{shown_value(value)} is not in the list", offered(value, choices)

    def text(self) -> str:
        """The job file."""
        document = self.document | ({TYPED_KEY: self.loose} if self.loose else {})
        return tomli_w.dumps(document)

    def sayable(self, path: str, value: Any) -> bool:
        """Whether a job file may hold a value under a key; of a record also whether it keeps the blanks of a text."""
        try:
            read = self.reader(path).read(value, self.reference)
        except Wrong:
            return False
        if not self.strict and isinstance(value, str) and isinstance(read, str):
            return read.casefold() == value.casefold()
        return True

    def set_loose(self, one: Named, at: int, value: Json, target: int) -> None:
        """Say a cell by name and row; what is not of the cell's kind is left out, with a sentence."""
        told = spoken(value, one, one.unit_kind, self.units) if value is not None else ""
        if value is not None and not self.carried(one, told):
            cell = cell_text(one.tab, one.row + at, one.column)
            self.left_out.append(f"{cell} ({one.name}): {value!r} is no {one.unit_kind}, a job file cannot hold it")
            return
        if not one.table:
            self.loose[one.name] = told
            return
        held = self.loose.setdefault(one.name, {})
        if isinstance(held, list):
            held = self.loose[one.name] = {str(row): said for row, said in enumerate(held, start=1) if said != ""}
        held[str(target + 1)] = told

    def carried(self, one: Named, told: Any) -> bool:
        """Whether the job file's table of loose cells may hold a value for a cell."""
        holds = self.units.kinds[one.unit_kind].holds
        if holds in ("date", "boolean"):
            return isinstance(told, date if holds == "date" else bool)
        if holds == "text":
            return isinstance(told, str) and cell_may_hold(told)
        try:
            said = self.units.parse(told, one.unit_kind, one.unit) if holds == "quantity" else told
            self.units.cell_value(said, one.unit_kind, self.reading.edition)
        except ValueError:
            return False
        return True

    def entries(self, path: str) -> list[Table]:
        """Every entry of a path, in the order of the file."""
        found = [self.document]
        for name in path.split("."):
            found = [entry for holder in found for entry in holder.get(name, [])]
        return found

    def targets(self, table: str, rows: int) -> list[int]:
        """Where each row of a table stands in a workbook built from the job: entries close up, the rest follow."""
        path = self.paths.get(table)
        if path is None:
            return list(range(rows))
        order = {id(entry): at for at, entry in enumerate(self.entries(path))}
        alike = [name for name, other in self.paths.items() if other == path]
        more = sorted({at for one, at in self.strays if one.table in alike and (one.table, at) not in self.rows})
        after = {at: len(order) + number for number, at in enumerate(more)}
        return [
            order[id(self.rows[table, at])] if (table, at) in self.rows else after.get(at, len(order) + len(more))
            for at in range(rows)
        ]


@dataclass(frozen=True, slots=True)
class Written:
    """A job file made from a workbook.

    Attributes:
        text: the whole file.
        left_out: one sentence for each typed value that it cannot carry.
    """

    text: str
    left_out: list[str]


def job_file(reading: Reading, schema: Schema, made: Workshop) -> Written:
    """A job file that builds a workbook with the same typed values.

    Raises:
        WorkbookError: the workbook says nothing of a job, or what it says makes no job file that can be built.
    """
    known = reading.workbook in made.shelf.heads("workbooks")
    strict = known and made.shelf.workbook(reading.workbook).describes_job
    found = gather(reading, schema, made.units, made.library, strict)
    if found.wrong:
        raise first_of(found.wrong)
    if strict:
        found.loose.clear()  # its own cells are the job: another workbook is built from them
    try:
        job = parse_job(found.text(), reading.file, schema, made.library)
        if known and not strict:
            mend(found, made.lay_out(reading.workbook, job, reading.edition))
    except JobError as wrong:
        cell = dict(places(found)).get(wrong.place, "")
        place = f"{cell} ({wrong.place})" if cell else wrong.place
        raise WorkbookError(
            f"makes no job file yet: {wrong.problem}", file=reading.file, place=place, allowed=wrong.allowed
        ) from wrong
    return Written(found.text(), found.left_out)


def called(one: Named, at: int) -> str:
    """A cell with its heading, as a sentence names it."""
    return f"{cell_text(one.tab, one.row + at, one.column)} ({one.label})"


def offered(word: str, choices: Sequence[str]) -> str:
    """The word most like a wrong one, and all that are allowed."""
    near = nearest(word, choices)
    return (f"did you mean {near!r}? " if near else "") + f"allowed: {listed(choices, 30)}"


def first_of(wrong: Sequence[WorkbookError]) -> WorkbookError:
    """The first of some refused cells, in one sentence with where the others are."""
    first, *others = wrong
    also = [f"see also {listed([one.place for one in others], 6)}"] if others else []
    allowed = "; ".join([*filter(None, [first.allowed]), *also])
    return WorkbookError(first.problem, file=first.file, place=first.place, allowed=allowed)


def places(found: Gathered) -> Iterator[tuple[str, str]]:
    """Places as a job file's sentences name them, each with the cell that says it."""
    for group in found.schema.children[""]:
        yield from places_in(found, group, found.document, None)


def places_in(found: Gathered, group: Group, holder: Table, parent: Row | None) -> Iterator[tuple[str, str]]:
    """Places of the entries of one group that stand in one table."""
    held = holder.get(group.path.rpartition(".")[2], [])
    for number, entry in enumerate(held if isinstance(held, list) else [held], start=1):
        row = Row(group, 0, number, parent)
        row.key = str(entry.get(group.key) or group.key_default.format(n=number)) if group.key else ""
        said = {name: name for name in ("", *entry)}
        for child in found.schema.children[group.path]:
            once = child.path.rpartition(".")[2]
            if not child.many:  # its keys are the entry's: "origin.east"
                said |= {f"{once}.{name}": f"{child.label}, {name}" for name in entry.get(once, {})}
            else:
                yield from places_in(found, child, entry, row)
        for name, words in said.items():
            if cell := found.sources.get((id(entry), name)):
                yield f"{row.place}, {words}" if words else row.place, cell


def lost(book: Book) -> list[str]:
    """What the job says and no typed cell of a laid out workbook holds: one sentence for each of its tables."""
    job = book.job
    if job is None:
        return []
    held = {path for one in book.fields.values() for path in cell_paths(one.declared)}
    held |= {path for place in book.tables.values() if place.table for path in place.table.match}
    said: list[str] = []
    for path, group in job.schema.groups.items():
        names = [one.name for one in group.field if f"{path}.{one.name}" not in held]
        rows = [(row, [name for name in names if row.given(f"{path}.{name}")]) for row in job.rows(path)]
        rows = [(row, given) for row, given in rows if given]
        if rows:
            given = [name for name in names if any(name in each for _, each in rows)]
            more = f" and {len(rows) - 1} more" if len(rows) > 1 else ""
            said.append(f"{rows[0][0].place}{more}: {listed(given)}: {book.template.title} has no cell for it")
    return said


def cell_paths(declared: object) -> list[str]:
    """The job paths that a declared cell holds."""
    return [*filter(None, [getattr(declared, "from_job", "")]), *getattr(declared, "by", [])]


def mend(found: Gathered, book: Book) -> None:
    """Say by name and row every typed value that the job's keys alone would not bring back."""
    for one in found.reading.names:
        place = book.fields.get(one.name)
        if not one.typed or place is None or not place.typed:
            continue
        values = found.reading.values[one.name]
        targets = found.targets(one.table, len(values))
        astray = {at for other, at in found.strays if other is one}
        for at, value in enumerate(values):
            target = targets[at]
            if at in astray and target >= place.rows:
                cell = cell_text(one.tab, one.row + at, one.column)
                found.left_out.append(
                    f"{cell} ({one.name}): {value!r} stands beside no {one.table}, and the job has no such row"
                )
            elif at in astray or one.table in found.paths and (one.table, at) in found.rows or not one.table:
                kept = placed(place.values, target)
                if target in place.instead:
                    if at not in one.formulas:  # typed over, or cleared: the formula must not come back
                        found.set_loose(one, at, value, target)
                elif plainly(kept, one) != plainly(value, one):
                    found.set_loose(one, at, value, target)


def placed(values: Sequence[Any], at: int) -> CellValue | date:
    """The value of a row, None where the list ends before it."""
    return values[at] if at < len(values) else None


def plainly(value: object, one: Named) -> object:
    """A cell's value for comparing: dates as text, a number in a text cell as its digits."""
    if value is None or value == "":
        return None
    if one.unit_kind == "text":
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else str(value)


def gather(
    reading: Reading, schema: Schema, units: Units, library: Library | None = None, strict: bool = False
) -> Gathered:
    """The typed cells of a workbook as tables of a job file.

    Raises:
        WorkbookError: the workbook says nothing of its job paths.
    """
    if not any(one.job for one in reading.names):
        raise WorkbookError("tells of no job: it was built without job paths", file=reading.file)
    document: Table = {"schema": schema.version}
    found = Gathered(reading, schema, units, document, library, strict)
    entries = _Entries(schema, document)
    first, _, units_key = schema.edition_path.rpartition(".")
    document[first] = {units_key: reading.edition}
    for one in reading.scalars:
        if one.typed:
            scalar(one, found)
    for columns in reading.tables.values():
        table(columns, found, entries)
    for entry, pending in entries.pending.values():
        pending.settle(entry)
    return found


def scalar(one: Named, found: Gathered) -> None:
    """A single typed cell."""
    value = found.reading.values[one.name][0]
    path = job_path(one)
    if value is None:
        if one.job.endswith(HAS_DEFAULT):
            found.loose[one.name] = ""  # blanked on purpose: the default must not come back
        return
    if path and path in found.schema.fields:
        group, _, name = path.rpartition(".")
        said = spoken(value, one, found.schema.field(path).unit, found.units)
        if found.schema.field(path).required or found.sayable(path, said):
            entry = found.document.setdefault(group, {})
            entry[name] = said
            found.sources[id(entry), name] = cell_text(one.tab, one.row, one.column)
            found.refuse_value(one, 0, path, said)
            return
        if found.strict:
            found.refuse_value(one, 0, path, said)
            return
    found.set_loose(one, 0, value, 0)


def table(columns: Sequence[Named], found: Gathered, entries: _Entries) -> None:
    """The typed cells of a table: entries of the job where its rows have keys, else a list by name."""
    schema, reading, units = found.schema, found.reading, found.units
    paths = {job_path(one): one for one in columns if job_path(one) in schema.fields}
    groups = {schema.home(path) for path in paths}
    deepest = max(groups, key=lambda path: path.count("."), default="")
    if not deepest or not schema.group(deepest).many:
        for one in columns:
            remember(one, found)
        return
    for one in columns:
        if one.typed and job_path(one) not in schema.fields and not one.job.startswith(BY):
            remember(one, found)
    group = schema.group(deepest)
    own_key = paths.get(f"{deepest}.{group.key}") if group.key else None
    own = {path: one for path, one in paths.items() if schema.home(path) == deepest and one is not own_key}
    identity = {path: one for path, one in own.items() if not one.typed}
    defines = own_key.typed if own_key else not identity
    if defines or deepest in found.paths.values():
        found.paths[columns[0].table] = deepest
    for at in range(columns[0].rows):
        filled = [one for one in columns if one.typed and reading.values[one.name][at] is not None]
        keys = keys_of(group, paths, schema, reading, at)
        if keys is None:
            found.strays += [(one, at) for one in filled if one.job]
            if found.strict and filled:
                refuse_stray(found, filled[0], at, group, paths)
            continue
        said: Table = {}
        for path, one in own.items():
            if one in filled:
                value = spoken(reading.values[one.name][at], one, schema.field(path).unit, units)
                if value is False and found.strict:
                    continue  # a no is a blank: it may stand also where a yes would have no meaning
                if found.sayable(path, value):
                    said[path.removeprefix(f"{deepest}.")] = value
                elif found.strict or defines and at not in one.formulas and not loosely(found, path):
                    found.refuse_value(one, at, path, value)
                elif defines and not loosely(found, path):
                    said[path.removeprefix(f"{deepest}.")] = value
                else:
                    found.strays.append((one, at))
        named = {path.removeprefix(f"{deepest}."): reading.values[one.name][at] for path, one in identity.items()}
        pending = by_way_of(columns, reading, at, units, paths, deepest)
        if said or pending.by or defines and (keys[-1] or not group.key):
            entry = entries.entry(group, keys, defines, [str(value) for value in named.values()])
            for name, value in (named | said).items():
                put(entry, name, value)
            remember_cells(found, entry, paths, filled, at, deepest)
            if entries.unheard:
                refuse_unheard(found, entries, paths, at)
            entries.pending.setdefault(id(entry), (entry, Pending()))[1].join(pending)
            found.rows[columns[0].table, at] = entry


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
    return tuple(keys) if len(keys) > 1 or keys[0] or group.key_default else None


def loosely(found: Gathered, path: str) -> bool:
    """Whether a word that a key cannot take travels by its row: one that is neither yes nor no says nothing."""
    return found.units.kinds[found.schema.field(path).unit].holds == "boolean"


def refuse_stray(found: Gathered, one: Named, at: int, group: Group, paths: Mapping[str, Named]) -> None:
    """Refuse a row that belongs to nothing, by its first filled cell and the cell that should say to what."""
    said = f"{shown_value(found.reading.values[one.name][at])} stands in a row that belongs to nothing"
    steps = group.path.split(".")
    above = [found.schema.group(".".join(steps[: count + 1])) for count in range(len(steps))]
    holders = [paths.get(f"{each.path}.{each.key}") for each in above if each.key]
    blank = [holder for holder in holders if holder is not None and found.reading.values[holder.name][at] is None]
    if blank and blank[0].typed:
        found.refuse(one, at, said, f"fill {called(blank[0], at)}, or clear the row")
    else:
        found.refuse(one, at, said, "clear the row")


def refuse_unheard(found: Gathered, entries: _Entries, paths: Mapping[str, Named], at: int) -> None:
    """Refuse a row whose parent nothing else has named, where nothing but this workbook says what there is."""
    group, key = entries.unheard[0]
    entries.unheard.clear()
    holder = paths.get(f"{group.path}.{group.key}")
    if found.strict and holder is not None:
        known = [str(entry[group.key]) for entry in found.entries(group.path) if entry.get(group.key, key) != key]
        found.refuse(
            holder, at, f"there is no {group.label} {shown_value(key)}", unknown(key, known, f"{group.label}s")
        )


def remember_cells(
    found: Gathered, entry: Table, paths: Mapping[str, Named], filled: Sequence[Named], at: int, home: str
) -> None:
    """Note which cells an entry's keys were said in, and for the whole entry the first of them."""
    for path, one in paths.items():
        if one in filled and found.schema.home(path) == home:
            name = path.removeprefix(f"{home}.")
            found.sources[id(entry), name] = cell_text(one.tab, one.row + at, one.column)
    if filled:
        found.sources.setdefault((id(entry), ""), cell_text(filled[0].tab, filled[0].row + at, filled[0].column))


def by_way_of(
    columns: Sequence[Named], reading: Reading, at: int, units: Units, paths: Mapping[str, Named], home: str
) -> Pending:
    """What a row says of values that stand as formulas in their typed cells, and of quantities that give them."""
    pending = Pending()
    for path, one in paths.items():
        if one.typed and at in one.formulas:
            pending.formulas[path.removeprefix(f"{home}.")] = [
                other.removeprefix(f"{home}.") for other in one.job.split(INSTEAD)[1:]
            ]
    for one in columns:
        if one.job.startswith(BY) and (value := reading.values[one.name][at]) is not None:
            pending.by = f"by {spoken(value, one, one.unit_kind, units)}"
            pending.by_names = [path.rpartition(".")[2] for path in one.job.removeprefix(BY).split()]
    return pending


def remember(one: Named, found: Gathered) -> None:
    """A typed column that no job path covers, as a list, blanks as empty text."""
    values = found.reading.values[one.name]
    if not one.typed or all(value is None for value in values):
        return
    last = max(at for at, value in enumerate(values) if value is not None)
    told = ["" if v is None else spoken(v, one, one.unit_kind, found.units) for v in values[: last + 1]]
    if all(said == "" or found.carried(one, said) for said in told):
        found.loose[one.name] = told
        return
    found.strays += [(one, at) for at, value in enumerate(values) if value is not None]


def spoken(value: Json, one: Named, kind: str, units: Units) -> Any:
    """A cell's value as a job file says it: a quantity with its unit, a date, a word."""
    if kind == "boolean":
        return TRUTHS.get(str(value).strip().casefold(), value)
    if one.unit_kind == "date" and isinstance(value, str):
        try:
            return date.fromisoformat(value)  # one with a time of day stays text, which no date may be
        except ValueError:
            return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if one.unit and kind in units.kinds and units.kinds[kind].holds == "quantity":
            return f"{Decimal(repr(value)):f} {one.unit}"  # a job file's quantities have no exponents
        return str(value) if kind == "text" else value
    return value
