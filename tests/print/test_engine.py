"""What is printed says what was asked for, can be read aloud, and cannot be made to run anything."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.answers import items
from gearkit.draw.registry import picture_of
from gearkit.explain.story import tell
from gearkit.print import engine
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
    from_markdown,
)
from gearkit.print.formulas import equation
from gearkit.site import handout
from gearkit.text import places
from gearkit.text.latex import with_tight_commas
from gearkit.text.markdown import SpanKind, spans
from gearkit.train.catalogue import find
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.say import speaking_language

EVERYTHING: tuple[Block, ...] = (
    Heading("A heading with $i$"), Paragraph("Words, **bold** and `code`."), Paragraph("A foot.", small=True),
    Entries(("first", "second"), numbered=True), Entries(("a point",)), Table(("range", "ratio"), (("1", "4.07"), ("2", ""))),
    Table(("element", "torque"), (("A", ""),), wide=True), Formula(r"i = \frac{n_{in}}{n_{out}}"), Lines(2), Field("x", "N·m"),
    Field("formula", wide=True), Together((Paragraph("kept together"),)), NewPage(), Paragraph("a new page"),
)  # fmt: skip


def reader(content: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(content))


def words_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader(content).pages).split())


def test_every_kind_of_block_reaches_the_paper() -> None:
    found = words_of(engine.pdf([Document("Everything", EVERYTHING, "mark 7", "the *foot*")]))
    for wanted in (
        "A heading with",
        "Words, bold and code.",
        "1. first",
        "2. second",
        "a point",
        "4.07",
        "element",
        "kept together",
        "a new page",
        "N·m",
        "mark 7",
        "the foot",
        "page 1 of 2",
        "page 2 of 2",
    ):
        assert wanted in found, wanted


def test_every_document_counts_its_own_pages_and_carries_its_own_mark() -> None:
    long = tuple(Paragraph("word " * 400) for _ in range(4))
    pages = reader(engine.pdf([Document("one", long, "copy-1"), Document("two", long[:1], "copy-2")])).pages
    told = [page.extract_text() for page in pages]
    assert [re.search(r"page (\d+) of (\d+)", text).groups() for text in told] == [("1", "2"), ("2", "2"), ("1", "1")]
    assert [re.search(r"copy-\d", text)[0] for text in told] == ["copy-1", "copy-1", "copy-2"]


def test_a_picture_keeps_its_colours_and_its_text_alternative() -> None:
    drawn = picture_of(find("Q24"), "stick", "2")
    content = engine.pdf([Document("picture", (Figure(drawn),))])
    assert drawn.description[:60] in "".join(_alternatives(content))
    streams = b"".join(page.get_contents().get_data() for page in reader(content).pages)
    streams += b"".join(_forms(content))
    # Blue, the power path: 0, 114, 178 of 255. The engine would paint the style sheet's variables black.
    assert re.search(rb"\b0 0\.44\d+ 0\.69\d+ ", streams)


def _forms(content: bytes) -> list[bytes]:
    found = []
    for number in range(1, len(reader(content).xref_objStm) + 4000):
        one = reader(content).get_object(pypdf.generic.IndirectObject(number, 0, reader(content)))
        if one is None:
            break
        if isinstance(one, pypdf.generic.StreamObject):
            found.append(one.get_data() if one.get("/Subtype") == "/Form" else b"")
    return found


def _alternatives(content: bytes) -> list[str]:
    """The text alternatives in the tree that a screen reader follows."""
    found: list[str] = []
    open_nodes = [reader(content).trailer["/Root"]["/StructTreeRoot"]]
    while open_nodes:
        node = open_nodes.pop().get_object()
        if isinstance(node, list):
            open_nodes += node
        elif isinstance(node, dict):
            found += [str(node["/Alt"])] if "/Alt" in node else []
            open_nodes += [node["/K"]] if "/K" in node else []
    return found


def test_the_same_document_gives_the_same_bytes_and_is_tagged() -> None:
    first, second = (engine.pdf([Document("same", EVERYTHING)]) for _ in range(2))
    assert first == second
    root = reader(first).trailer["/Root"]
    assert bool(root["/MarkInfo"]["/Marked"])
    assert root["/Lang"] == "en"
    assert "i = (n i n)/(n o u t)" in _alternatives(first)


def test_both_sizes_of_paper_can_be_had_and_others_are_refused() -> None:
    sizes = {}
    for size in PaperSize:
        box = reader(engine.pdf([Document("size", (Paragraph("x"),))], size)).pages[0].mediabox
        sizes[size] = (round(float(box.width)), round(float(box.height)))
    assert sizes == {PaperSize.A4: (595, 842), PaperSize.LETTER: (612, 792)}
    assert PaperSize.named(" Letter") is PaperSize.LETTER
    with pytest.raises(UsageError, match="Paper 'A3': choose one of A4, letter"):
        PaperSize.named("A3")


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=60))
def test_no_text_can_give_the_engine_an_order(text: str) -> None:
    hostile = f'"); #panic("caught") // \\" {text} #eval("1+1") $#panic()$ ${text.replace("$", "")}$ `{text}`'
    blocks = (
        Heading(text),
        Paragraph(hostile),
        Table((hostile, text), ((text, hostile),)),
        Field(hostile, text),
        Formula(hostile),
        Formula(text),
        *from_markdown(hostile),
        *from_markdown(text),
    )
    assert engine.pdf([Document(hostile, blocks, hostile, text)]).startswith(b"%PDF")


def test_what_looks_like_an_order_is_printed_as_it_stands() -> None:
    told = words_of(engine.pdf([Document("x", (Paragraph('#eval("1+1") and #image("/etc/passwd") \\ "q"'),))]))
    assert '#eval("1+1") and #image("/etc/passwd") \\ "q"' in told


def test_a_name_in_letters_that_our_fonts_lack_stops_nothing() -> None:
    assert "page 1 of 1" in words_of(engine.pdf([Document("\u5f20\u4f1f", (Paragraph("\u5f20\u4f1f, \u0000\u202e"),))]))


def test_every_formula_of_bank_lessons_and_stories_is_set_as_a_formula() -> None:
    texts = [item.prompt for item in items.all_items()] + [hint for item in items.all_items() for hint in item.hints]
    for path in places.lessons().rglob("*.ipynb"):
        texts += [
            "".join(cell["source"]) for cell in json.loads(path.read_text("utf-8"))["cells"] if cell["cell_type"] == "markdown"
        ]
    found = {piece.strip() for text in texts for kind, piece in spans(text) if kind in (SpanKind.MATHS, SpanKind.BLOCK)}
    layouts = [find(name) for name in ("Q24", "Q36", "Q48")]
    found |= {
        formula.latex
        for layout in layouts
        for one in layout.ranges
        for step in tell(layout, one.name).steps
        for formula in step.formulas
    }
    assert len(found) > 300
    unset = {text for text in found if equation(text).startswith("raw(")}
    assert unset == set()
    formulas = tuple(Formula(text) for text in sorted(found))
    assert engine.pdf([Document("formulas", formulas)]).startswith(b"%PDF")


def test_headings_may_come_in_any_levels() -> None:
    blocks = (Heading("a", 3), Heading("b", 1), Heading("c", 3), Heading("d", 2), Heading("e", 3))
    assert "e" in words_of(engine.pdf([Document("x", blocks), Document("y", (Heading("z", 2),))]))


def test_without_the_library_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(GearkitError, match=r'Install it with: pip install "gearkit\[print\]"'):
        engine.pdf([Document("x", (Paragraph("x"),))])


def test_nothing_to_print_and_nowhere_to_write_are_told(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="Nothing to print"):
        engine.pdf([])
    (tmp_path / "file").write_text("x")
    with pytest.raises(UsageError, match="choose another file"):
        engine.save([Document("x", (Paragraph("x"),))], tmp_path / "file" / "x.pdf")


def test_a_decimal_comma_stays_at_its_number_in_formulas() -> None:
    for text in ("i = 2,72", "i = 2{,}72"):
        assert '"2,72"' in equation(text)
    prose = "Also $i = 2,72$ und\n\n$$x = \\frac{0,5}{3}$$ mit 3,4 oder $a, b$."
    assert with_tight_commas(prose) == prose
    with speaking_language("de"):
        assert with_tight_commas(prose) == "Also $i = 2{,}72$ und\n\n$$x = \\frac{0{,}5}{3}$$ mit 3,4 oder $a, b$."


def test_emphasis_that_goes_on_in_the_next_line_of_its_source_shows_no_stars() -> None:
    text = "*Wheels raised\nand driven:* keep clear, **now\nand later**, 2 * 3\nand 4 * 5.\n\n* one\n* two"
    told = words_of(engine.pdf([Document("x", from_markdown(text))]))
    assert "Wheels raised and driven: keep clear, now and later, 2 * 3 and 4 * 5." in " ".join(told.split())
    for number in ("02", "08", "12"):
        lesson = words_of(engine.pdf([handout.handout(handout.notebook(number))]))
        assert "*" not in lesson.replace("3200*", ""), number


@pytest.mark.parametrize("lines", range(30, 43))
def test_a_sentence_stays_with_its_formula_and_a_picture_with_its_caption(lines: int) -> None:
    fill = tuple(Paragraph(f"Line {number}.") for number in range(lines))
    for last, words in ((Formula(r"x = 1"), "So it follows:"), (Paragraph("What it shows.", small=True), None)):
        before = Paragraph(words) if words else Figure(picture_of(find("Q24"), "stick"), 0.3)
        pages = [page.extract_text() for page in reader(engine.pdf([Document("x", (*fill, before, last))])).pages]
        first = next(number for number, page in enumerate(pages) if (words or "input") in page)
        assert ("What it shows." in pages[first]) if words is None else ("x = 1" in pages[first].replace("𝑥", "x")), lines


@pytest.mark.parametrize("lines", range(30, 43))
def test_a_small_table_stands_on_one_page(lines: int) -> None:
    fill = tuple(Paragraph(f"Line {number}.") for number in range(lines))
    table = Table(("applied", "state"), (("row one", "tie-up"), ("row two", "range"), ("row three", "tie-up")))
    pages = [page.extract_text() for page in reader(engine.pdf([Document("x", (*fill, table))])).pages]
    assert [sum(word in page for word in ("row one", "row two", "row three")) for page in pages if "row " in page] == [3]
