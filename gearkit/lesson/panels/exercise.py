"""The form of one exercise: the question, boxes to fill in, how they were read, check, hints, new numbers."""

from __future__ import annotations

from fractions import Fraction
from html import escape
from typing import Any

import traitlets

from gearkit.answers.judge.checkers import Part
from gearkit.answers.judge.results import MarkVerdict
from gearkit.answers.kinds.choices import labelled
from gearkit.answers.kinds.kind import Form
from gearkit.lesson.answering import LONGEST_TEXT
from gearkit.lesson.exercise import Exercise, shown_reading
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.text.markdown import to_html
from gearkit.words.say import later, say

# A worked example has its exercise's number behind this letter, and is answered in its form alone.
WORKED = "W"
_ONE_LABEL = later("Your answer")
_VERDICTS = {
    MarkVerdict.RIGHT: later("Right"),
    MarkVerdict.WRONG: later("Not yet"),
    MarkVerdict.UNREADABLE: later("Cannot be read yet"),
    MarkVerdict.MISSING: later("Nothing to check yet"),
}


_SCRIPT = script("exercise_panel")


class ExercisePanel(Panel):
    """A form for one exercise; whatever it does can be done in Python as well, through its ``exercise``.

    Args:
        exercise: the exercise.
    """

    for_one_learner = True
    _esm = _SCRIPT
    prompt_html = traitlets.Unicode("").tag(sync=True)
    parts = traitlets.List().tag(sync=True)
    given = traitlets.Dict().tag(sync=True)
    preview = traitlets.Dict().tag(sync=True)
    feedback = traitlets.Dict().tag(sync=True)
    hints = traitlets.List().tag(sync=True)
    hints_left = traitlets.Int(3).tag(sync=True)
    draw = traitlets.Int(1).tag(sync=True)
    plain_call = traitlets.Unicode("").tag(sync=True)

    def __init__(self, exercise: Exercise) -> None:
        self.exercise = exercise
        super().__init__(title=name_of(exercise))
        self._show()
        exercise.listen(self._show)
        self.observe(self._on_given, "given")
        self.on_msg(self._on_message)

    def words(self) -> str:
        """Return the answer as it stands and what was said about it."""
        written = "; ".join(f"{name} = {text}" for name, text in _written(self.exercise)) or say("not answered")
        result = self.exercise.result
        told = f" {say(_VERDICTS[result.verdict])}. {result.comment}" if result else ""
        return say("Answer: {written}.{told}", written=written, told=told)

    def pictures(self) -> tuple[str, ...]:
        """An exercise has no drawing."""
        return ()

    def static_html(self) -> str:
        """Return the question, the answer as it stands and what was said about it, as HTML without script."""
        return still_of(self.exercise)

    def _show(self) -> None:
        with self.hold_sync():
            self.given = dict(self.exercise.given)
            for name, value in shown(self.exercise).items():
                setattr(self, name, value)

    def _on_given(self, change: Any) -> None:
        take_texts(self.exercise, change["new"])

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        do(self.exercise, content)


def name_of(exercise: Exercise) -> str:
    """Return the title of an exercise's form."""
    if exercise.recalled:
        return say("Recall: exercise {id}", id=exercise.item.id)
    if exercise.item.id.startswith(WORKED):
        return say("Worked example {item}", item=exercise.item.id)
    return say("Exercise {item}", item=exercise.item.id)


def shown(exercise: Exercise) -> dict[str, Any]:
    """Return what the form of an exercise shows besides the texts that were written."""
    # A cell speaks to the exercise of the lesson, which has other numbers than the one that is asked again.
    in_form = exercise.recalled or exercise.item.id.startswith(WORKED)
    call = "" if in_form else exercise.variant.answer_cell().replace("answer(", "lesson.answer(", 1)
    return {
        "draw": exercise.draw,
        "prompt_html": exercise.prompt_html,
        "parts": [_part_spec(exercise, part) for part in exercise.variant.parts],
        "preview": {
            each.part.name: {"html": shown_reading(each.part, each.read_as), "trouble": each.trouble or each.remark}
            for each in exercise.form()
            if not each.empty
        },
        "feedback": {} if exercise.result is None else feedback_of(exercise),
        "hints": list(exercise.hints),
        "hints_left": len(exercise.item.hints) - exercise.hints_shown,
        "plain_call": call,
    }


def take_texts(exercise: Exercise, texts: Any) -> None:
    """Put down what stands in the form of an exercise.

    Args:
        exercise: the exercise.
        texts: text by part name; anything else is none.
    """
    if isinstance(texts, dict):
        exercise.write({str(name): str(text)[:LONGEST_TEXT] for name, text in texts.items()})


def do(exercise: Exercise, content: Any) -> None:
    """Do what a button of the form of an exercise asks for.

    Args:
        exercise: the exercise.
        content: with "do" and, for a check, the texts in "given"; anything else is no wish.
    """
    wish = content.get("do") if isinstance(content, dict) else None
    if wish == "check":
        take_texts(exercise, content.get("given"))
        exercise.check()
    elif wish == "hint":
        exercise.hint()
    elif wish == "new numbers":
        exercise.new_numbers()


def still_of(exercise: Exercise) -> str:
    """Return the question, the answer as it stands and what was said about it, as HTML without script."""
    title = escape(name_of(exercise), quote=True)
    not_yet = say("Not answered yet.")
    written = "".join(f"<li>{escape(name)}: <code>{escape(text)}</code></li>" for name, text in _written(exercise))
    answer = f"<ul>{written}</ul>" if written else f"<p>{not_yet}</p>"
    told = ""
    if exercise.result is not None:
        feedback = feedback_of(exercise)
        told = f"<p><strong>{feedback['verdict']} · {feedback['score']}</strong></p>{feedback['comment']}"
    return f'<section aria-label="{title}"><p><strong>{title}</strong></p>{exercise.prompt_html}{answer}{told}</section>'


def _written(exercise: Exercise) -> list[tuple[str, str]]:
    """What was written for each part, by the part's label."""
    labels = {part.name: part.label or say(_ONE_LABEL) for part in exercise.variant.parts}
    return [(labels.get(name, name), text) for name, text in exercise.given.items() if text]


def feedback_of(exercise: Exercise) -> dict[str, Any]:
    """Return what the form shows after a check: a word, a sentence, a mark for each part or for each demand."""
    result = exercise.result
    assert result is not None
    own = {part.name for part in exercise.variant.parts}
    return {
        "verdict": say(_VERDICTS[result.verdict]),
        "kind": result.verdict.value,
        "comment": to_html(result.comment),
        "score": say("{score} of {max} marks", score=_number(result.score), max=_number(result.max)),
        "parts": {part.name: part.verdict.value for part in result.parts if part.name in own},
        "demands": [{"label": part.label, "kind": part.verdict.value} for part in result.parts if part.name not in own],
    }


def _number(value: Fraction) -> str:
    return f"{float(value):g}"


def _part_spec(exercise: Exercise, part: Part) -> dict[str, Any]:
    listed = bool(part.options) and labelled(part.options) in exercise.variant.prompt
    return {
        "name": part.name,
        "label": part.label or say(_ONE_LABEL),
        "unit": part.shown_unit,
        "form": _form_of(part),
        "write": say(part.kind.traits.write),
        "options": [
            {"value": exercise.option_text(part, number), "label": _label(part, number, listed)}
            for number in range(len(part.options))
        ],
    }


def _label(part: Part, number: int, listed: bool) -> str:
    letter = f"({'abcdefghijkl'[number]})"
    if part.pictures:
        # The picture stands in the question, and says what it shows.
        return say("picture {letter}", letter=letter)
    return f"{letter} {part.shown_options[number]}" if listed else part.shown_options[number]


def _form_of(part: Part) -> str:
    form = part.kind.traits.form
    # A formula or a number may come with options to choose from, and a word without any is written.
    if form is Form.TEXT or not part.options:
        return str(Form.ONE if part.options else Form.TEXT)
    return str(form)
