"""Which way members turn in a range, and which of them stand still."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.answers.item import AnswerKind
from gearkit.answers.judge.checkers import WrongForm
from gearkit.answers.layouts import hints, words
from gearkit.answers.layouts.family import Ask, Case, Family, choice, grid, part_name, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.words.say import later, say

SUBJECT = later("direction")
WAYS = ("forward", "reverse", later("standing still"))
ALIASES = {
    "backward": "reverse",
    "stopped": later("standing still"),
    "still": later("standing still"),
    "stationary": later("standing still"),
}
_FORWARD = later("Forward is the way the input turns.")


def way(speed: Fraction) -> str:
    """Return which way a member turns.

    Args:
        speed: its speed, the input's being positive.
    """
    return WAYS[0] if speed > 0 else WAYS[1] if speed < 0 else WAYS[2]


def open_members(train: Train, row: Drive) -> list[str]:
    """Return a member of every shaft whose speed has to be found: not with input, output or housing, and fixed.

    Args:
        train: the train.
        row: the range.
    """
    merged = train.merged(row.engaged)
    known = {merged.input, merged.output, merged.ground}
    by_shaft: dict[str, str] = {}
    for name in train.layout.members:
        if merged.root(name) not in known and train.speed(row, name) is not None:
            by_shaft.setdefault(merged.root(name), name)
    return list(by_shaft.values())


def _cases(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        members = open_members(train, row)
        if not members:
            continue
        # A member that turns backward or stands teaches more than one that goes forward like the rest.
        name = min(members, key=lambda member: (train.speed(row, member) or Fraction(0)) > 0)
        hard = hints.difficulty(train, row, name)
        told = words.member(train.layout, name)
        yield Case(
            (row.name, name),
            say("direction of {told} in range {row}", told=told, row=row.name),
            say(
                "Which way does {told} turn in {range}: forward, in reverse, or does it stand still? {forward}",
                told=told,
                range=words.range_words(train.layout, row),
                forward=say(_FORWARD),
            ),
            2,
            min(hard, 2),
            (
                hints.holds(train, row),
                hints.to_a_speed(train, row, name)[1],
                say("Let the input turn forward and follow the motion from set to set: which members push it on, which hold?"),
            ),
            asks=frozenset({f"direction {row.name} {name}"}),
            tells=frozenset({f"chart {row.name}"}),
        )


def _direction(ask: Ask) -> BuiltItem | None:
    row = ask.train.row(ask.about[0])
    speed = ask.train.speed(row, ask.about[1])
    if speed is None:
        return None
    told, right = words.member(ask.train.layout, ask.about[1]), way(speed)
    wrong = [
        (
            "HELDMOVES",
            WAYS[2],
            say("Nothing holds {told} in this range: what do the two members beside it make it do?", told=told),
        ),
        (
            "TURNED",
            WAYS[1] if right == WAYS[0] else WAYS[0],
            say("It goes another way: follow the motion through once more, set by set."),
        ),
    ]
    return choice(ask, WAYS, right, wrong, aliases=ALIASES)


def _grids(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        rows = _shafts(train, row)
        if len(rows) < 3 or not any(train.speed(row, name) for name in open_members(train, row)):
            continue
        hard = hints.difficulty(train, row)
        yield Case(
            (row.name,),
            say("directions of all members in range {row}", row=row.name),
            say(
                "Say of the shafts of {range} which way each turns. {forward}",
                range=words.range_words(train.layout, row),
                forward=say(_FORWARD),
            ),
            max(2, (len(rows) + 1) // 2),
            hard,
            (
                hints.holds(train, row),
                hints.begin(train, row),
                say(
                    "Of three members of a set the carrier's speed always lies between those of sun and ring, where the set has single planets."
                ),
            ),
            asks=frozenset({*(f"direction {row.name} {name}" for name in train.layout.members), f"still {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
        )


def _shafts(train: Train, row: Drive) -> list[str]:
    """Members that are not on the input's shaft for good, one for each permanent shaft, whose speed is fixed."""
    return [name for name in train.shafts if not words.of_the_input(train.layout, name) and train.speed(row, name) is not None]


def _grid(ask: Ask) -> BuiltItem | None:
    row = ask.train.row(ask.about[0])
    rows, forms = [], []
    for place, name in enumerate(_shafts(ask.own, ask.own.row(row.name)), start=1):
        speed = ask.train.speed(row, name)
        if speed is None:
            return None
        part = part_name("shaft", name.replace(".", ""), place)
        label, *rest = (words.member(ask.train.layout, own_member) for own_member in ask.train.on_shaft(name))
        for mate in rest:
            label = say("{member} with {mate}", member=label, mate=mate)
        rows.append((part, label, way(speed)))
        if not speed:
            forms.append(WrongForm("HELDMOVES", {part: WAYS[0]}, say("It is held here: look what the applied elements do.")))
        else:
            other = WAYS[1] if speed > 0 else WAYS[0]
            forms.append(WrongForm("TURNED", {part: other}, say("It goes the other way: follow the motion through once more.")))
    return grid(ask, rows, WAYS, forms, aliases=ALIASES)


def _stills(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        still = [name for name in train.layout.members if train.speed(row, name) == 0]
        if not still or not all(train.speed(row, name) is not None for name in train.layout.members):
            continue
        yield Case(
            (row.name,),
            say("members that stand still in range {row}", row=row.name),
            say(
                "Which members stand still in {range}? Tick all of them. (A wrong tick takes off at least what a right one earns.)",
                range=words.range_words(train.layout, row),
            ),
            2,
            1,
            (
                hints.holds(train, row),
                say("A member that is always joined to a held one stands still with it."),
                say("A set of which two members stand, stands as a whole."),
            ),
            asks=frozenset({f"still {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
        )


def _still(ask: Ask) -> BuiltItem | None:
    row, layout = ask.train.row(ask.about[0]), ask.train.layout
    names = {words.member(layout, name): ask.train.speed(row, name) for name in layout.members}
    right = [told for told, speed in names.items() if speed == 0]
    wrong = [
        ("ROLE", [told for told in right if told != member], say("Look what else sits on the shaft that is held."))
        for member in right
        if len(right) > 1
    ]
    held = [
        words.member(layout, part)
        for element in layout.elements
        if element.name not in row.engaged and "housing" in element.between
        for part in element.between
        if part in layout.members
    ]
    if held:
        wrong.append(
            (
                "ONERANGE",
                [*right, *(told for told in held[:1] if told not in right)],
                say("One of those is held in other ranges, not in this one."),
            )
        )
    return several(ask, tuple(names), right, wrong)


FAMILIES = (
    Family("still", SUBJECT, 6, AnswerKind.MULTIPLE_CHOICE, _stills, _still),
    Family("direction", SUBJECT, 6, AnswerKind.DIRECTION, _cases, _direction),
    Family("directions", SUBJECT, 6, AnswerKind.DIRECTION_GRID, _grids, _grid),
)
