"""The small part of Markdown that tasks and comments are written in, as HTML that can hold nothing harmful.

Everything is escaped first; only what is listed here becomes markup: paragraphs, lists, tables, **bold**, *italic*,
`code` and $formulas$. Links and raw HTML stay text, so a learner's words can never become part of a page.
"""

from __future__ import annotations

import re
from html import escape

from gearkit.text.mathml import from_latex

_INLINE = re.compile(
    r"(?P<code>`[^`\n]+`)|\$\$(?P<block>[^$]+)\$\$|\$(?P<maths>[^$\n]+)\$"
    r"|\*\*(?P<bold>[^*\n]+)\*\*|(?<![*\w])\*(?P<italic>[^*\s][^*\n]*)\*(?!\w)"
)
# What Markdown or a page would take for markup of its own.
_MARKUP = re.compile(r"([\\`*_\[\]#|~$!])")
_CLINGING = frozenset(".,;:?!)")
_BULLET = re.compile(r"^\s*(?:[-*]|(\d+)[.)])\s+")
_RULE_ROW = re.compile(r"^\|?[\s:|-]*-[\s:|-]*\|?$")


def as_words(text: str) -> str:
    """Return somebody's words on one line so that a page made from Markdown shows them as they are, whatever stands in them.

    Args:
        text: such as a name from a class list.
    """
    return _MARKUP.sub(r"\\\1", escape(" ".join(text.split()), quote=False))


def without_markup(text: str) -> str:
    """Return a text in which nothing is a tag or a link; it stays readable where it is shown as it is.

    Args:
        text: such as a comment that quotes a learner.
    """
    return re.sub(r"<(?=[A-Za-z/!?])", "\u2039", text).replace("](", "] (")


def inline(text: str) -> str:
    """Return one line of text with its bold, italic, code and formulas as HTML."""
    pieces: list[str] = []
    place = 0
    for found in _INLINE.finditer(text):
        pieces.append(escape(text[place : found.start()]))
        piece, place = _marked(found), found.end()
        if found["maths"] is not None and text[place : place + 1] in _CLINGING:
            # A browser may break a line after a formula; its comma must not stand alone on the next one.
            piece, place = f'<span style="white-space:nowrap">{piece}{text[place]}</span>', place + 1
        pieces.append(piece)
    pieces.append(escape(text[place:]))
    return "".join(pieces)


def _marked(found: re.Match[str]) -> str:
    if (code := found["code"]) is not None:
        return f"<code>{escape(code[1:-1])}</code>"
    if (block := found["block"]) is not None:
        return from_latex(block.strip(), block=True)
    if (maths := found["maths"]) is not None:
        return from_latex(maths.strip())
    if (bold := found["bold"]) is not None:
        return f"<strong>{inline(bold)}</strong>"
    return f"<em>{inline(found['italic'])}</em>"


def to_html(text: str) -> str:
    """Return Markdown as HTML blocks: paragraphs, lists and tables."""
    blocks = re.split(r"\n\s*\n", text.replace("\r\n", "\n").strip())
    return "\n".join(_block(block.split("\n")) for block in blocks if block.strip())


def _block(lines: list[str]) -> str:
    if len(lines) >= 2 and "|" in lines[0] and _RULE_ROW.match(lines[1].strip()):
        return _table(lines)
    first = next((n for n, line in enumerate(lines) if _BULLET.match(line)), None)
    if first is None:
        return f"<p>{_lines(lines)}</p>"
    lead = f"<p>{_lines(lines[:first])}</p>\n" if first else ""
    return lead + _list(lines[first:])


def _lines(lines: list[str]) -> str:
    """Join the lines of a paragraph; two blanks or a backslash at the end of a line break it."""
    text = ""
    for line in lines:
        broken = line.endswith(("  ", "\\"))
        text += line.strip().removesuffix("\\").lstrip("#").strip() + ("\u2028" if broken else "\n")
    return inline(text.strip()).replace("\u2028", "<br>")


def _list(lines: list[str]) -> str:
    found = _BULLET.match(lines[0])
    kind = "ol" if found and found.group(1) else "ul"
    entries: list[str] = []
    for line in lines:
        if _BULLET.match(line):
            entries.append(_BULLET.sub("", line).strip())
        elif entries:
            entries[-1] += " " + line.strip()
    return f"<{kind}>" + "".join(f"<li>{inline(entry)}</li>" for entry in entries) + f"</{kind}>"


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip().removeprefix("|").removesuffix("|").split("|")]


def _table(lines: list[str]) -> str:
    head = "".join(f'<th scope="col">{inline(cell)}</th>' for cell in _cells(lines[0]))
    rows = "".join(
        "<tr>" + "".join(f"<td>{inline(cell)}</td>" for cell in _cells(line)) + "</tr>"
        for line in lines[2:]
        if line.strip()
    )
    return f'<table class="plain"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'
