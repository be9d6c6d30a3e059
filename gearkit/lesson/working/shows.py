"""How a lesson shows its working: results as tables, and the switch for the Python at its head."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import TYPE_CHECKING

from gearkit.words.say import say

if TYPE_CHECKING:
    from gearkit.lesson.working.python_switch import PythonSwitch
    from gearkit.lesson.working.results import Results, Value


class ShowsWorking(ABC):
    """What shows a lesson's working; the lesson itself says what stands at its head."""

    @property
    @abstractmethod
    def title(self) -> str:
        """The lesson's title."""

    @abstractmethod
    def _repr_html_(self) -> str:
        """The lesson's head as HTML."""

    def _ipython_display_(self) -> None:
        from IPython.display import display

        display({"text/html": self._repr_html_(), "text/plain": self.title}, raw=True)
        display(self.python())

    def python(self) -> PythonSwitch:
        """Return a button that shows the working in Python in the whole notebook, and folds it again."""
        from gearkit.lesson.working.python_switch import PythonSwitch

        return PythonSwitch(title=say("Working in Python"))

    def results(self, *lines: tuple[object, ...]) -> Results:
        """Return a table of what was worked out.

        Args:
            lines: for each result ("what it is", value, "unit", places after the point); unit and places if wanted.
        """
        from gearkit.lesson.working.results import results

        return results(lines)

    def table(self, head: Sequence[str], rows: Sequence[Sequence[Value]], places: int = 3) -> Results:
        """Return a table with headings.

        Args:
            head: headings of the columns.
            rows: the values of each row, as many as there are headings.
            places: places after the point at most.
        """
        from gearkit.lesson.working.results import table

        return table(head, rows, places)
