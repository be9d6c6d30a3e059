"""The whole job on three learners and one lesson: hand out, hand in, mark, gradebook, feedback, export."""

from __future__ import annotations

import csv
import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from gearkit.answers.judge import marking
from gearkit.words.errors import UsageError
from graders.book import gradebook, record
from graders.book.record import MarkSheet
from graders.course.roster import Learner, Roster
from graders.hand_out import hand_out
from graders.mark import batch
from graders.mark.workers.worker import Settings
from graders.sheets import sheets
from tests.graders.classroom import CLASS, NINE_OF_LESSON_3, Classroom, blank, call, computed, right, wrong


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    found = Classroom(tmp_path_factory.mktemp("job"))
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in("s2", found.copy("s2", wrong))
    found.hand_in("s3", found.copy("s3", computed))
    return found


def digest(folder: Path) -> str:
    found = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        found.update(str(path.relative_to(folder)).encode() + (path.read_bytes() if path.is_file() else b""))
    return found.hexdigest()


@pytest.fixture(scope="module")
def marked(room: Classroom) -> MarkSheet:
    before = digest(room.course.submitted)
    result = batch.mark_sheet(room.course, room.sheet)
    assert digest(room.course.submitted) == before, "marking changed what was handed in"
    return result


def test_right_answers_earn_everything_whether_read_or_run(marked: MarkSheet) -> None:
    first, _, third = marked.learners
    assert (first.score, first.max) == (26.0, 26.0)
    assert third.score == 26.0
    assert {item.way for item in first.items} == {"read"}
    assert {item.way for item in third.items} == {"run"}
    assert marked.sandbox in ("full", "strong", "none: learner code was not run")


def test_named_mistakes_are_named_and_never_answered(room: Classroom, marked: MarkSheet) -> None:
    second = marked.learners[1]
    variants = room.variants("s2")
    for item in second.items:
        form = variants[item.item].key.wrong_forms[0]
        assert item.verdict == "wrong"
        assert form.code in item.mistakes
    assert second.score < 13


def test_the_mark_sheet_says_who_was_marked(marked: MarkSheet) -> None:
    assert [one.learner for one in marked.learners] == ["s1", "s2", "s3"]
    assert (marked.submissions, marked.marked, marked.failed, marked.absent) == (3, 3, (), ())
    assert [one.name for one in marked.learners] == ["Ann Lee", "Ødegård, Kåre", "Cy Ek"]
    assert marked.learners[0].handed_in == "2026-02-03T10:00:00+00:00"


def test_marking_again_gives_the_same_bytes(room: Classroom, marked: MarkSheet) -> None:
    path = room.course.marks_file("A1")
    before = path.read_bytes()
    batch.mark_sheet(room.course, room.sheet)
    assert path.read_bytes() == before
    batch.mark_sheet(room.course, room.sheet, resume=True)
    assert path.read_bytes() == before
    assert record.read(path).learners == marked.learners


def test_running_everything_gives_the_same_marks(room: Classroom, marked: MarkSheet) -> None:
    again = batch.mark_sheet(room.course, room.sheet, settings=Settings(always_run=True))
    assert [one.score for one in again.learners] == [one.score for one in marked.learners]
    assert {item.way for one in again.learners for item in one.items} == {"run"}


def test_several_workers_give_the_same_bytes(room: Classroom, marked: MarkSheet) -> None:
    batch.mark_sheet(room.course, room.sheet)
    before = room.course.marks_file("A1").read_bytes()
    batch.mark_sheet(room.course, room.sheet, workers=2)
    assert room.course.marks_file("A1").read_bytes() == before


def test_the_gradebook_holds_marks_comments_and_nothing_to_be_done_by_hand(room: Classroom, marked: MarkSheet) -> None:
    with gradebook.opened(room.course) as book:
        submission = book.find_submission("A1", "s2")
        grades = {grade.name: (grade.auto_score, grade.max_score) for grade in submission.notebooks[0].grades}
        comments = {comment.name: comment.auto_comment for comment in submission.notebooks[0].comments}
        assert not submission.needs_manual_grade
    for item in marked.learners[1].items:
        assert grades[item.item] == (item.score, item.max)
        assert comments[item.item].startswith(item.comment)


def test_a_mark_given_by_hand_survives_marking_again(room: Classroom, marked: MarkSheet) -> None:
    with gradebook.opened(room.course) as book:
        book.find_grade("L03-02", "A1", "A1", "s2").manual_score = 1.5
        book.find_comment("L03-02", "A1", "A1", "s2").manual_comment = "Seen at the board."
        book.db.commit()
    batch.mark_sheet(room.course, room.sheet)
    with gradebook.opened(room.course) as book:
        grade = book.find_grade("L03-02", "A1", "A1", "s2")
        assert (grade.manual_score, grade.score, grade.needs_manual_grade) == (1.5, 1.5, False)
        comment = book.find_comment("L03-02", "A1", "A1", "s2")
        assert comment.manual_comment == "Seen at the board."
        grade.manual_score = comment.manual_comment = None
        book.db.commit()


def bookkeeping(room: Classroom, *words: str) -> str:
    environment = {**os.environ, "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"}
    done = subprocess.run(
        [sys.executable, "-m", "nbgrader", *words],
        cwd=room.course.folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stderr


@pytest.mark.slow
def test_the_book_keepings_own_feedback_and_export_work_on_our_marks(room: Classroom, marked: MarkSheet) -> None:
    bookkeeping(room, "generate_feedback", "A1", "--force")
    page = (room.course.feedback_folder("s2", "A1") / "A1.html").read_text(encoding="utf-8")
    assert marked.learners[1].items[1].comment in page
    bookkeeping(room, "export", "--to", "marks.csv")
    with (room.course.folder / "marks.csv").open(encoding="utf-8") as table:
        rows = {row["student_id"]: row for row in csv.DictReader(table)}
    for one in marked.learners:
        assert (float(rows[one.learner]["score"]), float(rows[one.learner]["max_score"])) == (one.score, one.max)
    assert rows["s2"]["last_name"] == "Ødegård"


def test_a_late_joiner_changes_nobodys_numbers_or_copy(tmp_path: Path) -> None:
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", right))
    before = {one.id: room.course.handed_out_file(one.id, "A1").read_bytes() for one in CLASS}
    result = hand_out.hand_out(room.course, room.sheet, Roster((Learner("s9", "Late Joiner", "E"),)))
    assert (result.made, result.kept) == (("s9",), ("s1", "s2", "s3"))
    assert {one.id: room.course.handed_out_file(one.id, "A1").read_bytes() for one in CLASS} == before
    assert batch.mark_sheet(room.course, room.sheet).learners[0].score == 26.0


def test_a_copy_that_is_there_is_never_written_over(tmp_path: Path) -> None:
    room = Classroom(tmp_path)
    path = room.course.handed_out_file("s1", "A1")
    path.write_text("my own work")
    hand_out.hand_out(room.course, room.sheet, CLASS)
    assert path.read_text() == "my own work"


def test_other_items_under_a_name_that_was_handed_out_are_refused(tmp_path: Path) -> None:
    room = Classroom(tmp_path)
    with pytest.raises(UsageError, match="was handed out in this course with other items or marks"):
        hand_out.hand_out(room.course, sheets.compose("lesson 2", "A1"), CLASS)
    later = sheets.compose(NINE_OF_LESSON_3, "A1", due="2026-03-01 12:00", title="New title")
    hand_out.hand_out(room.course, later, CLASS)
    assert hand_out.sheet_of(room.course, "A1").due == later.due


def test_lateness_is_taken_off_apart_from_what_was_earned(tmp_path: Path) -> None:
    room = Classroom(tmp_path, due="2026-02-02 09:00")
    for learner, time in (("s1", "2026-02-02 09:14:00 UTC"), ("s2", "2026-02-03 10:00:00 UTC"), ("s3", "")):
        room.hand_in(learner, room.copy(learner, right), time=time)
    in_time, late, unknown = batch.mark_sheet(room.course, room.sheet).learners
    assert (in_time.penalty, in_time.final) == (0.0, 26.0)
    # One day and 45 minutes after the grace: two days started, 10 percent of 26 marks each.
    assert (late.score, late.penalty, late.final) == (26.0, 5.2, 26.0 - 5.2)
    assert late.flags == ("Handed in late, 2 days started: 5.2 marks taken off.",)
    assert unknown.flags == ("There is no time of handing in, so it was not counted as late.",)
    with gradebook.opened(room.course) as book:
        submission = book.find_submission("A1", "s2")
        assert (submission.score, submission.late_submission_penalty) == (26.0, 5.2)


def test_who_hands_in_nothing_is_absent_and_an_untouched_copy_is_missing(tmp_path: Path) -> None:
    room = Classroom(tmp_path)
    room.hand_in("s2", room.copy("s2", blank))
    result = batch.mark_sheet(room.course, room.sheet)
    assert result.absent == ("s1", "s3")
    assert {item.verdict for item in result.learners[0].items} == {"missing"}


def test_answers_with_lesson_symbols_are_marked(tmp_path: Path) -> None:
    room = Classroom(tmp_path, source="L02-01,L02-02,L02-05")
    symbolic = next(v for v in room.variants("s1").values() if v.item.symbols)
    expression = symbolic.item.answer
    assert isinstance(expression, str)
    room.hand_in("s1", room.copy("s1", lambda v: f'answer("{v.item.id}", {expression})' if v.item.symbols else right(v)))
    result = batch.mark_sheet(room.course, room.sheet)
    mark = next(item for item in result.learners[0].items if item.item == symbolic.item.id)
    assert (mark.verdict, mark.way) == ("right", "read")


def test_a_sheet_from_a_layout_is_handed_out_and_marked(tmp_path: Path) -> None:
    room = Classroom(tmp_path, source="Q48", name="unseen")
    room.hand_in("s1", room.copy("s1", right))
    one = next(v for v in room.variants("s1").values() if len(v.parts) > 3)
    half = {
        part.name: text if place % 2 else ""
        for place, (part, text) in enumerate(zip(one.parts, marking.right_answer(one).values(), strict=True))
    }
    room.hand_in("s2", room.copy("s2", lambda v: call(v.item.id, half) if v.item.id == one.item.id else blank(v)))
    result = batch.mark_sheet(room.course, room.sheet)
    assert result.learners[0].score == room.sheet.marks > 20
    assert 0 < result.learners[1].score < 4
    reread = sheets.read(room.course.sheet_file("unseen"))
    assert reread == room.sheet
