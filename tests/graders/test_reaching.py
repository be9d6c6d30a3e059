"""A cell that reaches for what holds answers is flagged by its text alone, and by what it does; a lesson's call costs only itself."""

from __future__ import annotations

import json
from collections.abc import Sequence

import pytest

from graders.run.engines.reply_protocol import Frame
from graders.run.engines.runner import Run
from graders.run.read.harvest import Harvest, SheetCells, harvest
from graders.run.read.notebooks import Cell, Notebook
from graders.run.read.reaching import reached

REACHES = {
    "from gearkit.answers import items": "gearkit.answers.items",
    "from gearkit.answers.items import find as f": "gearkit.answers.items",
    "import gearkit.answers.bank.one_set.lesson_03 as x": "gearkit.answers.bank.one_set.lesson_03",
    "import graders.mark.marking": "graders.mark.marking",
    "from graders import mark": "graders.mark",
    "import gearkit.answers\nit = gearkit.answers.items.find('L03-02')": "gearkit.answers.items.find",
    "from gearkit import answers\nanswers.rules": "gearkit.answers.rules",
    "import importlib\nimportlib.import_module('gearkit.answers.judge.marking')": "gearkit.answers.judge.marking",
    "import importlib\nimportlib.import_module('.items', 'gearkit.answers')": "gearkit.answers.items",
    "__import__('gearkit.answers.draw_numbers.variants')": "gearkit.answers.draw_numbers.variants",
    "open('/usr/lib/python3/site-packages/gearkit/answers/items.py').read()": "gearkit.answers.items",
    "open('C:\\\\kit\\\\gearkit\\\\answers\\\\bank\\\\one_set\\\\lesson_03.py')": "gearkit.answers.bank.one_set.lesson_03",
    "import sys\nsys.modules['gearkit.answers.items']": "gearkit.answers.items",
    "%time from gearkit.answers.items import find": "gearkit.answers.items",
    "!cat gearkit/answers/items.py": "gearkit.answers.items",
}
HARMLESS = (
    "from gearkit.answers.symbols import symbols",
    "import gearkit\ngearkit.find_layout('Q36')",
    "from gearkit.solve import ratios",
    "answers = {'a': 1}\nanswers.items()",
    "answers = []\nanswers.bank = 3",
    "x = 'the answers of gearkit'",
    "import gearkit.answers",
    "from gearkit.lesson.answering import answer",
    "from gearkit.answers.read.reader import read",
)
SHEET = SheetCells(("L03-02", "L03-03"), ("from gearkit.lesson.answering import answer",), ("S", "P", "R"))
REACHED = "Code cells that reach for parts of the kit that hold answers: 1."
LESSON = "Code cells that call a lesson or its exercises, which are not there while a sheet is marked: 1."


@pytest.mark.parametrize("source", REACHES)
def test_a_reach_is_seen_in_the_text_of_a_cell(source: str) -> None:
    assert reached(source) == REACHES[source]


@pytest.mark.parametrize("source", HARMLESS)
def test_what_a_sheet_may_use_is_no_reach(source: str) -> None:
    assert reached(source) == ""


def _harvest(frames: Sequence[Frame] | None, *sources: str) -> Harvest:
    book = Notebook(tuple(Cell("code", source) for source in sources))
    return harvest(book, SHEET, None if frames is None else lambda cells, setup: Run(tuple(frames), True, "", 0.0))


def test_a_reach_is_flagged_even_where_nothing_is_run() -> None:
    told = _harvest(None, "from gearkit.answers import items\nx = items.find('L03-02')", "answer('L03-03', 1)")
    assert any(flag.startswith(REACHED) for flag in told.flags)
    assert told.answers == {"L03-03": {"answer": "1"}}


def test_a_reach_that_only_running_shows_is_flagged() -> None:
    frames = [Frame(0, {}, "HiddenPartError", False), Frame(1, {}, "", True)]
    assert any(flag.startswith(REACHED) for flag in _harvest(frames, "x = 'a'\nexec(x)").flags)


def test_a_call_of_a_lesson_costs_neither_what_stands_behind_it_nor_a_suspicion() -> None:
    frames = [Frame(0, {"L03-02": {"answer": "7"}}, "LessonCallError", False), Frame(1, {}, "", True)]
    told = _harvest(frames, "answer('L03-02', 3 + 4)\nlesson = open_lesson(3)\nanswer('L03-03', R/S)\nlesson.check('L03-03')")
    assert told.answers == {"L03-02": {"answer": "7"}, "L03-03": {"answer": "R/S"}}
    assert [flag for flag in told.flags if flag.startswith(LESSON)]
    assert not [flag for flag in told.flags if flag.startswith(REACHED)]


def test_flags_stay_short_however_many_cells_reach() -> None:
    told = _harvest(None, *["import graders.mark"] * 2000)
    assert len(json.dumps(told.flags)) < 600
