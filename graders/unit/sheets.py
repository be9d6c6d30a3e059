"""The sheets of a unit, a graded one and one for practice, and the exercises of the lesson."""

from __future__ import annotations

import re
from pathlib import Path

from gearkit.answers import layout_items
from gearkit.train.layout import Layout
from graders.sheets import sheets
from graders.sheets.sheets import Sheet

MINUTES_PER_MARK = 1.5
_LONGEST = 24


def graded(file: Path, layout: Layout) -> Sheet:
    """Return a balanced graded sheet.

    Args:
        file: the layout's file.
        layout: what it holds.
    """
    return sheets.compose(str(file), f"{_slug(layout)}-sheet")


def practice(file: Path, layout: Layout) -> Sheet:
    """Return a practice sheet; its numbers are others, because a sheet's name is part of every draw.

    Args:
        file: the layout's file.
        layout: what it holds.
    """
    return sheets.compose(str(file), f"{_slug(layout)}-practice", kind="practice")


def of_lesson(layout: Layout) -> dict[str, tuple[str, ...]]:
    """Return the exercises of a lesson by section.

    Args:
        layout: the layout.
    """
    ratio_table, states, _ = layout_items.from_layout(layout)
    found: dict[str, tuple[str, ...]] = {"ranges": (ratio_table.id,)}
    if layout.elements and states.marks:
        found["states"] = (states.id,)
    return found


def _slug(layout: Layout) -> str:
    words = re.findall(r"[a-z0-9]+", layout.name.partition(":")[0].lower())
    named = [word for word in words if any(sign.isdigit() for sign in word)] or words[:2]
    return "-".join(named)[:_LONGEST].strip("-") or "unit"
