"""Answers in letters: a formula is right in whatever form it is written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import Any

from gearkit.answers.comparison.compare import PRIME, Fingerprint, fingerprint, same_expression
from gearkit.answers.comparison.formulas import formula
from gearkit.answers.judge.checkers import RIGHT, WRONG, Judgement, Pattern, Reading
from gearkit.answers.judge.claims import Relation
from gearkit.answers.read.expression import Expression
from gearkit.answers.read.reader import read
from gearkit.answers.read.tokens import MAX_CHARS, tokens
from gearkit.answers.read.working import sides_of
from gearkit.text.phrases import localized
from gearkit.words.errors import AnswerError
from gearkit.words.say import later, say

_GENERAL: tuple[tuple[Callable[[int, int], bool], Pattern], ...] = (
    (
        lambda given, right: (given + right) % PRIME == 0,
        Pattern("SIGN", later("The size is right, the sign is not: which way does it act or turn?"), Relation.NEGATIVE),
    ),
    (
        lambda given, right: given * right % PRIME == 1,
        Pattern("RECIP", later("The fraction is upside down: which quantity is divided by which?"), Relation.UPSIDE_DOWN),
    ),
    (
        lambda given, right: given * right % PRIME == PRIME - 1,
        Pattern("RECIP", later("The fraction is upside down, and the sign is reversed as well."), Relation.UPSIDE_DOWN_TURNED),
    ),
    (
        lambda given, right: (right - given) % PRIME == 1,
        Pattern("NOONE", later("There is a 1 missing: which motion did you leave out?"), Relation.ONE_LESS),
    ),
    (
        lambda given, right: (given - right) % PRIME == 1,
        Pattern("NOONE", later("There is a 1 too many: is every motion in it real?"), Relation.ONE_MORE),
    ),
)
# A wrong sign costs half, in letters as in numbers.
_HALF_RIGHT = Judgement(Fraction(1, 2))


@lru_cache(maxsize=2048)
def fingerprint_of(text: str) -> Fingerprint:
    """Return the fingerprint of a formula of the bank.

    Args:
        text: the formula.
    """
    return fingerprint(formula(text))


@lru_cache(maxsize=2048)
def _reading(text: str, symbols: tuple[str, ...]) -> Reading:
    """Read a formula, with other forms of it before it; a class writes the same few again and again."""
    if len(text) > MAX_CHARS:
        tokens(text)
    _, sides = sides_of(text, symbols)
    if len(sides) == 1:
        return _one_side(read(sides[0], symbols))
    try:
        known = [read(side, symbols) for side in sides]
    except AnswerError as fault:
        raise AnswerError(
            "equation",
            say("The answer holds an equation, and one side of it cannot be read. {fault}", fault=fault),
            say("Write only what stands right of the equals sign."),
        ) from None
    # A number at the end is the formula tried with tooth counts; the formula is what was asked for.
    while len(known) > 1 and not known[-1].symbols and any(side.symbols for side in known[:-1]):
        known.pop()
    differ = next((place for place, (first, other) in enumerate(pairwise(known)) if not same_expression(first, other)), None)
    if differ is None:
        return _one_side(known[-1])
    remark = say(
        "{first} and {second} are not the same formula; {last} is marked, for it stands last.",
        first=known[differ],
        second=known[differ + 1],
        last=known[-1],
    )
    return _one_side(known[-1])._replace(remark=remark, says=(Relation.LAST_MARKED, Relation.SIDES_DIFFER))


def _one_side(expression: Expression) -> Reading:
    return Reading(localized(str(expression)), (expression, fingerprint(expression)))


@lru_cache(maxsize=2048)
def _is_formula(given: str, symbols: tuple[str, ...], text: str) -> bool:
    # Asked by texts: a tree full of fractions would take longer to look up than a short text.
    return same_expression(_reading(given, symbols).content[0], formula(text))


@dataclass(frozen=True)
class FormulaChecker:
    """A formula that is asked for.

    Args:
        formulas: right formulas as texts; usually one.
        symbols: the letters that may occur.
    """

    formulas: tuple[str, ...]
    symbols: tuple[str, ...]

    def read(self, text: str) -> Reading:
        """Read a formula; AnswerError where its form is wrong or it divides by zero."""
        return _reading(text, self.symbols)

    def judge(self, reading: Reading) -> Judgement:
        """Say whether it is the right formula."""
        expression: Expression
        expression, values = reading.content
        if any(values == fingerprint_of(text) and _is_formula(expression.text, self.symbols, text) for text in self.formulas):
            return RIGHT
        for text in self.formulas:
            if all((a + b) % PRIME == 0 for a, b in zip(values, fingerprint_of(text), strict=True)):
                return _HALF_RIGHT
        wants_letters = any(formula(text).symbols for text in self.formulas)
        if wants_letters and not expression.symbols:
            return Judgement(
                Fraction(0), say("A formula in letters is asked for, and a number was given."), says=(Relation.A_NUMBER,)
            )
        return WRONG

    def agrees(self, reading: Reading, wrong: Any) -> bool:
        """Return whether it is the given wrong formula.

        Args:
            reading: what was read.
            wrong: the wrong content.
        """
        return bool(reading.content[1] == fingerprint_of(wrong))

    def patterns(self, reading: Reading) -> tuple[Pattern, ...]:
        """Return the sign, reciprocal or one-off that turns the right formula into the learner's."""
        pairs = list(zip(reading.content[1], fingerprint_of(self.formulas[0]), strict=True))
        return tuple(pattern for holds, pattern in _GENERAL if all(holds(a, b) for a, b in pairs))

    def right_text(self) -> str:
        """Return the right formula."""
        return str(formula(self.formulas[0]))

    def wrong_text(self, wrong: Any) -> str:
        """Return a wrong formula."""
        return str(formula(wrong))
