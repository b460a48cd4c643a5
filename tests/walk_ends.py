"""The second opinion on every spool a shop meets: the walk, and what else can stand at a work point.

`walk.py` knows the common ends. Here are the joints of small pipe, 3D elbows, bends, reducing elbows, returns, crosses,
laterals, couplings and unions, eccentric reducers with a flat side, and legs given by coordinates, bearing or the point
that they close to. It is worked from what the job language and the Key say of them; nothing of the templates is used.

A return is two corners with its own leg between them; a pulled bend is a piece of the pipe's centreline, as long as the
sum of many small steps along it; a flat side is a direction in space, made square to the pipe.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from walk import (
    BUTT,
    COCKED,
    ELBOWS,
    LOOSE,
    SLACK,
    End,
    Item,
    Leg,
    Node,
    Vector,
    Walk,
    between,
    degrees,
    slope,
    tangent_length,
)
from walk import FLANGES as OLD_FLANGES

Take = tuple[float | None, bool, str]
"""A take-out, whether it rests on a value from memory, and the role of the leg."""

FLANGES = (*OLD_FLANGES, "threaded_flange")
CORNERS = (*ELBOWS, "elbow_3d", "bend", "reducing_elbow")
"""What turns a pipe by one corner."""
RETURNS = ("return", "return_short_radius")
COUPLINGS = ("coupling", "half_coupling")
FOLLOWERS = ("elbow", "tee", "cross", *COUPLINGS, "union")
"""What is joined as its spool says."""
SMALL = ("socket", "threaded")
ALL_BUTT = (*BUTT, *CORNERS, *RETURNS, "cross", "lateral")

MOST_BEND = 170.0
COCKED_TEE = 15.0
MOST_ALONG = 0.7
"""The walk's own copy of three numbers that the Rules sheet shows as own choices."""

SIDES: Mapping[str, Vector] = {
    "east": np.array([1.0, 0.0, 0.0]),
    "west": np.array([-1.0, 0.0, 0.0]),
    "north": np.array([0.0, 1.0, 0.0]),
    "south": np.array([0.0, -1.0, 0.0]),
    "top": np.array([0.0, 0.0, 1.0]),
    "bottom": np.array([0.0, 0.0, -1.0]),
}
AXES = ("east", "north", "up")


def arc_length(radius: float, turn: float) -> float:
    """Length of a bend's centreline, added up along it.

    The curve is drawn from the two points of touch and the corner: the corner pulls it with a weight that makes it
    round. It is cut into short strips, and the speed in each is added at five places (Gauss).
    """
    reach = tangent_length(radius, turn)
    first, corner = np.array([-reach, 0.0]), np.zeros(2)
    last = reach * np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    weight = math.cos(math.radians(turn) / 2)
    places, weights = np.polynomial.legendre.leggauss(5)
    strips = 240
    edges = np.linspace(0.0, 1.0, strips + 1)
    t = (edges[:-1, None] + (places + 1) / (2 * strips)).ravel()[:, None]
    top = (1 - t) ** 2 * first + 2 * weight * t * (1 - t) * corner + t**2 * last
    below = (1 - t) ** 2 + 2 * weight * t * (1 - t) + t**2
    top_grows = -2 * (1 - t) * first + 2 * weight * (1 - 2 * t) * corner + 2 * t * last
    below_grows = -2 * (1 - t) + 2 * weight * (1 - 2 * t) + 2 * t
    speed = np.hypot(*((top_grows * below - top * below_grows) / below**2).T)
    return float(np.sum(speed * np.tile(weights, strips)) / (2 * strips))


@dataclass
class Bent:
    """A pipe that runs through pulled bends: its straight lengths and arcs in order, before the last leg."""

    legs: list[Leg] = field(default_factory=list)
    straights: list[float] = field(default_factory=list)
    arcs: list[float] = field(default_factory=list)


class WideWalk(Walk):
    """All spools of a job, walked in one edition, with every end.

    Args:
        text: the job file.
        edition: "inch" or "mm".
    """

    def __init__(self, text: str, edition: str) -> None:
        self.bent: dict[str, Bent] = {}
        self.misclosed: dict[int, float] = {}
        self.shifts: dict[int, Vector] = {}
        super().__init__(text, edition)
        for spool in self.spools:
            for leg in spool.legs:
                if not leg.items and self._overlaps(leg):
                    spool.wrong.add("bends overlap")
                sockets = {end.joint for end in (leg.at_start, leg.at_end) if end.kind != "other"} & set(SMALL)
                if leg.said.get("make_up") and sockets:
                    spool.wrong.add("no nipple")

    # -- where legs start and end --------------------------------------------------------------------------------------

    def _begins(self, node: Node, parent: Leg | None, od: float, entry: Mapping[str, Any]) -> Vector:
        here: Vector = parent.end if parent else np.zeros(3)
        flat = node.said.get("start_flat" if node.first else "flat")
        if node.kind == "eccentric_reducer" and flat:
            before = parent.od if parent else self._od(str(node.spool["size"]))
            way = self._vector_from(entry, here, node.spool) if parent is None else parent.vector
            side = SIDES[flat]
            way = way / math.hypot(*way)
            along = float(side @ way)
            if abs(along) > MOST_ALONG + SLACK:
                node.wrong.add("flat side")
                return here
            square = side - along * way
            # bottoms in line: the smaller pipe's centre lies nearer to them by half of what it is smaller
            return here + square / math.hypot(*square) * (before - od) / 2
        return here

    def _nominal(self, size: str) -> float:
        return float(self.facts.row("nominal_size", size=size)["nominal"])

    def _od(self, size: str) -> float:
        found = self.facts.value(self.facts.row("nominal_size", size=size), "od")
        assert found is not None
        return found

    def _goes(
        self, entry: Mapping[str, Any], begins: Vector, spool: Mapping[str, Any], before: Mapping[str, Leg]
    ) -> Vector:
        if "close_to" in entry:
            target = np.zeros(3) if entry["close_to"] == "start" else before[entry["close_to"]].end
            given = [None if name not in entry else self.length(entry[name]) for name in AXES]
            return np.array([target[at] - begins[at] if part is None else part for at, part in enumerate(given)])
        last = list(before.values())[-1].name if before else "start"
        origin = entry.get("from", last)
        here = np.zeros(3) if origin == "start" else before[origin].end
        return self._vector_from(entry, here, spool)

    def _vector_from(self, entry: Mapping[str, Any], here: Vector, spool: Mapping[str, Any]) -> Vector:
        """A leg's components, where it starts from this point; the shift of a reducer is never in them."""
        if "to" in entry:
            origin = spool.get("origin", {})
            beside = {name: value for name, value in entry.items() if name != "to"}
            elevation = entry["to"].get("up")
            if "bearing" in beside and "run" not in beside:
                if elevation is None or "fall" not in beside:
                    there = {name: self.length(entry["to"][name]) for name in AXES[:2] if name in entry["to"]}
                    level = self._up_to(there, here, origin, math.radians(degrees(entry["bearing"])))
                else:
                    drop = float(here[2]) + self.length(origin.get("up", 0)) - self.length(elevation)
                    level = drop / slope(entry["fall"], self.units)
                beside["run"] = f"{level} in" if self.edition == "inch" else f"{level} mm"
            parts = [0.0, 0.0, 0.0]
            if "bearing" in beside or set(AXES) & set(beside) or "fall" in beside:
                parts = list(self._vector_from(beside, here, spool))
            for at, name in enumerate(AXES):
                told = name in beside or name == "up" and "fall" in beside or name != "up" and "bearing" in beside
                if name in entry["to"] and not told:
                    parts[at] = self.length(entry["to"][name]) - self.length(origin.get(name, 0)) - float(here[at])
            return np.array(parts)
        if "bearing" in entry:
            run, turned = self.length(entry["run"]), math.radians(degrees(entry["bearing"]))
            up = self.length(entry.get("up", 0))
            if "fall" in entry:
                up = -slope(entry["fall"], self.units) * run
            return np.array([run * math.sin(turned), run * math.cos(turned), up])
        return self._vector(entry)

    def _up_to(self, there: Mapping[str, float], here: Vector, origin: Mapping[str, Any], bearing: float) -> float:
        """How far a bearing runs to a coordinate, or to where it passes a point."""
        way = {"east": math.sin(bearing), "north": math.cos(bearing)}
        off = {
            name: value - self.length(origin.get(name, 0)) - float(here[AXES.index(name)])
            for name, value in there.items()
        }
        if len(off) == 1:
            ((name, far),) = off.items()
            return far / way[name]
        return sum(way[name] * far for name, far in off.items())

    def _spool(self, said: Mapping[str, Any], row: int) -> Any:
        spool = super()._spool(said, row)
        ends = {leg.name: leg.end for leg in spool.legs}
        for leg in spool.legs:
            if leg.node.kind == "eccentric_reducer":
                before = leg.node.owner.end if leg.node.owner else np.zeros(3)
                self.shifts[leg.row] = leg.start - before
                origin = said.get("origin", {})
                for name, value in leg.said.get("to", {}).items():
                    at = AXES.index(name)
                    if abs(leg.end[at] + self.length(origin.get(name, 0)) - self.length(value)) > 1e-6:
                        spool.wrong.add("across a shift")
            if "close_to" in leg.said:
                target = np.zeros(3) if leg.said["close_to"] == "start" else ends[leg.said["close_to"]]
                self.misclosed[leg.row] = math.hypot(*(leg.end - target))
        return spool

    # -- joints --------------------------------------------------------------------------------------------------------

    def joint(self, node: Node) -> str:
        """How what stands at a work point is joined to its pipes."""
        said = node.said.get("start_joint" if node.first else "joint")
        if said:
            return str(said)
        if node.kind in FOLLOWERS:
            return str(node.spool.get("joints", "butt"))
        if self.pulled(node):
            return "none"
        return "threaded" if node.kind == "threaded_flange" else super().joint(node)

    def fitting_class(self, node: Node) -> str:
        """Class of a socket or threaded fitting."""
        return str(node.said.get("fitting_class", node.spool.get("fitting_class", "")))

    def pulled(self, node: Node) -> bool:
        """Whether the pipe runs on through a work point, bent."""
        return node.kind == "bend" and bool(node.said.get("pulled", False)) and len(node.arms) > 1

    def _gaps(self, node: Node) -> float:
        if node.kind in LOOSE or node.kind == "weld":
            return super()._gaps(node)
        if node.kind == "bend" and node.said.get("pulled"):
            return 0.0
        return 1.0 if self.joint(node) == "butt" and node.kind in (*ALL_BUTT, "other") else 0.0

    def make_up_of(self, size: str) -> float | None:
        """How far a pipe of this size is screwed in."""
        row = self.facts.row("pipe_thread", size=size)
        by = self.job.get("rules", {}).get("thread_make_up_by", "theory")
        return self.facts.value(row, "make_up" if by == "theory" else "shop_make_up")

    def _small(
        self, node: Node, size: str, dimension: str, status: str, half: bool = False
    ) -> tuple[float | None, bool]:
        """Take-out of a socket or threaded fitting: to the bottom and back a little, or to the end and in a little."""
        joint = self.joint(node)
        row = self.facts.row(
            "socket_weld_fitting" if joint == "socket" else "threaded_fitting",
            **{"size": size, "class": self.fitting_class(node)},
        )
        value = self.facts.value(row, dimension)
        if value is None:
            return None, False
        if half:
            value /= 2
        if joint == "socket":
            return value + self.rules["socket_pullback"], self.facts.doubtful(row, self._status(row, status))
        screwed = self.make_up_of(size)
        return (None if screwed is None else value - screwed), True

    def _status(self, row: Mapping[str, str], status: str) -> str:
        return status if status in row else f"{status}_{self.edition}"

    # -- what stands at a work point -----------------------------------------------------------------------------------

    def _meet(self, node: Node) -> None:
        if node.kind in FOLLOWERS and self.joint(node) not in ("butt", *SMALL):
            node.wrong.add("no such joint")
        own = node.said.get("start_joint" if node.first else "joint")
        if node.kind == "cap" and not own and node.spool.get("joints") in SMALL:
            node.wrong.add("cap joint")
        if node.kind == "reducing_elbow" and len(node.arms) > 1:
            small, large = sorted(self._nominal(arm.leg.size) for arm in node.arms)
            if small == large:
                node.wrong.add("one size")
            elif small < large / 2:
                node.wrong.add("reduced too far")
        if node.kind == "bend" and self.length(node.said["radius"]) <= node.arms[0].leg.od / 2 + SLACK:
            node.wrong.add("bent flat")
        super()._meet(node)
        if node.kind == "bend" and node.said.get("pulled"):
            if {"takeout", "takeout_out", "trim"} & set(node.said):
                node.wrong.add("pulled by hand")
            if len(node.arms) < 2 or any(arm.leg.said.get("make_up") for arm in node.arms):
                node.wrong.add("pulled alone")
            elif len({arm.leg.schedule for arm in node.arms}) > 1:
                node.wrong.add("pulled schedules")
        if node.kind in RETURNS:
            for arm in node.arms:
                if self.inside(arm.leg):
                    end = arm.leg.at_end if arm.comes_in else arm.leg.at_start
                    end.takeout, end.gaps, end.joint = arm.leg.length / 2, 0.0, "none"  # it has no pipe

    def inside(self, leg: Leg) -> bool:
        """Whether a leg is the one within a return."""
        return leg.node.kind in RETURNS and not self._second_corner(leg.node)

    def _second_corner(self, node: Node) -> bool:
        return node.kind in RETURNS and node.owner is not None and self.inside(node.owner)

    def _takes(self, node: Node) -> list[Take]:
        kind, small = node.kind, self.joint(node) in SMALL
        if kind == "elbow" and small:
            return self._small_elbow(node)
        if kind in RETURNS:
            return self._return(node)
        if kind == "cross":
            return self._cross(node)
        if kind == "lateral":
            return self._lateral(node)
        if kind in ("elbow_3d", "bend", "reducing_elbow"):
            return self._corner(node)
        if kind == "elbow":
            return self._long_elbow(node)
        if kind in (*COUPLINGS, "union"):
            return self._coupling(node)
        if kind == "cap" and small:
            return [(None, False, "") for _ in node.arms]
        return super()._takes(node)

    def _single(self, node: Node, arm: Any) -> Take:
        if node.kind == "threaded_flange":
            leg = arm.leg
            flange_class = str(node.spool.get("class", leg.flange_class)) if node.first else leg.flange_class
            return (*self._flange(node.kind, leg, flange_class, "long"), "")
        return super()._single(node, arm)

    def _flange(self, kind: str, leg: Leg, flange_class: str, stub: str) -> tuple[float | None, bool]:
        if kind != "threaded_flange":
            return super()._flange(kind, leg, flange_class, stub)
        through = self.facts.value(self.facts.row("flange", size=leg.size, **{"class": flange_class}), "threaded")
        screwed = self.make_up_of(leg.size)
        return (None if through is None or screwed is None else through - screwed), True

    def screwed_in(self, leg: Leg) -> tuple[float | None, bool]:
        screwed = self.make_up_of(leg.size)
        return (None if screwed is None else -screwed), True

    def _typed(self, node: Node, arm: Any) -> float | None:
        return None if node.kind == "lateral" else super()._typed(node, arm)

    # -- corners -------------------------------------------------------------------------------------------------------

    def _bend_of(self, node: Node, most: float) -> float | None:
        """The turn at a corner; None where no elbow makes it. A corner that nothing leaves is a quarter turn."""
        turn = self._turn(node, 1) if len(node.arms) > 1 else 90.0
        if turn <= self.near:
            node.wrong.add("no turn")
        elif turn > most + SLACK:
            node.wrong.add("over 90")
        else:
            return turn
        return None

    def _small_elbow(self, node: Node) -> list[Take]:
        turn = self._bend_of(node, 90 + self.near)
        if turn is None:
            return [(None, False, "") for _ in node.arms]
        for stock, dimension, status in ((90, "elbow_90", "status"), (45, "elbow_45", "inner_status")):
            if abs(turn - stock) <= self.near:
                return [(*self._small(node, arm.leg.size, dimension, status), "") for arm in node.arms]
        node.wrong.add("socket angle")
        return [(None, False, "") for _ in node.arms]

    def _long_elbow(self, node: Node) -> list[Take]:
        if node.said.get("start_stock" if node.first else "stock") != "old":
            return super()._elbow(node)
        row = self.facts.row("elbow_old_stock", size=node.arms[0].leg.size)
        return self._cut_down(node, row, "long_90", "long_45", ("status", "long_45_status"))

    def _corner(self, node: Node) -> list[Take]:
        if node.kind == "bend":
            turn = self._bend_of(node, MOST_BEND)
            radius, straight = self.length(node.said["radius"]), self.length(node.said.get("tangent", 0))
            take = None if turn is None else tangent_length(radius, turn) + straight
            return [(take, False, "") for _ in node.arms]
        if node.kind == "reducing_elbow":
            turn = self._bend_of(node, 90 + self.near)
            if turn is not None and abs(turn - 90) > self.near:
                node.wrong.add("made for 90")
            larger = max((arm.leg for arm in node.arms), key=lambda leg: leg.od)
            return [(self.facts.value(self.facts.row("elbow", size=larger.size), "long_90"), True, "")] * len(node.arms)
        row = self.facts.row("elbow_3d", size=node.arms[0].leg.size)
        return self._cut_down(node, row, "radius_90", "radius_45", ("status", "status"))

    def _cut_down(
        self, node: Node, row: Mapping[str, str], quarter: str, half: str, status: tuple[str, str]
    ) -> list[Take]:
        """A 90 as it is, a 45 as it is where the table has one, and any other turn cut from the 90."""
        turn = self._bend_of(node, 90 + (COCKED if node.said.get("fitting") == "stock" else self.near))
        radius, at_45 = self.facts.value(row, quarter), self.facts.value(row, half)
        doubt, doubt_45 = (self.facts.doubtful(row, self._status(row, name)) for name in status)
        take: float | None
        if turn is None or radius is None:
            take, doubtful = None, False
        elif abs(turn - 90) <= self.near:
            take, doubtful = radius, doubt
        elif abs(turn - 45) <= self.near and at_45 is not None:
            take, doubtful = at_45, doubt_45
        elif node.said.get("fitting") == "stock":
            near_90 = turn > 67.5 or at_45 is None
            take, doubtful = (radius, doubt) if near_90 else (at_45, doubt_45)
        else:
            take, doubtful = tangent_length(radius, turn), doubt
        return [(take, doubtful, "") for _ in node.arms]

    def _return(self, node: Node) -> list[Take]:
        size = node.arms[0].leg.size
        long, old = node.kind == "return", self._first_corner(node).said.get("stock") == "old"
        row = self.facts.row("elbow_old_stock" if old else "elbow", size=size)
        centres = self.facts.value(row, "long_return_centre" if long else "short_return_centre")
        status = "status" if old else "return_status" if long else "short_return_status"
        half = None if centres is None else centres / 2
        if len(node.arms) > 1 and abs(self._turn(node, 1) - 90) > self.near:
            node.wrong.add("made for 90")
        for arm in node.arms:
            if self.inside(arm.leg) and not arm.comes_in:
                step = self.rules["precision"]
                if centres is not None and abs(arm.leg.length - centres) > step + SLACK:
                    node.wrong.add("return length")
                if arm.leg.end_node.kind != node.kind:
                    node.wrong.add("return end")
        if self._second_corner(node) and len(node.arms) > 1:
            owner = node.owner
            assert owner is not None and owner.node.owner is not None
            if 180 - between(owner.node.owner.way, node.arms[1].leg.way) > self.near:
                node.wrong.add("return back")
        return [(half, self.facts.doubtful(row, self._status(row, status)), "") for _ in node.arms]

    def _first_corner(self, node: Node) -> Node:
        return node.owner.node if self._second_corner(node) and node.owner is not None else node

    # -- where more than two meet --------------------------------------------------------------------------------------

    def _square_within(self, node: Node) -> float:
        cocked = node.said.get("fitting") == "stock" and not node.first and self.joint(node) not in SMALL
        return COCKED_TEE + SLACK if cocked else self.near

    def _tee(self, node: Node) -> list[Take]:
        takes = super()._tee(node)
        roles = [role for _, _, role in takes]
        if self._no_such_branch(node, roles):
            return [(None, False, role) for role in roles]
        if self.joint(node) not in SMALL:
            return takes
        largest = max((arm.leg for arm in node.arms), key=lambda leg: leg.od).size
        return [
            (*(self._small_branch(node, arm.leg.size, largest) if role else (None, False)), role)
            for arm, role in zip(node.arms, roles, strict=True)
        ]

    def _no_such_branch(self, node: Node, roles: list[str]) -> bool:
        """Whether a tee's branch is larger than its run, or the class of a small one is not made in that size."""
        table = "socket_weld_fitting" if self.joint(node) == "socket" else "threaded_fitting"
        runs = [arm.leg.od for arm, role in zip(node.arms, roles, strict=True) if role == "run"]
        for arm, role in zip(node.arms, roles, strict=True):
            if role != "branch":
                continue
            small = self.joint(node) in SMALL
            made = not small or self.facts.row(table, **{"size": arm.leg.size, "class": self.fitting_class(node)})
            if not made or (runs and arm.leg.od > max(runs) + SLACK):
                if any(self._typed(node, each) is None for each in node.arms):
                    node.wrong.add("no such branch")
                return True
        return False

    def _small_branch(self, node: Node, size: str, body: str) -> tuple[float | None, bool]:
        """A socket or threaded tee has the body of its largest end; a pipe is screwed in as its own size asks."""
        take, doubtful = self._small(node, body, "tee", "tee_status")
        if take is None or self.joint(node) == "socket":
            return take, doubtful
        own, of_body = self.make_up_of(size), self.make_up_of(body)
        return (None if own is None or of_body is None else take + of_body - own), True

    def _cross(self, node: Node) -> list[Take]:
        enters = str(node.said.get("enters", "run"))
        across = {"run": "branch", "branch": "run"}[enters]
        roles = [enters]
        for at in range(1, len(node.arms)):
            turn = self._turn(node, at)
            if turn <= self.near:
                roles.append(enters)
            elif abs(turn - 90) <= self._square_within(node):
                roles.append(across)
            else:
                node.wrong.add("cross lines")
                roles.append("")
        squares = [arm for arm, role in zip(node.arms, roles, strict=True) if role == across]
        if len(squares) == 2 and 180 - between(squares[0].away, squares[1].away) > self.near:
            node.wrong.add("cross lines")
        sizes = [arm.leg.size for arm, role in zip(node.arms, roles, strict=True) if role == "run"]
        if len(set(sizes)) > 1:
            node.wrong.add("run sizes")
        across_sizes = {arm.leg.size for arm, role in zip(node.arms, roles, strict=True) if role == "branch"}
        if len(across_sizes) > 1:
            node.wrong.add("branch sizes")
        run_size = sizes[0] if sizes else node.arms[0].leg.size
        if self._no_such_branch(node, roles):
            return [(None, False, role) for role in roles]
        found: list[Take] = []
        largest = max((arm.leg for arm in node.arms), key=lambda leg: leg.od).size
        for arm, role in zip(node.arms, roles, strict=True):
            size = arm.leg.size
            if self.joint(node) in SMALL:
                found.append((*self._small_branch(node, size, largest), role))
                continue
            row = self.facts.row("tee", size=size)
            if role == "branch" and size != run_size:
                row = self.facts.row("reducing_tee", run_size=run_size, outlet_size=size)
            take = self.facts.value(row, role) if role else None
            found.append((take, self.facts.doubtful(row), role))
        return found

    def _lateral(self, node: Node) -> list[Take]:
        names = ["takeout"]
        for at in range(1, len(node.arms)):
            names.append("takeout_out" if self._turn(node, at) <= self.near else "takeout_branch")
        if len(names) > 1 and "takeout_out" not in names:
            node.wrong.add("straight on")
        return [(self.length(node.said[name]) if name in node.said else None, False, "") for name in names]

    def _coupling(self, node: Node) -> list[Take]:
        if len(node.arms) > 1 and self._turn(node, 1) > self.near:
            node.wrong.add("turns")
        if self.joint(node) not in SMALL:
            node.wrong.add("coupling joint")
        if node.kind == "union":
            typed = node.said.get("start_takeout" if node.first else "takeout")
            take = None if typed is None else self.length(typed)
            return [(take, False, "") for _ in node.arms]
        whole = node.kind == "coupling"
        status = "inner_status" if whole else "half_status"
        return [(*self._small(node, arm.leg.size, node.kind, status, half=whole), "") for arm in node.arms]

    # -- pipes that run through bends ----------------------------------------------------------------------------------

    def _bent(self, leg: Leg) -> Bent:
        """What a pipe of a leg brings along from the legs before it, through pulled bends."""
        key = f"{leg.spool}|{leg.name}"
        if key in self.bent:
            return self.bent[key]
        found = Bent()
        at = leg
        before: list[Leg] = []
        while self.pulled(at.node) and at.node.owner is not None:
            before.insert(0, at.node.owner)
            at = at.node.owner
        for place, each in enumerate(before):
            found.legs.append(each)
            if each.at_start.takeout is None or each.at_end.takeout is None:
                return Bent(before)
            begins = each.at_start.takeout + (each.at_start.gaps * self.rules["root_gap"] if place == 0 else 0.0)
            found.straights.append(each.length - begins - each.at_end.takeout)
            node = each.end_node
            found.arcs.append(arc_length(self.length(node.said["radius"]), self._turn(node, 1)))
        self.bent[key] = found
        return found

    def _sunk(self, leg: Leg, node: Node, end: End, item: Item | None = None) -> float:
        """How far a pipe goes into an item, or into what stands at an end of its leg."""
        joint = end.joint if item is None else item.said["ends"]
        if joint == "threaded":
            return self.make_up_of(leg.size) or 0.0
        if joint != "socket" or item is not None:
            return 0.0
        row = self.facts.row("socket_weld_fitting", **{"size": leg.size, "class": self.fitting_class(node)})
        depth = self.facts.value(row, "socket_depth") if row else None
        return max(0.0, (depth or 0.0) - self.rules["socket_pullback"])

    def _overlaps(self, leg: Leg) -> bool:
        """Whether a pulled bend at an end of a leg leaves no straight pipe before what stands at the other end."""
        if leg.at_start.takeout is None or leg.at_end.takeout is None or leg.said.get("make_up"):
            return False
        if not self.pulled(leg.node) and not self.pulled(leg.end_node):
            return False
        gaps = (leg.at_start.gaps + leg.at_end.gaps) * self.rules["root_gap"]
        return leg.length - leg.at_start.takeout - leg.at_end.takeout - gaps < -SLACK

    def _pieces(self, leg: Leg, gap: float) -> None:
        if self.inside(leg) or (leg.end_node.kind == "bend" and leg.said.get("pulled")):
            return
        super()._pieces(leg, gap)
        if not self.pulled(leg.node) or not leg.pieces:
            return
        bent, piece = self._bent(leg), leg.pieces[0]
        first = bent.legs[0]
        piece.left = first.at_start.kind
        piece.sunk += self._sunk(first, first.node, first.at_start)
        piece.doubtful = first.at_start.doubtful or (leg.items[0] if leg.items else leg.at_end).doubtful
        piece.shares = (first.at_start.gaps, piece.shares[1])
        piece.shrinkage = self.rules["shrinkage_per_weld"] * sum(piece.shares)
        piece.field_ends += first.node.first and first.at_start.kind == "bevel"
        if first.node.first:
            piece.trim += self.length(first.node.said.get("start_trim", 0))
        if len(bent.straights) < len(bent.legs) or leg.at_start.takeout is None:
            piece.begins = None
        else:
            piece.begins = leg.at_start.takeout - math.fsum(bent.straights) - math.fsum(bent.arcs)
        piece.cut_length = piece.mass = piece.bevel_face = piece.bevel_depth = None
        self._measure(piece, leg)
