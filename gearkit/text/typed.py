"""Formulas as they are typed on one line, for a terminal, where nothing sets them: S·n_s is typed S n_s, a fraction (S + R)/S."""

from __future__ import annotations

import re
from collections.abc import Sequence

from gearkit.text import latex
from gearkit.text.latex import AsRead, NotMathsError

# Signs between two terms have a blank on either side; the others stand close.
_SPACED = frozenset("+−=<>·×÷±≤≥≠≈→⇒:")
_OPENING = frozenset("([{|")
_TERM = re.compile(r"[\w°)\]}]$")


def from_latex(text: str) -> str:
    """Return a LaTeX formula as it is typed, or the text itself where it holds more than the kit reads.

    >>> from_latex(r"S\\,n_s + R\\,n_r = (S + R)\\,n_c"), from_latex(r"-\\frac{S + R}{S}"), from_latex("n_{C1}")
    ('S n_s + R n_r = (S + R) n_c', '−(S + R)/S', 'n_C1')

    Args:
        text: the formula without its dollar signs.
    """
    try:
        return latex.read(text, _Typed()).strip()
    except NotMathsError:
        return text


class _Typed(AsRead):
    """A formula on one line, piece by piece."""

    def row(self, pieces: Sequence[str]) -> str:
        row = ""
        for piece in filter(None, pieces):
            if piece in _SPACED and _TERM.search(row):
                row += f" {piece} "
            elif _TERM.search(row) and (piece[0].isalnum() or piece[0] in "([√"):
                row += f" {piece}"
            else:
                row += piece
        return row

    def scripts(self, base: str, below: str, above: str) -> str:
        return base + (f"_{_bracketed(_as_word(below))}" if below else "") + (f"^{_bracketed(above)}" if above else "")

    def fraction(self, top: str, bottom: str) -> str:
        return f"{_bracketed(top)}/{_bracketed(bottom)}"

    def root(self, inside: str) -> str:
        return f"√{_bracketed(inside)}"


def _bracketed(text: str) -> str:
    """A piece between brackets where it is more than one word or number."""
    return text if re.fullmatch(r"[\w.,]*", text) else f"({text})"


def _as_word(index: str) -> str:
    """The letters of an index side by side, as in n_C1."""
    close = index.replace(" ", "")
    return close if close.isalnum() else index
