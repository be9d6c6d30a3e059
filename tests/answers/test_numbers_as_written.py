"""Numbers as learners write them: working shown, words beside them, commas by the course; what has two meanings is refused."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers.draw_numbers import variants
from gearkit.answers.item import AnswerKind
from gearkit.answers.items import find
from gearkit.answers.judge import marking
from gearkit.answers.judge.claims import Relation
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.words.errors import AnswerError

LETTERS = {"S": Fraction(28), "R": Fraction(68), "n": Fraction(1000)}
RATIO = NumberChecker(Fraction(24, 7), AnswerKind.EXACT_RATIO, letters=LETTERS)
BACK = NumberChecker(Fraction(-24, 7), AnswerKind.EXACT_RATIO, letters=LETTERS)
SPEED = NumberChecker(Fraction(-552), AnswerKind.DECIMAL, unit="r/min", letters=LETTERS)
TORQUE = NumberChecker(Fraction(104), AnswerKind.TORQUE, unit="N·m", letters=LETTERS)
TEETH = NumberChecker(Fraction(9), AnswerKind.INTEGER)


@pytest.mark.parametrize(
    ("checker", "text"),
    [
        (RATIO, "24/7 = 3.43"),
        (RATIO, "24/7 = 3.4"),
        (RATIO, "ratio 3.43"),
        (RATIO, "the ratio 24/7"),
        (SPEED, "speed −552 rpm"),
        (SPEED, "-552 min-1"),
        (RATIO, "i = 24/7 = 3.43"),
        (RATIO, "1 + R/S = 96/28 = 3.43"),
        (RATIO, "3.43 = 24/7"),
        (RATIO, "24/7 ≈ 3.43"),
        (RATIO, "24/7 -> 3.43"),
        (RATIO, "24/7 = 3.43:1"),
        (RATIO, "24/7 = 3.43 = i"),
        (SPEED, "-552 = n"),
        (RATIO, "n_in/n_out = 3.43"),
        (RATIO, "n/n_out = 3.43"),
        (RATIO, "1 + 2.43 = 3.43"),
        (RATIO, "R/S + 1 = 3.43"),
        (SPEED, "n = -552"),
        (SPEED, "n_out = -552 rpm"),
        (SPEED, "-1000*0.552 = -552 rpm"),
        (SPEED, "-552 rpm = -552"),
        (SPEED, "-9.2 r/s = -552 r/min"),
        (TORQUE, "T = 104 Nm"),
        (TORQUE, "52 x 2 = 104 Nm"),
        (TORQUE, "0.104 kNm = 104 Nm"),
        (TEETH, "18/2 = 9"),
        (TEETH, "N = 9"),
        (SPEED, "24*23 = 552 rpm (reverse)"),
    ],
)
def test_working_is_read_and_the_answer_is_right(checker: NumberChecker, text: str) -> None:
    reading = checker.read(text)
    assert checker.judge(reading).right
    assert reading.remark == ""


@pytest.mark.parametrize(
    ("checker", "text", "right", "remark"),
    [
        (RATIO, "24/7 = 3.6", False, "24/7 and 3.6 are not equal; 3.6 is marked, for it stands last."),
        (RATIO, "24/8 = 3.43", True, "24/8 and 3.43 are not equal; 3.43 is marked, for it stands last."),
        (RATIO, "R/S = 1 + R/S", True, "R/S and 1 + R/S are not equal; 1 + R/S is marked, for it stands last."),
        (
            RATIO,
            "sqrt(9) = 3.43",
            True,
            "What stands before the last equals sign is not read here; 3.43 is marked, for it stands last.",
        ),
        (SPEED, "552 = -552", True, "552 and -552 are not equal; -552 is marked, for it stands last."),
        (TEETH, "17/2 = 9", True, "17/2 and 9 are not equal; 9 is marked, for it stands last."),
        (TEETH, "24/7 = 4", False, "24/7 and 4 are not equal; 4 is marked, for it stands last."),
    ],
)
def test_where_the_sides_do_not_agree_the_last_is_marked_and_that_is_said(
    checker: NumberChecker, text: str, right: bool, remark: str
) -> None:
    reading = checker.read(text)
    assert (checker.judge(reading).right, reading.remark) == (right, remark)


def test_what_is_said_of_two_sides_reaches_the_learner_with_its_claims() -> None:
    variant = variants.practice(find("L03-02"))
    right = marking.right_answer(variant)["answer"]
    result = marking.mark(variant, {"answer": f"1/7 = {right}"})
    assert result.comment == f"Right. 1/7 and {right} are not equal; {right} is marked, for it stands last."
    assert {claim.relation for said in result.said for claim in said.claims} == {
        Relation.RIGHT,
        Relation.LAST_MARKED,
        Relation.SIDES_DIFFER,
    }
    wrong = marking.mark(variant, {"answer": f"{right} = 1/7"})
    assert (wrong.verdict, wrong.score) == ("wrong", 0)
    assert f"{right} and 1/7 are not equal; 1/7 is marked" in wrong.comment


def test_forms_of_a_formula_have_to_agree_too() -> None:
    checker = FormulaChecker(("1 + R/S",), ("R", "S"))
    same = checker.read("i = (S + R)/S = 1 + R/S")
    assert (checker.judge(same).right, same.remark) == (True, "")
    other = checker.read("1 + R/S = R/S")
    assert not checker.judge(other).right
    assert other.remark == "1 + R/S and R/S are not the same formula; R/S is marked, for it stands last."
    with pytest.raises(AnswerError, match="The answer holds an equation, and one side of it cannot be read"):
        checker.read("n_c*(R + S) = R*n_r")


@pytest.mark.parametrize(
    "text",
    [
        "3.43 reverse",
        "reverse 3.43",
        "3.43 (reverse)",
        "3.43 in reverse",
        "-3.43 reverse",
        "−3.43, backwards",
        "backwards: 3.43",
        "3.43:1 reverse",
        "3.43 to 1 (reverse)",
        "24/7 backward",
        "reverse ratio = 3.43",
        "3 3/7 in reverse",
        "about 3.43 in reverse",
        "it is 3.43 against the input",
        "-3.43",
        "3.43 opposite to the input",
        "3.43, turning backwards.",
    ],
)
def test_a_direction_in_words_is_a_sign_and_a_minus_with_it_is_one_minus(text: str) -> None:
    assert BACK.judge(BACK.read(text)).right
    assert RATIO.judge(RATIO.read(text)).share == Fraction(1, 2)


@pytest.mark.parametrize(
    "text",
    ["552 rpm (reverse)", "reverse 552 rpm", "552 rpm in reverse", "-552 rpm reverse", "552 in reverse", "reverse, n = 552"],
)
def test_a_speed_may_have_its_unit_and_its_direction(text: str) -> None:
    assert SPEED.judge(SPEED.read(text)).right


@pytest.mark.parametrize(
    "text",
    [
        "3.43 forward",
        "forwards, 3.43",
        "3.43 with the input",
        "3.43 overdrive",
        "overdrive: 3.43",
        "3.43 (reduction)",
        "3.43, an overdrive",
    ],
)
def test_a_remark_or_a_forward_direction_changes_nothing(text: str) -> None:
    assert RATIO.judge(RATIO.read(text)).right


@pytest.mark.parametrize(
    ("checker", "text", "words"),
    [
        (
            SPEED,
            "-552 forward",
            "-552 is said to go forward and backward at the same time. Write 552 if it goes forward, or -552 if",
        ),
        (SPEED, "552 forward reverse", "Write 552 if it goes forward, or -552 if it goes backward"),
        (SPEED, "2,006 rpm", "2,006 has a comma in a number and can be read in two ways. Write 2.006 if.* or 2006 if"),
        (RATIO, "reverse", "reverse is not one of the letters"),
        (RATIO, "overdrive", "overdrive is not one of the letters"),
        (RATIO, "not 3.43", "not is not one of the letters"),
        (RATIO, "3.43 or 3.5", "or is not one of the letters"),
        (TEETH, "9 reverse", "reverse is a letter or a word"),
        (RATIO, "7:24", "7:24 could be meant either way round"),
    ],
)
def test_what_has_two_meanings_or_none_is_refused_in_words(checker: NumberChecker, text: str, words: str) -> None:
    with pytest.raises(AnswerError, match=words):
        checker.read(text)


@pytest.mark.parametrize(
    ("checker", "text"),
    [
        (SPEED, "-552 revs per minute"),
        (SPEED, "-552 rev per min"),
        (SPEED, "-552 revolutions per minute"),
        (SPEED, "-552 RPM"),
        (SPEED, "-552,0 rpm"),
        (SPEED, "-5.52e2 r.p.m."),
        (TORQUE, "104 NM"),
        (TORQUE, "104 newton metres"),
        (TORQUE, "76.7 ft-lbs"),
        (TORQUE, "76,7 foot-pounds"),
        (NumberChecker(Fraction(90), AnswerKind.DECIMAL, unit="km/h"), "90 km/hr"),
        (NumberChecker(Fraction(90), AnswerKind.DECIMAL, unit="kJ"), "90 kilojoules"),
        (NumberChecker(Fraction(90), AnswerKind.DECIMAL, unit="mm"), "90 millimetres"),
        (RATIO, "3 3/7"),
        (RATIO, "3,43"),
    ],
)
def test_units_in_words_and_decimal_commas_are_read(checker: NumberChecker, text: str) -> None:
    assert checker.judge(checker.read(text)).right
