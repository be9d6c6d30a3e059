"""What has to be run is run beside the marking of what is read: nobody waits for a loop, and marks are the same."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from gearkit.words.errors import GearkitError
from graders.course.roster import Learner, Roster
from graders.mark import again, batch
from graders.mark.submissions import Submission
from graders.mark.workers import beside
from graders.mark.workers.worker import Settings
from graders.run.engines.runner import Run
from graders.run.remote.remote_protocol import Ran, Request
from graders.run.sandbox.layers import Limits
from tests.graders.classroom import Classroom, computed, right
from tests.hostile.cases import code_cell

TODO = [Submission(name, Path(name)) for name in ("loops", "reads", "runs", "reads-too")]


def what_to_run(submission: Submission) -> Request | None:
    return Request((submission.learner,), ()) if submission.learner in ("loops", "runs") else None


class Engine:
    """Runs nothing; its first run lasts until it is told to end."""

    def __init__(self, fault: BaseException | None = None) -> None:
        self.go_on, self.closed, self.fault = threading.Event(), threading.Event(), fault
        self.make: Any = lambda: self

    def run(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        assert self.go_on.wait(60)
        if self.fault is not None:
            raise self.fault
        return Ran(Run((), True, "", 0.0), f"ran {cells[0]}")

    def close(self) -> None:
        self.closed.set()


def test_what_can_be_read_is_marked_while_a_loop_runs() -> None:
    engine, waited = Engine(), list[Any]()
    jobs = beside.jobs(TODO, what_to_run, engine.make, lambda: waited.append(engine.go_on.set()))
    seen = [next(jobs), next(jobs)]
    assert [(job.submission.learner, job.reply) for job in seen] == [("reads", None), ("reads-too", None)]
    assert waited == []
    ran = {job.submission.learner: job.reply for job in jobs}
    assert {learner: reply and (reply.ran.level, reply.digest) for learner, reply in ran.items()} == {
        learner: (f"ran {learner}", Request((learner,), ()).digest) for learner in ("loops", "runs")
    }
    assert len(waited) == 1
    assert engine.closed.is_set()


@pytest.mark.parametrize("fault", [OSError(28, "no room"), GearkitError("nothing runs here")])
def test_trouble_of_the_machine_reaches_whoever_marks(fault: Exception) -> None:
    engine = Engine(fault)
    engine.go_on.set()
    with pytest.raises(type(fault), match=r"no room|nothing runs here"):
        list(beside.jobs(TODO, what_to_run, engine.make))
    assert engine.closed.wait(60)


def test_another_fault_is_left_to_whoever_marks_the_submission() -> None:
    engine = Engine(RecursionError())
    engine.go_on.set()
    jobs = list(beside.jobs(TODO, what_to_run, engine.make))
    assert {job.submission.learner: job.reply for job in jobs} == dict.fromkeys(("loops", "reads", "runs", "reads-too"))


def test_breaking_off_waits_for_no_run_and_ends_the_sandbox_after_it() -> None:
    engine = Engine()
    jobs = beside.jobs(TODO, what_to_run, engine.make)
    next(jobs)
    jobs.close()
    assert not engine.closed.is_set()
    engine.go_on.set()
    assert engine.closed.wait(60)


def test_of_many_to_run_few_are_kept_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "MOST_WAITING", 2)
    engine = Engine()
    engine.go_on.set()
    asked: list[str] = []

    def everything(submission: Submission) -> Request:
        asked.append(submission.learner)
        return Request((submission.learner,), ())

    jobs = beside.jobs([Submission(f"s{number}", Path()) for number in range(6)], everything, engine.make)
    next(jobs)
    assert len(asked) == 3
    assert len(list(jobs)) == 5


def test_marks_are_those_of_a_marker_that_runs_in_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    names = ("ann", "bea", "cid", "dan", "eve")
    room = Classroom(tmp_path, roster=Roster(tuple(Learner(name, name) for name in names)))
    for name, fill in zip(names, (computed, right, computed, right, computed), strict=True):
        notebook = room.copy(name, fill)
        if name == "cid":
            notebook["cells"].insert(1, code_cell("while True: pass"))
        room.hand_in(name, notebook)
    settings = Settings(limits=Limits(cell_seconds=1.0, seconds=20.0))

    def marks(sheet: Any) -> list[Any]:
        return [(learner.learner, learner.items, learner.flags) for learner in sheet.learners]

    together = batch.mark_sheet(room.course, room.sheet, workers=1, settings=settings)
    assert [learner.final == learner.max for learner in together.learners] == [True] * 5
    assert together.sandbox == "full"
    monkeypatch.setattr(beside, "jobs", lambda todo, *rest: (beside.Job(submission) for submission in todo))
    in_line = batch.mark_sheet(room.course, room.sheet, workers=1, settings=settings)
    assert marks(in_line) == marks(together)
    monkeypatch.undo()
    assert marks(again.mark_again(room.course, room.sheet, settings=settings).marks) == marks(together)
