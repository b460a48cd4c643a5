"""Outlets against an independent walk: take-outs, saddles, holes, joints, parts; sentences; states; records."""

from __future__ import annotations

import math
import random
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cell_by_cell import CellByCell, sample, standing
from click.testing import CliRunner
from cutting import shop
from engines import (
    cached_values,
    differences,
    error_values,
    formula_cells,
    recompute_with_formualizer,
    recompute_with_libreoffice,
    require_libreoffice,
    type_into,
)
from live import READINGS, Live, job_of, some
from outlet_jobs import BENT, HEADER, OutletRoutes
from routes import job_text
from test_states import filling
from walk_outlets import SPACING, STUBS, OutletWalk

from workbook_builder.book import column_letters
from workbook_builder.cli import main
from workbook_builder.errors import JobError
from workbook_builder.read import read_workbook

EDITIONS = ["inch", "mm"]
CASES = [(0, "inch"), (1, "inch"), (2, "mm")]
"""Seeds of random jobs and their units; seed 0 is the header with one of each kind."""
SPOOLS_EACH = 25
NEAR = 1e-7
"""Relative; what is found by walking round a cylinder is as near as that."""

Values = dict[str, list[Any]]


@cache
def text_of(seed: int, units: str) -> str:
    return HEADER if seed == 0 else OutletRoutes(seed, units).outlet_job(SPOOLS_EACH)


@cache
def walked(seed: int, units: str, edition: str) -> OutletWalk:
    return OutletWalk(text_of(seed, units), edition)


@cache
def worked(seed: int, units: str, edition: str) -> Values:
    return shop().compute("spool", job_of(text_of(seed, units)), edition)[1].values


def same(book: Any, walk: Any) -> bool:
    """Whether they agree; a blank is None."""
    book = None if book == "" else book
    if book is None or walk is None or isinstance(walk, str):
        return bool(book == walk)
    return bool(abs(book - walk) <= NEAR * max(1.0, abs(walk)))


def rows_by(values: Values, table: str, name: str) -> dict[tuple[str, str], int]:
    """Rows by spool and name."""
    keys = zip(values[f"{table}.spool"], values[f"{table}.{name}"], strict=True)
    return {key: row for row, key in enumerate(keys) if key[0]}


def outlets_hold(walk: OutletWalk, values: Values) -> None:
    """Every outlet is where the walk finds it."""
    at = rows_by(values, "outlets", "name")
    assert set(at) == set(walk.outlets)
    wrong: list[str] = []
    checked = 0
    for key, outlet in walk.outlets.items():
        row = at[key]
        pairs = {
            "takeout": outlet.takeout,
            "long_point": outlet.long_point,
            "short_point": outlet.short_point,
            "clock": outlet.clock,
            "degrees": outlet.degrees,
            "arc": outlet.arc,
            "hole": outlet.hole,
            "hole_long": outlet.hole_long,
            "hole_at": outlet.hole_at,
            "angle": math.degrees(math.acos(max(-1, min(1, float(outlet.way @ outlet.header.way))))),
            "root_east": outlet.root[0],
            "root_north": outlet.root[1],
            "root_up": outlet.root[2],
        }
        if outlet.pipe and outlet.sound:
            pairs |= {"to_start": outlet.to_start, "to_end": outlet.to_end, "begins": outlet.pipe[0]}
        for name, value in pairs.items():
            checked += 1
            if not same(values[f"outlets.{name}"][row], value):
                wrong.append(f"{key} {name}: the workbook has {values[f'outlets.{name}'][row]!r}, the walk {value!r}")
    assert wrong == []
    assert checked > 60


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(("seed", "units"), CASES)
def test_every_outlet_is_where_the_walk_finds_it(seed: int, units: str, edition: str) -> None:
    outlets_hold(walked(seed, units, edition), worked(seed, units, edition))


def branches_hold(walk: OutletWalk, values: Values) -> None:
    """Legs from outlets are cut as the walk lays them."""
    at = rows_by(values, "legs", "leg")
    assert set(at) == set(walk.legs)
    pieces = {mark: row for row, mark in enumerate(values["cuts.mark"]) if mark}
    wrong: list[str] = []
    branches = 0
    for key, leg in walk.legs.items():
        row = at[key]
        for axis, place in zip("xyz", walk.starts[key], strict=True):
            if not same(values[f"legs.{axis}_start"][row], float(place)):
                wrong.append(f"{key} {axis}: {values[f'legs.{axis}_start'][row]} not {place}")
        if leg.node.wrong | leg.end_node.wrong:
            continue
        branches += key in walk.longer
        if not same(values["legs.takeout_start"][row], leg.at_start.takeout):
            wrong.append(f"{key}: take-out {values['legs.takeout_start'][row]} not {leg.at_start.takeout}")
        for number, piece in enumerate(leg.pieces):
            found = values["cuts.cut_length"][pieces[piece.mark]]
            cut = piece.cut_length
            if cut is not None and number == 0:
                cut += walk.longer.get(key, 0.0)
            if not same(found, cut):
                wrong.append(f"{piece.mark}: cut {found} not {cut}")
    assert wrong == []
    assert branches >= 5


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(("seed", "units"), CASES)
def test_legs_from_outlets_are_cut_as_the_walk_lays_them(seed: int, units: str, edition: str) -> None:
    branches_hold(walked(seed, units, edition), worked(seed, units, edition))


def spacing_holds(walk: OutletWalk, values: Values) -> None:
    """Outlets off their pipe, or too near to something, are told."""
    at = rows_by(values, "outlets", "name")
    verdicts = set()
    for key, outlet in walk.outlets.items():
        stops, row = values["outlets.stops"][at[key]] or "", at[key]
        if not outlet.sound:
            continue
        off = outlet.pipe is None or min(outlet.to_start or 0, outlet.to_end or 0) < -1e-9
        assert ("does not stand on pipe" in stops) is off, (key, stops)
        if off:
            continue
        near = [outlet.to_start, outlet.to_end]
        gaps = [
            float(np.linalg.norm(other.middle - outlet.middle)) - outlet.half - other.half
            for other in walk.outlets.values()
            if other.header is outlet.header and other is not outlet
        ]
        assert same(values["outlets.to_next"][row], min(gaps) if gaps else None), key
        least = min(each for each in (*near, *gaps) if each is not None)
        verdict = "✓ within" if least >= SPACING[walk.edition] - 1e-9 else "✗ outside"
        assert values["outlets.verdict"][row] == verdict, key
        verdicts.add(verdict)
    assert "✓ within" in verdicts


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(("seed", "units"), CASES)
def test_outlets_off_their_pipe_or_too_near_are_told(seed: int, units: str, edition: str) -> None:
    spacing_holds(walked(seed, units, edition), worked(seed, units, edition))


CROWDS: dict[str, tuple[str, list[tuple[float, str, float]]]] = {
    # a third one that only the first, not its neighbour by place, is near to: 2 - 2.375 = -3/8
    "overlap": ("4", [(30, "2", 12), (30, "2", 6), (32, "2", 12)]),
    "overlap in another order": ("4", [(32, "2", 12), (30, "2", 12), (30, "2", 6)]),
    "near, not overlapping": ("4", [(30, "1", 12), (30.5, "1", 6), (31, "1", 6.5), (32.5, "1", 12)]),
    "all apart": ("4", [(30, "1", 12), (30, "1", 6), (40, "1", 12), (40, "1", 6)]),
    "the fifth along": ("36", [(30, "1", 12), *((30 + at / 10, "1", 4 + at) for at in range(1, 5)), (31, "1", 12)]),
    **{
        f"random {seed}": (
            "12",
            [
                (20 + rng.randint(0, 60) / 4, rng.choice(["1", "2", "3"]), rng.choice([1.5, 3, 6, 9, 12]))
                for _ in range(9)
            ],
        )
        for seed in range(4)
        for rng in [random.Random(seed)]
    },
}
"""Sizes of headers, and what stands on them: at, size, clock."""
FIFTH = "Another outlet further along, the fifth or more, is nearer than the rule: measure round the header. "
SIZED = {"1": 1.315, "2": 2.375, "3": 3.5, "4": 4.5, "12": 12.75, "36": 36.0}
"""Outside diameters, ASME B36.10M."""


@pytest.mark.parametrize("case", CROWDS)
def test_every_outlet_of_a_leg_is_set_against_every_other(case: str) -> None:
    size, crowd = CROWDS[case]
    outlets: list[dict[str, Any]] = [
        {"name": f"A{row}", "on": "L1", "kind": "weldolet", "schedule": "XS", "height": 1}
        | {"at": at, "size": of, "clock": clock}
        for row, (at, of, clock) in enumerate(crowd, start=1)
    ]
    header = {"mark": "A", "size": size, "schedule": "STD", "start": "bevel", "outlet": outlets}
    values = (
        shop()
        .compute("spool", job_of(job_text([{**header, "leg": [{"east": 100, "end": "plain"}]}])), "inch")[1]
        .values
    )

    def apart(one: int, other: int) -> float:
        """On the header's outside: straight from middle to middle, less half of each branch."""
        (at, of, clock), (at_other, of_other, clock_other) = crowd[one], crowd[other]
        chord = SIZED[size] * math.sin(math.radians(15 * (clock - clock_other)))
        return math.hypot(at - at_other, chord) - SIZED[of] / 2 - SIZED[of_other] / 2

    order = sorted(range(len(crowd)), key=lambda row: (crowd[row][0], row))
    for row in range(len(crowd)):
        gaps = {other: apart(row, other) for other in range(len(crowd)) if other != row}
        place = order.index(row)
        near = [order[at] for at in range(max(0, place - 4), min(len(order), place + 5)) if at != place]
        nearest = min(gaps[other] for other in near)
        wrong = min(gaps.values()) < 2.0 - 1e-9
        assert values["outlets.to_next"][row] == pytest.approx(nearest, abs=1e-9)
        assert values["outlets.verdict"][row] == ("✗ outside" if wrong else "✓ within"), (row, gaps)
        said = str(values["outlets.cautions"][row] or "")
        if not wrong:
            assert said == ""
        elif nearest >= 2.0:
            assert said == FIFTH
        else:
            named = [f"A{other + 1}" for other in near if gaps[other] == pytest.approx(nearest, abs=1e-9)]
            words = "It runs into outlet {}: " if nearest < 0 else "is left to outlet {}, "
            assert any(words.format(name) in said for name in named), (row, said)
    if case == "overlap":
        assert values["outlets.cautions"][0] == 'It runs into outlet A3: 3/8" too near. '


def test_the_random_jobs_hold_every_kind_and_make_what_they_say() -> None:
    kinds: set[str] = set()
    sound = 0
    for seed, units in CASES:
        walk, values = walked(seed, units, "inch"), worked(seed, units, "inch")
        at = rows_by(values, "outlets", "name")
        kinds |= {outlet.said["kind"] for key, outlet in walk.outlets.items() if not values["outlets.stops"][at[key]]}
        sound += sum(not values["outlets.stops"][row] for row in at.values())
    assert kinds == {"weldolet", "sockolet", "threadolet", "half_coupling", "nozzle", *STUBS}
    assert sound > 40


# -- other sheets ------------------------------------------------------------------------------------------------------


@cache
def whole(edition: str) -> Values:
    """Joints, parts and holes of the header."""
    return some().compute("spool", job_of(HEADER), edition)[1].values


@pytest.mark.parametrize("edition", EDITIONS)
def test_joints_parts_and_holes(edition: str) -> None:
    values = whole(edition)
    columns = ("joint", "first_part", "second_part", "kind", "verdict")
    joints = [row for row in zip(*(values[f"joints.{name}"] for name in columns), strict=True) if row[0]]
    found = [(one, two, kind) for _, one, two, kind, _ in joints]
    assert found == [
        ("weld neck flange", "SP-01-L1", "butt"),
        ("SP-01-L1", "weldolet B1", "branch"),
        ("SP-01-L1", "sockolet B2", "branch"),
        ("SP-01-L1", "threadolet B3", "branch"),
        ("SP-01-L1", "SP-01-L5", "branch"),
        ("SP-01-L1", "SP-01-L7", "branch"),
        ("SP-01-L1", "half coupling B6", "branch"),
        ("SP-01-L1", "nozzle B7", "branch"),
        ("SP-01-L1", "cap", "butt"),
        ("weldolet B1", "SP-01-L2", "butt"),
        ("SP-01-L2", "weld neck flange", "butt"),
        ("sockolet B2", "SP-01-L3", "socket"),
        ("threadolet B3", "SP-01-L4", "threaded"),
        ("SP-01-L5", "elbow, long radius", "butt"),
        ("elbow, long radius", "SP-01-L6", "butt"),
        ("SP-01-L7", "field part", "field"),
    ]
    assert {verdict for *_, kind, verdict in joints if kind == "branch"} == {"– branch"}
    assert [name for name, *_ in joints] == [f"T{at}" if at == 13 else f"W{at}" for at in range(1, 16)] + ["FW16"]
    parts = {
        what: (count, mass)
        for what, count, mass in zip(values["parts.what"], values["parts.quantity"], values["parts.mass"], strict=True)
        if what
    }
    assert parts["weldolet 2 XS on 8"] == (1, pytest.approx(2.0 if edition == "inch" else 2 * 0.45359237))
    assert {"sockolet 1 XS on 8", "threadolet 3/4 XS on 8", "half coupling 1/2 XS on 8", "nozzle 2 XS on 8"} <= set(
        parts
    )
    assert not [what for what in parts if "stub" in what]
    walk = OutletWalk(HEADER, edition)
    begins = walk.legs["SP-01", "L1"].pieces[0].begins
    assert begins is not None
    for row, name in enumerate(["B1", "B2", "B3", "B4", "B5", "B6", "B7"]):
        outlet = walk.outlets["SP-01", name]
        assert values["holes.outlet"][row] == name
        assert values["holes.piece"][row] == "SP-01-L1"
        for column, value in (
            ("across", outlet.hole),
            ("along", outlet.hole_long),
            ("from_end", outlet.hole_at - begins),
        ):
            assert same(values[f"holes.{column}"][row], value), (name, column)
        assert values["holes.clock"][row] == outlet.clock
    # the header is not cut
    assert values["legs.piece_count"][0] == 1


def test_the_arc_goes_by_the_full_angle() -> None:
    """A branch that runs 40 north and rises 7.4135 stands at 280.5° round a header of 36 in that runs east."""
    header = {
        "mark": "A", "size": "36", "schedule": "STD", "start": "bevel",
        "outlet": [{"name": "B", "on": "L1", "at": "60 in", "kind": "nozzle", "size": "6", "height": "8 in"}],
        "leg": [
            {"east": "120 in", "end": "bevel"},
            {"from": "B", "size": "6", "schedule": "STD", "north": "40 in", "up": "7.4135 in", "end": "plain"},
        ],
    }  # fmt: skip
    book = Live(job_text([header]), "inch", some())
    assert book.value("outlets.arc", 0) == pytest.approx(math.pi * 36 * 280.5 / 360, abs=1e-4)
    assert book.value("holes.arc_text", 0) == '88-1/8"'
    assert book.value("outlets.degrees", 0) in (280, 281)
    assert book.errors() == []


def test_a_branch_is_marked_out_on_the_pipe_as_it_is_cut() -> None:
    """Trim and shrinkage at the header's start lie before the hole."""
    text = HEADER.replace('start = "weld_neck_flange"', 'start = "bevel"\nstart_trim = "3 in"')
    text = text.replace('units = "inch"', 'units = "inch"\n[rules]\nshrinkage_per_weld = "1/16 in"')
    values = shop().compute("spool", job_of(text), "inch")[1].values
    assert values["outlets.mark_out"][0] == pytest.approx(14 + 3)
    text = text.replace('start = "bevel"\nstart_trim = "3 in"', 'start = "weld_neck_flange"')
    values = shop().compute("spool", job_of(text), "inch")[1].values
    assert values["outlets.mark_out"][0] == pytest.approx(14 - 4 - 1 / 8 + 1 / 16)


BENT_STARTS = {
    "bevel": ("", 0.0, 0.0),
    "trim and shrinkage": ('start_trim = "3 in"', 3.0, 0.0),
    "weld neck": ('start = "weld_neck_flange"', 0.0, 1 / 16),
}
"""What is put in place of the bevel, trim left on, and what the weld there draws in."""


@pytest.mark.parametrize("case", BENT_STARTS)
@pytest.mark.parametrize("edition", EDITIONS)
def test_outlets_on_a_pulled_pipe_are_marked_out_along_it(case: str, edition: str) -> None:
    """The hole is as far from the cut end as the pipe's centreline is long to there, straight lengths and arcs."""
    said, trim, drawn = BENT_STARTS[case]
    text = BENT.replace('precision = "1/64 in"', 'precision = "1/64 in"\nshrinkage_per_weld = "1/16 in"')
    text = text.replace('start = "bevel"', said if "start =" in said else f'start = "bevel"\n{said}')
    values, walk = some().compute("spool", job_of(text), edition)[1].values, OutletWalk(text, edition)
    unit = 1.0 if edition == "inch" else 25.4
    at = rows_by(values, "outlets", "name")
    marks = {"A1": "SP-01-L3", "A2": "SP-01-L3", "A3": "SP-01-L3", "A4": "SP-01-L4", "A5": "SP-01-L6"}
    for (spool, name), outlet in walk.outlets.items():
        row = at[spool, name]
        more = {"A4": 1 / 16, "A5": 0.0}.get(name, trim + drawn) * unit
        more += walk.longer["SP-01", "B1"] if name == "A5" else 0.0
        assert outlet.out is not None
        assert outlet.mark == values["holes.piece"][row] == marks[name]
        assert same(values["outlets.mark_out"][row], outlet.out + more), name
        assert same(values["holes.from_end"][row], outlet.out + more), name
        for column, wanted in (("to_start", outlet.to_start), ("to_end", outlet.to_end)):
            assert same(values[f"outlets.{column}"][row], wanted), (name, column)
    if edition == "inch" and case == "bevel":  # by hand: 20 straight, a quarter of a circle of 20, 50 less its tangent
        assert values["outlets.mark_out"][at["SP-01", "A2"]] == pytest.approx(20 + 20 * math.pi / 2 + (50 - 20))
    joints = [
        (one, two, kind)
        for one, two, kind in zip(
            values["joints.first_part"], values["joints.second_part"], values["joints.kind"], strict=True
        )
        if kind == "branch"
    ]
    assert joints == [
        ("SP-01-L3", "weldolet A1", "branch"),
        ("SP-01-L3", "sockolet A2", "branch"),
        ("SP-01-L3", "SP-01-L6", "branch"),
        ("SP-01-L4", "weldolet A4", "branch"),
        ("SP-01-L6", "weldolet A5", "branch"),
    ]
    pieces = {mark: row for row, mark in enumerate(values["cuts.mark"]) if mark}
    for leg, longer in (("L3", 0.0), ("L6", walk.longer["SP-01", "B1"])):  # a stub that is bent has its saddle too
        (piece,) = walk.legs["SP-01", leg].pieces
        assert piece.cut_length is not None
        assert same(values["cuts.cut_length"][pieces[piece.mark]], piece.cut_length + longer), leg
    assert not any(values["pieces.stops"])


LOOK_BENT = "Look at the Route before cutting: a leg that this bent pipe runs through has a ✗. "
BENT_WRONG = {
    "no straight pipe": ('radius = "20 in"', 'radius = "41 in"'),
    "an outlet in the bend": ('at = "10 in"', 'at = "21 in"'),
    "another schedule": ('north = "90 in"', 'north = "90 in"\nschedule = "XS"'),
    "an outlet in the second bend": ('at = "50 in"', 'at = "88 in"'),
}


@pytest.mark.parametrize("case", BENT_WRONG)
def test_a_bent_pipe_carries_what_is_wrong_with_each_of_its_legs(case: str) -> None:
    old, new = BENT_WRONG[case]
    values = shop().compute("spool", job_of(BENT.replace(old, new, 1)), "inch")[1].values
    stops = dict(zip(values["pieces.mark"], values["pieces.stops"], strict=True))
    assert stops["SP-01-L3"] == LOOK_BENT
    assert not stops["SP-01-L4"]


def workshop_values(text: str) -> Values:
    """The whole spool workbook."""
    book = some((*READINGS, "seams"))
    return book.compute("spool", job_of(text), "inch")[1].values


# -- what cannot be made -----------------------------------------------------------------------------------------------

B1, L2 = 'name = "B1"\non = "L1"\nat = "14 in"\nkind = "weldolet"\nsize = "2"', 'from = "B1"\nup = "18 in"'
JOB_ERRORS = {
    "unknown leg": (B1, B1.replace("L1", "L19"), "outlet B1 stands on 'L19', which is no earlier leg"),
    "unknown leg, no branch": ('name = "B6"\non = "L1"', 'name = "B6"\non = "L11"',
     "outlet B6, on: there is no leg 'L11'"),
    "unknown kind": ('"weldolet"', '"weldolett"', "unknown kind 'weldolett'; did you mean 'weldolet'?"),
    "no height": ('height = "1 1/2 in"\n', "", "outlet B1: height is missing (weldolet needs it)"),
    "a stub's height": ('kind = "stub_on"', 'kind = "stub_on"\nheight = "1 in"', "height has no meaning here"),
    "a leg's name": ('name = "B6"', 'name = "L3"', "outlet L3, name: 'L3' is the name of a leg too"),
    "start": ('name = "B6"', 'name = "start"',
     "outlet start, name: 'start' is the name of a leg too, or has a meaning"),
    "twice": ('name = "B6"', 'name = "B5"', "outlet no. 6, name: 'B5' is already taken by outlet no. 5"),
    "a leg of another size": (L2, L2 + '\nsize = "3"', "size 3 is not that of outlet B1, which is 2"),
    "two legs": ('from = "B2"', 'from = "B1"', "more than one leg starts from outlet B1"),
    "no such outlet": ('from = "B2"', 'from = "B9"', "from: there is no leg 'B9'"),
    "clock and way": ("clock = 4.5", 'clock = 4.5\ntowards = "up"', "towards and clock are both given"),
    "clock over 13": ("clock = 4.5", "clock = 13", "clock: 13"),
    "on its own branch": ('name = "B1"\non = "L1"', 'name = "B1"\non = "L2"',
     "outlet B1 stands on 'L2', which is no earlier leg"),
}  # fmt: skip
SHEET_ERRORS = {
    "under the cap": ('at = "14 in"', 'at = "97 in"', 0,
     'It does not stand on pipe: it reaches from 95-13/16" to 98-3/16", the pipe from 4-1/8" to 95-7/8".'),
    "under the flange": ('at = "14 in"', 'at = "3 in"', 0, "It does not stand on pipe"),
    "larger than its header": ('kind = "stub_on"\nsize = "4"', 'kind = "stub_on"\nsize = "10"', 3,
     "The branch is larger than its header."),
    "does not go in": ('kind = "stub_in"\nsize = "3"', 'kind = "stub_in"\nsize = "8"', 4,
     "The branch does not go into the header's bore: use stub_on."),
    "along its header": ('up = "18 in"', 'east = "18 in"', 0, "The branch runs in the header's own direction."),
    "back along its header": ('up = "18 in"', 'east = "-18 in"', 0, "The branch runs in the header's own direction."),
    "not square": ('up = "18 in"', 'up = "18 in"\neast = "18 in"', 0,
     "It stands square on its header, and the branch leaves at 45°"),
    "points nowhere": ('towards = "down"\n', "", 5, "No leg starts from it: say the way it points, or its clock."),
    "points along": ('towards = "down"', 'towards = "east"', 5, "It cannot point along its header."),
}  # fmt: skip


@pytest.mark.parametrize("case", JOB_ERRORS)
def test_a_job_that_cannot_be_is_refused_in_a_sentence(case: str) -> None:
    old, new, sentence = JOB_ERRORS[case]
    assert old in HEADER
    with pytest.raises(JobError) as caught:
        job_of(HEADER.replace(old, new, 1))
    assert sentence in str(caught.value)


@pytest.mark.parametrize("case", SHEET_ERRORS)
def test_what_cannot_be_made_is_said_on_the_sheet(case: str) -> None:
    old, new, row, sentence = SHEET_ERRORS[case]
    assert old in HEADER
    values = shop().compute("spool", job_of(HEADER.replace(old, new, 1)), "inch")[1].values
    assert sentence in str(values["outlets.stops"][row])
    assert "See Outlets." in str(values["legs.stops"][0])


def test_the_header_itself_is_sound() -> None:
    values = worked(0, "inch", "inch")
    assert not any(values["outlets.stops"])
    assert not any(values["legs.stops"])
    assert [row for row, said in enumerate(values["outlets.cautions"]) if said] == [2, 5]  # make-up from memory


# -- typed by hand, other engines, records -----------------------------------------------------------------------------


def typed_outlets(path: Path, share: float, seed: int) -> dict[tuple[str, str], Any]:
    """Anything at all typed into the cells that describe outlets."""
    chance = random.Random(seed)
    typed: dict[tuple[str, str], Any] = {}
    for one in read_workbook(path).names:
        if one.typed and one.table == "outlets":
            for row, column in one.places():
                if chance.random() < share:
                    values = ["B1", "L1", "SP-01", "weldolet", "stub_in", "2", "8", "up", "x", "1e9", ""]
                    value: Any = (
                        chance.choice(values)
                        if one.unit_kind == "text"
                        else chance.choice([0.0, -1.0, 1e-9, 3.5, 40.0, 1e9])
                    )
                    typed[one.tab, f"{column_letters(column)}{row + 1}"] = value
    return typed


@pytest.mark.parametrize("edition", ["inch", pytest.param("mm", marks=pytest.mark.thorough)])
def test_every_state_agrees_with_libreoffice(edition: str, tmp_path: Path) -> None:
    require_libreoffice()
    book = some()
    full = tmp_path / "header.xlsx"
    full.write_bytes(book.build("spool", job_of(HEADER), edition))
    states = {
        "header": full,
        "half": type_into(full, tmp_path / "half.xlsx", filling(read_workbook(full), 0.5, 1)),
        "anything": type_into(full, tmp_path / "any.xlsx", typed_outlets(full, 0.3, 2)),
        "more": type_into(full, tmp_path / "more.xlsx", typed_outlets(full, 0.1, 3)),
    }
    recomputed = recompute_with_libreoffice(list(states.values()), tmp_path, seconds=600)
    for name, path in states.items():
        ours = cached_values(path) if name == "header" else recompute_with_formualizer(path)
        ours = {cell: ours.get(cell) for cell in formula_cells(path)}
        assert error_values(ours) == {}, name
        assert differences(ours, recomputed[path]) == [], name


def test_a_header_agrees_with_the_formulas_package(tmp_path: Path) -> None:
    path = tmp_path / "header.xlsx"
    path.write_bytes(some().build("spool", job_of(HEADER), "inch"))
    type_into(path, path, typed_outlets(path, 0.2, 4))
    asked = CellByCell(path, standing(path))
    kept = sample(asked.formulas, asked.given, 5)
    assert differences({cell: asked.given[cell] for cell in kept}, asked.recompute(kept)) == []


def test_a_leg_from_nowhere_leaves_no_error_value() -> None:
    """Its outlets stand on a pipe whose start is not known."""
    book = Live(BENT, "inch", some())
    for row, leg in enumerate(book.column("legs.leg")):
        if leg:
            book.put("legs.from", "L9", row)
            book.calculate()
            assert book.errors() == [], leg
            book.reset()


def run(*arguments: str) -> None:
    done = CliRunner().invoke(main, list(arguments))
    assert done.exit_code == 0, done.output


@pytest.mark.thorough
def test_the_record_carries_outlets_both_ways(tmp_path: Path) -> None:
    job, book, back, again = (str(tmp_path / name) for name in ("a.toml", "a.xlsx", "b.toml", "b.xlsx"))
    Path(job).write_text(HEADER, encoding="utf-8")
    run("build", "spool", "--job", job, "--out", book)
    run("read", book, "--job", back)
    text = Path(back).read_text(encoding="utf-8")
    assert text.count("[[spool.outlet]]") == 7
    run("build", "spool", "--job", back, "--out", again)
    assert Path(book).read_bytes() == Path(again).read_bytes()


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_intake_workbook_carries_outlets(edition: str, tmp_path: Path) -> None:
    job, intake, one, two = (str(tmp_path / name) for name in ("a.toml", "intake.xlsx", "one.xlsx", "two.xlsx"))
    Path(job).write_text(HEADER, encoding="utf-8")
    run("build", "intake", "--job", job, "--edition", edition, "--out", intake)
    run("build", "spool", "--job", intake, "--edition", "inch", "--out", one)
    run("build", "spool", "--job", job, "--edition", "inch", "--out", two)
    assert Path(one).read_bytes() == Path(two).read_bytes()
