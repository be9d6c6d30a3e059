"""Goes through everything that running a notebook goes through, before the first one comes, and forgets it again.

What a process does for the first time costs several times the second: modules are loaded, code is specialised by the
interpreter, look-ups are remembered. Each submission runs in a fork and would pay all of it anew; done before the fork it
is there for all of them. Nothing of a submission is in it.
"""

from __future__ import annotations

import asyncio
import importlib
import linecache
import os
from collections.abc import Mapping
from typing import Any

from graders.run.engines import cells
from graders.run.engines.reply_protocol import packed

# Python specialises code that was run eight times.
ROUNDS = 10
SETUP = ('from gearkit.answers.symbols import symbols\n\nS, R = symbols("S R")',)
CELLS = (
    "answer('L00-01', (R + S)/S - 2*R**2)",
    "answer('L00-02', left='3/2', right=R/S)",
    "answer('L00-03', '-2.5 r/min')",
    "texts = {'answer': '1 + R/S', 'other': [1, 0.5, None]}\nfor item in range(2):\n    answer(f'L00-0{item}', texts)",
    "x = 3",
    "x + 1",
    "R/S",
    "'words';",
    "print(x, R/S)",
    "import math\nroots = [math.sqrt(k) for k in range(3)]\nroots",
    "from fractions import Fraction\nanswer('L00-04', Fraction(x, 2))",
    "def twice(a):\n    return 2*a\n\nclass Gear:\n    teeth = twice(x)",
    "if x > 2:\n    answer('L00-05', twice(R))",
    "1/0",
    "twice()",
    "x = (1 +",
    "%time x",
    ">>> x",
    "  x",
    "import asyncio\nawait asyncio.sleep(0)",
    "",
    "# only a remark",
)


def warm_up(shell: Any) -> None:
    """Run the cells above often enough, then make the shell as new.

    Args:
        shell: a shell in which nothing was run yet.
    """
    nowhere = os.open(os.devnull, os.O_WRONLY)

    def send(message: Mapping[str, Any]) -> None:
        os.write(nowhere, packed(message))

    for _ in range(ROUNDS):
        cells.begin(shell)
        cells.run_cells(shell, 60.0, CELLS, SETUP, send)
        asyncio.get_event_loop().close()
    asyncio.set_event_loop(None)
    os.close(nowhere)
    _forget(shell)


def _forget(shell: Any) -> None:
    """Leave nothing of what was run but what the interpreter learnt from it."""
    importlib.import_module("gearkit.lesson.answering").clear()
    shell.compile = shell.compiler_class()
    linecache.clearcache()
    shell.reset(new_session=True)
    for name in ("_i00", "_i", "_ii", "_iii"):
        setattr(shell.history_manager, name, "")
    # A fresh notebook has these, empty; resetting forgot them.
    shell.user_ns.update({"_": "", "__": "", "___": ""})
