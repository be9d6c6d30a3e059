"""Hints from the story of a range: what holds, where to begin, which step is left. Never a number, never the last step."""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.answers.layouts import words
from gearkit.answers.layouts.train import Drive, Train
from gearkit.explain.chain import Move, SetMove, Together
from gearkit.explain.loads import unloaded
from gearkit.text.phrases import count_words, listed, sentence
from gearkit.words.say import say, say_n
from gearkit.words.terms import HOUSING, ElementKind

Hints = tuple[str, str, str]


def holds(train: Train, row: Drive) -> str:
    """Return what the applied elements of a range do, in a sentence or two.

    Args:
        train: the train.
        row: the range.
    """
    layout, told = train.layout, []
    for name in row.engaged:
        element = layout.element_named(name)
        first, second = (words.member(layout, part) for part in element.between)
        if HOUSING in element.between:
            told.append(say("{name} holds {first}", name=name, first=first if element.between[1] == HOUSING else second))
        elif element.kind is ElementKind.ONE_WAY_CLUTCH:
            told.append(say("{name} keeps {first} and {second} together", name=name, first=first, second=second))
        else:
            told.append(say("{name} joins {first} with {second}", name=name, first=first, second=second))
    return sentence(listed(told)) if told else say("No element is applied: the joins alone make this range.")


def begin(train: Train, row: Drive) -> str:
    """Return which sets pass nothing on or turn as a block, and where to begin.

    Args:
        train: the train.
        row: the range.
    """
    layout, merged = train.layout, train.merged(row.engaged)
    locked = [words.set_words(layout, name) for name in merged.locked]
    told = (
        [sentence(say_n("{locked} turns as a block", "{locked} turn as a block", len(locked), locked=listed(locked)))]
        if locked
        else []
    )
    if locked and all(train.speed(row, f"{name}.sun") == 0 for name in merged.locked):
        told = [sentence(say_n("{locked} stands still", "{locked} stand still", len(locked), locked=listed(locked)))]
    for idle in unloaded(layout, row.engaged)[:1]:
        told.append(
            sentence(
                say(
                    "nothing acts on {member}, so {set} passes nothing on",
                    member=words.member(layout, idle.member),
                    set=words.set_words(layout, idle.set_name),
                )
            )
        )
    return " ".join([*told, _start(train, train.moves(row))])


def difficulty(train: Train, row: Drive, goal: str = "") -> int:
    """Return how hard a speed is to find: 1 for one set at a time, 2 for several, 3 where sets must be solved together.

    Args:
        train: the train.
        row: the range.
        goal: the member; "" for the output.
    """
    moves = train.moves(row, goal)
    if any(isinstance(move, Together) for move in moves):
        return 3
    return 1 if len(moves) < 2 else 2


def to_a_ratio(train: Train, row: Drive) -> Hints:
    """Return the hints for the ratio of a range.

    Args:
        train: the train.
        row: the range.
    """
    last = say("Let the input turn once; then the ratio is one over the turns of the output.")
    return holds(train, row), begin(train, row), f"{_then(train, train.moves(row))} {last}".strip()


def to_a_speed(train: Train, row: Drive, name: str) -> Hints:
    """Return the hints for the speed of a member in a range.

    Args:
        train: the train.
        row: the range.
        name: the member.
    """
    moves = train.moves(row, name)
    last = say("Multiply by the speed of the input to get that of {member}.", member=words.member(train.layout, name))
    return holds(train, row), begin(train, row) if not moves else _start(train, moves), f"{_then(train, moves)} {last}".strip()


def _start(train: Train, moves: Sequence[Move]) -> str:
    layout = train.layout
    if not moves:
        return say("No equation is needed: follow the shafts from the input through what is joined.")
    first = moves[0]
    if isinstance(first, SetMove):
        others = [f"{first.set_name}.{part}" for part in ("sun", "carrier", "ring") if part != first.member]
        return say(
            "Begin with {set}: the speeds of {member} are known.",
            set=words.set_words(layout, first.set_name),
            member=listed(words.member(layout, part) for part in others),
        )
    sets = listed(words.set_words(layout, name) for name in first.sets)
    count = count_words(len(first.unknown))
    return say(
        "No set has two members whose speeds are known: {sets} have to be solved together, with {number} unknown speeds. Call one of them x.",
        sets=sets,
        number=count,
    )


def _then(train: Train, moves: Sequence[Move]) -> str:
    layout = train.layout
    if len(moves) < 2:
        if moves and isinstance(moves[0], SetMove):
            return say(
                "Write the speed equation of {set} and put in what is known.", set=words.set_words(layout, moves[0].set_name)
            )
        return say("Write the speed of each of their members in x, set by set; the last equation gives x.") if moves else ""
    told = [
        words.set_words(layout, move.set_name)
        if isinstance(move, SetMove)
        else say("{sets} together", sets=listed(words.set_words(layout, name) for name in move.sets))
        for move in moves
    ]
    sets = told[0]
    for name in told[1:]:
        sets = say("{sets}, then {next_set}", sets=sets, next_set=name)
    return say("Go on set by set: {sets}.", sets=sets)
