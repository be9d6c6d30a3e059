"""What marking gives: one result per item, one per part, in records that a report can keep.

They are named tuples, made several times as fast as frozen dataclasses: a class has tens of thousands of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from gearkit.answers.judge.claims import Claim, Said
from gearkit.answers.mistakes import Mistake


class MarkVerdict(StrEnum):
    """How an answer stands; right means full marks."""

    RIGHT = "right"
    WRONG = "wrong"
    UNREADABLE = "unreadable"
    MISSING = "missing"


class PartResult(NamedTuple):
    """How one part was marked.

    Args:
        name: the part.
        label: what stands beside its box.
        score: marks earned.
        max: marks possible.
        verdict: right, wrong, unreadable or missing.
        given: the text as it was written.
        read_as: the text as the kit understood it.
        mistakes: named mistakes.
        comment: a sentence about this part, or "".
        claims: what the comment says about the answer.
        mistake_claims: for each mistake what its sentence says about the answer.
    """

    name: str
    label: str
    score: Fraction
    max: Fraction
    verdict: MarkVerdict
    given: str
    read_as: str = ""
    mistakes: tuple[Mistake, ...] = ()
    comment: str = ""
    claims: tuple[Claim, ...] = ()
    mistake_claims: tuple[tuple[Claim, ...], ...] = ()


def total(marks: Iterable[Fraction]) -> Fraction:
    """Return a sum of marks; most are whole, and whole numbers are added several times faster than fractions.

    Args:
        marks: what is summed.
    """
    above, below = 0, 1
    for mark in marks:
        over, under = mark.as_integer_ratio()
        above, below = (above + over, below) if under == below else (above * under + over * below, below * under)
    return Fraction(above, below)


class ItemResult(NamedTuple):
    """How one item was marked.

    Args:
        item: the item's id.
        score: marks earned.
        max: marks possible.
        verdict: right (full marks), wrong, unreadable or missing.
        mistakes: named mistakes of all parts.
        comment: what the learner reads; never the right answer.
        read_as: text by part as the kit understood it.
        parts: the result of every part.
        said: the comment sentence by sentence, with what each says about the answer.
    """

    item: str
    score: Fraction
    max: Fraction
    verdict: MarkVerdict
    mistakes: tuple[Mistake, ...]
    comment: str
    read_as: Mapping[str, str]
    parts: tuple[PartResult, ...]
    said: tuple[Said, ...] = ()
