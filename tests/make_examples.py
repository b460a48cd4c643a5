"""Rebuild output_examples/: the demo job's workbooks in both editions, and a picture of each main sheet.

There is the spool workbook blank, from the job, and from the job with readings; from a second job that uses every end a
spool can have; and the workbook of the reference tables. Run with `make examples`. A test says when the workbooks are
no longer what the templates build; the pictures are for people and are not compared.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tempfile
import tomllib
import zipfile
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
FOLDER = ROOT / "output_examples"
JOB = FOLDER / "mill_creek.toml"
READINGS = FOLDER / "mill_creek_readings.toml"
WILD_JOB = FOLDER / "mill_creek_wild.toml"
WORKBOOK, TABLES, WILD = "spool", "tables", "wild"
EDITIONS = ("inch", "mm")
FILLED = "-filled"
MAIN_TABLE_SHEETS = ("shelf_start", "compare", "sums", "pipe_shelf")
"""Sheets of the workbook of tables that get a picture; of the spool workbook every sheet does."""

WILD_SHEETS = ("route", "leg_more", "outlets", "connections", "bolting", "seams", "sketch", "cutlist")
"""Sheets that get a second picture, from the job that uses every end."""

WIDE = 1200
"""Pixels across a picture."""

SHORTENED = {"tables_compare.png": 480}
"""Pixels of pictures that would mostly show blank rows."""

MARGIN = 12
HEADER = 0.55
"""Inches of a page that its header takes, and its footer."""

PHONE = 400
"""Pixels across a phone's screen."""


# -- workbooks ---------------------------------------------------------------------------------------------------------


def read_job(text: str, file: str) -> Any:
    """A job from the text of its file."""
    from workbook_builder.build import workshop
    from workbook_builder.job_reading import load_schema, parse_job

    shop = workshop()
    return parse_job(text, file, load_schema(shop.shelf.folder, shop.units), shop.library)


def filled_job() -> str:
    """The demo's job file with its readings, each spool's beside its legs."""
    import tomli_w

    job, measured = (tomllib.loads(path.read_text(encoding="utf-8")) for path in (JOB, READINGS))
    spools = {spool["mark"]: spool for spool in job["spool"]}
    for spool in measured.pop("spool"):
        spools[spool["mark"]].update(spool)
    for name, group in measured.items():
        job[name] = [*job.get(name, []), *group] if isinstance(group, list) else job.get(name, {}) | group
    return tomli_w.dumps(job)


@cache
def parts() -> dict[str, tuple[str, Any, str]]:
    """What every example workbook is built of, by its file name: template, job and edition."""
    from workbook_builder.cli import prefix

    job = read_job(JOB.read_text(encoding="utf-8"), JOB.name)
    measured = read_job(filled_job(), READINGS.name)
    wild = read_job(WILD_JOB.read_text(encoding="utf-8"), WILD_JOB.name)
    made: dict[str, tuple[str, Any, str]] = {}
    for edition in EDITIONS:
        made[f"{prefix(wild)}{WORKBOOK}-{edition}.xlsx"] = WORKBOOK, wild, edition
        made[f"{WORKBOOK}-{edition}.xlsx"] = WORKBOOK, None, edition
        made[f"{prefix(job)}{WORKBOOK}-{edition}.xlsx"] = WORKBOOK, job, edition
        made[f"{prefix(job)}{WORKBOOK}-{edition}{FILLED}.xlsx"] = WORKBOOK, measured, edition
        made[f"{TABLES}-{edition}.xlsx"] = TABLES, None, edition
    return made


@cache
def example(name: str) -> bytes:
    """An example workbook by its file name."""
    from workbook_builder.build import workshop

    return workshop().build(*parts()[name])


def build() -> dict[str, bytes]:
    """Every example workbook by its file name, named as the command line names it."""
    return {name: example(name) for name in parts()}


COMPARED = """
schema = 1
job = { name = "compare", number = "-", units = "inch" }
spool = [
    { mark = "-", size = "6", schedule = "STD", start = "plain", leg = [{ east = 1, end = "plain" }] },
]
[typed]
"shelf_start.inspector" = "A. Example (invented)"
"shelf_start.book" = "invented"
"shelf_start.date" = 2025-03-20
"compare.table" = ["pipe", "elbow", "tee", "flange", "stub_end", "cap"]
"compare.row" = ["6|STD", "6", "6", "150|6", "6", "6"]
"compare.column" = ["wall", "long_90", "branch", "weld_neck", "long_length", "length"]
"compare.theirs" = [0.28, 9, 5.26, 3.5, 8]
"compare.printed_to" = [0.001, 0.01, 0.01]
"compare.edition" = ["invented", "invented", "invented", "invented", "invented"]
"compare.by" = ["A.E.", "A.E.", "A.E.", "A.E.", "A.E."]
"compare.on" = [2025-03-20, 2025-03-20, 2025-03-20, 2025-03-20, 2025-03-20]
"""
"""What an inspector might type, for the picture of the sheet alone; the third row is a slip of the pen."""


# -- pictures ----------------------------------------------------------------------------------------------------------


def pictures() -> dict[str, tuple[str, str]]:
    """By picture, the workbook and the tab that it shows."""
    from workbook_builder.build import workshop

    shelf = workshop().shelf
    wanted = {
        WORKBOOK: shelf.workbook(WORKBOOK).sheets,
        TABLES: [name for name in shelf.workbook(TABLES).sheets if name in MAIN_TABLE_SHEETS],
        WILD: WILD_SHEETS,
    }
    tabs = {(workbook, name): shelf.sheet(name).tab for workbook, names in wanted.items() for name in names}
    start = {WORKBOOK: "", TABLES: f"{TABLES}_", WILD: f"{WILD}_"}
    return {start[workbook] + plain(tab) + ".png": (workbook, tab) for (workbook, _), tab in tabs.items()}


def plain(tab: str) -> str:
    """A tab as part of a file's name."""
    return re.sub(r"[^a-z0-9]+", "_", tab.lower()).strip("_")


def draw(folder: Path) -> list[Path]:
    """The pictures: each sheet's first printed page, cut to what is on it."""
    import engines

    from workbook_builder.build import workshop

    job_file = next(name for name in parts() if name.endswith(f"-inch{FILLED}.xlsx"))
    compared = workshop().build(TABLES, read_job(COMPARED, "compared.toml"), "inch")
    wild_file = f"{tomllib.loads(WILD_JOB.read_text(encoding='utf-8'))['job']['number']}-{WORKBOOK}-inch.xlsx"
    books = {WORKBOOK: example(job_file), TABLES: compared, WILD: example(wild_file)}
    drawn: list[Path] = []
    with tempfile.TemporaryDirectory() as place:
        for workbook, content in books.items():
            file = Path(place, f"{workbook}.xlsx")
            file.write_bytes(content)
            pdf = engines.render_pdf(file, file.with_suffix(".pdf"))
            pages = first_pages(pdf, tabs_of(file))
            for name, (owner, tab) in pictures().items():
                if owner == workbook:
                    picture(pdf, pages[tab], folder / name)
                    drawn.append(folder / name)
    return drawn


def tabs_of(workbook: Path) -> list[str]:
    """Tabs of the sheets that are shown."""
    import openpyxl

    book = openpyxl.load_workbook(workbook, read_only=True)
    tabs = [sheet.title for sheet in book.worksheets if sheet.sheet_state == "visible"]
    book.close()
    return tabs


def first_pages(pdf: Path, tabs: Sequence[str]) -> dict[str, int]:
    """The first printed page of each sheet, from 1: a page's heading ends with the sheet's name."""
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    heads = [[re.split(r"\s{2,}", line.strip())[-1] for line in page.split("\n")[:4]] for page in text.split("\f")]
    found: dict[str, int] = {}
    page = 0
    for tab in tabs:
        page = next(at for at in range(page, len(heads)) if tab in heads[at])
        found[tab] = page + 1
    return found


def picture(pdf: Path, page: int, out: Path) -> None:
    """A page without its empty edges, as wide as a picture is, and of a long list the start."""
    coarse = 72
    left, top, right, bottom = inked(pdf, page, coarse)
    dots = coarse * (WIDE - 2 * MARGIN) / (right - left)
    scale = dots / coarse
    tall = SHORTENED.get(out.name, (bottom - top) * scale + 2 * MARGIN)
    box = {"-x": left * scale - MARGIN, "-y": top * scale - MARGIN, "-W": WIDE, "-H": tall}
    words = [word for key, value in box.items() for word in (key, str(max(0, round(value))))]
    run_pdftoppm(pdf, page, dots, out.with_suffix(""), "-png", *words)


def inked(pdf: Path, page: int, dots: int) -> tuple[int, int, int, int]:
    """The box of a page that holds anything but its header and footer, in dots: left, top, right, bottom."""
    import numpy

    with tempfile.TemporaryDirectory() as place:
        run_pdftoppm(pdf, page, dots, Path(place, "page"), "-gray")
        data = Path(place, "page.pgm").read_bytes()
    found = re.match(rb"P5\s(?:#[^\n]*\n)?(\d+)\s+(\d+)\s+\d+\s", data)
    assert found
    wide, tall = int(found[1]), int(found[2])
    dark = numpy.frombuffer(data, numpy.uint8, wide * tall, found.end()).reshape(tall, wide) < 250
    strip = round(HEADER * dots)
    dark = dark.copy()
    dark[:strip] = dark[-strip:] = False
    rows, columns = numpy.flatnonzero(dark.any(axis=1)), numpy.flatnonzero(dark.any(axis=0))
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def run_pdftoppm(pdf: Path, page: int, dots: float, out: Path, *words: str) -> None:
    """Draw one page."""
    command = ["pdftoppm", "-singlefile", "-f", str(page), "-r", f"{dots:.3f}", *words, str(pdf), str(out)]
    subprocess.run(command, check=True)


def on_a_phone(workbook: Path, folder: Path) -> list[Path]:
    """What each sheet shows at its full size on a screen 400 pixels wide, before anyone scrolls."""
    import engines

    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        narrow = Path(place, workbook.name)
        with zipfile.ZipFile(workbook) as given, zipfile.ZipFile(narrow, "w", zipfile.ZIP_DEFLATED) as made:
            for item in given.infolist():
                content = given.read(item)
                if item.filename.startswith("xl/worksheets/sheet"):
                    content = narrow_page(content)
                made.writestr(item.filename, content)
        pdf = engines.render_pdf(narrow, Path(place, "phone.pdf"))
        tabs = tabs_of(workbook)
        text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
        pages = [page.strip() for page in text.split("\f")]
        drawn: list[Path] = []
        for tab in tabs:
            at = next(number for number, page in enumerate(pages, 1) if page.startswith(f"SHEET {tab}"))
            out = folder / f"phone_{plain(tab)}"
            run_pdftoppm(pdf, at, 96, out, "-png", "-x", "0", "-y", "0", "-W", str(PHONE), "-H", "800")
            drawn.append(out.with_suffix(".png"))
    return drawn


def narrow_page(sheet: bytes) -> bytes:
    """A worksheet's XML that prints at its full size, on pages as wide as a phone's screen."""
    text = sheet.decode("utf-8")
    for part, instead in (
        (r"<pageSetUpPr[^>]*/>", ""),
        (r"<pageMargins[^>]*/>", '<pageMargins left="0" right="0" top="0.2" bottom="0" header="0" footer="0"/>'),
        (r"<pageSetup[^>]*/>", '<pageSetup paperSize="70" orientation="portrait"/>'),
        (r"<oddHeader>.*?</oddFooter>", "<oddHeader>&amp;LSHEET &amp;A</oddHeader>"),
    ):
        text = re.sub(part, instead, text)
    return text.encode("utf-8")


def main() -> int:
    """Write everything; remove workbooks and pictures that are gone."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--no-pictures", action="store_true")
    arguments.add_argument("--phone", metavar="FOLDER", help="only draw what a phone shows of the filled workbook")
    chosen = arguments.parse_args()
    if chosen.phone:
        for path in on_a_phone(next(FOLDER.glob(f"*-inch{FILLED}.xlsx")), Path(chosen.phone)):
            print(path)
        return 0
    made = build()
    for old in FOLDER.glob("*.xlsx"):
        if old.name not in made:
            old.unlink()
    for name, content in made.items():
        (FOLDER / name).write_bytes(content)
        print(FOLDER.name, name, sep="/")
    if chosen.no_pictures:
        return 0
    drawn = draw(FOLDER)
    for old in set(FOLDER.glob("*.png")) - set(drawn):
        old.unlink()
    for path in drawn:
        print(FOLDER.name, path.name, sep="/")
    return 0


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    sys.exit(main())
