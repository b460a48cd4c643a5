"""Formula text as a small tree: read, expand macros, write back.

The tree is formualizer's, reshaped into seven frozen classes so that proof and rendering can match on them. A name is
kept as it was written (`turn`, `legs.length`, `previous.mark`); what it points at is settled in `prove`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache

import formualizer

from .errors import TemplateError


@dataclass(frozen=True, slots=True)
class Number:
    """A literal number."""

    value: float


@dataclass(frozen=True, slots=True)
class Text:
    """A literal text."""

    value: str


@dataclass(frozen=True, slots=True)
class Truth:
    """TRUE or FALSE."""

    value: bool


@dataclass(frozen=True, slots=True)
class Name:
    """A name or an address as written."""

    text: str


@dataclass(frozen=True, slots=True)
class Call:
    """A function with its arguments."""

    function: str
    args: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Binary:
    """An operator between two operands."""

    operator: str
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class Unary:
    """A sign (or a per cent sign) at one operand."""

    operator: str
    operand: Node


Node = Number | Text | Truth | Name | Call | Binary | Unary

BINDING = {"=": 1, "<>": 1, "<": 1, ">": 1, "<=": 1, ">=": 1, "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5}
"""How tightly an operator binds; a sign binds tighter still, as it does in a sheet (-2^2 is 4)."""

SIGNS = ("+", "-", "%")
ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A")
LARGEST = 1e300
"""No literal number is larger: a sheet cannot hold it."""


@cache
def parse(formula: str) -> Node:
    """The tree of a formula text (with or without a leading =).

    Raises:
        TemplateError: it cannot be read as a formula.
    """
    try:
        return _reshape(formualizer.parse("=" + formula.strip().lstrip("=")).to_dict())
    except TemplateError:
        raise
    except Exception as broken:  # the parser has several exception classes; all mean the same to an author
        reason = str(broken).partition(": TokenSpan")[0].partition("\n")[0]
        raise TemplateError(f"it cannot be read as a formula: {reason[:1].lower()}{reason[1:]}") from broken


def parse_said(formula: str, file: str, place: str) -> Node:
    """The tree of an author's formula text; an error names file, place and formula."""
    try:
        return parse(formula)
    except TemplateError as wrong:
        raise TemplateError(f"{wrong.problem} (formula: {formula})", file=file, place=place) from wrong


def _reshape(tree: dict[str, object]) -> Node:
    match tree:
        case {"node_type": "Literal", "value": bool(value)}:
            return Truth(value)
        case {"node_type": "Literal", "value": float(value) | int(value)} if abs(value) <= LARGEST:
            return Number(float(value))
        case {"node_type": "Literal", "value": str(value)} if value not in ERRORS:
            return Text(value)
        case {"node_type": "Literal", "value": value}:
            raise TemplateError(f"a formula may not hold {value}")
        case {"node_type": "Reference", "reference": str(text)}:
            return Name(text)
        case {"node_type": "Function", "name": str(name), "args": list(args)}:
            return Call(name, tuple(_reshape(arg) for arg in args))
        case {"node_type": "BinaryOp", "operator": str(sign), "left": dict(left), "right": dict(right)} if (
            sign in BINDING
        ):
            return Binary(sign, _reshape(left), _reshape(right))
        case {"node_type": "UnaryOp", "operator": str(sign), "operand": dict(operand)} if sign in SIGNS:
            return Unary(sign, _reshape(operand))
        case {"operator": str(sign)}:
            raise TemplateError(f"a formula may not hold the operator {sign!r}")
    raise TemplateError(f"a formula may not hold: {str(tree.get('node_type')).lower()}")


def walk(node: Node) -> Iterator[Node]:
    """The node and all below it."""
    yield node
    match node:
        case Call(_, args):
            for arg in args:
                yield from walk(arg)
        case Binary(_, left, right):
            yield from walk(left)
            yield from walk(right)
        case Unary(_, operand):
            yield from walk(operand)


def names(node: Node) -> list[str]:
    """Every name in a tree, in order, each once."""
    return list(dict.fromkeys(part.text for part in walk(node) if isinstance(part, Name)))


def replace_names(node: Node, change: Callable[[Name], Node]) -> Node:
    """The tree with each name replaced by what `change` gives for it."""
    match node:
        case Name():
            return change(node)
        case Call(function, args):
            return Call(function, tuple(replace_names(arg, change) for arg in args))
        case Binary(operator, left, right):
            return Binary(operator, replace_names(left, change), replace_names(right, change))
        case Unary(operator, operand):
            return Unary(operator, replace_names(operand, change))
    return node


@dataclass(frozen=True, slots=True)
class MacroBody:
    """A macro ready to be written out: its parameters, its tree, and the file it stands in."""

    takes: tuple[str, ...]
    body: Node
    file: str = ""


def expand(node: Node, macros: Mapping[str, MacroBody], inside: tuple[str, ...] = ()) -> Node:
    """Write out every macro call, innermost last; a macro may call another but never itself."""
    match node:
        case Call(function, args):
            done = tuple(expand(arg, macros, inside) for arg in args)
            macro = macros.get(function.lower())
            if macro is None:
                return Call(function, done)
            if function.lower() in inside:
                raise TemplateError(f"macro {function!r} calls itself")
            if len(done) != len(macro.takes):
                raise TemplateError(f"macro {function!r} takes {len(macro.takes)} values, here {len(done)}")
            given = dict(zip(macro.takes, done, strict=True))
            # parameters first, then the calls in the body: a name that an inner macro leaves free stays a sheet's name
            body = replace_names(macro.body, lambda name: given.get(name.text, name))
            return expand(body, macros, (*inside, function.lower()))
        case Binary(operator, left, right):
            return Binary(operator, expand(left, macros, inside), expand(right, macros, inside))
        case Unary(operator, operand):
            return Unary(operator, expand(operand, macros, inside))
    return node


def number_text(value: float) -> str:
    """A number as a sheet writes it: no exponent letter case, no trailing .0."""
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value).upper()


def write(node: Node, spell: Callable[[str], str] = lambda name: name) -> str:
    """Formula text of a tree, with brackets only where the operators need them; `spell` gives each name's text."""
    return _write(node, spell, 0)


def _write(node: Node, spell: Callable[[str], str], outer: int) -> str:
    match node:
        case Number(value):
            return number_text(value)
        case Text(value):
            return '"' + value.replace('"', '""') + '"'
        case Truth(value):
            return "TRUE" if value else "FALSE"
        case Name(text):
            return spell(text)
        case Call(function, args):
            return f"{function.upper()}({','.join(_write(arg, spell, 0) for arg in args)})"
        case Unary("%", operand):
            return _write(operand, spell, 7) + "%"
        case Unary(operator, operand):
            text = operator + _write(operand, spell, 6)
            return f"({text})" if outer >= 4 else text
        case Binary(operator, left, right):
            own = BINDING[operator]
            text = f"{_write(left, spell, own)}{operator}{_write(right, spell, own + 1)}"
            return f"({text})" if own < outer else text
    raise AssertionError(node)


ADDRESS = re.compile(
    r"^(?:(?P<sheet>'(?:[^']|'')+'|[^'!]+)!)?"
    r"(?P<first>\$?[A-Z]{1,3}\$?\d+)(?::(?P<last>\$?[A-Z]{1,3}\$?\d+))?$"
)
