"""Single values of a job file: text, dates and quantities, each tested against its field."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from .errors import unknown
from .job import JobValue
from .job_language import Field, Measure
from .job_schema import Reference, Schema
from .quantity import By, Kind, Quantity, QuantityError


class Wrong(Exception):
    """A value cannot be used; carries problem and what is allowed."""

    def __init__(self, problem: str, allowed: str = "") -> None:
        self.problem = problem
        self.allowed = allowed
        super().__init__(problem)


def shown_value(value: object) -> str:
    """A value of a job file inside a sentence."""
    if isinstance(value, str):
        return repr(value if len(value) <= 60 else value[:60] + "…")
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and not -(10**20) < value < 10**20:
        return "a number of more than twenty digits"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return str(value)


def _plain_text(value: object, longest: int, refuse: str, digits: bool) -> str:
    """Text that is safe to stand in a cell and in a comparison.

    Raises:
        Wrong: it is no text, empty, too long, or has characters that cannot be shown or are refused.
    """
    if digits and isinstance(value, int) and not isinstance(value, bool):
        if abs(value) >= 10**18:
            raise Wrong(f"{shown_value(value)} is too long", "write text in quotes")
        value = str(value)
    if not isinstance(value, str):
        raise Wrong(f"{shown_value(value)} is not text", "write text in quotes")
    text = value if value.isascii() else "".join(" " if unicodedata.category(one) == "Zs" else one for one in value)
    text = text.strip()
    if not text:
        raise Wrong(f"{shown_value(value)} is empty", "write text, or leave the key out")
    if len(text) > longest:
        raise Wrong(f"{shown_value(text)} is too long", f"at most {longest} characters")
    if not text.isprintable():
        raise Wrong(f"{shown_value(text)} has a character that cannot be shown", "write plain text on one line")
    for sign in refuse:
        if sign in text:
            raise Wrong(f"{shown_value(text)} has {sign!r}", f"not allowed here: {' '.join(refuse)}")
    return text


def _plain_word(text: str) -> str:
    """A word of the trade however it is written: "Two words" is two_words."""
    return "_".join(text.casefold().replace("-", " ").split())


def per_edition(value: Any, edition: str) -> Any:
    return value.get(edition) if isinstance(value, dict) else value


class Reader:
    """Turns the TOML value of one key into a job value, in one edition."""

    def __init__(self, schema: Schema, one: Field, edition: str, place: str) -> None:
        self.field = one
        self.schema = schema
        self.edition = edition
        if one.unit not in schema.units.kinds:
            schema.fail(f"unknown unit {one.unit!r}; {unknown(one.unit, schema.units.kinds, 'units')}", place)
        self.kind = schema.units.kinds[one.unit]
        self.limits = self._limits(one, self.kind, place)
        self.by: tuple[Measure, Kind, list[tuple[str, Any, str]]] | None = None
        if one.or_by:
            kind = schema.units.kinds[one.or_by.unit]
            self.by = (one.or_by, kind, self._limits(one.or_by, kind, place))
        self.fixed: dict[str, str] = {}
        if isinstance(one.choices, list):
            self.fixed = {choice.casefold(): choice for choice in one.choices}
        for word in one.instead:
            if word in self.fixed or word != _plain_word(word):
                schema.fail(f"its word {word!r} is a choice, or is not in lower case with underscores", place)
        self.default: JobValue | None = None
        default = per_edition(one.default, edition)
        if default is not None:
            try:
                self.default = self.read(default, None)
            except Wrong as wrong:
                schema.fail(f"its default: {wrong.problem}", place)

    def read(self, value: object, reference: Reference | None) -> JobValue:
        """The job value.

        Raises:
            Wrong: it cannot be used.
        """
        holds = self.kind.holds
        if holds == "text":
            return self._text(value, reference)
        if holds == "boolean":
            if not isinstance(value, bool):
                raise Wrong(f"{shown_value(value)} is neither true nor false", "write true or false, without quotes")
            return value
        if holds == "date":
            return self._date(value)
        if self.by and isinstance(value, str) and (found := re.match(r"\s*by\b(.*)", value, re.DOTALL | re.I)):
            measure, kind, limits = self.by
            return By(self._quantity(found[1].strip(), value, measure, kind, limits))
        quantity = self._quantity(value, value, self.field, self.kind, self.limits)
        if holds == "number":
            return int(quantity.value) if quantity.value.denominator == 1 else float(quantity.value)
        return quantity

    def _text(self, value: object, reference: Reference | None) -> str:
        one = self.field
        text = _plain_text(value, one.longest, one.refuse, one.digits)
        if not one.choices:
            return text
        known = self.fixed
        if isinstance(one.choices, str):
            if reference is None:
                return text
            known = reference.choices(one.choices, {})
        found = known.get(text.casefold()) or (self._bare(text, known) if one.ignore else None)
        if found is None:
            hint = one.instead.get(_plain_word(text))
            allowed = hint or unknown(text, list(known.values()), f"for {one.name}")
            raise Wrong(f"unknown {one.name} {shown_value(text)}", allowed)
        return found

    def _bare(self, text: str, known: Mapping[str, str]) -> str | None:
        """The choice that is left when the ignored words are taken off a text, None where there is none."""
        bare = text.casefold()
        for word in self.field.ignore:
            bare = bare.removeprefix(word).removesuffix(word).strip(" .-")
        return known.get(bare) or known.get("-".join(bare.split()))

    def _date(self, value: object) -> date:
        allowed = "write a date such as 2025-03-14"
        if isinstance(value, str):
            try:
                value = date.fromisoformat(value.strip())
            except ValueError:
                raise Wrong(f"{shown_value(value)} is not a date", allowed) from None
        if not isinstance(value, date) or isinstance(value, datetime):
            raise Wrong(f"{shown_value(value)} is not a date", allowed)
        for how, limit, _ in self.limits:
            if _beyond(how, value, limit):
                raise Wrong(f"{value} is out of range", _limit_words(self.limits))
        return value

    def _quantity(
        self, said: object, shown: object, measure: Measure, kind: Kind, limits: list[tuple[str, Any, str]]
    ) -> Quantity:
        units = self.schema.units
        try:
            quantity = units.parse(said, kind.name, kind.shown[self.edition])
        except QuantityError as error:
            raise Wrong(error.problem, error.allowed) from None
        if measure.whole and quantity.value.denominator != 1:
            raise Wrong(f"{shown_value(shown)} is not a whole number", "write a whole number")
        if measure.nonzero and quantity.value == 0:
            raise Wrong(f"{shown_value(shown)} is zero", "write another value, or leave the key out")
        for how, limit, _ in limits:
            if _beyond(how, units.convert(quantity, limit.unit), limit.value):
                raise Wrong(f"{shown_value(shown)} is out of range", _limit_words(limits))
        return quantity

    def _limits(self, measure: Measure, kind: Kind, place: str) -> list[tuple[str, Any, str]]:
        """Limits of this edition: which, its value, its text."""
        found: list[tuple[str, Any, str]] = []
        for how in _LIMIT_WORDS:
            said = per_edition(getattr(measure, how), self.edition)
            if said is None:
                continue
            try:
                if kind.holds == "date":
                    found.append((how, date.fromisoformat(str(said)), str(said)))
                else:
                    limit = self.schema.units.parse(said, kind.name, kind.shown[self.edition])
                    found.append((how, limit, str(said)))
            except ValueError as wrong:
                self.schema.fail(f"its {how}: {wrong}", place)
        return found


_LIMIT_WORDS = {"minimum": "at least ", "above": "more than ", "maximum": "at most ", "below": "less than "}


def _limit_words(limits: Iterable[tuple[str, Any, str]]) -> str:
    return "allowed: " + " and ".join(_LIMIT_WORDS[how] + text for how, _, text in limits)


def _beyond(how: str, value: Any, limit: Any) -> bool:
    """Whether a value breaks a limit."""
    if how == "minimum":
        return bool(value < limit)
    if how == "maximum":
        return bool(value > limit)
    return bool(value <= limit if how == "above" else value >= limit)
