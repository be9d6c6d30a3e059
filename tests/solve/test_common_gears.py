"""A gear that two sets have in common gets one number of teeth, and wishes that cannot be met are refused in words."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.ratios import ratio
from gearkit.solve.teeth.gear_choices import Limits, choices
from gearkit.solve.teeth.tooth_counts import Targets, search
from gearkit.train.catalogue import find
from gearkit.words.errors import UsageError

PAIR = find("pair_two_suns")
FEW = Limits(sun=(24, 38), pinion=(17, 24), ring=(70, 86), planets=(3, 4))
WISHES = {"1": Fraction(31, 10), "2": Fraction(8, 5), "4": Fraction(7, 10), "R": Fraction(-11, 5)}


def best_by_trying_all(wanted: dict[str, Fraction], limits: Limits) -> Fraction:
    """The least largest error over all pairs of sets with the same ring and the same planets, one after the other."""
    first, second = ([one for alike in choices(pset.pinions, limits).values() for one in alike] for pset in PAIR.sets)
    formulas = {name: ratio(PAIR, PAIR.engaged_in(name)) for name in wanted}
    least = None
    for one, other in product(first, second):
        if (one.ring, one.planets) != (other.ring, other.planets):
            continue
        weights = {"P1": (1, one.quotient), "P2": (-1, other.quotient)}
        worst = Fraction(0)
        for name, formula in formulas.items():
            top, bottom = formula.at(weights)
            worst = max(worst, abs(Fraction(top) / Fraction(bottom) / wanted[name] - 1))
        least = worst if least is None else min(least, worst)
    assert least is not None
    return least


@given(st.tuples(st.integers(25, 40), st.integers(13, 19), st.integers(20, 26)))
@settings(max_examples=12, deadline=None)
def test_the_best_design_with_one_ring_is_the_one_that_trying_all_finds(tenths: tuple[int, int, int]) -> None:
    wanted = {"1": Fraction(tenths[0], 10), "2": Fraction(tenths[1], 10), "R": Fraction(-tenths[2], 10)}
    found = search(Targets(PAIR, wanted, dict.fromkeys(("P1", "P2"), FEW)), keep=5)
    assert found.proved
    for design in found.designs:
        one, other = design.teeth["P1"], design.teeth["P2"]
        assert (one.ring, one.planets) == (other.ring, other.planets)
        assert all((alike.ring, alike.planets) == (one.ring, one.planets) for some in design.alike.values() for alike in some)
    assert found.designs[0].worst == best_by_trying_all(wanted, FEW)


def test_a_set_that_stays_keeps_the_gear_that_it_has_in_common() -> None:
    found = search(Targets(PAIR, WISHES, {}, fixed=("P2",)))
    assert found.designs[0].teeth["P1"].ring == PAIR.set_named("P2").ring_teeth


def test_no_common_gear_within_the_limits_is_said_with_the_gear() -> None:
    limits = {"P1": replace(FEW, ring=(80, 86)), "P2": replace(FEW, ring=(60, 66))}
    with pytest.raises(UsageError, match="P1 and P2 have one ring, and no number of its teeth and of planets meets"):
        search(Targets(PAIR, WISHES, limits))


def test_a_wish_of_the_wrong_sign_is_refused_with_what_can_be_had() -> None:
    with pytest.raises(UsageError, match=r"Target R: 2\.2, but this range drives backward: .* Change the target's sign"):
        search(Targets(PAIR, {**WISHES, "R": Fraction(11, 5)}, {}))


def test_a_wish_for_another_ratio_than_direct_drive_has_is_refused() -> None:
    with pytest.raises(UsageError, match=r"Target 3: 1\.2, but the ratio there is 1 at any tooth counts \(direct drive\)"):
        search(Targets(PAIR, {**WISHES, "3": Fraction(6, 5)}, {}))
    assert search(Targets(PAIR, {**WISHES, "3": Fraction(1)}, {})).designs[0].errors["3"] == 0


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (Limits(ring=(30, 50)), r"P1: No single set .* Sun and pinion alone need a ring of at least 58 teeth"),
        (Limits(ring=(200, 220)), r"P1: No single set .* Sun and pinion give a ring of at most 132 teeth"),
        (Limits(tip_gap=Fraction(300)), r"a tip gap of at least 300 modules\. Allow more teeth"),
    ],
)
def test_limits_that_nothing_meets_are_named_in_words(limits: Limits, words: str) -> None:
    with pytest.raises(UsageError, match=words) as fault:
        search(Targets(PAIR, WISHES, {"P1": limits}))
    assert "Limits(" not in str(fault.value)
