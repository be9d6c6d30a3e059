"""What the pictures of a layout have in common: heading, element chips and the key below.

A chip is an element's letter in a small frame. The frame tells the kind (square with ground strokes: brake; round:
clutch; round with a pointer: one-way clutch), the filling tells the state (filled: applied, open: not applied).
"""

from __future__ import annotations

from collections.abc import Iterable

from gearkit.draw.core.measure import Box, text_width
from gearkit.draw.core.svg import Group, Look, PathStep, Picture, Text
from gearkit.text.phrases import member_label
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, ElementKind

MARGIN = 24.0
CHIP_HEIGHT = 18.0
CLEARED = Look(None, "paper")
GROUND = Look("ink", None, 1.2)
CHIPS = {True: Look("ink", "ink", 1.4), False: Look("ink", "paper", 1.4)}
CHIP_TYPE = 12.0
KEY_TYPE = 12.5
TITLE_TYPE = 16.0
LINE_TYPE = 13.0


def clear_text(group: Group, text: Text, gap: float = 1.5) -> None:
    """Write a text with the page cleared behind it, so that no line runs through it.

    Args:
        group: where to.
        text: the text.
        gap: how far round the letters it is cleared.
    """
    box = text.box
    # A line that ends at a minus sign would be taken for a part of it.
    before = gap + 4 if text.text.startswith("\u2212") else gap
    group.rect(
        Box(box.left - before, text.y - 0.78 * text.size - gap, box.right + gap, text.y + 0.2 * text.size + gap), CLEARED
    )
    group.text(text)


def heading(drawn: Picture, title: str, line: str = "") -> float:
    """Write the heading and return the y below it.

    Args:
        drawn: the picture.
        title: in bold.
        line: a second line, plain.
    """
    y = MARGIN + TITLE_TYPE * 0.8
    drawn.text(Text(MARGIN, y, title, TITLE_TYPE, bold=True))
    if line:
        y += LINE_TYPE * 1.55
        drawn.text(Text(MARGIN, y, line, LINE_TYPE, role="soft"))
    return y + 18


def heading_width(title: str, line: str = "") -> float:
    """Return the room that a heading takes.

    Args:
        title: in bold.
        line: the second line.
    """
    return max(text_width(title, TITLE_TYPE, bold=True), text_width(line, LINE_TYPE))


def chip_width(name: str, letters: float = 1.0) -> float:
    """Return the width of an element's chip.

    Args:
        name: of the element.
        letters: how many times as large as usual its letters are.
    """
    return max(20.0, text_width(name, CHIP_TYPE, bold=True) + 11) * letters


def chip(group: Group, left: float, middle: float, element: Element, *, engaged: bool, letters: float = 1.0) -> Box:
    """Draw an element's chip and return its box.

    Args:
        group: where to.
        left: its left edge.
        middle: y of its middle.
        element: the element.
        engaged: whether it joins or holds.
        letters: how many times as large as usual its letters are.
    """
    width, height, size = chip_width(element.name, letters), CHIP_HEIGHT * letters, CHIP_TYPE * letters
    box = Box(left, middle - height / 2, left + width, middle + height / 2)
    inner = group.group({"element": element.name, "state": "applied" if engaged else "open"})
    inner.rect(box, CHIPS[engaged], corner=2 if element.kind is ElementKind.BRAKE else height / 2)
    if element.kind is ElementKind.BRAKE:
        ground_strokes(inner, box.left + 2, box.right - 2, box.bottom, 4.0)
    elif element.kind is ElementKind.ONE_WAY_CLUTCH:
        x = box.right + 2
        inner.polyline([(x, middle - 4), (x + 5, middle), (x, middle + 4)], Look("ink", "ink", 1.0), closed=True)
    role = "paper" if engaged else "ink"
    inner.text(Text(
        left + width / 2, middle + size * 0.36, element.name, size, "middle", True, role, overlay=True
    ))  # fmt: skip
    return box


def machine_width(name: str) -> float:
    """Return the width of a machine's chip with its arrow."""
    return text_width(name, CHIP_TYPE, bold=True) + 36


def machine_chip(group: Group, left: float, middle: float, name: str) -> float:
    """Draw a machine's name in a round frame with an arrow both ways, for it may push either way; return its right edge.

    Args:
        group: where to.
        left: its left edge.
        middle: y of its middle.
        name: the machine.
    """
    inner = group.group({"machine": name})
    wide = text_width(name, CHIP_TYPE, bold=True) + 11
    inner.rect(Box(left, middle - CHIP_HEIGHT / 2, left + wide, middle + CHIP_HEIGHT / 2), CHIPS[False], corner=CHIP_HEIGHT / 2)
    inner.text(Text(left + wide / 2, middle + CHIP_TYPE * 0.36, name, CHIP_TYPE, "middle", True, overlay=True))
    start, end = left + wide + 3, left + machine_width(name)
    inner.line((start + 4, middle), (end - 4, middle), Look("ink", None, 1.8))
    for tip, way in ((start, 1), (end, -1)):
        inner.polyline(
            [(tip, middle), (tip + way * 7, middle - 4), (tip + way * 7, middle + 4)], Look("ink", "ink", 1.0), closed=True
        )
    return end


def ground_strokes(group: Group, left: float, right: float, y: float, height: float, *, upwards: bool = False) -> None:
    """Draw the short slanted strokes that mean "fixed to the housing", along a level line.

    Args:
        group: where to.
        left: start of the line.
        right: its end.
        y: the line.
        height: of the strokes.
        upwards: whether they point up.
    """
    count = max(2, round((right - left) / (height * 1.25)))
    step = (right - left) / count
    rise = -height if upwards else height
    steps: list[PathStep] = []
    for index in range(count):
        x = left + step * (index + 0.5)
        steps += [("M", (x + step * 0.3, y)), ("L", (x - step * 0.3, y + rise))]
    group.path(steps, GROUND)


def element_words(element: Element) -> str:
    """Return what an element does: "brake, carrier 2", "clutch, input and ring 2"."""
    shafts = [member_label(name) for name in element.between if name != HOUSING]
    words = say("{kind}, {shafts}", kind=element.kind, shafts=" – ".join(shafts))
    if element.kind is ElementKind.ONE_WAY_CLUTCH:
        words += say(", {free_direction} free", free_direction=element.free_direction)
    return words


def element_key(drawn: Picture, layout: Layout, engaged: Iterable[str], left: float, top: float, width: float) -> float:
    """Write the list of elements under a picture, in even columns, and return the y below it.

    Args:
        drawn: the picture.
        layout: the layout.
        engaged: names of the engaged elements.
        left: left edge.
        top: upper edge.
        width: room for the columns; the list takes at least one column, however wide.
    """
    if not layout.elements:
        return top
    names = set(engaged)
    chips = max(chip_width(element.name) for element in layout.elements) + 14
    widths = [chips + text_width(element_words(element), KEY_TYPE) + 26 for element in layout.elements]
    column = max(widths)
    columns = max(1, min(len(layout.elements), int((width + 26) // column)))
    rows = -(-len(layout.elements) // columns)
    key = drawn.group({"part": "key"})
    for index, element in enumerate(layout.elements):
        # Down the columns, so that the letters read in order.
        x, y = left + column * (index // rows), top + 12 + 26 * (index % rows)
        chip(key, x, y, element, engaged=element.name in names)
        key.text(Text(x + chips, y + KEY_TYPE * 0.35, element_words(element), KEY_TYPE))
    return top + 26 * rows + 4


def key_width(layout: Layout) -> float:
    """Return the width of one column of the element key."""
    if not layout.elements:
        return 0.0
    chips = max(chip_width(element.name) for element in layout.elements) + 14
    return chips + max(text_width(element_words(element), KEY_TYPE) for element in layout.elements)
