"""Unpacks archives; the filter that keeps members inside the folder came with Python 3.11.4, and Debian's is older."""

from __future__ import annotations

import tarfile
from pathlib import Path


def unpack(archive: tarfile.TarFile, folder: Path, *members: str) -> None:
    """Unpack an archive, or some of its members, into a folder."""
    safe = {"filter": "data"} if hasattr(tarfile, "data_filter") else {}
    wanted = [archive.getmember(name) for name in members] if members else None
    archive.extractall(folder, members=wanted, **safe)
