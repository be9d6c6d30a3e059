"""The right answers once more, with a letter C of its own for what the carrier weighs in the speed equation.

With C = S + R each is the bank's own answer, which a test proves. A misconception that takes the carrier for something
else puts that in its place.
"""

from __future__ import annotations

from collections.abc import Mapping

from gearkit.answers.item import ONE_PART

WITH_CARRIER: Mapping[str, Mapping[str, str]] = {
    "L02-01": {ONE_PART: "(S*ns + R*nr)/C"},
    "L02-02": {ONE_PART: "(C*nc - S*ns)/R"},
    "L02-05": {ONE_PART: "R/C"},
    "L03-01": {"S_R_C": "C/S", "C_R_S": "S/C", "R_S_C": "C/R", "C_S_R": "R/C"},
    "L03-02": {ONE_PART: "C/S"},
    "L03-03": {ONE_PART: "R/C"},
    "L03-08": {ONE_PART: "(S*ns + R*nr)/C"},
    "L05-01": {ONE_PART: "C1/S1*C2/S2"},
    "L05-03": {ONE_PART: "(C1 + S1*R2/S2)/R1"},
    "L05-04": {ONE_PART: "C1/R1"},
    "L05-09": {ONE_PART: "(C2 - R2*R1/C1)/S2"},
    "L05-10": {ONE_PART: "R1/C1"},
    "L06-03": {ONE_PART: "C3/S3"},
    "L06-05": {ONE_PART: "(C1*C3/S3 + S1*R2/S2)/R1"},
    "L06-06": {ONE_PART: "(C1*C3/S3 + S1*R2/S2)/(S1*C2/S2 + R1)"},
    "L06-07": {ONE_PART: "(C1*C3/S3 - S1*(C2*C3/S3 - R2)/S2)/R1"},
    "L06-10": {ONE_PART: "C1/S1*C3/R3*C4/R4 - R1/S1"},
    "L06-11": {ONE_PART: "C4/R4"},
    "L07-04": {ONE_PART: "-n*R1*S3/(R3*C1)"},
    "L07-05": {ONE_PART: "n*R1*S2/(C2*C1 - R2*R1)"},
    "L08-01": {"carrier": "-T*C/S"},
    "L08-05": {ONE_PART: "T*S/C"},
    "L08-06": {"A": "T*S1/C1"},
    "L09-07": {ONE_PART: "R/C"},
    "L10-02": {ONE_PART: "C2/S2*C1/R1"},
    "L11-03": {ONE_PART: "-n*R1*S2/(S1*C2)"},
    "L11-04": {ONE_PART: "n - n*R1*S2/(C2*C1 - R2*R1)"},
    "L13-07": {ONE_PART: "t*C2/S2"},
}
# Exercises with ring teeth in their answers in which no carrier turns.
WITH_RING = frozenset(
    {"L02-03", "L02-08", "L03-07", "L05-05", "L06-04", "L06-08", "L08-02", "L08-07", "L09-02", "L09-03", "L09-04"}
) | frozenset(WITH_CARRIER)
# The rows of the Q36's application chart, from reverse to its highest range, by the exercise that asks each.
CHART_ROWS = ("L06-04", "L06-05", "L06-03", "L06-06", "L06-07", "L06-09", "L06-08")
