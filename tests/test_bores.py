"""Bores: two tubes in space, oval and eccentric by known amounts, are measured as a fitter would, and lined up anew.

The steps that lining up, turning and trimming leave are found by trying every place round the pipe.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from gauges import DIAMETERS, fine, hours_of
from joinery import EDITIONS, NO_RULE, OPEN, OUTSIDE, SHEETS, WITHIN, cleared, row_of, typed, wrong_cells
from live import NASTY, Live, Value, one_inch, some
from staged_bores import PLACES, Array, Tube, diameters, said
from walk import _rows

HI_LO = {"inch": 1 / 16, "mm": 1.5}
SPACES = ("bores", "bore_sizes")
ROUND = np.radians(np.arange(0, 360, 0.5))


def steps(one: Tube, other: Tube) -> Array:
    """Hi-lo all round with the bores lined up, + second inside."""
    found: Array = one.inside(ROUND) - other.inside(ROUND)
    return found


def best_turn(one: Tube, other: Tube) -> tuple[float, float, float]:
    """The smallest and the largest hi-lo that turning the second part can give, and the turn for the smallest."""
    tries = {turn: float(np.abs(steps(one, replace(other, long_at=other.long_at + turn))).max()) for turn in range(180)}
    least = min(tries, key=lambda turn: tries[turn])
    return tries[least], max(tries.values()), least


def type_parts(opened: Live, row: int, joint: str, *parts: Mapping[str, Value]) -> dict[str, Any]:
    """A joint chosen in a row of Bores and its parts typed; what the row says."""
    names = [name for name, at in typed(opened, ("bore_sizes",)) if at == 0]
    state: dict[tuple[str, int], Value] = {("bores.joint", row): joint}
    for at in (0, 1):
        given = parts[at] if at < len(parts) else {}
        state |= {(name, 2 * row + at): given.get(name.partition(".")[2]) for name in names}
    opened.put_all(state)
    return opened.row("bores", row)


def random_tube(chance: random.Random, edition: str) -> Tube:
    one = one_inch(edition)
    wall = chance.uniform(0.25, 0.32) * one
    bore = 6.065 * one + chance.uniform(-0.06, 0.06) * one
    off = (chance.uniform(-0.02, 0.02) * one, chance.uniform(-0.02, 0.02) * one)
    return Tube(
        bore, chance.choice([0.0, chance.uniform(0.02, 0.2) * one]), float(chance.randrange(180)), bore + 2 * wall, off
    )


@pytest.mark.parametrize("edition", EDITIONS)
def test_two_tubes_in_space(edition: str) -> None:
    """Bores, ovals, hi-lo, turn, outside step and trimming are those that were put in."""
    opened, chance, one = cleared(edition), random.Random(4), one_inch(edition)
    labels = [label for label in opened.column("joints.label") if label]
    near = 2e-4 * one
    for number in range(25):
        first, second = random_tube(chance, edition), random_tube(chance, edition)
        row = number % 20
        opened.reset()
        told = type_parts(opened, row, labels[1], first.read(chance), second.read(chance))
        for at, tube in enumerate((first, second)):
            part = opened.row("bore_sizes", 2 * row + at)
            assert part["bore_mean"] == pytest.approx(tube.bore) and part["oval"] == pytest.approx(tube.oval, abs=1e-9)
            if tube.oval:
                turn = math.radians(tube.long_at)
                hours = {hours_of(math.cos(turn), math.sin(turn)), hours_of(-math.cos(turn), -math.sin(turn))}
                assert part["long_at"] in hours
            else:
                assert part["long_at"] is None
            walls = [float(tube.out(math.radians(at)) - tube.inside(math.radians(at))) for at in PLACES.values()]
            assert part["thinnest"] == pytest.approx(min(walls))
        least, most, turn_to = best_turn(first, second)
        assert told["now"] == pytest.approx(np.abs(steps(first, second)).max(), abs=near)
        assert told["best"] == pytest.approx(least, abs=near) and told["worst"] == pytest.approx(most, abs=near)
        assert told["best"] <= told["now"] + 1e-12 and told["now"] <= told["worst"] + 1e-12
        if first.oval and second.oval:
            assert -90 < told["turn"] <= 90 + 1e-9
            assert (told["turn"] - turn_to + 90) % 180 - 90 == pytest.approx(0, abs=1.01)
            turned = replace(second, long_at=second.long_at + told["turn"])
            again = type_parts(opened, row, labels[1], first.read(chance), turned.read(chance))
            assert again["now"] == pytest.approx(told["best"]) and again["turn"] == pytest.approx(0, abs=1e-5)
        else:
            assert told["turn"] is None
        places = np.radians(list(PLACES.values()))
        assert told["outside_step"] == pytest.approx(np.abs(first.out(places) - second.out(places)).max())
        trimmed(told, first, second)


def trimmed(told: dict[str, Any], first: Tube, second: Tube) -> None:
    """Bored round to the wider part's mean bore the narrow part keeps at least the wall that the sheet says."""
    if told["trim_to"] is None:
        assert told["verdict"] == WITHIN and told["wall_left"] is None
        return
    narrow, wide = (second, first) if second.bore < first.bore else (first, second)
    assert told["trim_to"] == pytest.approx(wide.bore)
    assert told["taper"] == pytest.approx(4 * max(0.0, wide.bore - (narrow.bore - narrow.oval / 2)) / 2)
    places = np.radians(list(PLACES.values()))
    bored = np.maximum(narrow.inside(places), told["trim_to"] / 2)
    left = narrow.out(places) - bored
    assert told["wall_left"] <= left.min() + 1e-9
    if not narrow.oval:
        assert told["wall_left"] == pytest.approx(left.min())
    # the bore of the narrow part is then round: the wider one's oval is what stays
    after = np.abs(np.maximum(narrow.inside(ROUND), told["trim_to"] / 2) - wide.inside(ROUND)).max()
    assert told["wide_oval"] == pytest.approx(wide.oval / 4)
    if narrow.bore + narrow.oval / 2 <= told["trim_to"]:
        assert after == pytest.approx(told["wide_oval"], abs=2e-4 * after + 1e-9)


@pytest.mark.parametrize("edition", EDITIONS)
def test_clamped_on_the_outside(edition: str) -> None:
    """Lined up by the outsides the walls make the step: thick against thin, eccentric against true."""
    opened, one, chance = cleared(edition), one_inch(edition), random.Random(8)
    label = opened.column("joints.label")[1]
    first = Tube(6.065 * one, 0.0, 0.0, 6.625 * one)
    second = replace(first, off=(0.05 * one, 0.0))
    told = type_parts(opened, 0, label, first.read(chance), second.read(chance))
    # with the outsides lined up the bores stand off by as much as the second is eccentric
    assert told["clamped"] == pytest.approx(0.05 * one) and told["now"] == pytest.approx(0, abs=1e-9)
    assert told["verdict"] == WITHIN and " when lined up" not in told["action"]
    second = replace(first, off=(0.08 * one, 0.0))
    told = type_parts(opened, 0, label, first.read(chance), second.read(chance))
    assert told["verdict"] == WITHIN and told["action"] == (
        f"Within {fine(HI_LO[edition], edition)} when lined up by the bores: clamped on the outside it would be "
        f"{fine(0.08 * one, edition)}. Outside steps by up to {fine(0.08 * one, edition)}: taper the weld across it."
    )


def of_table(name: str, size: str) -> dict[str, str]:
    """A row of a reference table by size."""
    return next(row for row in _rows(name) if row["size"] == size)


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_the_tolerances_allow(edition: str) -> None:
    """Nothing measured: bores by the limits of pipe and fittings, pipe first, second, on neither or both sides."""
    opened = cleared(edition)
    unit_word = {"inch": "in", "mm": "mm"}[edition]
    labels = [label for label in opened.column("joints.label") if label]
    opened.put_all({("bores.joint", at): label for at, label in enumerate(labels[:20])})
    limits = {row["key"]: row for row in _rows("pipe_tolerance")}
    nominal = {row["size"]: float(row["nominal"]) for row in _rows("nominal_size")}
    pipes = 0
    for at, _label in enumerate(labels[:20]):
        told = opened.row("bores", at)
        spans, outs = [], []
        for half in (0, 1):
            part = opened.row("bore_sizes", 2 * at + half)
            size, od, wall = part["size"], part["od"], part["wall"]
            is_pipe = "-L1" in part["part"] or "-L2" in part["part"]
            assert part["is_pipe"] == is_pipe
            pipes += is_pipe
            if is_pipe:
                small, thin = nominal[size] <= 2.5, wall / od <= 0.05
                key = "10" if small else ("11" if thin else "12") if nominal[size] <= 18 else ("14" if thin else "15")
                more = float(limits[key]["over_percent"]) / 100
                less = float(limits["9"]["under_percent"]) / 100
                row = of_table("pipe_od_tolerance", size)
                over, under = float(row[f"over_{unit_word}"]), float(row[f"under_{unit_word}"])
                spans.append((od - under - 2 * wall * (1 + more), od + over - 2 * wall * (1 - less)))
            else:
                row = of_table("fitting_tolerance", size)
                bore = float(row[f"bore_{unit_word}"])
                over, under = float(row[f"od_plus_{unit_word}"]), float(row[f"od_minus_{unit_word}"])
                spans.append((od - 2 * wall - bore, od - 2 * wall + bore))
            outs.append((od - under, od + over))
        # any pair of bores within the limits, tried on a grid
        tries = [abs(a - b) / 2 for a in np.linspace(*spans[0], 41) for b in np.linspace(*spans[1], 41)]
        assert told["worst"] == pytest.approx(max(tries)) and told["best"] <= min(tries) + 1e-12
        assert told["best"] == 0
        tries = [abs(a - b) / 2 for a in np.linspace(*outs[0], 41) for b in np.linspace(*outs[1], 41)]
        assert told["outside_step"] == pytest.approx(max(tries))
        assert told["verdict"] == OPEN and told["now"] is None and told["turn"] is None
        assert told["action"] == (
            f"By the tolerances hi-lo comes to 0{' mm' if edition == 'mm' else ''} at best, "
            f"{fine(told['worst'], edition)} at worst: measure four bores and walls of both parts (Bore sizes)."
        )
    assert pipes > 10


@pytest.mark.parametrize("edition", EDITIONS)
def test_one_part_measured(edition: str) -> None:
    """The other still goes by its limits; outside diameters and walls stand in for a bore that was not read."""
    opened, one, chance = cleared(edition), one_inch(edition), random.Random(2)
    label = opened.column("joints.label")[1]
    first = Tube(6.065 * one, 0.04 * one, 20.0, 6.625 * one)
    told = type_parts(opened, 0, label, first.read(chance))
    other = opened.row("bore_sizes", 1)
    assert told["verdict"] == OPEN and told["measured"] == 1
    low, high = first.bore - first.oval / 2, first.bore + first.oval / 2
    assert told["worst"] == pytest.approx(max(high - other["nominal_low"], other["nominal_high"] - low) / 2)
    assert told["action"].endswith("measure four bores and walls of the elbow (Bore sizes).")
    assert told["action"].startswith("By what is measured and the tolerances hi-lo comes to ")
    told = type_parts(opened, 0, label, {}, first.read(chance))
    assert told["action"].endswith("measure four bores and walls of the pipe S1-L1 (Bore sizes).")
    far = replace(first, bore=6.6 * one, outside=7.2 * one)
    told = type_parts(opened, 0, label, far.read(chance))
    assert told["verdict"] == OUTSIDE and told["best"] > HI_LO[edition]
    known = {name: value for name, value in first.read(chance).items() if not name.startswith("bore_")}
    told = type_parts(opened, 0, label, known)
    part = opened.row("bore_sizes", 0)
    wanted = [first.outside - known["wall_12"] - known["wall_6"], first.outside - known["wall_3"] - known["wall_9"]]
    assert part["bore_low"] == pytest.approx(min(wanted)) and part["bore_high"] == pytest.approx(max(wanted))
    assert part["bore_low"] == pytest.approx(2 * float(min(first.inside(0.0), first.inside(math.pi / 2))))
    assert told["measured"] == 0 and told["verdict"] == OPEN


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_counterbore(edition: str) -> None:
    """C = OD − 0.031 − 1.75 t − 0.010 in (0.79, 0.25 mm) of the joint's size; the wall it would leave."""
    opened, one, chance = cleared(edition), one_inch(edition), random.Random(1)
    labels = [label for label in opened.column("joints.label") if label]
    less = {"inch": 0.031 + 0.010, "mm": 0.79 + 0.25}[edition]
    opened.put_all({("bores.joint", at): label for at, label in enumerate(labels[:20])})
    for at in range(20):
        part, told = opened.row("bore_sizes", 2 * at), opened.row("bores", at)
        assert told["counterbore"] == pytest.approx(part["od"] - less - 1.75 * part["wall"])
    opened.reset()
    first, second = Tube(6.0 * one, 0.0, 0.0, 6.62 * one), Tube(6.05 * one, 0.02 * one, 0.0, 6.63 * one)
    told = type_parts(opened, 0, labels[1], first.read(chance), second.read(chance))
    left = [(6.62 * one - max(6.0 * one, told["counterbore"])) / 2]
    left.append((6.63 - 6.06) / 2 * one - max(0.0, told["counterbore"] - 6.04 * one) / 2)
    assert told["left_at_c"] == pytest.approx(min(left))


@pytest.mark.parametrize("edition", EDITIONS)
def test_limits(edition: str) -> None:
    """Hi-lo at, just under and just over; wall left against the design minimum; walls 1.5 to 1."""
    opened, one, chance = cleared(edition), one_inch(edition), random.Random(7)
    label = opened.column("joints.label")[1]
    most = HI_LO[edition]
    first = Tube(6.0 * one, 0.0, 0.0, 6.6 * one)
    base = first.read(chance)
    for part, wanted in ((0.0, WITHIN), (0.999, WITHIN), (1.0, WITHIN), (1.001, OUTSIDE), (3.0, OUTSIDE)):
        for sign in (-1, 1):
            bores = {f"bore_{name}": 6.0 * one + sign * 2 * part * most for name in DIAMETERS}
            told = type_parts(opened, 0, label, base | {f"bore_{name}": 6.0 * one for name in DIAMETERS}, base | bores)
            assert told["verdict"] == wanted, (part, sign)
    wide: dict[str, Value] = {**base, **{f"bore_{name}": 6.2 * one for name in DIAMETERS}}
    narrow = base | {f"bore_{name}": 6.0 * one for name in DIAMETERS} | {f"wall_{name}": 0.3 * one for name in PLACES}
    for minimum, word in ((0.199, "Trim the pipe"), (0.2, "Trim the pipe"), (0.2001, "Do not trim: the pipe")):
        told = type_parts(opened, 0, label, narrow | {"design_minimum": minimum * one}, wide)
        assert told["verdict"] == OUTSIDE and word in told["action"], (minimum, told["action"])
    for minimum, thin in ((0.2999, 0), (0.3, 0), (0.3001, 1)):
        told = type_parts(opened, 0, label, narrow | {"design_minimum": minimum * one}, narrow)
        assert told["thin"] == thin and told["verdict"] == (OUTSIDE if thin else WITHIN)
        told = type_parts(opened, 0, label, narrow, narrow | {"design_minimum": minimum * one})
        assert told["thin"] == 2 * thin
    for ratio, flag in ((1.0, 0), (1.499, 0), (1.5, 0), (1.501, 1), (2.0, 1)):
        thick = narrow | {f"wall_{name}": 0.3 * ratio * one for name in PLACES}
        for parts in ((narrow, thick), (thick, narrow)):
            assert type_parts(opened, 0, label, *parts)["unequal"] == flag


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_is_said(edition: str) -> None:
    """Every sentence, word by word."""
    opened, one, chance = cleared(edition), one_inch(edition), random.Random(5)
    labels = opened.column("joints.label")
    true = Tube(6.0 * one, 0.0, 0.0, 6.6 * one)

    def told(first: Mapping[str, Value], second: Mapping[str, Value], label: str = labels[1]) -> str:
        found = type_parts(opened, 0, label, first, second)
        assert found["verdict"][0] in "✓✗…"
        return str(found["action"])

    def walls(part: Tube, wall: float = 0.3) -> dict[str, Value]:
        return {**part.read(chance), **{f"wall_{name}": wall * one for name in PLACES}}

    most = fine(HI_LO[edition], edition)
    assert told(walls(true), walls(true)) == f"Within {most}. "
    wide = walls(replace(true, bore=6.2 * one))
    narrow = walls(true)
    differ = f"Bores differ by {said(0.2 * one, edition)}. "
    unread = {name: value for name, value in narrow.items() if not name.startswith("wall_")}
    assert told(unread, wide) == differ + "Read four walls of the pipe S1-L1 before trimming."
    assert told(wide, unread) == differ + "Read four walls of the elbow before trimming."
    left, to = said(0.2 * one, edition), said(6.2 * one, edition)
    waits = f"would leave {left}: it waits for a design minimum wall (0.875 t is the purchase minimum)."
    assert told(narrow, wide) == f"{differ}Trimming the pipe S1-L1 to {to} {waits}"
    assert told(wide, narrow) == f"{differ}Trimming the elbow to {to} {waits}"
    enough: dict[str, Value] = {**narrow, "design_minimum": 0.15 * one}
    for slope, run in (("1 in 4", 4.0), ("1 in 3", 3.0), ("30 deg", 1 / math.tan(math.radians(30)))):
        opened.put_all({("bores.slope", 0): slope})
        assert told(enough, wide) == (
            f"{differ}Trim the pipe S1-L1 to {to}, taper {fine(0.1 * run * one, edition)} long at {slope}: "
            f"leaves {left}, design minimum {said(0.15 * one, edition)}."
        )
    for other in (None, "steep"):
        opened.put_all({("bores.slope", 0): other})
        assert "to " + to + ", choose a taper: leaves " in told(enough, wide)
    opened.reset()
    short: dict[str, Value] = {**narrow, "design_minimum": 0.25 * one}
    assert told(short, wide) == (
        f"{differ}Do not trim: the pipe S1-L1 would be left {left}, under its design minimum "
        f"{said(0.25 * one, edition)}. Another part, or ask the engineer."
    )
    nothing: dict[str, Value] = {**walls(true, 0.09), "design_minimum": 0.05 * one}
    assert "would be left nothing, under" in told(nothing, {**wide, **{f"wall_{name}": 0.1 * one for name in PLACES}})
    thin: dict[str, Value] = {**narrow, "design_minimum": 0.31 * one}
    stop = f"is {said(0.3 * one, edition)}, under its design minimum: do not weld it in, ask the engineer."
    assert told(thin, narrow) == f"Stop: the wall of the pipe S1-L1 {stop}"
    assert told(narrow, thin) == f"Stop: the wall of the elbow {stop}"
    unequal = "Walls differ 1.7 to 1, over 1.5 to 1: unequal-wall ends of B16.25 as the code and the design say "
    unequal += "(B31.3-2004 328.4.2(a)(5)), no plain trim. "
    thick = {**wide, **{f"wall_{name}": 0.51 * one for name in PLACES}}
    assert told(enough, thick) == unequal + differ
    assert told(narrow, {**narrow, **{f"wall_{name}": 0.51 * one for name in PLACES}}).startswith(unequal)
    # turns
    oval = Tube(6.0 * one, 0.24 * one, 0.0, 6.6 * one)
    across = replace(oval, long_at=40.0)
    rim = 6.625 if edition == "inch" else 168.3
    arc = fine(math.pi * rim * 40 / 360, edition)
    match = f"along the rim): the ovals then match, hi-lo 0{' mm' if edition == 'mm' else ''}. "
    match += "If it may not turn, round it out."
    assert told(walls(oval), walls(across)) == f"Turn the pipe S1-L1 40° clockwise ({arc} {match}"
    assert told(walls(across), walls(oval)) == f"Turn the pipe S1-L1 40° counter-clockwise ({arc} {match}"
    assert told(walls(oval), walls(across), labels[2]) == f"Turn the pipe S1-L2 40° counter-clockwise ({arc} {match}"
    # four diameters that no turn brings together
    first = {**narrow, **diameters(6.2 * one, 6.06 * one, 6.16 * one, 6.06 * one)}
    second = {**narrow, **diameters(6.06 * one, 6.06 * one, 6.02 * one, 6.06 * one)}
    assert told(first, second) == "The ovals lie over one another already: round the bores out."
    bump = {**narrow, "bore_1_7": 6.2 * one, "bore_4_10": 6.2 * one}
    assert "at one place: round it out there." in told(bump, walls(true)) or "oval" in told(bump, walls(true))
    # a wide part that is oval itself
    wide_oval = walls(Tube(6.4 * one, 0.3 * one, 0.0, 7.0 * one))
    by = fine(0.3 * one, edition)
    assert told(narrow, wide_oval) == f"The elbow is oval by {by}: round it out before trimming the other."
    assert told(wide_oval, narrow) == f"The pipe S1-L1 is oval by {by}: round it out before trimming the other."
    opened.put_all({("rules.hi_lo_max", 0): None})
    found = type_parts(opened, 0, labels[1], narrow, narrow)
    assert (found["verdict"], found["action"]) == (NO_RULE, "Rules first: the hi-lo limit is blank.")
    opened.reset()


MADE_UP = """
schema = 1
[job]
name = "n"
number = "1"
units = "inch"
[[spool]]
mark = "A"
size = "6"
schedule = "STD"
class = 150
start = "weld_neck_flange"
[[spool.leg]]
north = 1
make_up = true
end = "elbow"
[[spool.leg]]
up = 40
end = "weld_neck_flange"
"""


@pytest.mark.parametrize("edition", EDITIONS)
def test_only_a_pipe_is_turned(edition: str) -> None:
    """Ovals across one another on an elbow that is welded to a flange: nothing there can be turned."""
    one, chance = one_inch(edition), random.Random(6)
    made_up = Live(MADE_UP, edition, some(SHEETS))
    label = next(label for label in made_up.column("joints.label") if label)
    oval = Tube(6.0 * one, 0.24 * one, 0.0, 6.6 * one)
    walls: dict[str, Value] = {f"wall_{name}": 0.3 * one for name in PLACES}
    found = type_parts(made_up, 0, label, oval.read(chance) | walls, replace(oval, long_at=60.0).read(chance) | walls)
    assert found["verdict"] == OUTSIDE
    assert found["action"] == (
        "Ovals 60° apart, and neither part can be turned (an elbow not at all, a flange by whole holes): "
        "round the bores out."
    )


@pytest.mark.parametrize("edition", EDITIONS)
def test_choosing_and_checking(edition: str) -> None:
    """A joint from the list, once; readings that cannot be true and walls under what was bought are told."""
    opened, one = cleared(edition), one_inch(edition)
    labels = opened.column("joints.label")
    opened.put_all({("bores.joint", 0): labels[1], ("bores.joint", 3): labels[1], ("bores.joint", 5): "W99"})
    messages = opened.column("bores.message")
    assert messages[0] == "" or messages[0] is None
    assert messages[3] == "Chosen above already. " and messages[5] == "Joint: not in the list. "
    assert opened.value("bores.verdict", 5) is None and opened.value("bore_sizes.joint", 10) is None
    assert (
        opened.value("bores.parts", 0)
        == f"{opened.value('joints.first_part', 1)} – {opened.value('joints.second_part', 1)}"
    )
    assert opened.value("bore_sizes.part", 1).startswith("2: ")
    cells: dict[str, Value] = {"od_12_6": 6.6 * one, "wall_12": 0.3 * one, "wall_6": 0.3 * one}
    for off, word in (
        (0.0, ""),
        (1 / 32, ""),
        (1 / 32 + 0.002, "Outside, walls and bore do not agree: measure again. "),
    ):
        opened.put_all({(f"bore_sizes.{name}", 0): value for name, value in cells.items()})
        opened.put_all({("bore_sizes.bore_12_6", 0): (6.0 + off) * one if off else 6.0 * one})
        if edition == "inch" or off != 1 / 32:
            assert (opened.value("bore_sizes.message", 0) or "") == word
    least = 0.875 * opened.value("bore_sizes.wall", 2 * 0)
    for wall, word in ((least, ""), (least - 0.001 * one, "Wall under the purchase minimum, 0.875 t. ")):
        opened.put_all({("bore_sizes.wall_3", 0): wall, ("bore_sizes.bore_12_6", 0): None})
        assert (opened.value("bore_sizes.message", 0) or "") == word
    opened.put_all({("bore_sizes.design_minimum", 0): 0.29 * one})
    assert opened.value("bore_sizes.message", 0).startswith("Wall under the design minimum. ")
    opened.reset()
    verdicts = opened.column("bores.verdict")
    assert (
        opened.value("bores.told")
        == f"{verdicts.count(WITHIN)} ✓, {verdicts.count(OUTSIDE)} ✗, {verdicts.count(OPEN)} …"
    )
    assert row_of(opened, "joints.label", labels[1]) == 1


@pytest.mark.parametrize("edition", EDITIONS)
def test_partial_readings_and_slips(edition: str) -> None:
    """Any subset, and any nonsense: no error value; nothing is judged before both bores are read."""
    opened, chance, one = cleared(edition), random.Random(11), one_inch(edition)
    labels = [label for label in opened.column("joints.label") if label]
    joints: dict[tuple[str, int], Value] = {("bores.joint", at): label for at, label in enumerate(labels[:18])}
    joints |= {("bores.joint", 18): "nowhere", ("bores.joint", 19): labels[0]}
    places = typed(opened, ("bore_sizes",))
    true = Tube(6.065 * one, 0.05 * one, 30.0, 6.625 * one).read(chance)
    for share in (0.3, 0.7, 0.95):
        some = [place for place in places if chance.random() < share]
        opened.put_all(
            joints | dict.fromkeys(places) | {(name, row): true.get(name[11:], 0.2 * one) for name, row in some}
        )
        assert wrong_cells(opened, SPACES) == []
        for at in range(18):
            told = opened.row("bores", at)
            bored = [
                all(opened.value(f"bore_sizes.bore_{name}", 2 * at + half) is not None for name in DIAMETERS)
                for half in (0, 1)
            ]
            assert (told["now"] is not None) == all(bored)
            if not all(bored) and not told["thin"] and told["best"] <= HI_LO[edition]:
                assert told["verdict"] == OPEN
    for value in NASTY:
        opened.put_all(joints | dict.fromkeys(places, value))
        assert wrong_cells(opened, SPACES) == [], value
    for _ in range(15):
        opened.put_all(joints | {place: chance.choice([*NASTY, None, *true.values()]) for place in places})
        assert wrong_cells(opened, SPACES) == []
    for value in (0.0, -1.0, 1e300, "abc", None):
        opened.put_all({("rules.hi_lo_max", 0): value, ("bores.slope", 0): value})
        assert wrong_cells(opened, SPACES) == [], value
    opened.reset()
