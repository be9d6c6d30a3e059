"""The reader takes what people write, refuses what can be read in two ways, and says why in words."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers.read.reader import read
from gearkit.words.errors import AnswerError

LETTERS = ["S", "R", "P", "S1", "R1", "ns", "nr", "mu"]


@pytest.mark.parametrize(
    ("text", "read_as"),
    [
        ("1+R/S", "1 + R/S"),
        ("  1 + R / S ", "1 + R/S"),
        ("R**2", "R^2"),
        ("R^2", "R^2"),
        ("R²", "R^2"),
        ("R⁻²", "R^-2"),
        ("R^{-2}", "R^-2"),
        ("R^(2)", "R^2"),
        ("2R(S + 1)", "2*R*(S + 1)"),
        ("(R + S)(R − S)", "(R + S)*(R - S)"),
        ("R×S÷2", "R*S/2"),
        ("R·S", "R*S"),
        ("R⋅S ∕ 2", "R*S/2"),
        ("–R/S", "-R/S"),
        ("R_1/S_1", "R1/S1"),
        ("R_{1}/S_{1}", "R1/S1"),
        ("R₁/S₁", "R1/S1"),
        ("n_s + n_r", "ns + nr"),
        (r"\frac{R}{S}", "R/S"),
        (r"1 + \dfrac{R_1}{S_1}", "1 + R1/S1"),
        (r"$1 + \frac{R}{S}$", "1 + R/S"),
        (r"\left(R + S\right) \cdot P", "(R + S)*P"),
        (r"R \times S \div 2", "R*S/2"),
        (r"\mathrm{R}/\text{S}", "R/S"),
        (r"\mu R", "mu*R"),
        ("μ R", "mu*R"),
        ("[R + S]/2", "(R + S)/2"),
        ("i = 1 + R/S", "1 + R/S"),
        ("ratio = 1 + R/S", "1 + R/S"),
        ("n1/n2 = -R/S", "-R/S"),
        ("= 1 + R/S", "1 + R/S"),
        ("r/s", "R/S"),
        ("3.2:1", "3.2"),
        ("3.2 : 1", "3.2"),
        ("16/5", "16/5"),
        ("-.5", "-.5"),
        ("12.", "12"),
        ("≈ 3.25", "3.25"),
        ("about 3.25", "3.25"),
        ("approx. 3.25", "3.25"),
        ("3.25 approximately", "3.25"),
        ("The ratio is about 3.25.", "3.25"),
        ("it’s 3.25", "3.25"),
        ("answer: 3.25", "3.25"),
        ("3.25 to 1", "3.25"),
        ("3.25-to-one", "3.25"),
        ("3,25", "3.25"),
        ("0,893", "0.893"),
        ("1234,567", "1234.567"),
        ("1.000,5", "1000.5"),
        ("1,000.5", "1000.5"),
        ("1,234,567.25", "1234567.25"),
        ("1,234,567", "1234567"),
        ("0,5*(R + S)", "0.5*(R + S)"),
        ("1e5", "1e5"),
        ("2.5E-3", "2.5e-3"),
        ("1.2e+3", "1.2e3"),
        ("1.2 x 10^3", "1.2e3"),
        ("1.2×10³", "1.2e3"),
        ("-1.2 x 10^(-3)", "-1.2e-3"),
        (r"1.2 \cdot 10^{3}", "1.2e3"),
        ("R/1.2*10^3", "R/1.2*10^3"),
        ("2 x 3.5", "2*3.5"),
        ("2x3", "2*3"),
        ("2 X (R + S)", "2*(R + S)"),
        ("RxS", "R*S"),
        ("2 x -3", "2*(-3)"),
        ("3 1/5", "3 + 1/5"),
        ("-3 1/5", "-(3 + 1/5)"),
        ("2 * 3 1/5", "2*(3 + 1/5)"),
        ("3½", "3 + 1/2"),
        ("¾", "3/4"),
        ("½(R - S)", "1/2*(R - S)"),
        ("1/2(R - S)", "1/2*(R - S)"),
        ("-1/2(R - S)", "-1/2*(R - S)"),
        ("R = 3", "3"),
        ("n_1/n_2 = -R/S", "-R/S"),
        ("i = 2 =", "2"),
        ("1 + R/S = i", "1 + R/S"),
        (r"$i_1 = 1 + \frac{R}{S}$", "1 + R/S"),
        ("R => 3", "3"),
        ("+3", "3"),
        ("R - (S - P)", "R - (S - P)"),
        ("R/(S/P)", "R/(S/P)"),
        ("R - -S", "R - (-S)"),
        ("-(R + S)/S", "-(R + S)/S"),
    ],
)
def test_what_people_write_is_read(text: str, read_as: str) -> None:
    assert str(read(text, LETTERS)) == read_as


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("", "empty", "There is no answer here yet"),
        ("   ", "empty", "There is no answer here yet"),
        ("=", "empty", "nothing after the equals sign"),
        ("2R/2S", "ambiguous", r"2\*R/2S can be read in two ways. Write 2\*R/\(2\*S\) or \(2\*R/2\)\*S"),
        ("1/2R", "ambiguous", r"1/2R can be read in two ways. Write 1/\(2\*R\) or \(1/2\)\*R"),
        ("R/S(R + 1)", "ambiguous", r"Write R/\(S\*\(R \+ 1\)\) or \(R/S\)\*\(R \+ 1\)"),
        ("R/(S)(P)", "ambiguous", "can be read in two ways"),
        ("3 6/5", "mixed number", r"3 6/5 could be a sum or a product. Write 3 \+ 6/5 or 21/5"),
        ("3 1/5 R", "mixed number", r"3 1/5 could be a sum or a product. Write 3 \+ 1/5 or 16/5"),
        ("2/3 1/5", "unreadable", "2/3 and 1 stand side by side"),
        ("12/30(R + S)", "ambiguous", r"Write 12/\(30\*\(R \+ S\)\) or \(12/30\)\*\(R \+ S\)"),
        ("2/1(R + S)", "ambiguous", "can be read in two ways"),
        ("R/1.2 x 10^3", "ambiguous", r"/1.2 × 10\^3 can be read in two ways. Write /\(1.2\*10\^3\)"),
        (
            "1,300",
            "decimal comma",
            "1,300 has a comma in a number and can be read in two ways. Write 1.300 if the comma stands "
            "for the decimal point, or 1300 if it parts the thousands",
        ),
        ("3,2,5", "decimal comma", "The number 3,2,5 has points and commas that fit no number"),
        ("1.5,3", "decimal comma", "Write one point and no comma"),
        ("R, S", "decimal comma", "There is a comma at place 2. Decimals take a point"),
        ("16:5", "unreadable", "16:5 could be meant either way round. Write 16/5"),
        ("R:S:P", "unreadable", "A colon is read only in a ratio to one"),
        ("RS", "unknown name", r"RS is not one of the letters here. For a product write R\*S"),
        ("S1R1", "unknown name", r"For a product write S1\*R1"),
        ("x + 1", "unknown name", "x is not one of the letters of this question. It uses P, R, R1, S, S1, mu, nr, ns"),
        ("sin(R)", "function", r"sin\(…\) looks like a function"),
        ("√R", "function", "There is a root sign at place 1"),
        ("R^S", "exponent", "An exponent is not a number. It has to be a whole number up to 9"),
        ("R^10", "exponent", "An exponent is 10"),
        ("R^0.5", "exponent", "An exponent is 0.5"),
        ("R^(1+1)", "exponent", "not a single whole number"),
        ("R^(((2)))", "exponent", "too many brackets"),
        ("R^2^2", "exponent", r"A power of a power can be read in two ways. Put brackets, as in \(S\^2\)\^3"),
        ("R⁻", "exponent", "stands without its number"),
        ("(R + S", "unreadable", "A bracket is not closed: “\\)” is missing at the end"),
        ("R + S)", "unreadable", "a “\\)” too many"),
        ("R +", "unreadable", "The answer stops in the middle. Finish the formula"),
        ("* R", "unreadable", "“\\*” at place 1 has nothing to work on"),
        ("R 2", "unreadable", "R and 2 stand side by side without a sign"),
        ("R/S = 3", "equation", "The answer holds an equation. Write only what stands right of the equals sign"),
        ("R x = 3", "equation", "The answer holds an equation"),
        ("1 + 1 = 2 = i", "equation", "Write only what stands right"),
        ("5%", "unit", "There is a percent sign at place 2"),
        ("R & S", "unreadable", "There is “&” at place 3, which is not read here"),
        ("R\u200bS", "unreadable", r"an invisible character \(U\+200B\)"),
        (". + R", "unreadable", "There is a point without digits"),
        ("1.2.3", "unreadable", "The number 1.2.3 has more than one point"),
        ("2e99", "too large", "The power of ten in 2e99 is beyond 15. Write the number in full"),
        ("2e3R", "unknown name", "e3R is not one of the letters"),
        ("R^1e1", "exponent", "An exponent is 1e1"),
        ("R½", "unreadable", "R and 1/2 stand side by side without a sign"),
        ("not 3", "unknown name", "not is not one of the letters"),
        ("the ratio is not 3", "unknown name", "the is not one of the letters"),
        (r"\sqrt{R}", "unreadable", r"The LaTeX command \\sqrt is not read here"),
        (r"\frac12", "unreadable", "A LaTeX fraction needs both its parts in braces"),
        (r"\mathrm{R", "unreadable", "A LaTeX name is not closed"),
        ("R_", "unreadable", "nothing after the underscore"),
        ("R_{1", "unreadable", "An index is not closed"),
        ("R" * 401, "too long", "The answer has 401 characters; 400 are read"),
        ("+".join("1" * 151), "too long", "numbers, letters and signs; 300 are read"),
        ("(" * 25 + "R" + ")" * 25, "too deep", "more than 24 brackets or signs inside each other"),
        ("-" * 30 + "R", "too deep", "more than 24 brackets or signs"),
        ("1" * 21, "too large", "has more than 20 digits"),
        ("(R^9)^9", "too large", "multiplies more than 48 letters together"),
        ("(((9^9)^9)^9)^9", "too large", "The numbers in the answer grow too large"),
    ],
)
def test_what_cannot_be_read_is_refused_with_reason_and_suggestion(text: str, code: str, words: str) -> None:
    with pytest.raises(AnswerError, match=words) as caught:
        read(text, LETTERS)
    assert caught.value.code == code


@pytest.mark.parametrize(("letter", "product"), [("e", r"2\*e\*3"), ("E", r"2\*E\*3"), ("e3", r"2\*e3")])
def test_where_e_is_a_letter_a_power_of_ten_is_refused_with_both_meanings(letter: str, product: str) -> None:
    with pytest.raises(
        AnswerError, match=rf"2e3 can be read in two ways, for {letter} is a letter.*10\^3.*or {product}"
    ) as caught:
        read("2e3", [letter])
    assert caught.value.code == "ambiguous"
    assert read("2 x 10^3", [letter]).value() == 2000


def test_x_stays_a_letter_where_the_question_has_it() -> None:
    assert read("2 x (3 + x)", ["x"]).value({"x": Fraction(5)}) == 80
    # No letter stands in front of a number, so that this can only be a product.
    assert read("2 x 3", ["x"]).value({"x": Fraction(5)}) == 6
    assert read("2 x - 3", ["x"]).value({"x": Fraction(5)}) == 7
    with pytest.raises(
        AnswerError, match=r"2 x -3 can be read in two ways, for x is a letter.*Write 2\*\(-3\) for a product, or 2\*x - 3"
    ):
        read("2 x -3", ["x"])


@pytest.mark.parametrize(
    ("text", "digits"), [("1.20e3", (-1, 3)), ("4.56 x 10^2", (0, 3)), ("1.2e-3", (4, 2)), ("3,250", None)]
)
def test_the_figures_of_a_power_of_ten_count(text: str, digits: tuple[int, int] | None) -> None:
    if digits is None:
        with pytest.raises(AnswerError, match="can be read in two ways"):
            read(text)
    else:
        assert read(text).digits == digits


def test_a_letter_where_a_number_is_asked_is_refused() -> None:
    with pytest.raises(AnswerError, match="four is a letter or a word, and a number is asked for") as caught:
        read("four")
    assert caught.value.code == "not a number"


def test_something_that_is_no_text_is_refused() -> None:
    with pytest.raises(AnswerError, match="An answer is text, not int"):
        read(3)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1 + R/S", Fraction(16, 5)),
        ("-R/S", Fraction(-11, 5)),
        ("R/S/2", Fraction(11, 10)),
        ("R/S*2", Fraction(22, 5)),
        ("-R^2", Fraction(-4356)),
        ("(-R)^2", Fraction(4356)),
        ("2^-2", Fraction(1, 4)),
        ("2R - S", Fraction(102)),
        ("0.5R", Fraction(33)),
        ("R - S - 6", Fraction(30)),
    ],
)
def test_precedence_is_that_of_algebra(text: str, value: Fraction) -> None:
    assert read(text, ["R", "S"]).value({"R": Fraction(66), "S": Fraction(30)}) == value


@pytest.mark.parametrize("text", ["1/0", "1/(R - R)", "(R - R)^-1", r"\frac{1}{0}"])
def test_a_division_by_zero_is_told_in_words(text: str) -> None:
    with pytest.raises(AnswerError, match="The answer divides by zero") as caught:
        read(text, ["R"]).value({"R": Fraction(66)})
    assert caught.value.code == "division by zero"


@pytest.mark.parametrize(
    ("text", "latex"),
    [
        ("1 + R/S", r"1 + \frac{R}{S}"),
        ("2R1(S1 + 1)", r"2 \, R_{1} \, \left(S_{1} + 1\right)"),
        ("(R/S)^2", r"\left(\frac{R}{S}\right)^{2}"),
        ("-(R - S)", r"-\left(R - S\right)"),
        ("R*2", r"R \cdot 2"),
    ],
)
def test_an_answer_can_be_shown_as_latex(text: str, latex: str) -> None:
    assert read(text, LETTERS).latex() == latex
