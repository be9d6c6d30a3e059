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
            lines += [f"{' ' * len(head)}    {formula.text}" for formula in step.formulas]
    return "\n".join(lines) + "\n"


def as_markdown(story: Story) -> str:
    """Return a story as Markdown, its formulas between dollar signs."""
    lines = [f"## {_plain(story.title)}", "", _plain(story.preface)]
    for part, steps in _parts(story):
        lines += ["", f"### {say(part)}", ""]
        for number, step in steps:
            lines.append(f"{number}. {_plain(step.words)}")
            for formula in step.formulas:
                lines += ["", f"    $${formula.latex}$$"]
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
    return f'<p style="{style}">{from_latex(formula.latex)}</p>'
