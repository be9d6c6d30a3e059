"""Units that an answer may carry: torque, speed, length, angle, force, energy, time and shares.

Every factor is exact by definition (inch, mile, pound-force) or follows from such. A unit is looked for at the end of
the text only, longest spelling first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from gearkit.answers.comparison.exact import PI
from gearkit.words.say import later, say
from gearkit.words.unit_sizes import INCH, MILE, POUND_FORCE


class Dimension(StrEnum):
    """What a unit measures."""

    TORQUE = later("torque")
    SPEED = later("rotational speed")
    ROAD_SPEED = later("road speed")
    LENGTH = later("length")
    ANGLE = later("angle")
    FORCE = later("force")
    ENERGY = later("energy")
    SHARE = later("share")
    COUNT = later("count")
    RATIO = later("ratio")
    INERTIA = later("inertia")
    POWER = later("power")


@dataclass(frozen=True)
class Unit:
    """A unit with its size in the dimension's own base unit.

    Args:
        name: how it is shown.
        dimension: what it measures.
        factor: how many base units one of it is.
    """

    name: str
    dimension: Dimension
    factor: Fraction


# Blanks in a spelling do not count, so that "revs per minute" stands here as one word.
_SPELLINGS: tuple[tuple[str, Dimension, Fraction, str], ...] = (
    (
        "N·m",
        Dimension.TORQUE,
        Fraction(1),
        "N·m Nm nm N.m n.m N*m N-m newtonmetre newtonmetres newtonmeter newtonmeters "
        "newton-metre newton-metres newton-meter newton-meters",
    ),
    ("kN·m", Dimension.TORQUE, Fraction(1000), "kN·m kNm knm kN.m kN*m kN-m kilonewtonmetres kilonewtonmeters"),
    (
        "lbf·ft",
        Dimension.TORQUE,
        12 * INCH * POUND_FORCE,
        "lbf·ft lbf.ft lbf*ft lbf-ft lbfft lb·ft lb.ft lb*ft lb-ft lbft ft·lb ft.lb ft*lb ft-lb ftlb ft·lbf ft.lbf ft-lbf ftlbf "
        "ft·lbs ft.lbs ft*lbs ft-lbs ftlbs lbs·ft lbs.ft lbs*ft lbs-ft lbsft foot-pounds footpounds foot-pound footpound "
        "pound-feet poundfeet pound-foot poundfoot",
    ),
    (
        "lbf·in",
        Dimension.TORQUE,
        INCH * POUND_FORCE,
        "lbf·in lbf.in lbfin lb·in lb.in lb-in lbin in·lb in.lb in-lb inlb in·lbs in.lbs in-lbs inlbs inch-pounds inchpounds",
    ),
    (
        "r/min",
        Dimension.SPEED,
        Fraction(1),
        "r/min r·min^-1 U/min rpm rev/min rpm. r.p.m r.p.m. 1/min min^-1 min-1 min−1 /min revs/min revperminute revsperminute "
        "revpermin revspermin rperminute rpermin revolutions/minute revolutions/min revolutionsperminute revolutionspermin "
        "revolutionperminute turnsperminute turnspermin turns/minute turns/min rev/minute revs/minute",
    ),
    (
        "r/s",
        Dimension.SPEED,
        Fraction(60),
        "r/s rps rev/s revs/s 1/s Hz revpersecond revspersecond revolutionspersecond turnspersecond turns/s",
    ),
    ("rad/s", Dimension.SPEED, 30 / PI, "rad/s rads/s radianspersecond radpersecond rad/sec"),
    (
        "km/h",
        Dimension.ROAD_SPEED,
        Fraction(1),
        "km/h km·h^-1 kmh^-1 km*h^-1 kph kmh kmph km/hr km/hour kmperhour kmperhr kmperh kilometresperhour kilometersperhour",
    ),
    ("mph", Dimension.ROAD_SPEED, MILE / 1000, "mph mi/h mile/h miles/h mi/hr miles/hr miles/hour milesperhour"),
    ("m/s", Dimension.ROAD_SPEED, Fraction(36, 10), "m/s m·s^-1 ms^-1 m*s^-1 metrespersecond meterspersecond"),
    ("mm", Dimension.LENGTH, Fraction(1), "mm millimetre millimetres millimeter millimeters"),
    ("cm", Dimension.LENGTH, Fraction(10), "cm centimetre centimetres centimeter centimeters"),
    ("m", Dimension.LENGTH, Fraction(1000), "m metre metres meter meters"),
    ("km", Dimension.LENGTH, Fraction(1_000_000), "km kilometre kilometres kilometer kilometers"),
    ("in", Dimension.LENGTH, 1000 * INCH, "in inch inches"),
    (later("degrees"), Dimension.ANGLE, Fraction(1), "degrees degree deg °"),
    ("rad", Dimension.ANGLE, 180 / PI, "rad radian radians"),
    ("N", Dimension.FORCE, Fraction(1), "N newton newtons"),
    ("kN", Dimension.FORCE, Fraction(1000), "kN kilonewton kilonewtons"),
    ("lbf", Dimension.FORCE, POUND_FORCE, "lbf lb lbs"),
    ("kJ", Dimension.ENERGY, Fraction(1), "kJ kj kilojoule kilojoules"),
    ("J", Dimension.ENERGY, Fraction(1, 1000), "J joule joules"),
    ("kW", Dimension.POWER, Fraction(1), "kW kw KW kilowatt kilowatts"),
    ("W", Dimension.POWER, Fraction(1, 1000), "W watt watts"),
    (later("percent"), Dimension.SHARE, Fraction(1), "percent % pct"),
    (later("teeth"), Dimension.COUNT, Fraction(1), "teeth tooth"),
    (later("turns"), Dimension.COUNT, Fraction(1), "turns turn revolutions revolution"),
    (later("modules"), Dimension.COUNT, Fraction(1), "modules module"),
    (later("planets"), Dimension.COUNT, Fraction(1), "planets planet"),
    (later("shafts"), Dimension.COUNT, Fraction(1), "shafts shaft"),
    (later("lines"), Dimension.COUNT, Fraction(1), "lines line"),
    (later("elements"), Dimension.COUNT, Fraction(1), "elements element"),
)


def _table() -> dict[str, Unit]:
    table: dict[str, Unit] = {}
    for name, dimension, factor, spellings in _SPELLINGS:
        table.update(dict.fromkeys(map(_plain, spellings.split()), Unit(name, dimension, factor)))
    return table


def _plain(text: str) -> str:
    """Return a unit's text with one dot for all dots and no blanks."""
    for dot in "\u22c5\u2219\u2022\u2219":
        text = text.replace(dot, "·")
    return text.replace(" ", "").replace("⁻¹", "^-1").replace("**", "^")


_UNITS = _table()
_NAMED = {unit.name: unit for unit in _UNITS.values()}
_LONGEST = max(map(len, _UNITS)) + 4
_FIRST = frozenset(name[0] for name in _UNITS)
_WRAPPED = re.compile(
    r"(?:\\[,;:!\s]|[\s~])*(?:\\(?:mathrm|text|mathit|operatorname)\{([^{}]{1,30})\}|[(\[]([^()\[\]]{1,30})[)\]]|\\(%))\s*\.?$"
)
_TEX_GAPS = re.compile(r"\\[,;:!\s]|\\cdot\b\s*|~")
_NUMBER_WITH_UNIT = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?) ?([A-Za-z%°]\S*)")


@lru_cache(maxsize=256)
def unit_named(name: str) -> Unit | None:
    """Return the unit that an item states, or None for a plain number.

    Args:
        name: as items write it, such as ``N.m`` or ``r/min``.
    """
    return _UNITS.get(_plain(name)) if name else None


def number_in(text: str, unit: Unit) -> str:
    """Return the plain number that stands before a unit; "" where the text is not a plain number with just that unit.

    This reads the commonest answers at a glance; `split_unit` reads them alike, and all others.

    Args:
        text: a learner's text, such as ``260 N.m``.
        unit: the unit.

    >>> number_in("260 N.m", unit_named("N·m")), number_in("26.5 lbf.ft", unit_named("N·m"))
    ('260', '')
    """
    match = _NUMBER_WITH_UNIT.fullmatch(text)
    return match.group(1) if match is not None and _UNITS.get(match.group(2)) is unit else ""


def split_unit(text: str) -> tuple[str, Unit | None]:
    """Return (the text before the unit, the unit); the whole text and None where no unit stands at its end.

    Args:
        text: a learner's text, such as ``260 N.m``.

    >>> split_unit("260 lbf.ft")[1].name
    'lbf·ft'
    """
    text = _unwrapped(text)
    bare = text.rstrip().rstrip(".").rstrip() if not text.rstrip().endswith("..") else text.rstrip()
    for start in range(max(1, len(bare) - _LONGEST), len(bare)):
        tail = bare[start:]
        unit = _UNITS.get(_plain(tail)) or _UNITS.get(_plain(tail).lower()) if _starts_unit(bare, start) else None
        if unit is not None:
            return bare[:start].rstrip(" *"), unit
    return text, None


def _unwrapped(text: str) -> str:
    """Return a text whose unit stands in brackets, or in LaTeX, with the unit alone: ``3 [Nm]``, ``3\\,\\mathrm{N\\,m}``."""
    match = _WRAPPED.search(text) if text[-1:] in "])}%.$ " else None
    inside = _TEX_GAPS.sub("", match[1] or match[2] or match[3]) if match else ""
    return f"{text[: match.start()]} {inside}" if match and _plain(inside) in _UNITS else text


def _starts_unit(text: str, start: int) -> bool:
    """A unit starts at a letter (or %, °, 1/min), and the letter before it belongs to no word."""
    first, before = text[start], text[start - 1]
    if first not in _FIRST and first.lower() not in _FIRST:
        return False
    if first in "1/":
        return before == " "
    return not (before.isalpha() or before in "_{\\^/.·*" or (before == "-" and start > 1 and text[start - 2].isalpha()))


def known_units(dimension: Dimension) -> str:
    """Return the names of a dimension's units, for a message.

    Args:
        dimension: what the answer measures.
    """
    return ", ".join(say(name) for name, unit in _NAMED.items() if unit.dimension is dimension)
