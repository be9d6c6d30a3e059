"""The filter of system calls under which learner code runs: what a calculation never needs is refused.

A list of refusals, not of permissions: Python, numpy and threads keep working, and a refused call fails
with "operation not permitted", which a learner's code sees as an ordinary error. What a list of refusals
forgets is caught by the other layers; each is a layer of its own.

The filter is a program for the kernel's packet-filter machine (seccomp(2)): load a word, compare, jump, return.
Numbers of calls: the kernel's tables for x86-64; those for 64-bit Arm are from memory and are proved on the
machine before they count (`graders.run.sandbox.layers`).
"""

from __future__ import annotations

import errno
import struct
from functools import cache

from graders.run.sandbox import kernel_calls

_LOAD, _IF_EQUAL, _IF_AT_LEAST, _IF_BITS, _KEEP_BITS, _RETURN = 0x20, 0x15, 0x35, 0x45, 0x54, 0x06
_NUMBER_AT, _MACHINE_AT = 0, 4
# The lower half of an argument; the calls that are judged by theirs take no more of it.
_FIRST_ARGUMENT_AT, _SECOND_ARGUMENT_AT, _THIRD_ARGUMENT_AT = 16, 24, 32
_ALLOW, _FAIL, _KILL = 0x7FFF0000, 0x00050000, 0x80000000
_NEW_THREAD, _NEW_NAMESPACES = 0x00010000, 0x7E020000
_CLONE3, _OPEN_BY_FORM = 435, 437
_Step = tuple[int, int, int, int]

# Order of the columns: x86-64, 64-bit Arm; None where the machine has no such call.
_REFUSED: dict[str, tuple[int | None, int | None]] = {
    # other machines
    "socket": (41, 198),
    "connect": (42, 203),
    "accept": (43, 202),
    "accept4": (288, 242),
    "sendto": (44, 206),
    "sendmmsg": (307, 269),
    "bind": (49, 200),
    "listen": (50, 201),
    # other processes
    "fork": (57, None),
    "vfork": (58, None),
    "execve": (59, 221),
    "execveat": (322, 281),
    "kill": (62, 129),
    "tkill": (200, 130),
    "tgkill": (234, 131),
    "rt_sigqueueinfo": (129, 138),
    "rt_tgsigqueueinfo": (297, 240),
    "ptrace": (101, 117),
    "process_vm_readv": (310, 270),
    "process_vm_writev": (311, 271),
    "pidfd_open": (434, 434),
    "pidfd_getfd": (438, 438),
    "pidfd_send_signal": (424, 424),
    "process_madvise": (440, 440),
    "kcmp": (312, 272),
    "setpriority": (141, 140),
    "sched_setscheduler": (144, 119),
    "sched_setattr": (314, 274),
    "sched_setparam": (142, 118),
    "migrate_pages": (256, 238),
    "move_pages": (279, 239),
    "sched_setaffinity": (203, 122),
    "ioprio_set": (251, 30),
    "prlimit64": (302, 261),
    # rights and namespaces
    "setuid": (105, 146),
    "setgid": (106, 144),
    "setresuid": (117, 147),
    "setresgid": (119, 149),
    "setreuid": (113, 145),
    "setregid": (114, 143),
    "setgroups": (116, 159),
    "setfsuid": (122, 151),
    "capset": (126, 91),
    "unshare": (272, 97),
    "setns": (308, 268),
    "chroot": (161, 51),
    "pivot_root": (155, 41),
    "mount": (165, 40),
    "umount2": (166, 39),
    "mount_setattr": (442, 442),
    "open_tree": (428, 428),
    "move_mount": (429, 429),
    "fsopen": (430, 430),
    "fsconfig": (431, 431),
    "fsmount": (432, 432),
    "fspick": (433, 433),
    "personality": (135, 92),
    # rights, owners, times and labels of files, which landlock leaves open, and lengths, which its first forms do
    "chmod": (90, None),
    "fchmod": (91, 52),
    "fchmodat": (268, 53),
    "fchmodat2": (452, 452),
    "chown": (92, None),
    "fchown": (93, 55),
    "lchown": (94, None),
    "fchownat": (260, 54),
    "utime": (132, None),
    "utimes": (235, None),
    "futimesat": (261, None),
    "utimensat": (280, 88),
    "setxattr": (188, 5),
    "lsetxattr": (189, 6),
    "fsetxattr": (190, 7),
    "setxattrat": (463, 463),
    "removexattr": (197, 14),
    "lremovexattr": (198, 15),
    "fremovexattr": (199, 16),
    "removexattrat": (466, 466),
    "open_tree_attr": (467, 467),
    "file_setattr": (469, 469),
    "truncate": (76, 45),
    # the kernel itself
    "bpf": (321, 280),
    "perf_event_open": (298, 241),
    "userfaultfd": (323, 282),
    "io_uring_setup": (425, 425),
    "io_uring_enter": (426, 426),
    "io_uring_register": (427, 427),
    "init_module": (175, 105),
    "finit_module": (313, 273),
    "delete_module": (176, 106),
    "kexec_load": (246, 104),
    "kexec_file_load": (320, 294),
    "reboot": (169, 142),
    "swapon": (167, 224),
    "swapoff": (168, 225),
    "quotactl": (179, 60),
    "quotactl_fd": (443, 443),
    "acct": (163, 89),
    "syslog": (103, 116),
    "settimeofday": (164, 170),
    "clock_settime": (227, 112),
    "adjtimex": (159, 171),
    "sethostname": (170, 161),
    "setdomainname": (171, 162),
    "ioperm": (173, None),
    "iopl": (172, None),
    "modify_ldt": (154, None),
    "keyctl": (250, 219),
    "add_key": (248, 217),
    "request_key": (249, 218),
    "name_to_handle_at": (303, 264),
    "open_by_handle_at": (304, 265),
    "fanotify_init": (300, 262),
    "inotify_init1": (294, 26),
    "inotify_init": (253, None),
    "lookup_dcookie": (212, 18),
    # what outlives a process or hides in memory
    "msgget": (68, 186),
    "msgctl": (71, 187),
    "msgrcv": (70, 188),
    "msgsnd": (69, 189),
    "shmget": (29, 194),
    "shmctl": (31, 195),
    "shmat": (30, 196),
    "semget": (64, 190),
    "semctl": (66, 191),
    "semop": (65, 193),
    "semtimedop": (220, 192),
    "mq_open": (240, 180),
    "mq_unlink": (241, 181),
    "memfd_create": (319, 279),
    "memfd_secret": (447, 447),
    "mknod": (133, None),
    "mknodat": (259, 33),
}
# What a Jupyter kernel and its programs cannot do without; sockets only those that never leave the machine (family 1), and
# rights of files, since a kernel is run only where all but its own scratch folder is read-only.
_FOR_A_KERNEL = frozenset(
    {
        "socket",
        "connect",
        "accept",
        "accept4",
        "sendto",
        "bind",
        "listen",
        "fork",
        "vfork",
        "execve",
        "kill",
        "tkill",
        "tgkill",
        "setpriority",
        "sched_setscheduler",
        "chmod",
        "fchmod",
        "fchmodat",
    }
)
_LOCAL_FAMILY = 1
# Calls that do many things, of which only these are left: none that names a process to be told of something by a signal
# of one's choice (which nothing else stops where landlock has no scope for signals), none that holds up others' opening of
# a file (leases), and none by which devices and file systems take orders. fcntl: copies of descriptors and what is known of
# them, locks, a pipe's size, seals. ioctl: whether and how large a terminal it is, bytes waiting, waiting or not, kept or not.
_JUDGED: dict[str, tuple[int, int]] = {"fcntl": (72, 25), "ioctl": (16, 29), "open": (2, -1), "openat": (257, 56)}
_COMMANDS = {
    "fcntl": (0, 1, 2, 3, 5, 6, 7, 9, 11, 16, 36, 37, 38, 1025, 1030, 1031, 1032, 1033, 1034),
    "ioctl": (0x5401, 0x5413, 0x541B, 0x5421, 0x5450, 0x5451, 0x802C542A),
}
_SET_STATE, _TELL_BY_SIGNAL = 4, 0x2000
_WAY_OF_OPENING, _EMPTIED_FOR_READING = 0x203, 0x200
_MACHINES = {"x86_64": (0, 0xC000003E, 56), "aarch64": (1, 0xC00000B7, 220)}


def refused_numbers(machine: str, *, kernel: bool = False) -> list[int]:
    """Numbers of the refused calls on a machine, in ascending order.

    Args:
        machine: "x86_64" or "aarch64".
        kernel: leave what a Jupyter kernel needs.
    """
    column = _MACHINES[machine][0]
    return sorted(
        number
        for name, row in _REFUSED.items()
        if (number := row[column]) is not None and not (kernel and name in _FOR_A_KERNEL)
    )


@cache
def program(machine: str, *, kernel: bool = False) -> bytes:
    """The filter for a machine.

    Args:
        machine: "x86_64" or "aarch64".
        kernel: leave what a Jupyter kernel needs: processes, and sockets within the machine.

    Raises:
        OSError: there is no table for this machine.
    """
    if machine not in _MACHINES:
        raise OSError(errno.ENOSYS, f"no filter of system calls for {machine}")
    _, mark, clone = _MACHINES[machine]
    fail = _FAIL | errno.EPERM
    missing = _FAIL | errno.ENOSYS
    steps = [
        (_LOAD, 0, 0, _MACHINE_AT),
        (_IF_EQUAL, 1, 0, mark),
        (_RETURN, 0, 0, _KILL),
        (_LOAD, 0, 0, _NUMBER_AT),
        # Calls of the 32-bit-pointer kind reach the same kernel code under other numbers.
        (_IF_AT_LEAST, 0, 1, 0x40000000),
        (_RETURN, 0, 0, missing),
        # clone3 keeps its flags in memory, out of the filter's sight; without it libraries fall back to clone.
        (_IF_EQUAL, 0, 1, _CLONE3),
        (_RETURN, 0, 0, missing),
        # So does openat2, which hardly anything uses.
        (_IF_EQUAL, 0, 1, _OPEN_BY_FORM),
        (_RETURN, 0, 0, missing),
        *_by_argument(machine, fail),
        *(_for_a_kernel(machine, clone, fail) if kernel else _only_threads(clone, fail)),
    ]
    for number in refused_numbers(machine, kernel=kernel):
        steps += [(_IF_EQUAL, 0, 1, number), (_RETURN, 0, 0, fail)]
    steps.append((_RETURN, 0, 0, _ALLOW))
    return b"".join(struct.pack("HBBI", *step) for step in steps)


def _by_argument(machine: str, fail: int) -> list[_Step]:
    """Steps for the calls of which some uses are refused."""
    column = _MACHINES[machine][0]
    state = [
        (_IF_EQUAL, 0, 4, _SET_STATE),
        (_LOAD, 0, 0, _THIRD_ARGUMENT_AT),
        (_IF_BITS, 0, 1, _TELL_BY_SIGNAL),
        (_RETURN, 0, 0, fail),
        (_RETURN, 0, 0, _ALLOW),
    ]
    steps: list[_Step] = []
    for name, commands in _COMMANDS.items():
        # Each permitted command jumps over those after it and the refusal.
        judged = [
            (_LOAD, 0, 0, _SECOND_ARGUMENT_AT),
            *(state if name == "fcntl" else []),
            *((_IF_EQUAL, left, 0, command) for left, command in zip(range(len(commands), 0, -1), commands, strict=True)),
            (_RETURN, 0, 0, fail),
            (_RETURN, 0, 0, _ALLOW),
        ]
        steps += [(_IF_EQUAL, 0, len(judged), _JUDGED[name][column]), *judged]
    for name, flags_at in (("open", _SECOND_ARGUMENT_AT), ("openat", _THIRD_ARGUMENT_AT)):
        # To empty a file while it is opened for reading: the first forms of landlock take that for reading.
        if (number := _JUDGED[name][column]) >= 0:
            steps += [
                (_IF_EQUAL, 0, 5, number),
                (_LOAD, 0, 0, flags_at),
                (_KEEP_BITS, 0, 0, _WAY_OF_OPENING),
                (_IF_EQUAL, 0, 1, _EMPTIED_FOR_READING),
                (_RETURN, 0, 0, fail),
                (_RETURN, 0, 0, _ALLOW),
            ]
    return steps


def _only_threads(clone: int, fail: int) -> list[_Step]:
    """Steps for clone, which makes threads, which are welcome, and processes, which are not."""
    return [
        (_IF_EQUAL, 0, 4, clone),
        (_LOAD, 0, 0, _FIRST_ARGUMENT_AT),
        (_IF_BITS, 0, 1, _NEW_THREAD),
        (_RETURN, 0, 0, _ALLOW),
        (_RETURN, 0, 0, fail),
    ]


def _for_a_kernel(machine: str, clone: int, fail: int) -> list[_Step]:
    """Steps for clone without new namespaces, and for socket of the family that stays within the machine."""
    socket = _REFUSED["socket"][_MACHINES[machine][0]] or 0
    # The kernel's own messaging takes "not supported" for an answer; any other refusal would end it.
    unsupported = _FAIL | errno.EOPNOTSUPP
    return [
        (_IF_EQUAL, 0, 4, clone),
        (_LOAD, 0, 0, _FIRST_ARGUMENT_AT),
        (_IF_BITS, 1, 0, _NEW_NAMESPACES),
        (_RETURN, 0, 0, _ALLOW),
        (_RETURN, 0, 0, fail),
        (_IF_EQUAL, 0, 4, socket),
        (_LOAD, 0, 0, _FIRST_ARGUMENT_AT),
        (_IF_EQUAL, 0, 1, _LOCAL_FAMILY),
        (_RETURN, 0, 0, _ALLOW),
        (_RETURN, 0, 0, unsupported),
    ]


def apply(*, kernel: bool = False) -> None:
    """Put this process under the filter, for good.

    Args:
        kernel: leave what a Jupyter kernel needs.
    """
    kernel_calls.filter_calls(program(kernel_calls.machine(), kernel=kernel))
