"""What was drawn for a learner, as plain data to keep; and the learner's variant made of it again.

Kept are the drawn values only: tooth counts, numbers, and what a rule drew besides. Answers never are; they are worked
out anew each time. With the values stands a fingerprint of what they were used to ask, so that an item which has come to
ask something else is noticed instead of being marked against a question that nobody was given.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import partial
from typing import Any

from gearkit.answers.comparison.formulas import pairs_of
from gearkit.answers.draw_numbers import pool, shared_teeth
from gearkit.answers.draw_numbers.drawn_values import visible
from gearkit.answers.draw_numbers.pool import Teeth
from gearkit.answers.draw_numbers.seeded_random import Replay
from gearkit.answers.draw_numbers.variants import Variant, made_of
from gearkit.answers.item import Item
from gearkit.answers.layouts import own_teeth
from gearkit.answers.layouts.words import earlier_words
from gearkit.answers.rules import DrawnValues, build
from gearkit.words.errors import UsageError

# What of a text was drawn: numbers, and the letters of elements and members. Other words may be put better one day.
_DRAWN = re.compile(r"\d+(?:[./]\d+)?|\b[A-Z]\d?\b")
Kept = Mapping[str, Any]


class ChangedItemError(UsageError):
    """An item asks something else now than what was handed out."""


def kept(variant: Variant) -> dict[str, Any]:
    """Return what was drawn for a variant, as data that JSON can hold.

    Args:
        variant: the variant.
    """
    drawn = variant.drawn
    return {
        "numbers": {name: list(drawn.values[name].as_integer_ratio()) for name in _names(variant.item)},
        "teeth": [list(vars(counts).values()) for counts in (*drawn.sets, *drawn.teeth)],
        "throws": [list(throw) for throw in variant.throws],
        "layout": _layout_of(variant.item),
        "asks": _asks(variant),
    }


def _layout_of(item: Item) -> str:
    """The name of a layout of the catalogue, or a word for the text of any other."""
    return shared_teeth.digest(item.draw.train) if item.draw.train else item.draw.layout


def variant_of(item: Item, data: Kept) -> Variant:
    """Return the variant that was handed out.

    Args:
        item: the item.
        data: what `kept` gave.

    Raises:
        ChangedItemError: the item does not make of these values any more what it made of them then.
    """
    try:
        drawn = _drawn_again(item, data)
        replay = Replay([(thrown, of) for thrown, of in data["throws"]])
        built = build(item, drawn, replay, handed_out=True)
        fits = built is not None and replay.ended
    except (LookupError, ValueError, TypeError, ArithmeticError, StopIteration) as fault:
        raise ChangedItemError(f"{item.id} ({fault})") from None
    if built is None or not fits:
        raise ChangedItemError(item.id)
    variant = made_of(item, drawn, built, tuple((thrown, of) for thrown, of in data["throws"]))
    if data["asks"] not in (_asks(variant), _asks(variant, _told_earlier(variant))):
        raise ChangedItemError(item.id)
    return variant


def _told_earlier(variant: Variant) -> Callable[[str], str]:
    """How a text was put when sets with names were told by numbers in questions."""
    layout = variant.layout
    return (lambda text: text) if layout is None else partial(earlier_words, layout)


def _names(item: Item) -> tuple[str, ...]:
    """The numbers of an item that are not counts of drawn sets."""
    return (*item.draw.numbers, *(name for name in item.draw.shown if name not in item.draw.numbers))


def _drawn_again(item: Item, data: Kept) -> DrawnValues:
    draw, teeth = item.draw, [Teeth(*counts) for counts in data["teeth"]]
    before = {name: Fraction(number).as_integer_ratio() for name, number in draw.later.items() if name not in data["numbers"]}
    given = {**before, **data["numbers"]}
    numbers = {name: given[name] for name in _names(item)}
    if set(given) != set(numbers) or data["layout"] != _layout_of(item):
        raise LookupError("other values are drawn now")
    own, layout = tuple(teeth[: len(draw.sets)]), tuple(teeth[len(draw.sets) :])
    if len(own) != len(draw.sets) or len(layout) != _count_of(item):
        raise LookupError("another number of sets is drawn now")
    values: dict[str, Fraction] = {}
    pairs: dict[str, tuple[int, int]] = {}
    if draw.train:
        values.update(own_teeth.letters(draw.train, layout))
        pairs.update(pairs_of(values))
    suffixed = () if draw.train else ((drawn, str(at)) for at, drawn in enumerate(layout, start=1))
    for counts, suffix in [*zip(own, draw.sets, strict=True), *suffixed]:
        their_values, their_pairs = pool.lettered(counts, suffix)
        values.update(their_values)
        pairs.update(their_pairs)
    for name, (above, below) in numbers.items():
        values[name] = Fraction(above, below)
        pairs[name] = (above, below)
    return DrawnValues(values, pairs, visible(item, values), pool.with_letters(draw.layout, values), layout, own, draw.train)


def _count_of(item: Item) -> int:
    """How many sets the layout of an item has."""
    if item.draw.train:
        return len(own_teeth.layout_in(item.draw.train).sets)
    return len(pool.layout_named(item.draw.layout).sets) if item.draw.layout else 0


def _asks(variant: Variant, told: Callable[[str], str] = str) -> str:
    """A fingerprint of what is asked: what was drawn into words and rows, what can be chosen in which order, the parts.

    Args:
        variant: the variant.
        told: how the text of it is put.
    """
    parts = [
        (part.name, tuple(map(told, part.options)), _DRAWN.findall(told(part.label)) if variant.throws else ())
        for part in variant.parts
    ]
    words = [(name, _DRAWN.findall(told(text))) for name, text in variant.words.items()]
    asked: tuple[object, ...] = (parts, words, variant.item.draw.hidden)
    if variant.drawn.values.get("version", 1) != 1:
        # The first question asks what it asked when there was no other.
        asked = (*asked, _DRAWN.findall(variant.item.prompt))
    return hashlib.sha256(repr(asked).encode()).hexdigest()[:12]
