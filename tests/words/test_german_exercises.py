"""In German an exercise of a lesson is an Übung, what stands on a sheet that is marked an Aufgabe, what asks for a prediction a Vorhersageaufgabe."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from babel.messages.pofile import read_po

FILES = sorted((Path(__file__).parents[2] / "gearkit" / "words" / "catalogues" / "de").glob("*.po"))


def german_of(*places: str) -> Iterator[str]:
    """What is said in German in modules of these folders."""
    for file in FILES:
        with file.open("rb") as text:
            for message in read_po(text):
                if any(name.startswith(places) for name, _ in message.locations):
                    yield from [message.string] if isinstance(message.string, str) else message.string


def test_lessons_and_the_course_without_a_server_have_exercises() -> None:
    said = list(german_of("gearkit/lesson", "gearkit/site", "gearkit/answers/beliefs"))
    assert sum("Übung" in words for words in said) > 10
    assert [words for words in said if re.search(r"\bAufgaben?\b", words)] == []


def test_a_sheet_counts_what_is_marked() -> None:
    said = list(german_of("graders/sheets/first_page.py"))
    assert any("Aufgabe" in words for words in said)
    assert [words for words in said if "Übung" in words] == []
