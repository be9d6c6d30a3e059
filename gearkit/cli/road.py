"""The command road: what every range of a layout does in a vehicle."""

from __future__ import annotations

import argparse
from math import isfinite

from gearkit.cli.command import DONE, FINDING, Command, add_json, add_layout, number, print_json, shown, table
from gearkit.solve.on_road.quantities import Measure, Units, in_units, read_quantity
from gearkit.solve.on_road.road import AtSpeed, RangeOnRoad, RoadChart, at_speed, road_chart
from gearkit.solve.on_road.vehicle import Vehicle
from gearkit.solve.on_road.vehicle_file import find_vehicle
from gearkit.train import catalogue

_MODEL = "Engine to tyre without slip and without rotating masses; rolling force as on the flat; common practice, no source."


def _road(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    vehicle = find_vehicle(options.vehicle)
    grade = float(options.grade) / 100
    chart = road_chart(layout, vehicle, grade)
    speed = read_quantity(options.speed, Measure.ROAD_SPEED) if options.speed else None
    rows = at_speed(layout, vehicle, speed, grade) if speed is not None else ()
    if options.json:
        print_json(_as_json(chart, rows, Units(options.units)))
    else:
        _print(chart, rows, speed, Units(options.units))
    return DONE if chart.fastest is not None else FINDING


def _as_json(chart: RoadChart, rows: tuple[AtSpeed, ...], units: Units) -> dict[str, object]:
    def value(number: float | None, measure: Measure) -> dict[str, object] | None:
        if number is None or not isfinite(number):
            return None
        converted, unit = in_units(number, measure, units)
        return {"value": converted, "unit": unit}

    return {
        "layout": chart.layout.name,
        "vehicle": chart.vehicle.name,
        "grade_percent": 100 * chart.grade,
        "ranges": [
            {
                "range": row.name,
                "ratio": row.ratio,
                "overall_ratio": row.overall,
                "speed_per_1000": value(row.speed_per_1000, Measure.ROAD_SPEED),
                "largest_effort": value(row.largest_effort, Measure.FORCE),
                "largest_effort_at": value(row.effort_at, Measure.ENGINE_SPEED),
                "grade_held_percent": None if row.grade is None else 100 * row.grade,
                "top_speed": value(row.top.speed, Measure.ROAD_SPEED) if row.top else None,
                "top_speed_at": value(row.top.engine_speed, Measure.ENGINE_SPEED) if row.top else None,
                "top_speed_limit": _limit(row, chart.vehicle),
                "after_upshift": value(row.after_upshift, Measure.ENGINE_SPEED),
                **({"through": row.through} if row.through else {}),
            }
            for row in chart.rows
        ],
        "fastest": chart.fastest.name if chart.fastest else None,
        "at_speed": [
            {
                "range": row.name,
                "engine_speed": value(row.engine_speed, Measure.ENGINE_SPEED),
                "effort": value(row.effort, Measure.FORCE),
                "surplus": value(row.surplus, Measure.FORCE),
                "grade_held_percent": None if row.grade is None else 100 * row.grade,
            }
            for row in rows
        ],
    }


def _limit(row: RangeOnRoad, vehicle: Vehicle) -> str | None:
    if row.top is None:
        return None
    if row.through == "converter" and not row.top.by_load and row.top.engine_speed < 0.999 * vehicle.engine.highest:
        return "converter's table ends"
    return "road load" if row.top.by_load else "engine speed"


def _print(chart: RoadChart, rows: tuple[AtSpeed, ...], speed: float | None, units: Units) -> None:
    vehicle = chart.vehicle

    def value(number: float | None, measure: Measure, digits: int = 1) -> str:
        return shown(None if number is None else in_units(number, measure, units)[0], digits)

    road_unit = in_units(1.0, Measure.ROAD_SPEED, units)[1]
    force_unit = in_units(1.0, Measure.FORCE, units)[1]
    mass, mass_unit = in_units(vehicle.mass, Measure.MASS, units)
    print(f"{chart.layout.name}\n{vehicle.name}: {shown(mass, 0)} {mass_unit}, final drive {vehicle.final_drive:g}")
    print(f"top speeds on a grade of {shown(100 * chart.grade, 1)} %\n")
    converter = chart.layout.converter is not None
    head = ["range", "ratio", "overall", f"{road_unit} at 1000", f"largest effort {force_unit}", "grade %"]
    head += [f"top {road_unit}", "at r/min", "limit", "r/min after upshift"]
    lines = [
        [
            row.name,
            shown(row.ratio),
            shown(row.overall, 3),
            value(row.speed_per_1000, Measure.ROAD_SPEED),
            value(row.largest_effort, Measure.FORCE, 0),
            "any" if row.grade is None else shown(100 * row.grade, 1),
            value(row.top.speed if row.top else None, Measure.ROAD_SPEED),
            shown(row.top.engine_speed if row.top else None, 0),
            _limit(row, chart.vehicle) or "does not hold it",
            shown(row.after_upshift, 0),
            *([row.through] if converter else []),
        ]
        for row in chart.rows
    ]
    print(table(head + (["engine drives by"] if converter else []), lines, right=(1, 2, 3, 4, 5, 6, 7, 9)))
    if converter:
        print(f"By the converter: {road_unit} at 1000 counts from the turbine. More: gearkit converter.")
    if chart.fastest and chart.fastest.top:
        print(f"\nfastest in {chart.fastest.name}: {value(chart.fastest.top.speed, Measure.ROAD_SPEED)} {road_unit}")
    elif not chart.rows:
        print("\nThis layout has no range with a ratio, so there is nothing to drive in.")
    else:
        print("\nNo forward range holds this grade at full load.")
    if speed is not None:
        print(f"\nat {value(speed, Measure.ROAD_SPEED)} {road_unit}, full load")
        lines = [
            [
                row.name,
                shown(row.engine_speed, 0),
                value(row.effort, Measure.FORCE, 0),
                value(row.surplus, Measure.FORCE, 0),
                "outside the engine's curve" if row.effort is None else _grade(row),
            ]
            for row in rows
        ]
        head = ["range", "r/min", f"effort {force_unit}", f"surplus {force_unit}", "grade held %"]
        print(table(head, lines, right=(1, 2, 3)))
    print(f"\n{_MODEL}")


def _grade(row: AtSpeed) -> str:
    return "any" if row.grade is None else shown(100 * row.grade, 1)


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument(
        "vehicle",
        metavar="VEHICLE",
        nargs="?",
        default="college_van",
        help="path of a vehicle file, or one of the kit's own (default: college_van)",
    )
    parser.add_argument("--speed", metavar="SPEED", help='a road speed with its unit, such as "90 km/h" or "55 mph"')
    parser.add_argument("--grade", type=number, default=0, metavar="PERCENT", help="grade in per cent (default 0)")
    parser.add_argument(
        "--units", choices=[system.value for system in Units], default=Units.SI.value, help="units shown (default SI)"
    )
    add_json(parser)


COMMANDS: list[Command] = [
    Command(
        "road",
        "road speed, tractive effort, grade and top speed of every range in a vehicle",
        'gearkit road Q36 college_van --speed "90 km/h" --grade 6',
        _arguments,
        _road,
    )
]
