"""What Node.js makes for a site out of Pyodide and the kit, where it is installed: made once, and kept for the next site."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from gearkit.site.page import STATIC
from gearkit.site.pyodide_files import cache
from gearkit.text.files import write_atomically

_SECONDS = 300
_KEPT = 3
# What lessons and sheets use is loaded; the rest of the kit is loaded where a cell asks for it.
LOAD = """
import importlib, pathlib, sys
sys.path[:0] = {"/kit"} - {*sys.path}
import gearkit.site.browser_python.bridge
there = {path.relative_to("/kit").with_suffix("") for path in pathlib.Path("/kit/gearkit").rglob("*.py")}
names = {".".join(path.parts).removesuffix(".__init__") for path in there}
if "sitecustomize" in sys.modules:
    names = {*sys.modules["sitecustomize"].names()}
for name in sorted(names):
    if name.startswith(tuple(f"gearkit.{package}." for package in ("answers", "lesson", "explain", "train", "words", "text"))):
        try:
            importlib.import_module(name)
        except ImportError:
            continue
"""


def made(script: Path, python: Mapping[str, bytes], more: Mapping[str, bytes], results: Sequence[str]) -> list[bytes] | None:
    """Return the files that a script makes; None where there is no Node.js, or it fails.

    Args:
        script: it takes a folder, in which all it needs lies.
        python: Pyodide's files by name.
        more: files by name that lie beside them.
        results: the names of the files that it writes there.
    """
    node = shutil.which("node")
    if node is None:
        return None
    with tempfile.TemporaryDirectory(prefix="gearkit-node-") as name:
        folder = Path(name)
        own = {"load.py": LOAD.encode(), "python_files.mjs": (STATIC / "python_files.mjs").read_bytes()}
        for file, content in {**python, **own, **more}.items():
            (folder / file).write_bytes(content)
        environment = {"PATH": os.environ.get("PATH", ""), "HOME": name}
        try:
            subprocess.run(
                [node, str(script), name], check=True, capture_output=True, timeout=_SECONDS, cwd=name, env=environment
            )  # fmt: skip
            return [(folder / result).read_bytes() for result in results]
        except (OSError, subprocess.SubprocessError):
            return None


def kept(name: str) -> bytes | None:
    """Return a file that was made for a site before; None where it was not.

    Args:
        name: its kind, a hyphen, and a version that tells what it was made of.
    """
    path = cache() / name
    return path.read_bytes() if path.is_file() else None


def keep(name: str, content: bytes) -> None:
    """Keep a file for the next site, and the few of its kind before it.

    Args:
        name: as `kept` takes it.
        content: of the file.
    """
    path = cache() / name
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(path, content, durable=False)
        kind = name.partition("-")[0]
        for old in sorted(path.parent.glob(f"{kind}-*.bin"), key=lambda each: each.stat().st_mtime)[:-_KEPT]:
            old.unlink(missing_ok=True)
    except OSError:
        return
