"""The spool workbook as far as the cut list: the same templates, without the sheets that follow it.

Thousands of routes and typed states are tried on these sheets. Built alone they take a third of the time, and what
stands on the others cannot change them: they only read from here. The whole workbook is recomputed in
`test_engines_agree_spool.py`.
"""

from __future__ import annotations

import atexit
import re
import shutil
import tempfile
from functools import cache
from pathlib import Path

from live import WORKBOOK, Live

from workbook_builder.build import Workshop

TEMPLATES = Path(__file__).resolve().parent.parent / "templates"
SHEETS = ["rules", "spools", "route", "details", "items", "sketch", "cutlist", "cut_steps", "key", "tables_used"]


@cache
def shop() -> Workshop:
    """A workshop whose spool workbook has these sheets alone."""
    folder = Path(tempfile.mkdtemp(prefix="cutting-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    shutil.copytree(TEMPLATES, folder / "templates")
    place = folder / "templates" / "workbooks" / f"{WORKBOOK}.toml"
    text = re.sub(r"(?m)^sheets = .*$", f"sheets = {SHEETS}".replace("'", '"'), place.read_text(encoding="utf-8"))
    place.write_text(re.sub(r"(?m)^headline = .*$", "", text), encoding="utf-8")
    return Workshop(folder / "templates")


def live(text: str | None, edition: str) -> Live:
    """These sheets, filled from a job file or blank, to type into."""
    return Live(text, edition, shop())
