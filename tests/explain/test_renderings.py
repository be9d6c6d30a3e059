"""A story on paper: the same words and formulas as text, Markdown and HTML; worked steps in LaTeX."""

from __future__ import annotations

import re
from fractions import Fraction
from html import unescape
from html.parser import HTMLParser

import pytest

from gearkit.explain.formulas.algebra import worked
from gearkit.explain.formulas.maths import equation, linear, number, over, product, symbol, total
from gearkit.explain.render import broken, latex_lines
from gearkit.explain.story import tell
from gearkit.explain.whole_story import Story
from gearkit.solve.ratios import speed_formula
from gearkit.solve.speeds import speeds
from gearkit.train.catalogue import entries, find
from gearkit.words.errors import UsageError
from gearkit.words.terms import OUTPUT, Verdict
from tests.explain.replay import teeth

STORIES = [tell(entry.layout, item.name) for entry in entries() for item in entry.layout.ranges]
STORIES += [tell(find("Q36"), engaged="ABC"), tell(find("Q24"), engaged="BD"), tell(find("Q24"), engaged="AB")]


class Balanced(HTMLParser):
    """Fails on a tag that is closed out of turn."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.open.append(tag)
        self.seen.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def title_of(story: object) -> str:
    return story.title if isinstance(story, Story) else str(story)


@pytest.mark.parametrize("story", STORIES, ids=title_of)
def test_the_html_is_well_formed_self_contained_and_complete(story: Story) -> None:
    html = story.html()
    parser = Balanced()
    parser.feed(html)
    assert parser.open == []
    assert not {"script", "link", "img", "iframe"} & set(parser.seen)
    assert "http" not in html
    assert parser.seen.count("li") == len(story.steps)
    assert parser.seen.count("math") == sum(len(latex_lines(formula)) for step in story.steps for formula in step.formulas)
    # A formula that could not be set would stand as code.
    assert "code" not in parser.seen
    plain = unescape(re.sub(r"<[^>]*>", "", html))
    assert all(step.words in plain for step in story.steps)


@pytest.mark.parametrize("story", STORIES, ids=title_of)
def test_the_text_holds_every_word_and_formula_in_order(story: Story) -> None:
    text = " ".join(story.text().split())
    place = 0
    for step in story.steps:
        for piece in (step.words, *(formula.text for formula in step.formulas)):
            place = text.index(" ".join(piece.split()), place)


def test_the_text_fits_a_terminal() -> None:
    for story in STORIES:
        lines = story.text().splitlines()
        formulas = {formula.text for step in story.steps for formula in step.formulas}
        assert all(len(line) <= 100 for line in lines if line.strip() not in formulas)


def test_the_steps_are_numbered_through_all_parts() -> None:
    for story in STORIES:
        numbers = [int(n) for n in re.findall(r"^ ?(\d+)\. ", story.text(), re.MULTILINE)]
        assert numbers == list(range(1, len(story.steps) + 1))


def test_each_part_of_a_story_has_one_heading() -> None:
    for story in STORIES:
        headings = re.findall(r"^### (.*)$", story.markdown(), re.MULTILINE)
        assert len(headings) == len(set(headings))


@pytest.mark.parametrize("story", STORIES, ids=title_of)
def test_the_markdown_sets_every_formula_between_dollar_signs(story: Story) -> None:
    markdown = story.markdown()
    assert markdown.count("$$") == 2 * sum(len(latex_lines(formula)) for step in story.steps for formula in step.formulas)
    for step in story.steps:
        for formula in step.formulas:
            assert f"$${formula.latex}$$" in markdown


def test_names_that_look_like_markup_stay_words() -> None:
    from dataclasses import replace

    layout = replace(find("Q24"), name="<b>*Box*</b> $5 & more", text="")
    story = tell(layout, "1")
    assert "<b>" not in story.html()
    assert "&lt;b&gt;*Box*&lt;/b&gt; $5 &amp; more" in story.html()
    assert r"\<b>\*Box\*\</b> \$5 & more" in story.markdown()


def test_latex_has_balanced_braces_and_brackets() -> None:
    for story in STORIES:
        for step in story.steps:
            for formula in step.formulas:
                assert formula.latex.count("{") == formula.latex.count("}")
                assert formula.latex.count(r"\left(") == formula.latex.count(r"\right)")


@pytest.mark.parametrize(
    ("piece", "text", "latex"),
    [
        (product(number(3), linear(Fraction(1), [("x", Fraction(-2))])), "3·(1 − 2·x)", r"3 \cdot \left(1 - 2 \cdot x\right)"),
        (total([(1, number(1)), (-1, number(-2))]), "1 + 2", "1 + 2"),
        (total([(1, number(1)), (1, linear(Fraction(0), [("x", Fraction(-2))]))]), "1 − 2·x", r"1 - 2 \cdot x"),
        (over(total([(1, symbol("S1")), (1, symbol("R1"))]), symbol("S1")), "(S1 + R1)/S1", r"\frac{S_{1} + R_{1}}{S_{1}}"),
        (product(number(93), number(Fraction(59) / 152)), "93·(59/152)", r"93 \cdot \frac{59}{152}"),
        (product(number(26), number(-3)), "26·(−3)", r"26 \cdot \left(-3\right)"),
        (equation(symbol("x"), number(Fraction(49324) / 200665)), "x = 0.2458", "x = 0.2458"),
    ],
)  # fmt: skip
def test_brackets_stand_where_a_reader_needs_them(piece: object, text: str, latex: str) -> None:
    assert (piece.text, piece.latex) == (text, latex)


def test_the_worked_steps_end_in_the_ratio_and_name_what_is_known() -> None:
    lines = worked(find("Q36"), "6")
    assert lines[0] == (
        r"n_{\text{sun 1}} = n_{\text{sun 2}}, \quad n_{\text{carrier 1}} = n_{\text{carrier 2}} = 0, "
        r"\quad n_{\text{ring 1}} = 1"
    )
    assert lines[2] == r"n_{\text{sun 1}} = -\frac{R_{1}}{S_{1}}"
    assert lines[-2] == r"n_{\text{ring 2}} = \frac{R_{1} \, S_{2}}{S_{1} \, R_{2}}"
    assert lines[-1] == r"i = \frac{S_{1} \, R_{2}}{R_{1} \, S_{2}}"


def test_every_speed_in_tooth_symbols_has_the_solvers_value() -> None:
    checked = 0
    for entry in entries():
        for item in entry.layout.ranges:
            if tell(entry.layout, item.name).mobility.verdict is not Verdict.RANGE:
                continue
            found = speeds(entry.layout, item.engaged)
            for member, value in {**found.members, OUTPUT: found.of(OUTPUT)}.items():
                formula = speed_formula(entry.layout, item.engaged, member)
                assert formula is not None
                assert formula.at(teeth(entry.layout)) == value
                checked += 1
    assert checked > 500


def test_no_ratio_no_worked_steps() -> None:
    with pytest.raises(UsageError, match="Only a range has a ratio to work out"):
        worked(find("Q36"), "N")


def test_a_long_formula_is_broken_before_its_signs_and_loses_nothing() -> None:
    text = "i = (S1·S2·S3 + S1·S2·R3 + S1·R2·S3 + R1·S2·S3 + R1·S2·R3 + S1·R2·R3)/(R1·S2·S3 + R1·R2·S3) = 4.0683"
    lines = broken(text)
    assert len(lines) > 1
    assert max(map(len, lines)) <= 84
    assert " ".join(lines) == text
    assert all(line[0] in "=+−" for line in lines[1:])
    for name in ("Q36", "Q48", "eight_range_four_sets_second_teeth"):
        for item in find(name).ranges:
            assert max(map(len, tell(find(name), item.name).text().splitlines())) <= 100, item.name
