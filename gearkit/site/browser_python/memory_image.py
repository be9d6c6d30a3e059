"""The memory of a Python that has loaded the kit, as a file of the site: with it Python is there behind a page in a third of
the time. It is made by Node.js, where that is installed; a site without it works, and Python starts as it does anywhere.
"""

from __future__ import annotations

import gzip
import hashlib
import os
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path

from gearkit.site.page import STATIC
from gearkit.site.pyodide_files import HASHES, cache
from gearkit.text.files import write_atomically

_SCRIPT = Path(__file__).with_name("make_image.mjs")
_SECONDS = 300
_KEPT = 3
# What lessons and sheets use is loaded, and what every learner's numbers are drawn from is worked out; the rest of the kit is
# loaded where a cell asks for it.
_LOAD = """
import gc, importlib, pathlib, sys
sys.path.insert(0, "/kit")
import gearkit.site.browser_python.bridge
for package in ("answers", "lesson", "explain", "train", "words", "text"):
    for path in sorted(pathlib.Path("/kit/gearkit", package).rglob("*.py")):
        name = ".".join(path.relative_to("/kit").with_suffix("").parts).removesuffix(".__init__")
        try:
            importlib.import_module(name)
        except ImportError:
            continue
from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import practice
for item in items.all_items():
    practice(item)
gc.collect()
"""


def version(kit: bytes) -> str:
    """Return what an image is told by: 16 letters that stand at its beginning.

    Args:
        kit: the archive of the kit, from `kit_archives.kit`.
    """
    texts = [*HASHES.values(), _LOAD, _SCRIPT.read_text(encoding="utf-8")]
    return hashlib.sha256(kit + "\n".join(texts).encode()).hexdigest()[:16]


def image(python: Mapping[str, bytes], kit: bytes) -> bytes | None:
    """Return the image as a site holds it, compressed; None where it cannot be made. It is made once and kept.

    Args:
        python: Pyodide's files by name.
        kit: the archive of the kit.
    """
    kept = cache() / f"image-{version(kit)}.bin"
    if kept.is_file():
        return kept.read_bytes()
    node = shutil.which("node")
    made = _made(node, python, kit) if node else None
    if made is None:
        return None
    # A date of its own would make another file of the same image.
    packed = gzip.compress(version(kit).encode() + made, compresslevel=9, mtime=0)
    _keep(kept, packed)
    return packed


def _made(node: str, python: Mapping[str, bytes], kit: bytes) -> bytes | None:
    with tempfile.TemporaryDirectory(prefix="gearkit-image-") as name:
        folder = Path(name)
        held = {
            **python,
            "kit.bin": kit,
            "load.py": _LOAD.encode(),
            "python_files.mjs": (STATIC / "python_files.mjs").read_bytes(),
        }
        for file, content in held.items():
            (folder / file).write_bytes(content)
        environment = {"PATH": os.environ.get("PATH", ""), "HOME": name}
        try:
            subprocess.run(
                [node, str(_SCRIPT), name], check=True, capture_output=True, timeout=_SECONDS, cwd=name, env=environment
            )  # fmt: skip
            return (folder / "image.bin").read_bytes()
        except (OSError, subprocess.SubprocessError):
            return None


def _keep(path: Path, packed: bytes) -> None:
    """Keep an image for the next site, and the few before it."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(path, packed, durable=False)
        for old in sorted(path.parent.glob("image-*.bin"), key=lambda each: each.stat().st_mtime)[:-_KEPT]:
            old.unlink(missing_ok=True)
    except OSError:
        return
