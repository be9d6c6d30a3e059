"""What a sentence of feedback says about an answer, as data: a sentence is said only where each of its claims holds.

`tests/answers/test_nothing_false_is_said.py` checks every claim by code of its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from typing import NamedTuple


class Relation(StrEnum):
    """How an answer, or a part of it, stands; "the right one" is the right answer to the same part."""

    RIGHT = "is right"
    WRONG = "is wrong"
    EMPTY = "is empty"
    UNREADABLE = "cannot be read"
    ALSO_RIGHT = "is right, and not what the designer chose"
    ROUNDED = "is right within the allowance for rounding only"
    IS = "is what the mistake predicts"
    NEGATIVE = "is the right one with the other sign"
    UPSIDE_DOWN = "is one over the right one"
    UPSIDE_DOWN_TURNED = "is minus one over the right one"
    ONE_MORE = "is one more than the right one"
    ONE_LESS = "is one less than the right one"
    TWICE_OR_HALF = "is twice the right one or half of it"
    SCALED = "is the right one times a factor of units"
    ONE_SWAP = "is the right order but for one swap of neighbours"
    REVERSED = "is the right order from end to start"
    TOO_FEW_FIGURES = "is the right one rounded to too few figures"
    A_NUMBER = "is a number where letters are asked"
    LAST_MARKED = "was written with an equals sign, and what stands last is marked"
    SIDES_DIFFER = "was written as sides that are not equal"
    FOLLOWS = "follows from the other parts"
    NO_NAMED_MISTAKE = "is none of the named mistakes"
    PARTS_RIGHT = "so many parts are right"
    MEETS = "meets the conditions"
    FAILS = "fails one of the conditions"


class Claim(NamedTuple):
    """One thing that a sentence says.

    Args:
        part: the part it is about, "" for the whole answer.
        relation: how it stands.
        value: what the relation needs: the wrong answer that a mistake predicts, a number, conditions; "" for nothing.
    """

    part: str
    relation: Relation
    value: str = ""


class Said(NamedTuple):
    """One sentence of feedback, or two that belong together.

    Args:
        text: what the learner reads.
        claims: what it says about the answer.
    """

    text: str
    claims: tuple[Claim, ...]


def joined(said: Iterable[Said]) -> str:
    """Return sentences as one text, each once.

    Args:
        said: the sentences.
    """
    return " ".join(dict.fromkeys(sentence.text for sentence in said if sentence.text))
