"""Writes documents down in the notation of the print engine (typst), block by block.

Everything is written in the engine's code mode, where a text is always between quotation marks: what a person wrote can be
printed and never run. Pictures are handed over as SVG with plain colours, because the engine knows no style sheets.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import singledispatchmethod

from gearkit.draw.core.embed import SvgPicture
from gearkit.draw.core.svg import PIXELS_TO_POINTS, Picture, plain_svg
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
    PaperSize,
    Paragraph,
    Table,
    Together,
)
from gearkit.print.escapes import put_back, set_aside
from gearkit.print.formulas import equation, quoted
from gearkit.text.markdown import LINE_BREAK, SpanKind, spans
from gearkit.words.say import page_language, say

_WORD = re.compile(r"\w")
# A table of so many rows is read at a glance, so it does not go on over the page.
_MOST_ROWS_TOGETHER = 8
_SIZES = {PaperSize.A4: "a4", PaperSize.LETTER: "us-letter"}
_PREAMBLE = """\
#set text(font: ("Libertinus Serif", "DejaVu Sans"), size: 11pt, lang: "LANGUAGE")
#set par(justify: false, leading: 0.62em, spacing: 0.95em)
#set table(stroke: (x, y) => (top: if y <= 1 { 0.6pt } else { 0.3pt + gray }, bottom: 0.6pt), inset: 5pt)
#set list(indent: 0.6em)
#set enum(indent: 0.6em)
#show heading: set block(above: 1.3em, below: 0.75em, sticky: true)
#show heading.where(level: 1): set text(size: 15pt)
#show heading.where(level: 2): set text(size: 12.5pt)
#show raw: set text(font: ("DejaVu Sans Mono"), size: 8.8pt)
#let fitting(body) = layout(size => {
  let wanted = measure(body)
  if wanted.width > size.width { scale(100% * (size.width / wanted.width), reflow: true, body) } else { body }
})
#let shown(picture, width, share) = layout(size => align(center, box(width: calc.min(width, size.width * share), picture)))
#let ruled(count) = {
  for _ in range(count) { block(above: 0pt, below: 0pt, height: 9mm, width: 100%, stroke: (bottom: 0.4pt + gray)) }
  v(0.9em)
}
#let answer(label, unit, width) = block(breakable: false, above: 0.9em, below: 0.9em, grid(
  columns: (auto, width, auto), align: horizon, column-gutter: 0.6em,
  label, rect(width: 100%, height: 9mm, stroke: 0.6pt), unit))
#let leaf(mark, foot, number, body) = {
  let last = label("last-" + str(number))
  set page(
    header: if mark != "" { align(right, text(size: 9pt, font: "DejaVu Sans Mono", mark)) },
    footer: context { set text(size: 8.5pt); grid(columns: (1fr, auto), column-gutter: 1em, foot,
      [PAGE]) })
  counter(page).update(1)
  body
  [#metadata(none)#last]
}
"""


def _preamble() -> str:
    """What stands before all documents, with the words that the engine says by itself in the reader's language."""
    number = say("page {number} of {last}", number="#counter(page).display()", last="#counter(page).at(last).first()")
    return _PREAMBLE.replace("LANGUAGE", page_language()).replace("PAGE", number)


def source_of(documents: Sequence[Document], size: PaperSize = PaperSize.A4) -> str:
    """Return documents in the engine's notation.

    Args:
        documents: at least one; each begins a new page.
        size: the paper.
    """
    return _Writer().whole(documents, size)


def inline(text: str) -> str:
    """Return a line of small Markdown as an expression in the engine's notation; a backslash keeps a sign from being markup."""
    pieces = [_span(kind, piece) for kind, piece in spans(set_aside(text))]
    return "{" + "; ".join(pieces) + "}" if pieces else '""'


def _span(kind: SpanKind, piece: str) -> str:
    match kind:
        case SpanKind.BOLD:
            return f"strong({inline(piece)})"
        case SpanKind.ITALIC:
            return f"emph({inline(piece)})"
        case SpanKind.CODE:
            return f"raw({quoted(piece)})"
        case SpanKind.MATHS | SpanKind.BLOCK:
            return equation(piece.strip())
    lines = re.sub(r"[ \n\t]+", " ", put_back(piece)).split(LINE_BREAK)
    return "; linebreak(); ".join(quoted(line) for line in lines)


def _widths(block: Table) -> list[str]:
    """Columns to write in share what the others leave; the last one takes it where there is none to write in."""
    empty = [not any(row[place] for row in block.rows) for place in range(len(block.head))]
    return ["1fr" if free or (place == len(empty) - 1 and not any(empty)) else "auto" for place, free in enumerate(empty)]


def _kept_with(after: Block | None, block: Block, written: str) -> str:
    """A sentence stays on the page of the formula that ends it, and a picture on that of what is said below it."""
    ends = isinstance(block, Paragraph) and isinstance(after, Formula)
    captioned = isinstance(block, Figure) and isinstance(after, Paragraph) and after.small
    return f"block(sticky: true, above: 0.95em, below: 0.95em, width: 100%, {written})" if ends or captioned else written


class _Writer:
    """Writes documents; a picture that is shown several times stands in the text once."""

    def __init__(self) -> None:
        self._pictures: dict[str, str] = {}
        self._level = 0

    def whole(self, documents: Sequence[Document], size: PaperSize) -> str:
        leaves = [self._leaf(number, document) for number, document in enumerate(documents)]
        pictures = [f"#let {name} = {source}" for source, name in self._pictures.items()]
        page = f'#set page(paper: "{_SIZES[size]}", margin: (x: 20mm, top: 20mm, bottom: 22mm))'
        title = documents[0].title
        named = f"#set document(title: {quoted(title if _WORD.search(title) else 'Document')}, date: none)"
        return "\n".join([named, page, _preamble(), *pictures, *leaves])

    def _leaf(self, number: int, document: Document) -> str:
        self._level = 0
        body = self.blocks(document.blocks)
        return f"#leaf({quoted(document.mark)}, {inline(document.foot)}, {number}, {body})"

    def blocks(self, blocks: Sequence[Block]) -> str:
        followed = zip(blocks, [*blocks[1:], None], strict=True)
        return "{\n" + "\n".join(_kept_with(after, block, self.write(block)) for block, after in followed) + "\n}"

    @singledispatchmethod
    def write(self, block: Block) -> str:
        raise AssertionError(block)

    @write.register
    def _(self, block: Heading) -> str:
        if not _WORD.search(block.text):
            # A heading that cannot be read aloud is none.
            return f"par({inline(block.text)})"
        # Who hears a page goes by its headings, so none may be two levels below the one before it.
        self._level = min(block.level, self._level + 1)
        return f"heading(level: {self._level}, {inline(block.text)})"

    @write.register
    def _(self, block: Paragraph) -> str:
        words = inline(block.text)
        return f"par({{set text(size: 9pt); {words}}})" if block.small else f"par({words})"

    @write.register
    def _(self, block: Entries) -> str:
        name = "enum" if block.numbered else "list"
        return f"{name}({', '.join(inline(text) for text in block.texts)})"

    @write.register
    def _(self, block: Table) -> str:
        if not block.head:
            return "{}"
        columns = len(block.head)
        width = f"({', '.join(_widths(block))},)" if block.wide else str(columns)
        head = f"table.header({', '.join(f'strong({inline(cell)})' for cell in block.head)})"
        cells = [inline(cell) if cell else "box(height: 6mm)" for row in block.rows for cell in row]
        ruled = "stroke: 0.3pt + gray, " if block.wide else ""
        table = f"table(columns: {width}, {ruled}align: left + horizon, {', '.join([head, *cells])})"
        if block.wide:
            return table
        written = f"fitting({table})"
        return written if len(block.rows) > _MOST_ROWS_TOGETHER else f"block(breakable: false, width: 100%, {written})"

    @write.register
    def _(self, block: Formula) -> str:
        return f"block(above: 0.9em, below: 0.9em, fitting({equation(block.latex, block=True, words=block.words)}))"

    @write.register
    def _(self, block: Figure) -> str:
        name = self._picture(block.picture)
        width = block.picture.width * PIXELS_TO_POINTS
        caption = f"; align(center, text(size: 9pt, {inline(block.caption)}))" if block.caption else ""
        return f"{{shown({name}, {width:.1f}pt, {block.share:.3f}){caption}}}"

    def _picture(self, picture: Picture | SvgPicture) -> str:
        words = quoted(f"{picture.title}. {picture.description}")
        source = f'image(bytes({quoted(plain_svg(picture))}), format: "svg", width: 100%, alt: {words})'
        return self._pictures.setdefault(source, f"picture-{len(self._pictures)}")

    @write.register
    def _(self, block: Lines) -> str:
        return f"ruled({block.count})"

    @write.register
    def _(self, block: Field) -> str:
        return f"answer({inline(block.label)}, {inline(block.unit)}, {'1fr' if block.wide else '45mm'})"

    @write.register
    def _(self, block: Together) -> str:
        return f"block(breakable: false, width: 100%, {self.blocks(block.blocks)})"

    @write.register
    def _(self, _block: NewPage) -> str:
        return "pagebreak(weak: true)"
