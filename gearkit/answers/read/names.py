"""Names as learners write them: "it is the sun gear", "element D", "second", "backwards".

Words that only stand round a name are taken off; nothing is guessed: a word that is not listed here stays.
"""

from __future__ import annotations

import re
from functools import lru_cache

from gearkit.answers.read.beside import single_spaced

_AHEAD = re.compile(
    r"(?:(?:it|this|that|answer)\s+is|it['’]?s|that['’]s|answer|option|choice|the|it\s+turns|turns|turning"
    r"|it(?=\s+(?:stands|does)\b)|in(?=\s+(?:the\s+)?same\b))\b[\s:=]*",
    re.IGNORECASE,
)
_THE = re.compile(r"\bthe\b", re.IGNORECASE)
_KINDS = r"(?:one-?\s?way\s+clutch(?:es)?|clutch(?:es)?|brakes?|elements?|members?|gears?|ranges?|shafts?|wheels?)"
_KIND_AHEAD = re.compile(rf"{_KINDS}\s+", re.IGNORECASE)
_KIND_BEHIND = re.compile(rf"\s+{_KINDS}$", re.IGNORECASE)
_ROUND = " \t\n\u00a0.,;:!\"'“”„‘’()[]"
# Words of one meaning in this trade; an option is found by any of its row.
_SAME = tuple(
    tuple(row.split())
    for row in (
        "forward forwards fwd inforward forwarddirection samedirection sameway samedirectionasinput samewayasinput "
        "sameasinput withinput",
        "reverse reversed backward backwards inreverse rev reversedirection opposite oppositedirection oppositeway "
        "oppositetoinput againstinput",
        "sun sunwheel",
        "ring annulus",
        "carrier planetcarrier",
        "planet planets pinion planetpinion",
        "stopped still standingstill stationary atrest standsstill standstill stop held notmoving doesnotmove notturning "
        "doesnotturn zero 0",
        "reduction reduce reduces underdrive stepdown",
        "overdrive od stepup",
        "directdrive direct 11 1to1 onetoone",
        "yes true",
        "no false",
    )
)
# The sign of a speed: positive in the input's sense.
_SIGNS = {"+": "forward", "-": "reverse", "\u2212": "reverse", "\u2013": "reverse"}
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
_RANGES = {
    **{word: str(number) for number, word in enumerate(_ORDINALS, start=1)},
    **{
        f"{number}{'st' if number == 1 else 'nd' if number == 2 else 'rd' if number == 3 else 'th'}": str(number)
        for number in range(1, 11)
    },
    "reverse": "r",
    "neutral": "n",
}


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """Return a text without blanks, signs and capitals, for comparing words.

    Args:
        text: any text.
    """
    return "".join(mark for mark in text.casefold() if mark.isalnum())


def bare(text: str) -> str:
    """Return a name without "it is", "the", quotation marks and full stops.

    Args:
        text: what was written.

    >>> bare("It is “the sun gear”.")
    'sun gear'
    """
    left = single_spaced(text).strip(_ROUND)
    for _ in range(4):
        match = _AHEAD.match(left)
        if match is None or match.end() == len(left):
            break
        left = left[match.end() :].strip(_ROUND)
    return " ".join(_THE.sub(" ", left).split())


def without_kind(text: str) -> str:
    """Return a list of names without the word for what they are, as in ``elements A C``.

    Args:
        text: what was written.
    """
    return _KIND_AHEAD.sub("", bare(text), count=1)


def spellings(text: str) -> tuple[str, ...]:
    """Return the plain texts of options that a name may mean, the closest first.

    Args:
        text: what was written.

    >>> spellings("the second gear")
    ('secondgear', 'second', '2')
    """
    name = bare(text)
    names = [name]
    for pattern in (_KIND_BEHIND, _KIND_AHEAD):
        names += [shorter for longer in tuple(names) if (shorter := pattern.sub("", longer, count=1)) != longer and shorter]
    words = [plain(_SIGNS.get(spelling, spelling)) for spelling in names]
    for word in tuple(words):
        words += [other for row in _SAME if word in row for other in row]
        words += [_RANGES[word]] if word in _RANGES else []
    return tuple(dict.fromkeys(word for word in words if word))
