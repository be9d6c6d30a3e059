"""The choice of a language, on the home page of the course and in its first lesson."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import traitlets

from gearkit.lesson import lesson_copies
from gearkit.lesson.course.language import language_of, name_of, speak_as
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.record import Record
from gearkit.words.say import ENGLISH, languages, say

# Each language says by itself what is chosen here: whoever looks for it may read no other.
LEGEND = "Language · Sprache"


class LanguagePanel(Panel):
    """The choice of a language: lessons on the shelf are brought into it at once, and what was worked in them stays.

    Args:
        record: the learner's record.
        shelf: the folder of the lessons; None where there is none, so that only this notebook changes.
    """

    _esm = script("language_panel")
    legend = traitlets.Unicode(LEGEND).tag(sync=True)
    choices = traitlets.List().tag(sync=True)
    chosen = traitlets.Unicode(ENGLISH).tag(sync=True)
    told = traitlets.Unicode("").tag(sync=True)

    def __init__(self, record: Record, shelf: Path | None) -> None:
        self._record, self._shelf = record, shelf
        choices = [[code, name_of(code)] for code in languages()]
        super().__init__(title=LEGEND, choices=choices, chosen=language_of(record))
        self.observe(self._on_chosen, "chosen")

    def words(self) -> str:
        """Return which language is chosen and what there is."""
        names = dict(self.choices)
        return f"{names[self.chosen]} ({', '.join(names.values())}). {self.told}".strip()

    def pictures(self) -> tuple[str, ...]:
        """A choice has no drawing."""
        return ()

    def _on_chosen(self, change: Any) -> None:
        code = str(change["new"])
        if code not in languages():
            return
        self._record.choose_language(code)
        speak_as(self._record)
        if self._shelf is not None:
            lesson_copies.fill(self._shelf, language=code)
        self.told = say(
            "The lessons are now in this language. A page that is open: close it and open it again, or choose File → Reload Notebook from Disk; then Run → Run All Cells."
        )
