"""The parts of a layout as somebody types them, one line a part, in the trade's words.

    P1 single 30/66, 3 planets      a set: kind, teeth of sun and ring (R/S 2.2 where only the quotient is known, ? where
                                    it is to be found)
    input = P1.sun                  members on one shaft
    A brake P1.ring                 an element and what it acts on
    1: A K                          a range and the elements that are applied in it

Commas, colons and equals signs count as spaces, and "P1 ring" is "P1.ring". A line that cannot be read ends in one error
that says what was found and what was expected; whether the parts fit together is judged when the layout is built.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction

from gearkit.text.numbers import exact
from gearkit.train.elements import Element, Range
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, ElementKind, FreeDirection, PinionKind

SET_FORM = "a name, the kind (single, double, stepped or bevel) and the teeth of sun/ring, such as: P1 single 30/66"
JOIN_FORM = "members that are one shaft, such as: input = P1.sun"
ELEMENT_FORM = "a name, the kind and what it acts on, such as: A brake P1.ring, or: K clutch input P2.sun"
RANGE_FORM = "a range and the elements applied in it, such as: 1: A K"
RATIO_FORM = "a range and its ratio, such as: 1 = 2.846"

# Any quotient will do for a set whose own is still to be found; none of these makes a ratio meet another by chance.
UNKNOWN_QUOTIENTS = tuple(Fraction(number, 101) for number in (211, 223, 227, 229, 233, 239, 241, 251))
_RESERVED = {"input": INPUT, "output": OUTPUT, "housing": HOUSING, "case": HOUSING, "casing": HOUSING}


def words_of(line: str) -> list[str]:
    """Return the words of a typed line; commas, colons, semicolons and equals signs only part them."""
    return re.sub(r"[,:;=]+", " ", line.replace("−", "-")).split()


def read_set(line: str, place: int = 0) -> tuple[PlanetarySet, bool]:
    """Return a set, and whether its quotient is still to be found.

    Args:
        line: such as "P1 single 30/66, 3 planets", "P1 30/66", "P2 double R/S 2.3", "P3 ?", "P4 stepped 24/20/18/62"
            (sun, pinion on the sun, pinion on the ring, ring), "D bevel".
        place: number of the set, for the stand-in of a quotient that is to be found.

    Raises:
        UsageError: a line that cannot be read.
        LayoutError: counts that no set can have.
    """
    words = words_of(line)
    if not words:
        raise _unread("set", line, SET_FORM)
    name, rest = words[0], [word.lower() for word in words[1:]]
    kind = PinionKind.SINGLE
    if rest and rest[0] in {str(each) for each in PinionKind}:
        kind = PinionKind(rest.pop(0))
    rest = [word for word in rest if word not in ("set", "pinion", "pinions", "teeth", "with")]
    planets = _planets(rest)
    if rest == ["?"] or (not rest and kind is not PinionKind.BEVEL):
        return PlanetarySet(name, kind, ring_to_sun=UNKNOWN_QUOTIENTS[place % len(UNKNOWN_QUOTIENTS)], planets=planets), True
    if kind is PinionKind.BEVEL and not rest:
        return PlanetarySet(name, kind, planets=planets), False
    if len(rest) == 2 and rest[0] in ("r/s", "ratio"):
        quotient = exact(rest[1])
        if quotient is None:
            raise _unread("set", line, SET_FORM)
        return PlanetarySet(name, kind, ring_to_sun=quotient, planets=planets), False
    counts = _counts(rest)
    if len(counts) == 2:
        return PlanetarySet(name, kind, counts[0], counts[1], planets=planets), False
    if len(counts) == 4:
        return PlanetarySet(
            name, kind, counts[0], counts[3], planets=planets, sun_pinion_teeth=counts[1], ring_pinion_teeth=counts[2]
        ), False
    raise _unread("set", line, SET_FORM)


def _planets(rest: list[str]) -> int | None:
    """Take the number of planets out of a set's words."""
    for place, word in enumerate(rest):
        if word in ("planet", "planets", "pairs") and place and rest[place - 1].isdecimal():
            number = int(rest[place - 1])
            del rest[place - 1 : place + 1]
            return number
    return None


def _counts(rest: Sequence[str]) -> list[int]:
    parts = [part for word in rest for part in word.split("/")]
    return [int(part) for part in parts] if all(part.isdecimal() and len(part) < 7 for part in parts) else []


def read_join(line: str) -> tuple[str, ...]:
    """Return members that are one shaft.

    Args:
        line: such as "input = P1.sun" or "P1.carrier P2.ring".

    Raises:
        UsageError: fewer than two members.
    """
    members = _members(words_of(line), line, JOIN_FORM)
    if len(members) < 2:
        raise _unread("join", line, JOIN_FORM)
    return tuple(members)


def read_element(line: str) -> Element:
    """Return a shift element; a brake holds to the housing without being told so.

    Args:
        line: such as "A brake P1.ring", "K clutch input P2.sun", "F one-way clutch P2.carrier housing reverse".

    Raises:
        UsageError: no kind, or not one or two members.
    """
    words = _name_first(words_of(line))
    if not words:
        raise _unread("element", line, ELEMENT_FORM)
    name, rest = words[0], words[1:]
    text = " ".join(rest).lower().replace("one way", "one-way")
    kind = None
    for each, spellings in {
        ElementKind.ONE_WAY_CLUTCH: ("one-way clutch", "one-way"),
        ElementKind.BRAKE: ("brake",),
        ElementKind.CLUTCH: ("clutch",),
    }.items():
        spelling = next((s for s in spellings if text.startswith(s)), None)
        if spelling:
            kind = each
            rest = rest[len(spelling.split()) + (spelling.startswith("one-way") and rest[0].lower() == "one") :]
            break
    direction = FreeDirection.FORWARD
    if kind is ElementKind.ONE_WAY_CLUTCH and rest and rest[-1].lower() in {str(each) for each in FreeDirection}:
        direction = FreeDirection(rest.pop().lower())
    members = _members(
        [word for word in rest if word.lower() not in ("to", "and", "on", "holds", "joins", "free")], line, ELEMENT_FORM
    )
    if kind is None:
        raise _unread("element", line, ELEMENT_FORM)
    if len(members) == 1 and kind is not ElementKind.CLUTCH:
        members.append(HOUSING)
    if len(members) != 2:
        raise _unread(str(kind), line, ELEMENT_FORM)
    return Element(name, kind, (members[0], members[1]), direction)


def _name_first(words: list[str]) -> list[str]:
    """The words of an element with its name in front; many say the kind first: "brake A P1.ring"."""
    kind = re.match(r"(?:one[- ]way clutch|one[- ]way|brake|clutch) ", " ".join(words), re.IGNORECASE)
    place = len(kind[0].split()) if kind else 0
    if not place or place >= len(words) or words[place].lower() in ("brake", "clutch", "one-way", "one"):
        return words
    return [words[place], *words[:place], *words[place + 1 :]]


def read_range(line: str) -> Range:
    """Return a range with the elements applied in it, none of them for one in which nothing is applied.

    Args:
        line: such as "1: A K" or "N".

    Raises:
        UsageError: no name.
    """
    words = words_of(line)
    if not words:
        raise _unread("range", line, RANGE_FORM)
    return Range(words[0], tuple(word for word in words[1:] if word != "+"))


def read_ratio(line: str) -> tuple[str, str]:
    """Return the name of a range and its ratio, with the digits as they were typed.

    Args:
        line: such as "1 = 2.846" or "R -3.4".

    Raises:
        UsageError: no name, or no number other than 0.
    """
    words = words_of(line)
    number = exact(words[1]) if len(words) == 2 else None
    if number is None or not number or "/" in words[1]:
        raise _unread("ratio", line, RATIO_FORM)
    return words[0], words[1]


def _members(words: Iterable[str], line: str, form: str) -> list[str]:
    """Members as the layout file names them, from "P1.ring", "P1 ring" or "input"."""
    members: list[str] = []
    pending = ""
    for word in words:
        head, _, tail = word.rpartition(".")
        if pending and word.lower() in MEMBERS:
            members.append(f"{pending}.{word.lower()}")
            pending = ""
        elif pending:
            raise _unread("member", line, f"{form} (found {pending!r} without sun, carrier or ring behind it)")
        elif word.lower() in _RESERVED:
            members.append(_RESERVED[word.lower()])
        elif head and tail.lower() in MEMBERS:
            members.append(f"{head}.{tail.lower()}")
        elif head:
            raise _unread("member", line, f"{form} (found {word!r}; a set has a sun, a carrier and a ring)")
        else:
            pending = word
    if pending:
        raise _unread("member", line, f"{form} (found {pending!r} without sun, carrier or ring behind it)")
    return members


def _unread(what: str, line: str, form: str) -> UsageError:
    return UsageError(f"{what} {line.strip()[:60]!r}: cannot be read; expected {form}")
