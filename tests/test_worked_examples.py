"""Worked examples: the sheet's own formulas, live, fed with published inputs beside the published answer."""

from __future__ import annotations

from pathlib import Path

import pytest
from workshops import BAKERY, EDITIONS, bakery, bakery_job, little

from workbook_builder.build import Workshop
from workbook_builder.errors import TemplateError
from workbook_builder.expression import names, parse

PROOFS = (BAKERY / "templates" / "sheets" / "proofs.toml").read_text(encoding="utf-8").removeprefix("schema = 1\n")

SHEET = """
[[input]]
name = "share"
label = "Share"
default = 3
from_job = "bakery.loaves"
[[constant]]
name = "foot"
label = "Foot"
unit = "length"
value = "1 ft"
[[result]]
name = "half"
label = "Half"
formula = "share / 2"
[[result]]
name = "quarter"
label = "Quarter"
formula = "half / 2"
[[result]]
name = "told"
label = "Told"
unit = "text"
formula = '"half is " & ROUND(half, 2)'
[[table]]
name = "tray"
title = "T"
rows = 2
seed = true
key = "mark"
[[table.column]]
name = "mark"
label = "M"
unit = "text"
[[table.column]]
name = "long"
label = "L"
unit = "length"
[[table.column]]
name = "feet"
label = "F"
formula = "long / kitchen.foot"
needs = ["long"]
[[table.column]]
name = "feet_half"
label = "H"
formula = "feet * kitchen.half"
needs = ["feet"]
[[table.column]]
name = "price"
label = "P"
unit = "money"
formula = 'INDEX(flour.price, MATCH(mark, flour.key, 0))'
[[table.column]]
name = "sum"
label = "S"
unit = "length"
formula = "SUM(above.long)"
[[table.column]]
name = "before"
label = "B"
unit = "length"
formula = "previous.long"
[[table.column]]
name = "most"
label = "X"
unit = "length"
formula = "MAX(tray.long)"
[[table.column]]
name = "after_sum"
label = "A"
unit = "length"
formula = "sum + long"
"""


def example(lines: str, source: str = "by hand") -> str:
    """One example."""
    return f'\n[[example]]\nsource = "{source}"\n{lines}\n'


def shop_with(folder: Path, sheet: str, proofs: str = PROOFS) -> Workshop:
    """The workbook with a sheet, the reference tables it uses, and the sheet that shows its examples."""
    return little(folder, {"kitchen": sheet, "lists": 'made = "tables"', "proofs": proofs})


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("with_job", [False, True])
def test_every_example_of_the_fixture_comes_out(edition: str, with_job: bool) -> None:
    book, computed = bakery().compute("bakehouse", bakery_job() if with_job else None, edition)
    assert len(book.cases) == 6
    assert computed.values["proof.verdict"] == ["✓"] * 6 and computed.values["proofs.wrong"] == [0.0]


def test_an_examples_row_tells_what_it_is(tmp_path: Path) -> None:
    text = SHEET + example('inputs = { share = 5 }\nexpect = { half = 2.5 }\nwithin = 0.01\nnote = "n"', "page 7")
    shop = shop_with(tmp_path, text)
    book, computed = shop.compute("little", None, "inch")
    assert computed.values["proof.what"] == ["Half"]
    assert computed.values["proof.published"] == [2.5] and computed.values["proof.within"] == [0.01]
    assert computed.values["proof.found"] == [2.5]
    words = {content for plan in book.sheets for *_, content, is_formula in plan.workings if not is_formula}
    assert {"kitchen.share", 5.0, "kitchen.half"} <= words


def test_steps_are_live_and_feed_each_other(tmp_path: Path) -> None:
    text = SHEET + example("inputs = { share = 8 }\nexpect = { quarter = 2, told = 'half is 4' }\nwithin = 0")
    shop = shop_with(tmp_path, text)
    book, computed = shop.compute("little", None, "mm")
    assert computed.values["proof.verdict"] == ["✓", "✓"]
    formulas = [str(content) for plan in book.sheets for *_, content, is_formula in plan.workings if is_formula]
    assert len(formulas) == 4  # half and quarter in one row, half and told in the other
    # the copies read the check sheet's own row, never the sheet that the user types on
    assert all("!" not in name for text in formulas for name in names(parse(text)))


def test_an_example_takes_declared_values_and_not_the_jobs(tmp_path: Path) -> None:
    text = SHEET + example("expect = { half = 1.5 }\nwithin = 0")
    shop = shop_with(tmp_path, text)
    _, computed = shop.compute("little", bakery_job(), "inch")
    assert computed.values["kitchen.half"] == [12.0] and computed.values["proof.verdict"] == ["✓"]


def test_an_example_of_a_row_uses_constants_rules_and_reference_tables(tmp_path: Path) -> None:
    text = SHEET + example(
        "table = 'tray'\ninputs = { mark = 'rye|rough', long = '2 ft' }\n"
        "expect = { feet = 2, feet_half = 3, price = '2 money' }\nwithin = 1e-9"
    )
    shop = shop_with(tmp_path, text)
    for edition in EDITIONS:
        _, computed = shop.compute("little", None, edition)
        assert computed.values["proof.verdict"] == ["✓"] * 3, edition


def test_an_example_may_give_a_value_of_another_sheet(tmp_path: Path) -> None:
    text = SHEET + example(
        "table = 'tray'\ninputs = { mark = 'x', long = '1 ft', 'kitchen.share' = 10 }\n"
        "expect = { feet_half = 5 }\nwithin = 0"
    )
    shop = shop_with(tmp_path, text)
    assert shop.compute("little", None, "inch")[1].values["proof.verdict"] == ["✓"]


def test_an_example_may_give_a_step(tmp_path: Path) -> None:
    text = SHEET + example("inputs = { half = 7 }\nexpect = { quarter = 3.5 }\nwithin = 0")
    shop = shop_with(tmp_path, text)
    assert shop.compute("little", None, "inch")[1].values["proof.verdict"] == ["✓"]


@pytest.mark.parametrize("expected", ["2.49", "'wrong'"])
def test_an_example_that_does_not_come_out_is_seen(tmp_path: Path, expected: str) -> None:
    name = "told" if "'" in expected else "half"
    text = SHEET + example(f"inputs = {{ share = 5 }}\nexpect = {{ {name} = {expected} }}\nwithin = 0.001")
    shop = shop_with(tmp_path, text)
    _, computed = shop.compute("little", None, "inch")
    assert computed.values["proof.verdict"] == ["✗"] and computed.values["proofs.wrong"] == [1.0]


def test_an_example_is_tried_in_its_edition_alone(tmp_path: Path) -> None:
    text = SHEET + example("edition = 'mm'\nexpect = { half = 1.5 }\nwithin = 0")
    shop = shop_with(tmp_path, text)
    assert [len(shop.lay_out("little", None, edition).cases) for edition in EDITIONS] == [0, 1]
    shop.build("little", None, "inch")


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (
            "table = 'tray'\nexpect = { sum = '1 in' }\nwithin = '0 in'",
            "the example for 'sum' needs above tray.long, which only a whole table has",
        ),
        ("table = 'tray'\nexpect = { before = '1 in' }\nwithin = '0 in'", "needs previous tray.long"),
        ("table = 'tray'\nexpect = { most = '1 in' }\nwithin = '0 in'", "needs column tray.long"),
        ("table = 'tray'\nexpect = { after_sum = '1 in' }\nwithin = '0 in'", "needs above tray.long"),
        ("expect = { haff = 1 }\nwithin = 0", "an example expects 'haff'; did you mean 'kitchen.half'?"),
        ("inputs = { shore = 1 }\nexpect = { half = 1 }\nwithin = 0", "an example gives 'shore'"),
        ("expect = { half = '1 in' }\nwithin = 0", "kitchen.toml: example of kitchen.half: '1 in' is not a number"),
        (
            "expect = { half = 1 }\nwithin = { inch = 0 }",
            "example of kitchen.half: there is no within for the mm edition",
        ),
        (
            "table = 'tray'\ninputs = { long = '1 lb' }\nexpect = { feet = 1 }\nwithin = 0",
            "example of tray.long: '1 lb' is not a length",
        ),
    ],
)
def test_an_example_that_cannot_be_is_told(tmp_path: Path, lines: str, said: str) -> None:
    shop = shop_with(tmp_path, SHEET + example(lines))
    with pytest.raises(TemplateError) as caught:
        shop.compute("little", None, "mm")
    assert str(caught.value).startswith("kitchen.toml: ") and said in str(caught.value)


def test_an_example_that_fails_names_its_file(tmp_path: Path) -> None:
    text = SHEET.replace('"share / 2"', '"2 / share"') + example(
        "inputs = { share = 0 }\nexpect = { half = 1 }\nwithin = 0"
    )
    shop = shop_with(tmp_path, text)
    with pytest.raises(TemplateError) as caught:
        shop.compute("little", None, "inch")
    assert str(caught.value).startswith("kitchen.toml: ") and "divides by nothing" in str(caught.value)


def test_the_methods_sheet_lists_every_result() -> None:
    book, computed = bakery().compute("bakehouse", None, "inch")
    assert len(computed.values["methods.what"]) == len(book.results)
    told = dict(zip(computed.values["methods.what"], computed.values["methods.formula"], strict=True))
    assert told["Flour"] == "loaf_mass * loaves / (1 + water_share)"
    assert "dough.flour" in book.results and "rack.iron" in book.results


def test_a_made_column_of_an_unknown_fact_is_told(tmp_path: Path) -> None:
    proofs = PROOFS.replace('made = "within"', 'made = "withinn"')
    text = SHEET + example("expect = { half = 1.5 }\nwithin = 0")
    shop = shop_with(tmp_path, text, proofs)
    with pytest.raises(TemplateError, match=r"proofs\.toml: .*nothing is made for 'withinn'; did you mean 'within'"):
        shop.compute("little", None, "inch")
