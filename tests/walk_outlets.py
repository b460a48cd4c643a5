"""A second opinion on outlets: branches on the side of a leg, found by cutting cylinders with one another numerically.

Nothing of the builder or its templates is used here. A job with outlets is taken apart: what hangs on an outlet is a
spool of its own, that starts with an item whose take-out is found here, and `walk.py` walks it like any other. Where a
sheet has a formula for the point of a saddle or the edge of a hole, this walks round the branch, generator by
generator, and looks for the place where each one meets the header's wall.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from routes import job_text
from walk import NORTH, UPWARDS, Leg, Vector
from walk_ends import WideWalk

SOCKET, THREAD, BUTT = ("sockolet",), ("threadolet", "half_coupling"), ("weldolet", "nozzle")
STUBS = ("stub_on", "stub_in")
POINTS = {
    "up": (0, 0, 1), "down": (0, 0, -1), "north": (0, 1, 0), "south": (0, -1, 0), "east": (1, 0, 0), "west": (-1, 0, 0),
}  # fmt: skip
SPACING = {"inch": 2.0, "mm": 50.0}


@dataclass
class Outlet:
    """An outlet as the walk finds it; lengths from the header's start or along the branch."""

    spool: str
    name: str
    said: Mapping[str, Any]
    header: Leg
    branch: Leg | None
    root: Vector
    """On the header's centreline."""
    way: Vector
    takeout: float
    cut_extra: float
    """What a stub's pipe is longer to its long point."""
    long_point: float | None
    short_point: float | None
    clock: float
    degrees: int
    arc: float
    hole: float | None
    hole_long: float | None
    hole_at: float
    reach: tuple[float, float]
    """From where to where the branch covers the header."""
    pipe: tuple[float, float] | None
    """The header's pipe below it, between what stands at its ends or its bends; None where it stands on none."""
    mark: str
    """Of the piece it stands on."""
    out: float | None
    """From that piece's start end to the middle of the hole, along its centreline, as it lies and before trim."""
    middle: Vector
    """Of the hole, on the header's outside, seen from its axis at the leg's start."""
    half: float

    @property
    def sound(self) -> bool:
        """Whether its header can be made as it is drawn, so that its pipe can be said."""
        return not (self.header.node.wrong | self.header.end_node.wrong) and all(
            item.beside is not None for item in self.header.items
        )

    @property
    def to_start(self) -> float | None:
        """From the branch to the weld before it."""
        return None if self.pipe is None else self.reach[0] - self.pipe[0]

    @property
    def to_end(self) -> float | None:
        """From the branch to the weld after it."""
        return None if self.pipe is None else self.pipe[1] - self.reach[1]


def best(value: Callable[[Vector], Vector]) -> tuple[float, float]:
    """The least and the largest value round a full circle: looked at all round, then closer and closer."""
    found = []
    for sign in (1.0, -1.0):
        middle, width = 0.0, math.pi
        for _ in range(6):
            tries = middle + np.linspace(-width, width, 361)
            middle = float(tries[int(np.argmin(sign * value(tries)))])
            width /= 40
        found.append(float(value(np.array([middle]))[0]))
    return found[0], found[1]


def leaves(radius: float, axis: Vector, way: Vector, wall: float, angles: Vector) -> tuple[Vector, Vector]:
    """Where generators of a cylinder come out of a header's wall.

    Args:
        radius: of the branch; its axis runs along `way` from a point on the header's axis.
        axis: the header's direction.
        way: the branch's.
        wall: radius of the header's wall.
        angles: which generators, round the branch.

    Returns:
        how far along the branch, and how far along the header.
    """
    one = axis - (axis @ way) * way
    one = one / math.hypot(*one)
    other = np.cross(way, one)
    feet = radius * (np.outer(np.cos(angles), one) + np.outer(np.sin(angles), other))

    # nearest to the header's axis a generator is inside its wall; from there outwards it crosses it once
    square = way - (way @ axis) * axis
    inner = -(feet @ square) / float(square @ square)
    outer = inner + 4 * (wall + radius) / math.hypot(*square)
    for _ in range(70):
        middle = (inner + outer) / 2
        points = feet + np.outer(middle, way)
        off = np.sqrt((points**2).sum(axis=1) - (points @ axis) ** 2 + 0.0)
        inner, outer = np.where(off > wall, inner, middle), np.where(off > wall, middle, outer)
    return outer, (feet + np.outer(outer, way)) @ axis


@dataclass
class OutletWalk:
    """A job with outlets, walked in one edition.

    Attributes:
        legs: every leg by spool and name, walked.
        starts: where it starts in its spool.
        outlets: every outlet by spool and name.
        longer: what a leg's first pipe is longer than the walk's, to its long point.
    """

    text: str
    edition: str
    legs: dict[tuple[str, str], Leg] = field(default_factory=dict)
    starts: dict[tuple[str, str], Vector] = field(default_factory=dict)
    outlets: dict[tuple[str, str], Outlet] = field(default_factory=dict)
    longer: dict[tuple[str, str], float] = field(default_factory=dict)
    wrong: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.job = tomllib.loads(self.text)
        self.units: str = self.job["job"]["units"]
        for spool in self.job["spool"]:
            self._spool(spool)

    def _walk(self, spool: Mapping[str, Any]) -> WideWalk:
        return WideWalk(job_text([dict(spool)], self.units, self.job.get("rules")), self.edition)

    def _spool(self, spool: Mapping[str, Any]) -> None:
        """Walk a spool's own legs, then what hangs on each outlet, once its header is walked."""
        mark = str(spool["mark"])
        outlets = {str(each["name"]): each for each in spool.get("outlet", [])}
        groups: dict[str, list[dict[str, Any]]] = {"": []}
        home: dict[str, str] = {}
        before = "start"
        for at, said in enumerate(spool["leg"], start=1):
            leg = {"name": f"L{at}", **said}
            origin = str(leg.setdefault("from", before))
            before = leg["name"]
            group = origin if origin in outlets else home.get(origin, "")
            home[before] = group
            groups.setdefault(group, []).append(leg)
        bare = {key: value for key, value in spool.items() if key not in ("leg", "outlet")}
        walk = self._walk(bare | {"leg": groups[""]})
        self.wrong |= {mark} if walk.spools[0].wrong else set()
        for each in walk.legs:
            self.legs[mark, each.name], self.starts[mark, each.name] = each, each.start
        waiting = list(outlets)
        while waiting:
            ready = [name for name in waiting if (mark, str(outlets[name]["on"])) in self.legs]
            assert ready, waiting
            for name in ready:
                self._outlet(walk, bare, mark, outlets[name], groups.get(name, []))
                waiting.remove(name)

    def _outlet(
        self, walk: WideWalk, bare: Mapping[str, Any], mark: str, said: Mapping[str, Any], hanging: list[dict[str, Any]]
    ) -> None:
        header = self.legs[mark, str(said["on"])]
        name, kind, size = str(said["name"]), str(said["kind"]), str(said["size"])
        at = walk.length(said["at"])
        root = self.starts[mark, header.name] + at * header.way
        gap = walk.rules["root_gap"]
        way = self._way(walk, said, header, hanging)
        schedule = (
            str(hanging[0].get("schedule", said.get("schedule", bare["schedule"]))) if hanging else said.get("schedule")
        )
        od = walk.facts.value(walk.facts.row("nominal_size", size=size), "od")
        assert od is not None
        pipe = walk.facts.row("pipe", size=size, schedule=str(schedule))
        thickness = walk.facts.value(pipe, "wall") if pipe else None
        wall = header.od / 2 - (header.wall if kind == "stub_in" else 0.0)
        out = float(leaves(0.0, header.way, way, wall, np.zeros(1))[0][0])
        below = 0.0 if kind == "stub_in" else gap
        takeout = out + below
        if kind not in STUBS:
            takeout += walk.length(said["height"])
        if kind in SOCKET:
            takeout += walk.rules["socket_pullback"]
        if kind in THREAD:
            thread = walk.facts.value(walk.facts.row("pipe_thread", size=size), "make_up")
            assert thread is not None
            takeout -= thread
        points: tuple[float, float] | None = None
        if kind in STUBS and od / 2 <= wall:
            points = best(lambda angles: leaves(od / 2, header.way, way, wall, angles)[0])
        hole = od + 2 * gap if kind == "stub_in" else None if thickness is None else od - 2 * thickness
        outside = header.od / 2
        edges = (hole or od) / 2
        low, high = best(lambda angles: leaves(edges, header.way, way, outside, angles)[1])
        wide = max(od, hole or 0.0) / 2
        covers = best(lambda angles: leaves(wide, header.way, way, outside, angles)[1])
        angle = self._angle(header.way, way)
        degrees = math.floor(round(angle, 6) + 0.5) % 360
        half_hours = math.floor(round(angle / 15, 6) + 0.5) % 24
        below_it = [each for each in self._pipes(walk, header) if each[0][0] <= at + (low + high) / 2 <= each[0][1]]
        square = way - (way @ header.way) * header.way
        found = Outlet(
            spool=mark,
            name=name,
            said=said,
            header=header,
            branch=None,
            root=root,
            way=way,
            takeout=takeout,
            cut_extra=takeout - points[0] - below if points else 0.0,
            long_point=points[0] + below if points else None,
            short_point=points[1] + below if points else None,
            clock=half_hours / 2 if half_hours > 1 else half_hours / 2 + 12,
            degrees=degrees,
            arc=math.pi * header.od * (0.0 if angle > 360 - 1e-9 else angle) / 360,
            hole=hole,
            hole_long=None if hole is None else high - low,
            hole_at=at + (low + high) / 2,
            reach=(at + covers[0], at + covers[1]),
            pipe=below_it[0][0] if below_it else None,
            mark=below_it[0][1] if below_it else "",
            out=at + (low + high) / 2 - below_it[0][2] if below_it else None,
            middle=(at + (low + high) / 2) * header.way + outside * square / math.hypot(*square),
            half=(covers[1] - covers[0]) / 2,
        )
        self.outlets[mark, name] = found
        if not hanging:
            return
        joint = "butt" if kind in BUTT else "fillet" if kind in SOCKET else "none"
        first = {key: value for key, value in hanging[0].items() if key != "from"} | {"from": "start"}
        inch = self.edition == "inch"
        start = {
            "start": "other", "start_item": kind, "start_joint": joint, "size": size, "schedule": str(schedule),
            "start_takeout": f"{takeout!r} in" if inch else f"{takeout!r} mm",
        }  # fmt: skip
        kept = {key: value for key, value in bare.items() if not key.startswith("start")}
        below_walk = self._walk(kept | start | {"leg": [first, *hanging[1:]]})
        self.wrong |= {mark} if below_walk.spools[0].wrong else set()
        for leg in below_walk.legs:
            self.legs[mark, leg.name], self.starts[mark, leg.name] = leg, root + leg.start
        found.branch = below_walk.legs[0]
        self.longer[mark, found.branch.name] = found.cut_extra

    def _pipes(self, walk: WideWalk, header: Leg) -> list[tuple[tuple[float, float], str, float]]:
        """Straight pipes along a leg: from where to where, of which piece, and where that piece begins.

        A piece that comes through a bend begins before the leg does: less than 0, by as much as its centreline is long.
        """
        if not walk.pulled(header.end_node):
            found = [(each.begins, each.stops, each) for each in header.pieces]
            if walk.pulled(header.node) and found and header.at_start.takeout is not None:
                found[0] = (header.at_start.takeout, *found[0][1:])
            return [
                ((begins, stops), each.mark, each.begins)
                for begins, stops, each in found
                if begins is not None and stops is not None and each.begins is not None
            ]
        last = header
        while walk.pulled(last.end_node):
            last = last.end_node.arms[1].leg
        if header.at_start.takeout is None or header.at_end.takeout is None or not last.pieces:
            return []
        straight = header.at_start.takeout, header.length - header.at_end.takeout
        begins = straight[0] + header.at_start.gaps * walk.rules["root_gap"]
        if walk.pulled(header.node):
            before = walk._bent(header)
            begins = straight[0] - math.fsum(before.straights) - math.fsum(before.arcs)
        return [((max(begins, straight[0]), straight[1]), last.pieces[0].mark, begins)]

    def _way(self, walk: WideWalk, said: Mapping[str, Any], header: Leg, hanging: list[dict[str, Any]]) -> Vector:
        """Where the branch points: its leg's direction, or square from the header as the job says."""
        if hanging:
            vector = walk._vector(hanging[0])
            way: Vector = vector / math.hypot(*vector)
            return way
        if "towards" in said:
            towards = np.array(POINTS[said["towards"]], dtype=np.float64)
        else:
            twelve, three = self._dial(header.way)
            turn = math.radians(float(said["clock"]) * 30)
            towards = math.cos(turn) * twelve + math.sin(turn) * three
        towards = towards - (towards @ header.way) * header.way
        unit: Vector = towards / math.hypot(*towards)
        return unit

    def _dial(self, axis: Vector) -> tuple[Vector, Vector]:
        """12 and 3 of the clock, looking along an axis."""
        upright = math.hypot(axis[0], axis[1]) < 0.001
        twelve = (NORTH if upright else UPWARDS) * 1.0
        twelve = twelve - (twelve @ axis) * axis
        twelve /= math.hypot(*twelve)
        return twelve, np.cross(axis, twelve)

    def _angle(self, axis: Vector, way: Vector) -> float:
        twelve, three = self._dial(axis)
        return math.degrees(math.atan2(float(way @ three), float(way @ twelve))) % 360
