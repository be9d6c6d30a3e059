"""What each learner of the demo class hands in, and what that must earn.

The plan is made from a fixed seed and from each learner's own numbers. What an answer must earn follows from how it was
made (the right text of a part earns the part's marks, a named wrong form earns what its untouched parts carry), never
from marking it; so the plan is a check of the marker and not a copy of it.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from gearkit.answers.comparison.formulas import symbols_of, value
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.answers.judge.checkers import Part
from gearkit.words.errors import UsageError

VariantsOf = Callable[[str], Sequence[Variant]]


@dataclass(frozen=True)
class PlannedAnswer:
    """One answer as it will be written, and what it must earn.

    Args:
        item: item id.
        texts: text by part; empty for no answer.
        earns: marks.
        mistake: code of the named mistake that it shows, or "".
        style: how the cell is written: "literal", "bare" (without quotation marks) or "code" (has to be run).
        note: what kind of answer it is, for people.
    """

    item: str
    texts: Mapping[str, str]
    earns: Fraction
    mistake: str = ""
    style: str = "literal"
    note: str = "right"


@dataclass(frozen=True)
class PlannedSubmission:
    """What a learner hands in.

    Args:
        learner: identity.
        answers: the answers in the order of the sheet.
        mishap: name of what is done to the file, from `mishaps`, or "".
        hours_early: hours before the due time; negative when late.
    """

    learner: str
    answers: tuple[PlannedAnswer, ...]
    mishap: str = ""
    hours_early: int = 30

    @property
    def earns(self) -> Fraction:
        """Marks that the answers must earn together."""
        return sum((answer.earns for answer in self.answers), Fraction(0))


def right(variant: Variant, style: str = "literal") -> PlannedAnswer:
    """Return a right answer.

    Args:
        variant: the learner's variant.
        style: how the cell is written.
    """
    full = sum((part.marks for part in variant.parts), Fraction(0))
    return PlannedAnswer(variant.item.id, marking.right_answer(variant), full, style=style)


def blank(variant: Variant) -> PlannedAnswer:
    """Return no answer."""
    return PlannedAnswer(variant.item.id, {}, Fraction(0), note="missing")


def named_mistake(variant: Variant, code: str) -> PlannedAnswer:
    """Return an answer that shows a named mistake.

    Args:
        variant: the learner's variant.
        code: a mistake that the item knows.
    """
    truth = marking.right_answer(variant)
    texts = marking.wrong_answer(variant, code)
    if texts is None:
        raise UsageError(f"Item {variant.item.id} has no wrong answer {code} with these numbers; choose another.")
    earns = sum((_part_earns(variant, part, texts, truth) for part in variant.parts), Fraction(0))
    return PlannedAnswer(variant.item.id, texts, earns, code, note="named mistakes")


def _part_earns(variant: Variant, part: Part, texts: Mapping[str, str], truth: Mapping[str, str]) -> Fraction:
    text = texts[part.name]
    if text == truth[part.name]:
        return part.marks
    # The right size with the wrong sign earns half of the marks; a count has no sign.
    if not part.kind.traits.whole and _turned(text, truth[part.name]):
        return part.marks / 2
    some_right = any(texts[other.name] == truth[other.name] for other in variant.parts)
    return part.marks / 2 if some_right and _follows(variant, part.name, texts) else Fraction(0)


def _turned(text: str, right_one: str) -> bool:
    """Whether a text is the right one with the other sign, perhaps with more figures."""
    if text.lstrip("-") == right_one.lstrip("-"):
        return True
    try:
        mine, theirs = _number(text), _number(right_one)
    except ValueError:
        return False
    return abs(mine + theirs) <= abs(theirs) / 10_000


def _follows(variant: Variant, name: str, texts: Mapping[str, str]) -> bool:
    """Whether a number follows from the learner's own other numbers, as an entry of a table does, without repeating one."""
    rule = variant.item.carry.get(name)
    if rule is None:
        return False
    formula = rule if isinstance(rule, str) else rule[0]
    # The reader of formulas drops an underscore inside a name.
    own = {part: _number(text) for part, text in texts.items()}
    used = {part: number for part, number in own.items() if part.replace("_", "") in symbols_of(formula)}
    wanted = value(formula, {**variant.values, **{part.replace("_", ""): number for part, number in used.items()}})
    repeated = abs(own[name]) in {abs(number) for number in used.values()}
    # Half a percent is allowed for rounding on the way, and half a unit where the number has one.
    allowed = max(abs(wanted) / 200, Fraction(1, 2) if " " in texts[name] else Fraction(0))
    return not repeated and own[name] != 0 and abs(wanted - own[name]) <= allowed


def _number(text: str) -> Fraction:
    return Fraction(text.split()[0])


def half(variant: Variant) -> PlannedAnswer:
    """Return the first half of an item's parts right and the others empty."""
    truth = marking.right_answer(variant)
    kept = variant.parts[: len(variant.parts) // 2]
    earns = sum((part.marks for part in kept), Fraction(0))
    texts = {part.name: truth[part.name] if part in kept else "" for part in variant.parts}
    return PlannedAnswer(variant.item.id, texts, earns, note="partly right")


def unreadable(variant: Variant, text: str) -> PlannedAnswer:
    """Return a text that cannot be read.

    Args:
        variant: the learner's variant.
        text: the text, the same for every part.
    """
    return PlannedAnswer(variant.item.id, {part.name: text for part in variant.parts}, Fraction(0), note="unreadable")


def odd(variant: Variant) -> PlannedAnswer:
    """Return a wrong number that is nobody's slip."""
    truth = Fraction(marking.right_answer(variant)[variant.parts[0].name].split()[0])
    wrong = truth * Fraction(137, 100) + Fraction(11, 100)
    return PlannedAnswer(variant.item.id, {variant.parts[0].name: f"{float(wrong):.4f}"}, Fraction(0), note="odd numbers")


def for_other(own: Variant, other: Variant) -> PlannedAnswer:
    """Return an answer that is right for somebody else's numbers.

    Args:
        own: the learner's variant.
        other: the other learner's variant of the same item.
    """
    texts, truth = marking.right_answer(other), marking.right_answer(own)
    earns = sum((part.marks for part in own.parts if texts[part.name] == truth[part.name]), Fraction(0))
    return PlannedAnswer(own.item.id, texts, earns, note="right for somebody else")


def mistakes_of(variants: Sequence[Variant]) -> list[tuple[int, str]]:
    """Return every (place on the sheet, code) of a named mistake that the sheet's items know."""
    return [
        (place, code)
        for place, variant in enumerate(variants)
        for code in dict.fromkeys(form.code for form in variant.key.wrong_forms)
        if marking.wrong_answer(variant, code) is not None
    ]


@dataclass(frozen=True)
class Cast:
    """Which learner plays which part; the others make mistakes from the list of all named ones.

    Args:
        absent: hand in nothing.
        all_right: hand in a sheet without a fault.
        mishaps: what is done to whose file.
        copier: whose answers to two items fit somebody else's numbers.
        copied: whose numbers they fit.
        forgers: hand in the copied learner's answers throughout.
        coders: work answers out in code, so that their notebooks have to be run.
        late: hand in after the due time.
    """

    absent: tuple[str, ...]
    all_right: tuple[str, ...]
    mishaps: Mapping[str, str]
    copier: str
    copied: str
    forgers: tuple[str, ...]
    coders: tuple[str, ...]
    late: tuple[str, ...]


def make(cast: Cast, learners: Sequence[str], variants_of: VariantsOf, seed: str) -> tuple[PlannedSubmission, ...]:
    """Return the plan of a whole class; who is absent is not in it.

    Args:
        cast: who plays which part.
        learners: identities of the class.
        variants_of: gives a learner's variants in the order of the sheet.
        seed: fixes the plan.
    """
    present = [learner for learner in learners if learner not in cast.absent]
    special = {cast.copier, *cast.forgers, *cast.all_right}
    ordinary = [learner for learner in present if learner not in cast.mishaps and learner not in special]
    queue = mistakes_of(variants_of(present[0]))
    random.Random(f"{seed} mistakes").shuffle(queue)
    shares: dict[str, list[tuple[int, str]]] = {learner: [] for learner in ordinary}
    # Who is asked another version of an item may not be able to make the mistake.
    able = {learner: set(mistakes_of(variants_of(learner))) for learner in ordinary}
    for number, pair in enumerate(queue):
        _give(shares, [learner for learner in ordinary if pair in able[learner]], number, pair)
    plan = []
    for learner in present:
        variants = variants_of(learner)
        drawn = random.Random(f"{seed} {learner}")
        if learner in cast.all_right:
            answers = [right(variant, drawn.choice(("literal", "bare"))) for variant in variants]
        elif learner == cast.copier:
            answers = _copied(variants, variants_of(cast.copied))
        elif learner in cast.forgers:
            answers = [for_other(v, o) for v, o in zip(variants, variants_of(cast.copied), strict=True)]
        elif learner in shares:
            answers = _mixed(variants, shares[learner], drawn, 0.55 + drawn.random() / 4)
        else:
            answers = [right(variants[0]), *_mixed(variants[1:], [], drawn, 0.6 + drawn.random() / 3)]
        if learner in cast.coders:
            answers = [replace(answer, style="code") if answer.note == "right" else answer for answer in answers]
        hours = -20 if learner in cast.late else 12 + 5 * (sum(map(ord, learner)) % 17)
        plan.append(PlannedSubmission(learner, tuple(answers), cast.mishaps.get(learner, ""), hours))
    return tuple(plan)


def _give(shares: dict[str, list[tuple[int, str]]], people: Sequence[str], number: int, pair: tuple[int, str]) -> None:
    """Give a mistake to the next learner who has none on that item yet."""
    for step in range(len(people)):
        mine = shares[people[(number + step) % len(people)]]
        if all(place != pair[0] for place, _ in mine):
            mine.append(pair)
            return


def _mixed(
    variants: Sequence[Variant], mistakes: Sequence[tuple[int, str]], drawn: random.Random, strength: float
) -> list[PlannedAnswer]:
    """Return an ordinary sheet: its share of named mistakes, and the rest right, half done, odd, unreadable or empty."""
    codes = dict(mistakes)
    # People do not slip at random: whoever leaves out the carrier's turn once does it again.
    habit = drawn.choices(("NOONE", "SIGN", "SWAP", "MULT"), (5, 3, 2, 2))[0]
    answers = []
    for place, variant in enumerate(variants):
        if place in codes and marking.wrong_answer(variant, codes[place]) is not None:
            answers.append(named_mistake(variant, codes[place]))
        elif drawn.random() < strength:
            answers.append(right(variant, drawn.choice(("literal", "bare"))))
        elif drawn.random() < 0.6 and marking.wrong_answer(variant, habit) is not None:
            answers.append(named_mistake(variant, habit))
        else:
            answers.append(_less_than_right(variant, drawn.choice(("comma", "words", "odd", "blank"))))
    return answers


def _less_than_right(variant: Variant, way: str) -> PlannedAnswer:
    number = len(variant.parts) == 1 and variant.parts[0].kind.traits.telling
    if len(variant.parts) > 1:
        return half(variant)
    if way == "comma" and number:
        return unreadable(variant, "2,576")
    if way == "words":
        return unreadable(variant, "about three, I think")
    return odd(variant) if way == "odd" and number else blank(variant)


def _copied(own: Sequence[Variant], other: Sequence[Variant]) -> list[PlannedAnswer]:
    """Return a sheet with the other's answers to the two last items that have numbers of their own and one answer."""
    single = [
        place
        for place, variant in enumerate(own)
        if len(variant.parts) == 1
        and variant.parts[0].kind.traits.telling
        and marking.right_answer(variant) != marking.right_answer(other[place])
    ]
    taken = set(single[-2:])
    return [for_other(v, other[n]) if n in taken else right(v) for n, v in enumerate(own)]
