"""Words explained where they first stand in a lesson, and the glossary with its pictures, on the learner's shelf only."""

from __future__ import annotations

import base64
import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from gearkit.lesson import lesson_copies
from gearkit.lesson.course import glossary
from gearkit.lesson.course.links import HOME
from gearkit.text import places

LINK = re.compile(r'\[([^\]]+)\]\(\.\./glossary/glossary\.ipynb#(\S+) "([^"]+)"\)')


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lesson_copies.hand_over(tmp_path_factory.mktemp("words") / "lessons")


def prose(path: Path) -> list[str]:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"]


def notebook(*sources: str, **tags: Any) -> dict[str, Any]:
    return {"cells": [{"cell_type": "markdown", "metadata": tags, "source": source} for source in sources]}


def marked(*sources: str) -> list[str]:
    return ["".join(cell["source"]) for cell in glossary.marked(notebook(*sources))["cells"]]


def test_every_word_of_the_glossary_has_one_meaning() -> None:
    found = glossary.terms()
    assert found["carrier"].meaning == "carries the planet pins; has no teeth of its own."
    assert found["overdrive"].meaning == "between 0 and 1."
    assert found["one-way clutch"].meaning == "holds in one direction and lets go in the other; then it overruns."
    assert found["output locked"].meaning == found["input locked"].meaning
    assert found["torque converter"].meaning == "pump on the engine, turbine on the input."
    assert all(term.meaning and "**" not in term.meaning and "$" not in term.meaning for term in found.values())
    assert len(found) > 80


def test_a_word_is_explained_where_it_first_stands_and_nowhere_else() -> None:
    first, second = marked("The carrier turns; two carriers meet a **tie-up**.", "A carrier again, and brakes.")
    assert LINK.findall(first) == [
        ("carrier", "The-set", "carrier: carries the planet pins; has no teeth of its own."),
        ("tie-up", "States", "tie-up: elements contradict each other; neither end can turn."),
    ]
    assert first.endswith(
        'a **[tie-up](../glossary/glossary.ipynb#States "tie-up: elements contradict each other; neither end can turn.")**.'
    )
    assert [word for word, _, _ in LINK.findall(second)] == ["brakes"]


def test_words_that_are_explained_together_are_named_together_so_that_none_gets_the_meaning_of_the_other() -> None:
    [text] = marked("With C stuck off it drives no more; later one is off-going.")
    assert [title for _, _, title in LINK.findall(text)] == [
        "stuck on, stuck off: an element that cannot let go, or cannot hold.",
        "off-going, on-coming: the element that lets go, the one that takes hold.",
    ]


def test_the_longest_word_wins_and_everyday_words_are_left_alone() -> None:
    [text] = marked("A one-way clutch holds. Open the lesson, step by step; drive on in series.")
    assert [word for word, _, _ in LINK.findall(text)] == ["one-way clutch"]


@pytest.mark.parametrize("source", [
    "## The carrier", "`carrier`", "$carrier$", "$$carrier + brake$$", "[the carrier](x.ipynb)", "| carrier |\n|---|\n| brake |",
    "```\ncarrier\n```", "![carrier](data:x)", "sub-carrier and carrier-like",
])  # fmt: skip
def test_headings_formulas_code_tables_and_links_stay_as_they_are(source: str) -> None:
    assert marked(source) == [source]


def test_each_lesson_on_the_shelf_explains_words_once_with_links_that_lead_somewhere(shelf: Path) -> None:
    headings = {
        line[3:].replace(" ", "-") for text in prose(shelf / glossary.FILE) for line in text.split("\n") if line[:3] == "## "
    }
    for path in sorted(shelf.glob("[01]*/*.ipynb")):
        own = json.loads((places.lessons() / path.relative_to(shelf)).read_text(encoding="utf-8"))
        found = [link for text in prose(path) for link in LINK.findall(text)]
        # Words that are explained together have one explanation, which names them all.
        told = Counter(title for _, _, title in found)
        assert all(count <= 1 + title.partition(": ")[0].count(", ") for title, count in told.items())
        assert {section for _, section, _ in found} <= headings
        assert path.parts[-2][:2] in ("00", "15") or len(found) >= 3
        # Nothing but links was put in.
        bare = ["".join(cell["source"]) for cell in own["cells"] if cell["cell_type"] == "markdown"]
        assert [LINK.sub(r"\1", text) for text in prose(path)] == [LINK.sub(r"\1", text) for text in bare]


def test_the_glossary_on_the_shelf_shows_pictures_that_say_what_they_show(shelf: Path) -> None:
    pictures = [
        found
        for text in prose(shelf / glossary.FILE)
        for found in re.findall(r"!\[([^\]]+)\]\(data:image/svg\+xml;base64,([^)]+)\)", text)
    ]
    assert len(pictures) == sum(map(len, glossary._PICTURES.values()))
    for words, content in pictures:
        assert len(words) > 40
        assert base64.b64decode(content).startswith(b"<svg")
    assert not any("data:image" in text for text in prose(places.lessons() / glossary.FILE))


def test_pictures_may_come_later_and_come_once(tmp_path: Path) -> None:
    first = lesson_copies.fill(tmp_path / "mine", pictures=False)
    path = first.folder / glossary.FILE
    assert "data:image" not in path.read_text(encoding="utf-8")
    home = (first.folder / HOME).stat().st_mtime_ns
    later = lesson_copies.fill(first.folder)
    assert (later.updated, later.beside) == ((path,), ())
    assert "data:image" in path.read_text(encoding="utf-8")
    assert lesson_copies.fill(first.folder).updated == ()
    assert (first.folder / HOME).stat().st_mtime_ns == home


def test_a_glossary_that_somebody_wrote_in_stays(tmp_path: Path) -> None:
    folder = lesson_copies.fill(tmp_path / "mine", pictures=False).folder
    (folder / glossary.FILE).write_text("my own words")
    lesson_copies.fill(folder)
    assert (folder / glossary.FILE).read_text() == "my own words"


def test_what_is_no_notebook_stays_as_it_is() -> None:
    for content in (b"version 2", b"[]", b"\xff"):
        assert glossary.own_copy(content, Path("03_x/y.ipynb")) == content
    assert glossary.own_copy(b'{"cells": []}', Path("instructor/instructor.ipynb")) == b'{"cells": []}'
