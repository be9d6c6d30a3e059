"""The exercises between the sections of a lesson: which ids stand where, and the cells that ask them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from gearkit.text.phrases import capital
from gearkit.words.say import later, say, say_n
from graders.unit.words.cells import Cell, code, prose
from graders.unit.words.saying import number
from graders.unit.words.voice import Voice

# Section of a lesson -> exercise ids in order.
Practice = Mapping[str, Sequence[str]]
_TITLES = {
    "ranges": later("### Try it yourself: ranges"), "states": later("### Try it yourself: what drives and what does not"),
    "torque": later("### Try it yourself: torque"), "shifts": later("### Try it yourself: shifts"),
    "faults": later("### Try it yourself: faults"), "road": later("### Try it yourself: on the road"),
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
    hint = voice.choose(
        say("The numbers are your own, and a hint costs nothing here."),
        say("Check each answer before you go on."),
        say("Fractions are always welcome."),
        say("Ask for new numbers and do the hardest one twice."),
    )
    told = say_n("one exercise on this train.", "{number} exercises on this train.", len(ids), number=number(len(ids)))
    yield prose(
        f"try-{section}",
        "exercise",
        say(_TITLES[section]),
        f"{capital(told)} {hint}",
    )
    for place, item in enumerate(ids, start=1):
        yield code(f"try-{section}-{place}", "exercise", f'lesson.exercise("{item}")')
