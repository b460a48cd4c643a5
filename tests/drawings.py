"""A second drawing of Clock and Sketch: every point of their lines, from readings and from the walk.

Nothing of the templates is used here but the sizes that a drawing has by choice: radii, margins, the slant of its axes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np
from gauges import CLOCK, Fit, Limits, Place, Typed, Value, expected_readings, fit_round, joints_of, number
from walk import Spool, Walk

RINGS = 49
INNER, OUTER, BEYOND, LEVEL, REACH, OVER = 0.12, 0.42, 0.04, 0.28, 0.14, 1.2
LEAST_RADIUS = 0.02
WORK_POINTS = 41
SHARE, DASH, HAIRLINE = 0.86, 0.002, 1e-6


def wave(fit: Fit, turn: float) -> float:
    """A fit's height at an angle from 12."""
    return fit.mean + fit.up * math.cos(turn) + fit.side * math.sin(turn) + fit.twice * math.cos(2 * turn)


def expected_dial(walk: Walk, typed: Typed) -> dict[Place, Value]:
    """What Clock shows of the chosen joint, by name and row."""
    joints = joints_of(walk)
    labels = [f"{joint.leg.spool} {joint.label}" for joint in joints]
    asked = typed.get(("dial.joint", 0)) or labels[0]
    found: dict[Place, Value] = {("dial.shown", 0): asked}
    if asked not in labels:
        blank = ("joint_row", "parts", "verdict", "action", "gap_mean", "gap_tilt", "hi_lo_max", "hi_lo_mean", "throw")
        found |= {(f"dial.{name}", 0): None for name in blank}
        row = 0  # the dots then belong to no joint; the first one's stand in
    else:
        row = labels.index(str(asked))
        readings = expected_readings(walk, typed)
        found["dial.joint_row", 0] = float(row + 1)
        found["dial.parts", 0] = f"{joints[row].first} – {joints[row].second}"
        for name in (
            "verdict", "action", "gap_mean", "gap_tilt", "gap_widest_at", "gap_uneven", "throw", "hi_lo_max",
            "hi_lo_shift", "hi_lo_shift_at", "hi_lo_after_shift", "hi_lo_mean", "hi_lo_oval",
        ):  # fmt: skip
            found[f"dial.{name}", 0] = readings[f"joints.{name}", row]
    limits = Limits(walk, typed)
    gaps = {name: number(typed.get((f"joints.gap_{name}", row))) for name in CLOCK}
    steps = {name: number(typed.get((f"joints.hi_lo_{name}", row))) for name in CLOCK}
    worst = number(typed.get(("joints.hi_lo_worst", row)))
    gap, step = (fit_round(gaps), fit_round(steps)) if asked in labels else (None, None)
    least = 1 / 64 if walk.edition == "inch" else 0.1
    edge = max(2 * (limits["root_gap_max"] or 0), gap.mean + gap.size if gap else 0, least)
    edge = max([edge, *(value for value in gaps.values() if value is not None)])
    seen = [abs(value) for value in (*steps.values(), worst) if value is not None] if asked in labels else []
    deep = max([2 * (limits["hi_lo_max"] or 0), least, *seen])

    def out(value: float | None) -> float:
        """Radius of a gap."""
        return INNER if value is None else min(OUTER + BEYOND, INNER + (OUTER - INNER) * value / edge)

    def inwards(value: float | None) -> float:
        """Radius of a step."""
        return LEVEL if value is None else LEVEL - REACH * max(-OVER, min(OVER, value / deep))

    most = limits["hi_lo_max"]
    for at in range(RINGS):
        turn = math.radians(7.5 * at)
        face = None if gap is None else gap.mean + gap.up * math.cos(turn) + gap.side * math.sin(turn)
        circles = {
            "least": (0.5, out(limits["root_gap_min"])),
            "most": (0.5, out(limits["root_gap_max"])),
            "bore": (0.5, INNER),
            "fit": (0.5, INNER if face is None else max(LEAST_RADIUS, out(face))),
            "even": (1.5, LEVEL),
            "inside": (1.5, inwards(most)),
            "outside": (1.5, inwards(None if most is None else -most)),
            "shape": (1.5, inwards(None if step is None else wave(step, turn))),
        }
        for name, (middle, radius) in circles.items():
            found[f"rings.{name}_x", at] = middle + radius * math.sin(turn)
            found[f"rings.{name}_y", at] = 0.5 + radius * math.cos(turn)
    for at, (name, degrees) in enumerate(CLOCK.items()):
        turn = math.radians(degrees)
        found["dots.gap", at], found["dots.hi_lo", at] = gaps[name], steps[name]
        dots = {
            "gap": (0.5, 0.0 if gaps[name] is None else max(LEAST_RADIUS, out(gaps[name]))),
            "hi_lo": (1.5, 0.0 if steps[name] is None else inwards(steps[name])),
        }
        for kind, (middle, radius) in dots.items():
            for place in ("from", "to"):
                found[f"dots.{kind}_x_{place}", at] = middle + radius * math.sin(turn)
                found[f"dots.{kind}_y_{place}", at] = 0.5 + radius * math.cos(turn)
    return found


def chosen(walk: Walk, typed: Typed) -> Spool | None:
    """The spool that the sketch shows."""
    asked = typed.get(("sketch.spool", 0)) or walk.spools[0].mark
    return next((spool for spool in walk.spools if spool.mark == asked), None)


def expected_sketch(walk: Walk, typed: Typed, said: Mapping[str, float]) -> dict[Place, Value]:
    """What Sketch shows of the chosen spool, by name and row.

    Args:
        walk: the job walked.
        typed: cells typed into.
        said: the work points to measure between, where they are not typed: `one` and `two`.
    """
    spool = chosen(walk, typed)
    if spool is None:
        told = "no such spool" if typed.get(("sketch.spool", 0)) else "no spool yet: type one on Spools"
        return {("sketch.told", 0): told, ("sketch.straight_overall", 0): None}
    points = [np.zeros(3), *(leg.end for leg in spool.legs)]
    flat = [paper(point) for point in points]
    across, upwards = zip(*flat, strict=True)
    inch = 1.0 if walk.edition == "inch" else 25.4
    side = max(max(across) - min(across), max(upwards) - min(upwards), inch)
    middle = ((max(across) + min(across)) / 2, (max(upwards) + min(upwards)) / 2)
    drawn = [tuple(0.5 + SHARE * (place[axis] - middle[axis]) / side for axis in (0, 1)) for place in flat]
    found: dict[Place, Value] = {
        ("sketch.shown", 0): spool.mark,
        ("sketch.told", 0): "work points are numbered in the order of the legs; north is up to the right",
        ("sketch.leg_count", 0): float(len(spool.legs)),
        ("sketch.scale", 0): side,
        ("sketch.straight_overall", 0): math.hypot(*points[-1]),
    }
    for axis, name in enumerate(("east", "north", "up")):
        found[f"sketch.{name}_overall", 0] = float(points[-1][axis])
    row_of = {leg.row: at for at, leg in enumerate(spool.legs, start=1)}
    for at in range(WORK_POINTS):
        there = at < len(points)
        leg = spool.legs[at - 1] if there and at else None
        found["points.label", at] = ("start" if at == 0 else str(at)) if there else None
        found["points.leg", at] = leg.name if leg else None
        found["points.size", at] = leg.size if leg else None
        found["points.length", at] = leg.length if leg else None
        found["points.end", at] = leg.at_end.kind if leg else spool.legs[0].at_start.kind if at == 0 else None
        for axis, name in enumerate("xyz"):
            found[f"points.{name}", at] = float(points[at][axis]) if there else None
        here = drawn[at] if there else drawn[-1]
        if leg:
            before = drawn[row_of[leg.node.owner.row] if leg.node.owner else 0]
        elif at == 0:
            before = (here[0] - DASH, here[1])
        else:
            before = (here[0] - HAIRLINE, here[1])
        for name, value in zip(("x_to", "y_to", "x_from", "y_from"), (*here, *before), strict=True):
            found[f"points.{name}", at] = value
    one, two = (number(typed.get((f"sketch.{name}", 0), said[name])) for name in ("one", "two"))
    if one is None or two is None:
        return found
    known = all(value == int(value) and 0 <= value < len(points) for value in (one, two))
    apart = points[int(two)] - points[int(one)] if known else None
    for axis, name in enumerate(("east", "north", "up")):
        found[f"sketch.{name}_pair", 0] = None if apart is None else float(apart[axis])
    found["sketch.straight_pair", 0] = None if apart is None else math.hypot(*apart)
    return found


def paper(point: Iterable[float]) -> tuple[float, float]:
    """Where a point falls on the paper, seen with all three axes equally long and 120° apart."""
    east, north, up = (float(each) for each in point)
    slant = math.radians(30)
    return (east + north) * math.cos(slant), up + (north - east) * math.sin(slant)
