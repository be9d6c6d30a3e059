"""Misconceptions about gear pairs and one planetary set: meshes, members, tooth counts, speeds."""

from __future__ import annotations

from gearkit.answers.beliefs.belief import Belief, Pattern

# In exercises whose letters are S and R alone the planet has to be worked out.
_P = "((R - S)/2)"

BELIEFS: tuple[Belief, ...] = (
    Belief(
        "ratio upside down", "ratios upside down (output over input)",
        "the ratio is turned upside down, output speed over input speed",
        "Write down input speed over output speed first, and put the numbers in only then.", 3,
        codes=("RECIP",), never="L09-05 L11-09 L12-04 L12-08", pattern=Pattern.UPSIDE_DOWN, common=True,
    ),
    Belief(
        "every ratio above 1", "every ratio taken to be above 1",
        "every ratio is taken to be above 1, an overdrive too",
        "Ask of every ratio whether the output turns slower or faster than the input, and let it be below 1 where it is faster.", 3,
        pattern=Pattern.ABOVE_ONE,
    ),
    Belief(
        "direction of a mesh", "direction of a mesh",
        "the direction of a mesh is taken the other way round",
        "Count the meshes along the way: each external one reverses, an internal one does not.", 1,
        only={"SIGN": "L01-01 L01-02 L01-03 L01-04 L01-05 L01-06 L01-10 L01-11 L02-08 L03-01 L03-03 L03-07 L04-07 L04-12 L05-05 L05-06 L05-08 L05-11 "
                      "L06-04 L06-08 L07-04 L07-05 L07-07 L11-03"}, common=True,
    ),
    Belief(
        "minus never written", "minus signs never written",
        "the size is given without the minus sign of reverse",
        "After every number ask which way it turns, and write the minus where it turns against the input.", 1,
        pattern=Pattern.NO_MINUS, common=True,
    ),
    Belief(
        "stops at the idler", "stops at the idler or planet",
        "the working stops at the gear in the middle and not at the last one",
        "Follow the motion to the last gear: what lies between changes the direction only.", 1,
        only={"IDLER": "L01-04"},
        written={
            "L02-08": f"-{_P}/S", "L03-07": "-n*S/P", "L03-01": {"S_C_R": "-P/S", "R_C_S": "P/R"},
            "L05-05": "-P2/S2", "L06-04": "-P2/S2",
        },
    ),
    Belief(
        "double gear as idler", "two gears on one shaft taken for an idler",
        "two gears on one shaft are taken for one idler, so that their tooth counts drop out",
        "Where two gears sit on one shaft, write down the ratio of each mesh and multiply them.", 1,
        only={"IDLER": "L01-05 L01-10 L01-11"},
    ),
    Belief(
        "radii added", "radii or teeth added that are to be subtracted",
        "two radii are added where one lies inside the other, or subtracted where they lie side by side",
        "Sketch the two circles: side by side their radii add, one inside the other they subtract.", 4,
        only={"SIGN": "L01-07 L04-01 L04-09"},
    ),
    Belief(
        "diameter for radius", "diameter and radius confused",
        "a diameter is used where a radius belongs, or the other way round",
        "Write d or r beside every length before you use it.", 1,
        only={"UNIT": "L01-07 L04-03 L04-09 L08-08#1 L10-05#1 L10-06 L10-07 L10-09#0 L13-04 L13-08#0", "HALF": "L04-01"},
    ),
    Belief(
        "sun and ring changed over", "sun and ring changed over",
        "the tooth counts of sun and ring change places",
        "Write S and R beside the picture before you put numbers in: the sun is the small gear in the middle.", 2,
        codes=("SWAP",), never="L04-07 L04-08 L05-06 L05-08 L05-09 L05-11 L13-02 L01-08", changes_over=True, common=True,
    ),
    Belief(
        "own turn left out", "the carrier’s own turn left out",
        "the carrier’s own turn is left out",
        "Ask first which member is held. Where the carrier turns, the whole set makes its turn with it, and that one turn "
        "comes on top.", 2,
        codes=("NOONE",),
        never="L02-08 L03-06 L05-06 L05-07 L06-04 L06-06 L06-08 L06-09 L08-05 L09-07 L13-01",
    ),
    Belief(
        "1 + R/S for every case", "1 + R/S used for every case",
        "1 + R/S is used for every case, whatever is held",
        "Write down which member is held before any formula: each of the six cases has a ratio of its own.", 3,
        only={"NOONE": "L02-08 L03-06 L05-06 L06-04 L06-08 L06-09"},
        written={
            "L03-01": dict.fromkeys(("C_R_S", "R_S_C", "C_S_R", "S_C_R", "R_C_S"), "1 + R/S"),
            "L03-03": "1 + R/S", "L03-07": "n/(1 + R/S)", "L05-04": "1 + R1/S1", "L05-05": "1 + R2/S2", "L05-08": "1 + R/b",
            "L05-10": "1 + R1/S1", "L06-04": "1 + R2/S2", "L06-11": "1 + R4/S4",
        },
    ),
    Belief(
        "held ring reverses", "a held ring taken to reverse",
        "a held ring is taken to turn the motion round",
        "Look for a held carrier: only that reverses in a simple set.", 3,
        codes=("CARTEETH",), never="L03-06",
        written={
            "L03-01": {"S_R_C": "-(1 + R/S)", "C_R_S": "-S/(S + R)"}, "L06-03": "-(1 + R3/S3)",
            "L13-07": "-t*(1 + R2/S2)",
        },
    ),
    Belief(
        "carrier as its planets", "the carrier counted as the teeth of its planets",
        "the carrier is counted as the teeth of its planets",
        "Leave the planets out: a carrier has no teeth, and S + R stands for it in the speed equation.", 2,
        carrier="({n}*P#)",
    ),
    Belief(
        "carrier as one planet", "the carrier counted as one planet",
        "the carrier is counted with the teeth of one planet",
        "Leave the planets out: a carrier has no teeth, and S + R stands for it in the speed equation.", 2,
        carrier="P#",
    ),
    Belief(
        "carrier as R - S", "the carrier counted as R − S",
        "the carrier is counted as R − S in place of S + R",
        "Write the speed equation out and collect the terms of the carrier: they come to S + R.", 2,
        carrier="(R# - S#)",
    ),
    Belief(
        "carrier as S + P", "the carrier counted as S + P",
        "the carrier is counted as S + P in place of S + R",
        "Write the speed equation out and collect the terms of the carrier: they come to S + R.", 2,
        carrier="(S# + P#)",
    ),
    Belief(
        "R - S for the ring", "R − S taken for the ring",
        "R − S is used where the ring’s own teeth belong",
        "Use the ring’s own number of teeth: what the sun has is not taken off it.", 2,
        ring="(R# - S#)",
    ),
    Belief(
        "S + P for the ring", "S + P taken for the ring",
        "S + P is used where the ring’s own teeth belong",
        "Use the ring’s own number of teeth: from the middle to its rim there are S and two times P.", 2,
        ring="((S# + R#)/2)",
    ),
    Belief(
        "plain average", "a plain average of speeds or shares",
        "a plain average is taken, as if sun and ring counted alike",
        "Give each speed the weight of its teeth: the ring has more and counts for more.", 2,
        only={"HALF": "L02-01 L02-05", "ADD": "L09-01"}, average=True,
    ),
    Belief(
        "speed seen from the carrier", "relative speed given",
        "the speed is given as someone sees it who rides on the carrier",
        "Add the carrier’s own speed at the end, to see the speed from the housing.", 2,
        codes=("REL",), never="L09-08",
    ),
    Belief(
        "sign of a term", "sign of a term in the speed equation",
        "a term of the speed equation keeps its sign where it changes sides, or loses it",
        "Write every step of the equation on a line of its own and check the signs when a term changes sides.", 2,
        only={"SIGN": "L02-02 L02-03 L02-04 L02-09 L02-10 L05-03 L06-05 L06-07 L06-10 L08-01 L08-03 L08-04", "DOUBLE": "L05-07"}, common=True,
    ),
    Belief(
        "turning member as held", "a turning member taken as held",
        "a member that turns is put at zero",
        "Mark on the picture what is held by a brake; every other member keeps its own speed in the equation.", 5,
        codes=("HELDMOVES",), written={"L02-04": "-ns*S/P", "L06-10": "1 + R1/S1"},
    ),
    Belief(
        "free and locked confused", "free and locked confused",
        "a set is taken as standing or as locked where it is the other",
        "Ask two things: is a member held, and are two members joined? Two joined members lock the set, nothing held sets "
        "it free.", 3,
        codes=("LOCKFREE",), never="L07-08 L11-02 L09-08",
    ),
    Belief(
        "other sun", "the other sun used",
        "the teeth of the other sun are used",
        "Put a finger on the sun that the power comes in by, and use its teeth.", 5,
        only={"SWAP": "L05-06 L05-08 L05-11"},
    ),
    Belief(
        "spacing by the wrong number", "the wrong test for equal spacing",
        "the spacing of the planets is tested with another number than S + R",
        "Add sun and ring teeth first, and only then divide by the number of planets.", 4,
        codes=("SPACE",),
    ),
    Belief(
        "tips left out", "pitch circles used where tips meet",
        "the teeth are taken to end at the pitch circle",
        "Add one module on each side: neighbours touch at the tips of their teeth.", 4,
        codes=("TIP",), never="L13-03 L13-06",
    ),
    Belief(
        "double pinions as single", "a double-pinion set taken as single",
        "a set with two pinions between sun and ring is treated like one with a single planet",
        "Count the gears between sun and ring: with two of them the ring’s term changes its sign.", 4,
        codes=("DOUBLE",), never="L05-07",
    ),
    Belief(
        "step left out", "the step of a stepped planet left out",
        "both pinions on the pin are taken to be alike",
        "Write down the quotient of the two pinions on the pin, and see where it goes into the ratio.", 4,
        codes=("STEP2",),
    ),
)
