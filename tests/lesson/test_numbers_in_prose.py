"""Every number in a lesson's prose is that of its cell, and altering either fails; what is worked out by hand is the solver's."""

from __future__ import annotations

import ast
import copy
import os
import re
from pathlib import Path

import pytest

from gearkit.text import places
from tests.lesson import notebooks
from tests.lesson import pinned_numbers as pinned

LESSONS = {
    path.parent.name[:2]: path
    for path in notebooks.all_lessons(places.lessons())
    if re.match(r"(0[1-9]|1[0-5])_", path.parent.name)
}
WHOLE = os.environ.get("GEARKIT_TESTS") == "whole"


@pytest.fixture(autouse=True)
def own_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GEARKIT_RECORD", str(tmp_path / "my_record.json"))


def with_source(cells: list[pinned.Cell], name: str, source: str) -> list[pinned.Cell]:
    changed = copy.deepcopy(cells)
    next(cell for cell in changed if cell.name == name).source = source
    return changed


@pytest.mark.parametrize("number", LESSONS)
def test_every_number_in_the_prose_is_that_of_its_cell(number: str) -> None:
    assert pinned.troubles(number, pinned.cells_of(LESSONS[number]), pinned.read(number)) == []


@pytest.mark.parametrize("number", LESSONS)
def test_a_lesson_pins_results_and_not_only_figures_of_speech(number: str) -> None:
    pairs = [pair for _, numbers in pinned.read(number).cells.values() for pair in numbers]
    bound = [written for written, expression in pairs if expression != pinned.PLAIN]
    assert len(bound) >= 10
    assert len(bound) >= len(pairs) / 2
    assert not [written for written, expression in pairs if expression == "?"]
    assert sum(map(len, pinned.read(number).holds.values())) >= 3


def altered(written: str) -> str:
    """A number with another last digit."""
    return written[:-1] + str((int(written[-1]) + 1) % 10)


@pytest.mark.parametrize("number", LESSONS if WHOLE else ["04", "12"])
def test_a_number_altered_in_the_prose_is_found(number: str) -> None:
    cells, pins = pinned.cells_of(LESSONS[number]), pinned.read(number)
    after = pinned.ran(cells)
    for name, (where, pairs) in pins.cells.items():
        for place, (written, expression) in enumerate(pairs):
            told = [*pairs[:place], (altered(written), expression), *pairs[place + 1 :]]
            # The list of numbers no longer agrees; were it altered as well, the value of the cell would not.
            assert [each for each, _ in told] != [each for each, _ in pairs], (name, written)
            if expression != pinned.PLAIN:
                assert not pinned.agrees(altered(written), pinned.value_of(expression, after[where])), (
                    name,
                    written,
                    expression,
                )


def test_a_number_altered_in_a_prose_cell_is_told_with_both_lists() -> None:
    cells = pinned.cells_of(LESSONS["01"])
    [prose] = [cell for cell in cells if cell.name == "l01-by-hand"]
    wrong = with_source(cells, prose.name, prose.source.replace("n_2 = -24", "n_2 = -25"))
    [told] = pinned.troubles("01", wrong, pinned.read("01"))
    assert told.startswith("l01-by-hand: its numbers are ['18', '18', '60', '1080', '45', '1080', '1080', '45', '24', '−25']")


def test_a_value_altered_in_a_cell_is_told_beside_what_the_prose_says() -> None:
    cells = pinned.cells_of(LESSONS["01"])
    [cell] = [cell for cell in cells if cell.name == "l01-pair"]
    told = pinned.troubles(
        "01", with_source(cells, cell.name, cell.source.replace("18, 45, 60", "18, 54, 60")), pinned.read("01")
    )
    assert "l01-by-hand: the prose says 45, z2 is 54" in told
    assert "l01-pair: ratio == Fraction(-5, 2) does not hold" in told


SIGNS = {"+": "-", "-": "+", "*": "/", "/": "*"}


@pytest.mark.parametrize("number", LESSONS if WHOLE else ["02"])
def test_in_every_cell_that_works_something_out_an_altered_number_or_sign_is_found(number: str) -> None:
    cells, pins = pinned.cells_of(LESSONS[number]), pinned.read(number)
    for name in dict.fromkeys([*(where for where, _ in pins.cells.values()), *pins.holds]):
        [cell] = [each for each in cells if each.name == name]
        found = [
            *re.finditer(r"(?<![\w.\"])\d+(?:\.\d+)?(?![\w.\"])", cell.source),
            *re.finditer(r"(?<=[\w)] )[-+*/](?= [\w(])|(?<=[\w)])[-+*/](?=[\w(])", cell.source),
        ]
        tries = [
            cell.source[: each.start()] + (SIGNS.get(each[0]) or altered(each[0])) + cell.source[each.end() :] for each in found
        ]
        assert not calculates(cell) or any(failed(number, with_source(cells, name, text), pins) for text in tries), name


def calculates(cell: pinned.Cell) -> bool:
    """Whether a cell works something out itself, before it shows the result, and does not only ask the kit."""
    steps = ast.parse(cell.source).body[:-1]
    return any(
        isinstance(node, ast.BinOp) and not isinstance(node.op, ast.BitAnd | ast.BitOr)
        for step in steps
        for node in ast.walk(step)
    )


def failed(number: str, cells: list[pinned.Cell], pins: pinned.Pins) -> bool:
    try:
        return pinned.troubles(number, cells, pins) != []
    except Exception:
        return True


def test_numbers_are_read_from_words_and_formulas_and_not_from_names_and_addresses() -> None:
    text = r"Lesson 3 of the Q36: $S_1 = 30$, $n_{c1} = 41\,600$, \frac{5475}{1900} and −0.5 of 16 000 [see](../04_x/y.ipynb) `1 + 2`, ring 2."
    assert pinned.numbers_in(text) == ["30", "41600", "5475", "1900", "−0.5", "16000"]
