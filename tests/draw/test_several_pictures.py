"""Pictures of trains with machines, several outputs or a converter: everything is there, in lines and in words."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.cli.main import main
from gearkit.draw.cutaway.solid_placement import kept_table
from gearkit.draw.lever import lever_diagram
from gearkit.draw.registry import picture_of
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import Placement, place, placed, read, structure_of
from gearkit.draw.stick.routing import Router
from gearkit.draw.stick.stick_geometry import measure
from gearkit.draw.stick.stick_hung import HungKind, first_output, hung_on, leads_left, wired_parts
from gearkit.draw.stick.stick_nets import nets_of
from gearkit.solve.several.power import several_power
from gearkit.solve.several.torques_given import torques_given
from gearkit.train.catalogue import entries, find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from tests.draw.test_placing import ways_twice
from tests.support.amounts import amount
from tests.support.random_drivers import random_train

SEVERAL = [entry.layout for entry in entries(several=True) if not entry.layout.plain]


@pytest.mark.parametrize("layout", SEVERAL, ids=lambda layout: layout.file)
def test_the_stick_diagram_shows_every_machine_output_and_converter(layout: Layout) -> None:
    spot = place(layout, effort=0.2)
    assert not spot.faults.clashes
    drawn = stick_diagram.picture(layout, placement=spot)
    svg, words = drawn.svg(), drawn.description
    for machine in layout.machines:
        assert f'data-machine="{machine.name}"' in svg
        assert f"{machine.name} is an electric machine on" in words
    for name in layout.output_names:
        assert f">{name}</text>" in svg
        assert name in words
    if layout.converter:
        assert "data-converter" in svg
        assert ">engine</text>" in svg
        assert "A torque converter is between engine and input." in words


def test_a_plain_layout_is_wired_as_before() -> None:
    layout = find("Q36")
    assert hung_on(layout) == ()
    assert wired_parts(layout) == layout.elements
    # The hash of stored placements is that of the kit's first versions, so they still fit.
    assert layout.placement is not None
    assert structure_of(layout) == layout.placement["structure"]


def test_further_outputs_and_machines_belong_to_the_structure() -> None:
    layout = find("power_split_one_set")
    assert [part.kind for part in hung_on(layout)] == [HungKind.MACHINE, HungKind.MACHINE]
    assert structure_of(layout) != structure_of(replace(layout, machines=layout.machines[:1], text=""))


def test_a_machine_sits_on_its_shaft() -> None:
    spot = place(find("power_split_one_set"), effort=0.2)
    layout = find("power_split_one_set")
    number = len(layout.elements)
    (plates,) = [one for one in spot.wiring.plates if one[2] == number]
    assert (plates[3], plates[4]) == (layout.shaft_of("P1.sun"), 0)


def test_levers_show_machines_with_an_arrow_and_given_speeds_lie_on_a_line() -> None:
    layout = find("power_split_one_set")
    drawn = lever_diagram.picture(layout, [], {"input": 2000, "output": 1200})
    svg = drawn.svg()
    assert 'data-machine="M1"' in svg
    assert "M1 is an electric machine on sun 1." in drawn.description
    # 27/8 * 2000 - 19/8 * 1200 at the sun.
    speed = Fraction(27, 8) * 2000 - Fraction(19, 8) * 1200
    assert f">{int(speed)}</text>" in svg
    assert f"Sun 1: turns forward at {int(speed)}." in drawn.description
    assert "of input speed" not in drawn.description


def test_without_given_speeds_what_nothing_fixes_is_called_free() -> None:
    drawn = lever_diagram.picture(find("power_split_one_set"), [])
    assert "Sun 1: turns freely" in drawn.description
    assert "Carrier 1 and input: turns at input speed" in drawn.description


def test_contradictory_speeds_and_speeds_for_other_pictures_are_refused() -> None:
    layout = find("bevel_differential")
    with pytest.raises(UsageError, match="contradict each other"):
        picture_of(layout, "levers", "locked", given={"left": 10, "right": 20})
    with pytest.raises(UsageError, match="Speeds can be given to levers or power with a range"):
        picture_of(layout, "stick", "open", given={"left": 10})
    with pytest.raises(UsageError, match="Speeds can be given to levers or power with a range"):
        picture_of(layout, "levers", given={"left": 10})


def test_the_command_takes_speeds_and_stores_a_placement(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "levers.svg"
    words = ["draw", "bevel_differential", "--what", "levers", "--range", "open", "--speed", "input=200", "--speed", "left=190"]
    assert main([*words, "-o", str(target), "--words"]) == 0
    assert "D ring and right: turns forward at 210." in capsys.readouterr().out
    assert main(["place", "bevel_differential", "-o", str(tmp_path / "own.toml"), "--searches", "1"]) == 0
    assert "[placement]" in (tmp_path / "own.toml").read_text("utf-8")


def test_the_power_picture_shows_the_electrical_branch_from_generator_to_motor() -> None:
    layout = find("power_split_one_set")
    drawn = picture_of(layout, "power", "D", given={"input": 2000, "output": 1500})
    svg = drawn.svg()
    assert 'data-part="electrical"' in svg
    assert "M1 gives electrical power 0.419." in drawn.description
    assert "M2 takes electrical power 0.419." in drawn.description
    # Beyond the mechanical point it is the other way round.
    beyond = picture_of(layout, "power", "D", given={"input": 2000, "output": 3600}).description
    assert "M2 gives" in beyond
    assert "M1 takes" in beyond
    assert "Power goes round through" in beyond


def test_power_in_the_picture_adds_to_the_loss_of_the_gears() -> None:
    found = several_power(find("compound_split_two_sets"), ["K"], {"input": 2000, "output": 1800})
    assert found.ends["input"] == 1
    assert sum(found.ends.values()) == sum(found.members.values())
    assert sum(found.torques.electrical.values()) == 0
    # What a clutch takes from one side it gives to the other: each shaft's own balance is zero.
    layout = find("compound_split_two_sets")
    on_m1 = found.members["P1.sun"] + found.clutches["K"] * (-1 if layout.element_named("K").between[1] == "P1.sun" else 1)
    assert on_m1 == found.ends["M1"]


def test_small_losses_are_not_rounded_away() -> None:
    svg = picture_of(find("planetary_transfer"), "power", "open", given={"input": 2000, "front": 1900}).svg()
    assert "efficiency of the gears 0.9997" in svg


def test_a_differential_shows_both_outputs_and_what_is_missing_is_told() -> None:
    words = picture_of(find("bevel_differential"), "power", "open", given={"input": 200, "left": 190}).description
    assert "left: power −0.480" in words
    assert "right: power −0.520" in words
    for name, range_name, given, why in (
        ("power_split_one_set", "D", None, "--speed input=2000"),
        ("bevel_differential", "locked", None, "that of left or right would have to be given too"),
        ("Q36", "2", {"input": 2}, "leave the speeds out"),
    ):
        with pytest.raises(UsageError, match=why):
            picture_of(find(name), "power", range_name, given=given)


EACH_RANGE = [pytest.param(layout, item.name, id=f"{layout.file} {item.name}") for layout in SEVERAL for item in layout.ranges]


@pytest.mark.parametrize(("layout", "range_name"), EACH_RANGE)
def test_what_is_proposed_where_power_is_not_fixed_leads_on(layout: Layout, range_name: str) -> None:
    def refusal(given: dict[str, Fraction] | None) -> str | None:
        try:
            assert picture_of(layout, "power", range_name, given=given).svg()
        except UsageError as reason:
            return str(reason)
        return None

    told = refusal(None)
    if told is None:
        return
    given = {name: Fraction(amount) for name, amount in re.findall(r"--speed ([\w.-]+)=(-?\d+)", told)}
    torques = {name: Fraction(amount) for name, amount in re.findall(r"--torque ([\w.-]+)=(-?\d+)", told)}
    assert bool(given) != bool(torques), told
    if torques:
        assert torques_given(layout, layout.engaged_in(range_name), torques).answered
        return
    # Speeds that fix all may leave torques open, which is then told.
    reason = refusal(given)
    assert reason is None or ("--speed" not in reason and "--torque" in reason)


def test_power_goes_through_the_converter_or_through_its_lock_up() -> None:
    layout = find("converter_two_ranges")
    through, locked = (picture_of(layout, "power", name) for name in ("1", "2L"))
    assert "ratio 3.200, figures from the turbine on" in through.description
    assert "engine and input locked up" in locked.description
    assert "input: power 1.000 comes in from outside." in through.description
    assert "Set 1: ring torque 0.688, power 0.688; carrier torque −1.000, power −1.000; sun torque 0.312" in locked.description


def _with_outputs(layout: Layout, *names: str) -> Layout:
    """A layout whose outputs have other names."""
    new = dict(zip(layout.output_names, names, strict=True))
    joins = tuple((new.get(first, first), new.get(second, second)) for first, second in layout.joins)
    elements = tuple(
        replace(
            element, between=(new.get(element.between[0], element.between[0]), new.get(element.between[1], element.between[1]))
        )
        for element in layout.elements
    )
    return replace(layout, outputs=names, joins=joins, elements=elements, placement=None, text="")


def _sides(layout: Layout, spot: Placement) -> dict[str, str]:
    """Where every output of a drawing leaves, from its arrow head: its tip is the first corner."""
    svg = stick_diagram.picture(layout, placement=spot).svg()
    names = {first_output(layout): 'data-end="output"'} | {
        name: f'data-output="{name}"' for name in layout.output_names if name != first_output(layout)
    }
    sides = {}
    for name, mark in names.items():
        group = re.search(rf"<g [^>]*{mark}[^>]*>(.*?)</g>", svg, re.DOTALL)
        assert group is not None, name
        tip = re.search(r'd="M([\d.]+) [\d.]+L([\d.]+) [\d.]+L[\d.]+ [\d.]+Z"', group[1])
        assert tip is not None, name
        x, other = map(float, tip.groups())
        sides[name] = "left" if x < other - 10 else "right" if x > other + 10 else "up"
    return sides


@pytest.mark.parametrize(
    ("file", "wanted"),
    [
        ("bevel_differential", {"left": "left", "right": "right"}),
        ("electric_reduction", {"left": "left", "right": "right"}),
        ("planetary_transfer", {"front": "left", "rear": "right"}),
    ],
)
def test_the_two_outputs_of_an_axle_leave_at_their_own_sides(file: str, wanted: dict[str, str]) -> None:
    layout = find(file)
    for spot in (placed(layout), place(replace(layout, placement=None, text=""))):
        assert _sides(layout, spot) == wanted
        assert spot.faults.crossings == ()


@pytest.mark.parametrize("names", [("rear_axle", "front-axle"), ("hinten", "vorn"), ("right_wheel", "Left-wheel")])
def test_an_outputs_name_tells_its_side_whatever_comes_first_in_the_file(names: tuple[str, str]) -> None:
    layout = _with_outputs(find("planetary_transfer"), *names)
    assert first_output(layout) == names[0]
    assert _sides(layout, place(layout)) == {names[0]: "right", names[1]: "left"}


@pytest.mark.parametrize(
    ("name", "left"),
    [
        ("front_right", True),
        ("rear_left", False),
        ("rear_right", False),
        ("left", True),
        ("hinten-links", False),
        ("aleft", False),
    ],
)
def test_front_and_rear_count_before_left_and_right(name: str, left: bool) -> None:
    assert leads_left(name) == left


AXLE_OF_TWO_RANGES = """
format = 1
name = "Electric axle of two ranges"
outputs = ["left", "right"]
joins = [["input", "P1.sun"], ["P1.carrier", "P2.ring"], ["P1.ring", "housing"], ["P2.carrier", "D.carrier"], ["D.sun", "left"], ["D.ring", "right"]]
[source]
kind = "own"
citation = "invented for this test"
[[machine]]
name = "M1"
shaft = "input"
[[set]]
name = "P1"
pinions = "single"
sun = 24
ring = 72
[[set]]
name = "P2"
pinions = "single"
sun = 30
ring = 66
[[set]]
name = "D"
pinions = "bevel"
[[element]]
name = "A"
kind = "brake"
between = ["P2.sun", "housing"]
[[element]]
name = "K"
kind = "clutch"
between = ["P2.sun", "P2.ring"]
"""


def test_an_axle_shaft_goes_through_all_that_is_hollow(tmp_path: Path) -> None:
    (tmp_path / "axle.toml").write_text(AXLE_OF_TWO_RANGES)
    layout = find(str(tmp_path / "axle.toml"))
    spot = place(layout)
    assert spot.faults.crossings == ()
    assert _sides(layout, spot) == {"left": "left", "right": "right"}


def test_an_output_whose_name_tells_no_side_leaves_somewhere_and_names_only_contain_words() -> None:
    layout = _with_outputs(find("planetary_transfer"), "confronted", "pump")
    assert not leads_left("confronted")
    assert set(_sides(layout, place(layout))) == {"confronted", "pump"}


def _random_trains(count: int) -> list[Layout]:
    seeded, names = random.Random(20), [("left", "right"), ("front", "rear"), ("out0", "out1")]
    found: list[Layout] = []
    while len(found) < count:
        layout, _ = random_train(seeded)
        if len(layout.output_names) == 2 and len({layout.shaft_of(name) for name in layout.output_names} - {0}) == 2:
            found.append(_with_outputs(layout, *names[len(found) % 3]))
    return found


@pytest.mark.parametrize("layout", _random_trains(amount(60, 9)), ids=lambda layout: " ".join(layout.output_names))
def test_any_train_with_two_outputs_is_drawn_without_a_clash_and_every_output_is_reached(layout: Layout) -> None:
    spot = place(layout, effort=0.15)
    assert spot.faults.clashes == 0
    assert ways_twice(spot) == []
    for column, row, number in spot.wiring.aside:
        net = spot.nets.elements[number][0]
        assert any(net == other and row == at and column in (first, last) for at, first, last, other in spot.wiring.levels)
    assert set(_sides(layout, spot)) == set(layout.output_names)
    # What is stored comes back the same.
    kept = replace(layout, placement=spot.table(layout))
    again = read(kept)
    assert again is not None
    assert again.plan_table(kept) == spot.plan_table(layout)


def test_two_ends_of_one_shaft_do_not_leave_in_one_place() -> None:
    layout = find("planetary_transfer")
    nets = nets_of(layout)
    joined = replace(nets, elements=(*nets.elements[:-1], (nets.output, 0)))
    spot = placed(layout)
    plan = spot.plan.copy()
    router = Router(joined, spot.grid)
    plan.slots[-1], plan.ends[-1] = spot.grid.last, [0, 0]
    together = router.wire(plan)
    plan.slots[-1] = spot.grid.gap_columns[0]
    apart = router.wire(plan)
    assert (together.bad, len(together.aside)) == (1, 1)
    assert (apart.bad, len(apart.aside)) == (0, 0)


@pytest.mark.parametrize("slot", [0, -1])
def test_only_a_further_output_may_be_stored_at_a_side(slot: int) -> None:
    layout = find("planetary_transfer")
    assert layout.placement is not None
    column = placed(layout).grid.last if slot else 0
    elements = [[column, 0, 0], *layout.placement["elements"][1:]]
    assert read(replace(layout, placement={**layout.placement, "elements": elements})) is None


def test_for_a_train_that_is_not_cut_open_no_solid_places_are_stored() -> None:
    layout = find("electric_reduction")
    assert kept_table(layout, searches=1) == {}


def test_a_housing_that_nothing_reaches_stands_close_above_the_gears() -> None:
    near, far = (
        measure(layout, placed(layout), card_width=96.0) for layout in (find("planetary_transfer"), find("power_split_one_set"))
    )
    rooms = [place.gear_row(2) - place.ys[place.placement.grid.housing] for place in (near, far)]
    assert 25 <= rooms[0] < 65
    assert rooms[1] > rooms[0] + 30


def test_a_differentials_card_says_what_its_parts_are_called_in_the_trade() -> None:
    for svg in (
        picture_of(find("bevel_differential"), "stick").svg(),
        picture_of(find("bevel_differential"), "stick", "open").svg(),
    ):
        assert svg.count(": side gear</text>") == 2
        assert ">carrier: case</text>" in svg
    assert "side gear" not in picture_of(find("planetary_transfer"), "stick").svg()
