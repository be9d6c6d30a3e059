"""The application chart: filling it in, one row of it, and what each element does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from gearkit.answers.item import ONE_PART, AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.words import SeveralChecker
from gearkit.answers.layouts import words
from gearkit.answers.layouts.family import Ask, Case, Family, grid, part_name
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve import ratios
from gearkit.text.phrases import decimal
from gearkit.train.elements import Element
from gearkit.words.say import later, say
from gearkit.words.terms import HOUSING, INPUT, ElementKind

SUBJECT = later("chart")
_OTHER = later("This gives the ratio as well; the layout's own chart has another.")
ROLES = (later("joins to the input"), later("joins two members"), later("holds to the housing"), later("holds one way only"))
ROLE_WORDS = {
    "clutch to input": ROLES[0],
    "brake": ROLES[2],
    "one-way": ROLES[3],
    "one-way clutch": ROLES[3],
    "holds to the case": ROLES[2],
    "input": ROLES[0],
}
_COUNTED = (
    later("no element"),
    later("one element"),
    later("two elements"),
    later("three elements"),
    later("four elements"),
    later("five elements"),
)


def _can_be_asked(train: Train) -> bool:
    return not train.one_ways and all(0 < len(row.engaged) < len(_COUNTED) for row in train.distinct)


def _charts(train: Train) -> Iterator[Case]:
    rows = train.distinct
    if len(rows) < 3 or not _can_be_asked(train):
        return
    yield Case(
        (),
        say("application chart"),
        say("Fill in the application chart: which elements are applied to give each of these ratios?"),
        len(rows),
        3,
        (
            say("From one range to the next one element usually stays: try the combinations that hold one of those you have."),
            say("Direct drive is a combination without a brake."),
            say("A brake alone drives nothing: look which clutch, or which shaft, brings the input in."),
        ),
        asks=frozenset(f"chart {row.name}" for row in rows),
        tells=frozenset(f"ratio {row.name}" for row in rows),
    )


def _chart(ask: Ask) -> BuiltItem | None:
    layout = ask.train.layout
    names = tuple(element.name for element in layout.elements)
    rows = [ask.train.row(row.name) for row in ask.own.distinct]
    same = same_ratio(ask.train, rows)
    parts, checkers, forms = [], {}, []
    brakes = frozenset(element.name for element in layout.elements if "housing" in element.between)
    for place, row in enumerate(rows, start=1):
        part = part_name("range", row.name, place)
        checkers[part] = SeveralChecker(Choices(names), accepted_for(row, same), scoring="all", other_remark=say(_OTHER))
        count = say(_COUNTED[len(row.engaged)])
        parts.append(
            Part(
                part,
                say("range {row}, ratio {ratio}, {number}", row=row.name, ratio=decimal(row.ratio), number=count),
                AnswerKind.MULTIPLE_CHOICE,
                "",
                names,
            )
        )
        if len(brakes) >= 2 and brakes not in checkers[part].accepted:
            forms.append(WrongForm("ROLE", {part: brakes}, say("Those only hold; look what brings the input in.")))
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms)))


def same_ratio(train: Train, rows: Sequence[Drive]) -> dict[tuple[int, Fraction], tuple[frozenset[str], ...]]:
    """Return combinations by how many elements they apply and the ratio that they give.

    Args:
        train: the train.
        rows: ranges of whose sizes combinations are looked at.
    """
    by_size_and_ratio: dict[tuple[int, Fraction], list[frozenset[str]]] = {}
    for combination, state in ratios.combinations(train.layout, {len(row.engaged) for row in rows}):
        if state.ratio is not None:
            by_size_and_ratio.setdefault((len(combination), state.ratio), []).append(frozenset(combination))
    return {key: tuple(value) for key, value in by_size_and_ratio.items()}


def accepted_for(row: Drive, same: Mapping[tuple[int, Fraction], tuple[frozenset[str], ...]]) -> tuple[frozenset[str], ...]:
    """Return the combinations that are right for a range: its own first, then as large ones that give its ratio.

    Args:
        row: the range.
        same: what `same_ratio` gave.
    """
    own = frozenset(row.engaged)
    return own, *(combination for combination in same.get((len(row.engaged), row.ratio), ()) if combination != own)


def _rows(train: Train) -> Iterator[Case]:
    if not _can_be_asked(train) or len(train.distinct) < 2:
        return
    for row in train.distinct:
        count = say(_COUNTED[len(row.engaged)])
        yield Case(
            (row.name,),
            say("elements applied in range {row}", row=row.name),
            say("Range {row} has {number} applied and the ratio <i>. Which? (All or nothing.)", row=row.name, number=count),
            3,
            2,
            (
                say("A ratio of 1 is made by joining: everything then turns as a block."),
                say("Below 0: some set must have its carrier held, or something that does the same."),
                say("Try what is simple first: one set with one member driven and one held."),
            ),
            asks=frozenset({f"chart {row.name}"}),
            tells=frozenset({f"ratio {row.name}"}),
        )


def _row(ask: Ask) -> BuiltItem | None:
    layout, row = ask.train.layout, ask.train.row(ask.about[0])
    names = tuple(element.name for element in layout.elements)
    accepted = accepted_for(row, same_ratio(ask.train, [row]))
    checker = SeveralChecker(Choices(names), accepted, scoring="all", other_remark=say(_OTHER))
    forms = []
    for other in ask.train.distinct:
        chosen = frozenset(other.engaged)
        if chosen not in accepted and len(chosen) == len(row.engaged):
            forms.append(
                WrongForm(
                    "OTHERRANGE",
                    {ONE_PART: chosen},
                    say("Those make range {other}, whose ratio is another.", other=other.name)
                    if other.ratio * row.ratio > 0
                    else say("Those make range {other}, in which the output turns the other way.", other=other.name),
                )
            )
    part = Part(ONE_PART, say("elements"), AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(ask.item.marks))
    return BuiltItem((part,), Key({ONE_PART: checker}, tuple(forms)), {"i": decimal(row.ratio)})


def role_of(element: Element) -> str:
    """Return what an element does, in the words of the grid.

    Args:
        element: the element.
    """
    if element.kind is ElementKind.ONE_WAY_CLUTCH:
        return ROLES[3]
    if HOUSING in element.between:
        return ROLES[2]
    return ROLES[0] if INPUT in element.between else ROLES[1]


def _roles(train: Train) -> Iterator[Case]:
    elements = train.layout.elements
    if len(elements) < 3 or len({role_of(element) for element in elements}) < 2:
        return
    yield Case(
        (),
        say("what each element does"),
        say(
            "Say for each element what it does: joins to the input, joins two members, holds to the housing, or holds one way only."
        ),
        (len(elements) + 1) // 2,
        1,
        (
            say("Look at the two things that the element touches."),
            say("The housing on one side: it can only hold."),
            say("An arrow means one way only."),
        ),
        asks=frozenset({"kinds"}),
        shows=(words.PLAIN,),
    )


def _role_grid(ask: Ask) -> BuiltItem | None:
    rows, forms = [], []
    for place, element in enumerate(ask.train.layout.elements, start=1):
        part, right = part_name("element", element.name, place), role_of(element)
        rows.append((part, words.element_words(ask.train.layout, element, kinds=False), right))
        if right == ROLES[3]:
            forms.append(
                WrongForm(
                    "OWC", {part: ROLES[2]}, say("The arrow says that it holds in one direction only and lets go in the other.")
                )
            )
        elif right == ROLES[2]:
            forms.append(WrongForm("ROLE", {part: ROLES[1]}))
        elif right == ROLES[0]:
            forms.append(WrongForm("ROLE", {part: ROLES[1]}, say("One of the two is the input: what does it bring in?")))
        else:
            forms.append(WrongForm("ROLE", {part: ROLES[0]}, say("Is the input one of the two?")))
    return grid(ask, rows, ROLES, forms, aliases=ROLE_WORDS)


FAMILIES = (
    Family("roles", SUBJECT, 6, AnswerKind.CLASSIFICATION_GRID, _roles, _role_grid),
    Family("chart-row", SUBJECT, 6, AnswerKind.MULTIPLE_CHOICE, _rows, _row),
    Family("chart", SUBJECT, 6, AnswerKind.CHART_GRID, _charts, _chart),
)
