"""Workbooks of a bakery for tests: the fixture's own, and small ones written in the test itself."""

from __future__ import annotations

import io
import shutil
import zipfile
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from workbook_builder.build import Workshop
from workbook_builder.job import Job
from workbook_builder.job_reading import load_schema, parse_job, read
from workbook_builder.job_schema import Schema

BAKERY = Path(__file__).parent / "bakery"
TABLES = BAKERY / "tables"
JOB_FILE = BAKERY / "job.toml"
EDITIONS = ("inch", "mm")


@cache
def bakery() -> Workshop:
    """The fixture's templates and tables."""
    return Workshop(BAKERY / "templates", TABLES)


@cache
def job_schema() -> Schema:
    """What a bakery's job file may hold."""
    return load_schema(BAKERY / "templates", bakery().units)


@cache
def bakery_job() -> Job:
    """The fixture's job."""
    return read(JOB_FILE, job_schema(), bakery().library)


def job_of(text: str) -> Job:
    """A job from the text of its file."""
    return parse_job(text, "job.toml", job_schema(), bakery().library)


@cache
def built(workbook: str = "bakehouse", with_job: bool = False, edition: str = "inch") -> bytes:
    """A workbook of the fixture."""
    return bakery().build(workbook, bakery_job() if with_job else None, edition)


def little(folder: Path, sheets: Mapping[str, str], *, workbook: str = "", macros: str = "") -> Workshop:
    """A workshop whose workbook `little` has these sheets, each the text of a template without its first lines.

    Args:
        folder: an empty folder.
        sheets: TOML text by the sheet's name.
        workbook: more lines of the workbook's template.
        macros: TOML text of a shared file of macros.
    """
    templates = folder / "templates"
    for each in ("sheets", "workbooks"):
        (templates / each).mkdir(parents=True)
    shutil.copyfile(BAKERY / "templates" / "units.toml", templates / "units.toml")
    for name, text in sheets.items():
        title = "" if text.lstrip().startswith("title") else f'title = "{name.capitalize()}"\n'
        (templates / "sheets" / f"{name}.toml").write_text(f"schema = 1\n{title}{text}", encoding="utf-8")
    head = f'schema = 1\ntitle = "Little"\npurpose = "A small workbook."\nsheets = {list(sheets)}\n'
    if macros:
        (templates / "shared.toml").write_text(f"schema = 1\n{macros}", encoding="utf-8")
        head += 'macros = ["shared"]\n'
    (templates / "workbooks" / "little.toml").write_text(head + workbook, encoding="utf-8")
    return Workshop(templates, TABLES)


def parts_of(content: bytes) -> dict[str, str]:
    """The XML parts of a workbook by name."""
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return {name: package.read(name).decode("utf-8") for name in package.namelist()}
