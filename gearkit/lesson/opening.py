"""Opens a lesson: one of the course, or one on a layout from its file, with exercises of its own."""

from __future__ import annotations

import sys
from functools import cached_property
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from gearkit.lesson.course.language import speak_as
from gearkit.lesson.record import Record
from gearkit.lesson.syllabus import LESSONS, LessonPlan
from gearkit.lesson.workbook import Lesson
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say

if TYPE_CHECKING:
    from gearkit.answers.item import Item

NUMBER = "unit"


class LayoutLesson(Lesson):
    """A lesson on one layout in the hands of one learner.

    Args:
        layout: the layout.
        record: the learner's record.
    """

    def __init__(self, layout: Layout, record: Record) -> None:
        name = layout.said_short
        super().__init__(LessonPlan(NUMBER, name, 0, later("lessons 2, 3 and 5"), ""), record)
        self.layout = layout

    @property
    def title(self) -> str:
        """What the lesson is about."""
        return say("Lesson on {title}", title=self.plan.title)

    @property
    def _time(self) -> str:
        return ""

    @cached_property
    def _own(self) -> dict[str, Item]:
        from gearkit.answers.offers import offered

        return {offer.id: offer.item for offer in offered(self.layout)}

    def _offered(self) -> tuple[Item, ...]:
        return tuple(self._own.values())

    def _item(self, name: str) -> Item:
        from gearkit.answers import items

        return self._own.get(name) or items.find(name)


def open_lesson(number: str | int, record: str | Path | None = None, *, language: str | None = None) -> Lesson:
    """Open a lesson and the learner's record.

    Args:
        number: the lesson's number, such as "03"; or the file of a layout, for a lesson on it.
        record: the record's file; found beside the lessons when None.
        language: the code of a language for this notebook alone, such as "de"; the one that was chosen for all when None.

    Raises:
        UsageError: there is no such lesson, no such file or no such language.
        LayoutError: the layout's file has faults.
    """
    text = str(number).strip().removeprefix("L").zfill(2)
    of_layout = str(number).strip().endswith(".toml")
    if not of_layout and (not str(number).strip() or text not in LESSONS):
        raise UsageError(f"There is no lesson {number!r}. Lessons: {', '.join(LESSONS)}.")
    kept = Record(Path(record) if record is not None else None)
    speak_as(kept, language)
    _load_panels()
    return LayoutLesson(find(str(number).strip()), kept) if of_layout else Lesson(LESSONS[text], kept)


def _load_panels() -> None:
    """In a notebook, load what draws panels now, while the first cell is read, so that the first panel comes at once."""
    if "ipykernel" in sys.modules:
        for name in ("layout", "exercise", "task"):
            import_module(f"gearkit.lesson.panels.{name}")
