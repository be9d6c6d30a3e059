"""The live panels to explore by topic: what a lesson's notebook asks for by name."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from gearkit.words.errors import UsageError

if TYPE_CHECKING:
    from gearkit.lesson.panels.faults import FaultPanel
    from gearkit.lesson.panels.shifts import ShiftPanel
    from gearkit.lesson.panels.teeth import TeethPanel
    from gearkit.lesson.trains.several_panel import SeveralPanel

    TopicPanel: TypeAlias = FaultPanel | SeveralPanel | ShiftPanel | TeethPanel

TOPICS = ("assembly", "shifts", "faults", "split")


def panel_about(topic: str, layout: str = "Q36") -> TopicPanel:
    """Return a live panel.

    Args:
        topic: one of `TOPICS`.
        layout: a layout's name or file; assembly needs none, split asks for machines or several outputs.

    Raises:
        UsageError: there is no such topic or layout.
    """
    if topic == "assembly":
        from gearkit.lesson.panels.teeth import TeethPanel

        return TeethPanel(title="Explore: tooth counts of one set")
    if topic not in TOPICS:
        raise UsageError(f"There is nothing to explore about {topic!r}; topics: {', '.join(TOPICS)}.")
    from gearkit.train.catalogue import find

    found = find(layout)
    name = found.name.partition(":")[0]
    if topic == "split":
        from gearkit.lesson.trains.several_panel import SeveralPanel

        return SeveralPanel(found, title=f"Explore speeds, torques and power: {name}")
    title = f"Explore: {topic} of {name}"
    if topic == "shifts":
        from gearkit.lesson.panels.shifts import ShiftPanel

        return ShiftPanel(found, title=title)
    from gearkit.lesson.panels.faults import FaultPanel

    return FaultPanel(found, title=title)
