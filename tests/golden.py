"""Golden workbooks: what is built, written as indented XML that a person can compare line by line.

Run with `make golden` to bless what is built now. A test says when a workbook is no longer what was blessed.

Kept are: formulas with their values, fixed cells, number formats, which cells are unlocked, merged cells, validations,
conditional formats, notes, filters, frozen panes, column widths, page set-up, protection, defined names, and what charts
draw. Left out is what changes by itself or says nothing: the order of styles and strings, colours and fonts, window
sizes, calculation settings, dates of making.

Rows that follow one another and have the same cells, formats and formulas (written relative to the row) are shown by the
first three and the last; of the rest the file keeps a fingerprint of their values, so that no change passes unseen. Of
the workbook of reference tables the sheets Start and Compare are kept: the others are the CSV files, which are compared
with their sources and have fingerprints of their own.
"""

from __future__ import annotations

import hashlib
import io
import platform
import re
import sys
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.metadata import version
from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

TESTS = Path(__file__).resolve().parent
FOLDER = TESTS / "golden"
JOB = TESTS.parent / "output_examples" / "mill_creek.toml"
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


# -- what is kept ----------------------------------------------------------------------------------------------------------


def workbooks() -> dict[str, tuple[bytes, tuple[str, ...]]]:
    """Every golden workbook by its name, with the sheets that are kept (none: all)."""
    from workshops import EDITIONS, built

    from workbook_builder.build import workshop
    from workbook_builder.job_reading import load_schema, read

    shop = workshop()
    job = read(JOB, load_schema(shop.shelf.folder, shop.units), shop.library)
    made: dict[str, tuple[bytes, tuple[str, ...]]] = {}
    for edition in EDITIONS:
        for state, with_job in (("blank", False), ("job", True)):
            made[f"bakehouse-{state}-{edition}"] = built("bakehouse", with_job, edition), ()
            made[f"spool-{state}-{edition}"] = shop.build("spool", job if with_job else None, edition), ()
        made[f"tables-{edition}"] = shop.build("tables", None, edition), ("Start", "Compare")
    return made


@cache
def texts() -> dict[str, str]:
    """What each golden workbook looks like now."""
    return {name: told(data, name, kept) for name, (data, kept) in workbooks().items()}


# -- reading a workbook ----------------------------------------------------------------------------------------------------


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
        kind = self.kind if self.value else ""
        formula = relative(self.formula, row)
        return column_of(self.address), formula, "" if formula else kind, self.format, self.unlocked


@dataclass(slots=True)
class Row:
    """One row that has cells."""

    number: int
    height: str
    cells: list[Cell] = field(default_factory=list)

    def shape(self) -> tuple[object, ...]:
        """See `Cell.shape`."""
        return (self.height, *(cell.shape(self.number) for cell in self.cells))

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
            looks.append((own.get(number, "" if number == "0" else f"built-in {number}"), guard is not None and guard.get("locked") == "0"))
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


# -- telling it ------------------------------------------------------------------------------------------------------------


def told(data: bytes, name: str, kept: Sequence[str] = ()) -> str:
    """A workbook as indented XML."""
    package = Package(data)
    book = package.part("xl/workbook.xml")
    relations = package.relations("xl/workbook.xml")
    root = Element("workbook", {"name": name})
    listed = [(one.get("name", ""), one.get("state", "visible"), relations[one.get(RELATION, "")][0]) for one in book.iter(f"{MAIN}sheet")]
    ElementTree.SubElement(root, "sheets").text = ", ".join(tab for tab, *_ in listed)
    names = ElementTree.SubElement(root, "names")
    for one in book.iter(f"{MAIN}definedName"):
        text = one.text or ""
        if not kept or any(text.startswith((f"{tab}!", f"'{tab}'!")) for tab in kept):
            ElementTree.SubElement(names, "name", {"of": one.get("name", "")}).text = text
    for tab, state, part in listed:
        if not kept or tab in kept:
            root.append(sheet_told(package, tab, state, part))
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="unicode") + "\n"


def plain(element: Element) -> dict[str, str]:
    return {key: value for key, value in sorted(element.attrib.items()) if not key.startswith("{") and key not in VOLATILE}


def sheet_told(package: Package, tab: str, state: str, part: str) -> Element:
    """One sheet."""
    sheet = package.part(part)
    made = Element("sheet", {"name": tab, "state": state})
    for pane in sheet.iter(f"{MAIN}pane"):
        ElementTree.SubElement(made, "frozen", {"at": pane.get("topLeftCell", "")})
    for tag in PAGE:
        for one in sheet.iter(f"{MAIN}{tag}"):
            child = ElementTree.SubElement(made, tag, plain(one))
            for inner in one:
                ElementTree.SubElement(child, inner.tag.removeprefix(MAIN), plain(inner)).text = inner.text
    widths = [f"{one.get('min')}-{one.get('max')}: {float(one.get('width', '0')):.2f}" for one in sheet.iter(f"{MAIN}col")]
    ElementTree.SubElement(made, "widths").text = ", ".join(widths)
    merged = [one.get("ref", "") for one in sheet.iter(f"{MAIN}mergeCell")]
    ElementTree.SubElement(made, "merged").text = " ".join(merged)
    for one in sheet.iter(f"{MAIN}dataValidation"):
        child = ElementTree.SubElement(made, "validation", plain(one))
        for inner in one:
            ElementTree.SubElement(child, inner.tag.removeprefix(MAIN)).text = inner.text
    for one in sheet.iter(f"{MAIN}conditionalFormatting"):
        for rule in one.iter(f"{MAIN}cfRule"):
            said = {key: value for key, value in plain(rule).items() if key not in ("dxfId", "priority")}
            child = ElementTree.SubElement(made, "condition", {"sqref": one.get("sqref", "")} | said)
            child.text = " ".join(inner.text or "" for inner in rule.iter(f"{MAIN}formula"))
    made.extend(rows_told(list(package.rows(sheet))))
    related = package.relations(part)
    for target, kind in related.values():
        if kind == "comments":
            made.extend(notes_told(package.part(target)))
        elif kind == "drawing":
            made.extend(
                chart_told(package.part(chart)) for chart, what in package.relations(target).values() if what == "chart"
            )
    return made


def rows_told(rows: list[Row]) -> Iterator[Element]:
    """Rows, long runs of like ones by a few."""
    at = 0
    while at < len(rows):
        end, shape = at + 1, rows[at].shape()
        while end < len(rows) and rows[end].number == rows[end - 1].number + 1 and rows[end].shape() == shape:
            end += 1
        run = rows[at:end]
        if len(run) <= SHORT or run[0].filled < 2:
            yield from map(row_told, run)
        else:
            yield from map(row_told, run[:FIRST])
            hidden = run[FIRST:-LAST]
            values = "\n".join("\t".join(cell.value for cell in row.cells) for row in hidden)
            print_ = hashlib.sha256(values.encode()).hexdigest()[:16]
            yield Element("alike", {"rows": f"{hidden[0].number}-{hidden[-1].number}", "values": print_})
            yield from map(row_told, run[-LAST:])
        at = end


def row_told(row: Row) -> Element:
    made = Element("row", {"r": str(row.number)} | ({"height": row.height} if row.height else {}))
    for cell in row.cells:
        if not (cell.formula or cell.value or cell.unlocked):
            continue  # a border, a fill
        said = {"r": cell.address}
        if cell.unlocked:
            said["typed"] = "1"
        if cell.format:
            said["format"] = cell.format
        if cell.formula:
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
                said[name] = " ".join(one.text or "" for one in part.iter() if one.tag in (f"{CHART}f", f"{CHART}v") and one.text and (one.tag == f"{CHART}f" or part.find(f".//{CHART}f") is None))
        ElementTree.SubElement(made, "line", said)
    return made


# -- blessing --------------------------------------------------------------------------------------------------------------


def made_with() -> str:
    """The programs that produce what is blessed."""
    lines = [f"Python {platform.python_version()} on {platform.system()}"]
    return "\n".join([*lines, *(f"{name} {version(name)}" for name in PRODUCERS)]) + "\n"


def main() -> int:
    """Bless what is built now."""
    FOLDER.mkdir(exist_ok=True)
    made = {f"{name}.xml": text for name, text in texts().items()} | {MADE_WITH.name: made_with()}
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
