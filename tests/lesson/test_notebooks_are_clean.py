"""Lesson notebooks are kept clean, in the house order, within the house's lengths, and without answers."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from gearkit.answers import items
from gearkit.lesson.syllabus import LESSONS
from gearkit.text import places
from tests.lesson import notebooks

LESSON_FILES = notebooks.all_lessons(places.lessons())
NUMBERED = [path for path in LESSON_FILES if re.match(r"(0[1-9]|1[0-5])_", path.parent.name)]
EXERCISE = re.compile(r'lesson\.exercise\("(L\d\d-\d\d)"\)')
WORKED = re.compile(r'lesson\.worked\("(L\d\d-\d\d)"\)')
ORDER = ["title", "outcomes", "open", "by-hand", "worked", "predict", "exercise", "limits", "key-points", "progress", "sources"]


def cells(path: Path) -> list[dict[str, Any]]:
    return list(json.loads(path.read_text(encoding="utf-8"))["cells"])


def source(cell: dict[str, Any]) -> str:
    return "".join(cell["source"])


def tagged(path: Path, tag: str) -> list[str]:
    return [source(cell) for cell in cells(path) if tag in cell["metadata"].get("tags", [])]


def name_of(path: Path) -> str:
    return path.parent.name


@pytest.mark.parametrize("path", LESSON_FILES, ids=name_of)
def test_a_notebook_is_clean(path: Path) -> None:
    assert notebooks.problems(path) == []


@pytest.mark.parametrize("path", NUMBERED, ids=name_of)
def test_a_lesson_goes_in_the_house_order(path: Path) -> None:
    first: dict[str, int] = {}
    for place, cell in enumerate(cells(path)):
        for tag in cell["metadata"].get("tags", []):
            first.setdefault(tag, place)
    assert [tag for tag in ORDER if tag not in first] == []
    assert [first[tag] for tag in ORDER] == sorted(first[tag] for tag in ORDER)


@pytest.mark.parametrize("path", NUMBERED, ids=name_of)
def test_a_lesson_begins_with_its_number_title_minutes_and_needs(path: Path) -> None:
    plan = LESSONS[path.parent.name[:2]]
    [title] = tagged(path, "title")
    assert title.splitlines()[0] == f"# Lesson {int(plan.number)}. {plan.title}"
    assert f"**{plan.minutes} minutes." in title
    assert path.parent.name == plan.folder


@pytest.mark.parametrize("path", NUMBERED, ids=name_of)
def test_a_lesson_asks_every_exercise_once_the_core_first_and_the_extra_under_a_heading_of_their_own(path: Path) -> None:
    text = "\n".join(tagged(path, "exercise"))
    own = [item.id for item in items.of_lesson(int(path.parent.name[:2]))]
    core = LESSONS[path.parent.name[:2]].core_items
    before, _, after = text.partition("## Extra exercises")
    assert "## Try it yourself: core exercises" in before
    assert EXERCISE.findall(before) == list(core)
    assert EXERCISE.findall(after) == [item for item in own if item not in core]


def test_every_worked_example_to_finish_stands_in_its_lesson_between_the_workings_and_the_prediction() -> None:
    found = {}
    for path in NUMBERED:
        tags = ["/".join(cell["metadata"].get("tags", [])) for cell in cells(path)]
        for place, cell in enumerate(cells(path)):
            for item in WORKED.findall(source(cell)):
                assert tags[place] == "your-line"
                assert tags[place - 2] in ("worked", "picture")
                assert tags.index("by-hand") < place < tags.index("predict")
                found[item] = path.parent.name[:2]
    assert found == {item.id: item.id[1:3] for item in items.all_items() if item.rule == "next_line"}


@pytest.mark.parametrize("path", LESSON_FILES, ids=name_of)
def test_every_link_to_another_notebook_leads_somewhere(path: Path) -> None:
    for cell in cells(path):
        for target in re.findall(r"\]\((\.\./[^)#]+)", source(cell)):
            assert (path.parent / target).resolve().is_file(), target


def test_the_problems_of_an_unclean_notebook_are_found(tmp_path: Path) -> None:
    dirty = {
        "cells": [
            {"cell_type": "code", "id": "a", "metadata": {"scrolled": True}, "source": ["x = 1\n"] * 13,
             "outputs": [{"output_type": "stream"}], "execution_count": 3},
            {"cell_type": "code", "id": "a", "metadata": {"tags": ["hide-celll"]}, "outputs": [],
             "execution_count": None, "source": ['lesson.hint("L03-02")\nmarking.right_answer(v)']},
            {"cell_type": "markdown", "id": "B_", "metadata": {}, "source": ["word " * 81]},
        ],
        "metadata": {"kernelspec": {"name": "conda"}}, "nbformat": 4, "nbformat_minor": 5,
    }  # fmt: skip
    path = tmp_path / "dirty.ipynb"
    path.write_text(json.dumps(dirty))
    told = "\n".join(notebooks.problems(path))
    for trouble in (
        "expected the kernel's name only", "used twice", "metadata holds ['scrolled']", "outputs or an execution count",
        "13 lines of code", "more than one plain line of code is visible", "['hide-celll'] are not in the list", "write into the learner's record",
        "reaches for right answers", "81 words", "its id is not in small letters", "keys or spacing differ",
    ):  # fmt: skip
        assert trouble in told


def test_cleaning_makes_a_notebook_clean_and_changes_no_source(tmp_path: Path) -> None:
    path = LESSON_FILES[0]
    notebook = json.loads(path.read_text(encoding="utf-8"))
    for cell in notebook["cells"]:
        cell["metadata"]["scrolled"] = True
        if cell["cell_type"] == "code":
            cell["execution_count"] = 7
    copy = tmp_path / path.name
    copy.write_text(notebooks.written(notebooks.cleaned(notebook)), encoding="utf-8")
    assert notebooks.problems(copy) == []
    assert copy.read_text(encoding="utf-8") == path.read_text(encoding="utf-8")
