"""Does things as other accounts of this machine: each in a forked process that has given up all of root's rights.

The accounts are ones that every Debian or Ubuntu has; nothing is added to the system. Only root can become others, so
the tests that need this fail and say so where they do not run as root.
"""

from __future__ import annotations

import os
import pickle
import pwd
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

INSTRUCTOR, ANN, BOB, CY = "man", "games", "lp", "news"


class OtherPersonError(Exception):
    """Something that another account did ended with an error; its first word is the error's name."""


def as_account(account: str, work: Callable[[], Any], home: Path = Path("/")) -> Any:
    """Do something as another account and return what came out.

    Args:
        account: name of the account.
        work: what to do; all it imports should be imported already, for the account may not see where that lies.
        home: the folder in which it works.

    Raises:
        OtherPersonError: it ended with an error.
    """
    assert os.geteuid() == 0, "These tests act as several accounts of this machine, which only root can: run them as root."
    entry = pwd.getpwnam(account)
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        try:
            os.setgroups([])
            os.setresgid(entry.pw_gid, entry.pw_gid, entry.pw_gid)
            os.setresuid(entry.pw_uid, entry.pw_uid, entry.pw_uid)
            os.umask(0o022)
            os.environ.update(HOME=str(home), USER=account, LOGNAME=account)
            os.chdir(home)
            result: tuple[bool, Any] = (True, work())
        except BaseException as fault:
            result = (False, f"{type(fault).__name__}: {fault}\n{traceback.format_exc()}")
        with os.fdopen(write, "wb") as stream:
            stream.write(pickle.dumps(result))
        os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as stream:
        data = stream.read()
    os.waitpid(child, 0)
    done, value = pickle.loads(data)
    if not done:
        raise OtherPersonError(value)
    return value
