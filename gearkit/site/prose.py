"""A notebook's prose as HTML: headings, code blocks and links beside what items are written in."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from html import escape

from gearkit.text import markdown

_HEADING = re.compile(r"^(#{1,6})\s+(.*)$")
_FENCE = "```"
# A picture that stands in the text itself, as sheets have them; any other would be asked for elsewhere.
_PICTURE = re.compile(r"!\[([^\[\]]*)\]\((data:image/svg\+xml;base64,[A-Za-z0-9+/=]+)\)")
# A word of the glossary, with its meaning.
_WORD = re.compile(r'\[([^\[\]]*)\]\(([^()\s]+) "([^"]*)"\)')
_LINK = re.compile(r"\[([^\[\]]*)\]\(([^()\s]+)\)")


def to_html(text: str, address: Callable[[str], str | None]) -> str:
    """Return a prose cell as HTML.

    Args:
        text: the cell's Markdown.
        address: gives the page's address for a link's target, or None where the page has no such place; its words stay.
    """
    pictures: list[str] = []

    def word(match: re.Match[str]) -> str:
        target, meaning = address(match[2]), escape(match[3], quote=True)
        # Where no page has the glossary, the word itself takes the focus.
        opening, tag = (f'a href="{escape(target, quote=True)}"', "a") if target is not None else ('abbr tabindex="0"', "abbr")
        pictures.append(f'<{opening} class="gk-word" title="{meaning}">{line(match[1])}</{tag}>')
        return _placeholder(len(pictures) - 1)

    def put_aside(match: re.Match[str]) -> str:
        alternative = escape(match[1].strip(), quote=True)
        pictures.append(f'<img alt="{alternative}" src="{match[2]}">')
        return _placeholder(len(pictures) - 1)

    html = "\n".join(_pieces(_WORD.sub(word, _PICTURE.sub(put_aside, text)).split("\n")))

    def linked(match: re.Match[str]) -> str:
        target = address(match[2])
        return match[1] if target is None else f'<a href="{escape(target, quote=True)}">{match[1]}</a>'

    html = _LINK.sub(linked, html)
    # On a phone a formula of its own line is wider than the page and scrolls, so the keyboard must reach it.
    html = html.replace('<math display="block"', '<math display="block" tabindex="0"')
    for number, picture in enumerate(pictures):
        html = html.replace(_placeholder(number), picture)
    return html


def line(text: str) -> str:
    """Return one line of prose as HTML.

    Args:
        text: the line's Markdown.
    """
    return markdown.inline(text)


def _placeholder(number: int) -> str:
    # A letter for private use, which no text has.
    return f"\ue000{number}\ue000"


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
