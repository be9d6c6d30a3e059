"""Members, lists and numbers as they stand in a sentence."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from fractions import Fraction

from gearkit.words.say import later, said, say, say_in, say_n
from gearkit.words.terms import ENGINE, HOUSING, INPUT, OUTPUT

MINUS = "−"
_ENDS = {
    INPUT: later("the input"),
    OUTPUT: later("the output"),
    HOUSING: later("the housing"),
    ENGINE: later("the engine"),
}
_MONTHS = (
    later("January"),
    later("February"),
    later("March"),
    later("April"),
    later("May"),
    later("June"),
    later("July"),
    later("August"),
    later("September"),
    later("October"),
    later("November"),
    later("December"),
)
# Parts of a set beside its members; those of a file with a low line in place of the blank.
_MORE_PARTS = (later("planet"), later("sun pinion"), later("ring pinion"))
# The members of a set in a context of their own; their JavaScript says the same.
MEMBER_NUMBERED = ("a member of a set, such as sun 1", "{member} {number}")
MEMBER_NAMED = ("a member of a set with a name, such as rear sun", "{set_name} {member}")
AND, OR = later("and"), later("or")
_COUNTS = (
    later("one"),
    later("two"),
    later("three"),
    later("four"),
    later("five"),
    later("six"),
    later("seven"),
    later("eight"),
    later("nine"),
    later("ten"),
)


def count_words(count: int) -> str:
    """Return a whole number as it stands in a sentence: in words up to ten.

    >>> count_words(3), count_words(12)
    ('three', '12')
    """
    if count == 0:
        return say_in("how many there are", "no")
    return say(_COUNTS[count - 1]) if count <= len(_COUNTS) else str(count)


def day_words(day: date, *, year: bool = False) -> str:
    """Return a day as it stands in a sentence.

    Args:
        day: the day.
        year: whether its year is said as well.

    >>> day_words(date(2030, 3, 1)), day_words(date(2030, 3, 1), year=True)
    ('1 March', '1 March 2030')
    """
    month = say(_MONTHS[day.month - 1])
    return (
        say_in("a day", "{day} {month} {year}", day=day.day, month=month, year=day.year)
        if year
        else say_in("a day", "{day} {month}", day=day.day, month=month)
    )


def decimal_mark() -> str:
    """Return the sign between the whole number and its decimals in the reader's language."""
    return say_in("decimal mark", ".")


def localized(number: str) -> str:
    """Return a number that was written with a point as the reader's language writes it."""
    mark = decimal_mark()
    return number if mark == "." else number.replace(".", mark)


_NUMBERED = re.compile(r"P?(\d+)")
_AS_BEFORE = re.compile(r"\bP(\d+)[ .](sun|carrier|ring)\b", re.IGNORECASE)


def decimal(value: Fraction | float, digits: int = 3) -> str:
    """Return a number with a true minus and no idle zeros.

    Args:
        value: the exact number.
        digits: places after the point at most; a small number keeps as many figures.

    >>> decimal(Fraction(-4, 3)), decimal(Fraction(2)), decimal(Fraction(1, 3000))
    ('−1.333', '2', '0.000333')
    """
    size = abs(float(value))
    places = digits
    while size and places < 12 and size < 10.0 ** (digits - 1 - places):
        places += 1
    text = f"{float(value):.{places}f}".rstrip("0").rstrip(".") if places else f"{float(value):.0f}"
    return "0" if text in ("-0", "") else localized(text.replace("-", MINUS))


def exact_words(value: Fraction) -> str:
    """Return an exact number with its decimal value beside it; a whole number stands alone.

    >>> exact_words(Fraction(-4, 3)), exact_words(Fraction(3))
    ('−4/3 = −1.333', '3')
    """
    written = str(value).replace("-", MINUS)
    return written if value.denominator == 1 else f"{written} = {decimal(value)}"


def fixed(value: Fraction | float, digits: int) -> str:
    """Return a number with so many places, a true minus, and no minus before a zero.

    Args:
        value: the number.
        digits: places after the point.

    >>> fixed(-1.25, 1), fixed(-0.04, 1)
    ('−1.2', '0.0')
    """
    text = f"{float(value):.{digits}f}"
    return localized(text.replace("-", MINUS if text.strip("-0.") else ""))


def shown_word(text: str) -> str:
    """Return a word, or a number that was written with a point, as the reader's language writes it."""
    return localized(text) if text.replace(".", "", 1).replace("-", "", 1).isdigit() else said(say(text))


def listed(words: Iterable[str], last: str = AND) -> str:
    """Return words as a list in a sentence.

    Args:
        words: the words.
        last: what stands before the last one.

    >>> listed(["A"]), listed(["A", "B", "C"])
    ('A', 'A, B and C')
    """
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {say(last)} {items[-1]}"


def member_label(member: str) -> str:
    """Return a member as everybody reads it, without an article; this is the one place that makes it of a file's spelling.

    Set P2's sun is "sun 2", because its teeth are S2; a set whose name is no number keeps its name in front.

    Args:
        member: as a layout file has it, such as "P1.sun", or a shaft's name.

    >>> member_label("P1.sun"), member_label("rear.ring"), member_label("P2.ring_pinion"), member_label("output")
    ('sun 1', 'rear ring', 'ring pinion 2', 'output')
    """
    set_name, dot, part = member.rpartition(".")
    if not dot:
        return say(member) if member in _ENDS else _output_label(member)
    number = _NUMBERED.fullmatch(set_name)
    part = say(part.replace("_", " "))
    if number:
        return say_in("a member of a set, such as sun 1", "{member} {number}", member=part, number=number[1])
    return say_in("a member of a set with a name, such as rear sun", "{set_name} {member}", set_name=set_name, member=part)


def _output_label(name: str) -> str:
    """An output called by its place in the vehicle is said in the reader's language; any other name is the layout's own."""
    match name:
        case "left":
            return say_in("an output of a train, towards the left wheel", "left")
        case "right":
            return say_in("an output of a train, towards the right wheel", "right")
        case "front":
            return say_in("an output of a train, towards the front axle", "front")
        case "rear":
            return say_in("an output of a train, towards the rear axle", "rear")
        case _:
            return name


def member_words(member: str) -> str:
    """Return a member as it is said in a sentence: as its label; input, output, housing and engine have an article.

    >>> member_words("P1.sun"), member_words("output")
    ('sun 1', 'the output')
    """
    return say(_ENDS[member]) if member in _ENDS else member_label(member)


def set_words(name: str) -> str:
    """Return a set as it is said: "P2" is "set 2".

    >>> set_words("P2"), set_words("rear")
    ('set 2', 'rear set')
    """
    return sets_words([name])


def sets_words(names: Iterable[str]) -> str:
    """Return sets as a list in a sentence.

    A name that is no number stands in front, as in "rear sun".

    >>> sets_words(["P1"]), sets_words(["P1", "P3"]), sets_words(["P1", "P2", "rear"])
    ('set 1', 'sets 1 and 3', 'sets 1 and 2 and rear set')
    >>> sets_words([])
    ''
    """
    said = [(_NUMBERED.fullmatch(name), name) for name in names]
    numbers = [number[1] for number, _ in said if number]
    numbered = [say_n("set {sets}", "sets {sets}", len(numbers), sets=listed(numbers))] if numbers else []
    return listed([*numbered, *(say("{name} set", name=name) for number, name in said if not number)])


def as_now_said(text: str) -> str:
    """Return a text with its members as they are said: earlier versions showed "P1 sun", layout files have "P1.sun".

    Args:
        text: as a learner wrote it, or as a record keeps it.

    >>> as_now_said("still: P1 sun, P12.ring; back: output")
    'still: sun 1, ring 12; back: output'
    """
    return _AS_BEFORE.sub(r"\2 \1", text)


def capital(text: str) -> str:
    """Return words with a capital in front, the rest as it is.

    >>> capital("set Rear")
    'Set Rear'
    """
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """Return words as a sentence: a capital in front, a full stop at the end.

    >>> sentence("it turns")
    'It turns.'
    """
    start = capital(text)
    return start if start.endswith((".", ":", "?")) else f"{start}."


_LONGEST_NAME = 4


def named_in_a_sentence(name: str, otherwise: str = "") -> str:
    """Return what a train is called in a sentence: its name up to the colon where it is a short name of its own, else another word.

    Args:
        name: a layout's name.
        otherwise: what is said where the name describes the train instead of naming it; "this train" when empty.

    >>> named_in_a_sentence("Quillbrook Q24: two sets"), named_in_a_sentence("Two sets in series, each held")
    ('Quillbrook Q24', 'this train')
    """
    return own_name(name) or otherwise or say("this train")


def own_name(name: str) -> str:
    """Return a train's name up to the colon where it is a short name of its own, "" where it describes the train.

    Args:
        name: a layout's name.
    """
    short = name.partition(":")[0].strip()
    parts = short.split()
    named = len(parts) <= _LONGEST_NAME and all(part[:1].isupper() or part[:1].isdigit() for part in parts)
    return short if named and any(c.isdigit() for c in short) else ""
