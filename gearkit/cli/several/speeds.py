"""The command speeds with any given speeds: of the input, of outputs, machines and members."""

from __future__ import annotations

import argparse
from fractions import Fraction
from typing import Any

from gearkit.cli.command import DONE, FINDING, exact_and_decimal, exactly, print_json, shown, table
from gearkit.cli.several.options import engaged_of, gathered, lacking, the_one_output
from gearkit.solve.several.motions import motions
from gearkit.solve.several.ranges import one_way_note
from gearkit.solve.several.relation import relation, sum_text
from gearkit.solve.several.speeds_given import GivenSpeeds, speeds_with_motions
from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT

_LONGEST_SUM = 48


def run_speeds(layout: Layout, options: argparse.Namespace) -> int:
    """Answer the command.

    Args:
        layout: any layout.
        options: the command's own.
    """
    engaged, note = engaged_of(layout, options.range)
    left_free = motions(layout, engaged)
    others = {INPUT: options.input_speed}
    if options.output_speed is not None:
        others[the_one_output(layout, "--output-speed")] = options.output_speed
    given = gathered(options.speed or (), others, "speed")
    in_multiples = not given
    if in_multiples and INPUT not in left_free.standing:
        given = {INPUT: Fraction(1)}
    speeds = speeds_with_motions(left_free, given)
    note = note or one_way_note(speeds)
    if options.json:
        print_json(_as_json(options.range, speeds, note))
    else:
        _print(options.range, speeds, note, in_multiples)
    return DONE if speeds.enough else FINDING


def _as_json(range_name: str, given_speeds: GivenSpeeds, note: str | None) -> dict[str, Any]:
    layout = given_speeds.motions.terminals.layout
    driven = given_speeds.of[INPUT]
    shafts = {name: given_speeds.of[name] for name in layout.further_shafts} | {"housing": Fraction(0)}
    return {
        "range": range_name,
        "input_speed": None if driven is None else float(driven) if driven.denominator > 1 else int(driven),
        "members": {name: exact_and_decimal(value) for name, value in given_speeds.members.items()},
        "slip": {name: exact_and_decimal(value) for name, value in given_speeds.slip.items()},
        "shafts": {name: exact_and_decimal(value) for name, value in shafts.items()},
        "pinions": {name: exact_and_decimal(value) for name, value in given_speeds.planets.items()},
        "verdict": given_speeds.motions.verdict.value,
        "one_way_note": note,
        "machines": {machine.name: exact_and_decimal(given_speeds.of[machine.name]) for machine in layout.machines},
        "given": {name: exact_and_decimal(value) for name, value in given_speeds.given.items()},
        "fixed_by": {name: _factors(given_speeds, name) for name in given_speeds.fixed_by if name not in given_speeds.given},
        "missing": given_speeds.missing,
        "would_do": [list(choice) for choice in given_speeds.would_do],
        "conflict": list(given_speeds.conflict),
    }


def _factors(given_speeds: GivenSpeeds, name: str) -> dict[str, dict[str, object]]:
    factors = given_speeds.fixed_by[name]
    formula = relation(given_speeds.motions.terminals, given_speeds.motions.engaged, name, factors) if factors else None
    return {
        driver: {**exact_and_decimal(factor), "formula": formula.factors[driver].text() if formula else None}
        for driver, factor in factors.items()
    }


def _print(range_name: str, given_speeds: GivenSpeeds, note: str | None, in_multiples: bool) -> None:
    layout = given_speeds.motions.terminals.layout
    engaged = ", ".join(layout.engaged_in(range_name)) or "none"
    verdict = given_speeds.motions.verdict.value + (f", {note}" if note else "")
    unit = "multiples of the input's" if in_multiples else "the unit of those given"
    print(f"{layout.name}\nrange {range_name}: applied {engaged}; {verdict}; speeds in {unit}\n")
    trouble = lacking("speed", given_speeds.given, given_speeds.conflict, given_speeds.missing, given_speeds.would_do)
    if given_speeds.conflict:
        print(trouble)
        return
    on = {machine.name: machine.shaft for machine in layout.machines}
    rows = []
    for name, value in {
        **given_speeds.members,
        **{n: v for n, v in given_speeds.of.items() if n not in given_speeds.members},
    }.items():
        label = f"{name} (on {on[name]})" if name in on else name
        rows.append([label, shown(value), exactly(value), _why(given_speeds, name)])
    for name, value in given_speeds.planets.items():
        rows.append([name, shown(value), exactly(value), ""])
    print(table(["member", "speed", "exact", "from"], rows, right=(1, 2)))
    if layout.elements:
        slips = [
            [
                element.name,
                element.kind.value,
                " – ".join(element.between),
                shown(given_speeds.slip[element.name]),
                _state(given_speeds, element.name),
            ]
            for element in layout.elements
        ]
        print("\n" + table(["element", "kind", "between", "slip", ""], slips, right=(3,)))
    if trouble:
        print("\n" + trouble)


def _state(given_speeds: GivenSpeeds, element: str) -> str:
    return "applied" if element in given_speeds.motions.engaged else "open"


def _why(given_speeds: GivenSpeeds, name: str) -> str:
    if name in given_speeds.given:
        return "given"
    factors = given_speeds.fixed_by.get(name)
    if factors is None:
        return "not fixed by what is given"
    if not factors:
        return "stands still whatever is given"
    text = sum_text({driver: str(factor) for driver, factor in factors.items()}, "n")
    if len(text) > _LONGEST_SUM:
        text = sum_text({driver: f"{float(factor):.4f}" for driver, factor in factors.items()}, "n")
    return text
