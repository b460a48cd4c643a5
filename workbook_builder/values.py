"""Values: what every formula gives, computed before the file is written.

formualizer is given the cells directly. The values are stored beside the formulas, so that a preview or a reader that
does not recalculate shows right numbers. A cell that gives an error value stops the build.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import formualizer

from .book import Book, CellValue, Field
from .errors import TemplateError, naming
from .prove import Proof, Proven
from .render import Pattern, Renderer

SPOKEN = {
    "Circ": "leads back to itself",
    "Div": "divides by nothing",
    "Error": "cannot be read by the engine",
    "Na": "finds no match",
    "Name": "uses a name that is not there",
    "Num": "has no number for an answer",
    "Ref": "points outside its range",
    "Value": "reckons with text",
}

DAY_ZERO = date(1899, 12, 30)


def serial(day: date) -> float:
    """A date as sheets count days."""
    return float((day - DAY_ZERO).days)


def cell_value(value: Any) -> CellValue:
    """A fixed value as a cell holds it: numbers as floats, dates as day counts, blank as None."""
    if value is None or isinstance(value, (str, bool)):
        return value
    if isinstance(value, date):
        return serial(value)
    # a spreadsheet file keeps 15 digits for certain: compute with what it will hold
    return float(f"{float(value):.15g}")


def error_of(value: Any) -> str:
    """What is wrong with an engine's answer, "" when it is a value."""
    if isinstance(value, dict):
        return SPOKEN.get(str(value.get("kind")), f"gives {value.get('kind')}")
    return ""


class Engine:
    """formualizer, fed cell by cell and read back in columns."""

    def __init__(self, tabs: Sequence[str]) -> None:
        self.book = formualizer.Workbook()
        for tab in tabs:
            self.book.add_sheet(tab)

    def put_values(self, tab: str, row: int, column: int, values: Sequence[CellValue]) -> None:
        """Fixed values below one another, from a 0-based cell."""
        if values:
            self.book.set_values_batch(tab, row + 1, column + 1, [[value] for value in values])

    def put_value(self, tab: str, row: int, column: int, value: CellValue) -> None:
        """One value in a 0-based cell, also over another."""
        self.book.set_value(tab, row + 1, column + 1, value)

    def put_formulas(self, tab: str, row: int, column: int, formulas: Sequence[str]) -> None:
        """Formulas below one another, from a 0-based cell."""
        if formulas:
            self.book.set_formulas_batch(tab, row + 1, column + 1, [[text] for text in formulas])

    def put_formula(self, tab: str, row: int, column: int, formula: str) -> None:
        """One formula, also over a value that stands there already (a batch would leave the value)."""
        try:
            self.book.set_formula(tab, row + 1, column + 1, formula)
        except RuntimeError as wrong:  # a formula that reads its own cell is refused at once
            raise TemplateError(f"the formula {SPOKEN['Circ']} (formula: {formula})") from wrong

    def calculate(self) -> None:
        """Compute every formula."""
        self.book.evaluate_all()

    def take(self, tab: str, row: int, column: int, rows: int) -> list[Any]:
        """Values below one another, from a 0-based cell."""
        area = formualizer.RangeAddress(tab, row + 1, column + 1, row + rows, column + 1)
        return [line[0] for line in self.book.sheet(tab).get_values(area)]


@dataclass(slots=True)
class Computed:
    """All cells of a workbook with their values.

    Attributes:
        engine: what computed them, still open: what is typed into it recomputes what follows.
        values: by field name, one value a row; None where a typed cell is blank.
        patterns: by field name, the formula with plain addresses.
        singles: by field name and row offset, the formula in a single typed cell.
        extra: values of cells outside the fields, by sheet, row and column (0-based).
    """

    engine: Engine
    values: dict[str, list[CellValue]] = field(default_factory=dict)
    patterns: dict[str, Pattern] = field(default_factory=dict)
    singles: dict[tuple[str, int], str] = field(default_factory=dict)
    extra: dict[tuple[str, int, int], CellValue] = field(default_factory=dict)


def fixed_values(made: Field) -> list[CellValue]:
    """What a typed or fixed field holds, one a row."""
    given = [cell_value(value) for value in made.values]
    return given + [None] * (made.rows - len(given))


def compute(
    book: Book,
    proof: Proof,
    renderer: Renderer,
    step: Callable[[], None] = lambda: None,
) -> Computed:
    """Compute every formula of a workbook.

    Args:
        book: the workbook laid out.
        proof: its proved formulas.
        renderer: spells their addresses.
        step: called after each larger step, for a progress display.

    Raises:
        TemplateError: a cell gives an error value or leads back to itself; it names field, row and formula.
    """
    proven = proof.proven
    engine = Engine(list(dict.fromkeys([plan.tab for plan in book.sheets] + [f.tab for f in book.fields.values()])))
    done = Computed(engine)
    with_formula = {one.field.name for one in proven}
    for made in _by_row(book):
        engine.put_formulas(made.tab, made.row, made.column, made.row_formulas)
    for made in book.fields.values():
        if made.name not in with_formula and not made.row_formulas:
            done.values[made.name] = fixed_values(made)
            engine.put_values(made.tab, made.row, made.column, done.values[made.name])
    step()
    for one in proven:
        made = one.field
        pattern = done.patterns[made.name] = renderer.pattern(one)
        engine.put_formulas(
            made.tab, made.row, made.column, [pattern.at(row) for row in range(made.row, made.row + made.rows)]
        )
    for made, at, node in proof.single:
        text = renderer.pattern(Proven(made, node)).at(made.row + at)
        done.singles[made.name, at] = text
        with naming(made.file, made.name):
            engine.put_formula(made.tab, made.row + at, made.column, text)
    for tab, row, column, content, is_formula in _workings(book):
        if is_formula:
            engine.put_formulas(tab, row, column, [str(content)])
        else:
            engine.put_values(tab, row, column, [content])
    step()
    _calculate(book, proof, done)
    step()
    return done


def recompute(book: Book, proof: Proof, done: Computed, fields: Iterable[Field]) -> None:
    """Compute anew what follows from typed fields that were filled since.

    Args:
        book: the workbook, its fields filled by now.
        proof: its proved formulas.
        done: what was computed before; its values become the new ones.
        fields: those that were filled.

    Raises:
        TemplateError: as from `compute`.
    """
    for made in fields:
        before, now = done.values[made.name], fixed_values(made)
        for at, value in enumerate(now):
            if (made.name, at) not in done.singles and value != before[at]:
                done.engine.put_value(made.tab, made.row + at, made.column, value)
                before[at] = value
    _calculate(book, proof, done)


def _calculate(book: Book, proof: Proof, done: Computed) -> None:
    """Have the engine compute, and take every formula's value."""
    engine = done.engine
    engine.calculate()
    by_row = _by_row(book)
    for tab, row, column, content, is_formula in _workings(book):
        if not is_formula:
            continue
        value = engine.take(tab, row, column, 1)[0]
        if wrong := error_of(value):
            made = next(made for made in by_row if made.tab == tab and made.row <= row <= made.last_row)
            case = book.cases[row - made.row]
            raise TemplateError(
                f"the example for {case.expected!r} {wrong} (formula: {content})", file=case.template.file,
                place=case.example.source,
            )  # fmt: skip
        done.extra[tab, row, column] = value
    for made in [*(one.field for one in proof.proven), *by_row]:
        answers = engine.take(made.tab, made.row, made.column, made.rows)
        for at, value in enumerate(answers):
            if wrong := error_of(value):
                raise TemplateError(
                    f"the formula {wrong} in row {at + 1} (formula: {made.formula})", file=made.file, place=made.name
                )
        done.values[made.name] = answers
    for name, at in done.singles:
        made = book.fields[name]
        value = engine.take(made.tab, made.row + at, made.column, 1)[0]
        if wrong := error_of(value):
            raise TemplateError(
                f"the formula {wrong} in row {at + 1} (formula: {made.instead[at]})", file=made.file, place=name
            )
        done.values[name][at] = value


def _workings(book: Book) -> list[tuple[str, int, int, CellValue, bool]]:
    """Cells of worked examples: sheet, row, column, content, and whether that is a formula."""
    return [(plan.tab, *cell) for plan in book.sheets for cell in plan.workings]


def _by_row(book: Book) -> list[Field]:
    """Fields whose formula differs from row to row."""
    return [made for made in book.fields.values() if made.row_formulas]
