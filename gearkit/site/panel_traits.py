"""A panel's state, by the names of its own traits, and the module of JavaScript that shows it."""

from __future__ import annotations

from typing import Any

import anywidget

from gearkit.lesson.panels import bundle
from gearkit.lesson.panels.base import Panel
from gearkit.words.errors import GearkitError


def state_of(panel: Panel) -> dict[str, Any]:
    """Return the panel's own synchronised traits, without those that belong to any widget of a notebook.

    Args:
        panel: the panel.
    """
    return {name: getattr(panel, name) for name in sorted(own_names(type(panel)))}


def own_names(kind: type[Panel]) -> set[str]:
    """Return the names of the synchronised traits that a class of panels has of its own.

    Args:
        kind: the class.
    """
    any_widgets = set(anywidget.AnyWidget.class_traits(sync=True))
    return {name for name in kind.class_traits(sync=True) if name not in any_widgets and not name.startswith("_")}


def module_of(panel: Panel) -> str:
    """Return the name of the module of JavaScript that shows a panel.

    Args:
        panel: the panel.

    Raises:
        GearkitError: no module belongs to it.
    """
    entry = bundle.entries().get(str(panel._esm))
    if entry is None:
        raise GearkitError(f"{panel.title}: no script belongs to this panel.")
    return entry
