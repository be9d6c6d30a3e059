"""What the kit puts on a worker of a cluster: it keeps the protected programs there that run notebooks, and answers requests.

The programs are started by it, each a program of its own: a worker of the cluster has many threads, and a
process with threads must not be forked. When the worker ends, be it by force, they lose their control line and end too.
Only a cluster needs this module; it is the only one that imports `distributed` as it is loaded.
"""

from __future__ import annotations

import queue
from collections.abc import Callable, Sequence
from typing import Any, Protocol

from distributed import WorkerPlugin, get_worker

import gearkit
from gearkit.words.errors import GearkitError
from graders.run.engines.runner import NO_RUNNER, Run
from graders.run.remote.remote_protocol import Ran, Reply, request_from

NAME = "gearkit-worker"


class NotebookRunner(Protocol):
    """Runs notebooks one after the other."""

    def run(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        """Run the code cells of one notebook.

        Args:
            cells: their sources, in order.
            setup: sources of the sheet's own cells, run first.
        """

    def close(self) -> None:
        """End whatever was started."""


class ClusterWorker(WorkerPlugin):  # type: ignore[misc]  # the cluster's library is seen without types
    """Keeps one runner for each task that a worker does at a time.

    Args:
        make: makes a runner; called on the worker.
    """

    name = NAME

    def __init__(self, make: Callable[[], NotebookRunner]) -> None:
        self._make = make

    def setup(self, worker: Any) -> None:
        """Start with no runner; the first task makes one."""
        self._idle: queue.LifoQueue[NotebookRunner] = queue.LifoQueue()
        self._worker = str(worker.address)

    def teardown(self, worker: Any) -> None:
        """End all runners that are idle; one at work ends with its control line."""
        while True:
            try:
                self._idle.get_nowait().close()
            except queue.Empty:
                return

    def run(self, packed: bytes) -> bytes:
        """Run a request and give the reply to it; where this machine cannot, the reply says what it lacks.

        Args:
            packed: the request as bytes.
        """
        request = request_from(packed)
        ran, trouble = Ran(Run((), False, NO_RUNNER, 0.0), ""), ""
        try:
            ran = self._ran(request.cells, request.setup)
        except (OSError, MemoryError, GearkitError) as fault:
            trouble = _words(fault)
        return Reply(ran, request.digest, kit_version(), self._worker, trouble).packed()

    def _ran(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        try:
            runner = self._idle.get_nowait()
        except queue.Empty:
            runner = self._make()
        try:
            return runner.run(cells, setup)
        finally:
            self._idle.put(runner)


def _words(fault: Exception) -> str:
    if isinstance(fault, OSError) and fault.strerror:
        return f"{fault.strerror} ({fault.filename})" if fault.filename else fault.strerror
    return str(fault) or type(fault).__name__


def run_here(packed: bytes) -> bytes:
    """Run a request on the worker that this is called on; the task that is sent to a cluster.

    Args:
        packed: the request as bytes.
    """
    reply: bytes = get_worker().plugins[NAME].run(packed)
    return reply


def kit_version() -> str:
    """Version of the kit here."""
    return str(gearkit.__version__)
