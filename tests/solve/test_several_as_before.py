"""With one input and one output the solver for any number of terminals says what the one for two always said."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import chain, combinations

import pytest

from gearkit.solve.loads.torques import torques
from gearkit.solve.mobility import assess
from gearkit.solve.ratios import ratio
from gearkit.solve.several.motions import motions
from gearkit.solve.several.ranges import formulas
from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.torques_given import torques_given
from gearkit.solve.speeds import speeds
from gearkit.train.catalogue import entries
from gearkit.train.layout import Layout
from gearkit.words.terms import LoadState, Verdict
from tests.support.amounts import amount
from tests.support.random_layouts import random_layouts

LAYOUTS = [*(entry.layout for entry in entries()), *random_layouts(amount(300, 12), "several as before")]


def some_combinations(layout: Layout, count: int) -> list[tuple[str, ...]]:
    names = [element.name for element in layout.elements]
    every = list(chain.from_iterable(combinations(names, size) for size in range(len(names) + 1)))
    seeded = random.Random(layout.name)
    return [*(item.engaged for item in layout.ranges), *seeded.sample(every, min(count, len(every)))]


def test_verdict_freedom_ratio_and_formula_are_the_same() -> None:
    met = set()
    for layout in LAYOUTS:
        for engaged in some_combinations(layout, 6):
            old, new = assess(layout, engaged), motions(layout, engaged)
            met.add(old.verdict)
            assert (str(old.verdict), old.freedom, old.idle_freedom, old.redundant, old.ratio, str(old.generic_verdict)) == (
                str(new.verdict), new.freedom, new.idle_freedom, new.redundant, new.ratio, str(new.generic_verdict),
            )  # fmt: skip
            written = ratio(layout, engaged)
            if written is not None and written.sets:
                assert formulas(new, ("output",))["input"].factors["output"] == written.quotient
    assert met == set(Verdict)


def test_speeds_are_the_same() -> None:
    for layout in LAYOUTS:
        for engaged in some_combinations(layout, 2):
            if assess(layout, engaged).verdict in (Verdict.RANGE, Verdict.NEUTRAL, Verdict.OUTPUT_LOCKED):
                old, new = speeds(layout, engaged, 1200), speeds_given(layout, engaged, {"input": 1200})
                assert old.members == new.members
                assert old.slip == new.slip
                assert old.planets == new.planets
                assert old.shafts["output"] == new.of["output"]


@pytest.mark.parametrize("torque", [Fraction(1), Fraction(-1)])
def test_torques_losses_and_efficiency_are_the_same(torque: Fraction) -> None:
    compared = 0
    seeded = random.Random(f"as before {torque}")
    for layout in LAYOUTS:
        for engaged in some_combinations(layout, 2):
            if assess(layout, engaged).verdict is not Verdict.RANGE:
                continue
            efficiencies = {pset.name: Fraction(seeded.randint(60, 100), 100) for pset in layout.sets}
            old = torques(layout, engaged, torque, efficiencies)
            new = torques_given(layout, engaged, {"input": torque}, basic_efficiency=efficiencies)
            if old.state is LoadState.FREEWHEEL:
                continue  # a one-way clutch that lets go: which one is a question of its own
            assert old.state is new.state
            if old.state is LoadState.SETTLED:
                compared += 1
                assert old.members == new.members
                assert old.elements == new.elements
                assert old.output_torque == new.terminals["output"]
                assert old.housing_torque == new.housing
                assert old.efficiency == new.efficiency
    assert compared > 20
