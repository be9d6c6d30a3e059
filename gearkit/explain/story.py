"""The story of a range: an ordered derivation, told as a good teacher tells it.

What is joined and applied; what that makes of each set; then, from the input, each speed with its equation, its numbers
and its direction, to the ratio. Neutral and locked combinations have a story too: what is free, and which elements
contradict each other. Speeds are multiples of the input's, positive in its sense; every step uses only what is known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from gearkit.explain.applied import applied_steps, set_steps
from gearkit.explain.chain import derive
from gearkit.explain.clauses import shafts_words, way_words
from gearkit.explain.derivation import Derivation
from gearkit.explain.loads import carries_torque
from gearkit.explain.no_ratio import free_steps, locked_steps
from gearkit.explain.ratio_steps import load_step, overrun_steps, ratio_step
from gearkit.explain.several_story import tell_several
from gearkit.explain.shafts import Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.explain.torque.order import torque_moves
from gearkit.explain.torque.told import torque_steps
from gearkit.explain.whole_story import Story
from gearkit.solve.loads.balance import balance
from gearkit.solve.mobility import checked
from gearkit.solve.one_way import Working, working
from gearkit.solve.ratios import Ratio, ratio_of
from gearkit.text.phrases import listed, sentence
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, PinionKind, Verdict


def tell(layout: Layout, range_name: str | None = None, engaged: Iterable[str] | None = None) -> Story:
    """Return the story of a range, or of any combination of applied elements.

    Args:
        layout: the layout.
        range_name: a range of the layout.
        engaged: names of the engaged elements, instead of a range.

    Raises:
        UsageError: neither or both are given, or the layout has no such range or element.

    >>> from gearkit.train.catalogue import find
    >>> story = tell(find("Q36"), "2")
    >>> story.idle, str(story.ratio.exact)
    (('P2',), '152/59')
    """
    if (range_name is None) == (engaged is None):
        raise UsageError("Give either the name of a range or the applied elements, and not both.")
    if not layout.plain:
        return tell_several(layout, range_name, engaged)
    state = working(layout, layout.engaged_in(range_name) if range_name is not None else engaged or ())
    names, mobility = state.engaged, state.mobility
    merged = Merged(layout, names)
    title = _title(state, range_name)
    if mobility.verdict is Verdict.RANGE:
        return _range_story(merged, range_name or "", state, title)
    if mobility.verdict is Verdict.NEUTRAL:
        loose = state.listed if state.note else ()
        steps = [*applied_steps(merged, None, loose), *free_steps(merged, mobility)]
        return Story(layout, range_name or "", names, mobility, None, title, _preface(layout), tuple(steps), note=state.note)
    conflict, steps = locked_steps(merged, mobility)
    told = (*applied_steps(merged, None), *steps)
    return Story(
        layout, range_name or "", names, mobility, None, title, _preface(layout), told, conflict=conflict,
        note=state.note,
    )  # fmt: skip


def _preface(layout: Layout) -> str:
    letters = say("S and R are the tooth counts of sun and ring.")
    if any(pset.pinions is PinionKind.STEPPED for pset in layout.sets):
        letters = say(
            "S and R are the tooth counts of sun and ring, P and Q those of a stepped pinion where it meshes with the sun and with the ring."
        )
    return say(
        "Speeds n are counted in turns for one turn of the input; forward (+) is the way the input turns. {letters} Decimals are rounded, the working is exact.",
        letters=letters,
    )


def _title(state: Working, range_name: str | None) -> str:
    asked = checked(state.layout, (*state.applied, *state.listed))
    applied = say("{asked} applied", asked=listed(asked)) if asked else say("nothing applied")
    applied += f", {state.note}" if state.note else ""
    if range_name:
        start = say("Range {range_name}: {applied}", range_name=range_name, applied=applied)
    else:
        start = applied[:1].upper() + applied[1:]
    verdict = "" if state.verdict is Verdict.RANGE else say(". Verdict: {verdict}", verdict=state.verdict)
    return f"{state.layout.said_name}. {start}{verdict}"


def _range_story(merged: Merged, range_name: str, state: Working, title: str) -> Story:
    layout, names, mobility = merged.layout, merged.engaged, state.mobility
    statics = balance(layout, names, Fraction(1), {})
    carrying = carries_torque(layout, statics)
    ratio = ratio_of(layout, names, mobility)
    assert ratio is not None
    loaded = tuple(name for name, carries in carrying.items() if carries is not False)
    idle = tuple(name for name, carries in carrying.items() if carries is False)
    steps = [*applied_steps(merged, statics), *set_steps(merged, carrying)]
    steps += _chain_steps(merged, loaded, ratio, mobility.generic_verdict)
    if statics is not None:
        moves = torque_moves(layout, names, statics, loaded)
        steps += [load_step(merged, statics)] if moves is None else torque_steps(merged, moves, statics, ratio.exact)
    if mobility.redundant:
        words = say(
            "{names} are more than is needed and do not contradict each other, so the range stands; how they share torque depends on stiffness and clearances.",
            names=listed(names),
        )
        steps.append(Step(StoryPart.LOAD, words))
    return Story(
        layout, range_name, names, mobility, ratio, title, _preface(layout), tuple(steps), loaded, idle,
        note=state.note,
    )  # fmt: skip


def _chain_steps(merged: Merged, working: Sequence[str], ratio: Ratio, special: Verdict) -> list[Step]:
    """The way from input to output over the sets that carry torque, the ratio, then whatever else turns."""
    known = {INPUT: Fraction(1), HOUSING: Fraction(0)}
    told = Derivation(merged, known, StoryPart.CHAIN)
    every = [pset.name for pset in merged.layout.sets]
    steps = [told.start(say("The input makes one turn."))]
    moves, speeds = derive(merged, told.speeds, working, [merged.output])
    if merged.output not in speeds:
        moves, speeds = derive(merged, told.speeds, every, [merged.output])
    steps += told.steps(moves)
    if not moves:
        steps.append(_one_block(merged))
    output_speed = speeds[merged.output]
    steps.append(ratio_step(merged, ratio, output_speed))
    if special is not Verdict.RANGE:
        words = say("This holds at these tooth counts only; at others the verdict would be {special}.", special=special)
        steps.append(Step(StoryPart.RATIO, words))
    told.part = StoryPart.REST
    rest, speeds = derive(merged, told.speeds, every, [""])
    steps += [*told.steps(rest), *overrun_steps(merged, speeds)]
    open_shafts = dict.fromkeys(merged.root(m) for m in merged.layout.members if merged.root(m) not in speeds)
    if open_shafts:
        words = say("nothing fixes the speed of {shafts}", shafts=shafts_words(merged, open_shafts))
        steps.append(Step(StoryPart.REST, sentence(words)))
    return steps


def _one_block(merged: Merged) -> Step:
    way = merged.through(INPUT, OUTPUT)
    through = say(", through {way}", way=way_words(merged, way)) if way else ""
    words = say("The output is on the input's shaft{through}: the two turn as one.", through=through)
    return Step(StoryPart.CHAIN, words, uses=(INPUT,), gives={OUTPUT: Fraction(1)})
