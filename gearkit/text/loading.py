"""Leaves out the search for circles where it finds none and takes long: while modules are loaded, and at the end of a command.

It took a quarter of the processor time in which the book-keeping's tables are loaded, and at the end of a process it goes through
all that was ever loaded, for a tenth of a second and more.
"""

from __future__ import annotations

import atexit
import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def loading() -> Iterator[None]:
    """Search for no circles while modules are loaded here."""
    searched = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searched:
            gc.enable()


def own_process() -> None:
    """Search neither what is loaded by now nor, at the end, anything; for a process that does one command and ends."""
    gc.freeze()
    atexit.register(gc.freeze)
