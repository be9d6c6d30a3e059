"""Shortcuts of reading and comparing give what the long way gives, for whatever is written."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from gearkit.answers.comparison.compare import EXACTLY, MACHINE_DIGITS, Match, Tolerance, judge_number
from gearkit.answers.item import AnswerKind
from gearkit.answers.kinds import numbers
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.read import reader
from gearkit.answers.read.expression import Expression
from gearkit.answers.read.units import _SPELLINGS
from gearkit.answers.rules.built_item import apart
from gearkit.words.errors import AnswerError

SPELLINGS = sorted({spelling for *_, spellings in _SPELLINGS for spelling in spellings.split()})
OWN = ("", "N·m", "N.m", "r/min", "mm", "degrees", "percent", "teeth", "m", "in", "r/s")
LETTERS = {"S": Fraction(30), "R": Fraction(66), "m": Fraction(2), "N": Fraction(4)}
DIGITS = st.text("0123456789", min_size=1, max_size=12)
NUMBERS = st.builds(
    "{}{}{}{}".format,
    st.sampled_from(["", "", "-", "+", "\u2212", " "]),
    DIGITS,
    st.one_of(st.just(""), st.builds(".{}".format, DIGITS), st.just(".")),
    st.one_of(st.just(""), st.builds("/{}".format, DIGITS)),
)
TEXTS = st.builds(
    "{}{}{}{}".format,
    NUMBERS,
    st.sampled_from(["", " ", " ", "  ", "*", "-"]),
    st.one_of(st.sampled_from(SPELLINGS), st.sampled_from(["", "S", "R/S", "reverse", "against the input", "e5"])),
    st.sampled_from(["", "", "", ".", " ", ",", " reverse"]),
)
TARGETS = st.builds(
    NumberChecker,
    st.just(Fraction(7)),
    st.sampled_from([AnswerKind.DECIMAL, AnswerKind.TORQUE, AnswerKind.EXACT_RATIO]),
    st.just(EXACTLY),
    st.sampled_from(OWN),
    st.sampled_from([{}, LETTERS]),
    st.booleans(),
)


def outcome(checker: NumberChecker, text: str) -> object:
    try:
        reading = checker.read(text)
    except AnswerError as fault:
        return fault.code, str(fault)
    return reading


def fully(checker: NumberChecker, text: str) -> object:
    """What the whole reader makes of a text, with nothing read at a glance."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(numbers, "at_a_glance", lambda text: None)
        patch.setattr(numbers, "number_in", lambda text, unit: "")
        return outcome(checker, text)


@settings(max_examples=1500, deadline=None)
@given(TARGETS, TEXTS)
@example(NumberChecker(Fraction(7), AnswerKind.DECIMAL, EXACTLY, "r/min"), "121/min")
@example(NumberChecker(Fraction(7), AnswerKind.DECIMAL, EXACTLY, "r/min"), "12 1/min")
@example(NumberChecker(Fraction(7), AnswerKind.DECIMAL, EXACTLY, "r/min"), "12 rpm.")
@example(NumberChecker(Fraction(7), AnswerKind.DECIMAL, EXACTLY, "m", LETTERS), "12 m")
@example(NumberChecker(Fraction(7), AnswerKind.EXACT_RATIO), "-4/0")
def test_a_number_is_read_at_a_glance_as_it_is_read_in_full(checker: NumberChecker, text: str) -> None:
    assert outcome(checker, text) == fully(checker, text)


@pytest.mark.parametrize("spelling", SPELLINGS)
@pytest.mark.parametrize("number", ["0", "12", "-3.25", "007.50"])
def test_every_spelling_of_a_unit_is_read_at_a_glance_as_it_is_read_in_full(spelling: str, number: str) -> None:
    for own in OWN:
        checker = NumberChecker(Fraction(7), AnswerKind.TORQUE, EXACTLY, own)
        for gap in ("", " "):
            assert outcome(checker, number + gap + spelling) == fully(checker, number + gap + spelling)


def judged(given: Expression, exact: Fraction, tolerance: Tolerance) -> Match:
    """The rule as its words have it, in fractions."""
    number = given.value()
    if number == exact:
        return Match.EXACT
    if abs(number - exact) <= tolerance.around(exact):
        return Match.WITHIN
    if given.digits is None:
        return Match.DIFFERENT
    places, figures = given.digits
    if figures > MACHINE_DIGITS:
        places, figures = places - (figures - MACHINE_DIGITS), MACHINE_DIGITS
        number = Fraction((number * Fraction(10) ** places + Fraction(1, 2)).__floor__()) / Fraction(10) ** places
    if abs(number - exact) > Fraction(1, 2) / Fraction(10) ** places:
        return Match.DIFFERENT
    return Match.ROUNDED if figures >= tolerance.figures else Match.TOO_FEW


TOLERANCES = st.builds(
    Tolerance,
    st.sampled_from([Fraction(0), Fraction(1, 200), Fraction(1, 50)]),
    st.sampled_from([Fraction(0), Fraction(1, 2), Fraction(1, 100)]),
    st.sampled_from([1, 3, 4]),
)


@settings(max_examples=1500, deadline=None)
@given(
    st.fractions(-9999, 9999, max_denominator=10**6),
    TOLERANCES,
    st.integers(0, 14),
    st.sampled_from([0, 0, 1, -1, Fraction(1, 200)]),
)
@example(Fraction(12345678901250), EXACTLY, 0, 1)
@example(Fraction(1, 8), EXACTLY, 2, 0)
def test_numbers_are_judged_in_whole_numbers_as_in_fractions(
    exact: Fraction, tolerance: Tolerance, places: int, off: Fraction
) -> None:
    scaled = round((exact + off * exact) * 10**places)
    text = f"{'-' if scaled < 0 else ''}{abs(scaled) // 10**places}" + (
        f".{abs(scaled) % 10**places:0{places}d}" if places else ""
    )
    for written in (text, f"{abs(exact.numerator) % 10**15}/{exact.denominator}"):
        given = reader.read(written)
        assert judge_number(given.value(), given.digits, exact, tolerance) is judged(given, exact, tolerance)


@settings(max_examples=500, deadline=None)
@given(st.fractions(max_denominator=1000), st.fractions(max_denominator=1000), TOLERANCES, st.integers(1, 50))
def test_numbers_are_apart_in_whole_numbers_as_in_fractions(
    right: Fraction, wrong: Fraction, tolerance: Tolerance, factor: int
) -> None:
    share = max(Fraction(1, 100), 2 * tolerance.relative)
    far = abs(right - wrong) > share * max(abs(right), abs(wrong)) and abs(right - wrong) > 2 * tolerance.absolute
    uncancelled = wrong.numerator * factor, wrong.denominator * factor
    assert apart(right.as_integer_ratio(), uncancelled, tolerance) is far
