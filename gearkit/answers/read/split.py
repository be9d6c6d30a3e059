"""From what was handed in to one text per part; several parts may also come as one text."""

from __future__ import annotations

import re
from collections.abc import Mapping

from gearkit.answers.items import ONE_PART
from gearkit.answers.judge.targets import Part
from gearkit.answers.kinds.words import plain
from gearkit.answers.read.tokens import MAX_CHARS
from gearkit.words.errors import AnswerError

_BETWEEN = re.compile(r"[;\n]")


def split_answer(parts: tuple[Part, ...], given: Mapping[str, str]) -> tuple[dict[str, str], AnswerError | None]:
    """Return the text of every part ("" where there is none), or what is wrong with the form of the whole.

    Args:
        parts: the parts of the variant.
        given: texts by part name, or one text under "answer".
    """
    if len(parts) == len(given) == 1:
        # Whatever it is called, it can only be meant for the only part.
        return {parts[0].name: str(next(iter(given.values()))).strip()}, None
    texts = {part.name: "" for part in parts}
    names = {plain(part.name): part.name for part in parts}
    for name, text in given.items():
        known = names.get(plain(str(name)))
        if known is not None and isinstance(text, str):
            texts[known] = text.strip()
    if len(parts) == 1:
        return texts, None
    together = str(given.get(ONE_PART, "")).strip()
    if together and ONE_PART not in texts:
        try:
            found = _apart(parts, together)
        except AnswerError as fault:
            return texts, fault
        texts.update({name: text for name, text in found.items() if not texts[name]})
    return texts, None


def _apart(parts: tuple[Part, ...], text: str) -> dict[str, str]:
    """Split ``sun = 12; planet = -3``, or as many bare entries as there are parts."""
    if len(text) > MAX_CHARS * len(parts):
        raise AnswerError("too long", f"The answer has {len(text)} characters.", "Write it shorter.")
    pieces = [piece.strip() for piece in _BETWEEN.split(text) if piece.strip()]
    names = {plain(part.name): part.name for part in parts}
    names.update({plain(part.label): part.name for part in parts if plain(part.label)})
    found: dict[str, str] = {}
    for piece in pieces:
        name, sign, rest = _named(piece)
        known = names.get(plain(name)) if sign else None
        if known is not None:
            found[known] = rest.strip()
    if len(found) == len(pieces):
        return found
    if not found and len(pieces) == len(parts):
        return {part.name: piece for part, piece in zip(parts, pieces, strict=True)}
    # An entry left empty between semicolons is an empty part, and costs no other.
    in_place = [piece.strip() for piece in text.split(";")]
    if not found and len(in_place) == len(parts):
        return {part.name: piece for part, piece in zip(parts, in_place, strict=True)}
    written = "1 entry was" if len(pieces) == 1 else f"{len(pieces)} entries were"
    example = "; ".join(f"{part.name} = …" for part in parts[:3])
    raise AnswerError("parts", f"This question has {len(parts)} parts, and {written} written.",
                      f"Name each one, with semicolons between: {example}.")


def _named(piece: str) -> tuple[str, str, str]:
    for sign in ("=", ":"):
        name, found, rest = piece.partition(sign)
        if found:
            return name, found, rest
    return piece, "", ""
