"""Templates: what a sheet declares, read from TOML and refused where a key is unknown.

A template is data. This module gives it a shape and nothing else: places come from `layout`, dimensions are proved in
`prove`. The meaning of each key stands beside it below; DEVELOPERS.md tells the same story with examples.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from typing import Any, Literal, TypeVar

import msgspec

from .errors import TemplateError, unknown
from .shipped import TEMPLATES, home

EDITIONS = ("inch", "mm")

Edition = Literal["inch", "mm"]
OneEdition = Literal["", "inch", "mm"]
Scalar = str | int | float | bool
PerEdition = dict[Edition, Scalar]
Formula = str | dict[Edition, str]


class Declared(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """Base of all declarations: an unknown key is an error."""


class Section(Declared):
    """A heading on a sheet with lines of text under it; scalars and charts name the section they stand in."""

    name: str
    title: str = ""
    lines: list[str] = []
    caution: bool = False
    kinds: bool = False  # show a sample of each kind of cell here


class Constant(Declared):
    """A fixed value with a source, shown on its sheet and never typed over."""

    name: str
    label: str
    value: Scalar | PerEdition
    unit: str = "number"
    source: str = ""
    section: str = ""
    format: str = ""


class Input(Declared):
    """A typed cell."""

    name: str
    label: str
    unit: str = "number"
    default: Scalar | PerEdition | None = None
    from_job: str = ""
    minimum: Scalar | PerEdition | None = None
    maximum: Scalar | PerEdition | None = None
    choices: str | list[str] = ""
    source: str = ""
    note: str = ""
    section: str = ""
    format: str = ""
    locked: bool = False
    unconverted: bool = False  # in another edition than the job's the default is taken, as for a rounding step


class Result(Declared):
    """A computed cell. `needs` lists cells that must hold numbers, else the result stays blank."""

    name: str
    label: str
    formula: Formula
    unit: str = "number"
    method: str = ""
    source: str = ""
    note: str = ""
    section: str = ""
    format: str = ""
    needs: list[str] = []
    verdict: bool = False
    link: str = ""  # the sheet that its label leads to


class Column(Declared):
    """A column of a row table: typed (`typed`, `from_job`), counted (`count`) or computed (`formula`)."""

    name: str
    label: str
    unit: str = "number"
    formula: Formula = ""
    from_job: str = ""
    typed: bool = False
    by: list[str] = []  # job paths, one of which may be given by this column's kind ("by 45 deg")
    instead: dict[str, str] = {}  # formula for a typed cell whose job value is "by" another kind, or has this path
    count: bool = False
    choices: str | list[str] = ""
    choices_for: dict[str, str] = {}
    minimum: Scalar | PerEdition | None = None
    maximum: Scalar | PerEdition | None = None
    needs: list[str] = []
    always: bool = False  # computed also where the row's key is blank
    working: bool = False  # stands right of the printed columns
    lookup: bool = False  # looked up in a reference table: shown in italics
    verdict: bool = False
    band: str = ""
    format: str = ""
    width: float = 0
    method: str = ""
    source: str = ""
    note: str = ""
    edition: OneEdition = ""  # only in this edition
    fixed: list[Scalar] = []  # the rows' own values, for a table of fixed facts
    made: str = ""  # filled by the builder: a fact of a worked example or of a result


class Check(Declared):
    """A condition that must not hold, and what to say when it does. `say` starting with = is a formula."""

    when: str
    say: str
    needs: list[str] = []
    level: Literal["stop", "caution"] = "stop"  # stop: cannot be made; caution: may be made, look first
    counts_in: str = ""  # the sheet, or sheet.section, that shows how often this is said
    section: str = ""
    apart: str = ""  # a table's check that is told in a column of its own, because one formula holds only so much


class Table(Declared):
    """Rows of cells: from the job, a number of blank rows, or as many as other tables have."""

    name: str
    title: str
    column: list[Column]
    rows: str | int = 0
    as_many_as: list[str] = []
    blank: int = 0  # rows in a workbook built without a job
    spare: int = 0
    key: str = ""
    note: str = ""
    check: list[Check] = []
    section: str = ""
    message_width: float = 26.0
    filter: bool = False  # arrows in the heading that filter the rows; one table a sheet
    takes: str = ""  # path of job entries that fill its typed cells, found by `match`
    match: dict[str, str] = {}  # job path -> column: an entry belongs to the row where all of these are alike
    prints: int = 0  # rows that are printed; what stands below them stays on the screen
    lines: int = 1  # lines of text that a row has room for, where sentences come later
    seed: bool = False  # a thin locked row under the heading, for `above`
    edition: OneEdition = ""  # only in this edition


class Chart(Declared):
    """A drawing from cells. `each` true: a line of its own for each row, else one line through the rows."""

    class Series(Declared):
        """Columns that give the points. With `each`, x and y name the first and the last of neighbouring columns."""

        x: list[str]
        y: list[str]
        label: str = ""
        each: bool = False
        marks: bool = False
        dashed: bool = False
        colour: str = ""
        width: float = 1.75
        labels: str = ""
        table: str = ""  # another table than the chart's

    title: str
    table: str
    series: list[Series]
    section: str = ""
    wide: int = 640
    tall: int = 640
    x_range: list[float] = []
    y_range: list[float] = []
    axes: bool = False
    legend: bool = False


class Example(Declared):
    """A worked example with its published source; becomes a row of the workbook's check sheet and a test."""

    source: str
    expect: dict[str, Scalar]
    within: Scalar | PerEdition
    inputs: dict[str, Scalar] = {}
    table: str = ""
    edition: OneEdition = ""
    note: str = ""


class Macro(Declared):
    """A formula with parameters, written out wherever it is called."""

    takes: list[str]
    formula: Formula
    note: str = ""


class SheetTemplate(Declared):
    """One sheet."""

    schema: int
    title: str
    purpose: str = ""
    tab: str = ""
    landscape: bool = True
    cautions: list[str] = []
    section: list[Section] = []
    input: list[Input] = []
    constant: list[Constant] = []
    result: list[Result] = []
    check: list[Check] = []
    table: list[Table] = []
    chart: list[Chart] = []
    example: list[Example] = []
    macro: dict[str, Macro] = {}
    serves: str = ""  # the sheet that this one works for: it says so, and a print shows its heading alone
    made: str = ""  # "tables", "reference", "checks" or "method": filled by the builder
    tables: list[str] = []  # with made = "reference": the reference tables it shows whole
    name: str = ""  # set from the file's name
    file: str = ""


class WorkbookTemplate(Declared):
    """A workbook: its sheets in the order of the work."""

    schema: int
    title: str
    purpose: str
    sheets: list[str]
    macros: list[str] = []
    name: str = ""
    file: str = ""
    headline: str = ""  # the name shown at the top right of every other sheet
    describes_job: bool = False  # its typed cells are a job and nothing else: other workbooks are built from it
    page_header: dict[str, str] = {}  # word and job path, for the header of every printed page


class MacroFile(Declared):
    """A file of macros that several sheets share."""

    schema: int
    macro: dict[str, Macro]


AnyTemplate = TypeVar("AnyTemplate", SheetTemplate, WorkbookTemplate, MacroFile)


def read_toml(path: Traversable) -> dict[str, Any]:
    """The TOML of a file, or a TemplateError that names file and line."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as missing:
        raise TemplateError("there is no such template", file=path.name) from missing
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as broken:
        raise TemplateError(f"is not TOML: {broken}", file=path.name) from broken


def read_head(path: Traversable) -> dict[str, Any]:
    """The keys of a TOML file that stand above its first table; quick also where the file is long."""
    try:
        head, *_ = re.split(r"(?m)^\[", path.read_text(encoding="utf-8"), maxsplit=1)
        return tomllib.loads(head)
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError):
        return read_toml(path)


_UNKNOWN_FIELD = re.compile(r"unknown field `(?P<key>[^`]*)`")
_WHERE = re.compile(r" - at (?:`key` in )?`(?P<where>[^`]*)`")
_STEP = re.compile(r"\.(?P<key>\w+)|\[(?P<at>\d+|\.\.\.)\]")


def _shape_at(shape: type, where: str) -> type | None:
    """The declaration class that a decoder's path (`$.table[0].column[3]`) leads to."""
    current: Any = shape
    for step in _STEP.finditer(where):
        if not step["key"]:
            continue
        hints = {field.name: field.type for field in msgspec.structs.fields(current)}
        found = hints.get(step["key"])
        args = [a for a in getattr(found, "__args__", ()) if isinstance(a, type) and issubclass(a, msgspec.Struct)]
        if not args:
            return None
        current = args[-1]
    return current if isinstance(current, type) else None


def _spoken_place(data: Any, where: str) -> str:
    """A decoder's path in words: `$.table[0].column[3].unit` is "table trays, column form, unit"."""
    words: list[str] = []
    for step in _STEP.finditer(where):
        if step["key"]:
            words.append(step["key"])
            data = data.get(step["key"]) if isinstance(data, dict) else None
        elif step["at"].isdigit():
            data = data[int(step["at"])] if isinstance(data, list) else None
            named = (data.get("name") or data.get("title")) if isinstance(data, dict) else None
            words[-1] += f" {named or 'no. ' + str(int(step['at']) + 1)}"
    return ", ".join(words)


def decode(data: dict[str, Any], shape: type[AnyTemplate], file: str) -> AnyTemplate:
    """Give TOML data the shape of a declaration.

    Raises:
        TemplateError: an unknown key (with the nearest known one), a wrong type, another schema version.
    """
    try:
        template = msgspec.convert(data, shape)
    except msgspec.ValidationError as wrong:
        text = str(wrong)
        at = _WHERE.search(text)
        where = at["where"] if at else "$"
        place = _spoken_place(data, where)
        if found := _UNKNOWN_FIELD.search(text):
            owner = _shape_at(shape, where)
            known = [field.encode_name for field in msgspec.structs.fields(owner)] if owner else []
            raise TemplateError(
                f"unknown key {found['key']!r}", file=file, place=place, allowed=unknown(found["key"], known, "keys")
            ) from wrong
        problem = _WHERE.sub("", text).replace("`", "").replace("Object missing required field", "there is no")
        raise TemplateError(problem[:1].lower() + problem[1:], file=file, place=place) from wrong
    if template.schema != 1:
        raise TemplateError(
            f"schema {template.schema} is not known", file=file, allowed="this builder reads schema = 1"
        )
    return template


def sheet(data: dict[str, Any], name: str, file: str) -> SheetTemplate:
    """A sheet's template from TOML data; `name` is the namespace of its scalars."""
    template = decode(data, SheetTemplate, file)
    return msgspec.structs.replace(template, name=name, file=file, tab=template.tab or template.title)


class Shelf:
    """The templates there are: `workbooks/NAME.toml`, `sheets/NAME.toml`, and shared macro files.

    Args:
        folder: where they lie; the shipped ones by default.
    """

    def __init__(self, folder: Traversable | None = None) -> None:
        self.folder = folder if folder is not None else home(TEMPLATES)

    def names(self, kind: str) -> list[str]:
        """Names of the templates of one kind (`workbooks`, `sheets`), sorted."""
        place = self.folder / kind
        return sorted(entry.name[:-5] for entry in place.iterdir() if entry.name.endswith(".toml"))

    def heads(self, kind: str) -> dict[str, dict[str, Any]]:
        """The keys that stand above the first table of each template of one kind, without reading the rest."""
        return {name: read_head(self.folder / kind / f"{name}.toml") for name in self.names(kind)}

    def _file(self, kind: str, name: str) -> Traversable:
        if name not in (known := self.names(kind)):
            what = kind.rstrip("s")
            raise TemplateError(f"there is no {what} {name!r}", allowed=unknown(name, known, kind))
        return self.folder / kind / f"{name}.toml"

    def workbook(self, name: str) -> WorkbookTemplate:
        """A workbook's template by name."""
        path = self._file("workbooks", name)
        template = decode(read_toml(path), WorkbookTemplate, path.name)
        return msgspec.structs.replace(template, name=name, file=path.name)

    def sheet(self, name: str) -> SheetTemplate:
        """A sheet's template by name."""
        path = self._file("sheets", name)
        return sheet(read_toml(path), name, path.name)

    def macros(self, name: str) -> dict[str, Macro]:
        """The macros of a shared file."""
        path = self.folder / f"{name}.toml"
        return decode(read_toml(path), MacroFile, path.name).macro


@dataclass(frozen=True, slots=True)
class Case:
    """One expected value of one worked example."""

    template: SheetTemplate
    example: Example
    expected: str

    @property
    def full_name(self) -> str:
        """Dotted name of what is expected."""
        return f"{self.example.table or self.template.name}.{self.expected}"


def cases_of(templates: Sequence[SheetTemplate], edition: str) -> list[Case]:
    """Every expected value of an edition's examples, in the order of the sheets."""
    return [
        Case(template, example, expected)
        for template in templates
        for example in template.example
        if example.edition in ("", edition)
        for expected in example.expect
    ]


def for_edition(value: Any, edition: str) -> Any:
    """A value that may be given for each edition apart (`{ inch = …, mm = … }`)."""
    return value.get(edition) if isinstance(value, dict) else value
