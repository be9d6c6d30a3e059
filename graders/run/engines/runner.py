"""The marker's side of the sandbox: starts the warm process, sends it jobs, and bounds whatever comes back.

A runner that does not answer is ended and started anew, and its job is tried once more; after that the job
counts as one that cannot be run, and the class goes on. So it is with a job whose process somebody else seems to have
killed, such as the system when memory is short: a submission that does it itself is ended by the second time.
"""

from __future__ import annotations

import array
import json
import os
import secrets
import select
import socket
import tempfile
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

from graders.run.engines import kernel_cells, warm_process
from graders.run.engines.reply_protocol import Frame, frames
from graders.run.engines.warm import KILLED, NOT_STARTED
from graders.run.sandbox.control_groups import Group, NoGroupsError
from graders.run.sandbox.layers import Layer, Limits, Protection

START_SECONDS = 60.0
PATIENCE = 5.0
NO_RUNNER = "no runner"
MEMORY = "memory"
TRIES = 2
UNDISTURBED = 0.05


@dataclass(frozen=True)
class Run:
    """What came out of running one notebook.

    Args:
        frames: one message for each cell that ended, in order.
        complete: whether the last cell was reached.
        reason: "" or why it was stopped: "time", "flood", "memory", "killed", "died" or "no runner".
        seconds: time it took, in seconds.
        note: what the instructor should know about how it was run, or "".
    """

    frames: tuple[Frame, ...]
    complete: bool
    reason: str
    seconds: float
    note: str = ""


class Runner:
    """Runs notebooks one after the other in a warm, protected process.

    Args:
        protection: the layers to use.
        limits: what one submission may use.
        hidden: folders of the class, which must not be seen even if they lie inside a readable one.
        preload: modules that the warm process imports once, so that no submission has to; None for the usual.
        engine: "warm" runs cells in the forked process, "kernel" in a real Jupyter kernel started there.
    """

    def __init__(
        self,
        protection: Protection,
        limits: Limits | None = None,
        hidden: Sequence[Path] = (),
        preload: Sequence[str] | None = None,
        engine: str = "warm",
    ) -> None:
        self.protection = protection
        self.engine = engine
        self._preload = list(warm_process.PRELOADED[engine] if preload is None else preload)
        # The parent waits as long as a kernel's start and the submission take together; the child counts them apart.
        self.limits = kernel_cells.widened(limits or Limits()) if engine == "kernel" else limits or Limits()
        self._hidden = [str(path) for path in hidden]
        self._warm: warm_process.WarmProcess | None = None
        self._group: Group | None = None

    def __enter__(self) -> Runner:
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def run(self, cells: Sequence[str], setup: Sequence[str] = ()) -> Run:
        """Run the code cells of one notebook.

        Args:
            cells: their sources, in order.
            setup: sources of the sheet's own cells, run first.
        """
        started, reason = time.monotonic(), ""
        seen: tuple[Frame, ...] = ()
        left = {KILLED: TRIES, NO_RUNNER: TRIES}
        while all(left.values()):
            if reason == KILLED and self._group is not None:
                self._group.watch()
            outcome = self._attempt(cells, setup) if self._start() else None
            if outcome is None:
                self.close()
            elif outcome.reason not in left:
                return outcome
            else:
                seen = max(seen, outcome.frames, key=len)
            reason = outcome.reason if outcome else NO_RUNNER
            left[reason] -= 1
        if reason == KILLED and self._group is not None and self._group.was_full():
            reason = MEMORY
        return Run(seen, False, reason, time.monotonic() - started)

    def close(self) -> None:
        """End the warm process and whatever runs in it."""
        if self._warm is not None:
            self._warm.close()
        if self._group is not None:
            self._group.remove()
        self._warm = self._group = None

    def _start(self) -> bool:
        if self._warm is not None and self._warm.process.poll() is None:
            return True
        self.close()
        settings = {"layers": sorted(self.protection.layers), "limits": asdict(self.limits), "hidden": self._hidden}
        try:
            self._group = Group() if Layer.GROUP in self.protection else None
            self._warm = warm_process.take(self.engine, self._preload)
            if self._group is not None:
                self._group.take_in(self._warm.process.pid)
            self._warm.settle(settings)
            control = self._warm.control
            ready = select.select([control], [], [], START_SECONDS)[0] and control.recv(4096)
            if ready and self._group is not None:
                # Only now is it known what the warm process takes for itself.
                self._group.bound(self.limits.memory + self.limits.scratch, self.limits.processes)
        except (OSError, NoGroupsError):
            return False
        return bool(ready)

    def _attempt(self, cells: Sequence[str], setup: Sequence[str]) -> Run | None:
        """Run a job once; None where the warm process itself failed."""
        started = time.monotonic()
        reading, writing = os.pipe()
        # Frames can be written by the learner's code as well; this word has to stand in the last one.
        end = secrets.token_hex(16)
        job = _job_file(json.dumps({"cells": list(cells), "setup": list(setup), "end": end}).encode())
        try:
            self._send(job, writing)
            os.close(writing)
            writing = -1
            data, ended, flooded = self._collect(reading, started)
            # The child reads its job behind the last layer: where it did not, this machine could not build them.
            untouched = os.lseek(job, 0, os.SEEK_CUR) == 0
        except OSError:
            return None
        finally:
            for descriptor in (reading, writing, job):
                if descriptor >= 0:
                    os.close(descriptor)
        if ended is None:
            return None
        seen = tuple(frames(data))
        # The learner's code can dig the word out of the memory that it shares with the runner; an end that was only said is
        # told by how the process ended.
        quiet = not flooded and not ended["reason"] and ended["status"] == 0
        complete = quiet and bool(seen) and seen[-1].last and seen[-1].end == end
        reason = "" if complete else "flood" if flooded else ended["reason"] or "died"
        if reason == NOT_STARTED or (untouched and reason != KILLED):
            seen, reason = (), NO_RUNNER
        return Run(seen, complete, reason, time.monotonic() - started)

    def _control(self) -> socket.socket:
        if self._warm is None:
            raise OSError("the warm process is not there")
        return self._warm.control

    def _send(self, job: int, reply: int) -> None:
        descriptors = array.array("i", [job, reply])
        self._control().sendmsg([b"job"], [(socket.SOL_SOCKET, socket.SCM_RIGHTS, descriptors)])

    def _collect(self, reading: int, started: float) -> tuple[bytes, dict[str, Any] | None, bool]:
        """Read the reply until the warm process says that the child has ended."""
        control = self._control()
        data, flooded, open_ended = bytearray(), False, True
        os.set_blocking(reading, False)
        deadline = started + self.limits.seconds + PATIENCE
        # Most runs are over by then; being woken by each of their cells would cost both sides more than the reading.
        ready: list[Any] = select.select([control], [], [], UNDISTURBED)[0]
        while True:
            if not ready:
                waiting: list[Any] = [control, reading] if open_ended else [control]
                ready = select.select(waiting, [], [], max(0.0, deadline - time.monotonic()))[0]
            if not ready:
                return bytes(data), None, flooded
            if reading in ready:
                part = os.read(reading, 1 << 16)
                open_ended = bool(part) and not flooded
                data += part
                if len(data) > self.limits.reply and not flooded:
                    flooded, open_ended = True, False
                    control.send(b"stop")
            if control in ready:
                message = control.recv(4096)
                if not message:
                    return bytes(data), None, flooded
                data += _rest(reading, self.limits.reply - len(data))
                return bytes(data[: self.limits.reply]), json.loads(message), flooded
            ready = []


def _rest(reading: int, most: int) -> bytes:
    rest = bytearray()
    try:
        while len(rest) < most and (part := os.read(reading, 1 << 16)):
            rest += part
    except BlockingIOError:
        pass
    return bytes(rest)


def _job_file(data: bytes) -> int:
    """An unnamed file with the job, open for reading only; it lies in memory where the system has such files."""
    with os.fdopen(os.memfd_create("job"), "w+b") if hasattr(os, "memfd_create") else tempfile.TemporaryFile() as file:
        file.write(data)
        file.flush()
        try:
            return os.open(f"/proc/self/fd/{file.fileno()}", os.O_RDONLY)
        except OSError:
            # Without /proc the child gets the file as it is: nobody else has it, and it is used once.
            file.seek(0)
            return os.dup(file.fileno())
