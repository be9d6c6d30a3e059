"""The shell that submissions inherit: as new after its warm-up, and doing less than IPython's own without doing other things."""

from __future__ import annotations

import ast
import fractions
import inspect
import mmap
import statistics
import subprocess
import sys
import textwrap
import types
from collections.abc import Iterator

import pytest

from graders.run.engines.runner import Run, Runner
from graders.run.engines.shell import OnceParsed, Statements
from graders.run.sandbox import large_pages, select_sandbox
from graders.run.sandbox.layers import Limits


@pytest.fixture(scope="module")
def runner() -> Iterator[Runner]:
    choice = select_sandbox.choose(Limits(cell_seconds=5.0, seconds=20.0))
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
def test_nothing_of_the_warm_up_is_seen_by_a_notebook(looked: str, runner: Runner) -> None:
    assert told(runner.run([f"answer('a', repr({looked}))"])) == [FRESH[looked]]


def test_what_a_cell_raised_is_kept_with_its_name_its_words_and_its_lines(runner: Runner) -> None:
    kept = "get_ipython().history_manager.exceptions"
    run = runner.run(
        [
            "def wrong():\n    return 1/0\nwrong()",
            "x = = 1",
            f"answer('a', [sorted({kept}), {kept}[2]['ename'], {kept}[2]['evalue'], {kept}[3]['ename']])",
            f"answer('b', ''.join({kept}[2]['traceback']))",
        ]
    )
    assert [frame.fault for frame in run.frames] == ["ZeroDivisionError", "SyntaxError", "", "", ""]
    assert run.frames[2].answers == {"a": {"answer": "2, 3, ZeroDivisionError, division by zero, SyntaxError"}}
    assert "line 2, in wrong return 1/0" in " ".join(run.frames[3].answers["b"]["answer"].split())


def test_an_exception_that_renders_itself_is_asked_to_as_in_a_notebook(runner: Runner) -> None:
    run = runner.run(
        [
            "class Odd(Exception):\n    def _render_traceback_(self):\n        answer('a', 'asked')\n        return ['odd']",
            "raise Odd",
            "answer('b', get_ipython().history_manager.exceptions[3]['traceback'])",
        ]
    )
    assert [frame.fault for frame in run.frames] == ["", "Odd", "", ""]
    assert run.frames[1].answers == {"a": {"answer": "asked"}}
    assert run.frames[2].answers == {"b": {"answer": "odd"}}


def test_what_was_parsed_ahead_is_given_away_once_and_only_for_the_same_text_in_the_same_dialect() -> None:
    compiler = OnceParsed()
    for apart, kind in ((True, Statements), (False, ast.Module)):
        compiler.parse_ahead("x = 1\n", "<cell>", apart=apart)
        assert compiler._ahead is not None
        ahead = compiler._ahead[0]
        assert isinstance(ahead, kind)
        assert compiler.ast_parse("x = 1\n", "<cell>") is ahead
        assert isinstance(compiler.ast_parse("x = 1\n", "<cell>"), ast.Module)
    compiler.parse_ahead("x = 1\n", "<cell>")
    other = compiler.ast_parse("x = 2\n", "<cell>")
    assert isinstance(other, ast.Module)
    assert ast.dump(other) == ast.dump(ast.parse("x = 2\n"))
    compiler.parse_ahead("x = 1\n", "<cell>")
    assert isinstance(compiler.ast_parse("x = 1\n", "<another>"), ast.Module)
    compiler.parse_ahead("x = 1\n", "<cell>")
    compiler("from __future__ import annotations\n", "<cell>", "exec")
    assert isinstance(compiler.ast_parse("x = 1\n", "<cell>"), ast.Module)
    with pytest.raises(SyntaxError, match="incomplete input"):
        compiler.parse_ahead("x = (1 +\n", "<cell>")


def as_ipython_does(source: str) -> list[types.CodeType]:
    """The statements of a cell, each compiled from its tree; the last one shows its value."""
    compiler = OnceParsed()
    tree = compiler.ast_parse(source)
    assert isinstance(tree, ast.Module)
    body = tree.body
    shown = len(body) - 1 if isinstance(body[-1], ast.Expr) else None
    return [
        compiler(
            ast.Interactive([node]) if place == shown else ast.Module([node], []),
            "<cell>",
            "single" if place == shown else "exec",
        )
        for place, node in enumerate(body)
    ]


def but_second_line(code: types.CodeType) -> object:
    """A statement's code with the lines of all steps but the second."""
    lines = list(code.co_positions())
    return code.replace(co_linetable=b""), lines[:1], lines[2:]


APART = (
    "x = 1",
    "# a remark\n\nx = 1\n# another\nx",
    "answer('a', 1)",
    "for x in y:\n    f(x)",
    "def f():\n    g()\n\n    h()\n# end",
    "f(1,\n  2\n)",
    "x = {\n    'a': 1,\n}\nx",
    "'''words'''\nx",
    "'words'",
    "if x:\n    y\n#else:\n    z",
    "from __future__ import annotations\ndef f(x: int): pass",
    "class A:\n    x = 1\n\n    def f(self): return 1",
    "iffy = 1\nformer",
    "x = 1000\ny = 1000\nx is y",
    "x",
    "while x: break",
    "with f() as x:\n\tg(x)",
    "import a, b",
    "del x",
    "assert x",
    "pass",
    "lambda: 0",
    "x = y = 2",
    "# caf\u00e9\u2028x = 1\ny",
    "x = '\u2028'\ny",
)
TOGETHER = (
    "x = 1; y",
    "if x:\n    y\nelse:\n    z",
    "try:\n    x\nexcept E:\n    y",
    "x = \\\n1",
    "x = (\n1\n)",
    "'''a\nb'''\nx",
    "@f\ndef g(): pass",
    "match x:\n    case 1: y",
    "# a\rx = 1\ny",
    "for x in y:\n    f()\n\fg()",
    "await x",
    ")\nx = 1",
    "x = 1\n)",
    "x = 1\n  y",
    "%time x",
    "!ls",
    "x?",
    "return",
    "x = 1\nreturn",
    "",
    "# only a remark",
    "x = (1 +",
)


@pytest.mark.parametrize("source", APART)
def test_statements_parted_by_their_lines_are_what_their_trees_give(source: str) -> None:
    assert OnceParsed().statements(f"{source}\n", "<cell>") == as_ipython_does(f"{source}\n")


@pytest.mark.parametrize("source", TOGETHER)
def test_what_lines_do_not_part_is_left_to_the_tree(source: str) -> None:
    compiler = OnceParsed()
    before = compiler.flags
    assert not compiler.statements(f"{source}\n", "<cell>")
    assert compiler.flags == before


def test_longer_texts_are_parted_right_or_not_at_all() -> None:
    parted, left = 0, 0
    for module in (ast, textwrap, fractions, statistics):
        text = inspect.getsource(module)
        lines, body = text.split("\n"), ast.parse(text).body
        for first, last in zip(body, body[2:], strict=False):
            source = "\n".join(lines[first.lineno - 1 : last.end_lineno]) + "\n"
            found = OnceParsed().statements(source, "<cell>")
            # The second step of a statement may be to note that it has annotations; only its line differs, and nothing
            # shows it.
            assert found is None or list(map(but_second_line, found)) == list(map(but_second_line, as_ipython_does(source)))
            parted, left = parted + bool(found), left + (not found)
    assert parted > 50
    assert left > 20


def test_a_notebook_may_show_every_value_and_change_every_tree(runner: Runner) -> None:
    more = ["get_ipython().ast_node_interactivity = 'all'", "5\nx = 6", "answer('a', _)"]
    assert told(runner.run(more)) == ["5"]
    change = (
        "import ast\nclass More(ast.NodeTransformer):\n    def visit_Constant(self, node):\n"
        "        return ast.Constant(node.value + 1) if node.value == 5 else node\n"
        "get_ipython().ast_transformers.append(More())"
    )
    assert told(runner.run([change, "answer('a', 5)"])) == ["6"]


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
    "a task": (
        STARTED + "async def work():\n    seen.append(1)\n    await asyncio.sleep(0)\n    seen.append(2)\n"
        "held = loop.create_task(work())",
        "1, 2",
    ),
    "a cell that cancels its own task": (STARTED + "asyncio.current_task().cancel()", ""),
}


@pytest.mark.parametrize("name", GOES_ON)
def test_what_a_cell_starts_goes_on_before_the_next_cell(name: str, runner: Runner) -> None:
    cell, seen = GOES_ON[name]
    run = runner.run([cell, "answer('a', seen)", "await asyncio.sleep(0)\nanswer('b', 1)", "answer('c', 1)"])
    assert run.complete
    assert [frame.answers for frame in run.frames[1:4]] == [
        {one: {"answer": text}} for one, text in (("a", seen), ("b", "1"), ("c", "1"))
    ]


def test_an_answer_is_told_with_the_cell_that_changed_it_and_with_no_other(runner: Runner) -> None:
    cells = ["answer('a', 1)", "answer('b', 2)\nanswer('a', 1)", "x = 1", "answer('a', 3)\nanswer('b')", "answer('a', 1)"]
    one, two, three = ({"answer": text} for text in ("1", "2", "3"))
    assert [frame.answers for frame in runner.run(cells).frames[:-1]] == [{"a": one}, {"b": two}, {}, {"a": three}, {"a": one}]


def test_memory_put_into_large_pages_keeps_what_is_in_it() -> None:
    code = (
        "from graders.run.sandbox import large_pages\nkept = [str(n) * 20 for n in range(400_000)]\n"
        "found = large_pages.places()\nassert len(found) > 5, found\nlarge_pages.gather(found)\n"
        "assert all(text == str(n) * 20 for n, text in enumerate(kept))\nprint('kept')"
    )
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
