"""Scenes of the sheets that have a model of every cell: what they say of the workbook holds, with nothing changed.

The sheets of the route and the readings have their oracles in tests of their own.
"""

from __future__ import annotations

import pytest
import scenes
from live import READINGS
from mutants import Trial
from staging import Scene

STAGED = [scene for scene in scenes.scenes() if scene.built != READINGS]


@pytest.mark.parametrize("scene", STAGED, ids=lambda scene: f"{scene.name} {scene.edition}")
def test_a_scene_holds(scene: Scene) -> None:
    """Every case of it, each cell that it looks at."""
    trial = Trial([scene])
    _, cases = trial.scene(0)
    assert cases
    for number in range(len(cases)):
        trial.stage(0, number)
