"""Weld log: what is open and flagged against a log kept in Python, heats through the spool, preheat by edition."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from typing import Any

import gauges
import handover
import pytest
from handover import EDITIONS, OPEN, OUTSIDE, THREADED, WITHIN
from live import NASTY, Live, Value, one_inch
from records import BOXES, CHANCE, COMPLETE, DAY, FLAGGED, LEFT_OPEN, Line, is_day
from staged_dimensions import shop_job
from test_dimensions import SEED, loose_pipes


@pytest.fixture(params=EDITIONS)
def shop(request: pytest.FixtureRequest) -> Iterator[Live]:
    """The shop's workbook in each edition, nothing typed."""
    book = handover.cleared(shop_job(request.param), request.param)
    yield book
    book.reset()


def put(book: Live, line: Mapping[str, Value], row: int = 0) -> dict[str, Any]:
    """A line of the log typed, the other boxes cleared; what its row then says."""
    book.put_all({(f"welds.{name}", row): line.get(name) for name in BOXES})
    return book.row("welds", row)


def kept(line: Mapping[str, Value], heats: tuple[str, str], procedure: str, fit: str) -> tuple[str, str]:
    """Verdict and sentence of a line, from what stands in its boxes; `procedure` is that of the rules."""
    got = {name: line.get(name) or None for name in BOXES}
    one = Line(got, heats, str(got["procedure"] or procedure), fit)
    return one.verdict, one.action


def test_a_complete_line(shop: Live) -> None:
    told = put(shop, COMPLETE)
    assert (told["verdict"], told["action"]) == (WITHIN, "Complete.")
    count = int(shop.value("fitup.joints_total"))
    assert shop.value("welds.told") == f"1 ✓, 0 ✗, {count - 1} …; 3 of them field welds"


@pytest.mark.parametrize(("more", "said"), FLAGGED)
def test_what_is_flagged(shop: Live, more: Mapping[str, Value], said: str) -> None:
    told = put(shop, {**COMPLETE, **more})
    assert (told["verdict"], told["action"]) == (OUTSIDE, said)


@pytest.mark.parametrize(("more", "said"), LEFT_OPEN)
def test_what_is_open(shop: Live, more: Mapping[str, Value], said: str) -> None:
    told = put(shop, {**COMPLETE, **more})
    assert (told["verdict"], told["action"]) == ((OPEN, said) if said else (WITHIN, "Complete."))


def test_a_fit_up_that_is_outside_is_told(shop: Live) -> None:
    shop.put_all({("joints.gap_12", 0): one_inch(shop.edition)})
    told = put(shop, {"accepted_by": "A.E.", "accepted_on": DAY})
    assert told["action"] == "Accepted although Fit-up shows ✗: see there."
    assert put(shop, COMPLETE)["action"] == "Welded although Fit-up shows ✗: see there."
    shop.put_all({("joints.gap_12", 0): None})
    assert put(shop, COMPLETE)["verdict"] == WITHIN


def test_the_procedure_of_the_rules_serves(shop: Live) -> None:
    shop.put_all({("rules.procedure", 0): "WPS-9"})
    assert put(shop, {**COMPLETE, "procedure": None})["procedure_said"] == "WPS-9"
    assert put(shop, COMPLETE)["procedure_said"] == "WPS-1"


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_threaded_joint_waits_for_no_weld(edition: str) -> None:
    book = handover.opened(THREADED, edition)
    row = book.column("welds.kind").index("threaded")
    blank = dict.fromkeys(BOXES)
    assert put(book, blank, row)["action"] == "Open: heat number, fit-up."
    accepted: dict[str, Value] = {"first_heat": "H1", "second_heat": "H2", "accepted_by": "A.E.", "accepted_on": DAY}
    told = put(book, blank | accepted, row)
    assert (told["verdict"], told["action"]) == (WITHIN, "Complete.")
    told = put(book, blank | accepted | {"visual": "rejected"}, row)
    assert (told["verdict"], told["action"]) == (OUTSIDE, "Visual rejected. Repair open.")
    threaded = book.column("welds.kind").count("threaded")
    assert threaded > 1 and sum(value or 0 for value in book.column("welds.open_root")) == 0


def test_random_logs(shop: Live) -> None:
    """Hundreds of lines filled at random: each verdict, each sentence, and every count."""
    rng = random.Random(2)
    count = int(shop.value("fitup.joints_total"))
    fits = shop.column("joints.verdict")
    seen = set()
    for _ in range(12):
        lines = [{name: rng.choice(values) for name, values in CHANCE.items()} for _ in range(count)]
        shop.put_all({(f"welds.{name}", row): value for row, line in enumerate(lines) for name, value in line.items()})
        rows = shop.rows("welds", ["verdict", "action", "heat_one", "heat_two", "early"])
        wanted = []
        for line, row, fit in zip(lines, rows, fits, strict=False):
            heats = (row["heat_one"] or "", row["heat_two"] or "")
            wanted.append(kept(line, heats, "", fit))
            assert (row["verdict"], row["action"]) == wanted[-1], line
        counts = [[verdict for verdict, _ in wanted].count(word) for word in (WITHIN, OUTSIDE, OPEN)]
        assert str(shop.value("welds.told")).startswith("{} ✓, {} ✗, {} …;".format(*counts))
        early = sum("Welded before" in action for _, action in wanted)
        assert shop.value("welds.early_total") == early
        accepted = sum(bool(line["accepted_by"]) and is_day(line["accepted_on"]) for line in lines)
        roots, caps = (sum(is_day(line[name]) for line in lines) for name in ("root_on", "cap_on"))
        said = str(shop.value("welds.open_said"))
        assert said.startswith(f"fit-up {count - accepted}, root {count - roots}, cap {count - caps}, ")
        seen |= {verdict for verdict, _ in wanted}
    assert seen == {WITHIN, OUTSIDE, OPEN}


# -- heats -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_heats_of_pipe_come_from_the_cut_list(edition: str) -> None:
    text = handover.random_job(SEED, "inch")
    walk = handover.walked(text, edition)
    book = handover.cleared(text, edition)
    pieces = gauges.pieces_of(walk)
    book.put_all({("pieces.heat", row): f"P{row}" for row in range(len(pieces))})
    joints = gauges.joints_of(walk)
    rows = book.rows("welds", ["spool", "joint", "size", "wall", "kind", "heat_one", "heat_two"])
    assert sum(row["joint"] is not None for row in rows) == len(joints)
    inherited = 0
    for row, joint in zip(rows, joints, strict=False):
        leg = joint.leg
        assert (row["spool"], row["joint"], row["size"], row["kind"]) == (leg.spool, joint.label, leg.size, joint.kind)
        assert row["wall"] == pytest.approx(leg.wall)
        assert row["heat_one"] == (None if joint.first_end is None else f"P{joint.first_end // 2}")
        assert row["heat_two"] == (None if joint.second_end is None else f"P{joint.second_end // 2}")
    book.put_all({("welds.second_heat", row): f"F{row}" for row in range(len(joints))})
    rows = book.rows("welds", ["heat_one", "heat_two"])
    last = {id(joint.leg): at for at, joint in enumerate(joints)}
    first: dict[int, int] = {}
    for at, joint in enumerate(joints):
        first.setdefault(id(joint.leg), at)
    for at, joint in enumerate(joints):
        assert rows[at]["heat_two"] == f"F{at}"
        owner = joint.leg.node.owner
        if joint.first_end is not None or owner is None or first[id(joint.leg)] != at or joint.leg.said.get("inline"):
            continue
        if owner.said.get("make_up") or gauges.how_joined(owner, False) and not owner.said.get("inline"):
            assert rows[at]["heat_one"] == f"F{last[id(owner)]}", "the elbow or tee that the leg before ends in"
            inherited += 1
    assert inherited > 3


def test_a_valve_with_welded_ends_has_one_heat() -> None:
    book = handover.cleared(loose_pipes(), "mm")
    row = book.column("welds.spool").index("V")
    book.put_all({("welds.second_heat", row + 1): "V-1"})
    assert book.column("welds.heat_one")[row + 2] == "V-1"


# -- preheat -----------------------------------------------------------------------------------------------------------


def test_preheat_is_asked_for_not_assumed(shop: Live) -> None:
    assert shop.value("welds.preheat_said") == (
        "Say code, edition and P-number first: what is asked for differs by edition."
    )
    shop.put_all({("welds.code_edition", 0): "B31.3-2010"})
    assert str(shop.value("welds.preheat_said")).startswith("Say code")


@pytest.mark.parametrize(
    ("code", "number", "inch", "mm"),
    [
        ("B31.3-2010", "P-1", ("175 °F", "recommended"), ("79 °C", "recommended")),
        ("B31.3-2010", "P-4", ("300 °F", "required"), ("149 °C", "required")),
        ("B31.3-2010", "P-5B", ("350 °F", "required"), ("177 °C", "required")),
        ("B31.3-2010", "P-8", ("50 °F", "recommended"), ("10 °C", "recommended")),
        ("B31.3-2014 on", "P-1", ("200 °F", "† from memory, verify"), ("95 °C", "† from memory, verify")),
        ("B31.3-2014 on", "P-4", ("250 °F", "† from memory, verify"), ("120 °C", "† from memory, verify")),
        ("B31.3-2014 on", "P-8", ("Not in this book", "see your edition"), ("Not in this book", "see your edition")),
        ("another", "P-1", ("Not in this book", "see your edition"), ("Not in this book", "see your edition")),
    ],
)
def test_preheat_by_edition(shop: Live, code: str, number: str, inch: tuple[str, str], mm: tuple[str, str]) -> None:
    shop.put_all({("welds.code_edition", 0): code, ("welds.p_number", 0): number})
    said = str(shop.value("welds.preheat_said"))
    for word in inch if shop.edition == "inch" else mm:
        assert word in said
    assert f"Preheat: {said} The procedure's comes first" in str(shop.value("welds.check_1"))


# -- slips of the keys -------------------------------------------------------------------------------------------------


def test_no_error_value_whatever_is_typed() -> None:
    rng = random.Random(8)
    for text in (None, shop_job("mm")):
        book = handover.cleared(text, "mm")
        for _ in range(4):
            state: dict[tuple[str, int], Value] = {
                (f"welds.{name}", rng.randrange(12)): rng.choice(NASTY) for name in BOXES for _ in range(3)
            }
            state |= {(f"joints.gap_{at}", 0): rng.choice(NASTY) for at in (12, 3)}
            state["welds.code_edition", 0] = rng.choice(NASTY)
            state["details.make_up", rng.randrange(5)] = rng.choice(("yes", "x", None))
            book.put_all(state)
            assert handover.errors(book) == [], state
            book.reset()
