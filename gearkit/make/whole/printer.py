"""What a printer can do, and the sizes of a train that follow from it.

Where a figure is common practice it says so; nothing here is a maker's data.
"""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.draw.cutaway.sizes import Sizes
from gearkit.words.errors import GearkitError

# Common practice, no source: a wall of six lines up to 2.4 mm and of four beyond; a tooth nearly six lines thick at its
# pitch circle, four at least.
_WALL_LINES, _LEAST_WALL_LINES, _WALL = 6.0, 4.0, 2.4
_MODULE_LINES = 3.75
_LEAST_MODULE_LINES = 2.5
_STEP = 0.05


@dataclass(frozen=True)
class Printer:
    """A printer and how it is set.

    Args:
        bed: side of the square bed and height that can be printed, mm, 100 to 1000.
        nozzle: its opening, mm, 0.2 to 1.
        clearance: between a shaft and what turns on it, measured across one side, mm, 0.1 to 0.6; read from the fit gauge.

    Raises:
        GearkitError: a value out of its limits.
    """

    bed: float = 220.0
    nozzle: float = 0.4
    clearance: float = 0.3

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("bed", self.bed, 100.0, 1000.0),
            ("nozzle", self.nozzle, 0.2, 1.0),
            ("clearance", self.clearance, 0.1, 0.6),
        ):
            if not low <= value <= high:
                raise GearkitError(f"{name.capitalize()} {value:g} mm: give a value from {low:g} to {high:g} mm.")

    def modules(self) -> list[float]:
        """Return the modules to try in mm, the best one first."""
        best, least = _MODULE_LINES * self.nozzle, _LEAST_MODULE_LINES * self.nozzle
        return [round(best - _STEP * step, 2) for step in range(round((best - least) / _STEP) + 1)]

    def sizes(self, module: float) -> Sizes:
        """Return the lengths of a train to print.

        Args:
            module: pitch diameter / teeth of all its gears, mm.
        """
        wall = max(2.0, _LEAST_WALL_LINES * self.nozzle, min(_WALL_LINES * self.nozzle, _WALL))
        rim = max(2.6, wall)
        return Sizes(
            shaft=6.0,
            wall=wall,
            gap=self.clearance,
            disc=max(3.0, wall),
            side=0.8,
            face=10.0,
            plate=max(3.0, wall),
            pack=13.0,
            pack_height=2 * rim + 2.8,
            low_pack=4.0,
            rim=rim,
            pin=3.0,
            casing=6.0,
            stub=20.0,
            module=module,
        )
