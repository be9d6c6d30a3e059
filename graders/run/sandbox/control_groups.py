"""A control group of one's own round each warm process: it bounds what a submission's processes take together.

The other limits count each process by itself, so a notebook that may start programs (in a real kernel) could take many
times the memory of one. The group is made by the marker's side and the warm process is put into it at once, so that
everything that it forks is born inside; moving each child anew would cost milliseconds. Nothing inside can see or change
the group, and it is removed with the runner.

Both forms of the system's control groups are used, wherever a group with limits on memory and on the number of processes
can be made: the older one with a tree for each controller, and the unified one. In the latter a group that has processes
itself cannot have limited groups below it, so the new one is made beside it, in the nearest group above that hands the
controllers down. Sources: the kernel's "Control Group v2" (no internal process constraint, delegation) and "Control
Groups version 1", files of the memory and the pids controller.
"""

from __future__ import annotations

import os
import re
import secrets
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from gearkit.words.errors import GearkitError

AVAILABLE = "available"
NEEDED = ("memory", "pids")
_NAME = re.compile(r"gearkit-(\d{1,9})-[0-9a-f]{8}")
# What limits and what counts, by controller: in a tree of its own, and in the unified tree.
_OLDER = {
    "memory": (("memory.limit_in_bytes", "memory.memsw.limit_in_bytes"), "memory.usage_in_bytes"),
    "pids": (("pids.max",), "pids.current"),
}
_UNIFIED = {"memory": (("memory.max",), "memory.current"), "pids": (("pids.max",), "pids.current")}
# Memory is counted in advance for up to 64 pages at a time, so that the last step to a limit may be missing.
_STEP = 64 * 4096


class NoGroupsError(GearkitError):
    """Control groups cannot bound a submission here; the message says why."""


@dataclass(frozen=True)
class _Seat:
    """Where groups with one controller can be made."""

    controller: str
    folder: Path
    limits: tuple[str, ...]
    count: str
    unified: bool


def standing(root: Path = Path("/")) -> str:
    """What control groups can do here, in a few words that begin with "available" or "not available".

    Args:
        root: where the system's own files are found.
    """
    try:
        _seats(root)
    except NoGroupsError as why:
        return f"not available: {why}"
    return AVAILABLE


class Group:
    """A group of one's own, with limits once they are known.

    Args:
        root: where the system's own files are found.

    Raises:
        NoGroupsError: none can be made here.
    """

    def __init__(self, root: Path = Path("/")) -> None:
        self._seats = _seats(root)
        self._ooms = 0
        for folder in {seat.folder for seat in self._seats}:
            _sweep(folder)
        self._name = f"gearkit-{os.getpid()}-{secrets.token_hex(4)}"
        try:
            for folder in self.folders:
                folder.mkdir()
        except OSError as fault:
            self.remove(patience=0.0)
            raise NoGroupsError(f"no group can be made in {fault.filename} ({fault.strerror})") from None

    @property
    def folders(self) -> list[Path]:
        """The group's folders, one for each tree."""
        return sorted({seat.folder / self._name for seat in self._seats})

    def take_in(self, process: int) -> None:
        """Put a process into the group; what it forks from then on is inside as well.

        Args:
            process: its number.

        Raises:
            NoGroupsError: the system refuses.
        """
        try:
            for folder in self.folders:
                (folder / "cgroup.procs").write_text(str(process))
        except OSError as fault:
            raise NoGroupsError(f"no process can be put into {fault.filename} ({fault.strerror})") from None

    def bound(self, memory: int, processes: int) -> None:
        """Allow so much beyond what the processes inside have now.

        Args:
            memory: bytes, files in memory counted.
            processes: processes and threads.

        Raises:
            NoGroupsError: the system refuses.
        """
        more = {"memory": memory, "pids": processes}
        try:
            for seat in self._seats:
                group = seat.folder / self._name
                most = str(int((group / seat.count).read_text()) + more[seat.controller])
                # The older form has a second limit, on memory and swap together, only where swap is counted.
                for limit in seat.limits:
                    if limit == seat.limits[0] or (group / limit).exists():
                        (group / limit).write_text(most)
                if seat.unified and (group / "memory.swap.max").exists():
                    (group / "memory.swap.max").write_text("0")
        except (OSError, ValueError) as fault:
            raise NoGroupsError(f"no limit can be set ({fault})") from None

    def watch(self) -> None:
        """Begin to look whether the limit on memory is met."""
        group, seat = self._memory
        with suppress(OSError, ValueError, KeyError):
            if seat.unified:
                self._ooms = _ooms(group)
            else:
                for limit in _met_in(group, seat):
                    limit.highest.write_text("0")

    def was_full(self) -> bool:
        """Whether the limit on memory was met since `watch`; False also where the system does not tell it.

        Unlike the number of processes that the system has killed inside, this tells the group's own limit from the whole
        machine's want of memory.
        """
        group, seat = self._memory
        try:
            if seat.unified:
                return _ooms(group) > self._ooms
            return any(int(limit.most.read_text()) - int(limit.highest.read_text()) < _STEP for limit in _met_in(group, seat))
        except (OSError, ValueError, KeyError):
            return False

    @property
    def _memory(self) -> tuple[Path, _Seat]:
        """The group's folder in the tree that limits memory, and its seat."""
        seat = next(seat for seat in self._seats if seat.controller == "memory")
        return seat.folder / self._name, seat

    def remove(self, patience: float = 1.0) -> None:
        """Remove the group; one that still holds a process stays, and is swept once its marker has ended.

        Args:
            patience: seconds to wait for the last process inside to be gone.
        """
        until = time.monotonic() + patience
        for folder in self.folders:
            while folder.exists():
                with suppress(OSError):
                    folder.rmdir()
                    break
                if time.monotonic() >= until:
                    break
                time.sleep(0.01)


class _Limit(NamedTuple):
    """Files of a limit in the older form."""

    most: Path
    highest: Path


def _met_in(group: Path, seat: _Seat) -> list[_Limit]:
    """The limits on memory of a group of the older form; that on memory and swap together is not everywhere."""
    limits = [_Limit(group / name, group / name.replace("limit", "max_usage")) for name in seat.limits]
    return [limit for limit in limits if limit.most.exists()]


def _ooms(group: Path) -> int:
    """How often memory ran out in a group of the unified form because of its own limit."""
    return int(dict(line.split() for line in (group / "memory.events").read_text().splitlines())["oom"])


def _seats(root: Path) -> list[_Seat]:
    """Where a limited group can be made, for each controller."""
    if sys.platform != "linux":
        raise NoGroupsError("only Linux has control groups")
    groups = _own_groups(root)
    return [_seat(controller, groups, root) for controller in NEEDED]


def _seat(controller: str, groups: dict[str, Path], root: Path) -> _Seat:
    if controller in groups:
        folder = groups[controller]
        if not folder.is_dir():
            raise NoGroupsError("this program's own control group is not to be seen from here")
        _check_open(folder)
        return _Seat(controller, folder, *_OLDER[controller], unified=False)
    if "" not in groups:
        raise NoGroupsError(f"the system has no control groups that limit {_LIMITS[controller]}")
    own = groups[""]
    if not (own / "cgroup.controllers").exists():
        raise NoGroupsError("this program's own control group is not to be seen from here")
    for folder in (own, *own.parents):
        if folder == root or not (folder / "cgroup.subtree_control").exists():
            break
        if controller in (folder / "cgroup.subtree_control").read_text().split():
            _check_open(folder)
            return _Seat(controller, folder, *_UNIFIED[controller], unified=True)
    raise NoGroupsError(f"no control group above this program hands limits on {_LIMITS[controller]} down")


_LIMITS = {"memory": "memory", "pids": "the number of processes"}


def _check_open(folder: Path) -> None:
    if not os.access(folder, os.W_OK):
        raise NoGroupsError("this program may not make control groups, because nobody has handed any over to it")


def _own_groups(root: Path) -> dict[str, Path]:
    """The folder of this program's own group for each controller; under "" that in the unified tree."""
    places: dict[str, tuple[str, Path]] = {}
    groups: dict[str, Path] = {}
    try:
        for line in (root / "proc/self/mountinfo").read_text().splitlines():
            words = line.split()
            kind = words[words.index("-") + 1 :]
            for name in [""] if kind[0] == "cgroup2" else kind[-1].split(",") if kind[0] == "cgroup" else []:
                places.setdefault(name, (words[3], root / words[4].lstrip("/")))
        for line in (root / "proc/self/cgroup").read_text().splitlines():
            _, names, own = line.split(":", 2)
            for name in names.split(","):
                if name in places:
                    # What is mounted may be a part of the tree only, as in a container.
                    top, folder = places[name]
                    groups[name] = folder / os.path.relpath(own, top)
    except (OSError, ValueError, IndexError):
        return {}
    return groups


def _sweep(folder: Path) -> None:
    """Remove groups of markers that were killed; one with a process in it cannot be removed."""
    for path in folder.glob("gearkit-*"):
        name = _NAME.fullmatch(path.name)
        if name is not None and not Path(f"/proc/{name[1]}").exists():
            with suppress(OSError):
                path.rmdir()
