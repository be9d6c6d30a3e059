"""Numbers with units: what is taken, how it is converted, and what is said about a unit that does not fit."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.comparison.exact import PI, arcsine, arctangent, root, sine, tangent, whole_part
from gearkit.answers.item import AnswerKind
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.read.units import split_unit, unit_named
from gearkit.words.errors import AnswerError

HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
TORQUE = NumberChecker(Fraction(260), AnswerKind.TORQUE, HALF_PERCENT, "N·m")
SPEED = NumberChecker(Fraction(-1200), AnswerKind.DECIMAL, Tolerance(absolute=Fraction(1, 2)), "r/min")
RATIO = NumberChecker(Fraction(16, 5), AnswerKind.EXACT_RATIO, letters={"S": Fraction(30), "R": Fraction(66)})


@pytest.mark.parametrize(
    ("text", "rest", "unit"),
    [
        ("260 N.m", "260", "N·m"),
        ("260 N·m", "260", "N·m"),
        ("260Nm", "260", "N·m"),
        ("260 N m", "260", "N·m"),
        ("260 N⋅m", "260", "N·m"),
        ("0.26 kN.m", "0.26", "kN·m"),
        ("192 lbf.ft", "192", "lbf·ft"),
        ("192 lb-ft", "192", "lbf·ft"),
        ("192 ft·lb", "192", "lbf·ft"),
        ("192 lb ft", "192", "lbf·ft"),
        ("2301 lbf.in", "2301", "lbf·in"),
        ("1200 r/min", "1200", "r/min"),
        ("1200rpm", "1200", "r/min"),
        ("1200 RPM", "1200", "r/min"),
        ("1200 rev/min", "1200", "r/min"),
        ("1200 min⁻¹", "1200", "r/min"),
        ("1200 1/min", "1200", "r/min"),
        ("1200 min-1", "1200", "r/min"),
        ("1200 min\u22121", "1200", "r/min"),
        ("260 n.m", "260", "N·m"),
        ("20 r/s", "20", "r/s"),
        ("125.7 rad/s", "125.7", "rad/s"),
        ("50 km/h", "50", "km/h"),
        ("31 mph", "31", "mph"),
        ("13.9 m/s", "13.9", "m/s"),
        ("51 mm", "51", "mm"),
        ("5.1 cm", "5.1", "cm"),
        ("2 in", "2", "in"),
        ("3.3°", "3.3", "degrees"),
        ("3.3 deg", "3.3", "degrees"),
        ("29 %", "29", "percent"),
        ("29percent", "29", "percent"),
        ("107 N", "107", "N"),
        ("5.34 kJ", "5.34", "kJ"),
        ("27.2 turns", "27.2", "turns"),
        ("12 modules.", "12", "modules"),
        ("16/5", "16/5", None),
        ("R/S", "R/S", None),
        ("2*m", "2*m", None),
        ("1 + R_m", "1 + R_m", None),
        ("N", "N", None),
    ],
)
def test_a_unit_is_found_at_the_end(text: str, rest: str, unit: str | None) -> None:
    body, found = split_unit(text)
    assert body == rest
    assert (found.name if found else None) == unit


@pytest.mark.parametrize(
    ("name", "in_base_units"),
    [
        # 1 lbf.ft = 0.3048 m x 4.4482216152605 N, both exact by definition (international foot and pound-force).
        ("lbf·ft", Fraction("0.3048") * Fraction("4.4482216152605")),
        ("mph", Fraction("1.609344")),
        ("r/s", Fraction(60)),
        ("in", Fraction("25.4")),
    ],
)
def test_conversions_are_exact_by_definition(name: str, in_base_units: Fraction) -> None:
    unit = unit_named(name)
    assert unit is not None
    assert unit.factor == in_base_units


@pytest.mark.parametrize(
    "text", ["260 N.m", "260", "260 Nm", "0.26 kN.m", "191.8 lbf.ft", "259 N.m", "261.2", "260 N.m with the input"]
)
def test_a_torque_within_half_a_percent_is_right_in_any_unit(text: str) -> None:
    assert TORQUE.judge(TORQUE.read(text)).right


@pytest.mark.parametrize("text", ["262 N.m", "258 N·m", "191.8 N.m", "195 lbf.ft"])
def test_a_torque_outside_half_a_percent_is_not(text: str) -> None:
    assert TORQUE.judge(TORQUE.read(text)).share == 0


@pytest.mark.parametrize("text", ["-260 N.m", "260 N.m against the input"])
def test_a_torque_of_the_right_size_and_the_wrong_sign_earns_half(text: str) -> None:
    assert TORQUE.judge(TORQUE.read(text)).share == Fraction(1, 2)


def test_the_right_number_with_another_unit_earns_half() -> None:
    judged = TORQUE.judge(TORQUE.read("260 lbf.ft"))
    assert (judged.share, [named.code for named in judged.patterns_found]) == (Fraction(1, 2), ["UNIT"])


@pytest.mark.parametrize(
    "text", ["-1200", "-1200 r/min", "−1199.6", "1200 r/min reverse", "1200 backward", "-20 r/s", "-125.66 rad/s"]
)
def test_a_speed_is_right_in_any_unit_and_with_its_direction_in_words(text: str) -> None:
    assert SPEED.judge(SPEED.read(text)).right


@pytest.mark.parametrize("text", ["1200", "-1207", "1200 forward", "-120"])
def test_a_wrong_speed_is_not_right(text: str) -> None:
    assert not SPEED.judge(SPEED.read(text)).right


@pytest.mark.parametrize(
    ("checker", "text", "words"),
    [
        (TORQUE, "260 mm", "mm is a unit of length; a torque is asked for. Units that are read: N·m, kN·m, lbf·ft, lbf·in"),
        (SPEED, "1200 km/h", "km/h is a unit of road speed; a rotational speed is asked for"),
        (RATIO, "3.2 mm", "The answer is a plain number and has no unit, but mm was written. Write the number alone"),
        (RATIO, "320 %", "The answer is a plain number and has no unit"),
    ],
)
def test_a_unit_that_does_not_fit_is_told_in_words(checker: NumberChecker, text: str, words: str) -> None:
    with pytest.raises(AnswerError, match=words) as caught:
        checker.read(text)
    assert caught.value.code == "unit"


def test_an_efficiency_may_be_given_in_percent() -> None:
    checker = NumberChecker(Fraction(112, 114), AnswerKind.DECIMAL)
    assert checker.judge(checker.read("98.2 %")).right
    assert checker.judge(checker.read("0.982")).right
    assert not checker.judge(checker.read("98.2")).right


def test_letters_of_the_question_stand_for_the_learners_numbers() -> None:
    assert RATIO.judge(RATIO.read("1 + R/S")).right
    assert RATIO.judge(RATIO.read("(S + R)/S")).right
    assert RATIO.read("R/S").read_as == "R/S"
    assert RATIO.judge(RATIO.read("R/S")).share == 0


def test_letters_are_not_taken_for_units() -> None:
    checker = NumberChecker(Fraction(11, 5), AnswerKind.DECIMAL, unit="r/min", letters={"S": Fraction(30), "R": Fraction(66)})
    assert checker.judge(checker.read("R/S")).right
    force = NumberChecker(Fraction(37), AnswerKind.DECIMAL, HALF_PERCENT, "N", {"N": Fraction(4)})
    assert force.judge(force.read("37 N")).right
    assert force.judge(force.read("148/N")).right


def test_pi_is_read_only_where_an_item_allows_it() -> None:
    checker = NumberChecker(2 * PI, AnswerKind.DECIMAL, HALF_PERCENT, "km/h", pi=True)
    assert checker.judge(checker.read("2*pi")).right
    assert checker.judge(checker.read("2π km/h")).right
    with pytest.raises(AnswerError, match="pi is a letter or a word, and a number is asked for"):
        NumberChecker(2 * PI, AnswerKind.DECIMAL).read("2*pi")


def test_too_few_digits_are_told_as_such() -> None:
    checker = NumberChecker(Fraction(152, 59), AnswerKind.EXACT_RATIO)
    judged = checker.judge(checker.read("2.6"))
    assert judged.share == 0
    assert judged.remark == (
        "So far so good, but 2.6 has too few digits to tell: give at least three significant figures, or an exact fraction."
    )


def test_a_ratio_of_the_right_size_and_the_wrong_sign_earns_half() -> None:
    checker = NumberChecker(Fraction(-11, 5), AnswerKind.EXACT_RATIO)
    assert checker.judge(checker.read("11/5")).share == Fraction(1, 2)
    assert checker.judge(checker.read("2.20")).share == Fraction(1, 2)
    assert checker.judge(checker.read("-2.2")).share == 1


@pytest.mark.parametrize(
    ("right", "text", "code"),
    [
        (Fraction(16, 5), "-16/5", "SIGN"),
        (Fraction(16, 5), "5/16", "RECIP"),
        (Fraction(16, 5), "-0.3125", "RECIP"),
        (Fraction(16, 5), "11/5", "NOONE"),
        (Fraction(16, 5), "21/5", "NOONE"),
    ],
)
def test_general_slips_of_a_ratio_have_their_names(right: Fraction, text: str, code: str) -> None:
    checker = NumberChecker(right, AnswerKind.EXACT_RATIO)
    assert [named.code for named in checker.patterns(checker.read(text))] == [code]


@pytest.mark.parametrize(
    ("text", "code"), [("600", "HALF"), ("2400", "HALF"), ("20", "UNIT"), ("-1200", "SIGN"), ("126", "UNIT")]
)
def test_general_slips_of_a_speed_have_their_names(text: str, code: str) -> None:
    checker = NumberChecker(Fraction(1200), AnswerKind.DECIMAL, HALF_PERCENT, "r/min")
    assert [named.code for named in checker.patterns(checker.read(text))] == [code]


def test_a_whole_number_one_off_is_a_miscount() -> None:
    checker = NumberChecker(Fraction(6), AnswerKind.INTEGER)
    assert checker.judge(checker.read("6")).right
    assert checker.judge(checker.read("6.0")).right
    assert not checker.judge(checker.read("6.2")).right
    assert checker.patterns(checker.read("5"))[0][0] == "COUNT"


def test_sines_and_roots_are_good_to_forty_digits() -> None:
    # sin 30 deg = 1/2, sin 45 deg = sqrt(1/2), atan 1 = pi/4, tan 45 deg = 1: exact by geometry.
    tiny = Fraction(1, 10**38)
    assert abs(sine(PI / 6) - Fraction(1, 2)) < tiny
    assert abs(sine(PI / 4) ** 2 - Fraction(1, 2)) < tiny
    assert abs(arcsine(Fraction(1, 2)) - PI / 6) < tiny
    assert abs(arctangent(Fraction(1)) - PI / 4) < tiny
    assert abs(tangent(PI / 4) - 1) < tiny
    assert root(Fraction(9, 4), 2) == Fraction(3, 2)
    assert abs(root(Fraction(2), 3) ** 3 - 2) < tiny
    assert whole_part(*(PI / arcsine(Fraction(1, 2))).as_integer_ratio()) == 6
    assert (arcsine(Fraction(1)), arcsine(Fraction(-1))) == (PI / 2, -PI / 2)
    with pytest.raises(ZeroDivisionError, match="no angle has a sine beyond 1"):
        arcsine(Fraction(2))
    with pytest.raises(ZeroDivisionError, match="a negative number has no root"):
        root(Fraction(-2), 2)
