"""Commands about a course and its sheets: the course's settings, a sheet handed out, a sheet withdrawn."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.answers.read.commas import DECIMAL, THOUSANDS
from gearkit.cli.command import DONE, Command, add_json, print_json
from gearkit.words.errors import UsageError
from gearkit.words.say import languages
from graders.book import database
from graders.cli.arguments import add_course, add_sheet
from graders.cli.deciding import who, why
from graders.cli.telling import Teller
from graders.course import course as courses
from graders.course import lateness, out, roster
from graders.course.course import Course
from graders.course.roster import Roster
from graders.hand_out import hand_out
from graders.hand_out.hand_out import HandOut, sheet_of
from graders.mark import withdrawal
from graders.report.pages.page import counted
from graders.sheets import first_page, sheets
from graders.sheets.sheets import Sheet


def _hand_out_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser, new=True)
    add_sheet(parser, "a sheet's file, or the name of one that was handed out")
    parser.add_argument(
        "--class",
        dest="class_list",
        metavar="ROSTER.csv",
        required=True,
        type=Path,
        help="class list with the columns id, name, group and, if wanted, extra_time (percent more working time, such as 25)",
    )
    _settings(parser.add_argument_group("settings of a new course; see also: graders course"))
    add_json(parser)


def _settings(parser: argparse._ArgumentGroup | argparse.ArgumentParser) -> None:
    """Give a command the settings of a course.

    Args:
        parser: the command's parser, or a group in it.
    """
    parser.add_argument("--id", default="", help="short identity; the folder's name if not given")
    parser.add_argument("--title", default="", help="title for people")
    parser.add_argument(
        "--gradebook",
        default="",
        metavar="URL",
        help="database of the gradebook, such as postgresql+psycopg://USER@HOST/DATABASE; a file in its folder if not given",
    )
    parser.add_argument(
        "--comma",
        choices=[DECIMAL, THOUSANDS],
        default="",
        help="what a comma with three digits after it is in answers: 2,006 is 2.006 (decimal) or 2006 (thousands); handed back with both if not given",
    )
    parser.add_argument(
        "--language",
        choices=languages(),
        default="",
        help="in which sheets, feedback and pages for learners come out (default: en)",
    )
    parser.add_argument("--time-zone", default="", help="time zone of due times, such as Europe/London (default: UTC)")
    parser.add_argument(
        "--late",
        default="",
        metavar="RULE",
        help=f"what late work earns: {lateness.FORM} (default: full, nothing is taken off)",
    )
    parser.add_argument("--grace", type=int, default=None, metavar="MINUTES", help="so many minutes late are still in time")


def _course_of(options: argparse.Namespace) -> Course:
    """Return the course that a command's options name, made or changed as its settings say.

    Args:
        options: what was typed, with the options of `settings`.
    """
    chosen = None
    if options.late or options.grace is not None:
        there = (options.course / "course.toml").exists()
        chosen = lateness.read(
            options.late, courses.open_course(options.course).rules if there else lateness.UNASKED, options.grace
        )
    return courses.create(
        options.course,
        course_id=options.id,
        title=options.title,
        time_zone=options.time_zone,
        gradebook=options.gradebook,
        comma=options.comma,
        rules=chosen,
        language=options.language,
    )


def _hand_out(options: argparse.Namespace) -> int:
    # Everything that can be wrong is read before anything is written.
    class_list = roster.read(options.class_list)
    is_file = Path(options.sheet).is_file()
    sheet = sheets.read(Path(options.sheet)) if is_file else None
    if sheet is None and not (options.course / "course.toml").exists():
        raise UsageError(f'There is no sheet {options.sheet!r}. Make one with: graders compose "lesson 3" -o SHEET')
    if options.gradebook:
        database.reach(options.gradebook)
    course = _course_of(options)
    teller = Teller("copies made")
    sheet = sheet or sheet_of(course, options.sheet)
    result = hand_out.hand_out(course, sheet, class_list, tell=teller.count)
    teller.close()
    if options.json:
        print_json(
            {
                "course": course.id,
                "sheet": result.sheet,
                "made": list(result.made),
                "kept": list(result.kept),
                "folder": str(result.folder),
                "vanished": list(result.vanished),
                "changed": list(result.changed),
                "columns_not_used": list(class_list.unused),
            }
        )
        return DONE
    there = (
        "1 was there already and was left as it is"
        if len(result.kept) == 1
        else f"{len(result.kept)} were there already and were left as they are"
    )
    kept = f"; {there}" if result.kept else ""
    print(f"Sheet {result.sheet}: {counted(len(result.made), 'copy', 'copies')} made{kept}.")
    if result.outdated:
        print("The sheet's rules or due time changed since: the copies that are out tell the old ones. Tell the class.")
    _tell_time_and_class(course, sheet, class_list, result)
    print(f"Copies:     {result.folder}/LEARNER/{result.sheet}/{result.sheet}.ipynb")
    print(f"Collect in: {course.submitted}/LEARNER/{result.sheet}/")
    print(f"Then:       graders mark {options.course} {result.sheet}")
    return DONE


def _tell_time_and_class(course: Course, sheet: Sheet, class_list: Roster, result: HandOut) -> None:
    """Say when the sheet is due and what lateness costs, and what of the class list is worth knowing."""
    if sheet.due:
        print(
            f"Due:        {sheet.due:%Y-%m-%d %H:%M} {course.time_zone}. {' '.join(first_page.late_line(sheet, course))}".rstrip()
        )
    if past := lateness.past(sheet.due, course.zone):
        print(past)
    for words in (*roster.unused_words(class_list), *sheet.rules.extra_time_unused(sheet.kind, class_list)):
        print(words)
    if result.changed:
        print(f"Changed on the class list: {'; '.join(result.changed)}.")
    if result.vanished:
        print(
            f"Not on this class list any more: {', '.join(result.vanished)}. They stay in the course and get copies; whoever left: "
            "graders remove COURSE LEARNER --yes"
        )


def _course_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser, new=True)
    _settings(parser)


def _course(options: argparse.Namespace) -> int:
    course = _course_of(options)
    gradebook = "a database of its own" if course.gradebook else "gradebook.db in the folder"
    rules = course.rules.in_words()
    print(
        f"{course.title} ({course.id}), in {course.folder}\n"
        f"  language          {course.language}\n"
        f"  time zone         {course.time_zone}\n"
        f"  late work         {rules}\n"
        f"  2,006 in answers  {course.comma}\n"
        f"  gradebook         {gradebook}"
    )
    if settled := out.why_settled(course.folder):
        print(f"{settled[:1].upper()}{settled[1:]}, so these settings stand as learners read them.")
    elif out.was_withdrawn(course.folder):
        print("No sheet is out any more, and nobody handed anything in: every setting can be changed with this command.")
    else:
        print("Nothing was handed out yet: every setting can still be changed with this command.")
    return DONE


def _withdraw_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)
    why(parser)
    parser.add_argument("--yes", action="store_true", help="also where work was handed in for it")


def _withdraw(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    learners = withdrawal.handed_in(course, sheet)
    if learners and not options.yes:
        raise UsageError(
            f"{counted(len(learners), 'learner has', 'learners have')} handed in work for sheet {sheet.name}; it would be neither marked "
            "nor counted any more. If that is meant, add --yes. One item alone: graders correct COURSE SHEET ITEM --withdraw"
        )
    done = withdrawal.withdraw(course, sheet, who(options), options.reason)
    print(
        f"Sheet {sheet.name} is withdrawn: nobody is marked on it and it counts nowhere.\n"
        f"Put aside: {done.folder} ({counted(done.copies, 'copy', 'copies')}, work of {len(done.handed_in)})\n"
        "Copies that learners have already cannot be called back: tell the class. What was exported before stays as it was sent."
    )
    return DONE


COMMANDS = [
    Command(
        "course",
        "make a course, show its settings, or change them before the first hand-out",
        "graders course COURSE --title 'Automatic transmissions' --late '10 percent a day, 3 days' --grace 15",
        _course_arguments,
        _course,
    ),
    Command(
        "hand-out",
        "build the course folder and each learner's own copy",
        "graders hand-out COURSE week3.toml --class ROSTER.csv",
        _hand_out_arguments,
        _hand_out,
    ),
    Command(
        "withdraw",
        "withdraw a sheet that was handed out; all of it is put aside",
        "graders withdraw COURSE week3-retake --reason 'wrong room, done again next week' --yes",
        _withdraw_arguments,
        _withdraw,
    ),
]
