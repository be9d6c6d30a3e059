"""The course's secret, from which the learners' numbers are drawn: read with care, and told from any other."""

from __future__ import annotations

import hashlib
import os
import secrets
import stat
from pathlib import Path

from gearkit.words.errors import UsageError

SECRET_BYTES = 32
SECRET_CHECK = ".secret_check"


def new_secret() -> str:
    """Return what a new course's file .secret holds: random bytes as hexadecimal digits."""
    return secrets.token_hex(SECRET_BYTES)


def fingerprint(key: bytes) -> str:
    """Return a secret's fingerprint: of 256 random bits nothing can be learnt from it."""
    return hashlib.sha256(b"gearkit secret " + key).hexdigest()[:16]


def refuse_another(folder: Path, key: bytes) -> None:
    """Refuse another course's secret: it is in good order, and everybody's numbers would be wrong.

    Args:
        folder: the course's folder.
        key: the secret that stands there.

    Raises:
        UsageError: it is not the one that the course was handed out with.
    """
    path = folder / SECRET_CHECK
    try:
        expected = path.read_text(encoding="utf-8", errors="replace").strip()
    except FileNotFoundError:
        return
    except OSError as fault:
        raise UsageError(f"{path} cannot be read: {fault.strerror}.") from None
    if expected != fingerprint(key):
        raise UsageError(
            f"The file .secret in {folder} is not the one that this course was handed out with (its fingerprint is "
            f"{fingerprint(key)}, {SECRET_CHECK} says {expected[:16]!r}). Nothing was done. Put back this course's own .secret "
            f"from your backup. If it is lost: delete {SECRET_CHECK}; sheets that were handed out keep the numbers in the folder "
            "drawn, and sheets handed out from then on draw from the new secret."
        )


def read_secret(path: Path) -> bytes:
    """Return the secret in a file.

    Args:
        path: the file.

    Raises:
        UsageError: it is missing, damaged, no ordinary file, or others than its owner may read it.
    """
    # O_NOFOLLOW: a link could make the class draw its numbers from a file somebody else can read.
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
    except FileNotFoundError:
        raise UsageError(
            f"The course secret {path} is missing. Restore it from your backup: "
            "without it nobody's numbers can be worked out again."
        ) from None
    except OSError as fault:
        raise UsageError(
            f"The course secret {path} cannot be opened ({fault.strerror}); expected an ordinary file that you own."
        ) from None
    with os.fdopen(handle, "rb") as stream:
        mode = stat.S_IMODE(os.fstat(handle).st_mode)
        text = stream.read(1000)
    if os.name == "posix" and mode & 0o077:
        raise UsageError(
            f"The course secret {path} can be read by others (mode {mode:03o}, expected 600). Close it with: chmod 600 {path}"
        )
    try:
        key = bytes.fromhex(text.decode("ascii").strip())
    except (UnicodeDecodeError, ValueError):
        key = b""
    if len(key) != SECRET_BYTES:
        raise UsageError(
            f"The course secret {path} is damaged: expected {2 * SECRET_BYTES} hexadecimal digits. Restore it from your backup."
        )
    return key
