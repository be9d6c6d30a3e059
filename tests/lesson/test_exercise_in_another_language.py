"""The form of an exercise can be translated whole: what Python sends to it, its still picture, and its own JavaScript."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from gearkit.answers import items
from gearkit.answers.judge.marking import right_answer
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.panels.bundle import STATIC
from gearkit.lesson.panels.exercise import ExercisePanel
from gearkit.lesson.record import Record
from gearkit.words.say import speaking
from tests.lesson.javascript import run
from tests.support.amounts import amount
from tests.support.pseudo import Pseudo, escaped, seen_in

# What stays in every language: units, the word for a power, names of the letters and parts of an item.
_SAME = {"mm", "min", "km", "kg", "kW", "kJ", "kN", "mph", "rad", "lbf", "pi"}
_TRANSLATED = ("exercise_panel",)


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


def shown(panel: ExercisePanel) -> Iterator[str]:
    """What a learner sees or hears of a form: its question and parts, what is said back, its still, its own words."""
    yield panel.title
    yield from seen_in(panel.prompt_html)
    for part in panel.parts:
        yield from (part["label"], part["unit"], part["write"], *(option["label"] for option in part["options"]))
    for text in panel.hints:
        yield from seen_in(text)
    if panel.feedback:
        yield from (panel.feedback["verdict"], panel.feedback["score"], *seen_in(panel.feedback["comment"]))
    yield from seen_in(re.sub(r"<code>.*?</code>", "", panel.static_html(), flags=re.DOTALL))
    for told in panel.messages.values():
        yield from (re.sub(r"\{\w+\}", "", form) for form in ([told] if isinstance(told, str) else told["forms"]))


def test_no_word_of_the_form_of_an_exercise_goes_round_the_catalogue(language: Pseudo, tmp_path: Path) -> None:
    left = {}
    with speaking(language):
        for item in items.all_items()[:: amount(2, 16)]:
            panel = ExercisePanel(Exercise(item, Record(tmp_path / "record.json")))
            panel.exercise.hint()
            panel.exercise.write(right_answer(panel.exercise.variant))
            panel.exercise.check()
            names = {*panel.exercise.variant.drawn.visible, *item.all_symbols, *(part["name"] for part in panel.parts), item.id}
            layout = panel.exercise.variant.layout
            own = (item.id, layout.name if layout else item.id)
            texts = [text.replace(own[0], "").replace(own[1], "") for text in shown(panel)]
            # A picture calls the ends of a train as the file does.
            ends = {*layout.further_shafts} if layout else set()
            left[item.id] = escaped(texts, _SAME | names | ends)
    assert {name: words for name, words in left.items() if words} == {}


def said_nowhere(text: str) -> list[str]:
    """The strings of a JavaScript module that hold words for a reader and are not said."""
    text = re.sub(r"//.*|^import .*", "", text, flags=re.MULTILINE)
    text = re.sub(r'\bsay\("(?:[^"\\]|\\.)*"', "say(", text)
    strings = [first or second for first, second in re.findall(r'"([^"\n]*)"|`([^`]*)`', text)]
    plain = [re.sub(r"\$\{[^}]*\}|\bgk-[\w-]*", "", each) for each in strings]
    return [each for each in plain if re.search(r"\b[A-Z][a-z]+|[a-z]{2,} [a-z]{2,}", each)]


@pytest.mark.parametrize("name", _TRANSLATED)
def test_every_word_in_the_javascript_of_a_panel_is_said(name: str) -> None:
    text = (STATIC / f"{name}.js").read_text(encoding="utf-8")
    assert [words for words in said_nowhere(text) if words not in ("change:", "new numbers")] == []
    assert said_nowhere('button("Another hint", act); html("p", { class: "gk-line" });') == ["Another hint"]


def test_the_browser_says_a_message_in_the_language_that_it_was_given() -> None:
    told = run(
        ["words"],
        """const { say, speak } = module_words;
        const before = say("{entry} is now number {place}", { entry: "a", place: 2 });
        speak({ "{entry} is now number {place}": "Platz {place}: {entry}" });
        return [before, say("{entry} is now number {place}", { entry: "a", place: 2 }), say("Hint")];""",
        {},
    )
    assert told == ["a is now number 2", "Platz 2: a", "Hint"]


def test_one_message_of_the_form_that_is_missing_is_found(tmp_path: Path) -> None:
    with speaking(Pseudo(without=["Answer in a cell instead"])):
        panel = ExercisePanel(Exercise(items.find("L02-01"), Record(tmp_path / "record.json")))
        assert any("Answer" in line for line in escaped(told for told in panel.messages.values() if isinstance(told, str)))
