"""What a layout offers: all items about it for which numbers can be drawn."""

from __future__ import annotations

from functools import lru_cache

from gearkit.answers.draw_numbers.variants import is_served
from gearkit.answers.families import PLACES, Offer, known
from gearkit.answers.item import Item
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError


def offered(layout: Layout, place: int = 0) -> tuple[Offer, ...]:
    """Return all that can be asked about a layout, subject by subject, the easy ones first.

    Args:
        layout: any layout; one without a range that drives offers nothing.
        place: which of a sheet's layouts it is, counted from 0.

    Raises:
        UsageError: a sheet cannot hold so many layouts.
    """
    if not 0 <= place < len(PLACES):
        raise UsageError(f"At most {len(PLACES)} layouts can stand on a sheet.")
    return tuple(offer for offer in known(layout, place) if _can_be_drawn(offer.item))


@lru_cache(maxsize=4096)
def _can_be_drawn(item: Item) -> bool:
    """Whether numbers can be drawn for an item without a long search, tried twice."""
    return all(is_served(item, trial) for trial in ("first trial", "second trial"))
