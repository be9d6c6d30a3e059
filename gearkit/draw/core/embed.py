"""A picture inside a page that lets no drawing in: as an image whose address holds it, its description as the words."""

from __future__ import annotations

import base64
import re
from html import escape, unescape

_DESCRIPTION = re.compile(r"<desc[^>]*>(.*?)</desc>", re.DOTALL)


def words_of(svg: str) -> str:
    """Return the description that a picture carries, on one line.

    Args:
        svg: from a picture's ``svg()``.
    """
    match = _DESCRIPTION.search(svg)
    return " ".join(unescape(match[1]).split()) if match else ""


def address_of(svg: str) -> str:
    """Return an address that holds the picture itself.

    Args:
        svg: from a picture's ``svg()``.
    """
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode('utf-8')).decode('ascii')}"


def as_image(svg: str) -> str:
    """Return a picture as an HTML image that needs no other file.

    Args:
        svg: from a picture's ``svg()``.
    """
    return f'<img alt="{escape(words_of(svg), quote=True)}" src="{address_of(svg)}" style="max-width:100%;height:auto">'
