"""Quantities with units, metric and US customary, both ways.

Texts such as "1900 kg", "62 mph" or "133 lb·ft" become numbers in the kit's own units: kg, m, m/s, r/min, N·m, N, m².
Only the units listed here are read, so a text can neither name something else nor be reckoned with. The conversions are
those of the units library.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any

from gearkit.words.errors import UsageError


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
    """How one measure is written: spelling -> name in the units library, the kit's own unit, and what is shown."""

    spellings: dict[str, str]
    own: str
    shown: dict[Units, str]


_KINDS = {
    Measure.MASS: _Kind({"kg": "kg", "t": "metric_ton", "lb": "lb"}, "kg", {Units.SI: "kg", Units.US: "lb"}),
    Measure.LENGTH: _Kind(
        {"m": "m", "cm": "cm", "mm": "mm", "in": "inch", "ft": "foot"}, "m", {Units.SI: "m", Units.US: "in"}
    ),
    Measure.ROAD_SPEED: _Kind(
        {"m/s": "m/s", "km/h": "km/hour", "mph": "mile/hour"}, "m/s", {Units.SI: "km/h", Units.US: "mph"}
    ),
    Measure.ENGINE_SPEED: _Kind(
        {"r/min": "revolution/minute", "rpm": "revolution/minute", "rad/s": "radian/second"},
        "revolution/minute",
        {Units.SI: "r/min", Units.US: "r/min"},
    ),
    Measure.TORQUE: _Kind(
        {"N·m": "N*m", "Nm": "N*m", "N*m": "N*m", "lb·ft": "lbf*foot", "lbf·ft": "lbf*foot", "lb*ft": "lbf*foot"},
        "N*m",
        {Units.SI: "N·m", Units.US: "lbf·ft"},
    ),
    Measure.FORCE: _Kind({"N": "N", "kN": "kN", "lbf": "lbf"}, "N", {Units.SI: "N", Units.US: "lbf"}),
    Measure.AREA: _Kind(
        {"m^2": "m**2", "m²": "m**2", "ft^2": "foot**2", "ft²": "foot**2"}, "m**2", {Units.SI: "m²", Units.US: "ft²"}
    ),
    Measure.DENSITY: _Kind(
        {"kg/m^3": "kg/m**3", "kg/m³": "kg/m**3", "lb/ft^3": "lb/foot**3", "lb/ft³": "lb/foot**3"},
        "kg/m**3",
        {Units.SI: "kg/m³", Units.US: "lb/ft³"},
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
        raise UsageError(f"{text!r} is no {measure}: write a number and a unit, such as {_example(measure)}.")
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
    if unit not in kind.spellings:
        found = f"the unit {unit!r}" if unit else "no unit"
        raise UsageError(f"The {measure} has {found}: write one of {', '.join(kind.spellings)}.")
    return _converted(value, kind.spellings[unit], kind.own)


def in_units(value: float, measure: Measure, units: Units) -> tuple[float, str]:
    """Return a value of the kit's own unit in a system, with the unit's sign.

    Args:
        value: in the kit's own unit.
        measure: what it measures.
        units: SI or US.
    """
    kind = _KINDS[measure]
    unit = kind.shown[units]
    return _converted(value, kind.own, kind.spellings[unit]), unit


def _example(measure: Measure) -> str:
    return repr(f"100 {_KINDS[measure].shown[Units.SI]}")


def _converted(value: float, unit: str, wanted: str) -> float:
    if unit == wanted:
        return value
    return float(_registry().Quantity(value, unit).to(wanted).magnitude)


@lru_cache(maxsize=1)
def _registry() -> Any:
    # The library takes over half a second to load, so only what meets another unit than the kit's own waits for it.
    import pint

    return pint.UnitRegistry(cache_folder=None)
