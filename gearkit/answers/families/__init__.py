"""Families of items over any layout: everything that the kit can ask about a transmission. `offers.offered` lists it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.families import (
    chart,
    direction,
    faults,
    judging,
    one_way,
    power_path,
    ratio,
    relative_speeds,
    road,
    shifting,
    speeds,
    steps,
    suspects,
)
from gearkit.answers.families.loads import efficiency, element_torques, largest_torque, power, torques
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.layouts import words
from gearkit.answers.layouts.family import LEVELS, Case, Family, ask_of
from gearkit.answers.layouts.own_teeth import AS_GIVEN, layout_in
from gearkit.answers.layouts.train import Train, train_of
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.say import kept_for_each_language

# One letter for each layout of a sheet, in their order; the first letter of its items' ids.
PLACES = "XYZWVUTSQP"
_MODULES = (
    ratio,
    direction,
    speeds,
    relative_speeds,
    power_path,
    chart,
    torques,
    element_torques,
    largest_torque,
    efficiency,
    power,
    steps,
    road,
    shifting,
    one_way,
    faults,
    suspects,
    judging,
)
_FAMILIES: dict[str, Family] = {family.name: family for module in _MODULES for family in module.FAMILIES}
SUBJECTS: tuple[str, ...] = tuple(dict.fromkeys(family.subject for family in _FAMILIES.values()))


@dataclass(frozen=True)
class Offer:
    """An item that can be made from a layout.

    Args:
        id: its name, such as "X06-RATIO-3".
        title: a few words for lists.
        subject: one of `SUBJECTS`.
        kind: how it is answered.
        level: easy, middle or hard.
        marks: full marks.
        lesson: the lesson that teaches it.
        family: the family that it belongs to.
        item: the item.
    """

    id: str
    title: str
    subject: str
    kind: AnswerKind
    level: str
    marks: int
    lesson: int
    family: str
    item: Item


def known(layout: Layout, place: int = 0) -> tuple[Offer, ...]:
    """Return all that can be asked about a layout, and with it what an earlier sheet may hold although few draws serve it.

    Args:
        layout: any layout.
        place: which of a sheet's layouts it is, counted from 0.
    """
    return _offered(catalogue.dumps(layout), place)


def built_item(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Return the built item that a family makes of what was drawn, or None where the draw does not serve.

    Args:
        item: the item.
        drawn: what was drawn.
        seeded: for what the question itself draws.
    """
    return _FAMILIES[item.rule].build(ask_of(item, drawn, seeded))


@kept_for_each_language(16)
def _offered(text: str, place: int) -> tuple[Offer, ...]:
    train = train_of(text, tuple(AS_GIVEN for _ in layout_in(text).sets))
    made = [(family, case) for family in _FAMILIES.values() for case in family.cases(train)]
    names = _names([(family, case.about) for family, case in made], place)
    offers = [
        Offer(
            name,
            case.title,
            family.subject,
            case.kind or family.kind,
            LEVELS[case.level],
            case.marks,
            family.lesson,
            family.name,
            family.item(case, text, name),
        )
        for name, (family, case) in zip(names, made, strict=True)
    ]
    offers = _excluding(offers, [case for _, case in made], train)
    levels = list(LEVELS.values())
    order = sorted(range(len(offers)), key=lambda at: (SUBJECTS.index(offers[at].subject), levels.index(offers[at].level), at))
    return tuple(offers[at] for at in order)


def _names(made: Sequence[tuple[Family, tuple[str, ...]]], place: int) -> list[str]:
    """Readable ids, such as "X06-RATIO-3"; of two alike the later one gets a number."""
    seen: dict[str, int] = {}
    names = []
    for family, about in made:
        words = ["".join(mark for mark in word if mark.isascii() and mark.isalnum()) for word in about]
        name = "-".join([f"{PLACES[place]}{family.lesson:02d}", family.name, *(word for word in words if word)]).upper()
        count = seen[name] = seen.get(name, 0) + 1
        names.append(name if count == 1 else f"{name}-N{count}")
    return names


def _excluding(offers: Sequence[Offer], cases: Sequence[Case], train: Train) -> list[Offer]:
    """The offers with the ids of those that print what they ask for, or that ask for the same."""
    rows = [row.name for row in train.drives]
    free = frozenset(f"free direction {name}" for name in train.one_ways)
    printed = [
        case.tells | _shown(case.shows, rows) | (free if words.PLAIN not in case.shows else frozenset()) for case in cases
    ]
    kept = []
    for place, (offer, case) in enumerate(zip(offers, cases, strict=True)):
        clash = [
            other.id
            for at, (other, its) in enumerate(zip(offers, cases, strict=True))
            if at != place and case.asks & (its.asks | printed[at])
        ]
        kept.append(replace(offer, item=replace(offer.item, excludes=tuple(clash))) if clash else offer)
    return kept


def _shown(shows: tuple[str, ...], rows: Sequence[str]) -> frozenset[str]:
    """The facts that the blocks beside a question print."""
    facts = set() if words.PLAIN in shows else {"kinds"}
    if words.CHART in shows or words.CHART_WITH_RATIOS in shows or words.CHART_APPLIED in shows:
        facts |= {f"chart {row}" for row in rows}
    if words.CHART in shows or words.CHART_WITH_RATIOS in shows:
        facts |= {"relies on one-way clutches"}
    if words.CHART_WITH_RATIOS in shows:
        facts |= {f"ratio {row}" for row in rows} | {"kinds of ratio", "order of ratios"}
    return frozenset(facts)
