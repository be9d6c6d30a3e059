"""Answers in words: how options are named, what a selection or an order earns, and what is said to a word that fits none."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.judge.checkers import Pattern, Reading
from gearkit.answers.judge.claims import Relation
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker, SeveralChecker
from gearkit.words.errors import AnswerError

MEMBERS = Choices(("sun", "carrier", "ring"), aliases={"annulus": "ring"})
ELEMENTS = Choices(tuple("ABCDE"))
RANGES = Choices(("1", "1L", "2", "3", "R"))
LISTED = Choices(("it flares", "it ties up", "it slips"), letters=True)


@pytest.mark.parametrize(
    ("choices", "text", "option"),
    [
        (MEMBERS, "sun", "sun"),
        (MEMBERS, "Sun ", "sun"),
        (MEMBERS, "S", "sun"),
        (MEMBERS, "car", "carrier"),
        (MEMBERS, "annulus", "ring"),
        (RANGES, "1", "1"),
        (RANGES, "1l", "1L"),
        (RANGES, "r", "R"),
        (LISTED, "b", "it ties up"),
        (LISTED, "(b)", "it ties up"),
        (LISTED, "It ties-up", "it ties up"),
        (LISTED, "it f", "it flares"),
    ],
)
def test_an_option_is_found_by_word_beginning_letter_or_other_name(choices: Choices, text: str, option: str) -> None:
    assert choices.find(text) == option


@pytest.mark.parametrize("text", ["wheel", "it", "d", ""])
def test_a_word_that_fits_no_option_or_several_is_refused(text: str) -> None:
    with pytest.raises(AnswerError, match=r"is not one of the choices\. Choose from: \(a\) it flares, \(b\) it ties up"):
        LISTED.find(text)


@pytest.mark.parametrize("text", ["A, C", "AC", "a c", "C and A", "A;C", "A/C", "A + C"])
def test_a_selection_may_be_written_in_many_ways(text: str) -> None:
    checker = SeveralChecker(ELEMENTS, (frozenset("AC"),), scoring="all")
    assert checker.judge(checker.read(text)).right
    assert checker.read(text).read_as == "A, C"


def test_a_selection_of_ranges_keeps_1_and_1l_apart() -> None:
    checker = SeveralChecker(RANGES, (frozenset({"1L", "2"}),))
    assert checker.judge(checker.read("1L, 2")).right
    assert not checker.judge(checker.read("1, 2")).right
    assert checker.judge(checker.read("1L 2")).right


def test_none_is_an_answer_and_nothing_is_not() -> None:
    checker = SeveralChecker(ELEMENTS, (frozenset(),))
    assert checker.judge(checker.read("none")).right
    with pytest.raises(AnswerError, match="Nothing is chosen"):
        checker.read(",")


@pytest.mark.parametrize(
    ("text", "share"), [("A, B", 1), ("A", "1/2"), ("A, B, C", "1/2"), ("A, C", 0), ("C, D", 0), ("none", 0)]
)
def test_each_right_tick_earns_a_share_and_each_wrong_one_costs_one(text: str, share: int | str) -> None:
    checker = SeveralChecker(ELEMENTS, (frozenset("AB"),))
    assert checker.judge(checker.read(text)).share == Fraction(share)


def test_a_selection_may_keep_a_share_for_a_clean_row() -> None:
    checker = SeveralChecker(ELEMENTS, (frozenset("AB"),), clean=Fraction(1, 6))
    assert checker.judge(checker.read("AB")).share == 1
    assert checker.judge(checker.read("A")).share == Fraction(5, 6) * Fraction(1, 2)


@pytest.mark.parametrize("right", ["A", "AB", "ABC", "ABCD", "BCDE"])
def test_ticking_everything_earns_nothing_and_a_wrong_tick_never_pays(right: str) -> None:
    checker = SeveralChecker(ELEMENTS, (frozenset(right),))
    options = frozenset(ELEMENTS.options)
    assert checker.judge(Reading("", options)).share == 0
    for size in range(len(options)):
        for ticked in map(frozenset, combinations(sorted(options), size)):
            share = checker.judge(Reading("", ticked)).share
            assert 0 <= share <= 1
            for more in options - ticked - frozenset(right):
                assert checker.judge(Reading("", ticked | {more})).share <= max(0, share - Fraction(1, len(right)))


def test_every_item_with_several_right_choices_gives_nothing_for_ticking_all_of_them() -> None:
    asked = 0
    for item in items.all_items():
        for number in range(5):
            variant = variants.practice(item, str(number))
            for part in variant.parts:
                checker = variant.key.checkers[part.name]
                if isinstance(checker, SeveralChecker) and len(checker.accepted[0]) < len(part.options):
                    asked += 1
                    assert checker.judge(checker.read(", ".join(part.options))).share == 0, item.id
    assert asked >= 5 * 4


def test_another_right_selection_is_right_with_a_remark() -> None:
    checker = SeveralChecker(ELEMENTS, (frozenset("DE"), frozenset("AD")), scoring="all", other_remark="Also right.")
    assert checker.judge(checker.read("DE")).remark == ""
    assert checker.judge(checker.read("AD")) == checker.judge(checker.read("D, A"))
    assert (checker.judge(checker.read("AD")).share, checker.judge(checker.read("AD")).remark) == (1, "Also right.")
    assert checker.judge(checker.read("BC")).share == 0


@pytest.mark.parametrize(
    ("text", "share"),
    [("A B C D", 1), ("A,B,D,C", "2/3"), ("B A D C", "1/3"), ("D C B A", 0), ("A > B > C > D", 1), ("abcd", 1)],
)
def test_an_order_loses_a_mark_for_each_neighbour_swap_still_needed(text: str, share: int | str) -> None:
    checker = OrderChecker(Choices(tuple("ABCD")), tuple("ABCD"), 3)
    assert checker.judge(checker.read(text)).share == Fraction(share)


def test_an_order_turned_round_is_told_as_such() -> None:
    checker = OrderChecker(Choices(tuple("ABCD")), tuple("ABCD"), 3)
    assert checker.patterns(checker.read("DCBA")) == (Pattern("RECIP", "The whole order is reversed.", Relation.REVERSED),)
    assert checker.patterns(checker.read("ABDC")) == ()


@pytest.mark.parametrize(("text", "words"), [("A, B, C", "D is missing"), ("A, B, C, D, D", "one is named twice")])
def test_an_order_that_is_not_whole_is_refused(text: str, words: str) -> None:
    checker = OrderChecker(Choices(tuple("ABCD")), tuple("ABCD"), 3)
    with pytest.raises(AnswerError, match=words):
        checker.read(text)


def test_a_choice_is_right_or_not() -> None:
    checker = ChoiceChecker(MEMBERS, "ring")
    assert checker.judge(checker.read("R")).right
    assert checker.judge(checker.read("sun")).share == 0
    assert checker.agrees(checker.read("S"), "sun")


WAYS = Choices(("forward", "reverse", "standing still"))
DRIVES = Choices(("reduction", "direct drive", "overdrive", "reverse"))


@pytest.mark.parametrize(
    ("choices", "texts", "option"),
    [
        (WAYS, ("fwd", "same way as the input", "same direction", "in the same direction as the input", "+"), "forward"),
        (WAYS, ("rev", "opposite", "opposite to the input", "against the input", "-", "−", "it is in reverse"), "reverse"),
        (
            WAYS,
            ("stands still", "it stands still", "not moving", "does not turn", "stop", "held", "0", "zero"),
            "standing still",
        ),
        (DRIVES, ("reduce", "underdrive", "red."), "reduction"),
        (DRIVES, ("direct", "1:1", "1 to 1"), "direct drive"),
        (DRIVES, ("OD", "over drive", "step-up"), "overdrive"),
    ],
)
def test_what_the_trade_says_for_a_way_or_a_drive_is_read(choices: Choices, texts: tuple[str, ...], option: str) -> None:
    assert {text: choices.find(text) for text in texts} == dict.fromkeys(texts, option)


@pytest.mark.parametrize("text", ["clockwise", "+-", "moving", "not forward"])
def test_a_word_that_is_no_way_as_the_input_turns_is_asked_for_again(text: str) -> None:
    with pytest.raises(AnswerError, match="Choose from: forward, reverse, standing still"):
        WAYS.find(text)
