"""Marks single learners or single items again, after an item, a sheet or the kit was corrected.

Whoever and whatever is not named keeps the marks they have, to the letter. Where only items are named, notebooks that had
to be run are not run once more: what running them gave was kept, and it is read and marked anew.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from contextlib import closing
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path

from gearkit.words.errors import UsageError
from graders.book import tables
from graders.book.record import LearnerMarks
from graders.course import course_lock
from graders.course.course import Course
from graders.course.roster import read_class_list
from graders.mark import batch, rules
from graders.mark.decide import deciding, decisions
from graders.mark.decide.apply_decisions import Decided
from graders.mark.submissions import Submission, submissions
from graders.mark.workers import beside
from graders.mark.workers.worker import Part, Settings, Worker, engines_for, part_file, read_part, write_part
from graders.run.remote.remote_protocol import Reply, Request
from graders.sheets import drawn
from graders.sheets.sheets import Sheet


def mark_again(
    course: Course,
    sheet: Sheet,
    *,
    learners: Collection[str] = (),
    items: Collection[str] = (),
    settings: Settings | None = None,
) -> Decided:
    """Mark some of a sheet's submissions again and put decisions on top.

    Args:
        course: the course.
        sheet: the sheet, which must have been marked as a whole before.
        learners: identities; everybody where it is empty.
        items: items whose marks are taken; all where it is empty.
        settings: how to mark.

    Raises:
        UsageError: an unknown item, a learner who handed in nothing, or a sheet that was not marked as a whole.
        GearkitError: somebody else is at work in the course.
    """
    with course_lock.taken(course, f"marking sheet {sheet.name} again"):
        return _mark_again(course, sheet, learners, items, settings or Settings())


def _mark_again(course: Course, sheet: Sheet, learners: Collection[str], items: Collection[str], settings: Settings) -> Decided:
    unknown = sorted(set(items) - set(sheet.item_ids))
    if unknown:
        raise UsageError(f"Sheet {sheet.name} has no item {', '.join(unknown)}. Its items: {', '.join(sheet.item_ids)}.")
    handed_in = submissions(course, sheet.name)
    absent = sorted(set(learners) - {submission.learner for submission in handed_in})
    if absent:
        raise UsageError(f"Nothing was handed in for sheet {sheet.name} by: {', '.join(absent)}.")
    drawn.keep_what_was_handed_out(
        course,
        sheet,
        [submission.learner for submission in handed_in if not submission.refused],
        decisions.withdrawn(course, sheet.name),
    )
    before = _parts(course, sheet, handed_in)
    class_list = read_class_list(course)
    worker = Worker(course, sheet, class_list, settings)

    def known(submission: Submission, request: Request) -> Reply | None:
        # Where an item was corrected, what learners wrote is what it was; whoever is named is run once more.
        return worker.kept_reply(before[submission.learner], request) if items and not learners else None

    try:
        todo = [submission for submission in handed_in if not learners or submission.learner in learners]
        with closing(beside.jobs(todo, worker.what_to_run, engines_for(course, settings), tables.load, known)) as jobs:
            for job in jobs:
                worker(job)
                if items:
                    learner = job.submission.learner
                    due = rules.due_of(sheet, class_list.find(learner))
                    _keep_other_items(
                        part_file(course, sheet.name, learner),
                        before[learner],
                        items,
                        partial(deciding.with_lateness, due=due, course=course, sheet=sheet),
                    )
    finally:
        worker.close()
    return batch.decided_again(course, sheet)


def _parts(course: Course, sheet: Sheet, handed_in: Collection[Submission]) -> dict[str, Part]:
    parts: dict[str, Part] = {}
    for submission in handed_in:
        part = read_part(part_file(course, sheet.name, submission.learner))
        if part is None:
            raise UsageError(
                f"Sheet {sheet.name} was not marked as a whole ({submission.learner} is missing). Mark it first: "
                f"graders mark {course.folder} {sheet.name}"
            )
        parts[submission.learner] = part
    return parts


def _keep_other_items(
    path: Path, before: Part, items: Collection[str], with_lateness: Callable[[LearnerMarks], LearnerMarks]
) -> None:
    now = read_part(path)
    if now is None:
        return
    old = {mark.item: mark for mark in before.marks.items}
    merged = tuple(mark if mark.item in items else old.get(mark.item, mark) for mark in now.marks.items)
    score = sum((Fraction(item.score).limit_denominator(10**6) for item in merged), Fraction(0))
    marks = with_lateness(replace(now.marks, items=merged, score=round(float(score), 6)))
    write_part(replace(now, marks=marks), path)
