"""Commands after marking: report, hand back, export; and the demo of the whole job."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from gearkit.cli.command import DONE, Command
from graders.cli.arguments import OR_FILE, add_course, add_sheet
from graders.cli.telling import Teller
from graders.course import course as courses
from graders.course.course import Course
from graders.hand_out.hand_out import odd_sheets, sheet_of
from graders.report import exports
from graders.report.pages.page import counted


def _course_and_sheet(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser, OR_FILE)


def _report_arguments(parser: argparse.ArgumentParser) -> None:
    _course_and_sheet(parser)
    parser.add_argument(
        "--pseudonyms", action="store_true", help="without names and answers, for a report that leaves the class"
    )


def _report(options: argparse.Namespace) -> int:
    from graders.report.pages import class_report

    course = courses.open_course(options.course)
    written = class_report.write(course, sheet_of(course, options.sheet), pseudonyms=options.pseudonyms)
    print(f"Class report: {written.page}\nMark sheet:   {written.table}\n              {written.data}")
    _tell_odd_sheets(course)
    return DONE


def _tell_odd_sheets(course: Course) -> None:
    for told in odd_sheets(course):
        print(told, file=sys.stderr)


def _hand_back_arguments(parser: argparse.ArgumentParser) -> None:
    _course_and_sheet(parser)
    parser.add_argument("--answers", action="store_true", help="show right answers too; only when nobody may try again")
    parser.add_argument("--note", default="", help="a sentence for everybody, such as when the retake is")


def _hand_back(options: argparse.Namespace) -> int:
    from graders.report.pages import feedback

    course = courses.open_course(options.course)
    teller = Teller("feedback pages written")
    written = feedback.write_pages(
        course, sheet_of(course, options.sheet), answers=options.answers, note=options.note, tell=teller.count
    )
    teller.close()
    print(f"{counted(len(written.pages), 'feedback page')} written.\nOverview: {written.index}")
    return DONE


def _export_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    parser.add_argument(
        "--to",
        choices=exports.KINDS,
        required=True,
        help="form of the file. The ids by which its receiver knows things may stand in "
        "COURSE/exchange.toml: school, class, academic_session and home_page, each a text in quotes, "
        'and under [users] a line LEARNER = "id" for each learner',
    )
    parser.add_argument("-o", "--output", metavar="FILE", type=Path, required=True, help="the file to write")
    parser.add_argument("--pseudonyms", action="store_true", help="without names and answers, for a file that leaves the class")


def _export(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    count = exports.write(course, options.to, options.output, pseudonyms=options.pseudonyms)
    _tell_odd_sheets(course)
    print(f"Marks of {count} {'sheet' if count == 1 else 'sheets'} written: {options.output}")
    if not options.pseudonyms and (missing := exports.to_be_set(course, options.to)):
        print(missing)
    return DONE


def _demo_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "-o",
        "--output",
        metavar="DIR",
        type=Path,
        default=Path("~/gearkit-demo"),
        help="folder for everything (default: ~/gearkit-demo); an earlier demo there is kept beside it",
    )


def _demo(options: argparse.Namespace) -> int:
    from graders.demo import show

    return show.demo(options.output)


COMMANDS = [
    Command("report", "write the class report of a marked sheet", "graders report COURSE week3", _report_arguments, _report),
    Command(
        "hand-back", "write each learner's feedback page", "graders hand-back COURSE week3", _hand_back_arguments, _hand_back
    ),
    Command(
        "export",
        "write the marks as an exchange file",
        "graders export COURSE --to oneroster -o marks.zip",
        _export_arguments,
        _export,
    ),
    Command("demo", "the whole job on an invented class", "graders demo -o demo", _demo_arguments, _demo),
]
