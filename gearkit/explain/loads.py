"""Which sets carry torque and which merely turn, decided by torque without losses, with the reason where one is seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gearkit.solve.loads.balance import Statics
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT


@dataclass(frozen=True)
class Idle:
    """A set that carries no torque, because nothing acts on one of its members.

    Args:
        set_name: the set.
        member: the member on which nothing acts.
        beside: sets on the same shaft that carry nothing either; empty where the member is alone.
    """

    set_name: str
    member: str
    beside: tuple[str, ...]


def unloaded(layout: Layout, engaged: Sequence[str]) -> tuple[Idle, ...]:
    """Return the sets that can carry no torque, each after those that its reason names.

    On a shaft that neither end, nor the housing, nor any other loaded set acts on, the torque is zero; and a set with
    no torque on one member has none on the others.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
    """
    groups = layout.groups.copy()
    for name in engaged:
        groups.join(*layout.element_named(name).between)
    ends = {groups.name_of(end) for end in (INPUT, OUTPUT, HOUSING)}
    on_shaft: dict[str, list[str]] = {}
    for member in layout.members:
        on_shaft.setdefault(groups.name_of(member), []).append(member)
    unloaded_sets: list[Idle] = []
    idle: set[str] = set()
    while True:
        fresh = next((reason for reason in _reasons(on_shaft, ends, idle)), None)
        if fresh is None:
            return tuple(unloaded_sets)
        unloaded_sets.append(fresh)
        idle.add(fresh.set_name)


def _reasons(on_shaft: dict[str, list[str]], ends: set[str], idle: set[str]) -> list[Idle]:
    reasons = []
    for shaft, members in on_shaft.items():
        loaded = [member for member in members if member.split(".")[0] not in idle]
        # Two members of one set alone on a shaft balance each other, which no set can but with zero.
        names = {member.split(".")[0] for member in loaded}
        if shaft not in ends and len(names) == 1:
            beside = dict.fromkeys(m.split(".")[0] for m in members if m.split(".")[0] in idle)
            reasons.append(Idle(loaded[0].split(".")[0], loaded[0], tuple(beside)))
    return sorted(reasons, key=lambda reason: len(reason.beside))


def carries_torque(layout: Layout, statics: Statics | None) -> dict[str, bool | None]:
    """Return for every set whether it carries torque; None where balance alone does not tell.

    Args:
        layout: the layout.
        statics: the torques without losses; None where there are none.
    """
    carrying: dict[str, bool | None] = {}
    for pset in layout.sets:
        own = [statics.members[f"{pset.name}.{member}"] for member in MEMBERS] if statics else [None]
        carrying[pset.name] = None if None in own else any(own)
    return carrying
