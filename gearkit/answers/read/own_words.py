"""Answers in the reader's language: its words for directions, members, units and the like, read as the English ones.

Numbers, letters and the options of a question are read in any language as they are. What cannot be read so is tried once
more with the language's own words replaced; a catalogue lists them in one message.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TypeVar

from gearkit.words.errors import AnswerError
from gearkit.words.say import kept_for_each_language, language_key, say_in

T = TypeVar("T")
_BETWEEN_WORDS = re.compile(r"\s*;\s*")


def read_in_own_words(read: Callable[[str], T], text: str) -> T:
    """Return what a text means, written in English or in the reader's language.

    Args:
        read: reads English; AnswerError where it cannot.
        text: what was written.

    Raises:
        AnswerError: it can be read in neither; the message speaks of the text as it was written.

    >>> read_in_own_words(str.upper, "about 3")
    'ABOUT 3'
    """
    try:
        return read(text)
    except AnswerError:
        in_english = _in_english(text)
        if in_english == text:
            raise
        try:
            return read(in_english)
        except AnswerError:
            pass
        raise


def _in_english(text: str) -> str:
    words = _words() if language_key() else {}
    if not words:
        return text
    pattern = r"(?<!\w)(?:" + "|".join(map(re.escape, sorted(words, key=len, reverse=True))) + r")(?!\w)"
    return re.sub(pattern, lambda match: words[match[0].casefold()], text, flags=re.IGNORECASE)


@kept_for_each_language(4)
def _words() -> dict[str, str]:
    """A word or words of the language -> those that the readers know."""
    # Translators: behind each English word write your own in its place, with | between where there are several, as in
    # Translators: "teeth: Zähne|Zahn". A word that is the same in both can stay.
    listed = say_in(
        "words in answers",
        "about: about; the: the; is: is; not: not; it is: it is; answer: answer; ratio: ratio; speed: speed; torque: torque; "
        "efficiency: efficiency; step: step; spread: spread; value: value; to 1: to 1; forward: forward; reverse: reverse; "
        "overdrive: overdrive; reduction: reduction; direct drive: direct drive; standing still: standing still; "
        "neutral: neutral; sun: sun; ring: ring; carrier: carrier; planet: planet; input: input; output: output; "
        "housing: housing; clutch: clutch; brake: brake; one-way clutch: one-way clutch; element: element; member: member; "
        "range: range; shaft: shaft; first: first; second: second; third: third; fourth: fourth; fifth: fifth; sixth: sixth; "
        "seventh: seventh; eighth: eighth; none: none; and: and; yes: yes; no: no; rpm: rpm; turns: turns; teeth: teeth; "
        "degrees: degrees; percent: percent; modules: modules; planets: planets; shafts: shafts; lines: lines; "
        "elements: elements; N·m: N·m; metres: metres; mm: mm; km/h: km/h; kJ: kJ; kW: kW; inches: inches",
    )
    table: dict[str, str] = {}
    for entry in _BETWEEN_WORDS.split(listed):
        english, _, own = entry.partition(": ")
        table |= {word.casefold(): english for word in own.split("|") if word and word != english}
    return table
