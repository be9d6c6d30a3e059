"""What is needed: parts with print time and filament, screws and tools."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from gearkit.make.whole.half_section.joints import SCREWS
from gearkit.make.whole.model import Whole
from gearkit.make.whole.solids import Made
from gearkit.words.say import say

# Common practice, no source: three lines of wall, a fifth of the inside filled, 0.2 mm layers' share of the nozzle, 50 mm/s,
# a sixth of the time for moves without printing, filament of 1.75 mm at 1.24 g/cm3.
_LINES, _FILLED, _LAYER, _SPEED, _IDLE = 3, 0.2, 0.5, 50.0, 6 / 5
_FILAMENT, _DENSITY = 1.75, 1.24
LID_SCREW = 16


@dataclass(frozen=True)
class Effort:
    """What printing takes.

    Args:
        minutes: of printing.
        metres: of filament.
        grams: of plastic.
    """

    minutes: float
    metres: float
    grams: float

    def __add__(self, other: Effort) -> Effort:
        """Return both together."""
        return Effort(self.minutes + other.minutes, self.metres + other.metres, self.grams + other.grams)

    @property
    def told(self) -> str:
        """In words."""
        hours, minutes = divmod(round(self.minutes), 60)
        return say(
            "{hours} h {minutes} min, {metres} m of filament, {grams} g",
            hours=hours,
            minutes=f"{minutes:02d}",
            metres=f"{self.metres:.0f}",
            grams=f"{self.grams:.0f}",
        )


def effort(made: Made, nozzle: float) -> Effort:
    """Return what printing a kind of part takes, all of them; an estimate.

    Args:
        made: the part.
        nozzle: opening of the nozzle, mm.
    """
    volume, line = made.solid.volume(), 1.1 * nozzle
    shell = min(volume, made.solid.surface_area() * _LINES * line)
    plastic = (shell + _FILLED * (volume - shell)) * made.count
    seconds = plastic / (line * _LAYER * nozzle * _SPEED) * _IDLE
    return Effort(seconds / 60, plastic / (math.pi * _FILAMENT**2 / 4) / 1000, plastic * _DENSITY / 1000)


def total(whole: Whole) -> Effort:
    """Return what printing everything takes."""
    return sum((effort(made, whole.printer.nozzle) for made in whole.made), Effort(0.0, 0.0, 0.0))


def size(made: Made) -> tuple[float, float, float]:
    """Return length, width and height of a part as it stands on the bed, mm."""
    x0, y0, z0, x1, y1, z1 = made.solid.bounding_box()
    return x1 - x0, y1 - y0, z1 - z0


def screws(whole: Whole) -> list[tuple[int, str]]:
    """Return how many of which screws and what else is bought."""
    grub = Counter(lock.length for lock in whole.locks)
    things = [
        (count, say("set screw M3 × {length} mm with a hexagon socket (1.5 mm key)", length=length))
        for length, count in sorted(grub.items())
    ]
    things.append((SCREWS, say("screw M3 × {LID_SCREW} mm for the casing", LID_SCREW=LID_SCREW)))
    deep = max(whole.train.outside - lock.drum[1] for lock in whole.locks) if whole.locks else 0.0
    things.append((1, say("hexagon key 1.5 mm, its blade at least {value} mm long", value=math.ceil((deep + 15) / 10) * 10)))
    things.append((1, say("small tube of glue for plastics, for the joints")))
    return things


def table(whole: Whole) -> list[tuple[str, str, int, tuple[float, float, float], Effort]]:
    """Return name, words, count, size on the bed and effort of every kind of part."""
    return [(made.name, made.words, made.count, size(made), effort(made, whole.printer.nozzle)) for made in whole.made]
