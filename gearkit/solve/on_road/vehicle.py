"""A vehicle on the road: its data, and what one ratio gives it.

Units inside: kg, m, m/s, r/min, N·m, N. The engine drives the transmission's input without slip, tyres do not slip, and
rotating masses are left out. Forces (common practice, no source):

* tractive effort = engine torque * ratio * final drive * driveline efficiency / rolling radius;
* road load = rolling coefficient * m * g + 1/2 * air density * drag area * v**2 + m * g * sin(slope), with the rolling
  force taken as on the flat; grade = tan(slope).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, fields
from itertools import pairwise
from math import asin, atan, pi, sin, sqrt, tan

from gearkit.train.layout import Source
from gearkit.words.errors import UsageError

GRAVITY = 9.81
AIR_DENSITY = 1.2
# Beyond any vehicle: larger figures are slips of the pen.
MOST = 1e6
_TYRE = re.compile(r"\s*(\d{3})\s*/\s*(\d{2})\s*[-ZRzr ]*\s*(\d{2}(?:\.5)?)\s*")


@dataclass(frozen=True)
class EngineCurve:
    """Full-load torque against engine speed, straight between the points.

    Args:
        points: (r/min, N·m), speeds rising.

    Raises:
        UsageError: fewer than two points, speeds that do not rise, or a torque of 0 or less.
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise UsageError(f"Engine curve: {len(self.points)} points; give at least two, as [r/min, N·m].")
        for speed, torque in self.points:
            if not (0 < speed <= MOST and 0 < torque <= MOST):
                raise UsageError(
                    f"Engine curve: {torque:g} N·m at {speed:g} r/min; speeds and torques are above 0 and at most {MOST:g}."
                )
        for (before, _), (after, _) in pairwise(self.points):
            if after <= before:
                raise UsageError(f"Engine curve: {after:g} r/min after {before:g} r/min; let the speeds rise.")

    @property
    def lowest(self) -> float:
        """Lowest speed of the curve, in r/min."""
        return self.points[0][0]

    @property
    def highest(self) -> float:
        """Highest speed of the curve, in r/min."""
        return self.points[-1][0]

    def torque(self, speed: float) -> float | None:
        """Return the full-load torque at a speed in r/min; None outside the curve."""
        for (low, at_low), (high, at_high) in pairwise(self.points):
            if low <= speed <= high:
                return at_low + (at_high - at_low) * (speed - low) / (high - low)
        return None

    def pieces(self) -> Iterator[tuple[float, float, float, float]]:
        """Yield (lowest speed, highest speed, torque at 0 r/min, slope) of every straight piece, highest first."""
        for (low, at_low), (high, at_high) in reversed(list(pairwise(self.points))):
            slope = (at_high - at_low) / (high - low)
            yield low, high, at_low - slope * low, slope


@dataclass(frozen=True)
class Vehicle:
    """What a vehicle brings to the road.

    Args:
        name: its name.
        mass: kg.
        final_drive: propeller shaft speed / wheel speed.
        rolling_radius: m; loaded, so a few per cent less than the free radius of the tyre.
        rolling_coefficient: rolling force / weight.
        driveline_efficiency: from engine to wheels.
        engine: full-load curve.
        source: where the data come from.
        drag_area: drag coefficient * frontal area, m²; 0 leaves the air out.
        air_density: kg/m³.

    Raises:
        UsageError: a value outside what it can be.
    """

    name: str
    mass: float
    final_drive: float
    rolling_radius: float
    rolling_coefficient: float
    driveline_efficiency: float
    engine: EngineCurve
    source: Source
    drag_area: float = 0.0
    air_density: float = AIR_DENSITY

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if not isinstance(value, int | float):
                continue
            low_ok = value >= 0 if field.name in ("drag_area", "rolling_coefficient") else value > 0
            high = 1 if field.name in ("driveline_efficiency", "rolling_coefficient") else MOST
            # Not a number is neither above nor below anything.
            if not (low_ok and value <= high):
                words = field.name.replace("_", " ")
                raise UsageError(f"Vehicle {self.name}: {words} {value:g}; it must be above 0 and at most {high:g}.")

    @property
    def weight(self) -> float:
        """Mass times gravity, in N."""
        return self.mass * GRAVITY


@dataclass(frozen=True)
class TopSpeed:
    """The highest steady speed in a range.

    Args:
        speed: m/s.
        engine_speed: r/min.
        by_load: the road load ends it (True), or the highest engine speed (False).
    """

    speed: float
    engine_speed: float
    by_load: bool


def road_speed(vehicle: Vehicle, ratio: float, engine_speed: float) -> float:
    """Return the road speed in m/s; below 0 in reverse.

    Args:
        vehicle: the vehicle.
        ratio: transmission ratio, not 0.
        engine_speed: r/min.
    """
    return 2 * pi * vehicle.rolling_radius * engine_speed / (60 * ratio * vehicle.final_drive)


def engine_speed(vehicle: Vehicle, ratio: float, speed: float) -> float:
    """Return the engine speed in r/min.

    Args:
        vehicle: the vehicle.
        ratio: transmission ratio.
        speed: road speed in m/s, below 0 in reverse.
    """
    return speed * 60 * ratio * vehicle.final_drive / (2 * pi * vehicle.rolling_radius)


def tractive_effort(vehicle: Vehicle, ratio: float, engine_torque: float) -> float:
    """Return the force at the tyres in N, in the sense of the drive.

    Args:
        vehicle: the vehicle.
        ratio: transmission ratio; its sign does not matter.
        engine_torque: N·m.
    """
    return engine_torque * abs(ratio) * vehicle.final_drive * vehicle.driveline_efficiency / vehicle.rolling_radius


def road_load(vehicle: Vehicle, speed: float, grade: float = 0.0) -> float:
    """Return the force that holds a steady speed, in N.

    Args:
        vehicle: the vehicle.
        speed: m/s.
        grade: rise / run, such as 0.06; below 0 downhill.
    """
    drag = vehicle.air_density * vehicle.drag_area * speed**2 / 2
    return vehicle.weight * (vehicle.rolling_coefficient + sin(atan(grade))) + drag


def grade_held(vehicle: Vehicle, effort: float, speed: float = 0.0) -> float | None:
    """Return the steepest grade (rise / run) that an effort holds; None where it would hold the vehicle upright.

    Args:
        vehicle: the vehicle.
        effort: tractive effort in N.
        speed: m/s.
    """
    sine = (effort - road_load(vehicle, speed)) / vehicle.weight
    return tan(asin(sine)) if abs(sine) < 1 else None


def top_speed(vehicle: Vehicle, ratio: float, grade: float = 0.0) -> TopSpeed | None:
    """Return the highest steady speed at full load; None where no speed of the engine curve holds the grade.

    Args:
        vehicle: the vehicle.
        ratio: transmission ratio.
        grade: rise / run.
    """
    per_torque = tractive_effort(vehicle, ratio, 1.0)
    per_speed = abs(road_speed(vehicle, ratio, 1.0))
    still = road_load(vehicle, 0.0, grade)
    drag = vehicle.air_density * vehicle.drag_area * per_speed**2 / 2
    for low, high, start, slope in vehicle.engine.pieces():
        # What is left for acceleration: effort less road load, a parabola in the engine speed.
        left = (-drag, per_torque * slope, per_torque * start - still)
        if _at(left, high) >= 0:
            return TopSpeed(high * per_speed, high, high < vehicle.engine.highest)
        crossing = [root for root in _roots(*left) if low <= root <= high]
        if crossing:
            return TopSpeed(max(crossing) * per_speed, max(crossing), True)
    return None


def free_radius(tyre: str) -> float:
    """Return the unloaded radius of a tyre in m; the rolling radius is a few per cent less.

    Args:
        tyre: its marking: width in mm, sidewall height in per cent of it, rim in inches, such as "215/65 R16".

    Raises:
        UsageError: no such marking.

    >>> round(free_radius("215/65 R16"), 5)
    0.34295
    """
    match = _TYRE.fullmatch(tyre)
    if match is None:
        raise UsageError(f"Tyre {tyre!r}: write width, height and rim as on its side, such as '215/65 R16'.")
    width, height, rim = (float(part) for part in match.groups())
    return (rim * 25.4 + 2 * width * height / 100) / 2000


def _at(parabola: tuple[float, float, float], x: float) -> float:
    return (parabola[0] * x + parabola[1]) * x + parabola[2]


def _roots(square: float, linear: float, constant: float) -> list[float]:
    if square == 0:
        return [-constant / linear] if linear else []
    inside = linear**2 - 4 * square * constant
    if inside < 0:
        return []
    return [(-linear + sign * sqrt(inside)) / (2 * square) for sign in (1, -1)]
