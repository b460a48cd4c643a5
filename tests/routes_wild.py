"""Random spools of every kind a shop meets, from a seed.

Joints of small pipe, bends, returns, crosses, laterals, couplings, eccentric reducers with a flat side, legs by
coordinates and bearing, legs that close. Most can be made. A few cannot, on purpose: an elbow at a turn that nobody
forges, a return of another width, a flat side that lies along the pipe, bends that run into one another.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from routes import LENGTH_COLUMN, SIZES, Open, Routes, job_text
from walk import Vector, _rows
from walk_ends import FLANGES, MOST_ALONG, RETURNS, SIDES

NAMES = ("east", "north", "up")
SMALL_SIZES = {
    "socket": ("1/2", "3/4", "1", "1-1/2", "2", "3", "4"),
    "threaded": ("1/2", "3/4", "1", "1-1/4", "2", "2-1/2", "4"),
}
CLOSING = (*FLANGES, "cap", "bevel", "plain", "half_coupling")
COLUMN = {**LENGTH_COLUMN, "threaded_flange": "threaded_in"}
BUTT_KINDS = (
    "elbow", "elbow_short_radius", "elbow_3d", "bend", "reducing_elbow", "return", "return_short_radius", "tee",
    "cross", "lateral", "reducer", "eccentric_reducer", "weld", "other",
)  # fmt: skip
SMALL_KINDS = ("elbow", "elbow", "tee", "cross", "coupling", "union", "weld", "other", "lateral", "bend")
STYLES = ("socket", "threaded", "butt", "butt", "bends", "flat", "points", "closing", "mixed")


class Wild(Routes):
    """Makes spools.

    Args:
        seed: the same one gives the same spools.
        units: of the job.
    """

    def __init__(self, seed: int, units: str = "inch") -> None:
        super().__init__(seed, units)
        self.suffix = "_in" if units == "inch" else "_mm"
        self.decks: dict[tuple[str, ...], list[str]] = {}
        self.style = "butt"
        self.joints = "butt"
        self.shifted = False

    def job(self, count: int) -> str:
        """A job of so many spools, with rules of its own."""
        rng, inch = self.rng, self.inch
        rules: dict[str, Any] = {
            "root_gap": round(rng.uniform(0.06, 0.19) * inch, 4),
            "root_gap_min": 0,
            "root_gap_max": round(0.2 * inch, 4),
            "shrinkage_per_weld": round(rng.choice([0, 0.03]) * inch, 4),
            "socket_pullback": round(rng.uniform(0.03, 0.1) * inch, 4),
            "thread_make_up_by": rng.choice(["theory", "shop practice"]),
            "precision": "1/32 in" if self.units == "inch" else 1,
        }
        made = [self.spool(f"S{number}") for number in range(1, count + 1)]
        return job_text([*made, *self.on_purpose()], self.units, rules)

    def dealt(self, cards: Sequence[str]) -> str:
        """The next of some cards: each comes as often as the others."""
        key = tuple(cards)
        if not self.decks.get(key):
            self.decks[key] = list(cards)
            self.rng.shuffle(self.decks[key])
        return self.decks[key].pop()

    # -- facts ---------------------------------------------------------------------------------------------------------

    def od(self, size: str) -> float:
        """Outside diameter in the job's unit."""
        return next(float(row[f"od{self.suffix}"]) for row in _rows("nominal_size") if row["size"] == size)

    def has(self, table: str, **where: str) -> bool:
        """Whether a table has such a row."""
        return any(all(row[name] == value for name, value in where.items()) for row in _rows(table))

    def centres(self, kind: str, size: str, old: bool) -> float:
        """Width of a return in the job's unit; 0 where there is none."""
        column = f"{'long' if kind == 'return' else 'short'}_return_centre{self.suffix}"
        rows = _rows("elbow_old_stock" if old else "elbow")
        return next((float(row[column] or 0) for row in rows if row["size"] == size), 0.0)

    def flange_class(self, kind: str, size: str) -> str:
        known = [row["class"] for row in _rows("flange") if row["size"] == size and row[COLUMN[kind]]]
        if kind == "threaded_flange" and not self.has("pipe_thread", size=size):
            known = []
        return self.rng.choice(known) if known else ""

    # -- a spool -------------------------------------------------------------------------------------------------------

    def spool(self, mark: str) -> dict[str, Any]:
        """A spool of one of the styles."""
        style = self.style = self.dealt(STYLES)
        self.joints = style if style in SMALL_SIZES else "butt"
        self.shifted = False
        if style == "closing":
            return self.loop(mark)
        if style == "flat":
            return self.on_the_flat(mark)
        sizes = SMALL_SIZES.get(
            style, ("2", "3", "4", "6", "8", "10", "12", "16") if style != "mixed" else SMALL_SIZES["socket"]
        )
        size = self.rng.choice(list(sizes))
        if style == "butt" and self.rng.random() < 0.25:
            size = "3/4"
        spool = self.started(mark, size, style)
        if style == "points" or self.rng.random() < 0.3:
            spool["origin"] = {name: self.number(self.rng.uniform(-2000, 2000)) for name in NAMES}
        first = Open("start", None, size, self.schedule(size), spool["start"])
        spool["schedule"] = first.schedule
        self.pos: dict[str, Vector] = {"start": np.zeros(3)}
        self.leave(first, spool, start=True)
        spool["leg"] = self.grown(first, style, spool)
        return spool

    def started(self, mark: str, size: str, style: str) -> dict[str, Any]:
        """Everything of a spool but its legs."""
        rng = self.rng
        spool: dict[str, Any] = {"mark": mark, "size": size, "schedule": ""}
        kinds = ["elbow", "tee", *FLANGES, "cap", "weld", "bevel", "plain", "other"]
        if style != "mixed" and self.joints == "butt":
            kinds.append("reducer")
        kinds += ["elbow_3d"] if self.joints == "butt" else ["coupling", "half_coupling", "union"]
        start = self.dealt(kinds)
        if self.joints != "butt" or style == "mixed":
            small = self.joints if self.joints != "butt" else rng.choice(["socket", "threaded"])
            table = {"socket": "socket_weld_fitting", "threaded": "threaded_fitting"}[small]
            classes = [row["class"] for row in _rows(table) if row["size"] == size]
            if small == "threaded":
                classes = [each for each in classes if each != "2000"]  # no couplings of that class
            spool["fitting_class"] = rng.choice(classes)
            if self.joints != "butt":
                spool["joints"] = self.joints
            if style == "mixed" and start in ("elbow", "tee"):
                spool["start_joint"] = small
        if start == "elbow_3d" and not self.has("elbow_3d", size=size):
            start = "bevel"
        if start in FLANGES:
            spool["class"] = self.flange_class(start, size)
            if rng.random() < 0.3:
                spool["start_blind"] = True
            if not spool["class"]:
                del spool["class"]
                spool.pop("start_blind", None)
                start = "bevel"
        spool["start"] = start
        if start == "other":
            spool |= {
                "start_item": "nozzle",
                "start_joint": rng.choice(["butt", "fillet", "threaded", "socket", "none"]),
            }
        if start == "cap" and rng.random() < 0.3:
            spool["start_joint"] = rng.choice(["socket", "threaded"])
            spool["start_takeout"] = self.number(rng.uniform(0.5, 2))
        if start in ("other", "union"):
            spool["start_takeout"] = self.number(rng.uniform(1, 3))
        if start == "elbow" and size == "3/4" and self.joints == "butt":
            spool["start_stock"] = "old"
        if start == "lap_joint":
            spool["start_stub"] = rng.choice(["long", "short"])
        if start in ("bevel", "plain"):
            spool["start_field_gap"] = rng.choice(["none", "half", "full"])
        return spool

    def grown(self, first: Open, style: str, spool: dict[str, Any]) -> list[dict[str, Any]]:
        """Legs from the first work point until it is enough."""
        rng = self.rng
        legs: list[dict[str, Any]] = []
        waiting, budget = [first], rng.randint(3, 9)
        while waiting and (len(legs) < budget or any(node.kind == "bend" for node in waiting)):
            pulled = [at for at, node in enumerate(waiting) if node.kind == "bend"]
            node = waiting.pop(pulled[0] if pulled and rng.random() < 0.97 else rng.randrange(len(waiting)))
            while node.leaving and len(legs) < budget + 4:
                way, size, more = node.leaving.pop(0)
                leg, after = self.leg_of(node, way, size, more, legs, style, spool)
                legs.append(leg)
                if after.leaving:
                    waiting.append(after)
        return legs

    def odd(self, low: float, high: float) -> float:
        """An angle that is not half way between two tenths, where programs round as they like."""
        return round(self.rng.uniform(low, high), 1) + 0.037

    # -- what leaves a work point --------------------------------------------------------------------------------------

    def corner(self, way: Vector, angle: float) -> Vector:
        """A direction that leaves another at an angle, most often along an axis."""
        if angle == 90 and math.isclose(max(map(abs, way)), 1):
            at = self.rng.choice([at for at in range(3) if abs(way[at]) < 0.5])
            found = np.zeros(3)
            found[at] = self.rng.choice([-1.0, 1.0])
            return found
        return self.turned(way, angle)

    def smaller(self, size: str) -> str:
        """A size that is not larger, of the spool's own list."""
        known = SMALL_SIZES["socket"] if self.style == "mixed" else SMALL_SIZES.get(self.joints, SIZES)
        return self.rng.choice([each for each in known if self.od(each) <= self.od(size)] or [size])

    def leaving(
        self, kind: str, way: Vector, size: str, said: dict[str, Any]
    ) -> list[tuple[Vector, str, dict[str, Any]]]:
        """Ways, sizes and what more is known of the legs that leave an end; what it must be told is written down."""
        rng = self.rng
        small = str(said.get("joint", self.joints if kind in ("elbow", "tee", "cross") else "butt")) != "butt"
        if kind == "elbow" and small:
            angle = rng.choice([90.0, 90.0, 45.0, 45.0, 89.9, 45.1] if rng.random() < 0.93 else [60.0, 30.0, 100.0])
            return [(self.corner(way, angle), size, {})]
        if kind in ("elbow", "elbow_short_radius", "elbow_3d"):
            angle = rng.choice([90.0, 45.0, self.odd(5, 89)] if rng.random() < 0.95 else [0.0, 120.0])
            if rng.random() < 0.15:
                said["fitting"] = rng.choice(["stock", "cut"])
            if kind == "elbow" and size == "3/4":
                said["stock"] = rng.choice(["old", "old", "new"])
            return [(self.corner(way, angle), size, {})]
        if kind == "bend":
            said["radius"] = self.number(rng.uniform(2.5, 6) * self.od(size) / self.inch)
            angle = rng.choice([90.0, 45.0, self.odd(5, 165)]) if rng.random() < 0.97 else 175.0
            if rng.random() < 0.6:
                said["pulled"] = True
            elif rng.random() < 0.6:
                said["tangent"] = self.number(rng.uniform(0, 6))
            far = float(said["radius"]) * math.tan(math.radians(angle) / 2) if angle < 171 else 0.0
            return [(self.corner(way, angle), size, {"least": far})]
        if kind == "reducing_elbow":
            return [(self.corner(way, 90.0 if rng.random() < 0.95 else 60.0), self.smaller(size), {})]
        if kind in RETURNS:
            across = self.corner(way, 90.0)
            width = self.centres(kind, size, said.get("stock") == "old")
            if rng.random() < 0.05:
                width += 2 * self.inch
            return [(across, size, {"inside": kind, "length": width, "after": -way if rng.random() < 0.96 else across})]
        if kind in ("tee", "cross") and small:
            return self.small_branches(kind, way, size, said)
        if kind == "cross":
            return self.cross(way, size, said)
        if kind == "lateral":
            out = self.turned(way, rng.choice([45.0, 60.0, 30.0, self.odd(20, 150)]))
            for name in ("takeout", "takeout_out", "takeout_branch"):
                said[name] = self.number(rng.uniform(2, 12))
            straight = way if rng.random() < 0.96 else self.turned(way, 20)
            legs: list[tuple[Vector, str, dict[str, Any]]] = [(straight, size, {}), (out, self.smaller(size), {})]
            rng.shuffle(legs)
            return legs
        if kind == "tee" and rng.random() < 0.35:  # cocked
            said["fitting"] = "stock"
            square = self.turned(way, 90 + rng.uniform(-14, 14) if rng.random() < 0.9 else 70)
            legs = [(way, size, {}), (square, self.outlet(size), {})]
            rng.shuffle(legs)
            return legs
        if kind == "tee":
            return self.tee(-way, size, said, "enters")
        if kind in ("reducer", "eccentric_reducer"):
            to = self.reduced(size)
            if kind == "eccentric_reducer" and rng.random() < 0.7:
                said["flat"] = self.side(way, wrong=False)
                self.shifted = True
            return [(way, to, {})] if to else []
        if kind == "other":
            said["takeout_out"] = self.number(rng.uniform(0, 4))
            return [(self.any_way(), size, {})]
        return [(way, size, {})]  # weld, coupling, union

    def small_branches(
        self, kind: str, way: Vector, size: str, said: dict[str, Any]
    ) -> list[tuple[Vector, str, dict[str, Any]]]:
        """What leaves a socket or threaded tee or cross."""
        rng = self.rng
        square = self.corner(way, 90.0)
        branch = self.smaller(size) if rng.random() < 0.5 else size
        if kind == "cross":
            all_three: list[tuple[Vector, str, dict[str, Any]]]
            all_three = [(way, size, {}), (square, branch, {}), (-square, branch, {})]
            return all_three[: rng.choice([2, 3, 3])]
        case = rng.random()
        ways: list[tuple[Vector, str, dict[str, Any]]] = [(way, size, {}), (square, branch, {})]
        if case < 0.5:
            return ways
        if case < 0.8:
            return [(square, size, {}), (-square, size, {})]
        said["enters"] = rng.choice(["run", "branch"])
        return [(square, size, {})]

    def cross(self, way: Vector, size: str, said: dict[str, Any]) -> list[tuple[Vector, str, dict[str, Any]]]:
        """What leaves a butt welded cross."""
        rng = self.rng
        square = self.corner(way, 90.0)
        ways: list[tuple[Vector, str, dict[str, Any]]]
        if rng.random() < 0.2:
            said["enters"] = "branch"
            run = self.run_for(size)
            ways = [(way, size, {}), (square, run, {}), (-square, run, {})]
        else:
            branch = self.outlet(size)
            ways = [(way, size, {}), (square, branch, {}), (-square, branch, {})]
            if rng.random() < 0.06:
                ways[2] = (np.cross(way, square), branch, {})
        if rng.random() < 0.3:
            ways.pop(rng.randrange(3))
        rng.shuffle(ways)
        return ways

    # -- a leg ---------------------------------------------------------------------------------------------------------

    def kind_for(self, style: str, size: str, last: bool) -> str:
        """What ends a leg."""
        if last or self.rng.random() < 0.12:
            return self.dealt(
                CLOSING if self.joints != "butt" else [each for each in CLOSING if each != "half_coupling"]
            )
        if style == "bends":
            return self.rng.choice(["bend", "bend", "bend", "weld", "elbow", "bevel"])
        kind = self.dealt(SMALL_KINDS if self.joints != "butt" or style == "mixed" else BUTT_KINDS)
        lacks = (
            (kind == "elbow_short_radius" and size in ("1/2", "3/4"))
            or (kind in ("tee", "cross") and not self.has("tee", size=size))
            or (kind == "elbow_3d" and not self.has("elbow_3d", size=size))
            or (kind in RETURNS and not self.centres(kind, size, False))
            or (kind in ("reducer", "eccentric_reducer") and not self.reduced(size))
        )
        return "weld" if lacks else kind

    def leg_of(
        self,
        node: Open,
        way: Vector,
        size: str,
        more: Mapping[str, Any],
        before: Sequence[dict[str, Any]],
        style: str,
        spool: dict[str, Any],
    ) -> tuple[dict[str, Any], Open]:
        """A leg that leaves a work point, and the work point at its end."""
        rng = self.rng
        name, leg = f"L{len(before) + 1}", dict[str, Any]()
        if node.origin != (f"L{len(before)}" if before else "start"):
            leg["from"] = node.origin
        schedule = node.schedule
        if size != node.size:
            leg["size"] = size
            schedule = leg["schedule"] = self.schedule(size)
        elif node.kind != "bend" and rng.random() < 0.1 or more.get("least") and rng.random() < 0.02:
            schedule = leg["schedule"] = self.schedule(size)
        kind = str(more.get("inside") or self.kind_for(style, size, len(before) >= 8))
        end: dict[str, Any] = {}
        if kind == "return" and size == "3/4" and not more.get("inside") and rng.random() < 0.5:
            end["stock"] = "old"
        self.joined(kind, style, spool, end)
        if kind in FLANGES:
            end["class"] = self.flange_class(kind, size)
            if not end["class"]:
                kind, end = "bevel", {}
            elif rng.random() < 0.3:
                end["blind"] = True
            if kind == "lap_joint" and rng.random() < 0.5:
                end["stub"] = rng.choice(["long", "short"])
        if kind in ("bevel", "plain"):
            end["field_gap"] = rng.choice(["none", "half", "full"])
        if kind == "half_coupling" and not self.small(spool, end):
            kind = "plain"
        length = rng.uniform(8, 25) * self.od(size) / self.inch + rng.uniform(10, 60)
        length += (float(more.get("least", 0)) / self.inch) if rng.random() < 0.95 else 0.0
        after = Open(name, None, size, schedule, kind)
        if kind in CLOSING:
            after.leaving = []
        elif more.get("inside"):
            after.leaving = [(more["after"], size, {})]
        else:
            after.leaving = self.leaving(kind, way, size, end)
        if kind == "bend" and after.leaving:
            length += float(after.leaving[0][2].get("least", 0)) / self.inch * (1 if rng.random() < 0.96 else 0)
        exact = float(more["length"]) if more.get("inside") else length * self.inch
        after.way = self.placed(leg, way, exact, node, bool(more.get("inside")), style, spool)
        self.pos[name] = self.pos[node.origin] + self.vector
        leg["end"] = kind
        leg |= end
        if not leg.get("pulled") and not more.get("inside") and rng.random() < 0.1 and "to" not in leg:
            leg["inline"] = self.items(leg, length, size, node)
        return leg, after

    def small(self, spool: Mapping[str, Any], end: Mapping[str, Any]) -> bool:
        """Whether a fitting is socket or threaded."""
        return str(end.get("joint", spool.get("joints", "butt"))) in SMALL_SIZES

    def joined(self, kind: str, style: str, spool: dict[str, Any], end: dict[str, Any]) -> None:
        """Say how a fitting is joined, where it is not as its spool says, and what must be typed for it."""
        rng = self.rng
        if kind in ("elbow", "tee", "cross", "coupling", "half_coupling", "union"):
            if style == "mixed" and "fitting_class" in spool and (rng.random() < 0.7 or kind in ("coupling", "union")):
                end["joint"] = (
                    rng.choice(["socket", "threaded"]) if spool["fitting_class"] in ("3000", "6000") else "socket"
                )
                end["fitting_class"] = "3000"
            elif self.joints != "butt" and rng.random() < 0.15:
                end["fitting_class"] = "3000"
        if kind == "union":
            end["takeout"] = self.number(rng.uniform(0.5, 2))
            if rng.random() < 0.3:
                end["takeout_out"] = self.number(rng.uniform(0.5, 2))
        if kind == "cap" and self.joints != "butt" and rng.random() < 0.7:
            end |= {"joint": self.joints, "takeout": self.number(rng.uniform(0.5, 2))}
        if kind == "other":
            end |= {"item": "swage", "joint": rng.choice(["butt", "fillet", "threaded", "socket", "none"])}
            end |= {"takeout": self.number(rng.uniform(0, 4)), "mass": 5}
        elif kind in ("elbow", "tee", "elbow_3d", "cross") and rng.random() < 0.05:
            end["takeout"] = self.number(rng.uniform(1, 6))

    def placed(
        self,
        leg: dict[str, Any],
        way: Vector,
        length: float,
        node: Open,
        exact: bool,
        style: str,
        spool: Mapping[str, Any],
    ) -> Vector:
        """Write down where a leg goes, in one of the ways a drawing gives it; gives its direction."""
        rng = self.rng
        vector = way * length
        level = math.hypot(vector[0], vector[1])
        square = node.way is None or abs(float(way @ node.way)) < 1e-6
        choice = rng.random() * (0.7 if style == "points" else 2.0)
        fits = exact or node.kind not in ("tee", "cross", *RETURNS, "reducing_elbow")
        if choice < 0.3 and not (self.shifted and np.count_nonzero(abs(vector) > 1e-6) > 1):
            origin = spool.get("origin", {})
            here = self.pos[node.origin]
            axes = [at for at in range(3) if abs(vector[at]) > 1e-6]
            if not exact and not self.shifted:
                axes = axes if rng.random() < 0.5 else [0, 1, 2]
            leg["to"] = {
                NAMES[at]: round(float(here[at] + vector[at]) + float(origin.get(NAMES[at], 0)), 9) for at in axes
            }
            for at in axes:
                vector[at] = leg["to"][NAMES[at]] - float(origin.get(NAMES[at], 0)) - here[at]
        elif choice < 0.55 and level > 1e-6:
            bearing = round(math.degrees(math.atan2(vector[0], vector[1])), 10)
            leg |= {"bearing": bearing + rng.choice([0, 0, 360 if bearing < 0 else -360]), "run": round(level, 9)}
            if abs(vector[2]) < 1e-6 and square and fits and not exact and rng.random() < 0.4:
                leg["fall"] = "1 %"
                vector = vector - np.array([0.0, 0.0, 0.01 * level])
                if node.kind in ("weld", "coupling", "union", "lateral"):
                    del leg["fall"]
                    vector[2] = 0.0
            elif abs(vector[2]) > 1e-6:
                leg["up"] = round(float(vector[2]), 9)
        else:
            for at in range(3):
                if abs(vector[at]) > 1e-6:
                    leg[NAMES[at]] = round(float(vector[at]), 9)
        self.vector = vector
        gone: Vector = vector / math.hypot(*vector)
        return gone

    # -- spools of one thought -----------------------------------------------------------------------------------------

    def loop(self, mark: str) -> dict[str, Any]:
        """A spool that comes back to where it was: by legs that close, or nearly."""
        rng = self.rng
        size = rng.choice(["2", "4", "6"])
        across, along, rise = (self.number(rng.uniform(60, 150)) for _ in range(3))
        spool: dict[str, Any] = {"mark": mark, "size": size, "schedule": "STD", "start": "bevel"}
        if rng.random() < 0.5:
            spool["origin"] = {"east": self.number(1000), "up": self.number(240)}
        corner = rng.choice(["elbow", "elbow_3d"])
        off = self.number(rng.choice([0, 0.25, 1.5]))
        legs: list[dict[str, Any]] = [{"east": across, "end": corner}, {"north": along, "end": corner}]
        case = rng.randrange(4)
        if case == 0:  # the fourth leg follows
            legs += [{"east": -across, "end": corner}, {"close_to": "start", "end": "bevel"}]
        elif case == 1:  # the third runs back over the start, the last falls on it
            legs += [{"up": rise, "end": corner}, {"close_to": "start", "north": 0, "up": 0, "end": corner}]
            legs += [{"north": -along, "end": corner}, {"close_to": "start", "east": 0, "north": 0, "end": "plain"}]
        elif case == 2:  # everything is given, and it may not close
            legs += [{"close_to": "L1", "east": off, "north": -along, "up": 0, "end": "weld" if off == 0 else "plain"}]
            legs[1]["end"] = "bend"
            legs[1]["radius"] = self.number(9)
            legs[2] = {"up": rise, "end": corner}
            legs += [{"north": -along, "end": corner}]
            legs += [{"close_to": "L1", "east": off, "north": 0, "up": -rise, "end": "plain"}]
            if off:
                legs[-1]["east"] = 0
                legs[-1]["up"] = -rise + off
        else:  # closes to a leg on a skew
            legs += [{"up": rise, "end": corner}, {"close_to": "L1", "end": "plain"}]
        spool["leg"] = legs
        return spool

    def on_the_flat(self, mark: str) -> dict[str, Any]:
        """Eccentric reducers at the start and in the middle, flat on every side of level, sloped and vertical pipe."""
        rng = self.rng
        size = rng.choice(["3", "4", "6", "8", "10"])
        run = rng.choice(["level", "level", "sloped", "upright", "skew"])
        way = {
            "level": np.array([1.0, 0.0, 0.0]),
            "sloped": np.array([0.6, 0.75, 0.3]),
            "upright": np.array([0.0, 0.0, rng.choice([-1.0, 1.0])]),
            "skew": np.array([0.5, -0.6, 0.62]),
        }[run]
        way = way / math.hypot(*way)
        at_start = rng.random() < 0.5
        first = self.reduced(size) if at_start else size
        spool: dict[str, Any] = {"mark": mark, "size": size, "schedule": "STD", "start": "bevel"}
        if at_start:
            spool |= {"start": "eccentric_reducer"}
            if rng.random() < 0.9:
                spool["start_flat"] = self.side(way, wrong=False)
        self.pos = {"start": np.zeros(3)}
        legs: list[dict[str, Any]] = []
        here, now = "start", way
        for number in range(rng.randint(2, 4)):
            length = rng.uniform(40, 90) * self.inch
            leg: dict[str, Any] = {
                NAMES[at]: round(float(now[at] * length), 9) for at in range(3) if abs(now[at]) > 1e-9
            }
            if math.isclose(max(map(abs, now)), 1) and rng.random() < 0.4:
                axis = int(np.argmax(abs(now)))
                leg = {"to": {NAMES[axis]: round(float(self.pos[here][axis] + now[axis] * length), 9)}}
            if first != size and number == 0:
                leg |= {"size": first, "schedule": self.schedule(first)}
            self.pos[f"L{number + 1}"] = self.pos[here] + now * length
            here = f"L{number + 1}"
            if number % 2 == 0:
                leg["end"] = "eccentric_reducer"
                if rng.random() < 0.9:
                    leg["flat"] = self.side(now, wrong=rng.random() < 0.08)
            else:
                leg["end"] = "elbow"
            if legs and legs[-1]["end"] == "eccentric_reducer":
                to = self.reduced(first)
                leg |= {"size": to, "schedule": self.schedule(to)}
                first = to
            legs.append(leg)
            if leg["end"] == "elbow":
                now = self.corner(now, 90.0)
        last: dict[str, Any] = {
            NAMES[at]: round(float(now[at] * 50 * self.inch), 9) for at in range(3) if abs(now[at]) > 1e-9
        }
        if legs[-1]["end"] == "eccentric_reducer":
            to = self.reduced(first)
            last |= {"size": to, "schedule": self.schedule(to)}
        legs.append({**last, "end": "plain"})
        spool["leg"] = legs
        return spool

    def on_purpose(self) -> list[dict[str, Any]]:
        """Old stock, a fall, a cocked tee; and what cannot be made, a spool for each mistake."""
        far, near, radius = (self.number(each) for each in (60, 15, 10))
        small = {"size": "2", "schedule": "80", "joints": "socket", "fitting_class": "3000", "start": "bevel"}
        plain = {"size": "2", "schedule": "40", "start": "bevel"}
        bent = {"end": "bend", "radius": radius, "pulled": True}
        last = {"end": "plain"}
        old = self.centres("return", "3/4", True)
        branched: list[dict[str, Any]] = [
            {"east": far, "end": "tee"}, {"east": far, "end": "coupling"}, {"east": far, "end": "half_coupling"},
            {"from": "L1", "size": "3/4", "schedule": "80", "north": far, "end": "union", "takeout": near / 10},
            {"north": far, "end": "cross"}, {"north": far, "end": "cap", "joint": "socket", "takeout": near / 9},
            {"from": "L5", "size": "1/2", "schedule": "80", "up": far, "end": "threaded_flange", "class": "150"},
            {"from": "L5", "size": "1/2", "schedule": "80", "up": -far, "end": "socket_weld_flange", "class": "150"},
        ]  # fmt: skip
        spools: list[dict[str, Any]] = [
            {**small, "leg": branched},
            {**small, "joints": "threaded", "leg": branched},
            {"size": "3/4", "schedule": "80", "start": "elbow", "start_stock": "old", "leg": [
                {"east": far, "end": "elbow", "stock": "old"}, {"north": far, "end": "elbow", "stock": "old"},
                {"north": far, "up": far, "end": "return", "stock": "old"}, {"east": old, "end": "return"},
                {"north": -far, "up": -far, "end": "elbow", "stock": "old"}, {"east": far, "north": -2 * far, **last}]},
            {**plain, "leg": [
                {"east": far, "end": "elbow"}, {"bearing": 30, "run": far, "fall": "1/8 in/ft", "end": "tee",
                 "fitting": "stock"}, {"bearing": 30, "run": far, "fall": "1/8 in/ft", "end": "weld"},
                {"from": "L2", "up": far, "end": "cap"}, {"from": "L3", "bearing": 30, "run": far,
                 "fall": "1/8 in/ft", **last}]},
            {**plain, "leg": [{"east": far, **bent}, {"north": near, **bent}, {"up": far, **last}]},
            {**plain, "leg": [{"east": radius / 2, **bent}, {"north": far, **last}]},
            {**plain, "leg": [{"east": far, **bent}, {"north": radius / 2, **last}]},
            {**plain, "leg": [{"east": far, **bent}]},
            {**plain, "leg": [{"east": far, **bent}, {"north": far, "schedule": "80", **last}]},
            {**small, "leg": [{"east": far, "end": "coupling"}, {"east": far, "north": near, **last}]},
            {**plain, "leg": [{"east": far, "end": "lateral", "takeout": near, "takeout_out": near,
                               "takeout_branch": near}, {"east": far, "north": far, **last}]},
            {**plain, "leg": [{"east": far, "end": "cross"}, {"north": far, **last},
                              {"from": "L1", "up": far, **last}]},
            {**plain, "leg": [{"east": far, "end": "return"}, {"north": far, "end": "return"}, {"east": -far, **last}]},
            {**plain, "leg": [{"east": far, "end": "return"}, {"north": self.centres("return", "2", False),
                               "end": "return"}, {"north": far, **last}]},
            {**plain, "leg": [{"east": far, "end": "elbow", "joint": "none"}, {"north": far, **last}]},
            {**plain, "leg": [{"east": far, "end": "coupling"}, {"east": far, **last}]},
            {**small, "leg": [{"east": far, "end": "elbow"}, {"east": far, "north": 2 * far, **last}]},
            {**small, "leg": [{"east": far, "end": "elbow"}, {"north": near, "end": "elbow", "make_up": True},
                              {"up": far, **last}]},
            {**small, "leg": [{"east": far, "end": "elbow", "fitting": "stock"},
                              {"east": near / 9, "north": far, **last}]},
            {**small, "leg": [{"east": far, "end": "tee", "fitting": "stock"}, {"east": far, **last},
                              {"from": "L1", "east": near, "north": far, **last}]},
            {**small, "leg": [{"east": far, "end": "cap", "joint": "threaded"}]},
            {**small, "start": "cap", "start_joint": "socket", "leg": [{"east": far, **last}]},
            {**plain, "leg": [{"east": far, **bent, "takeout": near}, {"north": far, **last}]},
            {**plain, "leg": [{"east": far, **bent, "trim": near}, {"north": far, **last}]},
            {**plain, "start": "eccentric_reducer", "start_flat": "bottom", "size": "3", "leg": [
                {"up": far, "size": "2", **last}]},
            {**plain, "size": "3", "leg": [{"up": far, "end": "eccentric_reducer", "flat": "top"},
                                           {"up": far, "size": "2", **last}]},
            {**plain, "size": "3", "leg": [{"east": far, "end": "eccentric_reducer", "flat": "bottom"},
                                           {"to": {"east": 2 * far, "up": 0}, "size": "2", **last}]},
            *self.not_made(far),
        ]  # fmt: skip
        return [{"mark": f"P{number}", **spool} for number, spool in enumerate(spools, start=1)]

    def not_made(self, far: float) -> list[dict[str, Any]]:
        """Parts that no standard has, a spool for each; and some just within."""
        small = {"size": "1", "schedule": "80", "joints": "socket", "fitting_class": "3000", "start": "bevel"}
        plain = {"size": "4", "schedule": "40", "start": "bevel"}
        last = {"end": "plain"}

        def branched(size: str, run: str = "", **more: Any) -> list[dict[str, Any]]:
            run_size = {"size": run} if run else {}
            return [{"east": far, "end": "tee", **more}, {"from": "L1", "east": far, **run_size, **last},
                    {"from": "L1", "north": far, "size": size, **last}]  # fmt: skip

        def crossed(one: str, other: str, **more: Any) -> list[dict[str, Any]]:
            after: list[dict[str, Any]] = [{"north": far, "size": one}, {"north": -far, "size": other}, {"east": far}]
            return [{"east": far, "end": "cross", **more}, *({"from": "L1", **each, **last} for each in after)]

        def reduced(size: str) -> list[dict[str, Any]]:
            return [{"east": far, "end": "reducing_elbow"}, {"north": far, "size": size, **last}]

        def bent(radius: float) -> list[dict[str, Any]]:
            return [{"east": far, "end": "bend", "radius": self.number(radius)}, {"north": far, **last}]

        typed: dict[str, Any] = {"takeout": self.number(2), "takeout_out": self.number(2)}
        coming_in = [{"east": far, "end": "tee", "enters": "branch"},
                     {"from": "L1", "north": far, "size": "3/4", **last},
                     {"from": "L1", "north": -far, "size": "3/4", **last}]  # fmt: skip
        return [
            {**small, "leg": branched("2")},
            {**small, "leg": branched("2", **typed)},
            {**small, "leg": branched("2", takeout=self.number(2))},
            {**small, "joints": "threaded", "leg": branched("1-1/4")},
            {**small, "leg": branched("1")},
            {**small, "leg": branched("3/4")},
            {**small, "leg": coming_in},
            {**small, "leg": [{**coming_in[0], "takeout": self.number(2)}, *coming_in[1:]]},
            {**small, "fitting_class": "9000", "leg": branched("1/4")},
            {**small, "fitting_class": "9000", "leg": branched("1/2")},
            {**small, "start": "tee", "leg": [{"east": far, **last}, {"from": "start", "east": -far, **last},
                                              {"from": "start", "north": far, "size": "2", **last}]},
            {**small, "leg": crossed("1-1/2", "1-1/2")},
            {**small, "leg": crossed("3/4", "1/2")},
            {**plain, "leg": crossed("3", "2")},
            {**plain, "leg": crossed("3", "3")},
            {**plain, "size": "2", "leg": [
                {"east": far, "end": "cross", "enters": "branch"}, {"from": "L1", "north": far, "size": "3", **last},
                {"from": "L1", "north": -far, "size": "3", **last}, {"from": "L1", "east": far, **last}]},
            {**plain, "size": "2", "leg": [
                {"east": far, "end": "cross", "enters": "branch"}, {"from": "L1", "north": far, "size": "3", **last},
                {"from": "L1", "east": far, **last}]},
            {**plain, "size": "2", "leg": [
                {"east": far, "end": "cross", "enters": "branch"}, {"from": "L1", "north": far, "size": "3", **last},
                {"from": "L1", "north": -far, "size": "4", **last}]},
            *({**plain, "leg": reduced(size)} for size in ("4", "2", "1-1/2", "8", "10")),
            *({**plain, "leg": bent(radius)} for radius in (2.2, 2.3, 4)),
            {**small, "leg": [{"east": far, "end": "cap"}]},
            {**small, "start": "cap", "leg": [{"east": far, **last}]},
            {**small, "leg": [{"east": far, "end": "cap", "joint": "butt"}]},
            {**small, "size": "2-1/2", "schedule": "5S", "joints": "threaded", "leg": [
                {"east": far, "end": "elbow"}, {"north": far, **last}]},
        ]  # fmt: skip

    def side(self, way: Vector, wrong: bool) -> str:
        """A flat side for a pipe in this direction."""
        good = [name for name, side in SIDES.items() if abs(float(side @ way)) < MOST_ALONG - 1e-3]
        bad = [name for name, side in SIDES.items() if abs(float(side @ way)) > MOST_ALONG + 1e-3]
        return self.rng.choice(bad if wrong and bad else good)
