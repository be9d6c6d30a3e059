"""The prediction tasks on power splits and on two outputs: settings are checked, and what is found is what the laws say."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.task import TaskPanel
from gearkit.lesson.tasks.task import PredictionTask, Setup
from gearkit.lesson.tasks.topics import SEVERAL_TOPICS, task_about
from gearkit.words.errors import UsageError
from gearkit.words.say import catalogue_of, speaking

LAYOUTS = {
    "split": ("power_split_one_set", "power_split_30_23_78", "compound_split_two_sets"),
    "sharing": ("planetary_transfer", "bevel_differential", "transfer_40_60"),
}
CASES = [(topic, layout) for topic in SEVERAL_TOPICS for layout in LAYOUTS[topic]]


def with_values(task: PredictionTask, **wanted: Any) -> Setup:
    values = dict(task.start().values)
    for name, value in wanted.items():
        values[name] = task.setting(name).taken(value)
    return Setup(values)


@pytest.mark.parametrize(("topic", "layout"), CASES)
def test_every_task_asks_shows_and_finds(topic: str, layout: str) -> None:
    task = task_about(topic, layout)
    choices = [(setting.name, word) for setting in task.settings for word in getattr(setting, "options", ())]
    for name, word in choices or [("", "")]:
        setup = with_values(task, **{name: word}) if name else task.start()
        truth = task.truth(setup)
        asks = task.asks(setup)
        assert sorted(truth) == sorted(ask.name for ask in asks)
        for ask in asks:
            found = truth[ask.name]
            assert isinstance(found, Fraction) != bool(ask.options)
        for scene in (task.given(setup), task.found(setup)):
            assert len(scene.words.split()) > 3
            assert all(len(row) == len(table.head) for table in scene.tables for row in table.rows)
            for svg in scene.pictures:
                assert ElementTree.fromstring(svg).get("role") == "img"


def test_a_power_split_is_predicted_below_at_and_above_its_mechanical_point() -> None:
    task = task_about("split", "power_split_30_23_78")
    below = task.truth(with_values(task, input=2600, output=1800))
    assert below == {"way": "forward", "speed": 3600 * Fraction(26, 10) - 26 * 180, "does": "generates", "electrical": 50}
    at = task.truth(with_values(task, input=2600, output=3600))
    assert at == {"way": "not at all", "speed": 0, "does": "neither", "electrical": 0}
    above = task.truth(with_values(task, input=2600, output=5400))
    assert (above["way"], above["does"], above["electrical"]) == ("backward", "drives", 50)
    assert "goes round" in task.found(with_values(task, input=2600, output=5400)).words


def test_the_ends_of_a_power_split_add_to_no_power() -> None:
    task = task_about("split", "power_split_30_23_78")
    (table, _) = task.found(with_values(task, input=2000, output=1000)).tables
    powers = [float(row[3].split()[0].replace("−", "-")) for row in table.rows]
    assert [row[0] for row in table.rows] == ["input", "M1", "M2", "output"]
    assert sum(powers) == pytest.approx(0, abs=0.2)


def test_a_slipping_end_sets_the_limit_open_and_frees_the_other_locked() -> None:
    task = task_about("sharing", "planetary_transfer")
    open_ = task.truth(with_values(task, range="open", input=600, first=900, torque=300, grip=34 // 2 * 2 + 6))
    assert open_ == {"speed": (100 * 600 - 34 * 900) / Fraction(66), "torque": 40 * Fraction(66, 34), "decides": "the teeth"}
    locked = task.truth(with_values(task, range="locked", input=600, first=900, torque=300, grip=40))
    assert locked == {"speed": 600, "torque": 260, "decides": "grip or control"}


def test_layouts_that_do_not_serve_are_refused_with_one_that_does() -> None:
    for topic, layout, why in (
        ("split", "bevel_differential", "choose power_split_one_set"),
        ("sharing", "power_split_one_set", "choose planetary_transfer"),
    ):
        with pytest.raises(UsageError, match=why):
            task_about(topic, layout)


def test_a_lesson_offers_both(tmp_path: Path) -> None:
    lesson = open_lesson("14", tmp_path / "record.json")
    assert lesson.predict_about("split", "power_split_one_set") is not None
    assert open_lesson("15", tmp_path / "record.json").predict_about("sharing", "planetary_transfer") is not None


def test_a_sentence_begins_with_a_capital_and_leaves_other_capitals_as_they_are() -> None:
    split, sharing = task_about("split", "power_split_one_set"), task_about("sharing", "planetary_transfer")
    assert split.found(split.start()).words.startswith("The engine drives, M1 generates, M2 drives.")
    with speaking(catalogue_of("de")):
        assert split.found(split.start()).words.startswith("Der Motor treibt, M1 arbeitet als Generator, M2 treibt.")
        assert sharing.found(sharing.start()).words.startswith("Die Zähne entscheiden über die Anteile: ")


@pytest.mark.parametrize(("topic", "layout", "ends"), [("split", "power_split_one_set", ["Antrieb", "M1", "M2", "Abtrieb"]), ("sharing", "planetary_transfer", ["Antrieb", "vorn", "hinten"]), ("sharing", "bevel_differential", ["Antrieb", "links", "rechts"])])  # fmt: skip
def test_the_table_of_the_ends_names_every_end_in_german(topic: str, layout: str, ends: list[str]) -> None:
    task = task_about(topic, layout)
    with speaking(catalogue_of("de")):
        assert [row[0] for row in task.found(task.start()).tables[0].rows] == ends


def test_open_and_locked_are_german_words_in_choice_and_sentence() -> None:
    with speaking(catalogue_of("de")):
        task = task_about("sharing", "planetary_transfer")
        state = TaskPanel(task).controls[0]
        assert [state["labels"][name] for name in state["options"]] == ["offen", "gesperrt"]
        for name, word in state["labels"].items():
            assert task.given(with_values(task, range=name)).words.startswith(f"Zustand {word}. ")


def test_the_running_sum_of_torques_begins_with_the_input_in_german() -> None:
    task = task_about("torques", "Q24")
    with speaking(catalogue_of("de")):
        assert task.found(task.start()).tables[1].rows[0][0] == "Antrieb"
