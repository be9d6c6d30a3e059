"""Answers that an instructor accepts besides the right one: read as a learner's answer is read, and compared by what they say.

An accepted number is the same for everybody. Letters of the task stand for each learner's own numbers, so an accepted formula
such as ``R/S + 1`` is a way of working that counts for all.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.judge.checkers import Checker, Part, Reading
from gearkit.answers.kinds.amounts import Amount
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.read.split import with_commas_settled
from gearkit.words.errors import AnswerError, GearkitError

# Two draws that differ in an item's numbers, wherever it has any.
_SEEDS = ("accepted 1", "accepted 2", "accepted 3")


def unread(item: Item, answer: Mapping[str, str], comma: str) -> str:
    """Return why an answer cannot be read, "" where it can.

    Args:
        item: the item.
        answer: texts by part.
        comma: what three digits after a comma are on the sheet.
    """
    result = marking.mark(practice(item), answer, comma=comma)
    return next((part.comment or result.comment for part in result.parts if part.verdict == "unreadable"), "")


def how_read(item: Item, answer: Mapping[str, str], comma: str) -> str:
    """Return how an accepted answer is read, where that is not how it was written; "" otherwise.

    Args:
        item: the item.
        answer: texts by part.
        comma: what three digits after a comma are on the sheet.
    """
    result = marking.mark(practice(item), answer, comma=comma)
    read = [(part.label or part.name, part.read_as) for part in result.parts if part.read_as and part.read_as != part.given]
    return read[0][1] if len(result.parts) == 1 and read else "; ".join(f"{label}: {text}" for label, text in read)


def is_same(variant: Variant, given: Mapping[str, str], answer: Mapping[str, str], comma: str) -> bool:
    """Return whether a learner's answer says the same as an accepted one, with the learner's own numbers.

    Args:
        variant: the learner's variant.
        given: what the learner wrote, by part.
        answer: the accepted texts, by part.
        comma: what three digits after a comma are on the sheet.
    """
    if variant.key.constraints or not all(given.get(part.name, "").strip() for part in variant.parts):
        return False
    try:
        return all(_agree(variant, part, given[part.name], answer[part.name], comma) for part in variant.parts)
    except (GearkitError, KeyError, ZeroDivisionError):
        return False


def _agree(variant: Variant, part: Part, given: str, accepted: str, comma: str) -> bool:
    checker = variant.key.checkers[part.name]
    ours, theirs = (_read(checker, part, text, comma) for text in (given, accepted))
    if isinstance(checker, FormulaChecker):
        return bool(ours.content[1] == theirs.content[1])
    content: Any = theirs.content.in_item_unit if isinstance(theirs.content, Amount) else theirs.content
    return checker.agrees(ours, content)


def _read(checker: Checker, part: Part, text: str, comma: str) -> Reading:
    return checker.read(with_commas_settled(part, text, comma))


def is_one_number_for_all(item: Item, answer: Mapping[str, str], comma: str) -> bool:
    """Return whether an accepted answer stays what it is while the right one changes with each learner's numbers.

    Args:
        item: the item.
        answer: texts by part.
        comma: what three digits after a comma are on the sheet.
    """
    variants = [practice(item, seed) for seed in _SEEDS]
    if all(marking.right_answer(variant) == marking.right_answer(variants[0]) for variant in variants):
        return False
    try:
        meant = [
            [str(_read(variant.key.checkers[part.name], part, answer[part.name], comma).content) for part in variant.parts]
            for variant in variants
        ]
    except (AnswerError, KeyError, ZeroDivisionError):
        return False
    return all(value == meant[0] for value in meant)
