"""Lines that somebody types for the parts of a layout: what they may look like, and what is said of those that cannot be read."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearkit.train.elements import Element, Range
from gearkit.train.planetary_set import PlanetarySet
from gearkit.train.typed_in import read_element, read_join, read_range, read_ratio, read_set
from gearkit.words.errors import GearkitError, LayoutError, UsageError
from gearkit.words.terms import ElementKind, FreeDirection, PinionKind


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("P1 single 30/66", PlanetarySet("P1", sun_teeth=30, ring_teeth=66)),
        ("P1 30/66, 3 planets", PlanetarySet("P1", sun_teeth=30, ring_teeth=66, planets=3)),
        ("P1: single, 30 66", PlanetarySet("P1", sun_teeth=30, ring_teeth=66)),
        ("P2 double 35/75 3 pairs", PlanetarySet("P2", PinionKind.DOUBLE, 35, 75, planets=3)),
        ("P2 R/S 2.2", PlanetarySet("P2", ring_to_sun=Fraction(11, 5))),
        ("P2 double R/S = 7/3", PlanetarySet("P2", PinionKind.DOUBLE, ring_to_sun=Fraction(7, 3))),
        ("P4 stepped 24/20/18/62", PlanetarySet("P4", PinionKind.STEPPED, 24, 62, sun_pinion_teeth=20, ring_pinion_teeth=18)),
        ("D bevel", PlanetarySet("D", PinionKind.BEVEL)),
    ],
)
def test_a_set_is_read_as_it_is_typed(line: str, expected: PlanetarySet) -> None:
    assert read_set(line) == (expected, False)


@pytest.mark.parametrize("line", ["P3 ?", "P3", "P3 double ?"])
def test_a_set_without_teeth_is_one_to_be_found(line: str) -> None:
    pset, asked = read_set(line, 1)
    assert asked
    assert pset.quotient != read_set(line, 2)[0].quotient


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("A brake P1.ring", Element("A", ElementKind.BRAKE, ("P1.ring", "housing"))),
        ("A: brake on P1 ring", Element("A", ElementKind.BRAKE, ("P1.ring", "housing"))),
        ("A brake housing P1.Ring", Element("A", ElementKind.BRAKE, ("housing", "P1.ring"))),
        ("K clutch input and P2 sun", Element("K", ElementKind.CLUTCH, ("input", "P2.sun"))),
        ("F one-way clutch P2.carrier", Element("F", ElementKind.ONE_WAY_CLUTCH, ("P2.carrier", "housing"))),
        (
            "F one-way P2.carrier case reverse",
            Element("F", ElementKind.ONE_WAY_CLUTCH, ("P2.carrier", "housing"), FreeDirection.REVERSE),
        ),
        ("F one way clutch P2.carrier housing", Element("F", ElementKind.ONE_WAY_CLUTCH, ("P2.carrier", "housing"))),
        ("brake A P1.ring", Element("A", ElementKind.BRAKE, ("P1.ring", "housing"))),
        ("Clutch K: input to P2.sun", Element("K", ElementKind.CLUTCH, ("input", "P2.sun"))),
        ("one-way clutch F P2.carrier housing", Element("F", ElementKind.ONE_WAY_CLUTCH, ("P2.carrier", "housing"))),
    ],
)
def test_an_element_is_read_as_it_is_typed(line: str, expected: Element) -> None:
    assert read_element(line) == expected


def test_joins_ranges_and_ratios_are_read_as_they_are_typed() -> None:
    assert read_join("P1.carrier = P2 ring = output") == ("P1.carrier", "P2.ring", "output")
    assert read_range("1: A, K") == read_range("1 = A + K") == Range("1", ("A", "K"))
    assert read_range("N") == Range("N", ())
    assert read_ratio("R = −3.40") == ("R", "-3.40")
    assert read_ratio("1 2.846") == ("1", "2.846")


@pytest.mark.parametrize(
    ("reader", "line", "said"),
    [
        (read_set, "P1 thirty/66", "P1 single 30/66"),
        (read_set, "", "P1 single 30/66"),
        (read_join, "input", "input = P1.sun"),
        (read_join, "input = P1", "'P1' without sun, carrier or ring"),
        (read_element, "A P1.ring", "A brake P1.ring"),
        (read_element, "K clutch P2.sun", "K clutch input P2.sun"),
        (read_element, "K clutch input P2.planet", "a set has a sun, a carrier and a ring"),
        (read_range, " : ", "1: A K"),
        (read_ratio, "1 = 0", "1 = 2.846"),
        (read_ratio, "1 = two", "1 = 2.846"),
    ],
)
def test_a_line_that_cannot_be_read_is_shown_with_one_that_can(reader: object, line: str, said: str) -> None:
    assert callable(reader)
    with pytest.raises(UsageError, match=r"expected") as told:
        reader(line)
    assert said in str(told.value)


def test_counts_that_no_set_can_have_are_told_as_in_a_file() -> None:
    with pytest.raises(LayoutError, match="are the two counts swapped"):
        read_set("P1 66/30")


@given(st.text(max_size=60))
def test_no_line_ends_in_anything_but_a_part_or_our_own_error(line: str) -> None:
    for reader in (read_set, read_join, read_element, read_range, read_ratio):
        with suppress(GearkitError):
            assert reader(line) is not None
