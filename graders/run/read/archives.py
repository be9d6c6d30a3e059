"""Reads single files out of a zip that somebody else packed; nothing that it says about itself is believed."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from typing import IO

from gearkit.words.errors import UsageError

# Of what is packed otherwise the library unpacks a whole piece before any limit is asked: some kilobytes can be gigabytes.
_BOUNDED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_LOCKED = 1


def content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, read: Callable[[IO[bytes]], bytes]) -> bytes:
    """What is read of a file in an archive.

    Args:
        archive: the archive.
        entry: the file.
        read: reads as much of its stream as is wanted.

    Raises:
        UsageError: it cannot be unpacked; the message says why in a few words.
    """
    if entry.flag_bits & _LOCKED:
        raise UsageError("locked with a password")
    if entry.compress_type not in _BOUNDED:
        raise UsageError("packed in a rare way; ask for an ordinary zip")
    try:
        with archive.open(entry) as stream:
            return read(stream)
    except Exception:
        # A damaged archive raises whatever the part of the library raises that meets the damage.
        raise UsageError("damaged") from None
