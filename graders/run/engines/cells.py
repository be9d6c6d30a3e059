"""Runs the cells of one notebook in the warm shell, in a process that is thrown away afterwards.

This code shares its process with the learner's: nothing it reports is believed beyond its form.
"""

from __future__ import annotations

import asyncio
import contextvars
import importlib
import os
import signal
import sys
import time
import types
from collections.abc import Callable, Coroutine, Mapping, Sequence
from typing import Any

from graders.run.engines.reply_protocol import OUT_OF_TIME, bounded
from graders.run.sandbox import kit_parts

Send = Callable[[Mapping[str, Any]], None]
PREPARATION = "from gearkit.lesson.answering import answer"
# How often a cell may catch the alarm, and how soon it comes again, as a share of a cell's time.
MOST_CAUGHT, AGAIN = 4, 0.05
# A cell that computes has its time on the processor, which other programs may keep from it, up to so many times that time on
# the clock. One that waits for something by itself hardly computes, and has its time by the clock.
MOST_SHARED, COMPUTES = 3.0, 0.1


class CellTimeout(BaseException):
    """A cell ran longer than allowed; not an Exception, so that an ordinary handler does not catch it."""


class _Alarms:
    """How often the alarm came in the cell that is running, its time, and what clock and processor said when it began."""

    come = 0
    seconds = began = used = 0.0


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
    loop = _Loop()
    asyncio.set_event_loop(loop)
    _Session(shell, loop, cell_seconds, cells, send).run(setup)
    signal.setitimer(signal.ITIMER_REAL, 0)
    send({"cell": len(cells), "answers": {}, "fault": "", "last": True})


class _Loop(asyncio.SelectorEventLoop):
    """A loop that notices whether anybody but the cells asks for a turn; a sheet's cells hardly ever do."""

    asked = False

    def call_soon(self, *what: Any, **how: Any) -> asyncio.Handle:  # type: ignore[override]  # handed on as it comes
        """Call something in the next turn."""
        self.asked = True
        return super().call_soon(*what, **how)

    def call_at(self, *what: Any, **how: Any) -> asyncio.TimerHandle:  # type: ignore[override]  # handed on as it comes
        """Call something at a time."""
        self.asked = True
        return super().call_at(*what, **how)

    def call_soon_threadsafe(self, *what: Any, **how: Any) -> asyncio.Handle:  # type: ignore[override]  # handed on as it comes
        """Call something that another thread has ready."""
        self.asked = True
        return super().call_soon_threadsafe(*what, **how)


class _Session:
    """One notebook being run.

    Cells that await nothing are run in a row by one task, since a task for each costs more than many a cell. One that
    awaits is a task by itself.
    """

    def __init__(self, shell: Any, loop: _Loop, cell_seconds: float, cells: Sequence[str], send: Send) -> None:
        self._shell, self._loop, self._seconds, self._cells, self._send = shell, loop, cell_seconds, cells, send
        self._answering = importlib.import_module("gearkit.lesson.answering")
        # What a cell sets for its context, such as the number of digits of `decimal`, counts for the cells after it.
        self._context = contextvars.copy_context()
        self._place, self._running = 0, False

    def run(self, setup: Sequence[str]) -> None:
        """Run the sheet's own cells, then the notebook's."""
        self._do(self._set_up(setup), self._context)
        while self._place < len(self._cells):
            self._timed(self._row(), self._context)
            if self._running:
                # The row has left a cell that awaits something; a kernel gives it a copy of what was set before it.
                self._timed(self._alone(), self._context.copy())

    def _timed(self, work: Coroutine[Any, Any, None], context: contextvars.Context) -> None:
        """Do what runs cells; what escapes from it has ended the cell that was running."""
        try:
            self._do(work, context)
        except BaseException as ended:
            if self._running:
                self._tell(type(ended).__name__)

    def _do(self, work: Coroutine[Any, Any, None], context: contextvars.Context) -> None:
        task = self._loop.create_task(work, context=context)
        try:
            self._loop.run_until_complete(task)
        finally:
            # A cell that waits for ever is left by the alarm; its task must not go on beside the next cell.
            task.cancel()

    async def _set_up(self, setup: Sequence[str]) -> None:
        for source in setup:
            await _one_cell(self._shell, source)
        self._answering.clear()

    async def _row(self) -> None:
        """Run the cells up to the next one that awaits something."""
        self._loop.asked, task = self._place > 0, asyncio.current_task()
        for source in self._cells[self._place :]:
            try:
                self._begin()
                if _waits(self._shell, source):
                    return
                fault = await _one_cell(self._shell, source)
                if self._loop.asked or (task is not None and task.cancelling()):
                    await _turns()
            except asyncio.CancelledError:
                raise
            except BaseException as ended:
                fault = type(ended).__name__
            self._tell(fault)

    async def _alone(self) -> None:
        self._begin()
        self._tell(await _one_cell(self._shell, self._cells[self._place]))

    def _begin(self) -> None:
        """Start a cell's time."""
        self._running = True
        _Alarms.come, _Alarms.seconds = 0, self._seconds
        _Alarms.began, _Alarms.used = time.monotonic(), time.process_time()
        # The interval repeats the alarm for a cell that catches the first one.
        signal.setitimer(signal.ITIMER_REAL, self._seconds, AGAIN * self._seconds)

    def _tell(self, fault: str) -> None:
        """Send what the cell that was running has changed."""
        place, self._place, self._running = self._place, self._place + 1, False
        try:
            changed = bounded(self._answering.changed())
        except BaseException as ended:
            changed, fault = {}, type(ended).__name__
        fault = kit_parts.noted() or fault
        self._send({"cell": place, "answers": changed, "fault": fault, "last": False})


async def _turns() -> None:
    """Let go on what cells have started, for two turns, as when each cell is a task."""
    await asyncio.sleep(0)
    await asyncio.sleep(0)


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
        name = shell.compile.get_code_name(source, whole, shell.execution_count)
        apart = not shell.ast_transformers and shell.ast_node_interactivity == "last_expr"
        shell.compile.parse_ahead(whole, name, apart=apart)
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
        result = await shell.run_cell_async(
            source, store_history=True, transformed_cell=transformed, preprocessing_exc_tuple=trouble
        )
    finally:
        shell.events.trigger("post_execute")
        shell.events.trigger("post_run_cell", result)
    ended = result.error_before_exec or result.error_in_exec
    return type(ended).__name__ if ended is not None else ""


def _out_of_time(number: int, frame: types.FrameType | None) -> None:
    if not _Alarms.come and (more := _kept_from_it()) > 0.001:
        signal.setitimer(signal.ITIMER_REAL, more, AGAIN * _Alarms.seconds)
        return
    _Alarms.come += 1
    if _Alarms.come > MOST_CAUGHT:
        # It catches every alarm. No signal that is not handled ends the first process of an own numbering, which this one is.
        os._exit(OUT_OF_TIME)
    raise CellTimeout("the cell ran longer than allowed")


def _kept_from_it() -> float:
    """How much of its time the cell that is running has still to come because other programs had the processor, in seconds."""
    passed, used = time.monotonic() - _Alarms.began, time.process_time() - _Alarms.used
    if used < COMPUTES * passed:
        return 0.0
    return min(_Alarms.seconds - used, MOST_SHARED * _Alarms.seconds - passed)
