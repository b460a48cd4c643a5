"""Values: the engine is given the cells, and an error value stops the build with name, row and formula."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from workshops import EDITIONS, bakery, bakery_job, little

from workbook_builder.book import Book
from workbook_builder.errors import TemplateError
from workbook_builder.values import SPOKEN, Computed, Engine, cell_value, error_of, serial


@pytest.fixture(scope="module")
def filled() -> tuple[Book, Computed]:
    return bakery().compute("bakehouse", bakery_job(), "inch")


@pytest.fixture(scope="module")
def blank() -> tuple[Book, Computed]:
    return bakery().compute("bakehouse", None, "inch")


# -- what the fixture gives --------------------------------------------------------------------------------------------


def test_scalars(filled: tuple[Book, Computed]) -> None:
    values = filled[1].values
    assert values["dough.flour"] == [pytest.approx(2 * 24 / 1.7)]
    assert values["dough.headline"] == ["24 loaves"]
    assert values["today.welcome"] == ["=Mill & Sons, thin crust"]
    assert values["today.cheapest"] == [2.0]
    assert values["today.next_day"] == [serial(date(2024, 5, 17)) + 2 * serial(date(1900, 1, 1))]
    assert values["racks.loaf_total"] == [10.0]


@pytest.mark.parametrize(("edition", "turned"), [("inch", 17.3205080756888), ("mm", 439.940905122495)])
def test_what_the_job_says_by_another_quantity(edition: str, turned: float) -> None:
    _, computed = bakery().compute("bakehouse", bakery_job(), edition)
    assert computed.values["shelves.long"][4] == pytest.approx(turned, rel=1e-13)
    assert computed.values["shelves.long"][5] == pytest.approx({"inch": 12.0, "mm": 304.8}[edition])


def test_a_live_list_finds_its_rows(filled: tuple[Book, Computed]) -> None:
    values = filled[1].values
    assert values["shelves.fits"] == [2, 4, 1, "", 2, 1, ""]
    assert values["shelves.before"] == [0, 2, 6, 7, 7, 9, 10]
    assert values["places.tray_row"][:11] == [1, 1, 2, 2, 2, 2, 3, 5, 5, 6, ""]
    assert values["places.tray"][:4] == ["=1+1", "=1+1", "-2", "-2"]
    assert values["places.said"][:3] == ["loaf 1 of 2", "loaf 2 of 2", "loaf 1 of 4"]
    assert values["places.said"][10:] == [""] * 10


def test_rows_above_below_and_before(filled: tuple[Book, Computed]) -> None:
    values = filled[1].values
    assert values["trays.running"][:3] == [18.5, 48.5, pytest.approx(48.5 + 300 / 25.4)]
    assert values["trays.step_down"][:4] == ["", 11.5, pytest.approx(300 / 25.4 - 30), ""]


def test_lookups_in_a_reference_table(filled: tuple[Book, Computed]) -> None:
    assert filled[1].values["trays.flour_price"] == [2.0, 3.0, "", "", "", "", "", ""]


def test_checks_say_what_is_wrong(filled: tuple[Book, Computed]) -> None:
    values = filled[1].values
    assert values["trays.message"][:3] == [
        "Over half the door by 6.5 in. ",
        "Longer than the door. Over half the door by 18 in. ",
        "",
    ]
    assert values["trays.stops"][1] == "Longer than the door. " and values["ovens.rows_stopped"] == [1.0]
    assert values["trays.verdict"][:4] == ["✓ fits", "✗ too long", "✓ fits", "… not yet measured"]


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("workbook", ["bakery", "bakehouse"])
def test_a_blank_workbook_stays_blank(workbook: str, edition: str) -> None:
    """A blank row gives no zero, no error and no verdict."""
    book, computed = bakery().compute(workbook, None, edition)
    looked = 0
    for field in book.fields.values():
        place = book.tables.get(field.table)
        if not field.formula or place is None or place.table is None or not place.table.key:
            continue
        if getattr(field.declared, "always", False) or place.table.rows in ("examples", "results"):
            continue
        assert computed.values[field.name] == [""] * field.rows, field.name
        looked += 1
    assert looked > 10


def test_a_blank_typed_cell_is_told_from_nought(blank: tuple[Book, Computed]) -> None:
    assert blank[1].values["rack.long"] == [None] * 5 and blank[1].values["today.bakery"] == [None]
    assert blank[1].values["today.welcome"] == [""]


# -- what a user types over the limits ---------------------------------------------------------------------------------

TYPED = """
[[table]]
name = "tray"
title = "T"
rows = "oven.tray"
key = "name"
[[table.column]]
name = "name"
label = "Name"
unit = "text"
from_job = "oven.tray.name"
[[table.column]]
name = "long"
label = "Long"
unit = "length"
from_job = "oven.tray.long"
minimum = "12 in"
maximum = { inch = "20 in", mm = "500 mm" }
[[table.column]]
name = "grain"
label = "Grain"
unit = "text"
from_job = "oven.tray.note"
choices = "flour.grain"
[[table.column]]
name = "grade"
label = "Grade"
unit = "text"
from_job = "oven.tray.grade"
choices = "flour.grade"
choices_for = { "flour.grain" = "grain" }
"""


def test_limits_and_choices_are_tested_by_formula(tmp_path: Path) -> None:
    """The job's schema is not the sheet's: a value may pass there and not here, as a pasted one may."""
    _, computed = little(tmp_path, {"kitchen": TYPED, "lists": 'made = "tables"'}).compute(
        "little", bakery_job(), "inch"
    )
    assert computed.values["tray.message"][:4] == [
        # the grade of the first row is the rough one of rye; its grain says something else here
        "Grain: not in the list. Grade: not in the list for this grain. ",
        "Long: over 20 in. Grade: not in the list for this grain. ",
        "Long: under 12 in. Grain: not in the list. ",
        "",
    ]


# -- error values ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("formula", "said"),
    [
        ("1 / 0", "divides by nothing"),
        ("1 / (kitchen.nought - 0)", "divides by nothing"),
        ('MATCH("spelt", flour.grain, 0)', "finds no match"),
        ("SQRT(0 - 1)", "has no number for an answer"),
        ("INDEX(flour.price, 99)", "points outside its range"),
        ('LEN(MID("abc", 0, 1))', "reckons with text"),
        ('0 + ""', "reckons with text"),
    ],
)
def test_an_error_value_stops_the_build(tmp_path: Path, formula: str, said: str) -> None:
    text = "[[constant]]\nname = 'nought'\nlabel = 'N'\nvalue = 0\n"
    text += f"[[result]]\nname = 'wrong'\nlabel = 'W'\nformula = '{formula}'\n"
    if "price" in formula:
        text = text.replace("label = 'W'", "label = 'W'\nunit = 'money'")
    shop = little(tmp_path, {"kitchen": text, "lists": 'made = "tables"'})
    with pytest.raises(TemplateError) as caught:
        shop.build("little")
    assert str(caught.value) == f"kitchen.toml: kitchen.wrong: the formula {said} in row 1 (formula: {formula})"


def test_the_row_of_an_error_value_is_told(tmp_path: Path) -> None:
    text = '[[table]]\nname = "tray"\ntitle = "T"\nrows = 5\n'
    text += '[[table.column]]\nname = "number"\nlabel = "N"\ncount = true\n'
    text += '[[table.column]]\nname = "wrong"\nlabel = "W"\nformula = "1 / (number - 3)"\n'
    with pytest.raises(TemplateError, match=r"tray\.wrong: the formula divides by nothing in row 3 "):
        little(tmp_path, {"kitchen": text}).build("little")


def test_rows_that_lean_on_one_another_in_a_circle_stop_the_build(tmp_path: Path) -> None:
    """By names it is no circle: only the engine sees it."""
    text = '[[table]]\nname = "tray"\ntitle = "T"\nrows = 3\nseed = true\n'
    text += '[[table.column]]\nname = "up"\nlabel = "U"\nformula = "next.down + 1"\n'
    text += '[[table.column]]\nname = "down"\nlabel = "D"\nformula = "previous.up + 1"\n'
    with pytest.raises(TemplateError, match=r"kitchen\.toml: tray\.(up|down): the formula leads back to itself in row"):
        little(tmp_path, {"kitchen": text}).build("little")


@pytest.mark.parametrize("formula", ["=SUM(A1:A3)", "=A2+1", "=INDEX(A1:A3,1)", "=SUM($A$1:A2)", "=COUNTIF(A1:A3,1)"])
def test_a_range_that_holds_its_own_cell_is_circular(formula: str) -> None:
    engine = Engine(["S"])
    engine.put_values("S", 0, 0, [1.0])
    engine.put_formulas("S", 1, 0, [formula])
    engine.put_values("S", 2, 0, [3.0])
    engine.calculate()
    assert error_of(engine.take("S", 1, 0, 1)[0]) == SPOKEN["Circ"]
    # put over a value that stands there already, it is refused at once
    engine = Engine(["S"])
    engine.put_values("S", 0, 0, [1.0, None, 3.0])
    with pytest.raises(TemplateError, match="leads back to itself"):
        engine.put_formula("S", 1, 0, formula)


def test_a_typed_cell_whose_formula_reads_it_stops_the_build(tmp_path: Path) -> None:
    text = TYPED.replace('from_job = "oven.tray.long"', 'from_job = "oven.tray.long"\ninstead = { by = "long * 2" }')
    with pytest.raises(TemplateError, match=r"kitchen\.toml: tray\.long: the formula leads back to itself"):
        little(tmp_path, {"kitchen": text, "lists": 'made = "tables"'}).build("little", bakery_job())


def test_every_error_has_words() -> None:
    assert error_of({"type": "Error", "kind": "Div"}) == "divides by nothing"
    assert error_of({"kind": "Spill"}) == "gives Spill"
    assert [error_of(value) for value in (0.0, "", "#N/A", True, None)] == [""] * 5


# -- cells -------------------------------------------------------------------------------------------------------------


def test_values_as_cells_hold_them() -> None:
    assert cell_value(None) is None and cell_value("=1+1") == "=1+1" and cell_value(True) is True
    assert cell_value(3) == 3.0 and isinstance(cell_value(3), float)
    assert cell_value(date(2024, 5, 17)) == 45429.0 and serial(date(1900, 3, 1)) == 61.0


@pytest.mark.parametrize(
    "text", ["=1+1", "+43", "-2", "@home", "1/2", "2024-05-17", "1E5", "TRUE", "'quoted", " blank ", "#N/A"]
)
def test_text_is_text_to_the_engine(text: str) -> None:
    engine = Engine(["S"])
    engine.put_values("S", 0, 0, [text])
    engine.put_formulas("S", 0, 1, ['=A1&"|"', "=ISTEXT(A1)", "=LEN(A1)"][:1])
    engine.put_formulas("S", 0, 2, ["=ISTEXT(A1)"])
    engine.calculate()
    assert engine.take("S", 0, 1, 1) == [f"{text}|"] and engine.take("S", 0, 2, 1) == [True]


def test_progress_is_told() -> None:
    steps: list[int] = []
    bakery().compute("bakery", None, "mm", lambda: steps.append(1))
    assert len(steps) >= 3
