"""Fairness of the learners' own numbers: found where it is missing, and not reported where it cannot be told."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.answers.judge import marking
from graders.book.record import MarkSheet
from graders.course.roster import Learner, Roster
from graders.mark import batch
from graders.report import gather
from graders.report.figures import fairness
from graders.report.figures.fairness import ItemFairness, chance_bound
from graders.report.pages import class_report
from tests.graders.classroom import Classroom, right

CLASS = Roster(tuple(Learner(f"s{n:02d}", f"Learner {n}", "D" if n % 2 else "E") for n in range(12)))


def marked(tmp_path: Path, learners: int = 12) -> tuple[Classroom, MarkSheet]:
    room = Classroom(tmp_path, roster=CLASS)
    for one in CLASS.learners[:learners]:
        room.hand_in(one.id, room.copy(one.id, right))
    return room, batch.mark_sheet(room.course, room.sheet)


def graded_by(marks: MarkSheet, room: Classroom, item: str, earns: dict[str, float]) -> MarkSheet:
    """The mark sheet with marks of our own on one item."""
    return replace(
        marks,
        learners=tuple(
            replace(
                one, items=tuple(replace(mark, score=earns[one.learner]) if mark.item == item else mark for mark in one.items)
            )
            for one in marks.learners
        ),
    )


def test_marks_that_fall_with_the_size_of_the_answer_are_found(tmp_path):
    room, marks = marked(tmp_path)
    sizes = {one.id: abs(Fraction(marking.right_answer(room.variants(one.id)["L03-02"])["answer"])) for one in CLASS}
    in_order = sorted(sizes, key=lambda learner: sizes[learner])
    assert len(set(sizes.values())) > 6
    earns = {learner: float(place < 6) * 2 for place, learner in enumerate(in_order)}
    found = {one.item: one for one in fairness.of_sheet(room.course, room.sheet, graded_by(marks, room, "L03-02", earns))}
    assert found["L03-02"].size is not None
    # The half with the small answers has all marks: the correlation must be well below 0, beyond 2/sqrt(12) = 0.577.
    assert found["L03-02"].size < -chance_bound(12)
    assert found["L03-02"].beyond(chance_bound(12))


def test_where_everybody_has_the_same_marks_or_hardly_anybody_is_there_nothing_is_said(tmp_path):
    room, marks = marked(tmp_path)
    assert fairness.of_sheet(room.course, room.sheet, marks) == ()
    few = replace(marks, learners=tuple(marks.learners)[:4])
    earns = {one.learner: float(place % 2) for place, one in enumerate(few.learners)}
    assert fairness.of_sheet(room.course, room.sheet, graded_by(few, room, "L03-02", earns)) == ()


def test_the_report_shows_both_correlations_with_their_bound_their_source_and_a_warning(tmp_path):
    room, _ = marked(tmp_path)
    data = replace(
        gather.report_data(room.course, room.sheet),
        fairness=(ItemFairness("L03-02", -0.71, 0.10), ItemFairness("L03-05", 0.2, None)),
    )
    page = class_report.report_page(data)
    assert "Were everybody’s numbers equally hard?" in page
    assert "Look at the numbers of L03-02: a correlation beyond ±0.58" in page
    assert '<th scope="row">L03-05</th><td class="n">+0.20</td><td class="n">–</td><td></td>' in page
    assert "In a class below 30 this shows only gross unfairness." in page
    assert "Pearson’s correlation" in page
    fair = class_report.report_page(replace(data, fairness=(ItemFairness("L03-05", 0.2, None),)))
    assert "None is beyond ±0.58" in fair


@pytest.mark.parametrize(("learners", "bound"), [(4, 1.0), (25, 0.4), (100, 0.2)])
def test_the_bound_is_two_over_the_root_of_the_class(learners, bound):
    assert chance_bound(learners) == pytest.approx(bound)
