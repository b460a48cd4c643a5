"""The intake workbook: a job described in it is the job described in a file, or one sentence says which cell is wrong.

The oracle is the job file: what a person types into a cell is compared with the same said in TOML, byte for byte or
value by value, and what nobody could say in TOML must be refused by its cell.
"""

from __future__ import annotations

import copy
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
from cell_by_cell import CellByCell, standing
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
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from live import schema
from outlet_jobs import OutletRoutes
from routes_wild import Wild

from workbook_builder.build import workshop
from workbook_builder.cli import main
from workbook_builder.errors import WorkbookError
from workbook_builder.job import Job
from workbook_builder.job_reading import parse_job
from workbook_builder.quantity import By, Quantity
from workbook_builder.read import Json, Named, Reading, read
from workbook_builder.record import gather, job_file, lost

EXAMPLES = Path(__file__).resolve().parent.parent / "output_examples"
WILD = EXAMPLES / "mill_creek_wild.toml"
EDITIONS = ("inch", "mm")

IN_THE_FILLED_WORKBOOK = {
    "spool.end_reading": "readings of an end",
    "spool.joint": "readings of a joint and its line of the weld log; joints are known once the route is computed",
    "spool.dimension": "dimensions as built",
    "spool.flange": "readings of a flange",
    "bore": "joints whose bores were measured",
    "bore.part": "readings of a bore",
    "spool.piece": "a piece as measured and cut; only its seams are set in the office",
    "record": "gauges and levels of the field; only code, P-number and taper are known in the office",
}
"""Tables of a job file that belong to the filled workbook, wholly or but for the keys that the intake has, and why."""
OFFICE = {
    "spool.piece.mark", "spool.piece.seam", "spool.piece.start_seam", "spool.piece.end_seam",
    "record.code_edition", "record.p_number", "record.bore_slope",
}  # fmt: skip
"""Their keys that describe the job all the same."""

JOB = """schema = 1
job = { name = "N", number = "1", units = "inch" }
[[spool]]
mark = "A"
size = "6"
schedule = "STD"
class = 150
start = "weld_neck_flange"
[[spool.leg]]
east = 60
end = "bend"
radius = 20
pulled = true
[[spool.leg]]
north = 70
end = "elbow"
[[spool.leg]]
up = 80
end = "weld_neck_flange"
[[spool]]
mark = "B"
size = "6"
schedule = "STD"
class = 150
start = "elbow"
[[spool.leg]]
east = 40
end = "elbow"
make_up = true
[[spool.leg]]
north = 50
end = "weld_neck_flange"
"""


def job_text(text: str) -> Job:
    return parse_job(text, "job.toml", schema(), workshop().library)


@cache
def wild() -> Job:
    return job_text(WILD.read_text(encoding="utf-8"))


@cache
def intake(text: str, edition: str) -> bytes:
    """An intake workbook filled from a job."""
    return workshop().build("intake", job_text(text), edition)


@cache
def first_reading(text: str) -> Reading:
    return read(intake(text, "inch"), "intake.xlsx")


def typed(values: dict[tuple[str, int], Json], text: str = JOB) -> Reading:
    """The intake of a job with something typed over its cells, by name and row; formulas are left as they were."""
    found = copy.copy(first_reading(text))
    found.values = {name: list(held) for name, held in found.values.items()}
    for (name, at), value in values.items():
        found.values[name][at] = value
    return found


def named(name: str) -> Named:
    return next(one for one in first_reading(JOB).names if one.name == name)


def job_from(reading: Reading) -> Job:
    written = job_file(reading, schema(), workshop())
    assert written.left_out == []
    return job_text(written.text)


def refused(reading: Reading) -> str:
    with pytest.raises(WorkbookError) as caught:
        job_file(reading, schema(), workshop())
    return str(caught.value)


def filled(values: dict[tuple[str, int], Typed], path: Path, text: str = JOB) -> Reading:
    """The same, typed into the file itself: its formulas are computed anew."""
    source = path.with_name("source.xlsx")
    source.write_bytes(intake(text, "inch"))
    cells = first_reading(text).cells()
    where: dict[tuple[str, str], Typed] = {}
    for (name, at), value in values.items():
        table, _, column = name.partition(".")
        tab, _, address = (cells[name] if name in cells else cells[table][at][column]).rpartition("!")
        where[tab.strip("'"), address] = value
    return read(type_into(source, path, where).read_bytes(), "intake.xlsx")


def said(reading: Reading) -> dict[str, dict[int, str]]:
    """What the tables' columns of messages say, by row."""
    return {
        table: told
        for table in reading.tables
        if (told := {at: str(v).strip() for at, v in enumerate(reading.values.get(f"{table}.message", [])) if v})
    }


# -- nothing is lost --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_wild_job_builds_the_same_bytes_either_way(edition: str, tmp_path: Path) -> None:
    """Shipping limits, seams, coordinates and all, through an intake workbook of either edition."""
    runner, book = CliRunner(), str(tmp_path / "intake.xlsx")
    built = []
    for number, arguments in enumerate(
        (
            ["intake", "--job", str(WILD), "--edition", edition],
            ["spool", "--job", book, "--edition", edition],
            ["spool", "--job", str(WILD), "--edition", edition],
        )
    ):
        out = tmp_path / (f"{number}.xlsx" if number else "intake.xlsx")
        done = runner.invoke(main, ["build", *arguments, "--out", str(out)])
        assert (done.exit_code, done.stderr) == (0, "")
        built.append(out.read_bytes())
    assert built[1] == built[2]


def exactly(value: object) -> object:
    """A value for comparing: a quantity by what it measures, however it is written."""
    if isinstance(value, By):
        return "by", exactly(value.quantity)
    return (value.value, value.unit) if isinstance(value, Quantity) else value


def all_said(job: Job) -> dict[tuple[str, str], object]:
    """Every value of a job by its row and key; a false is a blank."""
    return {
        (row.place, f"{path}.{name}"): exactly(value)
        for path in job.schema.groups
        for row in job.rows(path)
        for name, value in row.values.items()
        if value is not False
    }


@pytest.mark.parametrize("units", EDITIONS)
@pytest.mark.parametrize("edition", EDITIONS)
def test_random_jobs_come_through_the_intake(units: str, edition: str) -> None:
    for text in (Wild(7, units).job(12), OutletRoutes(7, units).outlet_job(8)):
        job = job_text(text)
        found = read(workshop().build("intake", job, edition), "intake.xlsx")
        assert said(found) == {}
        assert all_said(job_from(found)) == all_said(job)


def test_every_key_that_describes_a_job_has_a_cell() -> None:
    """A new key of job.toml needs a cell in the intake, or a reason here why not."""
    for edition in EDITIONS:
        book = workshop().lay_out("intake", None, edition)
        held = {path for one in book.fields.values() if (path := getattr(one.declared, "from_job", ""))}
        held |= {path for table in book.tables.values() if table.table for path in table.table.match}
        elsewhere = {
            path for path in schema().fields if path.rpartition(".")[0] in IN_THE_FILLED_WORKBOOK and path not in OFFICE
        }
        assert set(schema().fields) - held - elsewhere == set()
        assert held & elsewhere == set(), "an exception that is none"
        assert held <= set(schema().fields)


def test_what_the_intake_has_no_cell_for_is_said(tmp_path: Path) -> None:
    job, out = tmp_path / "job.toml", tmp_path / "intake.xlsx"
    job.write_text(
        JOB
        + """[[spool.piece]]
mark = "B-L2"
seam = 3
heat = "H1"
as_cut = 40
[[spool.piece]]
mark = "B-L1"
heat = "H2"
[record]
tape = "7"
p_number = "P-1"
""",
        encoding="utf-8",
    )
    done = CliRunner().invoke(main, ["build", "intake", "--job", str(job), "--out", str(out)])
    assert done.exit_code == 0 and out.exists()
    assert done.stderr.splitlines() == [
        "left out: spool B, piece B-L2 and 1 more: heat, as_cut: Job intake has no cell for it",
        "left out: record: tape: Job intake has no cell for it",
    ]


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_few_jobs_say_comes_through_too(edition: str) -> None:
    """Tacks of the shop, code and P-number, shipping limits, seams, a slope and a turn by their own measures."""
    text = (
        JOB.replace("north = 50", 'north = 50\nup = "by 22.5 deg"')
        + """[[tack_practice]]
sizes = "over 2, up to 6"
number = 5
length = "5/8 in"
pull = "1/32 in"
[[shipping]]
place = "galvanising bath"
long = "12500 mm"
mass = "8000 kg"
[record]
code_edition = "B31.3-2014 on"
p_number = "P-5A"
bore_slope = "1 in 3"
[[spool.piece]]
mark = "B-L2"
seam = 1.5
end_seam = 12.75
"""
    )
    job = job_text(text)
    assert lost(workshop().lay_out("intake", job, edition)) == []
    found = read(workshop().build("intake", job, edition), "intake.xlsx")
    assert said(found) == {}
    assert all_said(job_from(found)) == all_said(job)


def test_nothing_of_the_examples_is_left_out() -> None:
    for path in (EXAMPLES / "mill_creek.toml", WILD):
        job = job_text(path.read_text(encoding="utf-8"))
        assert lost(workshop().lay_out("intake", job, "inch")) == [], path.name


def test_units_are_the_jobs_and_not_the_workbooks() -> None:
    """A rounding step is not converted, and plain numbers keep their unit, in an intake of the other edition."""
    text = JOB.replace('units = "inch" }', 'units = "inch" }\nrules = { precision = "1/8 in" }')
    again = job_from(read(workshop().build("intake", job_text(text), "mm"), "intake.xlsx"))
    assert again.units == "inch"
    assert exactly(again.value("rules.precision")) == (Fraction(1, 8), "in")


def test_a_connection_without_a_name_is_kept() -> None:
    text = JOB + '[[connection]]\nfirst = "A"\nfirst_at = "L3"\nsecond = "B"\nsecond_at = "L2"\n'
    assert first_reading(text).values["intake_connections.name"][0] == "C1"
    again = job_from(typed({("intake_connections.name", 0): None}, text))
    assert [row.value("connection.name") for row in again.rows("connection")] == ["C1"]


# -- words of drop-downs ----------------------------------------------------------------------------------------------

YES = ("yes", "Yes", "YES", " yes ", "TRUE", "true", True)
NO = ("no", "No", "NO", "FALSE", "False", False, None)
NEITHER = ("ja", "y", "1", 1, 0, "yes!", "oui", "nope", "wahr", "#N/A")
TRUE_CELLS = {("intake_leg_more.pulled", 0): "spool.leg.pulled", ("intake_legs.make_up", 3): "spool.leg.make_up"}


@pytest.mark.parametrize("word", YES)
def test_a_yes_is_a_yes_in_any_spelling(word: Json, tmp_path: Path) -> None:
    again = job_from(typed(dict.fromkeys(TRUE_CELLS, word)))
    assert all_said(again) == all_said(job_text(JOB))
    assert said(filled(dict.fromkeys(TRUE_CELLS, word), tmp_path / "typed.xlsx")) == {} or word == " yes "


def test_blanks_before_and_after_a_word_do_not_matter() -> None:
    """Of the intake's cells the words count, as in a job file."""
    before = first_reading(JOB)
    cells = [("intake_legs.end", at) for at, value in enumerate(before.values["intake_legs.end"]) if value]
    cells += [(name, 0) for name, held in before.values.items() if name.startswith("intake_job.") and held == ["inch"]]
    assert len(cells) > 2
    spaced = typed({(name, at): f" {before.values[name][at]}  " for name, at in cells})
    assert all_said(job_from(spaced)) == all_said(job_text(JOB))


@pytest.mark.parametrize("word", NO)
def test_a_no_is_a_no_in_any_spelling(word: Json, tmp_path: Path) -> None:
    """Also on a leg where a yes would have no meaning."""
    values = {**dict.fromkeys(TRUE_CELLS, word), ("intake_leg_more.pulled", 1): word}
    text = JOB.replace("pulled = true", 'tangent = "4 in"').replace("make_up = true", "make_up = false")
    values[("intake_leg_more.tangent", 0)] = "4 in"
    assert all_said(job_from(typed(values))) == all_said(job_text(text))
    assert said(filled(values, tmp_path / "typed.xlsx")) == {}


@pytest.mark.parametrize("word", NEITHER)
@pytest.mark.parametrize("cell", TRUE_CELLS)
def test_a_word_that_is_neither_is_refused_by_its_cell(cell: tuple[str, int], word: Json) -> None:
    one = named(cell[0])
    sentence = refused(typed({cell: word}))
    assert sentence.startswith("intake.xlsx: ")
    assert one.tab in sentence and f"{one.row + cell[1] + 1} ({one.label})" in sentence
    assert "is neither yes nor no" in sentence and "allowed: yes, no" in sentence
    assert str(word) in sentence


def test_the_sheet_says_it_too(tmp_path: Path) -> None:
    told = said(filled({("intake_leg_more.pulled", 0): "ja", ("intake_legs.make_up", 3): "oui"}, tmp_path / "t.xlsx"))
    assert told["intake_leg_more"][0] == "Pulled: ✗ neither yes nor no."
    assert told["intake_legs"][3] == "Make up: ✗ neither yes nor no."


def test_the_command_refuses_with_2_and_writes_nothing(tmp_path: Path) -> None:
    filled({("intake_leg_more.pulled", 0): "yess"}, tmp_path / "typed.xlsx")
    out = tmp_path / "out.xlsx"
    done = CliRunner().invoke(main, ["build", "spool", "--job", str(tmp_path / "typed.xlsx"), "--out", str(out)])
    assert done.exit_code == 2
    assert "'More on legs'!" in done.stderr and "did you mean 'yes'? allowed: yes, no" in done.stderr
    assert not out.exists()


def test_every_cell_with_choices_refuses_what_is_not_in_its_list(tmp_path: Path) -> None:
    """In the sheet and when it is built; every column, on its first row and beside whatever that row says."""
    text = WILD.read_text(encoding="utf-8")
    reading = first_reading(text)
    book = workshop().lay_out("intake", wild(), "inch")
    columns = [
        one for one in reading.names if one.typed and bool(getattr(book.fields[one.name].declared, "choices", None))
    ]
    assert len(columns) > 40
    values: dict[tuple[str, int], Json] = {(one.name, 0): "zzz" for one in columns}
    found = gather(typed(values, text), schema(), workshop().units, workshop().library, strict=True)
    places = [wrong.place for wrong in found.wrong]
    for one in columns:
        assert any(place.endswith(f"{one.row + 1} ({one.label})") and one.tab in place for place in places), one.name
    assert all("'zzz'" in str(wrong) and "allowed: " in str(wrong) for wrong in found.wrong)
    sheet = filled(dict(values), tmp_path / "typed.xlsx", text)
    for one in columns:
        told = sheet.values[f"{one.table}.message" if one.table else f"{one.name}_check"][0]
        words = (f"{one.label}: not in the list", f"{one.label}: ✗ neither yes nor no")
        assert any(each in str(told) for each in words), one.name


def test_a_number_that_is_a_word_of_the_list_is_taken(tmp_path: Path) -> None:
    """Some programs make a number of a class, a size or a schedule that was typed."""
    values: dict[tuple[str, int], Typed] = {
        ("intake_spools.flange_class", 0): 150.0, ("intake_spools.size", 0): 6.0, ("intake_spools.schedule", 0): 40.0
    }  # fmt: skip
    values |= {("intake_legs.schedule", at): 40.0 for at in range(3)}
    found = filled(values, tmp_path / "typed.xlsx")
    assert said(found) == {}
    assert all_said(job_from(found)) == all_said(job_text(JOB.replace('schedule = "STD"', 'schedule = "40"', 1)))


def test_a_length_that_is_none_is_called_so() -> None:
    sentence = refused(typed({("intake_leg_more.radius", 0): "twenty"}))
    assert "'More on legs'!" in sentence and "(Radius): 'twenty' is not a length" in sentence
    assert "missing" not in sentence


def test_a_rule_that_is_wrong_is_refused() -> None:
    assert "Job!" in (sentence := refused(typed({("intake_job.rule_root_gap", 0): "an eighth"})))
    assert "(Root gap): 'an eighth' is not a length" in sentence


def test_what_only_the_whole_job_tells_names_its_cell_too() -> None:
    """An end that needs a class, a schedule that the size has not: the job's own rules, by cell."""
    wrong: dict[tuple[str, int], Json] = {("intake_legs.schedule", 1): "10"}
    one = named("intake_legs.schedule")
    sentence = refused(typed({("intake_legs.size", 1): "3/4", **wrong}))
    assert f"{one.tab}!" in sentence and "(spool A, leg L2, " in sentence


# -- rows that belong to nothing --------------------------------------------------------------------------------------

STRAYS = {
    "intake_spools": ("size", "6", "Mark"),
    "intake_legs": ("end", "elbow", "Spool"),
    "intake_outlets": ("at", "1 ft", "Spool"),
    "intake_items": ("length", "9 in", "Spool"),
    "intake_seams": ("seam", "3", "Spool"),
}


@pytest.mark.parametrize("table", STRAYS)
def test_a_row_without_its_parent_is_refused(table: str, tmp_path: Path) -> None:
    column, value, key = STRAYS[table]
    at = 8
    found = filled({(f"{table}.{column}", at): value}, tmp_path / "typed.xlsx")
    one = named(f"{table}.{column}")
    sentence = refused(found)
    assert f"{one.tab}!" in sentence and f"{one.row + at + 1} ({one.label}): '{value}'" in sentence
    assert f"{one.row + at + 1} ({key}), or clear the row" in sentence
    assert said(found)[table][at] == f"✗ The row says no {key.lower()}."


def test_more_on_a_leg_that_is_not_there_is_refused() -> None:
    sentence = refused(typed({("intake_leg_more.radius", 9): "9 in"}))
    assert "'More on legs'!" in sentence and "clear the row" in sentence


def test_a_parent_that_is_not_there_is_refused() -> None:
    leg: dict[tuple[str, int], Json] = {("intake_legs.end", 5): "cap", ("intake_legs.east", 5): "1 ft"}
    sentence = refused(typed({("intake_legs.spool", 5): "C", **leg}))
    assert "(Spool): there is no spool 'C'" in sentence
    item = {"spool": "A", "leg": "L9", "item": "x", "length": "9 in", "at": "20 in", "ends": "butt"}
    sentence = refused(typed({(f"intake_items.{name}", 0): value for name, value in item.items()}))
    assert "(Leg): there is no leg 'L9'" in sentence


# -- legs without names -----------------------------------------------------------------------------------------------


def unnamed(text: str = JOB) -> dict[tuple[str, int], Typed]:
    """No leg has a name, and none says where it starts."""
    return {(f"intake_legs.{name}", at): None for name in ("name", "from") for at in range(5)}


def test_a_leg_may_start_from_one_that_has_no_name(tmp_path: Path) -> None:
    values = unnamed() | {("intake_legs.from", 2): "L2"}
    found = filled(values, tmp_path / "typed.xlsx")
    assert said(found) == {}
    assert all_said(job_from(found)) == all_said(job_text(JOB))
    values[("intake_legs.from", 2)] = "L3"
    found = filled(values, tmp_path / "typed.xlsx")
    assert said(found) == {"intake_legs": {2: "It starts from neither a leg above it nor an outlet."}}
    refused(found)


def test_items_and_outlets_find_a_leg_that_has_no_name(tmp_path: Path) -> None:
    item = {"spool": "A", "leg": "L1", "item": "x", "length": "9 in", "at": "20 in", "ends": "butt"}
    item |= {"spool": "B", "leg": "L2"}
    outlet = {"spool": "A", "name": "B1", "on": "L3", "at": "20 in", "kind": "stub_on", "size": "2", "schedule": "40",
              "towards": "east"}  # fmt: skip
    values = unnamed() | {(f"intake_items.{name}", 0): value for name, value in item.items()}
    values |= {(f"intake_outlets.{name}", 0): value for name, value in outlet.items()}
    found = filled(values, tmp_path / "typed.xlsx")
    assert said(found) == {}
    again = job_from(found)
    assert [row.value("spool.leg.name") for row in again.rows("spool.leg.inline")] == ["L2"]
    assert [row.value("spool.outlet.on") for row in again.rows("spool.outlet")] == ["L3"]


def test_a_name_that_is_another_legs_default_is_taken(tmp_path: Path) -> None:
    values = unnamed() | {("intake_legs.name", 3): "L2", ("intake_legs.make_up", 3): None}
    found = filled(values, tmp_path / "typed.xlsx")
    assert said(found)["intake_legs"][4] == "Two legs of the spool have this name."
    assert "'L2' is already taken" in refused(found)


def test_legs_of_a_spool_may_stand_apart(tmp_path: Path) -> None:
    """A leg added at the end of the list, below another spool's: its default name goes by its place in its spool."""
    more = {"spool": "A", "from": "L2", "east": "3 ft", "end": "bend"}
    values = unnamed() | {(f"intake_legs.{name}", 5): value for name, value in more.items()}
    values |= {("intake_leg_more.radius", 5): "12 in", ("intake_legs.end", 1): "tee", ("intake_legs.from", 2): "L2"}
    found = filled(values, tmp_path / "typed.xlsx")
    assert found.values["intake_leg_more.name"][:6] == ["L1", "L2", "L3", "L1", "L2", "L4"]
    written = job_file(found, schema(), workshop()).text if "missing" in str(found.errors) else None
    assert written is None
    gathered = gather(found, schema(), workshop().units, workshop().library, strict=True)
    assert gathered.wrong == []
    legs = gathered.document["spool"][0]["leg"]
    assert [leg.get("radius") for leg in legs] == ["20 in", None, None, "12 in"]


def test_a_leg_by_coordinates_is_not_asked_for_east(tmp_path: Path) -> None:
    bare: dict[tuple[str, int], Typed] = {(f"intake_legs.{name}", 0): None for name in ("east", "north", "up")}
    for name, value in (("to_east", "60 in"), ("run", "60 in"), ("close_to", "start")):
        found = filled(bare | {(f"intake_leg_more.{name}", 0): value}, tmp_path / "typed.xlsx")
        assert said(found) == {}, name
    assert "Give east, north or up" in said(filled(bare, tmp_path / "typed.xlsx"))["intake_legs"][0]


# -- any words at all -------------------------------------------------------------------------------------------------

WORDS: st.SearchStrategy[Json] = st.one_of(
    st.sampled_from(["", *map(str, YES), *map(str, NO), *map(str, NEITHER), "elbow", "L1", "A", "3 ft", "by 45 deg"]),
    st.text(max_size=12), st.booleans(), st.floats(allow_nan=False, allow_infinity=False), st.integers(-99, 9999),
    st.none(),
)  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_whatever_is_typed_is_in_the_job_or_refused(data: st.DataObject) -> None:
    """A cell that is filled is a value of the job, says no, or the workbook is refused: nothing vanishes."""
    columns = [one for one in first_reading(JOB).names if one.typed and one.job]
    values: dict[tuple[str, int], Json] = {}
    for _ in range(data.draw(st.integers(1, 3))):
        one = data.draw(st.sampled_from(columns))
        value = data.draw(WORDS)
        values[one.name, data.draw(st.integers(0, one.rows - 1))] = None if value == "" else value
    reading = typed(values)
    try:
        job = job_from(reading)
    except WorkbookError as wrong:
        assert str(wrong).startswith("intake.xlsx: ")
        return
    paths = {one.name: one.job.partition(" ")[0] for one in columns}
    there = {path for _, path in all_said(job)}
    for (name, _), value in values.items():
        no = value is False or str(value).strip().casefold() in ("no", "false")
        assert value is None or no or paths[name] in there, name


# -- engines ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def slips(tmp_path: Path) -> tuple[Path, Path]:
    """The intake workbook of a job, and the same with words in it that mean nothing."""
    values: dict[tuple[str, int], Typed] = unnamed() | {
        ("intake_legs.from", 2): "L2", ("intake_legs.make_up", 0): True, ("intake_legs.make_up", 1): "FALSE",
        ("intake_legs.make_up", 2): "ja", ("intake_legs.east", 3): None, ("intake_leg_more.run", 3): "5 ft",
        ("intake_leg_more.pulled", 2): "YES", ("intake_leg_more.pulled", 3): "oui", ("intake_legs.end", 8): "elbow",
        ("intake_spools.flange_class", 0): 150.0, ("intake_spools.size", 0): 6.0, ("intake_spools.schedule", 0): 40.0,
        ("intake_spools.size", 7): "6", ("intake_seams.spool", 0): "Z", ("intake_seams.seam", 1): "3",
        ("intake_job.rule_tolerance_by", 0): "zzz",
    }  # fmt: skip
    path = tmp_path / "typed.xlsx"
    filled(values, path)
    return tmp_path / "source.xlsx", path


def test_the_sheets_say_the_same_in_libreoffice(slips: tuple[Path, Path], tmp_path: Path) -> None:
    require_libreoffice()
    recomputed = recompute_with_libreoffice(slips, tmp_path / "again", seconds=250)
    fresh, _ = slips
    for each in slips:
        cells = formula_cells(each)
        ours = cached_values(each) if each == fresh else recompute_with_formualizer(each)
        ours = {cell: ours.get(cell) for cell in cells}
        assert error_values(ours) == {}
        assert differences(ours, recomputed[each]) == []


def test_the_sheets_say_the_same_in_the_formulas_package(slips: tuple[Path, Path]) -> None:
    fresh, typed = slips
    for each, typed_into in ((fresh, None), (typed, standing(typed))):
        asked = CellByCell(each, typed_into)
        ours = {cell: asked.given[cell] for cell in asked.formulas}
        assert len(ours) > 300
        assert error_values(ours) == {}
        assert differences(ours, asked.recompute(list(ours))) == []
