"""Steps between ranges, spread, equal steps, steps in order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import pairwise
from typing import Any

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.comparison.exact import root
from gearkit.answers.item import ONE_PART, AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import OrderChecker
from gearkit.answers.layouts import hints, words
from gearkit.answers.layouts.family import Ask, Case, Family, number
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.text.phrases import capital
from gearkit.words.say import later, say

SUBJECT = later("steps")
_HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
_APART = Fraction(103, 100)
_MOST_ORDERED = 4
_LEAST_STEP = Fraction(103, 100)


def _pairs(train: Train) -> list[tuple[Drive, Drive]]:
    return [(low, high) for low, high in pairwise(train.forward) if low.ratio / high.ratio > _LEAST_STEP]


def _step_cases(train: Train) -> Iterator[Case]:
    for low, high in _pairs(train):
        hard = max(hints.difficulty(train, row) if row.ratio != 1 else 1 for row in (low, high))
        yield Case(
            (low.name, high.name),
            say("step from range {low} to range {high}", low=low.name, high=high.name),
            say(
                "How large is the step from {range} to {range2}?",
                range=words.range_words(train.layout, low),
                range2=words.range_words(train.layout, high),
            ),
            {1: 3, 2: 4, 3: 6}[hard],
            hard,
            (
                say("A step is a quotient of two ratios: it tells by which factor the engine speed drops."),
                say("Work out both ratios; one over the output's speed, the input turning once."),
                say("The lower range's ratio stands on top, so a step is above 1."),
            ),
            asks=frozenset({f"step {low.name} {high.name}"}) | train.as_ratio(low.ratio / high.ratio),
            tells=frozenset({f"chart {low.name}", f"chart {high.name}"}),
            tolerance=_HALF_PERCENT,
        )


def _step(ask: Ask) -> BuiltItem | None:
    low, high = ask.about

    def of(change: Any) -> Any:
        return lambda train: change(train.row(low).ratio, train.row(high).ratio)

    mistakes = [
        Wrong("DIFF", of(lambda a, b: a - b)),
        Wrong(
            "RECIP", of(lambda a, b: b / a), say("A step is the lower range's ratio over the higher one's, so it is above 1.")
        ),
        Wrong("OTHERRANGE", of(lambda a, b: a), say("That is the ratio of range {low} alone.", low=low)),
        Wrong("OTHERRANGE", of(lambda a, b: b), say("That is the ratio of range {high} alone.", high=high)),
    ]
    mistakes += [
        Wrong(
            "OTHERRANGE",
            _quotient(first.name, two.name),
            say("That is the step from range {one_} to range {two}.", one_=first.name, two=two.name),
        )
        for first, two in _pairs(ask.own)
        if (first.name, two.name) != (low, high)
    ]
    return number(ask, _quotient(low, high), mistakes)


def _quotient(low: str, high: str) -> Any:
    return lambda train: train.row(low).ratio / train.row(high).ratio


def _spreads(train: Train) -> Iterator[Case]:
    if len(train.forward) < 3:
        return
    low, high = train.forward[0], train.forward[-1]
    hard = max(hints.difficulty(train, row) if row.ratio != 1 else 1 for row in (low, high))
    told = say(
        "{range} has the largest forward ratio, {range2} the smallest",
        range=words.range_words(train.layout, low),
        range2=words.range_words(train.layout, high),
    )
    tells = frozenset({f"chart {low.name}", f"chart {high.name}"})
    yield Case(
        (),
        say("spread"),
        say("{up}. How large is the spread of this transmission?", up=capital(told)),
        {1: 3, 2: 4, 3: 6}[hard],
        hard,
        (
            say("The spread is the largest forward ratio over the smallest."),
            say("Work out both ratios."),
            say("Divide one by the other; the spread is above 1."),
        ),
        asks=frozenset({"spread"}) | train.as_ratio(low.ratio / high.ratio),
        tells=tells,
        tolerance=_HALF_PERCENT,
    )
    yield Case(
        ("equal",),
        say("equal steps"),
        say(
            "{up}; there are {forward} forward ranges. If all steps were equal, how large would each be?",
            up=capital(told),
            forward=len(train.forward),
        ),
        {1: 4, 2: 5, 3: 6}[hard],
        hard,
        (
            say("All steps multiplied together make the spread."),
            say("There is one step fewer than there are ranges."),
            say("Take that root of the spread."),
        ),
        asks=frozenset({"equal step"}),
        tells=tells,
        tolerance=_HALF_PERCENT,
    )


def _spread(ask: Ask) -> BuiltItem | None:
    low, high, count = ask.own.forward[0].name, ask.own.forward[-1].name, len(ask.own.forward)
    spread = _quotient(low, high)

    def lowest(train: Train) -> Fraction:
        return train.row(low).ratio

    def difference(train: Train) -> Fraction:
        return train.row(low).ratio - train.row(high).ratio

    if not ask.about:
        return number(
            ask,
            spread,
            (
                Wrong("DIFF", difference),
                Wrong("RECIP", lambda train: 1 / spread(train), say("A spread is first over top, so it is above 1.")),
                Wrong("OTHERRANGE", lowest, say("That is the ratio of range {low} alone.", low=low)),
                Wrong(
                    "LEFTOUT",
                    lambda train: train.row(low).ratio / train.row(ask.own.forward[-2].name).ratio,
                    say("You divided by the ratio of range {name}; there is a smaller one.", name=ask.own.forward[-2].name),
                ),
            ),
        )
    return number(
        ask,
        lambda train: root(spread(train), count - 1),
        (
            Wrong("COUNT", lambda train: root(spread(train), count), say("Between how many ranges lie how many steps?")),
            Wrong("LINEAR", lambda train: spread(train) / (count - 1)),
            Wrong(
                "DIFF",
                lambda train: difference(train) / (count - 1),
                say("Equal differences do not feel equal: the steps have to multiply up to the spread."),
            ),
            Wrong(
                "OTHERRANGE",
                lambda train: root(lowest(train), count - 1),
                say("That takes range {low} alone; the top range counts too.", low=low),
            ),
        ),
    )


def _orders(train: Train) -> Iterator[Case]:
    count = min(_MOST_ORDERED, len(_pairs(train)))
    if count < 3:
        return
    rows = _pairs(train)
    yield Case(
        (),
        say("steps in order"),
        say(
            "Put these steps between neighbouring forward ranges in order, the largest first. Answer with the letters.\n\n<list>"
        ),
        count,
        2,
        (
            say("A step is a quotient of two ratios that follow one another."),
            say("Divide each by the next."),
            say("Differences of ratios say nothing about steps."),
        ),
        asks=frozenset({"order of steps"}),
        tells=frozenset({"spread", "equal step", *(f"step {first.name} {two.name}" for first, two in rows)}),
        shows=(words.CHART_WITH_RATIOS,),
    )


def _order(ask: Ask) -> BuiltItem | None:
    rows = [(ask.train.row(first.name), ask.train.row(two.name)) for first, two in _pairs(ask.own)]
    rows = list(ask.seeded.sample(rows, min(_MOST_ORDERED, len(rows))))
    steps = {
        say("from range {one_} to range {two}", one_=first.name, two=two.name): first.ratio / two.ratio for first, two in rows
    }
    falls = {
        say("from range {one_} to range {two}", one_=first.name, two=two.name): first.ratio - two.ratio for first, two in rows
    }
    order, wrong = ordered(steps), ordered(falls)
    if order is None or len(steps) != len(rows):
        return None
    choices = Choices(tuple(steps), letters=True)
    part = Part(ONE_PART, "", AnswerKind.ORDERING, "", choices.options, Fraction(ask.item.marks))
    forms = (
        (WrongForm("DIFF", {ONE_PART: wrong}, say("You put the differences of the ratios in order; a step is a quotient.")),)
        if wrong is not None and wrong != order
        else ()
    )
    key = Key({ONE_PART: OrderChecker(choices, order, ask.item.marks)}, forms)
    return BuiltItem((part,), key, {"list": labelled(choices.options)})


def ordered(sizes: Mapping[str, Fraction]) -> tuple[str, ...] | None:
    """Return names by size, largest first; None where two are too near to be told apart.

    Args:
        sizes: name -> size.
    """
    order = tuple(sorted(sizes, key=sizes.__getitem__, reverse=True))
    return None if any(sizes[a] < sizes[b] * _APART for a, b in pairwise(order)) else order


FAMILIES = (
    Family("step", SUBJECT, 10, AnswerKind.DECIMAL, _step_cases, _step),
    Family("spread", SUBJECT, 10, AnswerKind.DECIMAL, _spreads, _spread),
    Family("step-order", SUBJECT, 10, AnswerKind.ORDERING, _orders, _order),
)
