"""A yard of spools with many flanges, open in an engine, and what a fitter does to the sheets that read them.

Every spool is one pipe between two flanges, level or upright, of all sizes and classes in turn, so that one typing of
the workbook tries a hundred flanges and joints at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from live import Live, Place, Value, some
from routes import job_text
from walk import Facts, _rows

SHEETS = (
    "rules", "spools", "route", "details", "leg_more", "outlets",
    "items", "cutlist", "cut_steps", "ends", "fitup", "flanges", "faces",
    "drilled", "face_steps", "levels", "key", "tables_used",
)  # fmt: skip
"""What the sheets that are tried here rest on; the others would only take time."""

WAYS = (("east", 1.0), ("north", -1.0), ("up", 1.0), ("up", -1.0))


def wall_of(size: str) -> str:
    """A schedule that the pipe table has."""
    known = [row["schedule"] for row in _rows("pipe") if row["size"] == size and row["wall_in"] and row["wall_mm"]]
    return "STD" if "STD" in known else known[0]


def spools(units: str) -> list[dict[str, Any]]:
    """One spool of each size and class that has a weld neck flange; the kinds of flange take turns at the start."""
    found: list[dict[str, Any]] = []
    sizes = {row["size"] for row in _rows("pipe")}
    drilled = [row for row in _rows("flange") if row["weld_neck_in"] and row["weld_neck_mm"] and row["size"] in sizes]
    if units == "mm":
        drilled = [*drilled[::5], *[row for row in _rows("flange_en") if row["size"] in sizes][::2]]
    else:
        drilled = drilled[::4]
    for at, row in enumerate(drilled):
        axis, sign = WAYS[at % len(WAYS)]
        start = "weld_neck_flange"
        if "raised_face_od_in" in row and at % 5 == 4 and row["slip_on_in"] and row["slip_on_mm"]:
            start = "slip_on_flange"
        leg: dict[str, Any] = {axis: sign * (120 if units == "inch" else 3000), "end": "weld_neck_flange"}
        found.append(
            {"mark": f"Y{at + 1}", "size": row["size"], "schedule": wall_of(row["size"]), "class": row["class"]}
            | {"start": start, "leg": [leg]}
        )
    return found


class Yard(Live):
    """A workbook that knows where somebody typed.

    Args:
        text: the job file.
        edition: "inch" or "mm".
    """

    def __init__(self, text: str | None, edition: str) -> None:
        self.touched: set[Place] = set()
        super().__init__(text, edition, some(SHEETS))

    def put(self, name: str, value: Value, row: int = 0) -> None:
        """Type a value; None clears the cell."""
        self.touched.add((name, row))
        super().put(name, value, row)


def opened(text: str | None, edition: str) -> Yard:
    """A job in that workbook."""
    return Yard(text, edition)


@cache
def yard(edition: str) -> Yard:
    """The yard's workbook in one edition; whoever types into it clears it first."""
    return opened(job_text(spools(edition), edition), edition)


@cache
def facts(edition: str) -> list[dict[str, Any]]:
    """What the tables say of the yard's flanges, in the order of the sheet."""
    known = Facts(edition)
    found: list[dict[str, Any]] = []
    for spool in spools(edition):
        name = "flange_en" if spool["class"].startswith("PN") else "flange"
        row = known.row(name, size=spool["size"], **{"class": spool["class"]})
        pipe = known.row("pipe", size=spool["size"], schedule=spool["schedule"])
        values: dict[str, Any] = {key: known.value(row, key) for key in ("bolt_circle", "hole", "od")}
        values["raised_face_od"] = known.value(row, "raised_face_od") if name == "flange" else None
        values |= {"n": int(row["bolt_count"]), "pipe_od": known.value(pipe, "od"), "wall": known.value(pipe, "wall")}
        values |= {"upright": "up" in spool["leg"][0], "spool": spool}
        found += [values | {"last": False, "kind": spool["start"]}, values | {"last": True, "kind": "weld_neck_flange"}]
    return found


def typed_columns(live: Live, table: str) -> list[str]:
    """Columns of a table that somebody types into."""
    return [field.name for field in live.book.fields.values() if field.table == table and field.typed]


def clear(live: Yard) -> None:
    """Wipe what was typed."""
    for name, row in live.touched:
        Live.put(live, name, None, row)
    live.touched.clear()
    for name, value in RULES[live.edition].items():
        Live.put(live, name, value)


RULES: Mapping[str, Mapping[str, Value]] = {
    "inch": {"rules.two_hole_max": 1 / 16, "rules.root_face": 1 / 16, "levels.usual": "degrees", "drilled.times": 5},
    "mm": {"rules.two_hole_max": 1.6, "rules.root_face": 1.6, "levels.usual": "degrees", "drilled.times": 5},
}


def fill(live: Yard, table: str, rows: Iterable[Mapping[str, Value]]) -> None:
    """Clear a table, type rows into it and recompute."""
    clear(live)
    for at, row in enumerate(rows):
        for column, value in row.items():
            live.put(f"{table}.{column}", value, at)
    live.calculate()
