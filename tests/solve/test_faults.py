"""Faults: what every range becomes, read off the chart by hand and claimed of every layout."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings

from gearkit.solve.mobility import assess
from gearkit.solve.one_way import in_range, one_way_clutches
from gearkit.solve.service.faults import (
    CAUTION,
    ElementFault,
    FaultCase,
    FaultTable,
    element_faults,
    fault_table,
    with_faults,
)
from gearkit.train.catalogue import find
from gearkit.train.elements import Range
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import Drive, FaultEffect, FaultMode, Verdict
from tests.support.random_layouts import layouts

OFF, ON, TURNED = FaultMode.STUCK_OFF, FaultMode.STUCK_ON, FaultMode.REVERSED


@pytest.fixture(scope="module")
def tables() -> dict[str, FaultTable]:
    return {name: fault_table(find(name)) for name in ("Q24", "Q36", "Q48")}


def case(table: FaultTable, element: str, mode: FaultMode, range_name: str) -> FaultCase:
    (found,) = [c for c in table.of(ElementFault(element, mode)) if c.range_name == range_name]
    return found


@pytest.mark.parametrize("name", ["Q36", "Q48"])
def test_a_friction_element_stuck_off_loses_every_range_with_a_mark_in_its_column(
    tables: dict[str, FaultTable], name: str
) -> None:
    table = tables[name]
    for element in table.layout.elements:
        marked = tuple(r.name for r in table.layout.ranges if element.name in r.engaged and r.name != "N")
        assert table.lost(ElementFault(element.name, OFF)) == marked
        for item in table.of(ElementFault(element.name, OFF)):
            assert item.effect in (FaultEffect.SAME, FaultEffect.NEUTRAL)


def test_b_of_the_three_set_layout_stuck_on_ties_up_the_ranges_without_it(tables: dict[str, FaultTable]) -> None:
    fault = ElementFault("B", ON)
    assert tables["Q36"].limp_home(fault) == ("1", "6", "R")
    assert {c.effect for c in tables["Q36"].of(fault) if c.lost} == {FaultEffect.TIE_UP}
    assert tables["Q36"].lost(fault) == ("2", "3", "4", "5")


@pytest.mark.parametrize(("element", "range_name"), [("A", "R"), ("C", "1"), ("E", "6")])
def test_neutral_is_not_safe_with_an_element_stuck_on(tables: dict[str, FaultTable], element: str, range_name: str) -> None:
    found = case(tables["Q36"], element, ON, "N")
    assert (found.effect, found.actual_range) == (FaultEffect.OTHER_RANGE, range_name)
    assert tables["Q36"].unsafe(found.fault) == ("N",)
    assert "creeps" in found.symptom()
    assert "not safe" in found.symptom()


def test_a_redundant_third_clutch_changes_nothing(tables: dict[str, FaultTable]) -> None:
    # A, D and E all say direct, so A stuck on leaves fifth right.
    found = case(tables["Q36"], "A", ON, "5")
    assert found.effect is FaultEffect.SAME
    assert found.faulty.mobility.redundant


def test_an_input_locked_neutral_is_told_as_such(tables: dict[str, FaultTable]) -> None:
    assert case(tables["Q36"], "D", ON, "N").effect is FaultEffect.INPUT_LOCKED
    assert case(tables["Q24"], "B", ON, "N").effect is FaultEffect.OUTPUT_LOCKED


# --- one-way clutches ---------------------------------------------------------------------------------------------------


def test_a_one_way_clutch_that_does_not_hold_loses_first_only(tables: dict[str, FaultTable]) -> None:
    assert tables["Q24"].lost(ElementFault("F", OFF)) == ("1",)
    assert tables["Q24"].limp_home(ElementFault("F", OFF)) == ("1L", "2", "3", "4", "R")


def test_a_one_way_clutch_fitted_the_wrong_way_round_binds_in_2_3_and_4(tables: dict[str, FaultTable]) -> None:
    cases = tables["Q24"].of(ElementFault("F", TURNED))
    assert [c.range_name for c in cases if c.effect is FaultEffect.TIE_UP] == ["2", "3", "4"]
    assert case(tables["Q24"], "F", TURNED, "1").effect is FaultEffect.NEUTRAL


def test_a_seized_one_way_clutch_binds_where_it_must_overrun_and_brakes_the_engine_in_first(
    tables: dict[str, FaultTable],
) -> None:
    table = tables["Q24"]
    assert table.lost(ElementFault("F", ON)) == ("2", "3", "4")
    seized = [ElementFault("F", ON)]
    assert with_faults(table.layout, "1", seized, Drive.COAST).verdict is Verdict.RANGE
    assert with_faults(table.layout, "1", [], Drive.COAST).verdict is Verdict.NEUTRAL


def test_1l_without_its_brake_still_drives_on_the_one_way_clutch_but_does_not_brake_the_engine(
    tables: dict[str, FaultTable],
) -> None:
    found = case(tables["Q24"], "D", OFF, "1L")
    assert (found.effect, found.braking_lost) == (FaultEffect.SAME, True)
    assert found.symptom() == "as it should in drive, but does not brake the engine"


def test_second_without_b_falls_to_first_on_the_one_way_clutch(tables: dict[str, FaultTable]) -> None:
    found = case(tables["Q24"], "B", OFF, "2")
    assert (found.effect, found.actual_range) == (FaultEffect.OTHER_RANGE, "1")
    assert found.faulty.holding == ("F",)
    assert found.symptom() == "engine speed too high for the road speed: runs as in 1"


def test_of_two_ranges_with_one_ratio_the_one_with_the_elements_that_hold_is_named(tables: dict[str, FaultTable]) -> None:
    # Neutral applies D; with E stuck on that is range 1L to the letter, and F of range 1 has nothing to hold.
    found = case(tables["Q24"], "E", ON, "N")
    assert found.actual_range == "1L"
    assert found.symptom() == "creeps forward although in N: runs as in 1L; not safe"


def test_a_clutch_cannot_sit_the_wrong_way_round() -> None:
    with pytest.raises(UsageError, match=r"Element A is a clutch; only a one-way clutch can be fitted the wrong way"):
        with_faults(find("Q24"), "1", [ElementFault("A", TURNED)])
    turned = [f for f in element_faults(find("Q24")) if f.mode is TURNED]
    assert turned == [ElementFault("F", TURNED)]


# --- symptoms -----------------------------------------------------------------------------------------------------------


def test_every_effect_has_its_symptom(tables: dict[str, FaultTable]) -> None:
    table = tables["Q24"]
    assert case(table, "A", OFF, "R").symptom().startswith("no drive: the engine speeds up")
    assert case(table, "A", ON, "2").symptom().startswith("binds:")
    assert case(table, "A", ON, "1").symptom() == ("sluggish, engine speed too low for the road speed: runs as in 3")
    assert "can still roll" in case(table, "C", ON, "N").symptom()
    assert "held as by a brake" in case(table, "B", ON, "N").symptom()
    assert case(table, "B", ON, "2").symptom() == "as it should"


def test_the_wrong_direction_is_called_not_safe() -> None:
    # With nothing applied in "D" the sound range is neutral; with first's elements and A for C it would run backward.
    layout = replace(find("Q36"), ranges=(Range("X", ("B", "C")), Range("R", ("A", "B"))), text="")
    pair = [ElementFault("C", OFF), ElementFault("A", ON)]
    assert with_faults(layout, "X", pair).ratio == Fraction(-94, 38)
    found = FaultCase(
        pair[0], "X", with_faults(layout, "X"), with_faults(layout, "X", pair), FaultEffect.OTHER_RANGE, "R", False
    )
    assert found.symptom() == "drives the wrong way: runs as in R; not safe"


def test_the_caution_defers_to_the_maker() -> None:
    assert "follow the maker's service procedure" in CAUTION
    assert "licensed practice" in CAUTION


# --- every layout -------------------------------------------------------------------------------------------------------


@given(layouts(one_way=True, most_sets=3))
@settings(max_examples=15, deadline=None)
def test_a_fault_is_the_chart_with_one_mark_changed(layout: Layout) -> None:
    acting = one_way_clutches(layout)
    for item in fault_table(layout).cases:
        applied = {n for n in layout.engaged_in(item.range_name) if n not in acting}
        if item.fault.element not in acting:
            changed = applied - {item.fault.element} if item.fault.mode is OFF else applied | {item.fault.element}
            assert set(item.faulty.applied) == changed
        assert item.faulty.mobility == assess(layout, item.faulty.engaged)
        assert (item.effect is FaultEffect.SAME) == (
            (item.sound.verdict, item.sound.ratio) == (item.faulty.verdict, item.faulty.ratio)
        )
        if item.actual_range is not None and item.lost:
            assert in_range(layout, item.actual_range).ratio == item.faulty.ratio
        assert item.symptom()


@given(layouts(most_sets=3))
@settings(max_examples=15, deadline=None)
def test_a_fault_of_an_element_in_its_asked_state_changes_nothing(layout: Layout) -> None:
    for item in fault_table(layout).cases:
        engaged = item.fault.element in layout.engaged_in(item.range_name)
        if engaged == (item.fault.mode is ON):
            assert not item.lost


def test_a_park_that_goes_free_is_called_not_safe() -> None:
    layout = find("Q24")
    held = next(
        set_
        for size in (2, 3)
        for set_ in combinations([e.name for e in layout.elements if e.name != "F"], size)
        if assess(layout, set_).verdict in (Verdict.OUTPUT_LOCKED, Verdict.TIE_UP)
        and any(assess(layout, [n for n in set_ if n != off]).verdict is Verdict.NEUTRAL for off in set_)
    )
    park = replace(layout, ranges=(*layout.ranges, Range("P", held)), placement=None, text="")
    table = fault_table(park)
    rolling = [case for case in table.cases if case.range_name == "P" and case.faulty.verdict is Verdict.NEUTRAL]
    assert rolling
    for case in rolling:
        assert case.symptom() == "does not hold: the vehicle may roll; not safe"
        assert "P" in table.unsafe(case.fault)
