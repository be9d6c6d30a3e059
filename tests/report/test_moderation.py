"""The sample for the second marker: who is in it and why, and how far two markers agree."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.words.errors import UsageError
from graders.book.record import ItemMark, LearnerMarks, MarkSheet
from graders.report import moderation
from graders.report.mark_files import csv_text


def sheet(*percents: float, by_hand: int = -1) -> MarkSheet:
    learners = []
    for number, percent in enumerate(percents):
        item = ItemMark("L03-02", percent, 100.0, "wrong", automatic=0.0 if number == by_hand else None)
        learners.append(LearnerMarks(f"l{number:02d}", "", "", percent, 100.0, (item,)))
    return MarkSheet("A1", len(learners), len(learners), (), tuple(learners))


def reasons(marks: MarkSheet, *boundaries: int) -> dict[str, tuple[str, ...]]:
    return {one.learner: one.reasons for one in moderation.choose(marks, boundaries, "seed")}


def test_fails_boundaries_the_best_and_marks_by_hand_are_always_in():
    found = reasons(sheet(20, 47, 53, 54, 67, 73, 90, 99, 80, by_hand=8), 50, 70)
    assert found["l00"] == ("below the pass mark",)
    assert found["l01"] == ("within 3 percent of the boundary 50", "below the pass mark")
    assert found["l02"] == ("within 3 percent of the boundary 50",)
    assert found["l04"] == ("within 3 percent of the boundary 70",)
    assert found["l05"] == ("within 3 percent of the boundary 70",)
    assert found["l07"] == ("the best mark",)
    assert found["l08"] == ("a mark given by hand",)
    assert "l03" not in found


def test_a_good_class_is_filled_up_at_random_to_six_scripts():
    found = reasons(sheet(*[80 + n / 2 for n in range(20)]), 50)
    assert len(found) == 6
    assert sum(why == ("drawn at random",) for why in found.values()) == 5


def test_a_large_class_is_filled_up_to_a_tenth():
    assert len(reasons(sheet(*[60 + n / 100 for n in range(301)]), 50)) == 31


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 100), max_size=30))
def test_the_sample_is_the_same_every_time_and_holds_nobody_twice(percents):
    marks = sheet(*percents)
    sample = moderation.choose(marks, [50], "seed")
    assert sample == moderation.choose(marks, [50], "seed")
    assert len({one.learner for one in sample}) == len(sample) >= min(6, len(percents))


@pytest.mark.parametrize("boundaries", [(), (0,), (50, 100)])
def test_boundaries_that_are_no_percentages_are_refused(boundaries):
    with pytest.raises(UsageError, match="expected at least one percentage between 0 and 100"):
        moderation.choose(sheet(50), boundaries, "seed")


def form(tmp_path, *pairs: tuple[object, object]):
    rows = [
        {"learner": f"l{n}", "item": "L03-02", "max": 2.0, "first": first, "second": second}
        for n, (first, second) in enumerate(pairs)
    ]
    path = tmp_path / "second_marks.csv"
    path.write_text(csv_text(("learner", "item", "max", "first", "second"), rows), encoding="utf-8")
    return path


def test_agreement_by_hand(tmp_path):
    # Agreed 3 of 4; by chance (3/4)(2/4) + (1/4)(2/4) = 1/2; kappa (3/4 - 1/2)/(1/2).
    found = moderation.agreement(form(tmp_path, (2, "2"), (2, "2.0"), (2, "1"), (1, "1"), (1, "")))
    assert (found.marks, found.agreed, found.kappa) == (4, 3, Fraction(1, 2))
    assert found.differences == ("l2 L03-02: first 2, second 1",)
    assert found.advice == "Talk over the differences."


@pytest.mark.parametrize(("second", "advice"), [("2", "The markers agree well enough."), ("0", "Mark again together.")])
def test_the_advice_follows_from_the_agreement(tmp_path, second, advice):
    found = moderation.agreement(form(tmp_path, (2, second), (0, "0"), (1, "1"), (1, second if second == "0" else "1")))
    assert found.advice == advice


@pytest.mark.parametrize(
    ("second", "words"),
    [("two", "'two' is no mark"), ("3", "3 is out of reach, 0 to 2.0"), ("", "no second mark is filled in")],
)
def test_a_form_that_cannot_be_used_says_why(tmp_path, second, words):
    with pytest.raises(UsageError, match=words):
        moderation.agreement(form(tmp_path, (1, second)))


def test_a_form_that_is_missing_or_something_else_says_which_command_writes_one(tmp_path):
    other = tmp_path / "other.csv"
    other.write_text("a,b\n1,2\n")
    uneven = tmp_path / "uneven.csv"
    uneven.write_text("learner,item,max,first,second\nann,L03-02,2\n")
    for path, words in (
        (tmp_path / "nope.csv", "No such file"),
        (other, "expected the columns learner, item"),
        (uneven, "row 2: 3 cells, expected 5"),
    ):
        with pytest.raises(UsageError, match=f"{words}.*write both with: graders moderate COURSE SHEET"):
            moderation.agreement(path)


def test_a_form_is_written_anew_until_a_second_mark_stands_in_it_and_never_holds_what_was_withdrawn(tmp_path):
    from graders.cli.main import main
    from graders.mark import batch
    from tests.graders.classroom import Classroom, right

    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", right))
    batch.mark_sheet(room.course, room.sheet)
    folder = str(room.course.folder)
    path = room.course.reports_folder("A1") / "moderation" / "second_marks.csv"
    assert main(["moderate", folder, "A1"]) == 0
    assert "L03-02" in path.read_text(encoding="utf-8")
    assert main(["correct", folder, "A1", "L03-02", "--withdraw", "--reason", "misprint"]) == 0
    assert main(["moderate", folder, "A1"]) == 0
    assert "L03-02" not in path.read_text(encoding="utf-8")
    begun = path.read_text(encoding="utf-8").replace('""', '"1"', 1)
    path.write_text(begun, encoding="utf-8")
    assert main(["correct", folder, "A1", "L03-03", "--withdraw", "--reason", "misprint"]) == 0
    assert main(["moderate", folder, "A1"]) == 0
    assert path.read_text(encoding="utf-8") == begun
