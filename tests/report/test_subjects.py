"""Subjects over the term: every share follows from the marks, and a class of few has no percentages."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from graders.report import gather
from graders.report.figures import subjects
from graders.report.pages import reliability_sections
from tests.graders.classroom import Classroom
from tests.report.sheets import marked_sheet
from tests.report.test_class_report import data, text_of


def test_the_share_of_a_subject_is_its_marks_over_all_who_handed_in() -> None:
    marks = marked_sheet()
    earned = sum(mark.earned for one in marks.learners for mark in one.items)
    full = sum(mark.max for one in marks.learners for mark in one.items)
    (share,) = subjects.over_sheets([marks])["one planetary set"]
    assert (share.earned, share.full, share.learners, share.items) == (Fraction(earned), Fraction(full), 4, 3)


def test_a_sheet_that_asks_nothing_about_a_subject_has_none_there() -> None:
    first = marked_sheet()
    other = replace(
        first,
        learners=tuple(
            replace(one, items=tuple(replace(mark, item=mark.item.replace("L02", "L08")) for mark in one.items))
            for one in first.learners
        ),
    )
    found = subjects.over_sheets([first, other])
    assert [share is None for share in found["one planetary set"]] == [False, True]
    assert [share is None for share in found["torque"]] == [True, False]


def test_four_learners_are_told_in_marks_and_five_in_percent() -> None:
    marks = marked_sheet()
    earned = sum(mark.earned for one in marks.learners for mark in one.items)
    four = text_of("</style>" + reliability_sections.over_subjects(data(earlier=(("Sheet 0", marks),))))
    assert f"{earned:g} of 40" in four
    assert "%" not in four
    fifth = replace(marks.learners[0], learner="fd99")
    five = replace(marks, learners=(*marks.learners, fifth))
    told = text_of("</style>" + reliability_sections.over_subjects(data(marks=five, earlier=(("Sheet 0", five),))))
    assert f"{round(100 * (earned + 10) / 50)}%" in told


def test_sheets_without_a_due_time_stand_in_the_order_in_which_they_went_out(tmp_path) -> None:
    import os

    from graders.hand_out import hand_out
    from graders.mark import batch
    from graders.sheets import sheets
    from tests.graders.classroom import CLASS

    room = Classroom(tmp_path, source="L03-02", name="B1")
    second = sheets.compose("L08-01", "A2")
    hand_out.hand_out(room.course, second, CLASS)
    for learner in ("s1", "s2", "s3"):
        os.utime(room.course.handed_out_file(learner, "B1"), (1_700_000_000, 1_700_000_000))
    room.hand_in("s1", room.copy("s1"))
    batch.mark_sheet(room.course, room.sheet)
    batch.mark_sheet(room.course, second)
    assert [marks.sheet for _, marks in gather.report_data(room.course, second).earlier] == ["B1"]
    assert gather.report_data(room.course, room.sheet).earlier == ()
