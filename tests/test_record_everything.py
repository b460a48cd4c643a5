"""Nothing typed is lost: a filled workbook's job file builds a workbook with the same in every typed cell.

Fillings are random, over every cell that a user may type into: good values, values beyond their limits, words where a
number belongs, cleared defaults, cells beside rows that belong to nothing. What a job file cannot hold must be named.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path

import handover
import pytest
from engines import Typed, type_into
from live import WORKBOOK, job_of, place, schema, some, typed_fields
from routes import job_text

from workbook_builder.book import Book, Field
from workbook_builder.build import compute_with_readings, workshop
from workbook_builder.errors import WorkbookError
from workbook_builder.read import Json, Reading, cell_text, read
from workbook_builder.record import Written, job_file
from workbook_builder.template import Column, Input, for_edition

Filling = dict[tuple[str, int], Typed]

SHAPE = ("legs", "spools", "details", "more", "outlets", "items", "connections")
"""Tables whose rows are the job's own entries: their cells say what there is, not what was measured."""

WORDS = ("=1+1", "-x", "H 123", "@a", "12 o'clock", 'say "so"', "+", "°", "4471")


def spools(units: str) -> str:
    """Two spools with flanges, a fillet, a field weld and a valve."""
    far = 60 if units == "inch" else 1500
    six = {"size": "6", "schedule": "STD", "class": "150"}
    valve = {"item": "gate valve", "length": far / 6, "at": far / 2, "ends": "flanged", "flange": "slip_on_flange"}
    return job_text(
        [
            {"mark": "S1", **six, "start": "weld_neck_flange",
             "leg": [{"east": far, "end": "elbow"}, {"up": far, "end": "weld_neck_flange", "inline": [valve]}]},
            {"mark": "S2", **six, "start": "weld", "leg": [{"north": far, "end": "elbow"}, {"up": far, "end": "cap"}]},
        ],
        units,
    )  # fmt: skip


@cache
def first(edition: str) -> tuple[bytes, Book, Reading]:
    """The job's workbook: the file, its layout, and what it says."""
    job = job_of(spools(edition))
    content = workshop().build(WORKBOOK, job, edition)
    return content, workshop().lay_out(WORKBOOK, job, edition), read(content, "first.xlsx")


def filled(edition: str, filling: Mapping[tuple[str, int], Typed], folder: Path) -> Reading:
    """The job's workbook with values typed into it."""
    content, book, _ = first(edition)
    path = folder / "first.xlsx"
    path.write_bytes(content)
    cells = {place(book.fields[name], row): value for (name, row), value in filling.items()}
    return read(type_into(path, folder / "filled.xlsx", cells).read_bytes(), "filled.xlsx")


def again(written: Written, edition: str) -> Reading:
    """What the workbook says that is built from a job file."""
    return read(workshop().build(WORKBOOK, job_of(written.text), edition), "again.xlsx")


def typed_again(written: Written, edition: str) -> dict[str, list[Json]]:
    """What stands in the typed cells of that workbook, without writing and reading it."""
    made = workshop().prepare(WORKBOOK, job_of(written.text), edition)
    compute_with_readings(*made, lambda: None)
    found: dict[str, list[Json]] = {}
    for field in typed_fields(made[0]):
        values = [*field.values, *[None] * (field.rows - len(field.values))]
        found[field.name] = [
            None if at in field.instead or value in (None, "") else plain(value, field)
            for at, value in enumerate(values)
        ]
    return found


def plain(value: object, field: Field) -> Json:
    """A cell's value as `read` gives it."""
    if isinstance(value, date):
        return value.isoformat()
    if field.unit_kind == "text":
        return str(value)
    assert isinstance(value, (int, float))
    return value


def typed_values(reading: Reading) -> dict[str, list[Json]]:
    """Every typed cell by name."""
    return {
        one.name: [str(value) if one.unit_kind == "text" and value is not None else value for value in values]
        for one in reading.names
        if one.typed
        for values in [reading.values[one.name]]
    }


def limits(field: Field, edition: str) -> tuple[float, float]:
    """What a number may be, in the edition's unit."""
    declared = field.declared
    assert isinstance(declared, (Input, Column))
    low, high = (for_edition(value, edition) for value in (declared.minimum, declared.maximum))
    units = workshop().units
    least, most = (
        float(str(units.cell_value(limit, field.unit_kind, edition))) if limit is not None else None
        for limit in (low, high)
    )
    return least if least is not None else 0.0, most if most is not None else 1.0


def good(field: Field, chance: random.Random, reading: Reading, edition: str) -> Typed:
    """A value that may stand in a cell."""
    declared = field.declared
    assert isinstance(declared, (Input, Column))
    if isinstance(declared.choices, list) and declared.choices:
        return chance.choice(declared.choices)
    if declared.choices:
        known = [value for value in reading.values.get(str(declared.choices), []) if value is not None]
        return str(chance.choice(known)) if known else None
    if field.unit_kind == "text":
        return chance.choice(WORDS)
    if field.unit_kind == "date":
        return float(chance.randrange(40000, 50000))
    if field.name.startswith("rules."):
        now = reading.values[field.name][0]
        least, most = limits(field, edition)
        if not isinstance(now, (int, float)):
            return None
        return round(min(most, max(least, float(now) * chance.uniform(0.99, 1.01))), 9)
    least, most = limits(field, edition)
    value = chance.uniform(least, most)
    if field.name in ("flanges.apart", "tack_practice.own_number"):
        return float(round(value))
    return float(f"{value:.{chance.choice([1, 3, 6, 12])}g}")


def readings(edition: str) -> list[Field]:
    """Every field that a user types into, but those that say which spools and legs there are."""
    _, book, _ = first(edition)
    return [field for field in typed_fields(book) if field.table not in SHAPE and field.name != "start.job_name"]


def belongs(field: Field, row: int, reading: Reading) -> bool:
    """Whether a row is somebody's."""
    _, book, _ = first(reading.edition)
    table = book.tables[field.table].table if field.table else None
    if table is None or not table.match:
        return True
    return all(reading.values[f"{field.table}.{column}"][row] is not None for column in table.match.values())


@pytest.mark.parametrize(
    ("edition", "seed"),
    [
        ("inch", 1),
        pytest.param("inch", 2, marks=pytest.mark.thorough),
        pytest.param("mm", 3, marks=pytest.mark.thorough),
    ],
)
def test_good_fillings_come_back(edition: str, seed: int, tmp_path: Path) -> None:
    """All cells, or half of them: what comes back is the same to the last digit, and so is what follows from it."""
    _, _, blank = first(edition)
    chance = random.Random(seed)
    filling: Filling = {}
    for field in readings(edition):
        rows = [row for row in range(field.rows) if belongs(field, row, blank)]
        for row in rows if seed % 2 else [row for row in rows if chance.random() < 0.5]:
            filling[field.name, row] = good(field, chance, blank, edition)
    before = filled(edition, filling, tmp_path)
    names = {name for name, _ in filling}
    assert seed % 2 == 0 or names == {field.name for field in readings(edition)}
    written = job_file(before, schema(), workshop())
    assert written.left_out == []
    assert typed_again(written, edition) == typed_values(before)
    assert typed_values(before) != typed_values(blank)
    if seed == 1:  # the whole way once: what follows from the cells is the same too
        assert again(written, edition).values == {**before.values, **typed_text(before)}


def typed_text(reading: Reading) -> dict[str, list[Json]]:
    """Typed text cells, with the digits that a number in them has."""
    known = {one.name for one in reading.names if one.typed and one.unit_kind == "text"}
    return {name: values for name, values in typed_values(reading).items() if name in known}


@pytest.mark.parametrize(("edition", "seed"), [("inch", 5), pytest.param("mm", 6, marks=pytest.mark.thorough)])
def test_slips_come_back_or_are_named(edition: str, seed: int, tmp_path: Path) -> None:
    """Numbers beyond limits, words that are no choice, words for numbers, blanks, rows that are nobody's."""
    chance = random.Random(seed)
    filling: Filling = {}
    slips: list[Typed] = ["see note", "about 1/8", -3.5, 0.0, 123456.789, 1e-7, 1e15, None, "yes", "W1", 45000.0]
    for field in readings(edition):
        for row in range(field.rows):
            if chance.random() < 0.2 and not field.name.startswith("rules.root_gap"):
                filling[field.name, row] = chance.choice(slips)
    before = filled(edition, filling, tmp_path)
    written = job_file(before, schema(), workshop())
    kept, wanted = typed_again(written, edition), typed_values(before)
    lost = {
        cell_text(one.tab, one.row + row, one.column)
        for one in before.names
        if one.typed
        for row, value in enumerate(wanted[one.name])
        if kept[one.name][row] != value
    }
    named = {line.partition(" (")[0] for line in written.left_out}
    assert lost == named
    strange = [field for field in readings(edition) if field.unit_kind not in ("text", "date")]
    assert len(named) > 20 and len(lost) < len(filling) / 2 and len(strange) > 100


@pytest.mark.parametrize(("edition", "seed"), [pytest.param("inch", 7, marks=pytest.mark.thorough), ("mm", 8)])
def test_a_changed_route_comes_back_or_is_refused(edition: str, seed: int, tmp_path: Path) -> None:
    """Cells of spools, legs, details and items, cleared or changed for another good value."""
    _, book, blank = first(edition)
    chance = random.Random(seed)
    shape = [field for field in typed_fields(book) if field.table in SHAPE]
    tried = came_back = 0
    for _ in range(4):
        filling: Filling = {}
        for field in chance.sample(shape, 3):
            row = chance.randrange(min(field.rows, 5))
            filling[field.name, row] = None if chance.random() < 0.4 else good(field, chance, blank, edition)
        before = filled(edition, filling, tmp_path)
        tried += 1
        try:
            written = job_file(before, schema(), workshop())
        except WorkbookError as wrong:
            assert "makes no job file yet" in str(wrong), filling
            continue
        after = typed_again(written, edition)
        named = {line.partition(" (")[0] for line in written.left_out}
        for one in before.names:
            if one.typed:
                wanted = [
                    value
                    for row, value in enumerate(typed_values(before)[one.name])
                    if value is not None
                    and row not in one.formulas
                    and cell_text(one.tab, one.row + row, one.column) not in named
                ]
                assert [value for value in after[one.name] if value is not None] == wanted, filling
        came_back += 1
    assert 0 < came_back <= tried


def test_a_blank_workbook_filled_by_hand_comes_back(tmp_path: Path) -> None:
    """Rows left free between legs close up; what stands beside no leg follows below them, or is named."""
    shop = some(("start", *handover.SHEETS, "seams", "connections", "checks"))
    book = shop.lay_out(WORKBOOK, None, "mm")
    path = tmp_path / "blank.xlsx"
    path.write_bytes(shop.build(WORKBOOK, None, "mm"))
    last = book.fields["legs.north"].rows - 1
    typed: Filling = {
        ("start.job_name", 0): "By hand", ("start.job_number", 0): "77", ("rules.procedure", 0): "WPS-1",
        ("spools.mark", 1): "F-1", ("spools.start", 1): "weld_neck_flange", ("spools.flange_class", 1): "150",
        ("legs.spool", 0): "F-1", ("legs.leg", 0): "L1", ("legs.east", 0): 900.0, ("legs.end", 0): "elbow",
        ("legs.size", 0): "6", ("legs.schedule", 0): "STD",
        ("legs.spool", 3): "f-1", ("legs.leg", 3): "L2", ("legs.up", 3): 700.0, ("legs.end", 3): "cap",
        ("legs.size", 3): "6", ("legs.schedule", 3): "STD",
        ("legs.north", 5): 12.5, ("details.trim", 5): 3.0, ("legs.north", last): 4.0,
        ("joints.gap_12", 1): 3.2, ("joints.hi_lo_9", 1): -0.4, ("welds.welder", 2): "K7", ("joints.gap_3", 60): 2.5,
        ("flanges.level_degrees", 0): 0.25, ("faces.marks", 0): 250.0, ("fitup.gauge", 0): "G-7",
    }  # fmt: skip
    cells = {place(book.fields[name], row): value for (name, row), value in typed.items()}
    before = read(type_into(path, tmp_path / "filled.xlsx", cells).read_bytes(), "filled.xlsx")
    written = job_file(before, schema(), shop)
    (line,) = written.left_out
    assert "(joints.gap_3): 2.5 stands beside no joints, and the job has no such row" in line
    typed.pop(("joints.gap_3", 60))
    after = shop.prepare(WORKBOOK, job_of(written.text), "mm")
    compute_with_readings(*after, lambda: None)
    for name, row in typed:
        field = after[0].fields[name]
        wanted = [value for value in typed_values(before)[name] if value is not None]
        assert [plain(value, field) for value in field.values if value not in (None, "")] == wanted, (name, row)
