"""Small words that make generated sentences read as if somebody had written them: numbers, plurals, what elements do."""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.explain.clauses import others_on
from gearkit.text.phrases import listed, member_words
from gearkit.train.elements import Element
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, FreeDirection
from graders.unit.facts import Facts

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_ARTICLES = {ElementKind.BRAKE: "a brake", ElementKind.CLUTCH: "a clutch", ElementKind.ONE_WAY_CLUTCH: "a one-way clutch"}


def number(count: int) -> str:
    """Return a number in words up to twelve."""
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def counted(count: int, noun: str, plural: str = "") -> str:
    """Return a number with its noun.

    Args:
        count: how many.
        noun: for one of them.
        plural: for several, where it is not the noun with an s.

    >>> counted(1, "clutch"), counted(3, "clutch", "clutches")
    ('one clutch', 'three clutches')
    """
    return f"{number(count)} {noun if count == 1 else plural or noun + 's'}"


def verb(count: int, word: str) -> str:
    """Return a verb for one or for several, such as "holds" and "hold", "carries" and "carry".

    Args:
        count: how many do it.
        word: the verb for several.
    """
    if count != 1:
        return word
    if word.endswith("y") and word[-2:-1] not in "aeiou":
        return word[:-1] + "ies"
    return word + ("es" if word.endswith(("s", "sh", "ch", "x")) else "s")


def kind_words(element: Element) -> str:
    """Return what an element is, with its article."""
    return _ARTICLES[element.kind]


def shaft_words(members: Sequence[str]) -> str:
    """Return what is on a shaft, in a sentence."""
    return listed(map(member_words, members))


def does(facts: Facts, element: Element) -> str:
    """Return what an element does when it holds, such as "holds sun 1" or "joins sun 1 to the input".

    Args:
        facts: the layout.
        element: one of its elements.
    """
    first, second = element.between
    grounded = facts.layout.shaft_of(HOUSING)
    if grounded in (facts.layout.shaft_of(first), facts.layout.shaft_of(second)):
        turning = second if facts.layout.shaft_of(first) == grounded else first
        return f"holds {_with_mates(facts, turning)}"
    ends = [first, second]
    for end in (INPUT, OUTPUT):
        if facts.layout.shaft_of(end) in (facts.layout.shaft_of(first), facts.layout.shaft_of(second)):
            other = second if facts.layout.shaft_of(first) == facts.layout.shaft_of(end) else first
            return f"joins {_with_mates(facts, other)} to {member_words(end)}"
    return f"joins {_with_mates(facts, ends[0])} to {_with_mates(facts, ends[1])}"


def free_way(facts: Facts, element: Element) -> str:
    """Return how a one-way clutch lets go, as the end of a sentence; "" for any other element.

    Args:
        facts: the layout.
        element: one of its elements.
    """
    if element.kind is not ElementKind.ONE_WAY_CLUTCH:
        return ""
    (first, second), ground = element.between, facts.layout.shaft_of(HOUSING)
    forward = element.free_direction is FreeDirection.FORWARD
    if facts.layout.shaft_of(first) == ground:
        # Seen from the housing the second part turns the other way than the first does seen from it.
        first, second, forward = second, first, not forward
    way = "forward" if forward else "backward"
    if facts.layout.shaft_of(second) == ground:
        return f", but lets it turn {way}"
    return f", but lets {member_words(first)} turn {way} seen from {member_words(second)}"


def _with_mates(facts: Facts, member: str) -> str:
    shaft = facts.layout.shafts[facts.layout.shaft_of(member)]
    rest = others_on([mate for mate in shaft if mate != HOUSING], [member])
    return f"{member_words(member)} (with {listed(rest)})" if rest else member_words(member)


def escaped(text: str) -> str:
    """Return words of a derivation in which Markdown sees no markup of its own."""
    for sign in ("\\", "*", "_", "`", "$", "<", "[", "#", "|"):
        text = text.replace(sign, "\\" + sign)
    return text
