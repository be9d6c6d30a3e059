"""Which account of this machine belongs to which learner, for an exchange folder on a shared server.

An account bears the learner's identity, unless the course's file ``accounts.csv`` (columns id and account) says otherwise.
"""

from __future__ import annotations

import csv
import io
import os
import stat
from collections.abc import Collection, Mapping
from pathlib import Path

from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.course.course import Course

FILE = "accounts.csv"


def read(course: Course) -> Mapping[str, str]:
    """The accounts that bear another name than the learner's identity, by identity.

    Args:
        course: the course.

    Raises:
        UsageError: the file cannot be read, a column is missing, or an identity or account is empty or there twice.
    """
    path = course.folder / FILE
    try:
        rows = list(csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines(), strict=True, skipinitialspace=True))
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError, csv.Error) as fault:
        raise UsageError(f"{path} cannot be read: {fault}") from None
    accounts: dict[str, str] = {}
    faults = _faults(rows)
    if faults:
        raise UsageError(f"{path}: " + "; ".join(faults[:20]))
    accounts.update((row["id"].strip(), row["account"].strip()) for row in rows)
    return accounts


def _faults(rows: list[dict[str, str]]) -> list[str]:
    faults, seen = [], set()
    for number, row in enumerate(rows, start=2):
        if "id" not in row or "account" not in row:
            return [f"the columns are {', '.join(str(name) for name in row)}; expected id, account"]
        for column in ("id", "account"):
            value = (row[column] or "").strip()
            if not value:
                faults.append(f"line {number}: the {column} is empty")
            elif (column, value) in seen:
                faults.append(f"line {number}: {column} {value!r} is there twice")
            seen.add((column, value))
    return faults


def of(learner: str, known: Mapping[str, str]) -> str:
    """The account of a learner.

    Args:
        learner: identity.
        known: accounts by identity.
    """
    return known.get(learner, learner)


def number_of(account: str) -> int | None:
    """The number by which the system knows an account, or None where it has none of that name."""
    import pwd

    try:
        return pwd.getpwnam(account).pw_uid
    except KeyError:
        return None


def open_home(account: str, others: Collection[str]) -> Path | None:
    """The home folder of an account where others of the class can look into it, None where they cannot.

    There JupyterLab keeps what was typed into sheets, in files that are open to whoever gets into the folder.

    Args:
        account: name of the account.
        others: accounts of the rest of the class, who may be in a group with it.
    """
    home = home_of(account)
    try:
        state = home.stat()
    except OSError:
        return None
    if state.st_uid != number_of(account):
        # Of no person: accounts that belong to the system have folders of the system.
        return None
    rights = stat.S_IMODE(state.st_mode)
    shared = rights & 0o070 and any(state.st_gid in _groups(other) for other in others if other != account)
    return home if rights & 0o007 or shared else None


def home_of(account: str) -> Path:
    """The home folder of an account that this machine has."""
    import pwd

    return Path(pwd.getpwnam(account).pw_dir)


def _groups(account: str) -> list[int]:
    import pwd

    try:
        return os.getgrouplist(account, pwd.getpwnam(account).pw_gid)
    except KeyError:
        return []


def name_of(number: int) -> str:
    """The name of an account, or its number where it has none."""
    import pwd

    try:
        return pwd.getpwuid(number).pw_name
    except KeyError:
        return f"number {number}"


def forget(course: Course, learner: str) -> int:
    """Take a learner out of the file; return how many lines that were.

    Args:
        course: the course.
        learner: identity.
    """
    known = read(course)
    if learner not in known:
        return 0
    out = io.StringIO(newline="")
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(("id", "account"))
    rows.writerows((who, account) for who, account in known.items() if who != learner)
    write_atomically(course.folder / FILE, out.getvalue())
    return 1
