"""Whatever a job file holds, it is a job or it gets one plain sentence: never another exception."""

# ruff: noqa: E501  (lists of samples)

from __future__ import annotations

import copy
import math
import tomllib
from collections.abc import Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from workbook_builder import job_reading as job_module
from workbook_builder import tables
from workbook_builder.errors import JobError
from workbook_builder.job import Job
from workbook_builder.job_reading import load_schema, parse_job, read
from workbook_builder.quantity import Quantity, QuantityError, parse, shipped

ROOT = Path(__file__).resolve().parent.parent
SCHEMA = load_schema()
LIBRARY = tables.load()
GOOD = (ROOT / "output_examples" / "mill_creek.toml").read_text(encoding="utf-8")
DATA = tomllib.loads(GOOD)

FIELD_NAMES = sorted({path.rpartition(".")[2] for path in [*SCHEMA.fields, *SCHEMA.groups]})
WORDS = sorted({word for one in SCHEMA.fields.values() for word in [*(one.choices if isinstance(one.choices, list) else []), *one.words]})  # fmt: skip

TEXTS = st.one_of(
    st.sampled_from([*WORDS, "6", "4", "1/2", "STD", "80", "150", "L1", "L2", "SP-01", "by 45 deg", "by", "1:50", "0 in", "-1 in"]),
    st.sampled_from(["=1+1", "*", "?", "~", "nan", "{size}", "{", "}", "\u202e", "\ufeff", "\x00", "½", "1/0", "9" * 70, "%s", ""]),
    st.from_regex(r"[-+]?[0-9]{1,7}([ -][0-9]{1,2}/[0-9]{1,2})? ?(in|ft|mm|m|cm|deg|lb|kg|in/ft|%|')?", fullmatch=True),
    st.text(max_size=20),
)  # fmt: skip
SCALARS = st.one_of(
    TEXTS,
    st.integers(),
    st.integers(-20, 400),
    st.floats(),
    st.sampled_from([math.nan, math.inf, -math.inf, 0, 0.0, 10**40, 1e-300]),
    st.booleans(),
    st.dates(min_value=date(1, 1, 1)),
    st.datetimes(min_value=datetime(1, 1, 1)),
    st.just(time(1, 2)),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(FIELD_NAMES) | st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


def outcome(text: str) -> Job | JobError:
    """The job, or its error after looking at its sentence."""
    try:
        return parse_job(text, "job.toml", SCHEMA, LIBRARY)
    except JobError as error:
        sentence = str(error)
        assert sentence.startswith("job.toml: ")
        assert sentence.isprintable(), sentence
        assert len(sentence) < 800, sentence
        return error


def spots(node: Any) -> Iterator[tuple[Any, Any]]:
    """Every place in TOML data: what holds it, and its key or position."""
    keys = list(node) if isinstance(node, dict) else range(len(node)) if isinstance(node, list) else []
    for key in keys:
        yield node, key
        yield from spots(node[key])


SPOTS = len(list(spots(DATA)))


@st.composite
def mutants(draw: st.DrawFn) -> dict[str, Any]:
    """The demo job with a few values changed, taken out, doubled, or put where they do not belong."""
    data = copy.deepcopy(DATA)
    for _ in range(draw(st.integers(1, 4))):
        places = list(spots(data))
        if not places:
            break
        holder, key = places[draw(st.integers(0, len(places) - 1))]
        match draw(st.sampled_from(["change", "remove", "double", "add", "swap"])):
            case "change":
                holder[key] = draw(VALUES)
            case "remove":
                del holder[key]
            case "double" if isinstance(holder, list):
                holder.append(copy.deepcopy(holder[key]))
            case "swap":
                other, place = places[draw(st.integers(0, len(places) - 1))]
                holder[key], other[place] = copy.deepcopy(other[place]), copy.deepcopy(holder[key])
            case _ if isinstance(holder, dict):
                holder[draw(st.sampled_from(FIELD_NAMES) | st.text(max_size=8))] = draw(VALUES)
            case _:
                holder.append(draw(VALUES))
    return data


def check(data: dict[str, Any], monkey: pytest.MonkeyPatch) -> Job | JobError:
    """What reading makes of TOML data, its text left out."""
    monkey.setattr(job_module, "_toml", lambda text, file: data)
    return outcome("")


@settings(max_examples=400, deadline=None)
@given(mutants())
def test_changed_values(data: dict[str, Any]) -> None:
    with pytest.MonkeyPatch.context() as monkey:
        found = check(data, monkey)
    if isinstance(found, Job):
        for row in found.rows("spool.leg"):
            assert isinstance(row.value("spool.leg.end"), str)
            assert row.value("spool.mark")
            sizes = [row.value(f"spool.leg.{way}") for way in ("east", "north", "up")]
            assert any(isinstance(size, Quantity) and size.value for size in sizes)


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_changed_text(data: st.DataObject) -> None:
    text = GOOD
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.integers(0, 12)))
        text = (
            text[:start]
            + data.draw(TEXTS | st.sampled_from(["[", "]", "[[", '"', "'", "=", ".", "\n", "#", "\\", ","]))
            + text[end:]
        )
    outcome(text)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "surrogatepass")))
@example(GOOD.encode("utf-16"))
@example(GOOD.encode("utf-8-sig"))
@example(GOOD.encode().replace(b"\n", b"\r"))
@example(b"[" * 3000)
@example(("[\n" * 200_000).encode())
@example(("a." * 1900 + "a = 1\n").encode())
@example(("schema = 1\njob = " + "{a=" * 1300).encode())
def test_any_bytes(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path = tmp_path_factory.mktemp("fuzz") / "job.toml"
    path.write_bytes(content)
    try:
        read(path, SCHEMA, LIBRARY)
    except JobError as error:
        assert str(error).startswith(str(path))
        assert str(error).isprintable()


@settings(max_examples=500)
@given(
    TEXTS | st.text(alphabet="0123456789 -/.'\"ftinmdegk%:½′by", max_size=24), st.sampled_from(sorted(shipped().kinds))
)
def test_any_text_as_a_quantity(said: str, kind: str) -> None:
    unit = shipped().shown(kind, "mm")
    try:
        quantity = parse(said, kind, unit)
    except QuantityError as error:
        assert str(error)
    else:
        assert quantity == parse(str(quantity).removesuffix(" money").removesuffix(" day"), kind, quantity.unit)


def test_the_mutants_reach_both_ends() -> None:
    assert isinstance(outcome(GOOD), Job)
    assert isinstance(outcome(GOOD.replace("elbow", "elbwo")), JobError)
