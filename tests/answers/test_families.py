"""Families of items over any layout: right answers earn all, blank ones nothing, each mistake has its name and no full marks."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from gearkit.answers import families
from gearkit.answers.comparison.compare import shown
from gearkit.answers.draw_numbers import kept, variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.families import Offer
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.layouts import own_teeth, wrong
from gearkit.answers.layouts.train import Train, train_of
from gearkit.answers.offers import offered
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from graders.sheets import from_layout
from tests.answers.test_nothing_false_is_said import faults_of, play_of, whole_form
from tests.support.amounts import SHORT, amount
from tests.support.random_layouts import random_layout
from tests.support.sane_layouts import has, known, sane

KNOWN = known()
# In its short form one layout of each make: a one-way clutch, sets to be solved together, two suns in one ring, a member held for good.
MARKED = (
    KNOWN
    if not SHORT
    else [
        one
        for one in KNOWN
        if one.file in ("Q24.toml", "bench_set.toml", "pair_two_suns.toml", "six_range_input_set_two_suns.toml")
    ]
)
RANDOM = list(sane(amount(300, 6)))
DRAWS = amount(3, 1)
PLAYS = amount(20, 4)


def test_random_layouts_have_their_share_of_one_way_clutches_double_pinions_and_two_suns() -> None:
    least = {"one-way clutch": Fraction(1, 6), "double pinions": Fraction(1, 6), "two suns": Fraction(1, 10)}
    if not SHORT:
        least = {"one-way clutch": Fraction(1, 4), "double pinions": Fraction(1, 5), "two suns": Fraction(1, 10)}
    for wanted, share in least.items():
        assert sum(has(layout, wanted) for layout in RANDOM) >= share * len(RANDOM), wanted


def named(layout: Layout) -> str:
    return layout.file.removesuffix(".toml") or layout.name


def drawn(layout: Layout) -> list[tuple[Offer, Variant]]:
    return [(offer, variants.practice(offer.item, f"learner {number}")) for offer in offered(layout) for number in range(DRAWS)]


@pytest.mark.parametrize("layout", [*MARKED, *RANDOM], ids=named)
def test_every_item_is_marked_as_its_learners_deserve(layout: Layout) -> None:
    for offer, variant in drawn(layout):
        right = marking.right_answer(variant)
        result = marking.mark(variant, right)
        assert (result.verdict, result.score, result.max) == ("right", offer.marks, offer.marks), (offer.id, right)
        assert marking.mark(variant, dict.fromkeys(right, "")).score == 0
        if len(right) > 1:
            partial = marking.mark(
                variant, {name: text if place % 2 else "" for place, (name, text) in enumerate(right.items())}
            )
            assert 0 < partial.score < offer.marks, offer.id
        for form in variant.key.wrong_forms:
            wrong = marking.mark(variant, marking.wrong_texts(variant, form))
            assert wrong.score < wrong.max, (offer.id, form)
            assert form.code in {named.code for named in wrong.mistakes}, (offer.id, form, wrong.comment)


@pytest.mark.parametrize("layout", MARKED, ids=named)
def test_ids_are_told_apart_and_every_item_says_what_it_is(layout: Layout) -> None:
    offers = offered(layout)
    assert max(Counter(offer.id for offer in offers).values()) == 1
    assert max(Counter(offer.title for offer in offers).values()) == 1
    for offer in offers:
        assert offer.id == offer.id.upper() == offer.item.id
        assert len(offer.item.hints) == 3
        assert all(hint.endswith((".", "?")) and "<" not in hint for hint in offer.item.hints), offer.id
        variant = variants.practice(offer.item)
        assert "<" not in variant.question.replace(" < ", ""), (offer.id, variant.question)


def test_items_of_one_sheet_share_their_tooth_counts_and_another_learner_has_others() -> None:
    items = [offer.item for offer in offered(catalogue.find("Q36"))]
    teeth = {
        learner: {
            variants.draw(item, secret=b"s" * 32, sheet="A1", learner=learner, beside=items).drawn.teeth for item in items
        }
        for learner in ("ann", "ben")
    }
    assert [len(found) for found in teeth.values()] == [1, 1]
    assert teeth["ann"] != teeth["ben"]


@pytest.mark.parametrize("name", ["Q24", "pair_two_suns"])
def test_what_is_kept_of_a_draw_gives_the_same_variant_again(name: str) -> None:
    for offer, variant in drawn(next(one for one in KNOWN if name in one.file)):
        again = kept.variant_of(offer.item, kept.kept(variant))
        assert (again.prompt, again.parts) == (variant.prompt, variant.parts)
        assert marking.right_answer(again) == marking.right_answer(variant)


@pytest.mark.parametrize(
    "layout", [one for one in KNOWN if one.file in ("Q24.toml", "Q36.toml", "pair_two_suns.toml")], ids=named
)
def test_nothing_false_is_said_of_any_answer(layout: Layout) -> None:
    seeded = random.Random(layout.name)
    for offer, variant in drawn(layout):
        for count in range(PLAYS):
            plays = (
                whole_form(variant, seeded)
                if count % 3 == 0 and variant.key.wrong_forms
                else {name: play_of(variant, name, seeded) for name in variant.key.checkers}
            )
            faults = faults_of(variant, plays)
            assert not faults, (offer.id, faults, {name: play.text for name, play in plays.items()})


@pytest.mark.parametrize(
    ("name", "least"),
    [("Q24", 40), ("four_range_two_suns_one_ring", 40), ("Q48", 90), ("eight_range_four_sets_five_elements", 90)],
)
def test_there_is_enough_to_ask_of_a_layout(name: str, least: int) -> None:
    offers = offered(next(one for one in KNOWN if one.file == f"{name}.toml"))
    assert_enough(offers, least)


@pytest.mark.parametrize("layout", MARKED[: amount(99, 3)], ids=named)
def test_what_is_offered_can_be_drawn_for_everybody(layout: Layout) -> None:
    for offer in offered(layout):
        for name in ("somebody", "Ana", "r17", "x y", "practice")[: amount(5, 1)]:
            assert variants.practice(offer.item, name).key.checkers


@pytest.mark.parametrize("name", ["Q24", "pair_two_suns", "six_range_input_set_two_suns"])
def test_no_lever_is_asked_of_a_train_that_turns_as_a_block_and_no_hottest_range_where_two_lose_the_same(name: str) -> None:
    layout = next(one for one in KNOWN if one.file == f"{name}.toml")
    assert {offer.id for offer in families.known(layout)} == {offer.id for offer in offered(layout)}


def assert_enough(offers: Sequence[Offer], least: int) -> None:
    # Of a family three items count at most: more of one make is practice, not another question.
    assert sum(min(3, number) for number in Counter(offer.family for offer in offers).values()) >= least
    assert len({offer.kind for offer in offers}) >= 12


@pytest.mark.parametrize("number", [84, 175, 214, 273][: amount(4, 1)])
def test_there_is_enough_to_ask_where_four_ranges_have_two_ratios(number: int) -> None:
    layout = random_layout(f"low/{number}", 2, one_way=number % 4 == 0)
    assert (len(layout.sets), len(Train(layout).drives), len(Train(layout).distinct)) == (2, 4, 2)
    assert_enough(offered(layout), 40)


@pytest.mark.parametrize("number", [2201, 19, 315, 791, 943, 1573, 1938, 2894][: amount(8, 1)])
def test_there_is_enough_to_ask_of_any_four_sets_with_eight_ranges(number: int) -> None:
    # Of thirty drawn ones the first has the fewest questions, 102: half of its ranges repeat a ratio, and one drives forward.
    layout = random_layout(f"eight/{number}", 4, one_way=number % 4 == 0)
    assert len(Train(layout).drives) >= 8
    assert_enough(offered(layout), 90)


@pytest.mark.parametrize(
    "layout",
    [
        *[
            one
            for one in KNOWN
            if not SHORT or one.file in ("Q24.toml", "Q36.toml", "pair_series.toml", "six_range_input_set_two_suns.toml")
        ],
        # Power that goes round in one of its ranges is as large as the ratio of another.
        random_layout("sane/919", 3),
        *RANDOM[: amount(300, 5)],
    ],
    ids=named,
)
@pytest.mark.parametrize("everything", [False, True])
def test_no_number_that_is_asked_for_stands_elsewhere_on_the_sheet(layout: Layout, everything: bool) -> None:
    items = from_layout.items(layout, (), 0, everything=everything)
    # Two numbers may be alike by chance for one learner, and hardly for two.
    assert found_elsewhere(items, "ann") & found_elsewhere(items, "ben") == set()


def found_elsewhere(items: Sequence[Item], learner: str) -> set[tuple[str, str]]:
    """Who finds the number that an item asks for, to four figures, in which other items of the sheet."""
    copies = [variants.draw(item, secret=b"s" * 32, sheet="A1", learner=learner, beside=items) for item in items]
    told = [
        " ".join((variant.question, *(block for _, block in variant.blocks), *(part.label for part in variant.parts)))
        for variant in copies
    ]
    found = set()
    for place, variant in enumerate(copies):
        for checker in variant.key.checkers.values():
            if isinstance(checker, NumberChecker) and checker.value.denominator > 1:
                digits = shown(abs(checker.value), 4)
                # A round number may stand anywhere by chance.
                if "." in digits:
                    found |= {
                        (variant.item.id, copies[at].item.id) for at, text in enumerate(told) if at != place and digits in text
                    }
    return found


@pytest.mark.parametrize("name", ["Q24", "Q48"])
def test_a_balanced_sheet_touches_most_subjects_and_no_item_of_it_tells_another(name: str) -> None:
    items = from_layout.items(catalogue.find(name), (), 0)
    offers = [offer for offer in offered(catalogue.find(name)) if offer.item in items]
    assert len({offer.subject for offer in offers}) >= 10
    assert len({offer.family for offer in offers}) == len(offers)
    assert not any(set(item.excludes) & {one.id for one in items} for item in items)


def test_a_layout_known_by_ratios_gets_counts_near_them_and_says_where_none_can_be() -> None:
    text = catalogue.dumps(catalogue.find("Q24"))
    near = catalogue.parse(text.replace("sun = 30\nring = 84\nplanets = 3\n", 'ring_to_sun = "14/5"\n'))
    far = catalogue.parse(text.replace("sun = 30\nring = 84\nplanets = 3\n", 'ring_to_sun = "19/2"\n'))
    item = next(offer.item for offer in offered(near) if offer.id == "X06-RATIO-2")
    for learner in "abc":
        counts = variants.practice(item, learner).values
        assert abs(counts["R1"] / counts["S1"] / Fraction(14, 5) - 1) <= Fraction(1, 20)
    item = next(offer.item for offer in offered(far) if offer.id == "X06-RATIO-2")
    prompt = variants.practice(item, "a").prompt
    assert "only the ratio of its teeth is known, $R_1 : S_1 = 19 : 2$ (as the layout gives it)" in prompt


# With 111 to 53 and 106 to 52 the first two sets say different things of the same shafts; with equal quotients they do not.
SAID_TWICE = """format = 1
name = "two sets that may say the same"
joins = [["output", "P2.ring"], ["input", "P3.sun"], ["P3.sun", "P1.carrier"], ["P3.ring", "P2.sun"], ["P4.sun", "P3.carrier"],
  ["P4.ring", "P2.ring"], ["P2.carrier", "P1.carrier"], ["P1.ring", "P2.ring"]]
source = { kind = "own", citation = "made for a test" }
set = [{ name = "P1", pinions = "single", sun = 53, ring = 111 }, { name = "P2", pinions = "single", sun = 52, ring = 106 },
  { name = "P3", pinions = "double", sun = 23, ring = 62 }, { name = "P4", pinions = "double", sun = 24, ring = 65 }]
element = [{ name = "A", kind = "brake", between = ["P1.sun", "housing"] },
  { name = "B", kind = "clutch", between = ["P1.sun", "P3.ring"] }]
range = [{ name = "1", engaged = ["A"] }, { name = "2", engaged = ["B"] }]
"""


def test_drawn_counts_leave_every_range_driving_also_where_two_sets_may_say_the_same() -> None:
    text = catalogue.dumps(catalogue.parse(SAID_TWICE))
    for seed in (b"a", b"b", b"c"):
        found = own_teeth.candidates(text, seed)
        for place in range(own_teeth.MOST_CANDIDATES):
            teeth = found.at(place)
            if teeth is not None:
                assert [row.name for row in train_of(text, teeth).drives] == ["1", "2"], teeth


def test_what_mistakes_make_of_a_train_is_solved_once_for_all_questions(monkeypatch: pytest.MonkeyPatch) -> None:
    solved: Counter[tuple[int, object]] = Counter()
    kept: list[Layout] = []

    def counted(layout: Layout, *changes: object) -> object:
        kept.append(layout)
        solved[id(layout), repr(changes)] += 1
        return solve(layout, *changes)

    solve = wrong._solved
    monkeypatch.setattr(wrong, "_solved", counted)
    # A name of its own, so that nothing of it is known yet.
    assert offered(replace(catalogue.find("Q24"), name="Q24 once more", text=""))
    assert len(solved) > 50
    assert max(solved.values()) == 1
