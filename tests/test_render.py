"""Rendering: one tree, once with names for people and once with plain addresses."""

from __future__ import annotations

from pathlib import Path

import pytest
from workshops import bakery, bakery_job, little

from workbook_builder.book import Field
from workbook_builder.errors import TemplateError
from workbook_builder.expression import names, parse
from workbook_builder.prove import Proof, Proven
from workbook_builder.render import (
    AFTER,
    BEFORE,
    LONGEST_FORMULA,
    ROW,
    Pattern,
    Renderer,
    address,
    full_range,
    quoted,
    whole_range,
)

TWO_SHEETS = {
    "kitchen": """
title = "Baker's kitchen"
[[input]]
name = "long"
label = "Long"
[[result]]
name = "double"
label = "Double"
formula = "long * 2 + ovens.door"
[[table]]
name = "tray"
title = "T"
rows = 3
seed = true
[[table.column]]
name = "mark"
label = "M"
unit = "text"
[[table.column]]
name = "size"
label = "S"
[[table.column]]
name = "all"
label = "All"
formula = '''
size + kitchen.long + ovens.door + previous.size + next.size + SUM(above.size) + SUM(tray.size) + SUM(heat.most)'''
[[table]]
name = "lone"
title = "One"
rows = 1
[[table.column]]
name = "only"
label = "O"
""",
    "ovens": """
[[input]]
name = "door"
label = "Door"
[[table]]
name = "heat"
title = "H"
rows = 2
[[table.column]]
name = "most"
label = "Most"
[[table.column]]
name = "of_one"
label = "O"
formula = "SUM(lone.only) + ovens.door"
""",
}


@pytest.fixture
def proof(tmp_path: Path) -> Proof:
    return Proof(little(tmp_path, TWO_SHEETS).lay_out("little", None, "inch"))


def proven(proof: Proof, name: str) -> Proven:
    """A field's formula as it is proved."""
    return next(one for one in proof.proven if one.field.name == name)


def test_a_pattern_is_filled_row_by_row() -> None:
    pattern = Pattern(f"=A{ROW}+A{BEFORE}-A{AFTER}+SUM(A$3:A{BEFORE})")
    assert pattern.at(4) == "=A5+A4-A6+SUM(A$3:A4)"
    assert pattern.at(99) == "=A100+A99-A101+SUM(A$3:A99)"
    assert Pattern("=$A$1").at(7) == "=$A$1"


def test_a_row_formula_says_addresses(proof: Proof) -> None:
    renderer, book = Renderer(proof.book), proof.book
    one = proven(proof, "tray.all")
    first, last = one.field.row, one.field.last_row
    size, tray = "B", f"$B${first + 1}:$B${last + 1}"
    long, door = address(book.fields["kitchen.long"]), address(book.fields["ovens.door"])
    heat = whole_range(book.fields["heat.most"])
    assert renderer.pattern(one).at(first) == (
        f"={size}{first + 1}+{long}+'Ovens'!{door}+{size}{first}+{size}{first + 2}"
        f"+SUM({size}${first}:{size}{first})+SUM({tray})+SUM('Ovens'!{heat})"
    )
    assert renderer.pattern(one).at(last).startswith(f"={size}{last + 1}+{long}")


def test_a_range_above_never_holds_its_own_cell(proof: Proof) -> None:
    pattern = Renderer(proof.book).pattern(proven(proof, "tray.all"))
    field = proof.book.fields["tray.size"]
    for row in range(field.row, field.last_row + 1):
        found = next(name for name in names(parse(pattern.at(row))) if name.startswith(f"B${field.row}:"))
        assert int(found.rpartition("B")[2]) == row < row + 1


def test_a_scalar_formula_says_names_and_addresses(proof: Proof) -> None:
    renderer = Renderer(proof.book)
    one = proven(proof, "kitchen.double")
    long, door = address(proof.book.fields["kitchen.long"]), address(proof.book.fields["ovens.door"])
    assert renderer.for_people(one) == "=kitchen_long*2+ovens_door"
    assert renderer.pattern(one).at(0) == f"={long}*2+'Ovens'!{door}"


def test_a_column_of_one_row_is_one_cell(proof: Proof) -> None:
    only = proof.book.fields["lone.only"]
    assert whole_range(only) == address(only)
    assert (
        Renderer(proof.book)
        .pattern(proven(proof, "heat.of_one"))
        .at(0)
        .startswith(f"=SUM('Baker''s kitchen'!{address(only)})")
    )


@pytest.mark.parametrize(("tab", "text"), [("Ovens", "'Ovens'!"), ("Fit up", "'Fit up'!"), ("Baker's", "'Baker''s'!")])
def test_a_sheets_name_is_quoted(tab: str, text: str) -> None:
    assert quoted(tab) == text


def test_addresses_are_absolute() -> None:
    field = Field("tray.x", "column", "It's", 4, 27, "number", "", "X", "a.toml", rows=3)
    assert address(field) == "$AB$5" and address(field, 9) == "$AB$10"
    assert whole_range(field) == "$AB$5:$AB$7" and full_range(field) == "'It''s'!$AB$5:$AB$7"


def test_a_formula_too_long_for_a_cell_is_told(tmp_path: Path) -> None:
    much = f"MAX({', '.join(['ROUND(kitchen.long, 1)'] * 600)})"
    text = f'[[input]]\nname = "long"\nlabel = "L"\n[[result]]\nname = "much"\nlabel = "M"\nformula = "{much}"\n'
    with pytest.raises(TemplateError, match=r"kitchen\.toml: kitchen\.much: the formula is too long for a cell"):
        little(tmp_path, {"kitchen": text}).build("little")


def test_macros_may_make_a_formula_too_long(tmp_path: Path) -> None:
    macros = "".join(
        f'[macro.m{n}]\ntakes = ["x"]\nformula = "{"m" + str(n + 1) + "(x)" if n < 12 else "x + 1"} + '
        f'{"m" + str(n + 1) + "(x)" if n < 12 else "x"}"\n'
        for n in range(13)
    )
    text = '[[input]]\nname = "long"\nlabel = "L"\n[[result]]\nname = "much"\nlabel = "M"\nformula = "m0(long)"\n'
    with pytest.raises(TemplateError, match="too long for a cell"):
        little(tmp_path, {"kitchen": text}, macros=macros).build("little")


def test_every_formula_of_the_fixture_is_short_and_plain() -> None:
    book, proof, renderer = bakery().prepare("bakehouse", bakery_job(), "mm")
    for one in proof.proven:
        text = renderer.pattern(one).at(one.field.row)
        assert len(text) < LONGEST_FORMULA
        for name in names(parse(text)):
            # addresses alone: no name of the template is left, no sheet that is not there
            tab, _, cells = name.rpartition("!")
            assert set(cells) <= set("$:ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"), text
            assert tab.strip("'") in {"", *(plan.tab for plan in book.sheets), "Names"}, text
