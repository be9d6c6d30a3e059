"""The lessons' exercises that ask to judge, to order, to give a reason, to go on or to choose a picture."""

from __future__ import annotations

from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake
from gearkit.words.say import later

_ONE_SET, _Q24, _Q36, _Q48 = Draw(), Draw(layout="Q24"), Draw(layout="Q36"), Draw(layout="Q48")
_CAUTION = later("\n\n*On a real unit follow the maker's procedure and data.*")
_FIND = "EARLIER SOUNDLINE OVERSEEN"


def _named_mistakes(codes: str) -> tuple[NamedMistake, ...]:
    """The mistakes that the rule tells, each in the catalogue's own words."""
    return tuple(NamedMistake(code, "") for code in codes.split())


def _wrong_line(item: str, problem: str, look: str, draw: Draw = _ONE_SET, marks: int = 3) -> Item:
    prompt = later(
        "<problem>\n\nSomebody has worked it out like this:\n\n<lines>\n\nWhich is the first wrong line, or is no line wrong? (Numbers are rounded to four figures. After a wrong line the others go on with its number.)"
    )
    hints = (
        later("Work it out by yourself, line by line, and compare after each line."),
        look,
        later("A line that does the right thing with a wrong number from above is not the first wrong one."),
    )
    return Item(
        id=item,
        kind=AnswerKind.WRONG_LINE,
        marks=marks,
        prompt=prompt,
        hints=hints,
        rule="wrong_line",
        option=problem,
        named_mistakes=_named_mistakes(_FIND),
        draw=draw,
    )


def _order(item: str, problem: str, look: str, draw: Draw = _ONE_SET, marks: int = 3) -> Item:
    prompt = later(
        "<problem>\n\nThese are the steps to the answer, out of order:\n\n<list>\n\nPut them in order, so that each uses only what is given or what a step before it has found. Answer with the letters."
    )
    hints = (
        later("Which step needs nothing but what is given?"),
        look,
        later("Then go on: which step uses what you have just found?"),
    )
    return Item(
        id=item,
        kind=AnswerKind.STEPS,
        marks=marks,
        prompt=prompt,
        hints=hints,
        rule="step_order",
        option=problem,
        named_mistakes=_named_mistakes("BACKWARD"),
        draw=draw,
    )


def _next(item: str, problem: str, look: str, codes: str, draw: Draw = _ONE_SET, marks: int = 2) -> Item:
    prompt = later(
        "<problem>\n\nThe solution begins like this (numbers are rounded to four figures):\n\n<lines>\n\nComplete the last line: which number does it give, with its sign?"
    )
    hints = (
        later("Read the lines that are there: which numbers do they give you?"),
        look,
        later("Put the numbers in and work the line out."),
    )
    return Item(
        id=item,
        kind=AnswerKind.NEXT_LINE,
        marks=marks,
        prompt=prompt,
        hints=hints,
        rule="next_line",
        option=problem,
        named_mistakes=_named_mistakes(codes),
        draw=draw,
    )


def _reason(item: str, about: str, hints: tuple[str, str, str], codes: str, draw: Draw = _ONE_SET, more: str = "") -> Item:
    return Item(
        id=item,
        kind=AnswerKind.REASON,
        marks=2,
        prompt=later("<shown> Which of these is the reason?\n\n<list>") + more,
        hints=hints,
        rule="reason",
        option=about,
        named_mistakes=_named_mistakes(codes),
        draw=draw,
    )


def _picture(item: str, what: str, prompt: str, hints: tuple[str, str, str], codes: str, draw: Draw = _ONE_SET) -> Item:
    return Item(
        id=item,
        kind=AnswerKind.PICTURE,
        marks=2,
        prompt=prompt,
        hints=hints,
        rule="picture",
        option=what,
        named_mistakes=_named_mistakes(codes),
        draw=draw,
    )


_LEVER = later(
    "<shown> Which of these levers shows the speeds? (An arrow to the right is forward, one to the left is reverse; all four are drawn to one scale, in which an arrow of length 1 is {}.)\n\n<list>"
)
_OF_RPM, _OF_THE_INPUT = _LEVER.format("1000 r/min"), _LEVER.format(later("the speed of the input"))
_LEVER_HINTS = (
    later("Does a member stand still? Which members turn forward?"),
    later(
        "The ring stands at the top, the sun at the foot. The carrier stands between them: its distance to the sun is to its distance to the ring as R to S."
    ),
    later("The tips of the three arrows lie on one straight line: look where it crosses the upright lever."),
)
_SET_LINE = later(
    "In each set: do the teeth stand with their own member, are the signs right, is everything that turns put in with its speed?"
)
_TORQUE_LINE = later("Speeds go down where torques go up. From outside three torques act, and they add up to zero.")
_ROAD_LINE = later(
    "Engine, propeller shaft, wheels, metres, kilometres: ask at each step whether the number has to grow or to shrink."
)
_SHIFT_LINE = later("The output keeps its speed in a shift; with the smaller ratio the engine turns slower.")
_SLIP_LINE = later("If the range holds, the input turns as fast as the output times the ratio. Anything more is too fast.")
_EFFICIENCY_LINE = later(
    "The loss makes the torque that is handed on smaller; the sun's and the ring's torque both act on the carrier."
)

ITEMS: tuple[Item, ...] = (
    _wrong_line(
        "L02-21",
        later("third speed"),
        later("Each speed goes with its own teeth; the carrier's goes with sun and ring teeth together."),
    ),
    _next(
        "L02-22",
        later("third speed"),
        later("In the speed equation the terms of sun and ring together make the carrier's term."),
        "SWAP DOUBLE NOONE SIGN",
    ),
    _picture("L02-23", later("two speeds"), _OF_RPM, _LEVER_HINTS, "SWAP SIGN HELDMOVES"),
    _wrong_line(
        "L03-21",
        later("ratio of a case"),
        later("Put the zero into the speed equation by yourself; ask whether the carrier turns."),
    ),
    _order(
        "L03-22", later("ratio of a case"), later("Before any ratio there has to be an equation between two speeds."), marks=2
    ),
    _reason(
        "L03-23",
        "case",
        (
            later("Which member is held, and which one is the carrier?"),
            later("With a turning carrier there is no fixed gear train from sun to ring."),
            later("Ask of each statement first whether it is true here, then whether it explains what is shown."),
        ),
        "HELDMOVES NOTFOLLOW LOCKFREE CARTEETH IDLER",
    ),
    _picture(
        "L03-24",
        "stick",
        later(
            "<shown> (A ratio is input speed over output speed.) Which of these pictures shows the set with that ratio?\n\n<list>"
        ),
        (
            later("Which member is held in the case that has this ratio?"),
            later("Which one is driven: is the ratio above 1 or below?"),
            later("Look in each picture for the brake, then for input and output."),
        ),
        "RECIP HELDMOVES",
    ),
    _wrong_line(
        "L04-21",
        later("gap of planets"),
        later("Look for radius and diameter, for half of the angle, and for the height of the teeth."),
    ),
    _next(
        "L04-22",
        later("gap of planets"),
        later("A sketch helps: two planets, their centres on a circle, their tips."),
        "UNIT SPACE TIP SIGN",
    ),
    _reason(
        "L04-23",
        "assembly",
        (
            later("Three things have to fit: one axis, equal spacing, room between the planets."),
            later("Check R = S + 2P, then (S + R)/N, then the chord between planet centres."),
            later("Only one of the three fails here: work all of them out."),
        ),
        "HALF SPACE TIP NOTFOLLOW",
    ),
    _wrong_line("L05-21", later("ratio set by set"), _SET_LINE, _Q24),
    _order("L05-22", later("ratio set by set"), later("Which set has two members whose speeds you know?"), _Q24),
    _picture("L05-23", "range", _OF_THE_INPUT, _LEVER_HINTS, "SWAP SIGN HELDMOVES", _Q24),
    _wrong_line("L06-21", later("ratio set by set"), _SET_LINE, _Q36, 4),
    _order("L06-22", later("ratio set by set"), later("Which set has two members whose speeds you know?"), _Q48, 3),
    _next(
        "L06-23",
        later("ratio set by set"),
        later("Put the speeds that are known into the equation of the set."),
        "SWAP SIGN DOUBLE HELDMOVES RECIP",
        _Q36,
        3,
    ),
    _picture("L06-24", "range", _OF_THE_INPUT, _LEVER_HINTS, "SWAP SIGN HELDMOVES", _Q36),
    _reason(
        "L07-21",
        "combination",
        (
            later("Count the motions that are left: each element that says something new takes one."),
            later("Do the elements agree about the speeds? Then what may still turn?"),
            later("Ask of each statement whether what is shown would follow from it."),
        ),
        "COUNT LOCKFREE NOTFOLLOW",
        _Q36,
    ),
    _reason(
        "L07-22",
        "set",
        (
            later("Find the three members of the set, and what each of them is joined to."),
            later("What do the applied elements touch?"),
            later("Test each statement on the list of elements and joins: is it true here?"),
        ),
        "HELDMOVES ROLE LOCKFREE",
        _Q36,
    ),
    _wrong_line("L08-21", later("torque of the housing"), _TORQUE_LINE, _Q36),
    _next("L08-22", later("torque of the housing"), _TORQUE_LINE, "TSPEED SIGN REACT RECIP", _Q24),
    _wrong_line("L09-21", later("efficiency of a set"), _EFFICIENCY_LINE),
    _order(
        "L09-22", later("efficiency of a set"), later("What is lost can only be taken off a torque that is known."), marks=4
    ),
    _next("L09-23", later("efficiency of a set"), _EFFICIENCY_LINE, "SWAP RECIP SIGN NOONE"),
    _wrong_line("L10-21", later("road speed"), _ROAD_LINE, _Q36),
    _order("L10-22", later("road speed"), later("What turns first after the transmission?"), _Q24),
    _next("L10-23", later("road speed"), _ROAD_LINE, "RECIP FD HALF UNIT", _Q48),
    _wrong_line("L11-21", "upshift", _SHIFT_LINE, _Q36),
    _order("L11-22", "upshift", later("What do the speeds before and after the shift have in common?"), _Q24),
    _next("L11-23", "upshift", _SHIFT_LINE, "RECIP UPSHIFT SIGN LEFTOUT", _Q48),
    _wrong_line("L12-21", later("how much too fast"), _SLIP_LINE, marks=2),
    _reason(
        "L12-22",
        later("stuck element"),
        (
            later("Write down what is applied in this range, with the fault."),
            later("Is the element one of the range's own?"),
            later("If not: does it ask for other speeds than the range's elements, or for the same?"),
        ),
        "NOTFOLLOW",
        _Q36,
        more=_CAUTION,
    ),
    _next("L12-23", later("how much too fast"), _SLIP_LINE, "RECIP SLIPABS LEFTOUT"),
)
