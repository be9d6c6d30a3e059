"""Published torques, shares and powers of single trains, without losses."""

from __future__ import annotations

from fractions import Fraction
from math import pi
from typing import Any

import pytest

from gearkit.solve.loads.torques import torques
from gearkit.solve.speeds import speeds
from gearkit.train.layout import Layout
from tests.published.printed import check_table, layout_of, rules_that_fit

CASES = check_table("torque_and_power")
QUESTIONS = [(case, question) for case in CASES for question in case["question"]]


def worked_out(case: dict[str, Any], what: str) -> Fraction:
    """One figure of a case, by the kit's speeds and torques; torques as multiples of the input's, without losses."""
    layout = layout_of(case)
    found = torques(layout, ["B"], basic_efficiency=1)
    power_torque = Fraction(1850 * 60) / (2 * Fraction(pi) * 1200)
    match what:
        case "sun torque / carrier torque":
            return -_known(found.members["P1.sun"]) / _known(found.members["P1.carrier"])
        case "ring torque / carrier torque":
            return -_known(found.members["P1.ring"]) / _known(found.members["P1.carrier"])
        case "ring speed, sun held, carrier at 1220 r/min":
            return _output_speed(layout, 1220)
        case "ring torque for 8 kgf m at the carrier, kgf m":
            return -8 * _known(found.members["P1.ring"])
        case "output speed, r/min, at 1200 r/min":
            return _output_speed(layout, 1200)
        case "input torque, N m":
            return power_torque
        case "output torque, N m":
            return -power_torque * _known(found.output_torque)
    raise AssertionError(f"nothing works out {what!r}")


def _known(value: Fraction | None) -> Fraction:
    assert value is not None
    return value


def _output_speed(layout: Layout, input_speed: int) -> Fraction:
    return _known(speeds(layout, ["B"], input_speed).of("output"))


@pytest.mark.parametrize(("case", "question"), QUESTIONS, ids=lambda value: value.get("what", ""))
def test_the_printed_figure_comes_out_unless_it_is_flagged(case: dict[str, Any], question: dict[str, Any]) -> None:
    exact = worked_out(case, question["what"])
    fits = rules_that_fit(exact, question["printed"])
    if "flag" in question:
        assert not fits, "the figure comes out, so the flag is out of date"
    else:
        assert fits, f"printed {question['printed']}, worked out {float(exact)}"


def test_the_flags_say_what_is_exact() -> None:
    assert "5.778" in CASES[0]["question"][3]["flag"]
    assert "rounded" in rules_that_fit(worked_out(CASES[0], CASES[0]["question"][3]["what"]), "5.778")
    assert "4431.3" in CASES[1]["question"][1]["flag"]
    assert "rounded" in rules_that_fit(worked_out(CASES[1], CASES[1]["question"][1]["what"]), "4431.3")


def test_the_flagged_output_torque_is_the_input_power_at_the_rounded_speed() -> None:
    at_four = Fraction(1850 * 60) / (2 * Fraction(pi) * 4)
    assert "cut off" in rules_that_fit(at_four, CASES[1]["question"][1]["printed"])
