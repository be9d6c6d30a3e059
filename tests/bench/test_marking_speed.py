"""How fast a class is marked, beside the book-keeping's own autograder on the same notebooks in the same run.

Shows figures; never fails on time. Start-up is taken out on both sides by the difference of two sizes.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from graders.mark import batch
from graders.mark.worker import Settings
from graders.prepare.roster import Learner, Roster
from tests.graders.classroom import Classroom, right

LEARNERS = 60
STOCK = 5
ROUNDS = 3


def roster(size: int) -> Roster:
    return Roster(tuple(Learner(f"s{number:05d}", f"Learner {number}", "D") for number in range(size)))


def stock_seconds(room: Classroom, pattern: str) -> float:
    """Seconds that the book-keeping's own command takes for the learners that a pattern names."""
    environment = {**os.environ, "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"}
    started = time.perf_counter()
    done = subprocess.run([sys.executable, "-m", "nbgrader", "autograde", room.sheet.name, "--force", "--student",
                           pattern], cwd=room.course.folder, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return time.perf_counter() - started


def timed(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def filled(folder: Path, size: int, source: str = "lesson 3") -> Classroom:
    room = Classroom(folder, source, roster=roster(size))
    # With the course's own settings the book-keeping's command marks as the kit does; here it marks by itself.
    (room.course.folder / "nbgrader_config.py").write_text(
        f"c = get_config()\nc.CourseDirectory.course_id = {room.course.id!r}\n")
    for learner in roster(size):
        room.hand_in(learner.id, room.copy(learner.id, right))
    return room


@pytest.mark.bench
def test_marking_a_class_beside_the_book_keepings_own_autograder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    room = filled(tmp_path, LEARNERS)
    batch.mark_sheet(room.course, room.sheet)
    stock, reading, running = [], [], []
    run_all = Settings(always_run=True)
    for _ in range(ROUNDS):
        one, several = stock_seconds(room, "s00000"), stock_seconds(room, f"s0000[0-{STOCK}]")
        stock.append((several - one) / STOCK)
        reading.append(timed(lambda: batch.mark_sheet(room.course, room.sheet, workers=1)) / LEARNERS)
        running.append(timed(lambda: batch.mark_sheet(room.course, room.sheet, workers=1, settings=run_all)) / LEARNERS)
    result = batch.mark_sheet(room.course, room.sheet)
    assert all(one.score == one.max for one in result.learners)
    with capsys.disabled():
        print(f"\n{LEARNERS} submissions of 9 items, marks, marked copies and gradebook written, one process, "
              f"{ROUNDS} rounds in turn:")
        print(f"  book-keeping's own autograder, start-up taken out: {statistics.median(stock) * 1e3:7.0f} ms each")
        for name, ours in (("answers read", reading), ("all run in the sandbox, its start included", running)):
            factors = [theirs / own for own, theirs in zip(ours, stock, strict=True)]
            print(f"  {name}: {statistics.median(ours) * 1e3:7.1f} ms each; {statistics.median(factors):.0f} times "
                  f"as fast [{min(factors):.0f} to {max(factors):.0f}]")


@pytest.mark.bench
@pytest.mark.parametrize("size", [100, 400, 1600])
def test_growth_with_the_size_of_the_class(tmp_path: Path, size: int, capsys: pytest.CaptureFixture[str]) -> None:
    room = filled(tmp_path, size, ",".join(f"L0{lesson}-0{number}" for lesson in (2, 3) for number in range(1, 9)))
    alone = timed(lambda: batch.mark_sheet(room.course, room.sheet, workers=1))
    again = timed(lambda: batch.mark_sheet(room.course, room.sheet, resume=True))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    with capsys.disabled():
        print(f"\n{size} submissions: {alone:.2f} s = {size / alone:.0f} per second in one process; resumed with "
              f"nothing left to do {again:.2f} s; peak memory so far {memory:.0f} MB")
