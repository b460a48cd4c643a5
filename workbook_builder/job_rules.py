"""Rules over several keys of a job: conditions, counts, combinations that a table must have."""

from __future__ import annotations

import re
from collections.abc import Iterable

from .job import Row
from .job_language import Conditions, Field, Group, Rule, Scalar
from .job_schema import Getter, Reference, Schema
from .job_values import Reader
from .quantity import By, Quantity


class Holding:
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


class ReadyRule:
    """One rule, ready to be tried on rows."""

    def __init__(self, schema: Schema, group: Group, rule: Rule, place: str) -> None:
        self.rule = rule
        self.units = schema.units
        self.conditions = Holding(schema, group, place, rule.when, rule)
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
        of_a_list = {one.name for one in group.field if one.choices}  # of a free text there is no end
        self.first = next(((path, set(values)) for path, values in rule.when.items() if path in of_a_list), None)
        said = re.findall(r"\{([^}]*)\}", rule.say + rule.allowed)
        self.said = dict(zip(said, getters(said), strict=True))

    def concerns(self, row: Row) -> bool:
        """Whether it may be about a row; most rules are about a few words of one key."""
        return self.first is None or row.values.get(self.first[0]) in self.first[1]

    def fill(self, text: str, row: Row) -> str:
        """The rule's text with the row's values."""

        def found(match: re.Match[str]) -> str:
            value = self.said[match[1]](row)
            return "nothing" if value is None else str(value)

        return re.sub(r"\{([^}]*)\}", found, text)

    def broken(
        self, row: Row, reference: Reference, shared: dict[tuple[int, int, object], int]
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

    def _found(self, row: Row, reference: Reference) -> bool:
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


class Plan:
    """Readers and rules of one table in one edition."""

    def __init__(self, schema: Schema, group: Group, edition: str) -> None:
        self.group = group
        self.children = schema.children[group.path]
        self.child_names = {child.path.rpartition(".")[2] for child in self.children}
        self.readers = {one.name: Reader(schema, one, edition, f"{group.path}.{one.name}") for one in group.field}
        self.words = {child.path.rpartition(".")[2]: child.word_is for child in self.children if child.word_is}
        self.known = [*self.readers, *self.child_names]
        self.required = [one.name for one in group.field if one.required]
        self.defaults = {name: reader.default for name, reader in self.readers.items() if reader.default is not None}
        self.earlier = [one for one in group.field if one.earlier]
        self.links = links(self.children)
        self.inherits: list[tuple[str, list[Getter]]] = []
        self.needed: list[tuple[Field, Holding]] = []
        self.barred: list[tuple[Field, Holding]] = []
        self.combined: list[tuple[Field, dict[str, Getter], Holding]] = []
        for one in group.field:
            place = f"{group.path}.{one.name}"
            if one.inherits:
                self.inherits.append((one.name, [schema.getter(group, path, place) for path in one.inherits]))
            if one.required_when:
                self.needed.append((one, Holding(schema, group, place, one.required_when)))
            if one.only_when:
                self.barred.append((one, Holding(schema, group, place, one.only_when)))
            if one.choices_for:
                where = {column: schema.getter(group, path, place) for column, path in one.choices_for.items()}
                self.combined.append((one, where, Holding(schema, group, place, one.choices_when)))
        self.rules = [
            ReadyRule(schema, group, rule, f"{group.path}, rule {at}") for at, rule in enumerate(group.rule, start=1)
        ]
        self._gates = list(dict.fromkeys(rule.first[0] for rule in self.rules if rule.first))
        self._about: dict[tuple[object, ...], list[ReadyRule]] = {}

    def rules_about(self, row: Row) -> list[ReadyRule]:
        """Rules that may be about a row, in their order; rows that say the same of what rules ask share a list."""
        said = tuple(map(row.values.get, self._gates))
        if said not in self._about:
            self._about[said] = [rule for rule in self.rules if rule.concerns(row)]
        return self._about[said]


def links(groups: Iterable[Group]) -> list[tuple[str, Field]]:
    """Keys of some lists that name rows of one another, each with its list: settled when all of them are read."""
    return [(group.path, one) for group in groups for one in group.field if one.names]


def plans(schema: Schema) -> dict[str, dict[str, Plan]]:
    """For each edition and path, the ready-made readers and rules; made once for a schema."""
    if not schema.plans:
        schema.plans.update(
            {
                edition: {path: Plan(schema, group, edition) for path, group in schema.groups.items()}
                for edition in schema.units.editions
            }
        )
    return schema.plans
