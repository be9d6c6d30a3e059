"""Which parts of the kit learner code is kept from: what holds answers, draws them or judges them.

The kit is installed where sheets are worked on as well as where they are marked, and it is an answer key. Where sheets are
marked the bank, its rules and the marking are neither loaded in the process that learner code runs in nor among the files
that it can open; the solver, the pictures and the reading of symbols stay. What a call of them meets is said in a sentence.
"""

from __future__ import annotations

import importlib.abc
import os
import sys
from collections.abc import Iterable
from importlib.machinery import ModuleSpec
from pathlib import Path

from gearkit.words.errors import GearkitError

# By package what stays of it, as names of modules; all else in it is hidden. A list of what stays forgets nothing new.
_STAYS = {"gearkit.answers": frozenset({"__init__", "symbols", "read"}), "graders": frozenset({"__init__", "run"})}
SENTENCE = (
    "The exercises, their answers and their marking are not there while a sheet is being marked ({name}). Calls of a "
    "lesson, such as open_lesson, exercise or check, belong in the lesson's own notebook; this one costs nothing else."
)


class HiddenPartError(GearkitError, ImportError):
    """A cell asked for a part of the kit that it is kept from."""


class LessonCallError(HiddenPartError):
    """A lesson that a cell called asked for such a part."""


def kit_folder() -> Path:
    """The folder that holds the kit's packages; a program finds them there."""
    import gearkit

    return Path(gearkit.__file__ or "").parent.parent


def is_hidden(module: str) -> bool:
    """Whether a module is kept from learner code.

    Args:
        module: its full name.
    """
    for package, stays in _STAYS.items():
        if module.startswith(package + "."):
            return module[len(package) + 1 :].split(".")[0] not in stays
    return False


def loaded() -> list[str]:
    """The hidden modules that are in this process all the same."""
    return sorted(name for name in sys.modules if is_hidden(name))


class _Guard(importlib.abc.MetaPathFinder):
    """Says in a sentence what a hidden part is, and remembers that it was asked for."""

    def __init__(self) -> None:
        self.noted: type[HiddenPartError] | None = None

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        """Refuse a hidden module; leave all others to whoever comes next."""
        if not name.startswith(("gearkit.", "graders.")) or not is_hidden(name):
            return None
        kind = LessonCallError if _asked_by_kit() else HiddenPartError
        if self.noted is not HiddenPartError:
            self.noted = kind
        raise kind(SENTENCE.format(name=name))


_GUARD = _Guard()


def guard() -> None:
    """From here on hidden parts cannot be imported in this process, and whoever tries reads why."""
    if _GUARD not in sys.meta_path:
        sys.meta_path.insert(0, _GUARD)


def noted() -> str:
    """What was asked for since this was last called: the name of one of the errors above, or ""."""
    kind, _GUARD.noted = _GUARD.noted, None
    return kind.__name__ if kind else ""


def _asked_by_kit() -> bool:
    """Whether the import that is going on stands in the kit itself."""
    frame = sys._getframe(1)
    while frame.f_back is not None and frame.f_globals.get("__name__") in (__name__, "importlib._bootstrap", "importlib"):
        frame = frame.f_back
    return str(frame.f_globals.get("__name__", "")).startswith("gearkit.")


def views() -> dict[str, tuple[str, ...]]:
    """By folder of each copy of the kit that Python can find, the files and folders in it that stay.

    Byte code beside a hidden source would tell as much, so of that only what is there now for modules that stay is kept.
    """
    kept_in: dict[str, tuple[str, ...]] = {}
    for package, stays in _STAYS.items():
        for place in _places(package):
            kept = [place / name for stay in sorted(stays) for name in (stay, f"{stay}.py")]
            kept += [path for stay in sorted(stays) for path in sorted((place / "__pycache__").glob(f"{stay}.*"))]
            kept_in[str(place)] = tuple(str(path) for path in kept if path.exists())
    return kept_in


def _places(package: str) -> Iterable[Path]:
    """The folders of a package, in every copy of it."""
    import gearkit

    roots = [Path(gearkit.__file__ or "").parent.parent, *(Path(entry) for entry in sys.path if entry)]
    folders = (Path(os.path.realpath(root.joinpath(*package.split(".")))) for root in roots)
    return {folder: None for folder in folders if folder.is_dir()}


def without_hidden(folders: Iterable[str]) -> tuple[list[str], list[str]]:
    """Paths that give all of some folders but the hidden parts, and the folders on the way, which must stay to be listed.

    Args:
        folders: the folders.
    """
    seen, passed, kept = views(), list[str](), list[str]()
    left = [os.path.realpath(folder) for folder in folders]
    while left:
        path = left.pop()
        if path in seen:
            kept += seen[path]
            passed.append(path)
        elif any(view.startswith(path + os.sep) for view in seen):
            passed.append(path)
            left += [entry.path for entry in os.scandir(path) if not entry.is_symlink()]
        else:
            kept.append(path)
    return kept, passed
