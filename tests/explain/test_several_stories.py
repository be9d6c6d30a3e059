"""Stories of trains with several drivers or outputs: every formula, of speeds and of torques, agrees with the solver."""

from __future__ import annotations

import random

import pytest

from gearkit.explain.story import tell
from gearkit.solve.several.motions import motions
from gearkit.train.catalogue import entries
from gearkit.train.layout import Layout
from gearkit.words.terms import TrainVerdict
from tests.explain.replay import replay
from tests.support.amounts import amount
from tests.support.random_drivers import random_train

SEVERAL = [
    (entry.layout, item.name) for entry in entries(several=True) if not entry.layout.plain for item in entry.layout.ranges
]


@pytest.mark.parametrize(("layout", "range_name"), SEVERAL, ids=lambda value: value if isinstance(value, str) else value.file)
def test_every_range_of_such_a_layout_replays_and_can_be_written(layout: Layout, range_name: str) -> None:
    story = tell(layout, range_name)
    replay(story)
    for text in (story.text(), story.markdown(), story.html()):
        assert len(text) > 200


def test_random_trains_replay() -> None:
    met = set()
    for number in range(amount(600, 60)):
        layout, engaged = random_train(random.Random(f"several stories {number}"))
        story = tell(layout, engaged=engaged)
        replay(story)
        met.add(TrainVerdict(story.mobility.verdict))
    assert met >= {
        TrainVerdict.RANGE,
        TrainVerdict.POWER_SPLIT,
        TrainVerdict.SPLITS_TORQUE,
        TrainVerdict.NEUTRAL,
        TrainVerdict.TIE_UP,
    }


def test_the_power_split_is_told_by_one_driver_at_a_time() -> None:
    (layout,) = [entry.layout for entry in entries(several=True) if entry.name == "power_split_one_set"]
    text = tell(layout, "D").text()
    assert "Let the input make one turn while M1 stands still." in text
    assert "Let M1 make one turn while the input stands still." in text
    assert "forward at the M1 speed" in text
    assert "n(output) = (1 + S1/R1)·n(input) − (S1/R1)·n(sun 1)" in text
    assert "T(M1) = −(S1/(S1 + R1))·T(input)" in text
    assert "a power split." in text


def test_a_story_says_why_a_locked_differential_fixes_no_shares() -> None:
    (layout,) = [entry.layout for entry in entries(several=True) if entry.name == "bevel_differential"]
    assert "it splits torque" in tell(layout, "open").text()
    assert "grip or control decides" in tell(layout, "locked").text()


def test_each_terminal_that_moves_is_told_once_for_each_driver() -> None:
    for layout, range_name in SEVERAL:
        story, found = tell(layout, range_name), motions(layout, layout.engaged_in(range_name))
        assert sum(bool(step.assumes) for step in story.steps) == found.speeds_to_give
