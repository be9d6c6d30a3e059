"""Pictures of trains with machines, several outputs or a converter: everything is there, in lines and in words."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.cli.main import main
from gearkit.draw.lever import lever_diagram
from gearkit.draw.registry import picture_of
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import place, structure_of
from gearkit.draw.stick.stick_hung import HungKind, hung_on, wired_parts
from gearkit.solve.several.power import several_power
from gearkit.train.catalogue import entries, find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

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
    from dataclasses import replace

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


def test_a_differential_shows_both_outputs_and_what_is_missing_is_told() -> None:
    words = picture_of(find("bevel_differential"), "power", "open", given={"input": 200, "left": 190}).description
    assert "left: power −0.480" in words
    assert "right: power −0.520" in words
    for name, range_name, given, why in (
        ("power_split_one_set", "D", None, "--speed input=2000"),
        ("bevel_differential", "locked", None, "left or right|left, right|would have to be given"),
        ("Q36", "2", {"input": 2}, "leave the speeds out"),
    ):
        with pytest.raises(UsageError, match=why):
            picture_of(find(name), "power", range_name, given=given)


def test_power_goes_through_the_converter_or_through_its_lock_up() -> None:
    layout = find("converter_two_ranges")
    through, locked = (picture_of(layout, "power", name) for name in ("1", "2L"))
    assert "ratio 3.200, figures from the turbine on" in through.description
    assert "engine and input locked up" in locked.description
    assert "input: power 1.000 comes in from outside." in through.description
    assert "Set 1: ring torque 0.688, power 0.688; carrier torque −1.000, power −1.000; sun torque 0.312" in locked.description
