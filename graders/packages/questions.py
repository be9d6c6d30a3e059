"""One part of an item as other systems ask it: the field, what is right in it, and what shows a named mistake.

A number is right between two bounds (some players take no notice of a stated tolerance), a choice by its option. A formula
cannot be typed there, so it becomes a choice among the right form and the named wrong ones.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from hashlib import sha256
from itertools import permutations
from typing import Any
from xml.etree import ElementTree as ET

from gearkit.answers.judge.checkers import Checker, Part, WrongForm
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker, SeveralChecker
from gearkit.text import mathml
from graders.packages.elements import element, page_part, value, variable

# Bounds are decimals; a counted number lies well inside these.
_COUNT_ROOM = Fraction(1, 1000)
_DIGITS = 10
# In place of a form's number: the right answer, the right size with the wrong sign, and upside down.
RIGHT, SIGN, UPSIDE_DOWN = -1, -2, -3
_FEWEST_CHOICES = 3


class NotForOtherSystemsError(Exception):
    """What this part asks cannot be asked in another system; the reason in words."""


@dataclass(frozen=True)
class Question:
    """One part of an item.

    Args:
        name: of the response.
        declaration: how the response is declared, with what is right.
        fields: what the learner fills in.
        right: when it is right.
        score: what answers earn that are not right: (condition, share of the marks).
        mapped: True where every other answer earns the share that the response's mapping gives.
        wrong: place of a named wrong answer among the item's -> the condition that shows it; `SIGN` for a wrong sign.
    """

    name: str
    declaration: ET.Element
    fields: ET.Element
    right: ET.Element
    score: tuple[tuple[ET.Element, Fraction], ...] = ()
    mapped: bool = False
    wrong: Mapping[int, ET.Element] = field(default_factory=dict)


def question(part: Part, checker: Checker, forms: Sequence[WrongForm], number: int, seed: int) -> Question:
    """Return a part of an item as other systems ask it.

    Args:
        part: the part.
        checker: what it asks for.
        forms: the item's named wrong answers.
        number: of the part, counted from 1.
        seed: for the order of a formula's choices.

    Raises:
        NotForOtherSystemsError: the reason in words.
    """
    name = f"RESPONSE{number}"
    contents = {place: form.contents[part.name] for place, form in enumerate(forms) if part.name in form.contents}
    if isinstance(checker, NumberChecker):
        return _number(name, checker, contents)
    if isinstance(checker, ChoiceChecker):
        return _choice(name, checker.choices.options, checker.right, contents)
    if isinstance(checker, SeveralChecker):
        return _several(name, part, checker, contents)
    if isinstance(checker, OrderChecker):
        return _order(name, checker, contents)
    if isinstance(checker, FormulaChecker):
        return _formula(name, part, checker, contents, seed)
    raise NotForOtherSystemsError(f"{part.label or part.name}: a {part.kind} has no form there")


def _declaration(name: str, cardinality: str, base_type: str, right: Sequence[str]) -> ET.Element:
    answer = element("qti-correct-response", None, *(element("qti-value", text=each) for each in right))
    return element("qti-response-declaration", {"identifier": name, "cardinality": cardinality, "base-type": base_type}, answer)


def _number(name: str, checker: NumberChecker, contents: Mapping[int, Any]) -> Question:
    fields = element("qti-text-entry-interaction", {"response-identifier": name, "expected-length": "14"})
    score: tuple[tuple[ET.Element, Fraction], ...] = ()
    signed = not checker.kind.traits.whole and checker.value and not checker.size_only
    wrong = {
        place: _between(name, checker, Fraction(content))
        for place, content in contents.items()
        if isinstance(content, Fraction | int)
    }
    if signed:
        # As in the kit's own marking, a wrong sign costs half.
        score = ((_between(name, checker, -checker.value), Fraction(1, 2)),)
        # What the item itself says about that value goes before the general sentence.
        if -checker.value not in contents.values():
            wrong[SIGN] = _between(name, checker, -checker.value)
    right = _between(name, checker, checker.value)
    if checker.size_only and checker.value:
        right = element("qti-or", None, right, _between(name, checker, -checker.value))
    return Question(name, _declaration(name, "single", "float", [_decimal(checker.value)]), fields, right, score, wrong=wrong)


def _between(name: str, checker: NumberChecker, exact: Fraction) -> ET.Element:
    room = _room(checker, Fraction(exact))
    bounds = [
        element("qti-gte", None, variable(name), value(_decimal(exact - room))),
        element("qti-lte", None, variable(name), value(_decimal(exact + room))),
    ]
    if exact - room <= 0 <= exact + room:
        # Some players compare an empty field as if it were 0.
        bounds.insert(0, element("qti-not", None, element("qti-is-null", None, variable(name))))
    return element("qti-and", None, *bounds)


def _room(checker: NumberChecker, exact: Fraction) -> Fraction:
    """How far a decimal may lie from a value: what marking allows for rounding on the way, and what the item states."""
    if checker.counted:
        return max(checker.tolerance.around(exact), _COUNT_ROOM)
    whole = Fraction(100) if checker.unit == "percent" else Fraction(1)
    room = max(checker.tolerance.around(exact), checker.tolerance.on_the_way(exact, whole))
    return room or _COUNT_ROOM


def _decimal(number: Fraction) -> str:
    return f"{float(number):.{_DIGITS}f}".rstrip("0").rstrip(".") or "0"


def _is(name: str, identifier: str) -> ET.Element:
    return element("qti-match", None, variable(name), value(identifier, "identifier"))


def _choice(name: str, options: Sequence[str], right: str, contents: Mapping[int, Any]) -> Question:
    names = {option: f"C{place}" for place, option in enumerate(options, start=1)}
    fields = _choices(name, {names[option]: element("span", text=option) for option in options}, 1)
    wrong = {place: _is(name, names[content]) for place, content in contents.items() if content in names}
    return Question(
        name, _declaration(name, "single", "identifier", [names[right]]), fields, _is(name, names[right]), wrong=wrong
    )


def _choices(name: str, options: Mapping[str, ET.Element], most: int) -> ET.Element:
    return element(
        "qti-choice-interaction",
        {"response-identifier": name, "shuffle": "false", "max-choices": str(most)},
        *(element("qti-simple-choice", {"identifier": key}, shown) for key, shown in options.items()),
    )


def _several(name: str, part: Part, checker: SeveralChecker, contents: Mapping[int, Any]) -> Question:
    options = checker.choices.options
    if any(not accepted for accepted in checker.accepted[:1]):
        raise NotForOtherSystemsError(
            f"{part.label or part.name}: that nothing is chosen is the right answer, which other systems take for none"
        )
    names = {option: f"C{place}" for place, option in enumerate(options, start=1)}
    fields = _choices(name, {names[option]: element("span", text=option) for option in options}, 0)

    def chosen(selection: frozenset[str]) -> ET.Element:
        ticked = [element("qti-member", None, value(names[o], "identifier"), variable(name)) for o in options if o in selection]
        left = [
            element("qti-not", None, element("qti-member", None, value(names[o], "identifier"), variable(name)))
            for o in options
            if o not in selection
        ]
        return element("qti-and", None, *ticked, *left)

    accepted = [chosen(selection) for selection in checker.accepted if selection]
    right = accepted[0] if len(accepted) == 1 else element("qti-or", None, *accepted)
    declaration = _declaration(name, "multiple", "identifier", [names[o] for o in options if o in checker.accepted[0]])
    shares = checker.tick_shares()
    if shares:
        entries = [
            element("qti-map-entry", {"map-key": names[option], "mapped-value": _decimal(share)})
            for option, share in shares.items()
        ]
        declaration.append(element("qti-mapping", {"lower-bound": "0", "default-value": "0"}, *entries))
    wrong = {place: chosen(content) for place, content in contents.items() if content and content not in checker.accepted}
    return Question(name, declaration, fields, right, mapped=bool(shares), wrong=wrong)


def _order(name: str, checker: OrderChecker, contents: Mapping[int, Any]) -> Question:
    names = {option: f"C{place}" for place, option in enumerate(checker.choices.options, start=1)}
    fields = element(
        "qti-order-interaction",
        {"response-identifier": name, "shuffle": "true"},
        *(element("qti-simple-choice", {"identifier": key}, element("span", text=option)) for option, key in names.items()),
    )

    def given(orders: Iterable[Sequence[str]]) -> ET.Element:
        each = [
            element(
                "qti-match",
                None,
                variable(name),
                element("qti-ordered", None, *(value(names[option], "identifier") for option in order)),
            )
            for order in orders
        ]
        return each[0] if len(each) == 1 else element("qti-or", None, *each)

    right = element("qti-match", None, variable(name), element("qti-correct", {"identifier": name}))
    by_share: dict[Fraction, list[tuple[str, ...]]] = {}
    for order in permutations(checker.order):
        share = checker.share(order)
        if 0 < share < 1:
            by_share.setdefault(share, []).append(order)
    score = tuple((given(by_share[share]), share) for share in sorted(by_share, reverse=True))
    wrong = {place: given([content]) for place, content in contents.items() if tuple(content) != checker.order}
    declaration = _declaration(name, "ordered", "identifier", [names[option] for option in checker.order])
    return Question(name, declaration, fields, right, score, wrong=wrong)


def _formula(name: str, part: Part, checker: FormulaChecker, contents: Mapping[int, Any], seed: int) -> Question:
    texts = {RIGHT: checker.right_text()}
    for place, content in contents.items():
        text = checker.wrong_text(content)
        if text not in texts.values():
            texts[place] = text
    # Where few wrong forms have a name, the form upside down and with the other sign are choices too.
    for place, other in ((UPSIDE_DOWN, f"1/({texts[RIGHT]})"), (SIGN, f"-({texts[RIGHT]})")):
        reading = checker.read(other)
        there_already = any(checker.agrees(reading, contents[form]) for form in texts if form >= 0)
        if len(texts) < _FEWEST_CHOICES and not there_already and not checker.judge(reading).right:
            texts[place] = other
    if len(texts) < _FEWEST_CHOICES:
        raise NotForOtherSystemsError(
            f"{part.label or part.name}: a formula becomes a choice there, and too few wrong forms of it have a name"
        )
    # The same variant has the same order in every package.
    order = sorted(texts, key=lambda form: sha256(f"{seed} {form}".encode()).digest())
    names = {form: f"C{place}" for place, form in enumerate(order, start=1)}
    shown = {names[form]: element("span", None, *page_part(mathml.from_expression(texts[form]))) for form in order}
    wrong = {form: _is(name, names[form]) for form in texts if form >= 0}
    right = names[RIGHT]
    # A form with the other sign earns what it earns where it is typed.
    shares = {form: checker.judge(checker.read(text)).share for form, text in texts.items() if form != RIGHT}
    score = tuple((_is(name, names[form]), share) for form, share in shares.items() if 0 < share < 1)
    return Question(
        name,
        _declaration(name, "single", "identifier", [right]),
        _choices(name, shown, 1),
        _is(name, right),
        score,
        wrong=wrong,
    )
