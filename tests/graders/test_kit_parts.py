"""What holds answers is out of learner code's reach in every engine and at every level; the solver stays."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

import gearkit
import graders
from gearkit.answers import items
from graders.run.engines.runner import Run, Runner
from graders.run.sandbox import kit_parts
from graders.run.sandbox.layers import Layer, Limits, Protection
from tests.graders.levels import Level, buildable

LEVELS = buildable()
EACH = [pytest.param(level, "warm", id=f"warm, {level.name}") for level in LEVELS]
EACH += [
    pytest.param(level.round_a_kernel(), "kernel", id=f"kernel, {level.name}")
    for level in LEVELS
    if Layer.ROOT in level.protection
]
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="these layers are Linux's own")
LIMITS = Limits(cell_seconds=8, seconds=16)

# Each in a process in which the guard, which is only there for its sentence, was taken away.
WAYS = """\
import gearkit.answers.items
import gearkit.answers.bank.one_set.lesson_03
import gearkit.answers.rules.plain
from gearkit.answers.judge import marking
from gearkit.answers.draw_numbers import variants
from gearkit.answers.comparison import compare
import graders.mark.marking
import graders.hand_out
from gearkit.lesson import exercise
import importlib; importlib.import_module(".items", "gearkit.answers")
__import__("gear" + "kit.answers.it" + "ems")
import importlib.util as u; s = u.spec_from_file_location("x", kit + "/answers/items.py"); s.loader.exec_module(u.module_from_spec(s))
open(kit + "/answers/items.py").read()
open(kit + "/answers/bank/one_set/lesson_03.py").read()
open(kit + "/answers/judge/marking.py").read()
open(grader + "/mark/marking.py").read()
import os; os.listdir(kit + "/answers/bank/one_set/__pycache__")[0]; open(kit + "/answers/bank/one_set/__pycache__/lesson_03" + tag, "rb").read()
open(kit + "/answers/__pycache__/items" + tag, "rb").read()
import os; os.chdir(kit + "/answers"); open("items.py").read()
import pkgutil; assert pkgutil.get_data("gearkit.answers", "items.py")
import runpy; runpy.run_path(kit + "/answers/items.py")
import sys; assert [name for name in sys.modules if name.startswith(("gearkit.answers.items", "gearkit.answers.bank", "graders.mark"))]
import gc; assert [one for one in gc.get_objects() if type(one).__name__ in ("Item", "Variant", "Draw", "Slip")]
import gc; assert [one for one in gc.get_objects() if isinstance(one, dict) and "right_answer" in one and "mark" in one]
import os; assert [one for one in os.scandir("/proc/self/fd") if "answers" in os.readlink(one.path)]
"""


def _run(level: Level, engine: str, cells: list[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    level.make_old(monkeypatch)
    with Runner(level.protection, LIMITS, preload=(), engine=engine) as runner:
        return runner.run(cells)


def _answer(run: Run) -> str:
    return next((frame.answers["a"]["answer"] for frame in run.frames if "a" in frame.answers), f"none: {run}")


@pytest.mark.parametrize(("level", "engine"), EACH)
def test_nothing_that_holds_answers_is_reached_at_any_level(level: Level, engine: str, monkeypatch: pytest.MonkeyPatch) -> None:
    places = f"kit, grader = {str(Path(gearkit.__file__).parent)!r}, {str(Path(graders.__file__).parent)!r}\n"
    cell = (
        f"import sys\nsys.meta_path[:] = [one for one in sys.meta_path if type(one).__name__ != '_Guard']\n{places}"
        f"tag, lines = '.' + sys.implementation.cache_tag + '.pyc', {WAYS.splitlines()!r}\ndef through(line):\n    try:\n"
        "        exec(line, dict(globals()))\n    except BaseException:\n        return False\n    return True\n"
        "answer('a', 'through: ' + ' '.join(str(n) for n, line in enumerate(lines) if through(line)))"
    )
    told = _answer(_run(level, engine, [cell], monkeypatch))
    assert told.startswith("through:")
    assert [WAYS.splitlines()[int(number)] for number in told.split()[1:]] == []


def test_most_ways_get_through_where_nothing_is_hidden() -> None:
    # Without layers the guard is all there is, and it is only there for its sentence.
    with Runner(Protection(frozenset()), LIMITS, preload=()) as runner:
        run = runner.run(
            [
                "import sys\nsys.meta_path[:] = [one for one in sys.meta_path if type(one).__name__ != '_Guard']\n"
                "from gearkit.answers import items\nanswer('a', items.find('L03-02').id)"
            ]
        )
    assert _answer(run) == items.find("L03-02").id


@pytest.mark.parametrize(("level", "engine"), EACH)
def test_the_solver_works_at_every_level(level: Level, engine: str, monkeypatch: pytest.MonkeyPatch) -> None:
    cells = [
        "from gearkit.answers.symbols import symbols\nS, R = symbols('S R')\nimport gearkit\n"
        "layout = gearkit.find_layout('Q36')\nimport gearkit.solve.ratios, gearkit.solve.speeds, gearkit.explain.derivation, gearkit.draw\n"
        "answer('a', layout.name)"
    ]
    run = _run(level, engine, cells, monkeypatch)
    assert _answer(run) == gearkit.find_layout("Q36").name, run
    assert {frame.fault for frame in run.frames} == {""}


@pytest.mark.parametrize("engine", ["warm", "kernel"])
@pytest.mark.parametrize(
    ("cell", "fault"),
    [
        ("from gearkit.answers import items", "HiddenPartError"),
        ("try:\n    __import__('gear' + 'kit.answers.rules')\nexcept Exception:\n    pass", "HiddenPartError"),
        ("import graders.mark", "HiddenPartError"),
        ("from gearkit import open_lesson\nopen_lesson(3).exercise('L03-02')", "LessonCallError"),
        ("import gearkit\ntry:\n    gearkit.open_lesson(3).exercise('L03-02')\nexcept Exception:\n    pass", "LessonCallError"),
        ("import gearkit.solve.ratios", ""),
        ("x = 1", ""),
    ],
)
def test_a_cell_that_asked_for_a_hidden_part_is_told_by_its_frame_even_if_it_catches_the_sentence(
    cell: str,
    fault: str,
    engine: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    level = LEVELS[0].round_a_kernel() if engine == "kernel" else LEVELS[0]
    run = _run(level, engine, [cell, "answer('a', 1)"], monkeypatch)
    assert [frame.fault for frame in run.frames] == [fault, "", ""]
    assert _answer(run) == "1"


def test_the_sentence_names_the_part_and_the_next_thing_to_try(monkeypatch: pytest.MonkeyPatch) -> None:
    run = _run(
        LEVELS[0],
        "warm",
        ["try:\n    from gearkit.answers import items\nexcept ImportError as fault:\n    answer('a', fault)"],
        monkeypatch,
    )
    assert _answer(run) == kit_parts.SENTENCE.format(name="gearkit.answers.items")


@pytest.mark.parametrize(
    ("module", "hidden"),
    [
        ("gearkit.answers", False),
        ("gearkit.answers.symbols", False),
        ("gearkit.answers.read.reader", False),
        ("gearkit.answers.items", True),
        ("gearkit.answers.bank.one_set.lesson_03", True),
        ("gearkit.answers.something_new", True),
        ("gearkit.answersheet", False),
        ("graders", False),
        ("graders.run.engines.warm", False),
        ("graders.mark.marking", True),
        ("gearkit.solve.ratios", False),
        ("sympy", False),
    ],
)
def test_what_is_hidden_is_told_by_its_address(module: str, hidden: bool) -> None:
    assert kit_parts.is_hidden(module) is hidden


def test_a_copy_of_the_kit_elsewhere_on_the_path_is_hidden_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("symbols.py", "items.py", "bank/lesson_03.py", "__pycache__/items.cpython-311.pyc"):
        file = tmp_path / "gearkit" / "answers" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.touch()
    monkeypatch.syspath_prepend(str(tmp_path))
    folder = tmp_path / "gearkit" / "answers"
    assert kit_parts.views()[str(folder)] == (str(folder / "symbols.py"),)
    kept, passed = kit_parts.without_hidden([str(tmp_path)])
    assert kept == [str(folder / "symbols.py")]
    assert set(passed) == {str(tmp_path), str(tmp_path / "gearkit"), str(folder)}
