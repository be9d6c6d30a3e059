"""The application chart: filling it in, one row of it, and what each element does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from gearkit.answers.items import ONE_PART, AnswerKind
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
from gearkit.words.terms import HOUSING, INPUT, ElementKind

SUBJECT = "chart"
_OTHER = "This gives the ratio as well; the layout's own chart has another."
ROLES = ("joins to the input", "joins two members", "holds to the housing", "holds one way only")
ROLE_WORDS = {
    "clutch to input": ROLES[0],
    "brake": ROLES[2],
    "one-way": ROLES[3],
    "one-way clutch": ROLES[3],
    "holds to the case": ROLES[2],
    "input": ROLES[0],
}
_COUNTED = ("no element", "one element", "two elements", "three elements", "four elements", "five elements")


def _can_be_asked(train: Train) -> bool:
    return not train.one_ways and all(0 < len(row.engaged) < len(_COUNTED) for row in train.distinct)


def _charts(train: Train) -> Iterator[Case]:
    rows = train.distinct
    if len(rows) < 3 or not _can_be_asked(train):
        return
    yield Case(
        (),
        "application chart",
        "Fill in the application chart: which elements are applied to give each of these ratios?",
        len(rows),
        3,
        (
            "From one range to the next one element usually stays: try the combinations that hold one of those you have.",
            "Direct drive is a combination without a brake.",
            "A brake alone drives nothing: look which clutch, or which shaft, brings the input in.",
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
        checkers[part] = SeveralChecker(Choices(names), accepted_for(row, same), scoring="all", other_remark=_OTHER)
        count = _COUNTED[len(row.engaged)]
        parts.append(
            Part(part, f"range {row.name}, ratio {decimal(row.ratio)}, {count}", AnswerKind.MULTIPLE_CHOICE, "", names)
        )
        if len(brakes) >= 2 and brakes not in checkers[part].accepted:
            forms.append(WrongForm("ROLE", {part: brakes}, "Those only hold; look what brings the input in."))
    return BuiltItem(tuple(parts), Key(checkers, tuple(forms)))


def same_ratio(train: Train, rows: Sequence[Drive]) -> dict[tuple[int, Fraction], tuple[frozenset[str], ...]]:
    """Return combinations by how many elements they apply and the ratio that they give.

    Args:
        train: the train.
        rows: ranges of whose sizes combinations are looked at.
    """
    found: dict[tuple[int, Fraction], list[frozenset[str]]] = {}
    for applied, state in ratios.combinations(train.layout, {len(row.engaged) for row in rows}):
        if state.ratio is not None:
            found.setdefault((len(applied), state.ratio), []).append(frozenset(applied))
    return {key: tuple(value) for key, value in found.items()}


def accepted_for(row: Drive, same: Mapping[tuple[int, Fraction], tuple[frozenset[str], ...]]) -> tuple[frozenset[str], ...]:
    """Return the combinations that are right for a range: its own first, then as large ones that give its ratio.

    Args:
        row: the range.
        same: what `same_ratio` gave.
    """
    own = frozenset(row.engaged)
    return own, *(one for one in same.get((len(row.engaged), row.ratio), ()) if one != own)


def _rows(train: Train) -> Iterator[Case]:
    if not _can_be_asked(train) or len(train.distinct) < 3:
        return
    for row in train.distinct:
        count = _COUNTED[len(row.engaged)]
        yield Case(
            (row.name,),
            f"elements applied in range {row.name}",
            f"Range {row.name} has {count} applied and the ratio <i>. Which? (All or nothing.)",
            3,
            2,
            (
                "A ratio of 1 is made by joining: everything then turns as a block.",
                "Below 0: some set must have its carrier held, or something that does the same.",
                "Try what is simple first: one set with one member driven and one held.",
            ),
            asks=frozenset({f"chart {row.name}"}),
            tells=frozenset({f"ratio {row.name}"}),
        )


def _row(ask: Ask) -> BuiltItem | None:
    layout, row = ask.train.layout, ask.train.row(ask.about[0])
    names = tuple(element.name for element in layout.elements)
    accepted = accepted_for(row, same_ratio(ask.train, [row]))
    checker = SeveralChecker(Choices(names), accepted, scoring="all", other_remark=_OTHER)
    forms = []
    for other in ask.train.distinct:
        chosen = frozenset(other.engaged)
        if chosen not in accepted and len(chosen) == len(row.engaged):
            forms.append(
                WrongForm(
                    "OTHERRANGE",
                    {ONE_PART: chosen},
                    f"Those make range {other.name}, whose ratio is another."
                    if other.ratio * row.ratio > 0
                    else f"Those make range {other.name}, in which the output turns the other way.",
                )
            )
    part = Part(ONE_PART, "elements", AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(ask.item.marks))
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
        "what each element does",
        "Say for each element what it does: joins to the input, joins two members, holds to the housing, or holds one way "
        "only.",
        (len(elements) + 1) // 2,
        1,
        (
            "Look at the two things that the element touches.",
            "The housing on one side: it can only hold.",
            "An arrow means one way only.",
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
                    "OWC", {part: ROLES[2]}, "The arrow says that it holds in one direction only and lets go in the other."
                )
            )
        elif right == ROLES[2]:
            forms.append(WrongForm("ROLE", {part: ROLES[1]}))
        elif right == ROLES[0]:
            forms.append(WrongForm("ROLE", {part: ROLES[1]}, "One of the two is the input: what does it bring in?"))
        else:
            forms.append(WrongForm("ROLE", {part: ROLES[0]}, "Is the input one of the two?"))
    return grid(ask, rows, ROLES, forms, aliases=ROLE_WORDS)


FAMILIES = (
    Family("roles", SUBJECT, 6, AnswerKind.CLASSIFICATION_GRID, _roles, _role_grid),
    Family("chart-row", SUBJECT, 6, AnswerKind.MULTIPLE_CHOICE, _rows, _row),
    Family("chart", SUBJECT, 6, AnswerKind.CHART_GRID, _charts, _chart),
)
