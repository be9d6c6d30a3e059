"""Opens a file or folder to one account of the machine besides its owner, and to nobody else.

This is an access list (POSIX ACL) in the form in which Linux keeps it beside each file; its owner may set it without any
special right. Source of the form: the kernel's header linux/posix_acl_xattr.h, from memory; tested with real accounts.
"""

from __future__ import annotations

import errno
import os
import struct
from contextlib import suppress
from pathlib import Path

from gearkit.words.errors import GearkitError

_LIST = "system.posix_acl_access"
_VERSION = 2
_OWNER, _USER, _GROUP, _MASK, _OTHERS = 0x01, 0x02, 0x04, 0x10, 0x20
_NOBODY_NAMED = 0xFFFFFFFF
READ, WRITE, ENTER = 4, 2, 1


def open_to(path: Path, account: int) -> None:
    """Let one account read a file, or list and enter a folder; the owner keeps all rights, everybody else has none.

    Args:
        path: the file or folder; not a link.
        account: number of the account.

    Raises:
        GearkitError: the folder's file system keeps no access lists.
    """
    rights = READ | ENTER if path.is_dir() else READ
    own = READ | WRITE | ENTER if path.is_dir() else READ | WRITE
    entries = [(_OWNER, own, _NOBODY_NAMED), (_USER, rights, account), (_GROUP, 0, _NOBODY_NAMED),
               (_MASK, rights, _NOBODY_NAMED), (_OTHERS, 0, _NOBODY_NAMED)]  # fmt: skip
    value = struct.pack("<I", _VERSION) + b"".join(struct.pack("<HHI", *entry) for entry in entries)
    try:
        os.setxattr(path, _LIST, value, follow_symlinks=False)
    except (AttributeError, OSError) as fault:
        if isinstance(fault, OSError) and fault.errno not in (errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EPERM):
            raise
        raise GearkitError(
            f"{path} cannot be opened to its learner alone: the file system there keeps no access lists (ACL), or another "
            "account owns it. Put the exchange folder on a file system that has them, such as ext4 or xfs."
        ) from None


def leave_to_owner(path: Path) -> None:
    """Take the access list off a file or folder and leave it to its owner alone.

    Args:
        path: the file or folder; a link is left as it is.
    """
    if path.is_symlink():
        return
    with suppress(AttributeError, OSError):
        os.removexattr(path, _LIST)
    path.chmod(0o700 if path.is_dir() else 0o600)
