"""Scenes of Connections and Bolting: every cell of them, from what Route and the job say of the ends that meet.

An end is looked up by its spool and leg as a fitter would; two ends are compared in words; the line through both is
added up from vectors; studs and gaskets are read from the reference tables; kinds are counted as they come.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pairs
from gauges import WORDS, fine
from held import Held, expected_after, flange_rows, one_place, table_row, with_unit
from live import Live, Place, Value
from staging import Case, Scene
from walk import Vector, _rows, between

SHEETS = ("connections", "bolting")
BUILT = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "connections",
    "bolting", "key", "tables_used",
)  # fmt: skip
FLANGES = ("weld_neck_flange", "slip_on_flange", "socket_weld_flange", "threaded_flange", "lap_joint")
LOOSE = ("bevel", "weld")
HAIR = 1e-9
AXES = ("east", "north", "up")
OWN = 2
"""Cases with an open workbook of their own: they notice most."""
LISTED = 16
"""Kinds that each list of Bolting has room for."""


# -- the ends ----------------------------------------------------------------------------------------------------------


@dataclass
class Meeting:
    """One end of a spool where it meets another; lengths in the edition's unit.

    Attributes:
        spool, leg, last: rows of its spool, of the leg that ends there, and of the spool's last leg.
        loose: whether it is an end for a weld; None where nothing is known of it.
        taken: what the spool's own dimension holds of what lies between.
        out: the way out of the pipe.
        far: from the joint to the spool's other end.
    """

    mark: str
    at: str
    spool: int | None = None
    leg: int | None = None
    last: int | None = None
    kind: str = ""
    size: str = ""
    flange_class: str = ""
    facing: str = ""
    flange: int | None = None
    en: int | None = None
    circle: float | None = None
    holes: float | None = None
    loose: bool | None = None
    taken: float | None = None
    out: Vector | None = None
    length: float | None = None
    far: Vector | None = None
    wall: float | None = None
    blind: bool | None = None

    @property
    def name(self) -> str:
        """Spool and leg, as one."""
        return f"{self.mark}|{self.at}"

    @property
    def flanged(self) -> bool:
        """Whether a flange stands there."""
        return self.kind in FLANGES


def meeting(held: Held, mark: str, at: str) -> Meeting:
    """An end by its spool and leg, or start."""
    end = Meeting(mark, at)
    end.spool = held.row_of("spools.mark_text", mark) if mark else None
    if end.spool is None:
        return end
    legs = [row for row, of in enumerate(held.all("legs.spool_row"), start=1) if of == end.spool]
    if legs:
        end.last = legs[0] + len(legs) - 1
    start = at.casefold() == "start"
    if start:
        end.leg = legs[0] if legs else None
    elif at:
        end.leg = held.row_of("legs.key", f"{mark}|{at}")
    if end.leg is None:
        return end
    side = "start" if start else "end"
    end.kind = held.text("spools.start", end.spool) if start else held.text("legs.end", end.leg)
    end.size = held.text("legs.size", end.leg)
    end.flange_class = held.text("legs.start_class" if start else "legs.flange_class", end.leg)
    end.facing = held.text(f"legs.facing_{side}", end.leg) if end.flanged else ""
    end.flange, end.en = flange_rows(held.edition, end.flange_class, end.size)
    drilled = _rows("flange_en")[end.en - 1] if end.en else _rows("flange")[end.flange - 1] if end.flange else {}
    end.circle = held.facts.value(drilled, "bolt_circle")
    end.holes = float(drilled["bolt_count"]) if drilled else None
    end.loose = end.kind in LOOSE
    gasket, share = held.number(f"legs.gasket_{side}", end.leg), held.number(f"legs.share_{side}", end.leg)
    gap = held.number("rules.root_gap")
    end.taken = 0.0
    if gasket is not None and share is not None and gap is not None:
        end.taken = share * gap if end.loose else gasket
    end.length, end.wall = held.number("legs.length", end.leg), held.number("legs.wall", end.leg)
    way = held.vector(("legs.ux", "legs.uy", "legs.uz"), end.leg)
    if end.length is not None and way is not None:
        end.out = np.array(way) * (-1.0 if start else 1.0)
    tip, tail = (held.vector(("legs.x_end", "legs.y_end", "legs.z_end"), row) for row in (end.leg, end.last))
    if tip is not None and tail is not None:
        # a spool begins at 0: seen from its start its far end is the last leg's, seen from a leg it is the start
        end.far = np.array(tail) if start else -np.array(tip)
    end.blind = (held.text("spools.start_blind", end.spool) if start else held.text("more.blind", end.leg)) == "yes"
    return end


def end_columns(side: str, end: Meeting) -> Iterator[tuple[str, Value]]:
    """What the working columns show of an end; of the first one the way goes from its far end to the joint."""

    def flag(value: bool | None) -> float | None:
        return None if value is None else float(value)

    def row(value: int | None) -> float | None:
        return None if value is None else float(value)

    yield f"{side}_spool", row(end.spool)
    yield f"{side}_leg", row(end.leg)
    yield f"{side}_last", row(end.last)
    yield f"{side}_kind", end.kind or None
    yield f"{side}_size", end.size or None
    yield f"{side}_class", end.flange_class or None
    yield f"{side}_facing", end.facing or None
    yield f"{side}_flange", row(end.flange)
    yield f"{side}_en", row(end.en)
    yield f"{side}_circle", end.circle
    yield f"{side}_holes", end.holes
    yield f"{side}_loose", flag(end.loose)
    yield f"{side}_taken", end.taken
    yield f"{side}_length", end.length
    yield f"{side}_wall", end.wall
    yield f"{side}_blind", flag(end.blind)
    yield f"{side}_far", 1.0 if end.far is not None else None
    for at, axis in enumerate("xyz"):
        yield f"{side}_u{axis}", None if end.out is None else float(end.out[at])
        sign = -1.0 if side == "first" else 1.0
        yield f"{side}_{AXES[at]}", None if end.far is None else sign * float(end.far[at])


# -- what lies between, and what is ordered ----------------------------------------------------------------------------


@dataclass
class Bolts:
    """Studs of a joint: how many, their size in words, their length."""

    count: float | None = None
    size: str = ""
    length: float | None = None


def class_words(flange_class: str) -> str:
    """A class as it is spoken of: class 150, PN16."""
    return flange_class if flange_class[:2].upper() == "PN" else f"class {flange_class}"


def bolt_size(flange: int | None, en: int | None) -> str:
    """Size of a flange's bolts: M16, or 3/4 in."""
    if en:
        return _rows("flange_en")[en - 1]["bolt"]
    return f'{_rows("flange")[flange - 1]["bolt"]}"' if flange else ""


def stud_length(held: Held, flange: int | None, en: int | None, ring: int | None, ring_joint: bool) -> float | None:
    """The standard's length of studs, for raised faces or a ring joint; none by PN."""
    if en or not flange:
        return None
    if ring_joint:
        return held.facts.value(_rows("ring_joint")[ring - 1], "stud_length") if ring else None
    return held.facts.value(_rows("flange")[flange - 1], "stud_length")


def thin(held: Held, length: float) -> str:
    """A thin thing with its unit, in steps of a gauge."""
    return fine(length, held.edition) + ('"' if held.edition == "inch" else "")


def told_studs(held: Held, size: str, length: float | None) -> str:
    """Size and length of studs, in words."""
    return size + (", length not in the tables" if length is None else f" × {with_unit(held, length)}")


class Connection:
    """One row of Connections.

    Args:
        held: what the other sheets hold.
        row: counted from 1.
        above: names of the ends that rows above join.
    """

    def __init__(self, held: Held, row: int, above: Sequence[str]) -> None:
        self.held, self.row, self.above = held, row, above
        self.one, self.two = (
            meeting(held, held.text(f"connections.{side}", row), held.text(f"connections.{side}_at", row))
            for side in ("first", "second")
        )
        one, two = self.one, self.two
        self.there = one.leg is not None and two.leg is not None
        self.stepped = held.number("rules.step") is not None
        self.bolted = self.there and one.flanged and two.flanged
        self.welded = self.there and bool(one.loose and two.loose)
        self.ring_joint = self.bolted and one.facing.upper() == "RTJ"
        key = (("class", one.flange_class), ("size", one.size))
        self.ring = table_row("ring_joint", key) if self.ring_joint else None
        self.gasket = held.text("connections.gasket", row)
        self.gasket_row = table_row("gasket", (("gasket", self.gasket),)) if self.gasket else None
        self.thickness = held.number("connections.thickness", row)
        self.ring_gap = held.facts.value(_rows("ring_joint")[self.ring - 1], "gap") if self.ring else None
        self.compressed = (
            held.facts.value(_rows("gasket")[self.gasket_row - 1], "compressed") if self.gasket_row else None
        )
        self.between = self._between()
        self.bolts = self._bolts()
        self.adds = None
        if self.between is not None and one.taken is not None and two.taken is not None:
            self.adds = self.between - one.taken - two.taken
        self.apart = None if one.out is None or two.out is None else between(one.out, -two.out)

    def _between(self) -> float | None:
        if self.bolted:
            if self.thickness is not None:
                return self.thickness
            return self.ring_gap if self.ring_joint else self.compressed
        return self.held.number("rules.root_gap") if self.welded else None

    def _bolts(self) -> Bolts:
        if not self.bolted:
            return Bolts()
        one, lapped = self.one, "lap_joint" in (self.one.kind, self.two.kind)
        length = None if lapped else stud_length(self.held, one.flange, one.en, self.ring, self.ring_joint)
        return Bolts(one.holes, bolt_size(one.flange, one.en), length)

    @property
    def line(self) -> Vector | None:
        """From the first spool's far end through the joint to the far end of the second."""
        one, two = self.one, self.two
        if one.far is None or two.far is None or self.adds is None or one.out is None:
            return None
        through: Vector = two.far - one.far + self.adds * one.out
        return through

    @property
    def from_memory(self) -> bool:
        """Whether what lies between rests on a value from memory."""
        if self.thickness is not None or not self.bolted:
            return False
        if self.ring_joint:
            return self.ring is not None and self.held.facts.doubtful(_rows("ring_joint")[self.ring - 1], "gap_status")
        return self.gasket_row is not None and self.held.facts.doubtful(
            _rows("gasket")[self.gasket_row - 1], "compressed_status"
        )

    @property
    def gasket_words(self) -> str:
        """What lies between two flanges, for the order."""
        if not self.bolted:
            return ""
        where = f", {self.one.size}, {class_words(self.one.flange_class)}"
        if self.ring_joint:
            return f"ring {_rows('ring_joint')[self.ring - 1]['ring']}" if self.ring else "ring joint" + where
        if self.gasket:
            return self.gasket + where
        return ("gasket" if self.thickness is None else f"gasket {thin(self.held, self.thickness)}") + where

    # -- what it says --------------------------------------------------------------------------------------------------

    def typed_wrong(self) -> Iterator[str]:
        """What stands in its own typed cells and cannot be."""
        if self.gasket and self.gasket_row is None:
            yield "Gasket: not in the list."
        most = "1 in" if self.held.edition == "inch" else "25 mm"
        if isinstance(self.held.value("connections.thickness", self.row), str):
            yield "Its thickness bolted up: not a number."
        if self.thickness is not None and self.thickness < 0:
            yield f"Its thickness bolted up: under 0 {most.split()[1]}."
        if self.thickness is not None and self.thickness > float(most.split()[0]):
            yield f"Its thickness bolted up: over {most}."

    def stops(self) -> Iterator[str]:
        """Why the ends do not fit."""
        one, two, held = self.one, self.two, self.held
        yield from self.typed_wrong()
        for word, end in (("first", one), ("second", two)):
            if end.spool is None:
                yield f"The {word} spool is not on Spools."
            elif end.leg is None:
                yield f"The {word} spool has no such leg: name one, or start."
        if one.name.casefold() == two.name.casefold():
            yield "It joins an end with itself."
        if one.blind is not None and two.blind is not None and (one.blind or two.blind):
            yield "A blind flange closes one of these ends."
        if self.there:
            yield from self._unlike()
        limit = held.number("rules.stock_angle_within")
        if self.apart is not None and limit is not None and self.apart > limit + HAIR:
            yield f"They do not look at each other: {one_place(self.apart)}° off."
        if {one.name.casefold(), two.name.casefold()} & set(self.above):
            yield "One of these ends is joined in a row above already."

    def _unlike(self) -> Iterator[str]:
        """Ways in which the two ends differ."""
        one, two = self.one, self.two
        if not self.bolted and not self.welded:
            kinds = (WORDS.get(end.kind, end.kind) for end in (one, two))
            yield f"These two ends cannot be joined: {' and '.join(kinds)}."
        if one.size != two.size:
            yield f"Size {one.size} against size {two.size}."
        if not self.bolted:
            return
        if one.flange_class.casefold() != two.flange_class.casefold():
            yield f"Class {one.flange_class} against class {two.flange_class}."
        if one.facing.casefold() != two.facing.casefold():
            yield f"Facing {one.facing} against {two.facing}."
        if one.circle is not None and two.circle is not None and self.stepped and abs(one.circle - two.circle) > HAIR:
            circles = (with_unit(self.held, circle) for circle in (one.circle, two.circle))
            yield f"Bolt circle {' against '.join(circles)}."
        if one.holes is not None and two.holes is not None and one.holes != two.holes:
            yield f"Bolt holes {one.holes:.0f} against {two.holes:.0f}."

    def cautions(self) -> Iterator[str]:
        """What is to be looked at."""
        one, two, held, there = self.one, self.two, self.held, self.between
        if self.there and (held.text("legs.stops", one.leg) or held.text("legs.stops", two.leg)):
            yield "Look at the Route first: a leg of it has a ✗."
        if self.bolted and not self.ring_joint and there is None:
            yield "Say the gasket's kind or its thickness."
        if self.bolted and one.facing.upper() == "FF":
            yield "Flat faces: the studs are the standard's for raised faces."
        if self.bolted and "lap_joint" in (one.kind, two.kind):
            yield "Lap joint: the studs are longer by the laps; their length is not in the tables."
        if there is not None and one.taken is not None and two.taken is not None:
            for word, end in (("first", one), ("second", two)):
                assert end.taken is not None
                unlike = thin(held, end.taken) != thin(held, there)
                if self.bolted and end.taken > 0 and unlike and self.stepped:
                    yield (
                        f"The dimension of the {word} spool holds {thin(held, end.taken)}, here it is "
                        f"{thin(held, there)}."
                    )
            if min(one.taken, two.taken) > HAIR and one.taken + two.taken > there + HAIR:
                yield "The dimensions of both spools hold it: more is taken off than lies between."
        walls = [end.wall for end in (one, two) if end.wall is not None]
        if self.welded and self.stepped and len(walls) == 2 and abs(walls[0] - walls[1]) > HAIR:
            yield f"Wall {' against '.join(thin(held, wall) for wall in walls)}: see Bores."
        if self.from_memory:
            yield "† what lies between rests on a value from memory."

    # -- its cells -----------------------------------------------------------------------------------------------------

    def columns(self) -> Iterator[tuple[str, Value]]:
        """Every column, where a first spool is named."""
        one, two, held, bolts = self.one, self.two, self.held, self.bolts
        known = one.leg is not None and two.leg is not None
        stops, cautions = ("".join(f"{each} " for each in told) for told in (self.stops(), self.cautions()))
        what = ""
        if self.bolted:
            what = f"{one.size}, {class_words(one.flange_class)}, {one.facing}"
        elif self.welded:
            what = f"{one.size}, field weld"
        yield "what", what or None
        ordered = bolts.count is not None and self.stepped
        yield "studs", f"{bolts.count:.0f} × {told_studs(held, bolts.size, bolts.length)}" if ordered else None
        yield "between", self.between
        line = self.line
        for at, axis in enumerate(AXES):
            yield f"line_{axis}", None if line is None else float(line[at])
        yield "line_straight", None if line is None else math.hypot(*line)
        named = None
        if one.last is not None and two.last is not None:
            ends = (held.text("legs.leg", end.last) if end.at.casefold() == "start" else "start" for end in (one, two))
            first, second = ends
            named = f"{one.mark} {first} to {two.mark} {second}"
        yield "line_from", named
        fits = "… gasket missing" if self.between is None else "✓ they fit"
        yield "verdict", "✗ see message" if stops else fits
        yield "stops", stops or None
        yield "cautions", cautions or None
        yield "message", stops + cautions or None
        yield from end_columns("first", one)
        yield from end_columns("second", two)
        yield "bolted", float(self.bolted) if known else None
        yield "welded", float(self.welded) if known else None
        yield "size_said", one.size or None
        yield "ring_row", None if self.ring is None else float(self.ring)
        yield "ring_gap", self.ring_gap
        yield "gasket_row", None if self.gasket_row is None else float(self.gasket_row)
        yield "gasket_thickness", self.compressed
        yield "gasket_words", self.gasket_words or None if self.stepped else None
        yield "stud_count", bolts.count
        yield "stud_size", bolts.size or None
        yield "stud_length", bolts.length
        yield "adds", self.adds
        yield "apart", self.apart
        yield "memory", float(self.from_memory) if known else None
        yield "ends_first", one.name
        yield "ends_second", two.name


def connected(held: Held) -> tuple[list[Connection | None], dict[Place, Value]]:
    """Every row of Connections, None where no first spool is named, and what all its cells must hold."""
    found: list[Connection | None] = []
    cells: dict[Place, Value] = {}
    above: list[str] = []
    columns: list[str] = []
    rows = len(held.all("connections.first"))
    for row in range(1, rows + 1):
        if not held.text("connections.first", row):
            found.append(None)
            continue
        connection = Connection(held, row, tuple(above))
        above += [connection.one.name.casefold(), connection.two.name.casefold()]
        found.append(connection)
        line = dict(connection.columns())
        columns = list(line)
        cells |= {(f"connections.{name}", row - 1): value for name, value in line.items()}
    blank = [at for at, each in enumerate(found) if each is None]
    cells |= {(f"connections.{name}", at): None for name in columns for at in blank}
    return found, cells


# -- what is ordered ---------------------------------------------------------------------------------------------------


@dataclass
class Ordered:
    """A row of Bolting's list one by one."""

    where: str = ""
    studs: str = ""
    count: float | None = None
    gasket: str = ""
    gaskets: float | None = None
    working: Mapping[str, Value] | None = None


OWN_COLUMNS = (
    "leg_row", "part_kind", "own_class", "size", "flange_row", "en_row", "ring_row", "thickness", "own_gasket"
)  # fmt: skip
"""Columns of what is no connection."""


def of_connection(held: Held, row: int, connection: Connection | None) -> Ordered:
    """What a connection needs: its studs, one gasket; nothing where the two ends cannot be bolted."""
    bolts = connection.bolts if connection else Bolts()
    wrong = connection is not None and next(connection.stops(), "") != ""
    bolted = connection is not None and connection.bolted and not wrong
    stepped = held.number("rules.step") is not None
    working: dict[str, Value] = dict.fromkeys(OWN_COLUMNS)
    working |= {
        "sort": 1.0, "source_row": float(row), "there": float(bolted), "stud_size": bolts.size or None,
        "stud_length": bolts.length, "each_studs": bolts.count, "through": 1.0,
        "left_out": float(wrong and connection is not None and not connection.welded),
    }  # fmt: skip
    order = Ordered(working=working)
    if connection is not None and bolted:
        order.where = held.text("connections.name", row)
        order.gasket = connection.gasket_words if stepped else ""
        _count(held, order, bolts, 1.0)
    return order


@dataclass
class Face:
    """A flange's face that is bolted to an item or a blind.

    Attributes:
        leg: row of its leg, None where that is not in the job.
        sets: how many gaskets it takes, each with a set of studs.
    """

    sort: int
    source: int
    leg: int | None
    kind: str
    flange_class: str
    facing: str
    thickness: float | None
    there: bool
    where: str
    sets: float = 1.0
    wafer: bool = False


def item_face(held: Held, row: int) -> Face:
    """An item between flanges: two gaskets, and two sets of studs, or of a wafer one set through both."""
    ends = held.text("items.ends", row)
    number = held.number("items.leg_row", row)
    leg = None if number is None else int(number)
    flange_class = held.text("items.flange_class", row) or held.text("legs.flange_class", leg) if leg else ""
    where = " ".join(held.text(f"items.{name}", row) for name in ("spool", "leg"))
    there = ends in ("flanged", "wafer") and held.text("items.spool", row) != ""
    return Face(
        2, row, leg, held.text("items.flange", row), flange_class, held.text("items.facing_taken", row),
        held.number("items.gasket", row), there, f"{where}, {held.text('items.item', row)}", 2.0, ends == "wafer",
    )  # fmt: skip


def end_face(held: Held, row: int) -> Face:
    """The flange at a leg's end, with a blind or without."""
    leg = row if held.text("legs.spool", row) else None
    kind, where = held.text("legs.end", row), f"{held.text('legs.spool', row)} {held.text('legs.leg', row)}"
    return Face(
        3, row, leg, kind, held.text("legs.flange_class", leg) if leg else "",
        held.text("legs.facing_end", leg) if leg else "", held.number("more.gasket", leg),
        leg is not None and kind in FLANGES and held.text("more.blind", row) == "yes", f"{where}, blind flange",
    )  # fmt: skip


def start_face(held: Held, row: int) -> Face:
    """The flange at a spool's start, with a blind or without."""
    legs = [at for at, of in enumerate(held.all("legs.spool_row"), start=1) if of == row]
    leg = legs[0] if legs and held.text("spools.mark", row) else None
    kind, closed = held.text("spools.start", row), held.text("spools.start_blind", row) == "yes"
    return Face(
        4, row, leg, kind, held.text("legs.start_class", leg) if leg else "",
        held.text("legs.facing_start", leg) if leg else "", held.number("spools.start_gasket", row) if leg else None,
        leg is not None and kind in FLANGES and closed,
        f"{held.text('legs.spool', leg) if leg else ''} start, blind flange",
    )  # fmt: skip


def of_face(held: Held, face: Face) -> Ordered:
    """What an item or a blind needs."""
    leg, size = face.leg, held.text("legs.size", face.leg)
    flange, en = flange_rows(held.edition, face.flange_class, size) if leg else (None, None)
    ring = None
    if leg and face.facing == "RTJ":
        ring = table_row("ring_joint", (("class", face.flange_class), ("size", size)))
    bolts = Bolts(size=bolt_size(flange, en))
    if flange or en:
        drilled = _rows("flange_en")[en - 1] if en else _rows("flange")[(flange or 0) - 1]
        bolts.count = float(drilled["bolt_count"]) / (2.0 if face.wafer else 1.0)
        if not face.wafer and face.kind != "lap_joint":
            bolts.length = stud_length(held, flange, en, ring, ring is not None)
    gasket = ""
    if leg and held.number("rules.step") is not None:
        gasket = "gasket" if face.thickness is None else f"gasket {thin(held, face.thickness)}"
        gasket += f", {size}, {class_words(face.flange_class)}"
        if ring:
            gasket = f"ring {_rows('ring_joint')[ring - 1]['ring']}"
    working: dict[str, Value] = {
        "sort": float(face.sort), "source_row": float(face.source), "left_out": 0.0, "there": float(face.there),
        "leg_row": None if leg is None else float(leg), "part_kind": face.kind or None,
        "own_class": face.flange_class or None, "size": size or None, "flange_row": float(flange) if flange else None,
        "en_row": float(en) if en else None, "ring_row": float(ring) if ring else None,
        "thickness": face.thickness if leg else None, "own_gasket": gasket or None, "stud_size": bolts.size or None,
        "stud_length": bolts.length, "each_studs": bolts.count, "through": 2.0 if face.wafer else 1.0,
    }  # fmt: skip
    order = Ordered(working=working)
    if face.there:
        order.where = face.where
        order.gasket = gasket
        _count(held, order, bolts, face.sets)
    return order


def _count(held: Held, order: Ordered, bolts: Bolts, gaskets: float) -> None:
    order.gaskets, order.count = gaskets, (bolts.count or 0.0) * gaskets
    if held.number("rules.step") is not None:
        order.studs = told_studs(held, bolts.size, bolts.length) if bolts.size else "studs not in the tables"


def ordered(held: Held, connections: Sequence[Connection | None]) -> dict[Place, Value]:
    """What all cells of Bolting must hold."""
    every = [of_connection(held, row, each) for row, each in enumerate(connections, start=1)]
    faces = (("items.spool", item_face), ("legs.spool", end_face), ("spools.mark", start_face))
    for column, face in faces:
        every += [of_face(held, face(held, row)) for row in range(1, len(held.all(column)) + 1)]
    cells: dict[Place, Value] = {}
    too_many = False
    for name, kind, many, listed, counted in (
        ("stud_words", "studs", "count", "stud_list", "stud_group"),
        ("gasket_words", "gasket", "gaskets", "gasket_list", "gasket_group"),
    ):
        kinds: list[str] = []
        totals: list[float] = []
        firsts: list[int] = []
        for at, order in enumerate(every):
            words, number = getattr(order, kind), getattr(order, many)
            cells[f"bolting.{name}", at] = words or None
            cells[f"bolting.{counted}", at] = None
            if words:
                if words not in kinds:
                    kinds.append(words)
                    totals.append(0.0)
                    firsts.append(at + 1)
                totals[kinds.index(words)] += number or 0.0
                cells[f"bolting.{counted}", at] = float(kinds.index(words) + 1)
        too_many = too_many or len(kinds) > LISTED
        for at in range(LISTED):
            known = at < len(kinds)
            cells[f"{listed}.what", at] = kinds[at] if known else None
            cells[f"{listed}.at_row", at] = float(firsts[at]) if known else None
            if listed == "stud_list":
                cells["stud_list.studs", at] = totals[at] if known else None
                cells["stud_list.nuts", at] = 2 * totals[at] if known else None
            else:
                cells["gasket_list.gaskets", at] = totals[at] if known else None
    for at, order in enumerate(every):
        cells["bolting.where", at] = order.where or None
        cells["bolting.studs", at] = order.count
        cells["bolting.gaskets", at] = order.gaskets
        cells |= {(f"bolting.{name}", at): value for name, value in (order.working or {}).items()}
    wrong = sum(int((order.working or {})["left_out"] or 0) for order in every)
    left = f"✗ {wrong} connection{' is' if wrong == 1 else 's are'} left out, see Connections"
    cells["bolting.left", 0] = left if wrong else "none"
    cells["bolting.told", 0] = "✗ yes: the lists are not complete" if too_many else "no"
    return cells


def expected_connections(held: Held) -> dict[Place, Value]:
    """What every cell of Connections and Bolting must hold, by name and row."""
    connections, cells = connected(held)
    return cells | ordered(held, connections)


# -- the jobs ----------------------------------------------------------------------------------------------------------

Entry = dict[str, Any]
RACK = 9
"""Sizes of bolts, each with a spool of three items: 18 kinds of studs, 9 to 27 of gaskets."""


def rack() -> list[Entry]:
    """Spools with items between flanges: two between weld necks and one between lap joints, each spool with bolts of
    another size."""
    found: list[Entry] = []
    sizes = {row["size"] for row in _rows("pipe") if row["schedule"] == "STD"}
    bolts: set[str] = set()
    for row in _rows("flange"):
        whole = row["lap_joint_in"] and row["weld_neck_in"] and row["stud_length_in"] and row["stud_length_mm"]
        if len(found) == RACK or not whole or row["size"] not in sizes or row["bolt"] in bolts:
            continue
        bolts.add(row["bolt"])
        flanges = ("weld_neck_flange", "weld_neck_flange", "lap_joint")
        inline = [
            {"item": f"valve {at}", "length": "8 in", "at": f"{100 * at} in", "ends": "flanged", "flange": flange,
             "gasket": "1/8 in"}
            for at, flange in enumerate(flanges, start=1)
        ]  # fmt: skip
        found.append(
            {"mark": f"R{len(found) + 1}", "size": row["size"], "schedule": "STD", "class": row["class"],
             "start": "plain", "leg": [{"east": "400 in", "end": "plain", "inline": inline}]}
        )  # fmt: skip
    return found


def sentences() -> tuple[list[Entry], list[Entry], dict[Place, Value], dict[Place, Value]]:
    """The pairs of `pairs.SAID` side by side: spools, what joins them, what is typed, what is then said."""
    spools: list[Entry] = []
    joins: list[Entry] = []
    typed: dict[Place, Value] = {}
    told: dict[Place, Value] = {}
    legs = 0
    for at, ((one, two), cells, where, wanted) in enumerate(pairs.SAID.values()):
        marks = {"A": f"P{at}", "B": f"Q{at}"}
        joins.append(
            {**pairs.JOIN, "thickness": "1/8 in"} | {side: marks[str(pairs.JOIN[side])] for side in ("first", "second")}
        )
        begins = {"connections": at, "spools": len(spools), "more": legs}

        def row_of(table: str, row: int, begins: Mapping[str, int] = begins) -> int:
            spare = table == "connections" and row == 1  # a second connection of the same two spools stands below all
            return len(pairs.SAID) if spare else begins[table] + row

        for (name, row), value in cells.items():
            marked = name in ("connections.first", "connections.second")
            typed[name, row_of(name.partition(".")[0], row)] = marks.get(str(value), value) if marked else value
        column, _, below = where.partition(" ")
        told[f"connections.{column}", row_of("connections", int(below or 0))] = wanted or None
        spools += [{**one, "mark": marks["A"]}, {**two, "mark": marks["B"]}]
        legs += len(one["leg"]) + len(two["leg"])
    return spools, joins, typed, told


def ringed() -> tuple[list[Entry], Entry]:
    """A ring joint of whose gap nothing is said."""
    flange = {"facing": "RTJ", "class": "600", "size": "6", "schedule": "STD", "start": "weld_neck_flange"}
    legs = [{"east": "60 in", "end": "weld_neck_flange"}]
    spools = [{"mark": mark, **flange, "leg": legs} for mark in ("V1", "V2")]
    return spools, {"first": "V1", "first_at": "L1", "second": "V2", "second_at": "start"}


def text_of(edition: str) -> str:
    """Sentences and items in inch, with some pairs at random; more of these in mm."""
    ring, ring_joint = ringed()
    if edition == "mm":
        spools, joins = pairs.Pairs(2, "mm").pairs(18)
        return pairs.with_connections([*spools, *ring, *rack()], [*joins, ring_joint], "mm")
    spools, joins, _, _ = sentences()
    more = pairs.Pairs(4, "inch").pairs(8)
    return pairs.with_connections([*spools, *more[0], *ring, *rack()], [*joins, *more[1], ring_joint])


# -- what is typed -----------------------------------------------------------------------------------------------------


def filled(book: Live, name: str) -> list[int]:
    """Rows of a column that hold something."""
    return [row for row, value in enumerate(book.column(name)) if value is not None]


class Typist:
    """Types at chance into what leads to Connections and Bolting.

    Args:
        book: the workbook as built.
        seed: the same one types the same.
    """

    def __init__(self, book: Live, seed: int) -> None:
        self.book, self.rng = book, random.Random(seed)
        self.unit = 1.0 if book.edition == "inch" else 25.4
        self.joins, self.legs = filled(book, "connections.first"), filled(book, "legs.spool")
        self.spools, self.items = filled(book, "spools.mark"), filled(book, "items.spool")
        self.typed: dict[Place, Value] = {}

    def some(self, name: str, rows: Sequence[int], share: float, values: Sequence[Value]) -> None:
        """One of these values in some of the rows."""
        for row in rows:
            if self.rng.random() < share:
                self.typed[name, row] = self.rng.choice(values)

    def lengths(self, *inches: float | None) -> list[Value]:
        """Lengths in the edition's unit."""
        return [None if each is None else each * self.unit for each in inches]

    def gaskets(self) -> None:
        """Other gaskets, thicknesses that lie on, beside and off what a dimension holds."""
        self.some("connections.gasket", self.joins, 0.7, [None, *pairs.GASKETS])
        self.some("connections.thickness", self.joins, 0.6, [None, *self.lengths(0.125, 0.126, 0.16, 0.0, 1.0, -0.1)])
        self.some("more.gasket", self.legs, 0.3, self.lengths(0.125, 0.0625, None))
        self.some("spools.start_gasket", self.spools, 0.3, self.lengths(0.125, 0.0625, None))
        self.some("items.gasket", self.items, 0.6, self.lengths(0.125, 0.0625, None))

    def ends(self) -> None:
        """Other ends, classes, facings, sizes and ways."""
        kinds: list[Value] = [*FLANGES, "bevel", "weld", "bevel", "elbow", "plain", None]
        self.some("legs.end", self.legs, 0.2, kinds)
        self.some("spools.start", self.spools, 0.2, kinds)
        classes: list[Value] = ["150", "300", "PN16", "PN40", None]
        self.some("details.flange_class", self.legs, 0.1, classes)
        self.some("spools.flange_class", self.spools, 0.1, classes)
        facings: list[Value] = ["RF", "FF", "RTJ", None]
        self.some("more.facing", self.legs, 0.2, facings)
        self.some("spools.start_facing", self.spools, 0.2, facings)
        self.some("legs.from", self.legs, 0.06, ["nowhere", "start"])
        self.some("legs.size", self.legs, 0.05, ["6", "4", "3", None])
        self.some("legs.schedule", self.legs, 0.05, ["XS", "STD", None])
        for axis in AXES:
            self.some(f"legs.{axis}", self.legs, 0.2, self.lengths(100.0, -40.0, 31.7, None))
        for name, rows in (("more.blind", self.legs), ("spools.start_blind", self.spools)):
            self.some(name, rows, 0.04, ["yes", "no"])
        gaps: list[Value] = ["full", "half", "none", None]
        self.some("details.field_gap", self.legs, 0.3, gaps)
        self.some("spools.start_field_gap", self.spools, 0.3, gaps)

    def joined(self) -> None:
        """Other spools and legs named, blank and unknown ones too."""
        marks = [self.book.value("spools.mark", row) for row in self.spools]
        for side in ("first", "second"):
            self.some(f"connections.{side}", self.joins, 0.15, [*marks, *marks, "nowhere", None])
            self.some(f"connections.{side}_at", self.joins, 0.4, ["start", "L1", "L1", "L2", "L9", None])
        self.some("connections.name", self.joins, 0.3, ["by the pump", None])
        halves: list[dict[str, Value]] = [
            {"second": None}, {"second_at": None}, {"first_at": None}, {"first": None},
            {"first": "nowhere", "first_at": None}, {"second": "nowhere", "second_at": None},
            {"first": marks[0], "first_at": None, "second": marks[0], "second_at": None},
        ]  # fmt: skip
        for row, half in zip(self.joins[5:], halves, strict=False):
            self.typed |= {(f"connections.{name}", row): value for name, value in half.items()}

    def midway(self) -> None:
        """Spools joined where their first leg ends, whose last leg is another; where one is joined at its start, its
        last leg starts from nowhere."""
        marks = self.book.column("legs.spool")
        ends = ("weld_neck_flange", "bevel", "weld", "slip_on_flange")
        for row in self.joins:
            for side in ("first", "second"):
                mark = self.book.value(f"connections.{side}", row)
                legs = [leg for leg, of in enumerate(marks) if of == mark]
                if len(legs) < 2:
                    continue
                if self.book.value(f"connections.{side}_at", row) == "start":
                    self.typed["legs.from", legs[-1]] = "nowhere"
                    spool = self.book.column("spools.mark").index(mark)
                    self.typed["spools.start_gasket", spool] = 0.125 * self.unit
                    continue
                self.typed |= {
                    (f"connections.{side}_at", row): "L1", ("legs.end", legs[0]): ends[row % 4],
                    ("more.facing", legs[0]): "FF", ("details.flange_class", legs[0]): "300",
                    ("more.gasket", legs[0]): 0.125 * self.unit, ("details.field_gap", legs[0]): "full",
                    ("legs.size", legs[-1]): "4", ("legs.schedule", legs[-1]): "XS",
                    ("details.flange_class", legs[-1]): "600", ("more.gasket", legs[-1]): 0.0625 * self.unit,
                    ("more.blind", legs[-1]): "yes" if row % 3 else None,
                    ("legs.from", legs[0]): None if row % 4 else "nowhere",
                }  # fmt: skip

    def twice(self) -> None:
        """Below all: each end of the first connections once more, as a first and as a second end."""
        for at, (side, again) in enumerate([(one, two) for one in ("first", "second") for two in ("first", "second")]):
            other = "second" if again == "first" else "first"
            row = self.joins[-1] + 1 + at
            for part in ("", "_at"):
                said = self.book.value(f"connections.{side}{part}", self.joins[at])
                self.typed[f"connections.{again}{part}", row] = said
            self.typed |= {(f"connections.{other}", row): f"Z{at}", (f"connections.{other}_at", row): "start"}

    def items_too(self) -> None:
        """Items of every kind."""
        self.some("items.ends", self.items, 0.6, ["flanged", "wafer", "butt", "socket", "threaded", None])
        self.some("items.flange", self.items, 0.4, [*FLANGES, None])
        self.some("items.flange_class", self.items, 0.5, ["150", "300", "PN16", "2500", None])
        self.some("items.facing", self.items, 0.5, ["RTJ", "RF", "FF", None])
        self.some("items.spool", self.items, 0.1, ["nowhere", None])
        self.some("items.leg", self.items, 0.1, ["L7", None])
        self.some("items.item", self.items, 0.2, ["strainer", None])


def kinds_to_order(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """As many kinds of studs or of gaskets as the lists have room for, and one or two more of either."""
    unit = 1.0 if book.edition == "inch" else 25.4
    rows = [row for row in filled(book, "items.spool") if str(book.value("items.spool", row)).startswith("R")]
    bare: dict[Place, Value] = {("connections.first", row): None for row in filled(book, "connections.first")}

    def rows_of(spools: int, each: Sequence[int]) -> set[int]:
        return {rows[3 * spool + at] for spool in range(spools) for at in each}

    for name, kept, apart in (
        ("16 studs, 8 gaskets", rows_of(8, (0, 2)), False),
        ("16 studs, 16 gaskets", rows_of(8, (0, 2)), True),
        ("17 studs, 9 gaskets", rows_of(9, (0, 2)) - {rows[-1]}, False),
        ("12 studs, 17 gaskets", rows_of(6, (0, 1, 2)) - {rows[0]}, True),
    ):
        typed: dict[Place, Value] = {("items.ends", row): None for row in rows if row not in kept}
        if apart:
            typed |= {("items.gasket", row): (1 + row) * unit / 64 for row in kept}
        yield name, bare | typed


def states(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """What is typed, by name; what notices most comes first."""
    unit = 1.0 if book.edition == "inch" else 25.4
    whole = Typist(book, 1)
    whole.gaskets()
    whole.items_too()
    whole.ends()
    yield "other ends", whole.typed | {("rules.root_gap", 0): 0.1 * unit}
    named = Typist(book, 2)
    named.gaskets()
    named.joined()
    yield "joined otherwise", named.typed
    absurd: list[Value] = ["thick", -unit, 1.01 * unit, 1e9, 0.0]
    wrong = {("connections.thickness", row): absurd[row % 5] for row in filled(book, "connections.first")}
    halfway = Typist(book, 4)
    halfway.midway()
    yield "joined midway", halfway.typed
    again = Typist(book, 3)
    again.twice()
    yield "absurd, and joined twice", {**wrong, ("connections.gasket", 0): "felt"} | again.typed
    yield "no rules", {(f"rules.{name}", 0): None for name in ("root_gap", "precision", "stock_angle_within")}
    yield from kinds_to_order(book)


def _scene(edition: str) -> Scene:
    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        first: dict[Place, Value] = {}
        told: dict[Place, Value] = {}
        if edition == "inch":
            _, _, first, told = sentences()
        every = [("sentences", first), *states(book)]
        cases = [
            Case(name, typed, expected_after(expected_connections, book, {**first, **typed}), own=at < OWN)
            for at, (name, typed) in enumerate(every)
        ]
        cases[0].wanted = {**cases[0].wanted, **told}
        book.reset()
        return first, cases

    return Scene(f"connections {edition}", edition, lambda: text_of(edition), made, SHEETS, BUILT)


def scenes() -> list[Scene]:
    """Connections and Bolting in both editions."""
    return [_scene("inch"), _scene("mm")]
