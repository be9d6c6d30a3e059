"""Every panel, used at random by mouse and keyboard: no error, and after every action it shows what the solver says."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from gearkit.answers import items
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels import topics
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.exercise import ExercisePanel
from gearkit.lesson.record import Record
from gearkit.lesson.tasks import topics as tasks
from gearkit.lesson.workbook import Lesson
from tests.browser import host
from tests.browser.random_hand import Hand
from tests.support.amounts import amount

pytest.register_assert_rewrite("tests.browser.shown")
from tests.browser import shown  # noqa: E402

pytestmark = [pytest.mark.browser, pytest.mark.slow]
ACTIONS = amount(300, 0)
# Every control is used at least once, however few actions are asked for.
MOST = 1200
BURST = 0.15
SEED = os.environ.get("GEARKIT_SEED", "panels")


def _forms() -> list[str]:
    """One exercise for each kind of form: which fields it has, one or several, in a grid or not."""
    found: dict[tuple[object, ...], str] = {}
    for number in range(1, 14):
        for item in items.of_lesson(number):
            parts = ExercisePanel(Exercise(item, Record(Path("never_written.json")))).parts
            forms, options = [part["form"] for part in parts], [part["options"] for part in parts]
            alike = len(parts) > 2 and all(each == options[0] for each in options)
            found.setdefault((tuple(sorted(set(forms))), len(parts) > 1, alike), item.id)
    return sorted(found.values())


# One and two machines, two outputs, elements that lock, a clutch between two modes.
SEVERAL = ("power_split_one_set", "compound_split_two_sets", "planetary_transfer", "bevel_differential", "electric_reduction")
PANELS: dict[str, Callable[[Lesson], Panel]] = {
    "one set": lambda lesson: lesson.explore(),
    "one set, predicted": lambda lesson: lesson.predict(),
    "two speeds": lambda lesson: lesson.explore(two_speeds=True),
    "two speeds, predicted": lambda lesson: lesson.predict(two_speeds=True),
    "gears": lambda lesson: lesson.explore_gears(),
    "gears, predicted": lambda lesson: lesson.predict_gears(),
    "layout Q36": lambda lesson: lesson.explore("Q36"),
    "layout Q24, predicted": lambda lesson: lesson.predict("Q24"),
    "cutaway Q24": lambda lesson: lesson.cutaway("Q24", "2"),
    "cutaway pair_series, predicted": lambda lesson: lesson.cutaway("pair_series", predict=True),
    **{
        f"explore {topic}": lambda lesson, topic=topic: lesson.explore_about(topic, "Q24")
        for topic in topics.TOPICS
        if topic != "split"
    },
    **{f"explore split, {name}": lambda lesson, name=name: lesson.explore_about("split", name) for name in SEVERAL},
    **{
        f"task {topic}": lambda lesson, topic=topic: lesson.predict_about(topic, "Q36", seed="class 7")
        for topic in tasks.TOPICS
    },
    "a layout put together": lambda lesson: lesson.build_layout(),
    **{f"exercise {item}": lambda lesson, item=item: lesson.exercise(item) for item in _forms()},
}


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with host.blank_page() as opened:
        yield opened


@pytest.mark.parametrize("name", PANELS)
def test_a_panel_used_at_random_never_fails_and_always_shows_what_the_solver_says(
    page: Page, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    lesson = open_lesson("03", tmp_path / "record.json")
    panel = PANELS[name](lesson)
    with host.show(page, panel) as desk:
        shown.check(panel, shown.read(page))
        hand = Hand(page, f"{SEED} {name}")
        done = 0
        while done < ACTIONS or (hand.left_out and done < MOST) or done == 0:
            steps = []
            # Now and then somebody is quicker than the kernel.
            for _ in range(3 if hand.seeded.random() < BURST else 1):
                hand.act()
                steps.append(hand.last)
                done += 1
            desk.settle()
            assert desk.troubles == [], f"action {done}: {steps}"
            try:
                shown.check(panel, shown.read(page))
            except AssertionError as fault:
                raise AssertionError(f"action {done}: {steps}: {fault}") from fault
        assert hand.left_out == set()
