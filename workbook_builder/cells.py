"""The cells of an .xlsx file: what was typed, which formulas stand where, and which values are stored beside them.

One pass over the file's XML, whichever program saved it. The file comes from outside: its size, its parts and its cells
are bounded, and whatever is wrong with it becomes one sentence. Parts that hold no cells (drawings, comments, pictures)
are never unpacked.
"""

from __future__ import annotations

import io
import math
import os
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from .book import CellValue
from .errors import WorkbookError

LARGEST_FILE = 64 * 1024 * 1024
LARGEST_UNPACKED = 768 * 1024 * 1024
MOST_PARTS = 2000
MOST_CELLS = 4_000_000
MEBIBYTE = 1024 * 1024

ENCRYPTED = b"\xd0\xcf\x11\xe0"
DONE_IN = "save it as .xlsx in a spreadsheet program and try again"

_UNREAD = (
    "media/",
    "drawings/",
    "charts/",
    "embeddings/",
    "externalLinks/",
    "printerSettings/",
    "comments",
    "vmlDrawing",
)
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_CELL = re.compile(r"\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6})")

Place = tuple[int, int]
"""Row and column of a cell, both counted from 0."""


@dataclass(slots=True)
class Cell:
    """One cell that holds something.

    Attributes:
        value: what was typed, or what is stored beside the formula; an error value is its text (`#N/A`).
        formula: the formula with its leading =, None where there is none.
        stored: whether a value is there at all.
    """

    value: CellValue = None
    formula: str | None = None
    stored: bool = False


@dataclass(slots=True)
class Content:
    """A workbook's cells and names.

    Attributes:
        sheets: cells by sheet name and place, in the order of the sheets; blank cells are absent.
        names: what each of the workbook's defined names points at, by its name in lower case.
        package: the file again, packed plainly and without the parts that hold no cells, for an engine.
        late_epoch: whether days are counted from 1904.
    """

    sheets: dict[str, dict[Place, Cell]] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    package: bytes = b""
    late_epoch: bool = False


def column_number(letters: str) -> int:
    """Number of a column from 0: A is 0, AA is 26."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1


def place_of(address: str) -> Place | None:
    """Place of an address (`C5`, `$C$5`), None when it is none."""
    found = _CELL.fullmatch(address)
    return (int(found[2]) - 1, column_number(found[1])) if found else None


def read_file(path: str | os.PathLike[str]) -> tuple[bytes, str]:
    """The bytes of a workbook file, and its name for messages.

    Raises:
        WorkbookError: there is no such file, it is none, it cannot be read, or it is too large.
    """
    file = os.fspath(path)
    shown = file if file.isprintable() else ascii(file)
    try:
        mode = os.stat(file).st_mode
        if stat.S_ISDIR(mode):
            raise WorkbookError("is a folder", file=shown, allowed="name a workbook file")
        if not stat.S_ISREG(mode):
            raise WorkbookError("is not a file", file=shown, allowed="name a workbook file")
        with Path(file).open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise WorkbookError("there is no such file", file=shown, allowed="name a workbook file") from None
    except (OSError, ValueError) as wrong:
        reason = wrong.strerror if isinstance(wrong, OSError) and wrong.strerror else str(wrong)
        raise WorkbookError(f"cannot be read: {reason}", file=shown) from None
    return data, shown


def read_cells(data: bytes, file: str) -> Content:
    """Read all cells of a workbook.

    Args:
        data: the whole .xlsx file.
        file: its name, for messages.

    Raises:
        WorkbookError: it is no .xlsx workbook, damaged, encrypted, or larger than allowed.
    """
    if len(data) > LARGEST_FILE:
        raise WorkbookError("is too large", file=file, allowed=f"at most {LARGEST_FILE // MEBIBYTE} MiB are read")
    if data.startswith(ENCRYPTED):
        raise WorkbookError("is encrypted, or an old .xls file", file=file, allowed=f"{DONE_IN}, without a password")
    if not data:
        raise WorkbookError("is empty", file=file)
    try:
        return _read(_unpack(data, file), file)
    except WorkbookError:
        raise
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, ElementTree.ParseError) as wrong:
        raise WorkbookError(
            f"is damaged, or no .xlsx workbook ({_reason(wrong)})", file=file, allowed=DONE_IN
        ) from wrong
    except RuntimeError as wrong:  # a part that asks for a password
        raise WorkbookError("is encrypted", file=file, allowed=f"{DONE_IN}, without a password") from wrong
    except (LookupError, ValueError, ArithmeticError) as wrong:
        raise WorkbookError("is damaged: a part of it cannot be read", file=file, allowed=DONE_IN) from wrong


def _reason(wrong: Exception) -> str:
    """An exception's text as a few words on one line."""
    return " ".join(str(wrong).split())[:80] or type(wrong).__name__


def _unpack(data: bytes, file: str) -> dict[str, bytes]:
    """The parts that hold cells, names and texts, each read whole and within the limits."""
    parts: dict[str, bytes] = {}
    left = LARGEST_UNPACKED
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        entries = package.infolist()
        if len(entries) > MOST_PARTS:
            raise WorkbookError(f"has {len(entries)} parts", file=file, allowed=f"at most {MOST_PARTS} are read")
        for entry in entries:
            name = entry.filename.lstrip("/")
            if entry.is_dir() or not name.endswith((".xml", ".rels")) or any(word in name for word in _UNREAD):
                continue
            left -= entry.file_size
            if left < 0:
                raise WorkbookError(
                    "is too large unpacked", file=file, allowed=f"at most {LARGEST_UNPACKED // MEBIBYTE} MiB are read"
                )
            parts[name] = package.read(entry)
            if b"<!DOCTYPE" in parts[name][:4096]:
                raise WorkbookError("declares a document type, which no workbook does", file=file)
    return parts


def _read(parts: dict[str, bytes], file: str) -> Content:
    """Cells and names from the unpacked parts."""
    main = _main_part(parts)
    if main not in parts:
        raise WorkbookError("is no .xlsx workbook", file=file, allowed=DONE_IN)
    found = Content(package=_pack(parts))
    book = ElementTree.fromstring(parts[main])
    targets = _targets(parts, main)
    texts: list[str] = []
    for kind, target in targets.values():
        if kind == "sharedStrings" and target in parts:
            texts = _texts(parts[target])
    cells = 0
    for element in book.iter():
        tag = _plain(element.tag)
        if tag == "workbookPr":
            found.late_epoch = element.get("date1904") in ("1", "true")
        elif tag == "definedName" and element.get("localSheetId") is None:
            found.names[element.get("name", "").lower()] = (element.text or "").strip()
        elif tag == "sheet":
            link = next((value for key, value in element.attrib.items() if key.endswith("}id")), "")
            kind, target = targets.get(link, ("", ""))
            if kind == "worksheet" and target in parts:
                sheet = found.sheets[element.get("name", "")] = {}
                for place, cell in _cells(parts[target], texts, MOST_CELLS - cells, file):
                    sheet[place] = cell
                cells += len(sheet)
    return found


def _main_part(parts: dict[str, bytes]) -> str:
    """Name of the part that lists the sheets."""
    for kind, target in _targets(parts, "").values():
        if kind == "officeDocument":
            return target
    return "xl/workbook.xml"


def _targets(parts: dict[str, bytes], part: str) -> dict[str, tuple[str, str]]:
    """What a part's relations point at: kind and part, by their id."""
    where = PurePosixPath(part)
    relations = str(where.parent / "_rels" / f"{where.name}.rels") if part else "_rels/.rels"
    found: dict[str, tuple[str, str]] = {}
    if relations not in parts:
        return found
    for relation in ElementTree.fromstring(parts[relations]):
        target = relation.get("Target", "")
        target = target[1:] if target.startswith("/") else os.path.normpath(where.parent / target).replace("\\", "/")
        found[relation.get("Id", "")] = (relation.get("Type", "").rpartition("/")[2], target)
    return found


def _pack(parts: dict[str, bytes]) -> bytes:
    """The parts in a plain package."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as package:
        for name, content in parts.items():
            package.writestr(name, content)
    return buffer.getvalue()


def _plain(tag: str) -> str:
    """An element's name without its namespace."""
    return tag.rpartition("}")[2]


def _text(element: Element) -> str:
    """The text of a string: its runs one after the other, without reading aids."""
    said: list[str] = []
    for child in element:
        tag = _plain(child.tag)
        if tag == "t":
            said.append(child.text or "")
        elif tag == "r":
            said += [part.text or "" for part in child if _plain(part.tag) == "t"]
    return _unescaped("".join(said))


def _unescaped(text: str) -> str:
    """A text with the format's spelling of control characters undone."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


def _texts(part: bytes) -> list[str]:
    """The texts that cells share."""
    texts: list[str] = []
    for _, element in ElementTree.iterparse(io.BytesIO(part)):
        if _plain(element.tag) == "si":
            texts.append(_text(element))
            element.clear()
    return texts


def _cells(part: bytes, texts: list[str], most: int, file: str) -> Iterator[tuple[Place, Cell]]:
    """The cells of a sheet that hold something."""
    shared: dict[str, tuple[str, str]] = {}
    row = column = -1
    seen = 0
    for event, element in ElementTree.iterparse(io.BytesIO(part), events=("start", "end")):
        tag = _plain(element.tag)
        if event == "start":
            if tag == "row":
                row, column = int(element.get("r", row + 2)) - 1, -1
            continue
        if tag == "row":
            element.clear()
        if tag != "c":
            continue
        seen += 1
        if seen > most:
            raise WorkbookError("has too many cells", file=file, allowed=f"at most {MOST_CELLS} are read")
        address = element.get("r", "")
        place = place_of(address) or (row, column + 1)
        row, column = place
        cell = _cell(element, address, texts, shared)
        element.clear()
        if cell is not None:
            yield place, cell


def _cell(element: Element, address: str, texts: list[str], shared: dict[str, tuple[str, str]]) -> Cell | None:
    """What one cell holds, None when it is blank."""
    kind = element.get("t", "n")
    cell = Cell()
    for child in element:
        tag = _plain(child.tag)
        if tag == "v" and (child.text or kind == "str"):
            cell.value, cell.stored = _value(kind, child.text or "", texts), True
        elif tag == "is":
            cell.value, cell.stored = _text(child), True
        elif tag == "f":
            cell.formula = _formula(child, address, shared)
    return cell if cell.stored or cell.formula is not None else None


def _value(kind: str, text: str, texts: list[str]) -> CellValue:
    """A value by the type its cell declares."""
    match kind:
        case "s":
            return texts[int(text)]
        case "b":
            return text.strip() in ("1", "true")
        case "n":
            number = float(text)
            if not math.isfinite(number):
                raise ValueError(text)
            return number
    return _unescaped(text)


def _formula(element: Element, address: str, shared: dict[str, tuple[str, str]]) -> str:
    """A cell's formula; one that several cells share is written out for this one."""
    text = element.text or ""
    number = element.get("si", "")
    if element.get("t") == "shared" and number:
        if text:
            shared[number] = (text, address)
        elif number in shared:
            from openpyxl.formula.translate import Translator  # only some programs share formulas

            first, origin = shared[number]
            return str(Translator("=" + first, origin).translate_formula(address))
    return "=" + _unescaped(text)
