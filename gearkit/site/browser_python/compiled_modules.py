"""Python's modules and the kit's in compiled form, with which Python starts behind a page in half the processor time.

They are made by Node.js, where that is installed; a site without it holds the sources, and Python compiles them on each visit.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path

from gearkit.site import kit_archives
from gearkit.site.browser_python import made_ready, node_step

LIBRARY = "python_stdlib.zip"
_HERE = Path(__file__).parent
_SCRIPT, _RUN = _HERE / "make_compiled.mjs", (_HERE / "compiling.py", _HERE / "made_ready.py")


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
        *(path.read_bytes() for path in (_SCRIPT, *_RUN)),
    ]
    version = hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()[:16]
    libraries, kits = f"library-{version}.bin", f"kit-{version}.bin"
    library, compact = node_step.kept(libraries), node_step.kept(kits)
    if library is None or compact is None:
        files = {"kit.bin": kit, **{path.name: path.read_bytes() for path in _RUN}}
        made = node_step.made(_SCRIPT, python, files, ("python_stdlib.out", made_ready.NAME, "sitecustomize.pyc"))
        if made is None:
            return dict(python), kit
        library, compact = made[0], _with_modules(kit, {made_ready.NAME: made[1], "sitecustomize.pyc": made[2]})
        node_step.keep(libraries, library)
        node_step.keep(kits, compact)
    return {**python, LIBRARY: library}, compact


def _with_modules(kit: bytes, ready: Mapping[str, bytes]) -> bytes:
    """Return the archive of the kit with what was made ready in the place of all sources."""
    held = {name: content for name, content in kit_archives.unpacked(kit).items() if not name.endswith(".py")}
    return kit_archives.packed({**held, **ready})
