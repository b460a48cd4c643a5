"""Job files with outlets: an invented header that has one of each kind, and random spools with outlets put on them."""

from __future__ import annotations

import math
import random
from typing import Any

from routes import Routes, job_text
from walk import Vector, Walk, _rows
from walk_outlets import STUBS, THREAD

HEADER = """
schema = 1
[job]
name = "Mill Creek pump house"
number = "J-1042"
units = "inch"
[[spool]]
mark = "SP-01"
size = "8"
schedule = "STD"
class = 150
start = "weld_neck_flange"
[[spool.outlet]]
name = "B1"
on = "L1"
at = "14 in"
kind = "weldolet"
size = "2"
height = "1 1/2 in"
mass = "2 lb"
[[spool.outlet]]
name = "B2"
on = "L1"
at = "26 in"
kind = "sockolet"
size = "1"
height = "1 1/8 in"
[[spool.outlet]]
name = "B3"
on = "L1"
at = "36 in"
kind = "threadolet"
size = "3/4"
height = "1 1/16 in"
[[spool.outlet]]
name = "B4"
on = "L1"
at = "48 in"
kind = "stub_on"
size = "4"
[[spool.outlet]]
name = "B5"
on = "L1"
at = "66 in"
kind = "stub_in"
size = "3"
[[spool.outlet]]
name = "B6"
on = "L1"
at = "80 in"
kind = "half_coupling"
size = "1/2"
schedule = "XS"
height = "15/16 in"
towards = "down"
[[spool.outlet]]
name = "B7"
on = "L1"
at = "92 in"
kind = "nozzle"
size = "2"
schedule = "XS"
height = "6 in"
clock = 4.5
[[spool.leg]]
east = "100 in"
end = "cap"
[[spool.leg]]
from = "B1"
up = "18 in"
schedule = "XS"
end = "weld_neck_flange"
[[spool.leg]]
from = "B2"
north = "12 in"
schedule = "XS"
end = "plain"
[[spool.leg]]
from = "B3"
south = "0"
up = "-9 in"
schedule = "XS"
end = "plain"
[[spool.leg]]
from = "B4"
east = "14 in"
up = "14 in"
end = "elbow"
[[spool.leg]]
up = "20 in"
end = "plain"
[[spool.leg]]
from = "B5"
north = "-16 in"
end = "bevel"
""".replace('south = "0"\n', "")
"""One of each kind, some leaning, two without a leg."""


BENT = """
schema = 1
[job]
name = "Mill Creek pump house"
number = "J-1042"
units = "inch"
[rules]
precision = "1/64 in"
[[spool]]
mark = "SP-01"
size = "4"
schedule = "STD"
class = 150
start = "bevel"
[[spool.outlet]]
name = "A1"
on = "L1"
at = "10 in"
kind = "weldolet"
size = "1"
schedule = "XS"
height = "1 in"
clock = 12
[[spool.outlet]]
name = "A2"
on = "L2"
at = "50 in"
kind = "sockolet"
size = "1"
schedule = "XS"
height = "1 in"
clock = 3
[[spool.outlet]]
name = "A3"
on = "L3"
at = "40 in"
kind = "stub_on"
size = "2"
[[spool.outlet]]
name = "A4"
on = "L4"
at = "30 in"
kind = "weldolet"
size = "1"
schedule = "XS"
height = "1 in"
clock = 6
[[spool.outlet]]
name = "A5"
on = "B1"
at = "30 in"
kind = "weldolet"
size = "3/4"
schedule = "XS"
height = "1 in"
clock = 6
[[spool.leg]]
east = "40 in"
end = "bend"
radius = "20 in"
pulled = true
[[spool.leg]]
north = "90 in"
end = "bend"
radius = "15 in"
pulled = true
[[spool.leg]]
north = "60 in"
up = "60 in"
end = "elbow"
[[spool.leg]]
up = "70 in"
end = "weld_neck_flange"
[[spool.leg]]
name = "B1"
from = "A3"
east = "40 in"
end = "bend"
radius = "6 in"
pulled = true
[[spool.leg]]
north = "30 in"
end = "plain"
"""
"""Outlets along a pipe that two pulled bends run through, and on a stub that is bent itself."""


class OutletRoutes(Routes):
    """Makes random spools and puts outlets on the legs that have room for them."""

    def outlet_job(self, count: int) -> str:
        """A job of so many spools, most with outlets."""
        spools = [self.with_outlets(self.spool(f"S{number}")) for number in range(1, count + 1)]
        return job_text(spools, self.units, {"root_gap": self.number(self.rng.choice([0.0625, 0.125, 0.1]))})

    def with_outlets(self, spool: dict[str, Any]) -> dict[str, Any]:
        """The spool with outlets and their legs."""
        rng: random.Random = self.rng
        spool["outlet"] = outlets = []
        legs: list[dict[str, Any]] = spool["leg"]
        for at, leg in enumerate(legs, start=1):
            leg.setdefault("name", f"L{at}")
        bare = {key: value for key, value in spool.items() if key != "outlet"}
        edition = "inch" if self.units == "inch" else "mm"
        walked = Walk(job_text([bare], self.units), edition)
        headers: list[tuple[str, Vector, float, float]] = [
            (leg.name, leg.way, leg.length / self.inch, leg.od / self.inch)
            for leg in walked.legs
            if not leg.said.get("make_up")
        ]
        for number in range(1, rng.randint(1, 4) + 1 if headers else 1):
            name, way, length, od = rng.choice(headers)
            outlet, branch, away, reach = self.one(f"T{number}", name, way, length, od)
            outlets.append(outlet)
            if branch is not None:
                branch["name"] = f"K{number}"
                legs.append(branch)
                headers.append((branch["name"], away, reach, float(self.od(outlet["size"]))))
                elbows = {row["size"] for row in _rows("elbow") if row["long_90_in"] and row["long_90_mm"]}
                if outlet["size"] in elbows and rng.random() < 0.5:
                    branch["end"] = "elbow"
                    after = self.square_to(away) * rng.uniform(30, 60)
                    legs.append({"name": f"M{number}", "from": branch["name"], **self.parts(after), "end": "plain"})
        return spool

    def od(self, size: str) -> float:
        return next(float(row["od_in"]) for row in _rows("nominal_size") if row["size"] == size)

    def parts(self, vector: Vector) -> dict[str, float]:
        """A vector as a leg says it."""
        found = {axis: self.number(float(each)) for axis, each in zip(("east", "north", "up"), vector, strict=True)}
        return {axis: each for axis, each in found.items() if each} or {"up": self.number(1.0)}

    def one(
        self, name: str, on: str, way: Vector, length: float, od: float
    ) -> tuple[dict[str, Any], dict[str, Any] | None, Vector, float]:
        """An outlet on a leg, and the leg that starts from it, or none."""
        rng = self.rng
        kind = rng.choice(["weldolet", "sockolet", "threadolet", "half_coupling", "nozzle", *STUBS, *STUBS])
        threads = {row["size"] for row in _rows("pipe_thread")}
        if kind == "stub_in" and od < 2:
            kind = "stub_on"  # a hole with a gap all round would leave nothing of a small header
        limit = 0.5 * od if kind == "stub_in" else od
        known = [row["size"] for row in _rows("pipe") if row["schedule"] == "XS" and row["wall_in"] and row["wall_mm"]]
        fits = [size for size in known if self.od(size) <= limit and (kind not in THREAD or size in threads)]
        fits = fits or ["1/8"]
        small = [size for size in fits if self.od(size) < 0.6 * od] or fits
        size = rng.choice(small if rng.random() < 0.8 else fits)
        said: dict[str, Any] = {
            "name": name,
            "on": on,
            "at": self.number(length * rng.uniform(0.25, 0.75)),
            "kind": kind,
        }
        said["size"] = size
        if kind not in STUBS:
            said["height"] = self.number(rng.uniform(1.2, 3))
        axis = max(range(3), key=lambda each: abs(way[each]))
        square = self.square_to(way)
        if rng.random() < 0.25:
            said["schedule"] = "XS"
            if rng.random() < 0.5:
                said["clock"] = rng.choice([1, 1.5, 3, 6.25, 12, 12.5])
            else:
                said["towards"] = rng.choice([("north", "down"), ("up", "west"), ("east", "south")][axis])
            return said, None, square, 0.0
        away = square
        if kind in (*STUBS, "nozzle") and rng.random() < 0.6:
            turn = math.radians(rng.choice([45, 60, 120, 135, rng.uniform(35, 145)]))
            away = math.cos(turn) * way + math.sin(turn) * square
        reach = rng.uniform(3, 6) * od + rng.uniform(20, 40)
        branch: dict[str, Any] = {"from": name, "schedule": "XS", **self.parts(away * reach)}
        branch["end"] = rng.choice(["plain", "bevel", "plain"])
        return said, branch, away, reach
