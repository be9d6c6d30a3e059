"""The judgement on one-way clutches against an independent one that tries every way in which they can hold."""

from __future__ import annotations

import random
from collections import Counter
from itertools import combinations

import pytest

from gearkit.solve.mobility import assess
from gearkit.solve.one_way import one_way_clutches, working
from gearkit.train.layout import Layout
from gearkit.words.terms import OneWayState, Verdict
from tests.support import trial_one_way
from tests.support.amounts import amount
from tests.support.random_layouts import one_way_layout

SHOWN = {(verdict, clutches) for verdict in Verdict if verdict is not Verdict.NEUTRAL for clutches in (0, 1)} - {
    (Verdict.OUTPUT_LOCKED, 1)  # an output that can turn neither way takes two one-way clutches
} | {(Verdict.NEUTRAL, 0), (Verdict.OUTPUT_LOCKED, 2), (Verdict.RANGE, 2), (Verdict.TIE_UP, 2), (Verdict.TIE_UP, 3)}


def disagreements(layout: Layout, seeded: random.Random, seen: Counter[tuple[Verdict, int]]) -> list[str]:
    """Combinations on which the two judgements differ, and those of which the kit's contradicts itself."""
    acting = one_way_clutches(layout)
    names = [element.name for element in layout.elements if element.name not in acting]
    every = [chosen for size in range(len(names) + 1) for chosen in combinations(names, size)]
    found = []
    for applied in seeded.sample(every, min(6, len(every))):
        here, there = working(layout, applied), trial_one_way.judged(layout, applied)
        seen[here.verdict, len(here.holding)] += 1
        ratio = None if here.ratio is None else pytest.approx(float(here.ratio), rel=1e-6)
        if (here.verdict, ratio) != (there.verdict, there.ratio):
            found.append(f"{applied}: {here.verdict} {here.ratio} by {here.holding}, against {there}")
        if here.mobility != assess(layout, here.engaged) or here.others:
            found.append(f"{applied}: {here.engaged} do not give {here.mobility} alone")
        idle = [c.name for c in here.clutches if c.state is OneWayState.HOLDING and not c.torque]
        if here.verdict is Verdict.RANGE and idle:
            found.append(f"{applied}: {idle} hold without torque")
    return found


def test_two_hundred_random_layouts_are_judged_as_trial_judges_them() -> None:
    seen: Counter[tuple[Verdict, int]] = Counter()
    seeded = random.Random("one-way clutches, every day")
    layouts = {number: one_way_layout(f"trial/{number}") for number in range(200)}
    found = [f"{number}: {text}" for number, layout in layouts.items() for text in disagreements(layout, seeded, seen)]
    assert found == []
    assert set(seen) >= SHOWN, "each verdict must have been met, with and without a clutch that brings it about"


@pytest.mark.slow
def test_three_thousand_random_layouts_are_judged_as_trial_judges_them() -> None:
    seeded = random.Random("one-way clutches, at length")
    for number in range(amount(3000, 60)):
        assert disagreements(one_way_layout(f"at length/{number}"), seeded, Counter()) == []
