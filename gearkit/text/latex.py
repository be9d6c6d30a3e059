"""The small part of LaTeX that tasks and lessons are written in, read once for whoever writes it down again.

A page wants MathML, paper wants the print engine's formulas, a text alternative wants words: each is a `Notation`, and
the reader hands it pieces in order.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Protocol

from gearkit.text.phrases import decimal_mark

LONGEST = 2400
DEPTH = 40
SYMBOLS = {
    "cdot": "·", "times": "×", "div": "÷", "pm": "±", "le": "≤", "leq": "≤", "ge": "≥", "geq": "≥", "ne": "≠",
    "neq": "≠", "approx": "≈", "to": "→", "rightarrow": "→", "Rightarrow": "⇒", "infty": "∞", "omega": "ω",
    "eta": "η", "pi": "π", "mu": "μ", "alpha": "α", "beta": "β", "Delta": "Δ", "circ": "°", "ldots": "…",
    "dots": "…", "colon": ":", "quad": "\u2003", "qquad": "\u2003\u2003", "%": "%", "{": "{", "}": "}", "|": "|", "-": "−", "*": "·",
}  # fmt: skip
_NOTHING = {",", ";", "!", " ", "left", "right", "displaystyle", "bigl", "bigr", "Bigl", "Bigr"}
FUNCTIONS = ("sin", "cos", "tan", "arcsin", "arccos", "arctan")
# Words inside \text are one token, so that their blanks stay.
_TOKEN = re.compile(r"\\(?:text|mathrm|operatorname|mathit)\{[^{}]*\}|\\[A-Za-z]+|\\.|\d+(?:(?:\.|,|\{,\})\d+)?|[A-Za-zΑ-ω]|\S")
_FORMULA = re.compile(r"\$\$.+?\$\$|\$[^$]+\$", re.DOTALL)
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")


def with_tight_commas(text: str) -> str:
    """Return Markdown in whose formulas a decimal comma is part of its number, where the reader's language has one.

    LaTeX takes a comma for one of a list and sets a blank after it.

    Args:
        text: with formulas between dollar signs.
    """
    if decimal_mark() != ",":
        return text
    return _FORMULA.sub(lambda formula: _DECIMAL_COMMA.sub("{,}", formula[0]), text)


class NotMathsError(Exception):
    """The text is not in the notation that was tried."""


class Notation(Protocol):
    """A way of writing a formula down; every piece is a text."""

    def row(self, pieces: Sequence[str]) -> str:
        """Write pieces that stand side by side.

        Args:
            pieces: as written already.
        """

    def group(self, row: str) -> str:
        """Write a row that stands for one piece.

        Args:
            row: as written already.
        """

    def number(self, digits: str) -> str:
        """Write a number.

        Args:
            digits: such as "3.5".
        """

    def letter(self, letter: str) -> str:
        """Write a letter that stands for a value.

        Args:
            letter: one letter, Latin or Greek.
        """

    def words(self, words: str) -> str:
        """Write words inside a formula.

        Args:
            words: such as "sun 1".
        """

    def sign(self, sign: str) -> str:
        """Write a sign of calculation, a bracket or a comma.

        Args:
            sign: one character.
        """

    def scripts(self, base: str, below: str, above: str) -> str:
        """Write an index and a power.

        Args:
            base: what they stand at.
            below: the index, or "".
            above: the power, or "".
        """

    def fraction(self, top: str, bottom: str) -> str:
        """Write a fraction.

        Args:
            top: what is divided.
            bottom: by what.
        """

    def root(self, inside: str) -> str:
        """Write a square root.

        Args:
            inside: what it is the root of.
        """


class AsRead:
    """What notations have in common that write single pieces as they are read, and differ in how they put them together."""

    def group(self, row: str) -> str:
        """A row that stands for one piece."""
        return row

    def number(self, digits: str) -> str:
        """A number."""
        return digits

    def letter(self, letter: str) -> str:
        """A letter that stands for a value."""
        return letter

    def words(self, words: str) -> str:
        """Words inside a formula."""
        return words

    def sign(self, sign: str) -> str:
        """A sign."""
        return sign


def read(text: str, notation: Notation) -> str:
    """Return a LaTeX formula in another notation.

    Args:
        text: the formula without its dollar signs.
        notation: how it is written down.

    Raises:
        NotMathsError: it holds more than this reads.
    """
    return _Reader(text, notation).everything()


class _Reader:
    """Reader of the part of LaTeX that tasks use."""

    def __init__(self, text: str, notation: Notation) -> None:
        if len(text) > LONGEST:
            raise NotMathsError
        self._to = notation
        self._tokens: list[str] = _TOKEN.findall(text)
        self._place = 0
        self._depth = 0

    def everything(self) -> str:
        row = self._row(end=None)
        if self._place != len(self._tokens):
            raise NotMathsError
        return row

    def _row(self, end: str | None) -> str:
        self._depth += 1
        if self._depth > DEPTH:
            raise NotMathsError
        pieces: list[str] = []
        while self._place < len(self._tokens) and self._tokens[self._place] != end:
            pieces.append(self._scripted())
        self._depth -= 1
        return self._to.row(pieces)

    def _next(self) -> str:
        if self._place >= len(self._tokens):
            raise NotMathsError
        self._place += 1
        return self._tokens[self._place - 1]

    def _group(self) -> str:
        if self._place < len(self._tokens) and self._tokens[self._place] == "{":
            self._place += 1
            row = self._row(end="}")
            if self._next() != "}":
                raise NotMathsError
            return self._to.group(row)
        token = self._tokens[self._place] if self._place < len(self._tokens) else ""
        if token.isdigit() and len(token) > 1:
            # Without braces one digit is taken: \\frac12 is a half.
            self._tokens[self._place] = token[1:]
            return self._to.number(token[0])
        return self._atom()

    def _scripted(self) -> str:
        base, below, above = self._atom(), "", ""
        while self._place < len(self._tokens) and self._tokens[self._place] in ("_", "^"):
            if self._next() == "_":
                below = self._group()
            else:
                above = self._group()
        return self._to.scripts(base, below, above) if below or above else base

    def _atom(self) -> str:
        token = self._next()
        if token == "{":
            self._place -= 1
            return self._group()
        if token in ("}", "_", "^", "$", "&", "#"):
            raise NotMathsError
        if token.startswith("\\") and token.endswith("}") and len(token) > 2:
            return self._to.words(token[token.index("{") + 1 : -1])
        if token.startswith("\\"):
            return self._command(token[1:])
        if token[0].isdigit():
            return self._to.number(token.replace("{,}", ","))
        if token[0].isalpha():
            return self._to.letter(token)
        return self._to.sign({"-": "−", "*": "·"}.get(token, token))

    def _command(self, command: str) -> str:
        if command in ("frac", "dfrac", "tfrac"):
            return self._to.fraction(self._group(), self._group())
        if command == "sqrt":
            return self._to.root(self._group())
        if command in _NOTHING:
            return ""
        if command in FUNCTIONS:
            return self._to.words(command)
        if command not in SYMBOLS:
            raise NotMathsError
        symbol = SYMBOLS[command]
        return self._to.letter(symbol) if symbol.isalpha() else self._to.sign(symbol)
