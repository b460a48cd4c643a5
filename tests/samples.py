"""A workbook thinned to a sample of its formulas, for an engine that needs seconds for what others do in a millisecond.

A few rows of every column keep their formulas; all other cells hold the values that the workbook gave. Each kept
formula must then give its own value again.
"""

from __future__ import annotations

import random
import re
import zipfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from engines import Cell, Value, alter_formulas, row_and_column, type_into

from workbook_builder.book import HIDDEN_COLUMNS, HIDDEN_TAB, column_letters

KEPT_ROWS = 2
"""Rows of each column that keep their formulas for the `formulas` package."""

_EMPTY_CELL = re.compile(r'<c r="([A-Z]+)[0-9]+"[^>]*?/>')
_CELL = re.compile(r'<c r="([A-Z]+)[0-9]+"[^>]*?(?:/>|>.*?</c>)', re.DOTALL)


def sample(values: Mapping[Cell, Value], seed: int) -> list[Cell]:
    """A few formula cells of every column of every sheet, and all that stand alone in theirs."""
    chance = random.Random(seed)
    columns: dict[tuple[str, int], list[Cell]] = {}
    for cell in values:
        columns.setdefault((cell[0], row_and_column(cell[1])[1]), []).append(cell)
    found: list[Cell] = []
    for cells in columns.values():
        chance.shuffle(cells)
        # cells that give something first; one that stays blank now and then
        cells.sort(key=lambda cell: values[cell] in (None, ""))
        found += cells[:KEPT_ROWS]
    return found


def thinned(path: Path, out: Path, values: Mapping[Cell, Value], kept: Iterable[Cell]) -> Path:
    """A copy in which only some cells keep their formulas; the others hold what the formulas give.

    A formula that gives an empty text becomes one that gives nothing else, since an empty text and a blank cell are two
    things. Cells without anything in them, and the hidden list of names, are left out: they only take time.
    """
    stay = set(kept)
    others = {cell: value for cell, value in values.items() if cell not in stay}
    numbers = {cell: value for cell, value in others.items() if value not in (None, "")}
    half = type_into(path, out.with_suffix(".half.xlsx"), numbers, over_formulas=True)  # type: ignore[arg-type]
    half = alter_formulas(half, half, {cell: '=""' for cell, value in others.items() if value in (None, "")})
    hidden = {column_letters(at) for at in range(HIDDEN_COLUMNS)}
    with zipfile.ZipFile(half) as package, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as copy:
        names = re.findall(r'<sheet name="([^"]*)"', package.read("xl/workbook.xml").decode())
        tabs = {f"xl/worksheets/sheet{at}.xml": name for at, name in enumerate(names, start=1)}
        for item in package.infolist():
            content = package.read(item)
            if item.filename in tabs:
                text = _EMPTY_CELL.sub("", content.decode("utf-8"))
                if tabs[item.filename] == HIDDEN_TAB:
                    text = _CELL.sub(lambda found: "" if found[1] in hidden else found[0], text)
                content = text.encode("utf-8")
            copy.writestr(item, content)
    return out
