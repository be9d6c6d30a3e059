"""The electrical branch, operating states and changes between ranges: against closed formulas, balances and slips."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.solve.several.changes import changes
from gearkit.solve.several.electrical import power_split
from gearkit.solve.several.motions import motions
from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.states import operating_state, states_of
from gearkit.solve.several.torques_given import torques_given
from gearkit.train.catalogue import find
from gearkit.words.errors import UsageError

R = Fraction
RATIOS = [R(-3, 2), R(1, 7), R(1, 2), R(1), R(18, 13), R(2), R(7, 2)]


def test_the_mechanical_point_is_where_the_machine_stands() -> None:
    split = power_split(find("power_split_30_23_78"), [])
    first, second = split.lines
    assert (first.of_input, first.of_output, first.point) == (R(18, 5), R(-13, 5), R(18, 13))
    assert first.point_formula == "1 + S1/R1"
    assert (second.point, second.point_formula) == (None, None)
    speeds = speeds_given(find("power_split_30_23_78"), [], {"input": 13, "output": 18})
    assert speeds.of["M1"] == 0


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize(
    ("name", "engaged"), [("power_split_30_23_78", []), ("compound_split_two_sets", ["C"]), ("compound_split_two_sets", ["K"])]
)
def test_the_share_is_the_closed_formula_where_machines_lose_nothing(name: str, engaged: list[str], ratio: Fraction) -> None:
    # Torques do no work in any motion, and T1*n1 + T2*n2 = 0: so P1/P(input) = -n1*n2/((u1*v2 - u2*v1)*ratio).
    from dataclasses import replace

    layout = find(name)
    layout = replace(layout, machines=tuple(replace(one, efficiency=None) for one in layout.machines), text="")
    split = power_split(layout, engaged)
    (one, two), share = split.lines, split.share(ratio)
    assert share is not None
    first, second = (line.of_input + line.of_output * ratio for line in split.lines)
    expected = -first * second / ((one.of_input * two.of_output - two.of_input * one.of_output) * ratio)
    assert share.machine_powers == {one.name: expected, two.name: -expected}
    assert share.electrical == abs(expected)
    assert share.output == 1


def test_half_the_power_is_electrical_at_half_the_mechanical_point() -> None:
    split = power_split(find("power_split_30_23_78"), [])
    share = split.share(split.points[0] / 2)
    assert share is not None
    assert (share.electrical, share.generating, share.circulating) == (R(1, 2), ("M1",), 0)


def test_beyond_the_mechanical_point_the_electrical_power_goes_round() -> None:
    split = power_split(find("power_split_30_23_78"), [])
    share = split.share(split.points[0] * R(3, 2))
    assert share is not None
    assert (share.generating, share.electrical, share.circulating) == (("M2",), R(1, 2), R(1, 2))
    assert set(share.loop) == {"P1.sun", "P1.ring", "M1", "M2"}
    at = split.share(split.points[0])
    assert at is not None
    assert (at.electrical, at.circulating) == (0, 0)


@pytest.mark.parametrize("ratio", RATIOS)
def test_with_machine_losses_what_one_gives_the_other_takes(ratio: Fraction) -> None:
    share = power_split(find("power_split_one_set"), []).share(ratio)
    assert share is not None
    eta = {"M1": R(9, 10), "M2": R(92, 100)}
    electrical = {name: power / eta[name] if power > 0 else power * eta[name] for name, power in share.machine_powers.items()}
    assert sum(electrical.values()) == 0
    assert share.output <= 1
    assert share.output == 1 + sum(share.machine_powers.values())


def test_nothing_fixes_a_share_with_one_machine_or_a_standing_output() -> None:
    split = power_split(find("power_split_one_set"), [])
    assert split.share(0) is None
    from dataclasses import replace

    layout = find("power_split_one_set")
    assert power_split(replace(layout, machines=layout.machines[:1], text=""), []).share(1) is None


def test_limits_follow_from_the_machines_own_figures() -> None:
    first, second = power_split(find("power_split_one_set"), []).limits(2000)
    # 9000 = 27/8 * 2000 - 19/8 * n and the same at -9000.
    assert first.output_speeds == (R(8, 19) * (R(27, 8) * 2000 - 9000), R(8, 19) * (R(27, 8) * 2000 + 9000))
    assert first.input_torque == 60 * R(108, 32)
    assert (second.output_speeds, second.input_torque) == ((-9000, 9000), None)


def test_a_range_without_a_branch_is_refused_with_the_reason() -> None:
    for name, engaged, why in (
        ("power_split_one_set", ["E"], "input locked"), ("Q36", [], "it has no machine"), ("electric_reduction", [], "several outputs"),
    ):  # fmt: skip
        with pytest.raises(UsageError, match=why):
            power_split(find(name), engaged)


def test_the_states_of_a_power_split() -> None:
    states = {state.name: state for state in states_of(motions(find("power_split_one_set"), []))}
    assert list(states) == ["electric drive", "reverse by machine", "regenerative braking", "engine start"]
    assert states["electric drive"].torques == {"M1": 0, "M2": 1}
    assert states["engine start"].speeds == {"M1": R(27, 8), "M2": 0}
    # The engine's drag of 1: the sun bears S/(S + R) of it, and M2 keeps the wheels free of the rest.
    assert states["engine start"].torques == {"M1": R(32, 108), "M2": R(76, 108)}
    assert states["regenerative braking"].does == "regenerative braking, M2 generates"
    # With the engine held both machines can drive, and balance leaves their shares open: one after the other.
    held = states_of(motions(find("power_split_one_set"), ["E"]))
    assert [state.does for state in held[:2]] == ["electric drive, M2 drives", "electric drive, M1 drives"]


@pytest.mark.parametrize(("torques", "speeds", "words"), [
    ({"input": 100, "M2": 50}, {"input": 2000, "output": 1000}, "the engine drives, M1 generates, M2 drives"),
    ({"input": -20, "M2": 40}, {"input": 1000, "output": 500}, "the engine is turned while the vehicle is driven, electric drive, M1 and M2 drive"),
    ({"input": 0, "M2": -50}, {"input": 0, "output": 1000}, "regenerative braking, M2 generates"),
    ({"input": -50, "M2": 0}, {"input": 2000, "output": 3000}, "engine braking, regenerative braking, M1 generates"),
])  # fmt: skip
def test_what_a_train_does_is_told_from_its_powers(torques: dict[str, int], speeds: dict[str, int], words: str) -> None:
    assert operating_state(torques_given(find("power_split_one_set"), [], torques, speeds, 1)) == words


def test_changes_without_slip_are_those_where_no_element_slips() -> None:
    layout = find("compound_split_two_sets")
    found = {(change.first, change.second): change for change in changes(layout)}
    assert all(change.synchronous for change in found.values())
    change = found["1", "2"]
    assert (change.released, change.applied, change.speed_ratio) == (("C",), ("K",), R(13, 19))
    assert change.machine_speeds["M1"] == 0
    for engaged in (["C"], ["K"]):
        slips = speeds_given(layout, engaged, {"input": 19, "output": 13}).slip
        assert slips == {"C": 0, "K": 0}
    standstill = {(c.first, c.second): c for c in changes(find("power_split_one_set"))}["H", "EV"]
    assert (standstill.synchronous, standstill.speed_ratio) == (False, None)
