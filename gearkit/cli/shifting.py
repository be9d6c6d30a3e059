"""The command shifts: what changes from range to range."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from fractions import Fraction

from gearkit.cli.command import (
    DONE,
    Command,
    add_json,
    add_layout,
    exact_and_decimal,
    number,
    print_json,
    shown,
    table,
)
from gearkit.solve.one_way import braking, one_way_clutches
from gearkit.solve.ratios import chart
from gearkit.solve.service.shifts import Shift, shift, shift_chart
from gearkit.text.phrases import listed
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import Verdict


def _shifts(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    speed = options.input_speed if options.input_speed is not None else Fraction(1)
    if (options.from_range is None) != (options.to_range is None):
        raise UsageError("Give both --from and --to, or neither for the whole chart.")
    if options.from_range is not None:
        told = shift(layout, options.from_range, options.to_range, speed)
        if options.json:
            print_json(_shift_json(told))
        else:
            _print_shift(told, options.input_speed is not None)
        return DONE
    ranges = shift_chart(layout, speed)
    if options.json:
        print_json(
            {
                "layout": layout.name,
                "input_speed": exact_and_decimal(speed),
                "up": [_shift_json(item) for item in ranges.up],
                "down": [_shift_json(item) for item in ranges.down],
                "skips": [_shift_json(item) for item in ranges.skips],
                "garage": [_shift_json(item) for item in ranges.garage],
                "warnings": list(ranges.warnings),
                "engine_braking": _engine_braking(layout),
            }
        )
        return DONE
    unit = "r/min" if options.input_speed is not None else "multiples of the input speed before the shift"
    print(f"{layout.name}\nshifts at constant road speed; speeds in {unit}\n")
    groups = [("up", ranges.up), ("down", ranges.down), ("from neutral, vehicle standing", ranges.garage)]
    if options.skips:
        groups.append(("skips", ranges.skips))
    if not any(items for _, items in groups):
        print("no shifts: that takes two ranges that have a ratio, or a range and a neutral")
    for title, items in groups:
        if items:
            print(f"{title}\n{_shift_table(items)}\n")
    for item in ranges.up:
        print(f"{item.name}: {item.overlap_words()}\n     {item.underlap_words()}")
    freewheels = [name for name, brakes in _engine_braking(layout).items() if not brakes]
    if freewheels:
        print(f"\nno engine braking in {listed(freewheels)}: a one-way clutch lets go in coast")
    for warning in ranges.warnings:
        print(f"\nwarning: {warning}")
    return DONE


def _engine_braking(layout: Layout) -> dict[str, bool]:
    rows = [row.name for row in chart(layout).rows if row.mobility.verdict is Verdict.RANGE]
    if not one_way_clutches(layout):
        return dict.fromkeys(rows, True)
    return {name: braking(layout, name).engine_braking for name in rows}


def _shift_table(items: Sequence[Shift]) -> str:
    rows = []
    for item in items:
        off = [*item.off_going, *(f"({name})" for name in item.letting_go)]
        on = [*item.on_coming, *(f"({name})" for name in item.taking_hold)]
        slips = ", ".join(f"{name} {_speed(value, item)}" for name, value in item.slip_before.items())
        rows.append(
            [
                item.name,
                " ".join(off) or "–",
                " ".join(on) or "–",
                item.kind.value,
                shown(item.step, 3),
                _speed(item.input_before, item),
                _speed(item.input_after, item),
                slips or "–",
            ]
        )
    head = ["shift", "off", "on", "kind", "step", "input before", "after", "slip before"]
    return table(head, rows, right=(4, 5, 6))


def _speed(value: Fraction | None, item: Shift) -> str:
    return shown(value, 1 if item.input_before > 10 else 4)


def _print_shift(item: Shift, in_revolutions: bool) -> None:
    unit = "r/min" if in_revolutions else "multiples of the input speed before the shift"
    print(f"{item.layout.name}\nshift {item.name} at constant road speed; speeds in {unit}\n")
    print(_shift_table([item]))
    if item.by_itself:
        print("(in brackets: a one-way clutch, which lets go or takes hold by itself)")
    print(f"\n{item.overlap_words()}\n{item.underlap_words()}")


def _shift_json(item: Shift) -> dict[str, object]:
    return {
        "from": item.from_range,
        "to": item.to_range,
        "off_going": list(item.off_going),
        "on_coming": list(item.on_coming),
        "letting_go": list(item.letting_go),
        "taking_hold": list(item.taking_hold),
        "kind": item.kind.value,
        "step": exact_and_decimal(item.step),
        "input_before": exact_and_decimal(item.input_before),
        "input_after": exact_and_decimal(item.input_after),
        "slip_before": {name: exact_and_decimal(value) for name, value in item.slip_before.items()},
        "slip_after": {name: exact_and_decimal(value) for name, value in item.slip_after.items()},
        "overlap": {"verdict": item.overlap.verdict.value, "words": item.overlap_words()},
        "underlap": {"verdict": item.underlap.verdict.value, "words": item.underlap_words()},
    }


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("--from", dest="from_range", metavar="RANGE", help="one shift only: the range before")
    parser.add_argument("--to", dest="to_range", metavar="RANGE", help="one shift only: the range after")
    parser.add_argument("--skips", action="store_true", help="also shifts that leave out a range")
    parser.add_argument(
        "--input-speed",
        type=number,
        metavar="N",
        help="input speed before the shift in r/min (default: multiples of it)",
    )
    add_json(parser)


COMMANDS: list[Command] = [
    Command(
        "shifts",
        "off-going and on-coming elements, engine speed and slip of every shift",
        "gearkit shifts Q36 --from 3 --to 4 --input-speed 3000",
        _arguments,
        _shifts,
    )
]
