"""What pages say about an item besides its marks: lesson, hints, kind of answer.

A mark sheet may hold an item that its sheet no longer has; its pages then do without these words and stay whole.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gearkit.answers.item import Item
from gearkit.answers.listing import title_of
from gearkit.lesson.syllabus import LESSONS
from gearkit.words.say import say


@dataclass(frozen=True)
class ItemWords:
    """The words that go with an item.

    Args:
        item: id, such as "L03-02".
        lesson: number of its lesson; 0 where it belongs to none.
        lesson_title: title of that lesson, or "".
        kind: kind of answer, such as "exact ratio", or "".
        hints: hints from the gentlest to the most telling.
        title: a few words that stand for it, or "".
        symbols: whether answers are expressions that read better set as formulas.
        folder: folder of its lesson's notebook, or "".
    """

    item: str
    lesson: int = 0
    lesson_title: str = ""
    kind: str = ""
    hints: tuple[str, ...] = ()
    symbols: bool = False
    folder: str = ""
    title: str = ""

    @property
    def where(self) -> str:
        """Where to look again, such as "lesson 3, What one set can do"."""
        if not self.lesson:
            return ""
        if not self.lesson_title:
            return say("lesson {number}", number=self.lesson)
        return say("lesson {number}, {title}", number=self.lesson, title=say(self.lesson_title))


def of_items(items: Iterable[Item]) -> dict[str, ItemWords]:
    """Return the words of items; those made from a layout belong to no lesson."""
    return {item.id: _of_item(item) for item in items}


def _of_item(item: Item) -> ItemWords:
    plan = LESSONS.get(f"{item.lesson:02d}")
    return ItemWords(
        item=item.id,
        lesson=item.lesson if plan else 0,
        lesson_title=plan.title if plan else "",
        kind=str(item.kind),
        hints=item.shown_hints,
        symbols=item.kind.traits.formula,
        folder=plan.folder if plan else "",
        title="" if title_of(item) == item.id else title_of(item),
    )
