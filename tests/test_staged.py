"""Scenes of the sheets that have a model of every cell: what they say of the workbook holds, with nothing changed.

The sheets of the route and the readings have their oracles in tests of their own.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import scenes
from live import READINGS
from mutants import Trial
from staging import Scene


def staged() -> Iterator[Any]:
    """The first scene of some sheets is tried always, their others take minutes."""
    seen = set()
    for scene in scenes.scenes():
        if scene.sheets != READINGS:
            marks = [pytest.mark.thorough] if scene.sheets in seen else []
            seen.add(scene.sheets)
            yield pytest.param(scene, marks=marks, id=f"{scene.name} {scene.edition}")


@pytest.mark.parametrize("scene", list(staged()))
def test_a_scene_holds(scene: Scene) -> None:
    """Every case of it, each cell that it looks at."""
    trial = Trial([scene])
    _, cases = trial.scene(0)
    assert cases
    for number in range(len(cases)):
        trial.stage(0, number)
