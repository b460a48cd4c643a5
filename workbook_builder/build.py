"""Building: template, tables and job in, the bytes of a workbook out. The whole way in one place."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache
from importlib.resources.abc import Traversable

from . import tables
from .book import Book
from .errors import JobError, unknown
from .job import Job
from .layout import lay_out
from .made import fill_made
from .prove import Known, Proof, Registry
from .quantity import Units, load_units
from .readings import put_readings
from .render import Renderer
from .template import EDITIONS, Shelf
from .values import Computed, compute, recompute
from .write import write_book

Step = Callable[[], None]


class Workshop:
    """Templates, units and reference tables, loaded once and used for many workbooks.

    Args:
        templates: folder of the templates; the shipped ones by default.
        tables_folder: folder of the reference tables; the shipped ones by default.
    """

    def __init__(self, templates: Traversable | None = None, tables_folder: Traversable | None = None) -> None:
        self.shelf = Shelf(templates)
        self.library = tables.load(tables_folder)
        self.units: Units = load_units(self.shelf.folder)
        self.registry = cache(lambda: Registry(self.units))
        self.known: dict[tuple[str, str], Known] = {}

    def lay_out(self, workbook: str, job: Job | None, edition: str) -> Book:
        """The workbook laid out, nothing proved or computed yet."""
        if edition not in EDITIONS:
            raise JobError(f"there is no edition {edition!r}", allowed=unknown(edition, EDITIONS, "editions"))
        return lay_out(self.shelf.workbook(workbook), edition, self.shelf, self.library, self.units, job)

    def prepare(self, workbook: str, job: Job | None, edition: str) -> tuple[Book, Proof, Renderer]:
        """The workbook laid out and proved, its made sheets filled."""
        book = self.lay_out(workbook, job, edition)
        proof = Proof(book, self.known.setdefault((workbook, edition), {}), self.registry())
        renderer = Renderer(book)
        fill_made(book, self.library, proof, renderer)
        return book, proof, renderer

    def compute(self, workbook: str, job: Job | None, edition: str, step: Step = lambda: None) -> tuple[Book, Computed]:
        """The workbook with every value, not written."""
        book, proof, renderer = self.prepare(workbook, job, edition)
        return book, compute_with_readings(book, proof, renderer, step)

    def build(
        self, workbook: str, job: Job | None = None, edition: str | None = None, step: Step = lambda: None
    ) -> bytes:
        """A workbook as the bytes of an .xlsx file. Pure: same input, same bytes.

        Args:
            workbook: its name, as `list` prints it.
            job: the job it is filled from; None builds it with blank rows.
            edition: "inch" or "mm"; the job's units by default, else inch.
            step: called now and then, for a progress display.

        Raises:
            InputError: an unknown workbook or edition, or a template that cannot be built.
        """
        chosen = edition or (job.units if job else EDITIONS[0])
        book, proof, renderer = self.prepare(workbook, job, chosen)
        step()
        computed = compute_with_readings(book, proof, renderer, step)
        return write_book(book, proof, renderer, computed, step)


def compute_with_readings(book: Book, proof: Proof, renderer: Renderer, step: Step) -> Computed:
    """Compute a workbook; where the job carries readings for live rows, put them in and compute what follows."""
    computed = compute(book, proof, renderer, step)
    if filled := put_readings(book, computed):
        recompute(book, proof, computed, filled)
        step()
    return computed


@lru_cache(maxsize=1)
def workshop() -> Workshop:
    """The workshop with the shipped templates and tables."""
    return Workshop()


def build(workbook: str, job: Job | None = None, edition: str | None = None) -> bytes:
    """A shipped workbook as the bytes of an .xlsx file; see `Workshop.build`."""
    return workshop().build(workbook, job, edition)
