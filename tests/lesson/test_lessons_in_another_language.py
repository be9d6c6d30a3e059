"""The prose of the lessons can be translated whole: in copies on a shelf and on pages, in the text and in the folded working."""

from __future__ import annotations

import contextlib
import json
import re
from pathlib import Path
from typing import Any

import pytest

from gearkit.lesson import lesson_copies
from gearkit.lesson.course import glossary, prose
from gearkit.lesson.working.results import Results
from gearkit.site.lesson_parts import own_record
from gearkit.site.notebook_cells import Result, cells_of, results
from gearkit.text import places
from gearkit.words.say import speaking
from tests.support.amounts import amount
from tests.support.pseudo import Pseudo, escaped

# What stays in every language: units.
_SAME = {"kW", "kJ"}
# Sentences that the solver's folders of shifts, faults and models make, which do not say them yet.
_FROM_THE_SOLVER = {
    "l13-machine-files", "l13-machine-model", "l13-whole-parts",
}  # fmt: skip
NOTEBOOKS = sorted(places.lessons().glob("*/*.ipynb"))
LESSON_3 = places.lessons() / "03_what_one_set_can_do" / "what_one_set_can_do.ipynb"


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


def cells(path: Path) -> list[dict[str, Any]]:
    held: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [{**cell, "source": "".join(cell["source"])} for cell in held]


def plain_words(source: str, *, is_code: bool) -> list[str]:
    """What stays in plain letters of the prose of a cell, or of the comments and texts of its code; code in prose is a name."""
    if is_code:
        return escaped((piece.text for piece in prose.pieces(source, is_code=True)), _SAME)
    text = re.sub(r"```.*?```|\]\([^()\s]+", " ", source, flags=re.DOTALL)
    return escaped([text], {"SVG"})


def test_no_word_of_a_lesson_goes_round_the_catalogue(language: Pseudo) -> None:
    left = {}
    with speaking(language):
        for path in NOTEBOOKS:
            for cell in cells(path):
                is_code = cell["cell_type"] == "code"
                source = prose.said_source(cell["id"], cell["source"], is_code=is_code)
                left[cell["id"]] = plain_words(source, is_code=is_code)
    assert {name: words for name, words in left.items() if words} == {}


def test_one_cell_that_is_missing_is_found() -> None:
    (cell,) = [cell for cell in cells(LESSON_3) if cell["id"] == "l03-title"]
    with speaking(Pseudo(without=[cell["source"]])):
        assert plain_words(prose.said_source("l03-title", cell["source"], is_code=False), is_code=False) != []


def shown(path: Path) -> list[Result]:
    with own_record("one seed"), contextlib.chdir(path.parent):
        return list(results(cells_of(path), {"__name__": "__main__"}))


@pytest.mark.parametrize(
    "path",
    [path for path in NOTEBOOKS if path.parent.name not in ("00_start_here", "glossary")][:: amount(1, 7)],
    ids=lambda path: path.stem,
)
def test_a_lesson_in_another_language_works_out_the_same(path: Path, language: Pseudo) -> None:
    english = shown(path)
    with speaking(language):
        own = shown(path)
        tables = [(each.cell.name, each.value) for each in own if isinstance(each.value, Results)]
        left = {
            name: escaped([*table.head, *(str(cell) for row in table.rows for cell in row)], _SAME) for name, table in tables
        }
    assert {name: words for name, words in left.items() if words and name not in _FROM_THE_SOLVER} == {}
    assert [type(each.value).__name__ for each in own] == [type(each.value).__name__ for each in english]
    pairs = [(one.value, other.value) for one, other in zip(english, own, strict=True) if isinstance(one.value, Results)]
    assert pairs
    assert all(numbers(one) == numbers(other) for one, other in pairs)


def numbers(table: object) -> list[list[object]]:
    assert isinstance(table, Results)
    return [["" if isinstance(cell.value, str) else cell.value for cell in row] for row in table.rows]


def test_a_shelf_of_lessons_comes_in_the_language_and_changes_with_it(language: Pseudo, tmp_path: Path) -> None:
    lesson_copies.fill(tmp_path, pictures=False)
    copied = tmp_path / LESSON_3.relative_to(places.lessons())
    english = copied.read_bytes()
    worked_in = tmp_path / "02_one_planetary_set" / "one_planetary_set.ipynb"
    theirs = json.loads(worked_in.read_text(encoding="utf-8"))
    theirs["cells"].append({"id": "mine", "cell_type": "markdown", "metadata": {}, "source": "Words of their own."})
    worked_in.write_text(json.dumps(theirs), encoding="utf-8")
    with speaking(language):
        filled = lesson_copies.fill(tmp_path, pictures=False)
        (title,) = [cell["source"] for cell in cells(copied) if cell["id"] == "l03-title"]
        assert escaped([title]) == []
        assert copied in filled.updated
        # What its owner wrote stays, and nothing is put beside it.
        *_, own = cells(worked_in)
        assert ("".join(own["source"]), filled.beside) == ("Words of their own.", ())
        assert escaped("".join(cell["source"]) for cell in cells(worked_in)[:2]) == []
    lesson_copies.fill(tmp_path, pictures=False)
    assert copied.read_bytes() == english


def test_words_are_explained_in_the_language_of_the_glossary(language: Pseudo) -> None:
    english = glossary.terms()
    with speaking(language):
        own = glossary.terms()
        assert len(own) == len(english)
        assert escaped([text for term in own.values() for text in (term.word, term.meaning)]) == []
        everyday = [cell["source"] for cell in glossary.marked({"cells": [markdown("Ŧħė řȧṅġė ȯƒ ȧ ƈȧřřīėř.")]})["cells"]]
    # "range" is a word of everyday speech in the English glossary, and so it is in any other.
    assert re.findall(r"\[(\w+)\]", "".join(everyday[0])) == ["ƈȧřřīėř"]


def markdown(source: str) -> dict[str, Any]:
    return {"cell_type": "markdown", "metadata": {}, "source": source}


def test_code_keeps_what_it_compares_and_looks_up() -> None:
    source = '# Working: both\nrows = {"range": "told"}\nlesson.table(("in",), [(x,) for x in f("words") if x == "range"])\n'
    found = prose.pieces(source, is_code=True)
    assert [piece.text for piece in found] == ["Working: both", "told", "in"]
    assert all(source[piece.start : piece.end].strip('"') == piece.text for piece in found)
