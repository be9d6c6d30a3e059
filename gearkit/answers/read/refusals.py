"""What can be read in two ways is refused with both, and with how to write each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gearkit.answers.read.expression import Tree, written
from gearkit.answers.read.tokens import Token
from gearkit.words.errors import AnswerError
from gearkit.words.say import say


def two_ways(quotient: Tree, factor: Tree) -> AnswerError:
    """Return the error for a quotient with a factor after it, as in ``1/2R``.

    Args:
        quotient: the quotient.
        factor: what follows without a sign.
    """
    over, under, after = written(quotient[1]), written(quotient[2]), written(factor)
    if quotient[1][0] in ("+", "-"):
        over = f"({over})"
    if factor[0] in ("+", "-"):
        after = f"({after})"
    if quotient[2][0] in ("+", "-"):
        under = f"({under})"
    return AnswerError(
        "ambiguous",
        say("{over}/{under}{after} can be read in two ways.", over=over, under=under, after=after),
        say("Write {over}/({under}*{after}) or ({over}/{under})*{after}.", over=over, under=under, after=after),
    )


def number_in_place(tree: Tree, token: Token, second: Token, third: Token) -> AnswerError:
    """Return the error for a number that follows something without a sign between.

    Args:
        tree: what stands before it.
        token: the number.
        second: the token after it.
        third: the one after that.
    """
    left = written(tree)
    over, under = token.text, third.text
    whole = all(part.isdigit() for part in (left, over, under))
    if second.text == "/" and third.kind == "number" and tree[0] == "number":
        improper = (
            (" " + say("or {left}/{under}", left=int(left) * int(under) + int(over), under=under))
            if whole and int(under)
            else ""
        )
        return AnswerError(
            "mixed number",
            say("{left} {over}/{under} could be a sum or a product.", left=left, over=over, under=under),
            say("Write {left} + {over}/{under}{improper}.", left=left, over=over, under=under, improper=improper),
        )
    return AnswerError(
        "unreadable",
        say("{left} and {token} stand side by side without a sign.", left=left, token=token.text),
        say("Put + - * or / between them."),
    )


def no_mixed_number(pieces: Sequence[Token]) -> None:
    """Refuse ``3\\frac{9}{16}``: on a page it is a mixed number, and in a row of factors a product.

    Args:
        pieces: what stands before the fraction, the fraction, and its tokens as far as its second number.

    Raises:
        AnswerError: a whole number stands before a proper fraction of whole numbers.
    """
    texts = [piece.text for piece in pieces]
    if len(texts) < 7 or texts[2:6:3] != ["{", "{"] or not all(text.isdigit() for text in (texts[0], texts[3], texts[6])):
        return
    whole, over, under = texts[0], texts[3], texts[6]
    if texts[4] == "}" and 0 < int(over) < int(under):
        raise AnswerError(
            "mixed number",
            say("{left} {over}/{under} could be a sum or a product.", left=whole, over=over, under=under),
            say(
                "Write {left} + {over}/{under}{improper}.",
                left=whole,
                over=over,
                under=under,
                improper=" " + say("or {left}/{under}", left=f"{whole}*{over}", under=under),
            ),
        )


def no_letter_e(number: str, letters: Iterable[str]) -> None:
    """Refuse ``2e3`` where e, or e3, is a letter of the question.

    Args:
        number: the number, with its power of ten after an e.
        letters: the letters of the question.

    Raises:
        AnswerError: it can be read in two ways.
    """
    digits, _, power = number.partition("e")
    letter = next((letter_ for letter_ in letters if letter_.lower() in ("e", f"e{power}")), None)
    if letter is None:
        return
    rest = "" if len(letter) > 1 else f"*{power}" if power[0] != "-" else f" - {power[1:]}"
    raise AnswerError(
        "ambiguous",
        say("{number} can be read in two ways, for {letter} is a letter of this question.", number=number, letter=letter),
        say(
            "Write {digits}*10^{power} for the power of ten, or {digits}*{letter}{rest}.",
            digits=digits,
            power=power,
            letter=letter,
            rest=rest,
        ),
    )
