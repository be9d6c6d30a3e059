"""What the half-section says, in sentences."""

from __future__ import annotations

from gearkit.draw.core.state import DriveState
from gearkit.draw.cutaway.solid_train import Train
from gearkit.draw.stick.placement import Placement
from gearkit.draw.stick.stick_words import describe as describe_stick
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.say import say


def describe(layout: Layout, placement: Placement, state: DriveState | None, train: Train) -> str:
    """Return the text alternative of a half-section.

    Args:
        layout: the layout.
        placement: where the sets stand.
        state: the applied elements, where shown.
        train: the solid bodies.
    """
    said = [describe_stick(layout, placement, state), where_elements_are(layout, train)]
    said += [f"{note}." for note in train.notes]
    return " ".join(text for text in said if text)


def where_elements_are(layout: Layout, train: Train) -> str:
    """Return in a sentence where clutches and brakes stand.

    Args:
        layout: the layout.
        train: the solid bodies.
    """
    outside = [layout.elements[pack.element].name for pack in train.packs if pack.above == 0]
    drums = [layout.elements[pack.element].name for pack in train.packs if pack.above and pack.r[0] >= train.ring]
    inside = [layout.elements[pack.element].name for pack in train.packs if pack.above and pack.r[0] < train.ring]
    said = []
    if outside:
        said.append(say("{outside} between a drum and the casing", outside=listed(outside)))
    if drums:
        said.append(say("{drums} between two drums outside the rings", drums=listed(drums)))
    if inside:
        said.append(say("{inside} inside, nearer to the axis than the rings", inside=listed(inside)))
    return say("Where the plates stand: {join}.", join="; ".join(said)) if said else ""
