"""Speeds of members in a range: one, all of a set, the fastest, and in neutral."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.families.direction import open_members
from gearkit.answers.item import AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.layouts import hints, words, wrong
from gearkit.answers.layouts.family import Ask, Case, Family, UnclearError, choice, number, wrong_values
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve.speeds import speeds
from gearkit.words.say import later, say
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, Verdict

SUBJECT = later("speeds")
MARKS = {1: 3, 2: 4, 3: 6}
HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
_SIGN = later("A minus sign means backward.")
INPUT_SPEED = {"n": ("1000", "3000", "100")}
_MOST_A_RANGE = 2
_CLOSE, LEAST = Fraction(103, 100), Fraction(1, 50)


def _members(train: Train, row: Drive) -> list[str]:
    """Members whose speed has to be worked out; those on which the others hang come last."""
    names = [name for name in open_members(train, row) if abs(train.speed(row, name) or Fraction(0)) > LEAST]
    return sorted(names, key=lambda name: -hints.difficulty(train, row, name))[:_MOST_A_RANGE]


def _speeds(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        for name in _members(train, row):
            hard, told = hints.difficulty(train, row, name), words.member(train.layout, name)
            yield Case(
                (row.name, name),
                say("speed of {told} in range {row}", told=told, row=row.name),
                say(
                    "The input turns at <n> r/min in {range}. How fast does {told} turn (r/min)? {sign}",
                    range=words.range_words(train.layout, row),
                    told=told,
                    sign=say(_SIGN),
                ),
                MARKS[hard],
                hard,
                hints.to_a_speed(train, row, name),
                INPUT_SPEED,
                asks=frozenset({f"speed {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=HALF_PERCENT,
                unit="r/min",
            )


def _speed(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    row, quantity = ask.own.row(range_name), wrong.speed_of(name)
    mistakes = (*_seen_from_the_carrier(ask.own, row, name), *wrong.mistakes_in(ask.own, row, quantity))
    return number(ask, wrong.right(range_name, quantity), mistakes, ask.drawn.values["n"])


def _seen_from_the_carrier(train: Train, row: Drive, name: str) -> Iterator[Wrong]:
    pset, _, part = name.partition(".")
    carrier = f"{pset}.carrier"
    if part != "carrier" and train.speed(row, carrier):
        yield Wrong("REL", wrong.right(row.name, wrong.slip_of(name, carrier)))


def _tables(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        name = _asked_set(train, row)
        if name is None:
            continue
        hard = max(hints.difficulty(train, row, f"{name}.{part}") for part in MEMBERS)
        told = words.set_words(train.layout, name)
        yield Case(
            (row.name, name),
            say("speeds of {told} in range {row}", told=told, row=row.name),
            say(
                "The input turns at <n> r/min in {range}. How fast do sun, carrier and ring of {told} turn? {sign}",
                range=words.range_words(train.layout, row),
                told=told,
                sign=say(_SIGN),
            ),
            6 if hard > 1 else 3,
            hard,
            (
                hints.holds(train, row),
                hints.begin(train, row),
                say("Check at the end that your three speeds fit the speed equation of {told}.", told=told),
            ),
            INPUT_SPEED,
            asks=frozenset(f"speed {row.name} {mate}" for part in MEMBERS for mate in train.on_shaft(f"{name}.{part}")),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="r/min",
        )


def _asked_set(train: Train, row: Drive) -> str | None:
    """A set that carries torque, whose three members turn at different speeds, two of them not the input's or nothing."""
    for name in train.loaded(row):
        speeds_ = [train.speed(row, f"{name}.{part}") for part in MEMBERS]
        if None not in speeds_ and len(set(speeds_)) == len(MEMBERS) and sum(speed not in (0, 1) for speed in speeds_) > 1:
            return name
    return None


def _table(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    row, n = ask.own.row(range_name), ask.drawn.values["n"]
    parts, checkers, forms = [], {}, []
    marks = Fraction(ask.item.marks, len(MEMBERS))
    for part in MEMBERS:
        member = f"{name}.{part}"
        speed = ask.train.speed(ask.train.row(range_name), member)
        if speed is None or (speed and abs(speed) < LEAST):
            return None
        label = words.member(ask.train.layout, member)
        parts.append(Part(part, label, AnswerKind.DECIMAL, "r/min", (), marks))
        checkers[part] = NumberChecker(speed * n, AnswerKind.DECIMAL, ask.item.tolerance, "r/min", ask.drawn.visible)
        if not speed:
            continue
        quantity = wrong.speed_of(member)
        try:
            for form, value in wrong_values(
                ask, wrong.right(range_name, quantity), wrong.mistakes_in(ask.own, row, quantity, others=1), n, 5
            ):
                if value and value != -speed * n:
                    forms.append(WrongForm(form.code, {part: value}, form.sentence))
        except UnclearError:
            return None
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms), values=ask.drawn.values))


def _fastest(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        if len(open_members(train, row)) < 2 or row.ratio == 1:
            continue
        hard = hints.difficulty(train, row)
        yield Case(
            (row.name,),
            say("fastest shaft in range {row}", row=row.name),
            say(
                "Leave directions aside: which shaft turns fastest in {range}? Name any member on it.",
                range=words.range_words(train.layout, row),
            ),
            3,
            hard,
            (
                hints.holds(train, row),
                hints.begin(train, row),
                say("A free sun often runs faster than anything else: compare it with the input."),
            ),
            asks=frozenset({f"fastest {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
        )


def _fast(ask: Ask) -> BuiltItem | None:
    row, layout = ask.train.row(ask.about[0]), ask.train.layout
    merged = ask.train.merged(row.engaged)
    by_shaft: dict[str, Fraction] = {}
    for name in (*layout.members, INPUT, OUTPUT):
        speed = ask.train.speed(row, name)
        if speed is None:
            return None
        by_shaft[merged.root(name)] = abs(speed)
    ranked = sorted(by_shaft, key=by_shaft.__getitem__, reverse=True)
    if by_shaft[ranked[0]] < by_shaft[ranked[1]] * _CLOSE:
        return None
    options: dict[str, str] = {}
    aliases: dict[str, str] = {}
    for root in by_shaft:
        told = [words.member(layout, name).removeprefix("the ") for name in merged.members(root) if name != HOUSING]
        if not told:
            continue
        options[root] = told[0]
        aliases |= dict.fromkeys(told[1:], told[0]) | {say("the {word}", word=word): told[0] for word in told}
    if len(options) < 3 or ranked[0] not in options:
        return None
    wrongs = [
        ("REL", options[ranked[1]], say("Another shaft is faster still: compare the speeds of all shafts that are free."))
    ]
    if merged.input in options and ranked[1] != merged.input:
        wrongs.append(
            (
                "LOCKFREE",
                options[merged.input],
                say("The input is not the fastest here: what does a member do that is not held?"),
            )
        )
    return choice(ask, tuple(options.values()), options[ranked[0]], wrongs, aliases=aliases)


def _neutrals(train: Train) -> Iterator[Case]:
    for named_range in train.layout.ranges:
        if train.working(named_range.name).verdict is not Verdict.NEUTRAL or train.one_ways:
            continue
        for name in _moving_in_neutral(train, named_range.engaged)[:_MOST_A_RANGE]:
            told = words.member(train.layout, name)
            applied = (
                say("{elements} applied", elements=", ".join(named_range.engaged))
                if named_range.engaged
                else say("nothing applied")
            )
            yield Case(
                (named_range.name, name),
                say("speed of {told} in {named_range} at standstill", told=told, named_range=named_range.name),
                say(
                    "The selector is in {named_range} ({applied}): neutral. The input turns at <n> r/min and the vehicle stands. How fast does {told} turn (r/min)? {sign}",
                    named_range=named_range.name,
                    applied=applied,
                    told=told,
                    sign=say(_SIGN),
                ),
                4,
                2,
                (
                    say("Two speeds are known without any work: that of the input and that of the output."),
                    say("Look for a set of which two members are known."),
                    say("Its speed equation gives the third."),
                ),
                INPUT_SPEED,
                asks=frozenset({f"neutral {named_range.name} {name}"}),
                tells=frozenset({f"chart {named_range.name}"}),
                tolerance=HALF_PERCENT,
                unit="r/min",
            )


def _moving_in_neutral(train: Train, engaged: tuple[str, ...]) -> list[str]:
    state = speeds(train.layout, engaged, 1, 0)
    merged = train.merged(state.engaged)
    shafts: dict[str, str] = {}
    for name, speed in state.members.items():
        if speed and speed != 1 and abs(speed) > LEAST:
            shafts.setdefault(merged.root(name), name)
    return list(shafts.values())


def _neutral(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    engaged = ask.own.layout.engaged_in(range_name)

    def right(train: Train) -> Fraction | None:
        return speeds(train.layout, engaged, 1, 0).of(name)

    def changed(train: Train, turn: bool) -> Fraction | None:
        weights = {
            pset.name: (pset.weights[1], pset.weights[0]) if turn else (-pset.weights[0], pset.weights[1])
            for pset in train.layout.sets
        }
        speed = wrong.turning(train, engaged, weights=weights, pairs=((OUTPUT, HOUSING),))
        return None if speed is None else speed(name)

    mistakes = (
        Wrong("LOCKFREE", lambda train: Fraction(0), say("Neutral does not mean that nothing turns: the input does.")),
        Wrong(
            "HELDMOVES",
            lambda train: Fraction(1),
            say("You let it turn with the input. The output stands: what does that do to the set between them?"),
        ),
        Wrong("SWAP", lambda train: changed(train, True)),
        Wrong("SENSE", lambda train: changed(train, False)),
    )
    return number(ask, right, mistakes, ask.drawn.values["n"])


FAMILIES = (
    Family("speed", SUBJECT, 6, AnswerKind.DECIMAL, _speeds, _speed),
    Family("speeds-of-set", SUBJECT, 6, AnswerKind.SPEED_TABLE, _tables, _table),
    Family("fastest", SUBJECT, 6, AnswerKind.MEMBER_CHOICE, _fastest, _fast),
    Family("neutral-speed", SUBJECT, 7, AnswerKind.DECIMAL, _neutrals, _neutral),
)
