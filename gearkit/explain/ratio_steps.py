"""The last parts of a range's story: the ratio, and where the torque goes."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.explain.clauses import way_of
from gearkit.explain.formulas.equations import ratio_formula
from gearkit.explain.formulas.maths import Maths, equation, number, total
from gearkit.explain.shafts import Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.solve.loads.balance import Statics, push_sense, sides_of
from gearkit.solve.mobility import shaft_columns
from gearkit.solve.ratios import Ratio, symbol_suffixes
from gearkit.text.phrases import decimal, listed, member_words, sentence, sets_words
from gearkit.words.say import say
from gearkit.words.terms import OUTPUT, ElementKind

# A longer formula fills the page and shows nothing.
_LONGEST_FORMULA = 200


def ratio_step(merged: Merged, ratio: Ratio, output_speed: Fraction) -> Step:
    """Return the step that comes to the ratio.

    Args:
        merged: the shafts.
        ratio: the ratio.
        output_speed: speed of the output as a multiple of the input's.
    """
    formulas = [ratio_formula(ratio.exact, output_speed)]
    words = ratio_words(ratio.exact)
    symbols = {name for product, _ in (*ratio.quotient.numerator, *ratio.quotient.denominator) for name in product}
    suffixes = symbol_suffixes(merged.layout)
    involved = [name for name in ratio.sets if any(symbol[1:] == suffixes[name] for symbol in symbols)]
    if involved and len(ratio.formula) > _LONGEST_FORMULA:
        words += " " + say("Its formula in tooth counts is too long to be read here; gearkit ratios --symbols prints it.")
    elif involved:
        text, latex = ratio.formula.replace("*", "·").replace("-", "−"), ratio.latex()
        formulas.append(equation(Maths("i", "i"), Maths(text, latex)))
        every = len(involved) == len(merged.layout.sets) > 1
        words += (
            (" " + say("The teeth of every set are in it."))
            if every
            else (" " + say("Only the teeth of {involved} are in it.", involved=sets_words(involved)))
        )
    else:
        words += " " + say("No tooth count is in it.")
    return Step(StoryPart.RATIO, words, tuple(formulas), uses=(OUTPUT,))


def ratio_words(value: Fraction) -> str:
    """Return what a ratio means, in a sentence.

    >>> ratio_words(Fraction(5, 2))
    'A reduction: the input makes 2.5 turns while the output makes one, the same way.'
    """
    turns = decimal(abs(value), 4)
    if value == 1:
        return say("Direct drive: the output turns with the input.")
    if value < 0:
        return say(
            "Reverse: the output turns against the input; the input makes {turns} turns while the output makes one.",
            turns=turns,
        )
    if value > 1:
        return say("A reduction: the input makes {turns} turns while the output makes one, the same way.", turns=turns)
    return say("An overdrive: the input makes {turns} turns while the output makes one, the same way.", turns=turns)


def load_step(merged: Merged, statics: Statics) -> Step:
    """Return the step on the torque of each applied element, and the balance of all of it.

    Args:
        merged: the shafts.
        statics: the torques without losses, for a torque of 1 on the input.
    """
    columns = shaft_columns(merged.layout)
    clauses = []
    for name in merged.engaged:
        torque = statics.elements[name]
        if torque is None:
            continue
        turning, other = sides_of(merged.layout.element_named(name), columns)
        if torque == 0:
            clauses.append(say("{name} carries nothing", name=name))
        elif columns[other] == -1:
            way = way_of(torque)
            clauses.append(
                say(
                    "{name} holds {turning} with {torque}, acting {way}",
                    name=name,
                    turning=member_words(turning),
                    torque=decimal(abs(torque)),
                    way=way,
                )
            )
        else:
            clauses.append(say("{name} carries {torque}", name=name, torque=decimal(abs(torque))))
    for member in merged.layout.members:
        torque = statics.members[member]
        if columns[member] == -1 and torque:
            way = way_of(torque)
            clauses.append(
                say(
                    "{member}, which is always held, takes {torque}, acting {way}",
                    member=member_words(member),
                    torque=decimal(abs(torque)),
                    way=way,
                )
            )
    unsure = [name for name in merged.engaged if statics.elements[name] is None]
    if unsure:
        clauses.append(say("balance does not say how {unsure} share it", unsure=listed(unsure)))
    words = say("Without losses, for a torque of 1 on the input")
    words += f": {'; '.join(clauses)}." if clauses else say(": no element carries any.")
    formulas: tuple[Maths, ...] = ()
    if statics.housing is not None and statics.output is not None:
        terms = [Fraction(1), *([statics.housing] if statics.housing else []), statics.output]
        sides = total((1 if term >= 0 else -1, _rounded(abs(term))) for term in terms)
        formulas = (equation(sides, number(0)),)
        words += (
            (" " + say("Input, housing and output add to zero."))
            if statics.housing
            else (" " + say("The housing takes nothing."))
        )
    return Step(StoryPart.LOAD, sentence(words), formulas)


def overrun_steps(merged: Merged, speeds: Mapping[str, Fraction]) -> list[Step]:
    """Return the steps on one-way clutches that do not hold: overrunning or idle.

    Args:
        merged: the shafts.
        speeds: shaft -> speed.
    """
    steps = []
    columns = shaft_columns(merged.layout)
    for element in merged.layout.elements:
        if element.kind is not ElementKind.ONE_WAY_CLUTCH or element.name in merged.engaged:
            continue
        turning, other = sides_of(element, columns)
        roots = merged.root(turning), merged.root(other)
        if roots[0] not in speeds or roots[1] not in speeds:
            continue
        slip, sense = speeds[roots[0]] - speeds[roots[1]], push_sense(element, columns)
        assert slip * sense >= 0, "a clutch that is in the way holds, and the verdict says so"
        seen = "" if columns[other] == -1 else say(", seen from {other},", other=member_words(other))
        if slip:
            free = way_of(sense)
            words = say(
                "{element}, a one-way clutch, overruns: {turning}{seen} turns {free}, as it may.",
                element=element.name,
                turning=member_words(turning),
                seen=seen,
                free=free,
            )
        else:
            words = say("{element}, a one-way clutch, has both its sides at one speed and need not hold.", element=element.name)
        steps.append(Step(StoryPart.REST, words, uses=(turning, other)))
    return steps


def _rounded(value: Fraction) -> Maths:
    shown = decimal(value)
    return Maths(shown, shown)
