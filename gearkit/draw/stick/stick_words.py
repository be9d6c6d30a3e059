"""What a stick diagram says, in sentences."""

from __future__ import annotations

from gearkit.draw.core.frame import element_words
from gearkit.draw.core.state import DriveState, member_list
from gearkit.draw.core.wording import plural, shaft_words
from gearkit.draw.lever.lever_words import state_words
from gearkit.draw.stick.placement import Placement
from gearkit.draw.stick.stick_hung import HungKind, hung_on
from gearkit.text.phrases import capital, listed, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import HOUSING, PinionKind

_HUNG = {
    HungKind.MACHINE: "{name} is an electric machine on {shaft}, its stator in the housing.",
    HungKind.OUTPUT: "{name} is an output.",
    HungKind.CONVERTER: "A torque converter is between engine and input.",
}


def _set_words(pset: PlanetarySet) -> str:
    kind = "bevel" if pset.pinions is PinionKind.BEVEL else f"{pset.pinions.value}-pinion"
    return f"{set_words(pset.name)} ({kind})"


def describe(layout: Layout, placement: Placement, state: DriveState | None) -> str:
    """Return the text alternative of a stick diagram.

    Args:
        layout: the layout.
        placement: where the sets stand.
        state: the applied elements, where shown.
    """
    sets = listed(" with ".join(_set_words(layout.sets[index]) for index in seat) for seat in placement.sets)
    said = [f"Half-section above the axis, from left to right: {sets}."]
    for long, short in [seat for seat in placement.sets if len(seat) == 2]:
        names = [set_words(layout.sets[index].name) for index in (long, short)]
        said.append(
            f"{capital(names[0])} and {names[1]} are one set with two suns: one carrier, one ring, long planets of {names[0]}, "
            f"short planets of {names[1]} between them and its sun."
        )
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
    for part in hung_on(layout):
        said.append(_HUNG[part.kind].format(name=part.name, shaft=member_label(part.between[0])))
    if state is not None:
        said.append(state_words(state))
        closed = listed(state.engaged) or "none"
        said.append(f"Drawn closed: {closed}.")
    return " ".join(said)
