"""The memory of a Python that has loaded the kit, as a file of the site: with it Python is there behind a page in a third of
the time. It is made by Node.js, where that is installed; a site without it works, and Python starts as it does anywhere.
"""

from __future__ import annotations

import gzip
import hashlib
from collections.abc import Mapping
from pathlib import Path

from gearkit.site.browser_python import node_step

_SCRIPT = Path(__file__).with_name("make_image.mjs")
# What every learner's numbers are drawn from is worked out too.
_DRAW = """
import gc, sys
from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import practice
for item in items.all_items():
    practice(item)
if "sitecustomize" in sys.modules:
    sys.modules["sitecustomize"].let_go()
gc.collect()
"""


def version(python: Mapping[str, bytes], kit: bytes) -> str:
    """Return what an image is told by: 16 letters that stand at its beginning.

    Args:
        python: Pyodide's files by name.
        kit: the archive of the kit, as the site holds it.
    """
    parts = [kit, *(content for _, content in sorted(python.items())), (node_step.LOAD + _DRAW).encode(), _SCRIPT.read_bytes()]
    return hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()[:16]


def image(python: Mapping[str, bytes], kit: bytes) -> bytes | None:
    """Return the image as a site holds it, compressed; None where it cannot be made. It is made once and kept.

    Args:
        python: Pyodide's files by name.
        kit: the archive of the kit, as the site holds it.
    """
    name = f"image-{version(python, kit)}.bin"
    there = node_step.kept(name)
    if there is not None:
        return there
    made = node_step.made(_SCRIPT, python, {"kit.bin": kit, "load.py": (node_step.LOAD + _DRAW).encode()}, ("image.bin",))
    if made is None:
        return None
    # A date of its own would make another file of the same image.
    packed = gzip.compress(version(python, kit).encode() + made[0], compresslevel=9, mtime=0)
    node_step.keep(name, packed)
    return packed
