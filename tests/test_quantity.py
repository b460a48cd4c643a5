"""Quantities as people write them, and the units they are written in."""

from __future__ import annotations

import math
from datetime import date
from fractions import Fraction as F
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbook_builder.errors import TemplateError
from workbook_builder.quantity import By, Quantity, QuantityError, Units, convert, load_units, parse, shipped

LENGTHS = "units for a length: in, ft, mm, cm, m; for example 36 1/2 in"

READ = [
    ("36 1/2 in", "length", "in", F(73, 2), "in"),
    ("36-1/2 in", "length", "in", F(73, 2), "in"),
    ("36  1/2  in", "length", "mm", F(73, 2), "in"),
    ('36 1/2"', "length", "mm", F(73, 2), "in"),
    ("36½ in", "length", "in", F(73, 2), "in"),
    ("36 1⁄2 in", "length", "in", F(73, 2), "in"),
    ("-36 1/2 in", "length", "in", F(-73, 2), "in"),
    ("− 36 1/2 in", "length", "in", F(-73, 2), "in"),
    ("+3 in", "length", "in", F(3), "in"),
    ("36 inches", "length", "in", F(36), "in"),
    ("36 IN", "length", "in", F(36), "in"),
    ("36 in.", "length", "in", F(36), "in"),
    ("4 ft 0 1/4 in", "length", "in", F(193, 4), "in"),
    ("4'-0 1/4\"", "length", "in", F(193, 4), "in"),
    ("4' 0-1/4\"", "length", "in", F(193, 4), "in"),
    ("4'0-1/4\"", "length", "in", F(193, 4), "in"),
    ("4′-0 1/4″", "length", "in", F(193, 4), "in"),
    ("4 ft. 2 in.", "length", "mm", F(50), "in"),
    ("4ft2in", "length", "mm", F(50), "in"),
    ("4'-1/2\"", "length", "in", F(97, 2), "in"),
    ("-4 ft 2 in", "length", "in", F(-50), "in"),
    ("4 1/2 ft", "length", "in", F(9, 2), "ft"),
    ("1250 mm", "length", "in", F(1250), "mm"),
    ("1.25 m", "length", "in", F(5, 4), "m"),
    ("1 m 25 cm 3 mm", "length", "in", F(1253), "mm"),
    (".5 in", "length", "mm", F(1, 2), "in"),
    ("5. in", "length", "mm", F(5), "in"),
    ("12 cm", "length", "in", F(12), "cm"),
    ("1/8 in", "length", "in", F(1, 8), "in"),
    ("5/4 in", "length", "in", F(5, 4), "in"),
    ("36 1/2", "length", "in", F(73, 2), "in"),
    ("36.5", "length", "mm", F(73, 2), "mm"),
    (36.1, "length", "in", F(361, 10), "in"),
    (-3, "length", "mm", F(-3), "mm"),
    (F(1, 3), "length", "mm", F(1, 3), "mm"),
    (-0.0, "length", "mm", F(0), "mm"),
    (45, "angle", "deg", F(45), "deg"),
    ("37.5 deg", "angle", "deg", F(75, 2), "deg"),
    ("37 1/2 deg", "angle", "deg", F(75, 2), "deg"),
    ("37.5°", "angle", "deg", F(75, 2), "deg"),
    ("1/4 in/ft", "slope", "in/ft", F(1, 4), "in/ft"),
    ('1/4"/ft', "slope", "mm/m", F(1, 4), "in/ft"),
    ("20 mm/m", "slope", "in/ft", F(20), "mm/m"),
    ("2 %", "slope", "in/ft", F(2), "%"),
    ("1:50", "slope", "mm/m", F(20), "mm/m"),
    ("1:48", "slope", "in/ft", F(1, 4), "in/ft"),
    ("-1:48", "slope", "in/ft", F(-1, 4), "in/ft"),
    ("45 kg", "mass", "lb", F(45), "kg"),
    ("100 lbs", "mass", "kg", F(100), "lb"),
    ("18.97 lb/ft", "mass_per_length", "lb/ft", F(1897, 100), "lb/ft"),
    ("3 m²", "area", "in^2", F(3), "m^2"),
    ("3 in^2", "area", "mm^2", F(3), "in^2"),
    ("2 cm^3", "volume", "mm^3", F(2), "cm^3"),
    (12.5, "money", "money", F(25, 2), "money"),
    ("3", "number", "", F(3), ""),
    (3, "number", "", F(3), ""),
]


@pytest.mark.parametrize(("said", "kind", "default", "value", "unit"), READ)
def test_reads(said: object, kind: str, default: str, value: F, unit: str) -> None:
    assert parse(said, kind, default) == Quantity(value, unit)


REFUSED = [
    ("", "'' is not a length: it is empty"),
    ("   ", "'   ' is not a length: it is empty"),
    ("abc", "'abc' is not a length"),
    ("in", "'in' is not a length"),
    ("--3 in", "'--3 in' is not a length"),
    ("36 1/2 in x", "'36 1/2 in x' is not a length"),
    ("45 deg", "'45 deg' is not a length: unit 'deg' does not measure that"),
    ("12 furlongs", "'12 furlongs' is not a length: unit 'furlongs' does not measure that"),
    ("1e5 in", "'1e5 in' is not a length: unit 'e' does not measure that"),
    ("1,5 in", "'1,5 in' is not a length: decimals are written with a point"),
    ("1,250 mm", "'1,250 mm' is not a length: decimals are written with a point"),
    ("4 ft 13 in", "'4 ft 13 in' is not a length: 13 in is a whole ft or more"),
    ("4 ft 3", "'4 ft 3' is not a length: 3 has no unit"),
    ("3 4 in", "'3 4 in' is not a length: 3 has no unit"),
    ("3 in 4 ft", "'3 in 4 ft' is not a length: in and ft do not go together"),
    ("4 ft 3 mm", "'4 ft 3 mm' is not a length: ft and mm do not go together"),
    ("1.5 ft 2 in", "'1.5 ft 2 in' is not a length: only its last number may have a fraction"),
    ("1/0 in", "'1/0 in' is not a length: it divides by zero"),
    ("36 5/4 in", "'36 5/4 in' is not a length: the fraction in '36 5/4' is not smaller than one"),
    ("nan", "'nan' is not a length: it is not a finite number"),
    ("-Infinity", "'-Infinity' is not a length: it is not a finite number"),
    ("x" * 81, f"'{'x' * 80}…' is not a length: it is longer than 80 characters"),
    (math.nan, "nan is not a length: it is not a finite number"),
    (math.inf, "inf is not a length: it is not a finite number"),
    (True, "true is not a length"),
    (None, "nothing is not a length"),
    ([3], "a list is not a length"),
    ({}, "a table is not a length"),
    (date(2025, 3, 14), "2025-03-14 is not a length"),
]


@pytest.mark.parametrize(("said", "problem"), REFUSED)
def test_refuses(said: object, problem: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(said, "length", "in")
    assert str(caught.value) == f"{problem}; {LENGTHS}"


@pytest.mark.parametrize(
    ("said", "problem"),
    [
        ("9" * 20, f"'{'9' * 20}' is too large to be meant; the largest number is 1000000000000"),
        (1e300, "'1e+300' is too large to be meant; the largest number is 1000000000000"),
        (10**50, "the number is too large to be meant; the largest number is 1000000000000"),
        (1e-300, "'1e-300' is too small to be meant; write 0 or a larger number"),
    ],
)
def test_refuses_sizes_nobody_means(said: object, problem: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(said, "length", "in")
    assert str(caught.value) == problem


def test_refusals_of_other_kinds_name_their_own_units() -> None:
    with pytest.raises(
        QuantityError, match=r"'1:0' is not a slope: it divides by zero; units for a slope: mm/m, in/ft, %"
    ):
        parse("1:0", "slope", "mm/m")
    with pytest.raises(
        QuantityError, match=r"^'3 in' is not an angle: .*; units for an angle: deg; for example 37.5 deg$"
    ):
        parse("3 in", "angle", "deg")
    with pytest.raises(
        QuantityError, match=r"^'5 in' is not a number: unit 'in' does not measure that; write a plain number$"
    ):
        parse("5 in", "number", "")
    with pytest.raises(QuantityError, match="'1:50' is not a length"):
        parse("1:50", "length", "in")


def test_converts_exactly() -> None:
    assert convert(Quantity(F(1), "in"), "mm") == F(254, 10)
    assert convert(Quantity(F(1), "ft"), "in") == 12
    assert convert(Quantity(F(100), "lb"), "kg") == F("45.359237")
    assert convert(Quantity(F(1), "lb/ft"), "kg/m") == F("0.45359237") / F("0.3048")
    assert convert(Quantity(F(1, 4), "in/ft"), "mm/m") == F(1000, 48)
    assert convert(Quantity(F(2), "%"), "mm/m") == 20
    assert convert(Quantity(F(1), "in^3"), "mm^3") == F("25.4") ** 3


def test_refuses_to_convert_between_kinds() -> None:
    with pytest.raises(QuantityError, match=r"^3 in is a length, and kg measures mass$"):
        convert(Quantity(F(3), "in"), "kg")
    with pytest.raises(QuantityError, match=r"^unknown unit 'cubit'; known units: in, ft, mm"):
        convert(Quantity(F(3), "cubit"), "in")


def test_cells_hold_the_unit_of_their_edition() -> None:
    units = shipped()
    assert units.cell_value("1 in", "length", "mm") == 25.4
    assert units.cell_value(Quantity(F(5), "mm"), "length", "mm") == 5.0
    assert units.cell_value(5, "length", "inch") == 5.0
    assert units.cell_value("6", "text", "mm") == "6"
    assert units.cell_value(150, "text", "mm") == "150"
    assert units.cell_value(date(2025, 3, 14), "date", "mm") == date(2025, 3, 14)
    assert units.cell_value(True, "boolean", "mm") is True
    assert units.cell_value(None, "length", "mm") is None
    assert units.cell_value(By(Quantity(F(-45), "deg")), "length", "mm") == "by -45 deg"
    assert units.cell_value(By(Quantity(F(-45), "deg")), "angle", "mm") == -45.0
    with pytest.raises(QuantityError, match=r"^45 deg is not a length; units for a length: mm"):
        units.cell_value(Quantity(F(45), "deg"), "length", "mm")
    with pytest.raises(KeyError):
        units.cell_value(5, "colour", "mm")


LENGTH_UNITS = sorted(shipped().kinds["length"].accept)


@given(
    st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**6),
    st.sampled_from([(unit, kind.name) for kind in shipped().kinds.values() for unit in kind.accept]),
)
def test_text_of_a_quantity_reads_back(value: F, unit: tuple[str, str]) -> None:
    if value and abs(value) < F(1, 10**12):
        return
    quantity = Quantity(value, unit[0])
    text = str(quantity)
    if "money" in text:
        text = text.removesuffix(" money")
    assert parse(text, unit[1], unit[0]) == quantity


@given(
    st.integers(0, 10_000),
    st.integers(0, 11),
    st.sampled_from([2, 4, 8, 16, 32, 64]).flatmap(lambda d: st.tuples(st.integers(1, d - 1), st.just(d))),
    st.sampled_from(["{f} ft {i} {n}/{d} in", "{f}'-{i} {n}/{d}\"", "{f}' {i}-{n}/{d}\"", "{f}ft{i}-{n}/{d}in"]),
    st.sampled_from(["", "-", "+"]),
)
def test_feet_and_inches(feet: int, inches: int, part: tuple[int, int], form: str, sign: str) -> None:
    text = sign + form.format(f=feet, i=inches, n=part[0], d=part[1])
    wanted = (12 * feet + inches + F(*part)) * (-1 if sign == "-" else 1)
    assert parse(text, "length", "mm") == Quantity(wanted, "in")


@given(st.fractions(max_denominator=1000), st.sampled_from(LENGTH_UNITS), st.sampled_from(LENGTH_UNITS))
def test_conversion_there_and_back_changes_nothing(value: F, unit: str, other: str) -> None:
    there = Quantity(convert(Quantity(value, unit), other), other)
    assert convert(there, unit) == value


# -- units.toml ------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[float]:
    made: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    for line in shipped().definitions:
        made.define(line)
    return made


def test_every_unit_is_proved_with_the_same_factor(registry: pint.UnitRegistry[float]) -> None:
    for kind in shipped().kinds.values():
        units = [unit for unit in kind.accept if unit != "%"]
        for unit, shown in ((unit, shown) for unit in units for shown in kind.shown.values()):
            ours = float(convert(Quantity(F(1), unit), shown))
            assert registry.Quantity(1.0, unit).to(shown).magnitude == pytest.approx(ours, rel=1e-12), (unit, shown)
        for shown in kind.shown.values():
            registry.parse_units(shown)


def test_the_registry_refuses_what_the_usual_one_lets_pass(registry: pint.UnitRegistry[float]) -> None:
    with pytest.raises(pint.DimensionalityError):
        registry.Quantity(2, "degree") + 1
    with pytest.raises(pint.DimensionalityError):
        registry.Quantity(2, "degree").to("radian")
    for name in ("Nm", "min", "nm", "kin"):
        with pytest.raises(pint.UndefinedUnitError):
            registry.parse_units(name)


def write(folder: Path, text: str) -> Path:
    (folder / "units.toml").write_text(text, encoding="utf-8")
    return folder


GOOD = (
    'schema = 1\neditions = ["inch", "mm"]\n[kind.length]\ninch = "in"\nmm = "mm"\naccept = { in = "25.4", mm = "1" }\n'
)


def test_units_are_data(tmp_path: Path) -> None:
    units = load_units(write(tmp_path, GOOD + 'together = [["in", "mm"]]\n[spelling]\nthumb = "in"\n'))
    assert isinstance(units, Units)
    assert parse("2 thumb 3 mm", "length", "in", units) == Quantity(F("53.8"), "mm")
    assert units.shown("length", "mm") == "mm"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (GOOD.replace("schema = 1", "schema = 2"), "units.toml: Invalid enum value 2 - at `$.schema`"),
        (GOOD.replace("accept", "acept"), "units.toml: kind length: Object contains unknown field `acept`"),
        (GOOD.replace('mm = "mm"\n', ""), "units.toml: kind length: edition 'mm' is missing"),
        (GOOD.replace('mm = "1"', 'm = "1"'), "units.toml: kind length: unit 'mm' has no factor"),
        (GOOD.replace('"25.4"', '"0"'), "units.toml: kind length: a factor is not above zero"),
        (GOOD.replace('"25.4"', '"1/0"'), "units.toml: kind length: Fraction(1, 0)"),
        (GOOD.replace('"25.4"', '"much"'), "units.toml: kind length: Invalid literal for Fraction: 'much'"),
        (
            GOOD + GOOD.partition("[kind.length]")[2].replace('"25.4"', '"25"').join(["[kind.width]", ""]),
            "units.toml: kind width: unit 'in' already measures length",
        ),
        ("schema = ", "units.toml: is not TOML: Invalid value (at end of document)"),
    ],
)
def test_damaged_units_are_refused(tmp_path: Path, text: str, sentence: str) -> None:
    with pytest.raises(TemplateError) as caught:
        load_units(write(tmp_path, text))
    assert str(caught.value) == sentence


def test_missing_units_are_refused(tmp_path: Path) -> None:
    with pytest.raises(TemplateError, match=r"^units.toml: there is no such template$"):
        load_units(tmp_path)
