"""Losses: textbook cases by hand, efficiency from the table of the ratio, and when the answer is not one number."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.loads.losses import DEFAULT_BASIC_EFFICIENCY, SAFE_MARGIN, basic_efficiencies
from gearkit.solve.loads.torques import Torques, torques
from gearkit.solve.ratios import ratio
from gearkit.train.catalogue import find
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import ElementKind, LoadState, PinionKind
from tests.support import dense
from tests.support.random_layouts import layouts, random_layout

ETA = Fraction(98, 100)
S, R = 30, 90
I0 = Fraction(-R, S)
# Efficiency of one set by which member drives and which is driven, the third being held; textbook forms, from memory.
ONE_SET = [
    ("sun", "carrier", (I0 * ETA - 1) / (I0 - 1)),
    ("carrier", "sun", (I0 - 1) / (I0 / ETA - 1)),
    ("ring", "carrier", (1 - ETA / I0) / (1 - 1 / I0)),
    ("carrier", "ring", (1 - 1 / I0) / (1 - 1 / (I0 * ETA))),
    ("sun", "ring", ETA),
    ("ring", "sun", ETA),
]
efficiency_numbers = st.fractions(Fraction(1, 2), Fraction(999, 1000), max_denominator=1000)


def one_set(driving: str, driven: str) -> Layout:
    (held,) = {"sun", "carrier", "ring"} - {driving, driven}
    return Layout(
        "one set",
        (PlanetarySet("P1", sun_teeth=S, ring_teeth=R),),
        (("input", f"P1.{driving}"), ("output", f"P1.{driven}")),
        (Element("B", ElementKind.BRAKE, (f"P1.{held}", "housing")),),
        (),
        find("Q36").source,
    )


def wide_differential() -> Layout:
    """Carrier in, ring 1 held, ring 2 out, suns joined: a very large ratio from a small difference of tooth counts."""
    return Layout(
        "two rings",
        (PlanetarySet("P1", sun_teeth=30, ring_teeth=90), PlanetarySet("P2", sun_teeth=31, ring_teeth=92)),
        (("input", "P1.carrier", "P2.carrier"), ("P1.sun", "P2.sun"), ("P2.ring", "output")),
        (Element("B", ElementKind.BRAKE, ("P1.ring", "housing")),),
        (),
        find("Q36").source,
    )


@pytest.mark.parametrize(("driving", "driven", "expected"), ONE_SET)
def test_one_set_has_the_textbook_efficiency(driving: str, driven: str, expected: Fraction) -> None:
    assert torques(one_set(driving, driven), ["B"], basic_efficiency=ETA).efficiency == expected


@pytest.mark.parametrize(("driving", "driven", "expected"), ONE_SET)
def test_in_coast_a_set_has_the_efficiency_of_the_opposite_drive(driving: str, driven: str, expected: Fraction) -> None:
    found = torques(one_set(driven, driving), ["B"], -1, ETA)
    assert found.efficiency == expected


def test_only_the_share_of_power_that_rolls_is_charged() -> None:
    S, R = 36, 78
    found = torques(find("bench_set"), ["A", "D"], basic_efficiency=ETA)
    assert found.power.rolling["P1"] == Fraction(R, S + R)
    assert found.efficiency == (S + ETA * R) / (S + R)
    assert found.loss == (1 - ETA) * Fraction(R, S + R)


def test_a_set_that_turns_as_a_block_loses_nothing() -> None:
    found = torques(find("Q36"), ["D", "E"], basic_efficiency=Fraction(1, 2))
    assert (found.efficiency, found.loss) == (1, 0)
    assert set(found.power.rolling.values()) == {Fraction(0)}


def from_the_table(found: Torques) -> Fraction:
    """Efficiency as ratio with the ring weights that the losses make, over the ratio: no torque is used."""
    known = ratio(found.layout, found.engaged)
    weights = {}
    for pset in found.layout.sets:
        power = found.power.rolling[pset.name] or 0
        factor = found.basic_efficiency[pset.name] ** ((power > 0) - (power < 0))
        weights[pset.name] = (Fraction(pset.weights[0]), pset.weights[1] * factor)
    top, bottom = known.at(weights)
    loaded = top / bottom / known.exact
    return loaded if found.input_torque > 0 else 1 / loaded


@given(layouts(), efficiency_numbers, st.sampled_from([1, -1]))
@settings(max_examples=60, deadline=None)
def test_the_table_of_the_ratio_gives_the_efficiency_too(layout: Layout, efficiency: Fraction, torque: int) -> None:
    for item in layout.ranges:
        found = torques(layout, item.engaged, torque, efficiency)
        if found.state is LoadState.SETTLED and found.mobility.generic_verdict == found.mobility.verdict:
            assert found.efficiency == from_the_table(found)


@given(layouts(), efficiency_numbers, st.sampled_from([1, -1]))
@settings(max_examples=60, deadline=None)
def test_power_in_is_power_out_and_losses_and_no_mesh_makes_power(layout: Layout, efficiency: Fraction, torque: int) -> None:
    for item in layout.ranges:
        found = torques(layout, item.engaged, torque, efficiency)
        if found.state is not LoadState.SETTLED:
            continue
        losses = found.power.losses
        output_power = found.output_torque * found.speeds.shafts["output"]
        assert torque + output_power == sum(losses.values())
        assert 0 < found.efficiency <= 1
        assert found.loss == sum(losses.values()) / found.power_in
        for name, loss in losses.items():
            # Power that enters the mesh is charged with 1 - eta, wherever it comes from.
            power = found.power.rolling[name]
            entering = power if power > 0 else -power / efficiency
            assert loss == entering * (1 - efficiency)


@given(layouts())
@settings(max_examples=60, deadline=None)
def test_without_losses_power_rolls_as_the_ratio_leans_on_the_tooth_counts(layout: Layout) -> None:
    # Rolling power / input power is d ln(ratio) / d ln(R/S) of that set; both sides exact.
    for item in layout.ranges:
        found = torques(layout, item.engaged, basic_efficiency=1)
        known = ratio(layout, item.engaged)
        if found.state is not LoadState.SETTLED or known is None:
            continue
        for pset in layout.sets:
            assert (found.power.rolling[pset.name] or 0) == lean(layout, item.engaged, pset.name)


def lean(layout: Layout, engaged: tuple[str, ...], name: str) -> Fraction:
    known = ratio(layout, engaged)
    if name not in known.sets:
        return Fraction(0)
    weights = {pset.name: (Fraction(pset.weights[0]), Fraction(pset.weights[1])) for pset in layout.sets}
    sun, ring = weights[name]
    top, bottom = known.at(weights)
    # Tables are linear in each ring weight, so one more ring weight is one slope more.
    more_top, more_bottom = known.at({**weights, name: (sun, 2 * ring)})
    return (more_top - top) / top - (more_bottom - bottom) / bottom


@given(layouts(), efficiency_numbers)
@settings(max_examples=40, deadline=None)
def test_more_loss_never_makes_a_range_more_efficient(layout: Layout, efficiency: Fraction) -> None:
    for item in layout.ranges:
        worse, better = (torques(layout, item.engaged, 1, e) for e in (efficiency, (1 + efficiency) / 2))
        if worse.state is better.state is LoadState.SETTLED:
            assert worse.efficiency <= better.efficiency


# --- defaults ---------------------------------------------------------------------------------------------------------


def test_a_set_uses_what_is_given_else_its_own_else_the_default() -> None:
    layout = find("Q24")
    own = replace(layout, sets=(replace(layout.sets[0], basic_efficiency=Fraction(96, 100)), layout.sets[1]), text="")
    assert basic_efficiencies(own) == {"P1": Fraction(96, 100), "P2": DEFAULT_BASIC_EFFICIENCY}
    assert basic_efficiencies(own, {"P2": Fraction(9, 10)}) == {"P1": Fraction(96, 100), "P2": Fraction(9, 10)}
    assert basic_efficiencies(own, Fraction(97, 100)) == {"P1": Fraction(97, 100), "P2": Fraction(97, 100)}
    assert torques(own, ["E", "D"]).basic_efficiency == basic_efficiencies(own)


def test_what_balance_fixes_of_an_undetermined_range_is_told_with_its_losses() -> None:
    # D and F hold the same carrier: how they share is open, but all torque goes through set 2, and that is fixed.
    S2, R2 = 50, 86
    found = torques(find("Q24"), ["D", "E", "F"], basic_efficiency=ETA)
    assert found.state is LoadState.STATICALLY_UNDETERMINED
    assert found.output_torque == -(1 + ETA * Fraction(R2, S2))
    assert found.efficiency == (S2 + ETA * R2) / (S2 + R2)
    assert (found.elements["D"], found.elements["F"]) == (None, None)


def test_where_the_losses_depend_on_an_open_share_nothing_is_told() -> None:
    twice = Layout(
        "two side gears",
        (PlanetarySet("P1", PinionKind.BEVEL), PlanetarySet("P2", PinionKind.BEVEL)),
        (("input", "P1.sun", "P2.sun"), ("output", "P1.carrier", "P2.carrier"), ("P1.ring", "P2.ring")),
        (Element("B", ElementKind.BRAKE, ("P1.ring", "housing")),),
        (),
        find("Q36").source,
    )
    found = torques(twice, ["B"], basic_efficiency=ETA)
    assert found.state is LoadState.STATICALLY_UNDETERMINED
    assert (found.output_torque, found.efficiency, found.recirculation) == (None, None, None)
    assert set(found.members.values()) == {None}
    assert found.power.largest is None
    assert torques(twice, ["B"], basic_efficiency=1).efficiency == 1


# --- when losses decide ------------------------------------------------------------------------------------------------


def test_a_very_large_ratio_drives_with_a_poor_efficiency_and_locks_itself_in_coast() -> None:
    # The sun torque t has T_ring2 = 92/31*t*eta**w and T_ring1 = -3*t*eta**-w with the same w, because the two sets
    # roll opposite ways. Driving from the carrier needs w = +1; coasting would need -(92/31/eta - 3*eta)*t < 0 with
    # t < 0, which no torque can meet.
    layout = wide_differential()
    assert abs(ratio(layout, ["B"]).exact) > 90
    drive, coast = torques(layout, ["B"], 1, ETA), torques(layout, ["B"], -1, ETA)
    reaction = Fraction(92, 31) * ETA - 3 / ETA
    assert drive.efficiency == Fraction(92, 31) * ETA / -reaction / -ratio(layout, ["B"]).exact
    assert drive.margin >= SAFE_MARGIN
    assert (coast.state, coast.efficiency) == (LoadState.SELF_LOCKING, None)
    assert "no power gets through" in coast.reason
    assert Fraction(92, 31) / ETA - 3 * ETA > 0


def test_the_same_train_without_losses_can_be_driven_from_both_ends() -> None:
    layout = wide_differential()
    for torque in (1, -1):
        assert torques(layout, ["B"], torque, 1).efficiency == 1


def test_two_balances_that_both_stand_are_called_not_unique() -> None:
    layout = Layout(
        "large internal power",
        (PlanetarySet("P1", PinionKind.DOUBLE, 46, 98), PlanetarySet("P2", sun_teeth=21, ring_teeth=41)),
        (("output", "P1.sun", "P2.ring"), ("input", "P2.carrier"), ("P2.sun", "P1.carrier")),
        (Element("B", ElementKind.BRAKE, ("P1.ring", "housing")),),
        (),
        find("Q36").source,
    )
    efficiencies = {"P1": Fraction(42, 100), "P2": Fraction(61, 100)}
    found = torques(layout, ["B"], -1, efficiencies)
    assert found.state is LoadState.NOT_UNIQUE
    assert "more than one way for power to roll" in found.reason
    assert found.efficiency is None
    assert len(dense.balances(layout, ["B"], -1, {name: float(value) for name, value in efficiencies.items()})) == 2


def test_a_set_whose_speed_nothing_fixes_but_which_carries_torque_has_no_certain_loss() -> None:
    # Two sets of equal proportion between the same ring and carrier: input and output turn alike, however those two run.
    layout = Layout(
        "two alike",
        (PlanetarySet("P1", sun_teeth=30, ring_teeth=70), PlanetarySet("P2", sun_teeth=36, ring_teeth=84)),
        (("input", "P1.sun"), ("output", "P2.sun"), ("P1.ring", "P2.ring"), ("P1.carrier", "P2.carrier")),
        (Element("B", ElementKind.BRAKE, ("P1.carrier", "housing")),),
        (),
        find("Q36").source,
    )
    assert ratio(layout, []).exact == 1
    assert torques(layout, []).state is LoadState.NOT_UNIQUE
    assert torques(layout, ["B"]).efficiency == ETA**2


@pytest.mark.parametrize("band", [(97, 99), (90, 97), (60, 90)])
def test_below_the_safe_margin_no_other_signs_stand(band: tuple[int, int]) -> None:
    checked = 0
    for seed in range(25):
        layout = random_layout(f"margin {seed}", 2 + seed % 3)
        efficiency = Fraction(band[0] + seed % (band[1] - band[0]), 100)
        for item in layout.ranges:
            for torque in (1, -1):
                found = torques(layout, item.engaged, torque, efficiency)
                if found.margin is None or found.margin >= SAFE_MARGIN or found.state is not LoadState.SETTLED:
                    continue
                standing = dense.balances(
                    layout, item.engaged, torque, dict.fromkeys(found.basic_efficiency, float(efficiency))
                )
                assert len(standing) == 1
                assert standing[0].output == pytest.approx(float(found.output_torque), rel=1e-7)
                checked += 1
    assert checked > 100


@pytest.mark.parametrize("seed", range(6))
def test_an_independent_solver_finds_the_same_torques_and_states(seed: int) -> None:
    for number in range(8):
        layout = random_layout(f"dense {seed} {number}")
        for item in layout.ranges:
            for torque in (1, -1):
                compare(torques(layout, item.engaged, torque, Fraction(9, 10)))


def compare(found: Torques) -> None:
    if found.state is LoadState.NO_RANGE or found.mobility.redundant or found.mobility.idle_freedom:
        return
    efficiencies = {name: float(value) for name, value in found.basic_efficiency.items()}
    standing = dense.balances(found.layout, found.engaged, float(found.input_torque), efficiencies)
    match found.state:
        case LoadState.SETTLED:
            assert len(standing) == 1
            assert standing[0].output == pytest.approx(float(found.output_torque), rel=1e-7)
            for member, value in found.members.items():
                assert standing[0].members[member] == pytest.approx(float(value), rel=1e-6, abs=1e-7)
        case LoadState.SELF_LOCKING:
            assert standing == []
        case LoadState.NOT_UNIQUE:
            assert len(standing) > 1
        case other:
            pytest.fail(f"nothing compares the state {other}")
