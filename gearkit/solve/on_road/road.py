"""A layout in a vehicle: what every range does on the road.

Units inside: m/s, r/min, N; grades as rise / run. The ratios are the layout's own, exact; what they meet on the road is
measured, so the results are decimal numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from gearkit.solve.on_road.converter_road import largest_effort, through, top_speed_through
from gearkit.solve.on_road.vehicle import (
    TopSpeed,
    Vehicle,
    engine_speed,
    grade_held,
    road_load,
    road_speed,
    top_speed,
    tractive_effort,
)
from gearkit.solve.ratios import chart
from gearkit.solve.several.motions import motions
from gearkit.train.drivers import Converter, refuse_several
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import ENGINE, INPUT


@dataclass(frozen=True)
class RangeOnRoad:
    """One range in a vehicle.

    Args:
        name: the range.
        ratio: transmission ratio.
        overall: ratio * final drive.
        speed_per_1000: road speed at 1000 r/min, in m/s.
        largest_effort: largest tractive effort at full load, in N.
        effort_at: engine speed of it, in r/min.
        grade: steepest grade it holds; None where it would hold the vehicle upright.
        top: highest steady speed on the grade asked for; None where the range does not hold it.
        after_upshift: engine speed after the shift to the next higher range, from the highest engine speed, in r/min;
            None for the highest range, for reverse, and where a converter lets the engine go its own way.
        through: "" in a layout without converter, else "converter" or "lock-up": what joins engine and input.
    """

    name: str
    ratio: float
    overall: float
    speed_per_1000: float
    largest_effort: float
    effort_at: float
    grade: float | None
    top: TopSpeed | None
    after_upshift: float | None
    through: str = ""


@dataclass(frozen=True)
class RoadChart:
    """Every range of a layout in a vehicle.

    Args:
        layout: the layout.
        vehicle: the vehicle.
        grade: the grade on which the top speeds are reckoned.
        rows: the ranges, highest ratio first, reverse last.
    """

    layout: Layout
    vehicle: Vehicle
    grade: float
    rows: tuple[RangeOnRoad, ...]

    @property
    def fastest(self) -> RangeOnRoad | None:
        """The forward range with the highest top speed; None where no range holds the grade."""
        able = [row for row in self.rows if row.top is not None and row.ratio > 0]
        return max(able, key=lambda row: row.top.speed if row.top else 0.0, default=None)


@dataclass(frozen=True)
class AtSpeed:
    """One range at one road speed and full load.

    Args:
        name: the range.
        engine_speed: r/min; None where engine and converter have no such state.
        effort: tractive effort in N; None outside the engine's curve.
        surplus: effort less road load, in N.
        grade: steepest grade held at that speed.
    """

    name: str
    engine_speed: float | None
    effort: float | None
    surplus: float | None
    grade: float | None


def road_chart(layout: Layout, vehicle: Vehicle, grade: float = 0.0) -> RoadChart:
    """Return what every range of a layout does in a vehicle.

    Args:
        layout: the layout.
        vehicle: the vehicle.
        grade: rise / run for the top speeds, between -1 and 1.

    Raises:
        UsageError: a grade outside -1 to 1.
    """
    if not -1 < grade < 1:
        raise UsageError(f"Grade {100 * grade:g} %: give a grade between −100 and 100 %.")
    ladder = _ladder(layout)
    following = {low.name: high for low, high in pairwise(ladder) if high.ratio > 0}
    return RoadChart(layout, vehicle, grade, tuple(_on_road(row, following.get(row.name), vehicle, grade) for row in ladder))


def at_speed(layout: Layout, vehicle: Vehicle, speed: float, grade: float = 0.0) -> tuple[AtSpeed, ...]:
    """Return every forward range at a road speed and full load.

    Args:
        layout: the layout.
        vehicle: the vehicle.
        speed: m/s, above 0.
        grade: rise / run.

    Raises:
        UsageError: a speed of 0 or less.
    """
    if speed <= 0:
        raise UsageError(f"Road speed {speed:g} m/s: give a speed above 0.")
    load = road_load(vehicle, speed, grade)
    return tuple(_at_speed(row, vehicle, speed, load) for row in _ladder(layout) if row.ratio > 0)


@dataclass(frozen=True)
class _Range:
    """A range that drives, and what stands between engine and input in it: None for nothing, or a lock-up that is applied."""

    name: str
    ratio: float
    converter: Converter | None
    through: str


def _ladder(layout: Layout) -> list[_Range]:
    """Every range that drives: forward with the highest ratio first, then reverse."""
    if layout.converter is None:
        ranges = chart(layout)
        rows = [*ranges.forward, *(row for row in ranges.rows if row.ratio and row.ratio.exact < 0)]
        return [_Range(row.name, row.ratio.decimal, None, "") for row in rows if row.ratio]
    if layout.machines or len(layout.output_names) > 1:
        refuse_several(layout)
    driving = []
    for item in layout.ranges:
        moving = motions(layout, layout.engaged_in(item.name))
        if moving.ratio is not None:
            locked = moving.terminals.inputs[INPUT] == ENGINE
            through = "lock-up" if locked else "converter"
            driving.append(_Range(item.name, float(moving.ratio), None if locked else layout.converter, through))
    return sorted(driving, key=lambda row: (row.ratio < 0, -row.ratio if row.ratio > 0 else 0))


def _at_speed(row: _Range, vehicle: Vehicle, speed: float, load: float) -> AtSpeed:
    turning: float | None = engine_speed(vehicle, row.ratio, speed)
    if row.converter is None:
        assert turning is not None
        torque = vehicle.engine.torque(turning)
        effort = None if torque is None else tractive_effort(vehicle, row.ratio, torque)
    else:
        state = through(row.converter, vehicle, row.ratio, speed)
        turning, effort = (None, None) if state is None else (state[0].engine_speed, state[1])
    surplus = None if effort is None else effort - load
    held = None if effort is None else grade_held(vehicle, effort, speed)
    return AtSpeed(row.name, turning, effort, surplus, held)


def _on_road(row: _Range, following: _Range | None, vehicle: Vehicle, grade: float) -> RangeOnRoad:
    # Effort is torque times a constant, and the curve is straight between its points: the largest is at one of them.
    peak, torque = max(vehicle.engine.points, key=lambda point: point[1])
    most = (tractive_effort(vehicle, row.ratio, torque), peak)
    top = top_speed(vehicle, row.ratio, grade) if row.converter is None else None
    if row.converter is not None:
        most = largest_effort(row.converter, vehicle, row.ratio)
        top = top_speed_through(row.converter, vehicle, row.ratio, grade)
    follows = following is not None and row.through != "converter" and following.through != "converter"
    return RangeOnRoad(
        row.name,
        row.ratio,
        row.ratio * vehicle.final_drive,
        road_speed(vehicle, row.ratio, 1000.0),
        most[0],
        most[1],
        grade_held(vehicle, most[0]),
        top,
        vehicle.engine.highest * following.ratio / row.ratio if following and follows else None,
        row.through,
    )
