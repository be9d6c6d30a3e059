"""A notebook's prose as HTML: headings, code blocks and links beside what items are written in."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from html import escape

from gearkit.text import markdown

_HEADING = re.compile(r"^(#{1,6})\s+(.*)$")
_FENCE = "```"
_LINK = re.compile(r"\[([^\[\]]*)\]\(([^()\s]+)\)")


def to_html(text: str, address: Callable[[str], str | None]) -> str:
    """Return a prose cell as HTML.

    Args:
        text: the cell's Markdown.
        address: gives the page's address for a link's target, or None where the page has no such place; its words stay.
    """
    html = "\n".join(_pieces(text.split("\n")))

    def linked(found: re.Match[str]) -> str:
        target = address(found[2])
        return found[1] if target is None else f'<a href="{escape(target, quote=True)}">{found[1]}</a>'

    return _LINK.sub(linked, html)


def _pieces(lines: list[str]) -> Iterator[str]:
    """Yield headings, code blocks and what stands between them."""
    between: list[str] = []
    place = 0
    while place < len(lines):
        line = lines[place]
        place += 1
        heading = _HEADING.match(line)
        if not heading and not line.startswith(_FENCE):
            between.append(line)
            continue
        yield markdown.to_html("\n".join(between))
        between = []
        if heading:
            level = len(heading[1])
            yield f"<h{level}>{markdown.inline(heading[2])}</h{level}>"
            continue
        end = next((at for at in range(place, len(lines)) if lines[at].startswith(_FENCE)), len(lines))
        yield f"<pre><code>{escape(chr(10).join(lines[place:end]))}</code></pre>"
        place = end + 1
    yield markdown.to_html("\n".join(between))
