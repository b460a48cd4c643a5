"""The command line: what it prints, its exit codes, and that it never leaves half a file behind.

Most tests put a bakery's templates in the place of those that ship; the rest runs the program itself.
"""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import stat
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import engines
import pytest
from click.testing import CliRunner, Result

from workbook_builder import build as build_module
from workbook_builder import cli, job_reading, quantity, tables, template
from workbook_builder.errors import InputError
from workbook_builder.read import read_workbook
from workbook_builder.shipped import TABLES, TEMPLATES

ROOT = Path(__file__).parent.parent
BAKERY = Path(__file__).parent / "bakery"
SECONDS_FOR_LIST = 0.5

SCHEMA = """
schema = 1
job_schema = 1
units = "bakery.units"

[[group]]
path = "bakery"
label = "bakery"
about = "What the bakery is called, and its units."
required = true
field = [
    { name = "name", about = "what it is called" },
    { name = "units", about = "unit of plain numbers", required = true, choices = ["inch", "mm"] },
    { name = "loaves", about = "how many", unit = "number" },
]

[[group]]
path = "job"
label = "job"
about = "Its number."
field = [{ name = "number", about = "job number", digits = true }]

[[group]]
path = "oven"
label = "oven"
about = "An oven."
many = true
key = "mark"
field = [{ name = "mark", about = "its mark", required = true }]

[[group]]
path = "oven.tray"
label = "tray"
about = "A tray."
many = true
key = "name"
field = [
    { name = "name", about = "its name", required = true },
    { name = "long", about = "long side", unit = "length" },
    { name = "form", about = "form", choices = ["round", "square"] },
    { name = "grain", about = "grain" },
    { name = "grade", about = "grade" },
]
"""

JOB = """
schema = 1
[bakery]
name = "Corner"
units = "mm"
loaves = 30
[job]
number = "B 7/1"
[[oven]]
mark = "O1"
[[oven.tray]]
name = "=T1"
long = "400 mm"
form = "round"
"""


@pytest.fixture
def bakery(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The bakery's data in the place of those that ship, and a folder of one's own to work in."""
    data, work = tmp_path / "data", tmp_path / "work"
    shutil.copytree(BAKERY / "templates", data / TEMPLATES)
    shutil.copytree(BAKERY / "tables", data / TABLES)
    for other in (data / TEMPLATES / "workbooks").glob("*.toml"):
        if other.stem != "bakery":
            other.unlink()
    (data / TEMPLATES / "job.toml").write_text(SCHEMA, encoding="utf-8")
    work.mkdir()
    (work / "job.toml").write_text(JOB, encoding="utf-8")
    for module in (template, tables, job_reading, quantity):
        monkeypatch.setattr(module, "home", data.joinpath)
    monkeypatch.chdir(work)
    build_module.workshop.cache_clear()
    yield work
    build_module.workshop.cache_clear()


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(cli.main, [str(word) for word in words])


def refused(result: Result) -> str:
    """The one sentence of a refused input."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1 and lines[0].startswith("Error: ")
    return lines[0].removeprefix("Error: ")


def program(*words: str | Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """Run the program as a process of its own."""
    command = [sys.executable, "-m", "workbook_builder", *map(str, words)]
    where = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    return subprocess.run(command, capture_output=True, check=False, env=where)


# -- list --------------------------------------------------------------------------------------------------------------


def test_list_shows_each_workbook_and_sheet_on_one_line(bakery: Path) -> None:
    result = run("list")
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0] == "Workbooks:" and lines[1].startswith("  bakery       Dough, trays and ovens")
    assert lines[2] == "Sheets:" and [line.split()[0] for line in lines[3:]] == sorted(template.Shelf().names("sheets"))
    assert lines[3] == "  dough        How much dough a day's bread wants."


def test_what_ships_has_a_purpose() -> None:
    shelf = template.Shelf()
    for kind in ("workbooks", "sheets"):
        heads = shelf.heads(kind)
        assert heads, f"no {kind} ship"
        assert [name for name, head in heads.items() if not head.get("purpose")] == []


def test_heads_are_what_the_whole_template_says() -> None:
    shelf = template.Shelf()
    for name, head in shelf.heads("sheets").items():
        whole = shelf.sheet(name)
        assert (head["title"], head.get("purpose", "")) == (whole.title, whole.purpose)


def test_list_answers_at_once() -> None:
    taken = []
    for _ in range(5):
        started = time.perf_counter()
        assert program("list").returncode == 0
        taken.append(time.perf_counter() - started)
    assert min(taken) < SECONDS_FOR_LIST


def test_list_imports_nothing_heavy() -> None:
    said = (
        "import sys; from workbook_builder.cli import main; main(['list'], standalone_mode=False); "
        "print(sorted({'pint', 'openpyxl', 'formualizer', 'formulas', 'xlsxwriter', 'numpy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", said], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.splitlines()[-1] == "[]"


# -- build -------------------------------------------------------------------------------------------------------------


def test_build_prints_the_path_of_what_it_wrote(bakery: Path) -> None:
    result = run("build", "bakery")
    assert (result.exit_code, result.stdout, result.stderr) == (0, "bakery-inch.xlsx\n", "")
    assert read_workbook("bakery-inch.xlsx").edition == "inch"
    assert run("build", "bakery", "--edition", "mm").stdout == "bakery-mm.xlsx\n"
    assert sorted(os.listdir()) == ["bakery-inch.xlsx", "bakery-mm.xlsx", "job.toml"]


def test_build_from_a_job(bakery: Path) -> None:
    result = run("build", "bakery", "--job", "job.toml")
    assert (result.exit_code, result.stdout) == (0, "B_7_1-bakery-mm.xlsx\n"), result.stderr
    reading = read_workbook("B_7_1-bakery-mm.xlsx")
    assert reading.rows("trays")[0]["tray"] == "=T1" and reading.values["dough.loaves"] == [30]
    assert run("build", "bakery", "--job", "job.toml", "--edition", "inch").stdout == "B_7_1-bakery-inch.xlsx\n"
    assert read_workbook("B_7_1-bakery-inch.xlsx").values["trays.long_side"][0] == pytest.approx(400 / 25.4)


@pytest.mark.parametrize(
    ("number", "start"),
    [
        ("J-1042", "J-1042-"),
        ("../../etc/passwd", "etc_passwd-"),
        ("-rf", "rf-"),
        ("a:b*c?d|e<f>", "a_b_c_d_e_f-"),
        ("Größe 7", "Größe_7-"),
        ("...", ""),
        ("x" * 60, "x" * 60 + "-"),
    ],
)
def test_a_job_number_becomes_a_safe_file_name(number: str, start: str, bakery: Path) -> None:
    Path("job.toml").write_text(JOB.replace("B 7/1", number), encoding="utf-8")
    made = job_reading.read("job.toml", job_reading.load_schema(), tables.load())
    assert cli.prefix(made) == start
    assert "/" not in cli.prefix(made)


def test_build_to_a_chosen_file(bakery: Path) -> None:
    Path("out").mkdir()
    result = run("build", "bakery", "--out", "out/mine.XLSX")
    assert (result.exit_code, result.stdout) == (0, "out/mine.XLSX\n")
    assert os.listdir("out") == ["mine.XLSX"]


@pytest.mark.parametrize(
    ("out", "said"),
    [
        ("nowhere/x.xlsx", "nowhere/x.xlsx: its folder does not exist; make the folder first"),
        ("x.xls", "x.xls: is no name for a workbook; the name must end in .xlsx"),
        ("x", "x: is no name for a workbook; the name must end in .xlsx"),
        ("", "is no name for a workbook; the name must end in .xlsx"),
        (".xlsx", ".xlsx: is no name for a workbook; the name must end in .xlsx"),
        ("job.toml/x.xlsx", "job.toml/x.xlsx: its folder is no folder; name a folder that exists"),
        ("folder.xlsx", "folder.xlsx: is there already, and is no file; choose another name"),
        ("n" * 300 + ".xlsx", "cannot be written: File name too long"),
    ],
)
def test_a_file_that_cannot_be_written_is_refused_first(
    out: str, said: str, bakery: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Path("folder.xlsx").mkdir()
    with monkeypatch.context() as patched:
        patched.setattr(build_module, "workshop", pytest.fail)
        assert said in refused(run("build", "bakery", "--out", out))
    assert sorted(os.listdir()) == ["folder.xlsx", "job.toml"]


def test_an_existing_file_is_replaced_only_on_success(bakery: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = Path("bakery-inch.xlsx")
    out.write_text("mine")
    out.chmod(0o640)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", full)
        assert refused(run("build", "bakery")) == "bakery-inch.xlsx: cannot be written: No space left on device"
    assert out.read_text() == "mine" and sorted(os.listdir()) == ["bakery-inch.xlsx", "job.toml"]
    assert run("build", "bakery").exit_code == 0
    assert out.read_bytes().startswith(b"PK") and stat.S_IMODE(out.stat().st_mode) == 0o640
    assert sorted(os.listdir()) == ["bakery-inch.xlsx", "job.toml"]


def test_a_failing_build_leaves_everything_as_it_was(bakery: Path) -> None:
    out = Path("bakery-inch.xlsx")
    out.write_text("mine")
    sheet = bakery.parent / "data" / "templates" / "sheets" / "dough.toml"
    sheet.write_text(
        sheet.read_text(encoding="utf-8").replace("loaf_mass * loaves", "loaf_mass + loaves"), encoding="utf-8"
    )
    assert "dough.toml" in refused(run("build", "bakery"))
    assert out.read_text() == "mine" and sorted(os.listdir()) == ["bakery-inch.xlsx", "job.toml"]


def test_an_interrupted_write_leaves_nothing(bakery: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", interrupt)
    assert run("build", "bakery").exit_code == 1
    assert os.listdir() == ["job.toml"]


def test_new_files_have_the_usual_permissions(bakery: Path) -> None:
    before = os.umask(0o027)
    try:
        run("build", "bakery")
    finally:
        os.umask(before)
    assert stat.S_IMODE(Path("bakery-inch.xlsx").stat().st_mode) == 0o640


def test_a_link_stays_a_link(bakery: Path) -> None:
    Path("real.xlsx").write_text("mine")
    Path("link.xlsx").symlink_to("real.xlsx")
    assert run("build", "bakery", "--out", "link.xlsx").exit_code == 0
    assert Path("link.xlsx").is_symlink() and Path("real.xlsx").read_bytes().startswith(b"PK")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["build", "bakry"], "there is no workbook 'bakry'; did you mean 'bakery'?"),
        (["build", "dough"], "there is no workbook 'dough'; allowed workbooks: bakery"),
        (["build", "../bakery"], "there is no workbook '../bakery'"),
        (["build", "bakery", "--job", "no.toml"], "no.toml: there is no such file"),
        (["build", "bakery", "--job", "."], ".: is a folder"),
        (["bild", "bakery"], "there is no command 'bild'; did you mean 'build'?"),
        (["read", "no.xlsx"], "no.xlsx: there is no such file"),
        (["read", "job.toml"], "job.toml: is damaged, or no .xlsx workbook"),
        (["tables", "flower"], "there is no table 'flower'; did you mean 'flour'?"),
        (["tables", "flour", "--size", "6"], "table 'flour' has no sizes"),
        (["tables", "--size", "6"], "no table has sizes"),
    ],
)
def test_bad_input_gets_one_sentence_and_exit_2(words: list[str], said: str, bakery: Path) -> None:
    assert said in refused(run(*words))
    assert os.listdir() == ["job.toml"]


def test_a_bad_job_gets_one_sentence(bakery: Path) -> None:
    Path("bad.toml").write_text(JOB.replace("400 mm", "400 lb"), encoding="utf-8")
    sentence = refused(run("build", "bakery", "--job", "bad.toml"))
    assert sentence.startswith("bad.toml: oven O1, tray =T1, long: ") and "400 lb" in sentence
    assert sorted(os.listdir()) == ["bad.toml", "job.toml"]


WRONG_USAGE = [
    ["build"],
    ["build", "bakery", "--edition", "cm"],
    ["read"],
    ["read", "x.xlsx", "--cells"],
    ["list", "x"],
]


@pytest.mark.parametrize("words", [*WRONG_USAGE, ["tables", "--no"]])
def test_wrong_usage_exits_2(words: list[str], bakery: Path) -> None:
    result = run(*words)
    assert result.exit_code == 2 and "Usage: " in result.stderr and "Error: " in result.stderr


def test_a_long_build_shows_how_far_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    class Screen(io.StringIO):
        def isatty(self) -> bool:
            return True

    def shown(patience: float, screen: io.StringIO) -> str:
        monkeypatch.setattr(cli, "PATIENCE", patience)
        monkeypatch.setattr(sys, "stderr", screen)
        with cli.progress(3, "bakery") as step:
            for _ in range(3):
                step()
        return screen.getvalue()

    assert "100%" in shown(-1, Screen()) and "bakery" in shown(-1, Screen())
    assert shown(60, Screen()) == ""
    assert shown(-1, io.StringIO()) == ""


def test_the_steps_of_a_build_are_as_many_as_the_bar_expects(bakery: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    counted: list[int] = []
    real = cli.progress

    def counting(steps: int, label: str) -> Iterator[Callable[[], None]]:
        with real(steps, label) as step:
            taken = 0

            def count() -> None:
                nonlocal taken
                taken += 1
                step()

            yield count
            counted.extend([steps, taken])

    import contextlib

    monkeypatch.setattr(cli, "progress", contextlib.contextmanager(counting))
    run("build", "bakery")
    assert counted[0] == counted[1]


# -- read --------------------------------------------------------------------------------------------------------------


def test_read_for_people(bakery: Path) -> None:
    run("build", "bakery", "--job", "job.toml", "--out", "j.xlsx")
    result = run("read", "j.xlsx")
    assert (result.exit_code, result.stderr) == (0, "")
    lines = result.stdout.splitlines()
    assert lines[0] == "j.xlsx: workbook bakery, mm edition"
    assert "  dough.loaves     30      Loaves" in lines
    assert re.search(r"^  dough\.flour +17\.64706 +kg +Flour$", result.stdout, re.MULTILINE)
    assert "trays: 1 row filled of 3" in lines
    assert max(map(len, lines)) <= 104
    assert "methods" not in result.stdout, "what the builder wrote is no reading"


def test_read_for_programs(bakery: Path) -> None:
    run("build", "bakery")
    plain, cells = (json.loads(run("read", "bakery-inch.xlsx", "--json", *more).stdout) for more in ([], ["--cells"]))
    assert list(plain) == ["workbook", "edition", "units", "values"] and plain["edition"] == "inch"
    assert {key: cells[key] for key in plain} == plain and len(cells["cells"]["trays"]) == 6


def test_read_exits_1_for_altered_formulas(bakery: Path) -> None:
    run("build", "bakery")
    flour = ("Dough", "B13")
    engines.alter_formulas(Path("bakery-inch.xlsx"), Path("altered.xlsx"), {flour: "=1"})
    result = run("read", "altered.xlsx", "--json")
    assert result.exit_code == 1
    assert json.loads(result.stdout)["values"]["dough.flour"] == 1
    assert "altered.xlsx: altered: Dough!B13 (dough.flour): the formula is not the one built\n" in result.stderr


def test_read_names_stale_values_and_exits_0(bakery: Path) -> None:
    run("build", "bakery")
    engines.type_into(Path("bakery-inch.xlsx"), Path("typed.xlsx"), {("Dough", "B8"): 24})
    result = run("read", "typed.xlsx")
    assert result.exit_code == 0
    assert (
        "a stale stored value: Dough!B13 (dough.flour) stores 14.11764706, its formula gives 28.23529412"
        in result.stderr
    )
    assert "dough.flour     28.23529" in result.stdout


def test_read_names_missing_values_and_exits_0(bakery: Path) -> None:
    import openpyxl

    run("build", "bakery")
    openpyxl.load_workbook("bakery-inch.xlsx").save("saved.xlsx")
    result = run("read", "saved.xlsx")
    assert result.exit_code == 0
    assert re.search(r"^saved\.xlsx: \d+ formulas have no stored value: ", result.stderr)


def test_a_flood_of_findings_is_cut(bakery: Path) -> None:
    run("build", "bakery")
    path = Path("bakery-inch.xlsx")
    engines.alter_formulas(path, Path("all.xlsx"), dict.fromkeys(engines.formula_cells(path), "=7"))
    result = run("read", "all.xlsx")
    lines = [line for line in result.stderr.splitlines() if ": altered: " in line]
    assert result.exit_code == 1 and len(lines) == 21 and re.search(r"altered: and \d+ more$", lines[-1])


def test_a_poor_console_is_no_obstacle(bakery: Path) -> None:
    run("build", "bakery", "--job", "job.toml", "--out", "j.xlsx")
    for words in (["read", "j.xlsx"], ["read", "j.xlsx", "--json"], ["list"]):
        done = program(*words, PYTHONIOENCODING="ascii")
        assert done.returncode == 0 and b"Traceback" not in done.stderr
        if "--json" in words:
            assert done.stdout.isascii()
            rich = json.loads(program(*words, PYTHONIOENCODING="utf-8").stdout)
            assert json.loads(done.stdout) == rich and rich["values"]["trays"][0]["verdict"] == "✓ fits"


# -- tables ------------------------------------------------------------------------------------------------------------


def test_tables_lists_source_and_status(bakery: Path) -> None:
    result = run("tables")
    table = tables.load().table("flour")
    assert result.exit_code == 0
    for said in ("flour", table.title, table.standard, table.edition_of_standard, table.status):
        assert said in result.stdout


def test_a_table_with_its_rows(bakery: Path) -> None:
    table = tables.load().table("flour")
    result = run("tables", "flour")
    assert result.exit_code == 0 and all(f"source: {source}" in result.stdout for source in table.sources)
    data = json.loads(run("tables", "flour", "--json", "--edition", "mm").stdout)
    assert data[0]["rows"] == table.rows("mm") and data[0]["status"] == table.status


def test_rows_of_one_size() -> None:
    library = tables.load()
    data = json.loads(run("tables", "--size", "6", "--json").stdout)
    with_sizes = [
        name for name in library.names() if any(one.name == "size" for one in library.table(name).columns("inch"))
    ]
    assert [one["name"] for one in data] == with_sizes
    assert all(row["size"] == "6" for one in data for row in one["rows"])
    lines = run("tables", "pipe", "--size", "6").stdout.splitlines()
    assert lines[0].endswith("(pipe)") and any(line.startswith("6|STD") for line in lines)
    assert not any(line.startswith("8|") for line in lines)
    assert "there is no size '7'; allowed sizes: 1/8, 1/4" in refused(run("tables", "pipe", "--size", "7"))


def test_every_table_can_be_shown() -> None:
    for name in tables.load().names():
        for edition in ("inch", "mm"):
            assert run("tables", name, "--edition", edition).exit_code == 0
    assert len(json.loads(run("tables", "--json").stdout)) == len(tables.load().names())


def counted_in_files(edition: str) -> dict[str, dict[str, int]]:
    """Values of each table by status, counted from the files without the product."""
    counted: dict[str, dict[str, int]] = {}
    described = (ROOT / "reference_tables" / "datapackage.json").read_text(encoding="utf-8")
    for resource in json.loads(described)["resources"]:
        fields = [one for one in resource["schema"]["fields"] if one.get("edition", edition) == edition]
        status = {one["quantity"]: one["name"] for one in fields}
        keys = resource["schema"]["primaryKey"]
        found = counted.setdefault(resource["name"], {})
        with (ROOT / "reference_tables" / resource["path"]).open(newline="", encoding="utf-8") as file:
            for row in csv.DictReader(file):
                for one in fields:
                    if one["kind"] != "text" and one["name"] not in keys and row[one["name"]]:
                        said = row[status[one.get("status", "status")]]
                        found[said] = found.get(said, 0) + 1
                        if "computed" in one:
                            found["worked out"] = found.get("worked out", 0) + 1
    return counted


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_values_are_counted_by_status(edition: str) -> None:
    """For each table and in all, as text and as JSON."""
    counted = counted_in_files(edition)
    for one in json.loads(run("tables", "--json", "--edition", edition).stdout):
        assert one["edition"] == edition
        assert {word: count for word, count in one["counts"].items() if count} == counted[one["name"]]
    lines = run("tables", "--edition", edition).stdout.splitlines()
    start = lines.index(f"Values by how far they were checked, {edition} edition:")
    body = {line.split("  ")[0]: [int(word) for word in line.split("  ", 1)[1].split()] for line in lines[start + 3 :]}
    words = ("published, seen twice", "published, seen once", "corrected misprint", "from memory, verify", "worked out")
    for name, found in counted.items():
        numbers = [found.get(word, 0) for word in words]
        assert body.pop(name) == [sum(numbers[:4]), *numbers]
    numbers = [sum(found.get(word, 0) for found in counted.values()) for word in words]
    assert body == {"all tables": [sum(numbers[:4]), *numbers]}
    elbow = json.loads(run("tables", "elbow", "--json", "--edition", edition).stdout)[0]["counts"]
    said = [f"{count} {word}" for word, count in elbow.items() if count]
    assert f"values: {'; '.join(said)}" in run("tables", "elbow", "--edition", edition).stdout.replace("\n  ", " ")


def test_tables_fit_a_screen_of_100_columns() -> None:
    for words in ([], *([name] for name in tables.load().names()), ["--size", "6"]):
        for edition in ("inch", "mm"):
            for line in run("tables", *words, "--edition", edition).stdout.splitlines():
                assert len(line) <= 100, (words, edition, line)


def test_long_sources_and_notes_stand_below_the_table() -> None:
    said = run("tables", "elbow", "--size", "3/4").stdout
    row = next(row for row in tables.load().table("elbow").rows("inch") if row["size"] == "3/4")
    flat = said.replace("\n  ", " ")
    assert f"source of 3/4: {row['source']}" in flat and f"note of 3/4: {row['note']}" in flat
    assert "…" not in said
    whole = run("tables", "pipe").stdout.replace("\n  ", " ")
    assert "note of 10|5S, 10|10S, 10|40S, 10|80S: FLU prints 273.1" in whole


# -- help and README ---------------------------------------------------------------------------------------------------


def test_every_command_and_option_has_help() -> None:
    assert list(cli.main.commands) == ["list", "build", "read", "tables"]
    for name, command in cli.main.commands.items():
        assert command.help, name
        assert run(name, "--help").exit_code == 0
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert parameter.help, f"{name} {parameter.name}"


def test_the_readme_mentions_every_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name, command in cli.main.commands.items():
        assert f"workbook-builder {name}" in readme
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert parameter.opts[-1] in readme, f"{name} {parameter.opts[-1]}"


def test_the_program_runs_as_a_module() -> None:
    done = program("--version")
    assert done.returncode == 0 and done.stdout.startswith(b"workbook-builder")
    assert b"did you mean 'list'" in program("lst").stderr


def test_errors_tell_their_place() -> None:
    assert str(InputError("is wrong", file="f", place="p", allowed="try x")) == "f: p: is wrong; try x"
