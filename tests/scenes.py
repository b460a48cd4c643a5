"""Scenes for `mutants.py`: open workbooks with what their cells must hold, taken from the oracles of the tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import alike
import drawings
import gauges
import paperwork
import rarities
import staged_bevels
import staged_bores
import staged_branches
import staged_connections
import staged_dimensions
import staged_envelope
import staged_faces
import staged_flanges
import staged_outlets
import staged_record
import staged_route_said
import staged_seams
import staged_tacks
import takeoff
import test_facing
import test_material
import test_outlets
import test_readings
import test_route
import test_route_messages
import test_small_bore
import test_wild
from gauges import Place, Value
from live import Live
from oracles import Reader, walked, yard
from routes import Routes
from routes_wild import Wild
from staging import Case, Look, Scene
from walk import Facts, Walk
from walk_ends import WideWalk
from walk_faces import FacedWalk

TypedCase = tuple[test_route_messages.Cells, str, int, str]
"""What is typed, and the cell that then says something: its name, row and words."""


class Cells(dict[str, Any]):
    """Columns of an open workbook, taken when asked for; a blank is an empty text."""

    def __init__(self, book: Live) -> None:
        super().__init__()
        self.book = book

    def __missing__(self, name: str) -> list[Any]:
        self[name] = ["" if value is None else value for value in self.book.column(name)]
        return list(self[name])

    def __contains__(self, name: object) -> bool:
        return name in self.book.book.fields


ROUTE = frozenset({"legs", "cuts", "pieces", "items", "spools"})
EVERYWHERE = frozenset({"proofs"})
COUNTED = frozenset({"legs", "route"})


def route_look(walk: Walk, silent: bool = False) -> Look:
    """Legs, pieces and totals against the walk, laid down through space; `silent`: what is said is looked at too."""

    def look(book: Live) -> list[str]:
        rows = alike.Rows(Cells(book))
        for spool in walk.spools:
            found = [*alike.legs_unlike(rows, spool), *alike.pieces_unlike(rows, spool, walk)]
            if found:
                return found
        found = [*alike.totals_unlike(rows, walk), *test_route.unlaid(walk, rows)]
        return found or (alike.unsaid(walk, rows, alike.SENTENCES) if silent else [])

    return look


def parts_look(walk: Walk) -> Look:
    """Parts, one by one."""
    counted = test_material.parts_counted(walk)

    def look(book: Live) -> list[str]:
        shown = test_material.parts_shown(book)
        same = len(shown) == len(counted) and all(map(test_material.close, shown, counted))
        return [] if same else ["parts are not those of the job"]

    return look


def proofs_look(book: Live) -> list[str]:
    """Worked examples come out."""
    verdicts = {value for value in book.column("proofs.verdict") if value is not None}
    right = book.value("checks.right") == len(book.book.cases) and book.value("checks.wrong") == 0
    return [] if verdicts == {gauges.WITHIN} and right else ["a worked example does not come out"]


def counts_look(book: Live) -> list[str]:
    """Sums that a sheet shows of its own rows' words."""
    said = {name: [bool(value) for value in book.column(f"legs.{name}")] for name in ("stops", "cautions")}
    told, wanted = book.value("route.legs_told"), f"{sum(said['stops'])} ✗, {sum(said['cautions'])} to look at"
    return [] if told == wanted else [f"route.legs_told: {told!r}, not {wanted!r}"]


def all_of(walk: Walk, typed: Mapping[Place, Value]) -> dict[Place, Value]:
    """What every oracle finds for a job with readings."""
    return {
        **gauges.expected_readings(walk, typed),
        **takeoff.expected_material(walk),
        **paperwork.expected_cuts(walk, typed),
        **paperwork.expected_ends(walk),
        **paperwork.expected_route(walk),
        **paperwork.expected_rules(walk, typed),
        **paperwork.expected_spools(walk),
        **paperwork.expected_items(walk),
        **drawings.expected_dial(walk, typed),
        **drawings.expected_sketch(walk, typed, {"one": 0.0, "two": 1.0}),
    }


def blank_look(walk: Walk) -> Look:
    """Rows after the last joint, pipe and pipe end are blank."""
    joints, pieces = len(gauges.joints_of(walk)), len(gauges.pieces_of(walk))
    after = {
        "joints": (joints, ("leg_row", "label", "first_part", "second_part", "kind", "verdict", "action")),
        "pieces": (pieces, ("mark", "cut_text", "verdict", "start_item", "end_item")),
        "ends": (2 * pieces, ("piece", "goes_to", "verdict", "action")),
    }

    def look(book: Live) -> list[str]:
        return [
            f"{table}.{name} goes on after row {last}"
            for table, (last, names) in after.items()
            for name in names
            if any(value is not None for value in book.column(f"{table}.{name}")[last:])
        ]

    return look


def looks_at(walk: Walk, silent: bool = False) -> list[tuple[frozenset[str], Look]]:
    """Everything that is looked at besides."""
    rows = frozenset({"joints", "pieces", "ends"})
    return [
        (rows, blank_look(walk)),
        (ROUTE, route_look(walk, silent)),
        (frozenset({"parts"}), parts_look(walk)),
        (EVERYWHERE, proofs_look),
    ]


def scenes() -> list[Scene]:
    """All scenes, those that notice most and cost least first."""
    demo = lambda: test_route.text_of(0, "inch")  # noqa: E731
    return [
        _read("demo", demo, "inch", 3, None, None),
        _read("demo", demo, "mm", 4, "SP-03 W5", "SP-03"),
        *staged_route_said.scenes(),
        _read("yard", yard, "inch", 1, "Y03 W2", "Y12"),
        _read("yard", yard, "mm", 2, "Y04 W6", "Y06"),
        *(_ruled(edition) for edition in ("inch", "mm")),
        *(_routes(*how) for how in ((1, "inch", "inch"), (2, "mm", "mm"), (3, "inch", "mm"))),
        *(_good_routes(seed, edition) for seed, edition in ((10, "inch"), (11, "mm"))),
        *(_said(edition) for edition in ("inch", "mm")),
        *(_rare(edition) for edition in ("inch", "mm")),
        *(_wild(*how) for how in ((1, "inch", "inch"), (2, "mm", "mm"))),
        *(_wild_mistakes(*how) for how in ((3, "inch", "inch"), (4, "mm", "mm"))),
        *(_faced(*how) for how in ((11, "inch", "inch"), (11, "mm", "mm"))),
        *(_outlets(*how) for how in ((1, "inch", "inch"), (0, "inch", "mm"))),
        Scene("typed", "inch", lambda: None, _typed),
        Scene("typed, mm", "mm", lambda: None, _typed_mm),
        Scene("a long spool", "inch", rarities.long_spool, _long),
        *(_kinds(count) for count in (takeoff.PIPE_ROWS, takeoff.PIPE_ROWS + 1, takeoff.PART_ROWS + 1)),
        *(_small_bore(edition) for edition in ("inch", "mm")),
        Scene("by hand", "inch", lambda: None, _by_hand, ("sketch", "fitup", "items", "parts")),
        *staged_branches.scenes(),
        *staged_bores.scenes(),
        *staged_tacks.scenes(),
        *staged_flanges.scenes(),
        *staged_bevels.scenes(),
        *staged_outlets.scenes(),
        *staged_seams.scenes(),
        *staged_connections.scenes(),
        *staged_envelope.scenes(),
        *staged_record.scenes(),
        *staged_dimensions.scenes(),
        *staged_faces.scenes(),
    ]


def _readings(text: str, edition: str, seed: int, joint: Value, spool: Value) -> dict[Place, Value]:
    chosen: dict[Place, Value] = {("dial.joint", 0): joint, ("sketch.spool", 0): spool}
    return Reader(edition, seed).readings(walked(text, edition)) | chosen


def _read(name: str, text: Callable[[], str], edition: str, seed: int, joint: Value, spool: Value) -> Scene:
    """A job with readings everywhere, and lengths as cut."""

    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = walked(text(), edition)
        typed = _readings(text(), edition, seed, joint, spool) | _cut(walk, seed)
        wanted = all_of(walk, typed) | staged_route_said.expected_route_rows(book)
        cases = [Case("as read", typed, wanted, looks_at(walk))]
        more = _sketched(walk, typed) if name == "yard" else [_unproven(book)]
        return typed, [*cases, *more]

    return Scene(f"{name} {edition}", edition, text, made)


def _unproven(book: Live) -> Case:
    """Worked examples that do not come out: what is printed beside them is too much, too little, or words."""
    typed: dict[Place, Value] = {}
    wanted: dict[Place, Value] = {}
    rows = book.rows("proofs", ("published", "found", "within"))
    for row, proof in enumerate(rows):
        off = (2.0, -2.0, None, "by eye")[row % 4]
        if off is None:
            wanted["proofs.verdict", row] = gauges.WITHIN
            continue
        wanted["proofs.verdict", row] = gauges.OUTSIDE
        if isinstance(off, str):
            typed["proofs.published", row], wanted["proofs.difference", row] = off, 1.0
            continue
        typed["proofs.published", row] = proof["published"] + off * (1 + proof["within"])
        wanted["proofs.difference", row] = abs(proof["found"] - proof["published"] - off * (1 + proof["within"]))
    wrong = sum(each == gauges.OUTSIDE for each in wanted.values())
    wanted |= {("checks.wrong", 0): float(wrong), ("checks.right", 0): float(len(rows) - wrong)}
    return Case("examples that do not come out", typed, wanted, own=False)


def _ruled(edition: str) -> Scene:
    """The yard without readings, then with some that chance would hardly bring, and with take-outs measured."""

    def made(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = walked(yard(), edition)
        typed = {place: value for place, value in _cut(walk, 0).items() if place[0] == "pieces.as_cut"}
        cases = [Case("blank", typed, all_of(walk, typed), looks_at(walk, True))]
        states = [(state.name, state.typed) for state in test_readings.special_states(edition)]
        if edition == "mm":  # what a blank rule leads to is the same in both
            states = [(name, typed) for name, typed in states if not name.startswith("no ")]
        states += [(f"readings {seed}", _readings(yard(), edition, seed, "Y12 W7", None)) for seed in (5, 6, 7)]
        for name, more in states:
            wanted = gauges.expected_readings(walk, more) | drawings.expected_dial(walk, more)
            cases.append(Case(name, more, wanted))
        return typed, [*cases, *_measured(walk, typed)]

    return Scene(f"rules and readings {edition}", edition, yard, made)


def _cut(walk: Walk, seed: int) -> dict[Place, Value]:
    """Lengths as cut: right, a step off, more than a step off, to another revision."""
    typed: dict[Place, Value] = {}
    step = walk.rules["precision"]
    offs = (0.0, step, -step, step * 1.01, -step * 1.01, None, 3 * step)
    for row, (_, piece) in enumerate(gauges.pieces_of(walk)):
        off = offs[(row + seed) % len(offs)]
        if off is not None and piece.cut_length is not None:
            typed["pieces.as_cut", row] = piece.cut_length + off
        typed["pieces.cut_to", row] = (None, "B", "A", None, "C")[(row * 3 + seed) % 5]
    return typed


def _measured(walk: Walk, before: Mapping[Place, Value]) -> Iterator[Case]:
    """Take-outs measured at the fitting in the hand."""
    unit = 1.0 if walk.edition == "inch" else 25.4
    for side in range(3):
        typed: dict[Place, Value] = {}
        for row in range(len(gauges.pieces_of(walk))):
            if side != 1:
                typed["cuts.measured_start", row] = (1.5 + row % 5 / 8) * unit
            if side != 0:
                typed["cuts.measured_end", row] = (2.25 - row % 3 / 16) * unit
        yield Case(f"measured {side}", typed, paperwork.expected_cuts(walk, {**before, **typed}))


def _sketched(walk: Walk, typed: Mapping[Place, Value]) -> Iterator[Case]:
    """Other spools, other pairs of work points."""
    asked: list[tuple[Value, Value, Value]] = [
        ("Y12", 2.0, 6.0), ("Y02", 1.0, 100.0), ("Y02", 100.0, 1.0), ("Y02", 1.0, 9.0), ("Y12", 6.0, 7.0),
        ("Y02", 4.0, 0.0), ("Y06", 1.0, 3.0), ("nowhere", 0.0, 1.0),
        (None, 0.5, 1.0), ("Y13", -1.0, 2.0), ("Y13", 1.0, 1.5),
    ]  # fmt: skip
    for spool, one, two in asked:
        more: dict[Place, Value] = {("sketch.spool", 0): spool, ("sketch.one", 0): one, ("sketch.two", 0): two}
        both = {**typed, **more}
        wanted = drawings.expected_sketch(walk, both, {"one": 0.0, "two": 1.0})
        yield Case(f"sketch {spool} {one} {two}", more, wanted, own=False)
    yield Case(
        "no legs", {("spools.mark", len(walk.spools)): "Y99", ("sketch.spool", 0): "Y99"},
        {("sketch.told", 0): "this spool has no legs yet"}, own=False,
    )  # fmt: skip
    unit = 1.0 if walk.edition == "inch" else 25.4
    every = range(sum(len(leg.pieces) for leg in walk.legs))
    yield Case(
        "a root face thicker than any wall", {("rules.root_face", 0): 3 * unit},
        {("pieces.bevelled", row): None for row in every}, own=False,
    )  # fmt: skip
    joints = [f"{joint.leg.spool} {joint.label}" for joint in gauges.joints_of(walk) if joint.kind != "fillet"]
    first = {
        (f"joints.{kind}_{hour}", 0): (0.1 + turn / 5000) * unit
        for kind in ("gap", "hi_lo")
        for hour, turn in gauges.CLOCK.items()
    }
    second: dict[Place, Value] = {(name, 1): None for name, _ in first}
    unruled = {**dict.fromkeys(first), ("joints.hi_lo_worst", 0): None, ("rules.root_gap_max", 0): None}
    yield _clocked(walk, typed, "no reading and no limit", joints[0], unruled)
    yield _clocked(walk, typed, "the first joint", joints[0], {**first, **second})
    wide = {"12": 0.5, "3": 0.5, "6": 0.1, "9": 0.1}
    for name, sign in (
        ("wide", 1.0),
        ("wide the other way", -1.0),
    ):  # further out between the hours than at any of them
        more = {(f"joints.{kind}_{hour}", 0): None for kind in ("gap", "hi_lo") for hour in gauges.CLOCK}
        for hour, gap in wide.items():
            more |= {("joints.gap_" + hour, 0): gap * unit, ("joints.hi_lo_" + hour, 0): sign * (gap - 0.3) * unit}
        yield _clocked(walk, typed, name, joints[0], {**more, ("joints.hi_lo_worst", 0): None})
    for at, name in enumerate(f"{kind}_{hour}" for kind in ("gap", "hi_lo") for hour in gauges.CLOCK):
        # every reading of a joint but one
        row = [f"{joint.leg.spool} {joint.label}" for joint in gauges.joints_of(walk)].index(joints[3 + at])
        more = {(f"joints.gap_{hour}", row): 0.1 * unit + turn / 5000 for hour, turn in gauges.CLOCK.items()}
        more |= {(f"joints.hi_lo_{hour}", row): turn / 9000 for hour, turn in gauges.CLOCK.items()}
        yield _clocked(
            walk, typed, f"clock without {name}", joints[3 + at], {**first, **more, (f"joints.{name}", row): None}
        )
    for joint in ("Y07 W3", "Y01 W1", "nowhere"):
        yield _clocked(walk, typed, f"clock of {joint}", joint, {})


def _clocked(walk: Walk, typed: Mapping[Place, Value], name: str, joint: Value, more: Mapping[Place, Value]) -> Case:
    """The clock of a joint, with other readings."""
    cells = {**more, ("dial.joint", 0): joint}
    return Case(name, cells, drawings.expected_dial(walk, {**typed, **cells}), own=False)


def _routes(seed: int, units: str, edition: str) -> Scene:
    """Random spools, good ones and such as cannot be made."""

    def text() -> str:
        return Routes(seed, units).job(14)

    def made(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = Walk(text(), edition)
        wanted = {
            **paperwork.expected_cuts(walk, {}),
            **paperwork.expected_route(walk),
            **paperwork.expected_rules(walk, {}),
            **paperwork.expected_spools(walk),
            **paperwork.expected_items(walk),
        }
        return {}, [Case("walked", {}, wanted, [(ROUTE, route_look(walk, True)), (EVERYWHERE, proofs_look)])]

    return Scene(f"routes {seed} {edition}", edition, text, made)


def _good_routes(seed: int, edition: str) -> Scene:
    """Random spools that can be made, with their joints and material."""

    def text() -> str:
        return test_material.random_job(seed, edition)

    def made(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = Walk(text(), edition)
        return {}, [Case("walked", {}, all_of(walk, {}), looks_at(walk, True))]

    return Scene(f"good routes {seed}", edition, text, made)


def _rare(edition: str) -> Scene:
    """Parts that chance hardly brings together."""

    def text() -> str:
        return rarities.rarities(edition)

    def made(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = Walk(text(), edition)
        typed = Reader(edition, 8).readings(walk)
        return typed, [Case("walked", typed, all_of(walk, typed), looks_at(walk, True))]

    return Scene(f"rarities {edition}", edition, text, made)


def _whole_look(walk: WideWalk) -> Look:
    """Everything that the walk of all ends finds."""
    return lambda book: test_wild.all_unlike(walk, alike.Rows(Cells(book)))


def _wild(seed: int, units: str, edition: str) -> Scene:
    """Random spools with every end and joint that can be made, with readings."""

    def text() -> str:
        return test_material.made_of(Wild(seed, units).job(25), units, WideWalk)

    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = WideWalk(text(), edition)
        typed = Reader(edition, seed).readings(walk)
        wanted = all_of(walk, typed) | staged_route_said.expected_route_rows(book)
        return typed, [Case("walked", typed, wanted, [*looks_at(walk)[2:], (ROUTE, _whole_look(walk))])]

    return Scene(f"wild {seed} {edition}", edition, text, made)


def _wild_mistakes(seed: int, units: str, edition: str) -> Scene:
    """Random spools with every end and joint, such as cannot be made among them."""

    def text() -> str:
        return Wild(seed, units).job(25)

    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = WideWalk(text(), edition)
        wanted = {**paperwork.expected_route(walk), **paperwork.expected_spools(walk), **paperwork.expected_items(walk)}
        wanted |= staged_route_said.expected_route_rows(book)
        return {}, [Case("walked", {}, wanted, [(ROUTE, _whole_look(walk))])]

    return Scene(f"wild mistakes {seed} {edition}", edition, text, made)


def _faced(seed: int, units: str, edition: str) -> Scene:
    """Random spools with facings, gaskets and valves of the table."""

    def text() -> str:
        return test_material.made_of(test_facing.FacedRoutes(seed, units).job(30), units, FacedWalk)

    def made(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = FacedWalk(text(), edition)
        return {}, [Case("walked", {}, all_of(walk, {}), looks_at(walk, True)), *_measured(walk, {})]

    return Scene(f"faced {seed} {edition}", edition, text, made)


def _outlets(seed: int, units: str, edition: str) -> Scene:
    """Headers with outlets of every kind, and the legs from them."""

    def made(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = test_outlets.walked(seed, units, edition)

        def look(book: Live) -> list[str]:
            cells = Cells(book)
            for holds in (test_outlets.outlets_hold, test_outlets.branches_hold, test_outlets.spacing_holds):
                holds(walk, cells)
            return []

        return {}, [
            Case("walked", {}, {}, [(ROUTE | {"outlets"}, look)], frozenset({"outlets.takeout", "legs.x_start"}))
        ]

    return Scene(f"outlets {seed} {edition}", edition, lambda: test_outlets.text_of(seed, units), made)


def _long(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """A spool that the sketch cannot draw whole."""
    walk = Walk(rarities.long_spool(), "inch")
    every = drawings.expected_sketch(walk, {}, {"one": 0.0, "two": 1.0})
    drawn = ("sketch.shown", "sketch.leg_count", "sketch.east_overall", "sketch.north_overall", "sketch.up_overall",
             "sketch.straight_overall", "points.label", "points.x", "points.y", "points.z")  # fmt: skip
    wanted = {place: value for place, value in every.items() if place[0] in drawn}
    told = "only the first 40 legs are drawn"
    return {}, [Case("walked", {}, wanted | {("sketch.told", 0): told}, [(ROUTE, route_look(walk))])]


def _said(edition: str) -> Scene:
    """Sentences that a job file leads to."""
    said = test_route_messages.SAID

    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        wanted: dict[Place, Value] = staged_route_said.expected_route_rows(book)
        for at, case in enumerate(said.values(), start=1):
            if case.only in ("", edition):
                column, place = case.where
                table = column.partition(".")[0]
                row = test_route_messages.rows_of(book, f"S{at}", "pieces" if table == "cuts" else table)[place]
                wanted[column, row] = (case.mm if edition == "mm" and case.mm else case.text) or None
        # the caution's limit is said to a tenth of a degree
        at = list(said).index("cocked by more")
        row = test_route_messages.rows_of(book, f"S{at + 1}", "legs")[0]
        finer = Case(
            "limit", {("rules.cocked_max", 0): 2.96}, {("legs.cautions", row): wanted["legs.cautions", row]}, own=False
        )
        return {}, [Case("said", {}, wanted, [(COUNTED, counts_look)]), finer]

    return Scene(f"sentences {edition}", edition, test_route_messages.job_of_sentences, made)


def _typed(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """Sentences that only typing leads to, on a blank workbook: as many spools as it has room for, side by side."""
    cases = [Case("blank", {}, {("fitup.joints_total", 0): 0.0, ("material.told", 0): "no"})]
    anywhere: list[tuple[str, TypedCase]] = []
    alone: list[tuple[str, TypedCase]] = []
    bare = test_route_messages.typed({**test_route_messages.LEG_1, "legs.schedule": None})
    more: dict[str, TypedCase] = {"part of a leg without schedule": (bare, "parts.size", 0, "!6 ")}
    for name, each in (test_route_messages.TYPED | more).items():
        tables = {place.partition(".")[0] for place, _ in each[0]} | {each[1].partition(".")[0]}
        if "rules" in tables:
            cases.append(_typed_case(name, each))
        else:
            (anywhere if tables <= {"spools", "legs", "details", "items"} else alone).append((name, each))
    together = 6  # two spools each: a blank workbook has rows for twelve
    while anywhere or alone:
        cells: dict[Place, Value] = {}
        watched: set[str] = set()
        looks: list[tuple[frozenset[str], Look]] = []
        spools, legs, items = 0, 0, 0
        first = alone[:1]
        room = together - len(first)
        chosen = [*first, *anywhere[:room]]
        alone, anywhere = alone[1:], anywhere[room:]
        for at, (_name, (typed, column, row, wanted)) in enumerate(chosen):
            shift = {"spools": spools, "legs": legs, "details": legs, "more": legs, "items": items}
            for (place, below), value in typed.items():
                marked = place == "spools.mark" or place.endswith(".spool")
                table = place.partition(".")[0]
                cells[place, below + shift.get(table, 0)] = f"{value}{at}" if marked and value else value
            table = column.partition(".")[0]
            looks.append((frozenset({table}), _holds(column, row + shift.get(table, 0), wanted)))
            watched.add(column)
            below_it = [below for place, below in typed if place.partition(".")[0] in ("legs", "details", "more")]
            spools, legs, items = spools + 2, legs + max(4, 1 + max(below_it, default=0)), items + 1
        rows = staged_route_said.held(book, cells)
        cases.append(Case(" / ".join(name for name, _ in chosen), cells, rows, looks, frozenset(watched)))
    return {}, cases


def _by_hand(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """What a blank workbook shows of a few rows typed by hand."""
    made, leg = test_route_messages.typed, test_route_messages.LEG_1
    second = {**leg, "legs.leg": "L2", "legs.from": "start", "legs.east": None, "legs.north": 30.0, "legs.end": "cap"}
    other = {**leg, "legs.spool": "B", "legs.end": "bevel"}
    valve: dict[str, Value] = {"spool": "A", "leg": "L1", "item": "valve", "at": 30.0, "length": 6.0}

    def item(row: int, **more: Value) -> dict[str, Value]:
        return {f"items__{name}__{row}": value for name, value in {**valve, **more}.items()}

    spool_b: dict[str, Value] = {
        "spools__mark__1": "B",
        "spools__start__1": "slip_on_flange",
        "spools__flange_class__1": "300",
    }
    cells: dict[str, tuple[dict[Place, Value], dict[Place, Value]]] = {
        "measured past a point that is not known": (
            made({**leg, "legs.from": "L7", "legs.end": "tee"}, second, sketch__two__0=2.0),
            {("sketch.pair_known", 0): 1.0, ("sketch.straight_pair", 0): 30.0, ("points.x", 1): None},
        ),
        "measured back past it": (
            made({**leg, "legs.from": "L7", "legs.end": "tee"}, second, sketch__one__0=2.0, sketch__two__0=0.0),
            {("sketch.pair_known", 0): 1.0, ("sketch.straight_pair", 0): 30.0},
        ),
        "measured from it": (
            made({**leg, "legs.from": "L7", "legs.end": "tee"}, second, sketch__one__0=1.0, sketch__two__0=0.0),
            {("sketch.pair_known", 0): None, ("sketch.straight_pair", 0): None},
        ),
        "measured to it": (
            made({**leg, "legs.from": "L7", "legs.end": "tee"}, second, sketch__one__0=0.0, sketch__two__0=1.0),
            {("sketch.pair_known", 0): None, ("sketch.straight_pair", 0): None},
        ),
        "a valve without a place": (
            made(leg, **item(0, at=None, ends="butt")),
            {("items.stops", 0): "Say where it stands: at, or against an end. "},
        ),
        "a slip-on beside a leg without a wall": (
            made({**leg, "legs.schedule": None, "legs.end": "bevel"}, other, **spool_b),
            {
                ("joints.root_diameter", 0): None,
                ("joints.action", 2): "Slip-on: pipe end 1/4 behind the face †; square the flange, no root gap.",
            },
        ),
        "a flange typed at a valve with butt ends": (
            made({**leg, "legs.end": "bevel"}, **item(0, ends="butt", flange="weld_neck_flange")),
            {("joints.second_part", 1): "valve", ("joints.first_part", 2): "valve"},
        ),
        "a valve between threaded flanges": (
            made({**leg, "legs.size": "2", "legs.end": "bevel"}, **item(0, ends="flanged", flange="threaded_flange")),
            # 1 in through a flange of NPS 2, class 150, less what is screwed in by hand and wrench
            {("joints.kind", 1): "threaded", ("joints.joint", 2): "T3", ("items.taken", 0): 6 + 2 * (1 - 0.6969)},
        ),
        "a valve as long as the table has it": (  # ASME B16.10: NPS 6 gate, class 150, 10-1/2 in
            made(leg, **item(0, ends="flanged", flange="weld_neck_flange", valve="gate", length=10.5, gasket=0.0)),
            {("items.cautions", 0): None},
        ),
        "a spool without legs": (
            {("spools.mark", 0): "A"},
            {("parts.spool", 40): "A", ("parts.what", 40): None},
        ),
        "a valve of its leg's class": (
            made(leg, second, other, **spool_b, **item(0, spool="B", ends="flanged", flange="weld_neck_flange")),
            {("parts.what", row): what for row, what in PARTS_BY_HAND.items()},
        ),
    }
    blank = Case("blank", {}, {("sketch.told", 0): "no spool yet: type one on Spools"})
    return {}, [blank, *(Case(name, typed, wanted, own=False) for name, (typed, wanted) in cells.items())]


PARTS_BY_HAND = {
    40: "weld neck flange 6 STD class 150",
    41: "slip-on flange 6 STD class 300",
    52: "valve 6 class 300, flanged",
    64: "weld neck flange 6 STD class 300",
}
"""Rows of a blank workbook's Parts, and what stands there: starts of spools, items, flanges beside them."""


def _small_bore(edition: str) -> Scene:
    """Every socket and threaded fitting, with what was read of its joints."""

    def made(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        walk = WideWalk(test_small_bore.text(edition, "theory"), edition)
        cases = [Case("as built", {}, gauges.expected_readings(walk, {}))]
        for at, typed in enumerate(test_small_bore.read_states(edition)):
            cases.append(Case(f"state {at}", typed, gauges.expected_readings(walk, typed), own=False))
        return {}, cases

    return Scene(
        f"small bore {edition}", edition, lambda: test_small_bore.text(edition, "theory"), made, ("fitup", "route")
    )


def _typed_mm(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """A flanged item without a class of its own takes that of the spool, which is one of EN."""
    made = test_route_messages.typed
    leg: dict[str, Value] = {**test_route_messages.LEG_1, "legs.east": 2000.0, "legs.end": "bevel"}
    item: dict[str, Value] = {
        "spool": "A",
        "leg": "L1",
        "at": 1000.0,
        "length": 200.0,
        "ends": "flanged",
        "flange": "weld_neck_flange",
    }
    typed = made(leg, spools__flange_class__0="PN16", **{f"items__{name}__0": value for name, value in item.items()})
    facts = Facts("mm")
    hub = facts.value(facts.row("flange_en", size="6", **{"class": "PN16"}), "weld_neck")
    assert hub is not None
    return {}, [Case("item", typed, {("items.taken", 0): 200.0 + 2 * hub + 2 * 3.0})]


def _typed_case(name: str, said: TypedCase) -> Case:
    cells, column, row, wanted = said
    look = (frozenset({column.partition(".")[0]}), _holds(column, row, wanted))
    return Case(name, cells, {}, [look], frozenset({column}), own=False)


def _holds(column: str, row: int, wanted: str) -> Look:
    """A look at one cell: it says this; or nothing, where nothing is wanted."""

    def look(book: Live) -> list[str]:
        told = str(book.value(column, row) or "")
        right = test_route_messages.says(told, wanted)
        return [] if right else [f"{column} says {told!r}, not {wanted!r}"]

    return look


def _kinds(count: int) -> Scene:
    """More kinds of pipe and parts than the lists have rows."""

    def text() -> str:
        return test_material.many(count)

    def made(_: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        return {}, [Case("counted", {}, takeoff.expected_material(Walk(text(), "inch")))]

    return Scene(f"{count} kinds", "inch", text, made)
