"""A document for paper as a list of plain blocks: what is to be printed, not how.

Texts hold the small Markdown of tasks (bold, italic, code, formulas between dollar signs); everything else is data. No
text can become an instruction to the print engine, whoever wrote it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from gearkit.draw.core.embed import SvgPicture
from gearkit.draw.core.svg import Picture
from gearkit.text.markdown import BlockKind, blocks
from gearkit.words.errors import UsageError

_HEADING = re.compile(r"(#{1,6})\s+(.*)")
_LINK = re.compile(r"(?<!!)\[([^\]]+)\]\([^)]*\)")


class PaperSize(StrEnum):
    """Sizes of paper, by the names that shops use."""

    A4 = "A4"
    LETTER = "letter"

    @classmethod
    def named(cls, text: str) -> PaperSize:
        """Return a size by its name.

        Raises:
            UsageError: there is no such size.
        """
        paper = next((size for size in cls if size.lower() == text.strip().lower()), None)
        if paper is None:
            raise UsageError(f"Paper {text!r}: choose one of {', '.join(cls)}.")
        return paper


@dataclass(frozen=True)
class Heading:
    """A heading.

    Args:
        text: its words.
        level: 1 for the document's parts, 2 and 3 below.
    """

    text: str
    level: int = 1


@dataclass(frozen=True)
class Paragraph:
    """Running text.

    Args:
        text: its words.
        small: whether it is set smaller, as a foot is.
    """

    text: str
    small: bool = False


@dataclass(frozen=True)
class Entries:
    """A list.

    Args:
        texts: its entries.
        numbered: whether they are numbered from 1.
    """

    texts: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Table:
    """A table.

    Args:
        head: the heads of its columns.
        rows: its rows, as wide as the head; an empty cell is one to write in.
        wide: whether it takes the whole width of the page, for a table to fill in.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    wide: bool = False


@dataclass(frozen=True)
class Formula:
    """A formula on a line of its own.

    Args:
        latex: in the small LaTeX of tasks.
        words: its text alternative; made from the formula when empty.
    """

    latex: str
    words: str = ""


@dataclass(frozen=True)
class Figure:
    """A picture; its own title and description are its text alternative.

    Args:
        picture: the drawing.
        share: of the text's width that it may take, above 0 and up to 1; it is never enlarged.
        caption: a line below it, or "".
    """

    picture: Picture | SvgPicture
    share: float = 1.0
    caption: str = ""


@dataclass(frozen=True)
class Lines:
    """Ruled lines to write on.

    Args:
        count: how many.
    """

    count: int = 3


@dataclass(frozen=True)
class Field:
    """A labelled box for one answer.

    Args:
        label: what stands before it.
        unit: what stands behind it, or "".
        wide: whether it is as long as the line, for a formula or for words.
    """

    label: str
    unit: str = ""
    wide: bool = False


@dataclass(frozen=True)
class Together:
    """Blocks that stay on one page where they fit on one.

    Args:
        blocks: the blocks.
    """

    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class NewPage:
    """What follows begins a new page."""


Block = Heading | Paragraph | Entries | Table | Formula | Figure | Lines | Field | Together | NewPage


@dataclass(frozen=True)
class Document:
    """One document; several are printed behind each other, each with its own page numbers.

    Args:
        title: its title.
        blocks: its contents.
        mark: what stands at the head of every page to tell whose it is, or "".
        foot: a line at the foot of every page, or "".
    """

    title: str
    blocks: tuple[Block, ...] = field(default=())
    mark: str = ""
    foot: str = ""


def as_text(text: str) -> str:
    """Return somebody's words as a line of a document that shows them as they are, whatever stands in them.

    >>> as_text("a*b*c")
    'a\\\\*b\\\\*c'
    """
    return re.sub(r"([\\`*$_])", r"\\\1", " ".join(text.split()))


def from_markdown(text: str) -> tuple[Block, ...]:
    """Return a text in the small Markdown of tasks and lessons as blocks; of links only the words are kept.

    Args:
        text: paragraphs, lists, tables, headings, formulas.

    >>> from_markdown("## Why" + chr(10) * 2 + "Hold **C**.")
    (Heading(text='Why', level=2), Paragraph(text='Hold **C**.', small=False))
    """
    return tuple(_from_markdown(_LINK.sub(r"\1", text)))


def _from_markdown(text: str) -> Iterator[Block]:
    for block in blocks(_headings_apart(text)):
        if block.kind is BlockKind.TABLE:
            width = len(block.rows[0])
            yield Table(block.rows[0], tuple((*row[:width], *[""] * (width - len(row))) for row in block.rows[1:]))
        elif block.kind is BlockKind.PARAGRAPH:
            yield from _paragraph(block.rows[0][0])
        else:
            yield Entries(tuple(entry for (entry,) in block.rows), block.kind is BlockKind.NUMBERS)


def _headings_apart(text: str) -> str:
    """Headings as blocks of their own, kept from losing their signs."""
    lines = [f"\n\x02{line}\n" if _HEADING.match(line) else line for line in text.split("\n")]
    return "\n".join(lines)


def _paragraph(text: str) -> Iterator[Block]:
    heading = _HEADING.match(text.removeprefix("\x02")) if text.startswith("\x02") else None
    if heading:
        yield Heading(heading[2].strip(), min(len(heading[1]), 3))
        return
    for place, piece in enumerate(re.split(r"\$\$([^$]+)\$\$", text)):
        if piece.strip():
            yield Formula(piece.strip()) if place % 2 else Paragraph(piece.strip())
