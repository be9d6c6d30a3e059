"""The named mistakes of the course: what a learner did, and the sentence that helps.

A sentence says what to look at again and never what the answer is. An item may have a sentence of its own for a
mistake; these are the defaults.
"""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.answers.judge.claims import Relation
from gearkit.words.errors import UsageError
from gearkit.words.say import language_key, say


@dataclass(frozen=True)
class Mistake:
    """A mistake as it is told to a learner and counted in a class report.

    Args:
        code: the fixed word that it is counted under.
        name: what it is called in a report.
        sentence: what the learner reads.
        says: what the sentence says of the answer beyond that it is the wrong one.
    """

    code: str
    name: str
    sentence: str
    says: tuple[Relation, ...] = ()


_CATALOGUE = (
    Mistake(
        "RECIP",
        "ratio upside down",
        "That is the ratio upside down: here it is input speed over output speed, so a reduction is above 1.",
        (Relation.UPSIDE_DOWN,),
    ),
    Mistake(
        "SIGN",
        "sign or direction",
        "The size is right, the direction is not. Count the meshes: each external one reverses, an internal one does not.",
        (Relation.NEGATIVE,),
    ),
    Mistake(
        "SWAP",
        "sun and ring swapped",
        "The tooth counts of sun and ring have changed places: the sun is the small gear in the middle.",
    ),
    Mistake(
        "NOONE",
        "the one turn of the carrier left out",
        "R/S belongs to a held carrier. Here the carrier turns, and the one turn that the whole set makes with it is added.",
    ),
    Mistake(
        "CARTEETH",
        "carrier treated as a gear",
        "A carrier has no teeth and meshes with nothing: S + R comes from adding two motions.",
    ),
    Mistake(
        "ADD",
        "added in place of multiplied",
        "Stages in series multiply: the second works on what the first has already changed.",
    ),
    Mistake(
        "MULT",
        "ratios of joined sets multiplied",
        "These sets share a member, so neither runs as it would alone. Write both speed equations and solve them together.",
    ),
    Mistake(
        "HELDMOVES",
        "a turning member taken as held",
        "One member that you put at zero is not held here. Find its real speed and use that.",
    ),
    Mistake("IDLER", "idler counted", "An idler changes the direction only; its tooth count cancels."),
    Mistake(
        "REL",
        "relative speed given",
        "That is the speed as seen by someone who rides on the carrier. Add the carrier's own speed to see it from "
        "the housing.",
    ),
    Mistake(
        "LOCKFREE",
        "free and locked confused",
        "Nothing held and nothing joined leaves a set free; two members joined lock it to 1:1. Which of the two is it here?",
    ),
    Mistake(
        "HALF",
        "a factor of two",
        "There is a factor of two in it. Draw the picture and count: one, or one on each side?",
        (Relation.TWICE_OR_HALF,),
    ),
    Mistake(
        "SPACE",
        "the wrong test for spacing",
        "Equal spacing needs sun and ring teeth together to divide by the number of planets.",
    ),
    Mistake(
        "TIP",
        "pitch circle used for the tips",
        "Teeth stand out one module beyond the pitch circle, so neighbours touch at their tips, not at their pitch circles.",
    ),
    Mistake(
        "DOUBLE",
        "double-pinion set taken as single",
        "Two pinions in mesh between sun and ring change the sign of the ring's term.",
    ),
    Mistake(
        "STEP2",
        "step of the planet left out",
        "The two pinions on the pin differ in size, so the ratio carries their quotient as well.",
    ),
    Mistake(
        "COUNT",
        "counted instead of checked",
        "A count is a first guess only. Check what is really different and what says the same thing twice.",
    ),
    Mistake(
        "ROLE",
        "brake and clutch confused",
        "A brake can only hold a member to the housing; a clutch joins two parts that may both turn.",
    ),
    Mistake(
        "OWC",
        "one-way clutch taken as two-way",
        "A one-way clutch holds one way only. First find which way its member wants to turn.",
    ),
    Mistake(
        "TSPEED",
        "torque taken like a speed",
        "What a ratio takes off the speed it puts on the torque: before losses the power stays the same.",
    ),
    Mistake(
        "REACT",
        "reaction taken as output torque",
        "Input, holding and output torque add up to zero, so the holding torque is a difference.",
    ),
    Mistake(
        "TEQUAL",
        "input torque everywhere",
        "Torques in one set stand in a fixed proportion: sun to ring to carrier as S to R to S + R.",
    ),
    Mistake(
        "ETAFULL",
        "all power sent through the mesh",
        "Only the power that goes through the teeth, as seen from the carrier, loses its share.",
    ),
    Mistake(
        "ETASPEED", "loss taken off the speed", "Gear teeth do not slip: a loss comes off the torque and never off the speed."
    ),
    Mistake(
        "DIFF",
        "difference in place of quotient",
        "Steps, spreads and shares compare by dividing; a difference leaves something out.",
    ),
    Mistake(
        "UPSHIFT",
        "engine speeds up on an upshift",
        "The road speed hardly changes during a shift; with a smaller ratio the engine has to come down.",
    ),
    Mistake(
        "SLIPABS", "one side's speed given as slip", "Slip is the difference between the speeds of an element's two sides."
    ),
    Mistake(
        "UNIT",
        "unit or scale",
        "The working is right, the scale is not: go through the units line by line.",
        (Relation.SCALED,),
    ),
    Mistake(
        "FD",
        "final drive left out",
        "Between the transmission's output and the wheels there is one more reduction: the final drive.",
    ),
    Mistake("CMD", "command taken for fact", "What was commanded is not what happened. Use the readings."),
    Mistake(
        "ONERANGE", "one element, one range", "An element usually serves several ranges: go down its whole column of the chart."
    ),
    Mistake(
        "SLIPTIE",
        "tie-up and slip confused",
        "An extra element that disagrees ties the train up; a missing one lets it slip or run free.",
    ),
    Mistake("LEFTOUT", "something left out", "Something that belongs in it is missing: go through what is given once more."),
    Mistake(
        "OTHERRANGE", "another range worked out", "That belongs to another range. Look again which elements hold in this one."
    ),
    Mistake(
        "SENSE",
        "sign in a set's equation",
        "Look at the sign in the set's speed equation: seen from the carrier, do sun and ring turn alike?",
    ),
    Mistake("PLANET", "stopped at the planet", "You stopped at the planet: go on to the ring, and the planet's teeth cancel."),
    Mistake("MEMBERS", "members swapped", "Two members have changed places: look which of them is on which shaft."),
    Mistake("ELEMENT", "another element taken", "That belongs to another element: look which one is asked for."),
    Mistake("OTHERSET", "another set taken", "That belongs to another set: look which one is asked for."),
    Mistake("TURNED", "the wrong way round", "It goes the other way: follow the motion through once more."),
    Mistake(
        "EARLIER",
        "line after the first wrong one",
        "What that line does with the line above it is right. The number was wrong before: look further up.",
    ),
    Mistake("SOUNDLINE", "right line taken for wrong", "That line is right: work it through once more, and then the others."),
    Mistake("OVERSEEN", "wrong line not seen", "One of the lines is wrong. Work each of them through by yourself and compare."),
    Mistake(
        "BACKWARD",
        "order from the end to the start",
        "Those are the steps from the end to the start: each has to use only what the steps before it have given.",
    ),
    Mistake(
        "NOTFOLLOW",
        "reason that does not explain it",
        "Ask whether that holds here, and whether what is shown would follow from it.",
    ),
    Mistake("LINEAR", "evenly spaced by difference", "Equal steps multiply, so a root is needed where you divided."),
    Mistake(
        "EVENSPLIT",
        "split taken as half and half",
        "Half and half is for equal side gears only. Sun and ring share torque by their tooth counts.",
    ),
    Mistake(
        "SHARERATIO", "share taken for ratio", "S/R compares one part with the other; a share compares a part with the whole."
    ),
    Mistake(
        "PWRTRQ",
        "power and torque confused",
        "Torque is shared by the teeth; power is torque times speed, so its shares go with the speeds.",
    ),
)
_BY_CODE = {mistake.code: mistake for mistake in _CATALOGUE}


def catalogue() -> tuple[Mistake, ...]:
    """Return every named mistake of the course."""
    return _CATALOGUE


def mistake(code: str, sentence: str = "", says: tuple[Relation, ...] = ()) -> Mistake:
    """Return a mistake by its code.

    Args:
        code: such as "RECIP".
        sentence: an item's own sentence in place of the default.
        says: what that sentence says of the answer.

    Raises:
        UsageError: there is no such code.
    """
    known = _BY_CODE.get(code)
    if known is None:
        raise UsageError(f"No mistake has the code {code!r}. Known codes: {', '.join(_BY_CODE)}.")
    if sentence:
        return Mistake(code, say(known.name), say(sentence), says)
    return Mistake(code, say(known.name), say(known.sentence), known.says) if language_key() else known
