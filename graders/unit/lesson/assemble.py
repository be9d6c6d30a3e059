"""Puts the sections of a lesson together: one notebook from a layout."""

from __future__ import annotations

import re
from collections.abc import Iterator
from hashlib import sha256
from itertools import chain
from typing import Any

from graders.unit.facts import Facts
from graders.unit.lesson import (
    closing,
    exercises,
    fault_finding,
    first_range,
    in_motion,
    losses,
    more_ranges,
    no_drive,
    opening,
    road,
    shifting,
    torque,
)
from graders.unit.lesson.exercises import Practice
from graders.unit.words.cells import Cell, as_text, notebook
from graders.unit.words.voice import Voice

START = "unit"
CARD_FORMAT = 1
# Minutes, from the kit's own lessons: so many cells took so long with a class (planned, not measured).
_PER_PREDICTION, _PER_EXERCISE, _PER_CELL = 8, 4, 1.4
_LEAST, _MOST = 60, 180


def lesson(facts: Facts, practice: Practice) -> dict[str, Any]:
    """Return the lesson of a layout as a notebook.

    Args:
        facts: the layout.
        practice: the exercises between its sections.
    """
    middle = [cell for cell in _sections(facts, practice) if cell.source.strip()]
    cells = [*opening.cells(facts, minutes_of(middle)), *middle]
    made = notebook([cell for cell in cells if cell.source.strip()], START, {})
    made["metadata"]["gearkit"] = {"format": CARD_FORMAT, "unit": facts.layout.name, "as_made": fingerprint(made)}
    return made


def minutes_told(made: dict[str, Any]) -> int:
    """Return the time that a lesson's first cell tells."""
    match = re.search(r"\*\*(\d+)\b", "".join(made["cells"][0]["source"]))
    return int(match[1]) if match else 0


def text_of(made: dict[str, Any]) -> str:
    """Return the text of a lesson's file."""
    return as_text(made)


def fingerprint(held: dict[str, Any]) -> str:
    """Return what tells whether a notebook still says what was made: its cells' kinds and sources, not their outputs.

    Args:
        held: a notebook, as JSON gives it.
    """
    said = "\0".join(f"{cell.get('cell_type')}\1{''.join(cell.get('source', ''))}" for cell in held.get("cells", []))
    return sha256(said.encode()).hexdigest()[:16]


def minutes_of(cells: list[Cell]) -> int:
    """Return the planned time of a lesson, to ten minutes.

    Args:
        cells: its cells.
    """
    panels = sum(cell.code and ("lesson.predict" in cell.source or "predict=True" in cell.source) for cell in cells)
    asked = sum(cell.code and "lesson.exercise" in cell.source for cell in cells)
    rest = len(cells) - panels - asked
    planned = panels * _PER_PREDICTION + asked * _PER_EXERCISE + rest * _PER_CELL
    return int(min(max(round(planned / 10) * 10, _LEAST), _MOST))


def _sections(facts: Facts, practice: Practice) -> Iterator[Cell]:
    voice = Voice()
    ranges = chain(first_range.cells(facts), more_ranges.cells(facts, voice), in_motion.cells(facts, voice))
    parts = {
        "ranges": ranges, "states": no_drive.cells(facts), "torque": chain(torque.cells(facts), losses.cells(facts)),
        "shifts": shifting.cells(facts), "faults": fault_finding.cells(facts), "road": road.cells(facts),
    }  # fmt: skip
    for name, told in parts.items():
        cells = list(told)
        yield from cells
        # No exercise on what the lesson does not speak of.
        if cells:
            yield from exercises.cells(practice, name, voice)
    yield from closing.cells(facts)
