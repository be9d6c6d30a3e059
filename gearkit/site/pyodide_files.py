"""Pyodide's own files for a site: from the package registry by its ordinary client, or from a package that lies here.

Version and hashes are fixed, so a site never runs anything else than what was tested; a file that differs is refused.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import tarfile
import tempfile
from pathlib import Path

from gearkit.words.errors import UsageError

VERSION = "314.0.6"
# SHA-256 of the files in the registry's package.
HASHES = {
    "pyodide.mjs": "69e3f6ccec3e14b465df60be577ca62f536251406b9a00cce019eac5252a2495",
    "pyodide.asm.mjs": "2ac5eba365ec12839c75c03b39b3be1dd63b798852cc460b014b52238be042f7",
    "pyodide.asm.wasm": "3a0a00dfeaa348ac20f9ef09904233d32d33f644339662d4af368f8a2010f37a",
    "python_stdlib.zip": "80c5be6babfe03297069703410c3c29404dcf2525d2b128746bae5536f94831f",
    "pyodide-lock.json": "3fdaef09e9e365c85e002737720f8d0ab8f278c1c244a2dde6a37663cf488ad4",
}
_FETCH_SECONDS = 300


LOCK = "pyodide-lock.json"


def files(given: Path | None = None) -> dict[str, bytes]:
    """Return Pyodide's files by name, as they stand in its package.

    Args:
        given: the registry's package as a file (.tgz) or unpacked in a folder; None asks the registry's client, once: what
            it brought is kept for the next time.

    Raises:
        UsageError: the package cannot be had, or a file is not the one that is expected.
    """
    if given is None:
        given = _kept()
    if given.is_dir():
        held = {name: path.read_bytes() for name in HASHES if (path := given / name).is_file()}
    else:
        held = _unpacked(given)
    for name, expected in HASHES.items():
        fingerprint = hashlib.sha256(held.get(name, b"")).hexdigest()
        if fingerprint != expected:
            state = "is missing" if name not in held else f"is another one (SHA-256 {fingerprint[:12]}…)"
            raise UsageError(f"{given}: {name} {state}; take the package pyodide {VERSION} of the npm registry as it is.")
    return held


def without_packages(lock: bytes) -> bytes:
    """Return Pyodide's lock without its packages, none of which the pages hold.

    Args:
        lock: the lock of the package.
    """
    return json.dumps({**json.loads(lock), "packages": {}}).encode()


def _unpacked(package: Path) -> dict[str, bytes]:
    try:
        with tarfile.open(package) as archive:
            members = {Path(member.name).name: member for member in archive if member.isfile()}
            read = {name: archive.extractfile(members[name]) for name in HASHES if name in members}
            return {name: stream.read() for name, stream in read.items() if stream is not None}
    except (OSError, tarfile.TarError) as fault:
        raise UsageError(
            f"{package}: cannot be read ({fault}); take the package pyodide {VERSION} of the npm registry."
        ) from None


def cache() -> Path:
    """Return the folder in which what was fetched or made once is kept for the next site."""
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "gearkit"


def _kept() -> Path:
    package = cache() / f"pyodide-{VERSION}.tgz"
    if not package.is_file():
        _fetch(package)
    return package


def _fetch(to: Path) -> None:
    client = shutil.which("npm")
    if client is None:
        raise UsageError(
            "Python for the pages comes from the npm registry, and its client npm is not installed here. Install npm, or "
            f"fetch the package pyodide {VERSION} elsewhere and name its file with --python."
        )
    with tempfile.TemporaryDirectory(prefix="gearkit-pyodide-") as folder:
        command = [client, "pack", "--silent", f"pyodide@{VERSION}"]
        try:
            subprocess.run(command, cwd=folder, check=True, capture_output=True, timeout=_FETCH_SECONDS)
            (package,) = Path(folder).glob("*.tgz")
            to.parent.mkdir(parents=True, exist_ok=True)
            shutil.move(package, to)
        except (OSError, subprocess.SubprocessError, ValueError):
            raise UsageError(
                "Python for the pages could not be fetched: no registry can be reached from here. Try again with a network, "
                f"or fetch the package pyodide {VERSION} of the npm registry elsewhere and name its file with --python."
            ) from None
