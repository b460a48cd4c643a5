"""Recompute a workbook with engines that had no part in building it, and compare the answers.

A workbook stores a value beside each formula. Whether that value is right is asked of two independent engines:
LibreOffice Calc, run without a window in a profile of its own, and the ``formulas`` package. Both are handed the file
alone, and both must work the values out anew.

Every value is brought to one form, whichever engine gave it:

- a number is an ``int`` or a ``float``, a yes/no is a ``bool``, text is a ``str``, a blank cell is ``None``;
- a date or a time is its serial number;
- an error value is an `ErrorValue`, never the text ``"#N/A"``;
- a formula cell for which an engine gave no answer at all is absent from its result, and `differences` says so.

LibreOffice keeps the stored values when it opens a file, unless its profile says otherwise. So each call also sends a
*canary* along: a workbook whose one stored value is wrong. When it comes back unchanged the call fails, because then
nothing was recalculated and the comparison would prove nothing.

The states of a filled workbook are made by editing the XML of a sheet in place (`type_into`): the formulas, names and
styles stay as they were built, and the stored values go stale, so an engine that only repeats them is caught.
"""

from __future__ import annotations

import contextlib
import datetime
import io
import math
import os
import re
import shutil
import signal
import subprocess
import tempfile
import warnings
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar
from xml.etree import ElementTree
from xml.sax.saxutils import escape

import pytest

Cell = tuple[str, str]
"""A sheet name and an address without dollar signs: ``("Fit-up", "C5")``."""

V = TypeVar("V")

DEFAULT_TOLERANCE = 1e-9
SECONDS_FOR_LIBREOFFICE = 180.0


@dataclass(frozen=True)
class ErrorValue:
    """An error value in a cell, such as ``#DIV/0!``."""

    text: str

    def __str__(self) -> str:
        return self.text


Value = int | float | bool | str | ErrorValue | None
"""What a cell holds, in the one form that all engines are brought to."""

Typed = int | float | bool | str | datetime.date | None
"""What a person types into a cell; ``None`` clears it."""

Stored = int | float | bool | str
"""What can be stored beside a formula."""


class EngineError(Exception):
    """An engine could not do its work: this says nothing about the workbook's values."""


# ------------------------------------------------------------------------------------------------ reading with openpyxl


def formula_cells(path: Path) -> dict[Cell, str]:
    """Give every formula of a workbook, with its leading equals sign, by sheet and address."""
    found: dict[Cell, str] = {}
    for sheet, cell in _cells(path, stored=False):
        if cell.data_type == "f":
            found[sheet, cell.coordinate] = str(getattr(cell.value, "text", cell.value))
    return found


def cached_values(path: Path) -> dict[Cell, Value]:
    """Give the value stored beside every formula; ``None`` where none is stored, or an empty text is."""
    values = cell_values(path)
    return {place: values.get(place) for place in formula_cells(path)}


def cell_values(path: Path) -> dict[Cell, Value]:
    """Give what every cell in the file holds: typed values, values stored beside formulas, ``None`` for blank ones."""
    found: dict[Cell, Value] = {}
    for sheet, cell in _cells(path, stored=True):
        found[sheet, cell.coordinate] = ErrorValue(str(cell.value)) if cell.data_type == "e" else as_value(cell.value)
    return found


def _cells(path: Path, *, stored: bool) -> Iterator[tuple[str, Any]]:
    """Walk over all cells of all worksheets, hidden ones too."""
    book = import_module("openpyxl").load_workbook(path, data_only=stored, read_only=True)  # half the time
    try:
        for sheet in book.worksheets:
            sheet.reset_dimensions()  # what is typed may stand outside of those that the builder wrote
            for row in sheet.iter_rows():
                for cell in row:
                    if hasattr(cell, "coordinate"):  # what stands in the file, if only as a style
                        yield sheet.title, cell
    finally:
        book.close()


def as_value(raw: object) -> Value:
    """Bring what an engine or openpyxl gives to the one form that values have here."""
    if hasattr(raw, "item"):  # a number or a yes/no that numpy wraps
        raw = raw.item()
    if raw is None or isinstance(raw, (ErrorValue, bool, str, int)):
        return raw
    if isinstance(raw, float):
        return raw if math.isfinite(raw) else ErrorValue(str(raw))
    if isinstance(raw, complex):  # what the formulas package makes of a root of a negative number
        return ErrorValue(str(raw))
    if isinstance(raw, (datetime.date, datetime.time, datetime.timedelta)):
        return float(import_module("openpyxl.utils.datetime").to_excel(raw))
    raise TypeError(f"a cell cannot hold {raw!r} ({type(raw).__name__})")


# ------------------------------------------------------------------------------------------------------------ comparing


@dataclass(frozen=True)
class Difference:
    """One formula cell on which the build and an engine do not agree."""

    cell: Cell
    build: Value
    other: Value
    reason: str

    def __str__(self) -> str:
        sheet, address = self.cell
        return f"{sheet}!{address}: the build has {_shown(self.build)}, the engine {_shown(self.other)} ({self.reason})"


def differences(
    build: Mapping[Cell, Value], other: Mapping[Cell, Value], tolerance: float = DEFAULT_TOLERANCE
) -> list[Difference]:
    """List the cells of ``build`` on which ``other`` does not agree.

    Numbers agree within ``tolerance`` times the larger of 1 and the value; text, yes/no and kind must be equal, save
    that a blank and an empty text are one. An error value is a finding on either side, also when both sides have it,
    and so is a cell that ``other`` does not mention. Cells that only ``other`` mentions are left alone.
    """
    found: list[Difference] = []
    for place, ours in build.items():
        reason = _why_different(ours, other[place], tolerance) if place in other else "no answer for this cell"
        if reason:
            found.append(Difference(place, ours, other.get(place), reason))
    return found


def error_values(values: Mapping[Cell, Value]) -> dict[Cell, ErrorValue]:
    """Give the cells that hold an error value."""
    return {place: value for place, value in values.items() if isinstance(value, ErrorValue)}


def _why_different(ours: Value, theirs: Value, tolerance: float) -> str:
    """Say why two values are not the same, or give an empty text when they are."""
    if isinstance(ours, ErrorValue) or isinstance(theirs, ErrorValue):
        return "an error value"
    if ours in (None, "") and theirs in (None, ""):
        return ""
    if isinstance(ours, bool) or isinstance(theirs, bool):
        same = isinstance(ours, bool) and isinstance(theirs, bool) and ours == theirs
        return "" if same else "not the same"
    if isinstance(ours, (int, float)) and isinstance(theirs, (int, float)):
        apart = abs(ours - theirs)
        return "" if apart <= tolerance * max(1.0, abs(ours), abs(theirs)) else f"they differ by {apart:.3g}"
    if isinstance(ours, str) and isinstance(theirs, str):
        return "" if ours == theirs else "not the same"
    return "not of one kind"


def _shown(value: Value) -> str:
    return "a blank" if value is None else str(value) if isinstance(value, ErrorValue) else repr(value)


# ---------------------------------------------------------------------------------------------------------- LibreOffice


def libreoffice_available() -> bool:
    """Whether LibreOffice is installed."""
    return _libreoffice() is not None


def require_libreoffice() -> None:
    """Skip the test when LibreOffice is missing; on the build server, fail it."""
    if not libreoffice_available():
        _go_without("LibreOffice Calc is not installed (no soffice on the path)")


def require_pages() -> None:
    """Skip the test when pages cannot be drawn (LibreOffice and pdftoppm); on the build server, fail it."""
    require_libreoffice()
    if shutil.which("pdftoppm") is None:
        _go_without("pdftoppm is not installed")


def recompute_with_libreoffice(
    paths: Sequence[Path], out: Path, *, seconds: float = SECONDS_FOR_LIBREOFFICE
) -> dict[Path, dict[Cell, Value]]:
    """Recalculate several workbooks with one start of LibreOffice, and give what all their cells then hold.

    The recalculated copies stay in the folder ``out``, under their own names (numbered where two are the same).
    """
    out.mkdir(parents=True, exist_ok=True)
    made = _convert(paths, "xlsx", seconds=seconds, recalculate=True)
    taken: set[str] = set()
    results: dict[Path, dict[Cell, Value]] = {}
    for number, path in enumerate(paths):
        name = path.name if path.name not in taken else f"{number}-{path.name}"
        taken.add(name)
        (out / name).write_bytes(made[number])
        results[path] = cell_values(out / name)
    return results


def filters_hold(value: object) -> bool:
    """Whether LibreOffice can save a value in a column with filter arrows: 7.4 hangs on 1E-30 there, dies of 1E+300."""
    return not isinstance(value, float) or value == 0 or 1e-15 < abs(value) < 1e15


def save_with_libreoffice(
    path: Path, out: Path, *, recalculate: bool = True, seconds: float = SECONDS_FOR_LIBREOFFICE
) -> Path:
    """Write the workbook to the file ``out`` as LibreOffice saves it.

    With ``recalculate`` the stored values are fresh, as after typing there; without, they are those it was given.
    """
    return _write(out, _convert([path], "xlsx", seconds=seconds, recalculate=recalculate)[0])


def render_pdf(path: Path, out: Path, *, seconds: float = SECONDS_FOR_LIBREOFFICE) -> Path:
    """Print the recalculated workbook to the PDF file ``out``."""
    return _write(out, _convert([path], "pdf", seconds=seconds, recalculate=True)[0])


def render_png(path: Path, out: Path, dpi: int = 80, *, seconds: float = SECONDS_FOR_LIBREOFFICE) -> list[Path]:
    """Draw the printed pages of a workbook (or of a PDF) into the folder ``out``, and list the pictures in order."""
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="pages-") as folder:
        pdf = path if path.suffix.lower() == ".pdf" else render_pdf(path, Path(folder, "pages.pdf"), seconds=seconds)
        drawn = Path(folder, "drawn")
        drawn.mkdir()
        _run(["pdftoppm", "-png", "-r", str(dpi), str(pdf), str(drawn / "page")], seconds)
        pages = sorted(drawn.glob("page-*.png"), key=lambda page: int(page.stem.removeprefix("page-")))
        if not pages:
            raise EngineError(f"pdftoppm drew no page of {path.name}")
        return [
            _write(out / f"{path.stem}-{number}.png", page.read_bytes()) for number, page in enumerate(pages, start=1)
        ]


_PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" \
xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">\
<value>{mode}</value></prop></item>
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">\
<value>en-US</value></prop></item>
</oor:items>
"""
_ALWAYS, _NEVER = 0, 1
_CANARY_ANSWER = 42


def _convert(paths: Sequence[Path], kind: str, *, seconds: float, recalculate: bool) -> list[bytes]:
    """Convert workbooks with one start of LibreOffice; start it once more when it hangs or leaves a file out."""
    program = _libreoffice()
    if program is None:
        raise EngineError("LibreOffice is not installed")
    failure: EngineError | None = None
    for _ in range(2):
        try:
            return _convert_once(program, paths, kind, seconds, recalculate)
        except EngineError as error:
            failure = error
    assert failure is not None
    raise failure


def _convert_once(program: str, paths: Sequence[Path], kind: str, seconds: float, recalculate: bool) -> list[bytes]:
    with tempfile.TemporaryDirectory(prefix="calc-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        profile, given, made = folder / "profile", folder / "given", folder / "made"
        for each in (profile / "user", given, made):
            each.mkdir(parents=True)
        settings = _PROFILE.format(mode=_ALWAYS if recalculate else _NEVER)
        (profile / "user" / "registrymodifications.xcu").write_text(settings, encoding="utf-8")
        sources = [given / f"{number}.xlsx" for number in range(len(paths))]
        for path, source in zip(paths, sources, strict=True):
            shutil.copyfile(path, source)
        canary = given / "canary.xlsx"
        _write_canary(canary)
        with_canary = recalculate and kind == "xlsx"
        command = [program, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--norestore", "--nologo"]
        command += ["--convert-to", kind, "--outdir", str(made)]
        command += [str(source) for source in (*sources, *([canary] if with_canary else []))]
        said = _run(command, seconds)
        results = [made / f"{source.stem}.{kind}" for source in sources]
        missing = [path.name for path, result in zip(paths, results, strict=True) if not result.is_file()]
        if missing:
            raise EngineError(f"LibreOffice wrote nothing for {', '.join(missing)}; it said: {said or 'nothing'}")
        if with_canary and cell_values(made / canary.name)["Canary", "A1"] != _CANARY_ANSWER:
            raise EngineError("LibreOffice did not recalculate: a wrong stored value came back unchanged")
        return [result.read_bytes() for result in results]


def _write_canary(path: Path) -> None:
    """Write a workbook whose one formula has a wrong stored value."""
    book = import_module("xlsxwriter").Workbook(path)
    book.add_worksheet("Canary").write_formula("A1", "=6*7", None, _CANARY_ANSWER - 1)
    book.close()


def _libreoffice() -> str | None:
    return shutil.which("soffice") or shutil.which("libreoffice")


def _run(command: Sequence[str], seconds: float) -> str:
    """Run a program, end it with all its children when it takes too long, and give what it said."""
    with subprocess.Popen(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        start_new_session=True,
    ) as process:
        try:
            said, _ = process.communicate(timeout=seconds)
        except subprocess.TimeoutExpired:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.communicate()
            raise EngineError(f"{Path(command[0]).name} gave no answer in {seconds:g} s") from None
    if process.returncode:
        raise EngineError(f"{Path(command[0]).name} ended with {process.returncode}: {said.strip() or 'no word'}")
    return said.strip()


def _go_without(word: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(f"{word}; on the build server it must be")
    pytest.skip(word)


def _write(out: Path, content: bytes) -> Path:
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_bytes(content)
    return out


# ------------------------------------------------------------------------------------------------- the formulas package


def recompute_with_formulas(path: Path) -> dict[Cell, Value]:
    """Work out a workbook with the ``formulas`` package, and give what its formula cells and typed cells hold.

    The package leaves a cell out of its answer when it cannot reach it: a circular formula, and every cell that
    follows from one. Such a cell is absent here too, so `differences` reports it.
    """
    formulas = import_module("formulas")
    with tempfile.TemporaryDirectory(prefix="formulas-") as folder:
        # The package builds its keys out of the file's name: a plain one keeps brackets and quotes out of them.
        plain = Path(folder, "book.xlsx")
        shutil.copyfile(path, plain)
        sheets = {name.upper(): name for name in sheet_names(plain)}
        with warnings.catch_warnings(), contextlib.redirect_stderr(io.StringIO()):
            warnings.simplefilter("ignore")
            try:
                solution = formulas.ExcelModel().loads(str(plain)).finish().calculate()
            except Exception as error:
                raise EngineError(f"formulas cannot work with {path.name}: {error!r}") from error
    found: dict[Cell, Value] = {}
    for key, answer in solution.items():
        place = _place_of(str(key), sheets)
        if place is not None and hasattr(answer, "value"):
            found[place] = value_of_formulas(answer.value[0, 0])
    return found


_SOLUTION_KEY = re.compile(r"'\[book\.xlsx](?P<sheet>.+)'!(?P<address>[A-Z]+[0-9]+)")


def _place_of(key: str, sheets: Mapping[str, str]) -> Cell | None:
    """Turn a key such as ``'[book.xlsx]CUT LIST'!C5`` into a sheet and an address; ranges and names are no cell."""
    match = _SOLUTION_KEY.fullmatch(key)
    if match is None:
        return None
    sheet = sheets.get(match["sheet"].replace("''", "'").upper())
    return None if sheet is None else (sheet, match["address"])


def value_of_formulas(raw: object) -> Value:
    """Turn a value of the ``formulas`` package into one of ours: its blank and its errors are texts of their own."""
    name = type(raw).__name__
    if name == "XlError":
        return ErrorValue(str(raw))
    if name == "Token":
        return None
    return as_value(str(raw)) if isinstance(raw, str) else as_value(raw)


# --------------------------------------------------------------------------------------------- formualizer, from a file


def recompute_with_formualizer(path: Path) -> dict[Cell, Value]:
    """Load a file into formualizer as `read` does, and give what its formula cells then hold."""
    import formualizer

    book = formualizer.Workbook.from_bytes(path.read_bytes())
    book.evaluate_all()
    found: dict[Cell, Value] = {}
    for place in formula_cells(path):
        sheet, address = place
        row, column = row_and_column(address)
        found[place] = from_formualizer(book.get_value(sheet, row, column))
    return found


def from_formualizer(raw: object) -> Value:
    """Turn a value of formualizer into one of ours: its errors are dictionaries."""
    if isinstance(raw, dict):
        return ErrorValue(str(raw.get("kind", raw)))
    return as_value(raw)


# ------------------------------------------------------------------------------------ editing a workbook's XML in place


def type_into(path: Path, out: Path, values: Mapping[Cell, Typed], *, over_formulas: bool = False) -> Path:
    """Write a copy of a workbook to ``out`` with the given values typed in, everything else as it was.

    Stored values of formulas stay what they were, so they are stale afterwards. Text is always text, also when it
    starts with an equals sign. A formula cell is locked for whoever types, so it is refused here without
    ``over_formulas``.
    """

    def typed(address: str, element: str, value: Typed) -> str:
        if _FORMULA.search(element) and not over_formulas:
            raise ValueError(f"{address} holds a formula: pass over_formulas=True to type over it")
        return _cell_xml(address, _style_of(element), value)

    return _edit(path, out, values, typed)


def spoil_cached(path: Path, out: Path, values: Mapping[Cell, Stored]) -> Path:
    """Write a copy with other values stored beside the given formulas, which stay as they are."""

    def spoilt(address: str, element: str, value: Stored) -> str:
        formula = _FORMULA.search(element)
        if formula is None:
            raise ValueError(f"{address} holds no formula")
        kind = "b" if isinstance(value, bool) else "str" if isinstance(value, str) else "n"
        stored = escape(value) if isinstance(value, str) else repr(int(value) if isinstance(value, bool) else value)
        return f'<c r="{address}"{_style_of(element)} t="{kind}">{formula[0]}<v>{stored}</v></c>'

    return _edit(path, out, values, spoilt)


def alter_formulas(path: Path, out: Path, formulas: Mapping[Cell, str]) -> Path:
    """Write a copy with other formulas in the given cells, whose stored values stay as they are."""

    def altered(address: str, element: str, formula: str) -> str:
        if _FORMULA.search(element) is None:
            raise ValueError(f"{address} holds no formula")
        return _FORMULA.sub(lambda _: f"<f>{escape(formula.removeprefix('='))}</f>", element, count=1)

    return _edit(path, out, formulas, altered)


def row_and_column(address: str) -> tuple[int, int]:
    """Give the row and the column of an address, both counted from 1."""
    match = _ADDRESS.fullmatch(address)
    if match is None:
        raise ValueError(f"{address!r} is no address of a cell")
    column = 0
    for letter in match[1]:
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(match[2]), column


def package(data: bytes) -> dict[str, bytes]:
    """What a workbook's file holds; how tightly it is packed, which differs between machines, is left aside."""
    with zipfile.ZipFile(io.BytesIO(data)) as file:
        return {name: file.read(name) for name in file.namelist()}


def sheet_names(path: Path) -> list[str]:
    """Give the names of a workbook's sheets, in order, hidden ones too."""
    with zipfile.ZipFile(path) as package:
        return list(_sheet_parts(package))


_ADDRESS = re.compile(r"([A-Z]{1,3})([1-9][0-9]*)")
_FORMULA = re.compile(r"<f\b[^>]*/>|<f\b.*?</f>", re.DOTALL)
_SHEET_DATA = re.compile(r"<sheetData\s*/>|<sheetData\b[^>]*>(.*)</sheetData>", re.DOTALL)
_ROW = re.compile(r"<row\b[^>]*?/>|<row\b[^>]*>.*?</row>", re.DOTALL)
_CELL = re.compile(r"<c\b[^>]*?/>|<c\b[^>]*>.*?</c>", re.DOTALL)
_ROW_NUMBER = re.compile(r'<row\b[^>]*?\br="([0-9]+)"')
_CELL_ADDRESS = re.compile(r'<c\b[^>]*?\br="([A-Z]+[0-9]+)"')
_CELL_STYLE = re.compile(r'<c\b[^>]*?(\ss="[0-9]+")')
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


def _edit(path: Path, out: Path, values: Mapping[Cell, V], change: Callable[[str, str, V], str]) -> Path:
    """Copy a workbook, putting what ``change`` makes of an address, a cell's XML and a value in that cell's place."""
    with zipfile.ZipFile(path) as package:
        parts = _sheet_parts(package)
        by_part: dict[str, dict[str, V]] = {}
        for (sheet, address), value in values.items():
            if sheet not in parts:
                raise ValueError(f"{path.name} has no sheet {sheet!r}; it has {', '.join(parts)}")
            by_part.setdefault(parts[sheet], {})[address] = value
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as copy:
            for item in package.infolist():
                content = package.read(item)
                if item.filename in by_part:
                    text = _edit_sheet(content.decode("utf-8"), by_part[item.filename], change)
                    content = text.encode("utf-8")
                copy.writestr(item, content)
    return _write(out, buffer.getvalue())


def _edit_sheet(text: str, values: Mapping[str, V], change: Callable[[str, str, V], str]) -> str:
    """Change the given cells in the XML of one sheet; rows and cells that it lacks are put in where they belong."""
    data = _SHEET_DATA.search(text)
    if data is None:
        raise ValueError("the sheet's XML has no sheetData element")
    rows = {int(_found(_ROW_NUMBER, row)): row for row in _ROW.findall(data[1] or "")}
    by_row: dict[int, dict[str, V]] = {}
    for address, value in values.items():
        by_row.setdefault(row_and_column(address)[0], {})[address] = value
    for number, wanted in by_row.items():
        row = rows.get(number, f'<row r="{number}"/>')
        head = row[: row.index(">") + 1]
        cells = {_found(_CELL_ADDRESS, cell): cell for cell in _CELL.findall(row[len(head) :])}
        for address, value in wanted.items():
            cells[address] = change(address, cells.get(address, f'<c r="{address}"/>'), value)
        inside = "".join(cells[address] for address in sorted(cells, key=row_and_column))
        rows[number] = f"{head.removesuffix('/>').removesuffix('>')}>{inside}</row>"
    inside = "".join(rows[number] for number in sorted(rows))
    return f"{text[: data.start()]}<sheetData>{inside}</sheetData>{text[data.end() :]}"


def _found(pattern: re.Pattern[str], text: str) -> str:
    match = pattern.match(text)
    if match is None:
        raise ValueError(f"the sheet's XML has an element without an address: {text[:80]}")
    return match[1]


def _style_of(element: str) -> str:
    match = _CELL_STYLE.match(element)
    return match[1] if match else ""


def _cell_xml(address: str, style: str, value: Typed) -> str:
    """Write the XML of a cell that was typed into."""
    start = f'<c r="{address}"{style}'
    if value is None:
        return f"{start}/>"
    if isinstance(value, bool):
        return f'{start} t="b"><v>{int(value)}</v></c>'
    if isinstance(value, str):
        return f'{start} t="inlineStr"><is><t xml:space="preserve">{escape(value)}</t></is></c>'
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{address}: {value!r} cannot be typed into a cell")
    return f"{start}><v>{as_value(value)!r}</v></c>"


def _sheet_parts(package: zipfile.ZipFile) -> dict[str, str]:
    """Give the name of the part that holds each worksheet, by the sheet's name."""
    relations = ElementTree.fromstring(package.read("xl/_rels/workbook.xml.rels"))
    targets = {relation.get("Id", ""): relation.get("Target", "") for relation in relations}
    book = ElementTree.fromstring(package.read("xl/workbook.xml"))
    parts: dict[str, str] = {}
    for sheet in book.iter(f"{_MAIN}sheet"):
        target = targets[sheet.get(_RELATION, "")]
        parts[sheet.get("name", "")] = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
    return parts
