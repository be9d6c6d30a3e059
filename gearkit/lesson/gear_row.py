"""A row of gears, each driving the next: speeds, directions and where the gears stand.

An external mesh reverses, an internal one does not; a gear in between changes the direction and nothing else. Lengths
are in modules (pitch radius = teeth / 2); the first gear stands at 0 and the row goes to the right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from gearkit.draw.core.svg import Look, Picture, Point, Text
from gearkit.draw.front.front_geometry import external_mesh, internal_mesh
from gearkit.draw.front.gear_outline import outline
from gearkit.text.phrases import exact_words
from gearkit.words.errors import UsageError
from gearkit.words.say import say

LEAST_TEETH = 8
# A pinion needs some room inside a ring before the tips of both clear each other.
ROOM_IN_RING = 8
_BODY = Look("ink", "wash", 1.4)
_PITCH = Look("soft", None, 1.0, (9, 3, 2, 3))


@dataclass(frozen=True)
class GearRow:
    """Gears in a row, the first of them driven.

    Args:
        teeth: tooth counts from the driver to the last gear, at least two.
        internal: the last gear is a ring round the one before it.

    Raises:
        UsageError: fewer than two gears, too few teeth, or a ring that is too small for the gear inside it.
    """

    teeth: tuple[int, ...]
    internal: bool = False

    def __post_init__(self) -> None:
        if len(self.teeth) < 2 or min(self.teeth) < LEAST_TEETH:
            raise UsageError(f"Gears {self.teeth}: give at least two tooth counts of {LEAST_TEETH} or more.")
        if self.internal and self.teeth[-1] < self.teeth[-2] + ROOM_IN_RING:
            raise UsageError(
                f"Ring with {self.teeth[-1]} teeth round a gear with {self.teeth[-2]}: it needs at least "
                f"{self.teeth[-2] + ROOM_IN_RING}."
            )

    @property
    def turns(self) -> tuple[Fraction, ...]:
        """Turns of each gear for one turn of the first, with their sign."""
        turns = [Fraction(1)]
        for number in range(1, len(self.teeth)):
            sign = 1 if self.internal and number == len(self.teeth) - 1 else -1
            turns.append(sign * turns[-1] * Fraction(self.teeth[number - 1], self.teeth[number]))
        return tuple(turns)

    @property
    def ratio(self) -> Fraction:
        """Speed of the first gear / speed of the last."""
        return 1 / self.turns[-1]

    def places(self) -> tuple[tuple[float, float], ...]:
        """Return for each gear where its centre is, and the angle of one of its teeth (a ring: of a tooth space)."""
        places = [(0.0, 0.0)]
        for number in range(1, len(self.teeth)):
            (centre, angle), first, second = places[-1], self.teeth[number - 1], self.teeth[number]
            if self.internal and number == len(self.teeth) - 1:
                # The ring's centre lies back to the left, so that the gear inside touches it on the right.
                places.append((centre - (second - first) / 2, internal_mesh(angle, first, second, 0.0)))
            else:
                places.append((centre + (first + second) / 2, external_mesh(angle, first, second, 0.0)))
        return tuple(places)

    def draw(self, scale: float = 3.0) -> str:
        """Return the row as SVG text with a text alternative.

        Args:
            scale: px for each module.
        """
        places = self.places()
        reach = [teeth / 2 + 6 for teeth in self.teeth]
        left = min(centre - radius for (centre, _), radius in zip(places, reach, strict=True))
        right = max(centre + radius for (centre, _), radius in zip(places, reach, strict=True))
        height = max(reach)
        words = self.words()
        drawn = Picture(title=say("Gears in a row"), description=words, kind="row", width=(right - left) * scale,
                        height=2 * height * scale + 26)  # fmt: skip
        for number in sorted(range(len(self.teeth)), key=lambda index: -self.teeth[index]):
            centre = ((places[number][0] - left) * scale, height * scale)
            self._gear(drawn, number, centre, scale)
        for number, (x, _) in enumerate(places):
            drawn.text(
                Text(
                    (x - left) * scale,
                    2 * height * scale + 16,
                    say("{teeth} teeth", teeth=self.teeth[number]),
                    13,
                    anchor="middle",
                )
            )
        return drawn.svg()

    def words(self) -> str:
        """Return teeth, directions and ratio in a sentence."""
        gears = ", ".join(
            (say("{teeth} teeth forward", teeth=teeth) if turn > 0 else say("{teeth} teeth reverse", teeth=teeth))
            for teeth, turn in zip(self.teeth, self.turns, strict=True)
        )
        kind = say("the last mesh is internal") if self.internal else say("all meshes are external")
        return say("{gears}; {kind}; ratio {ratio}.", gears=gears, kind=kind, ratio=exact_words(self.ratio))

    def _gear(self, drawn: Picture, number: int, centre: Point, scale: float) -> None:
        ring = self.internal and number == len(self.teeth) - 1
        angle = self.places()[number][1]
        group = drawn.group({"gear": str(number + 1)})
        if ring:
            group.circle(centre, (self.teeth[number] / 2 + 4) * scale, _BODY)
        points = [
            (centre[0] + scale * (x * math.cos(angle) - y * math.sin(angle)),
             centre[1] + scale * (x * math.sin(angle) + y * math.cos(angle)))
            for x, y in outline(self.teeth[number], internal=ring)
        ]  # fmt: skip
        group.polyline(points, Look("ink", "paper" if ring else "wash", 1.4), closed=True)
        group.circle(centre, self.teeth[number] / 2 * scale, _PITCH)
