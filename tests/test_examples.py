"""The built workbooks that ship as examples are what the templates build today."""

from __future__ import annotations

import io
import zipfile

import make_examples
import pytest

from workbook_builder.build import build


def parts(data: bytes) -> dict[str, bytes]:
    """What a package holds; how tightly it is packed is left aside."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return {name: package.read(name) for name in package.namelist()}


@pytest.fixture(scope="module")
def built() -> dict[str, bytes]:
    return make_examples.build()


def test_the_examples_are_up_to_date(built: dict[str, bytes]) -> None:
    there = {path.name for path in make_examples.FOLDER.glob("*.xlsx")}
    assert there == set(built), "run make examples"
    stale = [name for name, data in built.items() if parts(data) != parts((make_examples.FOLDER / name).read_bytes())]
    assert stale == [], "these are no longer what the templates build: run make examples"


def test_building_again_gives_the_same_bytes(built: dict[str, bytes]) -> None:
    name, data = next(iter(built.items()))
    assert build(make_examples.WORKBOOK, None, "inch" if "inch" in name else "mm") == data


def test_there_is_a_picture_of_each_sheet(built: dict[str, bytes]) -> None:
    data = next(data for name, data in built.items() if name.endswith("-inch.xlsx"))
    sheets = parts(data)["xl/workbook.xml"].decode().count("<sheet ") - 1
    assert len(list(make_examples.FOLDER.glob("*.png"))) == sheets, "run make examples"
