"""Predictions before and after a reveal, from records that learners hand in; damaged or forged files do no harm."""

from __future__ import annotations

import json
import os

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.lesson.predictions import Predictions
from gearkit.lesson.record import FILE_NAME, Record
from graders.course import course as course_folder
from graders.report.figures import predictions
from graders.report.figures.predictions import Gathered, Panel


@pytest.fixture
def course(tmp_path):
    return course_folder.create(tmp_path / "course")


def hand_in(course, learner: str, *pairs: tuple[str, str], panel: str = "one set") -> None:
    """A record as the lessons write it: predictions with what was found."""
    folder = course.submitted_folder(learner, "A1")
    folder.mkdir(parents=True)
    kept = Predictions(Record(folder / FILE_NAME), "03", panel)
    for number, (said, found) in enumerate(pairs):
        kept.keep(f"case {number}", {}, {"kind": said})
        kept.reveal(f"case {number}", {"kind": found})


def test_first_and_later_predictions_are_counted_apart(course):
    hand_in(course, "ann", ("forward", "reverse"), ("reverse", "reverse"), ("stopped", "stopped"))
    hand_in(course, "bob", ("reverse", "reverse"), ("forward", "reverse"))
    assert predictions.gather(course, "A1").panels == (Panel("03", "one set", 2, 1, 3, 2),)


def test_a_prediction_without_a_reveal_does_not_count(course):
    folder = course.submitted_folder("ann", "A1")
    folder.mkdir(parents=True)
    Predictions(Record(folder / FILE_NAME), "03", "one set").keep("case", {}, {"kind": "forward"})
    assert predictions.gather(course, "A1").panels == ()


def test_panels_are_kept_apart(course):
    hand_in(course, "ann", ("forward", "forward"))
    hand_in(course, "bob", ("forward", "reverse"), panel="Q36")
    assert [(one.name, one.first_right, one.learners) for one in predictions.gather(course, "A1").panels] == [
        ("Q36", 0, 1), ("one set", 1, 1),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b'{"events": 3}', b'{"events": [3, null, {"kind": "reveal"}]}', b"[" * 100_000, b"\xff\xfe"]
)
def test_a_damaged_record_counts_for_nothing(course, data):
    folder = course.submitted_folder("ann", "A1")
    folder.mkdir(parents=True)
    (folder / FILE_NAME).write_bytes(data)
    assert predictions.gather(course, "A1").panels == ()


def test_a_link_or_a_pipe_in_the_place_of_a_record_is_not_opened(course, tmp_path):
    hand_in(course, "ann", ("forward", "forward"))
    for learner in ("bob", "cy"):
        course.submitted_folder(learner, "A1").mkdir(parents=True)
    (course.submitted_folder("bob", "A1") / FILE_NAME).symlink_to(course.submitted_folder("ann", "A1") / FILE_NAME)
    os.mkfifo(course.submitted_folder("cy", "A1") / FILE_NAME)
    assert predictions.gather(course, "A1").panels[0].learners == 1


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(
        ["kind", "prediction", "said", "found", "lesson", "panel", "events"]), inner, max_size=4),
    max_leaves=20,
)  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(st.lists(st.dictionaries(st.sampled_from(["kind", "prediction", "said", "found", "lesson", "panel"]), JSON), max_size=6))
def test_any_events_are_counted_without_harm(tmp_path_factory, events):
    made = course_folder.create(tmp_path_factory.mktemp("any") / "course")
    folder = made.submitted_folder("ann", "A1")
    folder.mkdir(parents=True)
    (folder / FILE_NAME).write_text(json.dumps({"events": events}))
    html = predictions.section(predictions.gather(made, "A1"))
    assert "<script" not in html


def test_the_section_tells_both_shares_in_words():
    html = predictions.section(Gathered((Panel("03", "one set", 8, 3, 20, 16), Panel("06", "<b>", 1, 1, 0, 0))))
    assert "3 of 8 predictions" in html
    assert "16 of 20" in html
    assert "none yet" in html
    assert "<b>" not in html


def test_what_few_learners_predicted_is_counted_and_stands_in_no_plot_of_shares():
    few = predictions.section(Gathered((Panel("03", "one set", 2, 1, 2, 2),)))
    assert "1 of 2 predictions" in few
    assert "percent" not in few
    assert "%" not in few
    both = predictions.section(Gathered((Panel("03", "one set", 2, 1, 2, 2), Panel("06", "two sets", 5, 1, 4, 4))))
    assert "Lesson 6, two sets: first 1 of 5 right" in both
    assert "one set: first" not in both
