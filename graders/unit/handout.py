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
from gearkit.words.say import say, say_n
from graders.unit.facts import SHIFT_SPEED, TORQUE, Facts
from graders.unit.lesson.closing import FOOT
from graders.unit.lesson.first_range import applied_words, set_words
from graders.unit.words.saying import element_words, escaped, number, shaft_words

_MOST_SHIFTS = 8
# Lines to work on: why a range is direct is one sentence.
_FOR_DIRECT_DRIVE, _FOR_A_RATIO = 2, 4


def document(facts: Facts) -> Document:
    """Return the handout.

    Args:
        facts: the layout.
    """
    return Document(say("{layout}: handout", layout=facts.layout.said_name), tuple(_blocks(facts)), foot=f"*{say(FOOT)}*")


def _blocks(facts: Facts) -> Iterator[Block]:
    yield Heading(capital(facts.short))
    yield Paragraph(say("Name: ______________________________    Date: ______________"))
    yield Figure(noted_picture(facts.layout, "stick"))
    yield Heading(say("What is on which shaft"), 2)
    rows = [(str(place), shaft_words(shaft), "") for place, shaft in enumerate(facts.shafts, start=1)]
    if facts.held:
        rows.append((say("always held"), shaft_words(facts.held), ""))
    yield Table((say("shaft"), say("on it"), say("what I notice")), tuple(rows), wide=True)
    if facts.layout.elements:
        entries = Entries(tuple(element_words(facts, element, str) for element in facts.layout.elements))
        yield Together((Heading(say("What the elements do"), 2), entries))
    yield from _first(facts)
    yield from _ranges(facts)
    yield from _torques(facts)
    yield from _shifts(facts)
    # The last lines stay with a table, so that they never fill a sheet of paper by themselves.
    yield Together((*_faults(facts), Heading(say("What I want to ask"), 2), Lines(3)))


def _first(facts: Facts) -> Iterator[Block]:
    fact = facts.simplest
    yield Heading(say("By hand: range {range}", range=fact.name), 2)
    yield from from_markdown(" ".join([applied_words(facts, fact), *set_words(fact, idle=True)]))
    for step in (*fact.chain, *fact.part(StoryPart.RATIO)):
        told = from_markdown(escaped(step.words))
        shown = [Formula(formula.latex, formula.text) for formula in step.formulas]
        yield from [Together((*told, *shown))] if shown else told


def _ranges(facts: Facts) -> Iterator[Block]:
    rest = facts.by_effort[1:]
    if not rest:
        return
    heading = say_n(
        "one further range: predict, then reveal",
        "{number} further ranges: predict, then reveal",
        len(rest),
        number=number(len(rest)),
    )
    yield Heading(capital(heading), 2)
    yield Table(
        (say("range"), say("elements"), say("my direction"), say("my ratio"), say("found"), say("why I was off")),
        tuple((fact.name, listed(fact.engaged) or say("none"), "", "", "", "") for fact in rest),
        wide=True,
    )
    joint = next((fact for fact in rest if fact.ratio != 1), rest[0])
    lines = Lines(_FOR_DIRECT_DRIVE if joint.ratio == 1 else _FOR_A_RATIO)
    yield Together((Paragraph(say("Working for range {range}:", range=escaped(joint.name))), lines))


def _torques(facts: Facts) -> Iterator[Block]:
    rows = tuple(
        (fact.name, listed(fact.state.engaged), "", "", "")
        for fact in facts.drives
        if fact in facts.by_effort and facts.torques(fact) is not None
    )
    if rows:
        yield Together(
            (
                Heading(say("Torque, for {torque} N·m at the input", torque=TORQUE), 2),
                Table(
                    (
                        say("range"),
                        say("holding or joined"),
                        say("output torque"),
                        say("housing: {formula}", formula="$T (i - 1)$"),
                        say("most torque on"),
                    ),
                    rows,
                    wide=True,
                ),
            )
        )


def _shifts(facts: Facts) -> Iterator[Block]:
    if facts.shifts:
        rows = tuple(
            (say("{first} to {second}", first=shift.from_range, second=shift.to_range), "", "", "")
            for shift in facts.shifts[:_MOST_SHIFTS]
        )
        yield Together(
            (
                Heading(say("Shifts, at {speed} r/min", speed=SHIFT_SPEED), 2),
                Table((say("shift"), say("lets go"), say("takes hold"), say("engine after")), rows, wide=True),
            )
        )


def _faults(facts: Facts) -> Iterator[Block]:
    names = [element.name for element in facts.layout.elements]
    if any(facts.faults.lost(fault) for fault in facts.faults.faults):
        yield Heading(say("When one element fails"), 2)
        yield Table(
            (say("element"), say("stuck off: lost ranges"), say("stuck on: lost ranges"), say("still drives")),
            tuple((name, "", "", "") for name in names),
            wide=True,
        )
