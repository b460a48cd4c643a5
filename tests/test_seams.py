"""Seams of welded pipe: how far apart they are round the joint, against points on the pipes in space."""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

import math
import random
import re
from collections import Counter
from functools import cache
from typing import Any

import numpy as np
import pytest
from alike import same
from live import Live, Value, job_of, some
from routes import job_text
from walk import NORTH, UPWARDS, Leg, Piece, Vector, Walk, _rows, between

from workbook_builder.errors import JobError

SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "seams", "key", "tables_used",
)  # fmt: skip
SIZES = {"1/2": "STD", "3": "STD", "6": "STD", "16": "STD"}
WN = "weld_neck_flange"


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
            pipe_before = first and piece.left == "weld" and not leg.node.first
            if "seam" in said:
                mine = on_the_pipe(leg, said["seam"])
                if after is not None and theirs is not None:
                    arcs["end"] = arc(leg, mine, on_the_pipe(after[0], theirs))
                elif after is None and "end_seam" in said:
                    arcs["end"] = arc(leg, mine, on_the_pipe(leg, said["end_seam"]))
                if not pipe_before and "start_seam" in said:
                    arcs["start"] = arc(leg, mine, on_the_pipe(leg, said["start_seam"]))
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
    after = leg.end_node.arms[1].leg
    against = [said.get("against") for said in after.said.get("inline", [])]
    return (after, after.pieces[0]) if after.pieces and "start" not in against else None


# -- random pipes --------------------------------------------------------------------------------------------------------


@cache
def case(seed: int) -> tuple[str, dict[str, dict[str, float]]]:
    """A job of lines welded pipe to pipe, some with a valve or an elbow, and the clocks of their seams."""
    rng, spools = random.Random(seed), []
    seams: dict[str, dict[str, float]] = {}
    for at in range(24):
        size = rng.choice(list(SIZES))
        way = rng.choice([(1, 0, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1), (1, 1, 0), (1, -2, 3)])
        legs: list[dict[str, Any]] = []
        for _ in range(rng.randint(1, 4)):
            leg: dict[str, Any] = {"end": "weld"}
            for name, part in zip(("east", "north", "up"), way, strict=True):
                if part:
                    leg[name] = part * rng.choice([60, 75, 90])
            if len(set(map(abs, way))) > 2 or way == (1, 1, 0):  # the slope stays
                scale = rng.choice([60, 75])
                for name, part in zip(("east", "north", "up"), way, strict=True):
                    if part:
                        leg[name] = part * scale
            if rng.random() < 0.3:
                leg["inline"] = [{"item": "valve", "length": 8, "at": 30, "ends": "butt"}]
            legs.append(leg)
        legs[-1]["end"] = rng.choice(["elbow", "cap", "plain"])
        if legs[-1]["end"] == "elbow":
            legs.append({"east": 70, "end": "plain"} if way[0] == 0 else {"up": 70, "end": "plain"})
            if way not in ((1, 0, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)):
                legs.pop()
        spools.append(
            {
                "mark": f"S{at}",
                "size": size,
                "schedule": SIZES[size],
                "start": rng.choice(["bevel", "elbow"]),
                "leg": legs,
            }
        )
        for number, made in enumerate(legs, start=1):
            parts = ["-1", "-2"] if "inline" in made else [""]
            for tail in parts:
                said: dict[str, float] = {}
                for key, chance in (("seam", 0.8), ("start_seam", 0.25), ("end_seam", 0.25)):
                    if rng.random() < chance:
                        said[key] = rng.choice([0, 12, 12.5, 3, 6, 9.25, round(rng.uniform(1, 12.9), 2)])
                if said:
                    seams[f"S{at}-L{number}{tail}"] = said
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


# -- outlets -------------------------------------------------------------------------------------------------------------


def clear_of(header: float, branch: float, seam: float, outlet: float) -> float:
    """From the seam to the branch along the header's outside; its side leans by a right triangle's angle from its middle."""
    leans = math.atan2(branch, math.sqrt(max(0.0, header**2 - branch**2)))
    apart = abs(seam % 12 - outlet % 12)
    return header / 2 * (min(apart, 12 - apart) * math.pi / 6 - leans)


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

LINE = {"mark": "A", "size": "6", "schedule": "STD", "start": "bevel"}
STRAIGHT = [{"east": 60, "end": "weld"}, {"east": 60, "end": "plain"}]
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
    "outlet beyond a bend": (
        [{"east": 60, "end": "bend", "radius": 12, "pulled": True}, {"north": 60, "end": "plain"}],
        typed(1.5, **OUTLET, outlets__clock_typed__0=12.0), "seam_outlets.cautions",
        "Its pipe is bent between this outlet and the leg that the seam's clock is seen on: compare them on the pipe. ",
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
