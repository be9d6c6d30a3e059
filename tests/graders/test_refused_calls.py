"""What landlock leaves open is refused to learner code: the rights and times of files, and signals by way of a descriptor."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from graders.run.engines.runner import Runner
from graders.run.sandbox.layers import Layer, Limits, Protection
from tests.graders.levels import Level, buildable

LEVELS = buildable()
KERNEL_LEVELS = [level.round_a_kernel() for level in LEVELS if Layer.ROOT in level.protection]
LIMITS = Limits(cell_seconds=8, seconds=16)
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="these calls are Linux's own")

# Each line by itself; a path is opened as a mere place, which landlock allows. The numbers are of 64-bit Intel machines.
WAYS_TO_CHANGE = """\
os.chmod(path, 0o777)
os.chmod(name, 0o777, dir_fd=folder)
call(90, path.encode(), 0o777)
call(268, folder, name.encode(), 0o777)
call(452, folder, name.encode(), 0o777, 0)
call(452, place, b"", 0o777, 0x1000)
call(91, place, 0o777)
os.chown(path, 12, 12)
os.lchown(path, 12, 12)
os.chown(name, 12, 12, dir_fd=folder)
call(260, place, b"", 12, 12, 0x1000)
call(93, place, 12, 12)
os.utime(path, (1, 1))
os.utime(path, (1, 1), follow_symlinks=False)
os.utime(name, (1, 1), dir_fd=folder)
call(132, path.encode(), None)
call(235, path.encode(), None)
call(261, folder, name.encode(), None)
call(280, place, None, None, 0)
call(280, place, b"", None, 0x1000)
os.setxattr(path, "user.x", b"1")
os.setxattr(path, "user.x", b"1", follow_symlinks=False)
call(190, place, b"user.x", b"1", 1, 0)
os.removexattr(path, "user.mark")
os.removexattr(path, "user.mark", follow_symlinks=False)
os.truncate(path, 0)
os.open(path, os.O_RDONLY | os.O_TRUNC)
os.open(path, os.O_WRONLY)
"""
WAYS_TO_SIGNAL = """\
fcntl.fcntl(reading, 8, victim); arm()
fcntl.fcntl(reading, 15, struct.pack("ii", 1, victim)); arm()
fcntl.fcntl(reading, 15, struct.pack("ii", 0, victim)); arm()
fcntl.ioctl(near, 0x8901, struct.pack("i", victim)); arm(near, far, ioctl=True)
fcntl.ioctl(near, 0x8902, struct.pack("i", victim)); arm(near, far, ioctl=True)
os.kill(victim, 15)
call(424, victim, 15, None, 0)
call(129, victim, 15, bytes(128))
"""
PREPARED = """\
import ctypes, fcntl, os, signal, socket, struct
library = ctypes.CDLL(None, use_errno=True)
def call(*arguments):
    if library.syscall(*arguments) < 0:
        raise OSError(ctypes.get_errno(), "refused")
def arm(reading=None, writing=None, ioctl=False):
    reading, writing = (ends if reading is None else (reading, writing))
    if ioctl:
        fcntl.ioctl(reading, 0x5452, struct.pack("i", 1))
    else:
        fcntl.fcntl(reading, 10, 15)
        fcntl.fcntl(reading, fcntl.F_SETFL, fcntl.fcntl(reading, fcntl.F_GETFL) | 0x2000)
    os.write(writing, b"x")
ends = os.pipe()
reading = ends[0]
near, far = (held.detach() for held in socket.socketpair())
def attempt(line):
    try:
        exec(line)
    except BaseException as fault:
        return type(fault).__name__
    return "done"
"""


def _done(lines: str, names: str) -> list[str]:
    """A cell that tries each line and answers with those that got through."""
    return [
        PREPARED + names,
        f"done = [which for which, line in enumerate({lines.splitlines()!r}) if attempt(line) == 'done']\n"
        "answer('a', {'answer': ' '.join(map(str, done)), 'tried': 'all'})",
    ]


def _got_through(protection: Protection, engine: str, lines: str, names: str) -> list[str]:
    """Those of the lines that were not refused."""
    cells = _done(lines, names)
    with Runner(protection, LIMITS, preload=(), engine=engine) as runner:
        run = runner.run(cells)
    told = next((frame.answers["a"] for frame in run.frames if "a" in frame.answers), {})
    assert told.get("tried") == "all", run
    return [lines.splitlines()[int(place)] for place in told["answer"].split()]


@pytest.fixture
def target(tmp_path: Path) -> Path:
    """A file of the marker's, with a mark on it where its file system takes one."""
    path = tmp_path / "gradebook.db"
    path.write_text("marks")
    path.chmod(0o600)
    with contextlib.suppress(OSError):
        os.setxattr(path, "user.mark", b"1")
    return path


@pytest.fixture
def victim() -> Iterator[subprocess.Popen[bytes]]:
    """A program of the same user, in a group of its own."""
    with subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"], start_new_session=True) as found:
        yield found
        found.kill()


def _names(target: Path) -> str:
    return (
        f"path, name = {str(target)!r}, {target.name!r}\n"
        f"try:\n    folder = os.open({str(target.parent)!r}, os.O_PATH); place = os.open(path, os.O_PATH)\n"
        "except OSError:\n    folder = place = -1\n"
    )


def _state(path: Path) -> tuple[object, ...]:
    found = path.stat()
    marks = {name: os.getxattr(path, name) for name in os.listxattr(path)}
    return found.st_mode, found.st_uid, found.st_gid, found.st_mtime_ns, marks, path.read_text()


def _each(of_kernels: bool) -> list[object]:
    made = [pytest.param(level, "warm", id=f"warm, {level.name}") for level in LEVELS]
    return made + [pytest.param(level, "kernel", id=f"kernel, {level.name}") for level in KERNEL_LEVELS if of_kernels]


@pytest.mark.parametrize(("level", "engine"), _each(of_kernels=True))
def test_no_submission_changes_a_file_of_the_marker_at_any_level(
    level: Level,
    engine: str,
    target: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    level.make_old(monkeypatch)
    before = _state(target)
    assert _got_through(level.protection, engine, WAYS_TO_CHANGE, _names(target)) == []
    after = _state(target)
    assert after == before


@pytest.mark.parametrize(("level", "engine"), _each(of_kernels=True))
def test_no_submission_ends_another_program_at_any_level(
    level: Level,
    engine: str,
    victim: subprocess.Popen[bytes],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    level.make_old(monkeypatch)
    assert _got_through(level.protection, engine, WAYS_TO_SIGNAL, f"victim = {victim.pid}") == []
    assert victim.poll() is None


@pytest.mark.parametrize("signs", WAYS_TO_SIGNAL.splitlines()[:6])
def test_each_way_to_signal_ends_a_program_where_nothing_stops_it(signs: str, victim: subprocess.Popen[bytes]) -> None:
    assert _got_through(Protection(frozenset()), "warm", signs, f"victim = {victim.pid}") == [signs]
    assert victim.wait(5) != 0


def test_nearly_each_way_to_change_a_file_gets_through_where_nothing_stops_it(target: Path) -> None:
    through = _got_through(Protection(frozenset()), "warm", WAYS_TO_CHANGE, _names(target))
    words = (
        "chmod",
        "call(90",
        "call(268",
        "chown",
        "utime",
        "call(132",
        "call(235",
        "call(261",
        "truncate",
        "O_TRUNC",
        "O_WRONLY",
    )
    assert [word for word in words if not any(word in line for line in through)] == [], through


def test_the_warm_process_has_a_session_of_its_own() -> None:
    with Runner(Protection(frozenset()), preload=()) as runner:
        assert runner.run(["answer('a', 1)"]).complete
        assert runner._warm is not None
        assert os.getsid(runner._warm.process.pid) == runner._warm.process.pid


@pytest.mark.parametrize("level", LEVELS, ids=lambda level: level.name)
def test_what_a_calculation_does_with_files_and_terminals_is_left(level: Level, monkeypatch: pytest.MonkeyPatch) -> None:
    level.make_old(monkeypatch)
    cell = (
        "import fcntl, os, shutil, sys\nreading, writing = os.pipe()\nos.set_blocking(reading, False)\n"
        "os.set_inheritable(reading, True)\nfcntl.fcntl(writing, fcntl.F_SETFL, os.O_NONBLOCK)\n"
        "held = fcntl.fcntl(reading, fcntl.F_DUPFD_CLOEXEC, 10)\nos.isatty(reading)\nshutil.get_terminal_size()\n"
        "open(os.__file__).read(10)\nanswer('a', held)"
    )
    with Runner(level.protection, LIMITS, preload=()) as runner:
        assert [frame.fault for frame in runner.run([cell]).frames] == ["", ""]
