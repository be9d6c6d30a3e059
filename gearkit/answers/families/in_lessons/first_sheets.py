"""The first items that sheets had from any layout, for courses handed out with them: its text stands in the item, its counts stay."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache

from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.families.chart import accepted_for, same_ratio
from gearkit.answers.families.power_path import STATES
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.layouts.own_teeth import layout_in
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.answers.rules.trains import signed
from gearkit.solve import ratios
from gearkit.solve.mobility import Mobility
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, Verdict

ASKED = 6
MOST_APPLIED = 3


@lru_cache(maxsize=8)
def _judged(text: str) -> tuple[tuple[tuple[str, ...], Mobility], ...]:
    """Every combination of one to three elements and what it does; ranges of the chart are among them here."""
    return tuple(ratios.combinations(layout_in(text), range(1, MOST_APPLIED + 1)))


def states(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Return what up to six combinations of applied elements do; one of each verdict that the layout has is among them.

    Args:
        item: the item; its option is the layout's text.
        drawn: not used.
        seeded: which combinations.
    """
    by_verdict: dict[Verdict, list[tuple[tuple[str, ...], Mobility]]] = {}
    for combination, state in _judged(item.option):
        by_verdict.setdefault(state.verdict, []).append((combination, state))
    chosen = [seeded.pick(pairs) for pairs in by_verdict.values()]
    spare = [pair for pairs in by_verdict.values() for pair in pairs if pair not in chosen]
    rows = seeded.shuffled([*chosen, *seeded.shuffled(spare)][:ASKED])
    choices = Choices(STATES, aliases={"locked": Verdict.TIE_UP, "a range": Verdict.RANGE})
    parts, checkers, forms = [], {}, []
    for number, (combination, state) in enumerate(rows, start=1):
        name = f"row_{number}"
        parts.append(Part(name, say("{join} applied", join=", ".join(combination)), AnswerKind.CHOICE, "", STATES))
        checkers[name] = ChoiceChecker(choices, str(state.verdict))
        if state.verdict is Verdict.RANGE and state.redundant:
            forms.append(WrongForm("COUNT", {name: str(Verdict.TIE_UP)}))
        elif state.verdict is Verdict.NEUTRAL:
            forms.append(WrongForm("LOCKFREE", {name: str(Verdict.RANGE)}))
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms)))


def rows_of_states(text: str) -> int:
    """Return how many combinations `states` asks about.

    Args:
        text: text of a layout file.
    """
    return min(ASKED, len(_judged(text)))


@lru_cache(maxsize=8)
def _driving(text: str) -> tuple[Drive, ...]:
    """Ranges that drive with all that they list, as these items have always had them; of several with the same elements the first."""
    layout = layout_in(text)
    rows: dict[frozenset[str], Drive] = {}
    for named_range in layout.ranges:
        formula = ratios.ratio(layout, named_range.engaged)
        if formula is not None:
            drive = Drive(named_range.name, tuple(named_range.engaged), formula.exact, False)
            rows.setdefault(frozenset(named_range.engaged), drive)
    return tuple(rows.values())


@lru_cache(maxsize=8)
def _same(text: str) -> dict[tuple[int, Fraction], tuple[frozenset[str], ...]]:
    return same_ratio(Train(layout_in(text)), _driving(text))


def chart(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Return the elements applied in each range, with the ratios given; any combination that gives the ratio is right.

    Args:
        item: the item; its option is the layout's text.
        drawn: not used.
        seeded: not used.
    """
    layout = layout_in(item.option)
    names = tuple(element.name for element in layout.elements)
    choices, rows = Choices(names), _driving(item.option)
    same = _same(item.option)
    parts, checkers = [], {}
    for place, row in enumerate(rows, start=1):
        part = f"row_{place}"
        checkers[part] = SeveralChecker(
            choices,
            accepted_for(row, same),
            scoring="all",
            other_remark=say("This gives the ratio as well; the layout's own chart has another."),
        )
        parts.append(
            Part(
                part,
                say(
                    "range {row}, ratio {signed}, {engaged} applied",
                    row=row.name,
                    signed=signed(row.ratio),
                    engaged=len(row.engaged),
                ),
                AnswerKind.MULTIPLE_CHOICE,
                "",
                names,
            )
        )
    brakes = frozenset(element.name for element in layout.elements if HOUSING in element.between)
    forms = [
        WrongForm("ROLE", {part: brakes})
        for part, checker in checkers.items()
        if len(brakes) >= 2 and brakes not in checker.accepted
    ]
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms)))


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "layout_states": states,
    "layout_chart": chart,
}
