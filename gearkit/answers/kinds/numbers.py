"""Number answers: ratios, decimals, whole numbers, torques; with or without a unit.

The exact value is known; what a learner may write is a fraction, a decimal, a sum to be worked out, the letters of the
question with their drawn numbers, and a unit of the same dimension.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from gearkit.answers.comparison.compare import (
    EXACTLY,
    LEAST_FIGURES,
    RIGHT_MATCHES,
    Match,
    Tolerance,
    judge_number,
    shown,
)
from gearkit.answers.comparison.exact import PI
from gearkit.answers.item import AnswerKind
from gearkit.answers.judge.checkers import RIGHT, WRONG, Judgement, Pattern, Reading
from gearkit.answers.judge.claims import Relation
from gearkit.answers.kinds.amounts import ONE, Amount, agree, chosen
from gearkit.answers.read.beside import direction_in, without_direction, without_words
from gearkit.answers.read.commas import DECIMAL, THOUSANDS, settled
from gearkit.answers.read.expression import Expression
from gearkit.answers.read.reader import at_a_glance, read
from gearkit.answers.read.tokens import MAX_CHARS, tokens
from gearkit.answers.read.units import Dimension, Unit, known_units, number_in, split_unit, unit_named
from gearkit.answers.read.working import said_twice, sides_of
from gearkit.text.phrases import count_words, localized
from gearkit.words.errors import AnswerError
from gearkit.words.say import later, say

_HALF = Fraction(1, 2)
_HUNDRED = Fraction(100)
_NOTHING = Fraction(0)
# Of these there is a whole number, and a rounded one is a wrong one.
_COUNTED = frozenset({"teeth", "planets", "shafts", "lines", "elements"})
ON_THE_WAY = later("Rounded on the way; exact is best.")
TWO_FIGURES = later("Two figures are just enough to tell here; three are safer, and exact is best.")
_HALF_RIGHT = Judgement(_HALF)
_ALLOWED = Judgement(ONE, ON_THE_WAY, strictly=Judgement(_NOTHING), says=(Relation.ROUNDED,))
_HALF_ALLOWED = Judgement(_HALF, ON_THE_WAY, strictly=Judgement(_NOTHING), says=(Relation.ROUNDED,))
_TWO_FIGURES = Judgement(ONE, TWO_FIGURES, says=(Relation.ROUNDED,))
_UPSIDE_DOWN = later("That is upside down: which quantity is divided by which?")
# From kilo to plain, minutes to seconds, percent, a slip of the point, km/h to m/s, turns to radians.
_UNIT_FACTORS = (Fraction(1000), Fraction(60), Fraction(100), Fraction(10), Fraction(18, 5), PI, PI / 30, 2 * PI)
# Next to a small wrong value an item's absolute tolerance would cover anything.
_NEAR = Fraction(1, 100)


def _turned(expression: Expression, value: Fraction, said: frozenset[int]) -> tuple[Expression, Fraction]:
    """Carry out what was said of the direction; a minus together with "reverse" is one minus."""
    if len(said) > 1 or (value < 0 and 1 in said):
        size = shown(abs(value))
        raise AnswerError(
            "ambiguous",
            say("{expression} is said to go forward and backward at the same time.", expression=expression),
            say("Write {size} if it goes forward, or -{size} if it goes backward.", size=size),
        )
    if value > 0 and -1 in said:
        return Expression(expression.text, ("neg", expression.tree)), -value
    return expression, value


def _near(given: Fraction, wrong: Fraction) -> bool:
    return abs(given - wrong) <= abs(wrong) * _NEAR


@dataclass(frozen=True)
class NumberChecker:
    """A number that is asked for.

    Args:
        value: the exact value in the item's unit.
        kind: exact ratio, decimal, integer or torque.
        tolerance: how near it has to be.
        unit: the item's unit, or "".
        letters: the drawn numbers that the learner was shown, by letter.
        pi: True where pi may be written.
        size_only: True where a sign in front does not count.
    """

    value: Fraction
    kind: AnswerKind
    tolerance: Tolerance = EXACTLY
    unit: str = ""
    letters: Mapping[str, Fraction] | None = None
    pi: bool = False
    size_only: bool = False

    def read(self, text: str) -> Reading:
        """Read a number with its unit, with the working that led to it; AnswerError where its form is wrong."""
        own = unit_named(self.unit)
        number = number_in(text, own) if own else ""
        plain = at_a_glance(number or text)
        if plain is not None:
            read_as = f"{localized(number)} {say(own.name)}" if own and number else localized(text)
            return Reading(read_as, Amount(*plain, ONE, False, plain[1] is not None or "." in (number or text), bool(number)))
        if len(text) > MAX_CHARS:
            tokens(text)
        letters = {**(self.letters or {}), "pi": PI} if self.pi else self.letters or {}
        label, sides = sides_of(self._with_equals(text, letters), letters, loose=True)
        said = direction_in(label) if self._has_direction else frozenset()
        bare = []
        for side in sides:
            rest, way = without_direction(side) if self._has_direction else (side, frozenset())
            bare.append(without_words(rest))
            said |= way
        if len(bare) == 1:
            return self._side(bare[0], letters, said)
        if by_working := self._commas_by_working(bare, letters, said):
            return by_working
        last = self._side(bare[-1], letters, said)
        return chosen([*(self._tried(side, letters, said) for side in bare[:-1]), last], self.kind is AnswerKind.INTEGER)

    def _with_equals(self, text: str, letters: Mapping[str, Fraction]) -> str:
        """Put an equals sign between an answer and the same answer in brackets after it, as in ``57/16 (3.56)``."""
        if not (twice := said_twice(text)):
            return text
        first, second, equal = twice
        sides = [self._tried(without_words(side), letters, frozenset()) for side in (first, second)]
        return f"{first} = {second}" if equal or agree(sides) else text

    def _commas_by_working(self, sides: Sequence[str], letters: Mapping[str, Fraction], said: frozenset[int]) -> Reading | None:
        """Return what is marked where the sides agree with one meaning of three digits after a comma, as in ``33/8 = 4,125``."""
        if all(settled(side, DECIMAL) == settled(side, THOUSANDS) for side in sides):
            return None
        readings = []
        for meaning in (DECIMAL, THOUSANDS):
            read_so = [self._tried(settled(side, meaning), letters, said) for side in sides]
            if agree(read_so):
                readings.append(chosen(read_so, self.kind is AnswerKind.INTEGER))
        return readings[0] if len(readings) == 1 else None

    @property
    def _has_direction(self) -> bool:
        return self.kind in (AnswerKind.EXACT_RATIO, AnswerKind.DECIMAL, AnswerKind.TORQUE)

    def _tried(self, side: str, letters: Mapping[str, Fraction], said: frozenset[int]) -> Reading | None:
        try:
            return self._side(side, letters, said)
        except AnswerError:
            return None

    def _side(self, text: str, letters: Mapping[str, Fraction], said: frozenset[int]) -> Reading:
        """Read a number without words; what was said of its direction has the last word where it has no sign."""
        body, unit = self._unit(text)
        expression = read(body, tuple(letters))
        value = expression.value(letters)
        if said:
            expression, value = _turned(expression, value, said)
        read_as = localized(str(expression)) + (f" {say(unit.name)}" if unit else "")
        digits = expression.digits
        return Reading(
            read_as,
            Amount(
                value,
                digits,
                self._factor(unit),
                self._foreign(unit),
                digits is not None or expression.decimal,
                unit is not None,
            ),
        )

    def _unit(self, text: str) -> tuple[str, Unit | None]:
        body, unit = split_unit(text)
        if unit is None:
            return text, None
        tail = text[len(body) :].strip()
        own = unit_named(self.unit)
        names = re.findall(r"[A-Za-z]\w*", tail)
        # R/S looks like r/s, revolutions per second; unless it is the unit asked for it is two tooth counts.
        if names and unit != own and all(name in (self.letters or {}) for name in names):
            return text, None
        if own is None and unit.dimension is Dimension.SHARE and self.kind is AnswerKind.DECIMAL:
            return body, unit
        if own is None:
            raise AnswerError(
                "unit",
                say("The answer is a plain number and has no unit, but {tail} was written.", tail=tail),
                say("Write the number alone."),
            )
        if own.dimension is not unit.dimension:
            raise AnswerError(
                "unit",
                say(
                    "{tail} is a unit of {dimension}; a {dimension2} is asked for.",
                    tail=tail,
                    dimension=unit.dimension,
                    dimension2=own.dimension,
                ),
                say("Units that are read: {known_units}.", known_units=known_units(own.dimension)),
            )
        return body, unit

    def _factor(self, unit: Unit | None) -> Fraction:
        own = unit_named(self.unit)
        if unit is None:
            return ONE
        return unit.factor / own.factor if own else Fraction(1, 100)

    def _foreign(self, unit: Unit | None) -> bool:
        own = unit_named(self.unit)
        return unit is not None and (own is None or unit.factor != own.factor)

    def judge(self, reading: Reading) -> Judgement:
        """Say how right a number is; half for the right size with the wrong sign, or a torque in the wrong unit."""
        amount: Amount = reading.content
        match = self._match(amount, self.value)
        if match is Match.ALLOWED:
            return _ALLOWED
        if match in RIGHT_MATCHES:
            return RIGHT
        if match is Match.TOO_FEW:
            figures = self.tolerance.figures
            # One figure is hardly a rounding: a plain 1 or 0 may as well be a slip of its own.
            final = amount.digits is not None and amount.digits[1] >= 2
            return Judgement(
                Fraction(0),
                say(
                    "So far so good, but {read_as} has too few digits to tell: give at least {figures} significant figures, or an exact fraction.",
                    read_as=reading.read_as,
                    figures=_in_words(figures),
                ),
                final=final,
                if_alone=_TWO_FIGURES if final and figures <= LEAST_FIGURES else None,
                says=(Relation.TOO_FEW_FIGURES,),
            )
        # A wrong sign costs half wherever there is a sign: a count has none, a size needs none.
        signed = self.kind is not AnswerKind.INTEGER and self.value and not self.size_only and amount.value
        if signed and (turned := self._match(amount, -self.value)) in RIGHT_MATCHES:
            return _HALF_ALLOWED if turned is Match.ALLOWED else _HALF_RIGHT
        if self.kind is AnswerKind.TORQUE and amount.foreign:
            as_written = amount._replace(factor=ONE)
            if self._match(as_written, self.value) in RIGHT_MATCHES and amount.value:
                return Judgement(_HALF, patterns_found=(Pattern("UNIT", "", Relation.SCALED, str(amount.factor)),))
        return WRONG

    @property
    def counted(self) -> bool:
        """Whether a whole number of things is asked for, of which a rounded one is wrong."""
        return self.kind is AnswerKind.INTEGER or self.unit in _COUNTED

    def _match(self, amount: Amount, exact: Fraction) -> Match:
        tolerance = self.tolerance
        if self.size_only:
            amount, exact = amount._replace(value=abs(amount.value)), abs(exact)
        room = self._room(amount, exact)
        if amount.factor is ONE or amount.factor == 1:
            return judge_number(amount.value, amount.digits, exact, tolerance, room)
        if tolerance.absolute:
            tolerance = replace(tolerance, absolute=tolerance.absolute / amount.factor)
        return judge_number(amount.value, amount.digits, exact / amount.factor, tolerance, room / amount.factor)

    def _room(self, amount: Amount, exact: Fraction) -> Fraction:
        """How far rounding on the way may take an answer from the exact value, in the item's unit."""
        if not amount.decimal or self.counted:
            return _NOTHING
        return self.tolerance.on_the_way(exact, _HUNDRED if self.unit == "percent" else ONE)

    def agrees(self, reading: Reading, wrong: Any) -> bool:
        """Return whether the number is the given wrong value, to the digits that were written.

        Args:
            reading: what was read.
            wrong: the wrong content.
        """
        amount: Amount = reading.content
        match = self._match(amount, wrong)
        if match is Match.TOO_FEW:
            return amount.digits is not None and amount.digits[1] >= 2
        return match in RIGHT_MATCHES

    def patterns(self, reading: Reading) -> tuple[Pattern, ...]:
        """Return the sign, reciprocal, one-off or factor that turns the right value into the learner's."""
        if not self.value or not reading.content.value:
            return ()
        given: Fraction = reading.content.in_item_unit
        if self.size_only:
            given = abs(given) if self.value > 0 else -abs(given)
        patterns = [
            pattern
            for wrong, pattern in self._general()
            if wrong != self.value and self.agrees(reading, wrong) and _near(given, wrong)
        ]
        # A factor of ten may come from several units; one sentence says it.
        return tuple({(pattern.code, pattern.sentence): pattern for pattern in reversed(patterns)}.values())[::-1]

    def _general(self) -> Iterator[tuple[Fraction, Pattern]]:
        right = self.value
        if self.kind is AnswerKind.INTEGER:
            counted = say("One too many or one too few: count again, or look at which way you rounded.")
            yield right + 1, Pattern("COUNT", counted, Relation.ONE_MORE)
            yield right - 1, Pattern("COUNT", counted, Relation.ONE_LESS)
            return
        if not self.size_only:
            yield (
                -right,
                Pattern(
                    "SIGN",
                    say("The size is right, the sign is not: which way does it act or turn?") if self.unit else "",
                    Relation.NEGATIVE,
                ),
            )
        if not self.unit:
            yield (
                1 / right,
                Pattern("RECIP", "" if self.kind is AnswerKind.EXACT_RATIO else say(_UPSIDE_DOWN), Relation.UPSIDE_DOWN),
            )
            yield (
                -1 / right,
                Pattern("RECIP", say("It is upside down, and its sign is reversed as well."), Relation.UPSIDE_DOWN_TURNED),
            )
        if self.kind is AnswerKind.EXACT_RATIO:
            yield right - 1, Pattern("NOONE", say("There is a one missing: which motion did you leave out?"), Relation.ONE_LESS)
            yield (
                right + 1,
                Pattern("NOONE", say("There is a one too many: is the carrier really turning here?"), Relation.ONE_MORE),
            )
        elif self.kind in (AnswerKind.DECIMAL, AnswerKind.TORQUE):
            for factor in (Fraction(2), _HALF):
                yield right * factor, Pattern("HALF", "", Relation.TWICE_OR_HALF)
            for factor in _UNIT_FACTORS:
                yield right * factor, Pattern("UNIT", "", Relation.SCALED, str(factor))
                yield right / factor, Pattern("UNIT", "", Relation.SCALED, str(1 / factor))

    def right_text(self) -> str:
        """Return the value as a learner would write it."""
        return self._text(self.value, 6)

    def wrong_text(self, wrong: Any) -> str:
        """Return a wrong value as a learner would write it."""
        return self._text(wrong, 8)

    def _text(self, value: Fraction, figures: int) -> str:
        if self.kind in (AnswerKind.EXACT_RATIO, AnswerKind.INTEGER) and value.denominator < 10**9:
            return str(value)
        text = shown(value, figures)
        return f"{text} {self.unit}" if self.unit and unit_named(self.unit) else text


def _in_words(number: int) -> str:
    return count_words(number) if number <= 5 else str(number)
