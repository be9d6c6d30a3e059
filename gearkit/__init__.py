"""gearkit: lessons, solver and graders for planetary automatic transmissions.

Nothing heavy is loaded here, so that a command or a lesson starts at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gearkit.words import moved

if TYPE_CHECKING:
    from gearkit.lesson.answering import answer
    from gearkit.lesson.opening import open_lesson
    from gearkit.train.catalogue import find as find_layout

moved.install()

__version__ = "0.5.0"
__all__ = ["__version__", "answer", "find_layout", "open_lesson"]

_LAZY = {
    "answer": ("gearkit.lesson.answering", "answer"),
    "find_layout": ("gearkit.train.catalogue", "find"),
    "open_lesson": ("gearkit.lesson.opening", "open_lesson"),
}


def __getattr__(name: str) -> object:
    if name not in _LAZY:
        raise AttributeError(f"module 'gearkit' has no attribute {name!r}")
    from importlib import import_module

    module, attribute = _LAZY[name]
    return getattr(import_module(module), attribute)
