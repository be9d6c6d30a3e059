"""The one place where text leaves for the screen: what a screen would obey or cannot show is replaced here.

Texts of files (a layout's name, a learner's file name) may hold control characters, with which a screen can be cleared,
its title set or lines be hidden; they are written as what they are, such as \\u001b. That is also how JSON writes them,
so data that are printed stay readable by programs. What a screen without UTF-8 cannot show becomes plain letters: N·m is
written N.m there, and − is written -. Files are not the screen: they stay UTF-8.
"""

from __future__ import annotations

import os
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO

_PLAIN = {
    "·": ".", "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-", "⁻": "-", "×": "x", "÷": "/", "⁄": "/", "±": "+/-",
    "→": "->", "←": "<-", "↔": "<->", "⇒": "=>", "≤": "<=", "≥": ">=", "≠": "!=", "≈": "~", "√": "sqrt ",
    "∛": "cube root of ", "′": "'", "∞": "infinity", "°": " deg", "’": "'", "‘": "'", "“": '"', "”": '"', "„": '"', "«": '"',
    "»": '"', "─": "-", "│": "|", "•": "*", "○": "o", "●": "*", "◐": "o", "■": "*", "□": "o", "▲": "^", "△": "^",
    "▼": "v", "▶": ">", "▷": ">", "◀": "<", "✓": "yes", "✗": "no", "⚑": "!", "↻": "again",
    "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O", "đ": "d", "Đ": "D", "ð": "d", "Ð": "D",
    "þ": "th", "Þ": "Th", "ł": "l", "Ł": "L", "ı": "i",
}  # fmt: skip
# Beside the control characters themselves: signs that turn the direction of writing round or break the line.
_OBEYED = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029")


def neutral(text: str) -> str:
    """Return a text in which nothing gives orders to a screen; only line ends and tabs are left.

    Args:
        text: any text, also one from a file.

    >>> neutral("gear" + chr(27) + "[2J")
    'gear\\\\u001b[2J'
    """
    if text.isprintable():
        return text
    return "".join(_written(sign) if _is_order(sign) else sign for sign in text)


def plain(text: str, encoding: str) -> str:
    """Return a text with plain letters for what an encoding cannot show.

    Args:
        text: the text.
        encoding: of the screen, such as "ascii".

    >>> plain("−2 N·m", "ascii")
    '-2 N.m'
    """
    return text if _shows(text, encoding) else "".join(_letters(sign, encoding) for sign in text)


def _is_order(sign: str) -> bool:
    return sign not in "\n\t" and (sign in _OBEYED or unicodedata.category(sign) in ("Cc", "Cs"))


def _written(sign: str) -> str:
    return f"\\u{ord(sign):04x}"


def _shows(text: str, encoding: str) -> bool:
    try:
        text.encode(encoding)
    except UnicodeError:
        return False
    return True


def _letters(sign: str, encoding: str) -> str:
    if _shows(sign, encoding):
        return sign
    if sign in _PLAIN:
        return plain(_PLAIN[sign], encoding)
    parts = "".join(part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part))
    if parts != sign:
        return plain(parts, encoding)
    name = unicodedata.name(sign, "").split()
    # A Greek letter is a quantity here, so it goes by its name: omega, eta.
    if name[:1] == ["GREEK"] and "LETTER" in name and "WITH" not in name:
        return name[-1].lower() if "SMALL" in name else name[-1].capitalize()
    return "?"


class Screen:
    """A text stream that neutralises what it is given; all else is the stream's own.

    Args:
        stream: the stream that it writes to.
        encoding: what the screen at its end can show.
    """

    def __init__(self, stream: TextIO, encoding: str) -> None:
        self._stream = stream
        self.encoding = encoding
        self._fresh = True

    def write(self, text: str) -> int:
        """Write a text and return its length.

        Args:
            text: any text; it may begin with a carriage return where that writes a line of progress over itself.
        """
        over = "\r" if text.startswith("\r") and self._fresh else ""
        self._stream.write(over + plain(neutral(text[len(over) :]), self.encoding))
        if text:
            # A line that began with a carriage return may be written over; any other is there to be read.
            self._fresh = bool(over) or text.endswith("\n")
        return len(text)

    def writelines(self, lines: list[str]) -> None:
        """Write several texts.

        Args:
            lines: the texts, with their line ends.
        """
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def can_show(text: str, stream: Any) -> bool:
    """Whether a stream's screen shows a text as it is.

    Args:
        text: the text.
        stream: such as sys.stdout.
    """
    return _shows(text, getattr(stream, "encoding", None) or "utf-8")


@contextmanager
def guarded() -> Iterator[None]:
    """Put a `Screen` before both streams of the process for a while."""
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = _screen(before[0]), _screen(before[1])
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def _screen(stream: Any) -> Any:
    if stream is None or isinstance(stream, Screen):
        return stream
    encoding = getattr(stream, "encoding", None) or "utf-8"
    # Python takes LC_ALL=C for "not set" and writes UTF-8; somebody who sets it says that the screen shows ASCII alone.
    own = stream in (sys.__stdout__, sys.__stderr__)
    if own and os.environ.get("LC_ALL") in ("C", "POSIX") and not os.environ.get("PYTHONIOENCODING"):
        encoding = "ascii"
    return Screen(stream, encoding)


__all__ = ["Screen", "can_show", "guarded", "neutral", "plain"]
