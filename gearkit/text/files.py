"""Writing files so that a crash at any moment leaves the old file or the new one, never a half."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from gearkit.words.errors import GearkitError, UsageError


def write_atomically(path: Path, content: str | bytes | Iterable[str], mode: int = 0o644, *, durable: bool = True) -> None:
    """Write a file in one step: a hidden neighbour first, then a rename over the old file.

    Args:
        path: the file; folders on the way to it are made where they are missing.
        content: text (written as UTF-8), bytes, or pieces of text that are never all in memory.
        mode: permission bits of the new file, for example 0o600 for a secret.
        durable: wait until it is on the disk itself; not needed for what can be made again after a power cut.

    Raises:
        UsageError: something stands there that is no file, such as a device, which a rename would destroy.
    """
    if not path.is_file() and path.exists():
        raise UsageError(f"{path} is there and is no ordinary file; give the name of a file to write.")
    try:
        _write(path, content, mode, durable=durable)
    except OSError as error:
        # The caller knows the file, not its hidden neighbour.
        raise OSError(error.errno, error.strerror or str(error), str(path)) from error


def write_asked(path: Path, content: str | bytes) -> None:
    """Write a file that a person named and that can be made again.

    Args:
        path: the file; folders on the way to it are made where they are missing.
        content: text or bytes.

    Raises:
        UsageError: it cannot be written.
    """
    try:
        write_atomically(path, content, durable=False)
    except OSError as fault:
        raise UsageError(f"{path}: cannot be written ({fault.strerror or fault}); choose another file.") from None


def write_into(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a folder that a person named, and return their paths.

    Args:
        folder: the folder; made where it is missing.
        files: name -> content, which can be made again.

    Raises:
        GearkitError: one of them cannot be written.
    """
    try:
        for name, content in files.items():
            write_atomically(folder / name, content, durable=False)
    except OSError as fault:
        raise GearkitError(f"{folder}: cannot be written ({fault.strerror}). Choose a folder that you may write to.") from None
    return [folder / name for name in files]


def _write(path: Path, content: str | bytes | Iterable[str], mode: int, *, durable: bool) -> None:
    try:
        handle, name = _neighbour(path)
    except FileNotFoundError:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = _neighbour(path)
    try:
        with os.fdopen(handle, "wb") as stream:
            for piece in [content] if isinstance(content, str | bytes) else content:
                stream.write(piece.encode("utf-8") if isinstance(piece, str) else piece)
            if durable:
                stream.flush()
                os.fsync(stream.fileno())
        os.chmod(name, mode)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _neighbour(path: Path) -> tuple[int, str]:
    return tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
