"""Chooses the strongest layers that hold on this machine, and proves that they hold by attacking them.

A level counts only after its own warm process has run cells that try to read a file, to change its rights and times, to
reach a listening socket of this machine, to see this process, to send it a signal by way of a descriptor and to start
another, and every one of these has been refused.
"""

from __future__ import annotations

import errno
import os
import socket
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from graders.run.engines.runner import Runner
from graders.run.sandbox import control_groups, temporary_folders
from graders.run.sandbox.layers import Layer, Limits, Protection

_SHARED = {Layer.LIMITS, Layer.SESSION, Layer.PRIVILEGES, Layer.FILTER}
_OWN_SYSTEM = _SHARED | {Layer.ROOT, Layer.SCRATCH, Layer.PROCESSES, Layer.USER}
LEVELS: tuple[Protection, ...] = (
    Protection(frozenset(_OWN_SYSTEM | {Layer.LANDLOCK})),
    Protection(frozenset(_OWN_SYSTEM)),
    Protection(frozenset(_OWN_SYSTEM | {Layer.USER_NAMESPACE, Layer.LANDLOCK})),
    Protection(frozenset(_OWN_SYSTEM | {Layer.USER_NAMESPACE})),
    Protection(frozenset(_SHARED | {Layer.LANDLOCK})),
)
LIMITS_ONLY = Protection(frozenset({Layer.LIMITS, Layer.SESSION} if sys.platform == "linux" else {Layer.LIMITS}))
_NO_ANSWER = ["no answer"]
NOTHING_RUN = "none: learner code was not run"
_SHUT = ("files", "rights", "times", "network", "processes", "signals")
_MUST_BE_CLOSED = {"warm": (*_SHUT, "programs"), "kernel": _SHUT}
# A signal that a process takes no notice of unless it has asked for it.
_UNHEARD = 23
CHANGE_RIGHTS, CHANGE_TIMES = "import os; os.chmod({path!r}, 0o644)", "import os; os.utime({path!r})"
SIGNAL_BY_DESCRIPTOR = (
    "import fcntl, os",
    "reading, writing = os.pipe()",
    "fcntl.fcntl(reading, fcntl.F_SETOWN, {process})",
    f"fcntl.fcntl(reading, 10, {_UNHEARD})",
    "fcntl.fcntl(reading, fcntl.F_SETFL, fcntl.fcntl(reading, fcntl.F_GETFL) | os.O_ASYNC)",
    "os.write(writing, b'x')",
)


@dataclass(frozen=True)
class Choice:
    """The runner that was chosen.

    Args:
        runner: a proven runner, or None where learner code is not run on this machine.
        level: what the mark sheet says about it.
    """

    runner: Runner | None
    level: str


def choose(
    limits: Limits | None = None,
    hidden: Sequence[Path] = (),
    *,
    unprotected: bool = False,
    engine: str = "warm",
    preload: Sequence[str] | None = None,
) -> Choice:
    """Start the best-protected runner that this machine allows.

    Args:
        limits: what one submission may use.
        hidden: folders of the class.
        unprotected: run learner code even where files and the network cannot be closed to it.
        engine: "warm" or "kernel".
        preload: modules that the warm process imports once; None for the usual.

    Raises:
        OSError: nothing at all can be run at the moment, which says nothing about layers.
    """
    possible = list(_possible(engine))
    for protection in possible:
        runner = Runner(protection, limits, hidden, preload, engine)
        if not open_ways(runner):
            return Choice(runner, protection.level)
        runner.close()
    if possible:
        check_that_something_runs()
    if unprotected:
        return Choice(Runner(_grouped(LIMITS_ONLY)[0], limits, hidden, preload, engine), LIMITS_ONLY.level)
    return Choice(None, NOTHING_RUN)


def check_that_something_runs() -> None:
    """Run our own attacks without any layer; where they don't run it is neither the layers' fault nor a submission's.

    Raises:
        OSError: they don't run, because the machine is full, or out of memory or processes.
    """
    with Runner(Protection(frozenset()), preload=()) as runner:
        if open_ways(runner) == _NO_ANSWER:
            raise OSError(
                errno.EAGAIN,
                "the program that runs learner code does not start; is there room and memory?",
                tempfile.gettempdir(),
            )


def _possible(engine: str) -> Iterator[Protection]:
    """Levels worth trying: the machine's own root needs its rights, the user namespace is for everybody else."""
    if sys.platform != "linux":
        return
    root = os.geteuid() == 0
    for protection in LEVELS:
        if engine == "kernel":
            if Layer.ROOT not in protection:
                continue
            protection = Protection(protection.layers - {Layer.FILTER} | {Layer.KERNEL_FILTER})
        if Layer.ROOT not in protection or root is (Layer.USER_NAMESPACE not in protection):
            yield from _grouped(protection)


def _grouped(protection: Protection) -> list[Protection]:
    """The layers with a control group round them where the system offers one, then without."""
    offered = control_groups.standing() == control_groups.AVAILABLE
    return [Protection(protection.layers | {Layer.GROUP}), protection] if offered else [protection]


def open_ways(runner: Runner) -> list[str]:
    """Attack a runner's layers; the names of the attacks that got through, or "no answer" where nothing ran.

    Args:
        runner: the runner to attack.
    """
    with temporary_folders.new("proof") as folder, socket.socket() as listener:
        target = Path(folder) / "key.txt"
        target.write_text("not for learners")
        listener.bind(("127.0.0.1", 0))
        listener.listen(8)
        cells = attacks(target, listener.getsockname()[1], os.getpid())
        run = runner.run(list(cells.values()))
    outcomes = {item: parts.get("answer", "") for frame in run.frames for item, parts in frame.answers.items()}
    if outcomes.get("plain") != "1":
        return _NO_ANSWER
    return [name for name in _MUST_BE_CLOSED[runner.engine] if outcomes.get(name) != "closed"]


def attacks(target: Path, port: int, process: int) -> dict[str, str]:
    """Cells that attack: each answers "open" where it got through and "closed" where it was refused.

    Args:
        target: a file that must be neither readable nor altered.
        port: a port of this machine on which somebody listens.
        process: number of a process that must not be reachable.
    """
    return {
        "plain": 'answer("plain", 1)',
        "files": _attack("files", f"open({str(target)!r}).read()"),
        "rights": _attack("rights", CHANGE_RIGHTS.format(path=str(target))),
        "times": _attack("times", CHANGE_TIMES.format(path=str(target))),
        "network": _attack("network", f"import socket\n    socket.create_connection(('127.0.0.1', {port}), 2)"),
        "processes": _attack("processes", f"import os\n    os.kill({process}, 0)"),
        "signals": _attack("signals", "\n    ".join(SIGNAL_BY_DESCRIPTOR).format(process=process)),
        "programs": _attack(
            "programs", "import os\n    child = os.fork()\n    if child == 0: os._exit(0)\n    os.waitpid(child, 0)"
        ),
    }


def _attack(name: str, action: str) -> str:
    return f'try:\n    {action}\n    answer("{name}", "open")\nexcept Exception:\n    answer("{name}", "closed")'
