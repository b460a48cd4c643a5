"""Facings and gaskets: raised, flat and ring joint faces, and dimensions that run to the other flange's face."""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

from collections import Counter
from functools import cache
from typing import Any

import handover
import pytest
from alike import SENTENCES, Rows, legs_unlike, pieces_unlike, totals_unlike, unsaid
from cutting import live, shop
from live import WORKBOOK, job_of
from routes import Routes, job_text
from test_route import unlaid
from walk import FLANGES, _rows
from walk_faces import FacedWalk, facing_at

from workbook_builder.errors import JobError

WN, SO, SW, LJ = FLANGES
EDITIONS = ("inch", "mm")
RINGS = {(row["class"], row["size"]) for row in _rows("ring_joint")}
SPOOLS = 60
CASES = [(seed, units, edition) for seed, units in ((11, "inch"), (11, "mm")) for edition in EDITIONS]


# -- random spools -----------------------------------------------------------------------------------------------------


class FacedRoutes(Routes):
    """Spools with facings and gaskets; a ring joint only where the standard has one."""

    def may_be(self, facing: str, kind: str, flange_class: str, size: str) -> bool:
        return facing != "RTJ" or kind != LJ and (flange_class, size) in RINGS

    def choose(self, said: dict[str, Any], key: str, spool: dict[str, Any], where: tuple[str, str, str]) -> None:
        """A facing for a flange: the spool's, or its own where the spool's cannot be, or by chance."""
        if self.rng.random() < 0.5:
            said[key] = self.rng.choice(["RF", "FF", "RTJ", "RTJ"])
        if not self.may_be(facing_at(said, key, spool), *where):
            said[key] = self.rng.choice(["RF", "FF"])

    def valve(self, item: dict[str, Any], spool: dict[str, Any], size: str) -> None:
        """Now and then a valve of the table, its length mostly left to it."""
        facing = facing_at(item, "facing", spool)
        column = "weld_ends_mm" if item["ends"] == "butt" else "ring_joint_mm" if facing == "RTJ" else "face_to_face_mm"
        there = item["ends"] == "butt" or item["ends"] == "flanged" and facing != "FF"
        known = [row for row in _rows("valve") if row["size"] == size and row[column]]
        if item["ends"] == "butt":
            item["class"] = "300"
        known = [row for row in known if row["class"] == item.get("class")]
        if there and known and "takes" not in item:
            item["valve"] = self.rng.choice(known)["valve"]
            if self.rng.random() < 0.8:
                del item["length"]

    def spool(self, mark: str) -> dict[str, Any]:
        rng = self.rng
        spool = super().spool(mark)
        if rng.random() < 0.7:
            spool["facing"] = rng.choice(["RF", "FF", "RTJ", "RTJ"])
        if spool["start"] in ("cap", "weld"):  # more flanges than the plain routes have
            kind = rng.choice([WN, SO, SW])
            if flange_class := self.flange_class(kind, spool["size"]):
                spool |= {"start": kind, "class": flange_class}
        size, by_name = spool["size"], dict[str, dict[str, Any]]()
        if spool["start"] in FLANGES:
            self.choose(spool, "start_facing", spool, (spool["start"], spool["class"], size))
            if rng.random() < 0.4:
                spool["start_gasket"] = rng.choice(["1/8 in", "3/16 in", 0.13 * self.inch])
        before = "start"
        for at, leg in enumerate(spool["leg"]):
            parent = by_name.get(leg.get("from", before))
            leg_size = leg.get("size", parent["size"] if parent else size)
            flange_class = leg.get("class", parent["class"] if parent else spool.get("class", ""))
            before = leg.get("name", f"L{at + 1}")
            by_name[before] = {"size": leg_size, "class": flange_class}
            if leg["end"] in FLANGES:
                self.choose(leg, "facing", spool, (leg["end"], flange_class, leg_size))
                if rng.random() < 0.4 and not any(item.get("against") == "end" for item in leg.get("inline", [])):
                    leg["gasket"] = rng.choice(["1/8 in", "1/16 in", 0.2 * self.inch])
            for item in leg.get("inline", []):
                if item["ends"] in ("flanged", "wafer"):
                    self.choose(item, "facing", spool, (item["flange"], item["class"], leg_size))
                self.valve(item, spool, leg_size)
        return spool


@cache
def text_of(seed: int, units: str) -> str:
    return FacedRoutes(seed, units).job(SPOOLS)


@pytest.mark.parametrize(("seed", "units", "edition"), CASES)
def test_the_workbook_agrees_with_the_walk(seed: int, units: str, edition: str) -> None:
    text = text_of(seed, units)
    walk, rows = FacedWalk(text, edition), Rows(shop().compute(WORKBOOK, job_of(text), edition)[1].values)
    assert [
        *(line for spool in walk.spools for line in legs_unlike(rows, spool)),
        *(line for spool in walk.spools for line in pieces_unlike(rows, spool, walk)),
        *totals_unlike(rows, walk),
        *unlaid(walk, rows),
        *unsaid(walk, rows, SENTENCES),
    ] == []


def test_the_random_spools_reach_every_facing() -> None:
    seen: Counter[tuple[str, str, str]] = Counter()
    for seed, units in ((11, "inch"), (11, "mm")):
        for spool in FacedWalk(text_of(seed, units), units).spools:
            for node in spool.nodes:
                if node.kind in FLANGES:
                    key = "start_facing" if node.first else "facing"
                    seen["start" if node.first else "end", node.kind, facing_at(node.said, key, node.spool)] += 1
                    seen["gasket", "start" if node.first else "end", ""] += (
                        "start_gasket" if node.first else "gasket"
                    ) in node.said
            for leg in spool.legs:
                for item in leg.said.get("inline", []):
                    if "valve" in item:
                        seen["valve", item["ends"], "typed" if "length" in item else "table"] += 1
                    if item["ends"] in ("flanged", "wafer"):
                        seen["item", item["flange"], facing_at(item, "facing", leg.end_node.spool)] += 1
    wanted = [
        (at, kind, facing) for at in ("start", "end", "item") for kind in (WN, SO, SW) for facing in ("FF", "RTJ")
    ]
    wanted += [("valve", ends, "table") for ends in ("flanged", "butt")] + [("valve", "flanged", "typed")]
    assert [each for each in [*wanted, ("gasket", "start", ""), ("gasket", "end", "")] if not seen[each]] == []


# -- single flanges, by hand ---------------------------------------------------------------------------------------------


def one(start: str, flange_class: str, size: str, facing: str, **more: Any) -> dict[str, Any]:
    return {
        "mark": "A", "size": size, "schedule": "STD" if size != "24" else "XS", "class": flange_class, "start": start, "facing": facing,
        "leg": [{"east": 100, "end": start}], **more,
    }  # fmt: skip


BY_HAND = [
    # kind, class, size, facing, take-out in inches: length without a face by ASME B16.5, and the face or the groove's depth
    (WN, "150", "6", "RF", 3.4375 + 0.0625),
    (WN, "150", "6", "FF", 3.4375),
    (WN, "150", "6", "RTJ", 3.4375 + 0.25),
    (WN, "600", "4", "RF", 4 + 0.25),
    (WN, "600", "4", "FF", 4.0),
    (WN, "600", "4", "RTJ", 4 + 0.312),
    (WN, "1500", "12", "RTJ", 11.125 + 0.562),
    (SW, "300", "2", "FF", 1.25 - 0.6875 + 0.0625),
    (SW, "300", "2", "RTJ", 1.25 - 0.6875 + 0.0625 + 0.312),
    (SO, "150", "6", "RTJ", 0.25),
    (SO, "150", "6", "FF", 0.25),
    (LJ, "150", "6", "FF", 8.0),
]


@pytest.mark.parametrize(("kind", "flange_class", "size", "facing", "wanted"), BY_HAND)
def test_a_take_out_by_hand(kind: str, flange_class: str, size: str, facing: str, wanted: float) -> None:
    book = live(job_text([one(kind, flange_class, size, facing)]), "inch")
    assert [book.value(f"legs.takeout_{side}", 0) for side in ("start", "end")] == pytest.approx([wanted] * 2, abs=1e-9)


def test_a_gasket_in_the_dimension_shortens_the_pipe_and_the_spool() -> None:
    """From the mating face before the start to the mating face after the end: two gaskets off 100 in."""
    spool = one(WN, "150", "6", "RTJ", start_facing="RF", start_gasket="1/8 in")
    spool["leg"][0] |= {"gasket": "3/16 in"}
    book = live(job_text([spool], rules={"root_gap": "1/8 in"}), "inch")
    takes = 3.5 + 1 / 8, 3.6875 + 3 / 16
    assert book.value("legs.takeout_start", 0) == pytest.approx(takes[0])
    assert book.value("legs.takeout_end", 0) == pytest.approx(takes[1])
    assert book.value("pieces.cut_length", 0) == pytest.approx(100 - sum(takes) - 2 / 8)
    assert (
        book.value("legs.cautions", 0)
        == 'Start: take-out with gasket 1/8". End: take-out with ring joint R43 and gasket 3/16". '
    )
    # a take-out measured on the flange itself has no gasket in it
    book.put_all({("cuts.measured_start", 0): 3.5, ("cuts.measured_end", 0): 3.6875})
    assert book.value("pieces.cut_length", 0) == pytest.approx(100 - sum(takes) - 2 / 8)


def test_the_spool_leaves_the_shop_without_the_gaskets() -> None:
    """What is measured on the finished spool runs from its own faces."""
    spool = one(WN, "150", "6", "RF", start_gasket="1/8 in")
    spool["leg"] = [{"east": 100, "end": "elbow"}, {"north": 50, "end": WN, "gasket": "1/4 in"}]
    book = handover.opened(job_text([spool]), "inch")
    rows = {
        (row["leg"], row["what"]): row["signed"]
        for row in book.rows("dimensions", ("leg", "what", "signed"))
        if row["leg"]
    }
    assert rows["L1", "leg"] == pytest.approx(100 - 1 / 8)
    assert rows["L2", "leg"] == pytest.approx(50 - 1 / 4)
    assert rows["L2", "east"] == pytest.approx(100 - 1 / 8)
    assert rows["L2", "north"] == pytest.approx(50 - 1 / 4)


def test_the_parts_say_their_facing() -> None:
    from live import Live, some

    spool = one(WN, "150", "6", "RTJ", start_facing="RF")
    spool["leg"][0]["inline"] = [
        {"item": "gate valve", "length": "11 in", "at": 50, "ends": "flanged", "flange": WN, "facing": "FF"}
    ]
    whats = [each for each in Live(job_text([spool]), "inch", some()).column("parts.what") if each]
    assert whats == [
        "weld neck flange 6 STD class 150, RTJ",
        "weld neck flange 6 STD class 150",
        "gate valve 6 class 150, flanged",
        "weld neck flange 6 STD class 150, FF",
    ]


# -- what cannot be ------------------------------------------------------------------------------------------------------

NO_RING = "no such combination in the tables: a ring joint facing in size 1/2, class 150; give it the facing RF or FF, or type its take-out"
NO_LAP = "no such combination in the tables: a ring joint facing on a lap joint; give it the facing RF or FF, or type its take-out"
VALVE = {"item": "gate", "length": 5, "at": 50, "ends": "flanged", "flange": WN}

WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "no ring, start": ({**one(WN, "150", "1/2", "RF"), "start_facing": "RTJ"}, f"spool A, start: {NO_RING}"),
    "no ring, spool": (one(WN, "150", "1/2", "RTJ"), f"spool A, start: {NO_RING}"),
    "no ring, leg": ({**one(WN, "150", "1/2", "RF"), "leg": [{"east": 9, "end": SW, "facing": "RTJ"}]}, f"spool A, leg L1, end: {NO_RING}"),
    "no ring, leg of the spool": (
        {**one("plain", "150", "1/2", "RTJ"), "leg": [{"east": 9, "end": SO}]}, f"spool A, leg L1, end: {NO_RING}",
    ),
    "lap, start": (one(LJ, "150", "6", "RTJ"), f"spool A, start: {NO_LAP}"),
    "lap, leg": ({**one(WN, "150", "6", "RF"), "leg": [{"east": 9, "end": LJ, "facing": "RTJ"}]}, f"spool A, leg L1, end: {NO_LAP}"),
    "metric class": (one(WN, "PN16", "6", "RTJ"), "spool A, start: no such combination in the tables: a ring joint facing in size 6, class PN16; give it the facing RF or FF, or type its take-out"),
    "no flange, start": ({**one("plain", "150", "6", "RF"), "start_facing": "FF"}, "spool A, start_facing: start_facing has no meaning here; it goes with start = weld_neck_flange, slip_on_flange, socket_weld_flange, threaded_flange, lap_joint"),
    "no flange, gasket": ({**one("plain", "150", "6", "RF"), "start_gasket": "1/8 in"}, "spool A, start_gasket: start_gasket has no meaning here; it goes with start = weld_neck_flange, slip_on_flange, socket_weld_flange, threaded_flange, lap_joint"),
    "no flange, leg": ({**one(WN, "150", "6", "RF"), "leg": [{"east": 9, "end": "cap", "gasket": 0.1}]}, "spool A, leg L1, gasket: gasket has no meaning here; it goes with end = weld_neck_flange, slip_on_flange, socket_weld_flange, threaded_flange, lap_joint"),
    "no such facing": (one(WN, "150", "6", "RJ"), "spool A, facing: unknown facing 'RJ'; did you mean 'RTJ'?"),
    "no ring, item": ({**one("plain", "150", "1/2", "RTJ"), "leg": [{"east": 99, "end": "plain", "inline": [VALVE]}]}, f"spool A, leg L1, inline item 1, flange: {NO_RING}"),
    "lap, item": ({**one("plain", "150", "6", "RF"), "leg": [{"east": 99, "end": "plain", "inline": [{**VALVE, "flange": LJ, "facing": "RTJ"}]}]}, f"spool A, leg L1, inline item 1, flange: {NO_LAP}"),
}  # fmt: skip


@pytest.mark.parametrize("case", list(WRONG))
def test_one_sentence_for_each_facing_that_cannot_be(case: str) -> None:
    spool, sentence = WRONG[case]
    units = "mm" if spool["class"] == "PN16" else "inch"
    with pytest.raises(JobError) as caught:
        job_of(job_text([spool], units))
    assert str(caught.value) == f"job.toml: {sentence}"


def test_a_typed_take_out_needs_no_ring_joint_of_the_tables() -> None:
    spool = one(LJ, "150", "6", "RTJ", start_takeout="4 in")
    spool["leg"][0]["takeout"] = "5 in"
    book = live(job_text([spool]), "inch")
    assert [book.value("legs.takeout_start", 0), book.value("legs.takeout_end", 0)] == [4, 5]
    assert book.value("legs.stops", 0) in (None, "")
