"""The letter x as a times sign, and powers of ten written out: ``2 x 3.1`` and ``1.2 x 10^3``.

Both are settled between tokens and parser, for only there it is known which letters the question has.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

from gearkit.answers.read.tokens import DIGITS, MAX_POWER_OF_TEN, Token
from gearkit.words.errors import AnswerError
from gearkit.words.say import say

_OPENED = {"(": ")", "{": "}"}
_ENDS = frozenset({")", "}"})


def with_times(taken: tuple[Token, ...], spellings: Mapping[str, str]) -> tuple[Token, ...]:
    """Return tokens in which every letter x between two factors is a times sign; x as a letter of the question stays.

    Args:
        taken: the tokens.
        spellings: spelling -> symbol for every letter that may occur.

    Raises:
        AnswerError: x is a letter of the question and may be either.
    """
    if not any(token.kind == "name" and ("x" in token.text or "X" in token.text) for token in taken):
        return taken
    known = {spelling.lower() for spelling in spellings}
    out: list[Token] = []
    for place, token in enumerate(taken):
        after = taken[place + 1 : place + 3]
        before = bool(out) and _ends_factor(out[-1])
        if "x" not in known:
            out += _apart(token, known, before, _starts_factor(after))
        elif token.text in ("x", "X") and before and after and after[0].kind == "number":
            # Even where x is a letter, 6 x 10 is a product of two numbers: no letter stands in front of a number.
            out.append(replace(token, kind="sign", text="*"))
        elif token.text in ("x", "X") and before and token.spaced and _signed_number(after):
            sign, number = after[0].text, after[1].text
            raise AnswerError(
                "ambiguous",
                say(
                    "{text} {token} {sign}{number} can be read in two ways, for {token} is a letter of this question.",
                    text=out[-1].text,
                    token=token.text,
                    sign=sign,
                    number=number,
                ),
                say(
                    "Write {text}*({sign}{number}) for a product, or {text}*{token} {sign} {number}.",
                    text=out[-1].text,
                    sign=sign,
                    number=number,
                    token=token.text,
                ),
            )
        else:
            out.append(token)
    return tuple(out)


def _apart(token: Token, known: set[str], before: bool, after: bool) -> list[Token]:
    """Split a name such as x, x10 or RxS at its x where every piece is a number or a letter; else leave it."""
    if token.kind != "name" or token.text.lower() in known or "x" not in token.text.lower():
        return [token]
    pieces = token.text.lower().replace("x", " x ").split()
    written, at = [], 0
    for piece in pieces:
        written.append(token.text[at : at + len(piece)])
        at += len(piece)
    factors = [piece != "x" for piece in pieces]
    alternate = all(factor != other for factor, other in pairwise(factors))
    readable = all(piece == "x" or piece in known or _is_number(piece) for piece in pieces)
    if not (alternate and readable and (factors[0] or before) and (factors[-1] or after)):
        return [token]
    made, at = [], token.place
    for piece, is_factor in zip(written, factors, strict=True):
        kind = ("number" if _is_number(piece) else "name") if is_factor else "sign"
        made.append(Token(kind, piece if is_factor else "*", at, token.spaced if at == token.place else False))
        at += len(piece)
    return made


def _is_number(piece: str) -> bool:
    return all(mark in DIGITS for mark in piece)


def _ends_factor(token: Token) -> bool:
    return token.kind in ("number", "name", "vulgar") or token.text in _ENDS


def _signed_number(after: tuple[Token, ...]) -> bool:
    """Whether a number with a sign of its own follows, the sign close to it, as in ``2 x -3``."""
    return (
        len(after) == 2
        and after[0].text in ("-", "+")
        and after[0].spaced
        and after[1].kind == "number"
        and not after[1].spaced
    )


def _starts_factor(after: tuple[Token, ...]) -> bool:
    """Whether a factor follows, perhaps with a sign of its own, as in ``2 x -275``."""
    if after and after[0].text in ("-", "+"):
        after = after[1:]
    return bool(after) and (after[0].kind in ("number", "name", "vulgar", "fraction") or after[0].text in _OPENED)


def with_powers_of_ten(taken: tuple[Token, ...], text: str) -> tuple[Token, ...]:
    """Return tokens in which ``1.2 * 10^3`` is one number, so that its figures count.

    Args:
        taken: the tokens.
        text: the text that they came from.

    Raises:
        AnswerError: it stands under a division line, with a sign that leaves two meanings.
    """
    if not any(token.text == "10" for token in taken):
        return taken
    out: list[Token] = []
    place = 0
    while place < len(taken):
        token = taken[place]
        end, power = _power_of_ten(taken, place)
        joined = token.kind == "number" and "e" not in token.text and end and not (end < len(taken) and taken[end].text == "^")
        if joined and out and out[-1].text == "/":
            if taken[place + 1].place < len(text) and text[taken[place + 1].place] == "*":
                # In a row of / and * the one on the left comes first, as everywhere in algebra.
                joined = False
            else:
                raise AnswerError(
                    "ambiguous",
                    say("/{token} × 10^{power} can be read in two ways.", token=token.text, power=power),
                    say(
                        "Write /({token}*10^{power}), or bracket what stands before the times sign.",
                        token=token.text,
                        power=power,
                    ),
                )
        if joined and not (out and out[-1].text == "^"):
            # A capital, for here no letter e was written that could be the question's.
            out.append(replace(token, text=f"{token.text}E{power}"))
            place = end
        else:
            out.append(token)
            place += 1
    return tuple(out)


def _power_of_ten(tokens: tuple[Token, ...], place: int) -> tuple[int, int]:
    """Return where ``* 10^3`` after a number ends, and its power; (0, 0) where it does not stand there."""
    texts = [token.text for token in tokens[place + 1 : place + 9]]
    if texts[:3] != ["*", "10", "^"]:
        return 0, 0
    at = 3
    closes: list[str] = []
    while at < len(texts) and texts[at] in _OPENED and len(closes) < 2:
        closes.append(_OPENED[texts[at]])
        at += 1
    sign = -1 if texts[at : at + 1] == ["-"] else 1
    at += sign < 0
    if not (at < len(texts) and _is_number(texts[at]) and len(texts[at]) < 3 and int(texts[at]) <= MAX_POWER_OF_TEN):
        return 0, 0
    power = sign * int(texts[at])
    at += 1
    if texts[at : at + len(closes)] != closes[::-1]:
        return 0, 0
    return place + 1 + at + len(closes), power
