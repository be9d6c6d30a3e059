"""What long work with many files is told by, and texts as such files write them."""

from __future__ import annotations

from collections.abc import Callable

Tell = Callable[[int, int], None]


def unheard(done: int, total: int) -> None:
    """Tell nobody how far long work is.

    Args:
        done: how many are done.
        total: of how many.
    """


def quoted(text: str) -> str:
    """A text as TOML writes it between quotation marks."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped) + '"'
