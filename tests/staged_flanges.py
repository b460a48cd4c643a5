"""A second opinion on Flanges and Drilled face: flanges of a job in space, what a level over their pins shows, how the
drilled face looks.

Nothing of the templates is used here but the sizes that the drawing has by choice. The flanges are listed from the
job's own words; holes are points on a circle, a reading is held against what a right flange reads, and every sentence
is written out anew.
"""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import yard
from gauges import HAIR, Typed, bounded, fine, number, said_nothing
from live import Live, Place, Value, one_inch
from oracles import walked
from routes import job_text
from staging import Case, Scene
from walk import Leg, Walk, _rows
from walk_ends import FLANGES

WITHIN, OUTSIDE, OPEN, NO_RULE, LOOSE = "✓ within", "✗ outside", "… not yet measured", "… rule missing", "– loose"
SHOP = {"inch": 1 / 16, "mm": 1.6}
"""How far bolt holes may be out of place in the shop."""
ASSEMBLY = {"inch": 1 / 8, "mm": 3.0}
"""The same when flanges are bolted up."""
PARALLEL = 0.999
"""Cosine above which two pipes count as parallel."""
NEAR_HALF = 0.1
"""Share of the turn from hole to hole within which a flange counts as half a hole out."""
UPRIGHT = 0.001
"""Share of a leg's length under which its level part makes it upright."""
SHEETS = tuple(sheet for sheet in yard.SHEETS if sheet != "levels")


# -- which flanges there are -------------------------------------------------------------------------------------------


@dataclass
class Flange:
    """A flange of a job.

    Attributes:
        leg: the leg it stands on.
        words: where it stands, as the sheet says it.
        kind: what kind of flange.
        flange_class: its class.
        looks: 1 where its face looks along the walk, -1 where it looks back.
        side: start, item or end.
        place: which of its leg's flanges, from 1; `item_place` which of those beside items.
        rank: which item along its leg, from 1; 0 beside none.
        item_row: its item's row on Items, from 1; 0 beside none.
        near: whether it is on the item's near side.
    """

    leg: Leg
    words: str
    kind: str
    flange_class: str
    looks: int
    side: str
    place: int = 0
    item_place: int = 0
    rank: int = 0
    item_row: int = 0
    near: bool = False

    @property
    def label(self) -> str:
        """Spool and flange."""
        return f"{self.leg.spool} {self.words}"

    @property
    def upright(self) -> bool:
        """Whether its pipe stands."""
        return math.hypot(self.leg.way[0], self.leg.way[1]) < UPRIGHT


def flanges_of(walk: Walk, typed: Typed | None = None) -> list[Flange]:
    """Every flange of a job in the order of the walk, from the job's own words.

    Args:
        walk: the job walked.
        typed: classes of items that are typed over those of the job.
    """
    found: list[Flange] = []
    items = 0
    for leg in walk.legs:
        here: list[Flange] = []
        first = leg.node.first and leg.node.arms[0].leg is leg
        if first and leg.at_start.kind in FLANGES:
            own = str(leg.node.spool.get("class", leg.flange_class))
            here.append(Flange(leg, "start", leg.at_start.kind, own, -1, "start"))
        said = leg.said.get("inline", [])
        here += _beside_items(walk, leg, items, typed or {})
        items += len(said)
        if leg.at_end.kind in FLANGES:
            here.append(Flange(leg, f"end of {leg.name}", leg.at_end.kind, leg.flange_class, 1, "end"))
        for at, flange in enumerate(here, start=1):
            flange.place = at
        found += here
    return found


def _beside_items(walk: Walk, leg: Leg, rows_before: int, typed: Typed) -> Iterator[Flange]:
    """The flanges beside a leg's items, in the order of the walk; what is bolted to the leg's own flange has one."""
    said = list(enumerate(leg.said.get("inline", []), start=rows_before + 1))
    at_ends = {"start": -math.inf, "end": math.inf}
    said.sort(key=lambda each: at_ends.get(str(each[1].get("against")), walk.length(each[1].get("at", 0))))
    count = 0
    for rank, (row, each) in enumerate(said, start=1):
        if each["ends"] not in ("flanged", "wafer") or each.get("flange") not in FLANGES:
            continue
        bolted_near = each.get("against") == "start" and leg.at_start.kind in FLANGES
        bolted_far = each.get("against") == "end" and leg.at_end.kind in FLANGES
        name = f"{leg.name}, {each['item']}" + (f" {rank}" if len(said) > 1 else "")
        own = str(typed.get(("items.flange_class", row - 1), each.get("class")) or leg.flange_class)
        # the near side's flange faces along the walk, the far side's back
        for word, looks, there in (("near", 1, not bolted_near), ("far", -1, not bolted_far)):
            if there:
                count += 1
                flange = Flange(leg, f"{name}, {word} side", each["flange"], own, looks, "item")
                flange.item_place, flange.rank, flange.item_row, flange.near = count, rank, row, looks == 1
                yield flange


# -- drilling ----------------------------------------------------------------------------------------------------------


@dataclass
class Drilling:
    """How a flange is drilled: bolts, circle, hole, outside and raised face, and whether that is from memory."""

    bolts: int
    circle: float
    hole: float
    outside: float
    raised: float | None
    doubtful: bool

    @property
    def turn(self) -> float:
        """From hole to hole, in degrees."""
        return 360 / self.bolts

    def centre(self, hole: int) -> complex:
        """Middle of a hole of a straddling flange, seen facing it, 12 up; holes are counted from 12 clockwise."""
        return clockwise(self.circle / 2, (hole + 0.5) * self.turn)

    def chord(self, apart: int) -> float:
        """Straight from the centre of one hole to that of another, so many holes further."""
        return abs(self.centre(0) - self.centre(apart))

    def along(self, angle: float, diameter: float) -> float:
        """How far a turn goes along a circle."""
        return diameter / 2 * math.radians(abs(angle))


def clockwise(radius: float, degrees: float) -> complex:
    """A point on a circle round nothing, clockwise from 12."""
    return radius * 1j * cmath.exp(-1j * math.radians(degrees))


def rows_of(walk: Walk, flange: Flange) -> tuple[int | None, int | None]:
    """Row of the flange table and of the EN one, from 1; flanges by PN have no inches."""
    where = (flange.leg.size, flange.flange_class)
    found: list[int | None] = []
    for name in ("flange", "flange_en"):
        keys = [(row["size"], row["class"]) for row in _rows(name)]
        there = where in keys and not (name == "flange_en" and walk.edition == "inch")
        found.append(keys.index(where) + 1 if there else None)
    return found[0], found[1]


def drilling_of(walk: Walk, flange: Flange) -> Drilling | None:
    """A flange's drilling; None where no table has it."""
    asme, european = rows_of(walk, flange)
    at = european or asme
    if at is None:
        return None
    row = _rows("flange_en" if european else "flange")[at - 1]
    facts = walk.facts
    circle, hole, outside = (facts.value(row, name) for name in ("bolt_circle", "hole", "od"))
    assert circle is not None and hole is not None and outside is not None
    raised = None if european else facts.value(row, "raised_face_od")
    doubtful = facts.doubtful(row, "drilling_status" if european else "status")
    return Drilling(int(row["bolt_count"]), circle, hole, outside, raised, doubtful)


# -- words -------------------------------------------------------------------------------------------------------------


def whole(amount: float) -> int:
    """An amount to the nearest whole number, half way between two the one further from 0."""
    nearest = math.floor(round(abs(amount), 6) + 0.5)
    return -nearest if amount < 0 else nearest


def degrees_said(angle: float) -> str:
    """An angle to a tenth of a degree."""
    tenths = whole(angle * 10)
    return f"{tenths / 10:g}°" if tenths else "0°"


def holes_said(count: int) -> str:
    """A number of holes."""
    return f"{abs(count)} hole" + ("" if abs(count) == 1 else "s")


def way_back(error: float) -> str:
    """Which way a flange is turned to make it true, as one faces it."""
    return "clockwise" if error > 0 else "counter-clockwise"


# -- two-holing --------------------------------------------------------------------------------------------------------

LIMITS_OF: Mapping[str, tuple[str, tuple[float, float], tuple[float, float], tuple[str, str]]] = {
    "apart": ("Pins apart", (1, 23), (1, 23), ("", "")),
    "level_degrees": ("Degrees", (-180, 180), (-180, 180), (" deg", " deg")),
    "level_rise": ("or rise", (-100, 100), (-2500, 2500), (" in", " mm")),
    "level_length": ("over", (1, 100), (25, 2500), (" in", " mm")),
    "pin_difference": ("or pin higher by", (-100, 100), (-2500, 2500), (" in", " mm")),
    "wanted_angle": ("Angle wanted", (-360, 360), (-360, 360), (" deg", " deg")),
}
"""Columns for numbers: what they are called, their least and largest in inches and in mm, and the units."""
ORDER = (
    "apart", "wanted", "level_degrees", "level_rise", "level_length", "pin_difference", "wanted_angle", "against"
)  # fmt: skip
CHOICES = ("straddle", "on centre", "angle")


class Read:
    """A flange as it was read.

    Args:
        job: the flanges it belongs to.
        at: which of them, from 0.
    """

    def __init__(self, job: Flanges, at: int) -> None:
        self.job, self.at, self.flange = job, at, job.flanges[at]
        self.edition = job.edition
        self.drilling = drilling_of(job.walk, self.flange)

    def typed(self, name: str) -> Value:
        """A cell of its row."""
        return self.job.typed.get((f"flanges.{name}", self.at))

    def number(self, name: str) -> float | None:
        """A cell that holds a number."""
        return number(self.typed(name))

    @property
    def wanted(self) -> str:
        """What is wanted; "" for nothing said."""
        return str(self.typed("wanted") or "")

    @property
    def against(self) -> str:
        """The other flange's label; "" for none."""
        return str(self.typed("against") or "")

    @cached_property
    def pair(self) -> int | None:
        """How many holes the second pin is from the first."""
        apart = self.number("apart")
        if self.drilling is None:
            return None
        if apart is None:
            return 2 if self.wanted == "on centre" else 1
        return int(apart) if apart in range(1, self.drilling.bolts) else None

    @cached_property
    def lean(self) -> float | None:
        """What a straddling flange reads: level, or half the turn from hole to hole with a hole on the centreline."""
        if self.drilling is None or self.pair is None:
            return None
        return self.drilling.turn / 2 if self.pair % 2 == 0 else 0.0

    @cached_property
    def readings(self) -> dict[str, float]:
        """Angle that was read, by the ways of reading it, in their order."""
        found: dict[str, float] = {}
        level, rise, length = (self.number(name) for name in ("level_degrees", "level_rise", "level_length"))
        pins = self.number("pin_difference")
        if level is not None:
            found["degrees"] = bounded(level, 360.0)
        if rise is not None and length is not None and length > 0:
            found["rise"] = math.degrees(cmath.phase(complex(bounded(length), bounded(rise))))
        if pins is not None and self.drilling is not None and self.pair is not None:
            chord = self.drilling.chord(self.pair)
            if abs(pins) <= chord + HAIR:
                across = math.sqrt(max(0.0, chord**2 - pins**2))
                found["pins"] = math.degrees(math.atan2(pins, across))
        return found

    @cached_property
    def reading(self) -> float | None:
        """The reading that is used: the first there is."""
        return next(iter(self.readings.values()), None)

    @property
    def turned(self) -> float | None:
        """How far it stands from straddling, counter-clockwise as one faces it."""
        return None if self.reading is None or self.lean is None else self.reading - self.lean

    @cached_property
    def other(self) -> Read | None:
        """The flange that it is to stand at an angle to."""
        if self.wanted != "angle" or not self.against:
            return None
        labels = [one.label for one in self.job.flanges]
        return self.job.read[labels.index(self.against)] if self.against in labels else None

    @property
    def opposed(self) -> bool:
        """Whether the other's pipe runs back along this one's."""
        return self.other is not None and float(self.flange.leg.way @ self.other.flange.leg.way) < -PARALLEL

    @property
    def other_part(self) -> float | None:
        """How far the other is turned, as seen facing this one: both turn about one line, round a corner too."""
        if self.other is None or self.other.turned is None:
            return None
        same_sight = self.flange.looks * self.other.flange.looks * (-1 if self.opposed else 1)
        return self.other.turned * same_sight

    @property
    def angle(self) -> float:
        """The angle that is typed."""
        return bounded(self.number("wanted_angle") or 0.0, 360.0)

    @cached_property
    def target_full(self) -> float | None:
        """How far from straddling it is wanted."""
        if self.drilling is None:
            return None
        if self.wanted in ("", "straddle"):
            return 0.0
        if self.wanted == "on centre":
            return self.drilling.turn / 2
        if self.wanted != "angle":
            return None
        if not self.against:
            return None if self.number("wanted_angle") is None else self.angle
        return None if self.other_part is None else self.angle + self.other_part

    @cached_property
    def target_holes(self) -> int | None:
        """Whole holes in that."""
        return None if self.target_full is None else self.holes(self.target_full)

    @cached_property
    def target(self) -> float | None:
        """What is left when whole holes are taken off, which change nothing."""
        return None if self.target_full is None else self.rest(self.target_full)

    def holes(self, angle: float) -> int:
        """Whole holes in an angle."""
        assert self.drilling is not None
        return whole(angle / self.drilling.turn)

    def rest(self, angle: float) -> float:
        """What is left of an angle without whole holes."""
        assert self.drilling is not None
        return angle - self.drilling.turn * self.holes(angle)

    @cached_property
    def errors(self) -> dict[str, float]:
        """How far it is out, by the ways of reading it."""
        if self.lean is None or self.target is None:
            return {}
        right = self.lean + self.target
        return {way: self.rest(angle - right) for way, angle in self.readings.items()}

    @cached_property
    def error(self) -> float | None:
        """How far it is out, counter-clockwise as one faces it."""
        return next(iter(self.errors.values()), None)

    @property
    def holes_along(self) -> int | None:
        """How many holes the pins are further along than they need be."""
        if self.reading is None or self.lean is None or self.target is None:
            return None
        return max(0, self.holes(abs(self.reading) - abs(self.rest(self.lean + self.target))))

    def at_holes(self, error: float | None) -> float | None:
        """How far holes are out along their circle."""
        return None if error is None or self.drilling is None else self.drilling.along(error, self.drilling.circle)

    @property
    def offset(self) -> float | None:
        """How far the holes are out, by the reading that is used."""
        return self.at_holes(self.error)

    @property
    def worst(self) -> float | None:
        """How far the holes are out by the worst of the readings."""
        return self.at_holes(max(map(abs, self.errors.values()), default=None))

    @property
    def rim(self) -> float | None:
        """How far it is out along the rim."""
        if self.error is None or self.drilling is None:
            return None
        return self.drilling.along(self.error, self.drilling.outside)

    @property
    def half_out(self) -> bool | None:
        """Whether it is about half a hole out."""
        if self.error is None or self.drilling is None:
            return None
        turn = self.drilling.turn
        return abs(abs(self.error) - turn / 2) <= NEAR_HALF * turn + HAIR

    @property
    def bad(self) -> bool:
        """Whether one of the readings is over the shop's limit."""
        return self.worst is not None and self.job.limit is not None and self.worst > self.job.limit + HAIR

    # -- sentences -----------------------------------------------------------------------------------------------------

    def fine(self, amount: float) -> str:
        """An amount as a fitter reads it."""
        return fine(amount, self.edition)

    @property
    def drilled(self) -> str | None:
        """Number of holes, their diameter, and that of the bolt circle."""
        drilling = self.drilling
        if drilling is None:
            return None
        return f"{drilling.bolts} × {self.fine(drilling.hole)} on {self.fine(drilling.circle)}"

    @property
    def verdict(self) -> str:
        """The verdict."""
        if self.flange.kind == "lap_joint":
            return LOOSE
        if self.bad:
            return OUTSIDE
        if self.error is None:
            return OPEN
        return NO_RULE if self.job.limit is None else WITHIN

    @property
    def action(self) -> str:
        """What to do."""
        if self.flange.kind == "lap_joint":
            return "Loose flange: it turns on its stub end, no two-holing."
        if self.drilling is None:
            return "No drilling in the tables for this size and class: take it from the drawing."
        if self.pair is None:
            return f"Pins apart: a whole number from 1 to {self.drilling.bolts - 1}."
        if self.target is None:
            return self.to_type
        if self.error is None:
            return str(self.to_read)
        if self.bad:
            return str(self.bad_said)
        if self.job.limit is None:
            return "Rules first: the limit for two-holing is blank."
        return str(self.good_said)

    @property
    def to_read(self) -> str | None:
        """How to read it."""
        if self.pair is None:
            return None
        if self.flange.upright:
            return "Its leg is upright: roll the spool so that the face stands, or take degrees by square and string."
        return f"Pins in two holes {self.pair} apart, the same height up on both sides; level across: type one reading."

    @property
    def to_type(self) -> str:
        """What to type, so that it is known what is wanted."""
        if self.wanted != "angle":
            return "Wanted: straddle, on centre, or angle."
        if not self.against:
            return "Type the angle wanted, at the right."
        return "The other flange is not in this list." if self.other is None else "Read the other flange first."

    @property
    def wanted_said(self) -> str | None:
        """What is wanted, in words."""
        if self.target is None or self.target_full is None or self.target_holes is None:
            return None
        if self.wanted != "angle":
            return self.wanted or "straddle"
        said = f"Wanted {degrees_said(self.target_full)}"
        count, left = self.target_holes, self.target
        if not count:
            return f"{said}. "
        if whole(left * 10) == 0:
            return f"{said} is {holes_said(count).replace(' hole', ' whole hole')}: as straddling. "
        joined = "and" if (left > 0) == (count > 0) else "less"
        return f"{said} is {holes_said(count)} {joined} {degrees_said(abs(left))}. "

    @property
    def bad_said(self) -> str | None:
        """What to do about a flange that is out."""
        error, rim, offset, limit = self.error, self.rim, self.offset, self.job.limit
        if error is None or rim is None or offset is None or limit is None or self.drilling is None:
            return None
        if self.half_out:
            stands = {
                "on centre": "straddles instead of being on centre",
                "angle": "stands half a hole from the angle",
            }.get(self.wanted, "is on centre instead of straddling")
            return (
                f"Half a hole ({degrees_said(self.drilling.turn / 2)}) out: check the pins. If they are right, the "
                f"flange {stands}: turn it {way_back(error)} by {self.fine(rim)} at the rim."
            )
        if offset <= limit + HAIR:
            return "The ways of reading it disagree: read again."
        most = ASSEMBLY[self.edition]
        return (
            (f"{self.wanted_said}" if self.wanted == "angle" else "")
            + f"Turn it {way_back(error)} by {self.fine(rim)} along the rim, as you face it. "
            + f"Over {self.fine(limit)} (shop †){', within ' if offset <= most + HAIR else ' and over '}"
            + f"{self.fine(most)} (assembly)."
        )

    @property
    def good_said(self) -> str | None:
        """What to say of a flange that is within the limit."""
        error, rim, offset, limit = self.error, self.rim, self.offset, self.job.limit
        if error is None or rim is None or offset is None or limit is None or self.reading is None:
            return None
        said = ""
        if self.holes_along:
            along = holes_said(self.holes_along)
            said = f"Reads {degrees_said(self.reading)}: the pins are {along} along, that is right. "
        if self.wanted == "angle":
            said += str(self.wanted_said)
        if said_nothing(offset, self.edition):
            return f"{said}True."
        return (
            f"{said}Within {self.fine(limit)} (shop †): off by {self.fine(offset)}, {self.fine(rim)} "
            f"{way_back(error)} at the rim would make it true."
        )

    @property
    def stops(self) -> str:
        """What is wrong with what was typed."""
        return "".join(self._stops())

    def _stops(self) -> Iterator[str]:
        for name in ORDER:
            if name == "wanted":
                yield "Wanted: not in the list. " if self.wanted not in ("", *CHOICES) else ""
            elif name == "against":
                labels = [one.label for one in self.job.flanges]
                yield "To which flange: not in the list. " if self.against not in ("", *labels) else ""
            else:
                yield self._beyond(name)
        if self.number("level_rise") is not None and "rise" not in self.readings:
            yield "Type the length over which it rises. "
        if self.number("pin_difference") is not None and self.pair is not None and "pins" not in self.readings:
            yield "That is more than the pins are apart. "
        if self.other is self:
            yield "It cannot be its own other flange. "

    def _beyond(self, name: str) -> str:
        """What is wrong with a number that was typed."""
        words, inches, millimetres, units = LIMITS_OF[name]
        low, high = inches if self.edition == "inch" else millimetres
        unit = units[self.edition == "mm"]
        value = self.number(name)
        if value is None:
            return f"{words}: not a number. " if self.typed(name) else ""
        if value < low:
            return f"{words}: under {low}{unit}. "
        return f"{words}: over {high}{unit}. " if value > high else ""

    @property
    def cautions(self) -> str:
        """What to look at."""
        said = ""
        asked = self.flange.kind != "lap_joint" and self.wanted != "angle"
        if asked and self.drilling and self.lean is not None and self.target_full is not None:
            half = self.drilling.turn / 2
            if abs(self.lean - self.target_full) > HAIR:
                said = f"Pins {self.pair} apart: a right flange reads {degrees_said(half)}, not level. "
        return said + ("† its drilling is from memory, verify. " if self.drilling and self.drilling.doubtful else "")

    # -- its row -------------------------------------------------------------------------------------------------------

    def row(self) -> dict[str, Value]:
        """What its row of Flanges holds."""
        flange, drilling, leg = self.flange, self.drilling, self.flange.leg
        asme, european = rows_of(self.job.walk, flange)
        stops, cautions = self.stops, self.cautions
        found: dict[str, Value] = {
            "spool": leg.spool,
            "flange": flange.words,
            "size": leg.size,
            "flange_class": flange.flange_class or None,
            "error": self.error,
            "offset": self.offset,
            "verdict": self.verdict,
            "action": self.action,
            "message": stops + cautions or None,
            "stops": stops or None,
            "cautions": cautions or None,
            "wanted_said": self.wanted_said,
            "pair": _count(self.pair),
            "lean": self.lean,
            **{f"by_{way}": self.readings.get(way) for way in ("degrees", "rise", "pins")},
            **{f"error_{way}": self.errors.get(way) for way in ("degrees", "rise", "pins")},
            "reading": self.reading,
            "turned": self.turned,
            "other_row": None if self.other is None else self.other.at + 1.0,
            "other_part": self.other_part,
            "against_way": None if self.other is None else -1.0 if self.opposed else 1.0,
            "target_full": self.target_full,
            "turn_typed": self.angle,
            "target_holes": _count(self.target_holes),
            "target": self.target,
            "holes_along": _count(self.holes_along),
            "offset_worst": self.worst,
            "rim_turn": self.rim,
            "near_half": None if self.half_out is None else float(self.half_out),
            "bad": float(self.bad),
            "to_read": self.to_read,
            "to_type": self.to_type,
            "bad_said": self.bad_said,
            "good_said": self.good_said,
            "leg_row": leg.row + 1.0,
            "place": float(flange.place),
            "side": flange.side,
            "item_place": float(flange.item_place),
            "item_rank": float(flange.rank),
            "item_row": float(flange.item_row),
            "near": float(flange.near),
            "facing": float(-flange.looks),
            "kind": flange.kind,
            "asme_row": _count(asme),
            "en_row": _count(european),
            "label": flange.label,
        }
        return found | self._drilled(drilling)

    def _drilled(self, drilling: Drilling | None) -> dict[str, Value]:
        """What its row holds of the drilling."""
        if drilling is None:
            names = ("drilling", "chord", "hole_turn", "pin_allowed", "bolt_count", "bolt_circle", "hole", "od")
            return dict.fromkeys((*names, "raised_face_od", "pair_chord"))
        apart = None if self.pair is None else drilling.chord(self.pair)
        limit = self.job.limit
        return {
            "drilling": self.drilled,
            "chord": drilling.chord(1),
            "hole_turn": drilling.turn,
            # holes that go along by the limit turn the line over the pins by so much of a radian
            "pin_allowed": None if apart is None or limit is None else apart * limit / (drilling.circle / 2),
            "bolt_count": float(drilling.bolts),
            "bolt_circle": drilling.circle,
            "hole": drilling.hole,
            "od": drilling.outside,
            "raised_face_od": drilling.raised,
            "pair_chord": apart,
        }


def _count(amount: int | None) -> float | None:
    """A whole number as a cell holds it."""
    return None if amount is None else float(amount)


class Flanges:
    """The flanges of a job as they were read.

    Args:
        walk: the job walked.
        typed: cells typed into, by name and row.
    """

    def __init__(self, walk: Walk, typed: Typed) -> None:
        self.walk, self.typed, self.edition = walk, typed, walk.edition
        self.flanges = flanges_of(walk, typed)
        self.limit = number(typed.get(("rules.two_hole_max", 0), SHOP[walk.edition]))
        self.read = [Read(self, at) for at in range(len(self.flanges))]

    def told(self) -> str:
        """How many are in, out and open."""
        verdicts = [one.verdict for one in self.read]
        within, outside = verdicts.count(WITHIN), verdicts.count(OUTSIDE)
        return f"{within} ✓, {outside} ✗, {len(verdicts) - within - outside} …"


def expected_flanges(walk: Walk, typed: Typed, rows: int) -> dict[Place, Value]:
    """What Flanges holds, by name and row; rows without a flange are blank."""
    job = Flanges(walk, typed)
    found: dict[Place, Value] = {
        ("flanges.told", 0): job.told(),
        ("flanges.flanges_total", 0): float(len(job.flanges)),
    }
    shown = [one.row() for one in job.read]
    blank: dict[str, Value] = dict.fromkeys(shown[0])
    for at in range(rows):
        line = shown[at] if at < len(shown) else blank
        found |= {(f"flanges.{name}", at): value for name, value in line.items()}
    return found


# -- the drawing -------------------------------------------------------------------------------------------------------

OUTER = 0.43
"""Radius of the flange in a drawing that is 1 wide."""
LINE, ROUND = 360, 270
"""Steps of the line through all holes; how many of every 360 steps at a hole go round it, 2° each."""
STROKES = 24
MIDDLE = 0.5 + 0.5j
"""Of the drawing."""


class Drawing:
    """A flange as Drilled face draws it.

    Args:
        job: the flanges as they were read.
    """

    def __init__(self, job: Flanges) -> None:
        self.job = job
        asked = job.typed.get(("drilled.flange", 0))
        self.asked = job.flanges[0].label if asked is None else str(asked)
        labels = [one.label for one in job.flanges]
        self.one = job.read[labels.index(self.asked)] if self.asked in labels else None
        self.drilling = self.one.drilling if self.one else None
        times = number(job.typed.get(("drilled.times", 0), 5.0))
        self.times = 1.0 if times is None else max(1.0, min(1000.0, times))

    @cached_property
    def error(self) -> float:
        """How far out of place it is drawn: enlarged, half a hole at most."""
        if self.one is None or self.drilling is None or self.one.error is None:
            return 0.0
        return bounded(self.one.error * self.times, self.drilling.turn / 2)

    @property
    def target(self) -> float:
        """How far from straddling it is wanted; straddling where that is not known."""
        return (self.one.target if self.one else None) or 0.0

    @property
    def line(self) -> float:
        """How far the level over the pins leans to the left-hand side, whole holes and all."""
        lean = self.one.lean if self.one else None
        return self.target + self.error + (lean or 0.0)

    @property
    def half_pair(self) -> float:
        """Half the turn from pin to pin."""
        assert self.one is not None and self.drilling is not None
        return (self.one.pair or 1) * self.drilling.turn / 2

    def scale(self, diameter: float | None) -> float:
        """A diameter of the flange as a radius of the drawing."""
        assert self.drilling is not None
        return OUTER * (diameter or 0.0) / self.drilling.outside

    @cached_property
    def half_hole(self) -> float:
        """Half a hole seen from the middle: the triangle from the middle to the hole's edge is square there."""
        assert self.drilling is not None
        return math.degrees(math.asin(self.drilling.hole / self.drilling.circle))

    def results(self) -> dict[str, Value]:
        """The single cells of Drilled face."""
        one, drilling = self.one, self.drilling
        names = (
            "drilling", "verdict", "action", "flange_row", "holes", "hole_turn", "error_drawn", "target_drawn",
            "circle_radius", "hole_radius", "face_radius", "hole_half", "pin_half", "pin_lean", "lean_holes",
            "left_word", "right_word",
        )  # fmt: skip
        found: dict[str, Value] = {"shown": self.asked, **dict.fromkeys(names)}
        if one is None:
            return found
        along = one.flange.looks == -1  # who faces it looks along the walk, with 3 on the right hand
        found |= {
            "drilling": f"{one.drilled or ''}, hole to next {one.fine(drilling.chord(1)) if drilling else '…'}",
            "verdict": one.verdict,
            "action": one.action,
            "flange_row": one.at + 1.0,
            "left_word": "9" if along else "3",
            "right_word": "3" if along else "9",
        }
        if drilling is None:
            return found
        return found | {
            "holes": float(drilling.bolts),
            "hole_turn": drilling.turn,
            "error_drawn": self.error,
            "target_drawn": self.target,
            "circle_radius": self.scale(drilling.circle),
            "hole_radius": self.scale(drilling.hole),
            "face_radius": self.scale(drilling.raised),
            "hole_half": self.half_hole,
            "pin_half": self.half_pair,
            "pin_lean": one.rest(self.line),
            "lean_holes": float(one.holes(self.line)),
        }

    def hole(self, number: int) -> float:
        """Where the middle of a hole is drawn, clockwise from 12 in degrees; the holes are counted from 12."""
        assert self.drilling is not None
        return (number + 0.5) * self.drilling.turn - self.target - self.error

    def holes_line(self, step: int) -> tuple[int, float, complex]:
        """A point of the line round all holes: step at its hole, the hole's middle, and the place.

        Each hole takes the same share of the line: it is gone round once and a half, clockwise, from where the bolt
        circle enters it; the rest leads along the bolt circle to the next one.
        """
        if self.drilling is None:
            return 0, 0.0, MIDDLE
        number, part = divmod(step * self.drilling.bolts, LINE)
        middle, circle = self.hole(number), self.scale(self.drilling.circle)
        if part < ROUND:
            place = clockwise(circle, middle) + clockwise(self.scale(self.drilling.hole), middle - 90 + 2 * part)
        else:
            leaves, enters = middle + self.half_hole, self.hole(number + 1) - self.half_hole
            share = (part - ROUND) / (LINE - ROUND)
            place = clockwise(circle, leaves + (enters - leaves) * share)
        return part, middle, MIDDLE + place

    def stroke(self, at: int) -> tuple[float, complex, complex]:
        """Where a hole is wanted: the angle of its middle from 12, and a stroke over it."""
        if self.drilling is None:
            return 0.0, MIDDLE, MIDDLE
        angle = (min(at, self.drilling.bolts - 1) + 0.5) * self.drilling.turn - self.target
        circle, over = self.scale(self.drilling.circle), 1.5 * self.scale(self.drilling.hole)
        return angle, MIDDLE + clockwise(circle - over, angle), MIDDLE + clockwise(circle + over, angle)

    def pins(self) -> tuple[complex, complex]:
        """The two pins under the level, left one first."""
        if self.drilling is None or self.one is None:
            return MIDDLE, MIDDLE
        circle, top = self.scale(self.drilling.circle), -self.one.rest(self.line)
        left, right = (clockwise(circle, top + side * self.half_pair) for side in (-1, 1))
        return MIDDLE + left, MIDDLE + right


def expected_drilled(walk: Walk, typed: Typed) -> dict[Place, Value]:
    """What Drilled face holds, and where its lines run, by name and row."""
    drawing = Drawing(Flanges(walk, typed))
    results = drawing.results()
    found: dict[Place, Value] = {(f"drilled.{name}", 0): value for name, value in results.items()}
    for at, word in enumerate(("12", results["right_word"], "6", results["left_word"])):
        found["face_marks.word", at] = word
    raised = drawing.scale(drawing.drilling.raised) if drawing.drilling else 0.0
    for at in range(49):
        found["flange_rings.turn", at] = 7.5 * at
        found |= _place("flange_rings", "outer_x", "outer_y", at, MIDDLE + clockwise(OUTER, 7.5 * at))
        found |= _place("flange_rings", "face_x", "face_y", at, MIDDLE + clockwise(raised, 7.5 * at))
    for step in range(LINE + 1):
        part, middle, place = drawing.holes_line(step)
        found["hole_line.part", step], found["hole_line.middle", step] = float(part), middle
        found |= _place("hole_line", "across", "upward", step, place)
    for at in range(STROKES):
        angle, inner, outer = drawing.stroke(at)
        found["wanted_holes.middle", at] = angle
        found |= _place("wanted_holes", "x_from", "y_from", at, inner)
        found |= _place("wanted_holes", "x_to", "y_to", at, outer)
    left, right = drawing.pins()
    return found | _place("pins_line", "x_from", "y_from", 0, left) | _place("pins_line", "x_to", "y_to", 0, right)


def _place(table: str, x: str, y: str, row: int, point: complex) -> dict[Place, Value]:
    """A point in two columns of a table."""
    return {(f"{table}.{x}", row): point.real, (f"{table}.{y}", row): point.imag}


# -- scenes ------------------------------------------------------------------------------------------------------------

WN, SO, SW, TF, LJ = FLANGES[0], FLANGES[1], FLANGES[2], "threaded_flange", "lap_joint"


def job(units: str) -> str:
    """Flanges of every kind, at starts and ends of legs and beside items, on pipes of every direction."""
    metric = units == "mm"
    far = 25 if metric else 1
    en = {"10": "PN16", "3": "PN10", "12": "PN40", "1": "PN25"} if metric else {}

    def leg(end: str, east: float = 0, north: float = 0, up: float = 0, **more: Any) -> dict[str, Any]:
        parts = {"east": east, "north": north, "up": up}
        return {name: value * far for name, value in parts.items() if value} | {"end": end, **more}

    def item(name: str, ends: str, **more: Any) -> dict[str, Any]:
        said = {"item": name, "length": 8 * far, "ends": ends, **more}
        return said | ({"at": more["at"] * far} if "at" in more else {})

    def spool(
        size: str, schedule: str, pressure: str, start: str, *legs: dict[str, Any], **more: Any
    ) -> dict[str, Any]:
        made = {"size": size, "schedule": schedule, "class": en.get(size, pressure), "start": start}
        return made | more | {"leg": list(legs)}

    out_of_order = [
        item("gate valve", "flanged", at=150, flange=SO, **{"class": "600"}),
        item("strainer", "butt", at=110),
        item("meter", "wafer", at=40, flange=WN),
        item("check valve", "flanged", at=75, flange=LJ),
    ]
    bolted = [
        item("check valve", "flanged", at=40, flange=WN),
        item("spacer", "wafer", against="start", flange=SO, **{"class": "300"}),
        item("ball valve", "flanged", against="end", flange=LJ),
    ]
    on_elbows = [
        item("plug valve", "flanged", against="start", flange=WN),
        item("globe valve", "flanged", against="end", flange=WN),
    ]
    filtered = [item("filter", "flanged", at=40, flange=WN, **{"class": "PN40" if metric else "900"})]
    trapped = [item("trap", "flanged", at=40, flange=WN)]
    after: dict[str, Any] = {"from": "L1"}
    light: dict[str, Any] = {"class": "150"}
    branch = leg(WN, 0, 0, -40, size="8", **after)
    found = [
        spool("4", "STD", "150", SO, leg(SO, 0, 100, inline=bolted)),
        spool("3-1/2", "40", "900", WN, leg(LJ, 20, 70, 50, takeout=3 * far), start_takeout=3 * far),
        spool("2", "80", "600", SW, leg(SW, up=60)),
        spool("6", "STD", "300", WN,
              leg("elbow", 200, inline=out_of_order, **light), leg("elbow", up=60), leg(WN, -80)),
        spool("8", "STD", "400", LJ, leg("elbow", 0, -120), leg("elbow", 90, inline=on_elbows), leg(SO, 0, 70)),
        spool("24", "STD", "300", WN, leg(WN, up=-90)),
        spool("12", "STD", "300", WN, leg("tee", 90, 4), leg(WN, 90, 4), branch),
        spool("3", "STD", "900", WN, leg(WN, -100, 0, 4.36)),
        spool("22", "STD", "150", WN, leg(WN, -100, 0, 4.60)),
        spool("10", "STD", "1500", WN, leg(WN, 60, -48, 36, inline=filtered)),
        spool("1", "80", "150", WN, leg(WN, -60, 46, -37, inline=trapped)),
        spool("1-1/2", "80", "300", TF, leg(TF, -20, -71, 52)),
    ]  # fmt: skip
    return job_text([{"mark": f"F{at}", **each} for at, each in enumerate(found, start=1)], units)


FACE = {
    "face_tilt": "face_tilt",
    "face_at": "face_at",
    "face_verdict": "verdict",
    "face_action": "action",
    "wedge": "wedge",
}
"""What Flanges shows of Flange face, by its name there."""

Row = dict[str, Value]


class Crew:
    """Types what fitters find, from a seed.

    Args:
        walk: the job walked.
        seed: the same one gives the same cells.
    """

    def __init__(self, walk: Walk, seed: int) -> None:
        self.walk, self.rng = walk, random.Random(seed)
        self.inch = one_inch(walk.edition)
        self.typed: dict[Place, Value] = {}

    def put(self, row: int, cells: Row) -> None:
        """Type into a row."""
        self.typed |= {(f"flanges.{name}", row): value for name, value in cells.items()}

    def read(self, row: int, out: float, along: int, ways: Sequence[str], noise: float = 0.0) -> None:
        """Read a flange that is out by an angle, its pins so many holes along, in some ways that differ a little."""
        one = Flanges(self.walk, self.typed).read[row]
        if one.drilling is None or one.lean is None or one.target is None:
            return
        for way in ways:
            angle = one.lean + one.target + out + along * one.drilling.turn + self.rng.gauss(0, 1) * noise
            length = self.rng.choice([6.0, 12.0, 24.0]) * self.inch
            chord = one.drilling.chord(one.pair or 1)
            slope, sine = (f(math.radians(bounded(angle, 80))) for f in (math.tan, math.sin))
            cells: dict[str, Row] = {
                "degrees": {"level_degrees": angle},
                "rise": {"level_rise": length * slope, "level_length": length},
                "pins": {"pin_difference": chord * sine},
            }
            self.put(row, cells[way])

    def everything(self) -> dict[Place, Value]:
        """Every flange, read by chance."""
        rng, flanges = self.rng, flanges_of(self.walk)
        for row, flange in enumerate(flanges):
            drilling = drilling_of(self.walk, flange)
            most = drilling.bolts - 1 if drilling else 3
            wanted = rng.choice([None, None, "straddle", "on centre", "on centre", "angle", "angle", "angle"])
            cells: Row = {"wanted": wanted, "apart": rng.choice([None, None, float(rng.randint(1, most))])}
            if wanted == "angle" or rng.random() < 0.2:
                other = flanges[rng.randrange(row)].label if row else None
                cells["against"] = rng.choice([None, other, other, other])
                holes = 360 / (most + 1) * rng.randint(-3, 3) + rng.choice([0, 0.5, -0.5, 0.03, -0.03])
                any_angle = round(rng.uniform(-360, 360), 1)
                cells["wanted_angle"] = rng.choice([None, holes, holes, any_angle, rng.uniform(-30, 30)])
            self.put(row, cells)
            if drilling is None or rng.random() < 0.1:
                continue
            steps = (0.0, 1 / 300, 1 / 64, 1 / 32, rng.uniform(0.03, 0.16), rng.uniform(0.03, 0.16), 0.3)
            angle = math.degrees(rng.choice(steps) * self.inch / (drilling.circle / 2))
            out = rng.choice([angle, angle, -angle, -angle, rng.uniform(-0.5, 0.5) * drilling.turn])
            ways = rng.sample(["degrees", "rise", "pins"], rng.choice([1, 1, 2, 3]))
            noise = rng.choice([0.0, 0.0, 0.05, 0.5])
            self.read(row, out, rng.choice([0, 0, 0, 1, -1, 2]), ways, noise)
        return self.typed

    def at_limits(self, limits: Sequence[float], turns: Sequence[float]) -> dict[Place, Value]:
        """Flanges that are out by just so much round the bolt circle, or by such a share of the turn to the next hole;
        on a limit, a hair under and a hair over, in all ways of reading."""
        flanges = flanges_of(self.walk)
        hairs = (0.0, -5e-10, 5e-10, 3e-9, -1e-6, 1e-6)
        wanted = (None, "on centre", None)
        for row, flange in enumerate(flanges):
            drilling = drilling_of(self.walk, flange)
            if drilling is None:
                continue
            at = row // 2
            self.put(row, {"wanted": wanted[at % 3], "apart": (None, 1.0, 3.0, 2.0)[at % 4]})
            hair = hairs[at % len(hairs)]
            if limits:
                out = math.degrees((limits[at // 2 % len(limits)] + hair) / (drilling.circle / 2))
            else:
                out = turns[at // 2 % len(turns)] * drilling.turn + hair
            self.read(row, out * (-1) ** row, 0, (("degrees",), ("rise",), ("pins",))[(at + row) % 3])
        return self.typed

    def whole_holes(self) -> dict[Place, Value]:
        """Flanges wanted at whole holes from straddling, and at a little more and less; two of three are out a hair."""
        holes, rests = (1, -1, 2, -2, 0, 3), (0.5, -0.5, 0.03, -0.03, 0.06, 5.0, -5.0, 0.0)
        for row, flange in enumerate(flanges_of(self.walk)):
            drilling = drilling_of(self.walk, flange)
            if drilling:
                angle = holes[(row // 8 + row) % 6] * drilling.turn + rests[row % 8]
                self.put(row, {"wanted": "angle", "wanted_angle": angle})
                self.read(row, 0.04 if row % 3 else 0.0, row % 2, ("degrees",))
        return self.typed

    def by_turns(self, patterns: Sequence[Row], first: int = 0) -> dict[Place, Value]:
        """Rows of cells, each flange the next."""
        for row in range(len(flanges_of(self.walk))):
            self.put(row, patterns[(row + first) % len(patterns)])
        return self.typed

    def faces(self) -> dict[Place, Value]:
        """Faces read with square and tape."""
        found: dict[Place, Value] = {}
        for row in range(len(flanges_of(self.walk))):
            if self.rng.random() < 0.8:
                found["faces.marks", row] = 10 * self.inch
                for clock in ("12", "3", "6", "9"):
                    found[f"faces.near_{clock}", row] = 4 * self.inch
                    found[f"faces.far_{clock}", row] = (4 + self.rng.gauss(0, 0.03)) * self.inch
        return found


def patterns(labels: Sequence[str], edition: str) -> list[Row]:
    """What is typed rarely, by a slip of the keys or in part."""
    inch = one_inch(edition)
    found: list[Row] = [
        {"level_rise": 0.1 * inch},
        {"level_degrees": "abc"},
        {"apart": 4.0},
        {"apart": 5.0},
        {"apart": 1.5, "level_degrees": 0.0},
        {"apart": -1.0},
        {"apart": 0.0},
        {"apart": 24.0},
        {"apart": "two", "level_degrees": 1.0},
        {"wanted": "up", "level_degrees": 1.0},
        {"wanted": "angle"},
        {"wanted": "angle", "against": "nobody", "wanted_angle": 3.0},
        {"wanted": "angle", "against": labels[1]},
        {"wanted": "angle", "against": labels[10], "level_degrees": 4.0},
        {"wanted": "angle", "wanted_angle": 400.0, "level_degrees": 33.0},
        {"wanted": "angle", "wanted_angle": -400.0, "level_degrees": -390.0},
        {"wanted": "angle", "wanted_angle": "right"},
        {"wanted": "on centre"},
        {"wanted": "on centre", "apart": 1.0},
        {"wanted": "on centre", "apart": 2.0, "level_degrees": 0.0},
        {"against": labels[0], "wanted_angle": 12.0, "level_degrees": 0.0},
        {"level_degrees": 400.0},
        {"level_degrees": -400.0, "pin_difference": 0.1 * inch},
        {"level_degrees": 0.0, "pin_difference": 0.2 * inch},
        {"level_degrees": 0.0, "level_rise": -0.3 * inch, "level_length": 6 * inch},
        {"level_degrees": 0.0, "level_rise": 0.0, "level_length": 6 * inch, "pin_difference": 0.0},
        {"level_rise": 0.01 * inch, "level_length": 6 * inch, "pin_difference": -0.3 * inch},
        {"level_rise": 0.3 * inch, "level_length": 0.0},
        {"level_rise": 0.3 * inch, "level_length": -6.0 * inch},
        {"level_rise": 101 * inch, "level_length": 102 * inch, "pin_difference": 101 * inch},
        {"level_rise": -101 * inch, "level_length": 0.5 * inch, "pin_difference": -101 * inch},
        {"level_rise": "a", "level_length": "b", "pin_difference": "c"},
        {"level_rise": 1e300, "level_length": 5.0},
        {"level_rise": 5.0, "level_length": 1e300, "pin_difference": 1e300},
        {"pin_difference": 50.0 * inch},
        {"apart": 2.0},
        {"apart": 2.0, "level_degrees": 45.0},
        {"apart": 3.0, "level_degrees": 0.0},
        {},
        {"level_degrees": 0.0},
    ]
    return found


def _scene(edition: str) -> Scene:
    """Flanges read in every way."""
    text = partial(job, edition)

    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = walked(text(), edition)
        typed = Crew(walk, 1).everything() | Crew(walk, 1).faces()
        labels = [one.label for one in flanges_of(walk)]
        found = [Case("by chance", typed, expected(walk, typed, book))]
        for name, more in _states(walk, labels):
            every = dict.fromkeys(typed) | more
            found.append(Case(name, every, expected(walk, every, book), own=False))
        return typed, found

    return Scene(f"flanges {edition}", edition, text, made, ("flanges", "drilled", "face_steps"), SHEETS)


def _states(walk: Walk, labels: Sequence[str]) -> Iterator[tuple[str, dict[Place, Value]]]:
    """What else is typed, and what is drawn of it."""
    edition = walk.edition
    shop, most = SHOP[edition], ASSEMBLY[edition]

    def drawn(flange: Value, times: Value) -> dict[Place, Value]:
        return {("drilled.flange", 0): flange, ("drilled.times", 0): times}

    yield "nothing", {}
    blank: tuple[tuple[int, ...], ...] = ((), (1, 3, 9), (0, 9))
    drawings = ((labels[3], 1.0), (labels[7], None), (labels[-5], 3.0))
    for seed, ((flange, times), items) in enumerate(zip(drawings, blank, strict=True), start=2):
        unsaid: dict[Place, Value] = {("items.flange_class", row): None for row in items}
        yield f"by chance {seed}", Crew(walk, seed).everything() | unsaid | drawn(flange, times)
    yield "whole holes", Crew(walk, 8).whole_holes() | drawn(labels[-1 if len(labels) % 3 != 1 else -2], 2000.0)
    yield "at the shop's limit", Crew(walk, 5).at_limits([shop], []) | drawn(labels[13], None)
    yield "at the limits", Crew(walk, 6).at_limits([most, shop], []) | drawn(labels[14], 0.2)
    yield "half a hole", Crew(walk, 7).at_limits([], [0.4, 0.5, 0.45, 0.39, 0.25]) | drawn(labels[15], "x")
    for first in (0, 7, 19):
        yield (
            f"slips {first}",
            Crew(walk, 0).by_turns(patterns(labels, edition), first)
            | drawn(labels[4] if first == 0 else "nobody", "x"),
        )
    without: dict[Place, Value] = {("rules.two_hole_max", 0): None}
    crew = Crew(walk, 3)
    crew.everything()
    crew.put(2, dict.fromkeys(("wanted", "level_rise", "level_length", "pin_difference")))
    crew.put(2, {"apart": 2.0, "level_degrees": 23.5})  # one degree out, where holes are 45° apart
    yield "no rule", crew.typed | without | drawn(labels[2], 1.0)


def expected(walk: Walk, typed: Typed, book: Live) -> dict[Place, Value]:
    """What both sheets hold; what Flange face says is that sheet's own."""
    rows = book.book.fields["flanges.label"].rows
    book.put_all(typed)
    faces: dict[Place, Value] = {
        (f"flanges.{name}", row): value
        for name, there in FACE.items()
        for row, value in enumerate(book.column(f"faces.{there}"))
    }
    book.reset()
    return expected_flanges(walk, typed, rows) | expected_drilled(walk, typed) | faces


def scenes() -> list[Scene]:
    """The scenes of these sheets."""
    return [_scene(edition) for edition in ("inch", "mm")]
