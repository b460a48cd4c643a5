"""Golden workbooks: what is built, written as indented XML that a person can compare line by line.

Run with `make golden` to bless what is built now. A test says when a workbook is no longer what was blessed.

Kept are: formulas with their values, fixed cells, number formats, which cells are unlocked, merged cells, validations,
conditional formats, notes, filters, frozen panes, column widths, page set-up, protection, defined names, and what
charts draw. Left out is what changes by itself or says nothing: the order of styles and strings, colours and fonts,
window sizes, calculation settings, dates of making.

So that the files stay small and a change can be read:

- rows that follow one another and have the same cells, formats and formulas (counted from the row) are shown by the
  first three and the last, their formulas once; of the rest a fingerprint of the values is kept, so that no change
  passes unseen;
- a workbook from a job shows values; its formulas, validations and the rest are the blank one's over other rows, and a
  fingerprint of them is kept, as of the sheets into which no job writes;
- of the hidden sheet, of the sheet of methods and, in the mm edition, of the worked examples a fingerprint is kept:
  they repeat what the others say;
- of the workbook of reference tables the sheets Start and Compare are kept: the others are the CSV files, which are
  compared with their sources and have fingerprints of their own.
"""

from __future__ import annotations

import hashlib
import io
import platform
import re
import sys
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from importlib.metadata import version
from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

TESTS = Path(__file__).resolve().parent
FOLDER = TESTS / "golden"
MADE_WITH = FOLDER / "made_with.txt"

FIRST, LAST = 3, 1
"""Rows shown of a long run of like rows, at its start and at its end."""

SHORT = 6
"""Rows that are all shown, however alike."""

PRODUCERS = ("formualizer", "msgspec", "pint", "XlsxWriter")

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
CHART = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"
DRAWN = "{http://schemas.openxmlformats.org/drawingml/2006/main}"

PAGE = ("pageMargins", "pageSetup", "printOptions", "headerFooter", "sheetProtection", "autoFilter")
VOLATILE = ("id", "calcId", "hashValue", "saltValue", "spinCount", "algorithmName", "horizontalDpi", "verticalDpi")


# -- what is kept ------------------------------------------------------------------------------------------------------


REPEATING = ("Names", "Method")
"""Sheets that tell of other sheets' formulas."""

UNTOUCHED = ("Checks", "Tables", "Pocket sums", "Key")
"""Sheets into which no job writes."""


@dataclass(frozen=True)
class Kept:
    """What is kept of a workbook: which sheets (none named: all), which only as a fingerprint, and whether formulas."""

    only: tuple[str, ...] = ()
    printed: tuple[str, ...] = ()
    formulas: bool = True


ALL = Kept()


def workbooks() -> dict[str, tuple[Callable[[], bytes], Kept]]:
    """Every golden workbook by its name: how to build it, and what is kept of it."""
    from make_examples import example
    from workshops import EDITIONS, built

    made: dict[str, tuple[Callable[[], bytes], Kept]] = {}
    for edition in EDITIONS:
        blank = Kept(printed=REPEATING if edition == "inch" else (*REPEATING, "Checks"))
        filled = Kept(printed=(*REPEATING, *UNTOUCHED), formulas=False)
        made[f"bakehouse-blank-{edition}"] = partial(built, "bakehouse", False, edition), blank
        made[f"bakehouse-job-{edition}"] = partial(built, "bakehouse", True, edition), filled
        made[f"spool-blank-{edition}"] = partial(example, f"spool-{edition}.xlsx"), blank
        made[f"spool-job-{edition}"] = partial(example, f"J-1042-spool-{edition}.xlsx"), filled
        made[f"tables-{edition}"] = partial(example, f"tables-{edition}.xlsx"), Kept(only=("Start", "Compare"))
    return made


def text_of(name: str) -> str:
    """What a golden workbook looks like now."""
    build, kept = workbooks()[name]
    return told(build(), name, kept)


# -- reading a workbook ------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class Cell:
    """One cell as it is kept."""

    address: str
    formula: str = ""
    value: str = ""
    kind: str = "n"
    format: str = ""
    unlocked: bool = False

    def shape(self, row: int) -> tuple[str, str, str, str, bool]:
        """What rows must have in common to be shown by a few of them."""
        kind = self.kind if self.value and not self.formula and not self.unlocked else ""
        return column_of(self.address), relative(self.formula, row), kind, self.format, self.unlocked


@dataclass(slots=True)
class Row:
    """One row that has cells."""

    number: int
    height: str
    cells: list[Cell] = field(default_factory=list)

    def shape(self) -> tuple[object, ...]:
        """See `Cell.shape`."""
        return tuple(cell.shape(self.number) for cell in self.cells)

    @property
    def filled(self) -> int:
        """How many cells hold something or may be typed into."""
        return sum(bool(cell.formula or cell.value or cell.unlocked) for cell in self.cells)


ADDRESS = re.compile(r"([A-Z]+)([0-9]+)")
TOKEN = re.compile(r"\"[^\"]*\"|'[^']*'|(?<![A-Za-z0-9_.$])(\$?[A-Z]{1,3})(\$?)([1-9][0-9]*)(?![0-9A-Za-z_(.])")


def column_of(address: str) -> str:
    return ADDRESS.sub(r"\1", address)


def relative(formula: str, row: int) -> str:
    """A formula with the rows of its relative addresses counted from its own row."""

    def counted(match: re.Match[str]) -> str:
        column, fixed, number = match.groups()
        return match[0] if column is None or fixed else f"{column}[{int(number) - row}]"

    return TOKEN.sub(counted, formula)


class Package:
    """The parts of a workbook."""

    def __init__(self, data: bytes) -> None:
        self.zip = zipfile.ZipFile(io.BytesIO(data))
        self.strings = self._strings()
        self.looks = self._looks()

    def part(self, name: str) -> Element:
        return ElementTree.fromstring(self.zip.read(name))

    def has(self, name: str) -> bool:
        return name in self.zip.namelist()

    def _strings(self) -> list[str]:
        if not self.has("xl/sharedStrings.xml"):
            return []
        return ["".join(text.itertext()) for text in self.part("xl/sharedStrings.xml").iter(f"{MAIN}si")]

    def _looks(self) -> list[tuple[str, bool]]:
        """Number format and whether it is unlocked, of each style."""
        styles = self.part("xl/styles.xml")
        own = {one.get("numFmtId", ""): one.get("formatCode", "") for one in styles.iter(f"{MAIN}numFmt")}
        looks = []
        [cells] = styles.iter(f"{MAIN}cellXfs")
        for one in cells:
            number = one.get("numFmtId", "0")
            guard = one.find(f"{MAIN}protection")
            shown = own.get(number, "" if number == "0" else f"built-in {number}")
            looks.append((shown, guard is not None and guard.get("locked") == "0"))
        return looks

    def relations(self, part: str) -> dict[str, tuple[str, str]]:
        """Targets and kinds of a part's relations, by their id."""
        folder, _, name = part.rpartition("/")
        path = f"{folder}/_rels/{name}.rels"
        if not self.has(path):
            return {}
        found = {}
        for one in self.part(path):
            target = one.get("Target", "")
            parts = f"{folder}/{target}".split("/") if not target.startswith("/") else target[1:].split("/")
            while ".." in parts:
                at = parts.index("..")
                del parts[at - 1 : at + 1]
            found[one.get("Id", "")] = "/".join(parts), one.get("Type", "").rpartition("/")[2]
        return found

    def rows(self, sheet: Element) -> Iterator[Row]:
        for element in sheet.iter(f"{MAIN}row"):
            row = Row(int(element.get("r", "0")), element.get("ht", ""))
            for one in element:
                row.cells.append(self.cell(one))
            if row.cells:
                yield row

    def cell(self, element: Element) -> Cell:
        formula, value, inline = (element.find(f"{MAIN}{tag}") for tag in ("f", "v", "is"))
        kind = element.get("t", "n")
        text = "" if value is None else value.text or ""
        if kind == "s":
            text = self.strings[int(text)]
        elif kind == "inlineStr" and inline is not None:
            text = "".join(inline.itertext())
        elif kind == "n" and text:
            text = f"{float(text):.12g}"
        look, unlocked = self.looks[int(element.get("s", "0"))]
        said = "text" if kind in ("s", "str", "inlineStr") else kind
        return Cell(element.get("r", ""), "" if formula is None else formula.text or "", text, said, look, unlocked)


# -- telling it --------------------------------------------------------------------------------------------------------


def told(data: bytes, name: str, kept: Kept = ALL) -> str:
    """A workbook as indented XML."""
    package = Package(data)
    book = package.part("xl/workbook.xml")
    relations = package.relations("xl/workbook.xml")
    root = Element("workbook", {"name": name})
    listed = [
        (one.get("name", ""), one.get("state", "visible"), relations[one.get(RELATION, "")][0])
        for one in book.iter(f"{MAIN}sheet")
    ]
    ElementTree.SubElement(root, "sheets").text = ", ".join(tab for tab, *_ in listed)
    names = [(one.get("name", ""), one.text or "") for one in book.iter(f"{MAIN}definedName")]
    if kept.only:
        names = [(one, text) for one, text in names if text.startswith(tuple(f"{tab}!" for tab in kept.only))]
    if kept.formulas:
        ElementTree.SubElement(root, "names").text = (
            "\n" + "\n".join(f"    {one} = {text}" for one, text in names) + "\n  "
        )
    else:
        ElementTree.SubElement(root, "names", {"print": print_of(f"{one}={text}" for one, text in names)})
    for tab, state, part in listed:
        if tab in kept.printed:
            cells = (f"{cell}" for row in package.rows(package.part(part)) for cell in row.cells)
            ElementTree.SubElement(root, "sheet", {"name": tab, "state": state, "print": print_of(cells)})
        elif not kept.only or tab in kept.only:
            root.append(sheet_told(package, tab, state, part, kept.formulas))
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="unicode") + "\n"


def print_of(lines: Iterable[str]) -> str:
    """A short fingerprint of some lines."""
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:16]


def plain(element: Element) -> dict[str, str]:
    return {
        key: value for key, value in sorted(element.attrib.items()) if not key.startswith("{") and key not in VOLATILE
    }


def sheet_told(package: Package, tab: str, state: str, part: str, formulas: bool) -> Element:
    """One sheet."""
    sheet = package.part(part)
    made = Element("sheet", {"name": tab, "state": state})
    rows = list(package.rows(sheet))
    if formulas:
        made.extend(list(frame_told(package, sheet, part)))
    else:
        every = [f"{cell.address}{cell.formula}{cell.format}{cell.unlocked}" for row in rows for cell in row.cells]
        every += [ElementTree.tostring(one, encoding="unicode") for one in frame_told(package, sheet, part)]
        ElementTree.SubElement(made, "formulas", {"print": print_of(every)})
    made.extend(list(rows_told(rows, formulas)))
    return made


def frame_told(package: Package, sheet: Element, part: str) -> Iterator[Element]:
    """All that is not in a row: page, widths, merged cells, validations, conditions, notes, charts."""
    for pane in sheet.iter(f"{MAIN}pane"):
        yield Element("frozen", {"at": pane.get("topLeftCell", "")})
    for tag in PAGE:
        for one in sheet.iter(f"{MAIN}{tag}"):
            made = Element(tag, plain(one))
            for inner in one:
                ElementTree.SubElement(made, inner.tag.removeprefix(MAIN), plain(inner)).text = inner.text
            yield made
    widths = [
        f"{one.get('min')}-{one.get('max')}: {float(one.get('width', '0')):.2f}" for one in sheet.iter(f"{MAIN}col")
    ]
    yield texted("widths", ", ".join(widths))
    yield texted("merged", " ".join(one.get("ref", "") for one in sheet.iter(f"{MAIN}mergeCell")))
    for one in sheet.iter(f"{MAIN}dataValidation"):
        made = Element("validation", plain(one))
        for inner in one:
            ElementTree.SubElement(made, inner.tag.removeprefix(MAIN)).text = inner.text
        yield made
    for one in sheet.iter(f"{MAIN}conditionalFormatting"):
        for rule in one.iter(f"{MAIN}cfRule"):
            said = {key: value for key, value in plain(rule).items() if key not in ("dxfId", "priority")}
            formulas = " ".join(inner.text or "" for inner in rule.iter(f"{MAIN}formula"))
            yield texted("condition", formulas, {"sqref": one.get("sqref", "")} | said)
    for target, kind in package.relations(part).values():
        if kind == "comments":
            yield from notes_told(package.part(target))
        elif kind == "drawing":
            for chart, what in package.relations(target).values():
                if what == "chart":
                    yield chart_told(package.part(chart))


def texted(tag: str, content: str, said: Mapping[str, str] | None = None) -> Element:
    """An element with a text."""
    made = Element(tag, dict(said or {}))
    made.text = content
    return made


def rows_told(rows: list[Row], formulas: bool) -> Iterator[Element]:
    """Rows, long runs of like ones by a few."""
    at = 0
    while at < len(rows):
        end, shape = at + 1, rows[at].shape()
        while end < len(rows) and rows[end].number == rows[end - 1].number + 1 and rows[end].shape() == shape:
            end += 1
        run = rows[at:end]
        if len(run) <= SHORT or run[0].filled < 2:
            yield from (row_told(row, formulas) for row in run)
        else:
            yield row_told(run[0], formulas)
            yield from (row_told(row, False) for row in run[1:FIRST])
            hidden = run[FIRST:-LAST]
            values = print_of("\t".join([row.height, *(cell.value for cell in row.cells)]) for row in hidden)
            yield Element("alike", {"rows": f"{hidden[0].number}-{hidden[-1].number}", "print": values})
            yield from (row_told(row, False) for row in run[-LAST:])
        at = end


def row_told(row: Row, formulas: bool) -> Element:
    """One row; without formulas a computed cell shows its value alone."""
    made = Element("row", {"r": str(row.number)} | ({"height": row.height} if row.height else {}))
    for cell in row.cells:
        if not (cell.value or formulas and (cell.formula or cell.unlocked)):
            continue  # a border, a fill; an empty cell that the blank workbook tells
        said = {"r": cell.address}
        if cell.unlocked:
            said["typed"] = "1"
        if cell.format and formulas:
            said["format"] = cell.format
        if cell.formula and formulas:
            said["formula"] = cell.formula
        if cell.kind != "n" and cell.value:
            said["is"] = cell.kind
        ElementTree.SubElement(made, "c", said).text = cell.value or None
    return made


def notes_told(comments: Element) -> Iterator[Element]:
    for one in comments.iter(f"{MAIN}comment"):
        made = Element("note", {"on": one.get("ref", "")})
        made.text = "".join(text.text or "" for text in one.iter(f"{MAIN}t"))
        yield made


def chart_told(chart: Element) -> Element:
    """What a chart draws: its title, the cells of each line, the range of its axes."""
    made = Element("chart")
    title = chart.find(f".//{CHART}title")
    if title is not None:
        made.set("title", "".join(text.text or "" for text in title.iter(f"{DRAWN}t")))
    for axis in chart.iter(f"{CHART}valAx"):
        limits = {tag: one.get("val", "") for tag in ("min", "max") for one in axis.iter(f"{CHART}{tag}")}
        ElementTree.SubElement(made, "axis", limits)
    for series in chart.iter(f"{CHART}ser"):
        said = {}
        for tag, name in (("tx", "name"), ("xVal", "x"), ("yVal", "y"), ("cat", "x"), ("val", "y")):
            part = series.find(f"{CHART}{tag}")
            if part is not None:
                cells = [one.text or "" for one in part.iter(f"{CHART}f")]
                said[name] = " ".join(cells or [one.text or "" for one in part.iter(f"{CHART}v")])
        ElementTree.SubElement(made, "line", said)
    return made


# -- blessing ----------------------------------------------------------------------------------------------------------


def made_with() -> str:
    """The programs that produce what is blessed."""
    lines = [f"Python {platform.python_version()} on {platform.system()}"]
    return "\n".join([*lines, *(f"{name} {version(name)}" for name in PRODUCERS)]) + "\n"


def main() -> int:
    """Bless what is built now."""
    FOLDER.mkdir(exist_ok=True)
    made = {f"{name}.xml": text_of(name) for name in workbooks()} | {MADE_WITH.name: made_with()}
    for old in FOLDER.iterdir():
        if old.name not in made:
            old.unlink()
            print("removed", old.name)
    for name, text in made.items():
        path = FOLDER / name
        before = path.read_text(encoding="utf-8") if path.exists() else ""
        if before != text:
            path.write_text(text, encoding="utf-8", newline="\n")
            print("blessed", name)
    return 0


if __name__ == "__main__":
    sys.path[:0] = [str(TESTS), str(TESTS.parent)]
    sys.exit(main())
