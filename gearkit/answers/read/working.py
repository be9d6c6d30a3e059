"""Working shown: ``i = 24/7 = 3.43`` is a label and two sides, which are to agree."""

from __future__ import annotations

import re
from collections.abc import Container

from gearkit.answers.read.beside import single_spaced
from gearkit.answers.read.tokens import without_dollars
from gearkit.words.errors import AnswerError
from gearkit.words.say import say

_EQUALS = re.compile(r" ?(?:->|=>|[=~\uff1d\u223c\u2248\u2245\u2243\u2192\u21d2])+ ?")
_TEX = re.compile(r"\\[A-Za-z]+|[{}$\\]")
_NAMES_ONLY = re.compile(r"[\w\s()/'′’.,\-*·×+]+")
_NAME = re.compile(r"[^\W\d_]\w*")
_NUMBER_ALONE = re.compile(r"(?<![\w.])[0-9]|½")
_LONGEST_LABEL = 80
_TWICE = re.compile(
    r"(.*\S) ?\( ?(?:[=≈~]|i\.? ?e\.?) ?([-+\u2212]?[0-9][^()=]*)\)\.?"
    r"|(.*\S) \(([-+\u2212]?[0-9][0-9./, ]*[^()=+*0-9]{0,12})\)\.?"
)


def sides_of(text: str, known: Container[str], *, loose: bool = False) -> tuple[str, list[str]]:
    """Return (the label in front, what stands between the equals signs), at least one of them.

    Args:
        text: what was written.
        known: the letters of the question; where one stands in front alone it is a label all the same.
        loose: True for a number, where a quotient with one unknown letter is a label too, as in
            ``n_c/n_s = 0.29``, and so is any letter at the end.

    Raises:
        AnswerError: there is nothing after the equals sign.

    >>> sides_of("i = 24/7 = 3.43", ())
    ('i', ['24/7', '3.43'])
    """
    bare = single_spaced(without_dollars(text))
    pieces = _EQUALS.split(bare)
    if len(pieces) == 1:
        return "", [bare]
    sides = [piece.strip() for piece in pieces if piece.strip()]
    label = ""
    while sides and (len(sides) > 1 or not pieces[-1]) and _is_label(sides[0], known, loose):
        label = f"{label} {sides.pop(0)}".strip()
    if not sides:
        raise AnswerError("empty", say("There is nothing after the equals sign."))
    if len(sides) > 1 and _NAME.fullmatch(sides[-1]) and (loose or not _is_known(sides[-1], known)):
        # 3.43 = i names what was found, after it.
        sides.pop()
    return label, sides


def said_twice(text: str) -> tuple[str, str, bool] | None:
    """Return (first, second, whether a sign says that they are equal) for ``57/16 (= 3.56)`` and ``57/16 (3.56)``, else None.

    Args:
        text: what was written.

    >>> said_twice("57/16 (3.56)")
    ('57/16', '3.56', False)
    """
    match = _TWICE.fullmatch(single_spaced(text))
    if match is None:
        return None
    first, second = (match[1], match[2]) if match[1] else (match[3], match[4])
    return (first, second.strip(), bool(match[1])) if first != second else None


def _is_label(side: str, known: Container[str], loose: bool) -> bool:
    """Whether what stands before an equals sign only names what follows."""
    bare = _TEX.sub(" ", side)
    names = _NAME.findall(bare)
    if not names or len(side) > _LONGEST_LABEL or not _NAMES_ONLY.fullmatch(bare) or _NUMBER_ALONE.search(bare):
        return False
    if len(names) == 1:
        return True
    strangers = [name for name in names if not _is_known(name, known)]
    if any(sign in bare for sign in "*·×+"):
        return len(strangers) == len(names)
    return bool(strangers) if loose else len(strangers) == len(names)


def _is_known(name: str, known: Container[str]) -> bool:
    bare = name.replace("_", "")
    return bare in known or bare.swapcase() in known or bare.upper() in known or bare.lower() in known
