"""Fingerprints: one for one tree, however a program spells it, and another for every small change."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_expression import trees
from workshops import EDITIONS, bakery, bakery_job

from workbook_builder.errors import TemplateError
from workbook_builder.expression import Name, Node, replace_names, write
from workbook_builder.fingerprint import canonical, fingerprint, fingerprint_of_values, number_text, shape
from workbook_builder.prove import Proof
from workbook_builder.render import Renderer, full_range

NAMES = {"ovens_door": "'Ovens'!$D$3", "dough_flour": "Dough!$B$15", "trays_long": "'Ovens'!$C$46:$C$51"}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("=A1+B2", "= a1 + B2".upper()),
        ("=A1+B2", "=(A1+B2)"),
        ("=SUM(A1,2)", "=sum(A1, 2)"),
        ("=A1*0.5", "=A1*.5"),
        ("=A1*1000000", "=A1*1E+6"),
        ("=A1*0.083333333333333329", "=A1*0.0833333333333333"),
        ("=A1-1-2", "=(A1-1)-2"),
        ("=ovens_door*2", "=OVENS_DOOR*2"),
        ("=ovens_door*2", "='Ovens'!$D$3*2"),
        ("=ovens_door*2", "=Ovens!$D$3*2"),
        ("=ovens_door*2", "=$D$3*2"),
        ("=SUM(trays_long)", "=SUM($C$46:$C$51)"),
        ("=A1=TRUE", "=A1=TRUE()"),
        ("=$A$5:$A$5", "=$A$5"),
        ('="a""b"&C3', '= "a""b" & C3'),
    ],
)
def test_other_spellings_of_one_formula(one: str, other: str) -> None:
    assert fingerprint(one, "Ovens", 4, NAMES) == fingerprint(other, "Ovens", 4, NAMES)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("=A1+B2", "=A1-B2"),
        ("=A1+B2", "=B2+A1"),
        ("=A1+B2", "=A1+B3"),
        ("=A1+B2", "=A1+$B$2"),
        ("=A1+B2", "=A1+C2"),
        ("=A1-(B2-1)", "=A1-B2-1"),
        ("=-(A1^2)", "=(-A1)^2"),
        ("=A1<=B2", "=A1<B2"),
        ("=A1*0.5", "=A1*0.51"),
        ('=A1&"x"', '=A1&"X"'),
        ('=A1&"x"', '=A1&"x "'),
        ('=A1&"1"', "=A1&1"),
        ("=ovens_door", "=dough_flour"),
        ("=ovens_door", "=Dough!$D$3"),
        ("=SUM($C$46:$C$51)", "=SUM($C$46:$C$50)"),
        ("=TRUE", '="TRUE"'),
        ("=IF(A1>0,1,2)", "=IF(A1>0,2,1)"),
        ("=ROUND(A1,1)", "=ROUNDUP(A1,1)"),
    ],
)
def test_every_change_has_another(one: str, other: str) -> None:
    assert fingerprint(one, "Ovens", 4, NAMES) != fingerprint(other, "Ovens", 4, NAMES)


def test_every_row_of_a_column_has_one() -> None:
    rows = [(f"=B{row + 1}*$C$3+SUM(D$9:D{row})-'It''s'!E{row + 2}", row) for row in range(10, 30)]
    assert len({fingerprint(text, "Ovens", row) for text, row in rows}) == 1
    assert len({shape(text, row) for text, row in rows}) == 1
    moved, row = rows[3]
    assert fingerprint(moved, "Ovens", row + 1) != fingerprint(moved, "Ovens", row)


@pytest.mark.parametrize("edition", EDITIONS)
def test_names_and_addresses_of_the_fixture_have_one(edition: str) -> None:
    """What the workbook says with names is the formula that was computed with addresses."""
    book = bakery().lay_out("bakehouse", bakery_job(), edition)
    renderer, proof = Renderer(book), Proof(book)
    names = {field.defined_name.lower(): full_range(field) for field in book.fields.values()}
    for one in proof.proven:
        pattern = renderer.pattern(one)
        first = fingerprint(pattern.at(one.field.row), one.field.tab, one.field.row)
        assert first == fingerprint(pattern.at(one.field.last_row), one.field.tab, one.field.last_row)
        if one.field.scalar:
            assert first == fingerprint(renderer.for_people(one), one.field.tab, one.field.row, names)


@given(trees)
@settings(max_examples=200, deadline=None)
def test_brackets_and_blanks_do_not_matter(tree: Node) -> None:
    text = write(tree)
    assert canonical(text, "S", 3) == canonical(f"= ({text})", "S", 3)


@given(trees, st.integers(0, 1000))
@settings(max_examples=100, deadline=None)
def test_a_row_moves_along_with_its_cells(tree: Node, row: int) -> None:
    first = write(replace_names(tree, lambda _: Name("B7")))
    moved = write(replace_names(tree, lambda _: Name(f"B{7 + row}")))
    assert fingerprint(first, "S", 6) == fingerprint(moved, "S", 6 + row)


@pytest.mark.parametrize("formula", ["={1,2}", "=#REF!+1", "=A1:B2:C3", "=(", "=@A1"])
def test_what_no_template_says_is_told(formula: str) -> None:
    with pytest.raises(TemplateError):
        fingerprint(formula, "S", 0)


def test_fixed_values() -> None:
    assert fingerprint_of_values([1.0, "x", None]) == fingerprint_of_values([1, "x", ""])
    different = [
        [1.0, 2.0],
        [2.0, 1.0],
        [1.0],
        ["1"],
        [True],
        [1.0, None, 2.0],
        [12.0],
        ["1.0"],
        ["b1"],
        ["n1"],
        [None, None],
    ]
    assert len({fingerprint_of_values(values) for values in different}) == len(different)  # type: ignore[arg-type]
    assert fingerprint_of_values([0.1 + 0.2]) == fingerprint_of_values([0.3])
    assert (number_text(-0.0), number_text(1e20), number_text(0.1 + 0.2)) == ("0", "1e+20", "0.3")
