"""Connections between spools, and what is ordered for them, against spools moved through space."""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

import random
import re
from collections import Counter
from functools import cache
from typing import Any

import pytest
from alike import same
from live import Live, job_of, some
from pairs import BASE, JOIN, SAID, WN, Cells, Pairs, flanged, with_connections
from walk_connections import ConnectedWalk

from workbook_builder.errors import JobError

SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "connections", "bolting", "key",
    "tables_used",
)  # fmt: skip


def opened(text: str | None, edition: str) -> Live:
    return Live(text, edition, some(SHEETS))


# -- random pairs ------------------------------------------------------------------------------------------------------


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


def ordered_in(book: Live) -> tuple[list[tuple[Any, ...]], list[tuple[Any, ...]]]:
    """Studs and gaskets that Bolting adds up."""
    studs = book.rows("stud_list", ("what", "studs"))
    gaskets = book.rows("gasket_list", ("what", "gaskets"))
    return tuple([tuple(row.values()) for row in rows if row["what"]] for rows in (studs, gaskets))  # type: ignore[return-value]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ([], "none"),
        ([{"first": "C", "first_at": "L1", "second": "B", "second_at": "L1"}], "✗ 1 connection is left out, see Connections"),
        (
            [{**JOIN, "gasket": "flat sheet 1/8"}, {"first": "C", "first_at": "L1", "second": "D", "second_at": "start"}],
            "✗ 2 connections are left out, see Connections",
        ),
        # a field weld has nothing to bolt
        ([{"first": "D", "first_at": "L1", "second": "E", "second_at": "start"}], "none"),
    ],
    ids=["none", "class against class", "joined above, kind against kind", "field weld"],
)  # fmt: skip
def test_what_cannot_be_is_not_ordered(more: list[dict[str, Any]], said: str) -> None:
    """Studs of a pair that fits, whatever rows with a ✗ stand beside it."""
    spools = [
        *BASE, flanged("C", 60, "RTJ", "600"),
        {**flanged("D", 60), "start": "bevel", "leg": [{"up": 60, "end": "bevel"}]},
        {**flanged("E", 60, size="4"), "start": "bevel"},
    ]  # fmt: skip
    book = opened(with_connections(spools, [{**JOIN, "thickness": "1/8 in"}, *more]), "inch")
    assert ordered_in(book) == ([('3/4" × 4"', 8)], [('gasket 1/8", 6, class 150', 1)])
    assert book.value("bolting.left") == said


def test_a_blind_takes_studs_and_a_gasket() -> None:
    """At an end and at a start, by its own class and facing; a lap joint's studs are longer."""
    one = flanged("A", 100, start_blind=True, start_gasket="1/16 in", leg=[{"up": 100, "end": WN, "blind": True}])
    two = flanged(
        "B", 100, flange_class="300", start="bevel", leg=[{"up": 100, "end": WN, "facing": "RTJ", "blind": True}]
    )
    three = flanged("C", 100, start="bevel", leg=[{"up": 100, "end": "lap_joint", "blind": True}])
    book = opened(with_connections([one, two, three], []), "inch")
    assert ordered_in(book) == (
        [('3/4" × 4"', 16), ('3/4" × 5-1/2"', 12), ('3/4", length not in the tables', 8)],
        [("gasket, 6, class 150", 2), ("ring R45", 1), ('gasket 1/16", 6, class 150', 1)],
    )
    assert [each for each in book.column("bolting.where") if each] == [
        "A L1, blind flange", "B L1, blind flange", "C L1, blind flange", "A start, blind flange",
    ]  # fmt: skip
    assert book.errors() == []


# -- sentences -----------------------------------------------------------------------------------------------------------


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
