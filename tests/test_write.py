"""The written file: what its XML holds, and what it must never hold."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from datetime import date
from functools import cache
from xml.etree import ElementTree

import pytest
from test_functions_agree import FUNCTIONS
from workshops import EDITIONS, bakery, bakery_job, built, job_of, parts_of
from xlsxwriter.exceptions import XlsxWriterException

from workbook_builder import style, write
from workbook_builder.book import Book, column_letters
from workbook_builder.errors import TemplateError
from workbook_builder.expression import Binary, Call, parse, walk
from workbook_builder.render import full_range
from workbook_builder.values import serial

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"

STATES = [
    (workbook, with_job, edition)
    for workbook in ("bakery", "bakehouse")
    for with_job in (False, True)
    for edition in EDITIONS
]


class Sheets:
    """The worksheets of a workbook's XML by name."""

    def __init__(self, content: bytes) -> None:
        self.parts = parts_of(content)
        relations = ElementTree.fromstring(self.parts["xl/_rels/workbook.xml.rels"])
        targets = {relation.get("Id", ""): relation.get("Target", "") for relation in relations}
        self.book = ElementTree.fromstring(self.parts["xl/workbook.xml"])
        self.elements = list(self.book.iter(f"{MAIN}sheet"))
        self.xml = {
            element.get("name", ""): ElementTree.fromstring(self.parts["xl/" + targets[element.get(REL, "")]])
            for element in self.elements
        }
        strings = ElementTree.fromstring(self.parts["xl/sharedStrings.xml"])
        self.strings = ["".join(part.text or "" for part in entry.iter(f"{MAIN}t")) for entry in strings]
        styles = ElementTree.fromstring(self.parts["xl/styles.xml"])
        formats = styles.find(f"{MAIN}cellXfs")
        assert formats is not None
        self.formats = list(formats)

    def cell(self, sheet: str, address: str) -> ElementTree.Element:
        """A cell's element."""
        return next(cell for cell in self.xml[sheet].iter(f"{MAIN}c") if cell.get("r") == address)

    def text(self, cell: ElementTree.Element) -> str | None:
        """A cell's text where it holds one that is no formula's."""
        value = cell.find(f"{MAIN}v")
        return self.strings[int(value.text or 0)] if value is not None and cell.get("t") == "s" else None

    def locked(self, cell: ElementTree.Element) -> bool:
        """Whether protection holds a cell."""
        protection = self.formats[int(cell.get("s", "0"))].find(f"{MAIN}protection")
        return protection is None or protection.get("locked") != "0"

    def formulas(self) -> Iterator[tuple[str, str, str]]:
        """Sheet, address and text of every formula."""
        for name, sheet in self.xml.items():
            for cell in sheet.iter(f"{MAIN}c"):
                formula = cell.find(f"{MAIN}f")
                if formula is not None:
                    yield name, cell.get("r", ""), formula.text or ""


@pytest.fixture(scope="module")
def filled() -> Sheets:
    return Sheets(built("bakehouse", True, "inch"))


@pytest.fixture(scope="module")
def blank() -> Sheets:
    return Sheets(built("bakehouse", False, "mm"))


@cache
def laid_out() -> Book:
    """The places of the filled workbook."""
    return bakery().lay_out("bakehouse", bakery_job(), "inch")


def cell_of(name: str, row: int = 0) -> str:
    """Address of a field's cell: C49."""
    field = laid_out().fields[name]
    return f"{column_letters(field.column)}{field.row + row + 1}"


def cells_of(name: str) -> str:
    """Address of all cells of a column: C49:C53."""
    return f"{cell_of(name)}:{cell_of(name, laid_out().fields[name].rows - 1)}"


def fixed(name: str) -> str:
    """Absolute address of all cells of a field with its sheet."""
    return full_range(laid_out().fields[name])


# -- text stays text ---------------------------------------------------------------------------------------------------


def test_text_from_a_job_never_becomes_a_formula(filled: Sheets) -> None:
    typed = ["=1+1", "-2", "@home", "+3", "1/2", "+43 call the miller", "@noon", "=Mill & Sons"]
    found = {
        text: cell
        for sheet in filled.xml.values()
        for cell in sheet.iter(f"{MAIN}c")
        if (text := filled.text(cell)) in typed
    }
    assert set(found) == set(typed)
    assert all(cell.find(f"{MAIN}f") is None and cell.get("t") == "s" for cell in found.values())


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "{=1}", "http://x.org", "mailto:a@b.c", "internal:Dough!A1", "'=1"]
)
def test_no_text_is_taken_for_something_else(text: str) -> None:
    job = job_of(
        f'schema = 1\n[bakery]\nname = "{text}"\nunits = "mm"\n'
        f'[[oven]]\nmark = "{text}"\n[[oven.tray]]\nnote = "{text}"\n'
    )
    sheets = Sheets(bakery().build("bakehouse", job, "mm"))
    assert sum(sheets.text(cell) == text for sheet in sheets.xml.values() for cell in sheet.iter(f"{MAIN}c")) >= 3
    assert not any("<hyperlink" in part for part in sheets.parts.values())


def test_a_header_says_the_job_and_no_code() -> None:
    name = "7 & 8 &P bakers" + "&" * 60
    job = job_of(f'schema = 1\n[bakery]\nname = "{name}"\nunits = "mm"\n[[oven]]\nmark = "A"\n')
    for sheet in Sheets(bakery().build("bakehouse", job, "mm")).xml.values():
        if (header := sheet.find(f"{MAIN}headerFooter/{MAIN}oddHeader")) is None:
            continue
        text = header.text or ""
        left, found, right = text.rpartition("&R&8 ")
        assert found and right == "&A" and left.startswith("&L&8 Bakery 7 && 8 &&P bakers")
        assert len(text) <= 255 and re.sub("&&", "", left.removeprefix("&L&8 ")).count("&") == 0


def test_a_long_name_leaves_no_half_code_in_the_header() -> None:
    for length in range(150, 230):
        told = write.escaped("x" * length + "&" * 40)
        assert len(told) <= write.LONGEST_HEADER and told.count("&") % 2 == 0


def test_a_size_of_letters_stands_apart_from_a_title_that_starts_with_a_digit(blank: Sheets) -> None:
    footers = [sheet.findtext(f"{MAIN}headerFooter/{MAIN}oddFooter") for sheet in blank.xml.values()]
    assert footers[:-1] == ["&L&8 3 ovens && a bakehouse&R&8 Page &P of &N"] * 7


def test_without_a_job_the_header_is_filled_in_by_hand(blank: Sheets) -> None:
    header = blank.xml["Dough"].findtext(f"{MAIN}headerFooter/{MAIN}oddHeader") or ""
    assert header.startswith("&L&8 Bakery ________   Day ________")


# -- what no workbook holds --------------------------------------------------------------------------------------------

VOLATILE = {"NOW", "TODAY", "RAND", "RANDBETWEEN", "OFFSET", "INDIRECT", "CELL", "INFO"}


@pytest.mark.parametrize(("workbook", "with_job", "edition"), STATES)
def test_formulas_are_plain(workbook: str, with_job: bool, edition: str) -> None:
    sheets = Sheets(built(workbook, with_job, edition))
    count = 0
    for _, _, text in sheets.formulas():
        count += 1
        assert (
            not text.startswith("=")
            and "[" not in text
            and "{" not in text
            and "_xl" not in text
            and "#REF" not in text
        )
        functions = {node.function for node in walk(parse(text)) if isinstance(node, Call)}
        assert functions <= FUNCTIONS and not functions & VOLATILE
        assert not any(isinstance(node, Binary) and node.operator == "%" for node in walk(parse(text)))
    assert count > 100


@pytest.mark.parametrize(("workbook", "with_job", "edition"), STATES)
def test_no_array_link_table_or_macro(workbook: str, with_job: bool, edition: str) -> None:
    parts = parts_of(built(workbook, with_job, edition))
    assert not [
        name
        for name in parts
        if re.search(r"externalLink|table|vbaProject|customXml|connections|metadata|queryTable", name)
    ]
    for name, text in parts.items():
        if name.startswith("xl/worksheets/") and name.endswith(".xml"):
            assert (
                't="array"' not in text and 't="shared"' not in text and "<tablePart" not in text and 'cm="' not in text
            )
            assert 't="e"' not in text, "no cell holds an error value"
        assert "TargetMode" not in text, "nothing outside the file is linked"


@pytest.mark.parametrize(("workbook", "with_job", "edition"), STATES)
def test_every_formula_has_its_value_stored(workbook: str, with_job: bool, edition: str) -> None:
    sheets = Sheets(built(workbook, with_job, edition))
    for name, sheet in sheets.xml.items():
        for cell in sheet.iter(f"{MAIN}c"):
            if cell.find(f"{MAIN}f") is not None:
                assert cell.find(f"{MAIN}v") is not None, (name, cell.get("r"))
                assert cell.get("t") in (None, "str", "b")


def test_creation_is_no_moment_of_today() -> None:
    parts = parts_of(built("bakery"))
    stamps = re.findall(r">(\d{4}-\d\d-\d\d)T", parts["docProps/core.xml"])
    assert stamps and set(stamps) == {"2000-01-01"}
    assert "<dc:creator></dc:creator>" in parts["docProps/core.xml"]


# -- protection, freezing, printing ------------------------------------------------------------------------------------


@pytest.mark.parametrize("with_job", [False, True])
def test_every_sheet_is_protected_without_a_password(with_job: bool) -> None:
    for name, sheet in Sheets(built("bakehouse", with_job, "inch")).xml.items():
        protection = sheet.find(f"{MAIN}sheetProtection")
        assert protection is not None and protection.get("sheet") == "1" and protection.get("password") is None, name
        if name != "Names":
            assert protection.get("formatColumns") == "0" and protection.get("formatRows") == "0"


def test_typed_cells_alone_are_unlocked() -> None:
    book = bakery().lay_out("bakehouse", None, "inch")
    sheets = Sheets(built("bakehouse", False, "inch"))
    typed = {
        (field.tab, f"{column_letters(field.column)}{row + 1}")
        for field in book.fields.values()
        if field.typed
        for row in range(field.row, field.last_row + 1)
    }
    unlocked = {
        (name, cell.get("r", ""))
        for name, sheet in sheets.xml.items()
        for cell in sheet.iter(f"{MAIN}c")
        if not sheets.locked(cell)
    }
    assert unlocked == typed and len(typed) > 60


def test_a_typed_cell_with_a_formula_of_the_job_may_be_typed_over(filled: Sheets) -> None:
    found = [
        (sheet, address)
        for sheet, address, text in filled.formulas()
        if "TAN(RADIANS(" in text and not filled.locked(filled.cell(sheet, address))
    ]
    assert found == [("Racks", cell_of("shelves.long", 4))]


def test_headings_are_frozen_and_repeated(filled: Sheets) -> None:
    for index, (name, sheet) in enumerate(filled.xml.items()):
        own = [place for place in laid_out().tables.values() if place.fields[0].tab == name and place.table is not None]
        pane = sheet.find(f"{MAIN}sheetViews/{MAIN}sheetView/{MAIN}pane")
        titles = [
            element.text
            for element in filled.book.iter(f"{MAIN}definedName")
            if element.get("name") == "_xlnm.Print_Titles" and element.get("localSheetId") == str(index)
        ]
        if len(own) != 1:
            assert titles == [] and pane is None
            continue
        assert pane is not None and pane.get("state") == "frozen" and pane.get("ySplit") == str(own[0].first)
        assert str(titles[0]).endswith(f"${own[0].header + 2}")


def test_no_sheet_starts_scrolled(filled: Sheets) -> None:
    views = [view for sheet in filled.xml.values() for view in sheet.iter(f"{MAIN}sheetView")]
    assert len(views) == len(filled.xml) and all(view.get("topLeftCell") is None for view in views)
    assert [view.get("tabSelected") for view in views] == ["1"] + [None] * (len(views) - 1)


@pytest.mark.parametrize(("edition", "paper"), [("inch", "1"), ("mm", "9")])
def test_prints_one_page_wide_in_landscape(edition: str, paper: str) -> None:
    sheets = Sheets(built("bakehouse", True, edition))
    for name, sheet in sheets.xml.items():
        if name == "Names":
            continue
        setup = sheet.find(f"{MAIN}pageSetup")
        fit = sheet.find(f"{MAIN}sheetPr/{MAIN}pageSetUpPr")
        assert setup is not None and fit is not None and fit.get("fitToPage") == "1"
        assert (setup.get("paperSize"), setup.get("orientation")) == (paper, "landscape")
        assert setup.get("fitToWidth") in (None, "1") and setup.get("fitToHeight") == "0"
    areas = [
        element.get("localSheetId")
        for element in sheets.book.iter(f"{MAIN}definedName")
        if element.get("name") == "_xlnm.Print_Area"
    ]
    assert sorted(str(area) for area in areas) == [*"0123456"]


def test_workings_are_not_printed(filled: Sheets) -> None:
    book = bakery().lay_out("bakehouse", None, "inch")
    for plan in book.sheets:
        area = next(
            element.text or ""
            for element in filled.book.iter(f"{MAIN}definedName")
            if element.get("name") == "_xlnm.Print_Area" and (element.text or "").startswith(plan.tab)
        )
        last = area.rpartition(":")[2].lstrip("$").partition("$")[0]
        assert last == column_letters(plan.printed - 1)


def test_one_sheet_is_hidden_and_tells_of_every_name(filled: Sheets) -> None:
    states = {element.get("name"): element.get("state") for element in filled.elements}
    assert {name for name, state in states.items() if state} == {"Names"} and states["Names"] == "hidden"
    told = {
        filled.text(cell) for cell in filled.xml["Names"].iter(f"{MAIN}c") if re.fullmatch(r"A\d+", cell.get("r", ""))
    }
    book = bakery().lay_out("bakehouse", None, "inch")
    assert {name for name, field in book.fields.items() if field.kind != "reference" or field.named} <= told


def test_every_field_has_a_defined_name(filled: Sheets) -> None:
    names = {element.get("name"): element.text for element in filled.book.iter(f"{MAIN}definedName")}
    for name in ("dough.flour", "rack.mark", "flour.price", "choice_lists.list_1"):
        assert names[laid_out().fields[name].defined_name] == fixed(name)
    assert re.fullmatch(r"'Racks'!\$A\$\d+:\$A\$\d+", str(names["rack_mark"])) and "table_flour_price" in names
    assert not any("#REF" in str(text) for text in names.values())


def test_a_scalars_formula_is_said_with_names(filled: Sheets) -> None:
    said = {(sheet, address): text for sheet, address, text in filled.formulas()}
    assert said["Dough", cell_of("dough.flour")] == "dough_loaf_mass*dough_loaves/(1+dough_water_share)"
    shelves, long, weight = (cell_of(f"rack.{name}") for name in ("shelves", "long", "weight"))
    assert said["Racks", cell_of("rack.iron")] == (
        f'IF(COUNT({shelves},{long},{weight})<3,"",{shelves}*{long}*{weight}/12)'
    )


# -- drop-downs and limits ---------------------------------------------------------------------------------------------


def rules(sheets: Sheets, sheet: str) -> dict[str, ElementTree.Element]:
    """The data validations of a sheet by their cells."""
    return {rule.get("sqref", ""): rule for rule in sheets.xml[sheet].iter(f"{MAIN}dataValidation")}


def first(rule: ElementTree.Element) -> str:
    """A validation's first formula."""
    return rule.findtext(f"{MAIN}formula1") or ""


def test_drop_downs_point_at_ranges(filled: Sheets) -> None:
    every = [rule for name in filled.xml for rule in rules(filled, name).values() if rule.get("type") == "list"]
    assert len(every) == 5
    for rule in every:
        assert re.fullmatch(r"'(Names|Lists)'!\$[A-Z]+\$\d+:\$[A-Z]+\$\d+|INDEX\(.*\):INDEX\(.*\)", first(rule)), first(
            rule
        )
        assert rule.get("errorStyle") == "warning" and rule.get("allowBlank") == "1"
    own = filled.xml["Names"]
    crust = re.fullmatch(
        r"'Names'!\$([A-Z]+)\$(\d+):\$\1\$(\d+)", first(rules(filled, "Today")[cell_of("today.crust")])
    )
    assert crust is not None
    listed = [
        filled.text(cell)
        for row in (crust[2], crust[3])
        for cell in own.iter(f"{MAIN}c")
        if cell.get("r") == crust[1] + row
    ]
    assert listed == ["thin", "thick"]


def test_a_drop_down_that_depends_on_the_cell_beside_it(filled: Sheets) -> None:
    rule = rules(filled, "Ovens")[cells_of("trays.grade")]
    grades, grains, chosen = fixed("flour.grade"), fixed("flour.grain"), cell_of("trays.grain")
    start = f"MATCH(${chosen},{grains},0)"
    assert first(rule) == f"INDEX({grades},{start}):INDEX({grades},{start}+COUNTIF({grains},${chosen})-1)"
    test = f"SUMPRODUCT(({grades}={cell_of('trays.grade')})*({grains}={chosen}))=0"
    assert any(sheet == "Ovens" and test in text for sheet, _, text in filled.formulas())


def test_limits_are_in_the_editions_unit(filled: Sheets, blank: Sheets) -> None:
    for sheets, most in ((filled, 60.0), (blank, 1500.0)):
        rule = next(rule for cells, rule in rules(sheets, "Racks").items() if cells.startswith(cell_of("rack.long")))
        assert (rule.get("type"), rule.get("operator")) == ("decimal", None)  # between
        assert float(first(rule)) == 0 and float(rule.findtext(f"{MAIN}formula2") or "") == most
    day = rules(filled, "Today")[cell_of("today.day")]
    assert float(first(day)) == serial(date(2000, 1, 1)) and float(day.findtext(f"{MAIN}formula2") or "") == serial(
        date(2199, 12, 31)
    )
    assert "0 in or more" in str(rules(filled, "Ovens")[cells_of("trays.long_side")].get("error"))


# -- looks -------------------------------------------------------------------------------------------------------------


def test_the_four_kinds_are_told_apart_without_colour() -> None:
    book = bakery().lay_out("bakehouse", None, "inch")
    looks = {
        name: style.cell_look(book.fields[name], "inch")
        for name in ("rack.long", "rack.iron", "trays.flour_price", "rack.verdict")
    }
    typed, computed, looked_up, verdict = looks.values()
    assert typed["border"] == 1 and typed["locked"] is False
    assert "border" not in computed and "locked" not in computed and "italic" not in computed
    assert looked_up["italic"] and verdict["bold"]


def test_typed_columns_carry_the_pencil(filled: Sheets) -> None:
    heads = {filled.text(cell) for cell in filled.xml["Racks"].iter(f"{MAIN}c")}
    assert {"✎ Mark", "✎ Long", "Iron", "Rise"} <= heads and "✎ Iron" not in heads


def test_a_formulas_text_is_no_text_format() -> None:
    """A formula in a cell of text format turns into its own text when somebody edits it."""
    book = bakery().lay_out("bakehouse", None, "inch")
    for field in book.fields.values():
        if field.formula:
            assert style.number_format(field, "inch") != "@", field.name
    assert style.number_format(book.fields["rack.mark"], "inch") == "@"


@pytest.mark.parametrize(
    ("name", "inch", "mm"),
    [("rack.long", "# ??/??", "0.##"), ("rack.iron", "0.0", "0.0"), ("today.day", "yyyy-mm-dd", "yyyy-mm-dd")],
)
def test_number_formats_go_by_kind_and_edition(name: str, inch: str, mm: str) -> None:
    for edition, expected in (("inch", inch), ("mm", mm)):
        book = bakery().lay_out("bakehouse", None, edition)
        assert style.number_format(book.fields[name], edition) == expected


def test_values_from_memory_carry_a_dagger(filled: Sheets) -> None:
    """The number stays a number: the sign is in its format."""
    xml = filled.parts["xl/styles.xml"]
    assert "†" in xml
    cells = [filled.cell("Lists", cell_of("flour.price", row)) for row in range(3)]
    assert all(cell.get("t") is None for cell in cells)
    assert cells[0].get("s") != cells[1].get("s") == cells[2].get("s")


def test_verdicts_are_coloured_second(filled: Sheets) -> None:
    xml = ElementTree.tostring(filled.xml["Racks"], encoding="unicode")
    assert all(f'"{mark}"' in xml.replace("&quot;", '"') for mark in "✓✗…")


# -- charts ------------------------------------------------------------------------------------------------------------


def test_charts_draw_lines_from_cells(filled: Sheets) -> None:
    one, other = filled.parts["xl/charts/chart1.xml"], filled.parts["xl/charts/chart2.xml"]
    assert one.count("<c:ser>") == 4  # a line of its own for each row
    drawing = laid_out().tables["drawing"]
    for row in (drawing.first + 1, drawing.first + drawing.rows):
        assert f"'Ovens'!$A${row}:$B${row}" in one and f"'Ovens'!$C${row}:$D${row}" in one
    assert other.count("<c:ser>") == 1 + 20
    assert fixed("places.x") in other and "<c:legend>" in other and "<c:legend>" not in one
    assert fixed("places.tray").partition(":")[0] in other  # a line's live name


def test_a_drawing_has_one_scale(filled: Sheets) -> None:
    one = filled.parts["xl/charts/chart1.xml"]
    layout = re.search(r'<c:layoutTarget val="inner"/>.*?<c:w val="([\d.]+)"/><c:h val="([\d.]+)"/>', one, re.DOTALL)
    assert layout is not None
    assert float(layout[1]) * 640 == pytest.approx(float(layout[2]) * 640, rel=1e-3)
    assert [float(value) for value in re.findall(r'<c:(?:max|min) val="([\d.]+)"/>', one)] == [1.0, 0.0, 1.0, 0.0]


# -- a warning is an error ---------------------------------------------------------------------------------------------


def test_a_warning_of_the_writer_stops_the_build(monkeypatch: pytest.MonkeyPatch) -> None:
    def warned(*_: object, **__: object) -> int:
        warnings.warn("name dropped", stacklevel=2)
        return 0

    monkeypatch.setattr("xlsxwriter.workbook.Workbook.define_name", warned)
    with pytest.raises(TemplateError, match=r"bakery\.toml: the workbook cannot be written: name dropped"):
        bakery().build("bakery", None, "inch")


def test_a_name_that_is_refused_stops_the_build(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("xlsxwriter.workbook.Workbook.define_name", lambda *_: -1)
    with pytest.raises(TemplateError, match="the workbook refuses the name"):
        bakery().build("bakery", None, "inch")


def test_a_failure_of_the_writer_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def failed(*_: object, **__: object) -> None:
        raise XlsxWriterException("the chart is empty")

    monkeypatch.setattr("xlsxwriter.workbook.Workbook.close", failed)
    with pytest.raises(TemplateError, match=r"bakery\.toml: the workbook cannot be written: the chart is empty"):
        bakery().build("bakery", None, "inch")


def test_building_warns_of_nothing() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        bakery().build("bakehouse", None, "mm")
