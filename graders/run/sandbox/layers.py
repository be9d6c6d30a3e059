"""The layers of protection round learner code, and the order in which they have to be built.

Three levels are made of them. *full*: an own read-only root with nothing of the class in it, own network,
process and message namespaces, an own user (or no rights at all), and the filter of system calls; round a real
kernel a filter that lets it start programs and open sockets that never leave its own network. *strong*:
landlock and the filter, for an ordinary user where namespaces are closed. *limits only*: memory, time, file
size and open files are bounded, but files and the network stay open; learner code is not run at this level
unless the instructor says so.

Order matters and was learnt from attacks: session, mounts, limits, user, death with the parent (a change of user
clears it), no new rights, landlock (its folders must still be openable), filter last.
"""

from __future__ import annotations

import os
import signal
import site
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path

from graders.run.sandbox import call_filter, kernel_calls, kit_parts

MEGABYTE = 1 << 20
USERS_OF_ONE = 16
# Numbers that no system gives out, so many that each process number has its own; and few ones that a container with an
# own numbering of users always has.
MANY_USERS, FEW_USERS = range(3_000_000_000, 3_100_000_000), range(61_000, 65_000)
SCRATCH = "/scratch"


class Layer(StrEnum):
    """One layer; its value is what the report calls it."""

    LIMITS = "limits on memory, time and files"
    SESSION = "dies with the marker"
    USER_NAMESPACE = "own user namespace"
    ROOT = "own read-only root and network"
    SCRATCH = "own small scratch folder"
    PROCESSES = "own process numbers"
    USER = "own user without rights"
    PRIVILEGES = "no new rights"
    LANDLOCK = "closed file system (landlock)"
    FILTER = "filter of system calls"
    KERNEL_FILTER = "filter of system calls round a kernel"
    GROUP = "control group round all processes"


@dataclass(frozen=True)
class Limits:
    """What one submission may use.

    Args:
        cell_seconds: time for one cell, in seconds.
        seconds: time for the whole submission, in seconds.
        memory: memory beyond what the warm process holds, in bytes.
        scratch: size of the scratch folder, in bytes.
        file_size: size of one file, in bytes.
        open_files: files open at a time.
        processes: processes and threads at a time.
        reply: size of all answers together, in bytes.
    """

    cell_seconds: float = 5.0
    seconds: float = 20.0
    memory: int = 768 * MEGABYTE
    scratch: int = 16 * MEGABYTE
    file_size: int = 8 * MEGABYTE
    open_files: int = 64
    processes: int = 64
    reply: int = MEGABYTE

    @property
    def processor_seconds(self) -> int:
        """Processor time of one process after which the system kills it, in seconds: more than the time it has."""
        return int(self.seconds) + 2


@dataclass(frozen=True)
class Protection:
    """The layers that are used.

    Args:
        layers: the layers.
    """

    layers: frozenset[Layer]

    @property
    def level(self) -> str:
        """ "full", "strong", "limits only" or "none"."""
        filtered = bool({Layer.FILTER, Layer.KERNEL_FILTER} & self.layers)
        if {Layer.ROOT, Layer.PROCESSES, Layer.USER} <= self.layers and filtered:
            return "full"
        if {Layer.LANDLOCK, Layer.FILTER} <= self.layers:
            return "strong"
        return "limits only" if Layer.LIMITS in self.layers else "none"

    @property
    def holds(self) -> bool:
        """Whether files and the network are closed to learner code."""
        return self.level in ("full", "strong")

    def __contains__(self, layer: Layer) -> bool:
        return layer in self.layers


@cache
def readable_folders() -> tuple[str, ...]:
    """What learner code may read: the interpreter, its libraries and the kit, and nothing of a course."""
    import gearkit
    import graders
    from gearkit.text import places

    kit = [str(Path(package.__file__ or "").parent) for package in (gearkit, graders)]
    wanted = ["/usr", "/lib", "/lib64", "/lib32", "/bin", sys.base_prefix, sys.prefix, *kit, str(places.datasets())]
    if site.ENABLE_USER_SITE:
        wanted.append(site.getusersitepackages())
    folders: list[str] = []
    for folder in wanted:
        inside = any(Path(folder).is_relative_to(other) for other in folders if not os.path.islink(other))
        if os.path.lexists(folder) and not inside:
            folders.append(folder)
    return tuple(folders)


DEVICES = ("/dev/null", "/dev/zero", "/dev/urandom", "/dev/random")
SMALL_FILES = ("/etc/ld.so.cache", "/etc/localtime")


def users_of(process: int) -> range:
    """The throw-away users of a warm process; processes of one user count together, so warm processes must share none.

    Args:
        process: number of the warm process.
    """
    users = MANY_USERS if _has_all(MANY_USERS) else FEW_USERS
    first = users.start + process % (len(users) // USERS_OF_ONE) * USERS_OF_ONE
    return range(first, first + USERS_OF_ONE)


def _has_all(users: range) -> bool:
    """Whether this system can give processes to all of these users."""
    try:
        spans = [tuple(map(int, line.split())) for line in Path("/proc/self/uid_map").read_text().splitlines()]
    except (OSError, ValueError):
        return False
    return any(inside <= users.start and users.stop <= inside + count for inside, _, count in spans)


def close_in(protection: Protection, folder: Path, hidden: Iterable[Path]) -> int | None:
    """Build the layers that the warm process shares with all submissions.

    Args:
        protection: the layers to use.
        folder: an empty folder on which the own root is mounted.
        hidden: folders that must not be seen even if they lie in a readable one.

    Returns:
        An open descriptor of the process namespace that children are made in, or None.
    """
    if Layer.USER_NAMESPACE in protection:
        kernel_calls.own_user_namespace()
        if Layer.PROCESSES in protection:
            _become_first_process()
    spaces = os.open("/proc/self/ns/pid", os.O_RDONLY) if Layer.PROCESSES in protection else None
    if Layer.ROOT in protection:
        _own_root(str(folder), [*readable_folders(), *DEVICES, *SMALL_FILES], [str(path) for path in hidden])
    return spaces


def _become_first_process() -> None:
    """Go on as process 1 of an own process namespace; the outer process waits for the end and follows."""
    kernel_calls.unshare(kernel_calls.NEW_PROCESSES)
    inner = os.fork()
    if inner:
        kernel_calls.die_with_parent(signal.SIGKILL)
        os.closerange(0, 4096)
        os.waitpid(inner, 0)
        os._exit(0)
    kernel_calls.die_with_parent(signal.SIGKILL)


def _own_root(new: str, kept: list[str], hidden: list[str]) -> None:
    """Leave the machine's file system, network and messages for a small root with read-only views."""
    kernel_calls.unshare(
        kernel_calls.NEW_MOUNTS | kernel_calls.NEW_NETWORK | kernel_calls.NEW_MESSAGES | kernel_calls.NEW_NAMES
    )
    kernel_calls.mount(None, "/", None, kernel_calls.RECURSIVE | kernel_calls.PRIVATE)
    closed = kernel_calls.NO_SETUID | kernel_calls.NO_DEVICES
    kernel_calls.mount("tmpfs", new, "tmpfs", closed, "size=4m,mode=755")
    for path in kept:
        _show(path, new + path)
    for path in hidden:
        if os.path.isdir(new + path):
            kernel_calls.mount("tmpfs", new + path, "tmpfs", closed | kernel_calls.READ_ONLY, "size=4k,mode=000")
    for folder, stays in kit_parts.views().items():
        if os.path.isdir(new + folder):
            kernel_calls.mount("tmpfs", new + folder, "tmpfs", closed, "size=64k,mode=755")
            for path in stays:
                _show(path, new + path)
            kernel_calls.mount(
                None, new + folder, None, kernel_calls.BIND | kernel_calls.REMOUNT | kernel_calls.READ_ONLY | closed
            )
    for folder in (SCRATCH, "/tmp", "/proc", "/.old"):
        os.makedirs(new + folder, exist_ok=True)
    kernel_calls.swap_root(new, new + "/.old")
    kernel_calls.mount(None, "/", None, kernel_calls.REMOUNT | kernel_calls.BIND | kernel_calls.READ_ONLY | closed)


def _show(path: str, target: str) -> None:
    """Show a file or folder of the old root in the new one, read-only; a link stays a link."""
    os.makedirs(os.path.dirname(target), exist_ok=True)
    if os.path.islink(path):
        if not os.path.lexists(target):
            os.symlink(os.readlink(path), target)
        return
    if not os.path.exists(path):
        return
    if os.path.isdir(path):
        os.makedirs(target, exist_ok=True)
    else:
        Path(target).touch()
    kernel_calls.mount(path, target, None, kernel_calls.BIND | kernel_calls.RECURSIVE)
    if not path.startswith("/dev/"):
        kernel_calls.mount(
            None,
            target,
            None,
            kernel_calls.BIND
            | kernel_calls.REMOUNT
            | kernel_calls.READ_ONLY
            | kernel_calls.NO_SETUID
            | kernel_calls.NO_DEVICES,
        )


def prepare(protection: Protection) -> int | None:
    """Work out once, before any fork, what is the same for every submission.

    Args:
        protection: the layers to use.

    Returns:
        An open descriptor of landlock's rules, where one set serves for all, or None.
    """
    readable_folders()
    for layer, kernel in ((Layer.FILTER, False), (Layer.KERNEL_FILTER, True)):
        if layer in protection:
            call_filter.program(kernel_calls.machine(), kernel=kernel)
    if Layer.LANDLOCK not in protection or Layer.ROOT in protection:
        return None
    # Without an own root nothing but these rules hides parts of a folder, so they name all the others one by one.
    readable, passed = kit_parts.without_hidden(readable_folders())
    return kernel_calls.file_rules([*readable, *DEVICES, *SMALL_FILES], ["/dev/null"], passed)


def before_fork(protection: Protection, spaces: int | None) -> None:
    """Make the next child the first process of a new process namespace, where that layer is used.

    Args:
        protection: the layers to use.
        spaces: what `close_in` returned.
    """
    if Layer.PROCESSES in protection and spaces is not None:
        kernel_calls.join_namespace(spaces, kernel_calls.NEW_PROCESSES)
        kernel_calls.unshare(kernel_calls.NEW_PROCESSES)


def confine(protection: Protection, limits: Limits, base_memory: int, user: int, rules: int | None = None) -> None:
    """Build the layers of one submission, in the child, before anything of the learner is read.

    Args:
        protection: the layers to use.
        limits: what the submission may use.
        base_memory: address space of the warm process, in bytes.
        user: number of the throw-away user.
        rules: an open descriptor of what `prepare` gave.
    """
    os.setsid()
    owner = user if Layer.USER in protection and Layer.USER_NAMESPACE not in protection else os.getuid()
    if Layer.SCRATCH in protection:
        _own_scratch(limits.scratch, owner)
    if Layer.LIMITS in protection:
        _limit(limits, base_memory)
    if Layer.USER in protection:
        _drop_rights(owner, Layer.USER_NAMESPACE in protection)
    if Layer.SESSION in protection:
        kernel_calls.die_with_parent(signal.SIGKILL)
    if Layer.PRIVILEGES in protection:
        kernel_calls.no_new_privileges()
    if Layer.LANDLOCK in protection:
        kernel_calls.restrict_files(rules if rules is not None else _rules_in_own_root(protection))
    if Layer.FILTER in protection:
        call_filter.apply()
    elif Layer.KERNEL_FILTER in protection:
        call_filter.apply(kernel=True)


def _rules_in_own_root(protection: Protection) -> int:
    """Landlock's rules where an own root hides all else; the scratch folder, of which each child has its own, is in them."""
    writable = ["/dev/null", *([SCRATCH] if Layer.SCRATCH in protection else [])]
    # A program that is started anew finds the kit by looking through the folder that holds it; what else lies there is
    # not in the own root.
    listed = [str(kit_parts.kit_folder())] if Layer.ROOT in protection else []
    return kernel_calls.file_rules([*readable_folders(), *DEVICES, *SMALL_FILES], writable, listed)


def _own_scratch(size: int, owner: int) -> None:
    kernel_calls.unshare(kernel_calls.NEW_MOUNTS)
    kernel_calls.mount(None, "/", None, kernel_calls.RECURSIVE | kernel_calls.PRIVATE)
    kernel_calls.mount(
        "tmpfs",
        SCRATCH,
        "tmpfs",
        kernel_calls.NO_SETUID | kernel_calls.NO_DEVICES,
        f"size={size},nr_inodes=2000,mode=700,uid={owner},gid={owner}",
    )
    os.chdir(SCRATCH)


def _limit(limits: Limits, base_memory: int) -> None:
    import resource

    wanted = [
        (resource.RLIMIT_CPU, limits.processor_seconds),
        (resource.RLIMIT_FSIZE, limits.file_size),
        (resource.RLIMIT_NOFILE, limits.open_files),
        (resource.RLIMIT_CORE, 0),
    ]
    if sys.platform == "linux":
        # Elsewhere a program is given far more addresses than it uses, and processes count with all of the user's.
        wanted += [(resource.RLIMIT_AS, base_memory + limits.memory), (resource.RLIMIT_NPROC, limits.processes)]
    for kind, value in wanted:
        hard = resource.getrlimit(kind)[1]
        most = value if hard == resource.RLIM_INFINITY else min(value, hard)
        resource.setrlimit(kind, (most, most))


def _drop_rights(owner: int, in_namespace: bool) -> None:
    if in_namespace:
        kernel_calls.drop_capabilities()
        return
    os.setgroups([])
    os.setresgid(owner, owner, owner)
    os.setresuid(owner, owner, owner)
