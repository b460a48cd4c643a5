"""Scenes for `mutants.py`: Weld log, Release and Release points, held against `records.py`."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from typing import Any

import handover
import records
from live import Live, Place, Value, one_inch
from records import BOXES, CHANCE, COMPLETE, FLAGGED, LEFT_OPEN
from routes import job_text
from staging import Case, Scene

SHEETS = ("welds", "release", "release_points")
PIPE: Mapping[str, Any] = {"size": "6", "schedule": "STD", "class": "150", "start": "weld_neck_flange"}
WN = "weld_neck_flange"
CLOCKS = (12, 3, 6, 9)
LEGS, ITEMS = 42, 31
"""Of the long spool: more legs than are drawn, and 286 lines, more than Release has."""


def job(units: str) -> str:
    """Spools for every kind of joint, of part before, and of line."""
    far = 1 if units == "inch" else 25.4
    valve = {"item": "gate valve", "length": 10 * far, "against": "end", "ends": "flanged", "flange": WN}
    check = {"item": "check valve", "length": 14 * far, "at": 30 * far, "ends": "butt"}
    outlets: list[dict[str, Any]] = [
        {"name": "B1", "on": "L3", "at": 20 * far, "kind": "weldolet", "size": "2", "height": 1.5 * far},
        {"name": "B2", "on": "L3", "at": 50 * far, "kind": "stub_on", "size": "4"},
        {"name": "B3", "on": "L3", "at": 80 * far, "kind": "sockolet", "size": "1", "height": 1.125 * far},
    ]
    found: list[dict[str, Any]] = [
        {"mark": "S0", **PIPE,
         "leg": [{"up": 12.625 * far, "end": "elbow", "make_up": True}, {"east": 40 * far, "end": WN}]},
        {"mark": "S1", "drawing": "D-1", "revision": "B", "material": "A106-B", **PIPE,
         "leg": [{"east": 70 * far, "end": "elbow", "inline": [valve]},
                 {"up": 60 * far, "end": "elbow", "inline": [check]}, {"north": 40 * far, "end": WN}]},
        {"mark": "S2", "drawing": "D-2", **PIPE, "size": "8", "outlet": outlets,
         "leg": [{"up": 40 * far, "end": "elbow"}, {"north": 50 * far, "end": "elbow"},
                 {"east": 100 * far, "end": "tee"}, {"east": 30 * far, "end": "cap"},
                 {"from": "L3", "up": 30 * far, "end": WN},
                 {"from": "B1", "up": 18 * far, "schedule": "XS", "end": WN},
                 {"from": "B2", "north": 40 * far, "end": "bevel"},
                 {"from": "B3", "north": 12 * far, "schedule": "XS", "end": "plain"}]},
        {"mark": "S3", "revision": "A", "size": "12", "schedule": "STD", "start": "bevel", "start_trim": 2 * far,
         "leg": [{"east": 80 * far, "end": "bevel", "trim": 4 * far, "field_gap": "half"}]},
        {"mark": "S4", "material": "A53-B", "size": "30", "schedule": "STD", "start": "plain",
         "leg": [{"east": -140 * far, "north": -140 * far, "end": "plain"}]},
        {"mark": "S5", **PIPE, "start": "tee",
         "leg": [{"east": -30 * far, "end": WN}, {"east": 35 * far, "from": "start", "end": WN},
                 {"up": 25 * far, "from": "start", "end": "elbow"}, {"north": 90 * far, "end": "cap"}]},
        {"mark": "S6", "size": "1", "schedule": "80", "start": "plain", "joint": "threaded", "fitting_class": 3000,
         "leg": [{"east": 20 * far, "end": "elbow"}, {"up": 20 * far, "end": "plain"}]},
        {"mark": "S7", **PIPE, "start": "slip_on_flange", "leg": [{"east": 12 * far, "end": "slip_on_flange"}]},
        {"mark": "S8", "size": "6", "schedule": "40", "start": "cap", "leg": [{"up": 3 * far, "end": "cap"}]},
        {"mark": "S9", **PIPE, "leg": [{"up": 12.625 * far, "end": "elbow", "make_up": True}]},
    ]  # fmt: skip
    return job_text(found, units)


def long_job() -> str:
    """One spool that is longer than a page and its drawing."""
    legs: list[dict[str, Any]] = []
    for at in range(LEGS):
        legs.append({"up": 40, "end": "weld" if at < LEGS - 1 else "bevel"})
        if at < ITEMS:
            legs[-1]["inline"] = [{"item": "valve", "length": 2, "at": 20, "ends": "wafer", "flange": "slip_on_flange"}]
    return job_text([{"mark": "LONG", **PIPE, "start": "bevel", "leg": legs}])


# -- what is typed -----------------------------------------------------------------------------------------------------


def log_line(row: int, line: Mapping[str, Value]) -> dict[Place, Value]:
    """A line of the log typed, its other boxes cleared."""
    return {(f"welds.{name}", row): line.get(name) for name in BOXES}


def chance_line(rng: random.Random) -> dict[str, Value]:
    """A line of the log as chance would have it."""
    return {name: rng.choice(values) for name, values in CHANCE.items()}


def filled(book: Live, mark: str) -> dict[Place, Value]:
    """Everything that makes a spool's record complete, sheet by sheet."""
    cells: dict[Place, Value] = {}
    for row, at in enumerate(book.rows("pieces", ["spool", "cut_length"])):
        if at["spool"] == mark:
            cells |= {
                ("pieces.as_cut", row): at["cut_length"],
                ("pieces.heat", row): "H1",
                ("pieces.cut_by", row): "A.E.",
            }
    for row, at in enumerate(book.rows("joints", ["spool", "kind"])):
        if at["spool"] == mark:
            if at["kind"] != "fillet":
                cells |= {(f"joints.gap_{clock}", row): book.value("rules.root_gap") for clock in CLOCKS}
                cells |= {(f"joints.hi_lo_{clock}", row): 0.0 for clock in CLOCKS}
            cells |= {(f"welds.{name}", row): value for name, value in COMPLETE.items()}
    for row, at in enumerate(book.rows("flanges", ["spool", "pair", "lean", "wanted"])):
        if at["spool"] == mark:
            cells["flanges.level_degrees", row] = at["lean"] or 0.0
            cells["faces.marks", row] = 10 * one_inch(book.edition)
            cells |= {(f"faces.{where}_{clock}", row): 10.0 for where in ("near", "far") for clock in CLOCKS}
    for row, at in enumerate(book.rows("dimensions", ["spool", "drawing"])):
        if at["spool"] == mark:
            cells["dimensions.as_built", row] = at["drawing"]
    return cells


def complete(book: Live, mark: str) -> dict[Place, Value]:
    """The same, and nothing else left in the boxes of its lines."""
    cells = filled(book, mark)
    for row, spool in enumerate(book.column("joints.spool")):
        if spool == mark:
            cells |= log_line(row, COMPLETE)
    pieces = enumerate(book.column("pieces.spool"))
    return cells | {("pieces.cut_to", row): None for row, spool in pieces if spool == mark}


def outside_elsewhere(book: Live, mark: str) -> dict[str, dict[Place, Value]]:
    """Readings that are outside on the sheets that have no line on Release, at a spool's first end and first weld."""
    inch = one_inch(book.edition)
    end = book.column("ends.spool").index(mark)
    joint = next(
        row
        for row, at in enumerate(book.rows("joints", ["spool", "kind"]))
        if at["spool"] == mark and at["kind"] != "fillet"
    )
    bores: dict[Place, Value] = {("bores.joint", 0): book.value("joints.label", joint)}
    for row, across in ((0, 6.0), (1, 6.5)):
        bores |= {(f"bore_sizes.bore_{at}", row): across * inch for at in ("12_6", "1_7", "3_9", "4_10")}
    return {
        "Ends": {("ends.square_12_6", end): inch / 2},
        "Bevel": {("bevels.angle_read", end): 50.0},
        "Level": {
            ("levels.clean", joint): "yes", ("levels.first_12", joint): 0.0, ("levels.second_12", joint): 5.0,
            ("levels.first_3", joint): 0.0, ("levels.second_3", joint): 0.0,
        },
        "Bores": bores,
        "Tacks": {("tacks.read_1", joint): inch},
    }  # fmt: skip


def chance(book: Live, seed: int) -> dict[Place, Value]:
    """A log, cuts, fit-ups, flanges, faces and dimensions at random: much right, some outside, some not read."""
    rng = random.Random(seed)
    inch = one_inch(book.edition)
    typed: dict[Place, Value] = {}

    def rows(table: str, column: str) -> list[tuple[int, Any]]:
        return [(row, value) for row, value in enumerate(book.column(f"{table}.{column}")) if value is not None]

    def often(value: Value, share: float = 0.8) -> Value:
        return value if rng.random() < share else None

    for row, length in rows("pieces", "cut_length"):
        typed["pieces.as_cut", row] = often(length + rng.choice((0.0, 0.0, 0.01, -0.375, 1.0)) * inch)
        typed["pieces.heat", row] = often(f"P{row}")
        typed["pieces.cut_by", row] = often("B.C.", 0.5)
        typed["pieces.cut_to", row] = rng.choice((None, None, "B", "C"))
    for row, _ in rows("joints", "joint"):
        typed |= log_line(row, chance_line(rng))
        wild = rng.choice((0.0, 0.0, 0.02, 0.2)) * inch
        for clock in CLOCKS:
            typed[f"joints.gap_{clock}", row] = often(inch / 8 + rng.uniform(-wild, wild), 0.95)
            typed[f"joints.hi_lo_{clock}", row] = often(rng.uniform(-wild, wild), 0.95)
    for row, lean in rows("flanges", "lean"):
        typed["flanges.level_degrees", row] = often(lean + rng.choice((0.0, 0.1, 1.0, -2.0)))
    for row, _ in rows("faces", "flange"):
        typed["faces.marks", row] = often(10 * inch)
        for where in ("near", "far"):
            for clock in CLOCKS:
                typed[f"faces.{where}_{clock}", row] = (10 + rng.choice((0.0, 0.0, 0.0, 0.1))) * inch
    for row, drawn in rows("dimensions", "drawing"):
        typed["dimensions.as_built", row] = often(drawn + rng.choice((0.0, 0.01, -0.01, 1.0)) * inch)
        typed["dimensions.measured_by", row] = often("D.E.", 0.5)
    return typed


# -- the scenes --------------------------------------------------------------------------------------------------------


def scenes() -> list[Scene]:
    """The same spools in both editions, in one of them with every state; and a spool too long for its page."""
    return [
        *(_scene(edition) for edition in ("inch", "mm")),
        Scene("a long spool released", "inch", long_job, _long, SHEETS, handover.SHEETS),
    ]


def _scene(edition: str) -> Scene:
    def text() -> str:
        return job(edition)

    def made(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
        few, many = _states(book), _more_states(book)
        return _cases(book, _base(book), {**few, **many} if edition == "inch" else few)

    return Scene(f"record {edition}", edition, text, made, SHEETS, handover.SHEETS)


def _cases(
    book: Live, typed: Mapping[Place, Value], states: Mapping[str, Mapping[Place, Value]]
) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """The states on top of what is typed first, and what must hold in each; the workbook is left as it was."""
    blank = {place: book.column(place[0])[place[1]] for place in typed}
    book.put_all(typed)
    cases = [Case("as typed first", typed, records.expected(book))]
    book.typed.clear()
    for name, more in states.items():
        book.put_all(more)
        cases.append(Case(name, more, records.expected(book), own=False))
        book.reset()
    book.put_all(blank)
    return typed, cases


def _base(book: Live) -> dict[Place, Value]:
    """Chance everywhere, but for a spool that is complete and one of which only the field welds are left."""
    typed = chance(book, 1) | complete(book, "S3") | complete(book, "S7")
    typed |= {place: None for place in complete(book, "S3") if place[0].startswith(("welds.", "joints."))}
    measured = {"ends.square": "square 4", "fitup.gauge": None, "flanges.level": "level 5", "dimensions.tape": None}
    typed |= {(name, 0): gauge for name, gauge in measured.items()} | {("rules.procedure", 0): "WPS-9"}
    # the very first pipe and the very first joint pass their heats on
    passed: dict[Place, Value] = {("pieces.heat", 0): "P0", ("welds.second_heat", 0): "E7"}
    taken: list[Place] = [("welds.first_heat", 1), ("welds.second_heat", 1), ("welds.first_heat", 2)]
    return typed | passed | dict.fromkeys(taken)


CHOOSE: Place = ("release.spool", 0)


def _states(book: Live) -> dict[str, dict[Place, Value]]:
    """Spools one by one, and preheat by edition and base metal."""
    marks = [mark for mark in book.column("spools.mark") if mark is not None]
    found: dict[str, dict[Place, Value]] = {f"spool {mark}": {CHOOSE: mark} for mark in [*marks[1:], "nobody"]}
    asked = [("B31.3-2010", "P-1"), ("B31.3-2014 on", "P-4"), ("B31.3-2014 on", "P-8"), ("B31.3-2010", "P-15E"),
             ("another", "P-1"), ("B31.3-2010", None), (None, "P-1"), ("B31.3-2014 on", "P-15E")]  # fmt: skip
    for code, metal in asked:
        found[f"preheat {code} {metal}"] = {("welds.code_edition", 0): code, ("welds.p_number", 0): metal}
    return found


def _more_states(book: Live) -> dict[str, dict[Place, Value]]:
    """What chance would hardly bring."""
    found: dict[str, dict[Place, Value]] = {}
    joints = [row for row, joint in enumerate(book.column("joints.joint")) if joint is not None]
    for seed, mark in ((2, "S1"), (3, "S5")):
        rng = random.Random(seed)
        log = {place: value for row in joints for place, value in log_line(row, chance_line(rng)).items()}
        found[f"chance {seed}"] = {**log, CHOOSE: mark}
    lines = [{**COMPLETE, **more} for more, _ in (*FLAGGED, *LEFT_OPEN)]
    log = {
        place: value for row, line in zip(joints, lines, strict=False) for place, value in log_line(row, line).items()
    }
    found["lines"] = {**log, ("rules.procedure", 0): None, CHOOSE: "S2"}
    idle = {(f"welds.{name}", row): None for row in joints for name in ("root_on", "cap_on")}
    found["nothing welded"] = {**idle, CHOOSE: "S2"}
    found["one welded early"] = {**idle, ("welds.root_on", 3): 40000.0}
    found |= _held_up(book)
    found |= _broken(book)
    return found


def _held_up(book: Live) -> dict[str, dict[Place, Value]]:
    """A complete spool, and what holds it up, one thing at a time."""
    whole = {**complete(book, "S0"), CHOOSE: "S0"}
    inch = one_inch(book.edition)
    size = book.column("dimensions.drawing")[0]
    joint, piece = 0, book.column("pieces.spool").index("S0")
    last = book.column("joints.spool").index("S1")
    found: dict[str, dict[Place, Value]] = {
        "complete": whole,
        "one line open": {**whole, ("dimensions.as_built", 0): None},
        "one line outside": {**whole, ("dimensions.as_built", 0): size + inch},
        "one cut outside": {**whole, ("pieces.as_cut", piece): 1.0},
        "a limit is blank": {**whole, ("rules.hi_lo_max", 0): None, ("rules.spool_max", 0): None},
        "one field weld to follow": {
            **{
                place: value
                for place, value in complete(book, "S3").items()
                if place[1] != book.column("joints.spool").index("S3")
            },
            CHOOSE: "S3",
        },
        "a step below nothing": {
            **whole,
            ("joints.hi_lo_3", joint): -0.0001 * inch,
            ("joints.hi_lo_9", joint): -0.02 * inch,
        },
        "a slip of the keys": {**whole, ("joints.hi_lo_3", joint): -1e13, ("joints.gap_6", last): 1e13},
    }
    for mark in ("S0", "S3"):
        for sheet, wrong in outside_elsewhere(book, mark).items():
            found[f"outside on {sheet} of {mark}"] = {**(whole if mark == "S0" else {}), **wrong, CHOOSE: mark}
        every = {place: value for each in outside_elsewhere(book, mark).values() for place, value in each.items()}
        found[f"{mark} outside elsewhere"] = {**(whole if mark == "S0" else {}), **every, CHOOSE: mark}
        found[f"only {mark} outside elsewhere"] = {**every, CHOOSE: "S1"}
    other = {place: value for each in outside_elsewhere(book, "S1").values() for place, value in each.items()}
    found["only another one's outside"] = {**whole, **other}
    return found


def _broken(book: Live) -> dict[str, dict[Place, Value]]:
    """Routes that cannot be made, spools without legs, no spools."""
    first = book.column("legs.spool").index
    no_heats: dict[Place, Value] = {
        ("welds.first_heat", row): None for row, spool in enumerate(book.column("joints.spool")) if spool == "S1"
    }
    empty = [mark is None for mark in book.column("spools.mark")].index(True)
    return {
        "a spool without legs": {("spools.mark", empty): "EMPTY", CHOOSE: "EMPTY"},
        "no spool": {("spools.mark", 0): None},
        "hangs on nothing": {**no_heats, ("legs.from", first("S1") + 1): "nowhere", CHOOSE: "S1"},
        "the first hangs on nothing": {("legs.from", first("S0")): "nowhere", CHOOSE: "S0"},
        "goes nowhere": {("legs.up", first("S1") + 1): None, CHOOSE: "S1"},
        "a line alone": {("legs.east", first("S4")): None, ("legs.north", first("S4")): None, CHOOSE: "S4"},
        "no such schedule": {("legs.schedule", first("S1") + 1): "999", CHOOSE: "S1"},
        "no such size": {("legs.size", first("S5")): "7", CHOOSE: "S5"},
    }


def _long(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """The long spool with fewer legs and items: just as many lines as there is room for, and as are printed."""
    legs = [row for row, spool in enumerate(book.column("legs.spool")) if spool]
    items = [row for row, spool in enumerate(book.column("items.spool")) if spool]
    states: dict[str, dict[Place, Value]] = {}
    for kept, left in ((LEGS - 2, ITEMS), (11, 2)):
        less: dict[Place, Value] = {("legs.spool", row): None for row in legs[kept:]}
        less |= {("items.spool", row): None for row in items[left:]}
        states[f"{kept} legs and {left} items"] = less
    return _cases(book, log_line(0, COMPLETE), states)
