"""Worked examples: the same formulas, live, fed with published inputs beside the published answer.

Each expected value of each `[[example]]` is a row of the workbook's check sheet. The formulas it needs are copied with
their inputs put in; a name that the example does not give takes its declared value, so that a job's own rules never
turn a published example wrong.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from . import expression
from .book import Book, CellValue, Field, column_letters
from .errors import TemplateError, unknown
from .prove import Proof, reference
from .quantity import Units
from .render import Renderer
from .template import Case, Constant, Input, for_edition
from .values import cell_value


def facts_of(case: Case, book: Book, units: Units) -> dict[str, CellValue]:
    """What a check row shows of a case, apart from the value found."""
    target = book.fields.get(case.full_name)
    if target is None:
        raise TemplateError(
            f"an example expects {case.expected!r}", file=case.template.file,
            allowed=unknown(case.full_name, book.fields, "names"),
        )  # fmt: skip
    given = ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in case.example.inputs.items())
    within = for_edition(case.example.within, book.edition)
    if within is None:
        raise TemplateError(
            f"there is no within for the {book.edition} edition",
            file=case.template.file,
            place=f"example of {target.name}",
        )
    return {
        "sheet": case.template.tab,
        "what": target.label,
        "inputs": given,
        "published": cell_value(worth(case.example.expect[case.expected], target, book, units, case)),
        "unit": target.unit,
        "within": cell_value(worth(within, target, book, units, case)) if target.unit_kind != "text" else 0.0,
        "source": case.example.source,
        "note": case.example.note,
    }


def worth(value: object, target: Field, book: Book, units: Units, case: Case) -> CellValue:
    """A value of an example as its cell holds it in this edition."""
    try:
        return cell_value(units.cell_value(value, target.unit_kind, book.edition))
    except ValueError as wrong:
        raise TemplateError(str(wrong), file=case.template.file, place=f"example of {target.name}") from wrong


@dataclass(slots=True)
class Workings:
    """Cells right of the check rows: each example's inputs and steps, a word and a value side by side."""

    formulas: list[str] = field(default_factory=list)
    cells: list[tuple[int, int, CellValue | str, bool]] = field(default_factory=list)  # row, column, content, formula?


def work_out(cases: Sequence[Case], found: Field, first_column: int, proof: Proof, renderer: Renderer) -> Workings:
    """Copy each case's formulas to the check sheet.

    Args:
        cases: one a row.
        found: the column that shows what the book gives.
        first_column: where the workings start, 0-based.
        proof: the proved workbook.
        renderer: spells addresses.
    """
    nodes = {one.field.name: one.node for one in proof.proven}
    done = Workings()
    for at, case in enumerate(cases):
        row = found.row + at
        copy = _Copy(case, nodes, row, first_column, found.tab, proof.book, renderer)
        done.formulas.append("=" + copy.cell_of(case.full_name))
        done.cells += copy.cells
    return done


class _Copy:
    """Copies the formulas of one case into one row."""

    def __init__(
        self,
        case: Case,
        nodes: Mapping[str, expression.Node],
        row: int,
        column: int,
        tab: str,
        book: Book,
        renderer: Renderer,
    ) -> None:
        self.case, self.nodes, self.row, self.column = case, nodes, row, column
        self.tab, self.book, self.renderer = tab, book, renderer
        self.cells: list[tuple[int, int, CellValue | str, bool]] = []
        self.placed: dict[str, str] = {}
        spaces = {case.example.table, case.template.name} - {""}
        self.given: dict[str, object] = {}
        for name, value in case.example.inputs.items():
            full = name if "." in name else next((f"{s}.{name}" for s in spaces if f"{s}.{name}" in book.fields), name)
            if full not in book.fields:
                raise TemplateError(
                    f"an example gives {name!r}", file=case.template.file, allowed=unknown(full, book.fields, "names")
                )
            self.given[full] = value

    def put(self, name: str, content: CellValue | str, is_formula: bool) -> str:
        """Two cells, the name and its content; gives the content's address."""
        self.cells.append((self.row, self.column, name, False))
        self.cells.append((self.row, self.column + 1, content, is_formula))
        self.placed[name] = f"${column_letters(self.column + 1)}${self.row + 1}"
        self.column += 2
        return self.placed[name]

    def cell_of(self, name: str) -> str:
        """Address of a name's copy, made on first asking."""
        if name in self.placed:
            return self.placed[name]
        target = self.book.fields[name]
        if name in self.given:
            value = worth(self.given[name], target, self.book, self.book.units, self.case)
            return self.put(name, value, False)
        if name in self.nodes:
            text = "=" + expression.write(self.nodes[name], self.spell)
            return self.put(name, text, True)
        return self.put(name, self.declared(target), False)

    def declared(self, target: Field) -> CellValue:
        """A name's declared value: a constant's, an input's default, blank for a typed column."""
        entry = target.declared
        value = entry.value if isinstance(entry, Constant) else entry.default if isinstance(entry, Input) else None
        value = for_edition(value, self.book.edition)
        return None if value is None else worth(value, target, self.book, self.book.units, self.case)

    def spell(self, settled: str) -> str:
        """Address of a settled name inside a copied formula."""
        how, name = reference(settled)
        target = self.book.fields[name]
        if how in ("row", "cell") and target.kind != "list":
            return self.cell_of(name)
        if how == "column" and target.kind in ("reference", "list") or how == "cell":
            return self.renderer.spelled(settled, self.tab)
        raise TemplateError(
            f"the example for {self.case.expected!r} needs {how} {name}, which only a whole table has",
            file=self.case.template.file, allowed="test it outside the template",
        )  # fmt: skip
