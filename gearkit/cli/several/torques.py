"""The command torques with any given torques: at the input, at outputs and machines, on members."""

from __future__ import annotations

import argparse
from fractions import Fraction
from math import pi
from typing import Any

from gearkit.cli.command import DONE, FINDING, UsageError, exact_and_decimal, print_json, shown, table
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
    found = torques_given(layout, engaged, given, speeds, options.basic_efficiency, options.battery_at_rest)
    note = letting_go(found) or note
    if options.json:
        print_json(_as_json(options.range, found, note))
    else:
        _print(options.range, found, note, in_multiples, bool(speeds))
    return DONE if found.answered and not letting_go(found) else FINDING


def _as_json(range_name: str, found: GivenTorques, note: str | None) -> dict[str, Any]:
    terminals = found.motions.terminals
    outputs = [found.terminals[name] for name in terminals.outputs]

    def each(values: dict[str, Any]) -> dict[str, Any]:
        return {name: exact_and_decimal(value) for name, value in values.items()}

    return {
        "range": range_name,
        "engaged": list(found.motions.engaged),
        "verdict": found.motions.verdict.value,
        "one_way_note": note,
        "input_torque": exact_and_decimal(found.terminals[INPUT]),
        "basic_efficiency": each(found.basic_efficiency),
        "state": found.state.value,
        "reason": found.reason,
        "members": each(found.members),
        "elements": each(found.elements),
        "output_torque": exact_and_decimal(outputs[0] if len(outputs) == 1 else None),
        "outputs": {name: exact_and_decimal(found.terminals[name]) for name in terminals.outputs},
        "machines": {name: exact_and_decimal(found.terminals[name]) for name in terminals.machines},
        "housing_torque": exact_and_decimal(found.housing),
        "efficiency": exact_and_decimal(found.efficiency),
        "power": each(_member_power(found)),
        "terminal_power": each(found.power),
        "electrical_power": each(found.electrical),
        "rolling_power": each(found.rolling),
        "operating_state": operating_state(found),
        "given": each(found.given),
        "fixed_by": {name: each(shares) for name, shares in found.fixed_by.items() if name not in found.given},
        "torques_to_give": found.motions.torques_to_give,
        "missing": found.missing,
        "would_do": [list(choice) for choice in found.would_do],
        "conflict": list(found.conflict),
    }


def _member_power(found: GivenTorques) -> dict[str, Fraction | None]:
    if not found.power or found.speeds is None:
        return {}
    powers: dict[str, Fraction | None] = {}
    for name, torque in found.members.items():
        speed = found.speeds.of[name]
        powers[name] = Fraction(0) if torque == 0 or speed == 0 else None if torque is None or speed is None else torque * speed
    return powers


def _print(range_name: str, found: GivenTorques, note: str | None, in_multiples: bool, with_speeds: bool) -> None:
    layout = found.motions.terminals.layout
    applied = ", ".join(layout.engaged_in(range_name)) or "none"
    unit = "multiples of the input's" if in_multiples else "N·m"
    print(
        f"{layout.name}\nrange {range_name}: applied {applied}; {found.motions.verdict}{f', {note}' if note else ''}; torques in {unit}"
    )
    trouble = lacking("torque", found.given, found.conflict, found.missing, found.would_do)
    if trouble:
        print("\n" + trouble)
        return
    if found.state in (LoadState.SELF_LOCKING, LoadState.NOT_UNIQUE):
        print("\n" + found.reason)
        return
    in_kilowatts = with_speeds and not in_multiples
    power_head = ["power kW" if in_kilowatts else "power"] if found.power else []
    print(
        "\n"
        + table(["from outside", "torque", "exact", "without losses", *power_head], _rows(found, in_kilowatts), right=(1, 2, 4))
    )
    rows = [[name, shown(value), _exact(value)] for name, value in found.members.items()]
    print("\n" + table(["member", "torque", "exact"], rows, right=(1, 2)))
    if found.elements:
        rows = [
            [name, layout.element_named(name).kind.value, shown(value), _exact(value)] for name, value in found.elements.items()
        ]
        print("\n" + table(["element", "kind", "torque", "exact"], rows, right=(2, 3)))
    print("\n" + "\n".join(_findings(found, in_kilowatts)))


def _rows(found: GivenTorques, in_kilowatts: bool) -> list[list[str]]:
    rows = []
    for name, value in found.terminals.items():
        if name in found.given:
            share = "given"
        elif name in found.fixed_by:
            share = sum_text({one: str(factor) for one, factor in found.fixed_by[name].items()}, "T")
        else:
            share = "–"
        power = [shown(_power(found.power[name], in_kilowatts), 3)] if found.power else []
        rows.append([name, shown(value), _exact(value), share if len(share) < 48 else "…", *power])
    rows.append(["housing", shown(found.housing), _exact(found.housing), "", *([""] if found.power else [])])
    return rows


def _findings(found: GivenTorques, in_kilowatts: bool) -> list[str]:
    lines = [] if found.state is LoadState.SETTLED else [found.reason]
    state = operating_state(found) if found.electrical else None
    lines += [state] if state else []
    if found.efficiency is not None:
        lines.append(f"efficiency {shown(found.efficiency)} (power out / power in, of the gears)")
    unit = " kW" if in_kilowatts else ""
    for name, power in found.electrical.items():
        takes = "takes" if power > 0 else "gives"
        if power:
            lines.append(f"{name} {takes} {shown(abs(_power(power, in_kilowatts)), 3)}{unit} of electrical power")
    if len(found.electrical) > 1:
        net = sum(found.electrical.values(), Fraction(0))
        verb = "gives" if net > 0 else "takes"
        lines.append(
            f"the battery {verb} {shown(abs(_power(net, in_kilowatts)), 3)}{unit}" if net else "the battery is at rest"
        )
    given = {one.name for one in found.motions.terminals.layout.machines if one.efficiency is not None}
    plain = [name for name in found.electrical if name not in given]
    if plain:
        lines.append(f"{listed(plain)}: no efficiency is given, so no loss is counted")
    return lines


def _power(value: Fraction, in_kilowatts: bool) -> float:
    return float(value) * (2 * pi / 60 / 1000 if in_kilowatts else 1)


def _exact(value: Fraction | None) -> str:
    text = "–" if value is None else str(value).replace("-", "−")
    return text if len(text) <= 16 else "…"
