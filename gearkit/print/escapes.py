"""Signs that a backslash marks as no markup: set aside while the rest of a text is read as Markdown, then put back."""

from __future__ import annotations

import re
from collections.abc import Callable

_ESCAPED = re.compile(r"\\([\\`*$_<\[\]#|~!])")
# Signs of Unicode's private area, which no text of ours holds, stand in for them.
_PRIVATE = 0xE000
_ASIDE = re.compile(f"[{chr(_PRIVATE)}-{chr(_PRIVATE + 127)}]")


def set_aside(text: str) -> str:
    """Return a text in which other signs stand for those that are no markup.

    Args:
        text: the text, with backslashes.
    """
    return _ESCAPED.sub(lambda match: chr(_PRIVATE + ord(match[1])), text)


def put_back(text: str, written: Callable[[str], str] = str) -> str:
    """Return a text with the signs that were set aside.

    Args:
        text: the text.
        written: how such a sign is written.
    """
    return _ASIDE.sub(lambda match: written(chr(ord(match[0]) - _PRIVATE)), text)
