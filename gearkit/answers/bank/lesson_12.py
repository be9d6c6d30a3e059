"""Lesson 12: fault finding: from readings to the element."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.bank.common import BEFORE, one_of
from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake, Version

_N = AnswerKind.DECIMAL
_MANY = AnswerKind.MULTIPLE_CHOICE
_HALF_UNIT = Tolerance(absolute=Fraction(1, 2))
_CHART = "Application chart of the <name>:\n\n<chart>\n\n"
_Q36_ELEMENT = Draw(layout="Q36", numbers={"el": ("1", "5", "1")})
_Q24_ROWS = Draw(layout="Q24", numbers=one_of(2, 2), later=BEFORE)
_NO_NAMES = "The chart shows six ranges of the <name> without their names:\n\n<chart>\n\n"
_CAUTION = "\n\n*On a real unit follow the maker's procedure and data.*"

ITEMS: tuple[Item, ...] = (
    Item(
        id="L12-01",
        kind=_MANY,
        marks=3,
        prompt=_CHART + "Element <element> does not apply any more. Which ranges are lost? Tick all of them.",
        draw=_Q36_ELEMENT,
        rule="lost_ranges",
        like=("lost",),
        named_mistakes=(
            NamedMistake("ONERANGE", ""),
            NamedMistake("ROLE", "", "You ticked the ranges that do without the element; lost are those that need it."),
        ),
        hints=(
            "Find the element's column in the chart.",
            "A range with a mark in that column needs it.",
            "All others are as before.",
        ),
    ),
    Item(
        id="L12-02",
        kind=AnswerKind.CLASSIFICATION_GRID,
        marks=4,
        prompt=_CHART + "Element <element> is stuck on. What does each commanded range give: the right ratio, a tie-up, "
        "or another ratio?",
        draw=Draw(layout="Q36", numbers={"el": ("1", "5", "1"), **one_of(2, 2)}, later=BEFORE),
        rule="stuck_on",
        like=("stuck-on",),
        # Half of the rows tie up whatever is stuck, so that row by row half of the marks could be guessed.
        versions=(
            Version(
                prompt=_CHART
                + "Element <element> is stuck on. Which commanded ranges still give their right ratio? Tick all of "
                "them. (A wrong tick takes off at least what a right one earns; half of the marks are for a "
                "faultless answer.)",
                rule="unchanged_by_stuck",
                named_mistakes=(
                    NamedMistake(
                        "SLIPTIE",
                        "",
                        "A range that gets a third element which disagrees with its own two does not drive: it ties up.",
                    ),
                    NamedMistake(
                        "CMD", "", "You ticked the ranges whose row does not have the element: there it is the one too many."
                    ),
                ),
            ),
        ),
        named_mistakes=(
            NamedMistake(
                "SLIPTIE", "", "An extra element that disagrees does not give another ratio: what happens to the train?"
            ),
            NamedMistake("COUNT", "", "Three elements are applied there, but do they say different things?"),
        ),
        hints=(
            "Add the element to each row of the chart.",
            "If it was in the row already, nothing changes.",
            "If it disagrees with the other two, nothing can turn.",
        ),
    ),
    Item(
        id="L12-03",
        kind=AnswerKind.DIAGNOSIS,
        marks=5,
        prompt=_CHART + "Range <commanded> is commanded. The sensors read <n> r/min at the input and <o> r/min at the "
        "output. In which range does the train really run, which element is missing, and which one is "
        "applied in its place?" + _CAUTION,
        draw=Draw(layout="Q36", numbers={"n": ("1200", "3000", "100")}),
        rule="actual_range",
        like=("really-runs",),
        named_mistakes=(
            NamedMistake("CMD", "", "That is the range that was commanded. What do the two sensors say?"),
            NamedMistake("RECIP", "", "You divided output by input; the chart's ratios are input over output."),
        ),
        hints=(
            "Divide the input speed by the output speed.",
            "Find that ratio among the ranges of your Q36 (within one percent).",
            "Compare its row with the commanded one.",
        ),
    ),
    Item(
        id="L12-04",
        kind=_N,
        marks=3,
        prompt="A range with ratio <i> is commanded. The input turns at <n> r/min, the output at <o> r/min. By how much does "
        "the input turn too fast, in percent of its speed?",
        draw=Draw(
            numbers={"i": ("0.7", "4.0", "0.1"), "n": ("1200", "3000", "50"), "s": ("4", "25", "1")},
            shown={"o": ("n*(1 - s/100)/i", 1)},
            hidden=("s",),
            keep=("abs(i - 1) > 0.05",),
        ),
        answer="100*(n - i*o)/n",
        tolerance=_HALF_UNIT,
        unit="percent",
        named_mistakes=(
            NamedMistake(
                "RECIP", "100*(n - i*o)/(i*o)", "You took the share of the output's side; asked for is that of the input."
            ),
            NamedMistake(
                "SLIPABS", "n - i*o", "That is how much too fast it is in r/min; asked for is its share of the input speed."
            ),
            NamedMistake("CMD", "0", "If the range held, the input would turn at ratio times output: do the readings say so?"),
        ),
        hints=(
            "If the range held, the input would turn at i times the output speed.",
            "Take that from the speed at which it really turns.",
            "Divide by the input speed, times 100.",
        ),
    ),
    Item(
        id="L12-05",
        kind=_MANY,
        marks=3,
        prompt=_CHART + "The one-way clutch F does not hold any more. Which ranges still work under drive? Tick all of them.",
        draw=_Q24_ROWS,
        rule="one_way_fails",
        like=("one-way-fails", "F"),
        named_mistakes=(
            NamedMistake("ONERANGE", "", "First and manual first are not the same row: what holds carrier 1 in each of them?"),
            NamedMistake("OWC", "", "In second F overruns; is it needed there?"),
        ),
        versions=(
            Version(
                prompt=_NO_NAMES
                + "The one-way clutch F does not hold any more. Which rows still work under drive? Tick all of "
                "them. (A wrong tick takes off at least what a right one earns; half of the marks are for a "
                "faultless answer.)",
                rule="rows_without_one_way",
                named_mistakes=(
                    NamedMistake("ONERANGE", "", "One more row works: what holds carrier 1 there besides F?"),
                    NamedMistake("OWC", "", "You left out rows in which F overruns; is it needed there?"),
                ),
            ),
        ),
        hints=(
            "Where is F the only one that holds carrier 1?",
            "Where another element holds carrier 1, it does F's work.",
            "Where F overruns it is not needed.",
        ),
    ),
    Item(
        id="L12-06",
        kind=_MANY,
        marks=3,
        prompt=_CHART + "After a rebuild the one-way clutch F of your Q24 sits the wrong way round. Which ranges bind? "
        "Tick all of them." + _CAUTION,
        draw=_Q24_ROWS,
        rule="one_way_reversed",
        like=("one-way-turned", "F"),
        named_mistakes=(
            NamedMistake("OWC", "", "In first F only fails to hold. Where does carrier 1 have to turn forward?"),
            NamedMistake("ONERANGE", "", "Carrier 1 turns forward in more than one range."),
        ),
        versions=(
            Version(
                prompt=_NO_NAMES
                + "After a rebuild the one-way clutch F of your Q24 sits the wrong way round. Which rows bind? "
                "Tick all of them. (A wrong tick takes off at least what a right one earns; half of the marks "
                "are for a faultless answer.)" + _CAUTION,
                rule="rows_with_reversed_one_way",
                named_mistakes=(
                    NamedMistake(
                        "OWC", "", "Where F has to hold, it only fails to hold. Where does carrier 1 have to turn forward?"
                    ),
                    NamedMistake("ONERANGE", "", "Carrier 1 turns forward in more than one row."),
                ),
            ),
        ),
        hints=(
            "The wrong way round F stops carrier 1 from turning forward.",
            "Find the ranges in which carrier 1 turns forward.",
            "Those bind; in first it does not hold, which is another complaint.",
        ),
    ),
    Item(
        id="L12-07",
        kind=AnswerKind.DIAGNOSIS,
        marks=6,
        prompt=_CHART + "One element of this Q48 is faulty. These are the readings:\n\n<readings>\n\nWhich element is it, "
        "and is it stuck off or stuck on?" + _CAUTION,
        draw=Draw(layout="Q48", numbers={"el": ("1", "6", "1"), "mode": ("0", "1", "1")}),
        rule="single_fault",
        like=("faulty",),
        named_mistakes=(
            NamedMistake("CMD", "", "Try your suspect against every row: at least one of them refutes it."),
            NamedMistake(
                "SLIPTIE",
                "",
                "The element fits, the way it fails does not: read the bad rows again. Do they run free, or do they bind?",
            ),
        ),
        hints=(
            "List what could explain the first bad row.",
            "Cross out every suspect that would spoil a good row.",
            "Try what is left against all rows, stuck off and stuck on.",
        ),
    ),
    Item(
        id="L12-08",
        kind=_N,
        marks=3,
        prompt="In every range the ratio worked out from the two sensors is <p> percent too high. The data sheet gives "
        "the tone wheel at the output <z> teeth. How many teeth were probably entered in the module?",
        # Only draws in which whole teeth were entered; other readings would have no such cause.
        draw=Draw(numbers={"z": ("20", "60", "1"), "p": ("5", "30", "5")}, keep=("floor(z*p/100) == z*p/100",)),
        answer="z*(1 + p/100)",
        tolerance=_HALF_UNIT,
        unit="teeth",
        named_mistakes=(
            NamedMistake("RECIP", "z/(1 + p/100)", "With how many teeth entered does the output look slower than it is?"),
            NamedMistake("DIFF", "z*(1 - p/100)", "Teeth and reading are in proportion, and it goes the other way."),
            NamedMistake("CMD", "z", "With the right number entered the ratios would read right."),
        ),
        hints=(
            "No clutch causes the same factor in every range.",
            "Output speed = pulses per minute over teeth entered.",
            "A ratio too high means an output speed too low: too many teeth.",
        ),
    ),
    Item(
        id="L12-09",
        kind=AnswerKind.CHOICE,
        marks=3,
        prompt=_CHART + "The complaint: <complaint>. One element is faulty; the suspects are <suspects>. You may command "
        "one range and see whether it is right, runs free or binds. Which of these tests splits the "
        "suspects most evenly?\n\n<list>",
        draw=Draw(
            layout="Q48", numbers={"el": ("1", "6", "1"), "mode": ("0", "1", "1"), "rows": ("1", "1", "1")}, later={"rows": "0"}
        ),
        rule="best_test",
        like=("next-test",),
        named_mistakes=(NamedMistake("CMD", "", "You know that answer already: all suspects give the same there."),),
        hints=(
            "For each test sort the suspects by what they would show.",
            "Count how many fall into each group.",
            "Best is the test whose largest group is smallest.",
        ),
    ),
    Item(
        id="L12-10",
        kind=_N,
        marks=3,
        prompt=_CHART + "Brake B is stuck on. With the input at <n> r/min, range <rg> is commanded. How fast does the output "
        "turn (r/min) once all three elements hold and none of them slips?",
        draw=Draw(
            layout="Q36",
            numbers={"n": ("800", "2000", "100"), "rg": ("2", "4", "1"), "rows": ("1", "8", "1"), **one_of(2, 2)},
            later={"rows": "0", **BEFORE},
        ),
        rule="stuck_brake_speed",
        like=("stuck-on", "B"),
        unit="r/min",
        named_mistakes=(
            NamedMistake("CMD", "", "You used the commanded ratio, but three elements are on."),
            NamedMistake("SLIPTIE", "", "Nothing turns one to one here: do the three elements agree?"),
        ),
        versions=(
            Version(
                prompt=_CHART
                + "Brake B is stuck on. With the input at <n> r/min, range <range> is commanded. How fast does the "
                "output turn (r/min, with its sign), once everything that is on holds and nothing slips?",
                named_mistakes=(
                    NamedMistake("CMD", "", "You used the commanded ratio, but three elements are on."),
                    NamedMistake(
                        "SLIPTIE", "", "Brake B belongs to this range anyway: does it change anything that it is stuck?"
                    ),
                    NamedMistake(
                        "LOCKFREE", "", "Nothing turns one to one here: what do the elements that are on say about the speeds?"
                    ),
                ),
            ),
        ),
        hints=(
            "Write down all elements that are on: those of the range, and B.",
            "Is B one of the range's own? If not, do the three agree about the speeds?",
            "If they disagree, what can still turn?",
        ),
    ),
)
