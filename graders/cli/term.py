"""Commands over a term: retakes, appeals, leaving learners, and the marks of the whole course."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.cli.command import DONE, FINDING, Command, table
from gearkit.text.files import write_atomically
from gearkit.text.phrases import fixed
from gearkit.words.errors import UsageError
from graders.book import record
from graders.cli.arguments import add_course, add_drawing_course, add_item, add_learner, add_sheet, add_sheet_file
from graders.cli.telling import Teller
from graders.course import course as courses
from graders.course import lateness, roster
from graders.hand_out import pack
from graders.hand_out.hand_out import sheet_of
from graders.mark.decide import retakes
from graders.mark.rules import Counting
from graders.report.pages.page import counted
from graders.sheets import first_page, previews, sheets, variant_check
from graders.take_in import take_in


def _check_arguments(parser: argparse.ArgumentParser) -> None:
    add_sheet_file(parser)
    parser.add_argument("--class", dest="class_list", metavar="ROSTER.csv", required=True, type=Path, help="class list")
    add_drawing_course(parser)


def _check(options: argparse.Namespace) -> int:
    sheet, class_list = sheets.read(options.sheet), roster.read(options.class_list)
    course = courses.open_course(options.course) if options.course else None
    secret = course.secret() if course else previews.TRIAL
    teller = Teller("draws checked")
    checked = variant_check.check(sheet, class_list, secret, teller.count)
    teller.close()
    rows = [[item.item, str(item.learners), str(item.different or "-"), "; ".join(item.remarks) or "fine"] for item in checked]
    print(table(["item", "learners", "different", "remarks"], rows, right=(1, 2)))
    faults = [fault for item in checked for fault in item.faults]
    print("\nAt the head of the sheet:")
    for rule in first_page.lines(sheet, course):
        print(f"  {rule}")
    if sheet.due and not first_page.late_line(sheet, course):
        print("  What lateness costs is the course's rule; name the course to see it: --course COURSE")
    told = [*roster.unused_words(class_list), *sheet.rules.extra_time_unused(sheet.kind, class_list)]
    for words in (*told, lateness.past(sheet.due, course.zone if course else None)):
        print(words, end="\n" if words else "")
    print(
        f"\n{len(faults)} {'fault' if len(faults) == 1 else 'faults'}."
        if faults
        else "\nEvery learner's numbers can be solved, and no named mistake would be marked right."
    )
    for fault in faults:
        print(f"  {fault}")
    return FINDING if faults else DONE


def _preview_arguments(parser: argparse.ArgumentParser) -> None:
    add_sheet_file(parser)
    parser.add_argument("--learner", default="anybody", metavar="LEARNER", help="whose numbers; any word will do")
    parser.add_argument("--answers", action="store_true", help="as the marker: with right answers and named mistakes")
    parser.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        type=Path,
        default=None,
        help="write the learner's notebook (.ipynb) instead, to open it as they will",
    )
    add_drawing_course(parser)


def _preview(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course) if options.course else None
    if options.output is not None:
        if options.answers or options.output.suffix != ".ipynb":
            raise UsageError("-o writes the learner's notebook: give a file that ends in .ipynb, without --answers.")
        secret = course.secret() if course else previews.TRIAL
        write_atomically(options.output, previews.as_notebook(sheets.read(options.sheet), options.learner, secret, course))
        print(f"Written: {options.output}")
        return DONE
    secret = course.secret() if course else previews.TRIAL
    shown = previews.for_learner(sheets.read(options.sheet), options.learner, secret, answers=options.answers, course=course)
    print(previews.in_terminal(shown))
    return DONE


def _pack_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)
    parser.add_argument("-o", "--output", metavar="FILE", type=Path, required=True, help="the zip to write")
    parser.add_argument("--feedback", action="store_true", help="pack feedback pages instead of the copies")


def _pack(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    done = pack.pack(course, sheet.name, roster.read(course.roster_file), options.output, feedback=options.feedback)
    what = "feedback pages" if options.feedback else "copies"
    print(f"{len(done.learners)} {what} packed, a folder for each learner: {done.file}")
    if done.without:
        print(f"Nothing for: {', '.join(done.without)}")
    return DONE


def _take_in_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)
    parser.add_argument(
        "source", metavar="SOURCE", type=Path, help="a folder or a zip of what was handed in, or the exchange folder"
    )
    parser.add_argument(
        "--replace", action="store_true", help="take newer work in the place of what is there; the earlier is kept"
    )


def _take_in(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    class_list = roster.read(course.roster_file)
    done = take_in.take_in(course, sheet.name, options.source, class_list, replace=options.replace)
    print(f"Taken in: {len(done.taken)}. There already: {len(done.there)}.")
    # What may be somebody else's work, or cannot be read, comes before what is merely worth knowing.
    for words in (*done.remarks, *done.refused, *done.unknown, *done.chosen, *done.aside):
        print(f"  {words}")
    plan = retakes.read(course).get(sheet.name)
    asked = [learner.id for learner in class_list if plan is None or learner.id in plan.learners]
    missing = [identity for identity in done.missing if identity in asked]
    if missing:
        print(f"Nothing yet from {len(missing)} of {len(asked)}:")
        for identity in missing:
            known = class_list.find(identity)
            print(f"  {identity}  {known.name if known else ''}")
    print(f"Next: graders mark {options.course} {sheet.name}")
    return FINDING if done.refused or done.unknown or done.remarks else DONE


def _retake_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser, "name of the sheet that is taken again")
    who = parser.add_mutually_exclusive_group(required=True)
    who.add_argument("--below", type=int, metavar="PERCENT", help="everybody with less, who handed in nothing included")
    who.add_argument("--learner", action="append", default=[], metavar="LEARNER", help="this learner; may be repeated")
    parser.add_argument(
        "--count", choices=[str(counting) for counting in Counting], default="best", help="which attempt counts (default: best)"
    )
    parser.add_argument("--cap", type=int, metavar="PERCENT", help="most that the retake can bring, percent of the marks")
    parser.add_argument(
        "--due",
        default="",
        metavar="TIME",
        help="such as '2026-10-19 17:00', in the course's time zone; a date alone means 23:59",
    )


def _retake(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    if options.below is not None and not 1 <= options.below <= 100:
        raise UsageError(f"--below {options.below}: expected percent from 1 to 100.")
    learners = options.learner or retakes.below(record.read(course.marks_file(sheet.name)), options.below)
    if not learners:
        raise UsageError(f"Nobody has less than {options.below} percent on sheet {sheet.name}; no retake is needed.")
    again, made = retakes.offer(
        course,
        sheet,
        learners,
        counting=Counting(options.count),
        cap=options.cap,
        due=lateness.local_time(options.due, "Due") if options.due else None,
    )
    print(f"Retake {again.name}: {counted(len(made.made), 'copy', 'copies')} made, {len(made.kept)} there already.")
    print(f"For:    {', '.join(sorted((*made.made, *made.kept)))}")
    if again.due:
        print(f"Due:    {again.due:%Y-%m-%d %H:%M} {course.time_zone}. {' '.join(first_page.late_line(again, course))}")
    if past := lateness.past(again.due, course.zone):
        print(past)
    print(f"Copies: {made.folder}/LEARNER/{again.name}/{again.name}.ipynb")
    print(f"Then:   graders mark {options.course} {again.name}\n        graders totals {options.course}")
    return DONE


def _moderate_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)
    parser.add_argument(
        "--boundaries",
        default="50",
        metavar="PERCENTS",
        help="grade boundaries, the lowest is the pass mark (default: 50), such as 50,65,80",
    )
    parser.add_argument(
        "--compare",
        metavar="FILE",
        type=Path,
        default=None,
        help="a filled-in second_marks.csv: tell how far the markers agree",
    )


def _moderate(options: argparse.Namespace) -> int:
    from graders.report import moderation

    if options.compare is not None:
        agreement = moderation.agreement(options.compare)
        beyond = "" if agreement.kappa is None else f"; agreement beyond chance (kappa) {fixed(agreement.kappa, 2)}"
        print(f"The same mark for {agreement.agreed} of {counted(agreement.marks, 'answer')}{beyond}. {agreement.advice}")
        for line in agreement.differences:
            print(f"  {line}")
        return FINDING if agreement.differences else DONE
    try:
        boundaries = [int(word) for word in options.boundaries.split(",")]
    except ValueError:
        raise UsageError(f"--boundaries {options.boundaries!r}: expected percentages such as 50,65,80.") from None
    course = courses.open_course(options.course)
    written = moderation.write(course, sheet_of(course, options.sheet), boundaries)
    print(
        f"{counted(len(written.sample), 'script')} for the second marker: {written.index}\nTo fill in: {written.form}\n"
        f"Then: graders moderate {options.course} {options.sheet} --compare {written.form}"
    )
    return DONE


def _show_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)
    add_learner(parser)
    add_item(parser)


def _show(options: argparse.Namespace) -> int:
    from graders.report.trace import trace

    course = courses.open_course(options.course)
    print(trace(course, sheet_of(course, options.sheet), options.learner, options.item.upper()))
    return DONE


def _totals(options: argparse.Namespace) -> int:
    from graders.report.pages import course_report

    written = course_report.write(courses.open_course(options.course))
    print(f"Marks of the course: {written.page}\n                     {written.table}")
    return DONE


def _remove_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_learner(parser)
    parser.add_argument("--yes", action="store_true", help="really remove; it cannot be undone")


def _remove(options: argparse.Namespace) -> int:
    from graders.mark import removal

    course = courses.open_course(options.course)
    if not options.yes:
        raise UsageError(
            f"Removing {options.learner!r} deletes their work, marks and feedback for good. If that is meant, add --yes."
        )
    removed = removal.remove(course, options.learner)
    print(f"Removed {removed.learner}:")
    for line in removed.done:
        print(f"  {line}")
    if removed.left:
        print("These files still hold that identity; please look at them yourself:")
        for path in removed.left:
            print(f"  {path}")
    print(f"Reports that named them are deleted; write them anew with: graders report {options.course} SHEET")
    return FINDING if removed.left else DONE


COMMANDS = [
    Command(
        "check",
        "check every learner's numbers before a sheet is handed out",
        "graders check week3.toml --class ROSTER.csv",
        _check_arguments,
        _check,
    ),
    Command(
        "preview",
        "show a sheet as a learner sees it, or as the marker sees it",
        "graders preview week3.toml --learner fd07 --answers",
        _preview_arguments,
        _preview,
    ),
    Command(
        "pack",
        "pack everybody's copies or feedback pages into one zip, a folder for each learner",
        "graders pack COURSE week3 -o week3.zip",
        _pack_arguments,
        _pack,
    ),
    Command(
        "take-in",
        "take in what was handed in elsewhere: a folder, a zip, or the exchange folder",
        "graders take-in COURSE week3 submissions.zip",
        _take_in_arguments,
        _take_in,
    ),
    Command(
        "retake",
        "hand a sheet out again with new numbers, to those who are asked",
        "graders retake COURSE week3 --below 50 --cap 70",
        _retake_arguments,
        _retake,
    ),
    Command(
        "moderate",
        "write a sample for the second marker, or tell how far two markers agree",
        "graders moderate COURSE week3 --boundaries 50,65,80",
        _moderate_arguments,
        _moderate,
    ),
    Command(
        "show",
        "show all about one answer on one screen, for an appeal; it holds the right answer",
        "graders show COURSE week3 fd07 L03-05",
        _show_arguments,
        _show,
    ),
    Command(
        "remove",
        "remove a learner from a course: work, marks, feedback, gradebook",
        "graders remove COURSE fd07 --yes",
        _remove_arguments,
        _remove,
    ),
    Command("totals", "write the marks of the whole course, retakes counted", "graders totals COURSE", add_course, _totals),
]
