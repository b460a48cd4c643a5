"""What a scene of `mutants.py` is: an open workbook, what is typed into it, and what its cells must then hold."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from live import READINGS, Live, Place, Value, some
from oracles import agree

Now = Mapping[str, Sequence[Any]]
Look = Callable[[Live], list[str]]
"""Looks at an open workbook, and says what is not as it should be."""


@dataclass
class Case:
    """Cells typed into a scene, and what must then hold.

    Attributes:
        name: what it is called.
        typed: by name and row.
        wanted: by name and row.
        looks: more to look at, each with the tables that it reads.
        watched: names that the looks are about, where the case need not be tried for others.
        own: whether it gets an open workbook of its own; one that is rarely asked is typed into that of the first case.
    """

    name: str
    typed: Mapping[Place, Value] = field(default_factory=dict)
    wanted: Mapping[Place, Value] = field(default_factory=dict)
    looks: Sequence[tuple[frozenset[str], Look]] = ()
    watched: frozenset[str] = frozenset()
    own: bool = True

    @cached_property
    def by_name(self) -> dict[str, list[tuple[int, Value]]]:
        """What must hold, by name."""
        found: dict[str, list[tuple[int, Value]]] = {}
        for (name, row), value in self.wanted.items():
            found.setdefault(name, []).append((row, value))
        return found

    @cached_property
    def reads(self) -> frozenset[str]:
        """Names that are looked at."""
        return frozenset(self.by_name) | self.watched

    def unlike(self, book: Live, names: set[str], now: Now) -> str:
        """What is not as it should be among these names, "" when nothing is."""
        for name in names & self.by_name.keys():
            for row, value in self.by_name[name]:
                if not agree(now[name][row], value):
                    return f"{name}, row {row + 1}: {now[name][row]!r}, not {value!r}"
        tables = {name.partition(".")[0] for name in names}
        for reads, look in self.looks:
            if reads & tables:
                try:
                    found = look(book)
                except Exception as broken:  # a look that cannot even be taken is a failed test
                    return f"{type(broken).__name__}: {broken}"[:200]
                if found:
                    return found[0]
        return ""


@dataclass
class Scene:
    """A job's workbook in an edition, typed into, with one case or more; the first is the scene as it stands.

    Attributes:
        name: what it is called.
        edition: "inch" or "mm".
        text: the job file, None for blank rows.
        made: what is typed, and the cases; the workbook as built is at hand.
        sheets: sheets whose formulas are looked at here.
        built: sheets that are built, those included.
    """

    name: str
    edition: str
    text: Callable[[], str | None]
    made: Callable[[Live], tuple[Mapping[Place, Value], Sequence[Case]]]
    sheets: Sequence[str] = READINGS
    built: tuple[str, ...] = READINGS

    def open(self) -> tuple[Live, Sequence[Case]]:
        """Its workbook and cases; a reset leads back to what is typed here."""
        book = Live(self.text(), self.edition, some(self.built))
        typed, cases = self.made(book)
        book.put_all(typed)
        book.typed.clear()
        return book, cases
