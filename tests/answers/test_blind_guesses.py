"""Whoever writes the same without reading the question earns little: at most 40 % of an item's marks on the average.

For each part the text is tried that earns most over many learners, and for a design another learner's whole design. That
is more than a blind guesser can know, and as much as somebody who copies.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.words.errors import AnswerError

DRAWS, MOST_TEXTS = 80, 70
AT_MOST = Fraction(2, 5)


def many(item: Item) -> list[Variant]:
    return [variants.draw(item, secret=b"blind", sheet="S", learner=f"l{number}") for number in range(DRAWS)]


def texts_to_try(drawn: list[Variant], name: str) -> list[str]:
    """Right answers of other learners by how often they occur, and whatever can be chosen."""
    asked = [variant for variant in drawn if name in variant.key.checkers]
    found: Counter[str] = Counter(variant.key.checkers[name].right_text() for variant in asked)
    checker = asked[0].key.checkers[name]
    if isinstance(checker, ChoiceChecker):
        found.update({checker.choices.label(option): 0 for option in checker.choices.options})
    if isinstance(checker, SeveralChecker) and len(checker.choices.options) <= 6:
        found.update(
            {
                checker.wrong_text(frozenset(ticks)): 0
                for number in range(1, 7)
                for ticks in combinations(checker.choices.options, number)
            }
        )
    return [text for text, _ in found.most_common(MOST_TEXTS)]


def marks_of(variant: Variant, name: str, text: str) -> Fraction:
    """The marks of the part that a text earns; not every version of an item asks for the same parts."""
    checker = variant.key.checkers.get(name)
    marks = sum(part.marks for part in variant.parts if part.name == name)
    try:
        return marks * checker.judge(checker.read(text)).share if checker else Fraction(0)
    except AnswerError:
        return Fraction(0)


def best_share(item: Item) -> Fraction:
    """The share that the best texts earn which are the same for everybody."""
    drawn = many(item)
    if item.constraints:
        designs = [marking.right_answer(variant) for variant in drawn[:20]]
        return max(sum((marking.mark(variant, one).score for variant in drawn), Fraction(0)) for one in designs) / (
            DRAWS * item.marks
        )
    earned = Fraction(0)
    for name in dict.fromkeys(part.name for variant in drawn for part in variant.parts):
        earned += max(
            sum((marks_of(variant, name, text) for variant in drawn), Fraction(0)) for text in texts_to_try(drawn, name)
        )
    return earned / (DRAWS * item.marks)


@pytest.mark.parametrize("item", items.all_items(), ids=lambda item: item.id)
def test_what_is_written_without_reading_the_question_earns_at_most_40_percent(item: Item) -> None:
    share = best_share(item)
    assert share <= AT_MOST, float(share)
