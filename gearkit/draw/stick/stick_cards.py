"""The card under each set of a stick diagram: tooth counts and, with elements applied, every member's state."""

from __future__ import annotations

from gearkit.draw.core.frame import ground_strokes
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.state import DriveState
from gearkit.draw.core.svg import Group, Look, Text
from gearkit.draw.core.wording import ratio_text
from gearkit.draw.stick.stick_geometry import CARD_TYPE
from gearkit.text.phrases import decimal, set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say, say_in
from gearkit.words.terms import PinionKind

LINE = 17.0
ORDER = ("ring", "carrier", "sun")
GAP = 14.0
MARK = 17.0
WALL_NAME = 12.5  # type size of a set's name on a wall


def card_width(layout: Layout, state: DriveState | None) -> float:
    """Return the room that the widest card takes.

    Args:
        layout: the layout.
        state: the applied elements, where shown.
    """
    return max(_width(layout, state, pset) for pset in layout.sets)


def card_height(state: DriveState | None) -> float:
    """Return the height of the cards; all are alike."""
    return 22 + LINE * (len(ORDER) + 1)


def wall_name(pset: PlanetarySet) -> str:
    """Return a set's name for a picture on a wall, where it stands in place of the card."""
    number = pset.name.removeprefix("P")
    if not number.isdigit():
        return set_words(pset.name)
    return say_in("the name of a planetary set on a wall, as short as it can be", "set {number}", number=number)


def wall_name_width(layout: Layout, letters: float) -> float:
    """Return the room that the widest name of a set takes on a wall.

    Args:
        layout: the layout.
        letters: how many times as large as usual its letters are.
    """
    return max(text_width(wall_name(pset), WALL_NAME * letters, bold=True) for pset in layout.sets)


def draw_card(group: Group, layout: Layout, state: DriveState | None, pset: PlanetarySet, x: float, top: float) -> None:
    """Draw a set's card.

    Args:
        group: where to.
        layout: the layout.
        state: the applied elements, where shown.
        pset: the set.
        x: middle of the card.
        top: base line of its title.
    """
    width = _width(layout, state, pset)
    group.text(Text(x, top, _title(pset), 14.0, "middle", True))
    left, right = x - width / 2, x + width / 2
    for number, member in enumerate(ORDER):
        y = top + LINE * (number + 1) + 3
        if state is None:
            words = _counted(pset, member)
            group.text(Text(x, y, words, CARD_TYPE, "middle"))
            continue
        shaft = layout.shaft_of(f"{pset.name}.{member}")
        group.text(Text(left, y, _counted(pset, member), CARD_TYPE))
        words = state_text(state, shaft)
        # A closing bracket hangs out to the right, so that the figures stay in column.
        hang = text_width(")", CARD_TYPE) if words.endswith(")") else 0.0
        group.text(Text(right - MARK + hang, y, words, CARD_TYPE, "end"))
        _mark(group, state, shaft, right - MARK + 4 + hang, y)


def state_text(state: DriveState, shaft: int) -> str:
    """Return a shaft's state in a card: its speed, "held" or "free"; in brackets where it carries no load.

    Args:
        state: the applied elements.
        shaft: number of the shaft.
    """
    speed = state.speed(shaft)
    if shaft in state.held:
        return say("held")
    if speed is None:
        return say("free")
    return f"({ratio_text(speed)})" if state.idle(shaft) else ratio_text(speed)


def _title(pset: PlanetarySet) -> str:
    if pset.pinions is PinionKind.SINGLE:
        return set_words(pset.name)
    return say("{set_name}, {pinions}", set_name=set_words(pset.name), pinions=pset.pinions)


def _mark(group: Group, state: DriveState, shaft: int, x: float, y: float) -> None:
    if shaft in state.held:
        group.line((x, y - 5), (x + 8, y - 5), Look("ink", None, 1.8))
        ground_strokes(group, x, x + 8, y - 5, 5.0)
    elif state.at_input_speed(shaft):
        group.polyline([(x + 7, y - 4), (x + 1, y - 8), (x + 1, y)], Look("ink", "ink", 1.0), closed=True)


def _width(layout: Layout, state: DriveState | None, pset: PlanetarySet) -> float:
    title = text_width(_title(pset), 14.0, bold=True)
    names = max(text_width(_counted(pset, member), CARD_TYPE) for member in ORDER)
    if state is None:
        return max(title, names)
    shafts = [layout.shaft_of(f"{pset.name}.{member}") for member in ORDER]
    return max(title, names + GAP + MARK + max(text_width(state_text(state, shaft), CARD_TYPE) for shaft in shafts))


def _counted(pset: PlanetarySet, member: str) -> str:
    if pset.pinions is PinionKind.BEVEL:
        # What a differential's parts are called in the trade, beside the names that the kit counts them by.
        return say("{member}: case", member=member) if member == "carrier" else say("{member}: side gear", member=member)
    # A colon keeps the tooth count from being read as the set's number: its sun is "sun 1".
    teeth = _teeth(pset, member)
    if teeth.isdigit():
        return say("{member}: {teeth}", member=member, teeth=teeth)
    return say("{member} {teeth}", member=member, teeth=teeth).strip()


def _teeth(pset: PlanetarySet, member: str) -> str:
    count = {"sun": pset.sun_teeth, "ring": pset.ring_teeth}.get(member)
    if count is not None:
        return str(count)
    if member == "ring" and pset.ring_to_sun is not None:
        return say("= {ring_to_sun} × sun", ring_to_sun=decimal(pset.ring_to_sun))
    return ""
