"""The mark of a member: its letter in a shape of its own, edged in the colour of its shaft; the same in all pictures."""

from __future__ import annotations

import math

from gearkit.draw.core.shaft_code import HOUSING_CODE, ShaftCode
from gearkit.draw.core.svg import Group, Look, Text
from gearkit.words.terms import MEMBERS

LETTERS = dict(zip(MEMBERS, ("S", "C", "R"), strict=True))
RADIUS, SMALL = 8.5, 5.0
TYPE = 11.0
# Of a set by itself, which has no shafts: as in the live panels of one set.
OWN_CODES = {"sun": ShaftCode("red"), "carrier": ShaftCode("green"), "ring": ShaftCode("blue")}


def member_mark(group: Group, x: float, y: float, member: str, code: ShaftCode = HOUSING_CODE, *, letter: bool = True) -> None:
    """Draw the mark of a member: S in a circle, C in a square, R in a triangle.

    Args:
        group: where to.
        x: its middle.
        y: its middle.
        member: "sun", "carrier" or "ring".
        code: of its shaft.
        letter: False for the shape alone, smaller, where there is no room.
    """
    inner = group.group({"mark": member})
    look = Look(code.role, "paper", 1.8)
    radius = RADIUS if letter else SMALL
    if member == "sun":
        inner.circle((x, y), radius, look)
    else:
        # Both have about the circle's area; the triangle's middle lies below half its height.
        corners, start, reach, low = (4, math.pi / 4, 1.3, 0.0) if member == "carrier" else (3, -math.pi / 2, 1.75, 0.12)
        angles = [start + 2 * math.pi * corner / corners for corner in range(corners)]
        points = [(x + radius * reach * math.cos(a), y + radius * (reach * math.sin(a) - low)) for a in angles]
        inner.polyline(points, look, closed=True)
    if letter:
        inner.text(Text(x, y + TYPE * 0.36, LETTERS[member], TYPE, "middle", True, overlay=True))
