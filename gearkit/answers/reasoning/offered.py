"""What can be asked about any layout: the same questions as in the lessons, about a layout that an instructor brings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.items import Draw, Item
from gearkit.answers.reasoning.lessons import ITEMS
from gearkit.answers.reasoning.rules import RULES
from gearkit.answers.rules.built_item import DrawnValues
from gearkit.train import catalogue
from gearkit.train.layout import Layout

# A question that does not come about in so many draws is not offered.
_TRIALS = 12


def items_of(layout: Layout, told: str) -> tuple[Item, ...]:
    """Return the items that a layout gives, each once; they keep the ids of the lessons' items that they are made from.

    Args:
        layout: any layout; its tooth counts stay as they are.
        told: the layout in words, put before each question.
    """
    text = catalogue.dumps(layout)
    return tuple(item for item in _made(text, told) if _comes_about(item))


def _made(text: str, told: str) -> Iterator[Item]:
    seen: set[tuple[str, str]] = set()
    for item in ITEMS:
        key = item.rule, item.option
        if item.draw.layout and key not in seen:
            seen.add(key)
            yield replace(item, draw=Draw(), option=f"{item.option}\n{text}", prompt=f"{told}\n\n{item.prompt}")


def _comes_about(item: Item) -> bool:
    return any(
        RULES[item.rule](item, DrawnValues({}, {}, {}), SeededRandom(f"offered {number}".encode())) for number in range(_TRIALS)
    )
