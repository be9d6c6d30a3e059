"""Ranges on the road: road speed, engine speed, tractive effort, grade."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.comparison.exact import PI
from gearkit.answers.item import AnswerKind
from gearkit.answers.layouts import hints, words
from gearkit.answers.layouts.family import Ask, Case, Family, number
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.words.say import later, say

SUBJECT = later("road")
_ONE_PERCENT = Tolerance(relative=Fraction(1, 100))
_VEHICLE = {"f": ("2.8", "5.2", "0.1"), "r": ("0.28", "0.42", "0.01")}
_TOLD = later("Final drive <f>, rolling radius <r> m, nothing slips. ")
_BACKWARD = later(" (The vehicle goes backward: the size will do, without a sign.)")
_MARKS = {1: 3, 2: 4, 3: 6}
_GRAVITY = Fraction(981, 100)
# Only ranges that pull are asked for the grade that they hold.
_PULLS = Fraction(3, 2)
Number = Callable[[Fraction], Fraction]


def _rows(train: Train) -> tuple[Drive, ...]:
    """The forward ranges whose ratio counts for something, and the first reverse."""
    return (*(row for row in train.forward if row.ratio != 1), *train.reverse[:1])


def _case(
    train: Train,
    row: Drive,
    title: str,
    question: str,
    numbers: dict[str, tuple[str, str, str]],
    fact: str,
    unit: str,
    last: tuple[str, str],
) -> Case:
    hard = hints.difficulty(train, row)
    return Case(
        (row.name,),
        say("{title} in range {row}", title=title, row=row.name),
        question.format(range=words.range_words(train.layout, row)) + (say(_BACKWARD) if row.ratio < 0 else ""),
        _MARKS[hard],
        hard,
        (say("First the ratio. {holds}", holds=hints.holds(train, row)), *last),
        {**_VEHICLE, **numbers},
        asks=frozenset({f"{fact} {row.name}"}),
        tells=frozenset({f"chart {row.name}"}),
        tolerance=_ONE_PERCENT,
        unit=unit,
        pi=True,
        size_only=row.ratio < 0,
    )


def _speeds(train: Train) -> Iterator[Case]:
    for row in _rows(train):
        yield _case(
            train,
            row,
            say("road speed"),
            say(_TOLD) + say("The engine turns at <n> r/min in {range}. What is the road speed in km/h?"),
            {"n": ("800", "2000", "100") if row.ratio < 0 else ("1000", "3500", "100")},
            say("road speed"),
            "km/h",
            (
                say("The wheel turns at n over ratio and final drive; each turn takes it 2 pi r metres on."),
                say("Sixty minutes to the hour, a thousand metres to the kilometre."),
            ),
        )


def _engines(train: Train) -> Iterator[Case]:
    for row in _rows(train):
        yield _case(
            train,
            row,
            say("engine speed"),
            say(_TOLD) + say("The vehicle runs at <v> km/h in {range}. How fast does the engine turn (r/min)?"),
            {"v": ("4", "15", "1") if row.ratio < 0 else ("20", "100", "5")},
            say("engine speed"),
            "r/min",
            (
                say("Metres per minute over 2 pi r are the turns of the wheel."),
                say("Final drive and ratio multiply them up to the engine."),
            ),
        )


def _efforts(train: Train) -> Iterator[Case]:
    for row in _rows(train):
        yield _case(
            train,
            row,
            say("tractive effort"),
            say(
                "Final drive <f>, rolling radius <r> m. The engine puts <T> N·m on the input in {range}; the efficiency of the whole driveline is <e>. How large is the tractive effort, in N?"
            ),
            {"T": ("100", "400", "10"), "e": ("0.86", "0.94", "0.01")},
            "effort",
            "N",
            (
                say("Ratio, final drive and efficiency multiply the engine's torque up to the wheels."),
                say("A force is torque over radius."),
            ),
        )


def _grades(train: Train) -> Iterator[Case]:
    pulls = [row for row in _rows(train) if abs(row.ratio) > _PULLS]
    for row in (*pulls[:2], *(row for row in pulls[2:] if row.ratio < 0)):
        yield _case(
            train,
            row,
            say("grade"),
            say(
                "A vehicle of <m> kg: final drive <f>, rolling radius <r> m, <T> N·m on the input in {range}, efficiency of the driveline <e>. Rolling resistance takes <c> of the weight. Which grade, in percent, can it hold at a steady crawl (take the rise over the way along the road, and g = 9.81 m/s²)?"
            ),
            {
                "T": ("100", "200", "10"),
                "e": ("0.86", "0.94", "0.01"),
                "m": ("2500", "5000", "100"),
                "c": ("0.012", "0.020", "0.002"),
            },
            "grade",
            "percent",
            (
                say("First the tractive effort: torque at the wheels over the rolling radius."),
                say(
                    "The effort lifts the weight and overcomes rolling: effort over weight, less the rolling share, is the grade."
                ),
            ),
        )


def _with_ratio(ask: Ask, value: Number) -> Callable[[Train], Fraction]:
    return lambda train: value(abs(train.row(ask.about[0]).ratio))


def _others(ask: Ask, value: Number) -> list[Wrong]:
    return [
        Wrong(
            "OTHERRANGE",
            _of(other.name, value),
            say("That belongs to range {other}. Look again which elements hold in this one.", other=other.name),
        )
        for other in ask.own.forward
        if other.name != ask.about[0]
    ][:3]


def _of(name: str, value: Number) -> Callable[[Train], Fraction]:
    return lambda train: value(abs(train.row(name).ratio))


def _road_speed(ask: Ask) -> BuiltItem | None:
    n, f, r = (ask.drawn.values[name] for name in "nfr")

    def value(ratio: Fraction, drive: Fraction = f) -> Fraction:
        return 2 * PI * r * n * 60 / (1000 * ratio * drive)

    at = _with_ratio(ask, value)
    return number(
        ask,
        at,
        (
            Wrong("FD", lambda train: at(train) * f),
            Wrong("UNIT", lambda train: at(train) / Fraction(18, 5), say("That is in metres per second.")),
            Wrong(
                "RECIP", _with_ratio(ask, lambda ratio: value(1 / ratio)), say("The larger the ratio, the slower the vehicle.")
            ),
            Wrong("LEFTOUT", _with_ratio(ask, lambda ratio: value(Fraction(1))), say("The ratio of the range is missing.")),
            *_others(ask, value),
        ),
    )


def _engine_speed(ask: Ask) -> BuiltItem | None:
    v, f, r = (ask.drawn.values[name] for name in "vfr")

    def value(ratio: Fraction) -> Fraction:
        return v * 1000 * ratio * f / (60 * 2 * PI * r)

    at = _with_ratio(ask, value)
    return number(
        ask,
        at,
        (
            Wrong("FD", lambda train: at(train) / f),
            Wrong(
                "RECIP", _with_ratio(ask, lambda ratio: value(1 / ratio)), say("The larger the ratio, the faster the engine.")
            ),
            Wrong("LEFTOUT", _with_ratio(ask, lambda ratio: value(Fraction(1))), say("The ratio of the range is missing.")),
            *_others(ask, value),
        ),
    )


def _effort(ask: Ask) -> BuiltItem | None:
    torque, f, e, r = (ask.drawn.values[name] for name in "Tfer")

    def value(ratio: Fraction) -> Fraction:
        return torque * ratio * f * e / r

    at = _with_ratio(ask, value)
    return number(
        ask,
        at,
        (
            Wrong("FD", lambda train: at(train) / f),
            Wrong("TSPEED", _with_ratio(ask, lambda ratio: value(1 / ratio))),
            Wrong("LEFTOUT", lambda train: at(train) / e, say("The efficiency of the driveline is missing.")),
            Wrong("LEFTOUT", _with_ratio(ask, lambda ratio: value(Fraction(1))), say("The ratio of the range is missing.")),
            *_others(ask, value),
        ),
    )


def _grade(ask: Ask) -> BuiltItem | None:
    torque, f, e, r, m, c = (ask.drawn.values[name] for name in "Tfermc")

    def value(ratio: Fraction, drive: Fraction = f, loss: Fraction = e, rolling: Fraction = c) -> Fraction:
        return 100 * (torque * ratio * drive * loss / r / (m * _GRAVITY) - rolling)

    at = _with_ratio(ask, value)
    # More than one in two is no road, and next to nothing leaves the rolling share as all there is.
    if not 3 < at(ask.train) < 50:
        return None
    return number(
        ask,
        at,
        (
            Wrong("FD", _with_ratio(ask, lambda ratio: value(ratio, Fraction(1)))),
            Wrong(
                "LEFTOUT",
                _with_ratio(ask, lambda ratio: value(ratio, rolling=Fraction(0))),
                say("Rolling takes its share of the effort too."),
            ),
            Wrong(
                "LEFTOUT",
                _with_ratio(ask, lambda ratio: value(ratio, loss=Fraction(1))),
                say("The efficiency of the driveline is missing."),
            ),
            Wrong("TSPEED", _with_ratio(ask, lambda ratio: value(1 / ratio))),
            *_others(ask, value),
        ),
    )


FAMILIES = (
    Family("road-speed", SUBJECT, 10, AnswerKind.DECIMAL, _speeds, _road_speed),
    Family("engine-speed", SUBJECT, 10, AnswerKind.DECIMAL, _engines, _engine_speed),
    Family("effort", SUBJECT, 10, AnswerKind.DECIMAL, _efforts, _effort),
    Family("grade", SUBJECT, 10, AnswerKind.DECIMAL, _grades, _grade),
)
