"""ratios, speeds and torques for machines, outputs and given values: new fields where asked for, nothing new elsewhere."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.cli.main import main
from gearkit.text.places import datasets
from tests.support.commands import data

SPEED_KEYS = {"range", "input_speed", "members", "slip", "shafts", "pinions", "verdict", "one_way_note"}
NEW_SPEED_KEYS = {"machines", "given", "fixed_by", "missing", "would_do", "conflict"}


def test_ratios_tell_outputs_relations_and_how_many_torques_to_give(capsys: pytest.CaptureFixture[str]) -> None:
    split, held, electric = data(capsys, "ratios", "power_split_one_set")["ranges"]
    assert split["verdict"] == "power split"
    assert split["ratio"] == {"exact": None, "decimal": None, "formula": None}
    assert split["outputs"] == {"output": "power split"}
    assert split["relations"] == [{"output": 19, "M1": 8, "input": -27}, {"output": 1, "M2": -1}]
    assert (split["speeds_to_give"], split["torques_to_give"]) == (2, 2)
    assert held["ratio"] == {"exact": "19/27", "decimal": 19 / 27, "formula": "R1/(S1 + R1)"}
    assert "grip or control decides" in held["note"]
    assert electric["verdict"] == "input locked"


def test_straight_ahead_a_train_that_splits_torque_has_a_ratio(capsys: pytest.CaptureFixture[str]) -> None:
    (reduction,) = data(capsys, "ratios", "electric_reduction")["ranges"]
    # 1 + 44·86/(22·20) by hand.
    assert reduction["straight_ahead"] == {"exact": "48/5", "decimal": 9.6}
    assert main(["ratios", "electric_reduction"]) == 0
    assert "straight ahead, with all outputs at one speed: ratio 48/5 = 9.6" in capsys.readouterr().out
    assert main(["explain", "electric_reduction", "D"]) == 0
    assert "Straight ahead, with all outputs at one speed, the ratio is 48/5 = 9.6." in " ".join(
        capsys.readouterr().out.split()
    )
    open_, locked = data(capsys, "ratios", "bevel_differential")["ranges"]
    assert (open_["straight_ahead"]["exact"], locked["straight_ahead"]["exact"]) == ("1", "1")
    assert data(capsys, "ratios", "power_split_one_set")["ranges"][0]["straight_ahead"] == {"exact": None, "decimal": None}


def test_a_layout_with_one_input_and_one_output_has_no_new_field(capsys: pytest.CaptureFixture[str]) -> None:
    assert set(data(capsys, "speeds", "Q36", "2")) == SPEED_KEYS
    assert set(data(capsys, "ratios", "Q36")["ranges"][0]) == {
        "range",
        "engaged",
        "verdict",
        "redundant",
        "ratio",
        "step",
        "one_way_note",
    }
    assert "given" not in data(capsys, "torques", "Q36", "2")


def test_given_speeds_of_members_work_on_any_layout(capsys: pytest.CaptureFixture[str]) -> None:
    plain = data(capsys, "speeds", "Q36", "2", "--input-speed", "1500")
    ring = plain["members"]["P2.ring"]["exact"]
    found = data(capsys, "speeds", "Q36", "2", "--speed", f"P2.ring={ring}")
    assert set(found) == SPEED_KEYS | NEW_SPEED_KEYS
    assert {key: found[key] for key in SPEED_KEYS} == {key: plain[key] for key in SPEED_KEYS}
    assert found["given"] == {"P2.ring": {"exact": ring, "decimal": float(Fraction(ring))}}


def test_speeds_of_a_power_split_say_by_what_formula_they_follow(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "speeds", "power_split_30_23_78", "D", "--speed", "input=2000", "--speed", "output=3000")
    assert found["machines"]["M1"]["exact"] == "-600"
    by = found["fixed_by"]["M1"]
    assert (by["input"]["exact"], by["input"]["formula"]) == ("18/5", "1 + R1/S1")
    assert (by["output"]["exact"], by["output"]["formula"]) == ("-13/5", "-R1/S1")
    assert (found["missing"], found["conflict"]) == (0, [])


@pytest.mark.parametrize(("words", "code", "said"), [
    (["speeds", "power_split_one_set", "D", "--speed", "input=2000"], 1, "one more is needed: that of output, M1 or M2"),
    (["speeds", "power_split_one_set", "H", "--speed", "input=2000", "--speed", "output=2000"], 1, "input and output contradict each other"),
    (["speeds", "power_split_one_set", "EV", "--speed", "input=2000"], 1, "cannot be: it cannot turn"),
    (["torques", "power_split_one_set", "D", "--torque", "input=100"], 1, "beside the torque given for input, one more is needed: that of output or M2"),
    (["torques", "bevel_differential", "locked", "--torque", "input=100"], 1, "that of left or right"),
    (["torques", "bevel_differential", "open", "--torque", "input=100", "--torque", "left=-20"], 1, "input and left contradict"),
    (["torques", "bevel_differential", "open", "--torque", "input=100"], 0, "without losses"),
    (["torques", "power_split_one_set", "D", "--torque", "input=100", "--battery-at-rest", "--speed", "input=2000", "--speed", "output=1500"], 0, "the battery is at rest"),
    (["ratios", "compound_split_two_sets", "--symbols"], 0, "n(output) = (R1/(S1 + R1))·n(input) + (S1/(S1 + R1))·n(M1)"),
    (["ratios", "bevel_differential", "--all"], 0, "splits torque"),
])  # fmt: skip
def test_what_the_commands_say(words: list[str], code: int, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == code
    assert said in capsys.readouterr().out


@pytest.mark.parametrize(("words", "said"), [
    (["speeds", "bevel_differential", "open", "--output-speed", "3"], "has the outputs left and right; name one"),
    (["speeds", "power_split_one_set", "D", "--speed", "input=2", "--input-speed", "3"], "given twice"),
    (["speeds", "power_split_one_set", "D", "--speed", "M9=2"], "which it does not have"),
    (["torques", "power_split_one_set", "D", "--coast"], "give a torque below 0"),
    (["torques", "power_split_one_set", "D", "--torque", "C=2"], "it can be given for"),
])  # fmt: skip
def test_what_cannot_be_asked_is_refused_in_words(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    shown = capsys.readouterr()
    assert said in shown.err
    assert "Traceback" not in shown.err


@pytest.mark.parametrize("text", ["input", "=5", "input=fast", "input=1,5", "input="])
def test_a_malformed_pair_is_refused(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["speeds", "power_split_one_set", "D", "--speed", text])
    assert stopped.value.code == 2
    assert "--speed" in capsys.readouterr().err


@pytest.mark.parametrize("name", sorted(path.stem for path in (datasets() / "several").glob("*.toml")))
def test_every_range_of_every_such_layout_can_be_asked_for(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    for row in data(capsys, "ratios", name)["ranges"]:
        assert main(["speeds", name, row["range"]]) in (0, 1)
        assert main(["torques", name, row["range"], "--json"]) in (0, 1)
        assert capsys.readouterr().err == ""


@pytest.mark.parametrize(("words", "said"), [
    (["machines", "power_split_one_set", "D"], "1.4211  27/19"),
    (["machines", "power_split_one_set", "D"], "P1.sun → P1.ring → M2 → M1 → P1.sun"),
    (["machines", "power_split_one_set", "EV"], "electric drive, M1 drives"),
    (["machines", "compound_split_two_sets"], "at output / input 0.6842 (13/19)"),
    (["machines", "power_split_one_set"], "only at standstill"),
    (["converter", "converter_two_ranges", "1"], "stall: engine at 1867 r/min"),
    (["converter", "converter_two_ranges", "1", "--units", "US"], "mph"),
    (["torques", "power_split_one_set", "D", "--torque", "input=100", "--torque", "M2=50", "--speed", "input=2000", "--speed", "output=1000"],
     "the engine drives, M1 generates, M2 drives"),
    (["explain", "power_split_one_set", "D"], "T(M1) = −(S1/(S1 + R1))·T(input)"),
])  # fmt: skip
def test_what_machines_and_converters_do_is_told(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 0
    assert said in capsys.readouterr().out


@pytest.mark.parametrize(("words", "said"), [
    (["machines", "Q36", "1"], "it has no machine"),
    (["converter", "Q36", "1"], "it has no converter"),
    (["converter", "converter_two_ranges", "9"], "no range '9'"),
])  # fmt: skip
def test_layouts_without_machine_or_converter_are_refused(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 2
    assert said in capsys.readouterr().err


def test_the_json_of_machines_and_converter(capsys: pytest.CaptureFixture[str]) -> None:
    split = data(capsys, "machines", "power_split_30_23_78", "D", "--speed-ratio", "9/13")
    assert split["machines"][0]["mechanical_point"] == {"exact": "18/13", "decimal": 18 / 13, "formula": "1 + S1/R1"}
    assert split["shares"][0]["electrical"] == {"exact": "1/2", "decimal": 0.5}
    assert split["states"][0]["state"] == "electric drive"
    assert data(capsys, "machines", "compound_split_two_sets")["changes"][0]["speed_ratio"]["exact"] == "13/19"
    assert data(capsys, "converter", "converter_two_ranges", "1")["stall"]["torque_ratio"] == 2.05
