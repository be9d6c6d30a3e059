"""Text between tags and in attributes of XML. The standard library's own loads its clients of the network as well, which
took a tenth of the time until Python was ready behind a page."""

from __future__ import annotations

import re

_TO_QUOTE = re.compile("[&<>\"'\n\r\t]")
_SPACES = str.maketrans({"\n": "&#10;", "\r": "&#13;", "\t": "&#9;"})


def escape(text: str) -> str:
    """Return a text as it may stand between tags.

    Args:
        text: any text.
    """
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def quoted(text: str) -> str:
    """Return a text as the value of an attribute, with its quotation marks.

    Args:
        text: any text.
    """
    if not _TO_QUOTE.search(text):
        return f'"{text}"'
    safe = escape(text).translate(_SPACES)
    if '"' not in safe:
        return f'"{safe}"'
    return f"'{safe}'" if "'" not in safe else '"' + safe.replace('"', "&quot;") + '"'
