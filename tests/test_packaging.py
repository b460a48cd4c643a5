"""The wheel holds everything a build needs, and nothing beside the package."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from workbook_builder import __version__

ROOT = Path(__file__).parent.parent


def run(*command: str | Path, where: Path, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, *map(str, command)],
        capture_output=True, text=True, check=False, cwd=where, env={**os.environ, **environment},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    run("-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation", "--wheel-dir", folder, ROOT, where=folder)
    (made,) = folder.glob("*.whl")
    return made


def test_the_wheel_holds_the_data(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder in ("templates", "reference_tables"):
        for file in (ROOT / folder).rglob("*"):
            if file.is_file():
                assert f"workbook_builder/data/{file.relative_to(ROOT).as_posix()}" in names
    tops = {name.split("/")[0] for name in names}
    assert tops == {"workbook_builder", f"spool_fit_up_workbooks-{__version__}.dist-info"}


def test_the_installed_wheel_builds_a_workbook(wheel: Path, tmp_path: Path) -> None:
    """Installed apart from the checkout, run from an empty folder; the dependencies are those of this environment."""
    place, work = tmp_path / "installed", tmp_path / "work"
    work.mkdir()
    run("-m", "pip", "install", "--quiet", "--no-deps", "--target", place, wheel, where=work)
    path = {"PYTHONPATH": str(place), "PYTHONSAFEPATH": "1"}
    where = run("-c", "import workbook_builder; print(workbook_builder.__file__)", where=work, **path)
    assert Path(where.strip()).is_relative_to(place)
    assert run("-m", "workbook_builder", "build", "spool", where=work, **path) == "spool-inch.xlsx\n"
    out = run(
        "-m",
        "workbook_builder",
        "build",
        "spool",
        "--job",
        ROOT / "output_examples" / "mill_creek.toml",
        where=work,
        **path,
    )
    assert (work / out.strip()).is_file()
    assert "spool" in run("-m", "workbook_builder", "list", where=work, **path)
    assert "pipe" in run("-m", "workbook_builder", "tables", where=work, **path)
