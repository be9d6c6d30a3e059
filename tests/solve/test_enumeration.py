"""All combinations at once say exactly what each says alone."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations as subsets

from hypothesis import given, settings

from gearkit.solve.mobility import assess
from gearkit.solve.ratios import combinations
from gearkit.train.catalogue import entries, find
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import ElementKind, Verdict
from tests.support.random_layouts import layouts


def one_by_one(layout: Layout) -> list[tuple[tuple[str, ...], object]]:
    names = [element.name for element in layout.elements]
    return [(c, assess(layout, c)) for size in range(len(names) + 1) for c in subsets(names, size)]


@given(layouts(one_way=True, most_sets=5))
@settings(max_examples=80, deadline=None)
def test_every_combination_is_judged_as_it_is_alone(layout: Layout) -> None:
    assert list(combinations(layout)) == one_by_one(layout)


def test_the_catalogue_is_judged_as_range_by_range() -> None:
    for entry in entries():
        assert list(combinations(entry.layout)) == one_by_one(entry.layout)


def test_special_tooth_counts_keep_their_generic_verdict() -> None:
    # Two sets of the same proportion side by side: both carriers braked agree at these tooth counts only.
    layout = Layout(
        "two alike",
        (PlanetarySet("P1", sun_teeth=30, ring_teeth=70), PlanetarySet("P2", sun_teeth=36, ring_teeth=84)),
        (("input", "P1.sun", "P2.sun"), ("output", "P1.ring", "P2.ring")),
        (
            Element("A", ElementKind.BRAKE, ("P1.carrier", "housing")),
            Element("B", ElementKind.BRAKE, ("P2.carrier", "housing")),
        ),
        (),
        find("Q36").source,
    )
    found = dict(combinations(layout))
    both = found["A", "B"]
    assert (both.verdict, both.redundant, both.generic_verdict) == (Verdict.RANGE, True, Verdict.TIE_UP)
    assert list(combinations(layout)) == one_by_one(layout)


def test_input_and_output_on_one_shaft_and_no_elements_are_no_special_case() -> None:
    base = find("bench_set")
    same = replace(base, joins=(("P1.carrier", "output", "input"),), ranges=(), text="", elements=base.elements[2:])
    assert list(combinations(same)) == one_by_one(same)
    bare = replace(base, elements=(), ranges=(), text="")
    assert list(combinations(bare)) == one_by_one(bare) == [((), assess(bare, ()))]


def test_sizes_choose_what_is_looked_at_in_their_order() -> None:
    layout = find("Q36")
    full = dict(one_by_one(layout))
    chosen = list(combinations(layout, [3, 1]))
    assert [len(engaged) for engaged, _ in chosen] == [3] * 10 + [1] * 5
    assert all(full[engaged] == mobility for engaged, mobility in chosen)
    assert list(combinations(layout, [9])) == []
    assert list(combinations(layout, [])) == []
