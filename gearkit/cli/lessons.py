"""The command lessons: the learner's own copies, opened in JupyterLab."""

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


COMMANDS = [Command("lessons", "put the lessons into a folder of yours and open them", "gearkit lessons", _arguments, _lessons)]
