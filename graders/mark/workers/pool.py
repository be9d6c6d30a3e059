"""A pool of worker processes that outlives its workers: a task whose worker dies is tried once more, then set aside.

Workers are started fresh, so that none inherits another's connections; a worker that loses its master ends by itself.
"""

from __future__ import annotations

import errno
import multiprocessing
import os
import signal
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Generic, TypeVar

from gearkit.words.errors import GearkitError
from graders.run.sandbox import kernel_calls

Task = TypeVar("Task")
Result = TypeVar("Result")
Serve = Callable[[Task], Result]
TRIES = 2


@dataclass(frozen=True)
class Done(Generic[Task, Result]):
    """One finished task.

    Args:
        task: the task.
        result: what the worker gave; None where the worker died on it again and again.
    """

    task: Task
    result: Result | None


@dataclass(frozen=True)
class _Trouble:
    """The machine's trouble that a worker met, in a form that can be sent."""

    words: str
    number: int | None = None
    path: str | None = None

    @classmethod
    def of(cls, fault: OSError | GearkitError) -> _Trouble:
        """What is to be sent of a fault."""
        if isinstance(fault, GearkitError):
            return cls(str(fault))
        return cls(fault.strerror or str(fault), fault.errno or errno.EIO, str(fault.filename or ""))

    def again(self) -> OSError | GearkitError:
        """The fault, to be raised on this side."""
        return GearkitError(self.words) if self.number is None else OSError(self.number, self.words, self.path)


@dataclass
class _Worker(Generic[Task]):
    process: BaseProcess
    line: Connection
    task: Task | None = None


def run(make: Callable[[], Serve[Task, Result]], tasks: Iterable[Task], workers: int) -> Iterator[Done[Task, Result]]:
    """Do tasks in worker processes; results come in the order in which they are ready.

    Args:
        make: makes the function that does one task; called once in each worker.
        tasks: the tasks; each is asked for when a worker is free for it.
        workers: number of worker processes; 1 does the work in this process.
    """
    if workers <= 1:
        serve = make()
        try:
            for task in tasks:
                yield Done(task, _result_or_none(serve, task))
        finally:
            _close(serve)
        return
    yield from _in_processes(make, tasks, workers)


def _result_or_none(serve: Serve[Task, Result], task: Task) -> Result | None:
    try:
        return serve(task)
    except (OSError, GearkitError):
        # The machine's trouble, not the task's: whoever called has to hear of it.
        raise
    except Exception:
        # In a worker process the same fault would end the worker; here as there only this task is set aside.
        return None


class _Waiting(Generic[Task]):
    """The tasks that are still to be given out, those that are tried again first."""

    def __init__(self, tasks: Iterable[Task]) -> None:
        self._tasks = iter(tasks)
        self.again: deque[tuple[Task, int]] = deque()

    def take(self) -> tuple[Task, int] | None:
        """The next task with the number of the try, None where there is none."""
        if self.again:
            return self.again.popleft()
        return next(((task, 1) for task in self._tasks), None)


def _in_processes(make: Callable[[], Serve[Task, Result]], tasks: Iterable[Task], workers: int) -> Iterator[Done[Task, Result]]:
    waiting = _Waiting(tasks)
    crew: list[_Worker[tuple[Task, int]]] = []
    try:
        crew.extend(_start(make) for _ in range(workers))
        for worker in crew:
            _give(worker, waiting)
        while any(worker.task is not None for worker in crew):
            for line in wait([worker.line for worker in crew if worker.task is not None]):
                place = next(i for i, worker in enumerate(crew) if worker.line is line)
                given = crew[place].task
                if given is None:
                    continue
                task, tries = given
                try:
                    answer = crew[place].line.recv()
                except (EOFError, OSError):
                    # The worker is gone, and nobody knows what its task had to do with it.
                    _end(crew[place])
                    crew[place] = _start(make)
                    if tries < TRIES:
                        waiting.again.append((task, tries + 1))
                    else:
                        yield Done(task, None)
                else:
                    if isinstance(answer, _Trouble):
                        raise answer.again()
                    yield Done(task, answer)
                _give(crew[place], waiting)
    finally:
        for worker in crew:
            _end(worker)


def _start(make: Callable[[], Serve[Task, Result]]) -> _Worker[tuple[Task, int]]:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_serve, args=(make, theirs), daemon=True)
    process.start()
    theirs.close()
    return _Worker(process, ours)


def _give(worker: _Worker[tuple[Task, int]], waiting: _Waiting[Task]) -> None:
    worker.task = waiting.take()
    if worker.task is not None:
        try:
            worker.line.send(worker.task[0])
        except OSError:
            # It died before it got the task; the reading side finds that out and hands the task on.
            return


def _end(worker: _Worker[tuple[Task, int]]) -> None:
    worker.line.close()
    worker.process.join(10)
    if worker.process.is_alive():
        worker.process.kill()
        worker.process.join()


def _serve(make: Callable[[], Serve[Task, Result]], line: Connection) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _end_with_master()
    serve = make()
    try:
        while True:
            task = line.recv()
            try:
                answer: object = serve(task)
            except (OSError, GearkitError) as fault:
                # As with one process: the machine's trouble is not laid on a submission.
                answer = _Trouble.of(fault)
            line.send(answer)
    except (EOFError, OSError):
        return
    finally:
        _close(serve)


def _end_with_master() -> None:
    """End at once when the master ends, even in the middle of a task; elsewhere than on Linux when the task is done."""
    if sys.platform == "linux":
        master = multiprocessing.parent_process()
        with suppress(OSError):
            kernel_calls.die_with_parent(signal.SIGKILL)
        if master is not None and not master.is_alive():
            os._exit(1)


def _close(serve: object) -> None:
    close = getattr(serve, "close", None)
    if close is not None:
        close()
