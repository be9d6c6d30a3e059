"""What each misconception answers: held against learners who think it through, against the bank, and against itself."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from gearkit.answers import mistakes
from gearkit.answers.beliefs.belief import Belief
from gearkit.answers.beliefs.carrier_formulas import CHART_ROWS, WITH_CARRIER, WITH_RING
from gearkit.answers.beliefs.foreseen import foreseen
from gearkit.answers.beliefs.known import all_beliefs, belief
from gearkit.answers.beliefs.telling import touched
from gearkit.answers.comparison.formulas import value
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.items import all_items, find
from gearkit.answers.judge import marking
from gearkit.answers.kinds.letters import fingerprint_of
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.words.errors import UsageError
from tests.support import learners, minds

ITEMS = [item for item in all_items() if not item.constraints]
DRAWS = 3


def drawn(item: str) -> list[Variant]:
    return [learners.variant_of(item, str(number)) for number in range(DRAWS)]


def with_sum_for_carrier(text: str) -> str:
    return re.sub(r"(?<![A-Za-z_])C(\d?)(?![A-Za-z_0-9])", r"(S\1 + R\1)", text)


@pytest.mark.parametrize("item", WITH_CARRIER)
def test_with_the_right_weight_of_the_carrier_a_formula_is_the_banks_own_answer(item: str) -> None:
    answer = find(item).answer
    right = {"answer": answer} if isinstance(answer, str) else answer
    for part, text in WITH_CARRIER[item].items():
        assert fingerprint_of(with_sum_for_carrier(text)) == fingerprint_of(right[part]), part


@pytest.mark.parametrize("item", minds.THOUGHT_THROUGH)
def test_who_thinks_it_through_without_a_misconception_is_right(item: str) -> None:
    for variant in drawn(item):
        found = minds.THOUGHT_THROUGH[item](minds.HONEST, variant)
        assert found
        texts = {
            part: content if isinstance(content, str) else variant.key.checkers[part].wrong_text(content)
            for part, content in found.items()
        }
        assert learners.is_right(variant, texts), texts


def clear(variant: Variant, part: str, content: object) -> bool:
    """Whether a number lies so far from the right one that nobody takes it for a rounded one."""
    checker = variant.key.checkers[part]
    if not isinstance(checker, NumberChecker) or not isinstance(content, Fraction):
        return True
    room = max(abs(checker.value) * Fraction(3, 100), 3 * checker.tolerance.absolute)
    return abs(content - checker.value) > room


@pytest.mark.parametrize("idea", [*minds.WEIGHING, *minds.TURNED])
def test_what_a_learner_thinks_through_is_what_was_foreseen(idea: str) -> None:
    """Learners solve their own wrong speed equations; the tables put wrong letters into formulas. Both must agree."""
    met = 0
    for item in ITEMS:
        for variant in drawn(item.id):
            contents = {
                part: content
                for part, content in (learners.thought(idea, variant, 0.0) or {}).items()
                if clear(variant, part, content)
            }
            if not contents:
                continue
            met += 1
            answers = foreseen(variant).get(belief(idea), ())
            read = {
                part: variant.key.checkers[part].read(learners.exact(variant, part, content))
                for part, content in contents.items()
            }
            assert any(
                all(
                    part in answer and variant.key.checkers[part].agrees(reading, answer[part])
                    for part, reading in read.items()
                )
                for answer in answers
            ), (item.id, contents, answers)
    assert met >= 9


@pytest.mark.parametrize("item", [item.id for item in ITEMS])
def test_no_misconception_answers_right(item: str) -> None:
    for variant in drawn(item):
        right = marking.right_answer(variant)
        for idea, answers in foreseen(variant).items():
            for answer in answers:
                texts = {part: variant.key.checkers[part].wrong_text(content) for part, content in answer.items()}
                assert texts
                assert not learners.is_right(variant, {**right, **texts}), (idea.key, texts)


def mistakes_named(one: Belief) -> list[tuple[str, str, int | None]]:
    """(code, item, which of its mistakes of that code) that a misconception names."""
    found = []
    for code, ids in one.only.items():
        for word in ids.split():
            item, _, place = word.partition("#")
            found.append((code, item, int(place) if place else None))
    return found


@pytest.mark.parametrize("one", all_beliefs(), ids=lambda one: one.key)
def test_what_a_misconception_names_is_in_the_bank(one: Belief) -> None:
    for code in (*one.codes, *one.only):
        assert mistakes.mistake(code)
    for code, item, place in mistakes_named(one):
        assert [each_mistake.code for each_mistake in find(item).named_mistakes].count(code) > (place or 0), (code, item)
    for item in one.never.split():
        assert any(each_mistake.code in one.codes for each_mistake in find(item).named_mistakes), item
    for item, formulas in one.written.items():
        parts = set(find(item).fields) or {"answer"}
        assert set(formulas if not isinstance(formulas, str) else {"answer"}) <= parts
        # An exercise with other versions tells nothing for sure.
        assert one in touched(find(item)) or find(item).versions, item


def test_a_mistake_is_sorted_to_one_misconception_only() -> None:
    for item in ITEMS:
        for each_mistake in item.named_mistakes:
            behind = [one.key for one in all_beliefs() if each_mistake.code in one.codes and item.id not in one.never.split()]
            assert len(behind) <= 1, (item.id, each_mistake.code, behind)


def test_tables_name_items_that_there_are() -> None:
    for item in (*WITH_CARRIER, *WITH_RING, *CHART_ROWS):
        assert find(item)


def test_radians_and_radii_are_off_by_their_own_factors() -> None:
    for code, item, place in mistakes_named(belief("r/min used as rad/s")):
        for variant in drawn(item):
            each_mistake = [each_mistake for each_mistake in find(item).named_mistakes if each_mistake.code == code][place or 0]
            factor = value(str(each_mistake.wrong), variant.drawn.values) / value(str(find(item).answer), variant.drawn.values)
            assert abs(float(factor) - 30 / 3.14159265) < 1e-6, item
    for item in ("L01-07", "L04-09", "L08-08", "L10-05", "L10-06", "L10-07", "L13-08"):
        variant = drawn(item)[0]
        (answer,) = foreseen(variant)[belief("diameter for radius")]
        checker = variant.key.checkers["answer"]
        assert isinstance(checker, NumberChecker)
        assert answer["answer"] / checker.value in (2, Fraction(1, 2)), item


@pytest.mark.parametrize("one", all_beliefs(), ids=lambda one: one.key)
def test_words_for_learners_are_kind_and_whole(one: Belief) -> None:
    assert 1 <= one.lesson <= 15
    assert not re.match("[A-Z][a-z]", one.told)
    assert not one.told.endswith(".")
    assert one.practise[0].isupper()
    assert one.practise.endswith((".", "?"))
    for text in (one.told, one.practise):
        assert not re.search(r"misconception|mistake|wrong idea|you think|belief|!", text, re.IGNORECASE), text


def test_there_are_at_least_fifty_and_each_has_a_name_of_its_own() -> None:
    known = all_beliefs()
    assert len(known) >= 51
    assert len({one.name for one in known}) == len(known) == len({one.key for one in known})
    with pytest.raises(UsageError, match="No misconception is called 'nonsense'"):
        belief("nonsense")


def test_nothing_is_foreseen_where_there_is_no_single_answer() -> None:
    design = next(item for item in all_items() if item.constraints)
    assert foreseen(learners.variant_of(design.id, "0")) == {}


@pytest.mark.parametrize("one", all_beliefs(), ids=lambda one: one.key)
def test_every_misconception_shows_on_three_exercises_at_least(one: Belief) -> None:
    found = [item.id for item in ITEMS if any(one in foreseen(variant) for variant in drawn(item.id))]
    assert len(found) >= 3, found
