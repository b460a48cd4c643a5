"""A second opinion on Weld log and Release: every line of both kept in Python, from what the other sheets hold.

Nothing of the templates is used here. A line of the log is read as a foreman reads it; the heat of a pipe is found by
the pipe's mark, that of a fitting by the joint before it. A released spool is gathered by its mark, and its picture is
laid down on paper from its work points.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from drawings import DASH, HAIRLINE, SHARE, WORK_POINTS, paper
from gauges import QUARTERS, counts_told, fine, number, said_nothing
from handover import OPEN, OUTSIDE, WITHIN
from held import Held
from live import Live, Place, Value, one_inch
from walk import _rows

DAY = 45000.0
"""A day of 2023, as a workbook counts days."""

BOXES = (
    "first_heat", "second_heat", "procedure", "welder", "accepted_by", "accepted_on", "root_on", "cap_on", "visual",
    "exam", "exam_result", "repair",
)  # fmt: skip
"""What is typed into a line of the log."""

COMPLETE: Mapping[str, Value] = {
    "first_heat": "H1", "second_heat": "H2", "procedure": "WPS-1", "welder": "K7", "accepted_by": "A.E.",
    "accepted_on": DAY, "root_on": DAY, "cap_on": DAY + 1, "visual": "accepted",
}  # fmt: skip

CHANCE: Mapping[str, Sequence[Value]] = {
    "first_heat": ["H1", None], "second_heat": ["H2", "", None], "procedure": ["WPS-1", None],
    "welder": ["K7", None], "accepted_by": ["A.E.", "A.E.", None], "accepted_on": [DAY, DAY, DAY + 1, None, "soon"],
    "root_on": [DAY, DAY + 1, DAY + 2, None, "yes"], "cap_on": [DAY + 1, DAY + 2, None, None],
    "visual": ["accepted", "accepted", "accepted", "rejected", None], "exam": ["none", "RT", "UT", None, None],
    "exam_result": ["accepted", None, None, "rejected"], "repair": [None, None, None, "needed", "done"],
}  # fmt: skip
"""What chance chooses of for each box."""

EARLY = "Welded before its fit-up was accepted: stop, and ask the inspector."
FLAGGED: Sequence[tuple[Mapping[str, Value], str]] = (
    ({"accepted_on": None}, EARLY),
    ({"accepted_by": None}, EARLY),
    ({"accepted_by": " "}, EARLY),
    ({"accepted_on": DAY + 1}, EARLY),
    ({"cap_on": DAY - 1}, f"{EARLY} The cap is dated before the root."),
    ({"root_on": "yes", "accepted_by": None}, f"{EARLY} The cap is dated, the root is not."),
    ({"root_on": None}, "The cap is dated, the root is not."),
    ({"visual": "rejected"}, "Visual rejected. Repair open."),
    ({"visual": "rejected", "repair": "done"}, "Visual rejected."),
    ({"exam": "RT", "exam_result": "rejected", "repair": "done"}, "Examination rejected."),
    ({"repair": "needed"}, "Repair open."),
    ({"exam_result": "accepted"}, "A result, and no examination named."),
    ({"exam": "none", "exam_result": "accepted"}, "A result, and no examination named."),
)
"""Changes of a complete line, and what is then flagged."""

LEFT_OPEN: Sequence[tuple[Mapping[str, Value], str]] = (
    ({"welder": None}, "Open: welder."),
    ({"procedure": None}, "Open: procedure."),
    ({"first_heat": None}, "Open: heat number."),
    ({"root_on": None, "cap_on": None}, "Open: root, cap."),
    ({"root_on": None, "cap_on": None, "accepted_on": None}, "Open: fit-up, root, cap."),
    ({"cap_on": None, "visual": None}, "Open: cap, visual."),
    ({"exam": "RT"}, "Open: RT."),
    ({"exam": "UT", "exam_result": "accepted"}, ""),
    ({"repair": "done"}, ""),
    ({"exam": "none"}, ""),
    ({"welder": " "}, "Open: welder."),
    ({"procedure": "  "}, "Open: procedure."),
)
"""Changes of a complete line, and what is then open; "" where it stays complete."""

Flat = tuple[float, float]
"""A place on paper, across and upwards."""

LINES, PRINTED, WIDE = 280, 48, 2.2
"""Lines on Release, those of them that are printed, and the drawing's width for its height."""

OWN = ("welds", "record", "release", "released", "release_points")
"""Tables and sheets that are looked at; what they hold is never read here."""


def is_day(value: Value) -> bool:
    """Whether a box holds a date."""
    return number(value) is not None


def words(value: Value) -> str:
    """What a box says; "" for a blank one, a whole number without a point."""
    return "" if value is None else f"{value:.12g}" if isinstance(value, float) else str(value)


def has_words(value: Value) -> bool:
    """Whether a box says something, and not only blanks."""
    return bool(words(value).replace(" ", ""))


# -- the weld log ------------------------------------------------------------------------------------------------------


@dataclass
class Line:
    """A line of the log.

    Attributes:
        got: what stands in its boxes.
        heats: heat of its first and second part, "" for one that is not known.
        procedure: the one that holds for it.
        fit: Fit-up's verdict on the joint.
        threaded: whether it is screwed together, with nothing to weld.
    """

    got: Mapping[str, Value]
    heats: tuple[str, str]
    procedure: str
    fit: Value
    threaded: bool = False

    @property
    def accepted(self) -> bool:
        """Whether somebody accepted the fit-up, and on a day."""
        return has_words(self.got["accepted_by"]) and is_day(self.got["accepted_on"])

    @property
    def welded(self) -> bool:
        """Whether anything says that it is welded."""
        return self.got["root_on"] is not None or self.got["cap_on"] is not None

    @property
    def days(self) -> dict[str, float]:
        """The days of root and cap, where they are days."""
        read = {name: number(self.got[name]) for name in ("root_on", "cap_on")}
        return {name: day for name, day in read.items() if day is not None}

    @property
    def early(self) -> bool:
        """Whether it was welded before its fit-up was accepted."""
        if not self.welded or not self.accepted:
            return self.welded
        accepted = number(self.got["accepted_on"])
        assert accepted is not None
        return any(day < accepted for day in self.days.values())

    @property
    def repair(self) -> bool:
        """Whether a repair is to be done."""
        rejected = "rejected" in (self.got["visual"], self.got["exam_result"])
        return self.got["repair"] == "needed" or rejected and self.got["repair"] != "done"

    @property
    def fit_bad(self) -> bool:
        """Whether it went on although its fit-up is outside."""
        return self.fit == OUTSIDE and (self.accepted or self.welded)

    @property
    def examined(self) -> bool:
        """Whether another examination is asked for."""
        return self.got["exam"] not in (None, "none")

    @property
    def open_boxes(self) -> dict[str, bool]:
        """Which of its boxes are open, in the order in which they are told."""
        weld, got = not self.threaded, self.got
        return {
            "heat number": not all(self.heats),
            "procedure": weld and not has_words(self.procedure),
            "welder": weld and not has_words(got["welder"]),
            "fit-up": not self.accepted,
            "root": weld and not is_day(got["root_on"]),
            "cap": weld and not is_day(got["cap_on"]),
            "visual": weld and got["visual"] != "accepted",
            "exam": self.examined and got["exam_result"] != "accepted",
            "repair": self.repair,
        }

    @property
    def flags(self) -> list[str]:
        """What is flagged, sentence by sentence."""
        days, got = self.days, self.got
        went_on = "Welded" if self.welded else "Accepted"
        said = {
            EARLY: self.early,
            f"{went_on} although Fit-up shows ✗: see there.": self.fit_bad,
            "The cap is dated before the root.": len(days) == 2 and days["cap_on"] < days["root_on"],
            "The cap is dated, the root is not.": "cap_on" in days and "root_on" not in days,
            "Visual rejected.": got["visual"] == "rejected",
            "Examination rejected.": got["exam_result"] == "rejected",
            "Repair open.": self.repair,
            "A result, and no examination named.": got["exam_result"] is not None and not self.examined,
        }
        return [sentence for sentence, holds in said.items() if holds]

    @property
    def missing(self) -> list[str]:
        """What is open, word by word; an examination by its letters."""
        return [str(self.got["exam"]) if word == "exam" else word for word, holds in self.open_boxes.items() if holds]

    @property
    def verdict(self) -> str:
        """✗, … or ✓."""
        return OUTSIDE if self.flags else OPEN if self.missing else WITHIN

    @property
    def action(self) -> str:
        """What it says in a sentence."""
        if self.flags:
            return " ".join(self.flags)
        return f"Open: {', '.join(self.missing)}." if self.missing else "Complete."


class Log:
    """The weld log of an open workbook, worked out from what is typed there and from the sheets before it."""

    def __init__(self, held: Held) -> None:
        self.held = held
        self.lines: list[Line | None] = []
        for row, joint in enumerate(held.all("joints.joint")):
            self.lines.append(None if joint is None else self._line(row))

    def got(self, row: int) -> dict[str, Value]:
        """What is typed in a line."""
        return {name: self.held.all(f"welds.{name}")[row] for name in BOXES}

    def piece(self, row: int, part: str) -> int:
        """Row of Cut steps (from 1) of the pipe that is a joint's first or second part; 0 where that is no pipe."""
        named = self.held.all(f"joints.{part}_part")[row]
        marks = self.held.all("cuts.mark")
        return marks.index(named) + 1 if named in marks else 0

    def has_parent(self, row: int) -> bool:
        """Whether the joint's leg hangs on the start or on a leg whose joints are known."""
        parent = number(self.held.value("legs.parent", self.held.all("joints.leg_row")[row]))
        if not parent:
            return parent == 0
        columns = ("joint_at_end", "made_up", "joints_before", "joint_count")
        return all(number(self.held.value(f"legs.{name}", parent)) is not None for name in columns)

    def fitting_joint(self, row: int) -> int | None:
        """Row (from 1) of the joint before of a first part that is a fitting; 0 for none, None where nobody knows."""
        held = self.held
        if not self.has_parent(row):
            return None
        side, leg = held.all("joints.side")[row], held.all("joints.leg_row")[row]
        if side == "item":  # the far side of an item: its near side is the joint before
            behind = held.all("joints.before")[row] == 0
            item = number(held.all("joints.item_row")[row])
            return row if behind and item and held.value("items.ends", item) == "butt" else 0
        if side != "start":
            return 0
        outlet, parent = held.value("legs.outlet_row", leg), held.value("legs.parent", leg)
        if outlet:
            return self._weld_of(outlet)
        if not parent:
            return 0
        last = max((at for at, of in enumerate(held.all("joints.leg_row")) if of == parent), default=None)
        if last is None:
            return 0
        ends_it = held.all("joints.side")[last] == "end" or held.value("legs.made_up", parent) == 1
        return last + 1 if ends_it else 0

    def _weld_of(self, outlet: float) -> int:
        """Row (from 1) of an outlet's weld to its header, found by the outlet's words."""
        held = self.held
        wanted = held.value("outlets.words", outlet), held.value("outlets.spool", outlet)
        names = zip(held.all("joints.second_part"), held.all("joints.spool"), strict=True)
        kinds = held.all("joints.kind")
        return next((at + 1 for at, each in enumerate(names) if each == wanted and kinds[at] == "branch"), 0)

    def heats(self, row: int) -> tuple[str, str]:
        """Heat of the first and the second part, "" for one that nobody knows."""
        held, got = self.held, self.got(row)
        found = []
        for part in ("first", "second"):
            heat, piece = words(got[f"{part}_heat"]), self.piece(row, part)
            if not heat and piece:
                heat = words(held.value("pieces.heat", piece))
            elif not heat and part == "first" and (before := self.fitting_joint(row)):
                heat = words(held.value("welds.second_heat", before))
            found.append(heat)
        return found[0], found[1]

    def _line(self, row: int) -> Line:
        got = self.got(row)
        procedure = words(got["procedure"]) or words(self.held.value("rules.procedure"))
        fit, kind = self.held.all("joints.verdict")[row], self.held.all("joints.kind")[row]
        return Line(got, self.heats(row), procedure, fit, kind == "threaded")

    def expected(self) -> dict[Place, Value]:
        """What every formula of the sheet gives, by name and row."""
        found: dict[Place, Value] = {}
        for row, line in enumerate(self.lines):
            cells = dict.fromkeys(COLUMNS) if line is None else self._cells(row, line)
            found |= {(f"welds.{name}", row): value for name, value in cells.items()}
        return found | {(f"welds.{name}", 0): value for name, value in self._sums().items()}

    def _cells(self, row: int, line: Line) -> dict[str, Value]:
        held = self.held
        leg = held.all("joints.leg_row")[row]
        wall = number(held.value("legs.wall", leg))
        fitting = self.fitting_joint(row)
        is_open, flags = line.open_boxes, {True: 1.0, False: 0.0}
        item = number(held.all("joints.item_row")[row])
        told = "".join(f", {word}" for word in line.missing)
        flagged = "".join(f"{sentence} " for sentence in line.flags)
        return {
            "spool": held.all("joints.spool")[row],
            "joint": held.all("joints.joint")[row],
            "size": held.value("legs.size", leg),
            "wall": wall,
            "kind": held.all("joints.kind")[row],
            "verdict": line.verdict,
            "action": line.action,
            "there": 1.0,
            "leg_row": leg,
            "spool_row": held.all("joints.spool_row")[row],
            "has_wall": None if wall is None else 1.0,
            "first_piece": float(self.piece(row, "first")),
            "second_piece": float(self.piece(row, "second")),
            "fitting_joint": None if fitting is None else float(fitting),
            "has_parent": 1.0 if self.has_parent(row) else None,
            "item_row": item or 0.0,
            "heat_one": line.heats[0] or None,
            "heat_two": line.heats[1] or None,
            "heats": " / ".join(heat or "?" for heat in line.heats),
            "procedure_said": line.procedure or None,
            "accepted": flags[line.accepted],
            "welded": flags[line.welded],
            "early": flags[line.early],
            "open_fit": flags[not line.accepted],
            "is_weld": flags[not line.threaded],
            "open_root": flags[is_open["root"]],
            "open_cap": flags[is_open["cap"]],
            "open_visual": flags[is_open["visual"]],
            "open_exam": flags[is_open["exam"]],
            "open_repair": flags[line.repair],
            "open_heats": flags[not all(line.heats)],
            "open": told or None,
            "fit_bad": flags[line.fit_bad],
            "flagged": flagged or None,
        }

    def _sums(self) -> dict[str, Value]:
        lines = [line for line in self.lines if line]
        fields = self.held.all("joints.kind").count("field")
        boxes = {"fit-up": "fit-up", "root": "root", "cap": "cap", "visual": "visual", "exam": "other examination",
                 "repair": "repair", "heat number": "heats"}  # fmt: skip
        still = ", ".join(f"{word} {sum(line.open_boxes[box] for line in lines)}" for box, word in boxes.items())
        early = sum(line.early for line in lines)
        preheat = self.preheat()
        told = f"; ✗ welded before the fit-up was accepted {early}" if early else ""
        return {
            "told": f"{counts_told([line.verdict for line in lines])}; {fields} of them field welds",
            "open_said": still,
            "early_total": float(early),
            "preheat_said": preheat,
            "check_1": f"Preheat: {preheat} The procedure's comes first, for tacks too.",
            "check_2": f"Still open: {still}{told}",
        }

    def preheat(self) -> str:
        """What the table says of preheat for code, edition and base metal."""
        code, metal = self.held.value("welds.code_edition"), self.held.value("welds.p_number")
        if code is None or metal is None:
            return "Say code, edition and P-number first: what is asked for differs by edition."
        row = next((row for row in _rows("preheat") if (row["code"], row["p_number"]) == (code, metal)), None)
        if row is None:
            return "Not in this book: see your edition."
        said = row[f"line_{self.held.edition}"]
        return said + (" † from memory, verify" if row["status"].startswith("from memory") else "")


COLUMNS = (
    "spool", "joint", "size", "wall", "kind", "verdict", "action", "there", "leg_row", "spool_row", "has_wall",
    "first_piece", "second_piece", "fitting_joint", "has_parent", "item_row", "heat_one", "heat_two", "heats",
    "procedure_said", "accepted", "welded", "early", "open_fit", "is_weld", "open_root", "open_cap", "open_visual",
    "open_exam", "open_repair", "open_heats", "open", "fit_bad", "flagged",
)  # fmt: skip
"""The log's formula columns."""


# -- the release of a spool --------------------------------------------------------------------------------------------


SORTS = ("Piece", "Joint", "Flange", "Dimension")
TABLES: Mapping[str, str] = {"Piece": "pieces", "Joint": "joints", "Flange": "flanges", "Dimension": "dimensions"}
ELSEWHERE: Mapping[str, tuple[str, str, str]] = {
    "Ends": ("ends", "piece_row", "Piece"),
    "Bevel": ("bevels", "piece_row", "Piece"),
    "Level": ("levels", "number", "Joint"),
    "Bores": ("bores", "joint_row", "Joint"),
    "Tacks": ("tacks", "joint_row", "Joint"),
}
"""Sheets that have no line on Release: table, the column that says of what a reading is, and which lines those are."""

NOT_BUTT = ("fillet", "socket", "threaded", "branch")
"""Kinds of joint without gap and hi-lo."""


@dataclass
class Entry:
    """A line of the record: what it is about, its row there (from 1), and what it says."""

    sort: str
    row: int
    cells: dict[str, Value]

    def says(self, column: str, mark: str) -> bool:
        """Whether a verdict of it begins with a mark."""
        return words(self.cells[column]).startswith(mark)

    @property
    def bad(self) -> bool:
        """Whether a ✗ stands in it."""
        return self.says("verdict", "✗") or self.says("second", "✗")

    @property
    def later(self) -> bool:
        """Whether it is a field weld that is still to be made."""
        return self.cells["field"] == 1 and not self.bad and not self.says("second", "✓")

    @property
    def open(self) -> bool:
        """Whether something of it is open that holds the spool up."""
        return not self.bad and not self.later and (self.says("verdict", "…") or self.says("second", "…"))

    @property
    def good(self) -> bool:
        """Whether nothing of it is open."""
        return not (self.bad or self.later or self.open)


class Record:
    """The release of the chosen spool, gathered by its mark.

    Args:
        held: the sheets before.
        log: the weld log.
    """

    def __init__(self, held: Held, log: Log) -> None:
        self.held, self.log = held, log
        self.edition = held.edition
        asked, marks = held.value("release.spool"), held.all("spools.mark")
        self.asked = asked
        self.spool_row = 0 if marks[0] is None else 1
        if asked is not None:
            self.spool_row = next((at for at, mark in enumerate(marks, start=1) if mark == asked), 0)
        self.mark = marks[self.spool_row - 1] if self.spool_row else None
        self.legs = self._rows_of("legs")
        self.rows = {sort: self._rows_of(table) if self.legs else [] for sort, table in TABLES.items()}

    def _rows_of(self, table: str) -> list[int]:
        """Rows (from 1) of a table that are the spool's."""
        column = self.held.all(f"{table}.spool")
        return [at for at, mark in enumerate(column, start=1) if mark == self.mark and mark is not None]

    # - the lines

    @cached_property
    def entries(self) -> list[Entry]:
        """Every line of the spool, in the order of the page; the page may be too short for all."""
        made = {"Piece": self._piece, "Joint": self._joint, "Flange": self._flange, "Dimension": self._dimension}
        found = []
        for sort in SORTS:
            for row in self.rows[sort]:
                cells = {**dict.fromkeys(LINE_COLUMNS), "what": sort, **made[sort](row)}
                found.append(Entry(sort, row, cells))
        return found

    def amount(self, value: Value) -> str:
        """A reading as it was taken, a point where there is none."""
        read = number(value)
        if read is None:
            return "·"
        sign = "-" if read < 0 and not said_nothing(read, self.edition) else ""
        return sign + fine(read, self.edition)

    def _piece(self, row: int) -> dict[str, Value]:
        at = {name: self.held.value(f"pieces.{name}", row) for name in PIECE_COLUMNS}
        cut_to, cut_by = words(at["cut_to"]), words(at["cut_by"])
        traced = f"heat {words(at['heat']) or '?'}"
        traced += f", rev {cut_to}" if cut_to else ""
        traced += f", by {cut_by}" if cut_by else ""
        remark = {"✗": words(at["stops"]) or f"Off by {self.amount(at['difference'])}.", "…": "to cut"}
        ends = " – ".join(words(at[name]) for name in ("start_item", "end_item"))
        return {
            "mark": at["mark"],
            "about": f"{words(at['size'])} {words(at['schedule'])}, {ends}",
            "traced": traced,
            "wanted": number(at["cut_length"]),
            "made": number(at["as_cut"]),
            "verdict": at["verdict"],
            "remark_one": self._remark(at["verdict"], remark),
        }

    def _joint(self, row: int) -> dict[str, Value]:
        at = {name: self.held.value(f"joints.{name}", row) for name in JOINT_COLUMNS}
        line = self.log.lines[row - 1]
        assert line is not None
        read = {name: number(at[name]) for name in READ}
        gaps = ", ".join(self.amount(at[f"gap_{name}"]) for name in QUARTERS)
        steps = ", ".join(self.amount(at[f"hi_lo_{name}"]) for name in QUARTERS)
        butt = at["kind"] not in NOT_BUTT
        action = words(at["action"])
        remark = {"✗": action.removesuffix(" ") or None, "…": "to measure"}
        return {
            "mark": at["joint"] + ("" if at["kind"] == "butt" else f", {at['kind']}"),
            "about": f"{words(at['first_part'])} – {words(at['second_part'])}",
            "traced": f"{' / '.join(heat or '?' for heat in line.heats)}, {line.procedure or '?'},"
            f" welder {words(line.got['welder']) or '?'}",
            **read,
            "fillet": 0.0 if butt else 1.0,
            "gaps_said": gaps,
            "hi_los_said": steps,
            "readings": f"gap {gaps}; hi-lo {steps}" if butt else None,
            "field": 1.0 if at["kind"] == "field" else 0.0,
            "verdict": at["verdict"],
            "second": line.verdict,
            "remark_one": self._remark(at["verdict"], remark),
            "remark_two": None if line.verdict == WITHIN else line.action,
        }

    def _flange(self, row: int) -> dict[str, Value]:
        held = self.held
        off, tilt = number(held.value("flanges.offset", row)), number(held.value("faces.face_tilt", row))
        verdict, face = held.value("flanges.verdict", row), held.value("faces.verdict", row)
        remark = {"✗": held.value("flanges.action", row), "…": "to measure"}
        size, kind = words(held.value("flanges.size", row)), words(held.value("flanges.flange_class", row))
        second = {"✗": held.value("faces.action", row), "…": "face to measure"}
        return {
            "mark": held.value("flanges.flange", row),
            "about": f"size {size}, class {kind}",
            "readings": f"holes {self.amount(off)}, face {self.amount(tilt)}",
            "hole_offset": off,
            "face_tilt": tilt,
            "verdict": verdict,
            "second": face,
            "remark_one": self._remark(verdict, remark),
            "remark_two": second.get(words(face)[:1]),
        }

    def _dimension(self, row: int) -> dict[str, Value]:
        at = {name: self.held.value(f"dimensions.{name}", row) for name in DIMENSION_COLUMNS}
        limit, by = number(at["tolerance"]), words(at["measured_by"])
        remark = {"✗": at["action"], "…": "to measure"}
        return {
            "mark": at["dimension"],
            "about": None if limit is None else f"± {fine(limit, self.edition)}",
            "traced": f"by {by}" if by else None,
            "wanted": number(at["drawing"]),
            "made": number(at["as_built"]),
            "verdict": at["verdict"],
            "remark_one": self._remark(at["verdict"], remark),
        }

    @staticmethod
    def _remark(verdict: Value, remark: Mapping[str, Value]) -> Value:
        """What is said of a line's own verdict."""
        if words(verdict) == "… rule missing":
            return "a rule is missing"
        return remark.get(words(verdict)[:1])

    # - what holds of the whole spool

    @cached_property
    def outside(self) -> dict[str, int]:
        """Rows of the spool that are outside on the sheets without a line here."""
        found = {}
        for sheet, (table, column, sort) in ELSEWHERE.items():
            rows = zip(self.held.all(f"{table}.{column}"), self.held.all(f"{table}.verdict"), strict=True)
            found[sheet] = sum(of in self.rows[sort] and verdict == OUTSIDE for of, verdict in rows)
        return found

    @property
    def outside_said(self) -> str:
        """The same in words."""
        return ", ".join(f"{sheet} {many}" for sheet, many in self.outside.items() if many)

    @property
    def listed(self) -> list[Entry]:
        """The lines for which the page has room."""
        return self.entries[:LINES]

    @property
    def shown(self) -> str:
        """Which spool it is, in words."""
        if not self.spool_row:
            return "no spool yet: type one on Spools" if self.asked is None else "no such spool"
        drawing, revision, material = (
            words(self.held.value(f"spools.{name}", self.spool_row)) for name in ("drawing", "revision", "material")
        )
        told = words(self.mark) + (f", drawing {drawing}" if drawing else "")
        return told + (f" rev {revision}" if revision else "") + (f", {material}" if material else "")

    @property
    def stopped(self) -> int:
        """Legs that cannot be made."""
        return sum(self.held.value("legs.stopped", leg) == 1 for leg in self.legs)

    @property
    def standing(self) -> str | None:
        """How it stands with the spool."""
        bad, later, still = (sum(getattr(entry, name) for entry in self.listed) for name in ("bad", "later", "open"))
        if not self.spool_row:
            return None
        if self.stopped:
            return f"✗ cannot be made as drawn: {self.stopped} legs with a ✗ on the Route"
        if not self.entries:
            return "… this spool has no lines yet"
        if bad or self.outside_said:
            told = f"✗ {bad} lines with a ✗, {still} open" + (
                f"; ✗ on {self.outside_said}" if self.outside_said else ""
            )
        else:
            told = f"… {still} lines open" if still else "✓ complete: every line is filled and within"
        return told + (f"; {later} field welds to follow" if later else "")

    @property
    def counts(self) -> str:
        """How many lines of each sort are done."""
        told = []
        for sort in SORTS:
            of_it = [entry for entry in self.listed if entry.sort == sort]
            told.append(f"{sum(entry.good for entry in of_it)} of {len(of_it)} {sort.lower()}s ✓")
        return "; ".join(told)

    @property
    def print_said(self) -> str:
        """Whether the page and its print have room for all lines."""
        many = len(self.entries)
        if many > LINES:
            return f"✗ this list is too short: {many - LINES} lines are missing"
        if many > PRINTED:
            return f"✗ the print range ends after {PRINTED} lines, this spool has {many}: make it longer"
        return f"all {many} lines are in the print range; filter the blank ones away at What"

    @property
    def gauges(self) -> str:
        """What was measured with."""
        asked = {"square": "ends.square", "gap and hi-lo gauge": "fitup.gauge", "level": "flanges.level",
                 "tape": "dimensions.tape"}  # fmt: skip
        return ", ".join(f"{word} {words(self.held.value(name)) or '____'}" for word, name in asked.items())

    def _flanges_before(self) -> int:
        """Flanges of the legs before the spool's first."""
        legs = [number(leg) for leg in self.held.all("flanges.leg_row")]
        return sum(leg is not None and leg < self.legs[0] for leg in legs)

    def _single(self) -> Iterator[tuple[str, Value]]:
        many = len(self.entries)
        limits = words(self.held.value("rules.standing"))
        yield "shown", self.shown
        yield "limits", limits
        yield "standing", self.standing
        yield "counts", self.counts
        yield "gauges", self.gauges
        yield "print_said", self.print_said
        yield "spool_row", float(self.spool_row) if self.spool_row else None
        yield "first_leg", float(self.legs[0]) if self.legs else 0.0
        yield "leg_count", float(len(self.legs))
        yield "stopped", float(self.stopped)
        for sort in SORTS:
            rows = self.rows[sort]
            first = rows[0] if rows else self._flanges_before() + 1 if sort == "Flange" and self.legs else 0
            yield f"{sort.lower()}_first", float(first)
            yield f"{sort.lower()}_count", float(len(rows))
        for sheet, outside in self.outside.items():
            yield {"Bevel": "bevels", "Level": "levels"}.get(sheet, sheet.lower()) + "_outside", float(outside)
        yield "elsewhere", float(sum(self.outside.values()))
        yield "elsewhere_said", self.outside_said or None
        yield "lines_total", float(many)
        yield "check_1", f"✓: {limits}."
        yield "check_2", f"Of it {self.counts}." if many else None
        elsewhere = f"✗ readings outside on sheets that have no line here: {self.outside_said}."
        correct = f"{elsewhere} Correct and read again, or clear what no longer holds."
        yield "check_3", correct if self.outside_said else None
        yield "check_4", f"Measured with {self.gauges}."
        yield "check_5", f"To print: {self.print_said}."

    def expected(self) -> dict[Place, Value]:
        """What every formula of the sheet gives, by name and row."""
        found: dict[Place, Value] = {(f"release.{name}", 0): value for name, value in self._single()}
        for at in range(LINES):
            entry = self.listed[at] if at < len(self.listed) else None
            cells = self._cells(entry) if entry else EMPTY
            found |= {(f"record.{name}", at): value for name, value in cells.items()}
        return found

    @staticmethod
    def _cells(entry: Entry) -> dict[str, Value]:
        remarks = [words(entry.cells[name]) for name in ("remark_one", "remark_two")]
        remark: Value = "; ".join(filter(None, remarks)) or None
        if not entry.bad and not entry.open:
            remark = "field weld, to follow" if entry.later else None
        flags = {name: float(getattr(entry, name)) for name in ("bad", "later", "open", "good")}
        rows: dict[str, Value] = {f"{sort.lower()}_row": None for sort in SORTS}
        rows[f"{entry.sort.lower()}_row"] = float(entry.row)
        return {**entry.cells, **flags, **rows, "sort": SORTS.index(entry.sort) + 1.0, "remark": remark}


READ = tuple(f"{kind}_{name}" for kind in ("gap", "hi_lo") for name in QUARTERS)
PIECE_COLUMNS = (
    "mark", "size", "schedule", "start_item", "end_item", "heat", "cut_to", "cut_by", "cut_length", "as_cut",
    "difference", "verdict", "stops",
)  # fmt: skip
JOINT_COLUMNS = ("joint", "kind", "first_part", "second_part", "verdict", "action", *READ)
DIMENSION_COLUMNS = ("dimension", "tolerance", "measured_by", "drawing", "as_built", "verdict", "action")
LINE_COLUMNS = (
    "what", "mark", "about", "traced", "wanted", "made", "readings", "verdict", "second", *READ, "fillet",
    "gaps_said", "hi_los_said", "hole_offset", "face_tilt", "field", "remark_one", "remark_two",
)  # fmt: skip
EMPTY: Mapping[str, Value] = {
    **dict.fromkeys(LINE_COLUMNS),
    **{f"{sort.lower()}_row": None for sort in SORTS},
    **dict.fromkeys(("sort", "bad", "later", "open", "good"), 0.0),
    "remark": None,
}
"""A line below the last one."""


# -- its picture -------------------------------------------------------------------------------------------------------


def expected_points(record: Record) -> dict[Place, Value]:
    """What Release points shows: the work points of the chosen spool, on paper and in space."""
    held, legs = record.held, record.legs
    drawn = min(len(legs), WORK_POINTS - 1)
    points = [(0.0, 0.0, 0.0), *(place_of(held, leg, "end") for leg in legs[:drawn])]
    flat = [None if point is None else paper(point) for point in points]
    known = [place for place in flat if place is not None]
    across, upwards = zip(*known, strict=True)
    wide, high = max(across) - min(across), max(upwards) - min(upwards)
    scale = max(wide / WIDE, high, one_inch(record.edition))
    middle = ((max(across) + min(across)) / 2, (max(upwards) + min(upwards)) / 2)

    def put(place: Flat | None) -> Flat:
        """Where a place falls in the drawing; one that nobody knows falls where the spool starts."""
        x, y = place or (0.0, 0.0)
        return WIDE / 2 + SHARE * (x - middle[0]) / scale, 0.5 + SHARE * (y - middle[1]) / scale

    told = record.shown + (f"; only the first {drawn} legs are drawn" if len(legs) > drawn else "")
    found: dict[Place, Value] = {
        ("release_points.told", 0): told,
        ("release_points.drawn", 0): float(drawn),
        ("release_points.scale", 0): scale,
        ("release_points.middle_x", 0): middle[0],
        ("release_points.middle_y", 0): middle[1],
    }
    for at in range(WORK_POINTS):
        leg = legs[at - 1] if 0 < at <= drawn else None
        there = flat[at] if at <= drawn else None
        here = put(there if at <= drawn else flat[drawn])
        cells: dict[str, Value] = {
            "label": ("start" if at == 0 else str(at)) if at <= drawn else None,
            "number": float(at),
            "leg_row": None if leg is None else float(leg),
            "start_row": 1.0,
            "branch_x": None,
            "branch_y": None,
            "draw_row": float(min(at, drawn) + 1),
            "x_to": here[0],
            "y_to": here[1],
            "x_from": here[0] - (HAIRLINE if at else DASH),
            "y_from": here[1],
        }
        point = points[at] if at <= drawn else None
        for name, value in zip("xyz", point or (None, None, None), strict=True):
            cells[name] = value
        cells["flat_x"], cells["flat_y"] = there or (None, None)
        for name in ("leg", "size", "end", "length"):
            cells[name] = None if leg is None else held.value(f"legs.{name}", leg)
        if at == 0 and record.spool_row:
            cells["end"] = held.value("spools.start", record.spool_row)
        if leg is not None:
            cells |= _from(held, legs, leg, [put(each) for each in flat], put)
        found |= {(f"released.{name}", at): value for name, value in cells.items()}
    return found


def place_of(held: Held, leg: float, side: str) -> tuple[float, float, float] | None:
    """Where a leg's start or end lies from the start of its spool: east, north, up; None where nobody knows."""
    east, north, up = (number(held.value(f"legs.{axis}_{side}", leg)) for axis in "xyz")
    return None if east is None or north is None or up is None else (east, north, up)


def _from(
    held: Held, legs: Sequence[int], leg: int, drawn: Sequence[Flat], put: Callable[[Flat], Flat]
) -> dict[str, Value]:
    """Where a leg's line begins: at the work point that it leaves, or at its outlet on the header's centreline."""
    parent = held.value("legs.parent", leg)
    start = legs.index(parent) + 1 if parent in legs else 0
    x, y = drawn[start]
    found: dict[str, Value] = {"start_row": start + 1.0}
    place = place_of(held, leg, "start")
    if held.value("legs.outlet_row", leg) and place is not None:
        branch = paper(place)
        found["branch_x"], found["branch_y"] = branch
        x, y = put(branch)
    return found | {"x_from": x, "y_from": y}


def expected(book: Live) -> dict[Place, Value]:
    """What Weld log, Release and its points must hold in an open workbook as it is typed now."""
    held = Held(book, OWN)
    log = Log(held)
    record = Record(held, log)
    return {**log.expected(), **record.expected(), **expected_points(record)}
