"""Submissions that are more alike than chance explains: a reason for a conversation, never a penalty.

Everybody's numbers differ, so an answer that is wrong for its own sheet but right for somebody else's is evidence.
Answers that anybody may give do not count: items with few possible answers, items with the same right answer for
both, and the named mistakes, which everyone makes. A pair is shown from two matched items and a score of 4 on, where
the score is the sum of -log10 of each match's chance; beside it stands how many such pairs chance alone would bring
to a class of this size.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass

from graders.book.record import ItemMark, LearnerMarks, MarkSheet

# Chance that a wrong number is right for another draw. Measured on the item bank: 0.002 to 0.008 by item; the larger.
CHANCE_OF_A_MATCH = 0.008
FEWEST_ITEMS = 2
LOWEST_SCORE = 4.0
_SHORTEST_TEXT = 12

# Given an item and the texts of an answer: the learners for whose numbers the answer is right.
RightFor = Callable[[str, Mapping[str, str]], Iterable[str]]


@dataclass(frozen=True)
class Similarity:
    """Two submissions worth a conversation.

    Args:
        learner: who gave the answers.
        other: whose numbers they fit, or who gave the same text.
        items: the items matched.
        kind: "fits the other's numbers" or "same unusual text".
        score: sum of -log10 of the chances.
        expected_by_chance: how many such pairs chance alone would bring to this class.
    """

    learner: str
    other: str
    items: tuple[str, ...]
    kind: str
    score: float
    expected_by_chance: float


def find(marks: MarkSheet, right_for: RightFor, countable: Container[str]) -> tuple[Similarity, ...]:
    """Return the pairs of a mark sheet that are worth a conversation, the strongest first.

    Args:
        marks: the mark sheet.
        right_for: gives for an item and an answer the learners for whose numbers the answer is right.
        countable: the items with so many possible answers that a match means something.
    """
    pairs: dict[tuple[str, str], list[str]] = {}
    for marked in marks.learners:
        for mark in marked.items:
            if mark.item in countable and _odd(mark):
                for other in right_for(mark.item, mark.given):
                    if other != marked.learner:
                        pairs.setdefault((marked.learner, other), []).append(mark.item)
    pairs_ = [
        Similarity(learner, other, tuple(items), "fits the other's numbers", *_weight(len(items), len(marks.learners)))
        for (learner, other), items in pairs.items()
        if _counts(len(items))
    ]
    pairs_ += _same_texts(marks)
    return tuple(sorted(pairs_, key=lambda pair: (-pair.score, pair.learner, pair.other)))


def _odd(mark: ItemMark) -> bool:
    """Say whether an answer is wrong in a way of its own: readable, not right, and no named mistake."""
    return mark.verdict == "wrong" and mark.earned == 0 and not mark.mistakes and any(mark.given.values())


def _counts(items: int) -> bool:
    return items >= FEWEST_ITEMS and -items * math.log10(CHANCE_OF_A_MATCH) >= LOWEST_SCORE


def _weight(items: int, learners: int) -> tuple[float, float]:
    """Return the score, and the pairs that chance would bring were every answer of everybody wrong."""
    score = -items * math.log10(CHANCE_OF_A_MATCH)
    return score, learners * (learners - 1) * CHANCE_OF_A_MATCH**items


def _same_texts(marks: MarkSheet) -> list[Similarity]:
    """Find long wrong answers that two learners wrote with the same letters, blanks aside."""
    written: dict[tuple[str, str], list[LearnerMarks]] = {}
    for learner in marks.learners:
        for mark in learner.items:
            text = "".join("".join(mark.given.values()).split()).casefold()
            if mark.verdict in ("wrong", "unreadable") and not mark.mistakes and len(text) >= _SHORTEST_TEXT:
                written.setdefault((mark.item, text), []).append(learner)
    pairs: dict[tuple[str, str], list[str]] = {}
    for (item, _), who in written.items():
        for place, first in enumerate(who):
            for second in who[place + 1 :]:
                pairs.setdefault((first.learner, second.learner), []).append(item)
    return [
        Similarity(first, second, tuple(items), "same unusual text", *_weight(len(items), len(marks.learners)))
        for (first, second), items in pairs.items()
        if _counts(len(items))
    ]
