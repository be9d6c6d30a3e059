"""Rules about shifts and one-way clutches: what lets go, what takes hold, what overruns."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import pairwise

from gearkit.answers.draw_numbers.pool import plain_name
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.families.one_way import STATE_WORDS, STATES, binding, state_of, works_without
from gearkit.answers.families.shift_moments import exchange
from gearkit.answers.families.shifting import all_shifts
from gearkit.answers.item import ONE_PART, AnswerKind, Item
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.layouts.family import ask_of
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.answers.rules.trains import chart_of, elements
from gearkit.words.say import say
from gearkit.words.terms import OneWayState

_FREEWHEEL = "F"
_CLEAN = Fraction(1, 2)


def swaps(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The off-going and the on-coming element of every upshift.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: not used.
    """
    train, names = ask_of(item, drawn, seeded).train, elements(drawn.layout_name)
    choices = Choices(names)
    parts: list[Part] = []
    checkers: dict[str, Checker] = {}
    forms = []
    for low, high in pairwise(train.forward):
        (off,), (on,) = exchange(train, low.name, high.name)
        shift = f"{low.name}_{high.name}"
        for name, words, element in ((f"off_{shift}", say("lets go"), off), (f"on_{shift}", say("takes hold"), on)):
            label = say("{low} to {high}, {words}", low=low.name, high=high.name, words=words)
            parts.append(Part(name, label, AnswerKind.CHOICE, "", names, Fraction(1, 2)))
            checkers[name] = ChoiceChecker(choices, element)
        forms += [
            WrongForm(named.code, {f"off_{shift}": on, f"on_{shift}": off}, named.sentence, together=True)
            for named in item.named_mistakes
        ]
    whole = {name: content for form in forms for name, content in form.contents.items()}
    forms.append(WrongForm(item.named_mistakes[0].code, whole, item.named_mistakes[0].sentence, together=True))
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms)), {"chart": chart_of(drawn)})


def double_swaps(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which of six shifts are double swaps.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: which six shifts.
    """
    shifts = all_shifts(ask_of(item, drawn, seeded).train)
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
    words = {"chart": chart_of(drawn), "list": labelled(choices.options)}
    return BuiltItem((part,), Key({ONE_PART: checker}, forms), words)


def one_way_states(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """What the one-way clutch does in each range.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: not used.
    """
    train = ask_of(item, drawn, seeded).train
    right: dict[str, str] = {}
    for name in ("1", "2", "3", "4", "R"):
        state = state_of(train, train.row(name), _FREEWHEEL)
        if state not in STATE_WORDS:
            return None
        right[f"range_{name}"] = STATE_WORDS[state]
    choices = Choices(STATES, aliases={"held": STATES[0], "holds": STATES[0], "overruns": STATES[1]})
    marks = Fraction(item.marks, len(right))
    parts = tuple(Part(name, name.removeprefix("range_"), AnswerKind.CHOICE, "", STATES, marks) for name in right)
    forms = tuple(WrongForm(named.code, {"range_R": STATES[0]}, named.sentence) for named in item.named_mistakes)
    key = Key({name: ChoiceChecker(choices, state) for name, state in right.items()}, forms)
    return BuiltItem(parts, key, {"chart": chart_of(drawn)})


def one_way_groups(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """In which rows of a chart without names the one-way clutch holds, overruns or is idle.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: the order of the rows.
    """
    train = ask_of(item, drawn, seeded).train
    rows = _shuffled_rows(train, seeded)
    groups: dict[str, set[str]] = {"holding": set(), "overrunning": set(), "idle": set()}
    reverse = ""
    for label, row in rows.items():
        state = state_of(train, row, _FREEWHEEL)
        if state not in STATE_WORDS:
            return None
        groups[STATE_WORDS[state].partition(",")[0]].add(label)
        reverse = label if row.name == "R" else reverse
    if not all(groups.values()):
        return None
    labels = tuple(rows)
    choices = _row_choices(labels)
    checkers: dict[str, Checker] = {
        name: SeveralChecker(choices, (frozenset(ranges),), clean=_CLEAN) for name, ranges in groups.items()
    }
    parts = tuple(
        Part(name, state, AnswerKind.MULTIPLE_CHOICE, "", labels, Fraction(item.marks, len(groups)))
        for name, state in zip(groups, STATES, strict=True)
    )
    forms = tuple(
        WrongForm(
            named.code,
            {"holding": frozenset(groups["holding"] | {reverse}), "idle": frozenset(groups["idle"] - {reverse})},
            named.sentence,
        )
        for named in item.named_mistakes
    )
    return BuiltItem(parts, Key(checkers, forms), {"chart": _chart_without_names(drawn, rows)})


def _shuffled_rows(train: Train, seeded: SeededRandom) -> dict[str, Drive]:
    """The ranges that drive in a drawn order, called row 1, row 2 and so on."""
    rows = seeded.shuffled(train.drives)
    return {say("row {number}", number=number): row for number, row in enumerate(rows, start=1)}


def _row_choices(labels: tuple[str, ...]) -> Choices:
    return Choices(labels, aliases={str(number): label for number, label in enumerate(labels, start=1)})


def _chart_without_names(drawn: DrawnValues, rows: Mapping[str, Drive]) -> str:
    names = elements(drawn.layout_name)
    lines = [[say("row"), *names], ["---"] * (len(names) + 1)]
    lines += [
        [str(number), *("●" if name in row.engaged else "·" for name in names)]
        for number, row in enumerate(rows.values(), start=1)
    ]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def rows_without_one_way(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which rows of a chart without names still drive when the one-way clutch does not hold.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: the order of the rows.
    """
    train = ask_of(item, drawn, seeded).train
    rows = _shuffled_rows(train, seeded)
    works = {label for label, row in rows.items() if works_without(train, row, _FREEWHEEL)}
    overruns = {label for label, row in rows.items() if state_of(train, row, _FREEWHEEL) is OneWayState.OVERRUNNING}
    low = {label for label, row in rows.items() if row.name == "1L"}
    wrong = {"ONERANGE": works - low, "OWC": works - overruns}
    return _rows_item(item, drawn, rows, works, wrong)


def rows_with_reversed_one_way(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which rows of a chart without names bind when the one-way clutch sits the wrong way round.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: the order of the rows, and which single row stands for "one row only".
    """
    train = ask_of(item, drawn, seeded).train
    rows, bound = _shuffled_rows(train, seeded), binding(train, _FREEWHEEL)
    binds = {label for label, row in rows.items() if row.name in bound}
    first = {label for label, row in rows.items() if _FREEWHEEL in row.engaged}
    wrong = {"OWC": first, "ONERANGE": {seeded.pick(sorted(binds))}}
    return _rows_item(item, drawn, rows, binds, wrong)


def _rows_item(
    item: Item, drawn: DrawnValues, rows: Mapping[str, Drive], right: set[str], wrong: Mapping[str, set[str]]
) -> BuiltItem:
    labels = tuple(rows)
    forms = tuple(
        WrongForm(named.code, {ONE_PART: frozenset(wrong[named.code])}, named.sentence) for named in item.named_mistakes
    )
    part = Part(ONE_PART, say("rows"), AnswerKind.MULTIPLE_CHOICE, "", labels, Fraction(item.marks))
    key = Key({ONE_PART: SeveralChecker(_row_choices(labels), (frozenset(right),), clean=_CLEAN)}, forms)
    return BuiltItem((part,), key, {"chart": _chart_without_names(drawn, rows), "name": plain_name(drawn.layout_name)})


def one_way_fails(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which ranges still drive when the one-way clutch does not hold.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: not used.
    """
    train = ask_of(item, drawn, seeded).train
    rows = train.drives
    works = frozenset(row.name for row in rows if works_without(train, row, _FREEWHEEL))
    wrong = {"ONERANGE": works - {"1L"}, "OWC": works - {"2"}}
    return _ranges_item(item, drawn, rows, works, wrong)


def one_way_reversed(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which ranges bind when the one-way clutch sits the wrong way round.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: which single range stands for "one range only".
    """
    train = ask_of(item, drawn, seeded).train
    rows, binds = train.drives, frozenset(binding(train, _FREEWHEEL))
    wrong = {"OWC": frozenset({"1"}), "ONERANGE": frozenset({seeded.pick(sorted(binds))})}
    return _ranges_item(item, drawn, rows, binds, wrong)


def _ranges_item(
    item: Item, drawn: DrawnValues, rows: tuple[Drive, ...], right: frozenset[str], wrong: Mapping[str, frozenset[str]]
) -> BuiltItem:
    names = tuple(row.name for row in rows)
    forms = tuple(WrongForm(named.code, {ONE_PART: wrong[named.code]}, named.sentence) for named in item.named_mistakes)
    part = Part(ONE_PART, "ranges", AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(item.marks))
    key = Key({ONE_PART: SeveralChecker(Choices(names), (right,))}, forms)
    return BuiltItem((part,), key, {"chart": chart_of(drawn), "name": plain_name(drawn.layout_name)})


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
