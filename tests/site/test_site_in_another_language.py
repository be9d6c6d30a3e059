"""The course as pages can be translated whole: every page of a site, and whatever its JavaScript says."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from gearkit.cli.main import main
from gearkit.lesson.panels.bundle import said_in
from gearkit.lesson.syllabus import LESSONS
from gearkit.print import web_page
from gearkit.site import course_site, kit_archives, page, page_words, pyodide_files, sheet_pages
from gearkit.site.class_page import class_page
from gearkit.site.handout import handout, notebook
from gearkit.site.page import STATIC, modules_of
from gearkit.site.sheet_pages import Copy
from gearkit.site.single_page import single_page
from gearkit.train.catalogue import find
from gearkit.words.errors import UsageError
from gearkit.words.say import say, speaking, speaking_language
from tests.lesson import javascript
from tests.lesson.test_exercise_in_another_language import said_nowhere
from tests.support.messages import all_messages
from tests.support.pseudo import Pseudo, escaped, given_name, seen_in

# Names of programs, formats and files, and units.
_SAME = {"Python", "JupyterLab", "my_record", "json", "MB", "kW", "kJ", "mm", "min", "JavaScript", "SVG", "WebGL", "Quillbrook"}
_SCRIPTS = sorted(path for path in STATIC.iterdir() if path.suffix in (".js", ".mjs"))
# What nobody reads: what the program itself tells in the browser's console, styles, headers, keys of what is kept.
_NO_WORDS = {
    "cells_extension": ("my_record.json", "display:inline-block", "Back", ".gk-low", "margin: 0", "gearkit:record"),
    "cells_start": ("margin:1rem", "gearkit/cells tried"),
    "class_page": ("gearkit class page: ", "guess right"),
    "home_page": ("due again",),
    "kept_record": ("([0-9A-Za-z]+)",),
    "python_files": ("there is no memory for the image",),
    "sheet_page": ("Python (Pyodide)", "gearkit/sheet "),
    "worker": ("Python starts without its memory image:", "\n\n"),
}  # fmt: skip


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


def left_in(text: str, *names: str) -> list[str]:
    return escaped(seen_in(re.sub(r"<(pre|code)\b.*?</\1>", " ", text, flags=re.DOTALL)), {*_SAME, *names})


@pytest.fixture
def pages(language: Pseudo, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The pages of a site in the language, with two lessons and without Python."""

    def none(_given: object) -> dict[str, bytes]:
        raise UsageError("No Python here.")

    monkeypatch.setattr(course_site, "LESSONS", {number: LESSONS[number] for number in ("00", "03")})
    monkeypatch.setattr(pyodide_files, "files", none)
    with speaking(language):
        site = course_site.build()
    return {name: content.decode() for name, content in site.files.items() if name.endswith((".html", ".js"))}


def test_no_word_of_a_page_of_the_site_goes_round_the_catalogue(pages: dict[str, str]) -> None:
    left = {name: left_in(text) for name, text in pages.items() if name.endswith(".html")}
    assert {"index.html", "record.html", "glossary.html"} < set(left)
    assert {name: words for name, words in left.items() if words} == {}
    # What the pages' JavaScript says comes along with it.
    (table,) = re.findall(r"module_words\.speak\((\{.*\})\);", pages["gearkit.js"])
    assert set(json.loads(table)) > {
        "This needs Python, which is not here.",
        "Saved as {file}, where your browser puts what it downloads.",
    }


def test_one_message_of_a_page_that_is_missing_is_found() -> None:
    with speaking(Pseudo(without=["My record"])):
        assert left_in(course_site._record_main()) == ["['My', 'record']: My record"]


def test_notebooks_beside_the_pages_are_offered_in_the_language(language: Pseudo) -> None:
    with speaking(language):
        assert left_in(course_site._home([("units/x.html", "X")], notebooks=True)) == []
        assert left_in(sheet_pages.in_a_notebook()) == []


def test_a_page_for_one_lesson_and_one_for_a_class_are_in_the_language(language: Pseudo) -> None:
    layout = find("Q36")
    with speaking(language):
        alone, for_a_class = single_page("03"), class_page(layout)
    assert left_in(alone) == []
    assert left_in(for_a_class, *re.findall(r"\w+", given_name(layout))) == []
    held: dict[str, Any] = json.loads(re.findall(r'id="gk-stored">(.*?)</script>', for_a_class, re.DOTALL)[0])
    texts = [*held["guesses"], *(question[name] for question in held["questions"] for name in ("look", "right", "found"))]
    assert escaped(texts) == []


def test_a_lesson_on_paper_is_in_the_language(language: Pseudo) -> None:
    with speaking(language):
        text = web_page.page(handout(notebook("03")))
    assert left_in(text) == []


@pytest.mark.parametrize("command", [["class", "Q36"], ["print", "03"], ["site", "--single", "03"]], ids=lambda words: words[0])
def test_the_commands_that_make_pages_take_a_language(command: list[str], tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    assert main([*command, "--language", "de", "-o", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    assert '<html lang="de"' in text
    assert "Hohlrad" in text
    assert main([*command, "-o", str(page)]) == 0
    assert "Hohlrad" not in page.read_text(encoding="utf-8")


@pytest.mark.parametrize("code", ["en", "de"])
def test_a_sheet_keeps_its_own_language_on_a_page_in_another(code: str, language: Pseudo) -> None:
    with speaking_language(code):
        head = say(page_words.RUNNING)
        choice = say(page_words.ONE_OF, options="`north`, `south`")
    cells = [
        {"cell_type": "markdown", "source": f"# A1\n\n{head} Last."},
        {"cell_type": "markdown", "source": f"### 1. Turn\n\n- `way`: way ({choice})\n- `S`: size"},
        {
            "cell_type": "code", "id": "a", "source": 'answer("X01-A", way="", S="")',
            "metadata": {"gearkit": {"item": "X01-A"}},
        },
    ]  # fmt: skip
    with speaking(language):
        text, _ = sheet_pages.page_of(Copy(Path("A1.ipynb"), "A1", "s1", 1, {"cells": cells}))
    assert head not in text
    assert "Last." in text
    assert re.findall(r'<option value="(\w+)">', text) == ["north", "south"]
    own = re.sub(r"<(h\d|li|p)>.*?</\1>", "", text)
    assert left_in(own, "X01", "way", "size", "north", "south", "one", "of", "eins", "von") == []


@pytest.mark.parametrize("path", _SCRIPTS, ids=lambda path: path.stem)
def test_every_word_in_the_javascript_of_the_site_is_said(path: Path) -> None:
    words = said_nowhere(path.read_text(encoding="utf-8"))
    assert [each for each in words if not each.startswith(_NO_WORDS.get(path.stem, ("change:",)))] == []


def test_every_message_of_the_sites_javascript_is_known_to_whoever_translates() -> None:
    told = {message for path in _SCRIPTS for pair in said_in(path.read_text(encoding="utf-8")) for message in pair if message}
    assert len(told) > 50
    assert {("", message) for message in told} <= all_messages()


def test_the_home_page_and_a_prediction_of_the_record_are_said_in_the_language_of_the_page() -> None:
    with speaking_language("de"):
        text = modules_of(["kept_record", "plain_number", "one_set"])
    said, trouble = javascript.evaluate(
        text,
        """const record = new module_kept_record.KeptRecord(null);
        record.begin();
        record.add("prediction", { prediction: "p", lesson: "03", panel: "one set", case: "x", said: { kind: "reverse reduction", typed: "-2" } });
        record.held = record.held.replace(/"at":"[^"]*"/, '"at":"2026-03-04T05:06:00+00:00"');
        return [record.history("03", "one set")[0], module_plain_number.plainNumber("x").trouble];""",
        {},
    )
    assert re.fullmatch(r"4\. März, \d\d:06: x: deine Vorhersage rückwärts ins Langsame, −2", said)
    assert trouble == "„x“ wird hier nicht als Zahl gelesen. Schreib sie als 7/4, 1,75 oder -2."


def test_python_behind_a_page_gets_the_words_of_its_language_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kit_archives, "package", lambda _name: iter(()))
    monkeypatch.setattr(kit_archives, "packed", lambda held: sorted(held))
    assert not any(name.endswith(".po") for name in kit_archives.kit())
    with speaking_language("de"):
        assert "gearkit/words/catalogues/de/kit.po" in kit_archives.kit()
        assert '<html lang="de"' in page.framed("Seite", "")
