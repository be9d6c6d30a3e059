"""Lesson symbols: ``1 + R/S`` in a notebook cell builds the text of an expression, and nothing else.

A symbol knows no value and does no algebra; its operators put brackets where the reader needs them. So an answer typed
with symbols and the same answer typed as text are read alike.
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import NoReturn

from gearkit.words.errors import AnswerError

_SUM, _PRODUCT, _SIGNED, _POWER, _ATOM = 1, 2, 3, 4, 5
Number = int | Fraction | float | Decimal


class Written:
    """An expression as text; built by `symbol` and by arithmetic on symbols.

    >>> R, S = symbols("R S")
    >>> str(1 + R/S), str(-(R + S)/(2*S)), str((R - S)**2)
    ('1 + R/S', '-(R + S)/(2*S)', '(R - S)**2')
    """

    __slots__ = ("_level", "_text")

    def __init__(self, text: str, level: int = _ATOM) -> None:
        self._text = text
        self._level = level

    def __str__(self) -> str:
        return self._text

    def __repr__(self) -> str:
        return self._text

    def __format__(self, spec: str) -> str:
        return format(self._text, spec)

    def _repr_latex_(self) -> str:
        from gearkit.answers.read.reader import read
        from gearkit.answers.read.tokens import tokens

        names = {token.text for token in tokens(self._text) if token.kind == "name"}
        return f"${read(self._text, names).latex()}$"

    def __add__(self, other: object) -> Written:
        return _joined(self, " + ", other, _SUM)

    def __radd__(self, other: object) -> Written:
        return _joined(other, " + ", self, _SUM)

    def __sub__(self, other: object) -> Written:
        return _joined(self, " - ", other, _SUM)

    def __rsub__(self, other: object) -> Written:
        return _joined(other, " - ", self, _SUM)

    def __mul__(self, other: object) -> Written:
        return _joined(self, "*", other, _PRODUCT)

    def __rmul__(self, other: object) -> Written:
        return _joined(other, "*", self, _PRODUCT)

    def __truediv__(self, other: object) -> Written:
        return _joined(self, "/", other, _PRODUCT)

    def __rtruediv__(self, other: object) -> Written:
        return _joined(other, "/", self, _PRODUCT)

    def __pow__(self, power: object) -> Written:
        if isinstance(power, bool) or not isinstance(power, int):
            raise TypeError(f"The power in {self}**({power}) has to be a whole number, as in {self}**2.")
        return Written(f"{_bracketed(self, _ATOM)}**{power if power >= 0 else f'({power})'}", _POWER)

    def __rpow__(self, base: object) -> NoReturn:
        raise TypeError(f"A power has to be a whole number, not {self}.")

    def __neg__(self) -> Written:
        return Written(f"-{_bracketed(self, _POWER)}", _SIGNED)

    def __pos__(self) -> Written:
        return self

    def __xor__(self, power: object) -> NoReturn:
        raise TypeError(f"In a notebook cell a power is written with two stars: {self}**{power}, not {self}^{power}.")

    __rxor__ = __xor__

    def __eq__(self, other: object) -> bool:
        raise TypeError(f"{self} has no value, so it cannot be compared. Hand it in with answer(...) to have it checked.")

    __lt__ = __le__ = __gt__ = __ge__ = __eq__
    __hash__ = None  # type: ignore[assignment]  # as Python itself writes it where __eq__ stands alone

    def __bool__(self) -> NoReturn:
        raise TypeError(f"{self} has no value, so it is neither true nor false.")

    def __float__(self) -> NoReturn:
        raise TypeError(f"{self} has no value, so it cannot be turned into a number. Work with the tooth counts instead.")

    __int__ = __index__ = __float__

    def __call__(self, *_: object) -> NoReturn:
        raise TypeError(f"{self}(…) is a call in a notebook cell. For a product write {self}*(…).")


def symbol(name: str) -> Written:
    """Return one lesson symbol.

    Args:
        name: a letter, with an index where there is one, such as ``R`` or ``R1``.

    Raises:
        AnswerError: the name is not a letter with letters or digits after it.
    """
    if not (isinstance(name, str) and name.isascii() and name.isalnum() and name[0].isalpha()):
        raise AnswerError("unknown name", f"{name!r} cannot be a symbol.", "Use a letter and an index, such as R1.")
    return Written(name)


def symbols(names: str) -> tuple[Written, ...]:
    """Return several lesson symbols.

    Args:
        names: their names with blanks or commas between, such as ``"S P R"``.
    """
    return tuple(symbol(name) for name in names.replace(",", " ").split())


def _joined(left: object, sign: str, right: object, level: int) -> Written:
    first, second = _written(left), _written(right)
    if first is None or second is None:
        # Python then tries the other operand, and says which types do not go together.
        return NotImplemented  # type: ignore[no-any-return]  # Python's own answer
    right_level = level + 1 if level == _SUM else _POWER
    if level == _SUM and second._level == _SIGNED:
        # "R + -S" is legal but hard to read; "R + (-S)" says what was meant.
        right_level = _POWER
    return Written(f"{_bracketed(first, level)}{sign}{_bracketed(second, right_level)}", level)


def _bracketed(part: Written, level: int) -> str:
    return f"({part})" if part._level < level else str(part)


def _written(part: object) -> Written | None:
    if isinstance(part, Written):
        return part
    if isinstance(part, bool):
        raise TypeError(f"{part} is not a number here; write 1 or 0.")
    if isinstance(part, Fraction):
        level = _PRODUCT if part.denominator != 1 else _ATOM
        return Written(str(part), _SIGNED if part < 0 and level == _ATOM else level)
    if isinstance(part, int):
        return Written(str(part), _SIGNED if part < 0 else _ATOM)
    if isinstance(part, float | Decimal):
        if not math.isfinite(part):
            raise TypeError(f"{part} is not a number that an answer can hold.")
        text = format(Decimal(repr(part)) if isinstance(part, float) else part, "f")
        return Written(text, _SIGNED if part < 0 else _ATOM)
    return None
