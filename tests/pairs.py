"""Jobs whose spools are joined: random pairs that meet, pairs by hand, and the sentences that a pair leads to."""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

import random
from typing import Any

import numpy as np
from live import Place, Value
from routes import job_text, toml
from walk import FLANGES, _rows

WN, SO, SW, LJ = FLANGES
AXES = [np.array(each, dtype=float) * sign for each in ((1, 0, 0), (0, 1, 0), (0, 0, 1)) for sign in (1, -1)]
RINGS = {(row["class"], row["size"]) for row in _rows("ring_joint")}
GASKETS = [row["gasket"] for row in _rows("gasket")]
PAIRS = 60


def with_connections(spools: list[dict[str, Any]], connections: list[dict[str, Any]], units: str = "inch") -> str:
    """A job of spools and what joins them."""
    lines = [job_text(spools, units, {"stock_angle_within": 0.25})]
    for each in connections:
        lines += ["[[connection]]", *(f"{key} = {toml(value)}" for key, value in each.items())]
    return "\n".join(lines) + "\n"


class Pairs:
    """Makes pairs of spools that meet, most of them rightly."""

    def __init__(self, seed: int, units: str) -> None:
        self.rng, self.units = random.Random(seed), units
        self.unit = 1.0 if units == "inch" else 25.4

    def number(self, low: float, high: float) -> float:
        return round(self.rng.uniform(low, high) * self.unit, 3)

    def spool(self, mark: str, out: Any, at_start: bool, end: dict[str, Any]) -> tuple[dict[str, Any], str]:
        """A spool of up to three legs whose joined end looks this way; and that end's name."""
        rng = self.rng
        way, ways = (-out if at_start else out), []
        for _ in range(rng.randint(1, 3)):
            ways.append(way)
            way = rng.choice([each for each in AXES if abs(each @ way) < 0.5])
        if not at_start:
            ways.reverse()
        legs: list[dict[str, Any]] = []
        for each in ways:
            leg: dict[str, Any] = {"end": "elbow"}
            for name, part in zip(("east", "north", "up"), each, strict=True):
                if abs(part) > 1e-9:
                    leg[name] = float(part) * self.number(80, 200)
            legs.append(leg)
        spool: dict[str, Any] = {"mark": mark, "size": end["size"], "schedule": end["schedule"]}
        if end["class"]:
            spool["class"] = end["class"]
        if end.get("facing"):
            spool["facing"] = end["facing"]
        free = rng.choice(["plain", "bevel", "cap"])
        spool["start"] = end["kind"] if at_start else free
        legs[-1]["end"] = free if at_start else end["kind"]
        if "gasket" in end:
            if at_start:
                spool["start_gasket"] = end["gasket"]
            else:
                legs[-1]["gasket"] = end["gasket"]
        if end["kind"] == "bevel" and rng.random() < 0.6:
            key = "start_field_gap" if at_start else "field_gap"
            (spool if at_start else legs[-1])[key] = rng.choice(["half", "full", "none"])
        return {**spool, "leg": legs}, "start" if at_start else f"L{len(legs)}"

    def end(self) -> dict[str, Any]:
        rng = self.rng
        size = rng.choice(["1/2", "2", "3", "6", "8", "12"])
        if rng.random() < 0.25:
            return {"kind": "bevel", "size": size, "schedule": "STD", "class": ""}
        kind = rng.choice([WN, WN, SO, LJ])
        classes = [row["class"] for row in _rows("flange") if row["size"] == size and row["slip_on_in"]]
        if self.units == "mm" and kind == WN and rng.random() < 0.3:
            classes = [row["class"] for row in _rows("flange_en") if row["size"] == size]
        flange_class = rng.choice(classes)
        facing = rng.choice(["", "RF", "FF", "RTJ", "RTJ"])
        if facing == "RTJ" and (kind == LJ or (flange_class, size) not in RINGS):
            facing = "RF"
        return {"kind": kind, "size": size, "schedule": "STD", "class": flange_class, "facing": facing}

    def job(self, count: int = PAIRS) -> str:
        """A job of so many pairs."""
        spools, connections = self.pairs(count)
        return with_connections(spools, connections, self.units)

    def pairs(self, count: int) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
        """So many pairs of spools, A0 and B0, A1 and B1 …, and what joins them."""
        rng = self.rng
        spools: list[dict[str, Any]] = []
        connections: list[dict[str, Any]] = []
        for at in range(count):
            one = self.end()
            two = dict(one) if rng.random() < 0.7 else {**one, **rng.choice([self.end(), {"facing": "FF"}])}
            if two["kind"] == "bevel":
                two |= {"class": "", "facing": ""}
            out = rng.choice(AXES)
            back = -out if rng.random() < 0.85 else rng.choice(AXES)
            thickness = rng.choice(["1/8 in", "0.16 in"])
            for each in (one, two):
                if each["kind"] in FLANGES and rng.random() < 0.2:
                    each["gasket"] = rng.choice([thickness, "1/16 in"])
            first, first_at = self.spool(f"A{at}", out, rng.random() < 0.5, one)
            second, second_at = self.spool(f"B{at}", back, rng.random() < 0.5, two)
            spools += [first, second]
            said: dict[str, Any] = {
                "first": first["mark"], "first_at": first_at, "second": second["mark"], "second_at": second_at,
            }  # fmt: skip
            if rng.random() < 0.5:
                said["gasket"] = rng.choice(GASKETS[:5])
            if rng.random() < 0.4:
                said["thickness"] = thickness
            connections.append(said)
        return spools, connections


def flanged(
    mark: str, up: float, facing: str = "RF", flange_class: str = "150", size: str = "6", **more: Any
) -> dict[str, Any]:
    """A spool of one upright leg between two weld neck flanges."""
    return {
        "mark": mark, "size": size, "schedule": "STD", "class": flange_class, "facing": facing, "start": WN,
        "leg": [{"up": up, "end": WN}], **more,
    }  # fmt: skip


JOIN = {"first": "A", "first_at": "L1", "second": "B", "second_at": "start"}


Cells = dict[Place, Value]
BASE = (flanged("A", 100), flanged("B", 60))
BEVEL = {**flanged("B", 60), "start": "bevel"}
SAID: dict[str, tuple[list[dict[str, Any]], Cells, str, str]] = {
    "first unknown": ([*BASE], {("connections.first", 0): "X"}, "stops", "The first spool is not on Spools. "),
    "second unknown": ([*BASE], {("connections.second", 0): "X"}, "stops", "The second spool is not on Spools. "),
    "first leg": ([*BASE], {("connections.first_at", 0): "L9"}, "stops", "The first spool has no such leg: name one, or start. "),
    "second leg": ([*BASE], {("connections.second_at", 0): None}, "stops", "The second spool has no such leg: name one, or start. "),
    "itself": (
        [*BASE], {("connections.second", 0): "A", ("connections.second_at", 0): "L1"}, "stops", "It joins an end with itself. They do not look at each other: 180° off. ",
    ),
    "cannot": ([BASE[0], BEVEL], {}, "stops", "These two ends cannot be joined: weld neck flange and bevelled end. "),
    "blind": (
        [*BASE], {("more.blind", 0): "yes"}, "stops", "A blind flange closes one of these ends. ",
    ),
    "blind start": (
        [*BASE], {("spools.start_blind", 1): "yes"}, "stops", "A blind flange closes one of these ends. ",
    ),
    "size": ([BASE[0], flanged("B", 60, size="8")], {}, "stops", 'Size 6 against size 8. Bolt circle 9-1/2" against 11-3/4". '),
    "class": ([BASE[0], flanged("B", 60, flange_class="300")], {}, "stops", 'Class 150 against class 300. Bolt circle 9-1/2" against 10-5/8". Bolt holes 8 against 12. '),
    "class of the same drilling": ([flanged("A", 100, flange_class="400", size="3"), flanged("B", 60, flange_class="600", size="3")], {}, "stops", "Class 400 against class 600. "),
    "facing": ([BASE[0], flanged("B", 60, "FF")], {}, "stops", "Facing RF against FF. "),
    "turned": ([BASE[0], flanged("B", 0, leg=[{"east": 60, "end": WN}])], {}, "stops", "They do not look at each other: 90° off. "),
    "fits": ([*BASE], {}, "stops", ""),
    "twice": (
        [*BASE], {("connections.first", 1): "B", ("connections.first_at", 1): "start", ("connections.second", 1): "A", ("connections.second_at", 1): "L1"}, "stops 1",
        "One of these ends is joined in a row above already. ",
    ),
    "no gasket": ([*BASE], {("connections.thickness", 0): None}, "cautions", "Say the gasket's kind or its thickness. "),
    "flat": ([flanged("A", 9, "FF"), flanged("B", 60, "FF")], {}, "cautions", "Flat faces: the studs are the standard's for raised faces. "),
    "lap": ([{**flanged("A", 100), "leg": [{"up": 100, "end": LJ}]}, BASE[1]], {}, "cautions", "Lap joint: the studs are longer by the laps; their length is not in the tables. "),
    "first holds another": ([flanged("A", 100, leg=[{"up": 100, "end": WN, "gasket": "1/4 in"}]), BASE[1]], {}, "cautions", 'The dimension of the first spool holds 1/4", here it is 1/8". '),
    "both hold it": ([flanged("A", 100, leg=[{"up": 100, "end": WN, "gasket": "1/8 in"}]), flanged("B", 60, start_gasket="1/8 in")], {}, "cautions", "The dimensions of both spools hold it: more is taken off than lies between. "),
    "second holds another": ([BASE[0], flanged("B", 60, start_gasket="1/16 in")], {}, "cautions", 'The dimension of the second spool holds 1/16", here it is 1/8". '),
    "memory": ([*BASE], {("connections.thickness", 0): None, ("connections.gasket", 0): "flat sheet 1/8"}, "cautions", "† what lies between rests on a value from memory. "),
    "walls": (
        [{**flanged("A", 100), "leg": [{"up": 100, "end": "bevel"}]}, {**BEVEL, "schedule": "XS"}], {}, "cautions", 'Wall 9/32" against 7/16": see Bores. ',
    ),
    "route": ([{**flanged("A", 5), "leg": [{"up": 5, "end": "elbow"}, {"up": 90, "end": WN}]}, BASE[1]], {("connections.first_at", 0): "L1"}, "cautions", "Look at the Route first: a leg of it has a ✗. "),
}  # fmt: skip
"""Spools, what is typed, the column and row that say something, and what they say."""
