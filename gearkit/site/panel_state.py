"""What a page holds of a live panel: its state as it begins, and what a page without Python has to know of it."""

from __future__ import annotations

from typing import Any

from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.gated import GatedPanel
from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.site.panel_traits import module_of, own_names, state_of

# Texts and tables follow from the other traits and are no facts of a prediction.
_FACTS = (int, str, list)


def stored(panel: Panel) -> dict[str, Any]:
    """Return what stands in a page for a panel.

    Args:
        panel: as a cell showed it.

    Raises:
        GearkitError: no module of JavaScript belongs to the panel.
    """
    held: dict[str, Any] = {"module": module_of(panel), "state": _at_rest(panel)}
    if isinstance(panel, GatedPanel) and panel.keeper is not None:
        held |= {"lesson": panel.keeper.lesson, "about": panel.keeper.panel, "unit": panel.figure_unit, "facts": _facts(panel)}
    return held


def _at_rest(panel: Panel) -> dict[str, Any]:
    """Return the panel's state as it is without Python: a page closes the plates itself, but the power path and the
    story of what is applied come from Python alone."""
    state = state_of(panel)
    if isinstance(panel, LayoutPanel):
        state["drawing"] = LayoutPanel(panel.layout_shown, title="", gated=True).drawing
        state["story"] = ""
    return state


def _facts(panel: GatedPanel) -> list[str]:
    """Return the names of the traits that a learner sets: what a prediction is made for."""
    shared = own_names(GatedPanel) | {"drawing", "story", "refusal", "asked", "numbers"}
    names = sorted(own_names(type(panel)) - shared)
    return [name for name in names if isinstance(getattr(panel, name), _FACTS)]
