"""On the road: the lessons' formulas by hand, forces that balance at top speed, units both ways."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import asin, pi, tan
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.on_road.quantities import Measure, Units, in_units, read_quantity
from gearkit.solve.on_road.road import at_speed, road_chart
from gearkit.solve.on_road.vehicle import (
    EngineCurve,
    Vehicle,
    engine_speed,
    free_radius,
    grade_held,
    road_load,
    road_speed,
    top_speed,
    tractive_effort,
)
from gearkit.solve.on_road.vehicle_file import find_vehicle, parse_vehicle
from gearkit.solve.ratios import chart
from gearkit.text.places import datasets
from gearkit.train.catalogue import find
from gearkit.words.errors import UsageError

VAN = find_vehicle("college_van")
KMH, MPH, POUND, INCH, FOOT = 1 / 3.6, 0.44704, 0.45359237, 0.0254, 0.3048
TIGHT = 1e-12


# --- the lessons' worked example ------------------------------------------------------------------------------------------


def test_second_at_2400_is_50_kilometres_an_hour() -> None:
    ratio = chart(find("Q24")).rows[2].ratio.decimal
    wheel = 2400 / (ratio * 4.1)
    assert road_speed(VAN, ratio, 2400) == pytest.approx(wheel / 60 * 2 * pi * 0.33, rel=TIGHT)
    assert round(road_speed(VAN, ratio, 2400) / KMH, 1) == 50.1


def test_first_pulls_5475_newtons_and_holds_a_grade_of_29_per_cent() -> None:
    effort = tractive_effort(VAN, 2.72, 180)
    assert effort == pytest.approx(180 * 2.72 * 4.1 * 0.90 / 0.33, rel=TIGHT)
    assert round(effort) == 5475
    assert grade_held(VAN, effort) == pytest.approx(tan(asin(effort / (1900 * 9.81) - 0.015)), rel=TIGHT)
    assert round(100 * grade_held(VAN, effort), 1) == 29.0


def test_a_tyre_of_215_65_16_is_half_a_rim_and_a_sidewall_high() -> None:
    assert free_radius("215/65 R16") == pytest.approx((16 * 25.4 + 2 * 215 * 0.65) / 2 / 1000, rel=TIGHT)
    assert free_radius("215/65-16") == free_radius(" 215 / 65 16 ")
    with pytest.raises(UsageError, match=r"Tyre '33 inch': write width, height and rim .* '215/65 R16'"):
        free_radius("33 inch")


@given(st.floats(0.3, 5), st.floats(500, 6000))
def test_engine_speed_undoes_road_speed(ratio: float, turning: float) -> None:
    assert engine_speed(VAN, ratio, road_speed(VAN, ratio, turning)) == pytest.approx(turning, rel=TIGHT)
    assert road_speed(VAN, -ratio, turning) == -road_speed(VAN, ratio, turning)


@given(st.floats(-0.3, 0.3), st.floats(0, 60))
def test_the_grade_held_by_the_load_of_a_grade_is_that_grade(grade: float, speed: float) -> None:
    assert grade_held(VAN, road_load(VAN, speed, grade), speed) == pytest.approx(grade, abs=1e-9)


def test_an_effort_above_the_weight_holds_any_grade() -> None:
    assert grade_held(VAN, 1.2 * VAN.weight) is None


# --- top speed -------------------------------------------------------------------------------------------------------------


def surplus(vehicle: Vehicle, ratio: float, turning: float, grade: float) -> float | None:
    torque = vehicle.engine.torque(turning)
    speed = abs(road_speed(vehicle, ratio, turning))
    return None if torque is None else tractive_effort(vehicle, ratio, torque) - road_load(vehicle, speed, grade)


@given(st.floats(0.4, 6), st.floats(-0.02, 0.4), st.sampled_from([0.0, 0.6, 3.0]))
@settings(max_examples=200)
def test_at_top_speed_effort_meets_load_and_above_it_never_does(ratio: float, grade: float, area: float) -> None:
    vehicle = replace(VAN, drag_area=area)
    found = top_speed(vehicle, ratio, grade)
    lowest, highest = vehicle.engine.lowest, vehicle.engine.highest
    if found is None:
        start = lowest
    else:
        assert found.speed == pytest.approx(road_speed(vehicle, ratio, found.engine_speed), rel=TIGHT)
        start = found.engine_speed
        at_top = surplus(vehicle, ratio, start, grade)
        assert at_top == pytest.approx(0, abs=1e-6) if found.by_load else at_top >= 0
        assert found.by_load or start == highest
    for step in range(1, 60):
        turning = start + (highest - start) * step / 60
        if start < turning:
            assert surplus(vehicle, ratio, turning, grade) < 1e-6


def test_a_long_range_is_ended_by_the_air_and_a_short_one_by_the_engine() -> None:
    assert not top_speed(VAN, 4.0).by_load
    assert top_speed(VAN, 0.6).by_load
    assert top_speed(VAN, 0.6, 0.3) is None


# --- a layout on the road -----------------------------------------------------------------------------------------------------


def test_after_an_upshift_the_engine_turns_slower_by_the_step() -> None:
    layout = find("Q36")
    rows = {row.name: row for row in road_chart(layout, VAN).rows}
    steps = {row.name: float(row.step) for row in chart(layout).rows if row.step}
    for name, step in steps.items():
        assert rows[name].after_upshift == pytest.approx(VAN.engine.highest / step, rel=TIGHT)
    assert rows["6"].after_upshift is rows["R"].after_upshift is None


def test_rows_stand_highest_ratio_first_and_reverse_last() -> None:
    found = road_chart(find("Q36"), VAN)
    assert [row.name for row in found.rows] == ["1", "2", "3", "4", "5", "6", "R"]
    assert found.rows[-1].speed_per_1000 < 0
    assert found.fastest.name == "6"
    assert all(row.overall == pytest.approx(row.ratio * 4.1, rel=TIGHT) for row in found.rows)


def test_on_a_steep_grade_a_lower_range_is_faster() -> None:
    assert road_chart(find("Q36"), VAN, 0.12).fastest.name == "4"
    assert road_chart(find("Q36"), VAN, 0.9).fastest is None


def test_at_one_road_speed_power_sets_the_surplus() -> None:
    speed = 90 * KMH
    rows = at_speed(find("Q36"), VAN, speed)
    assert [row.name for row in rows] == ["1", "2", "3", "4", "5", "6"]
    for row, below in pairwise(rows):
        assert row.engine_speed > below.engine_speed
    for row in rows:
        torque = VAN.engine.torque(row.engine_speed)
        assert (row.effort is None) == (torque is None)
        if row.effort is not None:
            power = torque * row.engine_speed * 2 * pi / 60 * VAN.driveline_efficiency
            assert row.effort * speed == pytest.approx(power, rel=1e-9)
            assert row.surplus == pytest.approx(row.effort - road_load(VAN, speed), rel=TIGHT)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: road_chart(find("Q36"), VAN, 6), r"Grade 600 %: give a grade between −100 and 100 %"),
        (lambda: at_speed(find("Q36"), VAN, 0), r"Road speed 0 m/s: give a speed above 0"),
        (lambda: replace(VAN, final_drive=-4), r"Vehicle College van: final drive -4; it must be above 0"),
        (lambda: replace(VAN, driveline_efficiency=90), r"driveline efficiency 90; it must be above 0 and at most 1"),
        (lambda: EngineCurve(((1000, 100),)), r"Engine curve: 1 points; give at least two"),
        (lambda: EngineCurve(((1000, 100), (900, 90))), r"900 r/min after 1000 r/min; let the speeds rise"),
        (lambda: EngineCurve(((0, 100), (900, 90))), r"100 N·m at 0 r/min; speeds and torques are above 0"),
    ],
)
def test_impossible_values_are_refused_with_the_reason(call: object, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        call()


def test_the_engine_curve_is_straight_between_its_points_and_ends_with_them() -> None:
    curve = EngineCurve(((1000, 100), (2000, 200), (3000, 150)))
    assert [curve.torque(n) for n in (999, 1000, 1500, 2500, 3000, 3001)] == [None, 100, 150, 175, 150, None]


# --- units ---------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "measure", "value"),
    [
        ("1900 kg", Measure.MASS, 1900),
        ("4189 lb", Measure.MASS, 4189 * POUND),
        ("33cm", Measure.LENGTH, 0.33),
        ("13 in", Measure.LENGTH, 13 * INCH),
        ("90 km/h", Measure.ROAD_SPEED, 25),
        ("62 mph", Measure.ROAD_SPEED, 62 * MPH),
        ("133 lb·ft", Measure.TORQUE, 133 * POUND * 9.80665 * FOOT),
        ("180 N·m", Measure.TORQUE, 180),
        ("10 ft^2", Measure.AREA, 10 * FOOT**2),
        ("100 rad/s", Measure.ENGINE_SPEED, 100 * 60 / (2 * pi)),
        ("−3 N", Measure.FORCE, -3),
    ],
)
def test_metric_and_customary_units_are_read(text: str, measure: Measure, value: float) -> None:
    assert read_quantity(text, measure) == pytest.approx(value, rel=1e-9)


@given(st.floats(0.01, 1e5), st.sampled_from([m for m in Measure if m is not Measure.DENSITY]), st.sampled_from(Units))
@settings(deadline=None)
def test_what_is_shown_in_a_unit_reads_back_as_what_it_was(value: float, measure: Measure, units: Units) -> None:
    shown, unit = in_units(value, measure, units)
    assert read_quantity(f"{shown:.12f} {unit}", measure) == pytest.approx(value, rel=1e-8, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("fast", r"'fast' is no road speed: write a number and a unit, such as '100 km/h'"),
        ("90", r"The road speed has no unit: write one of m/s, km/h, mph"),
        ("90 knots", r"The road speed has the unit 'knots': write one of m/s"),
        ("90 km/h + 3", r"has the unit 'km/h \+ 3'"),
        ("__import__('os')", r"is no road speed"),
    ],
)
def test_what_is_no_quantity_is_refused(text: str, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        read_quantity(text, Measure.ROAD_SPEED)


# --- vehicle files ----------------------------------------------------------------------------------------------------------


US_VAN = """
format = 1
name = "the same van"
mass = "4188.783 lb"
final_drive = 4.1
rolling_radius = "12.992126 in"
rolling_coefficient = 0.015
drag_area = "10.225715 ft^2"
driveline_efficiency = 0.9
[source]
kind = "own"
citation = "invented"
[engine]
speed_unit = "rpm"
torque_unit = "lbf·ft"
curve = [[700, 87.0323], [4800, 98.8333]]
"""


def test_a_file_in_customary_units_describes_the_same_vehicle() -> None:
    found = parse_vehicle(US_VAN)
    assert found.mass == pytest.approx(VAN.mass, rel=1e-6)
    assert found.rolling_radius == pytest.approx(VAN.rolling_radius, rel=1e-6)
    assert found.drag_area == pytest.approx(VAN.drag_area, rel=1e-6)
    assert found.engine.points[0] == pytest.approx((700, 118), rel=1e-5)
    assert VAN.engine.torque(2400) == 180


def test_every_fault_of_a_file_is_told_at_once() -> None:
    broken = US_VAN.replace("4188.783 lb", "heavy").replace("final_drive = 4.1", 'final_drive = "4.1"')
    broken = broken.replace('citation = "invented"', "").replace("[[700, 87.0323], ", "[[700], ")
    broken = broken.replace("drag_area", "frontal_area")
    with pytest.raises(UsageError) as raised:
        parse_vehicle(broken, "van.toml")
    lines = str(raised.value).splitlines()
    assert [line.split(":")[1].strip() for line in lines] == [
        "frontal_area", "mass", "final_drive", "[source].citation", "[engine].curve",
    ]  # fmt: skip
    assert all(line.startswith("van.toml: ") for line in lines)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("format = ", "no valid TOML"),
        (US_VAN.replace("format = 1", "format = 2"), "format: found 2; expected 1"),
        (US_VAN.replace('"own"', '"rumour"'), r"\[source\]\.kind: found 'rumour'; expected one of published"),
        (US_VAN.split("[engine]")[0], r"\[engine\]: found nothing; expected speed_unit"),
        (US_VAN.replace("[700, 87.0323]", "[7000, 87.0323]"), r"\[engine\]: Engine curve: 4800 r/min after 7000"),
        (US_VAN.replace('"rpm"', '"Hz"'), r"\[engine\]: The engine speed has the unit 'Hz': write one of r/min"),
        (
            US_VAN.replace("driveline_efficiency = 0.9", "driveline_efficiency = 9"),
            "driveline efficiency 9; it must be",
        ),
        (US_VAN.replace('mass = "4188.783 lb"', "mass = 1900"), r"mass: found 1900; expected a text with its unit"),
        (US_VAN.replace('[source]\nkind = "own"\ncitation = "invented"', ""), r"\[source\]: found nothing"),
    ],
)
def test_a_faulty_file_is_explained(text: str, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        parse_vehicle(text)


def test_a_vehicle_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="No vehicle 'lorry': give the path of a vehicle file, or one of college_van"):
        find_vehicle("lorry")
    with pytest.raises(UsageError, match="cannot be read"):
        find_vehicle(tmp_path / "lorry.toml")
    odd = tmp_path / "odd.toml"
    odd.write_bytes(b"name = '\xff'")
    with pytest.raises(UsageError, match="is no text in UTF-8"):
        find_vehicle(odd)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("final_drive = 4.1", "final_drive = nan", "final drive nan; it must be above 0"),
        ("final_drive = 4.1", "final_drive = 1" + "0" * 400, "final drive inf; it must be above 0"),
        ("final_drive = 4.1", "final_drive = " + "9" * 5000, "a number of thousands of digits"),
        ('mass = "1900 kg"', 'mass = "1,900 kg"', "mass: '1,900 kg' has a comma"),
        ('mass = "1900 kg"', 'mass = "\u0663 kg"', "is no mass: write a number and a unit"),
        ("[[700, 118]", "[[nan, 118]", "118 N·m at nan r/min; speeds and torques are above 0"),
        ("[[700, 118]", "[[700, 1e309]", "inf N·m at 700 r/min"),
        ("[[700, 118]", "[[700, " + "9" * 400 + "]", "inf N·m at 700 r/min"),
        ("[[700, 118]", "[" * 50_000, "brackets nested very deep|no valid TOML"),
    ],
)
def test_a_figure_beyond_reason_is_refused_by_name(old: str, new: str, message: str) -> None:
    text = (datasets() / "vehicles" / "college_van.toml").read_text(encoding="utf-8")
    assert old in text
    with pytest.raises(UsageError, match=message):
        parse_vehicle(text.replace(old, new, 1), "van.toml")
