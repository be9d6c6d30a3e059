"""Faults: ranges that are lost, what an element stuck on does, which range really runs, how much too fast the input turns."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache, partial
from types import MappingProxyType
from typing import Any

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.words import ChoiceChecker
from gearkit.answers.layouts import hints, words
from gearkit.answers.layouts.family import Ask, Case, Family, grid, number, part_name, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve.service.faults import ElementFault, with_faults
from gearkit.text.phrases import capital, decimal
from gearkit.words.say import later, say
from gearkit.words.terms import FaultMode, Verdict

SUBJECT = later("faults")
CAUTION = later("\n\n*On a real unit follow the maker's procedure and data.*")
MODES = {later("stuck off"): FaultMode.STUCK_OFF, later("stuck on"): FaultMode.STUCK_ON}
RIGHT, FREE, BINDS, OTHER = later("right ratio"), later("runs free"), later("binds"), later("another ratio")
_SHOWS = (RIGHT, OTHER, BINDS, FREE)
_SHOW_WORDS = {
    Verdict.TIE_UP: BINDS,
    "locked": BINDS,
    "right": RIGHT,
    "same": RIGHT,
    Verdict.NEUTRAL: FREE,
    "slip": FREE,
    "other ratio": OTHER,
}
_SAYS = {
    "CMD": later("That is the range that was commanded. What do the two sensors say?"),
    "RECIP": later("You divided output by input; the chart's ratios are input over output."),
    "TURNED": later("These two have changed places: which row is the one that really runs?"),
}
TICKS = later(" Tick all of them. (A wrong tick takes off at least what a right one earns.)")
_HALF_UNIT = Tolerance(absolute=Fraction(1, 2))
_MOST_ELEMENTS = 16


def _shows(train: Train, row: Drive, fault: ElementFault) -> str:
    state = with_faults(train.layout, row.name, [fault])
    if state.verdict is Verdict.RANGE:
        return RIGHT if state.ratio == row.ratio else OTHER
    return FREE if state.verdict is Verdict.NEUTRAL else BINDS


@lru_cache(maxsize=64)
def signatures(train: Train) -> dict[tuple[str, str], tuple[str, ...]]:
    """Return every single fault of an element that is applied, with what it shows in every range that drives.

    Args:
        train: the train.
    """
    if len(train.applicable) > _MOST_ELEMENTS:
        return {}
    return {
        (name, mode): tuple(_shows(train, row, ElementFault(name, kind)) for row in train.drives)
        for name in train.applicable
        for mode, kind in MODES.items()
    }


def _lost(train: Train) -> Iterator[Case]:
    for name in train.applicable:
        shows = signatures(train).get((name, "stuck off"), ())
        lost = [row_shows for row_shows in shows if row_shows != RIGHT]
        if len(shows) < 3 or not 2 <= len(lost) < len(shows):
            continue
        yield Case(
            (name,),
            say("ranges that are lost when {name} does not apply", name=name),
            say(
                "Element {name} does not apply any more. Which ranges are lost?{ticks}{caution}",
                name=name,
                ticks=say(TICKS),
                caution=say(CAUTION),
            ),
            2,
            1,
            (
                say("Find the column of {name} in the chart.", name=name),
                say("A range with a mark in that column may need it."),
                say("Ask of each of these: does what is left over still make the same range?"),
            ),
            asks=frozenset({f"lost {name}"}),
            shows=(words.CHART,),
        )


def _lost_ranges(ask: Ask) -> BuiltItem | None:
    name = ask.about[0]
    rows = [row.name for row in ask.train.drives]
    shows_by_row = signatures(ask.train)[name, "stuck off"]
    lost = [row for row, shows in zip(rows, shows_by_row, strict=True) if shows != RIGHT]
    wrongs = [("ONERANGE", [row], "") for row in lost] + [
        (
            "TURNED",
            [row for row in rows if row not in lost],
            say("You ticked the ranges that do without the element; lost are those that need it."),
        )
    ]
    return several(ask, rows, lost, wrongs)


def _stuck(train: Train) -> Iterator[Case]:
    for name in train.applicable:
        shows = signatures(train).get((name, "stuck on"), ())
        if len(shows) < 3 or len(set(shows)) < 2:
            continue
        yield Case(
            (name,),
            say("what each range does when {name} is stuck on", name=name),
            say(
                "Element {name} is stuck on. What does each commanded range give: the right ratio, another ratio, does the transmission bind, or does it run free?{caution}",
                name=name,
                caution=say(CAUTION),
            ),
            (len(shows) + 1) // 2,
            2,
            (
                say("Add {name} to each row of the chart.", name=name),
                say("If it was in the row already, nothing changes."),
                say("If it disagrees with the others, nothing can turn; if it agrees, nothing happens."),
            ),
            asks=frozenset({f"stuck {name}"}),
            shows=(words.CHART,),
        )


def _stuck_grid(ask: Ask) -> BuiltItem | None:
    name = ask.about[0]
    rows, forms = [], []
    for place, (row, shows) in enumerate(zip(ask.train.drives, signatures(ask.train)[name, "stuck on"], strict=True), start=1):
        part = part_name("range", row.name, place)
        rows.append((part, say("range {row}", row=row.name), shows))
        if shows == BINDS:
            forms.append(
                WrongForm(
                    "SLIPTIE",
                    {part: OTHER},
                    say("An extra element that disagrees does not give another ratio: what happens to the train?"),
                )
            )
        elif shows == RIGHT and name not in row.engaged:
            forms.append(
                WrongForm("COUNT", {part: BINDS}, say("One element more is applied there, but does it say anything different?"))
            )
        elif shows == RIGHT:
            forms.append(
                WrongForm(
                    "SLIPTIE",
                    {part: BINDS},
                    say("{name} is applied there anyway: what does it change that it stays on?", name=name),
                )
            )
        else:
            forms.append(
                WrongForm("SLIPTIE", {part: BINDS}, say("Does the extra element really disagree with the others there?"))
            )
    return grid(ask, rows, _SHOWS, forms, aliases=_SHOW_WORDS)


def _pairs(train: Train) -> list[tuple[Drive, Drive]]:
    """Ranges of which one may run in place of the other because one element is missing and another is on."""
    return [
        (first, two)
        for first in train.forward
        for two in train.forward
        if first is not two and len(set(first.engaged) - set(two.engaged)) == 1 == len(set(two.engaged) - set(first.engaged))
    ]


def _actuals(train: Train) -> Iterator[Case]:
    if train.one_ways or len(_pairs(train)) < 2 or len(train.forward) < 3:
        return
    yield Case(
        (),
        say("range that really runs"),
        say(
            "Range <commanded> is commanded. The sensors read <n> r/min at the input and <o> r/min at the output. In which range does the transmission really run, which element is missing, and which one is applied in its place?{caution}",
            caution=say(CAUTION),
        ),
        5,
        2,
        (
            say("Divide the input speed by the output speed."),
            say("Find that ratio among the ranges (within one percent)."),
            say("Compare its row with the commanded one."),
        ),
        {"n": ("1200", "3000", "100")},
        asks=frozenset({"range that runs"}),
        shows=(words.CHART_WITH_RATIOS,),
    )


def _actual(ask: Ask) -> BuiltItem | None:
    commanded, actual = (ask.train.row(row.name) for row in ask.seeded.pick(_pairs(ask.own)))
    letters = tuple(element.name for element in ask.own.layout.elements)
    return really_runs_item(ask, commanded, actual, ask.train.forward, letters)


def really_runs_item(
    ask: Ask,
    commanded: Drive,
    actual: Drive,
    rows: Sequence[Drive],
    letters: tuple[str, ...],
    says: Mapping[str, str] = MappingProxyType(_SAYS),
) -> BuiltItem:
    """Return the built item of two readings that tell which range really runs, and what is missing and what is on in its place.

    Args:
        ask: the question.
        commanded: the range that is asked for.
        actual: the one that runs.
        rows: the ranges to choose from.
        letters: the elements to choose from.
        says: what is said of each mistake; one that is not named has no sentence.
    """
    speed = ask.drawn.values["n"]
    output = Fraction(round(10 * speed / actual.ratio), 10)
    names = tuple(row.name for row in rows)
    (missing,), (extra,) = set(commanded.engaged) - set(actual.engaged), set(actual.engaged) - set(commanded.engaged)
    checkers: dict[str, Checker] = {
        "actual": ChoiceChecker(Choices(names), actual.name),
        "missing": ChoiceChecker(Choices(letters), missing),
        "extra": ChoiceChecker(Choices(letters), extra),
    }
    wrong: dict[str, dict[str, str]] = {
        "CMD": {"actual": commanded.name},
        "RECIP": {"actual": min(rows, key=lambda row: abs(row.ratio - output / speed)).name},
        "TURNED": {"missing": extra, "extra": missing},
    }
    forms = tuple(
        WrongForm(code, wrong[code], sentence, together=code == "TURNED")
        for code, sentence in says.items()
        if wrong[code].get("actual") != actual.name
    )
    parts = (
        Part("actual", say("range that really runs"), AnswerKind.CHOICE, "", names, Fraction(2)),
        Part("missing", say("element that is missing"), AnswerKind.CHOICE, "", letters, Fraction(3, 2)),
        Part("extra", say("element applied in its place"), AnswerKind.CHOICE, "", letters, Fraction(3, 2)),
    )
    follows = {name: partial(_exchanged, rows, commanded, name == "extra") for name in ("missing", "extra")}
    return BuiltItem(parts, Key(checkers, forms, follows=follows), {"commanded": commanded.name, "o": decimal(output, 1)})


def _exchanged(rows: Sequence[Drive], commanded: Drive, comes: bool, given: Mapping[str, Any]) -> str | None:
    """The one element that comes in, or goes, between the commanded range and the one that a learner takes for real."""
    before = set(commanded.engaged)
    actual = next((set(row.engaged) for row in rows if row.name == given.get("actual")), before)
    changed = actual - before if comes else before - actual
    return next(iter(changed)) if len(changed) == 1 else None


def _slips(train: Train) -> Iterator[Case]:
    for row in train.forward:
        if row.ratio == 1:
            continue
        hard = hints.difficulty(train, row)
        yield Case(
            (row.name,),
            say("how much too fast in range {row}", row=row.name),
            say(
                "{up} is commanded. The input turns at <n> r/min, the output at <o> r/min. By how much does the input turn too fast, in percent of its speed?",
                up=capital(words.range_words(train.layout, row)),
            ),
            {1: 4, 2: 5, 3: 6}[hard],
            hard,
            (
                say("First the ratio. {holds}", holds=hints.holds(train, row)),
                say("If the range held, the input would turn at ratio times output speed."),
                say("Take that from the speed at which it really turns; divide by that speed, times 100."),
            ),
            {"n": ("1500", "3000", "50")},
            asks=frozenset({f"percent {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=_HALF_UNIT,
            unit="percent",
        )


def _percent(ask: Ask) -> BuiltItem | None:
    name, n = ask.about[0], ask.drawn.values["n"]
    share = Fraction(5 + ask.seeded.below(21), 100)
    output = Fraction(round(10 * n * (1 - share) / ask.train.row(name).ratio), 10)

    def slip(ratio: Fraction) -> Fraction:
        return 100 * (n - ratio * output) / n

    def of(change: Callable[[Fraction], Fraction]) -> Callable[[Train], Fraction]:
        return lambda train: change(train.row(name).ratio)

    mistakes = [
        Wrong(
            "RECIP",
            of(lambda i: 100 * (n - i * output) / (i * output)),
            say("You took the share of the output's side; asked for is that of the input."),
        ),
        Wrong(
            "SLIPABS",
            of(lambda i: n - i * output),
            say("That is how much too fast it is in r/min; asked for is its share of the input speed."),
        ),
        Wrong(
            "CMD",
            lambda train: Fraction(0),
            say("If the range held, the input would turn at ratio times output: do the readings say so?"),
        ),
    ]

    def in_range(other: str) -> Callable[[Train], Fraction]:
        return lambda train: slip(train.row(other).ratio)

    mistakes += [
        Wrong("OTHERRANGE", in_range(other.name), say("That is worked out with the ratio of range {other}.", other=other.name))
        for other in ask.own.forward
        if other.name != name
    ][:2]
    return number(ask, of(slip), mistakes, words={"o": decimal(output, 1)})


FAMILIES = (
    Family("lost", SUBJECT, 12, AnswerKind.MULTIPLE_CHOICE, _lost, _lost_ranges),
    Family("stuck-on", SUBJECT, 12, AnswerKind.CLASSIFICATION_GRID, _stuck, _stuck_grid),
    Family("really-runs", SUBJECT, 12, AnswerKind.DIAGNOSIS, _actuals, _actual),
    Family("slip-percent", SUBJECT, 12, AnswerKind.DECIMAL, _slips, _percent),
)
