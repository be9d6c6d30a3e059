"""The command for a class on a shared server: put sheets and feedback into the exchange folder."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.cli.command import DONE, FINDING, Command, add_json, print_json
from graders.cli.arguments import add_course, add_sheet
from graders.course import course as courses
from graders.course import roster
from graders.hand_out import exchange
from graders.hand_out.hand_out import sheet_of


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
        if known is None or known.resolve() != options.folder.resolve():
            print("Once, in nbgrader_config.py of the learners' JupyterLab, so that its button fetches each one's own copy:")
            print("".join(f"  {line}\n" for line in exchange.learner_settings(course.id, options.folder).splitlines()), end="")
        print(f"Then:       graders take-in {options.course} {sheet.name} {options.folder}")
    return FINDING if done.without_account else DONE


COMMANDS = [
    Command(
        "exchange",
        "put a sheet, and feedback once there is some, into the folder that a class shares on a server",
        "graders exchange COURSE week3 /srv/exchange",
        _exchange_arguments,
        _exchange,
    ),
]
