"""The bare cost of running the cells of a class in one warm interpreter: no fork, no walls, nothing collected between.

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

from gearkit.lesson import answering
from graders.mark.marking import what_to_run
from graders.mark.submissions import submissions
from graders.prepare.course import open_course
from graders.prepare.hand_out import sheet_of
from graders.run import cells, shell
from graders.run.posting import Request


def plain(request: Request) -> int:
    """Run the cells by exec; how many answers came of it."""
    names: dict[str, object] = {}
    for source in (cells.PREPARATION, *request.setup, *request.cells):
        # A failing cell is part of the job, as in a notebook.
        with contextlib.suppress(Exception):
            exec(compile(source, "<cell>", "exec"), names)
    return len(answering.collected())


def in_shell() -> Callable[[Request], int]:
    """What runs the cells in an IPython shell that is made once."""
    made = shell.make()

    def run(request: Request) -> int:
        for source in (cells.PREPARATION, *request.setup, *request.cells):
            made.run_cell(source, store_history=True)
        found = len(answering.collected())
        made.reset(new_session=True)
        return found
    return run


def each(run: Callable[[Request], int], requests: Sequence[Request]) -> float:
    """Seconds for each submission, after one round to warm up."""
    for request in requests[:3]:
        run(request)
    started = time.perf_counter()
    for request in requests:
        answering.clear()
        assert run(request) > 0
    return (time.perf_counter() - started) / len(requests)


def main() -> None:
    """Run every submission that has to be run."""
    course = open_course(Path(sys.argv[1]))
    sheet = sheet_of(course, sys.argv[2])
    found = [what_to_run(sheet, one, always_run=True) for one in submissions(course, sheet.name)]
    requests = [request for request in found if request is not None]
    # As in the sandbox, the sentence on how an answer reads is not made.
    answering.how_it_reads = lambda item, given: ""  # type: ignore[assignment]
    with contextlib.redirect_stdout(io.StringIO()):
        told = {"exec": each(plain, requests), "shell": each(in_shell(), requests)}
    print(json.dumps(told))


if __name__ == "__main__":
    main()
