"""Full disks, closed folders, locked or damaged gradebooks: a clear error, and nothing half done."""

from __future__ import annotations

import errno
import gc
import os
import shutil
import sqlite3
from pathlib import Path

import pytest

from gearkit.text import files
from gearkit.words.errors import GearkitError
from graders.book import gradebook
from graders.cli import main
from graders.course import course_lock
from graders.mark import batch, submissions
from graders.mark.workers import worker
from tests.graders.classroom import Classroom, right


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    found = Classroom(tmp_path)
    for learner in ("s1", "s2", "s3"):
        found.hand_in(learner, found.copy(learner, right))
    return found


def test_a_locked_gradebook_is_told_and_marking_can_go_on_later(room: Classroom) -> None:
    lock = sqlite3.connect(room.course.folder / "gradebook.db", isolation_level=None)
    lock.execute("BEGIN EXCLUSIVE")
    try:
        with pytest.raises(GearkitError, match="is in use by another program; nothing more was written"):
            batch.mark_sheet(room.course, room.sheet)
    finally:
        lock.execute("ROLLBACK")
        lock.close()
    assert batch.mark_sheet(room.course, room.sheet, resume=True).marked == 3


def test_marking_leaves_the_search_for_unused_memory_as_it_was_also_where_it_fails(room: Classroom) -> None:
    before = gc.get_freeze_count()
    seen: list[int] = []
    batch.mark_sheet(room.course, room.sheet, report=lambda progress: seen.append(gc.get_freeze_count()))
    assert min(seen) > before
    assert gc.get_freeze_count() == before
    (room.course.folder / "gradebook.db").write_bytes(b"this is no gradebook" * 1000)
    with pytest.raises(GearkitError, match="gradebook"):
        batch.mark_sheet(room.course, room.sheet)
    assert gc.get_freeze_count() == before


def test_a_damaged_gradebook_is_told_and_kept(room: Classroom) -> None:
    path = room.course.folder / "gradebook.db"
    path.write_bytes(b"this is no gradebook" * 1000)
    before = path.read_bytes()
    with pytest.raises(GearkitError, match=r"is damaged .*nothing more was written to it\. Restore it"):
        batch.mark_sheet(room.course, room.sheet)
    assert path.read_bytes() == before


def test_a_gradebook_that_was_moved_away_is_made_anew(room: Classroom) -> None:
    first = batch.mark_sheet(room.course, room.sheet)
    (room.course.folder / "gradebook.db").unlink()
    assert batch.mark_sheet(room.course, room.sheet, resume=True).learners == first.learners
    with gradebook.opened(room.course) as book:
        assert book.find_submission("A1", "s1").score == 26.0


def test_a_full_disk_stops_with_a_reason_and_what_was_marked_is_kept(
    room: Classroom,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    real, written = os.replace, []

    def replace(source: str, target: Path) -> None:
        if len(written) >= 4:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(target))
        written.append(target)
        real(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(files.os, "replace", replace)
        with pytest.raises(GearkitError, match=r"No space left on device.*go on with --resume"):
            batch.mark_sheet(room.course, room.sheet)
    assert not room.course.marks_file("A1").exists()
    assert list(room.course.folder.rglob("*.part")) == []
    marked: list[str] = []
    original = worker.mark_submission
    monkeypatch.setattr(
        worker, "mark_submission", lambda *args, **more: marked.append(args[3].learner) or original(*args, **more)
    )
    assert batch.mark_sheet(room.course, room.sheet, resume=True).marked == 3
    assert 0 < len(marked) < 3


def test_a_folder_that_cannot_be_written_is_told(room: Classroom, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object, **more: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), "marks")

    monkeypatch.setattr(files.tempfile, "mkstemp", refuse)
    with pytest.raises(GearkitError, match="Permission denied"):
        batch.mark_sheet(room.course, room.sheet)


def test_commands_tell_trouble_without_a_traceback(
    room: Classroom, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (room.course.folder / "gradebook.db").write_bytes(b"no")
    assert main(["mark", str(room.course.folder), "A1"]) == 2
    told = capsys.readouterr()
    assert told.err.startswith("graders mark: The gradebook ")
    assert "Traceback" not in told.err + told.out


def test_a_part_that_was_damaged_on_disk_is_marked_again(room: Classroom) -> None:
    first = batch.mark_sheet(room.course, room.sheet)
    for text in ("", "{", "[]", '{"format": 1}', '{"format": 7}', "[" * 100_000):
        worker.part_file(room.course, "A1", "s2").write_text(text)
        assert batch.mark_sheet(room.course, room.sheet, resume=True).learners == first.learners


def test_a_changed_submission_is_marked_again_and_others_are_not(room: Classroom, monkeypatch: pytest.MonkeyPatch) -> None:
    batch.mark_sheet(room.course, room.sheet)
    room.hand_in("s2", room.copy("s2"))
    marked: list[str] = []
    original = worker.mark_submission
    monkeypatch.setattr(
        worker, "mark_submission", lambda *args, **more: marked.append(args[3].learner) or original(*args, **more)
    )
    result = batch.mark_sheet(room.course, room.sheet, resume=True)
    assert marked == ["s2"]
    assert [one.score for one in result.learners] == [26.0, 0.0, 26.0]


def test_a_file_where_the_folders_of_the_class_should_be_is_told(room: Classroom, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.move(room.course.submitted, room.course.folder / "elsewhere")
    room.course.submitted.write_text("x")
    assert main(["mark", str(room.course.folder), "A1"]) == 2
    told = capsys.readouterr().err
    assert told.startswith(f"graders mark: {room.course.submitted} is no folder. Handed-in work is looked for in ")
    assert str(room.course.submitted_folder("LEARNER", "A1")) in told


def test_a_file_in_place_of_a_learners_folder_is_a_submission_that_cannot_be_read(room: Classroom) -> None:
    folder = room.course.submitted_folder("s2", "A1")
    shutil.rmtree(folder)
    folder.write_text("x")
    marked = batch.mark_sheet(room.course, room.sheet)
    assert [(one.learner, one.reason) for one in marked.failed] == [
        ("s2", "A1 is a file; a folder with the notebook in it was expected.")
    ]
    assert [one.score for one in marked.learners] == [26.0, 0.0, 26.0]


def test_a_learners_folder_that_may_not_be_looked_into_stops_nobody_else(
    room: Classroom,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    exists = Path.exists

    def closed(path: Path) -> bool:
        if path == room.course.submitted_folder("s2", "A1"):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return exists(path)

    # Root, who runs the tests, may look into everything.
    monkeypatch.setattr(Path, "exists", closed)
    marked = batch.mark_sheet(room.course, room.sheet)
    assert [(one.learner, one.reason) for one in marked.failed] == [
        ("s2", "The learner's folder cannot be opened (Permission denied).")
    ]
    assert [one.score for one in marked.learners] == [26.0, 0.0, 26.0]


@pytest.mark.parametrize("name", ["marks", "autograded"])
def test_a_file_where_a_folder_is_to_be_written_is_told(
    name: str,
    room: Classroom,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shutil.rmtree(room.course.folder / name, ignore_errors=True)
    (room.course.folder / name).write_text("x")
    assert main(["mark", str(room.course.folder), "A1"]) == 2
    assert f"Marking stopped: Not a directory ({room.course.folder / name}" in capsys.readouterr().err


def test_a_change_behind_a_file_too_large_to_be_read_is_noticed(room: Classroom, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(submissions, "MOST_BYTES", 1000)
    folder = room.hand_in("s2", b"x" * 1000, name="A0.bin")
    batch.mark_sheet(room.course, room.sheet)
    book = folder / "A1.ipynb"
    same_length = book.read_bytes().replace(b"answer(", b"Answer(")
    book.write_bytes(same_length)
    os.utime(book, ns=(1, 1))
    result = batch.mark_sheet(room.course, room.sheet, resume=True)
    # What is no call any more is read as text; L03-04 and L03-01 name their parts in it, so that each can be found but for the
    # last of L03-01, behind which the bracket stands.
    assert [one.score for one in result.learners] == [26.0, 3.0 + 5.0, 26.0]


def test_results_of_folders_that_are_no_identities_are_kept_apart(room: Classroom) -> None:
    names = ["-" + "x" * 150 + "1", "-" + "x" * 150 + "2", "s 1", "s\n1", os.fsdecode(b"\xff"), os.fsdecode(b"\xfe")]
    files = {worker.part_file(room.course, "A1", submissions.writable(name)) for name in [*names, "s1", "732031"]}
    assert len(files) == 8
    assert all(len(path.name) < 100 for path in files)
    for name in names:
        room.hand_in(name, room.copy("s1", right))
    result = batch.mark_sheet(room.course, room.sheet)
    assert {one.learner: one.score for one in result.learners} == {
        "s1": 26.0,
        "s2": 26.0,
        "s3": 26.0,
        **{submissions.writable(name): 0.0 for name in names},
    }
    assert {one.learner for one in result.failed} == {submissions.writable(name) for name in names}
    assert all(one.learner.isprintable() for one in result.learners)


def test_on_a_disk_without_any_room_the_file_that_lacks_it_is_named(room: Classroom, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*arguments: object, **more: object) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(course_lock.os, "pwrite", full)
    monkeypatch.setattr(files.tempfile, "mkstemp", full)
    with pytest.raises(GearkitError, match=r"Marking stopped: No space left on device \(.*/s1.*go on with --resume"):
        batch.mark_sheet(room.course, room.sheet)
