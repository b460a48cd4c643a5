"""Where the data lies that ships with the package: beside it in a checkout, inside it once installed."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

TEMPLATES, TABLES = "templates", "reference_tables"
INSIDE = "data"
"""Folder of the installed package that holds the data."""


def home(name: str) -> Traversable:
    """A folder of data by name."""
    beside = Path(__file__).resolve().parent.parent / name
    installed = files(__package__) / INSIDE / name
    return installed if installed.is_dir() else beside
