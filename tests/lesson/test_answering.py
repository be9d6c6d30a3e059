"""A class sheet keeps the text of each answer, and only that."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.lesson import answering
from gearkit.lesson.opening import open_lesson
from gearkit.words.errors import UsageError


@pytest.fixture(autouse=True)
def empty_sheet() -> Iterator[None]:
    answering.clear()
    yield
    answering.clear()


class LessonExpression:
    """Stands for an expression in lesson symbols: what counts is its text."""

    def __str__(self) -> str:
        return "1 + R/S"


class TextlessAnswer:
    def __str__(self) -> str:
        raise RuntimeError("no")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (LessonExpression(), "1 + R/S"),
        ("  152/59 ", "152/59"),
        (Fraction(152, 59), "152/59"),
        (Fraction(3), "3"),
        (2.576, "2.576"),
        (-3, "-3"),
        (["A", "C"], "A, C"),
        ((3, 1, 2), "3, 1, 2"),
        (None, ""),
        ("1 +\n R/S", "1 + R/S"),
    ],
)
def test_an_answer_is_kept_as_its_text(value: object, text: str) -> None:
    assert answering.text_of(value) == text


def test_an_answer_without_text_does_not_stop_the_notebook() -> None:
    assert answering.text_of(TextlessAnswer()) == "(an answer of type TextlessAnswer that has no text: RuntimeError)"
    assert answering.text_of(-(10**5000)) == "(a whole number of more than 600 digits)"


def test_one_answer_goes_under_the_name_answer() -> None:
    assert answering.texts_of("16/5", {}) == {"answer": "16/5"}


def test_parts_go_under_their_names_and_may_come_as_a_mapping() -> None:
    by_name = answering.texts_of(None, {"S_R_C": "19/6", "C_R_S": Fraction(6, 19)})
    by_mapping = answering.texts_of({"S_R_C": "19/6", "C_R_S": "6/19"}, {})
    assert by_name == by_mapping == {"S_R_C": "19/6", "C_R_S": "6/19"}


def test_the_last_answer_to_an_item_wins() -> None:
    answering._SHEET.keep("L03-02", {"answer": "R/S"})
    answering._SHEET.keep("L03-02", {"answer": "1 + R/S"})
    assert answering.collected() == {"L03-02": {"answer": "1 + R/S"}}


def test_what_is_collected_is_a_copy() -> None:
    answering._SHEET.keep("L03-02", {"answer": "1 + R/S"})
    answering.collected()["L03-02"]["answer"] = "changed"
    assert answering.collected()["L03-02"]["answer"] == "1 + R/S"


def test_an_answer_longer_than_the_reader_takes_is_refused_in_words() -> None:
    told = answering.how_it_reads("L03-02", {"answer": "1+" * 300 + "1"})
    assert told == "L03-02: cannot be read: The answer has 601 characters; 400 are read. Write it shorter."


def test_an_overlong_part_costs_only_itself_and_a_remark_is_told() -> None:
    told = answering.how_it_reads("L03-01", {"S_R_C": "9" * 500, "C_R_S": "1/3 = 0.5", "R_S_C": "1,5"})
    assert "S_R_C cannot be read: The answer has 500 characters; 400 are read" in told
    assert "C_R_S read as 0.5 (1/3 and 0.5 are not equal; 0.5 is marked, for it stands last.)" in told
    assert "R_S_C read as 1.5" in told


@pytest.mark.parametrize(
    ("says", "read_as"), [("decimal", "read as 2.006"), ("thousands", "read as 2006"), ("either", "two ways")]
)
def test_a_notebook_reads_commas_back_as_its_course_marks_them(says: str, read_as: str) -> None:
    answering.comma(says)
    try:
        assert read_as in answering.how_it_reads("L03-02", {"answer": "2,006"})
        assert read_as in answering.how_it_reads("X00-01", {"r_1": "2,006"})
    finally:
        answering.clear()


def test_an_empty_answer_says_that_nothing_was_answered() -> None:
    assert answering.how_it_reads("L03-02", {"answer": ""}) == "L03-02: nothing was answered yet."


def test_answers_to_a_sheet_made_from_a_layout_say_how_they_read(capsys: pytest.CaptureFixture[str]) -> None:
    answering.answer("X00-01", r_1="19/6", r_2="1,500", r_3="1 + R1/S_1", r_R="", r_5="4.6 reverse")
    answering.answer("X00-03", row_1="A, C", row_2="input locked")
    told = capsys.readouterr().out
    assert "r_1 read as 19/6" in told
    assert "r_2 cannot be read: 1,500 has a comma in a number and can be read in two ways." in told
    assert "r_5 read as -4.6" in told
    assert "r_3 read as 1 + R1/S1" in told
    assert "r_R still empty" in told
    assert "X00-03: row_1 kept as A, C; row_2 kept as input locked" in told


def test_a_name_that_is_no_part_is_told_and_not_lost_without_a_word(tmp_path: Path) -> None:
    assert answering.how_it_reads("L03-01", {"S_R_C": "19/6", "foo": "2"}).endswith("; no part is called foo")
    assert "no part" not in answering.how_it_reads("L03-01", {"SRC": "19/6"})
    lesson = open_lesson("03", record=tmp_path / "record.json")
    assert "none of the names foo is a part of this item; its parts are S_R_C" in str(lesson.answer("L03-01", foo="2"))


@pytest.mark.parametrize("number", ["", "  ", "99"])
def test_a_lesson_that_is_not_there_is_refused(number: str, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"There is no lesson .*Lessons: 00, 01"):
        open_lesson(number, record=tmp_path / "record.json")
