"""Random spools: job files with every way of starting, turning, branching and ending, from a seed.

Most spools can be made. A few cannot, on purpose: a branch that is not square, a tee whose run has two sizes, an elbow
without a turn or with too much of one, legs too short for what stands at their ends.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from walk import FLANGES, Vector, _rows

SIZES = [
    "1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "3-1/2", "4", "5", "6", "8", "10", "12", "14", "16", "20",
    "24",
]  # fmt: skip
LENGTH_COLUMN = {
    "weld_neck_flange": "weld_neck_in",
    "slip_on_flange": "slip_on_in",
    "socket_weld_flange": "socket_depth_in",
    "lap_joint": "lap_joint_in",
}
PLAIN_ENDS = [*FLANGES, "cap", "bevel", "plain", "other"]


def toml(value: object) -> str:
    """A value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return repr(value)


def job_text(spools: Sequence[dict[str, Any]], units: str = "inch", rules: dict[str, Any] | None = None) -> str:
    """A job file with these spools; each holds its legs under `leg`."""
    lines = ["schema = 1", "[job]", 'name = "Routes"', 'number = "T-1"', f'units = "{units}"', "[rules]"]
    lines += [f"{key} = {toml(value)}" for key, value in (rules or {}).items()]
    for spool in spools:
        lines.append("[[spool]]")
        lines += [f"{key} = {toml(value)}" for key, value in spool.items() if key != "leg"]
        for leg in spool["leg"]:
            lines.append("[[spool.leg]]")
            lines += [f"{key} = {toml(value)}" for key, value in leg.items()]
    return "\n".join(lines) + "\n"


@dataclass
class Open:
    """A work point that legs may still leave from: directions and sizes of those to come."""

    origin: str
    way: Vector | None
    size: str
    schedule: str
    kind: str
    leaving: list[tuple[Vector, str, dict[str, Any]]] = field(default_factory=list)


class Routes:
    """Makes spools.

    Args:
        seed: the same one gives the same spools.
        units: of the job.
    """

    def __init__(self, seed: int, units: str = "inch") -> None:
        self.rng = random.Random(seed)
        self.units = units
        self.inch = 1.0 if units == "inch" else 25.4
        self.serial = 0

    # -- a job ---------------------------------------------------------------------------------------------------------

    def job(self, count: int) -> str:
        """A job of so many spools, with rules of its own."""
        rng, inch = self.rng, self.inch
        rules: dict[str, Any] = {}
        if rng.random() < 0.8:
            rules["root_gap"] = round(rng.uniform(0.06, 0.19) * inch, 4)
            rules["root_gap_min"], rules["root_gap_max"] = 0, round(0.2 * inch, 4)
            rules["shrinkage_per_weld"] = round(rng.choice([0, 0.03, 0.06]) * inch, 4)
            rules["root_face"] = round(rng.uniform(0, 0.1) * inch, 4)
            rules["bevel_angle"] = rng.choice([30, 37.5, 22.5])
            rules["slip_on_setback"] = round(rng.uniform(0.1, 0.4) * inch, 4)
            rules["socket_pullback"] = round(rng.uniform(0.03, 0.1) * inch, 4)
            rules["weld_spacing_min"] = round(rng.uniform(1, 5) * inch, 4)
            rules["precision"] = rng.choice(["1/16 in", "1/32 in", "1/8 in"]) if self.units == "inch" else 1
        return job_text([self.spool(f"S{number}") for number in range(1, count + 1)], self.units, rules)

    def size(self) -> str:
        return self.rng.choice(SIZES)

    def schedule(self, size: str) -> str:
        known = [row["schedule"] for row in _rows("pipe") if row["size"] == size and row["wall_in"] and row["wall_mm"]]
        return self.rng.choice(known)

    def flange_class(self, kind: str, size: str) -> str:
        """A class that has such a flange; "" where none has."""
        column = LENGTH_COLUMN[kind]
        known = [row["class"] for row in _rows("flange") if row["size"] == size and row[column]]
        if self.units == "mm" and kind == "weld_neck_flange":
            known += [row["class"] for row in _rows("flange_en") if row["size"] == size]
        return self.rng.choice(known) if known else ""

    def number(self, value: float) -> float:
        return round(value * self.inch, 9) + 0.0

    # -- directions ----------------------------------------------------------------------------------------------------

    def any_way(self) -> Vector:
        choice = self.rng.random()
        if choice < 0.55:
            way = np.zeros(3)
            way[self.rng.randrange(3)] = self.rng.choice([-1.0, 1.0])
        elif choice < 0.75:
            way = np.array([self.rng.choice([-1.0, 0.0, 1.0]) for _ in range(3)])
            if not way.any():
                way[0] = 1.0
        else:
            way = np.array([self.rng.gauss(0, 1) for _ in range(3)])
        unit: Vector = way / math.hypot(*way)
        return unit

    def square_to(self, way: Vector) -> Vector:
        while True:
            found = np.cross(way, self.any_way())
            size = math.hypot(*found)
            if size > 0.3:
                unit: Vector = found / size
                return unit

    def turned(self, way: Vector, angle: float) -> Vector:
        turn = math.radians(angle)
        found: Vector = math.cos(turn) * way + math.sin(turn) * self.square_to(way)
        return found

    def turn(self) -> float:
        choice = self.rng.random()
        if choice < 0.45:
            return 90.0
        if choice < 0.7:
            return 45.0
        if choice < 0.94:
            return self.rng.choice([self.rng.uniform(3, 44.5), self.rng.uniform(45.5, 89.5), 22.5, 30.0, 60.0])
        return self.rng.choice([0.0, 100.0, 135.0])

    # -- a spool -------------------------------------------------------------------------------------------------------

    def spool(self, mark: str) -> dict[str, Any]:
        """A spool of up to eight legs."""
        rng = self.rng
        size = self.size()
        kinds = [*FLANGES, "elbow", "tee", "tee", "tee", "cap", "weld", "bevel", "plain", "other", "reducer"]
        start = rng.choice(kinds)
        schedule = self.schedule(size)
        spool: dict[str, Any] = {"mark": mark, "size": size, "schedule": schedule, "start": start}
        if start in FLANGES:
            flange_class = self.flange_class(start, size)
            if flange_class:
                spool["class"] = flange_class
            else:
                start = spool["start"] = "bevel"
        if start == "other":
            spool |= {"start_item": "nozzle", "start_joint": rng.choice(["butt", "fillet", "threaded", "none"])}
            spool["start_takeout"] = self.number(rng.uniform(0, 6))
        elif rng.random() < 0.07:
            spool["start_takeout"] = self.number(rng.uniform(0, 6))
        if start == "lap_joint" and rng.random() < 0.5:
            spool["start_stub"] = rng.choice(["long", "short"])
        if start in ("bevel", "plain"):
            spool["start_field_gap"] = rng.choice(["none", "half", "full"])
            if rng.random() < 0.5:
                spool["start_trim"] = self.number(rng.uniform(0, 6))
        first = Open("start", None, size, schedule, start)
        self.leave(first, spool, start=True)
        legs: list[dict[str, Any]] = []
        waiting = [first]
        budget = rng.randint(1, 10)
        while waiting and len(legs) < budget:
            node = waiting.pop(0)
            while node.leaving and len(legs) < budget:
                way, next_size, more = node.leaving.pop(0)
                leg, after = self.leg(node, way, next_size, more, legs)
                legs.append(leg)
                if after.leaving:
                    waiting.append(after)
            if node.leaving:
                waiting.append(node)
            rng.shuffle(waiting)
        spool["leg"] = legs
        return spool

    def leave(self, node: Open, said: dict[str, Any], start: bool = False) -> None:
        """Choose which legs leave a work point, and write down what it needs to be told."""
        rng, way, size = self.rng, node.way, node.size
        enters = "start_enters" if start else "enters"
        if start and node.kind != "tee":
            ways: list[tuple[Vector, str, dict[str, Any]]] = [(self.any_way(), size, {})]
            if node.kind == "reducer":
                ways = [(self.any_way(), self.reduced(size) or size, {})]
            if node.kind == "other" and rng.random() < 0.3:
                ways.append((self.any_way(), self.size(), {}))
            node.leaving = ways
            return
        if node.kind == "tee":
            away = (
                -way if way is not None else self.any_way()
            )  # from the tee into the leg that is there, or the first one
            others = self.tee(away, size, said, enters)
            node.leaving = [*([] if way is not None else [(away, size, {})]), *others]
            return
        assert way is not None
        if node.kind in ("elbow", "elbow_short_radius"):
            angle = self.turn()
            if rng.random() < 0.1:
                said["fitting"] = rng.choice(["stock", "cut"])
            more: dict[str, Any] = {}
            if math.isclose(max(map(abs, way)), 1) and rng.random() < 0.3:
                axis = int(np.argmax(abs(way)))
                sign = 1 if way[axis] > 0 else -1
                others = []
                more = {"by": (axis, sign * rng.choice([45, 60, 30, 22.5, round(rng.uniform(15, 80), 3)]))}
            node.leaving = [(self.turned(way, angle), size, more)]
        elif node.kind == "weld":
            bent = rng.random() < 0.02
            node.leaving = [(self.turned(way, 10) if bent else way, size, {})]
        elif node.kind in ("reducer", "eccentric_reducer"):
            to = self.reduced(size)
            node.leaving = [(way, to, {})] if to else []
        elif node.kind == "other" and rng.random() < 0.7:
            said["takeout_out"] = self.number(rng.uniform(0, 8))
            node.leaving = [(self.any_way(), rng.choice([size, self.size()]), {})]

    def reduced(self, size: str) -> str:
        """A size that a reducer joins to this one."""
        found = [row["small_size"] for row in _rows("reducer") if row["large_size"] == size]
        found += [row["large_size"] for row in _rows("reducer") if row["small_size"] == size]
        found = [each for each in found if each in SIZES]
        return self.rng.choice(found) if found else ""

    def outlet(self, run: str) -> str:
        """A branch of a tee with this run."""
        found = [row["outlet_size"] for row in _rows("reducing_tee") if row["run_size"] == run]
        found = [each for each in found if each in SIZES]
        return self.rng.choice([run, *found])

    def run_for(self, outlet: str) -> str:
        """A run of a tee with this branch."""
        found = [row["run_size"] for row in _rows("reducing_tee") if row["outlet_size"] == outlet]
        found = [each for each in found if each in SIZES]
        return self.rng.choice([outlet, *found])

    def tee(
        self, away: Vector, size: str, said: dict[str, Any], enters: str
    ) -> list[tuple[Vector, str, dict[str, Any]]]:
        """The other legs at a tee: every way to join one, and now and then a wrong one."""
        rng = self.rng
        square = self.square_to(away)
        case = rng.random()
        if case < 0.35:
            others = [(-away, size), (square, self.outlet(size))]
        elif case < 0.55:
            run = self.run_for(size)
            others = [(square, run), (-square, run)]
        elif case < 0.65:
            said[enters] = "run"
            others = [(square, self.outlet(size))]
        elif case < 0.75:
            said[enters] = "branch"
            others = [(square, self.run_for(size))]
        elif case < 0.82:
            others = [(-away, size)]
        elif case < 0.88:
            others = []
            if rng.random() < 0.5:
                said[enters] = rng.choice(["run", "branch"])
        elif case < 0.91:  # a lateral
            others = [(-away, size), (self.turned(-away, 45), self.outlet(size))]
        elif case < 0.94:  # nobody says how it enters
            others = [(square, size)]
        elif case < 0.97:  # the run changes its size
            others = [(-away, self.outlet(size)), (square, size)]
        else:  # no two in line
            others = [(square, size), (np.cross(away, square), size)]
        rng.shuffle(others)
        return [(way, to, {}) for way, to in others]

    def leg(
        self, node: Open, way: Vector, size: str, more: dict[str, Any], before: Sequence[dict[str, Any]]
    ) -> tuple[dict[str, Any], Open]:
        """A leg that leaves a work point, and the work point at its end."""
        rng = self.rng
        name = f"L{len(before) + 1}"
        leg: dict[str, Any] = {}
        if rng.random() < 0.3:
            self.serial += 1
            name = leg["name"] = f"B{self.serial}"
        last = "start" if not before else before[-1].get("name", f"L{len(before)}")
        if node.origin != last or rng.random() < 0.2:
            leg["from"] = node.origin
        schedule = node.schedule
        if size != node.size:
            leg["size"] = size
            schedule = leg["schedule"] = self.schedule(size)
        od = next(float(row["od_in"]) for row in _rows("nominal_size") if row["size"] == size)
        length = rng.uniform(0.2, 3) * od if rng.random() < 0.07 else rng.uniform(5, 20) * od + rng.uniform(5, 40)
        way = self.components(leg, way, length, more, node)
        end = rng.choice(
            ["elbow"] * 6 + ["elbow_short_radius"] * 2 + ["tee"] * 4 + ["weld"] * 2 + ["reducer"] * 2
            + ["eccentric_reducer", "other"] + PLAIN_ENDS
        )  # fmt: skip
        if end == "elbow_short_radius" and size in ("1/2", "3/4"):
            end = "elbow"
        if end == "tee" and size not in {row["size"] for row in _rows("tee")}:
            end = "elbow"
        if end in ("reducer", "eccentric_reducer") and not self.reduced(size):
            end = "cap"
        if end in FLANGES:
            flange_class = self.flange_class(end, size)
            if flange_class:
                leg["class"] = flange_class
            else:
                end = "bevel"
        leg["end"] = end
        if end == "other":
            leg |= {"item": "special", "joint": rng.choice(["butt", "fillet", "threaded", "none"])}
            leg["takeout"] = self.number(rng.uniform(0, 6))
            leg["mass"] = 5
        elif rng.random() < 0.07:
            leg["takeout"] = self.number(rng.uniform(0, 6))
        if end == "lap_joint" and rng.random() < 0.5:
            leg["stub"] = rng.choice(["long", "short"])
        if end in ("bevel", "plain"):
            leg["field_gap"] = rng.choice(["none", "half", "full"])
            if rng.random() < 0.5:
                leg["trim"] = self.number(rng.uniform(0, 6))
        after = Open(name, way, size, schedule, end)
        if end not in (*FLANGES, "cap", "bevel", "plain"):
            self.leave(after, leg)
        if end in ("elbow", "tee", "other") and rng.random() < 0.05:
            leg["takeout_out"] = self.number(rng.uniform(0, 6))
        if rng.random() < 0.04 and "trim" not in leg and "start_trim" not in leg:
            leg["make_up"] = True
        elif rng.random() < 0.2:
            leg["inline"] = self.items(leg, length, size, node)
        return leg, after

    def components(self, leg: dict[str, Any], way: Vector, length: float, more: dict[str, Any], node: Open) -> Vector:
        """Write down the leg's components, in one of the ways that a drawing gives them; gives its direction."""
        rng = self.rng
        names = ["east", "north", "up"]
        if "by" in more:
            axis, angle = more["by"]
            others = [at for at in range(3) if at != axis]
            parts = np.zeros(3)
            for at in others:
                parts[at] = self.number(rng.uniform(-0.7, 0.7) * length)
                leg[names[at]] = float(parts[at])
            leg[names[axis]] = f"by {angle} deg"
            parts[axis] = math.copysign(math.hypot(*parts) / math.tan(math.radians(abs(angle))), angle)
            found: Vector = parts / math.hypot(*parts)
            return found
        axes = [at for at in range(3) if abs(way[at]) > 1e-6]
        if len(axes) == 1 and self.units == "inch" and rng.random() < 0.4:
            sixteenths = max(1, round(length * 16))
            sign = "-" if way[axes[0]] < 0 else ""
            feet, rest = divmod(sixteenths, 192)
            inches, part = divmod(rest, 16)
            leg[names[axes[0]]] = f"{sign}{feet}'-{inches} {part}/16\""
            unit: Vector = np.sign(way) * (abs(way) > 1e-6)
            return unit
        parts = way * length
        level_before = node.way is not None and abs(node.way[2]) < 1e-9
        if abs(way[2]) < 1e-6 and level_before and rng.random() < 0.2 and abs(float(way @ node.way)) < 1e-6:  # type: ignore[operator]
            fall = rng.choice(["1/4 in/ft", "20 mm/m", "-1 %", "1/8 in/ft"])
            ratio = {"1/4 in/ft": 1 / 48, "20 mm/m": 0.02, "-1 %": -0.01, "1/8 in/ft": 1 / 96}[fall]
            leg["fall"] = fall
            parts = np.array([parts[0], parts[1], -ratio * math.hypot(parts[0], parts[1])])
        for at in axes:
            leg[names[at]] = self.number(float(parts[at]))
        sloped: Vector = parts / math.hypot(*parts)
        return sloped

    def items(self, leg: dict[str, Any], length: float, size: str, node: Open) -> list[dict[str, Any]]:
        """One or two valves in a leg."""
        rng = self.rng
        places: list[dict[str, Any]] = [{"at": self.number(length * rng.uniform(0.25, 0.45))}]
        if rng.random() < 0.4:
            places.append({"at": self.number(length * rng.uniform(0.6, 0.8))})
        if rng.random() < 0.2 and leg["end"] in (*FLANGES, "cap", "other"):
            places.append({"against": "end"})
        if rng.random() < 0.2 and node.origin == "start" and node.kind in (*FLANGES, "cap", "other", "elbow"):
            places.insert(0, {"against": "start"})
        rng.shuffle(places)
        found: list[dict[str, Any]] = []
        for place in places:
            item: dict[str, Any] = {"item": "gate valve", "length": self.number(rng.uniform(4, 12)), **place}
            item["ends"] = rng.choice(["flanged", "flanged", "butt", "wafer", "socket"])
            if item["ends"] in ("flanged", "wafer"):
                kind = rng.choice(FLANGES)
                flange_class = self.flange_class(kind, size)
                if flange_class:
                    item |= {"flange": kind, "class": flange_class}
                    if rng.random() < 0.8:
                        item["gasket"] = "1/8 in"
                else:
                    item["ends"] = "butt"
            if item["ends"] == "socket" or rng.random() < 0.15:
                item["takes"] = self.number(rng.uniform(6, 20))
            found.append(item)
        return found
