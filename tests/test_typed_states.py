"""The sheets as far as the cut list while somebody types: half-filled, absurd, blank in between, never an error."""

from __future__ import annotations

import random
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from cutting import live as live_book
from live import Live, Place, Value, some, typed_fields
from routes import job_text

DEMO = (Path(__file__).resolve().parent.parent / "output_examples" / "mill_creek.toml").read_text(encoding="utf-8")
EDITIONS = ("inch", "mm")
DESCRIBING = ("spools", "legs", "details", "more", "outlets", "items")
ABSURD: Mapping[bool, list[Value]] = {
    True: [None, "", "zz", "L1", "=1+1", "*", "elbow", "tee", "6", 7.0, "x" * 300],
    False: [None, "", "zz", "3 1/2", 0.0, -7.5, 1e-300, 1e15, -1e15, 1e300, -1e300],
}


@cache
def book(job: str | None, edition: str) -> Live:
    """One to type into; whoever does puts back what stood there."""
    return live_book(job, edition)


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("job", [None, DEMO], ids=["blank", "demo"])
def test_no_absurd_value_makes_an_error(job: str | None, edition: str) -> None:
    """Cells changed a few at a time, and put back now and then, so that mistakes meet one another."""
    live = live_book(job, edition)
    chance = random.Random(f"{edition} {job is None}")
    fields = typed_fields(live.book)
    weights = [4 if field.table in DESCRIBING else 1 for field in fields]
    before = {field.name: live.take(field) for field in fields}
    seen = 0
    for turn in range(150):
        changed: dict[Place, Value] = {}
        for field in chance.choices(fields, weights, k=chance.choice([1, 3, 12])):
            row = chance.randrange(min(field.rows, 18))
            put_back = chance.random() < 0.4 or turn % 30 == 0
            value = before[field.name][row] if put_back else chance.choice(ABSURD[field.unit_kind == "text"])
            changed[field.name, row] = value
            seen += not put_back
        live.put_all(changed)
        assert live.errors() == [], changed
    assert seen > 300


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_typed_cell_takes_text_and_nothing(edition: str) -> None:
    """Each typed cell of a filled row in turn: cleared, text in a number, a number below nothing."""
    live = book(DEMO, edition)
    wrong = []
    for field in typed_fields(live.book):
        filled = next((row for row, value in enumerate(live.take(field)) if value is not None), 0)
        if filled in field.instead:
            continue  # a formula stands there: `test_a_component_by_its_angle`
        before = live.take(field)[filled]
        for value in (None, "zz", -1.0):
            live.put_all({(field.name, filled): value})
            wrong += [f"{field.name} {value!r}: {error}" for error in live.errors()]
        live.put_all({(field.name, filled): before})
    assert wrong == []


def described(source: Live) -> dict[Place, Value]:
    """What a job's workbook has typed into the sheets that describe its spools; a formula there as its value."""
    found: dict[Place, Value] = {}
    for field in typed_fields(source.book):
        if field.table in DESCRIBING:
            found |= {(field.name, row): value for row, value in enumerate(source.take(field)) if value is not None}
    return found


def results(live: Live, gap: int = -1) -> dict[str, list[Any]]:
    """What the legs, pieces and spools come to; rows of numbers are left out, and so is a leg's row left empty."""
    found: dict[str, list[Any]] = {}
    for name in (
        "legs.length", "legs.direction", "legs.turn_start", "legs.turn_end", "legs.takeout_start", "legs.takeout_end",
        "legs.roll_said", "legs.message", "legs.x_end", "pieces.mark", "pieces.cut_text", "pieces.cut_length",
        "pieces.mass", "pieces.start_item", "pieces.end_item", "pieces.message", "spools.legs", "spools.pipe",
        "spools.pipe_mass", "spools.shop_welds", "spools.field_welds", "items.taken", "items.centre", "items.message",
    ):  # fmt: skip
        column = live.column(name)
        if gap >= 0 and name.startswith("legs."):
            del column[gap]
        while column and column[-1] is None:
            column.pop()
        found[name] = column
    return found


@pytest.mark.parametrize("edition", EDITIONS)
def test_typing_the_demo_gives_what_the_job_gives(edition: str) -> None:
    """Cell by cell in any order into the blank sheets: no error on the way, and at the end the job's own answers."""
    demo, live = book(DEMO, edition), live_book(None, edition)
    typed = described(demo)
    rules = {("rules." + name, 0): demo.value("rules." + name) for name in RESTS}
    cells = list((typed | rules).items())
    random.Random(edition).shuffle(cells)
    for at, ((name, row), value) in enumerate(cells):
        live.put(name, value, row)
        if at % 12 == 0:
            live.calculate()
            assert live.errors() == [], (name, row, value)
    live.calculate()
    assert live.errors() == []
    wanted, found = results(demo), results(live)
    for name, column in wanted.items():
        assert (
            found[name] == pytest.approx(column) if all(isinstance(v, float) for v in column) else found[name] == column
        )


def test_an_empty_row_between_spools_moves_nothing() -> None:
    """A row left empty on the Route: the pieces below still find their legs."""
    demo, live = book(DEMO, "inch"), live_book(None, "inch")
    spools = [row for row, mark in enumerate(demo.column("legs.spool")) if mark is not None]
    gap = next(row for row in spools if demo.value("legs.spool", row) == "SP-03")
    typed = {
        (name, row + (name.partition(".")[0] in ("legs", "details") and row >= gap)): value
        for (name, row), value in described(demo).items()
    }
    live.put_all(typed)
    assert live.errors() == []
    assert results(live, gap) == results(demo)


# -- rules that are blank ----------------------------------------------------------------------------------------------

RESTS: Mapping[str, tuple[str, str]] = {
    "root_gap": ("pieces.cut_length", "SP-01-L1"),
    "shrinkage_per_weld": ("pieces.cut_length", "SP-01-L1"),
    "precision": ("pieces.cut_text", "SP-01-L1"),
    "stock_angle_within": ("pieces.cut_length", "SP-01-L1"),
    "slip_on_setback": ("pieces.cut_length", "SP-03-L1"),
    "socket_pullback": ("pieces.cut_length", "SP-05-L1"),
    "root_face": ("pieces.bevel_face", "SP-01-L1"),
    "bevel_angle": ("pieces.bevel_depth", "SP-01-L1"),
    "no_bevel_wall": ("pieces.bevel_face", "SP-01-L1"),
    "single_bevel_wall": ("pieces.bevel_face", "SP-01-L1"),
}
"""What rests on a rule, and a piece that shows it."""


@pytest.mark.parametrize("value", [None, "zz"])
@pytest.mark.parametrize("rule", list(RESTS))
def test_what_rests_on_a_blank_rule_stays_blank(rule: str, value: Value) -> None:
    """A blank is no 0: a cut length without its gap would be too long by it."""
    live = book(DEMO, "inch")
    name, mark = RESTS[rule]
    row = live.column("pieces.mark").index(mark)
    place = (f"rules.{rule}", 0)
    before, shown = live.value(*place), live.value(name, row)
    assert shown is not None
    live.put_all({place: value})
    try:
        assert live.value(name, row) is None
        assert live.errors() == []
        if value is None:
            told = [live.value(f"rules.check_{at}") for at in (3, 4)]
            assert "blank: what rests on it stays blank" in str(told)
    finally:
        live.put_all({place: before})
    assert live.value(name, row) == shown


# -- components by an angle, falls -------------------------------------------------------------------------------------


def test_a_component_by_its_angle() -> None:
    """The Route's cell holds a formula: it follows set, roll and angle, and goes blank where the angle cannot be."""
    legs = [
        {"north": 30, "end": "elbow"},
        {"up": 12, "east": 16, "north": "by 45 deg", "end": "elbow"},
        {"north": 30, "end": "bevel"},
    ]
    spool = {"mark": "A", "size": "4", "schedule": "STD", "class": 150, "start": "weld_neck_flange", "leg": legs}
    live = live_book(job_text([spool]), "inch")
    assert live.value("legs.north", 1) == pytest.approx(20)  # 12, 16, 20: the true offset at 45
    live.put_all({("details.by_angle", 1): 60.0})
    assert live.value("legs.north", 1) == pytest.approx(20 / 3**0.5)
    assert live.value("legs.turn_end", 0) == pytest.approx(60)
    live.put_all({("legs.up", 1): 0.0, ("details.by_angle", 1): -45.0})
    assert live.value("legs.north", 1) == pytest.approx(-16)
    for angle in (None, 0.0, "zz", 90.0, 120.0, 1e300, 0.001):
        live.put_all({("details.by_angle", 1): angle})
        assert live.value("legs.north", 1) is None
        assert live.errors() == []
    live.put_all({("details.by_angle", 1): 45.0, ("legs.east", 1): None, ("legs.up", 1): None})
    assert live.value("legs.north", 1) == 0
    assert "It has no length." in str(live.value("legs.stops", 1))


def test_a_fall() -> None:
    """A quarter inch in the foot along the level distance; a rise is negative."""
    leg = {"east": 48, "north": 36, "fall": "1/4 in/ft", "end": "bevel"}
    spool = {"mark": "A", "size": "4", "schedule": "STD", "start": "bevel", "leg": [leg]}
    live = live_book(job_text([spool]), "inch")
    assert live.value("legs.up", 0) == pytest.approx(-60 / 48)
    live.put_all({("details.fall", 0): -0.5})
    assert live.value("legs.up", 0) == pytest.approx(60 / 24)
    for fall in (None, "zz", 1e300):
        live.put_all({("details.fall", 0): fall})
        assert live.errors() == []
    assert live.value("legs.length", 0) == pytest.approx(60)


def test_a_spool_of_more_legs_than_are_drawn_is_measured_whole() -> None:
    """The sketch draws 40 legs; first to last work point counts them all."""
    legs = [{"east": 30, "end": "weld"} for _ in range(44)] + [{"up": 25, "end": "bevel"}]
    legs[43]["end"] = "elbow"
    spool = {"mark": "A", "size": "4", "schedule": "STD", "start": "bevel", "leg": legs}
    live = live_book(job_text([spool]), "inch")
    assert live.value("sketch.told") == "only the first 40 legs are drawn"
    assert [live.value(f"sketch.{name}_overall") for name in ("east", "north", "up")] == [44 * 30, 0, 25]
    assert live.column("points.x")[40] == 40 * 30


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_a_pocket_sum_of_no_corner_says_nothing(edition: str) -> None:
    """Angles that no corner has, and less than one weld or hole: sines of a million turns are no number to cut by."""
    book = Live(None, edition, some(("rules", "pocket")))
    sums = {
        "turn": ("travel", "advance", "spread_shift", "between"),
        "roll_turn": ("rolling_travel", "rolling_advance"),
        "cut_turn": ("cut_takeout",),
        "mitre_turn": ("mitre_cut", "cutback", "cutback_half"),
        "mitre_welds": ("mitre_cut", "cutback"),
        "holes": ("hole_turn", "chord", "chord_constant", "off_one", "off_other"),
        "bevel_angle": ("bevel_face", "bevel_depth"),
        "side_angle": ("triangle",),
    }
    for typed, results in sums.items():
        assert all(book.value(f"pocket.{name}") is not None for name in results)
        for value in (1e-9, -1.0) if typed in ("mitre_welds", "holes") else (1e9, -1.0, 180.001):
            book.put_all({(f"pocket.{typed}", 0): value})
            assert [name for name in results if book.value(f"pocket.{name}") is not None] == [], (typed, value)
        book.reset()
        book.calculate()
