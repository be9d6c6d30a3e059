"""Rules about faults: an element stuck off or stuck on, and what the readings say about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.draw_numbers.pool import plain_name
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.families.faults import BINDS, FREE, MODES, OTHER, RIGHT, really_runs_item, signatures
from gearkit.answers.families.suspects import largest_group, one_fault_item
from gearkit.answers.item import ONE_PART, AnswerKind, Item
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.layouts.family import Ask, ask_of
from gearkit.answers.layouts.train import Drive
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.answers.rules.trains import chart_of, elements, signed
from gearkit.words.say import later, say
from gearkit.words.terms import Verdict

HALF_RPM = Tolerance(absolute=Fraction(1, 2))
_MODES = tuple(MODES)
_CLEAN = Fraction(1, 2)
# Ranges of the Q36 that have brake B, and others with which it disagrees, so that neither is most of them.
_WITH_B_STUCK = ("1", "6", "R", "1", "6", "R", "2", "4")
_GRID = ("right", str(Verdict.TIE_UP), later("another ratio"))


def _chosen(drawn: DrawnValues) -> str:
    return elements(drawn.layout_name)[int(drawn.values["el"]) - 1]


def _shows(ask: Ask, name: str, mode: str) -> tuple[str, ...]:
    """What a fault shows in every range: a matter of rank, which holds for all drawn tooth counts alike."""
    return signatures(ask.own)[name, mode]


def _words(drawn: DrawnValues, ratios: bool = False, **more: str) -> dict[str, str]:
    return {"name": plain_name(drawn.layout_name), "chart": chart_of(drawn, ratios), **more}


def lost_ranges(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which ranges are lost when an element does not apply.

    Args:
        item: the item.
        drawn: the drawn layout and the number of the element.
        seeded: not used.
    """
    ask, element = ask_of(item, drawn, seeded), _chosen(drawn)
    names = tuple(row.name for row in ask.own.drives)
    lost = frozenset(name for name, shows in zip(names, _shows(ask, element, "stuck off"), strict=True) if shows != RIGHT)
    if len(lost) < 2:
        return None
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    forms = [WrongForm("ONERANGE", {ONE_PART: frozenset({name})}, sentences["ONERANGE"]) for name in sorted(lost)]
    forms.append(WrongForm("ROLE", {ONE_PART: frozenset(names) - lost}, sentences["ROLE"]))
    part = Part(ONE_PART, say("ranges"), AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(item.marks))
    key = Key({ONE_PART: SeveralChecker(Choices(names), (lost,))}, tuple(forms))
    return BuiltItem((part,), key, _words(drawn, element=element))


def stuck_on(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """What every commanded range gives while an element is stuck on.

    Args:
        item: the item.
        drawn: the drawn layout and the number of the element.
        seeded: not used.
    """
    ask, element = ask_of(item, drawn, seeded), _chosen(drawn)
    words = {RIGHT: _GRID[0], BINDS: _GRID[1], OTHER: _GRID[2]}
    right: dict[str, str] = {}
    repeats = []
    for row, shows in zip(ask.own.drives, _shows(ask, element, "stuck on"), strict=True):
        if shows not in words:
            return None
        right[f"range_{row.name}"] = words[shows]
        if shows == RIGHT and element not in row.engaged:
            repeats.append(f"range_{row.name}")
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    tied = {name: _GRID[2] for name, state in right.items() if state == _GRID[1]}
    forms = [WrongForm("SLIPTIE", tied, sentences["SLIPTIE"])] if tied else []
    forms += [WrongForm("COUNT", {name: _GRID[1]}, sentences["COUNT"]) for name in repeats]
    choices = Choices(_GRID, aliases={"binds": _GRID[1], "locked": _GRID[1], "slip": _GRID[2], "same": _GRID[0]})
    marks = Fraction(item.marks, len(right))
    parts = tuple(Part(name, name.removeprefix("range_"), AnswerKind.CHOICE, "", _GRID, marks) for name in right)
    key = Key({name: ChoiceChecker(choices, state) for name, state in right.items()}, tuple(forms))
    return BuiltItem(parts, key, _words(drawn, element=element))


def unchanged_by_stuck(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which commanded ranges still give their ratio while an element is stuck on.

    Args:
        item: the item.
        drawn: the drawn layout and the number of the element.
        seeded: not used.
    """
    ask, element = ask_of(item, drawn, seeded), _chosen(drawn)
    rows, shows = ask.own.drives, _shows(ask, element, "stuck on")
    names = tuple(row.name for row in rows)
    right = frozenset(name for name, shown in zip(names, shows, strict=True) if shown == RIGHT)
    if not right or BINDS not in shows or FREE in shows:
        return None
    wrong = {"SLIPTIE": frozenset(names), "CMD": frozenset(row.name for row in rows if element not in row.engaged)}
    forms = tuple(
        WrongForm(named.code, {ONE_PART: wrong[named.code]}, named.sentence)
        for named in item.named_mistakes
        if wrong[named.code] != right
    )
    part = Part(ONE_PART, say("ranges"), AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(item.marks))
    key = Key({ONE_PART: SeveralChecker(Choices(names), (right,), clean=_CLEAN)}, forms)
    return BuiltItem((part,), key, _words(drawn, element=element))


def actual_range(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which range really runs, from two speed readings, and which element is missing and which one extra.

    Args:
        item: the item.
        drawn: the drawn layout and the input speed.
        seeded: which range is commanded and which one runs.
    """
    ask = ask_of(item, drawn, seeded)
    rows = [row for row in ask.train.drives if row.name.isdigit()]
    commanded = seeded.pick(rows)
    actual = seeded.pick([row for row in rows if _one_exchanged(commanded, row)])
    says = {named.code: named.sentence for named in item.named_mistakes}
    built = really_runs_item(ask, commanded, actual, rows, elements(drawn.layout_name), says)
    return replace(built, words=_words(drawn, ratios=True, commanded=commanded.name, o=built.words["o"]))


def _one_exchanged(first: Drive, other: Drive) -> bool:
    return len(set(first.engaged) - set(other.engaged)) == 1 == len(set(other.engaged) - set(first.engaged))


def single_fault(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The one fault that explains a whole table of readings.

    Args:
        item: the item.
        drawn: the drawn layout, the number of the element and the mode.
        seeded: not used.
    """
    ask, name, mode = ask_of(item, drawn, seeded), _chosen(drawn), _MODES[int(drawn.values["mode"])]
    known = signatures(ask.own)
    if list(known.values()).count(known[name, mode]) > 1 or set(known[name, mode]) == {RIGHT}:
        return None
    says = {named.code: named.sentence for named in item.named_mistakes}
    built = one_fault_item(ask, known, name, mode, letters=elements(drawn.layout_name), says=says, written=signed, most=None)
    return replace(built, words=_words(drawn, readings=built.words["readings"]))


def best_test(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The test that leaves the fewest suspects in its largest group.

    Args:
        item: the item.
        drawn: the drawn layout, the number of the element and the mode behind the complaint.
        seeded: which tests are offered.
    """
    ask = ask_of(item, drawn, seeded)
    rows, known = ask.own.drives, signatures(ask.own)
    shows = known[_chosen(drawn), _MODES[int(drawn.values["mode"])]]
    complaint = seeded.pick([place for place, shown in enumerate(shows) if shown != RIGHT])
    suspects = {other: shown for other, shown in known.items() if shown[complaint] == shows[complaint]}
    places = sorted((complaint, *seeded.sample([place for place in range(len(rows)) if place != complaint], 3)))
    largest = {place: largest_group(suspects.values(), place) for place in places}
    best = min(largest, key=largest.__getitem__)
    if drawn.values["rows"]:
        places = list(seeded.shuffled(places))
    if len(suspects) < 3 or list(largest.values()).count(largest[best]) > 1:
        return None
    tests = tuple(say("command range {name}", name=rows[place].name) for place in places)
    right, repeated = say("command range {name}", name=rows[best].name), say("command range {name}", name=rows[complaint].name)
    choices = Choices(tests, letters=True)
    forms = tuple(WrongForm(named.code, {ONE_PART: repeated}, named.sentence) for named in item.named_mistakes)
    part = Part(ONE_PART, "", AnswerKind.CHOICE, "", tests, Fraction(item.marks))
    words = _words(
        drawn,
        complaint=say("range {name} {shows}", name=rows[complaint].name, shows=say(shows[complaint])),
        suspects="; ".join(f"{name} {say(mode)}" for name, mode in suspects),
        list=labelled(tests),
    )
    return BuiltItem((part,), Key({ONE_PART: ChoiceChecker(choices, right)}, forms), words)


def stuck_brake_speed(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The output speed of a range while brake B is stuck on: nothing where that ties the train up, as ever where B belongs to it.

    Args:
        item: the item.
        drawn: the drawn layout, the range and the input speed.
        seeded: not used.
    """
    place, speed = int(drawn.values["rows"]), drawn.values["n"]
    name = _WITH_B_STUCK[place - 1] if place else str(drawn.values["rg"])
    ask = ask_of(item, drawn, seeded)
    row = ask.train.row(name)
    shows = dict(zip((drive.name for drive in ask.own.drives), _shows(ask, "B", "stuck on"), strict=True))[name]
    right = speed / row.ratio if shows == RIGHT else Fraction(0)
    if shows == RIGHT and place:
        wrong = {"SLIPTIE": Fraction(0), "LOCKFREE": speed}
    elif shows == BINDS:
        wrong = {"CMD": speed / row.ratio, "LOCKFREE" if place else "SLIPTIE": speed}
    else:
        return None
    forms = tuple(
        WrongForm(named.code, {ONE_PART: wrong[named.code]}, named.sentence)
        for named in item.named_mistakes
        if named.code in wrong
    )
    tolerance = HALF_RPM if place else item.tolerance
    checker = NumberChecker(right, AnswerKind.DECIMAL, tolerance, item.unit, drawn.visible)
    part = Part(ONE_PART, "", AnswerKind.DECIMAL, item.unit, (), Fraction(item.marks))
    more = {"range": name} if place else {}
    return BuiltItem((part,), Key({ONE_PART: checker}, forms), _words(drawn, ratios=True, **more))


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "lost_ranges": lost_ranges,
    "stuck_on": stuck_on,
    "unchanged_by_stuck": unchanged_by_stuck,
    "actual_range": actual_range,
    "single_fault": single_fault,
    "best_test": best_test,
    "stuck_brake_speed": stuck_brake_speed,
}
