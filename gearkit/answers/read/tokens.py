"""From a learner's text to tokens: the only place that looks at single characters.

Nothing is run and nothing is guessed: what is not on the list below is refused with its place and what to write.
Whole-number exponents may be superscripts, indices may be subscripts or ``_1`` or ``_{1}``, and the simple part of
LaTeX that people paste from a worked solution is understood.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from gearkit.answers.read.commas import plain_number
from gearkit.answers.read.typed import plainly
from gearkit.words.errors import AnswerError
from gearkit.words.say import say

MAX_CHARS = 400
MAX_TOKENS = 300
# A computer's own numbers print up to 17 digits; more than 20 is not an answer of this course.
MAX_DIGITS = 20

DIGITS = frozenset("0123456789")
# A number such as 1.2e-3 is no longer than any other once it is written out.
MAX_POWER_OF_TEN = 15
_NUMBER = re.compile(r"[0-9.]+(?:,[0-9][0-9.]*)*")
_POWER_OF_TEN = re.compile("[eE]([-+\u2212\u2013]?)([0-9]{1,4})(?![0-9A-Za-z_.])")
VULGAR = {
    "\u00bd": "1/2",
    "\u2153": "1/3",
    "\u2154": "2/3",
    "\u00bc": "1/4",
    "\u00be": "3/4",
    "\u2155": "1/5",
    "\u2156": "2/5",
    "\u2157": "3/5",
    "\u2158": "4/5",
    "\u2159": "1/6",
    "\u215a": "5/6",
    "\u2150": "1/7",
    "\u215b": "1/8",
    "\u215c": "3/8",
    "\u215d": "5/8",
    "\u215e": "7/8",
    "\u2151": "1/9",
    "\u2152": "1/10",
}
LETTERS = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ")
_SAME_AS = {
    **dict.fromkeys("\u2212\u2013\u2014\u2010\u2011\u2012\ufe63\uff0d", "-"),
    **dict.fromkeys("\u00d7\u00b7\u22c5\u2219\u2217\u2715\u2022\uff0a", "*"),
    **dict.fromkeys("\u00f7\u2215\u2044\uff0f", "/"),
    **dict.fromkeys("\u00a0\u2009\u202f\u2002\u2003\u200a\t\n\r", " "),
    "\uff0b": "+",
    "\uff08": "(",
    "\uff09": ")",
    "\uff1d": "=",
    "\uff1a": ":",
    "\u2236": ":",
    "\u2264": "<=",
    "\u2265": ">=",
}
_SUPERSCRIPTS = {
    mark: str(number) for number, mark in enumerate("\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079")
}
_SUPERSCRIPTS["\u207b"] = "-"
_SUBSCRIPTS = {mark: str(number) for number, mark in enumerate("\u2080\u2081\u2082\u2083\u2084\u2085\u2086\u2087\u2088\u2089")}
_SUBSCRIPTS |= dict(
    zip("\u2090\u2091\u1d62\u2c7c\u2095\u2096\u2097\u2098\u2099\u2092\u209a\u1d63\u209b\u209c", "aeijhklmnoprst", strict=True)
)
_GREEK = {"\u03c0": "pi", "\u03bc": "mu", "\u00b5": "mu", "\u03b7": "eta", "\u03c1": "rho", "\u03b1": "alpha"}
_TEX_GREEK = frozenset(_GREEK.values())
_TEX_OPERATORS = {"cdot": "*", "times": "*", "div": "/"}
_TEX_IGNORED = frozenset({"left", "right", "big", "Big", "displaystyle", ",", ";", "!", " ", "quad", "(", ")", "[", "]"})
_TEX_FRACTIONS = frozenset({"frac", "dfrac", "tfrac"})
_TEX_NAMES = frozenset({"mathrm", "text", "mathit", "operatorname"})
_SIGNS = frozenset("+-*/^()[]{}=:")


@dataclass(frozen=True)
class Token:
    """One piece of an answer.

    Args:
        kind: "number" (``1.2e3`` too), "name", "sign", "vulgar" (a sign such as a half), "fraction" (LaTeX) or "end".
        text: the piece itself; a sign is one of ``+ - * / ^ ( ) { } = :`` or a comparison.
        place: position of its first character in the text, from 0.
        spaced: True when a blank stands before it.
    """

    kind: str
    text: str
    place: int
    spaced: bool = False


def tokens(text: str, comparisons: bool = False) -> tuple[Token, ...]:
    """Return the tokens of a text.

    Args:
        text: what was written.
        comparisons: True lets ``< > <= >= != ,`` through; for the bank's own conditions, never for learners.

    Raises:
        AnswerError: with the piece that cannot be read and what to write instead.
    """
    if not isinstance(text, str):
        raise AnswerError("unreadable", say("An answer is text, not {name__}.", name__=type(text).__name__))
    if len(text) > MAX_CHARS:
        raise AnswerError(
            "too long",
            say("The answer has {text} characters; {max_chars} are read.", text=len(text), max_chars=MAX_CHARS),
            say("Write it shorter."),
        )
    scanner = _Scanner(without_dollars(text), comparisons)
    taken = scanner.scan()
    if not taken:
        raise AnswerError("empty", say("There is no answer here yet."))
    if len(taken) > MAX_TOKENS:
        raise AnswerError(
            "too long",
            say(
                "The answer has {found} numbers, letters and signs; {max_tokens} are read.",
                found=len(taken),
                max_tokens=MAX_TOKENS,
            ),
            say("Write it shorter."),
        )
    return tuple(taken)


def without_dollars(text: str) -> str:
    """Return a text in plain marks, without dollar signs and without a sign for "about" in front.

    Args:
        text: what was written.
    """
    # How near a decimal has to be is the comparison's business.
    bare = plainly(text).lstrip("≈~").strip()
    # Formulas of a page stand between dollars, one by one or as a whole; a single one is a sign like any other.
    return bare.replace("$", " ").strip() if bare.count("$") % 2 == 0 else bare


class _Scanner:
    """Walks once through the text; every method eats what it understands and moves on."""

    def __init__(self, text: str, comparisons: bool) -> None:
        self.text = text
        self.at = 0
        self.comparisons = comparisons
        self.spaced = False
        self.tokens: list[Token] = []

    def scan(self) -> list[Token]:
        while self.at < len(self.text):
            mark = _SAME_AS.get(self.text[self.at], self.text[self.at])
            if mark == " ":
                self.at += 1
                self.spaced = True
            elif mark in _SUPERSCRIPTS:
                self._superscript()
            elif mark in DIGITS or (mark == "." and self._next(1) in DIGITS):
                self._number()
            elif mark in VULGAR:
                self._add("vulgar", VULGAR[mark], self.at)
                self.at += 1
            elif mark in LETTERS or mark in _GREEK:
                self._name()
            elif mark == "\\":
                self._tex()
            else:
                self._sign(mark)
        return self.tokens

    def _next(self, ahead: int) -> str:
        place = self.at + ahead
        return self.text[place] if place < len(self.text) else ""

    def _add(self, kind: str, text: str, start: int) -> None:
        self.tokens.append(Token(kind, text, start, self.spaced))
        self.spaced = False

    def _superscript(self) -> None:
        start, power = self.at, ""
        while self._next(0) in _SUPERSCRIPTS and self._next(0):
            power += _SUPERSCRIPTS[self.text[self.at]]
            self.at += 1
        self._add("sign", "^", start)
        if power.startswith("-"):
            self._add("sign", "-", start)
            power = power[1:]
        if not power or "-" in power:
            raise AnswerError("exponent", say("A small raised sign stands without its number."), say("Write a power as S^2."))
        self._add("number", power, start)

    def _number(self) -> None:
        start = self.at
        if self.comparisons:
            # In the bank's own formulas a comma stands between what a function is given.
            while self._next(0) and (self._next(0) in DIGITS or self._next(0) == "."):
                self.at += 1
            number = self.text[start : self.at]
        else:
            match = _NUMBER.match(self.text, start)
            assert match is not None
            number, self.at = match[0], match.end()
        if "," in number or number.count(".") > 1:
            number = plain_number(number)
        if sum(mark in DIGITS for mark in number) > MAX_DIGITS:
            raise AnswerError(
                "too large",
                say("The number {number}… has more than {max_digits} digits.", number=number[:12], max_digits=MAX_DIGITS),
                say("Round it."),
            )
        number = number.rstrip(".") or "0"
        self._add("number", number + self._power_of_ten(number), start)

    def _power_of_ten(self, number: str) -> str:
        """Read what follows a number as in ``1.2e3``; where e is a letter of the question the parser refuses it."""
        match = _POWER_OF_TEN.match(self.text, self.at)
        if match is None:
            return ""
        power = int(match[2])
        if power > MAX_POWER_OF_TEN:
            raise AnswerError(
                "too large",
                say(
                    "The power of ten in {number}{match} is beyond {max_power_of_ten}.",
                    number=number,
                    match=match[0],
                    max_power_of_ten=MAX_POWER_OF_TEN,
                ),
                say("Write the number in full."),
            )
        self.at = match.end()
        return f"e{'-' if match[1] not in ('', '+') else ''}{power}"

    def _name(self) -> None:
        start, name = self.at, ""
        while mark := self._next(0):
            if mark in LETTERS or mark in DIGITS or mark in _SUBSCRIPTS:
                name += _SUBSCRIPTS.get(mark, mark)
                self.at += 1
            elif mark in _GREEK and not name:
                name = _GREEK[mark]
                self.at += 1
            elif mark == "_":
                name += self._index()
            else:
                break
        self._add("name", name, start)

    def _index(self) -> str:
        """Read what follows an underscore: ``R_1``, ``R_{1}``, ``n_{sun}``."""
        after = self._next(1)
        if after == "{":
            close = self.text.find("}", self.at)
            inside = self.text[self.at + 2 : close] if close > 0 else ""
            if not inside or not all(mark in LETTERS or mark in DIGITS for mark in inside):
                raise AnswerError("unreadable", say("An index is not closed or holds signs."), say("Write R_1 or R1."))
            self.at = close + 1
            return inside
        if not after or not (after in LETTERS or after in DIGITS):
            raise AnswerError("unreadable", say("There is nothing after the underscore."), say("Write R_1 or R1."))
        index = ""
        self.at += 1
        while (mark := self._next(0)) and (mark in LETTERS or mark in DIGITS or mark == "_"):
            index += mark if mark != "_" else ""
            self.at += 1
        return index

    def _tex(self) -> None:
        start = self.at
        self.at += 1
        word = ""
        while (mark := self._next(0)) and mark in LETTERS:
            word += mark
            self.at += 1
        if not word:
            word = self._next(0)
            self.at += 1
        if word in _TEX_FRACTIONS:
            self._add("fraction", word, start)
        elif word in _TEX_OPERATORS:
            self._add("sign", _TEX_OPERATORS[word], start)
        elif word in _TEX_GREEK:
            self._add("name", word, start)
        elif word in _TEX_NAMES:
            self._tex_name(start)
        elif word in _TEX_IGNORED:
            self.spaced = True
        else:
            raise AnswerError(
                "unreadable",
                say("The LaTeX command \\{word} is not read here.", word=word[:12]),
                say("Write the formula with + - * / ^ and brackets."),
            )

    def _tex_name(self, start: int) -> None:
        close = self.text.find("}", self.at)
        inside = self.text[self.at + 1 : close].strip() if self._next(0) == "{" and close > 0 else ""
        if not inside or not all(mark in LETTERS or mark in DIGITS for mark in inside):
            raise AnswerError("unreadable", say("A LaTeX name is not closed or holds signs."), say("Write the letter alone."))
        self.at = close + 1
        self._add("name", inside, start)

    def _sign(self, mark: str) -> None:
        start = self.at
        if self.comparisons and mark in ("<", ">", "!", "=", ",", "<=", ">="):
            wide = self.text[self.at : self.at + 2]
            taken = wide if wide in ("<=", ">=", "!=", "==") else mark
            self.at += 2 if taken == wide else 1
            self._add("sign", taken, start)
        elif mark == "*" and self._next(1) == "*":
            self.at += 2
            self._add("sign", "^", start)
        elif mark in _SIGNS:
            self.at += 1
            self._add("sign", {"[": "(", "]": ")"}.get(mark, mark), start)
        else:
            raise _refused(mark, start)


def _refused(mark: str, place: int) -> AnswerError:
    shown = (
        say("“{mark}”", mark=mark) if mark.isprintable() else say("an invisible character (U+{ord})", ord=f"{ord(mark):04X}")
    )
    where = say("at place {place}", place=place + 1)
    if mark == ",":
        return AnswerError(
            "decimal comma", say("There is a comma {where}.", where=where), say("Decimals take a point: write 3.25.")
        )
    if mark == "%":
        return AnswerError(
            "unit", say("There is a percent sign {where}.", where=where), say("Write the number alone, as in 0.25.")
        )
    if mark == ".":
        return AnswerError(
            "unreadable", say("There is a point without digits {where}.", where=where), say("Write decimals as 0.5.")
        )
    if mark in "√∛":
        return AnswerError(
            "function", say("There is a root sign {where}.", where=where), say("Work it out and write the number.")
        )
    return AnswerError(
        "unreadable",
        say("There is {shown} {where}, which is not read here.", shown=shown, where=where),
        say("Use numbers, the letters of the question and + - * / ^ ( )."),
    )
