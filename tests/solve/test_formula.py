"""Quotients in tooth symbols: cancelled, written in reading order, and equal in value to what they came from."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gearkit.solve.exact.formula import Product, cancelled, factors_of
from gearkit.solve.ratios import ratio
from gearkit.train.catalogue import find
from tests.support.exact_text import exact_value

NAMES = ("S1", "R1", "S2", "R2")
PRODUCTS: list[Product] = [
    tuple(name for name, taken in zip(NAMES, picks, strict=True) if taken) for picks in product((0, 1), repeat=4)
]
TABLES = st.dictionaries(st.sampled_from(PRODUCTS), st.integers(-6, 6), max_size=5)
VALUES = st.fixed_dictionaries({name: st.integers(17, 110) for name in NAMES})


def value(table: dict[Product, int], values: dict[str, int]) -> Fraction:
    total = Fraction(0)
    for names, factor in table.items():
        term = Fraction(factor)
        for name in names:
            term *= values[name]
        total += term
    return total


@given(TABLES, TABLES, VALUES)
def test_writing_and_cancelling_keep_the_value(
    top: dict[Product, int], bottom: dict[Product, int], values: dict[str, int]
) -> None:
    below = value(bottom, values)
    assume(below != 0)
    expected = value(top, values) / below
    quotient = cancelled(top, bottom)
    exact = {name: Fraction(number) for name, number in values.items()}
    assert quotient.at(exact) == expected
    assert exact_value(quotient.text(), exact) == expected


@pytest.mark.parametrize(
    ("top", "bottom", "text", "latex"),
    [
        ({("S1",): 1, ("R1",): 1}, {("S1",): 1}, "1 + R1/S1", r"1 + \frac{R_{1}}{S_{1}}"),
        ({("S1",): 1}, {("S1",): 1, ("R1",): 1}, "S1/(S1 + R1)", r"\frac{S_{1}}{S_{1} + R_{1}}"),
        ({("R1",): -1}, {("S1",): 1}, "-R1/S1", r"-\frac{R_{1}}{S_{1}}"),
        ({("R1",): 1}, {("S1",): -1}, "-R1/S1", r"-\frac{R_{1}}{S_{1}}"),
        ({("S1", "R2"): 2}, {("S1", "S2"): 4}, "R2/(2*S2)", r"\frac{R_{2}}{2 \, S_{2}}"),
        ({}, {("S1",): 3}, "0", "0"),
        ({(): 3}, {(): 3}, "1", "1"),
    ],
)
def test_a_quotient_is_written_as_a_teacher_writes_it(
    top: dict[Product, int], bottom: dict[Product, int], text: str, latex: str
) -> None:
    found = cancelled(top, bottom)
    assert found.text() == text
    assert found.latex() == latex


@pytest.mark.parametrize(
    ("layout", "range_name", "text"),
    [
        ("Q36", "2", "1 + R3/S3"),
        ("Q36", "R", "-R2/S2"),
        ("Q36", "6", "S1*R2/(R1*S2)"),
        ("Q24", "2", "1 + S1*R2/(S2*(S1 + R1))"),
        ("Q24", "4", "R1/(S1 + R1)"),
    ],
)
def test_ranges_done_by_eye_have_formulas_that_show_it(layout: str, range_name: str, text: str) -> None:
    found = ratio(find(layout), find(layout).engaged_in(range_name))
    assert found is not None
    assert found.formula == text


def test_a_stage_after_a_stage_is_written_as_a_product() -> None:
    layout = find("six_range_input_set_two_suns")
    found = ratio(layout, layout.engaged_in("1"))
    assert found is not None
    # The input set is 1 + S1/R1 = (S1 + R1)/R1, and what follows it R2/S2.
    assert found.formula == "R2*(S1 + R1)/(R1*S2)"


def test_what_both_parts_have_as_a_factor_cancels_even_when_it_is_a_sum() -> None:
    # Third joins both suns behind the input set, so nothing of the two sets that turn as a block may be left.
    layout = find("six_range_input_set_two_suns")
    found = ratio(layout, layout.engaged_in("3"))
    assert found is not None
    assert found.formula == "1 + S1/R1"
    assert found.exact == 1 + Fraction(37, 71)


SUMS: dict[str, dict[Product, int]] = {
    "S1 + R1": {("S1",): 1, ("R1",): 1},
    "3*S2 - 2*R2": {("S2",): 3, ("R2",): -2},
    "S3": {("S3",): 1},
    "S4*R4 + 2*S4 + 5": {("S4", "R4"): 1, ("S4",): 2, (): 5},
}


@given(st.sets(st.sampled_from(sorted(SUMS)), min_size=1), st.integers(1, 9))
def test_a_product_of_sums_in_different_symbols_is_taken_apart_again(chosen: set[str], number: int) -> None:
    expanded: dict[Product, int] = {(): number}
    for name in sorted(chosen):
        expanded = {tuple(sorted((*a, *b))): x * y for a, x in expanded.items() for b, y in SUMS[name].items()}
    found, parts = factors_of(tuple(sorted(expanded.items())))
    # A factor may come out with its sign turned, and then the number does as well.
    assert abs(found) == number
    assert {frozenset(product for product, _ in part) for part in parts} == {frozenset(SUMS[name]) for name in chosen}
