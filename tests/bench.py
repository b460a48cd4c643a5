"""How long building and listing take, each as a whole process.

Building is set against a bare XlsxWriter process that writes the same cells: the same formulas, stored values, texts
and formats, in the same order, without knowing where they come from. Run with `make bench`.
"""

from __future__ import annotations

import argparse
import functools
import marshal
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent

FORMULAS = 20_000
"""A job has at least that many formulas to be measured."""

MOST_TIMES = 2.0
"""Building may take at most that many times as long as writing alone."""

MOST_SECONDS_TO_LIST = 0.5
RECORDED = (
    "write_string",
    "write_number",
    "write_formula",
    "write_blank",
    "write_boolean",
    "merge_range",
    "set_row",
    "set_column",
)

Call = tuple[int, str, list[Any]]

BARE = """
import marshal, sys, time
started = time.perf_counter()
with open(sys.argv[1], "rb") as file:
    formats, sheets, calls = marshal.load(file)
loaded = time.perf_counter() - started
import xlsxwriter
book = xlsxwriter.Workbook(sys.argv[2], {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
looks = [book.add_format(properties) for properties in formats]
made = [book.add_worksheet(name) for name in sheets]
for sheet, method, args, at, look in calls:
    if at >= 0:
        args[at] = looks[look]
    getattr(made[sheet], method)(*args)
book.close()
print(loaded)
"""


def job_text(spools: int) -> str:
    """A job of many spools: plain, rolling, with a tee, with a cut elbow, by turns."""
    parts = ['schema = 1\n[job]\nname = "Bench"\nnumber = "BENCH"\nunits = "inch"\n']
    for number in range(1, spools + 1):
        size, long = ("6", "4", "8", "3")[number % 4], 30 + number % 17
        parts.append(
            f'[[spool]]\nmark = "B-{number:03}"\nsize = "{size}"\nschedule = "STD"\nclass = 150\n'
            f'start = "weld_neck_flange"\n'
            f'[[spool.leg]]\neast = "{long} 1/2 in"\nend = "elbow"\n'
            f'[[spool.leg]]\nup = "{long + 12} in"\nend = "elbow"\n'
            f'[[spool.leg]]\nnorth = "{long + 20} 1/16 in"\neast = "{long + 3} in"\nend = "elbow"\n'
            f'[[spool.leg]]\nnorth = "{long + 40} in"\nend = "weld_neck_flange"\n'
        )
    return "".join(parts)


def record(job: Path, workbook: str) -> tuple[list[dict[str, Any]], list[str], list[tuple[Any, ...]]]:
    """Build once in this process and note every cell that is written: formats, sheets, calls."""
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from workbook_builder.build import workshop
    from workbook_builder.job_reading import load_schema, read

    formats: list[dict[str, Any]] = []
    known: dict[int, int] = {}
    keep: list[Format] = []
    sheets: list[str] = []
    calls: list[tuple[Any, ...]] = []
    depth = 0

    add_format, add_worksheet = Workbook.add_format, Workbook.add_worksheet

    def noted_format(self: Workbook, properties: dict[str, Any] | None = None) -> Format:
        made = add_format(self, properties)
        if not {"xf_index", "hyperlink"} & set(properties or {}):  # those two every workbook makes for itself
            known[id(made)] = len(formats)
            formats.append(dict(properties or {}))
            keep.append(made)
        return made

    def noted_sheet(self: Workbook, name: str | None = None, *more: Any) -> Worksheet:
        sheets.append(str(name))
        return add_worksheet(self, name, *more)

    def noting(method: str, real: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(real)
        def call(self: Worksheet, *args: Any) -> Any:
            nonlocal depth
            if depth == 0:
                at = next((i for i, arg in enumerate(args) if isinstance(arg, Format)), -1)
                plain = [None if isinstance(arg, Format) else arg for arg in args]
                calls.append((sheets.index(self.name), method, plain, at, known[id(args[at])] if at >= 0 else -1))
            depth += 1
            try:
                return real(self, *args)
            finally:
                depth -= 1

        return call

    real = {method: getattr(Worksheet, method) for method in RECORDED}
    made = workshop()
    wanted = read(job, load_schema(made.shelf.folder, made.units), made.library)
    try:
        Workbook.add_format, Workbook.add_worksheet = noted_format, noted_sheet
        for method, function in real.items():
            setattr(Worksheet, method, noting(method, function))
        made.build(workbook, wanted)
    finally:
        Workbook.add_format, Workbook.add_worksheet = add_format, add_worksheet
        for method, function in real.items():
            setattr(Worksheet, method, function)
    return formats, sheets, calls


def seconds(command: Sequence[str | Path]) -> tuple[float, str]:
    """How long a process takes, and what it prints."""
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, *map(str, command)],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    taken = time.perf_counter() - started
    if done.returncode:
        sys.exit(f"{command}: {done.stderr}")
    return taken, done.stdout


def main() -> int:
    """Measure and print; exit 1 when a number is over its limit."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--workbook", default="spool")
    arguments.add_argument("--spools", type=int, default=8)
    arguments.add_argument("--rounds", type=int, default=5)
    chosen = arguments.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        job, cells, bare = folder / "job.toml", folder / "cells", folder / "bare.py"
        job.write_text(job_text(chosen.spools), encoding="utf-8")
        bare.write_text(BARE, encoding="utf-8")
        recorded = record(job, chosen.workbook)
        cells.write_bytes(marshal.dumps(recorded))
        formulas = sum(call[1] == "write_formula" for call in recorded[2])
        building, writing, listing = [], [], []
        for _ in range(chosen.rounds):
            command = ["-m", "workbook_builder", "build", chosen.workbook, "--job", job, "--out", folder / "built.xlsx"]
            building.append(seconds(command)[0])
            taken, loaded = seconds([bare, cells, folder / "bare.xlsx"])
            writing.append(taken - float(loaded))
            listing.append(seconds(["-m", "workbook_builder", "list"])[0])
        times = min(building) / min(writing)
        size = f"{chosen.spools} spools, {formulas} formulas, {len(recorded[2])} cells"
        print(f"{chosen.workbook}: {size}; best of {chosen.rounds}")
        print(f"  build            {min(building):6.2f} s   {formulas / min(building):8.0f} formulas a second")
        print(f"  XlsxWriter alone {min(writing):6.2f} s")
        print(f"  ratio            {times:6.2f}     limit {MOST_TIMES:g}")
        print(f"list               {min(listing):6.2f} s   limit {MOST_SECONDS_TO_LIST:g}")
    good = formulas >= FORMULAS and times <= MOST_TIMES and min(listing) < MOST_SECONDS_TO_LIST
    if formulas < FORMULAS:
        print(f"too small: at least {FORMULAS} formulas are to be measured")
    return 0 if good else 1


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    sys.exit(main())
