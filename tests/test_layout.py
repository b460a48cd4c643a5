"""Layout: rows are counted and filled, names are safe, and what cannot have a place is told."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshops import EDITIONS, bakery, bakery_job, job_of, little

from workbook_builder.book import Book, Field, TablePlace, check_name, check_tab, column_letters, text_height
from workbook_builder.build import Workshop
from workbook_builder.errors import InputError, TemplateError
from workbook_builder.job import Job


@pytest.fixture(scope="module")
def book() -> Book:
    """The whole fixture, filled from its job."""
    return bakery().lay_out("bakehouse", bakery_job(), "inch")


@pytest.fixture(scope="module")
def blank() -> Book:
    """The whole fixture without a job."""
    return bakery().lay_out("bakehouse", None, "inch")


def fails(shop: Workshop, edition: str = "inch", job: Job | None = None) -> TemplateError:
    """The error of a workbook that cannot be laid out; it names its file."""
    with pytest.raises(TemplateError) as caught:
        shop.prepare("little", job, edition)
    assert caught.value.file.endswith(".toml"), str(caught.value)
    return caught.value


def table(lines: str, columns: str = 'name = "mark"\nlabel = "Mark"\nunit = "text"') -> str:
    """A template with one table."""
    return f'[[table]]\nname = "tray"\ntitle = "Trays"\n{lines}\n[[table.column]]\n{columns}\n'


# -- rows --------------------------------------------------------------------------------------------------------------


def test_the_jobs_nested_lists_are_rows_with_their_parents_keys(book: Book) -> None:
    columns = {name: list(book.fields[f"trays.{name}"].values) for name in ("oven", "tray", "form", "long_side")}
    assert columns["oven"] == ["1", "1", "@home", "@home", "+3", "+3", None, None]
    assert columns["tray"] == ["=1+1", "-2", "T1", "1/2", "slanted", "by its surface", None, None]
    assert columns["form"] == ["round", "square", "square", "round", "square", "square", None, None]
    assert columns["long_side"] == [18.5, 30.0, pytest.approx(300 / 25.4), None, None, None, None, None]


def test_a_typed_cell_has_a_formula_where_the_job_says_its_value_by_another(book: Book, blank: Book) -> None:
    assert book.fields["shelves.long"].instead == {4: "wide / TAN(RADIANS(slant))", 5: "SQRT(area)"}
    assert book.fields["shelves.slant"].values == [None, None, None, None, 30.0, None, None]
    assert book.fields["shelves.long"].typed and blank.fields["shelves.long"].instead == {}


def test_a_table_has_a_row_for_each_entry_and_the_spare_ones(book: Book, blank: Book) -> None:
    assert book.tables["trays"].rows == 6 + 2 and blank.tables["trays"].rows == 6
    assert book.tables["shelves"].rows == 6 + 1 and blank.tables["shelves"].rows == 3
    assert book.tables["rack"].rows == blank.tables["rack"].rows == 5
    assert book.tables["places"].rows == blank.tables["places"].rows == 20
    assert book.tables["queue"].rows == 2 * book.tables["trays"].rows
    assert blank.tables["queue"].rows == 2 * blank.tables["trays"].rows
    assert all(field.rows == place.rows for place in book.tables.values() for field in place.fields)


def test_a_table_always_has_a_row(tmp_path: Path) -> None:
    shop = little(tmp_path, {"kitchen": table('rows = "oven.tray"')})
    job = job_of('schema = 1\n[bakery]\nname = "B"\nunits = "mm"\n[[oven]]\nmark = "A"\n')
    assert job.rows("oven.tray") == []
    for each in (None, job):
        assert shop.lay_out("little", each, "mm").tables["tray"].rows == 1


def test_as_many_as_adds_up_and_takes_spare_rows(tmp_path: Path) -> None:
    text = (
        table("rows = 3")
        + '[[table]]\nname = "more"\ntitle = "M"\nas_many_as = ["tray", "tray"]\nspare = 2\ncolumn = []\n'
    )
    text += '[[table]]\nname = "most"\ntitle = "M"\nas_many_as = ["more", "tray"]\ncolumn = []\n'
    laid = little(tmp_path, {"kitchen": text}).lay_out("little", None, "inch")
    assert [laid.tables[name].rows for name in ("tray", "more", "most")] == [3, 8, 11]


def test_a_counting_column_counts(book: Book) -> None:
    assert list(book.fields["places.number"].values) == [float(number) for number in range(1, 21)]
    assert not book.fields["places.number"].typed


def test_scalars_take_the_jobs_value_or_their_default(book: Book, blank: Book) -> None:
    assert book.fields["dough.loaves"].values == [24.0] and blank.fields["dough.loaves"].values == [12.0]
    assert book.fields["today.day"].values == [date(2024, 5, 17)] and blank.fields["today.day"].values == [
        date(2024, 5, 3)
    ]
    assert book.fields["today.bakery"].values == ["=Mill & Sons"] and blank.fields["today.bakery"].values == [None]
    assert book.fields["shelves.lined"].values[:2] == [None, "yes"]


@pytest.mark.parametrize(("edition", "loaf", "door", "rest"), [("inch", 2.0, 24.0, 2.0), ("mm", 1.0, 600.0, 3.0)])
def test_each_edition_has_its_own_values_and_units(edition: str, loaf: float, door: float, rest: float) -> None:
    laid = bakery().lay_out("bakehouse", None, edition)
    assert laid.fields["dough.loaf_mass"].values == [loaf]
    assert laid.fields["ovens.door"].values == [door] and laid.fields["today.rest"].values == [rest]
    units = {"inch": ("lb", "in", "lb/ft"), "mm": ("kg", "mm", "kg/m")}[edition]
    assert tuple(laid.fields[name].unit for name in ("dough.flour", "rack.long", "rack.weight")) == units


def test_a_job_in_one_unit_fills_the_other_edition() -> None:
    laid = bakery().lay_out("bakehouse", bakery_job(), "mm")
    assert list(laid.fields["trays.long_side"].values)[:3] == [pytest.approx(18.5 * 25.4), 762.0, 300.0]


def test_columns_of_another_edition_are_left_out(tmp_path: Path) -> None:
    text = table("rows = 1") + '[[table.column]]\nname = "feet"\nlabel = "F"\nedition = "inch"\n'
    shop = little(tmp_path, {"kitchen": text})
    assert ["tray.feet" in shop.lay_out("little", None, edition).fields for edition in EDITIONS] == [True, False]


# -- places ------------------------------------------------------------------------------------------------------------


def test_no_two_cells_share_a_place(book: Book) -> None:
    taken: dict[tuple[str, int, int], str] = {}
    for field in book.fields.values():
        for row in range(field.row, field.row + field.rows):
            assert taken.setdefault((field.tab, row, field.column), field.name) == field.name
    for plan in book.sheets:
        headings = {(plan.tab, row) for place in plan.tables for row in (place.header, place.header + 1, place.top)}
        lines = {(plan.tab, line.row) for line in plan.lines if not line.formula}
        assert not {(tab, row) for tab, row, _ in taken} & (headings | lines)


def test_the_row_under_a_table_is_free(book: Book) -> None:
    """`next.x` in the last row reads it."""
    for plan in book.sheets:
        for place in plan.tables:
            under = place.first + place.rows
            assert not any(
                field.row <= under <= field.last_row for field in book.fields.values() if field.tab == plan.tab
            )
            assert all(line.row != under for line in plan.lines)


def test_a_seed_row_stands_between_heading_and_rows(book: Book) -> None:
    rack, places = book.tables["rack"], book.tables["places"]
    assert rack.seed and rack.first == rack.header + 3
    assert not places.seed and places.first == places.header + 2


def test_workings_stand_right_of_an_empty_column(book: Book) -> None:
    for plan in book.sheets:
        for place in plan.tables:
            for field in place.fields:
                assert field.column > plan.printed if field.working else field.column < plan.printed


def test_a_tables_checks_make_a_message_column(book: Book) -> None:
    fields = [field.name.partition(".")[2] for field in book.tables["rack"].fields]
    assert {"message", "stops", "cautions"} <= set(fields)
    assert not book.fields["rack.message"].working and book.fields["rack.stops"].working
    assert (
        "shelves.message" in book.fields and "drawing.message" not in book.fields
    )  # typed cells are tested in every table that has some


def test_a_message_column_of_the_authors_own_is_kept(tmp_path: Path) -> None:
    text = table("rows = 1\nkey = 'mark'") + (
        '[[table.column]]\nname = "message"\nlabel = "Own"\nunit = "text"\nformula = \'stops & "!"\'\n'
        '[[table.check]]\nwhen = "mark = \\"x\\""\nsay = "no x"\n'
    )
    laid = little(tmp_path, {"kitchen": text}).lay_out("little", None, "inch")
    assert laid.fields["tray.message"].label == "Own"


def test_only_used_reference_columns_come_along(blank: Book) -> None:
    names = {name for name in blank.fields if name.startswith("flour.")}
    assert names == {"flour.key", "flour.grain", "flour.grade", "flour.price", "flour.status"}
    assert blank.tables["flour"].source == "none; invented; invented"


def test_a_workbook_without_lookups_has_no_reference_table(tmp_path: Path) -> None:
    shop = little(tmp_path, {"kitchen": table("rows = 1"), "lists": 'made = "tables"'})
    assert "flour" not in shop.lay_out("little", None, "inch").tables


# -- roll-up -----------------------------------------------------------------------------------------------------------


def test_checks_are_counted_where_they_say(book: Book) -> None:
    own = {name: field for name, field in book.fields.items() if name.startswith("today.")}
    assert own["today.rack_stops"].formula == 'SUMPRODUCT((rack.stops <> "") * 1)'
    assert own["today.rack_cautions"].label == "Racks: rows that say what to look at"
    assert own["today.today_checks"].formula == 'IF(today.check_1 = "", 0, 1)'
    assert "today.trays_cautions" not in own
    section = next(line.row for plan in book.sheets for line in plan.lines if line.text == "What to see to")
    assert own["today.rack_stops"].row > section


def test_counts_in_an_unknown_sheet_is_told(tmp_path: Path) -> None:
    text = table("rows = 1") + '[[table.check]]\nwhen = "mark = \\"\\""\nsay = "s"\ncounts_in = "kitchn"\n'
    error = fails(little(tmp_path, {"kitchen": text}))
    assert "counts_in = 'kitchn'; did you mean 'kitchen'?" in str(error)


def test_counts_in_an_unknown_section_is_told(tmp_path: Path) -> None:
    text = table("rows = 1") + '[[table.check]]\nwhen = "mark = \\"\\""\nsay = "s"\ncounts_in = "kitchen.top"\n'
    assert "there is no section 'top'" in str(fails(little(tmp_path, {"kitchen": text})))


# -- names -------------------------------------------------------------------------------------------------------------

BAD_NAMES = [
    # short: a sheet or table name needs four letters in front
    "a.x", "abc.x", "leg.x", "a_bcd.x", "abc1.x", "nps4.x", "sch40.x", "ang45.x", "xfd1048576.x", "xfd1.x", "iv65536.x",
    # row-and-column notation, true and false
    "r.x", "c.x", "rc.x", "r1c1.x", "r1.x", "c12.x", "true.x", "false.x", "tray.true", "tray.false",
    # what is no plain word
    "Trays.x", "trays.X", "TRAYS.x", "tra ys.x", "trays.long side", "trays.", ".x", "trays", "",
    "trays.x.y", "trays..x",
    "trays.1st", "trays._x", "trays2.x", "_trays.x", "tråys.x", "trays.größe", "trays.x-y", "trays.x!",
    "trays.x:y", "trays.[x]",
    "trays.x\n", "trays.'x'", "1trays.x", "trays.x²",
    # words that mean something in a formula
    "previous.x", "next.x", "above.x", "trays.previous", "trays.above",
    "trays." + "x" * 200,
]  # fmt: skip


@pytest.mark.parametrize("name", BAD_NAMES)
def test_bad_names(name: str) -> None:
    with pytest.raises(TemplateError) as caught:
        check_name(name, "ovens.toml")
    assert str(caught.value).startswith("ovens.toml: ") and repr(name) in str(caught.value)


@pytest.mark.parametrize(
    "name", ["trays.x", "trays.gap_12", "tray_list.long_side", "dough.a1", "dough.r1c1", "abcd.xfd1048576"]
)
def test_good_names(name: str) -> None:
    check_name(name, "ovens.toml")


@given(st.from_regex(r"[a-z]{1,3}[0-9]{0,7}(_[a-z0-9]+)?", fullmatch=True))
def test_no_address_is_a_name(space: str) -> None:
    with pytest.raises(TemplateError):
        check_name(f"{space}.x", "")


@given(st.text(max_size=12), st.text(max_size=12))
def test_what_is_taken_is_safe_in_every_program(space: str, rest: str) -> None:
    try:
        check_name(f"{space}.{rest}", "")
    except TemplateError:
        return
    defined = f"{space}_{rest}"
    assert defined.isascii() and defined.replace("_", "").isalnum() and defined == defined.lower()
    assert len(space) >= 4 and space[:4].isalpha()


@pytest.mark.parametrize("tab", ["", "x" * 32, "a/b", "a\\b", "a:b", "a*b", "a?b", "[a]", "'a", "a'"])
def test_bad_tabs(tab: str) -> None:
    with pytest.raises(TemplateError, match="cannot be a sheet's tab"):
        check_tab(tab, "a.toml", [])


def test_tabs_are_given_once(tmp_path: Path) -> None:
    check_tab("Ovens & more, it's", "a.toml", ["Dough"])
    for tab in ("dough", "NAMES"):
        with pytest.raises(TemplateError, match="is given twice"):
            check_tab(tab, "a.toml", ["Dough"])
    assert "the tab 'BREAD' is given twice" in str(
        fails(little(tmp_path, {"kitchen": 'title = "Bread"\n', "ovens": 'title = "B"\ntab = "BREAD"\n'}))
    )


# -- what an author reads ----------------------------------------------------------------------------------------------

INPUT = '[[input]]\nname = "long"\nlabel = "Long"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (INPUT + INPUT, "kitchen.toml: Long: the name 'kitchen.long' is given twice"),
        (INPUT + 'unit = "lenght"\n', "kitchen.toml: kitchen.long: unknown unit kind 'lenght'; did you mean 'length'?"),
        (INPUT + 'unit = "length"\ndefault = "3 lb"\n', "kitchen.toml: kitchen.long: '3 lb' is not a length"),
        (INPUT + 'unit = "length"\nminimum = "3 lb"\n', "kitchen.toml: kitchen.long"),
        (INPUT + 'unit = "date"\ndefault = "3 May"\n', "kitchen.toml: kitchen.long: Invalid isoformat string: '3 May'"),
        (INPUT + 'format = "wholle"\n', "kitchen.toml: kitchen.long: unknown format 'wholle'; did you mean 'whole'?"),
        (INPUT + 'section = "top"\n', "kitchen.toml: there is no section 'top'"),
        ('[[check]]\nwhen = "1 > 0"\nsay = "s"\nsection = "top"\n', "there is no section 'top'"),
        (
            '[[constant]]\nname = "one"\nlabel = "One"\nvalue = { inch = 1 }\n',
            "kitchen.one: there is no value for the mm edition",
        ),
        (
            '[[result]]\nname = "one"\nlabel = "One"\nformula = { inch = "1" }\n',
            "kitchen.one: there is no formula for the mm edition",
        ),
        (table("rows = 1\nkey = 'marc'"), "kitchen.toml: table 'tray' has no column 'marc' to be its key"),
        (table("as_many_as = ['trayy']"), "kitchen.toml: there is no table 'trayy'; did you mean 'tray'?"),
        (table("as_many_as = ['tray']"), "kitchen.toml: table 'tray' asks for as many rows as itself"),
        (table("rows = 1") + table("rows = 1"), "kitchen.toml: Trays: there is another table 'tray'"),
        (table("rows = 1").replace('"tray"', '"flour"'), "kitchen.toml: Trays: there is another table 'flour'"),
        (
            table("rows = 1", 'name = "a"\nlabel = "A"\nunit = "lngth"'),
            "kitchen.toml: tray.a: unknown unit kind 'lngth'",
        ),
        (
            table("rows = 1", 'name = "a"\nlabel = "A"\nformula = "1"\ncount = true'),
            "tray.a: the column is filled in two ways",
        ),
        (
            table("rows = 1", 'name = "a"\nlabel = "A"\nformula = "1"\ntyped = true'),
            "tray.a: the column is filled in two ways",
        ),
        (
            table("rows = 1", 'name = "a"\nlabel = "A"\nfrom_job = "oven.mark"'),
            "tray.a: from_job = 'oven.mark', and the rows",
        ),
        (
            table("rows = 1", 'name = "a"\nlabel = "A"\nchoices = ["x"]\nchoices_for = { "flour.grain" = "a" }'),
            "tray.a: choices_for",
        ),
        (
            table("rows = 1", 'name = "a"\nlabel = "A"\nunit = "text"\nchoices = "flour.grian"'),
            "table 'flour' has no column 'grian'; did you mean 'grain'?",
        ),
        (
            table("rows = 1", 'name = "a"\nlabel = "A"\nformula = "flour.prize * 2"'),
            "table 'flour' has no column 'prize'",
        ),
        (
            table("rows = 1", 'name = "a"\nlabel = "A"\nformula = "(1"'),
            "kitchen.toml: tray.a: it cannot be read as a formula",
        ),
        (
            '[[result]]\nname = "a"\nlabel = "A"\nformula = "1 +"\n',
            "kitchen.toml: kitchen.a: it cannot be read as a formula",
        ),
        (
            '[[chart]]\ntitle = "C"\ntable = "trayy"\nseries = [{ x = ["mark"], y = ["mark"] }]\n' + table("rows = 1"),
            "kitchen.toml: chart C: there is no table 'trayy'",
        ),
        (
            '[[chart]]\ntitle = "C"\ntable = "tray"\nseries = []\n' + table("rows = 1"),
            "kitchen.toml: chart C: it has no series",
        ),
        (
            '[[chart]]\ntitle = "C"\ntable = "tray"\nseries = [{ x = ["marc"], y = ["mark"] }]\n' + table("rows = 1"),
            "kitchen.toml: chart C: unknown column 'marc'; did you mean 'mark'?",
        ),
        (
            '[[chart]]\ntitle = "C"\ntable = "tray"\nseries = [{ x = ["mark"], y = [] }]\n' + table("rows = 1"),
            "kitchen.toml: chart C: x = ",
        ),
        (
            '[macro.Big]\ntakes = ["x"]\nformula = "x"\n',
            "kitchen.toml: macro Big: its name or what it takes cannot be used",
        ),
        ('[macro.twice]\ntakes = ["x", "x"]\nformula = "x"\n', "kitchen.toml: macro twice: its name or what it takes"),
        ('[macro.half]\ntakes = ["x"]\nformula = "x /"\n', "kitchen.toml: macro half: it cannot be read as a formula"),
        (
            '[macro.half]\ntakes = ["x"]\nformula = { inch = "x" }\n',
            "kitchen.toml: macro half: there is no formula for the mm edition",
        ),
        ('[macro.no_more]\ntakes = ["x"]\nformula = "x"\n', "kitchen.toml: macro no_more: it is given twice"),
    ],
)
def test_an_authors_mistake_names_file_and_place(tmp_path: Path, text: str, said: str) -> None:
    shop = little(
        tmp_path,
        {"kitchen": text, "lists": 'made = "tables"'},
        macros='[macro.no_more]\ntakes = ["x"]\nformula = "x"\n',
    )
    found: list[str] = []
    for edition in EDITIONS:
        try:
            shop.build("little", None, edition)
        except TemplateError as error:
            assert error.file.endswith(".toml"), str(error)
            found.append(str(error))
    assert found and any(said in each for each in found), found


def test_two_names_that_become_one_are_told(tmp_path: Path) -> None:
    text = {"oven": "[[input]]\nname = 'door_wide'\nlabel = 'A'", "oven_door": "[[input]]\nname = 'wide'\nlabel = 'B'"}
    error = fails(little(tmp_path, text))
    assert "'oven.door_wide' and 'oven_door.wide' are both oven_door_wide in the workbook" in str(error)


def test_a_headline_must_be_a_name(tmp_path: Path) -> None:
    error = fails(little(tmp_path, {"kitchen": INPUT}, workbook='headline = "kitchen.lon"'))
    assert str(error) == "little.toml: headline: unknown name 'kitchen.lon'; did you mean 'kitchen.long'?"


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        (
            'name = "a"\nlabel = "A"\nunit = "text"\nfrom_job = "oven.marc"',
            "a job has no 'oven.marc'; did you mean 'oven.mark'?",
        ),
        ('name = "a"\nlabel = "A"\nunit = "text"\nfrom_job = "bakery.name"', "a row of oven.tray has no 'bakery.name'"),
        ('name = "a"\nlabel = "A"\nunit = "mass"\nfrom_job = "oven.tray.long"', "is not a mass"),
    ],
)
def test_a_wrong_path_into_the_job_is_told(tmp_path: Path, columns: str, said: str) -> None:
    shop = little(tmp_path, {"kitchen": table('rows = "oven.tray"', columns)})
    error = fails(shop, job=bakery_job())
    assert str(error).startswith("kitchen.toml: tray.a: ") and said in str(error)


def test_rows_of_a_list_that_no_job_has_are_told(tmp_path: Path) -> None:
    error = fails(little(tmp_path, {"kitchen": table('rows = "oven.try"')}), job=bakery_job())
    assert "a job has no 'oven.try'; did you mean 'oven.tray'?" in str(error)


def test_a_drop_down_that_depends_needs_its_table_in_order(tmp_path: Path) -> None:
    tables = tmp_path / "tables"
    tables.mkdir()
    source = Path(__file__).parent / "bakery" / "tables"
    (tables / "datapackage.json").write_bytes((source / "datapackage.json").read_bytes())
    lines = (source / "flour.csv").read_text(encoding="utf-8").splitlines()
    (tables / "flour.csv").write_text("\n".join([lines[0], lines[1], lines[3], lines[2]]) + "\n", encoding="utf-8")
    shop = little(tmp_path, {"kitchen": DEPENDENT, "lists": 'made = "tables"'})
    shop.build("little")
    with pytest.raises(TemplateError, match=r"kitchen\.toml: tray\.grade: choices_for goes by flour\.grain, and equal"):
        Workshop(shop.shelf.folder, tables).build("little")


DEPENDENT = """
[[table]]
name = "tray"
title = "T"
rows = 2
[[table.column]]
name = "grain"
label = "Grain"
unit = "text"
choices = "flour.grain"
[[table.column]]
name = "grade"
label = "Grade"
unit = "text"
choices = "flour.grade"
choices_for = { "flour.grain" = "grain" }
"""


def test_an_unknown_edition_or_workbook_is_told() -> None:
    with pytest.raises(InputError, match="there is no edition 'cm'"):
        bakery().lay_out("bakery", None, "cm")
    with pytest.raises(InputError, match="there is no workbook 'bake'"):
        bakery().build("bake")


# -- small things ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("column", "letters"), [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA"), (16383, "XFD")]
)
def test_column_letters(column: int, letters: str) -> None:
    assert column_letters(column) == letters


def test_text_height_grows_with_the_text() -> None:
    assert text_height("", 10) == text_height("x" * 9, 10) == 1
    assert text_height("a\nb\nc", 10) == 3
    heights = [text_height("x" * length, 10) for length in range(0, 100, 5)]
    assert heights == sorted(heights) and 8 <= heights[-1] <= 12


def field(**more: Any) -> Field:
    """A field of its own."""
    return Field("trays.x", "column", "Ovens", 4, 2, "length", "in", "X", "ovens.toml", **more)


def test_a_field_knows_its_rows_and_name() -> None:
    made = field(rows=3, table="trays")
    assert (made.last_row, made.defined_name, made.scalar) == (6, "trays_x", False)


def test_places_are_kept_by_name(book: Book) -> None:
    place: TablePlace = book.tables["rack"]
    keys: Sequence[str] = [made.name for made in place.fields]
    assert "rack.mark" in keys and place.title == "Racks"
