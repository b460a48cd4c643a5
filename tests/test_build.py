"""The whole way: same input, same bytes; and two engines that had no part in it find the same values."""

from __future__ import annotations

import ast
import hashlib
import json
import os
import random
import re
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import engines
import pytest
from engines import Cell, Typed, Value
from live import place, typed_fields
from workshops import BAKERY, EDITIONS, JOB_FILE, TABLES, bakery, bakery_job, built, job_of

from workbook_builder.book import Book, Field
from workbook_builder.build import Workshop
from workbook_builder.errors import InputError
from workbook_builder.template import Column, Input, for_edition

ROOT = Path(__file__).resolve().parent.parent

# -- same input, same bytes --------------------------------------------------------------------------------------------

PROGRAM = """
import hashlib, sys
from pathlib import Path
from workbook_builder.build import Workshop
from workbook_builder.job_reading import load_schema, read
templates, tables, job_file = map(Path, sys.argv[1:4])
shop = Workshop(templates, tables)
for with_job in (False, True):
    job = read(job_file, load_schema(templates, shop.units), shop.library) if with_job else None
    for edition in ("inch", "mm"):
        print(hashlib.sha256(shop.build("bakehouse", job, edition)).hexdigest())
"""


@pytest.mark.parametrize("seed", ["0", "1", "4242"])
def test_another_process_with_other_hashes_gives_the_same_bytes(seed: str, tmp_path: Path) -> None:
    environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT), "TZ": "Pacific/Auckland"}
    command = [sys.executable, "-c", PROGRAM, str(BAKERY / "templates"), str(TABLES), str(JOB_FILE)]
    said = subprocess.run(command, env=environment, cwd=tmp_path, check=True, capture_output=True, text=True).stdout
    here = [
        hashlib.sha256(built("bakehouse", with_job, edition)).hexdigest()
        for with_job in (False, True)
        for edition in EDITIONS
    ]
    assert said.split() == here


def test_building_twice_gives_the_same_bytes() -> None:
    again = Workshop(BAKERY / "templates", TABLES)
    for with_job in (False, True):
        job = bakery_job() if with_job else None
        assert (
            again.build("bakehouse", job, "mm")
            == bakery().build("bakehouse", job, "mm")
            == built("bakehouse", with_job, "mm")
        )


def test_a_build_leaves_nothing_behind_for_the_next() -> None:
    blank = built("bakehouse", False, "inch")
    bakery().build("bakehouse", bakery_job(), "mm")
    assert bakery().build("bakehouse", None, "inch") == blank


def test_the_edition_is_the_jobs_units_unless_it_is_said() -> None:
    job = job_of('schema = 1\n[bakery]\nname = "B"\nunits = "mm"\n[[oven]]\nmark = "A"\n')
    assert bakery().build("bakery", job) == bakery().build("bakery", job, "mm") != bakery().build("bakery", job, "inch")
    assert bakery().build("bakery") == built("bakery", False, "inch")


def test_an_unknown_workbook_is_told_with_the_nearest() -> None:
    with pytest.raises(InputError, match="there is no workbook 'bakehous'; did you mean 'bakehouse'"):
        bakery().build("bakehous")


# -- states ------------------------------------------------------------------------------------------------------------


def likely(book: Book, field: Field, rng: random.Random) -> Typed:
    """What a user may type, within its limits."""
    declared = field.declared
    assert isinstance(declared, (Input, Column))
    if declared.choices:
        chosen = book.fields[declared.choices].values if isinstance(declared.choices, str) else declared.choices
        return str(rng.choice([value for value in chosen if value is not None]))
    if field.unit_kind == "text":
        return rng.choice(["T", "=1+1", "-2", "@", "1/2", "6", "A'B", 'quote "x"', "ü ½ ″", "TRUE"])
    if field.unit_kind == "date":
        return date(2024, rng.randint(1, 12), rng.randint(1, 28))

    def limit(value: Any, other: float) -> float:
        said = for_edition(value, book.edition)
        found = other if said is None else book.units.cell_value(said, field.unit_kind, book.edition)
        assert isinstance(found, float)
        return found

    low, high = limit(declared.minimum, 0.0), limit(declared.maximum, 30.0)
    return rng.choice([low, high, round(rng.uniform(low, high), 3), rng.randint(int(low), max(int(low), int(high)))])


def pasted(book: Book, field: Field, rng: random.Random) -> Typed:
    """What nobody should type, and a paste may bring: it passes by the drop-down and the limits."""
    if field.unit_kind in ("text", "date") or field.scalar:
        if field.unit_kind != "text" or rng.random() < 0.5:
            return likely(book, field, rng)
        return rng.choice(["spelt", "?", "~x"])
    wrong: list[Typed] = ["n/a", "12 in", " ", -5, 0, 1e9, 99.5, "1/2", 1e-7]
    return rng.choice(wrong)


def half(book: Book, field: Field, rng: random.Random) -> Typed:
    """Every second cell."""
    return likely(book, field, rng) if rng.random() < 0.5 else None


STATES: dict[str, Callable[[Book, Field, random.Random], Typed]] = {"full": likely, "half": half, "pasted": pasted}


def state(name: str, edition: str, folder: Path) -> Path:
    """The bakehouse's workbook with cells typed in."""
    book = bakery().lay_out("bakehouse", bakery_job(), edition)
    rng = random.Random(f"{name} {edition}")
    values = {
        place(field, at): STATES[name](book, field, rng) for field in typed_fields(book) for at in range(field.rows)
    }
    plain = folder / f"{name}-{edition}-untouched.xlsx"
    plain.write_bytes(built("bakehouse", True, edition))
    return engines.type_into(plain, folder / f"{name}-{edition}.xlsx", values, over_formulas=True)


def test_stored_values_are_what_two_other_engines_give(tmp_path: Path) -> None:
    """Over every formula cell, blank and from the job, in both editions."""
    engines.require_libreoffice()
    paths: list[Path] = []
    for with_job in (False, True):
        for edition in EDITIONS:
            path = tmp_path / f"{'job' if with_job else 'blank'}-{edition}.xlsx"
            path.write_bytes(built("bakehouse", with_job, edition))
            paths.append(path)
    libreoffice = engines.recompute_with_libreoffice(paths, tmp_path / "out")
    for path in paths:
        stored = engines.cached_values(path)
        assert len(stored) > 100 and not engines.error_values(stored)
        assert engines.differences(stored, libreoffice[path]) == [], path.name
        assert engines.differences(stored, engines.recompute_with_formulas(path)) == [], path.name


def test_engines_agree_on_what_is_typed_later_and_none_gives_an_error(tmp_path: Path) -> None:
    engines.require_libreoffice()
    paths = [state(name, edition, tmp_path) for name, edition in (("full", "inch"), ("half", "mm"), ("pasted", "inch"))]
    libreoffice = engines.recompute_with_libreoffice(paths, tmp_path / "out")
    for path in paths:
        ours: dict[Cell, Value] = engines.recompute_with_formualizer(path)
        assert not engines.error_values(ours), (path.name, engines.error_values(ours))
        assert engines.differences(ours, libreoffice[path]) == [], path.name
        assert engines.differences(ours, engines.recompute_with_formulas(path)) == [], path.name


def test_a_spoiled_value_is_caught(tmp_path: Path) -> None:
    """The comparison above can fail."""
    engines.require_libreoffice()
    path = tmp_path / "bakery.xlsx"
    path.write_bytes(built("bakery", True, "inch"))
    flour = place(bakery().lay_out("bakery", bakery_job(), "inch").fields["dough.flour"], 0)
    wrong = engines.spoil_cached(path, tmp_path / "spoiled.xlsx", {flour: 1.5})
    stored = engines.cached_values(wrong)
    for other in (
        engines.recompute_with_libreoffice([wrong], tmp_path / "out")[wrong],
        engines.recompute_with_formulas(wrong),
    ):
        assert [difference.cell for difference in engines.differences(stored, other)] == [flour]


def test_messages_follow_what_is_pasted(tmp_path: Path) -> None:
    """Limits and choices hold by formula where a paste has removed the drop-down."""
    book = bakery().lay_out("bakehouse", None, "inch")
    path = tmp_path / "blank.xlsx"
    path.write_bytes(built("bakehouse", False, "inch"))
    fields = book.fields
    rows: dict[str, list[Typed]] = {
        "rack.mark": ["R1", "R2", "R2"],
        "rack.shelves": [21, 13, "many"],
        "rack.long": [-1],
        "rack.tilt": [None, 11],
        "trays.tray": ["T"],
        "trays.form": ["oval"],
        "trays.grain": ["wheat"],
        "trays.grade": ["rough"],
        "today.crust": ["burnt"],
        "today.day": ["tomorrow"],
        "today.bakery": ["B"],
    }
    typed = {place(fields[name], at): value for name, values in rows.items() for at, value in enumerate(values)}
    found = engines.recompute_with_formualizer(engines.type_into(path, tmp_path / "typed.xlsx", typed))

    def said(name: str, at: int = 0) -> Value:
        return found[place(fields[name], at)]

    assert said("rack.message", 0) == "Shelves: over 20. Long: under 0 in. 21 shelves."
    assert said("rack.message", 1) == "Too steep. The mark is there twice. 13 shelves."
    assert said("rack.message", 2) == "Shelves: not a number. The mark is there twice. "
    assert said("trays.message") == "Form: not in the list. Grade: not in the list for this grain. "
    assert said("today.crust_check") == "Crust: not in the list. " and said("today.day_check") == "Day: not a date. "
    assert said("today.next_day") == ""
    assert said("rack.verdict", 1) == "✗ outside" and said("rack.verdict", 0) == "… not yet measured"
    # and the front sheet counts them
    assert (said("today.rack_stops"), said("today.rack_cautions"), said("today.today_checks")) == (3, 2, 1)
    assert said("today.check_1") == "The bakery's name is very short "


def test_the_next_row_and_the_last_one(tmp_path: Path) -> None:
    book = bakery().lay_out("bakehouse", None, "mm")
    path = tmp_path / "blank.xlsx"
    path.write_bytes(built("bakehouse", False, "mm"))
    mark, note, long = book.fields["rack.mark"], book.fields["rack.note"], book.fields["rack.long"]
    typed: dict[Cell, Typed] = {place(mark, at): word for at, word in enumerate(["A", "A", "B", "B", "B"])}
    typed |= {place(note, 1): "=wet", place(long, 0): 100, place(long, 2): 300, place(long, 3): 200}
    found = engines.recompute_with_formualizer(engines.type_into(path, tmp_path / "typed.xlsx", typed))

    def column(name: str) -> list[Value]:
        return [found[place(book.fields[f"rack.{name}"], at)] for at in range(5)]

    assert column("last") == ["", "last", "", "", "last"]
    assert column("first") == ["first", "", "first", "", ""]
    assert column("note_again") == ["", "=wet", "", "", ""]
    assert column("long_again") == [100, "", 300, 200, ""]
    assert column("longest_above") == [100, "", 300, 300, ""]
    assert column("judged")[:1] == ["✓ within 1500 mm"]


# -- nothing of a trade in the engine ----------------------------------------------------------------------------------


def test_no_module_names_a_sheet_or_table_of_any_trade() -> None:
    """The engine serves a bakery as it stands: no text in it is a sheet's, a table's or the trade's."""
    described = json.loads((ROOT / "reference_tables" / "datapackage.json").read_text(encoding="utf-8"))
    names = {path.stem for path in (ROOT / "templates" / "sheets").glob("*.toml")}
    names |= {resource["name"] for resource in described["resources"]}
    names -= {"checks", "method", "key", "items", "parts", "start", "details"}  # words of the language itself
    trade = {
        "spool",
        "spools",
        "pipe",
        "pipes",
        "weld",
        "welder",
        "flange",
        "fitting",
        "fitter",
        "elbow",
        "takeout",
        "bevel",
        "nps",
    }
    for path in sorted((ROOT / "workbook_builder").glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        told = {
            id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)
        }  # what modules say of themselves
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
                words = set(re.split(r"[^a-z]+", node.value.lower()))
                assert node.value not in names and not words & trade, (path.name, node.lineno, node.value)
