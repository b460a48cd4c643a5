"""A filled workbook becomes a job file, and that job file the same workbook: nothing typed is lost."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from engines import Typed, package, type_into

from workbook_builder.build import Workshop, workshop
from workbook_builder.cli import main
from workbook_builder.errors import JobError
from workbook_builder.job import Job
from workbook_builder.job_reading import load_schema, parse_job
from workbook_builder.job_schema import Schema
from workbook_builder.read import Reading, read_workbook
from workbook_builder.record import job_file, job_path

EXAMPLES = Path(__file__).resolve().parent.parent / "output_examples"
DEMO = EXAMPLES / "mill_creek.toml"


@pytest.fixture(scope="module")
def made() -> Workshop:
    return workshop()


@pytest.fixture(scope="module")
def schema(made: Workshop) -> Schema:
    return load_schema(made.shelf.folder, made.units)


def shipped(edition: str) -> Path:
    """The demo's workbook, which `test_examples.py` holds against what is built."""
    return EXAMPLES / f"J-1042-spool-{edition}.xlsx"


@cache
def shipped_reading(edition: str) -> Reading:
    """What it says."""
    return read_workbook(shipped(edition))


def job_from(reading: Reading, schema: Schema, made: Workshop) -> Job:
    written = job_file(reading, schema, made)
    assert written.left_out == []
    return parse_job(written.text, reading.file, schema, made.library)


def typed_values(reading: Reading) -> dict[str, list[object]]:
    return {one.name: list(reading.values[one.name]) for one in reading.names if one.typed}


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_the_demo_comes_back_byte_for_byte(edition: str, made: Workshop, schema: Schema) -> None:
    again = job_from(shipped_reading(edition), schema, made)
    assert again.units == edition
    assert package(made.build("spool", again, edition)) == package(shipped(edition).read_bytes())


SHAPE = ("legs", "spools", "details", "more", "outlets", "items", "connections")
"""Tables whose rows are the job's own entries."""


TEXTS = (
    "=1+1", "-x", "H 123", "@a", "12 o'clock", 'say "so"', " a blank before and after ", "two\nlines", "a\ttab",
    "½″ ✓ Ø", "x" * 1400, "\"\n" * 700, " ",
)  # fmt: skip


def random_filling(reading: Reading, seed: int, schema: Schema) -> dict[tuple[str, str], Typed]:
    """Something typed into a third of the cells that readings, notes and records go into."""
    chance = random.Random(seed)
    filling: dict[tuple[str, str], Typed] = {}
    for one in reading.names:
        shape = one.table in SHAPE or one.name.partition(".")[0] in ("rules", "start")
        if not one.typed or shape or "choose" in one.job:
            continue
        for row, column in one.places():
            there = (
                not one.table or reading.values[f"{one.table}.{one.key}"][row - one.row] is not None
                if one.key
                else True
            )
            if not there or chance.random() > 0.3:
                continue
            letters = ""
            at = column + 1
            while at:
                at, rest = divmod(at - 1, 26)
                letters = chr(65 + rest) + letters
            address = (one.tab, f"{letters}{row + 1}")
            path = job_path(one)
            choices = schema.field(path).choices if path in schema.fields else []
            if choices:
                filling[address] = chance.choice(list(choices))
            elif one.unit_kind == "text":
                filling[address] = chance.choice(TEXTS)
            elif one.unit_kind == "date":
                filling[address] = float(chance.randrange(40000, 50000))
            else:
                filling[address] = round(chance.uniform(0, 0.9), chance.choice([0, 1, 3, 6]))
    return filling


@pytest.mark.parametrize(
    ("edition", "seed"), [("mm", 2), *(pytest.param("inch", seed, marks=pytest.mark.thorough) for seed in (1, 3))]
)
def test_random_fillings_come_back(edition: str, seed: int, made: Workshop, schema: Schema, tmp_path: Path) -> None:
    blank = shipped_reading(edition)
    filling = random_filling(blank, seed, schema)
    assert len(filling) > 200
    filled = read_workbook(type_into(shipped(edition), tmp_path / "filled.xlsx", filling))
    again = tmp_path / "again.xlsx"
    again.write_bytes(made.build("spool", job_from(filled, schema, made), edition))
    rebuilt = read_workbook(again)
    assert typed_values(rebuilt) == typed_values(filled)
    assert typed_values(filled) != typed_values(blank)
    assert rebuilt.values == filled.values


def test_a_cleared_default_stays_clear(made: Workshop, schema: Schema, tmp_path: Path) -> None:
    cells = shipped_reading("inch").as_json(cells=True)["cells"]
    tab, _, address = cells["rules.waviness_max"].rpartition("!")
    filled = read_workbook(type_into(shipped("inch"), tmp_path / "cleared.xlsx", {(tab.strip("'"), address): None}))
    assert filled.values["rules.waviness_max"] == [None]
    again = tmp_path / "again.xlsx"
    again.write_bytes(made.build("spool", job_from(filled, schema, made), "inch"))
    assert read_workbook(again).values["rules.waviness_max"] == [None]


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_the_intake_workbook_gives_the_same_bytes_as_the_job_file(edition: str, tmp_path: Path) -> None:
    runner = CliRunner()
    intake, one = (str(tmp_path / name) for name in ("intake.xlsx", "one.xlsx"))
    for arguments in (
        ["build", "intake", "--job", str(DEMO), "--edition", edition, "--out", intake],
        ["build", "spool", "--job", intake, "--edition", "inch", "--out", one],
    ):
        done = runner.invoke(main, arguments)
        assert done.exit_code == 0, done.output
    assert package(Path(one).read_bytes()) == package(shipped("inch").read_bytes())


def test_more_on_a_leg_without_a_name_finds_it_by_its_place(made: Workshop, schema: Schema, tmp_path: Path) -> None:
    text = """schema = 1
job = { name = "N", number = "1", units = "inch" }
[[spool]]
mark = "A"
size = "6"
schedule = "STD"
class = 150
start = "elbow"
leg = [{ east = 30, end = "elbow" }, { north = 40, end = "weld_neck_flange", facing = "FF", gasket = "1/8 in" }]
"""
    intake = tmp_path / "intake.xlsx"
    intake.write_bytes(made.build("intake", parse_job(text, "n", schema, made.library), "inch"))
    blanked: dict[tuple[str, str], Typed] = {}
    for at in read_workbook(intake).as_json(cells=True)["cells"]["intake_legs"]:
        for name in ("name", "from"):
            tab, _, address = at[name].rpartition("!")
            blanked[tab.strip("'"), address] = None
    nameless = read_workbook(type_into(intake, tmp_path / "nameless.xlsx", blanked))
    assert set(nameless.values["intake_legs.name"]) == {None}
    legs = job_from(nameless, schema, made).rows("spool.leg")
    assert [leg.value("spool.leg.facing") for leg in legs] == [None, "FF"]
    assert [leg.value("spool.leg.name") for leg in legs] == ["L1", "L2"]


def test_an_empty_intake_is_told_what_is_missing(tmp_path: Path) -> None:
    runner = CliRunner()
    intake = str(tmp_path / "intake.xlsx")
    assert runner.invoke(main, ["build", "intake", "--out", intake]).exit_code == 0
    done = runner.invoke(main, ["build", "spool", "--job", intake, "--out", str(tmp_path / "x.xlsx")])
    assert done.exit_code == 2
    assert "name is missing" in done.output
    assert not (tmp_path / "x.xlsx").exists()


def test_read_writes_the_job_file(tmp_path: Path) -> None:
    runner = CliRunner()
    book, job, again = str(shipped("inch")), str(tmp_path / "a.toml"), tmp_path / "b.xlsx"
    assert runner.invoke(main, ["read", book, "--job", job]).exit_code == 0
    assert runner.invoke(main, ["build", "spool", "--job", job, "--out", str(again)]).exit_code == 0
    assert package(again.read_bytes()) == package(shipped("inch").read_bytes())


def test_the_workbook_of_tables_gives_no_job(tmp_path: Path) -> None:
    """A workbook that makes no job is refused with a sentence, and nothing is written."""
    runner = CliRunner()
    book, job = str(tmp_path / "tables.xlsx"), tmp_path / "t.toml"
    assert runner.invoke(main, ["build", "tables", "--out", book]).exit_code == 0
    done = runner.invoke(main, ["read", book, "--job", str(job)])
    assert done.exit_code == 2
    assert "tables.xlsx" in done.output and "job" in done.output and "Traceback" not in done.output
    assert not job.exists()


def test_what_a_job_file_cannot_hold_is_named(made: Workshop, schema: Schema, tmp_path: Path) -> None:
    """A word where a number belongs stays behind, by cell; a number beyond its limits travels by its row."""
    cells = shipped_reading("inch").as_json(cells=True)["cells"]["joints"]
    where = [tuple(cells[row]["gap_12"].replace("'", "").split("!")) for row in (0, 1)]
    log = shipped_reading("inch").as_json(cells=True)["cells"]["welds"]
    welder = tuple(log[0]["welder"].replace("'", "").split("!"))
    type_into(shipped("inch"), tmp_path / "filled.xlsx", {where[0]: "see note", where[1]: 7.5, welder: "x" * 1501})
    done = CliRunner().invoke(main, ["read", str(tmp_path / "filled.xlsx"), "--job", str(tmp_path / "f.toml")])
    assert done.exit_code == 1
    assert "(welds.welder): 'xxx" in done.output
    assert "'Fit-up'!" in done.output and "(joints.gap_12): 'see note' is no length" in done.output
    text = (tmp_path / "f.toml").read_text(encoding="utf-8")
    again = parse_job(text, "f.toml", schema, made.library)
    assert again.typed["joints.gap_12"] == {"2": "7.5 in"}


BAD = {
    '[typed]\n"rules.root_gapp" = 1\n': "no typed cell is named 'rules.root_gapp'; did you mean 'rules.root_gap'?",
    '[typed]\n"pocket.offset" = "3 deg"\n': "typed, pocket.offset",
    '[typed]\n"pocket.offset" = [1, 2]\n': None,
    '[[spool.joint]]\njoint = "W99"\ngap_12 = 1\n': "joints have no SP-05 W99",
    '[[spool.piece]]\nmark = "SP-01-L1"\nheat = "1"\n': "pieces have no SP-05 SP-01-L1",
}


@pytest.mark.parametrize("text", BAD)
def test_readings_that_belong_nowhere_are_refused(text: str, made: Workshop, schema: Schema) -> None:
    job = parse_job(DEMO.read_text(encoding="utf-8") + text, "demo", schema, made.library)
    sentence = BAD[text]
    if sentence is None:
        made.build("spool", job, "inch")
        return
    with pytest.raises(JobError) as caught:
        made.build("spool", job, "inch")
    assert sentence in str(caught.value)
