"""Commands on verdicts, ratios and speeds: layouts, ratios, speeds."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from gearkit.cli.command import (
    DONE,
    FINDING,
    Command,
    add_json,
    add_layout,
    exact_and_decimal,
    exactly,
    number,
    print_json,
    shown,
    table,
)
from gearkit.cli.several import ranges as several
from gearkit.cli.several.options import pair
from gearkit.cli.several.speeds import run_speeds
from gearkit.solve import ratios as solver
from gearkit.solve.layout_warnings import warnings
from gearkit.solve.mobility import Mobility
from gearkit.solve.one_way import Working, in_range
from gearkit.solve.several.motions import Motions
from gearkit.solve.speeds import Speeds
from gearkit.solve.speeds import speeds as solve_speeds
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.terms import Verdict


def _layouts(options: argparse.Namespace) -> int:
    entries = catalogue.entries(several=True)
    if options.json:
        print_json(
            [
                {
                    "name": entry.name,
                    "title": entry.layout.name,
                    "sets": len(entry.layout.sets),
                    "elements": len(entry.layout.elements),
                    "ranges": [item.name for item in entry.layout.ranges],
                    "source": {"kind": entry.layout.source.kind, "citation": entry.layout.source.citation},
                }
                for entry in entries
            ]
        )
        return DONE
    rows = [
        [
            entry.name,
            str(len(entry.layout.sets)),
            str(len(entry.layout.elements)),
            " ".join(i.name for i in entry.layout.ranges),
            entry.layout.source.kind,
            entry.layout.name,
        ]
        for entry in entries
    ]
    print(table(["name", "sets", "elements", "ranges", "source", "title"], rows, right=(1, 2)))
    return DONE


def _verdict(mobility: Mobility | Motions) -> str:
    return mobility.verdict + (" (redundant)" if mobility.redundant else "")


def _range_json(row: solver.RangeRow) -> dict[str, Any]:
    ratio = row.ratio
    return {
        "range": row.name,
        "engaged": list(row.engaged),
        "verdict": row.mobility.verdict.value,
        "redundant": row.mobility.redundant,
        "ratio": {
            "exact": str(ratio.exact) if ratio else None,
            "decimal": ratio.decimal if ratio else None,
            "formula": ratio.formula if ratio else None,
        },
        "step": float(row.step) if row.step is not None else None,
        "one_way_note": row.one_way_note,
    }


def _sets_json(layout: Layout) -> list[dict[str, Any]]:
    return [
        {
            "name": p.name,
            "pinions": p.pinions.value,
            "sun": p.sun_teeth,
            "ring": p.ring_teeth,
            "ring_to_sun": str(p.quotient),
            "planets": p.planets,
        }
        for p in layout.sets
    ]


def _ratios(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    if not layout.plain:
        return _several_ratios(layout, options)
    chart = solver.chart(layout)
    if options.drives:
        named = list(solver.driving_rows(layout))
        print_json(chart_json(chart, named)) if options.json else print(_to_paste(layout, named))
        return DONE
    rows = list(solver.combination_rows(layout) if options.all else chart.rows)
    if options.json:
        print_json(chart_json(chart, rows))
        return DONE
    print(f"{layout.name}\n")
    if not rows:
        print(f"No range is named in this layout. What drives, ready to paste: gearkit ratios {options.layout} --all --drives")
        return DONE
    print(ratio_table(rows, options.symbols))
    if chart.spread is not None and not options.all:
        print(f"\nspread {shown(chart.spread, 3)} (lowest range ratio / highest range ratio)")
    special = [row.name for row in rows if row.mobility.generic_verdict != row.mobility.verdict]
    if special:
        print(f"\nOnly at these tooth counts: {', '.join(special)}. At other tooth counts the verdict is another.")
    print_warnings(layout)
    return DONE


def _several_ratios(layout: Layout, options: argparse.Namespace) -> int:
    rows = several.range_rows(layout, options.all)
    if options.json:
        ranges = several.range_json(rows)
        print_json({"layout": layout.name, "sets": _sets_json(layout), "ranges": ranges, "spread": several.spread(rows)})
    else:
        several.print_ranges(layout, rows, options)
    return DONE


def print_warnings(layout: Layout) -> None:
    """Print what is odd in a layout, if anything is."""
    sentences = warnings(layout)
    if sentences:
        print("\nWorth a look\n" + "\n".join(f"  {sentence}" for sentence in sentences))


def chart_json(chart: solver.RatioChart, rows: Sequence[solver.RangeRow]) -> dict[str, Any]:
    """Return a ratio chart as data.

    Args:
        chart: of the layout's own ranges.
        rows: the ranges or combinations to list.
    """
    layout, sentences = chart.layout, warnings(chart.layout)
    return {
        "layout": layout.name,
        "sets": _sets_json(layout),
        "ranges": [_range_json(row) for row in rows],
        "spread": float(chart.spread) if chart.spread is not None else None,
        # The field stands only where there is something to say.
        **({"warnings": list(sentences)} if sentences else {}),
    }


def _to_paste(layout: Layout, rows: Sequence[solver.RangeRow]) -> str:
    """Ranges as they stand in a layout file."""
    lines = [f"# {layout.name}: every combination of elements that drives, highest ratio first."]
    for row in rows:
        assert row.ratio is not None, "only rows that drive are asked for"
        engaged = ", ".join(f'"{name}"' for name in row.engaged)
        lines += [
            "",
            f"# ratio {shown(row.ratio.exact)} = {row.ratio.exact}",
            "[[range]]",
            f'name = "{row.name}"',
            f"engaged = [{engaged}]",
        ]
    return "\n".join(lines)


def ratio_table(rows: Sequence[solver.RangeRow], symbols: bool = False) -> str:
    """Return the ratio chart as a table.

    Args:
        rows: the ranges.
        symbols: with the formula in tooth symbols.
    """
    noted = any(row.one_way_note for row in rows)
    head = ["range", "applied", "verdict", "ratio", "exact", "step"]
    head += (["one-way clutches"] if noted else []) + (["formula"] if symbols else [])
    lines = []
    for row in rows:
        ratio = row.ratio
        line = [
            row.name,
            " ".join(row.engaged) or "none",
            _verdict(row.mobility),
            shown(ratio.exact if ratio else None),
            exactly(ratio.exact if ratio else None),
            shown(row.step, 3),
        ]
        line += [row.one_way_note or ""] if noted else []
        lines.append(line + ([ratio.formula if ratio else "–"] if symbols else []))
    return table(head, lines, right=(3, 4, 5))


def _speeds(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    if options.speed or not layout.plain:
        return run_speeds(layout, options)
    state = in_range(layout, options.range)
    speed = options.input_speed if options.input_speed is not None else Fraction(1)
    known = solve_speeds(layout, state.engaged, speed, options.output_speed)
    if options.json:
        print_json(
            {
                "range": options.range,
                "input_speed": float(speed) if speed.denominator > 1 else int(speed),
                "members": {name: exact_and_decimal(value) for name, value in known.members.items()},
                "slip": {name: exact_and_decimal(value) for name, value in known.slip.items()},
                "shafts": {name: exact_and_decimal(value) for name, value in known.shafts.items()},
                "pinions": {name: exact_and_decimal(value) for name, value in known.planets.items()},
                "verdict": known.mobility.verdict.value,
                "one_way_note": state.note,
            }
        )
    else:
        _print_speeds(options, state, known)
    return DONE if known.mobility.verdict in (Verdict.RANGE, Verdict.NEUTRAL) else FINDING


def _print_speeds(options: argparse.Namespace, state: Working, speeds: Speeds) -> None:
    layout = state.layout
    unit = " r/min" if options.input_speed is not None else " (input = 1)"
    engaged = ", ".join(layout.engaged_in(options.range)) or "none"
    verdict = _verdict(speeds.mobility) + (f", {state.note}" if state.note else "")
    print(f"{layout.name}\nrange {options.range}: applied {engaged}; {verdict}; speeds in{unit}\n")
    held = Fraction(0)

    def remark(value: Fraction | None) -> str:
        if value is None:
            return "free: nothing fixes its speed"
        if value == held:
            return "stands still"
        if value == speeds.input_speed:
            return "with the input"
        return "forward" if (value > 0) == (speeds.input_speed > 0) else "reverse"

    rows = [
        [name, shown(value), exactly(value), remark(value)]
        for name, value in {**speeds.members, **speeds.planets, **speeds.shafts}.items()
    ]
    print(table(["member", "speed", "exact", ""], rows, right=(1, 2)))
    rows = [
        [
            element.name,
            element.kind.value,
            " – ".join(element.between),
            shown(speeds.slip[element.name]),
            _state_of(element.name, state),
        ]
        for element in layout.elements
    ]
    print("\n" + table(["element", "kind", "between", "slip", ""], rows, right=(3,)))


def _state_of(element: str, state: Working) -> str:
    if element in state.applied:
        return "applied"
    return "holds" if element in state.holding else "open"


def _ratios_arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("--symbols", action="store_true", help="add the formula in tooth symbols")
    parser.add_argument("--all", action="store_true", help="every combination of elements, not only the named ranges")
    parser.add_argument(
        "--drives", action="store_true", help="only combinations that drive, highest ratio first, as a layout file has them"
    )
    add_json(parser)


def _speeds_arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("range", metavar="RANGE", help="a range of the layout, such as 1 or R")
    parser.add_argument(
        "--input-speed",
        type=number,
        metavar="N",
        help="speed of the input in r/min (default: multiples of the input's)",
    )
    parser.add_argument("--output-speed", type=number, metavar="N", help="speed of the output, in neutral only")
    parser.add_argument(
        "--speed",
        type=pair,
        action="append",
        metavar="MEMBER=N",
        help="speed of a member, machine or output; may be repeated, such as --speed input=2000 --speed P1.ring=3000",
    )
    add_json(parser)


COMMANDS = [
    Command("layouts", "list the catalogue of layouts", "gearkit layouts", add_json, _layouts),
    Command("ratios", "verdict, ratio and step of every range", "gearkit ratios Q36 --symbols", _ratios_arguments, _ratios),
    Command(
        "speeds",
        "speed of every member and pinion in a range",
        "gearkit speeds Q36 2 --input-speed 1500",
        _speeds_arguments,
        _speeds,
    ),
]
