"""Joints and material follow the route: counted again from the job, part by part."""

from __future__ import annotations

import tomllib
from collections import Counter
from functools import cache
from typing import Any

import gauges
import pytest
import takeoff
from live import Live, some
from oracles import State, expected, live, mismatches, opened, walked, yard
from routes import Routes, job_text
from walk import Walk

EDITIONS = ("inch", "mm")


def made_of(text: str, edition: str, walk: type[Walk] = Walk) -> str:
    """A job without those of its spools that cannot be made."""
    wrong = {spool.mark for spool in walk(text, edition).spools if spool.wrong}
    said = tomllib.loads(text)
    return job_text([spool for spool in said["spool"] if spool["mark"] not in wrong], edition, said["rules"])


@cache
def random_job(seed: int, edition: str) -> str:
    """A job of random spools that can be made."""
    return made_of(Routes(seed, edition).job(20), edition)


def parts_shown(book: Live) -> list[tuple[Any, ...]]:
    """Rows of Parts that say something."""
    rows = book.rows("parts", ["spool", "where", "what", "quantity", "mass"])
    return [tuple(row.values()) for row in rows if row["what"]]


def parts_counted(walk: Walk) -> list[tuple[Any, ...]]:
    """The same, counted from the job."""
    return [
        (walk.spools[part.spool].mark, part.where, part.what, float(part.quantity), part.mass)
        for part in takeoff.parts_of(walk)
    ]


def close(one: tuple[Any, ...], other: tuple[Any, ...]) -> bool:
    """Whether two parts are the same; a mass may be rounded in its last digit."""
    return one[:4] == other[:4] and (one[4] == other[4] or one[4] == pytest.approx(other[4], rel=1e-12))


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_sort_of_joint_and_part(edition: str) -> None:
    """The yard: reducers, tees by run and branch, make-up, items in mid-leg and against ends, all sorts of starts."""
    walk = walked(yard(), edition)
    book = opened(State("yard", yard(), edition))
    assert mismatches(book, expected(State("yard", yard(), edition))) == []
    counted, shown = parts_counted(walk), parts_shown(book)
    assert len(counted) == len(shown) and all(map(close, shown, counted))
    kinds = Counter(joint.kind for joint in gauges.joints_of(walk))
    assert kinds == {"butt": 65, "fillet": 14, "field": 2, "threaded": 1}
    # rows after the last joint are blank
    last = sum(kinds.values())
    after = [book.row("joints", last)[name] for name in ("spool", "joint", "first_part", "verdict", "action")]
    assert not any(after)


@pytest.mark.parametrize("seed", range(8))
def test_joints_and_material_of_random_jobs(seed: int) -> None:
    edition = EDITIONS[seed % 2]
    text = random_job(seed, edition)
    walk, book = Walk(text, edition), Live(text, edition, some())
    wanted = gauges.expected_readings(walk, {}) | takeoff.expected_material(walk)
    assert mismatches(book, wanted) == []
    counted, shown = parts_counted(walk), parts_shown(book)
    assert len(counted) == len(shown) and all(map(close, shown, counted))
    assert len([label for label in book.column("joints.label") if label]) == len(gauges.joints_of(walk))
    assert book.errors() == []


def many(count: int) -> str:
    """A job with so many kinds of pipe, and more kinds of parts."""
    pairs = [(row["size"], row["schedule"]) for row in takeoff.pipes() if row["wall_in"]][: count * 5 : 5]
    spools: list[dict[str, Any]] = [
        {"mark": f"S{at}", "size": size, "schedule": schedule, "start": "bevel",
         "leg": [{"up": 50 + at, "end": "other", "item": f"part {at}", "joint": "butt", "takeout": 1, "mass": 2}]}
        for at, (size, schedule) in enumerate(pairs)
    ]  # fmt: skip
    return job_text(spools)


@pytest.mark.parametrize(("count", "full"), [(takeoff.PIPE_ROWS, False), (takeoff.PIPE_ROWS + 1, True), (41, True)])
def test_more_kinds_than_rows(count: int, full: bool) -> None:
    """What does not fit into the lists is said, never dropped without a word."""
    text = many(count)
    walk, book = Walk(text, "inch"), Live(text, "inch", some())
    assert mismatches(book, takeoff.expected_material(walk)) == []
    assert (book.value("material.told") == "no") is not full
    assert book.errors() == []


def test_masses_make_a_spool_complete() -> None:
    """Typing the masses that lack turns the remark, piece by piece."""
    text = yard()
    book = live(text, "inch")
    book.reset()
    book.calculate()
    assert book.value("spool_list.remark", 5) == "complete"
    row = next(row for row, leg in enumerate(walked(text, "inch").legs) if leg.spool == "Y06")
    book.put("details.mass", None, row)
    book.calculate()
    assert book.value("spool_list.remark", 5) == "not complete: 1 items without mass"
    book.put("details.mass", 50.0, row)
    book.calculate()
    assert book.value("spool_list.remark", 5) == "complete"
    pipe = book.value("spool_list.pipe", 5)
    assert book.value("spool_list.mass", 5) == pytest.approx(pipe + 60 + 50 + 11 + 19, abs=1e-9)
    assert book.value("spool_list.remark", 14) == "not complete: 1 pieces without length"
    book.reset()
    book.calculate()


def test_a_blank_workbook_lists_nothing() -> None:
    book = Live(None, "inch", some())
    assert not any(book.column("joints.label")) and not any(book.column("parts.what"))
    assert not any(book.column("pipe_list.what")) and not any(book.column("part_list.what"))
    assert (book.value("fitup.joints_total"), book.value("material.told")) == (0, "no")
    assert (book.value("fitup.told"), book.value("ends.told")) == ("0 ✓, 0 ✗, 0 …", "0 ✓, 0 ✗, 0 …")
    assert book.errors() == []
    # a spool typed by hand, row by row, as in the field
    legs = [("X", "L1", 40.0, None, "elbow"), ("X", "L2", None, 30.0, "weld_neck_flange")]
    book.put("spools.mark", "X")
    book.put("spools.start", "cap")
    book.put("spools.flange_class", "150")
    for row, (spool, leg, east, up, end) in enumerate(legs):
        for name, value in zip(("spool", "leg", "east", "up", "end"), (spool, leg, east, up, end), strict=True):
            book.put(f"legs.{name}", value, row)
        book.put("legs.size", "6", row)
        book.put("legs.schedule", "STD", row)
    book.calculate()
    assert [label for label in book.column("joints.label") if label] == ["X W1", "X W2", "X W3", "X W4"]
    assert book.column("part_list.what")[:3] == [
        "elbow, long radius 90 6 STD", "weld neck flange 6 STD class 150", "cap 6 STD",
    ]  # fmt: skip
    assert book.value("pipe_list.length") == pytest.approx(40 - 3.5 - 9 - 0.25 + 30 - 9 - 3.5 - 0.25, abs=1e-9)
    assert book.errors() == []


def test_loose_flanges_and_blinds_are_counted_each_on_its_own() -> None:
    """A stub end has its flange beside an item as at a leg's end; a blind is one line, whatever it is bolted to."""
    valve = {"item": "gate valve", "length": 9, "at": 50, "ends": "flanged", "flange": "lap_joint", "gasket": "1/8 in"}
    check = {**valve, "item": "check valve", "at": 80, "class": "300"}
    against = {"item": "butterfly", "length": 2, "against": "end", "ends": "wafer", "flange": "lap_joint"}
    spools: list[dict[str, Any]] = [
        {"mark": "A", "size": "4", "schedule": "STD", "class": "150", "start": "lap_joint", "start_blind": True,
         "leg": [{"east": 120, "end": "weld_neck_flange", "blind": True, "inline": [valve, check]}]},
        {"mark": "B", "size": "4", "schedule": "STD", "class": "150", "start": "bevel",
         "leg": [{"east": 120, "end": "lap_joint", "inline": [against]}]},
    ]  # fmt: skip
    text = job_text(spools)
    walk, book = Walk(text, "inch"), Live(text, "inch", some())
    assert mismatches(book, takeoff.expected_material(walk)) == []
    counted, shown = parts_counted(walk), parts_shown(book)
    assert len(counted) == len(shown) and all(map(close, shown, counted))
    parts = {row["what"]: row["quantity"] for row in book.rows("part_list", ("what", "quantity")) if row["what"]}
    assert {what: count for what, count in parts.items() if "lap joint flange" in what or "blind" in what} == {
        "lap joint flange 4 class 150": 1 + 2 + 1 + 1,  # a start, both sides of a valve, an end, a wafer bolted to it
        "lap joint flange 4 class 300": 2,
        "blind flange 4 class 150": 2,
    }
    row = book.rows("spool_list", ("parts", "remark"))[0]
    # stub end, its flange and blind; flange and its blind; two valves, two stub ends and flanges at each
    assert row == {"parts": 15, "remark": "not complete: 15 items without mass"}
    assert book.errors() == []
