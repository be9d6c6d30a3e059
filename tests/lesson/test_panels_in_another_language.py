"""Every panel of a lesson can be translated: what Python sends to it, its still picture, home, recall and progress."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.gated import GatedPanel
from gearkit.lesson.panels.task import TaskPanel
from gearkit.lesson.record import RECORD_VARIABLE
from gearkit.lesson.solid.cutaway_panel import CutawayPanel
from gearkit.lesson.tasks import topics as tasks
from gearkit.lesson.workbook import Lesson
from gearkit.train.catalogue import find
from gearkit.words.say import speaking
from tests.support.pseudo import Pseudo, escaped, given_name, seen_in

# What stays in every language: units and names of files.
SAME = {"mm", "km", "kg", "kW", "kJ", "rad", "College", "van"}
SEVERAL = ("power_split_one_set", "planetary_transfer")
PANELS: dict[str, Callable[[Lesson], Panel]] = {
    "one set": lambda lesson: lesson.explore(),
    "one set, predicted": lambda lesson: lesson.predict(),
    "two speeds, predicted": lambda lesson: lesson.predict(two_speeds=True),
    "gears, predicted": lambda lesson: lesson.predict_gears(),
    "layout Q36": lambda lesson: lesson.explore("Q36"),
    "layout Q24, predicted": lambda lesson: lesson.predict("Q24"),
    "cutaway Q24": lambda lesson: lesson.cutaway("Q24", "2"),
    "cutaway, predicted": lambda lesson: lesson.cutaway("pair_series", predict=True),
    **{
        f"explore {topic}": lambda lesson, topic=topic: lesson.explore_about(topic, "Q24")
        for topic in ("assembly", "shifts", "faults")
    },
    **{f"explore split, {name}": lambda lesson, name=name: lesson.explore_about("split", name) for name in SEVERAL},
    **{
        f"task {topic}": lambda lesson, topic=topic: lesson.predict_about(topic, "Q36", seed="class 7")
        for topic in tasks.TOPICS
    },
    "task split": lambda lesson: lesson.predict_about("split", SEVERAL[0]),
    "task sharing": lambda lesson: lesson.predict_about("sharing", SEVERAL[1]),
    "a layout put together": lambda lesson: lesson.build_layout(),
    "recall": lambda lesson: lesson.recall(),
}


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


@pytest.fixture
def lesson(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Lesson:
    monkeypatch.setenv(RECORD_VARIABLE, str(tmp_path / "record.json"))
    return open_lesson("06")


def names() -> set[str]:
    """Words that the makers of the layouts gave: parts of their names, of elements, ranges and shafts."""
    found: set[str] = set()
    for name in ("Q36", "Q24", "pair_series", *SEVERAL):
        layout = find(name)
        own = [
            *(each.name for each in (*layout.elements, *layout.ranges, *layout.sets, *layout.machines)),
            *layout.further_shafts,
        ]
        found |= {*re.findall(r"[A-Za-z]+", given_name(layout)), *own}
    return found


def shown(panel: Panel) -> Iterator[str]:
    """What a learner sees or hears of a panel, before and after a prediction."""
    yield from (panel.title, panel.words(), *seen_in(panel.static_html()))
    yield from javascript(panel)
    # Whatever else Python sends as a text with several words is read by somebody, too; the browser says the mode of a fault.
    for name in panel.traits(sync=True):
        value = getattr(panel, name)
        if not name.startswith("_") and name != "mode" and isinstance(value, str) and " " in value:
            yield from seen_in(value)
    if isinstance(panel, TaskPanel):
        yield from of_task(panel)
        predict(panel)
        yield from of_task(panel)
        yield from (*seen_in(panel.found_html), *seen_in(panel.compared_html), *seen_in(panel.afterword), *panel.history)
        yield panel.words()
    elif isinstance(panel, CutawayPanel) and panel.gated:
        predict(panel)
        yield from (*panel.history, panel.words())
    elif isinstance(panel, GatedPanel) and panel.gated:
        predict(panel)
        yield from (*panel.history, *seen_in(" ".join(panel.afterwords.values())), panel.words(), *seen_in(panel.static_html()))


def predict(panel: Panel) -> bool:
    """Predict something where a panel asks for it; return whether it does."""
    if isinstance(panel, TaskPanel):
        if panel.task.budget:
            panel.try_it()
        panel.predict({ask.name: ask.options[0] if ask.options else ask.example or "3" for ask in panel.task.asks(panel.setup)})
        return True
    if isinstance(panel, CutawayPanel) and panel.gated:
        panel.predict_bodies(still=[panel.layout_shown.sets[0].name + ".ring"])
        return True
    if isinstance(panel, GatedPanel) and panel.gated:
        panel.predict(panel.kinds()[0], "3" if panel.needs_figure(panel.kinds()[0]) else "")
        return True
    return False


def javascript(panel: Panel) -> Iterator[str]:
    """What the browser says by itself, without the places of values."""
    for told in panel.messages.values():
        for form in [told] if isinstance(told, str) else told["forms"]:
            yield re.sub(r"\{\w+\}", "", form)


def of_task(panel: TaskPanel) -> Iterator[str]:
    yield from (panel.invitation, panel.action, panel.status, *seen_in(panel.given_html))
    for control in panel.controls:
        yield from (control["label"], control.get("unit", ""))
        labels = control.get("labels", {})
        yield from (
            labels.get(option, option) if isinstance(option, str) else option[1] for option in control.get("options", ())
        )
    for question in panel.questions:
        yield from (question["label"], question["unit"], question["example"])
        yield from (question["labels"].get(option, option) for option in question["options"])


@pytest.mark.parametrize("name", PANELS)
def test_no_word_of_a_panel_goes_round_the_catalogue(name: str, lesson: Lesson, language: Pseudo) -> None:
    with speaking(language):
        assert escaped(shown(PANELS[name](lesson)), SAME | names()) == []


def test_what_the_home_page_progress_and_completion_say_can_be_translated(lesson: Lesson, language: Pseudo) -> None:
    with speaking(language):
        pages = [
            lesson.home()._repr_html_(),
            lesson.progress()._repr_html_(),
            lesson._repr_html_(),
            lesson.completion("")._repr_html_(),
        ]
        texts = [text for page in pages for text in seen_in(page)] + [
            repr(lesson),
            repr(lesson.home()),
            str(lesson.progress()),
        ]
        assert escaped(texts, {"record", "json", "my", "completion", "html"}) == []


def test_a_record_names_predictions_alike_in_every_language(lesson: Lesson, language: Pseudo) -> None:
    with speaking(language):
        panel = lesson.predict("Q36")
        panel.apply("A", "C")
        panel.predict("forward", "2.5")
        task = lesson.predict_about("torques", "Q36")
        task.predict({"element": "B", "torque": "240", "housing": "with the input"})
    kept = [(event["panel"], event["case"]) for event in lesson.record.of_kind("prediction")]
    assert kept == [("Q36", "A and C applied"), ("torques of Quillbrook Q36", "range 1")]
    assert panel.case in panel.opened
    # Whoever comes back in English reads what was said in the other language, and goes on.
    assert len(lesson.predict("Q36").history) == 1
