"""Release: one spool's lines gathered from every sheet, its drawing, and a spool taken from blank to complete."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import drawings
import engines
import gauges
import handover
import numpy as np
import pytest
from handover import EDITIONS, OPEN, OUTSIDE, WITHIN
from live import NASTY, Live, one_inch
from records import COMPLETE
from staged_dimensions import shop_job
from staged_record import filled, outside_elsewhere
from test_dimensions import SEED, loose_pipes

COLUMNS = ("what", "mark", "about", "traced", "wanted", "made", "readings", "verdict", "second", "remark")


@pytest.fixture(params=EDITIONS)
def shop(request: pytest.FixtureRequest) -> Iterator[Live]:
    """The shop's workbook in each edition, nothing typed."""
    book = handover.cleared(shop_job(request.param), request.param)
    yield book
    book.reset()


def choose(book: Live, mark: str) -> list[dict[str, Any]]:
    """The lines of a spool."""
    book.put_all({("release.spool", 0): mark})
    return [row for row in book.rows("record", COLUMNS) if row["what"] is not None]


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_lines_of_every_spool(edition: str) -> None:
    text = handover.random_job(SEED, "inch")
    walk = handover.walked(text, edition)
    book = handover.cleared(text, edition)
    pieces, joints = gauges.pieces_of(walk), gauges.joints_of(walk)
    dimensions = handover.dimensions_of(walk)
    for spool in walk.spools:
        lines = choose(book, spool.mark)
        by_what = {
            word: [line["mark"] for line in lines if line["what"] == word]
            for word in ("Piece", "Joint", "Flange", "Dimension")
        }
        assert by_what["Piece"] == [piece.mark for leg, piece in pieces if leg.spool == spool.mark]
        wanted = [
            joint.label + ("" if joint.kind == "butt" else f", {joint.kind}")
            for joint in joints
            if joint.leg.spool == spool.mark
        ]
        assert by_what["Joint"] == wanted
        sizes = [dimension.size for dimension in dimensions if dimension.leg.spool == spool.mark]
        assert [line["wanted"] for line in lines if line["what"] == "Dimension"] == pytest.approx(sizes, abs=1e-6)
        flanges = [node for node in spool.nodes if handover.is_flange(node.kind) and node.arms]
        beside = sum(
            2 - item.bolted
            for leg in spool.legs
            for said, item in zip(leg.said.get("inline", []), leg.items, strict=True)
            if "flange" in said
        )
        assert len(by_what["Flange"]) == len(flanges) + beside
        assert len(lines) == book.value("release.lines_total")
        assert str(book.value("release.shown")).startswith(spool.mark)


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_drawing_is_the_spool(edition: str) -> None:
    """Drawn points are the isometric picture of the work points, moved and scaled alike along both ways."""
    text = handover.random_job(SEED, "inch")
    walk = handover.walked(text, edition)
    book = handover.cleared(text, edition)
    for spool in walk.spools[:6]:
        choose(book, spool.mark)
        rows = book.rows("released", ["x_from", "x_to", "y_from", "y_to"])
        ends = np.array([leg.end for leg in spool.legs])
        flat = np.array([drawings.paper(end) for end in ends])
        drawn = np.array([[row["x_to"], row["y_to"]] for row in rows[1 : len(ends) + 1]])
        start = np.array([rows[0]["x_to"], rows[0]["y_to"]])
        scale = 1 / book.value("release_points.scale") * 0.86
        assert drawn - start == pytest.approx(flat * scale, abs=1e-9)
        assert (drawn >= 0).all() and (drawn[:, 0] <= 2.2).all() and (drawn[:, 1] <= 1).all()
        for leg, row in zip(spool.legs, rows[1:], strict=False):
            at = start + np.array(drawings.paper(leg.start)) * scale
            assert [row["x_from"], row["y_from"]] == pytest.approx(list(at), abs=1e-9)


def test_what_a_print_shows() -> None:
    """The print range holds as many lines as Release says; a helper sheet prints its heading alone."""
    book = handover.opened(None, "inch").book
    plans = {plan.template.name: plan for plan in book.sheets}
    lines = book.tables["record"].table
    assert lines is not None
    assert list(book.fields["release.printed_lines"].values) == [lines.prints]
    assert plans["release"].last_printed == book.tables["record"].first + lines.prints - 1
    for name, serves in (("release_points", "Release"), ("face_steps", "Drilled face")):
        plan = plans[name]
        assert plan.last_printed < min(place.top for place in plan.tables)
        told = [line.text for line in plan.lines if line.row <= plan.last_printed]
        assert told[-1].startswith(f"Helper sheet: {serves} is drawn from it."), told


def test_a_spool_of_forty_legs() -> None:
    book = handover.cleared(loose_pipes(), "mm")
    lines = choose(book, "LONG")
    assert len(lines) == 40 + 80 + 2 + 44
    assert book.value("release_points.drawn") == 40
    assert "too short" not in str(book.value("release.print_said"))
    assert book.column("released.label") == ["start", *map(str, range(1, 41))]


def test_a_spool_from_blank_to_complete(shop: Live) -> None:
    """Blank, then filled sheet by sheet, one reading wrong, and corrected."""
    lines = choose(shop, "S7")
    total = len(lines)
    assert shop.value("release.standing") == f"… {total} lines open"
    assert {line["verdict"][0] for line in lines} == {"…", "–"}
    cells = filled(shop, "S7")
    for table in ("pieces", "joints", "welds", "flanges", "faces"):
        shop.put_all({place: value for place, value in cells.items() if place[0].startswith(f"{table}.")})
    still = [
        line["what"]
        for line in choose(shop, "S7")
        if line["verdict"][0] not in "✓–" or (line["second"] or "✓")[0] != "✓"
    ]
    assert still == ["Dimension"], still
    shop.put_all({place: value for place, value in cells.items() if place[0].startswith("dimensions.")})
    assert shop.value("release.standing") == "✓ complete: every line is filled and within"
    assert shop.value("release.counts") == "1 of 1 pieces ✓; 2 of 2 joints ✓; 2 of 2 flanges ✓; 1 of 1 dimensions ✓"
    assert [line["remark"] for line in choose(shop, "S7")] == [None] * total
    row = next(row for row, at in enumerate(shop.rows("dimensions", ["spool"])) if at["spool"] == "S7")
    drawn = shop.value("dimensions.drawing", row)
    shop.put_all({("dimensions.as_built", row): drawn + one_inch(shop.edition)})
    assert shop.value("release.standing") == "✗ 1 lines with a ✗, 0 open"
    line = choose(shop, "S7")[-1]
    assert line["verdict"] == OUTSIDE and " long, " in line["remark"]
    shop.put_all({("dimensions.as_built", row): drawn})
    assert str(shop.value("release.standing"))[0] == "✓"


def test_a_reading_outside_elsewhere_holds_the_spool_up(shop: Live) -> None:
    """A complete spool with one reading outside on Ends, Bevel, Level, Bores or Tacks is not complete."""
    shop.put_all(filled(shop, "S1"))
    choose(shop, "S1")
    complete = str(shop.value("release.standing"))
    assert complete.startswith("✓ complete")
    said = []
    for sheet, cells in outside_elsewhere(shop, "S1").items():
        shop.put_all(cells)
        said.append(f"{sheet} 1")
        assert shop.value("release.standing") == f"✗ 0 lines with a ✗, 0 open; ✗ on {', '.join(said)}"
        assert f"no line here: {', '.join(said)}." in "".join(
            str(shop.value(f"release.check_{at}") or "") for at in range(1, 6)
        )
    for cells in outside_elsewhere(shop, "S1").values():
        shop.put_all(dict.fromkeys(cells))
    assert shop.value("release.standing") == complete
    for cells in outside_elsewhere(shop, "S3").values():  # another spool's readings are not this one's
        shop.put_all(cells)
    assert shop.value("release.standing") == complete


def test_readings_are_told_as_they_were_taken(shop: Live) -> None:
    row = shop.column("joints.spool").index("S1")
    step = one_inch(shop.edition) / 32
    gap = shop.value("rules.root_gap")
    shop.put_all({("joints.gap_12", row): gap, ("joints.hi_lo_3", row): -step, ("joints.hi_lo_9", row): step})
    line = next(line for line in choose(shop, "S1") if line["what"] == "Joint")
    said, off = gauges.fine(gap, shop.edition), gauges.fine(step, shop.edition)
    assert line["readings"] == f"gap {said}, ·, ·, ·; hi-lo ·, -{off}, ·, {off}"


def test_field_welds_do_not_hold_the_spool_up(shop: Live) -> None:
    shop.put_all(filled(shop, "S3"))
    row = shop.column("welds.spool").index("S3")
    count = shop.column("welds.spool").count("S3")
    shop.put_all({(f"welds.{name}", at): None for name in COMPLETE for at in range(row, row + count)})
    shop.put_all({(f"joints.gap_{clock}", at): None for clock in (12, 3, 6, 9) for at in range(row, row + count)})
    lines = choose(shop, "S3")
    assert shop.value("release.standing") == "✓ complete: every line is filled and within; 2 field welds to follow"
    assert [line["remark"] for line in lines if line["what"] == "Joint"] == ["field weld, to follow"] * 2


def test_a_spool_that_cannot_be_made_says_so(shop: Live) -> None:
    row = shop.column("legs.spool").index("S1")
    shop.put_all({("legs.size", row): "7", ("release.spool", 0): "S1"})
    assert shop.value("release.standing") == "✗ cannot be made as drawn: 2 legs with a ✗ on the Route" or str(
        shop.value("release.standing")
    ).startswith("✗ cannot be made as drawn: 1 legs")


def test_blank_and_unknown(shop: Live) -> None:
    assert str(shop.value("release.shown")).startswith("S1"), "blank shows the first spool"
    assert choose(shop, "nobody") == []
    assert shop.value("release.shown") == "no such spool"
    assert shop.value("release.standing") is None
    blank = handover.cleared(None, "mm")
    assert [row for row in blank.column("record.what") if row is not None] == []
    assert blank.value("release.shown") == "no spool yet: type one on Spools"


def test_no_error_value_whatever_is_typed() -> None:
    rng = random.Random(7)
    for text in (None, shop_job("mm")):
        book = handover.cleared(text, "mm")
        assert handover.errors(book) == []
        for _ in range(4):
            typed = "pieces.as_cut pieces.heat joints.gap_12 joints.hi_lo_3 flanges.level_degrees faces.near_12 "
            typed += "dimensions.as_built welds.welder legs.east legs.size spools.drawing rules.root_gap"
            state = {
                (name, 0 if name.startswith("rules.") else rng.randrange(7)): rng.choice(NASTY)
                for name in typed.split()
                for _ in range(3)
            }
            state["release.spool", 0] = rng.choice(["S1", "S3", *NASTY])
            book.put_all(state)
            assert handover.errors(book) == [], state
            book.reset()


@pytest.mark.parametrize("edition", ["inch", pytest.param("mm", marks=pytest.mark.thorough)])
def test_office_agrees(edition: str, tmp_path: Path) -> None:
    """LibreOffice works out every cell of the four sheets as the build does: filled well, filled badly."""
    book = handover.cleared(shop_job(edition), edition)
    rng = random.Random(6)
    # nobody can type a nought below 0, which one engine shows with its sign
    mild = [value for value in NASTY if engines.filters_hold(value) and str(value) != "-0.0"]
    good = filled(book, "S1") | filled(book, "S3")
    good = {place: value for place, value in good.items() if rng.random() < 0.9}
    good |= {("release.spool", 0): "S1", ("rules.procedure", 0): "WPS-1", ("rules.level_within", 0): 0.15}
    if edition == "mm":
        good |= {
            ("rules.tolerance_by", 0): "ISO 13920-C",
            ("welds.code_edition", 0): "B31.3-2010",
            ("welds.p_number", 0): "P-1",
        }
    chosen = [place for place in good if rng.random() < 0.5 and not place[0].endswith(("_on", ".spool"))]
    slips = {place: rng.choice(mild) for place in chosen}
    slips |= {("rules.spool_max", 0): 2.5, ("release.spool", 0): "S3"}
    assert handover.disagreements(book, [good, slips] if edition == "inch" else [good], tmp_path) == []


def test_words_of_the_verdicts(shop: Live) -> None:
    shop.put_all(filled(shop, "S1"))
    for table in ("dimensions", "welds"):
        assert {word for word in shop.column(f"{table}.verdict") if word} <= {WITHIN, OUTSIDE, OPEN}
