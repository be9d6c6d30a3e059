"""The command torques: its JSON is a contract, its refusals are for people."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

import pytest

from gearkit.solve.ratios import chart
from gearkit.train.catalogue import find
from tests.support.commands import data, refused, run


def exact(value: dict[str, Any]) -> Fraction:
    number = Fraction(value["exact"])
    assert value["decimal"] == pytest.approx(float(number), rel=1e-15)
    return number


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_the_json_holds_the_agreed_keys_and_its_torques_add_to_zero(capsys: pytest.CaptureFixture[str], name: str) -> None:
    layout = find(name)
    for row in chart(layout).rows:
        if row.ratio is None:
            continue
        found = data(capsys, "torques", name, row.name)
        assert {"members", "elements", "output_torque", "efficiency", "power", "recirculation"} <= set(found)
        assert set(found["members"]) == set(found["power"]) == set(layout.members)
        assert set(found["elements"]) == set(row.engaged)
        brakes = [n for n in row.engaged if "housing" in layout.element_named(n).between]
        held = sum((exact(found["elements"][n]) for n in brakes), Fraction(0))
        assert exact(found["input_torque"]) + exact(found["output_torque"]) + held == 0
        assert exact(found["housing_torque"]) == held
        assert exact(found["output_torque"]) == -row.ratio.exact * exact(found["efficiency"])
        assert exact(found["recirculation"]) >= 0


def test_no_losses_are_asked_for_with_a_basic_efficiency_of_1(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "torques", "Q36", "4", "--basic-efficiency", "1")
    assert exact(found["efficiency"]) == 1
    assert exact(found["elements"]["E"]) == -Fraction(39, 38)


def test_an_input_torque_scales_torque_and_power(capsys: pytest.CaptureFixture[str]) -> None:
    unit, scaled = data(capsys, "torques", "Q36", "4"), data(capsys, "torques", "Q36", "4", "--input-torque", "150")
    for key in ("members", "power", "elements"):
        for name, value in unit[key].items():
            assert exact(scaled[key][name]) == 150 * exact(value)
    assert scaled["efficiency"] == unit["efficiency"]
    assert scaled["recirculation"] == unit["recirculation"]


def test_coast_turns_the_input_torque_round(capsys: pytest.CaptureFixture[str]) -> None:
    coast = data(capsys, "torques", "Q36", "1", "--coast")
    assert (coast["drive"], coast["input_torque"]["exact"]) == ("coast", "-1")
    assert coast == data(capsys, "torques", "Q36", "1", "--input-torque", "-1")
    assert exact(coast["efficiency"]) != exact(data(capsys, "torques", "Q36", "1")["efficiency"])


def test_the_table_states_the_default_its_source_and_the_loop(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "torques", "Q36", "4", "--input-torque", "150")
    assert (code, err) == (0, "")
    assert "0.98 is common practice, no source" in out
    assert "torques in N·m" in out
    assert "recirculation 1.371 of the power that goes in" in out
    assert "efficiency 0.9614" in out
    assert "common practice" not in run(capsys, "torques", "Q36", "4", "--basic-efficiency", "0.97")[1]


@pytest.mark.parametrize(
    ("words", "state", "sentence"),
    [
        (["Q24", "1", "--coast"], "freewheel", "F would have to hold in the free direction"),
        (["Q36", "N"], "no range", "no torque reaches the output"),
    ],
)
def test_what_has_no_torques_says_why_and_is_a_finding(
    capsys: pytest.CaptureFixture[str], words: list[str], state: str, sentence: str
) -> None:
    code, out, _ = run(capsys, "torques", *words)
    assert code == 1
    assert sentence in out
    code, out, _ = run(capsys, "torques", *words, "--json")
    found = json.loads(out)
    assert (code, found["state"]) == (1, state)
    assert found["output_torque"] == found["efficiency"] == {"exact": None, "decimal": None}


def test_engine_braking_is_stated_where_a_one_way_clutch_holds(capsys: pytest.CaptureFixture[str]) -> None:
    assert "engine braking: none, the range freewheels in coast" in run(capsys, "torques", "Q24", "1")[1]
    assert "engine braking" not in run(capsys, "torques", "Q24", "1L")[1]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["Q36", "9"], "no range '9'"),
        (["Q36", "2", "--basic-efficiency", "98"], "basic efficiency 98; it must be above 0 and at most 1"),
        (["Q36", "2", "--input-torque", "0"], "input torque 0; give a torque above 0 for drive"),
        (["Q36", "2", "--coast", "--input-torque", "-3"], "coast turns its sign round itself"),
        (["Q36", "2", "--input-torque", "much"], "'much' is not a number"),
    ],
)
def test_unusable_input_is_explained_without_a_traceback(
    capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    assert message in refused(capsys, "torques", *words)
