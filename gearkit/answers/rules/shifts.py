"""Rules about shifts and one-way clutches: what lets go, what takes hold, what overruns."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import combinations, pairwise

from gearkit.answers.draw_numbers.pool import plain_name
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.items import ONE_PART, AnswerKind, Item
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.answers.rules.trains import Row, chart_of, driving_ranges, elements
from gearkit.solve import mobility, one_way
from gearkit.solve.speeds import speeds
from gearkit.train.layout import Layout
from gearkit.words.terms import OneWayState, Verdict

_STATES = ("holding", "overrunning", "idle, its member is held by another element")
_STATE_WORDS = {OneWayState.HOLDING: _STATES[0], OneWayState.OVERRUNNING: _STATES[1], OneWayState.IDLE: _STATES[2]}
_FREEWHEEL = "F"
_CLEAN = Fraction(1, 2)


def swaps(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The off-going and the on-coming element of every upshift.

    Args:
        item: the item.
        facts: the drawn layout.
        seeded: not used.
    """
    rows = driving_ranges(facts.layout_name, facts.teeth)
    forward = [row for row in rows if row.name.isdigit()]
    names = elements(facts.layout_name)
    choices = Choices(names)
    parts: list[Part] = []
    checkers: dict[str, Checker] = {}
    forms = []
    for low, high in pairwise(forward):
        (off,), (on,) = low.engaged - high.engaged, high.engaged - low.engaged
        shift = f"{low.name}_{high.name}"
        for name, words, element in ((f"off_{shift}", "lets go", off), (f"on_{shift}", "takes hold", on)):
            label = f"{low.name} to {high.name}, {words}"
            parts.append(Part(name, label, AnswerKind.CHOICE, "", names, Fraction(1, 2)))
            checkers[name] = ChoiceChecker(choices, element)
        forms += [
            WrongForm(named.code, {f"off_{shift}": on, f"on_{shift}": off}, named.sentence, together=True)
            for named in item.named_mistakes
        ]
    whole = {name: content for form in forms for name, content in form.contents.items()}
    forms.append(WrongForm(item.named_mistakes[0].code, whole, item.named_mistakes[0].sentence, together=True))
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms)), {"chart": chart_of(facts)})


def double_swaps(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which of six shifts are double swaps.

    Args:
        item: the item.
        facts: the drawn layout.
        seeded: which six shifts.
    """
    rows = driving_ranges(facts.layout_name, facts.teeth)
    forward = [row for row in rows if row.name.isdigit()]
    shifts = {f"{low.name} to {high.name}": not low.engaged & high.engaged for low, high in combinations(forward, 2)}
    chosen = sorted(seeded.sample(tuple(shifts), 6))
    right = frozenset(name for name in chosen if shifts[name])
    skips = frozenset(name for name in chosen if int(name[-1]) - int(name[0]) > 1)
    if not right or skips == right:
        return None
    choices = Choices(tuple(chosen), letters=True)
    # Three marks for the ticks and one for a row without a fault.
    checker = SeveralChecker(choices, (right,), clean=Fraction(1, 4))
    forms = tuple(WrongForm(named.code, {ONE_PART: skips}, named.sentence) for named in item.named_mistakes)
    part = Part(ONE_PART, "", AnswerKind.MULTIPLE_CHOICE, "", choices.options, Fraction(item.marks))
    words = {"chart": chart_of(facts), "list": labelled(choices.options)}
    return BuiltItem((part,), Key({ONE_PART: checker}, forms), words)


def one_way_states(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """What the one-way clutch does in each range.

    Args:
        item: the item.
        facts: the drawn layout.
        seeded: not used.
    """
    layout = facts.train
    right: dict[str, str] = {}
    for name in ("1", "2", "3", "4", "R"):
        applied = [element for element in layout.engaged_in(name) if element != _FREEWHEEL]
        state = one_way.working(layout, applied).clutches[0].state
        if state not in _STATE_WORDS:
            return None
        right[f"range_{name}"] = _STATE_WORDS[state]
    choices = Choices(_STATES, aliases={"held": _STATES[0], "holds": _STATES[0], "overruns": _STATES[1]})
    marks = Fraction(item.marks, len(right))
    parts = tuple(Part(name, name.removeprefix("range_"), AnswerKind.CHOICE, "", _STATES, marks) for name in right)
    forms = tuple(WrongForm(named.code, {"range_R": _STATES[0]}, named.sentence) for named in item.named_mistakes)
    key = Key({name: ChoiceChecker(choices, state) for name, state in right.items()}, forms)
    return BuiltItem(parts, key, {"chart": chart_of(facts)})


def one_way_groups(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """In which rows of a chart without names the one-way clutch holds, overruns or is idle.

    Args:
        item: the item.
        facts: the drawn layout.
        seeded: the order of the rows.
    """
    rows = _shuffled_rows(facts, seeded)
    groups: dict[str, set[str]] = {"holding": set(), "overrunning": set(), "idle": set()}
    reverse = ""
    for label, row in rows.items():
        state = one_way.working(facts.train, row.engaged - {_FREEWHEEL}).clutches[0].state
        if state not in _STATE_WORDS:
            return None
        groups[_STATE_WORDS[state].partition(",")[0]].add(label)
        reverse = label if row.name == "R" else reverse
    if not all(groups.values()):
        return None
    labels = tuple(rows)
    choices = _row_choices(labels)
    checkers: dict[str, Checker] = {
        name: SeveralChecker(choices, (frozenset(found),), clean=_CLEAN) for name, found in groups.items()
    }
    parts = tuple(
        Part(name, state, AnswerKind.MULTIPLE_CHOICE, "", labels, Fraction(item.marks, len(groups)))
        for name, state in zip(groups, _STATES, strict=True)
    )
    forms = tuple(
        WrongForm(
            named.code,
            {"holding": frozenset(groups["holding"] | {reverse}), "idle": frozenset(groups["idle"] - {reverse})},
            named.sentence,
        )
        for named in item.named_mistakes
    )
    return BuiltItem(parts, Key(checkers, forms), {"chart": _chart_without_names(facts, rows)})


def _shuffled_rows(facts: DrawnValues, seeded: SeededRandom) -> dict[str, Row]:
    """The ranges that drive in a drawn order, called row 1, row 2 and so on."""
    rows = seeded.shuffled(driving_ranges(facts.layout_name, facts.teeth))
    return {f"row {number}": row for number, row in enumerate(rows, start=1)}


def _row_choices(labels: tuple[str, ...]) -> Choices:
    return Choices(labels, aliases={label.removeprefix("row "): label for label in labels})


def _chart_without_names(facts: DrawnValues, rows: Mapping[str, Row]) -> str:
    names = elements(facts.layout_name)
    lines = [["row", *names], ["---"] * (len(names) + 1)]
    lines += [
        [label.removeprefix("row "), *("X" if name in row.engaged else "·" for name in names)] for label, row in rows.items()
    ]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def rows_without_one_way(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which rows of a chart without names still drive when the one-way clutch does not hold.

    Args:
        item: the item.
        facts: the drawn layout.
        seeded: the order of the rows.
    """
    rows = _shuffled_rows(facts, seeded)
    works = {
        label
        for label, row in rows.items()
        if mobility.assess(facts.train, row.engaged - {_FREEWHEEL}).verdict is Verdict.RANGE
    }
    forward = _turning_forward(facts.train, tuple(rows.values()))
    low = {label for label, row in rows.items() if row.name == "1L"}
    wrong = {"ONERANGE": works - low, "OWC": {label for label in works if rows[label].name not in forward}}
    return _rows_task(item, facts, rows, works, wrong)


def rows_with_reversed_one_way(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which rows of a chart without names bind when the one-way clutch sits the wrong way round.

    Args:
        item: the item.
        facts: the drawn layout.
        seeded: the order of the rows, and which single row stands for "one row only".
    """
    rows = _shuffled_rows(facts, seeded)
    forward = _turning_forward(facts.train, tuple(rows.values()))
    binds = {label for label, row in rows.items() if row.name in forward}
    first = {label for label, row in rows.items() if _FREEWHEEL in row.engaged}
    wrong = {"OWC": first, "ONERANGE": {seeded.pick(sorted(binds))}}
    return _rows_task(item, facts, rows, binds, wrong)


def _rows_task(
    item: Item, facts: DrawnValues, rows: Mapping[str, Row], right: set[str], wrong: Mapping[str, set[str]]
) -> BuiltItem:
    labels = tuple(rows)
    forms = tuple(
        WrongForm(named.code, {ONE_PART: frozenset(wrong[named.code])}, named.sentence) for named in item.named_mistakes
    )
    part = Part(ONE_PART, "rows", AnswerKind.MULTIPLE_CHOICE, "", labels, Fraction(item.marks))
    key = Key({ONE_PART: SeveralChecker(_row_choices(labels), (frozenset(right),), clean=_CLEAN)}, forms)
    return BuiltItem((part,), key, {"chart": _chart_without_names(facts, rows), "name": plain_name(facts.layout_name)})


def _turning_forward(layout: Layout, rows: tuple[Row, ...]) -> frozenset[str]:
    """Return the ranges in which the one-way clutch's member turns forward."""
    member = layout.element_named(_FREEWHEEL).turning_part
    found = set()
    for row in rows:
        speed = speeds(layout, row.engaged).members[member]
        if speed is not None and speed > 0:
            found.add(row.name)
    return frozenset(found)


def one_way_fails(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which ranges still drive when the one-way clutch does not hold.

    Args:
        item: the item.
        facts: the drawn layout.
        seeded: not used.
    """
    rows = driving_ranges(facts.layout_name, facts.teeth)
    works = frozenset(
        row.name for row in rows if mobility.assess(facts.train, row.engaged - {_FREEWHEEL}).verdict is Verdict.RANGE
    )
    wrong = {"ONERANGE": works - {"1L"}, "OWC": works - {"2"}}
    return _ranges_task(item, facts, rows, works, wrong)


def one_way_reversed(item: Item, facts: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which ranges bind when the one-way clutch sits the wrong way round.

    Args:
        item: the item.
        facts: the drawn layout.
        seeded: which single range stands for "one range only".
    """
    rows = driving_ranges(facts.layout_name, facts.teeth)
    binds = _turning_forward(facts.train, rows)
    wrong = {"OWC": frozenset({"1"}), "ONERANGE": frozenset({seeded.pick(sorted(binds))})}
    return _ranges_task(item, facts, rows, binds, wrong)


def _ranges_task(
    item: Item, facts: DrawnValues, rows: tuple[Row, ...], right: frozenset[str], wrong: Mapping[str, frozenset[str]]
) -> BuiltItem:
    names = tuple(row.name for row in rows)
    forms = tuple(WrongForm(named.code, {ONE_PART: wrong[named.code]}, named.sentence) for named in item.named_mistakes)
    part = Part(ONE_PART, "ranges", AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(item.marks))
    key = Key({ONE_PART: SeveralChecker(Choices(names), (right,))}, forms)
    return BuiltItem((part,), key, {"chart": chart_of(facts), "name": plain_name(facts.layout_name)})


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "swaps": swaps,
    "double_swaps": double_swaps,
    "one_way_states": one_way_states,
    "one_way_groups": one_way_groups,
    "rows_without_one_way": rows_without_one_way,
    "rows_with_reversed_one_way": rows_with_reversed_one_way,
    "one_way_fails": one_way_fails,
    "one_way_reversed": one_way_reversed,
}
