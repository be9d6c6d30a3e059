"""What a lesson asks of the kit's own layouts by a formula of its own has the value that the family of the same question works out."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers.comparison.formulas import pairs_of
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.families import known, task_of
from gearkit.answers.items import Item, find
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.layouts import own_teeth
from gearkit.answers.rules import DrawnValues
from gearkit.train import catalogue

OFFERED = {name: {offer.id: offer.item for offer in known(catalogue.find(name))} for name in ("Q24", "Q36", "Q48")}
# A lesson's item -> the layout, the family's item, and the family's part for each of its own.
ALIKE = {
    "L06-03": ("Q36", "X06-RATIO-2", {"answer": "answer"}),
    "L06-04": ("Q36", "X06-RATIO-R", {"answer": "answer"}),
    "L06-05": ("Q36", "X06-RATIO-1", {"answer": "answer"}),
    "L06-06": ("Q36", "X06-RATIO-3", {"answer": "answer"}),
    "L06-07": ("Q36", "X06-RATIO-4", {"answer": "answer"}),
    "L06-08": ("Q36", "X06-RATIO-6", {"answer": "answer"}),
    "L06-10": ("Q48", "X06-RATIO-1", {"answer": "answer"}),
    "L06-11": ("Q48", "X06-RATIO-5", {"answer": "answer"}),
    "L08-06": ("Q36", "X08-TORQUES-2", {"A": "T_A", "C": "T_C"}),
    "L08-07": ("Q36", "X08-TORQUES-1", {"B": "T_B", "C": "T_C"}),
    "L10-02": ("Q24", "X10-SPREAD", {"answer": "answer"}),
    "L11-03": ("Q24", "X11-SLIP-1-B", {"answer": "answer"}),
    "L11-04": ("Q24", "X11-SLIP-2-C", {"answer": "answer"}),
}


@pytest.mark.parametrize("item", ALIKE)
def test_a_lessons_formula_and_the_family_of_the_same_question_give_the_same(item: str) -> None:
    layout, name, parts = ALIKE[item]
    for number in range(5):
        ours = variants.practice(find(item), f"alike {number}")
        theirs = asked_with(OFFERED[layout][name], ours)
        for own, other in parts.items():
            assert abs(value_of(ours.key.checkers[own])) == abs(value_of(theirs[other])), (number, own)


def asked_with(item: Item, ours: Variant) -> dict[str, object]:
    """The checkers of a family's item with the tooth counts and numbers of a lesson's."""
    numbers = {letter: ours.values[letter] for letter in item.draw.numbers}
    values = {**own_teeth.letters(item.draw.train, ours.facts.teeth), **numbers}
    facts = DrawnValues(values, pairs_of(values), values, "", ours.facts.teeth, (), item.draw.train)
    built = task_of(item, facts, SeededRandom(b"alike"))
    assert built is not None
    return dict(built.key.checkers)


def value_of(checker: object) -> Fraction:
    assert isinstance(checker, NumberChecker)
    return checker.value
