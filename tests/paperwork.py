"""A second opinion on what Cut steps, Cut list, Route, Spools and Rules print, from the walk and from what was typed.

`walk.py` says where each pipe lies; here it is put into the columns and the words of the sheets. Nothing of the
templates is used.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import numpy as np
from gauges import OUTSIDE as OFF
from gauges import WITHIN as RIGHT
from gauges import Limits, Place, Typed, Value, clock_text, end_words, number, pieces_of, pipe_begins
from walk import Item, Leg, Node, Piece, Spool, Vector, Walk

NOT_CUT = "… not cut yet"
HAIR = 1e-9
FLANGES = {"weld_neck_flange", "slip_on_flange", "socket_weld_flange", "lap_joint"}


def rounded(length: float, step: float) -> int:
    """A length in whole steps, a half going up."""
    return math.floor(round(abs(length) / step, 6) + 0.5)


def said(length: float, step: float, edition: str) -> str:
    """A length as a fitter says it: 36-1/2 in the job's fraction of an inch, or millimetres."""
    steps = rounded(length, step)
    sign = "-" if length < 0 and steps else ""
    if edition == "mm":
        return sign + f"{round(steps * step, 3):.15g}"
    whole, part = divmod(steps * Fraction(str(step)).limit_denominator(64), 1)
    return sign + ("-".join(str(each) for each in (whole, part) if each) or "0")


def neighbours(leg: Leg, at: int) -> tuple[Item | None, Item | None]:
    """The items before and after a pipe of a leg."""
    shift = int(any(each.get("against") == "start" for each in leg.said.get("inline", [])))
    before, after = at + shift - 1, at + shift
    return (leg.items[before] if before >= 0 else None), (leg.items[after] if after < len(leg.items) else None)


def sound(leg: Leg) -> bool:
    """Whether a leg can be made, so that take-outs mean what they say."""
    return not (leg.node.wrong | leg.end_node.wrong) and all(item.beside is not None for item in leg.items)


def expected_cuts(walk: Walk, typed: Typed) -> dict[Place, Value]:
    """What Cut steps and Cut list show for each pipe, by name and row."""
    found: dict[Place, Value] = {}
    spools = {said["mark"]: said for said in walk.job["spool"]}
    lengths: list[float] = []
    masses: list[float] = []
    for row, (leg, piece) in enumerate(pieces_of(walk)):
        if not sound(leg):
            continue
        line = dict(_cut(walk, typed, row, leg, piece))
        found |= {(name, row): value for name, value in line.items()}
        length, mass = line["pieces.cut_length"], line["pieces.mass"]
        lengths += [length] if isinstance(length, float) else []
        masses += [mass] if isinstance(mass, float) else []
        spool = spools[leg.spool]
        revision = str(spool.get("revision", ""))
        drawing = str(spool.get("drawing", "")) + (f" rev {revision}" if revision else "")
        found["pieces.drawing", row] = drawing or None
        as_cut, cut_to = number(typed.get(("pieces.as_cut", row))), typed.get(("pieces.cut_to", row))
        off = as_cut - length if as_cut is not None and isinstance(length, float) else None
        found["pieces.difference", row] = off
        verdict = NOT_CUT
        if off is not None:
            same = str(cut_to or revision).casefold() == revision.casefold()
            right = abs(off) <= walk.rules["precision"] + HAIR and same
            verdict = RIGHT if right else OFF
        found["pieces.verdict", row] = verdict
    if all(map(sound, walk.legs)):
        found["cutlist.pipe_total", 0] = math.fsum(lengths)
        found["cutlist.mass_total", 0] = math.fsum(masses)
        found["route.pieces_total", 0] = float(len(pieces_of(walk)))
    return found


def _cut(walk: Walk, typed: Typed, row: int, leg: Leg, piece: Piece) -> Iterator[tuple[str, Value]]:
    left, right = neighbours(leg, leg.pieces.index(piece))
    first = pipe_begins(leg)
    takes = (left.beside if left else first.at_start.takeout, right.beside if right else leg.at_end.takeout)
    measured = [number(typed.get((f"cuts.measured_{side}", row))) for side in ("start", "end")]
    distance = (right.centre if right else leg.length) - (left.centre if left else 0.0)
    inline = math.fsum(item.half for item in (left, right) if item)
    doubts = [left.doubtful if left else first.at_start.doubtful, right.doubtful if right else leg.at_end.doubtful]
    dagger = "†" if any(doubt and hand is None for doubt, hand in zip(doubts, measured, strict=True)) else ""
    net = None
    if piece.begins is not None and piece.stops is not None:
        net = piece.stops - piece.begins + piece.shrinkage
        gaskets = 0.0 if left else walk.gasket(first.node), 0.0 if right else walk.gasket(leg.end_node)
        for take, hand, gasket in zip(takes, measured, gaskets, strict=True):
            if hand is not None and take is not None:
                net += take - hand - gasket  # what is measured is the fitting alone
    cut = None if net is None or net + piece.trim <= HAIR else net + piece.trim
    yield "cuts.mark", piece.mark
    yield "cuts.distance", distance
    yield "cuts.takeout_start", takes[0]
    yield "cuts.takeout_end", takes[1]
    yield "cuts.inline", inline
    yield "cuts.gaps", math.fsum(piece.shares) * walk.rules["root_gap"]
    yield "cuts.shrinkage", piece.shrinkage
    yield "cuts.trim", piece.trim
    yield "cuts.net", net
    yield "cuts.cut_length", cut
    mass = None if cut is None else cut * walk.facts.mass(leg.pipe)
    yield "cuts.mass", mass
    words, step, edition = None, walk.rules["precision"], walk.edition
    if cut is not None and net is not None:
        words = f"cut {said(cut, step, edition)}"
        if piece.trim:  # what is said adds up: the net length is what the trim leaves of the cut length
            left_over = (rounded(cut, step) - rounded(piece.trim, step)) * step
            words += f" = net {said(left_over, step, edition)} + {said(piece.trim, step, edition)} trim"
        words += f" {dagger}" if dagger else ""
    yield "cuts.steps_said", words
    yield "pieces.spool", leg.spool
    yield "pieces.mark", piece.mark
    yield "pieces.leg", leg.name
    yield "pieces.size", leg.size
    yield "pieces.schedule", leg.schedule
    yield "pieces.od", leg.od
    yield "pieces.wall", leg.wall
    yield "pieces.cut_length", cut
    yield "pieces.mass", mass
    yield "pieces.cut_text", None if cut is None else said(cut, step, edition) + dagger
    if walk.edition == "inch":
        yield "pieces.cut_feet", None if cut is None else in_feet(cut, step)
    yield "pieces.bevel_face", piece.bevel_face
    yield "pieces.bevel_depth", piece.bevel_depth
    yield "pieces.field_weld", "FW" if piece.field_ends else None
    goes_to = (left.name if left else end_words(first, True)), (right.name if right else end_words(leg, False))
    yield "pieces.start_item", goes_to[0]
    yield "pieces.end_item", goes_to[1]


def in_feet(length: float, step: float) -> str:
    """3'-4-3/8": feet, inches, fraction."""
    feet, rest = divmod(rounded(length, step) * Fraction(str(step)).limit_denominator(64), 12)
    whole, part = divmod(rest, 1)
    return f"{feet}'-{whole}" + (f"-{part}" if part else "") + '"'


def expected_ends(walk: Walk) -> dict[Place, Value]:
    """Where each pipe end goes, as Ends says it."""
    found: dict[Place, Value] = {}
    for row, (leg, piece) in enumerate(pieces_of(walk)):
        left, right = neighbours(leg, leg.pieces.index(piece))
        found["ends.goes_to", 2 * row] = left.name if left else end_words(pipe_begins(leg), True)
        found["ends.goes_to", 2 * row + 1] = right.name if right else end_words(leg, False)
    return found


def expected_route(walk: Walk) -> dict[Place, Value]:
    """What Route says in words, and what other sheets repeat of it, by name and row."""
    found: dict[Place, Value] = {}
    for leg in walk.legs:
        found["details.spool", leg.row] = leg.spool
        found["details.leg", leg.row] = leg.name
        found["details.end", leg.row] = leg.at_end.kind
        told = None
        if leg.roll:
            arc = said(leg.roll.arc, walk.rules["precision"], walk.edition)
            told = f"{clock_text(leg.roll.hours)}, {leg.roll.degrees}°, arc {arc}"
        found["legs.roll_said", leg.row] = told
        found["legs.upright", leg.row] = float(math.hypot(leg.way[0], leg.way[1]) < 0.001)
    return found


def expected_boxes(walk: Walk) -> dict[Place, Value]:
    """What Envelope measures of each spool that can be made, by name and row."""
    found: dict[Place, Value] = {}
    for row, spool in enumerate(walk.spools):
        if spool.wrong:
            continue
        least, most = _box(walk, spool)
        sides = [float(side) for side in most - least]
        for name, side in zip(("east", "north", "up"), sides, strict=True):
            found[f"envelopes.{name}", row] = side
        found["envelopes.diagonal", row] = math.hypot(*sides)
        first, last = as_it_leaves(walk, spool.legs[0])[0], as_it_leaves(walk, spool.legs[-1])[1]
        found["envelopes.straight", row] = math.hypot(*(last - first))
    return found


def circle(middle: Vector, way: Vector, diameter: float, points: int = 20000) -> Vector:
    """Points round a circle that stands square to a direction."""
    across = np.cross(way, np.eye(3)[int(np.argmin(np.abs(way)))])
    across = across / math.hypot(*across)
    over = np.cross(way, across)
    turns = np.linspace(0.0, 2 * math.pi, points, endpoint=False)
    found: Vector = middle + diameter / 2 * (np.outer(np.cos(turns), across) + np.outer(np.sin(turns), over))
    return found


def tangent(walk: Walk, node: Node) -> float:
    """From where an elbow's curve begins to its work point, 0 where a corner is none or is taken square."""
    if node.kind not in ("elbow", "elbow_short_radius") or len(node.arms) != 2 or node.first:
        return 0.0
    one, two = node.arms[0].leg, node.arms[1].leg
    if "takeout" in one.said or "takeout_out" in one.said:
        return 0.0
    row = walk.facts.row("elbow", size=one.size)
    radius = walk.facts.value(row, "long_90" if node.kind == "elbow" else "short_90")
    assert radius is not None
    return radius * math.tan(math.acos(float(one.way @ two.way)) / 2)


def round_corner(one: Leg, two: Leg, along: float) -> list[Vector]:
    """Circles on a curve where it runs square to east, north or up."""
    turn = math.acos(float(one.way @ two.way))
    inwards = two.way - math.cos(turn) * one.way
    inwards = inwards / math.hypot(*inwards)
    radius = along / math.tan(turn / 2)
    found = []
    for axis in range(3):
        angle = math.atan2(one.way[axis], -inwards[axis]) % math.pi
        if angle < turn:
            way = math.cos(angle) * one.way + math.sin(angle) * inwards
            middle = one.end - along * one.way
            middle = middle + radius * (math.sin(angle) * one.way + (1 - math.cos(angle)) * inwards)
            found.append(circle(middle, way, max(one.od, two.od)))
    return found


def as_it_leaves(walk: Walk, leg: Leg) -> tuple[Vector, Vector]:
    """The ends of a leg as it leaves the shop: trim is still on a loose end, a field weld's gap is not yet there."""
    gap = walk.rules["root_gap"]
    first, last = leg.start, leg.end
    loose = {"bevel", "plain", "weld"}
    if leg.node.first and leg.node.kind in loose:
        trim = walk.length(leg.node.said.get("start_trim", 0))
        first = first - (trim - leg.at_start.gaps * gap) * leg.way
    if len(leg.end_node.arms) == 1 and leg.end_node.kind in loose:
        last = last + (walk.length(leg.said.get("trim", 0)) - leg.at_end.gaps * gap) * leg.way
    return first, last


def _box(walk: Walk, spool: Spool) -> tuple[Vector, Vector]:
    """The least and the most that points on the outside of pipes, flanges and items have east, north and up."""
    points: list[Vector] = []

    def flange(leg: Leg, flange_class: str) -> tuple[float, float]:
        by_pn = flange_class.startswith("PN") and walk.edition == "mm"
        row = walk.facts.row("flange_en" if by_pn else "flange", size=leg.size, **{"class": flange_class})
        return walk.facts.value(row, "od") or 0.0, walk.facts.value(row, "thickness") or 0.0

    for leg in spool.legs:
        first, last = as_it_leaves(walk, leg)
        first = first + tangent(walk, leg.node) * leg.way
        turning = tangent(walk, leg.end_node)
        last = last - turning * leg.way
        points += [circle(first, leg.way, leg.od), circle(last, leg.way, leg.od)]
        if turning:
            points += round_corner(leg, leg.end_node.arms[1].leg, turning)
        if leg.node.first and leg.node.kind in FLANGES:
            wide, thick = flange(leg, str(leg.node.spool.get("class", leg.flange_class)))
            points += [circle(first, leg.way, wide), circle(first + thick * leg.way, leg.way, wide)]
        if leg.node.first and leg.node.kind in ("reducer", "eccentric_reducer"):
            before = walk.facts.value(walk.facts.row("nominal_size", size=str(leg.node.spool["size"])), "od")
            points.append(circle(np.zeros(3), leg.way, before or 0.0))
        if leg.at_end.kind in FLANGES:
            wide, thick = flange(leg, leg.flange_class)
            points += [circle(last, leg.way, wide), circle(last - thick * leg.way, leg.way, wide)]
        for item in leg.items:
            said = item.said
            if said["ends"] in ("flanged", "wafer"):
                wide, thick = flange(leg, str(said.get("class", leg.flange_class)))
                out = item.half + (0.0 if "takes" in said else thick)
                for side in (max(0.0, item.centre - out), min(leg.length, item.centre + out)):
                    points.append(circle(leg.start + side * leg.way, leg.way, max(wide, leg.od)))
    every = np.concatenate(points)
    return every.min(axis=0), every.max(axis=0)


def expected_rules(walk: Walk, typed: Typed) -> dict[Place, Value]:
    """What Rules works out of its limits."""
    said_in: dict[str, Any] = walk.job.get("rules", {})
    procedure = typed.get(("rules.procedure", 0), said_in.get("procedure"))
    standing = f"within the limits typed here, procedure {procedure}"
    if not procedure:
        standing = "limits are this book's defaults, not your procedure's"
    step, inch = walk.rules["precision"], 1.0 if walk.edition == "inch" else 25.4
    limits = Limits(walk, typed)
    low, aimed, high = (limits[name] for name in ("root_gap_min", "root_gap", "root_gap_max"))
    silent: dict[Place, Value] = {("rules.check_4", 0): None, ("rules.check_5", 0): None}
    if low is not None and aimed is not None and high is not None:
        silent |= {("rules.check_1", 0): None} if low <= aimed else {}
        silent |= {("rules.check_2", 0): None} if aimed <= high else {}
        silent |= {("rules.check_3", 0): None} if limits["hi_lo_max"] is not None else {}
    return silent | {
        ("rules.standing", 0): standing,
        ("rules.step", 0): step,
        ("rules.steps_per_inch", 0): float(math.floor(inch / step + 0.5)),
        ("rules.steps_per_foot", 0): float(math.floor(12 * inch / step + 0.5)),
        ("rules.gauge_per_inch", 0): 64.0 if walk.edition == "inch" else 254.0,
    }


def expected_spools(walk: Walk) -> dict[Place, Value]:
    """What Spools adds up, by name and row, for spools that can be made."""
    found: dict[Place, Value] = {}
    for row, spool in enumerate(walk.spools):
        if spool.wrong:
            continue
        pieces = [piece for leg in spool.legs for piece in leg.pieces]
        found["spools.legs", row] = float(len(spool.legs))
        found["spools.pieces", row] = float(len(pieces))
        found["spools.pipe", row] = math.fsum(piece.cut_length or 0.0 for piece in pieces)
        found["spools.pipe_mass", row] = math.fsum(piece.mass or 0.0 for piece in pieces)
        found["spools.shop_welds", row] = float(sum(leg.shop_welds for leg in spool.legs))
        found["spools.field_welds", row] = float(sum(leg.field_welds for leg in spool.legs))
    return found


def expected_items(walk: Walk) -> dict[Place, Value]:
    """Where each item stands and what it takes out of its pipe, in the order of the job."""
    found: dict[Place, Value] = {}
    row = 0
    for leg in walk.legs:
        inline = leg.said.get("inline", [])
        for each in inline:
            item = next((one for one in leg.items if one.name == each["item"]), None)
            alone = sum(one["item"] == each["item"] for one in inline) == 1
            if item and alone and item.beside is not None and sound(leg):
                found["items.centre", row] = item.centre
                reach = item.reach + item.gaps * walk.rules["root_gap"]
                found["items.taken", row] = 2 * reach
                found["items.left_edge", row] = item.centre - reach
                found["items.right_edge", row] = item.centre + reach
            row += 1
    return found
