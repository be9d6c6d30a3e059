"""Shifts: what lets go and what takes hold, engine speed, overlap and gap, single and double swaps."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import combinations

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.families.shift_moments import exchange, moment, moments, upshifts
from gearkit.answers.item import AnswerKind
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.layouts import hints, words
from gearkit.answers.layouts.family import Ask, Case, Family, choice, number, part_name, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve.service.shifts import ways_round
from gearkit.words.say import later, say

SUBJECT = later("shifting")
_HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
_NOTHING = later("nothing")
_KINDS = (
    later("single swap"),
    later("double swap"),
    later("one element applied"),
    later("one element released"),
    later("another change"),
)
_ASKED = 6


def _swaps(train: Train) -> Iterator[Case]:
    shifts = [pair for pair in upshifts(train) if _small(train, *pair)]
    if len(shifts) < 2:
        return
    yield Case(
        (),
        say("what lets go and what takes hold"),
        say(
            "Name for each of these shifts the element that is released and the one that is applied; write {nothing} where none is.",
            nothing=say(_NOTHING),
        ),
        len(shifts),
        1,
        (
            say("Write the two rows of a shift one under the other."),
            say("What stands in the upper row only is released, what stands in the lower row only is applied."),
            say("Nobody applies or releases a one-way clutch."),
        ),
        asks=frozenset({"swaps"}),
        shows=(words.CHART,),
    )


def _small(train: Train, low: Drive, high: Drive) -> bool:
    off, on = exchange(train, low.name, high.name)
    return len(off) <= 1 and len(on) <= 1


def _swap_grid(ask: Ask) -> BuiltItem | None:
    names = (*ask.own.applicable, _NOTHING)
    choices = Choices(names, aliases={"none": _NOTHING})
    parts: list[Part] = []
    checkers: dict[str, Checker] = {}
    forms = []
    shifts = [pair for pair in upshifts(ask.own) if _small(ask.own, *pair)]
    for place, (low, high) in enumerate(shifts, start=1):
        off, on = ((elements or (_NOTHING,))[0] for elements in exchange(ask.own, low.name, high.name))
        shift = f"{part_name('', low.name, place)}{part_name('', high.name, place)}"
        for start, told, element in (("off", say("released"), off), ("on", say("applied"), on)):
            part = f"{start}{shift}"
            parts.append(
                Part(
                    part,
                    say("{low} to {high}, {told}", low=low.name, high=high.name, told=told),
                    AnswerKind.CHOICE,
                    "",
                    names,
                    Fraction(1, 2),
                )
            )
            checkers[part] = ChoiceChecker(choices, element)
        if off != on:
            forms.append(
                WrongForm(
                    "TURNED",
                    {f"off{shift}": on, f"on{shift}": off},
                    say("These two have changed places: which row is the range that is left?"),
                    together=True,
                )
            )
    whole = {name: content for form in forms for name, content in form.contents.items()}
    if len(forms) > 1:
        forms.append(WrongForm("TURNED", whole, forms[0].sentence, together=True))
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms)))


def _doubles(train: Train) -> Iterator[Case]:
    shifts = all_shifts(train)
    double = [shift for shift, is_double in shifts.items() if is_double]
    if len(shifts) < _ASKED or not double or len(double) == len(shifts) or train.one_ways:
        return
    yield Case(
        (),
        say("double swaps"),
        say(
            "Which of these six shifts are double swaps (two elements are released and two are applied)? Tick all of them; write none if there are none. (A wrong tick takes off at least what a right one earns; one mark is for a faultless answer.)\n\n<list>"
        ),
        4,
        2,
        (
            say("Write the two rows of a shift one under the other."),
            say("Count what stands in one row only."),
            say("Two in each row that the other does not have: a double swap."),
        ),
        asks=frozenset({"double swaps"}),
        shows=(words.CHART,),
    )


def all_shifts(train: Train) -> dict[str, bool]:
    """Return every shift up between forward ranges, and whether it is a double swap.

    Args:
        train: the train.
    """
    doubles = {}
    for low, high in combinations(train.forward, 2):
        off, on = exchange(train, low.name, high.name)
        doubles[say("{low} to {high}", low=low.name, high=high.name)] = len(off) == len(on) == 2
    return doubles


def _double(ask: Ask) -> BuiltItem | None:
    shifts = all_shifts(ask.own)
    chosen = tuple(name for name in shifts if name in ask.seeded.sample(tuple(shifts), _ASKED))
    places = {row.name: place for place, row in enumerate(ask.own.forward)}
    right = frozenset(name for name in chosen if shifts[name])
    far = {
        say("{low} to {high}", low=low.name, high=high.name)
        for low, high in combinations(ask.own.forward, 2)
        if places[high.name] - places[low.name] > 1
    }
    skips = frozenset(name for name in chosen if name in far)
    if not right or skips == right or len(right) == len(chosen):
        return None
    choices = Choices(chosen, letters=True)
    part = Part("answer", "", AnswerKind.MULTIPLE_CHOICE, "", choices.options, Fraction(ask.item.marks))
    forms = (
        (
            WrongForm(
                "COUNT",
                {"answer": skips},
                say("Not every skip shift is a double swap: count the elements that the two rows do not share."),
            ),
        )
        if skips
        else ()
    )
    key = Key({"answer": SeveralChecker(choices, (right,), clean=Fraction(1, 4))}, forms)
    return BuiltItem((part,), key, {"list": labelled(choices.options)})


def _speed_cases(train: Train) -> Iterator[Case]:
    for low, high in upshifts(train):
        hard = max(hints.difficulty(train, row) if row.ratio != 1 else 1 for row in (low, high))
        yield Case(
            (low.name, high.name),
            say("engine speed after the shift {low} to {high}", low=low.name, high=high.name),
            say(
                "Under drive the shift goes from {range} to {range2}, the input at <n> r/min before it. The road speed does not change. How fast does the input turn after the shift (r/min)?",
                range=words.range_words(train.layout, low),
                range2=words.range_words(train.layout, high),
            ),
            {1: 3, 2: 4, 3: 6}[hard],
            hard,
            (
                say("The output keeps its speed."),
                say("Before the shift it turns at n over the old ratio."),
                say("After the shift the input turns at the new ratio times that."),
            ),
            {"n": ("1500", "4500", "100")},
            asks=frozenset({f"speed after {low.name} {high.name}"}),
            tells=frozenset({f"chart {low.name}", f"chart {high.name}"}),
            tolerance=_HALF_PERCENT,
            unit="r/min",
        )


def _after(ask: Ask) -> BuiltItem | None:
    low, high = ask.about

    def ratio(train: Train, name: str) -> Fraction:
        return train.row(name).ratio

    mistakes = (
        Wrong("UPSHIFT", lambda train: ratio(train, low) / ratio(train, high)),
        Wrong("LOCKFREE", lambda train: 1 / ratio(train, low), say("That is the speed of the output.")),
        Wrong(
            "DIFF",
            lambda train: 1 - (ratio(train, low) - ratio(train, high)) / ratio(train, low) / ratio(train, high),
            say("You took off a difference: speeds go with the quotient of the ratios."),
        ),
        Wrong(
            "OTHERRANGE",
            lambda train: ratio(train, high),
            say("You let the output turn as fast as the input in range {low}.", low=low),
        ),
        *(
            Wrong("OTHERRANGE", _to(low, other.name), say("That would be after a shift to range {other}.", other=other.name))
            for other in ask.own.forward
            if other.name not in (low, high)
        ),
    )
    return number(ask, _to(low, high), mistakes, ask.drawn.values["n"])


def _to(low: str, high: str) -> Callable[[Train], Fraction]:
    return lambda train: train.row(high).ratio / train.row(low).ratio


def _kinds(train: Train) -> Iterator[Case]:
    if train.one_ways or len(train.forward) < 3:
        return
    kinds = {_kind(train, low.name, high.name) for low, high in combinations(train.drives, 2)}
    if len(kinds) < 2:
        return
    yield Case(
        (),
        say("kind of a shift"),
        say("What kind of change is the shift from range <low> to range <high>?"),
        1,
        1,
        (
            say("Write the two rows one under the other."),
            say("Count what stands in the upper row only, then what stands in the lower only."),
            say("One each: a single swap. Two each: a double swap."),
        ),
        asks=frozenset({"kind of shift"}),
        shows=(words.CHART,),
    )


def _kind(train: Train, low: str, high: str) -> str:
    off, on = map(len, exchange(train, low, high))
    known = {(1, 1): 0, (2, 2): 1, (0, 1): 2, (1, 0): 3}
    return _KINDS[known.get((off, on), 4)]


def _shift_kind(ask: Ask) -> BuiltItem | None:
    by_kind: dict[str, list[tuple[str, str]]] = {}
    for drive in ask.own.drives:
        for two in ask.own.drives:
            if drive.name != two.name:
                by_kind.setdefault(_kind(ask.own, drive.name, two.name), []).append((drive.name, two.name))
    kind = ask.seeded.pick(list(by_kind))
    low, high = ask.seeded.pick(by_kind[kind])
    other = _KINDS[1] if kind == _KINDS[0] else _KINDS[0]
    return choice(
        ask,
        _KINDS,
        kind,
        [("COUNT", other, say("Count again what stands in one of the two rows only."))],
        words={"low": low, "high": high},
    )


def _ways(train: Train) -> Iterator[Case]:
    if train.one_ways:
        return
    for low, high in combinations(train.forward, 2):
        if _kind(train, low.name, high.name) != _KINDS[1]:
            continue
        ways = ways_round(train.layout, low.name, high.name)
        if ways and len(train.forward) > 3:
            yield Case(
                (low.name, high.name),
                say("ways round the double swap {low} to {high}", low=low.name, high=high.name),
                say(
                    "The shift from range {low} to range {high} is a double swap. By way of which other forward ranges can it be made in two shifts that change one element each time? Tick all of them. (A wrong tick takes off at least what a right one earns.)",
                    low=low.name,
                    high=high.name,
                ),
                3,
                2,
                (
                    say("Look for ranges that share an element with the first range."),
                    say("From there to the last range again only one element may change."),
                    say("Try every other forward range."),
                ),
                asks=frozenset({f"ways {low.name} {high.name}"}),
                tells=frozenset({"double swaps", "kind of shift"}),
                shows=(words.CHART,),
            )


def _way(ask: Ask) -> BuiltItem | None:
    low, high = ask.about
    right = set(ways_round(ask.own.layout, low, high))
    names = [row.name for row in ask.own.forward if row.name not in (low, high)]
    places = [row.name for row in ask.own.forward]
    first, last = sorted((places.index(low), places.index(high)))
    between = [name for name in places[first + 1 : last] if name in names]
    half = [name for name in names if _kind(ask.own, low, name) in (_KINDS[0], _KINDS[2], _KINDS[3])]
    wrong = [
        ("ONERANGE", between, say("That a range lies between the two does not make it a way round: compare the rows.")),
        ("LEFTOUT", half, say("The first of the two shifts is fine; look at the second.")),
    ]
    return several(ask, names, [name for name in names if name in right], [entry for entry in wrong if entry[1]])


FAMILIES = (
    Family("kind-of-shift", SUBJECT, 11, AnswerKind.CHOICE, _kinds, _shift_kind),
    Family("swaps", SUBJECT, 11, AnswerKind.CHOICE_GRID, _swaps, _swap_grid),
    Family("double-swaps", SUBJECT, 11, AnswerKind.MULTIPLE_CHOICE, _doubles, _double),
    Family("overlap", SUBJECT, 11, AnswerKind.CHOICE, moments(True), moment(True)),
    Family("gap", SUBJECT, 11, AnswerKind.CHOICE, moments(False), moment(False)),
    Family("way-round", SUBJECT, 11, AnswerKind.MULTIPLE_CHOICE, _ways, _way),
    Family("speed-after", SUBJECT, 11, AnswerKind.DECIMAL, _speed_cases, _after),
)
