"""Spools that chance hardly brings, typed by hand: just within a limit or just over it, and what few shops ever fit."""

# ruff: noqa: E501  (a spool stands in one line, so that it can be read as one)

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from gauges import Place, Value
from hand_routes import Leg, Typed, turned
from routes import job_text

Said = Mapping[str, Value]
Spool = tuple[Said, Sequence[Said]]


def exactly(edition: str, spools: Sequence[Spool]) -> dict[Place, Value]:
    """Cells of these spools. A leg's cells without a table are the Route's; numbers of lengths are inches.

    Args:
        edition: "inch" or "mm".
        spools: each with its legs.
    """
    typed = Typed(edition, 0)
    for said, legs in spools:
        spool: Said = {"mark": f"S{typed.spools + 1}", "start": "plain", "size": "2", "flange_class": "150", **said}
        typed.put("spools", typed.spools, {name: _inches(typed, name, value) for name, value in spool.items()})
        typed.spools += 1
        for at, leg in enumerate(legs, start=1):
            row: Leg = {
                "spool": spool["mark"],
                "leg": f"L{at}",
                "end": "plain",
                "size": spool["size"],
                "schedule": "80",
            }
            for name, value in {**row, **leg}.items():
                table, _, column = name.rpartition(".")
                typed.put(table or "legs", typed.legs, {column: _inches(typed, column, value)})
            typed.legs += 1
    return typed.cells


def _inches(typed: Typed, name: str, value: Value) -> Value:
    plain = name in ("bearing", "fall", "by_angle") or not isinstance(value, (int, float))
    return value if plain or value is None else float(value) * typed.inch


def turning(end: str, angle: float, size: str = "2", more: Said = MappingProxyType({})) -> Spool:
    """Two legs with a turn between them."""
    leaves = turned((1, 0, 0), angle, (0, 1, 0))
    second = {"east": round(60 * leaves[0], 9), "north": round(60 * leaves[1], 9)}
    return {"size": size}, [{"end": end, "east": 60.0, **more}, second]


def met(spool: Said, first: Said, *leaves: Said) -> Spool:
    """A leg east, and what starts from its end."""
    return spool, [{"east": 60.0, **first}, *({"from": "L1", **leaf} for leaf in leaves)]


def from_start(spool: Said, *legs: Said) -> Spool:
    """Legs that start where the spool does."""
    return spool, [{"from": "start", **leg} for leg in legs]


FACED: Said = {"start": "weld_neck_flange", "facing": "FF"}
KEPT: Said = {"details.fitting": "stock"}
SMALL: Said = {"joints": "socket", "fitting_class": "3000", "size": "1"}
EAST: Said = {"east": 40.0}
NORTH: Said = {"north": 40.0}
SOUTH: Said = {"north": -40.0}
UP: Said = {"up": 40.0}
DOWN: Said = {"up": -40.0}
COCKED: Sequence[Spool] = [
    met(
        {},
        {"end": "tee", "details.fitting": "stock"},
        EAST,
        {**NORTH, "east": round(40 * math.tan(math.radians(3)), 9)},
    ),
    met(
        {}, {"end": "tee", "details.fitting": "stock"}, EAST, {**UP, "east": round(40 * math.tan(math.radians(15)), 9)}
    ),
]
"""Tees from stock whose branch is not square to the run."""

RARE: Mapping[str, Sequence[Spool]] = {
    "corners": [
        turning("elbow", 60, "2", KEPT), turning("elbow", 67.5, "2", KEPT), turning("elbow", 67.51, "2", KEPT),
        turning("elbow_3d", 60, "2", KEPT), turning("elbow_3d", 45, "3/4"), turning("elbow_3d", 45),
        turning("elbow_short_radius", 60, "2", KEPT), turning("elbow", 45, "3/4", {"more.stock": "old"}),
        turning("elbow", 60, "3/4", {"more.stock": "old"}), turning("elbow", 90, "3/4", {"more.stock": "old"}),
    ],
    "more corners": [
        turning("elbow", 93, "2", KEPT), turning("elbow", 93.01, "2", KEPT), turning("elbow", 105, "2", KEPT),
        turning("reducing_elbow", 91, "2", KEPT), turning("elbow_3d", 44, "2", KEPT), turning("elbow", 45, "2", {"more.stock": "old"}),
        turning("bend", 170, "2", {"more.radius": 9.0}), turning("bend", 170.01, "2", {"more.radius": 9.0, "details.takeout": 4.0}),
        turning("bend", 90, "2", {"details.takeout": 4.0}), turning("elbow_3d", 30, "3/4", KEPT),
        ({}, [{"end": "elbow", "up": 60.0, "north": 0.05}, {"east": 14.0, "north": 20.0, "up": 30.0}]),
    ],
    "small tees": [
        from_start({**SMALL, "start": "tee"}, {"east": 40.0}, {"east": -40.0}, {**NORTH, "size": "2"}),
        from_start({**SMALL, "start": "tee", "fitting_class": "9000"}, EAST, {"east": -40.0}, {**NORTH, "size": "1/4"}),
        from_start({**SMALL, "start": "tee", "start_enters": "branch"}, {**EAST, "size": "1/2"}, NORTH, SOUTH),
        met(SMALL, {"end": "tee", "more.fitting_class": "6000"}, {**EAST, "size": "1/2"}, NORTH),
        met({**SMALL, "joints": "threaded"}, {"end": "tee", "size": "1/2"}, NORTH, SOUTH),
        met({**SMALL, "joints": "threaded"}, {"end": "tee", "size": "3/4", "more.fitting_class": "9000"}, NORTH, SOUTH),
        met({**SMALL, "fitting_class": None}, {"end": "tee"}, EAST, {**UP, "size": "3/4"}),
        met(SMALL, {"end": "tee", "details.takeout": 2.0, "details.takeout_out": 2.5}, EAST, {**UP, "size": "2"}),
        met({**SMALL, "size": "1/2"}, {"end": "tee"}, EAST, {**NORTH, "size": None}),
        met(SMALL, {"end": "cross", "size": "1/2", "details.enters": "branch"}, NORTH, SOUTH, EAST),
        met(SMALL, {"end": "cross"}, {**NORTH, "size": "1/2"}, {**SOUTH, "size": "1/2"}, EAST),
    ],
    "crosses": [
        met({"size": "4"}, {"end": "cross", "details.enters": "branch", "size": "2"}, NORTH, SOUTH, EAST),
        met({"size": "4"}, {"end": "cross", "details.enters": "branch"}, {**EAST, "size": "2"}, NORTH, SOUTH),
        met({"size": "4"}, {"end": "cross"}, {**UP, "size": "2"}, {**DOWN, "size": "3"}, EAST),
        met({"size": "4"}, {"end": "cross"}, UP, NORTH, EAST), met({"size": "4"}, {"end": "cross"}, NORTH, UP),
        met({"size": "4"}, {"end": "cross", "east": None, "north": 60.0}, EAST, UP),
        met({"size": "4"}, {"end": "cross", "east": None, "north": 60.0}, {"east": 40.0, "up": 40.0}, {"east": 40.0, "up": -40.0}),
        met({"size": "4"}, {"end": "cross"}, {"north": 40.0, "up": 40.0}, {"north": 40.0, "up": -40.0}),
        met({"size": "4"}, {"end": "cross"}, {"north": 40.0, "up": 40.0}, {"north": -40.0, "up": 40.0}),
        met({"size": "4"}, {"end": "cross", "east": None, "up": 60.0}, NORTH, EAST),
        met({"size": "4"}, {"end": "cross"}, UP, DOWN, EAST, {"east": 50.0}), met({"size": "4"}, {"end": "cross"}),
    ],
    "tees": [
        from_start({"start": "tee"}, EAST, NORTH), from_start({"start": "tee"}, EAST, NORTH, UP),
        from_start({"start": "tee"}, EAST, {"east": 40.0, "north": 40.0}), from_start({"start": "tee"}, EAST, NORTH, SOUTH),
        from_start({"start": "tee"}, EAST, {"east": -40.0}, NORTH, SOUTH),
        met({}, {"end": "tee"}, NORTH), met({}, {"end": "tee"}, NORTH, {}), met({"size": "4"}, {"end": "tee", "details.enters": "branch"}, NORTH), met({}, {"end": "tee"}, {"north": 40.0, "east": 40.0}, NORTH),
        *COCKED,
        met({}, {"end": "tee"}, EAST, NORTH, SOUTH),
    ],
    "beginnings": [
        ({"start": "coupling"}, [{**EAST}]), ({"start": "half_coupling", "start_joint": "butt"}, [{**EAST}]),
        ({"start": "union", "start_takeout": 2.0}, [{**EAST}]), ({**SMALL, "start": "coupling", "fitting_class": None}, [{**EAST}]),
        ({**SMALL, "start": "elbow", "fitting_class": "2000"}, [{**EAST}]), ({"start": "reducer"}, [{**EAST}]),
        ({"start": "reducer", "size": None}, [{**EAST, "size": "2"}]), ({"start": "eccentric_reducer", "size": "12"}, [{**EAST, "size": "2"}]),
        ({"start": "reducer", "start_takeout": 3.0}, [{**EAST}]), ({"start": "reducer", "size": "3"}, [{**EAST, "size": "2"}]),
        ({**SMALL, "start": "tee", "joints": "threaded", "fitting_class": "9000"}, [{**EAST}]),
        ({**SMALL, "start": "tee", "fitting_class": None, "start_takeout": 2.0}, [{**EAST}]),
    ],
    "larger branches": [
        met({}, {"end": "tee"}, EAST, {**NORTH, "size": "3"}), met({"size": "4"}, {"end": "tee"}, {**NORTH, "size": "2"}, {**SOUTH, "size": "2"}),
        met({"size": "4"}, {"end": "cross", "details.fitting": "stock", "details.enters": "branch"}, {**UP, "east": 1.0}, {**DOWN, "east": -1.0}), met({}, {"end": "elbow"}, {}), met({}, {"end": "tee", "details.takeout": 3.0}, EAST, {**NORTH, "size": "3"}), met({}, {"end": "tee", "size": None}, EAST, NORTH),
        from_start({"start": "tee"}, EAST, {"east": -40.0}, {**NORTH, "size": "3"}),
        met({"size": "4"}, {"end": "cross"}, {**UP, "size": "6"}, {**DOWN, "size": "6"}, EAST),
    ],
    "couplings": [
        met({**SMALL, "joints": "threaded"}, {"end": "union", "details.takeout": 1.5}, EAST),
        met({**SMALL, "joints": "threaded"}, {"end": "union", "details.takeout": 1.5, "details.takeout_out": 1.0}, EAST),
        met({**SMALL, "joints": "threaded"}, {"end": "coupling"}, EAST), met(SMALL, {"end": "coupling"}, EAST),
        met({**SMALL, "joints": "threaded", "fitting_class": "2000"}, {"end": "half_coupling"}),
        met({**SMALL, "joints": "threaded", "fitting_class": "2000"}, {"end": "coupling"}, EAST),
        met({**SMALL, "start": "half_coupling"}, {"end": "half_coupling"}),
        met({**SMALL, "start": "coupling", "joints": "threaded"}, {"end": "weld"}, {**EAST, "size": "3/4"}),
        met({**SMALL, "start": "elbow"}, {"end": "socket_weld_flange", "details.joint": "socket"}),
        met({**SMALL, "start": "elbow", "joints": "threaded"}, {"end": "threaded_flange", "details.make_up": "yes"}),
    ],
    "more small ones": [
        met({"size": "1", "start": "other", "start_joint": "socket"}, {"end": "other", "details.joint": "threaded", "details.make_up": "yes"}),
        met({"size": "1", "start": "other", "start_joint": "socket"}, {"end": "elbow", "details.make_up": "yes"}, NORTH),
        met({**SMALL, "start": "elbow_short_radius"}, {"end": "lateral", "details.takeout": 4.0}, {"east": 40.0, "north": 40.0}),
        met({}, {"end": "lateral", "details.takeout": 4.0, "details.takeout_out": 6.0, "more.takeout_branch": 5.0}, EAST, {"east": 40.0, "up": 40.0}),
        met({}, {"end": "lateral"}, EAST, NORTH, UP), met({**SMALL, "joints": "threaded", "size": "6"}, {"end": "elbow"}, NORTH),
        met({**SMALL, "start": "cap"}, {"end": "cap"}), met({**SMALL, "start": "cap", "start_joint": "socket"}, {}), met({"start": "elbow", "start_joint": "fillet"}, {}), met({**SMALL, "size": "3/4", "start": "elbow", "start_stock": "old"}, {}),
        met({"size": "3/4", "start": "elbow", "start_stock": "old"}, {}), met({"size": "2", "start": "elbow", "start_stock": "old"}, {}),
    ],
    "returns": [
        ({"size": "3/4"}, [{"end": "return", "east": 60.0, "more.stock": "old"}, {"end": "return", "north": 2.25}, {"east": -60.0}]),
        ({"size": "3/4"}, [{"end": "return", "east": 60.0}, {"end": "return", "up": 3.0}, {"east": -60.0}]),
        ({"size": "3/4"}, [{"end": "return_short_radius", "up": 60.0}, {"end": "return_short_radius", "north": 2.0}, {"up": -60.0}]),
        ({"size": "6"}, [{"end": "return", "up": 60.0}, {"end": "return", "north": 17.0}, {"up": -60.0, "north": 20.0}]),
        ({"size": "6"}, [{"end": "return", "north": 60.0}, {"end": "elbow", "up": 18.0}, {"north": -60.0}]),
        ({"size": "6"}, [{"end": "return_short_radius", "north": 60.0}, {"end": "return_short_radius", "up": 12.0}, {"north": -60.0}]),
        ({"size": "6", "start": "return"}, [{"east": 60.0}]),
        ({"size": "1/4"}, [{"end": "return", "east": 60.0}, {"end": "return", "up": 3.0}, {"east": -60.0}]),
    ],
    "pulled": [
        ({"size": "2"}, [{"end": "bend", "east": 60.0, "more.radius": 12.0, "more.pulled": "yes"}, {"north": 12.0}]),
        ({"size": "2"}, [{"end": "bend", "east": 60.0, "more.radius": 12.0, "more.pulled": "yes"}, {"north": 11.99}]),
        ({"size": "2"}, [{"end": "bend", "east": 11.9, "more.radius": 12.0, "more.pulled": "yes"}, {"north": 60.0}]),
        ({"size": "2"}, [{"end": "bend", "east": 9.0, "more.radius": 12.0}, {"north": 9.0}]),
        ({"size": "2"}, [{"end": "bend", "east": 60.0, "more.radius": 12.0, "more.pulled": "yes"}, {"north": 60.0, "schedule": "40"}]),
        ({"size": "2"}, [{"end": "bend", "east": 60.0, "more.radius": 12.0, "more.pulled": "yes", "details.make_up": "yes"}, {"north": 60.0}]),
        ({"size": "2"}, [{"end": "bend", "east": 60.0, "more.radius": 12.0, "more.pulled": "yes"}, {"north": 60.0, "details.make_up": "yes"}]),
        ({"size": "2"}, [{"end": "bend", "east": 60.0, "more.radius": 1.1875}, {"north": 60.0}]),
        ({"size": "2"}, [{"end": "bend", "east": 60.0, "more.radius": 2.0}, {"north": 60.0}]),
        ({"size": "2"}, [{"end": "bend", "up": 60.0, "more.radius": 12.0, "more.pulled": "yes"}, {"end": "bend", "east": 60.0, "north": 20.0, "more.radius": 12.0, "more.pulled": "yes"}, {"up": 30.0, "north": 40.0}]),
    ],
    "faces": [
        ({**FACED, "start_takeout": 3.0, "start_gasket": 0.125}, [{"east": 40.0, "end": "weld_neck_flange", "details.takeout": 4.0, "more.gasket": 0.125}]),
        ({**FACED, "start_takeout": 3.0}, [{"east": 40.0, "end": "weld_neck_flange", "details.takeout": 4.0}]),
        ({**FACED, "start_gasket": 0.125}, [{"east": 40.0, "end": "socket_weld_flange", "more.gasket": 0.125}]),
        ({**FACED, "facing": "RTJ", "start_gasket": 0.125}, [{"east": 40.0, "end": "threaded_flange", "more.gasket": 0.125, "more.facing": "FF"}]),
        ({**FACED, "facing": "RTJ", "start": "slip_on_flange"}, [{"east": 40.0, "end": "lap_joint"}]),
        ({**FACED, "facing": "RTJ", "start": "lap_joint", "start_takeout": 3.0}, [{"east": 40.0, "end": "lap_joint", "details.takeout": 4.0}]),
    ],
    "closings": [
        ({"start": "bevel"}, [
            {"end": "elbow", "east": 60.0, "north": 5.0, "up": 3.0, "more.to_east": 60.00001, "more.to_north": 5.0, "more.to_up": 3.0},
            {"end": "elbow", "north": 60.0, "more.close_to": "L1", "more.to_north": 64.0, "more.to_up": 3.0},
            {"end": "elbow", "east": -60.0, "more.close_to": "L1", "more.to_east": 0.01},
            {"end": "elbow", "north": -60.0, "east": 60.0, "more.close_to": "L1", "more.to_up": 3.5},
            {"up": 2.0, "north": 1.0, "east": -1.0, "more.close_to": "L1", "more.to_east": 61.0, "more.to_north": 5.0},
        ]),
        ({"size": "6"}, [
            {"end": "eccentric_reducer", "east": 60.0, "more.flat": "top"},
            {"size": "4", "east": 60.0, "end": "eccentric_reducer", "more.to_east": 120.0, "more.to_north": 0.0, "more.flat": "south"},
            {"size": "6", "east": 40.0, "more.to_up": 0.0, "more.to_north": 1.0625},
        ]),
        ({"size": "8"}, [{"end": "reducing_elbow", "east": 60.0}]),
        ({}, [{"end": "elbow", "east": 60.0, "up": 50.0}, {"north": 3.0, "more.close_to": "L1"}]),
        ({}, [{"end": "elbow", "north": 60.0, "up": 70.0}, {"east": 61.0, "up": 4.0, "more.close_to": "L1"}]),
        ({"start": "eccentric_reducer", "start_flat": "east", "size": "6"}, [{"size": "4", "east": 60.0}]),
        ({"start": "eccentric_reducer", "start_flat": "north", "size": "6"}, [{"size": "4", "east": 60.0, "more.to_north": 0.0}]),
    ],
    "half said": [
        ({}, [{"leg": None, "end": None, "spool": "Q", "size": None, "schedule": None}]), ({}, [{"leg": None, "east": 40.0}, {"from": "start", "north": 20.0}]),
        ({"start": "elbo", "start_joint": "fillet"}, [{"east": 40.0}]), ({"flange_class": None, "start": "lap_joint", "size": "30"}, [{"east": 40.0, "end": "lap_joint"}]),
        ({"size": "30"}, [{"east": 40.0, "end": "cap", "schedule": "STD"}]), ({"size": "5"}, [{"east": 40.0, "end": "cap", "schedule": "STD"}]),
        met({**SMALL, "joints": "threaded"}, {"end": "elbow", "schedule": "10S"}, NORTH), met({**SMALL, "joints": "threaded"}, {"end": "elbow", "schedule": "STD"}, NORTH),
        met({**SMALL, "joints": "threaded", "size": "2-1/2"}, {"end": "elbow", "schedule": "5S"}, NORTH),
        ({"mark": "S1"}, [{"east": 40.0}]),
    ],
}  # fmt: skip
"""By what they are about; as many spools as a blank workbook has room for."""


BARE: Said = {"size": "4", "schedule": "STD", "start": "bevel"}
LINES = job_text([
    {"mark": "A", **BARE, "origin": {"east": 1000, "north": 2000, "up": 120}, "leg": [{"bearing": "60 deg", "fall": "1/4 in/ft", "to": {"up": 118}, "end": "elbow", "fitting": "stock"}, {"bearing": "150 deg", "run": "70 in", "up": "5 in", "end": "elbow", "fitting": "stock"}, {"east": "40 in", "north": "30 in", "up": "by 45 deg", "end": "elbow"}, {"to": {"east": 1200, "north": 2100, "up": 170}, "end": "bevel"}]},
    {"mark": "B", **BARE, "size": "2", "start": "plain", "origin": {"up": -60}, "leg": [{"bearing": "210 deg", "fall": "2 %", "to": {"up": -61}, "end": "elbow", "fitting": "stock"}, {"east": "60 in", "fall": "1/8 in/ft", "end": "elbow", "fitting": "stock"}, {"close_to": "start", "end": "plain"}]},
    {"mark": "C", **BARE, "origin": {"up": 12}, "leg": [{"bearing": "90 deg", "fall": "1/4 in/ft", "to": {"up": 36}, "end": "bevel"}]},
    {"mark": "D", **BARE, "leg": [{"bearing": "90 deg", "fall": "-1/4 in/ft", "to": {"up": -24}, "end": "bevel"}]},
    {"mark": "E", **BARE, "leg": [{"bearing": "90 deg", "fall": "0 %", "to": {"up": -24}, "end": "bevel"}]},
    {"mark": "F", **BARE, "leg": [{"bearing": "30 deg", "fall": "0 %", "to": {"up": 0}, "end": "bevel"}]},
    {"mark": "G", **BARE, "leg": [{"bearing": "30 deg", "fall": "2 %", "to": {"up": 0}, "end": "bevel"}]},
    {"mark": "H", **BARE, "leg": [{"bearing": "90 deg", "run": 96, "to": {"east": 100}, "end": "bevel"}]},
    {"mark": "I", **BARE, "leg": [{"east": 96, "fall": "1/4 in/ft", "to": {"up": -1}, "end": "bevel"}]},
    {"mark": "J", **BARE, "origin": {"up": 12}, "leg": [{"bearing": "100 deg", "run": 96, "fall": "1/4 in/ft", "to": {"up": 10.5, "east": 95}, "end": "bevel"}]},
    {"mark": "K", **BARE, "origin": {"north": 7, "east": 3}, "leg": [{"bearing": "40 deg", "to": {"east": 100, "north": 90}, "end": "bevel"}]},
    {"mark": "L", **BARE, "origin": {"east": 3}, "leg": [{"bearing": "120 deg", "to": {"east": 100}, "fall": "1 %", "end": "bevel"}]},
    {"mark": "M", **BARE, "leg": [{"bearing": "210 deg", "to": {"north": -40, "up": 5}, "end": "bevel"}]},
    {"mark": "N", **BARE, "leg": [{"bearing": "90 deg", "to": {"north": 40}, "end": "bevel"}]},
    {"mark": "O", **BARE, "leg": [{"bearing": "225 deg", "to": {"north": 40, "east": 40, "up": 3}, "end": "bevel"}]},
    {"mark": "P", **BARE, "leg": [{"bearing": "120 deg", "to": {"north": -40}, "fall": "0 %", "end": "elbow"}, {"fall": "2 %", "to": {"east": 120, "up": 3}, "end": "bevel"}]},
    {"mark": "Q", **BARE, "leg": [{"bearing": "60 deg", "to": {"east": 40, "up": 0}, "fall": "0 %", "end": "bevel"}]},
])  # fmt: skip
"""Lines by bearing, fall and coordinates, and one that closes."""
