"""Level: two parts in space, leaning to one another by known amounts, are read with a level as a fitter would, and the
sheet must give back what was put in."""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np
import pytest
from gauges import OPEN, OUTSIDE, WITHIN, across, clock_text, fine, hours_of, steps
from handover import THREADED, walked
from live import NASTY, Value
from numpy.typing import NDArray
from routes import job_text
from squareness import FIRST, UNITS, shown, squareness_limit
from test_flanges import random_state
from yard import clear, facts, fill, opened, spools, typed_columns, yard

Vector = NDArray[np.float64]


EDITIONS = ("inch", "mm")
UP, NORTH = np.array([0.0, 0, 1]), np.array([0.0, 1, 0])


def frame(spool: dict[str, Any]) -> tuple[Vector, Vector, Vector]:
    """Along the walk, towards 12 and towards 3, for the one leg of a spool."""
    (axis, value), *_ = ((key, number) for key, number in spool["leg"][0].items() if key in ("east", "north", "up"))
    along = math.copysign(1, value) * np.eye(3)[["east", "north", "up"].index(axis)]
    twelve = NORTH if axis == "up" else UP
    return along, twelve, np.cross(along, twelve)


def read_pipe(axis: Vector, plane: Vector, along: Vector, upright: bool) -> float:
    """A level held along a pipe whose axis points so.

    On an upright pipe it is held upright and shows how far its far end leans towards `plane`. On a level run the spool
    lies so that `plane` is up (for the second plane it is rolled a quarter turn), and it shows how far the pipe climbs.
    """
    if upright:
        return math.degrees(math.atan2(float(axis @ plane), abs(float(axis @ along))))
    return math.degrees(math.asin(float(axis @ plane)))


def read_face(axis: Vector, plane: Vector, along: Vector, upright: bool) -> float:
    """A level held against a face square to an axis, along its line towards `plane`; + where that side lies back."""
    line = plane - (plane @ axis) / (along @ axis) * along  # in the face, in the plane of the reading
    back = -float(line @ along)
    if upright:
        return math.degrees(math.atan2(back, float(line @ plane)))  # the face lies: how far it is off level
    return math.degrees(math.atan2(back, float(line @ plane)))  # the face stands: how far it is off plumb


class Leaning:
    """Two parts of a joint: their axes, followed the way the spool is walked.

    Args:
        row: facts of a flange of the yard: its pipe and its leg.
        first, second: how far each turns to 12 and to 3, in degrees.
    """

    def __init__(self, row: dict[str, Any], first: tuple[float, float], second: tuple[float, float]) -> None:
        self.row = row
        self.along, self.twelve, self.three = frame(row["spool"])
        self.axes = []
        for up, side in (first, second):
            axis = self.along + math.tan(math.radians(up)) * self.twelve + math.tan(math.radians(side)) * self.three
            self.axes.append(axis / math.hypot(*axis))

    def read(self, way: str, rng: random.Random, own_error: float = 0.0) -> dict[str, Value]:
        """Both parts in both planes, each along the pipe or against a face; a level that is off shows it on both."""
        found: dict[str, Value] = {"clean": "yes", "read_in": way}
        for word, axis in zip(("first", "second"), self.axes, strict=True):
            for name, plane in (("12", self.twelve), ("3", self.three)):
                held = rng.choice([read_pipe, read_face])
                found[f"{word}_{name}"] = shown(held(axis, plane, self.along, self.row["upright"]) + own_error, way)
        return found

    def gap(self, degrees: float, diameter: float) -> float:
        """How far the second part's end stands from the first's, at a clock, on a circle."""
        angle = math.radians(degrees)
        out = diameter / 2 * (math.cos(angle) * self.twelve + math.sin(angle) * self.three)
        first, second = (-float(axis @ out) / float(axis @ self.along) for axis in self.axes)
        return second - first


def root_of(row: dict[str, Any], edition: str) -> float:
    """Mean root diameter of a butt weld."""
    land = 1 / 16 if edition == "inch" else 1.6
    return float(row["pipe_od"]) - 2 * float(row["wall"]) + land


def limit_of(row: dict[str, Any], edition: str) -> float:
    """PFI ES-3 across the pipe."""
    return squareness_limit(float(row["pipe_od"]), edition)


def second_length(row: dict[str, Any], edition: str) -> float:
    """How far the second part reaches from the joint: the flange at the end to its face, else the pipe."""
    mark = row["spool"]["mark"]
    (leg,) = next(
        spool for spool in walked(job_text(spools(edition), edition), edition).spools if spool.mark == mark
    ).legs
    if row["last"]:
        return leg.at_end.takeout or 0.0
    (piece,) = leg.pieces
    return piece.cut_length or 0.0


@pytest.mark.parametrize("edition", EDITIONS)
def test_leaning_parts_give_back_their_lean(edition: str) -> None:
    rng = random.Random(21)
    live = yard(edition)
    for _ in range(4):
        parts: list[Leaning] = []
        readings: list[dict[str, Value]] = []
        for row in facts(edition):
            first = (rng.uniform(-0.5, 0.5), rng.uniform(-0.5, 0.5))
            size, angle = rng.choice([rng.uniform(0.02, 0.3), rng.uniform(0.3, 2)]), rng.uniform(0, 2 * math.pi)
            second = (first[0] + size * math.cos(angle), first[1] + size * math.sin(angle))
            parts.append(Leaning(row, first, second))
            readings.append(parts[-1].read(rng.choice(UNITS), rng, rng.uniform(-0.2, 0.2)))
        fill(live, "levels", readings)
        found = live.rows(
            "levels", ["error", "error_at", "gap_change", "far_end", "verdict", "action", "far_length", "joint"]
        )
        for row, made, line in zip(facts(edition), parts, found, strict=False):
            one, other = made.axes
            lean = math.degrees(2 * math.asin(math.dist(one, other) / 2))
            assert line["error"] == pytest.approx(lean, rel=2e-3, abs=1e-3)
            exact = math.atan2(float((other - one) @ made.three), float((other - one) @ made.twelve))
            if abs(math.degrees(exact) / 15 % 1 - 0.5) > 0.1:
                assert line["error_at"] == hours_of(math.cos(exact), math.sin(exact))
            limit = limit_of(row, edition)
            tilt = math.tan(math.radians(line["error"])) * row["pipe_od"]
            assert line["verdict"] == (WITHIN if tilt <= limit else OUTSIDE)
            # the far end of the second part goes off by so much
            off = second_length(row, edition) * math.sin(math.radians(lean))
            assert line["far_end"] == pytest.approx(off, rel=3e-3, abs=1e-2)
            if row["kind"] != "weld_neck_flange":
                assert line["gap_change"] is None
                continue
            root = root_of(row, edition)
            tight, wide = (made.gap(math.degrees(exact) + turn, root) for turn in (0, 180))
            assert line["gap_change"] == pytest.approx(wide - tight, rel=3e-3, abs=1e-3)
            # drawn in where the sheet says, by what the gap is wider there, the parts are in line
            if line["verdict"] == OUTSIDE:
                at = clock_text(across(line["error_at"]))
                assert line["action"].endswith(f"Next tack at {at}: a tack draws its side in.")
                assert wide > tight


@pytest.mark.parametrize("edition", EDITIONS)
def test_pulling_the_next_tack_puts_it_right(edition: str) -> None:
    live = yard(edition)
    rng = random.Random(2)
    leans = [
        math.degrees(math.atan(1.5 * limit_of(row, edition) / row["pipe_od"])) * (-1) ** at
        for at, row in enumerate(facts(edition))
    ]
    parts = [Leaning(row, (0.0, 0.0), (lean, 0.0)) for row, lean in zip(facts(edition), leans, strict=True)]
    fill(live, "levels", [made.read("degrees", rng) for made in parts])
    found = live.rows("levels", ["action", "gap_change", "error_at", "verdict"])
    again: list[dict[str, Value]] = []
    for row, made, lean, line in zip(facts(edition), parts, leans, found, strict=False):
        assert line["verdict"] == OUTSIDE
        side = made.twelve * (1 if "Next tack at 12" in line["action"] else -1)
        assert "Next tack at 12" in line["action"] or "Next tack at 6" in line["action"]
        # the second part turns about the joint until that side has come in
        pull = math.atan((line["gap_change"] or 0) / root_of(row, edition))
        if row["kind"] != "weld_neck_flange":
            pull = math.radians(abs(lean))
        axis = made.axes[1]
        turned = math.cos(pull) * axis + math.sin(pull) * (side - (side @ axis) * axis)
        made.axes[1] = turned / math.hypot(*turned)
        again.append(made.read("degrees", rng))
    fill(live, "levels", again)
    assert live.column("levels.verdict")[: len(parts)] == [WITHIN] * len(parts)
    assert max(live.column("levels.error")[: len(parts)]) < 0.01


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("way", UNITS)
def test_at_just_under_and_just_over_the_limit(edition: str, way: str) -> None:
    live = yard(edition)
    for share, verdict in ((1.0, WITHIN), (1 - 1e-6, WITHIN), (1 + 1e-6, OUTSIDE)):
        readings: list[dict[str, Value]] = []
        for at, row in enumerate(facts(edition)):
            lean = math.degrees(math.atan(share * limit_of(row, edition) / row["pipe_od"])) * (-1) ** at
            level: dict[str, Value] = {"clean": "yes", "read_in": way, "first_12": 0.0, "second_12": 0.0}
            level |= {"first_3": 0.0, "second_3": 0.0, f"second_{('12', '3')[at % 2]}": shown(lean, way)}
            readings.append(level)
        fill(live, "levels", readings)
        assert live.column("levels.verdict")[: len(readings)] == [verdict] * len(readings), share


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_unit_above_the_table_holds_where_a_row_is_silent(edition: str) -> None:
    live = yard(edition)
    for way in UNITS:
        fill(live, "levels", [{"second_12": shown(0.5, way), "first_12": 0.0}])
        live.put("levels.usual", way)
        live.calculate()
        assert live.value("levels.error_up") == pytest.approx(0.5)
    live.put("levels.usual", None)
    live.calculate()
    assert live.value("levels.unit_used") == "degrees"


def test_no_tack_draws_a_threaded_joint_in() -> None:
    live = opened(THREADED, "inch")
    at = live.column("joints.kind").index("threaded")
    fill(
        live,
        "levels",
        [{}] * at + [dict[str, Value](clean="yes", first_12=0.0, second_12=3.0, first_3=0.0, second_3=0.0)],
    )
    assert live.value("levels.verdict", at) == OUTSIDE
    assert live.value("levels.action", at).endswith(
        "Threaded: no tack draws it in. Look for a crooked thread or a bent fitting."
    )


FALLING = """
schema = 1
[job]
name = "n"
number = "1"
units = "UNITS"
[[spool]]
mark = "D"
size = "6"
schedule = "STD"
class = 150
start = "weld_neck_flange"
[[spool.leg]]
east = "10 ft"
fall = "FALL"
end = "weld_neck_flange"
"""


@pytest.mark.parametrize(("edition", "fall", "slope"), [("inch", "1/4 in/ft", 1 / 48), ("mm", "20 mm/m", 0.02)])
def test_a_line_that_falls(edition: str, fall: str, slope: float) -> None:
    live = opened(FALLING.replace("UNITS", edition).replace("FALL", fall), edition)
    climb = -math.degrees(math.atan(slope))
    assert live.value("levels.design") == pytest.approx(climb)
    level: dict[str, Value] = {"clean": "yes", "first_3": 0.0, "second_3": 0.0}
    # both fall alike; the second plumb although the first falls; both plumb where one should fall
    for first, second, meant, error in (
        (climb, climb, None, 0.0),
        (climb, 0.0, "plumb", 0.0),
        (climb, 0.0, "in line", -climb),
        (climb + 0.1, 0.0, "plumb", -0.1),
        (0.0, climb, None, climb),
    ):
        clear(live)
        live.put_all({(f"levels.{name}", 1): value for name, value in level.items()})
        live.put_all({("levels.first_12", 1): first, ("levels.second_12", 1): second, ("levels.meant", 1): meant})
        assert live.value("levels.error_up", 1) == pytest.approx(error, abs=1e-9)
        assert live.value("levels.verdict", 1) == (WITHIN if abs(error) < 0.2 else OUTSIDE)
        off = live.value("levels.off_fall", 1)
        assert off == pytest.approx(first - climb, abs=1e-9)
        said = live.value("levels.message", 1)
        assert ("First part" in (said or "")) == (abs(off) > 0.25)
    shown_fall = steps(abs(climb), 0.01) / 100
    assert said == f"First part is {shown_fall:g}° off its design fall of {shown_fall:g}°. "
    # a fall that is typed beats the Route's
    live.put("levels.fall", 0.5 if edition == "inch" else 40.0, 1)
    live.calculate()
    typed = (0.5 / 12) if edition == "inch" else 0.04
    assert live.value("levels.design", 1) == pytest.approx(-math.degrees(math.atan(typed)))
    # the length to look at
    live.put("levels.length_typed", 100.0, 1)
    live.calculate()
    assert live.value("levels.far_end", 1) == pytest.approx(100 * abs(math.tan(math.radians(climb))))


def test_every_sentence_is_reached() -> None:
    live = yard("inch")
    rows = facts("inch")
    # the second part is a pipe there
    kinds = [(row["kind"], row["upright"]) if row["pipe_od"] > 3 and not row["last"] else None for row in rows]
    butt, upright = kinds.index(("weld_neck_flange", False)), kinds.index(("weld_neck_flange", True))
    fillet = kinds.index(("slip_on_flange", False))
    gap, far = (
        fine(length * math.tan(math.radians(1)), "inch")
        for length in (root_of(rows[butt], "inch"), live.value("levels.far_length", butt))
    )
    slight = fine(live.value("levels.far_length", butt) * math.tan(math.radians(0.01)), "inch")
    zero: dict[str, Value] = {"clean": "yes", "first_12": 0.0, "second_12": 0.0, "first_3": 0.0, "second_3": 0.0}
    blank: dict[str, Value] = {}
    swing = fine(live.value("levels.far_length", fillet) * math.tan(math.radians(1)), "inch")
    rolled = "rolled a quarter turn"
    lean = "Second part leans 1°"
    tack = [f"Next tack at {hour}: a tack draws its side in." for hour in (6, 3)]
    for at, typed, verdict, said in (
        (butt, blank, OPEN, "Level and surface clean? Then both parts, 12–6 and 3–9."),
        (butt, {"clean": "yes"}, OPEN, "Level and surface clean? Then both parts, 12–6 and 3–9."),
        (butt, {"clean": "yes", "first_12": 0.0}, OPEN, f"Read the second part in 12–6; both parts in 3–9, {rolled}."),
        (butt, {"clean": "yes", "second_12": 0.0}, OPEN, f"Read the first part in 12–6; both parts in 3–9, {rolled}."),
        (butt, {"clean": "yes", "first_3": 0.0}, OPEN, f"Read both parts in 12–6; the second part in 3–9, {rolled}."),
        (butt, {"clean": "yes", "second_3": 0.0}, OPEN, f"Read both parts in 12–6; the first part in 3–9, {rolled}."),
        (butt, zero | {"second_3": None}, OPEN, f"Read the second part in 3–9, {rolled}."),
        (upright, zero | {"second_3": None}, OPEN, "Read the second part in 3–9."),
        (butt, zero | {"first_12": None}, OPEN, "Read the first part in 12–6."),
        (butt, zero, WITHIN, "In line."),
        (butt, zero | {"clean": None}, OPEN, FIRST + "In line."),
        (butt, zero | {"clean": "no"}, OPEN, FIRST + "In line."),
        (butt, zero | {"clean": "no", "second_12": 9.0, "second_3": None}, OUTSIDE,
         FIRST + "Outside in one plane, leans to 12: read the other plane too."),
        (butt, zero | {"second_12": -9.0, "second_3": None}, OUTSIDE,
         "Outside in one plane, leans to 6: read the other plane too."),
        (butt, zero | {"second_3": 9.0, "first_12": None}, OUTSIDE,
         "Outside in one plane, leans to 3: read the other plane too."),
        (butt, zero | {"second_3": -9.0, "first_12": None}, OUTSIDE,
         "Outside in one plane, leans to 9: read the other plane too."),
        (butt, zero | {"second_12": 1.0}, OUTSIDE, f"{lean} to 12, gap {gap} wider at 6, far end {far} off. {tack[0]}"),
        (butt, zero | {"second_3": -1.0}, OUTSIDE, f"{lean} to 9, gap {gap} wider at 3, far end {far} off. {tack[1]}"),
        (butt, zero | {"second_12": 0.01}, WITHIN, f"Within: second part leans 0.01° to 12, far end {slight} off."),
        (fillet, zero | {"second_12": 1.0}, OUTSIDE, f"{lean} to 12, far end {swing} off. {tack[0]}"),
    ):  # fmt: skip
        fill(live, "levels", [blank] * at + [dict[str, Value](typed)])  # type: ignore[arg-type]
        assert (live.value("levels.verdict", at), live.value("levels.action", at)) == (verdict, said), typed
    fill(live, "levels", [blank] * butt + [zero | {"second_12": 0.1}])
    assert live.value("levels.verdict", butt) == WITHIN
    said = "Far end off by over 1/8, the linear tolerance: look at the dimension. "
    assert live.value("levels.message", butt) == said
    fill(live, "levels", [blank] * butt + [zero | {"second_12": 1.0}])
    assert live.value("levels.message", butt) is None
    assert live.value("levels.told") == f"0 ✓, 1 ✗, {len(rows) - 1} …"


def test_a_pipe_that_no_table_has() -> None:
    live = opened(FALLING.replace("UNITS", "inch").replace("FALL", "0 in/ft"), "inch")
    live.put("legs.schedule", "none", 0)
    live.calculate()
    assert live.value("levels.action") == "No pipe size in the tables: nothing to measure across."
    assert live.value("levels.verdict") == OPEN and live.errors() == []


def test_the_levels_own_error_is_half_of_what_turning_it_round_shows() -> None:
    live = yard("inch")
    place, own = 0.35, 0.08
    clear(live)
    live.put_all({("levels.proof_one", 0): place + own, ("levels.proof_two", 0): place - own})
    assert live.value("levels.own_error") == pytest.approx(own)
    clear(live)
    live.calculate()
    assert live.value("levels.own_error") is None


@pytest.mark.parametrize("edition", EDITIONS)
def test_no_slip_of_the_keys_gives_an_error_value(edition: str) -> None:
    live = yard(edition)
    for seed in range(3):
        clear(live)
        live.put_all(random_state(live, seed, ("levels",)))
        assert live.errors() == []
    for value in NASTY:
        clear(live)
        for name in typed_columns(live, "levels"):
            live.put(name, value, 0)
            live.put(name, value, 1)
        live.put("levels.proof_one", value)
        live.put("levels.proof_two", value)
        live.put("levels.usual", value)
        live.calculate()
        assert live.errors() == [], value
    clear(live)
    live.put("levels.usual", None)
    live.put_all(random_state(live, 7, ("levels",)))
    assert live.errors() == []


def test_inches_per_foot_and_millimetres_per_metre() -> None:
    live = yard("mm")
    fill(live, "levels", [{"read_in": "in/ft", "first_12": 0.25, "second_12": 0.5}])
    assert live.value("levels.first_up") == pytest.approx(math.degrees(math.atan(1 / 48)))
