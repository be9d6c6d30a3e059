"""Rules about the workshop: what park does not do, what a shift felt like, in which order a shift happens.

The texts are our own words on common practice, no source; a learner follows the maker's procedure.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import ONE_PART, AnswerKind, Item
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues

_PARK_QUESTIONS = (
    (
        "A vehicle stands in park on level ground. What is still needed before someone works under it?",
        "chock the wheels, set the parking brake, and put rated stands under it where it is raised",
        (
            "check that the selector is fully in park, switch the engine off, and take the key away",
            "set the parking brake, switch the engine off, and let it down on the jack that raised it",
            "turn each wheel by hand, and go on when park holds every wheel that was tried by hand",
        ),
    ),
    (
        "A vehicle in park shall have one drive wheel raised. What is needed before it is lifted?",
        "chock the wheels that stay on the ground, because park lets a raised wheel and its fellow turn",
        (
            "nothing else, because park holds both drive wheels whether they are raised or on the ground",
            "shift to neutral, because a wheel that is raised in park would strain the pawl and break it",
            "switch the engine off and take the key away, because a wheel turns only while it runs",
        ),
    ),
    (
        "A vehicle stands in park while its propeller shaft is taken out. What is needed before the first bolt is loosened?",
        "chock the wheels, because without the shaft the pawl no longer holds any wheel at all",
        (
            "check that park is fully in, because the pawl now has to hold the wheels without the shaft",
            "turn the output by hand until the pawl drops in, because then both drive wheels are held",
            "set the selector to reverse, because then the gears hold the wheels without the shaft",
        ),
    ),
    (
        "A vehicle in park is to be worked on from below, on a slight slope. What is needed first?",
        "move it to level ground and chock the wheels, because one small pawl must not hold it alone",
        (
            "turn the front wheels to the kerb, because then the pawl has less than half the load to hold",
            "let it roll until the pawl bears hard on its wheel, because then it cannot jump out of park",
            "leave the engine running in park, because then its fluid pressure helps the pawl to hold",
        ),
    ),
)
_GAP = "for a moment neither element held: a gap, felt as a flare"
_BOTH = "for a moment both elements held: an overlap, felt as a tie-up"
_SHIFT_WRONG = (
    "one element took over from the other without gap or overlap",
    "the on-coming element never took hold, and no range drove any more",
)
_SHIFT_QUESTIONS = (
    ("In a 2-3 upshift under power the engine speed jumps up for a moment, then falls to its new value. What happened?", _GAP),
    (
        "In a 2-3 upshift under power the vehicle jerks as if it were braked, the engine is pulled down at once, and third "
        "drives on. What happened?",
        _BOTH,
    ),
    (
        "In a 2-3 upshift the on-coming element was filled too late, while the off-going one was released in time. Third "
        "drives now. What followed?",
        _GAP,
    ),
    (
        "In a 2-3 upshift the off-going element was released too late, while the on-coming one was filled in time. Third "
        "drives now. What followed?",
        _BOTH,
    ),
)
_EVENTS = (
    "the on-coming element is filled until its plates touch",
    "the torque moves over to the on-coming element, still at the old ratio",
    "the engine comes down to the speed of the new ratio",
    "the on-coming element gets full pressure",
)


def _choice(
    item: Item, question: str, right: str, wrong: tuple[str, ...], named: tuple[str, ...], seeded: SeededRandom
) -> BuiltItem:
    choices = Choices(seeded.shuffled((right, *wrong)), letters=True)
    forms = tuple(
        WrongForm(mistake.code, {ONE_PART: text}, mistake.sentence) for mistake in item.named_mistakes for text in named
    )
    part = Part(ONE_PART, "", AnswerKind.CHOICE, "", choices.options, Fraction(item.marks))
    words = {"question": question, "list": labelled(choices.options)}
    return BuiltItem((part,), Key({ONE_PART: ChoiceChecker(choices, right)}, forms), words)


def safety_park(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """What a vehicle in park still needs before someone works under it.

    Args:
        item: the item.
        drawn: the number of the version.
        seeded: the order of the choices.
    """
    question, right, wrong = _PARK_QUESTIONS[int(drawn.values["v"]) - 1]
    return _choice(item, question, right, wrong, wrong, seeded)


def overlap(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Gap or overlap, from what was felt or from what came too late.

    Args:
        item: the item.
        drawn: the number of the version.
        seeded: the order of the choices.
    """
    question, right = _SHIFT_QUESTIONS[int(drawn.values["v"]) - 1]
    other = _BOTH if right == _GAP else _GAP
    return _choice(item, question, right, (other, *_SHIFT_WRONG), (other,), seeded)


def upshift_events(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The events of an upshift under power in their order.

    Args:
        item: the item.
        drawn: not used.
        seeded: the order in which they are listed.
    """
    listed = seeded.shuffled(_EVENTS)
    if listed == _EVENTS:
        return None
    choices = Choices(listed, letters=True)
    fill, torque, inertia, full = _EVENTS
    forms = tuple(
        WrongForm(mistake.code, {ONE_PART: (fill, inertia, torque, full)}, mistake.sentence) for mistake in item.named_mistakes
    )
    part = Part(ONE_PART, "", AnswerKind.ORDERING, "", choices.options, Fraction(item.marks))
    key = Key({ONE_PART: OrderChecker(choices, _EVENTS, item.marks)}, forms)
    return BuiltItem((part,), key, {"list": labelled(choices.options)})


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "safety_park": safety_park,
    "overlap": overlap,
    "upshift_events": upshift_events,
}
