"""Verdicts by exact rank: five states, what is redundant, and what holds at special tooth counts only."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest

from gearkit.solve.mobility import assess, checked
from gearkit.train.catalogue import entries, find
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, ElementKind, SourceKind, Verdict
from tests.support.random_layouts import random_layouts

OWN = Source(SourceKind.OWN, "made for a test")
RANGE, NEUTRAL, TIE_UP = Verdict.RANGE, Verdict.NEUTRAL, Verdict.TIE_UP

# The pairs that do not give a range, and the threes that do: every other pair is a range, every other three a tie-up.
NO_RANGE = {
    "Q24": {"AB": Verdict.INPUT_LOCKED, "BD": Verdict.OUTPUT_LOCKED, "CD": Verdict.INPUT_LOCKED},
    "Q36": {"BD": Verdict.INPUT_LOCKED},
    "Q48": {"AC": Verdict.INPUT_LOCKED},
}
REDUNDANT_THREES = {"Q24": {"ACE"}, "Q36": {"ADE"}, "Q48": {"ABD", "BCF"}}


def solid_elements(layout: Layout) -> list[str]:
    return [element.name for element in layout.elements if element.kind is not ElementKind.ONE_WAY_CLUTCH]


def one_set(*elements: Element, joins: tuple[tuple[str, ...], ...] = ()) -> Layout:
    return Layout("one set", (PlanetarySet("P1", sun_teeth=30, ring_teeth=66),), joins, elements, (), OWN)


def brake(name: str, member: str) -> Element:
    return Element(name, ElementKind.BRAKE, (member, HOUSING))


def clutch(name: str, first: str, second: str) -> Element:
    return Element(name, ElementKind.CLUTCH, (first, second))


@pytest.mark.parametrize("name", NO_RANGE)
def test_every_pair_of_elements_has_its_verdict(name: str) -> None:
    layout = find(name)
    for pair in combinations(solid_elements(layout), 2):
        expected = NO_RANGE[name].get("".join(pair), RANGE)
        found = assess(layout, pair)
        assert (pair, found.verdict) == (pair, expected)
        assert found.freedom == 1
        assert not found.redundant


@pytest.mark.parametrize("name", REDUNDANT_THREES)
def test_three_elements_tie_up_unless_they_say_the_same(name: str) -> None:
    layout = find(name)
    for three in combinations(solid_elements(layout), 3):
        found = assess(layout, three)
        same = "".join(three) in REDUNDANT_THREES[name]
        assert (three, found.verdict) == (three, RANGE if same else TIE_UP)
        assert found.redundant is same
        assert found.freedom == (1 if same else 0)


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_nothing_applied_leaves_input_and_output_independent(name: str) -> None:
    found = assess(find(name), [])
    assert found.verdict is NEUTRAL
    assert found.ratio is None
    assert found.freedom == 3


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_the_neutral_of_the_chart_leaves_two_freedoms(name: str) -> None:
    layout = find(name)
    found = assess(layout, layout.engaged_in("N"))
    assert (found.verdict, found.freedom, found.idle_freedom) == (NEUTRAL, 2, 0)


def test_all_three_members_of_a_driven_set_held_is_a_tie_up() -> None:
    layout = one_set(
        brake("A", "P1.sun"),
        brake("B", "P1.carrier"),
        brake("D", "P1.ring"),
        joins=((INPUT, "P1.sun"), (OUTPUT, "P1.carrier")),
    )
    assert assess(layout, "ABD").verdict is TIE_UP
    assert assess(layout, "AD").verdict is TIE_UP
    assert assess(layout, "A").verdict is Verdict.INPUT_LOCKED
    assert assess(layout, "B").verdict is Verdict.OUTPUT_LOCKED
    assert assess(layout, "D").verdict is RANGE
    assert assess(layout, "").verdict is NEUTRAL


def test_a_tie_up_is_never_called_redundant_though_its_elements_say_too_much() -> None:
    layout = one_set(brake("A", "P1.sun"), brake("B", "P1.ring"), brake("D", "P1.carrier"), joins=((INPUT, "P1.sun"), (OUTPUT, "P1.carrier")))  # fmt: skip
    assert not assess(layout, "ABD").redundant


def test_one_freedom_left_is_not_yet_a_range() -> None:
    # Both brakes of the first set stop the input; the second set still turns the output freely.
    sets = tuple(PlanetarySet(f"P{n}", sun_teeth=30, ring_teeth=66) for n in (1, 2))
    layout = Layout("two sets", sets, ((INPUT, "P1.sun"), ("P1.carrier", "P2.sun"), (OUTPUT, "P2.carrier")), (brake("A", "P1.ring"), brake("B", "P1.carrier")), (), OWN)  # fmt: skip
    found = assess(layout, "AB")
    assert found.verdict is Verdict.INPUT_LOCKED
    assert found.freedom == 1


def test_a_shaft_that_turns_for_itself_is_an_idle_freedom() -> None:
    layout = one_set(clutch("K", INPUT, OUTPUT))
    found = assess(layout, "K")
    assert (found.verdict, found.ratio) == (RANGE, Fraction(1))
    # One set between three loose members leaves two motions beside that of the through shaft.
    assert (found.freedom, found.idle_freedom) == (3, 2)


def test_input_and_output_on_one_shaft_are_direct_whatever_turns_beside() -> None:
    layout = one_set(brake("A", "P1.sun"), brake("B", "P1.ring"), joins=((INPUT, OUTPUT, "P1.carrier"),))
    assert assess(layout, "A").ratio == 1
    assert assess(layout, "AB").verdict is TIE_UP


def parallel_sets(ring: int) -> Layout:
    sets = (PlanetarySet("P1", sun_teeth=30, ring_teeth=70), PlanetarySet("P2", sun_teeth=36, ring_teeth=ring))
    joins = ((INPUT, "P1.sun", "P2.sun"), (OUTPUT, "P1.ring", "P2.ring"))
    return Layout("parallel", sets, joins, (brake("A", "P1.carrier"), brake("B", "P2.carrier")), (), OWN)


def test_two_parallel_sets_of_one_quotient_are_a_range_by_their_tooth_counts_only() -> None:
    special, general = assess(parallel_sets(84), "AB"), assess(parallel_sets(85), "AB")
    assert Fraction(70, 30) == Fraction(84, 36)
    assert (special.verdict, special.ratio, special.redundant) == (RANGE, Fraction(-7, 3), True)
    assert special.generic_verdict is TIE_UP
    assert (general.verdict, general.generic_verdict) == (TIE_UP, TIE_UP)


def test_tooth_counts_decide_nothing_in_any_range_of_the_catalogue() -> None:
    for entry in entries():
        for item in entry.layout.ranges:
            found = assess(entry.layout, item.engaged)
            assert found.verdict == found.generic_verdict


def fraction_rank(rows: list[list[Fraction]]) -> int:
    """Plain elimination over the rationals, written apart from the kit's."""
    rows = [row[:] for row in rows]
    found = 0
    for column in range(len(rows[0])):
        pivot = next((k for k in range(found, len(rows)) if rows[k][column]), None)
        if pivot is None:
            continue
        rows[found], rows[pivot] = rows[pivot], rows[found]
        for k in range(found + 1, len(rows)):
            factor = rows[k][column] / rows[found][column]
            rows[k] = [a - factor * b for a, b in zip(rows[k], rows[found], strict=True)]
        found += 1
    return found


def verdict_by_definition(layout: Layout, engaged: tuple[str, ...]) -> Verdict:
    """Every member an unknown, every join and element a row; then the ranks with unit rows for input and output."""
    names = [*layout.members, INPUT, OUTPUT, HOUSING]

    def row(terms: dict[str, Fraction | int]) -> list[Fraction]:
        return [Fraction(terms.get(name, 0)) for name in names]

    rows = [row({HOUSING: 1})]
    for pset in layout.sets:
        i0 = pset.basic_ratio
        sun, carrier, ring = (f"{pset.name}.{member}" for member in MEMBERS)
        rows.append(row({sun: 1, ring: -i0, carrier: i0 - 1}))
    for join in layout.joins:
        rows += [row({join[0]: 1, other: -1}) for other in join[1:]]
    for name in engaged:
        first, second = layout.element_named(name).between
        rows.append(row({first: 1, second: -1}))
    base = fraction_rank(rows)
    turn_in = fraction_rank([*rows, row({INPUT: 1})]) > base
    turn_out = fraction_rank([*rows, row({OUTPUT: 1})]) > base
    if not turn_in:
        return Verdict.INPUT_LOCKED if turn_out else TIE_UP
    if not turn_out:
        return Verdict.OUTPUT_LOCKED
    return NEUTRAL if fraction_rank([*rows, row({INPUT: 1}), row({OUTPUT: 1})]) == base + 2 else RANGE


def test_the_verdict_is_the_one_that_ranks_over_all_members_define() -> None:
    seen = set()
    for layout in random_layouts(14, seed="definition"):
        names = [element.name for element in layout.elements]
        for size in range(min(4, len(names)) + 1):
            for engaged in list(combinations(names, size))[:5]:
                found = assess(layout, engaged)
                assert found.verdict is verdict_by_definition(layout, engaged)
                seen.add(found.verdict)
    assert seen == set(Verdict), "the drawn layouts show every state"


def test_order_and_repetition_of_elements_do_not_matter() -> None:
    layout = find("Q36")
    assert checked(layout, ["C", "A", "C"]) == ("A", "C")
    assert assess(layout, ["C", "A", "A"]) == assess(layout, ("A", "C"))


def test_an_unknown_element_is_answered_with_those_there_are() -> None:
    with pytest.raises(UsageError, match=r"no element 'Z'\. It has: A, B, C, D, E"):
        assess(find("Q36"), ["A", "Z"])
