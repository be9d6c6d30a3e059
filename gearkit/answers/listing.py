"""Everything that can be asked, as a list: the bank's items, or those of any layout."""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.answers import items
from gearkit.answers.titles import SUBJECTS, TITLES
from gearkit.train.layout import Layout

_EASY, _MIDDLE = 2, 4


@dataclass(frozen=True)
class Entry:
    """One thing that can be asked.

    Args:
        id: its name.
        title: a few words.
        subject: what it is about.
        kind: how it is answered.
        level: easy, middle or hard.
        marks: full marks.
    """

    id: str
    title: str
    subject: str
    kind: str
    level: str
    marks: int


def of_the_bank() -> tuple[Entry, ...]:
    """Return the exercises of the lessons; their level follows from their marks."""
    return tuple(
        Entry(
            item.id,
            TITLES.get(item.id) or item.title or item.id,
            SUBJECTS[item.lesson],
            str(item.kind),
            _level(item.marks),
            item.marks,
        )
        for item in items.all_items()
    )


def of_a_layout(layout: Layout) -> tuple[Entry, ...]:
    """Return what can be asked about a layout.

    Args:
        layout: any layout.
    """
    # The list of the bank needs no solver.
    from gearkit.answers.families import offered

    return tuple(Entry(one.id, one.title, one.subject, str(one.kind), one.level, one.marks) for one in offered(layout))


def _level(marks: int) -> str:
    return "easy" if marks <= _EASY else "middle" if marks <= _MIDDLE else "hard"
