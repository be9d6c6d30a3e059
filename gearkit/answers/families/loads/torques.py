"""Torques in a range: at the output, on the housing, on a member of a set."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind
from gearkit.answers.layouts import hints, words, wrong
from gearkit.answers.layouts.family import Ask, Case, Family, number
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.text.phrases import capital, listed
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import HOUSING, MEMBERS

SUBJECT = later("torque")
HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
INPUT_TORQUE = {"T": ("80", "400", "10")}
SIZE = later("(size and unit; a sign does not count)")
MARKS = {1: 3, 2: 4, 3: 6}
_LEAST = Fraction(1, 100)
Value = Callable[[Train], Fraction | None]


def carried(name: str, range_name: str) -> Value:
    """Return what gives the size of the torque in an element, as a multiple of the input torque.

    Args:
        name: the element.
        range_name: the range.
    """

    def at(train: Train) -> Fraction | None:
        loads = train.torques(train.row(range_name))
        torque = loads.elements.get(name) if loads else None
        return None if torque is None else abs(torque)

    return at


def settled(train: Train) -> Iterator[Drive]:
    """Yield the ranges in which balance fixes every torque."""
    return (row for row in train.distinct if train.torques(row) is not None)


def loaded_elements(train: Train, row: Drive, brakes: bool) -> list[str]:
    """Return the applied elements that carry torque.

    Args:
        train: the train.
        row: a range that drives.
        brakes: those that hold a member to the housing, or those that join two.
    """
    names = []
    for name in row.engaged:
        holds = HOUSING in train.layout.element_named(name).between
        torque = carried(name, row.name)(train)
        if holds is brakes and torque and torque > _LEAST:
            names.append(name)
    return names


def hard_of(train: Train, row: Drive) -> int:
    """Return 1 to 3: through how many sets the torque has to be followed.

    Args:
        train: the train.
        row: a range that drives.
    """
    loaded = [name for name, carries in train.carries(row).items() if carries]
    return min(3, max(1, len(loaded)))


def hints_of(train: Train, row: Drive) -> tuple[str, str, str]:
    """Return three hints for any torque inside: where it comes in, how it is shared in a set, and the sum on a shaft.

    Args:
        train: the train.
        row: a range that drives.
    """
    layout = train.layout
    on_input = [name for name in train.merged(row.engaged).members(train.merged(row.engaged).input) if "." in name]
    loaded = [name for name, carries in train.carries(row).items() if carries]
    where = (
        say("The input torque comes in at {member}.", member=listed(words.member(layout, name) for name in on_input))
        if on_input
        else say("Follow the input torque through the clutches.")
    )
    free = [words.set_words(layout, name) for name, carries in train.carries(row).items() if carries is False]
    idle = (" " + say_n("{up} carries nothing.", "{up} carry nothing.", len(free), up=capital(listed(free)))) if free else ""
    sets = listed(words.set_words(layout, name) for name in loaded)
    sets = say("each of {sets}", sets=sets) if len(loaded) > 1 else sets
    return (
        where + idle,
        say(
            "In {sets} the torques of sun, ring and carrier are in the proportion S : R : (S + R); the carrier's acts against the other two (with double planets the sun's and the ring's act against each other).",
            sets=sets,
        ),
        say("On each shaft the torques of all that sits on it add up to zero. Go from shaft to shaft."),
    )


def torque_case(train: Train, row: Drive, about: tuple[str, ...], topic: str, question: str, asks: str) -> Case:
    """Return the question of how large a torque inside the train is, for a drawn input torque.

    Args:
        train: the train.
        row: a range that drives.
        about: what the torque is about, the range first.
        topic: what is asked, in a few words.
        question: the whole question.
        asks: the fact that it asks for.
    """
    hard = hard_of(train, row)
    return Case(
        about,
        topic,
        question,
        MARKS[hard],
        hard,
        hints_of(train, row),
        INPUT_TORQUE,
        asks=frozenset({asks}),
        tells=frozenset({f"chart {row.name}"}),
        tolerance=HALF_PERCENT,
        unit="N·m",
        size_only=True,
    )


def _housings(train: Train) -> Iterator[Case]:
    for row in settled(train):
        if abs(row.ratio - 1) < _LEAST or not loaded_elements(train, row, brakes=True):
            continue
        hard = min(3, hints.difficulty(train, row))
        yield Case(
            (row.name,),
            say("torque that the housing takes up in range {row}", row=row.name),
            say(
                "{up}, <T> N·m at the input, no losses. How large is the torque that the whole transmission puts on its housing {size}?",
                up=capital(words.range_words(train.layout, row)),
                size=say(SIZE),
            ),
            MARKS[hard] - 1,
            hard,
            (
                say("From outside three torques act: at the input, at the output, and from the housing. They add up to zero."),
                say("Without losses the output torque follows from the ratio alone."),
                say("Ask which way the load acts: forward and reverse differ."),
            ),
            INPUT_TORQUE,
            asks=frozenset({f"housing {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _housing(ask: Ask) -> BuiltItem | None:
    name = ask.about[0]

    def of(change: Callable[[Fraction], Fraction]) -> Value:
        return lambda train: abs(change(train.row(name).ratio))

    mistakes = [
        Wrong("SENSE", of(lambda i: i + 1), say("The load acts on the train against the motion: look at its sign in the sum.")),
        Wrong("REACT", of(lambda i: i)),
        Wrong("TEQUAL", of(lambda i: Fraction(1)), say("That is the input torque alone.")),
        Wrong("TSPEED", of(lambda i: 1 / i - 1)),
    ]
    mistakes += [
        Wrong(
            "OTHERRANGE",
            _housing_in(other.name),
            say("That belongs to range {other}. Look again which elements hold in this one.", other=other.name),
        )
        for other in ask.own.distinct
        if other.name != name
    ][:3]
    return number(ask, of(lambda i: i - 1), mistakes, ask.drawn.values["T"])


def _housing_in(range_name: str) -> Value:
    return lambda train: abs(train.row(range_name).ratio - 1)


def _members(train: Train) -> Iterator[Case]:
    for row in settled(train):
        name = _asked_member(train, row)
        if name is None:
            continue
        told = words.member(train.layout, name)
        yield torque_case(
            train,
            row,
            (row.name, name),
            say("torque on {told} in range {row}", told=told, row=row.name),
            say(
                "{up}, <T> N·m at the input, no losses. How large is the torque on {told} {size}?",
                up=capital(words.range_words(train.layout, row)),
                told=told,
                size=say(SIZE),
            ),
            f"member torque {row.name}",
        )


def _asked_member(train: Train, row: Drive) -> str | None:
    loads = train.torques(row)
    assert loads is not None
    for name in (f"{pset.name}.{part}" for pset in reversed(train.layout.sets) for part in MEMBERS):
        torque = loads.members[name]
        alone = len(train.on_shaft(name)) > 1 and not words.of_the_input(train.layout, name)
        if torque and alone and abs(abs(torque) - 1) > _LEAST and abs(torque) > _LEAST:
            return name
    return None


def _member(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    pset = name.partition(".")[0]

    def on(part: str) -> Value:
        def at(train: Train) -> Fraction | None:
            loads = train.torques(train.row(range_name))
            torque = loads.members[part] if loads else None
            return None if torque is None else abs(torque)

        return at

    mistakes = [Wrong("TEQUAL", lambda train: Fraction(1), say("That is the input torque itself: follow it through the sets."))]
    mistakes += [
        Wrong(
            "MEMBERS",
            on(f"{pset}.{part}"),
            say("That is the torque on {member}.", member=words.member(ask.own.layout, f"{pset}.{part}")),
        )
        for part in MEMBERS
        if f"{pset}.{part}" != name
    ]
    mistakes += [
        Wrong("REACT", lambda train: abs(train.row(range_name).ratio), say("That is the output torque.")),
        Wrong("TSPEED", lambda train: 1 / abs(train.row(range_name).ratio)),
    ]
    return number(ask, on(name), mistakes, ask.drawn.values["T"])


def _inputs(train: Train) -> Iterator[Case]:
    for row in settled(train):
        if row.ratio == 1:
            continue
        hard = hints.difficulty(train, row)
        yield Case(
            (row.name,),
            say("output torque in range {row}", row=row.name),
            say(
                "{up}, <T> N·m at the input, no losses. How large is the torque at the output {size}?",
                up=capital(words.range_words(train.layout, row)),
                size=say(SIZE),
            ),
            MARKS[hard] - 1,
            hard,
            (
                say("Without losses the power at the output is the power at the input."),
                say("Power is torque times speed: what the ratio takes off the speed it puts on the torque."),
                hints.begin(train, row),
            ),
            INPUT_TORQUE,
            asks=frozenset({f"output torque {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _output(ask: Ask) -> BuiltItem | None:
    row = ask.own.row(ask.about[0])

    mistakes = [
        Wrong("TSPEED", lambda train: 1 / abs(train.row(row.name).ratio)),
        Wrong(
            "REACT", lambda train: abs(train.row(row.name).ratio - 1), say("That is what the housing takes up, not the output.")
        ),
        *wrong.multiplied(ask.own, row),
        *wrong.mistakes_in(ask.own, row, wrong.size_of(wrong.ratio)),
    ]
    return number(ask, lambda train: abs(train.row(row.name).ratio), mistakes, ask.drawn.values["T"])


FAMILIES = (
    Family("output-torque", SUBJECT, 8, AnswerKind.TORQUE, _inputs, _output),
    Family("housing", SUBJECT, 8, AnswerKind.TORQUE, _housings, _housing),
    Family("member-torque", SUBJECT, 8, AnswerKind.TORQUE, _members, _member),
)
