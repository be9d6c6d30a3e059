"""A fault of the marker on one submission is that submission's affair, with one process as with several."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path

import pytest

from gearkit.words.errors import GearkitError
from graders.mark import batch, marking
from graders.mark.submissions import Submission
from graders.mark.workers import pool
from graders.run.engines import engines as engines_module
from graders.run.engines.engines import Engines
from graders.run.engines.runner import Run, Runner
from graders.run.read.finding import FoundWork
from graders.run.sandbox import select_sandbox
from graders.run.sandbox.layers import Limits
from graders.sheets.sheets import Sheet
from tests.graders.classroom import Classroom, computed, right


def test_a_fault_on_one_submission_sets_it_aside_and_leaves_the_others_their_marks(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    room = Classroom(tmp_path, "L03-02")
    for learner in ("s1", "s2", "s3"):
        room.hand_in(learner, room.copy(learner, right))
    found = marking._taken

    def faulty(sheet: Sheet, submission: Submission) -> FoundWork:
        if submission.learner == "s2" and not submission.refused:
            raise LookupError("a fault that nobody thought of")
        return found(sheet, submission)

    monkeypatch.setattr(marking, "_taken", faulty)
    marked = batch.mark_sheet(room.course, room.sheet, workers=1)
    assert {one.learner: one.score for one in marked.learners} == {"s1": 2.0, "s2": 0.0, "s3": 2.0}
    assert [failure.learner for failure in marked.failed] == ["s2"]
    assert "set aside" in marked.failed[0].reason


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), GearkitError("the secret is gone")])
def test_trouble_of_the_machine_is_told_and_not_laid_on_a_submission(fault: Exception) -> None:
    def serve(task: int) -> int:
        raise fault

    with pytest.raises(type(fault), match=r"No space left|secret is gone"):
        list(pool.run(lambda: serve, [1, 2], workers=1))


class Troubled:
    """A worker that meets trouble of the machine on one task."""

    def __init__(self, full: bool) -> None:
        self._full = full

    def __call__(self, task: int) -> int:
        if task == 3:
            raise OSError(28, "No space left on device", "/marks/s3") if self._full else GearkitError("the secret is gone")
        return task


@pytest.mark.parametrize("full", [True, False])
def test_trouble_that_a_worker_process_meets_is_told_as_it_is_with_one(full: bool) -> None:
    with pytest.raises(OSError if full else GearkitError) as raised:
        list(pool.run(partial(Troubled, full), range(8), workers=2))
    assert str(raised.value) == ("[Errno 28] No space left on device: '/marks/s3'" if full else "the secret is gone")


def test_where_nothing_can_be_run_at_the_moment_nobody_is_marked_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = Classroom(tmp_path, "L03-02")
    for learner in ("s1", "s2"):
        room.hand_in(learner, room.copy(learner, computed))
    with monkeypatch.context() as patch:
        patch.setattr(Runner, "_start", lambda runner: False)
        with pytest.raises(GearkitError, match=r"the program that runs learner code does not start.*go on with --resume"):
            batch.mark_sheet(room.course, room.sheet, workers=1)
    assert not room.course.marks_file("A1").exists()
    assert [one.score for one in batch.mark_sheet(room.course, room.sheet, resume=True, workers=1).learners] == [2.0, 2.0]


def test_a_runner_that_fails_later_is_the_machines_trouble_if_nothing_else_runs_either(monkeypatch: pytest.MonkeyPatch) -> None:
    engines = Engines(Limits())
    try:
        assert engines.run(["answer('a', 1)"], []).run.complete
        monkeypatch.setattr(Runner, "_start", lambda runner: False)
        with pytest.raises(OSError, match="does not start"):
            engines.run(["answer('a', 1)"], [])
        monkeypatch.setattr(engines_module, "check_that_something_runs", lambda: None)
        ran = engines.run(["answer('a', 1)"], [])
        assert (ran.run.reason, ran.level) == ("no runner", select_sandbox.NOTHING_RUN)
    finally:
        engines.close()


def test_what_was_marked_without_being_run_is_run_when_marking_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    room = Classroom(tmp_path, "L03-02")
    room.hand_in("s1", room.copy("s1", computed))
    with monkeypatch.context() as patch:
        patch.setattr(select_sandbox, "LEVELS", ())
        marked = batch.mark_sheet(room.course, room.sheet)
        assert ([one.score for one in marked.learners], marked.sandbox) == ([0.0], "none: learner code was not run")
    marked = batch.mark_sheet(room.course, room.sheet, resume=True)
    assert ([one.score for one in marked.learners], marked.sandbox) == ([2.0], "full")


def test_a_notebook_that_could_not_be_run_at_the_moment_is_run_when_marking_goes_on(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    room = Classroom(tmp_path, "L03-02")
    for learner in ("s1", "s2"):
        room.hand_in(learner, room.copy(learner, computed))
    attempt, failed = Runner._attempt, list[int]()

    def fails_at_first(runner: Runner, cells: Sequence[str], setup: Sequence[str]) -> Run | None:
        # The two tries of the first learner; proving the layers runs cells of another kind.
        if len(failed) < 2 and any("L03-02" in cell for cell in cells):
            failed.append(1)
            return None
        return attempt(runner, cells, setup)

    monkeypatch.setattr(Runner, "_attempt", fails_at_first)
    first = batch.mark_sheet(room.course, room.sheet, workers=1)
    assert [one.score for one in first.learners] == [0.0, 2.0]
    assert ["the sandbox could not be started" in " ".join(one.flags) for one in first.learners] == [True, False]
    assert first.sandbox == f"full, {select_sandbox.NOTHING_RUN}"
    again = batch.mark_sheet(room.course, room.sheet, resume=True, workers=1)
    assert ([one.score for one in again.learners], again.sandbox) == ([2.0, 2.0], "full")


def test_tasks_are_asked_for_one_by_one() -> None:
    asked: list[int] = []

    def tasks() -> Iterator[int]:
        for task in range(5):
            asked.append(task)
            yield task

    done = pool.run(lambda: abs, tasks(), workers=1)
    assert next(done).result == 0
    assert asked == [0]
