"""Scenes of Tacks and Tack practice: a stiff ring in space, drawn in tack by tack, and what a fitter is then told.

Joints, sizes and gaps are those of Route and Fit-up, which are proved elsewhere. What follows from them is worked out
here: the places from the degrees that the shop has printed, the gaps from a ring that turns on what holds it, verdicts
and sentences from the gaps that were read.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

import joinery
import numpy as np
from gauges import (
    CLOCK,
    FARTHEST,
    HAIR,
    NO_RULE,
    OPEN,
    OUTSIDE,
    WITHIN,
    bounded,
    clock_text,
    counts_told,
    fine,
    number,
    said_nothing,
)
from live import Live, Place, Value, one_inch
from numpy.typing import NDArray
from routes import job_text
from staging import Case, Scene
from walk import Facts

Array = NDArray[np.float64]
State = Mapping[Place, Value]

SHEETS = ("tacks", "tack_practice")
BUILT = tuple(sheet for sheet in joinery.SHEETS if sheet not in ("bevels", "groove", "bores", "bore_sizes"))
MOST = 12
"""Tacks that a row has boxes for."""

LEAST_GAP, USUAL_GAP, MOST_GAP = {"inch": 3 / 32, "mm": 2.5}, {"inch": 1 / 8, "mm": 3.0}, {"inch": 5 / 32, "mm": 4.0}
"""Root gap as Rules has it where a job says nothing."""

SIZE_NOT_KNOWN = "… size not known"
READ_FIT_UP = "Read gap and hi-lo on Fit-up first. "
RULES_FIRST = "Read the rules first: a limit is blank."
READY = "Look at every tack, feather the ends, cut out cracked ones; then the root."

# -- how many, how long ------------------------------------------------------------------------------------------------

USUAL: Sequence[tuple[float, int, float, float]] = (
    (1, 2, 0.5, 13), (2, 3, 0.5, 13), (6, 4, 0.75, 19), (12, 4, 0.75, 19), (24, 6, 1, 25), (30, 8, 1, 25),
    (36, 10, 1, 25), (math.inf, 12, 1, 25),
)  # fmt: skip
"""Up to which nominal size, how many tacks, how long in inches and in mm: from memory, verify, as on the sheet."""


def practice_row(nominal: float) -> int:
    """Row of Tack practice (0-based) that a nominal size falls in."""
    return next(row for row, (up_to, *_) in enumerate(USUAL) if nominal <= up_to)


@dataclass(frozen=True)
class Practice:
    """What the shop does for a range of sizes: tacks, the length of each, and how far one draws its side in."""

    many: int
    long: float
    pull: float | None


def practice(edition: str, state: State) -> list[Practice]:
    """By range of sizes: the usual, or what the shop typed over it."""
    found: list[Practice] = []
    for row, (_, usual, inches, millimetres) in enumerate(USUAL):
        many, long, pull = (
            number(state.get((f"tack_practice.{name}", row))) for name in ("own_number", "own_length", "pull")
        )
        if many is not None:
            usual = math.floor(min(max(many, 2.0), float(MOST)) + 0.5)
        if long is None:
            long = float(inches if edition == "inch" else millimetres)
        found.append(Practice(usual, long, pull))
    return found


# -- where -------------------------------------------------------------------------------------------------------------


def places(printed: str, widest: int) -> list[int]:
    """Places of the tacks in their order, half hours from 12, from "4: 0, 180, 90, 270": degrees from the first."""
    many, _, degrees = printed.partition(": ")
    steps = [math.floor(int(each) * int(many) / 360 + 0.5) for each in degrees.split(", ")]
    return [(widest + math.floor(24 * step / int(many) + 0.5)) % 24 for step in steps]


def place_after(many: int, hours: Sequence[int], made: int) -> int | None:
    """Where the gap is read after so many tacks, half hours from 12."""
    if made > many:
        return None
    if made < many:
        return hours[made]
    return (hours[0] + (12 if many == 3 else math.floor(12 / many + 0.5))) % 24


def spoken(half_hours: int) -> str:
    """A place as the clock says it: 3 half hours from 12 are 1:30."""
    return clock_text(half_hours / 2 + (12 if half_hours < 2 else 0))


# -- what a tack draws in ----------------------------------------------------------------------------------------------


class Ring:
    """The root of a stiff part in space: a flat ring over the other part, and a shape that no movement takes out.

    Args:
        gaps: at 12, 3, 6 and 9.
    """

    def __init__(self, gaps: Mapping[str, float]) -> None:
        g = list(gaps.values())
        self.uneven = (g[0] - g[1] + g[2] - g[3]) / 4
        at = [math.radians(each) for each in joinery.CLOCK.values()]
        points = [self.point(turn, gap - self.uneven * math.cos(2 * turn)) for turn, gap in zip(at, g, strict=True)]
        self.set_plane(points[:3])
        # four readings less what goes twice round lie in one plane
        assert abs(self.flat(at[3]) - points[3][2]) < 1e-9 * max(1.0, abs(points[3][2]))
        self.held: list[float] = []

    @staticmethod
    def point(turn: float, high: float) -> Array:
        """A place on the ring (of radius 1) so far above the other part."""
        return np.array([math.cos(turn), math.sin(turn), high])

    def set_plane(self, points: list[Array]) -> None:
        """The ring through three points."""
        rows = np.array([[1.0, *point[:2]] for point in points])
        self.plane = np.linalg.solve(rows, np.array([point[2] for point in points]))

    def flat(self, turn: float) -> float:
        """Height of the plane at a place."""
        return float(self.plane @ [1.0, math.cos(turn), math.sin(turn)])

    def gap(self, turn: float) -> float:
        """Gap at a place."""
        return self.flat(turn) + self.uneven * math.cos(2 * turn)

    def line_along(self, turn: float) -> list[Array]:
        """Two points of the hinge that touches the ring at a place."""
        along = np.array([-math.sin(turn), math.cos(turn), 0.0])
        found = []
        for way in (-1.0, 1.0):
            place = np.array([math.cos(turn), math.sin(turn), 0.0]) + way * along
            place[2] = float(self.plane @ [1.0, *place[:2]])
            found.append(place)
        return found

    def tack(self, turn: float, pull: float) -> None:
        """A tack cools: its place comes nearer by the pull, turning the part on what holds it."""
        drawn = self.point(turn, self.flat(turn) - pull)
        if not self.held:
            self.set_plane([drawn, *self.line_along(turn + math.pi)])
        elif len(self.held) == 1:
            self.set_plane([drawn, *self.line_along(self.held[0])])
        elif len(self.held) == 2:
            self.set_plane([drawn, *(self.point(each, self.flat(each)) for each in self.held)])
        self.held.append(turn)


def turned(half_hours: int) -> float:
    """Radians clockwise from 12."""
    return math.radians(15 * half_hours)


class Drawn:
    """A ring tacked in its order: the gap due after each tack where it is read, and at each of the first three.

    Args:
        gaps: as Fit-up found them, at 12, 3, 6 and 9.
        hours: places of the tacks in order, half hours from 12.
        pull: of one tack.
    """

    def __init__(self, gaps: Mapping[str, float], hours: Sequence[int], pull: float) -> None:
        ring, self.before = Ring(gaps), Ring(gaps)
        self.due: list[float] = []
        self.at_tacks: list[float] = []
        self.in_by: list[float] = []
        self.told: list[float] = []
        for made, hour in enumerate(hours, start=1):
            ring.tack(turned(hour), pull)
            self.at_tacks.append(ring.gap(turned(hour)))
            self.in_by.append(self.before.gap(turned(hour)) - ring.gap(turned(hour)))
            after = place_after(len(hours), hours, made)
            assert after is not None
            self.due.append(ring.gap(turned(after)))
            self.told.append(self.before.gap(turned(after)) - ring.gap(turned(after)))


def level(height: float = 0.0) -> dict[str, float]:
    """The same gap all round."""
    return dict.fromkeys(joinery.CLOCK, height)


# -- the sheet ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Butt:
    """A butt or field weld as Route and Fit-up have it.

    Attributes:
        joint_row, leg_row: rows of the sheets, counted from 1.
        nominal: the size as a number, None where no table has it.
        parts: of the gap: mean, towards 12, towards 3, and twice round; None while it is not read.
        widest_at: clock where the flat face is widest, None where the gap is even or not read.
        round_it: gaps read, by the half hours from 12.
        most_read: the largest gap read on Fit-up, 0 for none.
        verdict: of Fit-up.
        read: gaps read after each tack.
    """

    joint_row: int
    leg_row: int
    spool: str
    joint: str
    size: str | None
    nominal: float | None
    wall: float | None
    parts: tuple[float, float, float, float] | None
    widest_at: float | None
    round_it: Mapping[int, float]
    most_read: float
    verdict: str
    read: tuple[float | None, ...]

    @property
    def gaps(self) -> dict[str, float] | None:
        """At 12, 3, 6 and 9."""
        if self.parts is None:
            return None
        mean, up, side, twice = self.parts
        return {"12": mean + up + twice, "3": mean + side - twice, "6": mean - up + twice, "9": mean - side - twice}

    @property
    def tilt_place(self) -> int | None:
        """Where the flat face is widest, half hours from 12."""
        return None if self.widest_at is None else round(2 * self.widest_at) % 24

    @property
    def widest_read(self) -> float | None:
        """The largest gap of a joint that is read all round."""
        return None if self.parts is None else max(self.round_it.values())

    def widest(self, edition: str) -> int | None:
        """Where the first tack goes, half hours from 12: as the flat face says, or where more was read than it says."""
        if self.gaps is None or self.parts is None or self.widest_read is None:
            return None
        face = self.tilt_place
        by_face = self.parts[0] if face is None else Ring(self.gaps).gap(turned(face))
        if said_nothing(max(0.0, self.widest_read - by_face), edition):
            return face
        return min(hour for hour, gap in self.round_it.items() if gap == self.widest_read)


@dataclass(frozen=True)
class Rules:
    """Limits in force: smallest and largest gap, and how far tacks may draw in; None where a rule is blank."""

    edition: str
    least: float | None
    most: float | None
    drawn: float | None

    def said(self, amount: float) -> str:
        """An amount as a gauge shows it."""
        return fine(amount, self.edition)

    def left(self, amount: float) -> str:
        """An amount that may be nothing, or less."""
        return "nothing" if amount < 0 or said_nothing(amount, self.edition) else self.said(amount)


Line = dict[str, Value]


@dataclass
class Row:
    """A row of Tacks in the making.

    Attributes:
        butt: the joint.
        rules: the limits.
        shop: what the shop does at its size, None where the size is not known.
        hours: places of the tacks, half hours from 12.
    """

    butt: Butt
    rules: Rules
    shop: Practice | None
    hours: list[int]
    drawn: Drawn | None = None
    line: Line = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Work out every cell."""
        gaps = self.butt.gaps
        if gaps is not None and self.pull is not None and self.hours:
            self.drawn = Drawn(gaps, self.hours, self.pull)
        self._head()
        self._places()
        self._readings()
        self._prediction()
        self._verdict()
        self._words()

    @property
    def many(self) -> int:
        """Tacks; 0 where the size is not known."""
        return self.shop.many if self.shop else 0

    @property
    def pull(self) -> float | None:
        """Of one tack."""
        return bounded(self.shop.pull) if self.shop and self.shop.pull is not None else None

    @property
    def after(self) -> list[int]:
        """Where the gap is read after each tack, half hours from 12."""
        found = [place_after(self.many, self.hours, made) for made in range(1, self.many + 1)]
        return [place for place in found if place is not None]

    @property
    def latest(self) -> int | None:
        """The last tack after which the gap was read."""
        asked = [tack for tack in range(1, self.many + 1) if self.butt.read[tack - 1] is not None]
        return max(asked, default=None)

    def _head(self) -> None:
        butt = self.butt
        walls = None if butt.wall is None else 4 * butt.wall
        row = None if butt.nominal is None else practice_row(butt.nominal) + 1.0
        parts = butt.parts or (None, None, None, None)
        names = ("gap_mean", "gap_up", "gap_side", "gap_uneven")
        self.line |= {
            "spool": butt.spool,
            "joint": butt.joint,
            "size": butt.size,
            "many": float(self.many) if self.shop else None,
            "long": self.shop.long if self.shop else None,
            "asked": float(self.many) if self.shop else None,
            "leg_row": float(butt.leg_row),
            "nominal": butt.nominal,
            "practice_row": row,
            "pull": self.pull,
            "four_walls": walls,
            "wall_known": None if walls is None else 1.0,
            "fit_verdict": butt.verdict or None,
            **dict(zip(names, parts, strict=True)),
        }

    def _places(self) -> None:
        butt, said = self.butt, [spoken(hour) for hour in self.hours]
        self.line["widest"] = float(butt.widest(self.rules.edition) or 0)
        self.line["widest_read"] = butt.widest_read
        self.line["tilt_place"] = None if butt.tilt_place is None else float(butt.tilt_place)
        self.line["order"] = ", ".join(said) or None
        self.line["between"] = float(self.after[-1]) if self.hours else None
        for tack in range(1, MOST + 1):
            there = tack <= self.many
            self.line[f"hour_{tack}"] = float(self.hours[tack - 1]) if there else None
            self.line[f"next_{tack}"] = float(self.after[tack - 1]) if there else None
        for tack in (3, 4):
            self.line[f"said_{tack}"] = f", {said[tack - 1]}" if tack <= self.many else None
        widest = "" if butt.widest(self.rules.edition) is None else ", the widest"
        then = ", ".join(said[1:4]) + (" …" if self.many > 4 else ".")
        self.line["start_said"] = f"First tack at {said[0]}{widest}; then {then}" if said else None

    def _readings(self) -> None:
        butt, rules, latest = self.butt, self.rules, self.latest
        there = [value for value in butt.read if value is not None]
        asked = butt.read[: self.many] if self.shop else butt.read
        lacking = [tack for tack, value in enumerate(butt.read, start=1) if value is None]
        limits = rules.least is not None and rules.most is not None
        out = (
            rules.least is not None
            and rules.most is not None
            and any(value < rules.least - HAIR or value > rules.most + HAIR for value in there)
        )
        fit = Ring(butt.gaps) if butt.gaps is not None else None
        drawn: list[float] = []
        for tack in range(1, MOST + 1):
            self.line[f"drawn_{tack}"] = None
            value = butt.read[tack - 1]
            if fit is not None and tack <= self.many and value is not None:
                drawn.append(fit.gap(turned(self.after[tack - 1])) - bounded(value))
                self.line[f"drawn_{tack}"] = drawn[-1]
        most = max(drawn, default=None)
        self.line |= {
            "reads": float(sum(value is not None for value in asked)),
            "latest": None if latest is None else float(latest),
            "not_read": float(min([*lacking, MOST])),
            "place_next": None if latest is None else float(self.after[latest - 1]),
            "gap_next": None if latest is None else butt.read[latest - 1],
            "read_bad": float(out),
            "limits_known": float(limits),
            "drawn": most,
            "drawn_bad": float(most is not None and rules.drawn is not None and most > rules.drawn + HAIR),
        }

    def _prediction(self) -> None:
        """Gaps that are due, what the tacks draw in, and the pull that a reading shows."""
        drawn, pull = self.drawn, self.pull
        for tack in range(1, MOST + 1):
            self.line[f"due_{tack}"] = drawn.due[tack - 1] if drawn and tack <= self.many else None
        first = drawn.at_tacks[:3] if drawn else []
        for tack in (1, 2, 3):
            self.line[f"own_{tack}"] = first[tack - 1] if tack <= len(first) else None
        self.line["lowest"] = min(first, default=None)
        self.line["lowest_at"] = None
        if first:
            alike = (at for at, gap in enumerate(first, 1) if said_nothing(gap - min(first), self.rules.edition))
            self.line["lowest_at"] = float(next(alike))
        self.line["pull_due"] = None
        if pull is not None and self.hours:
            self.line["pull_due"] = max(Drawn(level(), self.hours, pull).in_by[:3])
        seen = None
        drawn_in = number(self.line["drawn_2"])
        if drawn_in is not None:
            seen = drawn_in / Drawn(level(), self.hours, 1.0).told[1]
        self.line["pull_seen"] = seen
        typed = "" if pull is None else f", typed {self.rules.said(pull)}"
        told = None if seen is None else f" Read here: one tack draws in {self.rules.left(seen)}{typed}."
        self.line["pull_told"] = told
        self.line["waits"] = None
        latest = self.latest
        if latest is not None:
            gap = self.butt.read[latest - 1]
            least = self.rules.least
            waits = False
            if least is not None and pull is not None and gap is not None and latest < 3:
                waits = gap - pull < least - HAIR
            self.line["waits"] = float(waits)

    def _verdict(self) -> None:
        line = self.line
        if line["read_bad"] or line["drawn_bad"]:
            line["verdict"] = OUTSIDE
        elif not self.shop:
            line["verdict"] = SIZE_NOT_KNOWN
        elif None in self.butt.read[: self.many]:
            line["verdict"] = OPEN
        else:
            line["verdict"] = WITHIN if line["limits_known"] else NO_RULE

    def _words(self) -> None:
        line, rules = self.line, self.rules
        line["least_said"] = None if rules.least is None else rules.said(rules.least)
        line["most_said"] = None if rules.most is None else rules.said(rules.most)
        line["fit_unread"] = {WITHIN: None, NO_RULE: f"{RULES_FIRST} "}.get(self.butt.verdict, READ_FIT_UP)
        line["wider_said"] = self._wider()
        line["before_action"] = self._before()
        line["wait_action"] = self._wait()
        line["bad_action"] = self._bad()
        line["drawn_action"] = None
        most = number(line["drawn"])
        if most is not None and rules.drawn is not None:
            line["drawn_action"] = (
                f"The tacks have drawn the gap in by {rules.said(most)}, the procedure allows "
                f"{rules.said(rules.drawn)}: cut the last tack, set the gap again."
            )
        line["action"] = self._action()

    def _wider(self) -> str | None:
        """Setting the joint wider, where the widest place still has room for it."""
        lowest, rules = number(self.line["lowest"]), self.rules
        if lowest is None or rules.least is None or rules.most is None:
            return None
        by = rules.least - lowest
        if self.butt.most_read + by > rules.most + HAIR:
            return f"no room to set it wider (largest gap {rules.said(rules.most)}): true the gap on Fit-up first, or "
        hair = said_nothing(by, rules.edition)
        return f"set the joint wider by {'a hair' if hair else rules.said(by)} first, or "

    def _before(self) -> str | None:
        """Before the first tack."""
        if not self.hours:
            return None
        if self.butt.verdict.startswith("✗"):
            return "Fit-up is outside: bring the joint in before the first tack."
        line, rules = self.line, self.rules
        unread, start = line["fit_unread"] or "", line["start_said"]
        lowest, due = number(line["lowest"]), number(line["pull_due"])
        if lowest is None or rules.least is None:
            ask = " Type the pull of a tack on Tack practice to see the gap coming." if self.pull is None else ""
            return f"{unread}{start}{ask}"
        if lowest < rules.least - HAIR:
            at = int(number(line["lowest_at"]) or 0)
            return (
                f"{unread}Wait: tack {at} would draw the gap at {spoken(self.hours[at - 1])} to {rules.left(lowest)}, "
                f"under {rules.said(rules.least)}: {line['wider_said'] or ''}hold it with spacers."
            )
        if rules.drawn is not None and due is not None and due > rules.drawn + HAIR:
            return (
                f"{unread}Wait: the tacks would draw the gap in by {rules.said(due)}, the procedure allows "
                f"{rules.said(rules.drawn)}: hold it with spacers."
            )
        return f"{unread}{start}"

    def _wait(self) -> str | None:
        """The next tack would draw its place under the smallest gap."""
        latest, rules = self.latest, self.rules
        gap = None if latest is None else self.butt.read[latest - 1]
        if latest is None or gap is None or self.pull is None or rules.least is None:
            return None
        return (
            f"Wait with tack {latest + 1}: at {spoken(self.after[latest - 1])} the gap is {rules.said(gap)}, "
            f"the tack would draw it under {rules.said(rules.least)}. Let the others cool, open it there by "
            f"{rules.said(rules.least + self.pull - gap)} and hold it with a spacer."
        )

    def _bad(self) -> str | None:
        """A gap that was read is outside."""
        latest, rules = self.latest, self.rules
        if rules.least is None or rules.most is None:
            return None
        low, high = rules.said(rules.least), rules.said(rules.most)
        gap = None if latest is None else self.butt.read[latest - 1]
        if latest is None or gap is None:
            return f"A gap is outside {low} to {high}."
        if rules.least - HAIR <= gap <= rules.most + HAIR:
            return f"A gap read after an earlier tack is outside {low} to {high}: read it again or cut the tack."
        last = latest == self.many
        words = f"{'Before the root' if last else f'Wait with tack {latest + 1}'}: at "
        words += f"{spoken(self.after[latest - 1])} the gap is {rules.said(gap)}, "
        if gap > rules.most:
            words += f"over {high}: close it by {rules.said(gap - rules.most)}"
        else:
            words += f"under {low}: open it by {rules.said(rules.least - gap)}"
        return words + (", or cut the nearest tack." if last else " first.")

    def _action(self) -> Value:
        line, latest = self.line, self.latest
        if line["read_bad"]:
            return line["bad_action"]
        if line["drawn_bad"]:
            return line["drawn_action"]
        if not self.shop:
            return "Type size and schedule on Route."
        if latest is None:
            return line["before_action"]
        done = line["verdict"] == WITHIN
        if self.butt.verdict.startswith("✗"):
            return f"Fit-up is outside: bring the joint in before the {'root' if done else 'next tack'}."
        if line["verdict"] == NO_RULE:
            return RULES_FIRST
        unread, told = line["fit_unread"] or "", line["pull_told"] or ""
        if done:
            return f"{unread}{READY}{told}"
        if latest == self.many:
            return f"{unread}Read the gap after tack {int(number(line['not_read']) or 0)} too."
        if line["waits"]:
            return f"{unread}{line['wait_action']}"
        return f"{unread}Tack {latest + 1} at {spoken(self.after[latest - 1])} next.{told}"


def butts_of(book: Live, state: State) -> list[Butt]:
    """The butt and field welds that Fit-up lists, in its order."""
    facts = Facts(book.edition)
    sizes, walls = book.column("legs.size"), book.column("legs.wall")
    names = ("spool", "joint", "kind", "leg_row", "gap_mean", "gap_up", "gap_side", "gap_uneven", "gap_widest_at",
             "gap_most", "verdict", *(f"gap_{name}" for name in CLOCK))  # fmt: skip
    found: list[Butt] = []
    for at, joint in enumerate(book.rows("joints", names)):
        if joint["kind"] not in ("butt", "field"):
            continue
        leg, row = int(joint["leg_row"]) - 1, len(found)
        size = None if sizes[leg] is None else str(sizes[leg])
        known = facts.row("nominal_size", size=size) if size else {}
        parts = None
        if joint["gap_mean"] is not None:
            parts = (joint["gap_mean"], joint["gap_up"], joint["gap_side"], joint["gap_uneven"])
        found.append(
            Butt(
                joint_row=at + 1,
                leg_row=leg + 1,
                spool=joint["spool"],
                joint=joint["joint"],
                size=size,
                nominal=float(known["nominal"]) if known else None,
                wall=walls[leg],
                parts=parts,
                widest_at=joint["gap_widest_at"],
                round_it={
                    degrees // 15: bounded(gap)
                    for name, degrees in CLOCK.items()
                    if isinstance(gap := joint[f"gap_{name}"], float)
                },
                most_read=joint["gap_most"],
                verdict=joint["verdict"] or "",
                read=tuple(number(state.get((f"tacks.read_{tack}", row))) for tack in range(1, MOST + 1)),
            )
        )
    return found


ALWAYS = ("butts", "joint_row", "least", "most")
"""Columns that are worked out in rows without a joint too."""


def expected_tacks(book: Live, state: State) -> dict[Place, Value]:
    """What Tacks and Tack practice show, by name and row, with these cells typed into a workbook.

    Args:
        book: the workbook with them typed.
        state: every cell of the two sheets that is typed.
    """
    edition, butts = book.edition, butts_of(book, state)
    limits = [number(book.value(f"rules.{name}")) for name in ("root_gap_min", "root_gap_max", "tack_pull_max")]
    rules = Rules(edition, *limits)
    shop = practice(edition, state)
    printed = book.column("tack_orders.said")
    found: dict[Place, Value] = {}
    for row, each in enumerate(shop):
        found["tack_practice.used_number", row] = float(each.many)
        found["tack_practice.used_length", row] = each.long
    lines: list[Line] = []
    for butt in butts:
        there = None if butt.nominal is None else shop[practice_row(butt.nominal)]
        hours = places(printed[there.many - 2], butt.widest(edition) or 0) if there else []
        lines.append(Row(butt, rules, there, hours).line)
    kinds = book.column("joints.kind")
    blank: Line = dict.fromkeys(lines[0]) if lines else {}
    for row in range(len(kinds)):
        line = lines[row] if row < len(lines) else blank
        read = [number(state.get((f"tacks.read_{tack}", row))) for tack in range(1, MOST + 1)]
        there_read = [value for value in read if value is not None]
        line = line | {
            "butts": float(sum(kind in ("butt", "field") for kind in kinds[: row + 1])),
            "joint_row": float(butts[row].joint_row) if row < len(butts) else None,
            "least": min(there_read, default=0.0),
            "most": max(there_read, default=0.0),
        }
        found |= {(f"tacks.{name}", row): value for name, value in line.items()}
    found["tacks.butts_total", 0] = float(len(butts))
    found["tacks.told", 0] = counts_told([line["verdict"] for line in lines])
    return found


# -- what is typed -----------------------------------------------------------------------------------------------------

ROWS = 25
"""Butt and field welds of the job."""

LEGS = 13
"""Legs of the job."""

OTHER_SIZES = ("1/8", "1-1/4", "2-1/2", "7", "14", "26", "32", "42", "6", None, "3", "x", "20")
"""Just over the sizes up to which a number of tacks is usual, and such as no table has."""

OFF = (0.0, 5e-10, 3e-9, -3e-9)
"""How far over a limit: on it, within its hair, beyond that, and just inside."""

Typed = dict[Place, Value]


class Fitter:
    """Makes up what is typed at the joints of the job.

    Args:
        book: the job's workbook as it is built.
        seed: the same one types the same.
    """

    def __init__(self, book: Live, seed: int = 0) -> None:
        self.chance = random.Random(seed)
        self.edition, self.one = book.edition, one_inch(book.edition)
        self.low, self.high = LEAST_GAP[book.edition], MOST_GAP[book.edition]
        self.gap = USUAL_GAP[book.edition]
        kinds = book.column("joints.kind")
        self.at = [at for at, kind in enumerate(kinds) if kind in ("butt", "field")]
        self.printed = book.column("tack_orders.said")
        self.numbers = [each.many for each in practice(book.edition, {})]
        sizes = [size for size in book.column("tacks.nominal") if size is not None]
        self.ranges = [practice_row(size) for size in sizes]

    # chance

    def fit(self, row: int, gaps: Mapping[str, float | None]) -> Typed:
        """Gaps of a joint, by its row on Tacks."""
        return {(f"joints.gap_{name}", self.at[row]): gaps.get(name) for name in CLOCK}

    def step(self, row: int, step: float | None = 0.0) -> Typed:
        """The step between the bores of a joint, the same all round."""
        return {(f"joints.hi_lo_{name}", self.at[row]): step for name in joinery.CLOCK}

    def leaning(self, mean: float, by: float) -> dict[str, float | None]:
        """Gaps wide on one side, somewhat uneven."""
        turn = self.chance.uniform(0, 2 * math.pi)
        uneven = self.chance.uniform(-by, by) / 2
        return {
            name: mean + by * math.cos(math.radians(at) - turn) + uneven * math.cos(2 * math.radians(at))
            for name, at in joinery.CLOCK.items()
        }

    def gaps(self) -> dict[str, float | None]:
        """Gaps as joints have them: mostly sound, some out, some not read."""
        chance, room = self.chance, self.high - self.low
        mean = chance.choice([self.gap, chance.uniform(self.low, self.high), self.high - 0.01 * self.one])
        lean = chance.choice([0.0, 0.05 * room, 0.2 * room, 0.45 * room])
        gaps = self.leaning(mean, lean)
        if chance.random() < 0.12:
            gaps[chance.choice(list(gaps))] = None
        if chance.random() < 0.3:
            # an oval between the quarters, all of it read or a part
            lobe = chance.uniform(-1, 1) * max(lean, 0.2 * room)
            between = {name: mean + lobe * math.sin(2 * math.radians(at)) for name, at in CLOCK.items() if at % 90}
            gaps |= dict(list(between.items())[: chance.choice([1, 4, 4])])
        return gaps

    def read(self, row: int, done: int) -> Typed:
        """Gaps read after so many tacks: sound ones, here and there one that is out, forgotten, or a word."""
        chance, found = self.chance, Typed()
        wild = chance.random() < 0.3
        for tack in range(1, done + 1):
            value: Value = chance.uniform(self.low, self.high)
            if wild and chance.random() < 0.25:
                value = chance.choice([None, "text", 0.6 * self.low, 1.3 * self.high, 0.0])
            found[f"tacks.read_{tack}", row] = value
        return found

    def pulls(self) -> Typed:
        """Pull of a tack by size; a blank here and there."""
        chance = self.chance
        found: Typed = {}
        for row in range(len(USUAL)):
            pull = chance.choice((0.002, 0.005, 0.01, 0.02, 0.04)) * self.one
            found["tack_practice.pull", row] = pull if chance.random() < 0.85 else chance.choice([None, "little"])
        return found

    def fits(self) -> Typed:
        """All joints as fitted, none tacked."""
        found = self.pulls()
        for row in range(ROWS):
            found |= self.fit(row, self.gaps()) | self.step(row)
        return found

    def tacked(self, shift: int) -> Typed:
        """Readings after some tacks, numbers and lengths of the shop; `shift` moves the numbers along the sizes."""
        chance, found = self.chance, self.pulls()
        found["rules.tack_pull_max", 0] = chance.choice([None, 0.005 * self.one, 0.02 * self.one, 0.05 * self.one])
        for row in range(len(USUAL)):
            found["tack_practice.own_number", row] = float(2 + (3 * row + shift) % 11)
            found["tack_practice.own_length", row] = chance.choice([None, 0.6 * self.one])
        for row in range(ROWS):
            found |= self.read(row, chance.choice([0, 0, 1, 2, 3, 4, *range(MOST + 1), MOST, MOST]))
            if chance.random() < 0.2:
                found |= self.step(row, chance.choice([None, 0.2 * self.one]))
        return found

    # one thing at a time

    def even(self, pull: float | None, gap: float | None = None) -> Typed:
        """All joints even and sound, the same pull for all sizes."""
        found: Typed = {("tack_practice.pull", row): pull for row in range(len(USUAL))}
        for row in range(ROWS):
            found |= self.fit(row, level(self.gap if gap is None else gap))
        return found

    def oval(self) -> Typed:
        """Joints that are no wider on one side than on the other, but tight or wide at 12 and 6."""
        found: Typed = {("tack_practice.pull", row): 0.001 * self.one for row in range(len(USUAL))}
        for row in range(ROWS):
            by = (0.01 if row % 2 else -0.01) * self.one
            found |= self.fit(row, {hour: self.gap + (by if hour in ("12", "6") else -by) for hour in joinery.CLOCK})
        return found

    def spiked(self) -> Typed:
        """Eight gaps, one of them far larger than the flat face is there: the first tack goes there."""
        found: Typed = {}
        for row in range(ROWS):
            most = [*CLOCK][row % 8]
            found |= self.fit(row, {hour: self.gap + (0.05 * self.one if hour == most else 0) for hour in CLOCK})
        return found

    def many(self, many: float | None = float(MOST)) -> Typed:
        """The same number of tacks everywhere."""
        return {("tack_practice.own_number", row): many for row in range(len(USUAL))}

    def alone(self) -> Typed:
        """One reading alone, a different one in each of twelve joints; in twelve more it alone is missing."""
        found: Typed = {}
        for row in range(2 * MOST):
            for tack in range(1, MOST + 1):
                there = (tack == row % MOST + 1) == (row < MOST)
                found[f"tacks.read_{tack}", row] = self.gap - 0.001 * self.one * tack if there else None
        return found

    def outstanding(self) -> Typed:
        """All readings, one of them smaller than the others in each of twelve joints; in twelve more it is larger."""
        found: Typed = {}
        for row in range(2 * MOST):
            for tack in range(1, MOST + 1):
                by = 0.02 * self.one * (1 if row < MOST else -1) if tack == row % MOST + 1 else 0.0
                found[f"tacks.read_{tack}", row] = self.gap - by
        return found

    def all_read(self) -> Typed:
        """Every gap read, and sound."""
        return {(f"tacks.read_{tack}", row): self.gap for row in range(ROWS) for tack in range(1, MOST + 1)}

    def on_limits(self) -> Typed:
        """A gap on the smallest and on the largest, just beyond and within; drawn in by as much as is allowed."""
        pull, most = 0.01 * self.one, 0.02 * self.one
        found = self.even(pull) | {("rules.tack_pull_max", 0): most}
        for row in range(ROWS):
            off = OFF[row % len(OFF)]
            tack = 1 + row // 12
            value = (self.low - off, self.high + off, self.low + pull - off, self.gap - most - off)[row // len(OFF) % 4]
            found[f"tacks.read_{tack}", row] = value
        return found

    def low_once_made(self) -> Typed:
        """Joints fitted so that the smallest gap once the tacks are made is on its limit, just beyond and within."""
        found = self.even(0.005 * self.one) | {("rules.tack_pull_max", 0): None}
        for row in range(ROWS):
            draws = self.draws(row) * 0.005 * self.one
            found |= self.fit(row, level(self.low + draws - OFF[row % len(OFF)]))
        return found

    def draws(self, row: int) -> float:
        """How many pulls the gap is drawn in at most at one of the first three tacks of a joint."""
        hours = places(self.printed[self.numbers[self.ranges[row]] - 2], 0)
        return max(Drawn(level(), hours, 1.0).in_by[:3])

    def as_allowed(self) -> Typed:
        """Pulls by size with which the tacks draw in just as much as is allowed, a little more and less."""
        most = 0.01 * self.one
        found = self.even(None, self.high - 0.001 * self.one) | {("rules.tack_pull_max", 0): most}
        for row in range(ROWS):
            size = self.ranges[row]
            found["tack_practice.pull", size] = (most + OFF[size % len(OFF)]) / self.draws(row)
        return found

    def room_for_wider(self) -> Typed:
        """Joints that would be drawn under the smallest gap: set wider, the widest place is just at the largest."""
        pull = 0.02 * self.one
        found = self.even(pull)
        for row in range(ROWS):
            lowest = self.gap - self.draws(row) * pull
            found["joints.gap_worst", self.at[row]] = self.high - (self.low - lowest) + OFF[row % len(OFF)]
        return found

    def next_to_nothing(self) -> Typed:
        """A pull as read, and a smallest gap, that are nothing, less, next to it, and more."""
        amounts = [each * self.one for each in (0.0, 0.003, -0.003, 0.01, -0.02, 0.007, 0.009)]
        found = self.even(None)
        for row in range(ROWS):
            found["tack_practice.pull", self.ranges[row]] = (
                self.gap - amounts[self.ranges[row] % len(amounts)]
            ) / self.draws(row)
            if row % 2:
                found["tacks.read_2", row] = self.gap - amounts[row // 2 % len(amounts)]
        return found

    def absurd(self) -> Typed:
        """Slips of the keys beyond what is reckoned with."""
        far = 3 * FARTHEST
        found = self.even(0.001 * self.one) | {("rules.tack_pull_max", 0): 0.01 * self.one}
        for row in range(ROWS):
            slip = (far, -far, None, self.gap, -self.gap)[row % 5]
            tack = 1 + row // 5 % 3
            found[f"tacks.read_{tack}", row] = slip
            if slip is None:
                found |= self.fit(row, level((far, -far, -self.gap)[row // 5 % 3]))
                found[f"tacks.read_{tack}", row] = self.gap
        return found

    def sizes(self) -> Typed:
        """Other sizes, some of them in no table."""
        return {("legs.size", leg): OTHER_SIZES[leg % len(OTHER_SIZES)] for leg in range(LEGS)}

    def numbers_typed(self, shift: int) -> Typed:
        """Numbers of tacks by a slip of the keys, and such as lie between two."""
        slips: Sequence[Value] = (
            0.0, 1.0, 2.4, 7.6, 40.0, -3.0, "five", 2.5, 1e300, 11.5, 12.4, 3.5, -1e300, 1.6, 9.4, 5.6,
        )  # fmt: skip
        return {("tack_practice.own_number", row): slips[row + shift] for row in range(len(USUAL))}


def case_of(book: Live, name: str, base: State, more: State) -> Case:
    """A case: cells typed over those of the first one, which stand, and what the sheets must show."""
    book.put_all(more)
    wanted = expected_tacks(book, {**base, **more})
    book.reset()
    return Case(name, more, wanted, own=False)


def typed_over(book: Live) -> Iterator[tuple[str, Typed]]:
    """What is typed over joints as fitted, case by case."""
    for shift in (0, 2, 5, 8, 9):
        yield f"tacked {shift}", Fitter(book, 10 + shift).tacked(shift)
    if book.edition == "mm":  # the formulas are those of the other edition: only amounts are said otherwise
        return
    fitter = Fitter(book)
    no_rule: Typed = {("rules.root_gap_min", 0): None}
    no_most: Typed = {("rules.root_gap_max", 0): None}
    unknown: Typed = {("legs.size", leg): "7" for leg in range(LEGS)}
    yield "one reading alone", fitter.even(None) | fitter.many() | fitter.alone()
    yield "one reading alone, no size", fitter.alone() | unknown
    yield "one reading stands out", fitter.even(0.001 * fitter.one) | fitter.many() | fitter.outstanding()
    yield "oval, three tacks", fitter.oval() | fitter.many(3.0)
    yield "one place wide", fitter.spiked()
    yield "on the limits", fitter.on_limits()
    yield "low once made", fitter.low_once_made()
    yield "as much as allowed", fitter.as_allowed()
    yield "just room for wider", fitter.room_for_wider()
    yield "next to nothing", fitter.next_to_nothing()
    yield "absurd", fitter.absurd()
    yield "other sizes", fitter.sizes() | Fitter(book, 3).tacked(1)
    yield "other sizes, not tacked", fitter.sizes()
    yield "numbers", fitter.numbers_typed(0)
    yield "more numbers", fitter.numbers_typed(8)
    for name, rules in (("least", no_rule), ("most", no_most), ("both", no_rule | no_most)):
        yield f"rule blank: {name}", rules
        yield f"rule blank: {name}, tacked", rules | Fitter(book, 4).tacked(4)
        yield f"rule blank: {name}, even and read", rules | fitter.even(0.01 * fitter.one) | fitter.all_read()


def made(book: Live) -> tuple[State, Sequence[Case]]:
    """What is typed into a workbook, and the cases."""
    states = list(typed_over(book))
    base = Fitter(book, 1).fits()
    book.put_all(base)
    book.typed.clear()
    first = Case("as fitted", base, expected_tacks(book, base))
    return base, [first, *(case_of(book, name, base, more) for name, more in states)]


def scenes() -> list[Scene]:
    """One in each edition."""
    return [
        Scene(f"tacks {edition}", edition, partial(_text, edition), made, SHEETS, BUILT) for edition in joinery.EDITIONS
    ]


def _text(edition: str) -> str:
    return job_text(joinery.spools(edition), edition)
