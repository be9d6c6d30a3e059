"""What the teeth lose, in a lesson on a layout: said before a sheet asks for it, with one range as the example."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.solve.loads.torques import Torques, torques_of
from gearkit.text.phrases import decimal, fixed
from gearkit.words.say import say
from gearkit.words.terms import LoadState
from graders.unit.facts import TORQUE, Facts, RangeFact
from graders.unit.words.cells import Cell, code, quoted, result, several, working_title
from graders.unit.words.saying import escaped

BASIC_EFFICIENCY = Fraction(98, 100)


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on losses; nothing where no range of known torques loses anything."""
    losing = [(fact, loads) for fact in facts.drives if (loads := _with_losses(facts, fact)) is not None]
    if not losing:
        return
    fact, loads = next(((drive, its) for drive, its in losing if drive.name == facts.simplest.name), losing[0])
    assert loads.efficiency is not None
    told = [
        say("### What the teeth lose"),
        say(
            "Where teeth roll on each other under load, a part of the power turns into heat: a **loss**. The *basic efficiency* of a set "
            "tells which part of the power its teeth pass on while its carrier is held. Here it is {basic} for every set, an assumption.",
            basic=decimal(BASIC_EFFICIENCY, 2),
        ),
        say(
            "Losses make the torque smaller; the speeds stay. A set that turns as a block, or without a load, loses nothing. In range "
            "{range} the output gives {percent} % of the power, so its torque is {less} N·m in place of {full} N·m.",
            range=escaped(fact.name),
            percent=fixed(100 * loads.efficiency, 1),
            less=fixed(TORQUE * abs(fact.ratio) * loads.efficiency, 1),
            full=fixed(TORQUE * abs(fact.ratio), 1),
        ),
    ]
    yield from several("losses", "by-hand", told)
    yield code(
        "losses-numbers",
        "worked",
        working_title(say("what the teeth lose")),
        f"found = torques_of(in_range(train, {quoted(fact.name)}), {TORQUE}, basic_efficiency={float(BASIC_EFFICIENCY)})",
        "lesson.results(",
        result(say("Efficiency"), "float(found.efficiency)", '""', "4"),
        result(say("Output torque with losses"), "abs(float(found.output_torque))", '"N·m"', "1"),
        ")",
    )


def _with_losses(facts: Facts, fact: RangeFact) -> Torques | None:
    """The torques of a range with losses; None where they are not known, or where nothing is lost."""
    if not fact.engaged or facts.torques(fact) is None:
        return None
    loads = torques_of(fact.state, TORQUE, BASIC_EFFICIENCY)
    known = loads.state is LoadState.SETTLED and loads.efficiency is not None and loads.efficiency < 1
    return loads if known else None
