"""Misconceptions about several sets: series, joined sets, elements and charts, torque and efficiency."""

from __future__ import annotations

from gearkit.answers.beliefs.belief import Belief

BELIEFS: tuple[Belief, ...] = (
    Belief(
        "ratios added", "ratios in series added",
        "ratios of stages in series are added",
        "Follow one turn of the input through both stages: the second works on what the first has already changed.", 5,
        codes=("ADD",), never="L01-01 L09-01",
    ),
    Belief(
        "joined sets multiplied", "ratios of joined sets multiplied",
        "the ratios of two sets are multiplied though the sets share members",
        "Look for members that two sets share: then write both speed equations and solve them together.", 5,
        codes=("MULT",), never="L03-08 L06-06 L08-07 L13-01",
    ),
    Belief(
        "chart one row too low", "chart read a row too low",
        "the row below is read in the application chart",
        "Put a ruler under the row of the range that is asked for.", 6, chart_row=1,
    ),
    Belief(
        "chart one row too high", "chart read a row too high",
        "the row above is read in the application chart",
        "Put a ruler under the row of the range that is asked for.", 6, chart_row=-1,
    ),
    Belief(
        "counted only", "counted instead of checked",
        "something is only counted and not checked",
        "After counting, take each thing you counted and ask what it really holds or joins.", 7,
        codes=("COUNT",), never="L08-08 L10-03 L10-10 L13-08",
    ),
    Belief(
        "brake and clutch confused", "brake and clutch confused",
        "a brake is taken for a clutch, or a clutch for a brake",
        "Read both ends of the element: one end on the housing makes it a brake.", 6,
        codes=("ROLE",),
    ),
    Belief(
        "one range for each element", "one element taken to serve one range",
        "an element is looked for in one range only",
        "Go down the whole column of the element in the chart and mark every range that it stands in.", 6,
        codes=("ONERANGE",),
    ),
    Belief(
        "one-way clutch both ways", "a one-way clutch taken to hold both ways",
        "a one-way clutch is taken to hold both ways",
        "Find first which way its member wants to turn; the clutch holds one of the two ways.", 7,
        codes=("OWC",),
    ),
    Belief(
        "tie-up and slip confused", "tie-up and slip confused",
        "an element too many and an element too few are taken for each other",
        "Ask whether there is an element too many or one too few: too many tie the train up, too few let it slip.", 12,
        codes=("SLIPTIE",),
    ),
    Belief(
        "torque like speed", "torque taken like a speed",
        "a torque is changed by the ratio as a speed is",
        "Check with the power: where the speed falls, the torque rises.", 8,
        codes=("TSPEED",), never="L08-08 L09-02 L09-03",
    ),
    Belief(
        "holding torque as output torque", "output torque given for the holding torque",
        "the output torque is given where the holding torque is asked for",
        "Write input + output + holding torque = 0 and solve for the one that is asked.", 8,
        codes=("REACT",),
    ),
    Belief(
        "input torque everywhere", "the input torque taken to act everywhere",
        "the input torque is taken to act on every member",
        "Write S, R and S + R beside sun, ring and carrier: the torques stand in this proportion.", 8,
        codes=("TEQUAL",), never="L09-08",
    ),
    Belief(
        "all power through the teeth", "all power charged to the mesh",
        "all of the power is taken to go through the teeth",
        "Take off what turns with the carrier as a whole: only the rest goes through the teeth and loses its share.", 9,
        codes=("ETAFULL",),
    ),
    Belief(
        "loss taken off the speed", "a loss taken off the speed",
        "a loss is taken off the speed",
        "Leave the speeds alone: gear teeth do not slip, and a loss comes off the torque.", 9,
        codes=("ETASPEED",),
    ),
    Belief(
        "losses left out", "losses left out",
        "the losses are left out",
        "Go through what is given once more and tick off every efficiency and every resistance.", 9,
        only={"LEFTOUT": "L09-05 L10-07 L10-08"},
    ),
)
