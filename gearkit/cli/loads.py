"""The command torques: torques, losses and power of a range."""

from __future__ import annotations

import argparse
from fractions import Fraction

from gearkit.cli.command import (
    DONE,
    FINDING,
    Command,
    add_json,
    add_layout,
    exact_and_decimal,
    in_short,
    number,
    print_json,
    shown,
    table,
)
from gearkit.cli.several.options import pair
from gearkit.cli.several.torques import run_torques
from gearkit.solve.loads.losses import DEFAULT_BASIC_EFFICIENCY
from gearkit.solve.loads.torques import Torques, torques_of
from gearkit.solve.one_way import braking, in_range
from gearkit.text.phrases import listed
from gearkit.train import catalogue
from gearkit.words.errors import UsageError
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, Drive, ElementKind, LoadState


def _torques(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    if options.torque or options.speed or options.battery_at_rest or not layout.plain:
        return run_torques(layout, options)
    torque = options.input_torque if options.input_torque is not None else Fraction(1)
    if options.coast:
        if torque < 0:
            raise UsageError(f"--coast with input torque {torque}: coast turns its sign round itself; give it without −.")
        torque = -torque
    state = in_range(layout, options.range, Drive.DRIVE if torque > 0 else Drive.COAST)
    torques = torques_of(state, torque, options.basic_efficiency)
    if options.json:
        print_json({**_as_json(options.range, torques), "verdict": state.verdict.value, "one_way_note": state.note})
    else:
        _print(options, torques)
    return DONE if torques.state is LoadState.SETTLED else FINDING


def _as_json(range_name: str, torques: Torques) -> dict[str, object]:
    flow = torques.power
    return {
        "range": range_name,
        "engaged": list(torques.engaged),
        "drive": torques.drive.value,
        "input_torque": exact_and_decimal(torques.input_torque),
        "basic_efficiency": {name: exact_and_decimal(value) for name, value in torques.basic_efficiency.items()},
        "state": torques.state.value,
        "reason": torques.reason,
        "members": {name: exact_and_decimal(value) for name, value in torques.members.items()},
        "elements": {name: exact_and_decimal(value) for name, value in torques.elements.items()},
        "output_torque": exact_and_decimal(torques.output_torque),
        "housing_torque": exact_and_decimal(torques.housing_torque),
        "efficiency": exact_and_decimal(torques.efficiency),
        "power": {name: exact_and_decimal(value) for name, value in flow.members.items()} if flow else {},
        "rolling_power": {name: exact_and_decimal(value) for name, value in flow.rolling.items()} if flow else {},
        "recirculation": exact_and_decimal(torques.recirculation),
    }


def _print(options: argparse.Namespace, torques: Torques) -> None:
    layout = torques.layout
    unit = "N·m" if options.input_torque is not None else "multiples of the input's"
    engaged = ", ".join(layout.engaged_in(options.range)) or "none"
    print(
        f"{layout.name}\nrange {options.range}: applied {engaged}; {torques.drive}; torques in {unit}, power in those at input speed 1"
    )
    print(_efficiency_line(options, torques) + "\n")
    if torques.power is None or torques.state not in (LoadState.SETTLED, LoadState.STATICALLY_UNDETERMINED):
        print(torques.reason)
        return
    rows = [
        [name, shown(value), in_short(value), shown(torques.power.members[name])] for name, value in torques.members.items()
    ]
    print(table(["member", "torque", "exact", "power"], rows, right=(1, 2, 3)))
    rows = []
    for name, value in torques.elements.items():
        element = layout.element_named(name)
        passed = torques.power.clutches.get(name)
        rows.append([name, element.kind.value, " – ".join(element.between), shown(value), in_short(value), shown(passed)])
    print("\n" + table(["element", "kind", "between", "torque", "exact", "power"], rows, right=(3, 4, 5)))
    ends = [
        [name, shown(value), in_short(value)]
        for name, value in ((INPUT, torques.input_torque), (OUTPUT, torques.output_torque), (HOUSING, torques.housing_torque))
    ]
    print("\n" + table(["from outside", "torque", "exact"], ends, right=(1, 2)))
    _print_findings(options.range, torques)


def _efficiency_line(options: argparse.Namespace, torques: Torques) -> str:
    by_value: dict[Fraction, list[str]] = {}
    for name, value in torques.basic_efficiency.items():
        by_value.setdefault(value, []).append(name)
    every = len(by_value) == 1
    parts = [f"{shown(value, 3)}" + ("" if every else f" in {', '.join(names)}") for value, names in by_value.items()]
    line = "basic efficiency " + "; ".join(parts) + (" in every set" if every else "")
    assumed = [pset.name for pset in torques.layout.sets if pset.basic_efficiency is None]
    if options.basic_efficiency is None and assumed:
        line += f" ({float(DEFAULT_BASIC_EFFICIENCY)} is common practice, no source; bearings, seals and oil not in it)"
    return line


def _print_findings(range_name: str, torques: Torques) -> None:
    flow = torques.power
    assert flow is not None
    lines = []
    if torques.state is not LoadState.SETTLED:
        lines.append(torques.reason)
    if torques.efficiency is not None:
        lines.append(f"efficiency {shown(torques.efficiency)}, output torque / input torque {_torque_ratio(torques)}")
    rolling = [f"{name} {shown(value, 3)}" for name, value in flow.rolling.items()]
    lines.append("rolling power (sun to ring, seen from the carrier): " + ", ".join(rolling))
    if flow.shared:
        nets = ", ".join(f"{listed(names)} {shown(power, 3)}" for names, power in flow.shared.items())
        lines.append(f"net power of members that two sets have in common: {nets}")
    if flow.largest is not None:
        lines.append(f"largest power on a member: {flow.largest[0]} {shown(flow.largest[1], 3)}")
    if torques.recirculation:
        way = " → ".join((*flow.loop, flow.loop[0]))
        lines.append(f"recirculation {shown(torques.recirculation, 3)} of the power that goes in: {way}")
    elif torques.recirculation == 0:
        lines.append("recirculation none")
    if any(torques.layout.element_named(name).kind is ElementKind.ONE_WAY_CLUTCH for name in torques.engaged):
        both = braking(torques.layout, range_name)
        lines.append("engine braking: " + ("yes" if both.engine_braking else "none, the range freewheels in coast"))
    print("\n" + "\n".join(lines))
    if torques.drive is Drive.COAST:
        print("In coast the vehicle pushes: power goes in at the output.")


def _torque_ratio(torques: Torques) -> str:
    return shown(-torques.output_torque / torques.input_torque) if torques.output_torque is not None else "–"


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("range", metavar="RANGE", help="a range of the layout, such as 1 or R")
    parser.add_argument(
        "--input-torque",
        type=number,
        metavar="T",
        help="torque on the input in N·m; below 0 when the vehicle pushes (default: multiples of the input's)",
    )
    parser.add_argument(
        "--torque",
        type=pair,
        action="append",
        metavar="MEMBER=T",
        help="torque on the input, an output, a machine or a member; may be repeated, such as --torque output=-300",
    )
    parser.add_argument(
        "--speed",
        type=pair,
        action="append",
        metavar="MEMBER=N",
        help="with --torque: speed in r/min, for power and losses where the range does not fix all speeds",
    )
    parser.add_argument(
        "--battery-at-rest", action="store_true", help="what one machine takes another gives; stands for one torque"
    )
    parser.add_argument("--coast", action="store_true", help="the vehicle pushes the engine")
    parser.add_argument(
        "--basic-efficiency",
        type=number,
        metavar="E",
        help="efficiency of every set with its carrier held; 1: no losses "
        f"(default: the layout's own, else {float(DEFAULT_BASIC_EFFICIENCY)})",
    )
    add_json(parser)


COMMANDS: list[Command] = [
    Command(
        "torques",
        "member, holding and output torques, power flow, recirculation and efficiency of a range",
        "gearkit torques Q36 4 --input-torque 150",
        _arguments,
        _torques,
    )
]
