"""Commands that mark, and that say how well this machine is protected from what it marks."""

from __future__ import annotations

import argparse
import sys

from gearkit.cli.command import DONE, FINDING, Command, add_json, print_json, table
from gearkit.words.errors import UsageError
from graders.book.record import MarkSheet
from graders.cli.arguments import OR_FILE, add_course, add_sheet
from graders.cli.telling import MarkingTeller, seconds_taken
from graders.course import course as courses
from graders.course.course import Course
from graders.course.roster import read_class_list
from graders.hand_out.hand_out import never_told, odd_sheets, sheet_of
from graders.mark import batch, changes
from graders.mark.decide import apply_decisions, decisions
from graders.mark.submissions import misplaced
from graders.mark.workers import cluster
from graders.mark.workers.worker import Settings
from graders.report.pages.page import counted
from graders.run.engines.engines import Engine
from graders.run.sandbox import control_groups, examination, select_sandbox
from graders.sheets import drawn
from graders.sheets.sheets import Sheet


def _mark_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser, OR_FILE)
    parser.add_argument("--workers", type=int, default=0, metavar="N", help="worker processes; chosen if not given")
    parser.add_argument("--resume", action="store_true", help="go on where an earlier run was broken off")
    parser.add_argument("--run-all", action="store_true", help="run every notebook, also those that can be read")
    parser.add_argument(
        "--unprotected", action="store_true", help="run learner code even if this machine cannot close files and network to it"
    )
    parser.add_argument(
        "--cluster",
        default="",
        metavar="ADDRESS",
        help="run what has to be run on dask.distributed: local:N, or a scheduler such as tls://marker.example:8786",
    )
    parser.add_argument("--open-cluster", action="store_true", help="use a cluster that has no certificates")
    parser.add_argument(
        "--engine",
        choices=[str(engine) for engine in Engine],
        default="auto",
        help="what runs the notebooks that cannot be read: the fast warm shell, a real Jupyter kernel "
        "(the reference, slow), or the one that each notebook needs",
    )
    add_json(parser)


def _refuse_windows() -> None:
    """Windows can neither lock a course nor run learner code in a child of a warm process as marking does."""
    if sys.platform == "win32":
        raise UsageError(
            "Marking does not run on Windows itself. Mark in the Windows Subsystem for Linux, on Linux, or on a Mac."
        )


def _mark(options: argparse.Namespace) -> int:
    _refuse_windows()
    if options.workers < 0 or options.workers > 256:
        raise UsageError(f"--workers {options.workers}: expected a number from 1 to 256, or 0 to let it be chosen.")
    if options.cluster:
        cluster.check_address(options.cluster, open_cluster=options.open_cluster)
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    settings = Settings(always_run=options.run_all, unprotected=options.unprotected, engine=options.engine)
    teller = MarkingTeller("submissions marked")
    before = apply_decisions.before_now(course, sheet)
    result = batch.mark_sheet(
        course, sheet, workers=options.workers, resume=options.resume, settings=settings, report=teller, cluster=options.cluster
    )
    teller.close()
    noticed = _outside_folders(course, sheet.name, options) + _never_told(course, sheet)
    noticed += "".join(f"{told}\n" for told in odd_sheets(course)) + _worded_otherwise(course, sheet)
    if options.json:
        print_json(result.to_json())
        # Beside the agreed data, which holds what was marked.
        print(noticed, file=sys.stderr, end="")
    else:
        print(_words(result))
        print(noticed, end="")
        for change in changes.compare(before, result):
            print(f"changed  {change}")
        print(
            f"\nMark sheet: {course.marks_file(sheet.name)}\nNext:       graders report {options.course} {sheet.name}"
            f"\n            graders hand-back {options.course} {sheet.name}"
        )
    return FINDING if result.failed else DONE


def _outside_folders(course: Course, sheet: str, options: argparse.Namespace) -> str:
    """What was handed in where nothing is looked for, in words; "" where nothing was."""
    loose = misplaced(course, sheet)
    if not loose:
        return ""
    shown = ", ".join(loose[:12]) + (" ..." if len(loose) > 12 else "")
    right_place = course.submitted_folder("LEARNER", sheet).relative_to(course.folder)
    return (
        f"Not marked, because nothing is looked for there: {shown}. Work belongs into {right_place}; move it, or put "
        f"all of it into a folder and use: graders take-in {options.course} {sheet} FOLDER\n"
    )


def _never_told(course: Course, sheet: Sheet) -> str:
    """Rules that were changed after the copies went out, in words; "" where none was."""
    lines = never_told(course, sheet, read_class_list(course))
    if not lines:
        return ""
    return (
        f"Changed since the copies were handed out, so that learners read otherwise: {' '.join(lines)} Marks follow "
        "what stands now; tell the class, or put back what was told and mark again.\n"
    )


def _worded_otherwise(course: Course, sheet: Sheet) -> str:
    """Questions that learners read in other words than the kit has now, in words; "" where there is none."""
    learners = [learner.id for learner in read_class_list(course)]
    items = drawn.worded_otherwise(course, sheet, learners, decisions.withdrawn(course, sheet.name))
    if not items:
        return ""
    return (
        f"Learners were asked in other words than this version of gearkit asks now: {', '.join(items)}. Their numbers are "
        "those they were given; compare a copy in handed_out with: graders show. If something else is asked now, take the "
        f"item out of the marks: graders correct {course.folder} {sheet.name} {items[0]} --withdraw --reason REASON\n"
    )


def _words(result: MarkSheet) -> str:
    """The mark sheet for people."""
    if not result.submissions:
        return f"Sheet {result.sheet}: nothing was handed in."
    rows = [
        [learner.learner, learner.name, f"{learner.final:.4g}", f"{learner.max:.4g}", str(len(learner.flags) or "")]
        for learner in result.learners
    ]
    lines = [table(["learner", "name", "marks", "of", "flags"], rows, right=(2, 3, 4))]
    for marked in result.learners:
        lines += [f"  {marked.learner}: {flag}" for flag in marked.flags]
    for failure in result.failed:
        lines.append(f"  {failure.learner}: could not be read. {failure.reason}")
    lines += [
        "",
        f"{result.marked} of {counted(result.submissions, 'submission')} marked in {seconds_taken():.1f} s, loading and writing included; "
        f"learner code: {result.sandbox}.",
    ]
    if result.absent:
        lines.append(
            f"Nothing handed in by {len(result.absent)}: {', '.join(result.absent[:12])}"
            + (" ..." if len(result.absent) > 12 else ".")
        )
    return "\n".join(lines)


def _doctor(options: argparse.Namespace) -> int:
    _refuse_windows()
    findings = []
    for finding in examination.examine():
        findings.append(finding)
        if not options.json:
            print(
                f"{'holds' if finding.holds else finding.behind:9} {finding.layer}: {finding.attack} "
                f"(without it {finding.without}, behind it {finding.behind})",
                flush=True,
            )
    groups = control_groups.standing()
    if not options.json and groups != control_groups.AVAILABLE:
        print(f"not used  control groups: {groups}")
    choice = select_sandbox.choose()
    if choice.runner is not None:
        choice.runner.close()
    closed = choice.runner is not None and choice.runner.protection.holds
    if options.json:
        print_json(
            {
                "level": choice.level,
                "runs_learner_code": closed,
                "control_groups": groups,
                "walls": [
                    {
                        "wall": str(seen.layer),
                        "attack": seen.attack,
                        "without": seen.without,
                        "behind": seen.behind,
                        "holds": seen.holds,
                    }
                    for seen in findings
                ],
            }
        )
    elif closed:
        print(
            f"\nLevel: {choice.level}. Learner code is run behind these layers of protection; plain answers are read without running anything."
        )
    else:
        print(
            f"\nLevel: {choice.level}. Plain answers are marked by reading them. Learner code is run only with "
            f"--unprotected, and then behind {select_sandbox.LIMITS_ONLY.level}: files and the network stay open to it. Better "
            "mark on a Linux machine or in a container that allows user namespaces."
        )
    return DONE if closed else FINDING


COMMANDS = [
    Command("mark", "mark everything handed in for a sheet", "graders mark COURSE week3", _mark_arguments, _mark),
    Command("doctor", "say how well this machine is protected from the code it marks", "graders doctor", add_json, _doctor),
]
