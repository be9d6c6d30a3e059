"""Predict first: read in order, outputs included, a lesson shows no predicted value before its gate, nor beside it while it is shut."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from fractions import Fraction
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from gearkit.lesson.one_set import Roles, outcome
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.gear_pair import GearPairPanel
from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.lesson.panels.one_set import SPEEDS, OneSetPanel
from gearkit.lesson.panels.task import TaskPanel
from gearkit.lesson.tasks.task import Choice, Setup
from gearkit.site.notebook_cells import Cell, _run, cells_of
from gearkit.solve.mobility import assess
from gearkit.text import places
from gearkit.words.terms import MEMBERS
from tests.lesson import notebooks

# Another train's torque in another range, in the table of the Q48 above: equal by chance and of no help.
BY_CHANCE = {("l08-predict-panel-2", "192.9")}
LESSONS = {
    path.parent.name[:2]: path
    for path in notebooks.all_lessons(places.lessons())
    if re.match(r"(0[1-9]|1[0-5])_", path.parent.name)
}
_NUMBER = re.compile(r"(?<![\w.])[−-]?\d+(?:\.\d+|/\d+)?(?![\w/]|\.\d)")


@pytest.fixture(autouse=True)
def own_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GEARKIT_RECORD", str(tmp_path / "my_record.json"))


def numbers(text: str) -> set[str]:
    """The numbers that a reader sees in Markdown or HTML, without their signs."""
    seen = re.sub(r"<style.*?</style>|<math[^>]*title=\"([^\"]*)\"[^>]*>", r" \1 ", text, flags=re.DOTALL)
    seen = re.sub(r"\\frac\{([^{}]*)\}\{([^{}]*)\}", r"\1/\2", unescape(re.sub(r"<[^>]+>", " ", seen)))
    return {found[0].lstrip("−-") for found in _NUMBER.finditer(seen)}


def as_told(value: Fraction) -> set[str]:
    """How a value may stand on the page; one of fewer than three figures could stand there for something else."""
    size = abs(Fraction(value))
    words = {f"{float(size):.{places}f}" for places in (1, 2, 3, 4)} | ({str(size)} if size.denominator > 1 else set())
    return {word for word in words if (len(re.sub(r"\D", "", word).strip("0")) >= 3 and size != round(size, 0)) or "/" in word}


def predicted(panel: Panel) -> dict[str, set[str]]:
    """What a gate asks for: each case with the ways in which its figures may be written."""
    found: dict[str, set[str]] = {}
    if isinstance(panel, LayoutPanel):
        for item in panel.layout_shown.ranges:
            ratio = assess(panel.layout_shown, item.engaged).ratio
            found[f"range {item.name}"] = as_told(ratio) if ratio is not None else set()
    elif isinstance(panel, OneSetPanel) and panel.mode == SPEEDS:
        found[panel.case] = as_told(panel._third()[1])
    elif isinstance(panel, OneSetPanel):
        for drive, hold, driven in itertools.permutations(MEMBERS):
            ratio = outcome(panel.pset, Roles(drive, hold, driven)).ratio
            found[f"{drive} in, {hold} held"] = as_told(ratio) if ratio is not None else set()
    elif isinstance(panel, GearPairPanel):
        found[panel.case] = as_told(panel._speed())
    elif isinstance(panel, TaskPanel):
        for setup in setups(panel):
            truth = panel.task.truth(setup)
            told = [as_told(value) for value in truth.values() if not isinstance(value, str)]
            found[panel.task.case(setup)] = set().union(*told)
    return found


def setups(panel: TaskPanel) -> Iterator[Setup]:
    """The settings that a task starts with, and those with one other choice."""
    start = panel.task.start()
    yield start
    for setting in panel.task.settings:
        if isinstance(setting, Choice):
            for word in setting.options:
                yield Setup({**start.values, setting.name: word})


def shown(value: Any) -> str:
    """What a cell's output shows while nothing was predicted, as HTML."""
    if isinstance(value, Panel):
        return f"{value.static_html()} {value.words()}"
    as_html = getattr(value, "_repr_html_", None)
    return str(as_html()) if as_html is not None else ""


def told_too_early(cells: list[Cell]) -> list[str]:
    """What a lesson shows of a prediction before its gate is open, each as a sentence."""
    seen: dict[str, str] = {}
    found = []
    space: dict[str, Any] = {}
    for cell in cells:
        if not cell.is_code:
            seen |= dict.fromkeys(numbers(cell.source), cell.name)
            continue
        if re.search(r"ipywidgets|lesson\.(worked|exercise|recall|progress)\(", cell.source):
            continue
        value = _run(cell, space)
        seen |= dict.fromkeys(numbers(shown(value)), cell.name)
        if "lesson.predict" in cell.source:
            for case, words in predicted(value).items():
                found += [
                    f"{cell.name} asks for {word} ({case}), which stands in {seen[word]}"
                    for word in sorted(words & seen.keys())
                    if (cell.name, word) not in BY_CHANCE
                ]
    return found


@pytest.mark.parametrize("number", LESSONS)
def test_no_predicted_value_stands_before_its_gate_or_beside_it(number: str) -> None:
    assert told_too_early(cells_of(LESSONS[number])) == []


@pytest.mark.parametrize("number", LESSONS)
def test_every_prediction_has_words_for_the_usual_wrong_guess_and_shows_them_only_in_the_reveal(number: str) -> None:
    space: dict[str, Any] = {}
    gates = 0
    for cell in cells_of(LESSONS[number]):
        if cell.is_code and ("open" in cell.tags or "lesson.predict" in cell.source):
            panel = _run(cell, space)
            if "lesson.predict" in cell.source:
                gates += 1
                said = panel._keeper.afterword(panel.case)
                assert "<strong>Compare.</strong>" in said
                assert said not in panel.static_html()
                assert (panel.afterword if isinstance(panel, TaskPanel) else panel.afterwords) in ("", {})
                reveal(panel)
                assert (panel.afterword if isinstance(panel, TaskPanel) else panel.afterwords[panel.case]) == said
    assert gates


def reveal(panel: Any) -> None:
    """Predict anything at all."""
    if isinstance(panel, TaskPanel):
        panel.predict({ask.name: ask.options[0] if ask.options else "1" for ask in panel.task.asks(panel.setup)})
    else:
        panel.predict(panel.kinds()[0], "1")


def test_a_result_above_its_prediction_is_found() -> None:
    cells = cells_of(LESSONS["06"])
    [gate] = [place for place, cell in enumerate(cells) if cell.name == "l06-predict-panel"]
    leak = Cell("leak", False, "Second range has the ratio $\\frac{72}{23}$, reverse −2.143.")
    told = told_too_early([*cells[:gate], leak, cells[gate]])
    assert [sentence.rpartition(" ")[2] for sentence in told] == ["leak", "leak"]
    explored = Cell("explored", True, 'lesson.table(("range", "ratio"), [("2", 3.130)])')
    assert told_too_early([*cells[:gate], explored, cells[gate]])[0].endswith("which stands in explored")


def test_the_same_train_explored_above_its_prediction_is_found() -> None:
    cells = cells_of(LESSONS["06"])
    changed = [
        Cell(c.name, c.is_code, c.source.replace(', teeth={"P1": (24, 84), "P2": (42, 90), "P3": (46, 98)}', ""), c.tags)
        for c in cells
    ]
    told = " ".join(told_too_early(changed))
    assert all(f"({case})" in told for case in ("range 1", "range 2", "range 3", "range 6", "range R"))
