"""Proof of dimensions: every formula's units are followed through its tree, and the factors it needs are put in.

The registry starts empty and takes its few definitions from `templates/units.toml`, so that an angle is a dimension of
its own and `2 deg + 1` is refused. Wherever two quantities must be of one kind, the second gets its factor:
`_Prover.alike` is the one place where that happens.
"""

from __future__ import annotations

import graphlib
import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from importlib.resources import files
from typing import Any, Final

import pint

from .book import Book, Field
from .errors import TemplateError, unknown
from .expression import Binary, Call, Name, Node, Number, Text, Truth, Unary, expand, names, parse, replace_names, write
from .quantity import Units
from .template import Column


class Word:
    """A measure that is no unit: text, truth, or a blank that fits every kind."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __str__(self) -> str:
        return self.name


TEXT: Final = Word("text")
TRUTH: Final = Word("true or false")
FREE: Final = Word("blank")

Measure = Any
"""A pint unit or one of the words above."""

SCOPES = ("previous", "next", "above")
RANGES = ("column", "above")
COMPARISONS = ("=", "<>", "<", ">", "<=", ">=")
SAME_LENGTH = ("COUNTIFS", "SUMIF", "SUMIFS", "SUMPRODUCT")
LONGEST_TEXT = 255  # of a text inside a formula; longer ones damage the file
DEEPEST = 60  # functions inside functions; sheets stop at 64
TALLEST = 200  # operations inside operations; the engine stops at 256


class Registry:
    """pint's registry with our short list of definitions, and the function signatures."""

    def __init__(self, units: Units) -> None:
        self.pint: Any = pint.UnitRegistry(None)
        for line in units.definitions:
            self.pint.define(line)
        self.one = self.pint.Unit("")
        self.radian = self.pint.Unit("radian")
        self.degree = self.pint.Unit("degree")
        self.factor = lru_cache(maxsize=None)(self._factor)
        self.unit = lru_cache(maxsize=None)(self._unit)

    def _unit(self, text: str, kind: str) -> Measure:
        if kind == "text":
            return TEXT
        if kind == "boolean":
            return TRUTH
        return self.pint.Unit(text) if text else self.one

    def _factor(self, given: Measure, wanted: Measure) -> float | None:
        """What a number in `given` is multiplied with to be in `wanted`; None where the dimensions differ."""
        if given == wanted:
            return 1.0
        if given.dimensionality != wanted.dimensionality:
            return None
        return float(self.pint.Quantity(1, given).to(wanted).magnitude)


@lru_cache(maxsize=1)
def signatures() -> dict[str, str]:
    """The closed list of functions with their units."""
    text = files("workbook_builder").joinpath("functions.toml").read_text(encoding="utf-8")
    return dict(tomllib.loads(text))


@dataclass(frozen=True, slots=True)
class Parameter:
    """One argument of a signature, or a group that repeats."""

    marks: tuple[str, ...]
    repeats: bool = False
    optional: bool = False


@cache
def signature(text: str) -> tuple[tuple[Parameter, ...], str]:
    """A signature as parameters and what it gives."""
    takes, _, gives = text.partition("->")
    parameters: list[Parameter] = []
    for part in re.findall(r"\([^)]*\)\S*|\S+", takes):
        repeats, optional = part.endswith("..."), part.endswith("?")
        marks = part.removesuffix("...").removesuffix("?").strip("()").split()
        parameters.append(Parameter(tuple(marks), repeats, optional))
    return tuple(parameters), gives.strip()


def spread(parameters: Sequence[Parameter], count: int) -> list[str] | None:
    """The mark of each of `count` arguments, None where the count does not fit."""
    marks: list[str] = []
    for parameter in parameters:
        if parameter.repeats:
            marks += parameter.marks
            while len(marks) < count:
                marks += parameter.marks
        elif not parameter.optional or len(marks) < count:
            marks += parameter.marks
    return marks if len(marks) == count else None


@dataclass(slots=True)
class Proven:
    """A field's formula after proof: names settled, factors put in."""

    field: Field
    node: Node


Known = dict[tuple[str, str], Node]
"""Settled trees by field name and formula text."""


class Proof:
    """Proves the formulas of one workbook.

    Args:
        book: the workbook laid out.
        known: trees proved before, by field and formula; a workshop keeps them for its next workbook of the same
            template and edition, since a proof leans on names and units and not on the number of rows.
        registry: units and signatures, shared likewise.
    """

    def __init__(self, book: Book, known: Known | None = None, registry: Registry | None = None) -> None:
        self.book = book
        self.registry = registry or Registry(book.units)
        self.known: Known = {} if known is None else known
        self._whole: dict[str, bool] = {}
        for name, macro in book.macros.items():
            if name.upper() in signatures():
                raise TemplateError("it has the name of a function", file=macro.file, place=f"macro {name}")

    def formula(self, field: Field, text: str | None = None, measure: Measure | None = None) -> Node:
        """The settled tree of a field's formula (or of another text that stands in the field's place).

        Raises:
            TemplateError: a dimension that does not fit, an unknown name, a function outside the list; it names the
                file, the field and the formula.
        """
        said = text if text is not None else field.formula
        if measure is None and (before := self.known.get((field.name, said))) is not None:
            return before
        proved = self.prove_formula(field, said, measure)
        if measure is None:
            self.known[field.name, said] = proved
        return proved

    def prove_formula(self, field: Field, said: str, measure: Measure | None) -> Node:
        """Prove one formula anew; see `formula`."""
        wanted = measure if measure is not None else self.measure(field)
        try:
            node = expand(parse(said), self.book.macros)
            prover = _Prover(self, field)
            proven, unit = prover.prove(node)
            done = prover.turned_into(proven, unit, wanted, "the declared unit")
            if depth(done) > DEEPEST:
                raise TemplateError(f"functions stand more than {DEEPEST} deep in one another")
            if height(done) > TALLEST:
                raise TemplateError(f"more than {TALLEST} operations follow one another: give a part a cell of its own")
            return self.blank_safe(done, field)
        except TemplateError as wrong:
            if wrong.file:
                raise
            raise TemplateError(
                f"{wrong.problem} (formula: {said})", file=field.file, place=field.name, allowed=wrong.allowed
            ) from wrong

    def whole(self, field: Field) -> bool:
        """Whether a field holds whole numbers: it counts, its formula gives them, or a typed cell is said to."""
        if field.kind == "reference":
            given = [value for value in field.values if value is not None]
            return all(isinstance(value, int | float) and value == int(value) for value in given)
        if isinstance(field.declared, Column) and field.declared.count:
            return True
        if not field.formula:
            return field.format in ("whole", "count")
        if field.name not in self._whole:
            self._whole[field.name] = True  # until shown otherwise, so that rows may lean on the row before
            self._whole[field.name] = integer(self.formula(field), self)
        return self._whole[field.name]

    def measure(self, field: Field) -> Measure:
        """Unit of a field."""
        return self.registry.unit(field.unit, field.unit_kind)

    def resolve(self, name: str, inside: Field) -> tuple[str, Field]:
        """What a name points at, seen from a field: how (`row`, `cell`, `column`, `previous` …) and which field."""
        fields = self.book.fields
        space, _, rest = name.partition(".")
        if space in SCOPES and inside.table:
            found = fields.get(f"{inside.table}.{rest}")
            if found is None:
                raise TemplateError(f"unknown name {name!r}", allowed=self.near(rest, inside))
            if space != "next" and not self.book.tables[inside.table].seed:
                raise TemplateError(f"{name!r} needs seed = true in table {inside.table!r}")
            return space, found
        if not rest:
            if inside.table and (found := fields.get(f"{inside.table}.{name}")):
                return "row", found
            owner = self.sheet_of(inside)
            if owner and (found := fields.get(f"{owner}.{name}")):
                return "cell", found
            raise TemplateError(f"unknown name {name!r}", allowed=self.near(name, inside))
        if (found := fields.get(name)) is None:
            raise TemplateError(f"unknown name {name!r}", allowed=unknown(name, fields, "names"))
        return ("cell" if found.scalar or found.rows == 1 and found.kind == "list" else "column"), found

    def blank_safe(self, node: Node, field: Field) -> Node:
        """A formula that gives a cell as it stands gives a blank for a blank cell, where a sheet would give 0."""
        match node:
            case Call("IF", (condition, *branches)):
                return Call("IF", (condition, *(self.blank_safe(branch, field) for branch in branches)))
            case Call("IFERROR", (tried, other)):
                return Call("IFERROR", (self.blank_safe(tried, field), self.blank_safe(other, field)))
            case Call("CHOOSE", (number, *cells)):
                return Call("CHOOSE", (number, *(self.blank_safe(cell, field) for cell in cells)))
            case Name(text) | Call("INDEX", (Name(text), *_)):
                how, name = reference(text)
                needed = [self.resolve(need, field)[1].name for need in getattr(field.declared, "needs", ())]
                if isinstance(node, Name) and name in needed:
                    return node
                if how in SCOPES or may_be_blank(self.book.fields[name]):
                    empty = Text("")
                    return (
                        Binary("&", node, empty)
                        if field.unit_kind == "text"
                        else Call("IF", (Binary("=", node, empty), empty, node))
                    )
        return node

    def sheet_of(self, field: Field) -> str:
        """Namespace of the sheet that a field stands on."""
        for plan in self.book.sheets:
            if plan.tab == field.tab:
                return plan.template.name
        return ""

    def near(self, name: str, inside: Field) -> str:
        """Half sentence with the nearest bare name."""
        spaces = {inside.table, self.sheet_of(inside)} - {""}
        bare = [known.partition(".")[2] for known in self.book.fields if known.partition(".")[0] in spaces]
        return unknown(name, bare, "names")

    @cached_property
    def proven(self) -> list[Proven]:
        """Every field that has a formula, proved, in the order of the sheets."""
        done = [Proven(field, self.formula(field)) for field in self.book.fields.values() if field.formula]
        find_circles(done, self.book)
        return done

    @cached_property
    def single(self) -> list[tuple[Field, int, Node]]:
        """Formulas in single typed cells: the field, the row offset, the settled tree."""
        return [
            (field, at, node)
            for field in self.book.fields.values()
            if field.instead
            for at, node in instead_of(self, field).items()
        ]


def instead_of(proof: Proof, field: Field) -> dict[int, Node]:
    """Settled trees of the formulas that stand in single typed cells of a field, by row offset."""
    once = {text: proof.formula(field, text) for text in dict.fromkeys(field.instead.values())}
    return {at: once[text] for at, text in field.instead.items()}


def find_circles(done: Sequence[Proven], book: Book) -> None:
    """Refuse a formula that leads back to itself, by names; rows above and below are left to the engine.

    Raises:
        TemplateError: the names of the circle in order.
    """
    needs = {
        proven.field.name: [
            name for how, name in map(reference, names(proven.node)) if how in ("row", "cell", "column")
        ]
        for proven in done
    }
    try:
        graphlib.TopologicalSorter(needs).prepare()
    except graphlib.CycleError as circle:
        path = list(reversed(circle.args[1]))
        field = book.fields[path[0]]
        raise TemplateError(
            f"the formula leads back to itself: {' → '.join(path)} (formula: {field.formula})",
            file=field.file,
            place=field.name,
        ) from circle


def settled(how: str, name: str) -> Name:
    """A name after resolving: how it is reached and the field's full name."""
    return Name(f"{how} {name}")


def reference(text: str) -> tuple[str, str]:
    """The two parts of a settled name."""
    how, _, name = text.partition(" ")
    return how, name


class _Prover:
    """Follows the units through one formula."""

    def __init__(self, proof: Proof, field: Field) -> None:
        self.proof = proof
        self.field = field
        self.registry = proof.registry
        self.columns = False  # whether a whole column may stand here

    def prove(self, node: Node) -> tuple[Node, Measure]:
        """The node with names settled and factors put in, and its unit."""
        match node:
            case Number(value):
                return node, FREE if value == 0 else self.registry.one
            case Text(value):
                if len(value) > LONGEST_TEXT:
                    raise TemplateError(f"a text in a formula has at most {LONGEST_TEXT} characters: {value[:40]!r}…")
                return node, FREE if value == "" else TEXT
            case Truth():
                return node, TRUTH
            case Name(text):
                how, field = self.proof.resolve(text, self.field)
                if how in RANGES and not self.columns:
                    raise TemplateError(f"{text} is a whole column where one cell is needed")
                return settled(how, field.name), self.proof.measure(field)
            case Unary(operator, operand):
                return self.sign(operator, operand)
            case Binary(operator, left, right):
                return self.binary(operator, left, right)
            case Call(function, args):
                return self.call(function.upper(), args)
        raise AssertionError(node)

    # -- bringing two quantities to one unit -----------------------------------------------------------------------

    def turned_into(self, node: Node, unit: Measure, wanted: Measure, where: str) -> Node:
        """The node in the wanted unit: a factor where the unit differs, an error where the dimension does."""
        if unit is FREE or wanted is FREE or unit is wanted:
            return node
        if isinstance(unit, Word) or isinstance(wanted, Word):
            raise TemplateError(f"{spoken(unit)} where {where} is {spoken(wanted)}: {write(plain(node))}")
        factor = self.registry.factor(unit, wanted)
        if factor is None:
            raise TemplateError(f"{spoken(unit)} where {where} is {spoken(wanted)}: {write(plain(node))}")
        return times(node, factor)

    def alike(self, parts: Sequence[tuple[Node, Measure]], where: str) -> tuple[list[Node], Measure]:
        """Several quantities in the unit of the first that has one."""
        unit = next((measure for _, measure in parts if measure is not FREE), FREE)
        return [self.turned_into(node, measure, unit, where) for node, measure in parts], unit

    def plain_number(self, node: Node, unit: Measure, where: str) -> Node:
        """The node as a dimensionless number."""
        return self.turned_into(node, unit, self.registry.one, where)

    # -- operators -------------------------------------------------------------------------------------------------

    def sign(self, operator: str, operand: Node) -> tuple[Node, Measure]:
        """A sign keeps the unit."""
        if operator == "%":
            raise TemplateError("a per cent sign in a formula: write the number as a constant with its source")
        inner, unit = self.prove(operand)
        if isinstance(unit, Word) and unit is not FREE:
            raise TemplateError(f"a sign before {unit}: {write(plain(inner))}")
        return Unary(operator, inner), unit

    def binary(self, operator: str, left: Node, right: Node) -> tuple[Node, Measure]:
        """An operator between two quantities."""
        first, second = self.prove(left), self.prove(right)
        if operator == "&":
            return Binary("&", self.joined(*first), self.joined(*second)), TEXT
        if operator in COMPARISONS:
            (a, b), _ = self.alike([first, second], f"the other side of {operator}")
            return Binary(operator, a, b), TRUTH
        first, second = self.counted(*first), self.counted(*second)
        if TEXT in (first[1], second[1]):
            raise TemplateError(f"text cannot be reckoned with: {write(plain(Binary(operator, first[0], second[0])))}")
        if operator in ("+", "-"):
            (a, b), unit = self.alike([first, second], f"the other side of {operator}")
            return Binary(operator, a, b), unit
        if operator == "^":
            return self.power(first, second)
        one = self.registry.one
        units = [one if unit is FREE else unit for _, unit in (first, second)]
        if operator == "*":
            return self.tidy(Binary("*", first[0], second[0]), units[0] * units[1])
        return self.tidy(Binary("/", first[0], second[0]), units[0] / units[1])

    def tidy(self, node: Node, unit: Measure) -> tuple[Node, Measure]:
        """A product or quotient whose units cancel but for a factor becomes a plain number."""
        if unit.dimensionless and unit != self.registry.one:
            factor = self.registry.factor(unit, self.registry.one)
            return times(node, factor or 1.0), self.registry.one
        return node, unit

    def counted(self, node: Node, unit: Measure) -> tuple[Node, Measure]:
        """A condition in arithmetic counts as 1 or 0."""
        return (node, self.registry.one) if unit is TRUTH else (node, unit)

    def power(self, base: tuple[Node, Measure], exponent: tuple[Node, Measure]) -> tuple[Node, Measure]:
        """A power of a quantity needs a literal exponent."""
        raised = self.plain_number(*exponent, "an exponent")
        if base[1] is FREE or base[1] == self.registry.one:
            return Binary("^", base[0], raised), self.registry.one
        value = literal(raised)
        if value is None:
            raise TemplateError(f"a power of {spoken(base[1])} needs a literal exponent")
        return Binary("^", base[0], raised), base[1] ** value

    def joined(self, node: Node, unit: Measure) -> Node:
        """What is joined to text: text, or a rounded number (engines print the digits of others differently)."""
        if unit is TEXT or unit is FREE:
            return node
        if unit is TRUTH:
            raise TemplateError(f"true or false cannot be joined to text: {write(plain(node))}")
        if not rounded(node, self.proof):
            raise TemplateError(f"only a rounded number can be joined to text: {write(plain(node))}")
        return without_minus_zero(node)

    # -- functions -------------------------------------------------------------------------------------------------

    def call(self, function: str, args: Sequence[Node]) -> tuple[Node, Measure]:
        """A function of the closed list."""
        known = signatures()
        if function not in known:
            raise TemplateError(
                f"the function {function} is not in the list", allowed=unknown(function, known, "functions")
            )
        if known[function] == "product":
            proven = [self.argument(arg, True) for arg in args]
            made, unit = self.product(function, proven)
        else:
            parameters, gives = signature(known[function])
            marks = spread(parameters, len(args))
            if marks is None:
                raise TemplateError(f"{function} does not take {len(args)} values; it takes {known[function]}")
            proven = [
                self.argument(arg, mark.endswith(":") and isinstance(arg, Name))
                for arg, mark in zip(args, marks, strict=True)
            ]
            if function == "MATCH" and literal(proven[2][0]) != 0:
                raise TemplateError("MATCH must end in 0: only an exact match is alike in every program")
            if any(mark.endswith(":") and empty(node) for mark, (node, _) in zip(marks, proven, strict=True)):
                raise TemplateError(
                    f"{function} over an empty text that is computed inside it: give it a cell of its own"
                )
            made, unit = self.apply(function, [mark.rstrip(":") for mark in marks], args, proven, gives)
        if function in SAME_LENGTH:
            self.same_length([node for node, _ in proven])
        return made, unit

    def argument(self, node: Node, columns: bool) -> tuple[Node, Measure]:
        """An argument proved; a whole column may stand in it or not."""
        outside, self.columns = self.columns, columns
        try:
            return self.prove(node)
        finally:
            self.columns = outside

    def same_length(self, args: Sequence[Node]) -> None:
        """Columns that are walked side by side must have as many rows as one another."""
        ranges = [self.proof.book.fields[reference(name.text)[1]] for arg in args for name in side_by_side(arg)]
        for other in ranges[1:]:
            if other.rows != ranges[0].rows:
                raise TemplateError(f"{ranges[0].name} and {other.name} have not as many rows as one another")

    def criterion(self, said: Node, node: Node, unit: Measure, wanted: Measure, where: str) -> Node:
        """What a range is compared with: a value of its unit, text, or a comparison joined to a value."""
        match said:
            case Text(value) if value.startswith(("=", "<>")) or set(value) & set("*?~"):
                raise TemplateError(f"{where} is {value!r}: programs do not agree on = <> * ? ~ in a criterion")
            case Binary("&", Text(sign), right) if sign in COMPARISONS:
                inner, measure = self.prove(right)
                return Binary("&", Text(sign), self.joined(self.turned_into(inner, measure, wanted, where), wanted))
        return node if unit is TEXT else self.turned_into(node, unit, wanted, where)

    def apply(
        self,
        function: str,
        marks: Sequence[str],
        said: Sequence[Node],
        proven: Sequence[tuple[Node, Measure]],
        gives: str,
    ) -> tuple[Node, Measure]:
        """Check each argument against its mark and work out what the function gives."""
        nodes = [node for node, _ in proven]
        for mark, (node, unit) in zip(marks, proven, strict=True):
            if mark in ("n", "#") and (unit is TEXT or unit is TRUTH):
                raise TemplateError(f"{function} of {unit}, where only numbers are alike: {write(plain(node))}")
        letters: dict[str, Measure] = {}
        for letter in ("a", "n"):
            at = [i for i, mark in enumerate(marks) if mark == letter]
            if function in ("COUNTIFS", "SUMIFS") and letter == "a":
                continue  # each range of a pair has a unit of its own
            done, unit = self.alike([proven[i] for i in at], f"the rest of {function}")
            for i, node in zip(at, done, strict=True):
                nodes[i] = node
            letters[letter] = unit
        fixed = {"1": self.registry.one, "r": self.registry.radian, "d": self.registry.degree, "t": TEXT, "b": TRUTH}
        for i, mark in enumerate(marks):
            node, unit = proven[i]
            where = f"value {i + 1} of {function}"
            if mark == "c":
                nodes[i] = self.criterion(said[i], node, unit, proven[i - 1][1], where)
            elif mark in fixed:
                nodes[i] = self.turned_into(node, unit, fixed[mark], where)
        made = Call(function, tuple(nodes))
        if gives in fixed:
            return made, fixed[gives]
        letter, _, exponent = gives.partition("^")
        unit = letters[letter]
        if exponent and unit is not FREE:
            if isinstance(unit, Word):
                raise TemplateError(f"{function} of {unit}")
            unit = unit ** float(exponent)
        return made, unit

    def product(self, function: str, proven: Sequence[tuple[Node, Measure]]) -> tuple[Node, Measure]:
        """SUMPRODUCT: units multiply; a condition counts as 1 or 0 only when it is multiplied by 1."""
        unit = self.registry.one
        for node, measure in proven:
            if measure is TRUTH:
                raise TemplateError(f"{function} over a condition: multiply it by 1: {write(plain(node))}")
            if not isinstance(measure, Word):
                unit = unit * measure
        return self.tidy(Call(function, tuple(node for node, _ in proven)), unit)


def spoken(unit: Measure) -> str:
    """A unit in words."""
    text = str(unit)
    return "a plain number" if text in ("", "dimensionless") else text


def plain(node: Node) -> Node:
    """A settled tree with the names as the author wrote them."""
    return replace_names(node, lambda name: Name(reference(name.text)[1] or name.text))


def literal(node: Node) -> float | None:
    """The number that a node is, sign included; None where it is not literal."""
    match node:
        case Number(value):
            return value
        case Unary("-", Number(value)):
            return -value
    return None


def times(node: Node, factor: float) -> Node:
    """A node times a factor, written as a division where that is the rounder number; 1 leaves it alone."""
    if abs(factor - 1.0) < 1e-12 or isinstance(node, Text):
        return node
    if isinstance(node, Call) and node.function in ("IF", "CHOOSE", "IFERROR"):
        # the factor goes to each answer, so that a blank stays blank
        first = 0 if node.function == "IFERROR" else 1
        return Call(node.function, node.args[:first] + tuple(times(arg, factor) for arg in node.args[first:]))
    inverse = 1.0 / factor
    match node:
        case Binary("*", inner, Number(given)) if abs(given * factor - 1.0) < 1e-12:
            return inner
        case Binary("/", inner, Number(given)) if abs(given - factor) < 1e-12 * factor:
            return inner
    if abs(inverse - round(inverse)) < 1e-9 * inverse and inverse > 1:
        return Binary("/", node, Number(float(round(inverse))))
    if abs(factor - round(factor)) < 1e-9 * factor:
        factor = float(round(factor))
    return Binary("*", node, Number(factor))


def depth(node: Node) -> int:
    """How many functions stand in one another."""
    match node:
        case Call(_, args):
            return 1 + max(map(depth, args), default=0)
        case Binary(_, left, right):
            return max(depth(left), depth(right))
        case Unary(_, operand):
            return depth(operand)
    return 0


def height(node: Node) -> int:
    """How many operations and functions stand in one another."""
    match node:
        case Call(_, args):
            return 1 + max(map(height, args), default=0)
        case Binary(_, left, right):
            return 1 + max(height(left), height(right))
        case Unary(_, operand):
            return 1 + height(operand)
    return 1


def branches(node: Node) -> Sequence[Node]:
    """The parts of a node that it may give as they stand; the node itself when it gives something of its own."""
    match node:
        case Call("IF" | "CHOOSE", args):
            return [end for arg in args[1:] for end in branches(arg)]
        case Call("IFERROR", args):
            return [end for arg in args for end in branches(arg)]
    return [node]


def empty(node: Node) -> bool:
    """Whether a node that is no cell may give an empty text."""
    return any(end == Text("") for end in branches(node))


def side_by_side(node: Node) -> Iterator[Name]:
    """The whole columns that a function walks together: those in its own arguments, not inside another function."""
    match node:
        case Name(text) if reference(text)[0] == "column":
            yield node
        case Binary(_, left, right):
            yield from side_by_side(left)
            yield from side_by_side(right)
        case Unary(_, operand):
            yield from side_by_side(operand)


def may_be_blank(field: Field) -> bool:
    """Whether a cell of a field may hold nothing at all."""
    return not field.formula and (field.typed or not field.values or None in field.values) and not field.row_formulas


# -- numbers that every engine prints alike ----------------------------------------------------------------------------

COUNTED = ("COUNT", "COUNTIF", "COUNTIFS", "MATCH", "LEN", "GCD", "FIND")
MOST_DECIMALS = 4


def rounded(node: Node, proof: Proof) -> bool:
    """Whether a number is rounded by its own formula, so that every engine prints the same digits."""
    match node:
        case Number() | Text():
            return True
        case Call("ROUND" | "ROUNDUP", (_, digits)):
            decimals = literal(digits)
            return decimals is None or decimals <= MOST_DECIMALS
        case Call("MAX" | "MIN" | "ABS", args):
            return all(rounded(arg, proof) for arg in args)
        case Call("IF" | "IFERROR" | "CHOOSE"):
            return all(rounded(end, proof) or end != node and is_text(end, proof) for end in branches(node))
    return integer(node, proof)


def integer(node: Node, proof: Proof) -> bool:
    """Whether a number is whole by its own formula."""
    match node:
        case Number(value):
            return value == int(value)
        case Call("ROUND" | "ROUNDUP", (_, digits)):
            decimals = literal(digits)
            return decimals is not None and decimals <= 0
        case Call("MAX" | "MIN" | "ABS" | "MOD" | "SUM" | "SUMPRODUCT", args):
            return all(integer(arg, proof) for arg in args)
        case Call("INDEX" | "SUMIFS", (cells, *_)):
            return integer(cells, proof)
        case Call("SUMIF", (_, _, summed)):
            return integer(summed, proof)
        case Call("IF" | "IFERROR" | "CHOOSE"):
            return all(end == Text("") or end != node and integer(end, proof) for end in branches(node))
        case Call(function):
            return function in (*COUNTED, "INT", "SIGN")
        case Binary(operator) if operator in COMPARISONS:
            return True
        case Binary("+" | "-" | "*", left, right):
            return integer(left, proof) and integer(right, proof)
        case Binary("/", left, Call("GCD")):
            return integer(left, proof)
        case Unary(_, operand):
            return integer(operand, proof)
        case Name(text):
            return proof.whole(proof.book.fields[reference(text)[1]])
    return False


def without_minus_zero(node: Node) -> Node:
    """A rounded number to which 0 is added: one program writes -0 for a negative number that is rounded to nothing."""
    match node:
        case Call("IF" | "CHOOSE" as function, (first, *others)):
            return Call(function, (first, *map(without_minus_zero, others)))
        case Call("IFERROR", args):
            return Call("IFERROR", tuple(map(without_minus_zero, args)))
        case Call("ROUND" | "ROUNDUP") | Binary("*" | "/") | Unary():
            return Binary("+", node, Number(0.0))
    return node


def is_text(node: Node, proof: Proof) -> bool:
    """Whether a node is text already."""
    match node:
        case Text():
            return True
        case Name(text):
            return proof.book.fields[reference(text)[1]].unit_kind == "text"
        case Binary("&"):
            return True
    return False
