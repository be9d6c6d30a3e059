"""The sheets of a unit: a graded one that is balanced, one for practice with other items, and the exercises of the lesson."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import zip_longest
from pathlib import Path

from gearkit.answers.families import SUBJECTS, Offer
from gearkit.answers.offers import offered
from gearkit.train.layout import Layout
from graders.sheets import from_layout, sheets
from graders.sheets.sheets import Sheet

MINUTES_PER_MARK = 1.5
_IN_A_SECTION = 2
_SECTIONS = {
    "ranges": ("ratio", "direction", "speeds"), "states": ("power path", "chart", "one-way clutches"), "torque": ("torque", "efficiency"),
    "shifts": ("shifting",), "faults": ("faults",), "road": ("steps", "road"),
}  # fmt: skip
_LEVELS = ("easy", "middle", "hard")
_LONGEST = 24


def graded(file: Path, layout: Layout) -> Sheet:
    """Return a balanced graded sheet.

    Args:
        file: the layout's file.
        layout: what it holds.
    """
    return sheets.compose(str(file), f"{_slug(layout)}-sheet")


def practice(file: Path, layout: Layout, beside: Sheet) -> Sheet:
    """Return a practice sheet with other items than a graded one, or with its items and other numbers where there are no others.

    Args:
        file: the layout's file.
        layout: what it holds.
        beside: the graded sheet.
    """
    free = [offer for offer in offered(layout) if offer.id not in beside.item_ids]
    ids = [offer.id for offer in _turn_by_turn(free)][: from_layout.BALANCED] or list(beside.item_ids)
    return sheets.compose(str(file), f"{_slug(layout)}-practice", kind="practice", ask=ids)


def of_lesson(layout: Layout, beside: Sequence[str] = ()) -> dict[str, tuple[str, ...]]:
    """Return the exercises of a lesson by section: first the easy ones, and as far as can be none of a graded sheet.

    Args:
        layout: the layout.
        beside: items of the graded sheet.
    """
    by_section = {}
    for section, subjects in _SECTIONS.items():
        offers = [offer for offer in offered(layout) if offer.subject in subjects]
        free = [offer for offer in offers if offer.id not in beside] or offers
        families: dict[str, Offer] = {}
        for offer in sorted(free, key=lambda other: _LEVELS.index(other.level)):
            families.setdefault(offer.family, offer)
        ids = tuple(offer.id for offer in families.values())[: _IN_A_SECTION + (section == "ranges")]
        if ids:
            by_section[section] = ids
    return by_section


def by_subject(layout: Layout) -> list[tuple[str, int, int]]:
    """Return what can be asked: subject, number of exercises, their marks.

    Args:
        layout: the layout.
    """
    rows = [(subject, [offer.marks for offer in offered(layout) if offer.subject == subject]) for subject in SUBJECTS]
    return [(subject, len(marks), sum(marks)) for subject, marks in rows if marks]


def _turn_by_turn(offers: Sequence[Offer]) -> list[Offer]:
    """Subjects take turns; of two that tell each other's answers the first stays."""
    heaps = [[offer for offer in offers if offer.subject == subject] for subject in SUBJECTS]
    kept: list[Offer] = []
    for offer in (each_offer for turn in zip_longest(*heaps) for each_offer in turn if each_offer is not None):
        names = {item.id for item in kept}
        if not set(offer.item.excludes) & names and not any(offer.id in item.item.excludes for item in kept):
            kept.append(offer)
    return kept


def _slug(layout: Layout) -> str:
    words = re.findall(r"[a-z0-9]+", layout.name.partition(":")[0].lower())
    named = [word for word in words if any(sign.isdigit() for sign in word)] or words[:2]
    return "-".join(named)[:_LONGEST].strip("-") or "unit"
