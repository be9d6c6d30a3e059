"""Sines to 40 digits, for whatever angle a learner's numbers give."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers.comparison.exact import PI, sine

CLOSE = Fraction(1, 10**35)


@pytest.mark.parametrize(("angle", "expected"), [(Fraction(0), Fraction(0)), (PI / 6, Fraction(1, 2)), (PI / 2, Fraction(1))])
@pytest.mark.parametrize("turns", [0, 1, -1, 7, -1000])
def test_whole_turns_change_no_sine(angle: Fraction, expected: Fraction, turns: int) -> None:
    assert abs(sine(angle + turns * 2 * PI) - expected) < CLOSE
    assert abs(sine(-angle - turns * 2 * PI) + expected) < CLOSE


@pytest.mark.parametrize("angle", [Fraction(10**60), Fraction(-(10**200)), Fraction(53**40, 7)])
def test_an_angle_beyond_all_reason_still_has_a_sine(angle: Fraction) -> None:
    assert abs(sine(angle)) <= 1 + CLOSE
