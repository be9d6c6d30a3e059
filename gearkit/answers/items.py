"""The bank's items by their names: all of them, those of a lesson, one by its id; what an item is stands in `item`."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import Any

from gearkit.answers.item import ONE_PART as ONE_PART
from gearkit.answers.item import PICKS as PICKS
from gearkit.answers.item import AnswerKind as AnswerKind
from gearkit.answers.item import Constraint as Constraint
from gearkit.answers.item import Draw as Draw
from gearkit.answers.item import Field as Field
from gearkit.answers.item import Item as Item
from gearkit.answers.item import Like as Like
from gearkit.answers.item import NamedMistake as NamedMistake
from gearkit.answers.item import Version as Version
from gearkit.words.errors import UsageError

# What a named mistake's formula may take from the families: the item's own answer, or what another question of a family has.
_TAKEN = re.compile(r"<([a-z-]+)((?: [\w.]+)*)>")


@lru_cache(maxsize=1)
def _bank() -> dict[str, Item]:
    from gearkit.answers.bank import all_lessons

    return {item.id: _with_answer_of_its_family(item) for lesson in all_lessons() for item in lesson}


def _with_answer_of_its_family(item: Item) -> Item:
    """A lesson's item about a layout gets its answer from the family of which it is an instance."""
    if not item.like:
        return item
    layout = item.draw.layout
    versions = tuple(
        replace(version, **_from_its_family(version, layout)) if version.like and not version.rule else version
        for version in item.versions
    )
    return replace(item, versions=versions, **({"answer": ""} if item.rule else _from_its_family(item, layout)))


def _from_its_family(asked: Item | Version, layout: str) -> dict[str, Any]:
    """The answer, and the named mistakes with what they take from it or from another range."""
    answer = _answer(asked.like, asked.times, layout)

    def formula(text: str, part: str) -> str:
        right = answer if isinstance(answer, str) else answer[part]

        def taken(match: re.Match[str]) -> str:
            family, *about = match[0][1:-1].split()
            return f"({right if family == 'answer' else _answer((family, *about), '', layout)})"

        return _TAKEN.sub(taken, text)

    mistakes = tuple(
        replace(named, wrong=formula(named.wrong, ONE_PART))
        if isinstance(named.wrong, str)
        else replace(named, wrong={part: formula(text, part) for part, text in named.wrong.items()})
        for named in asked.named_mistakes
    )
    return {"answer": answer, "named_mistakes": mistakes}


def _answer(like: Like, times: str, layout: str) -> str | dict[str, str]:
    # Layouts know nothing of items, but what they are worked out with does.
    from gearkit.answers.layouts.formula import of_family

    if isinstance(like, tuple):
        family, *about = like
        text = of_family(family, layout, about)
        return f"{times}*({text})" if times else text
    return {part: str(_answer(kind, times, layout)) for part, kind in like.items()}


def all_items() -> tuple[Item, ...]:
    """Return every item of the bank, lesson by lesson."""
    return tuple(_bank().values())


def of_lesson(number: int) -> tuple[Item, ...]:
    """Return the items of one lesson in their order.

    Args:
        number: 1 to 15.

    Raises:
        UsageError: there is no such lesson.
    """
    items = tuple(item for item in _bank().values() if item.lesson == number)
    if not items:
        raise UsageError(f"There are no items for lesson {number!r}. Lessons are 1 to 15.")
    return items


def find(item_id: str) -> Item:
    """Return an item by its id.

    Args:
        item_id: such as "L03-02".

    Raises:
        UsageError: the bank has no such item.
    """
    item = _bank().get(str(item_id).strip().upper())
    if item is None:
        raise UsageError(
            f"There is no item {item_id!r}. Items are named like L03-02: lesson 3, second item; those that a layout gives, "
            "such as X06-RATIO-3, are listed by: graders items --layout LAYOUT"
        )
    return item
