"""A lesson on paper: all of its prose and pictures, lines for predictions and answers, and nothing that gives them away."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import practice
from gearkit.cli.main import main
from gearkit.draw.core.embed import SvgPicture, side_by_side
from gearkit.lesson import lesson_copies
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.record import Record
from gearkit.print import engine, web_page
from gearkit.print.document import Document, Entries, Field, Figure, Formula, Heading, Lines, Paragraph, Table, Together
from gearkit.site.handout import handout, notebook
from gearkit.words.errors import UsageError
from tests.support.amounts import amount

NUMBERS = ["03", "12", "01", "02", *[f"{number:02}" for number in range(4, 12)], "13", "14", "15"][: amount(15, 2)]


def flat(blocks: Any) -> list[Any]:
    return [inner for block in blocks for inner in (flat(block.blocks) if isinstance(block, Together) else [block])]


def texts(document: Document) -> str:
    found = []
    for block in flat(document.blocks):
        match block:
            case Heading() | Paragraph():
                found.append(block.text)
            case Entries():
                found += block.texts
            case Field():
                found.append(block.label)
            case Table():
                found += [cell for row in (block.head, *block.rows) for cell in row]
    return "\n".join(found)


@pytest.mark.parametrize("number", NUMBERS)
def test_a_handout_holds_the_lessons_prose_exercises_and_blanks_and_no_code(number: str) -> None:
    document = handout(notebook(number))
    told = texts(document)
    cells = json.loads(notebook(number).read_text(encoding="utf-8"))["cells"]
    prose = "\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")
    for heading in re.findall(r"^#+ (.+)$", prose, re.MULTILINE):
        assert (heading in told) is (heading != "First: do you still know this?")
    code = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]
    asked = re.findall(r'lesson\.exercise\("([^"]+)"\)', "\n".join(code))
    assert re.findall(r"Exercise (L\d\d-\d\d)$", told, re.MULTILINE) == asked
    to_finish = re.findall(r'lesson\.worked\("L([^"]+)"\)', "\n".join(code))
    assert re.findall(r"^Worked example W(\d\d-\d\d)$", told, re.MULTILINE) == to_finish
    gates = sum("lesson.predict" in source for source in code)
    assert len(re.findall(r"^Predict: ", told, re.MULTILINE)) >= gates
    assert sum(isinstance(block, Lines) for block in flat(document.blocks)) >= gates
    assert "lesson." not in told
    assert "open_lesson" not in told
    assert len(PdfReader(io.BytesIO(engine.pdf([document]))).pages) >= 3


def test_the_right_answers_and_results_of_predictions_do_not_stand_in_it() -> None:
    document = handout(notebook("03"))
    told = texts(document)
    assert "18/5" not in told
    described = [figure.picture.description for figure in flat(document.blocks) if isinstance(figure, Figure)]
    assert any("brake" in words for words in described)
    # What a picture to choose shows stands in its text alternative, not beside it.
    for option in practice(items.find("L03-24"), seed="handout/1").parts[0].options:
        assert option not in told


def test_numbers_are_the_same_each_time_and_the_learners_own_on_a_shelf(tmp_path: Path) -> None:
    assert texts(handout(notebook("01"))) == texts(handout(notebook("01")))
    shelf = lesson_copies.hand_over(tmp_path / "mine")
    own = texts(handout(notebook(str(shelf / "01_gear_pairs" / "gear_pairs.ipynb"))))
    assert own != texts(handout(notebook("01")))
    prompt = Exercise(items.find("L01-02"), Record(shelf / "my_record.json")).variant.prompt
    assert prompt.split("\n")[0] in own


def test_tables_of_results_pictures_and_plain_text_come_over_and_bare_values_stay_away(tmp_path: Path) -> None:
    sources = [
        "from gearkit import open_lesson\nlesson = open_lesson('03')\nlesson",
        "lesson.table(('in', 'ratio'), [('sun', 19), ('ring', 2)])",
        "lesson.results(('the carrier', 400, 'r/min'))",
        "'a bare value'",
        "lesson.show('Q36', 'power', range_name='2')",
    ]
    cells = [{"cell_type": "code", "id": f"c{n}", "metadata": {}, "source": text} for n, text in enumerate(sources)]
    (tmp_path / "own.ipynb").write_text(json.dumps({"cells": cells}), encoding="utf-8")
    blocks = handout(tmp_path / "own.ipynb").blocks
    assert [type(block) for block in blocks] == [Field, Table, Table, Figure]
    assert blocks[1] == Table(("in", "ratio"), (("sun", "19"), ("ring", "2")))
    assert blocks[2] == Table(("Worked out", "Value"), (("the carrier", "400 r/min"),))
    assert isinstance(blocks[3], Figure)
    assert "power" in f"{blocks[3].picture.title} {blocks[3].picture.description}".lower()


def test_a_lesson_that_is_none_is_told() -> None:
    with pytest.raises(UsageError, match=r"no lesson '77'. Lessons: 00, 01"):
        notebook("77")
    with pytest.raises(UsageError, match=r"there is no such file"):
        notebook("nowhere/x.ipynb")


def test_the_command_writes_a_pdf_or_a_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["print", "3", "-o", str(tmp_path / "a.pdf")]) == 0
    assert "Lesson 3. What one set can do" in capsys.readouterr().out
    assert PdfReader(tmp_path / "a.pdf").metadata["/Title"].startswith("Lesson 3.")
    assert main(["print", "03", "--html", "-o", str(tmp_path / "a.html")]) == 0
    page = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert page.count("<img ") >= 3
    assert re.search(r'<img alt="[^"]{30,}', page)
    assert "<math" in page
    assert "<script" not in page
    capsys.readouterr()
    for wrong, said in (
        (["print", "3", "--html", "-o", "x.pdf"], "give a name that ends in .html"),
        (["print", "3", "-o", "x.doc"], "ends in .pdf, or in .html"),
        (["print", "3", "--paper", "A9", "-o", str(tmp_path / "b.pdf")], "choose one of A4, letter"),
    ):
        assert main(wrong) == 2
        assert said in capsys.readouterr().err


def test_pictures_to_choose_from_stand_side_by_side_and_none_leaves_the_frame() -> None:
    one = '<svg xmlns="http://www.w3.org/2000/svg" width="80" viewBox="0 0 80 40" role="img"><title>T</title><desc>shows {}</desc></svg>'
    whole = side_by_side([one.format(letter) for letter in "abc"], ["(a)", "(b)", "(c)"])
    assert whole.description == "(a) shows a (b) shows b (c) shows c"
    assert whole.width == 2 * 80 + 30
    frames = re.findall(r'<svg x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" viewBox', whole.text)
    assert [(float(x), float(y)) for x, y, _, _ in frames] == [(0, 30), (110, 30), (0, 100)]
    assert SvgPicture(one).width == 80


def test_a_page_shows_texts_as_they_are_and_every_kind_of_block() -> None:
    blocks = (
        Heading("One"), Heading("Deep", 3), Paragraph(r"5 \* 3 <b> **bold** $x_1$"), Entries(("a", "b"), numbered=True),
        Table(("h",), (("<i>",), ("",))), Formula(r"\frac{1}{2}"), Lines(2), Field("Speed", "r/min"),
    )  # fmt: skip
    page = web_page.page(Document("Title <x>", blocks, mark="mark", foot="foot"))
    assert "<title>Title &lt;x&gt;</title>" in page
    assert "<h1>One</h1>" in page
    assert "<h2>Deep</h2>" in page
    assert "5 * 3 &lt;b&gt; <strong>bold</strong>" in page
    assert "<ol><li>a</li><li>b</li></ol>" in page
    assert "<td>&lt;i&gt;</td>" in page
    assert page.count('<div class="line">') == 2
    assert "<b>Speed</b><i></i><span>r/min</span>" in page
