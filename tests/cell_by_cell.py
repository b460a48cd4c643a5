"""The `formulas` package over big workbooks: each formula is worked out from what stands in the cells that it names.

Loaded as a whole, a workbook costs the package milliseconds for each cell and seconds where rows look at rows above
them. So it is handed one formula at a time, with the values of the cells that the formula reads. When every cell
gives its own value again, the whole workbook does: no formula leads back to itself (the builder refuses circles), so
the cells can be put in an order in which each follows from those before it.

Formulas that differ only in the cells that they name are parsed once, and a formula that was already given the very
same values is not asked again: it has nothing else to go by.
"""

from __future__ import annotations

import random
import re
import warnings
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import formulas
import numpy as np
import openpyxl
import schedula
from engines import (
    Cell,
    EngineError,
    ErrorValue,
    Value,
    cell_values,
    formula_cells,
    recompute_with_formualizer,
    row_and_column,
    value_of_formulas,
)
from formulas.ranges import Ranges
from formulas.tokens.operand import Error

from workbook_builder.book import column_letters

Reference = tuple[str, str]
"""A sheet and a cell or a range of it, without dollar signs."""

_WORD = r"(?<![A-Za-z0-9_.$])"
_TEXT = r'"(?:[^"]|"")*"'
_SHEET = r"(?:'(?:[^']|'')+'|[A-Za-z_][A-Za-z0-9_.]*)"
_CELLS = r"\$?[A-Z]{1,3}\$?[0-9]+(?::\$?[A-Z]{1,3}\$?[0-9]+)?"
_NAME = r"[A-Za-z_][A-Za-z0-9_.]*"
_OPERAND = re.compile(
    rf"(?P<text>{_TEXT})|{_WORD}(?:(?P<sheet>{_SHEET})!)?(?P<cells>{_CELLS})(?![A-Za-z0-9_(.])"
    rf"|{_WORD}(?P<name>{_NAME})(?![A-Za-z0-9_.(!])"
)
_DEFINED = re.compile(rf"(?P<sheet>{_SHEET})!(?P<cells>{_CELLS})")
_WORDS = ("TRUE", "FALSE")
_APART = 64
"""Columns from one stand-in range to the next; no range of a sheet is wider."""


def sample(cells: Iterable[Cell], values: Mapping[Cell, Value], seed: int, rows: int = 2) -> list[Cell]:
    """A few of the formula cells of every column of every sheet, those that give something first."""
    chance = random.Random(seed)
    columns: dict[tuple[str, int], list[Cell]] = {}
    for cell in cells:
        columns.setdefault((cell[0], row_and_column(cell[1])[1]), []).append(cell)
    found: list[Cell] = []
    for column in columns.values():
        chance.shuffle(column)
        column.sort(key=lambda cell: values.get(cell) in (None, ""))
        found += column[:rows]
    return found


def standing(path: Path) -> dict[Cell, Value]:
    """What stands in every cell when `read` computes the workbook anew: typed values, and those of the formulas."""
    values = cell_values(path)
    return values | recompute_with_formualizer(path)


class CellByCell:
    """The formulas of a workbook, asked of the `formulas` package one at a time.

    Attributes:
        formulas: every formula, by its cell.
        given: what stands in the cells; a formula cell that is not mentioned holds an empty text.
    """

    def __init__(self, path: Path, given: Mapping[Cell, Value] | None = None) -> None:
        """Read a workbook.

        Args:
            path: its file.
            given: what stands in every cell; what is stored in the file when left out.
        """
        self.formulas = formula_cells(path)
        self.given = dict(cell_values(path) if given is None else given)
        for cell in self.formulas:
            if self.given.get(cell) is None:
                self.given[cell] = ""  # openpyxl reads a stored empty text as nothing
        self._names = _defined_names(path)
        self._parser = formulas.Parser()
        self._compiled: dict[str, tuple[Any, list[tuple[int, Any]]]] = {}
        self._arrays: dict[Reference, Any] = {}
        self._answers: dict[tuple[object, ...], Value] = {}

    def recompute(self, cells: Iterable[Cell] | None = None) -> dict[Cell, Value]:
        """Work out these formula cells, or all of them, each from what stands in the cells that it names.

        Raises:
            EngineError: when a formula names something that is not in the workbook, or cannot be parsed.
        """
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return {cell: self._value(cell) for cell in (self.formulas if cells is None else cells)}

    def _value(self, cell: Cell) -> Value:
        shape, references = self._shape(cell)
        asked = (shape, *(self._identity(each) for each in references))
        if asked not in self._answers:
            self._answers[asked] = self._answer(shape, references)
        return self._answers[asked]

    def _shape(self, cell: Cell) -> tuple[str, list[Reference]]:
        """The formula over stand-in ranges, and the cells that each of these stands for."""
        home, _ = cell
        references: dict[Reference, int] = {}

        def stand_in(found: re.Match[str]) -> str:
            if found["text"] or found["name"] in _WORDS:
                return found[0]
            if found["name"]:
                if found["name"] not in self._names:
                    raise EngineError(f"{cell}: {found['name']} is no name of the workbook: {self.formulas[cell]}")
                reference = self._names[found["name"]]
            else:
                sheet = found["sheet"].strip("'").replace("''", "'") if found["sheet"] else home
                reference = sheet, found["cells"].replace("$", "")
            at = 1 + _APART * references.setdefault(reference, len(references))
            rows, columns = self._array(reference).shape
            if columns > _APART:
                raise EngineError(f"{cell}: {reference} is wider than {_APART} columns")
            first, last = f"{column_letters(at - 1)}1", f"{column_letters(at + columns - 2)}{rows}"
            return first if first == last else f"{first}:{last}"

        return _OPERAND.sub(stand_in, self.formulas[cell]), list(references)

    def _array(self, reference: Reference) -> Any:
        """What stands in a range, as the package wants it: a table of objects with its own word for a blank cell."""
        if reference not in self._arrays:
            sheet, cells = reference
            first, _, last = cells.partition(":")
            (top, left), (bottom, right) = row_and_column(first), row_and_column(last or first)
            block = [
                [self._one(sheet, row, column) for column in range(left, right + 1)] for row in range(top, bottom + 1)
            ]
            self._arrays[reference] = np.array(block, dtype=object)
        return self._arrays[reference]

    def _one(self, sheet: str, row: int, column: int) -> object:
        value = self.given.get((sheet, f"{column_letters(column - 1)}{row}"))
        if isinstance(value, ErrorValue):
            return Error.errors[value.text]
        return schedula.EMPTY if value is None else value

    def _identity(self, reference: Reference) -> object:
        """What tells one operand from another: the value of a single cell with its kind, or which range it is."""
        block = self._array(reference)
        if block.size > 1:
            return reference
        return type(block[0, 0]), block[0, 0]

    def _answer(self, shape: str, references: list[Reference]) -> Value:
        compiled, wanted = self._compile(shape)
        operands = [Ranges((stood,), {stood["name"]: (stood, self._array(references[at]))}) for at, stood in wanted]
        answer = np.asarray(compiled(*operands), object).ravel()[0]
        # a reference to a blank cell gives 0, as in every spreadsheet program
        return 0 if answer is schedula.EMPTY else value_of_formulas(answer)

    def _compile(self, shape: str) -> tuple[Any, list[tuple[int, Any]]]:
        if shape not in self._compiled:
            try:
                compiled = self._parser.ast(shape)[1].compile()
            except Exception as error:
                raise EngineError(f"formulas cannot work with {shape}: {error!r}") from error
            stand_ins = [operand.ranges[0] for operand in compiled.inputs.values()]
            self._compiled[shape] = compiled, [((one["n1"] - 1) // _APART, one) for one in stand_ins]
        return self._compiled[shape]


def _defined_names(path: Path) -> dict[str, Reference]:
    """The workbook's names that stand for cells."""
    book = openpyxl.load_workbook(path, read_only=True)
    try:
        found = {name: _DEFINED.fullmatch(defined.attr_text) for name, defined in book.defined_names.items()}
    finally:
        book.close()
    return {
        name: (match["sheet"].strip("'").replace("''", "'"), match["cells"].replace("$", ""))
        for name, match in found.items()
        if match
    }
