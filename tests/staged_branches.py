"""What outlets leave on other sheets: welds on Fit-up, parts, holes on the Cut list, and lines of the Sketch.

Where an outlet stands, and what is wrong with it, is Outlets' own to say (`test_outlets.py`); here its cells are taken
as they stand, with those of Route and Cut steps, and put into the words and places of the sheets that follow.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from drawings import DASH, HAIRLINE, SHARE, paper
from gauges import clock_text, fine
from held import Held, expected_after, with_unit
from live import READINGS, Live, Place, Value
from outlet_jobs import BENT, HEADER
from staging import Case, Scene

SHEETS = ("cutlist", "fitup", "parts", "sketch")

SLOTS = 1000
"""An outlet's weld is found by its header's row times that, and its place among the header's welds."""

STUBS = ("stub_in", "stub_on")
WORDS = {
    "weldolet": "weldolet",
    "sockolet": "sockolet",
    "threadolet": "threadolet",
    "half_coupling": "half coupling",
    "stub_in": "stub-in",
    "stub_on": "stub-on",
    "nozzle": "nozzle",
}
JOINED = {"weldolet": "butt", "nozzle": "butt", "sockolet": "socket", "threadolet": "threaded",
          "half_coupling": "threaded"}  # fmt: skip
"""How the branch's pipe is joined to what stands on the header; a stub is that pipe."""
LETTERS = {"field": "FW", "threaded": "T"}
BRANCH = "– branch"
TAPS = 16
"""Outlets that the sketch has room for."""


class Branches:
    """Every outlet of an open workbook, by its row."""

    def __init__(self, held: Held) -> None:
        self.held = held
        self.rows = range(1, len(held.all("outlets.name")) + 1)

    def kind(self, row: int) -> str:
        """Its kind, "" where it is none."""
        kind = self.held.text("outlets.kind", row)
        return kind if kind in WORDS else ""

    def words(self, row: int) -> str:
        """What a fitter calls it."""
        kind = self.kind(row)
        return f"{WORDS[kind]} {self.held.text('outlets.name', row)}" if kind else ""

    def mark(self, piece: float | None) -> str | None:
        """Mark of a piece by its row, None where there is none."""
        return self.held.text("cuts.mark", int(piece)) or None if piece else None

    # -- Fit-up --------------------------------------------------------------------------------------------------------

    def welds(self) -> Iterator[tuple[Place, Value]]:
        """The weld of each outlet to its header, and of each branch to its outlet, where Fit-up lists them."""
        for row in self.rows:
            slot = self.held.number("outlets.weld_slot", row)
            if slot is not None and self.held.number("outlets.weld", row) == 1:
                yield from self.weld(row, *divmod(int(slot), SLOTS))
            leg = self.held.number("outlets.branch_row", row)
            if leg and self.held.number("legs.joint_at_start", int(leg)) == 1:
                yield from self.start(row, int(leg))

    def joint(self, leg: int, place: int, kind: str) -> Iterator[tuple[Place, Value]]:
        """Where a joint of a leg stands in the list, and what it is called."""
        held = self.held
        before = held.number("legs.joints_before", leg)
        assert before is not None
        number = int(before) + place
        spool = held.number("legs.spool_row", leg)
        first = held.all("legs.spool_row").index(spool) + 1
        joints_before = held.number("legs.joints_before", first)
        assert joints_before is not None and spool is not None
        in_spool = number - int(joints_before)
        mark, name = held.text("spools.mark", int(spool)), f"{LETTERS.get(kind, 'W')}{in_spool}"
        line: dict[str, Value] = {
            "spool": mark, "joint": name, "label": f"{mark} {name}", "kind": kind, "leg_row": float(leg),
            "place": float(place), "spool_row": spool, "in_spool": float(in_spool),
        }  # fmt: skip
        for column, value in line.items():
            yield (f"joints.{column}", number - 1), value

    def weld(self, row: int, leg: int, rank: int) -> Iterator[tuple[Place, Value]]:
        """An outlet's weld to its header."""
        held = self.held
        count = [held.number(f"legs.{name}", leg) for name in ("joint_at_start", "joints_at_items")]
        place = int(sum(each or 0 for each in count)) + rank
        found = dict(self.joint(leg, place, "branch"))
        (at,) = {at for _, at in found}
        piece = held.number("outlets.piece", row)
        stub = held.number("outlets.branch_piece", row) if self.kind(row) in STUBS else 0.0
        second = self.mark(stub) if stub else self.words(row) or None
        line: dict[str, Value] = {
            "side": "outlet", "outlet_row": float(row), "piece": piece, "branch_piece": stub,
            "first_part": self.mark(piece), "second_part": second, "outlet_words": second,
            "part_said": f"pipe {second}" if stub else second, "piece_is_second": float(bool(stub)),
            "end_one": None, "end_two": None, "verdict": BRANCH, "branch_action": self.action(row),
            "action": self.action(row),
        }  # fmt: skip
        yield from found.items()
        for column, value in line.items():
            yield (f"joints.{column}", at), value

    def action(self, row: int) -> str:
        """What to do at its weld."""
        held = self.held
        hole, clock = held.number("outlets.hole", row), held.number("outlets.clock", row)
        if hole is None or clock is None:
            return "Branch weld: see Outlets."
        told = f"Branch weld: hole {fine(hole, held.edition)} at {clock_text(clock)}"
        under = 0.0 if self.kind(row) == "stub_in" else held.number("rules.root_gap")
        if under is not None:
            told += (
                f", gap under it {fine(under, held.edition)} all round" if under else ", its end flush with the bore"
            )
        return told + "; no hi-lo; see the procedure."

    def start(self, row: int, leg: int) -> Iterator[tuple[Place, Value]]:
        """The joint of a branch's pipe to what stands on the header."""
        kind = JOINED.get(self.kind(row), "")
        found = dict(self.joint(leg, 1, kind))
        (at,) = {at for _, at in found}
        last = self.held.number("legs.chain_last", leg)
        assert last is not None
        pieces = [self.held.number(f"legs.{name}", int(last)) for name in ("pieces_before", "piece_count")]
        piece = (pieces[0] or 0.0) + 1 if pieces[1] else 0.0
        yield from found.items()
        line: dict[str, Value] = {
            "side": "start", "start_outlet": float(row), "outlet_row": 0.0, "branch_piece": 0.0, "piece": piece,
            "start_words": self.words(row), "first_part": self.words(row), "second_part": self.mark(piece),
        }  # fmt: skip
        for column, value in line.items():
            yield (f"joints.{column}", at), value

    def stubs(self) -> Iterator[tuple[Place, Value]]:
        """What the Cut list says of a stub, whose length runs to the long point of its saddle."""
        held = self.held
        for row in self.rows:
            piece, saddle = held.number("outlets.branch_piece", row), held.number("outlets.saddle", row)
            if not piece or not saddle or held.number("rules.step") is None:
                continue
            ends = [held.number(f"cuts.{name}", int(piece)) for name in ("net", "trim")]
            told = with_unit(held, math.fsum(each or 0.0 for each in ends))
            words = f"Saddle at its start: the length is to the long point, {told} on the centreline; "
            words += "Outlets has its points. "
            said_besides = held.text("pieces.cautions", int(piece)).replace(words, "")
            yield ("pieces.cautions", int(piece) - 1), said_besides + words

    # -- Parts and holes -----------------------------------------------------------------------------------------------

    def parts(self) -> Iterator[tuple[Place, Value]]:
        """The last rows of Parts: one for each outlet."""
        held = self.held
        before = len(held.all("parts.what")) - len(self.rows)
        for row in self.rows:
            at = before + row - 1
            header = held.number("outlets.header_row", row)
            kind, what = self.kind(row), None
            if kind and kind not in STUBS and header is not None:
                leg = held.number("outlets.branch_row", row)
                schedule = held.text("legs.schedule", int(leg)) if leg else held.text("outlets.schedule", row)
                size = " ".join(filter(None, (held.text("outlets.size", row), schedule)))
                what = f"{WORDS[kind]} {size} on {held.text('legs.size', int(header))}"
            mass = held.number("outlets.mass", row)
            spool = held.number("legs.spool_row", int(header)) if header is not None else None
            yield ("parts.spool", at), held.text("spools.mark", int(spool)) or None if spool is not None else None
            yield ("parts.outlet", at), what
            yield ("parts.what", at), what
            yield ("parts.where", at), f"on {held.text('outlets.on', row)}" if what else None
            yield ("parts.quantity", at), 1.0 if what else None
            yield ("parts.mass", at), mass if what else None
            yield ("parts.without_mass", at), 1.0 if what and mass is None else 0.0
            if header is not None:
                yield ("parts.leg_row", at), header

    def holes(self) -> Iterator[tuple[Place, Value]]:
        """What is marked out on the header's pipe."""
        held = self.held
        for row in self.rows:
            at = row - 1
            wide, long, out, arc = (
                held.number(f"outlets.{name}", row) for name in ("hole", "hole_long", "mark_out", "arc")
            )
            yield ("holes.outlet", at), held.text("outlets.name", row) or None
            yield ("holes.spool", at), held.text("outlets.spool", row) or None
            yield ("holes.piece", at), self.mark(held.number("outlets.piece", row))
            for name, source in (("clock", "clock"), ("degrees", "degrees"), ("from_end", "mark_out"),
                                 ("across", "hole"), ("along", "hole_long"), ("arc", "arc")):  # fmt: skip
                yield (f"holes.{name}", at), held.number(f"outlets.{source}", row)
            if held.number("rules.step") is None:
                continue
            stopped = held.text("outlets.stops", row) != ""
            from_end = None if out is None else "✗ see Outlets" if stopped else with_unit(held, out)
            yield ("holes.from_text", at), from_end
            both = None if wide is None or long is None else f"{with_unit(held, wide)} × {with_unit(held, long)}"
            yield ("holes.hole_text", at), both
            yield ("holes.arc_text", at), None if arc is None else with_unit(held, arc)

    # -- Sketch --------------------------------------------------------------------------------------------------------

    def lines(self) -> Iterator[tuple[Place, Value]]:
        """Branches drawn from their place on the header, and outlets drawn to their end."""
        held = self.held
        scale, middle = held.number("sketch.scale"), [held.number(f"sketch.middle_{axis}") for axis in "xy"]
        assert scale is not None

        def drawn(point: Sequence[float]) -> tuple[float, float]:
            """Where a point falls on the paper."""
            flat = paper(point)
            return tuple(0.5 + SHARE * (flat[at] - (middle[at] or 0.0)) / scale for at in (0, 1))  # type: ignore[return-value]

        spool, first = held.number("sketch.spool_row"), held.number("sketch.first_leg")
        start = drawn((0.0, 0.0, 0.0)) if first is not None else None
        legs = int(held.number("sketch.leg_count") or 0)
        for number in range(1, min(legs, 40) + 1):
            leg = int(first or 0) + number - 1
            place = held.vector(("legs.x_start", "legs.y_start", "legs.z_start"), leg)
            if held.number("legs.outlet_row", leg) and place is not None:
                flat, at = paper(place), number
                for axis, value, on_paper in zip("xy", flat, drawn(place), strict=True):
                    yield (f"points.branch_{axis}", at), value
                    yield (f"points.{axis}_from", at), on_paper
            else:
                for axis in "xy":
                    yield (f"points.branch_{axis}", number), None
        own = [
            row
            for row in self.rows
            if spool is not None and held.number("outlets.spool_row", row) == spool
            and held.vector(("outlets.root_east", "outlets.root_north", "outlets.root_up"), row) is not None
        ]  # fmt: skip
        for at in range(TAPS):
            row = own[at] if at < len(own) else None
            yield ("taps.row", at), None if row is None else float(row)
            yield ("taps.word", at), None if row is None else held.text("outlets.name", row)
            root = held.vector(("outlets.root_east", "outlets.root_north", "outlets.root_up"), row)
            tip = held.vector(("outlets.tip_east", "outlets.tip_north", "outlets.tip_up"), row)
            for name, point in (("root", root), ("tip", tip)):
                flat_or_not: Sequence[Value] = (None, None) if point is None else paper(point)
                for axis, each in zip("xy", flat_or_not, strict=True):
                    yield (f"taps.{name}_{axis}", at), each
            begins = start if root is None else drawn(root)
            if begins is None:
                continue
            ends = (begins[0] + HAIRLINE, begins[1])
            if tip is not None:
                ends = (drawn(tip)[0] + DASH, drawn(tip)[1])
            for name, point_drawn in (("from", begins), ("to", ends)):
                for axis, each in zip("xy", point_drawn, strict=True):
                    yield (f"taps.{axis}_{name}", at), each


def expected_branches(held: Held) -> dict[Place, Value]:
    """Every cell that outlets fill on these sheets, by name and row."""
    branches = Branches(held)
    return dict([*branches.welds(), *branches.stubs(), *branches.parts(), *branches.holes(), *branches.lines()])


def job() -> str:
    """The bent pipe with its outlets, a plain pipe, and the header with one of each kind."""
    plain = '[[spool]]\nmark = "SP-02"\nsize = "6"\nschedule = "40"\nstart = "bevel"\n'
    plain += '[[spool.leg]]\nup = "30 in"\nend = "cap"\n'
    header = HEADER[HEADER.index("[[spool]]") :].replace("SP-01", "SP-03")
    return BENT + plain + header


def _states(book: Live) -> Iterator[tuple[str, dict[Place, Value]]]:
    """Other spools drawn, outlets that are not what they were, rules that are blank."""
    for spool in ("SP-02", "SP-03", "nowhere", "SP-01"):
        yield f"drawn {spool}", {("sketch.spool", 0): spool}
    last = len(book.book.fields["legs.spool"].values)
    names = book.column("outlets.name")
    row = {name: names.index(name) for name in ("B1", "B4", "B5", "B7", "A1")}
    other: dict[str, dict[Place, Value]] = {
        "no such kind": {("outlets.kind", row["B1"]): "branch", ("outlets.kind", row["B7"]): "hole"},
        "no kind": {("outlets.kind", row["B7"]): None},
        "no schedule": {("outlets.schedule", row["B7"]): None, ("outlets.schedule", row["A1"]): None},
        "the first points nowhere": {("outlets.clock_typed", row["A1"]): None},
        "no such leg": {("outlets.on", row["B7"]): "L19"},
        "other kinds": {("outlets.kind", row["B4"]): "stub_in", ("outlets.kind", row["B5"]): "stub_on"},
        "masses": {("outlets.mass", at): 2.5 + at for at in range(0, len(names), 2)},
        "off its pipe": {("outlets.at", row["B7"]): 500.0},
        "no root gap": {("rules.root_gap", 0): None},
        "another root gap": {("rules.root_gap", 0): 0.0},
        "no precision": {("rules.precision", 0): None},
        "a branch without schedule": {("legs.schedule", last - 1): None},
        "the first flush with the bore": {("outlets.kind", 0): "stub_in"},
        "the first flush, and no root gap": {("outlets.kind", 0): "stub_in", ("rules.root_gap", 0): None},
        "the second flush": {("outlets.kind", 0): "stub_on", ("outlets.kind", 1): "stub_in"},
        "the second flush, and no root gap": {
            ("outlets.kind", 0): "stub_on",
            ("outlets.kind", 1): "stub_in",
            ("rules.root_gap", 0): None,
        },
    }
    for name, typed in other.items():
        yield name, {("sketch.spool", 0): "SP-03", **typed}


def _made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    cases = [Case("as built", {}, expected_after(expected_branches, book, {}))]
    for name, typed in _states(book):
        cases.append(Case(name, typed, expected_after(expected_branches, book, typed), own=False))
    book.reset()
    book.calculate()
    return {}, cases


def scenes() -> list[Scene]:
    """A bent pipe, a plain one and a header, in both editions."""
    return [Scene(f"branches {edition}", edition, job, _made, SHEETS, READINGS) for edition in ("inch", "mm")]
