"""Changes the formulas of the templates one at a time and asks of each change whether anything would notice it.

A mutant is a formula with one small change: an operator, a sign, a number, a text, a name in place of another of its
kind from the same table, a function in place of its twin. It is rendered into open workbooks; what these then give is
held against the same independent oracles that the tests use (`scenes.py`), against the worked examples of the Checks
sheet, and against the rule that no cell may hold an error value. What nobody notices is a survivor; those that are
known are explained in `mutants_survivors.md`.

A change that the builder itself refuses (dimensions, circles, names) is no mutant: it could never be built. Nor is one
that builds the same cells, such as another name in a place that a macro does not use.

    python tests/mutants.py                 the score of every sheet that has oracles here
    python tests/mutants.py fitup ends      of these sheets only (macros too, with the word macros)
    python tests/mutants.py --every 5       of every fifth mutant
    python tests/mutants.py --every 5 --from 2    of every fifth, from the third on: others than those looked at before
    python tests/mutants.py --minutes 8     of as many, taken by chance, as that takes
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import random
import re
import resource
import sys
import time
from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from functools import cache, cached_property
from pathlib import Path
from typing import Any, Literal

import msgspec
import test_route
from live import Live, Wrong, some
from scenes import scenes
from staging import Case, Scene

from workbook_builder import expression
from workbook_builder.book import Field
from workbook_builder.errors import TemplateError
from workbook_builder.examples import work_out
from workbook_builder.expression import Binary, Call, MacroBody, Name, Node, Number, Text, Truth, Unary
from workbook_builder.layout import check_text
from workbook_builder.prove import Proof, Proven, reference
from workbook_builder.template import Check, Formula, SheetTemplate, for_edition

SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets",
    "items", "sketch", "cutlist", "cut_steps", "ends", "fitup", "dial", "parts",
    "material", "checks", "flanges", "drilled", "faces", "face_steps", "levels", "bores", "bore_sizes", "bevels",
    "groove", "tacks", "tack_practice", "dimensions", "predictions", "closure_steps", "welds", "release",
    "release_points", "connections", "bolting", "seams", "envelope", "envelope_parts",
)  # fmt: skip
"""Sheets whose formulas are changed."""

WANTED = 95.0
"""Per cent that must be noticed of the mutants that are not explained as equal."""

KNOWN = Path(__file__).with_name("mutants_survivors.md")
EDITIONS = ("inch", "mm")

SWAPS: Mapping[str, tuple[str, ...]] = {
    "+": ("-",),
    "-": ("+",),
    "*": ("/",),
    "/": ("*",),
    "^": ("*",),
    "=": ("<>",),
    "<>": ("=",),
    "<": ("<=", ">="),
    "<=": ("<", ">"),
    ">": (">=", "<="),
    ">=": (">", "<"),
}
TWINS: Mapping[str, str] = {
    "AND": "OR",
    "OR": "AND",
    "MIN": "MAX",
    "MAX": "MIN",
    "SIN": "COS",
    "COS": "SIN",
    "ROUND": "ROUNDUP",
    "ROUNDUP": "ROUND",
}
DROPPED = ("ABS", "NOT")

Kind = Literal["field", "check", "macro", "instead"]
Path_ = tuple[int, ...]
"""The way to a node of a tree: which child, and which child of that."""


# -- the changes -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Owner:
    """A formula text of a template.

    Attributes:
        sheet: the sheet's name, "macros" for a shared macro.
        kind: what holds it.
        name: full name of the field, of the macro, or of the field that shows a check.
        part: which text of it: a check's number and word, or a typed cell's reason.
        text: the formula as declared.
        editions: those that have this text.
    """

    sheet: str
    kind: Kind
    name: str
    part: str
    text: str
    editions: tuple[str, ...]


@dataclass(frozen=True)
class Mutant:
    """One change of one formula text; `number` counts changes of one formula that read alike."""

    owner: Owner
    number: int
    what: str
    text: str

    def __str__(self) -> str:
        part = f" ({self.owner.part})" if self.owner.part else ""
        only = f" [{self.owner.editions[0]}]" if len(self.owner.editions) == 1 else ""
        again = f" ({self.number})" if self.number > 1 else ""
        return f"{self.owner.name}{part}{only}: {self.what}{again}"


def texts(said: Formula) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each text of a declared formula with the editions that have it."""
    given = {edition: str(for_edition(said, edition) or "") for edition in EDITIONS}
    for text in dict.fromkeys(given.values()):
        if text:
            yield text, tuple(edition for edition in EDITIONS if given.get(edition) == text)


def owners(sheets: Sequence[str]) -> Iterator[Owner]:
    """Every formula text of these sheets, and of the macros."""
    shelf = some().shelf
    for sheet in sheets:
        if sheet == "macros":
            for name, macro in shelf.macros("macros").items():
                for text, editions in texts(macro.formula):
                    yield Owner("macros", "macro", name, "", text, editions)
            continue
        template = shelf.sheet(sheet)
        yield from _owners(sheet, template)


def _owners(sheet: str, template: SheetTemplate) -> Iterator[Owner]:
    for result in template.result:
        for text, editions in texts(result.formula):
            yield Owner(sheet, "field", f"{sheet}.{result.name}", "", text, editions)
    for number, check in enumerate(template.check, start=1):
        yield from _check_owners(sheet, f"{sheet}.check_{number}", number, check)
    for table in template.table:
        for column in table.column:
            editions_of = (column.edition,) if column.edition else EDITIONS
            for text, editions in texts(column.formula):
                kept = tuple(edition for edition in editions if edition in editions_of)
                if kept:
                    yield Owner(sheet, "field", f"{table.name}.{column.name}", "", text, kept)
            for reason, text in column.instead.items():
                yield Owner(sheet, "instead", f"{table.name}.{column.name}", reason, text, EDITIONS)
        for number, check in enumerate(table.check, start=1):
            apart = f"{check.apart}_" if check.apart else ""
            yield from _check_owners(sheet, f"{table.name}.{apart}{check.level}s", number, check)
    for name, macro in template.macro.items():
        for text, editions in texts(macro.formula):
            yield Owner(sheet, "macro", name, "", text, editions)


def _check_owners(sheet: str, name: str, number: int, check: Check) -> Iterator[Owner]:
    yield Owner(sheet, "check", name, f"check {number} when", check.when, EDITIONS)
    if check.say.startswith("="):
        yield Owner(sheet, "check", name, f"check {number} say", check.say[1:], EDITIONS)


def mutants(owner: Owner, names: Namer) -> Iterator[Mutant]:
    """Every change of a formula text."""
    tree = expression.parse(owner.text)
    seen: Counter[str] = Counter()
    for path, node in places(tree):
        for what, changed in changes(node, owner, names):
            seen[what] += 1
            yield Mutant(owner, seen[what], what, expression.write(put(tree, path, changed)))


def places(node: Node, path: Path_ = ()) -> Iterator[tuple[Path_, Node]]:
    """Every node of a tree with the way to it."""
    yield path, node
    for at, child in enumerate(children(node)):
        yield from places(child, (*path, at))


def children(node: Node) -> tuple[Node, ...]:
    """What stands right below a node."""
    match node:
        case Call(_, args):
            return args
        case Binary(_, left, right):
            return left, right
        case Unary(_, operand):
            return (operand,)
    return ()


def put(node: Node, path: Path_, new: Node) -> Node:
    """The tree with another node in a place."""
    if not path:
        return new
    at, rest = path[0], path[1:]
    below = list(children(node))
    below[at] = put(below[at], rest, new)
    match node:
        case Call(function, _):
            return Call(function, tuple(below))
        case Binary(operator, _, _):
            return Binary(operator, below[0], below[1])
        case Unary(operator, _):
            return Unary(operator, below[0])
    raise AssertionError(node)


def changes(node: Node, owner: Owner, names: Namer) -> Iterator[tuple[str, Node]]:
    """The small changes of one node."""
    match node:
        case Binary(operator, left, right):
            for other in SWAPS.get(operator, ()):
                yield f"{operator} becomes {other} in {short(node)}", Binary(other, left, right)
        case Unary("-", operand):
            yield f"no sign in {short(node)}", operand
        case Number(value):
            yield f"{value:g} becomes {value + 1:g}", Number(value + 1)
        case Text(value):
            yield f"{value!r} becomes another text", Text("@" + value)
        case Truth(value):
            yield f"{value} becomes {not value}", Truth(not value)
        case Call(function, args) if function.upper() in TWINS:
            twin = TWINS[function.upper()]
            yield f"{function.upper()} becomes {twin} in {short(node)}", Call(twin, args)
        case Call(function, args) if function.upper() in DROPPED and len(args) == 1:
            yield f"no {function.upper()} in {short(node)}", args[0]
        case Name(text):
            for other in names.like(text, owner):
                yield f"{text} becomes {other}", Name(other)


def short(node: Node) -> str:
    """A formula's text, cut where it is long."""
    text = expression.write(node)
    return text if len(text) <= 60 else text[:57] + "…"


class Namer:
    """Finds for a name another of its kind.

    Args:
        books: an open workbook of each edition.
    """

    def __init__(self, books: Mapping[str, Live]) -> None:
        self.books = books

    def like(self, text: str, owner: Owner) -> list[str]:
        """One other name that may stand in a name's place: the next of its kind in its table; none where none is."""
        book = self.books[owner.editions[0]]
        if owner.kind == "macro":
            takes = list(book.book.macros[owner.name].takes)
            if text in takes:
                return [takes[(takes.index(text) + 1) % len(takes)]] if len(takes) > 1 else []
        inside = self._inside(book, owner)
        try:
            how, found = book.proof.resolve(text, inside)
        except TemplateError:
            return []
        head = text.rpartition(".")[0]
        for other in self._of_kind(book, found):
            name = other.name.partition(".")[2]
            said = f"{head}.{name}" if head else name
            if said != text and self._may(book, said, how, other, inside):
                return [said]
        return []

    @staticmethod
    def _inside(book: Live, owner: Owner) -> Field:
        if owner.kind != "macro":
            return book.book.fields[owner.name]
        return next(f for f in book.computed if f.file in (f"{owner.sheet}.toml", "fitup.toml"))

    @staticmethod
    def _of_kind(book: Live, found: Field) -> list[Field]:
        """Fields of the same table or sheet, kind and unit, those after it first."""
        space = found.name.partition(".")[0]
        every = list(book.book.fields.values())
        at = every.index(found)
        return [
            one
            for one in (*every[at + 1 :], *every[:at])
            if one.name.partition(".")[0] == space
            and one.unit_kind == found.unit_kind
            and one.rows == found.rows
            and not one.name.endswith(("_check", ".message"))
        ]

    @staticmethod
    def _may(book: Live, said: str, how: str, other: Field, inside: Field) -> bool:
        """Whether a name can be said there, and leads back to nobody."""
        try:
            way, found = book.proof.resolve(said, inside)
        except TemplateError:
            return False
        if way != how or found is not other:
            return False
        return how in ("previous", "next", "above") or other.name not in followers(book, inside.name)


# -- who follows from whom ---------------------------------------------------------------------------------------------


def followers(book: Live, name: str) -> frozenset[str]:
    """Fields that a field's value can reach, itself too."""
    return _followers(graph(book), name)


@cache
def _followers(links: Links, name: str) -> frozenset[str]:
    seen, waiting = {name}, [name]
    while waiting:
        for other in links.to[waiting.pop()]:
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return frozenset(seen)


@dataclass(frozen=True, eq=False)
class Links:
    """Which fields each field is read by."""

    to: Mapping[str, set[str]] = field(hash=False)


_GRAPHS: dict[int, Links] = {}


def graph(book: Live) -> Links:
    """The links of a workbook."""
    if id(book.proof) not in _GRAPHS:
        to: dict[str, set[str]] = defaultdict(set)
        for one in book.proof.proven:
            for name in expression.names(one.node):
                to[reference(name)[1]].add(one.field.name)
        for made, _, node in book.proof.single:
            for name in expression.names(node):
                to[reference(name)[1]].add(made.name)
        _GRAPHS[id(book.proof)] = Links(to)
    return _GRAPHS[id(book.proof)]


# -- putting a change into open workbooks ------------------------------------------------------------------------------

Nodes = dict[str, Node]
"""New trees by field name; `name@row` for a formula in a single typed cell."""


class Refused(Exception):
    """The builder would not build it."""


@dataclass
class Uses:
    """Which macros a formula text calls, directly or by way of others, in one edition's workbook."""

    book: Live
    known: dict[str, frozenset[str]] = field(default_factory=dict)

    def of(self, text: str) -> frozenset[str]:
        """Macros that a text calls."""
        if text not in self.known:
            found: set[str] = set()
            self._add(expression.parse(text), found)
            self.known[text] = frozenset(found)
        return self.known[text]

    def _add(self, node: Node, found: set[str]) -> None:
        for part in expression.walk(node):
            if isinstance(part, Call) and part.function.lower() in self.book.book.macros:
                name = part.function.lower()
                if name not in found:
                    found.add(name)
                    self._add(self.book.book.macros[name].body, found)


def changed_nodes(mutant: Mutant, book: Live, uses: Uses) -> Nodes:
    """The trees that a change makes new, proved, but for those in single typed cells.

    Raises:
        Refused: it cannot be proved.
    """
    owner, proof = mutant.owner, book.proof
    try:
        if owner.kind == "macro":
            return _macro_nodes(mutant, book, uses)
        if owner.kind == "instead":
            return {}
        made = book.book.fields[owner.name]
        old, new = owner.text, mutant.text
        if owner.kind == "check":
            old, new = _check_texts(mutant, book)
        before, there, after = made.formula.rpartition(old)  # a guard that asks for the same names stands before it
        if not there:
            raise AssertionError(f"{owner.name} does not hold {old}")
        node = proof.prove_formula(made, before + new + after, None)
    except TemplateError as refused:
        raise Refused(str(refused)) from refused
    own = followers(book, made.name)
    for how, name in map(reference, expression.names(node)):
        if how in ("row", "cell", "column") and name in own:
            raise Refused("it leads back to itself")
    return {made.name: node}


def changed_singles(mutant: Mutant, book: Live, uses: Uses) -> Nodes:
    """The trees that a change makes new in single typed cells, where a job gave the value by way of another.

    Raises:
        Refused: it cannot be proved.
    """
    owner = mutant.owner
    found: Nodes = {}
    try:
        for made, at, _ in book.proof.single:
            text = made.instead[at]
            if owner.kind == "instead" and (owner.name, owner.text) == (made.name, text):
                found[f"{made.name}@{at}"] = book.proof.prove_formula(made, mutant.text, None)
            elif owner.kind == "macro" and owner.name in uses.of(text):
                with changed_macro(mutant, book):
                    found[f"{made.name}@{at}"] = book.proof.prove_formula(made, text, None)
    except TemplateError as refused:
        raise Refused(str(refused)) from refused
    return found


def _check_texts(mutant: Mutant, book: Live) -> tuple[str, str]:
    """What a check's field holds of it now, and with the change."""
    owner = mutant.owner
    _, number, word = owner.part.split()
    template = some().shelf.sheet(owner.sheet)
    space, _, column = owner.name.partition(".")
    of_sheet = column.startswith("check_")  # a table may be called like its sheet
    table = None if of_sheet else next((each for each in template.table if each.name == space), None)
    check = (table.check if table else template.check)[int(number) - 1]
    new = msgspec.structs.replace(check, **{word: mutant.text if word == "when" else "=" + mutant.text})
    return check_text(check), check_text(new)


def _macro_nodes(mutant: Mutant, book: Live, uses: Uses) -> Nodes:
    with changed_macro(mutant, book):
        return {
            one.field.name: book.proof.prove_formula(one.field, one.field.formula, None)
            for one in book.proof.proven
            if mutant.owner.name in uses.of(one.field.formula)
        }


@contextmanager
def changed_macro(mutant: Mutant, book: Live) -> Iterator[None]:
    """Another macro in its place for a while."""
    name, macros = mutant.owner.name, book.book.macros
    before = macros[name]
    macros[name] = MacroBody(before.takes, expression.parse(mutant.text), before.file)
    try:
        yield
    finally:
        macros[name] = before


def trees_of(book: Live) -> Nodes:
    """Every tree of a workbook as it stands."""
    found: Nodes = {one.field.name: one.node for one in book.proof.proven}
    return found | {f"{made.name}@{at}": node for made, at, node in book.proof.single}


def put_trees(book: Live, nodes: Mapping[str, Node]) -> None:
    """Other trees in their cells; nothing is recomputed."""
    for name, node in nodes.items():
        name, _, at = name.partition("@")
        made = book.book.fields[name]
        pattern = book.renderer.pattern(Proven(made, node))
        if at:
            row = made.row + int(at)
            book.engine.set_formula(made.tab, row + 1, made.column + 1, pattern.at(row))
        else:
            book.put_formulas(made, [pattern.at(row) for row in range(made.row, made.row + made.rows)])


class Stage:
    """A case of a scene opened: a workbook typed into, what it gives unchanged, and the formulas as they were.

    Args:
        scene: name of the scene.
        book: its open workbook.
        case: what was typed, and what must hold.
        whole: whether changes are tried here that none of its oracles looks at, for what becomes an error value.
        proves: whether the worked examples are looked at here: they are the same in every case of an edition.

    Raises:
        AssertionError: something is not as it should be before anything was changed.
    """

    def __init__(self, scene: str, book: Live, case: Case, whole: bool, proves: bool) -> None:
        self.name = f"{scene}, {case.name}"
        self.book, self.case, self.whole = book, case, whole
        proof = book.proof
        self.trees = trees_of(book)
        if not case.own:
            book.put_all(case.typed)
        self.values = book.values()
        self.stirred = False
        self.found, self.first, self.copied = self._examples(proof) if proves else (None, 0, set[str]())
        if word := case.unlike(book, set(self.values), self.values) or wrong_in(self.book, self.values):
            raise AssertionError(f"{self.name}, with nothing changed: {word}")
        if not case.own:
            book.reset()

    def _examples(self, proof: Proof) -> tuple[Field | None, int, set[str]]:
        book = self.book.book
        found = book.fields.get("proofs.found")
        if found is None:
            return None, 0, set()
        plan = next(plan for plan in book.sheets if plan.tab == found.tab)
        first = plan.printed + 1 + sum(each.working for each in book.tables["proofs"].fields)
        cells = work_out(book.cases, found, first, proof, self.book.renderer).cells
        return found, first, {str(content) for _, _, content, formula in cells if not formula and "." in str(content)}

    def differs(self, name: str, node: Node) -> bool:
        """Whether a tree is another than the one that stands there."""
        return node != self.trees[name]

    def put(self, nodes: Nodes) -> None:
        """Other trees in their cells; nothing is recomputed.

        Raises:
            Refused: a worked example could not be written with them.
        """
        put_trees(self.book, nodes)
        if self.found is not None and self.copied & nodes.keys():
            self._put_examples(nodes)

    def _put_examples(self, nodes: Nodes) -> None:
        """Write the examples out, each cell: one formula more or less moves what stands after it."""
        assert self.found is not None
        proof = _Changed(self.book, nodes)
        try:
            work = work_out(self.book.book.cases, self.found, self.first, proof, self.book.renderer)  # type: ignore[arg-type]
        except TemplateError as refused:
            raise Refused(str(refused)) from refused
        engine, tab = self.book.engine, self.found.tab
        for row, column, content, formula in work.cells:
            if formula:
                engine.set_formula(tab, row + 1, column + 1, str(content))
            else:
                engine.set_value(tab, row + 1, column + 1, content)
        for at, text in enumerate(work.formulas):
            engine.set_formula(tab, self.found.row + at + 1, self.found.column + 1, text)

    def clear(self, nodes: Nodes) -> None:
        """The trees as they were."""
        self.put({name: self.trees[name] for name in nodes})

    @cached_property
    def moved(self) -> set[str]:
        """Fields that what is typed in this case can change."""
        return {reached for name, _ in self.case.typed for reached in followers(self.book, name)}

    def noticed(self, nodes: Nodes) -> str:
        """What notices a change, "" when nothing does.

        Raises:
            Refused: a circle of cells, which stops the build.
        """
        fields = self.book.book.fields
        first = {name.partition("@")[0] for name in nodes}
        reached = {name for one in first for name in followers(self.book, one) if name in fields}
        self.stirred = False
        copied = self.found is not None and bool(self.copied & nodes.keys())
        if not (self.whole or copied or self.case.reads & reached):
            return ""
        if copied:
            first.add("proofs.difference")
            reached |= {"proofs.difference", "proofs.verdict"}
        try:
            self.put(nodes)
            if not self.case.own:
                self.book.put_all(self.case.typed)
            self.book.calculate()
            now = {name: self.book.take(fields[name]) for name in first}
            self.stirred = any(column != self.values.get(name) for name, column in now.items())
            if not self.stirred:
                return ""
            now |= {name: self.book.take(fields[name]) for name in reached - first}
            if word := wrong_in(self.book, now):
                return word
            changed = {name for name, column in now.items() if column != self.values.get(name)}
            word = self.case.unlike(self.book, changed, now)
            return f"{self.name}: {word}" if word else ""
        finally:
            self.clear(nodes)
            if not self.case.own:
                self.book.reset()


class _Changed:
    """A proof in which some trees are others, for copying worked examples."""

    def __init__(self, book: Live, nodes: Nodes) -> None:
        self.book = book.book
        self.proven = [Proven(one.field, nodes.get(one.field.name, one.node)) for one in book.proof.proven]


def wrong_in(book: Live, values: Mapping[str, Sequence[Any]]) -> str:
    """An error value among these, or a text where a number belongs; "" when there is none.

    Raises:
        Refused: a cell leads back to itself.
    """
    for name, column in values.items():
        for value in column:
            if isinstance(value, Wrong):
                if value.kind == "Circ":
                    raise Refused("a cell leads back to itself")
                return f"{name} holds {value}"
            if isinstance(value, str) and book.book.fields[name].unit_kind not in ("text", "date"):
                return f"{name} holds the text {value!r}"
    return ""


# -- trying them all ---------------------------------------------------------------------------------------------------


class Trial:
    """Tries mutants, one after the other, in one process.

    Args:
        among: the scenes; by default all.
    """

    def __init__(self, among: Sequence[Scene] | None = None) -> None:
        self.scenes = scenes() if among is None else among
        self.opened: dict[int, tuple[Live, Sequence[Case]]] = {}
        self.stages: dict[tuple[int, int], Stage] = {}
        self.uses: dict[tuple[str, ...], Uses] = {}
        self.best: dict[tuple[str, str, tuple[str, ...]], list[tuple[int, int]]] = {}

    def scene(self, at: int) -> tuple[Live, Sequence[Case]]:
        """A scene's workbook and cases, opened on first asking."""
        if at not in self.opened:
            self.opened[at] = self.scenes[at].open()
        return self.opened[at]

    def stage(self, at: int, number: int) -> Stage:
        """A case of a scene, opened on first asking: in the scene's workbook, or in one of its own."""
        if (at, number) not in self.stages:
            book, cases = self.scene(at)
            if number == 0:
                book.put_all(cases[0].typed)
                book.typed.clear()
            elif cases[number].own:
                book = book.again({**cases[0].typed, **cases[number].typed})
            else:
                book = self.stage(at, 0).book
            proves = number == 0 and at == self._first(self.scenes[at].edition)
            self.stages[at, number] = Stage(self.scenes[at].name, book, cases[number], cases[number].own, proves)
        return self.stages[at, number]

    def _first(self, edition: str) -> int:
        return next(at for at, scene in enumerate(self.scenes) if scene.edition == edition)

    def book(self, edition: str) -> Live:
        """An open workbook of an edition."""
        return self.scene(self._first(edition))[0]

    def order(self, owner: Owner) -> Iterator[tuple[int, int]]:
        """Scenes and cases that look at a formula, those first that noticed a change of it before.

        Then the scenes of its sheet before those of many sheets, which take minutes to open.
        """
        tried_first = tuple(self.best.setdefault((owner.sheet, owner.name, owner.editions), []))
        yield from tried_first
        for at in sorted(range(len(self.scenes)), key=lambda at: self._wide(self.scenes[at], owner)):
            scene, number = self.scenes[at], 0
            while self._looks(scene, owner) and number < len(self.scene(at)[1]):
                if (at, number) not in tried_first:
                    yield at, number
                number += 1

    @staticmethod
    def _wide(scene: Scene, owner: Owner) -> int:
        """How many sheets a scene looks at; macros are of no sheet, for them scenes come as they are listed."""
        return 0 if owner.sheet == "macros" else len(scene.sheets)

    @staticmethod
    def _looks(scene: Scene, owner: Owner) -> bool:
        return scene.edition in owner.editions and (owner.sheet in scene.sheets or owner.sheet == "macros")

    def _proved(self, mutant: Mutant, at: int, proved: dict[tuple[str, ...], Nodes]) -> Nodes:
        """The new trees in a scene's workbook; those that build the same sheets have the same."""
        scene = self.scenes[at]
        key = (scene.edition, *scene.built)
        if key not in proved:
            book, _ = self.scene(at)
            there = mutant.owner.name in (book.book.macros if mutant.owner.kind == "macro" else book.book.fields)
            proved[key] = changed_nodes(mutant, book, self.uses.setdefault(key, Uses(book))) if there else {}
        return proved[key]

    def result(self, mutant: Mutant) -> str | None:
        """What notices a mutant; "" when nothing does, None when it could not be built or is built the same."""
        proved: dict[tuple[str, ...], Nodes] = {}
        built = False
        quiet: set[int] = set()
        for at, number in self.order(mutant.owner):
            try:
                nodes = dict(self._proved(mutant, at, proved))
                stage = self.stage(at, number)
                if mutant.owner.kind in ("instead", "macro"):
                    key = (self.scenes[at].edition, *self.scenes[at].built)
                    nodes |= changed_singles(mutant, stage.book, self.uses[key])
                nodes = {name: node for name, node in nodes.items() if stage.differs(name, node)}
                if at in quiet and not stage.moved & {name.partition("@")[0] for name in nodes}:
                    continue  # the changed cells are those of the scene's first case, where the change did not show
                if not nodes:
                    continue  # once macros are written out, the very same formulas
                word = stage.noticed(nodes)
                if number == 0 and not stage.stirred:
                    quiet.add(at)
            except Refused:
                return None
            built = True
            if word:
                best = self.best[mutant.owner.sheet, mutant.owner.name, mutant.owner.editions]
                if (at, number) in best:
                    best.remove((at, number))
                best.insert(0, (at, number))
                return word
        return "" if built else None


Outcome = tuple[Mutant, str | None]
"""A mutant and what noticed it: "" nothing did, None it could not be built."""


@cache
def _trial(share: int, shares: int) -> Trial:
    """What one process of several tries: every so many scenes, so that each is opened once."""
    return Trial(scenes()[share::shares])


def _try(part: Sequence[Mutant], share: int, shares: int) -> list[Outcome]:
    trial = _trial(share, shares)
    return [(mutant, trial.result(mutant)) for mutant in part]


def population(sheets: Sequence[str], every: int, first: int = 0) -> list[Mutant]:
    """The mutants of these sheets, or every so many of them from the first one asked for, counted from 0."""
    names = Namer({edition: whole(edition) for edition in EDITIONS})
    found = [mutant for owner in owners(sheets) for mutant in mutants(owner, names)]
    return found[first::every]


@cache
def whole(edition: str) -> Live:
    """The workbook with all its sheets, where names are looked up."""
    return Live(test_route.text_of(0, edition), edition)


def explained() -> set[str]:
    """Survivors that the list explains."""
    if not KNOWN.is_file():
        return set()
    return set(re.findall(r"^- `(.+?)`", KNOWN.read_text(encoding="utf-8"), re.MULTILINE))


def portions_of(every: Iterable[Mutant], size: int) -> Iterator[list[Mutant]]:
    """Mutants in portions: those of one formula together."""
    portion: list[Mutant] = []
    for mutant in every:
        if len(portion) >= size and portion[-1].owner != mutant.owner:
            yield portion
            portion = []
        portion.append(mutant)
    if portion:
        yield portion


def tried(every: Sequence[Mutant], workers: int, until: float) -> list[Outcome]:
    """What notices each mutant; a sheet that no scene looks at has noticed none.

    Args:
        every: the mutants, tried in an order of chance.
        workers: how many processes try them.
        until: by the monotonic clock, when no further ones are begun; those are not among the outcomes.
    """
    looked_at = {"macros"}.union(*(scene.sheets for scene in scenes()))
    results = _in_shares([mutant for mutant in every if mutant.owner.sheet in looked_at], workers, until)
    return results + [(mutant, "") for mutant in every if mutant.owner.sheet not in looked_at]


def _in_shares(every: Sequence[Mutant], shares: int, until: float) -> list[Outcome]:
    """What the scenes notice: each process has its share, and what one does not notice the others are asked about."""
    found: dict[Mutant, list[str | None]] = {mutant: [] for mutant in every}
    waiting: list[deque[list[Mutant]]] = [deque() for _ in range(shares)]
    portions = list(portions_of(every, 12))
    random.Random(1).shuffle(portions)
    for at, portion in enumerate(portions):
        waiting[at % shares].append(portion)
    spawn = multiprocessing.get_context("spawn")
    with ExitStack() as stack:
        pools = [stack.enter_context(ProcessPoolExecutor(1, mp_context=spawn)) for _ in range(shares)]
        running: dict[Future[list[Outcome]], int] = {}
        while running or any(waiting):
            for at in set(range(shares)) - set(running.values()):
                while waiting[at] and time.monotonic() > until and not found[waiting[at][0][0]]:
                    for mutant in waiting[at].popleft():
                        del found[mutant]
                if waiting[at]:
                    running[pools[at].submit(_try, waiting[at].popleft(), at, shares)] = at
            if not running:
                break
            done, _ = wait(running, return_when=FIRST_COMPLETED)
            for one in done:
                at = running.pop(one)
                quiet = []
                for mutant, word in one.result():
                    found[mutant].append(word)
                    if not word and len(found[mutant]) < shares:
                        quiet.append(mutant)
                if quiet:
                    waiting[(at + 1) % shares].appendleft(quiet)
    return [(mutant, next(filter(None, words), "" if "" in words else None)) for mutant, words in found.items()]


def main(words: Sequence[str]) -> int:
    """Try the mutants, print the score."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n\n")[0])
    parser.add_argument("sheets", nargs="*", default=[*SHEETS, "macros"], help="sheets whose formulas are changed")
    parser.add_argument("--every", type=int, default=1, help="try every so many mutants only")
    parser.add_argument("--from", type=int, default=0, dest="first", help="leave out so many at the start")
    parser.add_argument("--workers", type=int, default=2, help="processes")
    parser.add_argument("--minutes", type=float, default=math.inf, help="begin no further ones after so many minutes")
    parser.add_argument("--list", action="store_true", help="print what notices each mutant")
    chosen = parser.parse_args(words)
    start = time.monotonic()
    every = population(chosen.sheets, chosen.every, chosen.first)
    results = tried(every, chosen.workers, start + 60 * chosen.minutes)
    used = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = sum(each.ru_utime + each.ru_stime for each in used)
    took = f"{time.monotonic() - start:.0f} s, of processors {spent:.0f} s"
    return report(results, chosen.every, took, chosen.list)


def report(results: Iterable[Outcome], every: int, took: str, listed: bool) -> int:
    """Print the score by sheet and the survivors; give the exit code."""
    told = sorted(results, key=lambda pair: (pair[0].owner.sheet, str(pair[0])))
    tried_of: Counter[str] = Counter()
    killed: Counter[str] = Counter()
    excused: Counter[str] = Counter()
    unknown: list[str] = []
    known = explained()
    for mutant, word in told:
        sheet = mutant.owner.sheet
        if word is None:
            continue
        tried_of[sheet] += 1
        killed[sheet] += bool(word)
        excused[sheet] += not word and str(mutant) in known
        if not word and str(mutant) not in known:
            unknown.append(str(mutant))
        if listed:
            print(f"{mutant}\n    {word or 'SURVIVES'}")
    for sheet in [*tried_of, "together"]:
        some_of = [sheet] if sheet in tried_of else list(tried_of)
        total, right, equal = (sum(count[each] for each in some_of) for count in (tried_of, killed, excused))
        shares = f"{share(right, total):5.1f} % of all, {share(right, total - equal):5.1f} % without the explained"
        print(f"{sheet:12} {right:5} of {total:5} noticed, {equal:3} explained  {shares}")
    for name in unknown:
        print(f"survives: {name}")
    refused = sum(word is None for _, word in told)
    sample = f"every {every}th mutant, " if every > 1 else ""
    print(
        f"{sample}{refused} more that the builder refuses or builds the same; "
        f"{len(unknown)} survivors not in {KNOWN.name}; {took}"
    )
    total, right, equal = (sum(count.values()) for count in (tried_of, killed, excused))
    return 0 if share(right, total - equal) >= WANTED else 1


def share(part: int, whole: int) -> float:
    """Per cent."""
    return 100 * part / max(1, whole)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
