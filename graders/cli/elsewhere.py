"""The commands exchange and qti: sheets for a class on a shared server, items for other systems."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.cli.command import DONE, FINDING, Command, add_json, print_json
from graders.cli.arguments import add_course, add_sheet
from graders.course import course as courses
from graders.course import roster
from graders.hand_out import exchange
from graders.hand_out.hand_out import sheet_of
from graders.packages.package import VERSIONS, write_package
from graders.report.pages.page import counted
from graders.sheets import sheets
from graders.sheets.sheets import Sheet


def _exchange_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)
    parser.add_argument("folder", metavar="EXCHANGE", type=Path, help="the folder that the class shares")
    add_json(parser)


def _exchange(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    class_list = roster.read(course.roster_file)
    known = exchange.remembered(course)
    done = exchange.release(course, sheet.name, options.folder, class_list)
    if options.json:
        print_json(
            {
                "folder": str(done.folder),
                "opened": list(done.opened),
                "pages": done.pages,
                "without_account": list(done.without_account),
                "open_homes": [str(home) for home in done.open_homes],
            }
        )
    else:
        print(f"Own copies: {len(done.opened)}, each open to its learner alone, in {done.folder / exchange.OWN}")
        print(f"Feedback:   {done.pages} {'page' if done.pages == 1 else 'pages'} to fetch")
        if done.without_account:
            print(
                f"No account on this machine: {', '.join(done.without_account)}. Name their accounts in "
                f"{course.folder / 'accounts.csv'} (columns id, account), or give them their copies another way."
            )
        if done.open_homes:
            print(
                f"Home folders into which others can look: {len(done.open_homes)}. JupyterLab keeps there what was typed into "
                f"sheets. Whoever looks after the server closes them: chmod 700 {' '.join(map(str, done.open_homes))}"
            )
        if known is None or known.resolve() != options.folder.resolve():
            print("Once, in nbgrader_config.py of the learners' JupyterLab, so that its button fetches each one's own copy:")
            # From the first column on: pasted with blanks before them they would be no Python.
            print(exchange.learner_settings(course.id, options.folder), end="")
        print(f"Then:       graders take-in {options.course} {sheet.name} {options.folder}")
    return FINDING if done.without_account or done.open_homes else DONE


def _qti_arguments(parser: argparse.ArgumentParser) -> None:
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


COMMANDS = [
    Command(
        "exchange",
        "put a sheet, and feedback once there is some, into the folder that a class shares on a server",
        "graders exchange COURSE week3 /srv/exchange",
        _exchange_arguments,
        _exchange,
    ),
    Command(
        "qti",
        "items as a package for other learning systems, by the standard QTI",
        "graders qti lesson 3 -o lesson3.zip --variants 5",
        _qti_arguments,
        _qti,
    ),
]
