"""Retakes: new numbers for those who are asked, both attempts kept, and the rule by which they count."""

from __future__ import annotations

import datetime as dt
import json
import subprocess
import sys
from typing import Any

import pytest

from gearkit.words.errors import UsageError
from graders.book import record
from graders.book.record import LearnerMarks, MarkSheet
from graders.cli.main import main
from graders.mark import batch
from graders.mark.decide import retakes
from graders.mark.decide.retakes import Retake
from graders.mark.rules import Counting
from graders.sheets import drawn, sheets
from graders.sheets.sheets import Sheet
from tests.graders.classroom import Classroom, right, wrong


def sheet_of_marks(**finals: float | None) -> MarkSheet:
    learners = tuple(LearnerMarks(name, "", "", mark, 20.0, ()) for name, mark in finals.items() if mark is not None)
    absent = tuple(name for name, mark in finals.items() if mark is None)
    return MarkSheet("A1", len(learners), len(learners), (), learners, absent=absent)


@pytest.mark.parametrize(
    ("counting", "cap", "first", "again", "counts"),
    [
        (Counting.BEST, None, 8.0, 16.0, 16.0),
        (Counting.BEST, None, 12.0, 5.0, 12.0),
        (Counting.BEST, 70, 8.0, 18.0, 14.0),  # 70 percent of 20
        (Counting.BEST, 70, 15.0, 20.0, 15.0),  # the first attempt is never capped
        (Counting.LAST, None, 12.0, 5.0, 5.0),
        (Counting.AVERAGE, None, 8.0, 15.0, 11.5),
        (Counting.AVERAGE, 50, 8.0, 15.0, 9.0),  # (8 + 10)/2
        (Counting.BEST, 70, None, 18.0, 14.0),
        (Counting.LAST, None, 8.0, None, 8.0),
        (Counting.BEST, None, None, None, 0.0),
    ],
)
def test_which_attempt_counts(counting, cap, first, again, counts):
    plan = Retake("A1", counting, cap, ("ann",))
    (marks,) = retakes.count(["ann"], sheet_of_marks(ann=first, max=20.0), sheet_of_marks(ann=again), plan)
    assert marks.counts == counts
    assert marks.attempts == (first, again)


def test_who_was_not_asked_has_one_attempt():
    plan = Retake("A1", Counting.BEST, None, ("ann",))
    marks = retakes.count(["ann", "bob"], sheet_of_marks(ann=8.0, bob=9.0), sheet_of_marks(ann=12.0), plan)
    assert [(one.learner, one.attempts, one.counts) for one in marks] == [("ann", (8, 12), 12), ("bob", (9,), 9)]


def test_a_retake_with_a_smaller_maximum_counts_by_its_share():
    again = MarkSheet("A1-retake", 1, 1, (), (LearnerMarks("ann", "", "", 8.0, 16.0, ()),))
    (marks,) = retakes.count(["ann"], sheet_of_marks(ann=4.0), again, Retake("A1", Counting.BEST, None, ("ann",)))
    assert marks.counts == 10.0  # 8 of 16 is 10 of 20


def test_who_is_below_a_share_or_handed_in_nothing_is_asked():
    assert retakes.below(sheet_of_marks(ann=9.9, bob=10.0, cy=None), 50) == ("ann", "cy")


@pytest.fixture
def room(tmp_path) -> Classroom:
    found = Classroom(tmp_path)
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in("s2", found.copy("s2", wrong))
    batch.mark_sheet(found.course, found.sheet)
    return found


def test_the_command_asks_who_is_below_and_leaves_the_others_alone(room, capsys):
    assert main(["retake", str(room.course.folder), "A1", "--below", "50", "--cap", "70"]) == 0
    assert "Retake A1-retake: 2 copies made, 0 there already.\nFor:    s2, s3\n" in capsys.readouterr().out
    assert room.course.handed_out_file("s2", "A1-retake").exists()
    assert room.course.handed_out_file("s3", "A1-retake").exists()  # handed in nothing
    assert not room.course.handed_out_file("s1", "A1-retake").exists()


def test_every_item_that_has_numbers_has_new_ones(room):
    again, _ = retakes.offer(room.course, room.sheet, ["s2"])
    before = room.variants("s2")
    for variant in drawn.variants_for(room.course, again, "s2"):
        if variant.values:
            assert not variant.asks_the_same_as(before[variant.item.id])
        assert variant.item.kind == before[variant.item.id].item.kind
    assert again.marks == room.sheet.marks


def test_of_a_retake_only_who_was_asked_can_be_missing(room):
    again, _ = retakes.offer(room.course, room.sheet, ["s2", "s3"])
    book = json.loads(room.course.handed_out_file("s2", again.name).read_text())
    later = Classroom.__new__(Classroom)
    later.course, later.sheet = room.course, again
    later.hand_in("s2", book)
    assert batch.mark_sheet(room.course, again).absent == ("s3",)


def test_asking_more_learners_keeps_the_first_copies(room):
    again, _ = retakes.offer(room.course, room.sheet, ["s2"])
    path = room.course.handed_out_file("s2", again.name)
    path.write_text("the learner works on it")
    _, made = retakes.offer(room.course, room.sheet, ["s3"])
    assert (made.made, made.kept) == (("s3",), ("s2",))
    assert path.read_text() == "the learner works on it"


def test_an_item_that_was_withdrawn_is_not_asked_again(room, capsys):
    folder = str(room.course.folder)
    main(["correct", folder, "A1", "L03-02", "--withdraw", "--reason", "misprint"])
    again, _ = retakes.offer(room.course, room.sheet, ["s2"])
    assert again.item_ids == tuple(item for item in room.sheet.item_ids if item != "L03-02")
    # What is out stays as it is, whatever is withdrawn after.
    main(["correct", folder, "A1", "L03-03", "--withdraw", "--reason", "misprint"])
    later, made = retakes.offer(room.course, room.sheet, ["s3"])
    assert (later.item_ids, made.made, made.kept) == (again.item_ids, ("s3",), ("s2",))


@pytest.mark.parametrize(
    ("learners", "more", "words"),
    [
        (["nobody"], {}, "Not on the class list: nobody"),
        ([], {}, "Nobody is asked to the retake"),
        (["s2"], {"cap": 0}, "Cap 0: expected percent of the maximum, from 1 to 100"),
    ],
)
def test_a_retake_for_nobody_or_by_no_rule_is_refused(room, learners, more, words):
    with pytest.raises(UsageError, match=words):
        retakes.offer(room.course, room.sheet, learners, **more)
    assert retakes.read(room.course) == {}


def test_the_rule_of_a_retake_cannot_change_under_the_learners(room):
    again, _ = retakes.offer(room.course, room.sheet, ["s2"], cap=70)
    with pytest.raises(UsageError, match=r"A1-retake is there already and counts by another rule \(best, cap 70 percent\)"):
        retakes.offer(room.course, room.sheet, ["s3"])
    with pytest.raises(UsageError, match="A1-retake is itself a retake, of A1"):
        retakes.offer(room.course, again, ["s2"])


def test_the_course_totals_show_both_attempts_and_what_counts(room, capsys):
    again, _ = retakes.offer(room.course, room.sheet, ["s2"], cap=70)
    later = Classroom.__new__(Classroom)
    later.course, later.sheet = room.course, again
    later.hand_in("s2", later.copy("s2", right))
    batch.mark_sheet(room.course, again)
    first = record.read(room.course.marks_file("A1")).learners[1].final
    assert main(["totals", str(room.course.folder)]) == 0
    text = (room.course.folder / "reports" / "course_marks.csv").read_text(encoding="utf-8-sig")
    rows = [line.split(",") for line in text.splitlines()]
    assert rows[0] == ['"learner"', '"name"', '"group"', '"A1 first"', '"A1 retake"', '"A1"', '"total"', '"max"']
    assert rows[2][-5:] == [str(first), "26.0", "18.2", "18.2", "26.0"]  # 70 percent of 26
    page = (room.course.folder / "reports" / "course.html").read_text(encoding="utf-8")
    assert f'18.2<br><span class="small">{first:g} then 26</span>' in page
    assert "of two attempts the best counts, and the retake brings at most 70% of the marks; 1 learner was asked." in page


def test_right_answers_are_not_handed_back_while_a_retake_is_open(room, capsys):
    folder = str(room.course.folder)
    retakes.offer(room.course, room.sheet, ["s2"], due=dt.datetime(2099, 1, 1))
    assert main(["hand-back", folder, "A1", "--answers"]) == 2
    assert "The retake A1-retake can still be handed in" in capsys.readouterr().err
    assert main(["hand-back", folder, "A1"]) == 0
    page = room.course.feedback_folder("s2", "A1") / "A1.html"
    assert "Right answer" not in page.read_text(encoding="utf-8")
    retakes.offer(room.course, room.sheet, ["s2"], due=dt.datetime(2020, 1, 1))
    assert main(["hand-back", folder, "A1", "--answers"]) == 0
    assert "Right answer" in page.read_text(encoding="utf-8")


def test_the_grading_page_counts_a_retake_once_and_calls_no_sheet_a_draft_that_is_out(room):
    """Its sums are asked for as the page asks, with the course's own settings, in a process of its own."""
    again, _ = retakes.offer(room.course, room.sheet, ["s2"], cap=50)
    room.sheet = again
    room.hand_in("s2", room.copy("s2", right))
    batch.mark_sheet(room.course, again)
    configuration = room.course.folder / "nbgrader_config.py"
    now = configuration.read_text()
    # A course of an earlier version has settings without this, and gets it when it hands out again.
    configuration.write_text(now.partition("# In the grading page")[0])
    before = asked_in_the_grading_page(room)
    retakes.offer(room.course, sheet_named(room, "A1"), ["s2"], cap=50)
    assert configuration.read_text() == now
    after = asked_in_the_grading_page(room)
    full = room.sheet.marks
    marks = {one.learner: one.score for one in record.read(room.course.marks_file("A1")).learners}
    assert marks["s1"] > 0
    assert before["s1"] == [marks["s1"], 2 * full]
    assert before["s2"] == [marks["s2"] + full, 2 * full]
    assert after["s1"] == after["s1 alone"] == [marks["s1"], full]
    assert after["s2"] == after["s2 alone"] == [max(marks["s2"], full / 2), full]
    assert set(before["sheets"]) == {"draft"}
    assert set(after["sheets"]) == {"released"}
    assert "graders withdraw" in after["taking back"]


def sheet_named(room: Classroom, name: str) -> Sheet:
    return sheets.read(room.course.sheet_file(name))


def asked_in_the_grading_page(room: Classroom) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-c", GRADING_PAGE], cwd=room.course.folder, capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


GRADING_PAGE = """
import json, os
from nbgrader.apps.api import NbGraderAPI
from nbgrader.apps.baseapp import NbGrader
app = NbGrader()
app.load_cwd_config, app.config_dir = True, os.getcwd()
app.load_config_file()
app.initialize([])
app.config.CourseDirectory.root = os.getcwd()
api = NbGraderAPI(parent=app)
told = {one["id"]: [one["score"], one["max_score"]] for one in api.get_students()}
for learner in ("s1", "s2"):
    one = api.get_student(learner)
    told[f"{learner} alone"] = [one["score"], one["max_score"]]
told["sheets"] = [one["status"] for one in api.get_assignments()]
told["taking back"] = str(api.unrelease("A1"))
print(json.dumps(told))
"""
