"""Python's modules and the kit's in compiled form, with which Python starts behind a page in half the processor time.

They are made by Node.js, where that is installed; a site without it holds the sources, and Python compiles them on each visit.
"""

from __future__ import annotations

import gzip
import hashlib
import io
import tarfile
from collections.abc import Mapping
from pathlib import Path

from gearkit.site import kit_archives
from gearkit.site.browser_python import node_step

LIBRARY = "python_stdlib.zip"
_HERE = Path(__file__).parent
_SCRIPT, _COMPILING = _HERE / "make_compiled.mjs", _HERE / "compiling.py"


def compiled(python: Mapping[str, bytes], kit: bytes) -> tuple[dict[str, bytes], bytes]:
    """Return Pyodide's files and the archive of the kit with their modules compiled; both as given where that cannot be done.

    Args:
        python: Pyodide's files by name.
        kit: the archive of the kit, from `kit_archives.kit`.
    """
    parts = [
        kit,
        *(content for _, content in sorted(python.items())),
        node_step.LOAD.encode(),
        *(path.read_bytes() for path in (_SCRIPT, _COMPILING)),
    ]
    version = hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()[:16]
    libraries, kits = f"library-{version}.bin", f"kit-{version}.bin"
    library, compact = node_step.kept(libraries), node_step.kept(kits)
    if library is None or compact is None:
        made = node_step.made(
            _SCRIPT, python, {"kit.bin": kit, _COMPILING.name: _COMPILING.read_bytes()}, ("python_stdlib.out", "compiled.tar")
        )
        if made is None:
            return dict(python), kit
        library, compact = made[0], _with_modules(kit, made[1])
        node_step.keep(libraries, library)
        node_step.keep(kits, compact)
    return {**python, LIBRARY: library}, compact


def _with_modules(kit: bytes, modules: bytes) -> bytes:
    """Return the archive of the kit with compiled modules in the place of all sources."""
    held = {name: content for name, content in _files(gzip.decompress(kit)).items() if not name.endswith(".py")}
    return kit_archives.packed({**held, **_files(modules)})


def _files(tar: bytes) -> dict[str, bytes]:
    with tarfile.open(fileobj=io.BytesIO(tar), mode="r:") as archive:
        streams = {member.name: archive.extractfile(member) for member in archive if member.isfile()}
        return {name: stream.read() for name, stream in streams.items() if stream is not None}
