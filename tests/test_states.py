"""Every formula cell of the spool workbook, in four states and both editions, recomputed by other engines.

Blank, half-filled, filled and random: the values that are stored (or that `read` would compute) against LibreOffice
over every formula cell of every sheet, and against the `formulas` package on a job of one spool, since that one takes
milliseconds for each cell it loads and seconds where rows look at rows above them.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from engines import (
    Typed,
    cached_values,
    differences,
    error_values,
    formula_cells,
    recompute_with_formualizer,
    recompute_with_formulas,
    recompute_with_libreoffice,
    require_libreoffice,
    type_into,
)
from live import job_of, some

from workbook_builder.book import column_letters
from workbook_builder.build import workshop
from workbook_builder.read import Reading, read_workbook

DEMO = (Path(__file__).resolve().parent.parent / "output_examples" / "mill_creek.toml").read_text(encoding="utf-8")
ONE_SPOOL = DEMO[: DEMO.index("[[spool]]", DEMO.index("[[spool]]") + 1)]


def filling(reading: Reading, share: float, seed: int, absurd: bool = False) -> dict[tuple[str, str], Typed]:
    """Typed values for a share of the cells that readings go into; `absurd` ones are what nobody means."""
    chance = random.Random(seed)
    typed: dict[tuple[str, str], Typed] = {}
    kept = ("legs", "spools", "details", "more", "outlets", "items")  # what describes the spool is the job's
    for one in reading.names:
        if not one.typed or one.table in kept or one.name.startswith(("start.", "rules.")) and not absurd:
            continue
        scale = 1.0 if reading.edition == "inch" else 25.4
        for row, column in one.places():
            if chance.random() > share:
                continue
            value: Typed
            if one.unit_kind == "text":
                value = chance.choice(["H 12", "A", "yes"])
            elif one.unit_kind == "date":
                value = float(chance.randrange(40000, 50000))
            elif absurd:
                value = chance.choice([-1.0, 0.0, 1e9, -1e-12, 1e-9, 0.125 * scale, 33.0])
            else:
                value = round(chance.choice([0.0, 0.125, 0.0625, 0.15, 0.05]) * scale, 4)
            typed[one.tab, f"{column_letters(column)}{row + 1}"] = value
    return typed


@pytest.fixture(scope="module", params=["inch", pytest.param("mm", marks=pytest.mark.thorough)])
def states(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The workbook's files in each state."""
    folder = tmp_path_factory.mktemp(f"states-{request.param}")
    blank, demo = folder / "blank.xlsx", folder / "demo.xlsx"
    blank.write_bytes(workshop().build("spool", None, request.param))
    demo.write_bytes(workshop().build("spool", job_of(DEMO), request.param))
    reading = read_workbook(demo)
    return {
        "blank": blank,
        "from the job": demo,
        "half": type_into(demo, folder / "half.xlsx", filling(reading, 0.5, 1)),
        "full": type_into(demo, folder / "full.xlsx", filling(reading, 1.0, 2)),
        "random": type_into(demo, folder / "random.xlsx", filling(reading, 0.4, 3, absurd=True)),
    }


def test_every_formula_cell_agrees_with_libreoffice(states: dict[str, Path], tmp_path: Path) -> None:
    require_libreoffice()
    recomputed = recompute_with_libreoffice(list(states.values()), tmp_path, seconds=600)
    for name, path in states.items():
        ours = cached_values(path) if name in ("blank", "from the job") else recompute_with_formualizer(path)
        cells = formula_cells(path)
        assert len(cells) > 20_000
        ours = {cell: ours.get(cell) for cell in cells}
        assert error_values(ours) == {}, name
        assert differences(ours, recomputed[path]) == [], name


@pytest.mark.parametrize("edition", ["inch", pytest.param("mm", marks=pytest.mark.thorough)])
def test_a_spool_agrees_with_the_formulas_package(edition: str, tmp_path: Path) -> None:
    path = tmp_path / "one.xlsx"
    path.write_bytes(some().build("spool", job_of(ONE_SPOOL), edition))
    filled = type_into(path, tmp_path / "filled.xlsx", filling(read_workbook(path), 1.0, 4))
    ours = recompute_with_formualizer(filled)
    ours = {cell: ours.get(cell) for cell in formula_cells(filled)}
    assert error_values(ours) == {}
    assert differences(ours, recompute_with_formulas(filled)) == []
