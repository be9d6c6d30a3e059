"""Marks everything handed in for a sheet. Nothing that one learner does stops or changes anybody else's marks.

Broken off at any moment and taken up again with `resume`, it ends with the same mark sheet, byte for byte.
"""

from __future__ import annotations

import gc
import os
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType

from gearkit.words.errors import GearkitError
from graders.book import record, tables
from graders.book.record import Failure, MarkSheet
from graders.course import course_lock
from graders.course.course import Course
from graders.course.language import in_its_language
from graders.course.roster import Roster, read_class_list
from graders.mark.decide import apply_decisions, decisions
from graders.mark.decide.apply_decisions import Decided
from graders.mark.marks_on_disk import StoredMarks
from graders.mark.submissions import Submission, submissions
from graders.mark.workers import beside, pool
from graders.mark.workers.cluster import Job, connected
from graders.mark.workers.worker import Outcome, Part, Settings, Worker, engines_for, marks_text, part_file, read_part
from graders.run.engines import warm_process
from graders.run.engines.engines import Engines
from graders.sheets import drawn
from graders.sheets.sheets import Sheet

SMALL = 60
# The first submissions pay for the start of sandboxes and workers; a rate made of them would be wrong by far.
ENOUGH_TO_TELL = 5


@dataclass(frozen=True)
class Progress:
    """How far marking is.

    Args:
        done: submissions marked.
        total: submissions handed in.
        seconds: time since the start, in seconds.
        before: of those marked, how many an earlier run had marked already.
    """

    done: int
    total: int
    seconds: float
    before: int = 0

    @property
    def rate(self) -> float | None:
        """Submissions per second in this run; None while too few are done to tell."""
        now = self.done - self.before
        return now / self.seconds if now >= ENOUGH_TO_TELL and self.seconds > 0 else None

    @property
    def seconds_left(self) -> float | None:
        """Time left at this rate, in seconds; None while too few are done to tell."""
        return None if self.rate is None else (self.total - self.done) / self.rate


Report = Callable[[Progress], None]


@in_its_language
def mark_sheet(
    course: Course,
    sheet: Sheet,
    *,
    workers: int = 0,
    resume: bool = False,
    settings: Settings | None = None,
    report: Report | None = None,
    cluster: str = "",
) -> MarkSheet:
    """Mark everything handed in for a sheet, and write mark sheet, gradebook and marked copies.

    Args:
        course: the course.
        sheet: the sheet.
        workers: number of worker processes; 0 chooses.
        resume: keep what an earlier run already marked from the same files.
        settings: how to mark.
        report: is told the progress.
        cluster: where to run what has to be run, "local:N" or a scheduler's address; "" for the worker processes.

    Raises:
        GearkitError: a file or the gradebook cannot be written; what was marked until then is kept. Or somebody else
            is at work in the course.
    """
    with course_lock.taken(course, f"marking sheet {sheet.name}"), _what_stays_left_alone():
        return _mark_and_decide(course, sheet, _How(workers, resume, settings or Settings(), cluster), report)


@contextmanager
def _what_stays_left_alone() -> Iterator[None]:
    """Let no search for circles go through what is loaded already; it would take as long as marking a dozen learners."""
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()


@dataclass(frozen=True)
class _How:
    workers: int
    resume: bool
    settings: Settings
    cluster: str


def _mark_and_decide(course: Course, sheet: Sheet, how: _How, report: Report | None) -> MarkSheet:
    started = time.monotonic()
    roster = read_class_list(course)
    course.secret()
    handed_in = submissions(course, sheet.name)
    drawn.keep_what_was_handed_out(
        course,
        sheet,
        [submission.learner for submission in handed_in if not submission.refused],
        decisions.withdrawn(course, sheet.name),
    )
    make = partial(Worker, course, sheet, roster, how.settings)
    try:
        known = _mark(handed_in, make, how, engines_for(course, how.settings), partial(_tell, report, started))
        result = assembled(course, sheet, roster, handed_in, time.monotonic() - started, known)
    except OSError as fault:
        raise GearkitError(
            f"Marking stopped: {fault.strerror} ({fault.filename}). What was marked is kept; mend this and go on with --resume."
        ) from None
    return apply_decisions.put_on_top(course, sheet, result).marks


@in_its_language
def decided_again(course: Course, sheet: Sheet) -> Decided:
    """Put decisions on a marked sheet once more, without marking anything anew; the caller has the lock of the course.

    Args:
        course: the course.
        sheet: the sheet, which must have been marked.

    Raises:
        UsageError: it has not been marked.
    """
    seconds = record.read(course.marks_file(sheet.name)).seconds
    handed_in = submissions(course, sheet.name)
    return apply_decisions.put_on_top(course, sheet, assembled(course, sheet, read_class_list(course), handed_in, seconds))


def _mark(
    handed_in: Sequence[Submission],
    make: Callable[[], Worker],
    how: _How,
    make_engines: Callable[[], Engines],
    tell: Callable[[int, int, int], None],
) -> dict[str, Outcome]:
    """Mark what is to be marked; what came of it, by learner."""
    keeper, known = make(), {}
    todo = [handed for handed in handed_in if not (how.resume and keeper.is_done(handed))]
    done = before = len(handed_in) - len(todo)
    tell(done, len(handed_in), before)
    workers = min(how.workers or _workers_for(len(todo)), max(1, len(todo)))
    with _jobs(todo, keeper, how, make_engines, workers) as jobs:
        for finished in pool.run(make, jobs, workers):
            submission = finished.task.submission
            if finished.result is None:
                keeper.set_aside(submission)
            else:
                known[submission.learner] = finished.result
            done += 1
            tell(done, len(handed_in), before)
    return known


@contextmanager
def _jobs(
    todo: Sequence[Submission], keeper: Worker, how: _How, make_engines: Callable[[], Engines], workers: int
) -> Iterator[Iterable[Job]]:
    """The submissions to mark; where one process marks, or a cluster runs, with what running gave."""
    if not todo or (workers > 1 and not how.cluster):
        # Several processes wait for one another's loops as little as for one another; each starts what it needs.
        warm_process.end_ahead()
        yield [Job(submission) for submission in todo]
    elif not how.cluster:
        # What the gradebook needs takes half a second to load.
        with closing(beside.jobs(todo, keeper.what_to_run, make_engines, tables.load)) as jobs:
            yield jobs
    else:
        with connected(how.cluster, make_engines) as cluster:
            yield cluster.jobs(todo, keeper.what_to_run)


def _workers_for(tasks: int) -> int:
    """A worker process takes half a second to start; a small class is marked sooner without."""
    return 1 if tasks < SMALL else min(os.cpu_count() or 1, 1 + tasks // SMALL)


def _tell(report: Report | None, started: float, done: int, total: int, before: int) -> None:
    if report is not None:
        report(Progress(done, total, time.monotonic() - started, before))


def assembled(
    course: Course,
    sheet: Sheet,
    roster: Roster,
    handed_in: Sequence[Submission],
    seconds: float,
    known: Mapping[str, Outcome] = MappingProxyType({}),
) -> MarkSheet:
    """The mark sheet made of the results on disk.

    Args:
        course: the course.
        sheet: the sheet.
        roster: the class list.
        handed_in: everything handed in.
        seconds: time that marking took.
        known: what came of those that were marked just now, by learner; their results need not be read to know it.
    """

    def part_at(place: int) -> Part:
        learner = handed_in[place].learner
        part = read_part(part_file(course, sheet.name, learner))
        if part is None:
            raise GearkitError(
                f"The marks of {learner!r} are missing in {course.folder / 'marks' / sheet.name}. Go on with --resume."
            )
        return part

    failed: list[Failure] = []
    levels: set[str] = set()
    for place, submission in enumerate(handed_in):
        outcome = known.get(submission.learner) or part_at(place)
        failed += [Failure(submission.learner, outcome.failure)] if outcome.failure else []
        levels |= {outcome.sandbox} - {""}
    present = {submission.learner for submission in handed_in}
    absent = tuple(sorted(learner.id for learner in roster if learner.id not in present))
    learners = StoredMarks(
        len(handed_in),
        lambda place: part_at(place).marks,
        lambda place: marks_text(part_file(course, sheet.name, handed_in[place].learner)),
    )
    return MarkSheet(
        sheet.name,
        len(handed_in),
        len(handed_in) - len(failed),
        tuple(failed),
        learners,
        seconds,
        ", ".join(sorted(levels)) or "nothing was run",
        absent,
    )
