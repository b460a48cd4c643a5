"""Scenes for `mutants.py`: Weld log, Release and Release points, held against `records.py`."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import handover
import records
from live import Live, Place, Value, one_inch
from records import BOXES, CHANCE, COMPLETE, DAY, FLAGGED, LEFT_OPEN
from routes import job_text
from staging import Case, Scene

SHEETS = ("welds", "release", "release_points")
PIPE: Mapping[str, Any] = {"size": "6", "schedule": "STD", "class": "150", "start": "weld_neck_flange"}
WN = "weld_neck_flange"
CLOCKS = (12, 3, 6, 9)
LEGS, ITEMS = 42, 31
"""Of the long spool: more legs than are drawn, and 286 lines, more than Release has."""


def job(units: str, long: bool) -> str:
    """Spools for every kind of joint, part before and line; the last one is longer than a page and its drawing."""
    far = 1 if units == "inch" else 25.4
    items: list[dict[str, Any]] = [
        {"item": "gate valve", "length": 10 * far, "at": 30 * far, "ends": "flanged", "flange": WN},
        {"item": "check valve", "length": 14 * far, "at": 30 * far, "ends": "butt"},
    ]
    outlets: list[dict[str, Any]] = [
        {"name": "B1", "on": "L1", "at": 20 * far, "kind": "weldolet", "size": "2", "height": 1.5 * far},
        {"name": "B2", "on": "L1", "at": 50 * far, "kind": "stub_on", "size": "4"},
        {"name": "B3", "on": "L1", "at": 80 * far, "kind": "sockolet", "size": "1", "height": 1.125 * far},
    ]
    found: list[dict[str, Any]] = [
        {"mark": "S1", "drawing": "D-1", "revision": "B", "material": "A106-B", **PIPE,
         "leg": [{"east": 70 * far, "end": "elbow", "inline": items[:1]},
                 {"up": 60 * far, "end": "elbow", "inline": items[1:]},
                 {"north": 18.125 * far, "end": "elbow", "make_up": True},
                 {"east": 40 * far, "end": WN}]},
        {"mark": "S2", "drawing": "D-2", **PIPE, "size": "8", "outlet": outlets,
         "leg": [{"east": 100 * far, "end": "tee"}, {"east": 30 * far, "end": "cap"},
                 {"from": "L1", "up": 30 * far, "end": WN},
                 {"from": "B1", "up": 18 * far, "schedule": "XS", "end": WN},
                 {"from": "B2", "north": 40 * far, "end": "bevel"},
                 {"from": "B3", "north": 12 * far, "schedule": "XS", "end": "plain"}]},
        {"mark": "S3", "revision": "A", "size": "12", "schedule": "STD", "start": "bevel", "start_trim": 2 * far,
         "leg": [{"east": 80 * far, "end": "bevel", "trim": 4 * far, "field_gap": "half"}]},
        {"mark": "S4", "material": "A53-B", "size": "30", "schedule": "STD", "start": "plain",
         "leg": [{"up": 200 * far, "end": "plain"}]},
        {"mark": "S5", **PIPE, "start": "tee",
         "leg": [{"east": -30 * far, "end": WN}, {"east": 35 * far, "from": "start", "end": WN},
                 {"up": 25 * far, "from": "start", "end": "elbow"}, {"north": 90 * far, "end": "cap"}]},
        {"mark": "S6", "size": "1", "schedule": "80", "start": "plain", "joint": "threaded", "fitting_class": 3000,
         "leg": [{"east": 20 * far, "end": "elbow"}, {"up": 20 * far, "end": "plain"}]},
        {"mark": "S7", **PIPE, "start": "slip_on_flange", "leg": [{"east": 12 * far, "end": "slip_on_flange"}]},
        {"mark": "S8", "size": "6", "schedule": "40", "start": "cap", "leg": [{"up": 3 * far, "end": "cap"}]},
    ]  # fmt: skip
    if long:
        found.append({"mark": "LONG", **PIPE, "start": "bevel", "leg": [_long_leg(at, far) for at in range(LEGS)]})
    return job_text(found, units)


def _long_leg(at: int, far: float) -> dict[str, Any]:
    leg: dict[str, Any] = {"up": 40 * far, "end": "weld" if at < LEGS - 1 else "bevel"}
    wafer = {"item": "valve", "length": 2 * far, "at": 20 * far, "ends": "wafer", "flange": "slip_on_flange"}
    return leg | ({"inline": [wafer]} if at < ITEMS else {})


# -- what is typed -----------------------------------------------------------------------------------------------------


def log_line(row: int, line: Mapping[str, Value]) -> dict[Place, Value]:
    """A line of the log typed, its other boxes cleared."""
    return {(f"welds.{name}", row): line.get(name) for name in BOXES}


def chance_line(rng: random.Random) -> dict[str, Value]:
    """A line of the log as chance would have it."""
    return {name: rng.choice(values) for name, values in CHANCE.items()}


def filled(book: Live, mark: str) -> dict[Place, Value]:
    """Everything that makes a spool's record complete, sheet by sheet."""
    cells: dict[Place, Value] = {}
    for row, at in enumerate(book.rows("pieces", ["spool", "cut_length"])):
        if at["spool"] == mark:
            cells |= {
                ("pieces.as_cut", row): at["cut_length"],
                ("pieces.heat", row): "H1",
                ("pieces.cut_by", row): "A.E.",
            }
    for row, at in enumerate(book.rows("joints", ["spool", "kind"])):
        if at["spool"] == mark:
            if at["kind"] != "fillet":
                cells |= {(f"joints.gap_{clock}", row): book.value("rules.root_gap") for clock in CLOCKS}
                cells |= {(f"joints.hi_lo_{clock}", row): 0.0 for clock in CLOCKS}
            cells |= {(f"welds.{name}", row): value for name, value in COMPLETE.items()}
    for row, at in enumerate(book.rows("flanges", ["spool", "pair", "lean", "wanted"])):
        if at["spool"] == mark:
            cells["flanges.level_degrees", row] = at["lean"] or 0.0
            cells["faces.marks", row] = 10 * one_inch(book.edition)
            cells |= {(f"faces.{where}_{clock}", row): 10.0 for where in ("near", "far") for clock in CLOCKS}
    for row, at in enumerate(book.rows("dimensions", ["spool", "drawing"])):
        if at["spool"] == mark:
            cells["dimensions.as_built", row] = at["drawing"]
    return cells


def outside_elsewhere(book: Live, mark: str) -> dict[str, dict[Place, Value]]:
    """Readings that are outside on the sheets that have no line on Release, at a spool's first end and first weld."""
    inch = one_inch(book.edition)
    end = book.column("ends.spool").index(mark)
    joint = next(
        row
        for row, at in enumerate(book.rows("joints", ["spool", "kind"]))
        if at["spool"] == mark and at["kind"] != "fillet"
    )
    bores: dict[Place, Value] = {("bores.joint", 0): book.value("joints.label", joint)}
    for row, across in ((0, 6.0), (1, 6.5)):
        bores |= {(f"bore_sizes.bore_{at}", row): across * inch for at in ("12_6", "1_7", "3_9", "4_10")}
    return {
        "Ends": {("ends.square_12_6", end): inch / 2},
        "Bevel": {("bevels.angle_read", end): 50.0},
        "Level": {
            ("levels.clean", joint): "yes", ("levels.first_12", joint): 0.0, ("levels.second_12", joint): 5.0,
            ("levels.first_3", joint): 0.0, ("levels.second_3", joint): 0.0,
        },
        "Bores": bores,
        "Tacks": {("tacks.read_1", joint): inch},
    }  # fmt: skip


def chance(book: Live, seed: int) -> dict[Place, Value]:
    """A log, cuts, fit-ups, flanges, faces and dimensions at random: much right, some outside, some not read."""
    rng = random.Random(seed)
    inch = one_inch(book.edition)
    typed: dict[Place, Value] = {}

    def rows(table: str, column: str) -> list[tuple[int, Any]]:
        """Rows that are filled, of the long spool one in seven."""
        values = zip(book.column(f"{table}.{column}"), book.column(f"{table}.spool"), strict=True)
        kept = [(row, value, spool) for row, (value, spool) in enumerate(values) if value is not None]
        return [(row, value) for row, value, spool in kept if spool != "LONG" or row % 7 == 0]

    def often(value: Value, share: float = 0.8) -> Value:
        return value if rng.random() < share else None

    for row, length in rows("pieces", "cut_length"):
        typed["pieces.as_cut", row] = often(length + rng.choice((0.0, 0.0, 0.01, -0.375, 1.0)) * inch)
        typed["pieces.heat", row] = often(f"P{row}")
        typed["pieces.cut_by", row] = often("B.C.", 0.5)
        typed["pieces.cut_to", row] = rng.choice((None, None, "B", "C"))
    for row, _ in rows("joints", "joint"):
        typed |= log_line(row, chance_line(rng))
        wild = rng.choice((0.0, 0.0, 0.02, 0.2)) * inch
        for clock in CLOCKS:
            typed[f"joints.gap_{clock}", row] = often(inch / 8 + rng.uniform(-wild, wild), 0.95)
            typed[f"joints.hi_lo_{clock}", row] = often(rng.uniform(-wild, wild), 0.95)
    for row, lean in rows("flanges", "lean"):
        typed["flanges.level_degrees", row] = often(lean + rng.choice((0.0, 0.1, 1.0, -2.0)))
    for row, _ in rows("faces", "flange"):
        typed["faces.marks", row] = often(10 * inch)
        for where in ("near", "far"):
            for clock in CLOCKS:
                typed[f"faces.{where}_{clock}", row] = (10 + rng.choice((0.0, 0.0, 0.0, 0.1))) * inch
    for row, drawn in rows("dimensions", "drawing"):
        typed["dimensions.as_built", row] = often(drawn + rng.choice((0.0, 0.01, -0.01, 1.0)) * inch)
        typed["dimensions.measured_by", row] = often("D.E.", 0.5)
    return typed


def _rows_of(book: Live, table: str, mark: str) -> list[int]:
    return [row for row, spool in enumerate(book.column(f"{table}.spool")) if spool == mark]


# -- the scenes --------------------------------------------------------------------------------------------------------


def scenes() -> list[Scene]:
    """Both editions; the long spool in one of them."""
    return [_scene(edition) for edition in ("inch", "mm")]


def _scene(edition: str) -> Scene:
    def text() -> str:
        return job(edition, edition == "inch")

    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        typed = chance(book, 1) | filled(book, "S3") | filled(book, "S7") | _gauges("calliper 3")
        typed |= {place: None for place in filled(book, "S3") if place[0].startswith(("welds.", "joints."))}
        blank = {place: book.column(place[0])[place[1]] for place in typed}
        book.put_all(typed)
        cases = [Case("chance", typed, records.expected(book))]
        book.typed.clear()
        for name, more in _states(book, edition):
            book.put_all(more)
            cases.append(Case(name, more, records.expected(book), own=False))
            book.reset()
        book.put_all(blank)
        return typed, cases

    return Scene(f"record {edition}", edition, text, made, SHEETS, handover.SHEETS)


def _gauges(name: Value) -> dict[Place, Value]:
    found = {"ends.square": name, "fitup.gauge": None, "flanges.level": name, "dimensions.tape": None}
    return {(place, 0): value for place, value in found.items()}


def _states(book: Live, edition: str) -> Iterator[tuple[str, dict[Place, Value]]]:
    """What is typed on top, case by case."""
    marks = [mark for mark in book.column("spools.mark") if mark is not None]
    choose: Place = ("release.spool", 0)
    for mark in [*marks[1:], "nobody"]:
        yield f"spool {mark}", {choose: mark}
    first = [row for row in range(30) if book.column("joints.spool")[row] not in (None, "LONG")]
    for seed in (2, 3, 4):
        rng = random.Random(seed)
        log = {place: value for row in first for place, value in log_line(row, chance_line(rng)).items()}
        yield f"chance {seed}", {**log, choose: marks[seed]}
    yield "complete", {**filled(book, "S1"), choose: "S1"}
    cells = filled(book, "S1")
    for sheet, wrong in outside_elsewhere(book, "S1").items():
        yield f"outside on {sheet}", {**cells, **wrong, choose: "S1"}
    whole = {place: value for each in outside_elsewhere(book, "S1").values() for place, value in each.items()}
    yield "outside elsewhere", {**cells, **whole, choose: "S1"}
    yield "another one's outside", {**cells, **whole, choose: "S3"}
    lines = [{**COMPLETE, **more} for more, _ in (*FLAGGED, *LEFT_OPEN)]
    typed: dict[Place, Value] = {}
    for row, line in zip(first, lines, strict=False):
        typed |= log_line(row, line)
    yield "lines", {**typed, ("rules.procedure", 0): None, choose: "S5"}
    for at, code in enumerate(("B31.3-2010", "B31.3-2014 on", "another")):
        for metal in ("P-1", "P-8", None):
            asked: dict[Place, Value] = {("welds.code_edition", 0): code, ("welds.p_number", 0): metal}
            yield f"preheat {code} {metal}", {**asked, **_gauges(("", "7", None)[at])}
    row = len(marks)
    yield "a spool without legs", {("spools.mark", row): "EMPTY", choose: "EMPTY"}
    if edition == "inch":
        yield from _shortened(book)


def _shortened(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """The long spool with fewer legs and items: just as many lines as there is room for, and one more and less."""
    legs, items = _rows_of(book, "legs", "LONG"), _rows_of(book, "items", "LONG")
    for kept, left in ((LEGS - 2, ITEMS), (LEGS - 1, ITEMS), (11, 2), (8, 4)):
        typed: dict[Place, Value] = {("release.spool", 0): "LONG"}
        typed |= {("legs.spool", row): None for row in legs[kept:]}
        typed |= {("items.spool", row): None for row in items[left:]}
        yield f"{kept} legs and {left} items", typed
