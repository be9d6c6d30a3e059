"""A page for the projector: a class looks at a transmission, guesses what a range does by show of hands, and sees it.

One file that needs neither network nor Python. Every range of the layout is one question in three steps: look, guess, see.
Hands are counted by whoever stands in front and typed in; nothing leaves the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from gearkit.draw.core.embed import address_of, words_of
from gearkit.draw.noted import cannot_be_put_together
from gearkit.draw.power import power_picture
from gearkit.draw.stick import stick_diagram
from gearkit.explain.render import as_html
from gearkit.explain.story import tell
from gearkit.site.page import STATIC, data_of, framed, script_of
from gearkit.solve.one_way import working
from gearkit.text.files import write_asked
from gearkit.text.phrases import MINUS, decimal, listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import Verdict

REDUCTION, DIRECT, OVERDRIVE, REVERSE, NOTHING = (
    later("Slower than the input"),
    later("As fast as the input"),
    later("Faster than the input"),
    later("Backward"),
    later("It is not driven"),
)
_LONG = 1000
# In px on a screen of 1366 by 768: the room of the picture, and the least height of its letters.
_ROOM = (880.0, 590.0)
_LEAST_LETTERS = 19.0
_LETTERS = (1.4, 1.6, 1.8, 2.1, 2.5, 3.0)
GUESSES = (REDUCTION, DIRECT, OVERDRIVE, REVERSE, NOTHING)


def class_page(layout: Layout) -> str:
    """Return the page of a layout.

    Args:
        layout: a plain layout with at least one range.

    Raises:
        UsageError: it has no range, or several inputs or outputs.
    """
    if not layout.plain or not layout.ranges:
        why = "it has machines or several outputs" if not layout.plain else "it has no range"
        raise UsageError(f"{layout.name}: no page for the class can be made, because {why}. Choose a layout with ranges.")
    questions = [_question(layout, row.name) for row in layout.ranges]
    data = {
        "title": layout.said_name,
        "guesses": [say(guess) for guess in GUESSES],
        "look": _image(layout, "stick", None),
        "note": cannot_be_put_together(layout.sets),
        "elements": [element.name for element in layout.elements],
        "questions": questions,
    }
    style_sheet = (STATIC / "class_page.css").read_text(encoding="utf-8")
    without = say("This page needs JavaScript.")
    main = f'<main id="page"><noscript>{without}</noscript></main>'
    end = f"{data_of(data)}<script>{script_of([], 'class_page')}</script>"
    return framed(say("{layout}: for the class", layout=layout.said_name), main, f"<style>{style_sheet}</style>", end)


def write(layout: Layout, path: Path) -> None:
    """Write the page of a layout to a file.

    Args:
        layout: a plain layout with at least one range.
        path: the file; folders on the way to it are made where they are missing.

    Raises:
        UsageError: as in `class_page`, or the file cannot be written.
    """
    text = class_page(layout)
    write_asked(path, text)


def _question(layout: Layout, range_name: str) -> dict[str, Any]:
    state = working(layout, layout.engaged_in(range_name))
    engaged = layout.engaged_in(range_name)
    drives = state.mobility.verdict is Verdict.RANGE
    return {
        "range": range_name,
        "look": _look(range_name, engaged),
        "engaged": list(engaged),
        "right": say(guess_of(state.ratio)),
        "found": _outcome(state.mobility.verdict, state.ratio),
        "picture": _image(layout, "power" if drives else "stick", range_name),
        "key": say("Wide line: much power. Arrow: which way it goes. Cross strokes: stands still. Dotted: carries no load.")
        if drives
        else "",
        "story": as_html(tell(layout, range_name)),
    }


def _look(range_name: str, engaged: Sequence[str]) -> str:
    if not engaged:
        return say("Range {range}: nothing applied.", range=range_name)
    return say("Range {range}: {elements} applied.", range=range_name, elements=listed(engaged))


def guess_of(ratio: Fraction | None) -> str:
    """Return the guess that is right for a ratio.

    Args:
        ratio: input speed by output speed; None where the output is not driven.
    """
    if ratio is None:
        return NOTHING
    if ratio < 0:
        return REVERSE
    return REDUCTION if ratio > 1 else DIRECT if ratio == 1 else OVERDRIVE


def _outcome(verdict: Verdict, ratio: Fraction | None) -> str:
    if ratio is None:
        return say("No ratio: {verdict}.", verdict=verdict)
    exact = str(ratio).replace("-", MINUS)
    # A long fraction says nothing on a wall.
    short = ratio.denominator < _LONG
    written = exact if ratio.denominator == 1 else f"{exact} = {decimal(ratio)}" if short else decimal(ratio)
    return say("Ratio {ratio}.", ratio=written)


def _image(layout: Layout, what: str, range_name: str | None) -> dict[str, str]:
    """A picture with letters for the last row: the wider the train, the more the page makes it smaller."""
    engaged = None if range_name is None else layout.engaged_in(range_name)
    for letters in _LETTERS:
        drawn = (
            power_picture.picture(layout, engaged, letters=letters)
            if what == "power" and engaged is not None
            else stick_diagram.picture(layout, engaged, letters=letters)
        )
        least = min(text.size for text in drawn.texts())
        if least * min(_ROOM[0] / drawn.width, _ROOM[1] / drawn.height) >= _LEAST_LETTERS:
            break
    # The page is white whatever the reader's setting.
    svg = drawn.svg().replace("<svg ", '<svg data-page="light" ', 1)
    return {"address": address_of(svg), "words": words_of(svg)}
