"""Readings that say what to do: gap, hi-lo and square against joints in space, least squares, limits and sentences."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import gauges
import numpy as np
import pytest
from gauges import CLOCK, DIAMETERS, QUARTERS, Place, Value
from live import Live, Wrong
from numpy.typing import NDArray
from oracles import (
    PER_INCH,
    Reader,
    State,
    all_readings,
    expected,
    live,
    mismatches,
    one_by_one,
    opened,
    walked,
    yard,
)

from workbook_builder import expression

Points = NDArray[np.float64]

EDITIONS = ("inch", "mm")
TURNS = np.radians(list(CLOCK.values()))
DIAMETER_TURNS = np.radians(list(DIAMETERS.values()))

INCH = "inch"
EVEN_GAP = {"inch": 0.125, "mm": 3.0}
EVEN: dict[str, dict[str, Value]] = {edition: dict.fromkeys(QUARTERS, gap) for edition, gap in EVEN_GAP.items()}
LEVEL: dict[str, Value] = dict.fromkeys(QUARTERS, 0.0)
TO_ELBOW, TO_PIPE, PIPE_TO_PIPE, FIELD, FITTINGS, SLIP_ON, SOCKET, FILLET = range(8)


@cache
def joint_rows() -> dict[int, int]:
    """A row of Fit-up for each sort of joint."""
    wanted = {
        TO_ELBOW: "Y01 W2",
        TO_PIPE: "Y01 W3",
        PIPE_TO_PIPE: "Y04 W6",
        FIELD: "Y03 FW10",
        FITTINGS: "Y07 W3",
        SLIP_ON: "Y02 W1",
        SOCKET: "Y11 W1",
        FILLET: "Y08 W2",
    }
    labels = [f"{joint.leg.spool} {joint.label}" for joint in gauges.joints_of(walked(yard(), INCH))]
    return {sort: labels.index(label) for sort, label in wanted.items()}


class Bench:
    """One joint with the two pipe ends that may meet in it, and the workbook to type into."""

    def __init__(self, edition: str) -> None:
        self.edition = edition
        self.walk = walked(yard(), edition)
        self.book = live(yard(), edition)
        self.joints = gauges.joints_of(self.walk)
        self.clear()

    def clear(self) -> None:
        """Nothing typed."""
        self.book.reset()
        self.book.calculate()

    def joint(
        self,
        sort: int = TO_ELBOW,
        gap: Mapping[str, Value] | None = None,
        step: Mapping[str, Value] | None = None,
        more: Mapping[str, Value] | None = None,
    ) -> dict[str, Any]:
        """Readings of a joint typed, and more of its cells by name; what its row then says."""
        row = joint_rows()[sort]
        cells: dict[Place, Value] = {
            (f"joints.{kind}_{name}", row): (given or {}).get(name)
            for kind, given in (("gap", gap), ("hi_lo", step))
            for name in (*CLOCK, "worst")
        }
        cells |= {(f"joints.{name}", row): value for name, value in (more or {}).items()}
        self.book.put_all(cells)
        return self.told(row)

    def told(self, row: int) -> dict[str, Any]:
        """A row of Fit-up."""
        return self.book.row("joints", row)

    def end(self, across: Mapping[str, Value] | None = None, row: int = 0, sweep: Value = None) -> dict[str, Any]:
        """Readings of a pipe end typed; what its row then says."""
        cells: dict[Place, Value] = {(f"ends.square_{name}", row): (across or {}).get(name) for name in DIAMETERS}
        cells["ends.sweep", row] = sweep
        self.book.put_all(cells)
        return self.book.row("ends", row)

    def rules(self, **values: Value) -> None:
        """Rules typed."""
        self.book.put_all({(f"rules.{name}", 0): value for name, value in values.items()})


@pytest.fixture(params=EDITIONS)
def bench(request: pytest.FixtureRequest) -> Iterator[Bench]:
    """A cleared bench in each edition."""
    made = Bench(request.param)
    yield made
    made.clear()


@pytest.fixture
def inch() -> Iterator[Bench]:
    """A cleared bench in inches."""
    made = Bench(INCH)
    yield made
    made.clear()


def four(at12: float, at3: float, at6: float, at9: float) -> dict[str, Value]:
    """Readings at the quarters."""
    return dict(zip(QUARTERS, (at12, at3, at6, at9), strict=True))


def two(across_12: float, across_3: float) -> dict[str, Value]:
    """A square across 12–6 and 3–9."""
    return {"12_6": across_12, "3_9": across_3}


def four_across(values: Points) -> dict[str, Value]:
    """A square across all four diameters."""
    return dict(zip(DIAMETERS, map(float, values), strict=True))


def round_pipe(values: Points, eight: bool) -> dict[str, Value]:
    """Readings at all eight places, or at the quarters of them."""
    given: dict[str, Value] = dict(zip(CLOCK, map(float, values), strict=True))
    return given if eight else {name: given[name] for name in QUARTERS}


# -- the issue's own words ---------------------------------------------------------------------------------------------


def test_the_gap_of_the_issue(inch: Bench) -> None:
    """3/16, 5/32, 1/8, 5/32 against 1/8: close 12 by 1/16, leave 6."""
    told = inch.joint(gap=four(3 / 16, 5 / 32, 1 / 8, 5 / 32))
    assert (told["gap_mean"], told["gap_tilt"], told["gap_widest_at"], told["gap_uneven"]) == (5 / 32, 1 / 16, 12, 0)
    assert (told["close_wide"], told["close_tight"]) == (1 / 16, 0)
    assert told["verdict"] == gauges.OUTSIDE
    length, root = told["piece_length"], 6.625 - 2 * 0.28 + 1 / 16
    assert told["throw"] == pytest.approx(length * (1 / 16) / root, rel=1e-12)
    assert told["action"] == (
        "12 o'clock wide by 1/16: close 12 by 1/16, leave 6; if level or square shows the piece out the same way, "
        "swing it (far end moves 9/32); if the piece is true, dress the tight side at 6 by 1/16. "
    )


def test_the_sentences_of_the_issue(inch: Bench) -> None:
    level = four(0, 0, 0, 0)
    moved = inch.joint(gap=EVEN[INCH], step=four(3 / 32, 1 / 32, -1 / 32, 1 / 32))
    assert (moved["hi_lo_shift"], moved["hi_lo_shift_at"], moved["hi_lo_after_shift"]) == (1 / 16, 12, 1 / 32)
    assert moved["action"] == "Move the elbow 1/16 towards 12. "
    bores = inch.joint(gap=EVEN[INCH], step=four(3 / 32, 3 / 32, 3 / 32, 3 / 32))
    assert bores["action"] == (
        "Bores differ by 3/16 on diameter: trim or taper, keep the minimum wall, see the procedure. "
    )
    oval = inch.joint(gap=EVEN[INCH], step=four(3 / 32, -3 / 32, 3 / 32, -3 / 32))
    assert oval["action"] == "Oval: turn the second part or round it out before trimming. "
    assert inch.joint(gap=four(3 / 32, 3 / 32, 1 / 16, 3 / 32), step=level)["verdict"] == gauges.OUTSIDE
    assert inch.joint(gap=dict.fromkeys(QUARTERS, 5 / 64), step=level)["action"] == "Open all round by 3/64. "
    assert inch.joint(gap=dict.fromkeys(QUARTERS, 3 / 32), step=level)["verdict"] == gauges.WITHIN
    inch.rules(root_gap_min=7 / 64)
    assert inch.joint(gap=dict.fromkeys(QUARTERS, 3 / 32), step=level)["action"] == "Open all round by 1/32. "
    inch.clear()
    assert inch.end(two(0.0, 3 / 64))["action"] == "Dress the long side at 3 by 3/64."
    inch.rules(square_max=1 / 64)
    assert inch.end(two(0.0, 1 / 32))["action"] == "Dress the long side at 3 by 1/32."
    inch.clear()
    assert inch.end(two(0.0, 0.0), sweep=3 / 64)["action"] == "Wavy by 3/64: re-face and re-bevel."


# -- joints in space ---------------------------------------------------------------------------------------------------


def ring(radius: float) -> Points:
    """Points at the eight places of a circle: 12 is y, 3 is x, the walk goes along z."""
    return np.column_stack([radius * np.sin(TURNS), radius * np.cos(TURNS), np.zeros(8)])


def turned(towards: float, angle: float) -> Points:
    """Turns space so that a face across z opens at a clock direction: there its points move along z."""
    axis = np.array([math.cos(towards), -math.sin(towards), 0.0])  # across the direction, in the face
    x, y, z = axis
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    found: Points = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * (cross @ cross)
    return found


def gap_between(radius: float, apart: float, towards: float, angle: float) -> Points:
    """Opening, parallel to the first pipe, between its square end and the plane of a second one that is cocked."""
    normal = turned(towards, angle) @ np.array([0.0, 0.0, 1.0])
    points = ring(radius)
    found: Points = apart - (points[:, :2] @ normal[:2]) / normal[2]
    return found


@pytest.mark.parametrize("eight", [False, True])
def test_a_cocked_piece_in_space(bench: Bench, eight: bool) -> None:
    """The tilt, its clock, the angle and the throw are those of a piece that was tilted by a known amount."""
    rng = np.random.default_rng(7)
    unit = PER_INCH[bench.edition]
    for _ in range(60):
        apart, towards = rng.uniform(0.05, 0.2) * unit, rng.uniform(0, 2 * math.pi)
        angle = math.radians(rng.uniform(0.2, 2))
        root = bench.told(joint_rows()[TO_ELBOW])["root_diameter"]
        gaps = gap_between(root / 2, apart, towards, angle)
        told = bench.joint(gap=round_pipe(gaps, eight))
        assert told["gap_mean"] == pytest.approx(apart, abs=1e-9 * unit)
        assert told["gap_tilt"] == pytest.approx(root * math.tan(angle), rel=1e-9)
        assert told["cocked"] == pytest.approx(math.degrees(angle), rel=1e-9)
        assert abs((told["gap_widest_at"] - math.degrees(towards) / 30 + 6) % 12 - 6) <= 0.25 + 1e-6
        assert told["gap_uneven"] == pytest.approx(0, abs=1e-9 * unit)
        # the far end of the axis, where it meets the plane square to the first pipe at its length
        axis = turned(towards, angle) @ np.array([0.0, 0.0, 1.0])
        far = axis / axis[2] * told["piece_length"]
        assert told["throw"] == pytest.approx(math.hypot(far[0], far[1]), rel=1e-9)
        # doing what the sheet says leaves the root gap all round
        middle = (told["close_wide"] + told["close_tight"]) / 2
        half = (told["close_wide"] - told["close_tight"]) / 2
        left = gaps - middle - half * np.cos(TURNS - towards)
        aimed = gauges.Limits(bench.walk, {})["root_gap"]
        assert np.max(np.abs(left - aimed)) < 1e-9 * unit


def test_what_no_swing_takes_out(bench: Bench) -> None:
    """An end that is high at two or three places does not pass for a cocked piece; eight readings keep three apart."""
    rng = np.random.default_rng(8)
    unit = PER_INCH[bench.edition]
    root = bench.told(joint_rows()[TO_ELBOW])["root_diameter"]
    for _ in range(40):
        angle, towards = math.radians(rng.uniform(0.2, 1)), rng.uniform(0, 2 * math.pi)
        twice, thrice = rng.uniform(-0.03, 0.03, 2) * unit
        lobes = rng.uniform(0, 2 * math.pi)
        plain = gap_between(root / 2, 0.125 * unit, towards, angle)
        gaps = plain + twice * np.cos(2 * TURNS) + thrice * np.cos(3 * (TURNS - lobes))
        told = bench.joint(gap=round_pipe(gaps, True))
        assert told["gap_tilt"] == pytest.approx(root * math.tan(angle), rel=1e-9)
        assert told["gap_uneven"] == pytest.approx(twice, abs=1e-9 * unit)
        told = bench.joint(gap=round_pipe(plain + twice * np.cos(2 * TURNS), False))
        assert told["gap_tilt"] == pytest.approx(root * math.tan(angle), rel=1e-9)
        assert told["gap_uneven"] == pytest.approx(twice, abs=1e-9 * unit)


def steps_between(bore: float, second: float, oval: float, turn: float, shift: Points) -> Points:
    """How far a second bore (oval, moved aside) stands inside a first one: a walk outwards in each clock direction."""
    way = np.column_stack([np.sin(TURNS), np.cos(TURNS)])
    low, high = np.zeros(8), np.full(8, 2 * (bore + second))
    for _ in range(80):
        middle = (low + high) / 2
        seen = middle[:, None] * way - shift
        at = np.arctan2(seen[:, 0], seen[:, 1])
        inside = np.hypot(seen[:, 0], seen[:, 1]) < second + oval * np.cos(2 * (at - turn))
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    return bore - low


def test_bores_in_space(bench: Bench) -> None:
    """The shift that the sheet gives is the best one: after it the step is what the sheet says is left, and any other
    shift leaves more. Bores are circles, so it holds to the second order: shift squared over bore."""
    rng = np.random.default_rng(9)
    unit = PER_INCH[bench.edition]
    for _ in range(40):
        bore = rng.uniform(1, 6) * unit
        size, towards = rng.uniform(0.005, 0.1) * unit, rng.uniform(0, 2 * math.pi)
        shift = size * np.array([math.sin(towards), math.cos(towards)])
        apart, oval = rng.uniform(-0.03, 0.03, 2) * unit
        steps = steps_between(bore, bore + apart, oval, 0.0, shift)
        told = bench.joint(gap=EVEN[bench.edition], step=round_pipe(steps, False))
        second_order = 2 * (size + abs(oval)) ** 2 / bore
        assert told["hi_lo_mean"] == pytest.approx(-apart, abs=second_order)
        assert told["hi_lo_oval"] == pytest.approx(-oval, abs=second_order)
        assert told["hi_lo_shift"] == pytest.approx(size, abs=second_order)
        back = math.degrees(towards + math.pi) / 30
        assert abs((told["hi_lo_shift_at"] - back + 6) % 12 - 6) <= 0.25 + math.degrees(second_order / size) / 30
        assert told["hi_lo_max"] == np.max(np.abs(steps[::2]))
        move = np.array([told["hi_lo_side"], told["hi_lo_up"]])
        after = steps_between(bore, bore + apart, oval, 0.0, shift + move)
        assert np.max(np.abs(after[::2])) == pytest.approx(told["hi_lo_after_shift"], abs=second_order)
        for other in rng.normal(size=(20, 2)) * size / 3:
            elsewhere = steps_between(bore, bore + apart, oval, 0.0, shift + move + other)
            assert np.max(np.abs(elsewhere[::2])) > told["hi_lo_after_shift"] - second_order


def test_an_oval_between_the_quarters(bench: Bench) -> None:
    """Eight readings see an oval that the quarters miss: no shift is told that would leave it."""
    unit = PER_INCH[bench.edition]
    steps = steps_between(3 * unit, 3 * unit, 0.09 * unit, math.radians(45), np.array([0.02 * unit, 0.0]))
    quarters = bench.joint(gap=EVEN[bench.edition], step=round_pipe(steps, False))
    assert quarters["hi_lo_after_shift"] < 0.003 * unit
    told = bench.joint(gap=EVEN[bench.edition], step=round_pipe(steps, True))
    assert told["verdict"] == gauges.OUTSIDE
    assert told["hi_lo_left"] == pytest.approx(0.09 * unit, abs=0.003 * unit)
    assert told["action"] == "Oval: turn the second part or round it out before trimming. "


def lengths_across(radius: float, towards: float, angle: float, waves: Mapping[int, tuple[float, float]]) -> Points:
    """Differences that a square shows across the four diameters of an end cut by a plane, with waves on it."""

    def height(turn: Points) -> Points:
        plane = radius * math.tan(angle) * np.cos(turn - towards)
        found: Points = plane + sum(size * np.cos(times * (turn - at)) for times, (size, at) in waves.items())
        return found

    found: Points = height(DIAMETER_TURNS) - height(DIAMETER_TURNS + math.pi)
    return found


def test_an_end_in_space(bench: Bench) -> None:
    """Out of square is what the plane of the cut is out over the diameter; three waves show as waviness, two hide."""
    rng = np.random.default_rng(10)
    unit = PER_INCH[bench.edition]
    radius = bench.walk.legs[0].od / 2
    for _ in range(40):
        towards, angle = rng.uniform(0, 2 * math.pi), math.radians(rng.uniform(0.1, 2))
        saddle, three = rng.uniform(0.01, 0.05, 2) * unit
        at = rng.uniform(0, 2 * math.pi)
        cut = lengths_across(radius, towards, angle, {2: (saddle, at)})
        for count in (2, 4):
            told = bench.end(four_across(cut) if count == 4 else two(float(cut[0]), float(cut[2])))
            assert told["out_of_square"] == pytest.approx(2 * radius * math.tan(angle), rel=1e-9)
            assert abs((told["long_at"] - math.degrees(towards) / 30 + 6) % 12 - 6) <= 0.25 + 1e-6
            assert told["waviness"] == (pytest.approx(0, abs=1e-9 * unit) if count == 4 else None)
        cut = lengths_across(radius, towards, angle, {3: (three, at)})
        told = bench.end(four_across(cut))
        assert told["out_of_square"] == pytest.approx(2 * radius * math.tan(angle), rel=1e-9)
        wave = np.max(np.abs(2 * three * np.cos(3 * (DIAMETER_TURNS - at))))
        assert told["waviness"] == pytest.approx(wave, rel=1e-9)


@pytest.mark.parametrize("eight", [False, True])
def test_what_is_done_about_a_gap_brings_it_in(bench: Bench, eight: bool) -> None:
    """A joint with a flat part within the limits: a swing is said where it brings every reading in, and only there."""
    rng = np.random.default_rng(5)
    unit, said = PER_INCH[bench.edition], set()
    low, aimed, high = 3 / 32 * unit, 1 / 8 * unit, 5 / 32 * unit
    for _ in range(120):
        mean, size, way = aimed + rng.uniform(-1, 1) / 99 * unit, rng.uniform(0, 0.028) * unit, rng.uniform(0, 7)
        twice, thrice = rng.choice([0.0, 0.01, 0.02, 0.045], 2) * unit * [1, float(eight)]
        flat = mean + size * np.cos(TURNS - way)
        lobes = twice * np.cos(2 * (TURNS - rng.uniform(0, 7))) + thrice * np.cos(3 * (TURNS - rng.uniform(0, 7)))
        gaps = round_pipe(flat + lobes, eight)
        told = bench.joint(gap=gaps, step=LEVEL)
        face = told["gap_mean"] - told["gap_tilt"] / 2, told["gap_mean"] + told["gap_tilt"] / 2
        if told["verdict"] != gauges.OUTSIDE or face[0] < low or face[1] > high or told["gap_tilt"] < 1 / 32 * unit:
            continue
        turn = np.radians([CLOCK[name] for name in gaps])
        values = np.array(list(gaps.values()), dtype=float)
        design = np.column_stack([np.ones(len(turn)), np.cos(turn), np.sin(turn)])
        found, *_ = np.linalg.lstsq(design, values, rcond=None)
        after = values - design @ found + aimed
        cured = bool(np.min(after) >= low and np.max(after) <= high)
        assert ("o'clock wide by" in told["action"]) == cured, (gaps, told["action"])
        assert ("which no swing takes out" in told["action"] or "one place only" in told["action"]) != cured
        outside = int(np.sum((values < low) | (values > high)))
        assert outside == 1 or "one place only" not in told["action"]
        said.add(cured)
    assert said == {True, False}


@pytest.mark.parametrize("sort", [TO_ELBOW, TO_PIPE, PIPE_TO_PIPE])
def test_ends_that_explain_the_gap_and_ends_that_do_not(bench: Bench, sort: int) -> None:
    """Ends cut by planes meet: the sheet tells a gap that the cuts make from one that a cocked piece makes."""
    rng = np.random.default_rng(11)
    unit = PER_INCH[bench.edition]
    row = joint_rows()[sort]
    joint = bench.joints[row]
    outside, root = joint.leg.od, bench.told(row)["root_diameter"]
    said: set[str] = set()
    for case in range(24):
        crooked, cocked = case % 2 == 0, case % 4 > 0
        cuts = []
        for end in (joint.first_end, joint.second_end):
            if end is None:
                continue
            towards, angle = rng.uniform(0, 2 * math.pi), math.radians(rng.uniform(0.7, 1.1) if crooked else 0)
            across = lengths_across(outside / 2, towards, angle, {})
            bench.end(two(float(across[0]), float(across[2])), end)
            cuts.append((towards, angle))
        up = [math.tan(angle) * math.cos(towards) for towards, angle in cuts]
        side = [math.tan(angle) * math.sin(towards) for towards, angle in cuts]
        swung, way = math.radians(rng.uniform(0.8, 1.2) if cocked else 0), rng.uniform(0, 2 * math.pi)
        made_up = math.tan(swung) * math.cos(way) - sum(up)
        made_side = math.tan(swung) * math.sin(way) - sum(side)
        gaps = 0.125 * unit + root / 2 * (made_up * np.cos(TURNS) + made_side * np.sin(TURNS))
        told = bench.joint(sort, gap=round_pipe(gaps, False))
        if told["verdict"] != gauges.OUTSIDE or told["gap_tilt"] < 1 / 32 * unit:
            continue
        explained = math.tan(swung) <= math.hypot(made_up, made_side) / 2
        word = "the ends are out of square by as much (Ends): dress the tight side at"
        if not explained and len(cuts) == 2:
            word = "the ends (Ends) do not explain it: swing the piece (far end moves"
        elif not explained:  # an elbow's end cannot be read: it may be that one
            word = "look at the other part's; if that is true too, swing the piece (far end moves"
        assert word in told["action"], told["action"]
        said.add(word)
    assert len(said) == 2
    # with one end half read it is left open which it is
    bench.end({"12_6": 0.1 * unit}, joint.first_end if joint.first_end is not None else joint.second_end or 0)
    told = bench.joint(sort, gap=four(0.3 * unit, 0.2 * unit, 0.1 * unit, 0.2 * unit))
    assert "if level or square shows" in told["action"]


# -- least squares over thousands of readings --------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_thousands_of_readings(edition: str) -> None:
    """Every number, verdict and sentence of over two thousand joints and two thousand ends, worked out by NumPy."""
    reader, joints = Reader(edition, 1), 0
    walk = walked(yard(), edition)
    for number in range(28):
        state = State(f"readings {number}", yard(), edition, reader.readings(walk))
        assert mismatches(opened(state), expected(state)) == []
        joints += len(gauges.joints_of(walk))
    assert joints > 2000
    Bench(edition)


# -- limits ------------------------------------------------------------------------------------------------------------

BESIDE = [(-1.0, True), (-2e-9, True), (0.0, True), (0.9e-9, True), (1.1e-9, False), (2e-9, False), (1.0, False)]
"""What is added to a limit, outwards, and whether it is then within; ±1 stands for a clear step."""


@pytest.mark.parametrize("name", [*CLOCK, "worst"])
@pytest.mark.parametrize("rule", ["root_gap_min", "root_gap_max", "hi_lo_max", "hi_lo_max below"])
def test_limits_of_a_joint(bench: Bench, name: str, rule: str) -> None:
    limits = gauges.Limits(bench.walk, {})
    limit = limits[rule.split()[0]]
    assert limit is not None
    sign = -1 if rule in ("root_gap_min", "hi_lo_max below") else 1
    for beside, within in BESIDE:
        gap, step = dict(EVEN[bench.edition]), dict(LEVEL)
        value = limit + sign * beside if rule.startswith("root") else sign * (limit + beside)
        if abs(beside) == 1:
            value = limit + sign * beside * 0.01 if rule.startswith("root") else sign * (limit + beside * 0.01)
        (gap if rule.startswith("root") else step)[name] = value
        told = bench.joint(gap=gap, step=step)
        assert told["verdict"] == (gauges.WITHIN if within else gauges.OUTSIDE), (name, beside)


def test_limits_of_an_end(bench: Bench) -> None:
    limits = gauges.Limits(bench.walk, {})
    limit, waves = bench.end()["limit"], limits["waviness_max"]
    assert waves is not None
    for beside, within in BESIDE:
        step = beside * 0.01 if abs(beside) == 1 else beside
        verdict = gauges.WITHIN if within else gauges.OUTSIDE
        for sign in (1, -1):
            assert bench.end(two(sign * (limit + step), 0.0))["verdict"] == verdict
            assert bench.end(two(0.0, sign * (limit + step)))["verdict"] == verdict
        assert bench.end(two(0.0, 0.0), sweep=waves + step)["verdict"] == verdict
        # a wave across one diameter: least squares over four leaves half of it
        bench.rules(root_gap_max=12.0 if bench.edition == "mm" else 0.5)
        wave = 2 * (waves + step)
        told = bench.end(four_across(np.array([wave, 0.0, 0.0, 0.0])))
        assert told["waviness"] == pytest.approx(waves + step, abs=1e-12)
        bench.clear()


def test_the_limit_of_an_end(bench: Bench) -> None:
    """The lesser of PFI ES-3's by diameter and half the room of the root gap; the procedure's own where it is typed."""
    rows = {row: leg.od for row, (leg, _) in enumerate(gauges.pieces_of(bench.walk))}
    wide = {"inch": 0.5, "mm": 12.0}[bench.edition]
    bench.rules(root_gap_min=0.0, root_gap_max=wide)
    for row, outside in rows.items():
        slope, least = (3 / 64 / 12, 1 / 32) if bench.edition == INCH else (0.0039, 0.8)
        assert bench.book.value("ends.limit", 2 * row) == pytest.approx(max(slope * outside, least), rel=1e-12)
    bench.rules(square_max=0.01)
    assert set(bench.book.column("ends.limit")[: 2 * len(rows)]) == {0.01}
    bench.rules(root_gap_min=wide - 0.01)
    assert bench.book.value("ends.limit") == pytest.approx(0.005, abs=1e-12)
    bench.rules(root_gap_min=wide)
    assert bench.book.value("ends.limit") is None
    assert bench.end(two(0.0, 0.0))["verdict"] == gauges.NO_RULE


# -- sentences ---------------------------------------------------------------------------------------------------------


def amounts(edition: str) -> float:
    """A sixteenth of an inch, or two millimetres."""
    return 1 / 16 if edition == INCH else 2.0


SAID = {
    INCH: {1: "1/16", 0.5: "1/32", 1.5: "3/32", 2: "1/8", 3: "3/16", 4: "1/4", 0.25: "1/64", 17: "1-1/16", 16: "1"},
    "mm": {1: "2 mm", 0.5: "1 mm", 1.5: "3 mm", 2: "4 mm", 0.25: "0.5 mm", 0.05: "0.1 mm", 5.05: "10.1 mm"},
}


def test_amounts_in_words(bench: Bench) -> None:
    """Fractions in the lowest terms, or tenths of a mm."""
    small = amounts(bench.edition)
    for times, words in SAID[bench.edition].items():
        bench.rules(root_gap_min=0.0, root_gap=0.0, root_gap_max=0.0)
        told = bench.joint(gap=dict.fromkeys(QUARTERS, times * small))
        assert told["action"] == f"Close all round by {words}. "
        bench.clear()


def special_states(edition: str) -> Iterator[State]:
    """States that chance would hardly bring."""
    walk, even = walked(yard(), edition), EVEN[edition]
    joints, ends = range(len(gauges.joints_of(walk))), range(2 * len(gauges.pieces_of(walk)))
    yield State("blank", yard(), edition)
    fine: dict[Place, Value] = {("ends.square_" + name, row): 0.0 for row in ends for name in DIAMETERS}
    for row in joints:
        fine |= {(f"joints.gap_{name}", row): even[name] for name in QUARTERS}
        fine |= {(f"joints.hi_lo_{name}", row): 0.0 for name in QUARTERS}
    yield State("fine", yard(), edition, fine)
    # what cut lengths rest on too is blank in `test_every_sentence`
    for rule in ("root_gap_min", "root_gap_max", "hi_lo_max", "waviness_max"):
        # every third joint and end has readings of its own, some of them outside
        some = {place: value for place, value in next(one_by_one(walk)).items() if place[1] % 3 == 0}
        yield State(f"no {rule}", yard(), edition, {**fine, **some, (f"rules.{rule}", 0): None})
    # a land that leaves the smaller pipes no bore
    yield State("no root", yard(), edition, {**fine, ("rules.root_face", 0): -4.0 * PER_INCH[edition]})
    # limits on the spot: an end a hair off under a limit that is smaller still, a joint a hair over its largest gap
    aimed = float(gauges.Limits(walk, {})["root_gap"] or 0)
    tiny: dict[Place, Value] = {("rules.square_max", 0): 1e-4, ("rules.root_gap_max", 0): aimed}
    tiny |= {("ends.square_12_6", row): 1e-3 for row in ends}
    tiny |= {(f"joints.gap_{name}", row): aimed + 1e-3 for row in joints for name in QUARTERS}
    yield State("tiny", yard(), edition, {**fine, **tiny})
    no_room: dict[Place, Value] = {(f"rules.root_gap_{end}", 0): even["12"] for end in ("min", "max")}
    yield State("no room", yard(), edition, {**fine, **no_room})
    shut: dict[Place, Value] = {(f"joints.gap_{name}", row): 0.0 for row in joints for name in QUARTERS}
    yield State("shut", yard(), edition, {**fine, **shut})
    # one box of eight left out, and one box alone on joints that have no gap
    hours = [*gauges.CLOCK]
    seven = dict(fine)
    for row in joints:
        for at, hour in enumerate(hours):
            there = at != row % 8
            seven["joints.gap_" + hour, row] = aimed + at * 1e-3 * PER_INCH[edition] if there else None
            seven["joints.hi_lo_" + hour, row] = at * 1e-3 * PER_INCH[edition] if there else None
    yield State("seven of eight", yard(), edition, seven)
    boxes = [f"joints.{what}_{hour}" for what in ("gap", "hi_lo") for hour in (*hours, "worst")]
    gapless = [row for row, joint in enumerate(gauges.joints_of(walk)) if joint.kind not in ("butt", "field")]
    for first in range(0, len(boxes), len(gapless)):
        alone: dict[Place, Value] = dict.fromkeys(zip(boxes[first:], gapless, strict=False), 0.0)
        yield State(f"a box alone, from {first}", yard(), edition, alone)
    # a limit close to the gap that is aimed at: a swing takes the lean out, and what goes twice round stays outside
    close, wide, lean = (size * PER_INCH[edition] for size in (0.01, 0.02, 0.012))
    for name, side in (("close under", -1), ("close over", 1)):
        near: dict[Place, Value] = {("rules.root_gap_" + ("min" if side < 0 else "max"), 0): aimed + side * close}
        for row in joints:
            tall = aimed + wide * (side if row % 2 else -side)
            read = (tall + lean / 2, 2 * aimed - tall, tall - lean / 2, 2 * aimed - tall)
            near |= {(f"joints.gap_{hour}", row): gap for hour, gap in zip(QUARTERS, read, strict=True)}
        yield State(name, yard(), edition, {**fine, **near})
    for number, cells in enumerate(one_by_one(walk), start=1):
        yield State(f"one by one, {number}", yard(), edition, cells)


def test_every_sentence(bench: Bench) -> None:
    """Each verdict and each sentence that the templates can say is said, and it is the one that the readings mean."""
    reader = Reader(bench.edition, 3)
    states = [State("readings", yard(), bench.edition, reader.readings(bench.walk)) for _ in range(8)]
    said, verdicts = [], set()
    for state in [*states, *special_states(bench.edition)]:
        book = opened(state)
        wanted = gauges.expected_readings(bench.walk, state.typed)
        assert mismatches(book, wanted) == [], state.name
        for table in ("joints", "ends"):
            said += [text for text in book.column(f"{table}.action") if text]
            verdicts |= {text for text in book.column(f"{table}.verdict") if text}
    assert verdicts == {gauges.WITHIN, gauges.OUTSIDE, gauges.OPEN, gauges.NO_RULE, gauges.FILLET}
    # rules that cut lengths rest on
    bench.clear()
    bench.rules(slip_on_setback=None)
    assert "Slip-on: pipe end … behind the face" in bench.told(joint_rows()[SLIP_ON])["action"]
    bench.clear()
    bench.rules(socket_pullback=None)
    assert "then pull back … before welding." in bench.told(joint_rows()[SOCKET])["action"]
    bench.clear()
    bench.rules(root_gap=None)
    said.append(bench.joint(TO_PIPE, gap=dict.fromkeys(QUARTERS, 11.0))["action"])
    assert said[-1].endswith("; the root gap on Rules is blank. ")
    everything = "\n".join(said)
    missing = [piece for piece in spoken_pieces(bench.book) if piece not in everything]
    assert [piece for piece in missing if not piece.startswith("Saddle: ")] == []  # a stub's end: `test_outlets.py`


ACTIONS = ["ends.action"]
ACTIONS += [f"joints.{name}" for name in ("action", "gap_action", "hi_lo_action", "fillet_action", "why")]
ACTIONS += [f"joints.{name}" for name in ("gaps_missing", "hi_lo_missing", "throw_said", "gap_limits")]


def spoken_pieces(book: Live) -> list[str]:
    """Every stretch of words that the formulas of the sentences hold."""
    nodes = {one.field.name: one.node for one in book.proof.proven}
    every = [node for name in ACTIONS for node in expression.walk(nodes[name])]
    compared = [each for node in every if isinstance(node, expression.Binary) and node.operator == "="
                for each in (node.left, node.right)]  # fmt: skip
    texts = [node.value for node in every if isinstance(node, expression.Text) and node not in compared]
    return [text for text in texts if re.search("[a-z]{3}", text)]


# -- blank, partial, absurd --------------------------------------------------------------------------------------------


def test_nothing_is_told_of_nothing(bench: Bench) -> None:
    told = bench.joint()
    numbers = [name for name in told if name.startswith(("gap_", "hi_lo_", "close_", "throw", "cocked"))]
    flags = ("gap_eight", "hi_lo_eight", "gap_bad", "hi_lo_bad", "gap_least", "gap_most", "gap_limits")
    assert {name for name in numbers if told[name] not in (None, "")} - {*flags, "gap_action", "hi_lo_missing"} == set()
    assert told["verdict"] == gauges.OPEN
    assert told["action"] == "Read gap at 12, 3, 6, 9; hi-lo at 12, 3, 6, 9."


def test_the_gauge_at_zero_points_nowhere(bench: Bench) -> None:
    """Readings of zero, and readings all alike, have no clock."""
    for value in (0.0, 0.125):
        for names in (QUARTERS, tuple(CLOCK)):
            same = dict.fromkeys(names, value)
            told = bench.joint(gap=same, step=same)
            assert (told["gap_tilt"], told["gap_widest_at"], told["gap_uneven"]) == (0, None, 0)
            assert (told["hi_lo_shift"], told["hi_lo_shift_at"]) == (0, None)
            assert told["hi_lo_after_shift"] == value
    told = bench.end(four_across(np.zeros(4)))
    assert (told["out_of_square"], told["long_at"], told["waviness"], told["verdict"]) == (0, None, 0, gauges.WITHIN)
    assert told["action"] == "Takes 0 % of the gap band."


@pytest.mark.parametrize("missing", range(1, 16))
def test_partial_readings(bench: Bench, missing: int) -> None:
    """… until all are in, naming those that are not; ✗ at once when one that is in is outside."""
    there = [name for at, name in enumerate(QUARTERS) if not missing >> at & 1]
    lacking = ", ".join(name for name in QUARTERS if name not in there)
    even = EVEN[bench.edition]
    gap = {name: even[name] for name in there}
    told = bench.joint(gap=gap, step=LEVEL)
    assert told["verdict"] == gauges.OPEN and told["action"] == f"Read gap at {lacking}."
    assert told["gap_mean"] is None and told["gap_widest_at"] is None
    told = bench.joint(gap=even, step=dict.fromkeys(there, 0.0))
    assert told["verdict"] == gauges.OPEN and told["action"] == f"Read hi-lo at {lacking}."
    if there:
        far = 5.0 * PER_INCH[bench.edition]
        told = bench.joint(gap={**gap, there[0]: far})
        assert told["verdict"] == gauges.OUTSIDE and ": read it at 12, 3, 6 and 9. " in told["action"]
        told = bench.joint(step={there[0]: -far})
        assert told["verdict"] == gauges.OUTSIDE and told["hi_lo_max"] == far
        assert told["action"].startswith(f"Hi-lo {gauges.fine(far, bench.edition)} is over ")
    some_eight = {**even, "1_30": even["12"], "7_30": even["12"]}
    assert bench.joint(gap=some_eight, step=LEVEL)["verdict"] == gauges.WITHIN


def test_three_diameters(bench: Bench) -> None:
    """Two are enough, three are one too few of four."""
    for name, other in (("1_7", "4:30–10:30"), ("4_10", "1:30–7:30")):
        told = bench.end({**two(0.0, 0.0), name: 0.0})
        assert told["verdict"] == gauges.OPEN and told["waviness"] is None
        assert told["action"] == f"Read across {other} too, or clear the other."
        told = bench.end({**two(0.0, 0.0), name: 1.0})
        assert told["verdict"] == gauges.OUTSIDE
    assert bench.end({"12_6": 0.0})["action"] == "Read across 3–9."
    assert bench.end({"3_9": 0.0})["action"] == "Read across 12–6."
    assert bench.end({"1_7": 0.0, "4_10": 0.0})["action"] == "Read across 12–6 and 3–9."


TEXTS = ("text", "1/8", "=1+1", "#N/A")
HUGE = (-60.0, -1e9, 1e9, 1e15, 1e100, 1e300, -1e300)
TINY = (1e-300, 5e-324, -1e-12)


@pytest.mark.parametrize("value", [*TEXTS, *HUGE, *TINY, 1 / 3, math.pi / 25, True], ids=repr)
def test_absurd_readings(bench: Bench, value: Value) -> None:
    """Whatever is typed: no error value anywhere, text is no reading, a number outside is outside."""
    for kind in ("gap", "hi_lo"):
        for name in (*CLOCK, "worst"):
            told = bench.joint(gap=EVEN[bench.edition], step=LEVEL, more={f"{kind}_{name}": value})
            assert not [cell for cell in told.values() if isinstance(cell, Wrong)], name
            if value in TEXTS:
                assert told["verdict"] == (gauges.OPEN if name in QUARTERS else gauges.WITHIN)
                assert "not a number" in told["message"]
            elif value in HUGE:
                assert told["verdict"] == gauges.OUTSIDE and told["action"]
                assert re.search(": (over|under) ", told["message"])
            elif value in TINY and kind == "hi_lo":
                assert told["verdict"] == gauges.WITHIN and told["hi_lo_shift_at"] is None
    for place in (*DIAMETERS, "sweep"):
        square = {**two(0.0, 0.0), place: value}
        told = bench.end(square, sweep=square.pop("sweep", None))
        assert not [cell for cell in told.values() if isinstance(cell, Wrong)], place
        if value in HUGE and not (place == "sweep" and isinstance(value, float) and value < 0):
            assert told["verdict"] == gauges.OUTSIDE and told["action"]
    # everything at once
    bench.book.put_all(all_readings(bench.walk, value))
    assert bench.book.errors() == []


def test_every_clock_is_one(bench: Bench) -> None:
    """Clocks are 1 to 12.5 in steps of a half, never 0, wherever a reading points; the other side is six hours on."""
    unit = PER_INCH[bench.edition]
    seen: set[float] = set()
    for degrees in range(0, 360, 3):
        turn = math.radians(degrees)
        readings = round_pipe(0.125 * unit + 0.08 * unit * np.cos(TURNS - turn), degrees % 2 == 0)
        told = bench.joint(gap=readings, step=readings)
        hours = told["gap_widest_at"]
        assert hours in [half / 2 for half in range(2, 26)]
        assert hours == told["hi_lo_shift_at"]
        assert abs((hours - degrees / 30 + 6) % 12 - 6) <= 0.25 + 1e-9
        tight = told["action"].split(", ")[1].split(" ")[1].rstrip(";")
        assert tight == gauges.clock_text(gauges.across(hours))
        assert bench.end(two(0.1 * unit * math.cos(turn), 0.1 * unit * math.sin(turn)))["long_at"] == hours
        seen.add(hours)
    assert len(seen) == 24


def test_blank_rules_say_so(bench: Bench) -> None:
    even = EVEN[bench.edition]
    for rule in ("root_gap_min", "root_gap_max", "hi_lo_max", "root_gap"):
        bench.rules(**{rule: None})
        told = bench.joint(gap=even, step=LEVEL)
        assert told["verdict"] == gauges.NO_RULE and told["action"] == "Read the rules first: a limit is blank."
        assert bench.book.errors() == []
        bench.clear()
    far = dict.fromkeys(QUARTERS, 10.0)
    bench.rules(root_gap=None)
    told = bench.joint(gap=far, step=LEVEL)
    assert told["verdict"] == gauges.OUTSIDE and told["action"].endswith("; the root gap on Rules is blank. ")
    bench.clear()
    # no room between the limits: still an instruction
    bench.rules(root_gap_min=even["12"], root_gap_max=even["12"])
    told = bench.joint(gap=far, step=LEVEL)
    assert told["verdict"] == gauges.OUTSIDE and told["action"].startswith("Close all round by ")


def test_absurd_rules(bench: Bench) -> None:
    """A rule that is text, negative or huge never makes an error value on Ends, Fit-up or Clock."""
    mine = ("joints.", "ends.", "fitup.", "dial.", "rings.", "dots.", "parts.", "material.", "spool_list.")
    bench.book.put_all(all_readings(bench.walk, 0.1))
    for rule in (*gauges.LIMITS, "bevel_angle", "precision"):
        for value in ("text", -1.0, 0.0, 1e100):
            bench.rules(**{rule: value})
            wrong = [cell for cell in bench.book.errors() if cell.startswith(mine)]
            assert wrong == [], (rule, value)
        bench.book.reset()
        bench.book.put_all(all_readings(bench.walk, 0.1))
