"""A torque converter between an engine and a train: stall, coupling, lock-up, and the effort of a vehicle over its speed.

Speed ratio = turbine speed / pump speed, torque ratio = turbine torque / pump torque. The capacity factor K ties pump
speed n and pump torque T: ``n = K*sqrt(T)``, n in r/min and T in N·m. Torque ratio and K run straight between the table's
points (common practice, no source). The engine runs at full load where its torque is what the pump asks for.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import pi

from gearkit.solve.on_road.vehicle import Vehicle, engine_speed, road_load, road_speed, tractive_effort
from gearkit.train.drivers import Converter

_STEPS = 60


@dataclass(frozen=True)
class ConverterPoint:
    """Engine and converter at one turbine speed, engine at full load.

    Args:
        speed_ratio: turbine speed / pump speed.
        torque_ratio: turbine torque / pump torque.
        engine_speed: r/min; the pump's.
        engine_torque: N·m; the pump's.
    """

    speed_ratio: float
    torque_ratio: float
    engine_speed: float
    engine_torque: float

    @property
    def turbine_torque(self) -> float:
        """Torque on the train's input, in N·m."""
        return self.torque_ratio * self.engine_torque

    @property
    def efficiency(self) -> float:
        """Power out / power in of the converter."""
        return self.speed_ratio * self.torque_ratio


@dataclass(frozen=True)
class EffortPoint:
    """A vehicle at one road speed, in one range.

    Args:
        speed: m/s.
        point: engine and converter; None where the engine's curve and the converter's table have no such state.
        effort: tractive effort through the converter, in N; None as above.
        locked_speed: engine speed with the lock-up applied, in r/min.
        locked_effort: tractive effort with it, in N; None outside the engine's curve.
        load: road load on the flat, in N.
    """

    speed: float
    point: ConverterPoint | None
    effort: float | None
    locked_speed: float
    locked_effort: float | None
    load: float


def coupling_ratio(converter: Converter) -> float | None:
    """Return the speed ratio from which the converter no longer gains torque; None where its table ends before.

    Args:
        converter: the converter.
    """
    points = list(zip(converter.speed_ratio, converter.torque_ratio, strict=True))
    for (low, at_low), (high, at_high) in pairwise(points):
        if at_low > 1 >= at_high:
            return float(low + (high - low) * (at_low - 1) / (at_low - at_high))
    return 0.0 if points[0][1] <= 1 else None


def at_turbine_speed(converter: Converter, vehicle: Vehicle, turbine_speed: float) -> ConverterPoint | None:
    """Return where engine and converter settle at full load; None where the curve and the table have no such state.

    Args:
        converter: the converter.
        vehicle: its engine's full-load curve.
        turbine_speed: r/min, 0 or above.
    """
    curve, last = vehicle.engine, float(converter.speed_ratio[-1])
    low, high = max(curve.lowest, turbine_speed / last), curve.highest

    def surplus(speed: float) -> float:
        """What the pump asks for beyond what the engine gives; it grows with the engine speed."""
        factor = _between(converter, turbine_speed / speed, converter.capacity_factor)
        given = curve.torque(speed)
        assert given is not None
        return (speed / factor) ** 2 - given

    if low > high or surplus(low) > 0 or surplus(high) < 0:
        return None
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (low, middle) if surplus(middle) > 0 else (middle, high)
    torque = curve.torque(low)
    assert torque is not None
    ratio = turbine_speed / low
    return ConverterPoint(ratio, _between(converter, ratio, converter.torque_ratio), low, torque)


def stall(converter: Converter, vehicle: Vehicle) -> ConverterPoint | None:
    """Return engine and converter with the turbine held.

    Args:
        converter: the converter.
        vehicle: its engine's full-load curve.
    """
    return at_turbine_speed(converter, vehicle, 0.0)


def effort_curve(converter: Converter, vehicle: Vehicle, ratio: float, points: int = 13) -> tuple[EffortPoint, ...]:
    """Return tractive effort over road speed in one range, from standstill to the engine's highest speed locked up.

    Args:
        converter: the converter.
        vehicle: the vehicle.
        ratio: transmission ratio, above 0.
        points: how many, two or more.
    """
    fastest = road_speed(vehicle, ratio, vehicle.engine.highest)
    curve = []
    for number in range(points):
        speed = fastest * number / (points - 1)
        turbine = engine_speed(vehicle, ratio, speed)
        point = at_turbine_speed(converter, vehicle, turbine)
        effort = tractive_effort(vehicle, ratio, point.turbine_torque) if point else None
        torque = vehicle.engine.torque(min(turbine, vehicle.engine.highest))
        locked = None if torque is None else tractive_effort(vehicle, ratio, torque)
        curve.append(EffortPoint(speed, point, effort, turbine, locked, road_load(vehicle, speed)))
    return tuple(curve)


def heat(point: ConverterPoint) -> float:
    """Return the power that the converter turns into heat, in kW.

    Args:
        point: engine and converter.
    """
    return point.engine_torque * point.engine_speed * 2 * pi / 60000 * (1 - point.efficiency)


def _between(converter: Converter, ratio: float, column: tuple[object, ...]) -> float:
    values = [(float(at), float(value)) for at, value in zip(converter.speed_ratio, column, strict=True)]  # type: ignore[arg-type]  # a table was checked when it was read
    for (low, at_low), (high, at_high) in pairwise(values):
        if ratio <= high:
            return at_low + (at_high - at_low) * (ratio - low) / (high - low)
    return values[-1][1]
