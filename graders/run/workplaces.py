"""Folders for a while: those in which warm processes start and those that are attacked, also of programs that were killed."""

from __future__ import annotations

import os
import re
import shutil
import stat
import tempfile
from contextlib import suppress
from pathlib import Path

_NAME = re.compile(r"gearkit-(?:run|proof)-(\d{1,9})-\w+")


def new(kind: str) -> tempfile.TemporaryDirectory[str]:
    """A new folder, named after this process so that it can be told when nobody needs it any more.

    Args:
        kind: "run" or "proof".
    """
    sweep()
    return tempfile.TemporaryDirectory(prefix=f"gearkit-{kind}-{os.getpid()}-")


def sweep() -> None:
    """Remove our own folders whose process has ended without doing so itself."""
    for path in Path(tempfile.gettempdir()).glob("gearkit-*"):
        name = _NAME.fullmatch(path.name)
        if name is None:
            continue
        with suppress(OSError):
            state = path.lstat()
            ours = stat.S_ISDIR(state.st_mode) and state.st_uid == os.getuid()
            if ours and not _alive(int(name[1])):
                shutil.rmtree(path, ignore_errors=True)


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True
