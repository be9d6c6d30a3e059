"""Small formulas that are written twice at once: as plain text and in LaTeX.

Only what a derivation needs: numbers, tooth symbols, speeds, products, sums and equations. Numbers are exact where they
are short enough to be read; longer ones are shown as decimals, and the working behind them stays exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.text.phrases import MINUS, decimal, member_label
from gearkit.words.say import say
from gearkit.words.terms import RESERVED_SHAFTS

_LONGEST_IN_A_LINE = 999
_LONGEST_RESULT = 9_999_999


@dataclass(frozen=True)
class Maths:
    """A piece of a formula.

    Args:
        text: as plain text.
        latex: in LaTeX.
        is_sum: it holds a plus or minus of its own, or starts with one, so that it needs brackets in a product.
        is_quotient: its text holds a division, so that its text needs brackets in a product.
    """

    text: str
    latex: str
    is_sum: bool = False
    is_quotient: bool = False

    @property
    def factor(self) -> Maths:
        """The same with the brackets that it needs in a product."""
        text = f"({self.text})" if self.is_sum or self.is_quotient else self.text
        return Maths(text, rf"\left({self.latex}\right)" if self.is_sum else self.latex)


def number(value: Fraction | int, longest: int = _LONGEST_IN_A_LINE) -> Maths:
    """Return a number: whole, as a short fraction, or else as a decimal.

    Args:
        value: the exact number.
        longest: largest numerator and denominator that are still shown as a fraction.
    """
    value = Fraction(value)
    sign, size = (MINUS, "-") if value < 0 else ("", ""), abs(value)
    if value.denominator == 1:
        return Maths(f"{sign[0]}{size}", f"{sign[1]}{size}", value < 0)
    if max(size.numerator, size.denominator) > longest:
        shown = decimal(size, 4)
        return Maths(f"{sign[0]}{shown}", f"{sign[1]}{shown}", value < 0)
    top, bottom = size.numerator, size.denominator
    return Maths(f"{sign[0]}{top}/{bottom}", rf"{sign[1]}\frac{{{top}}}{{{bottom}}}", value < 0, True)


def result(value: Fraction) -> list[Maths]:
    """Return a result as it is read: exact where that is short enough, and as a decimal where it is no whole number."""
    shown = [number(value, _LONGEST_RESULT)]
    if value.denominator > 1:
        rounded = decimal(value, 4)
        if rounded != shown[0].text:
            shown.append(Maths(rounded, rounded.replace(MINUS, "-"), value < 0))
    return shown


def speed(member: str) -> Maths:
    """Return the symbol for the speed of a member or of input, output or housing."""
    name = say(member) if member in RESERVED_SHAFTS else member_label(member)
    return Maths(f"n({name})", rf"n_{{\text{{{name}}}}}")


def torque(name: str) -> Maths:
    """Return the symbol for the torque on a member, on input, output or housing, or that of an element."""
    label = say(name) if name in RESERVED_SHAFTS else member_label(name)
    return Maths(f"T({label})", rf"T_{{\text{{{label}}}}}")


def symbol(name: str) -> Maths:
    """Return a tooth symbol such as S1, or a letter for an unknown such as x."""
    return Maths(name, f"{name[0]}_{{{name[1:]}}}" if len(name) > 1 else name)


def product(*factors: Maths) -> Maths:
    """Return a product."""
    if len(factors) == 1:
        return factors[0]
    parts = [factor.factor for factor in factors]
    return Maths("·".join(p.text for p in parts), r" \cdot ".join(p.latex for p in parts))


def total(terms: Iterable[tuple[int, Maths]]) -> Maths:
    """Return a sum.

    Args:
        terms: sign (+1 or -1) and term; the first keeps its sign only where it is minus.
    """
    text, latex, count, last = "", "", 0, number(0)
    for sign, term in terms:
        if term.text.startswith(MINUS) and " " not in term.text:
            # A single term with a minus of its own: "1 - x" reads better than "1 + (-x)".
            sign, term = -sign, Maths(term.text[1:], term.latex[1:], False, term.is_quotient)
        last = term
        part = term.factor if term.is_sum else term
        if count:
            text += f" {MINUS if sign < 0 else '+'} {part.text}"
            latex += f" {'-' if sign < 0 else '+'} {part.latex}"
        else:
            first = part if sign < 0 else term
            text = (MINUS if sign < 0 else "") + first.text
            latex = ("-" if sign < 0 else "") + first.latex
        count += 1
    return Maths(text, latex, count > 1 or text.startswith(MINUS), count == 1 and last.is_quotient)


def over(top: Maths, bottom: Maths) -> Maths:
    """Return a quotient.

    Args:
        top: what stands above the bar.
        bottom: what stands below it.
    """
    above = f"({top.text})" if top.is_sum else top.text
    below = bottom.factor.text
    if "·" in bottom.text and not below.startswith("("):
        below = f"({below})"
    return Maths(f"{above}/{below}", rf"\frac{{{top.latex}}}{{{bottom.latex}}}", is_quotient=True)


def equation(*sides: Maths) -> Maths:
    """Return sides joined by equality signs."""
    return Maths(" = ".join(side.text for side in sides), " = ".join(side.latex for side in sides))


def linear(constant: Fraction, parts: Sequence[tuple[str, Fraction]]) -> Maths:
    """Return an expression such as ``1/2 - 3·x``.

    Args:
        constant: the number in it.
        parts: letter and its coefficient, in order.
    """
    terms: list[tuple[int, Maths]] = []
    if constant or not any(coefficient for _, coefficient in parts):
        terms.append((1 if constant >= 0 else -1, number(abs(constant))))
    for letter, coefficient in parts:
        if coefficient:
            factors = [number(abs(coefficient))] if abs(coefficient) != 1 else []
            terms.append((1 if coefficient > 0 else -1, product(*factors, symbol(letter))))
    return total(terms)
