"""A notebook as the parts of a page: prose, code with what it gives, places for panels, and what stands for them."""

from __future__ import annotations

import contextlib
import itertools
import json
import os
import re
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gearkit.lesson.course import glossary
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.record import FORMAT, RECORD_VARIABLE
from gearkit.site import page, prose
from gearkit.site.notebook_cells import Cell, Result, cells_of, is_for_notebooks_only, results
from gearkit.site.panel_state import stored
from gearkit.site.panel_traits import module_of

_SYMPY = re.compile(r"^\s*(?:from|import) sympy\b", re.MULTILINE)


@dataclass(frozen=True)
class Parts:
    """What a page takes from a notebook.

    Args:
        cells: the notebook's cells.
        html: all of them as HTML, in order.
        results: what each code cell gave, in order.
        panels: by the cell's name, what the page holds of its live panel.
    """

    cells: tuple[Cell, ...]
    html: str
    results: tuple[Result, ...]
    panels: dict[str, dict[str, Any]]

    @property
    def waiting(self) -> int:
        """How many cells show what needs Python."""
        return sum(result.waits for result in self.results)

    @property
    def for_python(self) -> list[dict[str, str]]:
        """The code cells as Python runs them behind the page, each with the module of the panel that it shows."""
        return [
            {"id": result.cell.name, "source": result.cell.source, "module": _module(result)}
            for result in self.results
            if not is_for_notebooks_only(result.cell)
        ]

    @property
    def needs_sympy(self) -> bool:
        """Whether a cell imports SymPy."""
        return any(_SYMPY.search(result.cell.source) for result in self.results)


def _module(result: Result) -> str:
    return module_of(result.value) if isinstance(result.value, Panel) else ""


# What these cells say is about a form or a task below them.
_ABOUT_WHAT_FOLLOWS = frozenset({"exercise", "predict", "recall", "progress", "your-line"})
_HEADING_ALONE = re.compile(r"(#{1,6}) [^\n]*\s*")


def parts_of(path: Path, address: Callable[[str], str | None], waiting: str, *, words: bool = True) -> Parts:
    """Run a notebook once and return the parts of its page.

    Args:
        path: the notebook.
        address: gives the page's address for a link's target, or None.
        waiting: what is said in the place of what needs Python; "" leaves those places out, with the words about them.
        words: whether words of the glossary are explained where they first stand.

    Raises:
        GearkitError: the file is no notebook, or a cell fails.
    """
    cells = cells_of(path)
    with own_record(), contextlib.chdir(path.parent):
        given = {result.cell.name: result for result in results(cells, {"__name__": "__main__"})}
    marks = glossary.Marks() if words else None
    html = [
        page.place_of(given[cell.name], waiting)
        if cell.is_code
        else prose.to_html(marks.put(cell.source, cell.tags) if marks else cell.source, address)
        for cell in (cells if waiting else _with_something_below(cells, given))
    ]
    panels = {name: stored(result.panel) for name, result in given.items() if result.panel is not None}
    return Parts(tuple(cells), "\n".join(html), tuple(given.values()), panels)


def _with_something_below(cells: Sequence[Cell], given: Mapping[str, Result]) -> list[Cell]:
    """Return the cells without words about what is left out, and without headings above nothing."""
    kept: list[Cell] = []
    for number, cell in enumerate(cells):
        below = list(itertools.takewhile(lambda each: each.is_code, cells[number + 1 :]))
        about = below and not cell.is_code and _ABOUT_WHAT_FOLLOWS & {*cell.tags, *below[0].tags}
        if not (about and all(given[each.name].waits for each in below)):
            kept.append(cell)
    return [cell for number, cell in enumerate(kept) if not _above_nothing(cell, kept[number + 1 :], given)]


def _above_nothing(cell: Cell, after: Sequence[Cell], given: Mapping[str, Result]) -> bool:
    heading = None if cell.is_code else _HEADING_ALONE.fullmatch(cell.source)
    if heading is None:
        return False
    seen = next((each for each in after if not (each.is_code and given[each.name].waits)), None)
    next_heading = re.match(r"#{1,6}(?= )", seen.source) if seen is not None and not seen.is_code else None
    return seen is None or (next_heading is not None and len(next_heading[0]) <= len(heading[1]))


@contextlib.contextmanager
def own_record(seed: str = "") -> Iterator[None]:
    """Let cells write to a record that is thrown away: neither the maker's own is touched, nor does a page show it.

    Args:
        seed: from which its numbers are drawn; other ones each time when empty.
    """
    named = os.environ.get(RECORD_VARIABLE)
    with tempfile.TemporaryDirectory(prefix="gearkit-site-") as folder:
        path = Path(folder) / "record.json"
        if seed:
            path.write_text(json.dumps({"format": FORMAT, "seed": seed, "events": []}), encoding="utf-8")
        os.environ[RECORD_VARIABLE] = str(path)
        try:
            yield
        finally:
            if named is None:
                del os.environ[RECORD_VARIABLE]
            else:
                os.environ[RECORD_VARIABLE] = named
