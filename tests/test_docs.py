"""The documents name what there is: commands, options, sheets, keys, modules, tables and pictures; and they can be run.

What follows from the data is written by `make readme`; here is told when that is due.
"""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import make_examples
import make_readme
import msgspec
import pytest
from live import job_of

from workbook_builder import cli, job_language, template
from workbook_builder.build import Workshop, workshop
from workbook_builder.job_reading import load_schema, parse_job
from workbook_builder.read import read
from workbook_builder.template import Shelf

ROOT = Path(__file__).parent.parent
README, GUIDE, CHANGES = "README.md", "DEVELOPERS.md", "CHANGELOG.md"
SET_BY_THE_BUILDER = {"file"}
DOCUMENTS = (README, GUIDE, CHANGES)


def text_of(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def blocks(name: str, language: str) -> list[str]:
    """The fenced blocks of one language."""
    every = re.findall(r"^```(\w*)\n(.*?)^```$", text_of(name), re.MULTILINE | re.DOTALL)
    return [text for said, text in every if said == language]


def commands() -> list[tuple[str, click.Command]]:
    return list(cli.main.commands.items())


def long_options(command: click.Command) -> list[str]:
    options = [one for one in command.params if isinstance(one, click.Option)]
    return [name for option in options for name in option.opts if name.startswith("--")]


# -- commands ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "command"), commands())
def test_a_command_and_its_options_have_help_and_are_in_the_readme(name: str, command: click.Command) -> None:
    readme = text_of(README)
    assert command.help and f"workbook-builder {name}" in readme
    section = readme.split("## The command line")[1].split("\n## ")[0]
    told = next(part for part in section.split("\n\n") if part.startswith(f"`workbook-builder {name}"))
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help, option.name
    for option_name in long_options(command):
        assert f"`{option_name}`" in told, f"{name} {option_name} is not explained"


def test_the_usage_lines_show_every_option() -> None:
    usage = next(block for block in blocks(README, "") if block.startswith("workbook-builder list"))
    for line, (name, command) in zip(usage.splitlines(), commands(), strict=True):
        assert line.startswith(f"workbook-builder {name}")
        assert set(re.findall(r"--[a-z]+", line)) == set(long_options(command)), name


def test_the_targets_of_make_are_told() -> None:
    targets = re.findall(r"^([a-z]+):.*##", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE)
    told = text_of(README) + text_of(GUIDE)
    assert [name for name in targets if f"make {name}`" not in told and f"make {name}\n" not in told] == []


# -- what follows from the data ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", make_readme.LISTS)
def test_the_lists_are_up_to_date(name: str) -> None:
    text = text_of(name)
    assert text == make_readme.refreshed(name, text), "run make readme"


def test_every_sheet_of_every_workbook_is_named() -> None:
    shelf, readme = Shelf(), text_of(README)
    for workbook in map(shelf.workbook, shelf.names("workbooks")):
        assert f"`{workbook.name}`" in readme
        for sheet in map(shelf.sheet, workbook.sheets):
            assert f"| {sheet.tab} |" in readme, sheet.tab


def test_every_key_of_the_job_file_is_told() -> None:
    readme = text_of(README)
    for path in load_schema().fields:
        assert f"- `{path.rpartition('.')[2]}`: " in readme, path


# -- the languages -----------------------------------------------------------------------------------------------------


def declarations(module: Any) -> Iterator[tuple[str, str]]:
    """Every key that a module's declarations have, with the declaration's name."""
    found: list[type[msgspec.Struct]] = [template.Chart.Series]
    found += [one for one in vars(module).values() if isinstance(one, type) and issubclass(one, msgspec.Struct)]
    for one in found:
        if one.__module__ == module.__name__:
            yield from ((one.__name__, field.encode_name) for field in msgspec.structs.fields(one))


LANGUAGES = [(template, "## The template language"), (job_language, "## The job schema")]


@pytest.mark.parametrize(("module", "heading"), LANGUAGES)
def test_every_key_of_a_language_is_in_the_guide(module: Any, heading: str) -> None:
    part = text_of(GUIDE).split(heading)[1].split("\n## ")[0]
    missing = [
        f"{owner}.{key}"
        for owner, key in declarations(module)
        if key not in SET_BY_THE_BUILDER and f"`{key}`" not in part and f"`{key} = " not in part
    ]
    assert missing == []


def test_every_module_is_in_the_guide() -> None:
    guide = text_of(GUIDE).split("## The way of the data")[1].split("\n## ")[0]
    modules = [path.stem.replace("__", r"\_\_") for path in (ROOT / "workbook_builder").glob("*.py")]
    assert [name for name in modules if f"**{name}.py**" not in guide] == []


# -- blocks that can be run --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [README, GUIDE])
def test_every_toml_block_can_be_read(name: str) -> None:
    assert blocks(name, "toml")
    for block in blocks(name, "toml"):
        tomllib.loads(block)


def test_the_legs_of_the_readme_make_a_job() -> None:
    """Its blocks, one after the other, are a job file."""
    shop = workshop()
    text = "".join(block for block in blocks(README, "toml") if not whole(block))
    spools = text.count("[[spool]]")
    job = parse_job(as_one_job(text), README, load_schema(shop.shelf.folder, shop.units), shop.library)
    assert spools == 2 and len(job.rows("spool")) > 1
    assert shop.build("spool", job, "mm")


def whole(block: str) -> bool:
    """Whether a block is a job file by itself."""
    return "[job]" in block and "[[spool]]" in block


def test_each_whole_job_of_the_readme_can_be_made() -> None:
    shop = workshop()
    jobs = [block for block in blocks(README, "toml") if whole(block)]
    assert len(jobs) > 2
    for text in jobs:
        book, values = shop.compute("spool", job_of(text), "inch")
        assert book.fields["legs.stops"].rows and not any(values.values["legs.stops"])


def as_one_job(text: str) -> str:
    """The README's blocks with the few lines between them that a reader adds: a spool for each stretch of legs."""
    head, *rest = re.split(r"(?m)^(?=\[\[spool\.leg\]\]\nup = \"12 in\")", text)
    head, faced = head.split('[[spool]]\nmark = "SP-11"', 1)
    rolling, tee = rest[0].split('[[spool.leg]]\neast = "40 in"', 1)
    tee, outlets = tee.split('[[spool.leg]]\neast = "72 in"', 1)
    outlets, valve = outlets.split('[[spool.leg]]\neast = "8 ft 0 in"', 1)
    valve, field = valve.split("[[spool.leg]]\nnorth = \"5'-2", 1)
    field, readings = field.split("[[spool.piece]]", 1)
    spool = '[[spool]]\nmark = "{}"\nsize = "6"\nschedule = "STD"\nclass = 150\nstart = "weld_neck_flange"\n{}'
    last = '[[spool.leg]]\n{} = "30 in"\nend = "weld_neck_flange"\n'
    field, other = field.split('[[spool.leg]]\neast = "20 in"', 1)
    parts = [
        head + "[[spool.piece]]" + readings.split("[typed]")[0],
        spool.format("R-2", '[[spool.leg]]\nnorth = "20 in"\nend = "elbow"\n') + rolling + last.format("north"),
        spool.format("R-3", '[[spool.leg]]\neast = "40 in"' + tee),
        spool.format("R-7", '[[spool.leg]]\neast = "72 in"' + outlets),
        spool.format("R-4", '[[spool.leg]]\neast = "8 ft 0 in"' + valve) + last.format("up"),
        spool.format("R-5", "[[spool.leg]]\nnorth = \"5'-2" + field),
        spool.format("R-6", '[[spool.leg]]\neast = "20 in"' + other),
        '[[spool]]\nmark = "SP-11"' + faced,
        "[typed]" + readings.split("[typed]")[1],
    ]
    return "\n".join(parts)


@pytest.fixture(scope="module")
def shop_of_the_guide(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """The shipped templates with the sheets and the workbook that the guide writes."""
    folder = tmp_path_factory.mktemp("guide")
    shutil.copytree(ROOT / "templates", folder / "templates")
    for block in blocks(GUIDE, "toml"):
        if block.startswith("# templates/"):
            (folder / block.partition("\n")[0].removeprefix("# ")).write_text(block, encoding="utf-8")
    return Workshop(folder / "templates")


@pytest.mark.parametrize("edition", ["inch", "mm"])
def test_the_sheet_of_the_guide_builds(shop_of_the_guide: Workshop, edition: str) -> None:
    shop = shop_of_the_guide
    job = make_examples.read_job(make_examples.JOB.read_text(encoding="utf-8"), "job")
    for given in (None, job):
        found = read(shop.build("paint", given, edition), "paint.xlsx")
        assert found.values["checks.right"] == [1] and found.values["checks.wrong"] == [0]
        assert found.errors == [] and found.findings == []


# -- links and pictures ------------------------------------------------------------------------------------------------


def anchor(heading: str) -> str:
    """A heading as a link points at it."""
    return re.sub(r"[^\w\- ]", "", heading.strip().lower()).replace(" ", "-")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_links_and_pictures_are_there(name: str) -> None:
    text = text_of(name)
    anchors = {anchor(heading) for heading in re.findall(r"^#+ (.*)$", text, re.MULTILINE)}
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        assert not re.match(r"[a-z]+:", target), f"{target} leads out of the repository"
        path, _, part = target.partition("#")
        assert not path or (ROOT / path).exists(), target
        assert path or part in anchors, target


def test_every_picture_is_shown_or_is_of_a_known_sheet() -> None:
    shown = set(re.findall(r"output_examples/(\w+\.png)", text_of(README)))
    assert len(shown) >= 11 and shown <= set(make_examples.pictures())


@pytest.mark.parametrize("name", DOCUMENTS)
def test_lines_are_short_enough_to_read(name: str) -> None:
    """Tables, links and what is written by `make readme` aside."""
    text = re.sub(r"<!-- (.*?): written.*?<!-- /\1 -->", "", text_of(name), flags=re.DOTALL)
    text = re.sub(r"^```.*?^```$", "", text, flags=re.DOTALL | re.MULTILINE)
    long = [line for line in text.splitlines() if len(line) > 130 and not line.startswith(("|", "![", "- ["))]
    assert long == []


def test_the_changelog_tells_of_this_version() -> None:
    from workbook_builder import __version__

    assert f"## {__version__}" in text_of(CHANGES)
