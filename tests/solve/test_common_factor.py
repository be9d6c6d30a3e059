"""What numerator and denominator of a ratio share is taken out, all of it and nothing else."""

from __future__ import annotations

import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.exact.common_factor import Table, without_common_factor
from gearkit.solve.ratios import ratio
from gearkit.train.layout import Layout
from tests.support.random_layouts import layouts, random_layout

coefficients = st.integers(-3, 3).filter(bool)


def tables(places: int) -> st.SearchStrategy[Table]:
    return st.dictionaries(st.integers(0, 2**places - 1), coefficients, min_size=1)


def times(low: Table, high: Table, places: int) -> Table:
    """The product of two tables, the second over the sets after the first's."""
    return {a | b << places: x * y for a, x in low.items() for b, y in high.items()}


@given(tables(2), tables(2), tables(1))
@settings(max_examples=80, deadline=None)
def test_a_factor_put_in_comes_out_and_the_quotient_stays(top: Table, bottom: Table, factor: Table) -> None:
    bare = without_common_factor(top, bottom, 2)
    found = without_common_factor(times(top, factor, 2), times(bottom, factor, 2), 3)
    assert 2 not in found[2]
    assert found[2] == bare[2]
    # Equal up to a common number.
    value = next(iter(found[1].values()))
    other = bare[1][next(iter(found[1]))]
    assert {k: v * other for k, v in found[0].items()} == {k: v * value for k, v in bare[0].items()}
    assert {k: v * other for k, v in found[1].items()} == {k: v * value for k, v in bare[1].items()}


def test_equal_tables_leave_a_number_and_no_set() -> None:
    assert without_common_factor({0: 2, 3: 4}, {0: 1, 3: 2}, 2) == ({0: 2}, {0: 1}, ())
    assert without_common_factor({0: -2, 3: -4}, {0: 1, 3: 2}, 2) == ({0: -2}, {0: 1}, ())


def test_a_sum_that_does_not_split_is_left_alone() -> None:
    top, bottom = {0: 1, 1: 1, 2: 1}, {0: 1, 3: 1}
    assert without_common_factor(top, bottom, 2) == (top, bottom, (0, 1))


@given(layouts(most_sets=4))
@settings(max_examples=30, deadline=None)
def test_a_ratio_depends_on_the_sets_it_names_and_on_no_other(layout: Layout) -> None:
    for item in layout.ranges:
        found = ratio(layout, item.engaged)
        if found is None:
            continue
        weights = {pset.name: pset.weights for pset in layout.sets}
        for name in found.sets:
            sun, ring = weights[name]
            top, bottom = found.at({**weights, name: (sun, 3 * ring + 1)})
            assert not bottom or top / found.exact != bottom
        text = found.formula
        assert (text == "1") == (found.sets == () and found.exact == 1)


@pytest.mark.parametrize("seed", range(5))
def test_nothing_is_left_for_a_computer_algebra_system_to_cancel(seed: int) -> None:
    layout = random_layout(f"cancel {seed}", 3)
    for item in layout.ranges:
        found = ratio(layout, item.engaged)
        if found is None:
            continue
        top, bottom = sympy.fraction(found.expression())
        for expression, terms in ((top, found.quotient.numerator), (bottom, found.quotient.denominator)):
            assert len(sympy.Add.make_args(sympy.expand(expression))) == len(terms)
