"""The bare cost of running the cells of a class in one warm interpreter: no fork, no layers, nothing collected between.

    python -m tests.bench.marking.bare_interpreter COURSE SHEET

prints one line of JSON with seconds for each submission: with plain `exec`, and in an IPython shell as notebooks have.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from IPython.core.interactiveshell import InteractiveShell
from traitlets.config import Config

from gearkit.lesson import answering
from graders.course.course import open_course
from graders.hand_out.hand_out import sheet_of
from graders.mark.marking import what_to_run
from graders.mark.submissions import submissions
from graders.run.engines import cells
from graders.run.remote.remote_protocol import Request

WARMING = 3


def plain(request: Request) -> int:
    """Run the cells by exec; how many answers came of it."""
    names: dict[str, object] = {}
    for source in (cells.PREPARATION, *request.setup, *request.cells):
        # A failing cell is part of the job, as in a notebook.
        with contextlib.suppress(Exception):
            exec(compile(source, "<cell>", "exec"), names)
    return len(answering.collected())


class OneShell:
    """IPython's own shell, made once and emptied between submissions."""

    def __init__(self) -> None:
        config = Config()
        config.HistoryManager.enabled = False
        self._shell = InteractiveShell.instance(config=config)

    def run(self, request: Request) -> int:
        """Run the cells; how many answers came of it."""
        for source in (cells.PREPARATION, *request.setup, *request.cells):
            self._shell.run_cell(source, store_history=True)
        return len(answering.collected())

    def empty(self) -> None:
        """Forget a submission."""
        self._shell.reset(new_session=True)


def each(run: Callable[[Request], int], requests: Sequence[Request], between: Callable[[], None] = answering.clear) -> float:
    """Seconds for each submission, after some to warm up; what comes between two of them is not counted.

    Args:
        run: runs one.
        requests: the submissions.
        between: forgets one.
    """
    taken = 0.0
    for place, request in enumerate([*requests[:WARMING], *requests]):
        answering.clear()
        started = time.perf_counter()
        assert run(request) > 0
        taken += time.perf_counter() - started if place >= WARMING else 0.0
        between()
    return taken / len(requests)


def main() -> None:
    """Run every submission that has to be run."""
    course = open_course(Path(sys.argv[1]))
    sheet = sheet_of(course, sys.argv[2])
    found = [what_to_run(sheet, one, always_run=True) for one in submissions(course, sheet.name)]
    requests = [request for request in found if request is not None]
    # As in the sandbox, the sentence on how an answer reads is not made.
    answering.how_it_reads = lambda item, given: ""
    with contextlib.redirect_stdout(io.StringIO()):
        shell = OneShell()
        told = {"exec": each(plain, requests), "shell": each(shell.run, requests, shell.empty)}
    print(json.dumps(told))


if __name__ == "__main__":
    main()
