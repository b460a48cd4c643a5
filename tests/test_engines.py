"""The independent engines really recalculate, and the helpers around them change nothing but what they are told to."""

from __future__ import annotations

import datetime
import os
import time
import zipfile
from importlib import import_module
from pathlib import Path

import engines
import pytest
from cell_by_cell import CellByCell, standing
from engines import (
    Cell,
    EngineError,
    ErrorValue,
    Stored,
    Typed,
    Value,
    alter_formulas,
    as_value,
    cached_values,
    cell_values,
    differences,
    error_values,
    formula_cells,
    recompute_with_formualizer,
    recompute_with_formulas,
    recompute_with_libreoffice,
    render_pdf,
    render_png,
    require_libreoffice,
    require_pages,
    row_and_column,
    save_with_libreoffice,
    sheet_names,
    spoil_cached,
    type_into,
)

FIT_UP, CUTS, SPOOLS, RULES, HIDDEN = "Fit-up", "Cut list", "Spools & (2) pipes", "Rules", "names"

UNMEASURED = "… not yet measured"

FORMULAS: dict[Cell, tuple[str, Value]] = {
    (FIT_UP, "C2"): ('=IF(COUNT(B2)=0,"… not yet measured",IF(B2<=0.1875+1E-9,"✓ within","✗ outside"))', "✓ within"),
    (FIT_UP, "C3"): ('=IF(COUNT(B3)=0,"… not yet measured",IF(B3<=0.1875+1E-9,"✓ within","✗ outside"))', "✗ outside"),
    (FIT_UP, "C4"): ('=IF(COUNT(B4)=0,"… not yet measured",IF(B4<=0.1875+1E-9,"✓ within","✗ outside"))', UNMEASURED),
    (FIT_UP, "E1"): ('=COUNTIF(joints_verdict,"✗ outside")', 1),
    (FIT_UP, "E2"): ("=MAX(joints_gap)-rules_root_gap", 0.125),
    (FIT_UP, "E3"): ('=IFERROR(INDEX(joints_gap,MATCH("6|xs",joints_key,0)),"")', 0.25),
    (FIT_UP, "E4"): ('=IF(COUNT(B4)=0,"",B4)', ""),
    (FIT_UP, "E5"): ("=E1>0", True),
    (CUTS, "A1"): ("=48.25-'Fit-up'!E2*2", 48),
    (CUTS, "A2"): ("='Spools & (2) pipes'!A1&\" is \"&ROUND(A1,4)", "SP-01 is 48"),
    (CUTS, "A3"): ("=when+1", 45294),
    (SPOOLS, "B1"): ("='Cut list'!A1/2", 24),
    (HIDDEN, "B1"): ("=rules_root_gap*8", 1),
}
ANSWERS = {place: answer for place, (_, answer) in FORMULAS.items()}
TYPED: dict[Cell, Stored] = {
    (RULES, "C5"): 0.125,
    (FIT_UP, "A1"): "=not a formula",
    (FIT_UP, "A2"): "6|STD",
    (FIT_UP, "A3"): "6|XS",
    (FIT_UP, "A4"): "1-1/4|80",
    (FIT_UP, "B2"): 0.125,
    (FIT_UP, "B3"): 0.25,
    (SPOOLS, "A1"): "SP-01",
    (HIDDEN, "A1"): "rules.root_gap",
}


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    """A workbook with right stored values: names of cells and ranges, a hidden sheet, awkward sheet names."""
    path = tmp_path / "built.xlsx"
    book = import_module("xlsxwriter").Workbook(path)
    sheets = {name: book.add_worksheet(name) for name in (RULES, FIT_UP, CUTS, SPOOLS, HIDDEN)}
    sheets[HIDDEN].hide()
    typed_cells, date = book.add_format({"border": 1, "locked": False}), book.add_format({"num_format": "yyyy-mm-dd"})
    book.define_name("rules_root_gap", f"={RULES}!$C$5")
    book.define_name("joints_key", f"='{FIT_UP}'!$A$2:$A$4")
    book.define_name("joints_gap", f"='{FIT_UP}'!$B$2:$B$4")
    book.define_name("joints_verdict", f"='{FIT_UP}'!$C$2:$C$4")
    book.define_name("when", f"='{CUTS}'!$D$9")
    for (sheet, address), value in TYPED.items():
        if isinstance(value, str):
            sheets[sheet].write_string(address, value)
        else:
            sheets[sheet].write_number(address, value, typed_cells)
    sheets[FIT_UP].write_blank("B4", None, typed_cells)
    sheets[CUTS].write_datetime("D9", datetime.datetime(2024, 1, 2), date)
    for (sheet, address), (formula, answer) in FORMULAS.items():
        sheets[sheet].write_formula(address, formula, None, answer)
    book.close()
    return path


# --------------------------------------------------------------------------------------------------- reading, comparing


def test_reading(workbook: Path) -> None:
    """Formulas and the values beside them are found on every sheet; text with an equals sign is no formula."""
    assert sheet_names(workbook) == [RULES, FIT_UP, CUTS, SPOOLS, HIDDEN]
    assert formula_cells(workbook) == {place: formula for place, (formula, _) in FORMULAS.items()}
    assert differences(ANSWERS, cached_values(workbook)) == []
    values = cell_values(workbook)
    assert {place: values[place] for place in TYPED} == TYPED
    assert values[CUTS, "D9"] == 45293
    assert values[FIT_UP, "B4"] is None


def test_error_values_are_no_text(tmp_path: Path) -> None:
    """A stored error is told apart from a text that reads the same."""
    path = tmp_path / "errors.xlsx"
    book = import_module("xlsxwriter").Workbook(path)
    sheet = book.add_worksheet("S")
    sheet.write_formula("A1", "=1/0", None, "#DIV/0!")
    sheet.write_string("A2", "#DIV/0!")
    book.close()
    assert error_values(cell_values(path)) == {("S", "A1"): ErrorValue("#DIV/0!")}
    for recompute in (recompute_with_formulas, recompute_with_formualizer):
        assert set(error_values(recompute(path))) == {("S", "A1")}


@pytest.mark.parametrize(
    ("raw", "value"),
    [
        (None, None),
        ("text", "text"),
        (3, 3),
        (True, True),
        (0.5, 0.5),
        (import_module("numpy").float64(0.5), 0.5),
        (import_module("numpy").int64(5), 5),
        (import_module("numpy").bool_(False), False),
        (datetime.datetime(2024, 1, 2, 12), 45293.5),
        (datetime.date(2024, 1, 2), 45293.0),
        (datetime.time(6), 0.25),
        (float("nan"), ErrorValue("nan")),
        (float("inf"), ErrorValue("inf")),
        (1 + 2j, ErrorValue("(1+2j)")),
    ],
)
def test_one_form_of_values(raw: object, value: Value) -> None:
    """Whatever an engine wraps its values in, they come out in one form."""
    assert as_value(raw) == value
    assert type(as_value(raw)) is type(value)


def test_a_thing_that_is_no_value() -> None:
    """Something that no cell can hold is not passed on."""
    with pytest.raises(TypeError, match="a cell cannot hold"):
        as_value(object())


@pytest.mark.parametrize(
    ("build", "other", "reason"),
    [
        (1, 1.0, ""),
        (1.0, 1.0 + 9e-10, ""),
        (1.0, 1.0 + 2e-9, "they differ by 2e-09"),
        (1e6, 1e6 + 9e-4, ""),
        (1e6, 1e6 + 2e-3, "they differ by 0.002"),
        (0.0, 9e-10, ""),
        (0.0, 2e-9, "they differ by 2e-09"),
        (-0.0, 0, ""),
        (None, "", ""),
        ("", None, ""),
        (None, 0, "not of one kind"),
        ("", 0.0, "not of one kind"),
        ("✓ within", "✓ within", ""),
        ("✓ within", "✗ outside", "not the same"),
        ("a", "A", "not the same"),
        ("1", 1, "not of one kind"),
        (True, True, ""),
        (True, False, "not the same"),
        (True, 1, "not the same"),
        (0, False, "not the same"),
        (False, "", "not the same"),
        (1, ErrorValue("#N/A"), "an error value"),
        (ErrorValue("#N/A"), 1, "an error value"),
        (ErrorValue("#N/A"), ErrorValue("#N/A"), "an error value"),
    ],
)
def test_differences(build: Value, other: Value, reason: str) -> None:
    """Two values agree or not, with a word why."""
    place = ("Cut list", "A1")
    found = differences({place: build}, {place: other})
    assert [each.reason for each in found] == ([reason] if reason else [])


def test_a_difference_in_words() -> None:
    """A difference says where and what; a cell that the other side leaves out is one, what only it has is not."""
    found = differences({("Fit-up", "C5"): 1.5, ("Fit-up", "C6"): ""}, {("Fit-up", "C5"): None, ("Fit-up", "Z9"): 3})
    assert [str(each) for each in found] == [
        "Fit-up!C5: the build has 1.5, the engine a blank (not of one kind)",
        "Fit-up!C6: the build has '', the engine a blank (no answer for this cell)",
    ]
    assert differences({("S", "A1"): 1.0}, {("S", "A1"): 1.1}, tolerance=0.2) == []


# ------------------------------------------------------------------------------------------------- really recalculating

SPOILT: dict[Cell, Stored] = {
    (FIT_UP, "C3"): "✓ within",
    (FIT_UP, "E2"): 0.126,
    (FIT_UP, "E5"): False,
    (CUTS, "A2"): "SP-01 is 49",
    (HIDDEN, "B1"): 7,
}


def test_spoiling(workbook: Path, tmp_path: Path) -> None:
    """Spoiling changes the stored values that it is told to, and no formula."""
    spoilt = spoil_cached(workbook, tmp_path / "spoilt.xlsx", SPOILT)
    assert formula_cells(spoilt) == formula_cells(workbook)
    assert {each.cell for each in differences(ANSWERS, cached_values(spoilt))} == set(SPOILT)
    with pytest.raises(ValueError, match="A2 holds no formula"):
        spoil_cached(workbook, tmp_path / "no.xlsx", {(FIT_UP, "A2"): 1})


def test_libreoffice_recalculates(workbook: Path, tmp_path: Path) -> None:
    """LibreOffice agrees with right stored values, and catches wrong ones: the check can fail."""
    require_libreoffice()
    spoilt = spoil_cached(workbook, tmp_path / "spoilt" / workbook.name, SPOILT)
    out = tmp_path / "recalculated"
    answers = recompute_with_libreoffice([workbook, spoilt], out)
    assert [str(each) for each in differences(cached_values(workbook), answers[workbook])] == []
    assert {each.cell for each in differences(cached_values(spoilt), answers[spoilt])} == set(SPOILT)
    assert differences(ANSWERS, answers[spoilt]) == []
    assert sorted(path.name for path in out.iterdir()) == ["1-built.xlsx", "built.xlsx"]


def test_formulas_recalculates(workbook: Path, tmp_path: Path) -> None:
    """The formulas package agrees with right stored values, and catches wrong ones."""
    spoilt = spoil_cached(workbook, tmp_path / "spoilt.xlsx", SPOILT)
    assert [str(each) for each in differences(cached_values(workbook), recompute_with_formulas(workbook))] == []
    answers = recompute_with_formulas(spoilt)
    assert {each.cell for each in differences(cached_values(spoilt), answers)} == set(SPOILT)
    assert differences(ANSWERS, answers) == []


def test_formulas_cannot_read_it(tmp_path: Path) -> None:
    """A file that the formulas package cannot work with is told apart from one with wrong values."""
    path = tmp_path / "unreadable.xlsx"
    book = import_module("xlsxwriter").Workbook(path)
    book.add_worksheet("S").write_formula("A1", "=1E3", None, 1000)
    book.close()
    with pytest.raises(EngineError, match=r"formulas cannot work with unreadable\.xlsx.*=1E3"):
        recompute_with_formulas(path)


def test_formulas_tells_no_progress(workbook: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """The package's progress bar stays out of what the tests print."""
    recompute_with_formulas(workbook)
    assert capfd.readouterr() == ("", "")


def test_cell_by_cell(workbook: Path, tmp_path: Path) -> None:
    """One formula at a time: right values come back, a wrong one is caught where it stands and where it is read."""
    assert differences(ANSWERS, CellByCell(workbook).recompute()) == []
    spoilt = CellByCell(spoil_cached(workbook, tmp_path / "spoilt.xlsx", SPOILT))
    caught = {each.cell for each in differences({cell: spoilt.given[cell] for cell in ANSWERS}, spoilt.recompute())}
    assert set(SPOILT) <= caught
    altered = alter_formulas(workbook, tmp_path / "altered.xlsx", {(FIT_UP, "E2"): "=MAX(joints_gap)+rules_root_gap"})
    assert {each.cell for each in differences(ANSWERS, CellByCell(altered).recompute())} == {(FIT_UP, "E2")}
    typed = type_into(workbook, tmp_path / "typed.xlsx", STATE)
    assert differences(STATE_ANSWERS, CellByCell(typed, standing(typed)).recompute()) == []


def test_cell_by_cell_answers_as_the_whole_workbook_does(tmp_path: Path) -> None:
    """A formula met before is not answered from memory when it reads a yes for a 1, or an empty text for a blank."""
    path = tmp_path / "alike.xlsx"
    book = import_module("xlsxwriter").Workbook(path)
    sheet = book.add_worksheet("S")
    typed: list[Stored | None] = [1, True, "1", 1.5, None, None, 0, False, 1e-9]
    formulas = ("=ISNUMBER(A{0})", "=COUNT(A{0},$A$1:$A$4)", "=1E-9+N(A{0})", "=A{0}", "=ISTEXT(A{0})", '=A{0}=""')
    for row, value in enumerate(typed):
        if value is not None:
            sheet.write(row, 0, value)
        for column, formula in enumerate(formulas, start=1):
            sheet.write_formula(row, column, formula.format(row + 1))
    sheet.write_formula("A6", '=""', None, "")
    book.close()
    whole = recompute_with_formulas(path)
    answers = CellByCell(path).recompute()
    assert len(answers) == len(typed) * len(formulas) + 1 and not error_values(answers)
    assert differences(answers, whole) == []
    assert len({(type(value), value) for (_, address), value in answers.items() if address[0] == "E"}) > 5


def test_cell_by_cell_refuses_a_name_that_is_not_there(workbook: Path, tmp_path: Path) -> None:
    altered = alter_formulas(workbook, tmp_path / "altered.xlsx", {(FIT_UP, "E2"): "=MAX(joints_gap)-nobody"})
    with pytest.raises(EngineError, match="nobody is no name of the workbook"):
        CellByCell(altered).recompute()


def test_the_canary(workbook: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When LibreOffice is told not to recalculate, the call fails instead of agreeing with everything."""
    require_libreoffice()
    monkeypatch.setattr(engines, "_ALWAYS", engines._NEVER)
    with pytest.raises(EngineError, match="did not recalculate"):
        recompute_with_libreoffice([workbook], tmp_path)


def test_altered_formulas_are_seen(workbook: Path, tmp_path: Path) -> None:
    """A formula that somebody altered gives another answer, and the stored values do not hide it."""
    altered = alter_formulas(workbook, tmp_path / "altered.xlsx", {(FIT_UP, "E2"): "=MAX(joints_gap)+rules_root_gap"})
    assert formula_cells(altered)[FIT_UP, "E2"] == "=MAX(joints_gap)+rules_root_gap"
    assert differences(ANSWERS, cached_values(altered)) == []
    changed = {(FIT_UP, "E2"), (CUTS, "A1"), (CUTS, "A2"), (SPOOLS, "B1")}
    for recompute in (recompute_with_formulas, recompute_with_formualizer):
        assert {each.cell for each in differences(ANSWERS, recompute(altered))} == changed
    with pytest.raises(ValueError, match="B2 holds no formula"):
        alter_formulas(workbook, tmp_path / "no.xlsx", {(FIT_UP, "B2"): "=1"})


def test_circular_formulas_are_findings(tmp_path: Path) -> None:
    """A formula that depends on itself never passes, though each engine says so in its own way."""
    path = tmp_path / "circular.xlsx"
    book = import_module("xlsxwriter").Workbook(path)
    sheet = book.add_worksheet("S")
    circular = {("S", "A2"): "=SUM(A1:A3)", ("S", "B1"): "=B2+1", ("S", "B2"): "=B1+1", ("S", "B3"): "=B2*2"}
    for (_, address), formula in circular.items():
        sheet.write_formula(address, formula, None, 0)
    sheet.write_formula("C1", "=1+1", None, 2)
    book.close()
    build = cached_values(path)
    for answers in (recompute_with_formulas(path), recompute_with_formualizer(path)):
        assert {each.cell for each in differences(build, answers)} == set(circular)
    require_libreoffice()
    answers = recompute_with_libreoffice([path], tmp_path / "recalculated")[path]
    assert {each.cell for each in differences(build, answers)} == set(circular)


def test_a_range_with_its_own_cell(tmp_path: Path) -> None:
    """INDEX over a range that holds the formula itself: LibreOffice lets it pass, the other two do not."""
    path = tmp_path / "own-cell.xlsx"
    book = import_module("xlsxwriter").Workbook(path)
    sheet = book.add_worksheet("S")
    sheet.write_number("A1", 3)
    sheet.write_formula("A2", "=INDEX($A$1:A2,1)", None, 3)
    book.close()
    assert recompute_with_formualizer(path)["S", "A2"] == ErrorValue("Circ")
    assert ("S", "A2") not in recompute_with_formulas(path)


# ------------------------------------------------------------------------------------------------------- typing a state

STATE: dict[Cell, Typed] = {
    (FIT_UP, "B2"): 0.25,  # a styled cell with a number
    (FIT_UP, "B4"): 0.0625,  # a styled blank
    (FIT_UP, "B3"): None,  # cleared
    (FIT_UP, "A4"): "=<&> \"6\"  'x' ½″",  # text, whatever it starts with
    (FIT_UP, "AA2"): 7,  # a new cell at the end of a row
    (FIT_UP, "D2"): True,  # a new cell in the middle of a row
    (FIT_UP, "B40"): "far below",  # a new row
    (RULES, "C5"): 0.0625,
    (RULES, "A1"): "above",  # a new row before the first
    (CUTS, "D9"): datetime.date(2024, 3, 1),
    (SPOOLS, "A1"): "SP-02",
}
STATE_ANSWERS: dict[Cell, Value] = {
    (FIT_UP, "C2"): "✗ outside",
    (FIT_UP, "C3"): "… not yet measured",
    (FIT_UP, "C4"): "✓ within",
    (FIT_UP, "E1"): 1,
    (FIT_UP, "E2"): 0.1875,
    (FIT_UP, "E3"): 0,
    (FIT_UP, "E4"): 0.0625,
    (FIT_UP, "E5"): True,
    (CUTS, "A1"): 47.875,
    (CUTS, "A2"): "SP-02 is 47.875",
    (CUTS, "A3"): 45353,
    (SPOOLS, "B1"): 23.9375,
    (HIDDEN, "B1"): 0.5,
}


def test_typing(workbook: Path, tmp_path: Path) -> None:
    """Typed values arrive, every engine works with them, and nothing else changes."""
    typed = type_into(workbook, tmp_path / "typed" / "state.xlsx", STATE)
    values = cell_values(typed)
    assert {place: values[place] for place in STATE} == {**STATE, (CUTS, "D9"): 45352}
    untouched = set(TYPED) - set(STATE)
    assert {place: values[place] for place in untouched} == {place: TYPED[place] for place in untouched}
    assert formula_cells(typed) == formula_cells(workbook)
    assert differences(ANSWERS, cached_values(typed)) == [], "stored values go stale"
    assert [str(each) for each in differences(STATE_ANSWERS, recompute_with_formualizer(typed))] == []
    assert [str(each) for each in differences(STATE_ANSWERS, recompute_with_formulas(typed))] == []
    require_libreoffice()
    answers = recompute_with_libreoffice([typed], tmp_path / "recalculated")[typed]
    assert [str(each) for each in differences(STATE_ANSWERS, answers)] == []


def test_typing_keeps_the_rest(workbook: Path, tmp_path: Path) -> None:
    """Only the sheets that are typed into differ, and a cell keeps its style."""
    typed = type_into(workbook, tmp_path / "typed.xlsx", {(FIT_UP, "B4"): 1, (FIT_UP, "B2"): "1/8"})
    with zipfile.ZipFile(workbook) as before, zipfile.ZipFile(typed) as after:
        assert before.namelist() == after.namelist()
        changed = [name for name in before.namelist() if before.read(name) != after.read(name)]
        assert changed == ["xl/worksheets/sheet2.xml"]
        text = after.read(changed[0]).decode("utf-8")
    assert '<c r="B4" s="1"><v>1</v></c>' in text
    assert '<c r="B2" s="1" t="inlineStr"><is><t xml:space="preserve">1/8</t></is></c>' in text


def test_typing_nothing_changes_nothing(workbook: Path, tmp_path: Path) -> None:
    """A state without a typed cell is the workbook itself."""
    typed = type_into(workbook, tmp_path / "typed.xlsx", {})
    assert cell_values(typed) == cell_values(workbook)
    assert formula_cells(typed) == formula_cells(workbook)


def test_typing_into_an_empty_sheet(tmp_path: Path) -> None:
    """A sheet without a single cell can be typed into."""
    path = tmp_path / "empty.xlsx"
    book = import_module("xlsxwriter").Workbook(path)
    book.add_worksheet("S")
    book.close()
    typed = type_into(
        path, tmp_path / "typed.xlsx", {("S", "B2"): 1, ("S", "A3"): "x", ("S", "AB2"): 2, ("S", "C2"): 3}
    )
    assert {place: value for place, value in cell_values(typed).items() if value is not None} == {
        ("S", "B2"): 1,
        ("S", "C2"): 3,
        ("S", "AB2"): 2,
        ("S", "A3"): "x",
    }


def test_typing_over_formulas(workbook: Path, tmp_path: Path) -> None:
    """A formula cell is refused unless the test means it."""
    with pytest.raises(ValueError, match="E2 holds a formula"):
        type_into(workbook, tmp_path / "no.xlsx", {(FIT_UP, "E2"): 5})
    typed = type_into(workbook, tmp_path / "over.xlsx", {(FIT_UP, "E2"): 5}, over_formulas=True)
    assert (FIT_UP, "E2") not in formula_cells(typed)
    assert recompute_with_formulas(typed)[CUTS, "A1"] == recompute_with_formualizer(typed)[CUTS, "A1"] == 38.25


@pytest.mark.parametrize(
    ("place", "value", "word"),
    [
        (("Fitup", "A1"), 1, r"has no sheet 'Fitup'; it has Rules, Fit-up, Cut list, Spools & \(2\) pipes, names"),
        (("Fit-up", "$A$1"), 1, "no address"),
        (("Fit-up", "A0"), 1, "no address"),
        (("Fit-up", "A1"), float("nan"), "cannot be typed"),
    ],
)
def test_typing_what_cannot_be(workbook: Path, tmp_path: Path, place: Cell, value: Typed, word: str) -> None:
    """A wrong place or value is an error with a word, and no file is left."""
    with pytest.raises(ValueError, match=word):
        type_into(workbook, tmp_path / "no.xlsx", {place: value})
    assert not (tmp_path / "no.xlsx").exists()


def test_addresses() -> None:
    """Addresses are read as rows and columns counted from 1."""
    assert [row_and_column(each) for each in ("A1", "Z9", "AA10", "XFD1048576")] == [
        (1, 1),
        (9, 26),
        (10, 27),
        (1048576, 16384),
    ]


# ----------------------------------------------------------------------------------------- files that others have saved


def test_saved_by_openpyxl(workbook: Path, tmp_path: Path) -> None:
    """Without a stored value, after openpyxl saved it, a file still gives every answer, names and all."""
    saved = tmp_path / "saved.xlsx"
    import_module("openpyxl").load_workbook(workbook).save(saved)
    assert set(cached_values(saved).values()) == {None}
    assert differences(ANSWERS, recompute_with_formualizer(saved)) == []
    assert differences(ANSWERS, recompute_with_formulas(saved)) == []
    typed = type_into(saved, tmp_path / "typed.xlsx", STATE)
    assert differences(STATE_ANSWERS, recompute_with_formualizer(typed)) == []


def test_saved_by_libreoffice(workbook: Path, tmp_path: Path) -> None:
    """After LibreOffice saved it, with fresh or with stale stored values, a file still gives every answer."""
    require_libreoffice()
    stale = type_into(workbook, tmp_path / "stale.xlsx", STATE)
    fresh = save_with_libreoffice(stale, tmp_path / "fresh.xlsx")
    assert set(formula_cells(fresh)) == {*FORMULAS, (FIT_UP, "D2")}, "it saves a typed yes/no as the formula TRUE()"
    assert differences(STATE_ANSWERS, cached_values(fresh)) == []
    assert differences(STATE_ANSWERS, recompute_with_formualizer(fresh)) == []
    assert differences(STATE_ANSWERS, recompute_with_formulas(fresh)) == []
    kept = save_with_libreoffice(stale, tmp_path / "kept.xlsx", recalculate=False)
    anew = [each.cell for each in differences(ANSWERS, cached_values(kept))]
    assert anew == [(FIT_UP, "E4")], "it keeps stored values, save an empty text, which it always works out anew"
    assert differences(STATE_ANSWERS, recompute_with_formualizer(kept)) == []
    again = type_into(fresh, tmp_path / "again.xlsx", {(FIT_UP, "B2"): 0.125, (SPOOLS, "A1"): "SP-03"})
    assert recompute_with_formualizer(again)[FIT_UP, "C2"] == "✓ within"
    assert recompute_with_formulas(again)[CUTS, "A2"] == "SP-03 is 48.125"


# -------------------------------------------------------------------------------------------------- programs, and pages


def test_pages(workbook: Path, tmp_path: Path) -> None:
    """A workbook is printed and drawn, one picture for each page."""
    require_pages()
    pdf = render_pdf(workbook, tmp_path / "pages" / "built.pdf")
    assert pdf.read_bytes().startswith(b"%PDF-")
    coarse = render_png(workbook, tmp_path / "coarse", dpi=40)
    fine = render_png(pdf, tmp_path / "fine", dpi=80)
    assert [page.name for page in coarse] == [f"built-{number}.png" for number in range(1, len(coarse) + 1)]
    assert len(coarse) == len(fine) == 4, "four sheets show something"
    widths = [int.from_bytes(page.read_bytes()[16:20], "big") for page in (coarse[0], fine[0])]
    assert widths[1] == pytest.approx(2 * widths[0], abs=2)


def test_a_program_that_hangs(workbook: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that gives no answer is ended with its children, and the call says so."""
    _pretend(tmp_path, monkeypatch, "sleep 600 & wait")
    start = time.monotonic()
    with pytest.raises(EngineError, match=r"soffice gave no answer in 0\.3 s"):
        recompute_with_libreoffice([workbook], tmp_path / "out", seconds=0.3)
    assert time.monotonic() - start < 30


@pytest.mark.parametrize(
    ("script", "word"),
    [
        ("echo no room left; exit 3", "soffice ended with 3: no room left"),
        ("echo could not load", r"wrote nothing for built\.xlsx; it said: could not load"),
    ],
)
def test_a_program_that_fails(
    script: str, word: str, workbook: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that fails, or leaves a file out, is an error with what it said."""
    _pretend(tmp_path, monkeypatch, script)
    with pytest.raises(EngineError, match=word):
        recompute_with_libreoffice([workbook], tmp_path / "out")


def test_a_second_start(workbook: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the first start fails, the second one counts."""
    require_libreoffice()
    program = engines._libreoffice()
    _pretend(tmp_path, monkeypatch, f'if mkdir "{tmp_path}/started"; then exit 1; fi\nexec "{program}" "$@"')
    answers = recompute_with_libreoffice([workbook], tmp_path / "out")[workbook]
    assert differences(ANSWERS, answers) == []


def test_without_libreoffice(workbook: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without LibreOffice a test is skipped with a clear word; on the build server it fails."""
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("CI", raising=False)
    assert not engines.libreoffice_available()
    with pytest.raises(pytest.skip.Exception, match="LibreOffice Calc is not installed"):
        require_libreoffice()
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="LibreOffice Calc is not installed"):
        require_libreoffice()
    with pytest.raises(EngineError, match="not installed"):
        recompute_with_libreoffice([workbook], tmp_path / "out")


def _pretend(folder: Path, monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    """Put a shell script in the place of LibreOffice."""
    programs = folder / "programs"
    programs.mkdir()
    (programs / "soffice").write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    (programs / "soffice").chmod(0o755)
    monkeypatch.setenv("PATH", f"{programs}{os.pathsep}{os.environ['PATH']}")
