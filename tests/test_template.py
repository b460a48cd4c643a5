"""Templates are data: what they may say, and what an author reads who says it wrongly."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from workshops import BAKERY, EDITIONS, TABLES, bakery, little

from workbook_builder import tables
from workbook_builder.errors import InputError, TemplateError
from workbook_builder.job_reading import load_schema, parse_job
from workbook_builder.quantity import Quantity
from workbook_builder.template import (
    MacroFile,
    SheetTemplate,
    Shelf,
    WorkbookTemplate,
    cases_of,
    decode,
    for_edition,
    read_toml,
    sheet,
)

BLOCKS = Path(__file__).parent / "design_blocks"


def refused(text: str, shape: type[Any] = SheetTemplate) -> str:
    """What an author reads about a template."""
    with pytest.raises(TemplateError) as caught:
        decode(tomllib.loads(text), shape, "dough.toml")
    return str(caught.value)


HEAD = 'schema = 1\ntitle = "Dough"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("purpos = ''", "dough.toml: unknown key 'purpos'; did you mean 'purpose'?"),
        (
            "[[input]]\nname = 'a'\nlabel = 'A'\nminmum = 1",
            "dough.toml: input a: unknown key 'minmum'; did you mean 'minimum'?",
        ),
        (
            "[[result]]\nname = 'a'\nlabel = 'A'\nfomula = 'b'",
            "result a: unknown key 'fomula'; did you mean 'formula'?",
        ),
        ("[[constant]]\nname = 'a'\nlabel = 'A'\nvalu = 1", "constant a: unknown key 'valu'; did you mean 'value'?"),
        ("[[check]]\nwen = 'a'\nsay = 'b'", "check no. 1: unknown key 'wen'; did you mean 'when'?"),
        ("[[section]]\nname = 'a'\ntitel = 'A'", "section a: unknown key 'titel'; did you mean 'title'?"),
        (
            "[[table]]\nname = 't'\ntitle = 'T'\n[[table.column]]\nname = 'a'\nlabel = 'A'\n"
            "[[table.column]]\nname = 'b'\nlabel = 'B'\nwidht = 3",
            "table t, column b: unknown key 'widht'; did you mean 'width'?",
        ),
        (
            "[[table]]\nname = 't'\ntitle = 'T'\ncolumn = []\n[[table.check]]\nwhen = 'a'\nsay = 'b'\nlevl = 'stop'",
            "table t, check no. 1: unknown key 'levl'; did you mean 'level'?",
        ),
        (
            "[[chart]]\ntitle = 'C'\ntable = 't'\n[[chart.series]]\nx = ['a']\ny = ['b']\ncolor = 'red'",
            "chart C, series no. 1: unknown key 'color'; did you mean 'colour'?",
        ),
        (
            "[[example]]\nsource = 's'\nexpect = {}\nwithin = 1\ninput = {}",
            "unknown key 'input'; did you mean 'inputs'?",
        ),
        ("[macro.m]\ntakes = []\nformul = ''", "macro: unknown key 'formul'; did you mean 'formula'?"),
        ("zzz = 1", "unknown key 'zzz'; allowed keys: schema, title, purpose"),
    ],
)
def test_an_unknown_key_is_told_with_its_place_and_the_nearest(text: str, said: str) -> None:
    assert said in refused(HEAD + text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[input]]\nname = 'a'\nlabel = 3", "dough.toml: input a, label: expected str, got int"),
        ("[[input]]\nname = 'a'", "dough.toml: input a: there is no label"),
        ("[[input]]\nlabel = 'a'", "dough.toml: input no. 1: there is no name"),
        ("input = 3", "dough.toml: input: expected array, got int"),
        ("[[check]]\nwhen = 'a'\nsay = 'b'\nlevel = 'stopp'", "check no. 1, level: invalid enum value 'stopp'"),
        (
            "[[constant]]\nname = 'a'\nlabel = 'A'\nvalue = { inch = 1, mn = 2 }",
            "constant a, value: invalid enum value 'mn'",
        ),
        ("[[result]]\nname = 'a'\nlabel = 'A'\nformula = { cm = 'b' }", "result a, formula: invalid enum value 'cm'"),
        (
            "[[example]]\nsource = 's'\nexpect = {}\nwithin = 1\nedition = 'inches'",
            "edition: invalid enum value 'inches'",
        ),
    ],
)
def test_a_value_of_the_wrong_type_is_told_with_its_place(text: str, said: str) -> None:
    assert said in refused(HEAD + text)


def test_another_schema_is_refused() -> None:
    assert refused("schema = 2\ntitle = 'x'") == "dough.toml: schema 2 is not known; this builder reads schema = 1"
    assert refused("title = 'x'") == "dough.toml: there is no schema"
    assert "schema 3" in refused("schema = 3\nmacro = {}", MacroFile)
    assert "schema 0" in refused("schema = 0\ntitle = ''\npurpose = ''\nsheets = []", WorkbookTemplate)


def test_a_file_that_is_not_toml_names_its_line(tmp_path: Path) -> None:
    file = tmp_path / "dough.toml"
    file.write_text("schema = 1\ntitle = \n", encoding="utf-8")
    with pytest.raises(TemplateError, match=r"dough\.toml: is not TOML: .*line 2"):
        read_toml(file)
    file.write_bytes(b"title = '\xff'")
    with pytest.raises(TemplateError, match=r"dough\.toml: is not TOML"):
        read_toml(file)
    with pytest.raises(TemplateError, match=r"gone\.toml: there is no such template"):
        read_toml(tmp_path / "gone.toml")


def test_templates_are_found_by_name() -> None:
    shelf = Shelf(BAKERY / "templates")
    assert shelf.names("workbooks") == ["bakehouse", "bakery"]
    assert shelf.workbook("bakery").sheets[0] == "dough"
    assert shelf.sheet("dough").tab == "Dough" and shelf.sheet("dough").file == "dough.toml"
    assert set(shelf.macros("macros")) == {"no_more", "spoken"}
    with pytest.raises(TemplateError, match="there is no workbook 'bakerry'; did you mean 'bakery'"):
        shelf.workbook("bakerry")
    with pytest.raises(TemplateError, match="there is no sheet 'overns'; did you mean 'ovens'"):
        shelf.sheet("overns")
    with pytest.raises(TemplateError, match=r"more_macro\.toml: there is no such template"):
        shelf.macros("more_macro")


def test_a_workbook_that_gathers_an_unknown_sheet_is_named(tmp_path: Path) -> None:
    shop = little(tmp_path, {"dough": ""})
    (tmp_path / "templates" / "workbooks" / "little.toml").write_text(
        'schema = 1\ntitle = "L"\npurpose = ""\nsheets = ["dogh"]\n', encoding="utf-8"
    )
    with pytest.raises(TemplateError) as caught:
        shop.build("little")
    assert str(caught.value) == "little.toml: sheets and macros: there is no sheet 'dogh'; did you mean 'dough'?"


def test_a_value_for_each_edition() -> None:
    assert [for_edition({"inch": 1, "mm": 25}, edition) for edition in EDITIONS] == [1, 25]
    assert [for_edition("7 in", edition) for edition in EDITIONS] == ["7 in", "7 in"]
    assert for_edition({"inch": 1}, "mm") is None


def test_a_tab_is_the_title_unless_it_is_given() -> None:
    assert sheet({"schema": 1, "title": "Long title"}, "dough", "dough.toml").tab == "Long title"
    assert sheet({"schema": 1, "title": "Long title", "tab": "Short"}, "dough", "dough.toml").tab == "Short"


def test_each_expected_value_is_a_case_of_its_edition() -> None:
    shelf = Shelf(BAKERY / "templates")
    templates = [shelf.sheet(name) for name in ("dough", "racks")]
    inch = [case.full_name for case in cases_of(templates, "inch")]
    assert inch == ["dough.flour", "rack.iron", "rack.carried", "rack.verdict", "rack.rise"]
    assert [case.example.edition for case in cases_of(templates, "mm")] == ["", "mm", "mm", "", ""]


# -- the blocks of the design ------------------------------------------------------------------------------------------


def test_the_designs_template_is_one(tmp_path: Path) -> None:
    text = (BLOCKS / "template.toml").read_text(encoding="utf-8")
    template = decode(tomllib.loads(text), SheetTemplate, "template.toml")
    assert template.input[1].default == "45 deg" and template.example[0].expect == {"travel": "14.14 in"}


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_designs_template_builds(tmp_path: Path, edition: str) -> None:
    text = (BLOCKS / "template.toml").read_text(encoding="utf-8").removeprefix("schema = 1\n")
    proofs = (BAKERY / "templates" / "sheets" / "proofs.toml").read_text(encoding="utf-8").removeprefix("schema = 1\n")
    book, computed = little(tmp_path, {"offset": text, "proofs": proofs}).compute("little", None, edition)
    worth = {"inch": 1.0, "mm": 25.4}[edition]
    assert computed.values["offset.travel"] == [pytest.approx(18 * 2**0.5 * worth)]
    assert computed.values["proof.verdict"] == ["✓"]
    assert book.fields["offset.travel"].unit == {"inch": "in", "mm": "mm"}[edition]


def test_the_designs_job_file_is_one() -> None:
    text = (BLOCKS / "job.toml").read_text(encoding="utf-8")
    job = parse_job(text, "job.toml", load_schema(), tables.load())
    assert job.value("job.number") == "J-1042" and job.units == "inch"
    assert [row.value("spool.mark") for row in job.rows("spool.leg")] == ["SP-01", "SP-01"]
    assert job.rows("spool.leg")[1].value("spool.leg.up") == Quantity(Fraction(193, 4), "in")


# -- no template of the fixture is damaged -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", Shelf(BAKERY / "templates").names("sheets"))
def test_every_sheet_of_the_fixture_is_read(name: str) -> None:
    assert bakery().shelf.sheet(name).name == name


def test_the_fixtures_tables_are_read() -> None:
    assert tables.load(TABLES).names() == ["flour"]
    with pytest.raises(InputError, match="there is no table 'flower'; did you mean 'flour'"):
        tables.load(TABLES).table("flower")
