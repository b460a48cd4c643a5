"""How a sheet looks on a screen: what stays in sight, how wide text runs, what a cell shows beside its number."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import openpyxl
from workshops import little

from workbook_builder.build import Workshop
from workbook_builder.write import LAPTOP, SMALLEST_ZOOM, zoom

LIST = """
[[section]]
name = ""
lines = ["{line}"]
[[input]]
name = "checked"
label = "Checked on"
unit = "date"
[[result]]
name = "told"
label = "Told"
unit = "text"
formula = '"a sentence that is much longer than its cell is wide, and so runs over several lines of it"'
[[table]]
name = "loaves"
title = "Loaves"
rows = 5
key = "number"
column = [
    {{ name = "oven", label = "Oven", unit = "text", formula = '"oven"', width = 6 }},
    {{ name = "tray", label = "Tray", unit = "text", formula = '"tray"', width = {tray} }},
    {{ name = "weight", label = "Weight", unit = "mass", formula = "1 * list.one", width = {rest} }},
    {{ name = "day", label = "Day", unit = "date", typed = true, width = {rest} }},
    {{ name = "number", label = "No.", count = true, working = true }},
]
[[constant]]
name = "one"
label = "One"
unit = "mass"
value = "1 kg"
"""


def opened(shop: Workshop) -> Any:
    return openpyxl.load_workbook(io.BytesIO(shop.build("little", None, "inch")))["List"]


def listing(folder: Path, line: str = "A line.", tray: int = 7, rest: int = 12) -> Any:
    return opened(little(folder, {"list": LIST.format(line=line, tray=tray, rest=rest)}))


def test_the_words_that_name_a_row_stay_in_sight(tmp_path: Path) -> None:
    sheet = listing(tmp_path)
    assert sheet.freeze_panes.startswith("C")
    assert listing(tmp_path / "wide", tray=30).freeze_panes.startswith("B")


def test_a_date_has_room_and_no_unit(tmp_path: Path) -> None:
    sheet = listing(tmp_path)
    cells = {cell.value: cell for row in sheet.iter_rows() for cell in row if cell.value}
    beside = sheet.cell(cells["✎ Checked on"].row, 4)
    spans = [area for area in sheet.merged_cells.ranges if beside.coordinate in area]
    assert spans or sheet.column_dimensions["D"].width >= 11
    assert "day" not in cells


def test_a_long_result_is_wrapped(tmp_path: Path) -> None:
    sheet = listing(tmp_path)
    told = next(cell for row in sheet.iter_rows() for cell in row if cell.value and "a sentence" in str(cell.value))
    assert told.alignment.wrap_text and sheet.row_dimensions[told.row].height > 30


def test_text_runs_no_wider_than_a_screen(tmp_path: Path) -> None:
    sheet = listing(tmp_path, line="A word. " * 30, rest=90)
    line = next(cell for cell in sheet["A"] if str(cell.value).startswith("A word."))
    (span,) = (area for area in sheet.merged_cells.ranges if line.coordinate in area)
    assert span.max_col < 4 and sheet.row_dimensions[line.row].height > 30


def test_a_wide_sheet_is_shown_smaller(tmp_path: Path) -> None:
    assert listing(tmp_path).sheet_view.zoomScale in (None, 100)
    shown = listing(tmp_path / "wide", rest=90).sheet_view.zoomScale
    assert SMALLEST_ZOOM <= shown < 100
    widths = [40.0] * 5
    assert zoom(widths) == int(100 * LAPTOP / sum(width * 1.15 * 7 + 5 for width in widths))
    assert zoom([1000.0]) == SMALLEST_ZOOM and zoom([10.0]) == 100


def test_a_heading_without_room_beside_the_title_is_left_out(tmp_path: Path) -> None:
    """It would be written over the title."""
    head = """
[[result]]
name = "headline"
label = "Headline"
unit = "text"
formula = '"the bakery and its number"'
"""
    narrow = 'title = "A title that fills its sheet"\n' + LIST.format(line="A line.", tray=7, rest=7)
    roomy = "\n" + LIST.format(line="A line.", tray=7, rest=40)
    for name, text, wanted in (("narrow", narrow, False), ("roomy", roomy, True)):
        shop = little(tmp_path / name, {"list": text, "other": head}, workbook='headline = "other.headline"\n')
        book = openpyxl.load_workbook(io.BytesIO(shop.build("little", None, "inch")))
        first = [cell.value for cell in book.worksheets[0][1] if cell.value]
        assert any("headline" in str(value) for value in first) == wanted
