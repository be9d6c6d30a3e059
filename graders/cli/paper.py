"""Commands for classes that sit without machines: a sheet on paper, and its answers typed in."""

from __future__ import annotations

import argparse
import datetime as dt
import sys
from pathlib import Path

from gearkit.cli.command import DONE, FINDING, Command, add_json, print_json
from gearkit.print import engine
from gearkit.print.document import PaperSize
from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.cli.arguments import add_course, add_sheet
from graders.course import course as courses
from graders.course import roster
from graders.hand_out.hand_out import sheet_of
from graders.paper import asking, copies, type_in
from graders.report.pages.page import counted
from graders.take_in.notes import short


def _paper_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)
    parser.add_argument(
        "-o", "--output", metavar="DIR", required=True, type=Path, help="the folder for what is printed; made if it is missing"
    )
    parser.add_argument(
        "--spare", type=int, default=2, metavar="N", help="spare copies, with numbers of their own (default: %(default)s)"
    )
    parser.add_argument(
        "--paper", default=PaperSize.A4.value, metavar="SIZE", help=f"{' or '.join(PaperSize)} (default: %(default)s)"
    )
    add_json(parser)


def _paper(options: argparse.Namespace) -> int:
    size = PaperSize.named(options.paper)
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    class_list = roster.read(course.roster_file)
    made = copies.of_class(course, sheet, class_list)
    spare = copies.spare(course, sheet, options.spare, class_list)
    folder: Path = options.output
    files = {
        "copies": folder / f"{sheet.name}-copies.pdf",
        "key": folder / f"{sheet.name}-key.pdf",
        "form": folder / f"{sheet.name}-answers.csv",
    }
    if files["form"].exists() and files["form"].read_text("utf-8", errors="replace") != type_in.form([*made, *spare]):
        raise UsageError(f"{files['form']} is there already and holds something else, perhaps answers. Choose another folder.")
    with course.speaking():
        engine.save([copies.document(course, sheet, copy) for copy in made], files["copies"], size)
        if spare:
            files["spare"] = folder / f"{sheet.name}-spare.pdf"
            engine.save([copies.document(course, sheet, copy) for copy in spare], files["spare"], size)
    engine.save([copies.key(course, sheet, [*made, *spare])], files["key"], size)
    write_atomically(files["form"], type_in.form([*made, *spare]))
    if options.json:
        print_json(
            {
                "sheet": sheet.name,
                "copies": [str(copy.mark) for copy in made],
                "spare": [str(copy.mark) for copy in spare],
                "files": {name: str(path) for name, path in files.items()},
            }
        )
        return DONE
    print(f"Copies: {files['copies']}  ({counted(len(made), 'learner')})")
    if spare:
        print(f"Spare:  {files['spare']}  ({counted(len(spare), 'copy', 'copies')})")
    print(f"Key:    {files['key']}  (for the marker alone)")
    print(f"Form:   {files['form']}  (type the answers in here, one row a copy)")
    print(f"Then:   graders type-in {options.course} {sheet.name} {files['form']}")
    print("        (with --ask it asks for the answers here, paper by paper, and fills the form in)")
    return DONE


def _type_in_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)
    parser.add_argument("file", metavar="FILE.csv", type=Path, help="the form that graders paper makes, with answers in it")
    parser.add_argument(
        "--time",
        default="",
        metavar="TIME",
        help="when the work was handed in, such as '2026-03-02 17:00' in the course's time zone "
        "(default: now, or the due time where that is over)",
    )
    parser.add_argument("--replace", action="store_true", help="take it in the place of what is there already")
    parser.add_argument(
        "--ask",
        action="store_true",
        help="ask for the answers here, paper by paper, and keep each in FILE.csv at once; it is made if it is missing",
    )
    add_json(parser)


def _type_in(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    if options.ask:
        if options.json:
            raise UsageError("--ask asks on the screen, and --json is for programs; choose one of them.")
        class_list = roster.read(course.roster_file)
        spares = [copies.spare_copy(course, sheet, name) for name in type_in.spares(course, sheet)]
        printed = [*copies.of_class(course, sheet, class_list), *spares]
        if not asking.ask_all(course, sheet, printed, class_list, options.file, asking.Screen(_asked, print)):
            return FINDING
    done = type_in.type_in(
        course, sheet, options.file, roster.read(course.roster_file), at=_time(course, options.time), replace=options.replace
    )
    taken = done.taken
    if options.json:
        print_json(
            {
                "sheet": sheet.name,
                "taken": list(taken.taken) if taken else [],
                "there": list(taken.there) if taken else [],
                "refused": list(taken.refused) if taken else [],
                "blank": list(done.blank),
                "spare": [list(pair) for pair in done.swapped],
                "time": done.at.isoformat(timespec="seconds"),
                "unread": [
                    {"learner": learner, "column": column, "text": text, "reason": reason}
                    for learner, column, text, reason in done.unread
                ],
            }
        )
        return FINDING if taken and taken.refused else DONE
    if taken is None:
        print(f"No answers stand in {options.file} yet: all its rows are blank. Nothing was taken in.")
        return DONE
    print(f"Typed in: {counted(len(taken.taken), 'learner')}, handed in {done.at:%Y-%m-%d %H:%M %Z}.")
    if taken.there:
        print(f"There already, the same: {', '.join(taken.there)}.")
    for learner, spare in done.swapped:
        print(f"{learner} wrote on {spare} and has its numbers now.")
    for line in taken.refused:
        print(line)
    if done.blank:
        print(f"Blank rows: {', '.join(done.blank)}.")
    if done.unread:
        print(
            "Cannot be read and earns nothing as it stands; on paper nobody can write it anew. Is it typed as it was written?"
        )
        for learner, column, text, reason in done.unread:
            print(f"  {learner}, {column}: {short(text)}. {reason}")
        print(f"To correct one: change it in {options.file}, then the same command with --replace.")
    print(f"Then:     graders mark {options.course} {sheet.name}")
    return FINDING if taken.refused else DONE


def _asked(question: str) -> str:
    """What was typed after a question."""
    print(f"{question}: ", end="", flush=True)
    try:
        line = sys.stdin.readline()
    except KeyboardInterrupt:
        line = ""
    if not line:
        raise asking.StoppedError
    return line


def _time(course: courses.Course, text: str) -> dt.datetime | None:
    if not text.strip():
        return None
    try:
        when = dt.datetime.fromisoformat(text.strip())
    except ValueError:
        when = None
    if when is None or when.tzinfo is not None:
        raise UsageError(f"--time {text!r}: expected a date and time in the course's time zone, such as '2026-03-02 17:00'.")
    return when.replace(tzinfo=course.zone)


COMMANDS = [
    Command(
        "paper",
        "print a sheet: a copy for each learner, spare ones, the key apart, and a form to type answers into",
        "graders paper COURSE week3 -o PAPER",
        _paper_arguments,
        _paper,
    ),
    Command(
        "type-in",
        "take in answers that were written on paper",
        "graders type-in COURSE week3 PAPER/week3-answers.csv",
        _type_in_arguments,
        _type_in,
    ),
]
