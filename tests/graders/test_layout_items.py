"""Items made from any layout are marked against the solver."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers import marking, variants
from gearkit.answers.variants import Variant
from gearkit.solve import ratios
from gearkit.train import catalogue
from gearkit.words.errors import UsageError
from graders.prepare.layout_items import from_layout

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
    teeth = {pset.name: (int(variant.values[f"S{suffixes[pset.name]}"]), int(variant.values[f"R{suffixes[pset.name]}"]))
             for pset in layout.sets if f"S{suffixes[pset.name]}" in variant.values}
    own = layout.with_teeth(teeth)
    answers = list(marking.right_answer(variant).values())
    expected = [found.exact for one in own.ranges
                if one.name != "1L" and (found := ratios.ratio(own, one.engaged)) is not None]
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
    assert "RECIP" in [slip.code for slip in marking.mark(variant, turned).mistakes]


def test_a_layout_without_a_ratio_is_refused() -> None:
    text = STEPPED.replace('engaged = ["H", "K"]', "engaged = []")
    with pytest.raises(UsageError, match="no range has a ratio"):
        from_layout(catalogue.parse(text))
