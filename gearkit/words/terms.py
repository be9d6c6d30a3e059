"""Closed vocabularies in the trade's terms.

Signs and units, once for the whole kit: speeds are positive in the sense of the input; ratio = input speed / output
speed, so a reduction is above 1 and reverse is negative; torque is what acts on a member from outside, positive in
the input's sense.
"""

from __future__ import annotations

from enum import StrEnum

MEMBERS = ("sun", "carrier", "ring")
INPUT = "input"
OUTPUT = "output"
HOUSING = "housing"
RESERVED_SHAFTS = (INPUT, OUTPUT, HOUSING)


class Verdict(StrEnum):
    """What a combination of applied elements does, decided by exact rank."""

    RANGE = "range"
    NEUTRAL = "neutral"
    INPUT_LOCKED = "input locked"
    OUTPUT_LOCKED = "output locked"
    TIE_UP = "tie-up"


class PinionKind(StrEnum):
    """How the planet pinions sit between sun and ring."""

    SINGLE = "single"
    DOUBLE = "double"
    STEPPED = "stepped"
    BEVEL = "bevel"


class ElementKind(StrEnum):
    """The kinds of shift element."""

    BRAKE = "brake"
    CLUTCH = "clutch"
    ONE_WAY_CLUTCH = "one-way clutch"


class FreeDirection(StrEnum):
    """The way in which a one-way clutch lets its first part turn, seen from its second."""

    FORWARD = "forward"
    REVERSE = "reverse"


class SourceKind(StrEnum):
    """Where a layout's figures come from."""

    PUBLISHED = "published"
    COMMON_PRACTICE = "common practice"
    MEMORY = "memory"
    OWN = "own"
