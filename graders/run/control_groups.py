"""Finds out whether the system's control groups could bound the memory and the number of processes of a whole submission.

They are no wall of the kit: the limits on each process, the own process numbers and the small scratch folder bound a
submission without them, and a wall that cannot be attacked where it was made would only be believed in. What is said
here is for whoever looks after the machine. Source: the kernel's "Control Group v2", sections on core files and controllers.
"""

from __future__ import annotations

import os
from pathlib import Path

NEEDED = ("memory", "pids")


def standing(root: Path = Path("/")) -> str:
    """What control groups could do here, in a few words that begin with "available" or "not available".

    Args:
        root: where the system's own files are found.
    """
    mounted = _mounted(root)
    if mounted is None:
        return "not available: the system has mounted no cgroup v2"
    folder = root / mounted.lstrip("/")
    own = folder / _own_group(root).lstrip("/")
    try:
        found = (own / "cgroup.controllers").read_text().split()
    except OSError:
        return "not available: this program's own cgroup is not to be seen from here"
    missing = [one for one in NEEDED if one not in found]
    if missing:
        return f"not available: cgroup v2 has no {' and no '.join(missing)} here (it has {', '.join(found) or 'nothing'})"
    if not os.access(own, os.W_OK):
        return "not available: this program's own cgroup cannot be written to, because nobody has delegated it"
    return "available"


def _mounted(root: Path) -> str | None:
    """Where cgroup v2 is mounted."""
    try:
        lines = (root / "proc/self/mounts").read_text().splitlines()
    except OSError:
        return None
    return next((words[1] for line in lines if len(words := line.split()) > 2 and words[2] == "cgroup2"), None)


def _own_group(root: Path) -> str:
    try:
        lines = (root / "proc/self/cgroup").read_text().splitlines()
    except OSError:
        return "/"
    return next((line.removeprefix("0::") for line in lines if line.startswith("0::")), "/")
