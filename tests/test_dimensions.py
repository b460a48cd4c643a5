"""Dimensions and Prediction: dimensions against points in space, limits, sentences, forecasts laid out anew."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from typing import Any

import gauges
import handover
import numpy as np
import pytest
from handover import AXES, EDITIONS, OPEN, OUTSIDE, WITHIN, Doubts
from live import NASTY, Live, Value, one_inch
from routes import job_text
from staged_dimensions import shop_job

SEED = 11


@pytest.fixture(params=EDITIONS)
def shop(request: pytest.FixtureRequest) -> Iterator[Live]:
    """The shop's workbook in each edition, nothing typed."""
    book = handover.cleared(shop_job(request.param), request.param)
    yield book
    book.reset()


def row_of(book: Live, spool: str, leg: str, what: str) -> int:
    """The row of a dimension."""
    rows = book.rows("dimensions", ["spool", "leg", "what"])
    return rows.index({"spool": spool, "leg": leg, "what": what})


# -- what is asked for -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_dimension_of_random_spools(edition: str) -> None:
    text = handover.random_job(SEED, "inch")
    walk = handover.walked(text, edition)
    book = handover.cleared(text, edition)
    wanted = handover.dimensions_of(walk)
    found = book.rows("dimensions", ["spool", "leg", "what", "drawing", "dimension", "cut_back"])
    assert [row["spool"] is not None for row in found].count(True) == len(wanted) == book.value("dimensions.total")
    kinds = set()
    for row, dimension in zip(found, wanted, strict=False):
        assert (row["spool"], row["leg"], row["what"]) == (dimension.leg.spool, dimension.leg.name, dimension.what)
        assert row["drawing"] == pytest.approx(dimension.size, abs=1e-9 * max(1.0, dimension.size))
        assert row["cut_back"] == pytest.approx(dimension.cut_back, abs=1e-9 * max(1.0, dimension.size))
        assert row["dimension"].endswith(", trim left on") == (abs(dimension.cut_back - dimension.size) > 1e-9)
        if dimension.what in AXES:
            words = handover.WORDS[AXES.index(dimension.what)]
            said = words[0] if dimension.signed < -1e-9 else words[1]
            assert f", {said}" in row["dimension"]
            assert ("(none drawn)" in row["dimension"]) == (dimension.size < 1e-9)
        start = dimension.leg.at_start.kind
        if dimension.what == "leg":
            ends = [handover.is_flange(kind) for kind in (start, dimension.leg.at_end.kind)]
            assert ("face to " in row["dimension"]) == ends[0] and ("to face" in row["dimension"]) == ends[1]
        kinds.add((dimension.what, handover.datum(dimension.leg) is not None))
    assert len(kinds) == 10, "a leg and an end measured from the start and from another leg's end"


def test_trim_and_field_gaps_are_in_the_dimension(shop: Live) -> None:
    inch, gap = one_inch(shop.edition), shop.value("rules.root_gap")
    row = shop.row("dimensions", row_of(shop, "S3", "L1", "leg"))
    assert row["drawing"] == pytest.approx((80 + 2 + 4) * inch - 1.5 * gap)
    assert row["dimension"] == "L1, end to end, trim left on"
    assert "start to end" not in str(shop.column("dimensions.dimension")[row_of(shop, "S4", "L1", "leg") :][:1])


def test_a_tee_at_the_start_is_measured_face_to_face(shop: Live) -> None:
    row = shop.row("dimensions", row_of(shop, "S5", "L2", "straight"))
    assert row["dimension"] == "end of L1 to end of L2, straight, face to face"
    assert row["drawing"] == pytest.approx(65 * one_inch(shop.edition))


# -- tolerances --------------------------------------------------------------------------------------------------------


SIZES = ["1/2", "6", "10", "12", "24", "26", "36", "42", "48"]
LENGTHS = [1.5, 30, 30.01, 120, 120.01, 400, 401, 1000, 1001, 2000, 2001, 4000, 4001, 8000, 8001, 12000, 12001, 16000,
           16001, 20000, 20001, 90000]  # fmt: skip


def loose_pipes() -> str:
    """A pipe of each size, and one of each length in mm; a pipe with a welded valve; a spool of forty legs."""
    sized = [(size, 5000.0) for size in SIZES] + [("6", length) for length in LENGTHS]
    spools = [
        {"mark": f"T{at}", "size": size, "schedule": "STD", "start": "plain", "leg": [{"up": length, "end": "plain"}]}
        for at, (size, length) in enumerate(sized)
    ]
    legs: list[dict[str, Any]] = [
        {AXES[at % 3]: 1500, "end": "elbow" if at < 39 else "weld_neck_flange"} for at in range(40)
    ]
    six = {"size": "6", "schedule": "STD"}
    valve = {"item": "valve", "length": 250, "at": 1000, "ends": "butt"}
    spools += [
        {"mark": "V", **six, "start": "bevel", "leg": [{"east": 2000, "end": "cap", "inline": [valve]}]},
        {"mark": "LONG", **six, "class": "150", "start": "weld_neck_flange", "leg": legs},
    ]
    return job_text(spools, "mm")


def test_tolerances_of_es_3() -> None:
    book = handover.cleared(loose_pipes(), "mm")
    assert book.column("dimensions.tolerance")[: len(SIZES)] == [handover.es_3(size, "mm") for size in SIZES]


@pytest.mark.parametrize("letter", "ABCD")
def test_tolerances_of_iso_13920(letter: str) -> None:
    book = handover.cleared(loose_pipes(), "mm")
    book.put_all({("rules.tolerance_by", 0): f"ISO 13920-{letter}"})
    wanted = [handover.iso_13920(length, letter, "mm") for length in LENGTHS]
    assert book.column("dimensions.tolerance")[len(SIZES) : len(SIZES) + len(LENGTHS)] == pytest.approx(wanted)
    assert book.value("dimensions.judged_by") == f"ISO 13920 class {letter}, by length in mm"


def test_tolerances_of_the_shop(shop: Live) -> None:
    """Both tables in both editions: ISO 13920's millimetres are converted where inches are shown."""
    walk = handover.walked(shop_job(shop.edition), shop.edition)
    wanted = [each for each in handover.dimensions_of(walk) if not each.leg.said.get("make_up")]
    rows = {(row["spool"], row["leg"], row["what"]): row["tolerance"] for row in told(shop)}
    for each in wanted:
        key = (each.leg.spool, each.leg.name, each.what)
        assert rows[key] == handover.es_3(each.leg.size, shop.edition)
    for letter in "AD":
        shop.put_all({("rules.tolerance_by", 0): f"ISO 13920-{letter}"})
        rows = {(row["spool"], row["leg"], row["what"]): row["tolerance"] for row in told(shop)}
        for each in wanted:
            straight = next(one.size for one in reversed(wanted) if one.leg is each.leg)
            size = each.size if each.size > 1e-6 else straight
            found = rows[each.leg.spool, each.leg.name, each.what]
            assert found == pytest.approx(handover.iso_13920(size, letter, shop.edition))


def told(book: Live) -> list[dict[str, Any]]:
    """Every dimension's names and tolerance."""
    return book.rows("dimensions", ["spool", "leg", "what", "tolerance"])


def test_your_own_tolerance_beats_the_tables(shop: Live) -> None:
    row = row_of(shop, "S1", "L1", "leg")
    own = one_inch(shop.edition) / 32
    shop.put_all({("rules.spool_max", 0): own})
    assert shop.value("dimensions.tolerance", row) == own
    shop.put_all({("rules.spool_max", 0): None, ("rules.tolerance_by", 0): None, ("dimensions.as_built", row): 1.0})
    assert shop.value("dimensions.tolerance", row) is None
    assert shop.value("dimensions.verdict", row) == "… rule missing"
    assert shop.value("dimensions.action", row) == "Rules first: no tolerance for it."
    assert str(shop.value("dimensions.judged_by")).startswith("✗ no tolerance chosen")


def test_fitting_to_fitting_adds_the_fittings(shop: Live) -> None:
    walk = handover.walked(shop_job(shop.edition), shop.edition)
    row = shop.row("dimensions", row_of(shop, "S2", "L2", "leg"))
    fitting = float(handover.size_row("6")[{"inch": "centre_to_end_in", "mm": "centre_to_end_mm"}[shop.edition]])
    assert row["dimension"] == "L2, centre to centre, fitting to fitting"
    assert row["tolerance"] == pytest.approx(handover.es_3("6", walk.edition) + 2 * fitting)


# -- verdicts and sentences --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", [1, -1])
def test_at_just_under_and_just_over_each_limit(shop: Live, sign: int) -> None:
    near = 1e-6 * one_inch(shop.edition)
    count = int(shop.value("dimensions.total"))
    rows = shop.rows("dimensions", ["drawing", "tolerance", "cut_back"])[:count]
    side = max if sign > 0 else min
    for off, wanted in ((0.0, WITHIN), (-near, WITHIN), (near, OUTSIDE)):
        shop.put_all(
            {
                ("dimensions.as_built", at): side(row["drawing"], row["cut_back"]) + sign * (row["tolerance"] + off)
                for at, row in enumerate(rows)
            }
        )
        assert set(shop.column("dimensions.verdict")[:count]) == {wanted}
    told = f"0 ✓, {count} ✗, 0 …"
    assert shop.value("dimensions.told") == told


def test_trim_may_be_left_on_or_cut_off(shop: Live) -> None:
    """Whatever is left of it, the pipe is there; what is not there any more is short."""
    inch, at = one_inch(shop.edition), row_of(shop, "S3", "L1", "leg")
    row = shop.row("dimensions", at)
    tolerance, drawn = row["tolerance"], row["drawing"] - 6 * inch
    assert row["cut_back"] == pytest.approx(drawn)
    for as_built, left in ((row["drawing"], 6), (drawn + 2 * inch, 2), (drawn, 0), (drawn - tolerance, 0)):
        shop.put_all({("dimensions.as_built", at): as_built})
        assert shop.value("dimensions.verdict", at) == WITHIN
        told = gauges.fine(left * inch, shop.edition) if left else "none"
        assert shop.value("dimensions.action", at).endswith(f"Trim left: {told}.")
    shop.put_all({("dimensions.as_built", at): drawn - tolerance - inch})
    assert shop.value("dimensions.verdict", at) == OUTSIDE
    assert shop.value("dimensions.off", at) == pytest.approx(-tolerance - inch)
    assert shop.value("dimensions.action", at).endswith("no pipe left there: re-cut the piece.")


def test_a_minus_is_explained_and_a_hair_over_is_no_nought(shop: Live) -> None:
    at = row_of(shop, "S1", "L1", "leg")
    row = shop.row("dimensions", at)
    shop.put_all({("dimensions.as_built", at): -row["drawing"]})
    assert shop.value("dimensions.message", at).startswith("Minus says that it came out on the other side")
    shop.put_all({("dimensions.as_built", at): row["drawing"] + row["tolerance"] * (1 + 1e-6)})
    assert ", just over: " in shop.value("dimensions.action", at)


def test_nothing_typed_is_not_yet_measured(shop: Live) -> None:
    count = int(shop.value("dimensions.total"))
    assert set(shop.column("dimensions.verdict")[:count]) == {OPEN}
    assert set(shop.column("dimensions.verdict")[count:]) == {None}
    assert shop.value("dimensions.told") == f"0 ✓, 0 ✗, {count} …"


def sentence(shop: Live, spool: str, leg: str, what: str, off: float) -> tuple[str, str, str]:
    """What a dimension says when it is off by so much: and the two amounts in it."""
    row = row_of(shop, spool, leg, what)
    before = shop.row("dimensions", row)
    shop.put_all({("dimensions.as_built", row): before["drawing"] + off})
    by, over = (gauges.fine(abs(value), shop.edition) for value in (off, abs(off) - before["tolerance"]))
    return str(shop.value("dimensions.action", row)), by, over


def test_every_sentence(shop: Live) -> None:
    off = one_inch(shop.edition) / 2
    close = "close up an open joint of this leg as far as the gap allows, else re-cut the piece."
    open_up = "open up a joint of this leg only as far as the gap allows, else re-cut the piece."
    for leg, amount, word, end in (
        ("L1", off, "long", close),
        ("L1", -off, "short", open_up),
    ):
        said, by, over = sentence(shop, "S1", leg, "leg", amount)
        assert said == f"{by} {word}, {over} over: {end}"
    for amount, word, end in (
        (off, "long", "dress the loose end."),
        (-off, "short", "no pipe left there: re-cut the piece."),
    ):
        said, by, over = sentence(shop, "S4", "L1", "leg", amount)
        assert said == f"{by} {word}, {over} over: {end}"
    for spool, leg, what, amount, towards in (
        ("S1", "L2", "east", off, "east"), ("S1", "L2", "east", -off, "west"), ("S1", "L2", "north", -off, "south"),
        ("S1", "L2", "north", off, "north"), ("S1", "L2", "up", -off, "down"), ("S2", "L3", "east", off, "west"),
        ("S2", "L3", "east", -off, "east"), ("S2", "L3", "up", off, "up"),
    ):  # fmt: skip
        said, by, over = sentence(shop, spool, leg, what, amount)
        assert said == f"The end stands {by} too far {towards}, {over} over: swing or re-cut before the last weld."
    said, by, over = sentence(shop, "S1", "L2", "straight", -off)
    assert said == f"{by} short, {over} over: east, north and up show which way."
    said, _, _ = sentence(shop, "S1", "L2", "up", 0.0)
    assert said == f"Within ± {gauges.fine(handover.es_3('6', shop.edition), shop.edition)}."


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_spool_made_wrong_by_known_amounts(edition: str) -> None:
    """Legs are made too long and crooked in space and measured; the sheet gives back what was put in."""
    text = handover.random_job(SEED, "inch")
    walk = handover.walked(text, edition)
    book = handover.cleared(text, edition)
    rng = np.random.default_rng(5)
    wanted = handover.dimensions_of(walk)
    scale = one_inch(edition)
    made: dict[int, np.ndarray[Any, Any]] = {}
    for leg in walk.legs:
        long = leg.vector * (1 + rng.normal(0, 0.15) * scale / leg.length)
        made[id(leg)] = handover.turned(long, rng.normal(size=3), float(rng.normal(0, 0.1)))

    def stands(leg: Any) -> Any:
        end = sum(made[id(each)] for each in handover.chain(leg))
        return end + handover.longer(walk, leg, True) * made[id(leg)] / np.linalg.norm(made[id(leg)])

    cells: dict[tuple[str, int], Value] = {}
    offs: list[float] = []
    for at, dimension in enumerate(wanted):
        leg = dimension.leg
        if dimension.what == "leg":
            ends = handover.longer(walk, leg, True) + handover.longer(walk, leg, False)
            measured = float(np.linalg.norm(made[id(leg)])) + ends
        else:
            other = handover.datum(leg)
            root = handover.chain(leg)[0]
            way = made[id(root)] / np.linalg.norm(made[id(root)])
            apart = stands(leg) - (stands(other) if other else -handover.longer(walk, root, False) * way)
            measured = float(np.linalg.norm(apart))
            if dimension.what in AXES:
                measured = float(apart[AXES.index(dimension.what)]) * (-1 if dimension.signed < -1e-9 else 1)
        cells["dimensions.as_built", at] = measured
        near, far = sorted((dimension.size, dimension.cut_back))  # nothing is off while some of its trim is there
        offs.append(measured - min(max(measured, near), far))
    book.put_all(cells)
    rows = book.rows("dimensions", ["off", "tolerance", "verdict"])[: len(wanted)]
    assert [row["off"] for row in rows] == pytest.approx(offs, abs=1e-7)
    for row, off in zip(rows, offs, strict=True):
        assert row["verdict"] == (WITHIN if abs(off) <= row["tolerance"] else OUTSIDE)
    assert {row["verdict"] for row in rows} == {WITHIN, OUTSIDE}


# -- prediction --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_predictions_against_spools_laid_out_anew(edition: str) -> None:
    text = handover.random_job(SEED, "inch")
    walk = handover.walked(text, edition)
    book = handover.cleared(text, edition)
    inch = one_inch(edition)
    rng = random.Random(21)
    doubts = Doubts(book.value("rules.step"), 0.0, rng.uniform(0, 0.1) * inch, rng.uniform(0, 0.1) * inch, 0.1)
    book.put_all(
        {
            ("rules.shrinkage_within", 0): doubts.shrinkage,
            ("rules.item_within", 0): doubts.item,
            ("rules.level_within", 0): doubts.level,
            ("rules.root_gap_min", 0): book.value("rules.root_gap") - 0.02 * inch,
            ("rules.root_gap_max", 0): book.value("rules.root_gap") + 0.05 * inch,
        }
    )
    doubts = Doubts(doubts.cut, 0.05 * inch, doubts.shrinkage, doubts.item, doubts.level)
    ends = handover.open_ends(walk)
    columns = [f"{kind}_{axis}" for kind in ("worst", "likely") for axis in AXES]
    rows = book.rows("predictions", [*columns, "worst", "likely", "raw_worst", "raw_likely", "spool", "open_end"])
    assert sum(row["spool"] is not None for row in rows) == len(ends)
    elders = 0
    for row, leg in zip(rows, ends, strict=False):
        seen = handover.forecast(walk, leg, doubts)
        elders += handover.datum(leg) is not None
        assert row["spool"] == leg.spool and str(row["open_end"]).startswith(f"end of {leg.name}")
        near = 2e-5 * sum(each.length for each in handover.chain(leg))  # turning is not quite straight
        assert [row[f"worst_{axis}"] for axis in AXES] == pytest.approx(list(seen.worst()), abs=near)
        assert [row[f"likely_{axis}"] for axis in AXES] == pytest.approx(list(seen.likely()), abs=near)
        assert row["worst"] == pytest.approx(float(np.linalg.norm(seen.worst())), abs=2 * near)
        assert row["likely"] == pytest.approx(float(np.linalg.norm(seen.likely())), abs=2 * near)
        legs = handover.chain(leg)
        if any(each.at_start.takeout is None for each in legs):
            continue  # a fitting that cannot be had has no length to divide by
        along = [fault.axis is None for fault in seen.faults]
        line = np.abs(seen.moves[along]).sum(axis=0)
        swings = handover.swings_of(walk, leg)
        after = [sum(each.length for each in legs[legs.index(at) :]) for at, _ in swings]
        far = [float(np.linalg.norm(leg.end - at.start)) for at, _ in swings]
        worst = float(np.linalg.norm(line)) + sum(s * length for (_, s), length in zip(swings, after, strict=True))
        squares = float(np.sum(seen.likely(along) ** 2))
        squares += sum((s * away) ** 2 for (_, s), away in zip(swings, far, strict=True))
        assert row["raw_worst"] == pytest.approx(worst, rel=1e-9)
        assert row["raw_likely"] == pytest.approx(math.sqrt(squares), rel=1e-7, abs=1e-7)
    assert elders


@pytest.mark.parametrize("edition", EDITIONS)
def test_no_spool_comes_out_worse_than_the_worst_case(edition: str) -> None:
    """Hundreds of spools made at random within tolerance: none leaves the bounds, and they scatter as foretold."""
    text = handover.random_job(SEED, "inch")
    walk = handover.walked(text, edition)
    book = handover.cleared(text, edition)
    book.put_all({("rules.level_within", 0): 0.1})
    gap = book.value("closure_steps.gap_within")
    shrinkage, item = book.value("rules.shrinkage_within"), book.value("rules.item_within")
    doubts = Doubts(book.value("rules.step"), gap, shrinkage, item, 0.1)
    rng = np.random.default_rng(3)
    ends = handover.open_ends(walk)
    for at in sorted(range(len(ends)), key=lambda i: -len(handover.chain(ends[i])))[:4]:
        leg = ends[at]
        row = book.row("predictions", at)
        seen = handover.forecast(walk, leg, doubts)
        legs, other = handover.chain(leg), handover.datum(leg)
        base = handover.laid_end(legs, []) - (handover.laid_end([other], []) if other else 0)
        spread = []
        for _ in range(300):
            signs = rng.choice([-1.0, 1.0], len(seen.faults))
            faults = [
                handover.Fault(each.leg, sign * each.along, each.axis, sign * each.degrees)
                for each, sign in zip(seen.faults, signs, strict=True)
            ]
            place = handover.laid_end(legs, faults) - (handover.laid_end([other], faults) if other else 0)
            spread.append(place - base)
        off = np.array(spread)
        worst = np.array([row[f"worst_{axis}"] for axis in AXES])
        likely = np.array([row[f"likely_{axis}"] for axis in AXES])
        slack = 1e-5 * sum(each.length for each in legs)  # turning is not quite straight
        assert (np.abs(off) <= worst + slack).all()
        assert np.sqrt((off**2).mean(axis=0)) == pytest.approx(likely, rel=0.2)
        swings = handover.swings_of(walk, leg)
        for _ in range(100):
            end = leg.end.copy()
            for first, slope in reversed(swings):  # the last fitting first, so that each swings what follows
                end = first.start + handover.turned(
                    end - first.start, rng.normal(size=3), math.degrees(math.atan(slope))
                )
            assert np.linalg.norm(end - leg.end) <= row["raw_worst"] + 1e-9


def gap_known(book: Live) -> dict[tuple[str, int], Value]:
    """No room round the root gap."""
    gap = book.value("rules.root_gap")
    return {("rules.root_gap_min", 0): gap, ("rules.root_gap_max", 0): gap}


def test_the_level_to_aim_at_just_brings_it_in(shop: Live) -> None:
    tried = 0
    shop.put_all({("rules.shrinkage_within", 0): 0.0, ("rules.item_within", 0): 0.0, ("rules.precision", 0): 0.1})
    shop.put_all(gap_known(shop))
    for at in range(int(shop.value("predictions.ends_total"))):
        level = shop.value("predictions.level_to", at)
        if level is None or level >= 5:
            continue
        for factor, wanted in ((0.999, WITHIN), (1.001, OUTSIDE)):
            shop.put_all({("rules.level_within", 0): level * factor})
            assert shop.value("predictions.verdict", at) == wanted
        tried += 1
    assert tried > 1


def test_the_default_level_is_the_face_limit(shop: Live) -> None:
    slope = 3 / 64 / 12 if shop.edition == "inch" else 0.0039
    assert shop.value("closure_steps.level_used") == pytest.approx(math.degrees(math.atan(slope)))
    lengths = shop.column("chains.length")
    assert shop.column("chains.sideways")[0] == pytest.approx(lengths[0] * slope)


def test_what_a_prediction_says(shop: Live) -> None:
    ends = shop.rows("predictions", ["spool", "open_end"])
    row = ends.index({"spool": "S1", "open_end": "end of L2"})
    rules: dict[tuple[str, int], Value] = {
        ("rules.shrinkage_within", 0): 0.0, ("rules.precision", 0): 0.1 if shop.edition == "mm" else 1 / 64,
        **gap_known(shop),
        ("rules.level_within", 0): 0.0, ("rules.spool_max", 0): one_inch(shop.edition),
    }  # fmt: skip
    shop.put_all(rules)
    assert shop.value("predictions.action", row) == "Comes in even at the worst."
    assert shop.value("predictions.worst_verdict", row) == WITHIN
    worst, likely = (shop.value(f"predictions.{kind}_east", row) for kind in ("worst", "likely"))
    shop.put_all({("rules.spool_max", 0): (worst + likely) / 2})
    said = shop.value("predictions.action", row)
    assert shop.value("predictions.verdict", row) == WITHIN and shop.value("predictions.worst_verdict", row) == OUTSIDE
    amount = gauges.fine(worst, shop.edition)
    assert said.startswith(f"Likely comes in; up to {amount} east-west at the worst: leave leg L1 for a field fit, ")
    shop.put_all({("rules.level_within", 0): 1.0})
    said = shop.value("predictions.action", row)
    level = math.floor(100 * shop.value("predictions.level_to", row)) / 100
    assert shop.value("predictions.verdict", row) == OUTSIDE
    none = "no leg runs that way to carry an allowance: hold it by levelling."
    assert said.startswith("Likely ") and f" north-south: level to {level:g}° or better; {none[:-1]}" in said
    assert "; east-west: leave leg L1 for a field fit, trim of " in said  # which is over as well
    shop.put_all({("rules.level_within", 0): 0.1})
    levelled = shop.value("predictions.likely_east", row)
    shop.put_all({("rules.spool_max", 0): (levelled + likely) / 2})
    assert "° or better, or leave leg L1 for a field fit, trim of " in shop.value("predictions.action", row)
    shop.put_all({("rules.level_within", 0): 0.0, ("rules.spool_max", 0): likely / 2})
    assert "measure the fittings first (Cut steps), or leave leg L1" in shop.value("predictions.action", row)
    pieces = shop.column("cuts.mark")
    taken = shop.rows("cuts", ["takeout_start", "takeout_end"])
    for mark in ("S1-L1", "S1-L2"):
        at = pieces.index(mark)
        shop.put_all(
            {
                ("cuts.measured_start", at): taken[at]["takeout_start"],
                ("cuts.measured_end", at): taken[at]["takeout_end"],
            }
        )
    assert shop.value("predictions.verdict", row) == WITHIN
    shop.put_all({("rules.spool_max", 0): 0.0})
    assert "measure the fittings (Cut steps) and level finer, or leave leg L1" in shop.value("predictions.action", row)
    needed = shop.value("predictions.needed", row)
    leg = shop.column("legs.spool").index("S1")
    shop.put_all({("details.trim", leg): needed})
    assert "leg L1 carries trim enough for it." in shop.value("predictions.action", row)
    shop.put_all({("rules.shrinkage_within", 0): None})
    assert shop.value("predictions.action", row) == "A rule or a dimension is missing."
    assert shop.value("predictions.verdict", row) == "… rule missing"


def test_a_leg_that_runs_another_way_carries_nothing(shop: Live) -> None:
    row = shop.rows("predictions", ["spool", "open_end"]).index({"spool": "S4", "open_end": "end of L1"})
    shop.put_all({("rules.spool_max", 0): 0.0, ("rules.level_within", 0): 1.0})
    none = "no leg runs that way to carry an allowance: hold it by levelling"
    assert f"{none}; " in shop.value("predictions.action", row)  # what its leg does carry follows
    along = max(shop.value(f"predictions.worst_{way}", row) for way in ("east", "north", "up"))
    axis = int(shop.value("predictions.fit_axis", row)) - 1
    mine = shop.value(f"predictions.worst_{('east', 'north', 'up')[axis]}", row)
    shop.put_all({("rules.spool_max", 0): (mine + along) / 2})
    assert f"{none}." in shop.value("predictions.action", row)


def test_the_leg_for_a_field_fit(shop: Live) -> None:
    """The last leg with pipe in it that runs most the way the end is worst off, of those that a leg runs."""
    walk = handover.walked(shop_job(shop.edition), shop.edition)
    for row, leg in zip(shop.rows("predictions", ["fit_axis", "fit_leg"]), handover.open_ends(walk), strict=False):
        shares = [(abs(each.way[int(row["fit_axis"]) - 1]), each) for each in handover.chain(leg) if each.pieces]
        best = max(share for share, _ in shares)
        wanted = [each for share, each in shares if share > best - 1e-6][-1]
        assert row["fit_leg"] == wanted.row + 1


# -- slips of the keys -------------------------------------------------------------------------------------------------


TYPED = """
    dimensions.as_built legs.east legs.up legs.size legs.schedule legs.from legs.end details.trim details.takeout
    details.takeout_out details.make_up cuts.measured_start spools.mark spools.start_trim spools.start_takeout
    rules.spool_max rules.level_within rules.shrinkage_within rules.item_within rules.precision rules.root_gap
    rules.root_gap_max rules.root_gap_min rules.tolerance_by
"""


EXTREMES: tuple[Value, ...] = (1e300, -1e300, 1e-300, 0.0, "abc", None)


def test_no_error_value_whatever_is_typed() -> None:
    """Every slip in every kind of cell, in all its rows at once."""
    book = handover.cleared(shop_job("inch"), "inch")
    assert handover.errors(book) == []
    for name in TYPED.split():
        for value in EXTREMES:
            book.put_all({(name, row): value for row in range(min(12, book.book.fields[name].rows))})
            assert handover.errors(book) == [], (name, value)
        book.reset()


def test_no_error_value_whatever_is_typed_together() -> None:
    """Many slips at once, in a workbook with rows and in a blank one."""
    rng = random.Random(9)
    for text in (None, shop_job("mm")):
        book = handover.cleared(text, "mm")
        for _ in range(10):
            state = {
                (name, 0 if name.startswith("rules.") else rng.randrange(7)): rng.choice(NASTY)
                for name in rng.sample(TYPED.split(), 14)
                for _ in range(3)
            }
            book.put_all(state)
            assert handover.errors(book) == [], state
            book.reset()


def test_text_is_no_measurement(shop: Live) -> None:
    for value in NASTY:
        shop.put_all({("dimensions.as_built", row): value for row in range(8)})
        read = isinstance(value, float)
        assert {verdict == OPEN for verdict in shop.column("dimensions.verdict")[:8]} == {not read}
