"""Faults found from what a transmission shows: which element it is, who is suspected, which test tells most."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from functools import lru_cache
from itertools import combinations
from types import MappingProxyType

from gearkit.answers.families.faults import BINDS, CAUTION, FREE, MODES, OTHER, RIGHT, SUBJECT, TICKS, signatures
from gearkit.answers.item import AnswerKind
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.judge.claims import Claim, Relation
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.words import ChoiceChecker
from gearkit.answers.layouts import words
from gearkit.answers.layouts.family import Ask, Case, Family, choice, several
from gearkit.answers.layouts.train import Train
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve.service.faults import ElementFault, with_faults
from gearkit.text.phrases import decimal, listed
from gearkit.words.say import later, say

_MODE_WORDS = {
    "off": later("stuck off"),
    "does not apply": later("stuck off"),
    "missing": later("stuck off"),
    "on": later("stuck on"),
    "always on": later("stuck on"),
}
_SAYS = {
    "CMD": later("Try your suspect against every row: at least one of them refutes it."),
    "SLIPTIE": later(
        "The element fits, the way it fails does not: read the bad rows again. Do they run free, or do they bind?"
    ),
}
_MOST_SUSPECTS = 6


def _diagnosable(train: Train) -> list[tuple[str, str]]:
    """Faults that no other one looks like, and that show."""
    known = signatures(train)
    looks = list(known.values())
    return [fault for fault, shows in known.items() if looks.count(shows) == 1 and set(shows) != {RIGHT}]


def _singles(train: Train) -> Iterator[Case]:
    if len(_diagnosable(train)) < 4 or len(train.drives) < 3:
        return
    yield Case(
        (),
        say("one faulty element"),
        say(
            "One element is faulty. These are the readings:\n\n<readings>\n\nWhich element is it, and is it stuck off or stuck on?{caution}",
            caution=say(CAUTION),
        ),
        6,
        3,
        (
            say("List what could explain the first bad row."),
            say("Cross out every suspect that would spoil a good row."),
            say("Try what is left against all rows, stuck off and stuck on."),
        ),
        asks=frozenset({"faulty element"}),
        shows=(words.CHART,),
        tells=frozenset({f"ratio {row.name}" for row in train.drives}),
    )


def _single(ask: Ask) -> BuiltItem | None:
    known = signatures(ask.train)
    name, mode = ask.seeded.pick(_diagnosable(ask.own))
    if list(known.values()).count(known[name, mode]) > 1:
        return None
    return one_fault_item(ask, known, name, mode)


def one_fault_item(
    ask: Ask,
    known: Mapping[tuple[str, str], tuple[str, ...]],
    name: str,
    mode: str,
    *,
    letters: tuple[str, ...] = (),
    says: Mapping[str, str] = MappingProxyType(_SAYS),
    written: Callable[[Fraction], str] = decimal,
    most: int | None = _MOST_SUSPECTS,
) -> BuiltItem:
    """Return the built item of a table of readings that one faulty element explains.

    Args:
        ask: the question.
        known: every single fault with what it shows in every range.
        name: the faulty element.
        mode: how it fails.
        letters: the elements to choose from; those that can be applied where none are given.
        says: what is said of a suspect that another row refutes, and of the other way of failing.
        written: how ratios are written.
        most: how many suspects at most have a sentence; all where it is None.
    """
    shows, letters = known[name, mode], letters or ask.own.applicable
    first_bad = next(place for place, shown in enumerate(shows) if shown != RIGHT)
    suspects = [fault for fault, shown in known.items() if shown[first_bad] == shows[first_bad] and fault[0] != name]
    forms = [
        WrongForm("CMD", {"element": element, "mode": how}, says["CMD"], together=True) for element, how in suspects[:most]
    ]
    other = next(how for how in MODES if how != mode)
    forms.append(WrongForm("SLIPTIE", {"mode": other}, says["SLIPTIE"], needs=(Claim("element", Relation.RIGHT),)))
    checkers: dict[str, Checker] = {
        "element": ChoiceChecker(Choices(letters), name),
        "mode": ChoiceChecker(Choices(tuple(MODES), aliases=_MODE_WORDS), mode),
    }
    parts = (
        Part("element", say("faulty element"), AnswerKind.CHOICE, "", letters, Fraction(4)),
        Part("mode", say("stuck off or stuck on"), AnswerKind.CHOICE, "", tuple(MODES), Fraction(2)),
    )
    readings = _readings(ask.train, shows, ElementFault(name, MODES[mode]), written)
    return BuiltItem(parts, Key(checkers, tuple(forms)), {"readings": readings})


def _readings(train: Train, shows: tuple[str, ...], fault: ElementFault, written: Callable[[Fraction], str]) -> str:
    lines = [say("| commanded | observed |"), "| --- | --- |"]
    for row, shown in zip(train.drives, shows, strict=True):
        seen = say(shown)
        if shown in (RIGHT, OTHER):
            ratio = with_faults(train.layout, row.name, [fault]).ratio
            seen = say("ratio {written}", written=written(ratio or Fraction(0)))
        lines.append(say("| {row} (ratio {written}) | {seen} |", row=row.name, written=written(row.ratio), seen=seen))
    return "\n".join(lines)


def _culprits(train: Train) -> Iterator[Case]:
    if len(_by_lost(train)) < 3:
        return
    yield Case(
        (),
        say("element that does not apply"),
        say(
            "The ranges <lost> are lost: the engine runs up and nothing drives. All others are as they should be. Which element does not apply?{caution}",
            caution=say(CAUTION),
        ),
        2,
        1,
        (
            say("Look for a column of the chart that has a mark in every lost range."),
            say("It must have none in a range that is right."),
            say("If a range is right although the element stands in its row, what is left must make the same range."),
        ),
        asks=frozenset({"element that does not apply"}),
        shows=(words.CHART,),
    )


def _by_lost(train: Train) -> dict[tuple[str, ...], str]:
    """Ranges that run free together -> the one element whose fault that is."""
    names_of: dict[tuple[str, ...], list[str]] = {}
    for (name, mode), shows in signatures(train).items():
        if mode == "stuck off" and set(shows) <= {RIGHT, FREE} and FREE in shows:
            lost = tuple(row.name for row, shown in zip(train.drives, shows, strict=True) if shown == FREE)
            names_of.setdefault(lost, []).append(name)
    return {lost: names[0] for lost, names in names_of.items() if len(names) == 1}


def _culprit(ask: Ask) -> BuiltItem | None:
    by_lost = _by_lost(ask.train)
    if not by_lost:
        return None
    lost = ask.seeded.pick(list(by_lost))
    first = ask.train.row(lost[0])
    name = by_lost[lost]
    part_of = [element for element in first.engaged if element != name and element in ask.own.applicable]
    wrongs = [
        (
            "ONERANGE",
            element,
            say(
                "{one_} stands in the row of range {lost}, but not in all lost rows, or also in one that is right.",
                one_=element,
                lost=lost[0],
            ),
        )
        for element in part_of
    ]
    return choice(ask, ask.own.applicable, name, wrongs, words={"lost": listed(lost)}, label=say("element"))


def _suspects(train: Train) -> Iterator[Case]:
    if len(train.drives) < 3 or not _complaints(train):
        return
    yield Case(
        (),
        say("all suspects"),
        say(
            "Range <complaint> <shows>; nothing is known of the others. Which single faults would explain it?{ticks}{caution}",
            ticks=say(TICKS),
            caution=say(CAUTION),
        ),
        4,
        2,
        (
            say("A range runs free where something in its row is missing."),
            say("It binds where something is on that does not belong there."),
            say("Try each fault on the row of that range."),
        ),
        asks=frozenset({"suspects"}),
        shows=(words.CHART,),
    )


def _complaints(train: Train) -> list[tuple[str, str]]:
    """Range and what it shows, where two to five faults would explain it."""
    complaints = []
    for place, row in enumerate(train.drives):
        for symptom in (FREE, BINDS):
            count = sum(shows[place] == symptom for shows in signatures(train).values())
            if 2 <= count <= 5:
                complaints.append((row.name, symptom))
    return complaints


def _suspect(ask: Ask) -> BuiltItem | None:
    complaints = _complaints(ask.train)
    if not complaints:
        return None
    name, symptom = ask.seeded.pick(complaints)
    place = [row.name for row in ask.train.drives].index(name)
    names = {f"{element} {say(mode)}": shows[place] for (element, mode), shows in signatures(ask.train).items()}
    right = [fault for fault, shows in names.items() if shows == symptom]
    other = say("stuck on") if symptom == FREE else say("stuck off")
    row = ask.train.row(name)
    in_row = [fault for fault in names if fault.split()[0] in row.engaged and fault.endswith(other)]
    wrongs = [
        ("SLIPTIE", in_row, say("A missing element lets a range run free, an extra one that disagrees binds it.")),
        *(
            (
                "LEFTOUT",
                [element for element in right if element != missed],
                say("More than that would explain it: go through all elements."),
            )
            for missed in right[:2]
        ),
    ]
    return several(
        ask, tuple(names), right, [entry for entry in wrongs if entry[1]], words={"complaint": name, "shows": symptom}
    )


def _tests(train: Train) -> Iterator[Case]:
    if train.one_ways or not _questions(train):
        return
    yield Case(
        (),
        say("the best next test"),
        say(
            "The complaint: range <complaint> <shows>. One element is faulty; the suspects are <suspects>. You may command one range and see what it does. Which of these tests splits the suspects most evenly?{caution}\n\n<list>",
            caution=say(CAUTION),
        ),
        3,
        3,
        (
            say("For each test sort the suspects by what they would show."),
            say("Count how many fall into each group."),
            say("Best is the test whose largest group is smallest."),
        ),
        asks=frozenset({"best test"}),
        tells=frozenset({"suspects"}),
        shows=(words.CHART,),
    )


def largest_group(suspects: Iterable[tuple[str, ...]], place: int) -> int:
    """Return how many suspects a test leaves together at most.

    Args:
        suspects: what each suspect shows in every range.
        place: the range that is commanded.
    """
    return max(Counter(shows[place] for shows in suspects).values())


@lru_cache(maxsize=64)
def _questions(train: Train) -> list[tuple[int, str, tuple[int, ...], int]]:
    """Complaints with four tests of which one alone is best: place of the range, what it shows, places of the tests, of the best."""
    known, questions = signatures(train), []
    for complaint in range(len(train.drives)):
        for symptom in (FREE, BINDS, OTHER):
            suspects = [shows for shows in known.values() if shows[complaint] == symptom]
            if len(suspects) < 3:
                continue
            largest = {place: largest_group(suspects, place) for place in range(len(train.drives))}
            for others in combinations([place for place in largest if place != complaint], 3):
                places = tuple(sorted((complaint, *others)))
                best = min(places, key=lambda place: largest[place])
                if [largest[place] for place in places].count(largest[best]) == 1 and best != complaint:
                    questions.append((complaint, symptom, places, best))
    return questions


def _test(ask: Ask) -> BuiltItem | None:
    known, rows = signatures(ask.train), ask.train.drives
    questions = _questions(ask.train)
    if not questions:
        return None
    complaint, symptom, places, best = ask.seeded.pick(questions)
    suspects = [fault for fault, shows in known.items() if shows[complaint] == symptom]
    options = tuple(say("command range {name}", name=rows[place].name) for place in places)
    again = say("command range {name}", name=rows[complaint].name)
    told = {
        "complaint": rows[complaint].name,
        "shows": {BINDS: say("binds"), FREE: say("runs free"), OTHER: say("runs in another ratio")}[symptom],
        "suspects": listed(f"{name} {say(mode)}" for name, mode in suspects),
        "list": "\n".join(f"- {option}" for option in options),
    }
    return choice(
        ask,
        options,
        say("command range {name}", name=rows[best].name),
        [("CMD", again, say("You know that answer already: all suspects give the same there."))],
        words=told,
    )


FAMILIES = (
    Family("does-not-apply", SUBJECT, 12, AnswerKind.CHOICE, _culprits, _culprit),
    Family("suspects", SUBJECT, 12, AnswerKind.MULTIPLE_CHOICE, _suspects, _suspect),
    Family("faulty", SUBJECT, 12, AnswerKind.DIAGNOSIS, _singles, _single),
    Family("next-test", SUBJECT, 12, AnswerKind.CHOICE, _tests, _test),
)
