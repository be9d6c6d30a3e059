"""A submission whose process somebody else kills is run once more; one that does it itself ends the second time."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from graders.mark import batch
from graders.mark.workers.worker import Settings
from graders.run.engines import kernel_cells, reply_protocol, warm
from graders.run.engines.runner import Run, Runner
from graders.run.sandbox import control_groups, select_sandbox
from graders.run.sandbox.layers import MEGABYTE, Layer, Limits, Protection
from tests.graders.classroom import Classroom, computed
from tests.hostile.cases import code_cell
from tests.hostile.watching import Lookout, below

LIMITS = Limits(cell_seconds=20.0, seconds=60.0)
# A process can give itself a name that everybody sees: it is there from the moment at which the cell runs.
NAME = "gearkit-busy"
BUSY = f"import ctypes, time\nctypes.CDLL(None).prctl(15, {NAME.encode()!r}, 0, 0, 0)\ntime.sleep(1.0)"
CELLS = ["answer('a', 1)", BUSY, "answer('b', 2)"]
SELF_KILL = "import os\nos.kill(os.getpid(), 9)"
WORDS = "its process was killed, and again when it was run a second time"


class Killer(Lookout):
    """Kills processes of a certain name below this one, as an administrator or the system would.

    Args:
        times: how many of them.
        sent: the signal.
    """

    def __init__(self, times: int, sent: int = signal.SIGKILL) -> None:
        super().__init__(0.02)
        self.killed: list[int] = []
        self._times, self._sent = times, sent

    def look(self) -> None:
        """Kill those that are there now, as long as there are more to kill."""
        if len(self.killed) >= self._times:
            return
        for number in {number for number, _ in below(os.getpid())} - set(self.killed):
            if _name(number) == NAME:
                os.kill(number, self._sent)
                self.killed.append(number)


def _name(number: int) -> str:
    try:
        return Path(f"/proc/{number}/comm").read_text().strip()
    except OSError:
        return ""


def chosen(engine: str) -> Runner:
    """A runner behind the layers that are used here."""
    choice = select_sandbox.choose(LIMITS, engine=engine)
    assert choice.runner is not None
    return choice.runner


def open_runner(engine: str) -> Runner:
    """A runner behind no layer that refuses a kill."""
    return Runner(select_sandbox.LIMITS_ONLY, LIMITS, preload=(), engine=engine)


def seen(run: Run) -> list[tuple[int, dict[str, dict[str, str]], str]]:
    return [(frame.cell, dict(frame.answers), frame.fault) for frame in run.frames]


@pytest.mark.parametrize("engine", ["warm", "kernel"])
def test_a_run_that_is_killed_from_outside_is_done_once_more(engine: str) -> None:
    with chosen(engine) as runner:
        undisturbed = runner.run(CELLS)
        with Killer(1) as killer:
            run = runner.run(CELLS)
    assert len(killer.killed) == 1
    assert (run.complete, run.reason) == (True, "")
    assert seen(run) == seen(undisturbed)


@pytest.mark.parametrize(
    ("make", "engine", "sent"),
    [
        (chosen, "warm", signal.SIGKILL),
        (chosen, "kernel", signal.SIGKILL),
        (chosen, "kernel", signal.SIGTERM),
        (open_runner, "warm", signal.SIGTERM),
    ],
)
def test_what_is_killed_again_and_again_keeps_what_came_before_and_is_given_up(
    make: Callable[[str], Runner],
    engine: str,
    sent: int,
) -> None:
    with make(engine) as runner, Killer(9, sent) as killer:
        run = runner.run(CELLS)
    assert len(killer.killed) == 2
    assert (run.complete, run.reason) == (False, "killed")
    assert [frame.answers for frame in run.frames] == [{"a": {"answer": "1"}}]


@pytest.mark.parametrize(("make", "engine"), [(open_runner, "warm"), (chosen, "kernel")])
def test_what_kills_itself_is_run_twice_and_no_more(make: Callable[[str], Runner], engine: str) -> None:
    with make(engine) as runner:
        run = runner.run(["answer('a', 1)", SELF_KILL, "answer('b', 2)"])
        after = runner.run(["answer('a', 3)"])
    assert (run.complete, run.reason) == (False, "killed")
    assert [frame.answers for frame in run.frames] == [{"a": {"answer": "1"}}]
    assert after.complete


def test_behind_all_walls_code_in_the_warm_shell_cannot_kill_itself() -> None:
    with chosen("warm") as runner:
        run = runner.run([SELF_KILL, "answer('b', 2)"])
    assert run.complete
    assert run.frames[0].fault == "PermissionError"


@pytest.mark.parametrize("code", [70, 71, 72, 73, 74])
def test_in_the_warm_shell_an_exit_code_is_the_learners_word_and_not_believed(
    code: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tried: list[Run | None] = []
    attempt = Runner._attempt

    def noted(runner: Runner, cells: Sequence[str], setup: Sequence[str]) -> Run | None:
        tried.append(attempt(runner, cells, setup))
        return tried[-1]

    with open_runner("warm") as runner:
        monkeypatch.setattr(Runner, "_attempt", noted)
        run = runner.run(["answer('a', 1)", f"import os\nos._exit({code})"])
    assert (len(run.frames), run.reason) == (1, "died")
    assert tried == [run]


@pytest.mark.skipif(control_groups.standing() != control_groups.AVAILABLE, reason="no control groups here")
def test_what_the_control_group_ends_is_told_as_memory() -> None:
    protection = Protection(frozenset({Layer.GROUP, Layer.SESSION}))
    with Runner(protection, Limits(memory=100 * MEGABYTE), preload=()) as runner:
        run = runner.run(["answer('a', 1)", "held = b'x' * (300 << 20)"])
        assert (run.reason, len(run.frames)) == ("memory", 1)
        # What one submission met is not laid on the next one.
        assert runner.run([*CELLS[:1], "import os, signal\nos.kill(os.getpid(), 9)"]).reason == "killed"
        assert runner.run(["answer('a', 1)"]).complete


@pytest.mark.parametrize(
    ("code", "used_up", "engine", "why"),
    [
        (-9, False, "warm", "killed"),
        (-15, False, "warm", "killed"),
        (-9, True, "warm", "time"),
        (-11, False, "warm", ""),
        (-6, True, "kernel", ""),
        (0, False, "warm", ""),
        (-9, False, "kernel", "killed"),
        (kernel_cells.KILLED, False, "kernel", "killed"),
        (kernel_cells.KILLED, True, "kernel", "time"),
        (reply_protocol.OUT_OF_TIME, False, "kernel", "time"),
        (kernel_cells.ENDED, False, "kernel", ""),
    ],
)
def test_an_end_is_laid_on_somebody_else_only_where_it_can_be(code: int, used_up: bool, engine: str, why: str) -> None:
    assert warm._why_ended(code, used_up, engine) == why


@pytest.mark.parametrize(
    ("protection", "engine", "limits"),
    [
        # There is no own root in which the scratch folder could be.
        (Protection(frozenset({Layer.LIMITS, Layer.SCRATCH})), "warm", Limits()),
        # A kernel needs more open files.
        (select_sandbox.LIMITS_ONLY, "kernel", Limits(open_files=-180)),
    ],
)
def test_a_run_that_never_came_to_the_learners_cells_is_no_fault_of_theirs(
    protection: Protection,
    engine: str,
    limits: Limits,
) -> None:
    with Runner(protection, limits, preload=(), engine=engine) as runner:
        run = runner.run(["answer('a', 1)"])
    assert (run.frames, run.complete, run.reason) == ((), False, "no runner")


def marks_of(room: Classroom, engine: str) -> bytes:
    batch.mark_sheet(room.course, room.sheet, workers=1, settings=Settings(limits=LIMITS, engine=engine))
    copy = room.course.autograded_file("s2", room.sheet.name).read_bytes()
    return room.course.marks_file(room.sheet.name).read_bytes() + copy


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    found = Classroom(tmp_path, "L03-02,L03-05")
    for learner in ("s1", "s2", "s3"):
        book = found.copy(learner, computed)
        if learner == "s2":
            place = 1 + next(n for n, cell in enumerate(book["cells"]) if cell["metadata"]["gearkit"].get("item"))
            book["cells"].insert(place, code_cell(BUSY))
        found.hand_in(learner, book)
    return found


@pytest.mark.parametrize("engine", ["warm", "kernel"])
def test_the_marks_are_the_same_bytes_whether_or_not_somebody_killed_a_run(room: Classroom, engine: str) -> None:
    undisturbed = marks_of(room, engine)
    with Killer(1) as killer:
        assert marks_of(room, engine) == undisturbed
    assert len(killer.killed) == 1


def test_what_is_killed_again_and_again_gets_what_can_be_read_and_the_others_feel_nothing(room: Classroom) -> None:
    room.hand_in("s2", _killing_itself(room))
    settings = Settings(limits=LIMITS, engine="kernel")
    first = batch.mark_sheet(room.course, room.sheet, workers=1, settings=settings)
    told = {one.learner: one for one in first.learners}
    assert [told[learner].score for learner in ("s1", "s3")] == [told["s1"].max] * 2
    assert 0 < told["s2"].score < told["s2"].max
    assert [flag for flag in told["s2"].flags if WORDS in flag]
    again = batch.mark_sheet(room.course, room.sheet, workers=1, settings=settings)
    assert list(again.learners) == list(first.learners)


def _killing_itself(room: Classroom) -> dict[str, object]:
    book = room.copy("s2", computed)
    place = 1 + next(n for n, cell in enumerate(book["cells"]) if cell["metadata"]["gearkit"].get("item"))
    book["cells"].insert(place, code_cell(SELF_KILL))
    return book
