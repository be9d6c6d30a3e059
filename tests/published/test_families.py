"""What a source prints of its transmission is the right answer to the items made from it, at its own tooth counts."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from gearkit.answers.comparison.formulas import pairs_of
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.draw_numbers.variants import Variant, made_of
from gearkit.answers.families import known
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.layouts import own_teeth
from gearkit.answers.rules import DrawnValues, build
from gearkit.solve.teeth.from_chart import rounded_span
from gearkit.text.places import datasets
from gearkit.train import catalogue
from gearkit.train.elements import Element, Range
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind
from tests.published.printed import check_table, layout_of, rules_that_fit

LAYOUTS = {path.stem: catalogue.read(path) for path in sorted((datasets() / "published").glob("*.toml"))}
ITEMS = {name: {offer.id: offer.item for offer in known(layout)} for name, layout in LAYOUTS.items()}
PRINTED = [
    (name, one.name, one.published_ratio)
    for name, layout in LAYOUTS.items()
    for one in layout.ranges
    if one.published_ratio and Fraction(one.published_ratio) != 1
]
FIGURES = [
    (case["layout"], figure)
    for case in check_table("efficiency")
    for figure in case["figure"]
    if "flag" not in figure and Fraction(figure["efficiency"]) != 1
]


# What else a table prints of ratios: the item that asks for it.
ASKED = {"spread": "X10-SPREAD", "mean step": "X10-SPREAD-EQUAL", "step": "X10-STEP-{}-{}", "ratio": "X06-RATIO-{}"}
OF_RATIOS = [
    (case["layout"], figure)
    for case in check_table("ratio_figures")
    for figure in case["figure"]
    # A step from reverse to first is no step of the ladder, so nobody is asked for it.
    if "flag" not in figure and figure["what"] in ASKED and "R" not in figure["of"][:1]
]


def at_own_counts(item: Item, **numbers: str) -> Variant:
    """An item with the layout's own tooth counts."""
    text = item.draw.train
    teeth = tuple(own_teeth.AS_GIVEN for _ in own_teeth.layout_in(text).sets)
    values = {**own_teeth.letters(text, teeth), **{name: Fraction(number) for name, number in numbers.items()}}
    facts = DrawnValues(values, pairs_of(values), values, "", teeth, (), text)
    task = build(item, facts, SeededRandom(b"own counts"), handed_out=True)
    assert task is not None
    return made_of(item, facts, task, ())


@pytest.mark.parametrize(("name", "range_name", "printed"), PRINTED)
def test_the_printed_ratio_earns_full_marks(name: str, range_name: str, printed: str) -> None:
    item = ITEMS[name][f"X06-RATIO-{range_name}"]
    variant = at_own_counts(item)
    text = printed if len(printed.strip("-").replace(".", "")) > 2 else f"{printed}00"
    assert marking.mark(variant, {"answer": text}).score == item.marks


@pytest.mark.parametrize(("name", "range_name", "printed"), PRINTED)
def test_the_torques_that_follow_from_a_printed_ratio_are_right(name: str, range_name: str, printed: str) -> None:
    # Without losses 100 N·m become the ratio times 100 at the output, and the housing takes up the difference.
    least, most = rounded_span(printed)
    asked = {f"X08-OUTPUT-TORQUE-{range_name}": Fraction(0), f"X08-HOUSING-{range_name}": Fraction(1)}
    there = {item: less for item, less in asked.items() if item in ITEMS[name]}
    assert f"X08-OUTPUT-TORQUE-{range_name}" in there
    for item, less in there.items():
        checker = at_own_counts(ITEMS[name][item], T="100").key.checkers["answer"]
        assert isinstance(checker, NumberChecker)
        low, high = sorted(100 * abs(end - less) for end in (least, most))
        assert low <= abs(checker.value) <= high, item


@pytest.mark.parametrize("name", sorted({name for name, _, _ in PRINTED}))
def test_the_printed_ratios_fill_the_table_of_ratios(name: str) -> None:
    item = ITEMS[name]["X06-RATIOS"]
    variant = at_own_counts(item)
    printed = {one: text for layout, one, text in PRINTED if layout == name}
    texts = marking.right_answer(variant)
    told = [(part, one) for part in texts for one in printed if part == f"range_{one}" or part.endswith(f"_{one}")]
    assert len(told) >= 4
    for part, one in told:
        texts[part] = printed[one] if len(printed[one].strip("-").replace(".", "")) > 2 else f"{printed[one]}00"
    assert marking.mark(variant, texts).score == item.marks


@pytest.mark.parametrize(
    ("name", "figure"), OF_RATIOS, ids=lambda value: value if isinstance(value, str) else f"{value['what']} {value['of']}"
)
def test_printed_steps_and_spreads_earn_full_marks(name: str, figure: dict[str, Any]) -> None:
    item = ITEMS[name][ASKED[figure["what"]].format(*([figure["of"]] if isinstance(figure["of"], str) else figure["of"]))]
    assert marking.mark(at_own_counts(item), {"answer": figure["printed"]}).score == item.marks


def test_something_printed_holds_every_published_layout_to_account() -> None:
    assert {name for name, _, _ in PRINTED} | {name for name, _ in OF_RATIOS} == set(LAYOUTS)


@pytest.mark.parametrize(
    ("name", "figure"),
    FIGURES,
    ids=lambda value: value if isinstance(value, str) else f"{value['range']} at {value['basic_efficiency']}",
)
def test_the_printed_efficiency_and_torque_ratio_earn_full_marks(name: str, figure: dict[str, Any]) -> None:
    basic, place = figure["basic_efficiency"], figure["range"]
    loss = at_own_counts(ITEMS[name][f"X09-LOSS-{place}"], e=basic)
    lost = 100 * (1 - Fraction(figure["efficiency"]))
    assert marking.mark(loss, {"answer": f"{float(lost):.2f} percent"}).verdict == "right"
    torque = at_own_counts(ITEMS[name][f"X09-TORQUE-WITH-LOSSES-{place}"], e=basic, T="100")
    assert marking.mark(torque, {"answer": f"{float(abs(Fraction(figure['torque_ratio'])) * 100)} N m"}).verdict == "right"


def test_enough_is_printed_to_tell_anything() -> None:
    assert (len(PRINTED), len(FIGURES)) == (5 + 7 + 9 - 2, 2 * 9 - 4 - 2)


def of_one_train(case: dict[str, Any], driven: str, held: str, driver: str) -> dict[str, Item]:
    """The items of a single train of a check table, made a layout with one range: a brake on the held member."""
    joins = [[INPUT, driver], [OUTPUT, driven]]
    brake = Element("B", ElementKind.BRAKE, (held, HOUSING))
    layout = replace(layout_of({**case, "element": []}, joins=joins), elements=(brake,), ranges=(Range("1", ("B",)),))
    return {offer.id: offer.item for offer in known(layout)}


# A member that is driven, one that stands, and what a third one does then: a range of a train with one brake.
DRIVEN_MEMBERS = [
    (case, driver, held, member, Fraction(question["given"][driver]), printed)
    for case in check_table("speeds")
    for question in case["question"]
    if "flag" not in question and len(question["given"]) == 2
    for held, driver in (list(question["given"]), list(question["given"])[::-1])
    if Fraction(question["given"][held]) == 0 != Fraction(question["given"][driver])
    for member, printed in question["expect"].items()
    if not member.endswith("planet") and Fraction(printed)
]


@pytest.mark.parametrize(("case", "driver", "held", "member", "speed", "printed"), DRIVEN_MEMBERS)
def test_the_ratio_of_a_printed_train_of_one_range_gives_the_printed_speed(
    case: dict[str, Any], driver: str, held: str, member: str, speed: Fraction, printed: str
) -> None:
    item = of_one_train(case, member, held, driver)["X06-RATIO-1"]
    checker = at_own_counts(item).key.checkers["answer"]
    assert isinstance(checker, NumberChecker)
    assert rules_that_fit(speed / checker.value, printed)


def test_printed_torque_shares_are_what_the_items_of_their_train_hold_for_right() -> None:
    case = check_table("torque_and_power")[0]
    printed = {question["what"]: question["printed"] for question in case["question"] if "flag" not in question}
    items = of_one_train({**case, "joins": []}, "P1.ring", "P1.sun", "P1.carrier")
    asked = {"sun torque / carrier torque": "X08-HOLDING-1-B", "ring torque / carrier torque": "X08-OUTPUT-TORQUE-1"}
    assert set(asked) < set(printed)
    for what, item in asked.items():
        checker = at_own_counts(items[item], T="100").key.checkers["answer"]
        assert isinstance(checker, NumberChecker)
        assert rules_that_fit(abs(checker.value) / 100, printed[what]), what


def test_the_printed_output_speed_of_the_train_with_a_fixed_annulus_follows_from_its_ratio_item() -> None:
    case = check_table("torque_and_power")[1]
    printed = next(question["printed"] for question in case["question"] if question["what"].startswith("output speed"))
    layout = replace(layout_of(case), ranges=(Range("1", ("B",)),))
    item = next(offer.item for offer in known(layout) if offer.id == "X06-RATIO-1")
    checker = at_own_counts(item).key.checkers["answer"]
    assert isinstance(checker, NumberChecker)
    assert rules_that_fit(1200 / checker.value, printed)
