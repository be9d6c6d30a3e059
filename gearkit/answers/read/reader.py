"""From tokens to an expression: a small recursive-descent reader that runs nothing.

It reads ``+ - * / ^ **``, brackets, implied products such as ``2R(S + 1)``, mixed numbers, a leading ``i =`` and a closing
``:1``.
It refuses what can be read in two ways, with the reason and with what to write. Limits: 400 characters, 300 tokens,
depth 24, whole exponents to 9, and bounds on degree and coefficients, so that a short text cannot hide a huge number.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction

from gearkit.answers.read.beside import without_words
from gearkit.answers.read.expression import Digits, Expression, Tree, digits_of, divided_by_zero
from gearkit.answers.read.limits import check_size
from gearkit.answers.read.refusals import no_letter_e, no_mixed_number, number_in_place, two_ways
from gearkit.answers.read.times import with_powers_of_ten, with_times
from gearkit.answers.read.tokens import LETTERS, MAX_CHARS, Token, tokens
from gearkit.answers.read.working import sides_of
from gearkit.words.errors import AnswerError
from gearkit.words.say import say

MAX_DEPTH = 24
MAX_EXPONENT = 9

_TEETH_OF = re.compile(r"[zZ]([SRPsrp][0-9]*)")
_END = Token("end", "", -1)
_AFTER_MIXED = frozenset({"", ")", "}", "+", "-", "*", ":"})
# Most answers are a number or a fraction in the plainest form; it is the commonest text by far.
_GLANCE = re.compile(r"(-?)([0-9]{1,20}|[0-9]{1,10}\.[0-9]{1,10})(?:/([0-9]{1,20}))?")


def read(text: str, symbols: Iterable[str] | Mapping[str, str] = ()) -> Expression:
    """Read a learner's text as an expression.

    Args:
        text: what was written.
        symbols: the letters that may occur, or a mapping of spellings to them; none for a number.

    Raises:
        AnswerError: it cannot be read; the message says where, why and what to write.

    >>> read("(R + S)/S", ["R", "S"]).value({"R": Fraction(66), "S": Fraction(30)})
    Fraction(16, 5)
    """
    spellings = dict(symbols) if isinstance(symbols, Mapping) else {name: name for name in symbols}
    if not isinstance(text, str) or len(text) > MAX_CHARS:
        tokens(text)
    _, sides = sides_of(text, spellings)
    if len(sides) > 1:
        raise AnswerError(
            "equation", say("The answer holds an equation."), say("Write only what stands right of the equals sign.")
        )
    bare = without_words(sides[0])
    taken = with_powers_of_ten(with_times(tokens(bare), spellings), bare)
    tree = Parser(_without_ratio_to_one(taken), spellings).whole()
    check_size(tree)
    return Expression(text, tree)


def at_a_glance(text: str) -> tuple[Fraction, Digits | None] | None:
    """Return value and digits of a plain number, or of one whole number over another; None for any other text.

    `read` makes the same of it, several times slower; `written` would write it just as it is.

    Args:
        text: what was written.

    Raises:
        AnswerError: it divides by zero.

    >>> at_a_glance("-3.20"), at_a_glance("16/5"), at_a_glance("16 / 5")
    ((Fraction(-16, 5), (2, 3)), (Fraction(16, 5), None), None)
    """
    match = _GLANCE.fullmatch(text)
    if match is None:
        return None
    minus, over, under = match.groups()
    whole, _, decimals = over.partition(".")
    above, below = int(whole + decimals), 10 ** len(decimals)
    if minus:
        above = -above
    if under is None:
        return Fraction(above, below), digits_of(over)
    below *= int(under)
    if below == 0:
        raise divided_by_zero()
    return Fraction(above, below), None


def _without_ratio_to_one(taken: tuple[Token, ...]) -> tuple[Token, ...]:
    colons = [place for place, token in enumerate(taken) if token.text == ":"]
    if not colons:
        return taken
    if len(colons) == 1 and colons[0] == len(taken) - 2 > 0 and taken[-1].text == "1":
        return taken[:-2]
    if len(colons) == 1 and len(taken) == 3:
        first, second = taken[0].text, taken[2].text
        raise AnswerError(
            "unreadable",
            say("{first}:{second} could be meant either way round.", first=first, second=second),
            say("Write {first}/{second} for input over output, or a number followed by :1.", first=first, second=second),
        )
    raise AnswerError("unreadable", say("A colon is read only in a ratio to one, such as 3.2:1."), say("Write 16/5 or 3.2:1."))


class Parser:
    """Reads one list of tokens.

    Args:
        taken: the tokens.
        spellings: spelling -> symbol for every letter that may occur.
        functions: names that may be called; only the bank's own formulas have any.
    """

    def __init__(self, taken: tuple[Token, ...], spellings: Mapping[str, str], functions: frozenset[str] = frozenset()) -> None:
        self.tokens = taken
        self.at = 0
        self.depth = 0
        self.spellings = spellings
        self.functions = functions

    def whole(self) -> Tree:
        """Return the tree of all tokens."""
        tree = self.sum()
        token = self._peek()
        if token.kind != "end":
            raise self._unexpected(token)
        return tree

    def _peek(self, ahead: int = 0) -> Token:
        place = self.at + ahead
        return self.tokens[place] if place < len(self.tokens) else _END

    def _take(self) -> Token:
        token = self._peek()
        self.at += 1
        return token

    def _is(self, *signs: str) -> bool:
        token = self._peek()
        return token.kind == "sign" and token.text in signs

    def _down(self) -> None:
        self.depth += 1
        if self.depth > MAX_DEPTH:
            raise AnswerError(
                "too deep",
                say("The answer has more than {max_depth} brackets or signs inside each other.", max_depth=MAX_DEPTH),
                say("Write it simpler."),
            )

    def sum(self) -> Tree:
        """Read terms joined by plus and minus."""
        self._down()
        tree = self._product()
        while self._is("+", "-"):
            sign = self._take().text
            tree = (sign, tree, self._product())
        self.depth -= 1
        return tree

    def _product(self) -> Tree:
        tree = self._signed()
        divided = False
        while True:
            token = self._peek()
            if self._is("*", "/"):
                self._take()
                tree = (token.text, tree, self._signed())
                divided = token.text == "/"
            elif token.kind in ("name", "fraction") or self._is("(", "{"):
                if token.kind == "fraction":
                    no_mixed_number(self.tokens[self.at - 1 : self.at + 6])
                factor = self._power()
                if divided and not (token.text == "(" and _is_share(tree)):
                    raise two_ways(tree, factor)
                tree, divided = ("*", tree, factor), False
            elif token.kind in ("number", "vulgar"):
                raise number_in_place(tree, token, self._peek(1), self._peek(2))
            else:
                return tree

    def _signed(self) -> Tree:
        if self._is("-", "+"):
            sign = self._take().text
            self._down()
            tree = self._signed()
            self.depth -= 1
            return ("neg", tree) if sign == "-" else tree
        return self._power()

    def _power(self) -> Tree:
        tree = self._atom()
        if not self._is("^"):
            return tree
        self._take()
        tree = ("power", tree, self._exponent())
        if self._is("^"):
            raise AnswerError(
                "exponent", say("A power of a power can be read in two ways."), say("Put brackets, as in (S^2)^3.")
            )
        return tree

    def _exponent(self) -> int:
        opened: list[str] = []
        while self._is("(", "{"):
            opened.append({"(": ")", "{": "}"}[self._take().text])
            if len(opened) > 2:
                raise _exponent_error(say("has too many brackets"))
        minus = self._is("-")
        if minus:
            self._take()
        token = self._take()
        if token.kind != "number":
            raise _exponent_error(say("is not a number"))
        if not token.text.isdigit() or len(token.text) > 2 or int(token.text) > MAX_EXPONENT:
            raise _exponent_error(say("is {token}", token=token.text))
        for close in reversed(opened):
            if not self._is(close):
                raise _exponent_error(say("is not a single whole number"))
            self._take()
        return -int(token.text) if minus else int(token.text)

    def _atom(self) -> Tree:
        token = self._take()
        if token.kind == "number":
            return self._number(token)
        if token.kind == "vulgar":
            return _quotient_of(token.text)
        if token.kind == "name":
            return self._name(token)
        if token.kind == "fraction":
            self._down()
            over, under = self._group(), self._group()
            self.depth -= 1
            return ("/", over, under)
        if token.kind == "sign" and token.text in ("(", "{"):
            tree = self.sum()
            self._close({"(": ")", "{": "}"}[token.text])
            return tree
        raise self._unexpected(token)

    def _number(self, token: Token) -> Tree:
        tree = ("number", Fraction(token.text), token.text.replace("E", "e"))
        if "e" in token.text:
            no_letter_e(token.text, self.spellings)
        if not token.text.isdigit() or self._before(2) in ("/", "^"):
            return tree
        if self._peek().kind == "vulgar":
            return ("+", tree, _quotient_of(self._take().text))
        over, slash, under = self._peek(), self._peek(1), self._peek(2)
        proper = slash.text == "/" and over.text.isdigit() and under.text.isdigit() and 0 < int(over.text) < int(under.text)
        # 3 3/7 is a mixed number; 3 3/7 R or 3 3/7/2 could be meant in several ways.
        if not (over.kind == "number" and over.spaced and proper) or self._peek(3).text not in _AFTER_MIXED:
            return tree
        self.at += 3
        return ("+", tree, _quotient_of(f"{over.text}/{under.text}"))

    def _before(self, back: int) -> str:
        return self.tokens[self.at - back].text if self.at >= back else ""

    def _group(self) -> Tree:
        if not self._is("{"):
            raise AnswerError("unreadable", say("A LaTeX fraction needs both its parts in braces."), say("Write \\frac{R}{S}."))
        self._take()
        tree = self.sum()
        self._close("}")
        return tree

    def _close(self, sign: str) -> None:
        if not self._is(sign):
            token = self._peek()
            what = say("before “{token}”", token=token.text) if token.kind != "end" else say("at the end")
            raise AnswerError(
                "unreadable",
                say("A bracket is not closed: “{sign}” is missing {what}.", sign=sign, what=what),
                say("Count the brackets."),
            )
        self._take()

    def _name(self, token: Token) -> Tree:
        if token.text in self.functions and self._is("("):
            return ("call", token.text, self._arguments())
        symbol = self.spellings.get(token.text)
        if symbol is None:
            alike = {known for spelling, known in self.spellings.items() if spelling.lower() == token.text.lower()}
            if len(alike) != 1 and (counted := _TEETH_OF.fullmatch(token.text)):
                # z_S is how many write the tooth count S; it comes last, so that a letter z of the question stays one.
                alike = {known for spelling, known in self.spellings.items() if spelling.lower() == counted[1].lower()}
            if len(alike) != 1:
                raise self._unknown(token)
            symbol = alike.pop()
        return ("symbol", symbol)

    def _arguments(self) -> tuple[Tree, ...]:
        self._take()
        parts = [self.sum()]
        while self._is(","):
            self._take()
            parts.append(self.sum())
        self._close(")")
        return tuple(parts)

    def _unknown(self, token: Token) -> AnswerError:
        name = token.text[:20]
        if self._is("(") and len(name) > 1:
            return AnswerError(
                "function",
                say("{name}(…) looks like a function, and functions are not read here.", name=name),
                say("Work it out and write the number.") if not self.spellings else say("Use only + - * / ^ and brackets."),
            )
        pieces = _split_names(token.text, self.spellings)
        if pieces:
            return AnswerError(
                "unknown name",
                say("{name} is not one of the letters here.", name=name),
                say("For a product write {product}.", product="*".join(pieces)),
            )
        if not self.spellings:
            return AnswerError("not a number", say("{name} is a letter or a word, and a number is asked for.", name=name), "")
        return AnswerError(
            "unknown name",
            say("{name} is not one of the letters of this question.", name=name),
            say("It uses {letters}.", letters=", ".join(sorted(set(self.spellings.values())))),
        )

    def _unexpected(self, token: Token) -> AnswerError:
        if token.kind == "end":
            return AnswerError("unreadable", say("The answer stops in the middle."), say("Finish the formula."))
        if token.text in (")", "}"):
            return AnswerError(
                "unreadable",
                say("There is a “{token}” too many, or nothing stands before it.", token=token.text),
                say("Count the brackets."),
            )
        return AnswerError(
            "unreadable",
            say("“{token}” at place {place} has nothing to work on.", token=token.text, place=token.place + 1),
            say("A number or a letter is missing beside it."),
        )


def _quotient_of(text: str) -> Tree:
    over, under = text.split("/")
    return ("/", ("number", Fraction(over), over), ("number", Fraction(under), under))


def _is_share(tree: Tree) -> bool:
    """Whether a quotient can only be a share of the bracket after it, as in ``1/2(R - S)``; tooth counts have more digits."""
    over, under = (tree[1][1] if tree[1][0] == "neg" else tree[1], tree[2]) if tree[0] == "/" else (tree, tree)
    return bool(over[0] == under[0] == "number" and len(over[2]) == len(under[2]) == 1 and 0 < over[1] < under[1])


def _exponent_error(what: str) -> AnswerError:
    return AnswerError(
        "exponent",
        say("An exponent {what}.", what=what),
        say("It has to be a whole number up to {max_exponent}, as in S^2.", max_exponent=MAX_EXPONENT),
    )


def _split_names(text: str, spellings: Mapping[str, str]) -> list[str]:
    """Return how a run of letters splits into known symbols, longest first; empty where it does not."""
    left, pieces = text, []
    known = sorted((name for name in spellings if name[0] in LETTERS), key=len, reverse=True)
    while left:
        piece = next((name for name in known if left.startswith(name)), None)
        if piece is None:
            return []
        pieces.append(piece)
        left = left[len(piece) :]
    return pieces if len(pieces) > 1 else []
