"""Marking that is killed at any moment loses nothing: taken up again it ends with the same mark sheet, byte for byte."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from graders.course.roster import Learner, Roster
from graders.mark import batch
from graders.mark.workers import pool
from tests.graders.classroom import Classroom, blank, computed, right, wrong
from tests.hostile.cases import code_cell
from tests.hostile.watching import Watch
from tests.support.amounts import amount

SIZE = 8
POINTS = amount(200, 12)
POINTS_WITH_WORKERS = amount(12, 2)
# The command as it runs where no layer can be built.
WALL_LESS = (
    "import sys\nfrom graders.cli import main\nfrom graders.run.sandbox import select_sandbox\nselect_sandbox.LEVELS = ()\n"
    "if __name__ == '__main__': sys.exit(main(sys.argv[1:]))"
)


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    learners = tuple(Learner(f"s{number:02d}", f"Learner {number}") for number in range(SIZE))
    found = Classroom(tmp_path_factory.mktemp("broken"), roster=Roster(learners))
    for number, learner in enumerate(learners):
        found.hand_in(learner.id, found.copy(learner.id, (right, wrong, blank)[number % 3]))
    found.hand_in("s03", b"{damaged")
    return found


@pytest.fixture(scope="module")
def undisturbed(room: Classroom) -> bytes:
    batch.mark_sheet(room.course, room.sheet)
    return room.course.marks_file("A1").read_bytes()


def forget(room: Classroom) -> None:
    """As before the first marking."""
    for name in ("marks", "autograded"):
        shutil.rmtree(room.course.folder / name, ignore_errors=True)


def in_child(work: Callable[[], object], kill_after: float | None = None) -> bool:
    """Do something in a forked process, killing it after a while; whether it came to its end."""
    child = os.fork()
    if child == 0:
        try:
            work()
        except BaseException:
            os._exit(1)
        os._exit(0)
    if kill_after is not None:
        time.sleep(kill_after)
        os.kill(child, signal.SIGKILL)
    return os.waitpid(child, 0)[1] == 0


def undisturbed_time(room: Classroom, work: Callable[[], object]) -> float:
    """How long marking takes from the beginning, in seconds."""
    forget(room)
    started = time.monotonic()
    assert in_child(work)
    return time.monotonic() - started


def test_marking_killed_at_any_moment_ends_with_the_same_bytes(room: Classroom, undisturbed: bytes) -> None:
    mark = partial(batch.mark_sheet, room.course, room.sheet, workers=1)
    # The shortest of three: on a busy machine one undisturbed run can take far longer than those that follow.
    longest = min(undisturbed_time(room, mark) for _ in range(3))
    seeded = random.Random(20_260_203)
    ended = 0
    for point in range(POINTS):
        forget(room)
        moment = seeded.uniform(0, longest)
        if in_child(mark, kill_after=moment):
            ended += 1
            # The machine has become calmer since the time was taken; later moments would come too late as well.
            longest = min(longest, 1.25 * moment)
        # Every fourth time it is killed again while it is taken up.
        if point % 4 == 0:
            in_child(partial(mark, resume=True), kill_after=seeded.uniform(0, longest / 2))
        assert in_child(partial(mark, resume=True)), f"kill point {point}"
        assert room.course.marks_file("A1").read_bytes() == undisturbed, f"kill point {point}"
    assert ended < POINTS / 2, "most kills came too late to disturb anything"
    left = [path for path in room.course.folder.rglob("*.part") if "autograded" not in str(path)]
    assert len(left) <= 2 * POINTS, left


@pytest.mark.slow
def test_the_command_with_workers_killed_at_any_moment_ends_with_the_same_bytes(
    tmp_path: Path,
) -> None:
    learners = tuple(Learner(f"s{number:02d}", f"Learner {number}") for number in range(SIZE))
    room = Classroom(tmp_path, roster=Roster(learners))
    for number, learner in enumerate(learners):
        room.hand_in(learner.id, room.copy(learner.id, (right, computed, wrong)[number % 3]))
    batch.mark_sheet(room.course, room.sheet)
    expected = room.course.marks_file("A1").read_bytes()
    command = [sys.executable, "-m", "graders.cli", "mark", str(room.course.folder), "A1", "--resume", "--workers", "2"]
    forget(room)
    started = time.monotonic()
    assert subprocess.run(command, stdout=subprocess.DEVNULL, check=False, timeout=120).returncode == 0
    longest = time.monotonic() - started
    seeded = random.Random(7)
    for point in range(POINTS_WITH_WORKERS):
        forget(room)
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(seeded.uniform(0.2, longest))
        process.kill()
        process.wait()
        done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)
        assert done.returncode == 0, done.stderr
        assert room.course.marks_file("A1").read_bytes() == expected, f"kill point {point}"
    assert orphans_gone(str(room.course.folder))


def orphans_gone(words: str) -> bool:
    """Whether every process that names the course has ended within a while."""
    deadline = time.monotonic() + 15
    while time.monotonic() < deadline:
        found = []
        for path in Path("/proc").glob("[0-9]*/cmdline"):
            try:
                if words.encode() in path.read_bytes() and int(path.parent.name) != os.getpid():
                    found.append(path.parent.name)
            except OSError:
                continue
        if not found:
            return True
        time.sleep(0.2)
    return False


class Fragile:
    """A worker that dies on some tasks."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def __call__(self, task: int) -> int:
        if task == 7 or (task == 5 and not (self._folder / "died").exists()):
            (self._folder / "died").touch()
            os.kill(os.getpid(), signal.SIGKILL)
        return task * task


def test_the_pool_outlives_its_workers_and_sets_aside_what_kills_them(tmp_path: Path) -> None:
    done = {one.task: one.result for one in pool.run(partial(Fragile, tmp_path), range(12), workers=2)}
    assert done == {task: None if task == 7 else task * task for task in range(12)}


def test_a_pool_of_one_works_in_this_process(tmp_path: Path) -> None:
    assert [one.result for one in pool.run(partial(Fragile, tmp_path), [1, 2, 3], workers=1)] == [1, 4, 9]


@pytest.mark.slow
@pytest.mark.parametrize(
    "words", [["--engine", "kernel"], ["--engine", "kernel", "--unprotected"], ["--engine", "warm"]], ids=" ".join
)
def test_a_marker_that_is_killed_leaves_no_process_behind(tmp_path: Path, words: list[str]) -> None:
    room = Classroom(tmp_path)
    for learner in ("s1", "s2"):
        book = room.copy(learner, computed)
        book["cells"].append(
            code_cell("import os, time\ntry:\n    if os.fork() == 0: os.setsid()\nexcept OSError: pass\ntime.sleep(600)")
        )
        room.hand_in(learner, book)
    options = [*words, "--workers", "2", "--run-all"]
    # A file, because the workers read it as well.
    (tmp_path / "wall_less.py").write_text(WALL_LESS)
    program = [str(tmp_path / "wall_less.py")] if "--unprotected" in words else ["-m", "graders.cli"]
    command = [sys.executable, *program, "mark", str(room.course.folder), "A1", *options]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    # In a kernel each cell can start a process of its own, which leaves its group; in the warm shell it is refused.
    name, number = (b"ipykernel_launcher", 4) if "kernel" in words else (b"graders.run.engines.warm", 4)
    with Watch(process.pid) as watch:
        deadline = time.monotonic() + 60
        # For a while, because each of them is joined for a moment by what proves its layers.
        steady = 0
        while steady < 10 and time.monotonic() < deadline:
            time.sleep(0.05)
            steady = steady + 1 if watch.commands(name) >= number else 0
        assert steady == 10
        time.sleep(0.3)
        process.kill()
        process.wait()
    assert watch.left(patience=4) == []
