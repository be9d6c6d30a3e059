"""A part of the hostile class, run on a cluster: it earns there what it earns here, and leaves nothing behind."""

from __future__ import annotations

from pathlib import Path

import pytest

from graders.book.record import LearnerMarks
from graders.course.roster import Learner, Roster
from graders.mark import batch
from graders.mark.workers.worker import Settings
from graders.run.sandbox.layers import Limits
from tests.graders.classroom import Classroom, computed
from tests.hostile import code_cases, file_cases
from tests.hostile.cases import ITEMS, SHEET, Case, Place
from tests.hostile.watching import Watch

NAMES = (
    "an endless loop",
    "a list that eats all memory",
    "a flood on the reply",
    "os._exit",
    "a segmentation fault",
    "a forged frame that names a score",
    "a frame that is nested very deep",
    "the parent is killed",
    "every process is killed",
    "files are left behind",
    "the modules are emptied",
    "json is replaced",
    "an answer of ten megabytes",
    "UTF-16",
    "an archive",
    "brackets without end",
)
CASES: tuple[Case, ...] = tuple(case for case in code_cases.CASES + file_cases.CASES if case.name in NAMES)


def marked(room: Classroom, cluster: str) -> tuple[LearnerMarks, ...]:
    # Filling the memory takes most of a second on a busy machine, and must not be taken for a loop there only; a loop has up to
    # three times a cell's time by the clock where others keep the processor from it.
    settings = Settings(limits=Limits(cell_seconds=2.0, seconds=10.0), engine="warm")
    return tuple(batch.mark_sheet(room.course, room.sheet, workers=1, settings=settings, cluster=cluster).learners)


@pytest.mark.slow
def test_hostile_submissions_earn_on_a_cluster_what_they_earn_here(tmp_path: Path) -> None:
    assert len(CASES) == len(NAMES)
    learners = [Learner(f"{kind}{place:03d}", f"Learner {kind}{place}") for place in range(len(CASES)) for kind in "hg"]
    room = Classroom(tmp_path, ",".join(ITEMS), SHEET, roster=Roster(tuple(learners)))
    for place, case in enumerate(CASES):
        room.hand_in(f"g{place:03d}", room.copy(f"g{place:03d}", computed))
        case.make(Place(room, f"h{place:03d}", f"g{place:03d}", 9))
    here = marked(room, "")
    with Watch() as watch:
        there = marked(room, "local:2")
    assert there == here
    assert [one.learner for one in there if one.learner.startswith("g") and (one.score != one.max or one.flags)] == []
    assert watch.seen > 2
    assert watch.left() == []
