"""The form of one exercise: the question, boxes to fill in, how they were read, check, hints, new numbers."""

from __future__ import annotations

from fractions import Fraction
from html import escape
from typing import Any

import traitlets

from gearkit.answers.answer_forms import Form, form_of_kind
from gearkit.answers.judge.checkers import Part
from gearkit.answers.judge.results import MarkVerdict
from gearkit.answers.kinds.choices import labelled
from gearkit.lesson.answering import LONGEST_TEXT
from gearkit.lesson.exercise import Exercise, shown_reading
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.text.markdown import to_html

_VERDICTS = {
    MarkVerdict.RIGHT: "Right",
    MarkVerdict.WRONG: "Not yet",
    MarkVerdict.UNREADABLE: "Cannot be read yet",
    MarkVerdict.MISSING: "Nothing to check yet",
}


class ExercisePanel(Panel):
    """A form for one exercise; whatever it does can be done in Python as well, through its ``exercise``.

    Args:
        exercise: the exercise.
        folded: whether it stays out of sight until somebody asks for it.
    """

    _esm = script("exercise_panel")
    prompt_html = traitlets.Unicode("").tag(sync=True)
    parts = traitlets.List().tag(sync=True)
    given = traitlets.Dict().tag(sync=True)
    preview = traitlets.Dict().tag(sync=True)
    feedback = traitlets.Dict().tag(sync=True)
    hints = traitlets.List().tag(sync=True)
    hints_left = traitlets.Int(3).tag(sync=True)
    draw = traitlets.Int(1).tag(sync=True)
    plain_call = traitlets.Unicode("").tag(sync=True)
    folded = traitlets.Bool(False).tag(sync=True)

    def __init__(self, exercise: Exercise, *, folded: bool = False) -> None:
        self.exercise = exercise
        title = f"Recall: exercise {exercise.item.id}" if exercise.recalled else f"Exercise {exercise.item.id}"
        super().__init__(title=title, folded=folded)
        self._show()
        exercise.listen(self._show)
        self.observe(self._on_given, "given")
        self.on_msg(self._on_message)

    def words(self) -> str:
        """Return the answer as it stands and what was said about it."""
        written = "; ".join(f"{name} = {text}" for name, text in self._written()) or "not answered"
        result = self.exercise.result
        told = f" {_VERDICTS[result.verdict]}. {result.comment}" if result else ""
        return f"Answer: {written}.{told}"

    def pictures(self) -> tuple[str, ...]:
        """An exercise has no drawing."""
        return ()

    def static_html(self) -> str:
        """Return the question, the answer as it stands and what was said about it, as HTML without script; "" while folded."""
        if self.folded:
            return ""
        title = escape(self.title, quote=True)
        written = "".join(f"<li>{escape(name)}: <code>{escape(text)}</code></li>" for name, text in self._written())
        answer = f"<ul>{written}</ul>" if written else "<p>Not answered yet.</p>"
        told = (
            f"<p><strong>{self.feedback['verdict']} · {self.feedback['score']}</strong></p>{self.feedback['comment']}"
            if self.feedback
            else ""
        )
        return f'<section aria-label="{title}"><p><strong>{title}</strong></p>{self.prompt_html}{answer}{told}</section>'

    def _written(self) -> list[tuple[str, str]]:
        """What was written for each part, by the part's label."""
        labels = {part["name"]: part["label"] for part in self.parts}
        return [(labels.get(name, name), text) for name, text in self.given.items() if text]

    def _show(self) -> None:
        exercise = self.exercise
        with self.hold_sync():
            self.draw = exercise.draw
            self.prompt_html = exercise.prompt_html
            self.parts = [_part_spec(exercise, part) for part in exercise.variant.parts]
            self.given = dict(exercise.given)
            self.preview = {
                each.part.name: {"html": shown_reading(each.part, each.read_as), "trouble": each.trouble or each.remark}
                for each in exercise.form()
                if not each.empty
            }
            self.feedback = {} if exercise.result is None else feedback_of(exercise)
            self.hints = list(exercise.hints)
            self.hints_left = len(exercise.item.hints) - exercise.hints_shown
            # A cell speaks to the exercise of the lesson, which has other numbers than the one that is asked again.
            call = exercise.variant.answer_cell().replace("answer(", "lesson.answer(", 1)
            self.plain_call = "" if exercise.recalled else call

    def _on_given(self, change: Any) -> None:
        self.exercise.write({str(name): str(text)[:LONGEST_TEXT] for name, text in change["new"].items()})

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        wish = content.get("do") if isinstance(content, dict) else None
        if wish == "check":
            given = content.get("given")
            if isinstance(given, dict):
                self.exercise.write({str(name): str(text)[:LONGEST_TEXT] for name, text in given.items()})
            self.exercise.check()
        elif wish == "hint":
            self.exercise.hint()
        elif wish == "new numbers":
            self.exercise.new_numbers()


def feedback_of(exercise: Exercise) -> dict[str, Any]:
    """Return what the form shows after a check: a word, a sentence, a mark for each part or for each demand."""
    result = exercise.result
    assert result is not None
    own = {part.name for part in exercise.variant.parts}
    return {
        "verdict": _VERDICTS[result.verdict],
        "kind": result.verdict.value,
        "comment": to_html(result.comment),
        "score": f"{_number(result.score)} of {_number(result.max)} marks",
        "parts": {part.name: part.verdict.value for part in result.parts if part.name in own},
        "demands": [{"label": part.label, "kind": part.verdict.value} for part in result.parts if part.name not in own],
    }


def _number(value: Fraction) -> str:
    return f"{float(value):g}"


def _part_spec(exercise: Exercise, part: Part) -> dict[str, Any]:
    listed = bool(part.options) and labelled(part.options) in exercise.variant.prompt
    return {
        "name": part.name,
        "label": part.label or "Your answer",
        "unit": part.unit,
        "form": _form_of(part),
        "write": form_of_kind(part.kind).write,
        "options": [
            {"value": exercise.option_text(part, number), "label": _label(part, number, listed)}
            for number in range(len(part.options))
        ],
    }


def _label(part: Part, number: int, listed: bool) -> str:
    letter = f"({'abcdefghijkl'[number]})"
    if part.pictures:
        # The picture stands in the question, and says what it shows.
        return f"picture {letter}"
    return f"{letter} {part.options[number]}" if listed else part.options[number]


def _form_of(part: Part) -> str:
    form = form_of_kind(part.kind).form
    # A formula or a number may come with options to choose from, and a word without any is written.
    if form is Form.TEXT or not part.options:
        return str(Form.ONE if part.options else Form.TEXT)
    return str(form)
