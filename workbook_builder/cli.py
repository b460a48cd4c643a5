"""The command line: list, build, read, tables.

Exit 0 when done, 1 with findings, 2 for input that cannot be used: then one sentence on the error output and no file.
What a command does not need is not imported, so that `list` answers at once.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import stat
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any, TypeVar

import click

from . import __version__
from .errors import InputError, TableError, WorkbookError, unknown

if TYPE_CHECKING:
    from .build import Workshop
    from .job import Job
    from .tables import Library, Table, Value

PATIENCE = 2.0
"""Seconds after which a build shows how far it is."""

JOB_NUMBER = "job.number"
"""What a workbook's file is named after, where a job file has it."""

LONGEST_PREFIX = 60
EDITIONS = ("inch", "mm")
SIZE = "size"
SUFFIX = ".xlsx"

Command = TypeVar("Command", bound=Callable[..., Any])


class Group(click.Group):
    """The commands; an error of the user's becomes one sentence and exit code 2."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Commands in the order of the work."""
        return list(self.commands)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """A command by name; where there is none, the nearest is offered."""
        found = super().get_command(ctx, cmd_name)
        if found is None and not ctx.resilient_parsing:
            raise InputError(f"there is no command {cmd_name!r}", allowed=unknown(cmd_name, self.commands, "commands"))
        return found

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except InputError as wrong:
            click.echo(f"Error: {wrong.sentence()}", err=True)
            ctx.exit(2)


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="workbook-builder")
def main() -> None:
    """Build fit-up workbooks from a job file, and read them back when they return from the field."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a console that lacks a sign shows another in its place
            stream.reconfigure(errors="replace")


# -- list ------------------------------------------------------------------------------------------------------------


@main.command("list")
def list_() -> None:
    """Show the workbooks and sheets there are, one line each."""
    from .template import Shelf

    shelf = Shelf()
    workbooks, sheets = shelf.heads("workbooks"), shelf.heads("sheets")
    width = max(map(len, [*workbooks, *sheets]), default=0)
    for kind, heads in (("Workbooks", workbooks), ("Sheets", sheets)):
        click.echo(f"{kind}:")
        for name, head in heads.items():
            purpose = str(head.get("purpose") or head.get("title", ""))
            click.echo(f"  {name:<{width}}  {first_sentence(purpose)}".rstrip())


def first_sentence(text: str) -> str:
    """The first sentence of a text."""
    first, stop, _ = text.partition(". ")
    return first + stop.strip()


# -- build -----------------------------------------------------------------------------------------------------------


@main.command()
@click.argument("workbook")
@click.option(
    "--job",
    "job_file",
    metavar="FILE",
    help="Job file (TOML), or a filled workbook, to fill it from; absent: blank rows for the field.",
)
@click.option("--edition", type=click.Choice(EDITIONS), help="Units of the workbook; absent: the job's, else inch.")
@click.option("--out", metavar="FILE", help="File to write; absent: JOBNUMBER-WORKBOOK-EDITION.xlsx in this folder.")
def build(workbook: str, job_file: str | None, edition: str | None, out: str | None) -> None:
    """Build WORKBOOK as an .xlsx file and print its path.

    `list` shows the workbooks there are. An existing file is replaced only when the new one is complete.
    """
    if out is not None:
        check_target(out)
    from .template import Shelf

    template = Shelf().workbook(workbook)
    steps = len(template.sheets) + 5
    from .build import workshop

    made = workshop()
    job = job_of(job_file, made) if job_file is not None else None
    chosen = edition or (job.units if job else EDITIONS[0])
    path = out if out is not None else f"{prefix(job)}{workbook}-{chosen}{SUFFIX}"
    check_target(path)
    if template.describes_job:  # the job is built from it, so what it does not hold is said
        from .record import lost

        for line in lost(made.lay_out(workbook, job, chosen)):
            click.echo(f"left out: {line}", err=True)
    with progress(steps, workbook) as step:
        content = made.build(workbook, job, chosen, step)
    write_whole(path, content)
    click.echo(path)


def job_of(file: str, made: Workshop) -> Job:
    """The job in a TOML file, or in a workbook that was filled in."""
    from .job_reading import load_schema, parse_job
    from .job_reading import read as read_job

    schema = load_schema(made.shelf.folder, made.units)
    if not file.lower().endswith(SUFFIX):
        return read_job(file, schema, made.library)
    from .read import read_workbook
    from .record import job_file

    written = job_file(read_workbook(file), schema, made)
    for line in written.left_out:
        click.echo(f"left out: {line}", err=True)
    return parse_job(written.text, file, schema, made.library)


def prefix(job: Job | None) -> str:
    """The job number as the start of a file's name, "" where there is none."""
    if job is None or JOB_NUMBER not in job.schema.fields:
        return ""
    said = str(job.value(JOB_NUMBER) or "")
    plain = "".join(sign if sign.isalnum() or sign in "-_." else "_" for sign in said).strip("-_.")[:LONGEST_PREFIX]
    return f"{plain}-" if plain else ""


def check_target(path: str, suffix: str = SUFFIX, what: str = "workbook") -> None:
    """Refuse a file that cannot be written, before any work is done."""
    shown = path if path.isprintable() else ascii(path)
    if not path.lower().endswith(suffix) or len(os.path.basename(path)) == len(suffix):
        raise WorkbookError(f"is no name for a {what}", file=shown, allowed=f"the name must end in {suffix}")
    try:
        folder = os.path.dirname(path) or "."
        if not stat.S_ISDIR(os.stat(folder).st_mode):
            raise WorkbookError("its folder is no folder", file=shown, allowed="name a folder that exists")
    except FileNotFoundError:
        raise WorkbookError("its folder does not exist", file=shown, allowed="make the folder first") from None
    except (OSError, ValueError) as wrong:
        raise WorkbookError(f"cannot be written: {reason(wrong)}", file=shown) from None
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            raise WorkbookError("is there already, and is no file", file=shown, allowed="choose another name")
    except FileNotFoundError:
        pass
    except (OSError, ValueError) as wrong:
        raise WorkbookError(f"cannot be written: {reason(wrong)}", file=shown) from None


def reason(wrong: Exception) -> str:
    """Why the system refused, in its words."""
    return wrong.strerror if isinstance(wrong, OSError) and wrong.strerror else str(wrong)


def write_whole(path: str, content: bytes) -> None:
    """Write a file beside its place and move it there when it is complete.

    Raises:
        WorkbookError: the folder cannot be written, or there is no room; what was there before is untouched.
    """
    target = os.path.realpath(path)
    beside = ""
    try:
        mode = stat.S_IMODE(os.stat(target).st_mode) if os.path.exists(target) else 0o666 & ~current_umask()
        handle, beside = tempfile.mkstemp(suffix=".part", prefix=".workbook-", dir=os.path.dirname(target))
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        os.chmod(beside, mode)
        os.replace(beside, target)
        beside = ""
    except OSError as wrong:
        raise WorkbookError(f"cannot be written: {reason(wrong)}", file=path) from wrong
    finally:
        if beside:
            with contextlib.suppress(OSError):
                os.unlink(beside)


def current_umask() -> int:
    """Permissions that new files do not get."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


@contextlib.contextmanager
def progress(steps: int, label: str) -> Iterator[Callable[[], None]]:
    """A function to call after each step; shows a bar on a terminal once the work takes long."""
    started = time.monotonic()
    done = 0
    with contextlib.ExitStack() as stack:
        bar: Any = None

        def step() -> None:
            nonlocal done, bar
            done += 1
            if bar is not None:
                bar.update(1)
            elif time.monotonic() - started > PATIENCE and sys.stderr.isatty():
                bar = stack.enter_context(click.progressbar(length=max(steps, done), label=label, file=sys.stderr))
                bar.update(done)

        yield step


# -- read ------------------------------------------------------------------------------------------------------------


@main.command()
@click.argument("file", metavar="FILE.xlsx")
@click.option("--json", "as_json", is_flag=True, help="Print the values as JSON, for other programs.")
@click.option("--cells", is_flag=True, help="With --json: also where each value stands, blank rows included.")
@click.option("--job", "job_file", metavar="OUT.toml", help="Write what was typed as a job file that builds the same.")
def read(file: str, as_json: bool, cells: bool, job_file: str | None) -> None:
    """Show what was typed into a workbook and what its formulas give, by name.

    Everything is computed anew from what was typed. Exit code 1 means that a formula is not the one that was built, or
    that the job file cannot carry everything; each is named.
    """
    from . import show
    from .read import read_workbook

    if cells and not as_json:
        raise click.UsageError("--cells goes with --json")
    if job_file is not None:
        check_target(job_file, ".toml", "job file")
    found = read_workbook(file)
    left_out: list[str] = []
    if job_file is not None:
        from . import record
        from .build import workshop
        from .job_reading import load_schema

        made = workshop()
        written = record.job_file(found, load_schema(made.shelf.folder, made.units), made)
        write_whole(job_file, written.text.encode())
        left_out = written.left_out
    if as_json:
        print_json(found.as_json(cells))
    else:
        for line in show.reading(found):
            click.echo(line)
    for line in [*show.complaints(found), *(f"left out of {job_file}: {line}" for line in left_out)]:
        click.echo(line, err=True)
    if found.findings or left_out:
        raise click.exceptions.Exit(1)


def print_json(data: Any) -> None:
    """Print data as JSON that any console can take."""
    plain = (getattr(sys.stdout, "encoding", "") or "").lower().replace("-", "") != "utf8"
    click.echo(json.dumps(data, ensure_ascii=plain, indent=2, allow_nan=False))


# -- tables ----------------------------------------------------------------------------------------------------------


@main.command()
@click.argument("name", required=False)
@click.option("--size", metavar="SIZE", help="Only rows of this nominal size, of every table that has sizes.")
@click.option("--edition", type=click.Choice(EDITIONS), default=EDITIONS[0], show_default=True, help="Units to show.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON, for other programs.")
def tables(name: str | None, size: str | None, edition: str, as_json: bool) -> None:
    """Show the reference tables with source and status, or the rows of one (NAME) or of one size."""
    from .tables import load

    library = load()
    if name is None and size is None:
        overview(library, edition, as_json)
        return
    chosen = [library.table(name)] if name is not None else [t for t in library.tables.values() if sized(t, edition)]
    if size is not None:
        check_size(chosen, size, edition)
    shown = [(table, rows_of(table, size, edition)) for table in chosen]
    if as_json:
        print_json([told(table, edition) | {"rows": rows} for table, rows in shown])
        return
    shown = [(table, rows) for table, rows in shown if rows or name is not None]
    for at, (table, rows) in enumerate(shown):
        if at:
            click.echo()
        print_table(table, rows, edition)


def overview(library: Library, edition: str, as_json: bool) -> None:
    """Every table in a few lines: what it is, of which standard, how far it was checked; and all values counted."""
    if as_json:
        print_json([told(table, "") | counted(table, edition) for table in library.tables.values()])
        return
    from .show import counts, wrapped

    width = max(map(len, library.names()), default=0) + 2
    for name, table in library.tables.items():
        click.echo(f"{name:<{width}}{table.title}")
        for text in (f"{table.standard}; {table.edition_of_standard}", f"status: {table.status}"):
            for line in wrapped(" " * width + text, " " * width):
                click.echo(line)
    click.echo()
    click.echo(f"Values by how far they were checked, {edition} edition:")
    for line in counts({name: counted(table, edition)["counts"] for name, table in library.tables.items()}):
        click.echo(line)


def counted(table: Table, edition: str) -> dict[str, Any]:
    """How many of a table's values have each status."""
    return {"edition": edition, "counts": table.counts("mm" if edition == "mm" else "inch")}


def told(table: Table, edition: str) -> dict[str, Any]:
    """A table's description as plain data; with an edition also its columns."""
    data: dict[str, Any] = {
        "name": table.name,
        "title": table.title,
        "standard": table.standard,
        "edition_of_standard": table.edition_of_standard,
        "sources": list(table.sources),
        "status": table.status,
    }
    if edition:
        data |= {"units": {one.name: one.unit for one in columns(table, edition) if one.unit}} | counted(table, edition)
    return data


def columns(table: Table, edition: str) -> list[Any]:
    """A table's columns in one edition."""
    return list(table.columns("mm" if edition == "mm" else "inch"))


def sized(table: Table, edition: str) -> bool:
    """Whether a table has sizes."""
    return any(one.name == SIZE for one in columns(table, edition))


def check_size(chosen: list[Table], size: str, edition: str) -> None:
    """Refuse a size that none of the tables has, or tables without sizes."""
    with_sizes = [table for table in chosen if sized(table, edition)]
    if not with_sizes:
        raise TableError(f"table {chosen[0].name!r} has no sizes" if chosen else "no table has sizes")
    known = dict.fromkeys(
        str(value)
        for table in with_sizes
        for one in columns(table, edition)
        if one.name == SIZE
        for value in one.values
    )
    if size not in known:
        raise TableError(f"there is no size {size!r}", allowed=f"allowed sizes: {', '.join(known)}")


def rows_of(table: Table, size: str | None, edition: str) -> list[dict[str, Value]]:
    """A table's rows, all or those of one size."""
    rows = table.rows("mm" if edition == "mm" else "inch")
    return rows if size is None else [row for row in rows if str(row.get(SIZE)) == size]


def print_table(table: Table, rows: list[dict[str, Value]], edition: str) -> None:
    """A table for people: what it is, its sources, its rows, and below them what is too long for a column."""
    from .show import WIDEST_COLUMN, aligned, counted_words, footnotes, wrapped

    head = [
        f"{table.title} ({table.name})",
        f"{table.standard}; {table.edition_of_standard}; status: {table.status}",
        *(f"source: {source}" for source in table.sources),
        *([table.description] if table.description else []),
        f"values: {counted_words(counted(table, edition)['counts'])}",
    ]
    for text in head:
        for line in wrapped(text, "  "):
            click.echo(line)
    click.echo()
    used = [one for one in columns(table, edition) if any(row[one.name] is not None for row in rows)]
    keys = {one.quantity for one in table.fields if one.name in table.primary_key}
    used.sort(key=lambda one: one.name not in keys)
    long = [one for one in used if any(len(str(row[one.name] or "")) > WIDEST_COLUMN for row in rows)]
    used = [one for one in used if one not in long]
    keep = sum(one.name in keys for one in used)
    body = [[row[one.name] for one in used] for row in rows]
    for line in aligned([one.name for one in used], [one.unit for one in used], body, keep):
        click.echo(line)
    if long:
        click.echo()
    labels = [" ".join(str(row[one.name]) for one in used[:keep]) for row in rows]
    for line in footnotes([one.name for one in long], labels, [[row[one.name] for row in rows] for one in long]):
        click.echo(line)
