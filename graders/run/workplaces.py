"""The empty folders in which warm processes start, and what is done about those of programs that were killed."""

from __future__ import annotations

import os
import shutil
import stat
import tempfile
from contextlib import suppress
from pathlib import Path

_PREFIX = "gearkit-run-"


def new() -> tempfile.TemporaryDirectory[str]:
    """A new folder, named after this process so that it can be told when nobody needs it any more."""
    sweep()
    return tempfile.TemporaryDirectory(prefix=f"{_PREFIX}{os.getpid()}-")


def sweep() -> None:
    """Remove our own folders whose process has ended without doing so itself."""
    for path in Path(tempfile.gettempdir()).glob(f"{_PREFIX}*-*"):
        number = path.name.removeprefix(_PREFIX).partition("-")[0]
        with suppress(OSError):
            state = path.lstat()
            ours = stat.S_ISDIR(state.st_mode) and state.st_uid == os.getuid()
            if ours and number.isdecimal() and not _alive(int(number)):
                shutil.rmtree(path, ignore_errors=True)


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True
