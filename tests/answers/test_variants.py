"""Each learner's numbers: the same for ever, different from the neighbour's, and hidden from who has no secret."""

from __future__ import annotations

import hashlib
import hmac
import subprocess
import sys
from collections.abc import Iterable
from fractions import Fraction
from itertools import pairwise

import pytest

from gearkit.answers import items
from gearkit.answers.comparison.formulas import condition, pairs_of, value
from gearkit.answers.draw_numbers import pool, variants
from gearkit.answers.draw_numbers.drawn_values import round_half_up
from gearkit.answers.draw_numbers.seeded_random import SeededRandom, seed_of
from gearkit.answers.draw_numbers.variants import shown_exactly
from gearkit.answers.judge import marking
from gearkit.answers.reasoning import lessons
from gearkit.words.errors import UsageError

SECRET = b"a course secret"
# Told by the kit before drawing was made cheaper. It changes only with what the bank draws, its answers and its slips, not
# with the words of a question: then look at what differs and raise the kit's version. Sheets that are out keep their draws.
HANDED_OUT = "8166039c406d3ae8acc8593b6bd3dbe04a6363ca5ee43efc8c01d41c5721b3b5"
# The same for lessons 14 and 15, which came later.
HANDED_OUT_SEVERAL = "665ac3017d8c233d07723c53476a9da655d554ab7f5f8bbcf2d89a551b21a42e"
# Came later, so that every misconception shows on three items.
FOR_IDEAS = (
    "L01-10",
    "L01-11",
    "L02-09",
    "L02-10",
    "L04-11",
    "L04-12",
    "L04-13",
    "L05-11",
    "L09-10",
    "L09-11",
    "L10-10",
    "L10-11",
    "L11-10",
    "L11-11",
)
# And what asks to judge a solution, to give a reason or to choose a picture.
FOR_JUDGING = tuple(item.id for item in lessons.ITEMS)
HANDED_OUT_FOR_JUDGING = "2aabf6e151a8f7ff811ef12415e5df8fc592eacd6a8859563644784957a6120b"
HANDED_OUT_FOR_IDEAS = "51b7ac000db845405b1d487539eed4dbe593f69bf6cb65cb735cb63accf47fc7"


def drawn(item: str = "L06-05", learner: str = "F-017", attempt: int = 1, secret: bytes = SECRET) -> variants.Variant:
    return variants.draw(items.find(item), secret=secret, sheet="week-05", learner=learner, attempt=attempt)


def test_the_same_learner_gets_the_same_numbers_for_ever() -> None:
    assert drawn() == drawn()
    assert drawn().prompt == drawn().prompt


def test_a_version_of_the_kit_draws_what_it_drew_when_it_came_out() -> None:
    assert (
        told_of(item for item in items.all_items() if item.lesson < 14 and item.id not in (*FOR_IDEAS, *FOR_JUDGING))
        == HANDED_OUT
    )
    assert told_of(item for item in items.all_items() if item.lesson >= 14) == HANDED_OUT_SEVERAL
    assert told_of(map(items.find, FOR_IDEAS)) == HANDED_OUT_FOR_IDEAS
    assert told_of(lessons.ITEMS) == HANDED_OUT_FOR_JUDGING


def told_of(found: Iterable[items.Item]) -> str:
    told = hashlib.sha256()
    for item in found:
        for learner in ("F-017", "F-018", "F-019"):
            variant = drawn(item.id, learner)
            wrong = [marking.wrong_texts(variant, form) for form in variant.key.wrong_forms]
            told.update(repr((sorted(variant.drawn.values.items()), marking.right_answer(variant), wrong)).encode())
    return told.hexdigest()


def test_another_learner_attempt_or_secret_gives_other_numbers() -> None:
    first = drawn().values
    assert drawn(learner="F-018").values != first
    assert drawn(attempt=2).values != first
    assert drawn(secret=b"another secret").values != first


def test_a_retake_asks_what_the_first_sheet_did_not_wherever_there_is_another_question() -> None:
    repeated = set()
    for item in items.all_items():
        for number in range(15):
            learner = f"learner {number}"
            first = variants.draw(item, secret=SECRET, sheet="A1", learner=learner)
            again = variants.draw(item, secret=SECRET, sheet="A1-retake", learner=learner, unlike="A1")
            plain = variants.draw(item, secret=SECRET, sheet="A1-retake", learner=learner)
            if again.asks_the_same_as(first):
                repeated.add(item.id)
            elif not plain.asks_the_same_as(first):
                assert again == plain
    by_chance = {
        item.id
        for item in items.all_items()
        if len({variants.practice(item, f"one of {number}").prompt for number in range(15)}) > 1
    }
    assert len(by_chance) > 80
    assert not repeated & by_chance


def test_a_name_typed_with_a_combined_accent_is_the_same_learner() -> None:
    assert drawn(learner="Zoe\u0301") == drawn(learner="Zo\u00e9")


def test_most_of_a_class_have_numbers_of_their_own() -> None:
    prompts = {drawn(learner=f"learner {number}").prompt for number in range(200)}
    assert len(prompts) >= 199


def test_an_empty_secret_is_refused() -> None:
    with pytest.raises(UsageError, match="The course secret is empty"):
        drawn(secret=b"")


def test_a_seed_is_the_hmac_of_its_fields_with_their_lengths() -> None:
    message = b"".join(len(raw).to_bytes(8, "big") + raw for raw in (b"sheet", b"learner"))
    assert seed_of(SECRET, "sheet", "learner") == hmac.new(SECRET, message, hashlib.sha256).digest()
    assert seed_of(SECRET, "ab", "c") != seed_of(SECRET, "a", "bc")


def test_dice_follow_sha256_over_seed_and_counter_and_nothing_else() -> None:
    block = hashlib.sha256(b"seed" + (0).to_bytes(8, "big")).digest()
    words = [int.from_bytes(block[place : place + 4], "big") for place in range(0, 32, 4)]
    seeded = SeededRandom(b"seed")
    assert [seeded.below(1000) for _ in words] == [word % 1000 for word in words]


def test_dice_favour_nothing() -> None:
    seeded = SeededRandom(b"fair")
    counts = [0] * 6
    for _ in range(6000):
        counts[seeded.below(6)] += 1
    assert all(850 < count < 1150 for count in counts)
    assert sorted(seeded.shuffled(range(10))) == list(range(10))
    assert len(set(seeded.sample(range(10), 4))) == 4


def test_a_variant_does_not_depend_on_the_hash_seed_of_python() -> None:
    script = (
        "from gearkit.answers import items; from gearkit.answers.draw_numbers import variants\n"
        "for name in ('L06-01', 'L07-03', 'L12-07', 'L03-09', 'L11-05'):\n"
        "    print(variants.practice(items.find(name)).prompt)\n"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", script],
            capture_output=True,
            text=True,
            check=True,
            timeout=60,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ".", "PYTHONIOENCODING": "utf-8"},
        ).stdout
        for seed in ("0", "1", "4242")
    }
    assert len(outputs) == 1
    assert "Q36" in outputs.pop()


def test_marking_loads_neither_sympy_nor_numpy() -> None:
    script = (
        "import sys\n"
        "from gearkit.answers import items; from gearkit.answers.judge import marking; from gearkit.answers.draw_numbers import variants\n"
        "for item in items.all_items():\n"
        "    variant = variants.practice(item)\n"
        "    marking.mark(variant, marking.right_answer(variant))\n"
        "print(sorted({'sympy', 'numpy', 'matplotlib', 'ipywidgets'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "[]"


def test_every_set_of_the_pool_can_be_put_together() -> None:
    from gearkit.solve.teeth.assembly import assembly

    assert len(pool.pool()) > 500
    for teeth in pool.pool():
        fits = assembly(teeth.sun, teeth.planet, teeth.ring, teeth.planets)
        assert (fits.coaxial, fits.equal_spacing, fits.neighbours) == (True, True, True), teeth


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_a_drawn_layout_is_a_sensible_transmission(name: str) -> None:
    from gearkit.solve import mobility

    for number in range(20):
        layout = pool.with_teeth(name, pool.sane_teeth(name, SeededRandom(f"sane {number}".encode())))
        forward = [mobility.assess(layout, one.engaged).ratio for one in layout.ranges if one.name.isdigit()]
        reverse = mobility.assess(layout, layout.engaged_in("R")).ratio
        assert None not in forward
        steps = [low / high for low, high in pairwise(forward)]
        assert all(Fraction("1.08") <= step <= Fraction("2.2") for step in steps)
        assert 2 <= forward[0] <= 6
        assert reverse is not None
        assert Fraction(-9, 2) <= reverse <= Fraction(-3, 2)


def test_conditions_of_a_draw_hold_for_every_variant() -> None:
    for item in items.all_items():
        for number in range(8):
            variant = variants.practice(item, f"keep {number}")
            assert all(condition(text).holds(pairs_of(variant.drawn.values)) for text in item.draw.keep)


def test_wrong_answers_keep_their_distance_from_the_right_one() -> None:
    for item in items.all_items():
        if not isinstance(item.answer, str) or not item.answer or item.rule or item.kind == "symbolic expression":
            continue
        for number in range(8):
            variant = variants.practice(item, f"apart {number}")
            right = value(item.answer, variant.key.values)
            for mistake in item.named_mistakes:
                wrong = value(str(mistake.wrong), variant.key.values)
                assert abs(wrong - right) > max(abs(wrong), abs(right)) / 100, (item.id, mistake.code)
                assert abs(wrong - right) > 2 * item.tolerance.around(right) or item.tolerance.relative, (item.id, mistake.code)


def test_shown_numbers_are_rounded_and_marking_uses_what_was_shown() -> None:
    variant = variants.practice(items.find("L10-01"))
    assert (variant.values["b"] * 1000).denominator == 1
    assert set(variant.values) == {"a", "b"}
    assert Fraction(marking.right_answer(variant)["answer"]) == pytest.approx(
        float(variant.values["a"] / variant.values["b"]), rel=1e-5
    )


def test_numbers_are_shown_as_people_write_them() -> None:
    assert [shown_exactly(Fraction(text)) for text in ("3", "-3", "7/2", "-0.25", "1/3")] == [
        "3",
        "−3",
        "3.5",
        "−0.25",
        "0.333333",
    ]
    assert round_half_up(Fraction(25, 10), 0) == 3
    assert round_half_up(Fraction(-25, 10), 0) == -3
    assert round_half_up(Fraction(1, 3), 3) == Fraction(333, 1000)


def test_an_unknown_item_or_lesson_is_told_in_words() -> None:
    with pytest.raises(UsageError, match=r"There is no item 'L99-01'\. Items are named like L03-02"):
        items.find("L99-01")
    with pytest.raises(UsageError, match=r"There are no items for lesson 16\. Lessons are 1 to 15"):
        items.of_lesson(16)
    assert items.find(" l03-02 ").id == "L03-02"
    assert [item.id for item in items.of_lesson(3)] == [f"L03-{number:02d}" for number in (*range(1, 10), *range(21, 25))]


def test_the_bank_has_the_whole_course() -> None:
    assert len(items.all_items()) == 190
    assert sum(item.marks for item in items.all_items()) == 597
    assert {item.lesson for item in items.all_items()} == set(range(1, 16))


def test_the_answer_cell_names_every_part() -> None:
    assert variants.practice(items.find("L03-02")).answer_cell() == 'answer("L03-02", "")'
    assert 'S_R_C="",' in variants.practice(items.find("L03-01")).answer_cell()
