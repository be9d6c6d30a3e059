"""Speeds seen from another part that turns: a planet on its pin, the two sides of an open element."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from gearkit.answers.families.speeds import HALF_PERCENT, INPUT_SPEED, LEAST, MARKS, SUBJECT
from gearkit.answers.item import AnswerKind
from gearkit.answers.layouts import hints, words, wrong
from gearkit.answers.layouts.family import Ask, Case, Family, number
from gearkit.answers.layouts.train import Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.text.phrases import listed
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, INPUT, ElementKind, PinionKind

_MOST_SLIPS = 2


def _planets(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        for name in train.loaded(row)[-1:]:
            pset = train.layout.set_named(name)
            spin = train.speeds(row.engaged).planet_spins.get(f"{name}.planet")
            if pset.pinions is not PinionKind.SINGLE or pset.sun_teeth is None or not spin:
                continue
            hard, told = hints.difficulty(train, row, f"{name}.carrier"), words.set_words(train.layout, name)
            carrier = words.member(train.layout, f"{name}.carrier")
            letters = ", ".join(f"{which}_{words.letter(train.layout, 'S', name)[2:]}" for which in "SPR")
            yield Case(
                (row.name, name),
                say("speed of the planets of {told} in range {row}", told=told, row=row.name),
                say(
                    "The input turns at <n> r/min in {range}. How fast does a planet of {told} turn on its pin, seen from {carrier} (r/min; a sign does not count)?",
                    range=words.range_words(train.layout, row),
                    told=told,
                    carrier=carrier,
                ),
                MARKS[hard],
                hard,
                (
                    say(
                        "The planet teeth follow from ${replace}$: the ring is as wide as the sun and two planets.",
                        replace=letters.replace(", ", "$, $"),
                    ),
                    say(
                        "Find the speeds of {carrier} and of the sun or the ring that meshes with the planet.", carrier=carrier
                    ),
                    say("Seen from {carrier} planet and sun are a plain gear pair.", carrier=carrier),
                ),
                INPUT_SPEED,
                asks=frozenset({f"planet {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=HALF_PERCENT,
                unit="r/min",
                size_only=True,
            )


def _planet(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    row, planet = ask.own.row(range_name), f"{name}.planet"
    pset = ask.train.layout.set_named(name)
    if pset.planet_teeth is None or pset.planet_teeth.denominator != 1:
        return None

    def from_housing(train: Train) -> Fraction | None:
        speed = train.speeds(train.row(range_name).engaged).planets.get(planet)
        return abs(speed) if speed else None

    def of(part: str, with_carrier: bool, upside_down: bool = False) -> Wrong:
        def at(train: Train) -> Fraction | None:
            speed, carrier = (train.speed(train.row(range_name), f"{name}.{member}") for member in (part, "carrier"))
            planetary_set = train.layout.set_named(name)
            if speed is None or carrier is None or planetary_set.sun_teeth is None or not planetary_set.planet_teeth:
                return None
            teeth = Fraction(planetary_set.sun_teeth) / planetary_set.planet_teeth
            return abs((speed - (carrier if with_carrier else 0)) * (1 / teeth if upside_down else teeth)) or None

        sentence = (
            say("You divided the other way: the smaller gear of a pair turns faster.")
            if upside_down
            else say(
                "You took the sun's speed as seen from the housing. Seen from the carrier it is less by the carrier's own."
            )
        )
        return Wrong("RECIP" if upside_down else "REL", at, sentence)

    mistakes = (
        Wrong(
            "REL",
            from_housing,
            say("That is the planet's speed as seen from the housing. Asked for is what it turns on its pin."),
        ),
        of("sun", False),
        of("sun", True, True),
        *(
            Wrong(
                "OTHERRANGE",
                _spin_in(drive.name, planet),
                say("That belongs to range {drive}. Look again which elements hold in this one.", drive=drive.name),
            )
            for drive in ask.own.distinct
            if drive.name != range_name and len(set(drive.engaged) & set(row.engaged)) > 0
        ),
    )
    return number(ask, _spin_in(range_name, planet), mistakes, ask.drawn.values["n"])


def _spin_in(range_name: str, planet: str) -> Callable[[Train], Fraction | None]:
    def spin(train: Train) -> Fraction | None:
        planet_spin = train.speeds(train.row(range_name).engaged).planet_spins.get(planet)
        return abs(planet_spin) if planet_spin else None

    return spin


def _slips(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        count = 0
        for element in train.layout.elements:
            slip = train.speeds(row.engaged).slip[element.name]
            if element.name in row.engaged or element.kind is ElementKind.ONE_WAY_CLUTCH or not slip or abs(slip) < LEAST:
                continue
            if count == _MOST_SLIPS:
                break
            count += 1
            first, second = element.between
            moving = [part for part in (first, second) if part not in (HOUSING, INPUT)]
            hard = max(hints.difficulty(train, row, part) for part in moving) if moving else 1
            sides = listed(words.member(train.layout, part) for part in (first, second))
            yield Case(
                (row.name, element.name),
                say("slip of {element} in range {row}", element=element.name, row=row.name),
                say(
                    "The input turns at <n> r/min in {range}. How large is the slip across the open {kind} {element}, between {sides} (r/min; a sign does not count)?",
                    range=words.range_words(train.layout, row),
                    kind=element.kind,
                    element=element.name,
                    sides=sides,
                ),
                MARKS[hard],
                hard,
                (
                    say("The two sides of {element} are {sides}.", element=element.name, sides=sides),
                    hints.holds(train, row),
                    say("Find the speed of each side; the slip is the difference."),
                ),
                INPUT_SPEED,
                asks=frozenset({f"slip {row.name} {element.name}"}),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=HALF_PERCENT,
                unit="r/min",
                size_only=True,
            )


def _slip(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    row, element = ask.own.row(range_name), ask.own.layout.element_named(name)
    first, second = element.between
    quantity = wrong.size_of(wrong.slip_of(first, second))
    sides = [
        Wrong(
            "SLIPABS",
            wrong.right(range_name, wrong.size_of(wrong.speed_of(part))),
            say(
                "That is the speed of {member} alone; slip is the difference between two sides.",
                member=words.member(ask.own.layout, part),
            ),
        )
        for part in (first, second)
        if HOUSING not in (first, second)
    ]
    none = Wrong(
        "LOCKFREE", lambda train: Fraction(0), say("{name} is open: its two sides turn at different speeds.", name=name)
    )
    return number(
        ask,
        wrong.right(range_name, quantity),
        (*sides, none, *wrong.mistakes_in(ask.own, row, quantity)),
        ask.drawn.values["n"],
    )


FAMILIES = (
    Family("planet", SUBJECT, 6, AnswerKind.DECIMAL, _planets, _planet),
    Family("slip", SUBJECT, 11, AnswerKind.DECIMAL, _slips, _slip),
)
