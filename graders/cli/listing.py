"""The command items: everything that can be asked, of the lessons or of any layout."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import asdict

from gearkit.answers.listing import Entry, of_a_layout, of_the_bank
from gearkit.cli.command import DONE, Command, add_json, print_json, table
from gearkit.text.phrases import listed
from gearkit.train import catalogue
from gearkit.words.errors import UsageError
from graders.report.pages.page import counted


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--layout",
        metavar="FILE",
        default="",
        help="what can be asked about this layout instead: path of a layout file, or a name from: gearkit layouts",
    )
    parser.add_argument("--subject", metavar="SUBJECT", default="", help="only those about one subject, such as torque")
    add_json(parser)


def _items(options: argparse.Namespace) -> int:
    everything = of_a_layout(catalogue.find(options.layout)) if options.layout else of_the_bank()
    found = [one for one in everything if options.subject.casefold() in ("", one.subject.casefold())]
    if everything and not found:
        subjects = list(dict.fromkeys(one.subject for one in everything))
        raise UsageError(f"--subject {options.subject!r}: nothing is asked about it. There is: {', '.join(subjects)}.")
    if options.json:
        print_json([asdict(one) for one in found])
        return DONE
    print(_in_words(found, options.layout))
    return DONE


def _in_words(found: Sequence[Entry], layout: str) -> str:
    if not found:
        return f"Nothing can be asked about {layout}: no range drives. See: gearkit ratios {layout} --all"
    rows = [[one.id, one.title, one.subject, one.kind, one.level, str(one.marks)] for one in found]
    kinds, subjects = len({one.kind for one in found}), list(dict.fromkeys(one.subject for one in found))
    about = f" about {layout}" if layout else ""
    lines = [
        table(["item", "title", "subject", "kind", "level", "marks"], rows, right=(5,)),
        "",
        f"{counted(len(found), 'item')}{about} of {counted(kinds, 'kind')} of answer: {listed(subjects)}.",
    ]
    if layout:
        lines += [
            f"Try one:   gearkit exercise {found[0].id} --layout {layout}",
            f"A sheet:   graders compose {layout} -o week1.toml",
            f"Of these:  graders compose {layout} --ask {found[-1].subject.replace(' ', '-')},{found[0].id} -o week2.toml",
        ]
    return "\n".join(lines)


COMMANDS = [
    Command(
        "items",
        "list everything that can be asked, of the lessons or of any layout",
        "graders items --layout Q36 --subject torque",
        _arguments,
        _items,
    )
]
