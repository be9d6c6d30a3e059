"""Rules about one set: which way a member turns, which case meets a wish, which reading cannot be, which ratio is larger."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise, permutations

from gearkit.answers.comparison.formulas import work
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import ONE_PART, AnswerKind, Item
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker
from gearkit.answers.read.expression import Pair
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.words.say import later, say

Case = tuple[str, str, str]
Sizes = dict[str, int]

DIRECTIONS = ("forward", "reverse", later("standing still"))
_TURNS = {
    "backward": "reverse",
    "stopped": later("standing still"),
    "still": later("standing still"),
    "stationary": later("standing still"),
}
MEMBERS = ("sun", "carrier", "ring")
_WAYS = Choices(DIRECTIONS, aliases=_TURNS)
_WHICH = Choices(MEMBERS, aliases={"planet carrier": "carrier", "annulus": "ring"})
_CASES = tuple(permutations(MEMBERS, 2))


def _case_words() -> dict[tuple[str, str], str]:
    return {case: say("{member} in, {held} held", member=case[0], held=case[1]) for case in _CASES}


_OUT = {case: next(member for member in MEMBERS if member not in case) for case in _CASES}
_GOALS: tuple[tuple[str, Case], ...] = (
    (later("the strongest forward reduction"), ("sun", "ring", "carrier")),
    (later("the milder forward reduction"), ("ring", "sun", "carrier")),
    (later("the milder overdrive"), ("carrier", "sun", "ring")),
    (later("the strongest overdrive"), ("carrier", "ring", "sun")),
    (later("a reverse that is a reduction"), ("sun", "carrier", "ring")),
    (later("a reverse that is an overdrive"), ("ring", "carrier", "sun")),
)


def direction(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which way a member turns: the sign of the item's formula.

    Args:
        item: its answer and named mistakes are formulas whose sign counts.
        drawn: what was drawn.
        seeded: not used.
    """

    def way(text: str) -> str:
        turns, _ = work(text)(drawn.pairs)
        return DIRECTIONS[0] if turns > 0 else DIRECTIONS[1] if turns < 0 else DIRECTIONS[2]

    right = way(str(item.answer))
    checker = ChoiceChecker(_WAYS, right)
    forms = [WrongForm(named.code, {ONE_PART: way(str(named.wrong))}, named.sentence) for named in item.named_mistakes]
    return BuiltItem(
        (Part(ONE_PART, "", AnswerKind.DIRECTION, "", DIRECTIONS, Fraction(item.marks)),),
        Key({ONE_PART: checker}, tuple(form for form in forms if form.contents[ONE_PART] != right)),
    )


def member_goal(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which members to drive and hold for a wanted kind of ratio.

    Args:
        item: the item.
        drawn: S, R and the number of the goal.
        seeded: not used.
    """
    return _reached(item, int(drawn.values["goal"]))


@lru_cache(maxsize=64)
def _reached(item: Item, number: int) -> BuiltItem:
    goal, case = _GOALS[number - 1]
    swap = {"sun": "ring", "ring": "sun", "carrier": "carrier"}
    wrong = {"SWAP": tuple(swap[member] for member in case), "RECIP": (case[2], case[1], case[0])}
    names = ("drive", "hold", "driven")
    sentences = {named.code: named.sentence for named in item.named_mistakes}
    # Both sentences speak of two members, so both have to be the changed ones.
    forms = tuple(
        WrongForm(
            code,
            {name: member for name, member, right in zip(names, members, case, strict=True) if member != right},
            sentences[code],
            together=True,
        )
        for code, members in wrong.items()
    )
    parts = tuple(
        Part(name, label, AnswerKind.CHOICE, "", MEMBERS)
        for name, label in zip(names, (say("Driving member"), say("Held member"), say("Driven member (output)")), strict=True)
    )
    checkers = {name: ChoiceChecker(_WHICH, member) for name, member in zip(names, case, strict=True)}
    return BuiltItem(parts, Key(checkers, forms), {"goal": goal})


def order_six(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The six ratios of a set in order of size, smallest first.

    Args:
        item: the item.
        drawn: S and R.
        seeded: for the order in which the cases are listed.
    """
    sun, ring = _whole(drawn)
    listed = tuple(_case_words()[case] for case in seeded.shuffled(_CASES))
    sizes, swapped = _sizes(sun, ring), _sizes(ring, sun)
    # Two ratios nearer than 3 % would make the order a matter of arithmetic luck.
    if not _well_spaced(sizes) or not _well_spaced(swapped):
        return None
    choices = Choices(listed, letters=True)
    checker = OrderChecker(choices, tuple(sorted(sizes, key=sizes.__getitem__)), item.marks)
    wrong = tuple(sorted(swapped, key=swapped.__getitem__))
    forms = tuple(WrongForm(named.code, {ONE_PART: wrong}, named.sentence) for named in item.named_mistakes)
    return BuiltItem(
        (Part(ONE_PART, "", AnswerKind.ORDERING, "", choices.options, Fraction(item.marks)),),
        Key({ONE_PART: checker}, forms),
        {"list": labelled(choices.options)},
    )


def _whole(drawn: DrawnValues) -> Pair:
    """Return sun and ring teeth; where only their quotient counts they can be taken as whole."""
    (sun, by_sun), (ring, by_ring) = drawn.pairs["S"], drawn.pairs["R"]
    return sun * by_ring, ring * by_sun


def _sizes(sun: int, ring: int) -> Sizes:
    """Return the sizes of the six ratios, all over sun * ring * carrier: out/drive is then out * out * hold."""
    teeth = {"sun": sun, "ring": ring, "carrier": sun + ring}
    return {words: teeth[_OUT[case]] ** 2 * teeth[case[1]] for case, words in _case_words().items()}


def _well_spaced(sizes: Sizes) -> bool:
    return all(100 * large > 103 * small for small, large in pairwise(sorted(sizes.values())))


def impossible_reading(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which of three readings of sun, carrier and ring speed cannot be.

    Args:
        item: the item.
        drawn: S, R and the amount by which one ring speed is off.
        seeded: for the speeds and the place of the wrong reading.
    """
    sun, ring = _whole(drawn)
    bad = seeded.below(3)
    lines = []
    with_minus: list[Fraction] = []
    for number in range(3):
        w_sun = -1500 + 100 * seeded.below(41)
        w_carrier = -800 + 50 * seeded.below(33)
        if w_sun == w_carrier:
            return None
        exact = Fraction((sun + ring) * w_carrier - sun * w_sun, ring)
        w_ring = round(exact) + (drawn.values["err"] if number == bad else 0)
        with_minus.append(abs(Fraction(sun * (w_sun - w_carrier) - ring * (w_ring - w_carrier))))
        lines.append(
            say(
                "sun {w_sun}, carrier {w_carrier}, ring {w_ring} r/min",
                w_sun=_signed(w_sun),
                w_carrier=_signed(w_carrier),
                w_ring=_signed(w_ring),
            )
        )
    if len(set(lines)) < 3:
        return None
    most = with_minus.index(max(with_minus))
    choices = Choices(tuple(lines), letters=True)
    checker = ChoiceChecker(choices, lines[bad])
    # With a minus between the brackets no line gives nothing; the one that gives most is taken for the wrong one.
    named = item.named_mistakes[0]
    forms = (WrongForm(named.code, {ONE_PART: lines[most]}, named.sentence),) if most != bad else ()
    return BuiltItem(
        (Part(ONE_PART, "", AnswerKind.CHOICE, "", choices.options, Fraction(item.marks)),),
        Key({ONE_PART: checker}, forms),
        {"list": labelled(choices.options)},
    )


def _signed(number: Fraction | int) -> str:
    return str(number).replace("-", "\u2212")


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "direction": direction,
    "member_goal": member_goal,
    "order_six": order_six,
    "impossible_reading": impossible_reading,
}
