"""Words that stand beside a number and say nothing of its size: "about", "the answer is", "to 1", "reverse", "overdrive".

Only whole words at the two ends of a text are taken off, and only those that are listed here; any other word stays, and
the answer is then refused.
"""

from __future__ import annotations

import re

_NAMED = r"(?:ans(?:wer)?|result|ratio|speed|torque|value|efficiency|step|spread)"
# "the speed of the carrier is 552": any words but a denial, and then "is".
_SENTENCE = r"(?!(?:\w+\s+){0,8}(?:not|no|if|never)\b)(?:[A-Za-z]\w*\s+){1,8}is\s+(?!not\b)"
_AHEAD = re.compile(
    r"\s*(?:[≈~]|(?:about|approx(?:imately)?|around|roughly|nearly|circa|ca)(?![A-Za-z0-9_])\.?[\s:]*(?=\S)"
    rf"|(?:the\s+)?(?:\w+\s+)?{_NAMED}\s*:(?!\s*1\s*$)|(?:the\s+)?{_NAMED}\s+(?=[-+−]?[0-9][^=]*$)|it['’]s\s+|{_SENTENCE})\s*",
    re.IGNORECASE,
)
_BEHIND = re.compile(r"(?<=[ 0-9)(,])(?:approx(?:imately)?|about|roughly|or so)\.?\)?$", re.IGNORECASE)
_TO_ONE = re.compile(r"(?<=[0-9A-Za-z)])(?:\s+(?:to|zu)\s+|\s*-\s*to\s*-\s*|(?<=[0-9)])to\s*)(?:1|one)$", re.IGNORECASE)
_SIGN = re.compile(r"(?:(minus|negative)|plus|positive)\s+(?=[0-9.(])", re.IGNORECASE)
_END = " \t\n\u00a0.,;!"

_BACKWARD = (
    r"(?:turn(?:s|ing)\s+|going\s+|runs\s+|running\s+)?(?:in\s+(?:the\s+)?)?(?:reversed?(?:\s+(?:gear|direction))?|backwards?"
    r"|against(?:\s+the\s+input)?|opposite(?:\s+direction)?(?:\s+(?:to\s+)?the\s+input)?)"
)
_FORWARD = (
    r"(?:turn(?:s|ing)\s+|going\s+|runs\s+|running\s+)?(?:in\s+(?:the\s+)?)?(?:forwards?(?:\s+direction)?|with\s+the\s+input"
    r"|same\s+direction|same\s+as\s+the\s+input)"
)
_REMARK = r"(?:an?\s+|in\s+)?(?:overdrive|underdrive|direct\s+drive|reduction|step-?up)(?:\s+(?:gear|ratio))?"
_WAYS = (
    (re.compile(_BACKWARD, re.IGNORECASE), -1),
    (re.compile(_FORWARD, re.IGNORECASE), 1),
    (re.compile(_REMARK, re.IGNORECASE), 0),
)
_ANY = rf"(?P<words>{_BACKWARD}|{_FORWARD}|{_REMARK})"
_BEFORE = re.compile(rf"\s*[(\[]?\s*{_ANY}(?![A-Za-z0-9_])\s*[)\]]?[\s,:;]*", re.IGNORECASE)
_AFTER = re.compile(rf"(?<![A-Za-z_]){_ANY} ?[)\]]?$", re.IGNORECASE)
_OPENING = " ,;:(["
_IN_A_LABEL = re.compile(rf"(?<![A-Za-z_]){_ANY}(?![A-Za-z0-9_])", re.IGNORECASE)
# Of each kind of word one or two may stand at either end; more is no answer.
_TIMES = 4


def single_spaced(text: str) -> str:
    """Return a text with one blank for each run of blanks: a pattern that looks past blanks from every place takes its time.

    Args:
        text: any text.
    """
    return " ".join(text.split())


def without_words(text: str) -> str:
    """Return a text without "about", "the answer is", a closing "to 1" and the full stop of a sentence; "minus" is a sign.

    Args:
        text: what was written.

    >>> without_words("the ratio is about 3.43 to 1."), without_words("≈ 1 + R/S")
    ('3.43', '1 + R/S')
    """
    bare = single_spaced(text).rstrip(_END)
    for _ in range(_TIMES):
        match = _AHEAD.match(bare)
        shorter = bare[match.end() :] if match else bare
        behind = _BEHIND.search(shorter)
        shorter = shorter[: behind.start()].rstrip(_OPENING) if behind else shorter
        shorter = _TO_ONE.sub("", shorter).rstrip(_END)
        sign = _SIGN.match(shorter)
        shorter = f"{'-' if sign[1] else ''}{shorter[sign.end() :]}" if sign else shorter
        if shorter == bare or not shorter:
            return bare
        bare = shorter
    return bare


def without_direction(text: str) -> tuple[str, frozenset[int]]:
    """Return a text without words such as "reverse" and "overdrive" at its ends, and what they say.

    Args:
        text: what was written.

    Returns:
        The rest, and -1 where it is said to go backward, 1 where forward, both where both are said.

    >>> without_direction("552 rpm (reverse)"), without_direction("0.7 overdrive")
    (('552 rpm', frozenset({-1})), ('0.7', frozenset()))
    """
    said: set[int] = set()
    bare = single_spaced(text).rstrip(_END)
    for _ in range(_TIMES):
        match = _BEFORE.match(bare)
        rest = bare[match.end() :] if match else ""
        if match is None or not rest:
            match = _AFTER.search(bare)
            rest = bare[: match.start()].rstrip(_OPENING) if match else ""
        if match is None or not rest:
            break
        said |= _way_of(match["words"])
        bare = rest.strip().rstrip(_END)
    return bare, frozenset(said)


def direction_in(label: str) -> frozenset[int]:
    """Return what the words in front of an equals sign say of the direction, as in ``reverse ratio = 4.6``.

    Args:
        label: what stands in front.
    """
    return frozenset().union(*(_way_of(match["words"]) for match in _IN_A_LABEL.finditer(label)))


def _way_of(words: str) -> set[int]:
    return next({way} - {0} for pattern, way in _WAYS if pattern.fullmatch(words))
