"""The small part of Markdown that tasks and comments are written in: its blocks and spans, and HTML that can hold nothing harmful.

Only what is listed here becomes markup: paragraphs, lists, tables, **bold**, *italic*, `code` and $formulas$. Links and raw
HTML stay text and are escaped, so a learner's words can never become part of a page.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from html import escape
from itertools import groupby

from gearkit.text import typed
from gearkit.text.mathml import from_latex

_INLINE = re.compile(
    r"(?P<code>`[^`\n]+`)|\$\$(?P<block>[^$]+)\$\$|\$(?P<maths>[^$\n]+)\$"
    r"|\*\*(?P<bold>(?:[^*\n]|\n(?!\s))+)\*\*|(?<![*\w])\*(?P<italic>[^*\s](?:[^*\n]|(?<=\S)\n(?=[^\s*]))*)(?<!\s)\*(?!\w)"
)
# What Markdown or a page would take for markup of its own.
_MARKUP = re.compile(r"([\\`*_\[\]#|~$!])")
_SHIFT = re.compile(r"(?<![\w.-])\d+L?-\d+L?(?![\w-])")
_CLINGING = frozenset(".,;:?!)")
_BULLET = re.compile(r"^\s*(?:[-*]|(\d+)[.)])\s+")
_RULE_ROW = re.compile(r"^\|?[\s:|-]*-[\s:|-]*\|?$")


LINE_BREAK = "\u2028"


_PICTURE = re.compile(r"!\[([^\]]*)\]\([^)]*\)")


class SpanKind(StrEnum):
    """What a piece of a line is."""

    TEXT = "text"
    CODE = "code"
    BLOCK = "block"
    MATHS = "maths"
    BOLD = "bold"
    ITALIC = "italic"


class BlockKind(StrEnum):
    """What a block of Markdown is."""

    PARAGRAPH = "paragraph"
    BULLETS = "bullets"
    NUMBERS = "numbers"
    TABLE = "table"


@dataclass(frozen=True)
class Block:
    """One block of Markdown.

    Args:
        kind: what it is.
        rows: a table's rows, the head first; else a row of one text for the paragraph or for each entry. Texts hold spans.
    """

    kind: BlockKind
    rows: tuple[tuple[str, ...], ...]


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


def in_plain_text(text: str) -> str:
    """Return a text as a terminal shows it: without the signs of Markdown, formulas as they are typed, tables in columns.

    >>> in_plain_text("**Q24** - set 1: $S_1 = 55$, in `r/min`")
    'Q24 - set 1: S_1 = 55, in r/min'
    >>> print(in_plain_text("| range | A |\\n| --- | --- |\\n| 1 | ● |"))
    range  A
    1      ●

    Args:
        text: any text; its lines stay, but for the line between a table's head and its rows.
    """
    lines = [_plain_line(line) for line in _PICTURE.sub(r"[picture: \1]", text).split("\n")]
    plain: list[str] = []
    for is_table, group in groupby(lines, key=lambda line: line.startswith("|")):
        rows = list(group)
        plain += _in_columns(rows) if is_table else rows
    return "\n".join(plain)


def _plain_line(line: str) -> str:
    return "".join(_plain(kind, piece) for kind, piece in spans(line))


def _in_columns(lines: list[str]) -> list[str]:
    """The rows of a table with their cells below each other; other lines between bars as they are."""
    rows = [_cells(line) for line in lines if not _RULE_ROW.match(line)]
    if len(rows) == len(lines) or len({len(row) for row in rows}) != 1:
        return lines
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]


def _plain(kind: SpanKind, piece: str) -> str:
    if kind in (SpanKind.BOLD, SpanKind.ITALIC):
        return _plain_line(piece)
    return typed.from_latex(piece.strip()) if kind in (SpanKind.MATHS, SpanKind.BLOCK) else piece


def spans(text: str) -> Iterator[tuple[SpanKind, str]]:
    """Yield the pieces of one line of text, in order; those in bold and italic hold spans again.

    >>> [(str(kind), piece) for kind, piece in spans("hold **C** and $n_s$")]
    [('text', 'hold '), ('bold', 'C'), ('text', ' and '), ('maths', 'n_s')]
    """
    place = 0
    for match in _INLINE.finditer(text):
        if match.start() > place:
            yield SpanKind.TEXT, text[place : match.start()]
        kind = next(SpanKind(name) for name, piece in match.groupdict().items() if piece is not None)
        piece = match[kind]
        yield kind, piece[1:-1] if kind is SpanKind.CODE else piece
        place = match.end()
    if place < len(text):
        yield SpanKind.TEXT, text[place:]


def inline(text: str) -> str:
    """Return one line of text with its bold, italic, code and formulas as HTML; no line breaks within a shift such as 2-4.

    >>> inline("the shift 2-4, **first**")
    'the shift <span style="white-space:nowrap">2-4</span>, <strong>first</strong>'
    """
    pieces: list[str] = []
    clings = ""
    for kind, piece in spans(text):
        if clings and kind is SpanKind.TEXT and piece[0] in _CLINGING:
            # A browser may break a line after a formula; its comma must not stand alone on the next one.
            pieces[-1] = f'<span style="white-space:nowrap">{clings}{piece[0]}</span>'
            piece = piece[1:]
        pieces.append(_marked(kind, piece))
        clings = pieces[-1] if kind is SpanKind.MATHS else ""
    return "".join(pieces)


def _marked(kind: SpanKind, piece: str) -> str:
    match kind:
        case SpanKind.CODE:
            return f"<code>{escape(piece)}</code>"
        case SpanKind.BLOCK:
            return from_latex(piece.strip(), block=True)
        case SpanKind.MATHS:
            return from_latex(piece.strip())
        case SpanKind.BOLD:
            return f"<strong>{inline(piece)}</strong>"
        case SpanKind.ITALIC:
            return f"<em>{inline(piece)}</em>"
    return _SHIFT.sub(r'<span style="white-space:nowrap">\g<0></span>', escape(piece))


def blocks(text: str) -> Iterator[Block]:
    """Yield the blocks of a text: paragraphs, lists and tables.

    >>> [(str(block.kind), block.rows) for block in blocks("Two:\\n\\n- a\\n- b")]
    [('paragraph', (('Two:',),)), ('bullets', (('a',), ('b',)))]
    """
    for block in re.split(r"\n\s*\n", text.replace("\r\n", "\n").strip()):
        if block.strip():
            yield from _blocks(block.split("\n"))


def _blocks(lines: list[str]) -> Iterator[Block]:
    if len(lines) >= 2 and "|" in lines[0] and _RULE_ROW.match(lines[1].strip()):
        yield Block(BlockKind.TABLE, tuple(_cells(line) for line in (lines[0], *lines[2:]) if line.strip()))
        return
    first = next((n for n, line in enumerate(lines) if _BULLET.match(line)), len(lines))
    if first:
        yield Block(BlockKind.PARAGRAPH, ((_paragraph(lines[:first]),),))
    if first < len(lines):
        yield _list(lines[first:])


def _paragraph(lines: list[str]) -> str:
    """Join the lines of a paragraph; two blanks or a backslash at the end of a line break it."""
    text = ""
    for line in lines:
        broken = line.endswith(("  ", "\\"))
        text += line.strip().removesuffix("\\").lstrip("#").strip() + (LINE_BREAK if broken else "\n")
    return text.strip()


def _list(lines: list[str]) -> Block:
    match = _BULLET.match(lines[0])
    kind = BlockKind.NUMBERS if match and match.group(1) else BlockKind.BULLETS
    entries: list[str] = []
    for line in lines:
        if _BULLET.match(line):
            entries.append(_BULLET.sub("", line).strip())
        elif entries:
            entries[-1] += " " + line.strip()
    return Block(kind, tuple((entry,) for entry in entries))


def _cells(line: str) -> tuple[str, ...]:
    return tuple(cell.strip() for cell in line.strip().removeprefix("|").removesuffix("|").split("|"))


def to_html(text: str) -> str:
    """Return Markdown as HTML blocks: paragraphs, lists and tables."""
    return "\n".join(map(_html, blocks(text)))


def _html(block: Block) -> str:
    if block.kind is BlockKind.TABLE:
        head = "".join(f'<th scope="col">{inline(cell)}</th>' for cell in block.rows[0])
        rows = "".join("<tr>" + "".join(f"<td>{inline(cell)}</td>" for cell in row) + "</tr>" for row in block.rows[1:])
        return f'<table class="plain"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'
    if block.kind is BlockKind.PARAGRAPH:
        return f"<p>{inline(block.rows[0][0]).replace(LINE_BREAK, '<br>')}</p>"
    kind = "ol" if block.kind is BlockKind.NUMBERS else "ul"
    return f"<{kind}>" + "".join(f"<li>{inline(entry)}</li>" for (entry,) in block.rows) + f"</{kind}>"
