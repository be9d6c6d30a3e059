"""Formulas are equal in whatever form; numbers are equal exactly or as correct roundings with enough figures."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.answers.comparison import compare
from gearkit.answers.comparison.compare import EXACTLY, Match, Tolerance, judge_number, same_expression, shown
from gearkit.answers.read.expression import Expression
from gearkit.answers.read.reader import read
from gearkit.words.errors import AnswerError

LETTERS = ["S", "R", "S1", "R1", "S2", "R2", "S3", "R3"]


def judged(given: Expression, exact: Fraction, tolerance: Tolerance = EXACTLY) -> Match:
    return judge_number(given.value(), given.digits, exact, tolerance)


def same(first: str, second: str) -> bool:
    return same_expression(read(first, LETTERS), read(second, LETTERS))


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("1 + R/S", "(S + R)/S"),
        ("1 + R/S", "(R + S)*S^-1"),
        ("S/(S + R)", "1/(1 + R/S)"),
        ("-R/S", "R/(-S)"),
        ("(R + S)^2", "R^2 + 2R*S + S^2"),
        ("R/S", "R^2/(R S)"),
        ("0.5R", "R/2"),
        ("((S1 + R1)(1 + R3/S3) + S1 R2/S2)/R1", "(1 + S1/R1)(1 + R3/S3) + S1*R2/(R1*S2)"),
        ("3", "6/2"),
        ("R - R", "0"),
    ],
)
def test_the_same_formula_in_another_form_is_equal(first: str, second: str) -> None:
    assert same(first, second)
    assert same(second, first)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("1 + R/S", "R/S"),
        ("1 + R/S", "1 + S/R"),
        ("1 + R/S", "S/(S + R)"),
        ("-R/S", "R/S"),
        ("R", "S"),
        ("R1", "R2"),
        ("0.333333333333", "1/3"),
        ("R + 0.000000001", "R"),
    ],
)
def test_another_formula_is_not_equal(first: str, second: str) -> None:
    assert not same(first, second)


def test_a_formula_that_is_right_only_at_some_tooth_counts_is_not_equal() -> None:
    # At S = 30 and R = 60 both are 3; as formulas they differ.
    assert not same("1 + R/S", "R/20")


def test_the_exact_step_settles_what_the_values_cannot(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compare, "fingerprint", lambda _: (1, 1))
    assert not same("R", "S")
    assert same("R + S", "S + R")


def test_a_point_depends_on_the_name_of_a_symbol_only() -> None:
    assert compare.coordinate("R", 0) == compare.coordinate("R", 0)
    assert compare.coordinate("R", 0) != compare.coordinate("R", 1)
    assert compare.coordinate("R", 0) != compare.coordinate("S", 0)


@pytest.mark.parametrize("text", ["1/(R - R)", "R/(1/(S - S))", "(R - R)^-2", "1/(R/S - R/S) + 1"])
def test_a_formula_that_always_divides_by_zero_is_refused(text: str) -> None:
    with pytest.raises(AnswerError, match="divides by zero"):
        same(text, "R")


def test_a_formula_blown_up_on_purpose_is_refused_quickly() -> None:
    letters = "(S + R + S1 + R1 + S2 + R2 + S3 + R3)"
    blown = f"R + {letters}^9*{letters}^9 - {letters}^9*{letters}^9"
    with pytest.raises(AnswerError, match=r"too long to be compared exactly\. Simplify it"):
        same(blown, "R")


FORMS = st.sampled_from(
    [
        "1 + R/S",
        "(S + R)/S",
        "R/S",
        "S/(S + R)",
        "-R/S",
        "1 + S1/R1 + S1*R2/(R1*S2)",
        "(1 + R1/S1)*(1 + R2/S2)",
        "R1*S2/(S1*R2)",
        "((S1 + R1)*(1 + R3/S3) - S1*R2/S2)/R1",
        "2*R - S",
        "R^2 - S^2",
    ]
)
REWRITES = st.sampled_from(
    [
        "({0})",
        "{0} + S - S",
        "2*({0})/2",
        "1/(1/({0}))",
        "-(-({0}))",
        "(({0})*(R + 1))/(R + 1)",
        "({0})*R^2*R^-2",
        "0 + ({0})",
    ]
)
CHANGES = st.sampled_from(["({0}) + 1", "-({0})", "1/({0})", "2*({0})", "({0}) + R - S", "({0})*R/S", "({0}) - 1/1000"])


@settings(max_examples=150, deadline=None)
@given(FORMS, st.lists(REWRITES, min_size=1, max_size=3))
def test_rewriting_a_formula_keeps_it_equal(text: str, rewrites: list[str]) -> None:
    rewritten = text
    for rewrite in rewrites:
        rewritten = rewrite.format(rewritten)
    assert same(text, rewritten)


@settings(max_examples=150, deadline=None)
@given(FORMS, CHANGES, REWRITES)
def test_changing_a_formula_makes_it_unequal(text: str, change: str, rewrite: str) -> None:
    assert not same(text, rewrite.format(change.format(text)))


THIRD = Fraction(120, 34)  # 3.5294117...


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("120/34", Match.EXACT),
        ("60/17", Match.EXACT),
        ("1 + 43/17", Match.EXACT),
        ("3.53", Match.ROUNDED),
        ("3.529", Match.ROUNDED),
        ("3.5294", Match.ROUNDED),
        ("3.5294117647058822", Match.ROUNDED),  # what 120/34 prints in a notebook
        ("3.52", Match.DIFFERENT),
        ("3.530", Match.DIFFERENT),
        ("3.54", Match.DIFFERENT),
        ("3.5", Match.TOO_FEW),
        ("4", Match.TOO_FEW),
        ("3", Match.DIFFERENT),
        ("-3.53", Match.DIFFERENT),
        ("7/2", Match.DIFFERENT),
        ("3.53 + 0", Match.DIFFERENT),  # a sum is exact or it is not
    ],
)
def test_a_decimal_is_right_when_correctly_rounded_to_three_figures_or_more(text: str, match: Match) -> None:
    assert judged(read(text), THIRD) is match


@pytest.mark.parametrize(
    ("text", "exact", "match"),
    [
        ("2.25", Fraction(9, 4), Match.EXACT),
        ("2.5", Fraction(5, 2), Match.EXACT),
        ("3", Fraction(3), Match.EXACT),
        ("3.0", Fraction(3), Match.EXACT),
        ("0.684", Fraction(13, 19), Match.ROUNDED),
        ("0.68", Fraction(13, 19), Match.TOO_FEW),
        ("2.125", Fraction(17, 8), Match.EXACT),
        ("2.13", Fraction(17, 8), Match.ROUNDED),  # a tie may be rounded either way
        ("2.12", Fraction(17, 8), Match.ROUNDED),
        ("400", Fraction(4003, 10), Match.ROUNDED),
        ("0.000", Fraction(1, 3000), Match.TOO_FEW),
        ("0", Fraction(0), Match.EXACT),
    ],
)
def test_figures_count_from_the_first_that_is_not_zero(text: str, exact: Fraction, match: Match) -> None:
    assert judged(read(text), exact) is match


def test_a_tolerance_lets_near_numbers_pass() -> None:
    half = Tolerance(absolute=Fraction(1, 2))
    assert judged(read("400"), Fraction(4004, 10), half) is Match.WITHIN
    assert judged(read("401"), Fraction(4004, 10), half) is Match.DIFFERENT
    percent = Tolerance(relative=Fraction(1, 200))
    assert judged(read("261"), Fraction(260), percent) is Match.WITHIN
    assert judged(read("262"), Fraction(260), percent) is Match.DIFFERENT


def test_an_item_may_ask_for_more_figures() -> None:
    assert judged(read("3.53"), THIRD, Tolerance(figures=4)) is Match.TOO_FEW
    assert judged(read("3.529"), THIRD, Tolerance(figures=4)) is Match.ROUNDED


@settings(max_examples=200, deadline=None)
@given(st.integers(-(10**6), 10**6), st.integers(1, 10**4), st.integers(3, 9))
def test_every_correct_rounding_to_three_figures_or_more_is_right(over: int, under: int, figures: int) -> None:
    exact = Fraction(over, under)
    assert judged(read(shown(exact, figures)), exact) in compare.RIGHT_MATCHES


@settings(max_examples=200, deadline=None)
@given(st.integers(1, 10**6), st.integers(1, 10**4))
def test_one_unit_off_in_the_last_figure_is_wrong(over: int, under: int) -> None:
    exact = Fraction(over, under)
    text = shown(exact, 5)
    places = len(text.partition(".")[2])
    off = Fraction(text) + Fraction(1, 10**places)
    assert judged(read(shown(off, 12) if places == 0 else f"{float(off):.{places}f}"), exact) is Match.DIFFERENT


def test_numbers_are_shown_as_a_learner_writes_them() -> None:
    assert shown(Fraction(152, 59)) == "2.576"
    assert shown(Fraction(-152, 59), 3) == "-2.58"
    assert shown(Fraction(1, 30), 3) == "0.0333"
    assert shown(Fraction(12345), 3) == "12345"
    assert shown(Fraction(123456, 10), 3) == "12346"
