"""A fault of the marker on one submission is that submission's affair, with one process as with several."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from gearkit.words.errors import GearkitError
from graders.mark import batch, marking, pool
from graders.mark.submissions import Submission
from graders.prepare.sheets import Sheet
from graders.run.finding import Found
from tests.graders.classroom import Classroom, right


def test_a_fault_on_one_submission_sets_it_aside_and_leaves_the_others_their_marks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    room = Classroom(tmp_path, "L03-02")
    for learner in ("s1", "s2", "s3"):
        room.hand_in(learner, room.copy(learner, right))
    found = marking._found

    def faulty(sheet: Sheet, submission: Submission) -> Found:
        if submission.learner == "s2" and not submission.refused:
            raise LookupError("a fault that nobody thought of")
        return found(sheet, submission)

    monkeypatch.setattr(marking, "_found", faulty)
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


def test_tasks_are_asked_for_one_by_one() -> None:
    asked: list[int] = []

    def tasks() -> Iterator[int]:
        for task in range(5):
            asked.append(task)
            yield task

    done = pool.run(lambda: abs, tasks(), workers=1)
    assert next(done).result == 0
    assert asked == [0]
