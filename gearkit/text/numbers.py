"""Exact numbers from text that somebody typed: short, and of a size that a transmission can have."""

from __future__ import annotations

import re
from fractions import Fraction

NUMBER_FORM = "write it like 1500, -2.5 or 16/5, between 1e-12 and 1e12 in size"
_SIGNIFICANT = Fraction(1, 10**12), Fraction(10**12)
# Longer digits or exponents would be worked out exactly, which can take for ever.
_FORM = re.compile(r"[+-]?(\d{1,20}(\.\d{0,20})?|\.\d{1,20})(e[+-]?\d{1,2}|/\d{1,20})?", re.IGNORECASE)


def exact(text: str) -> Fraction | None:
    """Return the number that a text writes, or None where it writes none that can be used.

    Args:
        text: digits with a point, a quotient such as "16/5", or a power of ten such as "1.5e3"; 0, or from 1e-12 to
            1e12 in size.
    """
    plain = text.strip().replace("−", "-")
    if not plain.isascii() or not _FORM.fullmatch(plain) or ("." in plain and "/" in plain):
        return None
    try:
        number = Fraction(plain)
    except ZeroDivisionError:
        return None
    return number if not number or _SIGNIFICANT[0] <= abs(number) <= _SIGNIFICANT[1] else None
