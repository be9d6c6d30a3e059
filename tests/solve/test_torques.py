"""Torques: shares within a set, holding torques worked by hand, sums that are exactly zero, and honest refusals."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.loads.balance import sides_of
from gearkit.solve.loads.torques import Torques, torques
from gearkit.solve.mobility import assess, shaft_columns
from gearkit.solve.ratios import ratio
from gearkit.solve.speeds import speeds
from gearkit.train.catalogue import entries, find
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.terms import HOUSING, Drive, ElementKind, LoadState, PinionKind, Verdict
from tests.support.random_layouts import layouts, random_layout

EVERY_RANGE = [(entry.name, item.name) for entry in entries() for item in entry.layout.ranges]


def of_range(name: str, range_name: str, torque: int | Fraction = 1, efficiency: Fraction | int | None = 1) -> Torques:
    layout = find(name)
    return torques(layout, layout.engaged_in(range_name), torque, efficiency)


def test_sun_in_ring_held_gives_the_proportion_of_the_tooth_counts() -> None:
    S, R, T = 36, 78, 120
    found = of_range("bench_set", "1", T)
    assert found.members == {"P1.sun": T, "P1.ring": Fraction(T * R, S), "P1.carrier": -Fraction(T * (S + R), S)}
    assert found.elements == {"A": -T, "D": Fraction(T * R, S)}
    assert (found.output_torque, found.housing_torque) == (-Fraction(T * (S + R), S), Fraction(T * R, S))


def test_in_direct_a_clutch_carries_only_its_share_of_the_input() -> None:
    S, R, T = 36, 78, 300
    found = of_range("bench_set", "3", T)
    assert found.elements == {"A": -Fraction(T * S, S + R), "B": -Fraction(T * R, S + R)}
    assert found.output_torque == -T


def test_first_of_the_three_set_layout_follows_the_torque_from_ring_1() -> None:
    S1, R1, S2, R2, S3, R3 = 26, 88, 38, 94, 59, 93
    found = of_range("Q36", "1", 150)
    assert found.elements["B"] == 150 * Fraction(S1, R1) * (1 + Fraction(R2, S2))
    assert found.elements["C"] == 150 * (1 + Fraction(S1, R1)) * Fraction(R3, S3)
    assert found.elements["B"] + found.elements["C"] == 150 * (ratio(find("Q36"), ["B", "C"]).exact - 1)


def test_second_shares_the_input_between_sun_and_ring_of_a_locked_set() -> None:
    S1, R1, S3, R3 = 26, 88, 59, 93
    found = of_range("Q36", "2")
    assert found.elements == {"A": -Fraction(S1, S1 + R1), "C": Fraction(R3, S3)}
    assert all(found.members[f"P2.{member}"] == 0 for member in ("sun", "carrier", "ring"))


@pytest.mark.parametrize(("name", "range_name"), EVERY_RANGE)
def test_a_lone_brake_holds_the_ratio_less_one_and_no_losses_means_the_speed_ratio(name: str, range_name: str) -> None:
    layout = find(name)
    found = of_range(name, range_name)
    known = ratio(layout, found.engaged)
    if known is None:
        assert found.state is LoadState.NO_RANGE
        return
    assert found.output_torque == -known.exact
    assert found.housing_torque == known.exact - 1
    assert found.efficiency == 1


@given(
    layouts(one_way=True),
    st.fractions(Fraction(1, 2), 1, max_denominator=100),
    st.sampled_from([1, -1, Fraction(150), Fraction(-7, 3)]),
)
@settings(max_examples=60, deadline=None)
def test_every_shaft_and_the_whole_train_are_in_balance(layout: Layout, efficiency: Fraction, torque: Fraction) -> None:
    for item in layout.ranges:
        found = torques(layout, item.engaged, torque, efficiency)
        if found.state is not LoadState.SETTLED:
            continue
        assert torque + found.output_torque + found.housing_torque == 0
        columns = shaft_columns(layout)
        sums = dict.fromkeys(columns.values(), Fraction(0))
        sums[columns["input"]] += torque
        sums[columns["output"]] += found.output_torque
        sums[-1] += found.housing_torque
        for member, value in found.members.items():
            sums[columns[member]] -= value
        for name, value in found.elements.items():
            turning, other = sides_of(layout.element_named(name), columns)
            sums[columns[turning]] += value
            sums[columns[other]] -= value
        # What the elements put on the housing cancels what the housing puts on the train.
        sums[-1] -= found.housing_torque
        members_on_housing = sum(found.members[m] for m in layout.members if columns[m] == -1)
        brakes = sum(found.elements[n] for n in found.engaged if columns[sides_of(layout.element_named(n), columns)[1]] == -1)
        assert found.housing_torque == members_on_housing + brakes
        assert {value for column, value in sums.items() if column != -1} <= {Fraction(0)}


@given(layouts(), st.fractions(Fraction(1, 2), 1, max_denominator=100))
@settings(max_examples=40, deadline=None)
def test_torques_of_a_set_add_to_zero_and_stand_as_its_weights(layout: Layout, efficiency: Fraction) -> None:
    for item in layout.ranges:
        found = torques(layout, item.engaged, 1, efficiency)
        if found.state is not LoadState.SETTLED:
            continue
        for pset in layout.sets:
            sun, carrier, ring = (found.members[f"{pset.name}.{m}"] for m in ("sun", "carrier", "ring"))
            assert sun + carrier + ring == 0
            rolled = {Fraction(1), efficiency, 1 / efficiency}
            assert (sun == ring == 0) or ring / sun / Fraction(*reversed(pset.weights)) in rolled


@given(layouts(one_way=True))
@settings(max_examples=40, deadline=None)
def test_torques_of_one_range_do_no_work_on_the_motion_of_another(layout: Layout) -> None:
    # Virtual work: any motion that sets and joins allow will do, so the motion of every other range does.
    columns = shaft_columns(layout)
    for loaded in layout.ranges:
        found = torques(layout, loaded.engaged, 1, 1)
        if found.state is not LoadState.SETTLED:
            continue
        for moving in layout.ranges:
            if assess(layout, moving.engaged).verdict is not Verdict.RANGE:
                continue
            motion = speeds(layout, moving.engaged)
            work = 1 + found.output_torque * motion.shafts["output"]
            for name, torque in found.elements.items():
                element = layout.element_named(name)
                slip = motion.slip[name]
                turns_first = sides_of(element, columns)[0] == element.between[0]
                if slip is None:
                    break
                work += torque * (slip if turns_first else -slip)
            else:
                assert work == 0


@given(layouts(), st.integers(-400, 400).filter(bool))
@settings(max_examples=30, deadline=None)
def test_torques_grow_in_proportion_to_the_input_torque(layout: Layout, torque: int) -> None:
    engaged = layout.ranges[0].engaged
    unit = torques(layout, engaged, 1 if torque > 0 else -1)
    scaled = torques(layout, engaged, torque)
    if unit.state is LoadState.SETTLED:
        assert scaled.members == {name: abs(torque) * value for name, value in unit.members.items()}
        assert scaled.efficiency == unit.efficiency
        assert scaled.recirculation == unit.recirculation
    assert scaled.state is unit.state


@given(layouts(one_way=True), st.randoms(use_true_random=False), st.sampled_from([1, -1]))
@settings(max_examples=50, deadline=None)
def test_names_and_order_change_nothing(layout: Layout, draw: random.Random, torque: int) -> None:
    renamed = shuffled(layout, draw)
    for item in layout.ranges:
        first = torques(layout, item.engaged, torque)
        second = torques(renamed, [f"x{name}" for name in item.engaged], torque)
        assert second.state is first.state
        assert second.output_torque == first.output_torque
        assert second.efficiency == first.efficiency
        assert second.recirculation == first.recirculation
        assert {name.removeprefix("x"): value for name, value in second.elements.items()} == first.elements
        assert {name.removeprefix("Set_"): value for name, value in second.members.items()} == first.members


def shuffled(layout: Layout, draw: random.Random) -> Layout:
    """The same train: other names, sets, joins, elements in another order, joins named from the other end."""

    def other(member: str) -> str:
        return f"Set_{member}" if "." in member else member

    sets = [replace(pset, name=f"Set_{pset.name}") for pset in layout.sets]
    joins = [tuple(other(member) for member in draw.sample(join, len(join))) for join in layout.joins]
    elements = [replace(e, name=f"x{e.name}", between=(other(e.between[0]), other(e.between[1]))) for e in layout.elements]
    ranges = tuple(replace(r, engaged=tuple(f"x{name}" for name in r.engaged)) for r in layout.ranges)
    for parts in (sets, joins, elements):
        draw.shuffle(parts)
    return Layout(layout.name, tuple(sets), tuple(joins), tuple(elements), ranges, layout.source)


@given(layouts())
@settings(max_examples=30, deadline=None)
def test_naming_a_clutch_from_its_other_side_turns_its_torque_round(layout: Layout) -> None:
    turned = replace(
        layout,
        elements=tuple(replace(e, between=e.between[::-1]) if e.kind is ElementKind.CLUTCH else e for e in layout.elements),
    )
    for item in layout.ranges:
        first, second = torques(layout, item.engaged), torques(turned, item.engaged)
        for name, value in first.elements.items():
            sign = -1 if layout.element_named(name).kind is ElementKind.CLUTCH else 1
            assert value is None or second.elements[name] == sign * value


def test_a_brake_may_name_the_housing_first() -> None:
    layout = find("Q36")
    turned = replace(
        layout,
        elements=tuple(replace(e, between=e.between[::-1]) if HOUSING in e.between else e for e in layout.elements),
    )
    assert torques(turned, ["B", "C"]).elements == torques(layout, ["B", "C"]).elements


# --- honest answers -------------------------------------------------------------------------------------------------


def test_three_clutches_that_all_say_direct_leave_their_shares_undetermined() -> None:
    found = torques(find("Q36"), ["A", "D", "E"])
    assert found.state is LoadState.STATICALLY_UNDETERMINED
    assert found.mobility.redundant
    assert found.elements == {"A": None, "D": None, "E": None}
    assert (found.output_torque, found.efficiency) == (-1, 1)
    assert "A, D and E are more than is needed" in found.reason


def test_two_elements_that_hold_one_member_share_by_their_stiffness() -> None:
    found = torques(find("Q24"), ["D", "E", "F"], basic_efficiency=1)
    assert found.state is LoadState.STATICALLY_UNDETERMINED
    assert (found.elements["D"], found.elements["F"], found.elements["E"]) == (None, None, -1)
    # However D and F share it, what comes from outside adds to zero.
    assert found.housing_torque == -(found.input_torque + found.output_torque) == Fraction(43, 25)
    assert found.output_torque == -Fraction(68, 25)


def test_sets_that_lock_each_other_twice_are_undetermined_whatever_is_applied() -> None:
    # Two bevel sets side by side on the same three shafts say the same thing twice.
    twice = Layout(
        "two side gears",
        (PlanetarySet("P1", PinionKind.BEVEL), PlanetarySet("P2", PinionKind.BEVEL)),
        (("input", "P1.sun", "P2.sun"), ("output", "P1.carrier", "P2.carrier"), ("P1.ring", "P2.ring")),
        (Element("B", ElementKind.BRAKE, ("P1.ring", "housing")),),
        (),
        find("Q36").source,
    )
    found = torques(twice, ["B"], basic_efficiency=1)
    assert (found.state, found.mobility.redundant) == (LoadState.STATICALLY_UNDETERMINED, False)
    assert (found.output_torque, found.elements["B"], found.members["P1.sun"]) == (-2, 1, None)
    assert "The joins of the sets are more than is needed" in found.reason


@pytest.mark.parametrize(
    ("engaged", "verdict", "words"),
    [
        (["B"], Verdict.NEUTRAL, "input and output are independent"),
        (["B", "D"], Verdict.INPUT_LOCKED, "the input cannot turn"),
        (["A", "B", "C"], Verdict.TIE_UP, "neither input nor output can turn"),
    ],
)
def test_where_there_is_no_range_the_reason_is_said(engaged: list[str], verdict: Verdict, words: str) -> None:
    found = torques(find("Q36"), engaged)
    assert (found.state, found.mobility.verdict) == (LoadState.NO_RANGE, verdict)
    assert words in found.reason
    assert (found.efficiency, found.power, found.power_in, found.loss) == (None, None, None, None)
    assert found.recirculation is None


def test_a_one_way_clutch_asked_to_hold_in_its_free_direction_freewheels() -> None:
    layout = find("Q24")
    assert torques(layout, ["E", "F"]).state is LoadState.SETTLED
    found = torques(layout, ["E", "F"], -1)
    assert (found.state, found.drive) == (LoadState.FREEWHEEL, Drive.COAST)
    assert "F would have to hold in the free direction" in found.reason
    assert set(found.elements.values()) == {None}
    assert (found.power_in, found.recirculation) == (None, None)


def test_a_member_joined_to_the_housing_for_good_takes_its_share_of_the_reaction() -> None:
    layout = find("six_range_input_set_two_suns")
    for item in layout.ranges:
        found = torques(layout, item.engaged)
        brakes = sum(v for n, v in found.elements.items() if layout.element_named(n).kind is ElementKind.BRAKE)
        assert found.housing_torque == brakes + found.members["P1.sun"]
        assert 1 + found.output_torque + found.housing_torque == 0
    assert any(torques(layout, item.engaged).members["P1.sun"] for item in layout.ranges)


def test_an_element_against_a_shaft_that_is_joined_to_the_housing_counts_on_the_part_that_turns() -> None:
    layout = replace(
        find("bench_set"),
        joins=(("P1.carrier", "output"), ("P1.sun", "input")),
        elements=(Element("X", ElementKind.BRAKE, (HOUSING, "P1.ring")),),
        ranges=(),
    )
    assert torques(layout, ["X"], basic_efficiency=1).elements == {"X": Fraction(78, 36)}


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"input_torque": 0}, "input torque 0; give a torque above 0 for drive"),
        ({"basic_efficiency": Fraction(98)}, "Set P1: basic efficiency 98; it must be above 0 and at most 1"),
        ({"basic_efficiency": {"P7": Fraction(1)}}, "no set 'P7'. It has: P1, P2, P3"),
        ({"basic_efficiency": 0}, "basic efficiency 0; it must be above 0"),
    ],
)
def test_what_cannot_be_used_is_explained(arguments: dict, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        torques(find("Q36"), ["A", "C"], **arguments)


def test_an_unknown_element_is_named() -> None:
    with pytest.raises(UsageError, match=r"no element 'Z'\. It has: A, B, C, D, E"):
        torques(find("Q36"), ["A", "Z"])


def test_asking_twice_gives_the_same_and_touches_nothing() -> None:
    layout = random_layout(12, 4)
    first = [torques(layout, item.engaged) for item in layout.ranges]
    second = [torques(layout, item.engaged) for item in layout.ranges]
    assert first == second
