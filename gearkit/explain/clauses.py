"""The clauses of a story: how fast a member turns, why it does, what goes with it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from gearkit.explain.formulas.forms import Form
from gearkit.explain.formulas.maths import linear
from gearkit.explain.shafts import Merged
from gearkit.text.phrases import decimal, listed, member_words, set_words, sets_words
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT

KIND_ARTICLES = {"brake": later("a brake"), "clutch": later("a clutch"), "one-way clutch": later("a one-way clutch")}


def way_of(value: Fraction | int) -> str:
    """Return the word for the way in which something turns or acts.

    Args:
        value: its speed or torque, not zero.
    """
    return say("forward") if value > 0 else say("backward")


def speed_words(value: Fraction, end: str = INPUT) -> str:
    """Return what a member does that turns at so many speeds of the input.

    Args:
        value: the speed.
        end: input, or output where that is what makes one turn.

    >>> speed_words(Fraction(-1, 2)), speed_words(Fraction(3))
    ('turns backward at 0.5 of the input speed', 'turns forward at 3 times the input speed')
    """
    if value == 0:
        return say("stands still")
    way, size = way_of(value), abs(value)
    named = say(end)
    if size == 1:
        return say("turns {way} at the {end} speed", way=way, end=named)
    if size == 2:
        return say("turns {way} at twice the {end} speed", way=way, end=named)
    if size < 1:
        return say("turns {way} at {rate} of the {end} speed", way=way, rate=decimal(size), end=named)
    return say("turns {way} at {rate} times the {end} speed", way=way, rate=decimal(size), end=named)


def form_words(form: Form) -> str:
    """Return a speed, known or in terms of unknowns, as it stands in a sentence."""
    return decimal(form.constant) if form.known else linear(form.constant, form.parts).text


def own_words(member: str) -> str:
    """Return a member as it is called where its set has just been named: "P1.sun" is "sun"."""
    return say(member.rpartition(".")[2])


def others_on(members: Iterable[str], told: Sequence[str]) -> list[str]:
    """Return what else is on a shaft, in words, without the housing and what has been told.

    Args:
        members: everything on the shaft.
        told: members already named.
    """
    return listed_shaft([member for member in members if member not in told and member != HOUSING])


def listed_shaft(members: Sequence[str]) -> list[str]:
    """Return members in words; a set of which all three are there is named as one.

    >>> listed_shaft(["P1.sun", "P2.sun", "P2.carrier", "P2.ring", "output"])
    ['sun 1', 'all of set 2', 'the output']
    """
    names = [member.partition(".")[0] for member in members if member.rpartition(".")[2] in MEMBERS]
    whole = {name for name in names if names.count(name) == len(MEMBERS)}
    words = [
        say("all of {name}", name=set_words(name)) if (name := member.partition(".")[0]) in whole else member_words(member)
        for member in members
    ]
    return list(dict.fromkeys(words))


def with_others(member: str, members: Iterable[str]) -> str:
    """Return a member in words, and in brackets what else is on its shaft.

    Args:
        member: the member.
        members: everything on the shaft.
    """
    rest = others_on(members, [member])
    return say("{member} (with {rest})", member=member_words(member), rest=listed(rest)) if rest else member_words(member)


def shafts_words(merged: Merged, roots: Iterable[str]) -> str:
    """Return several shafts in words, each by its first member.

    Args:
        merged: the shafts.
        roots: the names that stand for them.
    """
    shafts = [merged.members(root) for root in roots]
    return listed(with_others(members[0], members) for members in shafts)


def permanent_shaft(layout: Layout, member: str) -> tuple[str, ...]:
    """Return the members on the shaft that the joins make: input first, then sets, then output.

    Args:
        layout: the layout.
        member: one of them.
    """
    return by_rank(layout.shafts[layout.shaft_of(member)])


def by_rank(members: Iterable[str]) -> tuple[str, ...]:
    """Return members in reading order: input first, then sets, then output and housing."""
    order = {INPUT: 0, HOUSING: 3}
    # Of the names without a point in them, those that are neither input nor housing are outputs.
    return tuple(sorted(members, key=lambda member: order.get(member, 1 if "." in member else 2)))


def standing_for_good(layout: Layout) -> dict[str, int]:
    """Return -1 for every member that is joined to the housing, 0 for any other, as `sides_of` asks for them.

    Args:
        layout: the layout.
    """
    name_of = layout.groups.name_of
    return {
        member: -1 if name_of(member) == name_of(HOUSING) else 0
        for member in (*layout.members, *layout.further_shafts, HOUSING)
    }


def way_words(merged: Merged, labels: Sequence[str]) -> str:
    """Return the elements and locked sets on a way from member to member.

    Args:
        merged: the shafts.
        labels: from `Merged.through`.
    """
    names = {pset.name for pset in merged.layout.sets}
    sets = [label for label in labels if label in names]
    elements = [label for label in labels if label not in names]
    locked = [say("the locked {sets}", sets=sets_words(sets))] if sets else []
    return listed([*elements, *locked])


def element_words(element: Element) -> str:
    """Return an element by name and kind, such as "B, a brake,"."""
    return f"{element.name}, {say(KIND_ARTICLES[element.kind])},"


def knows(merged: Merged, member: str, form: Form, origin: str, unit: str = INPUT) -> str:
    """Return the clause that says why a member's speed is known, such as "the ring is held by C".

    Args:
        merged: the shafts.
        member: the member, such as "P3.ring".
        form: its speed.
        origin: the member or end whose speed was known first on this shaft; an unknown's letter for an unknown.
        unit: the end that makes one turn.
    """
    own = say("the {member}", member=own_words(member))
    way, mate = merged.through(member, origin), member_words(origin)
    if origin in (INPUT, OUTPUT) and form.known and form.constant:
        if set(way) & set(merged.locked):
            return say("{own} turns with {end} through {way}", own=own, end=mate, way=way_words(merged, way))
        if way:
            return say("{own} is joined to {end} by {way}", own=own, end=mate, way=way_words(merged, way))
        return say("{own} is on {end}", own=own, end=mate)
    if origin == HOUSING:
        if not way:
            return say("{own} is always held", own=own)
        return say_n("{own} is held by {way}", "{own} is held through {way}", len(way), own=own, way=way_words(merged, way))
    if origin == OUTPUT and form.known:
        return say("{own} is on the output, which stands still", own=own)
    if not form.known:
        return say("{own} turns at {form}", own=own, form=form_words(form))
    if origin == member:
        return f"{own} {speed_words(form.constant, unit)}"
    if form.constant == 0:
        if way:
            told = say(
                "{own} stands still with {origin}, joined to it by {way}", own=own, origin=mate, way=way_words(merged, way)
            )
        else:
            told = say("{own} stands still with {origin}", own=own, origin=mate)
        return told
    rate = decimal(form.constant)
    if way:
        return say("{own} is joined to {origin} by {way} ({rate})", own=own, origin=mate, way=way_words(merged, way), rate=rate)
    return say("{own} turns with {origin} ({rate})", own=own, origin=mate, rate=rate)
