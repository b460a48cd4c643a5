"""A second opinion on connections: the second spool is moved through space until its end meets the first one's.

Nothing of the templates is used. Each end is a point and a way out of the pipe; the point is where the metal ends: the
flange's own face, or the pipe's end at a field weld. The second spool is put down with that point as far from the
first's as the gasket, the ring or the root gap wants, and the line is read off between the far ends.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from walk import FLANGES, Leg, Node, Spool, Vector, between
from walk_faces import FacedWalk, facing_at


@dataclass
class Place:
    """One end of a spool as it meets another spool.

    Attributes:
        point: its work point.
        metal: where its face or pipe end lies.
        out: the way out of the pipe.
    """

    node: Node
    leg: Leg
    point: Vector
    metal: Vector
    out: Vector
    far: Vector
    kind: str
    size: str
    flange_class: str
    facing: str
    row: Mapping[str, str]


@dataclass
class Joined:
    """A connection walked."""

    what: str
    between: float | None
    doubtful: bool
    line: Vector | None
    apart: float
    studs: int | None
    stud_length: float | None
    wrong: set[str] = field(default_factory=set)


class ConnectedWalk(FacedWalk):
    """Walks a job and its connections."""

    def joined(self) -> list[Joined]:
        """Every connection of the job."""
        return [self.join(said) for said in self.job.get("connection", [])]

    def place(self, mark: str, at: str) -> Place:
        """An end by its spool and leg, or start."""
        spool: Spool = next(each for each in self.spools if each.mark == mark)
        first = spool.legs[0]
        origin, last = first.start, spool.legs[-1].end
        gap = self.rules["root_gap"]
        if at == "start":
            node, leg, point, out, far = first.node, first, origin, -first.way, last
        else:
            leg = next(each for each in spool.legs if each.name == at)
            node, point, out, far = leg.end_node, leg.end, leg.way, origin
        end = leg.at_start if at == "start" else leg.at_end
        flange_class = str(node.spool.get("class", leg.flange_class)) if node.first else leg.flange_class
        facing, short = "", 0.0
        if node.kind in FLANGES:
            facing = facing_at(node.said, "start_facing" if node.first else "facing", node.spool)
            short = self.gasket(node)
        else:
            short = end.gaps * gap
        by_pn = flange_class.startswith("PN") and self.edition == "mm"
        row = self.facts.row("flange_en" if by_pn else "flange", size=leg.size, **{"class": flange_class})
        return Place(node, leg, point, point - out * short, out, far, node.kind, leg.size, flange_class, facing, row)

    def join(self, said: Mapping[str, Any]) -> Joined:
        """One connection."""
        one, two = self.place(said["first"], said["first_at"]), self.place(said["second"], said["second_at"])
        bolted = one.kind in FLANGES and two.kind in FLANGES
        welded = one.kind in ("bevel", "weld") and two.kind in ("bevel", "weld")
        wrong: set[str] = set()
        if not bolted and not welded:
            wrong.add("cannot be joined")
        if one.size != two.size:
            wrong.add("Size")
        apart = between(one.out, -two.out)
        if apart > self.near:
            wrong.add("look at each other")
        studs: int | None = None
        length: float | None = None
        gap, doubtful = (self.rules["root_gap"], False) if welded else (None, False)
        if bolted:
            wrong |= {
                word
                for word, a, b in (
                    ("Class", one.flange_class, two.flange_class),
                    ("Facing", one.facing, two.facing),
                    ("Bolt circle", self.facts.value(one.row, "bolt_circle"), self.facts.value(two.row, "bolt_circle")),
                    ("Bolt holes", one.row.get("bolt_count"), two.row.get("bolt_count")),
                )
                if a != b
            }
            studs = int(one.row["bolt_count"])
            length = self.stud(one, two)
            gap, doubtful = self.bolted(said, one)
        line = None
        if gap is not None:
            moved = one.metal + one.out * gap - two.metal
            line = two.far + moved - one.far
            line = np.where(np.abs(line) < 1e-12, 0.0, line)
        return Joined(
            "bolted" if bolted else "welded" if welded else "", gap, doubtful, line, apart, studs, length, wrong
        )

    def stud(self, one: Place, two: Place) -> float | None:
        """Length of the studs, where the tables have it."""
        if one.flange_class.startswith("PN") or "lap_joint" in (one.kind, two.kind):
            return None
        if one.facing == "RTJ":
            ring = self.facts.row("ring_joint", size=one.size, **{"class": one.flange_class})
            return self.facts.value(ring, "stud_length")
        return self.facts.value(one.row, "stud_length")

    def bolted(self, said: Mapping[str, Any], one: Place) -> tuple[float | None, bool]:
        """What lies between two flanges, and whether it is from memory."""
        if "thickness" in said:
            return self.length(said["thickness"]), False
        if one.facing == "RTJ":
            ring = self.facts.row("ring_joint", size=one.size, **{"class": one.flange_class})
            return self.facts.value(ring, "gap"), self.facts.doubtful(ring, "gap_status")
        if "gasket" in said:
            row = self.facts.row("gasket", gasket=said["gasket"])
            return self.facts.value(row, "compressed"), self.facts.doubtful(row, "compressed_status")
        return None, False
