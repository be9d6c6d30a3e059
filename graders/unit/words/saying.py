"""Small words that make generated sentences read as if somebody had written them: numbers, plurals, what elements do."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from gearkit.explain.clauses import others_on
from gearkit.text.phrases import count_words, listed, member_words
from gearkit.train.elements import Element
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, FreeDirection
from graders.unit.facts import Facts

_LARGER = {11: later("eleven"), 12: later("twelve")}
_ARTICLES = {
    ElementKind.BRAKE: later("a brake"), ElementKind.CLUTCH: later("a clutch"), ElementKind.ONE_WAY_CLUTCH: later("a one-way clutch"),
}  # fmt: skip


def number(count: int) -> str:
    """Return a number in words up to twelve."""
    return say(_LARGER[count]) if count in _LARGER else count_words(count)


def counted_sets(count: int) -> str:
    """Return so many planetary sets, in words."""
    return say_n("one planetary set", "{number} planetary sets", count, number=number(count))


def counted_shafts(count: int) -> str:
    """Return so many shafts, in words."""
    return say_n("one shaft", "{number} shafts", count, number=number(count))


def counted_elements(count: int) -> str:
    """Return so many shift elements, in words."""
    if not count:
        return say("no shift elements")
    return say_n("one shift element", "{number} shift elements", count, number=number(count))


def counted_drives(count: int) -> str:
    """Return so many ranges that drive, in words."""
    return say_n("one range that drives", "{number} ranges that drive", count, number=number(count))


def kind_words(element: Element) -> str:
    """Return what an element is, with its article."""
    return say(_ARTICLES[element.kind])


def shaft_words(members: Sequence[str]) -> str:
    """Return what is on a shaft, in a sentence."""
    return listed(map(member_words, members))


def ranges_words(names: Sequence[str]) -> str:
    """Return ranges by their names, as in "ranges 1 and 2".

    Args:
        names: their names, safe in Markdown.
    """
    return say_n("range {ranges}", "ranges {ranges}", len(names), ranges=listed(names))


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
        return say("holds {member}", member=_with_mates(facts, turning))
    ends = [first, second]
    for end in (INPUT, OUTPUT):
        if facts.layout.shaft_of(end) in (facts.layout.shaft_of(first), facts.layout.shaft_of(second)):
            other = second if facts.layout.shaft_of(first) == facts.layout.shaft_of(end) else first
            return say("joins {first} to {second}", first=_with_mates(facts, other), second=member_words(end))
    return say("joins {first} to {second}", first=_with_mates(facts, ends[0]), second=_with_mates(facts, ends[1]))


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
    if facts.layout.shaft_of(second) == ground:
        return say(", but lets it turn forward") if forward else say(", but lets it turn backward")
    member, other = member_words(first), member_words(second)
    if forward:
        return say(", but lets {member} turn forward seen from {other}", member=member, other=other)
    return say(", but lets {member} turn backward seen from {other}", member=member, other=other)


def _with_mates(facts: Facts, member: str) -> str:
    shaft = facts.layout.shafts[facts.layout.shaft_of(member)]
    rest = others_on([mate for mate in shaft if mate != HOUSING], [member])
    return say("{member} (with {mates})", member=member_words(member), mates=listed(rest)) if rest else member_words(member)


def escaped(text: str) -> str:
    """Return words of a derivation in which Markdown sees no markup of its own."""
    for sign in ("\\", "*", "_", "`", "$", "<", "[", "#", "|"):
        text = text.replace(sign, "\\" + sign)
    return text


def element_words(facts: Facts, element: Element, mark: Callable[[str], str] = escaped) -> str:
    """Return what an element is and does, as a sentence in Markdown.

    Args:
        facts: the layout.
        element: one of its elements.
        mark: what is done to its name and to what it does.
    """
    acts = mark(does(facts, element) + free_way(facts, element))
    return say("**{name}**, {kind}, {acts}.", name=mark(element.name), kind=kind_words(element), acts=acts)
