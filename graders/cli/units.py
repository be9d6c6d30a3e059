"""The command that makes a whole unit from a layout."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.cli.command import DONE, Command, add_json, print_json, table
from gearkit.train.catalogue import find
from gearkit.words.say import ENGLISH, languages, speaking_language


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("layout", metavar="LAYOUT", help="a layout's file, or its name in the catalogue")
    parser.add_argument(
        "-o", "--output", metavar="DIR", required=True, type=Path, help="the unit's folder; made if it is missing"
    )
    parser.add_argument(
        "--language", choices=languages(), default=ENGLISH, help=f"in which all of it is written (default: {ENGLISH})"
    )
    parser.add_argument("--only", choices=["lesson"], default=None, help="make nothing but the lesson")
    add_json(parser)


def _unit(options: argparse.Namespace) -> int:
    # Loaded here, because every command would wait for it.
    from graders.unit import unit
    from graders.unit.keeping import Fate

    with speaking_language(options.language):
        made = unit.make(find(options.layout), options.output, only_lesson=options.only == "lesson")
    if options.json:
        print_json(
            {
                "folder": str(made.folder),
                "minutes": made.minutes,
                "seconds": round(made.seconds, 3),
                "placing": round(made.placing, 3),
                "given_up": made.given_up,
                "files": [{"file": str(file.path), "fate": str(file.fate), "changes": file.changes} for file in made.files],
            }
        )
        return DONE
    print(table(["file", ""], [[file.path.name, str(file.fate)] for file in made.files]))
    for file in made.files:
        if file.fate is Fate.BESIDE:
            print(f"\nYou edited the file that was there, so it stays, and the new one is {file.path.name}. {file.changes}")
    placing = (
        f", and {made.placing:.1f} s to find where the parts go in the drawing; that is kept in {made.files[0].path.name}"
        if made.placing
        else ""
    )
    print(f"\nMade in {made.seconds:.1f} s{placing}.")
    if made.given_up:
        print(
            "A short search found no places where the parts are solid bodies, so the lesson has no cutaway. A longer one "
            f"may: gearkit place '{made.files[0].path}', then make the unit from that file."
        )
    print(f"Open it: jupyter lab '{made.folder / unit.LESSON}'  (about {made.minutes} minutes with a class)")
    return DONE


COMMANDS = [
    Command(
        "unit",
        "make a whole unit from any layout: a lesson, and what goes with it",
        "graders unit Q24 -o UNIT",
        _arguments,
        _unit,
    ),
]
