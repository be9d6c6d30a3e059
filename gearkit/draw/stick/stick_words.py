"""What a stick diagram says, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.draw.core.frame import element_words
from gearkit.draw.core.state import DriveState, member_list
from gearkit.draw.core.wording import plural, shaft_words
from gearkit.draw.lever.lever_words import state_words
from gearkit.draw.stick.placement import Placement
from gearkit.draw.stick.stick_hung import HungKind, hung_on
from gearkit.text.phrases import capital, listed, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say
from gearkit.words.terms import HOUSING, PinionKind

_HUNG = {
    HungKind.MACHINE: later("{name} is an electric machine on {shaft}, its stator in the housing."),
    HungKind.OUTPUT: later("{name} is an output."),
    HungKind.CONVERTER: later("A torque converter is between engine and input."),
}


def _set_words(pset: PlanetarySet) -> str:
    name = set_words(pset.name)
    if pset.pinions is PinionKind.BEVEL:
        return say("{set_name} (bevel)", set_name=name)
    return say("{set_name} ({pinions}-pinion)", set_name=name, pinions=pset.pinions)


def describe(layout: Layout, placement: Placement, state: DriveState | None) -> str:
    """Return the text alternative of a stick diagram.

    Args:
        layout: the layout.
        placement: where the sets stand.
        state: the applied elements, where shown.
    """
    sets = listed(_together([_set_words(layout.sets[index]) for index in seat]) for seat in placement.sets)
    said = [say("Half-section above the axis, from left to right: {sets}.", sets=sets)]
    for long, short in [seat for seat in placement.sets if len(seat) == 2]:
        names = [set_words(layout.sets[index].name) for index in (long, short)]
        said.append(
            say(
                "{capital} and {names} are one set with two suns: one carrier, one ring, long planets of {names2}, short planets of {names} between them and its sun.",
                capital=capital(names[0]),
                names=names[1],
                names2=names[0],
            )
        )
    for number, shaft in enumerate(layout.shafts):
        members = member_list(layout, number)
        if HOUSING in shaft:
            fixed = [name for name in members if name != HOUSING]
            if fixed:
                said.append(say("Fixed to the housing: {shaft}.", shaft=shaft_words(fixed)))
        elif len(members) > 1:
            said.append(say("One shaft: {shaft}.", shaft=shaft_words(members)))
    if layout.elements:
        told = "; ".join(f"{element.name}, {element_words(element)}" for element in layout.elements)
        said.append(f"{plural(len(layout.elements), 'element')}: {told}.")
    for part in hung_on(layout):
        said.append(say(_HUNG[part.kind], name=member_label(part.name), shaft=member_label(part.between[0])))
    if state is not None:
        said.append(state_words(state))
        closed = listed(state.engaged) or say("none")
        said.append(say("Drawn closed: {closed}.", closed=closed))
    return " ".join(said)


def _together(words: Sequence[str]) -> str:
    """Sets that are drawn at one place."""
    told = words[0]
    for mate in words[1:]:
        told = say("{set_name} with {mate}", set_name=told, mate=mate)
    return told
