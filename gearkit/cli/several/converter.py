"""The command converter: stall, coupling and lock-up of a torque converter, and a vehicle's effort over its speed."""

from __future__ import annotations

import argparse
from typing import Any

from gearkit.cli.command import DONE, Command, UsageError, add_json, add_layout, print_json, shown, table
from gearkit.solve.on_road.converter import EffortPoint, coupling_ratio, effort_curve, heat, stall
from gearkit.solve.on_road.quantities import Measure, Units, in_units
from gearkit.solve.on_road.vehicle import Vehicle
from gearkit.solve.on_road.vehicle_file import find_vehicle
from gearkit.solve.several.motions import motions
from gearkit.train import catalogue
from gearkit.train.drivers import Converter
from gearkit.train.layout import Layout
from gearkit.words.terms import ENGINE

_MODEL = "Engine at full load; table straight between its points; no rotating masses, no pump or oil drag; common practice, no source."


def _converter(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    if layout.converter is None:
        raise UsageError(f"{layout.name}: it has no converter; add a [converter] with its table to its file.")
    vehicle = find_vehicle(options.vehicle)
    ratio = _ratio(layout, options.range)
    curve = effort_curve(layout.converter, vehicle, ratio)
    locks = [element.name for element in layout.elements if ENGINE in element.between]
    if options.json:
        print_json(_as_json(options, layout.converter, vehicle, ratio, curve, locks))
    else:
        _print(options, layout, layout.converter, vehicle, ratio, curve, locks)
    return DONE


def _ratio(layout: Layout, range_name: str) -> float:
    ratio = motions(layout, layout.engaged_in(range_name)).ratio
    if ratio is None or ratio <= 0:
        raise UsageError(f"{layout.name}: range {range_name} has no forward ratio; name a range that drives forward.")
    return float(ratio)


def _as_json(
    options: argparse.Namespace,
    converter: Converter,
    vehicle: Vehicle,
    ratio: float,
    curve: tuple[EffortPoint, ...],
    locks: list[str],
) -> dict[str, Any]:
    held, units = stall(converter, vehicle), Units(options.units)

    def value(number: float | None, measure: Measure) -> dict[str, object] | None:
        if number is None:
            return None
        converted, unit = in_units(number, measure, units)
        return {"value": converted, "unit": unit}

    return {
        "layout": options.layout,
        "range": options.range,
        "ratio": ratio,
        "vehicle": vehicle.name,
        "lock_up": locks,
        "coupling_speed_ratio": coupling_ratio(converter),
        "stall": {
            "engine_speed": value(held.engine_speed, Measure.ENGINE_SPEED),
            "engine_torque": value(held.engine_torque, Measure.TORQUE),
            "turbine_torque": value(held.turbine_torque, Measure.TORQUE),
            "torque_ratio": held.torque_ratio,
        } if held else None,
        "curve": [
            {
                "road_speed": value(effort_point.speed, Measure.ROAD_SPEED),
                "speed_ratio": effort_point.point.speed_ratio if effort_point.point else None,
                "torque_ratio": effort_point.point.torque_ratio if effort_point.point else None,
                "engine_speed": value(effort_point.point.engine_speed if effort_point.point else None, Measure.ENGINE_SPEED),
                "efficiency": effort_point.point.efficiency if effort_point.point else None,
                "effort": value(effort_point.effort, Measure.FORCE),
                "locked_engine_speed": value(effort_point.locked_speed, Measure.ENGINE_SPEED),
                "locked_effort": value(effort_point.locked_effort, Measure.FORCE),
                "road_load": value(effort_point.load, Measure.FORCE),
            }
            for effort_point in curve
        ],
    }  # fmt: skip


def _print(
    options: argparse.Namespace, layout: Layout, converter: Converter, vehicle: Vehicle, ratio: float,
    curve: tuple[EffortPoint, ...], locks: list[str],
) -> None:  # fmt: skip
    units = Units(options.units)

    def value(number: float | None, measure: Measure, digits: int = 0) -> str:
        return shown(None if number is None else in_units(number, measure, units)[0], digits)

    road, force = (in_units(1.0, measure, units)[1] for measure in (Measure.ROAD_SPEED, Measure.FORCE))
    torque = in_units(1.0, Measure.TORQUE, units)[1]
    print(f"{layout.name}\nrange {options.range}: ratio {shown(ratio)}; in {vehicle.name}\n")
    held, coupling = stall(converter, vehicle), coupling_ratio(converter)
    if held is None:
        print("stall: this engine's curve and this converter's table do not meet with the turbine held")
    else:
        print(
            f"stall: engine at {shown(held.engine_speed, 0)} r/min gives {value(held.engine_torque, Measure.TORQUE, 1)} {torque}, "
            f"turbine {value(held.turbine_torque, Measure.TORQUE, 1)} {torque} (torque ratio {shown(held.torque_ratio, 3)}), "
            f"all of {shown(heat(held), 1)} kW turns into heat"
        )
    ends = "its table ends before" if coupling is None else f"from speed ratio {shown(coupling, 3)} on no torque is gained"
    print(f"coupling: {ends}")
    print(f"lock-up: {', '.join(locks)} joins engine and input" if locks else "lock-up: no element joins engine and input")
    rows = []
    for effort_point in curve:
        point = effort_point.point
        rows.append([
            value(effort_point.speed, Measure.ROAD_SPEED, 1),
            *(["–"] * 4 if point is None else [shown(point.speed_ratio, 3), shown(point.torque_ratio, 3), shown(point.engine_speed, 0), shown(point.efficiency, 3)]),
            value(effort_point.effort, Measure.FORCE),
            shown(effort_point.locked_speed, 0),
            value(effort_point.locked_effort, Measure.FORCE),
            value(effort_point.load, Measure.FORCE),
        ])  # fmt: skip
    head = [f"road {road}", "speed ratio", "torque ratio", "engine r/min", "efficiency", f"effort {force}"]
    head += ["locked r/min", f"locked effort {force}", f"road load {force}"]
    print("\n" + table(head, rows, right=tuple(range(len(head)))))
    print(f"\n{_MODEL}")


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("range", metavar="RANGE", help="a forward range of the layout")
    parser.add_argument(
        "vehicle",
        metavar="VEHICLE",
        nargs="?",
        default="college_van",
        help="path of a vehicle file, or one of the kit's own (default: college_van)",
    )
    parser.add_argument(
        "--units", choices=[system.value for system in Units], default=Units.SI.value, help="units shown (default SI)"
    )
    add_json(parser)


COMMANDS = [
    Command(
        "converter",
        "stall, coupling, lock-up and tractive effort of a layout with a torque converter",
        "gearkit converter converter_two_ranges 1",
        _arguments,
        _converter,
    )
]
