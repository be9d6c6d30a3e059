"""Steps rounded on the way cost nothing, wrong answers gain nothing by it, and a sheet can ask for strict rounding."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.items import all_items, find
from gearkit.answers.judge import marking
from gearkit.answers.judge.results import ItemResult
from gearkit.answers.kinds.numbers import ON_THE_WAY, TWO_FIGURES, NumberChecker
from tests.answers.notations import decimal
from tests.support.amounts import SHORT

DRAWS = 40 if SHORT else 1000
COUNTED = {"teeth", "planets", "shafts", "lines", "elements"}


def fixed(item_id: str, **wanted: int) -> Variant:
    for number in range(100_000):
        variant = practice(find(item_id), f"try {number}")
        if all(variant.values[name] == value for name, value in wanted.items()):
            return variant
    raise AssertionError(f"no variant of {item_id} with {wanted}")


RING_HELD = fixed("L03-02", S=36, R=78)  # 1 + 78/36 = 19/6 = 3.1667; half a percent of it is 0.01583


def mark(text: str, strict: bool = False) -> ItemResult:
    return marking.mark(RING_HELD, {"answer": text}, strict=strict)


@pytest.mark.parametrize("text", ["3.16", "3.18", "3.182", "3.151", "1+2.16", "3.18/1", "2*1.59", "3.18:1", "1 + 2.18"])
def test_what_is_right_only_by_the_allowance_says_so(text: str) -> None:
    result = mark(text)
    assert (result.verdict, result.comment) == ("right", f"Right. {ON_THE_WAY}")
    assert mark(text, strict=True).verdict == "wrong"


@pytest.mark.parametrize("text", ["19/6", "3.17", "3.167", "3.1666667", "1 + 78/36", "114/36"])
def test_exact_and_correctly_rounded_answers_get_no_remark(text: str) -> None:
    assert mark(text).comment == "Right."
    assert mark(text, strict=True).comment == "Right."


@pytest.mark.parametrize("text", ["3.183", "3.15", "3.14", "3.19", "1+2.15", "22/7", "63/20", "3", "4", "3.0", "3.3", "-3.18"])
def test_beyond_half_a_percent_nothing_is_allowed_nor_for_fractions_of_whole_numbers(text: str) -> None:
    assert mark(text).score < 2


def test_strict_rounding_wants_three_figures() -> None:
    assert mark("3.2").comment == f"Right. {TWO_FIGURES}"
    assert mark("3.2", strict=True).verdict == "wrong"
    assert "too few digits to tell" in mark("3.2", strict=True).comment


def test_two_figures_that_a_wrong_form_shares_are_too_few() -> None:
    told = []
    for item in all_items():
        for number in range(20):
            variant = practice(item, f"two {number}")
            for name, checker in variant.key.checkers.items():
                if not isinstance(checker, NumberChecker) or checker.kind is AnswerKind.INTEGER or not checker.value:
                    continue
                text = decimal(checker.value, 2)
                room = max(abs(checker.value) * max(checker.tolerance.relative, Fraction(1, 200)), checker.tolerance.absolute)
                alike = any(
                    decimal(form.contents[name], 2) == text and form.contents[name] != checker.value
                    for form in variant.key.wrong_forms
                    if form.contents.get(name)
                )
                if alike and abs(Fraction(text) - checker.value) > room and len(text.replace(".", "").strip("-0")) == 2:
                    texts = {**marking.right_answer(variant), name: text}
                    told.append(next(part for part in marking.mark(variant, texts).parts if part.name == name))
    assert len(told) > 3
    assert {part.verdict for part in told} == {"wrong"}


def test_counts_and_teeth_get_no_allowance() -> None:
    count = NumberChecker(Fraction(400), AnswerKind.INTEGER)
    teeth = NumberChecker(Fraction(400), AnswerKind.DECIMAL, unit="teeth")
    for checker in (count, teeth):
        assert checker.judge(checker.read("400")).right
        for text in ("401", "399", "401.0", "400.6"):
            assert not checker.judge(checker.read(text)).right


def test_an_efficiency_may_be_off_by_half_a_percent_of_its_loss_only() -> None:
    # 0.6 loses 0.4: half a percent of that is 0.002, of the whole it would be 0.003.
    checker = NumberChecker(Fraction(3, 5), AnswerKind.DECIMAL, Tolerance(of_loss=True))
    assert checker.judge(checker.read("0.602")).right
    assert not checker.judge(checker.read("0.6025")).right
    percent = NumberChecker(Fraction(60), AnswerKind.DECIMAL, Tolerance(of_loss=True), unit="percent")
    assert percent.judge(percent.read("60.2")).right
    assert not percent.judge(percent.read("60.25")).right
    plain = NumberChecker(Fraction(3, 5), AnswerKind.DECIMAL)
    assert plain.judge(plain.read("0.603")).right


def test_every_efficiency_of_the_bank_is_judged_on_its_loss() -> None:
    asked = [
        item
        for item in all_items()
        if "efficien" in item.prompt.lower().rpartition(".")[0][-120:] and item.kind is AnswerKind.DECIMAL and not item.unit
    ]
    assert len(asked) >= 3
    assert [item.id for item in asked if not item.tolerance.of_loss] == []


@pytest.mark.parametrize("item", all_items(), ids=lambda item: item.id)
def test_no_draw_brings_a_wrong_form_as_near_as_the_allowance(item: Item) -> None:
    for number in range(DRAWS):
        variant = variants.practice(item, f"near {number}")
        for form in variant.key.wrong_forms:
            for name, wrong in form.contents.items():
                checker = variant.key.checkers[name]
                if not isinstance(checker, NumberChecker) or wrong == checker.value or item.constraints:
                    continue
                counted = checker.kind is AnswerKind.INTEGER or checker.unit in COUNTED
                room = max(
                    0 if counted else abs(checker.value) / 200,
                    abs(checker.value) * checker.tolerance.relative,
                    checker.tolerance.absolute,
                )
                assert abs(wrong - checker.value) > room, (number, form.code, name)
