"""What is said with a picture of a train whose sets cannot be put together: gears and bodies look as if they could be made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from gearkit.draw.core.measure import text_width
from gearkit.draw.core.svg import Picture, Text
from gearkit.draw.registry import PICTURES, picture_of
from gearkit.solve.layout_warnings import set_warnings
from gearkit.text.phrases import capital, set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say

_HEAD = later("Cannot be put together as given:")
_SIZE, _LINE, _EDGE = 13.0, 18.0, 24.0


def cannot_be_put_together(sets: Iterable[PlanetarySet]) -> str:
    """Return in sentences which sets cannot be put together and why; "" where all can.

    Args:
        sets: the sets that are shown.
    """
    sentences = _sentences(sets)
    return " ".join([say(_HEAD), *sentences]) if sentences else ""


def noted_picture(
    layout: Layout, what: str, range_name: str | None = None, set_name: str | None = None,
    given: Mapping[str, Fraction | int] | None = None,
) -> Picture:  # fmt: skip
    """Return a picture of a layout, with a note below it and in its text alternative where what it shows cannot be put together.

    An exercise draws without: it says nothing of what can be made.

    Args:
        layout: any layout.
        what: as in `registry.picture_of`.
        range_name: as in `registry.picture_of`.
        set_name: as in `registry.picture_of`.
        given: as in `registry.picture_of`.

    Raises:
        UsageError: no such picture, range or set, or an option that the picture does not take.
    """
    drawn = picture_of(layout, what, range_name, set_name, given=given)
    if PICTURES[what].bodies:
        shown = (layout.set_named(set_name) if set_name else layout.sets[0],) if PICTURES[what].of_one_set else layout.sets
        _note(drawn, _sentences(shown))
    return drawn


def _sentences(sets: Iterable[PlanetarySet]) -> list[str]:
    return [f"{capital(set_words(pset.name))}{said.removeprefix(pset.name)}" for pset in sets for said in set_warnings(pset)]


def _note(drawn: Picture, sentences: list[str]) -> None:
    if not sentences:
        return
    lines = [say(_HEAD)]
    for said in sentences:
        line = ""
        for word in said.split():
            if line and text_width(f"{line} {word}", _SIZE) > drawn.width - 2 * _EDGE:
                lines.append(line)
                line = ""
            line = f"{line} {word}".lstrip()
        lines.append(line)
    for number, line in enumerate(lines):
        drawn.text(Text(_EDGE, drawn.height + (number + 0.5) * _LINE, line, _SIZE, bold=number == 0))
    drawn.height += (len(lines) + 0.5) * _LINE
    drawn.description = " ".join([drawn.description, say(_HEAD), *sentences])
