"""What most commands are given, said once: the course, a sheet of it, a sheet's file."""

from __future__ import annotations

import argparse
from pathlib import Path

HANDED_OUT = "name of a sheet that was handed out"
OR_FILE = "name of the sheet, or its file"


def add_course(parser: argparse.ArgumentParser, *, new: bool = False) -> None:
    """Give a command its course.

    Args:
        parser: the command's parser.
        new: whether the command makes a course that is missing.
    """
    made = "; made if it is missing" if new else ""
    parser.add_argument("course", metavar="COURSE", type=Path, help=f"the course's folder{made}")


def add_sheet(parser: argparse.ArgumentParser, said: str = HANDED_OUT) -> None:
    """Give a command a sheet of its course.

    Args:
        parser: the command's parser.
        said: what can be written.
    """
    parser.add_argument("sheet", metavar="SHEET", help=said)


def add_sheet_file(parser: argparse.ArgumentParser) -> None:
    """Give a command the file of a sheet that need not have been handed out."""
    parser.add_argument("sheet", metavar="SHEET", type=Path, help="the sheet's file")


def add_drawing_course(parser: argparse.ArgumentParser) -> None:
    """Give a command the course whose secret draws the numbers, which may be left out."""
    parser.add_argument(
        "--course",
        metavar="COURSE",
        type=Path,
        default=None,
        help="the course whose secret draws the numbers; a trial secret if left out",
    )


def add_learner(parser: argparse.ArgumentParser) -> None:
    """Give a command a learner of the class."""
    parser.add_argument("learner", metavar="LEARNER", help="identity of the learner")


def add_item(parser: argparse.ArgumentParser) -> None:
    """Give a command an exercise of the sheet."""
    parser.add_argument("item", metavar="ITEM", help="item id, such as L03-02")
