"""Invented learners for the diagnosis: sheets of real exercises with real draws, and what people write on them.

Ideas that can be thought through are answered by `minds`, which shares nothing with the kit's tables; the others take
their wrong answers from the bank. Mistakes without a system are made here, by changing texts and numbers.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from gearkit.answers.beliefs.foreseen import foreseen
from gearkit.answers.beliefs.known import belief
from gearkit.answers.draw_numbers.variants import Variant, draw
from gearkit.answers.item import Item
from gearkit.answers.items import all_items, find
from gearkit.answers.judge import marking
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.words.errors import GearkitError
from tests.support import minds

WINDOWS = ((1, 4), (2, 5), (3, 6), (5, 8), (6, 9), (8, 11), (10, 12), (1, 13))
Texts = dict[str, str]


def exercises(low: int, high: int) -> list[Item]:
    """The exercises of some lessons that have one answer."""
    return [item for item in all_items() if low <= item.lesson <= high and not item.constraints]


def sheet(seeded: random.Random, length: int, window: tuple[int, int]) -> list[str]:
    """A sheet of so many exercises, chosen at random."""
    return sorted(seeded.sample([item.id for item in exercises(*window)], length))


@lru_cache(maxsize=40_000)
def variant_of(item: str, learner: str) -> Variant:
    """A learner's numbers for an exercise in its first version, about which alone ideas say something.

    A few hundred invented learners share them.
    """
    asked = (
        draw(find(item), secret=b"invented learners", sheet=f"diagnosis{'+' * tries}", learner=learner) for tries in range(99)
    )
    return next(one for one in asked if one.item.rule or one.drawn.values.get("version", 1) == 1)


def variants(items: Sequence[str], seeded: random.Random, people: int = 60) -> list[Variant]:
    """Somebody's numbers for a sheet."""
    learner = str(seeded.randrange(people))
    return [variant_of(item, learner) for item in items]


def is_right(variant: Variant, texts: Mapping[str, str]) -> bool:
    """Whether a whole answer earns full marks."""
    return bool(marking.mark(variant, texts).verdict == "right")


def written(variant: Variant, part: str, content: object, seeded: random.Random) -> str:
    """A wrong content as a learner writes it: a decimal of three to five figures, or a fraction now and then."""
    checker = variant.key.checkers[part]
    if isinstance(checker, NumberChecker) and isinstance(content, Fraction):
        if content.denominator == 1 and abs(content) < 10**6:
            text = str(content)
        elif checker.kind.value == "exact ratio" and seeded.random() < 0.4 and content.denominator < 10**6:
            return str(content)
        else:
            text = f"{float(content):.{seeded.choice((3, 4, 4, 5))}g}"
        if "e" in text:
            text = f"{float(content):.6f}"
        return f"{text} {checker.unit}" if checker.unit in ("r/min", "N·m") and seeded.random() < 0.5 else text
    return content if isinstance(content, str) and isinstance(checker, FormulaChecker) else checker.wrong_text(content)


def exact(variant: Variant, part: str, content: object) -> str:
    """A wrong content written out in full."""
    return (
        content
        if isinstance(content, str) and isinstance(variant.key.checkers[part], FormulaChecker)
        else variant.key.checkers[part].wrong_text(content)
    )


def thought(idea: str, variant: Variant, way: float) -> dict[str, object] | None:
    """What somebody with an idea answers, part by part; None where it makes no difference."""
    if idea in minds.WEIGHING or idea in minds.TURNED:
        return _thought_through(idea, variant)
    answers = foreseen(variant).get(belief(idea), ())
    return dict(answers[int(way * len(answers))]) if answers else None


def _thought_through(idea: str, variant: Variant) -> dict[str, object] | None:
    found = minds.thought_through(idea, variant) or {}
    wrong: dict[str, object] = {}
    for part, content in found.items():
        checker = variant.key.checkers[part]
        reading = checker.read(content if isinstance(content, str) else checker.wrong_text(content))
        if not checker.judge(reading).right:
            wrong[part] = content
    return wrong or None


def with_idea(variant: Variant, contents: Mapping[str, object], seeded: random.Random) -> Texts:
    """The right answer with the parts of an idea in it."""
    texts = marking.right_answer(variant)
    return {**texts, **{part: written(variant, part, content, seeded) for part, content in contents.items()}}


def by_named_mistake(variant: Variant, seeded: random.Random) -> Texts:
    """A wrong answer that the bank has a name for, any of them; another mistake where it has none."""
    forms = [form for form in variant.key.wrong_forms if form.contents]
    if not forms:
        return careless(variant, seeded)
    form = seeded.choice(forms)
    return with_idea(variant, form.contents, seeded)


def careless(variant: Variant, seeded: random.Random) -> Texts:
    """A mistake without a system in one part, or now and then in two."""
    texts = marking.right_answer(variant)
    parts = seeded.sample(variant.parts, min(len(variant.parts), seeded.choice((1, 1, 1, 2))))
    for part in parts:
        for _ in range(20):
            texts[part.name] = _spoilt(variant, part.name, part.options, texts[part.name], seeded)
            checker = variant.key.checkers[part.name]
            try:
                if not checker.judge(checker.read(texts[part.name])).right:
                    break
            except GearkitError:
                break
    return texts


def _spoilt(variant: Variant, part: str, options: Sequence[str], text: str, seeded: random.Random) -> str:
    checker = variant.key.checkers[part]
    if isinstance(checker, NumberChecker):
        return f"{float(_spoilt_number(checker.value, variant, seeded)):.4g}"
    if options and "," not in text:
        return seeded.choice(options)
    if isinstance(checker, FormulaChecker):
        return _spoilt_formula(text, checker.symbols, seeded)
    pieces = [piece.strip() for piece in text.split(",")]
    if len(pieces) > 1 and seeded.random() < 0.6:
        place = seeded.randrange(len(pieces) - 1)
        pieces[place], pieces[place + 1] = pieces[place + 1], pieces[place]
    else:
        pieces.pop(seeded.randrange(len(pieces)))
    return ", ".join(pieces) or "none"


def _spoilt_number(value: Fraction, variant: Variant, seeded: random.Random) -> Fraction:
    if variant.parts[0].kind.value == "integer":
        return value + seeded.choice((-3, -2, -1, -1, 1, 1, 2, 3))
    drawn = [number for number in variant.drawn.values.values() if number]
    way = seeded.random()
    if way < 0.2:
        return -value
    if way < 0.3:
        return 1 / value if value else Fraction(1)
    if way < 0.4:
        return value * seeded.choice((Fraction(2), Fraction(1, 2), Fraction(10), Fraction(1, 10)))
    if way < 0.5:
        return value + seeded.choice((-1, 1))
    if way < 0.7 and len(drawn) > 1:
        # One number of the question read for another.
        first, second = seeded.sample(drawn, 2)
        return value * first / second
    return value * (1 + Fraction(seeded.randint(3, 60) * seeded.choice((-1, 1)), 100))


def _spoilt_formula(text: str, symbols: Sequence[str], seeded: random.Random) -> str:
    ways: list[Callable[[], str]] = [
        lambda: f"-({text})",
        lambda: f"2*({text})",
        lambda: f"({text})/2",
        lambda: f"({text}) - 1",
        lambda: f"({text}) + 1",
        lambda: f"1/({text})",
    ]
    if len(symbols) > 1:
        first, second = seeded.sample(list(symbols), 2)
        ways += [lambda: f"({text})*{first}/{second}", lambda: f"({text}) + {first}"] * 2
    return seeded.choice(ways)()


@dataclass(frozen=True)
class Kind:
    """A kind of learner.

    Args:
        careless: share of exercises that go wrong without a system.
        applied: how often an idea is applied where it comes in.
        named: of the other slips the share that the bank has a name for.
    """

    careless: float
    applied: float = 0.8
    named: float = 0.3


def hands_in(
    sheet: Sequence[Variant], ideas: Sequence[str], kind: Kind, seeded: random.Random
) -> tuple[list[Texts], dict[str, int]]:
    """What a learner hands in, and on how many exercises each of his ideas came in."""
    way = {idea: seeded.random() for idea in ideas}
    touched = dict.fromkeys(ideas, 0)
    answers: list[Texts] = []
    for variant in sheet:
        mine = {idea: contents for idea in ideas if (contents := thought(idea, variant, way[idea]))}
        for idea in mine:
            touched[idea] += 1
        if seeded.random() < kind.careless:
            answers.append(by_named_mistake(variant, seeded) if seeded.random() < kind.named else careless(variant, seeded))
        elif mine and seeded.random() < kind.applied:
            answers.append(with_idea(variant, next(iter(mine.values())), seeded))
        else:
            answers.append(marking.right_answer(variant))
    return answers, touched
