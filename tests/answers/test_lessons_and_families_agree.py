"""Nothing that is asked about a layout exists twice: a lesson's exercise is an instance of a family, and has the family's answer."""

from __future__ import annotations

import ast
import json
import re
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.answers.bank import all_lessons
from gearkit.answers.comparison.formulas import pairs_of, work
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.families import built_item, known
from gearkit.answers.item import ONE_PART, Draw, Item
from gearkit.answers.items import all_items, find
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.layouts import own_teeth
from gearkit.answers.layouts.train import train_of
from gearkit.answers.reasoning import rules as reasoning
from gearkit.answers.rules import DrawnValues
from gearkit.answers.rules.trains import driving_ranges
from gearkit.train import catalogue

TEXTS = {name: catalogue.dumps(catalogue.find(name)) for name in ("Q24", "Q36", "Q48")}
ABOUT_LAYOUTS = [item for item in all_items() if item.draw.layout]
BY_FORMULA = [item for item in ABOUT_LAYOUTS if item.like and not item.rule]
# A family's question is put with its own drawn numbers; these are 1 where a lesson says what is multiplied.
TIMES = {"n": "input speed", "T": "input torque"}


def parts_of(item: Item) -> dict[str, tuple[str, ...]]:
    return {ONE_PART: item.like} if isinstance(item.like, tuple) else dict(item.like)


@pytest.mark.parametrize("item", [item.id for item in BY_FORMULA])
def test_a_lessons_exercise_has_the_answer_of_the_family_of_which_it_is_an_instance(item: str) -> None:
    for number in range(5):
        ours = variants.practice(find(item), f"alike {number}")
        factor = ours.values[ours.item.times] if ours.item.times else Fraction(1)
        for part, (family, *about) in parts_of(ours.item).items():
            theirs = asked_with(family, about, ours)
            given = factor if ours.item.times in TIMES else Fraction(1)
            assert abs(value_of(ours.key.checkers[part])) * given == abs(value_of(theirs[ONE_PART])) * factor, (number, part)


def asked_with(family: str, about: list[str], ours: Variant) -> dict[str, object]:
    """The checkers of a family's question with the tooth counts and numbers of a lesson's."""
    text = TEXTS[find(ours.item.id).draw.layout]
    offered = [
        one.item for one in known(own_teeth.layout_in(text)) if one.family == family and json.loads(one.item.option) == about
    ]
    # Direct drive and the members that a family leaves out, because nobody has to work them out, can be asked all the same.
    item = (
        offered[0]
        if offered
        else Item(
            "",
            ours.item.kind,
            1,
            "",
            ("", "", ""),
            draw=Draw(train=text),
            rule=family,
            option=json.dumps(about),
            size_only=True,
        )
    )
    numbers = {letter: ours.values[letter] for letter in TIMES if letter in ours.values}
    values = {**own_teeth.letters(text, ours.drawn.teeth), **numbers}
    drawn = DrawnValues(values, pairs_of(values), values, "", ours.drawn.teeth, (), text)
    built = built_item(item, drawn, SeededRandom(b"alike"))
    assert built is not None
    return dict(built.key.checkers)


def value_of(checker: object) -> Fraction:
    assert isinstance(checker, NumberChecker)
    return checker.value


# A learner's own tooth counts are judged in it, for which no family could have an answer.
DESIGNED = {"L13-02"}
ANSWERS = Path("gearkit/answers")


@pytest.mark.parametrize("item", [item.id for item in ABOUT_LAYOUTS])
def test_every_exercise_of_a_lesson_about_a_layout_names_its_family(item: str) -> None:
    families = {offer.family for text in TEXTS.values() for offer in known(own_teeth.layout_in(text))}
    for question in find(item).questions:
        if question.rule in reasoning.RULES:
            # Such a problem is one piece of code that lessons and the families of `families/judging` ask.
            continue
        if item not in DESIGNED:
            named = {like[0] for like in parts_of(question).values()}
            assert named, item
            assert named <= families, item


def imports_of(module: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(module.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def test_what_is_so_of_a_layout_is_worked_out_in_the_families_alone() -> None:
    # Rows of a chart and verdicts on combinations as tables of the solver; what they mean for a question is a family's.
    tables = {"trains.py": {"gearkit.solve.mobility", "gearkit.solve.ratios"}}
    for module in (*(ANSWERS / "rules").glob("*.py"), *(ANSWERS / "bank").rglob("*.py")):
        solved = {name for name in imports_of(module) if name.startswith(("gearkit.solve", "gearkit.explain"))}
        about_one_set = {name for name in solved if ".teeth" in name or ".exact" in name}
        assert solved - about_one_set <= tables.get(module.name, set()), module
    for module in (ANSWERS / "families" / "in_lessons").glob("*.py"):
        solved = {name for name in imports_of(module) if name.startswith(("gearkit.solve", "gearkit.explain"))}
        verdicts = {"gearkit.solve.mobility", "gearkit.solve.ratios", "gearkit.solve.mobility.Mobility"}
        assert solved <= (verdicts if module.stem in ("charts", "first_sheets") else set()), module


def test_rows_that_drive_are_the_same_by_tables_and_by_the_families_train() -> None:
    for name, text in TEXTS.items():
        rows = driving_ranges(name)
        train = train_of(text, tuple(own_teeth.AS_GIVEN for _ in own_teeth.layout_in(text).sets))
        assert [(row.name, row.engaged, row.ratio) for row in rows] == [
            (row.name, frozenset(row.engaged), row.ratio) for row in train.drives
        ]


def test_a_wrong_form_that_follows_from_the_answer_is_not_typed() -> None:
    typed = []
    for item in (item for lesson in all_lessons() for item in lesson):
        if not isinstance(item.like, tuple) or not item.like or item.rule or not item.named_mistakes:
            continue
        pairs = variants.practice(find(item.id)).drawn.pairs
        right = Fraction(*work(str(find(item.id).answer))(pairs))
        for named in item.named_mistakes:
            if isinstance(named.wrong, str) and "<" not in named.wrong:
                wrong = Fraction(*work(named.wrong)(pairs))
                typed += [(item.id, named.code)] if wrong and wrong in (-right, 1 / right) else []
    assert typed == []


def test_no_wrong_form_of_an_exercise_about_a_layout_is_typed_in_tooth_counts() -> None:
    """Each is taken from a family, from one set alone or from the answer, so that it stays right where the layout changes."""
    typed = []
    for item in (item for lesson in all_lessons() for item in lesson):
        for question in item.questions:
            if question.like and not question.rule:
                wrongs = [named.wrong for named in question.named_mistakes]
                texts = [text for wrong in wrongs for text in ([wrong] if isinstance(wrong, str) else wrong.values())]
                typed += [(item.id, text) for text in texts if re.search(r"\b[SRP]\d", re.sub(r"<[^>]*>", "", text))]
    assert typed == []
