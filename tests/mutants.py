"""Changes the formulas of the templates one at a time and asks of each change whether anything would notice it.

A mutant is a formula with one small change: an operator, a sign, a number, a text, a name in place of another of its
kind from the same table, a function in place of its twin. It is rendered into open workbooks; what these then give is
held against the same independent oracles that the tests use (`scenes.py`), against the worked examples of the Checks
sheet, and against the rule that no cell may hold an error value. What nobody notices is a survivor; those that are
known are explained in `mutants_survivors.md`.

A change that the builder itself refuses (dimensions, circles, names) is no mutant: it could never be built.

    python tests/mutants.py                 the score of every sheet that has oracles here
    python tests/mutants.py fitup ends      of these sheets only (macros too, with the word macros)
    python tests/mutants.py --every 5       of every fifth mutant
"""

from __future__ import annotations

import argparse
import multiprocessing
import re
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Literal

import msgspec
from live import Live, Wrong, some
from scenes import Scene, scenes

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
    "material", "checks",
)  # fmt: skip
"""Sheets whose formulas are changed; the oracles of the others stand in their own tests."""

WANTED = 95.0
"""Per cent of the mutants that must be noticed."""

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
    """One change of one formula text."""

    owner: Owner
    number: int
    what: str
    text: str

    def __str__(self) -> str:
        part = f" ({self.owner.part})" if self.owner.part else ""
        only = f" [{self.owner.editions[0]}]" if len(self.owner.editions) == 1 else ""
        return f"{self.owner.name}{part}{only} #{self.number}: {self.what}"


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
            yield from _check_owners(sheet, f"{table.name}.{check.level}s", number, check)
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
    number = 0
    for path, node in places(tree):
        for what, changed in changes(node, owner, names):
            number += 1
            text = expression.write(put(tree, path, changed))
            yield Mutant(owner, number, what, text)


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
            yield f"{value!r} becomes another text", Text("~" + value)
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
    if id(book) not in _GRAPHS:
        to: dict[str, set[str]] = defaultdict(set)
        for one in book.proof.proven:
            for name in expression.names(one.node):
                to[reference(name)[1]].add(one.field.name)
        for made, _, node in book.proof.single:
            for name in expression.names(node):
                to[reference(name)[1]].add(made.name)
        _GRAPHS[id(book)] = Links(to)
    return _GRAPHS[id(book)]


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
    """The trees that a change makes new, proved.

    Raises:
        Refused: it cannot be proved.
    """
    owner, proof = mutant.owner, book.proof
    try:
        if owner.kind == "macro":
            return _macro_nodes(mutant, book, uses)
        if owner.kind == "instead":
            made = book.book.fields[owner.name]
            node = proof.prove_formula(made, mutant.text, None)
            return {f"{made.name}@{at}": node for at, text in made.instead.items() if text == owner.text}
        made = book.book.fields[owner.name]
        old, new = owner.text, mutant.text
        if owner.kind == "check":
            old, new = _check_texts(mutant, book)
        if made.formula.count(old) < 1:
            raise AssertionError(f"{owner.name} does not hold {old}")
        node = proof.prove_formula(made, made.formula.replace(old, new, 1), None)
    except TemplateError as refused:
        raise Refused(str(refused)) from refused
    own = followers(book, made.name)
    for how, name in map(reference, expression.names(node)):
        if how in ("row", "cell", "column") and name in own:
            raise Refused("it leads back to itself")
    return {made.name: node}


def _check_texts(mutant: Mutant, book: Live) -> tuple[str, str]:
    """What a check's field holds of it now, and with the change."""
    owner = mutant.owner
    _, number, word = owner.part.split()
    template = some().shelf.sheet(owner.sheet)
    space = owner.name.partition(".")[0]
    table = next((each for each in template.table if each.name == space), None)
    check = (table.check if table else template.check)[int(number) - 1]
    new = msgspec.structs.replace(check, **{word: mutant.text if word == "when" else "=" + mutant.text})
    return check_text(check), check_text(new)


def _macro_nodes(mutant: Mutant, book: Live, uses: Uses) -> Nodes:
    owner, macros = mutant.owner, book.book.macros
    before = macros[owner.name]
    macros[owner.name] = MacroBody(before.takes, expression.parse(mutant.text), before.file)
    try:
        nodes: Nodes = {}
        for one in book.proof.proven:
            if owner.name in uses.of(one.field.formula):
                nodes[one.field.name] = book.proof.prove_formula(one.field, one.field.formula, None)
        for made, at, _ in book.proof.single:
            if owner.name in uses.of(made.instead[at]):
                nodes[f"{made.name}@{at}"] = book.proof.prove_formula(made, made.instead[at], None)
        return nodes
    finally:
        macros[owner.name] = before


class Stage:
    """A scene opened: its workbook, what it gives unchanged, and the formulas as they were."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.book, self.cases = scene.open()
        proof = self.book.proof
        self.trees = {one.field.name: one.node for one in proof.proven}
        self.singles = {f"{made.name}@{at}": (made, at, node) for made, at, node in proof.single}
        self.values = self.book.values()
        self.found, self.first, self.copied, self.workings = self._examples(proof)

    def _examples(self, proof: Proof) -> tuple[Field | None, int, set[str], dict[tuple[int, int], str]]:
        book = self.book.book
        found = book.fields.get("proofs.found")
        if found is None:
            return None, 0, set(), {}
        plan = next(plan for plan in book.sheets if plan.tab == found.tab)
        place = book.tables["proofs"]
        first = plan.printed + 1 + sum(each.working for each in place.fields)
        cells = work_out(book.cases, found, first, proof, self.book.renderer).cells
        copied = {str(content) for _, _, content, formula in cells if not formula and "." in str(content)}
        return found, first, copied, {(row, column): str(text) for row, column, text, formula in cells if formula}

    def put(self, nodes: Nodes) -> None:
        """Other trees in their cells; nothing is recomputed."""
        renderer = self.book.renderer
        for name, node in nodes.items():
            if "@" in name:
                made, at, _ = self.singles[name]
                text = renderer.pattern(Proven(made, node)).at(made.row + at)
                self.book.engine.set_formula(made.tab, made.row + at + 1, made.column + 1, text)
                continue
            made = self.book.book.fields[name]
            pattern = renderer.pattern(Proven(made, node))
            self.book.put_formulas(made, [pattern.at(row) for row in range(made.row, made.row + made.rows)])
        if self.found is not None and self.copied & nodes.keys():
            self._put_examples(nodes)

    def _put_examples(self, nodes: Nodes) -> None:
        assert self.found is not None
        proof = _Changed(self.book, nodes)
        work = work_out(self.book.book.cases, self.found, self.first, proof, self.book.renderer)  # type: ignore[arg-type]
        for row, column, text, formula in work.cells:
            if formula:
                self.book.engine.set_formula(self.found.tab, row + 1, column + 1, str(text))

    def clear(self, nodes: Nodes) -> None:
        """The trees as they were."""
        old = {name: self.trees[name] for name in nodes if "@" not in name}
        old |= {name: self.singles[name][2] for name in nodes if "@" in name}
        self.put(old)

    def affected(self, nodes: Nodes) -> list[Field]:
        """Fields whose values a change can reach."""
        names: set[str] = set()
        for name in nodes:
            names |= followers(self.book, name.partition("@")[0])
        if self.found is not None and self.copied & nodes.keys():
            names |= {"proofs.difference", "proofs.verdict"}
        return [made for made in self.book.book.fields.values() if made.name in names]

    def noticed(self, nodes: Nodes) -> str:
        """What notices a change, "" when nothing does.

        Raises:
            Refused: a circle of cells, which stops the build.
        """
        fields = self.affected(nodes)
        names = {made.name for made in fields}
        self.put(nodes)
        self.book.calculate()
        try:
            now = {made.name: self.book.take(made) for made in fields}
            if word := wrong_in(now):
                return word
            changed = {name for name, column in now.items() if column != self.values.get(name)}
            for at, case in enumerate(self.cases):
                if at == 0:
                    if changed and (word := case.unlike(self.book, changed, now)):
                        return f"{self.scene.name}: {word}"
                    continue
                if not case.reads & names:
                    continue
                self.book.put_all(case.typed)
                now = {name: self.book.column(name) for name in names}
                word = wrong_in(now) or case.unlike(self.book, names, now)
                self.book.reset()
                if word:
                    return f"{self.scene.name}, {case.name}: {word}"
            return ""
        finally:
            self.book.reset()
            self.clear(nodes)


class _Changed:
    """A proof in which some trees are others, for copying worked examples."""

    def __init__(self, book: Live, nodes: Nodes) -> None:
        self.book = book.book
        self.proven = [Proven(one.field, nodes.get(one.field.name, one.node)) for one in book.proof.proven]


def wrong_in(values: Mapping[str, Sequence[Any]]) -> str:
    """An error value among these, "" when there is none.

    Raises:
        Refused: a cell leads back to itself.
    """
    for name, column in values.items():
        for value in column:
            if isinstance(value, Wrong):
                if value.kind == "Circ":
                    raise Refused("a cell leads back to itself")
                return f"{name} holds {value}"
    return ""


# -- trying them all ---------------------------------------------------------------------------------------------------


class Trial:
    """Tries mutants, one after the other, in one process."""

    def __init__(self) -> None:
        self.scenes = scenes()
        self.stages: dict[int, Stage] = {}
        self.uses: dict[str, Uses] = {}
        self.best: dict[tuple[str, str], int] = {}

    def stage(self, at: int) -> Stage:
        """A scene, opened on first asking."""
        if at not in self.stages:
            self.stages[at] = Stage(self.scenes[at])
        return self.stages[at]

    def book(self, edition: str) -> Live:
        """An open workbook of an edition."""
        at = next(at for at, scene in enumerate(self.scenes) if scene.edition == edition)
        return self.stage(at).book

    def result(self, mutant: Mutant) -> str | None:
        """What notices a mutant; "" when nothing does, None when it could not be built."""
        proved: dict[str, Nodes] = {}
        key = (mutant.owner.sheet, mutant.owner.name)
        order = sorted(range(len(self.scenes)), key=lambda at: (at != self.best.get(key), at))
        built = False
        for at in order:
            edition = self.scenes[at].edition
            if edition not in mutant.owner.editions:
                continue
            try:
                if edition not in proved:
                    book = self.book(edition)
                    uses = self.uses.setdefault(edition, Uses(book))
                    proved[edition] = changed_nodes(mutant, book, uses)
                stage = self.stage(at)
                nodes = {name: node for name, node in proved[edition].items() if "@" not in name}
                nodes |= self._singles(stage, proved[edition], mutant)
                word = stage.noticed(nodes) if nodes else ""
            except Refused:
                return None
            built = True
            if word:
                self.best[key] = at
                return word
        return "" if built else None

    @staticmethod
    def _singles(stage: Stage, proved: Nodes, mutant: Mutant) -> Nodes:
        """Formulas in single typed cells stand in other rows of each scene; those of one text get one tree."""
        by_text = {}
        owner = mutant.owner
        for name, node in proved.items():
            if "@" in name:
                by_text[name.partition("@")[0]] = node
        found: Nodes = {}
        for name, (made, at, _) in stage.singles.items():
            if made.name in by_text and (owner.kind == "macro" or made.instead[at] == owner.text):
                if owner.kind == "macro":
                    continue
                found[name] = by_text[made.name]
        return found


_TRIAL: Trial | None = None


def _trial() -> Trial:
    global _TRIAL
    if _TRIAL is None:
        _TRIAL = Trial()
    return _TRIAL


def _try(part: Sequence[Mutant]) -> list[tuple[Mutant, str | None]]:
    trial = _trial()
    return [(mutant, trial.result(mutant)) for mutant in part]


def population(sheets: Sequence[str], every: int) -> list[Mutant]:
    """The mutants of these sheets, or every so many of them."""
    trial = _trial()
    names = Namer({edition: trial.book(edition) for edition in EDITIONS})
    found = [mutant for owner in owners(sheets) for mutant in mutants(owner, names)]
    return found[::every]


def explained() -> set[str]:
    """Survivors that the list explains."""
    if not KNOWN.is_file():
        return set()
    return set(re.findall(r"^- `(.+?)`", KNOWN.read_text(encoding="utf-8"), re.MULTILINE))


def parts(every: Sequence[Mutant], size: int) -> list[list[Mutant]]:
    """Mutants in portions, those of one formula together."""
    found: list[list[Mutant]] = [[]]
    for mutant in every:
        if len(found[-1]) >= size and found[-1][-1].owner != mutant.owner:
            found.append([])
        found[-1].append(mutant)
    return [part for part in found if part]


def main(words: Sequence[str]) -> int:
    """Try the mutants, print the score."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n\n")[0])
    parser.add_argument("sheets", nargs="*", default=[*SHEETS, "macros"], help="sheets whose formulas are changed")
    parser.add_argument("--every", type=int, default=1, help="try every so many mutants only")
    parser.add_argument("--workers", type=int, default=2, help="processes")
    parser.add_argument("--list", action="store_true", help="print what notices each mutant")
    chosen = parser.parse_args(words)
    start = time.monotonic()
    every = population(chosen.sheets, chosen.every)
    results: list[tuple[Mutant, str | None]] = []
    with multiprocessing.get_context("spawn").Pool(chosen.workers) as pool:
        for done in pool.imap_unordered(_try, parts(every, 12)):
            results += done
    return report(results, chosen.every, time.monotonic() - start, chosen.list)


def report(results: Iterable[tuple[Mutant, str | None]], every: int, seconds: float, listed: bool) -> int:
    """Print the score by sheet and the survivors; give the exit code."""
    told = sorted(results, key=lambda pair: (pair[0].owner.sheet, str(pair[0])))
    tried: Counter[str] = Counter()
    killed: Counter[str] = Counter()
    refused = 0
    survivors: list[str] = []
    known = explained()
    excused: Counter[str] = Counter()
    for mutant, word in told:
        sheet = mutant.owner.sheet
        if word is None:
            refused += 1
            continue
        tried[sheet] += 1
        killed[sheet] += bool(word)
        if not word:
            survivors.append(str(mutant))
            excused[sheet] += str(mutant) in known
        if listed:
            print(f"{mutant}\n    {word or 'SURVIVES'}")
    for sheet in tried:
        print(f"{sheet:12} {killed[sheet]:5} of {tried[sheet]:5}  {100 * killed[sheet] / tried[sheet]:5.1f} %")
    total, right = sum(tried.values()), sum(killed.values())
    share = 100 * right / max(1, total)
    sample = f", every {every}th" if every > 1 else ""
    print(f"{'together':12} {right:5} of {total:5}  {share:5.1f} %   ({refused} refused{sample}; {seconds:.0f} s)")
    unknown = [name for name in survivors if name not in known]
    for name in unknown:
        print(f"survives: {name}")
    print(f"{len(survivors)} survive, {len(survivors) - len(unknown)} of them explained in {KNOWN.name}")
    return 0 if share >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
