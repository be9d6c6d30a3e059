"""Every item, drawn many times: the right learner gets full marks, the blank one kind words, each mistake its name."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.item import PICKS, Item
from gearkit.answers.judge import marking
from gearkit.answers.mistakes import catalogue
from gearkit.answers.rules import rule_names
from tests.answers.before import drawn_before, several_before
from tests.support.amounts import amount

DRAWS = 50
ALL = items.all_items()
CODES = {mistake.code for mistake in catalogue()}


def ids(item: Item) -> str:
    return item.id


def draws(item: Item, sheet: str = "S", count: int = DRAWS) -> list[variants.Variant]:
    return [variants.draw(item, secret=b"test secret", sheet=sheet, learner=f"learner {k}") for k in range(count)]


@pytest.mark.parametrize("item", ALL, ids=ids)
def test_an_item_is_complete(item: Item) -> None:
    assert len(item.hints) == 3
    # A hint is the same for everybody, so it has no blank for a drawn number.
    assert all(hint.strip() and "<" not in hint for hint in item.hints)
    for question in item.questions:
        assert question.named_mistakes
        assert {each_mistake.code for each_mistake in question.named_mistakes} <= CODES
        assert question.rule in ("", *rule_names())
        assert {each_mistake.sentence for each_mistake in question.named_mistakes if "<" in each_mistake.sentence} == set()
    assert item.marks >= 2


@pytest.mark.parametrize("item", ALL, ids=ids)
def test_over_many_draws_right_blank_and_mistaken_learners_get_what_they_should(item: Item) -> None:
    seen: set[str] = set()
    for variant in [*draws(item), *(several_before(item, DRAWS // 5) if item.draw.later else ())]:
        right = marking.right_answer(variant)
        result = marking.mark(variant, right)
        assert (result.verdict, result.score, result.max) == ("right", item.marks, item.marks), right
        assert result.mistakes == ()
        blank = marking.mark(variant, {part.name: "" for part in variant.parts})
        assert (blank.verdict, blank.score) == ("missing", 0)
        assert "hint 1" in blank.comment
        for form in variant.key.wrong_forms:
            wrong = marking.wrong_texts(variant, form)
            marked = marking.mark(variant, wrong)
            assert marked.score < marked.max, (form.code, wrong)
            assert marked.verdict == "wrong", (form.code, wrong, marked.comment)
            assert form.code in {each_mistake.code for each_mistake in marked.mistakes}, (form.code, wrong, marked.comment)
            seen.add(form.code)
    assert seen == {each_mistake.code for each_mistake in item.all_named_mistakes}


@pytest.mark.parametrize("item", ALL, ids=ids)
def test_a_prompt_has_no_gap_and_shows_no_hidden_number(item: Item) -> None:
    for variant in (*draws(item, count=amount(DRAWS, 20)), drawn_before(item)):
        assert "<" not in variant.prompt
        assert not {*item.draw.hidden, *PICKS} & set(variant.values)
        assert sum((part.marks for part in variant.parts), Fraction(0)) == item.marks or item.constraints


def test_every_version_of_an_item_is_drawn_or_was_drawn_before_and_asks_something_of_its_own() -> None:
    several = [item for item in ALL if item.versions]
    assert len(several) >= 20
    for item in several:
        asked = {variant.item.prompt for variant in (*draws(item), *draws(item, "more"), drawn_before(item))}
        assert asked == {question.prompt for question in item.questions}
        assert drawn_before(item).item == item


@pytest.mark.parametrize("item", ALL, ids=ids)
def test_the_comment_to_a_wrong_answer_never_holds_the_right_one(item: Item) -> None:
    for variant in draws(item, count=10):
        right = marking.right_answer(variant)
        for form in variant.key.wrong_forms:
            comment = marking.mark(variant, marking.wrong_texts(variant, form)).comment
            for name in form.contents:
                # A word such as "ring" may well be part of a sentence; a number, formula or long option may not.
                shortest = 12 if variant.parts[0].options else 3
                assert len(right[name]) < shortest or right[name] not in comment, (form.code, comment)
