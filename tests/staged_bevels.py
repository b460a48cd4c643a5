"""A second opinion on Bevel and Groove: a groove is walked up point by point, ends as ground are judged by its limits.

Nothing of these two sheets is used here. What each pipe end is joined to is read from the cut list; the bevel of one
side is a line of points that rises from the root, lengths and areas are measured on that line, and the drawing is the
same line put on the paper.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import joinery
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
    counts_told,
    fine,
    number,
    steps,
)
from live import Live, one_inch
from numpy.typing import NDArray
from routes import job_text
from staging import Case, Scene
from walk import Facts

Points = NDArray[np.float64]

SHEETS = ("bevels", "groove")
BUILT = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "ends", "fitup",
    "bevels", "groove", "bores", "bore_sizes", "key", "tables_used",
)  # fmt: skip
"""Bores says measured sizes in words, and rests on Fit-up."""

NOT_WELDED, SQUARE, UNKNOWN = "– none", "– cut square", "… wall not known"
STEEPEST, WIDEST_DRAWN = 89.0, 75.0
OUTER = 10.0
KNEE = {"inch": 0.75, "mm": 19.0}
USUAL: Mapping[str, tuple[float, float]] = {
    "root_gap": (1 / 8, 3.0),
    "root_face": (1 / 16, 1.6),
    "bevel_angle": (37.5, 37.5),
    "bevel_angle_within": (2.5, 2.5),
    "root_face_within": (1 / 32, 0.8),
    "no_bevel_wall": (0.12, 3.0),
    "single_bevel_wall": (0.88, 22.0),
}
"""Rules of the procedure as they are without a job's own, inch and mm; angles in degrees from square."""


# -- a groove ----------------------------------------------------------------------------------------------------------


class Rules:
    """The rules in force; None where one is blank.

    Args:
        edition: "inch" or "mm".
        typed: what is typed over the usual ones.
    """

    def __init__(self, edition: str, typed: Typed) -> None:
        self.edition = edition
        at = 0 if edition == "inch" else 1
        usual = {name: number(typed.get((f"rules.{name}", 0), both[at])) for name, both in USUAL.items()}
        self.root_gap, self.root_face = usual["root_gap"], usual["root_face"]
        self.angle, self.angle_within = usual["bevel_angle"], usual["bevel_angle_within"]
        self.face_within = usual["root_face_within"]
        self.no_bevel, self.single = usual["no_bevel_wall"], usual["single_bevel_wall"]

    @property
    def known(self) -> bool:
        """Whether an end as ground can be judged."""
        return None not in (self.angle, self.root_face, self.angle_within, self.face_within)

    @property
    def reckoned(self) -> float | None:
        """The bevel on Rules, no steeper than can be reckoned with."""
        return None if self.angle is None else between(0.0, self.angle, STEEPEST)

    def sort(self, wall: float | None, land: float | None) -> int | None:
        """1 cut square, 2 single, 3 compound; on a limit it is the lighter one."""
        if wall is None or land is None or self.no_bevel is None or self.single is None:
            return None
        if wall <= max(self.no_bevel, land) + HAIR:
            return 1
        return 2 if wall <= self.single + HAIR else 3


def between(least: float, value: float, most: float) -> float:
    """A value, or the bound that it is beyond."""
    return min(max(value, least), most)


def profile(sort: int | None, wall: float, angle: float, land: float, edition: str) -> Points:
    """The bevel of one side as points (back from the root, up from the bore), walked up from the root.

    Args:
        sort: 1 cut square, 2 single, 3 compound.
        wall, land: lengths of the edition.
        angle: degrees from square.
        edition: "inch" or "mm".
    """
    rises = [(wall, 0.0)]
    if sort == 2:
        rises = [(land, 0.0), (wall - land, angle)]
    elif sort == 3:
        knee = max(land, min(wall, KNEE[edition]))
        rises = [(land, 0.0), (knee - land, angle), (wall - knee, OUTER)]
    points = [np.zeros(2)]
    for rise, lean in rises:
        points.append(points[-1] + rise * np.array([math.tan(math.radians(lean)), 1.0]))
    return np.array(points)


def shoelace(points: Points) -> float:
    """Area of a polygon that is walked against the clock."""
    x, y = points[:, 0], points[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def groove_area(side: Points, gap: float) -> float:
    """Area between two like sides at a gap, without cap and root reinforcement."""
    right = side + np.array([gap / 2, 0.0])
    return shoelace(np.vstack([right, right[::-1] * np.array([-1.0, 1.0])]))


def face_lengths(side: Points) -> list[float]:
    """Along the land and each face."""
    return [float(length) for length in np.hypot(*np.diff(side, axis=0).T)]


# -- words -------------------------------------------------------------------------------------------------------------


def degrees_said(angle: float) -> str:
    """An angle without its sign in tenths of a degree, once round at most."""
    tenths = steps(min(abs(angle), 360.0), 0.1)
    return f"{tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "") + "°"


def measured_said(length: float, edition: str) -> str:
    """A measured size without its sign: thousandths of an inch, hundredths of a mm."""
    places, unit = (3, '"') if edition == "inch" else (2, " mm")
    count = steps(min(abs(length), FARTHEST), 10.0**-places)
    whole, part = divmod(count, 10**places)
    return f"{whole}" + f".{part:0{places}d}".rstrip("0").rstrip(".") + unit


# -- pipe ends ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PipeEnd:
    """A pipe end as the cut list has it.

    Attributes:
        piece_row: of its piece, from 1.
        gaps: root gaps taken from the pipe there; None where that is not known.
        field: field welds there.
    """

    piece_row: int
    spool: str
    piece: str
    last: bool
    goes_to: str | None
    wall: float | None
    gaps: float | None
    field: float | None

    @property
    def label(self) -> str:
        """Piece and end."""
        return f"{self.piece}, {self.where}"

    @property
    def where(self) -> str:
        """Which of its two ends."""
        return "end" if self.last else "start"

    @property
    def welded(self) -> bool | None:
        """Whether a butt weld is made there."""
        if self.gaps is None or self.field is None:
            return None
        return self.gaps > 0 or self.field > 0


def ends_of(book: Live, typed: Typed) -> list[PipeEnd]:
    """The pipe ends of the cut list once this is typed."""
    book.put_all(typed)
    total = int(book.value("route.pieces_total"))
    spools, walls = book.column("pieces.spool"), book.column("pieces.wall")
    marks = book.column("cuts.mark")
    sides = [
        [book.column(f"{name}_{side}") for name in ("cuts.share", "pieces.field")]
        + [book.column(f"pieces.{side}_item")]
        for side in ("start", "end")
    ]
    book.reset()
    book.calculate()
    found: list[PipeEnd] = []
    for row in range(total):
        for last, (gaps, field_welds, goes_to) in enumerate(sides):
            found.append(
                PipeEnd(
                    row + 1, spools[row], marks[row], bool(last), goes_to[row], number(walls[row]),
                    number(gaps[row]), number(field_welds[row]),
                )
            )  # fmt: skip
    return found


def worse(read: float | None, elsewhere: float | None, wanted: float | None) -> float | None:
    """How far off the reading is that is further off, with its sign."""
    offs = [each - wanted for each in (read, elsewhere) if each is not None and wanted is not None]
    return max(offs, key=abs) if offs else None


@dataclass
class Ground:
    """A pipe end as ground, held against the rules."""

    end: PipeEnd
    rules: Rules
    angle: float | None
    angle_else: float | None
    land: float | None
    land_else: float | None
    sort: int | None = field(init=False)

    def __post_init__(self) -> None:
        self.sort = 0 if self.end.welded is False else None
        if self.end.welded:
            self.sort = self.rules.sort(self.end.wall, self.rules.root_face)

    @cached_property
    def bevelled(self) -> bool:
        """Whether it gets a bevel."""
        return self.sort is not None and self.sort > 1

    @cached_property
    def angle_off(self) -> float | None:
        """Degrees; flatter is more."""
        return worse(self.angle, self.angle_else, self.rules.angle)

    @cached_property
    def land_off(self) -> float | None:
        """Wider is more."""
        return worse(self.land, self.land_else, self.rules.root_face)

    @cached_property
    def angle_bad(self) -> bool:
        """Whether the bevel must be ground again."""
        off, room = self.angle_off, self.rules.angle_within
        return self.bevelled and off is not None and room is not None and abs(off) > room + HAIR

    @cached_property
    def land_bad(self) -> bool:
        """Whether the land must be ground again."""
        off, room = self.land_off, self.rules.face_within
        return self.bevelled and off is not None and room is not None and abs(off) > room + HAIR

    @cached_property
    def verdict(self) -> str:
        """What is said first."""
        if self.sort is None:
            return UNKNOWN
        if not self.bevelled:
            return SQUARE if self.sort else NOT_WELDED
        if self.angle_bad or self.land_bad:
            return OUTSIDE
        if self.angle is None or self.land is None:
            return OPEN
        return WITHIN if self.rules.known else NO_RULE

    @cached_property
    def action(self) -> str:
        """What to do."""
        rules, edition = self.rules, self.rules.edition
        verdict = self.verdict
        if verdict == UNKNOWN:
            return "Type size and schedule on Route, or the wall limits on Rules."
        if verdict == NOT_WELDED:
            return "No butt weld here: leave it plain and deburr."
        if verdict == SQUARE:
            return "Cut square, break the sharp edge: too thin for a bevel."
        if verdict == OUTSIDE:
            return self.angle_action + self.land_action
        if verdict == OPEN:
            missing = ["the angle"] * (self.angle is None) + ["the land"] * (self.land is None)
            return f"Read {' and '.join(missing)}."
        if verdict == NO_RULE:
            return "Rules first: the bevel, the land or how far they may be off is blank."
        assert rules.angle_within is not None and rules.face_within is not None
        told = f"Within {degrees_said(rules.angle_within)} and {fine(rules.face_within, edition)}"
        return told + (f"; read the outer {OUTER:g}° † too." if self.sort == 3 else ".")

    @cached_property
    def against_the_pipe(self) -> float | None:
        """How far off the bevel is, had the protractor been held to the pipe instead of across its end."""
        if self.angle_off is None or self.rules.angle is None:
            return None
        return abs(90 - (self.rules.angle + self.angle_off) - self.rules.angle)

    @cached_property
    def angle_action(self) -> str:
        """What to do about the angle, "" for nothing."""
        if not self.angle_bad:
            return ""
        wanted, off, mistaken, room = self.rules.angle, self.angle_off, self.against_the_pipe, self.rules.angle_within
        assert wanted is not None and off is not None and mistaken is not None and room is not None
        told = f"Bevel {'flatter' if off > 0 else 'steeper'} than {degrees_said(wanted)} by {degrees_said(off)}: "
        if mistaken > room + HAIR:
            return told + "regrind it. "
        across = degrees_said(90 - (wanted + off))
        return told + f"read against the pipe instead of across its end? Then type {across}. Else regrind it. "

    @cached_property
    def dressed_back(self) -> float | None:
        """What a nose must lose along the pipe until its land is as wide as wanted."""
        off, lean = self.land_off, self.rules.reckoned
        return None if off is None or lean is None else -off * math.tan(math.radians(lean))

    @cached_property
    def land_action(self) -> str:
        """What to do about the land, "" for nothing."""
        if not self.land_bad:
            return ""
        edition, off, back = self.rules.edition, self.land_off, self.dressed_back
        assert off is not None and self.rules.root_face is not None
        if off > 0:
            wanted = fine(self.rules.root_face, edition)
            return f"Land wide by {fine(off, edition)}: grind the bevel in to {wanted}. "
        told = f"Land thin by {fine(off, edition)}: dress the nose back"
        if back is None:
            return told + ", the piece gets shorter. "
        return told + f" by {fine(back, edition)}, the piece gets that much shorter. "


PREPARATIONS = ("none", "cut square", "single bevel", "compound bevel †")


def bevel_row(ground: Ground) -> dict[str, Value]:
    """What a row of Bevel shows, by column."""
    end, rules = ground.end, ground.rules
    unknown = "wall or rule not known" if end.welded else "not known"
    row: dict[str, Value] = {
        "spool": end.spool,
        "piece": end.piece,
        "end": end.where,
        "goes_to": end.goes_to,
        "wall": end.wall,
        "preparation": unknown if ground.sort is None else PREPARATIONS[ground.sort],
        "verdict": ground.verdict,
        "action": ground.action,
        "piece_row": float(end.piece_row),
        "last": float(end.last),
        "pipe_known": None if end.wall is None else 1.0,
        "share": end.gaps,
        "field": end.field,
        "welded": None if end.welded is None else float(end.welded),
        "sort": None if ground.sort is None else float(ground.sort),
        "bevelled": 1.0 if ground.bevelled else None,
        "angle_off": ground.angle_off,
        "land_off": ground.land_off,
        "angle_bad": float(ground.angle_bad),
        "land_bad": float(ground.land_bad),
        "rules_known": float(rules.known),
        "dress_back": ground.dressed_back,
        "from_the_pipe": ground.against_the_pipe,
        "angle_action": ground.angle_action or None,
        "land_action": ground.land_action or None,
        "label": end.label,
    }
    return row | _bevel_measured(ground)


def _bevel_measured(ground: Ground) -> dict[str, Value]:
    """What the bevel of a row measures on a line walked up from its root; blank where it has none."""
    row: dict[str, Value] = dict.fromkeys(("land", "inner_top", "included", "face", "along", "area"))
    wall, rules = ground.end.wall, ground.rules
    if not ground.bevelled or wall is None or rules.root_face is None:
        return row
    land = max(0.0, rules.root_face)
    upright = profile(ground.sort, wall, 0.0, land, rules.edition)
    row |= {"land": land, "inner_top": float(upright[2, 1])}
    if rules.angle is None or rules.reckoned is None:
        return row
    side = profile(ground.sort, wall, rules.reckoned, land, rules.edition)
    row |= {"included": 2 * rules.angle, "face": face_lengths(side)[1], "along": float(side[-1, 0])}
    return row | {"area": None if rules.root_gap is None else groove_area(side, rules.root_gap)}


READINGS = {"angle": "angle_read", "angle_else": "angle_else", "land": "land_read", "land_else": "land_else"}


def ground_ends(ends: Sequence[PipeEnd], typed: Typed, edition: str) -> list[Ground]:
    """Every pipe end with what was read of it."""
    rules = Rules(edition, typed)
    return [
        Ground(end, rules, **{name: number(typed.get((f"bevels.{column}", row))) for name, column in READINGS.items()})
        for row, end in enumerate(ends)
    ]


# -- the drawing -------------------------------------------------------------------------------------------------------

Word = tuple[str, tuple[float, float], tuple[float, float]]
"""A word of the drawing with the two ends of its line, on the paper."""


@dataclass
class Groove:
    """The groove that is drawn.

    Attributes:
        chosen: the pipe end whose groove it is, None where there is none.
        wall, angle, land, gap: its four sizes; None where one is not known.
    """

    edition: str
    rules: Rules
    chosen: Ground | None
    wall: float | None
    angle: float | None
    land: float | None
    gap: float | None

    @cached_property
    def sort(self) -> int | None:
        """1 cut square, 2 single, 3 compound."""
        return self.rules.sort(self.wall, self.land)

    @cached_property
    def side(self) -> Points | None:
        """The bevel of one side: root, land, change of angle, outside."""
        if self.sort is None or self.wall is None or self.angle is None or self.land is None:
            return None
        points = profile(self.sort, self.wall, self.angle, self.land, self.edition)
        return np.vstack([points, np.repeat(points[-1:], 4 - len(points), axis=0)])

    @cached_property
    def inner_top(self) -> float | None:
        """Height of the change of angle above the bore."""
        if self.sort is None or self.wall is None or self.land is None:
            return None
        return float(profile(self.sort, self.wall, 0.0, self.land, self.edition)[:3, 1][-1])

    @cached_property
    def nose(self) -> float | None:
        """The land, or the whole wall where it is cut square."""
        return self.wall if self.sort == 1 else self.land if self.sort else None

    @cached_property
    def stub(self) -> float:
        """Pipe that is drawn behind the bevel."""
        if self.side is None or self.wall is None:
            return 1 / 64 if self.edition == "inch" else 0.1
        return max(abs(self.wall), float(self.side[-1, 0]))

    @cached_property
    def drawable(self) -> bool:
        """Whether there is something to draw."""
        if self.side is None or self.gap is None or self.wall is None:
            return False
        return 0 < self.wall < FARTHEST and float(self.side[-1, 0]) < FARTHEST and self.gap < FARTHEST

    @cached_property
    def scale(self) -> float:
        """What the height of the whole drawing stands for: so much that it fits in width and in height."""
        if not self.drawable or self.side is None or self.gap is None or self.wall is None:
            return one_inch(self.edition)
        wide = self.gap + 2 * (float(self.side[-1, 0]) + self.stub)
        return max(wide / 1.5, self.wall / 0.55)

    @cached_property
    def outline(self) -> Points:
        """From the break along the bore to the root, up the bevel and back: back from the root, up from the bore."""
        if not self.drawable or self.side is None:
            return np.zeros((7, 2))
        behind = float(self.side[-1, 0]) + self.stub
        top = float(self.side[-1, 1])
        return np.vstack([[[behind, 0.0]], self.side, [[behind, top], [behind, 0.0]]])

    @cached_property
    def ground(self) -> tuple[float, float] | None:
        """Land and angle as ground, as far as they can be drawn."""
        if not self.drawable or self.chosen is None or self.sort == 1 or self.inner_top is None:
            return None
        land, angle = self.chosen.land, self.chosen.angle
        if land is None or angle is None:
            return None
        return between(0.0, land, self.inner_top), between(0.0, angle, WIDEST_DRAWN)

    @cached_property
    def ground_outline(self) -> Points:
        """The same as ground: up its land, and along its bevel to where the angle changes."""
        if self.ground is None or self.inner_top is None:
            return self.outline
        land, angle = self.ground
        face = (self.inner_top - land) * np.array([math.tan(math.radians(angle)), 1.0])
        edge = np.array([0.0, land]) + face
        return np.vstack([np.zeros((2, 2)), [[0.0, land]], np.repeat(edge[None, :], 4, axis=0)])

    def on_paper(self, points: Points) -> Points:
        """The left side on the paper: its middle is at 1, the bore at 0.22."""
        half = (self.gap or 0.0) / 2 if self.drawable else 0.0
        across = 1 - (half + points[:, 0]) / self.scale
        return np.column_stack([across, 0.22 + points[:, 1] / self.scale])

    def words(self) -> list[str]:
        """What is written beside each line."""
        if not self.drawable or self.side is None or self.gap is None or self.wall is None or self.nose is None:
            return [" "] * 7
        assert self.angle is not None and self.inner_top is not None
        edition = self.edition
        told = [f"gap {measured_said(self.gap, edition)}", f"land {measured_said(self.nose, edition)}",
                f"wall {measured_said(self.wall, edition)}", " ", " ", " ", " "]  # fmt: skip
        if self.sort != 1:
            face = measured_said(face_lengths(self.side)[1], edition)
            told[3:6] = [degrees_said(self.angle), f"face {face}", f"included {degrees_said(2 * self.angle)}"]
        if self.sort == 3:
            told[6] = f"{OUTER:g}° † from {measured_said(self.inner_top, edition)}"
        return told

    def lines(self) -> list[Word]:
        """The lines to the words."""
        at_break, root, land, change, outside, *_ = map(tuple, self.on_paper(self.outline))
        middle_of_land, beside = (root[1] + land[1]) / 2, at_break[0] - 0.03
        middle_of_face = ((root[0] + change[0]) / 2, (land[1] + change[1]) / 2)
        middle_of_outer = ((change[0] + outside[0]) / 2, (change[1] + outside[1]) / 2)
        over = outside[1] + 0.05
        ends = [
            ((2 - root[0], 0.16), (root[0], 0.16)),
            ((root[0], middle_of_land), (root[0] - 0.06, middle_of_land)),
            ((beside, 0.22), (beside, outside[1])),
            ((root[0], land[1]), (root[0], outside[1] - 0.03)),
            (middle_of_face, (middle_of_face[0] - 0.06, middle_of_face[1])),
            ((2 - outside[0], over), (outside[0], over)),
            (middle_of_outer, (middle_of_outer[0] - 0.06, middle_of_outer[1])),
        ]
        return [(word, first, last) for word, (first, last) in zip(self.words(), ends, strict=True)]


def chosen_groove(grounds: Sequence[Ground], typed: Typed, edition: str) -> tuple[str, int | None, Groove]:
    """What is drawn: its name, the row of its end on Bevel (from 1), and the groove."""
    rules = Rules(edition, typed)
    asked = typed.get(("groove.end", 0))
    wall, angle, land, gap = (
        number(typed.get((f"groove.typed_{name}", 0))) for name in ("wall", "angle", "land", "gap")
    )
    shown = str(asked or "")
    if not shown:
        shown = "any end of this wall" if wall is not None else (grounds[0].end.label if grounds else "")
    row = next((at for at, each in enumerate(grounds, start=1) if each.end.label == shown), None)
    chosen = None if row is None else grounds[row - 1]

    def bounded(own: float | None, rule: float | None) -> float | None:
        value = rule if own is None else own
        return None if value is None else between(0.0, value, FARTHEST)

    of_end = None if chosen is None else chosen.end.wall
    return (
        shown,
        row,
        Groove(
            edition,
            rules,
            chosen,
            of_end if wall is None else between(0.0, wall, FARTHEST),
            rules.reckoned if angle is None else between(0.0, angle, STEEPEST),
            bounded(land, rules.root_face),
            bounded(gap, rules.root_gap),
        ),
    )


def figure(wall: float, sort: int, edition: str) -> str:
    """Which figure of B16.25 an end with a gas tungsten arc root follows, from the table of end preparations."""
    if sort == 1:
        return "cut square"
    facts = Facts(edition)
    light, medium = (
        facts.value(facts.row("end_preparation", key=f"GTAW {name}"), "wall_up_to") for name in ("single", "medium")
    )
    assert light is not None and medium is not None
    if wall <= light + HAIR:
        return "as drawn, or slightly concave (Fig. 4)"
    return f"Fig. {5 if wall <= medium + HAIR else 6}: see the standard and the procedure"


def expected_groove(grounds: Sequence[Ground], typed: Typed, edition: str) -> dict[Place, Value]:
    """What Groove shows."""
    shown, row, groove = chosen_groove(grounds, typed, edition)
    sort, side, wall, gap, land = groove.sort, groove.side, groove.wall, groove.gap, groove.land
    prepared = ("cut square or slightly chamfered: no bevel", "single bevel", "compound bevel †")
    single: dict[str, Value] = {
        "shown": shown or None,
        "end_row": None if row is None else float(row),
        "preparation": None if sort is None else prepared[sort - 1],
        "verdict": None if groove.chosen is None else groove.chosen.verdict,
        "action": None if groove.chosen is None else groove.chosen.action,
        "wall": wall,
        "angle": groove.angle,
        "land": land,
        "gap": gap,
        "included": None if sort in (None, 1) or groove.angle is None else 2 * groove.angle,
        "area_gap": None if gap is None or wall is None else gap * wall,
        "with_tig_root": None if sort is None or wall is None else figure(wall, sort, edition),
        "rule_angle": groove.rules.reckoned,
        "sort": None if sort is None else float(sort),
        "nose": groove.nose,
        "inner_top": groove.inner_top,
        "stub": groove.stub,
        "drawable": float(groove.drawable),
        "scale": groove.scale,
        "read_land": None if groove.ground is None else groove.ground[0],
        "read_angle": None if groove.ground is None else groove.ground[1],
    }
    single["face_outer"] = None
    if sort == 3 and wall is not None and groove.inner_top is not None:
        outer = (wall - groove.inner_top) * np.array([math.tan(math.radians(OUTER)), 1.0])
        single["face_outer"] = float(np.hypot(*outer))
    single |= dict.fromkeys(("face", "along", "along_inner", "opening", "area_side", "area"))
    if side is not None:
        along = float(side[-1, 0])
        above = np.vstack([side, [[0.0, side[-1, 1]]]])  # the metal that the bevel takes off
        single |= {"face": float(np.hypot(*(side[2] - side[1]))), "along": along, "along_inner": float(side[2, 0])}
        single["area_side"] = shoelace(above)
        if gap is not None:
            single |= {"opening": gap + 2 * along, "area": groove_area(side, gap)}
    found: dict[Place, Value] = {(f"groove.{name}", 0): value for name, value in single.items()}
    return found | _drawn(groove)


def _drawn(groove: Groove) -> dict[Place, Value]:
    """Points, lines and words of the drawing."""
    found: dict[Place, Value] = {}
    half = (groove.gap or 0.0) / 2 if groove.drawable else 0.0
    lines = zip(groove.outline, groove.on_paper(groove.outline), groove.ground_outline,
                groove.on_paper(groove.ground_outline), strict=True)  # fmt: skip
    for row, (wanted, on_paper, ground, ground_on_paper) in enumerate(lines):
        line = {
            "back": wanted[0], "high": wanted[1], "left_x": on_paper[0], "left_y": on_paper[1],
            "right_x": 2 - on_paper[0], "groove_half": half, "ground_back": ground[0], "ground_high": ground[1],
            "ground_x": ground_on_paper[0], "ground_y": ground_on_paper[1],
        }  # fmt: skip
        found |= {(f"outlines.{name}", row): float(value) for name, value in line.items()}
    at_break, root, land, change, outside, *_ = groove.on_paper(groove.outline)
    everywhere = {
        "root_x": root[0], "land_y": land[1], "top_y": outside[1], "edge_x": outside[0],
        "change_x": (change[0] + outside[0]) / 2, "change_y": (change[1] + outside[1]) / 2,
        "middle_x": (root[0] + change[0]) / 2, "middle_y": (land[1] + change[1]) / 2, "left_edge": at_break[0] - 0.03,
    }  # fmt: skip
    for row, (word, first, last) in enumerate(groove.lines()):
        found["leaders.word", row] = word
        line = {"x_from": first[0], "y_from": first[1], "x_to": last[0], "y_to": last[1], **everywhere}
        found |= {(f"leaders.{name}", row): float(value) for name, value in line.items()}
    return found


def expected_bevels(ends: Sequence[PipeEnd], typed: Typed, edition: str, rows: int) -> dict[Place, Value]:
    """What Bevel and Groove show for these pipe ends; rows below them are blank."""
    grounds = ground_ends(ends, typed, edition)
    found: dict[Place, Value] = {}
    lines = [bevel_row(ground) for ground in grounds]
    columns = list(bevel_row(Ground(NOBODY, Rules(edition, typed), None, None, None, None)))
    for row in range(rows):
        line = lines[row] if row < len(lines) else dict.fromkeys(columns)
        found |= {(f"bevels.{name}", row): value for name, value in line.items()}
    found["bevels.told", 0] = counts_told([ground.verdict for ground in grounds])
    return found | expected_groove(grounds, typed, edition)


NOBODY = PipeEnd(1, "", "", False, None, None, None, None)
"""An end that is not there, for the names of the columns."""


# -- what is typed -----------------------------------------------------------------------------------------------------


def readings(edition: str, ends: int, seed: int) -> dict[Place, Value]:
    """Angles and lands as ground: good, at a limit, a hair beside it, far off, read against the pipe, or not read."""
    chance, typed = random.Random(seed), dict[Place, Value]()
    at = 0 if edition == "inch" else 1
    for row in range(ends):
        for name, wanted, within in (("angle", "bevel_angle", "bevel_angle_within"),
                                     ("land", "root_face", "root_face_within")):  # fmt: skip
            middle, room = USUAL[wanted][at], USUAL[within][at]
            for column, missing in ((f"{name}_read", 0.25), (f"{name}_else", 0.5)):
                part = chance.choice([0.0, 0.4, -0.7, 1.0, -1.0, 1.3, -1.6, -1.95, chance.uniform(-2, 6)])
                beside = chance.choice([0.0, 0.0, 0.5e-9, -0.5e-9, 2e-9, -2e-9])
                value = middle + part * room + beside
                if name == "angle" and chance.random() < 0.25:  # held to the pipe
                    value = 90 - value
                typed[f"bevels.{column}", row] = None if chance.random() < missing else max(0.0, value)
    return typed


def on_the_limits(edition: str, ends: Sequence[PipeEnd]) -> dict[Place, Value]:
    """Each reading of an end alone on its limit, a hair over it and far off, in turn over the ends with a bevel."""
    typed: dict[Place, Value] = {}
    at = 0 if edition == "inch" else 1
    middle = {"angle": USUAL["bevel_angle"][at], "land": USUAL["root_face"][at]}
    room = {"angle": USUAL["bevel_angle_within"][at], "land": USUAL["root_face_within"][at]}
    tries = [
        (column, part, beside)
        for column in READINGS.values()
        for part, beside in ((1.0, 0.0), (-1.0, 0.0), (1.0, 3e-9), (-1.0, -3e-9))
    ]
    held = 90 - middle["angle"]  # to the pipe
    tries += [("angle_read", (held - middle["angle"] + part * room["angle"]) / room["angle"], beside)
              for part, beside in ((1.0, 0.0), (-1.0, 0.0), (1.0, 3e-9), (-1.0, -3e-9))]  # fmt: skip
    rows = [row for row, end in enumerate(ends) if end.welded and (end.wall or 0.0) > USUAL["no_bevel_wall"][at]]
    assert len(rows) >= len(tries)
    for row, (column, part, beside) in zip(rows, tries, strict=False):
        name = column.partition("_")[0]
        typed |= {("bevels.angle_read", row): middle["angle"], ("bevels.land_read", row): middle["land"]}
        typed[f"bevels.{column}", row] = middle[name] + part * room[name] + beside
    return typed


def blank_rules() -> Iterator[tuple[str, dict[Place, Value]]]:
    """One rule blank at a time."""
    for name in USUAL:
        yield f"no {name}", {(f"rules.{name}", 0): None}


def odd_rules(edition: str) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Rules that a slip of the keys brings, and limits of the wall on, beside and far from the walls of the job."""
    inch = one_inch(edition)
    yield "compound early", {("rules.single_bevel_wall", 0): 0.3 * inch}
    yield "compound at the land", {("rules.single_bevel_wall", 0): 0.3 * inch, ("rules.root_face", 0): 0.8 * inch}
    yield "no land", {("rules.root_face", 0): 0.0}
    yield "a land below nothing", {("rules.root_face", 0): -0.05 * inch, ("rules.root_face_within", 0): 0.01 * inch}
    yield "upright", {("rules.bevel_angle", 0): 0.0}
    yield "leaning the other way", {("rules.bevel_angle", 0): -5.0}
    yield "flat", {("rules.bevel_angle", 0): 95.0}
    yield "a narrow bevel", {("rules.bevel_angle", 0): 30.0, ("rules.bevel_angle_within", 0): 0.26}
    yield "a wide land", {("rules.root_face", 0): 0.1 * inch, ("rules.root_face_within", 0): 1.01 * inch}
    yield "words", {("rules.bevel_angle", 0): "30", ("rules.root_face", 0): "a bit"}
    yield "words for limits", {("rules.bevel_angle_within", 0): "2", ("rules.root_face_within", 0): "a bit"}


def no_room(edition: str) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Nothing may be off, or less than nothing."""
    for angle, land in ((0.0, 0.0), (-1.0, -0.01)):
        room: dict[Place, Value] = {
            ("rules.bevel_angle_within", 0): angle,
            ("rules.root_face_within", 0): land * one_inch(edition),
        }
        yield f"{angle}° may be off", room


def wall_limits(ends: Sequence[PipeEnd]) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Each limit of the wall, and the land, at the wall of an end, within a hair and a hair beyond."""
    wall = ends[0].wall
    assert wall is not None
    for rule in ("no_bevel_wall", "single_bevel_wall", "root_face"):
        for beside in (0.0, 5e-10, -5e-10, 3e-9, -3e-9):
            yield f"{rule} {beside}", {(f"rules.{rule}", 0): wall + beside}


def sizes_of(edition: str, **sizes: float) -> dict[Place, Value]:
    """Another wall, angle, land or gap to draw, lengths given in inches."""
    inch = one_inch(edition)
    return {(f"groove.typed_{name}", 0): value * (1 if name == "angle" else inch) for name, value in sizes.items()}


def drawings(edition: str, ends: Sequence[PipeEnd]) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Ends to draw, and other sizes in their place."""
    inch = one_inch(edition)
    labels = [end.label for end in ends]
    for at in dict.fromkeys([1, 4, 5, len(labels) - 1, *range(6, len(labels), 3)]):
        yield f"draw {labels[at]}", {("groove.end", 0): labels[at]}
    yield "draw nobody", {("groove.end", 0): "not there"}
    yield "draw nobody's wall", {("groove.end", 0): "not there", **sizes_of(edition, wall=0.4)}
    for wall in (0.0, 0.03, 0.12, 0.3, 0.38, 0.38 + 4e-9, 0.75, 0.88, 0.88 + 4e-9, 1.0, 1.2, 2.0, -0.2, 3.7):
        yield f"any wall of {wall}", sizes_of(edition, wall=wall)
    for land in (0.0, 0.2, 0.4, 0.4 + 4e-9, 0.5, 0.9, -0.2):
        yield f"a land of {land}", sizes_of(edition, wall=0.4, land=land)
    for land in (0.8, 0.0):
        yield f"compound with a land of {land}", sizes_of(edition, wall=1.1, land=land)
    for angle in (0.0, 10.0, 30.25, 30.247, 30.24999996, 30.24999992, 60.0, 80.0, 90.0, -10.0, 1e5):
        yield f"an angle of {angle}", sizes_of(edition, angle=angle)
    for gap in (0.0, 0.3, 1.7, -0.4, 0.1249, 0.12351):
        yield f"a gap of {gap}", sizes_of(edition, gap=gap)
    facts = Facts(edition)
    for name in ("GTAW single", "GTAW medium"):
        edge = facts.value(facts.row("end_preparation", key=name), "wall_up_to")
        assert edge is not None
        for beside in (0.0, 5e-10, 3e-9):
            yield f"{name} {beside}", {("groove.typed_wall", 0): edge + beside}
    yield "a gap that nobody can fill", sizes_of(edition, gap=1e13)
    yield "a wall that nobody can weld", sizes_of(edition, wall=1e13)
    far = {("rules.single_bevel_wall", 0): 1e12}
    yield "a bevel out of sight", {**far, ("groove.typed_wall", 0): 5e10, ("groove.typed_angle", 0): 89.0}
    yield "nearly out of sight", {**far, ("groove.typed_wall", 0): 6e11, ("groove.typed_angle", 0): 45.0}
    yield "all four", sizes_of(edition, wall=1.3, angle=31.7, land=0.07, gap=0.19)
    yield "four, cut square", sizes_of(edition, wall=0.05, angle=31.7, land=0.07, gap=0.19)
    ground = ends[1].label
    noses: Sequence[tuple[float | None, float | None]] = (
        (30.0, 0.1), (80.0, 0.05), (37.5, 3.0), (None, 0.1), (30.0, None), (0.0, 0.0), (-3.0, -1.0),
    )  # fmt: skip
    for lean, flat in noses:
        read: dict[Place, Value] = {("bevels.angle_read", 1): lean}
        read["bevels.land_read", 1] = None if flat is None else flat * inch
        yield f"{ground} ground to {lean}, {flat}", {("groove.end", 0): ground, **read}
    compound = next(row for row, end in enumerate(ends) if (end.wall or 0.0) > 1.2 * inch)
    read = {("groove.end", 0): ends[compound].label, ("bevels.angle_read", compound): 41.0}
    read["bevels.land_read", compound] = 0.09 * inch
    yield "compound as ground", read
    yield "compound, ground square", {**read, ("bevels.land_read", compound): 1.0 * inch}
    first: dict[Place, Value] = {("groove.end", 0): ends[0].label, ("bevels.angle_read", 0): 33.0}
    first["bevels.land_read", 0] = 0.05 * inch
    yield "the first as ground", {**first, ("bevels.angle_read", 1): None, ("bevels.land_read", 1): None}
    yield "the first as ground, the next another way", {**first, ("bevels.angle_read", 1): 35.0,
                                                        ("bevels.land_read", 1): 0.06 * inch}  # fmt: skip
    yield "as ground, a bevel of its own", {**read, **sizes_of(edition, angle=30.0), ("rules.bevel_angle", 0): None}
    yield "as ground, cut square", {**read, **sizes_of(edition, wall=0.1)}
    yield "as ground, not drawn", {**read, **sizes_of(edition, wall=0.0)}
    yield "as ground, without a gap", {**read, ("rules.root_gap", 0): None}


def absurd(edition: str, ends: Sequence[PipeEnd]) -> dict[Place, Value]:
    """What slips of the keys leave in the cells for readings."""
    typed: dict[Place, Value] = {}
    tries: list[Value] = [1e13, -1e13, "abc", "37.5", -40.0, 1e5, -1e5, 0.0, 359.96, 400.0, None, 53.0]
    for row in range(len(ends)):
        for at, column in enumerate(READINGS.values()):
            typed[f"bevels.{column}", row] = tries[(5 * at + 7 * row + row // 3) % len(tries)]
    return typed


def _made(edition: str, book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    ends = ends_of(book, {})
    rows = book.book.fields["bevels.verdict"].rows
    first: dict[Place, Value] = {**readings(edition, len(ends), 1), ("groove.end", 0): ends[3].label}
    every = len(ends)
    fine_ones = {
        (f"bevels.{column}", row): USUAL[rule][0 if edition == "inch" else 1]
        for row in range(every)
        for column, rule in (("angle_read", "bevel_angle"), ("land_read", "root_face"))
    }
    nothing: dict[Place, Value] = {
        (f"bevels.{column}", row): None for column in READINGS.values() for row in range(every)
    }
    nothing["groove.end", 0] = None
    states: list[tuple[str, dict[Place, Value]]] = [("nothing read", nothing), ("all good", {**nothing, **fine_ones})]
    states += [(f"readings {seed}", readings(edition, every, seed)) for seed in (2, 3, 4)]
    states += [("limits", {**nothing, **on_the_limits(edition, ends)}), ("slips", absurd(edition, ends))]
    drawn = [(name, {("groove.end", 0): None, **typed}) for name, typed in drawings(edition, ends)]
    if edition == "inch":
        states += [*blank_rules(), *odd_rules(edition), *wall_limits(ends)]
        for name, typed in (*blank_rules(), *no_room(edition)):
            states.append((f"all good, {name}", {**nothing, **fine_ones, **typed}))
    else:  # what a rule leads to is the same in both
        drawn = drawn[::3]
    states += drawn
    cases = [Case("as read", first, expected_bevels(ends, first, edition, rows))]
    for name, typed in states:
        wanted = expected_bevels(ends, {**first, **typed}, edition, rows)
        if name == "nearly out of sight":  # its face has more digits than a number holds
            del wanted["leaders.word", 4]
        cases.append(Case(name, typed, wanted, own=False))
    for name, route in routes_typed(book) if edition == "inch" else ():
        found = ends_of(book, route)
        wanted = expected_bevels(found, {**first, **route}, edition, rows)
        cases.append(Case(name, route, wanted, own=False))
    return first, cases


def routes_typed(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """A leg without a schedule, an end that cannot be, and no leg at all."""
    legs = [row for row, mark in enumerate(book.column("legs.spool")) if mark]
    yield "no schedule", {("legs.schedule", 0): None}
    yield "no such size", {("legs.size", 0): "5-1/2"}
    yield "no end", {("legs.end", 0): "no such end"}
    columns = [field.name for field in book.book.fields.values() if field.typed and field.table == "legs"]
    yield "no legs", {(name, row): None for name in columns for row in legs}


def one_sided(units: str) -> list[dict[str, Any]]:
    """Pipes with a flange at one end and a field weld at the other."""
    leg = {"east": 120 if units == "inch" else 3000}
    made = {"size": "10", "schedule": "80", "class": "150"}
    return [
        {"mark": "F1", **made, "start": "bevel", "leg": [{**leg, "end": "weld_neck_flange"}]},
        {"mark": "F2", **made, "start": "slip_on_flange", "leg": [{**leg, "end": "bevel"}]},
        {"mark": "F3", **made, "start": "bevel", "leg": [{**leg, "end": "slip_on_flange"}]},
    ]


def scenes() -> list[Scene]:
    """Bevel and Groove in both editions."""
    return [
        Scene(
            f"bevels {edition}",
            edition,
            lambda edition=edition: job_text([*joinery.spools(edition), *one_sided(edition)], edition),  # type: ignore[misc]
            lambda book, edition=edition: _made(edition, book),  # type: ignore[misc]
            SHEETS,
            BUILT,
        )
        for edition in ("inch", "mm")
    ]
