"""Commas and points inside one number: which is the decimal mark, and which part the thousands.

A mark that can only be one of the two is read as that one. ``2,006`` can be both: the course says which, or the answer is
handed back with both meanings.
"""

from __future__ import annotations

import re

from gearkit.text.phrases import decimal_mark
from gearkit.words.errors import AnswerError
from gearkit.words.say import say

# What a course may say of three digits after a comma.
EITHER, DECIMAL, THOUSANDS = "either", "decimal", "thousands"
_THOUSANDS_THEN_POINT = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+\.[0-9]*")
_THOUSANDS_THEN_COMMA = re.compile(r"[1-9][0-9]{0,2}(?:\.[0-9]{3})+,[0-9]+")
_THOUSANDS_TWICE = re.compile(r"[1-9][0-9]{0,2}(?:(?:,[0-9]{3}){2,}|(?:\.[0-9]{3}){2,})")
_ONE_COMMA = re.compile(r"[0-9]*,[0-9]+")
_TWO_MEANINGS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_TWO_MEANINGS_INSIDE = re.compile(r"(?<![0-9.,])([1-9][0-9]{0,2}),([0-9]{3})(?![0-9]|[.,][0-9])")


def settled(text: str, comma: str) -> str:
    """Return a text with what a course says of three digits after a comma carried out; as it is where it says nothing.

    Where the reader's language writes decimals with a comma, that is what it says.

    Args:
        text: a learner's text, in digits and letters.
        comma: "decimal", "thousands", or "either" for a course that says nothing.

    >>> [settled("2,006 rpm", comma) for comma in ("decimal", "thousands", "either")]
    ['2.006 rpm', '2006 rpm', '2,006 rpm']
    """
    if "," not in text:
        return text
    if comma == EITHER and decimal_mark() == ",":
        comma = DECIMAL
    if comma == EITHER:
        return text
    return _TWO_MEANINGS_INSIDE.sub(r"\1.\2" if comma == DECIMAL else r"\1\2", text)


def plain_number(written: str) -> str:
    """Return a number with one point at most.

    Args:
        written: digits with points and commas between them.

    Raises:
        AnswerError: it can be read in two ways, or in none.

    >>> plain_number("0,8932"), plain_number("1.000,5"), plain_number("1,234,567.25")
    ('0.8932', '1000.5', '1234567.25')
    """
    if _TWO_MEANINGS.fullmatch(written):
        whole, _, decimals = written.partition(",")
        raise AnswerError(
            "decimal comma",
            say("{written} has a comma in a number and can be read in two ways.", written=written),
            say(
                "Write {whole}.{decimals} if the comma stands for the decimal point, or {whole}{decimals} if it parts the thousands.",
                whole=whole,
                decimals=decimals,
            ),
        )
    if _ONE_COMMA.fullmatch(written):
        return written.replace(",", ".")
    if _THOUSANDS_THEN_POINT.fullmatch(written):
        return written.replace(",", "")
    if _THOUSANDS_THEN_COMMA.fullmatch(written):
        return written.replace(".", "").replace(",", ".")
    if _THOUSANDS_TWICE.fullmatch(written):
        return written.replace(",", "").replace(".", "")
    if "," not in written:
        raise AnswerError(
            "unreadable",
            say("The number {written} has more than one point.", written=written[:30]),
            say("Write one point, as in 3.25."),
        )
    raise AnswerError(
        "decimal comma",
        say("The number {written} has points and commas that fit no number.", written=written[:30]),
        say("Write one point and no comma, as in 1234.5."),
    )
