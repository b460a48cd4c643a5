"""Connections between spools, and what is ordered for them, against spools moved through space."""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

import random
import re
from collections import Counter
from functools import cache
from typing import Any

import numpy as np
import pytest
from alike import same
from live import Live, Value, job_of, some
from routes import job_text, toml
from walk import FLANGES, _rows
from walk_connections import ConnectedWalk

from workbook_builder.errors import JobError

WN, SO, SW, LJ = FLANGES
SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "connections", "bolting", "key",
    "tables_used",
)  # fmt: skip
EDITIONS = ("inch", "mm")
AXES = [np.array(each, dtype=float) * sign for each in ((1, 0, 0), (0, 1, 0), (0, 0, 1)) for sign in (1, -1)]
RINGS = {(row["class"], row["size"]) for row in _rows("ring_joint")}
GASKETS = [row["gasket"] for row in _rows("gasket")]
PAIRS = 60


def opened(text: str | None, edition: str) -> Live:
    return Live(text, edition, some(SHEETS))


def with_connections(spools: list[dict[str, Any]], connections: list[dict[str, Any]], units: str = "inch") -> str:
    """A job of spools and what joins them."""
    lines = [job_text(spools, units, {"stock_angle_within": 0.25})]
    for each in connections:
        lines += ["[[connection]]", *(f"{key} = {toml(value)}" for key, value in each.items())]
    return "\n".join(lines) + "\n"


# -- random pairs ------------------------------------------------------------------------------------------------------


class Pairs:
    """Makes pairs of spools that meet, most of them rightly."""

    def __init__(self, seed: int, units: str) -> None:
        self.rng, self.units = random.Random(seed), units
        self.unit = 1.0 if units == "inch" else 25.4

    def number(self, low: float, high: float) -> float:
        return round(self.rng.uniform(low, high) * self.unit, 3)

    def spool(self, mark: str, out: Any, at_start: bool, end: dict[str, Any]) -> tuple[dict[str, Any], str]:
        """A spool of up to three legs whose joined end looks this way; and that end's name."""
        rng = self.rng
        way, ways = (-out if at_start else out), []
        for _ in range(rng.randint(1, 3)):
            ways.append(way)
            way = rng.choice([each for each in AXES if abs(each @ way) < 0.5])
        if not at_start:
            ways.reverse()
        legs: list[dict[str, Any]] = []
        for each in ways:
            leg: dict[str, Any] = {"end": "elbow"}
            for name, part in zip(("east", "north", "up"), each, strict=True):
                if abs(part) > 1e-9:
                    leg[name] = float(part) * self.number(80, 200)
            legs.append(leg)
        spool: dict[str, Any] = {"mark": mark, "size": end["size"], "schedule": end["schedule"]}
        if end["class"]:
            spool["class"] = end["class"]
        if end.get("facing"):
            spool["facing"] = end["facing"]
        free = rng.choice(["plain", "bevel", "cap"])
        spool["start"] = end["kind"] if at_start else free
        legs[-1]["end"] = free if at_start else end["kind"]
        if "gasket" in end:
            if at_start:
                spool["start_gasket"] = end["gasket"]
            else:
                legs[-1]["gasket"] = end["gasket"]
        if end["kind"] == "bevel" and rng.random() < 0.6:
            key = "start_field_gap" if at_start else "field_gap"
            (spool if at_start else legs[-1])[key] = rng.choice(["half", "full", "none"])
        return {**spool, "leg": legs}, "start" if at_start else f"L{len(legs)}"

    def end(self) -> dict[str, Any]:
        rng = self.rng
        size = rng.choice(["1/2", "2", "3", "6", "8", "12"])
        if rng.random() < 0.25:
            return {"kind": "bevel", "size": size, "schedule": "STD", "class": ""}
        kind = rng.choice([WN, WN, SO, LJ])
        classes = [row["class"] for row in _rows("flange") if row["size"] == size and row["slip_on_in"]]
        if self.units == "mm" and kind == WN and rng.random() < 0.3:
            classes = [row["class"] for row in _rows("flange_en") if row["size"] == size]
        flange_class = rng.choice(classes)
        facing = rng.choice(["", "RF", "FF", "RTJ", "RTJ"])
        if facing == "RTJ" and (kind == LJ or (flange_class, size) not in RINGS):
            facing = "RF"
        return {"kind": kind, "size": size, "schedule": "STD", "class": flange_class, "facing": facing}

    def job(self) -> str:
        rng = self.rng
        spools: list[dict[str, Any]] = []
        connections: list[dict[str, Any]] = []
        for at in range(PAIRS):
            one = self.end()
            two = dict(one) if rng.random() < 0.7 else {**one, **rng.choice([self.end(), {"facing": "FF"}])}
            if two["kind"] == "bevel":
                two |= {"class": "", "facing": ""}
            out = rng.choice(AXES)
            back = -out if rng.random() < 0.85 else rng.choice(AXES)
            thickness = rng.choice(["1/8 in", "0.16 in"])
            for each in (one, two):
                if each["kind"] in FLANGES and rng.random() < 0.2:
                    each["gasket"] = rng.choice([thickness, "1/16 in"])
            first, first_at = self.spool(f"A{at}", out, rng.random() < 0.5, one)
            second, second_at = self.spool(f"B{at}", back, rng.random() < 0.5, two)
            spools += [first, second]
            said: dict[str, Any] = {
                "first": first["mark"], "first_at": first_at, "second": second["mark"], "second_at": second_at,
            }  # fmt: skip
            if rng.random() < 0.5:
                said["gasket"] = rng.choice(GASKETS[:5])
            if rng.random() < 0.4:
                said["thickness"] = thickness
            connections.append(said)
        return with_connections(spools, connections, self.units)


@cache
def text_of(seed: int, units: str) -> str:
    return Pairs(seed, units).job()


@pytest.mark.parametrize(("seed", "units", "edition"), [(1, "inch", "inch"), (1, "inch", "mm"), (2, "mm", "mm")])
def test_connections_agree_with_the_walk(seed: int, units: str, edition: str) -> None:
    walk, book = ConnectedWalk(text_of(seed, units), edition), opened(text_of(seed, units), edition)
    assert book.errors() == []
    found: list[tuple[Any, ...]] = []
    for at, joined in enumerate(walk.joined()):
        row = book.row("connections", at)
        legs_wrong = "Look at the Route first" in (row["cautions"] or "")
        pairs: dict[str, tuple[Any, Any]] = {
            "bolted": (row["bolted"], float(joined.what == "bolted")),
            "welded": (row["welded"], float(joined.what == "welded")),
            "apart": (round(row["apart"], 6), round(joined.apart, 6)),
            "between": (row["between"], joined.between),
            "stud_count": (row["stud_count"], joined.studs),
            "stud_length": (row["stud_length"], joined.stud_length),
            "memory": (bool(row["memory"]), joined.doubtful),
            "stops": (bool(row["stops"]), bool(joined.wrong)),
        }
        line = joined.line if joined.line is not None else [None] * 3
        if "look at each other" in joined.wrong:  # a line through such a pair means nothing
            line = [row[f"line_{axis}"] for axis in ("east", "north", "up")]
        for axis, value in zip(("east", "north", "up"), line, strict=True):
            book_value = row[f"line_{axis}"]
            pairs[f"line_{axis}"] = (
                None if book_value is None else round(book_value, 9) + 0.0,
                None if value is None else round(float(value), 9) + 0.0,
            )
        wanted = "✗ see message" if joined.wrong else "… gasket missing" if joined.between is None else "✓ they fit"
        pairs["verdict"] = (row["verdict"], wanted)
        assert not legs_wrong, row
        for name, (a, b) in pairs.items():
            if not same(a, b):
                found.append((at, name, a, b, joined))
        for word in joined.wrong:
            if word not in row["stops"]:
                found.append((at, word, row["stops"], joined))
    assert found == []


def test_the_pairs_reach_everything() -> None:
    seen: Counter[str] = Counter()
    for seed, units in ((1, "inch"), (2, "mm")):
        for joined in ConnectedWalk(text_of(seed, units), units).joined():
            seen.update(joined.wrong or {f"{joined.what} rightly"})
            seen["no gap"] += joined.between is None
            seen["no stud length"] += joined.what == "bolted" and joined.stud_length is None
            seen["doubtful"] += joined.doubtful
    wanted = "cannot be joined|Size|Class|Facing|Bolt circle|Bolt holes|look at each other|bolted rightly|welded rightly|no gap|no stud length|doubtful"
    assert [each for each in wanted.split("|") if not seen[each]] == []


# -- by hand -------------------------------------------------------------------------------------------------------------


def flanged(
    mark: str, up: float, facing: str = "RF", flange_class: str = "150", size: str = "6", **more: Any
) -> dict[str, Any]:
    return {
        "mark": mark, "size": size, "schedule": "STD", "class": flange_class, "facing": facing, "start": WN,
        "leg": [{"up": up, "end": WN}], **more,
    }  # fmt: skip


JOIN = {"first": "A", "first_at": "L1", "second": "B", "second_at": "start"}


def joined(one: dict[str, Any], two: dict[str, Any], edition: str = "inch", **more: Any) -> dict[str, Any]:
    return opened(with_connections([one, two], [{**JOIN, **more}]), edition).row("connections", 0)


@pytest.mark.parametrize(
    ("flange_class", "size", "facing", "studs"),
    [
        # ASME B16.5, class 150 and 300: number, size and length of stud bolts
        ("150", "6", "RF", '8 × 3/4" × 4"'),
        ("150", "6", "RTJ", '8 × 3/4" × 4-1/2"'),
        ("300", "6", "RF", '12 × 3/4" × 4-3/4"'),
        ("300", "6", "RTJ", '12 × 3/4" × 5-1/2"'),
        ("600", "4", "RF", '8 × 7/8" × 5-3/4"'),
        ("150", "6", "FF", '8 × 3/4" × 4"'),
    ],
)
def test_studs_by_hand(flange_class: str, size: str, facing: str, studs: str) -> None:
    one, two = (flanged(mark, 100, facing, flange_class, size) for mark in "AB")
    assert joined(one, two, thickness="1/8 in")["studs"] == studs


def test_a_line_by_hand() -> None:
    """100 and 60 in of spool with a gasket of 1/8 in between; counted once where a dimension holds it already."""
    one, two = flanged("A", 100), flanged("B", 60)
    assert joined(one, two, thickness="1/8 in")["line_up"] == pytest.approx(160.125)
    two["start_gasket"] = "1/8 in"
    row = joined(one, two, thickness="1/8 in")
    assert row["line_up"] == pytest.approx(160)
    assert row["cautions"] is None
    row = joined(one, two, thickness="3/16 in")
    assert row["line_up"] == pytest.approx(160.0625)
    assert row["cautions"] == 'The dimension of the second spool holds 1/8", here it is 3/16". '
    one["leg"][0]["gasket"] = "1/8 in"
    row = joined(one, two, thickness="1/8 in")
    assert row["line_up"] == pytest.approx(159.875)
    assert row["cautions"] == "The dimensions of both spools hold it: more is taken off than lies between. "


@pytest.mark.parametrize(
    ("one", "two", "adds"), [("none", "none", 1.0), ("half", "half", 0.0), ("full", "none", 0.0), ("half", "none", 0.5)]
)
def test_a_field_weld_counts_its_root_gap_once(one: str, two: str, adds: float) -> None:
    first = {**flanged("A", 100), "leg": [{"up": 100, "end": "bevel", "field_gap": one}]}
    second = {**flanged("B", 60), "start": "bevel", "start_field_gap": two}
    row = joined(first, second)
    assert row["line_up"] == pytest.approx(160 + adds / 8)
    assert row["what"] == "6, field weld"


def test_what_is_ordered() -> None:
    """Eight studs of one size for each joint; a valve has two; a wafer one set for both faces; a ring is a ring."""
    valve = {"item": "gate valve", "valve": "gate", "at": 50, "ends": "flanged", "flange": WN, "gasket": "1/8 in"}
    wafer = {"item": "check", "length": 4, "at": 50, "ends": "wafer", "flange": WN, "gasket": "1/8 in"}
    one = flanged("A", 100, leg=[{"up": 100, "end": WN, "facing": "RTJ", "inline": [valve]}])
    two = flanged("B", 100, start_facing="RTJ", leg=[{"up": 100, "end": WN, "inline": [wafer]}])
    three = flanged("C", 60)
    text = with_connections(
        [one, two, three],
        [JOIN, {"first": "B", "first_at": "L1", "second": "C", "second_at": "start", "thickness": "1/8 in"}],
    )
    book = opened(text, "inch")
    studs = [
        (row["what"], row["studs"], row["nuts"])
        for row in book.rows("stud_list", ("what", "studs", "nuts"))
        if row["what"]
    ]
    assert studs == [('3/4" × 4-1/2"', 8, 16), ('3/4" × 4"', 8 + 16, 48), ('3/4", length not in the tables', 8, 16)]
    gaskets = [(row["what"], row["gaskets"]) for row in book.rows("gasket_list", ("what", "gaskets")) if row["what"]]
    assert gaskets == [("ring R43", 1), ('gasket 1/8", 6, class 150', 1 + 2 + 2)]
    assert book.value("bolting.told") == "no"


# -- sentences -----------------------------------------------------------------------------------------------------------

Cells = dict[tuple[str, int], Value]
BASE = (flanged("A", 100), flanged("B", 60))
BEVEL = {**flanged("B", 60), "start": "bevel"}
SAID: dict[str, tuple[list[dict[str, Any]], Cells, str, str]] = {
    "first unknown": ([*BASE], {("connections.first", 0): "X"}, "stops", "The first spool is not on Spools. "),
    "second unknown": ([*BASE], {("connections.second", 0): "X"}, "stops", "The second spool is not on Spools. "),
    "first leg": ([*BASE], {("connections.first_at", 0): "L9"}, "stops", "The first spool has no such leg: name one, or start. "),
    "second leg": ([*BASE], {("connections.second_at", 0): None}, "stops", "The second spool has no such leg: name one, or start. "),
    "itself": (
        [*BASE], {("connections.second", 0): "A", ("connections.second_at", 0): "L1"}, "stops", "It joins an end with itself. They do not look at each other: 180° off. ",
    ),
    "cannot": ([BASE[0], BEVEL], {}, "stops", "These two ends cannot be joined: weld neck flange and bevelled end. "),
    "blind": (
        [*BASE], {("more.blind", 0): "yes"}, "stops", "A blind flange closes one of these ends. ",
    ),
    "blind start": (
        [*BASE], {("spools.start_blind", 1): "yes"}, "stops", "A blind flange closes one of these ends. ",
    ),
    "size": ([BASE[0], flanged("B", 60, size="8")], {}, "stops", 'Size 6 against size 8. Bolt circle 9-1/2" against 11-3/4". '),
    "class": ([BASE[0], flanged("B", 60, flange_class="300")], {}, "stops", 'Class 150 against class 300. Bolt circle 9-1/2" against 10-5/8". Bolt holes 8 against 12. '),
    "class of the same drilling": ([flanged("A", 100, flange_class="400", size="3"), flanged("B", 60, flange_class="600", size="3")], {}, "stops", "Class 400 against class 600. "),
    "facing": ([BASE[0], flanged("B", 60, "FF")], {}, "stops", "Facing RF against FF. "),
    "turned": ([BASE[0], flanged("B", 0, leg=[{"east": 60, "end": WN}])], {}, "stops", "They do not look at each other: 90° off. "),
    "fits": ([*BASE], {}, "stops", ""),
    "twice": (
        [*BASE], {("connections.first", 1): "B", ("connections.first_at", 1): "start", ("connections.second", 1): "A", ("connections.second_at", 1): "L1"}, "stops 1",
        "One of these ends is joined in a row above already. ",
    ),
    "no gasket": ([*BASE], {("connections.thickness", 0): None}, "cautions", "Say the gasket's kind or its thickness. "),
    "flat": ([flanged("A", 9, "FF"), flanged("B", 60, "FF")], {}, "cautions", "Flat faces: the studs are the standard's for raised faces. "),
    "lap": ([{**flanged("A", 100), "leg": [{"up": 100, "end": LJ}]}, BASE[1]], {}, "cautions", "Lap joint: the studs are longer by the laps; their length is not in the tables. "),
    "first holds another": ([flanged("A", 100, leg=[{"up": 100, "end": WN, "gasket": "1/4 in"}]), BASE[1]], {}, "cautions", 'The dimension of the first spool holds 1/4", here it is 1/8". '),
    "both hold it": ([flanged("A", 100, leg=[{"up": 100, "end": WN, "gasket": "1/8 in"}]), flanged("B", 60, start_gasket="1/8 in")], {}, "cautions", "The dimensions of both spools hold it: more is taken off than lies between. "),
    "second holds another": ([BASE[0], flanged("B", 60, start_gasket="1/16 in")], {}, "cautions", 'The dimension of the second spool holds 1/16", here it is 1/8". '),
    "memory": ([*BASE], {("connections.thickness", 0): None, ("connections.gasket", 0): "flat sheet 1/8"}, "cautions", "† what lies between rests on a value from memory. "),
    "walls": (
        [{**flanged("A", 100), "leg": [{"up": 100, "end": "bevel"}]}, {**BEVEL, "schedule": "XS"}], {}, "cautions", 'Wall 9/32" against 7/16": see Bores. ',
    ),
    "route": ([{**flanged("A", 5), "leg": [{"up": 5, "end": "elbow"}, {"up": 90, "end": WN}]}, BASE[1]], {("connections.first_at", 0): "L1"}, "cautions", "Look at the Route first: a leg of it has a ✗. "),
}  # fmt: skip


@pytest.mark.parametrize("name", list(SAID))
def test_it_is_said(name: str) -> None:
    spools, cells, where, wanted = SAID[name]
    book = opened(with_connections(spools, [{**JOIN, "thickness": "1/8 in"}]), "inch")
    book.put_all(cells)
    column, _, row = where.partition(" ")
    assert (book.value(f"connections.{column}", int(row or 0)) or "") == wanted
    assert book.errors() == []


def test_every_check_has_a_case() -> None:
    told = [wanted for *_, wanted in SAID.values()]
    template = some(SHEETS).shelf.sheet("connections")
    missing = []
    for check in (each for table in template.table for each in table.check):
        pieces = re.findall(r'"([^"]{4,})"', check.say) if check.say.startswith("=") else [check.say.strip()]
        if not any(any(piece.strip() in text for text in told) for piece in pieces):
            missing.append(check.say)
    assert missing == []


def test_nothing_typed_can_break_it() -> None:
    """Cells filled with what nobody means, and cleared one by one: no error value."""
    book, rng = opened(text_of(1, "inch"), "inch"), random.Random(5)
    fields = [field for field in book.book.fields.values() if field.typed and field.table == "connections"]
    for _ in range(25):
        cells: Cells = {}
        for field in fields:
            for row in range(field.rows):
                if rng.random() < 0.25:
                    cells[field.name, row] = rng.choice([None, "", "zz", "A1", "start", 7.0, -1.0, 1e300, "*", "=1+1"])
        book.put_all(cells)
        assert book.errors() == []
        book.reset()
        book.calculate()


WRONG = {
    "no spool": (
        {**JOIN, "second": "AA"},
        "connection C1, second: there is no spool 'AA'; did you mean 'A'?",
    ),
    "no leg of it": (
        {**JOIN, "first_at": "L9"},
        "connection C1, first_at: there is no leg 'L9' in spool A; allowed here: L1, start",
    ),
    "no leg": ({"first": "A", "second": "B", "second_at": "start"}, "connection C1: first_at is missing"),
    "gasket": (
        {**JOIN, "gasket": "flat sheet 1/7"},
        "connection C1, gasket: unknown gasket 'flat sheet 1/7'; did you mean 'flat sheet 1/8'?",
    ),
    "thickness": (
        {**JOIN, "thickness": "2 in"},
        "connection C1, thickness: '2 in' is out of range; allowed: at least 0 and at most 1 in",
    ),
}


@pytest.mark.parametrize("case", list(WRONG))
def test_one_sentence_for_each_wrong_connection(case: str) -> None:
    said, sentence = WRONG[case]
    with pytest.raises(JobError) as caught:
        job_of(with_connections([*BASE], [said]))
    assert str(caught.value) == f"job.toml: {sentence}"
