"""A document as one HTML page that needs nothing else: to look at, to print from a browser, or to hand in."""

from __future__ import annotations

from collections.abc import Sequence
from functools import singledispatchmethod
from html import escape
from pathlib import Path

from gearkit.draw.core.embed import as_image
from gearkit.print.document import (
    Block,
    Document,
    Entries,
    Field,
    Figure,
    Formula,
    Heading,
    Lines,
    NewPage,
    Paragraph,
    Table,
    Together,
)
from gearkit.print.escapes import put_back, set_aside
from gearkit.text import markdown
from gearkit.text.files import write_asked
from gearkit.text.mathml import from_latex
from gearkit.words.say import page_language

STYLE = """
:root { color-scheme: light; }
body { font: 16px/1.5 system-ui, "Segoe UI", Roboto, "Liberation Sans", sans-serif; color: #1b1f24; background: #fff; }
main { max-width: 46rem; margin: 1.5rem auto; padding: 0 1rem; }
h1 { font-size: 1.6rem; line-height: 1.25; } h2 { font-size: 1.25rem; margin-top: 1.8em; } h3 { font-size: 1.05rem; }
.mark, .small { color: #444c56; font-size: .875rem; }
table { border-collapse: collapse; } .scroll { overflow-x: auto; margin: .8em 0; }
th, td { border: 1px solid #8c959f; padding: .3em .6em; text-align: left; vertical-align: top; } td:empty { min-width: 5rem; height: 1.8em; }
.wide { width: 100%; } img { max-width: 100%; height: auto; } figure { margin: 1em 0; } figcaption { font-size: .875rem; }
.field { display: flex; gap: .6em; align-items: baseline; margin: .9em 0; }
.field b { flex: 0 1 auto; } .field i { flex: 0 0 12rem; border-bottom: 1px solid #1b1f24; height: 1.4em; }
.field.wide i { flex: 1 1 auto; } .line { border-bottom: 1px solid #8c959f; height: 2em; }
@media print { main { max-width: none; margin: 0; padding: 0; } .together, figure, tr { break-inside: avoid; }
  h1, h2, h3 { break-after: avoid; } .new-page { break-before: page; } }
"""


def page(document: Document) -> str:
    """Return a document as one HTML page.

    Args:
        document: the document.
    """
    mark = f'<p class="mark">{inline(document.mark)}</p>' if document.mark else ""
    foot = f'<p class="small">{inline(document.foot)}</p>' if document.foot else ""
    return (
        f'<!doctype html>\n<html lang="{page_language()}"><head><meta charset="utf-8"><title>{escape(document.title)}</title>'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><style>{STYLE}</style></head>\n'
        f"<body><main>{mark}{body(document.blocks)}{foot}</main></body></html>\n"
    )


def body(blocks: Sequence[Block]) -> str:
    """Return blocks as HTML without a page round them.

    Args:
        blocks: the blocks.
    """
    writer = _Writer()
    return "\n".join(writer.write(block) for block in blocks)


def save(document: Document, path: Path) -> None:
    """Write a document to an HTML file.

    Args:
        document: the document.
        path: the file; folders on the way to it are made where they are missing.

    Raises:
        UsageError: the file cannot be written.
    """
    write_asked(path, page(document))


def inline(text: str) -> str:
    """Return a line of small Markdown as HTML; a backslash keeps a sign from being markup."""
    return put_back(markdown.inline(set_aside(text)), escape)


class _Writer:
    """Writes blocks; no heading is two levels below the one before it, since who hears a page goes by its headings."""

    def __init__(self) -> None:
        self._level = 0

    @singledispatchmethod
    def write(self, block: Block) -> str:
        raise AssertionError(block)

    @write.register
    def _(self, block: Heading) -> str:
        self._level = min(block.level, self._level + 1)
        return f"<h{self._level}>{inline(block.text)}</h{self._level}>"

    @write.register
    def _(self, block: Paragraph) -> str:
        small = ' class="small"' if block.small else ""
        return f"<p{small}>{inline(block.text)}</p>"

    @write.register
    def _(self, block: Entries) -> str:
        kind = "ol" if block.numbered else "ul"
        return f"<{kind}>{''.join(f'<li>{inline(text)}</li>' for text in block.texts)}</{kind}>"

    @write.register
    def _(self, block: Table) -> str:
        head = "".join(f'<th scope="col">{inline(cell)}</th>' for cell in block.head)
        rows = "".join(f"<tr>{''.join(f'<td>{inline(cell)}</td>' for cell in row)}</tr>" for row in block.rows)
        wide = ' class="wide"' if block.wide else ""
        return f'<div class="scroll"><table{wide}><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>'

    @write.register
    def _(self, block: Formula) -> str:
        return f"<p>{from_latex(block.latex, block=True)}</p>"

    @write.register
    def _(self, block: Figure) -> str:
        caption = f"<figcaption>{inline(block.caption)}</figcaption>" if block.caption else ""
        width = f"width:{block.share * 100:.0f}%;max-width:{block.picture.width:.0f}px"
        return f'<figure style="{width}">{as_image(block.picture.svg())}{caption}</figure>'

    @write.register
    def _(self, block: Lines) -> str:
        return '<div class="line"></div>' * block.count

    @write.register
    def _(self, block: Field) -> str:
        wide = " wide" if block.wide else ""
        return f'<div class="field{wide}"><b>{inline(block.label)}</b><i></i><span>{inline(block.unit)}</span></div>'

    @write.register
    def _(self, block: Together) -> str:
        return f'<div class="together">{"".join(self.write(inner) for inner in block.blocks)}</div>'

    @write.register
    def _(self, _block: NewPage) -> str:
        return '<div class="new-page"></div>'
