"""What one set does when its members have roles: the question that a panel asks, answered by the solver.

A set alone is a small train: the driving member is the input, the driven one the output, a held one has a brake, two
joined ones a clutch. So one solver serves a single set and a whole transmission.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve.exact.linear import solve
from gearkit.solve.mobility import assess
from gearkit.solve.speeds import speeds
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, ElementKind, SourceKind, Verdict

NONE = "none"
JOINS = (NONE, later("sun carrier"), later("carrier ring"), later("sun ring"))
CASE_WORDS = (
    later("forward reduction"), later("forward overdrive"), "direct", later("reverse reduction"), later("reverse overdrive"), str(Verdict.NEUTRAL), str(Verdict.TIE_UP),
)  # fmt: skip


@dataclass(frozen=True)
class Roles:
    """Which member drives, is held and is driven.

    Args:
        drive: the member that the input turns.
        hold: the member that is held, or "none".
        driven: the member that turns the output.
        joined: two members joined to each other, such as "sun carrier", or "none".

    Raises:
        UsageError: a word that is no member, or two roles for one member.
    """

    drive: str = "sun"
    hold: str = "ring"
    driven: str = "carrier"
    joined: str = NONE

    def __post_init__(self) -> None:
        for role, member in (("drive", self.drive), ("hold", self.hold), ("driven", self.driven)):
            if member not in MEMBERS and not (role == "hold" and member == NONE):
                raise UsageError(f"{role} = {member!r}: a member is sun, carrier or ring; hold may be none.")
        if len({self.drive, self.hold, self.driven}) < 3:
            raise UsageError(f"{self.drive} drives, {self.hold} held, {self.driven} driven: each member has one role.")
        if self.joined not in JOINS:
            raise UsageError(f"joined = {self.joined!r}: choose one of {', '.join(JOINS)}.")


@dataclass(frozen=True)
class Outcome:
    """What follows.

    Args:
        verdict: range, neutral or tie-up.
        word: the case in the trade's words, such as "forward reduction".
        ratio: input speed / output speed; None unless the verdict is range.
        speeds: speed of each member in input speeds; None for one that is free.
    """

    verdict: Verdict
    word: str
    ratio: Fraction | None
    speeds: dict[str, Fraction | None]


def case_word(ratio: Fraction) -> str:
    """Return the trade's name of a ratio: "forward reduction", "direct", "reverse overdrive" and so on."""
    if ratio == 1:
        return "direct"
    return f"{'reverse' if ratio < 0 else 'forward'} {'reduction' if abs(ratio) > 1 else 'overdrive'}"


def outcome(pset: PlanetarySet, roles: Roles) -> Outcome:
    """Return what the set does.

    Args:
        pset: the set.
        roles: which member drives, is held, is driven, and which two are joined.
    """
    train = _train(pset, roles)
    engaged = [element.name for element in train.elements]
    mobility = assess(train, engaged)
    still = mobility.verdict is Verdict.TIE_UP
    turning = speeds(train, engaged, input_speed=0 if still else 1)
    word = case_word(mobility.ratio) if mobility.ratio is not None else mobility.verdict.value
    by_member = {member: turning.members[f"{pset.name}.{member}"] for member in MEMBERS}
    return Outcome(mobility.verdict, word, mobility.ratio, by_member)


def third_speed(pset: PlanetarySet, given: dict[str, Fraction]) -> tuple[str, Fraction]:
    """Return the member that is not given, and its speed.

    Args:
        pset: the set.
        given: two members and their speeds, in one unit.

    Raises:
        UsageError: other than two members are given.
    """
    open_members = [member for member in MEMBERS if member not in given]
    if len(open_members) != 1:
        raise UsageError(f"{len(given)} speeds are given ({', '.join(given)}); give two of sun, carrier and ring.")
    sun, ring = pset.weights
    weight = {"sun": sun, "ring": ring, "carrier": -(sun + ring)}
    third = open_members[0]
    values = solve([[weight[third]]], [-sum(weight[member] * speed for member, speed in given.items())])
    assert values is not None
    assert values[0] is not None
    return third, values[0]


def _train(pset: PlanetarySet, roles: Roles) -> Layout:
    name = pset.name
    elements = []
    if roles.hold != NONE:
        elements.append(Element("A", ElementKind.BRAKE, (f"{name}.{roles.hold}", HOUSING)))
    if roles.joined != NONE:
        first, second = roles.joined.split()
        elements.append(Element("B", ElementKind.CLUTCH, (f"{name}.{first}", f"{name}.{second}")))
    joins = ((INPUT, f"{name}.{roles.drive}"), (OUTPUT, f"{name}.{roles.driven}"))
    source = Source(SourceKind.OWN, say("one set in a lesson"))
    return Layout(say("Set {name}", name=name), (pset,), joins, tuple(elements), (), source)
