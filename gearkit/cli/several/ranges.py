"""The command ratios for layouts with machines or several outputs."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from gearkit.cli.command import exact_and_decimal, exactly, shown, table
from gearkit.solve.several.motions import Motions
from gearkit.solve.several.ranges import RangeMotions, every_combination, formulas, ranges
from gearkit.solve.several.relation import relation, sum_text
from gearkit.solve.several.speeds_given import straight_ahead
from gearkit.text.phrases import exact_words
from gearkit.train.drivers import several_words
from gearkit.train.layout import Layout
from gearkit.words.terms import TrainVerdict


def range_rows(layout: Layout, every: bool) -> list[RangeMotions]:
    """Return the ranges of a layout, or all combinations of its elements.

    Args:
        layout: any layout.
        every: all combinations.
    """
    return list(every_combination(layout)) if every else list(ranges(layout))


def range_json(rows: Sequence[RangeMotions]) -> list[dict[str, Any]]:
    """Return ranges as data.

    Args:
        rows: the ranges.
    """
    steps = _steps(rows)
    return [
        {
            "range": row.name,
            "engaged": list(row.engaged),
            "verdict": row.motions.verdict.value,
            "redundant": row.motions.redundant,
            "ratio": {**exact_and_decimal(row.motions.ratio), "formula": _ratio_formula(row.motions)},
            "step": steps.get(number),
            "one_way_note": None,
            "straight_ahead": exact_and_decimal(straight_ahead(row.motions)),
            "outputs": {name: verdict.value for name, verdict in row.motions.outputs.items()},
            "relations": [dict(terms) for terms in row.motions.relations],
            "formulas": [formula.text() for formula in formulas(row.motions).values()],
            "speeds_to_give": row.motions.speeds_to_give,
            "torques_to_give": row.motions.torques_to_give,
            "note": row.note,
        }
        for number, row in enumerate(rows)
    ]


def spread(rows: Sequence[RangeMotions]) -> float | None:
    """Return highest forward ratio / lowest forward ratio; None with fewer than two.

    Args:
        rows: the ranges.
    """
    forward = [row.motions.ratio for row in rows if row.motions.ratio is not None and row.motions.ratio > 0]
    return float(max(forward) / min(forward)) if len(set(forward)) > 1 else None


def _steps(rows: Sequence[RangeMotions]) -> dict[int, float]:
    forward = {n: row.motions.ratio for n, row in enumerate(rows) if row.motions.ratio is not None and row.motions.ratio > 0}
    ladder = sorted(set(forward.values()), reverse=True)
    below = dict(pairwise(ladder))
    return {number: float(ratio / below[ratio]) for number, ratio in forward.items() if ratio in below}


def _ratio_formula(motions: Motions) -> str | None:
    if motions.ratio is None:
        return None
    output = next(iter(motions.outputs))
    (inp,) = motions.terminals.inputs
    over = relation(motions.terminals, motions.engaged, inp, {output: motions.ratio})
    return over.factors[output].text() if over else None


def print_ranges(layout: Layout, rows: Sequence[RangeMotions], options: argparse.Namespace) -> None:
    """Print what ranges do.

    Args:
        layout: the layout.
        rows: its ranges.
        options: the command's own, with layout, symbols and all.
    """
    print(f"{layout.name}\nbeside one input it has {several_words(layout.machines, layout.output_names, layout.converter)}\n")
    if not rows:
        print(f"No range is named in this layout. All combinations of its elements: gearkit ratios {options.layout} --all")
        return
    lines = [
        [
            row.name,
            " ".join(row.engaged) or "none",
            _verdict(row.motions),
            shown(row.motions.ratio),
            exactly(row.motions.ratio),
            str(row.motions.speeds_to_give),
            str(row.motions.torques_to_give),
        ]
        for row in rows
    ]
    head = ["range", "applied", "verdict", "ratio", "exact", "speeds to give", "torques to give"]
    print(table(head, lines, right=(3, 4, 5, 6)))
    if not options.all:
        for row in rows:
            _print_one(row, options.symbols)
    total = spread(rows)
    if total is not None and not options.all:
        print(f"\nspread {shown(total, 3)} (lowest range ratio / highest range ratio)")
    special = [row.name for row in rows if row.motions.generic_verdict != row.motions.verdict]
    if special:
        print(f"\nOnly at these tooth counts: {', '.join(special)}. At other tooth counts the verdict is another.")


def _verdict(motions: Motions) -> str:
    word = "power split, splits torque" if motions.verdict is TrainVerdict.BOTH else motions.verdict.value
    return word + (" (redundant)" if motions.redundant else "")


def _print_one(row: RangeMotions, symbols: bool) -> None:
    left_free = row.motions
    print(f"\nrange {row.name}" + (f": {row.note}" if row.note else ""))
    if len(set(left_free.outputs.values())) > 1:
        print("  " + "; ".join(f"{name}: {verdict}" for name, verdict in left_free.outputs.items()))
    for relation_ in left_free.relations:
        print("  " + relation_line(relation_))
    alike = straight_ahead(left_free)
    if alike is not None and left_free.ratio is None:
        print(f"  straight ahead, with all outputs at one speed: ratio {exact_words(alike)}")
    if symbols:
        told = set()
        for name, formula in formulas(left_free).items():
            # What shares a shaft with a terminal already told, and what needs no tooth counts, stands above.
            if left_free.terminals.ends[name] not in told and any(
                letter.isalpha() for f in formula.factors.values() for letter in f.text()
            ):
                print("  " + formula.text())
                told.add(left_free.terminals.ends[name])


def relation_line(relation_: dict[str, int]) -> str:
    """Return a relation as a line: "19·n(output) + 8·n(M1) = 27·n(input)"; one terminal alone stands still.

    Args:
        relation_: {terminal: whole number} with sum 0.
    """
    if len(relation_) == 1:
        return f"n({next(iter(relation_))}) = 0"
    left = {name: str(value) for name, value in relation_.items() if value > 0}
    right = {name: str(-value) for name, value in relation_.items() if value < 0}
    return f"{sum_text(left, 'n')} = {sum_text(right, 'n')}"
