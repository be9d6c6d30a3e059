"""One-way clutches: what they do in each range, how fast they overrun, what brakes the engine, what a bad one costs."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind
from gearkit.answers.judge.checkers import WrongForm
from gearkit.answers.layouts import hints, words, wrong
from gearkit.answers.layouts.family import Ask, Case, Family, choice, grid, number, part_name, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve import one_way
from gearkit.solve.service.faults import ElementFault, with_faults
from gearkit.text.phrases import listed
from gearkit.words.say import later, say
from gearkit.words.terms import HOUSING, FaultMode, FreeDirection, OneWayState, Verdict
from gearkit.words.terms import Drive as Push

SUBJECT = later("one-way clutches")
_HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
STATES = ("holding", "overrunning", later("idle, its member is held by another element"))
STATE_WORDS = {OneWayState.HOLDING: STATES[0], OneWayState.OVERRUNNING: STATES[1], OneWayState.IDLE: STATES[2]}
_CAUTION = later("\n\n*On a real unit follow the maker's procedure and data.*")


def state_of(train: Train, row: Drive, name: str) -> OneWayState:
    """Return what a one-way clutch does in a range under drive.

    Args:
        train: the train.
        row: the range.
        name: the clutch.
    """
    return next(clutch.state for clutch in train.working(row.name).clutches if clutch.name == name)


def _states(train: Train) -> Iterator[Case]:
    for name in train.one_ways:
        states = [state_of(train, row, name) for row in train.drives]
        if len(states) < 3 or len(set(states)) < 2 or not set(states) <= set(STATE_WORDS):
            continue
        yield Case(
            (name,),
            say("what one-way clutch {name} does in each range", name=name),
            say(
                "Under drive, is the one-way clutch {name} holding, is it overrunning, or is it idle because another element holds its member? Say it for each range.",
                name=name,
            ),
            len(states),
            2,
            (
                say("First find in which ranges its member turns, and which way."),
                say("Where it turns in the free direction the clutch overruns."),
                say("Where it stands: is something else applied to it? Otherwise the clutch holds it."),
            ),
            asks=frozenset({f"state of {name}", f"works without {name}"}),
            shows=(words.CHART_APPLIED,),
        )


def _state_grid(ask: Ask) -> BuiltItem | None:
    name = ask.about[0]
    rows, forms = [], []
    for place, own in enumerate(ask.own.drives, start=1):
        row = ask.train.row(own.name)
        state = state_of(ask.train, row, name)
        if state not in STATE_WORDS:
            return None
        part = part_name("range", row.name, place)
        rows.append((part, say("range {row}", row=row.name), STATE_WORDS[state]))
        if state is OneWayState.HOLDING:
            forms.append(
                WrongForm(
                    "OWC", {part: STATES[1]}, say("Which way does the load push its member there: the free way or the other?")
                )
            )
        elif state is OneWayState.OVERRUNNING:
            forms.append(
                WrongForm(
                    "OWC", {part: STATES[0]}, say("Its member turns there, in the direction in which the clutch is free.")
                )
            )
        else:
            forms.append(
                WrongForm("OWC", {part: STATES[0]}, say("Another element holds its member there: what is left for the clutch?"))
            )
    return grid(
        ask, rows, STATES, forms, aliases={"held": STATES[0], "holds": STATES[0], "overruns": STATES[1], "idle": STATES[2]}
    )


def _overruns(train: Train) -> Iterator[Case]:
    for name in train.one_ways:
        for row in train.distinct:
            slip = train.speeds(row.engaged).slip[name]
            if (
                name in row.engaged
                or not slip
                or abs(slip) < Fraction(1, 50)
                or state_of(train, row, name) is not OneWayState.OVERRUNNING
            ):
                continue
            element = train.layout.element_named(name)
            sides = listed(words.member(train.layout, part) for part in element.between)
            moving = [part for part in element.between if part != HOUSING]
            hard = max(hints.difficulty(train, row, part) for part in moving)
            yield Case(
                (name, row.name),
                say("overrun speed of {name} in range {row}", name=name, row=row.name),
                say(
                    "The input turns at <n> r/min in {range}. How fast does the one-way clutch {name} overrun, that is, how much faster does one of its sides, {sides}, turn than the other (r/min; a sign does not count)?",
                    range=words.range_words(train.layout, row),
                    name=name,
                    sides=sides,
                ),
                {1: 3, 2: 4, 3: 6}[hard],
                hard,
                (
                    hints.holds(train, row),
                    say("Find the speed of each side of the clutch; the housing stands."),
                    say("The difference between the two is the overrun speed."),
                ),
                {"n": ("1000", "3000", "100")},
                asks=frozenset({f"slip {row.name} {name}"}),
                tells=frozenset({f"chart {row.name}"}),
                tolerance=_HALF_PERCENT,
                unit="r/min",
                size_only=True,
            )


def _overrun(ask: Ask) -> BuiltItem | None:
    name, range_name = ask.about
    row, (first, second) = ask.own.row(range_name), ask.own.layout.element_named(name).between

    quantity = wrong.size_of(wrong.slip_of(first, second))
    stands = Wrong(
        "LOCKFREE", lambda train: Fraction(0), say("{name} lets go here: its sides turn at different speeds.", name=name)
    )
    as_input = Wrong(
        "HELDMOVES", lambda train: Fraction(1), say("That is the speed of the input. What does the set between make of it?")
    )
    return number(
        ask,
        wrong.right(range_name, quantity),
        (stands, as_input, *wrong.mistakes_in(ask.own, row, quantity)),
        ask.drawn.values["n"],
    )


def _brakes_engine(train: Train, row: Drive) -> bool:
    return one_way.in_range(train.layout, row.name, Push.COAST).verdict is Verdict.RANGE


def _brakings(train: Train) -> Iterator[Case]:
    if not train.one_ways or len(train.drives) < 3:
        return
    right = [row.name for row in train.drives if _brakes_engine(train, row)]
    if not right or len(right) == len(train.drives):
        return
    yield Case(
        (),
        say("ranges with engine braking"),
        say(
            "In which ranges does the engine brake the vehicle, that is, hold also when the vehicle pushes? Tick all of them. (A wrong tick takes off at least what a right one earns.)"
        ),
        3,
        2,
        (
            say("In coast the torque at the output acts the other way round."),
            say("A one-way clutch that holds under drive then lets go."),
            say("A range that needs no one-way clutch brakes the engine."),
        ),
        asks=frozenset({"engine braking"}),
        shows=(words.CHART,),
    )


def _braking(ask: Ask) -> BuiltItem | None:
    rows = [ask.train.row(row.name) for row in ask.own.drives]
    right = [row.name for row in rows if _brakes_engine(ask.train, row)]
    names = [row.name for row in rows]
    wrongs = [
        ("OWC", names, say("A one-way clutch that holds under drive lets go when the vehicle pushes.")),
        (
            "TURNED",
            [name for name in names if name not in right],
            say("It is the other way round: which ranges rely on a one-way clutch?"),
        ),
    ]
    return several(ask, names, right, wrongs)


def works_without(train: Train, row: Drive, name: str) -> bool:
    """Return whether a range still drives in its ratio when a one-way clutch does not hold.

    Args:
        train: the train.
        row: the range.
        name: the clutch.
    """
    fault = ElementFault(name, FaultMode.STUCK_OFF)
    state = with_faults(train.layout, row.name, [fault])
    return state.verdict is Verdict.RANGE and state.ratio == row.ratio


def _fails(train: Train) -> Iterator[Case]:
    for name in train.one_ways:
        works = [row for row in train.drives if works_without(train, row, name)]
        if len(train.drives) < 3 or not 0 < len(works) < len(train.drives):
            continue
        yield Case(
            (name,),
            say("ranges that work when {name} does not hold", name=name),
            say(
                "The one-way clutch {name} does not hold any more. Which ranges still work under drive? Tick all of them. (A wrong tick takes off at least what a right one earns.){caution}",
                name=name,
                caution=say(_CAUTION),
            ),
            3,
            2,
            (
                say("In which ranges is {name} the only one that holds its member?", name=name),
                say("Where another element holds the same member it is not needed."),
                say("Where it overruns it is not needed either."),
            ),
            asks=frozenset({f"works without {name}"}),
            tells=frozenset({f"state of {name}"}),
            shows=(words.CHART,),
        )


def _fail(ask: Ask) -> BuiltItem | None:
    name = ask.about[0]
    rows = [ask.train.row(row.name) for row in ask.own.drives]
    right = [row.name for row in rows if works_without(ask.train, row, name)]
    names = [row.name for row in rows]
    idle = [row.name for row in rows if row.name in right and state_of(ask.train, row, name) is OneWayState.IDLE]
    over = [row.name for row in rows if row.name in right and state_of(ask.train, row, name) is OneWayState.OVERRUNNING]
    wrongs = [
        (
            "ONERANGE",
            [row for row in right if row not in idle],
            say("In some ranges another element holds the same member: is the clutch needed there?"),
        ),
        ("OWC", [row for row in right if row not in over], say("Where it overruns, is it needed?")),
        ("TURNED", [row for row in names if row not in right], say("Those are the ranges that are lost.")),
    ]
    return several(ask, names, right, wrongs)


def _turned(train: Train) -> Iterator[Case]:
    for name in train.one_ways:
        binds = binding(train, name)
        if len(train.drives) < 3 or not 0 < len(binds) < len(train.drives):
            continue
        yield Case(
            (name,),
            say("ranges that bind when {name} sits the wrong way round", name=name),
            say(
                "After a rebuild the one-way clutch {name} sits the wrong way round. Which ranges bind? Tick all of them. (A wrong tick takes off at least what a right one earns.){caution}",
                name=name,
                caution=say(_CAUTION),
            ),
            3,
            3,
            (
                say(
                    "The wrong way round {name} stops its member from turning in the direction in which it ran free before.",
                    name=name,
                ),
                say("Find the ranges in which the member turns that way."),
                say("Where it only fails to hold, nothing binds."),
            ),
            asks=frozenset({f"turned {name}"}),
            shows=(words.CHART,),
        )


def binding(train: Train, name: str) -> list[str]:
    """Return the ranges that bind when a one-way clutch sits the wrong way round.

    Args:
        train: the train.
        name: the clutch.
    """
    fault = ElementFault(name, FaultMode.REVERSED)
    return [row.name for row in train.drives if with_faults(train.layout, row.name, [fault]).verdict.locked]


def _turn(ask: Ask) -> BuiltItem | None:
    name = ask.about[0]
    right = binding(ask.train, name)
    names = [row.name for row in ask.own.drives]
    relies = [row.name for row in ask.own.drives if name in row.engaged]
    wrongs = [("OWC", relies, say("There it only fails to hold. Where does its member have to turn the free way?"))]
    wrongs += [("ONERANGE", [row], say("Its member turns that way in more than one range.")) for row in right if len(right) > 1]
    return several(ask, names, right, [entry for entry in wrongs if entry[1]])


def _free(train: Train) -> Iterator[Case]:
    for name in train.one_ways:
        element = train.layout.element_named(name)
        others = [row for row in train.drives if name in row.engaged and train.torques(row) is not None]
        if not others:
            continue
        row = others[0]
        yield Case(
            (name, row.name),
            say("which way {name} has to hold in range {row}", name=name, row=row.name),
            say(
                "Suppose that nobody knew which way round the one-way clutch {name}, between {member} and {member2}, has to sit. Range {row} relies on it under drive. In which direction must {member} not turn, seen from the other side?",
                name=name,
                member=words.member(train.layout, element.between[0]),
                member2=words.member(train.layout, element.between[1]),
                row=row.name,
            ),
            3,
            3,
            (
                say("Think of {name} as taken out and of the output as held: then let the input turn forward.", name=name),
                say("Which way does the clutch's member go? That is what it has to stop."),
                say("The other way is its free direction."),
            ),
            asks=frozenset({f"free direction {name}"}),
            shows=(words.PLAIN, words.CHART),
            kind=AnswerKind.DIRECTION,
        )


def _which_way(ask: Ask) -> BuiltItem | None:
    element = ask.own.layout.element_named(ask.about[0])
    right = "reverse" if element.free_direction is FreeDirection.FORWARD else "forward"
    other = "forward" if right == "reverse" else "reverse"
    return choice(
        ask,
        ("forward", "reverse"),
        right,
        [("OWC", other, say("That is its free direction: let the input turn and see which way the member is pushed."))],
        aliases={"backward": "reverse"},
    )


FAMILIES = (
    Family("one-way", SUBJECT, 7, AnswerKind.CHOICE_GRID, _states, _state_grid),
    Family("engine-braking", SUBJECT, 7, AnswerKind.MULTIPLE_CHOICE, _brakings, _braking),
    Family("one-way-fails", SUBJECT, 12, AnswerKind.MULTIPLE_CHOICE, _fails, _fail),
    Family("overrun", SUBJECT, 7, AnswerKind.DECIMAL, _overruns, _overrun),
    Family("one-way-turned", SUBJECT, 12, AnswerKind.MULTIPLE_CHOICE, _turned, _turn),
    Family("free-direction", SUBJECT, 7, AnswerKind.DIRECTION, _free, _which_way),
)
