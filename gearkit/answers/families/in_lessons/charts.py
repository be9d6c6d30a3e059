"""Rules about a layout's application chart: rows to fill in, what each element does."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from gearkit.answers.draw_numbers.pool import layout_named
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.families.chart import ROLE_WORDS, ROLES, accepted_for, role_of, same_ratio
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.judge.claims import Claim, Relation
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.layouts.family import ask_of
from gearkit.answers.layouts.train import Drive
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.answers.rules.trains import elements, signed, verdicts
from gearkit.solve import mobility
from gearkit.text.phrases import member_words
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import ElementKind, Verdict

_STATES = tuple(
    str(verdict) for verdict in (Verdict.NEUTRAL, Verdict.RANGE, Verdict.INPUT_LOCKED, Verdict.OUTPUT_LOCKED, Verdict.TIE_UP)
)


def chart(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The elements applied in each range, rows listed with their ratios.

    Any combination of as many elements that really gives the ratio is right; the remark names the one reason for the
    designer's choice.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: not used.
    """
    ask = ask_of(item, drawn, seeded)
    layout, names, rows = ask.own.layout, elements(drawn.layout_name), ask.train.distinct
    same = same_ratio(ask.train, rows)
    choices = Choices(names)
    parts, checkers, forms = [], {}, []
    for place, row in enumerate(rows):
        part = f"range_{row.name}"
        accepted = accepted_for(row, same)
        checkers[part] = SeveralChecker(
            choices,
            accepted,
            scoring="all",
            other_remark=(
                say("That pair gives the ratio as well; the designer chose another so that each shift swaps one element only.")
            ),
        )
        parts.append(Part(part, f"{row.name} ({signed(row.ratio)})", AnswerKind.MULTIPLE_CHOICE, "", names))
        if place:
            forms.append(_copied_row(item, part, rows[place - 1]))
    return BuiltItem(tuple(parts), Key(checkers, (*_roles_mixed(item, layout, checkers), *forms)))


def _copied_row(item: Item, part: str, above: Drive) -> WrongForm:
    """The row above once more; "this row repeats the one above" is true where that one is right."""
    sentence = next((named.sentence for named in item.named_mistakes if named.code == "ONERANGE"), "")
    return WrongForm(
        "ONERANGE", {part: frozenset(above.engaged)}, sentence, needs=(Claim(f"range_{above.name}", Relation.RIGHT),)
    )


def _roles_mixed(item: Item, layout: Layout, checkers: dict[str, SeveralChecker]) -> list[WrongForm]:
    """Two brakes and no clutch to the input: nothing would drive the train."""
    sentence = next((named.sentence for named in item.named_mistakes if named.code == "ROLE"), "")
    brakes = frozenset(element.name for element in layout.elements if element.kind is ElementKind.BRAKE)
    return [
        WrongForm("ROLE", {part: brakes}, sentence)
        for part, checker in checkers.items()
        if brakes not in checker.accepted and len(brakes) >= 2
    ]


def roles(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """What each element of the layout does.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: not used.
    """
    layout = layout_named(drawn.layout_name)
    choices = Choices(ROLES, aliases=ROLE_WORDS)
    right = {element.name: role_of(element) for element in layout.elements}
    parts = tuple(
        Part(
            element.name, f"{element.name}: {_between(element)}", AnswerKind.CHOICE, "", ROLES, Fraction(item.marks, len(right))
        )
        for element in layout.elements
    )
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    forms = [WrongForm("OWC", {name: ROLES[2]}, sentences["OWC"]) for name, role in right.items() if role == ROLES[3]]
    forms += [WrongForm("ROLE", {name: ROLES[1]}, sentences["ROLE"]) for name, role in right.items() if role == ROLES[2]]
    checkers = {name: ChoiceChecker(choices, role) for name, role in right.items()}
    return BuiltItem(parts, Key(checkers, tuple(forms)))


def role_groups(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which elements of the layout join to the input, hold to the housing both ways, hold one way only.

    Args:
        item: the item.
        drawn: the drawn layout; it has no element that joins two members.
        seeded: not used.
    """
    layout = layout_named(drawn.layout_name)
    roles = {element.name: role_of(element) for element in layout.elements}
    names = tuple(roles)
    groups = {"to_input": ROLES[0], "to_housing": ROLES[2], "one_way": ROLES[3]}
    right = {part: frozenset(name for name, role in roles.items() if role == wanted) for part, wanted in groups.items()}
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    forms = (
        WrongForm("OWC", {"to_housing": right["to_housing"] | right["one_way"]}, sentences["OWC"]),
        WrongForm("ROLE", {"to_input": right["to_housing"], "to_housing": right["to_input"]}, sentences["ROLE"]),
    )
    choices = Choices(names)
    parts = tuple(
        Part(part, role, AnswerKind.MULTIPLE_CHOICE, "", names, Fraction(item.marks, len(groups)))
        for part, role in groups.items()
    )
    checkers = {part: SeveralChecker(choices, (letters,), clean=Fraction(1, 2)) for part, letters in right.items()}
    (clutch,) = right["one_way"]
    return BuiltItem(parts, Key(checkers, forms), {"one_way": say("(In a drawing {one_} has an arrow.)", one_=clutch)})


def _between(element: Element) -> str:
    return " and ".join(member_words(member) for member in element.between) + (
        say(", with an arrow") if element.kind is ElementKind.ONE_WAY_CLUTCH else ""
    )


def states(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """What six combinations of applied elements do.

    At least one of each verdict that the layout has is among them, and always one in which three elements agree.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: which combinations.
    """
    layout = drawn.train
    by_verdict: dict[Verdict, list[frozenset[str]]] = {}
    agreeing = []
    for combination, verdict in verdicts(drawn.layout_name):
        by_verdict.setdefault(verdict, []).append(combination)
        if verdict is Verdict.RANGE and len(combination) == 3:
            agreeing.append(combination)
    chosen = [seeded.pick(agreeing), *(seeded.pick(pairs) for pairs in by_verdict.values())]
    spare = [pair for pairs in by_verdict.values() for pair in pairs if pair not in chosen]
    chosen = list(dict.fromkeys([*chosen, *seeded.shuffled(spare)]))[:6]
    # Parts have names that are the same for everybody, so that a sheet's cell can be written before the draw.
    rows = {f"row_{number}": pair for number, pair in enumerate(seeded.shuffled(chosen), start=1)}
    right = {name: str(mobility.assess(layout, pair).verdict) for name, pair in rows.items()}
    choices = Choices(_STATES, aliases={"direct": Verdict.RANGE, "locked": Verdict.TIE_UP, "a range": Verdict.RANGE})
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    forms = [
        WrongForm("COUNT", {name: str(Verdict.TIE_UP)}, sentences["COUNT"])
        for name, state in right.items()
        if len(rows[name]) == 3 and state == Verdict.RANGE
    ]
    forms += [
        WrongForm("LOCKFREE", {name: str(Verdict.RANGE)}, sentences["LOCKFREE"])
        for name, state in right.items()
        if len(rows[name]) == 1 and state == Verdict.NEUTRAL
    ]
    parts = tuple(Part(name, ", ".join(sorted(pair)), AnswerKind.CHOICE, "", _STATES) for name, pair in rows.items())
    checkers = {name: ChoiceChecker(choices, state) for name, state in right.items()}
    return BuiltItem(parts, Key(checkers, tuple(forms)))


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "chart": chart,
    "roles": roles,
    "role_groups": role_groups,
    "states": states,
}
