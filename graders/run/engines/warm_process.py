"""Starts and ends the process in which notebooks are run, and starts it ahead of a command that will most likely need it.

It loads for half a second, as long as marking itself takes to load: side by side, both have loaded when the first
notebook has been looked at. What it may see and use is told to it only then.
"""

from __future__ import annotations

import atexit
import json
import os
import socket
import subprocess
import sys
from collections.abc import Sequence
from typing import Any

from graders.run.sandbox import kit_parts, temporary_folders

PROGRAM = ("-m", "graders.run.engines.warm")
PRELOADED = {"warm": ("sympy", "gearkit.answers.symbols"), "kernel": ()}
# Whole messages, where the system has them between two programs; macOS has not, and these messages are short.
MESSAGES = socket.SOCK_SEQPACKET if sys.platform == "linux" else socket.SOCK_STREAM
PATIENCE = 5.0


class WarmProcess:
    """A process that loads, waits for its settings, and then serves jobs until its control is closed.

    Args:
        engine: "warm" or "kernel".
        preload: modules that it imports once.

    Raises:
        OSError: it cannot be started.
    """

    def __init__(self, engine: str, preload: Sequence[str]) -> None:
        self.kind = (engine, tuple(preload))
        self.folder = temporary_folders.new("run")
        self.control, theirs = socket.socketpair(socket.AF_UNIX, MESSAGES)
        try:
            with theirs:
                self.process = subprocess.Popen(
                    [sys.executable, *PROGRAM, str(theirs.fileno()), engine, *preload],
                    pass_fds=[theirs.fileno()],
                    env=_environment(self.folder.name),
                    cwd=self.folder.name,
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    # Away from the marker's terminal, and from its group, which a signal could name as one.
                    start_new_session=True,
                )
        except OSError:
            self.control.close()
            self.folder.cleanup()
            raise

    def settle(self, settings: dict[str, Any]) -> None:
        """Tell it what it may see and use; it answers when it has built its walls.

        Args:
            settings: layers, limits and hidden folders.

        Raises:
            OSError: it has ended.
        """
        self.control.send(json.dumps({**settings, "folder": self.folder.name}).encode())

    def close(self) -> None:
        """End it and whatever runs in it."""
        self.control.close()
        try:
            self.process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self.folder.cleanup()


class _Ahead:
    """The process that loads ahead, and the one that started it, beside which a child that was forked may not use it."""

    process: WarmProcess | None = None
    maker = 0


def start_ahead() -> None:
    """Let the usual process load from now on, for whoever asks for it next; where this machine has no room, none does."""
    if _Ahead.process is not None or sys.platform != "linux" or (os.cpu_count() or 1) < 2:
        return
    try:
        _Ahead.process, _Ahead.maker = WarmProcess("warm", PRELOADED["warm"]), os.getpid()
        atexit.register(end_ahead)
    except OSError:
        # Whoever needs it starts it, and says what is wrong.
        _Ahead.process = None


def take(engine: str, preload: Sequence[str]) -> WarmProcess:
    """The process that was started ahead, where it is of this kind, else a new one.

    Args:
        engine: "warm" or "kernel".
        preload: modules that it imports once.

    Raises:
        OSError: none can be started.
    """
    ready = _Ahead.process
    if ready is None or _Ahead.maker != os.getpid() or ready.kind != (engine, tuple(preload)):
        return WarmProcess(engine, preload)
    _Ahead.process = None
    if ready.process.poll() is None:
        return ready
    ready.close()
    return WarmProcess(engine, preload)


def end_ahead() -> None:
    """End the process that was started ahead and that nobody asked for."""
    ready, _Ahead.process = _Ahead.process, None
    if ready is not None and _Ahead.maker == os.getpid():
        ready.process.kill()
        ready.close()


def _environment(folder: str) -> dict[str, str]:
    """What the warm process may know of this machine: where the kit is and where to work, and nothing else."""
    return {
        "PATH": "/usr/bin:/bin",
        "HOME": "/nonexistent",
        "LANG": "C.UTF-8",
        "PYTHONPATH": str(kit_parts.kit_folder()),
        "PYTHONDONTWRITEBYTECODE": "1",
        "PYTHONHASHSEED": "0",
        "MPLBACKEND": "agg",
        "MPLCONFIGDIR": f"{folder}/matplotlib",
        "IPYTHONDIR": f"{folder}/ipython",
        # One thread at the fork: a numeric library's own threads would be dead in the child.
        "OPENBLAS_NUM_THREADS": "1",
        "OMP_NUM_THREADS": "1",
        "MKL_NUM_THREADS": "1",
    }
