"""A lesson on a layout that lies beside the notebook: the same calls as any lesson, with the exercises that its layout gives."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

from gearkit.answers.items import Item
from gearkit.lesson.record import Record
from gearkit.lesson.syllabus import LessonPlan
from gearkit.lesson.workbook import Lesson
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout

NUMBER = "unit"


class LayoutLesson(Lesson):
    """A lesson on one layout in the hands of one learner.

    Args:
        layout: the layout.
        record: the learner's record.
    """

    def __init__(self, layout: Layout, record: Record) -> None:
        name = layout.name.partition(":")[0].strip()
        super().__init__(LessonPlan(NUMBER, name, 0, "lessons 2, 3 and 5", ""), record)
        self.layout = layout

    @property
    def title(self) -> str:
        """What the lesson is about."""
        return f"Lesson on {self.plan.title}"

    @property
    def _time(self) -> str:
        return ""

    @cached_property
    def _own(self) -> dict[str, Item]:
        from gearkit.answers.families import offered

        return {offer.id: offer.item for offer in offered(self.layout)}

    def _offered(self) -> tuple[Item, ...]:
        return tuple(self._own.values())

    def _item(self, name: str) -> Item:
        from gearkit.answers import items

        return self._own.get(name) or items.find(name)


def opened(file: str | Path, record: Record) -> LayoutLesson:
    """Return the lesson on a layout.

    Args:
        file: the layout's file.
        record: the learner's record.

    Raises:
        UsageError: there is no such file.
        LayoutError: the file has faults.
    """
    return LayoutLesson(find(file), record)
