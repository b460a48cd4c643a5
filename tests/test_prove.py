"""Proof: units are followed through every formula, the second of two gets its factor, what does not fit is refused."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_functions_agree import FUNCTIONS
from workshops import EDITIONS, bakery, little

from workbook_builder.book import Book
from workbook_builder.build import Workshop
from workbook_builder.errors import TemplateError
from workbook_builder.expression import BINDING, Binary, Call, Name, Node, Number, Text, Truth, Unary, write
from workbook_builder.prove import Proof, plain, signature, signatures, spread

KITCHEN = """
[[constant]]
name = "foot"
label = "A foot"
unit = "length"
value = "1 ft"
[[constant]]
name = "right"
label = "A right angle"
unit = "angle"
value = "90 deg"
[[constant]]
name = "share"
label = "A share"
value = 0.5
[[input]]
name = "long"
label = "Long"
unit = "length"
[[input]]
name = "wide"
label = "Wide"
unit = "length"
[[input]]
name = "rail"
label = "Rail"
unit = "mass_per_length"
[[input]]
name = "load"
label = "Load"
unit = "mass"
[[input]]
name = "slope"
label = "Slope"
unit = "slope"
[[input]]
name = "turn"
label = "Turn"
unit = "angle"
[[input]]
name = "price"
label = "Price"
unit = "money"
[[input]]
name = "day"
label = "Day"
unit = "date"
[[input]]
name = "word"
label = "Word"
unit = "text"
[[input]]
name = "open"
label = "Open"
unit = "boolean"
[[input]]
name = "many"
label = "Many"
format = "whole"
[[input]]
name = "some"
label = "Some"
[[result]]
name = "length"
label = "Length"
unit = "length"
formula = "long"
[[result]]
name = "area"
label = "Area"
unit = "area"
formula = "long ^ 2"
[[result]]
name = "volume"
label = "Volume"
unit = "volume"
formula = "long ^ 3"
[[result]]
name = "mass"
label = "Mass"
unit = "mass"
formula = "load"
[[result]]
name = "angle"
label = "Angle"
unit = "angle"
formula = "turn"
[[result]]
name = "number"
label = "Number"
formula = "some"
[[result]]
name = "told"
label = "Told"
unit = "text"
formula = "word"
[[result]]
name = "cost"
label = "Cost"
unit = "money"
formula = "price"
[[result]]
name = "truth"
label = "Truth"
unit = "boolean"
formula = "some > 1"
[[result]]
name = "counted"
label = "Counted"
formula = "COUNT(tray.long) + 1"
[[result]]
name = "third"
label = "Third"
format = "whole"
formula = "some / 3"
[[table]]
name = "tray"
title = "Trays"
rows = 4
key = "mark"
seed = true
[[table.column]]
name = "mark"
label = "Mark"
unit = "text"
[[table.column]]
name = "number"
label = "No."
count = true
[[table.column]]
name = "long"
label = "Long"
unit = "length"
[[table.column]]
name = "mass"
label = "Mass"
unit = "mass"
[[table.column]]
name = "same"
label = "Same"
unit = "length"
formula = "long"
[[table.column]]
name = "flag"
label = "Flag"
unit = "boolean"
formula = "long > kitchen.foot"
[[table.column]]
name = "sum"
label = "Sum"
formula = "number"
[[table]]
name = "other"
title = "Other"
rows = 7
[[table.column]]
name = "long"
label = "Long"
unit = "length"
"""
MACROS = """
[macro.within]
takes = ["x", "limit"]
formula = "x <= limit + 1E-9 * limit"
[macro.step]
takes = ["x"]
formula = { inch = "ROUND(x / kitchen.foot, 2)", mm = "ROUND(x / kitchen.foot, 1)" }
"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    return little(tmp_path_factory.mktemp("kitchen"), {"kitchen": KITCHEN}, macros=MACROS)


@pytest.fixture(scope="module")
def proofs(shop: Workshop) -> dict[str, Proof]:
    return {edition: Proof(shop.lay_out("little", None, edition)) for edition in EDITIONS}


def proved(proof: Proof, field: str, formula: str) -> str:
    """A formula as it is proved in a field's place, names as the author writes them on the kitchen's own sheet."""
    return write(plain(proof.formula(proof.book.fields[field], formula))).replace("kitchen.", "")


# -- factors: the second gets its own ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "formula", "inch", "mm"),
    [
        # (field, formula, what is proved in inches, what in millimetres)
        ("kitchen.mass", "rail * long", "rail*long/12", "rail*long/1000"),
        ("kitchen.mass", "long * rail", "long*rail/12", "long*rail/1000"),
        ("kitchen.mass", "load + rail * long", "load+rail*long/12", "load+rail*long/1000"),
        ("kitchen.mass", "rail * long + load", "(rail*long+load*12)/12", "(rail*long+load*1000)/1000"),
        ("kitchen.mass", "MAX(load, rail * long)", "MAX(load,rail*long/12)", "MAX(load,rail*long/1000)"),
        (
            "kitchen.mass",
            "IF(load > rail * long, load, rail * foot)",
            'IF(load>rail*long/12,IF(load="","",load),rail*foot/12)',
            'IF(load>rail*long/1000,IF(load="","",load),rail*foot/1000)',
        ),
        (
            "kitchen.mass",
            "IF(rail * long > load, rail * long, load)",
            'IF(rail*long>load*12,rail*long/12,IF(load="","",load))',
            'IF(rail*long>load*1000,rail*long/1000,IF(load="","",load))',
        ),
        ("kitchen.mass", 'IF(many > 1, "", rail * long)', 'IF(many>1,"",rail*long/12)', 'IF(many>1,"",rail*long/1000)'),
        (
            "kitchen.mass",
            "CHOOSE(many, rail * long, rail * foot)",
            "CHOOSE(many,rail*long/12,rail*foot/12)",
            "CHOOSE(many,rail*long/1000,rail*foot/1000)",
        ),
        ("kitchen.mass", 'IFERROR(rail * long, "")', 'IFERROR(rail*long/12,"")', 'IFERROR(rail*long/1000,"")'),
        ("kitchen.length", "long * slope", "long*slope/12", "long*slope/1000"),
        ("kitchen.length", "slope * foot + long", "(slope*foot+long*12)/12", "(slope*foot+long*1000)/1000"),
        ("kitchen.number", "slope", "slope/12", "slope/1000"),
        ("kitchen.number", "slope + 1", "(slope+1*12)/12", "(slope+1*1000)/1000"),
        ("kitchen.number", "1 + slope", "1+slope/12", "1+slope/1000"),
        ("kitchen.number", "ATAN2(long, slope * long)", None, None),
        ("kitchen.truth", "load = rail * long", "load=rail*long/12", "load=rail*long/1000"),
        (
            "kitchen.truth",
            "within(rail * long, load)",
            "rail*long<=(load+1E-09*load)*12",
            "rail*long<=(load+1E-09*load)*1000",
        ),
        (
            "kitchen.number",
            "COUNTIF(tray.mass, rail * long)",
            "COUNTIF(tray.mass,rail*long/12)",
            "COUNTIF(tray.mass,rail*long/1000)",
        ),
        (
            "kitchen.mass",
            "SUMIF(tray.long, long * slope, tray.mass)",
            "SUMIF(tray.long,long*slope/12,tray.mass)",
            "SUMIF(tray.long,long*slope/1000,tray.mass)",
        ),
        (
            "kitchen.mass",
            "SUMPRODUCT(tray.mass, tray.number)",
            "SUMPRODUCT(tray.mass,tray.number)",
            "SUMPRODUCT(tray.mass,tray.number)",
        ),
        ("kitchen.number", "long / foot", "long/foot", "long/foot"),
        ("kitchen.number", "step(long)", "ROUND(long/foot,2)", "ROUND(long/foot,1)"),
        ("kitchen.area", "long * wide", "long*wide", "long*wide"),
        ("kitchen.volume", "long * wide * foot", "long*wide*foot", "long*wide*foot"),
        ("kitchen.area", "SUMSQ(long, wide)", "SUMSQ(long,wide)", "SUMSQ(long,wide)"),
        ("kitchen.length", "SQRT(long ^ 2 + wide ^ 2)", "SQRT(long^2+wide^2)", "SQRT(long^2+wide^2)"),
        ("kitchen.length", "(long * wide) ^ 0.5", "(long*wide)^0.5", "(long*wide)^0.5"),
        ("kitchen.number", "long ^ 2 * foot ^ -2", "long^2*foot^(-2)", "long^2*foot^(-2)"),
        ("kitchen.length", "long / SIN(RADIANS(turn))", "long/SIN(RADIANS(turn))", "long/SIN(RADIANS(turn))"),
        ("kitchen.angle", "DEGREES(ATAN2(wide, long))", "DEGREES(ATAN2(wide,long))", "DEGREES(ATAN2(wide,long))"),
        ("kitchen.cost", "price / load * rail * long", "price/load*rail*long/12", "price/load*rail*long/1000"),
    ],
)
def test_the_second_gets_its_factor(
    proofs: dict[str, Proof], field: str, formula: str, inch: str | None, mm: str | None
) -> None:
    for edition, expected in zip(EDITIONS, (inch, mm), strict=True):
        if expected is None:
            with pytest.raises(TemplateError, match="radian"):
                proved(proofs[edition], field, formula)
        else:
            assert proved(proofs[edition], field, formula) == expected


def test_factors_are_right_in_numbers(proofs: dict[str, Proof]) -> None:
    registry = proofs["inch"].registry
    unit = registry.pint.Unit
    assert registry.factor(unit("lb / ft * in"), unit("lb")) == pytest.approx(1 / 12, rel=1e-15)
    assert registry.factor(unit("kg / m * mm"), unit("kg")) == pytest.approx(1 / 1000, rel=1e-15)
    assert registry.factor(unit("in"), unit("lb")) is None
    assert registry.factor(unit("deg"), unit("rad")) is None


# -- what fits and what does not ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "formula"),
    [
        ("kitchen.length", "0"),
        ("kitchen.length", '""'),
        ("kitchen.told", "0"),
        ("kitchen.truth", "turn <= 0"),
        ("kitchen.truth", 'long = ""'),
        ("kitchen.truth", 'word <> ""'),
        ("kitchen.length", "IF(open, long, 0)"),
        ("kitchen.length", 'IF(open, "", long)'),
        ("kitchen.length", "MAX(0, long - wide)"),
        ("kitchen.truth", "turn = right"),
        ("kitchen.truth", "AND(open, NOT(ISNUMBER(word)), OR(ISTEXT(long), TRUE))"),
        ("kitchen.number", "some * 2 + 1"),
        ("kitchen.number", "(long > wide) + (wide > foot)"),
        ("kitchen.number", "share ^ some"),
        ("kitchen.number", "MATCH(word, tray.mark, 0)"),
        ("kitchen.length", "INDEX(tray.long, MATCH(word, tray.mark, 0))"),
        ("kitchen.truth", "INDEX(tray.flag, 1)"),
        ("kitchen.told", "INDEX(tray.mark, many)"),
        ("kitchen.told", 'LEFT(word, 2) & MID(word, 1, LEN(word) - 1) & RIGHT(word, 1) & SUBSTITUTE(word, "a", "b")'),
        ("kitchen.number", 'COUNTIF(tray.mark, word) + COUNTIF(tray.mark, "loaf") + COUNTIF(tray.number, ">" & many)'),
        ("kitchen.number", 'COUNTIFS(tray.mark, word, tray.long, long, tray.number, "<=" & ROUND(some, 0))'),
        ("kitchen.mass", "SUMIFS(tray.mass, tray.mark, word, tray.long, long)"),
        ("kitchen.number", 'SUMPRODUCT((tray.mark <> "") * (tray.long > foot))'),
        ("kitchen.mass", "SUMPRODUCT((tray.long > MAX(tray.long) - foot) * 1, tray.mass)"),
        ("kitchen.number", "COUNT(tray.long, tray.mass, day)"),
        ("tray.same", "MAX(above.long, long) - previous.long + next.long"),
        ("tray.same", "kitchen.foot * number / tray_count"),
    ],
)
def test_what_fits(proofs: dict[str, Proof], field: str, formula: str) -> None:
    formula = formula.replace("tray_count", "COUNT(tray.number)")
    for proof in proofs.values():
        proof.formula(proof.book.fields[field], formula)


@pytest.mark.parametrize(
    ("field", "formula", "said"),
    [
        # wrong dimension
        ("kitchen.length", "load", "pound where the declared unit is inch: kitchen.load"),
        ("kitchen.length", "long * wide", "inch ** 2 where the declared unit is inch: kitchen.long*kitchen.wide"),
        ("kitchen.length", "long + load", "pound where the other side of + is inch: kitchen.load"),
        ("kitchen.length", "MAX(long, load)", "pound where the rest of MAX is inch"),
        ("kitchen.length", "IF(open, long, load)", "pound where the rest of IF is inch"),
        ("kitchen.truth", "long > load", "pound where the other side of > is inch"),
        ("kitchen.number", "COUNTIF(tray.long, load)", "pound where value 2 of COUNTIF is inch"),
        ("kitchen.number", 'COUNTIF(tray.long, "<" & ROUND(load, 0))', "pound where value 2 of COUNTIF is inch"),
        ("kitchen.number", "MATCH(load, tray.long, 0)", "inch where the rest of MATCH is pound"),
        ("kitchen.length", "ATAN2(long, wide)", "radian where the declared unit is inch"),
        ("kitchen.number", "ATAN2(long, load)", "pound where the rest of ATAN2 is inch"),
        # text, truth and numbers
        ("kitchen.length", "word", "text where the declared unit is inch"),
        ("kitchen.told", "some", "a plain number where the declared unit is text"),
        ("kitchen.number", "open", "true or false where the declared unit is a plain number"),
        ("kitchen.truth", "some", "a plain number where the declared unit is true or false"),
        ("kitchen.number", "word + 1", "text cannot be reckoned with"),
        ("kitchen.number", "-word", "a sign before text"),
        ("kitchen.truth", "word > 1", "a plain number where the other side of > is text"),
        ("kitchen.number", "IF(some, 1, 2)", "a plain number where value 1 of IF is true or false"),
        ("kitchen.told", 'word & open & ""', "true or false cannot be joined to text"),
        ("kitchen.number", "LEN(some)", "a plain number where value 1 of LEN is text"),
        # a bare number is a plain number
        ("kitchen.length", "long + 1", "a plain number where the other side of + is inch: 1"),
        ("kitchen.truth", "turn = 90", "a plain number where the other side of = is degree: 90"),
        ("kitchen.length", "12", "a plain number where the declared unit is inch"),
        ("kitchen.length", "MAX(1, long)", "inch where the rest of MAX is a plain number"),
        # angles
        ("kitchen.number", "TAN(turn)", "degree where value 1 of TAN is radian: kitchen.turn"),
        ("kitchen.number", "SIN(45)", "a plain number where value 1 of SIN is radian: 45"),
        ("kitchen.number", "RADIANS(turn)", "radian where the declared unit is a plain number"),
        ("kitchen.number", "COS(RADIANS(RADIANS(turn)))", "radian where value 1 of RADIANS is degree"),
        ("kitchen.angle", "ACOS(share)", "radian where the declared unit is degree"),
        ("kitchen.angle", "DEGREES(turn)", "degree where value 1 of DEGREES is radian"),
        ("kitchen.number", "ASIN(long)", "inch where value 1 of ASIN is a plain number"),
        # powers and roots
        ("kitchen.area", "long ^ some", "a power of inch needs a literal exponent"),
        ("kitchen.number", "some ^ long", "inch where an exponent is a plain number"),
        ("kitchen.number", "EXP(long)", "inch where value 1 of EXP is a plain number"),
        ("kitchen.number", "INT(long)", "inch where value 1 of INT is a plain number"),
        # unknown names, the nearest offered
        ("kitchen.length", "lng", "unknown name 'lng'"),
        ("kitchen.length", "kitchen.lond", "unknown name 'kitchen.lond'"),
        ("tray.same", "lonng", "unknown name 'lonng'"),
        ("tray.same", "previous.lonng", "unknown name 'previous.lonng'"),
        ("kitchen.length", "previous.long", "unknown name 'previous.long'"),
        ("kitchen.length", "A1", "unknown name 'A1'"),
        ("kitchen.length", "SUM(A1:A3)", "unknown name 'A1:A3'"),
        ("kitchen.length", "Sheet1!A1", "unknown name 'Sheet1!A1'"),
        ("kitchen.length", "[Book2.xlsx]Sheet1!A1", "unknown name '[Book2.xlsx]Sheet1!A1'"),
        ("kitchen.length", "SUM(tray[long])", "unknown name 'tray[long]'"),
        # functions
        ("kitchen.length", "INDIRECT(word)", "the function INDIRECT is not in the list"),
        ("kitchen.length", "OFFSET(long, 1, 1)", "the function OFFSET is not in the list"),
        ("kitchen.number", "SUMM(some)", "the function SUMM is not in the list"),
        ("kitchen.number", "VLOOKUP(word, tray.mark, 1, 0)", "the function VLOOKUP is not in the list"),
        ("kitchen.told", 'TEXT(some, "0.0")', "the function TEXT is not in the list"),
        ("kitchen.number", "RAND()", "the function RAND is not in the list"),
        ("kitchen.number", "ROUND(some)", "ROUND does not take 1 values"),
        ("kitchen.number", "IF(open, 1)", "IF does not take 2 values"),
        ("kitchen.number", "PI(1)", "PI does not take 1 values"),
        ("kitchen.number", "SUM()", "SUM does not take 0 values"),
        ("kitchen.number", "GCD(4, 6, 8)", "GCD does not take 3 values"),
        ("kitchen.number", "MATCH(word, tray.mark)", "MATCH does not take 2 values"),
        ("kitchen.number", "MATCH(word, tray.mark, 1)", "MATCH must end in 0"),
        ("kitchen.number", "MATCH(word, tray.mark, some)", "MATCH must end in 0"),
        ("kitchen.number", "some%", "a per cent sign"),
        ("kitchen.number", "some%some", "it cannot be read as a formula"),
        # what engines do not compute alike
        ("kitchen.told", 'some & "x"', "only a rounded number can be joined to text: kitchen.some"),
        ("kitchen.told", '"" & some / 3', "only a rounded number can be joined to text"),
        ("kitchen.told", '"" & ROUND(some, 6)', "only a rounded number can be joined to text"),
        ("kitchen.told", '"" & ROUND(some, 1) * 3', "only a rounded number can be joined to text"),
        ("kitchen.told", '"" & (ROUND(some, 1) + ROUND(share, 1))', "only a rounded number can be joined to text"),
        (
            "kitchen.told",
            '"" & MAX(ROUND(some, 0), ROUND(some, 0), some)',
            "only a rounded number can be joined to text",
        ),
        ("kitchen.told", '"" & IF(open, many, some)', "only a rounded number can be joined to text"),
        ("kitchen.told", '"" & third', "only a rounded number can be joined to text: kitchen.third"),
        ("kitchen.number", 'COUNTIF(tray.long, "<" & long)', "only a rounded number can be joined to text"),
        ("kitchen.number", 'COUNTIF(tray.mark, "<>")', "programs do not agree"),
        ("kitchen.number", 'COUNTIF(tray.mark, "=loaf")', "programs do not agree"),
        ("kitchen.number", 'COUNTIF(tray.mark, "lo*")', "programs do not agree"),
        ("kitchen.number", 'COUNTIFS(tray.long, foot, tray.mark, "lo?f")', "programs do not agree"),
        ("kitchen.number", "SUM(tray.mark)", "SUM of text, where only numbers are alike: tray.mark"),
        ("kitchen.number", "COUNT(tray.mark)", "COUNT of text"),
        ("kitchen.number", "MAX(word)", "MAX of text"),
        ("kitchen.number", "SUM(tray.flag)", "SUM of true or false"),
        ("kitchen.number", "SUM(some > 1)", "SUM of true or false"),
        ("kitchen.number", "ROUND(open, 0)", "ROUND of true or false"),
        ("kitchen.number", "SUMPRODUCT(tray.long > foot)", "SUMPRODUCT over a condition: multiply it by 1"),
        ("kitchen.number", 'MAX(1, IF(open, "", some))', "MAX over an empty text that is computed inside it"),
        # one cell where one cell is needed
        ("kitchen.length", "tray.long", "tray.long is a whole column where one cell is needed"),
        ("kitchen.length", "tray.long + foot", "tray.long is a whole column where one cell is needed"),
        ("kitchen.length", "SUM(tray.long * 2)", "tray.long is a whole column where one cell is needed"),
        ("kitchen.length", "SUM(IF(open, tray.long, tray.long))", "is a whole column where one cell is needed"),
        ("kitchen.length", "ABS(tray.long)", "is a whole column where one cell is needed"),
        ("kitchen.truth", "AND(tray.flag)", "is a whole column where one cell is needed"),
        ("kitchen.number", "MATCH(tray.mark, tray.mark, 0)", "is a whole column where one cell is needed"),
        ("kitchen.length", "SUMPRODUCT(ABS(tray.long))", "is a whole column where one cell is needed"),
        ("kitchen.length", "INDEX(tray.long, tray.number)", "is a whole column where one cell is needed"),
        ("tray.same", "above.long", "above.long is a whole column where one cell is needed"),
        ("kitchen.area", "SUMPRODUCT(tray.long, other.long)", "tray.long and other.long have not as many rows"),
        ("kitchen.length", "SUMIF(tray.mark, word, other.long)", "tray.mark and other.long have not as many rows"),
        ("kitchen.number", "COUNTIFS(tray.long, foot, other.long, foot)", "have not as many rows"),
        # what damages a file
        ("kitchen.told", '"' + "x" * 256 + '"', "a text in a formula has at most 255 characters"),
        ("kitchen.number", "ABS(" * 61 + "some" + ")" * 61, "functions stand more than 60 deep"),
        ("kitchen.number", " + ".join(["some"] * 210), "more than 200 operations follow one another"),
    ],
)
def test_what_does_not_build(proofs: dict[str, Proof], field: str, formula: str, said: str) -> None:
    proof = proofs["inch"]
    with pytest.raises(TemplateError) as caught:
        proof.formula(proof.book.fields[field], formula)
    error = caught.value
    assert said in str(error)
    # every error names file, name and formula
    assert error.file == "kitchen.toml" and error.place == field
    assert str(error).startswith(f"kitchen.toml: {field}: ") and f"(formula: {formula})" in str(error)


@pytest.mark.parametrize(
    ("field", "formula", "nearest"),
    [
        ("kitchen.length", "lng", "long"),
        ("kitchen.length", "kitchen.lond", "kitchen.long"),
        ("tray.same", "lonng", "long"),
        ("tray.same", "previous.lonng", "long"),
        ("kitchen.number", "SUMM(some)", "SUM"),
        ("kitchen.number", "trray.number", "tray.number"),
    ],
)
def test_the_nearest_name_is_offered(proofs: dict[str, Proof], field: str, formula: str, nearest: str) -> None:
    with pytest.raises(TemplateError) as caught:
        proofs["mm"].formula(proofs["mm"].book.fields[field], formula)
    assert str(caught.value).endswith(f"(formula: {formula}); did you mean {nearest!r}?")


def test_previous_needs_a_seed_row_as_well_as_above(proofs: dict[str, Proof]) -> None:
    proof = proofs["inch"]
    other = proof.book.fields["other.long"]
    for name in ("above", "previous"):
        with pytest.raises(TemplateError, match=rf"'{name}.long' needs seed = true in table 'other'"):
            proof.formula(other, f"SUM({name}.long)")
    proof.formula(other, "next.long")


# -- blanks stay blank -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "formula", "expected"),
    [
        ("kitchen.told", "word", 'word&""'),
        ("kitchen.length", "long", 'IF(long="","",long)'),
        ("kitchen.length", "foot", "foot"),
        ("kitchen.length", "length", "length"),
        ("kitchen.told", "INDEX(tray.mark, 2)", 'INDEX(tray.mark,2)&""'),
        ("kitchen.length", "INDEX(tray.long, 2)", 'IF(INDEX(tray.long,2)="","",INDEX(tray.long,2))'),
        ("kitchen.length", "INDEX(tray.same, 2)", "INDEX(tray.same,2)"),
        ("kitchen.told", 'IF(open, word, "x")', 'IF(open,word&"","x")'),
        ("kitchen.told", 'IFERROR(INDEX(tray.mark, many), "")', 'IFERROR(INDEX(tray.mark,many)&"","")'),
        ("kitchen.told", "CHOOSE(many, word, told)", 'CHOOSE(many,word&"",told)'),
        ("kitchen.told", 'word & "!"', 'word&"!"'),
        ("kitchen.length", "long + 0", "long+0"),
        ("tray.same", "previous.same", 'IF(tray.same="","",tray.same)'),
    ],
)
def test_a_blank_cell_handed_on_stays_blank(proofs: dict[str, Proof], field: str, formula: str, expected: str) -> None:
    assert proved(proofs["inch"], field, formula) == expected


def test_a_cell_that_is_needed_is_not_asked_twice(tmp_path: Path) -> None:
    text = """
[[table]]
name = "tray"
title = "Trays"
rows = 2
[[table.column]]
name = "long"
label = "Long"
[[table.column]]
name = "same"
label = "Same"
formula = "long"
needs = ["long"]
"""
    proof = Proof(little(tmp_path, {"kitchen": text}).lay_out("little", None, "inch"))
    assert write(plain(proof.formula(proof.book.fields["tray.same"]))) == 'IF(COUNT(tray.long)<1,"",tray.long)'


@pytest.mark.parametrize(
    ("formula", "expected"),
    [
        ('ROUND(some, 0) & " in"', 'ROUND(some,0)+0&" in"'),
        ('ROUND(some, 4) & ""', 'ROUND(some,4)+0&""'),
        ('IF(open, "", ROUND(some, 1)) & "x"', 'IF(open,"",ROUND(some,1)+0)&"x"'),
        ('many & "x"', 'many&"x"'),
        ('counted & "x"', 'counted&"x"'),
        ('12 & "x"', '12&"x"'),
        ('MATCH(word, tray.mark, 0) & "/" & COUNT(tray.long)', 'MATCH(word,tray.mark,0)&"/"&COUNT(tray.long)'),
        ('ROUND(some, 0) / GCD(ROUND(some, 0), 16) & ""', 'ROUND(some,0)/GCD(ROUND(some,0),16)+0&""'),
    ],
)
def test_rounded_numbers_are_joined_to_text(proofs: dict[str, Proof], formula: str, expected: str) -> None:
    assert proved(proofs["inch"], "kitchen.told", formula) == expected


# -- circles -----------------------------------------------------------------------------------------------------------

CIRCLE = """
[[result]]
name = "a"
label = "A"
formula = "b + 1"
[[result]]
name = "b"
label = "B"
formula = "SUM(tray.c)"
[[table]]
name = "tray"
title = "Trays"
rows = 2
[[table.column]]
name = "c"
label = "C"
formula = "kitchen.a"
"""


def test_a_circle_is_told_name_by_name(tmp_path: Path) -> None:
    shop = little(tmp_path, {"kitchen": CIRCLE})
    with pytest.raises(TemplateError) as caught:
        shop.build("little")
    said = str(caught.value)
    assert "the formula leads back to itself: " in said and said.startswith("kitchen.toml: ")
    assert all(name in said for name in ("kitchen.a", "kitchen.b", "tray.c")) and "(formula: " in said


@pytest.mark.parametrize("formula", ["self + 1", "SUM(tray.self)", "INDEX(tray.self, 1)", "COUNTIF(tray.self, 2)"])
def test_a_column_that_reads_itself_is_a_circle(tmp_path: Path, formula: str) -> None:
    text = '[[table]]\nname = "tray"\ntitle = "T"\nrows = 2\n[[table.column]]\nname = "self"\nlabel = "S"\n'
    text += f'formula = "{formula}"'
    with pytest.raises(TemplateError, match=r"tray\.self: the formula leads back to itself: tray\.self → tray\.self"):
        little(tmp_path, {"kitchen": text}).build("little")


# -- the list of functions ---------------------------------------------------------------------------------------------


def test_the_list_is_the_one_whose_answers_are_tested() -> None:
    assert set(signatures()) == FUNCTIONS
    text = files("workbook_builder").joinpath("functions.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text) == signatures()


def test_every_signature_can_be_read() -> None:
    for name, text in signatures().items():
        if text == "product":
            continue
        parameters, gives = signature(text)
        marks = {mark for parameter in parameters for mark in parameter.marks}
        assert all(mark.removesuffix(":") in {*"1rdtban#*c"} for mark in marks), name
        assert gives.partition("^")[0] in {*"1rdtban"}, name


def test_arguments_are_spread_over_a_signature() -> None:
    assert spread(signature("a 1 1? -> a")[0], 2) == ["a", "1"]
    assert spread(signature("a 1 1? -> a")[0], 3) == ["a", "1", "1"]
    assert spread(signature("a 1 1? -> a")[0], 4) is None
    assert spread(signature("n: (a: c)... -> n")[0], 5) == ["n:", "a:", "c", "a:", "c"]
    assert spread(signature("n: (a: c)... -> n")[0], 4) is None
    assert spread(signature("-> 1")[0], 0) == []


@pytest.mark.parametrize("name", ["sum", "if", "round"])
def test_a_macro_may_not_take_a_functions_place(tmp_path: Path, name: str) -> None:
    shop = little(tmp_path, {"kitchen": ""}, macros=f'[macro.{name}]\ntakes = ["x"]\nformula = "x"')
    with pytest.raises(TemplateError, match=rf"shared\.toml: macro {name}: it has the name of a function"):
        shop.build("little")


# -- random formulas ---------------------------------------------------------------------------------------------------

SOME_NAMES = [
    "long", "kitchen.long", "load", "turn", "word", "open", "many", "some", "tray.long", "tray.mark", "tray.flag",
    "number", "previous.long", "next.mark", "above.long", "other.long", "nothing", "tray.nothing", "price", "slope",
    "rail", "day",
]  # fmt: skip

random_leaves: st.SearchStrategy[Node] = st.one_of(
    st.sampled_from([0.0, 1.0, 2.0, 0.5, 1e-9, 1e6]).map(Number),
    st.sampled_from(["", "x", "<", "<>", "a*", "✓ within"]).map(Text),
    st.booleans().map(Truth),
    st.sampled_from(SOME_NAMES).map(Name),
)


def deeper(inner: st.SearchStrategy[Node]) -> st.SearchStrategy[Node]:
    """Trees one step deeper, of every function and operator."""
    return st.one_of(
        st.builds(Binary, st.sampled_from(list(BINDING)), inner, inner),
        st.builds(Unary, st.sampled_from(["-", "+", "%"]), inner),
        st.builds(
            Call, st.sampled_from([*sorted(FUNCTIONS), "WITHIN", "STEP", "NOW"]), st.lists(inner, max_size=4).map(tuple)
        ),
    )


random_trees = st.recursive(random_leaves, deeper, max_leaves=12)


@cache
def kitchen_proof(folder: Path, edition: str) -> Proof:
    """The kitchen's proof, made once for all random formulas."""
    return Proof(little(folder, {"kitchen": KITCHEN}, macros=MACROS).lay_out("little", None, edition))


@given(
    random_trees, st.sampled_from(["kitchen.length", "kitchen.told", "kitchen.number", "kitchen.truth", "tray.same"])
)
@settings(max_examples=600, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_proof_never_fails_but_with_a_template_error(proofs: dict[str, Proof], tree: Node, field: str) -> None:
    proof = proofs["mm"]
    formula = write(tree)
    try:
        proof.formula(proof.book.fields[field], formula)
    except TemplateError as error:
        assert error.file == "kitchen.toml" and error.place == field and formula in str(error)


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=30))
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_text_breaks_the_proof(proofs: dict[str, Proof], formula: str) -> None:
    proof = proofs["inch"]
    try:
        proof.formula(proof.book.fields["kitchen.number"], formula)
    except TemplateError as error:
        assert error.place == "kitchen.number"


# -- the fixture -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("workbook", ["bakery", "bakehouse"])
def test_the_fixture_is_proved(workbook: str, edition: str) -> None:
    book: Book = bakery().lay_out(workbook, None, edition)
    proof = Proof(book)
    assert {one.field.name for one in proof.proven} == {field.name for field in book.fields.values() if field.formula}
