"""The book-keeping's own programs beside ours: whichever runs after the other, marks stay and learner code is not run."""

from __future__ import annotations

import csv
from pathlib import Path

import nbformat
import pytest

from graders.mark import batch
from graders.report.pages import feedback
from tests.graders.book import book_keeping, give_by_hand, rows
from tests.graders.classroom import Classroom, call, computed, right, wrong

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    found = Classroom(tmp_path_factory.mktemp("books"), due="2026-02-03 08:00")
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in("s2", found.copy("s2", wrong))
    batch.mark_sheet(found.course, found.sheet)
    return found


def exported(room: Classroom) -> dict[str, dict[str, str]]:
    book_keeping(room.course.folder, "export", "--to", "marks.csv")
    with (room.course.folder / "marks.csv").open(encoding="utf-8") as table:
        return {row["student_id"]: row for row in csv.DictReader(table)}


def test_its_export_has_marks_penalty_and_marks_by_hand(room):
    give_by_hand(room.course, "s2", "L03-02", 1.5)
    marks = batch.mark_sheet(room.course, room.sheet)
    found = exported(room)
    for one in marks.learners:
        row = found[one.learner]
        assert (float(row["raw_score"]), float(row["late_submission_penalty"])) == (one.score, one.penalty)
        assert float(row["score"]) == pytest.approx(one.final)
        assert one.penalty > 0
    assert found["s3"]["score"] == "0.0"


def test_its_feedback_and_ours_hold_the_same_comments_whichever_is_written_last(room):
    marks = batch.mark_sheet(room.course, room.sheet)
    page = room.course.feedback_folder("s2", "A1") / "A1.html"
    comment = next(item.comment for item in marks.learners[1].items if item.item == "L03-03")
    feedback.write_pages(room.course, room.sheet)
    ours = page.read_text(encoding="utf-8")
    book_keeping(room.course.folder, "generate_feedback", "A1", "--student", "s2", "--force")
    theirs = page.read_text(encoding="utf-8")
    assert comment in ours
    assert comment in theirs
    assert ours != theirs
    feedback.write_pages(room.course, room.sheet)
    assert page.read_text(encoding="utf-8") == ours


def test_making_the_released_sheet_anew_changes_no_mark(room):
    before = rows(room.course)
    book_keeping(room.course.folder, "generate_assignment", "A1", "--force")
    assert rows(room.course) == before
    marks = batch.mark_sheet(room.course, room.sheet)
    assert rows(room.course) == before
    assert marks.learners[0].score == 26.0


def test_its_own_marking_marks_as_ours_and_runs_no_learner_code_outside_the_walls(tmp_path: Path) -> None:
    room = Classroom(tmp_path)
    seen = tmp_path / "seen"
    seen.mkdir()
    # Whoever runs this notebook unprotected leaves a trace; the answers themselves are right.
    spy = room.copy("s1", lambda variant: f"open({str(seen / 'trace')!r}, 'w').write('run')\n{right(variant)}")
    room.hand_in("s1", spy)
    room.hand_in("s2", room.copy("s2", wrong))
    batch.mark_sheet(room.course, room.sheet)
    path = room.course.autograded_file("s2", "A1")
    before, copy = rows(room.course), nbformat.read(path, as_version=4)
    book_keeping(room.course.folder, "autograde", "A1", "--force")
    assert list(seen.iterdir()) == []
    assert rows(room.course) == before
    assert nbformat.read(path, as_version=4) == copy
    room.hand_in("s3", room.copy("s3", computed))
    book_keeping(room.course.folder, "autograde", "A1")
    assert [row[:3] for row in rows(room.course) if row[:2] == ("s3", "L03-02")] == [("s3", "L03-02", 2.0)]
    assert [row for row in rows(room.course) if row[0] != "s3"] == before
    assert list(seen.iterdir()) == []
    # Without the kit in its place it does run the code, and empties the marks: the trace can be left.
    configuration = room.course.folder / "nbgrader_config.py"
    lines = configuration.read_text().splitlines(keepends=True)
    configuration.write_text("".join(line for line in lines if "c.Autograde" not in line))
    book_keeping(room.course.folder, "autograde", "A1", "--student", "s1", "--force")
    assert [path.name for path in seen.iterdir()] == ["trace"]
    assert {row[2] for row in rows(room.course) if row[0] == "s1"} == {None}


def test_its_own_marking_tells_why_where_the_kit_cannot_mark(tmp_path: Path) -> None:
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", lambda variant: call(variant.item.id, {"answer": "1"})))
    batch.mark_sheet(room.course, room.sheet)
    before = rows(room.course)
    (room.course.folder / ".secret").chmod(0o644)
    with pytest.raises(AssertionError, match=r"The course secret .* can be read by others"):
        book_keeping(room.course.folder, "autograde", "A1", "--force")
    assert rows(room.course) == before
