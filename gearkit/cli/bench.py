"""The command bench: a printable model of one set, or of the whole train."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.cli.command import DONE, Command, add_json, add_layout, print_json, table
from gearkit.make.bench_model import CAUTIONS, Proportions, design, write
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError


def _bench(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    if options.whole == (options.set is not None):
        raise UsageError(
            f"Say what to make of {layout.name}: one set, such as gearkit bench {options.layout} {layout.sets[0].name} -o {options.output}, "
            f"or the whole train: gearkit bench {options.layout} --whole -o {options.output}."
        )
    return _whole(layout, options) if options.whole else _one_set(layout, options)


def _one_set(layout: Layout, options: argparse.Namespace) -> int:
    pset = layout.set_named(options.set)
    module = 2.0 if options.module is None else options.module
    model = design(pset, Proportions(module=module, thickness=options.thickness, backlash=options.backlash))
    files = write(model, options.output)
    if options.json:
        print_json(
            {
                "set": pset.name,
                "files": [str(file) for file in files],
                "parts": [{"name": part.name, "count": part.count, "description": part.description} for part in model.parts],
                "dimensions_mm": {name: round(value, 6) for name, value in model.dimensions},
            }
        )
        return DONE
    print(table(["part", "count", ""], [[part.name, str(part.count), part.description] for part in model.parts], right=(1,)))
    print("\n" + table(["dimension", "mm"], [[name, f"{value:.2f}"] for name, value in model.dimensions], right=(1,)))
    print(f"\n{len(files)} files in {options.output}\n\nCautions")
    print("\n".join(f"  {line}" for line in CAUTIONS))
    return DONE


def _whole(layout: Layout, options: argparse.Namespace) -> int:
    # The library for solids is an extra of its own, and is loaded only here.
    from gearkit.make.whole import bill
    from gearkit.make.whole.assembly import MORE_CAUTIONS, not_freewheeling
    from gearkit.make.whole.printer import Printer
    from gearkit.make.whole.proven import proven
    from gearkit.make.whole.write import write as write_whole

    if options.module is not None:
        raise UsageError("--module is for one set; of a whole train the module follows from --bed and --nozzle.")
    made, checks = proven(layout, Printer(options.bed, options.nozzle, options.clearance))
    files = write_whole(made, checks, options.output)
    parts, train = bill.table(made), made.train
    if options.json:
        effort = bill.total(made)
        print_json(
            {
                "layout": layout.name,
                "module_mm": made.module,
                "across_mm": round(2 * train.outside, 2),
                "length_mm": round(train.length[1] - train.length[0], 2),
                "files": [str(file) for file in files],
                "parts": [
                    {"name": name, "count": count, "description": words, "size_mm": [round(value, 2) for value in size],
                     "minutes": round(each.minutes, 1), "filament_m": round(each.metres, 2), "grams": round(each.grams, 1)}
                    for name, words, count, size, each in parts
                ],
                "bought": [{"count": count, "description": words} for count, words in bill.screws(made)],
                "print": {"minutes": round(effort.minutes), "filament_m": round(effort.metres, 1), "grams": round(effort.grams)},
                "checks": [{"what": check.what, "passed": check.passed} for check in checks],
            }
        )  # fmt: skip
        return DONE
    rows = [[name, str(count), words, " × ".join(f"{value:.0f}" for value in size)] for name, words, count, size, _ in parts]
    print(table(["part", "count", "", "mm"], rows, right=(1,)))
    print(f"\n{2 * train.outside:.0f} mm across, {train.length[1] - train.length[0]:.0f} mm long, module {made.module:g} mm")
    print(f"Printing takes about {bill.total(made).told}.\n\nTo buy")
    print("\n".join(f"  {count} × {words}" for count, words in bill.screws(made)))
    print("\nChecked")
    print("\n".join(f"  {check.what}" for check in checks))
    if not_freewheeling(layout):
        print(f"\n{not_freewheeling(layout)}")
    print(
        f"\n{len(files)} files in {options.output}. Print the gauge first; assembly.pdf says how it goes together.\n\nCautions"
    )
    print("\n".join(f"  {line}" for line in (*CAUTIONS, *MORE_CAUTIONS)))
    return DONE


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("set", nargs="?", metavar="SET", help="a set of the layout, such as P1; or --whole")
    parser.add_argument("--whole", action="store_true", help="the whole train instead of one set")
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="DIR", help="folder for the files")
    parser.add_argument("--module", type=float, metavar="MM", help="pitch diameter / teeth of one set (default 2)")
    parser.add_argument("--thickness", type=float, default=8.0, metavar="MM", help="of the wheels (default 8)")
    parser.add_argument("--backlash", type=float, default=0.3, metavar="MM", help="play between meshing teeth (default 0.3)")
    for name, value, help_ in (
        ("bed", 220.0, "of the printer, side and height; whole train"),
        ("nozzle", 0.4, "of the printer; whole train"),
        ("clearance", 0.3, "of what turns, read from the gauge; whole train"),
    ):
        parser.add_argument(f"--{name}", type=float, default=value, metavar="MM", help=f"{help_} (default {value:g})")
    add_json(parser)


COMMANDS = [
    Command(
        "bench",
        "a bench model of one set or of the whole train, to print or to cut",
        "gearkit bench Q24 P1 -o model",
        _arguments,
        _bench,
    )
]
