"""Made columns: what the builder itself knows and a template asks for by name.

Worked examples, the list of methods, and the long lists of the reference tables.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from .book import Book, CellValue
from .errors import TemplateError, unknown
from .examples import facts_of, work_out
from .layout import EXAMPLES, RESULTS
from .prove import Proof
from .reference import LISTS, TABLE_LIST, facts_of_list
from .render import Renderer
from .tables import Library
from .template import Column, Result

Facts = Sequence[Mapping[str, CellValue]]


def fill_made(book: Book, library: Library, proof: Proof, renderer: Renderer) -> None:
    """Fill the columns that the builder makes.

    Raises:
        TemplateError: a column asks for a fact that nothing gives.
    """
    makers: dict[str, Callable[[], Facts]] = {
        EXAMPLES: lambda: [facts_of(case, book, book.units) for case in book.cases],
        RESULTS: lambda: methods(book),
        **{what: lambda what=what: facts_of_list(library, what, book.edition) for what in LISTS},  # type: ignore[misc]
        TABLE_LIST: lambda: listed_tables(book, library),
    }
    for place in book.tables.values():
        if place.table is None or place.table.rows not in makers:
            continue
        plan = next(plan for plan in book.sheets if place in plan.tables)
        facts = makers[str(place.table.rows)]()
        for field in place.fields:
            made = field.declared.made if isinstance(field.declared, Column) else ""
            if made == "found":
                first = plan.printed + 1 + sum(f.working for f in place.fields)
                workings = work_out(book.cases, field, first, proof, renderer)
                field.row_formulas = workings.formulas
                plan.workings += workings.cells
            elif made:
                if facts and made not in facts[0]:
                    raise TemplateError(
                        f"nothing is made for {made!r}",
                        file=field.file,
                        place=field.name,
                        allowed=unknown(made, facts[0], "facts"),
                    )
                field.values = [fact[made] for fact in facts]


def listed_tables(book: Book, library: Library) -> Facts:
    """The reference tables, each with the sheet that shows it whole."""
    sheets = {place.name: plan.tab for plan in book.sheets for place in plan.tables if place.table is None}
    facts = facts_of_list(library, TABLE_LIST, book.edition)
    return [fact | {"sheet": sheets.get(str(fact["table"]))} for fact in facts]


def methods(book: Book) -> list[dict[str, float | str | bool | None]]:
    """Every result with its formula over names, in words, unit and source."""
    found: list[dict[str, float | str | bool | None]] = []
    for name in book.results:
        field = book.fields[name]
        declared = field.declared
        assert isinstance(declared, (Result, Column))
        found.append(
            {
                "sheet": field.tab,
                "name": name,
                "what": declared.label,
                "formula": " ".join(field.formula.split()),
                "words": declared.method or declared.note,
                "unit": field.unit,
                "source": declared.source,
            }
        )
    return found
