"""The panel of trains with machines or several outputs without a browser: chosen speeds and torques, words, pictures."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest

from gearkit.lesson.opening import open_lesson
from gearkit.lesson.trains.several_panel import SeveralPanel
from gearkit.train.catalogue import entries, find
from gearkit.words.errors import UsageError


def test_engine_and_road_fix_the_machine_and_each_pair_gives_the_third() -> None:
    panel = SeveralPanel(find("power_split_30_23_78"))
    panel.move(input=2000, output=1000)
    turning, _ = panel.outcome()
    # From memory, as tests/published has it: n(sun) = 3.6·n(engine) − 2.6·n(ring).
    assert turning.of["M1"] == Fraction(18, 5) * 2000 - Fraction(13, 5) * 1000 == 4600
    panel.move(input=2000, M1=4600)
    assert panel.outcome()[0].of["output"] == 1000
    panel.move(M1=4600, output=1000)
    assert panel.outcome()[0].of["input"] == 2000


def test_torques_by_the_teeth_and_the_electrical_branch_with_the_battery_at_rest() -> None:
    panel = SeveralPanel(find("power_split_30_23_78"))
    panel.move(input=1800, output=1300)
    panel.load(input=108, battery_at_rest=True)
    turning, loads = panel.outcome()
    assert loads.terminals["M1"] == -30
    assert turning.of["M1"] == Fraction(18, 5) * 1800 - Fraction(13, 5) * 1300 == 3100
    assert sum(loads.electrical.values()) == 0
    assert loads.power["output"] == -108 * 1800
    assert "M1 3100 r/min, −30 N·m, −9.7 kW" in panel.words()


def test_what_can_be_chosen_follows_from_the_elements_and_what_cannot_is_refused() -> None:
    panel = SeveralPanel(find("power_split_one_set"))
    with pytest.raises(UsageError, match=r"input: these speeds do not fix the others\. Choose .*input and output"):
        panel.move(input=1000)
    panel.apply_range("H")
    assert panel.case["verdict"] == "range"
    panel.move(input=1900)
    assert panel.outcome()[0].of["output"] == 1900 * Fraction(27, 19)
    with pytest.raises(UsageError, match="input and output: these speeds"):
        panel.move(input=1000, output=1000)
    with pytest.raises(UsageError, match="these torques do not fix the others"):
        panel.load(M1=3)
    with pytest.raises(UsageError, match="'Z'"):
        panel.engaged = ["Z"]


def test_a_locked_transfer_leaves_the_shares_to_grip() -> None:
    panel = SeveralPanel(find("planetary_transfer"))
    panel.load(input=300)
    assert {name: str(panel.outcome()[1].terminals[name]) for name in ("front", "rear")} == {"front": "-102", "rear": "-198"}
    panel.apply_range("locked")
    panel.load(input=300, front=-30)
    assert panel.outcome()[1].terminals["rear"] == -270


def test_a_plain_layout_is_refused_and_every_other_is_shown(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="one speed fixes all"):
        open_lesson("14", tmp_path / "r.json").explore_about("split", "Q36")
    shown = 0
    for entry in entries(several=True):
        if entry.layout.machines or len(entry.layout.output_names) > 1:
            panel = SeveralPanel(entry.layout)
            for item in entry.layout.ranges:
                panel.apply_range(item.name)
                # Nothing is gained or lost in the gears, whatever was chosen.
                assert sum(panel.outcome()[1].power.values()) == 0
                assert [ElementTree.fromstring(svg).tag.rpartition("}")[2] for svg in panel.pictures()] == ["svg", "svg"]
            shown += 1
    assert shown >= 7
