"""One at a time: of two who change a course at once one waits or is told, and nothing ends half done."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from gearkit.words.errors import GearkitError
from graders.cli.main import main
from graders.course import course_lock
from graders.course.roster import Learner, Roster
from graders.mark import batch
from graders.mark.decide import decisions
from tests.graders.book import rows
from tests.graders.classroom import Classroom, right, wrong

HOLDER = """
    import sys, time
    from pathlib import Path
    from graders.course import course, course_lock
    with course_lock.taken(course.open_course(Path(sys.argv[1])), "marking sheet A1"):
        print("taken", flush=True)
        time.sleep(60)
"""


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    found = Classroom(tmp_path)
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in("s2", found.copy("s2", wrong))
    return found


@pytest.fixture
def busy(room: Classroom, monkeypatch):
    """Somebody else is at work in the course."""
    monkeypatch.setattr(course_lock, "PATIENCE", 0.2)
    process = subprocess.Popen([sys.executable, "-c", textwrap.dedent(HOLDER), str(room.course.folder)],
                               stdout=subprocess.PIPE, text=True)  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline() == "taken\n"
    yield process
    process.kill()
    process.wait()
    process.stdout.close()


def snapshot(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize(
    "words",
    [
        ("mark", "COURSE", "A1"),
        ("mark-again", "COURSE", "A1", "--learner", "s1"),
        ("override", "COURSE", "A1", "s1", "L03-02", "1", "--reason", "seen", "--by", "R. Okonjo-Vale"),
        ("retake", "COURSE", "A1", "--learner", "s1"),
        ("remove", "COURSE", "s1", "--yes"),
        ("take-in", "COURSE", "A1", "IN"),
        ("hand-out", "COURSE", "A1", "--class", "COURSE/roster.csv"),
    ],
)
def test_a_second_command_is_refused_with_who_is_at_work_and_changes_nothing(room, tmp_path, capsys, monkeypatch, words):
    batch.mark_sheet(room.course, room.sheet)
    (tmp_path / "in" / "s3").mkdir(parents=True)
    (tmp_path / "in" / "s3" / "A1.ipynb").write_text("{}")
    monkeypatch.setattr(course_lock, "PATIENCE", 0.2)
    holder = subprocess.Popen([sys.executable, "-c", textwrap.dedent(HOLDER), str(room.course.folder)],
                              stdout=subprocess.PIPE, text=True)  # fmt: skip
    try:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "taken\n"
        before = snapshot(room.course.folder)
        replaced = [word.replace("COURSE", str(room.course.folder)).replace("IN", str(tmp_path / "in")) for word in words]
        assert main(replaced) == 2
        told = capsys.readouterr().err
        assert f"is in use: process {holder.pid} has been marking sheet A1 since" in told
        assert "Nothing was changed; wait until that has ended" in told
        assert snapshot(room.course.folder) == before
    finally:
        holder.kill()
        holder.wait()
        holder.stdout.close()


def test_a_turn_ends_with_a_process_that_is_killed(room, busy):
    with pytest.raises(GearkitError, match="is in use: process"):
        batch.mark_sheet(room.course, room.sheet)
    os.kill(busy.pid, signal.SIGKILL)
    busy.wait()
    assert batch.mark_sheet(room.course, room.sheet).marked == 2


def test_whoever_waits_goes_on_as_soon_as_the_other_has_ended(room, busy, monkeypatch):
    monkeypatch.setattr(course_lock, "PATIENCE", 20.0)
    os.kill(busy.pid, signal.SIGKILL)
    started = time.monotonic()
    with course_lock.taken(room.course, "looking"):
        assert time.monotonic() - started < 10


def test_a_turn_over_one_course_is_not_one_over_another(room, busy, tmp_path):
    other = Classroom(tmp_path / "other")
    assert batch.mark_sheet(other.course, other.sheet).submissions == 0


@pytest.mark.slow
def test_two_who_mark_at_once_in_a_file_end_with_the_marks_of_one(tmp_path: Path) -> None:
    room = Classroom(tmp_path, roster=Roster(tuple(Learner(f"s{number:02d}", f"Learner {number}") for number in range(30))))
    for number in range(30):
        room.hand_in(f"s{number:02d}", room.copy(f"s{number:02d}", (right, wrong)[number % 2]))
    batch.mark_sheet(room.course, room.sheet)
    expected, in_book = room.course.marks_file("A1").read_bytes(), rows(room.course)
    command = [sys.executable, "-m", "graders.cli", "mark", str(room.course.folder), "A1"]
    both = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in "ab"]
    told = [one.communicate(timeout=240) for one in both]
    for process, (_, error) in zip(both, told, strict=True):
        assert process.returncode == 0 or "is in use: process" in error, error
    assert 0 in [process.returncode for process in both]
    assert room.course.marks_file("A1").read_bytes() == expected
    assert rows(room.course) == in_book
    assert decisions.read(room.course) == ()
