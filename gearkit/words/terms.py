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
ENGINE = "engine"
RESERVED_SHAFTS = (INPUT, OUTPUT, HOUSING)


class Verdict(StrEnum):
    """What a combination of applied elements does, decided by exact rank.

    Beside its word each says whether the input can turn, whether the output can, how many motions input and output have
    between them, and what it means.
    """

    input_turns: bool
    output_turns: bool
    motions: int
    means: str

    def __new__(cls, word: str, input_turns: bool, output_turns: bool, motions: int, means: str) -> Verdict:
        """Keep what the word means with it."""
        verdict = str.__new__(cls, word)
        verdict._value_ = word
        verdict.input_turns, verdict.output_turns = input_turns, output_turns
        verdict.motions, verdict.means = motions, means
        return verdict

    RANGE = "range", True, True, 1, "the input drives the output"
    NEUTRAL = "neutral", True, True, 2, "input and output are free of each other"
    INPUT_LOCKED = "input locked", False, True, 1, "the input cannot turn, the output can"
    OUTPUT_LOCKED = "output locked", True, False, 1, "the output cannot turn, the input can"
    TIE_UP = "tie-up", False, False, 0, "neither input nor output can turn"

    @property
    def locked(self) -> bool:
        """Input or output cannot turn, or neither can."""
        return not (self.input_turns and self.output_turns)


class TrainVerdict(StrEnum):
    """The same for any number of inputs, machines and outputs: the five words above, and three more."""

    RANGE = Verdict.RANGE.value
    POWER_SPLIT = "power split"
    SPLITS_TORQUE = "splits torque"
    BOTH = "both"
    NEUTRAL = Verdict.NEUTRAL.value
    INPUT_LOCKED = Verdict.INPUT_LOCKED.value
    OUTPUT_LOCKED = Verdict.OUTPUT_LOCKED.value
    TIE_UP = Verdict.TIE_UP.value


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


class Drive(StrEnum):
    """Which end pushes."""

    DRIVE = "drive"
    COAST = "coast"


class LoadState(StrEnum):
    """What can be said about the torques of a combination of applied elements."""

    SETTLED = "settled"
    NO_RANGE = "no range"
    STATICALLY_UNDETERMINED = "statically undetermined"
    FREEWHEEL = "freewheel"
    SELF_LOCKING = "self-locking"
    NOT_UNIQUE = "not unique"
    WITHOUT_LOSSES = "without losses"
    NOT_ENOUGH = "not enough"
    CONTRADICTORY = "contradictory"


class OneWayState(StrEnum):
    """What a one-way clutch does at the moment."""

    HOLDING = "holding"
    OVERRUNNING = "overrunning"
    IDLE = "idle"
    FREE = "free"


class ShiftKind(StrEnum):
    """How many elements change over in a shift."""

    NO_CHANGE = "no change"
    APPLY = "one element applied"
    RELEASE = "one element released"
    SINGLE_SWAP = "single swap"
    DOUBLE_SWAP = "double swap"
    FREEWHEEL = "freewheel shift"
    UNEVEN = "uneven swap"


class FaultMode(StrEnum):
    """How a shift element fails."""

    STUCK_OFF = "stuck off"
    STUCK_ON = "stuck on"
    REVERSED = "fitted the wrong way round"


class FaultEffect(StrEnum):
    """What a faulty element makes of a commanded range."""

    SAME = "same"
    OTHER_RANGE = "other range"
    NEUTRAL = Verdict.NEUTRAL.value
    INPUT_LOCKED = Verdict.INPUT_LOCKED.value
    OUTPUT_LOCKED = Verdict.OUTPUT_LOCKED.value
    TIE_UP = Verdict.TIE_UP.value
