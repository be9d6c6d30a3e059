"""A small class for the tests: a course, a sheet, and learners who hand in what a test wants."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from graders.course import course as courses
from graders.course.course import Course
from graders.course.lateness import Rules
from graders.course.roster import Learner, Roster
from graders.hand_out import hand_out
from graders.sheets import drawn, sheets
from graders.sheets.sheet_rules import SheetRules
from graders.sheets.sheets import Sheet

LATE = Rules(grace_minutes=15, late_percent_per_day=10, late_days=3)
CLASS = Roster((Learner("s1", "Ann Lee", "D"), Learner("s2", "Ødegård, Kåre", "E"), Learner("s3", "Cy Ek", "E")))
TIME = "2026-02-03 10:00:00 UTC"
Write = Callable[[Variant], str]


# What marks in the tests are told for.
NINE_OF_LESSON_3 = ", ".join(f"L03-0{number}" for number in range(1, 10))


class Classroom:
    """A course that was handed out to a class."""

    def __init__(
        self,
        folder: Path,
        source: str = NINE_OF_LESSON_3,
        name: str = "A1",
        due: str = "",
        roster: Roster = CLASS,
        gradebook: str = "",
        rules: SheetRules | None = None,
        kind: str = "graded",
    ) -> None:
        self.course: Course = courses.create(folder / "course", title="Test course", gradebook=gradebook, rules=LATE)
        self.sheet: Sheet = sheets.compose(
            source, name, due=due, rules=rules, kind=kind, title="Lesson 3" if source == NINE_OF_LESSON_3 else ""
        )
        hand_out.hand_out(self.course, self.sheet, roster)

    def variants(self, learner: str) -> dict[str, Variant]:
        """The learner's variants by item."""
        found = drawn.variants_for(self.course, self.sheet, learner)
        return {variant.item.id: variant for variant in found}

    def copy(self, learner: str, write: Write | None = None) -> dict[str, Any]:
        """The learner's copy, with every answer cell written anew."""
        book: dict[str, Any] = json.loads(self.course.handed_out_file(learner, self.sheet.name).read_text())
        variants = self.variants(learner)
        for cell in book["cells"]:
            item = cell["metadata"]["gearkit"].get("item")
            if item and write:
                cell["source"] = write(variants[item])
        return book

    def hand_in(self, learner: str, book: Mapping[str, Any] | bytes, name: str = "", time: str = TIME) -> Path:
        """Put something into the learner's folder."""
        folder = self.course.submitted_folder(learner, self.sheet.name)
        folder.mkdir(parents=True, exist_ok=True)
        data = book if isinstance(book, bytes) else json.dumps(book).encode()
        (folder / (name or f"{self.sheet.name}.ipynb")).write_bytes(data)
        if time:
            (folder / "timestamp.txt").write_text(time)
        return folder


def call(item: str, parts: Mapping[str, str]) -> str:
    """A call of answer with texts."""
    if set(parts) == {"answer"}:
        return f"answer({item!r}, {parts['answer']!r})"
    return f"answer({item!r}, " + ", ".join(f"{name}={text!r}" for name, text in parts.items()) + ")"


def right(variant: Variant) -> str:
    """The answer cell of somebody who knows everything."""
    return call(variant.item.id, marking.right_answer(variant))


def wrong(variant: Variant) -> str:
    """The answer cell of somebody who makes the item's first named mistake."""
    return call(variant.item.id, marking.wrong_texts(variant, variant.key.wrong_forms[0]))


def blank(variant: Variant) -> str:
    """The answer cell as handed out."""
    return variant.answer_cell()


def computed(variant: Variant) -> str:
    """A right answer that has to be run to be known."""
    parts = marking.right_answer(variant)
    return f"texts = {parts!r}\nfor _ in range(1):\n    answer({variant.item.id!r}, texts)"
