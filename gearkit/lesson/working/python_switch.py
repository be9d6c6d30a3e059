"""The switch at the head of a lesson that shows or folds the working in Python, which stands in folded cells."""

from __future__ import annotations

from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.words.say import later, say

_HOW = later("The working in Python is folded. To see it in one place, click on its line; everywhere: View → Expand All Code.")


class PythonSwitch(Panel):
    """A button; without a kernel or a script it says where the notebook's own menu has the same."""

    _esm = script("python_switch")

    def words(self) -> str:
        """Return where the working is found."""
        return say(_HOW)

    def pictures(self) -> tuple[str, ...]:
        """Return nothing: a button needs no picture."""
        return ()
