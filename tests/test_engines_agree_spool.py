"""Routes and typed states recomputed by engines that did not build them, over the sheets as far as the cut list.

LibreOffice recomputes every formula cell: of a job of 25 random spools, of the job that holds a spool for each
sentence, of half-filled sheets, of values that nobody means, of measured take-outs. The `formulas` package is given a
sample of every column. What stands on the other sheets, and readings, is in `test_states.py`.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import pytest
from cell_by_cell import CellByCell, sample, standing
from cutting import live as live_book
from engines import (
    Cell,
    Typed,
    Value,
    cached_values,
    differences,
    error_values,
    formula_cells,
    recompute_with_formualizer,
    recompute_with_libreoffice,
    require_libreoffice,
    row_and_column,
    type_into,
)
from live import Live, place, typed_fields
from routes import Routes
from test_route_messages import TYPED, job_of_sentences

from workbook_builder.book import Field

DEMO = (Path(__file__).resolve().parent.parent / "output_examples" / "mill_creek.toml").read_text(encoding="utf-8")
WILD = (Path(__file__).resolve().parent.parent / "output_examples" / "mill_creek_wild.toml").read_text(encoding="utf-8")
EDITIONS = ("inch", "mm")
ABSURD: Mapping[bool, list[Typed]] = {
    True: ["", "zz", "L1", "=1+1", "-", "elbow", "6", 7],
    False: ["zz", "3 1/2", -7.5, 0, 1e12, -1e12, 1e-9, None],
}
"""What somebody may type who means nothing by it: into cells for text, and into cells for numbers.

Larger numbers end LibreOffice itself when it saves a filtered column of fractions; `test_typed_states.py` has them.
"""


def given(book: Live, field: Field, row: int) -> Value:
    """What stands in a typed cell."""
    value: Value = book.take(field)[row]
    return value


def nonsense(book: Live, seed: int, share: float) -> dict[Cell, Typed]:
    """A share of the typed cells blank or with something absurd in them."""
    chance = random.Random(seed)
    found: dict[Cell, Typed] = {}
    for field in typed_fields(book.book):
        for row in range(field.rows):
            if chance.random() < share:
                found[place(field, row)] = chance.choice(ABSURD[field.unit_kind == "text"])
    return found


def by_hand(blank: Live, source: Live, seed: int) -> dict[Cell, Typed]:
    """The blank sheets filled by hand from another job's cells, row by row, with cells and whole rows forgotten."""
    chance = random.Random(seed)
    found: dict[Cell, Typed] = {}
    for field in typed_fields(blank.book):
        if field.table not in ("spools", "legs", "details", "more", "outlets", "items"):
            continue
        other = source.book.fields[field.name]
        values = source.take(other)
        for row in range(min(field.rows, len(values))):
            left_out = row % 9 == 7 or chance.random() < 0.06
            if values[row] is not None and not left_out:
                found[place(field, row)] = values[row]
    return found


def measured(book: Live, seed: int) -> dict[Cell, Typed]:
    """Take-outs measured on the fitting in hand, and lengths as cut."""
    chance = random.Random(seed)
    found: dict[Cell, Typed] = {}
    unit = 1.0 if book.edition == "inch" else 25.4
    for name in ("cuts.measured_start", "cuts.measured_end", "pieces.as_cut", "pieces.heat", "pieces.cut_to"):
        field = book.book.fields[name]
        for row in range(field.rows):
            if chance.random() < 0.6:
                text = field.unit_kind == "text"
                found[place(field, row)] = chance.choice(["B", "A"]) if text else round(chance.uniform(0, 40) * unit, 3)
    return found


def cells_of(book: Live, typed: Mapping[tuple[str, int], float | str | bool | None]) -> dict[Cell, Typed]:
    """Addresses of cells that are named."""
    return {place(book.book.fields[name], row): value for (name, row), value in typed.items()}


@cache
def routes_job(edition: str) -> str:
    """Random spools, in the other edition's unit, so that lengths are converted too."""
    return Routes(11, "mm" if edition == "inch" else "inch").job(25)


@pytest.mark.parametrize("edition", EDITIONS)
def test_libreoffice_gives_what_the_build_gave(edition: str, tmp_path: Path) -> None:
    """Every size of job, and every end: none, 25 random spools, the second demo; five spools, one for each sentence."""
    require_libreoffice()
    paths = {}
    jobs = {
        "inch": (("blank", None), ("routes", routes_job(edition)), ("wild", WILD)),
        "mm": (("demo", DEMO), ("sentences", job_of_sentences())),
    }
    for name, text in jobs[edition]:
        paths[name] = tmp_path / f"{name}.xlsx"
        paths[name].write_bytes(live_book(text, edition).bytes)
    recomputed = recompute_with_libreoffice(list(paths.values()), tmp_path / "out", seconds=400)
    for name, path in paths.items():
        stored = cached_values(path)
        assert len(stored) > (20_000 if name == "routes" else 5_000)
        assert error_values(stored) == {}, name
        assert differences(stored, recomputed[path]) == [], name


@pytest.mark.parametrize("edition", ["inch", pytest.param("mm", marks=pytest.mark.thorough)])
def test_libreoffice_gives_what_read_gives_for_typed_states(edition: str, tmp_path: Path) -> None:
    """Half-filled sheets, absurd values, measured take-outs: never an error value, and one answer."""
    require_libreoffice()
    blank, demo, spools = (
        live_book(None, edition),
        live_book(DEMO, edition),
        live_book(Routes(12, edition).job(4), edition),
    )
    bytes_of = {"blank": blank, "demo": demo, "spools": spools}
    for name, book in bytes_of.items():
        (tmp_path / f"{name}.xlsx").write_bytes(book.bytes)
    states = {
        "half by hand": ("blank", by_hand(blank, spools, 1)),
        "half absurd": ("demo", nonsense(demo, 4, 0.5)),
        "all absurd": ("blank", nonsense(blank, 5, 1.0)),
        "measured": ("spools", measured(spools, 8)),
        "typed": ("blank", cells_of(blank, TYPED["closes to nothing" if edition == "inch" else "saddle"][0])),
    }
    paths = {
        name: type_into(tmp_path / f"{source}.xlsx", tmp_path / f"{at}.xlsx", values, over_formulas=True)
        for at, (name, (source, values)) in enumerate(states.items())
    }
    recomputed = recompute_with_libreoffice(list(paths.values()), tmp_path / "out", seconds=400)
    for name, path in paths.items():
        cells = formula_cells(path)
        ours = {cell: value for cell, value in recompute_with_formualizer(path).items() if cell in cells}
        assert error_values(ours) == {}, name
        assert differences(ours, recomputed[path]) == [], name


# -- a sample for the formulas package ---------------------------------------------------------------------------------


@pytest.mark.parametrize("edition", ["inch", pytest.param("mm", marks=pytest.mark.thorough)])
def test_the_formulas_package_gives_the_same(edition: str, tmp_path: Path) -> None:
    """A sample of every column, with measured take-outs and some nonsense typed in."""
    book = live_book(Routes(13, edition).job(2), edition)
    path = tmp_path / "job.xlsx"
    path.write_bytes(book.bytes)
    typed = type_into(path, path, measured(book, 1) | nonsense(book, 2, 0.02), over_formulas=True)
    asked = CellByCell(typed, standing(typed))
    assert error_values(asked.given) == {}
    kept = sample(asked.formulas, asked.given, 3)
    assert len({(sheet, row_and_column(address)[1]) for sheet, address in kept}) > 250
    assert differences({cell: asked.given[cell] for cell in kept}, asked.recompute(kept)) == []
