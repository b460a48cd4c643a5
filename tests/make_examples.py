"""Rebuild output_examples/: the demo job's workbooks in both editions, blank and filled, and a picture of each sheet.

Run with `make examples`. A test says when the workbooks are no longer what the templates build; the pictures are for
people and are not compared.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent
FOLDER = ROOT / "output_examples"
JOB = FOLDER / "mill_creek.toml"
WORKBOOK = "spool"
DOTS = 120
"""Dots per inch of a picture."""


@cache
def build() -> dict[str, bytes]:
    """Every example workbook by its file name, named as the command line names it."""
    from workbook_builder.build import workshop
    from workbook_builder.cli import prefix
    from workbook_builder.job import load_schema, read

    shop = workshop()
    job = read(JOB, load_schema(shop.shelf.folder, shop.units), shop.library)
    made: dict[str, bytes] = {}
    for edition in ("inch", "mm"):
        made[f"{WORKBOOK}-{edition}.xlsx"] = shop.build(WORKBOOK, None, edition)
        made[f"{prefix(job)}{WORKBOOK}-{edition}.xlsx"] = shop.build(WORKBOOK, job, edition)
    return made


def first_pages(pdf: Path, tabs: list[str]) -> dict[str, int]:
    """The first printed page of each sheet, from 1: a page's heading ends with the sheet's name."""
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    heads = [[re.split(r"\s{2,}", line.strip())[-1] for line in page.split("\n")[:4]] for page in text.split("\f")]
    found: dict[str, int] = {}
    page = 0
    for tab in tabs:
        page = next(at for at in range(page, len(heads)) if tab in heads[at])
        found[tab] = page + 1
    return found


def draw(workbook: Path, folder: Path) -> list[Path]:
    """A picture of each visible sheet's first page."""
    import engines
    import openpyxl

    book = openpyxl.load_workbook(workbook, read_only=True)
    tabs = [sheet.title for sheet in book.worksheets if sheet.sheet_state == "visible"]
    book.close()
    drawn: list[Path] = []
    with tempfile.TemporaryDirectory() as place:
        pdf = engines.render_pdf(workbook, Path(place, "sheets.pdf"))
        for tab, page in first_pages(pdf, tabs).items():
            out = folder / re.sub(r"[^a-z0-9]+", "_", tab.lower())
            command = ["pdftoppm", "-png", "-singlefile", "-f", str(page), "-r", str(DOTS), str(pdf), str(out)]
            subprocess.run(command, check=True)
            drawn.append(out.with_suffix(".png"))
    return drawn


def main() -> int:
    """Write everything; remove pictures of sheets that are gone."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--no-pictures", action="store_true")
    chosen = arguments.parse_args()
    made = build()
    for old in FOLDER.glob("*.xlsx"):
        if old.name not in made:
            old.unlink()
    for name, content in made.items():
        (FOLDER / name).write_bytes(content)
        print(FOLDER.name, name, sep="/")
    if chosen.no_pictures:
        return 0
    filled = next(name for name in made if name.endswith("-inch.xlsx") and not name.startswith(WORKBOOK))
    drawn = draw(FOLDER / filled, FOLDER)
    for old in set(FOLDER.glob("*.png")) - set(drawn):
        old.unlink()
    for path in drawn:
        print(FOLDER.name, path.name, sep="/")
    return 0


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    sys.exit(main())
