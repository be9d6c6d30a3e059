"""Ratios: the formula in tooth symbols, the exact value and arrays come from one table and agree."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import permutations

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.mobility import assess
from gearkit.solve.ratios import Ratio, chart, combinations, ratio, symbol_suffixes, tooth_symbols
from gearkit.train.catalogue import entries, find
from gearkit.train.elements import Element, Range
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, ElementKind, PinionKind, SourceKind, Verdict
from tests.support.exact_text import exact_value
from tests.support.random_layouts import layouts

OWN = Source(SourceKind.OWN, "made for a test")
S, R, P, Q = 28, 76, 20, 32
SETS = {
    PinionKind.SINGLE: PlanetarySet("P1", sun_teeth=S, ring_teeth=R),
    PinionKind.DOUBLE: PlanetarySet("P1", PinionKind.DOUBLE, S, R),
    PinionKind.STEPPED: PlanetarySet("P1", PinionKind.STEPPED, S, R, sun_pinion_teeth=P, ring_pinion_teeth=Q),
    PinionKind.BEVEL: PlanetarySet("P1", PinionKind.BEVEL),
}
# What R/S is for a single set: the quotient of the basic ratio, without its sign.
K = {
    PinionKind.SINGLE: Fraction(R, S),
    PinionKind.DOUBLE: -Fraction(R, S),
    PinionKind.STEPPED: Fraction(R * P, S * Q),
    PinionKind.BEVEL: Fraction(1),
}
ONE_MEMBER_HELD = {  # (driving, driven): the held one is the third
    ("sun", "carrier"): lambda k: 1 + k,
    ("carrier", "sun"): lambda k: 1 / (1 + k),
    ("ring", "carrier"): lambda k: 1 + 1 / k,
    ("carrier", "ring"): lambda k: k / (1 + k),
    ("sun", "ring"): lambda k: -k,
    ("ring", "sun"): lambda k: -1 / k,
}
WRITTEN = {
    ("sun", "carrier"): "1 + R1/S1",
    ("carrier", "sun"): "S1/(S1 + R1)",
    ("ring", "carrier"): "1 + S1/R1",
    ("carrier", "ring"): "R1/(S1 + R1)",
    ("sun", "ring"): "-R1/S1",
    ("ring", "sun"): "-S1/R1",
}


def held_one(pset: PlanetarySet, driving: str, driven: str) -> Layout:
    (held,) = set(MEMBERS) - {driving, driven}
    joins = ((INPUT, f"P1.{driving}"), (OUTPUT, f"P1.{driven}"))
    return Layout("one", (pset,), joins, (Element("A", ElementKind.BRAKE, (f"P1.{held}", HOUSING)),), (), OWN)


def ratio_of_pair(pset: PlanetarySet, driving: str, driven: str) -> Ratio:
    found = ratio(held_one(pset, driving, driven), "A")
    assert found is not None
    return found


def teeth_of(layout: Layout) -> dict[str, Fraction]:
    """Every tooth symbol with its value."""
    values: dict[str, Fraction] = {}
    for pset in layout.sets:
        suffix = symbol_suffixes(layout)[pset.name]
        sun, ring = pset.teeth
        values |= {f"S{suffix}": Fraction(sun), f"R{suffix}": Fraction(ring)}
        values |= {
            f"P{suffix}": Fraction(pset.sun_pinion_teeth or 1),
            f"Q{suffix}": Fraction(pset.ring_pinion_teeth or 1),
        }
    return values


def every_range() -> list[tuple[Layout, Range]]:
    return [(entry.layout, item) for entry in entries() for item in entry.layout.ranges]


@pytest.mark.parametrize("kind", SETS)
@pytest.mark.parametrize(("driving", "driven"), list(permutations(MEMBERS, 2)))
def test_one_member_held_gives_the_textbook_ratio(kind: PinionKind, driving: str, driven: str) -> None:
    assert ratio_of_pair(SETS[kind], driving, driven).exact == ONE_MEMBER_HELD[driving, driven](K[kind])


@pytest.mark.parametrize(("driving", "driven"), list(WRITTEN))
def test_one_member_held_is_written_as_a_teacher_writes_it(driving: str, driven: str) -> None:
    assert ratio_of_pair(SETS[PinionKind.SINGLE], driving, driven).formula == WRITTEN[driving, driven]


def test_double_stepped_and_bevel_sets_have_formulas_of_their_own() -> None:
    assert ratio_of_pair(SETS[PinionKind.DOUBLE], "sun", "carrier").formula == "1 - R1/S1"
    assert ratio_of_pair(SETS[PinionKind.STEPPED], "sun", "carrier").formula == "1 + R1*P1/(S1*Q1)"
    assert ratio_of_pair(SETS[PinionKind.BEVEL], "sun", "carrier").formula == "2"
    assert ratio_of_pair(SETS[PinionKind.BEVEL], "sun", "ring").formula == "-1"


def test_two_joined_members_make_a_set_turn_as_a_block() -> None:
    sets = (SETS[PinionKind.SINGLE], PlanetarySet("P2", sun_teeth=30, ring_teeth=66))
    joins = ((INPUT, "P1.sun", "P1.ring"), ("P1.carrier", "P2.sun"), (OUTPUT, "P2.carrier"))
    layout = Layout("block", sets, joins, (Element("A", ElementKind.BRAKE, ("P2.ring", HOUSING)),), (), OWN)
    found = ratio(layout, "A")
    assert found is not None
    assert (found.exact, found.formula, found.sets) == (1 + Fraction(66, 30), "1 + R2/S2", ("P2",))


def test_an_applied_clutch_locks_a_set_like_a_join() -> None:
    found = ratio(find("Q36"), ["A", "C"])
    assert found is not None
    assert (found.formula, found.sets) == ("1 + R3/S3", ("P3",))


def test_a_locked_train_is_direct_without_any_tooth_count() -> None:
    found = ratio(find("Q36"), ["D", "E"])
    assert found is not None
    assert (found.exact, found.formula, found.sets, dict(found.numerator)) == (Fraction(1), "1", (), {0: 1})


@pytest.mark.parametrize(
    ("range_name", "exact"),
    [("1", "200665/49324"), ("2", "152/59"), ("3", "200665/99946"), ("4", "70249/49324"), ("5", "1"), ("6", "611/836"), ("R", "-47/19")],
)  # fmt: skip
def test_the_three_set_unit_has_the_ratios_of_its_chart(range_name: str, exact: str) -> None:
    layout = find("Q36")
    found = ratio(layout, layout.engaged_in(range_name))
    assert found is not None
    assert found.exact == Fraction(exact)


def test_the_formula_read_as_python_gives_the_exact_ratio_of_every_range() -> None:
    ranges = 0
    for layout, item in every_range():
        found = ratio(layout, item.engaged)
        if found is not None:
            assert exact_value(found.formula, teeth_of(layout)) == found.exact
            ranges += 1
    assert ranges == sum(item.name != "N" for entry in entries() for item in entry.layout.ranges)


@given(layouts())
@settings(max_examples=60, deadline=None)
def test_formula_quotient_and_table_agree_on_any_layout(layout: Layout) -> None:
    for item in layout.ranges:
        mobility, found = assess(layout, item.engaged), ratio(layout, item.engaged)
        assert (found is None) == (mobility.verdict is not Verdict.RANGE)
        if found is None:
            continue
        values = teeth_of(layout)
        top, bottom = found.at({pset.name: pset.weights for pset in layout.sets})
        assert found.exact == mobility.ratio == Fraction(top, bottom) == found.quotient.at(values)
        assert exact_value(found.formula, values) == found.exact


def test_the_sympy_expression_is_the_same_function() -> None:
    for layout, item in every_range():
        found = ratio(layout, item.engaged)
        if found is None:
            continue
        values = teeth_of(layout)
        expression = found.expression()
        assert {str(symbol) for symbol in expression.free_symbols} <= set(values)
        # Whole tooth counts go in, so that sympy stays exact.
        exact = expression.subs({symbol: int(values[str(symbol)]) for symbol in expression.free_symbols})
        assert Fraction(int(exact.p), int(exact.q)) == found.exact


@given(st.lists(st.tuples(st.integers(15, 60), st.integers(61, 110)), min_size=3, max_size=3))
@settings(max_examples=40, deadline=None)
def test_other_tooth_counts_need_no_new_table(teeth: list[tuple[int, int]]) -> None:
    layout = find("Q36")
    other = layout.with_teeth({f"P{n}": pair for n, pair in enumerate(teeth, start=1)})
    for item in layout.ranges:
        found, anew = ratio(layout, item.engaged), ratio(other, item.engaged)
        if found is None:
            continue
        top, bottom = found.at({pset.name: pset.weights for pset in other.sets})
        assert (anew is None) == (bottom == 0 or top == 0)
        assert anew is None or anew.exact == Fraction(top, bottom)


def test_whole_arrays_of_tooth_counts_stay_exact() -> None:
    layout = find("Q48")
    draw = numpy.random.default_rng(7)
    suns = {p.name: draw.integers(20, 60, 200) for p in layout.sets}
    rings = {p.name: suns[p.name] + 2 * draw.integers(14, 36, 200) for p in layout.sets}
    for item in layout.ranges:
        found = ratio(layout, item.engaged)
        if found is None:
            continue
        top, bottom = found.at({name: (suns[name], rings[name]) for name in suns})
        tops, bottoms = numpy.broadcast_to(top, 200), numpy.broadcast_to(bottom, 200)
        for k in range(0, 200, 9):
            other = layout.with_teeth({name: (int(suns[name][k]), int(rings[name][k])) for name in suns})
            assert assess(other, item.engaged).ratio == Fraction(int(tops[k]), int(bottoms[k]))


def test_a_denominator_of_zero_says_that_there_is_no_ratio() -> None:
    # The output stands still when both paths cancel: 30/70 and 36/84 have the same quotient.
    sets = (PlanetarySet("P1", sun_teeth=30, ring_teeth=70), PlanetarySet("P2", sun_teeth=36, ring_teeth=85))
    joins = ((INPUT, "P1.sun", "P2.sun"), ("P1.carrier", "P2.carrier"), (OUTPUT, "P2.ring"))
    layout = Layout("near", sets, joins, (Element("A", ElementKind.BRAKE, ("P1.ring", HOUSING)),), (), OWN)
    found = ratio(layout, "A")
    assert found is not None
    assert found.at({"P1": (30, 70), "P2": (36, 84)})[1] == 0
    assert assess(layout.with_teeth({"P2": (36, 84)}), "A").verdict is Verdict.OUTPUT_LOCKED


def test_a_range_of_special_tooth_counts_keeps_its_exact_ratio() -> None:
    sets = (PlanetarySet("P1", sun_teeth=30, ring_teeth=70), PlanetarySet("P2", sun_teeth=36, ring_teeth=84))
    joins = ((INPUT, "P1.sun", "P2.sun"), (OUTPUT, "P1.ring", "P2.ring"))
    elements = (Element("A", ElementKind.BRAKE, ("P1.carrier", HOUSING)), Element("B", ElementKind.BRAKE, ("P2.carrier", HOUSING)))  # fmt: skip
    found = ratio(Layout("parallel", sets, joins, elements, (), OWN), "AB")
    assert found is not None
    assert found.exact == Fraction(-7, 3)
    assert found.formula == "-R1/S1"


def test_symbols_carry_the_number_in_the_name_of_their_set() -> None:
    layout = find("Q36")
    assert symbol_suffixes(layout) == {"P1": "1", "P2": "2", "P3": "3"}
    assert tooth_symbols(layout)["P2"] == ((1, ("S2",)), (1, ("R2",)))
    named = Layout("named", (PlanetarySet("front", sun_teeth=30, ring_teeth=66), PlanetarySet("rear", sun_teeth=30, ring_teeth=66)), (), (), (), OWN)  # fmt: skip
    assert symbol_suffixes(named) == {"front": "1", "rear": "2"}


def test_the_chart_has_steps_between_neighbours_and_a_spread() -> None:
    found = chart(find("Q24"))
    steps = {row.name: row.step for row in found.rows}
    assert steps == {
        "1": Fraction(68, 25) / Fraction(138, 95),
        "1L": Fraction(68, 25) / Fraction(138, 95),
        "2": Fraction(138, 95),
        "3": Fraction(19, 14),
        "4": None,
        "R": None,
        "N": None,
    }
    assert found.spread == Fraction(68, 25) / Fraction(14, 19)
    assert [row.name for row in found.forward] == ["1", "2", "3", "4"]


@pytest.mark.parametrize(("name", "spread"), [("Q24", "3.691"), ("Q36", "5.566"), ("Q48", "5.482")])
def test_the_spread_is_first_over_top(name: str, spread: str) -> None:
    found = chart(find(name)).spread
    assert found is not None
    assert round(found, 3) == Fraction(spread)


def test_a_layout_with_one_forward_range_has_no_spread() -> None:
    layout = held_one(SETS[PinionKind.SINGLE], "sun", "carrier")
    only = Layout(layout.name, layout.sets, layout.joins, layout.elements, (Range("1", ("A",)),), OWN)
    assert chart(only).spread is None


def test_every_combination_is_listed_once_smallest_first() -> None:
    layout = find("Q36")
    found = [engaged for engaged, _ in combinations(layout)]
    assert len(found) == len(set(found)) == 2**5
    assert [len(engaged) for engaged in found] == sorted(len(engaged) for engaged in found)
    assert len([engaged for engaged, _ in combinations(layout, [2])]) == 10


def test_renaming_sets_and_reordering_joins_changes_no_ratio() -> None:
    layout = find("Q36")
    names = {"P1": "P3", "P2": "P1", "P3": "P2"}

    def renamed(shaft: str) -> str:
        pset, dot, member = shaft.partition(".")
        return names.get(pset, pset) + dot + member

    other = replace(
        layout,
        sets=tuple(replace(pset, name=names[pset.name]) for pset in reversed(layout.sets)),
        joins=tuple(tuple(renamed(m) for m in reversed(join)) for join in reversed(layout.joins)),
        elements=tuple(replace(e, between=(renamed(e.between[1]), renamed(e.between[0]))) for e in layout.elements),
        text="",
    )
    for item in layout.ranges:
        assert assess(other, item.engaged).ratio == assess(layout, item.engaged).ratio
