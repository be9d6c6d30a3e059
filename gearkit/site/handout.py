"""A lesson on paper: its prose, results as tables, pictures standing still, and lines to write predictions and answers on.

The notebook is run once, as for a page. What only works on a screen is left out, and so is every line of Python; what the
prose asks for is there. Numbers of exercises are those of one draw, the same for everybody who gets the sheet.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from gearkit.answers.kinds.choices import labelled
from gearkit.draw.core.embed import SvgPicture
from gearkit.draw.lever.sketches import together
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.exercise import ExercisePanel, name_of
from gearkit.lesson.panels.gated import GatedPanel
from gearkit.lesson.panels.task import TaskPanel
from gearkit.lesson.pictures import Still
from gearkit.lesson.record import Record, is_whole, record_path
from gearkit.lesson.tasks.task import Ask, Scene
from gearkit.lesson.working.results import Results
from gearkit.print.document import (
    Block,
    Document,
    Entries,
    Field,
    Figure,
    Heading,
    Lines,
    Paragraph,
    Table,
    Together,
    from_markdown,
)
from gearkit.site.lesson_parts import own_record
from gearkit.site.notebook_cells import Result, cells_of, results
from gearkit.site.single_page import notebook_of
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say

_LEFT_OUT = frozenset({"open", "recall", "progress", "next"})
_SHARE = 0.8
_ONE, _SEVERAL = later("(choose one)"), later("(choose all that fit)")


def notebook(lesson: str) -> Path:
    """Return the notebook of a lesson by its number, or the file itself.

    Args:
        lesson: a lesson's number, such as "03", or a notebook's file.

    Raises:
        UsageError: there is no such lesson or file.
    """
    path = Path(lesson)
    if path.suffix == ".ipynb":
        if not path.is_file():
            raise UsageError(f"{path}: there is no such file. Give a lesson's number, such as 03, or a notebook.")
        return path.resolve()
    return notebook_of(lesson)


def handout(path: Path) -> Document:
    """Return a lesson as a document for paper.

    Args:
        path: its notebook.

    Raises:
        GearkitError: the file is no notebook, or a cell fails.
    """
    cells = cells_of(path, for_page=False)
    blocks: list[Block] = []
    with own_record(_seed(path)), contextlib.chdir(path.parent):
        given = {result.cell.name: result for result in results(cells, {"__name__": "__main__"})}
        for cell in cells:
            if _LEFT_OUT & set(cell.tags):
                # A heading of its own goes with what stands under it.
                if blocks and isinstance(blocks[-1], Heading):
                    blocks.pop()
                continue
            blocks += _shown(given[cell.name]) if cell.is_code else from_markdown(cell.source)
    title = next((block.text for block in blocks if isinstance(block, Heading)), path.stem)
    return Document(title, (Field(say("Name"), wide=True), *blocks), foot=title)


def _seed(path: Path) -> str:
    """On a learner's shelf the numbers are the learner's own; elsewhere everybody gets the same sheet."""
    record = record_path(path.parent)
    return Record(record).seed if is_whole(record) else "handout"


def _shown(result: Result) -> Iterator[Block]:
    value = result.value
    match value:
        case Results():
            yield _table(value)
        case Still():
            yield Figure(SvgPicture(value.svg), _SHARE)
        case ExercisePanel():
            yield Together(tuple(_exercise(value.exercise)))
        case TaskPanel():
            yield from _task(value)
        case GatedPanel() if value.gated:
            yield Together(tuple(_prediction(value)))
        case Panel():
            yield from _figures(value.pictures())
            yield Paragraph(value.words(), small=True)


def _table(value: Results) -> Table:
    width = max(len(row) for row in value.rows)
    return Table(
        value.head or (say("Worked out"), say("Value"), *[""] * (width - 2))[:width],
        tuple(tuple(map(str, row)) for row in value.rows),
    )


def _figures(pictures: Sequence[str]) -> Iterator[Block]:
    for svg in pictures:
        yield Figure(SvgPicture(svg), _SHARE)


def _exercise(exercise: Exercise) -> Iterator[Block]:
    yield Heading(name_of(exercise), 3)
    prompt, parts = exercise.variant.prompt, exercise.variant.parts
    for part in parts:
        if part.pictures:
            # What a picture shows in words would be the answer to whoever can see it.
            prompt = prompt.replace(labelled(part.options), "")
    yield from from_markdown(prompt)
    for part in parts:
        if part.pictures:
            yield Figure(together(part.pictures), _SHARE)
    told = [part.shown_options for part in parts if part.options and labelled(part.options) not in exercise.variant.prompt]
    if told:
        yield Entries(told[0])
    for part in parts:
        label = part.label or part.name if len(parts) > 1 else say("Answer")
        yield Field(label, part.unit, part.kind.traits.read_as_formula)


def _task(panel: TaskPanel) -> Iterator[Block]:
    task, setup = panel.task, panel.setup
    scene = task.given(setup)
    yield Heading(panel.title, 3)
    yield Paragraph(task.invitation)
    yield from _scene(scene)
    for ask in task.asks(setup):
        yield Together(tuple(_ask(ask)))
    yield from _explain()


def _scene(scene: Scene) -> Iterator[Block]:
    if scene.words:
        yield Paragraph(scene.words)
    yield from _figures(scene.pictures)
    for table in scene.tables:
        if table.caption:
            yield Paragraph(f"*{table.caption}*")
        yield Table(table.head, table.rows)


def _ask(ask: Ask) -> Iterator[Block]:
    if ask.options:
        yield Paragraph(f"{ask.label} {say(_SEVERAL if ask.several else _ONE)}")
        yield Entries(ask.options)
    yield Field(say("My prediction") if ask.options else ask.label, ask.unit, wide=bool(ask.options))


def _prediction(panel: GatedPanel) -> Iterator[Block]:
    yield Heading(panel.title, 3)
    yield from _figures(panel.pictures())
    kinds = panel.kinds()
    yield Paragraph(say("Write down what you expect before you see the result."))
    yield Entries(tuple(map(say, kinds)))
    yield Field(say("My prediction"), wide=True)
    if any(panel.needs_figure(kind) for kind in kinds):
        yield Field(say("Its number"), panel.figure_unit)
    yield from _explain()


def _explain() -> Iterator[Block]:
    yield Paragraph(say("Afterwards: was it so? If not, what did I leave out?"))
    yield Lines(2)
