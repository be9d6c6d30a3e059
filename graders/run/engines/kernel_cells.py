"""Runs the cells of one notebook in a real Jupyter kernel, inside the layers: the reference for the warm shell.

Whoever runs this is the process that the layers were built round; the kernel is its child and speaks to it over local
sockets in the scratch folder. Both share these layers with the learner's code, so nothing that is reported from here is
believed beyond its form. Compared with the warm shell a notebook gets everything a kernel has: programs and other
processes (inside the layers), a kernel object, streams with descriptors. It takes about a hundred times as long.
"""

from __future__ import annotations

import ast
import json
import os
import queue
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from graders.run.engines.reply_protocol import OUT_OF_TIME, bounded
from graders.run.sandbox.layers import MEGABYTE, Limits

Send = Callable[[Mapping[str, Any]], None]
PREPARATION = "from gearkit.lesson.answering import answer"
CHANGED, FORGET = (f"__import__('graders.run.engines.kernel_side', fromlist=['x']).{name}()" for name in ("changed", "forget"))
# The seconds of a submission count from here on; a kernel's start is the machine's affair.
START_SECONDS = 20.0
ENDED, KILLED, NOT_STARTED = 72, 73, 74
# Faults of a program's own end in other signals: these two are sent by somebody, be it the system when memory is short.
SENT_TO_END = (signal.SIGKILL, signal.SIGTERM)
_COLLECT_SECONDS = 2.0
_AGAIN, _LOOK = 0.5, 0.25
_MOST_CAUGHT = 4
_OWN = {
    "PYTHONUNBUFFERED": "1",
    "PYDEVD_DISABLE_FILE_VALIDATION": "1",
    # Each thread would otherwise set aside 64 MB of address space, which is what the limit on memory counts.
    "MALLOC_ARENA_MAX": "2",
}


class KernelEndedError(Exception):
    """The kernel is gone or does not answer any more."""


class Kernel:
    """A kernel of one's own, and the line on which it takes cells."""

    def __init__(self) -> None:
        self.deadline = time.monotonic() + START_SECONDS
        from jupyter_client.blocking import BlockingKernelClient
        from jupyter_client.connect import write_connection_file

        folder = Path(tempfile.mkdtemp(dir=os.getcwd(), prefix="k"))
        card, _ = write_connection_file(str(folder / "kernel.json"), ip=str(folder / "k"), transport="ipc")
        environment = {
            **os.environ,
            **_OWN,
            "HOME": str(folder),
            "IPYTHONDIR": str(folder / "ipython"),
            "JUPYTER_RUNTIME_DIR": str(folder),
            "MPLCONFIGDIR": str(folder),
        }
        environment.pop("MPLBACKEND", None)
        self._process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "ipykernel_launcher",
                "-f",
                card,
                "--HistoryManager.enabled=False",
                "--InteractiveShell.colors=nocolor",
            ],
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self._line = BlockingKernelClient(connection_file=card)
        self._line.load_connection_file()
        self._line.shell_channel.start()

    @property
    def was_killed(self) -> bool:
        """Whether somebody, be it the system or the notebook itself, has sent the kernel a signal to end it."""
        return -(self._process.poll() or 0) in SENT_TO_END

    def run(self, source: str, seconds: float, *, value: str = "") -> tuple[Mapping[str, Any], bool]:
        """Run a cell; what the kernel replied, and whether it had to be interrupted.

        Args:
            source: the cell.
            seconds: time for it, in seconds; then it is interrupted, and a cell that catches that a few times ends the run.
            value: in place of a cell, an expression whose value is wanted; it leaves no trace in the notebook.

        Raises:
            KernelEndedError: the kernel is gone, or the submission's time is over.
        """
        asked = self._line.execute(
            source,
            silent=bool(value),
            user_expressions={"value": value} if value else {},
            allow_stdin=False,
            stop_on_error=False,
        )
        patience, interrupted = time.monotonic() + seconds, 0
        while True:
            now = time.monotonic()
            if self._process.poll() is not None or now > self.deadline:
                raise KernelEndedError
            if now > patience:
                if interrupted > _MOST_CAUGHT:
                    self.deadline = patience
                    raise KernelEndedError
                self._process.send_signal(signal.SIGINT)
                patience, interrupted = now + min(_AGAIN, seconds / _MOST_CAUGHT), interrupted + 1
            try:
                reply = self._line.get_shell_msg(timeout=min(_LOOK, max(0.0, patience - now)))
            except queue.Empty:
                continue
            if reply["parent_header"].get("msg_id") == asked:
                return reply["content"], interrupted > 0

    def value(self, expression: str, seconds: float) -> Any:
        """The value of an expression that gives plain data; None where the kernel could not work it out.

        Args:
            expression: the expression; what it gives must read back as Python data.
            seconds: time for it, in seconds.
        """
        content, _ = self.run("", seconds, value=expression)
        shown = content.get("user_expressions", {}).get("value", {}).get("data", {}).get("text/plain")
        return ast.literal_eval(shown) if isinstance(shown, str) else None


def warm_up() -> None:
    """Import everything that is needed, once, before any fork."""
    import jupyter_client.blocking
    import jupyter_client.connect  # noqa: F401


def widened(limits: Limits) -> Limits:
    """The limits of a submission with what a kernel takes for itself: its start, its threads, its libraries."""
    return replace(
        limits,
        seconds=limits.seconds + START_SECONDS,
        memory=limits.memory + 512 * MEGABYTE,
        open_files=limits.open_files + 192,
        processes=limits.processes + 64,
    )


def run_cells(limits: Limits, cells: Sequence[str], setup: Sequence[str], send: Send) -> None:
    """Run cells in order in a fresh kernel and send the answers that each of them changed.

    Args:
        limits: what the submission may use, widened for the kernel.
        cells: sources of the notebook's code cells.
        setup: sources of the cells that the sheet itself brings; they are run first.
        send: takes each message.
    """
    try:
        kernel = _started(setup)
    except Exception:
        # Nothing of the learner has run yet, so whatever is amiss is the machine's affair.
        os._exit(NOT_STARTED)
    kernel.deadline = time.monotonic() + limits.seconds - START_SECONDS
    try:
        for index, source in enumerate(cells):
            send(_after(kernel, index, source, limits.cell_seconds))
    except KernelEndedError:
        os._exit(OUT_OF_TIME if time.monotonic() > kernel.deadline else KILLED if kernel.was_killed else ENDED)
    send({"cell": len(cells), "answers": {}, "fault": "", "last": True})


def _started(setup: Sequence[str]) -> Kernel:
    """A kernel in which the sheet's own cells were run."""
    kernel = Kernel()
    for source in (PREPARATION, *setup):
        kernel.run(source, START_SECONDS)
    kernel.value(FORGET, START_SECONDS)
    return kernel


def _after(kernel: Kernel, index: int, source: str, seconds: float) -> dict[str, Any]:
    """Run a cell; the message about it."""
    content, interrupted = kernel.run(source, seconds)
    fault = "CellTimeout" if interrupted else str(content.get("ename", "")) if content.get("status") == "error" else ""
    changed: Mapping[Any, Any] = {}
    try:
        data = json.loads(kernel.value(CHANGED, _COLLECT_SECONDS) or "null")
        changed, noted = data if isinstance(data, list) and len(data) == 2 else ({}, "")
        fault = (noted if isinstance(noted, str) else "") or fault
        if not isinstance(data, list) or not isinstance(changed, dict):
            changed, fault = {}, fault or "NoAnswers"
    except (ValueError, SyntaxError, TypeError, RecursionError):
        fault = fault or "NoAnswers"
    return {"cell": index, "answers": bounded(changed), "fault": fault, "last": False}
