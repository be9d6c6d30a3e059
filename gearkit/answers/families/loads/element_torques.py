"""Torques in elements: what brakes hold and which way, what clutches carry, in which order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from gearkit.answers.families.loads.torques import (
    HALF_PERCENT,
    INPUT_TORQUE,
    SIZE,
    SUBJECT,
    Value,
    carried,
    hard_of,
    hints_of,
    loaded_elements,
    settled,
    torque_case,
)
from gearkit.answers.item import ONE_PART, AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import OrderChecker
from gearkit.answers.layouts import words, wrong
from gearkit.answers.layouts.family import Ask, Case, Family, UnclearError, choice, number, part_name, wrong_values
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.text.phrases import capital, listed
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, OUTPUT, ElementKind

_APART, _MOST_ORDERED = Fraction(105, 100), 4


def _holdings(train: Train) -> Iterator[Case]:
    for row in settled(train):
        for name in loaded_elements(train, row, brakes=True):
            element = train.layout.element_named(name)
            what = say("one-way clutch") if element.kind is ElementKind.ONE_WAY_CLUTCH else say("brake")
            yield torque_case(
                train,
                row,
                (row.name, name),
                say("torque that {name} holds in range {row}", name=name, row=row.name),
                say(
                    "{up}, <T> N·m at the input, no losses. How large is the torque that {what} {name} holds {size}?",
                    up=capital(words.range_words(train.layout, row)),
                    what=what,
                    name=name,
                    size=say(SIZE),
                ),
                f"torque {row.name} {name}",
            )


def _clutches(train: Train) -> Iterator[Case]:
    for row in settled(train):
        for name in loaded_elements(train, row, brakes=False):
            yield torque_case(
                train,
                row,
                (row.name, name),
                say("torque in clutch {name} in range {row}", name=name, row=row.name),
                say(
                    "{up}, <T> N·m at the input, no losses. How large is the torque that clutch {name} carries {size}?",
                    up=capital(words.range_words(train.layout, row)),
                    name=name,
                    size=say(SIZE),
                ),
                f"torque {row.name} {name}",
            )


def _element(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    row = ask.own.row(range_name)
    return number(ask, carried(name, range_name), _mistakes(ask.own, row, name), ask.drawn.values["T"])


def _mistakes(train: Train, row: Drive, name: str) -> Iterator[Wrong]:
    def ratio(train: Train) -> Fraction:
        return abs(train.row(row.name).ratio)

    holds = HOUSING in train.layout.element_named(name).between
    yield Wrong("TEQUAL", lambda train: Fraction(1), say("That is the input torque itself: follow it through the sets."))
    yield Wrong("REACT", ratio, say("That is the output torque. Not all of it comes from there: what do the other parts take?"))
    for other in row.engaged:
        if other != name:
            yield Wrong(
                "ELEMENT", carried(other, row.name), say("That is what {other} carries, not {name}.", other=other, name=name)
            )
    housing = Wrong(
        "MULT",
        lambda train: abs(train.row(row.name).ratio - 1),
        say("That is what the housing takes up in all. It is shared.")
        if holds
        else say("That is what the housing takes up, and a clutch does not lie there."),
    )
    yield housing
    yield Wrong("TSPEED", lambda train: 1 / ratio(train))
    loaded = [pset for pset, carries in train.carries(row).items() if carries]
    yield Wrong("SWAP", _changed(row, name, loaded, swap=True))
    for pset in loaded[:2]:
        yield Wrong(
            "SWAP",
            _changed(row, name, [pset], swap=True),
            say(
                "Sun and ring of {set} have changed places: the smaller gear has the smaller torque.",
                set=words.set_words(train.layout, pset),
            ),
        )
    for pset in loaded[:1]:
        yield Wrong(
            "SENSE",
            _changed(row, name, [pset], swap=False),
            say("Look at the torques in {set} again: which of them act the same way?", set=words.set_words(train.layout, pset)),
        )


def _changed(row: Drive, name: str, sets: Sequence[str], *, swap: bool) -> Value:
    """Torque in an element with other weights of some sets, from virtual speeds: the output held, the element let go.

    Input power T·1 and the element's power T_e·slip then add up to zero.
    """
    rest = tuple(element for element in row.engaged if element != name)

    def at(train: Train) -> Fraction | None:
        first, second = train.layout.element_named(name).between
        own = {pset: train.layout.set_named(pset).weights for pset in sets}
        weights = {pset: (ring, sun) if swap else (-sun, ring) for pset, (sun, ring) in own.items()}
        speed = wrong.turning(train, rest, weights=weights, pairs=((OUTPUT, HOUSING),))
        slip = wrong.slip_of(first, second)(speed) if speed else None
        return abs(1 / slip) if slip else None

    return at


def _senses(train: Train) -> Iterator[Case]:
    for row in settled(train):
        for name in loaded_elements(train, row, brakes=True)[:1]:
            element = train.layout.element_named(name)
            if element.kind is ElementKind.ONE_WAY_CLUTCH:
                continue
            held = next(part for part in element.between if part != HOUSING)
            told = words.member(train.layout, held)
            yield Case(
                (row.name, name),
                say("which way {told} would turn without {name} in range {row}", told=told, name=name, row=row.name),
                say(
                    "In {range}, under drive, {name} holds {told}. Which way would {told} begin to turn if {name} let go?",
                    range=words.range_words(train.layout, row),
                    name=name,
                    told=told,
                ),
                3,
                min(3, hard_of(train, row) + 1),
                (
                    say("With {name} released and a load on the output, take the output as standing.", name=name),
                    say("Let the input turn forward and see which way {told} goes.", told=told),
                    say("That is the way in which the train pushes on it; the brake pushes against it."),
                ),
                asks=frozenset({f"sense {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
            )


def _sense(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    element = ask.own.layout.element_named(name)
    held = next(part for part in element.between if part != HOUSING)
    loads = ask.train.torques(ask.train.row(range_name))
    torque = loads.elements[name] if loads else None
    if not torque:
        return None
    # The brake pushes forward where its member would turn backward.
    right = "reverse" if torque > 0 else "forward"
    other = "forward" if right == "reverse" else "reverse"
    told = words.member(ask.own.layout, held)
    return choice(
        ask,
        ("forward", "reverse", say("it would not turn")),
        right,
        [
            (
                "TURNED",
                other,
                say("Think of the output as held and let the input turn: which way does {told} go then?", told=told),
            ),
            ("REACT", say("it would not turn"), say("A brake that carries torque is what keeps its member from turning.")),
        ],
        aliases={"backward": "reverse", "backwards": "reverse", "forwards": "forward"},
    )


def _tables(train: Train) -> Iterator[Case]:
    for row in settled(train):
        names = loaded_elements(train, row, brakes=True) + loaded_elements(train, row, brakes=False)
        if len(names) < 2:
            continue
        hard = hard_of(train, row)
        yield Case(
            (row.name,),
            say("torques in all elements in range {row}", row=row.name),
            say(
                "{up}, <T> N·m at the input, no losses. How large are the torques in {names} {size}?",
                up=capital(words.range_words(train.layout, row)),
                names=listed(sorted(names)),
                size=say(SIZE),
            ),
            2 * len(names) + hard - 1,
            hard,
            hints_of(train, row),
            INPUT_TORQUE,
            asks=frozenset(f"torque {row.name} {name}" for name in row.engaged),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _table(ask: Ask) -> BuiltItem | None:
    row, torque = ask.own.row(ask.about[0]), ask.drawn.values["T"]
    names = sorted(loaded_elements(ask.own, row, brakes=True) + loaded_elements(ask.own, row, brakes=False))
    parts, checkers, forms = [], {}, []
    for place, name in enumerate(names, start=1):
        part, right = part_name("T", name, place), carried(name, row.name)
        value = right(ask.train)
        if value is None:
            return None
        kind = ask.own.layout.element_named(name).kind
        parts.append(
            Part(
                part,
                say("{kind} {name}", kind=kind, name=name),
                AnswerKind.TORQUE,
                "N·m",
                (),
                Fraction(ask.item.marks, len(names)),
            )
        )
        checkers[part] = NumberChecker(
            value * torque, AnswerKind.TORQUE, ask.item.tolerance, "N·m", ask.drawn.visible, False, True
        )
        try:
            forms += [
                WrongForm(form.code, {part: answer}, form.sentence)
                for form, answer in wrong_values(ask, right, _mistakes(ask.own, row, name), torque, 5)
            ]
        except UnclearError:
            return None
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms), values=ask.drawn.values))


def _orders(train: Train) -> Iterator[Case]:
    rows = [
        (row.name, name)
        for row in settled(train)
        for name in loaded_elements(train, row, True) + loaded_elements(train, row, False)
    ]
    if len(rows) < _MOST_ORDERED or len({name for name, _ in rows}) < 3:
        return
    yield Case(
        (),
        say("elements in order of their torques"),
        say(
            "The same input torque each time, no losses. Put these in order of the torque that they hold or carry, largest first. Answer with the letters.\n\n<list>"
        ),
        4,
        3,
        (
            say("An element that holds alone takes up the difference of output and input torque."),
            say("In reverse that difference is a sum."),
            say("Work out those that you cannot tell apart."),
        ),
        asks=frozenset({"order of torques"}),
        tells=frozenset(f"chart {row.name}" for row in train.distinct),
    )


def _order(ask: Ask) -> BuiltItem | None:
    rows = [
        (row, name)
        for row in (ask.train.row(drive.name) for drive in settled(ask.own))
        for name in loaded_elements(ask.train, row, True) + loaded_elements(ask.train, row, False)
    ]
    sizes: dict[str, Fraction] = {}
    for row, name in ask.seeded.sample(rows, _MOST_ORDERED):
        torque = carried(name, row.name)(ask.train)
        if torque is None:
            return None
        sizes[say("{element} in {range}", element=name, range=words.range_words(ask.train.layout, row))] = torque
    order = tuple(sorted(sizes, key=sizes.__getitem__, reverse=True))
    if any(sizes[first] / sizes[two] < _APART for first, two in pairwise(order)):
        return None
    choices = Choices(ask.seeded.shuffled(order), letters=True)
    if choices.options == order:
        return None
    part = Part(ONE_PART, "", AnswerKind.ORDERING, "", choices.options, Fraction(ask.item.marks))
    return BuiltItem(
        (part,), Key({ONE_PART: OrderChecker(choices, order, ask.item.marks)}), {"list": labelled(choices.options)}
    )


FAMILIES = (
    Family("holding", SUBJECT, 8, AnswerKind.TORQUE, _holdings, _element),
    Family("clutch-torque", SUBJECT, 8, AnswerKind.TORQUE, _clutches, _element),
    Family("push", SUBJECT, 8, AnswerKind.CHOICE, _senses, _sense),
    Family("torques", SUBJECT, 8, AnswerKind.TORQUE, _tables, _table),
    Family("torque-order", SUBJECT, 8, AnswerKind.ORDERING, _orders, _order),
)
