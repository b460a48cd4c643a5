"""The workbooks that ship as examples are what the templates build today, and each main sheet has its picture."""

from __future__ import annotations

import tomllib

import make_examples
import pytest
from engines import package

from workbook_builder.build import build
from workbook_builder.read import read


@pytest.fixture(scope="module")
def built() -> dict[str, bytes]:
    return make_examples.build()


def test_the_examples_are_up_to_date(built: dict[str, bytes]) -> None:
    there = {path.name for path in make_examples.FOLDER.glob("*.xlsx")}
    assert there == set(built), "run make examples"
    stale = [
        name for name, data in built.items() if package(data) != package((make_examples.FOLDER / name).read_bytes())
    ]
    assert stale == [], "these are no longer what the templates build: run make examples"


def test_building_again_gives_the_same_bytes(built: dict[str, bytes]) -> None:
    assert build(make_examples.WORKBOOK, None, "mm") == built[f"{make_examples.WORKBOOK}-mm.xlsx"]


def test_there_is_a_picture_of_each_main_sheet() -> None:
    there = {path.name for path in make_examples.FOLDER.glob("*.png")}
    assert there == set(make_examples.pictures()), "run make examples"


@pytest.mark.parametrize("edition", make_examples.EDITIONS)
def test_the_filled_workbook_holds_every_reading(built: dict[str, bytes], edition: str) -> None:
    """And shows each kind of verdict."""
    name = next(name for name in built if name.endswith(f"-{edition}{make_examples.FILLED}.xlsx"))
    found = read(built[name], name)
    assert found.errors == [] and found.findings == [] and found.stale == []
    said = tomllib.loads(make_examples.READINGS.read_text(encoding="utf-8"))
    for table, group in (("pieces", "piece"), ("ends", "end_reading"), ("joints", "joint")):
        given = sum(len(spool.get(group, [])) for spool in said["spool"])
        typed = [found.values[one.name] for one in found.tables[table] if one.typed]
        assert sum(any(value is not None for value in row) for row in zip(*typed, strict=True)) == given
        signs = {str(verdict)[0] for verdict in found.values[f"{table}.verdict"] if verdict}
        assert signs >= {"✓", "✗", "…"}, table
    assert all(found.values[name] != [None] for name in said["typed"])
