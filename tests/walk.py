"""A second opinion on a job: each spool walked through space, from the job file and the reference tables alone.

Nothing of the builder or its templates is used here. Where a sheet asks row by row which leg came first, the walk looks
at the arms that meet in a point and the angles between them; where a sheet subtracts take-outs and gaps from a leg, the
walk puts down fittings, gaps and pipes along it and reads off where each pipe begins and ends; where a sheet has a
formula for a cut elbow, the walk draws the arc. What comes out is compared with the workbook in the tests.

All lengths are in the edition's unit, angles in degrees, masses in the edition's unit.
"""

from __future__ import annotations

import csv
import math
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

TABLES = Path(__file__).resolve().parent.parent / "reference_tables"
SLACK = 1e-9
"""What a limit is widened by, so that a value on it is within."""

COCKED = 15.0
"""How far a stock elbow may be cocked beyond 90, in degrees."""

NORTH, UPWARDS = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
FLANGES = ("weld_neck_flange", "slip_on_flange", "socket_weld_flange", "lap_joint")
"""Those that this walk knows; `walk_ends.py` has the rest."""
ELBOWS = ("elbow", "elbow_short_radius")
REDUCERS = ("reducer", "eccentric_reducer")
LOOSE = ("bevel", "plain")
BUTT = ("weld_neck_flange", "lap_joint", "elbow", "elbow_short_radius", "tee", "reducer", "eccentric_reducer", "cap")

DEFAULTS: Mapping[str, tuple[str | float, str | float]] = {
    "root_gap": ("1/8 in", "3 mm"),
    "root_face": ("1/16 in", "1.6 mm"),
    "bevel_angle": (37.5, 37.5),
    "no_bevel_wall": ("0.12 in", "3 mm"),
    "single_bevel_wall": ("0.88 in", "22 mm"),
    "precision": ("1/16 in", "1 mm"),
    "shrinkage_per_weld": ("0 in", "0 mm"),
    "stock_angle_within": (0.25, 0.25),
    "cocked_max": (3.0, 3.0),
    "slip_on_setback": ("1/4 in", "6 mm"),
    "socket_pullback": ("1/16 in", "1.6 mm"),
    "shortest_piece": ("3 in", "75 mm"),
    "stock_length": ("21 ft", "6000 mm"),
}
"""What holds where the job says nothing: each edition its own."""

# -- what is written in a job ------------------------------------------------------------------------------------------

_MILLIMETRES = {
    "in": Fraction("25.4"),
    '"': Fraction("25.4"),
    "ft": Fraction("304.8"),
    "'": Fraction("304.8"),
    "mm": Fraction(1),
    "m": Fraction(1000),
}
_LENGTH = re.compile(r"(\d+[ -]\d+/\d+|\d+/\d+|\d*\.?\d+)\s*(in|ft|mm|m|\"|')?[\s-]*")


def _number(text: str) -> Fraction:
    """A whole number, a decimal, a fraction, or a mixed one such as 36 1/2 or 36-1/2."""
    sign = -1 if text.startswith("-") else 1
    whole, _, part = text.removeprefix("-").replace("-", " ").rpartition(" ")
    return sign * (Fraction(part) + (Fraction(whole) if whole else 0))


def millimetres(said: str | int | float, units: str) -> Fraction:
    """A length as a job file says it: a number in the job's unit, or text such as 4'-0 1/4" or 4 ft 0 1/4 in."""
    plain = "in" if units == "inch" else "mm"
    if not isinstance(said, str):
        return Fraction(repr(said)) * _MILLIMETRES[plain]
    text = said.strip()
    sign = -1 if text.startswith("-") else 1
    found = _LENGTH.findall(text.lstrip("-"))
    assert "".join(text.split("-")), said
    return sign * sum((_number(number) * _MILLIMETRES[unit or plain] for number, unit in found), Fraction(0))


def degrees(said: str | int | float) -> float:
    """An angle: a number, or text such as 37.5 deg."""
    return float(str(said).removesuffix("deg"))


def slope(said: str | int | float, units: str) -> float:
    """A fall: 1/4 in/ft, 20 mm/m, 2 %, or a number in the job's unit."""
    plain = "in/ft" if units == "inch" else "mm/m"
    number, _, unit = said.rpartition(" ") if isinstance(said, str) else (repr(said), "", plain)
    return float(_number(number)) / {"in/ft": 12, "mm/m": 1000, "%": 100}[unit]


def pounds(said: str | int | float, units: str) -> float:
    """A mass in pounds."""
    plain = "lb" if units == "inch" else "kg"
    number, _, unit = said.rpartition(" ") if isinstance(said, str) else (repr(said), "", plain)
    return float(_number(number) / (1 if unit == "lb" else Fraction("0.45359237")))


# -- reference tables --------------------------------------------------------------------------------------------------


@cache
def _rows(name: str) -> tuple[dict[str, str], ...]:
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


class Facts:
    """The reference tables as one edition uses them."""

    def __init__(self, edition: str) -> None:
        self.suffix = {"inch": "_in", "mm": "_mm"}[edition]
        self.edition = edition

    def row(self, name: str, **where: str) -> dict[str, str]:
        """The row of a table; an empty one where there is none."""
        for row in _rows(name):
            if all(row[column] == value for column, value in where.items()):
                return row
        return {}

    def value(self, row: Mapping[str, str], column: str) -> float | None:
        """A length of a row, None where the table has none."""
        text = row.get(column + self.suffix, "")
        return float(text) if text else None

    def doubtful(self, row: Mapping[str, str], column: str = "status") -> bool:
        """Whether a row's value is from memory."""
        text = row.get(column, row.get(f"{column}_{self.edition}", ""))
        return text.startswith("from memory")

    def mass(self, row: Mapping[str, str]) -> float:
        """Mass of the edition's unit of length of a pipe."""
        return float(row["mass_lb_ft"]) / 12 if self.edition == "inch" else float(row["mass_kg_m"]) / 1000


# -- what the walk finds -----------------------------------------------------------------------------------------------


@dataclass
class End:
    """How a leg meets what stands at one of its work points.

    Attributes:
        kind: what stands there.
        takeout: how much of the leg it fills; None where that cannot be said.
        gaps: root gaps taken from the pipe there.
        doubtful: whether the take-out rests on a value from memory.
        typed: whether the job gives the take-out.
        role: "run" or "branch" at a tee.
        joint: how the pipe is joined to it; "none" where nothing is joined.
    """

    kind: str
    takeout: float | None
    gaps: float
    doubtful: bool = False
    typed: bool = False
    role: str = ""
    joint: str = "butt"


@dataclass
class Item:
    """A valve or the like within a leg."""

    name: str
    centre: float
    half: float
    beside: float | None
    gaps: float
    doubtful: bool
    bolted: bool
    welds: int
    said: Mapping[str, Any]

    @property
    def reach(self) -> float:
        """From its centre to where the flange beside it ends."""
        assert self.beside is not None
        return self.half + self.beside


@dataclass
class Piece:
    """A pipe of a leg, as it lies between what stands at its ends.

    Attributes:
        begins, stops: along the leg, from its first work point.
        shrinkage: what its welds take; it is cut longer by that.
        trim: what is left on it.
        shares: root gaps beside it.
        sunk: how much of it goes into sockets and threads.
    """

    mark: str
    number: int
    begins: float | None
    stops: float | None
    shrinkage: float
    trim: float
    shares: tuple[float, float]
    doubtful: bool
    field_ends: int
    wall: float
    left: str
    right: str
    cut_length: float | None = None
    mass: float | None = None
    bevel_face: float | None = None
    bevel_depth: float | None = None
    sunk: float = 0.0


@dataclass
class Roll:
    """Where on the clock the next leg leaves."""

    hours: float
    degrees: int
    arc: float


@dataclass
class Leg:
    """A leg walked."""

    spool: str
    name: str
    row: int
    said: Mapping[str, Any]
    size: str
    schedule: str
    flange_class: str
    vector: Vector
    start: Vector
    node: Node
    od: float
    wall: float
    pipe: Mapping[str, str]
    end_node: Node = field(init=False)
    turn_start: float | None = None
    turn_end: float | None = None
    at_start: End = field(init=False)
    at_end: End = field(init=False)
    roll: Roll | None = None
    items: list[Item] = field(default_factory=list)
    pieces: list[Piece] = field(default_factory=list)
    make_up: float | None = None
    shop_welds: int = 0
    field_welds: int = 0

    @property
    def length(self) -> float:
        """From work point to work point."""
        return math.hypot(*self.vector)

    @property
    def way(self) -> Vector:
        """Its direction, of length 1."""
        way: Vector = self.vector / self.length
        return way

    @property
    def end(self) -> Vector:
        """Where it ends."""
        return self.start + self.vector


@dataclass
class Arm:
    """A leg seen from a work point where it starts or ends; `away` points from the work point into the leg."""

    leg: Leg
    away: Vector
    comes_in: bool


@dataclass
class Node:
    """A work point: what stands there, and the arms that meet there, the one that comes in first."""

    kind: str
    said: Mapping[str, Any]
    first: bool
    spool: Mapping[str, Any]
    owner: Leg | None = None
    arms: list[Arm] = field(default_factory=list)
    wrong: set[str] = field(default_factory=set)


@dataclass
class Spool:
    """A spool walked: legs in the order of the job, and what is wrong with it."""

    mark: str
    legs: list[Leg]
    nodes: list[Node]
    wrong: set[str]


def between(one: Vector, other: Vector) -> float:
    """The angle between two directions, exact also where it is nearly 0 or 180."""
    a, b = one / math.hypot(*one), other / math.hypot(*other)
    return math.degrees(2 * math.atan2(math.hypot(*(a - b)), math.hypot(*(a + b))))


def tangent_length(radius: float, turn: float) -> float:
    """From the corner to where an arc of this radius touches, when it turns by so much: by drawing the arc.

    Two lines cross in the origin, the second leaves at the turn. The centre of the arc lies on the line that halves the
    corner, at the radius from both: walk out along it to a trial centre, see its distance from the first line, and
    scale.
    """
    inwards = np.array([-1.0, 0.0])
    outwards = np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    halving = inwards + outwards
    foot = float(halving @ inwards)
    distance = math.hypot(*(halving - foot * inwards))
    return foot * radius / distance


class Walk:
    """All spools of a job, walked in one edition.

    Args:
        text: the job file.
        edition: "inch" or "mm".
    """

    def __init__(self, text: str, edition: str) -> None:
        self.job = tomllib.loads(text)
        self.units: str = self.job["job"]["units"]
        self.edition = edition
        self.facts = Facts(edition)
        said = dict(self.job.get("rules", {}))
        if edition != self.units:
            said.pop("precision", None)  # a step of rounding is not converted
        at = 0 if edition == "inch" else 1
        angles = ("bevel_angle", "stock_angle_within", "cocked_max")
        self.rules: dict[str, float] = {}
        for name, value in DEFAULTS.items():
            given = said.get(name, value[at])
            self.rules[name] = degrees(given) if name in angles else self.length(given)
        spacing = said.get("weld_spacing_min")
        self.spacing = None if spacing is None else self.length(spacing)
        self.spools: list[Spool] = []
        row = 0
        for spool in self.job["spool"]:
            self.spools.append(self._spool(spool, row))
            row += len(spool["leg"])
        self.legs = [leg for spool in self.spools for leg in spool.legs]

    def length(self, said: str | int | float) -> float:
        """A length of the job in the edition's unit."""
        exact = millimetres(said, self.units)
        return float(exact / Fraction("25.4")) if self.edition == "inch" else float(exact)

    # -- directions and work points ------------------------------------------------------------------------------------

    def _spool(self, said: Mapping[str, Any], row: int) -> Spool:
        start = Node(said["start"], said, True, said)
        nodes, legs, by_name = [start], list[Leg](), dict[str, Leg]()
        for at, entry in enumerate(said["leg"]):
            before = legs[-1].name if legs else "start"
            origin = entry.get("from", before)
            node = start if origin == "start" else by_name[origin].end_node
            parent = None if origin == "start" else by_name[origin]
            size = str(entry.get("size", parent.size if parent else said["size"]))
            schedule = str(entry.get("schedule", parent.schedule if parent else said["schedule"]))
            pipe = self.facts.row("pipe", size=size, schedule=schedule)
            od, wall = self.facts.value(pipe, "od"), self.facts.value(pipe, "wall")
            assert od is not None and wall is not None
            begins = self._begins(node, parent, od, entry)
            leg = Leg(
                spool=said["mark"],
                name=entry.get("name", f"L{at + 1}"),
                row=row + at,
                said=entry,
                size=size,
                schedule=schedule,
                flange_class=str(entry.get("class", parent.flange_class if parent else said.get("class", ""))),
                vector=self._goes(entry, begins, said, by_name),
                start=begins,
                node=node,
                od=od,
                wall=wall,
                pipe=pipe,
            )
            leg.end_node = Node(entry["end"], entry, False, said, leg)
            node.arms.append(Arm(leg, leg.way, False))
            leg.end_node.arms.append(Arm(leg, -leg.way, True))
            nodes.append(leg.end_node)
            legs.append(leg)
            by_name[leg.name] = leg
        for node in nodes:
            self._meet(node)
        for leg in legs:
            self._turns(leg)
            self._along(leg)
        wrong = {word for node in nodes for word in node.wrong}
        if any(self._reaches_out(leg) for leg in legs):
            wrong.add("item")
        if any(self._thread_through(leg) for leg in legs):
            wrong.add("no thread")
        for piece in (piece for leg in legs for piece in leg.pieces):
            if piece.cut_length is None:
                wrong.add("piece")
            elif piece.trim > 0 and piece.cut_length - piece.trim <= SLACK:
                wrong.add("all trim")
            elif piece.cut_length - piece.trim < piece.sunk - SLACK:
                wrong.add("run into")
        return Spool(said["mark"], legs, nodes, wrong)

    def _thread_through(self, leg: Leg) -> bool:
        """Whether a thread on the leg's pipe, 0.8 of a pitch deep, leaves no wall."""
        flanges = [each.get("flange") for each in leg.said.get("inline", [])]
        if "threaded" not in (leg.at_start.joint, leg.at_end.joint) and "threaded_flange" not in flanges:
            return False
        row = self.facts.row("pipe_thread", size=leg.size)
        if not row:
            return False
        inch = 1.0 if self.edition == "inch" else 25.4
        return leg.wall <= 0.8 * inch / float(row["threads_per_inch"]) + SLACK

    def _begins(self, node: Node, parent: Leg | None, od: float, entry: Mapping[str, Any]) -> Vector:
        """Where a leg of this diameter starts: where the one before it ends."""
        del node, od, entry
        return parent.end if parent else np.zeros(3)

    def _goes(
        self, entry: Mapping[str, Any], begins: Vector, spool: Mapping[str, Any], before: Mapping[str, Leg]
    ) -> Vector:
        """A leg from its start to its end."""
        del begins, spool, before
        return self._vector(entry)

    def _vector(self, entry: Mapping[str, Any]) -> Vector:
        parts: list[float | None] = []
        angle = 0.0
        for name in ("east", "north", "up"):
            value = entry.get(name, 0)
            if isinstance(value, str) and value.startswith("by"):
                angle = degrees(value.removeprefix("by"))
                parts.append(None)
            else:
                parts.append(self.length(value))
        if None in parts:  # the travel leaves the missing axis by the fitting's angle
            known = math.hypot(*(part for part in parts if part is not None))
            travel = known / math.sin(math.radians(abs(angle)))
            missing = math.copysign(travel * math.cos(math.radians(angle)), angle)
            parts = [missing if part is None else part for part in parts]
        vector = np.array(parts, dtype=np.float64)
        if "fall" in entry:
            vector[2] = -slope(entry["fall"], self.units) * math.hypot(vector[0], vector[1])
        return vector

    # -- what stands at a work point -----------------------------------------------------------------------------------

    def _meet(self, node: Node) -> None:
        """Take-outs of everything at a work point, from the arms that meet there."""
        takes = self._takes(node)
        for at, (arm, (takeout, doubtful, role)) in enumerate(zip(node.arms, takes, strict=True)):
            typed = self._typed(node, arm)
            if typed is not None:
                takeout, doubtful = typed, False
            if takeout is None:
                node.wrong.add("takeout")
            made = End(node.kind, takeout, self._gaps(node), doubtful, typed is not None, role, self.joint(node))
            if arm.comes_in and at == 0:
                arm.leg.at_end = made
            else:
                arm.leg.at_start = made

    def _takes(self, node: Node) -> list[tuple[float | None, bool, str]]:
        """Take-out of each arm, whether it rests on a value from memory, and its role."""
        if node.kind == "tee":
            return self._tee(node)
        if node.kind in ELBOWS:
            return self._elbow(node)
        if node.kind in REDUCERS:
            return self._reducer(node)
        if node.kind == "weld" and len(node.arms) == 2 and self._turn(node, 1) > self.near:
            node.wrong.add("turns")
        return [self._single(node, arm) for arm in node.arms]

    @property
    def near(self) -> float:
        """How far an angle may be off and still be the stock one."""
        return self.rules["stock_angle_within"] + SLACK

    def _turn(self, node: Node, at: int) -> float:
        """Turn of an arm against the first one."""
        return 180 - between(node.arms[0].away, node.arms[at].away)

    def _typed(self, node: Node, arm: Arm) -> float | None:
        key = "start_takeout" if node.first else "takeout" if arm.comes_in else "takeout_out"
        value = node.said.get(key)
        return None if value is None else self.length(value)

    def gasket(self, node: Node) -> float:
        """What a gasket takes of a leg: none of one whose flange is measured from its own face."""
        return 0.0

    def joint(self, node: Node) -> str:
        """How what stands at a work point is joined to its pipes."""
        if node.kind == "other":
            return str(node.said["start_joint"] if node.first else node.said["joint"])
        fillets = {"slip_on_flange": "fillet", "socket_weld_flange": "fillet"}
        return {**fillets, "bevel": "field", "plain": "none"}.get(node.kind, "butt")

    def _gaps(self, node: Node) -> float:
        if node.kind in BUTT:
            return 1.0
        if node.kind == "weld":
            return 0.5
        if node.kind == "other":
            joint = node.said["start_joint"] if node.first else node.said["joint"]
            return 1.0 if joint == "butt" else 0.0
        if node.kind in LOOSE:
            share = node.said.get("start_field_gap" if node.first else "field_gap", "none")
            return {"none": 0.0, "half": 0.5, "full": 1.0}[share]
        return 0.0

    def _tee(self, node: Node) -> list[tuple[float | None, bool, str]]:
        roles = self._roles(node)
        runs = [arm.leg.size for arm, role in zip(node.arms, roles, strict=True) if role == "run"]
        if len(set(runs)) > 1:
            node.wrong.add("run sizes")
        run_size = runs[0] if runs else node.arms[0].leg.size
        found: list[tuple[float | None, bool, str]] = []
        for arm, role in zip(node.arms, roles, strict=True):
            size = arm.leg.size
            row = self.facts.row("tee", size=size)
            if role == "branch" and size != run_size:
                row = self.facts.row("reducing_tee", run_size=run_size, outlet_size=size)
            if role == "":
                found.append((None, False, role))
            else:
                found.append((self.facts.value(row, role), self.facts.doubtful(row), role))
        return found

    def _square_within(self, node: Node) -> float:
        """How far a branch may be off square."""
        del node
        return self.near

    def _roles(self, node: Node) -> list[str]:
        """Run and branch of the arms at a tee; "" where an arm is neither, or it cannot be said."""
        count = len(node.arms)
        enters = str(node.said.get("start_enters" if node.first else "enters", ""))
        if count == 1:
            return [enters or "run"]
        square = self._square_within(node)
        apart = {(i, j): between(node.arms[i].away, node.arms[j].away) for i in range(count) for j in range(i)}
        in_line = [pair for pair, angle in apart.items() if 180 - angle <= self.near]
        if in_line:
            roles = ["run" if any(at in pair for pair in in_line) else "" for at in range(count)]
            for at, role in enumerate(roles):
                others = [angle for pair, angle in apart.items() if at in pair]
                if not role and all(abs(angle - 90) <= square for angle in others):
                    roles[at] = "branch"
        elif count == 2 and abs(apart[1, 0] - 90) <= square:
            roles = [enters, {"run": "branch", "branch": "run", "": ""}[enters]]
            if not enters:
                node.wrong.add("enters")
        else:
            roles = [""] * count
            if count == 3 and all(abs(angle - 90) <= square for angle in apart.values()):
                node.wrong.add("in line")
        if "" in roles and not node.wrong:
            node.wrong.add("lateral")
        return roles

    def _elbow(self, node: Node) -> list[tuple[float | None, bool, str]]:
        size = node.arms[0].leg.size
        turn = self._turn(node, 1) if len(node.arms) > 1 else 90.0
        row = self.facts.row("elbow", size=size)
        long = node.kind == "elbow"
        radius = self.facts.value(row, "long_90" if long else "short_90")
        takeout: float | None
        if turn <= self.near:
            node.wrong.add("no turn")
            takeout = None
        elif turn > 90 + (COCKED + SLACK if node.said.get("fitting") == "stock" else self.near):
            node.wrong.add("over 90")
            takeout = None
        elif radius is None:
            takeout = None
        elif abs(turn - 90) <= self.near:
            takeout = radius
        elif long and abs(turn - 45) <= self.near:
            takeout = self.facts.value(row, "long_45")
        elif node.said.get("fitting") == "stock":
            takeout = radius if not long or turn > 67.5 else self.facts.value(row, "long_45")
        else:
            takeout = tangent_length(radius, turn)
        doubtful = self.facts.doubtful(row, "status" if long else "short_status")
        return [(takeout, doubtful, "") for _ in node.arms]

    def _reducer(self, node: Node) -> list[tuple[float | None, bool, str]]:
        first = node.arms[0].leg.size
        if node.first:
            sizes = (str(node.spool["size"]), first)
        elif len(node.arms) > 1:
            sizes = (first, node.arms[1].leg.size)
            if self._turn(node, 1) > self.near:
                node.wrong.add("turns")
        else:
            sizes = (first, "")
        row = self.facts.row("reducer", large_size=sizes[0], small_size=sizes[1]) or self.facts.row(
            "reducer", large_size=sizes[1], small_size=sizes[0]
        )
        own = (self.facts.value(row, "length"), self.facts.doubtful(row), "")
        return [own if at == 0 else (0.0, False, "") for at in range(len(node.arms))]

    def _single(self, node: Node, arm: Arm) -> tuple[float | None, bool, str]:
        """Take-out of what does not depend on how arms meet."""
        leg = arm.leg
        if node.kind in ("weld", *LOOSE):
            return 0.0, False, ""
        if node.kind == "cap":
            row = self.facts.row("cap", size=leg.size)
            limit = self.facts.value(row, "limiting_wall")
            heavy = limit is not None and leg.wall > limit + SLACK
            doubtful = self.facts.doubtful(row) or self.facts.doubtful(row, "limiting_wall_status")
            return self.facts.value(row, "length_heavy" if heavy else "length"), doubtful, ""
        if node.kind in FLANGES:
            stub = str(node.said.get("start_stub" if node.first else "stub", "long"))
            flange_class = str(node.spool.get("class", leg.flange_class)) if node.first else leg.flange_class
            return (*self._flange(node.kind, leg, flange_class, stub), "")
        return None, False, ""

    def _flange(self, kind: str, leg: Leg, flange_class: str, stub: str) -> tuple[float | None, bool]:
        """From a flange's contact face to the end of its pipe; flanges by PN have no inches."""
        by_pn = flange_class.startswith("PN") and self.edition == "mm" and kind == "weld_neck_flange"
        row = self.facts.row("flange_en" if by_pn else "flange", size=leg.size, **{"class": flange_class})
        if not row:
            return None, False
        if kind == "weld_neck_flange":
            return self.facts.value(row, "weld_neck"), self.facts.doubtful(row)
        if kind == "slip_on_flange":
            there = self.facts.value(row, "slip_on") is not None
            return (min(leg.wall, self.rules["slip_on_setback"]) if there else None), True
        if kind == "socket_weld_flange":
            through, depth = self.facts.value(row, "socket_weld"), self.facts.value(row, "socket_depth")
            if through is None or depth is None:
                return None, False
            return through - depth + self.rules["socket_pullback"], self.facts.doubtful(row)
        stubs = self.facts.row("stub_end", size=leg.size)
        return self.facts.value(stubs, f"{stub}_length"), True

    # -- turns, clock --------------------------------------------------------------------------------------------------

    def _turns(self, leg: Leg) -> None:
        at = next(at for at, arm in enumerate(leg.node.arms) if arm.leg is leg)
        if at > 0:
            leg.turn_start = self._turn(leg.node, at)
        after = range(1, len(leg.end_node.arms))
        if not after:
            return
        turning = [at for at in after if self._turn(leg.end_node, at) > self.near]
        leg.turn_end = self._turn(leg.end_node, (turning or list(after))[0])
        if turning:
            leg.roll = self._roll(leg, leg.end_node.arms[turning[0]].away)

    def _roll(self, leg: Leg, leaves: Vector) -> Roll | None:
        """The clock at which a direction leaves, looking along the leg."""
        level = math.hypot(leg.way[0], leg.way[1])
        twelve = (NORTH if level < 0.001 else UPWARDS) * 1.0
        twelve -= (twelve @ leg.way) * leg.way
        twelve /= math.hypot(*twelve)
        three = np.cross(leg.way, twelve)  # the right hand, seen along the leg with 12 above
        up, side = float(leaves @ twelve), float(leaves @ three)
        if math.hypot(up, side) < 0.001:
            return None
        angle = math.degrees(math.atan2(side, up)) % 360
        half_hours = math.floor(round(angle / 15, 6) + 0.5) % 24
        whole = math.floor(round(angle, 6) + 0.5) % 360
        hours = half_hours / 2 if half_hours > 1 else half_hours / 2 + 12
        return Roll(hours, whole, math.pi * leg.od * whole / 360)

    # -- along a leg ---------------------------------------------------------------------------------------------------

    def _along(self, leg: Leg) -> None:
        """Lay down what stands in a leg: its items, and the pipes between."""
        gap = self.rules["root_gap"]
        made_up = bool(leg.said.get("make_up", False))
        if made_up:
            if leg.at_start.takeout is not None and leg.at_end.takeout is not None:
                leg.make_up = leg.at_start.takeout + gap + leg.at_end.takeout
            leg.shop_welds = 1
        leg.items = self._items(leg)
        if not made_up:
            self._pieces(leg, gap)
            self._welds(leg)
        leg.field_welds = (leg.at_end.kind == "bevel") + (leg.node.first and leg.at_start.kind == "bevel")

    def _welds(self, leg: Leg) -> None:
        welds = sum(item.welds for item in leg.items)
        against = [said.get("against") for said in leg.said.get("inline", [])]
        if "start" not in against and leg.at_start.kind not in LOOSE:
            # pipe to pipe is one joint of two legs: the one that comes in has it
            welds += leg.at_start.gaps == 1 or (leg.at_start.kind == "weld" and leg.node.first)
        if "end" not in against and leg.at_end.kind not in LOOSE:
            welds += leg.at_end.gaps > 0
        leg.shop_welds = int(welds)

    def _items(self, leg: Leg) -> list[Item]:
        found: list[Item] = []
        for said in leg.said.get("inline", []):
            butt = said["ends"] == "butt" or said.get("flange") in ("weld_neck_flange", "lap_joint")
            beside: float | None
            if "takes" in said:
                half, beside, gaps, doubtful = self.length(said["takes"]) / 2, 0.0, 0.0, False
            else:
                half = self.length(said["length"]) / 2 + self.length(said.get("gasket", 0))
                gaps = 1.0 if butt else 0.0
                if said["ends"] == "butt":
                    beside, doubtful = 0.0, False
                elif said["ends"] == "socket":
                    beside, doubtful = None, False
                elif said["ends"] == "threaded":
                    beside, doubtful = self.screwed_in(leg)
                else:
                    flange_class = str(said.get("class", leg.flange_class))
                    beside, doubtful = self._flange(said["flange"], leg, flange_class, "long")
            found.append(self._placed(leg, said, half, beside, gaps, doubtful, butt))
        return sorted(found, key=lambda item: item.centre)

    def screwed_in(self, leg: Leg) -> tuple[float | None, bool]:
        """What a thread takes out beside an item, less than nothing; and whether it is from memory."""
        return None, False

    def _placed(
        self,
        leg: Leg,
        said: Mapping[str, Any],
        half: float,
        beside: float | None,
        gaps: float,
        doubtful: bool,
        butt: bool,
    ) -> Item:
        """An item where it stands in its leg: at its place, or against what stands at an end."""
        against = said.get("against")
        end = {"start": leg.at_start, "end": leg.at_end}.get(str(against))
        bolted = end is not None and end.kind in FLANGES
        if end is None:
            centre = self.length(said["at"])
        elif bolted:
            centre = half
        else:
            assert end.takeout is not None and beside is not None
            centre = end.takeout + gaps * self.rules["root_gap"] + beside + half
        if against == "end":
            centre = leg.length - centre
        return Item(said["item"], centre, half, beside, gaps, doubtful, bolted, (2 - bolted) if butt else 0, said)

    def _reaches_out(self, leg: Leg) -> bool:
        """Whether an item with its flanges and gaps reaches into what stands at an end that it is not set against."""
        against = [said.get("against") for said in leg.said.get("inline", [])]
        for item in leg.items:
            if item.beside is None or leg.at_start.takeout is None or leg.at_end.takeout is None:
                continue
            reach = item.reach + item.gaps * self.rules["root_gap"]
            before, after = item.centre - reach, leg.length - item.centre - reach
            first, last = item is leg.items[0] and "start" in against, item is leg.items[-1] and "end" in against
            if not first and before < leg.at_start.takeout - SLACK or not last and after < leg.at_end.takeout - SLACK:
                return True
        return False

    def _pieces(self, leg: Leg, gap: float) -> None:
        """The pipes of a leg: each lies from where its left neighbour and the gap end to where the right one begins."""
        against = [said.get("against") for said in leg.said.get("inline", [])]
        open_start, open_end = "start" not in against, "end" not in against
        lefts: list[Item | None] = [None] if open_start else []
        lefts += leg.items
        rights: list[Item | None] = [*leg.items, None] if open_end else [*leg.items]
        if not open_start:
            rights = rights[1:]
        if not open_end:
            lefts = lefts[:-1]
        for number, (left, right) in enumerate(zip(lefts, rights, strict=True), start=1):
            begins, shares_left = self._edge(leg.at_start, left, gap)
            stops, shares_right = self._edge(leg.at_end, right, gap)
            if right is None:
                stops = None if stops is None else leg.length - stops
            elif stops is not None:
                stops = 2 * right.centre - stops
            mark = f"{leg.spool}-{leg.name}" + (f"-{number}" if len(lefts) > 1 else "")
            trim = 0.0
            if left is None and leg.node.first:
                trim += self.length(leg.node.said.get("start_trim", 0))
            if right is None:
                trim += self.length(leg.said.get("trim", 0))
            field_ends = (right is None and leg.at_end.kind == "bevel") + (
                left is None and leg.node.first and leg.at_start.kind == "bevel"
            )
            piece = Piece(
                mark=mark,
                number=number,
                begins=begins,
                stops=stops,
                shrinkage=self.rules["shrinkage_per_weld"] * (shares_left + shares_right),
                trim=trim,
                shares=(shares_left, shares_right),
                doubtful=(leg.at_start if left is None else left).doubtful
                or (leg.at_end if right is None else right).doubtful,
                field_ends=field_ends,
                wall=leg.wall,
                left=left.name if left else leg.at_start.kind,
                right=right.name if right else leg.at_end.kind,
                sunk=self._sunk(leg, leg.node, leg.at_start, left) + self._sunk(leg, leg.end_node, leg.at_end, right),
            )
            self._measure(piece, leg)
            leg.pieces.append(piece)

    def _sunk(self, leg: Leg, node: Node, end: End, item: Item | None = None) -> float:
        """How far a pipe goes into an item, or into what stands at an end of its leg: welded to it, it goes nowhere."""
        return 0.0

    def _edge(self, end: End, item: Item | None, gap: float) -> tuple[float | None, float]:
        """Where a pipe begins after what stands to its left, along the leg, and the root gaps between."""
        if item is None:
            return (None if end.takeout is None else end.takeout + end.gaps * gap), end.gaps
        if item.beside is None:
            return None, item.gaps
        return item.centre + item.reach + item.gaps * gap, item.gaps

    def _measure(self, piece: Piece, leg: Leg) -> None:
        rules = self.rules
        welded = sum(piece.shares) > 0 or piece.field_ends > 0
        if (
            welded
            and leg.wall > rules["root_face"]
            and rules["no_bevel_wall"] + SLACK < leg.wall <= rules["single_bevel_wall"] + SLACK
        ):
            # the bevel is the long side of a triangle whose height is what is left of the wall above the land
            depth = (leg.wall - rules["root_face"]) * math.tan(math.radians(rules["bevel_angle"]))
            piece.bevel_depth = depth
            piece.bevel_face = math.hypot(depth, leg.wall - rules["root_face"])
        if piece.begins is None or piece.stops is None:
            return
        length = piece.stops - piece.begins + piece.shrinkage + piece.trim
        if length > SLACK:
            piece.cut_length = length
            piece.mass = length * self.facts.mass(leg.pipe)


@dataclass
class Beside:
    """An item as it is put down: half of it with its gasket, the flange beside it, the root gaps at each side."""

    half: float
    flange: float
    gaps: float


def laid(
    leg: Leg,
    start: Vector,
    cuts: Sequence[float],
    items: Sequence[Beside],
    gap: float,
    takeouts: tuple[float, float],
    shares: Sequence[tuple[float, float]] | None = None,
) -> Vector:
    """Where one arrives who puts a leg's parts down one after the other.

    Args:
        leg: the leg; it gives the direction, and what meets what.
        start: where it begins.
        cuts: lengths of its pipes as welded: as cut, less trim, less what the welds draw in.
        items: what stands within it, in order.
        gap: the root gap.
        takeouts: of what stands at its start and end.
        shares: root gaps at the ends of each pipe, where they are not as the walk found.
    """
    shares = [piece.shares for piece in leg.pieces] if shares is None else shares
    against = [said.get("against") for said in leg.said.get("inline", [])]
    steps: list[float] = []
    if leg.said.get("make_up"):
        steps = [takeouts[0], gap, takeouts[1]]
    else:
        bolted = [item.bolted for item in leg.items]
        if "start" not in against or not bolted[0]:
            steps.append(takeouts[0])
        for at, item in enumerate(items):
            first, last = at == 0 and "start" in against, at == len(items) - 1 and "end" in against
            if not first:
                steps += pipe_between(shares, cuts, at - ("start" in against), gap)
            elif not bolted[0]:
                steps.append(item.gaps * gap)
            steps += [] if first and bolted[0] else [item.flange]
            steps += [item.half, item.half]
            steps += [] if last and bolted[-1] else [item.flange]
            if last and not bolted[-1]:
                steps.append(item.gaps * gap)
        if "end" not in against:
            steps += pipe_between(shares, cuts, len(leg.pieces) - 1, gap)
        if "end" not in against or not bolted[-1]:
            steps.append(takeouts[1])
    here = start.copy()
    for step in steps:
        here = here + leg.way * step
    return here


def pipe_between(shares: Sequence[tuple[float, float]], cuts: Sequence[float], number: int, gap: float) -> list[float]:
    """A pipe with the gaps at its ends."""
    return [shares[number][0] * gap, cuts[number], shares[number][1] * gap]
