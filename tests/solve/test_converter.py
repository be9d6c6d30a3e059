"""A torque converter with an engine: each state obeys the table and the curve; stall, coupling and lock-up."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from gearkit.solve.on_road.converter import at_turbine_speed, coupling_ratio, effort_curve, heat, stall
from gearkit.solve.on_road.road import at_speed, road_chart
from gearkit.solve.on_road.vehicle_file import find_vehicle
from gearkit.train.catalogue import find
from gearkit.train.drivers import Converter
from gearkit.words.errors import UsageError

VEHICLE = find_vehicle("college_van")
FOUND = find("converter_two_ranges").converter
assert FOUND is not None
CONVERTER: Converter = FOUND


def at_table(converter: Converter, ratio: float) -> tuple[float, float]:
    """Torque ratio and capacity factor at a speed ratio, straight between the points, written again."""
    import numpy as np

    xs = [float(x) for x in converter.speed_ratio]
    columns = (converter.torque_ratio, converter.capacity_factor)
    first, second = (float(np.interp(ratio, xs, [float(y) for y in column])) for column in columns)
    return first, second


def test_at_stall_the_turbine_stands_and_gains_the_tables_first_torque_ratio() -> None:
    held = stall(CONVERTER, VEHICLE)
    assert held is not None
    assert (held.speed_ratio, held.torque_ratio, held.efficiency) == (0, 2.05, 0)
    assert held.engine_speed == pytest.approx(142 * held.engine_torque**0.5, rel=1e-9)
    assert held.engine_torque == pytest.approx(VEHICLE.engine.torque(held.engine_speed), rel=1e-9)
    # All of the engine's power is heat.
    assert heat(held) == pytest.approx(held.engine_torque * held.engine_speed * 3.141592653589793 / 30000)


@pytest.mark.parametrize("turbine", [1.0, 300.0, 900.0, 1500.0, 2400.0, 3100.0])
def test_every_state_obeys_table_and_curve(turbine: float) -> None:
    point = at_turbine_speed(CONVERTER, VEHICLE, turbine)
    assert point is not None
    torque_ratio, factor = at_table(CONVERTER, point.speed_ratio)
    assert point.torque_ratio == pytest.approx(torque_ratio, rel=1e-9)
    assert point.engine_speed == pytest.approx(factor * point.engine_torque**0.5, rel=1e-8)
    assert point.engine_torque == pytest.approx(VEHICLE.engine.torque(point.engine_speed), rel=1e-8)
    assert 0 < point.efficiency <= 1


def test_coupling_is_where_torque_is_no_longer_gained() -> None:
    assert coupling_ratio(CONVERTER) == pytest.approx(0.86)
    fractions = [
        tuple(column) for column in (CONVERTER.speed_ratio[:4], CONVERTER.torque_ratio[:4], CONVERTER.capacity_factor[:4])
    ]
    assert coupling_ratio(Converter(*fractions)) is None


def test_beyond_the_table_only_the_lock_up_drives() -> None:
    assert at_turbine_speed(CONVERTER, VEHICLE, 4700.0) is None
    curve = effort_curve(CONVERTER, VEHICLE, 3.2)
    assert curve[-1].point is None
    assert curve[-1].locked_effort is not None
    assert curve[0].locked_effort is None


def test_the_converter_gains_effort_below_coupling_and_loses_speed_above_it() -> None:
    for one in effort_curve(CONVERTER, VEHICLE, 3.2, 25):
        if one.point is not None and one.effort is not None and one.locked_effort is not None:
            assert one.point.engine_speed > one.locked_speed
            if one.point.speed_ratio < 0.8:
                assert one.effort > one.locked_effort


def test_a_range_through_the_converter_starts_at_stall_and_ends_where_effort_meets_the_load() -> None:
    rows = {row.name: row for row in road_chart(find("converter_two_ranges"), VEHICLE).rows}
    assert [(row.name, row.through) for row in rows.values()] == [("1", "converter"), ("2", "converter"), ("2L", "lock-up")]
    held = stall(CONVERTER, VEHICLE)
    assert held is not None
    for name in ("1", "2"):
        # Effort by hand: engine torque times torque ratio, ratio, final drive and efficiency, over the rolling radius.
        by_hand = held.turbine_torque * rows[name].overall * VEHICLE.driveline_efficiency / VEHICLE.rolling_radius
        assert rows[name].largest_effort == pytest.approx(by_hand)
        assert rows[name].effort_at == pytest.approx(held.engine_speed)
        assert rows[name].after_upshift is None
    # Locked up it is the range of a vehicle without converter.
    most = max(torque for _, torque in VEHICLE.engine.points)
    locked = most * rows["2L"].overall * VEHICLE.driveline_efficiency / VEHICLE.rolling_radius
    assert rows["2L"].largest_effort == pytest.approx(locked)
    steep = {row.name: row for row in road_chart(find("converter_two_ranges"), VEHICLE, 0.15).rows}["2"]
    assert steep.top is not None
    assert steep.top.by_load
    [there] = [row for row in at_speed(find("converter_two_ranges"), VEHICLE, steep.top.speed, 0.15) if row.name == "2"]
    assert there.surplus == pytest.approx(0, abs=0.5)
    assert there.engine_speed == pytest.approx(steep.top.engine_speed)


def test_a_converter_with_machines_beside_it_is_refused_on_the_road() -> None:
    mixed = replace(find("power_split_one_set"), converter=CONVERTER)
    with pytest.raises(UsageError, match="the machines M1 and M2 and a converter"):
        road_chart(mixed, VEHICLE)
    small = Converter(*(tuple(map(Fraction, column)) for column in (("0", "0.9"), ("2", "1"), ("9", "9"))))
    with pytest.raises(UsageError, match="meet at no speed; give a capacity_factor"):
        road_chart(replace(find("converter_two_ranges"), converter=small), VEHICLE)
