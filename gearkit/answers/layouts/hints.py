"""Hints from the story of a range: what holds, where to begin, which step is left. Never a number, never the last step."""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.answers.layouts import words
from gearkit.answers.layouts.train import Drive, Train
from gearkit.explain.chain import Move, SetMove, Together, derive
from gearkit.explain.loads import unloaded
from gearkit.text.phrases import listed, sentence
from gearkit.words.terms import HOUSING, INPUT, ElementKind

Hints = tuple[str, str, str]
_NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


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
            told.append(f"{name} holds {first if element.between[1] == HOUSING else second}")
        elif element.kind is ElementKind.ONE_WAY_CLUTCH:
            told.append(f"{name} keeps {first} and {second} together")
        else:
            told.append(f"{name} joins {first} with {second}")
    return sentence(listed(told)) if told else "No element is applied: the joins alone make this range."


def begin(train: Train, row: Drive) -> str:
    """Return which sets pass nothing on or turn as a block, and where to begin.

    Args:
        train: the train.
        row: the range.
    """
    layout, merged = train.layout, train.merged(row.engaged)
    locked = [words.set_words(layout, name) for name in merged.locked]
    told = [sentence(f"{listed(locked)} {'turns' if len(locked) == 1 else 'turn'} as a block")] if locked else []
    if locked and all(train.speed(row, f"{name}.sun") == 0 for name in merged.locked):
        told = [sentence(f"{listed(locked)} {'stands' if len(locked) == 1 else 'stand'} still")]
    for idle in unloaded(layout, row.engaged)[:1]:
        told.append(
            sentence(
                f"nothing acts on {words.member(layout, idle.member)}, so {words.set_words(layout, idle.set_name)} "
                "passes nothing on"
            )
        )
    return " ".join([*told, _start(train, moves_of(train, row))])


def moves_of(train: Train, row: Drive, goal: str = "") -> Sequence[Move]:
    """Return the moves of the story that lead to the output, or to another member.

    Args:
        train: the train.
        row: the range.
        goal: the member; "" for the output.
    """
    merged = train.merged(row.engaged)
    known = {merged.input: train.speeds(row.engaged).of(INPUT), merged.ground: train.speeds(row.engaged).of(HOUSING)}
    every = [pset.name for pset in train.layout.sets]
    wanted = merged.root(goal) if goal else merged.output
    start = {root: speed for root, speed in known.items() if speed is not None}
    moves, speeds = derive(merged, start, train.loaded(row), [wanted])
    if wanted not in speeds:
        moves, _ = derive(merged, start, every, [wanted])
    return moves


def difficulty(train: Train, row: Drive, goal: str = "") -> int:
    """Return how hard a speed is to find: 1 for one set at a time, 2 for several, 3 where sets must be solved together.

    Args:
        train: the train.
        row: the range.
        goal: the member; "" for the output.
    """
    moves = moves_of(train, row, goal)
    if any(isinstance(move, Together) for move in moves):
        return 3
    return 1 if len(moves) < 2 else 2


def to_a_ratio(train: Train, row: Drive) -> Hints:
    """Return the hints for the ratio of a range.

    Args:
        train: the train.
        row: the range.
    """
    last = "Let the input turn once; then the ratio is one over the turns of the output."
    return holds(train, row), begin(train, row), f"{_then(train, moves_of(train, row))} {last}".strip()


def to_a_speed(train: Train, row: Drive, name: str) -> Hints:
    """Return the hints for the speed of a member in a range.

    Args:
        train: the train.
        row: the range.
        name: the member.
    """
    moves = moves_of(train, row, name)
    last = f"Multiply by the speed of the input to get that of {words.member(train.layout, name)}."
    return holds(train, row), begin(train, row) if not moves else _start(train, moves), f"{_then(train, moves)} {last}".strip()


def _start(train: Train, moves: Sequence[Move]) -> str:
    layout = train.layout
    if not moves:
        return "No equation is needed: follow the shafts from the input through what is joined."
    first = moves[0]
    if isinstance(first, SetMove):
        others = [f"{first.set_name}.{part}" for part in ("sun", "carrier", "ring") if part != first.member]
        return (
            f"Begin with {words.set_words(layout, first.set_name)}: the speeds of "
            f"{listed(words.member(layout, part) for part in others)} are known."
        )
    sets = listed(words.set_words(layout, name) for name in first.sets)
    count = _NUMBERS.get(len(first.unknown), str(len(first.unknown)))
    return (
        f"No set has two members whose speeds are known: {sets} have to be solved together, with {count} unknown speeds. "
        "Call one of them x."
    )


def _then(train: Train, moves: Sequence[Move]) -> str:
    layout = train.layout
    if len(moves) < 2:
        if moves and isinstance(moves[0], SetMove):
            return f"Write the speed equation of {words.set_words(layout, moves[0].set_name)} and put in what is known."
        return "Write the speed of each of their members in x, set by set; the last equation gives x." if moves else ""
    told = [
        words.set_words(layout, move.set_name)
        if isinstance(move, SetMove)
        else listed(words.set_words(layout, name) for name in move.sets) + " together"
        for move in moves
    ]
    return f"Go on set by set: {', then '.join(told)}."
