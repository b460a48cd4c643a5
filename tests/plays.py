"""Changed formulas of sheets whose oracles are whole tests: the tests themselves are run on the changed workbook.

`mutants.py` asks here about sheets that are played through in test modules of their own. pytest collects such a module
and runs it once as it is, while it is noted which names each test reads. Then, for one change after the other, the
formula is put into every workbook that the tests hold open (and into those that they open meanwhile), and the tests
that read something that the changed formula can reach are run until one fails.
"""

from __future__ import annotations

import contextlib
import io
import time
import weakref
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from _pytest.runner import runtestprotocol
from live import Live

from workbook_builder.book import Field
from workbook_builder.expression import Node

Nodes = Mapping[str, Node]
Change = Callable[[Live], Nodes]
"""The trees that a change makes new in a workbook; a `Refused` when it cannot be built there."""

PLAYED: Mapping[str, tuple[str, ...]] = {
    "test_flanges": ("flanges", "drilled", "faces", "face_steps"),
    "test_levels": ("levels",),
    "test_bores": ("bores", "bore_sizes"),
    "test_bevels": ("bevels", "groove"),
    "test_tacks": ("tacks", "tack_practice"),
    "test_dimensions": ("dimensions", "predictions", "closure_steps"),
    "test_welds": ("welds",),
    "test_release": ("release", "release_points"),
    "test_connections": ("connections", "bolting"),
    "test_seams": ("seams",),
    "test_envelope": ("envelope", "envelope_parts"),
}  # fmt: skip
"""Test modules, and the sheets that each plays through."""

SHEETS = tuple(sheet for sheets in PLAYED.values() for sheet in sheets)

_QUIET = ["-o", "addopts=", "-m", "not thorough", "--assert=plain"]
_WITHOUT = ["-p", "no:xdist", "-p", "no:cacheprovider", "-p", "no:terminal"]


def module_of(sheet: str) -> str:
    """The test module that plays a sheet."""
    return next(module for module, sheets in PLAYED.items() if sheet in sheets)


class Books:
    """Every workbook that the tests hold open: what they read of it, and the change that it has now."""

    def __init__(self, put: Callable[[Live, Nodes], None], back: Callable[[Live, Nodes], Nodes]) -> None:
        """Take the way to put trees into a workbook, and the way to find those that stood there."""
        self.open: weakref.WeakSet[Live] = weakref.WeakSet()
        self.last: dict[str, Live] = {}
        self.read: set[str] = set()
        self._put, self._back = put, back
        self._change: Change | None = None
        self._changed: list[tuple[weakref.ref[Live], Nodes]] = []

    @contextmanager
    def watched(self) -> Iterator[None]:
        """Notice each workbook that is opened, and each name that is read, for as long as this lasts."""
        opening, again, take, row = Live.__init__, Live.again, Live.take, Live.row
        books = self

        def opened(self: Live, *args: Any, **more: Any) -> None:
            opening(self, *args, **more)
            books.add(self)

        def opened_again(self: Live, *args: Any) -> Live:
            other = again(self, *args)
            books.add(other)
            return other

        def taken(self: Live, field: Field) -> list[Any]:
            books.read.add(field.name)
            return take(self, field)

        def row_taken(self: Live, table: str, at: int) -> dict[str, Any]:
            books.read.update(field.name for field in self.book.tables[table].fields)
            return row(self, table, at)

        with pytest.MonkeyPatch.context() as patch:
            for name, other in (("__init__", opened), ("again", opened_again), ("take", taken), ("row", row_taken)):
                patch.setattr(Live, name, other)
            yield

    def add(self, book: Live) -> None:
        """A workbook that was just opened. The last of each edition stays open when its test is over."""
        self.open.add(book)
        self.last[book.edition] = book
        if self._change is not None:
            self._alter(book)

    @contextmanager
    def changed(self, change: Change) -> Iterator[bool]:
        """A change in all of them for a while; whether it changes a formula in any."""
        self._change, self._changed = change, []
        try:
            altered = [self._alter(book) for book in list(self.open)]
            yield any(altered)
        finally:
            self._change = None
            for book, before in self._changed:
                if (there := book()) is not None:
                    self._put(there, before)
                    there.reset()
                    there.calculate()

    def _alter(self, book: Live) -> bool:
        assert self._change is not None
        nodes = self._change(book)
        before = self._back(book, nodes)
        differ = {name: node for name, node in nodes.items() if node != before[name]}
        if differ:
            self._put(book, differ)
            book.calculate()
            self._changed.append((weakref.ref(book), {name: before[name] for name in differ}))
        return bool(differ)


class Play:
    """A pytest plugin: runs a module's tests as they are, then on changed workbooks.

    Args:
        books: the workbooks that the tests open.
        ask: told that the tests can be run, asks about its changes one by one; see `noticed`.
    """

    def __init__(self, books: Books, ask: Callable[[Play], None]) -> None:
        self.books, self.ask = books, ask
        self.reads: dict[pytest.Item, frozenset[str]] = {}
        self.seconds: dict[pytest.Item, float] = {}
        self.items: list[pytest.Item] = []
        self.broken: Exception | None = None

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Instead of running each test once."""
        try:
            self._run(session.items)
        except Exception as broken:  # pytest would only print it
            self.broken = broken
        return True

    def _run(self, items: Sequence[pytest.Item]) -> None:
        self.items = list(items)
        with self.books.watched():
            for item in items:
                self.books.read.clear()
                start = time.monotonic()
                if failed := self._failed(item):
                    raise AssertionError(f"{item.nodeid}, with nothing changed: {failed}")
                self.reads[item] = frozenset(self.books.read)
                self.seconds[item] = time.monotonic() - start
            self.items = [item for item in items if self.reads[item]]
            self.ask(self)

    def _failed(self, item: pytest.Item) -> str:
        """Why a test fails now; "" when it passes."""
        other = next((each for each in self.items if each is not item), None)  # keeps what the module's tests share
        for report in runtestprotocol(item, log=False, nextitem=other):
            if report.failed:
                crash = getattr(report.longrepr, "reprcrash", None)
                return str(crash.message if crash else report.longrepr or "failed").partition("\n")[0]
        return ""

    def noticed(self, change: Change, reached: frozenset[str], first: Sequence[pytest.Item]) -> tuple[str, Any] | None:
        """The test that fails with a change and why, "" when none does; None when it changes nothing.

        Args:
            change: what to change in every workbook.
            reached: names whose values may change.
            first: tests to begin with.
        """
        others = sorted((each for each in self.items if each not in first), key=lambda item: self.seconds[item])
        with self.books.changed(change) as any_changed:
            if not any_changed:
                return None
            for item in (*first, *others):
                if self.reads[item] & reached and (why := self._failed(item)):
                    return f"{item.nodeid.partition('::')[2]}: {why}"[:300], item
        return "", None


def play(module: str, books: Books, ask: Callable[[Play], None]) -> None:
    """Have a module's tests ready, and let changes be asked about.

    Raises:
        AssertionError: a test fails with nothing changed.
    """
    plugin = Play(books, ask)
    path = Path(__file__).with_name(f"{module}.py")
    with contextlib.redirect_stdout(io.StringIO()):
        code = pytest.main([*_QUIET, *_WITHOUT, str(path)], plugins=[plugin])
    if plugin.broken is not None:
        raise plugin.broken
    if not plugin.items:
        raise AssertionError(f"pytest ran nothing of {module}: it ended with {code}")
