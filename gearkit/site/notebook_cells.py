"""A notebook's cells, and what each code cell gives when it is run once, for a page that is made from it."""

from __future__ import annotations

import ast
import contextlib
import io
import json
import pprint
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path

from gearkit.lesson.course.prose import said_source
from gearkit.lesson.learnt.progress import Progress
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.told import CheckResult, Message
from gearkit.lesson.workbook import Lesson
from gearkit.site.page_words import INSTEAD
from gearkit.words.errors import GearkitError
from gearkit.words.say import say

# A cell that wires the notebook's own controls has a use only where cells can be changed.
_NOTEBOOK_ONLY = "ipywidgets"
# Letters in a line of a long value, as in a notebook.
_WIDTH = 79


@dataclass(frozen=True)
class Cell:
    """One cell of a notebook.

    Args:
        name: its id.
        is_code: whether it holds code.
        source: its text.
        tags: its roles, such as "worked".
        folded: whether the notebook shows it folded into its first line.
    """

    name: str
    is_code: bool
    source: str
    tags: tuple[str, ...] = ()
    folded: bool = False


@dataclass(frozen=True)
class Result:
    """What a code cell gave.

    Args:
        cell: the cell.
        value: what its last line gave; None for nothing.
        printed: what it printed.
    """

    cell: Cell
    value: object = None
    printed: str = ""

    @property
    def waits(self) -> bool:
        """Whether what it shows depends on the learner and needs Python: an exercise, a task, progress, a layout put together."""
        if isinstance(self.value, Panel):
            return self.value.for_one_learner
        return isinstance(self.value, Progress | Message | CheckResult)

    @property
    def panel(self) -> Panel | None:
        """The live panel that it showed, which needs no Python to be live."""
        return self.value if isinstance(self.value, Panel) and not self.waits else None

    @property
    def title(self) -> str:
        """What it is that waits for Python."""
        if isinstance(self.value, Panel):
            return str(self.value.title)
        return say("Your progress") if isinstance(self.value, Progress) else say("Your answer")

    @property
    def html(self) -> str:
        """What it printed and showed, as HTML; "" for nothing."""
        return (f"<pre>{escape(self.printed)}</pre>" if self.printed else "") + html_of(self.value)


def cells_of(path: Path, *, for_page: bool = True) -> list[Cell]:
    """Return the cells of a notebook that a page shows, in the reader's language.

    Args:
        path: the notebook.
        for_page: whether a page's own words stand where cells speak of running cells.

    Raises:
        GearkitError: the file is no notebook.
    """
    try:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        read = [_cell(number, cell) for number, cell in enumerate(cells) if cell["cell_type"] in ("code", "markdown")]
    except (OSError, ValueError, KeyError, TypeError) as fault:
        raise GearkitError(f"{path}: is no notebook that can be read ({fault}); give a file that ends in .ipynb.") from None
    told = [_told(cell, INSTEAD if for_page else {}) for cell in read]
    return [cell for cell in told if cell.source]


def _told(cell: Cell, instead: Mapping[str, str]) -> Cell:
    if cell.name in instead:
        return replace(cell, source=say(instead[cell.name]))
    return replace(cell, source=said_source(cell.name, cell.source, is_code=cell.is_code))


def _cell(number: int, cell: dict[str, object]) -> Cell:
    source = cell.get("source", "")
    text = "".join(source) if isinstance(source, list) else str(source)
    about = cell.get("metadata")
    metadata = about if isinstance(about, dict) else {}
    tags = tuple(map(str, metadata.get("tags", [])))
    folded = bool(metadata.get("jupyter", {}).get("source_hidden"))
    return Cell(str(cell.get("id") or f"cell-{number}"), cell["cell_type"] == "code", text, tags, folded)


def is_for_notebooks_only(cell: Cell) -> bool:
    """Return whether a cell has its use only in a notebook, where it can be changed."""
    return _NOTEBOOK_ONLY in cell.source


def results(cells: Iterable[Cell], space: dict[str, object]) -> Iterator[Result]:
    """Run the code cells of a notebook in order and yield what each gives.

    Args:
        cells: all cells of the notebook.
        space: the names that cells share; it is filled.

    Raises:
        GearkitError: a cell fails.
    """
    for cell in cells:
        if not cell.is_code:
            continue
        if is_for_notebooks_only(cell):
            yield Result(cell)
            continue
        printed = io.StringIO()
        try:
            with contextlib.redirect_stdout(printed):
                value = _run(cell, space)
        except ModuleNotFoundError as fault:
            raise GearkitError(
                f"Cell {cell.name} needs the library {str(fault.name).partition('.')[0]}, which is not to be had here; run it in JupyterLab, where it is."
            ) from fault
        except Exception as fault:
            raise GearkitError(f"Cell {cell.name} fails when it is run: {type(fault).__name__}: {fault}") from fault
        yield Result(cell, value, printed.getvalue())


def _run(cell: Cell, space: dict[str, object]) -> object:
    tree = ast.parse(cell.source, cell.name)
    last = tree.body[-1] if tree.body else None
    shows = isinstance(last, ast.Expr) and not cell.source.rstrip().endswith(";")
    body = tree.body[:-1] if shows else tree.body
    exec(compile(ast.Module(body, []), cell.name, "exec"), space)
    if not shows or not isinstance(last, ast.Expr):
        return None
    return eval(compile(ast.Expression(last.value), cell.name, "eval"), space)


def html_of(value: object) -> str:
    """Return what a notebook would show of a value, as HTML; a page has its own words for the opened lesson.

    Args:
        value: what the last line of a cell gave.
    """
    if value is None or isinstance(value, Lesson):
        return ""
    as_html = getattr(value, "_repr_html_", None)
    return (
        str(as_html()) if as_html is not None else f"<pre>{escape(pprint.pformat(value, width=_WIDTH, sort_dicts=False))}</pre>"
    )
