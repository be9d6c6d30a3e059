"""The outline of a gear in front view, with involute flanks, in modules (pitch radius = teeth / 2).

Angles are radians, 0 to the right, growing clockwise on the page (y downwards). An outer gear has a tooth centred on
angle 0, a ring a tooth space.
"""

from __future__ import annotations

import math

PRESSURE_ANGLE = math.radians(20)
TIP = 1.0
ROOT = 1.25
# A little play between the flanks keeps their lines apart on the page.
PLAY = 0.05


def outline(teeth: int, *, internal: bool = False) -> list[tuple[float, float]]:
    """Return the closed outline of a gear's teeth.

    Args:
        teeth: tooth count, at least 4.
        internal: True for a ring, whose teeth point inwards.
    """
    pitch = teeth / 2
    inner = pitch - TIP if internal else max(pitch - ROOT, 0.25 * pitch)
    outer = pitch + ROOT if internal else pitch + TIP
    # The tooth space of a ring has the shape of an outer gear's tooth.
    play = -PLAY if internal else PLAY
    radii = (inner, (inner + pitch) / 2, pitch, outer)
    halves = [_half_angle(radius, pitch, play) for radius in radii]
    points = []
    for tooth in range(teeth):
        middle = 2 * math.pi * tooth / teeth
        flank = list(zip(radii, halves, strict=True))
        points += [(radius * math.cos(middle - half), radius * math.sin(middle - half)) for radius, half in flank]
        points += [(radius * math.cos(middle + half), radius * math.sin(middle + half)) for radius, half in flank[::-1]]
    return points


def tooth(teeth: int, index: int = 0) -> list[tuple[float, float]]:
    """Return the outline of one tooth of an outer gear.

    Args:
        teeth: tooth count of the gear.
        index: which tooth, counted clockwise from the one at angle 0.
    """
    return outline(teeth)[8 * index : 8 * index + 8]


def _half_angle(radius: float, pitch: float, play: float) -> float:
    """Half the angle that a tooth takes at a radius, by the involute of the base circle."""
    base = pitch * math.cos(PRESSURE_ANGLE)
    at_pitch = (math.pi / 2 - play) / (2 * pitch)
    angle = math.acos(base / radius) if radius > base else 0.0
    half = at_pitch + unwound(PRESSURE_ANGLE) - unwound(angle)
    return max(half, 0.12 / pitch)


def unwound(angle: float) -> float:
    """Return the involute function of a pressure angle, in radians."""
    return math.tan(angle) - angle
