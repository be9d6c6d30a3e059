"""The exercises between the sections of a lesson: which ids stand where, and the cells that ask them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from gearkit.text.phrases import capital
from graders.unit.words.cells import Cell, code, prose
from graders.unit.words.saying import counted
from graders.unit.words.voice import Voice

# Section of a lesson -> exercise ids in order.
Practice = Mapping[str, Sequence[str]]
_TITLES = {
    "ranges": "Try it yourself: ranges", "states": "Try it yourself: what drives and what does not", "torque": "Try it yourself: torque",
    "shifts": "Try it yourself: shifts", "faults": "Try it yourself: faults", "road": "Try it yourself: on the road",
}  # fmt: skip


def cells(practice: Practice, section: str, voice: Voice) -> Iterator[Cell]:
    """Yield the exercises of a section.

    Args:
        practice: exercise ids by section.
        section: the section.
        voice: what was said before.
    """
    ids = practice.get(section, ())
    if not ids:
        return
    hint = voice.say(
        "The numbers are your own, and a hint costs nothing here.",
        "Check each answer before you go on.",
        "Fractions are always welcome.",
        "Ask for new numbers and do the hardest one twice.",
    )
    yield prose(
        f"try-{section}",
        "exercise",
        f"### {_TITLES[section]}",
        f"{capital(counted(len(ids), 'exercise'))} on this train. {hint}",
    )
    for place, item in enumerate(ids, start=1):
        yield code(f"try-{section}-{place}", "exercise", f'lesson.exercise("{item}")')
