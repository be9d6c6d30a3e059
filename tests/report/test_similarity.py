"""Similarity of submissions: planted copies are found, honest mistakes and small answer spaces are not."""

from __future__ import annotations

import random

import pytest

from gearkit.answers.judge import marking
from graders.book.record import ItemMark, LearnerMarks, MarkSheet
from graders.mark import batch
from graders.report import gather
from graders.report.figures import similarity
from tests.graders.classroom import Classroom, call, right

ITEMS = ("L02-02", "L03-02", "L06-03", "L06-05")


def right_value(item: str, learner: str) -> int:
    """Each learner's own right answer, as the demo draws would give it."""
    return 1000 + random.Random(f"{item} {learner}").randrange(100_000)


def found_in(marks: MarkSheet, countable: tuple[str, ...] = ITEMS) -> tuple[similarity.Similarity, ...]:
    def right_for(item: str, given: dict[str, str]) -> list[str]:
        value = int(given["answer"])
        return [one.learner for one in marks.learners if right_value(item, one.learner) == value]

    return similarity.find(marks, right_for, countable)


def answered(learner: str, values: dict[str, int], mistakes: tuple[str, ...] = ()) -> LearnerMarks:
    marks = []
    for item in ITEMS:
        value = values.get(item, right_value(item, learner))
        right = value == right_value(item, learner)
        marks.append(
            ItemMark(item, float(right), 1.0, "right" if right else "wrong", () if right else mistakes, "",
                     {"answer": str(value)}, {"answer": str(value)}, "read", "")
        )  # fmt: skip
    return LearnerMarks(learner, learner, "day", sum(m.score for m in marks), 4.0, tuple(marks))


def sheet(*learners: LearnerMarks) -> MarkSheet:
    return MarkSheet("sheet1", len(learners), len(learners), (), learners)


def test_two_answers_right_for_somebody_else_are_found():
    copied = {item: right_value(item, "ann") for item in ITEMS[:2]}
    found = found_in(sheet(answered("ann", {}), answered("bob", copied), answered("cy", {})))
    assert [(pair.learner, pair.other, pair.items) for pair in found] == [("bob", "ann", ITEMS[:2])]
    # Three learners make 6 ordered pairs; twice 0.008.
    assert found[0].expected_by_chance == 6 * 0.008**2
    assert found[0].score >= similarity.LOWEST_SCORE


def test_one_match_alone_is_not_reported():
    copied = {ITEMS[0]: right_value(ITEMS[0], "ann")}
    assert found_in(sheet(answered("ann", {}), answered("bob", copied))) == ()


def test_named_mistakes_do_not_count():
    copied = {item: right_value(item, "ann") for item in ITEMS[:2]}
    marked = sheet(answered("ann", {}), answered("bob", copied, mistakes=("SIGN",)))
    assert found_in(marked) == ()


def test_items_with_few_possible_answers_do_not_count():
    copied = {item: right_value(item, "ann") for item in ITEMS[:2]}
    assert found_in(sheet(answered("ann", {}), answered("bob", copied)), ITEMS[1:]) == ()


def test_long_equal_wrong_texts_on_two_items_are_found_once():
    odd = {item: 123456789012345 + n for n, item in enumerate(ITEMS[:2])}
    found = found_in(sheet(answered("ann", odd), answered("bob", odd)))
    assert [(pair.learner, pair.other, pair.kind) for pair in found] == [("ann", "bob", "same unusual text")]


def test_a_hundred_honest_classes_bring_no_pair():
    drawn = random.Random(7)
    found = 0
    for n in range(100):
        people = []
        for person in range(20):
            name = f"class {n} learner {person}"
            wrong = {item: drawn.randrange(1000, 101_000) for item in ITEMS if drawn.random() < 0.4}
            people.append(answered(name, wrong))
        found += len(found_in(sheet(*people)))
    assert found == 0


SPEEDS = ("L02-02", "L03-07")
NOTATIONS = {
    "plain": lambda value: f"{float(value):.2f}",
    "mixed number": lambda value: f"{'-' if value < 0 else ''}{abs(value) // 1} {abs(value) % 1}" if value % 1 else str(value),
    "decimal comma": lambda value: f"{float(value):.2f}".replace(".", ","),
    "letter in front": lambda value: f"n = {float(value):.2f} rpm",
    "in words": lambda value: f"{float(abs(value)):.2f} r/min {'in reverse' if value < 0 else 'forward'}",
    "working shown": lambda value: f"{value.numerator}/{value.denominator} = {float(value):.2f}",
    "per second": lambda value: f"{float(value / 60):.5f} rev/s",
}


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    return Classroom(tmp_path_factory.mktemp("similarity"), ",".join(SPEEDS))


@pytest.mark.parametrize("notation", NOTATIONS)
def test_a_neighbours_numbers_are_found_in_every_notation_that_is_marked(room: Classroom, notation: str) -> None:
    value_of = {name: variant.key.checkers["answer"].value for name, variant in room.variants("s1").items()}
    texts = {name: NOTATIONS[notation](value) for name, value in value_of.items()}
    assert all(
        marking.mark(variant, {"answer": texts[name]}).verdict == "right" for name, variant in room.variants("s1").items()
    )
    found = alike(room, texts)
    assert [(pair.learner, pair.other, pair.items) for pair in found] == [("s2", "s1", SPEEDS)]


def test_a_formula_in_letters_is_everybodys_own_and_nobodys_copy(room: Classroom) -> None:
    assert alike(room, {"L02-02": "((S+R)*nc-S*ns)/R", "L03-07": "-ns*S/R"}) == ()


def alike(room: Classroom, texts: dict[str, str]) -> tuple[similarity.Similarity, ...]:
    """Where s2 hands in these texts."""
    room.hand_in("s1", room.copy("s1", right))
    room.hand_in("s2", room.copy("s2", lambda variant: call(variant.item.id, {"answer": texts[variant.item.id]})))
    return gather.alike(room.course, room.sheet, batch.mark_sheet(room.course, room.sheet, workers=1))
