"""Gives a page's Python what was made ready for it: modules in one piece, methods of dataclasses compiled, patterns worked out.

It lies beside the kit as `sitecustomize`, which Python runs before anything of Pyodide: to look for each module, and to write and
compile those methods, is most of a start. What is not held here is found and made as ever, so nothing depends on it.
"""

from __future__ import annotations

import marshal
import sys
from _frozen_importlib import ModuleSpec

# Modules of the library are not there yet, so it is not the one of `typing`.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from types import CodeType, ModuleType
    from typing import Any

NAME = "made_ready.bin"
# Path, whether it is a package, and where its code begins and ends in the file.
_modules: dict[str, tuple[str, bool, int, int]] = {}
_texts: dict[str, CodeType] = {}
_patterns: dict[tuple[str | bytes, int], tuple[Any, ...]] = {}
_files: list[Any] = []


class Finder:
    """Finds the modules that are held, in the place of the search along a path."""

    @staticmethod
    def find_spec(name: str, _path: object = None, _target: object = None) -> ModuleSpec | None:
        """Return what the import of a module needs; None for one that is not held.

        Args:
            name: its full name.
        """
        if name not in _modules:
            return None
        path, package, *_ = _modules[name]
        spec = ModuleSpec(name, Finder, origin=path, is_package=package)  # type: ignore[arg-type]  # the class itself is what loads
        spec.has_location = True
        if spec.submodule_search_locations is not None:
            spec.submodule_search_locations.append(path.rpartition("/")[0])
        return spec

    @staticmethod
    def create_module(_spec: ModuleSpec) -> None:
        """Leave it to Python to make the module."""

    @staticmethod
    def exec_module(module: ModuleType) -> None:
        """Run a module.

        Args:
            module: as Python made it.
        """
        _, _, begins, ends = _modules[module.__name__]
        exec(marshal.loads(_read(begins, ends)), module.__dict__)


def _read(begins: int, ends: int) -> bytes:
    (file,) = _files
    file.seek(begins)
    return bytes(file.read(ends - begins))


def hold(folder: str) -> None:
    """Hold what was made ready: a length of eight bytes, as many of marshalled data, and the code of the modules.

    Args:
        folder: where the file lies.
    """
    # Code is read where it is asked for: all of it would be 9 MB of memory.
    _files[:] = [open(f"{folder}/{NAME}", "rb", buffering=0)]  # noqa: SIM115  # it stays open for the modules to come
    begins = 8 + int.from_bytes(_read(0, 8), "little")
    modules, texts, patterns = marshal.loads(_read(8, begins))
    for name, (path, package, at, length) in modules.items():
        _modules[name] = path, package, begins + at, begins + at + length
    _texts.update(texts)
    _patterns.update(patterns)


def names() -> list[str]:
    """Return the names of the modules that are held."""
    return [*_modules]


def let_go() -> None:
    """Hold nothing any longer, as before a memory image is made: the file is not in it."""
    for file in _files:
        file.close()
    for held in (_files, _modules, _texts, _patterns):
        held.clear()


def begin(folder: str) -> None:
    """Hold what was made ready and let Python's import, dataclasses and patterns ask for it.

    Args:
        folder: where the file lies.
    """
    hold(folder)
    sys.meta_path.insert(0, Finder)
    from re import _compiler  # type: ignore[attr-defined]  # inner parts, of one version of Pyodide

    by_itself, last = _compiler.compile, _compiler._sre.compile

    def pattern(text: Any, flags: int = 0) -> Any:
        held = _patterns.get((text, int(flags))) if isinstance(text, str | bytes) else None
        return by_itself(text, flags) if held is None else last(*held)

    _compiler.compile = pattern
    import dataclasses

    def methods(text: str, space: dict[str, object], into: dict[str, object]) -> None:
        exec(_texts.get(text, text), space, into)

    dataclasses.exec = methods  # type: ignore[attr-defined]  # a name of the module goes before a built-in one


if __name__ == "sitecustomize":
    begin(__file__.rpartition("/")[0])
