"""The command bench: a printable model of one set."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.cli.command import DONE, Command, add_json, add_layout, print_json, table
from gearkit.make.bench_model import CAUTIONS, Proportions, design, write
from gearkit.train import catalogue


def _bench(options: argparse.Namespace) -> int:
    pset = catalogue.find(options.layout).set_named(options.set)
    model = design(pset, Proportions(module=options.module, thickness=options.thickness, backlash=options.backlash))
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


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("set", metavar="SET", help="a set of the layout, such as P1")
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="DIR", help="folder for the files")
    parser.add_argument("--module", type=float, default=2.0, metavar="MM", help="pitch diameter / teeth (default 2)")
    parser.add_argument("--thickness", type=float, default=8.0, metavar="MM", help="of the wheels (default 8)")
    parser.add_argument("--backlash", type=float, default=0.3, metavar="MM", help="play between meshing teeth (default 0.3)")
    add_json(parser)


COMMANDS = [
    Command("bench", "a bench model of one set, to print or to cut", "gearkit bench Q24 P1 -o model", _arguments, _bench)
]
