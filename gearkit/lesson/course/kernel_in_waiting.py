"""The process that becomes a notebook's kernel: loads what a kernel and a lesson need, and waits until it is told which.

Told by one line on its input: what Jupyter's launcher of kernels would have got as arguments, folder and environment. An input
that ends without one means that the server is gone or needs no more kernels.
"""

from __future__ import annotations

import importlib
import json
import os
import sys
from pathlib import Path

# What the first cells of most lessons load. Nothing of it keeps a state that depends on folder or environment.
_LOADED_BEFORE = (
    "gearkit.explain.story",
    "gearkit.lesson.exercise",
    "gearkit.lesson.opening",
    "gearkit.lesson.panels.one_set",
    "gearkit.lesson.panels.topics",
)


def main() -> None:
    """Load, wait, and become the kernel that was asked for."""
    # As Jupyter's launcher does: the folder in which the process happened to start is no place to import from.
    if sys.path[0] == "" or Path(sys.path[0]) == Path.cwd():
        del sys.path[0]
    from ipykernel import kernelapp

    for name in _LOADED_BEFORE:
        importlib.import_module(name)
    line = sys.stdin.readline()
    if not line:
        return
    order = json.loads(line)
    os.environ.clear()
    os.environ.update(order["environment"])
    if order["folder"]:
        os.chdir(order["folder"])
    sys.argv[1:] = order["arguments"]
    kernelapp.launch_new_instance()


if __name__ == "__main__":
    main()
