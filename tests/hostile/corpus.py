"""What holds of one class of hostile and unlucky submissions, each followed by a good one, whatever runs them.

Each engine has a file of its own, so that they can be tested beside each other.
"""

from __future__ import annotations

import hashlib
import os
import socket
import tempfile
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from graders.book import gradebook
from graders.book.record import LearnerMarks, MarkSheet
from graders.course.roster import Learner, Roster
from graders.mark import batch
from graders.mark.workers.worker import Settings
from graders.run.sandbox.layers import Limits
from tests.graders.classroom import Classroom, computed, right
from tests.hostile import code_cases, file_cases
from tests.hostile.accounted import files_of, passed_over
from tests.hostile.cases import ALL, ITEMS, LEAK, SHEET, STRAY, Case, Place
from tests.hostile.watching import Watch
from tests.support.amounts import amount

CASES = code_cases.CASES + file_cases.CASES
NAMES = {case.name: f"h{place:03d}" for place, case in enumerate(CASES)}
# The only files of which something is run, and the only code that asks for a kernel: `test_corpus_warm.py`, where all is handed
# in, holds these lists to be whole. Where nothing is run no engine has a part, and where no kernel is asked for choosing the
# engine takes the warm shell; so the short form leaves out what would be the same once more.
RUN_FILES = {
    "plain Python in place of a notebook",
    "an answer cell split in two",
    "many calls with a gap in the middle",
    "many cells of closing brackets",
    "a hundred thousand empty lines",
    "a bracket and quotation marks mistyped",
    "a call with wide brackets",
    "a call in a fence",
    "a call behind a sign without width",
    "a call with a blank that does not break",
}
ASK_FOR_A_KERNEL = {
    "a fork bomb",
    "a process that wants to live on",
    "a flood on descriptor 1",
    "a dump that ends the program",
    "a file that shrinks under its map",
    "another program in its place",
    "a program is started",
    "a program is started by a shell",
    "a pool of processes",
    "an exclamation mark",
    "a cell of shell",
    "a package is installed",
    "a file is run by a magic",
    "a program in memory is started",
}
# A kernel takes most of a second to start: in the short form every third piece of code is run there, and of the code that asks
# for none a few pieces where the engine is chosen by itself.
EVERY_IN_A_KERNEL, EVERY_OTHER = 3, 12
# A real kernel starts cold, and a busy machine must not turn a good submission into one that ran too long: its start has
# a time of its own, and a good cell takes some hundredths of what it is given here.
SLOW_START = Limits(cell_seconds=2, seconds=6)
LIMITS = {"warm": Limits(cell_seconds=0.5, seconds=2.5), "auto": SLOW_START, "kernel": SLOW_START}
# A kernel has nothing of the reply within the learner's reach: a frame cannot be forged, and the flags have other words.
UNREACHED_IN_A_KERNEL = {"a forged frame that names a score"}
# On a busy machine a cell has up to three times its time by the clock, so that of the whole submission may end first.
OR_SAID = {code_cases.LONG: "it ran longer than allowed"}
# These write to a file of their own first, which is refused where a submission has no folder for it.
STOPPED_BY_AN_OWN_FILE = {"a dump that ends the program", "a file that shrinks under its map"}
# Every case may take its whole time and a runner's start once; a batch that ends later does not end in bounded time.
MOST_SECONDS = len(CASES) * 2.0


@dataclass
class Outcome:
    """What happened to the class."""

    marked: MarkSheet
    learners: dict[str, LearnerMarks]
    engine: str
    seconds: float
    before: dict[str, str]
    after: dict[str, str]
    rights: tuple[dict[str, str], dict[str, str]]
    connections: int
    watch: Watch
    room: Classroom
    places: Sequence[int]


def state_of(folder: Path) -> dict[str, str]:
    """Every handed-in file with a fingerprint of its content; links and pipes by their kind."""
    found = {}
    for base, folders, files in os.walk(folder):
        for name in [*folders, *files]:
            path = Path(base) / name
            content = path.read_bytes() if path.is_file() and not path.is_symlink() else b""
            found[str(path.relative_to(folder))] = f"{path.lstat().st_mode:o} {hashlib.sha256(content).hexdigest()}"
    return found


def rights_of(folder: Path, names: Iterable[str] = (".", ".secret", "gradebook.db")) -> dict[str, str]:
    """Rights and owner of the course's own files; the secret's time too, since nobody writes to it."""
    found = {name: (folder / name).stat() for name in names if (folder / name).exists()}
    return {
        name: f"{one.st_mode:o} {one.st_uid} {one.st_gid} {one.st_mtime_ns if name == '.secret' else ''}"
        for name, one in found.items()
    }


def good_one_runs(place: int, engine: str) -> bool:
    """Whether the good submission after a case has to be run: after code it has, after a strange file it can be read.

    For the same reason only every eighth good one is run in a kernel.
    """
    return CASES[place] in code_cases.CASES and (engine != "kernel" or place % 8 == 0)


def places(engine: str) -> Sequence[int]:
    """The cases that are handed in for an engine, by their places."""
    if amount(1, 0) or engine not in ("kernel", "auto"):
        return range(len(CASES))
    # The first good one is everywhere: some cases write to its files.
    return [place for place, case in enumerate(CASES) if place == 0 or _is_its_own(place, case, engine)]


def _is_its_own(place: int, case: Case, engine: str) -> bool:
    if case not in code_cases.CASES:
        return engine == "kernel" and case.name in RUN_FILES
    if engine == "kernel":
        return place % EVERY_IN_A_KERNEL == 0
    return case.name in ASK_FOR_A_KERNEL or place % EVERY_OTHER == 0


def of_class(folder: Path, engine: str, part: Sequence[int] = (), workers: int = 2) -> Outcome:
    """Hand in the whole class, or a part of it, and mark it."""
    part = part or places(engine)
    learners = [Learner(f"{kind}{place:03d}", f"Learner {kind}{place}") for place in part for kind in "hg"]
    room = Classroom(folder, ",".join(ITEMS), SHEET, roster=Roster(tuple(learners)))
    with socket.socket() as listener, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as datagrams:
        listener.bind(("127.0.0.1", 0))
        listener.listen(50)
        datagrams.bind(("127.0.0.1", listener.getsockname()[1]))
        for sock in (listener, datagrams):
            sock.setblocking(False)
        for place in part:
            write = computed if good_one_runs(place, engine) else right
            room.hand_in(f"g{place:03d}", room.copy(f"g{place:03d}", write))
        for place in part:
            CASES[place].make(Place(room, f"h{place:03d}", f"g{place:03d}", listener.getsockname()[1]))
        before, rights = state_of(room.course.submitted), rights_of(room.course.folder)
        started = time.monotonic()
        with Watch() as watch:
            marked = batch.mark_sheet(
                room.course, room.sheet, workers=workers, settings=Settings(limits=LIMITS[engine], engine=engine)
            )
        seconds = time.monotonic() - started
        after, reached = state_of(room.course.submitted), heard(listener) + heard(datagrams)
    return Outcome(
        marked,
        {one.learner: one for one in marked.learners},
        engine,
        seconds,
        before,
        after,
        (rights, rights_of(room.course.folder, rights)),
        reached,
        watch,
        room,
        part,
    )


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


class Claims:
    """What holds whatever runs a class, and behind whichever layers."""

    def test_each_earns_what_its_readable_answers_are_worth(self, outcome: Outcome, case: Case) -> None:
        marks = outcome.learners[NAMES[case.name]]
        earned = {item.item for item in marks.items if item.score == item.max}
        ran = any(item.way == "run" for item in marks.items)
        in_kernel = ran and (outcome.engine == "kernel" or any("in a full Jupyter kernel" in flag for flag in marks.flags))
        earns = ALL if in_kernel and case.name in UNREACHED_IN_A_KERNEL else case.earns
        assert earned == earns, marks
        assert all(item.score == 0 for item in marks.items if item.item not in earns), marks
        reasons = {failure.learner: failure.reason for failure in outcome.marked.failed}
        said = " ".join([*marks.flags, reasons.get(marks.learner, "")])
        no_folder = outcome.marked.sandbox == "strong" and case.name in STOPPED_BY_AN_OWN_FILE
        assert case.flag in said or OR_SAID.get(case.flag, case.flag) in said or in_kernel or no_folder
        assert (marks.learner in reasons) is case.failed

    def test_every_good_submission_has_full_marks_run_or_read(self, outcome: Outcome) -> None:
        good = [one for one in outcome.learners.values() if one.learner.startswith("g")]
        assert len(good) == len(outcome.places)
        assert [(one.learner, one.flags) for one in good if one.score != one.max or one.flags] == []
        for place in outcome.places:
            ways = {item.way for item in outcome.learners[f"g{place:03d}"].items}
            assert ways == {"run" if good_one_runs(place, outcome.engine) else "read"}

    def test_nothing_that_was_handed_in_is_altered(self, outcome: Outcome) -> None:
        assert outcome.after == outcome.before

    def test_every_file_handed_in_is_told_in_a_sentence(self, outcome: Outcome) -> None:
        reasons = {failure.learner: failure.reason for failure in outcome.marked.failed}
        silent = {
            case.name: missed
            for place, case in enumerate(CASES)
            if (marks := outcome.learners.get(f"h{place:03d}"))
            if (
                missed := passed_over(
                    files_of(outcome.room.course.submitted_folder(marks.learner, SHEET)),
                    SHEET,
                    [*marks.flags, reasons.get(marks.learner, "")],
                    read=marks.learner not in reasons,
                )
            )
        }
        assert silent == {}

    def test_rights_and_times_of_the_course_are_as_before(self, outcome: Outcome) -> None:
        before, after = outcome.rights
        assert {".", ".secret"} <= set(before)
        assert after == before

    def test_the_batch_ends_in_bounded_time(self, outcome: Outcome) -> None:
        assert outcome.seconds < MOST_SECONDS

    def test_nothing_of_the_class_leaks_into_an_answer(self, outcome: Outcome) -> None:
        leaked = [
            (one.learner, item.given)
            for one in outcome.learners.values()
            for item in one.items
            if any(LEAK in text for text in item.given.values())
        ]
        assert leaked == []

    def test_no_process_and_no_file_remains(self, outcome: Outcome) -> None:
        for folder in (Path("/tmp"), Path(tempfile.gettempdir()), outcome.room.course.folder):
            assert list(folder.glob(f"*{STRAY}*")) == []
        assert outcome.watch.seen > 0
        assert outcome.watch.left() == []
        # The marker's own folders carry the number of the process that made them.
        made = [path for number in outcome.watch.numbers for path in Path(tempfile.gettempdir()).glob(f"gearkit-*-{number}-*")]
        assert made == []

    def test_nobody_reached_a_listener_of_this_machine(self, outcome: Outcome) -> None:
        assert outcome.connections == 0

    def test_the_gradebook_was_written_by_nobody_but_the_marker(self, outcome: Outcome) -> None:
        with gradebook.opened(outcome.room.course) as book:
            found = {submission.student_id: submission for submission in book.assignment_submissions(SHEET)}
            for one in outcome.learners.values():
                grades = found[one.learner].notebooks[0].grades
                assert {grade.name: (grade.auto_score, grade.extra_credit or 0) for grade in grades} == {
                    item.item: (item.score, 0) for item in one.items
                }


class Corpus(Claims):
    """The claims on the whole class; a test class for one engine names it and takes them over."""

    engine = ""
    # How many ideas there are in the short form.
    at_least = 100

    @classmethod
    def part(cls) -> Sequence[int]:
        """The cases, by their places."""
        return places(cls.engine)

    def test_there_are_many_different_ideas(self) -> None:
        assert len(places(self.engine)) >= amount(100, self.at_least)
