"""The runner of `make mutants` notices what is wrong, lets pass what is not, and can fail."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import mutants
import pytest
import scenes
from mutants import Mutant, Namer, Owner, Trial

from workbook_builder import expression


@pytest.fixture(scope="module")
def trial() -> Trial:
    """One job with readings in each edition."""
    return Trial(scenes.scenes()[:2])


@pytest.fixture(scope="module")
def every() -> list[Mutant]:
    """Every mutant there is."""
    names = Namer({edition: mutants.whole(edition) for edition in mutants.EDITIONS})
    sheets = [*mutants.SHEETS, "macros"]
    return [mutant for owner in mutants.owners(sheets) for mutant in mutants.mutants(owner, names)]


def owner_of(name: str, kind: str = "field") -> Owner:
    """The formula of a field or macro, by name."""
    sheets = [*mutants.SHEETS, "macros"]
    return next(each for each in mutants.owners(sheets) if each.name == name and each.kind == kind)


def with_text(owner: Owner, text: str) -> Mutant:
    """A formula with another text."""
    return Mutant(owner, 1, "changed by hand", text)


# -- the changes -------------------------------------------------------------------------------------------------------


class NoNames:
    """Offers no other name."""

    def like(self, text: str, owner: Owner) -> Sequence[str]:
        return []


@pytest.mark.parametrize(
    ("text", "changed"),
    [
        ("a + 1", {"a-1", "a+2"}),
        ("-a * b", {"a*b", "(-a)/b"}),
        ("a <= b", {"a<b", "a>b"}),
        ('IF(a = "x", b, ABS(c))', {'IF(a<>"x",b,ABS(c))', 'IF(a="@x",b,ABS(c))', 'IF(a="x",b,c)'}),
        ("MIN(a, b)", {"MAX(a,b)"}),
        ("AND(a, NOT(b))", {"OR(a,NOT(b))", "AND(a,b)"}),
        ("a ^ 2", {"a*2", "a^3"}),
    ],
)  # fmt: skip
def test_one_thing_changes_at_a_time(text: str, changed: set[str]) -> None:
    owner = Owner("s", "field", "s.x", "", text, ("inch",))
    found = [mutant.text for mutant in mutants.mutants(owner, NoNames())]  # type: ignore[arg-type]
    assert set(found) == changed and len(found) == len(changed)


def test_another_name_is_one_of_its_kind_and_table(trial: Trial) -> None:
    names = Namer({edition: trial.book(edition) for edition in mutants.EDITIONS})
    owner = owner_of("joints.gap_tilt")
    fields = trial.book("inch").book.fields
    for name in expression.names(expression.parse(owner.text)):
        (other,) = names.like(name, owner)
        assert other != name
        assert fields[f"joints.{other}"].unit_kind == fields[f"joints.{name}"].unit_kind


def test_mutants_have_names_of_their_own(every: list[Mutant]) -> None:
    assert len({str(mutant) for mutant in every}) == len(every)
    assert {mutant.owner.sheet for mutant in every} == {*mutants.SHEETS, "macros"}


# -- what is noticed ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "kind", "text", "told"),
    [
        ("joints.gap_tilt", "field", "2 * resultant(gap_up, gap_up)", "joints."),
        ("cuts.cut_length", "field", 'IF(net - trim > rules.hair, net - trim, "")', "not"),
        ("legs.length", "field", "SQRT(SUMSQ(east_part, north_part))", "legs."),
        ("opposite", "macro", "IF(hours <= 7, hours + 6, hours - 6)", "joints."),
        ("legs.pipe_row", "field", "1 / 0", "holds #"),
    ],
)
def test_a_spoiled_formula_is_noticed(trial: Trial, name: str, kind: str, text: str, told: str) -> None:
    word = trial.result(with_text(owner_of(name, kind), text))
    assert word and told in word


def test_a_text_where_a_number_belongs_is_wrong(trial: Trial) -> None:
    book = trial.book("inch")
    assert mutants.wrong_in(book, {"legs.level": [1.0, None, "none"]}) == "legs.level holds the text 'none'"
    assert mutants.wrong_in(book, {"legs.level": [1.0, None], "legs.direction": ["east"]}) == ""


@pytest.mark.parametrize(
    ("name", "kind", "text"),
    [
        ("joints.gap_tilt", "field", "resultant(gap_side, gap_up) * 2"),
        ("cuts.cut_length", "field", 'IF(trim + net > rules.hair, trim + net, "")'),
        ("opposite", "macro", "IF(hours >= 7, hours - 6, 6 + hours)"),
    ],
)
def test_an_equal_formula_is_not(trial: Trial, name: str, kind: str, text: str) -> None:
    assert trial.result(with_text(owner_of(name, kind), text)) == ""


def test_a_formula_is_put_back(trial: Trial) -> None:
    """What was noticed of one change is not seen again with the next."""
    spoiled = with_text(owner_of("joints.gap_tilt"), "3 * resultant(gap_up, gap_side)")
    equal = with_text(owner_of("joints.gap_mean"), owner_of("joints.gap_mean").text + " + 0")
    assert trial.result(spoiled)
    assert trial.result(equal) == ""


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("joints.gap_tilt", "2 + resultant(gap_up, gap_side)"),  # no length
        ("joints.gap_tilt", "2 * resultant(gap_up, gap_tilt)"),  # of itself
        ("joints.gap_tilt", "2 * resultant(gap_up, cocked_by)"),  # no such name
    ],
)
def test_what_cannot_be_built_is_no_mutant(trial: Trial, name: str, text: str) -> None:
    assert trial.result(with_text(owner_of(name), text)) is None


def test_a_scene_that_does_not_hold_is_no_measure(trial: Trial) -> None:
    """Everything would count as noticed there."""
    book, cases = trial.scene(0)
    place = next(place for place in cases[0].wanted if place[0] == "joints.gap_mean")
    wrong = replace(cases[0], wanted={**cases[0].wanted, place: 99.0})
    with pytest.raises(AssertionError, match="with nothing changed"):
        mutants.Stage("scene", book.again(wrong.typed), wrong, whole=True, proves=False)


# -- the score and the list --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("noticed", "code"), [(100, 0), (95, 0), (94, 1)])
def test_the_score_decides(noticed: int, code: int, capsys: pytest.CaptureFixture[str]) -> None:
    owner = Owner("s", "field", "s.x", "", "a", ("inch",))
    results = [(Mutant(owner, at, "change", ""), "seen" if at < noticed else "") for at in range(100)]
    assert mutants.report([*results, (Mutant(owner, 100, "change", ""), None)], 1, "0 s", False) == code
    told = capsys.readouterr().out
    assert f"{noticed} of   100 noticed" in told and told.count("survives:") == 100 - noticed


def test_the_list_of_survivors_names_what_there_is(every: list[Mutant]) -> None:
    """An entry for a formula or a change that is gone explains nothing."""

    def without_other_name(text: str) -> str:
        return re.sub(r"(: [a-z_0-9.]+ becomes )[a-z_0-9.]+", r"\1", text)

    there = {without_other_name(str(mutant)) for mutant in every}
    assert [name for name in mutants.explained() if without_other_name(name) not in there] == []


def test_every_survivor_has_a_reason() -> None:
    text = mutants.KNOWN.read_text(encoding="utf-8")
    for part in text.split("\n## ")[1:]:
        heading, _, rest = part.partition("\n")
        reason = rest.partition("\n- `")[0].strip()
        assert len(reason) > 30, heading
        assert "\n- `" in rest, heading
