"""The form of an exercise can be translated whole: what Python sends to it, its still picture, and its own JavaScript."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path

import pytest

from gearkit.answers import items
from gearkit.answers.judge.marking import right_answer
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.panels.bundle import STATIC
from gearkit.lesson.panels.exercise import ExercisePanel
from gearkit.lesson.pictures import train_shown
from gearkit.lesson.record import Record
from gearkit.words.say import catalogue_of, speaking
from tests.lesson.javascript import run
from tests.support.amounts import amount
from tests.support.pseudo import Pseudo, escaped, given_name, seen_in

# What stays in every language: units, the word for a power, names of the letters and parts of an item.
_SAME = {"mm", "min", "km", "kg", "kW", "kJ", "kN", "mph", "rad", "lbf", "pi"}


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
            own = (item.id, given_name(layout) if layout else item.id)
            texts = [text.replace(own[0], "").replace(own[1], "") for text in shown(panel)]
            # A picture calls the ends of a train as the file does.
            ends = {*layout.further_shafts} if layout else set()
            left[item.id] = escaped(texts, _SAME | names | ends)
    assert {name: words for name, words in left.items() if words} == {}


def said_nowhere(text: str) -> list[str]:
    """The strings of a JavaScript module that hold words for a reader and are not said."""
    text = re.sub(r"//.*|^import .*", "", text, flags=re.MULTILINE)
    literal = r'"(?:[^"\\]|\\.)*"'
    text = re.sub(rf"\b(?:(?:say|later)\({literal}|sayN\({literal}, {literal})", "say(", text)
    strings = [first or second for first, second in re.findall(r'"([^"\n]*)"|`([^`]*)`', text)]
    plain = [re.sub(r"\$\{[^}]*\}|\bgk-[\w-]*", "", each) for each in strings]
    return [each for each in plain if re.search(r"\b[A-Z][a-z]+|[a-z]{2,} [a-z]{2,}", each)]


# What nobody reads: keys of a record, values that the kernel knows, selectors, a fault of the program itself.
_NO_WORDS = {
    "build_panel": ("one-way clutch", "  ${kind === "),
    "controls": ("Enter",),
    "cutaway_panel": ("all forward", "${combinationKey("),
    "exact": ("a fraction needs a denominator other than 0",),
    "exercise_panel": ("new numbers",),
    "fault_panel": ("stuck off",),
    "faults": ("stuck off", "stuck on", "fitted the wrong way round", "other range"),
    "gear_outline": ("inner pinion ", "outer pinion "),
    "levers": ("M Hm",),
    "one_set_cases": ("sun carrier", "carrier ring", "sun ring"),
    "python_switch": (".jp-",),
    "shift_panel": ("goes off", "comes on"),
    "words": ("decimal mark",),
    "shifts": (
        "freewheel shift", "no change", "one element applied", "one element released", "single swap", "double swap", "uneven swap",
    ),
}  # fmt: skip
# Code for the graphics card is no JavaScript.
_MODULES = sorted(path.stem for path in STATIC.glob("*.js") if path.stem != "solid_view")


@pytest.mark.parametrize("name", _MODULES)
def test_every_word_in_the_javascript_of_a_panel_is_said(name: str) -> None:
    text = (STATIC / f"{name}.js").read_text(encoding="utf-8")
    assert [words for words in said_nowhere(text) if not words.startswith(_NO_WORDS.get(name, ("change:",)))] == []
    assert said_nowhere('button("Another hint", act); html("p", { class: "gk-line" });') == ["Another hint"]


def test_the_form_of_a_message_goes_with_its_number_in_the_browser_too() -> None:
    # A language with three forms: one; 2 to 4 but not 12 to 14; all others.
    which = [0 if n == 1 else 1 if n % 10 in (2, 3, 4) and n % 100 not in (12, 13, 14) else 2 for n in range(200)]
    table = {"{count} sets": {"forms": ["{count} a", "{count} b", "{count} c"], "which": which}, "decimal mark": ","}
    told = run(
        ["words"],
        """const { sayN, speak, localized } = module_words;
        const counted = () => [0, 1, 2, 12, 22, 103, 1112, 1122].map((count) => sayN("{count} set", "{count} sets", count));
        const english = counted();
        speak(payload.table);
        return [english, counted(), localized("1.5")];""",
        {"table": table},
    )
    english = ["0 sets", "1 set", "2 sets", "12 sets", "22 sets", "103 sets", "1112 sets", "1122 sets"]
    assert told == [english, ["0 c", "1 a", "2 b", "12 c", "22 b", "103 b", "1112 c", "1122 b"], "1,5"]


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


@pytest.mark.parametrize("code", ["", "de"])
def test_a_chart_stands_once_beside_a_question_in_every_language(code: str, tmp_path: Path) -> None:
    with speaking(catalogue_of(code)) if code else nullcontext():
        charts = {}
        for name in ("L06-03", "L10-02", "L12-10"):
            variant = Exercise(items.find(name), Record(tmp_path / "record.json")).variant
            charts[name] = (variant.question.count("| A | B |"), train_shown(variant).count("gk-train-chart"))
    assert charts == {"L06-03": (0, 1), "L10-02": (1, 0), "L12-10": (1, 0)}


def test_the_shift_panel_says_what_changes_over_as_python_does() -> None:
    """German says "zu" of what comes on; of what is on, as beside a fault, it says "geschlossen"."""
    swap = "{off_going} off, {on_coming} on"
    assert f'say("{swap}", ' in (STATIC / "shift_panel.js").read_text("utf-8")
    assert catalogue_of("de").gettext(swap) == "{off_going} ab, {on_coming} zu"
