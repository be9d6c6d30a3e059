"""A unit can be translated whole: its lesson with the working in it, its handout and its page."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from gearkit.lesson.course import prose
from gearkit.lesson.predictions import opened
from gearkit.print import web_page
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.say import catalogue_of, speaking
from graders.cli.main import main
from graders.unit import handout, overview, unit
from graders.unit.facts import Facts
from graders.unit.lesson import assemble
from graders.unit.overview import Part
from tests.support.amounts import amount
from tests.support.pseudo import Pseudo, escaped, seen_in
from tests.unit.test_lesson import drawn

LAYOUTS = [catalogue.find(name) for name in ("Q24", "pair_two_suns", "bench_set")]
SECTIONS = ("ranges", "states", "torque", "shifts", "faults", "road")
# Units, and what a number is divided by in a formula that stands in a sentence.
_SAME = {"min", "km", "Python", "SVG"}


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


def made(layout: Layout) -> dict[str, Any]:
    return assemble.lesson(Facts(layout, unit.LAYOUT), dict.fromkeys(SECTIONS, ("X00-01", "X00-02")))


def names_of(layout: Layout) -> set[str]:
    """What is called so in the layout's own file."""
    source = layout.source.citation
    called = [
        layout.name,
        source,
        *layout.outputs,
        *(pset.name for pset in layout.sets),
        *(each.name for each in layout.elements),
    ]
    words = [word for text in (*called, *(row.name for row in layout.ranges)) for word in re.findall(r"\w+", text)]
    return {*words, *map(str.capitalize, words)}


def left_in(lesson: dict[str, Any], names: set[str]) -> dict[str, list[str]]:
    """The words of each cell that are not said, those of its working and of its reveal among them."""
    left = {}
    for cell in lesson["cells"]:
        source = "".join(cell["source"])
        texts = [source]
        if cell["cell_type"] == "code":
            shut = re.findall(r'compare="([^"]+)"', source)
            texts = [piece.text for piece in prose.pieces(source, is_code=True)] + [opened(text) for text in shut]
        left[cell["id"]] = escaped(texts, _SAME | names)
    return {name: words for name, words in left.items() if words}


@pytest.mark.parametrize("layout", [*LAYOUTS, *drawn(amount(12, 3))], ids=lambda layout: layout.name[:20])
def test_no_word_of_a_units_lesson_handout_or_page_goes_round_the_catalogue(layout: Layout, language: Pseudo) -> None:
    with speaking(language):
        facts, names = Facts(layout, unit.LAYOUT), names_of(layout)
        assert left_in(made(layout), names) == {}
        paper = web_page.page(handout.document(facts))
        page = overview.html(facts, [Part("lesson.ipynb", "")], [("ratio", 3, 6)])
    for text in (paper, page):
        assert escaped(seen_in(re.sub(r"<code>.*?</code>", "", text)), _SAME | names | {"lesson", "ipynb"}) == []


def test_one_sentence_of_a_lesson_that_is_missing_is_found() -> None:
    missing = "Follow the lines with a finger. {shafts} can turn:"
    layout = LAYOUTS[0]
    with speaking(Pseudo(without=[missing])):
        left = left_in(made(layout), names_of(layout))
    assert list(left) == ["unit-shafts-table"]


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name[:20])
def test_a_lesson_in_german_has_the_same_cells_formulas_and_working(layout: Layout) -> None:
    english = made(layout)
    with speaking(catalogue_of("de")):
        german = made(layout)
    assert assemble.minutes_told(german) == assemble.minutes_told(english)
    ids = {cell["id"].rstrip("-0123456789n") for cell in english["cells"]}
    assert {cell["id"].rstrip("-0123456789n") for cell in german["cells"]} == ids
    assert code_in(german) == code_in(english)
    formulas = [len(re.findall(r"\$\$", "".join(map(str, lesson["cells"])))) for lesson in (english, german)]
    assert formulas[0] == formulas[1]


def code_in(lesson: dict[str, Any]) -> list[str]:
    """The lines of working without their comments and without what they show."""
    lines = []
    for cell in lesson["cells"]:
        if cell["cell_type"] == "code" and "compare=" not in "".join(cell["source"]):
            source = "".join(cell["source"])
            for piece in reversed(prose.pieces(source, is_code=True)):
                source = source[: piece.start] + source[piece.end :]
            lines += [line.rstrip(" #") for line in source.split("\n") if line.rstrip(" #")]
    return lines


def test_the_command_makes_a_german_unit(tmp_path: Path) -> None:
    folder = tmp_path / "unit"
    assert main(["unit", "Q24", "--language", "de", "-o", str(folder)]) == 0
    page = (folder / unit.OVERVIEW).read_text(encoding="utf-8")
    assert '<html lang="de">' in page
    lesson = (folder / unit.LESSON).read_text(encoding="utf-8")
    assert "Planetensatz" in lesson
    assert "planetary set" not in lesson
    # In a formula a bare comma would be set with a blank after it.
    formulas = re.findall(r"\$\$.+?\$\$|\$[^$]+\$", lesson)
    assert any("{,}" in formula for formula in formulas)
    assert [formula for formula in formulas if re.search(r"\d,\d", formula)] == []
    # What can be asked about, by subject.
    subjects = set(re.findall(r'<th scope="row">([^<]+)</th>', page))
    assert {"Drehzahlen", "Schalttabelle", "Stufensprünge"} <= subjects
