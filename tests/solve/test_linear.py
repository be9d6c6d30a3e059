"""Exact elimination, against definitions that share no code with it."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations
from math import prod

from hypothesis import given
from hypothesis import strategies as st

from gearkit.solve.exact.linear import determinant, echelon, echelon_modulo, rank, solve

PRIME = (1 << 61) - 1
SMALL = st.integers(-9, 9)


def matrices(rows: int, columns: int) -> st.SearchStrategy[list[list[int]]]:
    return st.lists(st.lists(SMALL, min_size=columns, max_size=columns), min_size=rows, max_size=rows)


ANY_MATRIX = st.tuples(st.integers(1, 5), st.integers(1, 5)).flatmap(lambda size: matrices(*size))
ANY_SQUARE = st.integers(1, 4).flatmap(lambda size: matrices(size, size))


def product(left: list[list[int]], right: list[list[int]]) -> list[list[int]]:
    return [[sum(a * b for a, b in zip(row, column, strict=True)) for column in zip(*right, strict=True)] for row in left]


@given(ANY_SQUARE)
def test_the_determinant_is_the_signed_sum_over_permutations(square: list[list[int]]) -> None:
    size = len(square)
    expected = 0
    for order in permutations(range(size)):
        inversions = sum(order[i] > order[j] for i in range(size) for j in range(i + 1, size))
        expected += (-1) ** inversions * prod(square[row][column] for row, column in enumerate(order))
    assert determinant(square) == expected


def test_the_determinant_of_nothing_is_one() -> None:
    assert determinant([]) == 1


def test_a_zero_in_the_corner_only_swaps_rows() -> None:
    assert determinant([[0, 1], [1, 0]]) == -1
    assert determinant([[0, 2], [0, 3]]) == 0


@given(st.integers(1, 4), st.data())
def test_a_product_through_k_columns_has_rank_k_at_most(inner: int, data: st.DataObject) -> None:
    left, right = data.draw(matrices(5, inner)), data.draw(matrices(inner, 5))
    assert rank(product(left, right)) <= inner


@given(st.integers(1, 4), st.data())
def test_a_product_of_unit_triangles_has_exactly_the_rank_of_its_inner_size(inner: int, data: st.DataObject) -> None:
    tall = [[1 if i == j else data.draw(SMALL) if i > j else 0 for j in range(inner)] for i in range(5)]
    wide = [[1 if i == j else data.draw(SMALL) if j > i else 0 for j in range(5)] for i in range(inner)]
    assert rank(product(tall, wide)) == inner


@given(ANY_MATRIX)
def test_rank_is_the_same_lying_down_and_modulo_a_large_prime(rows: list[list[int]]) -> None:
    # Every minor of these entries is far below the prime, so none can vanish there by chance.
    assert rank(rows) == rank([list(column) for column in zip(*rows, strict=True)]) == len(echelon_modulo(rows, PRIME)[1])


def test_a_rank_modulo_a_small_prime_may_fall() -> None:
    assert rank([[7]]) == 1
    assert echelon_modulo([[7]], 7) == ([], [])


def test_nothing_has_rank_nothing() -> None:
    assert rank([]) == len(echelon_modulo([], PRIME)[1]) == 0


@given(ANY_MATRIX)
def test_an_echelon_row_starts_at_its_pivot(rows: list[list[int]]) -> None:
    done, pivots = echelon(rows, len(rows[0]))
    assert pivots == sorted(set(pivots))
    for row, pivot in zip(done, pivots, strict=True):
        assert row[pivot]
        assert not any(row[:pivot])


@given(ANY_MATRIX, st.data())
def test_a_solution_satisfies_every_equation_and_leaves_open_what_is_open(rows: list[list[int]], data: st.DataObject) -> None:
    columns = len(rows[0])
    hidden = [Fraction(data.draw(SMALL), data.draw(st.integers(1, 4))) for _ in range(columns)]
    sides = [sum((a * x for a, x in zip(row, hidden, strict=True)), Fraction(0)) for row in rows]
    found = solve(rows, sides)
    assert found is not None
    for column, value in enumerate(found):
        unit = [int(k == column) for k in range(columns)]
        # An unknown is fixed exactly when its own equation would say nothing new.
        fixed = rank([*rows, unit]) == rank(rows)
        assert (value is not None) == fixed
        if fixed:
            assert value == hidden[column]


@given(ANY_MATRIX, st.data())
def test_contradicting_equations_have_no_solution(rows: list[list[int]], data: st.DataObject) -> None:
    sides = [data.draw(SMALL) for _ in rows]
    augmented = [[*row, side] for row, side in zip(rows, sides, strict=True)]
    assert (solve(rows, sides) is None) == (rank(augmented) > rank(rows))


def test_a_later_equation_can_fix_what_an_earlier_one_leaves_open() -> None:
    # x + y + z = 6 and y + z = 5 leave y and z open but fix x.
    assert solve([[1, 1, 1], [0, 1, 1]], [6, 5]) == [Fraction(1), None, None]


def test_fractions_are_taken_as_they_are() -> None:
    assert solve([[Fraction(1, 3)]], [Fraction(2, 7)]) == [Fraction(6, 7)]
