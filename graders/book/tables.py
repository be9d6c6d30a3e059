"""Loads the book-keeping's tables without the rest of the book-keeping, which no command of the kit needs.

``import nbgrader.api`` starts the whole package first: its programs, its pages for the browser and its exchange, and with
them a checker of addresses that builds 38 grammars. That takes ten times as long as the tables themselves, and every
command that opens the gradebook would wait for it. So the package is entered with its own start put off until somebody
asks for something that only the start brings.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType
from typing import Any

from gearkit.text.loading import loading

_PACKAGE = "nbgrader"
# Checks the form of international addresses for jsonschema, which does without where it is not installed.
_GRAMMARS = "rfc3987_syntax"


class _Unstarted(ModuleType):
    """A package that can be imported from, and that starts itself when something is asked of it that only its start brings."""

    _start_on_demand = False

    def __getattr__(self, name: str) -> Any:
        of_python = name.startswith("__") and name != "__version__"
        if of_python or not self._start_on_demand or self.__spec__ is None or self.__spec__.loader is None:
            raise AttributeError(f"module {self.__name__!r} has no attribute {name!r}")
        if find_spec(f"{self.__name__}.{name}") is not None:
            # Its own modules ask for one another while they are loaded, in an order in which the start would go round in
            # a circle.
            return import_module(f"{self.__name__}.{name}")
        self._start_on_demand = False
        self.__spec__.loader.exec_module(self)
        return getattr(self, name)


def load() -> None:
    """Make ``from nbgrader.api import ...`` quick; does nothing where the package is started already, or not installed."""
    spec = None if _PACKAGE in sys.modules else find_spec(_PACKAGE)
    if spec is None or spec.submodule_search_locations is None:
        return
    package = _Unstarted(_PACKAGE)
    package.__spec__, package.__loader__, package.__file__ = spec, spec.loader, spec.origin
    package.__package__, package.__path__ = _PACKAGE, spec.submodule_search_locations
    sys.modules[_PACKAGE] = package
    try:
        with loading(), _without(_GRAMMARS):
            import_module(f"{_PACKAGE}.api")
    except (ImportError, AttributeError):
        # A release whose tables need the start: whoever imports them next starts it, or sees the package's own error.
        del sys.modules[_PACKAGE]
        return
    package._start_on_demand = True


@contextmanager
def _without(module: str) -> Iterator[None]:
    """Let a module that is not loaded yet pass for one that is not installed."""
    if module in sys.modules:
        yield
        return
    sys.modules[module] = None  # type: ignore[assignment]  # Python's own way to forbid an import
    try:
        yield
    finally:
        del sys.modules[module]
