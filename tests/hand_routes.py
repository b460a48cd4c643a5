"""Spools typed by hand into a blank workbook: every plan of a fitter's, and what a slip of the keys makes of it.

Job files are checked before a workbook is built. What is typed into its cells is not, so that here legs meet as nobody
would say them in a job: from nowhere, in the wrong order, with a size, an end or a rule missing.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from gauges import Place, Value
from live import one_inch

SPOOLS, LEGS, ITEMS, OUTLETS = 10, 40, 12, 4
"""Rows that a blank workbook has at least."""

FLANGED = ("weld_neck_flange", "slip_on_flange", "socket_weld_flange", "threaded_flange", "lap_joint")
LOOSE = ("bevel", "plain", "weld", "cap", *FLANGED)
ELBOWED = ("elbow", "elbow", "elbow_short_radius", "elbow_3d", "bend", "reducing_elbow")
REDUCED = ("reducer", "eccentric_reducer")
WAYS = ((1, 0, 0), (0, 1, 0), (0, 0, 1), (-1, 0, 0), (0, -1, 0), (0, 0, -1))
TURNS = (
    90.0,
    90.0,
    90.0,
    45.0,
    45.0,
    90.25,
    89.75,
    92.0,
    88.0,
    67.5,
    67.6,
    44.75,
    43.0,
    60.0,
    30.0,
    105.0,
    106.0,
    0.0,
    0.2,
    135.0,
    172.0,
)
SMALL_SIZES, SIZES = ("1/2", "3/4", "1", "1-1/2", "2"), ("3/4", "2", "3", "4", "6", "8", "10", "30")

Leg = dict[str, Value]


@dataclass
class Typed:
    """Cells as they fill up.

    Args:
        edition: "inch" or "mm".
        seed: of the chance that plans them.
    """

    edition: str
    seed: int
    cells: dict[Place, Value] = field(default_factory=dict)
    spools: int = 0
    legs: int = 0
    items: int = 0
    outlets: int = 0

    def __post_init__(self) -> None:
        self.rng = random.Random(self.seed)
        self.inch = one_inch(self.edition)

    def put(self, table: str, row: int, values: Mapping[str, Value]) -> None:
        """A row's cells, blank ones left out."""
        self.cells |= {(f"{table}.{name}", row): value for name, value in values.items() if value is not None}

    def long(self, inches: float) -> float:
        """A length of the edition."""
        return round(inches * self.inch, 6)

    def maybe(self, share: float, value: Value) -> Value:
        """A value, or most often none."""
        return value if self.rng.random() < share else None

    def spool(self, start: str, **more: Value) -> str:
        """The next spool."""
        rng, mark = self.rng, f"S{self.spools + 1}"
        small = more.get("joints") in ("socket", "threaded")
        size = more.pop("size", None) or rng.choice(SMALL_SIZES if small else SIZES)
        said: dict[str, Value] = {
            "mark": mark,
            "start": start,
            "size": size,
            "flange_class": rng.choice(["150", "150", "300", "PN16", None]),
            "facing": self.maybe(0.25, rng.choice(["FF", "RTJ", "RF"])),
            "fitting_class": self.maybe(0.8 if small else 0.2, rng.choice(["3000", "3000", "6000", "2000"])),
            "start_stub": self.maybe(0.3, rng.choice(["short", "long"])),
            "start_facing": self.maybe(0.2 if start in FLANGED else 0.02, rng.choice(["RF", "FF", "RTJ"])),
            "start_gasket": self.maybe(0.3 if start in FLANGED else 0.02, self.long(0.125)),
            "start_stock": self.maybe(0.5 if start == "elbow" else 0.02, "old"),
            "start_joint": self.maybe(0.1, rng.choice(["butt", "socket", "threaded", "fillet", "none"])),
            "start_takeout": self.maybe(0.1, self.long(3.0)),
            "start_field_gap": self.maybe(0.4, rng.choice(["half", "full", "none"])),
            "start_enters": self.maybe(0.5 if start in ("tee", "cross") else 0.02, rng.choice(["run", "branch"])),
            "start_flat": self.maybe(
                0.7 if start == "eccentric_reducer" else 0.02, rng.choice(["top", "bottom", "east", "north"])
            ),
            "origin_east": self.maybe(0.3, self.long(100.0)),
            "origin_north": self.maybe(0.3, self.long(-200.0)),
            "origin_up": self.maybe(0.3, self.long(50.0)),
            **more,
        }
        self.put("spools", self.spools, said)
        self.spools += 1
        self.size, self.mark, self.small = str(size), mark, small
        self.schedule = rng.choice(
            ["80", "80", "160", "40", "10S", "5S", "STD"] if small else ["STD", "STD", "XS", "40", "10S", "160"]
        )
        return mark

    def leg(self, end: str, way: tuple[float, ...], length: float, **more: Value) -> str:
        """The next leg; what belongs to Leg details and More on legs goes there."""
        rng, row = self.rng, self.legs
        name = f"L{row + 1}"
        flanged = end in FLANGED
        legs: Leg = {
            "spool": self.mark, "leg": name, "end": end, "size": self.size, "schedule": self.schedule,
            **{axis: self.long(length * part) for axis, part in zip(("east", "north", "up"), way, strict=True) if part},
        }  # fmt: skip
        details: Leg = {
            "flange_class": self.maybe(0.2, rng.choice(["150", "300", "600", "PN10"])),
            "stub": self.maybe(0.3, rng.choice(["short", "long"])),
            "joint": self.maybe(0.05, rng.choice(["butt", "socket", "threaded", "fillet", "none"])),
            "field_gap": self.maybe(0.4, rng.choice(["half", "full", "none"])),
            "takeout": self.maybe(0.05, self.long(4.0)),
            "takeout_out": self.maybe(0.05, self.long(5.0)),
            "make_up": self.maybe(0.08, rng.choice(["yes", "no"])),
        }
        others: Leg = {
            "facing": self.maybe(0.3 if flanged else 0.01, rng.choice(["RF", "FF", "RTJ"])),
            "gasket": self.maybe(0.3 if flanged else 0.01, self.long(0.125)),
            "fitting_class": self.maybe(0.15, rng.choice(["3000", "6000", "9000"])),
            "stock": self.maybe(0.3 if end in ("elbow", "return") else 0.02, rng.choice(["old", "new"])),
        }
        for key, value in more.items():
            table, _, column = key.partition("__")
            {"legs": legs, "details": details, "more": others}[table][column] = value
        self.put("legs", row, legs)
        self.put("details", row, details)
        self.put("more", row, others)
        self.legs += 1
        return name

    def length(self) -> float:
        """A leg's length in inches."""
        return self.rng.choice([40.0, 60.0, 55.5, 72.0, 100.0])

    def item(self, leg: str) -> None:
        """An item in a leg."""
        rng = self.rng
        where: Leg = {"at": self.long(20.0)} if rng.random() < 0.5 else {"against": rng.choice(["start", "end"])}
        self.put("items", self.items, {
            "spool": self.mark, "leg": leg, "ends": rng.choice(["flanged", "butt"]),
            "length": self.maybe(0.9, self.long(5.0)), "flange": rng.choice(FLANGED), **where,
        })  # fmt: skip
        self.items += 1


def turned(way: tuple[float, ...], angle: float, towards: tuple[float, ...]) -> tuple[float, ...]:
    """A direction turned towards another that is square to it."""
    cos, sin = round(math.cos(math.radians(angle)), 12), round(math.sin(math.radians(angle)), 12)
    return tuple(cos * one + sin * other for one, other in zip(way, towards, strict=True))


def square(typed: Typed, way: tuple[float, ...]) -> tuple[float, ...]:
    """A direction square to another, along an axis where that is possible."""
    along = [each for each in WAYS if abs(sum(a * b for a, b in zip(each, way, strict=True))) < 1e-9]
    if along:
        return typed.rng.choice(along)
    across = np.cross(way, typed.rng.choice(WAYS))
    return tuple(round(float(part), 12) for part in across / math.hypot(*across))


def sized(typed: Typed) -> None:
    """The legs from here on are of another size."""
    typed.size = typed.rng.choice([size for size in (SMALL_SIZES if typed.small else SIZES) if size != typed.size])


# -- plans -------------------------------------------------------------------------------------------------------------


def corners(typed: Typed) -> None:
    """Corners one after the other."""
    rng = typed.rng
    joints = typed.maybe(0.35, rng.choice(["socket", "threaded"]))
    typed.spool(rng.choice([*LOOSE, "elbow", "elbow_3d", "elbow_short_radius"]), joints=joints)
    way: tuple[float, ...] = rng.choice(WAYS)
    for _ in range(2):
        kind = rng.choice(["elbow", *ELBOWED] if joints else ELBOWED)
        more: Leg = {"details__fitting": typed.maybe(0.4, rng.choice(["stock", "stock", "cut"]))}
        if kind == "bend":
            more |= {
                "more__radius": typed.maybe(0.95, typed.long(rng.choice([2.0, 5.0, 12.0]))),
                "more__tangent": typed.maybe(0.3, typed.long(2.0)),
            }
        typed.leg(kind, way, typed.length(), **more)
        way = turned(way, rng.choice(TURNS), square(typed, way))
        if kind == "reducing_elbow" or rng.random() < 0.1:
            sized(typed)
    typed.leg(rng.choice(LOOSE), way, typed.length())


def pulled(typed: Typed) -> None:
    """One pipe through pulled bends."""
    rng = typed.rng
    typed.spool(rng.choice(LOOSE))
    way: tuple[float, ...] = rng.choice(WAYS)
    for _ in range(rng.choice([1, 2, 3])):
        more: Leg = {
            "more__radius": typed.long(rng.choice([12.0, 20.0])),
            "more__pulled": rng.choice(["yes", "yes", "yes", "no"]),
        }
        more["details__trim"] = typed.maybe(0.05, typed.long(1.0))
        name = typed.leg("bend", way, typed.length(), **more)
        if rng.random() < 0.1:
            typed.item(name)
        way = turned(way, rng.choice([90.0, 45.0, 60.0, 30.0, 120.0]), square(typed, way))
    if rng.random() < 0.85:
        name = typed.leg(rng.choice([*LOOSE, "elbow", "bend"]), way, typed.length())
        if rng.random() < 0.3:
            typed.item(name)


def tees(typed: Typed) -> None:
    """A butt-welded tee, and what leaves it."""
    meeting(typed, "tee", None)


def small_tees(typed: Typed) -> None:
    """A socket or threaded tee, often with a class of its own."""
    meeting(typed, typed.rng.choice(["tee", "tee", "cross"]), typed.rng.choice(["socket", "threaded"]))


def crosses(typed: Typed) -> None:
    """A cross of butt welds."""
    meeting(typed, "cross", None)


def meeting(typed: Typed, kind: str, joints: Value) -> None:
    """A tee or a cross, and what leaves it, in any order."""
    rng = typed.rng
    at_start = rng.random() < 0.3 and kind == "tee"
    typed.spool("tee" if at_start else rng.choice(LOOSE), joints=joints)
    way: tuple[float, ...] = rng.choice(WAYS)
    run = typed.size
    if at_start:
        typed.leg(rng.choice(LOOSE), way, typed.length())
        way, origin = tuple(-part for part in way), "start"
    else:
        more: Leg = {
            "details__enters": typed.maybe(0.5, rng.choice(["run", "branch"])),
            "details__fitting": typed.maybe(0.4, "stock"),
        }
        if joints:
            more["more__fitting_class"] = typed.maybe(0.4, rng.choice(["3000", "6000", "9000", "2000"]))
        origin = typed.leg(kind, way, typed.length(), **more)
    side = square(typed, way)
    leaves = [way, side, tuple(-part for part in side), square(typed, way)]
    rng.shuffle(leaves)
    for leaf in leaves[: rng.choice([0, 1, 2, 2, 2, 3, 3, 4])]:
        typed.size = run
        if rng.random() < 0.4:
            sized(typed)
        lean = rng.choice([0.0, 0.0, 0.0, 0.0, 0.2, 2.0, 3.0, 5.0, 20.0])
        typed.leg(
            rng.choice(LOOSE), turned(leaf, lean, way if leaf != way else side), typed.length(), legs__from=origin
        )


def starts(typed: Typed) -> None:
    """One leg from something that only it joins."""
    rng = typed.rng
    kind = rng.choice([*ELBOWED, "tee", "coupling", "half_coupling", "union", "other", *REDUCED, *LOOSE])
    typed.spool(kind, joints=typed.maybe(0.6, rng.choice(["socket", "threaded"])))
    if kind in REDUCED or rng.random() < 0.1:
        sized(typed)
    typed.leg(rng.choice([*LOOSE, "other", "tee"]), rng.choice(WAYS), typed.length())


def laterals(typed: Typed) -> None:
    """A lateral, a coupling or a union, and the legs after it."""
    rng = typed.rng
    kind = rng.choice(["lateral", "coupling", "half_coupling", "union", "other", "weld"])
    typed.spool(
        rng.choice([*LOOSE, "coupling", "half_coupling", "union", "other"]),
        joints=typed.maybe(0.8, rng.choice(["socket", "threaded"])),
    )
    way: tuple[float, ...] = rng.choice(WAYS)
    more: Leg = {
        "details__takeout": typed.maybe(0.7, typed.long(4.0)),
        "details__takeout_out": typed.maybe(0.5, typed.long(6.0)),
    }
    more |= {"more__takeout_branch": typed.maybe(0.6 if kind == "lateral" else 0.02, typed.long(7.0))}
    if kind == "other":
        more["details__joint"] = rng.choice(["butt", "fillet", "socket", "threaded", "none", None])
    origin = typed.leg(kind, way, typed.length(), **more)
    for _ in range(rng.choice([0, 1, 1, 2, 3])):
        if rng.random() < 0.1:
            sized(typed)
        typed.leg(
            rng.choice(LOOSE),
            turned(way, rng.choice([0.0, 0.0, 45.0, 0.2]), square(typed, way)),
            typed.length(),
            legs__from=origin,
        )


def returns(typed: Typed) -> None:
    """A return: its first corner, the leg inside it, and the way back."""
    rng = typed.rng
    kind = rng.choice(["return", "return", "return_short_radius"])
    size, centres = rng.choice(
        [
            ("3/4", {"return": 2.25}),
            ("2", {"return": 6.0, "return_short_radius": 4.0}),
            ("6", {"return": 18.0, "return_short_radius": 12.0}),
            ("1", {"return": 3.0}),
        ]
    )
    typed.spool(rng.choice(LOOSE), size=size)
    way: tuple[float, ...] = rng.choice(WAYS)
    side = square(typed, way)
    typed.leg(kind, way, typed.length(), details__joint=typed.maybe(0.1, "socket"))
    off = rng.choice([0.0, 0.0, 0.0, 0.05, 0.5])
    name = typed.leg(rng.choice([kind, kind, kind, kind, "elbow", "return"]), side, centres.get(kind, 4.0) + off)
    if rng.random() < 0.1:
        typed.item(name)
    back = turned(tuple(-part for part in way), rng.choice([0.0, 0.0, 0.0, 0.2, 30.0]), side)
    typed.leg(rng.choice([*LOOSE, "return"]), back, typed.length())


def reducers(typed: Typed) -> None:
    """Reducers at the start and after a leg, with a flat side or none, and where the leg after it is to end."""
    rng = typed.rng
    typed.spool(rng.choice(["reducer", "eccentric_reducer", *LOOSE]))
    if rng.random() < 0.8:
        sized(typed)
    way: tuple[float, ...] = rng.choice([*WAYS, (0.8, 0.0, 0.6), (0.6, 0.6, 0.0), (0.0, -0.8, 0.6)])
    typed.leg(
        rng.choice(["eccentric_reducer", "eccentric_reducer", "reducer"]), way, typed.length(),
        more__flat=typed.maybe(0.8, rng.choice(["top", "bottom", "east", "west", "north", "south"])),
    )  # fmt: skip
    sized(typed)
    point: Leg = {
        f"more__to_{axis}": typed.maybe(0.2, typed.long(rng.choice([0.0, 40.0, 1.0625])))
        for axis in ("east", "north", "up")
    }
    typed.leg(
        rng.choice(LOOSE),
        turned(way, rng.choice([0.0, 0.0, 0.0, 10.0]), square(typed, way) if sum(map(abs, way)) == 1 else way),
        typed.length(),
        **point,
    )


def closings(typed: Typed) -> None:
    """A loop that closes or does not, with coordinates that are met or missed."""
    rng = typed.rng
    typed.spool("bevel")
    names = ["start", "L99"]
    for way in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0)):
        length = 60.0 + rng.choice([0.0, 0.0, 1.0, -2.0, 0.02])
        more: Leg = {"more__close_to": typed.maybe(0.5, rng.choice(names))}
        more |= {
            f"more__to_{axis}": typed.maybe(0.3, typed.long(rng.choice([0.0, 60.0, 60.01, 160.0, -200.0])))
            for axis in ("east", "north", "up")
        }
        if rng.random() < 0.3:
            way = (way[0], way[1], rng.choice([0.05, -0.05]))
        names.append(typed.leg("elbow", way, length, **more))


def branches(typed: Typed) -> None:
    """A header with an outlet, the leg from it, and one that means another of its name."""
    rng = typed.rng
    typed.spool(rng.choice(LOOSE), size="8")
    typed.schedule = "STD"
    way: tuple[float, ...] = rng.choice(WAYS)
    header = typed.leg(rng.choice(LOOSE), way, 100.0)
    name = rng.choice(["B1", "B1", "B1", header])
    kind = rng.choice(["weldolet", "sockolet", "threadolet", "half_coupling", "stub_on", "stub_in", "nozzle", None])
    on = rng.choice([header, header, header, f"L{typed.legs + 1}", "L99"])
    typed.put("outlets", typed.outlets, {
        "spool": typed.mark, "name": name, "on": on, "at": typed.long(40.0), "kind": kind, "size": "2",
        "schedule": "STD", "height": typed.maybe(0.9, typed.long(1.5)),
    })  # fmt: skip
    typed.outlets += 1
    typed.size = "2"
    way_out = turned(square(typed, way), rng.choice([0.0, 0.0, 30.0]), way)
    more: Leg = {"more__radius": typed.long(10.0), "more__pulled": typed.maybe(0.5, "yes")}
    more |= {"details__make_up": typed.maybe(0.1, "yes")}
    typed.leg(rng.choice([*LOOSE, "elbow", "bend", "return"]), way_out, typed.length(), legs__from=name, **more)
    if rng.random() < 0.6:
        typed.leg(rng.choice(LOOSE), square(typed, way), typed.length())


PLANS: tuple[Callable[[Typed], None], ...] = (
    corners, pulled, tees, small_tees, crosses, laterals, returns, reducers, closings, branches, starts,
)  # fmt: skip


SLIPS: tuple[tuple[str, Value], ...] = (
    ("from", "L77"), ("from", "start"), ("from", "L1"), ("leg", None), ("leg", "L1"), ("end", None), ("end", "elbo"),
    ("size", None), ("size", "5"), ("schedule", None), ("schedule", "7"), ("east", "five"), ("up", 1e7),
    ("north", -1e7), ("spool", "S1"), ("spool", "Q"), ("size", "1-1/4"), ("schedule", "XXS"), ("spool", "s2"),
)  # fmt: skip
"""What is typed wrong, or not at all."""


def slips(typed: Typed, share: float) -> None:
    """A slip of the keys in some rows."""
    rng = typed.rng
    for row in range(typed.legs):
        if rng.random() >= share:
            continue
        column, value = rng.choice([*SLIPS, ("from", f"L{row + 1}")])
        typed.cells[f"legs.{column}", row] = value
    for row in range(typed.spools):
        if rng.random() < share / 3:
            column = rng.choice(["mark", "start", "size", "start_trim"])
            typed.cells[f"spools.{column}", row] = {"mark": "S1", "start": "elbo", "size": None, "start_trim": -1.0}[
                column
            ]


def by_hand(edition: str, seed: int, share: float) -> dict[Place, Value]:
    """Cells of as many spools as a blank workbook has room for; another plan comes first with each seed.

    Args:
        edition: "inch" or "mm".
        seed: of chance.
        share: of the legs that have a slip in them.
    """
    typed = Typed(edition, seed)
    PLANS[seed % len(PLANS)](typed)
    while typed.spools < SPOOLS and typed.legs <= LEGS - 6:
        typed.rng.choice([plan for plan in PLANS if plan is not branches or typed.outlets < OUTLETS])(typed)
        if typed.items < ITEMS - 2 and typed.rng.random() < 0.3:
            typed.item(f"L{typed.legs}")
    slips(typed, share)
    return typed.cells
