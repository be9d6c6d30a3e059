"""Checks what feedback claims about an answer, by code that shares nothing with reading, judging and comparing.

An answer is played as a `Play`: the text that is handed in and, beside it, what it means, known from how it was made.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge.claims import Claim, Relation, Said
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import OrderChecker, SeveralChecker

NEAR = Fraction(1, 100)
POINTS = tuple(
    {
        name: Fraction(int.from_bytes(name.encode()) % 1009 + add, 11)
        for name in (
            "S",
            "R",
            "P",
            "T",
            "i",
            "r",
            "k",
            "j",
            "e",
            "ns",
            "nr",
            "nc",
            "z1",
            "z2",
            "i1",
            "N",
            "m",
            "M",
            "B",
            "f",
            "i2",
            "a",
            "b",
            "c",
            "d",
            "q",
            "g",
            "h",
            "u",
            "w",
            *(f"{letter}{number}" for letter in "SRPQ" for number in range(1, 5)),
        )
    }
    for add in (1, 5, 12)
)


@dataclass(frozen=True)
class Play:
    """One answer to one part.

    Args:
        text: what is written.
        means: a number, a formula's text, an option, a set or a row of options; None for nothing and for nonsense.
        nonsense: True where nobody could read it.
    """

    text: str
    means: Any = None
    nonsense: bool = False


def number_at_front(text: str) -> Fraction:
    """The number that a text begins with."""
    found = re.match(r"[-\u2212]?[0-9./]+", text)
    assert found, text
    return Fraction(found.group().replace("\u2212", "-"))


def rounding(text: str) -> Fraction:
    """How far a decimal may be from what it was rounded from; the wrong number is shown to eight figures only."""
    number = text.split("=")[-1].strip().partition(" ")[0]
    places = len(number.split(".")[1]) if "." in number else None
    return Fraction(0) if places is None else Fraction(1, 10**places) * Fraction(501, 1000)


def formula_at(text: str, point: Mapping[str, Fraction]) -> Fraction:
    """A formula of the tests' own making, worked out by Python."""
    whole = re.sub(r"(?<![\w.])(\d+)(?![\w.])", r"Fraction(\1)", text.replace("^", "**"))
    return Fraction(eval(whole, {"Fraction": Fraction, "__builtins__": {}}, dict(point)))


def holds(condition: str, values: Mapping[str, Fraction]) -> bool:
    """Whether a demand on a design holds, worked out by Python."""
    names = {"floor": math.floor, "abs": abs, "sin": math.sin, "pi": math.pi, "__builtins__": {}}
    try:
        return bool(eval(condition, names, dict(values)))
    except ZeroDivisionError:
        return False


class ClaimChecker:
    """Says of each claim whether it holds for what was played."""

    def __init__(self, variant: Variant, plays: Mapping[str, Play], follows: Any) -> None:
        self.variant, self.plays, self.follows = variant, plays, follows

    def fault(self, said: Said) -> str:
        """What is wrong with a sentence, or ""."""
        if not said.claims:
            return f"no claims: {said.text}"
        for claim in said.claims:
            if not self.true(claim):
                return f"{claim} does not hold, said: {said.text}"
        for phrase, needed in PHRASES.items():
            if phrase in said.text and not any(claim.relation in needed for claim in said.claims):
                return f"{phrase!r} is said without a claim: {said}"
        return ""

    def true(self, claim: Claim) -> bool:
        if claim.relation is Relation.PARTS_RIGHT:
            return int(claim.value) == self._parts_right()
        if claim.relation is Relation.MEETS:
            return all(holds(one, self._counts()) for one in claim.value.split(" and "))
        if claim.relation is Relation.FAILS:
            return not all(holds(one, self._counts()) for one in claim.value.split(" and "))
        play = self.plays[claim.part]
        if claim.relation is Relation.EMPTY:
            return not play.text
        if claim.relation is Relation.UNREADABLE:
            return play.nonsense
        if claim.relation is Relation.FOLLOWS:
            return bool(
                self.follows[self.variant.item.id](
                    claim.part, {name: one.means for name, one in self.plays.items()}, self.variant
                )
            )
        return play.means is not None and getattr(self, "_" + claim.relation.name.lower())(claim, play)

    def _counts(self) -> dict[str, Fraction]:
        values = {name: one for name, one in self.variant.drawn.values.items() if name not in self.variant.item.draw.hidden}
        return {**values, **{name: play.means for name, play in self.plays.items() if play.means is not None}}

    def _parts_right(self) -> int:
        if self.variant.key.constraints:
            met = 0
            for one in self.variant.key.constraints:
                try:
                    met += all(holds(text, self._counts()) for text in one.conditions)
                except NameError:
                    continue
            return met
        return sum(
            play.means is not None and self._right(Claim(name, Relation.RIGHT), play) for name, play in self.plays.items()
        )

    def _checker(self, claim: Claim) -> Any:
        return self.variant.key.checkers[claim.part]

    def _values(self, claim: Claim, play: Play) -> list[tuple[Fraction, Fraction]]:
        """Given and right value; for formulas at several points."""
        checker = self._checker(claim)
        if isinstance(checker, NumberChecker):
            if checker.size_only:
                return [(abs(play.means), abs(checker.value))]
            return [(play.means, checker.value)]
        assert isinstance(checker, FormulaChecker)
        answer = self.variant.item.answer
        right = answer if isinstance(answer, str) else answer[claim.part]
        return [(formula_at(play.means, point), formula_at(right, point)) for point in POINTS]

    def _stands(self, claim: Claim, play: Play, wanted: Any) -> bool:
        exact = isinstance(self._checker(claim), FormulaChecker)
        for given, right in self._values(claim, play):
            value = wanted(right)
            if value == right:
                tolerance = self.variant.item.tolerance
                room = max(abs(value) * max(Fraction(1, 200), tolerance.relative), tolerance.absolute)
            else:
                room = max(abs(value) * NEAR, rounding(play.text))
            if abs(given - value) > (0 if exact else room):
                return False
        return True

    def _right(self, claim: Claim, play: Play) -> bool:
        checker = self._checker(claim)
        if isinstance(checker, SeveralChecker):
            return play.means in checker.accepted
        if isinstance(checker, OrderChecker):
            return bool(play.means == checker.order)
        if isinstance(checker, FormulaChecker):
            also = [Claim(claim.part, Relation.RIGHT, text) for text in self.variant.item.also]
            return self._stands(claim, play, lambda right: right) or any(self._is(one, play) for one in also)
        if isinstance(checker, NumberChecker):
            return self._stands(claim, play, lambda right: right)
        return bool(play.means == checker.right)

    def _wrong(self, claim: Claim, play: Play) -> bool:
        return not self._right(claim, play)

    def _last_marked(self, claim: Claim, play: Play) -> bool:
        last = play.text.split("=")[-1]
        if isinstance(self._checker(claim), NumberChecker):
            return play.means == number_at_front(last.strip())
        return all(formula_at(play.means, point) == formula_at(last, point) for point in POINTS)

    def _sides_differ(self, claim: Claim, play: Play) -> bool:
        first, last = play.text.split("=")
        if isinstance(self._checker(claim), NumberChecker):
            return number_at_front(first) != play.means
        return any(formula_at(first, point) != formula_at(last, point) for point in POINTS)

    def _also_right(self, claim: Claim, play: Play) -> bool:
        return play.means in self._checker(claim).accepted[1:]

    def _is(self, claim: Claim, play: Play) -> bool:
        checker = self._checker(claim)
        if isinstance(checker, NumberChecker):
            wrong, given = number_at_front(claim.value), play.means
            if checker.size_only:
                wrong, given = abs(wrong), abs(given)
            return abs(given - wrong) <= max(
                abs(wrong) * max(NEAR, checker.tolerance.relative), checker.tolerance.absolute, rounding(play.text)
            )
        if isinstance(checker, FormulaChecker):
            return all(formula_at(play.means, point) == formula_at(claim.value, point) for point in POINTS)
        written = claim.value.split(", ") if claim.value != "none" else []
        if isinstance(checker, SeveralChecker):
            return {checker.choices.label(one) for one in play.means} == set(written)
        if isinstance(checker, OrderChecker):
            return [checker.choices.label(one) for one in play.means] == written
        return bool(checker.choices.label(play.means) == claim.value)

    def _negative(self, claim: Claim, play: Play) -> bool:
        return self._stands(claim, play, lambda right: -right)

    def _upside_down(self, claim: Claim, play: Play) -> bool:
        return self._stands(claim, play, lambda right: 1 / right)

    def _upside_down_turned(self, claim: Claim, play: Play) -> bool:
        return self._stands(claim, play, lambda right: -1 / right)

    def _one_more(self, claim: Claim, play: Play) -> bool:
        return self._stands(claim, play, lambda right: right + 1)

    def _one_less(self, claim: Claim, play: Play) -> bool:
        return self._stands(claim, play, lambda right: right - 1)

    def _twice_or_half(self, claim: Claim, play: Play) -> bool:
        return self._stands(claim, play, lambda right: right * 2) or self._stands(claim, play, lambda right: right / 2)

    def _scaled(self, claim: Claim, play: Play) -> bool:
        return play.means != 0 and self._stands(claim, play, lambda right: right * Fraction(claim.value))

    def _one_swap(self, claim: Claim, play: Play) -> bool:
        order = list(self._checker(claim).order)
        swapped = [[*order[:k], order[k + 1], order[k], *order[k + 2 :]] for k in range(len(order) - 1)]
        return list(play.means) in swapped

    def _reversed(self, claim: Claim, play: Play) -> bool:
        return list(play.means) == list(reversed(self._checker(claim).order))

    def _too_few_figures(self, claim: Claim, play: Play) -> bool:
        last = play.text.split("=")[-1]
        digits = re.sub(r"\D", "", last).lstrip("0")
        ((given, right),) = self._values(claim, play)
        places = len(last.split(".")[1]) if "." in last else 0
        return len(digits) < self._checker(claim).tolerance.figures and abs(given - right) * 2 * 10**places <= 1

    def _a_number(self, claim: Claim, play: Play) -> bool:
        return not re.search("[A-Za-z]", play.text.split("=")[-1])

    def _rounded(self, claim: Claim, play: Play) -> bool:
        return self._right(claim, play) and any(given != right for given, right in self._values(claim, play))

    def _no_named_mistake(self, claim: Claim, play: Play) -> bool:
        checker = self._checker(claim)
        if (
            isinstance(checker, NumberChecker)
            and checker.kind != "integer"
            and not checker.size_only
            and checker.value
            and play.means == -checker.value
        ):
            return False
        for form in self.variant.key.wrong_forms:
            if (
                claim.part in form.contents
                and not form.needs
                and not form.together
                and (play.means == form.contents[claim.part])
            ):
                return False
        return True


PHRASES = {
    "size is right": {Relation.NEGATIVE},
    "upside down": {Relation.UPSIDE_DOWN, Relation.UPSIDE_DOWN_TURNED},
    "All rows": {Relation.IS},
    "order is reversed": {Relation.REVERSED},
    "a factor of two": {Relation.TWICE_OR_HALF},
    "The working is right": {Relation.SCALED},
    "Two neighbours": {Relation.ONE_SWAP},
    "one of the usual mistakes": {Relation.NO_NAMED_MISTAKE},
    "follows from your own": {Relation.FOLLOWS},
    "held carrier is right": {Relation.RIGHT},
    "The element fits": {Relation.RIGHT},
    "repeats the one above": {Relation.RIGHT},
    "Still empty": {Relation.EMPTY},
    "too few digits": {Relation.TOO_FEW_FIGURES},
    "gives the ratio as well": {Relation.ALSO_RIGHT},
    "One too many or one too few": {Relation.ONE_MORE, Relation.ONE_LESS},
    "There is a 1 missing": {Relation.ONE_LESS},
    "There is a one missing": {Relation.ONE_LESS},
    "too many": {Relation.ONE_MORE, Relation.ONE_LESS, Relation.IS},
    "Not met": {Relation.FAILS},
    "for it stands last": {Relation.LAST_MARKED},
    "are not equal": {Relation.SIDES_DIFFER},
    "are not the same formula": {Relation.SIDES_DIFFER},
}
