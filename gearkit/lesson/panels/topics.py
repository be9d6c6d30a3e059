"""The live panels that a lesson's notebook asks for: of one set, of a layout, of gears in mesh, and by topic."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from gearkit.words.errors import UsageError
from gearkit.words.say import later, say

if TYPE_CHECKING:
    from gearkit.lesson.panels.faults import FaultPanel
    from gearkit.lesson.panels.gear_pair import GearPairPanel
    from gearkit.lesson.panels.layout import LayoutPanel
    from gearkit.lesson.panels.one_set import OneSetPanel
    from gearkit.lesson.panels.shifts import ShiftPanel
    from gearkit.lesson.panels.teeth import TeethPanel
    from gearkit.lesson.record import Record
    from gearkit.lesson.trains.several_panel import SeveralPanel
    from gearkit.train.layout import Layout

    TopicPanel: TypeAlias = FaultPanel | SeveralPanel | ShiftPanel | TeethPanel

# A train whose results a lesson has told is predicted with these; the record keeps the two apart.
OTHER_TEETH = later(", other tooth counts")
TOPICS = ("assembly", "shifts", "faults", "split")


def panel_about(topic: str, layout: str = "Q36", record: Record | None = None, lesson: str = "") -> TopicPanel:
    """Return a live panel.

    Args:
        topic: one of `TOPICS`.
        layout: a layout's name or file; assembly needs none, split asks for machines or several outputs.
        record: where the choice of another train is kept; nowhere when None.
        lesson: the lesson's number.

    Raises:
        UsageError: there is no such topic or layout.
    """
    if topic == "assembly":
        from gearkit.lesson.panels.teeth import TeethPanel

        return TeethPanel(title=say("Explore: tooth counts of one set"))
    if topic not in TOPICS:
        raise UsageError(f"There is nothing to explore about {topic!r}; topics: {', '.join(TOPICS)}.")
    from gearkit.text.phrases import named_in_a_sentence
    from gearkit.train.catalogue import find

    train = find(layout)

    def titled(shown: Layout) -> str:
        called = named_in_a_sentence(shown.name)
        return (
            say("Explore: shifts of {name}", name=called)
            if topic == "shifts"
            else say("Explore: faults of {name}", name=called)
        )

    if topic == "split":
        from gearkit.lesson.trains.several_panel import SeveralPanel

        # Two on a page, as in the lesson of several outputs, are told apart by a name that only describes too.
        described = train.said_short.partition(" (")[0]
        called = named_in_a_sentence(train.name, described)
        return SeveralPanel(train, title=say("Explore speeds, torques and power: {name}", name=called))
    panel: ShiftPanel | FaultPanel
    if topic == "shifts":
        from gearkit.lesson.panels.shifts import ShiftPanel

        panel = ShiftPanel(train, title=titled(train))
    else:
        from gearkit.lesson.panels.faults import FaultPanel

        panel = FaultPanel(train, title=titled(train))
    panel.offer_trains(layout, titled, record, f"{lesson} {topic} {layout}")
    return panel


def of_layout(
    record: Record,
    lesson: str,
    layout: str,
    teeth: Mapping[str, tuple[int, int]] | None = None,
    compare: str = "",
    *,
    gated: bool,
) -> LayoutPanel:
    """Return the panel of a layout.

    Args:
        record: the learner's record.
        lesson: the lesson's number.
        layout: a layout's name or file.
        teeth: other tooth counts, name of a set -> sun and ring teeth; the layout's own when None.
        compare: what is said in the reveal; the kit's own words when empty.
        gated: whether results stay shut until they were predicted.
    """
    from gearkit.lesson.panels.layout import LayoutPanel
    from gearkit.lesson.predictions import Predictions
    from gearkit.train.catalogue import find

    train = find(layout).with_teeth(teeth) if teeth else find(layout)
    other = OTHER_TEETH if teeth else ""
    # To explore, something should turn at once; to predict, the learner applies the first elements.
    first = list(train.ranges[0].engaged) if train.ranges and not gated else []

    def titled(shown: Layout) -> str:
        return f"{_word(gated)}: {shown.said_short.partition(' (')[0]}{say(other)}"

    keeper = Predictions(record, lesson, Path(layout).stem + other, compare)
    panel = LayoutPanel(train, keeper, title=titled(train), gated=gated, engaged=first)
    if not gated:
        panel.offer_trains(layout, titled, record, f"{lesson} explore {layout}")
    return panel


def of_one_set(record: Record, lesson: str, teeth: tuple[int, int, int], *, two_speeds: bool, gated: bool) -> OneSetPanel:
    """Return the panel of one set.

    Args:
        record: the learner's record.
        lesson: the lesson's number.
        teeth: teeth of the sun and of a planet, and how many planets, to begin with.
        two_speeds: two speeds are given in place of holding or joining members.
        gated: whether results stay shut until they were predicted.
    """
    from gearkit.lesson.panels.one_set import RANGES, SPEEDS, OneSetPanel
    from gearkit.lesson.predictions import Predictions

    what = later("two speeds of one set") if two_speeds else later("one set")
    sun, planet, planets = teeth
    return OneSetPanel(
        Predictions(record, lesson, what), title=f"{_word(gated)}: {say(what)}", gated=gated, sun=sun, planet=planet,
        planets=planets, mode=SPEEDS if two_speeds else RANGES, second_speed=-200 if two_speeds else 0,
    )  # fmt: skip


def of_gears(record: Record, lesson: str, driver: int, driven: int, *, gated: bool) -> GearPairPanel:
    """Return the panel of a gear pair.

    Args:
        record: the learner's record.
        lesson: the lesson's number.
        driver: teeth of the driving gear to begin with.
        driven: teeth of the last gear to begin with.
        gated: whether the last gear is hidden until it was predicted.
    """
    from gearkit.lesson.panels.gear_pair import GearPairPanel
    from gearkit.lesson.predictions import Predictions

    title = say("{gated}: gears in mesh", gated=_word(gated))
    return GearPairPanel(
        Predictions(record, lesson, later("gear pair")), title=title, gated=gated, driver=driver, driven=driven
    )


def _word(gated: bool) -> str:
    return say("Predict") if gated else say("Explore")
