"""Every formula cell of the spool workbook, in four states and both editions, recomputed by other engines.

Blank, half-filled, filled and random: the values that are stored (or that `read` would compute) against LibreOffice
over every formula cell of every sheet, and against the `formulas` package over a sample of every column (`make test`)
or over every formula cell (`make thorough`).
"""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import pytest
from cell_by_cell import CellByCell, sample, standing
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
    type_into,
)
from live import job_of

from workbook_builder.book import column_letters
from workbook_builder.build import workshop
from workbook_builder.read import Reading, read

EXAMPLES = Path(__file__).resolve().parent.parent / "output_examples"
DEMO = (EXAMPLES / "mill_creek.toml").read_text(encoding="utf-8")
WILD = (EXAMPLES / "mill_creek_wild.toml").read_text(encoding="utf-8")


def filling(reading: Reading, share: float, seed: int, absurd: bool = False) -> dict[tuple[str, str], Typed]:
    """Typed values for a share of the cells that readings go into; `absurd` ones are what nobody means."""
    chance = random.Random(seed)
    typed: dict[tuple[str, str], Typed] = {}
    kept = ("legs", "spools", "details", "more", "outlets", "items", "connections")  # the job's: not read, but drawn
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


STATES = {
    "blank": None,
    "from the job": None,
    "half": (0.5, 1, False),
    "full": (1.0, 2, False),
    "random": (0.4, 3, True),
}


@cache
def built(job: str | None, edition: str) -> bytes:
    """The workbook of a job, or a blank one."""
    return workshop().build("spool", None if job is None else job_of(job), edition)


@cache
def untouched(job: str, edition: str) -> Reading:
    """The names and values of a job's workbook."""
    return read(built(job, edition), "built.xlsx")


def in_state(state: str, job: str, edition: str, folder: Path) -> Path:
    """The workbook's file in a state."""
    path = folder / f"{state}.xlsx"
    path.write_bytes(built(None if state == "blank" else job, edition))
    if (typed := STATES[state]) is not None:
        type_into(path, path, filling(untouched(job, edition), *typed))
    return path


def whole(path: Path, state: str) -> dict[Cell, Value]:
    """What stands in every formula cell: stored, or as `read` computes it."""
    ours = cached_values(path) if STATES[state] is None else recompute_with_formualizer(path)
    found = {cell: ours.get(cell) for cell in formula_cells(path)}
    assert len(found) > 20_000
    assert error_values(found) == {}, state
    return found


@pytest.mark.parametrize(
    ("job", "edition", "states"),
    [
        pytest.param(WILD, "inch", ("full", "random"), id="wild-inch"),
        *(
            pytest.param(job, edition, tuple(STATES), id=f"every-{name}-{edition}", marks=pytest.mark.thorough)
            for name, job in (("demo", DEMO), ("wild", WILD))
            for edition in ("inch", "mm")
        ),
    ],
)
def test_every_formula_cell_agrees_with_libreoffice(
    job: str, edition: str, states: tuple[str, ...], tmp_path: Path
) -> None:
    """Blank, from the job and filled by half are in `test_engines_agree_spool.py` too."""
    require_libreoffice()
    paths = {state: in_state(state, job, edition, tmp_path) for state in states}
    recomputed = recompute_with_libreoffice(list(paths.values()), tmp_path / "again", seconds=600)
    for state, path in paths.items():
        assert differences(whole(path, state), recomputed[path]) == [], state


@pytest.mark.parametrize(
    ("job", "edition", "state"),
    [
        pytest.param(WILD, "mm", "full", id="wild-mm-full"),
        *(
            pytest.param(job, edition, state, id=f"every-{name}-{edition}-{state}", marks=pytest.mark.thorough)
            for name, job in (("demo", DEMO), ("wild", WILD))
            for edition in ("inch", "mm")
            for state in STATES
        ),
    ],
)
def test_formula_cells_agree_with_the_formulas_package(
    job: str, edition: str, state: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    """A cell of every second column; every formula cell where minutes do not matter."""
    path = in_state(state, job, edition, tmp_path)
    asked = CellByCell(path, None if STATES[state] is None else standing(path))
    every = request.node.get_closest_marker("thorough") is not None
    kept = list(asked.formulas) if every else sample(asked.formulas, asked.given, 6, rows=1)[::2]
    assert len(kept) > (20_000 if every else 700)
    ours = {cell: asked.given[cell] for cell in kept}
    assert error_values(ours) == {}
    assert differences(ours, asked.recompute(kept)) == []
