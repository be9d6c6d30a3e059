"""Losses in a range: what is lost, what comes out, where the oil is heated most, where power goes round."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind
from gearkit.answers.layouts import words
from gearkit.answers.layouts.family import Ask, Case, Family, choice, number, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve.loads.torques import Torques
from gearkit.text.phrases import capital, decimal, fixed, listed
from gearkit.words.say import later, say

SUBJECT = later("efficiency")
_ONE_PERCENT, HALF_PERCENT = Tolerance(relative=Fraction(1, 100)), Tolerance(relative=Fraction(1, 200))
_BASIC = later(" Basic efficiency of every set, with its carrier held: <e>.")
_LOSSES = {"e": ("0.960", "0.985", "0.005")}
_HEAVY = {"e": ("0.90", "0.94", "0.01"), "T": ("80", "400", "10")}
TABLE = Fraction(98, 100)
_GOES_ROUND, _CLOSE = Fraction(1, 50), Fraction(1, 1000)
MARKS = {1: 3, 2: 5, 3: 6}
Value = Callable[[Train], Fraction | None]


def settled(train: Train) -> Iterator[Drive]:
    """Yield the ranges in which power goes through teeth and balance fixes every torque."""
    for row in train.distinct:
        if row.ratio != 1 and train.torques(row) is not None and train.torques(row, TABLE) is not None:
            yield row


def hard_of(train: Train, row: Drive) -> int:
    """Return 1 to 3: through the teeth of how many sets power goes.

    Args:
        train: the train.
        row: a range that drives.
    """
    return min(3, max(1, len(working_sets(train, row))))


def working_sets(train: Train, row: Drive) -> list[str]:
    """Return the sets through whose teeth power goes.

    Args:
        train: the train.
        row: a range that drives.
    """
    loads = train.torques(row)
    rolling = loads.power.rolling if loads and loads.power else {}
    return [name for name, power in rolling.items() if power]


def _with(train: Train, range_name: str, basic: Fraction) -> Torques | None:
    return train.torques(train.row(range_name), basic)


def _hints(train: Train, row: Drive) -> tuple[str, str, str]:
    sets = listed(words.set_words(train.layout, name) for name in working_sets(train, row))
    return (
        say("Power goes through the teeth of {sets}; a set that turns as a block or only runs along loses nothing.", sets=sets),
        say(
            "See each of these sets from its carrier: whichever of sun and ring brings power into the mesh is the driver there, and the other gets e times the torque."
        ),
        say("Work from the input to the output with these torques and compare with what comes out without losses."),
    )


def _losses(train: Train) -> Iterator[Case]:
    for row in settled(train):
        hard = hard_of(train, row)
        yield Case(
            (row.name,),
            say("power lost in range {row}", row=row.name),
            say(
                "How many percent of the input power are lost in the teeth in {range}, under drive?{basic} Give at least two figures.",
                range=words.range_words(train.layout, row),
                basic=say(_BASIC),
            ),
            MARKS[hard],
            hard,
            _hints(train, row),
            _LOSSES,
            asks=frozenset({f"efficiency {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=_ONE_PERCENT,
            unit="percent",
        )


def _loss(ask: Ask) -> BuiltItem | None:
    basic, name = ask.drawn.values["e"], ask.about[0]
    row = ask.own.row(name)
    sets = max(1, len(working_sets(ask.own, row)))

    def lost(range_name: str) -> Value:
        def at(train: Train) -> Fraction | None:
            torques = _with(train, range_name, basic)
            return None if torques is None or torques.efficiency is None else (1 - torques.efficiency) * 100

        return at

    mistakes = [Wrong("ETAFULL", lambda train: (1 - basic) * 100)]
    if sets > 1:
        mistakes.append(
            Wrong(
                "ETAFULL",
                lambda train: (1 - basic**sets) * 100,
                say(
                    "You sent the whole power through each set, one after the other. Each loses only from what goes through its teeth, as seen from its carrier."
                ),
            )
        )
    mistakes += [
        Wrong(
            "LEFTOUT",
            _without(name, working_set, basic),
            say("The loss of {set} is missing.", set=words.set_words(ask.own.layout, working_set)),
        )
        for working_set in working_sets(ask.own, row)
        if sets > 1
    ]
    mistakes += [Wrong("TSPEED", _efficiency(name, basic), say("That is what comes out. Asked for is what is lost."))]
    mistakes += [
        Wrong(
            "OTHERRANGE",
            lost(other.name),
            say("That belongs to range {other}. Look again which elements hold in this one.", other=other.name),
        )
        for other in settled(ask.own)
        if other.name != name
    ][:2]
    return number(ask, lost(name), mistakes)


def _efficiency(name: str, basic: Fraction) -> Value:
    def at(train: Train) -> Fraction | None:
        torques = _with(train, name, basic)
        return None if torques is None or torques.efficiency is None else torques.efficiency * 100

    return at


def _without(name: str, pset: str, basic: Fraction) -> Value:
    """Loss in percent without that of one set."""

    def at(train: Train) -> Fraction | None:
        torques = _with(train, name, basic)
        power = torques.power.losses[pset] if torques and torques.power else None
        if torques is None or torques.efficiency is None or power is None:
            return None
        left = (1 - torques.efficiency) - power
        return left * 100 if left > 0 else None

    return at


def _outputs(train: Train) -> Iterator[Case]:
    for row in settled(train):
        hard = hard_of(train, row)
        yield Case(
            (row.name,),
            say("output torque with losses in range {row}", row=row.name),
            say(
                "{up}, under drive, <T> N·m at the input.{basic} How large is the output torque (size and unit; a sign does not count)?",
                up=capital(words.range_words(train.layout, row)),
                basic=say(_BASIC),
            ),
            MARKS[hard],
            hard,
            _hints(train, row),
            _HEAVY,
            asks=frozenset({f"lossy torque {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _output(ask: Ask) -> BuiltItem | None:
    basic, name = ask.drawn.values["e"], ask.about[0]
    row = ask.own.row(name)
    sets = max(1, len(working_sets(ask.own, row)))

    def out(train: Train) -> Fraction | None:
        torques = _with(train, name, basic)
        return None if torques is None or torques.output_torque is None else abs(torques.output_torque)

    def ratio(train: Train) -> Fraction:
        return abs(train.row(name).ratio)

    def gained(train: Train) -> Fraction | None:
        power_out = out(train)
        return ratio(train) ** 2 / power_out if power_out else None

    mistakes = (
        Wrong("LEFTOUT", ratio, say("The losses are missing: they come off the torque.")),
        Wrong("ETAFULL", lambda train: ratio(train) * basic),
        Wrong(
            "ETAFULL",
            lambda train: ratio(train) * basic**sets if sets > 1 else None,
            say(
                "You sent the whole power through each set, one after the other. Each loses only from what goes through its teeth, as seen from its carrier."
            ),
        ),
        Wrong("RECIP", gained, say("A loss makes the output smaller, not larger.")),
        Wrong("TSPEED", lambda train: basic / ratio(train)),
    )
    return number(ask, out, mistakes, ask.drawn.values["T"])


def _rounds(train: Train) -> Iterator[Case]:
    rows = list(settled(train))
    going = [row for row in rows if _goes_round(train, row)]
    if not going or len(going) == len(rows) or len(rows) < 3:
        return
    yield Case(
        (),
        say("ranges in which power goes round"),
        say(
            "In which of the ranges {row} does power go round inside the transmission, that is, come back to where it was? Tick all of them. (A wrong tick takes off at least what a right one earns.)",
            row=listed(row.name for row in rows),
        ),
        4,
        3,
        (
            say("Draw for each range which way power goes on each shaft, from set to set."),
            say("Without losses a shaft's power is its torque times its speed; look at the signs."),
            say("Power goes round where you can follow it back to where you began."),
        ),
        asks=frozenset({"power goes round"}),
        tells=frozenset(),
        shows=(words.CHART,),
    )


def _goes_round(train: Train, row: Drive) -> bool:
    loads = train.torques(row)
    return bool(loads and loads.recirculation and loads.recirculation > _GOES_ROUND)


def _round(ask: Ask) -> BuiltItem | None:
    names = [row.name for row in settled(ask.own)]
    rows = [ask.train.row(name) for name in names]
    if any(ask.train.torques(row) is None for row in rows):
        return None
    right = [row.name for row in rows if _goes_round(ask.train, row)]
    tallest = max(rows, key=lambda row: abs(row.ratio)).name
    split = [row.name for row in rows if len(working_sets(ask.train, row)) > 1]
    wrong = [
        ("ETAFULL", [tallest], say("Power that goes round has nothing to do with how large the ratio is.")),
        ("COUNT", split, say("That power is split over several sets does not mean that it comes back.")),
    ]
    return several(ask, names, right, [entry for entry in wrong if entry[1]])


def _hots(train: Train) -> Iterator[Case]:
    rows = list(settled(train))
    losses = sorted(loads.efficiency for row in rows if (loads := train.torques(row, TABLE)) and loads.efficiency is not None)
    # Where the two that lose most take the same way through the teeth, they lose the same with any counts.
    if len(losses) < 3 or losses[0] == losses[1]:
        return
    yield Case(
        (),
        say("range that heats the oil most"),
        say(
            "The table shows what comes out of your transmission, for a basic efficiency of 0.98 of every set (an assumption; bearings, oil and pump are not in it). With the same power at the input, in which range do the teeth heat the oil most?\n\n<list>"
        ),
        2,
        1,
        (
            say("Heat is what is missing from efficiency 1."),
            say("Power that goes round passes through teeth more than once."),
            say("Compare the efficiencies, not the ratios."),
        ),
        asks=frozenset({"hottest"}),
        tells=frozenset({*(f"efficiency {row.name}" for row in rows), "power goes round"}),
        shows=(words.CHART,),
    )


def _hot(ask: Ask) -> BuiltItem | None:
    lines = [say("| range | efficiency | power going round, percent |"), "| --- | --- | --- |"]
    efficiencies: dict[str, Fraction] = {}
    for own in settled(ask.own):
        row = ask.train.row(own.name)
        loads = ask.train.torques(row, TABLE)
        if loads is None or loads.efficiency is None or loads.recirculation is None:
            return None
        efficiencies[row.name] = loads.efficiency
        lines.append(f"| {row.name} | {fixed(loads.efficiency, 4)} | {decimal(round(100 * loads.recirculation))} |")
    ranked = sorted(efficiencies, key=efficiencies.__getitem__)
    tallest = max((ask.train.row(name) for name in efficiencies), key=lambda row: abs(row.ratio)).name
    if efficiencies[ranked[1]] - efficiencies[ranked[0]] < _CLOSE:
        return None
    return choice(
        ask,
        tuple(efficiencies),
        ranked[0],
        [
            ("ETAFULL", tallest, say("Heat follows what is lost, not the ratio.")),
            ("RECIP", ranked[-1], say("That is the range in which least is lost.")),
        ],
        words={"list": "\n".join(lines)},
        label=say("range"),
    )


FAMILIES = (
    Family("hottest", SUBJECT, 9, AnswerKind.CHOICE, _hots, _hot),
    Family("loss", SUBJECT, 9, AnswerKind.DECIMAL, _losses, _loss),
    Family("torque-with-losses", SUBJECT, 9, AnswerKind.TORQUE, _outputs, _output),
    Family("goes-round", SUBJECT, 9, AnswerKind.MULTIPLE_CHOICE, _rounds, _round),
)
