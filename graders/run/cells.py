"""Runs the cells of one notebook in the warm shell, in a process that is thrown away afterwards.

This code shares its process with the learner's: nothing it reports is believed beyond its form.
"""

from __future__ import annotations

import asyncio
import contextvars
import importlib
import signal
import sys
import types
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from graders.run.frames import bounded

Send = Callable[[Mapping[str, Any]], None]
PREPARATION = "from gearkit.lesson.answering import answer"


class CellTimeout(BaseException):
    """A cell ran longer than allowed; not an Exception, so that an ordinary handler does not catch it."""


def begin(shell: Any) -> None:
    """Run what comes before the first cell of every notebook, before any fork.

    Args:
        shell: a shell in which nothing was run yet.
    """
    signal.signal(signal.SIGALRM, _out_of_time)
    asyncio.run(_one_cell(shell, PREPARATION))


def run_cells(shell: Any, cell_seconds: float, cells: Sequence[str], setup: Sequence[str], send: Send) -> None:
    """Run cells in order and send the answers that each of them changed.

    Args:
        shell: a shell in which `begin` was run.
        cell_seconds: time for one cell, in seconds.
        cells: sources of the notebook's code cells.
        setup: sources of the cells that the sheet itself brings; they are run first, so that a deleted
            or moved one costs nobody an answer.
        send: takes each message.
    """
    # A loop that was made before the fork would be dead here.
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    answering = importlib.import_module("gearkit.lesson.answering")
    # What a cell sets for its context, such as the number of digits of `decimal`, counts for the cells after it.
    context = contextvars.copy_context()
    for source in setup:
        loop.run_until_complete(loop.create_task(_one_cell(shell, source), context=context))
    answering.clear()
    known: Mapping[str, Mapping[str, str]] = {}
    for index, source in enumerate(cells):
        fault = _timed_cell(loop, context, shell, source, cell_seconds)
        try:
            now = answering.collected()
            changed = bounded({item: parts for item, parts in now.items() if known.get(item) != parts})
            known = now
        except BaseException as ended:
            changed, fault = {}, type(ended).__name__
        send({"cell": index, "answers": changed, "fault": fault, "last": False})
    signal.setitimer(signal.ITIMER_REAL, 0)
    send({"cell": len(cells), "answers": {}, "fault": "", "last": True})


def _timed_cell(loop: asyncio.AbstractEventLoop, context: contextvars.Context, shell: Any, source: str,
                cell_seconds: float) -> str:
    """Run a cell in its time; the name of what ended it, or ""."""
    try:
        # The interval repeats the alarm for a cell that catches the first one.
        signal.setitimer(signal.ITIMER_REAL, cell_seconds, 0.5)
        own = context.copy() if _waits(shell, source) else context
        task = loop.create_task(_one_cell(shell, source), context=own)
        try:
            return loop.run_until_complete(task)
        finally:
            # A cell that waits for ever is left by the alarm; its task must not go on beside the next cell.
            task.cancel()
    except BaseException as ended:
        return type(ended).__name__


def translated(shell: Any, source: str) -> str:
    """A cell as plain Python, magics and prompts translated.

    What is Python already, translating leaves as it is, and it takes a third of the time of a simple cell; except for a
    pasted prompt such as "In [3]: x", which happens to be Python too, and where the notebook translates more by itself.

    Args:
        shell: the shell.
        source: the cell.
    """
    plain = bool(source) and not source[0].isspace() and not source.startswith("In [")
    if not plain or shell.input_transformers_post or shell.transforms() != shell.usual_transforms:
        return str(shell.transform_cell(source))
    whole = source if source.endswith("\n") else source + "\n"
    try:
        shell.compile.parse_ahead(whole)
    except Exception:
        return str(shell.transform_cell(source))
    return whole


def _waits(shell: Any, source: str) -> bool:
    """Whether a cell itself awaits something; a kernel gives such a cell a copy of what the cells before it set."""
    if "await" not in source and "async" not in source:
        return False
    try:
        return bool(shell.should_run_async(source, transformed_cell=translated(shell, source)))
    except Exception:
        return False


async def _one_cell(shell: Any, source: str) -> str:
    """Run a cell as a kernel does, inside the one running loop; the name of its exception, or "".

    A cell without `await` runs through without giving the loop a turn, as in `run_cell`, which would translate magics a
    second time. The two events are what a kernel sends after each cell; figures are closed by them.
    """
    try:
        transformed, trouble = translated(shell, source), None
    except Exception:
        transformed, trouble = source, sys.exc_info()
    result = None
    try:
        result = await shell.run_cell_async(source, store_history=True, transformed_cell=transformed,
                                            preprocessing_exc_tuple=trouble)
    finally:
        shell.events.trigger("post_execute")
        shell.events.trigger("post_run_cell", result)
    ended = result.error_before_exec or result.error_in_exec
    return type(ended).__name__ if ended is not None else ""


def _out_of_time(number: int, frame: types.FrameType | None) -> None:
    raise CellTimeout("the cell ran longer than allowed")
