"""What is said after a prediction: what the usual wrong guesses take for true. Nothing of it is shown before the reveal.

An afterword for one case is said when that case is opened; one without a case when any is.
"""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.text.markdown import to_html
from gearkit.words.say import later, say

_PAIR = "pair_common_sun, other tooth counts"
_Q36 = "Q36, other tooth counts"
_FREEDOMS = "freedoms of Two sets with their suns on one shaft (Simpson-type pair)"
_TORQUES_24 = "torques of Quillbrook Q24, other tooth counts"
_TORQUES_36 = "torques of Quillbrook Q36, other tooth counts"
_POWER = "power in Quillbrook Q36, other tooth counts"
_ROAD = "Quillbrook Q24 on the road, other tooth counts"
_SHIFTS = "shifts of Quillbrook Q36, other tooth counts"


@dataclass(frozen=True)
class Afterword:
    """Words after a prediction.

    Args:
        lesson: the lesson's number, such as "05".
        panel: what was predicted, as the record names it.
        text: the words, in the small Markdown of items.
        case: what the case's words hold, such as "A and D"; empty for every case.
    """

    lesson: str
    panel: str
    text: str
    case: str = ""


def said_after(lesson: str, panel: str, case: str) -> tuple[Afterword, ...]:
    """Return what is said after a prediction, that of its case first.

    Args:
        lesson: the lesson's number.
        panel: what was predicted.
        case: the case in words.
    """
    own = [each for each in AFTERWORDS if (each.lesson, each.panel) == (lesson, panel) and each.case in case]
    return tuple(sorted(own, key=lambda each: not each.case))


def as_html(lesson: str, panel: str, case: str) -> str:
    """Return the same as HTML; "" where nothing is said.

    Args:
        lesson: the lesson's number.
        panel: what was predicted.
        case: the case in words.
    """
    said = said_after(lesson, panel, case)
    return headed("\n\n".join(each.text for each in said)) if said else ""


def headed(text: str) -> str:
    """Return words after a prediction as HTML, with their heading."""
    return to_html(say("**Compare.** {text}", text=text))


# Numbers in these texts are pinned by tests/lesson/pinned, as those in the lessons are.
AFTERWORDS: tuple[Afterword, ...] = (
    Afterword("00", "one set", later("Your prediction stays in your record, right or wrong. Now look why it came out so.")),
    Afterword(
        "01",
        "gear pair",
        later(
            "With 24 teeth that drive 40, at 60 r/min: if you said 100 r/min, you divided the other way round. The larger gear is always the slower one."
        ),
        "external mesh, no idler",
    ),
    Afterword(
        "01",
        "gear pair",
        later(
            "Right size, wrong direction? Count the external meshes: each of them reverses. If an idler changed your size, you used its tooth count; it does not matter."
        ),
    ),
    Afterword(
        "02",
        "two speeds of one set",
        later(
            "With 1000 and −200 r/min: 400 r/min is the simple mean; but the ring has more teeth, so its speed has more weight. 308 r/min is the speed with the ring held."
        ),
        "sun and ring given",
    ),
    Afterword(
        "02",
        "two speeds of one set",
        later(
            "Put both given speeds into the equation with their signs. A sign that was lost is the usual reason for a large error."
        ),
    ),
    Afterword(
        "03",
        "one set",
        later(
            "With 30 and 24 teeth: 2.6 is $R/S$, the case with the carrier held. The 1 that is missing is the one turn that the whole set makes with its carrier. 0.278 is the ratio turned upside down."
        ),
        "sun in, ring held, carrier out",
    ),
    Afterword(
        "03",
        "one set",
        later(
            "Check the kind first: what does the carrier do? Then ask whether you divided input by output, or the other way round."
        ),
    ),
    Afterword(
        "04",
        "putting a set together",
        later(
            "If the spacing came out differently, ask what you tested: it must be $S + R$, not $R$ or $S$ alone and not $R - S$. If the planets touch although you saw room, you looked at the pitch circles; the tips stand out one module more."
        ),
    ),
    Afterword(
        "05",
        _PAIR,
        later(
            "3.808 is a product, $1.385 \\times 2.75$, as if set 2 stood behind set 1. 1.385 is the ratio with the suns held; in this range they turn backward."
        ),
        "A and D applied",
    ),
    Afterword(
        "05",
        _PAIR,
        later(
            "Is one of the shared shafts held? Then each set works alone. If none is held, the sets share speeds, and no product of single ratios can be right."
        ),
    ),
    Afterword(
        "06",
        _Q36,
        later("4.025 takes sun 1 as held. It is joined to sun 2, which turns *backward*."),
        "B and C applied",
    ),
    Afterword("06", _Q36, later("3.130 takes set 1 as locked, as in second range. Here A is open."), "C and D applied"),
    Afterword(
        "06",
        _Q36,
        later("If you said tie-up: both elements say that everything turns together, so they agree."),
        "D and E applied",
    ),
    Afterword(
        "06",
        _Q36,
        later(
            "Write down for each applied element which two parts it joins or holds. Then start at the held members and go on from shaft to shaft."
        ),
    ),
    Afterword(
        "07",
        _FREEDOMS,
        later(
            "Did you count elements, or ask what each one adds? If one freedom is left, ask also: is it the freedom of the whole train, or only of the input or the output?"
        ),
    ),
    Afterword(
        "08",
        _TORQUES_24,
        later("480 N·m is the *output* torque. The input gives 150 of it, the housing holds only the difference, 330."),
        "range 1",
    ),
    Afterword(
        "08",
        _TORQUES_24,
        later(
            "200 N·m is output less input. In reverse input and load push in the same direction, so the housing holds their sum, 500."
        ),
        "range R",
    ),
    Afterword(
        "08",
        _TORQUES_24,
        later(
            "The housing holds $T\\,(i - 1)$, with the sign of $i$. A clutch carries what goes through it, which need not be the input torque."
        ),
    ),
    Afterword(
        "08",
        _TORQUES_36,
        later("If two brakes hold, their torques together are $T\\,(i - 1)$. Go from set to set to find how they share it."),
    ),
    Afterword(
        "09", _POWER, later("98 % lets the *whole* power roll through the teeth. Only $R/(S + R)$ of it does."), "range 2"
    ),
    Afterword("09", _POWER, later("98 % counts one mesh. Here the power goes through two, one after the other."), "range 6"),
    Afterword("09", _POWER, later("Ask two questions of the range: do teeth roll, and does power go round?")),
    Afterword(
        "10",
        _ROAD,
        later(
            "If your engine turned *faster* after the upshift, you took the step the wrong way up. A road speed about four times too high leaves out the final drive; half of it takes $\\pi r$ for the distance of one turn."
        ),
    ),
    Afterword(
        "11",
        _SHIFTS,
        later(
            "4014 r/min is the step the wrong way up: on an upshift the engine becomes slower. 3000 takes the engine speed as unchanged."
        ),
        "3 to 4",
    ),
    Afterword(
        "11",
        _SHIFTS,
        later("Tie-up or flare? Ask what still holds the engine back at that moment: too much, or nothing."),
    ),
    Afterword(
        "12",
        "a hidden fault in Quillbrook Q36",
        later(
            "Right element, wrong way of failing: *neutral* means that something is missing, *binds* means that something is too much. Wrong element: you named it from one row. Look at the other rows and find the one that speaks against it."
        ),
    ),
    Afterword(
        "13",
        "a bench model",
        later(
            "If you expected the ratio to fail first: spacing must give a whole number, while a ratio may be 2 percent off. If the plate is too small although $m R$ fits: the roots and *two* walls are missing."
        ),
    ),
    Afterword(
        "14",
        "power split in Power split, other tooth counts",
        later(
            "32 % at every speed is the sun's share of the *torque*, not of the power. M1 does not always generate: above the mechanical point it turns backward, while its torque keeps its direction. At standstill all of the power goes by the electrical path."
        ),
    ),
    Afterword(
        "15",
        "sharing in Planetary transfer",
        later(
            "The rest of the engine's torque goes to the other end *only* if the transfer is locked. Open, the end with less grip limits both, by the teeth. Half and half is true only for equal side gears."
        ),
    ),
)
