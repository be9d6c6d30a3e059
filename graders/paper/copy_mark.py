"""The mark on every page of a copy: sheet, learner and variant, with a check sign that shows most mistakes of typing.

The check sign is that of ISO/IEC 7064, system MOD 37-2 (known from memory): it shows every single wrong sign and every
exchange of two neighbours.
"""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.words.errors import UsageError

_SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_MODULUS, _RADIX = 37, 2
SPARE = "spare-"


@dataclass(frozen=True)
class CopyMark:
    """Which copy a page belongs to.

    Args:
        sheet: name of the sheet.
        owner: identity of the learner, or of a spare copy.
        variant: which variant, counted from 1.
    """

    sheet: str
    owner: str
    variant: int = 1

    def __str__(self) -> str:
        plain = f"{self.sheet}/{self.owner}/{self.variant}"
        return f"{plain}-{check_sign(plain)}"

    @property
    def spare(self) -> bool:
        """Whether the copy is a spare one."""
        return self.owner.startswith(SPARE)


def check_sign(text: str) -> str:
    """Return the check sign of a text; only its letters and digits count, capitals or not.

    >>> check_sign("week3/fd06/1") == check_sign("WEEK3 fd06 1")
    True
    """
    total = 0
    for letter in text.upper():
        if letter in _SIGNS[:-1]:
            total = (total + _SIGNS.index(letter)) * _RADIX % _MODULUS
    return _SIGNS[(_MODULUS + 1 - total) % _MODULUS]


def read(text: str) -> CopyMark:
    """Return the copy that a typed mark names.

    Args:
        text: as it stands at the head of a page, capitals or not.

    Raises:
        UsageError: it is no such mark, or its check sign shows that it was not typed as it stands.
    """
    plain, dash, sign = text.strip().rpartition("-")
    pieces = plain.split("/")
    if not dash or len(pieces) != 3 or not pieces[2].isdecimal() or not all(pieces):
        raise UsageError(
            f"mark {text!r}: expected sheet/learner/number-check, as at the head of a page, such as {CopyMark('week3', 'fd06')}"
        )
    if check_sign(plain) != sign.strip().upper():
        raise UsageError(f"mark {text!r}: its check sign does not fit; type it again as it stands at the head of the page")
    return CopyMark(pieces[0], pieces[1], int(pieces[2]))
