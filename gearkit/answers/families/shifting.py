"""Shifts: what lets go and what takes hold, engine speed, overlap and gap, single and double swaps."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import combinations, pairwise

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.items import AnswerKind
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.layouts import hints, words
from gearkit.answers.layouts.family import Ask, Case, Family, choice, number, part_name, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve import one_way
from gearkit.solve.service.shifts import ways_round
from gearkit.text.phrases import listed
from gearkit.words.terms import Verdict

SUBJECT = "shifting"
_HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
_NOTHING = "nothing"
_KINDS = ("single swap", "double swap", "one element applied", "one element released", "another change")
_BINDS, _RUNS_UP, _OTHER = "the train binds", "the engine runs up, nothing drives", "it drives in another ratio"
_STATES = (_BINDS, _RUNS_UP, "it drives in the old or the new ratio", _OTHER)
_ASKED = 6


def _applied(train: Train, name: str) -> frozenset[str]:
    return frozenset(one for one in train.layout.engaged_in(name) if one not in train.one_ways)


def _upshifts(train: Train) -> list[tuple[Drive, Drive]]:
    return list(pairwise(train.forward))


def exchange(train: Train, low: str, high: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what lets go and what takes hold, of the elements that are applied.

    Args:
        train: the train.
        low: the range before.
        high: the range after.
    """
    before, after = _applied(train, low), _applied(train, high)
    order = train.applicable
    return tuple(one for one in order if one in before - after), tuple(one for one in order if one in after - before)


def _swaps(train: Train) -> Iterator[Case]:
    shifts = [pair for pair in _upshifts(train) if _small(train, *pair)]
    if len(shifts) < 2:
        return
    yield Case(
        (),
        "what lets go and what takes hold",
        f"Name for each of these shifts the element that is released and the one that is applied; write {_NOTHING} where none is.",
        len(shifts),
        1,
        (
            "Write the two rows of a shift one under the other.",
            "What stands in the upper row only is released, what stands in the lower row only is applied.",
            "Nobody applies or releases a one-way clutch.",
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
    shifts = [pair for pair in _upshifts(ask.own) if _small(ask.own, *pair)]
    for place, (low, high) in enumerate(shifts, start=1):
        off, on = ((one or (_NOTHING,))[0] for one in exchange(ask.own, low.name, high.name))
        shift = f"{part_name('', low.name, place)}{part_name('', high.name, place)}"
        for start, told, element in (("off", "released", off), ("on", "applied", on)):
            part = f"{start}{shift}"
            parts.append(Part(part, f"{low.name} to {high.name}, {told}", AnswerKind.CHOICE, "", names, Fraction(1, 2)))
            checkers[part] = ChoiceChecker(choices, element)
        if off != on:
            forms.append(
                WrongForm(
                    "TURNED",
                    {f"off{shift}": on, f"on{shift}": off},
                    "These two have changed places: which row is the range that is left?",
                    together=True,
                )
            )
    whole = {name: content for form in forms for name, content in form.contents.items()}
    if len(forms) > 1:
        forms.append(WrongForm("TURNED", whole, forms[0].sentence, together=True))
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms)))


def _doubles(train: Train) -> Iterator[Case]:
    shifts = all_shifts(train)
    double = [one for one, is_double in shifts.items() if is_double]
    if len(shifts) < _ASKED or not double or len(double) == len(shifts) or train.one_ways:
        return
    yield Case(
        (),
        "double swaps",
        "Which of these six shifts are double swaps (two elements are released and two are applied)? Tick all of them; write none if "
        "there are none. (A wrong tick takes off at least what a right one earns; one mark is for a faultless answer.)\n\n<list>",
        4,
        2,
        (
            "Write the two rows of a shift one under the other.",
            "Count what stands in one row only.",
            "Two in each row that the other does not have: a double swap.",
        ),
        asks=frozenset({"double swaps"}),
        shows=(words.CHART,),
    )


def all_shifts(train: Train) -> dict[str, bool]:
    """Return every shift up between forward ranges, and whether it is a double swap.

    Args:
        train: the train.
    """
    found = {}
    for low, high in combinations(train.forward, 2):
        off, on = exchange(train, low.name, high.name)
        found[f"{low.name} to {high.name}"] = len(off) == len(on) == 2
    return found


def _double(ask: Ask) -> BuiltItem | None:
    shifts = all_shifts(ask.own)
    chosen = tuple(name for name in shifts if name in ask.seeded.sample(tuple(shifts), _ASKED))
    places = {row.name: place for place, row in enumerate(ask.own.forward)}
    right = frozenset(name for name in chosen if shifts[name])
    skips = frozenset(name for name in chosen if abs(places[name.split(" to ")[0]] - places[name.split(" to ")[-1]]) > 1)
    if not right or skips == right or len(right) == len(chosen):
        return None
    choices = Choices(chosen, letters=True)
    part = Part("answer", "", AnswerKind.MULTIPLE_CHOICE, "", choices.options, Fraction(ask.item.marks))
    forms = (
        (
            WrongForm(
                "COUNT",
                {"answer": skips},
                "Not every skip shift is a double swap: count the elements that the two rows do not share.",
            ),
        )
        if skips
        else ()
    )
    key = Key({"answer": SeveralChecker(choices, (right,), clean=Fraction(1, 4))}, forms)
    return BuiltItem((part,), key, {"list": labelled(choices.options)})


def _speed_cases(train: Train) -> Iterator[Case]:
    for low, high in _upshifts(train):
        hard = max(hints.difficulty(train, row) if row.ratio != 1 else 1 for row in (low, high))
        yield Case(
            (low.name, high.name),
            f"engine speed after the shift {low.name} to {high.name}",
            f"Under drive the shift goes from {words.range_words(train.layout, low)} to {words.range_words(train.layout, high)}, the input "
            "at <n> r/min before it. The road speed does not change. How fast does the input turn after the shift (r/min)?",
            {1: 3, 2: 4, 3: 6}[hard],
            hard,
            (
                "The output keeps its speed.",
                "Before the shift it turns at n over the old ratio.",
                "After the shift the input turns at the new ratio times that.",
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
        Wrong("LOCKFREE", lambda train: 1 / ratio(train, low), "That is the speed of the output."),
        Wrong(
            "DIFF",
            lambda train: 1 - (ratio(train, low) - ratio(train, high)) / ratio(train, low) / ratio(train, high),
            "You took off a difference: speeds go with the quotient of the ratios.",
        ),
        Wrong("OTHERRANGE", lambda train: ratio(train, high), f"You let the output turn as fast as the input in range {low}."),
        *(
            Wrong("OTHERRANGE", _to(low, other.name), f"That would be after a shift to range {other.name}.")
            for other in ask.own.forward
            if other.name not in (low, high)
        ),
    )
    return number(ask, _to(low, high), mistakes, ask.facts.values["n"])


def _to(low: str, high: str) -> Callable[[Train], Fraction]:
    return lambda train: train.row(high).ratio / train.row(low).ratio


def _kinds(train: Train) -> Iterator[Case]:
    if train.one_ways or len(train.forward) < 3:
        return
    found = {_kind(train, low.name, high.name) for low, high in combinations(train.drives, 2)}
    if len(found) < 2:
        return
    yield Case(
        (),
        "kind of a shift",
        "What kind of change is the shift from range <low> to range <high>?",
        1,
        1,
        (
            "Write the two rows one under the other.",
            "Count what stands in the upper row only, then what stands in the lower only.",
            "One each: a single swap. Two each: a double swap.",
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
        [("COUNT", other, "Count again what stands in one of the two rows only.")],
        words={"low": low, "high": high},
    )


def _between(train: Train, low: str, high: str, overlap: bool) -> tuple[str, Fraction | None]:
    """What the train does while old and new elements all hold, or while neither do."""
    before, after = _applied(train, low), _applied(train, high)
    found = one_way.working(train.layout, before | after if overlap else before & after)
    if found.verdict is Verdict.RANGE:
        known = found.ratio in (train.row(low).ratio, train.row(high).ratio)
        return (_STATES[2] if known else _OTHER), found.ratio
    return (_RUNS_UP if found.verdict is Verdict.NEUTRAL else _BINDS), None


def _moments(overlap: bool) -> Callable[[Train], Iterator[Case]]:
    def cases(train: Train) -> Iterator[Case]:
        for low, high in _upshifts(train):
            off, on = exchange(train, low.name, high.name)
            if not off or not on:
                continue
            both = (
                (f"{listed((*off, *on))} all hold" if len(off) + len(on) > 2 else f"both {off[0]} and {on[0]} hold")
                if overlap
                else (
                    f"none of {listed((*off, *on))} holds" if len(off) + len(on) > 2 else f"neither {off[0]} nor {on[0]} holds"
                )
            )
            told = "overlap" if overlap else "gap"
            yield Case(
                (low.name, high.name),
                f"{told} in the shift {low.name} to {high.name}",
                f"In the shift from range {low.name} to range {high.name}, {both} for a moment while the engine drives. What happens in "
                "that moment?",
                2,
                2,
                (
                    "Write down everything that holds at that moment.",
                    "Do these elements agree about the speeds, and do they fix them?",
                    "If they disagree nothing can turn; if they say too little, input and output are independent.",
                ),
                asks=frozenset({f"{told} {low.name} {high.name}"}),
                shows=(words.CHART,),
            )

    return cases


def _moment(overlap: bool) -> Callable[[Ask], BuiltItem | None]:
    def build(ask: Ask) -> BuiltItem | None:
        low, high = ask.about
        right, _ = _between(ask.train, low, high, overlap)
        wrong = [
            (
                "SLIPTIE",
                _RUNS_UP if right == _BINDS else _BINDS,
                "Elements that disagree bind the train; where too few hold, the engine runs free. Which is it here?",
            ),
            ("COUNT", _STATES[2], "Do the elements that hold at that moment really make one of the two ranges?"),
        ]
        return choice(
            ask,
            _STATES,
            right,
            wrong,
            aliases={"binds": _BINDS, Verdict.TIE_UP: _BINDS, "flare": _RUNS_UP, "runs up": _RUNS_UP},
        )

    return build


def _ways(train: Train) -> Iterator[Case]:
    if train.one_ways:
        return
    for low, high in combinations(train.forward, 2):
        if _kind(train, low.name, high.name) != _KINDS[1]:
            continue
        found = ways_round(train.layout, low.name, high.name)
        if found and len(train.forward) > 3:
            yield Case(
                (low.name, high.name),
                f"ways round the double swap {low.name} to {high.name}",
                f"The shift from range {low.name} to range {high.name} is a double swap. By way of which other forward ranges can it be "
                "made in two shifts that change one element each time? Tick all of them. (A wrong tick takes off at least what a right "
                "one earns.)",
                3,
                2,
                (
                    "Look for ranges that share an element with the first range.",
                    "From there to the last range again only one element may change.",
                    "Try every other forward range.",
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
        ("ONERANGE", between, "That a range lies between the two does not make it a way round: compare the rows."),
        ("LEFTOUT", half, "The first of the two shifts is fine; look at the second."),
    ]
    return several(ask, names, [name for name in names if name in right], [one for one in wrong if one[1]])


FAMILIES = (
    Family("kind-of-shift", SUBJECT, 11, AnswerKind.CHOICE, _kinds, _shift_kind),
    Family("swaps", SUBJECT, 11, AnswerKind.CHOICE_GRID, _swaps, _swap_grid),
    Family("double-swaps", SUBJECT, 11, AnswerKind.MULTIPLE_CHOICE, _doubles, _double),
    Family("overlap", SUBJECT, 11, AnswerKind.CHOICE, _moments(True), _moment(True)),
    Family("gap", SUBJECT, 11, AnswerKind.CHOICE, _moments(False), _moment(False)),
    Family("way-round", SUBJECT, 11, AnswerKind.MULTIPLE_CHOICE, _ways, _way),
    Family("speed-after", SUBJECT, 11, AnswerKind.DECIMAL, _speed_cases, _after),
)
