"""The command qti: items for other systems, by an open standard."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.cli.command import DONE, FINDING, Command, add_json, print_json
from graders.packages.package import VERSIONS, write_package
from graders.report.pages.page import counted
from graders.sheets import sheets
from graders.sheets.sheets import Sheet


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "source",
        metavar="SOURCE",
        nargs="+",
        help="a sheet's file, or what a sheet is composed from: 'lesson 3', items such as L03-01, a layout",
    )
    parser.add_argument("-o", "--output", metavar="FILE.zip", required=True, type=Path, help="the package to write")
    parser.add_argument("--variants", type=int, default=1, metavar="N", help="so many variants of each item (default: 1)")
    parser.add_argument("--standard", choices=VERSIONS, default="3.0", help="version of the standard QTI (default: 3.0)")
    add_json(parser)


def _qti(options: argparse.Namespace) -> int:
    done = write_package(_sheet(options.source), options.output, options.variants, options.standard)
    if options.json:
        print_json(
            {"file": str(options.output), "items": list(done.items), "variants": done.variants, "left_out": done.left_out}
        )
    else:
        each = "" if done.variants == 1 else f", {done.variants} variants of each"
        print(f"{options.output}: {counted(len(done.items), 'item')}{each}. It holds the answers: keep it from learners.")
        for name, reason in done.left_out.items():
            print(f"Left out: {name}, {reason}.")
    return FINDING if done.left_out else DONE


def _sheet(source: list[str]) -> Sheet:
    if len(source) == 1 and source[0].endswith(".toml") and _is_a_sheet(Path(source[0])):
        return sheets.read(Path(source[0]))
    return sheets.compose(source, "package")


def _is_a_sheet(path: Path) -> bool:
    # A sheet lists its items; a layout has sets.
    return path.is_file() and "[[item]]" in path.read_text(encoding="utf-8", errors="replace")


COMMANDS: list[Command] = [
    Command(
        "qti",
        "items as a package for other learning systems, by the standard QTI",
        "graders qti lesson 3 -o lesson3.zip --variants 5",
        _arguments,
        _qti,
    )
]
