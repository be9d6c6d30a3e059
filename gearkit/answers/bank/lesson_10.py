"""Lesson 10: ratios on the road: steps, spread, road speed, tractive effort."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.bank.common import BEFORE, HUNDREDTH, ONE_PERCENT, Q24, TWO_PERCENT, one_of
from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake, Version

_N = AnswerKind.DECIMAL
_ROAD = {"i": ("0.7", "3.8", "0.1"), "f": ("2.8", "5.2", "0.1"), "r": ("0.28", "0.42", "0.01")}

ITEMS: tuple[Item, ...] = (
    Item(
        id="L10-01",
        kind=_N,
        marks=2,
        prompt="Two neighbouring ranges have the ratios <a> and <b>, the lower range first. What is the step between them?",
        draw=Draw(
            numbers={"a": ("1.6", "4.2", "0.05"), "q": ("1.20", "1.80", "0.05")},
            shown={"b": ("a/q", 3)},
            hidden=("q",),
        ),
        answer="a/b",
        tolerance=HUNDREDTH,
        named_mistakes=(
            NamedMistake("DIFF", "a - b"),
            NamedMistake("RECIP", "b/a", "A step is the lower range's ratio over the higher one's, so it is above 1."),
        ),
        hints=(
            "A step tells how much the engine speed drops, as a factor.",
            "So divide, and do not subtract.",
            "The lower range's ratio stands on top.",
        ),
    ),
    Item(
        id="L10-02",
        kind=_N,
        marks=2,
        prompt="What is the spread of your Q24, from first to fourth range? Application chart:\n\n<chart>",
        draw=Q24,
        like=("spread",),
        tolerance=HUNDREDTH,
        named_mistakes=(
            NamedMistake("DIFF", "<ratio 1> - <ratio 4>"),
            NamedMistake("RECIP", "1/<answer>", "A spread is first over top, so it is above 1."),
        ),
        hints=(
            "The spread is first ratio over top ratio.",
            "First is 1 + R2/S2; top (B and C) is R1/(S1 + R1).",
            "Divide one by the other.",
        ),
    ),
    Item(
        id="L10-03",
        kind=_N,
        marks=3,
        prompt="A transmission has <k> forward ranges from <a> to <b>. If all its steps were equal, how large would each "
        "step be?",
        draw=Draw(numbers={"k": ("4", "8", "1"), "a": ("3.4", "4.8", "0.1"), "b": ("0.62", "0.80", "0.02")}),
        answer="root(a/b, k - 1)",
        tolerance=HUNDREDTH,
        named_mistakes=(
            NamedMistake("LINEAR", "a/b/(k - 1)"),
            NamedMistake(
                "DIFF", "(a - b)/(k - 1)", "Equal differences do not feel equal: the steps have to multiply up to the spread."
            ),
            NamedMistake("COUNT", "root(a/b, k)", "Between how many ranges lie how many steps?"),
        ),
        hints=(
            "All steps multiplied together make the spread.",
            "There is one step fewer than there are ranges.",
            "Take that root of the spread.",
        ),
    ),
    Item(
        id="L10-04",
        kind=AnswerKind.ORDERING,
        marks=4,
        prompt="Put the five steps of your Q36 in order from largest to smallest (1-2 is the step from first to second). "
        "Then say whether they fall all the way from first to top.\n\nApplication chart with the ratios:\n\n<chart>",
        draw=Draw(layout="Q36", numbers=one_of(2, 2), later=BEFORE),
        rule="order_steps",
        like=("step-order",),
        named_mistakes=(NamedMistake("DIFF", "", "You put the differences of the ratios in order; a step is a quotient."),),
        # The five steps of the Q36 come in two or three orders only.
        versions=(
            Version(
                prompt="Put these five shifts of your Q36 in order of their steps, largest step first (1-3 is the shift from first "
                "to third): <list>.\n\nApplication chart with the ratios:\n\n<chart>",
                rule="order_some_steps",
            ),
        ),
        hints=(
            "A step is a quotient of two ratios.",
            "Divide the lower range's ratio by the higher one's, for each shift.",
            "Put the quotients in order. (They fall all the way if each is smaller than the one before.)",
        ),
    ),
    Item(
        id="L10-05",
        kind=_N,
        marks=3,
        prompt="Ratio <i>, final drive <f>, rolling radius <r> m, engine at <n> r/min, nothing slips. What is the road "
        "speed in km/h?",
        draw=Draw(numbers={**_ROAD, "n": ("1000", "3500", "100")}, keep=("abs(i - 1) > 0.05",)),
        answer="2*pi*r*n*60/(1000*i*f)",
        tolerance=ONE_PERCENT,
        unit="km/h",
        pi=True,
        named_mistakes=(
            NamedMistake("FD", "2*pi*r*n*60/(1000*i)"),
            NamedMistake("UNIT", "2*pi*r*n/(60*i*f)", "That is in metres per second."),
            NamedMistake("UNIT", "pi*r*n*60/(1000*i*f)", "Once round a wheel is 2 pi times its radius."),
            NamedMistake("RECIP", "2*pi*r*n*60*i/(1000*f)", "The larger the ratio, the slower the vehicle."),
        ),
        hints=(
            "The wheel turns at n/(i f) r/min.",
            "Each turn takes it 2 pi r metres on.",
            "Sixty minutes to the hour, a thousand metres to the kilometre.",
        ),
    ),
    Item(
        id="L10-06",
        kind=_N,
        marks=3,
        prompt="A vehicle runs at <v> km/h in a range with ratio <i>; final drive <f>, rolling radius <r> m, nothing "
        "slips. How fast does the engine turn (r/min)?",
        draw=Draw(numbers={**_ROAD, "v": ("30", "110", "5")}, keep=("abs(i - 1) > 0.05",)),
        answer="v*1000*i*f/(60*2*pi*r)",
        tolerance=ONE_PERCENT,
        unit="r/min",
        pi=True,
        named_mistakes=(
            NamedMistake("FD", "v*1000*i/(60*2*pi*r)"),
            NamedMistake("UNIT", "v*1000*i*f/(60*pi*r)", "Radius or diameter? Once round a wheel is 2 pi r."),
            NamedMistake("RECIP", "v*1000*f/(60*2*pi*r*i)", "The larger the ratio, the faster the engine."),
        ),
        hints=(
            "First metres per minute.",
            "Divided by 2 pi r that is wheel turns per minute.",
            "Then the final drive and the ratio multiply it up to the engine.",
        ),
    ),
    Item(
        id="L10-07",
        kind=_N,
        marks=4,
        prompt="Engine torque <T> N·m, ratio <i>, final drive <f>, driveline efficiency <e>, rolling radius <r> m. What "
        "is the tractive effort, in N?",
        draw=Draw(
            numbers={
                "T": ("100", "400", "10"),
                "i": ("1.2", "4.0", "0.1"),
                "f": ("2.8", "5.2", "0.1"),
                "e": ("0.86", "0.94", "0.01"),
                "r": ("0.28", "0.42", "0.01"),
            }
        ),
        answer="T*i*f*e/r",
        tolerance=ONE_PERCENT,
        unit="N",
        named_mistakes=(
            NamedMistake("FD", "T*i*e/r"),
            NamedMistake("TSPEED", "T*f*e/(i*r)"),
            NamedMistake("UNIT", "T*i*f*e/(2*r)", "A force is torque over radius, not over diameter."),
            NamedMistake("LEFTOUT", "T*i*f/r", "The efficiency of the driveline is missing."),
        ),
        hints=(
            "The torque at the wheels is T i f e.",
            "A force is torque over radius.",
            "Radius in metres, torque in newton metres: newtons.",
        ),
    ),
    Item(
        id="L10-08",
        kind=_N,
        marks=4,
        prompt="Tractive effort <F> N, mass <m> kg, rolling coefficient <c>. How steep a grade can the vehicle hold at a "
        "steady crawl, in percent? (Take the rolling force as c m g, with g = 9.81 m/s².)",
        draw=Draw(
            numbers={"F": ("4000", "9000", "200"), "m": ("1400", "3500", "100"), "c": ("0.010", "0.020", "0.005")},
            keep=("F/(m*9.81) - c > 0.05", "F/(m*9.81) - c < 0.55"),
        ),
        answer="100*tan(asin(F/(m*9.81) - c))",
        tolerance=TWO_PERCENT,
        unit="percent",
        named_mistakes=(
            NamedMistake(
                "SIGN",
                "100*tan(asin(F/(m*9.81) + c))",
                "Rolling resistance takes from what is left for the hill: look at its sign.",
            ),
            NamedMistake("LEFTOUT", "100*tan(asin(F/(m*9.81)))", "The rolling resistance is missing."),
            NamedMistake(
                "UNIT", "180/pi*asin(F/(m*9.81) - c)", "That is the angle in degrees; a grade is the tangent, in percent."
            ),
        ),
        hints=(
            "Along the slope: effort = m g sin(angle) + c m g.",
            "Solve for the sine of the angle.",
            "The grade in percent is 100 times the tangent.",
        ),
    ),
    Item(
        id="L10-09",
        kind=_N,
        marks=3,
        prompt="A tyre is marked <w>/<a> and sits on a <d>-inch rim. What is its free (unloaded) radius, in mm?",
        draw=Draw(numbers={"w": ("175", "265", "10"), "a": ("45", "75", "5"), "d": ("14", "19", "1")}),
        answer="(d*25.4 + 2*w*a/100)/2",
        tolerance=Tolerance(absolute=Fraction(1)),
        unit="mm",
        named_mistakes=(
            NamedMistake("HALF", "(d*25.4 + w*a/100)/2", "There is a sidewall above the rim and one below it."),
            NamedMistake("UNIT", "d*25.4 + 2*w*a/100", "That is the diameter."),
            NamedMistake("UNIT", "(d*25.4 + 2*w)/2", "The second number is the sidewall's height in percent of the width."),
        ),
        hints=(
            "The sidewall is the first number in mm times the second, in percent.",
            "Rim and two sidewalls make the diameter; an inch is 25.4 mm.",
            "Half of it is the free radius; the loaded rolling radius is a few percent less.",
        ),
    ),
    Item(
        id="L10-10",
        kind=_N,
        marks=3,
        prompt="A transmission has <k> forward ranges from <a> to <b>. If all its steps were equal, what would be the ratio of second?",
        draw=Draw(numbers={"k": ("4", "7", "1"), "a": ("3.4", "4.8", "0.1"), "b": ("0.62", "0.80", "0.02")}),
        answer="a/root(a/b, k - 1)",
        tolerance=HUNDREDTH,
        named_mistakes=(
            NamedMistake(
                "LINEAR", "a - (a - b)/(k - 1)", "That takes the same amount off each time. Equal steps are equal quotients."
            ),
            NamedMistake("COUNT", "a/root(a/b, k)", "Count the steps: between so many ranges there is one fewer."),
        ),
        hints=(
            "A step is the lower range's ratio divided by the next one's.",
            "From first to top there is one step fewer than there are ranges, and together they make the spread.",
            "Find one step with a root; then go one step down from first.",
        ),
    ),
    Item(
        id="L10-11",
        kind=_N,
        marks=2,
        prompt="Three neighbouring ranges shall have two equal steps. The outer two have the ratios <a> and <b>. What is the ratio of the "
        "middle one?",
        draw=Draw(numbers={"a": ("2.6", "4.2", "0.1"), "q": ("2.0", "3.0", "0.1")}, shown={"b": ("a/q", 3)}, hidden=("q",)),
        answer="root(a*b, 2)",
        tolerance=HUNDREDTH,
        named_mistakes=(
            NamedMistake("LINEAR", "(a + b)/2", "That lies in the middle by difference. Equal steps are equal quotients."),
            NamedMistake("DIFF", "a - b", "That is the difference of the outer two; a step is a quotient."),
        ),
        hints=(
            "Call the middle ratio x and write both steps as quotients.",
            "Put the two steps equal.",
            "What number times itself is the product of the outer two?",
        ),
    ),
)
