"""`graders demo`: the whole job on the invented class, told step by step, with a check of every mark at the end."""

from __future__ import annotations

import os
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from gearkit.text.phrases import listed
from graders.book.record import MarkSheet
from graders.course import roster as class_list
from graders.demo import class_work, college
from graders.demo.check import Check, compare
from graders.demo.class_work import DemoCourse
from graders.hand_out.hand_out import hand_out
from graders.mark import batch
from graders.mark.batch import Progress
from graders.report.pages import class_report, feedback
from graders.report.pages.class_report import WrittenReport
from graders.report.pages.feedback import WrittenPages
from graders.report.pages.page import counted
from graders.sheets import sheets

SEED = "Fernhallow"
DEFAULT_FOLDER = Path("~/gearkit-demo")
_INDENT = 16


@dataclass(frozen=True)
class Outcome:
    """What the demo made.

    Args:
        demo: course, sheet and plan.
        marks: the mark sheet.
        pages: the feedback pages.
        report: the class report.
        check: plan against marks.
        seconds: time it took.
    """

    demo: DemoCourse
    marks: MarkSheet
    pages: WrittenPages
    report: WrittenReport
    check: Check
    seconds: float


class _Teller:
    """Prints one line for each step; on a terminal the line of a long step counts along."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._begun = time.monotonic()
        self._step = 0

    @property
    def seconds(self) -> float:
        return time.monotonic() - self._begun

    def begin(self, what: str) -> None:
        self._step += 1
        self._out.write(f"  {self._step}  {what:<10} ")
        self._out.flush()

    def end(self, told: str) -> None:
        self._out.write(f"{told}\n")
        self._out.flush()

    def count(self, progress: Progress) -> None:
        if self._out.isatty():
            self._out.write(f"\r  {self._step}  {'mark':<10} {progress.done} of {progress.total} ")
            if progress.done == progress.total:
                self._out.write(f"\r  {self._step}  {'mark':<10} ")
            self._out.flush()


def run(folder: Path = DEFAULT_FOLDER, seed: str = SEED, out: TextIO | None = None) -> Outcome:
    """Do the whole job on the demo class.

    Args:
        folder: where everything goes; an earlier demo there is kept as AT-214.previous.
        seed: fixes the class's numbers and answers; the same seed gives the same marks.
        out: where the steps are told; standard output if None.

    Raises:
        UsageError: the folder holds something that no demo made.
        GearkitError: a file or the gradebook cannot be written.
    """
    tell = _Teller(out or sys.stdout)
    place, again = class_work.fresh_folder(folder)
    tell.end(f"{college.TITLE}\nInstructor {college.INSTRUCTOR} (invented), two groups, {len(college.roster())} learners.\n")
    demo = _prepare(place, seed, tell)
    tell.begin("mark")
    marks = batch.mark_sheet(demo.course, demo.sheet, report=tell.count)
    tell.end(_marked(marks))
    tell.begin("hand back")
    pages = feedback.write_pages(demo.course, demo.sheet)
    tell.end(f"{counted(len(pages.pages), 'feedback page')}, each with the learner's own numbers and no one else's")
    tell.begin("report")
    report = class_report.write(demo.course, demo.sheet)
    tell.end("class report, mark sheet as CSV and JSON")
    check = compare(demo.plan, tuple(learner.id for learner in college.roster()), marks)
    outcome = Outcome(demo, marks, pages, report, check, tell.seconds)
    tell.end(summary(outcome, again))
    return outcome


def _prepare(place: Path, seed: str, tell: _Teller) -> DemoCourse:
    tell.begin("compose")
    course = class_work.open_demo_course(place, seed)
    sheet = class_work.demo_sheet()
    sheets.write(sheet, place.parent / f"{sheet.name}.toml")
    class_list.write(college.roster(), place.parent / "roster.csv")
    lessons = listed([str(number) for number in sorted({entry.item.lesson for entry in sheet.items})])
    tell.end(f"{counted(len(sheet.items), 'item')} of lessons {lessons}, {sheet.marks} marks: “{sheet.title}”")
    tell.begin("hand out")
    made = hand_out(course, sheet, college.roster())
    tell.end(f"{counted(len(made.made), 'copy', 'copies')}, every learner with numbers of their own")
    tell.begin("hand in")
    # What was handed out has the course's rules in it, so it is what is handed in and marked.
    sheet = sheets.read(course.sheet_file(sheet.name))
    demo = DemoCourse(course, sheet, class_work.planned(course, sheet, seed))
    for submission in demo.plan:
        class_work.hand_in(demo, submission)
    tell.end(_handed_in(demo))
    return demo


def _handed_in(demo: DemoCourse) -> str:
    notes = Counter(answer.note for submission in demo.plan for answer in submission.answers)
    odd = sum(1 for submission in demo.plan if submission.mishap)
    told = [f"{count} {note}" for note, count in notes.most_common()]
    lines = [f"{len(demo.plan)} of {len(college.roster())} learners, {odd} of them with a file that misbehaves;"]
    lines += [", ".join(told[:4]) + ",", ", ".join(told[4:])]
    return f"\n{'':{_INDENT}}".join(lines)


def _marked(marks: MarkSheet) -> str:
    ways = Counter(item.way for learner in marks.learners for item in learner.items)
    return (
        f"{counted(marks.submissions, 'submission')} in {marks.seconds:.1f} s; {ways['read']} answers read without running "
        f"anything,\n{'':{_INDENT}}{ways['run']} by running the notebook in a closed-off process ({marks.sandbox})"
    )


def summary(outcome: Outcome, again: bool = False) -> str:
    """Return what the demo tells at its end: the check, where everything is, and what to do next.

    Args:
        outcome: what was made.
        again: whether an earlier demo was there and was kept.
    """
    everybody = len(outcome.check.agreed) + len(outcome.check.differences)
    lines = ["", f"planned = marked for {len(outcome.check.agreed)} of {everybody}"]
    lines += [f"  differs  {difference}" for difference in outcome.check.differences]
    flagged = [learner for learner in outcome.marks.learners if learner.flags]
    lines += ["", f"{counted(len(flagged), 'submission')} to look at; the class report says why.", ""]
    course = outcome.demo.course.folder
    # The checkout's start script says here how it is called, so that the lines below work as they stand.
    start = os.environ.get("GEARKIT_START", "")
    places: list[tuple[str, object]] = [
        ("class report", outcome.report.page),
        ("feedback", outcome.pages.index),
        ("mark sheet", outcome.report.table),
        ("course folder", course),
    ]
    if again:
        places.append(("earlier demo", course.with_name(f"{course.name}.previous")))
    lines += [f"  {name:<14} {place}" for name, place in places]
    lines += [
        "",
        "Open the first two in a browser.",
        f"  to open the lessons                     {start}gearkit lessons",
        f"  to mark this class again yourself       {start}graders mark {course} {outcome.demo.sheet.name}",
        f"Done in {outcome.seconds:.0f} s.",
    ]
    return "\n".join(lines)


def demo(folder: Path = DEFAULT_FOLDER, tell: Callable[..., Outcome] = run) -> int:
    """Run the demo and return 0 where every mark is as planned, 1 where one is not.

    Args:
        folder: where everything goes.
        tell: runs it; another one is for tests.
    """
    return 1 if tell(folder).check.differences else 0
