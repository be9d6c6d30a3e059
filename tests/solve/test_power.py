"""Where power goes: streams that balance at every place, loops, and the figures of the course's own layouts."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.loads.torques import Torques, torques
from gearkit.train.catalogue import find
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.errors import GearkitError
from gearkit.words.terms import HOUSING, ElementKind, LoadState
from tests.support import dense
from tests.support.random_layouts import layouts

# Layout, range, torque of each applied element and largest member power (both without losses, input = 1), efficiency at
# a basic efficiency of 0.98: the syllabus's own figures, with its digits.
SYLLABUS = [
    ("Q24", "1", {"E": "-1.000", "F": "1.720"}, "1.00", "0.9874"),
    ("Q24", "1L", {"E": "-1.000", "D": "1.720"}, "1.00", "0.9874"),
    ("Q24", "2", {"B": "0.453", "E": "-1.000"}, "1.87", "0.9892"),
    ("Q24", "3", {"C": "-0.632", "E": "-0.368"}, "1.00", "1.0000"),
    ("Q24", "4", {"B": "-0.263", "C": "-1.000"}, "1.00", "0.9947"),
    ("Q24", "R", {"A": "-1.000", "D": "-3.800"}, "1.00", "0.9800"),
    ("Q36", "1", {"B": "1.026", "C": "2.042"}, "1.00", "0.9792"),
    ("Q36", "2", {"A": "-0.228", "C": "1.576"}, "1.00", "0.9878"),
    ("Q36", "3", {"C": "1.008", "D": "-0.506"}, "0.82", "0.9836"),
    ("Q36", "4", {"C": "0.424", "E": "-1.026"}, "2.34", "0.9614"),
    ("Q36", "5", {"D": "0.368", "E": "-1.773"}, "1.77", "1.0000"),
    ("Q36", "6", {"B": "-0.269", "E": "-1.295"}, "1.00", "0.9604"),
    ("Q36", "R", {"A": "-1.000", "B": "-3.474"}, "1.00", "0.9800"),
    ("Q48", "1", {"A": "1.273", "E": "1.576"}, "1.78", "0.9724"),
    ("Q48", "2", {"D": "0.494", "E": "1.344"}, "2.41", "0.9738"),
    ("Q48", "3", {"B": "0.807", "E": "1.196"}, "3.12", "0.9811"),
    ("Q48", "4", {"C": "-0.560", "E": "0.694"}, "1.78", "0.9866"),
    ("Q48", "5", {"E": "0.299", "F": "-1.000"}, "1.00", "0.9954"),
    ("Q48", "6", {"C": "0.424", "F": "-1.758"}, "1.76", "1.0000"),
    ("Q48", "7", {"D": "-0.141", "F": "-1.286"}, "1.51", "0.9946"),
    ("Q48", "8", {"A": "-0.298", "F": "-1.234"}, "1.23", "0.9924"),
    ("Q48", "R", {"A": "-4.000", "B": "3.345"}, "1.00", "0.9800"),
]


def agrees(exact: Fraction, printed: str) -> bool:
    return abs(exact - Fraction(printed)) <= Fraction(1, 2 * 10 ** len(printed.partition(".")[2]))


@pytest.mark.parametrize(("name", "range_name", "elements", "largest", "efficiency"), SYLLABUS)
def test_the_figures_of_the_syllabus_come_out(
    name: str, range_name: str, elements: dict[str, str], largest: str, efficiency: str
) -> None:
    layout = find(name)
    engaged = layout.engaged_in(range_name)
    found = torques(layout, engaged, basic_efficiency=1)
    assert set(found.elements) == set(elements)
    for element, printed in elements.items():
        assert agrees(found.elements[element], printed)
    assert agrees(found.power.largest[1], largest)
    lossy = torques(layout, engaged, basic_efficiency=Fraction(98, 100))
    assert agrees(lossy.efficiency, efficiency)
    # The same from the independent solver, which knows nothing of the kit's.
    (other,) = dense.balances(layout, engaged, 1.0, {p.name: 0.98 for p in layout.sets})
    assert -other.output * dense.speeds(layout, engaged)["output"] == pytest.approx(float(lossy.efficiency), rel=1e-9)
    assert max(
        abs(value * dense.speeds(layout, engaged)[member])
        for member, value in dense.balances(layout, engaged, 1.0, {p.name: 1.0 for p in layout.sets})[0].members.items()
    ) == pytest.approx(float(found.power.largest[1]), rel=1e-9)


def test_power_goes_round_in_fourth_of_the_three_set_layout() -> None:
    layout = find("Q36")
    found = torques(layout, ["C", "E"], basic_efficiency=1)
    sun = found.power.members["P1.sun"]
    assert found.recirculation == sun
    assert agrees(sun, "1.343")
    assert set(found.power.loop) == {"P1.sun", "P1.carrier", "E", "P2.carrier", "P2.sun"}
    # Ring 1 brings the input, sun 1 the returning power, carrier 1 delivers both; E takes the carrier's share on.
    assert found.power.members["P1.ring"] == 1
    assert found.power.members["P1.carrier"] == -1 - sun
    assert agrees(found.power.clutches["E"], "1.856")
    assert found.power.members["P2.carrier"] == found.power.clutches["E"]
    assert -found.power.members["P2.ring"] == found.power.clutches["E"] - sun


def test_a_range_without_a_loop_has_no_recirculation() -> None:
    found = torques(find("Q36"), ["A", "C"])
    assert (found.recirculation, found.power.loop) == (0, ())


def test_a_train_that_turns_as_one_block_is_one_body_in_which_nothing_goes_round() -> None:
    found = torques(find("Q36"), ["D", "E"])
    assert (found.recirculation, found.power.loop) == (0, ())
    assert set(found.power.rolling.values()) == {Fraction(0)}
    assert found.loss == 0


def test_two_suns_with_one_carrier_and_one_ring_are_one_set_of_gears_in_which_nothing_goes_round() -> None:
    """What P1 seems to hand to P2 over the carrier comes back over the ring: inside the one ring only the net can be measured."""
    found = torques(find("pair_two_suns"), ["A", "C"])
    assert found.power.members["P1.carrier"] == -found.power.members["P2.carrier"] != 0
    assert (found.recirculation, found.power.loop) == (0, ())
    # So no member carries more than comes in at the sun and leaves at the ring.
    assert found.power.largest == ("P2.sun", 1)
    assert found.power.shared == {("P1.carrier", "P2.carrier"): 0, ("P1.ring", "P2.ring"): -found.efficiency}


def split(layout: Layout, place: int, cut: int) -> Layout | None:
    """The same train with a shaft in two pieces and a clutch Z between them, which every range applies."""
    join = layout.joins[place]
    first, second = join[:cut], join[cut:]
    joins = tuple(
        part for group in (*layout.joins[:place], first, second, *layout.joins[place + 1 :]) if len(part := group) > 1
    )
    clutch = Element("Z", ElementKind.CLUTCH, (first[0], second[0]))
    ranges = tuple(replace(item, engaged=(*item.engaged, "Z")) for item in layout.ranges)
    try:
        return replace(layout, joins=joins, elements=(*layout.elements, clutch), ranges=ranges, placement=None, text="")
    except GearkitError:
        return None


def one_set_of_gears(layout: Layout) -> bool:
    """Whether two sets share their carrier and a gear for good."""
    shaft = layout.groups.name_of
    return any(
        shaft(f"{one.name}.carrier") == shaft(f"{other.name}.carrier")
        and any(shaft(f"{one.name}.{gear}") == shaft(f"{other.name}.{gear}") for gear in ("sun", "ring"))
        for one, other in combinations(layout.sets, 2)
    )


@given(layouts(), st.data())
@settings(max_examples=150, deadline=None)
def test_no_split_of_a_shaft_by_an_applied_clutch_changes_what_goes_round(layout: Layout, data: st.DataObject) -> None:
    joins = [place for place, join in enumerate(layout.joins) if len(join) > 1 and HOUSING not in join]
    if not joins or one_set_of_gears(layout):
        return
    place = data.draw(st.sampled_from(joins))
    other = split(layout, place, data.draw(st.integers(1, len(layout.joins[place]) - 1)))
    if other is None:
        return
    for before, after in zip(layout.ranges, other.ranges, strict=True):
        found, again = torques(layout, before.engaged), torques(other, after.engaged)
        if LoadState.SETTLED is found.state is again.state:
            assert found.recirculation == again.recirculation


@given(layouts(), st.fractions(Fraction(1, 2), 1, max_denominator=100), st.sampled_from([1, -1]))
@settings(max_examples=50, deadline=None)
def test_power_balances_on_every_shaft_and_in_every_set(layout: Layout, efficiency: Fraction, torque: int) -> None:
    for item in layout.ranges:
        found = torques(layout, item.engaged, torque, efficiency)
        if found.state is LoadState.SETTLED:
            check_streams(found)


def check_streams(found: Torques) -> None:
    left: dict[str, Fraction] = {}
    for flow in found.power.flows:
        assert flow.power > 0
        left[flow.start] = left.get(flow.start, Fraction(0)) - flow.power
        left[flow.end] = left.get(flow.end, Fraction(0)) + flow.power
    for pset in found.layout.sets:
        assert left.pop(f"set {pset.name}", Fraction(0)) == found.power.losses[pset.name]
    output_power = found.output_torque * found.speeds.shafts["output"]
    # Where input or output sit, what comes in from outside is what goes on; every other shaft passes on all it gets.
    outside = sorted(value for value in left.values() if value)
    ends = sorted(value for value in (-found.input_torque, -output_power) if value)
    same_shaft = found.layout.shaft_of("input") == found.layout.shaft_of("output")
    assert outside == ([] if same_shaft and not sum(ends) else [sum(ends)] if same_shaft else ends)


@given(layouts())
@settings(max_examples=50, deadline=None)
def test_the_loop_leads_back_and_no_more_goes_round_than_the_busiest_member_and_its_fellows_carry(layout: Layout) -> None:
    for item in layout.ranges:
        found = torques(layout, item.engaged)
        if found.state is not LoadState.SETTLED:
            continue
        loop = found.power.loop
        assert bool(loop) == (found.recirculation > 0)
        assert found.power.circulating <= sum(abs(power) for power in found.power.members.values())
        carried = [found.power.members.get(name, found.power.clutches.get(name)) for name in loop]
        assert all(carried)
        # A set takes power in by one member of the loop and gives it out by the next; elements only pass it on.
        signs = [power > 0 for name, power in zip(loop, carried, strict=True) if name in found.power.members]
        assert sum(signs) * 2 == len(signs)
