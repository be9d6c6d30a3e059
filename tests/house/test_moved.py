"""Modules that moved are found at the addresses that stand in what people already have."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from gearkit.words.moved import MOVED

ROOT = Path(__file__).resolve().parents[2]
# Every line with which lessons and sheets of version 0.1.0 loaded something of the kit, as copied from them.
COPIED = (Path(__file__).with_name("imports_of_0_1_0.txt")).read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize("line", COPIED)
def test_a_copied_lesson_finds_what_it_imports(line: str) -> None:
    names: dict[str, object] = {}
    exec(line, names)
    assert len(names) > 1


@pytest.mark.parametrize(("old", "new"), MOVED.items())
def test_an_old_address_gives_the_very_module_and_leaves_it_as_it_was(old: str, new: str) -> None:
    module = import_module(old)
    assert module is import_module(new)
    assert module.__spec__ is not None
    assert module.__spec__.name == module.__name__ == new


@pytest.mark.parametrize("setting", ["graders.mark.grading_page.MarkedByTheKit", "graders.prepare.fetch.OwnCopy"])
def test_settings_of_courses_made_before_still_name_their_classes(setting: str) -> None:
    code = f"from traitlets.utils.importstring import import_item; print(import_item({setting!r}).__name__)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT)
    assert (done.stdout.strip(), done.returncode) == (setting.rpartition(".")[2], 0), done.stderr


def test_a_copied_lesson_shows_svg_text_with_words_of_its_own() -> None:
    """Lesson 8 of version 0.1.0 calls it so."""
    still = import_module("gearkit.lesson.pictures").Still("<svg></svg>", "Loaded levers.")
    assert repr(still) == "Loaded levers."
    assert "<svg></svg>" in still._repr_html_()


def test_a_copied_notebook_for_instructors_finds_the_named_mistakes_of_an_item() -> None:
    """Notebooks of versions up to 0.4.1 ask an item for its slips."""
    items = import_module("gearkit.answers.items").all_items()
    assert all(item.slips == item.named_mistakes for item in items)
    assert any(item.slips for item in items)
