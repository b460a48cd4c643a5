"""Scenes of Flange face, Face steps and Level: a job with every kind of flange and joint, read by chance, on limits,
half, and absurdly.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Mapping, Sequence

import oracles
import yard
from gauges import QUARTERS, number
from live import Live, Place, Value, one_inch
from squareness import (
    ASSEMBLY_SLOPE,
    FACE_LEAST,
    FAR_MOST,
    LEAST_TURN,
    MARKS_LEAST,
    SEALING,
    UNITS,
    Elsewhere,
    Held,
    expected_counts,
    expected_drawing,
    expected_faces,
    expected_levels,
    shown,
    squareness_limit,
)
from staging import Case, Scene
from walk_ends import WideWalk

SHEETS = ("faces", "face_steps", "levels")

# -- a job, and what a fitter types ------------------------------------------------------------------------------------

MORE = """
# a line that falls, flat faces in it
[[spool]]
mark = "Z01"
size = "12"
schedule = "STD"
class = 150
start = "weld_neck_flange"

[[spool.leg]]
east = "10 ft"
fall = "1/4 in/ft"
end = "lap_joint"
inline = [
    { item = "valve", length = "14 in", at = "60 in", ends = "flanged", flange = "weld_neck_flange", facing = "FF" },
]

# threads
[[spool]]
mark = "Z02"
size = "1"
schedule = "80"
class = 150
joint = "threaded"
fitting_class = 3000
start = "threaded_flange"

[[spool.leg]]
east = "20 in"
end = "elbow"

[[spool.leg]]
up = "20 in"
end = "threaded_flange"
"""
"""Beside the yard, which has every kind of item and end but these."""

EN = """
[[spool]]
mark = "Z03"
size = "6"
schedule = "STD"
class = "PN16"
start = "weld_neck_flange"

[[spool.leg]]
north = "60 in"
end = "weld_neck_flange"
"""
"""An EN flange: its table tells no diameter of the raised face."""

BRANCHED = """
[[spool]]
mark = "Z04"
size = "8"
schedule = "STD"
start = "bevel"

[[spool.outlet]]
name = "B1"
on = "L1"
at = "20 in"
kind = "weldolet"
size = "2"
height = "1 1/2 in"

[[spool.outlet]]
name = "B2"
on = "L1"
at = "50 in"
kind = "stub_on"
size = "4"

[[spool.outlet]]
name = "B3"
on = "L1"
at = "70 in"
kind = "stub_on"
size = "2"
schedule = "XS"
clock = 3

[[spool.leg]]
east = "100 in"
end = "cap"

[[spool.leg]]
from = "B1"
up = "18 in"
schedule = "XS"
end = "plain"

[[spool.leg]]
from = "B2"
north = "20 in"
schedule = "STD"
end = "plain"
"""
"""Branches with and without a leg. Nothing is flanged here, so that the walk of the flanges can do without them."""


def walked_text(edition: str) -> str:
    """The spools whose flanges are counted."""
    text = oracles.yard().replace('units = "inch"', f'units = "{edition}"')
    return text + MORE + (EN if edition == "mm" else "")


def text_of(edition: str) -> str:
    """The whole job."""
    return walked_text(edition) + BRANCHED


FACE_READINGS = tuple(f"{mark}_{clock}" for clock in QUARTERS for mark in ("near", "far"))
FACE_COLUMNS = ("way", "marks", *FACE_READINGS)
LEVEL_READINGS = ("first_12", "second_12", "first_3", "second_3")
LEVEL_TYPED = ("clean", "read_in", *LEVEL_READINGS, "meant", "fall", "length_typed")

Row = Mapping[str, Value]


def table(name: str, columns: Sequence[str], rows: Sequence[Row]) -> dict[Place, Value]:
    """Rows of a table, with what they do not say blank."""
    return {(f"{name}.{column}", at): row.get(column) for at, row in enumerate(rows) for column in columns}


class Fitter:
    """Reads faces and leans as a fitter would.

    Args:
        book: the workbook as built.
        seed: the same one gives the same readings.
    """

    def __init__(self, book: Live, seed: int) -> None:
        self.rng = random.Random(seed)
        self.book, self.edition, self.inch = book, book.edition, one_inch(book.edition)
        self.ods = [number(value) for value in book.column("flanges.od")]
        self.seals = [number(value) for value in book.column("flanges.raised_face_od")]
        pipes, legs = book.column("legs.od"), book.column("joints.leg_row")
        self.pipes = [None if number(leg) is None else number(pipes[int(leg) - 1]) for leg in legs]
        self.roots = [number(value) for value in book.column("joints.root_diameter")]

    def faces(self, of: Callable[[int, float], Row]) -> dict[Place, Value]:
        """A row for each flange, and for a few rows that have none."""
        count = sum(od is not None for od in self.ods)
        rows = [of(row, od or 6 * self.inch) for row, od in enumerate(self.ods[: count + 3])]
        return table("faces", FACE_COLUMNS, rows)

    def levels(self, of: Callable[[int, float], Row]) -> dict[Place, Value]:
        """A row for each joint, and for a few rows that have none."""
        count = sum(od is not None for od in self.pipes)
        rows = [of(row, od or 6 * self.inch) for row, od in enumerate(self.pipes[: count + 3])]
        return table("levels", LEVEL_TYPED, rows)

    def face(self, up: float, side: float, mean: float = 0.0, warp: float = 0.0, way: str | None = "tape") -> Row:
        """A face with these slopes, read at marks so far apart as somebody likes.

        Args:
            up, side: slope of the face at 12 and at 3.
            mean, warp: slopes that a square that is off and a face that is not flat add.
            way: tape or gap, None for a blank.
        """
        marks = self.rng.choice([2.0, 4.0, 6.5, 10.0]) * self.inch
        found: dict[str, Value] = {"way": way, "marks": marks}
        slopes = (up + mean + warp, side + mean - warp, -up + mean + warp, -side + mean - warp)
        for clock, slope in zip(QUARTERS, slopes, strict=True):
            near = self.rng.choice([0.5, 1.0, 2.25]) * self.inch
            if way == "gap":
                gap = slope * marks
                found[f"near_{clock}"], found[f"far_{clock}"] = (gap, None) if gap >= 0 else (None, -gap)
                if self.rng.random() < 0.3:
                    found[f"near_{clock}"], found[f"far_{clock}"] = near + gap, near
            else:
                found[f"near_{clock}"], found[f"far_{clock}"] = near, near + slope * marks
        return found

    def chance_face(self, row: int, od: float) -> Row:
        """A face that is true, nearly so, or out; now and then something is not read."""
        rng = self.rng
        tilt = (
            squareness_limit(od, self.edition) / od * rng.choice([0, 0.3, 0.8, 0.95, 1.3, 2, 6]) * rng.uniform(0.9, 1.1)
        )
        turn = rng.uniform(0, 2 * math.pi)
        mean, warp = (rng.choice([0, 0.2, 1.5]) * rng.uniform(-1, 1) * FACE_LEAST[self.edition] / od for _ in range(2))
        way = rng.choice([None, "tape", "gap", "gap"])
        found = dict(self.face(tilt * math.cos(turn), tilt * math.sin(turn), mean, warp, way))
        if rng.random() < 0.3:
            for name in rng.sample(FACE_READINGS, rng.randint(1, 5)):
                found[name] = None
        if rng.random() < 0.1:
            found["marks"] = rng.choice([None, MARKS_LEAST[self.edition], 0.9 * MARKS_LEAST[self.edition], "x"])
        return found

    def sparse_face(self, row: int, od: float) -> Row:
        """Some clocks read, some not, with marks and without, far out or not at all."""
        rng = self.rng
        tilt = 3 * squareness_limit(od, self.edition) / od * rng.choice([0, 1])
        turn = rng.choice([0, 1, 2, 3]) * math.pi / 2
        found = dict(self.face(tilt * math.cos(turn), tilt * math.sin(turn), way=rng.choice([None, "tape", "gap"])))
        least = MARKS_LEAST[self.edition]
        found["marks"] = rng.choice([found["marks"]] * 5 + [None, least, least - 5e-10, least - 2e-9, 0.0, -least, "x"])
        for clock in QUARTERS:
            how = rng.random()
            if how < 0.45:
                found[f"near_{clock}"] = None
            if 0.3 < how < 0.7:
                found[f"far_{clock}"] = None
        if rng.random() < 0.15:
            found = {"marks": found["marks"], "way": found["way"]}
        return found

    def lean(
        self, first: tuple[float, float], lean: tuple[float, float], way: str, own: float = 0.0
    ) -> dict[str, Value]:
        """Two parts, the second leaning to the first by so much, read with a level that is off by so much."""
        angles = zip(LEVEL_READINGS, (first[0], first[0] + lean[0], first[1], first[1] + lean[1]), strict=True)
        return {"clean": "yes", "read_in": way} | {name: shown(angle + own, way) for name, angle in angles}

    def slight(self, od: float) -> float:
        """The lean that is just within, in degrees."""
        return math.degrees(math.atan(squareness_limit(od, self.edition) / od))

    def chance_lean(self, row: int, od: float) -> Row:
        """Two parts in line, nearly so, or out; now and then something is not read."""
        rng = self.rng
        size = self.slight(od) * rng.choice([0, 0.1, 0.6, 0.95, 1.4, 3, 10]) * rng.uniform(0.9, 1.1)
        turn = rng.uniform(0, 2 * math.pi)
        first = rng.uniform(-0.5, 0.5) * rng.choice([1, 3]), rng.uniform(-0.5, 0.5)
        way = rng.choice(UNITS)
        found = self.lean(first, (size * math.cos(turn), size * math.sin(turn)), way, rng.uniform(-0.2, 0.2))
        found["clean"] = rng.choice(["yes", "yes", "yes", "no", None])
        if way == "degrees" and rng.random() < 0.5:
            found["read_in"] = None
        found["meant"] = rng.choice([None, None, "in line", "plumb"])
        if rng.random() < 0.25:
            found["fall"] = rng.choice([0.0, 0.1, -0.25, 1.0]) * (1 if self.edition == "inch" else 80)
        if rng.random() < 0.25:
            lengths: list[Value] = [10.0 * self.inch, 100.0 * self.inch, 0.0, -5.0 * self.inch, "x"]
            found["length_typed"] = rng.choice(lengths)
        if rng.random() < 0.25:
            for name in rng.sample(LEVEL_READINGS, rng.randint(1, 3)):
                found[name] = None
        return found

    def sparse_lean(self, row: int, od: float) -> Row:
        """Some of the four read, some not, far out or in line."""
        rng = self.rng
        size = rng.choice([0.0, 3 * self.slight(od), -3 * self.slight(od)])
        found = self.lean((0.0, 0.0), (size, 0.0) if rng.random() < 0.5 else (0.0, size), "degrees")
        found["clean"] = rng.choice(["yes", "no", None])
        which = rng.randrange(16)
        for at, name in enumerate(LEVEL_READINGS):
            if which >> at & 1:
                found[name] = None
        return found


# -- the cases ---------------------------------------------------------------------------------------------------------

NEARLY = (0.0, 5e-10, -5e-10, 3e-9, -3e-9)
"""On a limit, and so little off it that it makes no difference or just does."""


def squared(fitter: Fitter, tilt: float, od: float, clock: int) -> Row:
    """A face that stands forward at 12, 3, 6 or 9 by so much across its diameter."""
    slope = tilt / od * (1 if clock < 2 else -1)
    return fitter.face(*((0.0, slope) if clock % 2 else (slope, 0.0)))


def limit_faces(fitter: Fitter) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Faces that are out by just as much as something allows: shop, assembly, the seal, what points, what is said."""
    edition = fitter.edition
    least, pointing = (1 / 64, 0.005) if edition == "inch" else (0.1, 0.1)

    def limits(row: int, od: float) -> list[float]:
        seal = fitter.seals[row] or od
        return [squareness_limit(od, edition), ASSEMBLY_SLOPE[edition] * od, SEALING[edition] * od / seal]

    for at in range(3):

        def on(row: int, od: float, at: int = at) -> Row:
            return squared(fitter, limits(row, od)[at] + NEARLY[row % 5], od, row % 4)

        yield f"faces on limit {at}", fitter.faces(on)

    def tiny(row: int, od: float) -> Row:
        sizes = (0.0, 0.3 * least, 0.6 * least, 0.9 * least, pointing, pointing - 5e-10, pointing - 3e-9, 0.49 * least)
        return squared(fitter, sizes[row % len(sizes)], od, row // 2 % 4)

    yield "faces nearly true", fitter.faces(tiny)

    def uneven(row: int, od: float) -> Row:
        off = FACE_LEAST[edition] + NEARLY[row % 5] * 1e3
        sign = 1 if row % 3 else -1
        mean, warp = ((sign * off / od, 0.0), (0.0, sign * off / od), (sign * off / od, 1.5 * off / od))[row // 5 % 3]
        return fitter.face(0.0, 0.0, mean, warp)

    yield "faces not flat", fitter.faces(uneven)

    def one_pair(row: int, od: float) -> Row:
        found = dict(squared(fitter, squareness_limit(od, edition) * (1, 1.01, 0.99)[row % 3], od, row % 4))
        for clock in (("3", "9"), ("12", "6"))[row % 2]:
            found[f"far_{clock}"] = None
        return found

    yield "faces, one pair", fitter.faces(one_pair)

    def both_pairs(row: int, od: float) -> Row:
        slope = 0.8 * squareness_limit(od, edition) / od
        return fitter.face(slope * (1, -1)[row % 2], slope * (1, -1)[row // 2 % 2], way=("tape", "gap")[row // 4 % 2])

    yield "faces, both pairs together", fitter.faces(both_pairs)

    def unmarked(row: int, od: float) -> Row:
        found: dict[str, Value] = {**fitter.face(0.01, 0.0, way=("tape", "gap")[row % 2]), "marks": None}
        if row % 3:
            found = {"marks": None, f"{('near', 'far')[row % 2]}_{QUARTERS[row // 2 % 4]}": fitter.inch}
        return found

    yield "faces without their marks", fitter.faces(unmarked)


def gap_rules(fitter: Fitter) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Faces that are out, while the rules leave much room or little in the root gap, or are blank."""
    inch = fitter.inch
    gap, wedge = inch / 8, 0.05 * inch
    rooms_tried = ((4, 4), (1.2, 0.5), (0.5, 1.2), (0.7, 0.6), (0.1, 0.2), (-1, 2), (2, -1), (-1, -1))

    def out(row: int, od: float) -> Row:
        tilt = squareness_limit(od, fitter.edition) * (1.05, 1.5, 2, 3)[row % 4]
        return squared(fitter, tilt, od, row // 2 % 4)

    def rules(low: Value, aimed: Value, high: Value) -> dict[Place, Value]:
        return {("rules.root_gap_min", 0): low, ("rules.root_gap", 0): aimed, ("rules.root_gap_max", 0): high}

    faces = fitter.faces(out)
    for close, widen in rooms_tried:
        typed = rules(gap - close * wedge, gap, gap + widen * wedge)
        yield f"room to close {close}, to open {widen}", faces | typed
    for at in range(3):
        known: list[Value] = [gap - wedge, gap, gap + wedge]
        known[at] = None
        yield f"rule {at} blank", faces | rules(*known)
    for turn, shift in enumerate((-1.0, -0.3, 0.3, 1.0)):
        # welds whose gap is read, on its limits and within; the others go by Rules
        read: dict[Place, Value] = {
            (f"joints.gap_{clock}", at): gap + shift * wedge
            for at in range(len(fitter.roots)) if (at + turn) % 3 for clock in QUARTERS
        }  # fmt: skip
        yield f"gaps read {shift}", faces | rules(gap - wedge, None if shift == 1.0 else gap, gap + wedge) | read
    yield "no land", faces | {("rules.root_face", 0): None}


def lean_cases(fitter: Fitter) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Leans on a limit, leans that point nowhere, far ends, falls, slips of the keys."""
    inch, edition = fitter.inch, fitter.edition

    def on(row: int, od: float) -> Row:
        tangent = (squareness_limit(od, edition) + NEARLY[row % 5]) / od
        size = math.degrees(math.atan(tangent)) * (1 if row % 3 else -1)
        found = fitter.lean((0.0, 0.0), (size, 0.0) if row % 2 else (0.0, size), UNITS[row % 3])
        if row % 7 == 6:
            found["first_3" if row % 2 else "first_12"] = None
        return found

    yield "leans on the limit", fitter.levels(on)

    def tiny(row: int, od: float) -> Row:
        size = LEAST_TURN * (0.0, 0.5, 0.999, 1.0, 1.001, -1.0, -1.5)[row % 7] + (0.0, 5e-10, -5e-10)[row % 3]
        return fitter.lean((0.0, 0.0), (size, 0.0) if row % 2 else (0.0, size), "degrees")

    yield "leans that point nowhere", fitter.levels(tiny)

    def far(row: int, od: float) -> Row:
        size = fitter.slight(od) * (0.5, 0.9, 1.5)[row % 3]
        off = FAR_MOST[edition] + NEARLY[row % 5] * 1e3
        return fitter.lean((0.0, 0.0), (size, 0.0), "degrees") | {"length_typed": off / math.tan(math.radians(size))}

    yield "far ends", fitter.levels(far)

    def falls(row: int, od: float) -> Row:
        fall = (None, 0.0, 0.25, -0.25, 2.0, 0.001, 0.25)[row % 7]
        scale = 1 if edition == "inch" else 80
        climb = 0.0 if fall is None else -math.degrees(math.atan(fall / 12))
        off = (0.0, 0.5, -0.9, 1.01, 3.0)[row // 2 % 5] * fitter.slight(od)
        found = fitter.lean((climb + off, 0.0), (-climb - off, 0.0) if row % 3 else (0.0, 0.0), "degrees")
        found["fall"] = None if fall is None else fall * scale
        found["meant"] = ("plumb", None, "plumb", "in line")[row % 4]
        if row % 6 == 5:
            found["first_12"] = None
        return found

    yield "falls", fitter.levels(falls)

    def lengths(row: int, od: float) -> Row:
        found = fitter.lean((0.1, 0.1), (0.05 + 0.01 * row, -0.3), "degrees")
        return found | {"length_typed": (None, 0.5 * inch, 1.0, 0.0, -1.0, 0.6, "x")[row % 7]}

    yield "lengths", fitter.levels(lengths)

    def absurd(row: int, od: float) -> Row:
        values = (1e6, -1e6, 200.0, -200.0, 89.0, -46.0, 45.5, 1e300, 0.0, "x", -1e300, 90.5)
        found: dict[str, Value] = {name: values[(row * 5 + at) % 12] for at, name in enumerate(LEVEL_READINGS)}
        return found | {"read_in": (*UNITS, "x", None)[row % 5], "clean": "yes", "fall": (None, 1e3, "x")[row % 3]}

    yield "absurd leans", fitter.levels(absurd)
    for at, usual in enumerate((*UNITS, None, "x")):

        def silent(row: int, od: float) -> Row:
            way = (None, *UNITS)[row % 4]
            found = fitter.lean((0.3, -0.1), (0.2 + 0.01 * row, 0.1), str(way or "degrees"))
            return found | {"read_in": way}

        pairs: tuple[tuple[Value, Value], ...] = (
            (0.4, 0.1),
            (-1500.0, 20.0),
            (30.0, 1500.0),
            (None, 1.0),
            (1500.0, -2000.0),
        )
        proofs: dict[Place, Value] = {("levels.proof_one", 0): pairs[at][0], ("levels.proof_two", 0): pairs[at][1]}
        yield f"reads in {usual}", fitter.levels(silent) | proofs | {("levels.usual", 0): usual}


def drawn_cases(fitter: Fitter) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Flanges to draw: of each number of holes, turned, wanted otherwise, pins apart, not read, and none."""
    labels, counts = (fitter.book.column(f"flanges.{name}") for name in ("label", "bolt_count"))
    known = sorted({count for count in counts if count is not None})
    for at, count in enumerate(known):
        rows = [row for row, each in enumerate(counts) if each == count]
        row = rows[-1]
        turn = 360 / count
        yield (
            f"{count:g} holes",
            {
                ("drilled.flange", 0): labels[row],
                ("drilled.times", 0): (5, 1, None)[at % 3],
                ("flanges.level_degrees", row): (0.02, -0.1, 0.3, 0.2)[at % 4] * turn,
                ("flanges.wanted", row): ("on centre", None, "angle")[at % 3],
                ("flanges.wanted_angle", row): 7.0,
                ("flanges.apart", row): (2, 1, 3)[at % 3],
            },
        )
        yield f"{count:g} holes, not read", {("drilled.flange", 0): labels[rows[0]]}
    yield "nobody's flange", {("drilled.flange", 0): "nobody"}
    yield "the first flange", {("drilled.flange", 0): None}


def odd_legs(fitter: Fitter) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Pipes and flanges that no table has, and a land so far below nothing that no root is left."""
    book = fitter.book
    legs = book.column("legs.od")
    odd = {row: ("legs.schedule", "none") if row % 3 else ("legs.size", "3-1/2") for row in range(0, len(legs), 2)}
    named: dict[Place, Value] = {(name, row): value for row, (name, value) in odd.items() if legs[row] is not None}
    classes: dict[Place, Value] = {("details.flange_class", row): "9000" for row in range(8)}
    yield "odd pipes", named | classes | {("drilled.flange", 0): book.column("flanges.label")[1]}
    stubs = [row for row, kind in enumerate(book.column("legs.end")) if kind == "lap_joint"]
    yield "stub ends for a ring", {("more.facing", row): "RTJ" for row in stubs}
    leg = int(book.column("flanges.leg_row")[0]) - 1
    none = 2 * book.column("legs.wall")[leg] - legs[leg]
    yield "no root left", {("rules.root_face", 0): none}
    yield "hardly a root left", {("rules.root_face", 0): none + 0.5}


def left_over(fitter: Fitter) -> dict[Place, Value]:
    """Flanges typed in rows that no leg and no item has: nobody's, and not counted."""
    leg, item = (fitter.book.column(f"{table}.spool").index(None) for table in ("legs", "items"))
    return {
        ("legs.end", leg): "weld_neck_flange",
        ("items.ends", item): "flanged",
        ("items.flange", item): "weld_neck_flange",
    }


Model = Callable[[Held], dict[Place, Value]]


def cases_of(book: Live) -> tuple[dict[Place, Value], list[Case]]:
    """What is typed at first, and every case."""
    edition = book.edition
    walk = WideWalk(walked_text(edition), edition)

    def counts(held: Held) -> dict[Place, Value]:
        return expected_counts(held, walk)

    faces, leans, drawn = (expected_faces,), (expected_levels,), (expected_drawing,)
    every: tuple[Model, ...] = (*faces, *leans, *drawn, counts)
    fitter = Fitter(book, 1)
    base = fitter.faces(fitter.chance_face) | fitter.levels(fitter.chance_lean) | next(drawn_cases(fitter))[1]
    tried: list[tuple[str, dict[Place, Value], tuple[Model, ...]]] = [("chance", base, every)]
    for seed in (2, 3, 4):
        other = Fitter(book, seed)
        tried.append((f"faces by chance {seed}", other.faces(other.chance_face), faces))
        tried.append((f"leans by chance {seed}", other.levels(other.chance_lean), leans))
        tried.append((f"faces half read {seed}", other.faces(other.sparse_face), faces))
        tried.append((f"leans half read {seed}", other.levels(other.sparse_lean), leans))
    blank = fitter.faces(lambda row, od: {}) | fitter.levels(lambda row, od: {})
    tried.append(("blank", blank, (*faces, *leans)))
    tried += [(name, typed, faces) for name, typed in (*limit_faces(fitter), *gap_rules(fitter))]
    tried += [(name, typed, leans) for name, typed in lean_cases(fitter)]
    tried += [(name, typed, drawn) for name, typed in drawn_cases(fitter)]
    tried += [(name, typed, (*faces, *leans, *drawn)) for name, typed in odd_legs(fitter)]
    tried.append(("left over", left_over(fitter), (counts,)))
    cases: list[Case] = []
    elsewhere = Elsewhere(book)
    for name, typed, models in tried:
        # a rule moves no flange, though it may well move a joint; but without a root gap items have no place
        rules_still = models == faces and typed.get(("rules.root_gap", 0), 0.0) is not None
        held = elsewhere.held(base | typed, frozenset({"rules"} if rules_still else ()))
        wanted: dict[Place, Value] = {}
        for model in models:
            wanted |= model(held)
        cases.append(Case(name, typed, wanted, own=not cases))
    book.calculate()
    return base, cases


def scenes() -> list[Scene]:
    """One job in each edition."""
    return [_scene(edition) for edition in ("inch", "mm")]


def _scene(edition: str) -> Scene:
    return Scene(f"faces {edition}", edition, lambda: text_of(edition), cases_of, SHEETS, yard.SHEETS)
