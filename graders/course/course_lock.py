"""One at a time: whoever changes a course's marks, decisions or copies takes its lock, and nobody else has it meanwhile.

It is a lock of the operating system on one file of the course. It ends with the process that has it, also when
that is killed, and worker processes don't inherit it. Systems and folders without such locks go without.
"""

from __future__ import annotations

import errno
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from gearkit.words.errors import GearkitError
from graders.course.course import Course

FILE = ".in_use"
# Seconds to wait for the lock: most work that is not marking ends sooner.
PATIENCE = 3.0
_LOOK = 0.1


@contextmanager
def taken(course: Course, what: str) -> Iterator[None]:
    """Take the lock of a course while something is done in it. One process must not take it twice.

    Args:
        course: the course.
        what: what is done, for whoever has to wait: "marking sheet week3".

    Raises:
        GearkitError: somebody else has the lock, or its file cannot be written.
    """
    try:
        import fcntl
    except ImportError:
        yield
        return
    path = course.folder / FILE
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
    except OSError as fault:
        raise GearkitError(f"{path} cannot be written ({fault.strerror}), so nothing was done in this course.") from None
    try:
        give_up = time.monotonic() + PATIENCE
        while True:
            try:
                fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except OSError as fault:
                if fault.errno not in (errno.EACCES, errno.EAGAIN):
                    # Some network folders have no locks at all; work must be possible there too.
                    break
                if time.monotonic() >= give_up:
                    raise GearkitError(_busy(course, handle)) from None
                time.sleep(_LOOK)
        # On a full disk whoever has to wait is told less; what cannot be written then is told by whoever needs it.
        with suppress(OSError):
            os.ftruncate(handle, 0)
            os.pwrite(handle, f"process {os.getpid()} has been {what} since {time.strftime('%H:%M:%S')}".encode(), 0)
        try:
            yield
        finally:
            with suppress(OSError):
                os.ftruncate(handle, 0)
    finally:
        os.close(handle)


def _busy(course: Course, handle: int) -> str:
    told = os.pread(handle, 300, 0).decode("utf-8", "replace").strip() or "another process is at work"
    return f"The course {course.folder} is in use: {told}. Nothing was changed; wait until that has ended, then do it again."
