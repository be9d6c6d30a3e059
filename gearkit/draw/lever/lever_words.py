"""What a lever diagram says, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.draw.core.frame import element_words
from gearkit.draw.core.state import DriveState, member_list
from gearkit.draw.core.wording import shaft_words, speed_words, without_housing
from gearkit.draw.lever.lever_geometry import Lever
from gearkit.draw.lever.lever_places import Standing
from gearkit.text.phrases import capital, decimal, member_label, sets_words
from gearkit.train.layout import Layout
from gearkit.words.say import say


def describe(layout: Layout, standings: Sequence[Standing], state: DriveState | None) -> str:
    """Return the text alternative of a lever diagram.

    Args:
        layout: the layout.
        standings: its levers from left to right.
        state: the applied elements, where speeds are shown.
    """
    said = [
        say("{standings} levers, from left to right.", standings=len(standings)) if len(standings) > 1 else say("One lever.")
    ]
    said += [_lever_words(layout, standing) for standing in standings]
    said += [
        say(
            "{machine} is an electric machine on {member_label}.",
            machine=machine.name,
            member_label=member_label(machine.shaft),
        )
        for machine in layout.machines
    ]
    shared: dict[int, int] = {}
    for standing in standings:
        for shaft in standing.lever.nodes:
            shared[shaft] = shared.get(shaft, 0) + 1
    linked = [shaft for shaft, count in shared.items() if count > 1 and without_housing(layout.shafts[shaft])]
    if linked:
        said.append(
            say("Linked as one shaft: {shafts}.", shafts="; ".join(shaft_words(member_list(layout, shaft)) for shaft in linked))
        )
    if state is None:
        if layout.elements:
            said.append(
                say(
                    "Elements: {elements}.",
                    elements="; ".join(f"{element.name}, {element_words(element)}" for element in layout.elements),
                )
            )
        return " ".join(said)
    said.append(state_words(state))
    return " ".join(said)


def node_words(layout: Layout, lever: Lever, shaft: int) -> str:
    """Return a node's name in a sentence: its members on this lever.

    Args:
        layout: the layout.
        lever: one of its levers.
        shaft: number of a shaft on it.
    """
    return shaft_words(lever.members(layout, shaft))


def state_words(state: DriveState) -> str:
    """Return what applied elements make of a layout: the verdict and the state of every shaft, in sentences."""
    layout = state.layout
    said = [f"{state.heading[:1].upper()}{state.heading[1:]}."]
    for number in range(len(layout.shafts)):
        members = without_housing(member_list(layout, number))
        if not members:
            continue
        verb = speed_words(state.speed(number), held=number in state.held, given=state.given)
        idle = (" " + say("and carries no load")) if state.idle(number) and state.speed(number) is not None else ""
        subject = shaft_words(members)
        said.append(f"{subject[:1].upper()}{subject[1:]}: {verb}{idle}.")
    return " ".join(said)


def _lever_words(layout: Layout, standing: Standing) -> str:
    lever = standing.lever
    order = sorted(lever.nodes, key=lambda shaft: -standing.heights[shaft])
    if not lever.sets:
        return say("A single node: {shaft}.", shaft=shaft_words(member_list(layout, order[0])))
    names = capital(sets_words(lever.sets))
    if lever.solid:
        return say("{names}: all members turn as one.", names=names)
    top, bottom = standing.heights[order[0]], standing.heights[order[-1]]
    span = top - bottom or 1.0
    nodes = [
        say("{node} at {top}", node=node_words(layout, lever, shaft), top=decimal((top - standing.heights[shaft]) / span))
        for shaft in order
    ]
    return say("{names}, from the top (0) to the bottom (1): {join}.", names=names, join="; ".join(nodes))
