"""Checks every learner's numbers before a sheet is handed out: can be solved, differ from the neighbours', are fair.

Solvable means that the right answer, marked as a learner's answer is marked, earns full marks and that no named wrong
answer does. Alike in difficulty is judged by how many digits a right answer has: nobody should reckon with 11050/1849
where the neighbour has 3/2.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.words.errors import GearkitError
from graders.course.files import Tell, unheard
from graders.course.roster import Roster
from graders.sheets import exclusions
from graders.sheets.sheets import Sheet

# Digits of numerator and denominator together; more than this apart, two right answers are not of like difficulty.
WIDEST_SPREAD = 5
# So many digits in a fraction can be reckoned on paper in the time of an exercise; a judgement, not a measurement.
MOST_BY_HAND = 7
_NUMBER = re.compile(r"-?\d+(?:/\d+|\.\d+)?")


@dataclass(frozen=True)
class ItemCheck:
    """What was found about one item over a class.

    Args:
        item: item id.
        learners: learners whose numbers were drawn.
        different: different draws among them; 0 for an item without numbers of one's own.
        neighbours: pairs of learners who follow one another on the class list and have the same numbers.
        fewest_digits: digits of the handiest right answer, 0 where it is no number.
        most_digits: digits of the unhandiest.
        faults: sentences about learners whose numbers cannot stand.
        unhandy: whether it asks too much of somebody who may use no calculator, on a sheet without.
        told_by: items of the sheet that print what it asks for, or the other way round.
    """

    item: str
    learners: int
    different: int
    neighbours: tuple[tuple[str, str], ...]
    fewest_digits: int
    most_digits: int
    faults: tuple[str, ...]
    unhandy: bool = False
    told_by: tuple[str, ...] = ()

    @property
    def remarks(self) -> tuple[str, ...]:
        """What an instructor should know, without what stops the sheet."""
        remarks = []
        if self.different == 0:
            remarks.append("the same for everybody: no numbers are drawn")
        elif self.neighbours:
            pairs = ", ".join(f"{first} and {second}" for first, second in self.neighbours[:3])
            remarks.append(f"neighbours with the same numbers: {pairs}")
        if self.most_digits - self.fewest_digits > WIDEST_SPREAD:
            remarks.append(f"answers of unlike difficulty, from {self.fewest_digits} to {self.most_digits} digits")
        if self.told_by:
            remarks.append(
                f"its answer or a part of it is printed with {', '.join(self.told_by)}, or the other way round: leave one out"
            )
        if self.unhandy:
            remarks.append(
                "hard to work out without a calculator: "
                + (f"an answer of {self.most_digits} digits" if self.most_digits > MOST_BY_HAND else "a decimal")
            )
        return tuple(remarks)


def check(sheet: Sheet, class_list: Roster, secret: bytes, tell: Tell = unheard) -> tuple[ItemCheck, ...]:
    """Check the numbers of every learner on every item of a sheet.

    Args:
        sheet: the sheet.
        class_list: the class.
        secret: the course's secret, or any other for a trial.
        tell: is told how many learners' numbers are checked, on all items together, and of how many.
    """
    by_hand, each = sheet.rules.calculator == "none", len(class_list)

    def told(place: int) -> Tell:
        return lambda done, _: tell(place * each + done, len(sheet.items) * each)

    return tuple(_item(entry.item, sheet, class_list, secret, by_hand, told(place)) for place, entry in enumerate(sheet.items))


def _item(item: Item, sheet: Sheet, class_list: Roster, secret: bytes, by_hand: bool, tell: Tell) -> ItemCheck:
    drawn: list[tuple[str, Variant]] = []
    faults: list[str] = []
    for count, learner in enumerate(class_list):
        tell(count, len(class_list))
        try:
            variant = sheet.variant(item, secret=secret, learner=learner.id)
        except GearkitError as fault:
            faults.append(f"{item.id}, {learner.id}: no numbers could be drawn ({fault})")
            continue
        drawn.append((learner.id, variant))
        faults += [f"{item.id}, {learner.id}: {words}" for words in _faults(variant)]
    looks = [(learner, _look(variant)) for learner, variant in drawn]
    has_numbers = any(variant.values for _, variant in drawn)
    digits = [_digits(variant) for _, variant in drawn]
    neighbours = tuple((first[0], second[0]) for first, second in itertools.pairwise(looks) if first[1] == second[1])
    return ItemCheck(
        item.id,
        len(drawn),
        len({look for _, look in looks}) if has_numbers else 0,
        neighbours if has_numbers else (),
        min(digits, default=0),
        max(digits, default=0),
        tuple(faults),
        by_hand and (max(digits, default=0) > MOST_BY_HAND or item.kind.traits.decimal),
        exclusions.told_by(item, [entry.item for entry in sheet.items]),
    )


def _look(variant: Variant) -> tuple[object, ...]:
    """What a learner could copy from a neighbour: the numbers, and the words where a task differs in words."""
    return (variant.prompt, tuple(sorted(variant.values.items())))


def _faults(variant: Variant) -> Sequence[str]:
    faults = []
    result = marking.mark(variant, marking.right_answer(variant))
    if result.score != result.max:
        faults.append(f"the right answer would earn {result.score} of {result.max}")
    for form in variant.key.wrong_forms:
        wrong = marking.mark(variant, marking.wrong_texts(variant, form))
        if wrong.score == wrong.max:
            faults.append(f"the named mistake {form.code} would be marked right")
    return faults


def _digits(variant: Variant) -> int:
    """The most digits that a part of the right answer has as a fraction; 0 where it is no number."""
    most = 0
    for text in marking.right_answer(variant).values():
        match = _NUMBER.fullmatch(text.split()[0]) if text.split() else None
        # A decimal answer is rounded anyway; only fractions get unhandy.
        if match and "." not in text:
            value = Fraction(match.group())
            most = max(most, len(str(abs(value.numerator))) + len(str(value.denominator)))
    return most
