"""The opening of a lesson: a few exercises of earlier lessons come back with new numbers, and what is kept is told."""

from __future__ import annotations

from html import escape
from typing import Any

import traitlets

from gearkit.answers.items import Item
from gearkit.lesson.exercise import Exercise, last_draw
from gearkit.lesson.learnt.choosing import A_SESSION, ON_REQUEST, chosen
from gearkit.lesson.learnt.standing import day_of, standings, title_of
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.exercise import ExercisePanel
from gearkit.lesson.record import Record
from gearkit.words.errors import UsageError

NOTHING_YET = "Nothing to recall yet. From your second day on, questions from earlier lessons stand here, with new numbers."
LEAD = (
    "Before you go on: questions from the lessons that you left alone longest, with new numbers. Answer without looking "
    "back. A wrong answer costs nothing; it shows what to look at again."
)
_SIGNS = {True: "✓", False: "○", None: "·"}


class RecallPanel(Panel):
    """What is asked again today: a list of it, and the form of each exercise below.

    Args:
        record: the learner's record.
        count: how many exercises are open to begin with; as many as ``ON_REQUEST`` can be asked for.
    """

    _esm = script("recall_panel")
    lead = traitlets.Unicode("").tag(sync=True)
    lines = traitlets.List().tag(sync=True)
    more = traitlets.Int(0).tag(sync=True)

    def __init__(self, record: Record, count: int = A_SESSION) -> None:
        self._record = record
        items = chosen(record.of_kind("attempt"), record.seed, record.today, max(count, ON_REQUEST))
        self.forms = tuple(
            ExercisePanel(Exercise(item, record, recall_draw=_next_draw(record, item)), folded=place >= count)
            for place, item in enumerate(items)
        )
        super().__init__(title="Recall", lead=LEAD if items else NOTHING_YET)
        self._show()
        for form in self.forms:
            form.exercise.listen(self._show)
        self.on_msg(self._on_message)

    @property
    def open_forms(self) -> tuple[ExercisePanel, ...]:
        """The forms that are not folded."""
        return tuple(form for form in self.forms if not form.folded)

    def ask_for_more(self) -> None:
        """Open the exercises that were kept folded."""
        for form in self.forms:
            form.folded = False
        self._show()

    def words(self) -> str:
        """Return what is asked again and how each of it stands."""
        return " ".join([self.lead, *(f"{_line_in_words(line)}." for line in self.lines)])

    def pictures(self) -> tuple[str, ...]:
        """The list has no drawing."""
        return ()

    def static_html(self) -> str:
        """Return the list as HTML without script."""
        lines = "".join(f"<li>{line['sign']} {escape(_line_in_words(line))}</li>" for line in self.lines)
        entries = f"<ul>{lines}</ul>" if lines else ""
        return f'<section aria-label="Recall"><p><strong>Recall</strong></p><p>{escape(self.lead)}</p>{entries}</section>'

    def _show(self) -> None:
        shown = [form.exercise for form in self.open_forms]
        found = standings(
            [exercise.item for exercise in shown],
            self._record.of_kind("attempt"),
            self._record.of_kind("hint"),
            self._record.today,
        )
        with self.hold_sync():
            self.lines = [
                {
                    "item": each.item.id,
                    "lesson": each.item.lesson,
                    "title": title_of(each.item),
                    "words": each.words(),
                    "sign": _SIGNS[None if exercise.result is None else exercise.result.verdict == "right"],
                }
                for exercise, each in zip(shown, found, strict=True)
            ]
            self.more = len(self.forms) - len(shown)

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        if isinstance(content, dict) and content.get("do") == "more":
            self.ask_for_more()

    def _ipython_display_(self) -> None:
        super()._ipython_display_()
        for form in self.forms:
            form._ipython_display_()


def _line_in_words(line: dict[str, Any]) -> str:
    return f"{line['title']} (lesson {line['lesson']}, {line['item']}): {line['words']}"


def _next_draw(record: Record, item: Item) -> int:
    """The number of today's numbers: the same all day long, and never one that an earlier day had."""
    before = [event for event in record.events if (day := day_of(event)) is not None and day < record.today]
    return last_draw(before, item.id) + 1


def opened(record: Record, count: object) -> RecallPanel:
    """Return the recall of a lesson.

    Args:
        record: the learner's record.
        count: how many exercises, from 1 to 12.

    Raises:
        UsageError: that is no such number.
    """
    if not isinstance(count, int) or isinstance(count, bool) or not 1 <= count <= 2 * ON_REQUEST:
        raise UsageError(f"Recall {count!r} exercises: give a whole number from 1 to {2 * ON_REQUEST}, such as {ON_REQUEST}.")
    return RecallPanel(record, count)
