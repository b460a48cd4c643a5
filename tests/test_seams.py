"""Seams of welded pipe: how far apart they are round the joint, against points on the pipes in space."""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

import math
import random
import re
from collections import Counter
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from alike import same
from live import Live, Value, job_of, some
from routes import job_text
from staged_seams import BUILT as SHEETS
from staged_seams import LINE, PULLED, STRAIGHT, arc_apart, half_on_the_header, lines, on_the_dial, pulled_lines
from walk import NORTH, UPWARDS, Leg, Piece, Vector, Walk, _rows, between
from walk_ends import WideWalk

from workbook_builder.errors import JobError


def opened(text: str | None, edition: str) -> Live:
    return Live(text, edition, some(SHEETS))


# -- a second opinion ----------------------------------------------------------------------------------------------------


def on_the_pipe(leg: Leg, hours: float) -> Vector:
    """The direction from the pipe's axis to a clock on its outside, seen along the leg."""
    upright = math.hypot(leg.way[0], leg.way[1]) < 0.001
    twelve = NORTH if upright else UPWARDS
    twelve = twelve - (twelve @ leg.way) * leg.way
    twelve = twelve / math.hypot(*twelve)
    three = np.cross(leg.way, twelve)
    turn = 2 * math.pi * (hours % 12) / 12
    found: Vector = math.cos(turn) * twelve + math.sin(turn) * three
    return found


def arc(leg: Leg, one: Vector, other: Vector) -> float:
    """Along the outside, between two directions from the axis."""
    return leg.od / 2 * math.radians(between(one, other))


def chain(walk: Walk, leg: Leg) -> list[Leg]:
    """The legs that pulled bends join to the pipe of a leg, in order, that leg last."""
    before = getattr(walk, "bent", {}).get(f"{leg.spool}|{leg.name}")
    return [*(before.legs if before else []), leg]


def along(legs: list[Leg], radial: Vector) -> Vector:
    """A direction from the axis of the first leg, carried to the last: each bend turns it about its own axis.

    A bend turns the pipe about the line square to both legs, and everything on the pipe with it (Rodrigues).
    """
    for one, other in pairwise(legs):
        axis = np.cross(one.way, other.way)
        axis = axis / math.hypot(*axis)
        turn = math.radians(between(one.way, other.way))
        radial = (
            math.cos(turn) * radial
            + math.sin(turn) * np.cross(axis, radial)
            + (1 - math.cos(turn)) * float(axis @ radial) * axis
        )
    return radial


def expected(walk: Walk, seams: dict[str, dict[str, float]], wanted: float) -> dict[str, dict[str, Any]]:
    """What each piece's row must say."""
    found: dict[str, dict[str, Any]] = {}
    for leg in (leg for spool in walk.spools for leg in spool.legs):
        for piece in leg.pieces:
            said, first, last = seams.get(piece.mark, {}), piece is leg.pieces[0], piece is leg.pieces[-1]
            arcs: dict[str, float | None] = {"start": None, "end": None}
            after = the_next(leg, piece, last)
            missing = False
            theirs = None
            if after is not None:
                theirs = seams.get(after[1].mark, {}).get("seam")
                missing = theirs is None
            legs = chain(walk, leg) if first else [leg]
            pipe_before = first and piece.left == "weld" and not legs[0].node.first
            if "seam" in said:
                begin = on_the_pipe(legs[0], said["seam"])
                mine = along(legs, begin)
                if after is not None and theirs is not None:
                    arcs["end"] = arc(leg, mine, on_the_pipe(after[0], theirs))
                elif after is None and "end_seam" in said:
                    arcs["end"] = arc(leg, mine, on_the_pipe(leg, said["end_seam"]))
                if not pipe_before and "start_seam" in said:
                    arcs["start"] = arc(leg, begin, on_the_pipe(legs[0], said["start_seam"]))
            limit = min(wanted, math.pi * leg.od / 2)
            known = [each for each in arcs.values() if each is not None]
            verdict: str | None = "✓ within" if known else None
            if not said and theirs is None:
                verdict = None
            elif known and min(known) < limit - 1e-9:
                verdict = "✗ outside"
            elif "seam" not in said or missing:
                verdict = "… not yet measured"
            found[piece.mark] = {"start_arc": arcs["start"], "end_arc": arcs["end"], "verdict": verdict}
    return found


def the_next(leg: Leg, piece: Piece, last: bool) -> tuple[Leg, Piece] | None:
    """The pipe that a piece meets at its end."""
    if not last or piece.right != "weld" or len(leg.end_node.arms) < 2:
        return None
    begins = after = leg.end_node.arms[1].leg
    against = [said.get("against") for said in after.said.get("inline", [])]
    while not after.pieces and after.said.get("pulled"):  # the pipe goes on through the bend, and is cut as one
        after = after.end_node.arms[1].leg
    return (begins, after.pieces[0]) if after.pieces and "start" not in against else None


# -- random pipes --------------------------------------------------------------------------------------------------------


@cache
def case(seed: int) -> tuple[str, dict[str, dict[str, float]]]:
    """A job of lines welded pipe to pipe, and the clocks of their seams."""
    spools, seams = lines(seed)
    return job_text(spools), seams


def with_seams(text: str, seams: dict[str, dict[str, float]]) -> str:
    """The job with what was typed of its pieces, each in its spool."""
    head, *spools = text.split("[[spool]]\n")
    for at, spool in enumerate(spools):
        mark = re.search(r'mark = "([^"]+)"', spool)
        assert mark
        for piece, said in seams.items():
            if piece.startswith(f"{mark[1]}-"):
                spools[at] += f'[[spool.piece]]\nmark = "{piece}"\n' + "".join(
                    f"{key} = {value}\n" for key, value in said.items()
                )
    return head + "".join(f"[[spool]]\n{spool}" for spool in spools)


@pytest.mark.parametrize(("seed", "edition"), [(1, "inch"), (2, "mm")])
def test_seams_agree_with_points_in_space(seed: int, edition: str) -> None:
    text, seams = case(seed)
    book = opened(text, edition)
    marks = book.column("seams.mark")
    book.put_all(
        {(f"seams.{key}", marks.index(mark)): value for mark, said in seams.items() for key, value in said.items()}
    )
    assert book.errors() == []
    found: list[tuple[Any, ...]] = []
    seen = Counter[Any]()
    rows = book.rows("seams", ("mark", "start_arc", "end_arc", "verdict"))
    wanted = expected(Walk(text, edition), seams, 2.0 if edition == "inch" else 50.0)
    assert [row["mark"] for row in rows if row["mark"]] == list(wanted)
    for row in rows[: len(wanted)]:
        want = wanted[row["mark"]]
        seen[want["verdict"]] += 1
        seen["start"] += want["start_arc"] is not None
        seen["end"] += want["end_arc"] is not None
        for name in ("start_arc", "end_arc"):
            a, b = (None if each is None else round(each, 6) for each in (row[name], want[name]))
            if not same(a, b):
                found.append((row["mark"], name, a, b))
        if row["verdict"] != want["verdict"]:
            found.append((row["mark"], row["verdict"], want["verdict"]))
    assert found == []
    assert all(seen[each] > 2 for each in ("✓ within", "✗ outside", "… not yet measured", "start", "end", None))


@pytest.mark.parametrize(("seed", "edition"), [(3, "inch"), (4, "mm")])
def test_a_pulled_pipe_carries_its_seam(seed: int, edition: str) -> None:
    """Its neighbours and its outlets are compared with the seam where its bends have brought it."""
    spools, seams = pulled_lines(seed)
    text = job_text(spools)
    walk = WideWalk(text, edition)
    marks = {piece.mark for leg in walk.legs for piece in leg.pieces}
    seams = {mark: said for mark, said in seams.items() if mark in marks}
    book = opened(text, edition)
    rows = book.column("seams.mark")
    book.put_all(
        {(f"seams.{key}", rows.index(mark)): value for mark, said in seams.items() for key, value in said.items()}
    )
    assert book.errors() == []
    rule = 2.0 if edition == "inch" else 50.0
    wanted = expected(walk, seams, rule)
    found: list[tuple[Any, ...]] = []
    seen = Counter[Any]()
    for row in book.rows("seams", ("mark", "start_arc", "end_arc", "verdict"))[: len(wanted)]:
        want = wanted[row["mark"]]
        seen[want["verdict"]] += 1
        for name in ("start_arc", "end_arc"):
            a, b = (None if each is None else round(each, 5) for each in (row[name], want[name]))
            if not same(a, b):
                found.append((row["mark"], name, a, b))
        if row["verdict"] != want["verdict"]:
            found.append((row["mark"], row["verdict"], want["verdict"]))
    assert found == []
    by_name = {(leg.spool, leg.name): leg for leg in walk.legs}
    place = [(spool["mark"], said) for spool in walk.job["spool"] for said in spool.get("outlet", [])]
    for at, (mark, said) in enumerate(place):
        leg = by_name[mark, said["on"]]
        piece, legs = pipe_of(walk, leg, 37.0)
        typed = seams.get(piece.mark, {}).get("seam")
        clear = book.value("seam_outlets.clear", at)
        if typed is None:
            assert clear is None
            continue
        radial = along(legs, on_the_pipe(legs[0], typed))
        od = walk.facts.value(walk.facts.row("nominal_size", size="2"), "od")
        assert od is not None
        middle = arc(leg, radial, on_the_pipe(leg, float(said["clock"])))
        assert clear == pytest.approx(middle - leg.od / 2 * math.asin(od / leg.od), abs=1e-5)
        seen["outlet", len(legs)] += 1
    assert all(seen[each] > 2 for each in ("✓ within", "✗ outside", "… not yet measured", ("outlet", 1), ("outlet", 2)))


def pipe_of(walk: Walk, leg: Leg, at: float) -> tuple[Piece, list[Leg]]:
    """The piece that a place on a leg belongs to, and the legs it has come through from its start to there."""
    ahead = leg
    while not ahead.pieces:
        ahead = ahead.end_node.arms[1].leg
    if ahead is leg and leg.items and at * (1 if walk.edition == "inch" else 25.4) > leg.items[0].centre:
        return leg.pieces[1], [leg]
    whole = chain(walk, ahead)
    return ahead.pieces[0], whole[: whole.index(leg) + 1]


def test_a_pulled_pipe_is_compared_where_it_meets_its_neighbour() -> None:
    """East, then up: the top lies inside the bend and faces west after it; who looks up with north at 12 has west at 3."""
    book = opened(job_text([{**LINE, "leg": PULLED}]), "inch")
    book.put_all(typed(2, 2))
    assert (book.value("seams.meets", 0), book.value("seams.end_arc", 0)) == ("A-L3", 0)
    assert book.value("seams.verdict", 0) == "✗ outside"
    book.put_all(typed(2, 12))
    assert book.value("seams.verdict", 0) == "✓ within"
    assert book.value("seams.cautions", 1).strip() == (
        "Pulled pipe: typed is its clock on L2, where it starts; at its end, on L3, the seam is at 3, 90°."
    )


def test_a_bend_that_says_no_turn_is_measured() -> None:
    """The next leg runs straight on: there is no bend to carry the clock by."""
    legs = [PULLED[0], PULLED[1], {"east": 80, "end": "weld"}, {"east": 60, "end": "plain"}]
    outlet = {"name": "B", "on": "L3", "at": 40, "kind": "stub_on", "size": "2", "schedule": "STD", "clock": 6}
    book = opened(job_text([{**LINE, "outlet": [outlet], "leg": legs}]), "inch")
    book.put_all(typed(6, 12, 3))
    assert book.value("seams.verdict", 1) == "… not yet measured"
    assert book.value("seams.cautions", 1).strip() == ("Pulled pipe: measure it at its end; typed is its clock on L2.")
    assert book.value("seam_outlets.verdict", 0) == "… not yet measured"
    assert book.value("seam_outlets.cautions", 0).strip() == (
        "Pulled pipe: measure it, the bend does not say where its seam lies here."
    )


# -- outlets -------------------------------------------------------------------------------------------------------------


def clear_of(header: float, branch: float, seam: float, outlet: float) -> float:
    """From the seam to the branch along the header's outside; clocks in hours."""
    one, other = on_the_dial(seam % 12), on_the_dial(outlet % 12)
    assert one is not None and other is not None
    return arc_apart(header, one, other) - half_on_the_header(header, branch)


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_outlets_keep_clear_of_the_seam(edition: str) -> None:
    rng = random.Random(9)
    sizes = {row["size"]: float(row["od_in" if edition == "inch" else "od_mm"]) for row in _rows("nominal_size")}
    spools, wanted, seams = [], list[tuple[float, str]](), list[float]()
    for at in range(30):
        header, branch = rng.choice([("6", "2"), ("6", "1"), ("8", "8"), ("12", "4"), ("4", "3/4")])
        seam, outlet = (
            rng.choice([12, 12.5, round(rng.uniform(1, 12.9), 2)]),
            rng.choice([3, 6, 12.25, round(rng.uniform(1, 12.9), 2)]),
        )
        spools.append({
            "mark": f"S{at}", "size": header, "schedule": "STD", "start": "plain",
            "outlet": [{"name": "B", "on": "L1", "at": "30 in", "kind": "stub_on", "size": branch, "schedule": "STD", "clock": outlet}],
            "leg": [{**rng.choice([{"east": 80}, {"up": 80}, {"up": -80}, {"north": -50, "up": 60}]), "end": "plain"}],
        })  # fmt: skip
        clear = clear_of(sizes[header], sizes[branch], seam, outlet)
        rule = 2.0 if edition == "inch" else 50.0
        most = clear_of(sizes[header], sizes[branch], outlet + 6, outlet)
        wanted.append((clear, "✗ outside" if clear < min(rule, most) - 1e-9 else "✓ within"))
        seams.append(seam)
    book = opened(job_text(spools), edition)
    marks = book.column("seams.mark")
    book.put_all({("seams.seam", marks.index(f"S{at}-L1")): seam for at, seam in enumerate(seams)})
    assert book.errors() == []
    assert book.column("seam_outlets.clear")[:30] == pytest.approx([clear for clear, _ in wanted], abs=1e-6)
    assert book.column("seam_outlets.verdict")[:30] == [verdict for _, verdict in wanted]
    assert len({verdict for _, verdict in wanted}) == 2
    assert book.value("seams.worst") == "✗ outside"
    counts = [sum(verdict == each for _, verdict in wanted) for each in ("✓ within", "✗ outside")]
    assert book.value("seams.told") == f"{counts[0]} ✓, {counts[1]} ✗, 0 …"


# -- by hand, and what is said -------------------------------------------------------------------------------------------

Cells = dict[tuple[str, int], Value]


def typed(*seams: float | None, **more: Value) -> Cells:
    cells: Cells = {("seams.seam", row): value for row, value in enumerate(seams)}
    for name, value in more.items():
        table, column, row = name.split("__")
        cells[f"{table}.{column}", int(row)] = value
    return cells


OUTLET: dict[str, Value] = {
    "outlets__spool__0": "A", "outlets__name__0": "B1", "outlets__on__0": "L1", "outlets__at__0": 30.0,
    "outlets__kind__0": "stub_on", "outlets__size__0": "2", "outlets__schedule__0": "STD",
}  # fmt: skip
SAID: dict[str, tuple[list[dict[str, Any]], Cells, str, str]] = {
    # 6.625 in once round is 20.813 in: half an hour is 0.867 in, an hour 1.734
    "near": (STRAIGHT, typed(1.5, 2), "stops", 'At its end the seams are 7/8" apart, 2" is wanted: turn the piece by 1-1/8" more. '),
    "across 12": (STRAIGHT, typed(12.5, 11.5), "stops", 'At its end the seams are 1-3/4" apart, 2" is wanted: turn the piece by 1/4" more. '),
    "far": (STRAIGHT, typed(1.5, 4), "stops", ""),
    "near the fitting": (
        [{"east": 60, "end": "elbow"}, {"north": 60, "end": "plain"}], typed(None, 3, seams__start_seam__1=3.0), "stops 1",
        'At its start the seams are 0" apart, 2" is wanted: turn the piece by 2" more. ',
    ),
    "pipe follows": (STRAIGHT, typed(1, seams__end_seam__0=2.0), "cautions", "Pipe follows: type the next piece's seam in its own row. "),
    "pipe before": (STRAIGHT, typed(1, 3, seams__start_seam__1=2.0), "cautions 1", "Pipe comes before it: type that piece's seam in its own row. "),
    "two clocks": (
        [{"up": 60, "end": "weld"}, {"up": 60, "east": 0.2, "end": "plain"}], typed(1, 3), "cautions",
        "One leg is straight up or down and the other not: their clocks differ; compare the seams on the pipe. ",
    ),
    "outlet near": (
        [{"east": 60, "end": "plain"}], typed(1.5, **OUTLET, outlets__clock_typed__0=12.0), "seam_outlets.stops",
        'The seam of A-L1 is 1-3/8" from the branch, 2" is wanted: turn the piece before the hole is cut. ',
    ),
    "outlet far": ([{"east": 60, "end": "plain"}], typed(1.5, **OUTLET, outlets__clock_typed__0=6.0), "seam_outlets.stops", ""),
    "outlet nowhere": (
        [{"east": 60, "end": "plain"}], typed(1.5, **OUTLET), "seam_outlets.cautions", "Look at Outlets: it has no place round the header. ",
    ),
    "pulled": (
        PULLED, typed(6, 3), "cautions 1",
        "Pulled pipe: typed is its clock on L2, where it starts; at its end, on L3, the seam is at 6, 180°. ",
    ),
    "pulled, no turn": (
        [*PULLED[:2], {"east": 80, "end": "plain"}], typed(6, 3), "cautions 1", "Pulled pipe: measure it at its end; typed is its clock on L2. ",
    ),
    "outlet, no turn": (
        [*PULLED[:2], {"east": 80, "end": "plain"}], typed(6, 3, **{**OUTLET, "outlets__on__0": "L3"}, outlets__clock_typed__0=6.0),
        "seam_outlets.cautions", "Pulled pipe: measure it, the bend does not say where its seam lies here. ",
    ),
    "no such clock": (STRAIGHT, typed(14), "stops", "Seam at: over 12.999."),
}  # fmt: skip


@pytest.mark.parametrize("name", list(SAID))
def test_it_is_said(name: str) -> None:
    legs, cells, where, wanted = SAID[name]
    book = opened(job_text([{**LINE, "leg": legs}]), "inch")
    book.put_all(cells)
    column, _, row = where.partition(" ")
    column = column if "." in column else f"seams.{column}"
    assert (book.value(column, int(row or 0)) or "").strip() == wanted.strip()
    assert book.errors() == []


def test_every_check_has_a_case() -> None:
    told = [wanted for *_, wanted in SAID.values()]
    missing = []
    for check in (each for table in some(SHEETS).shelf.sheet("seams").table for each in table.check):
        pieces = re.findall(r'"([^"]{6,})"', check.say) if check.say.startswith("=") else [check.say.strip()]
        if not any(any(piece.strip() in text for text in told) for piece in pieces):
            missing.append(check.say)
    assert missing == []


@pytest.mark.parametrize(
    ("limit", "verdict"), [(1.7344, "✓ within"), (1.7346, "✗ outside"), (30.0, "✗ outside"), (None, "… rule missing")]
)
def test_the_rule_decides(limit: float | None, verdict: str) -> None:
    """An hour round a 6 in pipe: π × 6.625 / 12 = 1.73442 in."""
    book = opened(job_text([{**LINE, "leg": STRAIGHT}]), "inch")
    book.put_all(typed(3, 4, rules__seam_offset_min__0=limit))
    assert book.value("seams.verdict", 0) == verdict
    book.put_all(typed(12, 6))
    assert book.value("seams.verdict", 0) == ("… rule missing" if limit is None else "✓ within")  # opposite is the most


@pytest.mark.parametrize("size", ["5-1/2", None])
def test_a_pipe_of_no_size_is_not_yet_measured(size: str | None) -> None:
    """Its seam is typed, but how far it is from the next one cannot be said; the pipe after it has a size."""
    book = opened(job_text([{**LINE, "leg": STRAIGHT}]), "inch")
    book.put_all({**typed(1.5, 2), ("legs.size", 0): size, ("spools.size", 0): size})
    assert book.errors() == []
    assert book.value("seams.verdict", 0) == "… not yet measured"
    assert book.value("seams.told") == "0 ✓, 0 ✗, 1 …"


def test_seams_travel_with_the_job() -> None:
    text, seams = case(1)
    job = job_of(with_seams(text, seams))
    said = {
        str(row.value("spool.piece.mark")): {
            key: row.value(f"spool.piece.{key}")
            for key in ("seam", "start_seam", "end_seam")
            if row.given(f"spool.piece.{key}")
        }
        for row in job.rows("spool.piece")
    }
    assert {mark: {key: float(str(value)) for key, value in each.items()} for mark, each in said.items()} == seams


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("13", "13 is out of range; allowed: at least 0 and at most 12.999"),
        ("-1", "-1 is out of range; allowed: at least 0 and at most 12.999"),
    ],
)
def test_a_wrong_clock_is_refused(value: str, told: str) -> None:
    with pytest.raises(JobError) as caught:
        job_of(job_text([{**LINE, "leg": STRAIGHT}]) + f'[[spool.piece]]\nmark = "A-L1"\nseam = {value}\n')
    assert str(caught.value).endswith(f"seam: {told}")


def test_nothing_typed_can_break_it() -> None:
    book, rng = opened(case(1)[0], "inch"), random.Random(3)
    fields = [field for field in book.book.fields.values() if field.typed and field.table == "seams"]
    for _ in range(15):
        book.put_all({
            (field.name, row): rng.choice([None, "", "zz", 7.0, 12.999, 13.0, -1.0, 1e300, -0.0, 1e-12, "1:30"])
            for field in fields for row in range(field.rows) if rng.random() < 0.4
        })  # fmt: skip
        assert book.errors() == []
        book.reset()
        book.calculate()
