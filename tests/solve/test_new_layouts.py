"""What is missing in a typed layout is found: charts for wanted ratios, ring-to-sun ratios from printed ones; odd layouts are told."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest

from gearkit.solve.layout_warnings import warnings
from gearkit.solve.mobility import assess
from gearkit.solve.one_way import in_range
from gearkit.solve.ratios import chart, driving_rows
from gearkit.solve.teeth.chart_search import propose
from gearkit.solve.teeth.from_chart import printed_ratios_that_differ, quotients_from_chart, rounded_span
from gearkit.solve.teeth.gear_choices import Limits, choices
from gearkit.solve.teeth.new_layout import Typed, new_layout
from gearkit.train import catalogue
from gearkit.train.catalogue import find
from gearkit.train.elements import Range
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import PinionKind, Verdict
from tests.support.amounts import amount

NARROW = Limits(sun=(26, 33), pinion=(17, 21), ring=(60, 75), planets=(3, 4))
WANTED = {"1": Fraction("2.6"), "2": Fraction("1.42"), "4": Fraction("0.72"), "R": Fraction("-2.5")}


def printed(layout: Layout, digits: int = 3, **other: str) -> Layout:
    """The layout as a source prints it: ratios with so many decimals, no teeth."""
    ranges = []
    for item in layout.ranges:
        value = in_range(layout, item.name).ratio
        text = other.get(f"range_{item.name}", f"{float(value):.{digits}f}" if value is not None else "")
        ranges.append(replace(item, published_ratio=text))
    sets = tuple(replace(p, sun_teeth=None, ring_teeth=None, planets=None, ring_to_sun=Fraction(2)) for p in layout.sets)
    return replace(layout, ranges=tuple(ranges), sets=sets, text="")


def test_the_proposed_chart_is_the_best_of_every_chart_and_every_tooth_count() -> None:
    """Tried one by one, with the solver's verdict on each combination, without formulas."""
    layout = find("Q24")
    found = propose(layout, WANTED, limits={"P1": NARROW, "P2": NARROW})
    names = [element.name for element in layout.elements if element.name != "F"]
    quotients = list(choices(PinionKind.SINGLE, NARROW))
    least = None
    for first, second in product(quotients, quotients):
        sets = tuple(
            replace(p, sun_teeth=None, ring_teeth=None, ring_to_sun=q, planets=None)
            for p, q in zip(layout.sets, (first, second), strict=True)
        )
        tried = replace(layout, sets=sets, text="")
        if least is None:
            pairs = [(a, b) for a in names for b in names if a < b]
            pairs = [pair for pair in pairs if assess(tried, pair).verdict is Verdict.RANGE]
        ratios = [assess(tried, pair).ratio for pair in pairs]
        error = max(min(abs(r / goal - 1) for r in ratios if r is not None) for goal in WANTED.values())
        least = error if least is None else min(least, error)
    assert found.search.proved
    assert found.search.designs[0].worst == least


def test_a_chart_of_the_kits_own_is_found_again_from_its_ratios_and_teeth() -> None:
    for name in ("Q24", "Q36", "Q48"):
        layout = find(name)
        rows = [row for row in chart(layout).rows if row.ratio]
        wanted = {row.name: row.ratio.exact for row in rows if row.ratio}
        found = propose(replace(layout, ranges=(), text=""), wanted, fixed=[p.name for p in layout.sets])
        assert found.search.designs[0].worst == 0
        for row in rows:
            assert row.ratio is not None
            assert in_range(found.layout, row.name).ratio == row.ratio.exact


def test_of_combinations_with_one_ratio_the_chart_takes_those_that_change_fewest_elements() -> None:
    found = propose(find("Q36"), {"4": Fraction("1.4"), "5": Fraction(1), "6": Fraction("0.72")}, fixed=["P1", "P2", "P3"])
    engaged = {item.name: set(item.engaged) for item in found.layout.ranges}
    assert len(engaged["4"] ^ engaged["5"]) == len(engaged["5"] ^ engaged["6"]) == 2
    assert found.alike["5"]


def test_wishes_that_nothing_drives_are_refused_with_the_way_they_turn() -> None:
    forward_only = new_layout(
        Typed(
            "two",
            ("P1 30/66", "P2 30/60"),
            ("input P1.sun", "P1.carrier P2.ring", "P2.carrier output"),
            ("A brake P1.ring", "B brake P2.sun"),
        )
    ).layout
    with pytest.raises(UsageError, match="no combination of the elements drives backward"):
        propose(forward_only, {"R": Fraction(-3)}, fixed=["P1", "P2"])


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_ring_to_sun_ratios_are_found_from_what_a_source_prints(name: str) -> None:
    layout = find(name)
    found = quotients_from_chart(printed(layout), [p.name for p in layout.sets])
    assert found.against == ()
    assert found.open == {}
    for pset in layout.sets:
        low, high = found.spans[pset.name]
        assert low <= pset.quotient <= high
    for item in found.layout.ranges:
        if item.published_ratio:
            low_end, high_end = rounded_span(item.published_ratio)
            value = in_range(found.layout, item.name).ratio
            assert value is not None
            assert low_end <= value <= high_end


@pytest.mark.parametrize("digits", [(3, 3, 3), (5, 2, 2), (7, 2, 2), (6, 4, 4)])
def test_quotients_give_every_printed_digit_where_one_ratio_is_printed_finer_than_the_others(
    digits: tuple[int, int, int],
) -> None:
    seeded = random.Random(str(digits))
    for _ in range(amount(40, 4)):
        first, second = (Fraction(seeded.randrange(1_500_000, 4_000_000), 1_000_000) for _ in "12")
        # Range 1 works with both sets, 2 and 3 with one each.
        exact = {"1": (1 + first) * (1 + second), "2": 1 + first, "3": 1 + second}
        told = {name: f"{float(value):.{count}f}" for (name, value), count in zip(exact.items(), digits, strict=True)}
        layout = find("pair_series")
        ranges = tuple(replace(one, published_ratio=told.get(one.name, "")) for one in layout.ranges)
        found = quotients_from_chart(replace(layout, ranges=ranges), ["P1", "P2"])
        assert (found.against, found.open) == ((), {})
        assert list(printed_ratios_that_differ(found.layout)) == []


def test_a_misprint_is_named_with_what_the_others_leave() -> None:
    layout = find("Q36")
    found = quotients_from_chart(printed(layout, range_2="2.653"), [p.name for p in layout.sets])
    assert found.against == (("2",),)
    low, high = found.without["2"]
    value = in_range(layout, "2").ratio
    assert value is not None
    assert low <= value <= high
    assert high - low < 0.002


def test_ratios_that_do_not_fix_a_set_say_which_ranges_would() -> None:
    layout = find("Q36")
    few = printed(layout, **{f"range_{name}": "" for name in ("1", "R")})
    found = quotients_from_chart(few, [p.name for p in layout.sets])
    assert set(found.open) == {"P1", "P2"}
    assert found.layout.set_named("P3").quotient == pytest.approx(float(layout.set_named("P3").quotient), rel=1e-3)


TWO = ("input P1.sun", "P1.carrier P2.ring", "P2.carrier output")
ELEMENTS = ("A brake P1.ring", "B brake P2.sun", "K clutch input P2.sun")


def test_typed_lines_become_the_layout_that_they_describe() -> None:
    made = new_layout(
        Typed("two sets", ("P1 30/66", "P2 30/60"), TWO, ELEMENTS, ("1: A B", "2: A K"), ("1 = 4.8", "2 = 1.846"))
    )
    assert made.layout == catalogue.parse(catalogue.dumps(made.layout))
    assert in_range(made.layout, "1").ratio == Fraction(24, 5)
    assert warnings(made.layout) == ()


def test_typed_ratios_without_teeth_give_quotients_and_without_elements_a_chart() -> None:
    quotients = new_layout(Typed("a", ("P1 ?", "P2 R/S 2"), TWO, ELEMENTS, ("1: A B",), ("1 = 4.800",)))
    assert float(quotients.layout.set_named("P1").quotient) == pytest.approx(2.2, abs=0.001)
    charted = new_layout(Typed("b", ("P1 30/66", "P2 30/60"), TWO, ELEMENTS, (), ("1 = 4.7", "2 = 1.9")))
    assert [(item.name, set(item.engaged)) for item in charted.layout.ranges][:2] == [("1", {"A", "B"}), ("2", {"A", "K"})]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (Typed("a", ("P1 ?", "P2 ?"), TWO, ELEMENTS, ("1: A B",), ("1 = 4.8",)), "leave R/S open"),
        (
            Typed("a", ("P1 ?", "P2 30/60"), TWO, ELEMENTS, ("1: A B", "2: A K"), ("1 = 4.8", "2 = 2.5")),
            "contradict each other",
        ),
        (Typed("a", ("P1 ?", "P2 30/60"), TWO, ELEMENTS), "no teeth and no ratios"),
        (Typed("a", ("P1 ?", "P2 30/60"), TWO, ELEMENTS, ("1: B K",), ("1 = 4.8",)), "has no ratio"),
        (Typed("a", ("P1 x", "P2 y"), TWO, ("A P1.ring",)), "P2 y"),
    ],
)
def test_what_cannot_be_found_is_said_with_what_would_help(typed: Typed, said: str) -> None:
    with pytest.raises(UsageError) as told:
        new_layout(typed)
    assert said in str(told.value)


def test_odd_layouts_are_told_and_sound_ones_are_not() -> None:
    for name in ("Q24", "Q36", "Q48", "bench_set", "pair_series", "pair_two_suns", "pair_common_sun"):
        assert warnings(find(name)) == ()
    made = new_layout(
        Typed(
            "odd",
            ("P1 30/67, 4 planets", "P2 30/60", "P3 30/60"),
            ("input P1.sun", "P1.carrier output P2.carrier"),
            ("A brake P1.ring", "B brake P2.sun", "C clutch input P2.sun"),
            ("1: A", "2: B", "N: A", "P: B"),
            ("1 = 9.9999",),
        )
    ).layout
    found = "\n".join(warnings(made))
    assert found.splitlines() == [
        "P1: ring 67 less sun 30 is odd, so no pinion of whole teeth fits without profile shift; with ring 68 or 66 one would.",
        "P1: 4 planets cannot sit at equal angles, since sun + ring = 97 is no multiple of 4.",
        "ring 2: joined to nothing, and no element acts on it, so set 2 never carries torque.",
        "P3: none of its members is joined to anything and no element acts on them, so the set does nothing.",
        "Range 2: with B applied input and output are free of each other.",
        "Range N: with A applied the input drives the output.",
        "Range P: with B applied input and output are free of each other.",
        "B: this brake is applied in ranges 2 and P alone, and without it nothing would be different there.",
        "C: this clutch is never applied in any range.",
        "Range 1: 9.9999 is printed, but the layout gives 3.2333.",
    ]


def test_a_one_way_clutch_that_a_range_lists_and_that_never_holds_is_told() -> None:
    made = new_layout(
        Typed(
            "idle", ("P1 30/66",), ("input P1.sun", "P1.carrier output"), ("A brake P1.ring", "F one-way P1.carrier housing forward"),
            ("1: A F",), (),
        )
    ).layout  # fmt: skip
    assert "F: this one-way clutch never holds in any range." in warnings(made)


def test_a_brake_that_is_there_for_engine_braking_is_not_called_idle() -> None:
    made = new_layout(
        Typed(
            "braking", ("P1 30/66",), ("input P1.sun", "P1.carrier output"), ("A brake P1.ring", "F one-way P1.ring housing forward", "K clutch input P1.ring"),
            ("1: F", "1L: A F", "2: K"), (),
        )
    ).layout  # fmt: skip
    assert warnings(made) == ()


def test_what_drives_is_listed_once_each_and_every_one_does() -> None:
    for name in ("Q24", "Q36", "Q48"):
        layout = find(name)
        rows = driving_rows(layout)
        pasted = replace(layout, ranges=tuple(Range(row.name, row.engaged) for row in rows), text="")
        assert [row.ratio.exact for row in rows if row.ratio] == [in_range(pasted, row.name).ratio for row in rows]
        forward = [row.ratio.exact for row in rows if row.ratio and row.ratio.exact > 0]
        assert forward == sorted(forward, reverse=True)
        assert rows[len(forward)].name == "R"
        own = {row.ratio.exact for row in chart(layout).rows if row.ratio}
        assert own <= {row.ratio.exact for row in rows if row.ratio}
