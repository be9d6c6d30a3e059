"""Gets the texts of the answers out of a handed-in notebook: read where that is enough, run where it is not.

A notebook is read when each of its code cells is plain (`graders.run.read.reading`) or one of the sheet's own cells as
handed out. Otherwise all of its code cells are run, in order, in the sandbox. Both ways go through the same
merging here, so that they give the same texts: the last answer that is not blank counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from gearkit.answers.symbols import Written, symbols
from graders.run.engines.reply_protocol import MOST_ITEMS
from graders.run.engines.runner import Run
from graders.run.read import reaching, reading
from graders.run.read.notebooks import Cell, Notebook
from graders.run.sandbox.kit_parts import HiddenPartError, LessonCallError

Execute = Callable[[Sequence[str], Sequence[str]], Run]
Answers = Mapping[str, Mapping[str, str]]
OWN_CELL = "setup"
# Text made for it takes Python some microseconds a letter to parse, and all cells together may have millions of letters.
LONGEST_PARSED = 500_000


@dataclass(frozen=True)
class SheetCells:
    """What the harvest has to know of a sheet; no secret, no key.

    Args:
        items: names of the sheet's items.
        setup: sources of the code cells that the sheet brings itself.
        symbols: names of the lesson symbols that these cells define.
    """

    items: tuple[str, ...]
    setup: tuple[str, ...]
    symbols: tuple[str, ...] = ()

    def written(self) -> dict[str, Written]:
        """The lesson symbols by name."""
        return dict(zip(self.symbols, symbols(" ".join(self.symbols)), strict=True))


@dataclass(frozen=True)
class Harvest:
    """The answers of one submission, as texts.

    Args:
        answers: text by item and part, for items with an answer that is not blank.
        ways: how each of them was got: "read" or "run".
        broken: items without an answer whose cell is not Python, with the reason.
        flags: what was noticed, in an instructor's words.
        way: how the notebook as a whole was taken: "read", "run", or "none" where running was not possible.
        sources: text of the cell in which each item was last worked on, to be shown to the instructor.
    """

    answers: Answers = field(default_factory=dict)
    ways: Mapping[str, str] = field(default_factory=dict)
    broken: Mapping[str, str] = field(default_factory=dict)
    flags: tuple[str, ...] = ()
    way: str = "read"
    sources: Mapping[str, str] = field(default_factory=dict)


def harvest(notebook: Notebook, sheet: SheetCells, execute: Execute | None, *, always_run: bool = False) -> Harvest:
    """Get the answers out of a notebook.

    Args:
        notebook: the handed-in notebook.
        sheet: what the sheet brings itself.
        execute: runs cells in the sandbox; None where learner code must not be run.
        always_run: run even what could be read, to compare both ways.
    """
    flags: list[str] = []
    cells = _code_cells(notebook, sheet, flags)
    plain = _plain_answers(cells, sheet)
    gathered = _Gathered(sheet, flags)
    # A cell that is plain names nothing but symbols.
    asked = {place for place, answers in enumerate(plain) if answers is None and reaching.reached(cells[place].source)}
    if None not in plain and not always_run:
        way = "read"
        for answers in plain:
            gathered.take(answers or {}, "read")
    elif execute is None:
        way = "none"
        flags.append("Some cells need to be run, and learner code is not run here: only plain answers were taken.")
        for answers in plain:
            gathered.take(answers or {}, "read")
    else:
        way = "run"
        run = execute([cell.source for cell in cells], sheet.setup)
        _take_run(run, cells, plain, gathered)
        if run.complete:
            _take_untold(plain, gathered)
        asked |= {frame.cell for frame in run.frames if frame.fault == HiddenPartError.__name__}
        _take_after_lesson_calls(run, cells, sheet, gathered)
    if asked:
        flags.append(
            f"Code cells that reach for parts of the kit that hold answers: {_numbered(asked)}. They are kept from "
            "code while it is marked; please look at it."
        )
    _take_damaged(cells, plain, sheet, gathered)
    return gathered.result(way, _sources(cells, sheet))


def _code_cells(notebook: Notebook, sheet: SheetCells, flags: list[str]) -> list[Cell]:
    """The cells that count as code: code cells, and answer cells that were turned into another kind."""
    kept: list[Cell] = []
    retyped: list[str] = []
    own = {_squeezed(source) for source in sheet.setup}
    for cell in notebook.cells:
        if not cell.source.strip():
            continue
        if cell.item == OWN_CELL:
            # The sheet's own cells are run as handed out, before all others.
            if _squeezed(cell.source) not in own:
                added = _added(cell, own)
                kept += added
                flags.append(
                    "The sheet's own cell was changed; it was taken as it was handed out"
                    + (", and what was added to it as another cell." if added else ".")
                )
            continue
        if cell.kind == "code":
            kept.append(cell)
        elif named := _answers_in_text(cell, sheet):
            retyped.append(named)
            kept.append(cell)
    if retyped:
        flags.append(f"{_listed(retyped)}: the answer stands in a cell that is no longer a code cell; it was taken.")
    if notebook.language and not notebook.language.lower().startswith(("python", "ipython")):
        flags.append(f"The notebook was saved for {notebook.language!r} and was taken as Python.")
    return kept


def _added(cell: Cell, own: Iterable[str]) -> list[Cell]:
    """What was added to one of the sheet's own cells, as when two cells are merged; where lines of it are missing as well
    all the rest is taken only if something is answered in it."""
    for source in own:
        missing, rest = source.splitlines(), list[str]()
        for line in _squeezed(cell.source).splitlines():
            if missing and line == missing[0]:
                missing.pop(0)
            else:
                rest.append(line)
        text = "\n".join(rest)
        if text.strip() and (not missing or "answer(" in text):
            return [Cell("code", text)]
    return []


def _answers_in_text(cell: Cell, sheet: SheetCells) -> str:
    """The item whose answer stands in a text cell, or ""."""
    if "answer" in cell.source and (items := reading.read_cell(cell.source, sheet.written())):
        return next((item for item in items if item in sheet.items), "")
    if cell.item in sheet.items and reading.bare_text(cell.source):
        return cell.item
    return ""


def _plain_answers(cells: Sequence[Cell], sheet: SheetCells) -> list[dict[str, dict[str, str]] | None]:
    """For each cell what it answers, or None where it would have to be run."""
    own = {_squeezed(source) for source in sheet.setup}
    written, left = sheet.written(), LONGEST_PARSED
    plain: list[dict[str, dict[str, str]] | None] = []
    for cell in cells:
        left -= len(cell.source)
        if _squeezed(cell.source) in own:
            plain.append({})
        elif left >= 0:
            plain.append(reading.read_cell(cell.source, written))
        else:
            plain.append(reading.at_a_glance(cell.source))
    return plain


def _sources(cells: Sequence[Cell], sheet: SheetCells) -> dict[str, str]:
    """For each item the last cell that is marked as its own or names it in a call."""
    own = {_squeezed(source) for source in sheet.setup}
    sources: dict[str, str] = {}
    for cell in cells:
        if _squeezed(cell.source) in own:
            continue
        if cell.item in sheet.items:
            sources[cell.item] = cell.source
        elif "answer" in cell.source:
            sources.update((item, cell.source) for item in sheet.items if item in cell.source)
    return sources


def _squeezed(source: str) -> str:
    return "\n".join(line.rstrip() for line in source.strip().splitlines())


class _Gathered:
    """Collects answers cell by cell; the last one that is not blank counts."""

    def __init__(self, sheet: SheetCells, flags: list[str]) -> None:
        self._sheet = sheet
        self.flags = flags
        self.answers: dict[str, dict[str, str]] = {}
        self._ways: dict[str, str] = {}
        self._times: dict[str, int] = {}
        self._unknown: set[str] = set()
        self.broken: dict[str, str] = {}

    def take(self, answers: Answers, way: str) -> None:
        """Take what one cell answered."""
        for item, parts in answers.items():
            if item not in self._sheet.items:
                self._unknown.add(item)
            elif any(parts.values()):
                if self.answers.get(item) != dict(parts):
                    self._times[item] = self._times.get(item, 0) + 1
                self.answers[item] = dict(parts)
                self._ways[item] = way

    def lacks(self, item: str) -> bool:
        """Whether an item of the sheet has no answer yet."""
        return item in self._sheet.items and item not in self.answers

    def result(self, way: str, sources: Mapping[str, str]) -> Harvest:
        """Everything gathered."""
        again = [item for item in self._sheet.items if self._times.get(item, 0) > 1]
        if again:
            self.flags.append(f"{_listed(again)}: answered more than once; the last answer counts.")
        if self._unknown:
            self.flags.append(
                f"Answers to items that this sheet does not have were left aside: {_listed(sorted(self._unknown))}."
            )
        return Harvest(self.answers, self._ways, self.broken, tuple(self.flags), way, sources)


def _take_run(run: Run, cells: Sequence[Cell], plain: Sequence[Answers | None], gathered: _Gathered) -> None:
    if run.note:
        gathered.flags.append(run.note)
    for frame in run.frames:
        gathered.take(frame.answers, "run")
        if (frame.fault or len(frame.answers) == MOST_ITEMS) and frame.cell < len(plain):
            # A plain cell cannot fail by itself, nor answer so much; something before it broke the notebook it ran in.
            gathered.take(plain[frame.cell] or {}, "read")
    slow = {frame.cell for frame in run.frames if frame.fault == "CellTimeout"}
    if slow:
        gathered.flags.append(f"Stopped because they ran too long: code cells {_numbered(slow)}.")
    told = {frame.cell for frame in run.frames if not frame.last}
    unreached = [place for place in range(len(cells)) if place not in told]
    # Code can say in the run's stead that it came to its end, and then lacks the word that the job asks for.
    if run.complete and not unreached:
        return
    reasons = {
        "time": "it ran longer than allowed",
        "flood": "it sent more than allowed",
        "memory": "it used more memory than allowed",
        "killed": "its process was killed, and again when it was run a second time (by its own code, or by this "
        "machine, as when it is short of memory)",
        "": "its code ended the run",
        "died": "its code ended the run",
        "no runner": "the sandbox could not be started",
        "no sandbox": "learner code is not run on this machine, which has no sandbox for it",
    }
    gathered.flags.append(
        f"The run was stopped in code cell {min([*unreached, len(cells) - 1]) + 1} of {len(cells)}: "
        f"{reasons.get(run.reason, run.reason)}. Answers before it were kept; "
        "plain answers after it were read from their cells."
    )
    # Where every cell is said to have ended, somebody else than the run said so.
    for answers in (plain[place] for place in unreached or range(len(cells))):
        gathered.take({item: parts for item, parts in (answers or {}).items() if item not in gathered.answers}, "read")


def _take_untold(plain: Sequence[Answers | None], gathered: _Gathered) -> None:
    """Take what stands plainly in cells of a run that came to its end and told nothing of it.

    Code can say in the run's stead that all cells were run, or put something of its own in place of `answer`.
    """
    untold: dict[str, Mapping[str, str]] = {}
    for answers in plain:
        untold.update({i: parts for i, parts in (answers or {}).items() if any(parts.values()) and gathered.lacks(i)})
    if untold:
        gathered.take(untold, "read")
        gathered.flags.append(
            f"{_listed(list(untold))}: the run told nothing of these answers, which stand plainly in its cells; they were read "
            "from there. Other code in the notebook kept the run from telling them; please look at it."
        )


def _take_after_lesson_calls(run: Run, cells: Sequence[Cell], sheet: SheetCells, gathered: _Gathered) -> None:
    """Take what stands plainly behind a call of a lesson, at which its cell ended: the call costs itself and nothing else."""
    ended = [frame for frame in run.frames if frame.fault == LessonCallError.__name__ and frame.cell < len(cells)]
    for frame in ended:
        plain = reading.plain_statements(cells[frame.cell].source, sheet.written())
        gathered.take({item: parts for item, parts in plain.items() if item not in frame.answers}, "read")
    if ended:
        gathered.flags.append(
            f"Code cells that call a lesson or its exercises, which are not there while a sheet is marked: "
            f"{_numbered({frame.cell for frame in ended})}. It cost nothing else."
        )


def _take_damaged(cells: Sequence[Cell], plain: Sequence[Answers | None], sheet: SheetCells, gathered: _Gathered) -> None:
    """Take answers that stand in a cell without a proper call, where the item has none; both ways alike."""
    damaged: list[str] = []
    left = LONGEST_PARSED
    for cell, answers in zip(cells, plain, strict=True):
        left -= len(cell.source) if answers is None else 0
        if left < 0:
            continue
        item, text = cell.item, ""
        call = reading.broken_call(cell.source) if answers is None else None
        if call is None and (item not in sheet.items or item in gathered.answers):
            continue
        # A plain cell is proper Python; that need not be found out a second time.
        fault = reading.syntax_fault(cell.source) if answers is None else ""
        call = call if fault else None
        if call is not None:
            item, text = call
        elif item in sheet.items:
            text = reading.bare_text(cell.source)
        if item not in sheet.items or item in gathered.answers:
            continue
        if text:
            gathered.take({item: {"answer": text}}, "read")
            damaged.append(item)
            gathered.broken.pop(item, None)
        elif fault:
            gathered.broken[item] = fault
    if damaged:
        gathered.flags.append(
            f"{_listed(damaged)}: not a proper call of answer(...); the text in the cell was taken as the answer."
        )


def _numbered(places: Iterable[int]) -> str:
    return _listed([str(place + 1) for place in sorted(places)])


def _listed(names: Sequence[str]) -> str:
    shown = list(dict.fromkeys(names))
    return ", ".join(shown[:8]) + (f" and {len(shown) - 8} more" if len(shown) > 8 else "")
