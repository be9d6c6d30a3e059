"""What a panel shows, read from the page, held against what the solver and the marker say of the panel's state."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from playwright.sync_api import Page

from gearkit.answers.judge import marking
from gearkit.lesson import one_set
from gearkit.lesson.one_set import NONE, Roles
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.exercise import ExercisePanel
from gearkit.lesson.panels.faults import FaultPanel
from gearkit.lesson.panels.gear_pair import GearPairPanel
from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.lesson.panels.one_set import SPEEDS, OneSetPanel
from gearkit.lesson.panels.shifts import ShiftPanel
from gearkit.lesson.panels.task import TaskPanel
from gearkit.lesson.panels.teeth import TeethPanel
from gearkit.lesson.solid.cutaway_panel import CutawayPanel
from gearkit.lesson.trains.build_panel import BuildPanel
from gearkit.lesson.trains.several_panel import KILOWATT, SeveralPanel
from gearkit.solve.layout_warnings import warnings
from gearkit.solve.mobility import assess
from gearkit.solve.one_way import in_range, working
from gearkit.solve.speeds import Speeds, speeds
from gearkit.solve.teeth.new_layout import Typed, new_layout
from gearkit.text.phrases import member_words
from gearkit.words.errors import GearkitError
from gearkit.words.terms import MEMBERS, ElementKind, Verdict

_READ = """() => {
  const place = document.getElementById("place");
  const words = (node) => node.textContent.replace(/\\s+/g, " ").trim();
  const seen = (selector) => [...place.querySelectorAll(selector)].filter((node) => node.checkVisibility());
  const rows = (table) => [...table.querySelectorAll("tbody tr")].map((row) => [...row.cells].map(words));
  return {
    text: place.innerText, odd: /undefined|NaN|Infinity|\\[object|null/.exec(place.innerHTML.replace(/src="data[^"]*"/g, ""))?.[0] ?? "",
    status: seen(".gk-status").map(words), alerts: seen("[role=alert]").map(words),
    tables: Object.fromEntries(seen("table").filter((table) => table.caption).map((table) => [words(table.caption), rows(table)])),
    radios: Object.fromEntries(seen("fieldset").filter((set) => set.querySelector("input[type=radio]")).map((set) => [words(set.querySelector("legend")), set.querySelector("input:checked")?.value ?? ""])),
    sliders: seen(".gk-slider").map((row) => [words(row.querySelector("label")), row.querySelector("[type=range]").value, row.querySelector("[type=number]").value, row.contains(document.activeElement)]),
    ticks: seen("input[type=checkbox]").map((box) => [words(box.closest("label") ?? box.closest("tr")), box.checked]),
    texts: seen("input[type=text]").map((box) => box.value),
    lists: seen("select").map((list) => list.value),
    signs: seen(".gk-feedback .gk-verdict").map(words), previews: seen(".gk-preview").map(words),
    running: seen(".gk-crank-button").some((node) => node.textContent === "Stop"), state: model.state,
  };
}"""


@dataclass(frozen=True)
class Seen:
    """What the page shows.

    Args:
        data: as read.
    """

    data: dict[str, Any]

    @property
    def status(self) -> str:
        """The panel's main sentence."""
        return str(self.data["status"][0])

    def table(self, start: str) -> dict[str, list[str]]:
        """Rows of the table whose caption starts so, by their first cell."""
        [rows] = [rows for caption, rows in self.data["tables"].items() if caption.startswith(start)]
        return {row[0]: row[1:] for row in rows}

    def has_table(self, start: str) -> bool:
        """Whether such a table is there."""
        return any(caption.startswith(start) for caption in self.data["tables"])

    def slider(self, start: str) -> float:
        """Value of the slider whose label starts so."""
        [value] = [value for label, value, _, _ in self.data["sliders"] if label.startswith(start)]
        return float(value)


def read(page: Page) -> Seen:
    """Read a panel on a page of `host`."""
    return Seen(page.evaluate(_READ))


def check(panel: Panel, seen: Seen) -> None:
    """Hold what a page shows against the panel's state, and against the solver.

    Args:
        panel: the Python side, after all messages came through.
        seen: what the page shows.
    """
    assert seen.data["odd"] == ""
    there = json.loads(json.dumps({name: value for name, value in panel.get_state().items() if not name.startswith("_")}))
    assert {name: seen.data["state"][name] for name in there} == there
    for label, slider, box, busy in seen.data["sliders"]:
        assert busy or float(slider) == float(box), label
    for kind, hold in _CLAIMS.items():
        if isinstance(panel, kind):
            hold(panel, seen)


def near(text: str, value: Fraction | None, digits: int, unknown: str) -> bool:
    """Whether a text is a number rounded to so many digits, or the word for none."""
    if value is None:
        return text == unknown
    number = re.fullmatch(r"[−-]?\d+(\.\d+)?", text)
    return number is not None and abs(float(text.replace("−", "-")) - float(value)) <= 0.5 * 10**-digits + 1e-9


def direction(value: Fraction | None, unknown: str) -> str:
    """The word for the sense of a speed."""
    return unknown if value is None else "stopped" if value == 0 else "forward" if value > 0 else "reverse"


def ratio_words(ratio: Fraction) -> str:
    """An exact ratio as the panels write it."""
    return f"ratio {ratio}".replace("-", "−")


def _one_set(panel: OneSetPanel, seen: Seen) -> None:
    legends = (
        {"drive": "First given speed", "given": "Second given speed"}
        if panel.mode == SPEEDS
        else {"drive": "Drives", "hold": "Held", "driven": "Driven"}
    )
    assert {name: seen.data["radios"][legend] for name, legend in legends.items()} == {
        name: getattr(panel, name) for name in legends
    }
    given: dict[str, Fraction | None] = {panel.drive: Fraction(panel.input_speed)}
    if panel.mode == SPEEDS:
        given[panel.given] = Fraction(panel.second_speed)
        third, speed = panel._third()
        full = {**given, third: speed}
        told = f"It follows: {third} {direction(speed, '')}" if panel.is_open else f"What does the {third} do?"
    else:
        found = one_set.outcome(panel.pset, Roles(panel.drive, panel.hold, panel.driven, panel.joined))
        full = {member: None if speed is None else speed * panel.input_speed for member, speed in found.speeds.items()}
        if panel.hold != NONE:
            given[panel.hold] = full[panel.hold]
        given[panel.drive] = full[panel.drive]
        told = f": {found.word}" if panel.is_open else f"What does the {panel.driven} do?"
        if panel.is_open and found.ratio is not None:
            assert ratio_words(found.ratio) in seen.status
    assert told in seen.status, (told, seen.status)
    shown = full if panel.is_open else {member: given.get(member) for member in MEMBERS}
    if shown["sun"] is not None and shown["carrier"] is not None and panel.is_open:
        shown["planet"] = shown["carrier"] - (shown["sun"] - shown["carrier"]) * Fraction(panel.sun, panel.planet)
    teeth = {"sun": panel.sun, "carrier": "no teeth", "ring": panel.ring, "planet": panel.planet}
    unknown = "free" if panel.is_open else "?"
    for member, (count, speed_text, sense, _) in seen.table("The members of the set").items():
        assert count == str(teeth[member])
        assert near(speed_text, shown.get(member), 1, unknown), (member, speed_text, shown)
        assert sense == direction(shown.get(member), unknown), member
    _turns(
        seen,
        {member: shown.get(member) for member in (*MEMBERS, "planet")},
        full[panel.drive] or (full[panel.given] if panel.mode == SPEEDS else None),
    )


def _turns(seen: Seen, speed_of: dict[str, Fraction | None], reference: Fraction | None) -> None:
    """Each member has turned as its speed is to the reference's; the crank stands on a twentieth of a turn."""
    crank = seen.slider("Turns of")
    for member, cells in seen.table("The members of the set").items():
        speed = speed_of[member]
        if speed is None:
            assert cells[3] == "–"
        else:
            share = float(speed / abs(reference)) if reference else 0.0
            assert abs(float(cells[3].replace("−", "-")) - share * crank) <= 0.0051 + abs(share) * 0.026, (member, cells, crank)


def _gears(panel: GearPairPanel, seen: Seen) -> None:
    assert (seen.data["radios"]["Last mesh"], seen.data["radios"]["Idlers"]) == (panel.mesh, str(panel.idlers))
    if not panel._fits():
        assert "is too small" in seen.status
        return
    rows = list(seen.data["tables"]["The gears, from the driver to the output"])
    assert len(rows) == len(panel.row.turns)
    for number, (row, turns) in enumerate(zip(rows, panel.row.turns, strict=True)):
        value = None if number == len(rows) - 1 and not panel.is_open else turns * panel.input_speed
        assert near(row[2], value, 1, "?"), row
        assert row[3] == direction(value, "?"), row
    assert (ratio_words(panel.row.ratio) in seen.status) == panel.is_open


def _layout(panel: LayoutPanel, seen: Seen) -> None:
    layout = panel.layout_shown
    ticked = [words.split()[0] for words, on in seen.data["ticks"] if on]
    assert ticked == list(panel.engaged)
    found = assess(layout, panel.engaged)
    if panel.is_open:
        told = ratio_words(found.ratio) if found.ratio is not None else f": {found.verdict.value}:"
        assert told in seen.status, (told, seen.status)
    turns = found.verdict not in (Verdict.INPUT_LOCKED, Verdict.TIE_UP)
    driven = speeds(layout, panel.engaged, input_speed=int(turns))
    unknown = "free" if panel.is_open else "?"
    for label, (times, rpm, sense, _) in seen.table("Shafts and their speeds").items():
        value = _speed(driven, label) if panel.is_open else None
        assert near(times, value, 3, unknown), (label, times, value)
        assert near(rpm, None if value is None else value * panel.input_speed, 1, unknown), (label, rpm)
        assert sense == direction(value, unknown), label
    for name, cells in seen.table("Application chart").items():
        engaged = layout.engaged_in(name)
        own = assess(layout, engaged)
        case = f"{' and '.join(item.name for item in layout.elements if item.name in engaged) or 'nothing'} applied"
        hidden = panel.gated and case not in panel.opened
        assert cells[-1] == "?" if hidden else near(cells[-1], own.ratio, 3, own.verdict.value), (name, cells)


def _speed(found: Speeds, label: str) -> Fraction | None:
    """The speed of a shaft by its label, "sun 1 · input"."""
    first = label.split(" · ")[0]
    return found.of(next((member for member in found.members if member_words(member) == first), first))


def _shifts(panel: ShiftPanel, seen: Seen) -> None:
    layout, found = panel.layout_shown, panel.outcome()
    assert (seen.data["radios"]["From range"], seen.data["radios"]["To range"]) == (panel.from_range, panel.to_range)
    assert f"{panel.from_range} to {panel.to_range}, {found.kind}" in seen.status
    assert f"{panel.progress} % done" in seen.status
    shafts = seen.table("Shafts and their speeds in r/min")
    [of_input] = [cells for label, cells in shafts.items() if "input" in label.split(" · ")]
    for text, value in zip(of_input, (found.input_before, panel.input_now(), panel._input_after(found)), strict=True):
        assert near(text, value, 0, "free"), (of_input, value)
    if panel.from_range not in panel.neutral:
        for column, (name, speed) in {
            0: (panel.from_range, found.input_before),
            2: (panel.to_range, panel._input_after(found)),
        }.items():
            driven = speeds(layout, working(layout, layout.engaged_in(name)).engaged, input_speed=speed)
            for label, cells in shafts.items():
                assert near(cells[column], _speed(driven, label), 0, "free"), (label, cells, column)
        slips = {row.split()[0]: cells for row, cells in seen.table("Elements; slip in r/min").items()}
        for name, value in found.slip_before.items():
            assert near(slips[name][1], value, 0, "free"), (name, slips[name])
        for name, value in found.slip_after.items():
            assert near(slips[name][3], value, 0, "free"), (name, slips[name])


def _faults(panel: FaultPanel, seen: Seen) -> None:
    assert (seen.data["radios"]["Faulty element"], seen.data["radios"]["It is"]) == (panel.element, panel.mode)
    table = seen.table("Every range with this fault")
    for case in panel.cases():
        _, on, state, ratio, sound, noticed = table[case.range_name]
        assert on == (" ".join(case.faulty.engaged) or "–")
        assert state == case.faulty.verdict
        assert near(ratio, case.faulty.ratio, 3, "–")
        assert near(sound, case.sound.ratio, 3, "–")
        assert noticed[2:] == case.symptom(), (noticed, case.symptom())
    told = seen.data["status"][1]
    try:
        taken = panel.taken()
    except GearkitError:
        assert told.startswith("Reading "), told
        return
    if not taken:
        assert told.startswith(("Write input and output speed", "Reading ")), told
        return
    standing = [suspect for suspect in panel.diagnosis().suspects if suspect.refuted == 0]
    names = list(seen.table("Faults that fit")) if seen.has_table("Faults that fit") else []
    assert names == [" and ".join(str(fault) for fault in suspect.faults) for suspect in standing[:8]], told


def _teeth(panel: TeethPanel, seen: Seen) -> None:
    met = {name: cells[0].startswith("✓") for name, cells in seen.table("Do the gears go together?").items()}
    assert met == panel.checks()
    assert f"Sun {panel.sun}, {panel.planets} " in seen.status
    assert (": goes together" in seen.status) == panel.goes_together
    if panel.ring > panel.sun:
        ways = {
            (cells[0], cells[1]): cells[2]
            for cells in (
                [row[1], row[2], row[3]]
                for row in seen.data["tables"]["The six ways: one member held, one drives, one is driven"]
            )
        }
        assert ways == {pair: str(ratio).replace("-", "−") for pair, ratio in panel.ratios().items()}


def _build(panel: BuildPanel, seen: Seen) -> None:
    lines = {kind: list(getattr(panel, kind)) for kind in ("sets", "joins", "elements", "ranges")}
    told = seen.data["text"].replace("\n", " ")
    for line in (line for each in lines.values() for line in each):
        assert re.sub(r"\.(?=sun|carrier|ring)", " ", line) in told, line
    if not lines["sets"]:
        assert panel.layout_shown is None
        return
    made = new_layout(Typed("x", *(tuple(each) for each in lines.values()))).layout
    table = seen.table("Application chart") if made.ranges else {}
    assert set(table) == {item.name for item in made.ranges}
    for item in made.ranges:
        state = in_range(made, item.name)
        applied, verdict, ratio = table[item.name]
        assert (applied, verdict) == (" ".join(item.engaged) or "nothing", state.mobility.verdict)
        assert near(ratio, state.ratio, 3, "–") or (state.ratio is not None and abs(state.ratio) < Fraction(1, 2000))
    assert all(sentence in told for sentence in warnings(made))
    assert [name for name, _ in seen.data["ticks"]] == [
        one.name for one in made.elements if one.kind is not ElementKind.ONE_WAY_CLUTCH
    ]
    assert seen.data["alerts"] == ([panel.trouble] if panel.trouble else [])


def _several(panel: SeveralPanel, seen: Seen) -> None:
    turning, loads = panel.outcome()
    table = {
        name.partition(" on ")[0]: cells
        for name, cells in seen.table("What acts on the train from outside; power above 0 goes in").items()
    }
    names = turning.motions.terminals.names
    assert set(table) == set(names)
    assert seen.data["lists"] == [panel.moved, panel.given]
    told = seen.data["status"][0]
    assert f": {turning.motions.verdict}." in told
    for name in names:
        speed, torque, power, *battery = table[name]
        assert near(speed, turning.of[name], 0, "–"), (name, speed, turning.of[name])
        assert near(torque, loads.terminals[name], 1, "–"), (name, torque, loads.terminals[name], loads.state)
        put_in = loads.power.get(name)
        assert near(power, None if put_in is None else Fraction(float(put_in) * KILOWATT), 2, "–"), (name, power, put_in)
        taken = loads.electrical.get(name)
        assert not battery or near(battery[0], None if taken is None else Fraction(float(taken) * KILOWATT), 2, "–")
    assert ("nothing fixes the torques" in told) == (None in loads.terminals.values())
    for machine in panel.layout_shown.machines:
        speed, torque = turning.of[machine.name], loads.terminals[machine.name]
        fast = machine.highest_speed is not None and speed is not None and abs(speed) > machine.highest_speed
        hard = machine.highest_torque is not None and torque is not None and abs(torque) > machine.highest_torque
        assert (f"{machine.name} turns faster than" in told, f"{machine.name} would need more" in told) == (fast, hard)


def _cutaway(panel: CutawayPanel, seen: Seen) -> None:
    layout = panel.layout_shown
    assert [words.split()[0] for words, on in seen.data["ticks"] if on] == list(panel.engaged)
    found = working(layout, panel.engaged)
    driven = speeds(layout, found.engaged, input_speed=int(found.verdict not in (Verdict.INPUT_LOCKED, Verdict.TIE_UP)))
    if panel.is_open:
        told = ratio_words(found.ratio) if found.ratio is not None else f": {found.verdict.value}"
        assert told in seen.status, (told, seen.status)
    else:
        assert "Which bodies will stand still" in seen.status
    senses = {"forward": "turns forward", "reverse": "turns back", "stopped": "stands still"}
    unknown = "free" if panel.is_open else "?"
    # The box may hold what somebody is still typing; the slider is where the crank stands.
    crank = seen.slider("Turns of")
    for label, (times, sense, turns) in seen.table("Bodies and how they turn").items():
        value = _speed(driven, label) if panel.is_open else None
        assert near(times, value, 3, unknown), (label, times, value)
        assert sense == senses.get(direction(value, unknown), unknown), (label, sense)
        if value is None:
            assert turns == "–", label
        else:
            assert abs(float(turns.replace("−", "-")) - float(value) * crank) <= 0.0051 + abs(float(value)) * 0.026, (
                label,
                turns,
                crank,
            )


def _task(panel: TaskPanel, seen: Seen) -> None:
    task, setup = panel.task, panel.setup
    scene = task.found(setup) if panel.is_open else task.given(setup)
    assert seen.status == " ".join(scene.words.split())
    captions = {" ".join(table.caption.split()) for table in scene.tables}
    compared = "Your prediction beside what was found"
    assert set(seen.data["tables"]) == captions | ({compared} if panel.is_open else set())
    for table in scene.tables:
        rows = [[cell.removeprefix("▶ ") for cell in row] for row in seen.data["tables"][" ".join(table.caption.split())]]
        assert rows == [[" ".join(text.split()) for text in row] for row in table.rows]
    if panel.is_open:
        truth = panel.truth()
        for ask in task.asks(setup):
            said = seen.table(compared).get(ask.label)
            assert said is None or said[1] == " ".join(task.shown(ask, truth[ask.name]).split()), ask.label
    for spec in panel.controls:
        value = panel.values[spec["name"]]
        if spec["form"] == "choice" and spec["label"] in seen.data["radios"]:
            assert seen.data["radios"][spec["label"]] == value
        if spec["form"] == "number":
            assert seen.slider(spec["label"]) == float(value)


def _exercise(panel: ExercisePanel, seen: Seen) -> None:
    exercise = panel.exercise
    # Nothing that was written is lost on the way, and nothing is shown that was not written.
    written = {part["name"]: panel.given.get(part["name"], "") for part in panel.parts}
    if all(part["form"] == "text" for part in panel.parts):
        assert [" ".join(text.split()) for text in seen.data["texts"]] == [" ".join(text.split()) for text in written.values()]
    troubles = [each.trouble for each in exercise.form() if each.trouble]
    for trouble in troubles:
        assert any(" ".join(trouble.split()) in text for text in seen.data["previews"]), trouble
    result = marking.mark(exercise.variant, dict(panel.given))
    if exercise.result is None:
        assert seen.data["signs"] == []
        return
    words = {
        "right": "✓ Right",
        "wrong": "○ Not yet",
        "unreadable": "△ Cannot be read yet",
        "missing": "– Nothing to check yet",
    }[result.verdict]
    assert seen.data["signs"] == [f"{words} · {float(result.score):g} of {float(result.max):g} marks"]


_CLAIMS: dict[type[Panel], Any] = {
    OneSetPanel: _one_set, GearPairPanel: _gears, LayoutPanel: _layout, ShiftPanel: _shifts, FaultPanel: _faults, TeethPanel: _teeth,
    TaskPanel: _task, ExercisePanel: _exercise, CutawayPanel: _cutaway, SeveralPanel: _several, BuildPanel: _build,
}  # fmt: skip
