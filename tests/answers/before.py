"""Variants as they were drawn before an item came to draw more: what was handed out then has to go on as it was."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import Item


def drawn_before(item: Item, seed: str = "before") -> Variant:
    """The variant that a seed gave then."""
    return next(iter(variants.tried(item, seed.encode(), before=True)))


def several_before(item: Item, number: int) -> Iterator[Variant]:
    """Some of them."""
    return (drawn_before(item, f"before {count}") for count in range(number))
