"""Every spool a shop meets: random spools with all ends and joints against the walk, in both editions.

The walk (`walk.py`, `walk_ends.py`) knows what the job language and the Key say of an end, and the reference tables.
What the workbook gives is compared with it cell by cell, and laid down through space, part after part.
"""

from __future__ import annotations

import math
from collections import Counter
from functools import cache

import alike
import gauges
import numpy as np
import pytest
import takeoff
from alike import Rows, Values, legs_unlike, pieces_unlike, totals_unlike, unlike
from live import Live, some
from oracles import mismatches
from routes import job_text
from routes_wild import Wild
from walk import Leg, Spool, Vector, laid
from walk_ends import FLANGES, WideWalk, arc_length

SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "ends", "fitup",
    "parts", "material", "key", "tables_used", "checks",
)  # fmt: skip
"""What is compared, and what it reads from."""
SPOOLS_EACH = 25
CASES = [(1, "inch", "inch"), (1, "inch", "mm"), (2, "mm", "mm"), (2, "mm", "inch")]


@cache
def text_of(seed: int, units: str) -> str:
    """A random job."""
    return Wild(seed, units).job(SPOOLS_EACH)


@cache
def walked(seed: int, units: str, edition: str) -> WideWalk:
    """The job walked."""
    return WideWalk(text_of(seed, units), edition)


@cache
def opened(seed: int, units: str, edition: str) -> Live:
    """The job's workbook, open."""
    return Live(text_of(seed, units), edition, some(SHEETS))


@cache
def worked(seed: int, units: str, edition: str) -> Values:
    """What the workbook gives for the job; a blank is an empty text."""
    book = opened(seed, units, edition)
    columns = {field.name: book.take(field) for field in book.book.fields.values() if field.table}
    columns |= {"rules.root_gap": book.column("rules.root_gap")}
    return {name: ["" if value is None else value for value in values] for name, values in columns.items()}


def all_unlike(walk: WideWalk, rows: Rows) -> list[str]:
    """Everything in which a workbook is not what the walk finds."""
    return [
        *(line for spool in walk.spools for line in legs_unlike(rows, spool)),
        *(line for spool in walk.spools for line in pieces_unlike(rows, spool, walk)),
        *totals_unlike(rows, walk),
        *unlaid(walk, rows),
        *unsaid(walk, rows),
        *unclosed(walk, rows),
    ]


@pytest.mark.parametrize(("seed", "units", "edition"), CASES)
def test_the_workbook_agrees_with_the_walk(seed: int, units: str, edition: str) -> None:
    found = all_unlike(walked(seed, units, edition), Rows(worked(seed, units, edition)))
    assert found == []
    assert opened(seed, units, edition).errors() == []


@pytest.mark.parametrize(("seed", "units", "edition"), CASES)
def test_joints_and_parts_are_those_of_the_walk(seed: int, units: str, edition: str) -> None:
    """Count, kind, name and neighbours of every joint, and every part: of the spools that can be made."""
    walk, book = walked(seed, units, edition), opened(seed, units, edition)
    made = {spool.mark for spool in walk.spools if not spool.wrong}
    wanted = [(joint.leg.spool, joint.label, joint.kind, joint.first, joint.second) for joint in gauges.joints_of(walk)]
    shown = [
        tuple(row.values()) for row in book.rows("joints", ["spool", "joint", "kind", "first_part", "second_part"])
    ]
    assert [each for each in shown if each[0] in made] == [each for each in wanted if each[0] in made]
    parts = [
        (walk.spools[part.spool].mark, part.where, part.what, float(part.quantity)) for part in takeoff.parts_of(walk)
    ]
    listed = [tuple(row.values()) for row in book.rows("parts", ["spool", "where", "what", "quantity"]) if row["what"]]
    assert [each for each in listed if each[0] in made] == [each for each in parts if each[0] in made]


# -- laid down through space -------------------------------------------------------------------------------------------


def unlaid(walk: WideWalk, rows: Rows) -> list[str]:
    """Laying take-outs, gaps, items and pipes of the workbook end to end must land on each later work point."""
    found: list[str] = []
    gap = rows.values["rules.root_gap"][0]
    for spool in walk.spools:
        if spool.wrong - {"run sizes"}:
            continue
        landed: dict[int, Vector] = {}
        for leg in spool.legs:
            start = (landed[leg.node.owner.row] if leg.node.owner else np.zeros(3)) + walk.shifts.get(
                leg.row, np.zeros(3)
            )
            here = put_down(walk, leg, start, rows, gap)
            landed[leg.row] = here
            if math.hypot(*(here - leg.end)) > 1e-6:
                found.append(f"{leg.spool} {leg.name}: landed on {here}, not on {leg.end}")
    return found


def put_down(walk: WideWalk, leg: Leg, start: Vector, rows: Rows, gap: float) -> Vector:
    """Where one arrives who puts a leg's parts down one after the other."""
    takeouts = (rows.leg(leg, "takeout_start"), rows.leg(leg, "takeout_end"))
    if walk.inside(leg):  # the return itself, which the drawing may round
        return start + leg.vector
    if walk.pulled(leg.end_node):  # its pipe is laid with the leg that it ends in
        return start + leg.vector
    cuts = [
        rows.piece(each, "cut_length") - rows.piece(each, "trim") - rows.piece(each, "shrinkage") for each in leg.pieces
    ]
    if walk.pulled(
        leg.node
    ):  # along the centreline: each straight from where the last arc ended, each arc at its radius
        at = leg
        while walk.pulled(at.node) and at.node.owner is not None:
            corner, before = at.node, at.node.owner
            first = not walk.pulled(before.node)
            radius = walk.length(corner.said["radius"])
            turn = rows.leg(before, "turn_end")
            cuts[0] -= arc_length(radius, turn)
            reach = rows.leg(before, "takeout_start") + rows.leg(before, "takeout_end")
            cuts[0] -= before.length - reach - (before.at_start.gaps * gap if first else 0.0)
            at = before
        shares = [(0.0, leg.pieces[0].shares[1]), *(piece.shares for piece in leg.pieces[1:])]
    else:
        shares = [piece.shares for piece in leg.pieces]
    return laid(leg, start, cuts, rows.items(leg), gap, takeouts, shares)


# -- what is said ------------------------------------------------------------------------------------------------------

SENTENCES = {
    **alike.SENTENCES,
    "socket angle": ["Socket and threaded elbows are 90 or 45"],
    "made for 90": ["this fitting is made for 90°"],
    "return length": ["from centre to centre, the drawing says"],
    "return back": ["After a return the pipe runs back the way it came."],
    "straight on": ["One leg must go straight on from a lateral."],
    "cross lines": ["The legs of a cross lie in two lines"],
    "coupling joint": ["Couplings and unions are socket or threaded"],
    "flat side": ["The flat side must be square to the pipe"],
    "pulled schedules": ["both legs have one schedule"],
    "no such joint": ["is butt, socket or threaded"],
    "pulled by hand": ["clear its take-outs and trim"],
    "no such branch": ["have branches up to the size of their run", "in the size of the branch"],
    "branch sizes": ["Both branches of a cross must have one size."],
    "cap joint": ["follow its spool's joints", "follow the spool's joints"],
    "one size": ["Both ends of this reducing elbow have one size"],
    "reduced too far": ["they go down to half of the larger size"],
    "bent flat": ["It cannot be bent"],
    "pulled alone": ["A pulled bend needs a pipe on both sides."],
}

OF_LEGS = {
    "bends overlap": "No straight pipe is left here",
    "no thread": "cannot be threaded",
    "no nipple": "Socket and threaded fittings need a pipe between them",
    "across a shift": "give only coordinates along the leg",
}


def unsaid(walk: WideWalk, rows: Rows) -> list[str]:
    """What is not said of mistakes at work points, and of those of whole legs."""
    found = alike.unsaid(walk, rows, SENTENCES)
    for spool in walk.spools:
        for word, sentence in OF_LEGS.items():
            if word in spool.wrong and not any(sentence in rows.leg(leg, "stops") for leg in spool.legs):
                found.append(f"{spool.mark}: nothing is said of {word}")
    return found


def unclosed(walk: WideWalk, rows: Rows) -> list[str]:
    """Misclosure of closing legs, and coordinates of every end."""
    found: list[str] = []
    for spool, said in zip(walk.spools, walk.job["spool"], strict=True):
        if "flat side" in spool.wrong:
            continue
        origin = said.get("origin", {})
        for leg in spool.legs:
            place = f"{leg.spool} {leg.name}"
            found += unlike(place, {"misclosed": (rows.leg(leg, "misclosed"), walk.misclosed.get(leg.row))})
            for at, name in enumerate(("east", "north", "up")):
                stands = float(leg.end[at]) + walk.length(origin.get(name, 0))
                found += unlike(place, {f"at_{name}": (rows.values[f"more.at_{name}"][leg.row], stands)})
    return found


# -- what the spools reach ---------------------------------------------------------------------------------------------


def seen_in(walk: WideWalk, spool: Spool) -> Counter[str]:
    """What a spool has."""
    seen = Counter(spool.wrong or ["can be made"])
    for leg in spool.legs:
        node = leg.end_node
        seen.update([f"end {node.kind}", f"start {leg.node.kind}", f"{node.kind} {walk.joint(node)}"])
        seen.update(f"{end.kind} {end.role}" for end in (leg.at_start, leg.at_end) if end.role)
        seen.update(
            key for key in ("to", "bearing", "close_to", "flat", "pulled", "tangent", "blind") if key in leg.said
        )
        seen.update(key for key in ("fitting_class", "takeout_out", "fall", "inline", "make_up") if key in leg.said)
        seen["old stock"] += leg.said.get("stock") == "old"
        seen["cocked tee"] += node.kind == "tee" and leg.said.get("fitting") == "stock"
        seen["two bends"] += walk.pulled(node) and walk.pulled(leg.node)
        seen["half turn"] += leg.node.kind in ("return", "return_short_radius") and not walk.inside(leg)
        seen["shift"] += leg.row in walk.shifts and math.hypot(*walk.shifts[leg.row]) > 0
        seen["upright shift"] += leg.row in walk.shifts and abs(leg.way[2]) > 0.99
        seen["sloped shift"] += leg.row in walk.shifts and 0.1 < abs(leg.way[2]) < 0.9
        seen["misclosed"] += walk.misclosed.get(leg.row, 0.0) > 1e-6
        seen["closed"] += walk.misclosed.get(leg.row, 1.0) < 1e-6
    seen["origin"] += "origin" in walk.job["spool"][walk.spools.index(spool)]
    return seen


def test_the_random_spools_reach_everything() -> None:
    """Every end, joint and way of giving a leg occurs, and some of what cannot be made."""
    seen: Counter[str] = Counter()
    for seed, units in ((1, "inch"), (2, "mm")):
        walk = walked(seed, units, units)
        for spool in walk.spools:
            seen += seen_in(walk, spool)
    kinds = ["elbow", "elbow_short_radius", "elbow_3d", "bend", "reducing_elbow", "return", "return_short_radius"]
    kinds += ["tee", "cross", "lateral", "reducer", "eccentric_reducer", "coupling", "half_coupling", "union", "cap"]
    kinds += ["weld", "bevel", "plain", "other", *FLANGES]
    small = [f"{kind} {joint}" for kind in ("elbow", "tee", "cross", "coupling") for joint in ("socket", "threaded")]
    wanted = [*(f"end {kind}" for kind in kinds), *small]
    wanted += ["cross run", "cross branch", "tee run", "tee branch", "cocked tee"]
    wanted += ["to", "bearing", "close_to", "origin", "flat", "pulled", "tangent", "two bends", "half turn", "blind"]
    wanted += [
        "shift",
        "upright shift",
        "sloped shift",
        "misclosed",
        "closed",
        "old stock",
        "fall",
        "fitting_class",
        "inline",
    ]
    assert {word: seen[word] for word in wanted if seen[word] < 2} == {}
    mistakes = [word for word in SENTENCES if word not in ("no turn", "lateral", "enters", "run sizes", "in line")]
    assert {word for word in (*mistakes, *OF_LEGS) if seen[word] < 1} == set()
    assert seen["can be made"] > 2 * SPOOLS_EACH * 0.7


def test_a_wrong_value_is_seen() -> None:
    """The comparison finds a value that is off by little, in each table that it looks at."""
    seed, units, edition = CASES[0]
    walk, values = walked(seed, units, edition), worked(seed, units, edition)
    for name in ("takeout_start", "takeout_end", "x_start", "z_end", "turn_end", "misclosed"):
        column = values[f"legs.{name}"]
        row = next(at for at in range(len(walk.legs)) if isinstance(column[at], float) and not made_wrong(walk, at))
        found = all_unlike(walk, Rows(spoiled(values, f"legs.{name}", row)))
        assert any(f": {name}: " in line for line in found)
    bends = [leg for leg in walk.legs if walk.pulled(leg.node) and leg.pieces and not made_wrong(walk, leg.row)]
    bent = bends[0].pieces[0]
    row = Rows(values).piece_row[bent.mark]
    found = all_unlike(walk, Rows(spoiled(values, "pieces.cut_length", row)))
    assert any("cut_length" in line for line in found) and any("landed on" in line for line in found)


def made_wrong(walk: WideWalk, row: int) -> bool:
    """Whether a leg's spool cannot be made."""
    return any(spool.wrong for spool in walk.spools if spool.mark == walk.legs[row].spool)


def spoiled(values: Values, name: str, row: int) -> Values:
    """The same values, one of them off by little."""
    copied = {key: list(column) for key, column in values.items()}
    copied[name][row] += 1e-4
    return copied


# -- the walk itself ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn", [0.5, 22.5, 45.0, 90.0, 135.0, 170.0])
def test_the_centreline_of_a_bend_is_as_long_as_a_part_of_a_circle(turn: float) -> None:
    assert arc_length(10.0, turn) == pytest.approx(2 * math.pi * 10.0 * turn / 360, abs=1e-10)


@pytest.mark.parametrize(("seed", "units", "edition"), [CASES[2]])
def test_the_material_of_spools_that_can_be_made(seed: int, units: str, edition: str) -> None:
    """Kinds of pipe, parts, masses and remarks."""
    walk = walked(seed, units, edition)
    wrong = {spool.mark for spool in walk.spools if spool.wrong}
    text = job_text([said for said in walk.job["spool"] if said["mark"] not in wrong], units, walk.job["rules"])
    assert mismatches(Live(text, edition, some(SHEETS)), takeoff.expected_material(WideWalk(text, edition))) == []


ORIGIN = {"east": 1000, "north": 2000, "up": 120}
FROM_A_POINT = {"mark": "A", "size": "4", "schedule": "STD", "start": "bevel", "origin": ORIGIN}
LINES = job_text([{**FROM_A_POINT, "leg": [
    {"bearing": "60 deg", "fall": "1/4 in/ft", "to": {"up": 115}, "end": "elbow", "fitting": "stock"},
    {"bearing": "150 deg", "run": 50, "to": {"up": 95}, "end": "elbow"},
    {"to": {"up": 160}, "end": "bevel"},
]}])  # fmt: skip
POINTED = job_text([{**FROM_A_POINT, "leg": [
    {"bearing": "60 deg", "run": 50, "fall": "1/4 in/ft", "to": {"east": 1040, "up": 118}, "end": "elbow",
     "fitting": "stock"},
    {"bearing": "150 deg", "to": {"east": 1080, "north": 1960, "up": 120}, "end": "elbow"},
    {"bearing": "210 deg", "to": {"north": 1900}, "fall": "-2 %", "end": "bevel"},
]}])  # fmt: skip


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_lines_by_bearing_fall_and_elevation(edition: str) -> None:
    """A line falls 5 in at 1/4 in/ft: 240 in level; the next goes down to an elevation along its bearing."""
    book = Live(LINES, edition, some())
    unit = 1.0 if edition == "inch" else 25.4
    east, north = 240 * math.sin(math.radians(60)), 240 * math.cos(math.radians(60))
    ends = [(east, north, -5.0)]
    ends.append((east + 50 * math.sin(math.radians(150)), north + 50 * math.cos(math.radians(150)), -25.0))
    ends.append((*ends[-1][:2], 40.0))
    walk = WideWalk(LINES, edition)
    for at, end in enumerate(ends):
        found = [book.value(f"legs.{axis}_end", at) for axis in "xyz"]
        assert found == pytest.approx([part * unit for part in end])
        assert list(walk.spools[0].legs[at].end) == pytest.approx(found)
    assert "Misclosure" not in "".join(str(value) for value in book.column("legs.cautions"))


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_what_is_drawn_goes_before_the_point_beside_it(edition: str) -> None:
    """A run and a fall are kept, a bearing runs to where it passes its point; each time the misclosure is said."""
    book = Live(POINTED, edition, some())
    unit = 1.0 if edition == "inch" else 25.4
    walk = WideWalk(POINTED, edition)
    ends = [np.array([50 * math.sin(math.radians(60)), 25.0, -50 / 48])]
    way = np.array([math.sin(math.radians(150)), math.cos(math.radians(150)), 0.0])
    far = way @ (np.array([80.0, -40.0, 0.0]) - ends[0])
    ends.append(np.array([*(ends[0] + far * way)[:2], 0.0]))
    down = (100 + ends[1][1]) / math.cos(math.radians(30))
    ends.append(ends[1] + down * np.array([-0.5, -math.cos(math.radians(30)), 0.02]))
    for at, end in enumerate(ends):
        assert [book.value(f"legs.{axis}_end", at) for axis in "xyz"] == pytest.approx(list(end * unit))
        assert list(walk.spools[0].legs[at].end) == pytest.approx(list(end * unit))
    said = [value or "" for value in book.column("legs.cautions")[:3]]
    assert ["Misclosure" in each for each in said] == [True, True, False]
