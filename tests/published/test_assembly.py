"""Published conditions of assembly, against the kit's."""

from __future__ import annotations

from typing import Any

import pytest

from gearkit.solve.teeth.assembly import assembly
from gearkit.train.planetary_set import PlanetarySet
from tests.published.printed import check_table

QUESTIONS = [question for case in check_table("assembly") for question in case["question"]]


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda q: f"{q['sun']}/{q['pinion']}/{q['ring']} with {q['planets']}")
def test_the_conditions_of_assembly_come_out(question: dict[str, Any]) -> None:
    found = assembly(question["sun"], question["pinion"], question["ring"], question["planets"])
    for condition, expected in question["expect"].items():
        assert getattr(found, condition) is expected, condition


def test_a_set_knows_the_pinion_that_makes_it_coaxial() -> None:
    for question in QUESTIONS:
        pset = PlanetarySet("P1", sun_teeth=question["sun"], ring_teeth=question["ring"])
        assert pset.planet_teeth == question["pinion"]


def test_six_pinions_just_touching_are_not_clear() -> None:
    # sin 30° is exactly 1/2, so P + 2 = (S + P)/2 is a case that rounding must not decide: S 28, P 24.
    assert 24 + 2 == (28 + 24) // 2
    assert not assembly(28, 24, 76, 6).neighbours
    assert assembly(29, 24, 77, 6).neighbours
