"""Errors that store where they happened and build their own sentence.

One base class for everything a user can mend. The command line prints the sentence and exits with 2; no other exception
is expected to reach a user.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from difflib import get_close_matches


def nearest(word: str, allowed: Iterable[str]) -> str | None:
    """The allowed word most like `word`, or None when nothing is near."""
    names = [str(name) for name in allowed]
    folded = {name.casefold(): name for name in names}
    found = get_close_matches(word.casefold(), list(folded), n=1, cutoff=0.6)
    return folded[found[0]] if found else None


def listed(allowed: Iterable[str], most: int = 12) -> str:
    """Allowed values as running text, cut off where a sentence would become a wall."""
    names = [str(name) for name in allowed]
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else f"{shown} … ({len(names)} in all)"


class InputError(Exception):
    """Something a user typed cannot be used.

    Attributes:
        file: the file it stands in ("" when it did not come from one).
        place: where in that file, in words of the file ("spool SP-01, leg L2, east").
        problem: what is wrong, naming the value.
        allowed: what would have worked, as a half sentence; "" where nothing helps.
    """

    def __init__(self, problem: str, *, file: str = "", place: str = "", allowed: str = "") -> None:
        self.file = file
        self.place = place
        self.problem = problem
        self.allowed = allowed
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """One plain sentence: file, place, problem, and what is allowed."""
        where = ": ".join(part for part in (self.file, self.place) if part)
        said = f"{where}: {self.problem}" if where else self.problem
        return f"{said}; {self.allowed}" if self.allowed else said

    def __str__(self) -> str:
        return self.sentence()


class JobError(InputError):
    """A job file cannot be used."""


class TemplateError(InputError):
    """A template cannot be built: the author's mistake, named by file, name and formula."""


@contextmanager
def naming(file: str, place: str = "") -> Iterator[None]:
    """Give a template error from inside the file and place that it does not name itself."""
    try:
        yield
    except TemplateError as wrong:
        if wrong.file:
            raise
        raise TemplateError(wrong.problem, file=file, place=wrong.place or place, allowed=wrong.allowed) from wrong


class TableError(InputError):
    """A reference table or its description is damaged, or a table that does not exist was asked for."""


class WorkbookError(InputError):
    """A workbook file cannot be read back, or cannot be written where it was asked for."""


def unknown(word: str, allowed: Iterable[str], what: str) -> str:
    """Half sentence for an unknown key or value: the nearest known one, or the list."""
    names = [str(name) for name in allowed]
    near = nearest(word, names)
    return f"did you mean {near!r}?" if near else f"allowed {what}: {listed(names)}"
