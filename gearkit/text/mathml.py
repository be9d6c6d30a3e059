"""Formulas as MathML, so that a page shows them without a script and without a network.

Two notations come in: the small part of LaTeX that tasks are written in (``\\frac{R}{S}``, ``n_{sun}``), and answers
as the kit read them (``1 + R/S``). Whatever is neither comes out as plain text in a code element: a page is never
worse off than the text it was made from.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape
from itertools import pairwise

from gearkit.text import latex
from gearkit.text.latex import DEPTH, FUNCTIONS, LONGEST, NotMathsError

_PLAIN = re.compile(r"\d+(?:\.\d+)?|[A-Za-zΑ-ω][A-Za-zΑ-ω0-9_]*|\*\*|\S")


def from_latex(text: str, block: bool = False) -> str:
    """Return a LaTeX formula as MathML, or as plain text where it holds more than this reads.

    Args:
        text: the formula without its dollar signs.
        block: whether it stands on a line of its own.
    """
    try:
        row = latex.read(text, _Page())
    except NotMathsError:
        return f"<code>{escape(text)}</code>"
    return _math(row, text, block)


def from_expression(text: str) -> str:
    """Return an answer such as ``1 + R/S`` as MathML, or as plain text where it is not an expression."""
    try:
        row = _Expression(text).everything()
    except NotMathsError:
        return f"<code>{escape(text)}</code>"
    return _math(row, text, False)


def _math(row: str, text: str, block: bool) -> str:
    # A fraction in a line would be set at seven tenths, and its indices at half: too small to read.
    display = ' display="block"' if block else ' displaystyle="true"' if "<mfrac" in row else ""
    # The text stays in the title: it is what a search or an older reader finds.
    return f'<math{display} title="{escape(text, quote=True)}"><mrow>{row}</mrow></math>'


def _fraction(top: str, bottom: str) -> str:
    # In a font that says nothing about fractions the bar would touch the letters and a sign before it.
    above, below = (
        f'<mrow style="padding-{side}:{room}em">{row.removeprefix("<mrow>").removesuffix("</mrow>")}</mrow>'
        for side, room, row in (("bottom", 0.1, top), ("top", 0.15, bottom))
    )
    return f'<mfrac style="margin:0 0.12em">{above}{below}</mfrac>'


def _name(word: str) -> str:
    """Write a symbol; a number at its end, or what follows an underscore, becomes an index."""
    stem, _, index = word.partition("_")
    if not index:
        # ns, wc and Tr are the speed or torque of a member; their second letter is an index too.
        match = re.fullmatch(r"([nwTz])([a-z]\d*)|([^\W\d]+)(\d+)", word)
        if match:
            stem, index = match[1] or match[3], match[2] or match[4]
    # Two letters or more would be set upright by themselves; tooth counts and speeds are one letter.
    head = f"<mi>{escape(stem)}</mi>"
    if not index:
        return head
    kind = "mn" if index.isdigit() else "mi"
    return f"<msub>{head}<{kind}>{escape(index)}</{kind}></msub>"


class _Page:
    """MathML, piece by piece."""

    def row(self, pieces: Sequence[str]) -> str:
        functions = {self.words(name) for name in FUNCTIONS}
        return "".join(
            f'{piece}<mspace width="0.17em"></mspace>' if piece in functions and after.startswith("<mi>") else piece
            for piece, after in pairwise([*pieces, ""])
        )

    def group(self, row: str) -> str:
        return f"<mrow>{row}</mrow>"

    def number(self, digits: str) -> str:
        return f"<mn>{digits}</mn>"

    def letter(self, letter: str) -> str:
        return f"<mi>{letter}</mi>"

    def words(self, words: str) -> str:
        return f"<mtext>{escape(words)}</mtext>"

    def sign(self, sign: str) -> str:
        # The bars round a size would stand apart from it as signs between two terms do.
        return '<mo lspace="0" rspace="0" stretchy="false">|</mo>' if sign == "|" else f"<mo>{escape(sign)}</mo>"

    def scripts(self, base: str, below: str, above: str) -> str:
        if below and above:
            return f"<msubsup>{base}{below}{above}</msubsup>"
        return f"<msub>{base}{below}</msub>" if below else f"<msup>{base}{above}</msup>"

    def fraction(self, top: str, bottom: str) -> str:
        return _fraction(top, bottom)

    def root(self, inside: str) -> str:
        return f"<msqrt>{inside}</msqrt>"


class _Expression:
    """Reader of a plain expression: sums, products, quotients, powers, brackets, names and numbers."""

    def __init__(self, text: str) -> None:
        if len(text) > LONGEST:
            raise NotMathsError
        self._tokens: list[str] = _PLAIN.findall(text.replace("−", "-").replace("·", "*").replace("×", "*"))
        self._place = 0
        self._depth = 0
        if not self._tokens:
            raise NotMathsError

    def everything(self) -> str:
        row = self._sum()
        if self._peek():
            raise NotMathsError
        return row

    def _peek(self) -> str:
        return self._tokens[self._place] if self._place < len(self._tokens) else ""

    def _take(self, *tokens: str) -> str:
        token = self._peek()
        if token not in tokens:
            return ""
        self._place += 1
        return token

    def _sum(self) -> str:
        self._depth += 1
        if self._depth > DEPTH:
            raise NotMathsError
        # A minus in front stands before the fraction bar, as it is written by hand.
        row = "<mo>−</mo>" if self._take("-") else ""
        row += self._product()
        while sign := self._take("+", "-"):
            row += f"<mo>{'+' if sign == '+' else '−'}</mo>{self._product()}"
        self._depth -= 1
        return row

    def _product(self) -> str:
        row, bare = self._signed()
        while True:
            if self._take("*"):
                row = bare = f"{row}<mo>·</mo>{self._signed()[0]}"
            elif self._take("/"):
                row = bare = _fraction(f"<mrow>{bare}</mrow>", f"<mrow>{self._signed()[1]}</mrow>")
            else:
                return row

    def _signed(self) -> tuple[str, str]:
        if self._take("-"):
            row, _ = self._signed()
            return f"<mo>−</mo>{row}", f"<mo>−</mo>{row}"
        if self._take("+"):
            return self._signed()
        row, bare = self._primary()
        if self._take("**", "^"):
            power = self._signed()[1]
            row = bare = f"<msup><mrow>{row}</mrow><mrow>{power}</mrow></msup>"
        return row, bare

    def _primary(self) -> tuple[str, str]:
        """Return the piece twice: as it stands, and without its brackets for a place above or below a bar."""
        if self._take("("):
            inner = self._sum()
            if not self._take(")"):
                raise NotMathsError
            return f"<mo>(</mo>{inner}<mo>)</mo>", inner
        token = self._peek()
        if not token or not (token[0].isdigit() or token[0].isalpha()):
            raise NotMathsError
        self._place += 1
        row = f"<mn>{token}</mn>" if token[0].isdigit() else _name(token)
        return row, row
