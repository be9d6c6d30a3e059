"""Faults: ranges that are lost, what an element stuck on does, which range really runs, and which element is to blame."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import lru_cache
from itertools import combinations

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.items import AnswerKind
from gearkit.answers.judge.claims import Claim, Relation
from gearkit.answers.judge.targets import Key, Part, Target, WrongForm
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.words import ChoiceTarget
from gearkit.answers.layouts import hints, words
from gearkit.answers.layouts.family import Ask, Case, Family, choice, grid, number, part_name, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.layouts.wrong import Wrong
from gearkit.answers.rules.task import Task
from gearkit.solve.service.faults import ElementFault, with_faults
from gearkit.text.phrases import decimal, fixed, listed
from gearkit.words.terms import FaultMode, Verdict

SUBJECT = "faults"
_CAUTION = "\n\n*On a real unit follow the maker's procedure and data.*"
_MODES = {"stuck off": FaultMode.STUCK_OFF, "stuck on": FaultMode.STUCK_ON}
_MODE_WORDS = {"off": "stuck off", "does not apply": "stuck off", "on": "stuck on", "always on": "stuck on"}
RIGHT, FREE, BINDS, OTHER = "right ratio", "runs free", "binds", "another ratio"
_SHOWS = (RIGHT, OTHER, BINDS, FREE)
_SHOW_WORDS = {
    "tie-up": BINDS,
    "locked": BINDS,
    "right": RIGHT,
    "same": RIGHT,
    "neutral": FREE,
    "slip": FREE,
    "other ratio": OTHER,
}
_TICKS = " Tick all of them. (A wrong tick takes off at least what a right one earns.)"
_HALF_UNIT, _HALF_PERCENT = Tolerance(absolute=Fraction(1, 2)), Tolerance(relative=Fraction(1, 200))
_MOST_ELEMENTS = 16


def _shows(train: Train, row: Drive, fault: ElementFault) -> str:
    found = with_faults(train.layout, row.name, [fault])
    if found.verdict is Verdict.RANGE:
        return RIGHT if found.ratio == row.ratio else OTHER
    return FREE if found.verdict is Verdict.NEUTRAL else BINDS


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
        for mode, kind in _MODES.items()
    }


def _lost(train: Train) -> Iterator[Case]:
    for name in train.applicable:
        shows = signatures(train).get((name, "stuck off"), ())
        lost = [one for one in shows if one != RIGHT]
        if len(shows) < 3 or not 2 <= len(lost) < len(shows):
            continue
        yield Case(
            (name,),
            f"ranges that are lost when {name} does not apply",
            f"Element {name} does not apply any more. Which ranges are lost?{_TICKS}{_CAUTION}",
            2,
            1,
            (
                f"Find the column of {name} in the chart.",
                "A range with a mark in that column may need it.",
                "Ask of each of these: does what is left over still make the same range?",
            ),
            asks=frozenset({f"lost {name}"}),
            shows=(words.CHART,),
        )


def _lost_ranges(ask: Ask) -> Task | None:
    name = ask.about[0]
    rows = [row.name for row in ask.train.drives]
    found = signatures(ask.train)[name, "stuck off"]
    lost = [row for row, shows in zip(rows, found, strict=True) if shows != RIGHT]
    wrongs = [("ONERANGE", [row], "") for row in lost] + [
        (
            "TURNED",
            [row for row in rows if row not in lost],
            "You ticked the ranges that do without the element; lost are those that need it.",
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
            f"what each range does when {name} is stuck on",
            f"Element {name} is stuck on. What does each commanded range give: the right ratio, another ratio, does the transmission bind, or "
            f"does it run free?{_CAUTION}",
            (len(shows) + 1) // 2,
            2,
            (
                f"Add {name} to each row of the chart.",
                "If it was in the row already, nothing changes.",
                "If it disagrees with the others, nothing can turn; if it agrees, nothing happens.",
            ),
            asks=frozenset({f"stuck {name}"}),
            shows=(words.CHART,),
        )


def _stuck_grid(ask: Ask) -> Task | None:
    name = ask.about[0]
    rows, forms = [], []
    for place, (row, shows) in enumerate(zip(ask.train.drives, signatures(ask.train)[name, "stuck on"], strict=True), start=1):
        part = part_name("range", row.name, place)
        rows.append((part, f"range {row.name}", shows))
        if shows == BINDS:
            forms.append(
                WrongForm(
                    "SLIPTIE",
                    {part: OTHER},
                    "An extra element that disagrees does not give another ratio: what happens to the train?",
                )
            )
        elif shows == RIGHT and name not in row.engaged:
            forms.append(
                WrongForm("COUNT", {part: BINDS}, "One element more is applied there, but does it say anything different?")
            )
        elif shows == RIGHT:
            forms.append(
                WrongForm("SLIPTIE", {part: BINDS}, f"{name} is applied there anyway: what does it change that it stays on?")
            )
        else:
            forms.append(WrongForm("SLIPTIE", {part: BINDS}, "Does the extra element really disagree with the others there?"))
    return grid(ask, rows, _SHOWS, forms, aliases=_SHOW_WORDS)


def _pairs(train: Train) -> list[tuple[Drive, Drive]]:
    """Ranges of which one may run in place of the other because one element is missing and another is on."""
    return [
        (one, two)
        for one in train.forward
        for two in train.forward
        if one is not two and len(set(one.engaged) - set(two.engaged)) == 1 == len(set(two.engaged) - set(one.engaged))
    ]


def _actuals(train: Train) -> Iterator[Case]:
    if train.one_ways or len(_pairs(train)) < 2 or len(train.forward) < 3:
        return
    yield Case(
        (),
        "range that really runs",
        "Range <commanded> is commanded. The sensors read <n> r/min at the input and <o> r/min at the output. In which range does the "
        f"transmission really run, which element is missing, and which one is applied in its place?{_CAUTION}",
        5,
        2,
        (
            "Divide the input speed by the output speed.",
            "Find that ratio among the ranges (within one percent).",
            "Compare its row with the commanded one.",
        ),
        {"n": ("1200", "3000", "100")},
        asks=frozenset({"range that runs"}),
        shows=(words.CHART_WITH_RATIOS,),
    )


def _actual(ask: Ask) -> Task | None:
    commanded, actual = (ask.train.row(row.name) for row in ask.dice.pick(_pairs(ask.own)))
    speed, rows = ask.facts.values["n"], ask.train.forward
    output = Fraction(round(10 * speed / actual.ratio), 10)
    names, letters = tuple(row.name for row in rows), tuple(element.name for element in ask.own.layout.elements)
    upside_down = min(rows, key=lambda row: abs(row.ratio - output / speed)).name
    (missing,), (extra,) = set(commanded.engaged) - set(actual.engaged), set(actual.engaged) - set(commanded.engaged)
    targets: dict[str, Target] = {
        "actual": ChoiceTarget(Choices(names), actual.name),
        "missing": ChoiceTarget(Choices(letters), missing),
        "extra": ChoiceTarget(Choices(letters), extra),
    }
    forms = [WrongForm("CMD", {"actual": commanded.name}, "That is the range that was commanded. What do the two sensors say?")]
    if upside_down not in (actual.name, commanded.name):
        forms.append(
            WrongForm(
                "RECIP", {"actual": upside_down}, "You divided output by input; the chart's ratios are input over output."
            )
        )
    forms.append(
        WrongForm(
            "TURNED",
            {"missing": extra, "extra": missing},
            "These two have changed places: which row is the one that really runs?",
            together=True,
        )
    )
    parts = (
        Part("actual", "range that really runs", AnswerKind.CHOICE, "", names, Fraction(2)),
        Part("missing", "element that is missing", AnswerKind.CHOICE, "", letters, Fraction(3, 2)),
        Part("extra", "element applied in its place", AnswerKind.CHOICE, "", letters, Fraction(3, 2)),
    )
    return Task(parts, Key(targets, tuple(forms)), {"commanded": commanded.name, "o": fixed(output, 1)})


def _diagnosable(train: Train) -> list[tuple[str, str]]:
    """Faults that no other one looks like, and that show."""
    found = signatures(train)
    looks = list(found.values())
    return [fault for fault, shows in found.items() if looks.count(shows) == 1 and set(shows) != {RIGHT}]


def _singles(train: Train) -> Iterator[Case]:
    if len(_diagnosable(train)) < 4 or len(train.drives) < 3:
        return
    yield Case(
        (),
        "one faulty element",
        "One element is faulty. These are the readings:\n\n<readings>\n\nWhich element is it, and is it stuck off "
        f"or stuck on?{_CAUTION}",
        6,
        3,
        (
            "List what could explain the first bad row.",
            "Strike out whatever a good row clears.",
            "Try what is left against all rows, stuck off and stuck on.",
        ),
        asks=frozenset({"faulty element"}),
        shows=(words.CHART,),
        tells=frozenset({f"ratio {row.name}" for row in train.drives}),
    )


def _single(ask: Ask) -> Task | None:
    known = signatures(ask.train)
    name, mode = ask.dice.pick(_diagnosable(ask.own))
    shows = known[name, mode]
    if list(known.values()).count(shows) > 1:
        return None
    first_bad = next(place for place, found in enumerate(shows) if found != RIGHT)
    suspects = [fault for fault, found in known.items() if found[first_bad] == shows[first_bad] and fault[0] != name]
    forms = [
        WrongForm(
            "CMD",
            {"element": one, "mode": how},
            "Try your suspect against every row: at least one of them refutes it.",
            together=True,
        )
        for one, how in suspects[:6]
    ]
    other = next(one for one in _MODES if one != mode)
    forms.append(
        WrongForm(
            "SLIPTIE",
            {"mode": other},
            "The element fits, the way it fails does not: read the bad rows again. Do they run free, or do they bind?",
            needs=(Claim("element", Relation.RIGHT),),
        )
    )
    letters = ask.own.applicable
    targets: dict[str, Target] = {
        "element": ChoiceTarget(Choices(letters), name),
        "mode": ChoiceTarget(Choices(tuple(_MODES), aliases=_MODE_WORDS), mode),
    }
    parts = (
        Part("element", "faulty element", AnswerKind.CHOICE, "", letters, Fraction(4)),
        Part("mode", "stuck off or stuck on", AnswerKind.CHOICE, "", tuple(_MODES), Fraction(2)),
    )
    return Task(parts, Key(targets, tuple(forms)), {"readings": _readings(ask.train, shows, ElementFault(name, _MODES[mode]))})


def _readings(train: Train, shows: tuple[str, ...], fault: ElementFault) -> str:
    lines = ["| commanded | observed |", "| --- | --- |"]
    for row, found in zip(train.drives, shows, strict=True):
        seen = found
        if found in (RIGHT, OTHER):
            ratio = with_faults(train.layout, row.name, [fault]).ratio
            seen = f"ratio {decimal(ratio or Fraction(0))}"
        lines.append(f"| {row.name} (ratio {decimal(row.ratio)}) | {seen} |")
    return "\n".join(lines)


def _culprits(train: Train) -> Iterator[Case]:
    if len(_by_lost(train)) < 3:
        return
    yield Case(
        (),
        "element that does not apply",
        "The ranges <lost> are lost: the engine runs up and nothing drives. All others are as they should be. Which element does not apply?"
        f"{_CAUTION}",
        2,
        1,
        (
            "Look for a column of the chart that has a mark in every lost range.",
            "It must have none in a range that is right.",
            "If a range is right although the element stands in its row, what is left must make the same range.",
        ),
        asks=frozenset({"element that does not apply"}),
        shows=(words.CHART,),
    )


def _by_lost(train: Train) -> dict[tuple[str, ...], str]:
    """Ranges that run free together -> the one element whose fault that is."""
    found: dict[tuple[str, ...], list[str]] = {}
    for (name, mode), shows in signatures(train).items():
        if mode == "stuck off" and set(shows) <= {RIGHT, FREE} and FREE in shows:
            lost = tuple(row.name for row, one in zip(train.drives, shows, strict=True) if one == FREE)
            found.setdefault(lost, []).append(name)
    return {lost: names[0] for lost, names in found.items() if len(names) == 1}


def _culprit(ask: Ask) -> Task | None:
    found = _by_lost(ask.train)
    if not found:
        return None
    lost = ask.dice.pick(list(found))
    first = ask.train.row(lost[0])
    name = found[lost]
    part_of = [one for one in first.engaged if one != name and one in ask.own.applicable]
    wrongs = [
        (
            "ONERANGE",
            one,
            f"{one} stands in the row of range {lost[0]}, but not in all lost rows, or also in one that is right.",
        )
        for one in part_of
    ]
    return choice(ask, ask.own.applicable, name, wrongs, words={"lost": listed(lost)}, label="element")


def _suspects(train: Train) -> Iterator[Case]:
    if len(train.drives) < 3 or not _complaints(train):
        return
    yield Case(
        (),
        "all suspects",
        f"Range <complaint> <shows>; nothing is known of the others. Which single faults would explain it?{_TICKS}{_CAUTION}",
        4,
        2,
        (
            "A range runs free where something in its row is missing.",
            "It binds where something is on that does not belong there.",
            "Try each fault on the row of that range.",
        ),
        asks=frozenset({"suspects"}),
        shows=(words.CHART,),
    )


def _complaints(train: Train) -> list[tuple[str, str]]:
    """Range and what it shows, where two to five faults would explain it."""
    found = []
    for place, row in enumerate(train.drives):
        for symptom in (FREE, BINDS):
            count = sum(shows[place] == symptom for shows in signatures(train).values())
            if 2 <= count <= 5:
                found.append((row.name, symptom))
    return found


def _suspect(ask: Ask) -> Task | None:
    complaints = _complaints(ask.train)
    if not complaints:
        return None
    name, symptom = ask.dice.pick(complaints)
    place = [row.name for row in ask.train.drives].index(name)
    names = {f"{one} {mode}": shows[place] for (one, mode), shows in signatures(ask.train).items()}
    right = [fault for fault, shows in names.items() if shows == symptom]
    other = "stuck on" if symptom == FREE else "stuck off"
    row = ask.train.row(name)
    in_row = [fault for fault in names if fault.split()[0] in row.engaged and fault.endswith(other)]
    wrongs = [
        ("SLIPTIE", in_row, "A missing element lets a range run free, an extra one that disagrees binds it."),
        *(
            ("LEFTOUT", [one for one in right if one != missed], "More than that would explain it: go through all elements.")
            for missed in right[:2]
        ),
    ]
    return several(ask, tuple(names), right, [one for one in wrongs if one[1]], words={"complaint": name, "shows": symptom})


def _tests(train: Train) -> Iterator[Case]:
    if train.one_ways or not _questions(train):
        return
    yield Case(
        (),
        "the best next test",
        "The complaint: range <complaint> <shows>. One element is faulty; the suspects are <suspects>. You may command one range and see what "
        f"it does. Which of these tests splits the suspects most evenly?{_CAUTION}\n\n<list>",
        3,
        3,
        (
            "For each test sort the suspects by what they would show.",
            "Count how many fall into each group.",
            "Best is the test whose largest group is smallest.",
        ),
        asks=frozenset({"best test"}),
        tells=frozenset({"suspects"}),
        shows=(words.CHART,),
    )


@lru_cache(maxsize=64)
def _questions(train: Train) -> list[tuple[int, str, tuple[int, ...], int]]:
    """Complaints with four tests of which one alone is best: place of the range, what it shows, places of the tests, of the best."""
    known, found = signatures(train), []
    for complaint in range(len(train.drives)):
        for symptom in (FREE, BINDS, OTHER):
            suspects = [shows for shows in known.values() if shows[complaint] == symptom]
            if len(suspects) < 3:
                continue
            largest = {place: max(Counter(shows[place] for shows in suspects).values()) for place in range(len(train.drives))}
            for others in combinations([place for place in largest if place != complaint], 3):
                places = tuple(sorted((complaint, *others)))
                best = min(places, key=lambda place: largest[place])
                if [largest[place] for place in places].count(largest[best]) == 1 and best != complaint:
                    found.append((complaint, symptom, places, best))
    return found


def _test(ask: Ask) -> Task | None:
    known, rows = signatures(ask.train), ask.train.drives
    questions = _questions(ask.train)
    if not questions:
        return None
    complaint, symptom, places, best = ask.dice.pick(questions)
    suspects = [one for one, shows in known.items() if shows[complaint] == symptom]
    options = tuple(f"command range {rows[place].name}" for place in places)
    again = f"command range {rows[complaint].name}"
    told = {
        "complaint": rows[complaint].name,
        "shows": {BINDS: "binds", FREE: "runs free", OTHER: "runs in another ratio"}[symptom],
        "suspects": listed(f"{name} {mode}" for name, mode in suspects),
        "list": "\n".join(f"- {one}" for one in options),
    }
    return choice(
        ask,
        options,
        f"command range {rows[best].name}",
        [("CMD", again, "You know that answer already: all suspects give the same there.")],
        words=told,
    )


def _slips(train: Train) -> Iterator[Case]:
    for row in train.forward:
        if row.ratio == 1:
            continue
        hard = hints.difficulty(train, row)
        yield Case(
            (row.name,),
            f"slip in percent in range {row.name}",
            f"{words.up(words.range_words(train.layout, row))} is commanded. The input turns at <n> r/min, the output at <o> r/min. How much does "
            "it slip, in percent of the input speed?",
            {1: 4, 2: 5, 3: 6}[hard],
            hard,
            (
                f"First the ratio. {hints.holds(train, row)}",
                "Without slip the input would turn at ratio times output speed.",
                "Slip is what the input turns faster than that; divide by the input speed, times 100.",
            ),
            {"n": ("1500", "3000", "50")},
            asks=frozenset({f"percent {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
            tolerance=_HALF_UNIT,
            unit="percent",
        )


def _percent(ask: Ask) -> Task | None:
    name, n = ask.about[0], ask.facts.values["n"]
    share = Fraction(5 + ask.dice.below(21), 100)
    output = Fraction(round(10 * n * (1 - share) / ask.train.row(name).ratio), 10)

    def slip(ratio: Fraction) -> Fraction:
        return 100 * (n - ratio * output) / n

    def of(change: Callable[[Fraction], Fraction]) -> Callable[[Train], Fraction]:
        return lambda train: change(train.row(name).ratio)

    mistakes = [
        Wrong(
            "RECIP",
            of(lambda i: 100 * (n - i * output) / (i * output)),
            "You took the share of the output's side; asked for is that of the input.",
        ),
        Wrong("SLIPABS", of(lambda i: n - i * output), "That is the slip in r/min; asked for is its share of the input speed."),
        Wrong(
            "CMD", lambda train: Fraction(0), "Without slip the input would turn at ratio times output: do the readings say so?"
        ),
    ]

    def in_range(other: str) -> Callable[[Train], Fraction]:
        return lambda train: slip(train.row(other).ratio)

    mistakes += [
        Wrong("OTHERRANGE", in_range(other.name), f"That is worked out with the ratio of range {other.name}.")
        for other in ask.own.forward
        if other.name != name
    ][:2]
    return number(ask, of(slip), mistakes, words={"o": fixed(output, 1)})


FAMILIES = (
    Family("lost", SUBJECT, 12, AnswerKind.MULTIPLE_CHOICE, _lost, _lost_ranges),
    Family("does-not-apply", SUBJECT, 12, AnswerKind.CHOICE, _culprits, _culprit),
    Family("stuck-on", SUBJECT, 12, AnswerKind.CLASSIFICATION_GRID, _stuck, _stuck_grid),
    Family("really-runs", SUBJECT, 12, AnswerKind.DIAGNOSIS, _actuals, _actual),
    Family("suspects", SUBJECT, 12, AnswerKind.MULTIPLE_CHOICE, _suspects, _suspect),
    Family("slip-percent", SUBJECT, 12, AnswerKind.DECIMAL, _slips, _percent),
    Family("faulty", SUBJECT, 12, AnswerKind.DIAGNOSIS, _singles, _single),
    Family("next-test", SUBJECT, 12, AnswerKind.CHOICE, _tests, _test),
)
