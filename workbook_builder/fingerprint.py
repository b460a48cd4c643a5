"""Fingerprint of a formula: the same for the same tree, however a program spells it.

Programs that save a workbook change spaces, quotes and the spelling of numbers and truth values. The tree stays.
Addresses are told relative to the formula's own row, so that every row of a column has one fingerprint.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping

from .expression import ADDRESS, Binary, Call, Name, Node, Number, Text, Truth, Unary, parse

_CELL = re.compile(r"^(\$?)([A-Z]{1,3})(\$?)(\d+)$")
VALUES = "v"
"""What the fingerprint of fixed values starts with."""

_DIGITS = 15
"""Digits of a number that every program keeps when it saves."""

_PARTS = re.compile(
    r'"(?:[^"]|"")*"'  # a text, kept as it is
    r"|'(?:[^']|'')*'!"  # a sheet's name, kept as it is
    r"|(?<![\w.$])(?P<letters>\$?[A-Za-z]{1,3})(?P<row>[1-9]\d*)(?![\w.(!])"  # a cell whose row moves along
)


def _cell(text: str, row: int) -> str:
    """One corner of an address, its row told relative to the formula's row unless it is fixed."""
    found = _CELL.match(text)
    if not found:
        return text
    _, letters, fixed, number = found.groups()
    return f"{letters}{number}" if fixed else f"{letters}[{int(number) - row - 1}]"


def settle(text: str, tab: str, row: int, names: Mapping[str, str]) -> str:
    """An address or a defined name in one spelling: sheet, then corners."""
    text = names.get(text.lower(), text)
    found = ADDRESS.match(text)
    if not found:
        return text
    sheet = (found["sheet"] or tab + "!").removesuffix("!").strip("'").replace("''", "'")
    corners = [_cell(corner, row) for corner in (found["first"], found["last"]) if corner]
    if len(corners) == 2 and corners[0] == corners[1]:
        corners.pop()
    return f"<{sheet}!{':'.join(corners)}>"


def canonical(formula: str, tab: str, row: int, names: Mapping[str, str] | None = None) -> str:
    """A formula in one spelling: its tree, every operation in brackets."""
    known = names or {}

    def one(node: Node) -> str:
        match node:
            case Name(text):
                return settle(text, tab, row, known)
            case Number(value):
                return number_text(value)
            case Text(value):
                return '"' + value.replace('"', '""') + '"'
            case Truth(value):
                return "TRUE" if value else "FALSE"
            case Call("TRUE" | "FALSE" as word, ()):
                return word
            case Call(function, args):
                return f"{function.upper()}({','.join(map(one, args))})"
            case Binary(operator, left, right):
                return f"({one(left)}{operator}{one(right)})"
            case Unary(operator, operand):
                return f"({operator}{one(operand)})"
        raise AssertionError(node)

    return one(parse(formula))


def number_text(value: float) -> str:
    """A number with the digits that every program keeps."""
    return f"{value:.{_DIGITS}g}" if value else "0"


def digest(text: str) -> str:
    """A short hash of a text."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def fingerprint(formula: str, tab: str, row: int, names: Mapping[str, str] | None = None) -> str:
    """Fingerprint of a formula that stands in a 0-based row of a sheet.

    Args:
        formula: its text.
        tab: sheet it stands on.
        row: 0-based row it stands in.
        names: addresses of defined names, in lower case.
    """
    return digest(canonical(formula, tab, row, names))


def fingerprint_of_values(values: Iterable[float | str | bool | None]) -> str:
    """Fingerprint of fixed values below one another, with a mark that tells it from a formula's.

    A blank and an empty text are one.
    """

    def one(value: float | str | bool | None) -> str:
        if isinstance(value, bool):
            return "b1" if value else "b0"
        if value is None or isinstance(value, str):
            return f"t{value}" if value else ""
        return f"n{number_text(value)}"

    return VALUES + digest("\n".join(map(one, values)))


def shape(formula: str, row: int) -> str:
    """A formula's text with the rows of its cells told relative to its own row.

    Two formulas of one shape have one fingerprint, so that a column of equal formulas is parsed once.
    """

    def one(found: re.Match[str]) -> str:
        return found[0] if found["row"] is None else f"{found['letters']}[{int(found['row']) - row - 1}]"

    return _PARTS.sub(one, formula)
