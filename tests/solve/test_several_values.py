"""Power splits, differentials and transfers: what each is called, its relations, shares and states, by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.explain.story import tell
from gearkit.solve.several.motions import motions
from gearkit.solve.several.ranges import driving_choice, formulas, letting_go, one_way_note
from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.torques_given import torques_given
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import LoadState, TrainVerdict

R = Fraction
HEAD = 'format = 1\nname = "by hand"\n{top}\n[source]\nkind = "own"\ncitation = "made for a test"\n'
SET = '[[set]]\nname = "{name}"\nsun = {sun}\nring = {ring}\n'


def made(top: str, *sets: tuple[str, int, int], machines: str = "", elements: str = "") -> Layout:
    """A layout of single-pinion sets; machines as "M1 P1.sun, M2 output", elements as "B P1.sun housing"."""
    text = HEAD.format(top=top) + "".join(SET.format(name=n, sun=s, ring=r) for n, s, r in sets)
    for one in filter(None, machines.split(", ")):
        name, shaft = one.split()
        text += f'[[machine]]\nname = "{name}"\nshaft = "{shaft}"\n'
    for one in filter(None, elements.split(", ")):
        name, first, second = one.split()
        kind = "brake" if second == "housing" else "clutch"
        text += f'[[element]]\nname = "{name}"\nkind = "{kind}"\nbetween = ["{first}", "{second}"]\n'
    return catalogue.parse(text)


SPLIT = made(
    'joins = [["input", "P1.carrier"], ["P1.ring", "output"]]',
    ("P1", 30, 78),
    machines="M1 P1.sun, M2 output",
    elements="B P1.sun housing, E input housing, K input P1.sun",
)


@pytest.mark.parametrize(("engaged", "verdict", "torques"), [
    ("", "power split", 2), ("B", "range", 3), ("E", "input locked", 3), ("K", "range", 3), ("BE", "tie-up", 4),
])  # fmt: skip
def test_a_power_split_is_called_by_what_moves(engaged: str, verdict: str, torques: int) -> None:
    found = motions(SPLIT, engaged)
    assert (found.verdict.value, found.torques_to_give, found.speeds_to_give) == (verdict, torques, 4 - torques)


def test_with_the_engine_held_a_machine_still_drives_and_the_relations_show_it() -> None:
    found = motions(SPLIT, "E")
    assert found.standing == ("input",)
    assert {"output": 13, "M1": 5} in found.relations
    assert {"output": 1, "M2": -1} in found.relations


def test_the_relation_of_the_power_split_is_a_formula_in_the_teeth() -> None:
    found = motions(SPLIT, "")
    assert found.relations[0] == {"output": 13, "M1": 5, "input": -18}
    assert driving_choice(found) == ("input", "M1")
    over = formulas(found, ("input", "output"))["M1"]
    assert over.text() == "n(M1) = (1 + R1/S1)·n(input) − R1/S1·n(output)"


def test_speeds_come_from_any_sufficient_set_and_say_by_what() -> None:
    for given in ({"input": 2000, "output": 3000}, {"M1": -600, "M2": 3000}, {"P1.carrier": 2000, "M1": -600}):
        found = speeds_given(SPLIT, "", given)
        assert found.enough
        assert [found.of[name] for name in ("input", "output", "M1", "M2")] == [2000, 3000, -600, 3000]
    assert speeds_given(SPLIT, "", {"input": 1, "output": 1}).fixed_by["M1"] == {"input": R(18, 5), "output": R(-13, 5)}


def test_too_few_speeds_say_how_many_are_missing_and_which_would_do() -> None:
    found = speeds_given(SPLIT, "", {"output": 1000, "M2": 1000})
    assert (found.missing, found.conflict) == (1, ())
    assert found.would_do == (("M1",), ("input",))
    assert speeds_given(SPLIT, "", {}).missing == 2


def test_contradictory_speeds_are_named_and_others_are_not() -> None:
    assert speeds_given(SPLIT, "", {"input": 1, "output": 1, "M2": 2}).conflict == ("output", "M2")
    assert speeds_given(SPLIT, "", {"input": 1, "output": 1, "M1": 2}).conflict == ("input", "output", "M1")
    assert speeds_given(SPLIT, "E", {"input": 100, "M1": 1000}).conflict == ("input",)
    assert speeds_given(SPLIT, "E", {"input": 0, "M1": 1300}).of["output"] == -500


def test_torques_come_from_any_sufficient_set_with_their_shares() -> None:
    found = torques_given(SPLIT, "", {"input": 108, "M2": 0}, basic_efficiency=1)
    assert found.terminals == {"output": -78, "M1": -30, "M2": 0, "input": 108}
    assert found.fixed_by["M1"] == {"input": R(-30, 108)}
    assert found.fixed_by["output"] == {"input": R(-78, 108), "M2": -1}
    assert torques_given(SPLIT, "", {"M1": -30, "output": -100}, basic_efficiency=1).terminals["M2"] == 22
    assert torques_given(SPLIT, "", {"P1.sun": -30, "output": -100}, basic_efficiency=1).terminals["input"] == 108


def test_torques_that_are_too_few_or_contradict_are_told() -> None:
    few = torques_given(SPLIT, "", {"input": 100}, basic_efficiency=1)
    assert (few.state, few.missing, few.would_do) == (LoadState.NOT_ENOUGH, 1, (("output",), ("M2",)))
    wrong = torques_given(SPLIT, "", {"input": 108, "M1": 30, "M2": 0}, basic_efficiency=1)
    assert (wrong.state, wrong.conflict) == (LoadState.CONTRADICTORY, ("input", "M1"))
    assert set(wrong.terminals.values()) == {None}


def test_without_speeds_there_are_no_losses_and_it_is_said() -> None:
    found = torques_given(SPLIT, "", {"input": 108, "M2": 0})
    assert found.state is LoadState.WITHOUT_LOSSES
    assert found.terminals["M1"] == -30
    assert found.efficiency is None
    assert "Give speeds" in found.reason


def test_with_losses_the_shares_shift_and_energy_balances_exactly() -> None:
    speeds = {"input": 2000, "output": 1000}
    found = torques_given(SPLIT, "", {"input": 108, "M2": 0}, speeds, R(98, 100))
    # Seen from the carrier the sun runs at 2600, so power rolls from ring to sun: b' = b/eta.
    ring = R(78) / R(98, 100)
    assert found.terminals["M1"] == -108 * R(30) / (30 + ring)
    assert found.terminals["output"] == -108 * ring / (30 + ring)
    power = sum(found.power.values())
    assert power == sum(torque * found.speeds.of[name] for name, torque in found.members.items())
    assert found.efficiency == 1 - power / (108 * 2000)


def test_with_the_battery_at_rest_what_one_machine_gives_the_other_takes() -> None:
    layout = catalogue.find("power_split_one_set")
    found = torques_given(layout, [], {"input": 100}, {"input": 2000, "output": 1500}, 1, battery_at_rest=True)
    assert found.terminals["M1"] == -100 * R(32, 108)
    assert sum(found.electrical.values()) == 0
    # 0.9 and 0.92 by the file: M1 is driven, M2 drives.
    assert found.electrical["M1"] == found.power["M1"] * R(9, 10)
    assert found.electrical["M2"] == found.power["M2"] / R(92, 100)


def test_a_battery_at_rest_needs_two_machines_and_speeds() -> None:
    with pytest.raises(UsageError, match="two machines"):
        torques_given(catalogue.find("electric_reduction"), [], {"input": 1}, battery_at_rest=True)
    with pytest.raises(UsageError, match="needs the speeds"):
        torques_given(SPLIT, "", {"input": 1}, battery_at_rest=True)


def test_an_open_differential_shares_by_its_teeth_and_a_locked_one_by_grip() -> None:
    axle = catalogue.find("bevel_differential")
    found = motions(axle, [])
    assert (found.verdict, found.torques_to_give, found.relations) == (
        "splits torque",
        1,
        ({"left": 1, "right": 1, "input": -2},),
    )
    # One wheel slips and bears 30: the other gets no more.
    assert torques_given(axle, [], {"left": -30}, basic_efficiency=1).terminals == {"left": -30, "right": -30, "input": 60}
    assert speeds_given(axle, [], {"input": 500, "left": 0}).of["right"] == 1000
    locked = motions(axle, ["L"])
    assert (locked.verdict, locked.outputs, locked.ratio) == ("range", {"left": "range", "right": "range"}, 1)
    assert not locked.shares_fixed
    assert torques_given(axle, ["L"], {"input": 60}, basic_efficiency=1).missing == 1
    held = torques_given(axle, ["L"], {"input": 60, "left": -10}, basic_efficiency=1)
    assert (held.terminals["right"], held.state) == (-50, LoadState.SETTLED)


def test_a_transfer_shares_by_sun_and_ring() -> None:
    assert torques_given(catalogue.find("planetary_transfer"), [], {"input": 100}, basic_efficiency=1).terminals == {
        "front": -34, "rear": -66, "input": 100,
    }  # fmt: skip


def test_a_machine_on_the_input_shaft_adds_torque_and_no_freedom() -> None:
    layout = made(
        'joins = [["input", "P1.sun"], ["P1.carrier", "output"]]',
        ("P1", 30, 66),
        machines="M1 input",
        elements="B P1.ring housing",
    )
    found = motions(layout, "B")
    assert (found.verdict, found.ratio, found.shares_fixed) == ("range", R(96, 30), False)
    assert torques_given(layout, "B", {"input": 10, "M1": 20}, basic_efficiency=1).terminals["output"] == -96


def test_a_machine_geared_to_the_output_decides_nothing() -> None:
    two = ("P1", 30, 66), ("P2", 30, 78)
    layout = made(
        'joins = [["input", "P1.sun"], ["P1.carrier", "P2.carrier", "output"], ["P2.ring", "housing"]]',
        *two,
        machines="M1 P2.sun",
    )
    assert motions(layout, "").verdict is TrainVerdict.NEUTRAL
    assert {"output": 18, "M1": -5} in motions(layout, "").relations


def test_two_drivers_and_two_outputs_are_both() -> None:
    # A power split whose ring turns the carrier of a transfer.
    top = 'outputs = ["front", "rear"]\njoins = [["input", "P1.carrier"], ["P1.ring", "P2.carrier"], ["P2.sun", "front"], ["P2.ring", "rear"]]'
    layout = made(top, ("P1", 30, 78), ("P2", 40, 60), machines="M1 P1.sun, M2 P1.ring")
    found = motions(layout, "")
    assert found.verdict is TrainVerdict.BOTH
    assert set(found.outputs.values()) == {TrainVerdict.BOTH}
    assert (found.speeds_to_give, found.torques_to_give) == (3, 2)


def test_an_output_that_nothing_drives_is_neutral_beside_one_that_is_driven() -> None:
    top = 'outputs = ["wheels", "side"]\njoins = [["input", "P1.sun"], ["P1.carrier", "wheels"], ["P1.ring", "housing"]]'
    found = motions(made(top, ("P1", 30, 66), elements="K side wheels"), "")
    assert found.outputs == {"wheels": "range", "side": "neutral"}
    assert found.verdict is TrainVerdict.RANGE
    assert found.idle_freedom == 0
    assert motions(made(top, ("P1", 30, 66), elements="K side wheels"), "K").outputs["side"] == "range"


def test_a_lock_up_lets_the_engine_torque_through_its_clutch() -> None:
    layout = catalogue.find("converter_two_ranges")
    locked = torques_given(layout, ["K", "L"], {"input": 100}, basic_efficiency=1)
    assert (locked.elements["L"], locked.terminals["output"]) == (-100, -100)  # on its engine side
    assert speeds_given(layout, ["K", "L"], {"input": 1000}).of["engine"] == 1000
    assert speeds_given(layout, ["K"], {"input": 1000}).of["engine"] is None


def test_what_a_train_does_not_have_is_named_with_what_it_has() -> None:
    with pytest.raises(UsageError, match=r"speed given for 'M3', which it does not have\. It has: output, M1, M2, input"):
        speeds_given(SPLIT, "", {"M3": 100})
    with pytest.raises(UsageError, match=r"torque given for 'B'; it can be given for: output, M1, M2, input, P1\.sun"):
        torques_given(SPLIT, "", {"B": 100})


def one_way_layout() -> Layout:
    """An engine that drives the sun through a one-way clutch, and a machine on the sun itself."""
    text = HEAD.format(top='joins = [["P1.carrier", "output"], ["P1.ring", "housing"]]') + SET.format(
        name="P1", sun=30, ring=66
    )
    text += '[[machine]]\nname = "M1"\nshaft = "P1.sun"\n'
    text += '[[element]]\nname = "F"\nkind = "one-way clutch"\nbetween = ["P1.sun", "input"]\n'
    return catalogue.parse(text)


def test_a_one_way_clutch_that_would_turn_or_push_the_wrong_way_is_told() -> None:
    layout = one_way_layout()
    # The sun may overrun the input; the input cannot overrun the sun.
    assert one_way_note(speeds_given(layout, [], {"input": 1000, "M1": 2000})) is None
    assert "F would have to turn in the blocked direction" in str(
        one_way_note(speeds_given(layout, [], {"input": 2000, "M1": 1000}))
    )
    assert letting_go(torques_given(layout, ["F"], {"input": 20, "M1": 50}, basic_efficiency=1)) is None
    assert "F would have to push in the free direction" in str(
        letting_go(torques_given(layout, ["F"], {"input": -20, "M1": 50}, basic_efficiency=1))
    )


def test_a_story_takes_a_listed_one_way_clutch_to_hold_and_another_to_overrun() -> None:
    assert "the range lists it, so it is taken to hold: it joins it to the input." in tell(
        one_way_layout(), engaged=["F"]
    ).text().replace("\n    ", " ")
    assert "F is not listed, so it is taken to overrun." in tell(one_way_layout(), engaged=[]).text()
