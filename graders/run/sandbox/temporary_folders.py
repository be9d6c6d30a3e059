"""Folders for a while: where warm processes start, where attacks look, where a cluster works; also of killed programs.

Each holds a file that its program keeps locked. The system lets go of the lock when the program ends, however it does,
also where programs of several containers, whose process numbers mean nothing to each other, share the place.
"""

from __future__ import annotations

import errno
import os
import re
import shutil
import stat
import tempfile
import weakref
from contextlib import suppress
from pathlib import Path
from types import TracebackType

LOCK = ".in_use"
_NAME = re.compile(r"gearkit-(?:run|proof|cluster)-\d{1,9}-\w+")
_TRIES = 100


class TemporaryFolder:
    """A new folder, removed when it is cleaned up or let go of; where its program is killed, by the next one.

    Args:
        kind: "run", "proof" or "cluster"; the folder's name tells it and the number of this process.

    Raises:
        OSError: it cannot be made.
    """

    def __init__(self, kind: str) -> None:
        self._folder, lock = _made(kind)
        self._let_go = weakref.finalize(self, os.close, lock)
        self.name = self._folder.name

    def __enter__(self) -> str:
        return self.name

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None) -> None:
        self.cleanup()

    def cleanup(self) -> None:
        """Remove the folder with what is in it."""
        self._folder.cleanup()
        self._let_go()


def new(kind: str) -> TemporaryFolder:
    """A new folder, after those of ended programs were removed.

    Args:
        kind: "run", "proof" or "cluster".
    """
    sweep()
    return TemporaryFolder(kind)


def sweep() -> None:
    """Remove our own folders whose program has ended without doing so itself."""
    for path in Path(tempfile.gettempdir()).glob("gearkit-*"):
        if _NAME.fullmatch(path.name):
            with suppress(OSError):
                _sweep_one(path)


def _sweep_one(path: Path) -> None:
    state = path.lstat()
    if not stat.S_ISDIR(state.st_mode) or state.st_uid != os.getuid():
        return
    # Where the file is missing the folder is just being made, or its maker was killed over it: whoever makes the file
    # has the folder.
    lock = os.open(path / LOCK, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
    try:
        if _taken(lock) and os.fstat(lock).st_nlink:
            shutil.rmtree(path, ignore_errors=True)
    finally:
        os.close(lock)


def _made(kind: str) -> tuple[tempfile.TemporaryDirectory[str], int]:
    """A new folder and the descriptor of its lock."""
    for _ in range(_TRIES):
        folder = tempfile.TemporaryDirectory(prefix=f"gearkit-{kind}-{os.getpid()}-", ignore_cleanup_errors=True)
        lock = _locked(Path(folder.name) / LOCK)
        if lock is not None:
            return folder, lock
        folder.cleanup()
    raise OSError(errno.EAGAIN, os.strerror(errno.EAGAIN), tempfile.gettempdir())


def _locked(path: Path) -> int | None:
    """The descriptor of a new file that is locked, or None where somebody who sweeps came between."""
    try:
        lock = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
    except (FileExistsError, FileNotFoundError):
        return None
    try:
        ours = _taken(lock)
    except OSError:
        # There are no locks here; then nobody can sweep either.
        ours = True
    if ours and os.fstat(lock).st_nlink:
        return lock
    os.close(lock)
    return None


def _taken(lock: int) -> bool:
    """Take a lock, unless somebody has it.

    Raises:
        OSError: there are no locks here.
    """
    try:
        import fcntl
    except ImportError:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK)) from None
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
