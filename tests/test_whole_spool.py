"""A whole spool, from the first cut to the hand-over, played on the workbook with LibreOffice as the fitter's program.

The office builds the workbook for one spool and sends it out. Sheet by sheet the fitter types a reading that is
outside, reads what to do, corrects it and types the reading again; Release gathers it all. That is played twice: cell
by cell in the engine, which is quick, and with a file that goes from LibreOffice to LibreOffice as it would on a shop
laptop, where what each sheet says is taken from the file that LibreOffice saved.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import engines
import handover
import openpyxl
from engines import Cell
from live import Live, Place, Value, place, some
from routes import job_text

from workbook_builder.read import read_workbook

INCH = 1.0
DAY = 45700.0
WPS = "WPS-114 (invented)"

SPOOL = {
    "mark": "PH-01", "size": "6", "schedule": "STD", "class": "150", "material": "A106-B", "start": "weld_neck_flange",
    "leg": [{"east": 36.5, "end": "elbow"}, {"up": 48.25, "end": "weld_neck_flange"}],
}  # fmt: skip

LEANS = "Second part leans 1° to 12, gap 7/64 wider at 6, far end 5/32 off. Next tack at 6"
TURN = "Turn it clockwise by 9/64 along the rim"
"""1° over a root diameter of 6.065 in is 0.106 in; 1.5° is 0.124 in on a bolt circle of 9.5 in, and 0.144 in at the rim
of a face 11 in across."""

Readings = dict[Place, Value]


@dataclass(frozen=True)
class Step:
    """What is done on one sheet.

    Attributes:
        sheet: its name, for messages.
        wrong: readings that are outside.
        right: the same cells and what they read after the correction; cells of other rows too.
        at: the verdict that is looked at, and its row.
        does: the column that says what to do, and words that it must hold when the reading is outside.
        open_before: how the verdict begins while nothing is read.
    """

    sheet: str
    wrong: Readings
    right: Readings
    at: Place
    does: tuple[str, str]
    open_before: str = "…"

    @property
    def action(self) -> Place:
        """The cell that says what to do."""
        return self.does[0], self.at[1]


def every(table: str, rows: int, values: Mapping[str, Value]) -> Readings:
    """The same readings in the first rows of a table."""
    return {(f"{table}.{column}", row): value for row in range(rows) for column, value in values.items()}


def clock(table: str, row: int, *readings: float) -> Readings:
    """Readings at 12, 3, 6 and 9."""
    return {(f"{table}_{at}", row): value for at, value in zip((12, 3, 6, 9), readings, strict=True)}


def steps(book: Live) -> Iterator[Step]:
    """The work on the spool, in its order; readings by gauge, square, level and tape, worked out from the drawing."""
    cut = [value for value in book.column("pieces.cut_length") if value is not None]
    pieces, joints, flanges = len(cut), 2 * len(cut), 2
    exact: Readings = {("pieces.as_cut", row): length for row, length in enumerate(cut)}
    traced = every("pieces", pieces, {"heat": "H-4471", "cut_by": "A.E."})
    yield Step(
        "Cut list", exact | traced | {("pieces.as_cut", 0): cut[0] + INCH / 4}, exact | traced,
        ("pieces.verdict", 0), ("pieces.difference", "0.25"), "… not cut yet",
    )  # fmt: skip
    square = every("ends", 2 * pieces, {"square_12_6": 0.0, "square_3_9": 0.0})
    yield Step(
        "Ends", square | {("ends.square_3_9", 1): 3 * INCH / 64}, square,
        ("ends.verdict", 1), ("ends.action", "Dress the long side at 3 by 3/64."),
    )  # fmt: skip
    ground = every("bevels", 2 * pieces, {"angle_read": 37.5, "land_read": INCH / 16})
    yield Step(
        "Bevel", ground | {("bevels.angle_read", 1): 41.0}, ground, ("bevels.verdict", 1),
        ("bevels.action", "flatter than 37.5° by 3.5°: regrind it"),
    )  # fmt: skip
    gap = INCH / 8
    even = {key: value for row in range(joints) for key, value in clock("joints.gap", row, gap, gap, gap, gap).items()}
    flush = {key: value for row in range(joints) for key, value in clock("joints.hi_lo", row, 0, 0, 0, 0).items()}
    wide = clock("joints.gap", 1, 3 * INCH / 16, 5 * INCH / 32, gap, 5 * INCH / 32)
    yield Step(
        "Fit-up", even | flush | wide, even | flush, ("joints.verdict", 1),
        ("joints.action", "12 o'clock wide by 1/16: close 12 by 1/16, leave 6"),
    )  # fmt: skip
    across: dict[str, float] = {f"bore_{at}": 6.065 * INCH for at in ("12_6", "1_7", "3_9", "4_10")}
    bores: Readings = {("bores.joint", 0): "PH-01 W2"}
    bores |= every("bore_sizes", 2, dict[str, Value](across))
    small: Readings = {(f"bore_sizes.{name}", 1): value - INCH / 4 for name, value in across.items()}
    yield Step(
        "Bores", bores | small, bores, ("bores.verdict", 0),
        ("bores.action", "Bores differ by 0.25\". Read four walls of the elbow before trimming."), "",
    )  # fmt: skip
    plumb = every(
        "levels", joints, {"clean": "yes", "first_12": 0.0, "second_12": 0.0, "first_3": 0.0, "second_3": 0.0}
    )
    yield Step("Level", plumb | {("levels.second_12", 1): 1.0}, plumb, ("levels.verdict", 1), ("levels.action", LEANS))
    tacked = every("tacks", joints, {f"read_{at}": gap for at in (1, 2, 3, 4)})
    yield Step(
        "Tacks", tacked | {("tacks.read_2", 1): INCH / 16}, tacked, ("tacks.verdict", 1),
        ("tacks.action", "outside 3/32 to 5/32: read it again or cut the tack"),
    )  # fmt: skip
    lean: Readings = {("flanges.level_degrees", row): book.value("flanges.lean", row) or 0.0 for row in range(flanges)}
    turned: Readings = {("flanges.level_degrees", 0): 1.5 + (book.value("flanges.lean", 0) or 0.0)}
    yield Step("Flanges", lean | turned, lean, ("flanges.verdict", 0), ("flanges.action", TURN))
    marks = {f"{where}_{at}": 12 * INCH for where in ("near", "far") for at in (12, 3, 6, 9)}
    true = every("faces", flanges, {"way": "tape", "marks": 10 * INCH, **marks})
    yield Step(
        "Flange face", true | {("faces.far_12", 0): 12 * INCH + INCH / 8}, true, ("faces.verdict", 0),
        ("faces.action", "Forward at 12 by 1/16 (limit 3/64): close the root gap there by 1/32"),
    )  # fmt: skip
    drawn: Readings = {
        ("dimensions.as_built", row): size
        for row, size in enumerate(book.column("dimensions.drawing"))
        if size is not None
    }
    yield Step(
        "Dimensions", drawn | {("dimensions.as_built", 0): book.value("dimensions.drawing", 0) + INCH / 2}, drawn,
        ("dimensions.verdict", 0), ("dimensions.action", "1/2 long"),
    )  # fmt: skip
    log = every(
        "welds", joints,
        {"first_heat": "H-4471", "second_heat": "H-3902", "procedure": WPS, "welder": "K7", "accepted_by": "A.E.",
         "accepted_on": DAY, "root_on": DAY, "cap_on": DAY + 1, "visual": "accepted"},
    )  # fmt: skip
    yield Step(
        "Weld log", log | {("welds.root_on", 2): DAY - 1}, log, ("welds.verdict", 2),
        ("welds.action", "Welded before its fit-up was accepted: stop"),
    )  # fmt: skip


@cache
def live() -> Live:
    """The workbook as the office sends it, without the sheets that nothing here looks at."""
    shop = some(("start", *handover.SHEETS, "seams", "connections", "checks"))
    return Live(job_text([SPOOL], "inch", {"procedure": WPS}), "inch", shop)


class Laptop:
    """The workbook file, going through LibreOffice each time that something was typed."""

    def __init__(self, book: Live, folder: Path) -> None:
        self.book = book
        self.folder = folder
        self.path = folder / "sent.xlsx"
        self.path.write_bytes(book.bytes)
        self.saved = 0

    def cell(self, name: str, row: int = 0) -> Cell:
        """Where a value stands."""
        return place(self.book.book.fields[name], row)

    def type(self, readings: Readings) -> dict[Cell, engines.Value]:
        """Type, recompute and save in LibreOffice; gives what its cells show."""
        self.saved += 1
        typed = {self.cell(*where): value for where, value in readings.items()}
        filled = engines.type_into(self.path, self.folder / f"typed-{self.saved}.xlsx", typed)
        self.path = engines.save_with_libreoffice(filled, self.folder / f"saved-{self.saved}.xlsx")
        return engines.cached_values(self.path)


COMPLETE = "✓ complete: every line is filled and within"
STANDING: Place = ("release.standing", 0)


def test_sheet_by_sheet() -> None:
    """On every sheet from … to ✗ with what to do, to ✓; Release counts what is open, and waits for each ✗."""
    book = live()
    still: list[int] = []
    for step in steps(book):
        assert str(book.value(*step.at) or "").startswith(step.open_before), step.sheet
        book.put_all(step.wrong)
        assert book.value(*step.at) == "✗ outside", step.sheet
        assert step.does[1] in str(book.value(*step.action)), step.sheet
        assert str(book.value(*STANDING)).startswith("✗ "), step.sheet
        book.put_all(step.right)
        assert book.value(*step.at) == "✓ within", (step.sheet, book.value(*step.action))
        said = str(book.value(*STANDING))
        assert said == COMPLETE or said.startswith("… "), step.sheet
        still.append(0 if said == COMPLETE else int(said.split()[1]))
    assert still == sorted(still, reverse=True)
    assert (still[-2:], still[0]) == ([4, 0], 12), "four joints wait for the weld log, then nothing is open"
    assert str(book.value("start.welds")).startswith("✓: 4 ✓")
    book.reset()
    book.calculate()


def test_a_whole_spool_in_the_fitters_program(tmp_path: Path) -> None:
    """Nothing typed, all first readings outside, all corrected: three times through LibreOffice."""
    engines.require_libreoffice()
    book = live()
    work = list(steps(book))
    laptop = Laptop(book, tmp_path)

    def said(values: Mapping[Cell, engines.Value], where: Place) -> str:
        return str(values.get(laptop.cell(*where)) or "")

    shown = laptop.type({("fitup.gauge", 0): "G-07"})
    for step in work:
        assert said(shown, step.at).startswith(step.open_before), step.sheet
    assert said(shown, STANDING).startswith("… ")
    shown = laptop.type({place: value for step in work for place, value in step.wrong.items()})
    for step in work:
        assert said(shown, step.at) == "✗ outside", step.sheet
        if step.sheet != "Tacks":  # with the joint itself outside, the first thing it asks for is the joint
            assert step.does[1] in said(shown, step.action), (step.sheet, said(shown, step.action))
    assert said(shown, STANDING).endswith("; ✗ on Ends 1, Bevel 1, Level 1, Bores 1, Tacks 1")
    shown = laptop.type({place: value for step in work for place, value in step.right.items()})
    for step in work:
        assert said(shown, step.at) == "✓ within", (step.sheet, said(shown, step.action))
    assert said(shown, STANDING) == COMPLETE
    back = read_workbook(laptop.path)
    assert (back.findings, back.errors) == ([], [])
    assert back.values["start.release"] == [COMPLETE]
    assert back.values["fitup.gauge"] == ["G-07"]


def test_each_list_filters_by_spool_and_release_has_a_drop_down() -> None:
    """Seen in the built file: arrows in the heading of every list that has a column of spools."""
    made = live()
    book = openpyxl.load_workbook(io.BytesIO(made.bytes))
    lists = 0
    for name, table in made.book.tables.items():
        spool = made.book.fields.get(f"{name}.spool")
        if spool is None or spool.working:
            continue
        first, _, last = str(book[spool.tab].auto_filter.ref).partition(":")
        top, left = engines.row_and_column(first)
        bottom, right = engines.row_and_column(last)
        assert top <= spool.row <= bottom + 1 and left <= spool.column + 1 <= right, name
        assert bottom >= table.first + table.rows, name
        lists += 1
    assert lists >= 14
    where = made.book.fields["release.spool"]
    marks = made.book.fields["spools.mark"]
    pointed = [
        rule.formula1
        for rule in book[where.tab].data_validations.dataValidation
        if place(where)[1] in str(rule.sqref).split()
    ]
    assert pointed in (["spools_mark"], [f"={marks.defined_name}"]) or f"{marks.tab}" in str(pointed[0]), pointed
