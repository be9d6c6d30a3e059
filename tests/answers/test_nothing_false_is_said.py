"""Whatever is answered, right, wrong, in part, not at all or mixed: each thing that the feedback says of it is true."""

from __future__ import annotations

import ast
import random
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.judge.claims import Claim, Relation, Said
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import OrderChecker, SeveralChecker
from gearkit.answers.mistakes import mistake
from tests.answers.before import drawn_before
from tests.answers.claims import NEAR, PHRASES, POINTS, ClaimChecker, Play, formula_at
from tests.support.amounts import SHORT

ALL = items.all_items()
# 1,700 answers to each of 152 items are 258,400.
VARIANTS, PLAYS = (2, 25) if SHORT else (20, 85)
SENTENCES = [
    node.value
    for module in Path(items.__file__).parent.rglob("*.py")
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
    if isinstance(node, ast.Constant) and isinstance(node.value, str)
]
NONSENSE = ("?!", "9" * 500, "((((", "3 ?? 4")


@pytest.mark.parametrize("phrase", PHRASES)
def test_a_phrase_that_needs_a_claim_is_one_that_is_said(phrase: str) -> None:
    assert any(phrase in sentence for sentence in SENTENCES), f"nothing says {phrase!r} any more: which words stand for it now?"


def follows_in_the_table(part: str, given: dict[str, Any], variant: Variant) -> bool:
    values = variant.values
    if part == "ring_still":
        return False
    if part in ("sun", "planet"):
        return near(given[part], values["nc"] + given[f"{part}_still"])
    turned = -values["R"] / values["S"] if part == "sun_still" else values["R"] / values["P"]
    return near(given[part], given["ring_still"] * turned)


def near(first: Fraction, second: Fraction) -> bool:
    return abs(first - second) <= max(abs(second) * NEAR, Fraction(1, 2))


def follows_in_a_set(part: str, given: dict[str, Any], variant: Variant) -> bool:
    other = {"C_R_S": "S_R_C", "C_S_R": "R_S_C", "R_C_S": "S_C_R"}[part]
    # Two figures may have been written of each.
    return abs(given[part] * given[other] - 1) <= 3 * NEAR


def follows_in_sizes(part: str, given: dict[str, Any], variant: Variant) -> bool:
    module = variant.values["m"]
    if part == "a":
        return near(given["a"] * 2, given["dS"] + given["dP"])
    return near(given[part], given["dR"] + module * (Fraction(5, 2) if part == "rootR" else -2))


def follows_in_letters(part: str, given: dict[str, Any], variant: Variant) -> bool:
    letter = next(letter for letter in ("T", "M") if letter in variant.item.symbols)
    return all(sum(formula_at(given[name], at) for name in variant.key.checkers) + at[letter] == 0 for at in POINTS)


def follows_in_steps(part: str, given: dict[str, Any], variant: Variant) -> bool:
    order = given["order"]
    return (given["falling"] == "yes") == (list(order) == sorted(order))


def follows_in_the_chart(part: str, given: dict[str, Any], variant: Variant) -> bool:
    lines = [line for line in variant.prompt.splitlines() if line.startswith("|")]
    head, _, *below = [[cell.strip() for cell in line.strip("| ").split("|")] for line in lines]
    rows = {cells[0]: {element for element, mark in zip(head, cells, strict=True) if mark in ("●", "(●)")} for cells in below}
    commanded = rows[variant.words["commanded"]]
    actual = rows[given["actual"]]
    return {given[part]} == (commanded - actual if part == "missing" else actual - commanded)


FOLLOWS = {
    "L02-03": follows_in_the_table,
    "L03-01": follows_in_a_set,
    "L13-04": follows_in_sizes,
    "L08-01": follows_in_letters,
    "L10-04": follows_in_steps,
    "L12-03": follows_in_the_chart,
    "X12-REALLY-RUNS": follows_in_the_chart,
}


def written(number: Fraction, seeded: random.Random) -> Play:
    if (seeded.random() < 0.5 or number.denominator == 1) and len(str(number)) < 16:
        return Play(str(number), number)
    text = f"{float(number):.{seeded.choice((2, 4, 6))}f}"
    return Play(text, Fraction(text))


def a_number(checker: NumberChecker, contents: list[Any], seeded: random.Random) -> Play:
    right = checker.value
    if seeded.random() < 0.25:
        text = checker.right_text()
        return Play(text, Fraction(text.split()[0]))
    wrong = [
        -right,
        right + 1,
        right - 1,
        right * 2,
        right / 2,
        right * 1000,
        right / 1000,
        right * 60,
        Fraction(0),
        Fraction(1),
        Fraction(seeded.randint(-3000, 3000), seeded.randint(1, 40)),
        *contents,
    ]
    if right:
        wrong += [1 / right, -1 / right]
    number = seeded.choice(wrong)
    # Between right and plainly wrong lies what may be called either; it is played in the tests of tolerance.
    room = max(abs(right) * 3 * NEAR, 3 * checker.tolerance.absolute)
    found = written(number, seeded)
    if found.means != right and min(abs(found.means - right), abs(abs(found.means) - abs(right)) or room + 1) <= room:
        return written(right + 7 * room + 3, seeded)
    return found


def a_formula(item: Item, part: str, checker: FormulaChecker, contents: list[Any], seeded: random.Random) -> Play:
    right = item.answer if isinstance(item.answer, str) else item.answer[part]
    letter = seeded.choice(checker.symbols)
    text = seeded.choice(
        (
            right,
            right,
            f"-({right})",
            f"1/({right})",
            f"-1/({right})",
            f"({right}) + 1",
            f"({right}) - 1",
            f"2*({right})",
            letter,
            "3",
            f"({right})*{letter}",
            *contents,
        )
    )
    return Play(text, text)


def with_working(play: Play, seeded: random.Random) -> Play:
    """Now and then the answer after an equals sign, what stands before it true or not."""
    if seeded.random() > 0.08 or not play.text:
        return play
    if isinstance(play.means, Fraction):
        before = str(play.means if seeded.random() < 0.5 else play.means + seeded.randint(1, 9))
        return Play(f"{before} = {play.text}", play.means) if len(before) < 16 else play
    return Play(f"{seeded.choice((f'({play.text})*2/2', f'2*({play.text})'))} = {play.text}", play.means)


def play_of(variant: Variant, part: str, seeded: random.Random) -> Play:
    checker: Any = variant.key.checkers[part]
    contents = [form.contents[part] for form in variant.key.wrong_forms if part in form.contents]
    chance = seeded.random()
    if chance < 0.12:
        return Play("")
    if chance < 0.17:
        return Play(seeded.choice(NONSENSE), nonsense=True)
    if isinstance(checker, NumberChecker):
        return with_working(a_number(checker, contents, seeded), seeded)
    if isinstance(checker, FormulaChecker):
        return with_working(a_formula(variant.item, part, checker, contents, seeded), seeded)
    options = list(checker.choices.options)
    if isinstance(checker, SeveralChecker):
        chosen = seeded.choice(
            [*checker.accepted, *contents, frozenset(seeded.sample(options, seeded.randint(1, len(options))))]
        )
        return Play(checker.wrong_text(chosen), frozenset(chosen))
    if isinstance(checker, OrderChecker):
        swapped, place = list(checker.order), seeded.randrange(len(options) - 1)
        swapped[place : place + 2] = swapped[place : place + 2][::-1]
        order = tuple(
            seeded.choice([checker.order, checker.order[::-1], swapped, *contents, seeded.sample(options, len(options))])
        )
        return Play(checker.wrong_text(order), order)
    option = seeded.choice([checker.right, *contents, *options])
    return Play(checker.wrong_text(option), option)


def whole_form(variant: Variant, seeded: random.Random) -> dict[str, Play]:
    """A named mistake in all its parts, the others right or left out."""
    form = seeded.choice(variant.key.wrong_forms)
    plays = {}
    for name, checker in variant.key.checkers.items():
        content = form.contents.get(name)
        if content is None:
            right: Any = checker
            if seeded.random() < 0.3:
                plays[name] = Play("")
            elif isinstance(checker, NumberChecker):
                plays[name] = Play(checker.right_text(), Fraction(checker.right_text().split()[0]))
            elif isinstance(checker, SeveralChecker):
                plays[name] = Play(checker.right_text(), checker.accepted[0])
            else:
                means = right.order if isinstance(checker, OrderChecker) else getattr(right, "right", checker.right_text())
                plays[name] = Play(checker.right_text(), means)
        else:
            text = checker.wrong_text(content)
            plays[name] = Play(text, Fraction(text.split()[0]) if isinstance(checker, NumberChecker) else content)
    return plays


def faults_of(variant: Variant, plays: dict[str, Play]) -> list[str]:
    result = marking.mark(variant, {name: play.text for name, play in plays.items()})
    claim_checker = ClaimChecker(variant, plays, FOLLOWS)
    found = [fault for said in result.said if (fault := claim_checker.fault(said))]
    if not result.said or result.comment != " ".join(dict.fromkeys(said.text for said in result.said)):
        found.append(f"said without claims: {result.comment}")
    return found


@pytest.mark.parametrize("item", ALL, ids=lambda item: item.id)
def test_every_claim_holds_for_every_answer(item: Item) -> None:
    seeded = random.Random(item.id)
    for number in range(VARIANTS):
        variant = drawn_before(item) if item.draw.later and not number else variants.practice(item, f"claims {number}")
        for count in range(PLAYS):
            plays = (
                whole_form(variant, seeded)
                if count % 4 == 0 and variant.key.wrong_forms
                else {name: play_of(variant, name, seeded) for name in variant.key.checkers}
            )
            faults = faults_of(variant, plays)
            assert not faults, (faults, {name: play.text for name, play in plays.items()})


@pytest.mark.parametrize("item", ALL, ids=lambda item: item.id)
def test_what_a_slips_sentence_says_holds_for_the_answer_that_it_predicts(item: Item) -> None:
    for number in range(10):
        variant = variants.practice(item, f"says {number}")
        for form in variant.key.wrong_forms:
            says = mistake(form.code, form.sentence, form.says).says
            for part, content in form.contents.items():
                checker = variant.key.checkers[part]
                for relation in says:
                    play = Play("", content)
                    claim = Claim(part, relation, "1")
                    claim_checker = ClaimChecker(variant, {part: play}, FOLLOWS)
                    assert isinstance(checker, NumberChecker | FormulaChecker), (form.code, "a sentence about a size")
                    assert claim_checker.true(claim), (
                        form.code,
                        part,
                        relation,
                        checker.right_text(),
                        checker.wrong_text(content),
                    )


def test_the_checker_refuses_what_is_false_or_said_without_claims() -> None:
    variant = variants.practice(items.find("L03-02"))
    right = variant.key.checkers["answer"].value
    claim_checker = ClaimChecker(variant, {"answer": Play(str(-right), -right)}, FOLLOWS)
    assert claim_checker.fault(Said("The size is right.", (Claim("answer", Relation.NEGATIVE),))) == ""
    assert "does not hold" in claim_checker.fault(Said("x", (Claim("answer", Relation.UPSIDE_DOWN),)))
    assert "does not hold" in claim_checker.fault(Said("x", (Claim("answer", Relation.RIGHT),)))
    assert "no claims" in claim_checker.fault(Said("Right.", ()))
    assert "without a claim" in claim_checker.fault(Said("The size is right.", (Claim("answer", Relation.WRONG),)))
