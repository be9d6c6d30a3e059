"""Quantities with units, metric and US customary, both ways.

Texts such as "1900 kg", "62 mph" or "133 lb·ft" become numbers in the kit's own units: kg, m, m/s, r/min, N·m, N, m².
Only the units listed here are read, so a text can neither name something else nor be reckoned with. The sizes of the
customary units are those of `gearkit.words.unit_sizes`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import pi

from gearkit.words.errors import UsageError
from gearkit.words.unit_sizes import FOOT, INCH, MILE, POUND, POUND_FORCE


class Units(StrEnum):
    """The system in which results are shown."""

    SI = "SI"
    US = "US"


class Measure(StrEnum):
    """What a quantity measures."""

    MASS = "mass"
    LENGTH = "length"
    ROAD_SPEED = "road speed"
    ENGINE_SPEED = "engine speed"
    TORQUE = "torque"
    FORCE = "force"
    AREA = "area"
    DENSITY = "density"


@dataclass(frozen=True)
class _Kind:
    """How one measure is written: spelling -> size in the kit's own unit, and the unit that each system shows."""

    sizes: dict[str, float]
    shown: dict[Units, str]


def _kind(shown_si: str, shown_us: str, sizes: dict[str, Fraction | int | float]) -> _Kind:
    return _Kind({name: float(size) for name, size in sizes.items()}, {Units.SI: shown_si, Units.US: shown_us})


_POUND_FOOT = POUND_FORCE * FOOT
_KINDS = {
    Measure.MASS: _kind("kg", "lb", {"kg": 1, "t": 1000, "lb": POUND}),
    Measure.LENGTH: _kind("m", "in", {"m": 1, "cm": Fraction(1, 100), "mm": Fraction(1, 1000), "in": INCH, "ft": FOOT}),
    Measure.ROAD_SPEED: _kind("km/h", "mph", {"m/s": 1, "km/h": Fraction(10, 36), "mph": MILE / 3600}),
    Measure.ENGINE_SPEED: _kind("r/min", "r/min", {"r/min": 1, "rpm": 1, "rad/s": 30 / pi}),
    Measure.TORQUE: _kind(
        "N·m",
        "lbf·ft",
        {
            "N·m": 1,
            "Nm": 1,
            "N*m": 1,
            "lb·ft": _POUND_FOOT,
            "lbf·ft": _POUND_FOOT,
            "lb*ft": _POUND_FOOT,
        },
    ),
    Measure.FORCE: _kind("N", "lbf", {"N": 1, "kN": 1000, "lbf": POUND_FORCE}),
    Measure.AREA: _kind("m²", "ft²", {"m^2": 1, "m²": 1, "ft^2": FOOT**2, "ft²": FOOT**2}),
    Measure.DENSITY: _kind(
        "kg/m³",
        "lb/ft³",
        {
            "kg/m^3": 1,
            "kg/m³": 1,
            "lb/ft^3": POUND / FOOT**3,
            "lb/ft³": POUND / FOOT**3,
        },
    ),
}
_TEXT = re.compile(r"\s*([-+−]?[0-9]+(?:\.[0-9]+)?)\s*(.*?)\s*")


def read_quantity(text: str, measure: Measure) -> float:
    """Return a quantity in the kit's own unit.

    Args:
        text: a number and a unit, such as "1900 kg" or "62 mph".
        measure: what it must measure.

    Raises:
        UsageError: no number, or no unit of this measure.
    """
    if "," in text:
        raise UsageError(f"{text!r} has a comma: write decimals with a point, and thousands without a comma.")
    match = _TEXT.fullmatch(text)
    if match is None:
        example = f"100 {_KINDS[measure].shown[Units.SI]}"
        raise UsageError(f"{text!r} is no {measure}: write a number and a unit, such as {example!r}.")
    return to_own(float(match[1].replace("−", "-")), match[2], measure)


def to_own(value: float, unit: str, measure: Measure) -> float:
    """Return a value in the kit's own unit.

    Args:
        value: the number.
        unit: its unit, as written.
        measure: what it measures.

    Raises:
        UsageError: the unit is none of this measure.
    """
    kind = _KINDS[measure]
    if unit not in kind.sizes:
        given = f"the unit {unit!r}" if unit else "no unit"
        raise UsageError(f"The {measure} has {given}: write one of {', '.join(kind.sizes)}.")
    return value * kind.sizes[unit]


def in_units(value: float, measure: Measure, units: Units) -> tuple[float, str]:
    """Return a value of the kit's own unit in a system, with the unit's sign.

    Args:
        value: in the kit's own unit.
        measure: what it measures.
        units: SI or US.
    """
    kind = _KINDS[measure]
    unit = kind.shown[units]
    return value / kind.sizes[unit], unit
