"""Job files: what they hold, and one sentence for each way to get them wrong."""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

import gc
import os
import re
import time
import tomllib
from dataclasses import dataclass
from datetime import date
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import pytest

from workbook_builder import job_reading as job_module
from workbook_builder import quantity as quantity_module
from workbook_builder import tables
from workbook_builder.errors import JobError, TemplateError
from workbook_builder.job import Job
from workbook_builder.job_reading import load_schema, parse_job, read, schema_from
from workbook_builder.quantity import By, Quantity, shipped

ROOT = Path(__file__).resolve().parent.parent
SCHEMA = load_schema()
LIBRARY = tables.load()

GOOD = """\
schema = 1

[job]
name = "Mill Creek pump house"
number = "J-1042"
revision = "B"
units = "inch"

[rules]
root_gap = "1/8 in"
root_gap_min = "3/32 in"
root_gap_max = "5/32 in"
hi_lo_max = "1/16 in"
root_face = "1/16 in"
bevel_angle = "37.5 deg"
precision = "1/16 in"
shrinkage_per_weld = "0 in"
stock_angle_within = "0.25 deg"

[[spool]]
mark = "SP-01"
size = "6"
schedule = "STD"
class = 150
material = "A106-B"
start = "weld_neck_flange"

[[spool.leg]]
east = "36 1/2 in"
end = "elbow"

[[spool.leg]]
up = "4 ft 0 1/4 in"
end = "weld_neck_flange"
"""
HEAD, _, SPOOL = GOOD.partition("[[spool]]\n")
LEG_FROM_L1 = '[[spool.leg]]\nfrom = "L1"\nnorth = 20\nend = "bevel"\n'


def with_(*changes: tuple[str, str], add: str = "", base: str = GOOD) -> str:
    for old, new in changes:
        assert old in base, old
        base = base.replace(old, new, 1)
    return base + add


def parsed(text: str) -> Job:
    return parse_job(text, "job.toml", SCHEMA, LIBRARY)


def inches(text: str) -> Quantity:
    return Quantity(F(text), "in")


# -- good jobs -------------------------------------------------------------------------------------------------------


def test_the_job_file_of_the_design() -> None:
    job = parsed(GOOD)
    assert (job.file, job.units) == ("job.toml", "inch")
    assert job.value("job.name") == "Mill Creek pump house"
    assert job.value("job.client") is None
    assert job.value("rules.root_gap") == inches("1/8")
    assert job.value("rules.bevel_angle") == Quantity(F("37.5"), "deg")
    assert job.value("rules.weld_spacing_min") is None
    (spool,) = job.rows("spool")
    assert (spool.index, spool.place, spool.key) == (0, "spool SP-01", "SP-01")
    first, second = job.rows("spool.leg")
    assert (second.index, second.place) == (1, "spool SP-01, leg L2")
    assert first.value("spool.leg.east") == inches("73/2")
    assert second.value("spool.leg.up") == inches("193/4")
    assert second.value("spool.leg.east") is None
    assert second.value("spool.mark") == "SP-01"
    assert [leg.value("spool.leg.name") for leg in (first, second)] == ["L1", "L2"]
    assert [leg.value("spool.leg.from") for leg in (first, second)] == ["start", "L1"]
    assert [leg.value("spool.leg.size") for leg in (first, second)] == ["6", "6"]
    assert second.value("spool.leg.class") == "150"
    assert second.value("spool.leg.field_gap") == "none"
    assert second.value("spool.leg.make_up") is False
    assert not second.given("spool.leg.size")
    assert second.given("spool.size")
    assert not second.given("spool.leg.field_gap")
    assert job.rows("spool.leg.inline") == []


def test_plain_numbers_are_in_the_units_of_the_job() -> None:
    job = parsed(with_(('"inch"', '"mm"'), ('"36 1/2 in"', "1250")))
    assert job.units == "mm"
    assert job.rows("spool.leg")[0].value("spool.leg.east") == Quantity(F(1250), "mm")
    assert job.rows("spool.leg")[1].value("spool.leg.up") == inches("193/4")


def test_rules_may_be_absent_as_a_whole() -> None:
    job = parsed(re.sub(r"(?s)\[rules\].*?\n\n", "", GOOD))
    assert job.value("rules.root_gap") is None


def test_a_component_given_by_an_angle() -> None:
    text = with_(('east = "36 1/2 in"', 'east = 16\nup = 12\nnorth = "by -45 deg"'))
    leg = parsed(text).rows("spool.leg")[0]
    angle = Quantity(F(-45), "deg")
    assert leg.value("spool.leg.north") == By(angle)
    assert leg.value("spool.leg.north.by") == angle
    assert leg.value("spool.leg.east.by") is None


def test_sizes_follow_the_leg_that_a_leg_starts_from() -> None:
    text = with_(
        ('end = "elbow"', 'end = "reducer"'),
        ('up = "4 ft 0 1/4 in"\nend = "weld_neck_flange"', 'size = 4\neast = 30\nend = "elbow"'),
        add='[[spool.leg]]\nup = 30\nend = "weld"\n[[spool.leg]]\nup = 20\nend = "tee"\n'
        '[[spool.leg]]\nname = "B"\nfrom = "l4"\nsize = "3"\neast = 20\nend = "bevel"\n',
    )
    legs = parsed(text).rows("spool.leg")
    assert [leg.value("spool.leg.size") for leg in legs] == ["6", "4", "4", "4", "3"]
    assert legs[-1].value("spool.leg.from") == "L4"


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ('"6"', "6"),
        ("6", "6"),
        ('"6 in"', "6"),
        ('"NPS 6"', "6"),
        ("'6\"'", "6"),
        ('"1 1/2"', "1-1/2"),
        ('"1-1/2 in"', "1-1/2"),
    ],
)
def test_spellings_of_a_size(said: str, meant: str) -> None:
    job = parsed(with_(('size = "6"', f"size = {said}")))
    assert job.rows("spool")[0].value("spool.size") == meant


@pytest.mark.parametrize(
    ("said", "meant"),
    [("40", "40"), ('"std"', "STD"), ('"Sch 40"', "40"), ('"SCH. 80"', "80"), ('"schedule XS"', "XS")],
)
def test_spellings_of_a_schedule(said: str, meant: str) -> None:
    job = parsed(with_(('schedule = "STD"', f"schedule = {said}")))
    assert job.rows("spool")[0].value("spool.schedule") == meant


@pytest.mark.parametrize("said", ["150", '"150"', '"150#"', '"class 150"', '"150 lb"'])
def test_spellings_of_a_class(said: str) -> None:
    assert parsed(with_(("class = 150", f"class = {said}"))).rows("spool")[0].value("spool.class") == "150"


@pytest.mark.parametrize("mark", ["=1+1", "+A", "-A", "@SUM(A1)", "A B", "Ä-1", "名前", "SP/01"])
def test_marks_stay_the_text_they_are(mark: str) -> None:
    assert parsed(with_(("SP-01", mark))).rows("spool")[0].value("spool.mark") == mark


def test_spaces_of_all_kinds_are_spaces() -> None:
    assert parsed(with_(("SP-01", " SP\u00a001\u3000"))).rows("spool")[0].value("spool.mark") == "SP 01"


def test_digits_are_taken_as_text() -> None:
    job = parsed(with_(('"SP-01"', "7"), ('revision = "B"', "revision = 2\ndate = 2025-03-14")))
    assert job.rows("spool")[0].value("spool.mark") == "7"
    assert job.value("job.revision") == "2"
    assert job.value("job.date") == date(2025, 3, 14)
    assert parsed(with_(('revision = "B"', 'date = "2025-03-14"'))).value("job.date") == date(2025, 3, 14)


def test_inline_items_and_their_parents() -> None:
    inline = '{ item = "gate valve", length = 10.5, at = 20, ends = "flanged", flange = "weld_neck_flange" }'
    job = parsed(with_(('end = "elbow"', f'end = "elbow"\ninline = [{inline}]')))
    (item,) = job.rows("spool.leg.inline")
    assert item.place == "spool SP-01, leg L1, inline item 1"
    assert item.value("spool.leg.inline.length") == inches("10.5")
    assert item.value("spool.leg.inline.class") == "150"
    assert (item.value("spool.leg.name"), item.value("spool.mark")) == ("L1", "SP-01")


def test_a_typed_take_out_needs_no_table() -> None:
    parsed(with_(('size = "6"', 'size = "1/2"'), ('end = "elbow"', 'end = "elbow_short_radius"\ntakeout = 0.75')))


def test_the_demo_job() -> None:
    job = read(ROOT / "output_examples" / "mill_creek.toml", SCHEMA, LIBRARY)
    assert len(job.rows("spool")) >= 4
    assert "invented" in (ROOT / "output_examples" / "mill_creek.toml").read_text(encoding="utf-8").splitlines()[0]


def test_a_byte_order_mark_and_dos_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert read(path, SCHEMA, LIBRARY).value("job.number") == "J-1042"


def test_five_hundred_spools_are_read_in_a_second() -> None:
    leg = '[[spool.leg]]\n{way} = "{n} 1/16 in"\nend = "{end}"\n'
    ways = ["east", "north", "up"]
    legs = "".join(
        leg.format(way=ways[n % 3], n=30 + n, end="weld_neck_flange" if n == 7 else "elbow") for n in range(8)
    )
    spool = SPOOL.split("[[spool.leg]]")[0]
    text = HEAD + "".join("[[spool]]\n" + spool.replace("SP-01", f"SP-{n:03}") + legs for n in range(500))
    parsed(GOOD)
    gc.collect()
    gc.freeze()  # whoever reads a job has no workbooks of other tests in memory, that are searched again and again
    try:
        started = time.process_time()
        job = parsed(text)
        taken = time.process_time() - started
    finally:
        gc.unfreeze()
    assert taken < 1
    assert len(job.rows("spool.leg")) == 4000


def test_the_stated_limit_is_accepted() -> None:
    legs = "".join(f'[[spool.leg]]\neast = 20\nend = "{"weld" if n < 9 else "plain"}"\n' for n in range(10))
    spool = SPOOL.split("[[spool.leg]]")[0]
    text = HEAD + "".join("[[spool]]\n" + spool.replace("SP-01", f"SP-{n:03}") + legs for n in range(1000))
    job = parsed(text)
    assert (len(job.rows("spool")), len(job.rows("spool.leg"))) == (1000, 10_000)
    more = "[[spool.leg]]\neast = 20\nend = 'plain'\n"
    with pytest.raises(JobError, match=r"leg: there are more than 10000 of them in the file; at most 10000"):
        parsed(text.replace('end = "plain"\n', 'end = "weld"\n' + more, 1))


def test_paths_that_a_job_does_not_have() -> None:
    job = parsed(GOOD)
    leg = job.rows("spool.leg")[0]
    with pytest.raises(TemplateError, match=r"a job has no 'spool.leg.esat'; did you mean"):
        leg.value("spool.leg.esat")
    with pytest.raises(TemplateError, match=r"a job has no 'job.nmae'; did you mean 'job.name'"):
        job.value("job.nmae")
    with pytest.raises(TemplateError, match=r"a job has no 'spol'; did you mean 'spool'"):
        job.rows("spol")
    with pytest.raises(TemplateError, match=r"'spool.mark' has a value for each row; ask a row for it"):
        job.value("spool.mark")
    with pytest.raises(TemplateError, match=r"a row of spool has no 'spool.leg.east'"):
        job.rows("spool")[0].value("spool.leg.east")


# -- wrong jobs ------------------------------------------------------------------------------------------------------

L1 = "spool SP-01, leg L1"
L2 = "spool SP-01, leg L2"
LENGTHS = "units for a length: in, ft, mm, cm, m; for example 36 1/2 in"
SIZES = "1/8, 1/4, 3/8, 1/2, 3/4, 1, 1-1/4, 1-1/2, 2, 2-1/2, 3, 3-1/2 … (36 in all)"
EAST = '"36 1/2 in"'
INLINE = 'end = "elbow"\ninline = '

WRONG = {
    # syntax and frame
    "syntax": (with_(('revision = "B"', "revision = B")), "line 6, column 12: is not TOML: invalid value"),
    "unfinished": (with_(add="[[spool"), "its end: is not TOML: expected ']]' at the end of an array declaration"),
    "twice": (
        with_(('revision = "B"', 'revision = "B"\nrevision = "C"')),
        "line 7, column 15: is not TOML: cannot overwrite a value",
    ),
    "nested": (with_(('"B"', "\n".join("[" * 3000) + "]" * 3000)), "is nested too deeply"),
    "long line": (
        with_(('"B"', '"' + "b" * 6000 + '"')),
        "line 6: the line is too long; at most 4000 characters in a line",
    ),
    "no schema": (with_(("schema = 1\n", "")), "schema is missing; write schema = 1 as the first line"),
    "schema 2": (with_(("schema = 1", "schema = 2")), "schema is 2; write schema = 1 as the first line"),
    "schema text": (with_(("schema = 1", 'schema = "1"')), "schema is '1'; write schema = 1 as the first line"),
    "schema true": (with_(("schema = 1", "schema = true")), "schema is true; write schema = 1 as the first line"),
    "empty": ("", "schema is missing; write schema = 1 as the first line"),
    "no job": ("schema = 1\n[[spool]]\n" + SPOOL, "there is no job; write a table [job]"),
    "jobs": ("schema = 1\n[[job]]\nname = 'a'\n", "job: a list is not a table; write it as [job]"),
    "no spool": (HEAD, "there is no spool; write a table [[spool]]"),
    "empty spools": (
        with_(("schema = 1", "schema = 1\nspool = []"), base=HEAD),
        "spool: there are 0 of them; at least 1",
    ),
    "one spool table": (
        HEAD + "[spool]\nmark = 'A'\n",
        "spool: a table is not a list of tables; write each as [[spool]]",
    ),
    "no leg": (GOOD.split("[[spool.leg]]")[0], "spool SP-01: there is no leg; write a table [[spool.leg]]"),
    # unknown keys
    "top key": (with_(("[[spool]]", "[[spol]]")), "unknown key 'spol'; did you mean 'spool'?"),
    "rule key": (
        with_(("root_gap_min", "root_gap_mn")),
        "rules: unknown key 'root_gap_mn'; did you mean 'root_gap_min'?",
    ),
    "leg key": (with_(("up =", "upp =")), f"{L2}: unknown key 'upp'; did you mean 'up'?"),
    "far key": (
        with_(("revision", "colour")),
        "job: unknown key 'colour'; allowed keys: name, number, units, revision, client, drawing, line, date, currency, "
        "prepared_by, note",
    ),
    "key with signs": (
        with_(("revision", '"a\\nb"')),
        "job: unknown key 'a\\nb'; allowed keys: name, number, units, revision, "
        "client, drawing, line, date, currency, prepared_by, note",
    ),
    # missing and unknown values
    "no name": (with_(('name = "Mill Creek pump house"\n', "")), "job: name is missing"),
    "no mark": (with_(('mark = "SP-01"\n', "")), "spool no. 1: mark is missing"),
    "no units": (with_(('units = "inch"\n', "")), "job: units is missing; allowed: inch, mm"),
    "units": (with_(('"inch"', '"inches"')), "job, units: unknown units 'inches'; did you mean 'inch'?"),
    "size": (with_(('"6"', '"7"')), f"spool SP-01, size: unknown size '7'; allowed for size: {SIZES}"),
    "size float": (with_(('"6"', "1.5")), "spool SP-01, size: 1.5 is not text; write text in quotes"),
    "schedule": (with_(('"STD"', '"STDD"')), "spool SP-01, schedule: unknown schedule 'STDD'; did you mean 'STD'?"),
    "class": (with_(("150", "155")), "spool SP-01, class: unknown class '155'; did you mean '150'?"),
    "end": (with_(('"elbow"', '"elbw"')), f"{L1}, end: unknown end 'elbw'; did you mean 'elbow'?"),
    "a blind as an end": (
        with_(('"elbow"', '"Blind flange"')),
        f"{L1}, end: unknown end 'Blind flange'; name the flange it is bolted to, and blind = true",
    ),
    "a valve as an end": (
        with_(('"elbow"', '"valve"')),
        f"{L1}, end: unknown end 'valve'; valves have tables of their own: [[spool.leg.inline]]",
    ),
    "a reducing flange": (
        with_(('start = "weld_neck_flange"', 'start = "reducing-flange"')),
        "spool SP-01, start: unknown start 'reducing-flange'; "
        'say "other", with start_item, start_joint and start_takeout',
    ),
    "no start": (
        with_(('start = "weld_neck_flange"\n', "")),
        "spool SP-01: start is missing; allowed: weld_neck_flange, slip_on_flange, socket_weld_flange, threaded_flange, "
        "lap_joint, elbow, elbow_short_radius, elbow_3d, tee, reducer, eccentric_reducer, coupling … (19 in all)",
    ),
    "no class": (
        with_(("class = 150\n", "")),
        "spool SP-01: class is missing (weld_neck_flange needs it); allowed: 150, 300, 400, 600, 900, 1500, 2500, PN10, PN16, PN25, PN40",
    ),
    "class at a leg": (
        with_(("class = 150\n", ""), ('start = "weld_neck_flange"', 'start = "bevel"')),
        f"{L2}: class is missing (weld_neck_flange needs it); allowed: 150, 300, 400, 600, 900, 1500, 2500, PN10, PN16, PN25, PN40",
    ),
    # combinations that the tables do not have
    "size and schedule": (
        with_(('"STD"', '"140"')),
        "spool SP-01, schedule: no such combination in the tables: size 6 with schedule 140; allowed for size 6: STD, XS, "
        "XXS, 5, 10, 40, 80, 120, 160, 5S, 10S, 40S, 80S",
    ),
    "size and class": (
        with_(('"6"', '"36"'), ("150", "300")),
        "spool SP-01, start: no such combination in the tables: a weld neck flange in size 36, class 300",
    ),
    "flange": (
        with_(('up = "4 ft 0 1/4 in"\nend = "weld_neck', 'up = "4 ft 0 1/4 in"\nend = "socket_weld')),
        f"{L2}, end: no such combination in the tables: a socket weld flange in size 6, class 150",
    ),
    "short radius": (
        with_(('"6"', '"1/2"'), ('"elbow"', '"elbow_short_radius"')),
        f"{L1}, end: no such combination in the tables: a short-radius elbow in size 1/2",
    ),
    "reducer": (
        with_(('"elbow"', '"reducer"'), ("up =", 'size = "1"\neast =')),
        f"{L2}, size: no such combination in the tables: a reducer from size 6 to size 1; give the leg after the reducer a "
        "size of its own that the table has, or use other with a take-out",
    ),
    "reducer to the same size": (
        with_(('"elbow"', '"reducer"'), ("up =", "east =")),
        f"{L2}, size: no such combination in the tables: a reducer from size 6 to size 6; give the leg after the reducer a "
        "size of its own that the table has, or use other with a take-out",
    ),
    "reducing tee": (
        with_(('"elbow"', '"tee"'), ("up =", 'size = "1/2"\nup =')),
        f"{L2}, size: no such combination in the tables: a reducing tee of sizes 6 and 1/2; give the leg a size that the "
        "table has, or type the take-outs",
    ),
    "size at an elbow": (
        with_(("up =", 'size = "4"\nup =')),
        f"{L2}, size: size 4 follows size 6 of leg L1, which ends in elbow; the size changes at reducer, eccentric_reducer, "
        "reducing_elbow, tee, cross, lateral, other",
    ),
    "size at the start": (
        with_(("east =", 'size = "4"\neast =')),
        f"{L1}, size: size 4 follows the spool's size 6 at weld_neck_flange; the size changes at reducer, "
        "eccentric_reducer, tee, other",
    ),
    # quantities
    "unit": (
        with_((EAST, '"36 deg"')),
        f"{L1}, east: '36 deg' is not a length: unit 'deg' does not measure that; {LENGTHS}",
    ),
    "words": (with_((EAST, '"about a yard"')), f"{L1}, east: 'about a yard' is not a length; {LENGTHS}"),
    "nan": (with_((EAST, "nan")), f"{L1}, east: nan is not a length: it is not a finite number; {LENGTHS}"),
    "infinite": (with_((EAST, "-inf")), f"{L1}, east: -inf is not a length: it is not a finite number; {LENGTHS}"),
    "true": (with_((EAST, "true")), f"{L1}, east: true is not a length; {LENGTHS}"),
    "list": (with_((EAST, "[1]")), f"{L1}, east: a list is not a length; {LENGTHS}"),
    "date": (with_((EAST, "2025-01-01")), f"{L1}, east: 2025-01-01 is not a length; {LENGTHS}"),
    "negative": (
        with_(('root_gap = "1/8 in"', 'root_gap = "-1/8 in"')),
        "rules, root_gap: '-1/8 in' is out of range; allowed: at least 0 and at most 1/2 in",
    ),
    "negative take-out": (
        with_(('end = "elbow"', 'end = "elbow"\ntakeout = -1')),
        f"{L1}, takeout: -1 is out of range; allowed: at least 0 and at most 100 ft",
    ),
    "no precision": (
        with_(('precision = "1/16 in"', "precision = 0")),
        "rules, precision: 0 is out of range; allowed: at least 1/64 in and at most 1 in",
    ),
    "limits of the other edition": (
        with_(('"inch"', '"mm"'), ('hi_lo_max = "1/16 in"', "hi_lo_max = 13")),
        "rules, hi_lo_max: 13 is out of range; allowed: at least 0 and at most 12 mm",
    ),
    "gaps fall": (
        with_(('root_gap = "1/8 in"', 'root_gap = "1/4 in"')),
        "rules, root_gap: root_gap_max 5/32 in is smaller than root_gap 0.25 in; root_gap_min, root_gap and root_gap_max "
        "may not fall",
    ),
    "gaps fall in mixed units": (
        with_(('root_gap_min = "3/32 in"', 'root_gap_min = "5 mm"')),
        "rules, root_gap: root_gap 0.125 in is smaller than root_gap_min 5 mm; root_gap_min, root_gap and root_gap_max may "
        "not fall",
    ),
    "absurd": (
        with_((EAST, '"10001 ft"')),
        f"{L1}, east: '10001 ft' is out of range; allowed: at least -10000 ft and at most 10000 ft",
    ),
    "huge": (
        with_((EAST, "1e30")),
        f"{L1}, east: '1e+30' is too large to be meant; the largest number is 1000000000000",
    ),
    "many digits": (with_((EAST, "1" * 5000)), "line 29: the line is too long; at most 4000 characters in a line"),
    # components
    "zero": (
        with_((EAST, "0")),
        f"{L1}: the leg has no length; give at least one of east, north, up a length other than 0",
    ),
    "none": (
        with_((f"east = {EAST}\n", "")),
        f"{L1}: the leg has no length; give at least one of east, north, up a length other than 0",
    ),
    "only by": (
        with_((EAST, '"by 45 deg"')),
        f"{L1}: the leg has no length; give at least one of east, north, up a length other than 0",
    ),
    "by 90": (
        with_((EAST, '"by 90 deg"\nup = 3')),
        f"{L1}, east: 'by 90 deg' is out of range; allowed: more than -90 deg and less than 90 deg",
    ),
    "by 0": (
        with_((EAST, '"by 0 deg"\nup = 3')),
        f"{L1}, east: 'by 0 deg' is zero; write another value, or leave the key out",
    ),
    "by a length": (
        with_((EAST, '"by 3 in"\nup = 3')),
        f"{L1}, east: '3 in' is not an angle: unit 'in' does not measure that; units for an angle: deg; for example 37.5 deg",
    ),
    "by twice": (
        with_((EAST, '"by 45 deg"\nup = 3\nnorth = "by 45 deg"')),
        f"{L1}: more than one component follows from the others; one of east, north, up may be given by an angle, and none "
        "of them beside a fall",
    ),
    "by and fall": (
        with_((EAST, '"by 45 deg"\nnorth = 3\nfall = "2 %"')),
        f"{L1}: more than one component follows from the others; one of east, north, up may be given by an angle, and none "
        "of them beside a fall",
    ),
    "fall and up": (
        with_((EAST, '3\nup = 1\nfall = "1:50"')),
        f"{L1}, fall: fall and up are both given; give one of them",
    ),
    "fall unit": (
        with_((EAST, '3\nfall = "1 in"')),
        f"{L1}, fall: '1 in' is not a slope: unit 'in' does not measure that; units for a slope: in/ft, mm/m, %; for example "
        "1/4 in/ft",
    ),
    # from
    "from unknown": (
        with_(("up =", 'from = "L9"\nup =')),
        f"{L2}, from: there is no leg 'L9'; allowed here: L1, start",
    ),
    "from later": (with_(("east =", 'from = "L2"\neast =')), f"{L1}, from: 'L2' is not an earlier leg; allowed: start"),
    "from itself": (
        with_(("up =", 'from = "L2"\nup =')),
        f"{L2}, from: 'L2' is not an earlier leg; allowed: L1, start",
    ),
    "from a cap": (
        with_(('"elbow"', '"cap"')),
        f"{L2}, from: leg L1 ends in cap, and nothing starts there; legs start from elbow, elbow_short_radius, "
        "elbow_3d, bend, reducing_elbow, return, return_short_radius, tee, cross, lateral, reducer, eccentric_reducer, "
        "coupling, union, weld, other",
    ),
    "two from an elbow": (
        with_(add=LEG_FROM_L1),
        "spool SP-01, leg L3, from: more than one leg starts from leg L1, which ends in elbow; two may start from a tee",
    ),
    "three from a tee": (
        with_(('"elbow"', '"tee"'), add=LEG_FROM_L1 * 2),
        "spool SP-01, leg L4, from: more than two legs start from leg L1, which ends in a tee; a tee joins three legs",
    ),
    "two from the start": (
        with_(add=LEG_FROM_L1.replace("L1", "start")),
        "spool SP-01, leg L3, from: more than one leg starts from the start, which is weld_neck_flange; several may start "
        "from a tee",
    ),
    # marks and names
    "two marks": (
        GOOD + "[[spool]]\n" + SPOOL,
        "spool no. 2, mark: 'SP-01' is already taken by spool no. 1; each spool needs a mark of its own",
    ),
    "marks that differ by case": (
        GOOD + "[[spool]]\n" + SPOOL.replace("SP-01", "sp-01"),
        "spool no. 2, mark: 'sp-01' is already taken by spool no. 1 (SP-01: a spreadsheet takes the two for one); each spool "
        "needs a mark of its own",
    ),
    "marks that differ by zeros": (
        (GOOD + "[[spool]]\n" + SPOOL.replace("SP-01", "007")).replace("SP-01", "7"),
        "spool no. 2, mark: '007' is already taken by spool no. 1 (7: a spreadsheet takes the two for one); each spool needs "
        "a mark of its own",
    ),
    "two names": (
        with_(("east =", 'name = "A"\neast ='), ("up =", 'name = "A"\nup =')),
        "spool SP-01, leg no. 2, name: 'A' is already taken by leg no. 1; each leg needs a name of its own",
    ),
    "name of a later place": (
        with_(("east =", 'name = "L2"\neast =')),
        "spool SP-01, leg no. 2, name: 'L2' is already taken by leg no. 1; each leg needs a name of its own",
    ),
    "name is a word": (
        with_(("east =", 'name = "Start"\neast =')),
        "spool SP-01, leg no. 1, name: 'Start' has a meaning of its own; write another one",
    ),
    "wildcard": (with_(("SP-01", "SP*1")), "spool no. 1, mark: 'SP*1' has '*'; not allowed here: * ? ~"),
    "blank mark": (with_(("SP-01", " ")), "spool no. 1, mark: ' ' is empty; write text, or leave the key out"),
    "long mark": (with_(("SP-01", "x" * 61)), f"spool no. 1, mark: '{'x' * 60}…' is too long; at most 60 characters"),
    "control character": (
        with_(("SP-01", "a\\u0007")),
        "spool no. 1, mark: 'a\\x07' has a character that cannot be shown; write plain text on one line",
    ),
    "two lines": (
        with_(("SP-01", "a\\nb")),
        "spool no. 1, mark: 'a\\nb' has a character that cannot be shown; write plain text on one line",
    ),
    "reversed text": (
        with_(("SP-01", "a\\u202eb")),
        "spool no. 1, mark: 'a\\u202eb' has a character that cannot be shown; write plain text on one line",
    ),
    "mark list": (with_(('"SP-01"', '["A"]')), "spool no. 1, mark: a list is not text; write text in quotes"),
    # keys that need or exclude others
    "other without item": (with_(('"elbow"', '"other"')), f"{L1}: item is missing (other needs it)"),
    "other without take-out": (
        with_(('"elbow"', '"other"\nitem = "x"\njoint = "butt"')),
        f"{L1}: takeout is missing (other needs it); {LENGTHS}",
    ),
    "item at an elbow": (
        with_(('"elbow"', '"elbow"\nitem = "x"')),
        f"{L1}, item: item has no meaning here; it goes with end = other",
    ),
    "enters at an elbow": (
        with_(('"elbow"', '"elbow"\nenters = "run"')),
        f"{L1}, enters: enters has no meaning here; it goes with end = tee, cross",
    ),
    "joint and joints": (
        with_(('size = "6"', 'size = "1"\njoint = "socket"\njoints = "socket"')),
        "spool SP-01, joint: joint and joints are both given; give one of them",
    ),
    "an unknown joint": (
        with_(('size = "6"', 'size = "6"\njoint = "soket"')),
        "spool SP-01, joints: unknown joints 'soket'; did you mean 'socket'?",
    ),
    "bend without radius": (
        with_(('"elbow"', '"bend"')),
        f"{L1}: radius is missing (bend needs it); {LENGTHS}",
    ),
    "radius at an elbow": (
        with_(('"elbow"', '"elbow"\nradius = 9')),
        f"{L1}, radius: radius has no meaning here; it goes with end = bend",
    ),
    "pulled with a tangent": (
        with_(('"elbow"', '"bend"\nradius = 30\npulled = true\ntangent = 2')),
        f"{L1}, pulled: a pulled bend is one pipe: it has no tangent of its own, and its leg no inline item",
    ),
    "old stock of a size that has none": (
        with_(('"elbow"', '"elbow"\nstock = "old"')),
        f"{L1}, stock: no such combination in the tables: an old-stock elbow in size 6",
    ),
    "flat at an elbow": (
        with_(('"elbow"', '"elbow"\nflat = "bottom"')),
        f"{L1}, flat: flat has no meaning here; it goes with end = eccentric_reducer",
    ),
    "no such side": (
        with_(('"elbow"', '"eccentric_reducer"\nflat = "botom"')),
        f"{L1}, flat: unknown flat 'botom'; did you mean 'bottom'?",
    ),
    "socket in a large size": (
        with_(('"elbow"', '"elbow"\njoint = "socket"\nfitting_class = 3000')),
        f"{L1}, end: no such combination in the tables: a socket fitting in size 6, class 3000; give fitting_class, and a size "
        "that B16.11 has in that class; or a take-out of your own",
    ),
    "lateral without dimensions": (
        with_(('"elbow"', '"lateral"')),
        f"{L1}: takeout_branch is missing (lateral needs it); {LENGTHS}",
    ),
    "a short return of a small size": (
        with_(('size = "6"', 'size = "3/4"'), ('"elbow"', '"return_short_radius"')),
        f"{L1}, end: no such combination in the tables: a short-radius return in size 3/4",
    ),
    "a blind on an elbow": (
        with_(('"elbow"', '"elbow"\nblind = true')),
        f"{L1}, blind: blind has no meaning here; it goes with end = weld_neck_flange, slip_on_flange, socket_weld_flange, "
        "threaded_flange, lap_joint",
    ),
    "starts with a cross": (
        with_(('start = "weld_neck_flange"', 'start = "cross"')),
        "spool SP-01, start: unknown start 'cross'; allowed for start: weld_neck_flange, slip_on_flange, "
        "socket_weld_flange, threaded_flange, lap_joint, elbow, elbow_short_radius, elbow_3d, tee, reducer, eccentric_reducer, coupling … (19 in all)",
    ),
    "run without bearing": (
        with_((f"east = {EAST}", "run = 40")),
        f"{L1}, run: a run needs a bearing; give bearing, in degrees from north, clockwise seen from above",
    ),
    "pulled bend between two materials": (
        with_(
            ('end = "elbow"', 'end = "bend"\nradius = 20\npulled = true'),
            ('up = "4 ft 0 1/4 in"', 'up = "4 ft 0 1/4 in"\nmaterial = "A53"'),
        ),
        f"{L2}, material: material A53 follows A106-B of leg L1, whose bend is pulled: one pipe with this leg; give both legs "
        "one material, or weld the bend in",
    ),
    "bearing alone": (
        with_((f"east = {EAST}", "bearing = 30")),
        f"{L1}, bearing: a bearing needs a run or a point; give run, the level length along the bearing; or to, the point "
        "that it runs to, or the elevation that it falls to",
    ),
    "bearing and an elevation": (
        with_((f"east = {EAST}", "bearing = 30\nto = { up = 40 }")),
        f"{L1}, to: an elevation alone does not say how far the bearing runs; give a run or a fall beside it, or east or north",
    ),
    "fall to an elevation": (
        with_((f"east = {EAST}", 'fall = "1 %"\nto = { up = 40 }')),
        f"{L1}, to: a fall needs a level distance; give a bearing, or east or north",
    ),
    "bearing and east": (
        with_(("east =", "bearing = 30\nrun = 40\neast =")),
        f"{L1}, bearing: the level direction is given twice: by a bearing, and by east or north",
    ),
    "to and close_to": (
        with_((f"east = {EAST}", 'to = { north = 40 }\nclose_to = "start"')),
        f"{L1}: the leg's end is given twice: by to, and by close_to; one of them; east, north, up, a bearing or a fall may "
        "stand beside it, and the sheet then shows the misclosure",
    ),
    "to nowhere": (
        with_((f"east = {EAST}", "to = {}")),
        f"{L1}, to: it names no coordinate; give at least one of east, north, up",
    ),
    "to is a number": (
        with_((f"east = {EAST}", "to = 4")),
        f"{L1}, to: 4 is not a table; write it as [spool.leg.to]",
    ),
    "closes to a later leg": (
        with_((f"east = {EAST}", 'close_to = "L2"')),
        f"{L1}, close_to: 'L2' is not an earlier leg; allowed: start",
    ),
    "make-up with pipe": (
        with_(('"elbow"', '"elbow"\nmake_up = true\ntrim = 3')),
        f"{L1}, make_up: a leg made up fitting to fitting has no pipe, so no inline item and no trim",
    ),
    "make-up text": (
        with_(('"elbow"', '"elbow"\nmake_up = "yes"')),
        f"{L1}, make_up: 'yes' is neither true nor false; write true or false, without quotes",
    ),
    "inline nowhere": (
        with_(('end = "elbow"', INLINE + '[{ item = "gate", length = 10, ends = "butt" }]')),
        f"{L1}, inline item 1: its place in the leg is not given once; give either at, from the leg's start to its centre, or "
        "against = start or end",
    ),
    "inline twice": (
        with_(('end = "elbow"', INLINE + '[{ item = "gate", length = 10, at = 9, against = "end", ends = "butt" }]')),
        f"{L1}, inline item 1: its place in the leg is not given once; give either at, from the leg's start to its centre, or "
        "against = start or end",
    ),
    "inline without flange": (
        with_(('end = "elbow"', INLINE + '[{ item = "gate", length = 10, at = 9, ends = "flanged" }]')),
        f"{L1}, inline item 1: flange is missing (flanged needs it); allowed: weld_neck_flange, slip_on_flange, "
        "socket_weld_flange, threaded_flange, lap_joint",
    ),
    "inline length": (
        with_(('end = "elbow"', INLINE + '[{ item = "gate", length = 0, at = 9, ends = "butt" }]')),
        f"{L1}, inline item 1, length: 0 is out of range; allowed: more than 0 and at most 100 ft",
    ),
    "inline flange": (
        with_(
            (
                'end = "elbow"',
                INLINE + '[{ item = "gate", length = 9, at = 9, ends = "flanged", flange = "socket_weld_flange" }]',
            )
        ),
        f"{L1}, inline item 1, flange: no such combination in the tables: a socket weld flange in size 6, class 150",
    ),
    "inline number": (
        with_(('end = "elbow"', INLINE + "4")),
        f"{L1}, inline item: 4 is not a list of tables; write each as [[spool.leg.inline]]",
    ),
    "date text": (
        with_(('revision = "B"', 'date = "yesterday"')),
        "job, date: 'yesterday' is not a date; write a date such as 2025-03-14",
    ),
    "date and time": (
        with_(('revision = "B"', "date = 2025-01-01T10:00:00")),
        "job, date: 2025-01-01 10:00:00 is not a date; write a date such as 2025-03-14",
    ),
    "old date": (
        with_(('revision = "B"', "date = 1066-10-14")),
        "job, date: 1066-10-14 is out of range; allowed: at least 1950-01-01 and at most 2199-12-31",
    ),
    # too many
    "spools": (
        HEAD + "".join(f'[[spool]]\nmark = "{n}"\n' for n in range(1001)),
        "spool: there are more than 1000 of them in the file; at most 1000",
    ),
    "legs": (GOOD + "[[spool.leg]]\n" * 199, "spool SP-01, leg: there are 201 of them; at most 200"),
}


@pytest.mark.parametrize("case", WRONG)
def test_one_sentence_for_each_wrong_job(case: str) -> None:
    text, sentence = WRONG[case]
    with pytest.raises(JobError) as caught:
        parsed(text)
    assert str(caught.value) == f"job.toml: {sentence}"
    assert caught.value.file == "job.toml"


# -- files -----------------------------------------------------------------------------------------------------------


def refused(path: Path | str) -> str:
    with pytest.raises(JobError) as caught:
        read(path, SCHEMA, LIBRARY)
    return str(caught.value)


def test_files_that_are_no_job(tmp_path: Path) -> None:
    assert refused(tmp_path / "none.toml") == f"{tmp_path / 'none.toml'}: there is no such file; name a job file"
    assert refused(tmp_path) == f"{tmp_path}: is a folder; name a job file"
    assert refused("") == "there is no such file; name a job file"
    assert refused("a\0b").startswith("'a\\x00b': cannot be read: ")
    latin = tmp_path / "latin.toml"
    latin.write_bytes(GOOD.replace("Mill Creek", "Mühle").encode("latin-1"))
    assert refused(latin) == f"{latin}: line 4: is not UTF-8 text; save it as UTF-8"
    wide = tmp_path / "wide.toml"
    wide.write_bytes(GOOD.encode("utf-16"))
    assert refused(wide) == f"{wide}: line 1: is not UTF-8 text; save it as UTF-8"
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * (16 * 1024 * 1024 + 1))
    assert refused(large) == f"{large}: is too large; a job file has at most 16 MiB"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="named pipes are not known here")
def test_a_named_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert refused(tmp_path / "pipe") == f"{tmp_path / 'pipe'}: is not a file; name a job file"


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root reads every file")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(GOOD, encoding="utf-8")
    path.chmod(0)
    assert refused(path) == f"{path}: cannot be read: Permission denied"


# -- the schema as data ----------------------------------------------------------------------------------------------


def test_every_key_of_the_schema_tells_what_it_is() -> None:
    assert all(one.about for one in SCHEMA.fields.values())
    assert all(group.about for group in SCHEMA.groups.values())


def test_the_tables_have_every_column_that_the_schema_looks_at() -> None:
    for path in SCHEMA.reference_paths():
        table, _, column = path.partition(".")
        editions = [e for e in ("inch", "mm") if any(one.name == column for one in LIBRARY.table(table).columns(e))]
        assert editions, f"no edition has {path}"
        # the EN flange table has lengths in millimetres only; every other column serves both editions
        assert editions == ["inch", "mm"] or path == "flange_en.weld_neck"


@dataclass
class Column:
    name: str
    values: list[float | str | None]


@dataclass
class Table:
    found: list[Column]

    def columns(self, edition: Any) -> list[Column]:
        return self.found


class Pantry:
    """A library of one table."""

    def table(self, name: str) -> Table:
        assert name == "flour"
        return Table(
            [
                Column("grain", ["rye", "rye", "wheat", "oat"]),
                Column("grade", [815, 1150, 405, 1]),
                Column("protein", [9.0, None, 10.5, 12.0]),
            ]
        )


BAKERY = """\
schema = 1
job_schema = 3
units = "bakery.measures"

[[group]]
path = "bakery"
label = "bakery"
about = "The bakery."
required = true
field = [
    { name = "measures", about = "unit of plain numbers", required = true, choices = ["inch", "mm"] },
    { name = "loaves", about = "loaves a day", unit = "number", whole = true, minimum = 1, default = 40 },
    { name = "rise", about = "share", unit = "number", default = 1.5 },
    { name = "rent", about = "a month", unit = "money", minimum = 0 },
    { name = "open", about = "since", unit = "date" },
]

[[group]]
path = "oven"
label = "oven"
about = "One oven."
many = true
limit = 4
key = "mark"
field = [
    { name = "mark", about = "its mark" },
    { name = "grain", about = "what it bakes", choices = "flour.grain", required = true },
    { name = "grade", about = "of the flour", choices = "flour.grade", digits = true, choices_for = { "flour.grain" = "grain" } },
    { name = "heat", about = "how", choices = ["wood", "gas"], default = "wood", instead = { coal = "burn wood" } },
    { name = "pipe", about = "gas pipe", only_when = { heat = ["gas"] }, required_when = { heat = ["gas"] } },
]

[[group.rule]]
at = "grade"
table = "flour"
columns = ["grade"]
rows = [["grade"]]
filled = "protein"
say = "nothing is known about grade {grade}"

[[group]]
path = "oven.tray"
label = "tray"
about = "A tray of it."
many = true
limit_each = 3
key = "name"
key_default = "T{n}"
unique_within = ""
field = [
    { name = "name", about = "its name" },
    { name = "above", about = "the tray over it", earlier = true, words = ["roof"], first = "roof" },
    { name = "wide", about = "width", unit = "length", or_by = { unit = "slope", above = 0 } },
    { name = "long", about = "length", unit = "length", inherits = ["above.long"] },
    { name = "grain", about = "what it bears", inherits = ["oven.grain"] },
]

[[group.rule]]
shared = "above"
when = { above = ["roof"] }
at_most = 1
say = "the roof has one tray"

[[group.rule]]
nonzero = ["wide", "long"]
by = ["wide"]
at_least = 1
say = "tray {name} has no size"
allowed = "measure it"
"""
MORNING = """\
schema = 3
[bakery]
measures = "mm"
[[oven]]
mark = "big"
grain = "Rye"
grade = 815
[[oven.tray]]
wide = 400
long = 600
[[oven.tray]]
wide = "by 1:2"
[[oven]]
mark = "small"
grain = "oat"
[[oven.tray]]
long = "1 ft"
"""


def bakery(text: str) -> Job:
    return parse_job(text, "morning.toml", schema_from(tomllib.loads(BAKERY), shipped()), Pantry())


def test_another_trade_needs_other_data_only() -> None:
    job = bakery(MORNING)
    assert job.units == "mm"
    assert job.value("bakery.loaves") == 40
    assert isinstance(job.value("bakery.loaves"), int)
    assert job.value("bakery.rise") == 1.5
    trays = job.rows("oven.tray")
    assert [(tray.place, tray.index) for tray in trays] == [
        ("oven big, tray T1", 0), ("oven big, tray T2", 1), ("oven small, tray T1", 2),
    ]  # fmt: skip
    assert [str(tray.value("oven.tray.long")) for tray in trays] == ["600 mm", "600 mm", "1 ft"]
    assert [tray.value("oven.tray.grain") for tray in trays] == ["rye", "rye", "oat"]
    assert [tray.value("oven.tray.above") for tray in trays] == ["roof", "T1", "roof"]
    assert trays[1].value("oven.tray.wide") == By(Quantity(F(500), "mm/m"))
    assert job.rows("oven")[0].value("oven.grade") == "815"


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("grade = 815", "grade = 405", "oven big, grade: no such combination in the tables: grain rye with grade 405; "
         "allowed for grain rye: 815, 1150"),
        ("grade = 815", "grade = 1150", "oven big, grade: nothing is known about grade 1150"),
        ("grade = 815", 'heat = "gas"', "oven big: pipe is missing (gas needs it)"),
        ("grade = 815", 'pipe = "1/2"', "oven big, pipe: pipe has no meaning here; it goes with heat = gas"),
        ("wide = 400\nlong = 600", "", "oven big, tray T1: tray T1 has no size; measure it"),
        ('wide = "by 1:2"', 'wide = 3\nabove = "roof"', "oven big, tray T2: the roof has one tray"),
        ('wide = "by 1:2"', 'wide = "by -1:2"', "oven big, tray T2, wide: 'by -1:2' is out of range; allowed: more than 0"),
        ('measures = "mm"', 'measures = "mm"\nloaves = 0', "bakery, loaves: 0 is out of range; allowed: at least 1"),
        ('measures = "mm"', 'measures = "mm"\nloaves = 1.5', "bakery, loaves: 1.5 is not a whole number; "
         "write a whole number"),
        ('measures = "mm"', 'measures = "mm"\nrent = -1', "bakery, rent: -1 is out of range; allowed: at least 0"),
        ("schema = 3", "schema = 1", "schema is 1; write schema = 3 as the first line"),
    ],
)  # fmt: skip
def test_another_trade_has_sentences_of_its_own(old: str, new: str, sentence: str) -> None:
    with pytest.raises(JobError) as caught:
        bakery(MORNING.replace(old, new, 1))
    assert str(caught.value) == f"morning.toml: {sentence}"


HOOKS = BAKERY.replace(
    '[[group]]\npath = "oven.tray"',
    """[[group]]
path = "oven.hook"
label = "hook"
about = "Something to hang a tray from, on the side of another."
many = true
key = "name"
field = [
    { name = "name", about = "its name" },
    { name = "side", about = "the tray it is on", required = true, names = "oven.tray" },
    { name = "long", about = "its length", unit = "length" },
]

[[group]]
path = "oven.tray\"""",
).replace("earlier = true,", 'earlier = true, earlier_by = { "oven.hook" = "side" },')
HOOKED = MORNING.replace(
    '[[oven.tray]]\nwide = "by 1:2"\n',
    '[[oven.tray]]\nwide = "by 1:2"\nabove = "h1"\n[[oven.hook]]\nname = "H1"\nside = "t1"\nlong = 90\n',
)


def hooked(text: str) -> Job:
    return parse_job(text, "morning.toml", schema_from(tomllib.loads(HOOKS), shipped()), Pantry())


def test_an_entry_may_hang_on_one_of_a_list_beside_its_own() -> None:
    job = hooked(HOOKED)
    trays, (hook,) = job.rows("oven.tray"), job.rows("oven.hook")
    assert [tray.value("oven.tray.above") for tray in trays] == ["roof", "H1", "roof"]
    assert hook.value("oven.hook.side") == "T1"
    assert str(trays[1].value("oven.tray.long")) == "90 mm"  # `above.long` is the hook's


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('side = "t1"', 'side = "t9"', "oven big, tray T2, above: hook H1 stands on 't9', which is no earlier tray; allowed: T1"),
        ('side = "t1"', 'side = "t2"', "oven big, tray T2, above: hook H1 stands on 't2', which is no earlier tray; allowed: T1"),
        ('above = "h1"', 'above = "h2"', "oven big, tray T2, above: there is no tray 'h2'; allowed here: T1, roof, H1"),
        ('above = "h1"\n[[oven.hook]]\nname = "H1"', '[[oven.hook]]\nname = "H1"', None),
        ('name = "H1"', 'name = "t2"', "oven big, tray T2, above: there is no tray 'h1'; allowed here: T1, roof, t2"),
        ('above = "h1"\n[[oven.hook]]\nname = "H1"\nside = "t1"', '[[oven.hook]]\nname = "H1"\nside = "t7"',
         "oven big, hook H1, side: there is no tray 't7'; allowed here: T1, T2"),
        ('above = "h1"\n[[oven.hook]]\nname = "H1"', '[[oven.hook]]\nname = "t2"',
         "oven big, hook t2, name: 't2' is the name of a tray too, or has a meaning of its own; write another one"),
        ('above = "h1"\n[[oven.hook]]\nname = "H1"', '[[oven.hook]]\nname = "Roof"',
         "oven big, hook Roof, name: 'Roof' is the name of a tray too, or has a meaning of its own; write another one"),
    ],
)  # fmt: skip
def test_what_hangs_on_nothing_is_told(old: str, new: str, sentence: str | None) -> None:
    assert old in HOOKED
    text = HOOKED.replace(old, new, 1)
    if sentence is None:
        assert hooked(text).rows("oven.hook")
        return
    with pytest.raises(JobError) as caught:
        hooked(text)
    assert str(caught.value) == f"morning.toml: {sentence}"


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('names = "oven.tray"', 'names = "oven.trays"', "oven.hook.side: 'oven.trays' is no list with a key beside it"),
        ('"oven.hook" = "side"', '"oven.hook" = "long"', "oven.tray.above: oven.hook.long does not name a row of oven.tray, or is read after it"),
        ('"above.long"', '"above.longer"', "oven.tray.long: 'above.longer' names no value"),
    ],
)  # fmt: skip
def test_slips_in_such_a_schema_are_found(old: str, new: str, sentence: str) -> None:
    assert old in HOOKS
    with pytest.raises(TemplateError) as caught:
        schema_from(tomllib.loads(HOOKS.replace(old, new, 1)), shipped())
    assert str(caught.value) == f"job.toml: {sentence}"


@pytest.mark.parametrize("module", [job_module, quantity_module])
def test_the_modules_have_no_word_of_the_trade(module: Any) -> None:
    said = Path(module.__file__).read_text(encoding="utf-8").casefold()
    trade = {group.path.rpartition(".")[2] for group in SCHEMA.groups.values()} - {
        "job",
        "rules",
        "dimension",
        "to",
        "part",
    }
    trade |= {"pipe", "flange", "elbow", "tee", "weld", "bevel", "schedule", "takeout", "gasket"}
    assert not [word for word in trade if re.search(rf"\b{word}s?\b", said)]


SLIPS = [
    ("schema = 1\n", "schema = 2\n", "schema 2 is not known; this builder reads schema = 1"),
    ("about = ", "abuot = ", "Object contains unknown field `abuot` - at `$.group[0]`"),
    ('"bakery.measures"', '"bakery.open"', "units = 'bakery.open': it must be a required key whose choices are the editions"),
    ('unit = "money"', 'unit = "mony"', "bakery.rent: unknown unit 'mony'; did you mean 'money'?"),
    ("coal = ", "gas = ", "oven.heat: its word 'gas' is a choice, or is not in lower case with underscores"),
    ("coal = ", "Coal = ", "oven.heat: its word 'Coal' is a choice, or is not in lower case with underscores"),
    ("default = 40", "default = 0", "bakery.loaves: its default: 0 is out of range"),
    ('minimum = 1', 'minimum = "x"', "bakery.loaves: its minimum: 'x' is not a number; write a plain number"),
    ('path = "oven.tray"', 'path = "stove.tray"', "stove.tray: its parent is not declared before it, or it is declared twice"),
    ('name = "heat"', 'name = "mark"', "oven.mark: it is declared twice"),
    ('key = "mark"', 'key = "marc"', "oven: key 'marc' is not declared"),
    ('name = "pipe"', 'name = "tray"', "oven.tray: a key and a table have one name"),
    ('heat = ["gas"] }, r', 'heat = ["coal"] }, r', "oven.pipe: heat is never 'coal'"),
    ('"above.long"', '"above.longer"', "oven.tray.long: 'above.longer' names no value"),
    ('"oven.grain"', '"bakery.grain"', "oven.tray.grain: 'bakery.grain' names no value"),
    ('at = "grade"', 'at = "greed"', "oven, rule 1: 'greed' is no key of oven"),
    ('rows = [["grade"]]', 'rows = [["grade", "mark"]]', "oven, rule 1: each of its rows has as many values as it has columns"),
    ("{grade}", "{greed}", "oven, rule 1: 'greed' names no value"),
    ('say = "the roof has one tray"', "", "oven.tray, rule 1: it says nothing"),
    ('by = ["wide"]', 'shared = "wide"', "oven.tray, rule 2: it has not exactly one of: a count, rising, same, shared, table"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "sentence"), SLIPS)
def test_slips_in_a_schema_are_found_before_any_job(old: str, new: str, sentence: str) -> None:
    assert old in BAKERY
    with pytest.raises(TemplateError) as caught:
        schema_from(tomllib.loads(BAKERY.replace(old, new, 1)), shipped())
    assert str(caught.value) == f"job.toml: {sentence}"
