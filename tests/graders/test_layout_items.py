"""Items made from any layout are marked against the solver."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.answers.layout_items import from_layout
from gearkit.solve import mobility, ratios
from gearkit.train import catalogue
from gearkit.words.errors import UsageError

SECRET = b"s" * 32
NAMES = ["Q24", "Q36", "Q48", "bench_set", "six_range_input_set_two_suns", "four_range_two_suns_one_ring"]
STEPPED = """format = 1
name = "Stepped and bevel"
joins = [["input", "P1.sun"], ["P1.carrier", "B.sun"], ["B.carrier", "output"], ["D.ring", "P1.ring"]]
[source]
kind = "own"
citation = "invented for this test"
[[set]]
name = "P1"
pinions = "stepped"
sun = 30
ring = 90
sun_pinion = 40
ring_pinion = 20
[[set]]
name = "B"
pinions = "bevel"
[[set]]
name = "D"
ring_to_sun = "11/5"
[[element]]
name = "H"
kind = "brake"
between = ["P1.ring", "housing"]
[[element]]
name = "K"
kind = "brake"
between = ["B.ring", "housing"]
[[range]]
name = "low+"
engaged = ["H", "K"]
"""


def drawn(text_or_name: str, learner: str = "a") -> Variant:
    layout = catalogue.parse(text_or_name) if "\n" in text_or_name else catalogue.find(text_or_name)
    return variants.draw(from_layout(layout)[0], secret=SECRET, sheet="s", learner=learner)


@pytest.mark.parametrize("name", NAMES)
def test_the_key_is_the_solvers_ratio_at_the_learners_own_tooth_counts(name: str) -> None:
    layout = catalogue.find(name)
    variant = drawn(name)
    suffixes = ratios.symbol_suffixes(layout)
    teeth = {
        pset.name: (int(variant.values[f"S{suffixes[pset.name]}"]), int(variant.values[f"R{suffixes[pset.name]}"]))
        for pset in layout.sets
        if f"S{suffixes[pset.name]}" in variant.values
    }
    own = layout.with_teeth(teeth)
    answers = list(marking.right_answer(variant).values())
    expected = [found.exact for one in own.ranges if one.name != "1L" and (found := ratios.ratio(own, one.engaged)) is not None]
    if name == "Q24":
        # 1 and 1L hold the same member, by a one-way clutch and by a brake.
        expected.insert(1, expected[0])
    assert [Fraction(text) for text in answers] == expected


def test_a_set_without_tooth_counts_keeps_what_the_layout_says() -> None:
    variant = drawn(STEPPED)
    assert "ring to sun 11 : 5" in variant.prompt
    assert "40 teeth at the sun and 20 teeth at the ring" in variant.prompt
    assert "equal side gears" in variant.prompt
    # Stepped set, ring held: 1 + (R/S)(P/Q); bevel set, one side gear held: the carrier turns half.
    assert marking.right_answer(variant) == {"r_low": str((1 + Fraction(90 * 40, 30 * 20)) * 2)}


def test_learners_get_different_numbers_and_the_same_ones_again() -> None:
    assert drawn("Q36", "a").values == drawn("Q36", "a").values
    assert drawn("Q36", "a").values != drawn("Q36", "b").values


def test_an_upside_down_ratio_is_named() -> None:
    variant = drawn("Q36")
    turned = {name: str(1 / Fraction(text)) for name, text in marking.right_answer(variant).items()}
    assert "RECIP" in [named.code for named in marking.mark(variant, turned).mistakes]


@pytest.mark.parametrize("name", [*NAMES, STEPPED])
@pytest.mark.parametrize("learner", ["a", "b"])
def test_states_are_those_of_exact_rank(name: str, learner: str) -> None:
    layout = catalogue.parse(name) if "\n" in name else catalogue.find(name)
    variant = variants.draw(from_layout(layout)[1], secret=SECRET, sheet="s", learner=learner)
    combinations = {part.name: part.label.removesuffix(" applied").split(", ") for part in variant.parts}
    right = {part: str(mobility.assess(layout, engaged).verdict) for part, engaged in combinations.items()}
    result = marking.mark(variant, right)
    assert (result.verdict, result.score) == ("right", len(variant.parts))
    assert len(variant.parts) == from_layout(layout)[1].marks
    turned = {part: "neutral" if verdict == "range" else "range" for part, verdict in right.items()}
    assert marking.mark(variant, turned).score == 0


def test_a_redundant_range_taken_as_a_tie_up_is_named() -> None:
    item = from_layout(catalogue.find("Q36"))[1]
    for number in range(20):
        variant = variants.draw(item, secret=SECRET, sheet="s", learner=f"s{number}")
        agreeing = [
            part
            for part in variant.parts
            if len(part.label.split(", ")) == 3 and marking.right_answer(variant)[part.name] == "range"
        ]
        if agreeing:
            wrong = {**marking.right_answer(variant), agreeing[0].name: "tie-up"}
            assert [named.code for named in marking.mark(variant, wrong).mistakes] == ["COUNT"]
            return
    raise AssertionError("no draw asked about elements that agree")


@pytest.mark.parametrize("name", NAMES)
def test_the_chart_takes_every_combination_that_gives_the_ratio(name: str) -> None:
    layout = catalogue.find(name)
    variant = variants.draw(from_layout(layout)[2], secret=SECRET, sheet="s", learner="a")
    rows = {}
    for one in layout.ranges:
        found = ratios.ratio(layout, one.engaged)
        if found is not None and one.name != "1L":
            rows[found.exact] = len(one.engaged)
    for exact, size in rows.items():
        part = next(
            part.name
            for part in variant.parts
            if Fraction(ratios.ratio(layout, marking.right_answer(variant)[part.name].split(", ")).exact) == exact
        )
        for engaged, judged in ratios.combinations(layout, [size]):
            given = {**marking.right_answer(variant), part: ", ".join(engaged)}
            assert (marking.mark(variant, given).verdict == "right") is (judged.ratio == exact), (exact, engaged)


def test_a_one_way_clutch_is_told_with_its_free_direction_and_when_it_counts() -> None:
    for item in from_layout(catalogue.find("Q24")):
        assert (
            "one-way clutch F: between P1.carrier and housing; P1.carrier turns freely forward, seen from housing"
            in item.prompt
        )
        assert "A one-way clutch counts as applied while it holds." in item.prompt
    assert all("one-way" not in item.prompt for item in from_layout(catalogue.find("Q36")))


def test_a_layout_without_a_ratio_is_refused() -> None:
    text = STEPPED.replace('engaged = ["H", "K"]', "engaged = []")
    with pytest.raises(UsageError, match="no range has a ratio"):
        from_layout(catalogue.parse(text))


def test_the_text_of_every_item_of_the_bank_names_the_layout_that_the_learner_has_and_no_other() -> None:
    named = 0
    for item in items.all_items():
        variant = variants.draw(item, secret=SECRET, sheet="s", learner="a")
        text = variant.prompt + " ".join(part.label for part in variant.parts) + " ".join(item.hints)
        found = set(re.findall(r"\bQ(?:24|36|48)\b", text))
        if variant.layout is not None and variant.layout.name.startswith("Quillbrook "):
            assert found <= {variant.layout.name.split()[1].rstrip(":")}, (item.id, found, variant.layout.name)
        if item.draw.layout:
            assert found == {item.draw.layout}, item.id
            named += 1
    assert named >= 10


@pytest.mark.parametrize("name", NAMES)
def test_the_text_of_every_item_from_a_layout_begins_with_that_layouts_name(name: str) -> None:
    layout = catalogue.find(name)
    for item in from_layout(layout, 3):
        assert item.id.startswith("X00-3")
        assert variants.draw(item, secret=SECRET, sheet="s", learner="a").prompt.startswith(f"**{layout.name}**")
