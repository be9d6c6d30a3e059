"""Torques in a range: what brakes hold and which way, what clutches carry, what acts on members."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.items import ONE_PART, AnswerKind
from gearkit.answers.judge.targets import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.numbers import NumberTarget
from gearkit.answers.kinds.words import OrderTarget
from gearkit.answers.layouts import hints, words, wrong
from gearkit.answers.layouts.family import Ask, Case, Family, UnclearError, choice, number, part_name, wrong_values
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.task import Task
from gearkit.text.phrases import listed
from gearkit.words.terms import HOUSING, MEMBERS, OUTPUT, ElementKind

SUBJECT = "torque"
HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
_INPUT = {"T": ("80", "400", "10")}
_SIZE = "(size and unit; a sign does not count)"
_MARKS = {1: 3, 2: 4, 3: 6}
_LEAST, _APART, _MOST_ORDERED = Fraction(1, 100), Fraction(105, 100), 4
Value = Callable[[Train], Fraction | None]


def _carried(name: str, range_name: str) -> Value:
    """Size of the torque in an element, as a multiple of the input torque."""

    def at(train: Train) -> Fraction | None:
        found = train.torques(train.row(range_name))
        torque = found.elements.get(name) if found else None
        return None if torque is None else abs(torque)

    return at


def _settled(train: Train) -> Iterator[Drive]:
    return (row for row in train.distinct if train.torques(row) is not None)


def _elements(train: Train, row: Drive, brakes: bool) -> list[str]:
    found = []
    for name in row.engaged:
        holds = HOUSING in train.layout.element_named(name).between
        torque = _carried(name, row.name)(train)
        if holds is brakes and torque and torque > _LEAST:
            found.append(name)
    return found


def _holdings(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        for name in _elements(train, row, brakes=True):
            hard = _hard(train, row)
            element = train.layout.element_named(name)
            what = "one-way clutch" if element.kind is ElementKind.ONE_WAY_CLUTCH else "brake"
            yield Case(
                (row.name, name),
                f"torque that {name} holds in range {row.name}",
                f"{words.up(words.range_words(train.layout, row))}, <T> N·m at the input, no losses. How large is the torque that "
                f"{what} {name} holds {_SIZE}?",
                _MARKS[hard],
                hard,
                _hints(train, row),
                _INPUT,
                asks=frozenset({f"torque {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=HALF_PERCENT,
                unit="N·m",
                size_only=True,
            )


def _clutches(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        for name in _elements(train, row, brakes=False):
            hard = _hard(train, row)
            yield Case(
                (row.name, name),
                f"torque in clutch {name} in range {row.name}",
                f"{words.up(words.range_words(train.layout, row))}, <T> N·m at the input, no losses. How large is the torque that "
                f"clutch {name} carries {_SIZE}?",
                _MARKS[hard],
                hard,
                _hints(train, row),
                _INPUT,
                asks=frozenset({f"torque {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=HALF_PERCENT,
                unit="N·m",
                size_only=True,
            )


def _hard(train: Train, row: Drive) -> int:
    loaded = [name for name, carries in train.carries(row).items() if carries]
    return min(3, max(1, len(loaded)))


def _hints(train: Train, row: Drive) -> tuple[str, str, str]:
    layout = train.layout
    on_input = [name for name in train.merged(row.engaged).members(train.merged(row.engaged).input) if "." in name]
    loaded = [name for name, carries in train.carries(row).items() if carries]
    where = (
        f"The input torque comes in at {listed(words.member(layout, name) for name in on_input)}."
        if on_input
        else "Follow the input torque through the clutches."
    )
    free = [words.set_words(layout, name) for name, carries in train.carries(row).items() if carries is False]
    idle = f" {words.up(listed(free))} carr{'ies' if len(free) == 1 else 'y'} nothing." if free else ""
    sets = listed(words.set_words(layout, name) for name in loaded)
    many = "In each of " if len(loaded) > 1 else "In "
    return (
        where + idle,
        f"{many}{sets} the torques of sun, ring and carrier stand as S to R to S + R; the carrier's acts against "
        "the other two (with double planets the sun's and the ring's act against each other).",
        "On each shaft the torques of all that sits on it add up to nothing. Go from shaft to shaft.",
    )


def _element(ask: Ask) -> Task | None:
    range_name, name = ask.about
    row = ask.own.row(range_name)
    return number(ask, _carried(name, range_name), _mistakes(ask.own, row, name), ask.facts.values["T"])


def _mistakes(train: Train, row: Drive, name: str) -> Iterator[Wrong]:
    def ratio(train: Train) -> Fraction:
        return abs(train.row(row.name).ratio)

    holds = HOUSING in train.layout.element_named(name).between
    yield Wrong("TEQUAL", lambda train: Fraction(1), "That is the input torque itself: follow it through the sets.")
    yield Wrong("REACT", ratio, "That is the output torque. Not all of it comes from there: what do the other parts take?")
    for other in row.engaged:
        if other != name:
            yield Wrong("ELEMENT", _carried(other, row.name), f"That is what {other} carries, not {name}.")
    housing = Wrong(
        "MULT",
        lambda train: abs(train.row(row.name).ratio - 1),
        "That is what the housing takes up in all. It is shared."
        if holds
        else "That is what the housing takes up, and a clutch does not lie there.",
    )
    yield housing
    yield Wrong("TSPEED", lambda train: 1 / ratio(train))
    loaded = [one for one, carries in train.carries(row).items() if carries]
    yield Wrong("SWAP", _changed(row, name, loaded, swap=True))
    for one in loaded[:2]:
        yield Wrong(
            "SWAP",
            _changed(row, name, [one], swap=True),
            f"Sun and ring of {words.set_words(train.layout, one)} have changed places: the smaller gear has the smaller torque.",
        )
    for one in loaded[:1]:
        yield Wrong(
            "SENSE",
            _changed(row, name, [one], swap=False),
            f"Look at the torques in {words.set_words(train.layout, one)} again: which of them act the same way?",
        )


def _changed(row: Drive, name: str, sets: Sequence[str], *, swap: bool) -> Value:
    """Torque in an element with other weights of some sets, from virtual speeds: the output held, the element let go.

    Input power T·1 and the element's power T_e·slip then add up to nothing.
    """
    rest = tuple(one for one in row.engaged if one != name)

    def at(train: Train) -> Fraction | None:
        first, second = train.layout.element_named(name).between
        own = {one: train.layout.set_named(one).weights for one in sets}
        weights = {one: (ring, sun) if swap else (-sun, ring) for one, (sun, ring) in own.items()}
        speed = wrong.turning(train, rest, weights=weights, pairs=((OUTPUT, HOUSING),))
        slip = wrong.slip_of(first, second)(speed) if speed else None
        return abs(1 / slip) if slip else None

    return at


def _housings(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        if abs(row.ratio - 1) < _LEAST or not _elements(train, row, brakes=True):
            continue
        hard = min(3, hints.difficulty(train, row))
        yield Case(
            (row.name,),
            f"torque that the housing takes up in range {row.name}",
            f"{words.up(words.range_words(train.layout, row))}, <T> N·m at the input, no losses. How large is the torque that the "
            f"whole transmission puts on its housing {_SIZE}?",
            _MARKS[hard] - 1,
            hard,
            (
                "From outside three torques act: at the input, at the output, and from the housing. They add up to nothing.",
                "Without losses the output torque follows from the ratio alone.",
                "Mind which way the load acts: forward and reverse differ.",
            ),
            _INPUT,
            asks=frozenset({f"housing {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _housing(ask: Ask) -> Task | None:
    name = ask.about[0]

    def of(change: Callable[[Fraction], Fraction]) -> Value:
        return lambda train: abs(change(train.row(name).ratio))

    mistakes = [
        Wrong("SENSE", of(lambda i: i + 1), "The load acts on the train against the motion: look at its sign in the sum."),
        Wrong("REACT", of(lambda i: i)),
        Wrong("TEQUAL", of(lambda i: Fraction(1)), "That is the input torque alone."),
        Wrong("TSPEED", of(lambda i: 1 / i - 1)),
    ]
    mistakes += [
        Wrong(
            "OTHERRANGE",
            _housing_in(other.name),
            f"That belongs to range {other.name}. Look again which elements hold in this one.",
        )
        for other in ask.own.distinct
        if other.name != name
    ][:3]
    return number(ask, of(lambda i: i - 1), mistakes, ask.facts.values["T"])


def _housing_in(range_name: str) -> Value:
    return lambda train: abs(train.row(range_name).ratio - 1)


def _senses(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        for name in _elements(train, row, brakes=True)[:1]:
            element = train.layout.element_named(name)
            if element.kind is ElementKind.ONE_WAY_CLUTCH:
                continue
            held = next(part for part in element.between if part != HOUSING)
            told = words.member(train.layout, held)
            yield Case(
                (row.name, name),
                f"which way {told} would turn without {name} in range {row.name}",
                f"In {words.range_words(train.layout, row)}, under drive, {name} holds {told}. Which way would {told} begin to turn "
                f"if {name} let go?",
                3,
                min(3, _hard(train, row) + 1),
                (
                    f"With {name} released and a load on the output, take the output as standing.",
                    f"Let the input turn forward and see which way {told} goes.",
                    "That is the way in which the train pushes on it; the brake pushes against it.",
                ),
                asks=frozenset({f"sense {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
            )


def _sense(ask: Ask) -> Task | None:
    range_name, name = ask.about
    element = ask.own.layout.element_named(name)
    held = next(part for part in element.between if part != HOUSING)
    found = ask.train.torques(ask.train.row(range_name))
    torque = found.elements[name] if found else None
    if not torque:
        return None
    # The brake pushes forward where its member would turn backward.
    right = "reverse" if torque > 0 else "forward"
    other = "forward" if right == "reverse" else "reverse"
    told = words.member(ask.own.layout, held)
    return choice(
        ask,
        ("forward", "reverse", "it would not turn"),
        right,
        [
            ("TURNED", other, f"Hold the output in your mind and let the input turn: which way does {told} go then?"),
            ("REACT", "it would not turn", "A brake that carries torque is what keeps its member from turning."),
        ],
        aliases={"backward": "reverse", "backwards": "reverse", "forwards": "forward"},
    )


def _tables(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        names = _elements(train, row, brakes=True) + _elements(train, row, brakes=False)
        if len(names) < 2:
            continue
        hard = _hard(train, row)
        yield Case(
            (row.name,),
            f"torques in all elements in range {row.name}",
            f"{words.up(words.range_words(train.layout, row))}, <T> N·m at the input, no losses. How large are the torques in "
            f"{listed(sorted(names))} {_SIZE}?",
            2 * len(names) + hard - 1,
            hard,
            _hints(train, row),
            _INPUT,
            asks=frozenset(f"torque {row.name} {name}" for name in row.engaged),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _table(ask: Ask) -> Task | None:
    row, torque = ask.own.row(ask.about[0]), ask.facts.values["T"]
    names = sorted(_elements(ask.own, row, brakes=True) + _elements(ask.own, row, brakes=False))
    parts, targets, forms = [], {}, []
    for place, name in enumerate(names, start=1):
        part, right = part_name("T", name, place), _carried(name, row.name)
        value = right(ask.train)
        if value is None:
            return None
        kind = ask.own.layout.element_named(name).kind
        parts.append(Part(part, f"{kind} {name}", AnswerKind.TORQUE, "N·m", (), Fraction(ask.item.marks, len(names))))
        targets[part] = NumberTarget(
            value * torque, AnswerKind.TORQUE, ask.item.tolerance, "N·m", ask.facts.visible, False, True
        )
        try:
            forms += [
                WrongForm(one.code, {part: found}, one.sentence)
                for one, found in wrong_values(ask, right, _mistakes(ask.own, row, name), torque, 5)
            ]
        except UnclearError:
            return None
    return Task(tuple(parts), Key(targets, tuple(forms), values=ask.facts.values))


def _members(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        name = _asked_member(train, row)
        if name is None:
            continue
        hard, told = _hard(train, row), words.member(train.layout, name)
        yield Case(
            (row.name, name),
            f"torque on {told} in range {row.name}",
            f"{words.up(words.range_words(train.layout, row))}, <T> N·m at the input, no losses. How large is the torque on {told} "
            f"{_SIZE}?",
            _MARKS[hard],
            hard,
            _hints(train, row),
            _INPUT,
            asks=frozenset({f"member torque {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _asked_member(train: Train, row: Drive) -> str | None:
    found = train.torques(row)
    assert found is not None
    for name in (f"{pset.name}.{part}" for pset in reversed(train.layout.sets) for part in MEMBERS):
        torque = found.members[name]
        alone = len(train.on_shaft(name)) > 1 and not words.of_the_input(train.layout, name)
        if torque and alone and abs(abs(torque) - 1) > _LEAST and abs(torque) > _LEAST:
            return name
    return None


def _member(ask: Ask) -> Task | None:
    range_name, name = ask.about
    pset = name.partition(".")[0]

    def on(part: str) -> Value:
        def at(train: Train) -> Fraction | None:
            found = train.torques(train.row(range_name))
            torque = found.members[part] if found else None
            return None if torque is None else abs(torque)

        return at

    mistakes = [Wrong("TEQUAL", lambda train: Fraction(1), "That is the input torque itself: follow it through the sets.")]
    mistakes += [
        Wrong("MEMBERS", on(f"{pset}.{part}"), f"That is the torque on {words.member(ask.own.layout, f'{pset}.{part}')}.")
        for part in MEMBERS
        if f"{pset}.{part}" != name
    ]
    mistakes += [
        Wrong("REACT", lambda train: abs(train.row(range_name).ratio), "That is the output torque."),
        Wrong("TSPEED", lambda train: 1 / abs(train.row(range_name).ratio)),
    ]
    return number(ask, on(name), mistakes, ask.facts.values["T"])


def _orders(train: Train) -> Iterator[Case]:
    rows = [(row.name, name) for row in _settled(train) for name in _elements(train, row, True) + _elements(train, row, False)]
    if len(rows) < _MOST_ORDERED or len({name for name, _ in rows}) < 3:
        return
    yield Case(
        (),
        "elements in order of their torques",
        "The same input torque each time, no losses. Put these in order of the torque that they hold or carry, largest first. "
        "Answer with the letters.\n\n<list>",
        4,
        3,
        (
            "An element that holds alone takes up the difference of output and input torque.",
            "In reverse that difference is a sum.",
            "Work out those that you cannot tell apart.",
        ),
        asks=frozenset({"order of torques"}),
        tells=frozenset(f"chart {row.name}" for row in train.distinct),
    )


def _order(ask: Ask) -> Task | None:
    rows = [
        (row, name)
        for row in (ask.train.row(one.name) for one in _settled(ask.own))
        for name in _elements(ask.train, row, True) + _elements(ask.train, row, False)
    ]
    sizes: dict[str, Fraction] = {}
    for row, name in ask.dice.sample(rows, _MOST_ORDERED):
        carried = _carried(name, row.name)(ask.train)
        if carried is None:
            return None
        sizes[f"{name} in {words.range_words(ask.train.layout, row)}"] = carried
    order = tuple(sorted(sizes, key=sizes.__getitem__, reverse=True))
    if any(sizes[one] / sizes[two] < _APART for one, two in pairwise(order)):
        return None
    choices = Choices(ask.dice.shuffled(order), letters=True)
    if choices.options == order:
        return None
    part = Part(ONE_PART, "", AnswerKind.ORDERING, "", choices.options, Fraction(ask.item.marks))
    return Task((part,), Key({ONE_PART: OrderTarget(choices, order, ask.item.marks)}), {"list": labelled(choices.options)})


def _inputs(train: Train) -> Iterator[Case]:
    for row in _settled(train):
        if row.ratio == 1:
            continue
        hard = hints.difficulty(train, row)
        yield Case(
            (row.name,),
            f"output torque in range {row.name}",
            f"{words.up(words.range_words(train.layout, row))}, <T> N·m at the input, no losses. How large is the torque at the output "
            f"{_SIZE}?",
            _MARKS[hard] - 1,
            hard,
            (
                "Without losses the power at the output is the power at the input.",
                "Power is torque times speed: what the ratio takes off the speed it puts on the torque.",
                hints.begin(train, row),
            ),
            _INPUT,
            asks=frozenset({f"output torque {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=HALF_PERCENT,
            unit="N·m",
            size_only=True,
        )


def _output(ask: Ask) -> Task | None:
    row = ask.own.row(ask.about[0])

    mistakes = [
        Wrong("TSPEED", lambda train: 1 / abs(train.row(row.name).ratio)),
        Wrong("REACT", lambda train: abs(train.row(row.name).ratio - 1), "That is what the housing takes up, not the output."),
        *wrong.multiplied(ask.own, row),
        *wrong.mistakes_in(ask.own, row, wrong.size_of(wrong.ratio)),
    ]
    return number(ask, lambda train: abs(train.row(row.name).ratio), mistakes, ask.facts.values["T"])


FAMILIES = (
    Family("output-torque", SUBJECT, 8, AnswerKind.TORQUE, _inputs, _output),
    Family("holding", SUBJECT, 8, AnswerKind.TORQUE, _holdings, _element),
    Family("clutch-torque", SUBJECT, 8, AnswerKind.TORQUE, _clutches, _element),
    Family("housing", SUBJECT, 8, AnswerKind.TORQUE, _housings, _housing),
    Family("push", SUBJECT, 8, AnswerKind.CHOICE, _senses, _sense),
    Family("torques", SUBJECT, 8, AnswerKind.TORQUE, _tables, _table),
    Family("member-torque", SUBJECT, 8, AnswerKind.TORQUE, _members, _member),
    Family("torque-order", SUBJECT, 8, AnswerKind.ORDERING, _orders, _order),
)
