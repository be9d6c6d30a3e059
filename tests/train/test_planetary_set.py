"""One planetary set: its speed equation, the spin of its pinions, and what it refuses."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import LayoutError
from gearkit.words.terms import PinionKind
from tests.support.layout_strategies import planetary_sets

S, R, P, Q = 24, 72, 30, 18


@pytest.mark.parametrize(
    ("pset", "basic_ratio"),
    [
        (PlanetarySet("P1", sun_teeth=S, ring_teeth=R), Fraction(-R, S)),
        (PlanetarySet("P1", ring_to_sun=Fraction(R, S)), Fraction(-R, S)),
        (PlanetarySet("P1", PinionKind.DOUBLE, S, R), Fraction(R, S)),
        (
            PlanetarySet("P1", PinionKind.STEPPED, S, R, sun_pinion_teeth=P, ring_pinion_teeth=Q),
            Fraction(-R * P, S * Q),
        ),
        (PlanetarySet("P1", PinionKind.BEVEL), Fraction(-1)),
    ],
)
def test_with_the_carrier_held_sun_over_ring_is_the_basic_ratio(pset: PlanetarySet, basic_ratio: Fraction) -> None:
    a, b = pset.weights
    assert pset.basic_ratio == basic_ratio
    # a*w_sun + b*w_ring = 0 with the carrier standing.
    assert a * basic_ratio + b * 1 == 0


@given(planetary_sets())
def test_all_members_alike_satisfies_every_set(pset: PlanetarySet) -> None:
    a, b = pset.weights
    assert a * 7 + b * 7 == (a + b) * 7
    assert pset.basic_ratio == Fraction(-b, a)


@given(st.integers(10, 60), st.integers(5, 40), st.fractions(-5, 5), st.fractions(-5, 5))
def test_the_pinion_of_a_single_set_rolls_without_slip_on_sun_and_ring(
    sun: int, pinion: int, sun_speed: Fraction, carrier_speed: Fraction
) -> None:
    ring = sun + 2 * pinion
    pset = PlanetarySet("P1", sun_teeth=sun, ring_teeth=ring)
    assert pset.planet_teeth == pinion
    spin = pset.spins()["planet"] * (sun_speed - carrier_speed)
    ring_speed = carrier_speed - Fraction(sun, ring) * (sun_speed - carrier_speed)
    # As many teeth pass on both sides of a mesh: outside against inside sense at the sun, the same sense at the ring.
    assert sun * (sun_speed - carrier_speed) == -pinion * spin
    assert ring * (ring_speed - carrier_speed) == pinion * spin


def test_the_pinions_of_double_and_stepped_sets_roll_without_slip() -> None:
    double = PlanetarySet("P1", PinionKind.DOUBLE, S, R, sun_pinion_teeth=P, ring_pinion_teeth=Q).spins()
    assert double == {"inner_pinion": Fraction(-S, P), "outer_pinion": Fraction(S, Q)}
    stepped = PlanetarySet("P1", PinionKind.STEPPED, S, R, sun_pinion_teeth=P, ring_pinion_teeth=Q).spins()
    assert stepped == {"planet": Fraction(-S, P)}
    assert PlanetarySet("P1", PinionKind.DOUBLE, S, R).spins() == {}
    assert PlanetarySet("P1", PinionKind.BEVEL).spins() == {}


def test_an_odd_difference_means_half_a_pinion_tooth() -> None:
    assert PlanetarySet("P1", sun_teeth=30, ring_teeth=79).planet_teeth == Fraction(49, 2)
    assert PlanetarySet("P1", ring_to_sun=Fraction(2)).planet_teeth is None


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"sun_teeth": "30", "ring_teeth": 66}, "sun: found '30'; expected a whole tooth count"),
        ({"sun_teeth": 30.0, "ring_teeth": 66}, r"sun: found 30\.0; expected a whole tooth count"),
        ({"sun_teeth": True, "ring_teeth": 66}, "sun: found True"),
        ({"sun_teeth": 30, "ring_teeth": 10_001}, "ring: found 10001; expected a whole tooth count from 1 to 10000"),
        ({"ring_to_sun": 2.2}, r"ring_to_sun: found 2\.2; expected an exact number"),
        ({"ring_to_sun": Fraction(20_000)}, "ring_to_sun: found 20000; expected at most 10000"),
        ({"ring_to_sun": Fraction(1)}, "more than 1: the ring is larger than the sun"),
        ({"sun_teeth": 30, "ring_teeth": 30}, "more than the sun's 30 teeth; are the two counts swapped"),
        ({"pinions": PinionKind.STEPPED, "ring_to_sun": Fraction(2)}, "sun, sun_pinion, ring_pinion and ring"),
        ({"pinions": PinionKind.DOUBLE, "sun_teeth": 30, "ring_teeth": 66, "sun_pinion_teeth": 15}, "both pinions of the pair"),
        ({"pinions": PinionKind.BEVEL, "ring_to_sun": Fraction(2)}, "side gears are equal"),
        ({"sun_teeth": 30, "ring_teeth": 66, "planets": 25}, "planets: found 25; expected a whole number from 1 to 24"),
        ({"sun_teeth": 30, "ring_teeth": 66, "basic_efficiency": Fraction(0)}, "above 0 and at most 1"),
    ],
)  # fmt: skip
def test_an_impossible_set_is_refused_in_words(arguments: dict[str, Any], message: str) -> None:
    with pytest.raises(LayoutError, match=message):
        PlanetarySet("P1", **arguments)


def test_all_faults_of_a_set_are_reported_together() -> None:
    with pytest.raises(LayoutError, match="name") as caught:
        PlanetarySet("1P", sun_teeth=0, ring_teeth=-3, planets=0)
    assert len(caught.value.faults) == 4
