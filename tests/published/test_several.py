"""Published figures of trains with several drivers or outputs come out."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.torques_given import torques_given
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from tests.published.printed import check_table, layout_of, rules_that_fit

CASES = check_table("several")


def layout_for(case: dict[str, Any]) -> Layout:
    return catalogue.find(case["layout"]) if "layout" in case else layout_of(case)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["title"])
def test_the_printed_figure_comes_out(case: dict[str, Any]) -> None:
    layout, given = layout_for(case), {name: Fraction(value) for name, value in case["given"].items()}
    assert case["source"]["citation"]
    if case["what"] == "speeds":
        found = speeds_given(layout, [], given).of
    else:
        found = torques_given(layout, [], given, basic_efficiency=1).terminals
    for name, printed in case["expect"].items():
        value = found[name]
        assert value is not None
        assert rules_that_fit(value, printed), f"{name}: printed {printed}, worked out {value}"


def test_the_planet_of_the_power_split_turns_by_its_own_count() -> None:
    # The sun drives the planet by 30/23, not by the 30/24 that the diameters without profile shift would give.
    found = speeds_given(catalogue.find("power_split_30_23_78"), [], {"input": 0, "M1": 23})
    assert found.planets["P1.planet"] == -30


def test_the_reduction_behind_the_same_power_split() -> None:
    # Two pairs of gears, 55/54 and 77/24, printed as 3.267 (from memory, not looked up).
    assert rules_that_fit(Fraction(55, 54) * Fraction(77, 24), "3.267") == {"cut off"}
