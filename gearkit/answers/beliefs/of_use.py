"""Misconceptions about a transmission in use: road, shifting, readings, units."""

from __future__ import annotations

from gearkit.answers.beliefs.belief import Belief

BELIEFS: tuple[Belief, ...] = (
    Belief(
        "difference for quotient",
        "difference in place of quotient",
        "a difference is taken where things compare by dividing",
        "Divide the one by the other: steps, spreads and shares compare by a quotient.",
        10,
        codes=("DIFF",),
        never="L01-02 L12-08",
    ),
    Belief(
        "equal steps by difference",
        "equal steps found by dividing",
        "equal steps are found by dividing and not by a root",
        "Multiply your step with itself as often as there are steps: the spread has to come out.",
        10,
        codes=("LINEAR",),
    ),
    Belief(
        "engine speeds up on an upshift",
        "engine speed taken the wrong way in a shift",
        "the engine is taken to speed up on an upshift and to slow down on a downshift",
        "Hold the road speed and change the ratio: which way does the engine have to go?",
        11,
        codes=("UPSHIFT",),
    ),
    Belief(
        "one side's speed as slip",
        "one side’s speed given as slip",
        "the speed of one side is given as the slip",
        "Write down the speed of both sides of the element; the slip is the difference between them.",
        11,
        codes=("SLIPABS",),
    ),
    Belief(
        "final drive left out",
        "final drive left out",
        "the final drive is left out",
        "Follow the power from the output shaft to the wheels: one more reduction lies there.",
        10,
        codes=("FD",),
    ),
    Belief(
        "command taken for fact",
        "command taken for fact",
        "what was commanded is taken for what happened",
        "Work out from the readings what the train really does, and only then look at the command.",
        12,
        codes=("CMD",),
    ),
    Belief(
        "r/min used as rad/s",
        "r/min used as rad/s",
        "a speed in r/min is used as if it were in radians per second",
        "Turn r/min into radians per second first: times 2π, divided by 60.",
        11,
        only={"UNIT": "L11-07 L11-09 L11-11"},
    ),
    Belief(
        "scale of a unit",
        "scale of a unit (thousand, sixty)",
        "a factor between two units is left out",
        "Write the unit beside every number and cancel them line by line.",
        10,
        only={"UNIT": "L08-08#0 L10-05#0 L13-05 L13-08#1"},
    ),
)
