"""Right answers in the marks of other keyboards, of pages and of hand-written working, each beside a near miss."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.items import all_items
from gearkit.answers.judge.marking import mark
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.words.errors import AnswerError

HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
RATIO = NumberChecker(Fraction(57, 16), AnswerKind.EXACT_RATIO, letters={"S": Fraction(32), "R": Fraction(82)})
BACKWARD = NumberChecker(Fraction(-57, 16), AnswerKind.EXACT_RATIO)
EIGHTHS = NumberChecker(Fraction(33, 8), AnswerKind.EXACT_RATIO)
TORQUE = NumberChecker(Fraction(4914, 5), AnswerKind.TORQUE, HALF_PERCENT, "N·m")
ENGINE = NumberChecker(Fraction("8080.18"), AnswerKind.DECIMAL, HALF_PERCENT, "r/min")
ROAD = NumberChecker(Fraction("27.44"), AnswerKind.DECIMAL, HALF_PERCENT, "km/h")
SHARE = NumberChecker(Fraction("0.9747"), AnswerKind.DECIMAL, HALF_PERCENT)
FORMULA = FormulaChecker(("-P/S",), ("S", "P"))

NUMBERS = [
    (RATIO, "3.56 zu 1"),
    (RATIO, "3{,}56"),
    (RATIO, "⁵⁷⁄₁₆"),
    (RATIO, "3⁹⁄₁₆"),
    (RATIO, "3 ⁹⁄₁₆"),
    (RATIO, "３．５６"),
    (RATIO, "ratio 3.56"),
    (RATIO, "ans: 3.56"),
    (RATIO, "“3.56”"),
    (RATIO, "'3.56'"),
    (RATIO, "`3.56`"),
    (RATIO, "57/16 ~ 3.56"),
    (RATIO, "57/16 (3.56)"),
    (RATIO, "3.56 (57/16)"),
    (RATIO, "57/16 (= 3.56)"),
    (RATIO, "57/16 (≈ 3.56)"),
    (RATIO, "(82+32)/32 (= 3.56)"),
    (RATIO, "(R + S)/S (3.56)"),
    (RATIO, "2x1.78125"),
    (RATIO, "57x.0625"),
    (RATIO, r"$1$ + $\frac{82}{32}$"),
    (BACKWARD, "minus 3.56"),
    (BACKWARD, "negative 3.56"),
    (EIGHTHS, "33/8 = 4,125"),
    (EIGHTHS, "i = 33/8 = 4,125"),
    (EIGHTHS, "3,125 + 1 = 4,125 = 33/8"),
    (TORQUE, "982.8 [Nm]"),
    (TORQUE, "982.8 (N·m)"),
    (TORQUE, r"982.8\,\mathrm{Nm}"),
    (TORQUE, r"982.8 $\mathrm{N\,m}$"),
    (TORQUE, r"982.8\ \text{N·m}"),
    (TORQUE, r"982.8 \mathrm{N \cdot m}"),
    (TORQUE, "982.8 Nm = 725 lb·ft"),
    (TORQUE, "725 lb·ft (982.8 Nm)"),
    (ENGINE, "8 080"),
    (ENGINE, "8 080 rpm"),
    (ENGINE, "8\u202f080 r/min"),
    (ENGINE, "8\u00a0080,2"),
    (ENGINE, "8'080"),
    (ENGINE, "8’080.2 r/min"),
    (ENGINE, "8080 U/min"),
    (ROAD, "27.4 km·h⁻¹"),
    (ROAD, "27.4 km h^-1"),
    (SHARE, r"97.5\%"),
    (SHARE, "97.5 % (0.975)"),
    (SHARE, "0.975 (97.5 %)"),
]


@pytest.mark.parametrize(("checker", "text"), NUMBERS)
def test_a_right_number_is_right_in_other_marks(checker: NumberChecker, text: str) -> None:
    assert checker.judge(checker.read(text)).share == 1
    assert not checker.read(text).remark


@pytest.mark.parametrize(
    ("checker", "text"),
    [
        (RATIO, "⁵⁹⁄₁₆"),
        (RATIO, "59/16 (3.69)"),
        (RATIO, "3⁷⁄₁₆"),
        (RATIO, "2x1.85"),
        (RATIO, "minus 3.56"),
        (EIGHTHS, "34/8 = 4,250"),
        (TORQUE, "725 (N·m)"),
        (TORQUE, r"725\,\mathrm{Nm}"),
        (ENGINE, "8 180"),
        (ENGINE, "80 800"),
        (ROAD, "27.4 m·s⁻¹"),
        (SHARE, r"0.975\%"),
    ],
)
def test_a_wrong_number_stays_wrong_in_other_marks(checker: NumberChecker, text: str) -> None:
    assert checker.judge(checker.read(text)).share < 1


@pytest.mark.parametrize(
    ("checker", "text", "words"),
    [
        (RATIO, r"3\frac{9}{16}", r"3 9/16 could be a sum or a product.*Write 3 \+ 9/16 or 3\*9/16"),
        (EIGHTHS, "4,125", "can be read in two ways"),
        (EIGHTHS, "4,125 = 4,125", "can be read in two ways"),
        (EIGHTHS, "17/2 = 4,125", "can be read in two ways"),
        (ENGINE, "8 08", "stand side by side without a sign"),
        (ENGINE, "8 0800", "stand side by side without a sign"),
        (ENGINE, "2/8 080", "stand side by side without a sign"),
        (RATIO, "$3.56", "which is not read here"),
        (TORQUE, "982.8 (rpm)", "a unit of rotational speed; a torque is asked for"),
    ],
)
def test_what_has_two_meanings_or_none_is_refused(checker: NumberChecker, text: str, words: str) -> None:
    with pytest.raises(AnswerError, match=words):
        checker.read(text)


def test_a_product_in_latex_stays_one_where_it_can_be_no_mixed_number() -> None:
    assert TORQUE.judge(TORQUE.read(r"270\frac{91}{25}")).share == 1
    assert TORQUE.judge(TORQUE.read(r"270 \cdot \frac{91}{25}")).share == 1
    assert RATIO.judge(RATIO.read("57(1/16)")).share == 1


@pytest.mark.parametrize("text", ["0.975 = 97.5 %", "124.76/128 = 0.97469 = 97.469 %", "124.76/128*100 = 97.469 %"])
def test_a_share_and_the_same_in_percent_are_not_called_unequal(text: str) -> None:
    reading = SHARE.read(text)
    assert SHARE.judge(reading).share == 1
    assert not reading.remark
    assert "are not equal" in SHARE.read("0.875 = 97.5 %").remark


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("-P/S = -26/25", 1),
        ("i = -P/S = -1.04", 1),
        ("-P/S ≈ -1.04", 1),
        ("-z_P/z_S", 1),
        ("-z_{P}/z_{S}", 1),
        ("-zP/zS", 1),
        ("-$P$/$S$", 1),
        ("-Pₛ/S", None),
        ("P/S = 1.04", Fraction(1, 2)),
        ("-S/P = -25/26", 0),
        ("-P/S = -S/P", 0),
        ("-26/25", 0),
    ],
)
def test_a_formula_counts_whatever_number_is_tried_after_it(text: str, share: Fraction | None) -> None:
    if share is None:
        with pytest.raises(AnswerError, match="Ps is not one of the letters"):
            FORMULA.read(text)
    else:
        assert FORMULA.judge(FORMULA.read(text)).share == share


def test_z_stays_a_letter_where_the_question_has_it() -> None:
    pair = FormulaChecker(("-z1/z2",), ("z1", "z2"))
    assert pair.judge(pair.read("-z_1/z_2")).share == 1
    with pytest.raises(AnswerError, match="zS is not one of the letters"):
        pair.read("-z_S/z_2")


@pytest.mark.parametrize("item", [item for item in all_items() if item.also], ids=lambda item: item.id)
def test_every_formula_that_is_right_as_well_earns_full_marks(item: Item) -> None:
    # The first learner who has the item itself, and not a version of it.
    learners = (practice(item, str(number)) for number in range(40))
    variant = next(variant for variant in learners if len(_formulas(variant)) > 1)
    for text in _formulas(variant):
        assert mark(variant, {"answer": text}).score == item.marks
        assert mark(variant, {"answer": f"2*({text})"}).score == 0


def _formulas(variant: Variant) -> tuple[str, ...]:
    checker = variant.key.checkers["answer"]
    assert isinstance(checker, FormulaChecker)
    return checker.formulas
