"""Power in a range, as a multiple of what comes in: through teeth, on members, through clutches."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.answers.families.loads.efficiency import HALF_PERCENT, MARKS, SUBJECT, Value, hard_of, settled, working_sets
from gearkit.answers.item import AnswerKind
from gearkit.answers.layouts import words
from gearkit.answers.layouts.family import Ask, Case, Family, number
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.text.phrases import capital
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, MEMBERS

_LEAST = Fraction(1, 100)


def _rollings(train: Train) -> Iterator[Case]:
    for row in settled(train):
        for name in working_sets(train, row)[-1:]:
            hard, told = hard_of(train, row), words.set_words(train.layout, name)
            yield Case(
                (row.name, name),
                say("power through the teeth of {told} in range {row}", told=told, row=row.name),
                say(
                    "{up}, no losses. How much power goes through the teeth of {told}, as seen from its carrier, as a multiple of the input power (size only)?",
                    up=capital(words.range_words(train.layout, row)),
                    told=told,
                ),
                MARKS[hard],
                hard,
                (
                    say(
                        "It is the sun's torque times the sun's speed as seen from {carrier}.",
                        carrier=words.member(train.layout, f"{name}.carrier"),
                    ),
                    say("Find the speeds of sun and carrier for an input speed of 1."),
                    say("Find the sun's torque for an input torque of 1, then multiply."),
                ),
                asks=frozenset({f"rolling {row.name} {name}"}) | train.as_ratio(_rolled(row.name, name)(train) or Fraction(0)),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=HALF_PERCENT,
                size_only=True,
            )


def _rolled(range_name: str, pset: str) -> Value:
    def at(train: Train) -> Fraction | None:
        loads = train.torques(train.row(range_name))
        power = loads.power.rolling[pset] if loads and loads.power else None
        return None if power is None else abs(power)

    return at


def _rolling(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about

    def of_member(part: str, with_speed: bool) -> Value:
        def at(train: Train) -> Fraction | None:
            loads = train.torques(train.row(range_name))
            member = f"{name}.{part}"
            torque = loads.members[member] if loads else None
            speed = train.speed(train.row(range_name), member) if with_speed else Fraction(1)
            return None if torque is None or speed is None else abs(torque * speed)

        return at

    mistakes = [
        Wrong(
            "REL",
            of_member("sun", True),
            say("That is the sun's whole power. Part of it turns with the carrier and goes through no mesh."),
        ),
        Wrong(
            "REL",
            of_member("ring", True),
            say("That is the ring's whole power. Part of it turns with the carrier and goes through no mesh."),
        ),
        Wrong("LEFTOUT", of_member("sun", False), say("That is the sun's share of the torque; its speed is missing.")),
        Wrong("ETAFULL", lambda train: Fraction(1), say("Not all power goes through these teeth.")),
    ]
    mistakes += [
        Wrong(
            "OTHERSET",
            _rolled(range_name, other),
            say("That goes through the teeth of {set}.", set=words.set_words(ask.own.layout, other)),
        )
        for other in working_sets(ask.own, ask.own.row(range_name))
        if other != name
    ]
    return number(ask, _rolled(range_name, name), mistakes)


def _powers(train: Train) -> Iterator[Case]:
    for row in settled(train):
        name, power = _asked_member(train, row)
        if not name:
            continue
        hard, told = hard_of(train, row), words.member(train.layout, name)
        yield Case(
            (row.name, name),
            say("power on {told} in range {row}", told=told, row=row.name),
            say(
                "{up}, no losses. How much power is on {told}, as a multiple of the input power (size only)?",
                up=capital(words.range_words(train.layout, row)),
                told=told,
            ),
            MARKS[hard],
            hard,
            (
                say("Power is torque times speed."),
                say("Find the torque on {told} for an input torque of 1, shaft by shaft.", told=told),
                say("Then its speed for an input speed of 1, and multiply."),
            ),
            asks=frozenset({f"power {row.name}"}) | train.as_ratio(power),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            size_only=True,
        )


def _asked_member(train: Train, row: Drive) -> tuple[str, Fraction]:
    """A member whose power is neither nothing nor all of it, the one with most power first, and that power; "" for none."""
    loads = train.torques(row)
    if loads is None or loads.power is None:
        return "", Fraction(0)
    powers = {name: abs(power) for name, power in loads.power.members.items() if power}
    asked = [name for name, power in powers.items() if abs(power - 1) > _LEAST and power > _LEAST]
    name = max(asked, key=lambda name: powers[name], default="")
    return name, powers.get(name, Fraction(0))


def _power(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    pset = name.partition(".")[0]

    def on(member: str, torque_only: bool = False) -> Value:
        def at(train: Train) -> Fraction | None:
            loads = train.torques(train.row(range_name))
            power = (loads.members if torque_only else loads.power.members)[member] if loads and loads.power else None
            return None if power is None else abs(power)

        return at

    mistakes = [
        Wrong("LEFTOUT", on(name, True), say("That is its torque; its speed is missing.")),
        Wrong("ETAFULL", lambda train: Fraction(1), say("Not all power passes here, or some passes twice.")),
        *(
            Wrong(
                "MEMBERS",
                on(f"{pset}.{part}"),
                say("That is the power on {member}.", member=words.member(ask.own.layout, f"{pset}.{part}")),
            )
            for part in MEMBERS
            if f"{pset}.{part}" != name
        ),
        Wrong("LOCKFREE", lambda train: Fraction(0), say("It neither stands nor runs along without torque here.")),
    ]
    return number(ask, on(name), mistakes)


def _clutches(train: Train) -> Iterator[Case]:
    for row in settled(train):
        for name in row.engaged:
            power = _through(row.name, name)(train)
            if HOUSING in train.layout.element_named(name).between or not power or abs(power - 1) < _LEAST or power < _LEAST:
                continue
            hard = hard_of(train, row)
            yield Case(
                (row.name, name),
                say("power through clutch {name} in range {row}", name=name, row=row.name),
                say(
                    "{up}, no losses. How much power does clutch {name} pass on, as a multiple of the input power (size only)?",
                    up=capital(words.range_words(train.layout, row)),
                    name=name,
                ),
                MARKS[hard],
                hard,
                (
                    say("Power is torque times speed, and both sides of an applied clutch turn alike."),
                    say("Find the torque in {name} for an input torque of 1, shaft by shaft.", name=name),
                    say("Then the speed of its two sides for an input speed of 1, and multiply."),
                ),
                asks=frozenset({f"clutch power {row.name} {name}"}) | train.as_ratio(power),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=HALF_PERCENT,
                size_only=True,
            )


def _through(range_name: str, name: str) -> Value:
    def at(train: Train) -> Fraction | None:
        loads = train.torques(train.row(range_name))
        power = loads.power.clutches.get(name) if loads and loads.power else None
        return None if power is None else abs(power)

    return at


def _clutch(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about

    def torque(train: Train) -> Fraction | None:
        loads = train.torques(train.row(range_name))
        carried = loads.elements[name] if loads else None
        return None if carried is None else abs(carried)

    def turns(train: Train) -> Fraction | None:
        speed = train.speed(train.row(range_name), train.layout.element_named(name).between[0])
        return None if speed is None else abs(speed)

    mistakes = [
        Wrong("LEFTOUT", torque, say("That is its torque; its speed is missing.")),
        Wrong("LEFTOUT", turns, say("That is its speed; its torque is missing.")),
        Wrong("ETAFULL", lambda train: Fraction(1), say("Not all power passes here, or some passes twice.")),
    ]
    mistakes += [
        Wrong(
            "ELEMENT", _through(range_name, other), say("That is what {other} passes on, not {name}.", other=other, name=name)
        )
        for other in ask.own.row(range_name).engaged
        if other != name
    ]
    return number(ask, _through(range_name, name), mistakes)


FAMILIES = (
    Family("rolling", SUBJECT, 9, AnswerKind.DECIMAL, _rollings, _rolling),
    Family("power", SUBJECT, 9, AnswerKind.DECIMAL, _powers, _power),
    Family("clutch-power", SUBJECT, 9, AnswerKind.DECIMAL, _clutches, _clutch),
)
