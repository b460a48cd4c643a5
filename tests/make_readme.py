"""Rewrite the lists of README.md and DEVELOPERS.md that follow from the data. Run with `make readme`.

A list stands between two comments that name it; what is between them is replaced.
"""

from __future__ import annotations

import re
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
STATUSES = {
    "published, seen twice": "twice",
    "published, seen once": "once",
    "corrected misprint": "mended",
    "from memory, verify": "memory",
    "worked out": "of these worked out",
}


def refreshed(file: str, text: str) -> str:
    """A document's text with its lists as they should be."""
    for name, lines in LISTS[file].items():
        start, end = f"<!-- {name}: written by `make readme` -->", f"<!-- /{name} -->"
        assert text.count(start) == text.count(end) == 1, name
        before, rest = text.split(start)
        text = "\n".join([before + start, "", *lines(), "", end + rest.split(end)[1]])
    return text


def first_sentence(text: str) -> str:
    """The first sentence of a text."""
    return re.split(r"(?<=\.) ", text, maxsplit=1)[0]


def sheets() -> list[str]:
    """Every sheet of every workbook with its purpose."""
    from workbook_builder.build import workshop

    shelf = workshop().shelf
    lines: list[str] = []
    for name in shelf.names("workbooks"):
        workbook = shelf.workbook(name)
        lines += ["", f"The workbook `{name}`: {workbook.purpose}", "", "| sheet | what for |", "|---|---|"]
        for sheet in map(shelf.sheet, workbook.sheets):
            lines.append(f"| {sheet.tab} | {cell(first_sentence(sheet.purpose or sheet.title))} |")
    return lines[1:]


def job_keys() -> list[str]:
    """Every table of a job file with its keys."""
    from workbook_builder.build import workshop
    from workbook_builder.job_reading import load_schema

    shop = workshop()
    schema = load_schema(shop.shelf.folder, shop.units)
    lines: list[str] = []
    for path, group in schema.groups.items():
        head = f"[[{path}]]" if group.many else f"[{path}]"
        lines += ["", f"**`{head}`** {group.about}", ""]
        lines += [f"- `{field.name}`: {field.about}{takes(field)}" for field in group.field]
    return lines[1:]


def takes(field: Any) -> str:
    """What a key takes, beyond what it is about, as words in brackets."""
    said: list[str] = []
    if field.unit != "text":
        said.append(field.unit.replace("_", " "))
    if isinstance(field.choices, str):
        said.append(f"one of `{field.choices}`")
    elif field.choices:
        said.append(" | ".join(f"`{one}`" for one in field.choices))
    if field.required:
        said.append("**required**")
    if field.default is not None:
        said.append(f"default `{str(field.default).lower()}`")
    return f" ({'; '.join(said)})" if said else ""


def ends() -> list[str]:
    """Every end and outlet with its number on the drawing, what its take-out means and how a job file says it."""
    from workbook_builder.build import workshop

    lines = ["| no. | end | take-out: from the work point to the pipe | in the job file |", "|---:|---|---|---|"]
    for table in workshop().shelf.sheet("key").table:
        fixed = {column.name: column.fixed for column in table.column}
        if "says" in fixed:
            columns = [fixed[name] for name in ("place", "words", "meaning", "says")]
            for place, words, meaning, says in zip(*columns, strict=True):
                lines.append(f"| {place} | {words} | {cell(str(meaning))} | `{cell(str(says))}` |")
    return lines


def tables() -> list[str]:
    """Every reference table: rows, values by status, standard and sources."""
    from workbook_builder.tables import load

    library = load()
    words = list(STATUSES.values())
    lines = [
        f"| table | name | rows | {' | '.join(words)} | how far checked | sources |",
        f"|---|---|---:|{'---:|' * len(words)}---|---|",
    ]
    totals = dict.fromkeys(STATUSES, 0)
    for name in library.names():
        table = library.table(name)
        counts = table.counts("inch")
        unknown = set(counts) - set(STATUSES)
        assert not unknown, f"{name}: {unknown}"
        for status in STATUSES:
            totals[status] += counts.get(status, 0)
        numbers = " | ".join(str(counts.get(status, 0)) for status in STATUSES)
        sources = ", ".join(source.partition(":")[0] for source in table.sources)
        row = [table.title, f"`{name}`", str(table.row_count), numbers, cell(table.status), cell(sources)]
        lines.append(f"| {' | '.join(row)} |")
    numbers = " | ".join(f"**{total}**" for total in totals.values())
    rows = sum(library.table(name).row_count for name in library.names())
    lines.append(f"| **all** | | **{rows}** | {numbers} | | |")
    return lines


def kinds() -> list[str]:
    """Every kind of quantity with its units."""
    from workbook_builder.build import workshop

    lines = ["| kind | inch | mm | a job file may write |", "|---|---|---|---|"]
    for name, kind in workshop().units.kinds.items():
        shown = [kind.shown[edition] if kind.holds == "quantity" else "" for edition in ("inch", "mm")]
        written = ", ".join(kind.accept) or {"date": "a date", "boolean": "true, false"}.get(name, name)
        lines.append(f"| `{name}` | {shown[0]} | {shown[1]} | {written} |")
    return lines


def functions() -> list[str]:
    """The closed list of functions, as running text."""
    from workbook_builder.prove import signatures

    return textwrap.wrap(" ".join(f"`{name}`" for name in signatures()) + ", `+ - * / ^ &` and comparisons.", 120)


def cell(text: str) -> str:
    """Text of a cell of a table."""
    return " ".join(text.split()).replace("|", "\\|")


LISTS: dict[str, dict[str, Callable[[], list[str]]]] = {
    "README.md": {"sheets": sheets, "ends": ends, "job keys": job_keys, "tables": tables},
    "DEVELOPERS.md": {"kinds": kinds, "functions": functions},
}


def main() -> int:
    """Rewrite the documents; says which changed."""
    for name in LISTS:
        path = ROOT / name
        old = path.read_text(encoding="utf-8")
        new = refreshed(name, old)
        path.write_text(new, encoding="utf-8")
        print(f"{name}: {'as it was' if new == old else 'rewritten'}")
    return 0


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    sys.exit(main())
