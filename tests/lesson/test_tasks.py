"""Prediction tasks without a browser: settings are checked, results stay shut, and what is found is what the solver says."""

from __future__ import annotations

from fractions import Fraction
from math import pi
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.task import TaskPanel
from gearkit.lesson.predictions import Predictions
from gearkit.lesson.record import Record
from gearkit.lesson.tasks.design import PASSED, DesignTask
from gearkit.lesson.tasks.faults import TESTS, FaultHunt
from gearkit.lesson.tasks.freedoms import HELD
from gearkit.lesson.tasks.shifts import CLEAN, FLARE, TIE_UP
from gearkit.lesson.tasks.task import PredictionTask, Setup
from gearkit.lesson.tasks.topics import TOPICS, task_about
from gearkit.solve.loads.torques import torques
from gearkit.solve.mobility import assess
from gearkit.solve.service.faults import ElementFault
from gearkit.solve.speeds import speeds
from gearkit.train.catalogue import find
from gearkit.words.errors import UsageError
from gearkit.words.terms import FaultMode

GUESSES: dict[str, dict[str, str]] = {
    "assembly": {"spacing": "yes", "touch": "no"},
    "freedoms": {"freedoms": "2", "state": "neutral"},
    "torques": {"element": "B", "torque": "100", "housing": "not at all"},
    "power": {"above": "no", "most": "ring 1", "efficiency": "98"},
    "road": {"after": "1500", "road": "50"},
    "shifts": {"off": "D", "on": "E", "speed": "2000", "feel": CLEAN},
    "faults": {"element": "A", "mode": "stuck on"},
    "design": {"fails": "fits the plate"},
}


def with_values(task: PredictionTask, **wanted: Any) -> Setup:
    values = dict(task.start().values)
    for name, value in wanted.items():
        values[name] = task.setting(name).taken(value)
    return Setup(values)


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return Record(tmp_path / "r.json")


@pytest.mark.parametrize("topic", TOPICS)
@pytest.mark.parametrize("layout", ["Q24", "Q36", "Q48"])
def test_every_task_asks_shows_and_finds_for_every_word_of_its_settings(topic: str, layout: str) -> None:
    task = task_about(topic, layout)
    choices = [(setting.name, word) for setting in task.settings for word in getattr(setting, "options", ())]
    for name, word in choices[::3] or [("", "")]:
        setup = with_values(task, **{name: word}) if name else task.start()
        truth = task.truth(setup)
        asks = task.asks(setup)
        assert sorted(truth) == sorted(ask.name for ask in asks)
        for ask in asks:
            found = truth[ask.name]
            assert isinstance(found, Fraction) != bool(ask.options)
            if isinstance(found, str):
                assert ask.taken(found) == found
                assert ask.agrees(found, found) == "agrees"
        for scene in (task.given(setup), task.found(setup)):
            assert len(scene.words.split()) > 3
            assert all(len(row) == len(table.head) for table in scene.tables for row in table.rows)
            for svg in scene.pictures:
                assert ElementTree.fromstring(svg).get("role") == "img"


@pytest.mark.parametrize("topic", TOPICS)
def test_nothing_of_a_result_is_sent_before_a_prediction_and_it_is_kept_before_the_reveal(topic: str, tmp_path: Path) -> None:
    lesson = open_lesson("09", tmp_path / "r.json")
    panel = lesson.predict_about(topic, "Q36")
    assert panel.found_html == panel.compared_html == ""
    with pytest.raises(UsageError, match="stays shut until you predict"):
        panel.truth()
    said = {ask.name: GUESSES[topic][ask.name] for ask in panel.task.asks(panel.setup)}
    panel.predict(said)
    assert panel.is_open
    assert panel.found_html
    assert "You said" in panel.compared_html
    kept, revealed = lesson.record.events
    assert (kept["kind"], revealed["kind"]) == ("prediction", "reveal")
    assert kept["lesson"] == "09"
    assert kept["prediction"] == revealed["prediction"]
    assert str(kept["at"]) <= str(revealed["at"])
    assert "score" not in kept
    assert "you said" in panel.history[0]
    assert lesson.progress().predictions == 1


@pytest.mark.parametrize(
    ("said", "told"),
    [({"off": "D"}, "Comes on: choose first"), ({"off": "D", "on": "E", "feel": CLEAN}, "Engine speed after: write a number first"),
     ({"off": "Z", "on": "E", "speed": "1", "feel": CLEAN}, "Goes off: 'Z'; choose from: A, B, C, D, E, none"),
     ({"off": "D", "on": "E", "speed": "two", "feel": CLEAN}, "is not read as a number"),
     ({"range": "2"}, "'range' is not asked; asked are: off, on, speed, feel")],
)  # fmt: skip
def test_a_prediction_that_cannot_be_read_is_told_in_words_and_opens_nothing(
    record: Record, said: dict[str, str], told: str
) -> None:
    panel = TaskPanel(task_about("shifts"), Predictions(record, "11", "shifts"))
    with pytest.raises(UsageError, match=told):
        panel.predict(said)
    assert not panel.is_open
    assert record.events == ()


@pytest.mark.parametrize(
    ("name", "value", "told"),
    [
        ("shift", "1 to 9", "choose from: 1 to 2"),
        ("speed", 9000, r"Engine speed: 9000; choose from 1000 to 5000 r/min"),
        ("speed", "fast", "is not read as a number"),
        ("colour", 1, "No setting 'colour'; there are: shift, speed"),
    ],
)
def test_a_setting_that_cannot_be_is_told_in_words(name: str, value: object, told: str) -> None:
    with pytest.raises(UsageError, match=told):
        TaskPanel(task_about("shifts")).choose(name, value)


def test_elements_to_tick_are_those_of_the_layout() -> None:
    panel = TaskPanel(task_about("freedoms"))
    panel.choose("applied", ["D", "A"])
    assert panel.setup.names("applied") == ("A", "D")
    with pytest.raises(UsageError, match="'Z'; choose from: A, B, C, D, E"):
        panel.choose("applied", "A Z")


def test_a_setting_outside_the_case_keeps_the_result_open_and_one_inside_shuts_it() -> None:
    panel = TaskPanel(task_about("torques"))
    panel.predict(GUESSES["torques"] | {"element": "C"})
    panel.choose("torque", 200)
    assert panel.is_open
    assert panel.truth()["torque"] == abs(torques(find("Q36"), "BC", 200, basic_efficiency=1).elements["C"] or 0)
    panel.choose("range", "2")
    assert not panel.is_open
    panel.choose("range", "1")
    assert panel.is_open
    panel.again()
    assert not panel.is_open


@pytest.mark.parametrize(("topic", "setting"), [("power", "range"), ("torques", "range"), ("shifts", "shift")])
def test_a_reveal_shows_nothing_of_cases_that_were_not_predicted_yet(topic: str, setting: str) -> None:
    task = task_about(topic)
    panel = TaskPanel(task)
    first, second = (task.setting(setting).options[k] for k in (1, 3))
    seen = []
    for word in (first, second, first):
        panel.choose(setting, word)
        panel.predict({ask.name: (ask.options or ("1",))[0] for ask in task.asks(panel.setup)})
        seen.append(panel.found_html)
    assert seen[0] != seen[2]
    shown = {"power": "%</td>", "torques": "", "shifts": "swap</td>"}[topic]
    if topic == "torques":
        assert f"carries, range {first}<" in seen[0]
        assert f"carries, ranges {first} and {second}<" in seen[2]
    else:
        assert seen[2].count(shown) > seen[0].count(shown)


def test_the_browser_can_do_what_python_can_and_troubles_come_back_in_words(record: Record) -> None:
    panel = TaskPanel(task_about("torques"), Predictions(record, "08", "torques of Quillbrook Q36"), title="Predict")
    for message in ({"do": "set", "name": "range", "value": "2"}, {"do": "predict", "said": {"element": "A"}}):
        panel._on_message(panel, message, [])
    assert "Its size: write a number first" in panel.trouble
    panel._on_message(panel, {"do": "predict", "said": {"element": "A", "torque": "100", "housing": "with the input"}}, [])
    panel._on_message(panel, {"do": "explain", "text": "I forgot C."}, [])
    assert panel.is_open
    assert panel.trouble == ""
    assert [event["kind"] for event in record.events] == ["prediction", "reveal", "explanation"]
    panel._on_message(panel, {"do": "again"}, [])
    assert not panel.is_open
    assert "Predict" in panel.static_html()


def test_freedoms_are_counted_by_rank_so_three_clutches_that_agree_leave_one() -> None:
    task = task_about("freedoms")
    assert task.truth(with_values(task, applied="A D E")) == {"freedoms": "1", "state": "range"}
    assert task.truth(with_values(task, applied="B C D")) == {"freedoms": "0", "state": "tie-up"}
    assert task.truth(with_values(task, applied="B")) == {"freedoms": "2", "state": "neutral"}
    assert "(they repeat each other)" in task.found(with_values(task, applied="A D E")).words


def test_a_held_vehicle_takes_one_freedom_and_leaves_the_speeds_of_neutral() -> None:
    task = task_about("freedoms")
    setup = with_values(task, applied="B", vehicle=HELD, speed=700)
    assert task.truth(setup)["freedoms"] == "1"
    shafts = dict(task.found(setup).tables[0].rows)
    assert shafts["ring 3"] == f"{-700 * 88 * 59 / (114 * 93):.1f} r/min".replace("-", "−")


@pytest.mark.parametrize("layout", ["Q24", "Q36", "Q48"])
def test_torques_from_outside_add_up_to_nothing_in_every_range(layout: str) -> None:
    task = task_about("torques", layout)
    for name in task.settings[0].options:
        rows = task.found(with_values(task, range=name)).tables[1].rows
        assert rows[-1][2] == "0 N·m"


def test_power_goes_round_in_fourth_and_the_learner_is_asked_whether_it_does() -> None:
    task = task_about("power")
    truth = task.truth(with_values(task, range="4", basic=1))
    assert truth == {"above": "yes", "most": "carrier 1", "efficiency": Fraction(100)}
    assert "goes round the loop" in task.found(with_values(task, range="4")).words
    assert "no power goes round" in task.found(with_values(task, range="2")).words


def test_the_missing_tooth_is_the_step_and_the_road_speed() -> None:
    task = task_about("road", "Q24")
    truth = task.truth(with_values(task, missing="2", final_drive="4.1", radius="0.33", speed=2400))
    first, second = Fraction(68, 25), Fraction(138, 95)
    assert truth["after"] == 2400 * second / first
    assert float(truth["road"]) == pytest.approx(2 * pi * 0.33 * 2400 * 60 / (1000 * float(second) * 4.1))


@pytest.mark.parametrize(
    ("shift", "overlap", "feel"),
    [("3 to 4", "0", CLEAN), ("3 to 4", "-0.1", FLARE), ("3 to 4", "0.1", TIE_UP)],
)
def test_timing_is_felt_as_flare_or_tie_up(shift: str, overlap: str, feel: str) -> None:
    task = task_about("shifts")
    assert task.truth(with_values(task, shift=shift, overlap=overlap))["feel"] == feel


def test_a_double_swap_names_the_ranges_to_go_by() -> None:
    task = task_about("shifts")
    setup = with_values(task, shift="2 to 6")
    assert (task.truth(setup)["off"], task.truth(setup)["on"]) == ("A, C", "B, E")
    assert "By single swaps: by way of 1 or 4." in task.found(setup).words


def test_the_heat_of_a_shift_is_half_of_torque_times_slip_times_time() -> None:
    task = task_about("shifts")
    [heat, _] = task.found(with_values(task, shift="3 to 4", torque=150, time="0.5", speed=3000)).tables
    torque = abs(torques(find("Q36"), "CE", 150, basic_efficiency=1).elements["E"] or 0)
    slip = abs(speeds(find("Q36"), "CD", 3000).slip["E"] or 0)
    assert heat.rows[0][0] == "E"
    assert float(heat.rows[0][3].split()[0]) == pytest.approx(float(torque * slip) * pi / 30 * 0.5 / 2 / 1000, abs=0.006)


def test_a_hidden_fault_is_the_same_on_every_run_and_differs_between_seeds_and_vehicles() -> None:
    layout = find("Q36")
    setups = [with_values(FaultHunt(layout), vehicle=f"vehicle {number}") for number in range(1, 9)]
    hidden = [FaultHunt(layout, "class 7").hidden(setup) for setup in setups]
    assert hidden == [FaultHunt(layout, "class 7").hidden(setup) for setup in setups]
    assert hidden != [FaultHunt(layout, "class 8").hidden(setup) for setup in setups]
    assert len(set(hidden)) > 3


def test_readings_of_a_hidden_fault_come_one_by_one_until_the_budget_is_used() -> None:
    panel = TaskPanel(FaultHunt(find("Q36"), "class 7"))
    for number, name in enumerate(["1", "2", "3", "4"][:TESTS]):
        panel.choose("range", name)
        panel.try_it()
        assert panel.steps_left == TESTS - number - 1
        assert "the vehicle" in panel.words()
    with pytest.raises(UsageError, match="All 4 tries are used; predict now"):
        panel.try_it()
    panel.predict({"element": "A", "mode": "stuck on"})
    assert "Suspects left" in panel.found_html
    with pytest.raises(UsageError, match="nothing to try here"):
        TaskPanel(task_about("torques")).try_it()


def test_every_reading_of_a_hunt_is_the_ratio_of_the_elements_that_are_left() -> None:
    hunt = FaultHunt(find("Q36"))
    without_d = ElementFault("D", FaultMode.STUCK_OFF)
    assert hunt._reading(without_d, "3", 1800) == ("3", "3200", "0", "stands, engine flares")
    second = assess(find("Q36"), "AC").ratio
    assert second is not None
    reading = hunt._reading(without_d, "2", 1800)
    assert float(reading[2]) == pytest.approx(float(1800 / second), abs=0.05)
    assert hunt._reading(ElementFault("B", FaultMode.STUCK_ON), "3", 1800) == ("3", "0", "0", "binds, engine stalls")


def test_the_design_of_the_worked_example_passes_and_its_neighbours_fail_where_they_should() -> None:
    task = DesignTask()
    good = {"S1": 30, "P1": 27, "N1": 3, "S2": 50, "P2": 18, "N2": 4, "module": "1.5", "plate": 150, "wall": 8}
    assert task.truth(with_values(task, **good)) == {"fails": PASSED}
    for change, fails in (
        ({"N1": 4}, "Set 1: planets equally spaced"), ({"P2": 17}, "Set 2: planets equally spaced"),
        ({"P2": 16}, "Set 2: at least 17 teeth"), ({"module": "2"}, "fits the plate"), ({"S2": 52}, "fits the plate"),
        ({"module": "1", "line": "0.6", "backlash": "0.4"}, "3 lines across a tooth"),
        ({"P2": 22}, "first within 2 %"), ({"P1": 30}, "reverse within 2 %"),
    ):  # fmt: skip
        found = task.truth(with_values(task, **{**good, **change}))["fails"]
        assert found == fails, change


def test_a_topic_that_is_not_there_is_told_with_those_that_are() -> None:
    with pytest.raises(UsageError, match="nothing to predict about 'noise'; topics: assembly, freedoms, torques"):
        task_about("noise")
