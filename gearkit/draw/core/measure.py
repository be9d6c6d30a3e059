"""How much room a label takes, so that overlaps can be seen and tested without a screen.

Widths are those of a wide sans-serif face (DejaVu Sans and its bold), in hundredths of the type size. The faces named
first in the pictures' font list are narrower, so a box from here is never too small for them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

_PLAIN = {
    27: "'", 28: "ijl", 29: "IJ", 32: " ,.·’", 34: "/:;\\|", 35: "f", 36: "-", 39: "()[]t", 40: "!²³¹", 41: "r",
    46: '"', 50: "*_`–°", 52: "sz“”", 53: "?", 55: "c", 56: "L", 58: "Fk", 59: "vxy•", 60: "P", 61: "TYao", 62: "eé",
    63: "ESbdghnpquη", 64: "$0123456789{}", 66: "K", 68: "AV", 69: "BRXZ", 70: "C", 73: "U", 75: "HN", 76: "Ω",
    77: "DG▲▼▶◀", 78: "&", 79: "OQ", 82: "w", 84: "#+<=>^~×−→←↔ω≈≤≥±", 86: "M", 87: "●○", 94: "■□", 95: "%",
    97: "m½", 99: "W", 100: "@…",
}  # fmt: skip
_BOLD = {
    31: "'", 34: "ijl", 35: " ", 37: "/IJ\\|", 38: ",.·’", 40: ":;", 42: "-", 44: "f²³¹", 46: "!()[]", 48: "t",
    49: "r", 50: "_`–°", 52: '"*', 58: "?z", 59: "c", 60: "s", 64: "L•", 65: "vxy", 66: "“”", 67: "ak", 68: "EFTeé",
    69: "o", 70: "$0123456789", 71: "hnu{}η", 72: "SYbdgpq", 73: "CPZ", 76: "B", 77: "AKRVX▲▼▶◀", 81: "U", 82: "G",
    83: "D", 84: "#+<=>HN^~×−→←↔≈≤≥±", 85: "OQΩ", 87: "&ω●○", 92: "w", 94: "■□", 100: "%@M…", 104: "m½", 110: "W",
}  # fmt: skip
_PLAIN_WIDTH = {character: width for width, characters in _PLAIN.items() for character in characters}
_BOLD_WIDTH = {character: width for width, characters in _BOLD.items() for character in characters}
_UNKNOWN = 110
ASCENT = 0.76
DESCENT = 0.24


@dataclass(frozen=True)
class Box:
    """A rectangle on the picture, in its own units, y downwards.

    Args:
        left: smallest x.
        top: smallest y.
        right: largest x.
        bottom: largest y.
    """

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Room taken from left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Room taken from top to bottom."""
        return self.bottom - self.top

    def overlaps(self, other: Box, gap: float = 0.0) -> bool:
        """Tell whether the boxes share room.

        Args:
            other: the box to compare with.
            gap: clear distance wanted between the two; below 0 to let them touch by so much.
        """
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )

    def grown(self, by: float) -> Box:
        """Return the box with so much more room on each side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def holds(self, other: Box) -> bool:
        """Tell whether the other box lies wholly inside."""
        return self.left <= other.left and self.top <= other.top and self.right >= other.right and self.bottom >= other.bottom


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the room that a line of text takes, never less than a reader's screen gives it.

    Args:
        text: one line.
        size: type size in the picture's units.
        bold: whether the type is bold.
    """
    return _hundredths(text, bold) * size / 100


# The words of a picture come again and again, in one picture and in the next one of the same layout.
@lru_cache(maxsize=2048)
def _hundredths(text: str, bold: bool) -> float:
    table = _BOLD_WIDTH if bold else _PLAIN_WIDTH
    return sum([table.get(character, _UNKNOWN) for character in text])


def text_box(x: float, y: float, text: str, size: float, *, anchor: str = "start", bold: bool = False) -> Box:
    """Return the box of a line of text.

    Args:
        x: where the text starts, has its middle or ends, by the anchor.
        y: the base line.
        text: one line.
        size: type size in the picture's units.
        anchor: "start", "middle" or "end".
        bold: whether the type is bold.
    """
    width = text_width(text, size, bold=bold)
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
    return Box(left, y - ASCENT * size, left + width, y + DESCENT * size)
