"""Published speeds of simple trains, the two known speeds given to the kit as input and output."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from gearkit.solve.speeds import speeds
from tests.published.printed import RULES, check_table, layout_of, rules_that_fit

QUESTIONS = [(case, question) for case in check_table("speeds") for question in case["question"]]


def worked_out(case: dict[str, Any], question: dict[str, Any]) -> dict[str, Fraction | None]:
    """Every speed of the train, with the two given ones put on the input and on the output."""
    (first, first_speed), (second, second_speed) = question["given"].items()
    layout = layout_of(case, joins=[["input", first], ["output", second]])
    found = speeds(layout, [], Fraction(first_speed), Fraction(second_speed))
    return {**found.members, **found.planets}


def title(value: object) -> str:
    return str(value["title"] if isinstance(value, dict) and "title" in value else "")


@pytest.mark.parametrize(
    ("case", "question"), [pair for pair in QUESTIONS if "flag" not in pair[1]], ids=lambda value: title(value)
)
def test_the_printed_speed_comes_out(case: dict[str, Any], question: dict[str, Any]) -> None:
    found = worked_out(case, question)
    for member, printed in question["expect"].items():
        speed = found[member]
        assert speed is not None
        assert rules_that_fit(speed, printed), f"{member}: printed {printed}, worked out {speed}"


@pytest.mark.parametrize(
    ("case", "question"), [pair for pair in QUESTIONS if "flag" in pair[1]], ids=lambda value: title(value)
)
def test_a_figure_flagged_as_a_slip_of_the_source_does_not_come_out(case: dict[str, Any], question: dict[str, Any]) -> None:
    found = worked_out(case, question)
    for member, printed in question["expect"].items():
        speed = found[member]
        assert speed is not None
        assert not rules_that_fit(speed, printed), f"{member}: {printed} comes out, so the flag is out of date"


def test_one_rule_of_rounding_fits_all_speeds_of_a_source() -> None:
    for case in check_table("speeds"):
        rules = RULES
        for question in case["question"]:
            if "flag" not in question:
                found = worked_out(case, question)
                for member, printed in question["expect"].items():
                    speed = found[member]
                    assert speed is not None
                    rules &= rules_that_fit(speed, printed)
        assert rules, case["title"]


def test_every_case_names_its_source_and_how_far_it_was_looked_up() -> None:
    for case in check_table("speeds"):
        assert case["source"]["citation"]
        assert "looked up" in case["source"]["notes"]
        assert (case["source"]["kind"] == "memory") == ("from memory, not looked up" in case["source"]["notes"])
