"""A job with facings, gaskets, valves by type, connections and seams: LibreOffice agrees on it, and it comes back."""

# ruff: noqa: E501  (a job file's lines)

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from engines import (
    Typed,
    cached_values,
    differences,
    error_values,
    formula_cells,
    recompute_with_formualizer,
    recompute_with_libreoffice,
    require_libreoffice,
    type_into,
)
from live import job_of, schema, some

from workbook_builder.book import column_letters
from workbook_builder.build import workshop
from workbook_builder.cli import main
from workbook_builder.job_reading import parse_job
from workbook_builder.read import read_workbook
from workbook_builder.record import job_file

EDITIONS = ("inch", pytest.param("mm", marks=pytest.mark.thorough))
JOB = """schema = 1
job = { name = "Joined", number = "T-9", units = "inch" }
rules = { seam_offset_min = "1 1/2 in", root_gap = "1/8 in" }

[[spool]]
mark = "A"
size = "6"
schedule = "STD"
class = 300
facing = "RTJ"
start = "weld_neck_flange"
start_facing = "FF"
start_gasket = "1/8 in"
outlet = [{ name = "B1", on = "L2", at = "24 in", kind = "stub_on", size = "2", schedule = "STD", clock = 3 }]
leg = [
    { east = 120, end = "weld", inline = [
        { item = "gate valve", valve = "gate", at = "50 in", ends = "flanged", flange = "weld_neck_flange", mass = "300 lb" },
        { item = "check", valve = "swing check", at = "95 in", ends = "flanged", flange = "weld_neck_flange", facing = "RF", length = "18 in" },
    ] },
    { east = 48, end = "elbow" },
    { up = 60, end = "weld_neck_flange", gasket = "3/16 in" },
]
[[spool.piece]]
mark = "A-L1-3"
seam = 1.5
[[spool.piece]]
mark = "A-L2"
seam = 2
end_seam = 6

[[spool]]
mark = "B"
size = "6"
schedule = "STD"
class = 300
start = "weld_neck_flange"
start_facing = "RTJ"
leg = [{ up = 40, end = "bevel", field_gap = "half" }]

[[spool]]
mark = "C"
size = "6"
schedule = "STD"
class = 150
start = "bevel"
start_field_gap = "half"
leg = [{ up = 40, end = "slip_on_flange" }]

[[spool]]
mark = "D"
size = "4"
schedule = "STD"
class = 150
start = "slip_on_flange"
leg = [{ up = 40, end = "plain" }]

[[connection]]
first = "A"
first_at = "L3"
second = "B"
second_at = "start"

[[connection]]
name = "tie-in"
first = "B"
first_at = "L1"
second = "C"
second_at = "start"

[[connection]]
first = "C"
first_at = "L1"
second = "D"
second_at = "start"
gasket = "flat sheet 1/8"
"""
TABLES = ("connections", "seams", "more", "items")


@cache
def content(edition: str) -> bytes:
    return workshop().build("spool", job_of(JOB), edition)


SHEETS = (
    "rules",
    "spools",
    "route",
    "details",
    "leg_more",
    "outlets",
    "items",
    "cutlist",
    "cut_steps",
    "ends",
    "fitup",
)
JOINING = (*SHEETS, "connections", "bolting", "seams", "parts", "material", "key", "tables_used")
"""What these sheets rest on, and what rests on them."""


def fillings(path: Path, folder: Path) -> list[Path]:
    """The workbook with something typed, sensible and not, into the cells of these sheets."""
    reading, made = read_workbook(path), list[Path]()
    for seed, share in ((1, 0.3), (2, 0.8)):
        chance, typed = random.Random(seed), dict[tuple[str, str], Typed]()
        for one in reading.names:
            if not one.typed or one.table not in TABLES:
                continue
            for row, column in one.places():
                if chance.random() > share:
                    continue
                words: list[Typed] = ["A", "B", "L1", "start", "RTJ", "gate", "flanged", "butt", "300", "zz"]
                numbers: list[Typed] = [0.0, 0.125, 1.5, 12.5, -1.0, 1e9, 30.0]
                typed[one.tab, f"{column_letters(column)}{row + 1}"] = chance.choice(
                    words if one.unit_kind == "text" else numbers
                )
        made.append(type_into(path, folder / f"typed-{seed}.xlsx", typed))
    return made


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_formula_cell_agrees_with_libreoffice(edition: str, tmp_path: Path) -> None:
    require_libreoffice()
    job = tmp_path / "job.xlsx"
    job.write_bytes(some(JOINING).build("spool", job_of(JOB), edition))
    paths = [job, *fillings(job, tmp_path)]
    recomputed = recompute_with_libreoffice(paths, tmp_path / "again", seconds=600)
    for path in paths:
        cells = formula_cells(path)
        ours = cached_values(path) if path == job else recompute_with_formualizer(path)
        ours = {cell: ours.get(cell) for cell in cells}
        assert error_values(ours) == {}, path.name
        assert differences(ours, recomputed[path]) == [], path.name


@pytest.mark.thorough
@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_the_workbook_comes_back_byte_for_byte(edition: str, tmp_path: Path) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(content(edition))
    text = job_file(read_workbook(path), schema(), workshop()).text
    again = parse_job(text, "again.toml", schema(), workshop().library)
    assert workshop().build("spool", again, edition) == path.read_bytes()
    for word in ("connection", "start_gasket", "facing", "valve", "seam"):
        assert word in text


def test_the_intake_workbook_gives_the_same_bytes_as_the_job_file(tmp_path: Path) -> None:
    """Connections, facings, valves and seams are all part of the intake."""
    runner, job = CliRunner(), tmp_path / "job.toml"
    job.write_text(JOB, encoding="utf-8")
    intake, one, two = (str(tmp_path / name) for name in ("intake.xlsx", "one.xlsx", "two.xlsx"))
    for arguments in (
        ["build", "intake", "--job", str(job), "--out", intake],
        ["build", "spool", "--job", intake, "--edition", "inch", "--out", one],
        ["build", "spool", "--job", str(job), "--edition", "inch", "--out", two],
    ):
        done = runner.invoke(main, arguments)
        assert done.exit_code == 0, done.output
        assert "left out" not in done.output
    assert Path(one).read_bytes() == Path(two).read_bytes()


def test_start_counts_what_does_not_fit() -> None:
    reading = workshop().compute("spool", job_of(JOB), "inch")[1].values
    assert reading["start.connections_wrong"] == [1]
    assert [each for each in reading["connections.stops"] if each] == [
        'Size 6 against size 4. Bolt circle 9-1/2" against 7-1/2". '
    ]
    assert reading["start.seams"] == ["✗: 1 ✓, 2 ✗, 0 …"]
