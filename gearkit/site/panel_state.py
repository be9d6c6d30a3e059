"""What a page holds of a live panel: its state as it begins, and what a page without Python has to know of it."""

from __future__ import annotations

from typing import Any

import anywidget

from gearkit.lesson.panels import bundle
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.gated import GatedPanel
from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.lesson.solid.cutaway_panel import CutawayPanel
from gearkit.words.errors import GearkitError

# Texts and tables follow from the other traits and are no facts of a prediction.
_FACTS = (int, str, list)


def stored(panel: Panel) -> dict[str, Any]:
    """Return what stands in a page for a panel.

    Args:
        panel: as a cell showed it.

    Raises:
        GearkitError: no module of JavaScript belongs to the panel.
    """
    entry = bundle.entries().get(str(panel._esm))
    if entry is None:
        raise GearkitError(f"{panel.title}: no script belongs to this panel.")
    held: dict[str, Any] = {"module": entry, "state": state_of(panel), "words": panel.words()}
    if isinstance(panel, GatedPanel) and panel.keeper is not None:
        held |= {"lesson": panel.keeper.lesson, "about": panel.keeper.panel, "unit": panel.figure_unit, "facts": _facts(panel)}
    return held


def state_of(panel: Panel) -> dict[str, Any]:
    """Return the panel's own synchronised traits, without those that belong to any widget of a notebook.

    Args:
        panel: the panel.
    """
    state = {name: getattr(panel, name) for name in sorted(_own_names(type(panel)))}
    if isinstance(panel, LayoutPanel | CutawayPanel):
        # A page closes the plates itself; the power path and the story of what is applied come from Python alone.
        state["drawing"] = type(panel)(panel.layout_shown, title="", gated=True).drawing
    if isinstance(panel, LayoutPanel):
        state["story"] = ""
    return state


def _own_names(kind: type[Panel]) -> set[str]:
    any_widgets = set(anywidget.AnyWidget.class_traits(sync=True))
    return {name for name in kind.class_traits(sync=True) if name not in any_widgets and not name.startswith("_")}


def _facts(panel: GatedPanel) -> list[str]:
    """Return the names of the traits that a learner sets: what a prediction is made for."""
    shared = _own_names(GatedPanel) | {"drawing", "story", "refusal", "asked", "numbers"}
    names = sorted(_own_names(type(panel)) - shared)
    return [name for name in names if isinstance(getattr(panel, name), _FACTS)]
