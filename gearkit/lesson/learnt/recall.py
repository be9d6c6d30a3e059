"""The opening of a lesson: a few exercises of earlier lessons come back with new numbers, and what is kept is told."""

from __future__ import annotations

from html import escape
from typing import Any

import traitlets

from gearkit.answers.item import Item
from gearkit.lesson.exercise import Exercise, last_draw
from gearkit.lesson.learnt.choosing import A_SESSION, ON_REQUEST, chosen
from gearkit.lesson.learnt.standing import day_of, standings, title_of
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.exercise import do, name_of, shown, still_of, take_texts
from gearkit.lesson.record import Record
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say

NOTHING_YET = later(
    "Nothing to recall yet. From your second day on, questions from earlier lessons stand here, with new numbers."
)
LEAD = later(
    "Before you go on: questions from the lessons that you left alone longest, with new numbers. Answer without looking back. A wrong answer costs nothing; it shows what to look at again."
)
_SIGNS = {True: "✓", False: "○", None: "·"}


class RecallPanel(Panel):
    """What is asked again today: a list of it, and the form of each exercise below.

    Args:
        record: the learner's record.
        count: how many exercises are open to begin with; as many as ``ON_REQUEST`` can be asked for.
    """

    for_one_learner = True
    _esm = script("recall_panel")
    lead = traitlets.Unicode("").tag(sync=True)
    lines = traitlets.List().tag(sync=True)
    forms = traitlets.List().tag(sync=True)
    given = traitlets.List().tag(sync=True)
    more = traitlets.Int(0).tag(sync=True)

    def __init__(self, record: Record, count: int = A_SESSION) -> None:
        self._record = record
        items = chosen(record.of_kind("attempt"), record.seed, record.today, max(count, ON_REQUEST))
        self._all = tuple(Exercise(item, record, recall_draw=_next_draw(record, item)) for item in items)
        self._count = count
        super().__init__(title=say("Recall"), lead=say(LEAD) if items else say(NOTHING_YET))
        self._show()
        for exercise in self._all:
            exercise.listen(self._show)
        self.observe(self._on_given, "given")
        self.on_msg(self._on_message)

    @property
    def exercises(self) -> tuple[Exercise, ...]:
        """What is asked again, in order."""
        return self._all[: self._count]

    def ask_for_more(self) -> None:
        """Ask the exercises that were kept back."""
        self._count = len(self._all)
        self._show()

    def words(self) -> str:
        """Return what is asked again and how each of it stands."""
        return " ".join([self.lead, *(f"{_line_in_words(line)}." for line in self.lines)])

    def pictures(self) -> tuple[str, ...]:
        """A recall has no drawing of its own."""
        return ()

    def static_html(self) -> str:
        """Return the list, the questions and the answers as they stand, as HTML without script."""
        lines = "".join(f"<li>{line['sign']} {escape(_line_in_words(line))}</li>" for line in self.lines)
        entries = f"<ul>{lines}</ul>" if lines else ""
        asked = "".join(still_of(exercise) for exercise in self.exercises)
        name = say("Recall")
        return (
            f'<section aria-label="{escape(name, quote=True)}"><p><strong>{escape(name)}</strong></p><p>{escape(self.lead)}</p>'
            f"{entries}{asked}</section>"
        )

    def _show(self) -> None:
        record, asked = self._record, self.exercises
        standing = standings([each.item for each in asked], record.of_kind("attempt"), record.of_kind("hint"), record.today)
        with self.hold_sync():
            self.lines = [
                {
                    "item": each.item.id,
                    "lesson": each.item.lesson,
                    "title": title_of(each.item),
                    "words": each.words(),
                    "sign": _SIGNS[None if exercise.result is None else exercise.result.verdict == "right"],
                }
                for exercise, each in zip(asked, standing, strict=True)
            ]
            self.forms = [{"title": name_of(exercise), **shown(exercise)} for exercise in asked]
            self.given = [dict(exercise.given) for exercise in asked]
            self.more = len(self._all) - len(asked)

    def _on_given(self, change: Any) -> None:
        for exercise, texts in zip(self.exercises, change["new"], strict=False):
            take_texts(exercise, texts)

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        if not isinstance(content, dict):
            return
        place = content.get("form")
        if isinstance(place, int) and 0 <= place < len(self.exercises):
            do(self.exercises[place], content)
        elif content.get("do") == "more":
            self.ask_for_more()


def _line_in_words(line: dict[str, Any]) -> str:
    return say(
        "{line} (lesson {line2}, {line3}): {line4}",
        line=line["title"],
        line2=line["lesson"],
        line3=line["item"],
        line4=line["words"],
    )


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
