"""The handout of a unit, on paper: drawing, shafts and elements, one derivation, and tables to fill in while the lesson goes on."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.draw.noted import noted_picture
from gearkit.explain.step import StoryPart
from gearkit.print.document import (
    Block,
    Document,
    Entries,
    Figure,
    Formula,
    Heading,
    Lines,
    Paragraph,
    Table,
    Together,
    from_markdown,
)
from gearkit.text.phrases import capital, listed
from gearkit.train.elements import Element
from graders.unit.facts import TORQUE, Facts
from graders.unit.lesson.closing import FOOT
from graders.unit.lesson.first_range import applied_words, set_words
from graders.unit.words.saying import counted, does, escaped, free_way, kind_words, shaft_words

_MOST_SHIFTS = 8


def document(facts: Facts) -> Document:
    """Return the handout.

    Args:
        facts: the layout.
    """
    return Document(f"{facts.layout.name}: handout", tuple(_blocks(facts)), foot=f"*{FOOT}*")


def _blocks(facts: Facts) -> Iterator[Block]:
    yield Heading(capital(facts.short))
    yield Paragraph("Name: ______________________________    Date: ______________")
    yield Figure(noted_picture(facts.layout, "stick"))
    yield Heading("What is on which shaft", 2)
    yield Table(
        ("shaft", "on it", "what I notice"),
        tuple((str(place), shaft_words(shaft), "") for place, shaft in enumerate(facts.shafts, start=1)),
        wide=True,
    )
    if facts.layout.elements:
        entries = Entries(tuple(_element(facts, element) for element in facts.layout.elements))
        yield Together((Heading("What the elements do", 2), entries))
    yield from _first(facts)
    yield from _ranges(facts)
    yield from _torques(facts)
    yield from _shifts(facts)
    # The last lines stay with a table, so that they never fill a sheet of paper by themselves.
    yield Together((*_faults(facts), Heading("What I want to ask", 2), Lines(3)))


def _element(facts: Facts, element: Element) -> str:
    return f"**{element.name}**, {kind_words(element)}, {does(facts, element)}{free_way(facts, element)}."


def _first(facts: Facts) -> Iterator[Block]:
    fact = facts.simplest
    yield Heading(f"By hand: range {fact.name}", 2)
    yield from from_markdown(" ".join([applied_words(facts, fact), *set_words(fact, idle=True)]))
    for step in (*fact.chain, *fact.part(StoryPart.RATIO)):
        yield from from_markdown(escaped(step.words))
        yield from (Formula(formula.latex, formula.text) for formula in step.formulas)


def _ranges(facts: Facts) -> Iterator[Block]:
    rest = facts.by_effort[1:]
    if not rest:
        return
    yield Heading(f"{capital(counted(len(rest), 'further range'))}: predict, then reveal", 2)
    yield Table(
        ("range", "elements", "my direction", "my ratio", "found", "why I was off"),
        tuple((fact.name, listed(fact.engaged) or "none", "", "", "", "") for fact in rest),
        wide=True,
    )
    joint = next((fact for fact in rest if fact.ratio != 1), rest[0])
    yield Together((Paragraph(f"Working for range {escaped(joint.name)}:"), Lines(4)))


def _torques(facts: Facts) -> Iterator[Block]:
    rows = tuple(
        (fact.name, listed(fact.state.engaged), "", "", "")
        for fact in facts.drives
        if fact in facts.by_effort and facts.torques(fact) is not None
    )
    if rows:
        yield Together(
            (
                Heading(f"Torque, for {TORQUE} N·m at the input", 2),
                Table(
                    ("range", "holding or joined", "output torque", "housing: $T (i - 1)$", "most torque on"), rows, wide=True
                ),
            )
        )


def _shifts(facts: Facts) -> Iterator[Block]:
    if facts.shifts:
        rows = tuple((f"{shift.from_range} to {shift.to_range}", "", "", "") for shift in facts.shifts[:_MOST_SHIFTS])
        yield Together(
            (Heading("Shifts, at 3000 r/min", 2), Table(("shift", "lets go", "takes hold", "engine after"), rows, wide=True))
        )


def _faults(facts: Facts) -> Iterator[Block]:
    names = [element.name for element in facts.layout.elements]
    if any(facts.faults.lost(fault) for fault in facts.faults.faults):
        yield Heading("When one element fails", 2)
        yield Table(
            ("element", "stuck off: lost ranges", "stuck on: lost ranges", "still drives"),
            tuple((name, "", "", "") for name in names),
            wide=True,
        )
