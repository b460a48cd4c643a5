"""Two-holing and squareness of flanges: a flange in space, turned and tilted by known amounts, is measured as a fitter
would, and the sheets must give back what was put in."""

from __future__ import annotations

import itertools
import math
import random
from pathlib import Path
from typing import Any

import engines
import numpy as np
import pytest
from gauges import OPEN, OUTSIDE, WITHIN, across, clock_text, fine, hours_of, steps
from live import NASTY, Live, Value, one_inch
from numpy.typing import NDArray
from routes import Routes
from squareness import ASSEMBLY_SLOPE, FACE_LEAST, FACE_SLOPE, SEALING, amount_said, squareness_limit
from staged_flanges import ASSEMBLY, SHOP, flanges_of
from walk import Walk
from yard import Yard, clear, facts, fill, opened, typed_columns, yard

from workbook_builder.book import column_letters

Vector = NDArray[np.float64]


EDITIONS = ("inch", "mm")


def turn_about(axis: Vector, degrees: float) -> NDArray[np.float64]:
    """A turn in space (Rodrigues)."""
    x, y, z = axis / math.hypot(*axis)
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    angle = math.radians(degrees)
    turned: NDArray[np.float64] = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross
    return turned


# -- which flanges there are -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_flange_of_a_random_job_is_listed(edition: str) -> None:
    text = Routes({"inch": 1, "mm": 2}[edition], edition).job(25)
    live, walk = opened(text, edition), Walk(text, edition)
    # an item that lies over another one has no place to be listed at: the Items sheet says so
    clear_of = {leg.row for leg in walk.legs if all(
        one.centre + one.reach <= other.centre - other.reach for one, other in itertools.pairwise(leg.items)
    )}  # fmt: skip
    wanted = flanges_of(walk)
    assert len(wanted) > 15
    columns = ["spool", "flange", "size", "flange_class", "facing", "bolt_count", "bolt_circle", "hole", "od", "label"]
    rows = live.rows("flanges", columns)
    for row, one in zip(rows, wanted, strict=False):
        assert one.leg.row not in clear_of or row["label"] == one.label
    assert all(value is None for row in rows[len(wanted) :] for value in row.values())
    for row, one in zip(rows, wanted, strict=False):
        if one.leg.row not in clear_of:
            continue
        assert (row["size"], row["flange_class"]) == (one.leg.size, one.flange_class)
        # facing it one looks against the way it faces; three o'clock is on the right hand of a look along the walk
        assert row["facing"] == -one.looks
        by_pn = one.flange_class.startswith("PN") and edition == "mm"
        found = walk.facts.row("flange_en" if by_pn else "flange", size=row["size"], **{"class": one.flange_class})
        for name in ("bolt_circle", "hole", "od"):
            assert row[name] == (pytest.approx(walk.facts.value(found, name)) if found else None)
        assert row["bolt_count"] == (float(found["bolt_count"]) if found else None)


# -- two-holing --------------------------------------------------------------------------------------------------------


class Bolted:
    """A flange in space, seen as one faces it: x to the right, y up, z towards the one who looks.

    Args:
        row: its facts.
        turned: how far its holes stand from straddling, counter-clockwise.
        tilt: how far its face leans back, and to the side.
    """

    def __init__(self, row: dict[str, Any], turned: float, tilt: tuple[float, float] = (0.0, 0.0)) -> None:
        self.row, self.turned = row, turned
        count, radius = row["n"], row["bolt_circle"] / 2
        place = turn_about(np.array([1.0, 0, 0]), tilt[0]) @ turn_about(np.array([0, 1.0, 0]), tilt[1])
        turn = turn_about(np.array([0, 0, 1.0]), turned)
        angles = [math.radians(90 + 180 / count + 360 * at / count) for at in range(count)]
        flat = [np.array([radius * math.cos(angle), radius * math.sin(angle), 0.0]) for angle in angles]
        self.holes = [place @ turn @ hole + np.array([3.0, 40.0, 7.0]) for hole in flat]
        self.middle = np.array([3.0, 40.0, 7.0])

    def pins(self, apart: int, along: int = 0) -> tuple[Vector, Vector]:
        """The pair of holes so far apart that lies highest (or so many holes further round), left one first."""
        count = len(self.holes)
        pairs = [(at, (at + apart) % count) for at in range(count)]
        pairs.sort(key=lambda pair: -float(self.holes[pair[0]][1] + self.holes[pair[1]][1]))
        first = (pairs[0][0] + along) % count
        one, other = self.holes[first], self.holes[(first + apart) % count]
        return (one, other) if one[0] <= other[0] else (other, one)

    def read(self, apart: int, way: str, length: float, along: int = 0) -> dict[str, Value]:
        """What level, rule or pins show for a pair; + where the right-hand pin is high."""
        left, right = self.pins(apart, along)
        up = float(right[1] - left[1])
        level = math.hypot(float(right[0] - left[0]), float(right[2] - left[2]))
        slope = math.degrees(math.atan2(up, level))
        if way == "degrees":
            return {"level_degrees": slope}
        if way == "rise":
            return {"level_rise": length * up / level, "level_length": length}
        return {"pin_difference": up}


def reduced(angle: float, turn: float) -> float:
    """An angle less whole turns from hole to hole, half of one at most."""
    return (angle + turn / 2) % turn - turn / 2


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_turned_flange_gives_back_its_turn(edition: str) -> None:
    rng = random.Random(5)
    live = yard(edition)
    for _ in range(4):
        rows: list[dict[str, Value]] = []
        wanted: list[tuple[float, float]] = []
        for row in facts(edition):
            turn = 360 / row["n"]
            on_centre = rng.random() < 0.4
            error = rng.uniform(-0.45, 0.45) * turn if rng.random() < 0.5 else rng.uniform(-0.6, 0.6)
            tilt = (rng.uniform(-0.4, 0.4), rng.uniform(-0.4, 0.4))
            flange = Bolted(row, error + (turn / 2 if on_centre else 0), tilt)
            apart = rng.randint(1, max(1, row["n"] // 2 - 1))
            way = rng.choice(["degrees", "rise", "pins"])
            read = flange.read(apart, way, 12 * one_inch(edition), rng.choice([0, 0, 1, -1]) if row["n"] > 8 else 0)
            rows.append({"apart": float(apart), "wanted": "on centre" if on_centre else None} | read)
            wanted.append((error, turn))
        fill(live, "flanges", rows)
        found = live.rows("flanges", ["error", "offset", "rim_turn", "verdict", "chord", "hole_turn"])
        for row, line, (error, turn) in zip(facts(edition), found, wanted, strict=False):
            # a face that leans by 0.4° foreshortens the reading by a 20,000th part
            assert line["error"] == pytest.approx(error, abs=0.004), row
            arc = math.radians(abs(line["error"])) * row["bolt_circle"] / 2
            assert line["offset"] == pytest.approx(arc)
            assert line["rim_turn"] == pytest.approx(arc * row["od"] / row["bolt_circle"])
            assert line["verdict"] == (WITHIN if arc <= SHOP[edition] else OUTSIDE)
            there = Bolted(row, 0)
            assert line["chord"] == pytest.approx(math.dist(there.holes[0], there.holes[1]))
            assert line["hole_turn"] == pytest.approx(turn)


@pytest.mark.parametrize("edition", EDITIONS)
def test_turning_as_told_makes_it_true(edition: str) -> None:
    rng = random.Random(8)
    live = yard(edition)
    errors = [rng.choice([-1, 1]) * rng.uniform(0.05, 0.35) * 360 / row["n"] for row in facts(edition)]
    turned = [Bolted(row, at) for row, at in zip(facts(edition), errors, strict=True)]
    fill(live, "flanges", [flange.read(1, "degrees", 1) for flange in turned])
    told = live.rows("flanges", ["action", "rim_turn"])
    again: list[dict[str, Value]] = []
    for row, line, error in zip(facts(edition), told, errors, strict=False):
        degrees = math.degrees(line["rim_turn"] / (row["od"] / 2))
        assert f"by {fine(line['rim_turn'], edition)} along the rim" in line["action"]
        clockwise = line["action"].startswith("Turn it clockwise")
        assert clockwise or line["action"].startswith("Turn it counter-clockwise")
        again.append(Bolted(row, error + (-degrees if clockwise else degrees)).read(1, "degrees", 1))
    fill(live, "flanges", again)
    for line in live.rows("flanges", ["verdict", "action", "error"])[: len(errors)]:
        assert line["error"] == pytest.approx(0, abs=1e-9)
        assert (line["verdict"], line["action"]) == (WITHIN, "True.")


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_pin_height_allowed_is_the_limit_at_the_holes(edition: str) -> None:
    live = yard(edition)
    rows: list[dict[str, Value]] = []
    for at, row in enumerate(facts(edition)):
        apart = 1 + 2 * (at % max(1, row["n"] // 4))
        turned = math.degrees(SHOP[edition] / (row["bolt_circle"] / 2))
        typed: dict[str, Value] = {"apart": float(apart)}
        rows.append(typed | Bolted(row, turned).read(apart, "pins", 1))
    fill(live, "flanges", rows)
    for typed, line in zip(rows, live.rows("flanges", ["pin_allowed", "offset"]), strict=False):
        assert line["offset"] == pytest.approx(SHOP[edition])
        assert line["pin_allowed"] == pytest.approx(typed["pin_difference"], rel=2e-3)  # a sine for a small angle


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("way", ["degrees", "rise", "pins"])
def test_at_just_under_and_just_over_the_limit(edition: str, way: str) -> None:
    live, length = yard(edition), 12 * one_inch(edition)
    for share, verdict in ((1.0, WITHIN), (1 - 1e-6, WITHIN), (1 + 1e-6, OUTSIDE)):
        angles = [math.degrees(share * SHOP[edition] / (row["bolt_circle"] / 2)) for row in facts(edition)]
        signed = [angle * (-1) ** at for at, angle in enumerate(angles)]
        readings = [Bolted(row, at).read(1, way, length) for row, at in zip(facts(edition), signed, strict=True)]
        fill(live, "flanges", readings)
        assert live.column("flanges.verdict")[: len(angles)] == [verdict] * len(angles), share
    for share, word in ((1.0, ", within "), (1 - 1e-6, ", within "), (1 + 1e-6, " and over ")):
        rows = facts(edition)
        angles = [math.degrees(share * ASSEMBLY[edition] / (row["bolt_circle"] / 2)) for row in rows]
        fill(live, "flanges", [Bolted(row, at).read(1, way, length) for row, at in zip(rows, angles, strict=True)])
        tail = f"Over {fine(SHOP[edition], edition)} (shop †){word}{fine(ASSEMBLY[edition], edition)} (assembly)."
        said = live.column("flanges.action")[: len(rows)]
        assert all(text.endswith(tail) or text.startswith("Half a hole") for text in said), said
        assert sum(text.endswith(tail) for text in said) > len(rows) / 2


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_hole_too_many_between_the_pins_and_both_one_hole_along(edition: str) -> None:
    live = yard(edition)
    rows = [row for row in facts(edition) if row["n"] > 4]
    at = [index for index, row in enumerate(facts(edition)) if row["n"] > 4]
    # right flange, pins two apart although one was meant: reads 180/n
    blank: dict[str, Value] = {}
    readings = [Bolted(row, 0.0).read(2, "degrees", 1) if row["n"] > 4 else blank for row in facts(edition)]
    assert all(abs(abs(float(str(readings[i]["level_degrees"]))) - 180 / facts(edition)[i]["n"]) < 1e-9 for i in at)
    fill(live, "flanges", readings)
    actions, verdicts = live.column("flanges.action"), live.column("flanges.verdict")
    for index, row in zip(at, rows, strict=True):
        assert verdicts[index] == OUTSIDE
        half = f"{steps(180 / row['n'], 0.1) / 10:g}"
        rim = fine(math.radians(180 / row["n"]) * row["od"] / 2, edition)
        way = "clockwise" if live.value("flanges.error", index) > 0 else "counter-clockwise"
        assert actions[index] == (
            f"Half a hole ({half}°) out: check the pins. If they are right, the flange is on centre instead of "
            f"straddling: turn it {way} by {rim} at the rim."
        )
    # right flange, both pins one hole along: reads 360/n
    readings = [Bolted(row, 0.0).read(1, "degrees", 1, 1) if row["n"] > 4 else blank for row in facts(edition)]
    fill(live, "flanges", readings)
    actions, verdicts = live.column("flanges.action"), live.column("flanges.verdict")
    for index, row in zip(at, rows, strict=True):
        shown = float(str(readings[index]["level_degrees"]))
        assert abs(shown) == pytest.approx(360 / row["n"])
        assert verdicts[index] == WITHIN
        assert actions[index] == f"Reads {shown:.3g}°: the pins are 1 hole along, that is right. True."


@pytest.mark.parametrize("edition", EDITIONS)
def test_half_a_hole_out_is_said_for_what_was_wanted(edition: str) -> None:
    live, row = yard(edition), facts(edition)[0]
    half = 180 / row["n"]
    fill(
        live,
        "flanges",
        [
            {"wanted": "on centre", "level_degrees": half},
            {"wanted": "angle", "wanted_angle": 10.0, "level_degrees": 10 - half},
        ],
    )
    actions = live.column("flanges.action")
    assert "the flange straddles instead of being on centre: turn it " in actions[0]
    assert "the flange stands half a hole from the angle: turn it " in actions[1]
    # on centre with two apart reads level, with one apart half a hole either way; nothing is along there
    for apart, level in ((None, 0.0), (1.0, half), (1.0, -half)):
        fill(live, "flanges", [{"wanted": "on centre", "level_degrees": level, "apart": apart}])
        assert live.value("flanges.action") == "True." and live.value("flanges.pair") == (apart or 2)
    fill(live, "flanges", [{"wanted": "on centre", "level_degrees": 3 * half, "apart": 1.0}])
    assert live.value("flanges.action").endswith("the pins are 1 hole along, that is right. True.")
    # straddling with two apart reads half a hole either way
    for level in (half, -half):
        fill(live, "flanges", [{"level_degrees": level, "apart": 2.0}])
        assert live.value("flanges.action") == "True."


@pytest.mark.parametrize("out", [1, -1])
def test_a_flange_nearly_half_a_hole_out_is_turned_the_way_that_helps(out: int) -> None:
    live, row = yard("inch"), facts("inch")[0]
    error = out * 0.43 * 360 / row["n"]
    fill(live, "flanges", [Bolted(row, error).read(1, "degrees", 1)])
    said = live.value("flanges.action")
    back = -1 if "turn it clockwise by" in said else 1
    assert said.startswith("Half a hole") and live.value("flanges.verdict") == OUTSIDE
    fill(live, "flanges", [Bolted(row, error + back * abs(live.value("flanges.error"))).read(1, "degrees", 1)])
    assert live.value("flanges.action") == "True."


@pytest.mark.parametrize("edition", EDITIONS)
def test_an_angle_to_another_flange(edition: str) -> None:
    rng = random.Random(11)
    live = yard(edition)
    labels = live.column("flanges.label")
    rows: list[dict[str, Value]] = []
    wanted: list[float | None] = []
    for at, row in enumerate(facts(edition)):
        turn = 360 / row["n"]
        if not row["last"]:
            first = rng.uniform(-0.4, 0.4) * turn
            rows.append(Bolted(row, first).read(1, "degrees", 1))
            wanted.append(None)
            continue
        # the two flanges of a pipe look opposite ways: what one sees counter-clockwise the other sees clockwise
        angle, error = rng.uniform(-300, 300), rng.uniform(-0.4, 0.4) * turn
        mine = -first + angle + error
        typed: dict[str, Value] = {"wanted": "angle", "wanted_angle": angle, "against": labels[at - 1]}
        rows.append(typed | Bolted(row, mine).read(1, "degrees", 1))
        wanted.append(error)
    fill(live, "flanges", rows)
    found = live.rows("flanges", ["error", "target", "target_holes", "target_full", "hole_turn", "wanted_said"])
    for error, line in zip(wanted, found, strict=False):
        if error is None:
            continue
        assert line["error"] == pytest.approx(error, abs=1e-6)
        assert line["target"] == pytest.approx(reduced(line["target_full"], line["hole_turn"]), abs=1e-9)
        assert line["target_holes"] == pytest.approx((line["target_full"] - line["target"]) / line["hole_turn"])
        assert line["wanted_said"].startswith(f"Wanted {round(line['target_full'], 1):g}°")


BENT = """
schema = 1
[job]
name = "n"
number = "1"
units = "inch"
[[spool]]
mark = "U"
size = "6"
schedule = "STD"
class = 150
start = "weld_neck_flange"
[[spool.leg]]
FIRST
end = "elbow"
[[spool.leg]]
SECOND
end = "elbow"
[[spool.leg]]
THIRD
end = "weld_neck_flange"
"""


@pytest.mark.parametrize(
    "legs",
    [
        ("east = 40", "up = 30", "east = -40"),  # both faces look west
        ("east = 40", "north = 30", "east = -40"),
        ("east = 40", "up = 30", "east = 40"),  # they look opposite ways
        ("up = 40", "north = 30", "up = -40"),
    ],
)
def test_flanges_on_parallel_pipes_are_turned_about_one_axis(legs: tuple[str, str, str]) -> None:
    """Bolts of both flanges turned in space by the same turn about the same line: at 0° to one another."""
    live = opened(BENT.replace("FIRST", legs[0]).replace("SECOND", legs[1]).replace("THIRD", legs[2]), "inch")
    axis = {"east": np.array([1.0, 0, 0]), "up": np.array([0.0, 0, 1])}[legs[0].split()[0]]
    turn = turn_about(axis, 1.0)
    rows: list[dict[str, Value]] = []
    for leg, last in ((legs[0], False), (legs[2], True)):
        way = axis * (1 if "-" not in leg else -1)
        twelve = np.array([0.0, 0, 1]) if abs(axis[0]) else np.array([0.0, 1, 0])
        right = np.cross(-way if last else way, twelve)  # of somebody who faces it
        # a pin to the right and one to the left, turned with the flange: + where the right-hand one stands high
        high = float((turn @ right) @ twelve) - float((turn @ -right) @ twelve)
        rows.append({"level_degrees": math.degrees(math.asin(high / 2))})
    rows[1] |= {"wanted": "angle", "wanted_angle": 0.0, "against": live.value("flanges.label", 0)}
    fill(live, "flanges", rows)
    assert live.value("flanges.error", 1) == pytest.approx(0.0, abs=1e-9)
    assert abs(live.value("flanges.error", 0)) == pytest.approx(1.0)


def test_whole_holes_and_the_remainder_are_said() -> None:
    live = yard("inch")
    rows = facts("inch")
    at = next(index for index, row in enumerate(rows) if row["n"] == 8)
    blank: dict[str, Value] = {}
    for angle, said in (
        (50.0, "Wanted 50° is 1 hole and 5°. "),
        (85.0, "Wanted 85° is 2 holes less 5°. "),
        (-50.0, "Wanted -50° is 1 hole and 5°. "),
        (90.0, "Wanted 90° is 2 whole holes: as straddling. "),
        (45.0, "Wanted 45° is 1 whole hole: as straddling. "),
        (10.0, "Wanted 10°. "),
    ):
        fill(live, "flanges", [blank] * at + [{"wanted": "angle", "wanted_angle": angle, "level_degrees": angle}])
        assert live.value("flanges.wanted_said", at) == said
        assert live.value("flanges.verdict", at) == WITHIN
        assert live.value("flanges.action", at).endswith(f"{said}True.")


ASKED = "Pins in two holes 1 apart, the same height up on both sides; level across: type one reading."


def test_every_sentence_of_two_holing_is_reached() -> None:
    live = yard("inch")
    rows = facts("inch")
    assert rows[0]["n"] == 4 and not rows[0]["upright"] and rows[4]["upright"]
    labels = live.column("flanges.label")
    tiny = math.degrees(1 / 32 / (rows[0]["bolt_circle"] / 2))
    rim = fine(1 / 32 * rows[0]["od"] / rows[0]["bolt_circle"], "inch")
    within = f"Within 1/16 (shop †): off by 1/32, {rim}"
    for typed, verdict, said in (
        ({}, OPEN, ASKED),
        ({"level_rise": 0.1}, OPEN, ASKED),
        ({"level_degrees": "abc"}, OPEN, ASKED),
        ({"apart": 4.0}, OPEN, "Pins apart: a whole number from 1 to 3."),
        ({"apart": 1.5, "level_degrees": 0.0}, OPEN, "Pins apart: a whole number from 1 to 3."),
        ({"apart": -1.0}, OPEN, "Pins apart: a whole number from 1 to 3."),
        ({"wanted": "up"}, OPEN, "Wanted: straddle, on centre, or angle."),
        ({"wanted": "angle"}, OPEN, "Type the angle wanted, at the right."),
        ({"wanted": "angle", "against": "nobody"}, OPEN, "The other flange is not in this list."),
        ({"wanted": "angle", "against": labels[1]}, OPEN, "Read the other flange first."),
        ({"level_degrees": 0.0}, WITHIN, "True."),
        ({"level_degrees": tiny}, WITHIN, f"{within} clockwise at the rim would make it true."),
        ({"level_degrees": -tiny}, WITHIN, f"{within} counter-clockwise at the rim would make it true."),
        ({"level_degrees": 0.0, "pin_difference": 0.2}, OUTSIDE, "The ways of reading it disagree: read again."),
        ({"level_degrees": 0.0, "level_rise": 0.0, "level_length": 6.0, "pin_difference": 0.0}, WITHIN, "True."),
    ):  # fmt: skip
        fill(live, "flanges", [dict[str, Value](typed)])
        assert (live.value("flanges.verdict"), live.value("flanges.action")) == (verdict, said), typed
    said = live.value("flanges.action", 4)
    assert said == "Its leg is upright: roll the spool so that the face stands, or take degrees by square and string."
    fill(live, "flanges", [{"level_degrees": 0.0}])
    live.put("rules.two_hole_max", None)
    live.calculate()
    assert live.value("flanges.verdict") == "… rule missing"
    assert live.value("flanges.action") == "Rules first: the limit for two-holing is blank."
    clear(live)
    for typed, message in (
        ({"level_rise": 0.1}, "Type the length over which it rises. "),
        ({"pin_difference": 50.0}, "That is more than the pins are apart. "),
        ({"wanted": "angle", "against": labels[0]}, "It cannot be its own other flange. "),
        ({"apart": 2.0}, "Pins 2 apart: a right flange reads 45°, not level. "),
        ({"wanted": "on centre", "apart": 1.0}, "Pins 1 apart: a right flange reads 45°, not level. "),
    ):
        fill(live, "flanges", [dict[str, Value](typed)])  # type: ignore[arg-type]
        assert live.value("flanges.message") == message, typed
    fill(live, "flanges", [{"level_degrees": 0.0}, {"level_degrees": 9.0}])
    assert live.value("flanges.told") == f"1 ✓, 1 ✗, {len(rows) - 2} …"


LOOSE = """
schema = 1
[job]
name = "n"
number = "1"
units = "inch"
[[spool]]
mark = "A"
size = "6"
schedule = "STD"
class = 150
start = "lap_joint"
[[spool.leg]]
east = 60
end = "socket_weld_flange"
takeout = 1
size = "4"
[[spool.leg]]
from = "start"
east = 1
end = "plain"
"""


def test_a_loose_flange_and_one_that_no_table_has() -> None:
    text = LOOSE.replace('size = "4"\n', "").rpartition("[[spool.leg]]")[0].replace("class = 150", "class = 2500")
    live = opened(text.replace('start = "lap_joint"', 'start = "lap_joint"\nstart_takeout = 3'), "inch")
    assert live.column("flanges.kind")[:2] == ["lap_joint", "socket_weld_flange"]
    assert live.value("flanges.verdict") == "– loose"
    assert live.value("flanges.action") == "Loose flange: it turns on its stub end, no two-holing."
    live.put("details.flange_class", "900", 0)
    live.put("legs.size", "3-1/2", 0)
    live.calculate()
    assert live.value("flanges.verdict", 1) == OPEN
    said = "No drilling in the tables for this size and class: take it from the drawing."
    assert live.value("flanges.action", 1) == said
    assert live.value("faces.action", 1) == "No such flange in the tables: no diameter to measure across."
    assert live.errors() == []


# -- the drawing -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_drilled_face_is_drawn_where_the_holes_are(edition: str) -> None:
    live, rows = yard(edition), facts(edition)
    counts = [row["n"] for row in rows]
    picks = [counts.index(count) for count in sorted(set(counts))]
    labels = live.column("flanges.label")
    for at in [*picks, picks[-1] + 1]:
        row = rows[at]
        turn = 360 / row["n"]
        blank: dict[str, Value] = {}
        read = Bolted(row, 0.1 * turn + turn / 2).read(2, "degrees", 1)
        fill(live, "flanges", [blank] * at + [{"wanted": "on centre"} | read])
        live.put("drilled.flange", labels[at])
        live.put("drilled.times", 1)
        live.calculate()
        scale = 0.43 / (row["od"] / 2)
        there = [hole - (0, 0, 7) for hole in Bolted(row, 0.1 * turn + turn / 2).holes]
        holes = np.array([(scale * (hole[0] - 3) + 0.5, scale * (hole[1] - 40) + 0.5) for hole in there])
        drawn = np.array(list(zip(live.column("hole_line.across"), live.column("hole_line.upward"), strict=True)))
        apart = np.linalg.norm(drawn[:, None, :] - holes[None, :, :], axis=2)
        nearest, radius = apart.min(axis=1), scale * row["hole"] / 2
        on_hole = np.abs(nearest - radius) < 1e-9
        on_circle = np.abs(np.linalg.norm(drawn - 0.5, axis=1) - scale * row["bolt_circle"] / 2) < 1e-9
        assert np.all(on_hole | on_circle) and on_hole.mean() > 0.7
        # every hole is gone round
        for index in range(len(holes)):
            mine = drawn[on_hole & (apart.argmin(axis=1) == index)] - holes[index]
            angles = np.sort(np.degrees(np.arctan2(mine[:, 1], mine[:, 0])))
            assert np.max(np.diff([*angles, angles[0] + 360])) < 65
        middle = (np.array(live.column("wanted_holes.x_from")) + live.column("wanted_holes.x_to")) / 2 - 0.5
        upward = (np.array(live.column("wanted_holes.y_from")) + live.column("wanted_holes.y_to")) / 2 - 0.5
        wanted = np.column_stack([middle, upward])
        right = np.array([((hole[0] - 3) * scale, (hole[1] - 40) * scale) for hole in Bolted(row, turn / 2).holes])
        between = np.linalg.norm(wanted[:, None, :] - right[None, :, :], axis=2)
        assert np.max(between.min(axis=0)) < 1e-9 and np.max(between.min(axis=1)) < 1e-9
        pins = np.array([[live.value(f"pins_line.{axis}_{end}") for axis in "xy"] for end in ("from", "to")])
        assert np.max(np.linalg.norm(pins[:, None, :] - holes[None, :, :], axis=2).min(axis=1)) < 1e-9
        assert pins[0, 0] < pins[1, 0] and pins[1, 1] > pins[0, 1]
    # drawn enlarged, half a hole at most
    live.put("drilled.times", 4)
    live.calculate()
    assert live.value("drilled.error_drawn") == pytest.approx(0.4 * turn)
    live.put("drilled.times", 50)
    live.calculate()
    assert live.value("drilled.error_drawn") == pytest.approx(0.5 * turn)
    words = [live.value("drilled.left_word"), live.value("drilled.right_word")]
    assert words == (["3", "9"] if rows[picks[-1] + 1]["last"] else ["9", "3"])


def test_a_twelve_hole_circle_of_the_trade() -> None:
    """12 holes on 8 straddling: first hole 1.0353 off one centreline and 3.8637 off the other."""
    live, rows = yard("inch"), facts("inch")
    at = next(index for index, row in enumerate(rows) if row["n"] == 12)
    clear(live)
    live.put("drilled.flange", live.column("flanges.label")[at])
    live.calculate()
    scale = 8 / rows[at]["bolt_circle"] * rows[at]["od"] / 2 / 0.43
    x = (live.value("wanted_holes.x_from") + live.value("wanted_holes.x_to")) / 2 - 0.5
    y = (live.value("wanted_holes.y_from") + live.value("wanted_holes.y_to")) / 2 - 0.5
    assert (x * scale, y * scale) == (pytest.approx(1.0353, abs=6e-5), pytest.approx(3.8637, abs=6e-5))


# -- the face ----------------------------------------------------------------------------------------------------------

TWELVE, THREE, ALONG = np.array([0.0, 1, 0]), np.array([1.0, 0, 0]), np.array([0, 0, -1.0])
"""Seen the way the spool is walked: 12 up, 3 to the right."""

CLOCKS = {"12": 0, "3": 90, "6": 180, "9": 270}


class Face:
    """The face of a flange in space.

    Args:
        row: its facts.
        up, side: slope of the face: how far it stands forward at 12 and at 3, for one unit from the middle.
    """

    def __init__(self, row: dict[str, Any], up: float, side: float) -> None:
        self.row = row
        self.outwards = ALONG if row["last"] else -ALONG
        self.up, self.side = up, side

    def read(self, way: str, marks: float, bad_square: float = 0.0) -> dict[str, Value]:
        """Near and far readings at the four clocks, with a square that is off by so much of a degree."""
        found: dict[str, Value] = {"marks": marks, "way": way}
        for word, degrees in CLOCKS.items():
            angle = math.radians(degrees)
            out = math.cos(angle) * TWELVE + math.sin(angle) * THREE
            slope = self.up * math.cos(angle) + self.side * math.sin(angle)
            if way == "tape":
                # the tongue lies on the face, the blade runs back square to it over the rim
                tongue = (out + slope * self.outwards) / math.hypot(1, slope)
                axis = np.cross(self.outwards, out)
                blade = turn_about(axis, 90 + bad_square) @ tongue
                if blade @ self.outwards > 0:
                    blade = turn_about(axis, -90 + bad_square) @ tongue
                corner = self.row["od"] / 2 * out + slope * self.row["od"] / 2 * self.outwards
                near, far = (corner + blade * reach for reach in (marks / 4, marks / 4 + marks))
                found[f"near_{word}"] = float(near @ out) - self.row["pipe_od"] / 2
                found[f"far_{word}"] = float(far @ out) - self.row["pipe_od"] / 2
            else:
                # the arm stands square to the pipe, over the face; it touches where the gap is smallest
                reaches = (self.row["bolt_circle"] / 4, self.row["bolt_circle"] / 4 + marks)
                drop = math.tan(math.radians(bad_square))
                gaps = [drop * reach - slope * reach for reach in reaches]
                for name, gap in zip(("near", "far"), gaps, strict=True):
                    found[f"{name}_{word}"] = gap - min(gaps) if gap > min(gaps) else None
                if gaps[0] == gaps[1]:
                    found[f"near_{word}"] = 0.0
        return found


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("way", ["tape", "gap"])
def test_a_tilted_face_gives_back_its_tilt(edition: str, way: str) -> None:
    rng = random.Random(3)
    live = yard(edition)
    for _ in range(3):
        tilts = [(rng.uniform(0.3, 2.5) * FACE_SLOPE[edition], rng.uniform(0, 2 * math.pi)) for _ in facts(edition)]
        rows: list[dict[str, Value]] = []
        for row, (slope, angle) in zip(facts(edition), tilts, strict=True):
            face = Face(row, slope * math.cos(angle), slope * math.sin(angle))
            rows.append(face.read(way, rng.uniform(2, 18) * one_inch(edition), rng.uniform(-0.05, 0.05)))
        fill(live, "faces", rows)
        found = live.rows("faces", ["face_tilt", "face_at", "verdict", "action", "wedge", "limit", "mate", "three_at"])
        mirrored = live.rows("flanges", ["face_tilt", "face_at", "face_verdict", "face_action", "wedge"])
        for row, line, mirror, (slope, angle) in zip(facts(edition), found, mirrored, tilts, strict=False):
            tilt = slope * row["od"]
            assert line["face_tilt"] == pytest.approx(tilt, rel=2e-4)
            exact = math.degrees(angle) % 360
            if abs((exact / 15) % 1 - 0.5) > 0.02:
                assert line["face_at"] == hours_of(math.cos(angle), math.sin(angle))
            limit = squareness_limit(row["od"], edition)
            assert line["limit"] == pytest.approx(limit)
            if abs(tilt / limit - 1) > 1e-3:
                assert line["verdict"] == (WITHIN if tilt < limit else OUTSIDE)
            assert list(mirror.values()) == [line[n] for n in ("face_tilt", "face_at", "verdict", "action", "wedge")]
            # facing the flange, three o'clock is on the right hand or the left
            face = Face(row, 0, 0)
            right_hand = np.cross(-face.outwards, TWELVE)
            assert line["three_at"] == ("right" if right_hand @ THREE > 0 else "left")
            sealing = row["raised_face_od"] or row["od"]
            for mark, size, most in zip(
                line["mate"].split("; "),
                (tilt, slope * sealing),
                (row["od"] * ASSEMBLY_SLOPE[edition], SEALING[edition]),
                strict=True,
            ):
                if abs(size / most - 1) > 1e-3:
                    assert mark == f"{'✓' if size < most else '✗'} {fine(most, edition)}"
            if row["kind"] != "weld_neck_flange":
                assert line["wedge"] is None
                continue
            # turn flange and hub as one until the face is true: so much the root moves, there and opposite
            root = row["pipe_od"] - 2 * row["wall"] + (1 / 16 if edition == "inch" else 1.6)
            forward = math.cos(angle) * TWELVE + math.sin(angle) * THREE
            axis = np.cross(face.outwards, forward)
            turn = turn_about(axis, math.degrees(math.atan(slope)))
            if (turn @ forward) @ face.outwards > 0:
                turn = turn.T
            moves = [float((turn @ (side * root / 2 * forward)) @ face.outwards) for side in (1, -1)]
            assert moves[0] < 0 < moves[1]  # the gap closes there, and opens opposite
            assert line["wedge"] == pytest.approx(moves[1] - moves[0], rel=1e-3)


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_faces_limit_and_its_sentences(edition: str) -> None:
    live, inch = yard(edition), one_inch(edition)
    rows = facts(edition)
    marks = 10 * inch
    for share, verdict in ((1.0, WITHIN), (1 - 1e-6, WITHIN), (1 + 1e-6, OUTSIDE)):
        readings: list[dict[str, Value]] = []
        for at, row in enumerate(rows):
            slope = share * squareness_limit(row["od"], edition) / row["od"]
            word, other = (("12", "6"), ("3", "9"), ("6", "12"), ("9", "3"))[at % 4]
            flat: dict[str, Value] = {"marks": marks}
            for name in CLOCKS:
                flat |= {f"near_{name}": 4 * inch, f"far_{name}": 4 * inch}
            flat |= {f"far_{word}": 4 * inch + slope * marks, f"far_{other}": 4 * inch - slope * marks}
            readings.append(flat)
        fill(live, "faces", readings)
        found = live.rows("faces", ["verdict", "action", "face_tilt", "wedge", "limit"])
        for at, (row, line) in enumerate(zip(rows, found, strict=False)):
            assert line["verdict"] == verdict, (share, row)
            hours = (12.0, 3.0, 6.0, 9.0)[at % 4]
            tilt, limit = fine(line["face_tilt"], edition), fine(line["limit"], edition)
            opposite = clock_text(across(hours))
            most = f"just over {limit}" if tilt == limit else f"limit {limit}"
            if verdict == OUTSIDE and row["kind"] == "weld_neck_flange":
                said = f"Forward at {clock_text(hours)} by {tilt} ({most}): "
                assert line["action"].startswith(said) and line["action"].endswith(".")
                by = f"by {amount_said(line['wedge'], edition)}"
                if line["wedge"] <= min(live.value("faces.room_close", at), live.value("faces.room_open", at)):
                    told = f"close the root gap there {by}, or open it at {opposite} by as much."
                    assert line["action"] == said + told
            elif verdict == OUTSIDE:
                assert line["action"] == (
                    f"Forward at {clock_text(hours)} by {tilt} ({most}): draw it back there, or forward at "
                    f"{opposite}, before the next tack."
                )
            else:
                assert line["action"].startswith(f"Within the shop limit; forward at {clock_text(hours)} by {tilt}.")
    level: dict[str, Value] = {"marks": marks}
    for name in CLOCKS:
        level |= {f"near_{name}": 4 * inch, f"far_{name}": 4 * inch}
    far = 4 * inch + 1 * inch
    largest, limit = fine(1 * inch * rows[0]["od"] / 2 / marks, edition), fine(FACE_LEAST[edition], edition)
    only = {name: value for name, value in level.items() if name.endswith(("12", "_6", "marks"))}
    touching: dict[str, Value] = {"way": "gap", "marks": marks, "near_12": 0.0, "near_3": 0.0}
    touching |= {"far_6": 0.0, "far_9": 0.0}
    for typed, verdict, said in (
        ({}, OPEN, "Square and tape at 12, 3, 6 and 9."),
        ({"marks": marks}, OPEN, "Read near and far mark at 12, 3, 6, 9."),
        ({"marks": marks, "near_12": 4.0}, OPEN, "Read near and far mark at 12, 3, 6, 9."),
        ({"marks": marks, "way": "gap", "near_12": 1.0}, OPEN, "Read the gap at 3, 6, 9."),
        ({"marks": 0.001, "near_12": 4.0}, OPEN, "Read marks further apart."),
        ({"marks": -marks}, OPEN, "Read marks further apart."),
        ({**level, "marks": None}, OPEN, "Read how far the marks are apart."),
        ({"far_3": 4 * inch}, OPEN, "Read how far the marks are apart."),
        (level, WITHIN, "Square."),
        (touching, WITHIN, "Square."),
        (only, OPEN, "Read near and far mark at 3, 9."),
        ({**only, "far_12": far}, OUTSIDE, f"Out by {largest} on one pair, over {limit}: read the other pair too."),
    ):
        fill(live, "faces", [dict[str, Value](typed)])  # type: ignore[arg-type]
        assert (live.value("faces.verdict"), live.value("faces.action")) == (verdict, said), typed
    # a square that is off, and a face that is not flat
    fill(live, "faces", [{**level, **{f"far_{name}": far for name in CLOCKS}}, {**level, "far_12": far, "far_6": far}])
    assert "All four sides read alike by" in live.value("faces.message")
    assert live.value("faces.verdict") == WITHIN
    assert "Not flat by" in live.value("faces.message", 1)
    assert live.value("faces.told") == f"2 ✓, 0 ✗, {len(rows) - 2} …"


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_tilt_that_points_nowhere_is_square(edition: str) -> None:
    """A tilt of a step of the gauge that is too small to say where it stands forward."""
    live, inch = yard(edition), one_inch(edition)
    tilts = [(0.0015 + 0.0002 * (at % 40)) * inch for at in range(len(facts(edition)))]
    rows: list[dict[str, Value]] = []
    for row, tilt in zip(facts(edition), tilts, strict=True):
        typed: dict[str, Value] = {"marks": 10 * inch, **{f"near_{name}": 4 * inch for name in CLOCKS}}
        typed |= {"far_12": 4 * inch + tilt / row["od"] * 10 * inch, "far_6": 4 * inch - tilt / row["od"] * 10 * inch}
        rows.append(typed | {"far_3": 4 * inch, "far_9": 4 * inch})
    fill(live, "faces", rows)
    least, points = (1 / 128, 0.005) if edition == "inch" else (0.05, 0.1)
    assert min(tilts) < min(least, points) < max(least, points) < max(tilts)
    for tilt, said in zip(tilts, live.column("faces.action"), strict=False):
        square = tilt < least - 1e-9 or tilt < points - 1e-9
        told = f"Within the shop limit; forward at 12 by {fine(tilt, edition)}."
        assert said == ("Square." if square else told), tilt


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("closes", "opens", "tilts"),
    [(2, 2, "close or open"), (2, 0.5, "close"), (0.5, 2, "open"), (0.6, 0.6, "both"), (0.3, 0.3, "neither")],
)
def test_a_wedge_stays_within_the_limits_of_the_gap(edition: str, closes: float, opens: float, tilts: str) -> None:
    """Done as told, the gap is nowhere smaller or larger than Rules allow, and the face is true."""
    live, rows, inch = yard(edition), facts(edition), one_inch(edition)
    at = next(
        index for index, row in enumerate(rows) if row["kind"] == "weld_neck_flange" and row["pipe_od"] > 6 * inch
    )
    marks = 10 * inch
    slope = 3 * squareness_limit(rows[at]["od"], edition) / rows[at]["od"]
    flat: dict[str, Value] = {"marks": marks}
    for name in CLOCKS:
        flat |= {f"near_{name}": 4 * inch, f"far_{name}": 4 * inch}
    flat |= {"far_12": 4 * inch + slope * marks, "far_6": 4 * inch - slope * marks}
    blank: dict[str, Value] = {}
    fill(live, "faces", [blank] * at + [flat])
    rules = ("root_gap", "root_gap_min", "root_gap_max")
    before = {name: live.value(f"rules.{name}") for name in rules}
    wedge, forward = live.value("faces.wedge", at), clock_text(live.value("faces.face_at", at))
    gap = 3 * inch
    for name, value in zip(rules, (gap, gap - closes * wedge, gap + opens * wedge), strict=True):
        Live.put(live, f"rules.{name}", value)  # these are the yard's own: nobody clears them
    live.calculate()
    said = str(live.value("faces.action", at)).partition("): ")[2]
    opposite = clock_text(across(live.value("faces.face_at", at)))
    by = amount_said(wedge, edition)
    assert forward in live.value("faces.action", at)
    assert (
        said
        == {
            "close or open": f"close the root gap there by {by}, or open it at {opposite} by as much.",
            "close": f"close the root gap there by {by}.",
            "open": f"open the root gap at {opposite} by {by}.",
            "both": f"close the root gap there by {fine(0.6 * wedge, edition)} and open it at {opposite} by "
            f"{fine(0.4 * wedge, edition)}.",
            "neither": f"that is a wedge of {by}, more than the root gap has room for: "
            "dress the pipe's end square (Ends) and fit it again.",
        }[tilts]
    )
    for name, value in before.items():
        Live.put(live, f"rules.{name}", value)
    live.calculate()


# -- slips of the keys, other programs ---------------------------------------------------------------------------------


def random_state(live: Yard, seed: int, tables: tuple[str, ...]) -> dict[tuple[str, int], Value]:
    """Cells filled with what a fitter types and with slips, many left blank."""
    rng = random.Random(seed)
    found: dict[tuple[str, int], Value] = {}
    for table in tables:
        for name in typed_columns(live, table):
            field = live.book.fields[name]
            choices = getattr(field.declared, "choices", "")
            for row in range(field.rows):
                draw = rng.random()
                if draw < 0.3:
                    continue
                if draw < 0.8 and isinstance(choices, list):
                    found[name, row] = rng.choice(choices)
                elif draw < 0.8 and choices:
                    found[name, row] = rng.choice(live.column(choices))
                elif draw < 0.85 and field.unit_kind != "text":
                    found[name, row] = rng.choice(NASTY)
                elif field.unit_kind == "text":
                    found[name, row] = rng.choice(["nothing", "*", "=1", "12"]) if draw > 0.95 else None
                elif field.unit_kind == "length":
                    found[name, row] = round(rng.uniform(-0.2, 4) * one_inch(live.edition), 3)
                else:
                    spread = round(rng.uniform(-3, 3), 2), round(rng.uniform(-90, 90), 1)
                    found[name, row] = rng.choice([1.0, 2.0, 3.0, *spread])
    return found


@pytest.mark.parametrize("edition", EDITIONS)
def test_no_slip_of_the_keys_gives_an_error_value(edition: str) -> None:
    live = yard(edition)
    for seed in range(4):
        clear(live)
        live.put_all(random_state(live, seed, ("flanges", "faces")))
        assert live.errors() == []
    clear(live)
    for value in NASTY:
        for table in ("flanges", "faces"):
            for name in typed_columns(live, table):
                live.put(name, value, 0)
                live.put(name, value, 1)
        live.calculate()
        assert live.errors() == [], value
    clear(live)
    for name in ("rules.two_hole_max", "rules.root_face"):
        live.put(name, None)
    live.put_all(random_state(live, 9, ("flanges", "faces")))
    assert live.errors() == []
    clear(live)
    live.put("drilled.times", "x")
    live.put("drilled.flange", "nobody")
    live.calculate()
    assert live.errors() == []


def mill_creek() -> str:
    """The job that ships as an example."""
    return (Path(__file__).parent.parent / "output_examples" / "mill_creek.toml").read_text(encoding="utf-8")


TABS = ("Flanges", "Flange face", "Drilled face", "Face steps", "Level")


@pytest.mark.thorough
def test_libreoffice_gives_the_same(tmp_path: Path) -> None:
    """Typed states of the example job: LibreOffice gives what the build's engine gives, on these sheets."""
    engines.require_libreoffice()
    paths: list[Path] = []
    for edition in EDITIONS:
        live = opened(mill_creek(), edition)
        plain, typed = tmp_path / f"{edition}.xlsx", tmp_path / f"{edition}-typed.xlsx"
        plain.write_bytes(live.bytes)
        cells: dict[tuple[str, str], Value] = {}
        for (name, row), value in random_state(live, 1, ("flanges", "faces", "levels")).items():
            field = live.book.fields[name]
            if value is not None and engines.filters_hold(value):
                cells[field.tab, f"{column_letters(field.column)}{field.row + row + 1}"] = value
        paths.append(engines.type_into(plain, typed, dict(cells)))
    found = engines.recompute_with_libreoffice(paths, tmp_path / "out")
    for path in paths:
        ours = {place: value for place, value in engines.recompute_with_formualizer(path).items() if place[0] in TABS}
        assert len(ours) > 5000
        assert engines.differences(ours, found[path]) == [], path.name
