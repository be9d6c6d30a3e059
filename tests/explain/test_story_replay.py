"""Every step of every story agrees with the solver, and uses only what is known before it."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest

from gearkit.explain.story import tell
from gearkit.explain.whole_story import Story
from gearkit.solve.loads.balance import balance
from gearkit.solve.mobility import assess
from gearkit.train.catalogue import entries
from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT, MEMBERS, OUTPUT, PinionKind, Verdict
from tests.explain.replay import replay, true_speeds
from tests.support.amounts import amount
from tests.support.random_layouts import random_layout

CATALOGUE = [(entry.layout, item.name) for entry in entries() for item in entry.layout.ranges]
IN_SUITE, IN_FULL = 100, amount(1000, 100)


def check_range(story: Story) -> None:
    known = replay(story)
    truth = true_speeds(story.layout, story.engaged, {INPUT: Fraction(1)})
    assert story.ratio is not None
    assert known[OUTPUT] == 1 / story.ratio.exact
    # Whatever is fixed is told in the end.
    assert {name for name, value in truth.items() if value is not None} == known.keys()
    check_loads(story)


def check_loads(story: Story) -> None:
    """Sets called idle carry exactly zero torque, the others do not."""
    layout = story.layout
    statics = balance(layout, story.engaged, Fraction(1), {})
    assert statics is not None
    for pset in layout.sets:
        torques = [statics.members[f"{pset.name}.{member}"] for member in MEMBERS]
        assert (torques == [0, 0, 0]) == (pset.name in story.idle)
        assert (pset.name in story.working) == (pset.name not in story.idle)
        if pset.name in story.idle and pset.pinions is PinionKind.SINGLE:
            # Shown without any torque: other teeth in an idle set leave the ratio as it is.
            other = layout.with_teeth({pset.name: (23, 89)})
            assert assess(other, story.engaged).ratio == assess(layout, story.engaged).ratio


def check_any(layout: Layout, engaged: tuple[str, ...]) -> Verdict:
    story = tell(layout, engaged=engaged)
    match story.mobility.verdict:
        case Verdict.RANGE:
            check_range(story)
        case Verdict.NEUTRAL:
            replay(story)
        case verdict:
            replay(story)
            check_conflict(story, verdict)
    return story.mobility.verdict


def check_conflict(story: Story, verdict: Verdict) -> None:
    assert set(story.conflict) <= set(story.engaged)
    assert assess(story.layout, story.conflict).verdict is verdict
    for name in story.conflict:
        rest = [other for other in story.conflict if other != name]
        assert assess(story.layout, rest).verdict is not verdict, f"{name} could be spared"


@pytest.mark.parametrize(("layout", "range_name"), CATALOGUE, ids=lambda value: value if isinstance(value, str) else value.file)  # fmt: skip
def test_every_range_of_the_catalogue_replays(layout: Layout, range_name: str) -> None:
    story = tell(layout, range_name)
    if story.mobility.verdict is Verdict.RANGE:
        check_range(story)
    else:
        assert story.mobility.verdict is Verdict.NEUTRAL
        replay(story)


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_every_pair_and_three_of_the_own_layouts_replay(name: str) -> None:
    (layout,) = [entry.layout for entry in entries() if entry.name == name]
    names = [element.name for element in layout.elements]
    seen = {check_any(layout, engaged) for size in (0, 1, 2, 3) for engaged in combinations(names, size)}
    assert seen >= {Verdict.RANGE, Verdict.NEUTRAL, Verdict.TIE_UP, Verdict.INPUT_LOCKED}


def check_random(number: int) -> set[Verdict]:
    layout = random_layout(f"story/{number}", one_way=number % 3 == 0)
    names = [element.name for element in layout.elements]
    wanted = [tuple(item.engaged) for item in layout.ranges]
    wanted += [engaged for size in (0, 1, 2, 3) for engaged in list(combinations(names, size))[-1:]]
    return {check_any(layout, engaged) for engaged in wanted}


def test_the_ranges_of_a_hundred_random_layouts_replay() -> None:
    seen: set[Verdict] = set()
    for number in range(IN_SUITE):
        seen |= check_random(number)
    assert seen == set(Verdict), "every state is told"


@pytest.mark.slow
def test_the_ranges_of_a_thousand_random_layouts_replay() -> None:
    for number in range(IN_SUITE, IN_SUITE + IN_FULL):
        check_random(number)
