"""What a one-way clutch holds is one judgement: items, stories, reasons, lesson and chart of a layout say the same of it."""

from __future__ import annotations

import re
from functools import cache

import pytest

from gearkit.answers.draw_numbers import variants
from gearkit.answers.families import known
from gearkit.answers.judge import marking
from gearkit.answers.layouts import words
from gearkit.answers.layouts.own_teeth import AS_GIVEN
from gearkit.answers.layouts.train import Train, train_of
from gearkit.answers.offers import offered
from gearkit.answers.reasoning.layout_rows import rows_of
from gearkit.draw.charts.chart import describe
from gearkit.explain.story import tell
from gearkit.solve import ratios
from gearkit.solve.one_way import in_range
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import OneWayState, Verdict
from graders.unit.facts import Facts
from graders.unit.lesson.first_range import applied_words
from tests.support.amounts import amount
from tests.support.sane_layouts import has, sane
from tests.unit.test_said_of_the_layout import IDLE_SET

# The layouts are gone through in so many parts, each of which tells where it failed.
PARTS = amount(30, 6)
_HOLDING = re.compile(r"range (\S+?) \((?:([^()]*?) applied)?(?:, )?(?:([^()]*?) holding)?\)")


@cache
def with_one_way_clutches() -> list[Layout]:
    """Layouts in which a one-way clutch is listed: idle in a range, holding in another, or neither.

    They are drawn where a test needs them: every process that collects tests would draw them otherwise.
    """
    drawn = [one for one in sane(amount(300, 20), "what holds") if has(one, "one-way clutch")]
    lists_idle = [one for one in sane(amount(600, 24), "idle") if listed_but_idle(one)]
    return [IDLE_SET, catalogue.find("Q24"), *drawn, *lists_idle]


def listed_but_idle(layout: Layout) -> bool:
    """Whether a range lists a one-way clutch that has nothing to hold in it."""
    states = [in_range(layout, one.name) for one in layout.ranges]
    return any(state.verdict is Verdict.RANGE and set(state.listed) - set(state.holding) for state in states)


def test_some_of_the_layouts_list_a_clutch_that_has_nothing_to_hold() -> None:
    assert sum(map(listed_but_idle, with_one_way_clutches())) >= 2


@pytest.mark.parametrize("part", range(PARTS))
def test_items_story_reasons_lesson_and_chart_agree_on_what_holds(part: int) -> None:
    for layout in with_one_way_clutches()[part::PARTS]:
        _all_agree(layout)


def _all_agree(layout: Layout) -> None:
    train, reasons = Train(layout), {row.name: row for row in rows_of(layout)}
    said = describe(layout, ratios.chart(layout))
    try:
        facts = {fact.name: fact for fact in Facts(layout, "layout.toml").drives}
    except UsageError:
        facts = {}
    for row in train.drives:
        state = in_range(layout, row.name)
        assert row.engaged == state.engaged, (layout.name, row.name)
        assert set(reasons[row.name].engaged) == set(state.engaged), (layout.name, row.name)
        assert set(tell(layout, row.name).engaged) == set(state.engaged), (layout.name, row.name)
        told = words.range_words(layout, row)
        for clutch in state.clutches:
            holds = clutch.name in state.holding
            assert (clutch.state is OneWayState.HOLDING) is holds
            assert bool(re.search(rf"\b{clutch.name}\b[^,(]* holding", told)) is holds, told
            chart = re.search(rf"Range {re.escape(row.name)}: (.*?) applied", said)
            assert chart is not None
            assert bool(re.search(rf"\b{clutch.name}\b", chart[1])) is holds, said
            if row.name in facts and clutch.name in facts[row.name].engaged:
                joins = applied_words(Facts(layout, "layout.toml"), facts[row.name])
                loose = re.search(r"([^.]*) stands? in the chart too", joins)
                assert bool(loose and re.search(rf"\b{clutch.name}\b", loose[1])) is not holds, joins


@pytest.mark.parametrize("part", range(PARTS))
def test_no_question_says_that_a_clutch_holds_which_does_not(part: int) -> None:
    for layout in with_one_way_clutches()[part::PARTS]:
        _no_question_is_wrong(layout)


def _no_question_is_wrong(layout: Layout) -> None:
    holding = {one.name: set(in_range(layout, one.name).holding) for one in layout.ranges}
    text = catalogue.dumps(layout)
    train = train_of(text, tuple(AS_GIVEN for _ in layout.sets))
    for offer in known(layout):
        for name, _, clutches in _HOLDING.findall(offer.item.prompt):
            if name in holding and clutches:
                assert set(re.findall(r"\w+", clutches)) - {"and"} == holding[name], (offer.id, offer.item.prompt)
        if offer.family == "free-direction":
            clutch, name = re.findall(r"\S+", offer.id.rpartition("DIRECTION-")[2].replace("-", " ", 1))
            assert clutch in {one for one in train.one_ways if one in holding[name]}, offer.id


def test_a_set_whose_one_way_clutch_has_nothing_to_hold_only_runs_along() -> None:
    item = next(offer.item for offer in offered(IDLE_SET) if offer.id == "X07-SETS-1")
    assert marking.right_answer(variants.practice(item))["set_2"] == "only runs along"
