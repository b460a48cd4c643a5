"""A second opinion on Ends, Fit-up and Clock: joints listed from the walk, readings worked out with NumPy.

Nothing of the templates is used here. The joints of a leg are found by putting its parts side by side and asking of each
two neighbours how they are joined; a flat face or a shifted bore is fitted to the readings by least squares; sentences
are put together from whole gauge steps.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np
from walk import FLANGES, LOOSE, Item, Leg, Piece, Vector, Walk

Value = float | str | bool | None
Place = tuple[str, int]
Typed = Mapping[Place, Value]

HAIR = 1e-9
FARTHEST = 1e12
QUARTERS = ("12", "3", "6", "9")
CLOCK = {"12": 0, "1_30": 45, "3": 90, "4_30": 135, "6": 180, "7_30": 225, "9": 270, "10_30": 315}
DIAMETERS = {"12_6": 0, "1_7": 45, "3_9": 90, "4_10": 135}
WORDS = {
    "weld_neck_flange": "weld neck flange",
    "slip_on_flange": "slip-on flange",
    "socket_weld_flange": "socket weld flange",
    "lap_joint": "stub end, lap joint",
    "elbow": "elbow, long radius",
    "elbow_short_radius": "elbow, short radius",
    "tee": "tee",
    "reducer": "reducer",
    "eccentric_reducer": "reducer, eccentric",
    "cap": "cap",
    "weld": "pipe to pipe",
    "bevel": "bevelled end",
    "plain": "plain end",
    "other": "other item",
}
WITHIN, OUTSIDE, OPEN, NO_RULE, FILLET = (
    "✓ within",
    "✗ outside",
    "… not yet measured",
    "… rule missing",
    "– fillet",
)

LIMITS: Mapping[str, tuple[float | None, float | None]] = {
    "root_gap": (1 / 8, 3.0),
    "root_gap_min": (3 / 32, 2.5),
    "root_gap_max": (5 / 32, 4.0),
    "hi_lo_max": (1 / 16, 1.5),
    "root_face": (1 / 16, 1.6),
    "waviness_max": (1 / 32, 0.8),
    "square_max": (None, None),
    "slip_on_setback": (1 / 4, 6.0),
    "socket_pullback": (1 / 16, 1.6),
}
"""Defaults, inch and mm."""


def number(value: Value) -> float | None:
    """A typed value as a reading; text is none."""
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


# -- joints ------------------------------------------------------------------------------------------------------------


@dataclass
class Joint:
    """A joint of a leg.

    Attributes:
        leg: the leg it is listed with.
        kind: butt, fillet or field.
        first, second: the words of its two parts, in the order of the walk.
        piece: the pipe at it, whose far end swings.
        first_end, second_end: rows of Ends (0-based) of the pipe ends that meet here.
        mover: what a sentence calls the second part.
        flange: kind of the flange at it, "" for none.
    """

    leg: Leg
    kind: str
    first: str
    second: str
    piece: Piece | None
    first_end: int | None
    second_end: int | None
    mover: str
    flange: str
    label: str = ""


@dataclass
class _Part:
    """Something that stands in a leg: its words, how it is welded, and the pipe or item it is."""

    words: str
    how: str = ""
    piece: Piece | None = None
    row: int = -1
    item: Item | None = None
    flange: str = ""
    bolted: bool = False


def short(words: str) -> str:
    """What a fitter calls a part."""
    return words.split(",")[0]


def end_words(leg: Leg, at_start: bool) -> str:
    """What stands at an end of a leg, in words."""
    end, node = (leg.at_start, leg.node) if at_start else (leg.at_end, leg.end_node)
    if end.kind == "tee":
        return f"tee, {end.role or '?'}"
    if end.kind == "other":
        item = node.said.get("start_item" if node.first else "item")
        return str(item) if item else WORDS["other"]
    return WORDS[end.kind]


def how_joined(leg: Leg, at_start: bool) -> str:
    """How the pipe is joined to what stands at an end of its leg; "" where nothing is welded there."""
    end, node = (leg.at_start, leg.node) if at_start else (leg.at_end, leg.end_node)
    if end.kind in ("slip_on_flange", "socket_weld_flange"):
        return "fillet"
    if end.kind == "other":
        joint = str(node.said["start_joint" if node.first else "joint"])
        return joint if joint in ("butt", "fillet") else ""
    return {"bevel": "field", "plain": ""}.get(end.kind, "butt")


def item_side(leg: Leg, item: Item) -> tuple[str, str, str]:
    """How pipe is joined to an item, what stands there, and the flange's kind."""
    said = next(each for each in leg.said["inline"] if _is(each, item, leg))
    flange = str(said.get("flange", ""))
    if said["ends"] == "butt":
        return "butt", item.name, flange
    words = WORDS.get(flange, item.name)
    return ("butt" if flange in ("weld_neck_flange", "lap_joint") else "fillet"), words, flange


def _is(said: Mapping[str, Any], item: Item, leg: Leg) -> bool:
    return item.said is said


def joints_of(walk: Walk) -> list[Joint]:
    """Every joint of a job in the order of the sheet."""
    rows = piece_rows(walk)
    first_pieces = {id(leg.node): leg for leg in walk.legs}
    found: list[Joint] = []
    for spool in walk.spools:
        in_spool: list[Joint] = []
        for leg in spool.legs:
            in_spool += _joints(leg, rows, first_pieces)
        for at, joint in enumerate(in_spool, start=1):
            joint.label = f"{'FW' if joint.kind == 'field' else 'W'}{at}"
        found += in_spool
    return found


def piece_rows(walk: Walk) -> dict[int, int]:
    """Row of Cut steps (0-based) of each pipe."""
    return {id(piece): row for row, piece in enumerate(piece for leg in walk.legs for piece in leg.pieces)}


def _joints(leg: Leg, rows: Mapping[int, int], _legs: Mapping[int, Leg]) -> Iterator[Joint]:
    start = _Part(_outer(leg, True), how_joined(leg, True), flange=leg.at_start.kind)
    end = _Part(_outer(leg, False), how_joined(leg, False), flange=leg.at_end.kind)
    if leg.said.get("make_up"):
        yield Joint(leg, "butt", start.words, end.words, None, None, None, short(end.words), start.flange)
        return
    middle: list[_Part] = []
    pipes = [_Part(piece.mark, piece=piece, row=rows[id(piece)]) for piece in leg.pieces]
    items = []
    for item in leg.items:
        how, words, flange = item_side(leg, item)
        items.append(_Part(words, how, item=item, flange=flange, bolted=item.bolted))
    against = [each.get("against") for each in leg.said.get("inline", [])]
    if "start" in against:
        middle.append(items.pop(0))
    while pipes:
        middle.append(pipes.pop(0))
        if items:
            middle.append(items.pop(0))
    assert not items
    chain = [start, *middle, end]
    for at, (left, right) in enumerate(zip(chain, chain[1:], strict=False)):
        if left.item and at == 1 and False:
            continue
        joint = _joint(leg, left, right, at == 0, at == len(chain) - 2, rows)
        if joint:
            yield joint


def _outer(leg: Leg, at_start: bool) -> str:
    """What the far side of a leg's first or last joint is called."""
    end, node = (leg.at_start, leg.node) if at_start else (leg.at_end, leg.end_node)
    if end.kind == "bevel":
        return "field part"
    if end.kind == "weld":
        if at_start:
            return "part before"
        after = _next_piece(leg)
        return after.mark if after else "next part"
    return end_words(leg, at_start)


def _next_piece(leg: Leg) -> Piece | None:
    """The pipe that a pipe-to-pipe weld at a leg's end joins it to."""
    if leg.at_end.kind != "weld" or len(leg.end_node.arms) < 2:
        return None
    after = leg.end_node.arms[1].leg
    if any(each.get("against") == "start" for each in after.said.get("inline", [])):
        return None
    return after.pieces[0] if after.pieces else None


def _joint(leg: Leg, left: _Part, right: _Part, first: bool, last: bool, rows: Mapping[int, int]) -> Joint | None:
    """The joint between two neighbours, None where they are bolted or not joined."""
    item = left if left.item else right if right.item else None
    if item:
        if item.bolted and (first or last) and not (left.piece or right.piece):
            return None
        how, flange = item.how, item.flange
    elif first:
        if leg.at_start.kind == "weld" and not leg.node.first:
            return None
        how, flange = left.how, left.flange
    else:
        how, flange = right.how, right.flange
    if not how:
        return None
    piece = left.piece or right.piece
    second_end: int | None = 2 * right.row if right.piece else None
    mover = f"pipe {right.words}" if right.piece else short(right.words)
    if last and not item and (after := _next_piece(leg)):
        second_end, mover = 2 * rows[id(after)], f"pipe {after.mark}"
    first_end = 2 * left.row + 1 if left.piece else None
    return Joint(leg, how, left.words, right.words, piece, first_end, second_end, mover, flange)
