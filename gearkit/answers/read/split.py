"""From what was handed in to one text per part; several parts may also come as one text.

What cannot be matched to a part costs that part alone: an entry without its name, an overlong one, a name given twice.
"""

from __future__ import annotations

import re
from collections.abc import Container, Mapping
from itertools import pairwise

from gearkit.answers.item import ONE_PART
from gearkit.answers.judge.checkers import Part
from gearkit.answers.read.commas import settled
from gearkit.answers.read.names import plain
from gearkit.words.errors import AnswerError
from gearkit.words.say import say

_BETWEEN = re.compile(r"[;\n]")
# Nobody writes this much by hand, and what comes after it is not looked at.
_MOST_CHARS = 40_000
_LONGEST_NAME = 80
_SHOWN = 40
_UNFINISHED = frozenset("=+-*/^(:\u2212")
# "planet -3": after a name without a sign a number may follow, or words where words are asked; "R - S" is a formula.
_NUMBER_FOLLOWS = re.compile(r"[-\u2212+]?[0-9.]")
_WORDS_FOLLOW = re.compile(r"\w")


def split_answer(parts: tuple[Part, ...], given: Mapping[str, str]) -> tuple[dict[str, str], dict[str, AnswerError]]:
    """Return the text of every part ("" where there is none), and by part what is wrong with the form of the whole.

    Args:
        parts: the parts of the variant.
        given: texts by part name, or one text under "answer".
    """
    if len(parts) == len(given) == 1:
        # Whatever it is called, it can only be meant for the only part.
        return {parts[0].name: str(next(iter(given.values()))).strip()}, {}
    texts = {part.name: "" for part in parts}
    names = {plain(part.name): part.name for part in parts}
    for name, text in given.items():
        known = names.get(plain(str(name)))
        if known is not None and isinstance(text, str):
            texts[known] = text.strip()
    if len(parts) == 1:
        return texts, {}
    together = str(given.get(ONE_PART, ""))[:_MOST_CHARS].strip()
    if together and ONE_PART not in texts:
        split, faults = _apart(parts, together)
        # What stands in a box of its own is not touched by what is wrong with the rest.
        faults = {name: fault for name, fault in faults.items() if not texts[name]}
        texts.update({name: text for name, text in split.items() if not texts[name]})
        return texts, faults
    return texts, {}


def with_commas_settled(part: Part, text: str, comma: str) -> str:
    """Return a part's text with what a course says of three digits after a comma carried out.

    Args:
        part: the part; commas between words are left alone.
        text: what was written for it.
        comma: "decimal", "thousands" or "either".
    """
    return settled(text, comma) if part.kind.traits.signs else text


def _apart(parts: tuple[Part, ...], text: str) -> tuple[dict[str, str], dict[str, AnswerError]]:
    """Split ``sun = 12; planet = -3``, or as many bare entries as there are parts."""
    names = {plain(part.name): part.name for part in parts}
    names.update({plain(part.label): part.name for part in parts if plain(part.label)})
    pieces = [piece for line in _BETWEEN.split(text) for piece in _at_names(line.strip(), parts) if piece]
    worded = {part.name for part in parts if not part.kind.traits.signs}
    entries = [_named(piece, names, worded) for piece in pieces]
    if not any(name for name, _ in entries):
        return _bare(parts, text, pieces)
    texts: dict[str, str] = {}
    faults: dict[str, AnswerError] = {}
    for name, rest in entries:
        if name in texts and texts[name] != rest:
            faults[name] = AnswerError(
                "parts",
                say("{name} is given twice: {found} and {rest}.", name=name, found=texts[name][:_SHOWN], rest=rest[:_SHOWN]),
                say("Give it once."),
            )
        if name:
            texts[name] = rest
    missing = [part.name for part in parts if part.name not in texts]
    strangers = [(place, piece) for place, (name, piece) in enumerate(entries) if not name]
    in_place = len(pieces) == len(parts) and all(parts[place].name in missing for place, _ in strangers)
    for place, piece in strangers:
        if in_place:
            # The others name their own places, so that only this one is left for it.
            texts[parts[place].name] = piece
        elif missing:
            faults[missing[0]] = AnswerError(
                "parts",
                say("The entry “{piece}” has no name that this question has, and is not marked.", piece=piece[:_SHOWN]),
                say("Write {missing} = … if it was meant for that.", missing=missing[0]),
            )
    return texts, faults


def _bare(parts: tuple[Part, ...], text: str, pieces: list[str]) -> tuple[dict[str, str], dict[str, AnswerError]]:
    """Give entries without names to the parts in order, where there is one for each."""
    if len(pieces) == len(parts):
        return {part.name: piece for part, piece in zip(parts, pieces, strict=True)}, {}
    # An entry left empty between semicolons is an empty part, and costs no other.
    in_place = [piece.strip() for piece in text.split(";")]
    if len(in_place) == len(parts):
        return {part.name: piece for part, piece in zip(parts, in_place, strict=True)}, {}
    written = say("1 entry was") if len(pieces) == 1 else say("{pieces} entries were", pieces=len(pieces))
    example = "; ".join(f"{part.name} = …" for part in parts[:3])
    fault = AnswerError(
        "parts",
        say("This question has {parts} parts, and {written} written.", parts=len(parts), written=written),
        say("Name each one, with semicolons between: {example}.", example=example),
    )
    return {}, dict.fromkeys((part.name for part in parts), fault)


def _at_names(line: str, parts: tuple[Part, ...]) -> list[str]:
    """Cut ``sun = 12, planet = -3`` before each name, where a comma or a blank is all that stands between."""
    names = "|".join(sorted((re.escape(part.name) for part in parts), key=len, reverse=True))
    starts = [match.start() for match in re.finditer(rf"(?<!\w)(?:{names}) ?[=:]", line)]
    # In "R = S = 3" the S is a side of an equation and no new entry.
    starts = [start for start in starts if line[:start].rstrip()[-1:] not in _UNFINISHED]
    cuts = [0, *starts, len(line)]
    return [line[start:end].strip(" ,") for start, end in pairwise(cuts)]


def _named(piece: str, names: Mapping[str, str], worded: Container[str]) -> tuple[str, str]:
    """Return (the part that an entry names, the rest); "" and the entry where it names none."""
    for sign in ("=", ":"):
        name, between, _ = piece[: _LONGEST_NAME + 1].partition(sign)
        if between and plain(name) in names:
            return names[plain(name)], piece[len(name) + 1 :].strip()
    words = piece[:_LONGEST_NAME].split(" ")
    for count in range(len(words) - 1, 0, -1):
        name = " ".join(words[:count])
        known = names.get(plain(name))
        rest = piece[len(name) :].strip()
        if known is not None and (_WORDS_FOLLOW if known in worded else _NUMBER_FOLLOWS).match(rest):
            return known, rest
    return "", piece
