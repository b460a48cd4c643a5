"""A second count of a job's material: pipes, parts and masses taken off the walk and the job file, one by one.

Nothing of the templates is used here. What stands at a work point is looked at from the point: which sizes meet there,
how far it turns.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gauges import SMALL, WORDS, Place, Value, kind_words
from walk import LOOSE, Leg, Node, Walk, _rows
from walk_ends import CORNERS, FLANGES, RETURNS, WideWalk
from walk_faces import facing_at

PIPE_ROWS, PART_ROWS, SPARE_SPOOLS = 14, 40, 3
"""Kinds that the lists of the sheet have rows for."""


def pipes() -> tuple[dict[str, str], ...]:
    """Every size and schedule of the pipe table."""
    return _rows("pipe")


@dataclass
class Part:
    """A fitting, flange or item of a spool."""

    spool: int
    where: str
    what: str
    quantity: int
    mass: float | None

    @property
    def missing(self) -> int:
        """How many of them have no mass."""
        return self.quantity if self.mass is None else 0


def pounds(said: Any, walk: Walk) -> float | None:
    """A mass of the job in the edition's unit."""
    if said is None:
        return None
    plain = "lb" if walk.units == "inch" else "kg"
    text, _, unit = said.rpartition(" ") if isinstance(said, str) else (repr(said), "", plain)
    exact = Fraction(text) * (Fraction("0.45359237") if unit == "lb" else 1)
    return float(exact if walk.edition == "mm" else exact / Fraction("0.45359237"))


def sized(leg: Leg) -> str:
    """Size and schedule of a leg's pipe."""
    return f"{leg.size} {leg.schedule}"


def class_said(flange_class: str) -> str:
    """Class or PN of a flange."""
    return f" {flange_class}" if flange_class.startswith("PN") else f" class {flange_class}"


def facing_said(said: Mapping[str, Any], key: str, spool: Mapping[str, Any]) -> str:
    """Facing of a flange, where it is no raised face."""
    facing = facing_at(said, key, spool)
    return "" if facing == "RF" else f", {facing}"


def class_at(node: Node) -> str:
    """Class of the flange at a work point: at a spool's start its own, even where the first leg has another."""
    first = node.arms[0].leg
    return str(node.spool.get("class", first.flange_class)) if node.first else first.flange_class


def turn_said(node: Node, walk: Walk) -> str:
    """What an elbow is: a stock one, or a 90 cut down."""
    if node.first or len(node.arms) < 2:
        return " 90"
    turn = walk._turn(node, 1)
    near = walk.near
    made_at_45 = node.kind in ("elbow", "elbow_3d")
    if node.kind == "bend":
        tenths = math.floor(round(turn * 10, 6) + 0.5)
        return f" {tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "") + "°"
    if abs(turn - 90) <= near:
        return " 90"
    if made_at_45 and abs(turn - 45) <= near:
        return " 45"
    if node.said.get("fitting") == "stock":
        return " 90" if not made_at_45 or turn > 67.5 else " 45"
    rounded = math.floor(round(turn * 10, 6) + 0.5)
    return f" 90 cut to {rounded // 10}" + (f".{rounded % 10}" if rounded % 10 else "") + "°"


def part_at(node: Node, walk: Walk) -> str:
    """What stands at a work point, in words; "" where nothing has to be bought."""
    if node.kind in ("weld", *LOOSE) or (node.kind == "bend" and node.said.get("pulled")):
        return ""
    if isinstance(walk, WideWalk) and node.owner and walk.inside(node.owner):
        return ""  # the second corner of a return
    legs = [arm.leg for arm in node.arms]
    first = legs[0]
    sizes = [first, *(leg for leg in legs[1:] if leg.size != first.size)][:2]
    said = " × ".join(sized(leg) for leg in sorted(sizes, key=lambda leg: -leg.od))
    if node.kind == "other":
        return f"{node.said.get('start_item' if node.first else 'item')} {said}"
    joint = walk.joint(node)
    words = kind_words(node.kind, joint) + (turn_said(node, walk) if node.kind in CORNERS else "") + f" {said}"
    if node.kind in FLANGES:
        words += class_said(class_at(node))
    elif joint in SMALL and isinstance(walk, WideWalk):
        of_class = walk.fitting_class(node)
        words += f", {joint}" + (f" class {of_class}" if of_class else "")
    if node.kind == "lap_joint":
        words += f", {node.said.get('start_stub' if node.first else 'stub', 'long')}"
    if node.kind in FLANGES:
        words += facing_said(node.said, "start_facing" if node.first else "facing", node.spool)
    if node.kind in ("elbow", *RETURNS) and node.said.get("start_stock" if node.first else "stock") == "old":
        words += ", old stock"
    return words


def loose_at(node: Node) -> str:
    """The flange that turns behind a stub end."""
    if node.kind != "lap_joint":
        return ""
    return f"lap joint flange {node.arms[0].leg.size}{class_said(class_at(node))}"


def blind_at(node: Node) -> str:
    """A blind that closes a flange."""
    if not node.said.get("start_blind" if node.first else "blind"):
        return ""
    return f"blind flange {node.arms[0].leg.size}{class_said(class_at(node))}"


def bolted_parts(walk: Walk, bolted_at: Callable[[Node], str]) -> Iterator[Part]:
    """What is bolted up at the ends of all legs, then at the starts."""
    for number, spool in enumerate(walk.spools):
        for leg in spool.legs:
            if what := bolted_at(leg.end_node):
                yield Part(number, f"end of {leg.name}", what, 1, None)
    for number, spool in enumerate(walk.spools):
        if what := bolted_at(spool.legs[0].node):
            yield Part(number, "start", what, 1, None)


def parts_of(walk: Walk) -> list[Part]:
    """Every part of a job in the order of the sheet: ends of legs, starts, items, flanges beside items,
    flanges that turn, blinds."""
    found: list[Part] = []
    for number, spool in enumerate(walk.spools):
        for leg in spool.legs:
            if what := part_at(leg.end_node, walk):
                found.append(Part(number, f"end of {leg.name}", what, 1, pounds(leg.said.get("mass"), walk)))
    for number, spool in enumerate(walk.spools):
        node = spool.legs[0].node
        if what := part_at(node, walk):
            found.append(Part(number, "start", what, 1, pounds(node.said.get("start_mass"), walk)))
    flanges: list[Part] = []
    turning: list[Part] = []
    for number, spool in enumerate(walk.spools):
        for leg in spool.legs:
            for said in leg.said.get("inline", []):
                what = f"{said['item']} {leg.size}"
                if said["ends"] in ("flanged", "wafer"):
                    of_class = class_said(str(said.get("class", leg.flange_class)))
                    what += of_class
                    stub = ", long" if said["flange"] == "lap_joint" else ""
                    words = f"{WORDS[said['flange']]} {sized(leg)}{of_class}{stub}"
                    words += facing_said(said, "facing", leg.end_node.spool)
                    count = 1 if bolted(said, leg) else 2
                    flanges.append(Part(number, f"in {leg.name}", words, count, None))
                    if stub:
                        behind = f"lap joint flange {leg.size}{of_class}"
                        turning.append(Part(number, f"in {leg.name}", behind, count, None))
                what += f", {said['ends']}"
                found.append(Part(number, f"in {leg.name}", what, 1, pounds(said.get("mass"), walk)))
    return [*found, *flanges, *bolted_parts(walk, loose_at), *turning, *bolted_parts(walk, blind_at)]


def bolted(said: Mapping[str, Any], leg: Leg) -> bool:
    """Whether an item is bolted to the flange at an end of its leg."""
    end = {"start": leg.at_start, "end": leg.at_end}.get(str(said.get("against")))
    return end is not None and end.kind in FLANGES


def expected_material(walk: Walk) -> dict[Place, Value]:
    """What Material shows, by name and row."""
    found: dict[Place, Value] = {}
    pipes: dict[str, list[Leg]] = {}
    for leg in walk.legs:
        pipes.setdefault(sized(leg), []).append(leg)
    for row, (what, legs) in enumerate(list(pipes.items())[:PIPE_ROWS]):
        pieces = [piece for leg in legs for piece in leg.pieces]
        length = math.fsum(piece.cut_length or 0 for piece in pieces)
        found["pipe_list.what", row] = what
        found["pipe_list.pieces", row] = float(len(pieces))
        found["pipe_list.length", row] = length
        found["pipe_list.mass", row] = math.fsum(piece.mass or 0 for piece in pieces)
        found["pipe_list.said", row] = in_bulk(length, walk.edition)
    for row in range(len(pipes), PIPE_ROWS):
        found |= {(f"pipe_list.{name}", row): None for name in ("what", "pieces", "length", "mass", "said")}
    parts = parts_of(walk)
    kinds: dict[str, list[Part]] = {}
    for part in parts:
        kinds.setdefault(part.what, []).append(part)
    for row, (what, group) in enumerate(list(kinds.items())[:PART_ROWS]):
        found["part_list.what", row] = what
        found["part_list.quantity", row] = float(sum(part.quantity for part in group))
        found["part_list.missing", row] = float(sum(part.missing for part in group))
        known = [part.mass for part in group if part.mass is not None]
        found["part_list.mass", row] = math.fsum(known) if known else None
    for row in range(len(kinds), PART_ROWS):
        found |= {(f"part_list.{name}", row): None for name in ("what", "quantity", "missing", "mass")}
    for row, spool in enumerate(walk.spools):
        own = [part for part in parts if part.spool == row]
        pieces = [piece for leg in spool.legs for piece in leg.pieces]
        pipe = math.fsum(piece.mass or 0 for piece in pieces)
        missing, uncut = sum(part.missing for part in own), sum(piece.cut_length is None for piece in pieces)
        remark = "complete"
        if missing:
            remark = f"not complete: {missing} items without mass"
        elif uncut:
            remark = f"not complete: {uncut} pieces without length"
        found["spool_list.what", row] = spool.mark
        found["spool_list.parts", row] = float(sum(part.quantity for part in own))
        found["spool_list.pipe", row] = pipe
        found["spool_list.mass", row] = pipe + math.fsum(part.mass or 0 for part in own)
        found["spool_list.remark", row] = remark
    for row in range(len(walk.spools), len(walk.spools) + SPARE_SPOOLS):
        found |= {(f"spool_list.{name}", row): None for name in ("what", "parts", "pipe", "mass", "remark")}
    full = len(pipes) > PIPE_ROWS or len(kinds) > PART_ROWS
    found["material.told", 0] = "✗ yes: the lists are not complete" if full else "no"
    return found


def in_bulk(length: float, edition: str) -> str:
    """A long length as it is ordered: feet to a tenth, metres to a hundredth."""
    unit, places, word = (12.0, 10, "ft") if edition == "inch" else (1000.0, 100, "m")
    steps = math.floor(round(length / unit * places, 6) + 0.5)
    return f"{steps / places:.12g} {word}"
