"""The shipped workbook read back: the names that others rely on, and that other programs may save it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import engines
import make_examples
import pytest

from workbook_builder.read import Reading, read_workbook

RELIED_ON = {
    "legs": "spool leg from east north up length turn_start turn_end takeout_start takeout_end",
    "pieces": "spool mark leg size schedule cut_length cut_text mass bevel_face",
    "joints": "spool joint gap_12 gap_3 gap_6 gap_9 gap_mean gap_tilt gap_widest_at gap_uneven hi_lo_12 hi_lo_3 "
    "hi_lo_6 hi_lo_9 hi_lo_max hi_lo_shift hi_lo_shift_at hi_lo_after_shift verdict action",
    "ends": "spool piece end square_12_6 square_1_7 square_3_9 square_4_10 out_of_square long_at waviness verdict "
    "action",
}


@pytest.fixture(scope="module")
def shipped() -> dict[str, Reading]:
    """Some of the example workbooks, which `test_examples.py` holds against what is built."""
    names = ("spool-mm.xlsx", "J-1042-spool-inch.xlsx", "J-1043-spool-mm.xlsx", "tables-inch.xlsx")
    return {name: read_workbook(make_examples.FOLDER / name) for name in names}


def test_names_that_others_rely_on(shipped: dict[str, Reading]) -> None:
    for name, reading in shipped.items():
        if make_examples.WORKBOOK not in name:
            continue
        told = reading.as_json(cells=True)
        for table, columns in RELIED_ON.items():
            assert set(columns.split()) <= set(told["cells"][table][0]), table
            if name.startswith("J-"):
                assert set(columns.split()) <= set(told["values"][table][0])
            else:
                assert told["values"][table] == []
        assert told["values"]["rules.root_gap"] == (
            0.125 if told["edition"] == "inch" else pytest.approx(3.175, abs=0.7)
        )
        assert told["units"]["pieces.cut_length"] == {"inch": "in", "mm": "mm"}[told["edition"]]


def test_a_workbook_just_built_has_no_findings(shipped: dict[str, Reading]) -> None:
    for name, reading in shipped.items():
        assert (reading.findings, reading.stale, reading.missing, reading.errors) == ([], [], [], []), name


def rounded(data: Any) -> Any:
    """Numbers with 11 digits: programs keep 15 of what was typed."""
    if isinstance(data, dict):
        return {key: rounded(value) for key, value in data.items()}
    if isinstance(data, list):
        return [rounded(value) for value in data]
    return float(f"{data:.11g}") + 0.0 if isinstance(data, float) else data


@pytest.mark.parametrize(
    "which",
    [
        "J-1042-spool-mm.xlsx",
        pytest.param("spool-inch.xlsx", marks=pytest.mark.thorough),
        pytest.param("J-1042-spool-inch.xlsx", marks=pytest.mark.thorough),
        pytest.param("J-1043-spool-inch.xlsx", marks=pytest.mark.thorough),
    ],
)
def test_other_programs_may_save_it(which: str, tmp_path: Path) -> None:
    import openpyxl

    path = make_examples.FOLDER / which
    before = read_workbook(path)
    openpyxl.load_workbook(path).save(tmp_path / "openpyxl.xlsx")
    after = read_workbook(tmp_path / "openpyxl.xlsx")
    assert after.findings == [] and after.as_json(cells=True) == before.as_json(cells=True)
    engines.require_libreoffice()
    again = read_workbook(engines.save_with_libreoffice(path, tmp_path / "office.xlsx"))
    assert (again.findings, again.stale, again.missing, again.errors) == ([], [], [], [])
    assert rounded(again.as_json(cells=True)) == rounded(before.as_json(cells=True))
