"""The workbook of reference tables: it shows what the tables hold, and an inspector can hold it against his book.

LibreOffice recomputes every formula of the whole workbook, as built and with comparisons typed in; the `formulas`
package a sample of every column, typed comparisons included.
"""

from __future__ import annotations

import csv
import json
import random
import re
import shutil
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import engines
import formualizer
import openpyxl
import pytest
from cell_by_cell import CellByCell, sample, standing
from engines import Cell, Typed, Value
from live import place
from table_checks import settle

from workbook_builder.book import Book, column_letters
from workbook_builder.build import Workshop, workshop
from workbook_builder.read import read_workbook

ROOT = Path(__file__).parent.parent
FOLDER = ROOT / "reference_tables"
EDITIONS = ("inch", "mm")
WORKBOOK = "tables"

STATUSES = ("published, seen twice", "published, seen once", "corrected misprint", "from memory, verify")

# -- the tables, read without the product ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Number:
    """One number of a CSV file."""

    table: str
    row: str
    column: str
    value: float
    status: str
    source: str
    worked_out: bool


@cache
def numbers(edition: str) -> list[Number]:
    """Every number of every table in one edition, keys left out, with its status."""
    described = json.loads((FOLDER / "datapackage.json").read_text(encoding="utf-8"))
    found: list[Number] = []
    for resource in described["resources"]:
        key = resource["schema"]["primaryKey"]
        keys = [key] if isinstance(key, str) else key
        fields = [one for one in resource["schema"]["fields"] if one.get("edition", edition) == edition]
        status = {one["quantity"]: one["name"] for one in fields}
        with (FOLDER / resource["path"]).open(newline="", encoding="utf-8") as file:
            for row in csv.DictReader(file):
                found += [
                    Number(
                        resource["name"],
                        " / ".join(row[one] for one in keys),
                        field["quantity"],
                        float(row[field["name"]]),
                        row[status[field.get("status", "status")]],
                        row["source"],
                        "computed" in field,
                    )
                    for field in fields
                    if field["kind"] != "text" and field["name"] not in keys and row[field["name"]] != ""
                ]
    return found


def tables_of(edition: str) -> list[str]:
    """Tables that have a number in this edition, in the order of the description."""
    return list(dict.fromkeys(one.table for one in numbers(edition)))


@cache
def columns_of(edition: str) -> dict[str, list[str]]:
    """Columns of each table that hold numbers, in file order."""
    described = json.loads((FOLDER / "datapackage.json").read_text(encoding="utf-8"))
    held = {(one.table, one.column) for one in numbers(edition)}
    return {
        one["name"]: [
            field["quantity"]
            for field in one["schema"]["fields"]
            if field.get("edition", edition) == edition and (one["name"], field["quantity"]) in held
        ]
        for one in described["resources"]
    }


def rows_of(table: str) -> list[str]:
    """Keys of a table's rows, in file order."""
    described = json.loads((FOLDER / "datapackage.json").read_text(encoding="utf-8"))
    [resource] = [one for one in described["resources"] if one["name"] == table]
    key = resource["schema"]["primaryKey"]
    keys = [key] if isinstance(key, str) else key
    with (FOLDER / resource["path"]).open(newline="", encoding="utf-8") as file:
        return [" / ".join(row[one] for one in keys) for row in csv.DictReader(file)]


# -- the workbook ------------------------------------------------------------------------------------------------------


@cache
def built(edition: str) -> bytes:
    return workshop().build(WORKBOOK, None, edition)


@cache
def computed(edition: str) -> tuple[Book, Mapping[str, list[Any]]]:
    book, done = workshop().compute(WORKBOOK, None, edition)
    return book, done.values


@pytest.fixture(scope="module", params=EDITIONS)
def edition(request: pytest.FixtureRequest) -> str:
    assert isinstance(request.param, str)
    return request.param


def saved(edition: str, folder: Path) -> Path:
    path = folder / f"tables-{edition}.xlsx"
    path.write_bytes(built(edition))
    return path


# -- Start: the counts -------------------------------------------------------------------------------------------------


def test_start_counts_what_the_files_hold(edition: str) -> None:
    _, values = computed(edition)
    counted = Counter(one.status for one in numbers(edition))
    assert set(counted) <= set(STATUSES)
    shown = {
        "published, seen twice": values["shelf_start.seen_twice"],
        "published, seen once": values["shelf_start.seen_once"],
        "corrected misprint": values["shelf_start.corrected"],
        "from memory, verify": values["shelf_start.memory"],
    }
    assert {status: [float(counted[status])] for status in STATUSES} == shown
    assert values["shelf_start.all_values"] == [float(len(numbers(edition)))]
    assert values["shelf_start.worked_out"] == [float(sum(one.worked_out for one in numbers(edition)))]
    assert len(numbers(edition)) > 7000


def test_every_value_stands_in_the_list_with_its_source_and_status(edition: str) -> None:
    _, values = computed(edition)
    listed = dict(
        zip(
            values["value_list.key"],
            zip(values["value_list.value"], values["value_list.status"], values["value_list.source"], strict=True),
            strict=True,
        )
    )
    assert len(listed) == len(values["value_list.key"])
    for one in numbers(edition):
        value, status, source = listed.pop(f"{one.table}|{one.row}|{one.column}")
        assert (value, status) == (one.value, one.status) and status in STATUSES, one
        assert one.source and source.startswith(one.source), one
        assert ("; worked out: " in source) == one.worked_out, one
    assert listed == {}


def test_start_lists_every_table_with_its_sheet(edition: str) -> None:
    book, values = computed(edition)
    assert values["table_list.table"] == tables_of(edition)
    shown = {place.name: plan.tab for plan in book.sheets for place in plan.tables if place.table is None}
    assert [shown[name] for name in values["table_list.table"]] == values["table_list.sheet"]
    assert values["table_list.rows"] == [float(len(rows_of(name))) for name in values["table_list.table"]]


# -- Sums: what is worked out again, and what does not come out --------------------------------------------------------

SMALL = "the standard does not go below 1-1/2 in (38 mm): 1.5 × NPS would be shorter"
STANDS_OFF = "the table's own value, in two tables read (fittings_notes.md): a 45 is never taken from the tangent"
ROUNDED_MM = "within 1/8 in by the inch values; whole mm of the 45 and of the 90 take it to 3.3 or 3.4 mm"
COARSE = "the standard's own length, rounded more coarsely than half its centres and half the diameter"
THREE_D = "as printed in the one table read, up to 1.5 mm off the tangent"

SUMS_WRONG: dict[str, dict[str, str]] = {
    "inch": {
        **dict.fromkeys(("long_sums 1/2", "long_sums 3/4"), SMALL),
        **{
            f"eighth_sums {size}": STANDS_OFF
            for size in ("3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "22", "26", "28", "30", "32")
        },
        **dict.fromkeys(("back_sums 1/2", "back_sums 1-1/4", "back_sums 1-1/2"), COARSE),
    },
    "mm": {
        **dict.fromkeys(("long_sums 1/2", "long_sums 3/4"), SMALL),
        **{
            f"eighth_sums {size}": STANDS_OFF
            for size in ("3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "22", "26", "28", "30")
        },
        **dict.fromkeys(("eighth_sums 34", "eighth_sums 36"), ROUNDED_MM),
        **dict.fromkeys(("back_sums 1", "back_sums 1-1/2", "back_sums 5"), COARSE),
        **dict.fromkeys(("three_eighth_sums 36", "three_eighth_sums 40", "three_eighth_sums 46"), THREE_D),
    },
}


def sums(values: Mapping[str, Sequence[Any]]) -> Iterator[tuple[str, str, float | str, float | str, str, str, str]]:
    """Name and row of each sum, its two numbers, verdict, status and what is said of it."""
    for name in [name.partition(".")[0] for name in values if name.endswith("_sums.verdict")]:
        columns = (values[f"{name}.{one}"] for one in ("key", "published", "found", "verdict", "status", "why"))
        for row in zip(*columns, strict=True):
            yield (name, *row)


def wrong_sums(values: Mapping[str, Sequence[Any]]) -> dict[str, str]:
    return {
        f"{name} {key}": f"{published}, the formula gives {found}"
        for name, key, published, found, verdict, *_ in sums(values)
        if verdict == "✗ outside"
    }


def test_sums_that_do_not_come_out_are_listed_and_explained(edition: str) -> None:
    _, values = computed(edition)
    assert settle(wrong_sums(values), SUMS_WRONG[edition]) == []
    for name, key, *_, verdict, _, why in sums(values):
        if verdict == "✗ outside":
            assert len(why) > 60, f"{name} {key} explains nothing: {why!r}"


def test_at_least_600_values_that_were_read_are_worked_out_again(edition: str) -> None:
    _, values = computed(edition)
    verdicts = Counter(verdict for _, _, _, _, verdict, _, _ in sums(values))
    assert set(verdicts) <= {"✓ within", "✗ outside", "– none read"}
    assert values["sums.right"] == [float(verdicts["✓ within"])]
    assert values["sums.wrong"] == [float(verdicts["✗ outside"])]
    memory = sum(verdict == "✓ within" and "†" in status for _, _, _, _, verdict, status, _ in sums(values))
    assert values["sums.right_memory"] == [float(memory)]
    assert verdicts["✓ within"] + verdicts["✗ outside"] - memory >= 600


def test_no_sum_is_over_a_column_that_was_made_from_it(edition: str) -> None:
    """A length that was worked out from another proves nothing when it is worked out again."""
    book, _ = computed(edition)
    made = {(one.table, one.column) for one in numbers(edition) if one.worked_out}
    for name, field in book.fields.items():
        if name.endswith("_sums.published"):
            used = re.search(r"INDEX\((\w+)\.(\w+), number\) > 0", field.formula)
            assert used and used.groups() not in made, name


# one slip in a table, and the sum that must show it
SLIPS = (
    ("inch", "pipe", "6|STD", "mass_lb_ft", "18.98", "mass_sums 6|STD"),
    ("inch", "pipe_wall", "18|1", "mass_lb_ft", "171.73", "wall_sums 18|1"),
    ("inch", "elbow", "6", "long_90_in", "9.0625", "long_sums 6"),
    ("mm", "elbow", "6", "long_90_mm", "228", "long_sums 6"),
    ("mm", "elbow", "6", "long_45_mm", "99", "eighth_sums 6"),
    ("inch", "elbow", "6", "short_90_in", "6.0625", "short_sums 6"),
    ("mm", "elbow", "6", "long_return_centre_mm", "456", "return_sums 6"),
    ("mm", "elbow", "6", "long_return_back_mm", "315", "back_sums 6"),
    ("inch", "elbow", "6", "short_return_centre_in", "12.125", "short_return_sums 6"),
    ("mm", "elbow_3d", "6", "radius_90_mm", "456", "three_sums 6"),
    ("mm", "elbow_3d", "6", "radius_45_mm", "191", "three_eighth_sums 6"),
    ("mm", "reducing_tee", "6x4", "run_mm", "142", "tees_sums 6x4"),
    ("inch", "flange", "150|6", "hole_in", "0.8125", "hole_sums 150|6"),
    ("inch", "flange_large", "A|150|36", "hole_in", "1.5", "large_hole_sums A|150|36"),
    ("inch", "pipe_thread", "3/8", "effective_in", "0.0478", "thread_sums 3/8"),
    ("mm", "flange", "150|6", "weld_neck_flat_mm", "88", "neck_sums 150|6"),
    ("mm", "flange", "150|6", "slip_on_flat_mm", "39", "slip_sums 150|6"),
    ("mm", "flange", "150|6", "threaded_flat_mm", "39", "threaded_sums 150|6"),
    ("mm", "flange", "150|1", "socket_weld_flat_mm", "17", "socket_sums 150|1"),
    ("mm", "flange_large", "A|150|36", "weld_neck_flat_mm", "134", "large_neck_sums A|150|36"),
)  # fmt: skip


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: f"{slip[0]}-{slip[5]}".replace("/", "_").replace("|", "_"))
def test_a_slip_in_a_table_is_seen(slip: tuple[str, str, str, str, str, str], tmp_path: Path) -> None:
    edition, table, key, field, value, name = slip
    copy = tmp_path / "tables"
    shutil.copytree(FOLDER, copy)
    path = copy / f"{table}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        lines = list(csv.reader(file))
    [row] = [line for line in lines[1:] if line[0] == key]
    assert row[lines[0].index(field)] not in ("", value)
    row[lines[0].index(field)] = value
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows(lines)
    _, done = Workshop(None, copy).compute(WORKBOOK, None, edition)
    assert name in wrong_sums(done.values) and name not in wrong_sums(computed(edition)[1])


def test_every_sum_is_spoiled_once() -> None:
    there = {name for edition in EDITIONS for name in wrong_or_right(computed(edition)[1])}
    assert {slip[5].partition(" ")[0] for slip in SLIPS} == there


def wrong_or_right(values: Mapping[str, Sequence[Any]]) -> set[str]:
    return {name for name, *_ in sums(values)}


# -- Checks: worked examples -------------------------------------------------------------------------------------------


def test_every_worked_example_comes_out(edition: str) -> None:
    _, values = computed(edition)
    assert values["proofs.verdict"] == ["✓ within"] * len(values["proofs.verdict"])
    assert len(values["proofs.verdict"]) > 180
    assert all(values["proofs.source"])
    assert values["checks.right"] == values["shelf_start.examples_right"] == [float(len(values["proofs.verdict"]))]
    assert values["checks.wrong"] == values["shelf_start.examples_wrong"] == [0.0]


# -- Limits by range ---------------------------------------------------------------------------------------------------


class Open:
    """The workbook open in the engine, to type into by name."""

    def __init__(self, edition: str) -> None:
        self.book, _ = computed(edition)
        self.engine = formualizer.Workbook.from_bytes(built(edition))
        self.engine.evaluate_all()

    def put(self, name: str, value: float | str | None) -> None:
        field = self.book.fields[name]
        assert field.typed, name
        self.engine.set_value(field.tab, field.row + 1, field.column + 1, value)
        self.engine.evaluate_all()

    def value(self, name: str) -> Any:
        field = self.book.fields[name]
        return self.engine.get_value(field.tab, field.row + 1, field.column + 1)


def csv_rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def opened(edition: str) -> Open:
    return Open(edition)


def test_lengths_find_their_range(edition: str, opened: Open) -> None:
    """At the end of each range, just over it, and within."""
    rows = csv_rows("welded_length_tolerance")
    unit = 25.4 if edition == "inch" else 1.0
    for at, row in enumerate(rows):
        low, high = float(row["over_mm"]), float(row["up_to_mm"] or 1e5)
        for length in (low + 0.01, (low + high) / 2, high):
            opened.put("ranges.length", length / unit)
            found = [opened.value(f"ranges.length_{one}") for one in "abcd"]
            assert found == [float(row[f"class_{one}_mm"]) for one in "abcd"], length
            assert opened.value("ranges.length_range") == f"{row['key']} mm" + (" †" if at == 0 else "")
    opened.put("ranges.length", 1.0 / unit)
    assert [opened.value(f"ranges.length_{one}") for one in "abcd"] == [""] * 4
    opened.put("ranges.length", None)
    assert opened.value("ranges.length_a") == ""


def test_angles_find_their_range(edition: str, opened: Open) -> None:
    unit = 25.4 if edition == "inch" else 1.0
    for row in csv_rows("welded_angle_tolerance"):
        low, high = float(row["over_mm"]), float(row["up_to_mm"] or 1e5)
        for leg in (low + 0.01, high):
            opened.put("ranges.leg", leg / unit)
            assert [opened.value(f"ranges.angle_{one}") for one in "abcd"] == [
                float(row[f"class_{one}_deg"]) for one in "abcd"
            ]
            assert [opened.value(f"ranges.slope_{one}") for one in "abcd"] == [
                float(row[f"class_{one}_slope"]) for one in "abcd"
            ]


def test_walls_find_their_range(edition: str, opened: Open) -> None:
    """Cap heights and end preparations, at the end of each range and just over it."""
    unit = "in" if edition == "inch" else "mm"
    caps = csv_rows("weld_height_limit")
    names = {
        "girth welds, Normal": "process_cap", "design temperature over 750 F": "hot_cap",
        "design temperature 350 to 750 F": "warm_cap", "design temperature under 350 F": "cold_cap",
    }  # fmt: skip
    seen = set()
    for row in caps:
        if not row[f"height_{unit}"]:
            continue
        seen.add(row["applies"])
        low, high = float(row[f"wall_over_{unit}"]), float(row[f"wall_up_to_{unit}"] or 99)
        for wall in (low + 0.001, high):
            opened.put("ranges.wall", wall)
            assert opened.value(f"ranges.{names[row['applies']]}") == float(row[f"height_{unit}"]), (row["key"], wall)
    assert seen == (set(names) if edition == "inch" else {"girth welds, Normal"})
    for row in csv_rows("end_preparation"):
        low, high = float(row[f"wall_over_{unit}"]), float(row[f"wall_up_to_{unit}"] or 99)
        name = "ranges.preparation" if row["welding"] == "any" else "ranges.root_preparation"
        for wall in (low + 0.001, high):
            opened.put("ranges.wall", wall)
            assert opened.value(name) == row["preparation"], (row["key"], wall)
    opened.put("ranges.wall", 0.12 if edition == "inch" else 3)
    assert opened.value("ranges.root_preparation") == "no bevel: 3 mm (0.12 in) or less"


def test_sizes_find_their_row(edition: str, opened: Open) -> None:
    unit = "in" if edition == "inch" else "mm"
    diameters = {row["size"]: float(row[f"od_{unit}"]) for row in csv_rows("nominal_size")}
    fittings = {row["size"]: row for row in csv_rows("fitting_tolerance")}
    for row in csv_rows("spool_tolerance"):
        size = row["size"]
        opened.put("ranges.size", size)
        assert opened.value("ranges.linear") == float(row[f"linear_{unit}"])
        assert opened.value("ranges.od") == diameters[size]
        slope, least = (0.003906, 0.03125) if edition == "inch" else (0.0039, 0.8)
        assert opened.value("ranges.shop_face") == pytest.approx(max(slope * diameters[size], least), rel=1e-12)
        for name, column in (("centre_to_end", "centre_to_end"), ("fitting_bore", "bore"), ("off_angle", "off_angle")):
            said = fittings[size][f"{column}_{unit}"] if size in fittings else ""
            assert opened.value(f"ranges.{name}") == (float(said) if said else ""), (size, name)
    opened.put("ranges.size", "7")
    assert opened.value("ranges.linear") == "" and "not in the list" in opened.value("ranges.size_check")


# -- Compare: an inspector with his book -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Comparison:
    """What the inspector chooses and types, and what the sheet must say."""

    table: str
    row: str
    column: str
    theirs: Typed
    verdict: str
    printed_to: Typed = None
    status: str = ""
    message: str = ""


def comparisons(edition: str) -> list[Comparison]:
    """A list that meets every verdict, the edges of the rounding band among them."""
    six, band = (9.0, 0.005) if edition == "inch" else (229.0, 0.5)
    elbow = ("elbow", "6", "long_90")
    return [
        Comparison(*elbow, six, "✓ agrees", status="published, seen twice"),
        Comparison(*elbow, six + 1.0, "✗ differs", status="published, seen twice"),
        Comparison(*elbow, six - 1.0, "✗ differs"),
        # the usual step: at half of it, just under, just over
        Comparison(*elbow, six + band, "✓ agrees"),
        Comparison(*elbow, six - band * 0.999, "✓ agrees"),
        Comparison(*elbow, six + band * 1.001, "✗ differs"),
        Comparison(*elbow, six - band * 1.001, "✗ differs"),
        # the inspector's own step
        Comparison(*elbow, six + 0.03125, "✓ agrees", 0.0625),
        Comparison(*elbow, six + 0.0312, "✓ agrees", 0.0625),
        Comparison(*elbow, six + 0.0313, "✗ differs", 0.0625),
        Comparison(*elbow, six, "✓ agrees", 0),
        Comparison(*elbow, six + 0.0001, "✗ differs", 0),
        # what is not there, or not yet typed
        Comparison("elbow", "7", "long_90", 9, "… not there", message="Row: not in the list for this table."),
        Comparison("elbow", "6", "bolt_circle", 9, "… not there", message="Column: not in the list for this table."),
        Comparison("elbow", "1/2", "short_90", 1, "… not there"),  # not made in this size
        Comparison(*elbow, None, "… not typed"),
        Comparison(*elbow, "nine", "… not typed", message="Your book: not a number."),
        Comparison(*elbow, six, "✓ agrees", "fine", message="Printed to: not a number."),
        Comparison(*elbow, six, "✓ agrees", -1, message="Printed to: under 0."),
        Comparison(
            "elbows",
            "6",
            "long_90",
            9,
            "… not there",
            message="Table: not in the list. Row: not in the list for this table. "
            "Column: not in the list for this table.",
        ),
        # from memory, and keys of every shape
        Comparison(
            "stub_end",
            "6",
            "long_length",
            8.0 if edition == "inch" else 203.0,
            "✓ agrees",
            status="from memory, verify †",
        ),
        Comparison(
            "pipe", "6|STD", "wall", 0.280 if edition == "inch" else 7.11, "✓ agrees", 0.001, "published, seen twice"
        ),
        Comparison(
            "flange",
            "150|1-1/2",
            "bolt_circle",
            3.875 if edition == "inch" else 98.4,
            "✓ agrees",
            0.01,
            "corrected misprint",
        ),
        Comparison("reducing_tee", "6x4", "branch", 5.125 if edition == "inch" else 130.0, "✓ agrees"),
        Comparison(
            "gasket",
            "spiral wound 0.175 (class 150-2500)",
            "compressed",
            0.13 if edition == "inch" else 3.3,
            "✓ agrees",
            0.01,
            "from memory, verify †",
        ),
        Comparison("weld_height_limit", "B31.3|over 1", "height", 0.1875 if edition == "inch" else 5.0, "✓ agrees"),
        Comparison("pipe_tolerance", "1", "over", 0.015625 if edition == "inch" else 0.4, "✓ agrees", 0.001),
    ]


def typed_comparisons(book: Book, chosen: Sequence[Comparison]) -> dict[Cell, Typed]:
    typed: dict[Cell, Typed] = {place(book.fields["shelf_start.inspector"]): "R. Bell"}
    for at, one in enumerate(chosen):
        cells = {
            "table": one.table,
            "row": one.row,
            "column": one.column,
            "theirs": one.theirs,
            "printed_to": one.printed_to,
        }
        cells |= {"edition": "2018", "by": "RB", "on": date(2024, 5, 17)}
        typed |= {
            place(book.fields[f"compare.{name}"], at): value for name, value in cells.items() if value is not None
        }
    return typed


@pytest.mark.parametrize("edition", ["inch", pytest.param("mm", marks=pytest.mark.thorough)])
def test_an_inspector_holds_it_against_his_book(edition: str, tmp_path: Path) -> None:
    """Played through with LibreOffice as his program; then `read` gives what he typed and what the sheet said."""
    engines.require_libreoffice()
    book, _ = computed(edition)
    chosen = comparisons(edition)
    path = engines.type_into(saved(edition, tmp_path), tmp_path / "typed.xlsx", typed_comparisons(book, chosen))
    found = engines.recompute_with_libreoffice([path], tmp_path / "out")[path]
    ours = engines.recompute_with_formualizer(path)
    assert engines.differences(ours, found) == []

    def said(name: str, at: int) -> Value:
        return found[place(book.fields[f"compare.{name}"], at)]

    listed = {(one.table, one.row, one.column): one for one in numbers(edition)}
    for at, one in enumerate(chosen):
        assert said("verdict", at) == one.verdict, one
        if one.status:
            assert said("status", at) == one.status, one
        assert said("message", at) == (f"{one.message} " if one.message else None), one
        number = listed.get((one.table, one.row, one.column))
        assert said("ours", at) == (number.value if number else None), one
        if number:
            assert str(said("source", at)).startswith(number.source)
            if isinstance(one.theirs, float):
                assert said("difference", at) == pytest.approx(one.theirs - number.value, abs=1e-9)
    assert said("verdict", len(chosen)) is None  # the next row waits
    counted = Counter(one.verdict for one in chosen)
    told = f"{counted['✓ agrees']} ✓, {counted['✗ differs']} ✗, {counted['… not there']} not in the tables"
    assert found[place(book.fields["compare.told"])] == told
    assert found[place(book.fields["shelf_start.compared_right"])] == counted["✓ agrees"]
    assert found[place(book.fields["shelf_start.compared_wrong"])] == counted["✗ differs"]
    assert found[place(book.fields["shelf_start.headline"])] == "compared by R. Bell"

    read = read_workbook(tmp_path / "out" / path.name)
    assert (read.findings, read.errors) == ([], [])
    rows = read.as_json(cells=False)["values"]["compare"]
    assert [row["verdict"] for row in rows] == [one.verdict for one in chosen]
    assert rows[0]["by"] == "RB" and rows[0]["on"] == "2024-05-17"


@pytest.mark.parametrize("edition", ["mm", pytest.param("inch", marks=pytest.mark.thorough)])
def test_stored_values_are_what_libreoffice_gives_and_200_comparisons_fit(edition: str, tmp_path: Path) -> None:
    """Every formula cell, as built and with the whole list filled with values drawn from every table."""
    engines.require_libreoffice()
    book, _ = computed(edition)
    rows = book.fields["compare.verdict"].rows
    assert rows >= 200
    rng = random.Random(f"compare {edition}")
    drawn = [rng.choice([one for one in numbers(edition) if one.table == table]) for table in tables_of(edition)]
    drawn += rng.sample(numbers(edition), rows - len(drawn))
    full = [Comparison(one.table, one.row, one.column, one.value, "✓ agrees", 0) for one in drawn]
    blank = saved(edition, tmp_path)
    filled = engines.type_into(blank, tmp_path / f"filled-{edition}.xlsx", typed_comparisons(book, full))
    found = engines.recompute_with_libreoffice([blank, filled], tmp_path / "out")
    stored = engines.cached_values(blank)
    assert len(stored) > 9000 and not engines.error_values(stored)
    assert engines.differences(stored, found[blank]) == []
    assert engines.differences(engines.recompute_with_formualizer(filled), found[filled]) == []
    verdicts = [found[filled][place(book.fields["compare.verdict"], at)] for at in range(rows)]
    assert verdicts == ["✓ agrees"] * rows
    for at, one in enumerate(drawn):
        status = found[filled][place(book.fields["compare.status"], at)]
        assert status == one.status + (" †" if one.status == "from memory, verify" else ""), one


def test_a_spoiled_value_is_caught(tmp_path: Path) -> None:
    """The comparison with LibreOffice can fail."""
    engines.require_libreoffice()
    book, values = computed("inch")
    at = values["mass_sums.key"].index("6|STD")
    cell = place(book.fields["mass_sums.found"], at)
    wrong = engines.spoil_cached(saved("inch", tmp_path), tmp_path / "wrong.xlsx", {cell: 18.0})
    found = engines.recompute_with_libreoffice([wrong], tmp_path / "out")[wrong]
    assert [one.cell for one in engines.differences(engines.cached_values(wrong), found)] == [cell]


# -- the second engine -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_formulas_package_gives_the_same(edition: str, tmp_path: Path) -> None:
    """A sample of every column, with comparisons typed in, and all that is said of these."""
    book, _ = computed(edition)
    chosen = comparisons(edition)
    path = engines.type_into(saved(edition, tmp_path), tmp_path / "typed.xlsx", typed_comparisons(book, chosen))
    asked = CellByCell(path, standing(path))
    assert not engines.error_values(asked.given)
    verdicts = [place(book.fields["compare.verdict"], at) for at in range(len(chosen))]
    kept = {*sample(asked.formulas, asked.given, 7, rows=8), *verdicts}
    found = asked.recompute(kept)
    assert engines.differences({cell: asked.given[cell] for cell in kept}, found) == []
    assert [found[cell] for cell in verdicts] == [one.verdict for one in chosen]


# -- drop-downs --------------------------------------------------------------------------------------------------------

RANGE = r"'All values'!\$[A-Z]+\$\d+:\$[A-Z]+\$\d+"
DEPENDENT = re.compile(
    rf"INDEX\((?P<shown>{RANGE}),MATCH\((?P<cell>\$[A-Z]+\d+),(?P<keys>{RANGE}),0\)\)"
    r":INDEX\((?P=shown),MATCH\((?P=cell),(?P=keys),0\)\+COUNTIF\((?P=keys),(?P=cell)\)-1\)"
)


@pytest.fixture(scope="module")
def sheets(edition: str, tmp_path_factory: pytest.TempPathFactory) -> Any:
    return openpyxl.load_workbook(saved(edition, tmp_path_factory.mktemp("tables")), data_only=True)


def area(sheets: Any, said: str) -> list[Any]:
    """The values of a range such as `'All values'!$A$5:$A$20`."""
    tab, _, cells = said.rpartition("!")
    return [cell.value for (cell,) in sheets[tab.strip("'")][cells.replace("$", "")]]


def test_drop_downs_show_the_rows_and_columns_of_the_chosen_table(edition: str, sheets: Any) -> None:
    """For every table: what the list of a row in Compare points at, worked out from the validation itself."""
    book, _ = computed(edition)
    rules = {str(rule.sqref): rule for rule in sheets["Compare"].data_validations.dataValidation}

    def rule_of(name: str) -> tuple[str, str]:
        field = book.fields[f"compare.{name}"]
        letter = column_letters(field.column)
        rule = rules[f"{letter}{field.row + 1}:{letter}{field.row + field.rows}"]
        assert rule.type == "list" and field.rows >= 200
        return rule.formula1, f"${column_letters(book.fields['compare.table'].column)}{field.row + 1}"

    tables, _ = rule_of("table")
    assert area(sheets, tables) == tables_of(edition)
    columns = columns_of(edition)
    for name, wanted in (("row", rows_of), ("column", columns.__getitem__)):
        text, chooser = rule_of(name)
        match = DEPENDENT.fullmatch(text)
        assert match and match["cell"] == chooser, text
        shown, keys = area(sheets, match["shown"]), area(sheets, match["keys"])
        assert len(shown) == len(keys)
        for table in tables_of(edition):
            first = keys.index(table)
            assert shown[first : first + keys.count(table)] == wanted(table), (name, table)


def test_what_is_chosen_stays_text(edition: str, sheets: Any) -> None:
    """A size such as 1/2 must not turn into a date when it is chosen."""
    book, _ = computed(edition)
    for name in ("table", "row", "column", "edition"):
        tab, address = place(book.fields[f"compare.{name}"])
        assert sheets[tab][address].number_format == "@" and not sheets[tab][address].protection.locked


# -- how it looks and prints -------------------------------------------------------------------------------------------

POINTS = {1: 11 * 72, 3: 17 * 72, 9: 297 / 25.4 * 72, 8: 420 / 25.4 * 72}
"""Long side of Letter, Tabloid, A4, A3."""


def test_every_sheet_prints_one_page_wide_and_large_enough_to_read(edition: str, sheets: Any) -> None:
    for sheet in sheets.worksheets:
        if sheet.sheet_state != "visible":
            continue
        setup = sheet.page_setup
        assert (setup.fitToWidth or 1, setup.fitToHeight, setup.orientation) == (1, 0, "landscape"), sheet.title
        last = re.fullmatch(r".*\$A\$1:\$([A-Z]+)\$\d+", sheet.print_area)
        assert last, sheet.print_area
        letters = [column_letters(at) for at in range(200)]
        wide = sum(sheet.column_dimensions[one].width for one in letters[: letters.index(last[1]) + 1])
        room = POINTS[int(setup.paperSize)] - 0.8 * 72
        scale = min(1.0, room / (wide * 5.25))  # a character of Arial 10 is 7 pixels, 5.25 points
        assert scale > 0.5, f"{sheet.title} prints at {scale:.0%}"


def test_single_tables_have_a_frozen_heading_a_filter_and_a_heading_on_every_page(edition: str, sheets: Any) -> None:
    book, _ = computed(edition)
    filtered = 0
    for plan in book.sheets:
        whole = [one for one in plan.tables if one.table is None]
        sheet = sheets[plan.tab]
        if len(whole) == 1:
            [one] = whole
            assert sheet.freeze_panes == f"B{one.first + 1}", plan.tab
            assert (
                sheet.auto_filter.ref
                == f"A{one.header + 2}:{column_letters(len(one.fields) - 1)}{one.first + one.rows}"
            )
            assert sheet.print_title_rows == f"${one.header + 1}:${one.header + 2}"
            filtered += 1
        elif whole:
            assert sheet.auto_filter.ref is None  # it would be the first table's alone
            assert sum(one.rows for one in whole) < 80, plan.tab
    assert filtered > 15
    compare = book.fields["compare.table"]
    assert sheets["Compare"].freeze_panes == f"B{compare.row + 1}"


def test_every_table_shows_what_was_read_and_every_digit(edition: str, sheets: Any) -> None:
    """Sources above the heading; a number format that hides none of a value's digits; † behind what is from memory."""
    book, _ = computed(edition)
    described = {
        one["name"]: one for one in json.loads((FOLDER / "datapackage.json").read_text(encoding="utf-8"))["resources"]
    }
    listed = {(one.table, one.row, one.column): one for one in numbers(edition)}
    daggers = 0
    for plan in book.sheets:
        for one in [one for one in plan.tables if one.table is None]:
            above = " ".join(str(sheets[plan.tab].cell(row, 1).value) for row in range(1, one.header + 1))
            for source in described[one.name]["sources"]:
                assert source["title"] in above, one.name
            keys = rows_of(one.name)
            for field in one.fields:
                for at, key in enumerate(keys):
                    number = listed.get((one.name, key, field.name.partition(".")[2]))
                    if number is None:
                        continue
                    cell = sheets[plan.tab].cell(field.row + at + 1, field.column + 1)
                    shown = cell.number_format
                    dagger = '"†"' in shown
                    daggers += dagger
                    assert dagger == (number.status == "from memory, verify"), (plan.tab, key, field.name)
                    assert cell.value == number.value
                    plain = shown.replace('"†"', "")
                    if plain != "General":
                        digits = len(plain.partition(".")[2])
                        assert round(number.value, digits) == number.value, (plan.tab, key, field.name, plain)
    assert daggers == sum(one.status == "from memory, verify" for one in numbers(edition))
