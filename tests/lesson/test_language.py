"""The learner's language: chosen without code, remembered, and the language of every lesson from then on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from gearkit import open_lesson
from gearkit.cli.main import main
from gearkit.lesson import lesson_copies
from gearkit.lesson.course.language import changed_over
from gearkit.lesson.course.language_panel import LanguagePanel
from gearkit.lesson.record import Record
from gearkit.words.errors import UsageError
from gearkit.words.say import in_notebook


@pytest.fixture(autouse=True)
def _english_afterwards() -> Iterator[None]:
    yield
    in_notebook(None)


@pytest.fixture(scope="module")
def german_shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shelf")
    assert main(["lessons", "--to", str(folder), "--language", "de", "--no-browser"]) == 0
    return folder


def home_page(shelf: Path) -> str:
    cells = json.loads((shelf / "home.ipynb").read_text(encoding="utf-8"))["cells"]
    return str(cells[0]["outputs"][0]["data"]["text/plain"])


def test_the_command_puts_the_lessons_there_in_a_language_and_remembers_it(german_shelf: Path) -> None:
    assert "Nächster Schritt:" in home_page(german_shelf)
    assert Record(german_shelf / "my_record.json").language == "de"
    # Without the option the language that was chosen before stays.
    lesson_copies.fill(german_shelf)
    assert "Nächster Schritt:" in home_page(german_shelf)


def test_a_lesson_speaks_the_language_of_its_record_or_one_of_its_own(german_shelf: Path) -> None:
    record = german_shelf / "my_record.json"
    assert "Dein Lernprotokoll" in repr(open_lesson("03", record))
    assert "Your record" in repr(open_lesson("03", record, language="en"))
    with pytest.raises(UsageError, match="There is no language 'xx'"):
        open_lesson("03", record, language="xx")


def test_the_choice_on_the_page_changes_the_record_the_shelf_and_the_notebook_and_back(tmp_path: Path) -> None:
    lesson_copies.fill(tmp_path, pictures=False)
    record = Record(tmp_path / "my_record.json")
    record.add("attempt", {"item": "L01-01"})
    panel = LanguagePanel(record, tmp_path)
    assert panel.choices == [["en", "English"], ["de", "Deutsch"]]
    panel.chosen = "de"
    assert "Reload Notebook" in panel.told
    assert "Nächster Schritt:" in home_page(tmp_path)
    assert "Dein Lernprotokoll" in repr(open_lesson("01", record.path))
    panel.chosen = "en"
    assert "Next step:" in home_page(tmp_path)
    assert "Your record" in repr(open_lesson("01", record.path))
    # What was written by another notebook meanwhile is there as well.
    again = Record(record.path)
    assert (again.language, [event["item"] for event in again.of_kind("attempt")]) == ("en", ["L01-01"])


def test_a_language_that_this_version_does_not_have_is_taken_as_english(tmp_path: Path) -> None:
    record = Record(tmp_path / "my_record.json")
    record.choose_language("xx")
    assert "Your record" in repr(open_lesson("01", record.path))


def notebook(*sources: str) -> bytes:
    cells = [{"id": f"c{number}", "cell_type": "markdown", "source": [source]} for number, source in enumerate(sources)]
    return json.dumps({"cells": cells}).encode()


def test_in_a_notebook_that_was_worked_in_only_what_is_as_it_was_handed_over_changes_its_language() -> None:
    mine = notebook("One.\nTwo.", "My own words.", "Mine alone.")
    before, now = notebook("One.\nTwo.", "Their words."), notebook("Eins.\nZwei.", "Ihre Worte.")
    cells = json.loads(changed_over(mine, before, now))["cells"]
    assert ["".join(cell["source"]) for cell in cells] == ["Eins.\nZwei.", "My own words.", "Mine alone."]
    assert changed_over(b"no notebook", before, now) == b"no notebook"
