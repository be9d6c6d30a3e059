"""True involute outlines of spur gears in millimetres.

Standard teeth: addendum 1 module, dedendum 1.25 modules, pressure angle 20 degrees, no profile shift (proportions of
ISO 53:1998, from memory). A ring's teeth point inwards, so its tip circle is the smaller one. Angles are radians,
counter-clockwise as in a drawing with y upwards; an outer gear has a tooth centred on angle 0, a ring a tooth space.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from gearkit.draw.front.gear_outline import unwound
from gearkit.words.errors import GearkitError

PRESSURE_ANGLE = math.radians(20)
ADDENDUM = 1.0
DEDENDUM = 1.25
FEWEST_TEETH = 6
Point = tuple[float, float]


@dataclass(frozen=True)
class ToothedWheel:
    """One spur gear.

    Args:
        teeth: tooth count, at least 6.
        module: pitch diameter / teeth, in mm, above 0.
        internal: True for a ring.
        thinning: how much thinner than half the pitch each tooth is at the pitch circle, in mm; half the backlash.

    Raises:
        GearkitError: a value that no wheel can be made with.
    """

    teeth: int
    module: float
    internal: bool = False
    thinning: float = 0.0

    def __post_init__(self) -> None:
        if self.teeth < FEWEST_TEETH:
            raise GearkitError(f"A wheel of {self.teeth} teeth cannot be outlined; take {FEWEST_TEETH} or more.")
        if not self.module > 0:
            raise GearkitError(f"Module {self.module} mm: it must be above 0, such as 2.")
        if not 0 <= self.thinning < self.module * math.pi / 4:
            raise GearkitError(f"Thinning {self.thinning} mm leaves no tooth at module {self.module} mm; take less.")

    @property
    def pitch_radius(self) -> float:
        """Radius of the pitch circle, mm."""
        return self.module * self.teeth / 2

    @property
    def tip_radius(self) -> float:
        """Radius of the circle through the tips, mm."""
        return self.pitch_radius + self.module * (-ADDENDUM if self.internal else ADDENDUM)

    @property
    def root_radius(self) -> float:
        """Radius of the circle through the roots, mm."""
        return self.pitch_radius + self.module * (DEDENDUM if self.internal else -DEDENDUM)

    @property
    def base_radius(self) -> float:
        """Radius of the circle from which the involute unwinds, mm."""
        return self.pitch_radius * math.cos(PRESSURE_ANGLE)

    def half_thickness(self, radius: float) -> float:
        """Half the angle between the two flanks at a radius: of the tooth, or of the tooth space for a ring.

        Args:
            radius: in mm; below the base circle the flank is radial.
        """
        # A ring's tooth space is what an outer gear's tooth would fill, widened by the thinning instead of narrowed.
        play = -self.thinning if self.internal else self.thinning
        at_pitch = (math.pi * self.module / 2 - play) / (2 * self.pitch_radius)
        angle = math.acos(min(1.0, self.base_radius / radius))
        return at_pitch + unwound(PRESSURE_ANGLE) - unwound(angle)

    def outline(self, flank_points: int = 10, arc_points: int = 4) -> list[Point]:
        """Return the closed outline of the teeth, counter-clockwise, without repeating the first point.

        Args:
            flank_points: points on each flank, 3 or more.
            arc_points: points between flanks on tip and root, 1 or more.
        """
        low, high = sorted((self.tip_radius, self.root_radius))
        # Points crowd towards the base circle, where the involute bends most.
        steps = [(k / (flank_points - 1)) ** 1.5 for k in range(flank_points)]
        flank = [(radius, self.half_thickness(radius)) for radius in (low + (high - low) * step for step in steps)]
        pitch_angle = 2 * math.pi / self.teeth
        polar: list[Point] = []
        for tooth in range(self.teeth):
            middle = tooth * pitch_angle
            polar += [(radius, middle - half) for radius, half in flank]
            polar += _arc(high, middle - flank[-1][1], middle + flank[-1][1], arc_points)
            polar += [(radius, middle + half) for radius, half in reversed(flank)]
            polar += _arc(low, middle + flank[0][1], middle + pitch_angle - flank[0][1], arc_points)
        return [(radius * math.cos(angle), radius * math.sin(angle)) for radius, angle in polar]


def _arc(radius: float, start: float, stop: float, points: int) -> list[Point]:
    return [(radius, start + (stop - start) * k / (points + 1)) for k in range(1, points + 1)]


def circle(radius: float, points: int, centre: Point = (0.0, 0.0)) -> list[Point]:
    """Return a circle as a closed outline, counter-clockwise.

    Args:
        radius: in mm.
        points: corners.
        centre: in mm.
    """
    angles = (2 * math.pi * k / points for k in range(points))
    return [(centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)) for angle in angles]
