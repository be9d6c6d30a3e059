"""Reading a notebook and running it give the same answers, over notebooks made at random and a list of traps."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from contextlib import closing

import pytest

from graders.run.engines.engines import Engine, Engines
from graders.run.engines.runner import Run
from graders.run.read.harvest import Harvest, SheetCells, harvest
from graders.run.read.notebooks import Cell, Notebook
from graders.run.sandbox.layers import Limits
from tests.support.amounts import amount

ITEMS = ("L03-01", "L03-02", "L03-03", "L03-04")
SETUP = 'from gearkit.lesson.answering import answer\nfrom gearkit.answers.symbols import symbols\n\nS, P, R = symbols("S P R")'
SHEET = SheetCells(ITEMS, (SETUP,), ("S", "P", "R"))

ATOMS = ["R", "S", "P", "2", "3.5", "1e-3", "0", "10", "(R + S)", "(2*S - P)", "-R", "7/2", "R**2", "(1 + 2)", "0.1"]
SIGNS = [" + ", " - ", "*", "/", "/", " + "]
TEXTS = ["19/6", "1 + R/S", "-2.5", "3.2:1", "sun", "d, e, a", "2 34/59", "427.8 r/min", " two  words ", "Ω", "", "\\n", "#no"]
TRAPS = [
    "R = 7",
    "R, S = S, R",
    "S = P = 3",
    "from math import pi as R",
    "for R in range(3): pass",
    "import math as answer",
    "def answer(*a, **k): pass",
    "answer = lambda *a: None",
    "a = answer\na('L03-02', '9/9')",
    "del R",
    "answer.__class__",
    "class R: pass",
    "with open('/dev/null') as R: pass",
    "global R\nR = 1",
    "(R := 5)",
    "[R := 4 for _ in (1,)]",
    "try:\n    1/0\nexcept Exception as R:\n    pass",
    "import sys as S",
    "%time answer('L03-03', '1/2')",
    "%%time\nanswer('L03-03', '1/2')",
    "%R = 3",
    "!ls",
    "answer?",
    "R?",
    "_ = 3",
    "__ = answer",
    "In = Out = None",
    'exec("R = 2")',
    "globals()['R'] = 3",
    "vars()['answer'] = print",
    "answer('L03-04', R if 1 else S)",
    "answer('L03-04', *[1])",
    "answer('L03-04', **{'answer': '4'})",
    "answer('L03-04', f'{1 + 1}')",
    "answer('L03-04', R == S)",
    "answer('L03-04', 1/0)",
    "answer('L03-04', R/0)",
    "1/0\nanswer('L03-04', '1')",
    "answer('L03-04', '1')\n1/0",
    "answer('L03-04', '1'); R = 2",
    "answer('L03-04',",
    "answer('L03-04', 2 3)",
    "  answer('L03-04', '5')",
    ">>> answer('L03-04', '5')",
    "In [3]: answer('L03-04', '5')",
    "answer('L03-04', '''a\nb''')",
    "answer(\n  'L03-04',\n  1 +\n  R\n)",
    "answer('L03-04', 1 +\\\n R)",
    "# answer('L03-04', '7')",
    "'''answer('L03-04', '7')'''",
    "if 0: answer('L03-04', '7')",
    "await answer('L03-04', 1)",
    "print(answer('L03-04', '6'))",
    "answer('L03-04', answer('L03-03', 2))",
    "raise SystemExit",
    "quit()",
    "assert R",
    "x = 3\nanswer('L03-04', x)",
    "answer('L03-04', 10**400/3)",
    "answer('L03-04', 2**0.5)",
    "answer('L03-04', True + 1)",
    "answer('L03-04', R**-1)",
    "answer('L03-04', R**R)",
    "answer('L03-04', 'a' 'b')",
    "answer('L03-04', {'answer': R, 'x': [1, (2, 3)]})",
    "answer('L03-04', [R, S], x=None)",
    "answer('L03-04', b'1')",
    "answer('nobody', 1)",
    "answer(L03, 1)",
    "answer()",
    "answer('L03-04', 1, 2, 3)",
    "answer(item='L03-04')",
    "Answer('L03-04', 1)",
    "answer ('L03-04', 1)",
    "answer('L03-04', 1)  ;",
    "answer('L03-04', 1);;",
    "R + S",
    "R/0",
    "%matplotlib inline",
    "import numpy as np\nanswer('L03-04', np.float64(0.1) + 0.2)",
    "from sympy import symbols",
    "import sympy\nR = sympy.Symbol('R')\nanswer('L03-04', R + R)",
    "answer('L03-04', 0.1 + 0.2)",
    "answer('L03-04', '1'); answer('L03-04', '')",
    "\fanswer('L03-04', '5')",
    "return\nanswer('L03-04', '5')",
    "from __future__ import annotations\nanswer('L03-04', '5')",
    "answer('L03-04', __debug__='5')",
    "@answer\ndef f(): pass",
    "answer('L03-04', '1', answer='2', answer='3')",
    "nonlocal R\nanswer('L03-04', '5')",
    "from math import *\nanswer('L03-04', e)",
    "answer('L03-04', 1_0 + 0x1F)",
    "answer('L03-04', -0.0)",
    "answer('L03-04', 1e400)",
    "answer('L03-04', - - R)",
]


def expression(seeded: random.Random) -> str:
    return "".join(
        seeded.choice(ATOMS) + (seeded.choice(SIGNS) if more else "") for more in [True] * seeded.randrange(3) + [False]
    )


def argument(seeded: random.Random) -> str:
    kind = seeded.randrange(6)
    if kind < 2:
        return repr(seeded.choice(TEXTS))
    if kind < 4:
        return expression(seeded)
    if kind == 4:
        return f"[{expression(seeded)}, {seeded.choice(TEXTS)!r}]"
    return f"{{'answer': {expression(seeded)}, 2: {seeded.choice(TEXTS)!r}}}"


def plain_cell(seeded: random.Random) -> str:
    item = seeded.choice([*ITEMS, *ITEMS, "L09-09"])
    form = seeded.randrange(6)
    if form == 0:
        call = f'answer("{item}", S_R_C={argument(seeded)}, C_R_S={expression(seeded)})'
    elif form == 1:
        call = f"answer('{item}',\n       {argument(seeded)},\n       )  # done"
    else:
        call = f'answer("{item}", {argument(seeded)})'
    extra = ["", "", "# a comment\n", f"{expression(seeded)}\n", '"a note"\n', "pass\n"]
    return seeded.choice(extra) + call + seeded.choice(["", "", ";", "\n# end", f"\n{call}"])


def notebooks(count: int, seed: int, traps: float) -> Iterator[Notebook]:
    seeded = random.Random(seed)
    for _ in range(count):
        cells = [Cell("code", SETUP, "setup")] if seeded.random() < 0.9 else []
        for _ in range(seeded.randrange(1, 6)):
            source = seeded.choice(TRAPS) if seeded.random() < traps else plain_cell(seeded)
            kind = "markdown" if seeded.random() < 0.05 else "code"
            cells.append(Cell(kind, source, seeded.choice([*ITEMS, "", "", ""])))
        if seeded.random() < 0.2:
            seeded.shuffle(cells)
        yield Notebook(tuple(cells))


class Marker:
    """Runs cells as marking does: what plots, in a second process that has loaded what plotting needs."""

    def __init__(self, ways: Engines) -> None:
        self._ways = ways

    def run(self, cells: Sequence[str], setup: Sequence[str]) -> Run:
        return self._ways.run(cells, setup).run


@pytest.fixture(scope="module")
def runner() -> Iterator[Marker]:
    with closing(Engines(Limits(cell_seconds=20.0, seconds=60.0), engine=Engine.WARM)) as ways:
        assert ways.run(["1"], []).run.complete
        yield Marker(ways)


def both(notebook: Notebook, runner: Marker) -> tuple[Harvest, Harvest]:
    return harvest(notebook, SHEET, runner.run), harvest(notebook, SHEET, runner.run, always_run=True)


def assert_same(notebook: Notebook, runner: Marker) -> str:
    chosen, ran = both(notebook, runner)
    sources = [cell.source for cell in notebook.cells]
    assert dict(chosen.answers) == dict(ran.answers), sources
    assert dict(chosen.broken) == dict(ran.broken), sources
    assert chosen.flags == ran.flags, sources
    return chosen.way


@pytest.mark.parametrize("trap", TRAPS)
def test_a_trap_before_and_after_answers_changes_nothing_between_the_two_ways(trap: str, runner: Marker) -> None:
    answers = [Cell("code", 'answer("L03-02", 1 + R/S)', "L03-02"), Cell("code", "answer('L03-03', '2/3')", "L03-03")]
    for cells in ([Cell("code", trap), *answers], [*answers, Cell("code", trap)]):
        assert_same(Notebook((Cell("code", SETUP, "setup"), *cells)), runner)


def test_plain_notebooks_made_at_random_are_read_as_they_run(runner: Marker) -> None:
    ways = [assert_same(notebook, runner) for notebook in notebooks(amount(300, 120), seed=1, traps=0.0)]
    assert ways.count("read") > 0.7 * len(ways)


def test_mixed_notebooks_made_at_random_are_read_as_they_run(runner: Marker) -> None:
    ways = [assert_same(notebook, runner) for notebook in notebooks(amount(200, 100), seed=2, traps=0.15)]
    assert 0.2 * len(ways) < ways.count("read") < 0.9 * len(ways)


@pytest.mark.slow
def test_five_thousand_notebooks_that_can_be_read_are_read_as_they_run(runner: Marker) -> None:
    compared, wanted = 0, amount(5000, 150)
    for notebook in notebooks(20_000, seed=3, traps=0.03):
        chosen = harvest(notebook, SHEET, None)
        if chosen.way == "read":
            ran = harvest(notebook, SHEET, runner.run, always_run=True)
            sources = [cell.source for cell in notebook.cells]
            assert (dict(chosen.answers), dict(chosen.broken)) == (dict(ran.answers), dict(ran.broken)), sources
            assert chosen.flags == ran.flags, sources
            compared += 1
        if compared == wanted:
            break
    assert compared == wanted


LINES = SETUP.splitlines()
CALL = f'answer("{ITEMS[0]}", R/S)'


@pytest.mark.parametrize(
    "source",
    [
        f"{SETUP}\n{CALL}",
        f"{CALL}\n{SETUP}",
        "\n".join([LINES[0], CALL, *LINES[1:]]),
        CALL,
        "\n".join([*LINES[1:], CALL]),
        f"# mine\n{SETUP}\n\n# here\n{CALL}",
    ],
)
def test_what_was_written_into_the_sheets_own_cell_is_not_lost(source: str, runner: Marker) -> None:
    chosen, ran = both(Notebook((Cell("code", source, "setup"),)), runner)
    assert dict(chosen.answers) == dict(ran.answers) == {ITEMS[0]: {"answer": "R/S"}}
    assert (
        chosen.flags
        == ran.flags
        == ("The sheet's own cell was changed; it was taken as it was handed out, and what was added to it as another cell.",)
    )


@pytest.mark.parametrize("source", ["answer = print", "\n".join(LINES[:1]), "S, P, R = 1, 2, 3", "# only a remark"])
def test_the_sheets_own_cell_is_taken_as_handed_out_where_nothing_is_answered_in_it(source: str, runner: Marker) -> None:
    chosen, ran = both(Notebook((Cell("code", source, "setup"), Cell("code", CALL))), runner)
    assert dict(chosen.answers) == dict(ran.answers) == {ITEMS[0]: {"answer": "R/S"}}
    assert chosen.flags == ran.flags == ("The sheet's own cell was changed; it was taken as it was handed out.",)
