"""Rules about faults: an element stuck off or stuck on, and what the readings say about it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.draw_numbers.pool import layout_named, plain_name
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.items import ONE_PART, AnswerKind, Item
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.judge.claims import Claim, Relation
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.answers.rules.trains import Row, chart_of, driving_ranges, elements, signed
from gearkit.solve import mobility
from gearkit.train.layout import Layout
from gearkit.words.terms import Verdict

HALF_RPM = Tolerance(absolute=Fraction(1, 2))
MODES = ("stuck off", "stuck on")
_MODE_WORDS = {"off": MODES[0], "does not apply": MODES[0], "missing": MODES[0], "on": MODES[1], "always on": MODES[1]}
RIGHT, FREE, BINDS, OTHER = "right", "runs free", "binds", "another ratio"
_CLEAN = Fraction(1, 2)
# Ranges of the Q36 that have brake B, and others with which it disagrees, so that neither is most of them.
_WITH_B_STUCK = ("1", "6", "R", "1", "6", "R", "2", "4")
_GRID = ("right", str(Verdict.TIE_UP), "another ratio")


@dataclass(frozen=True)
class Fault:
    """One element that does not do as it is told."""

    element: str
    mode: str

    def __str__(self) -> str:
        return f"{self.element} {self.mode}"

    def applied(self, engaged: frozenset[str]) -> frozenset[str]:
        """Return what is really applied where `engaged` is commanded."""
        return engaged - {self.element} if self.mode == MODES[0] else engaged | {self.element}


def symptom(layout: Layout, fault: Fault, engaged: frozenset[str], ratio: Fraction) -> str:
    """Return what a range shows with a fault: right, runs free, binds, or another ratio.

    Args:
        layout: the layout.
        fault: the fault.
        engaged: what the range commands.
        ratio: its ratio.
    """
    state = mobility.assess(layout, fault.applied(engaged))
    if state.verdict is Verdict.RANGE:
        return RIGHT if state.ratio == ratio else OTHER
    return FREE if state.verdict is Verdict.NEUTRAL else BINDS


@lru_cache(maxsize=32)
def signatures(name: str) -> tuple[tuple[Fault, tuple[str, ...]], ...]:
    """Return every single fault of a catalogue layout with its symptom in every range.

    Which range runs free or binds is a matter of rank; it holds for all drawn tooth counts alike.

    Args:
        name: the layout.
    """
    layout = layout_named(name)
    rows = driving_ranges(name)
    faults = [Fault(element, mode) for element in elements(name, with_one_way=False) for mode in MODES]
    return tuple((fault, tuple(symptom(layout, fault, row.engaged, row.ratio) for row in rows)) for fault in faults)


def _chosen(facts: DrawnValues) -> str:
    return elements(facts.layout_name)[int(facts.values["el"]) - 1]


def _words(facts: DrawnValues, ratios: bool = False, **more: str) -> dict[str, str]:
    return {"name": plain_name(facts.layout_name), "chart": chart_of(facts, ratios), **more}


def lost_ranges(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which ranges are lost when an element does not apply.

    Args:
        item: the item.
        facts: the drawn layout and the number of the element.
        seeded: not used.
    """
    element = _chosen(facts)
    rows = driving_ranges(facts.layout_name, facts.teeth)
    names = tuple(row.name for row in rows)
    shows = dict(signatures(facts.layout_name))[Fault(element, MODES[0])]
    lost = frozenset(name for name, found in zip(names, shows, strict=True) if found != RIGHT)
    if len(lost) < 2:
        return None
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    forms = [WrongForm("ONERANGE", {ONE_PART: frozenset({name})}, sentences["ONERANGE"]) for name in sorted(lost)]
    forms.append(WrongForm("ROLE", {ONE_PART: frozenset(names) - lost}, sentences["ROLE"]))
    part = Part(ONE_PART, "ranges", AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(item.marks))
    key = Key({ONE_PART: SeveralChecker(Choices(names), (lost,))}, tuple(forms))
    return BuiltItem((part,), key, _words(facts, element=element))


def stuck_on(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """What every commanded range gives while an element is stuck on.

    Args:
        item: the item.
        facts: the drawn layout and the number of the element.
        seeded: not used.
    """
    fault = Fault(_chosen(facts), MODES[1])
    words = {RIGHT: _GRID[0], BINDS: _GRID[1], OTHER: _GRID[2]}
    right: dict[str, str] = {}
    repeats = []
    rows = driving_ranges(facts.layout_name, facts.teeth)
    for row, shows in zip(rows, dict(signatures(facts.layout_name))[fault], strict=True):
        if shows not in words:
            return None
        right[f"range_{row.name}"] = words[shows]
        if shows == RIGHT and fault.element not in row.engaged:
            repeats.append(f"range_{row.name}")
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    tied = {name: _GRID[2] for name, state in right.items() if state == _GRID[1]}
    forms = [WrongForm("SLIPTIE", tied, sentences["SLIPTIE"])] if tied else []
    forms += [WrongForm("COUNT", {name: _GRID[1]}, sentences["COUNT"]) for name in repeats]
    choices = Choices(_GRID, aliases={"binds": _GRID[1], "locked": _GRID[1], "slip": _GRID[2], "same": _GRID[0]})
    marks = Fraction(item.marks, len(right))
    parts = tuple(Part(name, name.removeprefix("range_"), AnswerKind.CHOICE, "", _GRID, marks) for name in right)
    key = Key({name: ChoiceChecker(choices, state) for name, state in right.items()}, tuple(forms))
    return BuiltItem(parts, key, _words(facts, element=fault.element))


def unchanged_by_stuck(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which commanded ranges still give their ratio while an element is stuck on.

    Args:
        item: the item.
        facts: the drawn layout and the number of the element.
        seeded: not used.
    """
    fault = Fault(_chosen(facts), MODES[1])
    rows = driving_ranges(facts.layout_name, facts.teeth)
    names = tuple(row.name for row in rows)
    shows = dict(signatures(facts.layout_name))[fault]
    right = frozenset(name for name, found in zip(names, shows, strict=True) if found == RIGHT)
    if not right or BINDS not in shows or FREE in shows:
        return None
    wrong = {"SLIPTIE": frozenset(names), "CMD": frozenset(row.name for row in rows if fault.element not in row.engaged)}
    forms = tuple(
        WrongForm(named.code, {ONE_PART: wrong[named.code]}, named.sentence)
        for named in item.named_mistakes
        if wrong[named.code] != right
    )
    part = Part(ONE_PART, "ranges", AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(item.marks))
    key = Key({ONE_PART: SeveralChecker(Choices(names), (right,), clean=_CLEAN)}, forms)
    return BuiltItem((part,), key, _words(facts, element=fault.element))


def actual_range(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which range really runs, from two speed readings, and which element is missing and which one extra.

    Args:
        item: the item.
        facts: the drawn layout and the input speed.
        seeded: which range is commanded and which one runs.
    """
    rows = [row for row in driving_ranges(facts.layout_name, facts.teeth) if row.name.isdigit()]
    commanded = seeded.pick(rows)
    others = [row for row in rows if len(row.engaged - commanded.engaged) == 1 == len(commanded.engaged - row.engaged)]
    actual = seeded.pick(others)
    speed = facts.values["n"]
    output = Fraction(round(10 * speed / actual.ratio), 10)
    upside_down = min(rows, key=lambda row: abs(row.ratio - output / speed)).name
    names, letters = tuple(row.name for row in rows), elements(facts.layout_name)
    (missing,), (extra,) = commanded.engaged - actual.engaged, actual.engaged - commanded.engaged
    checkers: dict[str, Checker] = {
        "actual": ChoiceChecker(Choices(names), actual.name),
        "missing": ChoiceChecker(Choices(letters), missing),
        "extra": ChoiceChecker(Choices(letters), extra),
    }
    wrong = {"CMD": commanded.name, "RECIP": upside_down}
    forms = tuple(
        WrongForm(named.code, {"actual": wrong[named.code]}, named.sentence)
        for named in item.named_mistakes
        if wrong[named.code] != actual.name
    )
    parts = (
        Part("actual", "range that really runs", AnswerKind.CHOICE, "", names, Fraction(2)),
        Part("missing", "element that is missing", AnswerKind.CHOICE, "", letters, Fraction(3, 2)),
        Part("extra", "element applied in its place", AnswerKind.CHOICE, "", letters, Fraction(3, 2)),
    )
    words = _words(facts, ratios=True, commanded=commanded.name, o=f"{float(output):.1f}")
    follows = {name: partial(_exchanged, rows, commanded, name == "extra") for name in ("missing", "extra")}
    return BuiltItem(parts, Key(checkers, forms, follows=follows), words)


def _exchanged(rows: list[Row], commanded: Row, comes: bool, given: Mapping[str, Any]) -> str | None:
    """The one element that comes in, or goes, between the commanded range and the one that a learner takes for real."""
    actual = next((row.engaged for row in rows if row.name == given.get("actual")), commanded.engaged)
    changed = actual - commanded.engaged if comes else commanded.engaged - actual
    return next(iter(changed)) if len(changed) == 1 else None


def single_fault(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The one fault that explains a whole table of readings.

    Args:
        item: the item.
        facts: the drawn layout, the number of the element and the mode.
        seeded: not used.
    """
    rows = driving_ranges(facts.layout_name, facts.teeth)
    fault = Fault(_chosen(facts), MODES[int(facts.values["mode"])])
    known = signatures(facts.layout_name)
    shows = dict(known)[fault]
    if [signature for _, signature in known].count(shows) > 1 or set(shows) == {RIGHT}:
        return None
    first_bad = next(place for place, found in enumerate(shows) if found != RIGHT)
    suspects = [other for other, found in known if found[first_bad] == shows[first_bad] and other.element != fault.element]
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    forms = [
        WrongForm("CMD", {"element": suspect.element, "mode": suspect.mode}, sentences["CMD"], together=True)
        for suspect in suspects
    ]
    other_mode = MODES[1 - MODES.index(fault.mode)]
    forms.append(WrongForm("SLIPTIE", {"mode": other_mode}, sentences["SLIPTIE"], needs=(Claim("element", Relation.RIGHT),)))
    letters = elements(facts.layout_name)
    checkers: dict[str, Checker] = {
        "element": ChoiceChecker(Choices(letters), fault.element),
        "mode": ChoiceChecker(Choices(MODES, aliases=_MODE_WORDS), fault.mode),
    }
    parts = (
        Part("element", "faulty element", AnswerKind.CHOICE, "", letters, Fraction(4)),
        Part("mode", "stuck off or stuck on", AnswerKind.CHOICE, "", MODES, Fraction(2)),
    )
    lines = ["| commanded | observed |", "| --- | --- |"]
    for row, found in zip(rows, shows, strict=True):
        seen = found
        if found in (RIGHT, OTHER):
            seen = f"ratio {signed(mobility.assess(facts.train, fault.applied(row.engaged)).ratio or Fraction(0))}"
        lines.append(f"| {row.name} (ratio {signed(row.ratio)}) | {seen} |")
    return BuiltItem(parts, Key(checkers, tuple(forms)), _words(facts, readings="\n".join(lines)))


def best_test(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The test that leaves the fewest suspects in its largest group.

    Args:
        item: the item.
        facts: the drawn layout, the number of the element and the mode behind the complaint.
        seeded: which tests are offered.
    """
    rows = driving_ranges(facts.layout_name, facts.teeth)
    known = signatures(facts.layout_name)
    fault = Fault(_chosen(facts), MODES[int(facts.values["mode"])])
    shows = dict(known)[fault]
    complaint = seeded.pick([place for place, found in enumerate(shows) if found != RIGHT])
    suspects = [(other, found) for other, found in known if found[complaint] == shows[complaint]]
    places = sorted((complaint, *seeded.sample([place for place in range(len(rows)) if place != complaint], 3)))
    largest = {}
    for place in places:
        found = [signature[place] for _, signature in suspects]
        largest[place] = max(map(found.count, found))
    best = min(largest, key=largest.__getitem__)
    if facts.values["rows"]:
        places = list(seeded.shuffled(places))
    if len(suspects) < 3 or list(largest.values()).count(largest[best]) > 1:
        return None
    tests = tuple(f"command range {rows[place].name}" for place in places)
    right, repeated = f"command range {rows[best].name}", f"command range {rows[complaint].name}"
    choices = Choices(tests, letters=True)
    forms = tuple(WrongForm(named.code, {ONE_PART: repeated}, named.sentence) for named in item.named_mistakes)
    part = Part(ONE_PART, "", AnswerKind.CHOICE, "", tests, Fraction(item.marks))
    words = _words(
        facts,
        complaint=f"range {rows[complaint].name} {shows[complaint]}",
        suspects="; ".join(str(other) for other, _ in suspects),
        list=labelled(tests),
    )
    return BuiltItem((part,), Key({ONE_PART: ChoiceChecker(choices, right)}, forms), words)


def stuck_brake_speed(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The output speed of a range while brake B is stuck on: nothing where that ties the train up, as ever where B belongs to it.

    Args:
        item: the item.
        facts: the drawn layout, the range and the input speed.
        seeded: not used.
    """
    place, speed = int(facts.values["rows"]), facts.values["n"]
    name = _WITH_B_STUCK[place - 1] if place else str(facts.values["rg"])
    row = next(row for row in driving_ranges(facts.layout_name, facts.teeth) if row.name == name)
    shows = symptom(facts.train, Fault("B", MODES[1]), row.engaged, row.ratio)
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
    checker = NumberChecker(right, AnswerKind.DECIMAL, tolerance, item.unit, facts.visible)
    part = Part(ONE_PART, "", AnswerKind.DECIMAL, item.unit, (), Fraction(item.marks))
    more = {"range": name} if place else {}
    return BuiltItem((part,), Key({ONE_PART: checker}, forms), _words(facts, ratios=True, **more))


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "lost_ranges": lost_ranges,
    "stuck_on": stuck_on,
    "unchanged_by_stuck": unchanged_by_stuck,
    "actual_range": actual_range,
    "single_fault": single_fault,
    "best_test": best_test,
    "stuck_brake_speed": stuck_brake_speed,
}
