"""Formulas and Markdown of the pages: well formed, harmless, and readable without seeing them."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.text.markdown import inline, to_html
from gearkit.text.mathml import from_expression, from_latex
from graders.report.pages.page import of_marks, page, signed, verdict_of


def shape(mathml: str) -> str:
    """The formula without its frame and the room round fractions, as a nested list of tags and texts."""
    return re.sub(r"<math[^>]*><mrow>(.*)</mrow></math>", r"\1", re.sub(r' style="[^"]*"', "", mathml))


def test_a_quotient_becomes_a_fraction_without_its_brackets():
    row = shape(from_expression("(S + R)/S"))
    assert row == "<mfrac><mrow><mi>S</mi><mo>+</mo><mi>R</mi></mrow><mrow><mi>S</mi></mrow></mfrac>"


def test_brackets_of_a_product_stay():
    assert shape(from_expression("2*(S + R)")) == ("<mn>2</mn><mo>·</mo><mo>(</mo><mi>S</mi><mo>+</mo><mi>R</mi><mo>)</mo>")


def test_brackets_of_a_product_stay_above_a_bar():
    assert "<mo>)</mo><mo>·</mo>" in shape(from_expression("(1+a)*(1+b)/c"))


def test_a_minus_stands_before_the_bar():
    assert shape(from_expression("-R/S")).startswith("<mo>−</mo><mfrac>")


def test_a_number_at_the_end_of_a_name_is_an_index():
    assert shape(from_expression("R1")) == "<msub><mi>R</mi><mn>1</mn></msub>"


def test_latex_words_keep_their_blanks():
    assert "<mtext>sun gear</mtext>" in from_latex(r"n_{\text{sun gear}}")


@pytest.mark.parametrize("text", ["x)(", "<script>alert(1)</script>", "1 +", "-" * 900, "(" * 300])
def test_what_is_not_an_expression_stays_escaped_text(text):
    html = from_expression(text)
    assert html.startswith("<code>")
    assert "<script" not in html


@pytest.mark.parametrize("text", [r"\foo{x}", "{", "}", "$", r"\frac{1}", "{" * 300])
def test_latex_beyond_the_small_part_stays_text(text):
    assert from_latex(text).startswith("<code>")


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=60))
def test_any_text_becomes_well_formed_markup(text):
    clean = re.sub(r"[^\x09\x0a\x20-\ud7ff\ue000-\ufffd]", "", text)
    for html in (from_expression(clean), from_latex(clean), to_html(clean)):
        ElementTree.fromstring(f"<div>{html.replace('<br>', '<br/>')}</div>")


@settings(max_examples=100, deadline=None)
@given(st.text(alphabet="RS12+-*/^() ._", max_size=40), st.text(alphabet=r"RS12+-*/^()\frac{}_ cdot", max_size=40))
def test_any_formula_becomes_well_formed_markup(plain, latex):
    ElementTree.fromstring(from_expression(plain))
    ElementTree.fromstring(from_latex(latex))


def test_markdown_shows_tables_lists_and_formulas():
    html = to_html("Ring **held**, $R = 72$:\n\n| row | sun |\n|---|---|\n| all | 400 |\n\n1. one\n2. two")
    assert "<strong>held</strong>" in html
    assert "<mi>R</mi><mo>=</mo><mn>72</mn>" in html
    assert '<th scope="col">sun</th>' in html
    assert "<td>400</td>" in html
    assert "<ol><li>one</li><li>two</li></ol>" in html


def test_a_comma_after_a_formula_stays_with_it():
    html = to_html("With $S$, then $R$ more.")
    assert re.search(r'<span style="white-space:nowrap"><math.*?</math>,</span> then <math', html)


def test_markdown_never_lets_markup_or_links_through():
    html = to_html('<img src=x onerror=alert(1)> [a](javascript:alert(1)) <b>"')
    assert "<img" not in html
    assert "<b>" not in html
    assert "<a" not in html


def test_a_page_is_self_contained_and_forbids_scripts():
    html = page("Marks", "<h1>Marks</h1>", "<p>text</p>")
    assert "http" not in html.replace("http-equiv", "")
    assert "default-src 'none'" in html
    assert "<script" not in html
    assert '<html lang="en">' in html
    assert '<main id="main">' in html


@pytest.mark.parametrize(
    ("verdict", "score", "word"),
    [("wrong", 1.0, "part"), ("wrong", 0.0, "wrong"), ("right", 4.0, "right"), ("missing", 0.0, "missing")],
)
def test_some_marks_of_several_are_called_partly_right(verdict, score, word):
    assert verdict_of(verdict, score, 4.0) == word


@pytest.mark.parametrize(
    ("name", "index"), [("ns", "<mi>s</mi>"), ("n_s", "<mi>s</mi>"), ("wc2", "<mi>c2</mi>"), ("S2", "<mn>2</mn>")]
)
def test_the_member_of_a_speed_is_set_as_an_index(name, index):
    assert shape(from_expression(name)) == f"<msub><mi>{name[0]}</mi>{index}</msub>"


def test_a_fraction_within_a_line_is_set_at_full_size() -> None:
    assert 'displaystyle="true"' in inline(r"the ratio $1 + \frac{R}{S}$")
    assert "displaystyle" not in inline("the sum $R + S$")


def test_one_mark_is_a_mark_and_zero_has_no_sign():
    assert [of_marks(*pair) for pair in ((0, 1), (7.5, 10), (1, 0.5))] == ["0 of 1 mark", "7.5 of 10 marks", "1 of 0.5 marks"]
    assert [signed(value) for value in (None, 0.0, -0.004, 0.004, -0.25, 1)] == ["–", "0.00", "0.00", "0.00", "−0.25", "+1.00"]
