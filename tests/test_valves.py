"""Valves by type, class and ends: every length of the table, and one sentence for each that it has not."""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

from copy import deepcopy
from functools import cache
from typing import Any

import pytest
from cutting import live
from live import Live, job_of, some
from routes import job_text
from walk import _rows

from workbook_builder.errors import JobError

WN = "weld_neck_flange"
ENDS = {"face_to_face": ("flanged", "RF"), "ring_joint": ("flanged", "RTJ"), "weld_ends": ("butt", None)}
CASES = [(row, column) for row in _rows("valve") for column in ENDS if row[f"{column}_mm"]]


def spool(item: dict[str, Any], flange_class: str = "150", size: str = "6", **more: Any) -> dict[str, Any]:
    """A spool of one long leg with an item in it."""
    schedule = next(row["schedule"] for row in _rows("pipe") if row["size"] == size)
    item = {"item": "valve", "at": "600 in", **item}
    leg = {"east": "1200 in", "end": "plain", "inline": [item]}
    return {"size": size, "schedule": schedule, "class": flange_class, "start": "plain", **more, "leg": [leg]}


def of(row: dict[str, str], column: str) -> dict[str, Any]:
    ends, facing = ENDS[column]
    item: dict[str, Any] = {"valve": row["valve"], "ends": ends}
    if facing:
        item |= {"flange": WN, "facing": facing, "gasket": 0}
    return spool(item, row["class"], row["size"])


@cache
def every_valve(edition: str) -> Live:
    return live(job_text([{"mark": f"S{at}", **of(row, column)} for at, (row, column) in enumerate(CASES)]), edition)


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_every_length_of_the_table_reaches_the_pipe(edition: str) -> None:
    """The pipe before a valve ends half its length, a flange and a root gap short of its centre; † where from memory."""
    book = every_valve(edition)
    suffix, unit = {"inch": ("in", 1.0), "mm": ("mm", 25.4)}[edition]
    gap = book.value("rules.root_gap")
    columns = {name: book.column(f"items.{name}") for name in ("length_taken", "side_take", "memory", "left_edge")}
    texts, found = book.column("pieces.cut_text"), []
    for at, (row, column) in enumerate(CASES):
        length = float(row[f"{column}_{suffix}"])
        edge = 600 * unit - length / 2 - columns["side_take"][at] - gap
        if columns["length_taken"][at] != length or abs(columns["left_edge"][at] - edge) > 1e-9 * edge:
            found.append((row["key"], column, columns["length_taken"][at], length))
        dagger = row["status"].startswith("from memory")
        if bool(columns["memory"][at]) != dagger or ("†" in texts[2 * at]) != dagger:
            found.append((row["key"], column, "†", dagger))
    assert found == []
    assert len({row["status"] for row, _ in CASES}) == 2


def test_the_inch_lengths_by_hand() -> None:
    """ASME B16.10 gate valves as printed in inches: class 150 NPS 6 10.50, weld ends 15.88; class 300 NPS 2 ring joint 9.12."""
    rows = {row["key"]: row for row in _rows("valve")}
    assert float(rows["gate|150|6"]["face_to_face_in"]) == 10.5
    assert float(rows["gate|150|6"]["weld_ends_in"]) == pytest.approx(15.88, abs=0.01)
    assert float(rows["gate|300|2"]["ring_joint_in"]) == pytest.approx(9.12, abs=0.01)


def test_a_typed_length_beats_the_table_and_is_compared() -> None:
    item = {"valve": "gate", "ends": "flanged", "flange": WN, "length": "11 in", "gasket": 0}
    cases = [item, {**item, "length": "10 in"}, {**item, "length": "10.5 in"}, {**item, "takes": "20 in"}]
    book = live(job_text([{"mark": f"S{at}", **spool(each)} for at, each in enumerate(cases)]), "inch")
    assert book.column("items.length_taken")[:4] == [11, 10, 10.5, 11]
    assert [each or "" for each in book.column("items.cautions")[:4]] == [
        'Its length is typed: the table has 10-1/2", 1/2" less. ',
        'Its length is typed: the table has 10-1/2", 1/2" more. ',
        "",
        'Its length is typed: the table has 10-1/2", 1/2" less. ',
    ]
    assert book.column("items.taken")[:4] == [18.25, 17.25, 17.75, 20]


def test_a_mass_is_typed_or_missing() -> None:
    """The tables have no masses: a valve's counts as missing, and the spool's total says that it is not complete."""
    item = {"valve": "gate", "ends": "butt"}
    book = Live(
        job_text([{"mark": "A", **spool(item)}, {"mark": "B", **spool({**item, "mass": "300 lb"})}]), "inch", some()
    )
    remarks = [each for each in book.column("spool_list.remark") if each]
    assert remarks == ["not complete: 1 items without mass", "complete"]
    masses = [each for each in book.column("spool_list.mass") if each is not None]
    assert masses[1] - masses[0] == pytest.approx(300)


NO = "spool A, leg L1, inline item 1, valve: no such combination in the tables: a"
FLANGED = {"ends": "flanged", "flange": WN}
WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "no such class": (spool({"valve": "gate", **FLANGED}, "900"), f"{NO} gate valve with raised faces, size 6, class 900; type its length"),
    "no such size": (spool({"valve": "globe", **FLANGED}, "300", "24"), f"{NO} globe valve with raised faces, size 24, class 300; type its length"),
    "no such ring joint": (spool({"valve": "globe", **FLANGED, "facing": "RTJ"}), f"{NO} globe valve with ring joint faces, size 6, class 150; type its length"),
    "no such ring joint by the spool": (spool({"valve": "globe", **FLANGED}, facing="RTJ"), f"{NO} globe valve with ring joint faces, size 6, class 150; type its length"),
    "raised in a ring joint spool": (
        spool({"valve": "ball short", **FLANGED, "facing": "RF"}, "150", "4", facing="RTJ"), f"{NO} ball short valve with raised faces, size 4, class 150; type its length",
    ),
    "flat": (spool({"valve": "gate", **FLANGED, "facing": "FF"}), f"{NO} valve with flat faces; type its length"),
    "flat by the spool": (spool({"valve": "gate", **FLANGED}, facing="FF"), f"{NO} valve with flat faces; type its length"),
    "weld ends": (spool({"valve": "swing check", "ends": "butt"}), f"{NO} swing check valve with weld ends, size 6, class 150; type its length"),
    "socket": (spool({"valve": "gate", "ends": "socket"}, size="1"), f"{NO} valve with socket ends; type its length"),
    "threaded": (spool({"valve": "gate", "ends": "threaded"}, size="1"), f"{NO} valve with threaded ends; type its length"),
    "wafer": (spool({"valve": "swing check", **FLANGED, "ends": "wafer"}), f"{NO} valve with wafer ends; type its length"),
    "no such valve": (
        spool({"valve": "gates", **FLANGED}), "spool A, leg L1, inline item 1, valve: unknown valve 'gates'; did you mean 'gate'?",
    ),
    "no length": (
        spool(FLANGED), "spool A, leg L1, inline item 1, length: its length is not given; give length, or valve for the table's",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", list(WRONG))
def test_one_sentence_for_each_valve_that_the_table_has_not(case: str) -> None:
    wrong, sentence = WRONG[case]
    with pytest.raises(JobError) as caught:
        job_of(job_text([{"mark": "A", **wrong}]))
    assert str(caught.value) == f"job.toml: {sentence}"


@pytest.mark.parametrize(
    ("item", "size", "sentence"),
    [
        ({"against": "end"}, "1", "against: threaded ends take a nipple between; give at, from the leg's start to its centre"),
        ({}, "14", "ends: no such combination in the tables: a pipe thread in size 14; type what it takes"),
    ],
)  # fmt: skip
def test_a_thread_that_cannot_be_is_refused(item: dict[str, Any], size: str, sentence: str) -> None:
    threaded = {"item": "valve", "length": 4, "ends": "threaded", **item}
    with pytest.raises(JobError) as caught:
        job_of(job_text([{"mark": "A", **spool(threaded, size=size)}]))
    assert str(caught.value) == f"job.toml: spool A, leg L1, inline item 1, {sentence}"


@pytest.mark.parametrize("case", [case for case in WRONG if "no such valve" not in case and case != "no length"])
def test_a_typed_length_will_do(case: str) -> None:
    wrong = deepcopy(WRONG[case][0])
    wrong["leg"][0]["inline"][0]["length"] = 12
    assert job_of(job_text([{"mark": "A", **wrong}]))
