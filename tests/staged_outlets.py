"""A model of every cell of Outlets: where a branch stands on its header, what it takes out, and what is wrong with it.

It starts from typed cells, the tables, and what the cells of Route, Items, Cut steps and Rules hold. Directions are
vectors here, the clock is a plane square to the header, and the points of a saddle are looked for round the pipe.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from gauges import OUTSIDE, WITHIN, fine
from held import Held, expected_after, table_row, with_unit
from live import Live, Place, Value, one_inch
from outlet_jobs import BENT, HEADER, OutletRoutes
from staging import Case, Scene
from walk import NORTH, UPWARDS, Vector, _rows
from walk_outlets import best

SHEETS = ("outlets",)
BUILT = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "ends", "fitup",
    "key", "tables_used",
)  # fmt: skip

HAIR, UPRIGHT = 1e-9, 0.001
SQUARE, COCKED, NEAR_ANGLE, FLAT = 90.0, 15.0, 0.25, 0.5
LONGEST = {"inch": 120000.0, "mm": 3000000.0}
SLOTS, BESIDE = 1000, 4
"""Places for outlets on one leg, and how many on either side of one are measured to."""

KINDS: Mapping[str, tuple[str, str, float]] = {
    "weldolet": ("weldolet", "butt", 1.0),
    "sockolet": ("sockolet", "socket", 0.0),
    "threadolet": ("threadolet", "threaded", 0.0),
    "half_coupling": ("half coupling", "threaded", 0.0),
    "nozzle": ("nozzle", "butt", 1.0),
    "stub_on": ("stub-on", "", 0.0),
    "stub_in": ("stub-in", "", 0.0),
}
"""What the trade calls a kind, how its branch is joined to it, and root gaps there."""
KINDS_IN_KEY = ("weldolet", "sockolet", "threadolet", "half_coupling", "nozzle", "stub_on", "stub_in")
"""In the order of the Key."""
STANDS_SQUARE = ("weldolet", "sockolet", "threadolet")
STUBS = ("stub_on", "stub_in")
TOWARDS: Mapping[str, tuple[float, float, float]] = {
    "up": (0, 0, 1), "down": (0, 0, -1), "north": (0, 1, 0), "south": (0, -1, 0), "east": (1, 0, 0), "west": (-1, 0, 0),
}  # fmt: skip


@dataclass
class Header:
    """A leg that outlets stand on, or that starts from one; rows are counted from 1."""

    held: Held
    row: int

    def number(self, name: str) -> float | None:
        """One of its cells."""
        return self.held.number(f"legs.{name}", self.row)

    def text(self, name: str) -> str:
        """One of its words."""
        return self.held.text(f"legs.{name}", self.row)

    @property
    def way(self) -> Vector | None:
        """Its direction."""
        way = self.held.vector(("legs.ux", "legs.uy", "legs.uz"), self.row)
        return None if way is None else np.array(way)

    def dial(self) -> tuple[Vector, Vector]:
        """12 and 3 of the clock, looking along it."""
        way = self.way
        assert way is not None
        upright = math.hypot(way[0], way[1]) < UPRIGHT
        twelve = (NORTH if upright else UPWARDS) * 1.0
        if not upright:
            twelve = twelve - (twelve @ way) * way
            return twelve / math.hypot(*twelve), np.cross(way, twelve) / math.hypot(*twelve)
        return twelve - (twelve @ way) * way, np.cross(way, twelve)

    def first_piece(self) -> float:
        """The piece that begins where it starts, 0 for none; bent pipes are cut with their last leg."""
        last = self.number("chain_last")
        if last is None:
            return 0.0
        there = Header(self.held, int(last))
        own, at_last = self.number("items_at_start"), there.number("items_at_start")
        count, before = there.number("piece_count"), there.number("pieces_before")
        if own is None or at_last is None or not count or before is None or own + at_last:
            return 0.0
        return before + 1


@dataclass
class Outlet:
    """A row of the sheet, counted from 1."""

    held: Held
    row: int

    def typed(self, name: str) -> str:
        """A word typed in one of its cells."""
        return self.held.text(f"outlets.{name}", self.row)

    def length(self, name: str) -> float | None:
        """A number typed in one of its cells."""
        return self.held.number(f"outlets.{name}", self.row)

    def __post_init__(self) -> None:
        held = self.held
        self.spool, self.name, self.kind = self.typed("spool"), self.typed("name"), self.typed("kind")
        self.size, self.towards, self.clock_typed = (
            self.typed("size"),
            self.typed("towards"),
            self.length("clock_typed"),
        )
        self.known = self.kind if self.kind in KINDS else ""
        key = f"{self.spool}|{self.typed('on')}"
        row = held.row_of("legs.key", key) if self.typed("on") and self.spool else None
        self.header = None if row is None else Header(held, row)
        started = [at for at, each in enumerate(held.all("legs.outlet_row"), start=1) if each == self.row]
        self.branch = Header(held, started[0]) if started else None
        at = self.length("at")
        self.place = at if at is not None and abs(at) <= LONGEST[held.edition] else 0.0
        nominal = table_row("nominal_size", (("size", self.size),))
        self.od = held.facts.value(_rows("nominal_size")[nominal - 1], "od") if nominal else None
        self.schedule = self.branch.text("schedule") if self.branch else self.typed("schedule")
        self.pipe = table_row("pipe", (("size", self.size), ("schedule", self.schedule)))
        self.thread = table_row("pipe_thread", (("size", self.size),))
        self.gap = held.number("rules.root_gap")
        self._turned()
        self._drilled()

    # -- directions ----------------------------------------------------------------------------------------------------

    def _turned(self) -> None:
        """Which way the branch points, against its header."""
        header, branch = self.header, self.branch
        self.lean: float | None = 0.0
        self.slant: float | None = 1.0
        if branch is not None:
            self.lean = branch.number("along")
            across = self.held.vector(("legs.across_east", "legs.across_north", "legs.across_up"), branch.row)
            size = None if across is None else math.hypot(*across)
            self.slant = size if size is not None and size > UPRIGHT else None
        self.angle = branch.number("turn_start") if branch else SQUARE
        self.rim: tuple[float, float] | None = None
        self.out: tuple[float, float] | None = None
        way: Vector | None = None
        if branch is not None:
            way = branch.way
        elif self.towards:
            way = np.array(TOWARDS.get(self.towards, (0.0, 0.0, 0.0)), dtype=np.float64)
        self.way = way
        if header is None or header.way is None:
            return
        twelve, three = header.dial()
        if way is not None:
            square = way - float(way @ header.way) * header.way
            out = float(square @ twelve), float(square @ three)
        elif branch is None and self.clock_typed is not None:
            turn = 2 * math.pi * self.clock_typed / 12
            out = math.cos(turn), math.sin(turn)
        else:
            return
        self.out, size = out, math.hypot(*out)
        self.rim = (out[0] / size, out[1] / size) if size >= UPRIGHT else None

    # -- the hole and the pipe below it --------------------------------------------------------------------------------

    @property
    def stub(self) -> bool:
        """Whether the branch's own pipe is welded to the header."""
        return self.known in STUBS

    @property
    def hole(self) -> float | None:
        """How wide the hole is."""
        if not self.known or self.od is None:
            return None
        if self.kind == "stub_in":
            return None if self.gap is None else self.od + 2 * self.gap
        wall = self.held.facts.value(_rows("pipe")[self.pipe - 1], "wall") if self.pipe else None
        return None if wall is None else self.od - 2 * wall

    def _drilled(self) -> None:
        header, slant, held = self.header, self.slant, self.held
        self.header_od = header.number("od") if header else None
        wall = header.number("wall") if header else None
        self.edge: float | None = None
        if self.header_od is not None and wall is not None:
            self.edge = self.header_od / 2 - (wall if self.kind == "stub_in" else 0.0)
        self.below = None if self.gap is None else 0.0 if self.kind == "stub_in" else self.gap
        self.hole_at: float | None = None
        if self.length("at") is not None and self.header_od is not None and self.lean is not None and slant:
            self.hole_at = self.place + self.header_od / 2 * self.lean / slant
        self.foot = None if self.od is None or slant is None else max(self.od, self.hole or 0.0) / 2 / slant
        self.items_before: int | None = None
        self.left = self.right = None
        self.on_leg: list[int] = []
        if header is not None and self.hole_at is not None:
            self.on_leg = [at for at, leg in enumerate(held.all("items.leg_row"), start=1) if leg == header.row]
            centres = [held.number("items.centre", at) for at in self.on_leg]
            self.items_before = sum(centre is not None and centre < self.hole_at for centre in centres)
            self.left = self._item(self.items_before) if self.items_before else 0
            more = self.items_before + 1 <= (header.number("item_count") or 0)
            self.right = self._item(self.items_before + 1) if more else 0

    def _item(self, rank: int) -> int | None:
        """Row of the item of that rank on its header."""
        assert self.header is not None
        return self.held.row_of("items.slot", f"{self.header.row * SLOTS + rank:.15g}")

    @property
    def piece(self) -> float | None:
        """Row of the pipe that it stands on, 0 for none."""
        header, before = self.header, self.items_before
        if header is None or before is None:
            return None
        count, first = header.number("piece_count"), header.number("pieces_before")
        if count is None or first is None:
            return 0.0
        if header.number("pulled") == 1:
            return 0.0 if before else header.first_piece()
        rank = 1 + before - (header.number("items_at_start") or 0.0)
        return first + rank if 1 <= rank <= count else 0.0

    @property
    def begins(self) -> float | None:
        """Where the pipe below it begins."""
        if self.header is None or self.left is None:
            return None
        if self.left:
            return self.held.number("items.right_edge", self.left)
        take, share = self.header.number("takeout_start"), self.header.number("share_start")
        return None if take is None or share is None or self.gap is None else take + share * self.gap

    @property
    def stops_at(self) -> float | None:
        """Where it ends."""
        if self.header is None or self.right is None:
            return None
        if self.right:
            return self.held.number("items.left_edge", self.right)
        take, share, long = (self.header.number(name) for name in ("takeout_end", "share_end", "length"))
        if take is None or share is None or long is None or self.gap is None:
            return None
        return long - take - share * self.gap

    @property
    def first(self) -> Header | None:
        """The leg that its pipe begins with, another where bends join them."""
        if self.header is None or self.left is None:
            return None
        row = self.header.number("chain_first") if not self.left else float(self.header.row)
        return None if row is None else Header(self.held, int(row))

    @property
    def bent(self) -> float | None:
        """Pipe before its header, along the centreline."""
        if self.header is None or self.first is None:
            return None
        if self.first.row == self.header.row:
            return 0.0
        carried, share = self.header.number("carried"), self.first.number("share_start")
        return None if carried is None or share is None or self.gap is None else carried - share * self.gap

    @property
    def longer(self) -> float | None:
        """What the pipe is cut longer for at its start."""
        header, first, piece, held = self.header, self.first, self.piece, self.held
        if header is None or self.left is None or first is None or piece is None or self.begins is None:
            return None
        drawn = held.number("rules.shrinkage_per_weld") or 0.0
        if self.left:
            more = (held.number("items.share", self.left) or 0.0) * drawn
        else:
            more = (first.number("share_start") or 0.0) * drawn + (first.number("saddle_start") or 0.0)
            spool = header.number("spool_row")
            if first.number("parent") == 0 and spool is not None:
                more += held.number("spools.start_trim", spool) or 0.0
        if piece:
            measured, drawn_take = (held.number(f"cuts.{name}_start", piece) for name in ("measured", "takeout"))
            more += drawn_take - measured if measured is not None and drawn_take is not None else 0.0
        return more

    # -- take-out ------------------------------------------------------------------------------------------------------

    @property
    def height(self) -> float | None:
        """Its height; a stub has none."""
        height = self.length("height")
        return 0.0 if self.stub else height if height is not None and height > 0 else None

    @property
    def into(self) -> float | None:
        """How far the branch's pipe stays away from it, or goes in."""
        joint = KINDS[self.known][1]
        if joint == "socket":
            return self.held.number("rules.socket_pullback")
        if joint == "threaded":
            if not self.thread:
                return None
            by = "shop_make_up" if self.held.text("rules.thread_make_up_by") == "shop practice" else "make_up"
            found = self.held.facts.value(_rows("pipe_thread")[self.thread - 1], by)
            return None if found is None else -found
        return 0.0

    @property
    def takeout(self) -> float | None:
        """Along the branch, from its header's centreline."""
        if not self.known or self.edge is None or self.slant is None or self.below is None:
            return None
        height, into = self.height, self.into
        if height is None or into is None:
            return None
        take = self.edge / self.slant + self.below + height + into
        return take if take > 0 else None

    def saddle(self) -> tuple[float | None, float | None]:
        """Long and short point of a stub: the least and the most of where its outside meets the header."""
        if not self.stub or self.edge is None or self.od is None or not self.slant or self.lean is None:
            return None, None
        if self.below is None:
            return None, None
        radius, edge, lean, slant = self.od / 2, self.edge, abs(self.lean), self.slant
        if radius > edge + HAIR:
            return None, (edge + radius * lean) / slant + self.below

        def meets(angles: Vector) -> Vector:
            over = np.sqrt(np.maximum(0.0, (edge - radius) * (edge + radius)) + (radius * np.cos(angles)) ** 2)
            along: Vector = (over - radius * np.cos(angles) * lean) / slant
            return along

        low, high = best(meets)
        low = min(low, *meets(np.array([0.0, math.pi / 2])))  # of two pipes equally wide it is a sharp point
        return low + self.below, high + self.below

    # -- its cells -----------------------------------------------------------------------------------------------------

    def cells(self) -> Iterator[tuple[str, Value]]:
        """What stands in each of its cells, but for what other outlets say."""
        header, branch, known = self.header, self.branch, self.known
        yield "header_row", None if header is None else float(header.row)
        yield "branch_row", float(branch.row) if branch else 0.0
        yield "branch", (branch.text("leg") or None) if branch else None
        yield "branch_piece", branch.first_piece() if branch else 0.0
        yield "key", f"{self.spool}|{self.name}" if self.spool or self.name else None
        words, joint, share = KINDS.get(known, ("", "", 0.0))
        yield "kind_row", float(list(KINDS_IN_KEY).index(known) + 1) if known else None
        yield "words", f"{words} {self.name}" if known else None
        yield "joint", (joint or self.stub_joint) or None if known else None
        yield "share", share if known else None
        yield "stub", float(self.stub) if known else None
        yield "od", self.od
        yield "schedule_used", self.schedule or None
        yield "pipe_row", None if self.pipe is None else float(self.pipe)
        yield "thread_row", None if self.thread is None else float(self.thread)
        yield "header_od", self.header_od
        yield "edge", self.edge
        yield "below", self.below
        yield "height_used", self.height if known else None
        yield "into", self.into if known else None
        yield "memory", float(self.memory) if known else None
        yield "lean", self.lean
        yield "slant", self.slant
        yield "angle", self.angle
        yield "takeout", self.takeout
        low, high = self.saddle()
        yield "long_point", low
        yield "short_point", high
        yield "saddle", self.takeout - low if self.takeout is not None and low is not None else 0.0
        yield "hole", self.hole
        yield "hole_long", None if self.hole is None or self.slant is None else self.hole / self.slant
        yield "hole_at", self.hole_at
        yield "foot", self.foot
        yield "items_before", None if self.items_before is None else float(self.items_before)
        yield "piece", self.piece
        yield "begins", self.begins
        yield "stops_at", self.stops_at
        yield "bent", self.bent
        yield "longer", self.longer
        out = (self.hole_at, self.begins, self.bent, self.longer)
        yield "mark_out", None if None in out else self.hole_at - self.begins + self.bent + self.longer  # type: ignore[operator]
        yield from self._round()
        yield from self._in_space()
        yield "weld", float(self.welded)
        yield from self._workings()

    def _workings(self) -> Iterator[tuple[str, Value]]:
        """What leads to the others."""
        header, way, out = self.header, self.way, self.out
        yield "header_wall", header.number("wall") if header else None
        along = header.way if header else None
        yield "header_way", None if along is None else 1.0
        yield "level", None if along is None else math.hypot(along[0], along[1])
        for at, name in enumerate(("east", "north", "up")):
            yield f"way_{name}", None if way is None else float(way[at])
        yield "way_along", None if way is None or along is None else float(way @ along)
        yield "out_up", None if out is None else out[0]
        yield "out_side", None if out is None else out[1]
        yield "left_item", None if self.left is None else float(self.left)
        yield "right_item", None if self.right is None else float(self.right)
        yield "pipe_first", None if self.first is None else float(self.first.row)

    @property
    def spot(self) -> dict[str, float]:
        """Its hole's middle on the header's outside, never blank: of one that is not known it is nothing."""
        known = (self.header, self.hole_at, self.foot, self.header_od, self.rim)
        if any(each is None for each in known):
            return dict.fromkeys(("leg", "along", "up", "side", "half"), 0.0)
        assert self.header and self.hole_at is not None and self.foot is not None and self.header_od and self.rim
        radius = self.header_od / 2
        return {
            "leg": float(self.header.row),
            "along": self.hole_at,
            "up": radius * self.rim[0],
            "side": radius * self.rim[1],
            "half": self.foot,
        }

    @property
    def stub_joint(self) -> str:
        """What is said of a stub, which is joined to nothing but its header."""
        return "" if self.stub else KINDS[self.known][1]

    @property
    def memory(self) -> bool:
        """Whether its make-up is from memory."""
        if KINDS[self.known][1] != "threaded" or not self.thread:
            return False
        return self.held.facts.doubtful(_rows("pipe_thread")[self.thread - 1], "make_up_status")

    @property
    def welded(self) -> bool:
        """Whether its weld to the header is listed on Fit-up."""
        return self.header is not None and bool(self.known) and self.header.number("made_up") != 1

    def _round(self) -> Iterator[tuple[str, Value]]:
        """Its place round the header."""
        rim = self.rim
        yield "rim_up", rim[0] if rim else None
        yield "rim_side", rim[1] if rim else None
        degrees: float | None = None
        round_turn: float | None = None
        if rim:
            turn = math.degrees(math.atan2(rim[1], rim[0])) % 360
            round_turn = 0.0 if turn > 360 - HAIR else turn
            degrees = float(math.floor(round(turn, 6) + 0.5) % 360)
            half_hours = math.floor(round(turn / 15, 6) + 0.5) % 24
            yield "clock", half_hours / 2 if half_hours > 1 else half_hours / 2 + 12
        else:
            yield "clock", None
        yield "degrees", degrees
        yield "round_turn", round_turn
        known = degrees is not None and self.header_od is not None
        yield "arc", math.pi * self.header_od * round_turn / 360 if known else None  # type: ignore[operator]

    @property
    def root(self) -> Vector | None:
        """On the header's centreline."""
        if self.header is None or self.header.way is None:
            return None
        start = self.held.vector(("legs.x_start", "legs.y_start", "legs.z_start"), self.header.row)
        return None if start is None else np.array(start) + self.place * self.header.way

    def _in_space(self) -> Iterator[tuple[str, Value]]:
        root = self.root
        reach = self.takeout if self.branch is None and self.rim is not None else None
        yield "reach", reach or 0.0
        tip = root
        if root is not None and reach and self.rim and self.header is not None:
            twelve, three = self.header.dial()
            tip = root + reach * (self.rim[0] * twelve + self.rim[1] * three)
        for name, point in (("root", root), ("tip", tip)):
            for axis, at in zip(("east", "north", "up"), range(3), strict=True):
                yield f"{name}_{axis}", None if point is None else float(point[at])
        yield "spool_row", self.header.number("spool_row") if self.header else None

    # -- what is said --------------------------------------------------------------------------------------------------

    def stops(self, earlier: Sequence[Outlet]) -> Iterator[str]:
        """Why it cannot be made."""
        held, header, branch, known = self.held, self.header, self.branch, self.known
        there = bool(self.spool)
        yield from self.slips()
        if there and not self.name:
            yield "Name the outlet."
        key = f"{self.spool}|{self.name}".casefold()
        taken = key in {f"{each.spool}|{each.name}".casefold() for each in earlier if each.spool or each.name}
        if (there or self.name) and (taken or held.row_of("legs.key", key) or self.name.casefold() == "start"):
            yield "The name is taken: each leg and outlet of a spool needs one of its own."
        if there and header is None:
            yield f"The spool has no leg {self.typed('on')} to stand on."
        if there and not known:
            yield "Unknown kind: weldolet, sockolet, threadolet, half_coupling, stub_in, stub_on or nozzle."
        if there and self.od is None:
            yield "Give the size of the branch."
        if there and self.length("at") is None:
            yield "Say where it stands: at."
        if known and not self.stub and self.height is None:
            yield "Type its height: the maker's data, or measured."
        if self.od is not None and self.header_od is not None and self.od > self.header_od + HAIR:
            yield "The branch is larger than its header."
        if self.kind == "stub_in" and self.od is not None and self.edge is not None and self.od > 2 * self.edge + HAIR:
            yield "The branch does not go into the header's bore: use stub_on."
        if branch and self.lean is not None and self.slant is None:
            yield "The branch runs in the header's own direction."
        if known in STANDS_SQUARE and self.angle is not None and abs(self.angle - SQUARE) > COCKED:
            yield (
                f"It stands square on its header, and the branch leaves at {rounded(self.angle, 1)}°: "
                "use stub_on, stub_in, half_coupling or nozzle."
            )
        if there and not branch and not self.towards and self.clock_typed is None:
            yield "No leg starts from it: say the way it points, or its clock."
        points_somewhere = bool(self.towards) or self.clock_typed is not None
        if header and header.way is not None and not branch and points_somewhere and self.rim is None:
            yield "It cannot point along its header."
        if branch and header and header.row >= branch.row:
            yield "The leg that starts from it must stand below its header on the Route."
        if branch and branch.text("size") != self.size:
            yield "The leg that starts from it has another size."
        if header and header.number("made_up") == 1:
            yield "Its header is made up fitting to fitting: there is no pipe to stand on."
        yield from self._off_pipe()
        if known and KINDS[known][1] == "threaded" and not self.thread:
            yield "The thread table has no such size."

    def slips(self) -> Iterator[str]:
        """Typed cells that hold what they cannot."""
        mm = self.held.edition == "mm"
        unit, mass = ("mm", "kg") if mm else ("in", "lb")
        numbers = {
            "at": ("At", 0.0, LONGEST[self.held.edition], f" {unit}"),
            "height": ("Height", 0.0, 1000.0 if mm else 40.0, f" {unit}"),
            "clock_typed": ("or at clock", 1.0, 12.999, ""),
            "mass": ("Mass", 0.0, 100000.0 if mm else 200000.0, f" {mass}"),
        }
        typed_pipe = table_row("pipe", (("size", self.size), ("schedule", self.typed("schedule"))))
        lists = {
            "kind": ("Kind", bool(self.known), "the list"),
            "size": ("Size", self.od is not None, "the list"),
            "schedule": ("Sched.", typed_pipe is not None, "the list for this size"),
            "towards": ("Points", self.towards in TOWARDS, "the list"),
        }  # fmt: skip
        for column in ("at", "kind", "size", "schedule", "height", "towards", "clock_typed", "mass"):
            value = self.held.value(f"outlets.{column}", self.row)
            if value is None:
                continue
            if column in lists:
                label, right, place = lists[column]
                if not right:
                    yield f"{label}: not in {place}."
                continue
            label, least, most, word = numbers[column]
            if not isinstance(value, float):
                yield f"{label}: not a number."
            elif value < least:
                yield f"{label}: under {least:g}{word}."
            elif value > most:
                yield f"{label}: over {most:.12g}{word}."

    def _off_pipe(self) -> Iterator[str]:
        places = (self.hole_at, self.foot, self.begins, self.stops_at)
        if None in places or self.held.number("rules.step") is None:
            return
        at, foot, begins, ends = (each or 0.0 for each in places)
        if at - foot < begins - HAIR or at + foot > ends + HAIR:
            one, other, first, last = (with_unit(self.held, each) for each in (at - foot, at + foot, begins, ends))
            yield f"It does not stand on pipe: it reaches from {one} to {other}, the pipe from {first} to {last}."

    def cautions(self, near: Near) -> Iterator[str]:
        """What is to be looked at."""
        held, known = self.held, self.known
        if known and self.od is not None and self.hole is None:
            yield "Give its schedule: the hole follows from the bore."
        if self.branch and (self.towards or self.clock_typed is not None):
            yield "Its leg says the way it points: what is typed here is not used."
        off = None if self.angle is None else abs(self.angle - SQUARE)
        if known in STANDS_SQUARE and off is not None and NEAR_ANGLE < off <= COCKED and self.od is not None:
            taper = fine(self.od * math.tan(math.radians(off)), held.edition)
            yield f"Cocked by {rounded(off, 2)}° on its header: the gap under it tapers by {taper}."
        if self.slant is not None and self.slant < FLAT:
            yield "A branch as flat as this leaves no room for the torch in its crotch: ask the welder."
        least = held.number("rules.outlet_spacing_min")
        if least is not None and near.least is not None and near.least < least - HAIR and held.number("rules.step"):
            if near.least < -HAIR:
                yield f"It runs into outlet {near.name}: {with_unit(held, -near.least)} too near."
            else:
                left = with_unit(held, max(0.0, near.least))
                yield f"{left} is left to outlet {near.name}, {with_unit(held, least)} is wanted."
        if least is not None and near.too_near and (near.least is None or near.least >= least - HAIR):
            yield "Another outlet further along, the fifth or more, is nearer than the rule: measure round the header."
        if known and self.memory:
            yield "† its make-up rests on a value from memory."


@dataclass
class Near:
    """The outlets beside one on its header."""

    least: float | None
    name: str
    too_near: int
    rank: int | None


def rounded(value: float, places: int) -> str:
    """A number to so many places, a half away from 0, without a 0 behind the point."""
    shown = math.floor(abs(value) * 10**places + 0.5 + 1e-9) / 10**places
    return f"{shown:.12g}"


def expected_outlets(held: Held) -> dict[Place, Value]:
    """Every cell of the sheet, by name and row."""
    outlets = [Outlet(held, row) for row in range(1, len(held.all("outlets.name")) + 1)]
    found: dict[Place, Value] = {}
    for at, outlet in enumerate(outlets):
        near = near_of(outlet, outlets)
        line = {
            **dict(outlet.cells()),
            **dict(_beside(outlet, outlets, near)),
            **dict(_said(outlet, outlets[:at], near)),
        }
        if not outlet.spool:  # a row that is not used
            line = dict.fromkeys(line)
            line |= {
                "below": outlet.below,
                "too_near": 0.0 if held.number("rules.outlet_spacing_min") is not None else None,
            }
        line |= {"place": outlet.place} | {f"spot_{name}": value for name, value in outlet.spot.items()}
        found |= {(f"outlets.{name}", at): value for name, value in line.items()}
    return found


def near_of(outlet: Outlet, outlets: Sequence[Outlet]) -> Near:
    """How near the others on its header are: four before it and four after it are measured to."""
    own = ordered(outlet, outlets)
    least = outlet.held.number("rules.outlet_spacing_min")
    too_near = 0
    others = [each for each in own if each is not outlet and apart(outlet, each) is not None]
    if least is not None:
        too_near = sum((apart(outlet, each) or 0.0) < max(0.0, least - HAIR) for each in others)
    if outlet not in own:
        return Near(None, "", too_near, None)
    rank = own.index(outlet)
    before, after = own[max(0, rank - BESIDE) : rank][::-1], own[rank + 1 : rank + 1 + BESIDE]
    gaps = [(gap, each.name) for each in (*before, *after) if (gap := apart(outlet, each)) is not None]
    if not gaps:
        return Near(None, "", too_near, rank + 1)
    nearest = min(gap for gap, _ in gaps)
    return Near(nearest, next(name for gap, name in gaps if gap == nearest), too_near, rank + 1)


def ordered(outlet: Outlet, outlets: Sequence[Outlet]) -> list[Outlet]:
    """The outlets of its header in their order along it."""
    if outlet.header is None:
        return []
    own = [
        each
        for each in outlets
        if each.header is not None and each.header.row == outlet.header.row and each.hole_at is not None
    ]
    return sorted(own, key=lambda each: (each.hole_at or 0.0, each.row))


def apart(one: Outlet, other: Outlet) -> float | None:
    """Between two branches on the outside of one header: straight between the holes' middles, less both halves."""
    known = (one.hole_at, one.foot, one.rim, one.header_od, other.hole_at, other.foot, other.rim)
    if any(each is None for each in known):
        return None
    assert one.hole_at is not None and other.hole_at is not None and one.rim and other.rim
    assert one.header_od is not None and one.foot is not None and other.foot is not None
    radius = one.header_od / 2
    steps = (one.hole_at - other.hole_at, radius * (one.rim[0] - other.rim[0]), radius * (one.rim[1] - other.rim[1]))
    return math.hypot(*steps) - one.foot - other.foot


def _beside(outlet: Outlet, outlets: Sequence[Outlet], near: Near) -> Iterator[tuple[str, Value]]:
    """Its rank on its header, what is left to the welds and the outlets beside it."""
    at, foot, held = outlet.hole_at, outlet.foot, outlet.held
    before = None if at is None or foot is None or outlet.begins is None else at - foot - outlet.begins
    after = None if at is None or foot is None or outlet.stops_at is None else outlet.stops_at - at - foot
    own = ordered(outlet, outlets)
    for step in range(1, BESIDE + 1):
        for side, sign in (("before", -1), ("after", 1)):
            there = None if near.rank is None else near.rank - 1 + sign * step
            other = own[there] if there is not None and 0 <= there < len(own) else None
            yield f"row_{side}_{step}", None if near.rank is None else float(other.row) if other else 0.0
            yield f"apart_{side}_{step}", apart(outlet, other) if other else None
    yield "to_start", before
    yield "to_end", after
    yield "to_next", near.least
    yield "nearest", near.name or None
    yield "rank", None if near.rank is None else float(near.rank)
    yield "slot", None if near.rank is None or not outlet.header else float(outlet.header.row * SLOTS + near.rank)
    least = held.number("rules.outlet_spacing_min")
    yield "too_near", float(near.too_near) if least is not None else None
    if before is None or after is None:
        verdict = "… not known yet"
    elif least is None:
        verdict = "… rule missing"
    else:
        left = min(each for each in (before, after, near.least) if each is not None)
        verdict = OUTSIDE if left < least - HAIR or near.too_near else WITHIN
    yield "verdict", verdict
    header = outlet.header
    rank = None
    if header is not None and outlet.welded:
        same = [each for each in outlets if each.header and each.header.row == header.row and each.welded]
        rank = float(1 + same.index(outlet))
        counts = [header.number(name) for name in ("joints_before", "joint_at_start", "joints_at_items")]
        row = 0.0 if None in counts else sum(each or 0.0 for each in counts) + rank
        yield "weld_row", row
    else:
        yield "weld_row", None
    yield "weld_rank", rank
    yield "weld_slot", None if rank is None or header is None else header.row * SLOTS + rank
    spool = header.number("spool_row") if header else None
    drawn: float | None = None
    if spool is not None and outlet.root is not None:
        above = [each for each in outlets[: outlet.row - 1] if each.header and each.header.number("spool_row") == spool]
        drawn = spool * SLOTS + 1 + len(above)
    yield "drawn", drawn


def _said(outlet: Outlet, earlier: Sequence[Outlet], near: Near) -> Iterator[tuple[str, Value]]:
    stops = "".join(f"{each} " for each in outlet.stops(earlier))
    yield "stops", stops or None
    yield "stopped", float(bool(stops))
    yield "cautions", "".join(f"{each} " for each in outlet.cautions(near)) or None


# -- scenes ------------------------------------------------------------------------------------------------------------


def rows_of(book: Live) -> dict[str, int]:
    """Rows of outlets by their names, counted from 0."""
    return {str(name): row for row, name in enumerate(book.column("outlets.name")) if name}


def leg_rows(book: Live, mark: str) -> dict[str, int]:
    """Rows of a spool's legs by their names, counted from 0."""
    spools, legs = book.column("legs.spool"), book.column("legs.leg")
    return {str(leg): row for row, (spool, leg) in enumerate(zip(spools, legs, strict=True)) if spool == mark}


def header_states(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """What is typed on the header with one of each kind."""
    inch, row, leg = one_inch(book.edition), rows_of(book), leg_rows(book, "SP-01")
    spare = len(row)

    def typed(outlet: str, /, **cells: Value) -> dict[Place, Value]:
        return {(f"outlets.{column}", row[outlet]): value for column, value in cells.items()}

    yield "no name", typed("B6", name=None)
    yield "twice", typed("B6", name="B1") | typed("B7", name="L3")
    yield "start", typed("B6", name="Start")
    yield "in a row without a spool", {("outlets.name", spare): "B9", ("outlets.at", spare): 3.0}
    yield "only a spool", {("outlets.spool", spare): "SP-01"}
    yield "another spool", typed("B6", spool="SP-09")
    yield "no such leg", typed("B6", on="L19") | typed("B7", on=None)
    yield "on other legs", typed("B6", on="L2", at=9 * inch) | typed("B7", on="L6", at=12 * inch)
    yield "kinds", typed("B6", kind="hole") | typed("B7", kind=None) | typed("B1", kind="nozzle")
    for kind in KINDS:
        yield f"all {kind}", {("outlets.kind", at): kind for at in row.values()}
    yield "no size", typed("B6", size=None) | typed("B7", size="7 3/8") | typed("B1", size="3")
    yield "no place", typed("B6", at=None) | typed("B7", at="x") | typed("B1", at=LONGEST[book.edition] * 2)
    yield "no height", typed("B6", height=None) | typed("B7", height=0.0) | typed("B2", height=-1.0)
    yield "a schedule", typed("B6", schedule=None) | typed("B7", schedule="160")
    for name, value in (("up", 6.0), ("east", 6.0), ("west", None), ("sideways", 2.0), (None, None), (None, 1.0)):
        both = typed("B6", towards=name, clock_typed=value) | typed("B7", towards=name)
        yield f"towards {name}, {value}", both
    yield "said twice", typed("B1", towards="up") | typed("B2", clock_typed=3.0)
    for size in ("8", "10"):
        sizes: dict[Place, Value] = {("outlets.size", at): size for at in row.values()}
        yield f"as large as {size}", sizes
    yield "as wide as the bore", typed("B5", size="8", kind="stub_in")
    yield "under the cap", typed("B1", at=97 * inch) | typed("B7", at=3 * inch)
    # just on pipe, and just off it, at both ends
    for off in (-1e-6, 0.0, 1e-6):
        begins, ends = (book.column(f"outlets.{name}")[row["B7"]] for name in ("begins", "stops_at"))
        half = book.column("outlets.foot")[row["B7"]]
        yield f"at the start {off}", typed("B7", at=float(begins) + float(half) + off)
        yield f"at the end {off}", typed("B7", at=float(ends) - float(half) + off)
    crowd = {"B1": (48.0, None), "B6": (49.0, 7.0), "B7": (46.0, 2.0), "B3": (50.0, None)}
    yield (
        "a crowd",
        {
            place: value
            for name, (at, clock) in crowd.items()
            for place, value in typed(name, at=at * inch, towards=None, clock_typed=clock).items()
        },
    )
    for name in row:
        yield (
            f"beside {name}",
            typed("B7", at=float(book.column("outlets.at")[row[name]]) + 2.9 * inch, clock_typed=12.0),
        )
    yield (
        "nine in a row",
        {
            (f"outlets.{column}", at): value
            for at in range(len(row))
            for column, value in (("at", (40 + 0.9 * at) * inch), ("on", "L1"), ("size", "1/2"))
        },
    )
    for name, spacing in (("none", None), ("nothing", 0.0), ("wide", 12.0 * inch), ("exact", 6.75 * inch)):
        yield f"spacing {name}", {("rules.outlet_spacing_min", 0): spacing}
    for end in ("plain", "bevel", "elbow", None):
        yield f"the header ends in {end}", {("legs.end", leg["L1"]): end}
    yield "no root gap", {("rules.root_gap", 0): None}
    yield "a wide root gap", {("rules.root_gap", 0): 0.5 * inch}
    yield "no pull-back", {("rules.socket_pullback", 0): None}
    yield "made up as the shop does", {("rules.thread_make_up_by", 0): "shop practice"}
    yield "no precision", {("rules.precision", 0): None} | typed("B7", at=3 * inch)
    yield "shrinkage and trim", {("rules.shrinkage_per_weld", 0): 0.0625 * inch, ("spools.start_trim", 0): 3 * inch}
    yield "measured", {("cuts.measured_start", 0): 5 * inch, ("rules.shrinkage_per_weld", 0): None}
    yield "no such size of a thread", typed("B3", size="5") | typed("B6", size="8", kind="threadolet")
    # legs otherwise
    up, east, north = (f"legs.{axis}" for axis in ("up", "east", "north"))
    leans: dict[str, dict[str, Value]] = {
        "leaning a little": {east: 0.2, up: 18.0},
        "leaning back": {east: -3.0, up: 18.0},
        "leaning much": {east: 18.0, up: 18.0},
        "cocked by 15": {east: 18 * math.tan(math.radians(15)), up: 18.0},
        "nearly square": {east: 0.07, up: 18.0},
        "flat": {east: 30.0, up: 8.0},
        "flat as can be": {east: 30.0, up: 30.0 * math.tan(math.radians(30))},
        "along": {east: 18.0, up: 0.0},
        "back along": {east: -18.0, up: None},
        "nowhere": {up: None},
        "down": {up: -18.0},
    }
    for name, parts in leans.items():
        for branch in ("L2", "L3", "L4", "L5", "L7"):
            cells: dict[Place, Value] = {(axis, leg[branch]): None for axis in (up, east, north)}
            cells |= {
                (axis, leg[branch]): float(value) * inch if value is not None else None for axis, value in parts.items()
            }
            yield f"{branch} {name}", cells
    yield "legs of another size", {("legs.size", leg["L2"]): "3", ("legs.schedule", leg["L3"]): None}
    yield "no leg from it", {("legs.from", leg["L2"]): "L1", ("legs.from", leg["L7"]): None}
    yield "a leg before its header", {("legs.from", leg["L1"]): "B1", ("legs.from", leg["L2"]): "start"}
    yield "a header without a wall", {("legs.schedule", leg["L1"]): None}
    yield "a header without a size", {("legs.size", leg["L1"]): None}
    ways: dict[str, dict[str, float]] = {
        "upright": {up: 100.0},
        "down": {up: -100.0},
        "north": {north: 100.0},
        "slanted": {east: 60.0, north: 50.0, up: 40.0},
        "steep": {east: 0.09, up: 100.0},
        "steeper": {east: 0.11, up: 100.0},
        "no way": {},
    }
    for way, header_parts in ways.items():
        cells = {(axis, leg["L1"]): None for axis in (up, east, north)}
        cells |= {(axis, leg["L1"]): value * inch for axis, value in header_parts.items()}
        yield f"header {way}", cells
        yield f"header {way}, pointing", cells | typed("B6", towards="north") | typed("B7", clock_typed=1.25)
    yield from items_on(inch, row)
    made_up: dict[Place, Value] = {("details.make_up", leg["L2"]): "yes", ("details.make_up", leg["L7"]): "yes"}
    yield "a branch made up", made_up | typed("B1", towards="north")
    yield "a made up leg before its header", {
        ("legs.from", leg["L1"]): "B1", ("legs.from", leg["L2"]): "start", ("details.make_up", leg["L1"]): "yes",
    }  # fmt: skip
    # one that is up, like B1, and the others round the header between them: the nearest is not the next one
    ring: dict[Place, Value] = {
        ("outlets.at", row[name]): (40 + at / 10) * inch for at, name in enumerate(("B1", "B2", "B3", "B4", "B5"))
    }
    ring |= {("outlets.size", row[name]): "1/2" for name in ("B2", "B3", "B4", "B5")}
    ring |= typed("B6", at=80 * inch)
    for place in (39.55, 39.95, 40.05, 40.15, 40.25, 40.35, 40.45, 40.55):
        other = typed("B7", at=place * inch, towards="up", size="1/2", clock_typed=None)
        yield f"one up at {place}", ring | other
        yield f"one up before, at {place}", ring | {("outlets.at", row["B1"]): 40.5 * inch} | other
    yield "made up fitting to fitting", {("details.make_up", leg["L1"]): "yes"}


def items_on(inch: float, row: Mapping[str, int]) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Items in the header, and what the pipe beside them is measured to."""
    valve: dict[str, Value] = {"spool": "SP-01", "leg": "L1", "item": "valve", "at": 58 * inch, "length": 6 * inch}
    item: dict[str, Value] = {**valve, "ends": "butt"}
    others: dict[str, dict[str, Value]] = {
        "in the middle": {},
        "at its start": {"at": None, "against": "start"},
        "where one stands": {"at": 48 * inch},
        "without a length": {"length": None},
    }
    for name, more in others.items():
        cells: dict[Place, Value] = {(f"items.{column}", 0): value for column, value in {**item, **more}.items()}
        yield f"an item {name}", cells
        yield f"an item {name}, and one before it", cells | {("outlets.at", row["B7"]): 1 * inch}
        measured: dict[Place, Value] = {
            ("rules.shrinkage_per_weld", 0): 0.05 * inch,
            ("cuts.measured_start", 1): 2 * inch,
        }
        yield f"an item {name}, measured", cells | measured
        yield f"an item {name}, measured, the first piece from nobody knows where", {
            **cells, **measured, ("spools.start", 0): "other",
        }  # fmt: skip
    flanged: dict[str, Value] = {**valve, "ends": "flanged", "flange": "slip_on_flange", "at": 30 * inch}
    two: dict[Place, Value] = {(f"items.{column}", 0): value for column, value in flanged.items()}
    two |= {(f"items.{column}", 1): value for column, value in item.items()}
    yield "two items", {**two, ("rules.shrinkage_per_weld", 0): 0.05 * inch}


def trimmed(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Trim at the start of every spool, and shrinkage of its welds."""
    inch = one_inch(book.edition)
    spools = [row for row, mark in enumerate(book.column("spools.mark")) if mark]
    trims: dict[Place, Value] = {("spools.start_trim", row): (row + 1) * inch / 4 for row in spools}
    yield "trim and shrinkage", {**trims, ("rules.shrinkage_per_weld", 0): 0.05 * inch}


def bent_states(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """What is typed on the bent pipe with its outlets."""
    inch, row, leg = one_inch(book.edition), rows_of(book), leg_rows(book, "SP-01")
    yield "trim and shrinkage", {("spools.start_trim", 0): 3 * inch, ("rules.shrinkage_per_weld", 0): 0.06 * inch}
    yield "a flange at its start", {("spools.start", 0): "weld_neck_flange"}
    yield "measured", {("cuts.measured_start", 0): 1 * inch}
    yield "from nowhere", {("legs.from", leg["L1"]): "L9"}
    yield "no root gap", {("rules.root_gap", 0): None}
    for name in ("A1", "A2", "A3", "A5"):
        yield f"{name} in the bend", {("outlets.at", row[name]): 89 * inch, ("outlets.kind", row[name]): "nozzle"}
    item: dict[str, Value] = {"spool": "SP-01", "item": "valve", "length": 4 * inch, "ends": "butt"}
    for on in ("L1", "L2", "L3", "L6"):
        cells: dict[str, Value] = {**item, "leg": on, "at": 15 * inch}
        yield f"an item on {on}", {(f"items.{column}", 0): value for column, value in cells.items()}
        first = cells | {"at": None, "against": "start"}
        yield f"an item at the start of {on}", {(f"items.{column}", 0): value for column, value in first.items()}


def _scene(name: str, edition: str, text: str, states: Any = None) -> Scene:
    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        cases = [Case("as built", {}, expected_after(expected_outlets, book, {}))]
        for each, typed in [] if states is None else states(book):
            cases.append(Case(each, typed, expected_after(expected_outlets, book, typed), own=False))
        book.reset()
        book.calculate()
        return {}, cases

    return Scene(f"{name} {edition}", edition, lambda: text, made, SHEETS, BUILT)


def scenes() -> list[Scene]:
    """The header with one of each kind, the bent pipe, and random ones."""
    return [
        _scene("outlets of a header", "inch", HEADER, header_states),
        _scene("outlets of a bent pipe", "inch", BENT, bent_states),
        _scene("outlets of a header", "mm", HEADER),
        _scene("outlets of a bent pipe", "mm", BENT),
        _scene("random outlets", "inch", OutletRoutes(1, "inch").outlet_job(12), trimmed),
        _scene("random outlets", "mm", OutletRoutes(2, "mm").outlet_job(12)),
    ]
