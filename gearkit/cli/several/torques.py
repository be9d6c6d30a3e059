"""The command torques with any given torques: at the input, at outputs and machines, on members."""

from __future__ import annotations

import argparse
from fractions import Fraction
from math import pi
from typing import Any

from gearkit.cli.command import DONE, FINDING, UsageError, exact_and_decimal, in_short, print_json, shown, table
from gearkit.cli.several.options import engaged_of, gathered, lacking
from gearkit.solve.several.ranges import letting_go
from gearkit.solve.several.relation import sum_text
from gearkit.solve.several.states import operating_state
from gearkit.solve.several.torques_given import GivenTorques, torques_given
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT, LoadState


def run_torques(layout: Layout, options: argparse.Namespace) -> int:
    """Answer the command.

    Args:
        layout: any layout.
        options: the command's own.

    Raises:
        UsageError: an option that does not go with given torques, or what the solver refuses.
    """
    if options.coast:
        raise UsageError(
            "--coast is for one input and one output; here give a torque below 0 at the input, such as --torque input=-50."
        )
    engaged, note = engaged_of(layout, options.range)
    given = gathered(options.torque or (), {INPUT: options.input_torque}, "torque")
    in_multiples = not given
    if in_multiples:
        given = {INPUT: Fraction(1)}
    speeds = gathered(options.speed or (), {}, "speed")
    given_torques = torques_given(layout, engaged, given, speeds, options.basic_efficiency, options.battery_at_rest)
    note = letting_go(given_torques) or note
    if options.json:
        print_json(_as_json(options.range, given_torques, note))
    else:
        _print(options.range, given_torques, note, in_multiples, bool(speeds))
    return DONE if given_torques.answered and not letting_go(given_torques) else FINDING


def _as_json(range_name: str, given_torques: GivenTorques, note: str | None) -> dict[str, Any]:
    terminals = given_torques.motions.terminals
    outputs = [given_torques.terminals[name] for name in terminals.outputs]

    def each(values: dict[str, Any]) -> dict[str, Any]:
        return {name: exact_and_decimal(value) for name, value in values.items()}

    return {
        "range": range_name,
        "engaged": list(given_torques.motions.engaged),
        "verdict": given_torques.motions.verdict.value,
        "one_way_note": note,
        "input_torque": exact_and_decimal(given_torques.terminals[INPUT]),
        "basic_efficiency": each(given_torques.basic_efficiency),
        "state": given_torques.state.value,
        "reason": given_torques.reason,
        "members": each(given_torques.members),
        "elements": each(given_torques.elements),
        "output_torque": exact_and_decimal(outputs[0] if len(outputs) == 1 else None),
        "outputs": {name: exact_and_decimal(given_torques.terminals[name]) for name in terminals.outputs},
        "machines": {name: exact_and_decimal(given_torques.terminals[name]) for name in terminals.machines},
        "housing_torque": exact_and_decimal(given_torques.housing),
        "efficiency": exact_and_decimal(given_torques.efficiency),
        "power": each(_member_power(given_torques)),
        "terminal_power": each(given_torques.power),
        "electrical_power": each(given_torques.electrical),
        "rolling_power": each(given_torques.rolling),
        "operating_state": operating_state(given_torques),
        "given": each(given_torques.given),
        "fixed_by": {name: each(shares) for name, shares in given_torques.fixed_by.items() if name not in given_torques.given},
        "torques_to_give": given_torques.motions.torques_to_give,
        "missing": given_torques.missing,
        "would_do": [list(choice) for choice in given_torques.would_do],
        "conflict": list(given_torques.conflict),
    }


def _member_power(given_torques: GivenTorques) -> dict[str, Fraction | None]:
    if not given_torques.power or given_torques.speeds is None:
        return {}
    powers: dict[str, Fraction | None] = {}
    for name, torque in given_torques.members.items():
        speed = given_torques.speeds.of[name]
        powers[name] = Fraction(0) if torque == 0 or speed == 0 else None if torque is None or speed is None else torque * speed
    return powers


def _print(range_name: str, given_torques: GivenTorques, note: str | None, in_multiples: bool, with_speeds: bool) -> None:
    layout = given_torques.motions.terminals.layout
    engaged = ", ".join(layout.engaged_in(range_name)) or "none"
    unit = "multiples of the input's" if in_multiples else "N·m"
    print(
        f"{layout.name}\nrange {range_name}: applied {engaged}; {given_torques.motions.verdict}{f', {note}' if note else ''}; torques in {unit}"
    )
    trouble = lacking("torque", given_torques.given, given_torques.conflict, given_torques.missing, given_torques.would_do)
    if trouble:
        print("\n" + trouble)
        return
    if given_torques.state in (LoadState.SELF_LOCKING, LoadState.NOT_UNIQUE):
        print("\n" + given_torques.reason)
        return
    in_kilowatts = with_speeds and not in_multiples
    power_head = ["power kW" if in_kilowatts else "power"] if given_torques.power else []
    print(
        "\n"
        + table(
            ["from outside", "torque", "exact", "without losses", *power_head],
            _rows(given_torques, in_kilowatts),
            right=(1, 2, 4),
        )
    )
    rows = [[name, shown(value), in_short(value)] for name, value in given_torques.members.items()]
    print("\n" + table(["member", "torque", "exact"], rows, right=(1, 2)))
    if given_torques.elements:
        rows = [
            [name, layout.element_named(name).kind.value, shown(value), in_short(value)]
            for name, value in given_torques.elements.items()
        ]
        print("\n" + table(["element", "kind", "torque", "exact"], rows, right=(2, 3)))
    print("\n" + "\n".join(_findings(given_torques, in_kilowatts)))


def _rows(given_torques: GivenTorques, in_kilowatts: bool) -> list[list[str]]:
    rows = []
    for name, value in given_torques.terminals.items():
        if name in given_torques.given:
            share = "given"
        elif name in given_torques.fixed_by:
            share = sum_text({terminal: str(factor) for terminal, factor in given_torques.fixed_by[name].items()}, "T")
        else:
            share = "–"
        power = [shown(_power(given_torques.power[name], in_kilowatts), 3)] if given_torques.power else []
        rows.append([name, shown(value), in_short(value), share if len(share) < 48 else "…", *power])
    rows.append(
        [
            "housing",
            shown(given_torques.housing),
            in_short(given_torques.housing),
            "",
            *([""] if given_torques.power else []),
        ]
    )
    return rows


def _findings(given_torques: GivenTorques, in_kilowatts: bool) -> list[str]:
    lines = [] if given_torques.state is LoadState.SETTLED else [given_torques.reason]
    state = operating_state(given_torques) if given_torques.electrical else None
    lines += [state] if state else []
    if given_torques.efficiency is not None:
        lines.append(f"efficiency {shown(given_torques.efficiency)} (power out / power in, of the gears)")
    unit = " kW" if in_kilowatts else ""
    for name, power in given_torques.electrical.items():
        takes = "takes" if power > 0 else "gives"
        if power:
            lines.append(f"{name} {takes} {shown(abs(_power(power, in_kilowatts)), 3)}{unit} of electrical power")
    if len(given_torques.electrical) > 1:
        net = sum(given_torques.electrical.values(), Fraction(0))
        verb = "gives" if net > 0 else "takes"
        lines.append(
            f"the battery {verb} {shown(abs(_power(net, in_kilowatts)), 3)}{unit}" if net else "the battery is at rest"
        )
    given = {machine.name for machine in given_torques.motions.terminals.layout.machines if machine.efficiency is not None}
    plain = [name for name in given_torques.electrical if name not in given]
    if plain:
        lines.append(f"{listed(plain)}: no efficiency is given, so no loss is counted")
    return lines


def _power(value: Fraction, in_kilowatts: bool) -> float:
    return float(value) * (2 * pi / 60 / 1000 if in_kilowatts else 1)
