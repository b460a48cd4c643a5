"""Socket and threaded pipe: take-outs over the whole tables, and the one reading that such a joint has.

A socket takes the pipe to its bottom and a little back (ASME B31.1 Fig. 127.4.4, about 1/16 in); a thread takes it in
by the hand-tight engagement of ASME B1.20.1 and the wrench turns, which are from memory. The centre lengths are those
of ASME B16.11 in `reference_tables/`. No published worked example of a socket or threaded cut length was found.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import gauges
import pytest
from cutting import live
from live import Live, Place, Value, some
from oracles import mismatches
from routes import job_text
from walk import _rows
from walk_ends import WideWalk

EDITIONS = ("inch", "mm")
TABLES = {"socket": "socket_weld_fitting", "threaded": "threaded_fitting"}
SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "ends", "fitup",
    "key", "tables_used", "checks",
)  # fmt: skip
"""What leads to Fit-up, and no more."""
FAR = {"inch": 100.0, "mm": 2500.0}
MORE, LESS = {"inch": 1e-3, "mm": 0.01}, 1e-12


def spools(edition: str) -> list[dict[str, Any]]:
    """A pipe, an elbow and a pipe in every class and size of both tables."""
    found: list[dict[str, Any]] = []
    far = FAR[edition]
    for joint, table in TABLES.items():
        for row in _rows(table):
            size, fitting_class = row["size"], row["class"]
            schedule = next(each["schedule"] for each in _rows("pipe") if each["size"] == size and each["wall_in"])
            found.append(
                {"mark": f"{joint} {fitting_class} {size}".replace("/", "-"), "size": size, "schedule": schedule,
                 "joints": joint, "fitting_class": fitting_class, "start": "plain",
                 "leg": [{"east": far, "end": "elbow"}, {"north": far, "up": far, "end": "elbow"},
                         {"up": far, "end": "tee"}, {"up": far, "end": "plain"}]}
            )  # fmt: skip
    return [*found, *(valve(row["size"], edition) for row in _rows("pipe_thread"))]


def valve(size: str, edition: str) -> dict[str, Any]:
    """A pipe with a threaded valve in its middle, and a union behind it."""
    far = FAR[edition]
    item = {"item": "gate valve", "length": far / 20, "at": far / 2, "ends": "threaded"}
    end = {"end": "union", "joint": "threaded", "takeout": far / 50}
    return {"mark": f"valve {size}".replace("/", "-"), "size": size, "schedule": "STD", "start": "plain",
            "leg": [{"north": far, **end, "inline": [item]}, {"north": far, "end": "plain"}]}  # fmt: skip


@cache
def text(edition: str, by: str) -> str:
    """The job, threads made up by one rule or the other."""
    return job_text(spools(edition), edition, {"thread_make_up_by": by})


@cache
def built(edition: str) -> Live:
    """The job's workbook, open."""
    return Live(text(edition, "theory"), edition, some(SHEETS))


def book(edition: str, by: str) -> Live:
    """The workbook as built, but for the rule that threads are made up by."""
    opened = built(edition)
    opened.reset()
    opened.put_all({("rules.thread_make_up_by", 0): by})
    return opened


def screwed(edition: str, size: str, by: str) -> float:
    """How far a thread goes in: hand-tight and the wrench turns of one pitch each, or what the shop allows."""
    row = next(row for row in _rows("pipe_thread") if row["size"] == size)
    if by == "shop practice":
        return float(row["shop_make_up_in" if edition == "inch" else "shop_make_up_mm"])
    inches = float(row["hand_tight_in"]) + float(row["wrench_turns"]) / float(row["threads_per_inch"])
    return inches if edition == "inch" else inches * 25.4


@pytest.mark.parametrize("by", ["theory", "shop practice"])
@pytest.mark.parametrize("edition", EDITIONS)
def test_every_fitting_of_the_tables(edition: str, by: str) -> None:
    """90s, 45s, tees of every class and size: centre to bottom and the pull-back, or centre to end less the thread."""
    opened, suffix = book(edition, by), "_in" if edition == "inch" else "_mm"
    takes = opened.column("legs.takeout_end")
    row = 0
    for joint, table in TABLES.items():
        for line in _rows(table):
            for at, dimension in enumerate(("elbow_90", "elbow_45", "tee")):
                value = float(line[dimension + suffix])
                if joint == "socket":
                    wanted = value + (1 / 16 if edition == "inch" else 1.6)
                    assert takes[row + at] == pytest.approx(wanted, abs=1e-9), (line["key"], dimension)
                else:  # the table's make-up is rounded to 0.0001 in, in mm to 0.01
                    wanted = value - screwed(edition, line["size"], by)
                    rounding = 6e-5 if edition == "inch" else 6e-3
                    assert takes[row + at] == pytest.approx(wanted, abs=rounding), (line["key"], dimension)
            row += 4
    assert opened.errors() == [] and not any(opened.column("legs.stops"))


@pytest.mark.parametrize("by", ["theory", "shop practice"])
@pytest.mark.parametrize("edition", EDITIONS)
def test_a_threaded_valve_is_screwed_on_both_pipes(edition: str, by: str) -> None:
    """End to end less one make-up at each end, no root gap; two threaded joints, no weld; † for the make-up."""
    opened, far = book(edition, by), FAR[edition]
    marks, pieces, labels = (opened.column(name) for name in ("cuts.mark", "cuts.net", "joints.label"))
    for row, line in enumerate(_rows("pipe_thread")):
        size = line["size"]
        mark = f"valve {size}".replace("/", "-")
        first = next(at for at, each in enumerate(marks) if each and each.startswith(f"{mark}-L1"))
        rounding = 6e-5 if edition == "inch" else 6e-3
        screwed_in = screwed(edition, size, by)
        assert opened.value("items.taken", row) == pytest.approx(far / 20 - 2 * screwed_in, abs=2 * rounding)
        assert pieces[first] == pytest.approx(far / 2 - far / 40 + screwed_in, abs=rounding)
        assert opened.value("items.cautions", row).startswith("† its length, a flange, a thread")
        joint = labels.index(f"{mark} T1")
        found = [
            tuple(opened.value(f"joints.{name}", joint + at) for name in ("kind", "first_part", "second_part"))
            for at in (0, 1)
        ]
        assert found == [("threaded", marks[first], "gate valve"), ("threaded", "gate valve", marks[first + 1])]
        spool = opened.column("spools.mark").index(mark)
        assert opened.value("spools.shop_welds", spool) == 0
    assert not any(opened.column("items.stops"))


def test_a_threaded_valve_by_hand() -> None:
    """NPS 1, 3-1/4 in long at 30 in, made up by 11/16 in at each end: 3-1/4 − 1-3/8 = 1-7/8 out of the pipe."""
    row = next(row for row in _rows("pipe_thread") if row["size"] == "1")
    assert float(row["shop_make_up_in"]) == 11 / 16
    item = {"item": "gate valve", "length": "3 1/4 in", "at": 30, "ends": "threaded"}
    spool = {"mark": "A", "size": "1", "schedule": "80", "start": "plain"}
    of_job = job_text([{**spool, "leg": [{"east": 60, "end": "plain", "inline": [item]}]}], "inch",
                      {"thread_make_up_by": "shop practice"})  # fmt: skip
    opened = Live(of_job, "inch", some(SHEETS))
    assert opened.value("items.taken", 0) == pytest.approx(1.875)
    assert opened.column("cuts.net")[:2] == pytest.approx([30 - 1.625 + 11 / 16] * 2)
    assert opened.errors() == []


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_a_thread_leaves_of_the_wall(edition: str) -> None:
    """Every size and schedule that is threaded: 0.8 of a pitch (ASME B1.20.1) off the wall, and lighter than STD."""
    suffix = "_in" if edition == "inch" else "_mm"
    inch = 1.0 if edition == "inch" else 25.4
    walls = {
        (row["size"], row["schedule"]): float(row[f"wall{suffix}"]) for row in _rows("pipe") if row[f"wall{suffix}"]
    }
    threads = {row["size"]: float(row["threads_per_inch"]) for row in _rows("pipe_thread")}
    pipes = [pipe for pipe in walls if pipe[0] in threads]
    legs = [
        {"mark": f"T{row}", "size": size, "schedule": schedule, "start": "other", "start_item": "x", "start_takeout": 0,
         "start_joint": "threaded", "leg": [{"east": FAR[edition], "end": "plain"}]}
        for row, (size, schedule) in enumerate(pipes)
    ]  # fmt: skip
    opened = live(job_text(legs, edition), edition)
    stops, cautions = opened.column("legs.stops"), opened.column("legs.cautions")
    told = {"cannot": 0, "thin": 0, "": 0}
    for row, (size, schedule) in enumerate(pipes):
        wall = walls[size, schedule]
        left = wall - 0.8 * inch / threads[size]
        word = "cannot" if left <= 1e-9 else "thin" if wall < walls[size, "STD"] - 1e-9 else ""
        said = ("cannot" if "cannot be threaded" in (stops[row] or "") else "") + (
            "thin" if "Thin for a thread" in (cautions[row] or "") else ""
        )
        assert said == word, (size, schedule)
        told[word] += 1
    assert told["cannot"] >= 2 and told["thin"] > 15 and told[""] > 30, told


def by_kind(edition: str, by: str, kind: str) -> list[tuple[int, str]]:
    """Rows of Fit-up and pipe sizes of the joints of one kind."""
    joints = gauges.joints_of(WideWalk(text(edition, by), edition))
    return [(row, joint.leg.size) for row, joint in enumerate(joints) if joint.kind == kind]


def limits(edition: str, kind: str, size: str, by: str) -> tuple[float, float]:
    """What is wanted, and how far off it may be: 1/32 in or 0.8 mm for a socket, one turn for a thread."""
    if kind == "socket":
        return (1 / 16, 1 / 32) if edition == "inch" else (1.6, 0.8)
    row = next(row for row in _rows("pipe_thread") if row["size"] == size)
    suffix = "_in" if edition == "inch" else "_mm"
    made_up = float(row[("make_up" if by == "theory" else "shop_make_up") + suffix])
    return made_up, (1.0 if edition == "inch" else 25.4) / float(row["threads_per_inch"])


@pytest.mark.parametrize("by", ["theory", "shop practice"])
@pytest.mark.parametrize("kind", ["socket", "threaded"])
@pytest.mark.parametrize("edition", EDITIONS)
def test_drawn_back_at_under_and_over_its_limits(edition: str, kind: str, by: str) -> None:
    rows = by_kind(edition, by, kind)
    more = MORE[edition]
    tried = [(-1.0, 0.0), (-1.0, -more), (-1.0, more), (1.0, 0.0), (1.0, more), (1.0, -more), (0.0, 0.0), (-1.0, -LESS)]
    within = [True, False, True, True, False, True, True, True]
    for first in range(0, len(tried), 2):
        opened = book(edition, by)
        typed: dict[tuple[str, int], Value] = {}
        wanted: dict[tuple[str, int], Value] = {}
        for at, (row, size) in enumerate(rows):
            side, off = tried[(first + at) % len(tried)]
            middle, room = limits(edition, kind, size, by)
            typed["joints.drawn_back", row] = middle + side * room + off
            fine = within[(first + at) % len(tried)]
            wanted["joints.verdict", row] = gauges.WITHIN if fine else gauges.OUTSIDE
        opened.put_all(typed)
        assert mismatches(opened, wanted) == []
        walk = WideWalk(text(edition, by), edition)
        assert mismatches(opened, gauges.expected_readings(walk, typed)) == []


def read_states(edition: str) -> list[dict[tuple[str, int], Value]]:
    """Gaps and hi-lo typed at a socket, too far in, too far out, text, a rule that is blank, another count of turns."""
    socket, thread = by_kind(edition, "theory", "socket")[0], by_kind(edition, "theory", "threaded")[0]
    inch = 1.0 if edition == "inch" else 25.4
    return [
        {("joints.drawn_back", socket[0]): 0.2 * inch, ("joints.drawn_back", thread[0]): 0.9 * inch},
        # as it should be, and no limit that it could meet
        {
            ("joints.drawn_back", socket[0]): limits(edition, "socket", socket[1], "theory")[0],
            ("joints.drawn_back", thread[0]): limits(edition, "threaded", thread[1], "theory")[0],
            ("rules.socket_within", 0): -inch,
            ("rules.thread_within_turns", 0): -1.0,
        },
        {("joints.drawn_back", socket[0]): 0.01 * inch, ("joints.drawn_back", thread[0]): 0.1 * inch},
        {("joints.gap_12", socket[0]): 9.0, ("joints.hi_lo_3", thread[0]): 1.0},
        {("joints.drawn_back", socket[0]): "abc", ("joints.drawn_back", thread[0]): 0.0},
        {("rules.socket_within", 0): None, ("joints.drawn_back", socket[0]): 0.05},
        {("rules.socket_pullback", 0): None, ("joints.drawn_back", socket[0]): 0.05},
        {("rules.thread_within_turns", 0): None, ("joints.drawn_back", thread[0]): 0.3},
        {("rules.thread_within_turns", 0): 3.0, ("joints.drawn_back", thread[0]): 0.3},
        {("rules.socket_within", 0): 0.0, ("joints.drawn_back", socket[0]): 1 / 16 if edition == "inch" else 1.6},
    ]


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_is_read_elsewhere_does_not_matter_to_a_small_joint(edition: str) -> None:
    walk = WideWalk(text(edition, "theory"), edition)
    for typed in [{}, *read_states(edition)]:
        opened = book(edition, "theory")
        opened.put_all(typed)
        wanted = gauges.expected_readings(walk, typed)
        if ("rules.socket_pullback", 0) in typed:  # then the pipes have no length either
            wanted = {place: value for place, value in wanted.items() if place[0] == "joints.verdict"}
        assert mismatches(opened, wanted) == [], typed


@pytest.mark.parametrize("edition", EDITIONS)
def test_fittings_that_run_into_one_another(edition: str) -> None:
    """Two elbows of NPS 1 on a nipple: they touch where the leg is twice an elbow's length, socket and thread in all.

    Threaded, class 3000: the elbow's end is 1.75 in (44 mm) from its middle; socket: 0.875 + 0.5 in (22.5 + 12.5 mm).
    Both are ASME B16.11 lengths of `reference_tables/`.
    """
    touch = {"threaded": {"inch": 3.5, "mm": 88.0}, "socket": {"inch": 2.75, "mm": 70.0}}
    for joint, lengths in touch.items():
        (row,) = [row for row in _rows(TABLES[joint]) if row["size"] == "1" and row["class"] == "3000"]
        depth = float(row[f"socket_depth_{'in' if edition == 'inch' else 'mm'}"]) if joint == "socket" else 0.0
        length = float(row[f"elbow_90_{'in' if edition == 'inch' else 'mm'}"])
        assert lengths[edition] == 2 * (length + depth)
        said: dict[str, Any] = {
            "size": "1",
            "schedule": "80",
            "joints": joint,
            "fitting_class": "3000",
        }
        first, last = {"east": 20 * length, "end": "elbow"}, {"up": 20 * length, "end": "plain"}
        made: list[dict[str, Any]] = []
        for at, more in enumerate((-0.01, 0.0, 0.01)):
            nipple = {"north": lengths[edition] + more, "end": "elbow"}
            made.append({"mark": f"N{at}", **said, "start": "plain", "leg": [first, nipple, last]})
        stops = live(job_text(made, edition), edition).rows("pieces", ["mark", "stops"])
        told = {row["mark"]: row["stops"] or "" for row in stops if row["mark"]}
        assert [bool(told[f"N{at}-L2"]) for at in range(3)] == [True, False, False], told
        assert told["N0-L2"].startswith("Cannot be made: the fittings at its ends run into one another; ")
        assert not any(told[f"N{at}-L{leg}"] for at in range(3) for leg in (1, 3))


@pytest.mark.parametrize("cell", ["gap_12", "gap_7_30", "gap_worst", "hi_lo_3", "hi_lo_10_30", "hi_lo_worst"])
def test_a_gap_typed_on_a_joint_that_has_none_is_said(cell: str) -> None:
    """It used to be dropped without a word; the joint's own reading keeps its verdict."""
    one: dict[str, Any] = {"size": "1", "schedule": "80", "class": "150", "fitting_class": "3000", "start": "plain"}
    legs = [{"east": 40, "end": "elbow"}, {"up": 40, "end": "slip_on_flange"}]
    of_job = job_text([{"mark": joint, "joints": joint, **one, "leg": legs} for joint in TABLES])
    walk, opened = WideWalk(of_job, "inch"), Live(of_job, "inch", some(SHEETS))
    kinds = opened.column("joints.kind")
    assert {"socket", "threaded", "fillet"} == {kind for kind in kinds if kind}
    before = opened.column("joints.action")
    typed: dict[Place, Value] = {(f"joints.{cell}", row): 0.125 for row, kind in enumerate(kinds) if kind}
    opened.put_all(typed)
    for row, kind in enumerate(kinds):
        if kind:
            said = f"{before[row]} The gap or hi-lo typed here is not looked at: a {kind} joint has none."
            assert opened.value("joints.action", row) == said
    assert mismatches(opened, gauges.expected_readings(walk, typed)) == []
