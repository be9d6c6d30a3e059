"""Examines this machine: which layers round learner code hold here, each proved by an attack.

A layer counts when the attack gets through without it and is refused with it. A layer that cannot be built here is
told as such; it is no fault of the machine, and another may stand in its place.
"""

from __future__ import annotations

import contextlib
import os
import socket
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from graders.run.engines.runner import Runner
from graders.run.sandbox import select_sandbox, temporary_folders
from graders.run.sandbox.layers import MEGABYTE, Layer, Limits, Protection

LIMITS = Limits(cell_seconds=3.0, seconds=8.0, memory=256 * MEGABYTE)
_NEEDS_ROOT = (Layer.ROOT, Layer.SCRATCH, Layer.PROCESSES, Layer.USER)
# Whoever is not root may build these only after giving up the gain of rights.
_NEEDS_NO_NEW_RIGHTS = (Layer.LANDLOCK, Layer.FILTER, Layer.KERNEL_FILTER)


@dataclass(frozen=True)
class Finding:
    """What an attack on one layer showed.

    Args:
        layer: the layer.
        attack: what was tried, in words.
        without: "open" or "closed" without the layer, or "no answer".
        behind: the same behind the layer, or "not here" where it cannot be built.
    """

    layer: Layer
    attack: str
    without: str
    behind: str

    @property
    def holds(self) -> bool:
        """Whether the layer was seen to make the difference."""
        return (self.without, self.behind) == ("open", "closed")


@dataclass(frozen=True)
class _Attack:
    layer: Layer
    words: str
    cell: str
    base: frozenset[Layer] = frozenset()
    stands_on: frozenset[Layer] = frozenset()


def examine() -> Iterator[Finding]:
    """Attack every layer, one after the other, without it and behind it."""
    with temporary_folders.new("proof") as folder, socket.socket() as listener:
        target = Path(folder) / "key.txt"
        target.write_text("not for learners")
        target.chmod(0o600)
        listener.bind(("127.0.0.1", 0))
        listener.listen(32)
        with _Ground() as ground:
            for attack in _attacks(str(target), listener.getsockname()[1], os.getpid()):
                yield _finding(attack, ground)


def _finding(attack: _Attack, ground: _Ground) -> Finding:
    base, layer = set(attack.base), {attack.layer, *attack.stands_on}
    if sys.platform == "linux" and os.geteuid() != 0 and (base | layer) & set(_NEEDS_ROOT):
        base.add(Layer.USER_NAMESPACE)
    if sys.platform == "linux" and os.geteuid() != 0 and attack.layer in _NEEDS_NO_NEW_RIGHTS:
        base.add(Layer.PRIVILEGES)
    without = ground.outcome(attack, frozenset(base)) or "no answer"
    behind = ground.outcome(attack, frozenset(base | layer)) or "not here"
    return Finding(attack.layer, attack.words, without, behind)


class _Ground(contextlib.ExitStack):
    """Where attacks are made: one runner for all that meet the same layers, since its start is what takes long."""

    def __init__(self) -> None:
        super().__init__()
        self._runners: dict[frozenset[Layer], Runner] = {}

    def outcome(self, attack: _Attack, layers: frozenset[Layer]) -> str:
        """What came of an attack behind some layers, "" where nothing did."""
        if layers not in self._runners:
            self._runners[layers] = self.enter_context(Runner(Protection(layers), LIMITS, preload=()))
        run = self._runners[layers].run([attack.cell])
        answers = (frame.answers.get("attack", {}).get("answer", "") for frame in run.frames)
        return next(filter(None, answers), "")


def _cell(*lines: str) -> str:
    body = "\n    ".join(lines)
    return (
        f'try:\n    {body}\n    answer("attack", "open")\n'
        'except (OSError, MemoryError, AssertionError):\n    answer("attack", "closed")'
    )


def _attacks(target: str, port: int, process: int) -> list[_Attack]:
    read = _cell(f"open({target!r}).read()")
    library = "import ctypes; library = ctypes.CDLL(None, use_errno=True)"
    root = frozenset({Layer.ROOT})
    return [
        _Attack(Layer.LIMITS, "take two gigabytes of memory", _cell("import mmap", "mmap.mmap(-1, 1 << 31)")),
        _Attack(
            Layer.SESSION,
            "go on when the marker has ended",
            _cell(
                library,
                "number = ctypes.c_int()",
                "library.prctl(2, ctypes.byref(number), 0, 0, 0)",
                "assert number.value == 0",
            ),
        ),
        _Attack(Layer.ROOT, "read a file of this machine", read),
        _Attack(
            Layer.ROOT,
            "reach a program that listens on this machine",
            _cell("import socket", f"socket.create_connection(('127.0.0.1', {port}), 2)"),
        ),
        _Attack(
            Layer.SCRATCH,
            "fill the disk with many files",
            _cell(
                "import os, shutil, tempfile",
                "small = os.path.ismount('/scratch')",
                "folder = tempfile.mkdtemp(dir='/scratch' if small else None)",
                "try:",
                "    for n in range(40): open(f'{folder}/{n}', 'wb').write(bytes(1 << 20))",
                "finally:",
                "    shutil.rmtree(folder)",
            ),
            stands_on=root,
        ),
        _Attack(Layer.PROCESSES, "see the marker's process", _cell("import os", f"os.kill({process}, 0)")),
        _Attack(Layer.USER, "use rights over the machine", _cell(library, "assert library.unshare(0x20000) == 0"), root),
        _Attack(
            Layer.PRIVILEGES, "gain rights by starting a program", _cell(library, "assert library.prctl(39, 0, 0, 0, 0) == 0")
        ),
        _Attack(Layer.LANDLOCK, "read a file of this machine", read),
        _Attack(
            Layer.FILTER,
            "start another process",
            _cell("import os", "child = os.fork()", "if child == 0: os._exit(0)", "os.waitpid(child, 0)"),
        ),
        *_past_landlock(Layer.FILTER, target, process),
        *_past_landlock(Layer.KERNEL_FILTER, target, process),
        _Attack(
            Layer.KERNEL_FILTER,
            "open a way that could lead to other machines",
            _cell("import socket", "socket.socket(socket.AF_INET, socket.SOCK_DGRAM).close()"),
        ),
        # Each of the processes stays below what one may take; only the group sees them together.
        _Attack(
            Layer.GROUP,
            "take memory by several processes",
            _cell(
                "import os, time",
                "children = []",
                "for n in range(3):",
                "    child = os.fork()",
                "    if child == 0:",
                "        held = b'x' * (128 << 20); time.sleep(0.5); os._exit(0)",
                "    children.append(child)",
                "assert [os.waitpid(child, 0)[1] for child in children] == [0, 0, 0]",
            ),
        ),
        _Attack(
            Layer.GROUP,
            "start a hundred processes",
            _cell(
                "import os, signal",
                "children = []",
                "try:",
                "    for n in range(100):",
                "        child = os.fork()",
                "        if child == 0: signal.pause()",
                "        children.append(child)",
                "finally:",
                "    for child in children: os.kill(child, 9); os.waitpid(child, 0)",
            ),
        ),
    ]


def _past_landlock(layer: Layer, target: str, process: int) -> list[_Attack]:
    """What landlock, which may be all that closes files and signals, leaves open: each filter has to refuse it."""
    return [
        # A kernel sets the rights of its own files; those of others' are kept by the read-only root round it.
        *(
            [_Attack(layer, "change the rights of a file", _cell(select_sandbox.CHANGE_RIGHTS.format(path=target)))]
            if layer is Layer.FILTER
            else []
        ),
        _Attack(layer, "change the times of a file", _cell(select_sandbox.CHANGE_TIMES.format(path=target))),
        _Attack(
            layer,
            "send a signal by way of a descriptor",
            _cell(*(line.format(process=process) for line in select_sandbox.SIGNAL_BY_DESCRIPTOR)),
        ),
    ]
