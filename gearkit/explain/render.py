"""A story on paper: plain text, Markdown, HTML. The words are the story's own; only their dress is made here."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from itertools import groupby
from textwrap import wrap
from typing import TYPE_CHECKING

from gearkit.explain.formulas.maths import Maths
from gearkit.explain.step import Step, StoryPart
from gearkit.text.mathml import from_latex
from gearkit.words.say import say

if TYPE_CHECKING:
    from gearkit.explain.whole_story import Story

_WIDTH = 100
# A formula of more characters is broken: this fits beside the numbers of the steps, and into a notebook.
_FORMULA = 84


def _parts(story: Story) -> Iterator[tuple[StoryPart, list[tuple[int, Step]]]]:
    """The steps by part, numbered through, the parts in the order in which they are first told."""
    numbered = enumerate(story.steps, start=1)
    for part, steps in groupby(numbered, key=lambda item: item[1].part):
        yield part, list(steps)


def as_text(story: Story) -> str:
    """Return a story as plain text."""
    lines = [*wrap(story.title, _WIDTH), "", *wrap(story.preface, _WIDTH)]
    for part, steps in _parts(story):
        lines += ["", say(part), "─" * len(say(part))]
        for number, step in steps:
            head = f"{number:>2}. "
            lines += wrap(step.words, _WIDTH, initial_indent=head, subsequent_indent=" " * len(head))
            for formula in step.formulas:
                first, *rest = broken(formula.text)
                lines += [f"{' ' * len(head)}    {first}", *(f"{' ' * len(head)}        {line}" for line in rest)]
    return "\n".join(lines) + "\n"


def as_markdown(story: Story) -> str:
    """Return a story as Markdown, its formulas between dollar signs."""
    lines = [f"## {_plain(story.title)}", "", _plain(story.preface)]
    for part, steps in _parts(story):
        lines += ["", f"### {say(part)}", ""]
        for number, step in steps:
            lines.append(f"{number}. {_plain(step.words)}")
            for formula in step.formulas:
                for line in latex_lines(formula):
                    lines += ["", f"    $${line}$$"]
            if step.formulas:
                lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _plain(words: str) -> str:
    """Words in which Markdown would see no mark-up."""
    for sign in ("\\", "*", "_", "`", "$", "<", "[", "#", "|"):
        words = words.replace(sign, "\\" + sign)
    return words


def as_html(story: Story) -> str:
    """Return a story as a piece of HTML that stands by itself: no script, no style sheet, formulas in MathML."""
    pieces = [
        f'<section class="story" aria-label="{escape(story.title, quote=True)}">',
        f"<h2>{escape(story.title)}</h2>",
        f"<p>{escape(story.preface)}</p>",
    ]
    for part, steps in _parts(story):
        pieces.append(f"<h3>{escape(say(part))}</h3>")
        pieces.append(f'<ol start="{steps[0][0]}">')
        for _, step in steps:
            formulas = "".join(_formula(formula) for formula in step.formulas)
            pieces.append(f"<li><p>{escape(step.words)}</p>{formulas}</li>")
        pieces.append("</ol>")
    pieces.append("</section>")
    return "\n".join(pieces) + "\n"


def _formula(formula: Maths) -> str:
    # A long formula scrolls by itself and not with the page.
    style = "margin:0 0 0 1.5em;padding:0.25em 0;overflow-x:auto;overflow-y:hidden"
    return "".join(f'<p style="{style}">{from_latex(line)}</p>' for line in latex_lines(formula))


def broken(text: str) -> list[str]:
    """Return a formula in lines: a long one is broken before =, + and −, inside one pair of brackets at most.

    Args:
        text: the formula as plain text.
    """
    if len(text) <= _FORMULA:
        return [text]
    lines, line = [], ""
    for piece in _pieces(text, "=+−", deepest=1):
        if line and len(line) + len(piece) > _FORMULA:
            lines.append(line.rstrip())
            line = ""
        line += piece
    return [*lines, line]


def latex_lines(formula: Maths) -> list[str]:
    """Return a formula in LaTeX: one line, or one for each equality sign where that would be long."""
    if len(formula.text) <= _FORMULA:
        return [formula.latex]
    first, *rest = (piece.rstrip() for piece in _pieces(formula.latex, "=", deepest=0))
    return [f"{first} {rest[0]}", *rest[1:]] if rest else [first]


def _pieces(text: str, signs: str, deepest: int) -> Iterator[str]:
    depth, start = 0, 0
    for place, mark in enumerate(text):
        depth += (mark in "({") - (mark in ")}")
        if mark in signs and depth <= deepest and text[place - 1 : place] == " " and place > start:
            yield text[start:place]
            start = place
    yield text[start:]
