"""Figures about a sheet: the worked sample by hand, and what must hold for any marks."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.words.errors import UsageError
from graders.report.figures import statistics as stats
from graders.report.figures.score_table import ScoreTable, compared_share, correlation, upper_and_lower

# Six learners, four items marked 1 or 0, worked by hand: p = 4/6, 3/6, 4/6, 1/6; totals 3, 2, 4, 1, 2, 0;
# sum of p q = 8/36 + 9/36 + 8/36 + 5/36 = 30/36; var(X) = 34/6 - 4 = 10/6; 4/3 (1 - 1/2) = 2/3.
WORKED = ("1110", "1010", "1111", "0010", "1100", "0000")


def table_of(rows: list[list[int]], maxima: list[int] | None = None) -> ScoreTable:
    k = len(rows[0]) if rows else 0
    return ScoreTable(
        tuple(f"learner {n}" for n in range(len(rows))),
        tuple(f"item {j + 1}" for j in range(k)),
        tuple(Fraction(m) for m in (maxima or [1] * k)),
        tuple(tuple(Fraction(mark) for mark in row) for row in rows),
    )


def worked() -> ScoreTable:
    return table_of([[int(mark) for mark in row] for row in WORKED])


ZERO_ONE = st.integers(2, 6).flatmap(
    lambda k: st.lists(st.lists(st.integers(0, 1), min_size=k, max_size=k), min_size=2, max_size=15)
)
PARTIAL = st.integers(2, 5).flatmap(
    lambda k: st.lists(st.lists(st.integers(0, 4), min_size=k, max_size=k), min_size=2, max_size=15)
)


def test_facility_of_the_worked_sample():
    facilities = [stats.facility(worked(), item) for item in worked().items]
    assert facilities == [Fraction(2, 3), Fraction(1, 2), Fraction(2, 3), Fraction(1, 6)]


def test_kr20_of_the_worked_sample_is_two_thirds():
    assert stats.kr20(worked()) == Fraction(2, 3)


def test_first_item_of_the_worked_sample_tells_top_two_from_bottom_two_completely():
    assert stats.discrimination(worked(), "item 1") == 1


def test_item_rest_correlation_of_the_worked_sample():
    # Covariance 7/6 - (4/6)(8/6) = 5/18; variances 2/9 and 8/9; 5/18 / sqrt(16/81) = 5/8.
    assert stats.item_rest(worked(), "item 1") == 0.625


def test_standard_error_of_the_worked_sample():
    assert stats.standard_error(worked(), Fraction(2, 3)) == pytest.approx(math.sqrt(10 / 6 * 1 / 3), rel=1e-12)


def test_doubling_a_sheet_of_reliability_seven_tenths_gives_fourteen_seventeenths():
    assert stats.lengthened(Fraction(7, 10), Fraction(2)) == Fraction(14, 17)  # 0.82


@settings(max_examples=60, deadline=None)
@given(ZERO_ONE)
def test_alpha_equals_kr20_for_items_marked_one_or_nothing(rows):
    assert stats.cronbach_alpha(table_of(rows)) == stats.kr20(table_of(rows))


@settings(max_examples=60, deadline=None)
@given(PARTIAL)
def test_alpha_is_at_most_one_and_does_not_depend_on_the_order_of_learners(rows):
    alpha = stats.cronbach_alpha(table_of(rows, [4] * len(rows[0])))
    assert alpha is None or alpha <= 1
    assert alpha == stats.cronbach_alpha(table_of(rows[::-1], [4] * len(rows[0])))


@settings(max_examples=60, deadline=None)
@given(PARTIAL)
def test_discrimination_does_not_depend_on_the_order_of_learners(rows):
    maxima = [4] * len(rows[0])
    for item in table_of(rows, maxima).items:
        one = stats.discrimination(table_of(rows, maxima), item)
        assert one == stats.discrimination(table_of(rows[::-1], maxima), item)
        assert one is not None
        assert -1 <= one <= 1


@settings(max_examples=60, deadline=None)
@given(PARTIAL)
def test_upper_and_lower_group_are_of_one_size_and_hold_nobody_twice_over(rows):
    upper, lower = upper_and_lower(table_of(rows, [4] * len(rows[0])))
    assert sum(upper) == sum(lower) == max(1, int(len(rows) * compared_share(len(rows))))
    assert all(0 <= weight <= 1 for weight in (*upper, *lower))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(-9, 9), st.integers(-9, 9)), min_size=2, max_size=12))
def test_correlation_lies_within_one_and_is_symmetric(pairs):
    first, second = ([Fraction(value) for value in side] for side in zip(*pairs, strict=True))
    r = correlation(first, second)
    assert r == correlation(second, first)
    assert r is None or abs(r) <= 1 + 1e-12


def test_identical_items_are_perfectly_reliable():
    assert stats.cronbach_alpha(table_of([[mark] * 5 for mark in (0, 1, 1, 0, 1)])) == 1


def test_one_item_has_no_reliability():
    assert stats.cronbach_alpha(table_of([[0], [1], [1]])) is None


def test_equal_totals_have_no_reliability():
    assert stats.cronbach_alpha(table_of([[0, 1], [1, 0], [0, 1]])) is None


def test_an_item_that_everybody_has_right_has_no_item_rest_correlation():
    assert stats.item_rest(table_of([[1, 0], [1, 1], [1, 0]]), "item 1") is None


def test_kr20_refuses_partial_marks():
    with pytest.raises(UsageError, match="KR-20 needs items marked all or nothing"):
        stats.kr20(table_of([[2, 4], [4, 4]], [4, 4]))


def test_reliability_names_alpha_where_marks_are_partial():
    found = stats.reliability(table_of([[2, 4], [4, 4], [0, 1]], [4, 4]))
    assert found.kind == "Cronbach's alpha"


def test_reliability_of_equal_all_or_nothing_items_is_called_kr20():
    found = stats.reliability(worked())
    assert (found.kind, found.alpha) == ("KR-20", Fraction(2, 3))
    assert found.doubled == Fraction(4, 5)  # 2 (2/3) / (1 + 2/3)


def test_the_band_of_alpha_is_the_same_for_the_same_marks_and_holds_a_typical_value():
    first, second = stats.alpha_band(worked(), "sheet 1"), stats.alpha_band(worked(), "sheet 1")
    assert first == second
    assert first is not None
    assert first[0] < 2 / 3 < first[1] <= 1


@pytest.mark.parametrize(("learners", "share"), [(5, "1/2"), (6, "1/3"), (39, "1/3"), (40, "27/100")])
def test_groups_are_halves_thirds_or_twenty_seven_percent_by_class_size(learners, share):
    assert compared_share(learners) == Fraction(share)


@pytest.mark.parametrize("learners", [1, 9, 29])
def test_a_class_below_thirty_is_warned_about_with_its_size(learners):
    assert stats.small_class_warning(learners).startswith(f"Only {learners} learner")


def test_a_class_of_thirty_is_not_warned_about():
    assert stats.small_class_warning(30) == ""


def test_remarks_name_an_item_on_which_the_weaker_group_did_better():
    rows = [[1, 1, 1, 0], [1, 1, 1, 0], [1, 0, 1, 0], [0, 0, 0, 1], [0, 0, 1, 1], [0, 0, 0, 1]]
    figures = {figure.item: figure for figure in stats.item_figures(table_of(rows))}
    assert any("weaker group did better" in remark for remark in figures["item 4"].remarks)
    assert not any("weaker" in remark for remark in figures["item 1"].remarks)


def test_mistake_shares_count_learners_and_split_them_by_group():
    made = {
        ("learner 3", "item 1"): ["SIGN"],
        ("learner 5", "item 1"): ["SIGN", "SIGN"],
        ("learner 0", "item 4"): ["SWAP"],
    }
    sign, swap = stats.mistake_shares(worked(), made)
    # Totals 4 and 3 are the upper third, totals 1 and 0 the lower: learners 3 and 5 are the whole lower third.
    assert (sign.mistake, sign.learners, sign.share, sign.upper, sign.lower) == ("SIGN", 2, Fraction(1, 3), 0, 1)
    assert (swap.item, swap.learners, swap.upper, swap.lower) == ("item 4", 1, Fraction(1, 2), 0)


def test_a_harder_draw_shows_in_the_fairness_figures():
    drawn = [Fraction(3), Fraction(7, 2), Fraction(152, 59), Fraction(4107, 1067)]
    figures = stats.variant_fairness([Fraction(m) for m in (4, 4, 1, 0)], drawn)
    assert figures["awkwardness"] is not None
    assert figures["awkwardness"] < -0.9


def test_awkwardness_counts_the_digits_of_a_fraction():
    assert [stats.awkwardness(Fraction(v)) for v in ("3", "7/2", "-152/59")] == [2, 2, 5]


def test_two_markers_who_agree_by_chance_only_have_kappa_zero():
    assert stats.kappa(["a", "a", "b", "b"], ["a", "b", "a", "b"]) == 0


def test_kappa_by_hand():
    # po = 3/4; pe = (3/4)(2/4) + (1/4)(2/4) = 1/2; (3/4 - 1/2)/(1/2) = 1/2.
    assert stats.kappa(["a", "a", "a", "b"], ["a", "a", "b", "b"]) == Fraction(1, 2)


def test_kappa_does_not_exist_where_both_markers_always_say_the_same_word():
    assert stats.kappa(["a", "a"], ["a", "a"]) is None


def test_a_table_refuses_a_mark_above_full_marks():
    with pytest.raises(UsageError, match=r"learner 0, item item 1: 5 is not from 0 to 4"):
        table_of([[5]], [4])


def test_a_table_refuses_a_row_of_the_wrong_length():
    with pytest.raises(UsageError, match="learner learner 1 has 1 marks for 2 items"):
        table_of([[1, 1], [1]])
