"""Reading workbooks back: after building, after other programs saved them, altered, damaged and foreign ones.

The workbook is a bakery's: reading knows no trade.
"""

from __future__ import annotations

import io
import json
import re
import shutil
import zipfile
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

import engines
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from workbook_builder import cells
from workbook_builder.book import HIDDEN_COLUMNS, column_letters
from workbook_builder.build import Workshop
from workbook_builder.cells import LARGEST_FILE, read_cells
from workbook_builder.errors import WorkbookError
from workbook_builder.read import Reading, read, read_workbook

LIST = column_letters(HIDDEN_COLUMNS + 2)
"""Column of the hidden sheet that holds the first drop-down list."""

BAKERY = Path(__file__).parent / "bakery"


def build(templates: Path = BAKERY / "templates", edition: str = "inch") -> bytes:
    return Workshop(templates, BAKERY / "tables").build("bakery", None, edition)


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("read") / "blank.xlsx"
    path.write_bytes(build())
    return path


TRAYS: list[dict[str, engines.Typed]] = [
    {"tray": "T1", "long_side": 10, "form": "square", "grain": "rye", "grade": "fine"},
    {"tray": "T2", "long_side": 30.5, "form": "round"},
    {"tray": "=1+1", "form": "square"},
]


def place(reading: Reading, name: str, row: int = 1) -> engines.Cell:
    """Sheet and address of a scalar, or of a row of a column."""
    cells = reading.cells()
    table, _, column = name.partition(".")
    said = cells[name] if name in cells else cells[table][row - 1][column]
    sheet, _, address = said.rpartition("!")
    return sheet.strip("'").replace("''", "'"), address


@pytest.fixture(scope="module")
def filled(blank: Path) -> Path:
    """Readings typed in by editing the file's XML, so that every stored value is stale."""
    reading = read_workbook(blank)
    typed: dict[engines.Cell, engines.Typed] = {place(reading, "dough.loaves"): 20}
    for row, line in enumerate(TRAYS, 1):
        for column, value in line.items():
            typed[place(reading, f"trays.{column}", row)] = value
    return engines.type_into(blank, blank.with_name("filled.xlsx"), typed)


def told(reading: Reading) -> dict[str, Any]:
    return reading.as_json(cells=True)


# -- what is read ------------------------------------------------------------------------------------------------------


def test_blank_workbook(blank: Path) -> None:
    reading = read_workbook(blank)
    data = reading.as_json()
    assert list(data) == ["workbook", "edition", "units", "values"]
    assert (data["workbook"], data["edition"]) == ("bakery", "inch")
    assert data["units"]["trays.long_side"] == "in" and "dough.loaves" not in data["units"]
    assert data["values"]["dough.loaf_mass"] == 2 and data["values"]["dough.flour"] == pytest.approx(24 / 1.7)
    assert data["values"]["trays"] == [] and data["values"]["queue"] == []
    assert len(data["values"]["drawing"]) == 4, "a table without key shows every row"
    assert not any(name.startswith(("choice_lists", "flour", "dough_limits")) for name in data["values"])
    assert (reading.findings, reading.stale, reading.missing, reading.errors) == ([], [], [], [])


def test_values_are_computed_from_what_was_typed(filled: Path) -> None:
    values = read_workbook(filled).as_json()["values"]
    assert values["dough.flour"] == pytest.approx(40 / 1.7)
    first, second, third = values["trays"]
    assert (first["row"], first["tray"], first["surface"], first["running"]) == (1, "T1", 100, 10)
    assert (second["running"], second["step_down"], second["verdict"]) == (40.5, 20.5, "✗ too long")
    assert second["stops"] == "Longer than the door. " and second["grain"] is None
    assert third["tray"] == "=1+1" and third["long_side"] is None and third["surface"] is None
    assert [row["tray"] for row in values["queue"]] == ["T1", "T2"]
    assert values["ovens.too_long"] == 1
    json.dumps(values, allow_nan=False)


def test_a_row_is_there_when_its_key_is_filled(blank: Path, tmp_path: Path) -> None:
    reading = read_workbook(blank)
    typed: dict[engines.Cell, engines.Typed] = {
        place(reading, "trays.tray", 3): "T3",
        place(reading, "trays.long_side", 5): 4,
    }
    after = read_workbook(engines.type_into(blank, tmp_path / "gap.xlsx", typed))
    assert [row["row"] for row in after.rows("trays")] == [3]
    assert after.values["trays.long_side"][4] == 4


def test_cells_give_every_row(blank: Path, filled: Path) -> None:
    data = told(read_workbook(filled))
    assert data["cells"]["dough.flour"] == "Dough!B13"
    assert len(data["cells"]["trays"]) == 6 and set(data["cells"]["trays"][5]) == set(data["values"]["trays"][0]) - {
        "row"
    }
    held = engines.cell_values(filled)
    for row in data["values"]["trays"]:
        sheet, _, address = data["cells"]["trays"][row["row"] - 1]["tray"].partition("!")
        assert held[sheet, address] == row["tray"]


def test_stale_and_missing_values_are_named(filled: Path) -> None:
    reading = read_workbook(filled)
    assert not reading.findings
    assert {"dough.flour", "ovens.total_surface"} <= {one.name for one in reading.stale}
    assert "trays.surface, row 1" in {one.name for one in reading.missing}, "blank when it was built"
    assert "Dough!B13 (dough.flour) stores 14.11764706, its formula gives 23.52941176" in map(str, reading.stale)


def test_stale_values_of_another_type(blank: Path, tmp_path: Path) -> None:
    flour = place(read_workbook(blank), "dough.flour")
    for wrong in ("14.1", True, 0):
        reading = read_workbook(engines.spoil_cached(blank, tmp_path / "stale.xlsx", {flour: wrong}))
        assert [one.name for one in reading.stale] == ["dough.flour"]


def save_with_openpyxl(path: Path, out: Path) -> Path:
    import openpyxl

    book = openpyxl.load_workbook(path)
    book.save(out)
    return out


SAVERS: dict[str, Callable[[Path, Path], Path]] = {
    "openpyxl": save_with_openpyxl,
    "LibreOffice": engines.save_with_libreoffice,
    "LibreOffice, nothing recalculated": partial(engines.save_with_libreoffice, recalculate=False),
}


@pytest.mark.parametrize("saver", SAVERS)
@pytest.mark.parametrize("which", ["blank", "filled"])
def test_other_programs_may_save_it(saver: str, which: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    if saver.startswith("LibreOffice"):
        engines.require_libreoffice()
    path: Path = request.getfixturevalue(which)
    before, after = read_workbook(path), read_workbook(SAVERS[saver](path, tmp_path / "saved.xlsx"))
    assert after.findings == [] and after.errors == []
    close, same = told(before), told(after)
    assert rounded(close) == rounded(same)
    if saver == "LibreOffice":
        assert after.stale == [] and after.missing == []
    if saver == "openpyxl":
        assert after.missing and not after.stale


def rounded(data: Any) -> Any:
    """Numbers with 12 digits: programs keep 15."""
    if isinstance(data, dict):
        return {key: rounded(value) for key, value in data.items()}
    if isinstance(data, list):
        return [rounded(value) for value in data]
    return float(f"{data:.12g}") if isinstance(data, float) else data


def test_millimetres_too(tmp_path: Path) -> None:
    reading = read(build(edition="mm"), "mm.xlsx")
    assert reading.edition == "mm" and reading.units["trays.long_side"] == "mm"
    assert reading.values["dough.loaf_mass"] == [1]


@pytest.fixture
def other_bakery(tmp_path: Path) -> Callable[[str], bytes]:
    """A workbook whose sheet of dough has more on it."""

    def made(more: str) -> bytes:
        templates = tmp_path / "templates"
        shutil.copytree(BAKERY / "templates", templates)
        with (templates / "sheets" / "dough.toml").open("a", encoding="utf-8") as file:
            file.write(more)
        return build(templates)

    return made


def test_dates_are_told_as_text(other_bakery: Callable[[str], bytes], tmp_path: Path) -> None:
    more = '[[input]]\nname = "baked_on"\nlabel = "Baked on"\nunit = "date"\nsection = "batch"\n'
    path = tmp_path / "dated.xlsx"
    path.write_bytes(other_bakery(more))
    reading = read_workbook(path)
    assert reading.values["dough.baked_on"] == [None]
    cell = place(reading, "dough.baked_on")
    dates: list[tuple[engines.Typed, object]] = [
        (46000, "2025-12-09"),
        (46000.5, "2025-12-09T12:00:00"),
        ("soon", "soon"),
        (-3, -3),
    ]
    for typed, said in dates:
        assert read_workbook(engines.type_into(path, tmp_path / "typed.xlsx", {cell: typed})).values[
            "dough.baked_on"
        ] == [said]


def edited(path: Path, out: Path, part: str, change: Callable[[str], str]) -> Path:
    """A copy with one part changed."""
    with zipfile.ZipFile(path) as package, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as copy:
        for item in package.infolist():
            content = package.read(item)
            if item.filename == part:
                changed = change(content.decode())
                assert changed != content.decode(), f"nothing changed in {part}"
                content = changed.encode()
            copy.writestr(item.filename, content)
    return out


def test_formulas_that_cells_share(filled: Path, tmp_path: Path) -> None:
    """Some programs write a column's formula once and let the other rows refer to it."""
    cells = told(read_workbook(filled))["cells"]["trays"]
    addresses = [row["running"].partition("!")[2] for row in cells]

    def share(text: str) -> str:
        area = f'<f t="shared" ref="{addresses[0]}:{addresses[-1]}" si="7">'
        for address in addresses:
            first, other = rf"\1{area}\2</f>", r'\1<f t="shared" si="7"/>'
            head = rf'(<c r="{address}"[^>]*>)<f>([^<]*)</f>'
            text = re.sub(head, first if address == addresses[0] else other, text)
        return text

    shared = read_workbook(edited(filled, tmp_path / "shared.xlsx", "xl/worksheets/sheet2.xml", share))
    assert shared.findings == []
    assert told(shared) == told(read_workbook(filled))


# -- what was altered --------------------------------------------------------------------------------------------------


def test_an_altered_formula_is_found(filled: Path, tmp_path: Path) -> None:
    reading = read_workbook(filled)
    flour, surface = place(reading, "dough.flour"), place(reading, "trays.surface", 2)
    found = read_workbook(engines.alter_formulas(filled, tmp_path / "altered.xlsx", {flour: "=1+1", surface: "=3"}))
    assert found.findings == [
        "Dough!B13 (dough.flour): the formula is not the one built",
        "Ovens!G46 (trays.surface, row 2): the formula is not the one built",
    ]


@pytest.mark.parametrize(
    ("before", "after"),
    [("*", "/"), ("1+", "2+"), ("dough_loaves", "dough_loaf_mass"), ("dough_loaves", "Dough!$B$9"), ("1+", "1-")],
)
def test_small_alterations_are_found(before: str, after: str, blank: Path, tmp_path: Path) -> None:
    cell = place(read_workbook(blank), "dough.flour")
    formula = engines.formula_cells(blank)[cell]
    assert before in formula
    altered = engines.alter_formulas(blank, tmp_path / "altered.xlsx", {cell: formula.replace(before, after, 1)})
    assert len(read_workbook(altered).findings) == 1


@pytest.mark.parametrize(
    ("before", "after"),
    [("dough_loaves", "DOUGH_LOAVES"), ("dough_loaves", "Dough!$B$8"), ("*", " * "), ("1+", "1.0+")],
)
def test_other_spellings_are_no_alteration(before: str, after: str, blank: Path, tmp_path: Path) -> None:
    cell = place(read_workbook(blank), "dough.flour")
    formula = engines.formula_cells(blank)[cell]
    same = engines.alter_formulas(blank, tmp_path / "same.xlsx", {cell: formula.replace(before, after, 1)})
    assert read_workbook(same).findings == []


def test_a_row_formula_moved_to_another_row_is_found(blank: Path, tmp_path: Path) -> None:
    reading = read_workbook(blank)
    first, second = place(reading, "trays.step_down", 2), place(reading, "trays.step_down", 3)
    formulas = engines.formula_cells(blank)
    moved = engines.alter_formulas(blank, tmp_path / "moved.xlsx", {second: formulas[first]})
    assert [text.partition(":")[0] for text in read_workbook(moved).findings] == ["Ovens!I47 (trays.step_down, row 3)"]


@pytest.mark.parametrize(
    ("value", "said"), [(5, "is replaced by 5"), ("✓", "is replaced by '✓'"), (None, "is gone"), ("", "is gone")]
)
def test_a_formula_typed_over_is_found(value: engines.Typed, said: str, blank: Path, tmp_path: Path) -> None:
    cell = place(read_workbook(blank), "trays.verdict", 4)
    path = engines.type_into(blank, tmp_path / "over.xlsx", {cell: value}, over_formulas=True)
    assert read_workbook(path).findings == [f"Ovens!K48 (trays.verdict, row 4): the formula {said}"]


def test_a_formula_in_a_typed_cell_is_fine(blank: Path, tmp_path: Path) -> None:
    """A fitter may let the sheet add two readings."""
    out = tmp_path / "typed.xlsx"

    def change(text: str) -> str:
        return re.sub(r'(<c r="B8"[^>]*>)<v>12</v>', r"\1<f>10+5</f><v>15</v>", text)

    reading = read_workbook(edited(blank, out, "xl/worksheets/sheet1.xml", change))
    assert reading.findings == [] and reading.values["dough.loaves"] == [15]
    assert reading.values["dough.flour"] == [pytest.approx(30 / 1.7)]


@pytest.mark.parametrize(
    ("sheet", "address", "value", "said"),
    [
        ("Dough", "B9", 0.8, "Dough!B9 (dough.water_share): the value is not as built"),
        ("Lists", "D8", 0.01, "Lists!D7:D9 (flour.price): the values are not as built"),
        ("Names", LIST + "2", "oval", f"Names!{LIST}2:{LIST}3 (choice_lists.list_1): the values are not as built"),
        ("Ovens", "O46", 1, "Ovens!O45:O50 (trays.number): the values are not as built"),
        ("Proofs", "B7", 11, "Proofs!B7:B8 (proof.published): the values are not as built"),
    ],
)
def test_altered_fixed_values_are_found(
    sheet: str, address: str, value: engines.Typed, said: str, blank: Path, tmp_path: Path
) -> None:
    path = engines.type_into(blank, tmp_path / "fixed.xlsx", {(sheet, address): value})
    assert read_workbook(path).findings == [said]


def test_altered_workings_of_an_example_are_found(blank: Path, tmp_path: Path) -> None:
    formulas = engines.formula_cells(blank)
    named = {place(read_workbook(blank), name, row) for name in ("proof.found", "proof.verdict") for row in (1, 2)}
    workings = [cell for cell in formulas if cell[0] == "Proofs" and cell not in named and cell[1] != "D2"]
    assert workings
    path = engines.alter_formulas(blank, tmp_path / "proof.xlsx", {workings[0]: "=10"})
    assert [text.partition(":")[2] for text in read_workbook(path).findings] == [" the formula is not the one built"]


def test_the_heading_that_shows_the_job_is_checked(blank: Path, tmp_path: Path) -> None:
    path = engines.alter_formulas(blank, tmp_path / "head.xlsx", {("Ovens", "B1"): '="another"'})
    assert read_workbook(path).findings == ["Ovens!B1: the formula is not the one built"]


def test_a_name_that_points_elsewhere_is_found(blank: Path, tmp_path: Path) -> None:
    def move(text: str) -> str:
        return text.replace("'Dough'!$B$8<", "'Dough'!$B$7<")

    findings = read_workbook(edited(blank, tmp_path / "moved.xlsx", "xl/workbook.xml", move)).findings
    assert findings[0] == "Dough!B7 (dough.loaves): the workbook's name dough_loaves pointed at Dough!B8"
    assert "Dough!B13 (dough.flour): the formula is not the one built" in findings


def test_a_name_that_is_gone_is_found(blank: Path, tmp_path: Path) -> None:
    def drop(text: str) -> str:
        return re.sub(r'<definedName name="trays_long_side">[^<]*</definedName>', "", text)

    reading = read_workbook(edited(blank, tmp_path / "gone.xlsx", "xl/workbook.xml", drop))
    assert reading.findings[0].startswith(
        "Ovens!C45:C50 (trays.long_side): the workbook's name trays_long_side is gone"
    )


def test_an_error_value_is_named(blank: Path, tmp_path: Path) -> None:
    def divide(text: str) -> str:
        return re.sub(r'(<c r="B8"[^>]*>)<v>12</v>', r"\1<f>1/0</f><v>0</v>", text)

    reading = read_workbook(edited(blank, tmp_path / "error.xlsx", "xl/worksheets/sheet1.xml", divide))
    assert reading.values["dough.loaves"] == ["#DIV/0!"]
    assert "Dough!B8 (dough.loaves) gives #DIV/0!" in reading.errors and reading.findings == []


# -- files that cannot be read -----------------------------------------------------------------------------------------


def package(parts: Mapping[str, str]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in parts.items():
            made.writestr(name, content)
    return buffer.getvalue()


def foreign() -> bytes:
    import xlsxwriter

    buffer = io.BytesIO()
    with xlsxwriter.Workbook(buffer) as book:
        book.add_worksheet("Names").write_string(0, 0, "Smith")
    return buffer.getvalue()


def unfinished(data: bytes) -> bytes:
    return data[: len(data) // 2]


BAD: dict[str, tuple[Callable[[], bytes], str]] = {
    "empty": (lambda: b"", "is empty"),
    "text": (lambda: b"spool,leg\n1,2\n", "no .xlsx workbook"),
    "encrypted": (lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000), "encrypted"),
    "cut off": (lambda: unfinished(build()), "damaged"),
    "another package": (lambda: package({"mimetype": "application/epub+zip"}), "no .xlsx workbook"),
    "foreign": (foreign, "was not built by this package"),
    "document type": (lambda: package({"xl/workbook.xml": "<!DOCTYPE a><workbook/>"}), "document type"),
    "no XML": (lambda: package({"xl/workbook.xml": "<workbook"}), "damaged"),
    "too many parts": (lambda: package({f"xl/part{n}.xml": "<a/>" for n in range(2500)}), "parts"),
}  # fmt: skip


@pytest.mark.parametrize("kind", BAD)
def test_bad_files_get_one_sentence(kind: str) -> None:
    make, said = BAD[kind]
    with pytest.raises(WorkbookError) as caught:
        read(make(), "field.xlsx")
    sentence = caught.value.sentence()
    assert sentence.startswith("field.xlsx") and said in sentence and "\n" not in sentence


def test_a_file_that_unpacks_too_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cells, "LARGEST_UNPACKED", 1024 * 1024)
    small = package({"xl/workbook.xml": "<workbook/>", "xl/worksheets/sheet1.xml": " " * 1024 * 1024})
    assert len(small) < 10_000
    with pytest.raises(WorkbookError, match="too large unpacked"):
        read(small, "field.xlsx")


def test_files_that_are_none(tmp_path: Path) -> None:
    large = tmp_path / "large.xlsx"
    with large.open("wb") as file:
        file.truncate(LARGEST_FILE + 1)
    for path, said in ((tmp_path / "no.xlsx", "no such file"), (tmp_path, "is a folder"), (large, "too large")):
        with pytest.raises(WorkbookError, match=said):
            read_workbook(path)


def test_a_later_schema_is_refused(blank: Path, tmp_path: Path) -> None:
    path = engines.type_into(blank, tmp_path / "later.xlsx", {("Names", "B1"): 2})
    with pytest.raises(WorkbookError, match="was built with schema 2; this version reads schema 1"):
        read_workbook(path)


def test_a_formula_too_long_is_refused(blank: Path, tmp_path: Path) -> None:
    cell = place(read_workbook(blank), "dough.flour")
    path = engines.alter_formulas(blank, tmp_path / "long.xlsx", {cell: "=" + "+".join(["1"] * 5000)})
    with pytest.raises(WorkbookError, match=r"Dough!B13: a formula has 10000 characters"):
        read_workbook(path)


def test_nested_formulas_do_no_harm(blank: Path, tmp_path: Path) -> None:
    cell = place(read_workbook(blank), "dough.flour")
    path = engines.alter_formulas(blank, tmp_path / "deep.xlsx", {cell: "=" + "(" * 4000 + "1" + ")" * 4000})
    assert read_workbook(path).findings == ["Dough!B13 (dough.flour): the formula is not the one built"]


def test_pictures_and_comments_are_never_unpacked(blank: Path, tmp_path: Path) -> None:
    out = tmp_path / "more.xlsx"
    shutil.copyfile(blank, out)
    with zipfile.ZipFile(out, "a") as package:
        package.writestr("xl/drawings/drawing9.xml", "not XML at all")
        package.writestr("xl/media/image1.xml", "nor this")
    assert told(read_workbook(out)) == told(read_workbook(blank))


class Parts(dict[str, bytes]):
    """A package's parts; told in one word where a test fails."""

    def __repr__(self) -> str:
        return "the parts"


@pytest.fixture(scope="module")
def parts(blank: Path) -> Parts:
    with zipfile.ZipFile(blank) as package:
        return Parts({name: package.read(name) for name in package.namelist()})


def outcome(data: bytes) -> None:
    """Read data that may be damaged: a reading or one sentence, nothing else."""
    try:
        reading = read(data, "field.xlsx")
    except WorkbookError as wrong:
        assert "\n" not in wrong.sentence() and len(wrong.sentence()) < 400
    else:
        json.dumps(reading.as_json(cells=True), allow_nan=False)


STRANGE = ["", "-1", "1e999", "nan", "A", "XFD1048576", "99999999999999999999", "s", "Names!#REF!", "=", "🙂"]
FUZZ = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@FUZZ
@given(data=st.data())
def test_damaged_packages(blank: Path, data: st.DataObject) -> None:
    content = bytearray(blank.read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    outcome(bytes(content[: data.draw(st.sampled_from([len(content), len(content) - 30]))]))


@FUZZ
@given(data=st.data())
def test_damaged_parts(parts: Parts, data: st.DataObject) -> None:
    name = data.draw(
        st.sampled_from([name for name in sorted(parts) if "/worksheets/sheet" in name or "workbook" in name])
    )
    text = parts[name].decode()
    words = [found.span() for found in re.finditer(r'"[^"<>]*"|>[^<>]+<', text)]
    start, end = data.draw(st.sampled_from(words))
    new = data.draw(st.sampled_from(STRANGE) | st.text("0123456789ABC$!:'.-", max_size=8))
    changed = text[: start + 1] + new + text[end - 1 :]
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as package:
        for part, content in parts.items():
            package.writestr(part, changed if part == name else content)
    outcome(buffer.getvalue())


def test_many_cells_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cells, "MOST_CELLS", 1000)
    sheet = "<worksheet><sheetData>" + "<row>" + "<c/>" * 1001 + "</row></sheetData></worksheet>"
    relation = '<Relationships><Relationship Id="r1" Type="a/worksheet" Target="s.xml"/></Relationships>'
    book = '<workbook xmlns:r="urn:r"><sheets><sheet name="S" r:id="r1"/></sheets></workbook>'
    data = package({"xl/workbook.xml": book, "xl/_rels/workbook.xml.rels": relation, "xl/s.xml": sheet})
    with pytest.raises(WorkbookError, match="too many cells"):
        read_cells(data, "field.xlsx")
