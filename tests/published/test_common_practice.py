"""A fact of the trade. Source: common practice, no source. Used nowhere else.

Three single-pinion sets; the carrier of the first joined to the ring of the second, the carrier of the second to the
ring of the third, the suns of the second and third to each other; the third carrier is the output; the first sun always
turns with the input. One clutch joins the joined suns to the input, another the second carrier; brakes on the three
rings. First 3.2, second 1.86, fourth 1, fifth 0.7, sixth 0.6, reverse -4.41.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest
import sympy

from gearkit.solve.ratios import Ratio, ratio
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import ElementKind, SourceKind
from tests.published.printed import rules_that_fit

ENGAGED = {
    "1": ("S", "K"),
    "2": ("S", "H"),
    "4": ("S", "T"),
    "5": ("T", "G"),
    "6": ("T", "H"),
    "R": ("G", "K"),
}
GIVEN = {"1": Fraction("3.2"), "2": Fraction("1.86"), "R": Fraction("-4.41")}


def train(*quotients: Fraction) -> Layout:
    sets = tuple(PlanetarySet(f"P{n}", ring_to_sun=value) for n, value in enumerate(quotients, start=1))
    joins = (
        ("input", "P1.sun"),
        ("P1.carrier", "P2.ring"),
        ("P2.carrier", "P3.ring"),
        ("P2.sun", "P3.sun"),
        ("P3.carrier", "output"),
    )
    elements = (
        Element("S", ElementKind.CLUTCH, ("input", "P2.sun")),
        Element("T", ElementKind.CLUTCH, ("input", "P2.carrier")),
        Element("G", ElementKind.BRAKE, ("P1.ring", "housing")),
        Element("H", ElementKind.BRAKE, ("P2.ring", "housing")),
        Element("K", ElementKind.BRAKE, ("P3.ring", "housing")),
    )
    return Layout("three sets", sets, joins, elements, (), Source(SourceKind.COMMON_PRACTICE, "common practice, no source"))


def ratio_in(layout: Layout, range_name: str) -> Ratio:
    found = ratio(layout, _engaged(range_name))
    assert found is not None
    return found


def _engaged(range_name: str) -> tuple[str, ...]:
    return ENGAGED[range_name]


@cache
def fitted() -> Layout:
    """Solve the kit's own formulas of first, second and reverse for the three ring-to-sun ratios."""
    layout = train(Fraction(2), Fraction(2), Fraction(2))
    unknown = sympy.symbols("k1 k2 k3", positive=True)
    equations = []
    for range_name, value in GIVEN.items():
        found = ratio_in(layout, range_name)
        top, bottom = found.at({f"P{n}": (1, k) for n, k in enumerate(unknown, start=1)})
        equations.append(sympy.expand(top - sympy.Rational(value.numerator, value.denominator) * bottom))
    (solution,) = sympy.solve(equations, unknown, dict=True)
    return train(*(Fraction(int(solution[k].p), int(solution[k].q)) for k in unknown))


def test_three_ring_to_sun_ratios_follow_from_first_second_and_reverse() -> None:
    layout = fitted()
    for range_name, value in GIVEN.items():
        assert ratio_in(layout, range_name).exact == value
    assert all(pset.quotient > 1 for pset in layout.sets)


@pytest.mark.parametrize(("range_name", "stated"), [("4", "1"), ("5", "0.7"), ("6", "0.6")])
def test_the_other_ranges_come_out_at_the_stated_digits(range_name: str, stated: str) -> None:
    assert "rounded" in rules_that_fit(ratio_in(fitted(), range_name).exact, stated)


def test_another_first_ratio_would_not_give_the_stated_digits() -> None:
    layout = fitted()
    other = replace(layout, sets=(*layout.sets[:2], PlanetarySet("P3", ring_to_sun=Fraction(4))))
    assert not rules_that_fit(ratio_in(other, "2").exact, "1.86")
