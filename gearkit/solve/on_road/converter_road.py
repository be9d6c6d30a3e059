"""What a range does on the road where a torque converter stands between engine and train.

Units inside: m/s, r/min, N, as in `vehicle`. The range's ratio counts from the turbine; engine and turbine settle at full load
as `converter` says. With the lock-up applied the range is one without converter.
"""

from __future__ import annotations

from collections.abc import Callable

from gearkit.solve.on_road.converter import ConverterPoint, at_turbine_speed
from gearkit.solve.on_road.vehicle import TopSpeed, Vehicle, engine_speed, road_load, road_speed, tractive_effort
from gearkit.train.drivers import Converter
from gearkit.words.errors import UsageError

_STEPS = 60
_PARTS = 400


def through(converter: Converter, vehicle: Vehicle, ratio: float, speed: float) -> tuple[ConverterPoint, float] | None:
    """Return engine and converter at a road speed with the tractive effort in N; None where they have no such state.

    Args:
        converter: the converter.
        vehicle: the vehicle.
        ratio: transmission ratio; its sign does not matter.
        speed: m/s, 0 or above.
    """
    point = at_turbine_speed(converter, vehicle, engine_speed(vehicle, abs(ratio), speed))
    return None if point is None else (point, tractive_effort(vehicle, ratio, point.turbine_torque))


def largest_effort(converter: Converter, vehicle: Vehicle, ratio: float) -> tuple[float, float]:
    """Return the largest tractive effort in N and the engine speed there; that is at stall for most engines.

    Args:
        converter: the converter.
        vehicle: the vehicle.
        ratio: transmission ratio; its sign does not matter.

    Raises:
        UsageError: the engine's curve and the converter's table have no state in common.
    """
    states = [state for speed in _speeds(vehicle, ratio) if (state := through(converter, vehicle, ratio, speed))]
    if not states:
        raise UsageError(
            f"{vehicle.name}: its engine's curve, {vehicle.engine.lowest:g} to {vehicle.engine.highest:g} r/min, and this "
            "converter's table meet at no speed; give a capacity_factor that fits the engine."
        )
    point, effort = max(states, key=lambda state: state[1])
    return effort, point.engine_speed


def top_speed_through(converter: Converter, vehicle: Vehicle, ratio: float, grade: float = 0.0) -> TopSpeed | None:
    """Return the highest steady speed at full load through the converter; None where no speed holds the grade.

    Args:
        converter: the converter.
        vehicle: the vehicle.
        ratio: transmission ratio; its sign does not matter.
        grade: rise / run.
    """

    def there(speed: float) -> bool:
        return through(converter, vehicle, ratio, speed) is not None

    def holds(speed: float) -> bool:
        state = through(converter, vehicle, ratio, speed)
        return state is not None and state[1] >= road_load(vehicle, speed, grade)

    steps = _speeds(vehicle, ratio)
    reached = [speed for speed in steps if there(speed)]
    able = [speed for speed in steps if holds(speed)]
    if not able:
        return None
    by_load = any(speed > able[-1] for speed in reached)
    top = _last(holds if by_load else there, able[-1], able[-1] + steps[1])
    state = through(converter, vehicle, ratio, top)
    assert state is not None, "a speed that is reached has a state"
    return TopSpeed(top, state[0].engine_speed, by_load)


def _speeds(vehicle: Vehicle, ratio: float) -> list[float]:
    """Road speeds from standstill to the highest locked up, which is never reached: the turbine runs no faster than the engine."""
    fastest = road_speed(vehicle, abs(ratio), vehicle.engine.highest)
    return [fastest * part / _PARTS for part in range(_PARTS + 1)]


def _last(true: Callable[[float], bool], low: float, high: float) -> float:
    """The largest speed for which something is true, which it is at the first and not at the second."""
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if true(middle) else (low, middle)
    return low
