"""One class of hostile and unlucky submissions, each followed by a good one; nobody else may feel anything of it."""

from __future__ import annotations

import hashlib
import os
import socket
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from graders.mark import batch
from graders.mark.record import LearnerMarks, MarkSheet
from graders.mark.worker import Settings
from graders.prepare import gradebook
from graders.prepare.roster import Learner, Roster
from graders.run.protection import Limits
from tests.graders.classroom import Classroom, computed
from tests.hostile import code_cases, file_cases
from tests.hostile.cases import ALL, ITEMS, LEAK, SHEET, STRAY, Case, Place

CASES = code_cases.CASES + file_cases.CASES
NAMES = {case.name: f"h{place:03d}" for place, case in enumerate(CASES)}
# A real kernel starts cold, and a busy machine must not turn a good submission into one that ran too long.
SLOW_START = Limits(cell_seconds=4, seconds=12)
LIMITS = {"warm": Limits(cell_seconds=0.5, seconds=2.5), "auto": SLOW_START, "kernel": SLOW_START}
# A kernel has nothing of the reply within the learner's reach: a frame cannot be forged, and the flags have other words.
UNREACHED_IN_A_KERNEL = {"a forged frame that names a score"}
# Every case may take its whole time and a runner's start once; a batch that ends later does not end in bounded time.
MOST_SECONDS = len(CASES) * 2.0


@dataclass
class Outcome:
    """What happened to the class."""

    marked: MarkSheet
    engine: str
    seconds: float
    before: dict[str, str]
    after: dict[str, str]
    connections: int
    room: Classroom


def state_of(folder: Path) -> dict[str, str]:
    """Every handed-in file with a fingerprint of its content; links and pipes by their kind."""
    found = {}
    for base, folders, files in os.walk(folder):
        for name in [*folders, *files]:
            path = Path(base) / name
            content = path.read_bytes() if path.is_file() and not path.is_symlink() else b""
            found[str(path.relative_to(folder))] = f"{path.lstat().st_mode:o} {hashlib.sha256(content).hexdigest()}"
    return found


@pytest.fixture(scope="module", params=["warm", *(pytest.param(one, marks=pytest.mark.slow) for one in ("auto", "kernel"))])
def outcome(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Iterator[Outcome]:
    engine = request.param
    learners = [Learner(f"{kind}{place:03d}", f"Learner {kind}{place}") for place in range(len(CASES)) for kind in "hg"]
    room = Classroom(tmp_path_factory.mktemp("hostile"), ",".join(ITEMS), SHEET, roster=Roster(tuple(learners)))
    with socket.socket() as listener, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as datagrams:
        listener.bind(("127.0.0.1", 0))
        listener.listen(50)
        datagrams.bind(("127.0.0.1", listener.getsockname()[1]))
        for sock in (listener, datagrams):
            sock.setblocking(False)
        for place in range(len(CASES)):
            room.hand_in(f"g{place:03d}", room.copy(f"g{place:03d}", computed))
        for place, case in enumerate(CASES):
            case.make(Place(room, f"h{place:03d}", f"g{place:03d}", listener.getsockname()[1]))
        before = state_of(room.course.submitted)
        started = time.monotonic()
        marked = batch.mark_sheet(room.course, room.sheet, workers=2, settings=Settings(limits=LIMITS[engine], engine=engine))
        seconds = time.monotonic() - started
        after, reached = state_of(room.course.submitted), heard(listener) + heard(datagrams)
        yield Outcome(marked, engine, seconds, before, after, reached, room)


def heard(sock: socket.socket) -> int:
    """How often somebody reached a socket."""
    try:
        if sock.type == socket.SOCK_STREAM:
            sock.accept()
        else:
            sock.recv(10)
    except BlockingIOError:
        return 0
    return 1


def marks_of(outcome: Outcome, learner: str) -> LearnerMarks:
    return next(one for one in outcome.marked.learners if one.learner == learner)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_each_earns_what_its_readable_answers_are_worth(outcome: Outcome, case: Case) -> None:
    marks = marks_of(outcome, NAMES[case.name])
    earned = {item.item for item in marks.items if item.score == item.max}
    ran = any(item.way == "run" for item in marks.items)
    in_kernel = ran and (outcome.engine == "kernel" or any("in a full Jupyter kernel" in flag for flag in marks.flags))
    earns = ALL if in_kernel and case.name in UNREACHED_IN_A_KERNEL else case.earns
    assert earned == earns, marks
    assert all(item.score == 0 for item in marks.items if item.item not in earns), marks
    reasons = {failure.learner: failure.reason for failure in outcome.marked.failed}
    said = " ".join([*marks.flags, reasons.get(marks.learner, "")])
    assert case.flag in said or in_kernel
    assert (marks.learner in reasons) is case.failed


def test_there_are_many_different_ideas() -> None:
    assert len(CASES) >= 100


def test_every_good_submission_has_full_marks_by_running(outcome: Outcome) -> None:
    good = [one for one in outcome.marked.learners if one.learner.startswith("g")]
    assert len(good) == len(CASES)
    assert [(one.learner, one.flags) for one in good if one.score != one.max or one.flags] == []
    assert {item.way for one in good for item in one.items} == {"run"}


def test_nothing_that_was_handed_in_is_altered(outcome: Outcome) -> None:
    assert outcome.after == outcome.before


def test_the_batch_ends_in_bounded_time(outcome: Outcome) -> None:
    assert outcome.seconds < MOST_SECONDS


def test_nothing_of_the_class_leaks_into_an_answer(outcome: Outcome) -> None:
    leaked = [(one.learner, item.given) for one in outcome.marked.learners for item in one.items
              if any(LEAK in text for text in item.given.values())]
    assert leaked == []


def _remaining(folders: list[Path]) -> list[Path]:
    """The folders that stay: another test that proves the walls at this very moment takes its own away when it is done."""
    give_up = time.monotonic() + 60
    while (left := [path for path in folders if path.exists()]) and time.monotonic() < give_up:
        time.sleep(0.5)
    return left


def test_no_process_and_no_file_remains(outcome: Outcome) -> None:
    for folder in (Path("/tmp"), Path(tempfile.gettempdir()), outcome.room.course.folder):
        assert list(folder.glob(f"*{STRAY}*")) == []
        assert _remaining(list(folder.glob("gearkit-proof-*"))) == []
    alive = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            parent = int(path.read_text().rsplit(") ", 1)[1].split()[1])
            words = path.with_name("cmdline").read_bytes()
        except (OSError, ValueError):
            continue
        if parent == os.getpid() and b"graders.run.warm" in words:
            alive.append(words)
    assert alive == []


def test_nobody_reached_a_listener_of_this_machine(outcome: Outcome) -> None:
    assert outcome.connections == 0


def test_the_gradebook_was_written_by_nobody_but_the_marker(outcome: Outcome) -> None:
    with gradebook.opened(outcome.room.course) as book:
        found = {submission.student_id: submission for submission in book.assignment_submissions(SHEET)}
        for one in outcome.marked.learners:
            grades = found[one.learner].notebooks[0].grades
            assert {grade.name: (grade.auto_score, grade.extra_credit or 0) for grade in grades} \
                == {item.item: (item.score, 0) for item in one.items}
