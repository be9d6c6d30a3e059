"""Formulas in the print engine's own notation, and as words for those who hear a page.

Only pieces that this module writes itself reach the engine's notation: letters and digits as they are, words and unknown
signs between quotation marks. So no formula can call a function of the engine.
"""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.text import latex
from gearkit.text.latex import AsRead, NotMathsError

# Signs that the notation reads as they stand; all others are set between quotation marks.
_PLAIN_SIGNS = frozenset("+−=<>·×÷±≤≥≠≈→⇒∞°…!")
_BRACKETS = frozenset("()[]{}|")
_CLOSING = {"\\)": "\\(", "\\]": "\\["}
_LONG_LINE = 60


def quoted(text: str) -> str:
    """Return any text as a text between quotation marks in the engine's notation."""
    return '"' + _printable(text).replace("\\", "\\\\").replace('"', '\\"') + '"'


def _printable(text: str) -> str:
    if text.isprintable():
        return text
    return "".join(letter for letter in text if letter.isprintable() or letter.isspace())


def equation(text: str, *, block: bool = False, words: str = "") -> str:
    """Return a LaTeX formula as an equation with its text alternative, in the engine's notation.

    Args:
        text: the formula without its dollar signs.
        block: whether it stands on a line of its own.
        words: its text alternative; made from the formula when empty.
    """
    text = _printable(text)
    try:
        body = latex.read(text, _Set())
        told = _printable(words or latex.read(text, _Words())).strip() or "formula"
    except NotMathsError:
        return f"raw({quoted(text)})"
    body = f"math.display($ {body} $.body)" if block else f"$ {body} $.body"
    # A long chain may break over lines, which a formula on a line of its own cannot.
    whole = f"block: {'true' if block and len(told) < _LONG_LINE else 'false'}"
    return f"math.equation({whole}, alt: {quoted(' '.join(told.split()))}, {body})"


class _Set:
    """The engine's notation, piece by piece."""

    def row(self, pieces: Sequence[str]) -> str:
        # Brackets that belong together grow with what stands between them.
        open_rows: list[list[str]] = [[]]
        for piece in filter(None, pieces):
            if piece in _CLOSING and len(open_rows) > 1 and open_rows[-1][0] == _CLOSING[piece]:
                inner = open_rows.pop()
                open_rows[-1].append(f"lr({' '.join([*inner, piece])})")
            elif piece in _CLOSING.values():
                open_rows.append([piece])
            else:
                open_rows[-1].append(piece)
        return " ".join(piece for row in open_rows for piece in row) or '""'

    def group(self, row: str) -> str:
        return row

    def number(self, digits: str) -> str:
        # The engine would set a comma as one of a list, with a blank after it.
        return quoted(digits) if "," in digits else digits

    def letter(self, letter: str) -> str:
        return letter

    def words(self, words: str) -> str:
        return f"upright({quoted(words)})"

    def sign(self, sign: str) -> str:
        if sign in _BRACKETS:
            return f"\\{sign}"
        return sign if sign in _PLAIN_SIGNS else quoted(sign)

    def scripts(self, base: str, below: str, above: str) -> str:
        pieces = [base or '""', *([f"b: {below}"] if below else []), *([f"t: {above}"] if above else [])]
        return f"attach({', '.join(pieces)})"

    def fraction(self, top: str, bottom: str) -> str:
        return f"frac({top}, {bottom})"

    def root(self, inside: str) -> str:
        return f"sqrt({inside})"


class _Words(AsRead):
    """A formula as it is read aloud from a line of text."""

    def row(self, pieces: Sequence[str]) -> str:
        return " ".join(piece for piece in pieces if piece)

    def scripts(self, base: str, below: str, above: str) -> str:
        power = f" to the power of {above}" if above else ""
        return (f"{base} {below}" if below else base) + power

    def fraction(self, top: str, bottom: str) -> str:
        return f"{_bracketed(top)}/{_bracketed(bottom)}"

    def root(self, inside: str) -> str:
        return f"the square root of {_bracketed(inside)}"


def _bracketed(text: str) -> str:
    return f"({text})" if " " in text else text
