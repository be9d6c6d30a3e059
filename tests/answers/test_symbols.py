"""Lesson symbols build text, with the brackets that the reader needs, and say kindly what they cannot do."""

from __future__ import annotations

import pickle
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from gearkit.answers.symbols import symbol, symbols
from gearkit.words.errors import AnswerError

R, S, P = symbols("R, S P")


@pytest.mark.parametrize(
    ("built", "text"),
    [
        (1 + R / S, "1 + R/S"),
        (R + 1, "R + 1"),
        ((R + S) / (2 * P), "(R + S)/(2*P)"),
        (R - (S - P), "R - (S - P)"),
        (R - (S + P), "R - (S + P)"),
        (R / (S / P), "R/(S/P)"),
        (R / (S * P), "R/(S*P)"),
        (R * S / P, "R*S/P"),
        (-(R + S) / S, "-(R + S)/S"),
        (-R / S, "-R/S"),
        (R * -S, "R*(-S)"),
        (R - -S, "R - (-S)"),
        (R + -S, "R + (-S)"),
        (-(R**2), "-R**2"),
        ((-R) ** 2, "(-R)**2"),
        (R**-2, "R**(-2)"),
        (2 * (R + S) ** 2, "2*(R + S)**2"),
        (+R, "R"),
        (3 - R, "3 - R"),
        (R * Fraction(-1, 2), "R*(-1/2)"),
        (Fraction(1, 2) * R, "1/2*R"),
        (Fraction(4, 2) * R, "2*R"),
        (R / Fraction(1, 2), "R/(1/2)"),
        (0.5 * R, "0.5*R"),
        (1e-7 * R, "0.0000001*R"),
        (Decimal("1.50") * R, "1.50*R"),
        (-3 * R, "-3*R"),
        (R - 3, "R - 3"),
        (R + -3, "R + (-3)"),
        (1 / R, "1/R"),
        (1 - 1 / (1 / R + 1 / S), "1 - 1/(1/R + 1/S)"),
    ],
)
def test_arithmetic_on_symbols_is_text_with_the_brackets_it_needs(built: object, text: str) -> None:
    assert str(built) == repr(built) == text


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: R == S, "R has no value, so it cannot be compared"),
        (lambda: R != S, "R has no value, so it cannot be compared"),
        (lambda: R > 1, "R has no value, so it cannot be compared"),
        (lambda: bool(R), "R has no value, so it is neither true nor false"),
        (lambda: float(1 + R / S), r"1 \+ R/S has no value, so it cannot be turned into a number"),
        (lambda: int(R), "R has no value, so it cannot be turned into a number"),
        (lambda: R ^ 2, r"a power is written with two stars: R\*\*2, not R\^2"),
        (lambda: 2 ^ R, "a power is written with two stars"),
        (lambda: R**0.5, r"The power in R\*\*\(0.5\) has to be a whole number"),
        (lambda: 2**R, "A power has to be a whole number, not R"),
        (lambda: R(S + 1), r"R\(…\) is a call in a notebook cell. For a product write R\*\(…\)"),
        (lambda: R * True, "True is not a number here; write 1 or 0"),
        (lambda: R + float("nan"), "nan is not a number that an answer can hold"),
        (lambda: R + float("inf"), "inf is not a number that an answer can hold"),
        (lambda: R + "S", "unsupported operand"),
        (lambda: {R: 1}, "unhashable"),
    ],
)
def test_what_a_symbol_cannot_do_is_said_kindly(call: Any, words: str) -> None:
    with pytest.raises(TypeError, match=words):
        call()


def test_a_symbol_shows_itself_as_mathematics_in_a_notebook() -> None:
    assert (1 + R / symbol("S1"))._repr_latex_() == r"$1 + \frac{R}{S_{1}}$"


def test_a_symbol_needs_a_letter_first() -> None:
    with pytest.raises(AnswerError, match=r"'2R' cannot be a symbol\. Use a letter and an index, such as R1"):
        symbol("2R")


def test_a_symbol_survives_being_stored() -> None:
    assert str(pickle.loads(pickle.dumps(1 + R / S))) == "1 + R/S"


def test_a_symbol_goes_into_an_f_string() -> None:
    assert f"{1 + R / S:>9}" == "  1 + R/S"
