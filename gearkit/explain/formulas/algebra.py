"""The worked steps of a ratio in tooth symbols, in LaTeX: what the story tells in numbers, for any tooth counts."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from gearkit.explain.formulas.equations import symbolic
from gearkit.explain.formulas.maths import number, speed
from gearkit.explain.shafts import Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.explain.story import tell
from gearkit.solve.ratios import speed_formula
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import MEMBERS


def worked(layout: Layout, range_name: str | None = None, engaged: Iterable[str] | None = None) -> tuple[str, ...]:
    r"""Return the derivation of a ratio as lines of LaTeX: what is known, each set's equation, each speed, the ratio.

    Args:
        layout: the layout.
        range_name: a range of the layout.
        engaged: names of the engaged elements, instead of a range.

    Raises:
        UsageError: the applied elements give no ratio, or the layout has no such range or element.

    >>> from gearkit.train.catalogue import find
    >>> worked(find("Q36"), "2")[2:]
    ('n_{\\text{carrier 3}} = \\frac{S_{3}}{S_{3} + R_{3}}', 'i = 1 + \\frac{R_{3}}{S_{3}}')
    """
    story = tell(layout, range_name, engaged)
    if story.ratio is None:
        raise UsageError(f"{story.title}. Only a range has a ratio to work out; read the story instead: gearkit explain.")
    merged = Merged(layout, story.engaged)
    chain = [step for step in story.steps if step.part is StoryPart.CHAIN]
    lines = _known(merged, [name for step in chain for name in step.sets])
    for step in chain:
        lines += [line for name in step.sets if (line := symbolic(layout, name).latex) not in lines]
        lines += [_result(layout, story.engaged, member, value) for member, value in _solved_by(merged, step).items()]
    return (*lines, f"i = {story.ratio.latex()}")


def _known(merged: Merged, sets: Iterable[str]) -> list[str]:
    """What the input and the held members give, and which members of the sets have one speed."""
    members = dict.fromkeys(f"{name}.{member}" for name in sets for member in MEMBERS)
    by_shaft: dict[str, list[str]] = {}
    for member in members:
        by_shaft.setdefault(merged.root(member), []).append(member)
    values = {merged.input: "1", merged.ground: "0"}
    lines = []
    for root, own in by_shaft.items():
        sides = [speed(member).latex for member in own] + ([values[root]] if root in values else [])
        if len(sides) > 1:
            lines.append(" = ".join(sides))
    return [r", \quad ".join(lines)] if lines else []


def _solved_by(merged: Merged, step: Step) -> dict[str, Fraction]:
    """One member of each shaft whose speed a step finds: one of the sets that it is found from."""
    by_shaft: dict[str, str] = {}
    for member in step.gives:
        if member.partition(".")[0] in step.sets:
            by_shaft.setdefault(merged.root(member), member)
    return {member: step.gives[member] for member in by_shaft.values()}


def _result(layout: Layout, engaged: tuple[str, ...], member: str, value: Fraction) -> str:
    formula = speed_formula(layout, engaged, member)
    # At tooth counts that are special by design no formula holds; the number does.
    return f"{speed(member).latex} = {formula.latex() if formula else number(value).latex}"
