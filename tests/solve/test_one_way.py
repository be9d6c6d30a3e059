"""One-way clutches: who holds, who overruns, and which ranges brake the engine."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.loads.torques import torques
from gearkit.solve.mobility import assess
from gearkit.solve.one_way import Working, braking, one_way_clutches, working
from gearkit.solve.speeds import speeds
from gearkit.train.catalogue import find
from gearkit.train.elements import Element, Range
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import Drive, ElementKind, FreeDirection, LoadState, OneWayState, Verdict
from tests.support.random_layouts import layouts

# What F of the two-set layout does; first lists Fraction, reverse and 1L have its member held by D.
STATES = [
    ("1", OneWayState.HOLDING),
    ("1L", OneWayState.IDLE),
    ("2", OneWayState.OVERRUNNING),
    ("3", OneWayState.OVERRUNNING),
    ("4", OneWayState.OVERRUNNING),
    ("R", OneWayState.IDLE),
]


@pytest.mark.parametrize(("range_name", "state"), STATES)
def test_f_holds_in_first_overruns_above_and_is_of_no_use_in_reverse(range_name: str, state: OneWayState) -> None:
    (clutch,) = braking(find("Q24"), range_name).drive.clutches
    assert (clutch.name, clutch.state) == ("F", state)


def test_f_overruns_in_second_at_the_speed_of_carrier_1() -> None:
    S1, R1, S2, R2 = 30, 84, 50, 86
    (clutch,) = braking(find("Q24"), "2").drive.clutches
    assert clutch.slip == Fraction(R1 * S2, S2 * (S1 + R1) + R2 * S1)
    assert clutch.torque == 0


def test_f_holds_first_with_the_ratio_less_one() -> None:
    (clutch,) = braking(find("Q24"), "1").drive.clutches
    assert (clutch.slip, clutch.torque) == (0, Fraction(86, 50))


def test_first_freewheels_when_the_vehicle_pushes_and_1l_brakes_the_engine() -> None:
    layout = find("Q24")
    first = braking(layout, "1")
    assert (first.engine_braking, first.coast.verdict) == (False, Verdict.NEUTRAL)
    assert [clutch.state for clutch in first.coast.clutches] == [OneWayState.OVERRUNNING]
    low = braking(layout, "1L")
    assert low.engine_braking
    assert low.coast.ratio == first.drive.ratio == Fraction(68, 25)


def test_every_range_without_a_one_way_clutch_brakes_the_engine() -> None:
    for name in ("Q36", "Q48"):
        layout = find(name)
        assert [b.engine_braking for b in (braking(layout, r.name) for r in layout.ranges if r.name != "N")] == (
            [True] * (len(layout.ranges) - 1)
        )


def test_a_range_that_lists_a_one_way_clutch_which_cannot_hold_is_not_as_listed() -> None:
    layout = find("Q24")
    assert all(is_as_listed(layout, item.name) for item in layout.ranges)
    wrong = replace(layout, ranges=(Range("X", ("A", "F")),), text="")
    found = braking(wrong, "X")
    assert assess(wrong, ["A", "F"]).verdict is Verdict.RANGE
    assert (is_as_listed(wrong, "X"), found.drive.verdict) == (False, Verdict.NEUTRAL)


def is_as_listed(layout: Layout, range_name: str) -> bool:
    """In drive the one-way clutches hold that the range lists, or others that give the same ratio."""
    listed, drive = assess(layout, layout.engaged_in(range_name)), braking(layout, range_name).drive
    return (listed.verdict, listed.ratio) == (drive.verdict, drive.ratio)


def test_reverse_cannot_be_held_by_f_alone() -> None:
    found = working(find("Q24"), ["A"])
    assert (found.verdict, found.holding) == (Verdict.NEUTRAL, ())


def test_releasing_the_brake_of_1l_leaves_first_on_the_one_way_clutch() -> None:
    found = working(find("Q24"), ["E"])
    assert (found.holding, found.ratio, found.engaged) == (("F",), Fraction(68, 25), ("E", "F"))


def test_fitted_the_wrong_way_round_it_binds_where_its_member_must_turn_forward() -> None:
    layout = find("Q24")
    turned = {"F": FreeDirection.REVERSE}
    verdicts = {r.name: working(layout, r.engaged, clutches=turned).verdict for r in layout.ranges}
    assert [name for name, verdict in verdicts.items() if verdict is Verdict.TIE_UP] == ["2", "3", "4"]
    assert verdicts["1"] is Verdict.NEUTRAL
    assert verdicts["1L"] is verdicts["R"] is Verdict.RANGE


def test_a_clutch_that_is_not_named_as_one_way_is_an_ordinary_element() -> None:
    layout = find("Q24")
    seized = working(layout, ["B", "E", "F"], clutches={})
    assert (seized.verdict, seized.clutches) == (Verdict.TIE_UP, ())
    assert working(layout, ["E"], clutches={}).verdict is Verdict.NEUTRAL


def test_a_one_way_clutch_between_two_shafts_holds_only_one_sense() -> None:
    # Sun in, carrier out; a one-way clutch keeps the ring from running back against the housing, or does not.
    def train(between: tuple[str, str], free: FreeDirection) -> Layout:
        element = Element("F", ElementKind.ONE_WAY_CLUTCH, between, free)
        base = find("bench_set")
        joins = (("P1.carrier", "output"), ("P1.sun", "input"))
        return replace(base, joins=joins, elements=(element,), ranges=(), text="")

    for between, free, holds in [
        (("P1.ring", "housing"), FreeDirection.FORWARD, True),
        (("P1.ring", "housing"), FreeDirection.REVERSE, False),
        (("housing", "P1.ring"), FreeDirection.REVERSE, True),
        (("housing", "P1.ring"), FreeDirection.FORWARD, False),
    ]:
        found = working(train(between, free), [])
        assert found.holding == (("F",) if holds else ())
        # When the vehicle pushes it is the other way about.
        assert working(train(between, free), [], Drive.COAST).holding == (() if holds else ("F",))


def test_an_input_that_a_one_way_clutch_keeps_from_turning_forward_is_locked() -> None:
    layout = find("bench_set")
    stop = Element("F", ElementKind.ONE_WAY_CLUTCH, ("input", "housing"), FreeDirection.REVERSE)
    found = working(replace(layout, elements=(*layout.elements, stop), text=""), ["A"])
    assert found.verdict is Verdict.INPUT_LOCKED
    assert found.holding == ("F",)


@given(layouts(one_way=True), st.sampled_from(list(Drive)))
@settings(max_examples=80, deadline=None)
def test_what_is_found_obeys_speed_and_torque(layout: Layout, drive: Drive) -> None:
    for item in layout.ranges:
        found = working(layout, item.engaged, drive)
        assert assess(layout, found.engaged) == found.mobility
        if found.verdict is Verdict.RANGE:
            obeys(found)
        if found.verdict is Verdict.NEUTRAL:
            no_choice_of_clutches_makes_a_range(found)


def obeys(found: Working) -> None:
    senses = senses_of(found.layout)
    slips = speeds(found.layout, found.engaged).slip
    balanced = torques(found.layout, found.engaged, 1 if found.drive is Drive.DRIVE else -1, 1)
    if found.holding:
        assert balanced.state is LoadState.SETTLED
    for clutch in found.clutches:
        first_named_slip, sense = slips[clutch.name], senses[clutch.name]
        match clutch.state:
            case OneWayState.HOLDING:
                assert clutch.slip == 0
                assert clutch.torque == balanced.elements[clutch.name]
            case OneWayState.OVERRUNNING:
                assert first_named_slip is None or first_named_slip * sense > 0
                assert clutch.torque == 0
            case OneWayState.IDLE:
                assert first_named_slip == 0
                assert clutch.torque is None
            case OneWayState.FREE:
                assert first_named_slip is None


def no_choice_of_clutches_makes_a_range(found: Working) -> None:
    for name in found.layout.elements:
        if name.kind is not ElementKind.ONE_WAY_CLUTCH:
            continue
        engaged = {*found.applied, name.name}
        balanced = torques(found.layout, engaged, 1 if found.drive is Drive.DRIVE else -1, 1)
        if balanced.state is LoadState.SETTLED and balanced.elements.get(name.name):
            slips = speeds(found.layout, engaged).slip
            senses = senses_of(found.layout)
            others = [n for n in senses if n != name.name and slips[n] is not None and slips[n] * senses[n] < 0]
            assert others, "alone it would hold, so only another clutch that blocks can be the reason"


def senses_of(layout: Layout) -> dict[str, int]:
    return {n: 1 if free is FreeDirection.FORWARD else -1 for n, free in one_way_clutches(layout).items()}


def test_an_unknown_range_or_element_is_named() -> None:
    with pytest.raises(UsageError, match="no range '9'"):
        braking(find("Q24"), "9")
    with pytest.raises(UsageError, match="no element 'Z'"):
        working(find("Q24"), ["Z"])
