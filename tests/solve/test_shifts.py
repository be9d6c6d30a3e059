"""Shifts: who goes off and comes on, engine speed, slip, and what gap and overlap do."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings

from gearkit.solve.mobility import assess
from gearkit.solve.ratios import chart, ratio
from gearkit.solve.service.shifts import equivalents, shift, shift_chart, ways_round
from gearkit.solve.speeds import speeds
from gearkit.train.catalogue import find
from gearkit.train.elements import Range
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import ShiftKind, Verdict
from tests.support.random_layouts import layouts

# Every neighbouring upshift of the three-set layout: off-going, on-coming; read off its chart.
SWAPS = [("1-2", "B", "A"), ("2-3", "A", "D"), ("3-4", "D", "E"), ("4-5", "C", "D"), ("5-6", "D", "B")]


def test_neighbouring_upshifts_are_read_off_the_chart() -> None:
    found = shift_chart(find("Q36")).up
    assert [(s.name, *s.off_going, *s.on_coming) for s in found] == SWAPS
    assert {s.kind for s in found} == {ShiftKind.SINGLE_SWAP}


def test_third_to_fourth_drops_the_engine_by_the_step_and_e_slips_before_it() -> None:
    S1, R1, S2, R2 = 26, 88, 38, 94
    found = shift(find("Q36"), "3", "4", 3000)
    assert found.step == ratio(find("Q36"), ["C", "D"]).exact / ratio(find("Q36"), ["C", "E"]).exact
    assert found.input_after == 3000 / found.step
    assert round(found.input_after) == 2128
    # Before it carrier 2 turns with the input; E's other side is carrier 1.
    carrier = speeds(find("Q36"), ["C", "D"], 3000).members["P1.carrier"]
    assert found.slip_before == {"E": carrier - 3000}
    assert abs(found.slip_before["E"] - Fraction("849.5")) < Fraction(1, 20)
    sun = speeds(find("Q36"), ["C", "D"], 3000).members["P2.sun"]
    output = 3000 / ratio(find("Q36"), ["C", "D"]).exact
    assert S1 * sun + R1 * 3000 == (S1 + R1) * carrier
    assert S2 * sun + R2 * output == (S2 + R2) * 3000


def test_brake_b_slips_at_the_speed_of_sun_1_before_first_to_second() -> None:
    n, S1, R1, S2, R2 = 2500, 30, 84, 50, 86
    found = shift(find("Q24"), "1", "2", n)
    assert found.slip_before == {"B": -Fraction(n * R1 * S2, S1 * (S2 + R2))}


def test_clutch_c_slips_at_the_difference_of_input_and_carrier_1_in_second() -> None:
    n, S1, R1, S2, R2 = 2500, 30, 84, 50, 86
    found = shift(find("Q24"), "2", "3", n)
    assert found.slip_before == {"C": n * (1 - Fraction(R1 * S2, S2 * (S1 + R1) + R2 * S1))}


@given(layouts(one_way=True))
@settings(max_examples=20, deadline=None)
def test_output_speed_is_the_same_before_and_after_and_the_way_back_undoes_it(layout: Layout) -> None:
    forward = [row.name for row in chart(layout).rows if row.ratio]
    for first in forward[:3]:
        for second in forward[:3]:
            there, back = shift(layout, first, second, 1000), shift(layout, second, first, 1000)
            assert (there.off_going, there.on_coming) == (back.on_coming, back.off_going)
            assert (there.letting_go, there.taking_hold) == (back.taking_hold, back.letting_go)
            assert there.kind == {ShiftKind.APPLY: ShiftKind.RELEASE, ShiftKind.RELEASE: ShiftKind.APPLY}.get(
                back.kind, back.kind
            )
            if there.step is not None:
                assert there.step * back.step == 1
                assert there.input_after * there.step == 1000
                # On the new range the off-going elements slip at the speeds of that range.
                for name, slip in there.slip_after.items():
                    unit = back.slip_before[name]
                    assert slip == (None if unit is None else unit * there.input_after / 1000)


# --- kinds ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pair", "kind"),
    [
        (("2", "6"), ShiftKind.DOUBLE_SWAP),
        (("3", "6"), ShiftKind.DOUBLE_SWAP),
        (("1", "6"), ShiftKind.SINGLE_SWAP),
        (("6", "4"), ShiftKind.SINGLE_SWAP),
        (("N", "1"), ShiftKind.APPLY),
        (("1", "N"), ShiftKind.RELEASE),
        (("4", "4"), ShiftKind.NO_CHANGE),
    ],
)
def test_elements_in_common_make_the_kind(pair: tuple[str, str], kind: ShiftKind) -> None:
    assert shift(find("Q36"), *pair).kind is kind


def test_double_swaps_are_the_pairs_of_ranges_with_no_element_in_common() -> None:
    layout = find("Q36")
    doubles = {s.name for s in shift_chart(layout).skips if s.kind is ShiftKind.DOUBLE_SWAP}
    rows = {name: set(layout.engaged_in(name)) for name in "123456"}
    assert doubles == {f"{a}-{b}" for a in rows for b in rows if not rows[a] & rows[b]}


def test_a_double_swap_can_be_led_round_by_ranges_that_share_an_element_with_each() -> None:
    assert ways_round(find("Q36"), "2", "6") == ("1", "4")


def test_a_one_way_clutch_that_takes_part_makes_a_freewheel_shift() -> None:
    layout = find("Q24")
    up, down = shift(layout, "1", "2"), shift(layout, "2", "1")
    assert up.kind is down.kind is ShiftKind.FREEWHEEL
    assert (up.off_going, up.on_coming, up.letting_go, up.taking_hold) == ((), ("B",), ("F",), ())
    assert (down.off_going, down.on_coming, down.letting_go, down.taking_hold) == (("B",), (), (), ("F",))
    assert up.by_itself
    assert shift(layout, "1L", "2").kind is ShiftKind.SINGLE_SWAP
    assert not shift(layout, "2", "3").by_itself


# --- gap and overlap ------------------------------------------------------------------------------------------------


def test_overlap_of_two_friction_elements_ties_up_and_a_gap_flares() -> None:
    for item in shift_chart(find("Q36")).up:
        assert item.overlap.verdict is Verdict.TIE_UP
        assert item.underlap.verdict is Verdict.NEUTRAL
    found = shift(find("Q36"), "3", "4")
    assert found.overlap_words() == (
        "Overlap, while both D and E hold: tie-up; the train binds, drags the output back and pulls the engine down."
    )
    assert found.underlap_words() == (
        "Underlap, while neither D nor E holds: input and output are independent; a driving engine flares."
    )


def test_onto_and_off_a_one_way_clutch_nothing_can_bind() -> None:
    layout = find("Q24")
    assert shift(layout, "1", "2").overlap_words() == (
        "Nothing has to be released: F lets go by itself, so no overlap can bind."
    )
    assert shift(layout, "2", "1").overlap_words() == (
        "Nothing has to be applied: F takes hold by itself, so no overlap can bind."
    )
    assert shift(layout, "2", "3").underlap_words() == (
        "Underlap, while neither B nor C holds: the engine is free until F takes hold at the ratio of range 1."
    )


def test_a_shift_of_more_elements_is_told_in_full() -> None:
    found = shift(find("Q36"), "2", "6")
    assert found.overlap_words().startswith("Overlap, while A, C, B and E all hold: tie-up")
    assert found.underlap_words().startswith("Underlap, while none of A, C, B, E holds:")
    assert shift(find("Q36"), "4", "4").underlap_words() == "No element is applied or released."


def test_what_is_left_in_a_gap_may_still_drive_or_still_be_neutral() -> None:
    base = find("Q36")
    layout = replace(base, ranges=(Range("N", ("B",)), Range("M", ("C",)), *base.ranges[:2]), text="")
    start = shift(layout, "N", "M")
    assert start.overlap_words().endswith("the train runs in the ratio of range 1; nothing binds.")
    assert start.underlap_words().endswith("input and output are independent; nothing drives yet.")
    odd = replace(base, ranges=(Range("N", ("B",)), Range("M", ("C",))), text="")
    assert "a ratio of 4.068, which no range has" in shift(odd, "N", "M").overlap_words()
    still = replace(base, ranges=(Range("N", ("B",)), Range("M", ())), text="")
    assert shift(still, "N", "M").overlap_words() == "Nothing has to be applied, so no overlap can bind."


def test_a_redundant_overlap_binds_nothing() -> None:
    # A, D and E all say direct, so all three together still do.
    layout = replace(find("Q36"), ranges=(Range("5", ("D", "E")), Range("5a", ("A", "D"))), text="")
    assert shift(layout, "5", "5a").overlap_words() == (
        "Overlap, while both E and A hold: the train runs in the ratio of range 5; nothing binds."
    )


# --- garage shifts and warnings ----------------------------------------------------------------------------------------


def test_from_neutral_at_standstill_one_element_comes_on_against_a_standing_output() -> None:
    n, S1, R1, S3, R3 = 700, 26, 88, 59, 93
    garage = {s.name: s for s in shift_chart(find("Q36"), n).garage}
    assert set(garage) == {"N-1", "N-R"}
    assert garage["N-1"].on_coming == ("C",)
    assert garage["N-1"].slip_before == {"C": -Fraction(n * R1 * S3, R3 * (S1 + R1))}
    assert garage["N-1"].input_after is None
    assert garage["N-1"].underlap_words().endswith("nothing drives yet.")
    assert {s.name for s in shift_chart(find("Q24")).garage} == {"N-1", "N-1L", "N-R"}


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_the_q_series_needs_no_double_swap_between_neighbours(name: str) -> None:
    assert shift_chart(find(name)).warnings == ()


def test_a_chart_that_needs_a_double_swap_is_warned_about() -> None:
    layout = find("Q36")
    few = replace(layout, ranges=tuple(r for r in layout.ranges if r.name in ("2", "6", "R")), text="")
    assert shift_chart(few).warnings == ("2-6 is a double swap: A and C off, B and E on; no range is a single swap from both.",)
    more = replace(layout, ranges=tuple(r for r in layout.ranges if r.name in ("1", "2", "6", "R")), text="")
    assert "single swaps lead by way of 1" in shift_chart(more).warnings[0]


def test_a_start_that_needs_two_elements_at_once_is_warned_about() -> None:
    layout = find("Q36")
    idle = replace(layout, ranges=(*(r for r in layout.ranges if r.name != "N"), Range("N", ())), text="")
    assert shift_chart(idle).warnings == (
        "N-1 at standstill: B and C must come on together.",
        "N-R at standstill: A and B must come on together.",
    )


def test_skips_hold_every_pair_that_is_not_neighbouring() -> None:
    found = shift_chart(find("Q36"))
    assert len(found.skips) == 6 * 5 - 2 * 5
    assert {s.name for s in found.up} == {"-".join(reversed(s.name.split("-"))) for s in found.down}


def test_an_unknown_range_is_named() -> None:
    with pytest.raises(UsageError, match="no range '7'"):
        shift(find("Q36"), "3", "7")


def test_a_range_that_cannot_turn_has_no_slip_and_no_step() -> None:
    layout = replace(find("Q36"), ranges=(Range("X", ("A", "B", "C")), Range("2", ("A", "C"))), text="")
    found = shift(layout, "2", "X")
    assert (found.step, found.input_after, found.slip_after) == (None, None, {})
    assert shift(layout, "X", "2").slip_before == {}


def test_a_double_swap_that_other_elements_make_single_is_said_and_true() -> None:
    """Every combination that is offered has the range's ratio and differs from the other range by one element at most."""
    offered = 0
    for name in ("Q24", "Q36", "Q48", "pair_two_suns", "pair_series"):
        layout = find(name)
        for shift_ in shift_chart(layout).up:
            for range_name, engaged in equivalents(layout, shift_.from_range, shift_.to_range):
                other = shift_.from_range if range_name == shift_.to_range else shift_.to_range
                assert assess(layout, engaged).ratio == ratio(layout, layout.engaged_in(range_name)).exact
                assert len(set(engaged) - set(layout.engaged_in(other))) <= 1
                offered += 1
    assert offered
