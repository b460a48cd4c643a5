"""Reading back: what was typed into a workbook and what its formulas give, by name, from the file alone.

The defined names say where everything stands, the hidden sheet what it is. All formulas are computed anew from what was
typed, whatever values the file stores beside them; a formula that is not the one built is a finding.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import formualizer

from .book import HIDDEN_HEAD, HIDDEN_TAB, SCHEMA, CellValue, column_letters
from .cells import Cell, Content, Place, place_of, read_cells, read_file
from .errors import InputError, WorkbookError
from .expression import ADDRESS
from .fingerprint import VALUES, fingerprint, fingerprint_of_values, shape

Json = float | int | str | bool | None

SCALARS = ("input", "constant", "result", "check")
"""Kinds of single cells; `check` is one that the builder put beside or below what it tests."""

DATE = "date"
LONGEST_FORMULA = 8192
TOLERANCE = 1e-9
DAY_ZERO, LATE_DAY_ZERO = datetime(1899, 12, 30), datetime(1904, 1, 1)
ERRORS = {
    "Div": "#DIV/0!",
    "Na": "#N/A",
    "Name": "#NAME?",
    "Null": "#NULL!",
    "Num": "#NUM!",
    "Ref": "#REF!",
    "Value": "#VALUE!",
}


@dataclass(slots=True)
class Named:
    """A name of the workbook: what the hidden sheet tells of it, and where it stands now.

    Attributes:
        name: dotted, as templates say it; "" for a stretch of cells without a name.
        kind: input, constant, result, check, column, reference, list, or cells.
        prints: fingerprints: one of its formula or values, or one for each row; none for a typed cell.
        tab, row, column: its first cell, 0-based.
        across: how many cells beside one another (stretches without a name).
        job: the job path that its cells hold.
        formulas: row offsets of typed cells that hold a formula.
    """

    name: str
    kind: str
    unit: str
    unit_kind: str
    rows: int
    table: str
    key: str
    typed: bool
    prints: list[str]
    working: bool
    label: str
    tab: str
    row: int
    column: int
    across: int = 1
    job: str = ""
    formulas: set[int] = field(default_factory=set)

    @property
    def short(self) -> str:
        """The name inside its sheet or table."""
        return self.name.partition(".")[2]

    def places(self) -> Iterator[Place]:
        """Its cells, row by row."""
        for row in range(self.row, self.row + self.rows):
            for column in range(self.column, self.column + self.across):
                yield row, column


@dataclass(frozen=True, slots=True)
class Difference:
    """A cell whose stored value is not what its formula gives.

    Attributes:
        cell: its sheet and address.
        name: its name, "" where it has none.
        stored: the value in the file, None where there is none.
        found: the value computed.
    """

    cell: str
    name: str
    stored: CellValue
    found: CellValue

    def __str__(self) -> str:
        who = f"{self.cell} ({self.name})" if self.name else self.cell
        return f"{who} stores {_spoken(self.stored)}, its formula gives {_spoken(self.found)}"


@dataclass(slots=True)
class Reading:
    """What a workbook says.

    Attributes:
        file: its name.
        workbook: the template that it was built from.
        edition: inch or mm.
        names: every name that has a value, in the order of the sheets.
        values: by full name, the value of each row (of the one cell).
        findings: one sentence for each cell that is not as it was built.
        stale: cells whose stored value is another than their formula gives.
        missing: cells without a stored value although their formula gives one.
        errors: names of cells whose formula gives an error value.
    """

    file: str
    workbook: str
    edition: str
    names: list[Named] = field(default_factory=list)
    values: dict[str, list[Json]] = field(default_factory=dict)
    findings: list[str] = field(default_factory=list)
    stale: list[Difference] = field(default_factory=list)
    missing: list[Difference] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    @property
    def units(self) -> dict[str, str]:
        """Units by full name, where there is one; dates are text and have none."""
        return {one.name: one.unit for one in self.names if one.unit and one.unit_kind != DATE}

    @property
    def scalars(self) -> list[Named]:
        """Names of single cells."""
        return [one for one in self.names if not one.table]

    @property
    def tables(self) -> dict[str, list[Named]]:
        """Columns by table."""
        found: dict[str, list[Named]] = {}
        for one in self.names:
            if one.table:
                found.setdefault(one.table, []).append(one)
        return found

    def rows(self, table: str) -> list[dict[str, Json]]:
        """Rows of a table whose key is filled (all rows of a table without key), each with its number from 1."""
        columns = self.tables.get(table, [])
        if not columns:
            return []
        keys = self.values.get(f"{table}.{columns[0].key}") if columns[0].key else None
        found: list[dict[str, Json]] = []
        for at in range(max(one.rows for one in columns)):
            if keys is None or (at < len(keys) and keys[at] is not None):
                line: dict[str, Json] = {"row": at + 1}
                found.append(line | {one.short: self.values[one.name][at] for one in columns if at < one.rows})
        return found

    def cells(self) -> dict[str, Any]:
        """Where each value stands: an address by name, and for each row of a table an address by column."""
        found: dict[str, Any] = {one.name: cell_text(one.tab, one.row, one.column) for one in self.scalars}
        for table, columns in self.tables.items():
            found[table] = [
                {one.short: cell_text(one.tab, one.row + at, one.column) for one in columns if at < one.rows}
                for at in range(max(one.rows for one in columns))
            ]
        return found

    def as_json(self, cells: bool = False) -> dict[str, Any]:
        """The reading as plain data; with `cells` also where each value stands, blank rows included."""
        values: dict[str, Any] = {one.name: self.values[one.name][0] for one in self.scalars}
        values |= {table: self.rows(table) for table in self.tables}
        told: dict[str, Any] = {
            "workbook": self.workbook,
            "edition": self.edition,
            "units": self.units,
            "values": values,
        }
        return told | {"cells": self.cells()} if cells else told


def cell_text(tab: str, row: int, column: int) -> str:
    """A cell as people write it: the sheet in quotes where its name needs them, then the address."""
    sheet = tab if tab.isidentifier() else "'" + tab.replace("'", "''") + "'"
    return f"{sheet}!{column_letters(column)}{row + 1}"


def read_workbook(path: str | Path) -> Reading:
    """Read a workbook file; see `read`."""
    return read(*read_file(path))


def read(data: bytes, file: str) -> Reading:
    """Read a workbook back.

    Args:
        data: the whole .xlsx file, as any spreadsheet program saved it.
        file: its name, for messages.

    Raises:
        WorkbookError: it is damaged, encrypted, too large, no .xlsx file, or was not built by this package.
    """
    content = read_cells(data, file)
    head, lines = _hidden(content, file)
    reading = Reading(file, head["workbook"], head["edition"])
    every = [_place(line, content, reading.findings, file) for line in lines]
    _check(every, content, reading.findings)
    engine = _engine(content, file)
    owners = {(one.tab, *place): one for one in every if one.name for place in one.places()}
    computed = _compute(engine, content)
    for (tab, row, column), value in computed.items():
        _compare(content.sheets[tab][row, column], value, tab, (row, column), owners.get((tab, row, column)), reading)
    epoch = LATE_DAY_ZERO if content.late_epoch else DAY_ZERO
    for one in every:
        if one.kind in SCALARS or one.kind == "column":
            reading.names.append(one)
            cells = content.sheets.get(one.tab, {})
            if one.typed:
                one.formulas = {at for at, place in enumerate(one.places()) if place in cells and cells[place].formula}
            reading.values[one.name] = [
                _plain(computed.get((one.tab, *place), cells[place].value if place in cells else None), one, epoch)
                for place in one.places()
            ]
    return reading


# -- the hidden sheet ------------------------------------------------------------------------------------------------


def _hidden(content: Content, file: str) -> tuple[dict[str, str], list[dict[str, CellValue]]]:
    """What the hidden sheet says: the workbook's head, and a line for each name."""
    foreign = WorkbookError(
        f"was not built by this package: it has no sheet {HIDDEN_TAB!r} that tells of its names", file=file,
        allowed="only workbooks that `build` wrote, or copies of them, can be read back",
    )  # fmt: skip
    sheet = content.sheets.get(HIDDEN_TAB)
    if not sheet:
        raise foreign

    def said(row: int, column: int) -> CellValue:
        cell = sheet.get((row, column))
        return cell.value if cell else None

    head = {str(said(0, column)): said(0, column + 1) for column in (0, 2, 4)}
    columns = {str(said(1, column)): column for column in range(64)}
    if set(head) != {"schema", "edition", "workbook"} or not {"name", "kind", "cell"} <= columns.keys():
        raise foreign
    if head["schema"] != SCHEMA:
        raise WorkbookError(
            f"was built with schema {_spoken(head['schema'])}", file=file, allowed=f"this version reads schema {SCHEMA}"
        )
    rows = sorted({row for row, column in sheet if row > 1 and column == columns["kind"]})
    lines = [{word: said(row, columns[word]) for word in HIDDEN_HEAD if word in columns} for row in rows]
    return {word: str(value) for word, value in head.items()}, lines


def _whole(value: CellValue) -> int:
    """A number of the hidden sheet, at least 0."""
    return max(0, int(value)) if isinstance(value, (int, float)) and abs(value) < 2**20 else 0


def _area(text: str) -> tuple[str, Place, Place] | None:
    """Sheet, first and last cell of an address; None when it is no plain one."""
    found = ADDRESS.match(text)
    if not found or not found["sheet"]:
        return None
    first = place_of(found["first"])
    last = place_of(found["last"]) if found["last"] else first
    tab = found["sheet"].removesuffix("!").strip("'").replace("''", "'")
    return (tab, first, last) if first and last and first <= last else None


def _place(line: dict[str, CellValue], content: Content, findings: list[str], file: str) -> Named:
    """A name with its place: where the defined name points, or where it was built when that is gone."""
    words = {word: str(line.get(word) or "") for word in HIDDEN_HEAD}
    name, defined = words["name"], words["defined"].lower()
    built = _area(words["cell"])
    if built is None:
        raise WorkbookError(f"is damaged: the sheet {HIDDEN_TAB!r} has no place for {name!r}", file=file)
    now = _area(content.names.get(defined, "")) if name else built
    if now is None:
        findings.append(f"{_area_text(built)} ({name}): the workbook's name {defined} is gone or points at no cell")
    elif now != built:
        findings.append(f"{_area_text(now)} ({name}): the workbook's name {defined} pointed at {_area_text(built)}")
    tab, first, last = now or built
    rows, across = last[0] - first[0] + 1, last[1] - first[1] + 1
    if name and (across != 1 or rows != _whole(line.get("rows"))):
        tab, first, last = built
        rows, across = last[0] - first[0] + 1, last[1] - first[1] + 1
    return Named(
        name, words["kind"], words["unit"], words["unit_kind"], rows, words["table"], words["key"],
        bool(line.get("typed")), words["fingerprint"].split(), bool(line.get("working")), words["label"],
        tab, *first, across, words["job"],
    )  # fmt: skip


def _area_text(area: tuple[str, Place, Place]) -> str:
    """An area as people write it."""
    tab, first, last = area
    text = cell_text(tab, *first)
    return text if first == last else f"{text}:{column_letters(last[1])}{last[0] + 1}"


# -- altered cells ---------------------------------------------------------------------------------------------------


class _Prints:
    """Fingerprints of the formulas of one workbook; formulas of one shape are parsed once."""

    def __init__(self, names: dict[str, str]) -> None:
        self.names = names
        self.known: dict[tuple[str, str], str] = {}

    def of(self, formula: str, tab: str, row: int) -> str:
        """Fingerprint of a formula, "" when it cannot be read as one."""
        key = (tab, shape(formula, row))
        if key not in self.known:
            try:
                self.known[key] = fingerprint(formula, tab, row, self.names)
            except (InputError, RecursionError):
                self.known[key] = ""
        return self.known[key]


def _check(every: Sequence[Named], content: Content, findings: list[str]) -> None:
    """Compare every locked cell with the one built."""
    prints = _Prints(content.names)
    for one in every:
        cells = content.sheets.get(one.tab, {})
        if one.name and one.prints and one.prints[0].startswith(VALUES):
            _check_values(one, cells, findings)
            continue
        for at, place in enumerate(one.places() if one.prints else ()):
            built = one.prints[at if len(one.prints) > at > 0 else 0]
            if said := _altered(cells.get(place), built, one.tab, place, prints):
                row = f", row {at + 1}" if one.rows > 1 else ""
                who = f" ({one.name}{row})" if one.name else ""
                findings.append(f"{cell_text(one.tab, *place)}{who}: {said}")


def _check_values(one: Named, cells: dict[Place, Cell], findings: list[str]) -> None:
    """Compare fixed values with those built; they have one fingerprint together."""
    held = [cells.get(place, Cell()) for place in one.places()]
    if [fingerprint_of_values([cell.value for cell in held])] == one.prints and not any(cell.formula for cell in held):
        return
    area = _area_text((one.tab, (one.row, one.column), (one.row + one.rows - 1, one.column)))
    findings.append(f"{area} ({one.name}): {'the value is' if one.rows == 1 else 'the values are'} not as built")


def _altered(cell: Cell | None, built: str, tab: str, place: Place, prints: _Prints) -> str:
    """What is wrong with a cell that should hold what was built, "" when it does."""
    if cell is not None and cell.formula is not None:
        return "" if prints.of(cell.formula, tab, place[0]) == built else "the formula is not the one built"
    value = cell.value if cell else None
    if built.startswith(VALUES):
        return "" if fingerprint_of_values([value]) == built else "the value is not as built"
    return "the formula is gone" if value in (None, "") else f"the formula is replaced by {_spoken(value)}"


# -- computing -------------------------------------------------------------------------------------------------------


def _engine(content: Content, file: str) -> Any:
    """The workbook in an engine, computed."""
    for tab, cells in content.sheets.items():
        for place, cell in cells.items():
            if cell.formula is not None and len(cell.formula) > LONGEST_FORMULA:
                raise WorkbookError(
                    f"a formula has {len(cell.formula)} characters", file=file, place=cell_text(tab, *place),
                    allowed=f"at most {LONGEST_FORMULA}",
                )  # fmt: skip
    try:
        engine = formualizer.Workbook.from_bytes(content.package)
        engine.set_temporal_egress("serial")
        engine.evaluate_all()
    except Exception as wrong:  # the engine has several exception classes; all mean the same to a reader
        reason = " ".join(str(wrong).split())[:120]
        raise WorkbookError(f"cannot be computed: {reason}", file=file) from wrong
    return engine


def _compute(engine: Any, content: Content) -> dict[tuple[str, int, int], CellValue]:
    """What every formula of the workbook gives."""
    known = set(engine.sheet_names)
    found: dict[tuple[str, int, int], CellValue] = {}
    for tab, cells in content.sheets.items():
        if tab not in known:
            continue
        columns: dict[int, list[int]] = {}
        for (row, column), cell in cells.items():
            if cell.formula is not None:
                columns.setdefault(column, []).append(row)
        sheet = engine.sheet(tab)
        for column, rows in columns.items():
            first, last = min(rows), max(rows)
            if last - first < 4 * len(rows) + 1000:
                area = formualizer.RangeAddress(tab, first + 1, column + 1, last + 1, column + 1)
                values = [line[0] for line in sheet.get_values(area)]
                found |= {(tab, row, column): _answer(values[row - first]) for row in rows}
            else:
                found |= {(tab, row, column): _answer(engine.get_value(tab, row + 1, column + 1)) for row in rows}
    return found


def _answer(value: Any) -> CellValue:
    """An engine's answer as a cell holds it; an error value is its text."""
    if isinstance(value, dict):
        kind = str(value.get("kind", "Value"))
        return ERRORS.get(kind, f"#{kind.upper()}!")
    if value is None or isinstance(value, (bool, str)):
        return value
    number = float(value)
    return number if math.isfinite(number) else ERRORS["Num"]


def _compare(cell: Cell, found: CellValue, tab: str, place: Place, owner: Named | None, reading: Reading) -> None:
    """Note where a stored value is missing or stale, and where a formula gives an error value."""
    address = cell_text(tab, *place)
    row = f", row {place[0] - owner.row + 1}" if owner and owner.rows > 1 else ""
    name = f"{owner.name}{row}" if owner else ""
    if isinstance(found, str) and found.startswith("#") and found.endswith(("!", "?", "/A")):
        reading.errors.append(f"{address} ({name}) gives {found}" if name else f"{address} gives {found}")
    if not cell.stored:
        if found not in (None, ""):
            reading.missing.append(Difference(address, name, None, found))
    elif not _same(cell.value, found):
        reading.stale.append(Difference(address, name, cell.value, found))


def _same(stored: CellValue, found: CellValue) -> bool:
    """Whether a stored value is what the formula gives."""
    if stored in (None, "") or found in (None, ""):
        return stored in (None, "") and found in (None, "")
    if isinstance(stored, (str, bool)) or isinstance(found, (str, bool)):
        return type(stored) is type(found) and stored == found
    assert stored is not None and found is not None
    return abs(stored - found) <= TOLERANCE * max(1.0, abs(found))


# -- values ----------------------------------------------------------------------------------------------------------


def _plain(value: CellValue, one: Named, epoch: datetime) -> Json:
    """A cell's value as plain data: blanks as None, dates as text, whole numbers without decimals."""
    if value is None or value == "":
        return None
    if isinstance(value, (str, bool)):
        return value
    if one.unit_kind == DATE and 0 < value < 2_900_000:
        day = epoch + timedelta(days=value)
        return day.date().isoformat() if value == int(value) else day.isoformat(timespec="seconds")
    return int(value) if value == int(value) and abs(value) < 2**53 else value


def _spoken(value: CellValue) -> str:
    """A value as a sentence says it."""
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, str):
        return repr(value if len(value) <= 40 else value[:39] + "…")
    return f"{value:.10g}"
