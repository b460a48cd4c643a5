"""The published examples that ride in the spool workbook come out, whatever the job's own rules are."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest
from live import WORKBOOK, job_of

from workbook_builder.build import workshop
from workbook_builder.template import Case, cases_of

DEMO = (Path(__file__).resolve().parent.parent / "output_examples" / "mill_creek.toml").read_text(encoding="utf-8")
OTHER_RULES = re.sub(r"(?ms)^\[rules\].*?(?=^#|^\[\[)", '[rules]\nroot_gap = "3/32 in"\nprecision = "1/8 in"\n', DEMO)
EDITIONS = ("inch", "mm")
CUTTING = ("route", "details", "cut_steps")
"""Sheets whose examples must be there: offsets, rolling offset, cut elbow, arc, cut length."""


def cases() -> list[Case]:
    """The examples of the workbook's sheets."""
    shelf = workshop().shelf
    return cases_of([shelf.sheet(name) for name in shelf.workbook(WORKBOOK).sheets], "inch")


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("job", [None, DEMO, OTHER_RULES], ids=["blank", "demo", "other rules"])
def test_every_example_comes_out(edition: str, job: str | None) -> None:
    _, computed = workshop().compute(WORKBOOK, None if job is None else job_of(job), edition)
    values = computed.values
    told = zip(*(values[f"proofs.{name}"] for name in ("sheet", "what", "found", "published", "verdict")), strict=True)
    assert [row for row in told if row[-1] != "✓ within"] == []
    assert values["checks.right"] == [float(len(values["proofs.verdict"]))] and values["checks.wrong"] == [0.0]
    assert values["start.proofs_wrong"] == [0.0]


def test_the_published_examples_of_cutting_are_there() -> None:
    found = {(case.template.name, case.expected) for case in cases()}
    wanted = {
        ("route", "length"),
        ("route", "elbow_take"),
        ("route", "roll_arc"),
        ("details", "advance"),
        ("cut_steps", "net"),
    }
    assert wanted <= found
    assert all(case.example.source.strip() for case in cases())


def test_no_tolerance_is_wider_than_the_rounding_of_what_was_printed() -> None:
    """Half a unit of the last digit that the source prints; where it is wider, the example's note says why."""
    wide = []
    for case in cases():
        printed, within = str(case.example.expect[case.expected]), str(case.example.within)
        number = re.match(r"[-.\d]+", printed)
        if case.template.name not in CUTTING or number is None or case.example.note:
            continue
        half = Decimal(1).scaleb(int(Decimal(number[0]).as_tuple().exponent)) / 2
        if Decimal(str(re.match(r"[-.e\d]+", within)[0])) > half:  # type: ignore[index]
            wide.append((case.template.name, printed, within))
    assert wide == []
