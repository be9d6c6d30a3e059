"""A unit from a layout: its lesson now, the sheets and papers that go with it beside it, in one folder."""

from __future__ import annotations

import json
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from gearkit.draw.cutaway.solid_placement import few_searches, is_impossible, kept_table, stored_placement
from gearkit.draw.stick.placement import placed, read
from gearkit.lesson.course import glossary
from gearkit.print import engine
from gearkit.text import places
from gearkit.text.files import write_atomically
from gearkit.train import catalogue
from gearkit.train.drivers import refuse_several
from gearkit.train.layout import Layout
from gearkit.train.placement_block import with_stored
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from graders.sheets import sheets
from graders.sheets.sheets import Sheet
from graders.unit import handout, keeping, overview
from graders.unit import sheets as unit_sheets
from graders.unit.facts import Facts
from graders.unit.keeping import Fate, Kept
from graders.unit.lesson import assemble
from graders.unit.overview import Part

LAYOUT, LESSON, HANDOUT, OVERVIEW = "layout.toml", "lesson.ipynb", "handout.pdf", "index.html"
SHEET, PRACTICE, GLOSSARY = "sheet.toml", "practice.toml", "glossary.ipynb"


@dataclass(frozen=True)
class Made:
    """What making a unit did.

    Args:
        folder: where the unit is.
        files: its files and what became of each.
        minutes: planned time of the lesson.
        seconds: how long it took, without the drawing's placement.
        placing: how long it took to find where the parts go in the drawings; 0 where the layout's file says so.
        given_up: whether few searches found no places for solid bodies, and more may; the lesson then has no cutaway.
    """

    folder: Path
    files: tuple[Kept, ...]
    minutes: int
    seconds: float
    placing: float
    given_up: bool = False


def make(layout: Layout, folder: Path, *, only_lesson: bool = False) -> Made:
    """Make a unit, or only its lesson, and write it into a folder; what was edited there stays.

    Args:
        layout: one input, one output, at least one range that drives.
        folder: made where it is missing.
        only_lesson: whether nothing but the lesson and the layout's file is made.

    Raises:
        UsageError: the layout has several inputs or outputs, no range of it drives, or the folder cannot be written.
    """
    refuse_several(layout, "a unit")
    if folder.is_file():
        raise UsageError(f"{folder} is a file; give the name of a folder.")
    start = time.perf_counter()
    stored, placing = _with_place(layout)
    file = _layout_file(stored, folder)
    facts = Facts(stored, file)
    with tempfile.TemporaryDirectory(prefix="gearkit-") as scratch:
        source = Path(scratch) / LAYOUT
        write_atomically(source, stored.text or catalogue.dumps(stored), durable=False)
        graded = unit_sheets.graded(source, stored)
        practice = unit_sheets.practice(source, stored, graded)
    lesson = assemble.lesson(facts, unit_sheets.of_lesson(stored, graded.item_ids))
    minutes = assemble.minutes_told(lesson)
    contents = {LESSON: assemble.text_of(words_explained(lesson)).encode()}
    if not only_lesson:
        contents[GLOSSARY] = assemble.text_of(_glossary()).encode()
        contents |= {
            name: keeping.marked(sheets.as_text(sheet), ".toml").encode()
            for name, sheet in ((SHEET, graded), (PRACTICE, practice))
        }
        contents[HANDOUT] = engine.pdf([handout.document(facts)])
        page = overview.html(facts, _parts(facts, minutes, graded, practice), unit_sheets.by_subject(stored))
        contents[OVERVIEW] = keeping.marked(page, ".html").encode()
    try:
        files = [
            _put_layout(stored, folder / file),
            *(keeping.put(folder / name, content) for name, content in contents.items()),
        ]
    except OSError as fault:
        raise UsageError(f"{folder}: cannot be written ({fault.strerror or fault}); choose another folder.") from None
    given_up = not facts.solid and not is_impossible(stored)
    return Made(folder, tuple(files), minutes, time.perf_counter() - start - placing, placing, given_up)


def words_explained(lesson: dict[str, Any]) -> dict[str, Any]:
    """Return a lesson with the words of the glossary explained where they first stand, and leading to the glossary beside it.

    Args:
        lesson: as it was put together.
    """
    marks = glossary.Marks(f"{GLOSSARY}#")
    for cell in lesson["cells"]:
        if cell["cell_type"] == "markdown":
            cell["source"] = marks.put("".join(cell["source"]), cell["metadata"].get("tags", ()))
    lesson["metadata"]["gearkit"]["as_made"] = assemble.fingerprint(lesson)
    return lesson


def _glossary() -> dict[str, Any]:
    source = places.lessons() / glossary.FILE
    held: dict[str, Any] = json.loads(glossary.own_copy(source.read_bytes(), glossary.FILE))
    held["metadata"]["gearkit"] = {"as_made": assemble.fingerprint(held)}
    return held


def _parts(facts: Facts, minutes: int, graded: Sheet, practice: Sheet) -> list[Part]:
    return [
        Part(LESSON, say("the lesson, for class and learner"), minutes, command=f"jupyter lab {LESSON}"),
        Part(
            SHEET,
            say("a graded sheet; its key is never stored, this shows it"),
            _minutes(graded),
            graded.marks,
            len(graded.items),
            f"graders preview {SHEET} --answers",
        ),
        Part(
            PRACTICE,
            say("other exercises, for practice"),
            _minutes(practice),
            practice.marks,
            len(practice.items),
            f"graders preview {PRACTICE}",
        ),
        Part(HANDOUT, say("to print and fill in while the lesson goes on")),
        Part(facts.file, say("the layout, which the lesson reads")),
        Part(GLOSSARY, say("the words of the trade, to which the lesson leads")),
    ]


def _minutes(sheet: Sheet) -> int:
    return 5 * round(sheet.marks * unit_sheets.MINUTES_PER_MARK / 5)


def _with_place(layout: Layout) -> tuple[Layout, float]:
    """The layout with where its drawings put the parts, drawn plain and as solid bodies, so that no notebook has to search again."""
    if read(layout) is not None and stored_placement(layout) is not None:
        return layout, 0.0
    start = time.perf_counter()
    table = dict(layout.placement or {}) if read(layout) is not None else placed(layout).table(layout)
    table |= kept_table(replace(layout, placement=table), few_searches(layout))
    stored = layout if table == layout.placement else with_stored(layout, table)
    return stored, time.perf_counter() - start


def _layout_file(layout: Layout, folder: Path) -> str:
    """The name of the layout's file: another one where a lesson that somebody edited goes on with the one that is there."""
    count = 1
    while True:
        name = LAYOUT if count == 1 else f"layout-{count}.toml"
        path = folder / name
        if not path.exists() or _says(path, layout) or not (keeping.is_edited(path) or keeping.is_edited(folder / LESSON)):
            return name
        count += 1


def _says(path: Path, layout: Layout) -> bool:
    try:
        return catalogue.read(path) == replace(layout, placement=None)
    except UsageError:
        return False


def _put_layout(layout: Layout, path: Path) -> Kept:
    if path.exists() and _says(path, layout):
        return Kept(path, Fate.SAME)
    text = layout.text or catalogue.dumps(layout)
    return keeping.put(path, keeping.marked(text, ".toml").encode())
