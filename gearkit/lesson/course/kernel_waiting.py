"""A kernel that is loaded before anybody asks for one: JupyterLab's side of it.

A notebook is alive when its kernel has been loaded, and after that all that a lesson is made of: about one second on an idle
machine. A process that has loaded both waits beside the server (`kernel_in_waiting` is that process); the next notebook to be
opened, or the next kernel to be started anew, gets it, and another begins to load a little later. Where nobody waits, or a
notebook asks for another kernel, it is started as Jupyter always does.
"""

from __future__ import annotations

import asyncio
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib.metadata import EntryPoint
from typing import Any

from jupyter_client.provisioning import KernelProvisionerFactory, LocalProvisioner

NAME = "gearkit-kernel-waiting"
# As Jupyter's own kernels for Python are started, which the debugger asks for in four lines else.
_PROCESS = [sys.executable, "-Xfrozen_modules=off", "-m", "gearkit.lesson.course.kernel_in_waiting"]
# How Jupyter starts a Python kernel, between the interpreter and the file with the kernel's addresses.
_PYTHON_KERNEL = ("-m", "ipykernel_launcher", "-f")
# The next one is loaded once the notebook just opened has had the processor to itself.
UNTIL_NEXT = 5.0


class KernelWaiting(LocalProvisioner):  # type: ignore[misc]  # Jupyter's class has no types here
    """Gives a notebook the process that waits, where there is one that fits."""

    _waiting: subprocess.Popen[bytes] | None = None

    @classmethod
    def begin(cls) -> None:
        """Have a process load a kernel, unless one waits already."""
        if cls._waiting is None or cls._waiting.poll() is not None:
            environment = {**os.environ, "JPY_PARENT_PID": str(os.getpid())}
            with suppress(OSError):
                cls._waiting = subprocess.Popen(_PROCESS, stdin=subprocess.PIPE, env=environment, start_new_session=True)

    @classmethod
    def end(cls) -> None:
        """End the process that waits; it ends by itself when the server is gone."""
        waiting, cls._waiting = cls._waiting, None
        if waiting is not None and waiting.stdin is not None:
            with suppress(OSError):
                waiting.stdin.close()

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> Any:
        """Start a kernel, by the process that waits where it can be had.

        Args:
            cmd: the command that starts the kernel.
            **kwargs: as Jupyter takes them; of these ``cwd`` and ``env`` are the notebook's folder and environment.
        """
        asyncio.get_running_loop().call_later(UNTIL_NEXT, type(self).begin)
        waiting = type(self)._taken(cmd, kwargs)
        if waiting is None:
            return await super().launch_kernel(cmd, **kwargs)
        self.process = waiting
        self.pid = waiting.pid
        # It began a session of its own, as every kernel of Jupyter does, and so leads a group of its own.
        self.pgid = waiting.pid
        self.cwd = kwargs.get("cwd", os.path.curdir)
        return self.connection_info

    @classmethod
    def _taken(cls, cmd: Sequence[str], kwargs: dict[str, Any]) -> subprocess.Popen[bytes] | None:
        """The process that waits, told what to become; None where there is none or the command is for something else."""
        waiting = cls._waiting
        if waiting is None or waiting.stdin is None or cmd[0] != sys.executable or tuple(cmd[-4:-1]) != _PYTHON_KERNEL:
            return None
        cls._waiting = None
        environment = {**(kwargs.get("env") or os.environ), "JPY_PARENT_PID": str(os.getpid())}
        order = {"arguments": list(cmd[-2:]), "folder": kwargs.get("cwd"), "environment": environment}
        try:
            waiting.stdin.write(json.dumps(order).encode() + b"\n")
            waiting.stdin.close()
        except OSError:
            return None
        return waiting if waiting.poll() is None else None


def offer() -> None:
    """Have Jupyter's server start kernels this way from now on, in this process."""
    module, name = KernelWaiting.__module__, KernelWaiting.__qualname__
    KernelProvisionerFactory.provisioners[NAME] = EntryPoint(NAME, f"{module}:{name}", KernelProvisionerFactory.GROUP_NAME)
    KernelWaiting.begin()
