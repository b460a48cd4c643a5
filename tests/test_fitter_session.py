"""A fitter's session: the workbook goes out, readings are typed, another program saves it, `read` says what it says.

The session that starts from a job uses the whole workbook as the command builds it; the others leave sheets out that
they do not look at.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import engines
import pytest
from click.testing import CliRunner
from engines import Cell, Typed
from live import WORKBOOK, job_of, some
from oracles import YARD, yard

from workbook_builder.cli import main
from workbook_builder.read import read_workbook

DEMO = YARD.parent.parent / "output_examples" / "mill_creek.toml"

Save = Callable[[Path, Path], Path]


def saved_by_office(path: Path, out: Path) -> Path:
    """The workbook as LibreOffice saves it."""
    engines.require_libreoffice()
    return engines.save_with_libreoffice(path, out)


def saved_by_openpyxl(path: Path, out: Path) -> Path:
    """The workbook as openpyxl saves it: without stored values."""
    import openpyxl

    openpyxl.load_workbook(path).save(out)
    return out


def run(*words: str | Path) -> str:
    """What a command prints; it must end well."""
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    return done.stdout


def told(path: Path) -> dict[str, Any]:
    """What `read --json --cells` prints of a workbook that is as it was built."""
    data: dict[str, Any] = json.loads(run("read", path, "--json", "--cells"))
    return data


def cell(said: Mapping[str, Any], name: str, row: int = 0) -> Cell:
    """Where a value of a name stands."""
    table, _, column = name.partition(".")
    where = said["cells"][table][row][column] if table in said["cells"] else said["cells"][name]
    sheet, _, address = where.rpartition("!")
    return sheet.strip("'"), address


def typed(said: Mapping[str, Any], values: Mapping[tuple[str, int], Typed]) -> dict[Cell, Typed]:
    """Values by cell."""
    return {cell(said, name, row): value for (name, row), value in values.items()}


def quarters(table: str, row: int, *readings: float) -> dict[tuple[str, int], Typed]:
    """Readings at 12, 3, 6 and 9."""
    return {(f"joints.{table}_{at}", row): value for at, value in zip((12, 3, 6, 9), readings, strict=True)}


@pytest.mark.parametrize("save", [saved_by_office, pytest.param(saved_by_openpyxl, marks=pytest.mark.thorough)])
def test_from_the_job_to_a_good_joint(save: Save, tmp_path: Path) -> None:
    """Built from a job, a reading outside, told what to do, corrected, within; the ends in the same way."""
    path = tmp_path / "J-1042.xlsx"
    run("build", WORKBOOK, "--job", DEMO, "--edition", "inch", "--out", path)
    said = told(path)
    assert said["values"]["joints"][1]["verdict"] == "… not yet measured"
    wrong = quarters("gap", 1, 3 / 16, 5 / 32, 1 / 8, 5 / 32) | quarters("hi_lo", 1, 0, 0, 0, 0)
    wrong |= {("ends.square_12_6", 1): 0.0, ("ends.square_3_9", 1): 3 / 64}
    back = save(engines.type_into(path, tmp_path / "typed.xlsx", typed(said, wrong)), tmp_path / "back.xlsx")
    said = told(back)
    joint, end = said["values"]["joints"][1], said["values"]["ends"][1]
    assert (joint["verdict"], joint["gap_tilt"], joint["gap_widest_at"]) == ("✗ outside", 1 / 16, 12)
    assert joint["action"].startswith("12 o'clock wide by 1/16: close 12 by 1/16, leave 6; the pipe's end (Ends)")
    assert (end["verdict"], end["action"]) == ("✗ outside", "Dress the long side at 3 by 3/64.")
    right = quarters("gap", 1, 1 / 8, 1 / 8, 1 / 8, 1 / 8) | {("ends.square_3_9", 1): 0.0}
    again = save(engines.type_into(back, tmp_path / "corrected.xlsx", typed(said, right)), tmp_path / "again.xlsx")
    said = told(again)
    joint, end = said["values"]["joints"][1], said["values"]["ends"][1]
    assert (joint["verdict"], joint["action"]) == ("✓ within", "Within the limits typed on Rules: ready to tack.")
    assert (end["verdict"], end["action"]) == ("✓ within", "Takes 0 % of the gap band.")
    assert (said["values"]["fitup.told"][:3], said["values"]["ends.told"][:3]) == ("1 ✓", "1 ✓")


def test_from_a_blank_workbook_to_a_good_joint(tmp_path: Path) -> None:
    """A copied blank workbook, in mm: a spool typed by hand, its joint measured, corrected, within."""
    path = tmp_path / "blank.xlsx"
    path.write_bytes(some().build(WORKBOOK, None, "mm"))
    said = told(path)
    assert said["values"]["joints"] == []
    spool: dict[tuple[str, int], Typed] = {
        ("spools.mark", 0): "F-1", ("spools.start", 0): "weld_neck_flange", ("spools.flange_class", 0): "150",
        ("legs.spool", 0): "F-1", ("legs.leg", 0): "L1", ("legs.east", 0): 900.0, ("legs.end", 0): "elbow",
        ("legs.size", 0): "6", ("legs.schedule", 0): "STD",
        ("legs.spool", 1): "F-1", ("legs.leg", 1): "L2", ("legs.up", 1): 700.0, ("legs.end", 1): "cap",
        ("legs.size", 1): "6", ("legs.schedule", 1): "STD",
        ("rules.procedure", 0): "WPS-1",
    }  # fmt: skip
    readings = quarters("gap", 1, 3, 3, 3, 3) | quarters("hi_lo", 1, 2.2, 0.4, -1.2, 0.4)
    filled = engines.type_into(path, tmp_path / "filled.xlsx", typed(said, spool | readings))
    back = saved_by_office(filled, tmp_path / "back.xlsx")
    said = told(back)
    assert [row["joint"] for row in said["values"]["joints"]] == ["W1", "W2", "W3", "W4"]
    joint = said["values"]["joints"][1]
    assert (joint["first_part"], joint["second_part"]) == ("F-1-L1", "elbow, long radius")
    assert (joint["verdict"], joint["hi_lo_max"]) == ("✗ outside", 2.2)
    assert joint["action"] == "Move the elbow 1.7 mm towards 12. "
    moved = quarters("hi_lo", 1, 0.5, 0.4, 0.5, 0.4)
    corrected = engines.type_into(back, tmp_path / "moved.xlsx", typed(said, moved))
    again = saved_by_office(corrected, tmp_path / "again.xlsx")
    said = told(again)
    assert said["values"]["joints"][1]["verdict"] == "✓ within"
    assert said["values"]["rules.standing"] == "within the limits typed here, procedure WPS-1"


NAMES = {
    "legs": "spool leg from east north up length turn_start turn_end takeout_start takeout_end",
    "pieces": "spool mark leg size schedule cut_length cut_text mass bevel_face",
    "joints": "spool joint gap_12 gap_3 gap_6 gap_9 gap_mean gap_tilt gap_widest_at gap_uneven hi_lo_12 hi_lo_3 "
    "hi_lo_6 hi_lo_9 hi_lo_max hi_lo_shift hi_lo_shift_at hi_lo_after_shift verdict action",
    "ends": "spool piece end square_12_6 square_1_7 square_3_9 square_4_10 out_of_square long_at waviness verdict "
    "action",
}


@pytest.mark.parametrize("save", [saved_by_office, pytest.param(saved_by_openpyxl, marks=pytest.mark.thorough)])
def test_every_name_is_given_after_saving(save: Save, tmp_path: Path) -> None:
    """Names, values and cells of a filled workbook are the same before another program saved it and after."""
    path = tmp_path / "yard.xlsx"
    path.write_bytes(some().build(WORKBOOK, job_of(yard()), "mm"))
    said = told(path)
    values: dict[tuple[str, int], Typed] = {}
    for row in range(len(said["values"]["joints"])):
        values |= quarters("gap", row, 3, 3.1, 2.9, 3.2 + row / 50) | quarters("hi_lo", row, 0.5, -0.2, row / 30, 0.1)
    for row in range(len(said["values"]["ends"])):
        values |= {(f"ends.square_{at}", row): (row % 7 - 3) / 10 for at in ("12_6", "1_7", "3_9", "4_10")}
    filled = engines.type_into(path, tmp_path / "filled.xlsx", typed(said, values))
    before = read_workbook(filled).as_json(cells=True)
    after = read_workbook(save(filled, tmp_path / "saved.xlsx"))
    assert (after.findings, after.errors) == ([], [])
    for table, names in NAMES.items():
        assert before["values"][table], table
        for row in before["values"][table]:
            assert set(names.split()) <= set(row)
    for table in NAMES:
        for one, other in zip(before["values"][table], after.as_json()["values"][table], strict=True):
            assert set(one) == set(other)
            for name, value in one.items():
                same = pytest.approx(value, rel=1e-12, abs=1e-12) if isinstance(value, float) else value
                assert other[name] == same, (table, name)
    assert {row["verdict"] for row in before["values"]["joints"]} >= {"✓ within", "✗ outside", "– fillet"}
