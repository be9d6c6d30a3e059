"""The commands lessons and site: the learner's own copies, opened in JupyterLab, and pages that need no server."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path

from gearkit.cli.command import DONE, FINDING, Command
from gearkit.lesson import lesson_copies


def _lessons(options: argparse.Namespace) -> int:
    handed = lesson_copies.fill(options.to)
    print(handed.words())
    if options.no_browser:
        print("To open them:  " + shlex.join(lesson_copies.lab_command(handed.folder)))
        return DONE
    print("JupyterLab opens in your browser; close it there, or press Ctrl-C twice here.", flush=True)
    return DONE if lesson_copies.open_lab(handed.folder) == 0 else FINDING


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--to",
        type=Path,
        metavar="DIR",
        help=f"your own folder for the lessons (default: {lesson_copies.DEFAULT_FOLDER} in your home)",
    )
    parser.add_argument("--no-browser", action="store_true", help="only put the lessons there and say how to open them")


def _site(options: argparse.Namespace) -> int:
    from gearkit.site import single_page

    size = single_page.write(options.single, options.output)
    print(f"{options.output}: {size / 1000:.0f} kB. Open it by a double click; it needs nothing else.")
    return DONE


def _site_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--single", metavar="NN", required=True, help="one lesson as one file, by its number, such as 03")
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", required=True, help="the file, ending in .html")


COMMANDS = [
    Command("lessons", "put the lessons into a folder of yours and open them", "gearkit lessons", _arguments, _lessons),
    Command(
        "site",
        "a lesson as one page that needs no server and no install",
        "gearkit site --single 03 -o lesson_03.html",
        _site_arguments,
        _site,
    ),
]
