"""What a learner's mistake makes of a layout: other equations, solved like the right ones.

A quantity is worked out from the speeds of a train. Each mistake changes the train (another member held, a set taken for
a block, counts or members changed over, another range's elements) and works the same quantity out from what it then does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import islice
from typing import NamedTuple

from gearkit.answers.judge.claims import Relation
from gearkit.answers.layouts import words
from gearkit.answers.layouts.train import Drive, Train
from gearkit.solve.exact.linear import solve
from gearkit.solve.mobility import element_rows, set_rows, shaft_columns
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, ElementKind, PinionKind

# A speed of any member, "input" or "output", as a multiple of the input's; None where nothing fixes it.
SpeedOf = Callable[[str], Fraction | None]
Quantity = Callable[[SpeedOf], Fraction | None]
Pair = tuple[str, str]
Pairs = tuple[Pair, ...]
MOST_FORMS = 9


class Wrong(NamedTuple):
    """A mistake and what it gives.

    Args:
        code: the mistake.
        at: what it gives with the tooth counts of a train; None where it gives nothing.
        sentence: what the learner reads, "" for the mistake's own.
        says: what the sentence says of the answer beyond that it is the predicted one.
    """

    code: str
    at: Callable[[Train], Fraction | None]
    sentence: str = ""
    says: tuple[Relation, ...] = ()


def ratio(speed: SpeedOf) -> Fraction | None:
    """Return input speed / output speed.

    Args:
        speed: the speeds.
    """
    out = speed(OUTPUT)
    return 1 / out if out else None


def speed_of(name: str) -> Quantity:
    """Return the quantity "speed of a member".

    Args:
        name: the member.
    """
    return lambda speed: speed(name)


def slip_of(first: str, second: str) -> Quantity:
    """Return the quantity "speed of one part less that of another".

    Args:
        first: a member.
        second: the other.
    """

    def slip(speed: SpeedOf) -> Fraction | None:
        speed_of_first, two = speed(first), speed(second)
        return None if speed_of_first is None or two is None else speed_of_first - two

    return slip


def size_of(quantity: Quantity) -> Quantity:
    """Return a quantity without its sign.

    Args:
        quantity: the quantity.
    """

    def size(speed: SpeedOf) -> Fraction | None:
        value = quantity(speed)
        return None if value is None else abs(value)

    return size


def right(row_name: str, quantity: Quantity) -> Callable[[Train], Fraction | None]:
    """Return what works a quantity out in a range, for any tooth counts.

    Args:
        row_name: the range.
        quantity: the quantity.
    """
    return lambda train: quantity(train.speeds(train.row(row_name).engaged).of)


def turning(
    train: Train,
    engaged: Sequence[str],
    *,
    weights: Mapping[str, tuple[int, int]] | None = None,
    pairs: Pairs = (),
    swapped: Pair | None = None,
) -> SpeedOf | None:
    """Return the speeds of a changed train at an input speed of 1, or None where it cannot turn so.

    Args:
        train: the train.
        engaged: elements that are taken as applied.
        weights: set -> weights in place of its own.
        pairs: parts that are taken to turn alike.
        swapped: two members of a set that have changed places.
    """
    changes = tuple(engaged), tuple((weights or {}).items()), pairs, swapped
    if changes not in train.turned:
        train.turned[changes] = _solved(train.layout, engaged, weights or {}, pairs, swapped)
    columns, values = shaft_columns(train.layout), train.turned[changes]
    if values is None:
        return None
    return lambda name: Fraction(0) if columns[name] == -1 else values[columns[name]]


def _solved(
    layout: Layout, engaged: Sequence[str], weights: Mapping[str, tuple[int, int]], pairs: Pairs, swapped: Pair | None
) -> list[Fraction | None] | None:
    columns = shaft_columns(layout)
    places = dict(columns)
    if swapped:
        places[swapped[0]], places[swapped[1]] = places[swapped[1]], places[swapped[0]]
    own = [weights.get(pset.name, pset.weights) for pset in layout.sets]
    rows = set_rows(layout, places, own) + element_rows(layout, columns, engaged)
    size = len(rows[0])
    for first, second in pairs:
        row = [0] * (size + 1)
        row[columns[first]] += 1
        row[columns[second]] -= 1
        rows.append(row[:size])
    rows.append([int(column == columns[INPUT]) for column in range(size)])
    return solve(rows, [0] * (len(rows) - 1) + [1])


def mistakes_in(train: Train, row: Drive, quantity: Quantity, *, others: int = 2) -> tuple[Wrong, ...]:
    """Return what common mistakes make of a quantity in a range.

    Args:
        train: the train; which mistakes there are hangs on its joins and elements alone.
        row: the range.
        quantity: the quantity.
        others: how many other ranges may be taken for this one.
    """
    wrongs = [
        *_held_otherwise(train, row, quantity),
        *_as_block(train, row, quantity),
        *_other_ranges(train, row, quantity, others),
        *_counts_changed(train, row, quantity),
        *_members_changed(train, row, quantity),
    ]
    return tuple(wrongs)


def changed(quantity: Quantity, change: Callable[[Train], SpeedOf | None]) -> Callable[[Train], Fraction | None]:
    """Return what works a quantity out in a changed train.

    Args:
        quantity: the quantity.
        change: makes the changed train's speeds.
    """

    def at(train: Train) -> Fraction | None:
        speed = change(train)
        return None if speed is None else quantity(speed)

    return at


def _tied(quantity: Quantity, engaged: tuple[str, ...], pair: Pairs) -> Callable[[Train], Fraction | None]:
    return changed(quantity, lambda train: turning(train, engaged, pairs=pair))


def _exchanged(quantity: Quantity, engaged: tuple[str, ...], pair: Pair) -> Callable[[Train], Fraction | None]:
    return changed(quantity, lambda train: turning(train, engaged, swapped=pair))


def _brakes(train: Train, row: Drive) -> Iterator[tuple[str, str]]:
    """Applied elements that hold a member to the housing, with the member."""
    for name in row.engaged:
        first, second = train.layout.element_named(name).between
        if HOUSING in (first, second):
            yield name, second if first == HOUSING else first


def _held_otherwise(train: Train, row: Drive, quantity: Quantity) -> Iterator[Wrong]:
    """Another member of a set held in place of the one that is."""
    loaded = set(train.loaded(row))
    for brake, held in _brakes(train, row):
        rest = tuple(name for name in row.engaged if name != brake)
        for name in train.on_shaft(held):
            pset = name.partition(".")[0]
            if pset not in loaded:
                continue
            for part in MEMBERS:
                other = f"{pset}.{part}"
                speed = train.speed(row, other)
                if other == name or train.is_end(other) or not speed:
                    continue
                pair = ((other, HOUSING),)
                sentence = say(
                    "You held {member}. In this range it turns, and {brake} holds {member2}.",
                    member=words.member(train.layout, other),
                    brake=brake,
                    member2=words.member(train.layout, held),
                )
                yield Wrong("HELDMOVES", _tied(quantity, rest, pair), sentence)
                break
    for name in row.engaged:
        element = train.layout.element_named(name)
        if HOUSING in element.between or element.kind is ElementKind.ONE_WAY_CLUTCH:
            continue
        free = next((part for part in element.between if part not in (INPUT, OUTPUT) and not train.is_end(part)), None)
        if free is None:
            continue
        rest, pair = tuple(other for other in row.engaged if other != name), ((free, HOUSING),)
        other = next(part for part in element.between if part != free)
        sentence = say(
            "You held {member} to the housing. {name} is a clutch: it joins it with {member2}, and both may turn.",
            member=words.member(train.layout, free),
            name=name,
            member2=words.member(train.layout, other),
        )
        yield Wrong("ROLE", _tied(quantity, rest, pair), sentence)


def _as_block(train: Train, row: Drive, quantity: Quantity) -> Iterator[Wrong]:
    """A set that is held somewhere taken for one that turns as a block."""
    loaded = train.loaded(row)
    for brake, held in _brakes(train, row):
        pset = next((name.partition(".")[0] for name in train.on_shaft(held) if name.partition(".")[0] in loaded), None)
        if pset is None or len(loaded) < 2:
            continue
        rest, pair = tuple(name for name in row.engaged if name != brake), ((f"{pset}.sun", f"{pset}.carrier"),)
        sentence = say(
            "You let {set} turn as a block. {brake} holds {member}, so it does not.",
            set=words.set_words(train.layout, pset),
            brake=brake,
            member=words.member(train.layout, held),
        )
        yield Wrong("LOCKFREE", _tied(quantity, rest, pair), sentence)


def _other_ranges(train: Train, row: Drive, quantity: Quantity, most: int) -> Iterator[Wrong]:
    """The neighbouring ranges, nearest in elements first."""

    def far(other: Drive) -> tuple[int, Fraction]:
        return len(set(other.engaged) ^ set(row.engaged)), abs(other.ratio - row.ratio)

    near = sorted((other for other in train.distinct if other.ratio != row.ratio), key=far)
    for other in islice(near, most):
        yield Wrong(
            "OTHERRANGE",
            right(other.name, quantity),
            say("That belongs to range {other}. Look again which elements hold in this one.", other=other.name),
        )


def _counts_changed(train: Train, row: Drive, quantity: Quantity) -> Iterator[Wrong]:
    """Sun and ring changed over, the sign in a set's equation, the planet's teeth in place of the ring's."""
    layout, loaded = train.layout, train.loaded(row)

    def weigh(change: Mapping[str, Callable[[tuple[int, int]], tuple[int, int]]]) -> Callable[[Train], SpeedOf | None]:
        return lambda t: turning(
            t, row.engaged, weights={name: turn(t.layout.set_named(name).weights) for name, turn in change.items()}
        )

    if loaded:
        yield Wrong("SWAP", changed(quantity, weigh(dict.fromkeys(loaded, lambda w: (w[1], w[0])))))
    for name in loaded:
        pset = layout.set_named(name)
        if len(loaded) > 1:
            yield Wrong(
                "SWAP",
                changed(quantity, weigh({name: lambda w: (w[1], w[0])})),
                say(
                    "Sun and ring of {set} have changed places: the sun is the small gear in the middle.",
                    set=words.set_words(layout, name),
                ),
            )
        if pset.pinions is PinionKind.DOUBLE:
            yield Wrong("DOUBLE", changed(quantity, weigh({name: lambda w: (-w[0], w[1])})))
        elif pset.pinions is PinionKind.SINGLE:
            yield Wrong(
                "SENSE",
                changed(quantity, weigh({name: lambda w: (-w[0], w[1])})),
                say(
                    "In {set} sun and ring turn against each other, seen from the carrier: look at the sign in its equation.",
                    set=words.set_words(layout, name),
                ),
            )
    single = [name for name in loaded if layout.set_named(name).pinions is PinionKind.SINGLE]
    if single:
        last = single[-1]
        yield Wrong(
            "PLANET",
            changed(quantity, weigh({last: lambda w: (2 * w[0], w[1] - w[0])})),
            say(
                "You stopped at the planet of {set}: its teeth are in your answer where the ring's belong.",
                set=words.set_words(layout, last),
            ),
        )


def _members_changed(train: Train, row: Drive, quantity: Quantity) -> Iterator[Wrong]:
    """Carrier and ring of a set changed over."""
    for name in train.loaded(row)[:1]:
        pair = (f"{name}.carrier", f"{name}.ring")
        yield Wrong(
            "MEMBERS",
            _exchanged(quantity, row.engaged, pair),
            say(
                "You swapped carrier and ring of {set}: look which of them is on which shaft.",
                set=words.set_words(train.layout, name),
            ),
        )


def multiplied(train: Train, row: Drive) -> tuple[Wrong, ...]:
    """Return the ratios of the sets on a way through the train multiplied, or added, as if each had a held member of its own.

    Args:
        train: the train.
        row: the range.
    """
    wrongs: list[Wrong] = []
    for way in _ways(train, row)[:2]:
        names = tuple(name for name, _, _ in way)
        sets = listed(words.set_words(train.layout, name) for name in names)

        def product(t: Train, way: tuple[tuple[str, str, str], ...] = way) -> Fraction:
            value = Fraction(1)
            for step in way:
                value *= _case(t, *step)
            return value

        def total(t: Train, way: tuple[tuple[str, str, str], ...] = way) -> Fraction:
            return sum((_case(t, *step) for step in way), Fraction(0))

        if product(train) == row.ratio:
            wrongs.append(Wrong("ADD", total))
        else:
            wrongs.append(
                Wrong(
                    "MULT",
                    product,
                    say(
                        "You multiplied the ratios of {sets} as if each had a held member of its own. They share members: find out which of them really stand.",
                        sets=sets,
                    ),
                )
            )
    return tuple(wrongs)


def _case(train: Train, name: str, driver: str, driven: str) -> Fraction:
    """Ratio of one set with the third member held."""
    sun, ring = train.layout.set_named(name).weights
    weights = {"sun": sun, "ring": ring, "carrier": -(sun + ring)}
    return Fraction(-weights[driven], weights[driver]) if weights[driver] else Fraction(0)


def _ways(train: Train, row: Drive) -> list[tuple[tuple[str, str, str], ...]]:
    """Ways from input to output through two sets or more that carry torque: each set with its driving and driven member."""
    merged, loaded = train.merged(row.engaged), train.loaded(row)
    ways: list[tuple[tuple[str, str, str], ...]] = []

    def go(here: str, way: tuple[tuple[str, str, str], ...]) -> None:
        if here == merged.output:
            if len(way) > 1:
                ways.append(way)
            return
        for name in loaded:
            if name in (step[0] for step in way):
                continue
            roots = merged.roots(name)
            for driver in MEMBERS:
                if roots[driver] != here:
                    continue
                for driven in MEMBERS:
                    if driven != driver and roots[driven] not in (here, merged.ground):
                        go(roots[driven], (*way, (name, driver, driven)))

    go(merged.input, ())
    return sorted(ways, key=len)
