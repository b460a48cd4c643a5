"""Random spools against the walk: lengths, turns, take-outs, clock, pieces, masses, welds and the words that say them.

The walk (`walk.py`) works a job out from its file and the reference tables alone and shares nothing with the templates.
What the workbook gives is compared with it cell by cell, and laid down through space, part after part.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from alike import SENTENCES, Rows, Values, legs_unlike, pieces_unlike, totals_unlike, unsaid
from cutting import live as live_book
from cutting import shop
from live import WORKBOOK, Live, Value, job_of
from paperwork import said
from routes import Routes
from walk import FLANGES, Leg, Spool, Vector, Walk, between, laid, tangent_length

DEMO = Path(__file__).resolve().parent.parent / "output_examples" / "mill_creek.toml"
SPOOLS_EACH = 60
SEEDS = (1, 2, 3, 4)
CASES = [
    *((1, units, edition) for units in ("inch", "mm") for edition in ("inch", "mm")),
    (2, "mm", "mm"), (3, "inch", "mm"), (4, "mm", "inch"),
]  # fmt: skip


@cache
def text_of(seed: int, units: str) -> str:
    """A random job; seed 0 is the demo job."""
    return DEMO.read_text(encoding="utf-8") if seed == 0 else Routes(seed, units).job(SPOOLS_EACH)


@cache
def walked(seed: int, units: str, edition: str) -> Walk:
    """The job walked."""
    return Walk(text_of(seed, units), edition)


@cache
def worked(seed: int, units: str, edition: str) -> Values:
    """What the workbook gives for the job."""
    return shop().compute(WORKBOOK, job_of(text_of(seed, units)), edition)[1].values


# -- the tests ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("seed", "units", "edition"), [(0, "inch", "inch"), (0, "inch", "mm"), *CASES])
def test_the_workbook_agrees_with_the_walk(seed: int, units: str, edition: str) -> None:
    walk, rows = walked(seed, units, edition), Rows(worked(seed, units, edition))
    found = [
        *(line for spool in walk.spools for line in legs_unlike(rows, spool)),
        *(line for spool in walk.spools for line in pieces_unlike(rows, spool, walk)),
        *totals_unlike(rows, walk),
        *unlaid(walk, rows),
        *unsaid(walk, rows, SENTENCES),
    ]
    assert found == []


def unlaid(walk: Walk, rows: Rows) -> list[str]:
    """Laying take-outs, gaps, items and pipes of the workbook end to end must land on each later work point."""
    found: list[str] = []
    gap = rows.values["rules.root_gap"][0]
    for spool in walk.spools:
        if spool.wrong - {"run sizes"}:
            continue
        landed: dict[int, Vector] = {}
        for leg in spool.legs:
            start = landed[leg.node.owner.row] if leg.node.owner else np.zeros(3)
            cuts = [
                rows.piece(each, "cut_length") - rows.piece(each, "trim") - rows.piece(each, "shrinkage")
                for each in leg.pieces
            ]
            takeouts = (rows.leg(leg, "takeout_start"), rows.leg(leg, "takeout_end"))
            here = laid(leg, start, cuts, rows.items(leg), gap, takeouts)
            if leg.make_up is not None:  # it may come out longer or shorter: the row says by how much
                here = here - leg.way * rows.leg(leg, "make_up_difference")
            landed[leg.row] = here
            if math.hypot(*(here - leg.end)) > 1e-6:
                found.append(f"{leg.spool} {leg.name}: landed on {here}, not on {leg.end}")
    return found


def test_the_random_spools_reach_everything() -> None:
    """Every end, role, item and mistake occurs often enough to count for something."""
    seen: Counter[str] = Counter()
    for seed in SEEDS:
        for units in ("inch", "mm"):
            walk = walked(seed, units, units)
            for spool in walk.spools:
                seen.update(spool.wrong or ["can be made"])
                for leg in spool.legs:
                    seen.update({f"end {leg.at_end.kind}", f"start {leg.at_start.kind}"})
                    seen.update(f"tee {end.role}" for end in (leg.at_start, leg.at_end) if end.role)
                    seen.update(f"typed {end.kind}" for end in (leg.at_start, leg.at_end) if end.typed)
                    seen.update(
                        key for key in ("fall", "fitting", "stub", "make_up", "from", "name") if key in leg.said
                    )
                    seen.update("by" for each in leg.said.values() if str(each).startswith("by "))
                    seen.update(f"item {said['ends']}" for said in leg.said.get("inline", []))
                    seen.update(
                        f"against {said['against']}" for said in leg.said.get("inline", []) if "against" in said
                    )
                    seen.update("bolted" for item in leg.items if item.bolted)
                    seen.update(f"{len(leg.items)} items" for _ in [0] if leg.items)
                    seen["upright roll"] += bool(leg.roll) and abs(leg.way[2]) == 1
                    seen["roll"] += bool(leg.roll)
                    seen["start trim"] += leg.node.first and any(piece.trim for piece in leg.pieces)
                    seen["bevel"] += any(piece.bevel_face is not None for piece in leg.pieces)
                    seen["odd turn"] += leg.at_end.kind in ("elbow", "elbow_short_radius") and not near_stock(leg)
                    for piece in leg.pieces:
                        seen["negative"] += piece.cut_length is None
                        seen["dagger"] += piece.doubtful
    wanted = [
        f"end {kind}" for kind in (*FLANGES, "elbow", "elbow_short_radius", "tee", "reducer", "eccentric_reducer")
    ]
    wanted += [
        "end cap",
        "end weld",
        "end bevel",
        "end plain",
        "end other",
        "start tee",
        "start reducer",
        "start elbow",
    ]
    wanted += [
        "tee run",
        "tee branch",
        "typed elbow",
        "fall",
        "by",
        "fitting",
        "stub",
        "make_up",
        "from",
        "name",
        "bolted",
    ]
    wanted += [f"item {ends}" for ends in ("flanged", "butt", "wafer", "socket")]
    wanted += ["against start", "against end", "1 items", "2 items", "roll", "upright roll", "start trim", "bevel"]
    wanted += ["odd turn", "negative", "dagger", "can be made", *SENTENCES]
    assert {word: seen[word] for word in wanted if seen[word] < 3} == {}
    assert seen["can be made"] > 300


def near_stock(leg: Leg) -> bool:
    """Whether the elbow at a leg's end is a 90 or a 45."""
    return leg.turn_end is None or min(abs(leg.turn_end - 90), abs(leg.turn_end - 45)) < 0.3


def test_a_wrong_value_is_seen() -> None:
    """The comparison finds a value that is off by little, in each table that it looks at."""
    walk = walked(0, "inch", "inch")
    for name, row in (
        ("legs.takeout_end", 1),
        ("legs.roll_degrees", 0),
        ("pieces.cut_length", 3),
        ("spools.pipe_mass", 2),
    ):
        values = {key: list(column) for key, column in worked(0, "inch", "inch").items()}
        values[name][row] += 1e-4
        rows = Rows(values)
        found = [
            *(line for spool in walk.spools for line in legs_unlike(rows, spool)),
            *(line for spool in walk.spools for line in pieces_unlike(rows, spool, walk)),
            *totals_unlike(rows, walk),
        ]
        assert len(found) == 1 and name.partition(".")[2] in found[0]
        if name in ("legs.takeout_end", "pieces.cut_length"):
            assert len(unlaid(walk, rows)) >= 1


# -- the walk itself ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn", [1.0, 22.5, 45.0, 60.0, 89.9, 90.0])
def test_the_arc_of_a_cut_elbow_touches_both_legs(turn: float) -> None:
    """The walk's own geometry: from both points of touch the centre stands square to the leg, at the radius."""
    reach = tangent_length(9.0, turn)
    inwards, outwards = (
        np.array([1.0, 0.0, 0.0]),
        np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn)), 0.0]),
    )
    first, last = -reach * inwards, reach * outwards
    centre = first + 9.0 * np.array([0.0, 1.0, 0.0])
    assert math.hypot(*(centre - last)) == pytest.approx(9.0, abs=1e-9)
    assert float((centre - last) @ outwards) == pytest.approx(0.0, abs=1e-9)
    assert between(first - centre, last - centre) == pytest.approx(turn, abs=1e-9)


def test_the_walk_reads_lengths_as_a_fitter_writes_them() -> None:
    walk = walked(0, "inch", "inch")
    for text, inches in (
        ("36 1/2 in", 36.5), ("4 ft 0 1/4 in", 48.25), ("5'-2 3/8\"", 62.375), ("-1'-0 1/16\"", -12.0625),
        ("25.4 mm", 1.0), ("0.127 m", 5.0), ("7", 7.0), (2.5, 2.5),
    ):  # fmt: skip
        assert walk.length(text) == inches, text


# -- sketch and check dimensions ---------------------------------------------------------------------------------------


def distances(spool: Spool) -> list[Vector]:
    """The work points of a spool: its start, then the end of each leg."""
    return [np.zeros(3), *(leg.end for leg in spool.legs)]


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_the_sketch_shows_the_chosen_spool(edition: str) -> None:
    text = Routes(2, "inch").job(8)
    walk, live = Walk(text, edition), live_book(text, edition)
    longest = sorted(walk.spools, key=lambda spool: -len(spool.legs))[:3]
    for spool in longest:
        live.put_all({("sketch.spool", 0): spool.mark})
        points = distances(spool)
        for at, axis in enumerate("xyz"):
            shown = [value for value in live.column(f"points.{axis}") if value is not None]
            assert shown == pytest.approx([float(point[at]) for point in points], abs=1e-6)
        flat = [isometric(point) for point in points]
        across = [value for value in live.column("points.flat_x") if value is not None]
        upwards = [value for value in live.column("points.flat_y") if value is not None]
        assert across == pytest.approx([x for x, _ in flat], abs=1e-6)
        assert upwards == pytest.approx([y for _, y in flat], abs=1e-6)
        assert_drawn(live, spool, flat)
        overall = [live.value(f"sketch.{name}_overall") for name in ("east", "north", "up")]
        assert overall == pytest.approx([float(each) for each in points[-1]], abs=1e-6)
        assert live.value("sketch.straight_overall") == pytest.approx(math.hypot(*points[-1]), abs=1e-6)
        assert live.column("points.label")[: len(points) + 1] == ["start", *map(str, range(1, len(points))), None]


def isometric(point: Vector) -> tuple[float, float]:
    """Where a point is drawn: seen along the line that makes the same angle with all three axes.

    East runs down to the right, north up to the right, up stays up; all three equally long.
    """
    down_right = np.array([math.cos(math.radians(-30)), math.sin(math.radians(-30))])
    up_right = np.array([math.cos(math.radians(30)), math.sin(math.radians(30))])
    flat = point[0] * down_right + point[1] * up_right + point[2] * np.array([0.0, 1.0])
    return float(flat[0]), float(flat[1])


def assert_drawn(live: Live, spool: Spool, flat: Sequence[tuple[float, float]]) -> None:
    """The lines of the drawing: each from where its leg starts to where it ends, to one scale on both axes."""
    place = {leg.row: at for at, leg in enumerate(spool.legs, start=1)}
    lines = list(zip(*(live.column(f"points.{name}") for name in ("x_from", "y_from", "x_to", "y_to")), strict=True))
    width = max(x for x, _ in flat) - min(x for x, _ in flat)
    height = max(y for _, y in flat) - min(y for _, y in flat)
    scale = max(width, height)
    for leg in spool.legs:
        origin = place[leg.node.owner.row] if leg.node.owner else 0
        line = lines[place[leg.row]]
        drawn = (line[2] - line[0], line[3] - line[1])
        meant = [(b - a) / scale for a, b in zip(flat[origin], flat[place[leg.row]], strict=True)]
        assert drawn[0] * meant[1] == pytest.approx(drawn[1] * meant[0], abs=1e-9)
        assert math.hypot(*drawn) == pytest.approx(0.86 * math.hypot(*meant), abs=1e-9)
    assert all(-1e-9 <= value <= 1 + 1e-9 for line in lines for value in line)
    for line in lines[len(flat) :]:  # rows without a leg repeat the last point: nothing is drawn
        assert abs(line[0] - line[2]) < 1e-5 and abs(line[1] - line[3]) < 1e-5


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_any_two_work_points_can_be_measured(edition: str) -> None:
    text = Routes(2, "inch").job(8)
    walk, live = Walk(text, edition), live_book(text, edition)
    spool = max(walk.spools, key=lambda spool: len(spool.legs))
    points = distances(spool)
    for one, two in ((0, 1), (2, 5), (5, 2), (len(points) - 1, 0), (3, 3)):
        live.put_all({("sketch.spool", 0): spool.mark, ("sketch.one", 0): one, ("sketch.two", 0): two})
        apart = points[two] - points[one]
        shown = [live.value(f"sketch.{name}_pair") for name in ("east", "north", "up", "straight")]
        assert shown == pytest.approx([*map(float, apart), math.hypot(*apart)], abs=1e-6)
        assert live.value("sketch.check_1") is None
        unit = '"' if edition == "inch" else " mm"
        words = said(math.hypot(*apart), walk.rules["precision"], edition) + unit
        assert live.value("sketch.straight_said") == words
    missing: list[tuple[Value, Value]] = [(0, len(points)), (-1, 2), (0.5, 1), (None, 1)]
    for first, last in missing:
        live.put_all({("sketch.one", 0): first, ("sketch.two", 0): last})
        assert live.value("sketch.straight_pair") is None
        assert str(live.value("sketch.check_1")).startswith("✗ Choose two work points")
    assert live.errors() == []
