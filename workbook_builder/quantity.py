"""Quantities as people write them: mixed fractions, feet and inches, slopes, plain numbers; all exact.

Which units there are, what each edition shows and how they convert is data (`units.toml`). Nothing here knows a unit.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cache
from importlib.resources.abc import Traversable
from itertools import pairwise
from typing import Any, Literal

import msgspec

from .errors import TemplateError, listed
from .shipped import TEMPLATES, home
from .template import read_toml

FILE = "units.toml"
LONGEST_TEXT = 80
LARGEST = 10**12
SMALLEST = Fraction(1, 10**12)

Holds = Literal["quantity", "number", "text", "boolean", "date"]


class QuantityError(ValueError):
    """A text or number is not the quantity asked for.

    Attributes:
        problem: what is wrong, naming the value.
        allowed: what would have worked, as a half sentence.
    """

    def __init__(self, problem: str, allowed: str = "") -> None:
        self.problem = problem
        self.allowed = allowed
        super().__init__(f"{problem}; {allowed}" if allowed else problem)


@dataclass(frozen=True)
class Quantity:
    """An exact number and its unit ("" for a bare number)."""

    value: Fraction
    unit: str

    def __str__(self) -> str:
        """Text that reads back as the same quantity: short decimals, else a mixed fraction."""
        sign, size = "-" if self.value < 0 else "", abs(self.value)
        if 1000 % size.denominator == 0:
            number = f"{float(size):.3f}".rstrip("0").rstrip(".") if size < 10**9 else str(size)
            if size.denominator == 1:
                number = str(size.numerator)
        else:
            whole, rest = divmod(size.numerator, size.denominator)
            number = f"{whole} {rest}/{size.denominator}" if whole else f"{rest}/{size.denominator}"
        return f"{sign}{number} {self.unit}".rstrip()


@dataclass(frozen=True)
class By:
    """A component given by a quantity of another kind ("by 45 deg"): its size follows from the other components."""

    quantity: Quantity

    def __str__(self) -> str:
        return f"by {self.quantity}"


@dataclass(frozen=True)
class Kind:
    """One kind of quantity.

    Attributes:
        name: as templates and job schemas say it.
        shown: unit for each edition.
        accept: exact factor to the kind's base, for each unit that may be written.
        together: units that may stand together in one text, largest first.
        ratio: whether "1:50" may be written.
        example: a text that would be accepted, for each edition.
        holds: what a cell of this kind holds.
    """

    name: str
    shown: Mapping[str, str]
    accept: Mapping[str, Fraction] = field(default_factory=dict)
    together: tuple[tuple[str, ...], ...] = ()
    ratio: bool = False
    example: Mapping[str, str] = field(default_factory=dict)
    holds: Holds = "quantity"

    @property
    def words(self) -> str:
        """The kind's name as words of a sentence."""
        return self.name.replace("_", " ")

    def allowed(self, default_unit: str) -> str:
        """What may be written, as a half sentence."""
        if self.holds != "quantity":
            return "write a plain number"
        units = ", ".join(sorted(self.accept, key=lambda unit: (unit != default_unit, list(self.accept).index(unit))))
        shown = next((text for edition, text in self.example.items() if self.shown[edition] == default_unit), "")
        shown = shown or next(iter(self.example.values()), "")
        return f"units for {_article(self.words)}: {units}" + (f"; for example {shown}" if shown else "")


def _article(word: str) -> str:
    return f"an {word}" if word[:1] in "aeiou" else f"a {word}"


# A number is a mixed fraction (36 1/2, 36-1/2), a fraction, a decimal or a whole number. A unit is a word or a mark,
# with a power, and the same below a stroke.
_NUMBER = r"[0-9]+(?:\ +|-)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+\.[0-9]*|\.[0-9]+|[0-9]+"
_NAME = r"(?:[A-Za-z]+|''|[^\w\s.,:;+\-/()=<>*]|%)(?:\^[0-9]|[²³])?"
_PART = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?:(?P<unit>{_NAME}(?:/{_NAME})?)\.?)?\s*")
_RATIO = re.compile(rf"\s*({_NUMBER})\s*:\s*({_NUMBER})\s*\Z")
_BETWEEN = re.compile(r"-?\s*(?=[0-9.])")
_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3",
}  # fmt: skip
_FRACTION_SIGN = str.maketrans({"⁄": "/", "−": "-"} | {sign: f" {text}" for sign, text in _VULGAR.items()})


class _Reason(Exception):
    """Why a text is no quantity; "" where there is nothing to add."""


def _number(text: str) -> Fraction:
    """The value of a number token.

    Raises:
        _Reason: a fraction whose lower number is zero, or a mixed number whose fraction is one or more.
    """
    if "/" not in text:
        return Fraction(text)
    parts = [int(part) for part in re.split(r"[ \-/]+", text)]
    if parts[-1] == 0:
        raise _Reason("it divides by zero")
    fraction = Fraction(parts[-2], parts[-1])
    if len(parts) == 2:
        return fraction
    if fraction >= 1:
        raise _Reason(f"the fraction in {text!r} is not smaller than one")
    return parts[0] + fraction


def _why_not(text: str) -> str:
    """A hint where a text stopped being a number with a unit."""
    if re.search(r"[0-9],[0-9]", text):
        return "decimals are written with a point"
    if re.match(r"(nan|inf|infinity)\b", text, re.IGNORECASE):
        return "it is not a finite number"
    return ""


@dataclass(frozen=True)
class Units:
    """All kinds of quantity, their units, and the definitions that prove dimensions.

    Attributes:
        editions: names of the editions.
        kinds: every kind by name.
        spelling: other spellings of a unit.
        definitions: lines for a registry of units.
    """

    editions: tuple[str, ...]
    kinds: Mapping[str, Kind]
    spelling: Mapping[str, str] = field(default_factory=dict)
    definitions: tuple[str, ...] = ()
    _factors: dict[str, tuple[str, Fraction]] = field(default_factory=dict, repr=False, compare=False)
    _read: dict[tuple[str, str, str], Quantity] = field(default_factory=dict, repr=False, compare=False)

    def __post_init__(self) -> None:
        for kind in self.kinds.values():
            for unit, factor in kind.accept.items():
                self._factors.setdefault(unit, (kind.name, factor))

    def shown(self, kind: str, edition: str) -> str:
        """Unit that an edition shows for a kind.

        Raises:
            KeyError: no such kind or edition.
        """
        return self.kinds[kind].shown[edition]

    def parse(self, said: object, kind: str, default_unit: str) -> Quantity:
        """The quantity that a text or a number says.

        Args:
            said: text ("36 1/2 in"), or a number in `default_unit`.
            kind: what it must be ("length").
            default_unit: unit of a number without one.

        Raises:
            QuantityError: it is no such quantity, not finite, or too large or too small to be meant.
        """
        asked = self.kinds[kind]
        if isinstance(said, str):
            key = (said, kind, default_unit)
            found = self._read.get(key)
            if found is None:
                found = self._text(said, asked, default_unit)
                if len(self._read) < 100_000:
                    self._read[key] = found
            return found
        return self._sane(Quantity(_plain(said, asked, default_unit), default_unit), str(said), asked)

    def convert(self, quantity: Quantity, unit: str) -> Fraction:
        """The quantity's number in another unit of the same kind, exact.

        Raises:
            QuantityError: a unit is unknown, or the two are not of one kind.
        """
        if quantity.unit == unit:
            return quantity.value
        try:
            (kind, factor), (other, divisor) = self._factors[quantity.unit], self._factors[unit]
        except KeyError as missing:
            raise QuantityError(
                f"unknown unit {missing.args[0]!r}", f"known units: {listed(self._factors, 30)}"
            ) from None
        if kind != other:
            raise QuantityError(f"{quantity} is {_article(self.kinds[kind].words)}, and {unit} measures {other}")
        return quantity.value * factor / divisor

    def cell_value(self, said: object, kind: str, edition: str) -> float | str | bool | date | None:
        """What a cell of an edition holds for a value: numbers in the unit that the edition shows.

        Args:
            said: a quantity, or what `parse` takes, or a text, date or boolean for kinds that hold those.
            kind: the cell's kind.
            edition: the workbook's edition.

        Raises:
            KeyError: no such kind or edition.
            QuantityError: the value is not of this kind.
        """
        asked = self.kinds[kind]
        unit = asked.shown[edition]
        if said is None or isinstance(said, bool):
            return said
        if isinstance(said, By):
            return self.cell_value(said.quantity, kind, edition) if said.quantity.unit in asked.accept else str(said)
        if isinstance(said, date):
            return said
        if asked.holds in ("text", "date", "boolean"):
            return str(said)
        quantity = said if isinstance(said, Quantity) else self.parse(said, kind, unit)
        if asked.holds == "quantity" and quantity.unit not in asked.accept:
            raise QuantityError(f"{quantity} is not {_article(asked.words)}", asked.allowed(unit))
        return float(self.convert(quantity, unit))

    def _unit(self, text: str, kind: Kind) -> str | None:
        """A unit as the kind spells it, None when it is none of its units."""
        if text in kind.accept:
            return text
        spelled = "/".join(self._spelled(part) for part in text.split("/"))
        if spelled in kind.accept:
            return spelled
        folded = [unit for unit in kind.accept if unit.casefold() == spelled.casefold()]
        return folded[0] if len(folded) == 1 else None

    def _spelled(self, part: str) -> str:
        for power in ("²", "³"):
            if part.endswith(power):
                return self._spelled(part[:-1]) + self.spelling.get(power, power)
        name, mark, power = part.partition("^")
        return self.spelling.get(name, self.spelling.get(name.casefold(), name)) + mark + power

    def _text(self, said: str, kind: Kind, default_unit: str) -> Quantity:
        shown = repr(said if len(said) <= LONGEST_TEXT else said[:LONGEST_TEXT] + "…")
        try:
            return self._sane(self._signed(said, kind, default_unit), said, kind)
        except _Reason as reason:
            problem = f"{shown} is not {_article(kind.words)}"
            raise QuantityError(
                f"{problem}: {reason}" if str(reason) else problem, kind.allowed(default_unit)
            ) from None

    def _signed(self, said: str, kind: Kind, default_unit: str) -> Quantity:
        """The quantity of a text, its size not judged yet.

        Raises:
            _Reason: it is none, and why.
        """
        if len(said) > LONGEST_TEXT:
            raise _Reason(f"it is longer than {LONGEST_TEXT} characters")
        text = " ".join(said.translate(_FRACTION_SIGN).split())
        if not text:
            raise _Reason("it is empty")
        sign = -1 if text[0] == "-" else 1
        if text[0] in "+-":
            text = text[1:].lstrip()
        if kind.ratio and (ratio := _RATIO.match(text)):
            upper, lower = _number(ratio[1]), _number(ratio[2])
            if lower == 0:
                raise _Reason("it divides by zero")
            return Quantity(sign * upper / lower / kind.accept[default_unit], default_unit)
        parts = self._parts(text, kind, default_unit)
        last = parts[-1][1]
        if len(parts) == 1:
            return Quantity(sign * parts[0][0], last)
        total = sum((value * kind.accept[unit] for value, unit in parts), Fraction(0))
        return Quantity(sign * total / kind.accept[last], last)

    def _parts(self, text: str, kind: Kind, default_unit: str) -> list[tuple[Fraction, str]]:
        """Numbers with units, as they stand in a text.

        Raises:
            _Reason: they do not, or do not go together.
        """
        parts: list[tuple[Fraction, str]] = []
        at = 0
        while at < len(text) or not parts:
            if parts and (between := _BETWEEN.match(text, at)):
                at = between.end()
            found = _PART.match(text, at)
            if not found:
                raise _Reason(_why_not(text))
            written = found["unit"]
            if written is None and (parts or found.end() < len(text)):
                why = _why_not(text[at:])
                raise _Reason(why or f"{found['number']} has no unit")
            unit = default_unit if written is None else self._unit(written, kind)
            if unit is None:
                raise _Reason(f"unit {written!r} does not measure that")
            parts.append((_number(found["number"]), unit))
            at = found.end()
        units = tuple(unit for _, unit in parts)
        if len(parts) > 1 and units not in kind.together:
            raise _Reason(f"{' and '.join(units)} do not go together")
        for (value, larger), (after, unit) in pairwise(parts):
            if value.denominator != 1:
                raise _Reason("only its last number may have a fraction")
            if after * kind.accept[unit] >= kind.accept[larger]:
                raise _Reason(f"{Quantity(after, unit)} is a whole {larger} or more")
        return parts

    def _sane(self, quantity: Quantity, said: str, kind: Kind) -> Quantity:
        size = abs(quantity.value)
        shown = said if len(said) <= LONGEST_TEXT else said[:LONGEST_TEXT] + "…"
        if size > LARGEST:
            raise QuantityError(f"{shown!r} is too large to be meant", f"the largest number is {LARGEST}")
        if size and size < SMALLEST:
            raise QuantityError(f"{shown!r} is too small to be meant", "write 0 or a larger number")
        return quantity


_NOT_NUMBERS = {list: "a list", dict: "a table", type(None): "nothing"}


def _plain(said: object, kind: Kind, default_unit: str) -> Fraction:
    """The value of a number that is no text."""
    wrong = f"is not {_article(kind.words)}"
    if isinstance(said, bool) or not isinstance(said, (int, float, Fraction)):
        shown = str(said).lower() if isinstance(said, bool) else _NOT_NUMBERS.get(type(said), str(said))
        raise QuantityError(f"{shown} {wrong}", kind.allowed(default_unit))
    if isinstance(said, float):
        if not math.isfinite(said):
            raise QuantityError(f"{said} {wrong}: it is not a finite number", kind.allowed(default_unit))
        return Fraction(repr(said))
    if not -LARGEST <= said <= LARGEST:
        raise QuantityError("the number is too large to be meant", f"the largest number is {LARGEST}")
    return Fraction(said)


class _KindData(msgspec.Struct, forbid_unknown_fields=True):
    accept: dict[str, str] = {}
    together: list[list[str]] = []
    ratio: bool = False
    example: dict[str, str] = {}
    holds: Holds = "quantity"


class _PintData(msgspec.Struct, forbid_unknown_fields=True, frozen=True):
    definitions: list[str] = []


class _UnitsData(msgspec.Struct, forbid_unknown_fields=True):
    schema: Literal[1]
    editions: list[str]
    kind: dict[str, dict[str, Any]]
    spelling: dict[str, str] = {}
    pint: _PintData = _PintData()


def _factor(text: str) -> Fraction:
    upper, _, lower = text.partition("/")
    return Fraction(upper) / Fraction(lower or "1")


def _kind(name: str, data: Mapping[str, Any], editions: Sequence[str]) -> Kind:
    shown = {edition: data[edition] for edition in editions}
    rest = msgspec.convert({key: value for key, value in data.items() if key not in shown}, _KindData)
    accept = {unit: _factor(text) for unit, text in rest.accept.items()}
    together = tuple(tuple(units) for units in rest.together)
    for unit in (*shown.values(), *(unit for units in together for unit in units)):
        if rest.holds == "quantity" and unit not in accept:
            raise ValueError(f"unit {unit!r} has no factor")
    if any(factor <= 0 for factor in accept.values()):
        raise ValueError("a factor is not above zero")
    return Kind(name, shown, accept, together, rest.ratio, rest.example, rest.holds)


def load_units(folder: Traversable | None = None) -> Units:
    """The units of a folder's `units.toml`, by default the shipped one.

    Raises:
        TemplateError: the file is missing, damaged, or gives one unit to two kinds.
    """
    data = read_toml((home(TEMPLATES) if folder is None else folder) / FILE)
    try:
        whole = msgspec.convert(data, _UnitsData)
    except msgspec.ValidationError as wrong:
        raise TemplateError(str(wrong), file=FILE) from wrong
    kinds: dict[str, Kind] = {}
    owner: dict[str, str] = {}
    for name, described in whole.kind.items():
        try:
            kinds[name] = _kind(name, described, whole.editions)
        except (KeyError, ValueError, ZeroDivisionError) as wrong:
            said = f"edition {wrong} is missing" if isinstance(wrong, KeyError) else str(wrong)
            raise TemplateError(said, file=FILE, place=f"kind {name}") from wrong
        for unit in kinds[name].accept:
            first = owner.setdefault(unit, name)
            if kinds[first].accept[unit] != kinds[name].accept[unit]:  # one quantity may be shown in two ways
                raise TemplateError(f"unit {unit!r} already measures {first}", file=FILE, place=f"kind {name}")
    return Units(tuple(whole.editions), kinds, whole.spelling, tuple(whole.pint.definitions))


@cache
def shipped() -> Units:
    """The units that ship, read once."""
    return load_units()


def parse(said: object, kind: str, default_unit: str, units: Units | None = None) -> Quantity:
    """The quantity that a text or a number says; see `Units.parse`."""
    return (units or shipped()).parse(said, kind, default_unit)


def convert(quantity: Quantity, unit: str, units: Units | None = None) -> Fraction:
    """The quantity's number in another unit of the same kind; see `Units.convert`."""
    return (units or shipped()).convert(quantity, unit)
