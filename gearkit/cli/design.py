"""The command teeth: tooth counts for target ratios, with a proof of best."""

from __future__ import annotations

import argparse
import sys
import time

from gearkit.cli.command import DONE, FINDING, Command, add_json, exact_and_decimal, exactly, number, print_json, shown, table
from gearkit.solve.teeth.common_gears import common_gears
from gearkit.solve.teeth.gear_choices import GearChoice
from gearkit.solve.teeth.targets_file import find_targets
from gearkit.solve.teeth.tooth_counts import MOST_KEPT, Design, Search, search
from gearkit.train import catalogue
from gearkit.words.terms import PinionKind

_PATIENCE = 2.0


def _teeth(options: argparse.Namespace) -> int:
    targets = find_targets(options.targets)
    progress = Progress()
    result = search(targets, options.top, report=progress.report)
    progress.end()
    best = result.designs[0]
    if options.output:
        catalogue.write(best.layout, options.output)
    if options.json:
        print_json(_as_json(result))
    else:
        _print(result)
        if options.output:
            print(f"\nbest design written to {options.output}")
    good = result.proved and (options.within is None or best.worst <= options.within / 100)
    if options.within is not None and best.worst > options.within / 100:
        print(f"No design is within {shown(options.within, 3)} % of every target.", file=sys.stderr)
    return DONE if good else FINDING


class Progress:
    """Tells on stderr how far a long search is."""

    def __init__(self) -> None:
        self._start = self._last = time.monotonic()
        self._said = False

    def report(self, boxes: int, best: float) -> None:
        """Tell how far the search is, at most once a second.

        Args:
            boxes: how many boxes were looked at.
            best: the least error so far.
        """
        now = time.monotonic()
        if now - self._start > _PATIENCE and now - self._last > 1:
            print(f"\r{boxes} boxes looked at, best error {100 * best:.4f} %", end="", file=sys.stderr, flush=True)
            self._last, self._said = now, True

    def end(self) -> None:
        """End the line of progress, if there is one."""
        if self._said:
            print(file=sys.stderr)


def _as_json(result: Search) -> dict[str, object]:
    return {
        "layout": result.targets.layout.name,
        "targets": {name: exact_and_decimal(value) for name, value in result.targets.ratios.items()},
        "proved": result.proved,
        "combinations": result.combinations,
        "boxes": result.boxes,
        "free": list(result.free),
        "designs": [_design_json(design) for design in result.designs],
    }


def _design_json(design: Design) -> dict[str, object]:
    def gears(choice: GearChoice) -> dict[str, int]:
        return {"sun": choice.sun, "pinion": choice.pinion, "ring": choice.ring, "planets": choice.planets}

    return {
        "worst_error": exact_and_decimal(design.worst),
        "teeth": {name: gears(choice) for name, choice in design.teeth.items()},
        "alike": {name: [gears(choice) for choice in alike] for name, alike in design.alike.items()},
        "ratios": {name: exact_and_decimal(value) for name, value in design.ratios.items()},
        "errors": {name: exact_and_decimal(value) for name, value in design.errors.items()},
    }


def _print(result: Search) -> None:
    best = result.designs[0]
    layout = result.targets.layout
    print(f"{layout.name}\n")
    rows = []
    for name, choice in best.teeth.items():
        single = layout.set_named(name).pinions is PinionKind.SINGLE
        rows.append(
            [
                name,
                *map(str, (choice.sun, choice.pinion, choice.ring, choice.planets)),
                shown(choice.quotient),
                f"{choice.sun + choice.ring if single else choice.ring - choice.sun}/{choice.planets} whole",
                shown(choice.tip_gap(), 2) if single else "not checked",
                str(len(best.alike[name])),
            ]
        )
    head = ["set", "sun", "pinion", "ring", "planets", "R/S", "spacing", "tip gap, modules", "alike"]
    print(table(head, rows, right=(1, 2, 3, 4, 5, 7, 8)))
    rows = [
        [
            name,
            shown(wanted),
            shown(best.ratios[name]),
            exactly(best.ratios[name]),
            f"{shown(100 * best.errors[name], 3)} %",
        ]
        for name, wanted in result.targets.ratios.items()
    ]
    print("\n" + table(["range", "target", "ratio", "exact", "error"], rows, right=(1, 2, 3, 4)))
    print(f"\nlargest error {shown(100 * best.worst, 4)} %")
    if result.proved:
        print(f"proved: none of the {result.combinations:,} combinations of R/S within the limits has a smaller one")
    else:
        print(f"not proved: {result.boxes:,} boxes looked at, then given up; a better design may exist")
    for gear in common_gears(layout):
        print(f"{' and '.join(gear.sets)} have one {gear.member} and one number of planets, since they sit on one carrier")
    if result.free:
        print(f"no target depends on {', '.join(result.free)}: tooth counts kept")
    if len(result.designs) > 1:
        print("\nnext best")
        for design in result.designs[1:]:
            sets = "; ".join(f"{n} {c.sun}/{c.pinion}/{c.ring}, {c.planets}" for n, c in design.teeth.items())
            print(f"  {shown(100 * design.worst, 4)} %  {sets}")
    if any(layout.set_named(name).pinions is PinionKind.DOUBLE for name in best.teeth):
        print("\nDouble sets: pinion is the fewest teeth of two equal pinions; whether pairs clear each other is not checked.")


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "targets",
        metavar="TARGETS.toml",
        help="a targets file (layout, ratios, limits), or one of the kit's own: q36_even_steps",
    )
    parser.add_argument("--top", type=_count, default=1, metavar="K", help=f"list the K best designs, up to {MOST_KEPT}")
    parser.add_argument("--within", type=number, metavar="PERCENT", help="a finding where no design is that near")
    parser.add_argument("-o", "--output", metavar="FILE", help="write the best design as a layout file")
    add_json(parser)


def _count(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number") from None


COMMANDS: list[Command] = [
    Command(
        "teeth",
        "tooth counts for target ratios, with a proof of best",
        "gearkit teeth q36_even_steps --top 3 -o even_steps.toml",
        _arguments,
        _teeth,
    )
]
