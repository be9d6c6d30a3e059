"""Lesson 1: gear pairs: speeds, tooth counts, direction."""

from __future__ import annotations

from gearkit.answers.bank.common import BEFORE, HALF_PERCENT, HALF_RPM, HUNDREDTH, one_of
from gearkit.answers.item import AnswerKind, Constraint, Draw, Field, Item, NamedMistake, Version
from gearkit.answers.judge.claims import Relation

_RATIO = AnswerKind.EXACT_RATIO
_ADD = NamedMistake("ADD", "z1 + z2", "The sum of the teeth tells how far apart the shafts are, not how fast they turn.")
_EXTERNAL_SIGN = "The size is right. Look at an external mesh: do both gears turn the same way?"
_INTERNAL_SIGN = "The size is right. The pinion runs inside the ring: does that mesh reverse?"
_IN_A_RING = (
    "A pinion with $z_1$ teeth meshes inside a ring gear with $z_2$ teeth. Write the quotient {} of their speeds, with "
    "its sign, in `z1` and `z2`. (To try it: <z1> and <z2> teeth.)"
)

_TWO_ON_ONE_SHAFT = Draw(
    numbers={
        "z1": ("14", "30", "1"),
        "z2": ("31", "60", "1"),
        "z3": ("15", "32", "1"),
        "z4": ("33", "70", "1"),
        "n": ("300", "1500", "50"),
    },
)

ITEMS: tuple[Item, ...] = (
    Item(
        id="L01-01",
        kind=AnswerKind.EXPRESSION,
        marks=3,
        prompt="Two gears mesh externally: the driver has $z_1$ teeth, the driven gear $z_2$. Write the ratio "
        "$n_1/n_2$, with its sign, in `z1` and `z2`. (To try it: <z1> and <z2> teeth.)",
        draw=Draw(
            numbers={"z1": ("12", "40", "1"), "z2": ("14", "90", "1"), **one_of(4)},
            later=BEFORE,
            keep=("z1 != z2", "(z2 - z1 - 12)*floor(version/3) >= 0"),
        ),
        symbols=("z1", "z2"),
        answer="-z2/z1",
        named_mistakes=(
            NamedMistake("RECIP", "-z1/z2"),
            NamedMistake("SIGN", "z2/z1", _EXTERNAL_SIGN, says=(Relation.NEGATIVE,)),
            _ADD,
        ),
        hints=(
            "How many teeth of each gear pass the mesh in one second?",
            "In size, $z_1\\,n_1 = z_2\\,n_2$.",
            "Solve for the quotient that is asked, then think about the direction: an external mesh reverses, an internal one does not.",
        ),
        versions=(
            Version(
                prompt="Two gears mesh externally: the driver has $z_1$ teeth, the driven gear $z_2$. Write the quotient "
                "$n_2/n_1$, driven speed over driving speed, with its sign, in `z1` and `z2`. (To try it: <z1> and "
                "<z2> teeth.)",
                answer="-z1/z2",
                named_mistakes=(
                    NamedMistake("RECIP", "-z2/z1"),
                    NamedMistake("SIGN", "z1/z2", _EXTERNAL_SIGN, says=(Relation.NEGATIVE,)),
                    _ADD,
                ),
            ),
            Version(
                prompt=_IN_A_RING.format("$n_1/n_2$"),
                answer="z2/z1",
                named_mistakes=(
                    NamedMistake("RECIP", "z1/z2"),
                    NamedMistake("SIGN", "-z2/z1", _INTERNAL_SIGN, says=(Relation.NEGATIVE,)),
                    _ADD,
                ),
            ),
            Version(
                prompt=_IN_A_RING.format("$n_2/n_1$"),
                answer="z1/z2",
                named_mistakes=(
                    NamedMistake("RECIP", "z2/z1"),
                    NamedMistake("SIGN", "-z1/z2", _INTERNAL_SIGN, says=(Relation.NEGATIVE,)),
                    _ADD,
                ),
            ),
        ),
    ),
    Item(
        id="L01-02",
        kind=_RATIO,
        marks=2,
        prompt="A pinion with <z1> teeth drives a ring gear (internal teeth) with <z2> teeth. What is the ratio $n_1/n_2$ "
        "(with a minus sign if the two turn opposite ways)?",
        draw=Draw(numbers={"z1": ("15", "36", "1"), "z2": ("60", "110", "1")}),
        answer="z2/z1",
        named_mistakes=(
            NamedMistake(
                "SIGN",
                "-z2/z1",
                "The size is right. The pinion runs inside the ring: does that mesh reverse?",
                says=(Relation.NEGATIVE,),
            ),
            NamedMistake("RECIP", "z1/z2"),
            NamedMistake(
                "DIFF", "z2/z1 - 1", "A difference of the teeth belongs to the centre distance; the ratio is a quotient."
            ),
        ),
        hints=(
            "Is this mesh internal or external?",
            "An internal mesh keeps the direction.",
            "Ratio: teeth of the driven gear over teeth of the driver.",
        ),
    ),
    Item(
        id="L01-03",
        kind=AnswerKind.DECIMAL,
        marks=2,
        prompt="An external pair has <z1> and <z2> teeth. The <z1>-tooth gear is driven at <n> r/min. At what speed "
        "does the other turn (r/min; a minus sign for the opposite direction)?",
        draw=Draw(
            numbers={"z1": ("14", "40", "1"), "z2": ("14", "80", "1"), "n": ("300", "3000", "50")},
            keep=("abs(z1 - z2) > 3",),
        ),
        answer="-n*z1/z2",
        tolerance=HALF_PERCENT,
        unit="r/min",
        named_mistakes=(
            NamedMistake(
                "RECIP", "-n*z2/z1", "The larger gear of a pair turns slower: did you multiply where you should divide?"
            ),
            NamedMistake("SIGN", "n*z1/z2"),
            NamedMistake(
                "UNIT", "-n", "The teeth pass at the same rate on both gears; the shafts turn alike only with equal teeth."
            ),
        ),
        hints=(
            "As many teeth per minute pass on one gear as on the other.",
            "In size, $z_1\\,n_1 = z_2\\,n_2$.",
            "Solve for $n_2$ and give it the sign of an external mesh.",
        ),
    ),
    Item(
        id="L01-04",
        kind=_RATIO,
        marks=3,
        prompt="Three gears stand in a row, all external: <z1> teeth drive <z2>, which drive <z3>. What is the ratio "
        "from the first to the last (with a minus sign if these two turn opposite ways)?",
        draw=Draw(
            numbers={"z1": ("14", "36", "1"), "z2": ("15", "40", "1"), "z3": ("24", "80", "1")},
            keep=("z1 != z3", "z2 != z3", "z1 != z2"),
        ),
        answer="z3/z1",
        named_mistakes=(
            NamedMistake(
                "SIGN",
                "-z3/z1",
                "The size is right. Reversed twice: which way does the last gear turn?",
                says=(Relation.NEGATIVE,),
            ),
            NamedMistake("ADD", "-z2/z1 - z3/z2", "You added the two pairs; meshes one after the other multiply."),
            NamedMistake("IDLER", "-z2/z1", "You stopped at the gear in the middle: the last one is the output."),
        ),
        hints=(
            "Write the ratio of each mesh by itself.",
            "Multiply the two; one tooth count cancels.",
            "Two minus signs meet as well.",
        ),
    ),
    Item(
        id="L01-05",
        kind=_RATIO,
        marks=4,
        prompt="<z1> teeth drive <z2>. On the shaft of the second gear sits a third with <z3> teeth, which drives "
        "<z4>. Both meshes are external. What is the whole ratio (with a minus sign if the last gear turns "
        "against the first)?",
        draw=Draw(
            numbers={"z1": ("14", "30", "1"), "z2": ("30", "60", "1"), "z3": ("15", "32", "1"), "z4": ("32", "70", "1")},
            keep=("z2 != z3",),
        ),
        answer="(z2*z4)/(z1*z3)",
        named_mistakes=(
            NamedMistake("ADD", "z2/z1 + z4/z3"),
            NamedMistake("IDLER", "z4/z1", "The middle shaft carries two gears of different size, so it is no idler."),
            NamedMistake("SIGN", "-(z2*z4)/(z1*z3)"),
            NamedMistake("RECIP", "(z1*z3)/(z2*z4)"),
        ),
        hints=(
            "These are two pairs, one after the other.",
            "The first pair alone has the ratio $-z_2/z_1$.",
            "Multiply the ratios of the two pairs.",
        ),
    ),
    Item(
        id="L01-06",
        kind=AnswerKind.DIRECTION_GRID,
        marks=3,
        prompt="Four gear trains, each given by its number of external and of internal meshes. Does the output turn "
        "forward (as the input) or in reverse?",
        draw=Draw(numbers=one_of(2, 2), later=BEFORE),
        rule="direction_grid",
        named_mistakes=(
            NamedMistake("SIGN", "", "You let the internal meshes reverse as well; do they?"),
            NamedMistake("IDLER", "", "All rows are the other way round: count the meshes, not the gears."),
        ),
        # Of two answers to each row half are guessed; a tick too many costs what a right one earns.
        versions=(
            Version(
                prompt="Four gear trains, each given by its numbers of external and of internal meshes:\n\n<list>\n\nIn which "
                "of them does the output turn in reverse, that is, against the input? Tick all of them; write none if "
                "there are none. (A wrong tick takes off at least what a right one earns; half of the marks are for a "
                "faultless answer.)",
                rule="reversing_trains",
                named_mistakes=(
                    NamedMistake("SIGN", "", "You let the internal meshes reverse as well; do they?"),
                    NamedMistake(
                        "IDLER", "", "You ticked the trains that keep the direction: count the meshes, not the gears."
                    ),
                ),
            ),
        ),
        hints=(
            "Only one kind of mesh reverses.",
            "Count the external meshes only.",
            "An even count brings the direction back.",
        ),
    ),
    Item(
        id="L01-07",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="Module <m> mm: a pinion with <z1> teeth runs inside a ring with <z2> teeth. What is the centre "
        "distance, in mm?",
        draw=Draw(numbers={"m": ("1", "4", "1"), "z1": ("14", "30", "1"), "z2": ("50", "100", "1")}),
        answer="m*(z2 - z1)/2",
        tolerance=HUNDREDTH,
        unit="mm",
        named_mistakes=(
            NamedMistake("SIGN", "m*(z1 + z2)/2", "That belongs to an external pair. How do the radii lie inside a ring?"),
            NamedMistake("UNIT", "m*(z2 - z1)", "You worked with diameters; a centre distance is made of radii."),
        ),
        hints=(
            "A pitch radius is $m z/2$.",
            "Draw both centres: the pinion sits inside the ring.",
            "Take one radius from the other.",
        ),
    ),
    Item(
        id="L01-08",
        kind=AnswerKind.DESIGN,
        marks=4,
        prompt="Find tooth counts $z_1$ (driver) and $z_2$ for an external pair: centre distance <a> mm, module <m> mm, "
        "reduction within 1 percent of <i>, and no gear below 17 teeth. (Of the 4 marks the reduction has 2.)",
        draw=Draw(
            numbers={"m": ("2", "3", "1"), "z1s": ("17", "30", "1"), "z2s": ("34", "70", "1")},
            keep=("floor((z1s + z2s)*m/2)*2 == (z1s + z2s)*m",),
            shown={"a": ("m*(z1s + z2s)/2", None), "i": ("z2s/z1s", 3)},
            hidden=("z1s", "z2s"),
        ),
        fields={
            "z1": Field("driver, teeth", AnswerKind.INTEGER),
            "z2": Field("driven gear, teeth", AnswerKind.INTEGER),
        },
        answer={"z1": "z1s", "z2": "z2s"},
        constraints=(
            Constraint("centre distance", ("m*(z1 + z2)/2 == a",), "1", "The two pitch radii have to add up to it."),
            Constraint("reduction within 1 percent", ("abs(z2/z1 - i) <= i/100",), "2", "Divide driven by driver."),
            Constraint(
                "whole teeth, no gear below 17",
                ("z1 == floor(z1)", "z2 == floor(z2)", "z1 >= 17", "z2 >= 17"),
                "1",
                "A gear has whole teeth, and with fewer than 17 they would be undercut.",
            ),
        ),
        named_mistakes=(
            NamedMistake(
                "SWAP",
                {"z1": "z2s", "z2": "z1s"},
                "Your driver is the large gear: that is an overdrive.",
                "abs(z1/z2 - i) <= i/100",
            ),
            NamedMistake(
                "UNIT",
                {"z1": "floor(a/m/(1 + i))", "z2": "floor(a/m) - floor(a/m/(1 + i))"},
                "Your pitch diameters add up to the centre distance; it is the radii that have to.",
                "abs(z1 + z2 - a/m) <= 1/2",
            ),
        ),
        hints=(
            "The centre distance fixes the sum: $z_1 + z_2 = 2a/m$.",
            "The reduction fixes the quotient: $z_2 = i\\,z_1$.",
            "Solve both together, then round to whole teeth that keep the sum.",
        ),
    ),
    Item(
        id="L01-09",
        kind=AnswerKind.ORDERING,
        marks=2,
        prompt="Put these four pairs in order, from the greatest reduction to the greatest overdrive. Answer with the "
        "letters.\n\n<list>",
        rule="order_pairs",
        named_mistakes=(NamedMistake("RECIP", "", "You put them in order of output over input."),),
        hints=(
            "Work out driven over driver for each.",
            "The largest number comes first.",
            "A pair below 1 is an overdrive and belongs at the end.",
        ),
    ),
    Item(
        id="L01-10",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="<z1> teeth drive <z2>. On the shaft of the second gear sits a third with <z3> teeth, which drives <z4>. Both meshes "
        "are external. The first gear turns at <n> r/min. How fast does the last one turn (r/min; a minus sign for the "
        "opposite direction)?",
        draw=_TWO_ON_ONE_SHAFT,
        answer="n*z1*z3/(z2*z4)",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake(
                "IDLER", "n*z1/z4", "Second and third gear are two gears on one shaft: their tooth counts do not cancel."
            ),
            NamedMistake(
                "RECIP", "n*z2*z4/(z1*z3)", "It is the other way round: do the driven gears turn slower or faster here?"
            ),
            NamedMistake(
                "SIGN",
                "-n*z1*z3/(z2*z4)",
                "The size is right. Two external meshes: which way round is that?",
                says=(Relation.NEGATIVE,),
            ),
        ),
        hints=(
            "Work out the speed of the second gear first.",
            "The third gear sits on the same shaft, so it has the second one's speed.",
            "Each external mesh reverses the direction, and there are two.",
        ),
    ),
    Item(
        id="L01-11",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="<z1> teeth drive <z2>. On the shaft of the second gear sits a third with <z3> teeth, which drives <z4>. Both meshes "
        "are external. The last gear shall turn at <n> r/min. How fast does the first one have to turn (r/min; a minus sign "
        "for the opposite direction)?",
        draw=_TWO_ON_ONE_SHAFT,
        answer="n*z2*z4/(z1*z3)",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake(
                "IDLER", "n*z4/z1", "Second and third gear are two gears on one shaft: their tooth counts do not cancel."
            ),
            NamedMistake(
                "RECIP",
                "n*z1*z3/(z2*z4)",
                "It is the other way round: does the first gear turn faster or slower than the last?",
            ),
            NamedMistake(
                "SIGN",
                "-n*z2*z4/(z1*z3)",
                "The size is right. Two external meshes: which way round is that?",
                says=(Relation.NEGATIVE,),
            ),
        ),
        hints=(
            "Go backward: what speed does the third gear need, so that the last one turns as asked?",
            "The second gear has the third one's speed.",
            "Each external mesh reverses the direction, and there are two.",
        ),
    ),
)
