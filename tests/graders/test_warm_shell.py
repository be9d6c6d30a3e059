"""The shell that submissions inherit: as new after its rehearsal, and doing less than IPython's own without doing other things."""

from __future__ import annotations

import ast
import mmap
import subprocess
import sys
from collections.abc import Iterator

import pytest

from graders.run import choosing, large_pages
from graders.run.protection import Limits
from graders.run.runner import Run, Runner
from graders.run.shell import OnceParsed


@pytest.fixture(scope="module")
def runner() -> Iterator[Runner]:
    choice = choosing.choose(Limits(cell_seconds=5.0, seconds=20.0))
    assert choice.runner is not None
    with choice.runner as found:
        yield found


def told(run: Run) -> list[str]:
    assert run.complete
    assert [frame.fault for frame in run.frames if frame.fault] == []
    return [frame.answers["a"]["answer"] for frame in run.frames if "a" in frame.answers]


FIRST = "from gearkit.lesson.answering import answer"
# What the first cell of a notebook sees, in which nothing but the line above was run before it.
FRESH = {
    "get_ipython().execution_count": "3",
    "In[:-1]": f"['', {FIRST!r}]",
    "[Out, _oh, _, __, ___]": "[{}, {}, '', '', '']",
    "[_i, _ii, _iii, _i1]": f"[{FIRST!r}, '', '', {FIRST!r}]",
    "list(get_ipython().history_manager.get_range())[:-1]": f"[(0, 1, {FIRST!r})]",
    "dict(get_ipython().history_manager.exceptions)": "{}",
    "dict(get_ipython().history_manager.outputs)": "{}",
    "get_ipython().last_execution_result.info.raw_cell": repr(FIRST),
    "sorted(set(globals()) & {'x', 'S', 'R', 'roots', 'math', 'twice', 'Gear', 'texts', 'item', 'Fraction'})": "[]",
    "__import__('gearkit.lesson.answering').lesson.answering.collected()": "{}",
    "sum(name.startswith('<ipython-input') for name in __import__('linecache').cache)": "2",
    "get_ipython().compile.flags == type(get_ipython().compile)().flags": "True",
    "len(__import__('asyncio').all_tasks())": "1",
    "'__warningregistry__' in globals()": "False",
}


@pytest.mark.parametrize("looked", FRESH)
def test_nothing_of_the_rehearsal_is_seen_by_a_notebook(looked: str, runner: Runner) -> None:
    assert told(runner.run([f"answer('a', repr({looked}))"])) == [FRESH[looked]]


def test_what_a_cell_raised_is_kept_with_its_name_its_words_and_its_lines(runner: Runner) -> None:
    kept = "get_ipython().history_manager.exceptions"
    run = runner.run(["def wrong():\n    return 1/0\nwrong()", "x = = 1",
                      f"answer('a', [sorted({kept}), {kept}[2]['ename'], {kept}[2]['evalue'], {kept}[3]['ename']])",
                      f"answer('b', ''.join({kept}[2]['traceback']))"])
    assert [frame.fault for frame in run.frames] == ["ZeroDivisionError", "SyntaxError", "", "", ""]
    assert run.frames[2].answers == {"a": {"answer": "2, 3, ZeroDivisionError, division by zero, SyntaxError"}}
    assert "line 2, in wrong return 1/0" in " ".join(run.frames[3].answers["b"]["answer"].split())


def test_an_exception_that_renders_itself_is_asked_to_as_in_a_notebook(runner: Runner) -> None:
    run = runner.run(["class Odd(Exception):\n    def _render_traceback_(self):\n        answer('a', 'asked')\n        return ['odd']",
                      "raise Odd", "answer('b', get_ipython().history_manager.exceptions[3]['traceback'])"])
    assert [frame.fault for frame in run.frames] == ["", "Odd", "", ""]
    assert run.frames[1].answers == {"a": {"answer": "asked"}}
    assert run.frames[2].answers == {"b": {"answer": "odd"}}


def test_a_tree_parsed_ahead_is_given_away_once_and_only_for_the_same_text_in_the_same_dialect() -> None:
    compiler = OnceParsed()
    compiler.parse_ahead("x = 1\n")
    ahead = compiler._ahead
    assert ahead is not None
    assert compiler.ast_parse("x = 1\n") is ahead[2]
    assert compiler.ast_parse("x = 1\n") is not ahead[2]
    compiler.parse_ahead("x = 1\n")
    assert ast.dump(compiler.ast_parse("x = 2\n")) == ast.dump(ast.parse("x = 2\n"))
    compiler.parse_ahead("x = 1\n")
    ahead = compiler._ahead
    assert ahead is not None
    compiler("from __future__ import annotations\n", "<cell>", "exec")
    assert compiler.ast_parse("x = 1\n") is not ahead[2]
    with pytest.raises(SyntaxError):
        compiler.parse_ahead("x = (1 +\n")


def test_a_future_statement_counts_for_the_cells_after_it(runner: Runner) -> None:
    cells = ["from __future__ import annotations", "def f(a: nowhere): pass\nanswer('a', f.__annotations__['a'])"]
    assert told(runner.run(cells)) == ["nowhere"]
    assert runner.run(cells[1:]).frames[0].fault == "NameError"


def test_two_statements_of_a_cell_are_compiled_apart_as_in_a_notebook(runner: Runner) -> None:
    assert told(runner.run(["first = 1000\nsecond = 1000\nanswer('a', first is second)"])) == ["False"]
    run = runner.run(["answer('a', 1)\nreturn"])
    assert (run.frames[0].answers, run.frames[0].fault) == ({"a": {"answer": "1"}}, "SyntaxError")


STARTED = "import asyncio\nseen = []\nloop = asyncio.get_running_loop()\n"
GOES_ON = {
    "a call": (STARTED + "loop.call_soon(seen.append, 1)", "1"),
    "a call that makes another": (STARTED + "loop.call_soon(loop.call_soon, seen.append, 1)", "1"),
    "a task": (STARTED + "async def work():\n    seen.append(1)\n    await asyncio.sleep(0)\n    seen.append(2)\n"
               "held = loop.create_task(work())", "1, 2"),
    "a cell that cancels its own task": (STARTED + "asyncio.current_task().cancel()", ""),
}


@pytest.mark.parametrize("name", GOES_ON)
def test_what_a_cell_starts_goes_on_before_the_next_cell(name: str, runner: Runner) -> None:
    cell, seen = GOES_ON[name]
    run = runner.run([cell, "answer('a', seen)", "await asyncio.sleep(0)\nanswer('b', 1)", "answer('c', 1)"])
    assert run.complete
    assert [frame.answers for frame in run.frames[1:4]] == [{one: {"answer": text}} for one, text in
                                                            (("a", seen), ("b", "1"), ("c", "1"))]


def test_an_answer_is_told_with_the_cell_that_changed_it_and_with_no_other(runner: Runner) -> None:
    cells = ["answer('a', 1)", "answer('b', 2)\nanswer('a', 1)", "x = 1", "answer('a', 3)\nanswer('b')", "answer('a', 1)"]
    one, two, three = ({"answer": text} for text in ("1", "2", "3"))
    assert [frame.answers for frame in runner.run(cells).frames[:-1]] == [{"a": one}, {"b": two}, {}, {"a": three}, {"a": one}]


def test_memory_put_into_large_pages_keeps_what_is_in_it() -> None:
    code = ("from graders.run import large_pages\nkept = [str(n) * 20 for n in range(400_000)]\n"
            "found = large_pages.places()\nassert len(found) > 5, found\nlarge_pages.gather(found)\n"
            "assert all(text == str(n) * 20 for n, text in enumerate(kept))\nprint('kept')")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.stdout, done.returncode) == ("kept\n", 0), done.stderr


def test_places_that_cannot_be_gathered_are_left_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    with mmap.mmap(-1, mmap.PAGESIZE) as page:
        page[:4] = b"kept"
        # Address 0 belongs to nobody.
        large_pages.gather([0])
        assert page[:4] == b"kept"
    monkeypatch.setattr(large_pages, "_MAPS", large_pages._MAPS.with_name("no-such-file"))
    assert large_pages.places() == []
