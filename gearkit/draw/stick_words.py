"""What a stick diagram says, in sentences."""

from __future__ import annotations

from gearkit.draw.frame import element_words
from gearkit.draw.lever_words import state_words
from gearkit.draw.placement import Placement
from gearkit.draw.state import DriveState, member_list
from gearkit.draw.wording import listed, plural, shaft_words
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING


def describe(layout: Layout, placement: Placement, state: DriveState | None) -> str:
    """Return the text alternative of a stick diagram.

    Args:
        layout: the layout.
        placement: where the sets stand.
        state: the applied elements, where shown.
    """
    order = [layout.sets[index] for index in placement.plan.order]
    sets = listed(f"{pset.name} ({pset.pinions.value}-pinion)" if pset.pinions.value != "bevel" else f"{pset.name} (bevel)" for pset in order)
    said = [f"Half-section above the axis, sets from left to right: {sets}."]
    for number, shaft in enumerate(layout.shafts):
        members = member_list(layout, number)
        if HOUSING in shaft:
            fixed = [name for name in members if name != HOUSING]
            if fixed:
                said.append(f"Fixed to the housing: {shaft_words(fixed)}.")
        elif len(members) > 1:
            said.append(f"One shaft: {shaft_words(members)}.")
    if layout.elements:
        said.append(f"{plural(len(layout.elements), 'element')}: " + "; ".join(
            f"{element.name}, {element_words(element)}" for element in layout.elements
        ) + ".")  # fmt: skip
    if state is not None:
        said.append(state_words(state))
        closed = listed(state.engaged) or "none"
        said.append(f"Drawn closed: {closed}.")
    return " ".join(said)
