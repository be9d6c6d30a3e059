"""The fault, shift and tooth-count panels without a browser: state set and read from Python, still pictures, words."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import permutations
from pathlib import Path
from xml.etree import ElementTree

import pytest
import traitlets

from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels import bundle
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.faults import FaultPanel
from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.lesson.panels.shifts import ShiftPanel
from gearkit.lesson.panels.teeth import TeethPanel
from gearkit.lesson.panels.topics import TOPICS, panel_about
from gearkit.lesson.trains.several_panel import SeveralPanel
from gearkit.solve.teeth.assembly import pairs_assembly
from gearkit.train.catalogue import dumps, find
from gearkit.train.elements import Range
from gearkit.words.errors import UsageError
from gearkit.words.terms import MEMBERS, FaultEffect


def layout_for(topic: str) -> str:
    """A layout that has what the topic is about."""
    return "power_split_one_set" if topic == "split" else "Q24"


def test_a_lesson_opens_each_panel_by_its_topic(tmp_path: Path) -> None:
    lesson = open_lesson("12", tmp_path / "r.json")
    for topic, kind in zip(TOPICS, (TeethPanel, ShiftPanel, FaultPanel, SeveralPanel), strict=True):
        assert isinstance(lesson.explore_about(topic, layout_for(topic)), kind)
    assert lesson.explore_about("faults", "Q48").title == "Explore: faults of Quillbrook Q48"
    with pytest.raises(UsageError, match="topics: assembly, shifts, faults, split"):
        lesson.explore_about("weather")


@pytest.mark.parametrize("wanted", [3, None, ["Q36"]])
def test_a_layout_that_is_no_text_is_refused_in_words(tmp_path: Path, wanted: object) -> None:
    lesson = open_lesson("12", tmp_path / "r.json")
    with pytest.raises(UsageError, match='expected a name such as "Q36" or the path of a file, as text'):
        lesson.explore_about("faults", wanted)


def test_a_layout_with_too_little_in_it_says_what_is_missing() -> None:
    whole = find("Q24")
    one = replace(whole, ranges=whole.ranges[:1])
    with pytest.raises(UsageError, match="has one forward range; a shift needs two"):
        ShiftPanel(one)
    with pytest.raises(UsageError, match="has no forward range; a shift needs two"):
        ShiftPanel(replace(whole, ranges=()))
    with pytest.raises(UsageError, match="has no ranges to look at"):
        FaultPanel(replace(whole, ranges=()))
    bare = replace(whole, elements=(), ranges=(Range("1", ()),))
    with pytest.raises(UsageError, match="has no elements to look at"):
        FaultPanel(bare)


# Faults


def test_a_stuck_element_is_chosen_from_python_and_every_range_is_told() -> None:
    panel = FaultPanel(find("Q36"), title="Faults")
    panel.fail("D", "stuck off")
    lost = {case.range_name: case.effect for case in panel.cases() if case.lost}
    assert lost == {"3": FaultEffect.NEUTRAL, "5": FaultEffect.NEUTRAL}
    panel.looked_at = "3"
    assert "2 of 8 ranges change (3 and 5). Range 3: neutral; no drive" in panel.words()


@pytest.mark.parametrize(
    ("element", "mode", "told"),
    [
        ("Z", "stuck off", "no element 'Z'"),
        ("A", "fitted the wrong way round", "choose from: stuck off, stuck on"),
        ("F", "worn", "choose from: stuck off, stuck on, fitted the wrong way round"),
    ],
)
def test_a_fault_that_cannot_be_is_refused_with_those_that_can(element: str, mode: str, told: str) -> None:
    panel = FaultPanel(find("Q24"))
    before = panel.fault
    with pytest.raises(UsageError, match=told):
        panel.fail(element, mode)
    assert panel.fault == before


def test_two_readings_leave_the_suspects_of_the_solver() -> None:
    panel = FaultPanel(find("Q36"))
    assert panel.taken() == ()
    panel.read(1, "3", 2400, 0)
    panel.read(2, "4", "2400", "1685.4")
    assert [reading.range_name for reading in panel.taken()] == ["3", "4"]
    assert [str(fault) for fault in panel.diagnosis().standing[0].faults] == ["D stuck off"]


@pytest.mark.parametrize(
    ("reading", "told"),
    [
        ((3, "1", 1, 1), "room for readings 1 to 2"),
        ((1, "9", 1, 1), "'9'"),
        ((1, "1", "fast", 1), "is not read as a number"),
        ((1, "1", -5, 1), "the engine turns one way"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_words(reading: tuple[object, ...], told: str) -> None:
    with pytest.raises(UsageError, match=told):
        FaultPanel(find("Q36")).read(*reading)


# Shifts


def test_a_shift_is_chosen_and_half_done_from_python() -> None:
    panel = ShiftPanel(find("Q36"), title="Shifts")
    panel.choose("3", "4")
    found = panel.outcome()
    assert (found.off_going, found.on_coming) == (("D",), ("E",))
    panel.progress = 50
    assert found.input_after is not None
    assert panel.input_now() == (3000 + found.input_after) / 2
    assert "D off, E on. 50 % done" in panel.words()


def test_out_of_neutral_the_vehicle_stands_and_the_range_brings_the_input_to_rest() -> None:
    panel = ShiftPanel(find("Q36"), title="Shifts")
    panel.choose("N", "R")
    assert panel.outcome().on_coming == ("A",)
    panel.progress = 25
    assert panel.input_now() == 3000 * Fraction(3, 4)
    assert "nothing off, A on. 25 % done, vehicle standing: input 2250 r/min, from 3000 to 0." in panel.words()
    panel.choose("3", "2")
    assert (panel.from_range, panel.to_range) == ("3", "2")


def test_nothing_is_shifted_into_reverse_while_rolling_and_nothing_into_itself() -> None:
    q24 = find("Q24")
    panel = ShiftPanel(q24)
    assert panel.forward == ("1", "1L", "2", "3", "4")
    with pytest.raises(UsageError, match="a rolling vehicle is not put into reverse; shift to R from "):
        panel.to_range = "R"
    with pytest.raises(UsageError, match=r"'R' is no range to shift from in Quillbrook Q24.*it has: "):
        panel.from_range = "R"
    with pytest.raises(UsageError, match="'N' is no range to shift to"):
        panel.choose("1", "N")
    assert (panel.from_range, panel.to_range) == ("1", "2")
    without = ShiftPanel(replace(q24, ranges=tuple(one for one in q24.ranges if one.name not in panel.neutral)))
    assert without.reverse == ()
    with pytest.raises(UsageError, match="is no shift"):
        panel.choose("2", "2")
    with pytest.raises(traitlets.TraitError, match="progress"):
        panel.progress = 101
    with pytest.raises(UsageError, match="a shift needs two"):
        ShiftPanel(replace(q24, ranges=q24.ranges[-2:]))


# Tooth counts


def test_the_ring_follows_until_it_is_let_go() -> None:
    panel = TeethPanel(sun=36, planet=21, planets=3)
    assert panel.ring == 36 + 2 * 21
    panel.ring = 80
    assert panel.ring == 78
    panel.ring_follows = False
    panel.ring = 80
    assert panel.checks() == {"Teeth meet": False, "Equal spacing": False, "Neighbours clear": True}
    assert panel.pictures() == ()
    assert "not met: teeth meet and equal spacing" in panel.words()


def test_the_six_ratios_come_in_pairs_that_are_each_others_inverse() -> None:
    panel = TeethPanel(sun=36, planet=21)
    ratios = panel.ratios()
    assert ratios["sun", "carrier"] == 1 + Fraction(78, 36)
    for drives, driven in permutations(MEMBERS, 2):
        assert ratios[drives, driven] * ratios[driven, drives] == 1


def test_a_double_set_has_a_ring_of_its_own_and_needs_one_larger_than_its_sun() -> None:
    panel = TeethPanel(pinions="double", sun=30, planet=19, ring=90, planets=3)
    assert panel.ring == 90
    assert panel.goes_together
    assert panel.ratios()["sun", "ring"] == Fraction(90, 30)
    panel.sun = 90
    with pytest.raises(UsageError, match="more teeth than the sun"):
        panel.pset  # noqa: B018


def test_pairs_that_do_not_reach_touch_across_or_crowd_each_other_are_told_apart() -> None:
    assert not pairs_assembly(30, 14, 90, 3).reaches  # 4 * 14 = 56 < 60
    assert not pairs_assembly(30, 28, 90, 3).room  # 2 * 28 = 56, not less than 56
    assert not pairs_assembly(30, 19, 91, 3).equal_spacing
    assert pairs_assembly(30, 19, 90, 4).neighbours
    assert not pairs_assembly(30, 19, 90, 12).neighbours  # 12 inner pinions of 19 + 2 round a sun of 30


# All three


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48", "pair_series"])
@pytest.mark.parametrize("topic", TOPICS)
def test_what_has_no_script_still_gets_drawings_and_the_facts_in_words(topic: str, name: str) -> None:
    panel = panel_about(topic, layout_for(topic) if topic == "split" else name)
    data, _ = panel._repr_mimebundle_()
    assert {"text/plain", "text/html", "application/vnd.jupyter.widget-view+json"} <= set(data)
    assert panel.words() in data["text/plain"]
    drawings = panel.pictures()
    assert drawings
    for drawing in drawings:
        root = ElementTree.fromstring(drawing)
        assert root.get("role") == "img"
        assert {"title", "desc"} <= {child.tag.rpartition("}")[2] for child in root}
    assert "<script" not in data["text/html"]


@pytest.mark.parametrize("kind", [FaultPanel, ShiftPanel, TeethPanel])
def test_each_comes_as_one_script_without_imports(kind: type[Panel]) -> None:
    entry = {FaultPanel: "fault_panel", ShiftPanel: "shift_panel", TeethPanel: "teeth_panel"}[kind]
    text = bundle.script(entry)
    assert "export default {" in text
    assert "\nimport " not in text
    assert text.count("export ") == 1


def test_speeds_of_a_reading_are_read_in_the_kernel_as_every_answer_is() -> None:
    panel = FaultPanel(find("Q36"))
    first = panel.readings[0]["range"]
    panel.readings = [
        {"range": first, "input": "2400 rpm", "output": "1685,4 r/min"},
        {"range": first, "input": "1.5e3", "output": ""},
    ]
    assert panel.speeds == [
        {"range": first, "input": "2400", "output": "8427/5", "trouble": ""},
        {"range": first, "input": "", "output": "", "trouble": ""},
    ]
    panel.readings = [
        {"range": first, "input": "2,400", "output": "1685"},
        {"range": first, "input": "-5", "output": "3 reverse"},
    ]
    assert "2,400 has a comma in a number and can be read in two ways" in panel.speeds[0]["trouble"]
    assert panel.speeds[1]["trouble"].startswith("Reading 2: ")
    assert "the engine turns one way" in panel.speeds[1]["trouble"]


# Another train without code


def test_another_train_is_chosen_kept_and_shown_when_the_lesson_is_opened_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    mine = tmp_path / "mine.toml"
    mine.write_text(dumps(find("Q24")).replace("Quillbrook Q24", "My own"), encoding="utf-8")
    (tmp_path / "broken.toml").write_text("[project]\n", encoding="utf-8")

    def opened(topic: str) -> LayoutPanel | ShiftPanel | FaultPanel:
        lesson = open_lesson("12", tmp_path / "r.json")
        panel = lesson.explore("Q36") if topic == "explore" else lesson.explore_about(topic, "Q36")
        assert isinstance(panel, LayoutPanel | ShiftPanel | FaultPanel)
        return panel

    for topic in ("explore", "shifts", "faults"):
        panel = opened(topic)
        panel._handle_custom_msg({"do": "train", "name": str(tmp_path / "r.json")}, [])
        assert panel.train_name == "Q36", "nothing but what is offered can be chosen"
        panel._handle_custom_msg({"do": "trains"}, [])
        names = [name for name, _ in panel.trains]
        assert {"Q24", "Q36", "Q48", "mine.toml"} <= set(names)
        assert "broken.toml" not in names
        for name in names:
            panel._handle_custom_msg({"do": "train", "name": name}, [])
            assert panel.layout_shown == find(name)
            assert panel.train["name"] == panel.layout_shown.name
            assert find(name).name.partition(":")[0].partition(" (")[0] in panel.words()
        panel._handle_custom_msg({"do": "train", "name": "mine.toml"}, [])
        again = opened(topic)
        assert (again.train_name, again.layout_shown.name) == ("mine.toml", "My own: two sets, four ranges and reverse")
        assert again.train == panel.train
    mine.unlink()
    assert opened("explore").train_name == "Q36"


def test_a_prediction_offers_no_other_train(tmp_path: Path) -> None:
    assert open_lesson("06", tmp_path / "r.json").predict("Q36").train_name == ""
