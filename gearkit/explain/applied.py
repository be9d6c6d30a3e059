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
    way_of,
    way_words,
    with_others,
)
from gearkit.explain.loads import unloaded
from gearkit.explain.shafts import Lock, Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.solve.loads.balance import Statics, push_sense, sides_of
from gearkit.text.phrases import capital, listed, member_words, sentence, set_words, sets_words
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import HOUSING, INPUT, ElementKind, PinionKind

_KINDS = {
    PinionKind.SINGLE: "",
    PinionKind.DOUBLE: later(" (pinions in meshing pairs)"),
    PinionKind.STEPPED: later(" (stepped pinions)"),
    PinionKind.BEVEL: later(" (a bevel set)"),
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
        words = say_n(
            "{elements} is open: its two sides may turn at different speeds.",
            "{elements} are open: the two sides of each may turn at different speeds.",
            len(still_open),
            elements=listed(still_open),
        )
        steps.append(Step(StoryPart.APPLIED, words))
    loose_now = [
        element.name
        for element in layout.elements
        if element.kind is ElementKind.ONE_WAY_CLUTCH and element.name not in merged.engaged
    ]
    if loose_now and not layout.plain:
        words = say_n(
            "{elements} is not listed, so it is taken to overrun.",
            "{elements} are not listed, so they are taken to overrun.",
            len(loose_now),
            elements=listed(loose_now),
        )
        steps.append(Step(StoryPart.APPLIED, words))
    if not merged.engaged:
        steps.insert(2, Step(StoryPart.APPLIED, say("No element is applied.")))
    return steps


def _sets(layout: Layout) -> Step:
    shown = [f"{set_words(pset.name)}{say(_KINDS[pset.pinions])}: {_teeth(pset)}" for pset in layout.sets]
    return Step(StoryPart.APPLIED, sentence("; ".join(shown)))


def _teeth(pset: PlanetarySet) -> str:
    if pset.pinions is PinionKind.BEVEL:
        return say("equal side gears, here called sun and ring")
    if pset.sun_teeth is None:
        sun, ring = pset.teeth
        return say(
            "ring teeth / sun teeth = {quotient}, so that sun and ring count as {sun} and {ring}",
            quotient=pset.quotient,
            sun=sun,
            ring=ring,
        )
    words = say(
        "{sun_teeth} teeth on the sun and {ring_teeth} on the ring", sun_teeth=pset.sun_teeth, ring_teeth=pset.ring_teeth
    )
    if pset.pinions is PinionKind.STEPPED:
        words += say(
            ", {sun_pinion_teeth} on the pinion at the sun and {ring_pinion_teeth} on that at the ring",
            sun_pinion_teeth=pset.sun_pinion_teeth,
            ring_pinion_teeth=pset.ring_pinion_teeth,
        )
    return words


def _joins(layout: Layout) -> Step:
    shafts = [by_rank(shaft) for shaft in layout.shafts if len(shaft) > 1]
    turning = [listed(map(member_words, shaft)) for shaft in shafts if HOUSING not in shaft]
    held = [listed(map(member_words, shaft[:-1])) for shaft in shafts if HOUSING in shaft]
    words = (
        say("Always on one shaft: {shafts}.", shafts="; ".join(turning))
        if turning
        else say("No two members are always joined.")
    )
    if held:
        words += " " + say("Always held to the housing: {members}.", members="; ".join(held))
    return Step(StoryPart.APPLIED, words)


def _element(merged: Merged, element: Element, statics: Statics | None) -> Step:
    columns = standing_for_good(merged.layout)
    turning, other = sides_of(element, columns)
    own = permanent_shaft(merged.layout, turning)
    if columns[other] == -1:
        if element.kind is ElementKind.ONE_WAY_CLUTCH:
            return Step(StoryPart.APPLIED, _one_way(merged, element, with_others(turning, own), "", statics))
        rest = others_on(own, [turning])
        told = {"element": element_words(element), "held": member_words(turning)}
        if rest:
            words = say("{element} holds {held}, and with it {rest}, to the housing.", **told, rest=listed(rest))
        else:
            words = say("{element} holds {held} to the housing.", **told)
        return Step(StoryPart.APPLIED, words)
    first, second = turning, other
    if INPUT in own:
        first, second = other, turning
    sides = [with_others(side, permanent_shaft(merged.layout, side)) for side in (first, second)]
    if INPUT in permanent_shaft(merged.layout, second):
        sides[1] = say("the input")
    if element.kind is ElementKind.ONE_WAY_CLUTCH:
        return Step(StoryPart.APPLIED, _one_way(merged, element, sides[0], sides[1], statics))
    told = {"element": element_words(element), "first": sides[0], "second": sides[1]}
    match _consequence(merged, first, second):
        case "housing":
            words = say("{element} joins {first} to {second}, so that both are held.", **told)
        case "input":
            words = say("{element} joins {first} to {second}, so that both turn with the input.", **told)
        case _:
            words = say("{element} joins {first} to {second}.", **told)
    return Step(StoryPart.APPLIED, words)


def _consequence(merged: Merged, first: str, second: str) -> str:
    """The end on which the other elements put both shafts of a clutch: the housing or the input; "" for neither."""
    layout, sets = merged.layout, {pset.name for pset in merged.layout.sets}
    for end in (HOUSING, INPUT):
        own = {end, *permanent_shaft(layout, end)}
        if merged.root(first) == merged.root(end) and not own & {first, second}:
            way = merged.through(first, end)
            return end if not sets & set(way) else ""
    return ""


def _one_way(merged: Merged, element: Element, turning: str, other: str, statics: Statics | None) -> str:
    columns = standing_for_good(merged.layout)
    sense = push_sense(element, columns)
    free, blocked = way_of(sense), way_of(-sense)
    seen = say(", seen from {other},", other=other) if other else ""
    start = say(
        "{element} lets {turning}{seen} turn {free} only", element=element_words(element), turning=turning, seen=seen, free=free
    )
    holds = say("joins it to {other}", other=other) if other else say("holds it to the housing")
    if not merged.layout.plain:
        # With several drivers the range alone does not press it one way: the range says by listing it that it holds.
        return say("{start}; the range lists it, so it is taken to hold: it {holds}.", start=start, holds=holds)
    if element.name not in merged.engaged:
        return say(
            "{start}; the drive does not press it {blocked}, so in drive {element} lets go.",
            start=start,
            blocked=blocked,
            element=element.name,
        )
    if statics is None:
        return say(
            "{start}; it would have to turn {blocked}, so {element} locks: it {holds}.",
            start=start,
            blocked=blocked,
            element=element.name,
            holds=holds,
        )
    return say(
        "{start}; the drive pushes it {blocked}, so {element} {holds}.",
        start=start,
        blocked=blocked,
        element=element.name,
        holds=holds,
    )


def set_steps(merged: Merged, carrying: Mapping[str, bool | None]) -> list[Step]:
    """Return the steps on locked sets, on sets that carry torque and on those that merely turn.

    Args:
        merged: the shafts.
        carrying: set -> whether it carries torque; None where balance does not tell.
    """
    steps = lock_steps(merged, StoryPart.SETS)
    if not steps:
        steps.append(Step(StoryPart.SETS, say("No set has two members on one shaft, so no set is locked.")))
    loaded = [name for name, carries in carrying.items() if carries]
    unsure = [name for name, carries in carrying.items() if carries is None]
    if loaded:
        words = say_n("{sets} carries torque.", "{sets} carry torque.", len(loaded), sets=capital(sets_words(loaded)))
        steps.append(Step(StoryPart.SETS, words, sets=tuple(loaded), carries=True))
    if unsure:
        words = say(
            "How torque is shared in {unsure} is undetermined: more elements are applied than is needed.",
            unsure=sets_words(unsure),
        )
        steps.append(Step(StoryPart.SETS, words, sets=tuple(unsure)))
    return steps + idle_steps(merged, [name for name, carries in carrying.items() if carries is False])


def lock_steps(merged: Merged, part: StoryPart) -> list[Step]:
    """Return the steps on the sets that turn as a block or stand, each after those that lock it.

    Args:
        merged: the shafts.
        part: the part of the story that they belong to.
    """
    steps = [Step(part, _lock(merged, lock), sets=(lock.set_name,)) for lock in merged.locks]
    blocks: dict[str, list[str]] = {}
    for lock in merged.locks:
        blocks.setdefault(merged.root(lock.third), []).append(lock.set_name)
    return steps + [_block(merged, root, names, part) for root, names in blocks.items() if len(names) > 1]


def _block(merged: Merged, root: str, names: Sequence[str], part: StoryPart) -> Step:
    """What locked sets on one shaft are together: one block, which may be the whole train."""
    everything = len(names) == len(merged.layout.sets)
    if root == merged.ground:
        words = say("So {sets} stand still together.", sets=sets_words(names))
    elif everything:
        words = say("So the whole train turns as one block.")
    else:
        words = say("So {sets} turn together as one block.", sets=sets_words(names))
    return Step(part, words, sets=tuple(names))


def _lock(merged: Merged, lock: Lock) -> str:
    first, second = (own_words(member) for member in lock.pair)
    third = own_words(lock.third)
    rest = others_on(permanent_shaft(merged.layout, lock.third), [lock.third])
    name = capital(set_words(lock.set_name))
    if merged.root(lock.third) == merged.ground:
        mates = say(", and with it {rest},", rest=listed(rest)) if rest else ""
        return say(
            "{name} stands still: its {first} and {second} are both held, so its {third}{mates} cannot turn either.",
            name=name,
            first=first,
            second=second,
            third=third,
            mates=mates,
        )
    mates = say(", and {rest} with it", rest=listed(rest)) if rest else ""
    way = (" " + say("(through {way})", way=way_words(merged, lock.through))) if lock.through else ""
    speed = say("at the input speed") if merged.root(lock.third) == merged.input else say("at one speed")
    return (
        say(
            "{name} is locked: its {first} and {second} are on one shaft{way}, so it turns as a block {speed}. Its {third} turns with them{mates}.",
            name=name,
            first=first,
            second=second,
            way=way,
            speed=speed,
            third=third,
            mates=mates,
        )
        if way
        else say(
            "{name} is locked: its {first} and {second} are always on one shaft{way}, so it turns as a block {speed}. Its {third} turns with them{mates}.",
            name=name,
            first=first,
            second=second,
            way=way,
            speed=speed,
            third=third,
            mates=mates,
        )
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
            why = say_n(
                "its {member} could push only against {sets}, which carries none",
                "its {member} could push only against {sets}, which carry none",
                len(idle.beside),
                member=member,
                sets=sets_words(idle.beside),
            )
        else:
            why = say("nothing acts on its {member}", member=member)
        words = say(
            "{set_name} carries no torque: {why}, so its other members have nothing to work against.",
            set_name=capital(set_words(idle.set_name)),
            why=why,
        )
        stands = merged.root(idle.member) == merged.ground
        end = say("It stands without a load.") if stands else say("It turns without a load.")
        words = f"{sentence(words)} {end}"
        steps.append(Step(StoryPart.SETS, words, sets=(idle.set_name,), carries=False))
        told.add(idle.set_name)
    rest = [name for name in names if name not in told]
    if rest:
        words = say_n(
            "{sets} carries no torque: on its shafts nothing is there to work against.",
            "{sets} carry no torque: on its shafts nothing is there to work against.",
            len(rest),
            sets=capital(sets_words(rest)),
        )
        steps.append(Step(StoryPart.SETS, words, sets=tuple(rest), carries=False))
    return steps
