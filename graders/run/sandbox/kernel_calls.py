"""Thin, checked wrappers round the Linux calls that Python does not offer; nothing here decides anything.

Each function raises OSError where the kernel refuses. Numbers of system calls are those of the machine
at hand; on a machine that is not in the tables the caller gets OSError(ENOSYS) and uses another layer.
Sources: the kernel's own manual pages unshare(2), setns(2), mount(2), pivot_root(2), prctl(2), capset(2),
landlock(7), seccomp(2); the numbers for 64-bit Arm are from memory and are proved on the machine by
`graders.run.sandbox.layers`, which tries every layer before it counts on it.
"""

from __future__ import annotations

import ctypes
import errno
import os
import platform
import struct
from collections.abc import Iterable
from functools import cache
from pathlib import Path

NEW_MOUNTS, NEW_NAMES, NEW_MESSAGES = 0x20000, 0x4000000, 0x8000000
NEW_USER, NEW_PROCESSES, NEW_NETWORK = 0x10000000, 0x20000000, 0x40000000

READ_ONLY, NO_SETUID, NO_DEVICES = 1, 2, 4
REMOUNT, BIND, RECURSIVE, PRIVATE = 32, 4096, 16384, 1 << 18
DETACH = 2

_COLLAPSE = 25
_SET_DEATH_SIGNAL, _SET_NO_NEW_PRIVILEGES = 1, 38
_CAPABILITY_VERSION_3 = 0x20080522

# Calls whose numbers differ between machines: pivot_root, capset, seccomp.
_NUMBERS = {"x86_64": (155, 126, 317), "aarch64": (41, 91, 277)}
_LANDLOCK_CREATE, _LANDLOCK_ADD, _LANDLOCK_RESTRICT = 444, 445, 446


def machine() -> str:
    """The kind of processor, as the tables here name it."""
    return platform.machine()


@cache
def _library() -> ctypes.CDLL:
    return ctypes.CDLL(None, use_errno=True)


def _checked(result: int, what: str) -> int:
    if result < 0:
        code = ctypes.get_errno()
        raise OSError(code, f"{what}: {os.strerror(code)}")
    return result


def _number(index: int) -> int:
    if machine() not in _NUMBERS:
        raise OSError(errno.ENOSYS, f"no call numbers for {machine()}")
    return _NUMBERS[machine()][index]


def unshare(kinds: int) -> None:
    """Leave the shared namespaces of these kinds for new ones."""
    _checked(_library().unshare(ctypes.c_int(kinds)), "unshare")


def join_namespace(descriptor: int, kind: int) -> None:
    """Enter a namespace.

    Args:
        descriptor: an open file under /proc/self/ns.
        kind: the kind of namespace that it must be.
    """
    _checked(_library().setns(ctypes.c_int(descriptor), ctypes.c_int(kind)), "setns")


def mount(source: str | None, target: str, kind: str | None, flags: int, options: str = "") -> None:
    """Mount something.

    Args:
        source: what to mount, or None where the flags say it.
        target: where.
        kind: kind of file system, or None.
        flags: READ_ONLY, BIND and so on, added.
        options: the file system's own options, such as "size=4m".
    """

    def encoded(text: str | None) -> bytes | None:
        return None if text is None else os.fsencode(text)

    result = _library().mount(encoded(source), encoded(target), encoded(kind), ctypes.c_ulong(flags), encoded(options or None))
    _checked(result, f"mount {target}")


def swap_root(new: str, old: str) -> None:
    """Make a folder the root and take the old root away.

    Args:
        new: the folder that becomes the root; a mount point.
        old: a folder inside it, where the old root is put for a moment.
    """
    library = _library()
    _checked(library.syscall(ctypes.c_long(_number(0)), os.fsencode(new), os.fsencode(old)), "pivot_root")
    os.chdir("/")
    inside = "/" + os.path.relpath(old, new)
    _checked(library.umount2(os.fsencode(inside), ctypes.c_int(DETACH)), "umount")
    os.rmdir(inside)


def process_control(option: int, value: int) -> None:
    """Set a property of this process.

    Args:
        option: number of the property, from prctl(2).
        value: its new value.
    """
    zero = ctypes.c_ulong(0)
    result = _library().prctl(ctypes.c_int(option), ctypes.c_ulong(value), zero, zero, zero)
    _checked(result, f"prctl {option}")


def no_new_privileges() -> None:
    """From here on no program that is started can gain rights."""
    process_control(_SET_NO_NEW_PRIVILEGES, 1)


def die_with_parent(signal_number: int) -> None:
    """Get a signal when the parent ends. A change of user clears this: call it afterwards."""
    process_control(_SET_DEATH_SIGNAL, signal_number)


def drop_capabilities() -> None:
    """Give up every capability; inside an own user namespace even an ordinary user holds all of them."""
    header = struct.pack("Ii", _CAPABILITY_VERSION_3, 0)
    _checked(_library().syscall(ctypes.c_long(_number(1)), header, struct.pack("6I", 0, 0, 0, 0, 0, 0)), "capset")


def own_user_namespace() -> None:
    """Enter a user namespace that knows only the present user and group, under their own numbers."""
    user, group = os.getuid(), os.getgid()
    unshare(NEW_USER)
    Path("/proc/self/setgroups").write_text("deny")
    Path("/proc/self/uid_map").write_text(f"{user} {user} 1")
    Path("/proc/self/gid_map").write_text(f"{group} {group} 1")


def collapse(start: int, length: int) -> None:
    """Put memory of this process into large pages.

    Args:
        start: its address, on the border of a large page.
        length: its length, in bytes.
    """
    result = _library().madvise(ctypes.c_void_p(start), ctypes.c_size_t(length), ctypes.c_int(_COLLAPSE))
    _checked(result, "collapse")


# Landlock access rights: execute 1, write 2, read a file 4, read a folder 8; the later ones came with later versions.
_EXECUTE, _WRITE, _READ_FILE, _READ_FOLDER, _TRUNCATE = 1, 2, 4, 8, 1 << 14


def landlock_version() -> int:
    """Version of landlock that the kernel offers; 0 or less where there is none."""
    return int(_library().syscall(ctypes.c_long(_LANDLOCK_CREATE), None, ctypes.c_size_t(0), ctypes.c_uint32(1)))


def file_rules(readable: Iterable[str], writable: Iterable[str], listed: Iterable[str] = ()) -> int:
    """Rules of landlock that close the file system, TCP, abstract sockets and signals to other processes.

    Args:
        readable: files and folders that stay readable.
        writable: files and folders that stay readable and writable.
        listed: folders of which only the names of files stay to be seen.

    Returns:
        An open descriptor of the rules; they bind whoever calls `restrict_files` with it.
    """
    version = landlock_version()
    if version <= 0:
        raise OSError(errno.ENOSYS, "landlock is not there")
    rights = (1 << 13) - 1
    rights |= (1 << 13 if version >= 2 else 0) | (_TRUNCATE if version >= 3 else 0)
    network, scope = (3 if version >= 4 else 0), (3 if version >= 6 else 0)
    attributes = struct.pack("QQQ", rights, network, scope)[: 8 if version < 4 else 16 if version < 6 else 24]
    library = _library()
    rules = _checked(
        library.syscall(ctypes.c_long(_LANDLOCK_CREATE), attributes, ctypes.c_size_t(len(attributes)), ctypes.c_uint32(0)),
        "landlock rules",
    )
    try:
        reading = _EXECUTE | _READ_FILE | _READ_FOLDER
        for paths, allowed in ((readable, reading), (writable, rights & ~_EXECUTE), (listed, _READ_FOLDER)):
            for path in paths:
                _allow(library, rules, path, allowed & rights)
    except BaseException:
        os.close(rules)
        raise
    return rules


def restrict_files(rules: int) -> None:
    """Bind this process and all it starts by rules, and close them.

    Args:
        rules: what `file_rules` gave.
    """
    try:
        _checked(_library().syscall(ctypes.c_long(_LANDLOCK_RESTRICT), ctypes.c_int(rules), ctypes.c_uint32(0)), "landlock")
    finally:
        os.close(rules)


def _allow(library: ctypes.CDLL, rules: int, path: str, rights: int) -> None:
    try:
        place = os.open(path, os.O_PATH | os.O_CLOEXEC)
    except OSError:
        return
    try:
        if not os.path.isdir(path):
            rights &= _EXECUTE | _WRITE | _READ_FILE | _TRUNCATE
        _checked(
            library.syscall(
                ctypes.c_long(_LANDLOCK_ADD),
                ctypes.c_int(rules),
                ctypes.c_int(1),
                struct.pack("<Qi", rights, place),
                ctypes.c_uint32(0),
            ),
            f"landlock rule {path}",
        )
    finally:
        os.close(place)


def filter_calls(program: bytes) -> None:
    """Load a filter of system calls for this process and all it starts.

    Args:
        program: instructions of eight bytes each, as `graders.run.sandbox.call_filter` makes them.
    """
    instructions = ctypes.create_string_buffer(program, len(program))
    header = struct.pack("HxxxxxxP", len(program) // 8, ctypes.addressof(instructions))
    _checked(_library().syscall(ctypes.c_long(_number(2)), ctypes.c_uint(1), ctypes.c_uint(0), header), "seccomp")
