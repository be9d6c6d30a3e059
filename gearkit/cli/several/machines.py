"""The command machines: what the electric machines of a layout do in a range, and which changes go without slip."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from gearkit.cli.command import (
    DONE,
    FINDING,
    Command,
    UsageError,
    add_json,
    add_layout,
    exact_and_decimal,
    number,
    print_json,
    shown,
    table,
)  # fmt: skip
from gearkit.solve.several.changes import Change, changes
from gearkit.solve.several.electrical import MachineLine, PowerSplit, Share, power_split
from gearkit.solve.several.motions import motions
from gearkit.solve.several.relation import sum_text
from gearkit.solve.several.states import State, states_of
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT

# Speed ratios around a mechanical point that show what happens below, at and above it.
_AROUND = (Fraction(1, 4), Fraction(1, 2), Fraction(3, 4), Fraction(1), Fraction(5, 4), Fraction(3, 2), Fraction(2))
_ANYWHERE = (Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(3, 2), Fraction(2))


def _machines(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    if not layout.machines:
        raise UsageError(f"{layout.name}: it has no machine; add a [[machine]] with name and shaft to its file.")
    if options.range is None:
        return _modes(layout, options)
    engaged = layout.engaged_in(options.range)
    states = states_of(motions(layout, engaged))
    try:
        split = power_split(layout, engaged)
    except UsageError as reason:
        return _states_only(layout, options, states, str(reason))
    ratios = options.speed_ratio or _asked(split)
    shares = [(ratio, split.share(ratio)) for ratio in ratios]
    if options.json:
        print_json(_as_json(options, split, shares, states))
    else:
        _print(options, split, shares, states)
    return DONE


def _asked(split: PowerSplit) -> list[Fraction]:
    points = split.points
    if not points:
        return list(_ANYWHERE)
    wanted = {abs(point) * part * (1 if point > 0 else -1) for point in points for part in _AROUND}
    return sorted(wanted)


def _states_only(layout: Layout, options: argparse.Namespace, states: Sequence[State], reason: str) -> int:
    if options.json:
        print_json({"range": options.range, "machines": [], "shares": [], "states": _states_json(states), "reason": reason})
    else:
        print(f"{reason}\n")
        _print_states(layout, states)
    return DONE if states else FINDING


def _as_json(
    options: argparse.Namespace, split: PowerSplit, shares: Sequence[tuple[Fraction, Share | None]], states: Sequence[State]
) -> dict[str, Any]:
    limits = {limit.machine: limit for limit in split.limits(options.input_speed or 0)}
    return {
        "range": options.range,
        "verdict": split.motions.verdict.value,
        "machines": [_machine_json(line, limits[line.name]) for line in split.lines],
        "shares": [
            {
                "speed_ratio": exact_and_decimal(ratio),
                "electrical": exact_and_decimal(share.electrical if share else None),
                "machine_power": {name: exact_and_decimal(power) for name, power in share.machine_powers.items()}
                if share
                else {},
                "machine_speed": {name: exact_and_decimal(speed) for name, speed in share.machine_speeds.items()}
                if share
                else {},
                "output_power": exact_and_decimal(share.output if share else None),
                "recirculation": exact_and_decimal(share.circulating if share else None),
                "loop": list(share.loop) if share else [],
            }
            for ratio, share in shares
        ],
        "states": _states_json(states),
    }


def _machine_json(line: MachineLine, limit: Any) -> dict[str, Any]:
    low, high = limit.output_speeds or (None, None)
    return {
        "name": line.name,
        "of_input": exact_and_decimal(line.of_input),
        "of_output": exact_and_decimal(line.of_output),
        "formula": line.formula.text() if line.formula else None,
        "mechanical_point": {**exact_and_decimal(line.point), "formula": line.point_formula},
        "output_speed_limits": [exact_and_decimal(low), exact_and_decimal(high)],
        "input_torque_limit": exact_and_decimal(limit.input_torque),
    }


def _states_json(states: Sequence[State]) -> list[dict[str, Any]]:
    return [
        {
            "state": state.name,
            "for": state.asked,
            "speeds": {name: exact_and_decimal(value) for name, value in state.speeds.items()},
            "torques": {name: exact_and_decimal(value) for name, value in state.torques.items()},
            "does": state.does,
        }
        for state in states
    ]


def _print(
    options: argparse.Namespace, split: PowerSplit, shares: Sequence[tuple[Fraction, Share | None]], states: Sequence[State]
) -> None:
    layout = split.motions.terminals.layout
    engaged = ", ".join(split.motions.engaged) or "none"
    print(f"{layout.name}\nrange {options.range}: applied {engaged}; {split.motions.verdict}\n")
    on = {machine.name: machine.shaft for machine in layout.machines}
    rows = [
        [
            line.name,
            on[line.name],
            sum_text({INPUT: str(line.of_input), split.output: str(line.of_output)}, "n"),
            shown(line.point),
            str(line.point).replace("-", "−") if line.point is not None else "never stands between",
            (line.point_formula or "").replace("*", "·"),
        ]
        for line in split.lines
    ]
    print(table(["machine", "on", "speed", "mechanical point", "exact", "formula"], rows, right=(3,)))
    print(
        "The mechanical point is the speed ratio, output / input, at which the machine stands; its ratio input / output is the reciprocal."
    )
    _print_shares(shares, [line.name for line in split.lines])
    _print_limits(split, options.input_speed)
    print()
    _print_states(layout, states)


def _print_shares(shares: Sequence[tuple[Fraction, Share | None]], names: Sequence[str]) -> None:
    if len(names) < 2:
        print("\nWith one machine the battery gives or takes its power, so no share is fixed.")
        return
    rows = []
    for ratio, share in shares:
        if share is None:
            rows.append([shown(ratio), *["–"] * (len(names) + 2), "nothing fixes it"])
            continue
        loop = " → ".join((*share.loop, share.loop[0])) if share.circulating else "none"
        round_ = f"{shown(share.circulating, 3)}: {loop}" if share.circulating else "none"
        powers = [shown(share.machine_powers[name], 3) for name in names]
        rows.append([shown(ratio), *powers, shown(share.electrical, 3), shown(share.output, 3), round_])
    head = ["output / input", *(f"power {name}" for name in names), "electrical", "output", "recirculation"]
    print("\nbattery at rest, input power 1, gears without losses\n")
    print(table(head, rows, right=tuple(range(len(names) + 3))))


def _print_limits(split: PowerSplit, input_speed: Fraction | None) -> None:
    at = input_speed or Fraction(0)
    lines = []
    for limit in split.limits(at):
        if limit.output_speeds is not None:
            low, high = (shown(value, 0) for value in limit.output_speeds)
            lines.append(f"{limit.machine}: at input speed {shown(at, 0)} r/min the output may turn from {low} to {high} r/min")
        if limit.input_torque is not None:
            lines.append(f"{limit.machine}: holds against an input torque of {shown(limit.input_torque, 1)} N·m")
    if lines:
        print("\nlimits from the machines' own figures\n" + "\n".join(lines))


def _print_states(layout: Layout, states: Sequence[State]) -> None:
    names = [machine.name for machine in layout.machines]
    rows = [
        [
            state.name,
            *(f"{shown(state.speeds[name], 3)} / {shown(state.torques[name], 3)}" for name in names),
            state.does,
            state.asked,
        ]
        for state in states
    ]
    if rows:
        print(table(["state", *(f"{name} speed / torque" for name in names), "", "worked out for"], rows))
    else:
        print("This range lets no machine start the engine, drive or brake by itself.")


def _modes(layout: Layout, options: argparse.Namespace) -> int:
    every = changes(layout)
    if options.json:
        print_json({"layout": layout.name, "changes": [_change_json(change) for change in every]})
        return DONE
    print(f"{layout.name}\n")
    rows = [
        [item.name, " ".join(item.engaged) or "none", motions(layout, item.engaged).verdict.value] for item in layout.ranges
    ]
    print(table(["range", "applied", "verdict"], rows))
    rows = [[f"{c.first} – {c.second}", " ".join(c.released) or "none", " ".join(c.applied) or "none", _when(c)] for c in every]
    if rows:
        print("\n" + table(["change", "released", "applied", "without slip"], rows))
    print(f"\nMore on a range: gearkit machines {options.layout} RANGE")
    return DONE


def _when(change: Change) -> str:
    if not change.synchronous:
        return "only at standstill"
    if change.speed_ratio is None:
        return "at several speeds"
    return f"at output / input {shown(change.speed_ratio)} ({str(change.speed_ratio).replace('-', '−')})"


def _change_json(change: Change) -> dict[str, Any]:
    return {
        "first": change.first,
        "second": change.second,
        "released": list(change.released),
        "applied": list(change.applied),
        "synchronous": change.synchronous,
        "speed_ratio": exact_and_decimal(change.speed_ratio),
        "machine_speeds": {name: exact_and_decimal(value) for name, value in change.machine_speeds.items()},
    }


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument(
        "range", metavar="RANGE", nargs="?", help="a range of the layout; all changes between ranges when left out"
    )
    parser.add_argument(
        "--speed-ratio", type=number, action="append", metavar="X", help="output speed / input speed; may be repeated"
    )
    parser.add_argument("--input-speed", type=number, metavar="N", help="input speed in r/min for the limits (default 0)")
    add_json(parser)


COMMANDS = [
    Command(
        "machines",
        "mechanical points, electrical share, limits and states of electric machines; changes between ranges",
        "gearkit machines power_split_one_set D",
        _arguments,
        _machines,
    )
]
