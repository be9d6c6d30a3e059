"""Nothing that is asked about a layout exists twice: a lesson's exercise is an instance of a family, and has the family's answer."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from gearkit.answers.comparison.formulas import pairs_of
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.families import known, task_of
from gearkit.answers.items import ONE_PART, Draw, Item, all_items, find
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.layouts import own_teeth
from gearkit.answers.rules import DrawnValues
from gearkit.train import catalogue

TEXTS = {name: catalogue.dumps(catalogue.find(name)) for name in ("Q24", "Q36", "Q48")}
ABOUT_LAYOUTS = [item for item in all_items() if item.draw.layout]
BY_FORMULA = [item for item in ABOUT_LAYOUTS if item.like and not item.rule]
# A family's question is put with its own drawn numbers; these are 1 where a lesson says what is multiplied.
TIMES = {"n": "input speed", "T": "input torque"}


def parts_of(item: Item) -> dict[str, tuple[str, ...]]:
    return {ONE_PART: item.like} if isinstance(item.like, tuple) else dict(item.like)


@pytest.mark.parametrize("item", [item.id for item in BY_FORMULA])
def test_a_lessons_exercise_has_the_answer_of_the_family_of_which_it_is_an_instance(item: str) -> None:
    for number in range(5):
        ours = variants.practice(find(item), f"alike {number}")
        factor = ours.values[ours.item.times] if ours.item.times else Fraction(1)
        for part, (family, *about) in parts_of(ours.item).items():
            theirs = asked_with(family, about, ours)
            given = factor if ours.item.times in TIMES else Fraction(1)
            assert abs(value_of(ours.key.checkers[part])) * given == abs(value_of(theirs[ONE_PART])) * factor, (number, part)


def asked_with(family: str, about: list[str], ours: Variant) -> dict[str, object]:
    """The checkers of a family's question with the tooth counts and numbers of a lesson's."""
    text = TEXTS[find(ours.item.id).draw.layout]
    offered = [
        one.item for one in known(own_teeth.layout_in(text)) if one.family == family and json.loads(one.item.option) == about
    ]
    # Direct drive and the members that a family leaves out, because nobody has to work them out, can be asked all the same.
    item = (
        offered[0]
        if offered
        else Item(
            "",
            ours.item.kind,
            1,
            "",
            ("", "", ""),
            draw=Draw(train=text),
            rule=family,
            option=json.dumps(about),
            size_only=True,
        )
    )
    numbers = {letter: ours.values[letter] for letter in TIMES if letter in ours.values}
    values = {**own_teeth.letters(text, ours.facts.teeth), **numbers}
    facts = DrawnValues(values, pairs_of(values), values, "", ours.facts.teeth, (), text)
    built = task_of(item, facts, SeededRandom(b"alike"))
    assert built is not None
    return dict(built.key.checkers)


def value_of(checker: object) -> Fraction:
    assert isinstance(checker, NumberChecker)
    return checker.value
