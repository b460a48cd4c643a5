"""A second opinion on Seams: clocks as directions from the pipe's axis, and how far apart they lie round its outside.

Nothing of the sheet is used here. Which pipe follows which is read from the route; a seam is a direction from the axis,
and two of them are as far apart as the arc between them is long.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import numpy as np
from gauges import (
    FARTHEST,
    HAIR,
    NO_RULE,
    OPEN,
    OUTSIDE,
    WITHIN,
    Place,
    Typed,
    Value,
    clock_text,
    hours_of,
    number,
)
from live import Live
from paperwork import said
from routes import job_text
from staging import Case, Scene
from walk import Vector, between

SHEETS = ("seams",)
BUILT = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps",
    "seams", "key", "tables_used",
)  # fmt: skip
LATEST = 12.999
USUAL = {"inch": 2.0, "mm": 50.0}
"""Longitudinal seams at least this far apart."""

STEP = {"inch": 1 / 16, "mm": 1.0}


# -- what the route says -----------------------------------------------------------------------------------------------


def whole(value: Any) -> int:
    """A row or a count; what is blank counts as 0."""
    return int(number(value) or 0)


@dataclass(frozen=True)
class Pipes:
    """Legs, pieces and outlets as other sheets have them, each a list of rows by column."""

    legs: Sequence[Mapping[str, Any]]
    cuts: Sequence[Mapping[str, Any]]
    outlets: Sequence[Mapping[str, Any]]

    def leg(self, row: int) -> Mapping[str, Any]:
        """A leg by its row, from 1."""
        return self.legs[row - 1]


LEGS = (
    "leg", "size", "schedule", "od", "chain_last", "start_kind", "parent", "end", "kid", "clock_turn", "piece_count",
    "items_at_start", "pieces_before", "upright", "pulled",
)  # fmt: skip
CUTS = ("mark", "spool", "leg_row", "chain_first", "left_item", "right_item")
OUTLETS = ("name", "spool", "piece", "header_row", "header_od", "od", "rim_up", "rim_side", "clock")


def pipes_of(book: Live, typed: Typed) -> Pipes:
    """The route and its pieces once this is typed."""
    book.put_all(typed)
    found = Pipes(*(book.rows(table, columns) for table, columns in
                    (("legs", LEGS), ("cuts", CUTS), ("outlets", OUTLETS))))  # fmt: skip
    book.reset()
    book.calculate()
    return found


# -- clocks ------------------------------------------------------------------------------------------------------------


def on_the_dial(hours: float | None) -> float | None:
    """Degrees from 12 of a clock in hours; 12:30 is half an hour past. None where there is no such clock."""
    if hours is None or not 0 <= hours < 13:
        return None
    return hours % 12 * 30


def pointing(turn: float) -> Vector:
    """The direction of an angle on the dial: up, and towards 3."""
    return np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])


def arc_apart(od: float, one: float, other: float) -> float:
    """Along the outside of a pipe between two angles on its dial, the shorter way round."""
    return od / 2 * math.radians(between(pointing(one), pointing(other)))


def as_hours(turn: float) -> float:
    """A clock in hours from degrees: 12:30 is 12.5, never 0.5."""
    return turn / 30 + (12 if turn < 30 else 0)


def said_as_clock(turn: float) -> str:
    """The next half hour, and whole degrees."""
    up, side = pointing(turn)
    return f"{clock_text(hours_of(up, side))}, {math.floor(turn + 0.5)}°"


@dataclass(frozen=True)
class Rule:
    """How far apart seams must be; None where the rule is blank."""

    edition: str
    least: float | None

    def said(self, length: float) -> str:
        """A length in the job's fraction, with its unit."""
        return said(length, STEP[self.edition], self.edition) + ('"' if self.edition == "inch" else " mm")


def turn_more(rule: Rule, where: str, apart: float | None, wanted: float | None) -> str:
    """What is said of seams that are too near to one another; "" where they are not."""
    if apart is None or wanted is None or apart >= wanted - HAIR:
        return ""
    told = f"At its {where} the seams are {rule.said(apart)} apart, {rule.said(wanted)} is wanted"
    return f"{told}: turn the piece by {rule.said(wanted - apart)} more. "


def not_a_clock(label: str, value: Value) -> str:
    """What is said of a clock that cannot be."""
    if isinstance(value, str) and value:
        return f"{label}: not a number. "
    hours = number(value)
    if hours is None or 0 <= hours <= LATEST:
        return ""
    return f"{label}: {'under 0' if hours < 0 else 'over 12.999'}. "


# -- pieces ------------------------------------------------------------------------------------------------------------

LABELS = {
    "seam": "Seam at", "start_seam": "Fitting's seam at its start", "end_seam": "Fitting's seam at its end",
}  # fmt: skip


@dataclass
class Seamed:
    """A piece of pipe with a seam, row `at` (from 0) of Seams."""

    pipes: Pipes
    typed: Typed
    rule: Rule
    at: int

    def clock(self, name: str, at: int | None = None) -> float | None:
        """A clock typed in its row, or in another's; hours."""
        return number(self.typed.get((f"seams.{name}", self.at if at is None else at)))

    @cached_property
    def cut(self) -> Mapping[str, Any]:
        """Its row of Cut steps."""
        return self.pipes.cuts[self.at]

    @cached_property
    def leg_row(self) -> int:
        """The leg with which it is cut, 0 where there is no piece."""
        return whole(self.cut["leg_row"])

    @cached_property
    def leg(self) -> Mapping[str, Any]:
        """That leg."""
        return self.pipes.leg(self.leg_row)

    @cached_property
    def od(self) -> float | None:
        """Outside diameter."""
        return number(self.leg["od"])

    @cached_property
    def first_leg(self) -> int:
        """The leg where its pipe begins: another one where pulled bends join them."""
        return whole(self.cut["chain_first"])

    @cached_property
    def carried(self) -> float | None:
        """By how much its bends turn the clock, in degrees; None where they do not say it."""
        return 0.0 if self.first_leg == self.leg_row else number(self.leg["clock_turn"])

    @cached_property
    def pipe_before(self) -> bool:
        """Whether it is welded to a pipe at its start."""
        begins = self.pipes.leg(self.first_leg)
        return whole(self.cut["left_item"]) == 0 and begins["start_kind"] == "weld" and whole(begins["parent"]) > 0

    @cached_property
    def kid(self) -> int:
        """The leg that goes on from its weld, 0 for none."""
        at_weld = whole(self.cut["right_item"]) == 0 and self.leg["end"] == "weld"
        return whole(self.leg["kid"]) if at_weld else 0

    @cached_property
    def kid_last(self) -> int:
        """The leg with which the pipe after it is cut."""
        return whole(self.pipes.leg(self.kid)["chain_last"]) if self.kid else 0

    @cached_property
    def next_piece(self) -> int:
        """The piece that it meets at its end, from 1; 0 where a fitting or an item stands there."""
        if not self.kid_last:
            return 0
        begins, cut_with = self.pipes.leg(self.kid), self.pipes.leg(self.kid_last)
        if not whole(cut_with["piece_count"]) or number(begins["items_at_start"]) != 0:
            return 0
        return whole(cut_with["pieces_before"]) + 1

    @cached_property
    def seam(self) -> float | None:
        """Degrees from 12, where its pipe begins."""
        return on_the_dial(self.clock("seam"))

    @cached_property
    def seam_at_end(self) -> float | None:
        """The same where its bends have brought it."""
        return None if self.seam is None or self.carried is None else (self.seam + self.carried) % 360

    @cached_property
    def theirs(self) -> float | None:
        """The next piece's clock, in hours."""
        return self.clock("seam", self.next_piece - 1) if self.next_piece else None

    @cached_property
    def other(self) -> float | None:
        """Degrees of the seam that its end is compared with."""
        return on_the_dial(self.theirs) if self.next_piece else on_the_dial(self.clock("end_seam"))

    @cached_property
    def one_clock(self) -> bool:
        """Whether both pipes are seen by one clock: north is 12 on upright ones, up on all others."""
        return not self.next_piece or self.leg["upright"] == self.pipes.leg(self.kid)["upright"]

    @cached_property
    def start_arc(self) -> float | None:
        """From its seam to that of the fitting before it."""
        fitting = on_the_dial(self.clock("start_seam"))
        if self.od is None or self.seam is None or fitting is None or self.pipe_before:
            return None
        return arc_apart(self.od, self.seam, fitting)

    @cached_property
    def end_arc(self) -> float | None:
        """From its seam to that of what follows."""
        if self.od is None or self.seam_at_end is None or self.other is None or not self.one_clock:
            return None
        return arc_apart(self.od, self.seam_at_end, self.other)

    @cached_property
    def wanted(self) -> float | None:
        """The rule, or half way round a pipe that is too small for it."""
        return None if self.od is None or self.rule.least is None else min(self.rule.least, math.pi * self.od / 2)

    @cached_property
    def arcs(self) -> list[float]:
        """Those that are known."""
        return [arc for arc in (self.start_arc, self.end_arc) if arc is not None]

    @cached_property
    def verdict(self) -> str | None:
        """None where nothing is typed, or nothing is to be compared."""
        fittings = [on_the_dial(self.clock(name)) for name in ("start_seam", "end_seam")]
        neighbour = on_the_dial(self.theirs)
        if (self.seam, neighbour, *fittings) == (None,) * 4:
            return None
        if self.rule.least is None:
            return NO_RULE
        if self.wanted is None:
            return OPEN
        if self.arcs and min(self.arcs) < self.wanted - HAIR:
            return OUTSIDE
        lost = self.carried is None and self.other is not None
        if self.seam is None or lost or (self.next_piece and self.end_arc is None):
            return OPEN
        return WITHIN if self.arcs else None

    @cached_property
    def stops(self) -> str:
        """What must be put right."""
        told = "".join(not_a_clock(label, self.typed.get((f"seams.{name}", self.at))) for name, label in LABELS.items())
        told += turn_more(self.rule, "start", self.start_arc, self.wanted)
        return told + turn_more(self.rule, "end", self.end_arc, self.wanted)

    @cached_property
    def cautions(self) -> str:
        """What to look at."""
        told = ""
        if self.next_piece and self.clock("end_seam") is not None:
            told += "Pipe follows: type the next piece's seam in its own row. "
        if self.pipe_before and self.clock("start_seam") is not None:
            told += "Pipe comes before it: type that piece's seam in its own row. "
        if not self.one_clock and self.seam is not None and on_the_dial(self.theirs) is not None:
            told += "One leg is straight up or down and the other not: their clocks differ; "
            told += "compare the seams on the pipe. "
        if self.seam is None or self.first_leg == self.leg_row:
            return told
        begins = self.pipes.leg(self.first_leg)["leg"]
        if self.seam_at_end is None:
            return told + f"Pulled pipe: measure it at its end; typed is its clock on {begins}. "
        told += f"Pulled pipe: typed is its clock on {begins}, where it starts; "
        return told + f"at its end, on {self.leg['leg']}, the seam is at {said_as_clock(self.seam_at_end)}. "

    def row(self) -> dict[str, Value]:
        """Its row of Seams, by column."""
        next_one = self.pipes.cuts[self.next_piece - 1]["mark"] if self.next_piece else None
        return {
            "mark": self.cut["mark"],
            "size": f"{self.leg['size'] or ''} {self.leg['schedule'] or ''}",
            "start_arc": self.start_arc,
            "meets": next_one,
            "end_arc": self.end_arc,
            "verdict": self.verdict,
            "leg_row": float(self.leg_row),
            "spool": self.cut["spool"],
            "od": self.od,
            "first_leg": float(self.first_leg),
            "carried": self.carried,
            "before": float(self.pipe_before),
            "kid": float(self.kid),
            "kid_last": float(self.kid_last),
            "next_piece": float(self.next_piece),
            "seam_on": self.seam,
            "end_seam_on": self.seam_at_end,
            "start_on": on_the_dial(self.clock("start_seam")),
            "end_on": on_the_dial(self.clock("end_seam")),
            "next_seam": self.theirs,
            "next_on": on_the_dial(self.theirs),
            "other_on": self.other,
            "same_clock": float(self.one_clock),
            "wanted": self.wanted,
            "nearest_apart": min(self.arcs) if self.arcs else FARTHEST,
            "stops": self.stops or None,
            "cautions": self.cautions or None,
        }


# -- outlets -----------------------------------------------------------------------------------------------------------


def half_on_the_header(header: float, branch: float) -> float:
    """Half of a branch along the outside of its header; its side leans by a right triangle's angle from its middle."""
    half = min(branch, header)
    return header / 2 * math.atan2(half, math.sqrt(max(0.0, header**2 - half**2)))


@dataclass
class BesideSeam:
    """An outlet on a pipe with a seam, row `at` (from 0) of its table."""

    pipes: Pipes
    typed: Typed
    rule: Rule
    at: int

    @cached_property
    def outlet(self) -> Mapping[str, Any]:
        """Its row of Outlets."""
        return self.pipes.outlets[self.at]

    @cached_property
    def header_row(self) -> int:
        """The leg that it stands on, 0 where that is not known."""
        return whole(self.outlet["header_row"])

    @cached_property
    def header_last(self) -> int:
        """The leg with which that pipe is cut."""
        return whole(self.pipes.leg(self.header_row)["chain_last"])

    @cached_property
    def piece_row(self) -> int | None:
        """The piece that it stands on, from 1; 0 for none, None where that cannot be said."""
        own = number(self.outlet["piece"])
        if not self.header_row or own is None:
            return None
        cut_with = self.pipes.leg(self.header_last) if self.header_last else {}
        if own <= 0 and whole(self.pipes.leg(self.header_row)["pulled"]) and whole(cut_with.get("piece_count")) > 0:
            return whole(cut_with["pieces_before"]) + 1  # what runs into a pulled bend is part of the pipe after it
        return int(own)

    @cached_property
    def carried(self) -> float | None:
        """By how much the bends before it turn the clock of its piece's seam."""
        if self.piece_row is None:
            return None
        cut = self.pipes.cuts[self.piece_row - 1] if self.piece_row else {}
        if not self.piece_row or cut["chain_first"] == cut["leg_row"]:
            return 0.0
        return number(self.pipes.leg(self.header_row)["clock_turn"])

    @cached_property
    def clock_typed(self) -> float | None:
        """Of its piece's seam, in hours."""
        return number(self.typed.get(("seams.seam", self.piece_row - 1))) if self.piece_row else None

    @cached_property
    def seam(self) -> float | None:
        """Where the seam lies on its leg, degrees from 12."""
        typed = on_the_dial(self.clock_typed)
        return None if typed is None or self.carried is None else (typed + self.carried) % 360

    @cached_property
    def od(self) -> float | None:
        """Of the header."""
        return number(self.outlet["header_od"])

    @cached_property
    def place(self) -> float | None:
        """Where it stands round the header, degrees from 12."""
        up, side = number(self.outlet["rim_up"]), number(self.outlet["rim_side"])
        return None if up is None or side is None else math.degrees(math.atan2(side, up)) % 360

    @cached_property
    def half(self) -> float | None:
        """Half of the branch round the header."""
        branch = number(self.outlet["od"])
        return None if branch is None or self.od is None else half_on_the_header(self.od, branch)

    @cached_property
    def clear(self) -> float | None:
        """From the seam to the side of the branch; less than 0 where the seam runs under it."""
        if self.od is None or self.seam is None or self.place is None or self.half is None:
            return None
        return arc_apart(self.od, self.seam, self.place) - self.half

    @cached_property
    def wanted(self) -> float | None:
        """The rule, or what is left when the seam lies opposite."""
        if self.od is None or self.half is None or self.rule.least is None:
            return None
        return min(self.rule.least, math.pi * self.od / 2 - self.half)

    @cached_property
    def verdict(self) -> str | None:
        """None where no seam is typed."""
        if on_the_dial(self.clock_typed) is None:
            return None
        if self.rule.least is None:
            return NO_RULE
        if self.clear is None or self.wanted is None:
            return OPEN
        return OUTSIDE if self.clear < self.wanted - HAIR else WITHIN

    @cached_property
    def piece(self) -> str | None:
        """Mark of its piece."""
        return self.pipes.cuts[self.piece_row - 1]["mark"] if self.piece_row else None

    @cached_property
    def stops(self) -> str:
        """What must be put right."""
        if self.clear is None or self.wanted is None or self.clear >= self.wanted - HAIR:
            return ""
        told = f"The seam of {self.piece} is {self.rule.said(max(0.0, self.clear))} from the branch, "
        return told + f"{self.rule.said(self.wanted)} is wanted: turn the piece before the hole is cut. "

    @cached_property
    def cautions(self) -> str:
        """What to look at."""
        if on_the_dial(self.clock_typed) is None:
            return ""
        if self.seam is None:
            return "Pulled pipe: measure it, the bend does not say where its seam lies here. "
        return "Look at Outlets: it has no place round the header. " if self.clear is None else ""

    def row(self) -> dict[str, Value]:
        """Its row of the table, by column."""
        seam = None
        if self.seam is not None:
            seam = self.clock_typed if self.carried == 0 else as_hours(self.seam)
        return {
            "outlet": self.outlet["name"],
            "piece": self.piece,
            "clock": number(self.outlet["clock"]),
            "seam": seam,
            "clear": self.clear,
            "verdict": self.verdict,
            "spool": self.outlet["spool"],
            "piece_row": None if self.piece_row is None else float(self.piece_row),
            "header_row": float(self.header_row) if self.header_row else None,
            "header_last": float(self.header_last) if self.header_row else None,
            "carried": self.carried,
            "piece_seam": on_the_dial(self.clock_typed),
            "od": self.od,
            "seam_on": self.seam,
            "outlet_on": self.place,
            "half_branch": self.half,
            "wanted": self.wanted,
            "stops": self.stops or None,
            "cautions": self.cautions or None,
        }


def expected_seams(pipes: Pipes, typed: Typed, edition: str) -> dict[Place, Value]:
    """What Seams shows, by name and row; rows without a piece or an outlet are blank."""
    rule = Rule(edition, number(typed.get(("rules.seam_offset_min", 0), USUAL[edition])))
    found: dict[Place, Value] = {}
    verdicts: list[Value] = []
    seamed = [Seamed(pipes, typed, rule, at) for at in range(len(pipes.cuts))]
    beside = [BesideSeam(pipes, typed, rule, at) for at in range(len(pipes.outlets))]
    for table, rows in (
        ("seams", [each.row() if each.leg_row else None for each in seamed]),
        ("seam_outlets", [each.row() if each.outlet["name"] else None for each in beside]),
    ):
        columns = next(row for row in rows if row)
        for at, row in enumerate(rows):
            line = row or dict.fromkeys(columns)
            found |= {(f"{table}.{name}", at): value for name, value in line.items()}
            verdicts.append(line["verdict"])
    counts = [verdicts.count(each) for each in (WITHIN, OUTSIDE, OPEN)]
    found["seams.told", 0] = f"{counts[0]} ✓, {counts[1]} ✗, {counts[2]} …"
    found["seams.worst", 0] = next((each for each in (OUTSIDE, OPEN, WITHIN) if each in verdicts), None)
    return found


# -- lines of pipe -----------------------------------------------------------------------------------------------------

SIZES = {"1/2": "STD", "3": "STD", "6": "STD", "16": "STD"}


def lines(seed: int, count: int = 24) -> tuple[list[dict[str, Any]], dict[str, dict[str, float]]]:
    """Lines welded pipe to pipe, some with a valve or an elbow, and the clocks of their seams."""
    rng, spools = random.Random(seed), list[dict[str, Any]]()
    seams: dict[str, dict[str, float]] = {}
    for at in range(count):
        size = rng.choice(list(SIZES))
        way = rng.choice([(1, 0, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1), (1, 1, 0), (1, -2, 3)])
        legs: list[dict[str, Any]] = []
        for _ in range(rng.randint(1, 4)):
            leg: dict[str, Any] = {"end": "weld"}
            for name, part in zip(("east", "north", "up"), way, strict=True):
                if part:
                    leg[name] = part * rng.choice([60, 75, 90])
            if len(set(map(abs, way))) > 2 or way == (1, 1, 0):  # the slope stays
                scale = rng.choice([60, 75])
                for name, part in zip(("east", "north", "up"), way, strict=True):
                    if part:
                        leg[name] = part * scale
            if rng.random() < 0.3:
                leg["inline"] = [{"item": "valve", "length": 8, "at": 30, "ends": "butt"}]
            legs.append(leg)
        legs[-1]["end"] = rng.choice(["elbow", "cap", "plain"])
        if legs[-1]["end"] == "elbow":
            legs.append({"east": 70, "end": "plain"} if way[0] == 0 else {"up": 70, "end": "plain"})
            if way not in ((1, 0, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)):
                legs.pop()
        spools.append(
            {
                "mark": f"S{at}",
                "size": size,
                "schedule": SIZES[size],
                "start": rng.choice(["bevel", "elbow"]),
                "leg": legs,
            }
        )
        for at_leg, made in enumerate(legs, start=1):
            parts = ["-1", "-2"] if "inline" in made else [""]
            for tail in parts:
                said: dict[str, float] = {}
                for key, chance in (("seam", 0.8), ("start_seam", 0.25), ("end_seam", 0.25)):
                    if rng.random() < chance:
                        said[key] = rng.choice([0, 12, 12.5, 3, 6, 9.25, round(rng.uniform(1, 12.9), 2)])
                if said:
                    seams[f"S{at}-L{at_leg}{tail}"] = said
    return spools, seams


def pulled_lines(seed: int, count: int = 24) -> tuple[list[dict[str, Any]], dict[str, dict[str, float]]]:
    """Lines with pulled bends in every direction between welds, and outlets on each leg of them."""
    rng, spools = random.Random(seed), list[dict[str, Any]]()
    seams: dict[str, dict[str, float]] = {}

    def clock() -> float:
        return rng.choice([12, 12.5, 3, 6, 9.25, round(rng.uniform(1, 12.9), 2)])

    for at in range(count):
        way, legs, outlets = any_way(rng), [], []
        for at_leg in range(1, rng.randint(4, 7)):
            parts = {name: float(75 * part) for name, part in zip(("east", "north", "up"), way, strict=True)}
            legs.append({**parts, "end": "weld"})
            if rng.random() < 0.6:
                legs[-1] |= {"end": "bend", "radius": 18, "pulled": True}
                turned = any_way(rng)
                while not 5 < between(way, turned) < 115:
                    turned = any_way(rng)
                way = turned
            if rng.random() < 0.5:
                outlets.append({"name": f"B{at_leg}", "on": f"L{at_leg}", "at": 37, "kind": "stub_on", "size": "2",
                                "schedule": "STD", "clock": clock()})  # fmt: skip
        parts = {name: float(75 * part) for name, part in zip(("east", "north", "up"), way, strict=True)}
        legs.append({**parts, "end": "plain"})
        if rng.random() < 0.4:
            legs[-1]["inline"] = [{"item": "valve", "length": 8, "at": 45, "ends": "butt"}]
            legs[-1]["end"] = "cap"
        spools.append({"mark": f"S{at}", "size": "6", "schedule": "STD", "start": rng.choice(["plain", "cap"]),
                       "outlet": outlets, "leg": legs})  # fmt: skip
        for at_leg in range(1, len(legs) + 1):
            for tail in ("", "-1", "-2"):
                said = {key: clock() for key, chance in CHANCES if rng.random() < chance}
                if said:
                    seams[f"S{at}-L{at_leg}{tail}"] = said
    return spools, seams


CHANCES = (("seam", 0.85), ("start_seam", 0.2), ("end_seam", 0.2))


def any_way(rng: random.Random) -> Vector:
    """A direction, often along an axis."""
    way = np.zeros(3)
    if rng.random() < 0.6:
        way[rng.randrange(3)] = rng.choice([-1.0, 1.0])
    else:
        way = np.array([round(rng.uniform(-1, 1), 2) for _ in range(3)]) + np.array([0.003, 0.0, 0.0])
    found: Vector = way / math.hypot(*way)
    return found


LINE = {"mark": "A", "size": "6", "schedule": "STD", "start": "bevel"}
STRAIGHT = [{"east": 60, "end": "weld"}, {"east": 60, "end": "plain"}]
PULLED: list[dict[str, Any]] = [
    {"east": 60, "end": "weld"},
    {"east": 70, "end": "bend", "radius": 18, "pulled": True},
    {"up": 80, "end": "plain"},
]


RISES: dict[str, Any] = {"up": 70, "end": "bend", "radius": 18, "pulled": True}


def by_hand() -> list[dict[str, Any]]:
    """Lines that chance hardly brings: clocks that differ, a bend without a turn, a valve at a weld, outlets."""

    def outlet(name: str, leg: str, at: float, **more: Any) -> dict[str, Any]:
        return {"name": name, "on": leg, "at": at, "kind": "stub_on", "size": "2", "schedule": "STD", **more}

    valve = {"item": "valve", "length": 8, "ends": "butt"}
    straight_on: dict[str, Any] = {"east": 80, "end": "weld"}
    made: list[tuple[list[dict[str, Any]], list[dict[str, Any]]]] = [
        ([{"up": 60, "end": "weld"}, {"up": 60, "east": 0.2, "end": "plain"}], [outlet("B1", "L1", 30, clock=6)]),
        (PULLED, [outlet("B2", "L2", 30, clock=3), outlet("B3", "L3", 50, clock=11), outlet("B4", "L1", 30, clock=9)]),
        ([*PULLED[:2], straight_on, {"east": 60, "end": "plain"}], [outlet("B5", "L3", 40, clock=6)]),
        ([{"east": 60, "end": "weld"}, {"east": 60, "end": "plain", "inline": [{**valve, "against": "start"}]}],
         [outlet("B6", "L1", 30, size="6", clock=12.5), outlet("B7", "L2", 30, clock=1)]),
        ([{"east": 60, "end": "weld"}, {"east": 60, "end": "weld"}, {"east": 60, "end": "plain"}],
         [outlet("B8", "L1", 20, clock=12), outlet("B9", "L1", 40, towards="south"), outlet("B10", "L2", 30, clock=3)]),
        ([RISES, {"up": 80, "end": "weld"}, {"up": 60, "east": 0.2, "end": "plain"}], []),
        ([PULLED[1], {"east": 80, "end": "plain"}], [outlet("B13", "L2", 50, clock=2)]),
        ([{"north": 60, "end": "elbow"}, {"up": 60, "end": "plain", "inline": [{**valve, "at": 30}]}],
         [outlet("B11", "L2", 45, clock=5), outlet("B12", "L2", 12, clock=7.5)]),
    ]  # fmt: skip
    return [
        {**LINE, "mark": f"H{at}", "outlet": outlets, "leg": legs} for at, (legs, outlets) in enumerate(made, start=1)
    ]


@cache
def job(edition: str) -> str:
    """Lines, pulled lines and those by hand."""
    seed = 1 if edition == "inch" else 2
    plain = [{**spool, "mark": f"L{spool['mark']}"} for spool in lines(seed, 7)[0]]
    return job_text([*by_hand(), *plain, *pulled_lines(seed + 2, 5)[0]])


# -- what is typed -----------------------------------------------------------------------------------------------------

CLOCKS: Sequence[Value] = (12, 12.5, 3, 6, 9.25, 0, 0.5, 11.5, 1.25)


def clocks(rows: int, seed: int, missing: float = 0.2) -> dict[Place, Value]:
    """Clocks of seams by chance, some not typed."""
    rng, typed = random.Random(seed), dict[Place, Value]()
    for row in range(rows):
        for name, without in (("seam", missing), ("start_seam", 0.6), ("end_seam", 0.6)):
            hours = rng.choice([*CLOCKS, round(rng.uniform(1, 12.99), 2), round(rng.uniform(1, 12.99), 2)])
            typed[f"seams.{name}", row] = None if rng.random() < without else float(hours or 0)
    return typed


def slips(rows: int, seed: int) -> dict[Place, Value]:
    """Clocks that cannot be."""
    rng = random.Random(seed)
    wrong: list[Value] = [13.0, 14.0, -1.0, 12.9995, "1:30", 1e300, -1e-12, None, 12.999, 3.0, 6.0]
    return {(f"seams.{name}", row): rng.choice(wrong) for name in LABELS for row in range(rows)}


def _made(edition: str, book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    pipes = pipes_of(book, {})
    rows = sum(whole(cut["leg_row"]) > 0 for cut in pipes.cuts)
    first = clocks(rows, 1)

    def case(name: str, typed: Typed, own: bool = False, found: Pipes = pipes) -> Case:
        return Case(name, typed, expected_seams(found, {**first, **typed}, edition), own=own)

    cases = [case("as typed", first, True)]
    cases += [case(f"clocks {seed}", clocks(rows, seed)) for seed in (2, 3, 4)]
    cases += [case("few", clocks(rows, 5, 0.8)), case("slips", slips(rows, 1)), case("more slips", slips(rows, 2))]
    nothing: dict[Place, Value] = {(f"seams.{name}", row): None for name in LABELS for row in range(rows)}
    cases.append(case("nothing", nothing))
    lone = (({**nothing, ("seams.seam", row): 6.0, ("seams.end_seam", row): 12.0}) for row in range(rows))
    within = (typed for typed in lone if expected_seams(pipes, typed, edition)["seams.worst", 0] == WITHIN)
    cases.append(case("one within", next(within)))
    for name in LABELS:
        alone = {place: value or 4.0 for place, value in first.items() if place[0] == f"seams.{name}"}
        cases.append(case(f"{name} alone", {**nothing, **alone}))
    cases += [case(f"all at {hours}", {**nothing, **{("seams.seam", row): hours for row in range(rows)}})
              for hours in (6.0, 12.25, 1.0, 4.0, 7.0, 10.0)]  # fmt: skip
    if edition == "mm":  # what a rule and a route lead to is the same in both
        return first, cases
    cases += [
        case(f"rule {name}", {("rules.seam_offset_min", 0): limit}) for name, limit in limits(pipes, first, edition)
    ]
    free = book.column("items.spool").index(None)
    item: dict[str, Value] = {"spool": "H2", "leg": "L2", "at": 12.0, "length": 8.0, "ends": "butt"}
    valve: dict[Place, Value] = {(f"items.{name}", free): value for name, value in item.items()}
    for name, route in (*routes_typed(pipes), ("a valve before a pulled bend", valve)):
        typed = {**clocks(rows, 6, 0.0), **route}
        cases.append(case(name, typed, found=pipes_of(book, route)))
    return first, cases


def limits(pipes: Pipes, typed: Typed, edition: str) -> Iterator[tuple[str, Value]]:
    """A rule that is blank or a word, very large or nothing; on a distance that is there, within a hair and beyond."""
    yield from (("blank", None), ("a word", "two"), ("far", 1e6), ("nothing", 0.0), ("less than nothing", -1.0))
    wanted = expected_seams(pipes, typed, edition)
    for name in ("seams.start_arc", "seams.end_arc", "seam_outlets.clear"):
        known = [number(value) for (column, _), value in wanted.items() if column == name]
        arcs = sorted(arc for arc in known if arc is not None and arc > 0.01)
        arc = arcs[len(arcs) // 4]
        for beside in (0.0, 5e-10, 3e-9):
            yield f"{name} {beside}", arc + beside


def routes_typed(pipes: Pipes) -> Iterator[tuple[str, dict[Place, Value]]]:
    """A size that is not in the list, a line that goes nowhere, an outlet that points nowhere."""
    yield "no such size, no schedule", {("legs.size", 0): "5-1/2", ("legs.schedule", 1): None}
    yield (
        "welded to nothing",
        {("legs.end", row): "weld" for row, leg in enumerate(pipes.legs) if leg["end"] in ("plain", "cap")},
    )
    bent = [row for row, leg in enumerate(pipes.legs) if whole(leg["pulled"]) and whole(leg["kid"])]
    yield "smaller after the bend", {("legs.size", whole(pipes.legs[row]["kid"]) - 1): "4" for row in bent[::2]}
    axes = ("east", "north", "up")
    yield "not all of a way", {(f"legs.{axes[row % 3]}", row): None for row in range(2, len(pipes.legs), 2)}
    welded = [row for row, leg in enumerate(pipes.legs) if leg["start_kind"] == "weld" and whole(leg["parent"])]
    yield "fitting to fitting", {("details.make_up", row): "yes" for row in welded[::2]}
    after = [whole(pipes.legs[row]["kid"]) - 1 for row in bent]
    yield (
        "fitting to fitting after a bend",
        {("details.make_up", row): "yes" for row in after if not whole(pipes.legs[row]["pulled"])},
    )
    headers = {whole(outlet["header_row"]) - 1 for outlet in pipes.outlets}
    yield "from nowhere", {("legs.from", row): "L9" for row in welded[1::2] if row not in headers}
    named = [row for row, outlet in enumerate(pipes.outlets) if outlet["name"]]
    lost: dict[Place, Value] = {("outlets.clock_typed", row): None for row in named[::3]}
    lost |= {("outlets.size", row): "5-1/2" for row in named[1::3]}
    yield "outlets that are lost", lost | {("outlets.on", row): "L9" for row in named[2::6]}


def scenes() -> list[Scene]:
    """Seams in both editions."""
    return [
        Scene(
            f"seams {edition}",
            edition,
            lambda edition=edition: job(edition),  # type: ignore[misc]
            lambda book, edition=edition: _made(edition, book),  # type: ignore[misc]
            SHEETS,
            BUILT,
        )
        for edition in ("inch", "mm")
    ]
