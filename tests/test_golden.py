"""Golden workbooks: what is built is what was blessed, and the comparison sees every kind of change."""

from __future__ import annotations

import difflib
import io
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import golden
import openpyxl
import pytest
from golden import FOLDER, MADE_WITH, Kept, relative, told
from workshops import built

LARGEST = 4_500_000
"""Bytes that all golden files together may have; a new long table is to be shown by a few rows, see `golden`."""

MOST_LINES = 60


@pytest.mark.parametrize("name", list(golden.workbooks()))
def test_workbook_is_what_was_blessed(name: str) -> None:
    path = FOLDER / f"{name}.xml"
    assert path.exists(), f"{path.name} is missing: run make golden"
    before, now = path.read_text(encoding="utf-8"), golden.text_of(name)
    if before != now:
        changes = difflib.unified_diff(before.splitlines(), now.splitlines(), "blessed", "built now", n=1, lineterm="")
        shown = "\n".join(line[:300] for line, _ in zip(changes, range(MOST_LINES), strict=False))
        made = MADE_WITH.read_text(encoding="utf-8")
        pytest.fail(f"{shown}\nblessed with {made}now {golden.made_with()}When this is meant: make golden")


def test_there_are_no_others_and_they_stay_small() -> None:
    there = {path.name for path in FOLDER.iterdir()}
    assert there == {f"{name}.xml" for name in golden.workbooks()} | {MADE_WITH.name}
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < LARGEST


def test_it_is_said_what_made_them() -> None:
    lines = MADE_WITH.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("Python 3.") and [line.split()[0] for line in lines[1:]] == list(golden.PRODUCERS)


# -- it sees what changes ----------------------------------------------------------------------------------------------

BOOK = built("bakehouse", True, "inch")


def changed(part: str, change: Callable[[str], str]) -> bytes:
    """The fixture's workbook with one part of its XML changed."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(BOOK)) as old, zipfile.ZipFile(buffer, "w") as new:
        for item in old.namelist():
            content = old.read(item).decode("utf-8")
            if item == part:
                before, content = content, change(content)
                assert content != before, "nothing changed"
            new.writestr(item, content)
    return buffer.getvalue()


def part_of(tab: str) -> str:
    names = openpyxl.load_workbook(io.BytesIO(BOOK), read_only=True).sheetnames
    return f"xl/worksheets/sheet{names.index(tab) + 1}.xml"


def last(pattern: str, new: str) -> Callable[[str], str]:
    """A change of the last place that a pattern fits."""

    def change(text: str) -> str:
        *_, match = re.finditer(pattern, text)
        return text[: match.start()] + match.expand(new) + text[match.end() :]

    return change


CHANGES: dict[str, tuple[str, Callable[[str], str]]] = {
    "a formula": (part_of("Racks"), last(r"<f>([^<]*)</f>", r"<f>\1+0</f>")),
    "a formula in the middle of a long table": (part_of("Ovens"), lambda text: text.replace("</f>", "+0</f>", 40)),
    "a value beside a formula": (part_of("Racks"), last(r"</f><v>([0-9.]+)</v>", r"</f><v>\g<1>1</v>")),
    "a fixed number": (part_of("Dough"), last(r"<v>([0-9.]+)</v></c>(?=<c [^>]*t=\"s\")", r"<v>\g<1>7</v></c>")),
    "a text": ("xl/sharedStrings.xml", last(r"(<t[^>]*>)([^<]+)</t>", r"\1\2!</t>")),
    "a number format": ("xl/styles.xml", last(r'formatCode="([^"]*)"', r'formatCode="\g<1>0"')),
    "a lock": ("xl/styles.xml", lambda text: text.replace('<protection locked="0"/>', "")),
    "a validation": (part_of("Racks"), last(r"<formula1>([^<]*)</formula1>", "<formula1>1</formula1>")),
    "a condition": (part_of("Racks"), last(r'<cfRule type="\w+"', '<cfRule type="other"')),
    "a merged cell": (part_of("Dough"), last(r'<mergeCell ref="[^"]*"/>', "")),
    "a width": (part_of("Dough"), last(r'width="[0-9.]+"', 'width="3.5"')),
    "a frozen pane": (part_of("Method"), last(r'topLeftCell="[A-Z]+', 'topLeftCell="D')),
    "the page": (part_of("Dough"), last(r'orientation="\w+"', 'orientation="portrait"')),
    "protection": (part_of("Dough"), last(r"<sheetProtection[^>]*/>", "")),
    "a defined name": ("xl/workbook.xml", last(r"(<definedName [^>]*>)[^<]*", r"\1Dough!$A$1")),
    "the order of sheets": (
        "xl/workbook.xml",
        lambda text: re.sub(r"(<sheet [^>]*/>)(<sheet [^>]*/>)", r"\2\1", text, count=1),
    ),
    "a note": ("xl/comments1.xml", last(r"(<t[^>]*>)([^<]+)</t>", r"\1\2!</t>")),
    "a line of a chart": ("xl/charts/chart1.xml", last(r"<c:f>[^<]*</c:f>", "<c:f>Dough!$A$1</c:f>")),
    "an axis": ("xl/charts/chart1.xml", last(r'<c:max val="[^"]*"/>', '<c:max val="7"/>')),
}


@pytest.mark.parametrize("formulas", [True, False], ids=["whole", "values"])
@pytest.mark.parametrize("what", CHANGES)
def test_a_change_is_seen(what: str, formulas: bool) -> None:
    kept = Kept(formulas=formulas)
    assert told(changed(*CHANGES[what]), "book", kept) != told(BOOK, "book", kept)


VOLATILE: dict[str, tuple[str, Callable[[str], str]]] = {
    "dates of making": ("docProps/core.xml", lambda text: text.replace("2000-01-01", "2030-07-07")),
    "the window": ("xl/workbook.xml", last(r"<workbookView [^>]*/>", '<workbookView xWindow="1"/>')),
    "calculation": ("xl/workbook.xml", last(r"<calcPr [^>]*/>", '<calcPr calcId="1"/>')),
    "a colour": ("xl/styles.xml", last(r'<fgColor rgb="\w+"/>', '<fgColor rgb="FF000000"/>')),
}


@pytest.mark.parametrize("what", VOLATILE)
def test_what_says_nothing_is_left_out(what: str) -> None:
    assert told(changed(*VOLATILE[what]), "book") == told(BOOK, "book")


def test_sheets_kept_by_their_fingerprint_are_compared_too() -> None:
    kept = Kept(printed=("Racks",))
    change = CHANGES["a value beside a formula"]
    before, after = told(BOOK, "book", kept), told(changed(*change), "book", kept)
    assert before != after and "Racks" in before and len(before.splitlines()) == len(after.splitlines())


@pytest.mark.parametrize(
    ("formula", "row", "said"),
    [
        ("A5+B$5+$C4", 5, "A[0]+B$5+$C[-1]"),
        ("LOG10(A1)&\"A5\"&'A 5'!B6", 5, "LOG10(A[-4])&\"A5\"&'A 5'!B[1]"),
        ("rules_gap_1+INDEX($A$2:$A$9,A3)", 3, "rules_gap_1+INDEX($A$2:$A$9,A[0])"),
    ],
)
def test_formulas_are_counted_from_their_row(formula: str, row: int, said: str) -> None:
    assert relative(formula, row) == said


def test_long_runs_are_shown_by_a_few_rows(tmp_path: Path) -> None:
    text = told(BOOK, "book")
    assert re.search(r'<alike rows="\d+-\d+" print="[0-9a-f]{16}" />', text)
    [(first, final)] = re.findall(r'<alike rows="(\d+)-(\d+)"', text)[:1]
    shown = {int(one) for one in re.findall(r'<row r="(\d+)"', text)}
    assert {int(first) - 1, int(first) - 2, int(first) - 3, int(final) + 1} <= shown
