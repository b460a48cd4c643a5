"""Tacks: the end of a stiff part, drawn in place by place, closes as the sheet says; order, verdicts and sentences."""

from __future__ import annotations

import math
import random
from pathlib import Path

import pytest
from gauges import clock_text, counts_told, fine, hours_of
from joinery import (
    CLOCK,
    EDITIONS,
    NO_RULE,
    OPEN,
    OUTSIDE,
    WITHIN,
    cleared,
    disagreements,
    row_of,
    typed,
    wrong_cells,
)
from live import NASTY, Live, Value, one_inch
from staged_tacks import LEAST_GAP as LEAST
from staged_tacks import MOST_GAP as MOST
from staged_tacks import READ_FIT_UP as UNREAD
from staged_tacks import READY, RULES_FIRST, Ring, place_after, practice, practice_row
from staged_tacks import USUAL_GAP as GAP

SPACES = ("tacks", "tack_practice", "tack_orders")
NUMBERS = {"1": 2, "2": 3, "4": 4, "6": 4, "8": 4, "12": 4, "24": 6, "30": 8, "36": 10, "48": 12}
PULL = {"inch": 1 / 64, "mm": 0.3}
READ = tuple(f"read_{at}" for at in range(1, 13))


def butts(opened: Live) -> list[int]:
    """Rows of Fit-up that are butt or field welds, in order."""
    return [at for at, kind in enumerate(opened.column("joints.kind")) if kind in ("butt", "field")]


def type_gaps(opened: Live, row: int, gaps: dict[str, float]) -> dict[tuple[str, int], Value]:
    """Gaps and even bores of a joint, by its row on Tacks."""
    at = butts(opened)[row]
    state: dict[tuple[str, int], Value] = {(f"joints.gap_{name}", at): value for name, value in gaps.items()}
    return state | {(f"joints.hi_lo_{name}", at): 0.0 for name in CLOCK}


def even(edition: str, gap: float | None = None) -> dict[str, float]:
    """The same gap all round."""
    return dict.fromkeys(CLOCK, GAP[edition] if gap is None else gap)


def pulls(pull: float) -> dict[tuple[str, int], Value]:
    """A pull typed for all sizes."""
    return {("tack_practice.pull", at): pull for at in range(8)}


# -- which joints, how many tacks, in which order ----------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_row_for_each_butt_weld(edition: str) -> None:
    opened = cleared(edition)
    rows = opened.rows("tacks", ["spool", "joint", "size", "many", "long", "order", "verdict", "action", "four_walls"])
    fit = opened.rows("joints", ["spool", "joint", "kind", "leg_row"])
    wanted = [(one["spool"], one["joint"]) for one in fit if one["kind"] in ("butt", "field")]
    assert len(wanted) > 20 and "fillet" in [one["kind"] for one in fit]
    assert [(row["spool"], row["joint"]) for row in rows[: len(wanted)]] == wanted
    assert all(value is None for row in rows[len(wanted) :] for value in row.values())
    walls, legs = opened.column("legs.wall"), [one["leg_row"] for one in fit if one["kind"] in ("butt", "field")]
    for row, leg in zip(rows, legs, strict=False):
        assert row["many"] == NUMBERS[row["size"]]
        assert row["long"] == pytest.approx(practice(edition, {})[practice_row(float(row["size"]))].long)
        assert row["four_walls"] == pytest.approx(4 * walls[int(leg) - 1])
        assert row["verdict"] == OPEN and row["action"].startswith(
            "Read gap and hi-lo on Fit-up first. First tack at 12;"
        )
        hours = [text.strip() for text in row["order"].split(",")]
        assert len(hours) == row["many"] == len(set(hours))
    assert {row["order"] for row in rows if row["size"] == "6"} == {"12, 6, 3, 9"}
    assert next(row["order"] for row in rows if row["size"] == "1") == "12, 6"
    assert next(row["order"] for row in rows if row["size"] == "2") == "12, 4, 8"
    assert next(row["order"] for row in rows if row["size"] == "24") == "12, 6, 2, 8, 4, 10"
    assert opened.value("tacks.butts_total") == len(wanted)


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_order(edition: str) -> None:
    """For every number: all places once, evenly round, the second across from the first; the shop's number counts."""
    opened = cleared(edition)
    row = row_of(opened, "tacks.size", "6")
    for many in range(2, 13):
        opened.put_all({("tack_practice.own_number", 2): float(many)} | type_gaps(opened, row, even(edition)))
        hours = [opened.value(f"tacks.hour_{at}", row) for at in range(1, 13)]
        assert hours[many:] == [None] * (12 - many)
        around = [int(hour) for hour in hours[:many]]
        assert sorted(around) == sorted({round(24 * at / many) % 24 for at in range(many)})
        apart = min((around[1] - around[0]) % 24, (around[0] - around[1]) % 24)
        assert apart == max(min(each, 24 - each) for each in around), many
        if many > 3:
            # the third keeps away from both of them
            third = min(min((around[2] - each) % 24, (each - around[2]) % 24) for each in around[:2])
            assert third >= math.floor(24 / many)
        assert opened.value("tacks.order", row).split(", ") == [
            clock_text(hour / 2 + (12 if hour < 2 else 0)) for hour in around
        ]
    for typed_number, used in ((1.0, 2), (0.0, 2), (2.4, 2), (7.6, 8), (40.0, 12), (-3.0, 2), ("five", 4), (1e300, 12)):
        opened.put_all({("tack_practice.own_number", 2): typed_number})
        assert opened.value("tacks.many", row) == used
    opened.put_all({("tack_practice.own_number", 2): None, ("tack_practice.own_length", 2): 0.6 * one_inch(edition)})
    assert opened.value("tacks.long", row) == pytest.approx(0.6 * one_inch(edition))


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_first_tack_goes_where_the_gap_is_widest(edition: str) -> None:
    opened = cleared(edition)
    row = row_of(opened, "tacks.size", "6")
    for degrees in range(0, 360, 15):
        turn = math.radians(degrees)
        gaps = {
            name: GAP[edition] + 0.015 * one_inch(edition) * math.cos(math.radians(at) - turn)
            for name, at in CLOCK.items()
        }
        opened.put_all(type_gaps(opened, row, gaps))
        assert opened.value("tacks.hour_1", row) == degrees / 15
        first = clock_text(hours_of(math.cos(turn), math.sin(turn)))
        assert opened.value("tacks.order", row).startswith(first + ", ")
        assert opened.value("tacks.action", row).startswith(f"First tack at {first}, the widest; then ")
    opened.put_all(type_gaps(opened, row, even(edition)))
    assert opened.value("tacks.hour_1", row) == 0 and "the widest" not in opened.value("tacks.action", row)
    # what goes twice round is widest at two places, wherever the flat face leans
    one = one_inch(edition)
    tight, wide = GAP[edition] - 0.025 * one, GAP[edition] + 0.025 * one
    for gaps, hour in (
        ({"12": tight, "3": wide, "6": tight, "9": wide}, 6),
        ({"12": tight + 0.01 * one, "3": wide, "6": tight, "9": wide}, 6),
        ({"12": wide, "3": tight, "6": wide + 0.001 * one, "9": tight}, 12),
        ({**even(edition), "1_30": wide, "4_30": tight, "7_30": wide, "10_30": tight}, 3),
        ({**even(edition), "10_30": wide}, 21),
        ({**even(edition), "4_30": tight}, 0),
    ):
        none = dict.fromkeys(f"joints.gap_{name}" for name in ("1_30", "4_30", "7_30", "10_30"))
        at = int(opened.value("tacks.joint_row", row)) - 1
        opened.put_all({**{(name, at): None for name in none}, **type_gaps(opened, row, gaps)})
        assert opened.value("tacks.hour_1", row) == hour, gaps
        assert (", the widest" in opened.value("tacks.start_said", row)) == (hour > 0)


# -- what a tack draws in ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_ring_drawn_in(edition: str) -> None:
    """Random gaps in every size: due after each tack, at each tack, and drawn in at most, against a ring in space."""
    opened, chance, one = cleared(edition), random.Random(5), one_inch(edition)
    count = len(butts(opened))
    for _ in range(4):
        every = [{name: chance.uniform(0.02, 0.3) * one for name in CLOCK} for _ in range(count)]
        pull = chance.uniform(0.002, 0.06) * one
        state = pulls(pull)
        for row, gaps in enumerate(every):
            state |= type_gaps(opened, row, gaps)
        opened.put_all(state)
        for row, gaps in enumerate(every):
            told = opened.row("tacks", row)
            many = int(told["many"])
            hours = [int(told[f"hour_{at}"]) for at in range(1, many + 1)]
            ring, before = Ring(gaps), Ring(gaps)
            at_tacks, drawn = [], []
            for made, hour in enumerate(hours, start=1):
                turn = math.radians(15 * hour)
                ring.tack(turn, pull)
                at_tacks.append(ring.gap(turn))
                drawn.append(before.gap(turn) - ring.gap(turn))
                place = place_after(many, hours, made)
                assert place is not None
                assert told[f"next_{made}"] == place
                assert told[f"due_{made}"] == pytest.approx(ring.gap(math.radians(15 * place))), (row, made)
            for made in range(many + 1, 13):
                assert told[f"due_{made}"] is None and told[f"next_{made}"] is None
            assert [told[f"own_{at}"] for at in (1, 2, 3)][: min(3, many)] == pytest.approx(at_tacks[:3])
            assert told["lowest"] == pytest.approx(min(at_tacks[:3]))
            assert told["pull_due"] == pytest.approx(max(drawn[:3]))


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_pull_that_was_read(edition: str) -> None:
    """Readings after the second tack of a ring drawn by a known pull give that pull back."""
    opened, chance, one = cleared(edition), random.Random(8), one_inch(edition)
    state: dict[tuple[str, int], Value] = {}
    known: dict[int, float] = {}
    for row in range(len(butts(opened))):
        gaps = {name: GAP[edition] + chance.uniform(-0.02, 0.02) * one for name in CLOCK}
        state |= type_gaps(opened, row, gaps)
        known[row] = chance.uniform(0.0, 0.03) * one
        opened.put_all(state)
        told = opened.row("tacks", row)
        ring = Ring(gaps)
        hours = [int(told[f"hour_{at}"]) for at in (1, 2)]
        for hour in hours:
            ring.tack(math.radians(15 * hour), known[row])
        state["tacks.read_2", row] = ring.gap(math.radians(15 * int(told["next_2"])))
    opened.put_all(state)
    for row, pull in known.items():
        assert opened.value("tacks.pull_seen", row) == pytest.approx(pull, abs=1e-9)


# -- limits, verdicts, sentences ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_limits(edition: str) -> None:
    """Gaps at, just under and just over the smallest and the largest; drawn in against the procedure's most."""
    opened, one = cleared(edition), one_inch(edition)
    row = row_of(opened, "tacks.size", "6")
    hair = 1e-4 * one
    base = type_gaps(opened, row, even(edition))
    fits = {(f"tacks.{name}", row): GAP[edition] for name in READ[:4]}
    for name in READ[:4]:
        for value, wanted in (
            (LEAST[edition], WITHIN), (LEAST[edition] + hair, WITHIN), (LEAST[edition] - hair, OUTSIDE),
            (MOST[edition], WITHIN), (MOST[edition] - hair, WITHIN), (MOST[edition] + hair, OUTSIDE),
        ):  # fmt: skip
            opened.put_all({**base, **fits, (f"tacks.{name}", row): value})
            assert opened.value("tacks.verdict", row) == wanted, (name, value)
        for most, wanted in (
            (0.01 * one, WITHIN),
            (0.01 * one + hair, WITHIN),
            (0.01 * one - hair, OUTSIDE),
            (None, WITHIN),
        ):
            opened.put_all(
                {**base, **fits, (f"tacks.{name}", row): GAP[edition] - 0.01 * one, ("rules.tack_pull_max", 0): most}
            )
            assert opened.value("tacks.verdict", row) == wanted, (name, most)
            assert opened.value("tacks.drawn", row) == pytest.approx(0.01 * one)
        opened.reset()


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("missing", range(16))
def test_partial_readings(edition: str, missing: int) -> None:
    """… while one of the tacks has no reading; ✗ at once; two or three tacks ask for no more readings."""
    opened = cleared(edition)
    there = [name for at, name in enumerate(READ) if not missing >> at % 4 & 1]
    for size in ("1", "2", "6", "24"):
        row = row_of(opened, "tacks.size", size)
        asked = READ[: NUMBERS[size]]
        state = type_gaps(opened, row, even(edition))
        state |= {(f"tacks.{name}", row): GAP[edition] if name in there else None for name in READ}
        opened.put_all(state)
        assert opened.value("tacks.verdict", row) == (WITHIN if set(asked) <= set(there) else OPEN)
        assert opened.value("tacks.action", row)
        if there:
            opened.put_all({(f"tacks.{there[0]}", row): 0.5 * one_inch(edition)})
            assert opened.value("tacks.verdict", row) == OUTSIDE and opened.value("tacks.action", row)
    assert wrong_cells(opened, SPACES) == []


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_is_said(edition: str) -> None:
    """Every sentence, from the joint that is not read to the one that is ready for its root."""
    opened = cleared(edition)
    row = row_of(opened, "tacks.size", "6")
    low, high, gap, pull = LEAST[edition], MOST[edition], GAP[edition], PULL[edition]
    said = {name: fine(value, edition) for name, value in (("low", low), ("high", high), ("gap", gap), ("pull", pull))}

    def told(*states: dict[tuple[str, int], Value], **cells: Value) -> str:
        opened.reset()
        state: dict[tuple[str, int], Value] = {}
        for each in states:
            state |= each
        opened.put_all(state | {(f"tacks.{name}", row): value for name, value in cells.items()})
        return str(opened.value("tacks.action", row))

    fit, drawing = type_gaps(opened, row, even(edition)), pulls(pull)
    no_pull = " Type the pull of a tack on Tack practice to see the gap coming."
    start = "First tack at 12; then 6, 3, 9."
    assert told() == f"Read gap and hi-lo on Fit-up first. {start}{no_pull}"
    assert told(fit) == start + no_pull
    assert told(type_gaps(opened, row, even(edition, 2 * high))) == (
        "Fit-up is outside: bring the joint in before the first tack."
    )
    wide = even(edition, high - pull / 4)
    assert told(type_gaps(opened, row, wide), drawing) == start
    leaning = {**wide, "12": high, "6": high - pull / 2}
    assert told(type_gaps(opened, row, leaning), drawing) == "First tack at 12, the widest; then 6, 3, 9."
    six = row_of(opened, "tacks.size", "24")
    opened.reset()
    opened.put_all(type_gaps(opened, six, even(edition)))
    assert opened.value("tacks.action", six) == f"First tack at 12; then 6, 2, 8 …{no_pull}"
    # the third tack has two pulls of the others to bear, and would fall under the smallest gap
    lowest = gap - 2 * 1.2 * pull
    assert lowest < low
    assert told(fit, pulls(1.2 * pull)) == (
        f"Wait: tack 3 would draw the gap at 3 to {fine(lowest, edition)}, under {said['low']}: "
        f"set the joint wider by {'a hair' if edition == 'inch' else fine(low - lowest, edition)} first, "
        "or hold it with spacers."
    )
    # the widest place is at the largest gap already: wider is no way out
    leans = {**even(edition), "12": high, "6": low}
    assert told(type_gaps(opened, row, leans), pulls(pull)) == (
        f"Wait: tack 2 would draw the gap at 6 to {fine(low - pull, edition)}, under {said['low']}: "
        f"no room to set it wider (largest gap {said['high']}): true the gap on Fit-up first, or hold it with spacers."
    )
    tilted = {**even(edition, low + pull / 2), "12": low + pull / 2 + pull / 4, "6": low + pull / 4}
    assert "Wait: tack " in told(type_gaps(opened, row, tilted), drawing)
    assert "at 3 to nothing, under" in told(fit, pulls(gap))
    opened.reset()
    small = row_of(opened, "tacks.size", "1")
    opened.put_all(type_gaps(opened, small, even(edition, low + pull / 2)) | drawing)
    assert opened.value("tacks.action", small).startswith("Wait: tack 1 would draw the gap at 12 to ")
    tight: dict[tuple[str, int], Value] = {("rules.tack_pull_max", 0): 1.5 * pull}
    assert told(type_gaps(opened, row, wide), drawing, tight) == (
        f"Wait: the tacks would draw the gap in by {fine(2 * pull, edition)}, the procedure allows "
        f"{fine(1.5 * pull, edition)}: hold it with spacers."
    )
    tight = {("rules.tack_pull_max", 0): 2 * pull}
    assert told(type_gaps(opened, row, wide), drawing, tight) == start
    # readings one by one
    assert told(fit, read_1=gap) == "Tack 2 at 6 next."
    assert (
        told(fit, read_1=gap, read_2=gap - 1.25 * pull)
        == f"Tack 3 at 3 next. Read here: one tack draws in {fine(1.25 * pull, edition)}."
    )

    def wait(after: int, at: str, value: float, by: float) -> str:
        """A tack that would draw its place under the smallest gap."""
        words = f"Wait with tack {after + 1}: at {at} the gap is {fine(value, edition)}, the tack would draw it under "
        words += f"{said['low']}. Let the others cool, "
        return f"{words}open it there by {fine(by, edition)} and hold it with a spacer."

    def off(at: str, value: float) -> str:
        """A gap that is outside, without its end."""
        words = f"at {at} the gap is {fine(value, edition)}, "
        if value > high:
            return f"{words}over {said['high']}: close it by {fine(value - high, edition)}"
        return f"{words}under {said['low']}: open it by {fine(low - value, edition)}"

    both = f" Read here: one tack draws in {said['pull']}, typed {said['pull']}."
    third = (
        wait(2, "3", gap - pull, low + pull - (gap - pull))
        if gap - 2 * pull < low - 1e-9
        else f"Tack 3 at 3 next.{both}"
    )
    assert told(fit, drawing, read_1=gap, read_2=gap - pull) == third
    near = low + pull / 2
    assert told(fit, drawing, read_1=near) == wait(1, "6", near, pull / 2)
    assert told(fit, drawing, read_1=low + pull) == "Tack 2 at 6 next."
    assert told(fit, drawing, read_1=gap, read_2=gap, read_3=low) == (
        f"Tack 4 at 9 next. Read here: one tack draws in nothing, typed {said['pull']}."
    )
    for lacking, word in (("read_1", "1"), ("read_2", "2"), ("read_3", "3")):
        cells: dict[str, Value] = {name: gap for name in READ[:4] if name != lacking}
        assert told(fit, **cells) == f"Read the gap after tack {word} too."
    every: dict[str, Value] = dict.fromkeys(READ[:4], gap)
    assert told(fit, **every) == f"{READY} Read here: one tack draws in nothing."
    assert told(**every) == UNREAD + READY
    assert told(read_1=gap) == f"{UNREAD}Tack 2 at 6 next."
    # whatever the tacks' gaps say, a joint that is out on Fit-up is put right first
    high_low: dict[tuple[str, int], Value] = {(f"joints.hi_lo_{name}", butts(opened)[row]): high for name in CLOCK}
    out = "Fit-up is outside: bring the joint in before the "
    assert told(fit | high_low, read_1=gap) == f"{out}next tack."
    assert told(fit | high_low, **every) == f"{out}root."
    assert opened.value("tacks.verdict", row) == WITHIN
    # six tacks are not done with four
    cells = dict.fromkeys(READ[:4], gap)
    opened.reset()
    opened.put_all(type_gaps(opened, six, even(edition)) | {(f"tacks.{name}", six): gap for name in READ[:4]})
    assert opened.value("tacks.action", six).startswith("Tack 5 at 4 next.")
    assert opened.value("tacks.verdict", six) == OPEN
    opened.put_all({(f"tacks.{name}", six): gap for name in READ[4:6]})
    assert opened.value("tacks.action", six).startswith(READY) and opened.value("tacks.verdict", six) == WITHIN
    over, under = 1.5 * high, 0.5 * low
    assert told(fit, read_1=over) == f"Wait with tack 2: {off('6', over)} first."
    assert told(fit, read_1=gap, read_2=under) == f"Wait with tack 3: {off('3', under)} first."
    last = f"Before the root: {off('1:30', under)}, or cut the nearest tack."
    assert told(fit, **{**every, "read_4": under}) == last
    assert told(fit, **{**every, "read_2": under}) == (
        f"A gap read after an earlier tack is outside {said['low']} to {said['high']}: read it again or cut the tack."
    )
    most = {("rules.tack_pull_max", 0): pull / 2}
    assert told(fit, dict(most), read_1=gap, read_2=gap - pull) == (
        f"The tacks have drawn the gap in by {said['pull']}, the procedure allows {fine(pull / 2, edition)}: "
        "cut the last tack, set the gap again."
    )
    blank: dict[tuple[str, int], Value] = {("rules.root_gap_min", 0): None}
    assert told(fit, blank, **every) == RULES_FIRST and opened.value("tacks.verdict", row) == NO_RULE
    assert told(blank, **every) == RULES_FIRST
    assert told(fit, blank, read_1=gap) == f"{RULES_FIRST} Tack 2 at 6 next."
    assert told(fit, blank) == f"{RULES_FIRST} {start}{no_pull}"
    assert told(blank) == f"{UNREAD}{start}{no_pull}"
    assert told(fit, blank, read_1=gap, read_2=gap, read_4=gap) == f"{RULES_FIRST} Read the gap after tack 3 too."
    assert wrong_cells(opened, SPACES) == []
    opened.reset()
    opened.calculate()
    verdicts = opened.column("tacks.verdict")
    assert opened.value("tacks.told") == counts_told(verdicts)


# -- slips, other programs ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_slips_of_the_keys(edition: str) -> None:
    """Whatever is typed, no error value."""
    opened, chance = cleared(edition), random.Random(3)
    places = typed(opened, ("tacks", "tack_practice"))
    gaps = [(f"joints.gap_{name}", at) for at in butts(opened) for name in CLOCK]
    for value in NASTY:
        other = chance.choice([GAP[edition], value, value])
        opened.put_all(dict.fromkeys(places, value) | dict.fromkeys(gaps, other))
        assert wrong_cells(opened, SPACES) == [], (value, other)
    for _ in range(10):
        state: dict[tuple[str, int], Value] = {
            place: chance.choice([*NASTY, None, GAP[edition]]) for place in [*places, *gaps]
        }
        for rule in ("root_gap_min", "root_gap_max", "tack_pull_max"):
            state[f"rules.{rule}", 0] = chance.choice([*NASTY, None, GAP[edition]])
        opened.put_all(state)
        assert wrong_cells(opened, SPACES) == []
    opened.reset()


def half_filled(opened: Live, edition: str) -> dict[tuple[str, int], Value]:
    """Bores, Bevel, Tacks and Fit-up with readings that may be, some slips and some blanks."""
    chance, one = random.Random(12), one_inch(edition)
    labels = [label for label in opened.column("joints.label") if label]
    usual = {
        "od": 6.6,
        "wall": 0.3,
        "bore": 6.0,
        "design": 0.2,
        "gap": 1 / 8,
        "hi": 0.02,
        "read": 1 / 8,
        "land": 1 / 16,
    }
    usual |= {"own": 0.5, "pull": 0.01}
    state: dict[tuple[str, int], Value] = {}
    for name, row in typed(opened, ("bevels", "bore_sizes", "tacks", "tack_practice", "joints")):
        word = name.partition(".")[2].partition("_")[0]
        if chance.random() < 0.8:
            size = 37.5 if word == "angle" else usual.get(word, 0.0) * one
            size *= chance.choice([1.0, 0.97, 1.02, 1.05])
            if name == "tack_practice.own_number":
                size = float(chance.randrange(2, 13))
            slips: list[Value] = [size, size, size, size, -1.0, "text"]
            state[name, row] = chance.choice(slips)
    state |= {("bores.joint", at): label for at, label in enumerate([*labels[:18], "nowhere", labels[0]])}
    state |= {("groove.end", 0): "P05-L1, end", ("groove.typed_gap", 0): 0.1 * one}
    return state | {("rules.tack_pull_max", 0): 0.02 * one}


@pytest.mark.parametrize("edition", ["inch", pytest.param("mm", marks=pytest.mark.thorough)])
def test_other_programs(edition: str, tmp_path: Path) -> None:
    """LibreOffice gives what the build gives."""
    states = [(cleared(edition), half_filled(cleared(edition), edition))]
    assert disagreements(states, tmp_path) == []


def test_the_blank_workbook() -> None:
    """Without a job nothing is told; the groove of a typed wall is."""
    blank = Live(None, "inch")
    for name in ("tacks", "bevels", "bores"):
        assert set(blank.column(f"{name}.verdict")) == set(blank.column(f"{name}.action")) == {None}
    blank.put_all({("groove.typed_wall", 0): 0.5, ("bores.joint", 0): "W1", ("tacks.read_1", 0): 0.1})
    assert blank.value("groove.area") > 0 and blank.errors() == []
