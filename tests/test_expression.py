"""Formula text becomes a tree and comes back as the same tree."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbook_builder.errors import TemplateError
from workbook_builder.expression import (
    BINDING,
    ERRORS,
    Binary,
    Call,
    MacroBody,
    Name,
    Node,
    Number,
    Text,
    Truth,
    Unary,
    expand,
    names,
    number_text,
    parse,
    parse_said,
    replace_names,
    walk,
    write,
)

NAMES = [
    "flour",
    "trays.long_side",
    "previous.mark",
    "next.x2",
    "above.x",
    "a_1",
    "sch40",
    "ang45",
    "r",
    "c",
    "rc",
    "pi",
]

leaves: st.SearchStrategy[Node] = st.one_of(
    st.floats(min_value=0, max_value=1e300, allow_nan=False).map(lambda value: Number(value + 0.0)),
    st.integers(0, 10**6).map(lambda value: Number(float(value))),
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=8)
    .filter(lambda text: text not in ERRORS)
    .map(Text),
    st.booleans().map(Truth),
    st.sampled_from(NAMES).map(Name),
)


def branches(inner: st.SearchStrategy[Node]) -> st.SearchStrategy[Node]:
    """Trees one step deeper."""
    return st.one_of(
        st.builds(Binary, st.sampled_from(list(BINDING)), inner, inner),
        st.builds(Unary, st.sampled_from(["-", "+", "%"]), inner),
        st.builds(Call, st.sampled_from(["IF", "SUM", "NO_MORE"]), st.lists(inner, max_size=3).map(tuple)),
    )


trees = st.recursive(leaves, branches, max_leaves=25)


@given(trees)
@settings(max_examples=500, deadline=None)
def test_a_tree_is_written_and_read_back(tree: Node) -> None:
    assert parse(write(tree)) == tree
    assert parse("=" + write(tree)) == tree


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("1+2*3", "1+2*3"),
        ("(1+2)*3", "(1+2)*3"),
        ("1-(2-3)", "1-(2-3)"),
        ("(1-2)-3", "1-2-3"),
        ("8/(4/2)", "8/(4/2)"),
        ("2^3^2", "2^3^2"),
        ("2^(3^2)", "2^(3^2)"),
        ("-2^2", "(-2)^2"),
        ("-(2^2)", "-(2^2)"),
        ("3--x", "3-(-x)"),
        ("-x + 1", "-x+1"),
        ("(a & b) = c", "a&b=c"),
        ("a & (b = c)", "a&(b=c)"),
        ('IF(a >= 1, "it""s", true)', 'IF(a>=1,"it""s",TRUE)'),
        ("= a * 1E3", "a*1000"),
        ("1e-7", "1E-07"),
        ("PI()", "PI()"),
        ("a < b < c", "a<b<c"),
        ("a < (b < c)", "a<(b<c)"),
    ],
)
def test_brackets_stand_only_where_they_are_needed(said: str, written: str) -> None:
    assert write(parse(said)) == written
    assert parse(written) == parse(said)


@pytest.mark.parametrize(
    "value", [0.0, 1.0, 0.1, 1e15, 123456789012345.0, 1e16, 1e20, 1.5e300, 1e-9, 5e-324, 1 / 3, 2.5e-3]
)
def test_numbers_keep_every_digit(value: float) -> None:
    text = number_text(value)
    assert float(text) == value
    # one engine cannot read 1E3: an exponent has its sign
    assert "E" not in text or "E+" in text or "E-" in text


@pytest.mark.parametrize(
    ("formula", "said"),
    [
        ("", "it cannot be read as a formula"),
        ("a +", "it cannot be read as a formula"),
        ("(a", "it cannot be read as a formula"),
        ("a b", "it cannot be read as a formula"),
        ('"a', "it cannot be read as a formula"),
        ("{1,2}", "a formula may not hold: array"),
        ("SUM(,1)", "a formula may not hold: omitted"),
        ("a.b:a.c", "may not hold the operator ':'"),
        ("@x", "may not hold the operator '@'"),
        ("x#", "may not hold the operator '#'"),
        ("(a,b)", "may not hold the operator ','"),
        ("#REF!", "may not hold #REF!"),
        ('"#N/A"', "may not hold #N/A"),
        ("1e999", "may not hold inf"),
    ],
)
def test_what_no_formula_may_hold(formula: str, said: str) -> None:
    with pytest.raises(TemplateError) as caught:
        parse(formula)
    assert said in str(caught.value)
    assert "TokenSpan" not in str(caught.value) and "\n" not in str(caught.value)
    with pytest.raises(TemplateError) as caught:
        parse_said(formula, "dough.toml", "dough.flour")
    assert str(caught.value).startswith("dough.toml: dough.flour: ") and f"(formula: {formula})" in str(caught.value)


def test_a_formula_nested_without_end_is_an_authors_mistake() -> None:
    with contextlib.suppress(TemplateError):
        parse("(" * 5000 + "1" + ")" * 5000)
    with pytest.raises(TemplateError):
        parse("ABS(" * 5000 + "1" + ")" * 5000)


def test_functions_are_written_in_capitals() -> None:
    assert write(parse("if(a, sum(b), pi())")) == "IF(a,SUM(b),PI())"


def test_names_stand_in_order_and_once() -> None:
    tree = parse('IF(b > a, b & "x", trays.a) + (-previous.c) ^ 2')
    assert names(tree) == ["b", "a", "trays.a", "previous.c"]
    assert sum(isinstance(node, Name) for node in walk(tree)) == 5
    assert write(replace_names(tree, lambda name: Name(name.text.upper()))) == 'IF(B>A,B&"x",TRAYS.A)+(-PREVIOUS.C)^2'


def macros(**bodies: tuple[list[str], str]) -> dict[str, MacroBody]:
    """Macros by name from what they take and say."""
    return {name: MacroBody(tuple(takes), parse(text)) for name, (takes, text) in bodies.items()}


def test_macros_are_written_out() -> None:
    known = macros(
        no_more=(["x", "limit"], "x <= limit + hair"),
        both=(["x", "low", "high"], "AND(no_more(low, x), no_more(x, high))"),
    )
    assert write(expand(parse("NO_MORE(a + b, 3)"), known)) == "a+b<=3+hair"
    assert write(expand(parse("both(a, 1, 2)"), known)) == "AND(1<=a+hair,a<=2+hair)"
    assert write(expand(parse("-both(no_more(a, b), 1, 2) & SUM(c)"), known)) == (
        "-AND(1<=(a<=b+hair)+hair,a<=b+hair<=2+hair)&SUM(c)"
    )


def test_what_a_macro_takes_is_put_in_with_its_brackets() -> None:
    known = macros(half=(["x"], "x / 2"), square=(["x"], "x ^ 2"))
    assert write(expand(parse("half(a + b)"), known)) == "(a+b)/2"
    assert write(expand(parse("square(-a)"), known)) == "(-a)^2"
    assert write(expand(parse("1 - half(square(a - 1))"), known)) == "1-(a-1)^2/2"


def test_a_name_that_an_inner_macro_leaves_free_stays_the_sheets() -> None:
    known = macros(outer=(["x"], "inner(x + 1) + y"), inner=(["y"], "x * y"))
    assert write(expand(parse("outer(a)"), known)) == "x*(a+1)+y"
    # and an argument that has the name of what a macro takes stays an argument
    known = macros(swapped=(["x", "y"], "x - y"))
    assert write(expand(parse("swapped(y, x)"), known)) == "y-x"


@pytest.mark.parametrize(
    ("formula", "said"),
    [
        ("one(1, 2)", "macro 'one' takes 1 values, here 2"),
        ("one()", "macro 'one' takes 1 values, here 0"),
        ("loop(1)", "macro 'loop' calls itself"),
        ("there(1)", "calls itself"),
    ],
)
def test_macros_called_wrongly(formula: str, said: str) -> None:
    known = macros(
        one=(["x"], "x"),
        loop=(["x"], "loop(x)"),
        there=(["x"], "back(x) + 1"),
        back=(["x"], "IF(x > 1, there(x - 1), 0)"),
    )
    with pytest.raises(TemplateError, match=said.replace("(", r"\(")):
        expand(parse(formula), known)


def test_a_macro_may_be_given_its_own_answer() -> None:
    known = macros(half=(["x"], "x / 2"))
    assert write(expand(parse("half(half(half(a)))"), known)) == "a/2/2/2"
