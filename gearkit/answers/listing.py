"""Everything that can be asked, as a list: the bank's items, or those of any layout."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from gearkit.answers import items
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.titles import SUBJECTS, TITLES
from gearkit.train.layout import Layout
from gearkit.words.say import say

if TYPE_CHECKING:
    from gearkit.answers.families import Offer

EASY, MIDDLE, HARD = LEVELS = ("easy", "middle", "hard")
ANY_LAYOUT = "any layout"


@dataclass(frozen=True)
class Entry:
    """One thing that can be asked.

    Args:
        id: its name.
        title: a few words.
        subject: what it is about.
        kind: how it is answered.
        level: easy, middle or hard; of a lesson's exercise, within its lesson.
        marks: full marks.
        lesson: the lesson that teaches it.
        minutes: about how long it takes, the kit's estimate.
        layout: the catalogue layout that it asks about, "" for none or for the one that is listed.
    """

    id: str
    title: str
    subject: str
    kind: str
    level: str
    marks: int
    lesson: int = 0
    minutes: int = 0
    layout: str = ""


def subject_of(item_id: str) -> str:
    """Return what an item is about, by its id alone; an item about any layout is about its lesson's subject too.

    Args:
        item_id: such as "L08-02" or "X08-HOLDING-2-C".
    """
    number = item_id[1:3]
    return SUBJECTS.get(int(number), ANY_LAYOUT) if number.isdecimal() else ANY_LAYOUT


def minutes_for(kind: AnswerKind, marks: int) -> int:
    """Return about how many minutes an item takes, the kit's estimate.

    Args:
        kind: how it is answered.
        marks: its marks.
    """
    return math.ceil(kind.traits.effort.value * marks)


@lru_cache(maxsize=1)
def _levels() -> Mapping[str, str]:
    """The level of every exercise within its lesson: a third with the fewest marks, a third with the most, those between.

    Of two with the same marks the later one is the harder: lessons go from the easy to the hard.
    """
    levels: dict[str, str] = {}
    for lesson in SUBJECTS:
        ranked = sorted(items.of_lesson(lesson), key=lambda item: item.marks)
        third = len(ranked) // 3
        for place, item in enumerate(ranked):
            levels[item.id] = EASY if place < third else HARD if place >= len(ranked) - third else MIDDLE
    return MappingProxyType(levels)


def title_of(item: Item) -> str:
    """Return the few words that stand for an item, beginning with a capital letter; its id where it has none.

    Args:
        item: the item.
    """
    title = say(TITLES.get(item.id) or item.title or item.id)
    return title[:1].upper() + title[1:]


def name_of(item_id: str) -> str:
    """Return an item's title with its id behind, for lists in which other people's items stand too; its id where it has no title.

    >>> name_of("L03-02")
    'Sun in, ring held, carrier out (L03-02)'

    Args:
        item_id: such as "L03-02".
    """
    title = TITLES.get(item_id, "")
    return f"{title[:1].upper()}{title[1:]} ({item_id})" if title else item_id


def of_an_item(item: Item) -> Entry:
    """Return an exercise of the lessons as it is listed.

    Args:
        item: the exercise.
    """
    return Entry(
        item.id,
        TITLES.get(item.id) or item.title or item.id,
        subject_of(item.id),
        str(item.kind),
        _levels().get(item.id, MIDDLE),
        item.marks,
        item.lesson,
        minutes_for(item.kind, item.marks),
        item.draw.layout,
    )


def of_the_bank() -> tuple[Entry, ...]:
    """Return the exercises of the lessons."""
    return tuple(of_an_item(item) for item in items.all_items())


def of_a_layout(layout: Layout, place: int = 0) -> tuple[Entry, ...]:
    """Return what can be asked about a layout.

    Args:
        layout: any layout.
        place: which of a sheet's layouts it is, counted from 0.
    """
    # The list of the bank needs no solver.
    from gearkit.answers.offers import offered

    return tuple(_of_an_offer(offer) for offer in offered(layout, place))


def _of_an_offer(offer: Offer) -> Entry:
    minutes = minutes_for(offer.kind, offer.marks)
    return Entry(offer.id, offer.title, offer.subject, str(offer.kind), offer.level, offer.marks, offer.lesson, minutes)
