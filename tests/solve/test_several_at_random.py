"""Any train with several drivers or outputs: the exact solver against an independent one in floating point, and its laws."""

from __future__ import annotations

import random
from collections import Counter
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.ratios import symbol_suffixes
from gearkit.solve.several.motions import motions
from gearkit.solve.several.ranges import formulas
from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.torques_given import torques_given
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import LoadState, TrainVerdict
from tests.support.amounts import SHORT, amount
from tests.support.dense_drivers import DenseTrain
from tests.support.random_drivers import random_train, some_number

TRAINS = amount(3000, 120)


def near(exact: Fraction | None, dense: float) -> bool:
    return exact is not None and abs(float(exact) - dense) <= 1e-6 * (1 + abs(dense))


def check(number: int) -> TrainVerdict:
    """One random train: ranks, verdicts, speeds, conflicts, what is missing, torques and power."""
    seeded = random.Random(f"several drivers {number}")
    layout, engaged = random_train(seeded)
    found, dense = motions(layout, engaged), DenseTrain(layout, engaged)
    names = list(found.terminals.names)
    assert found.freedom == dense.motions.shape[1]
    assert found.speeds_to_give == dense.rank(names)
    assert found.torques_to_give == len(names) - dense.rank(names)
    assert {name: word.value for name, word in found.outputs.items()} == {
        name: dense.verdict_on(name, layout) for name in layout.output_names
    }
    for relation in found.relations:
        assert dense.rank(list(relation)) == len(relation) - 1
    basis = seeded.choice(found.choices)
    values = {name: some_number(seeded) for name in basis}
    speeds = speeds_given(layout, engaged, values)
    assert speeds.enough
    expected = dense.speeds({name: float(value) for name, value in values.items()})
    for name in (*names, *layout.members):
        if speeds.of[name] is not None:
            assert near(speeds.of[name], expected[name]), (number, name)
    terminal_speeds = {name: value for name in names if (value := speeds.of[name]) is not None}
    assert len(terminal_speeds) == len(names)
    rest = [name for name in names if name not in basis]
    if rest:
        extra = seeded.choice(rest)
        wrong = speeds_given(layout, engaged, {**values, extra: terminal_speeds[extra] + 1})
        assert set(wrong.conflict) == {extra, *speeds.fixed_by[extra]}
        assert speeds_given(layout, engaged, {**values, extra: terminal_speeds[extra]}).enough
    if basis:
        fewer = dict(list(values.items())[1:])
        lacking = speeds_given(layout, engaged, fewer)
        assert lacking.missing == 1
        assert basis[:1] in lacking.would_do
    for name, formula in formulas(found, basis).items():
        teeth = {symbol: count for pset in layout.sets for symbol, count in symbols_of(layout, pset.name).items()}
        assert {one: factor.at(teeth) for one, factor in formula.factors.items() if factor.numerator} == speeds.fixed_by[name]
    check_torques(number, layout, engaged, rest, dense, terminal_speeds, values)
    return found.verdict


def symbols_of(layout: Layout, name: str) -> dict[str, int]:
    pset, suffix = layout.set_named(name), symbol_suffixes(layout)[name]
    sun, ring = pset.teeth
    return {
        f"S{suffix}": sun, f"R{suffix}": ring, f"P{suffix}": pset.sun_pinion_teeth or 1, f"Q{suffix}": pset.ring_pinion_teeth or 1,
    }  # fmt: skip


def check_torques(
    number: int, layout: Layout, engaged: tuple[str, ...], rest: list[str], dense: DenseTrain,
    speeds: dict[str, Fraction], values: dict[str, Fraction],
) -> None:  # fmt: skip
    seeded = random.Random(f"torques {number}")
    given_torques = {name: some_number(seeded, 300) for name in rest}
    found = torques_given(layout, engaged, given_torques, values, basic_efficiency=1)
    assert not found.missing
    assert not found.conflict
    expected = dense.torques({name: float(value) for name, value in given_torques.items()})
    for name, torque in found.terminals.items():
        if found.state is LoadState.SETTLED:
            assert near(torque, expected[name]), (number, name)
    if found.state is LoadState.SETTLED:
        # Exactly: no power is lost or made, and torques from outside add to zero with the housing's.
        assert sum(torque * speeds[name] for name, torque in found.terminals.items() if torque) == 0
        assert found.housing is not None
        assert sum(torque for torque in found.terminals.values() if torque) + found.housing == 0
        for pset in layout.sets:
            assert sum(found.members[f"{pset.name}.{member}"] or 0 for member in ("sun", "carrier", "ring")) == 0
    if rest:
        fewer = dict(list(given_torques.items())[1:])
        lacking = torques_given(layout, engaged, fewer, values, basic_efficiency=1)
        assert lacking.missing == 1
        assert tuple(rest[:1]) in lacking.would_do


def test_random_trains_agree_with_the_independent_solver() -> None:
    met = Counter(check(number) for number in range(TRAINS))
    # Two drivers with two outputs in one group are rare: the first of them is the 297th train.
    assert set(met) | ({TrainVerdict.BOTH} if SHORT else set()) == set(TrainVerdict), met


@given(st.integers(0, 10**6))
@settings(max_examples=amount(300, 40), deadline=None)
def test_losses_take_power_and_never_make_it(seed: int) -> None:
    seeded = random.Random(f"losses {seed}")
    layout, engaged = random_train(seeded)
    found = motions(layout, engaged)
    basis = seeded.choice(found.choices)
    torques = {name: some_number(seeded, 300) for name in found.terminals.names if name not in basis}
    speeds = {name: some_number(seeded) for name in basis}
    lossy = torques_given(layout, engaged, torques, speeds, Fraction(seeded.randint(80, 99), 100))
    if lossy.state is LoadState.SETTLED:
        lost = sum(lossy.power.values())
        assert lost >= 0
        assert lossy.efficiency is None or 0 <= lossy.efficiency <= 1
        # What goes in and does not come out is what the meshes lose: each set's member powers add to its loss.
        assert lossy.speeds is not None
        inside = sum(
            (torque or Fraction(0)) * (lossy.speeds.of[member] or Fraction(0)) for member, torque in lossy.members.items()
        )
        assert lost == inside


@given(st.integers(0, 10**6))
@settings(max_examples=amount(200, 30), deadline=None)
def test_speeds_add_and_scale_like_the_given_ones(seed: int) -> None:
    seeded = random.Random(f"linear {seed}")
    layout, engaged = random_train(seeded)
    basis = seeded.choice(motions(layout, engaged).choices)
    first, second = ({name: some_number(seeded) for name in basis} for _ in range(2))
    factor = some_number(seeded, 9)
    both = speeds_given(layout, engaged, {name: first[name] + factor * second[name] for name in basis}).of
    one, other = speeds_given(layout, engaged, first).of, speeds_given(layout, engaged, second).of
    for name, value in both.items():
        if value is not None:
            assert value == (one[name] or 0) + factor * (other[name] or 0)


def test_more_torques_than_fix_all_are_refused_with_losses() -> None:
    with pytest.raises(UsageError, match="2 torques are given where 1 fix all"):
        torques_given(find("planetary_transfer"), [], {"input": 100, "front": -34}, {"input": 10, "front": 8})
