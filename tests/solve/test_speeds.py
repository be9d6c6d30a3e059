"""Speeds of members and pinions, and the slip across open elements."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings

from gearkit.solve.mobility import assess
from gearkit.solve.speeds import Speeds, speeds
from gearkit.train.catalogue import entries, find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, Verdict
from tests.support.random_layouts import layouts


def check_everything(layout: Layout, found: Speeds) -> None:
    """Sets, joins, applied elements, slip: all as the layout says, wherever the speeds are known."""
    for pset in layout.sets:
        a, b = pset.weights
        sun, carrier, ring = (found.members[f"{pset.name}.{m}"] for m in ("sun", "carrier", "ring"))
        if sun is not None and carrier is not None and ring is not None:
            assert a * sun + b * ring == (a + b) * carrier
        else:
            # Two known members fix the third, so two at least are open.
            assert [sun, carrier, ring].count(None) >= 2 or a + b == 0
    for join in layout.joins:
        assert len({found.of(shaft) for shaft in join}) == 1
    for element in layout.elements:
        first, second = (found.of(shaft) for shaft in element.between)
        if element.name in found.engaged:
            assert first == second
            assert found.slip[element.name] in (0, None)
        if first is not None and second is not None:
            assert found.slip[element.name] == first - second
    assert found.of(HOUSING) == 0


def test_every_range_of_the_catalogue_obeys_every_equation() -> None:
    ranges = 0
    for entry in entries():
        for item in entry.layout.ranges:
            found = speeds(entry.layout, item.engaged, 900)
            check_everything(entry.layout, found)
            ratio = assess(entry.layout, item.engaged).ratio
            if ratio is not None:
                assert None not in found.members.values()
                assert found.of(OUTPUT) == 900 / ratio
                ranges += 1
    assert ranges == sum(item.name != "N" for entry in entries() for item in entry.layout.ranges)


@given(layouts())
@settings(max_examples=60, deadline=None)
def test_any_layout_obeys_every_equation(layout: Layout) -> None:
    for item in layout.ranges:
        found = speeds(layout, item.engaged, Fraction(7, 3))
        check_everything(layout, found)
        assert found.of(INPUT) == Fraction(7, 3)


@pytest.mark.parametrize(
    ("range_name", "member", "speed"),
    [("1", "P1.sun", -0.608038), ("3", "P1.sun", 2.241607), ("4", "P1.carrier", 1.80888), ("6", "P3.ring", 2.236278), ("R", "P3.ring", -1.295)],
)  # fmt: skip
def test_the_three_set_unit_turns_as_its_speed_table_says(range_name: str, member: str, speed: float) -> None:
    layout = find("Q36")
    found = speeds(layout, layout.engaged_in(range_name)).members[member]
    assert found is not None
    digits = len(str(speed).partition(".")[2])
    assert round(float(found), digits) == speed


def test_twice_the_input_speed_is_twice_every_speed() -> None:
    layout = find("Q48")
    once, twice = speeds(layout, ["A", "E"]), speeds(layout, ["A", "E"], 2)
    for table in ("members", "planets", "slip"):
        for name, value in getattr(once, table).items():
            assert getattr(twice, table)[name] == 2 * value


def test_the_slip_of_an_open_clutch_is_the_difference_of_its_sides() -> None:
    layout = find("Q36")
    found = speeds(layout, layout.engaged_in("3"), 3000)
    carrier = found.members["P1.carrier"]
    assert carrier is not None
    assert found.slip["E"] == carrier - 3000
    assert round(float(carrier), 1) == 3849.5


def test_a_pinion_seen_from_the_housing_adds_the_carrier_to_its_spin() -> None:
    # Sun 32, ring 72 held, pinion 20: at 1300 the carrier turns at 400 and the pinion at 400 - 900*32/20.
    layout = find("bench_set").with_teeth({"P1": (32, 72)})
    found = speeds(layout, ["A", "D"], 1300)
    assert found.members["P1.carrier"] == 400
    assert found.planet_spins["P1.planet"] == -1440
    assert found.planets["P1.planet"] == -1040


def test_in_neutral_with_the_vehicle_standing_the_free_members_follow_from_both_ends() -> None:
    layout = find("Q36")
    open_end = speeds(layout, layout.engaged_in("N"), 700)
    assert open_end.mobility.verdict is Verdict.NEUTRAL
    assert open_end.of(OUTPUT) is None
    standing = speeds(layout, layout.engaged_in("N"), 700, 0)
    check_everything(layout, standing)
    carrier, ring = standing.members["P1.carrier"], standing.members["P3.ring"]
    assert carrier == Fraction(700 * 88, 114)
    assert ring == -Fraction(59, 93) * carrier


def test_nothing_applied_fixes_nothing_but_the_input() -> None:
    layout = find("Q24")
    found = speeds(layout, [])
    assert found.of(INPUT) == 1
    assert set(found.members.values()) == {None}


def test_a_tied_up_train_turns_at_no_speed_but_zero() -> None:
    layout = find("Q36")
    with pytest.raises(UsageError, match=r"with A, B, C applied the verdict is tie-up: the input cannot turn at 1"):
        speeds(layout, ["A", "B", "C"])
    still = speeds(layout, ["A", "B", "C"], 0)
    assert set(still.members.values()) == {Fraction(0)}


def test_a_locked_output_leaves_the_input_free_to_turn() -> None:
    layout = find("Q24")
    found = speeds(layout, ["B", "D"], 1)
    assert (found.mobility.verdict, found.of(OUTPUT)) == (Verdict.OUTPUT_LOCKED, Fraction(0))


def test_a_range_takes_no_output_speed_of_its_own() -> None:
    layout = find("Q24")
    with pytest.raises(UsageError, match="cannot both be; leave the output speed out"):
        speeds(layout, ["B", "E"], 1, 1)
    assert speeds(layout, ["B", "E"], 138, 95).of(OUTPUT) == 95


def test_an_unknown_member_is_answered_with_those_there_are() -> None:
    with pytest.raises(UsageError, match=r"no member 'P4\.sun'. Members: P1\.sun"):
        speeds(find("Q24"), ["B", "E"]).of("P4.sun")
