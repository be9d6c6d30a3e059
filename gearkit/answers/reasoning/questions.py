"""What is asked about a worked solution: the first wrong line, the order of its lines, the line that comes next."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import ONE_PART, AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker
from gearkit.answers.reasoning.worked import Line, Problem, differs, exact_values, lines_of, numbered, order_is_settled
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.words.say import later, say

NO_LINE = later("no line is wrong")
# What a mistake does in one line of many; a mistake's own sentence may speak of a whole answer.
_IN_A_LINE = {
    "SIGN": later("A sign in that line is the other way round: are the two added, or is one taken off?"),
    "RECIP": later(
        "That line divides where you multiplied, or multiplies where you divided: should its number be larger or smaller?"
    ),
    "UNIT": later("There is a factor too many or too few in that line: radius or diameter, seconds or minutes?"),
    "HALF": later("Once round a wheel is two pi times its radius."),
    "SWAP": later("Numbers have changed places in that line: which teeth go with which speed, or with which torque?"),
    "NOONE": later("Look whether sun and ring teeth both belong into that line, and whether a whole turn is left out."),
    "LEFTOUT": later("A share of what? Read once more what it is to be a share of."),
    "SLIPABS": later("The output's speed cannot be taken off the input's: the ratio lies between them."),
    "REACT": later("Two torques balance that of the housing, not the load's alone."),
    "SPACE": later(
        "Look at the angle: between two neighbours lies 360° over their number, and in the chord stands the sine of half of it."
    ),
    "DOUBLE": later("Look at the sign of the ring's term: is this a set with single planets, or with planets in pairs?"),
    "UPSHIFT": later(
        "The output keeps its speed: is the engine's speed the output's times the ratio, or the output's divided by it?"
    ),
}
TOLERANCE = Tolerance(relative=Fraction(1, 200))


def wrong_line(problem: Problem, marks: int, seeded: SeededRandom) -> BuiltItem | None:
    """Which line of a solution is the first wrong one, or that none is; None where the problem shows no mistake clearly.

    Args:
        problem: the problem.
        marks: full marks.
        seeded: the line and the mistake.
    """
    right = lines_of(problem)
    places = [place for place, stage in enumerate(problem.stages) if _mistakes(problem, right, place)]
    if len(places) < 2 or len(problem.stages) < 3:
        return None
    place = seeded.pick([*places, -1])
    lines = lines_of(problem, place, seeded.pick(_mistakes(problem, right, place))) if place >= 0 else right
    names = [say("line {number}", number=number) for number in range(1, len(lines) + 1)]
    options = (*names, say(NO_LINE))
    answer = names[place] if place >= 0 else say(NO_LINE)
    aliases = {str(number): name for number, name in enumerate(names, start=1)} | dict.fromkeys(
        ("none", "0", "nothing", "no"), say(NO_LINE)
    )
    forms = [
        WrongForm("EARLIER" if number > place >= 0 else "SOUNDLINE", {ONE_PART: name})
        for number, name in enumerate(names)
        if name != answer
    ]
    forms += [WrongForm("OVERSEEN", {ONE_PART: say(NO_LINE)})] if place >= 0 else []
    part = Part(ONE_PART, "", AnswerKind.WRONG_LINE, "", options, Fraction(marks))
    key = Key({ONE_PART: ChoiceChecker(Choices(options, aliases=aliases), answer)}, tuple(forms))
    return BuiltItem((part,), key, {"problem": problem.given, "lines": numbered(lines)})


def _mistakes(problem: Problem, right: tuple[Line, ...], place: int) -> list[str]:
    """Mistakes in a line that show: its value, and that of the last line, come out otherwise."""
    codes = []
    for code in problem.stages[place].wrong:
        try:
            lines = lines_of(problem, place, code)
        except ZeroDivisionError:
            continue
        if differs(right[place].value, lines[place].value) and differs(right[-1].value, lines[-1].value) and lines[-1].value:
            codes.append(code)
    return codes


def step_order(problem: Problem, marks: int, seeded: SeededRandom) -> BuiltItem | None:
    """The lines of a solution, told without numbers, in their order; None where they could come in another one too.

    Args:
        problem: the problem.
        marks: full marks.
        seeded: the order in which they are listed.
    """
    steps = tuple(stage.does for stage in problem.stages)
    if not order_is_settled(problem) or len(steps) < 3:
        return None
    listed = seeded.shuffled(steps)
    if listed == steps:
        return None
    choices = Choices(listed, letters=True)
    # The one who starts from what is asked and goes back to what is given.
    forms = (WrongForm("BACKWARD", {ONE_PART: steps[::-1]}),)
    part = Part(ONE_PART, "", AnswerKind.STEPS, "", choices.options, Fraction(marks))
    # Half of the ways to put three steps are one swap from the right one: there only the right one counts.
    key = Key({ONE_PART: OrderChecker(choices, steps, marks if len(steps) > 3 else 1)}, forms)
    return BuiltItem((part,), key, {"problem": problem.given, "list": labelled(choices.options)})


def next_line(problem: Problem, marks: int, seeded: SeededRandom) -> BuiltItem | None:
    """The value that the next line of a solution gives; None where no mistake in it would show.

    Args:
        problem: the problem.
        marks: full marks.
        seeded: how many lines are shown.
    """
    lines, exact = lines_of(problem), exact_values(problem)
    # Whoever works exactly and whoever goes on with the rounded numbers shall have the same.
    places = [
        place
        for place in range(len(lines))
        if _wrong_values(problem, lines, place) and abs(exact[place] - lines[place].value) * 400 <= abs(exact[place])
    ]
    if not places:
        return None
    place = seeded.pick(places)
    stage, right = problem.stages[place], lines[place].value
    shown = [numbered(lines[:place])] if place else []
    ask = "\n".join((*shown, say("- line {place}: {does}: …", place=place + 1, does=stage.does)))
    checker = NumberChecker(right, AnswerKind.DECIMAL, TOLERANCE, stage.unit)
    forms = tuple(
        WrongForm(code, {ONE_PART: value}, _IN_A_LINE.get(code, ""))
        for code, value in _wrong_values(problem, lines, place).items()
    )
    part = Part(ONE_PART, stage.does, AnswerKind.NEXT_LINE, stage.unit, (), Fraction(marks))
    return BuiltItem((part,), Key({ONE_PART: checker}, forms), {"problem": problem.given, "lines": ask})


def own_lines(problem: Problem, marks: int, count: int) -> BuiltItem | None:
    """The values of the last lines of a worked example, the lines before them shown; None where no mistake in them would show.

    Args:
        problem: the problem.
        marks: full marks.
        count: how many of the last lines are the learner's; at most all of them.
    """
    lines, exact = lines_of(problem), exact_values(problem)
    first = max(0, len(lines) - count)
    own = range(first, len(lines))
    # Whoever works exactly and whoever goes on with the rounded numbers shall have the same.
    if any(not line.value or abs(value - line.value) * 400 > abs(value) for line, value in zip(lines, exact, strict=True)):
        return None
    names = {place: say("line{place}", place=place + 1) for place in own}
    parts = tuple(
        Part(
            names[place],
            say("line {place}", place=place + 1),
            AnswerKind.NEXT_LINE,
            problem.stages[place].unit,
            (),
            Fraction(marks),
        )
        for place in own
    )
    checkers = {
        names[place]: NumberChecker(lines[place].value, AnswerKind.DECIMAL, TOLERANCE, problem.stages[place].unit)
        for place in own
    }
    forms = tuple(
        WrongForm(code, {names[place]: value}, _IN_A_LINE.get(code, ""))
        for place in own
        for code, value in _wrong_values(problem, lines, place).items()
    )
    asked = [say("- line {place}: {does}: …", place=place + 1, does=problem.stages[place].does) for place in own]
    shown = [numbered(lines[:first])] if first else []
    return BuiltItem(parts, Key(checkers, forms), {"problem": problem.given, "lines": "\n".join((*shown, *asked))})


def _wrong_values(problem: Problem, lines: tuple[Line, ...], place: int) -> dict[str, Fraction]:
    values: dict[str, Fraction] = {}
    if not lines[place].value:
        return values
    for code in problem.stages[place].wrong:
        try:
            value = lines_of(problem, place, code)[place].value
        except ZeroDivisionError:
            continue
        if differs(lines[place].value, value):
            values[code] = value
    return values
