"""Envelope: each spool's box against points on the outside of its parts, and what it says of truck, bath and door."""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np
import pytest
from live import NASTY, Live, Place, Value, some
from paperwork import circle, expected_boxes
from routes import Routes, job_text
from walk import Vector, Walk

SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "closure_steps", "cutlist", "cut_steps",
    "ends", "fitup", "parts", "material", "envelope", "envelope_parts", "key", "tables_used",
)  # fmt: skip
BOX = ("east", "north", "up")
SIX: dict[str, Any] = {"size": "6", "schedule": "STD"}
WN = {"end": "weld_neck_flange"}


def opened(spools: list[dict[str, Any]], edition: str = "inch") -> Live:
    return Live(job_text(spools), edition, some(SHEETS))


def box(book: Live, row: int = 0) -> list[float]:
    return [book.value(f"envelopes.{side}", row) for side in BOX]


@pytest.mark.parametrize(("seed", "edition"), [(1, "inch"), (2, "mm"), (3, "inch")])
def test_boxes_agree_with_points_on_the_parts(seed: int, edition: str) -> None:
    text = Routes(seed, edition).job(25)
    book, wanted = Live(text, edition, some(SHEETS)), expected_boxes(Walk(text, edition))
    assert book.errors() == []
    assert len(wanted) > 60
    found = [
        (place, book.value(*place), value)
        for place, value in wanted.items()
        if book.value(*place) != pytest.approx(value, rel=1e-7, abs=2e-5)
    ]
    assert found == []


def test_a_flange_makes_a_straight_spool_no_longer() -> None:
    """6 in class 150: a flange is 11 in across (ASME B16.5)."""
    book = opened([{"mark": "A", **SIX, "class": "150", "start": "weld_neck_flange", "leg": [{"east": 238, **WN}]}])
    assert box(book) == pytest.approx([238, 11, 11])
    assert book.value("envelopes.straight") == 238
    assert book.value("envelopes.diagonal") == pytest.approx(math.hypot(238, 11, 11))
    book.put_all({("places.long", 0): 240.0})
    assert book.value("envelopes.truck") == "✓ within"
    book.put_all({("places.long", 0): 237.0})
    assert book.value("envelopes.truck") == '✗ too large by 1" (longest side)'


def test_an_item_is_as_wide_as_its_own_flanges() -> None:
    """6 in class 600: 14 in across. A butt-welded item is taken as thick as its pipe, 6.625 in."""
    valve = {"item": "valve", "length": 22, "at": 50, "ends": "flanged", "flange": "weld_neck_flange", "class": "600"}
    butt = {"item": "valve", "length": 22, "at": 50, "ends": "butt"}
    loose = {**SIX, "start": "plain"}
    book = opened([
        {"mark": "A", **loose, "leg": [{"east": 100, "end": "plain", "inline": [valve]}]},
        {"mark": "B", **loose, "leg": [{"east": 100, "end": "plain", "inline": [butt]}]},
    ])  # fmt: skip
    assert box(book) == pytest.approx([100, 14, 14])
    assert box(book, 1) == pytest.approx([100, 6.625, 6.625])


def test_trim_is_in_the_box() -> None:
    """The pipe of a spool without a weld is the spool: 238 + 6 + 7 = 251 in, as it is cut."""
    leg = {"east": 238, "end": "bevel", "trim": 7}
    book = opened([{"mark": "A", **SIX, "start": "bevel", "start_trim": 6, "leg": [leg]}])
    assert book.value("cuts.cut_length") == 251
    assert box(book) == pytest.approx([251, 6.625, 6.625])
    assert book.value("envelopes.straight") == 251


def test_gaskets_stay_at_home_and_blinds_do_not() -> None:
    """Each gasket of 1/8 in that the dimension holds is off; a 6 in class 150 blind is 1 in thick over its face."""
    plain = {"mark": "A", **SIX, "class": "150", "start": "weld_neck_flange", "start_gasket": 0.125}
    plain |= {"leg": [{"north": 60, **WN, "gasket": 0.125}]}
    blind = {**plain, "mark": "B", "start_blind": True, "leg": [{"north": 60, **WN, "gasket": 0.125, "blind": True}]}
    book = opened([plain, blind])
    assert box(book) == pytest.approx([11, 59.75, 11])
    assert book.value("envelopes.straight") == pytest.approx(59.75)
    assert box(book, 1) == pytest.approx([11, 61.75, 11])
    assert book.value("envelopes.straight", 1) == pytest.approx(59.75)


def test_a_ring_joint_flange_hangs_lower_on_a_slope() -> None:
    """3 in 4 down; 6 in class 600 with a ring joint: 14 in across, 1-7/8 thick, its groove 5/16 deep (ASME B16.5)."""
    leg = {"east": 80, "up": -60, **WN, "facing": "RTJ"}
    book = opened([{"mark": "A", **SIX, "class": "600", "start": "plain", "leg": [leg]}])
    way = np.array([0.8, 0.0, -0.6])
    end = 100 * way
    parts = [circle(np.zeros(3), way, 6.625), circle(end, way, 14), circle(end - (1.875 + 0.3125) * way, way, 14)]
    points = np.concatenate(parts)
    assert box(book) == pytest.approx(list(np.ptp(points, axis=0)), abs=1e-5)


def test_an_eccentric_start_lies_to_one_side() -> None:
    """8 in (8.625) to 6 in (6.625), flat at the top: the bottom of the larger end hangs 2 in below that of the pipe."""
    spool = {"mark": "A", "size": "8", "schedule": "STD", "start": "eccentric_reducer", "start_flat": "top"}
    book = opened([{**spool, "leg": [{**SIX, "east": 90, "end": "plain"}]}])
    assert box(book) == pytest.approx([90, 8.625, 8.625])
    assert book.value("reaches.up_low", 0) == pytest.approx(-8.625 / 2)
    assert book.value("reaches.up_high", 0) == pytest.approx(8.625 / 2)


def test_a_boss_sticks_out_where_it_points() -> None:
    """A 2 in half coupling, 1-7/8 in high and less what is screwed in, points up: nothing is added below."""
    outlet = {"name": "B", "on": "L1", "at": 30, "kind": "weldolet", "size": "2", "height": 1.5, "towards": "up"}
    spool = {"mark": "A", **SIX, "start": "plain", "outlet": [{**outlet, "schedule": "STD"}]}
    low = {**spool, "mark": "B", "outlet": [{**outlet, "schedule": "STD", "at": 2}]}
    book = opened([
        {**spool, "leg": [{"east": 60, "end": "plain"}]},
        {**low, "leg": [{"east": 60, "end": "plain"}]},
    ])  # fmt: skip
    gap = book.value("rules.root_gap")
    assert box(book) == pytest.approx([60, 6.625, 6.625 + gap + 1.5])
    assert book.value("reaches.part", 1) == "weldolet B"
    assert book.value("reaches.up_high", 1) == pytest.approx(6.625 / 2 + gap + 1.5)
    assert box(book, 1)[2] == pytest.approx(6.625 + gap + 1.5)


def torus(corner: Vector, into: Vector, out: Vector, radius: float, od: float) -> Vector:
    """Points on the outside of an elbow between two directions: circles along its arc."""
    turn = math.acos(float(into @ out))
    normal = np.cross(into, out) / math.sin(turn)
    first = corner - radius * math.tan(turn / 2) * into
    inwards = np.cross(normal, into)
    centre = first + radius * inwards
    found = []
    for angle in np.linspace(0, turn, 400):
        way = math.cos(angle) * into + math.sin(angle) * inwards
        middle = centre - radius * (math.cos(angle) * inwards - math.sin(angle) * into)
        found.append(circle(middle, way, od, 200))
    every: Vector = np.concatenate(found)
    return every


def test_an_elbow_is_in_the_box_as_it_is_curved() -> None:
    """A long-radius 6 in elbow turns on 9 in, a short one on 6 in: the box is theirs at any turn, within a sample."""
    rng, spools, points = random.Random(4), list[dict[str, Any]](), list[Vector]()
    while len(spools) < 40:
        ways = [np.array([rng.uniform(-1, 1) for _ in range(3)]) for _ in range(2)]
        ways = [way / math.hypot(*way) for way in ways]
        turn = math.degrees(math.acos(float(ways[0] @ ways[1])))
        if not 3 < turn < 88:
            continue
        kind, radius = rng.choice([("elbow", 9.0), ("elbow_short_radius", 6.0), ("bend", 30.0)])
        more = {"radius": 30} if kind == "bend" else {}
        first, second = (dict(zip(BOX, map(float, 40 * way), strict=True)) for way in ways)
        spools.append({"mark": f"S{len(spools)}", **SIX, "start": "plain", "leg": [
            {**first, "end": kind, **more}, {**second, "end": "plain"}]})  # fmt: skip
        ends = [circle(np.zeros(3), ways[0], 6.625), circle(40 * ways[0] + 40 * ways[1], ways[1], 6.625)]
        points.append(np.concatenate([*ends, torus(40 * ways[0], ways[0], ways[1], radius, 6.625)]))
    book = opened(spools)
    for row, each in enumerate(points):
        last = int(book.value("envelopes.last_part", row)) - 1
        for at, axis in enumerate("xyz"):
            least, most = each[:, at].min(), each[:, at].max()
            assert least - 0.01 < book.value(f"reaches.{axis}_least", last) <= least + 1e-5
            assert most - 1e-5 <= book.value(f"reaches.{axis}_most", last) < most + 0.01


def test_a_bend_over_the_top_is_no_higher_than_it_is() -> None:
    """Up and down at 45° by 100 in, radius 40 in: the corner stands 40 × (√2 − 1) = 16.57 in over the curve."""
    legs: list[dict[str, Any]] = [{"east": 100, "up": 100}, {"east": 100, "up": -100, "end": "plain"}]
    spool = {**SIX, "start": "plain"}
    cases: list[dict[str, Any]] = [{"end": "bend", "radius": 40}, {"end": "bend", "radius": 40, "pulled": True}]
    cases += [{"end": "bend", "radius": 40, "tangent": 6}, {"end": "elbow", "takeout": 40, "takeout_out": 40}]
    book = opened([{"mark": f"A{at}", **spool, "leg": [{**legs[0], **each}, legs[1]]} for at, each in enumerate(cases)])
    low, thick = -6.625 / 2 * math.sqrt(0.5), 6.625 / 2
    tops = [box(book, at)[2] + low for at in range(4)]
    assert tops[:3] == pytest.approx([100 - 40 * (math.sqrt(2) - 1) + thick] * 3)
    # of a typed take-out the curve is not known: at most to the corner
    assert tops[3] == pytest.approx(100 - low)


SAID = {
    # a 6 in STD pipe of 100 in: 100 × 6.625 × 6.625 in, 18.99 lb/ft, 158.25 lb
    "nothing typed": ({}, "… no limit typed"),
    "small enough": ({"long": 100.0, "middle": 7.0, "short": 6.625}, "✓ within"),
    "too long": ({"long": 99.0}, '✗ too large by 1" (longest side)'),
    "the worst side": ({"long": 99.0, "short": 4.625}, '✗ too large by 2" (shortest side)'),
    "the middle side": ({"long": 99.5, "middle": 5.625, "short": 6.625}, '✗ too large by 1" (middle side)'),
    "two sides by as much": ({"long": 99.0, "middle": 5.625}, '✗ too large by 1" (longest side)'),
    "light enough": ({"long": 100.0, "mass": 159.0}, "✓ within"),
    "too heavy": ({"mass": 100.0}, "✗ too heavy by 58.3 lb (158.3 against 100)"),
    "a little too heavy": ({"mass": 158.24}, "✗ too heavy by less than 0.1 lb (158.3 against 158.2)"),
    "both": (
        {"long": 90.0, "mass": 100.0},
        '✗ too large by 10" (longest side), too heavy by 58.3 lb (158.3 against 100)',
    ),
    "large, not heavy": ({"long": 90.0, "mass": 200.0}, '✗ too large by 10" (longest side)'),
}


@pytest.mark.parametrize("name", list(SAID))
def test_what_it_says(name: str) -> None:
    limits, wanted = SAID[name]
    book = opened([{"mark": "A", **SIX, "start": "plain", "leg": [{"up": 100, "end": "plain"}]}])
    book.put_all({(f"places.{column}", 2): value for column, value in limits.items()})
    assert book.value("envelopes.door") == wanted


def test_what_it_says_in_millimetres() -> None:
    book = opened([{"mark": "A", **SIX, "start": "plain", "leg": [{"up": 100, "end": "plain"}]}], "mm")
    book.put_all({("places.long", 1): 2500.0, ("places.mass", 1): 50.0})
    mass = round(float(book.value("envelopes.mass")), 1)
    said = f"✗ too large by 40 mm (longest side), too heavy by {mass - 50:.1f} kg ({mass} against 50)"
    assert book.value("envelopes.bath") == said


def test_nothing_typed_can_break_it() -> None:
    text, rng = Routes(5, "inch").job(12), random.Random(3)
    book = Live(text, "inch", some(SHEETS))
    names = "legs.east legs.up legs.size legs.end details.trim spools.start_trim spools.size spools.start items.at"
    names += " items.flange_class items.length places.long places.mass"
    for _ in range(12):
        typed: dict[Place, Value] = {}
        for name in names.split():
            field = book.book.fields[name]
            typed |= {(name, row): rng.choice(NASTY) for row in range(field.rows) if rng.random() < 0.2}
        book.put_all(typed)
        assert book.errors() == []
        book.reset()
        book.calculate()
