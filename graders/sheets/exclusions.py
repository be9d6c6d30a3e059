"""Items that must not stand on one sheet, because one prints what the other asks for."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from gearkit.answers.item import Item


def clash(first: Item, second: Item) -> bool:
    """Return whether one of two items prints what the other asks for.

    Args:
        first: an item.
        second: another; the order does not matter.
    """
    return second.id in first.excludes or first.id in second.excludes


def told_by(item: Item, others: Sequence[Item]) -> tuple[str, ...]:
    """Return the items that clash with one.

    Args:
        item: the item.
        others: the items of its sheet; itself may be among them.
    """
    return tuple(other.id for other in others if clash(item, other))


def apart(items: Sequence[Item], named: Collection[str]) -> tuple[tuple[Item, ...], tuple[str, ...]]:
    """Return the items of which none tells another's answer, and those left out for that.

    An item that was named by its id stays; of two others the one that says what it excludes goes, for it clashes with
    many. Where both were named by id, both stay: the instructor wants them, and `variant_check` warns.

    Args:
        items: the items in the order of the sheet.
        named: ids that were named one by one.
    """
    gone: set[str] = set()
    for item in sorted(items, key=lambda item: item.id not in named):
        clashing = {other.id for other in items if other.id in item.excludes} - gone
        if clashing and item.id in named:
            gone |= clashing - set(named)
        elif clashing:
            gone.add(item.id)
    return tuple(item for item in items if item.id not in gone), tuple(sorted(gone))
