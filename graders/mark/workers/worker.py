"""Marks submissions one after the other and leaves each result in its own file, whole or not at all.

The file is named after the learner and carries a fingerprint of everything that decided about the marks, so that
marking can be broken off at any moment and taken up again without doing anything twice.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import gearkit
from gearkit.text.files import write_atomically
from graders.book.record import LearnerMarks
from graders.course.course import Course, check_learner
from graders.course.roster import Learner, Roster
from graders.mark.decide import decisions
from graders.mark.marked_copy import MarkedCopies
from graders.mark.marking import Marked, mark_submission, what_to_run
from graders.mark.submissions import Submission, fingerprint
from graders.mark.workers import kept_runs
from graders.mark.workers.cluster import Job
from graders.run.engines.engines import Engine, Engines
from graders.run.engines.runner import Run
from graders.run.remote.remote_protocol import Reply, Request
from graders.run.sandbox.layers import Limits
from graders.run.sandbox.select_sandbox import NOTHING_RUN
from graders.sheets import sheets
from graders.sheets.sheets import Sheet
from graders.take_in import hand_ins, remarks

PART_FORMAT = 1
_MARKS = ', "marks": '
LOST = "Marking this submission ended the marker's worker again and again; it was set aside. Please look at it."


@dataclass(frozen=True)
class Settings:
    """How to mark.

    Args:
        always_run: run even what could be read.
        unprotected: run learner code even where the machine cannot close files and network to it.
        engine: how to run what has to be run: "warm", "kernel", or "auto" for the one that each notebook needs.
        limits: what one submission may use; None for the usual, with the course's time for a cell.
    """

    always_run: bool = False
    unprotected: bool = False
    engine: str = Engine.AUTO.value
    limits: Limits | None = None


@dataclass(frozen=True)
class Part:
    """One submission's result as it stands on disk.

    Args:
        fingerprint: what it was made from.
        marks: the learner's marks.
        failure: why nothing could be read, or "".
        sandbox: protection under which its code ran, or "" where nothing was run.
        ran: what is kept of running it, or "".
    """

    fingerprint: str
    marks: LearnerMarks
    failure: str = ""
    sandbox: str = ""
    ran: str = ""


@dataclass(frozen=True)
class Outcome:
    """What is to be known of a submission that was marked just now, beside its marks.

    Args:
        failure: why nothing could be read, or "".
        sandbox: protection under which its code ran, or "" where nothing was run.
    """

    failure: str
    sandbox: str


def part_file(course: Course, sheet: str, learner: str) -> Path:
    """Where the result of one submission is kept.

    Args:
        course: the course.
        sheet: name of the sheet.
        learner: identity of the learner; where it can be none a fingerprint stands for it, which begins like no identity.
    """
    name = learner if check_learner(learner) is None else f"-{hashlib.sha256(learner.encode('utf-8', 'replace')).hexdigest()}"
    return course.folder / "marks" / sheet / f"{name}.json"


def read_part(path: Path) -> Part | None:
    """A result from disk, or None where there is none that can be used."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["format"] != PART_FORMAT:
            return None
        marks = LearnerMarks.from_file(data["marks"])
        return Part(data["fingerprint"], marks, data["failure"], data["sandbox"], str(data.get("ran", "")))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def marks_text(path: Path) -> str:
    """The marks in a result on disk, as they stand there; the result must be one that `read_part` can use."""
    # A quotation mark inside a text is written with a stroke before it, so this is found nowhere else.
    return path.read_text(encoding="utf-8").partition(_MARKS)[2].rstrip().removesuffix("}")


def write_part(part: Part, path: Path) -> None:
    """Keep a result.

    Args:
        part: the result.
        path: its file.
    """
    data: dict[str, Any] = {
        "format": PART_FORMAT,
        "fingerprint": part.fingerprint,
        "failure": part.failure,
        "sandbox": part.sandbox,
        **({"ran": part.ran} if part.ran else {}),
        "marks": part.marks.to_file(),
    }
    write_atomically(path, json.dumps(data, ensure_ascii=False) + "\n", durable=False)


class Worker:
    """Marks the submissions of one sheet.

    Args:
        course: the course.
        sheet: the sheet.
        roster: the class list.
        settings: how to mark.
    """

    def __init__(self, course: Course, sheet: Sheet, roster: Roster, settings: Settings) -> None:
        self._course, self._sheet, self._roster, self._settings = course, sheet, roster, settings
        self._engines = engines_for(course, settings)()
        self._ran = self._kept = ""
        self._reply: Reply | None = None
        self._context = context_of(course, sheet, settings)
        self._conditions = f"{_version()}\0{course.cell_seconds}\0{settings!r}"
        self._copies = MarkedCopies(course, sheet)
        self._withdrawn = decisions.withdrawn(course, sheet.name)

    def __call__(self, job: Job) -> Outcome:
        """Mark a submission and keep the result."""
        submission, self._reply = job.submission, job.reply
        path = part_file(self._course, self._sheet.name, submission.learner)
        mark_of = fingerprint(submission.folder, self._fingerprint_context(submission.learner))
        self._ran = self._kept = ""
        marked = mark_submission(
            self._course,
            self._sheet,
            self._roster,
            submission,
            self._execute,
            always_run=self._settings.always_run,
            withdrawn=self._withdrawn,
        )
        if not submission.refused:
            self._write_copy(submission, marked)
        write_part(Part(mark_of, marked.marks, marked.failure, self._ran, self._kept), path)
        return Outcome(marked.failure, self._ran)

    def is_done(self, submission: Submission) -> bool:
        """Whether the result on disk was made from exactly what is there now, and what had to be run was run."""
        part = read_part(part_file(self._course, self._sheet.name, submission.learner))
        copy = self._course.autograded_file(submission.learner, self._sheet.name)
        if part is None or part.sandbox == NOTHING_RUN or not (submission.refused or (copy.exists() and copy.stat().st_size)):
            return False
        return part.fingerprint == fingerprint(submission.folder, self._fingerprint_context(submission.learner))

    def what_to_run(self, submission: Submission) -> Request | None:
        """What has to be run of a submission, None where it can be read."""
        return what_to_run(self._sheet, submission, always_run=self._settings.always_run)

    def kept_reply(self, part: Part, request: Request) -> Reply | None:
        """What running this very notebook under these very conditions gave before, None where nothing was kept of it.

        Args:
            part: the submission's result of then.
            request: what has to be run of it now.
        """
        return kept_runs.reply_to(request, self._conditions, part.ran) if part.ran else None

    def set_aside(self, submission: Submission) -> None:
        """Keep a result for a submission on which workers died."""
        empty = Submission(submission.learner, submission.folder, LOST)
        marked = mark_submission(self._course, self._sheet, self._roster, empty, None)
        mark_of = fingerprint(submission.folder, self._fingerprint_context(submission.learner))
        write_part(Part(mark_of, marked.marks, LOST), part_file(self._course, self._sheet.name, submission.learner))

    def close(self) -> None:
        """End the sandboxes."""
        self._engines.close()

    def _execute(self, cells: Sequence[str], setup: Sequence[str]) -> Run:
        reply, request = self._reply, Request(tuple(cells), tuple(setup))
        # Where the file was changed since it was sent, what came back belongs to something else.
        fits = reply is not None and reply.digest == request.digest
        ran = reply.ran if reply is not None and fits else self._engines.run(cells, setup)
        self._ran, self._kept = ran.level, kept_runs.kept(ran, request, self._conditions)
        return ran.run

    def _fingerprint_context(self, learner: str) -> str:
        beyond = hand_ins.beyond(self._course, self._sheet.name, learner)
        odd = "\0".join(remarks.of(self._course, self._sheet.name, learner))
        return f"{self._context}{self._roster.find(learner)!r}{beyond or ''}{odd}"

    def _write_copy(self, submission: Submission, marked: Marked) -> None:
        learner = self._roster.find(submission.learner) or Learner(submission.learner, submission.learner)
        self._copies.write(learner, marked)


def engines_for(course: Course, settings: Settings) -> Callable[[], Engines]:
    """What makes the engines for the notebooks of a course, here or on another machine; it holds nothing secret.

    Args:
        course: the course, whose folder is hidden from them.
        settings: how to mark.
    """
    usual = Limits()
    # A longer time for a cell lengthens that of the submission, a shorter one leaves it.
    limits = settings.limits or replace(
        usual, cell_seconds=float(course.cell_seconds), seconds=max(usual.seconds, 4.0 * course.cell_seconds)
    )
    return partial(Engines, limits, [course.folder], engine=settings.engine, unprotected=settings.unprotected)


def _version() -> str:
    return str(getattr(gearkit, "__version__", ""))


def context_of(course: Course, sheet: Sheet, settings: Settings) -> str:
    """Everything but the submission itself that decides about its marks.

    Args:
        course: the course.
        sheet: the sheet.
        settings: how to mark.
    """
    return f"{_version()}\0{course.id}\0{course.time_zone}\0{course.rules!r}\0{course.cell_seconds}\0{sheets.as_text(sheet)}\0{settings!r}\0"
