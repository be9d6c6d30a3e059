"""The comparison itself: it must be able to fail."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.printed import RULES, root_fits, rules_that_fit


@pytest.mark.parametrize(
    ("exact", "printed", "rules"),
    [
        (Fraction(22, 15), "1.47", {"rounded"}),
        (Fraction(22, 15), "1.46", {"cut off"}),
        (Fraction(22, 15), "1.48", set()),
        (Fraction(22, 15), "-1.47", set()),
        (Fraction(-10, 3), "-3.33", RULES),
        (Fraction(4), "4", RULES),
        (Fraction(1, 200), "0.01", {"rounded"}),
    ],
)
def test_a_figure_fits_only_as_rounded_or_cut_off(exact: Fraction, printed: str, rules: set[str]) -> None:
    assert rules_that_fit(exact, printed) == rules


def test_a_root_fits_only_when_it_rounds_to_the_figure() -> None:
    assert root_fits(Fraction(2), 2, "1.414")
    assert not root_fits(Fraction(2), 2, "1.415")
    assert not root_fits(Fraction(2), 2, "1.413")
    assert root_fits(Fraction(27, 8), 3, "1.5")
