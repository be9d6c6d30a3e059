"""Losses and power in a range: what is lost, what comes out, where power goes and where it goes round."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.items import AnswerKind
from gearkit.answers.layouts import words
from gearkit.answers.layouts.family import Ask, Case, Family, choice, number, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.task import Task
from gearkit.solve.loads.torques import Torques
from gearkit.text.phrases import decimal, listed
from gearkit.words.terms import HOUSING, MEMBERS

SUBJECT = "efficiency"
_ONE_PERCENT, _HALF_PERCENT = Tolerance(relative=Fraction(1, 100)), Tolerance(relative=Fraction(1, 200))
_BASIC = " Basic efficiency of every set, with its carrier held: <e>."
_LOSSES = {"e": ("0.960", "0.985", "0.005")}
_HEAVY = {"e": ("0.90", "0.94", "0.01"), "T": ("80", "400", "10")}
_TABLE = Fraction(98, 100)
_LEAST, _GOES_ROUND, _CLOSE = Fraction(1, 100), Fraction(1, 50), Fraction(1, 1000)
_MARKS = {1: 3, 2: 5, 3: 6}
Value = Callable[[Train], Fraction | None]


def _settled(train: Train) -> Iterator[Drive]:
    """Ranges in which power goes through teeth and balance fixes every torque."""
    for row in train.distinct:
        if row.ratio != 1 and train.torques(row) is not None and train.torques(row, _TABLE) is not None:
            yield row


def _hard(train: Train, row: Drive) -> int:
    return min(3, max(1, len(_working(train, row))))


def _working(train: Train, row: Drive) -> list[str]:
    """Sets through whose teeth power goes."""
    found = train.torques(row)
    rolling = found.power.rolling if found and found.power else {}
    return [name for name, power in rolling.items() if power]


def _with(train: Train, range_name: str, basic: Fraction) -> Torques | None:
    return train.torques(train.row(range_name), basic)


def _hints(train: Train, row: Drive) -> tuple[str, str, str]:
    sets = listed(words.set_words(train.layout, name) for name in _working(train, row))
    return (
        f"Power goes through the teeth of {sets}; a set that turns as a block or only runs along loses nothing.",
        "See each of these sets from its carrier: whichever of sun and ring brings power into the mesh is the driver there, and "
        "the other gets e times the torque.",
        "Work from the input to the output with these torques and compare with what comes out without losses.",
    )


def _losses(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        hard = _hard(train, row)
        yield Case(
            (row.name,),
            f"power lost in range {row.name}",
            f"How many percent of the input power are lost in the teeth in {words.range_words(train.layout, row)}, under drive?"
            f"{_BASIC} Give at least two figures.",
            _MARKS[hard],
            hard,
            _hints(train, row),
            _LOSSES,
            asks=frozenset({f"efficiency {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=_ONE_PERCENT,
            unit="percent",
        )


def _loss(ask: Ask) -> Task | None:
    basic, name = ask.facts.values["e"], ask.about[0]
    row = ask.own.row(name)
    sets = max(1, len(_working(ask.own, row)))

    def lost(range_name: str) -> Value:
        def at(train: Train) -> Fraction | None:
            found = _with(train, range_name, basic)
            return None if found is None or found.efficiency is None else (1 - found.efficiency) * 100

        return at

    mistakes = [Wrong("ETAFULL", lambda train: (1 - basic) * 100)]
    if sets > 1:
        mistakes.append(
            Wrong(
                "ETAFULL",
                lambda train: (1 - basic**sets) * 100,
                "You charged the whole power to each set in turn. Each loses only from what goes through its teeth, as "
                "seen from its carrier.",
            )
        )
    mistakes += [
        Wrong("LEFTOUT", _without(name, one, basic), f"The loss of {words.set_words(ask.own.layout, one)} is missing.")
        for one in _working(ask.own, row)
        if sets > 1
    ]
    mistakes += [Wrong("TSPEED", _efficiency(name, basic), "That is what comes out. Asked for is what is lost.")]
    mistakes += [
        Wrong(
            "OTHERRANGE", lost(other.name), f"That belongs to range {other.name}. Look again which elements hold in this one."
        )
        for other in _settled(ask.own)
        if other.name != name
    ][:2]
    return number(ask, lost(name), mistakes)


def _efficiency(name: str, basic: Fraction) -> Value:
    def at(train: Train) -> Fraction | None:
        found = _with(train, name, basic)
        return None if found is None or found.efficiency is None else found.efficiency * 100

    return at


def _without(name: str, pset: str, basic: Fraction) -> Value:
    """Loss in percent without that of one set."""

    def at(train: Train) -> Fraction | None:
        found = _with(train, name, basic)
        power = found.power.losses[pset] if found and found.power else None
        if found is None or found.efficiency is None or power is None:
            return None
        left = (1 - found.efficiency) - power
        return left * 100 if left > 0 else None

    return at


def _outputs(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        hard = _hard(train, row)
        yield Case(
            (row.name,),
            f"output torque with losses in range {row.name}",
            f"{words.up(words.range_words(train.layout, row))}, under drive, <T> N·m at the input.{_BASIC} How large is the output "
            "torque (size and unit; a sign does not count)?",
            _MARKS[hard],
            hard,
            _hints(train, row),
            _HEAVY,
            asks=frozenset({f"lossy torque {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=_HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _output(ask: Ask) -> Task | None:
    basic, name = ask.facts.values["e"], ask.about[0]
    row = ask.own.row(name)
    sets = max(1, len(_working(ask.own, row)))

    def out(train: Train) -> Fraction | None:
        found = _with(train, name, basic)
        return None if found is None or found.output_torque is None else abs(found.output_torque)

    def ratio(train: Train) -> Fraction:
        return abs(train.row(name).ratio)

    def gained(train: Train) -> Fraction | None:
        found = out(train)
        return ratio(train) ** 2 / found if found else None

    mistakes = (
        Wrong("LEFTOUT", ratio, "The losses are missing: they come off the torque."),
        Wrong("ETAFULL", lambda train: ratio(train) * basic),
        Wrong(
            "ETAFULL",
            lambda train: ratio(train) * basic**sets if sets > 1 else None,
            "You charged the whole power to each set in turn. Each loses only from what goes through its teeth, as seen from its "
            "carrier.",
        ),
        Wrong("RECIP", gained, "A loss makes the output smaller, not larger."),
        Wrong("TSPEED", lambda train: basic / ratio(train)),
    )
    return number(ask, out, mistakes, ask.facts.values["T"])


def _rollings(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        for name in _working(train, row)[-1:]:
            hard, told = _hard(train, row), words.set_words(train.layout, name)
            yield Case(
                (row.name, name),
                f"power through the teeth of {told} in range {row.name}",
                f"{words.up(words.range_words(train.layout, row))}, no losses. How much power goes through the teeth of {told}, as seen "
                "from its carrier, as a multiple of the input power (size only)?",
                _MARKS[hard],
                hard,
                (
                    f"It is the sun's torque times the sun's speed as seen from carrier {told.split()[1]}.",
                    "Find the speeds of sun and carrier for an input speed of 1.",
                    "Find the sun's torque for an input torque of 1, then multiply.",
                ),
                asks=frozenset({f"rolling {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=_HALF_PERCENT,
                size_only=True,
            )


def _rolling(ask: Ask) -> Task | None:
    range_name, name = ask.about

    def rolled(pset: str, where: str = range_name) -> Value:
        def at(train: Train) -> Fraction | None:
            found = train.torques(train.row(where))
            power = found.power.rolling[pset] if found and found.power else None
            return None if power is None else abs(power)

        return at

    def of_member(part: str, with_speed: bool) -> Value:
        def at(train: Train) -> Fraction | None:
            found = train.torques(train.row(range_name))
            member = f"{name}.{part}"
            torque = found.members[member] if found else None
            speed = train.speed(train.row(range_name), member) if with_speed else Fraction(1)
            return None if torque is None or speed is None else abs(torque * speed)

        return at

    mistakes = [
        Wrong(
            "REL",
            of_member("sun", True),
            "That is the sun's whole power. Part of it turns round with the carrier and goes through no mesh.",
        ),
        Wrong(
            "REL",
            of_member("ring", True),
            "That is the ring's whole power. Part of it turns round with the carrier and goes through no mesh.",
        ),
        Wrong("LEFTOUT", of_member("sun", False), "That is the sun's share of the torque; its speed is missing."),
        Wrong("ETAFULL", lambda train: Fraction(1), "Not all power goes through these teeth."),
    ]
    mistakes += [
        Wrong("OTHERSET", rolled(other), f"That goes through the teeth of {words.set_words(ask.own.layout, other)}.")
        for other in _working(ask.own, ask.own.row(range_name))
        if other != name
    ]
    return number(ask, rolled(name), mistakes)


def _powers(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        name = _asked_member(train, row)
        if name is None:
            continue
        hard, told = _hard(train, row), words.member(train.layout, name)
        yield Case(
            (row.name, name),
            f"power on {told} in range {row.name}",
            f"{words.up(words.range_words(train.layout, row))}, no losses. How much power is on {told}, as a multiple of the input power "
            "(size only)?",
            _MARKS[hard],
            hard,
            (
                "Power is torque times speed.",
                f"Find the torque on {told} for an input torque of 1, shaft by shaft.",
                "Then its speed for an input speed of 1, and multiply.",
            ),
            asks=frozenset({f"power {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=_HALF_PERCENT,
            size_only=True,
        )


def _asked_member(train: Train, row: Drive) -> str | None:
    """A member whose power is neither nothing nor all of it, the one with most power first."""
    found = train.torques(row)
    if found is None or found.power is None:
        return None
    powers = {name: abs(power) for name, power in found.power.members.items() if power}
    asked = [name for name, power in powers.items() if abs(power - 1) > _LEAST and power > _LEAST]
    return max(asked, key=lambda name: powers[name], default=None)


def _power(ask: Ask) -> Task | None:
    range_name, name = ask.about
    pset = name.partition(".")[0]

    def on(member: str, torque_only: bool = False) -> Value:
        def at(train: Train) -> Fraction | None:
            found = train.torques(train.row(range_name))
            power = (found.members if torque_only else found.power.members)[member] if found and found.power else None
            return None if power is None else abs(power)

        return at

    mistakes = [
        Wrong("LEFTOUT", on(name, True), "That is its torque; its speed is missing."),
        Wrong("ETAFULL", lambda train: Fraction(1), "Not all power comes by here, or some comes by twice."),
        *(
            Wrong("MEMBERS", on(f"{pset}.{part}"), f"That is the power on {words.member(ask.own.layout, f'{pset}.{part}')}.")
            for part in MEMBERS
            if f"{pset}.{part}" != name
        ),
        Wrong("LOCKFREE", lambda train: Fraction(0), "It neither stands nor runs along without torque here."),
    ]
    return number(ask, on(name), mistakes)


def _clutches(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        for name in row.engaged:
            power = _through(row.name, name)(train)
            if HOUSING in train.layout.element_named(name).between or not power or abs(power - 1) < _LEAST or power < _LEAST:
                continue
            hard = _hard(train, row)
            yield Case(
                (row.name, name),
                f"power through clutch {name} in range {row.name}",
                f"{words.up(words.range_words(train.layout, row))}, no losses. How much power does clutch {name} pass on, as a multiple of "
                "the input power (size only)?",
                _MARKS[hard],
                hard,
                (
                    "Power is torque times speed, and both sides of an applied clutch turn alike.",
                    f"Find the torque in {name} for an input torque of 1, shaft by shaft.",
                    "Then the speed of its two sides for an input speed of 1, and multiply.",
                ),
                asks=frozenset({f"clutch power {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=_HALF_PERCENT,
                size_only=True,
            )


def _through(range_name: str, name: str) -> Value:
    def at(train: Train) -> Fraction | None:
        found = train.torques(train.row(range_name))
        power = found.power.clutches.get(name) if found and found.power else None
        return None if power is None else abs(power)

    return at


def _clutch(ask: Ask) -> Task | None:
    range_name, name = ask.about

    def torque(train: Train) -> Fraction | None:
        found = train.torques(train.row(range_name))
        carried = found.elements[name] if found else None
        return None if carried is None else abs(carried)

    def turns(train: Train) -> Fraction | None:
        speed = train.speed(train.row(range_name), train.layout.element_named(name).between[0])
        return None if speed is None else abs(speed)

    mistakes = [
        Wrong("LEFTOUT", torque, "That is its torque; its speed is missing."),
        Wrong("LEFTOUT", turns, "That is its speed; its torque is missing."),
        Wrong("ETAFULL", lambda train: Fraction(1), "Not all power comes by here, or some comes by twice."),
    ]
    mistakes += [
        Wrong("ELEMENT", _through(range_name, other), f"That is what {other} passes on, not {name}.")
        for other in ask.own.row(range_name).engaged
        if other != name
    ]
    return number(ask, _through(range_name, name), mistakes)


def _rounds(train: Train) -> Iterator[Case]:
    rows = list(_settled(train))
    going = [row for row in rows if _goes_round(train, row)]
    if not going or len(going) == len(rows) or len(rows) < 3:
        return
    yield Case(
        (),
        "ranges in which power goes round",
        f"In which of the ranges {listed(row.name for row in rows)} does power go round inside the transmission, that is, come back to "
        f"where it was? Tick all of them. (A wrong tick takes off at "
        "least what a right one earns.)",
        4,
        3,
        (
            "Draw for each range which way power goes on each shaft, from set to set.",
            "Without losses a shaft's power is its torque times its speed; mind the signs.",
            "Power goes round where you can follow it back to where you began.",
        ),
        asks=frozenset({"power goes round"}),
        tells=frozenset(),
        shows=(words.CHART,),
    )


def _goes_round(train: Train, row: Drive) -> bool:
    found = train.torques(row)
    return bool(found and found.recirculation and found.recirculation > _GOES_ROUND)


def _round(ask: Ask) -> Task | None:
    names = [row.name for row in _settled(ask.own)]
    rows = [ask.train.row(name) for name in names]
    if any(ask.train.torques(row) is None for row in rows):
        return None
    right = [row.name for row in rows if _goes_round(ask.train, row)]
    tallest = max(rows, key=lambda row: abs(row.ratio)).name
    split = [row.name for row in rows if len(_working(ask.train, row)) > 1]
    wrong = [
        ("ETAFULL", [tallest], "Power that goes round has nothing to do with how large the ratio is."),
        ("COUNT", split, "That power is split over several sets does not mean that it comes back."),
    ]
    return several(ask, names, right, [one for one in wrong if one[1]])


def _hots(train: Train) -> Iterator[Case]:
    rows = list(_settled(train))
    if len(rows) < 3:
        return
    yield Case(
        (),
        "range that heats the oil most",
        "The table shows what comes out of your transmission, for a basic efficiency of 0.98 of every set (an assumption; bearings, "
        "oil and pump are not in it). With the same power at the input, in which range do the teeth heat the oil most?\n\n<list>",
        2,
        1,
        (
            "Heat is what is missing from efficiency 1.",
            "Power that goes round passes through teeth more than once.",
            "Compare the efficiencies, not the ratios.",
        ),
        asks=frozenset({"hottest"}),
        tells=frozenset({*(f"efficiency {row.name}" for row in rows), "power goes round"}),
        shows=(words.CHART,),
    )


def _hot(ask: Ask) -> Task | None:
    lines = ["| range | efficiency | power going round, percent |", "| --- | --- | --- |"]
    found: dict[str, Fraction] = {}
    for own in _settled(ask.own):
        row = ask.train.row(own.name)
        loads = ask.train.torques(row, _TABLE)
        if loads is None or loads.efficiency is None or loads.recirculation is None:
            return None
        found[row.name] = loads.efficiency
        lines.append(f"| {row.name} | {float(loads.efficiency):.4f} | {decimal(round(100 * loads.recirculation))} |")
    ranked = sorted(found, key=found.__getitem__)
    tallest = max((ask.train.row(name) for name in found), key=lambda row: abs(row.ratio)).name
    if found[ranked[1]] - found[ranked[0]] < _CLOSE:
        return None
    return choice(
        ask,
        tuple(found),
        ranked[0],
        [
            ("ETAFULL", tallest, "Heat follows what is lost, not the ratio."),
            ("RECIP", ranked[-1], "That is the range in which least is lost."),
        ],
        words={"list": "\n".join(lines)},
        label="range",
    )


FAMILIES = (
    Family("hottest", SUBJECT, 9, AnswerKind.CHOICE, _hots, _hot),
    Family("loss", SUBJECT, 9, AnswerKind.DECIMAL, _losses, _loss),
    Family("torque-with-losses", SUBJECT, 9, AnswerKind.TORQUE, _outputs, _output),
    Family("rolling", SUBJECT, 9, AnswerKind.DECIMAL, _rollings, _rolling),
    Family("power", SUBJECT, 9, AnswerKind.DECIMAL, _powers, _power),
    Family("clutch-power", SUBJECT, 9, AnswerKind.DECIMAL, _clutches, _clutch),
    Family("goes-round", SUBJECT, 9, AnswerKind.MULTIPLE_CHOICE, _rounds, _round),
)
