"""The exact solver against a plain one in floating point, over random layouts of 1 to 5 sets: no disagreement at all."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations, islice

import pytest

from gearkit.solve.loads.torques import torques
from gearkit.solve.mobility import assess
from gearkit.solve.ratios import combinations as all_combinations
from gearkit.solve.speeds import speeds
from gearkit.train.layout import Layout
from gearkit.words.terms import LoadState, Verdict
from tests.support import dense
from tests.support.amounts import amount
from tests.support.random_layouts import random_layouts

RELATIVE = 1e-6
EFFICIENCY = Fraction(95, 100)
MOST_COMBINATIONS = 32


def disagreements(layout: Layout, seen: Counter[str]) -> list[str]:
    """Every way in which the two solvers differ over the combinations of a layout."""
    found = []
    for engaged, mobility in islice(all_combinations(layout), MOST_COMBINATIONS):
        other = dense.state(layout, engaged)
        seen[mobility.verdict] += 1
        if (mobility.verdict, mobility.freedom) != (other.verdict, other.freedom):
            found.append(f"{engaged}: {mobility.verdict} and {mobility.freedom} free, against {other}")
        elif mobility.ratio is not None and not near(float(mobility.ratio), other.ratio or 0.0):
            found.append(f"{engaged}: ratio {float(mobility.ratio)}, against {other.ratio}")
    for item in layout.ranges:
        if assess(layout, item.engaged).verdict is Verdict.RANGE:
            found += [f"{item.engaged}: {text}" for text in speed_disagreements(layout, item.engaged)]
            found += [f"{item.engaged}: {text}" for text in torque_disagreements(layout, item.engaged, seen)]
    return found


def speed_disagreements(layout: Layout, engaged: tuple[str, ...]) -> list[str]:
    exact, other = speeds(layout, engaged), dense.speeds(layout, engaged)
    return [
        f"speed of {name}: {float(value)}, against {other[name]}"
        for name, value in exact.members.items()
        if value is not None and not near(float(value), other[name])
    ]


def torque_disagreements(layout: Layout, engaged: tuple[str, ...], seen: Counter[str]) -> list[str]:
    exact = torques(layout, engaged, 1, EFFICIENCY)
    seen[exact.state] += 1
    undetermined = dense.undetermined(layout, engaged)
    if undetermined or exact.state is LoadState.STATICALLY_UNDETERMINED:
        agree = undetermined and exact.state is LoadState.STATICALLY_UNDETERMINED
        return [] if agree else [f"{exact.state}, against undetermined {undetermined}"]
    standing = dense.balances(layout, engaged, 1.0, dict.fromkeys(exact.basic_efficiency, float(EFFICIENCY)))
    if exact.state is LoadState.SETTLED:
        if len(standing) != 1 or not near(float(exact.output_torque or 0), standing[0].output):
            return [f"output torque {exact.output_torque}, against {[item.output for item in standing]}"]
        return [
            f"torque on {name}: {float(value or 0)}, against {standing[0].members[name]}"
            for name, value in exact.members.items()
            if not near(float(value or 0), standing[0].members[name])
        ]
    wanted = {LoadState.SELF_LOCKING: standing == [], LoadState.NOT_UNIQUE: len(standing) != 1}
    return [] if wanted.get(exact.state) else [f"{exact.state}, against {len(standing)} balances"]


def near(value: float, other: float) -> bool:
    return abs(value - other) <= RELATIVE * max(1.0, abs(value))


def test_two_hundred_random_layouts_agree_in_state_ratio_speed_and_torque() -> None:
    seen: Counter[str] = Counter()
    found = [text for layout in random_layouts(200, "every day") for text in disagreements(layout, seen)]
    assert found == []
    assert set(Verdict) <= set(seen), "every verdict must have been met"
    assert seen[LoadState.SETTLED] > 300


def test_one_way_clutches_count_as_ordinary_elements_in_the_verdict() -> None:
    for layout in random_layouts(30, "one way", one_way=True):
        names = [element.name for element in layout.elements]
        for engaged in combinations(names, 2):
            assert assess(layout, engaged).verdict == dense.state(layout, engaged).verdict


@pytest.mark.slow
@pytest.mark.parametrize("part", range(5))
def test_five_thousand_random_layouts_agree_in_state_ratio_speed_and_torque(part: int) -> None:
    seen: Counter[str] = Counter()
    found = [text for layout in random_layouts(amount(1000, 60), f"part {part}") for text in disagreements(layout, seen)]
    assert found == []
    assert set(Verdict) <= set(seen)
