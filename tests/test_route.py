"""Random spools against the walk: lengths, turns, take-outs, clock, pieces, masses, welds and the words that say them.

The walk (`walk.py`) works a job out from its file and the reference tables alone and shares nothing with the templates.
What the workbook gives is compared with it cell by cell, and laid down through space, part after part.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cutting import live as live_book
from cutting import shop
from live import WORKBOOK, Live, Value, job_of
from paperwork import in_feet, said
from routes import Routes
from walk import FLANGES, Beside, Leg, Piece, Spool, Vector, Walk, between, laid, tangent_length

DEMO = Path(__file__).resolve().parent.parent / "output_examples" / "mill_creek.toml"
SPOOLS_EACH = 60
SEEDS = (1, 2, 3, 4)
CASES = [(seed, units, edition) for seed in SEEDS for units in ("inch", "mm") for edition in ("inch", "mm")]
NEAR = 1e-8
"""Relative: angles go through arc functions in another way than the sheet's."""

Values = dict[str, list[Any]]


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


@dataclass
class Rows:
    """A workbook's values with the rows that belong to a leg, piece or item."""

    values: Values

    def __post_init__(self) -> None:
        self.piece_row = {mark: row for row, mark in enumerate(self.values["cuts.mark"]) if mark}

    def leg(self, leg: Leg, column: str) -> Any:
        return self.values[f"legs.{column}"][leg.row]

    def piece(self, piece: Piece, column: str) -> Any:
        row = self.piece_row[piece.mark]
        table = "pieces" if f"pieces.{column}" in self.values else "cuts"
        return self.values[f"{table}.{column}"][row]

    def items(self, leg: Leg) -> list[Beside]:
        """The items of a leg in the order in which they stand, as the workbook has them."""
        keys = zip(self.values["items.spool"], self.values["items.leg"], strict=True)
        rows = [row for row, key in enumerate(keys) if key == (leg.spool, leg.name)]
        rows.sort(key=lambda row: float(self.values["items.centre"][row]))
        columns = [self.values[f"items.{name}"] for name in ("half", "side_take", "share")]
        return [Beside(*(column[row] for column in columns)) for row in rows]


def same(book: Any, walk: Any) -> bool:
    """Whether the workbook and the walk agree; a blank is None."""
    book = None if book == "" else book
    if book is None or walk is None or isinstance(walk, (str, bool)):
        return bool(book) is walk if isinstance(walk, bool) else book == walk
    return bool(abs(book - walk) <= NEAR * max(1.0, abs(walk)))


def unlike(place: str, pairs: dict[str, tuple[Any, Any]]) -> Iterator[str]:
    for name, (book, walk) in pairs.items():
        if not same(book, walk):
            yield f"{place}: {name}: the workbook has {book!r}, the walk {walk!r}"


def legs_unlike(rows: Rows, spool: Spool) -> Iterator[str]:
    """Where a spool's rows on the Route are not what the walk finds."""
    for leg in spool.legs:
        pairs: dict[str, tuple[Any, Any]] = {
            "spool": (rows.leg(leg, "spool"), leg.spool),
            "leg": (rows.leg(leg, "leg"), leg.name),
            "length": (rows.leg(leg, "length"), leg.length),
            "direction": (rows.leg(leg, "direction"), direction(leg)),
            "turn_start": (rows.leg(leg, "turn_start"), leg.turn_start),
            "turn_end": (rows.leg(leg, "turn_end"), leg.turn_end),
            "od": (rows.leg(leg, "od"), leg.od),
            "wall": (rows.leg(leg, "wall"), leg.wall),
            "share_start": (rows.leg(leg, "share_start"), leg.at_start.gaps),
            "share_end": (rows.leg(leg, "share_end"), leg.at_end.gaps),
            "piece_count": (rows.leg(leg, "piece_count"), len(leg.pieces)),
            "field_welds": (rows.leg(leg, "field_welds"), leg.field_welds),
            "roll_at_end": (rows.leg(leg, "roll_at_end"), leg.roll.hours if leg.roll else None),
            "roll_degrees": (rows.leg(leg, "roll_degrees"), leg.roll.degrees if leg.roll else None),
            "roll_arc": (rows.leg(leg, "roll_arc"), leg.roll.arc if leg.roll else None),
        }
        for at, axis in enumerate("xyz"):
            pairs[f"{axis}_start"] = (rows.leg(leg, f"{axis}_start"), float(leg.start[at]))
            pairs[f"{axis}_end"] = (rows.leg(leg, f"{axis}_end"), float(leg.end[at]))
        for side, end, node in (("start", leg.at_start, leg.node), ("end", leg.at_end, leg.end_node)):
            # where legs cannot meet as they do, the workbook says so, and a take-out more or less tells nothing
            if not node.wrong - {"takeout", "run sizes"}:
                pairs[f"takeout_{side}"] = (rows.leg(leg, f"takeout_{side}"), end.takeout)
                pairs[f"memory_{side}"] = (rows.leg(leg, f"memory_{side}"), end.doubtful)
                pairs[f"role_{side}"] = (rows.leg(leg, f"role_{side}"), end.role or None)
        if not leg.node.wrong | leg.end_node.wrong:
            pairs["shop_welds"] = (rows.leg(leg, "shop_welds"), leg.shop_welds)
            gaps = 1 if leg.make_up is not None else leg.at_start.gaps + leg.at_end.gaps
            pairs["gaps"] = (rows.leg(leg, "gaps"), gaps * rows.values["rules.root_gap"][0])
            if leg.make_up is not None:
                pairs["make_up_difference"] = (rows.leg(leg, "make_up_difference"), leg.make_up - leg.length)
        yield from unlike(f"{leg.spool} {leg.name}", pairs)


def pieces_unlike(rows: Rows, spool: Spool, walk: Walk) -> Iterator[str]:
    """Where a spool's pieces are not what the walk finds."""
    for leg in spool.legs:
        if (leg.node.wrong | leg.end_node.wrong) - {"run sizes"} or any(item.beside is None for item in leg.items):
            continue  # what cannot be made: `test_what_cannot_be_made_is_said`
        for piece in leg.pieces:
            pairs = {
                "spool": (rows.piece(piece, "spool"), leg.spool),
                "leg": (rows.piece(piece, "leg"), leg.name),
                "size": (rows.piece(piece, "size"), leg.size),
                "schedule": (rows.piece(piece, "schedule"), leg.schedule),
                "cut_length": (rows.piece(piece, "cut_length"), piece.cut_length),
                "mass": (rows.piece(piece, "mass"), piece.mass),
                "trim": (rows.piece(piece, "trim"), piece.trim),
                "shrinkage": (rows.piece(piece, "shrinkage"), piece.shrinkage),
                "bevel_face": (rows.piece(piece, "bevel_face"), piece.bevel_face),
                "bevel_depth": (rows.piece(piece, "bevel_depth"), piece.bevel_depth),
                "memory": (rows.piece(piece, "memory"), piece.doubtful),
                "field_weld": (rows.piece(piece, "field_weld"), "FW" if piece.field_ends else None),
            }
            if piece.cut_length is not None:
                dagger = "†" if piece.doubtful else ""
                step = walk.rules["precision"]
                pairs["cut_text"] = (rows.piece(piece, "cut_text"), said(piece.cut_length, step, walk.edition) + dagger)
                if walk.edition == "inch":
                    pairs["cut_feet"] = (rows.piece(piece, "cut_feet"), in_feet(piece.cut_length, step))
            yield from unlike(piece.mark, pairs)
        places = [float(row) for row in sorted(each.centre for each in leg.items)]
        keys = zip(rows.values["items.spool"], rows.values["items.leg"], strict=True)
        found = [rows.values["items.centre"][row] for row, key in enumerate(keys) if key == (leg.spool, leg.name)]
        yield from unlike(f"{leg.spool} {leg.name}", {"items": (len(found), len(places))})
        for at, (book, place) in enumerate(zip(sorted(found), places, strict=True)):
            yield from unlike(f"{leg.spool} {leg.name} item {at + 1}", {"centre": (book, place)})


def totals_unlike(rows: Rows, walk: Walk) -> Iterator[str]:
    """Where the rows of the Spools sheet are not the walk's sums."""
    for at, spool in enumerate(walk.spools):
        if spool.wrong - {"run sizes"}:
            continue
        pieces = [piece for leg in spool.legs for piece in leg.pieces]
        pairs = {
            "mark": spool.mark,
            "legs": len(spool.legs),
            "pieces": len(pieces),
            "pipe": sum(piece.cut_length or 0.0 for piece in pieces),
            "pipe_mass": sum(piece.mass or 0.0 for piece in pieces),
            "shop_welds": sum(leg.shop_welds for leg in spool.legs),
            "field_welds": sum(leg.field_welds for leg in spool.legs),
        }
        yield from unlike(
            spool.mark, {name: (rows.values[f"spools.{name}"][at], value) for name, value in pairs.items()}
        )


# -- lengths and directions in words, written another way than the sheet's ---------------------------------------------


def direction(leg: Leg) -> str:
    """Compass and slope in words."""

    def shown(angle: float) -> str:
        return f"{math.floor(round(angle * 10, 6) + 0.5) / 10:g}°"

    east, north, up = (round(float(each), 12) for each in leg.vector)
    words = []
    if east or north:
        word = "north" if north > 0 else "south" if north < 0 else ""
        if east and north:
            word += f" {shown(math.degrees(math.atan(abs(east / north))))} "
        words.append(word + ("east" if east > 0 else "west" if east < 0 else ""))
    if up:
        slope = f" {shown(math.degrees(math.asin(abs(up) / leg.length)))}" if words else ""
        words.append(("up" if up > 0 else "down") + slope)
    return ", ".join(words)


# -- the tests ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("seed", "units", "edition"), [(0, "inch", "inch"), (0, "inch", "mm"), *CASES])
def test_the_workbook_agrees_with_the_walk(seed: int, units: str, edition: str) -> None:
    walk, rows = walked(seed, units, edition), Rows(worked(seed, units, edition))
    found = [
        *(line for spool in walk.spools for line in legs_unlike(rows, spool)),
        *(line for spool in walk.spools for line in pieces_unlike(rows, spool, walk)),
        *totals_unlike(rows, walk),
        *unlaid(walk, rows),
        *unsaid(walk, rows),
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


def unsaid(walk: Walk, rows: Rows) -> list[str]:
    """A spool that cannot be made has a message in one of its rows at least, one that can has none."""
    found: list[str] = []
    for spool in walk.spools:
        pieces = [piece for leg in spool.legs for piece in leg.pieces]
        told = [rows.leg(leg, "stops") for leg in spool.legs] + [rows.piece(piece, "stops") for piece in pieces]
        if bool("".join(told)) != bool(spool.wrong):
            found.append(f"{spool.mark}: wrong is {spool.wrong or 'nothing'}, and the workbook says {told}")
        for node in spool.nodes:
            for word in node.wrong - {"takeout"}:
                legs = [arm.leg for arm in node.arms]
                if not any(sentence in rows.leg(leg, "stops") for leg in legs for sentence in SENTENCES[word]):
                    found.append(f"{spool.mark}: nothing is said of {word}")
    return found


IN_LINE = "Of three legs at a tee two must be in line."
SENTENCES = {
    "no turn": ["No turn here: use weld."],
    "over 90": ["cannot be made with one elbow"],
    "turns": ["this end makes no turn"],
    "lateral": ["lateral: use other", IN_LINE],
    "enters": ["by run or branch"],
    "run sizes": ["Both legs of the run must have one size."],
    "in line": [IN_LINE],
}


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
