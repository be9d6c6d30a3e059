"""The first two parts of a story: what is joined and applied, and what that makes of each set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gearkit.explain.clauses import (
    by_rank,
    element_words,
    others_on,
    own_words,
    permanent_shaft,
    standing_for_good,
    way_words,
    with_others,
)
from gearkit.explain.loads import unloaded
from gearkit.explain.shafts import Lock, Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.solve.loads.balance import Statics, push_sense, sides_of
from gearkit.text.phrases import listed, member_words, sentence
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import HOUSING, INPUT, ElementKind, PinionKind

_KINDS = {
    PinionKind.SINGLE: "",
    PinionKind.DOUBLE: ", pinions in meshing pairs,",
    PinionKind.STEPPED: ", stepped pinions,",
    PinionKind.BEVEL: ", a bevel set",
}


def applied_steps(merged: Merged, statics: Statics | None, loose: Sequence[str] = ()) -> list[Step]:
    """Return the steps on joins, applied elements and open ones.

    Args:
        merged: the shafts.
        statics: torques without losses; None where there are none.
        loose: one-way clutches that were to hold and let go.
    """
    layout = merged.layout
    steps = [_sets(layout), _joins(layout)]
    steps += [_element(merged, layout.element_named(name), statics) for name in (*merged.engaged, *loose)]
    # Nobody opens a one-way clutch: what it does is told once the speeds are known.
    still_open = [
        element.name
        for element in layout.elements
        if element.name not in merged.engaged and element.kind is not ElementKind.ONE_WAY_CLUTCH
    ]
    if still_open:
        verb = "is open: its two sides" if len(still_open) == 1 else "are open: the two sides of each"
        steps.append(Step(StoryPart.APPLIED, f"{listed(still_open)} {verb} may turn at different speeds."))
    loose_now = [
        one.name for one in layout.elements if one.kind is ElementKind.ONE_WAY_CLUTCH and one.name not in merged.engaged
    ]
    if loose_now and not layout.plain:
        verb = "is not listed, so it is" if len(loose_now) == 1 else "are not listed, so they are"
        steps.append(Step(StoryPart.APPLIED, f"{listed(loose_now)} {verb} taken to overrun."))
    if not merged.engaged:
        steps.insert(2, Step(StoryPart.APPLIED, "No element is applied."))
    return steps


def _sets(layout: Layout) -> Step:
    shown = [f"{pset.name}{_KINDS[pset.pinions]} {_teeth(pset)}" for pset in layout.sets]
    return Step(StoryPart.APPLIED, f"The sets: {'; '.join(shown)}.")


def _teeth(pset: PlanetarySet) -> str:
    if pset.pinions is PinionKind.BEVEL:
        return "with equal side gears, here called sun and ring"
    if pset.sun_teeth is None:
        sun, ring = pset.teeth
        return f"with ring teeth / sun teeth = {pset.quotient}, so that sun and ring count as {sun} and {ring}"
    words = f"with {pset.sun_teeth} teeth on the sun and {pset.ring_teeth} on the ring"
    if pset.pinions is PinionKind.STEPPED:
        words += f", {pset.sun_pinion_teeth} on the pinion at the sun and {pset.ring_pinion_teeth} on that at the ring"
    return words


def _joins(layout: Layout) -> Step:
    shafts = [by_rank(shaft) for shaft in layout.shafts if len(shaft) > 1]
    turning = [listed(map(member_words, shaft)) for shaft in shafts if HOUSING not in shaft]
    held = [listed(map(member_words, shaft[:-1])) for shaft in shafts if HOUSING in shaft]
    words = f"Always on one shaft: {'; '.join(turning)}." if turning else "No two members are always joined."
    if held:
        words += f" Always held to the housing: {'; '.join(held)}."
    return Step(StoryPart.APPLIED, words)


def _element(merged: Merged, element: Element, statics: Statics | None) -> Step:
    columns = standing_for_good(merged.layout)
    turning, other = sides_of(element, columns)
    own = permanent_shaft(merged.layout, turning)
    if columns[other] == -1:
        if element.kind is ElementKind.ONE_WAY_CLUTCH:
            return Step(StoryPart.APPLIED, _one_way(merged, element, with_others(turning, own), "the housing", statics))
        rest = others_on(own, [turning])
        held = f"{member_words(turning)}{f', and with it {listed(rest)},' if rest else ''}"
        return Step(StoryPart.APPLIED, f"{element_words(element)} holds {held} to the housing.")
    first, second = turning, other
    if INPUT in own:
        first, second = other, turning
    sides = [with_others(side, permanent_shaft(merged.layout, side)) for side in (first, second)]
    if INPUT in permanent_shaft(merged.layout, second):
        sides[1] = "the input"
    if element.kind is ElementKind.ONE_WAY_CLUTCH:
        return Step(StoryPart.APPLIED, _one_way(merged, element, sides[0], sides[1], statics))
    words = f"{element_words(element)} joins {sides[0]} to {sides[1]}{_consequence(merged, first, second)}."
    return Step(StoryPart.APPLIED, words)


def _consequence(merged: Merged, first: str, second: str) -> str:
    """What the other elements make of a clutch between two shafts: held together, or both with the input."""
    layout, sets = merged.layout, {pset.name for pset in merged.layout.sets}
    for end, words in ((HOUSING, ", so that both are held"), (INPUT, ", so that both turn with the input")):
        own = {end, *permanent_shaft(layout, end)}
        if merged.root(first) == merged.root(end) and not own & {first, second}:
            way = merged.through(first, end)
            return words if not sets & set(way) else ""
    return ""


def _one_way(merged: Merged, element: Element, turning: str, other: str, statics: Statics | None) -> str:
    columns = standing_for_good(merged.layout)
    sense = push_sense(element, columns)
    free, blocked = ("forward", "backward") if sense > 0 else ("backward", "forward")
    seen = "" if other == "the housing" else f", seen from {other},"
    start = f"{element_words(element)} lets {turning}{seen} turn {free} only"
    holds = "holds it to the housing" if other == "the housing" else f"joins it to {other}"
    if not merged.layout.plain:
        # With several drivers the range alone does not press it one way: the range says by listing it that it holds.
        return f"{start}; the range lists it, so it is taken to hold: it {holds}."
    if element.name not in merged.engaged:
        return f"{start}; the drive does not press it {blocked}, so in drive {element.name} lets go."
    if statics is None:
        return f"{start}; it would have to turn {blocked}, so {element.name} locks: it {holds}."
    return f"{start}; the drive pushes it {blocked}, so {element.name} {holds}."


def set_steps(merged: Merged, carrying: Mapping[str, bool | None]) -> list[Step]:
    """Return the steps on locked sets, on sets that carry torque and on those that merely turn.

    Args:
        merged: the shafts.
        carrying: set -> whether it carries torque; None where balance does not tell.
    """
    steps = lock_steps(merged, StoryPart.SETS)
    if not steps:
        steps.append(Step(StoryPart.SETS, "No set has two members on one shaft, so no set is locked."))
    loaded = [name for name, carries in carrying.items() if carries]
    unsure = [name for name, carries in carrying.items() if carries is None]
    if loaded:
        verb = "carries" if len(loaded) == 1 else "carry"
        steps.append(Step(StoryPart.SETS, f"{listed(loaded)} {verb} torque.", sets=tuple(loaded)))
    if unsure:
        words = f"How torque is shared in {listed(unsure)} is undetermined: the applied elements say more than is needed."
        steps.append(Step(StoryPart.SETS, words, sets=tuple(unsure)))
    return steps + idle_steps(merged, [name for name, carries in carrying.items() if carries is False])


def lock_steps(merged: Merged, part: StoryPart) -> list[Step]:
    """Return the steps on the sets that turn as a block or stand, each after those that lock it.

    Args:
        merged: the shafts.
        part: the part of the story that they belong to.
    """
    return [Step(part, _lock(merged, lock), sets=(lock.set_name,)) for lock in merged.locks]


def _lock(merged: Merged, lock: Lock) -> str:
    first, second = (own_words(member) for member in lock.pair)
    third = own_words(lock.third)
    rest = others_on(permanent_shaft(merged.layout, lock.third), [lock.third])
    name = lock.set_name
    if merged.root(lock.third) == merged.ground:
        mates = f", and with it {listed(rest)}," if rest else ""
        return f"{name} stands still: its {first} and {second} are both held, so its {third}{mates} cannot turn either."
    mates = f", and {listed(rest)} with it" if rest else ""
    way = f" (through {way_words(merged, lock.through)})" if lock.through else ""
    speed = "at the input speed" if merged.root(lock.third) == merged.input else "at one speed"
    return (
        f"{name} is locked: its {first} and {second} are {'' if way else 'always '}on one shaft{way}, so it turns as a block {speed}. "
        f"Its {third} goes along{mates}."
    )


def idle_steps(merged: Merged, names: Sequence[str]) -> list[Step]:
    """Return the steps that say why sets carry no torque, each after those that its reason names.

    Args:
        merged: the shafts.
        names: sets that carry none.
    """
    steps, told = [], set[str]()
    for idle in unloaded(merged.layout, merged.engaged):
        if idle.set_name not in names:
            continue
        member = own_words(idle.member)
        if idle.beside:
            verb = "carries" if len(idle.beside) == 1 else "carry"
            why = f"its {member} could push only against {listed(idle.beside)}, which {verb} none"
        else:
            why = f"nothing acts on its {member}"
        end = "stands idle" if merged.root(idle.member) == merged.ground else "merely turns"
        words = f"{idle.set_name} carries no torque: {why}, so its other members have nothing to work against. It {end}."
        steps.append(Step(StoryPart.SETS, sentence(words), sets=(idle.set_name,)))
        told.add(idle.set_name)
    rest = [name for name in names if name not in told]
    if rest:
        verb = "carries" if len(rest) == 1 else "carry"
        words = f"{listed(rest)} {verb} no torque: on the shafts around only zero balances."
        steps.append(Step(StoryPart.SETS, words, sets=tuple(rest)))
    return steps
