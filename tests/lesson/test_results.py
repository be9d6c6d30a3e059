"""Results of a lesson's working: what stands in the table, in words and in HTML, and what is refused."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from gearkit import open_lesson
from gearkit.lesson.workbook import Lesson
from gearkit.words.errors import UsageError


@pytest.fixture
def lesson(tmp_path: Path) -> Lesson:
    return open_lesson("01", tmp_path / "my_record.json")


def test_a_fraction_stands_exact_beside_its_decimal_and_a_unit_behind(lesson: Lesson) -> None:
    told = repr(lesson.results(("ratio", Fraction(-5, 2)), ("speed", Fraction(-24), "r/min"), ("share", 0.86842, "", 2)))
    assert told.splitlines() == ["ratio | −5/2 = −2.5", "speed | −24 r/min", "share | 0.87"]


def test_a_formula_in_a_name_is_set_as_mathematics(lesson: Lesson) -> None:
    page = lesson.results((r"$\frac{R}{S}$", Fraction(7, 2)))._repr_html_()
    assert "<mfrac" in page
    assert "7/2" in page


def test_a_table_has_headings_with_scope_and_a_name_for_each_row(lesson: Lesson) -> None:
    page = lesson.table(("Range", "Ratio"), [("1", Fraction(58, 25)), ("R", -2)])._repr_html_()
    assert page.count('scope="col"') == 2
    assert page.count('scope="row"') == 2
    assert "58/25\u00a0=\u00a02.32" in page
    assert "−2" in page


def test_words_of_a_result_never_become_markup(lesson: Lesson) -> None:
    assert "<script>" not in lesson.results(("<script>", "<b>x</b>"))._repr_html_()


def test_a_result_without_a_value_is_refused_in_words(lesson: Lesson) -> None:
    with pytest.raises(UsageError, match=r"A result is written \(\"what it is\", value"):
        lesson.results(("ratio",))


def test_a_row_that_is_too_short_is_refused_in_words(lesson: Lesson) -> None:
    with pytest.raises(UsageError, match=r"The table has 2 columns \(Range, Ratio\), this row 1 values"):
        lesson.table(("Range", "Ratio"), [("1",)])


def test_other_tooth_counts_give_another_result_and_are_kept_apart_from_the_plain_layout(lesson: Lesson) -> None:
    panel = lesson.predict("Q24", teeth={"P1": (36, 84), "P2": (40, 88)})
    panel.apply_range("R")
    panel.predict("reverse", "2.5")
    assert panel.outcome().ratio == Fraction(-84, 36)
    [kept] = lesson.record.of_kind("prediction")
    assert kept["panel"] == "Q24, other tooth counts"
    task = lesson.predict_about("torques", "Q24", teeth={"P1": (36, 84), "P2": (40, 88)})
    assert task.title.endswith(", other tooth counts")
