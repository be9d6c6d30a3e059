"""How far two colours stand apart, as WCAG 2 has it (formula from memory)."""

from __future__ import annotations


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour written as #rgb or #rrggbb.

    Args:
        colour: the colour.
    """
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    channels = [int(digits[place : place + 2], 16) / 255 for place in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    """Return the contrast of two colours, from 1 to 21.

    Args:
        first: a colour.
        second: the other.
    """
    high, low = sorted((luminance(first), luminance(second)), reverse=True)
    return (high + 0.05) / (low + 0.05)
