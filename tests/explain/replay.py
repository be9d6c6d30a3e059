"""Replays a story against the solver: every speed it gives, every speed it uses, every formula it prints."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from itertools import pairwise

from gearkit.explain.step import Step, StoryPart
from gearkit.explain.whole_story import Story
from gearkit.solve.exact.linear import solve
from gearkit.solve.loads.balance import balance
from gearkit.solve.mobility import element_rows, set_rows, shaft_columns
from gearkit.solve.ratios import symbol_suffixes
from gearkit.solve.several.motions import motions
from gearkit.solve.several.terminals import terminals_of
from gearkit.solve.several.torques_given import torques_given
from gearkit.text.phrases import member_label
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING
from tests.support.exact_text import exact_value

# Numbers are printed with four figures at least, so a sum may be off by a part in a thousand of its terms.
PRINTED = Fraction(1, 1000)


def true_speeds(layout: Layout, engaged: tuple[str, ...], given: Mapping[str, Fraction]) -> dict[str, Fraction | None]:
    """Return every speed that the solver's equations fix, from the speeds put in.

    Args:
        layout: the layout.
        engaged: names of the applied elements.
        given: input or output -> speed.
    """
    columns = shaft_columns(layout) if layout.plain else terminals_of(layout, engaged).columns
    size = max(columns.values()) + 1
    rows = set_rows(layout, columns) + element_rows(layout, columns, engaged)
    sides: list[Fraction | int] = [0] * len(rows)
    for end, value in given.items():
        rows.append([int(column == columns[end]) for column in range(size)])
        sides.append(value)
    values = solve(rows, sides)
    assert values is not None, "the story puts in speeds that cannot be"
    names = (*layout.members, *layout.further_shafts, HOUSING)
    return {name: Fraction(0) if columns[name] == -1 else values[columns[name]] for name in names}


def some_motion(layout: Layout, engaged: tuple[str, ...], given: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """Return one way in which everything can turn: what is fixed, and what is free at speeds of our choice.

    Args:
        layout: the layout.
        engaged: names of the applied elements.
        given: end or free member -> speed.
    """
    chosen = dict(given)
    while True:
        found = true_speeds(layout, engaged, chosen)
        free = next((name for name, value in found.items() if value is None), None)
        if free is None:
            return {name: value for name, value in found.items() if value is not None}
        chosen[free] = Fraction(7 + len(chosen), 5)


def replay(story: Story) -> dict[str, Fraction]:
    """Check a story step by step and return the speeds that it has given in the end."""
    truth: dict[str, Fraction | None] = {}
    motion: dict[str, Fraction] = {}
    known: dict[str, Fraction] = {}
    expressed: set[str] = set()
    letters: dict[str, Fraction] = {}
    torque_letters: dict[str, Fraction] = {}
    for step in story.steps:
        if step.assumes:
            # A new derivation starts: nothing found before may be used in it.
            truth = true_speeds(story.layout, step.engaged, step.assumes)
            motion = some_motion(story.layout, step.engaged, step.assumes)
            known, expressed, letters = {}, set(), {}
        assert set(step.uses) <= known.keys() | expressed, f"used before it was found: {step.words}"
        for letter, member in step.letters.items():
            assert letter not in letters
            speed = truth[member]
            assert speed is not None
            letters[letter] = speed
        for member, form in step.forms.items():
            assert form.at(letters) == truth[member], step.words
            expressed.add(member)
        for member, value in step.gives.items():
            assert value == truth[member], step.words
            known[member] = value
        torque_letters |= {
            letter: torques_in_balance(story)[member_label(name)] for letter, name in step.torque_letters.items()
        }
        check_formulas(story, step, motion, letters, torque_letters)
        if step.gives and letters:
            expressed, letters = set(), {}
    assert not letters, "an unknown was never found"
    return known


def check_formulas(
    story: Story,
    step: Step,
    motion: Mapping[str, Fraction],
    letters: Mapping[str, Fraction],
    torque_letters: Mapping[str, Fraction],
) -> None:
    """Put the solver's numbers into every formula of a step, as printed, and compare its sides.

    Args:
        story: the story.
        step: the step.
        motion: member -> speed.
        letters: unknown -> value.
        torque_letters: unknown torque -> value.
    """
    by_label = {member_label(name): speed for name, speed in motion.items()}
    values: dict[str, Fraction] = {**teeth(story.layout), **letters}
    if story.ratio is not None:
        values["i"] = story.ratio.exact
    for formula in step.formulas:
        if formula.text.startswith(("T(", "−T(")) or step.part is StoryPart.LOAD:
            check_torques(story, formula.text, {**values, **torque_letters})
            continue
        named = dict(values)
        text = formula.text.replace("·", "*").replace("−", "-")
        for member in re.findall(r"n\(([^)]*)\)", text):
            speed = by_label[member]
            name = "n_" + re.sub(r"\W", "_", member)
            named[name] = speed
            text = text.replace(f"n({member})", name)
        text = re.sub(r"\d+\.\d+", lambda number: f"({Fraction(number[0])})", text)
        sides = [exact_value(side.strip(), named) for side in text.split(" = ")]
        sizes = [exact_value(side.strip().replace("-", "+").lstrip("+"), {k: abs(v) for k, v in named.items()}) for side in text.split(" = ")]  # fmt: skip
        assert len(sides) >= 2, formula.text
        for first, second in pairwise(sides):
            assert abs(first - second) <= PRINTED * max(sizes), f"{formula.text} in: {step.words}"


def torques_in_balance(story: Story) -> dict[str, Fraction]:
    """Return torques without losses as a story names them: for 1 on the input, or for given ones where there are several.

    Args:
        story: the story.
    """
    if not story.layout.plain:
        found = motions(story.layout, story.engaged)
        chosen = found.choices[0]
        given = {name: Fraction(60 + 7 * number) for number, name in enumerate(found.terminals.names) if name not in chosen}
        several = torques_given(story.layout, story.engaged, given, basic_efficiency=1).terminals
        return {name: torque for name, torque in several.items() if torque is not None}
    statics = balance(story.layout, story.engaged, Fraction(1), {})
    assert statics is not None
    every = {**statics.members, **statics.elements, "output": statics.output, "housing": statics.housing, "input": Fraction(1)}
    return {member_label(name): torque for name, torque in every.items() if torque is not None}


def check_torques(story: Story, formula: str, values: Mapping[str, Fraction]) -> None:
    """Put torques in balance into a formula between torques, as printed, and compare its sides.

    Args:
        story: the story.
        formula: such as "T(M1) = −(S1/(S1 + R1))·T(input)".
        values: tooth symbol -> count, letter of an unknown torque -> torque.
    """
    torques = torques_in_balance(story)
    named, text = dict(values), formula.replace("·", "*").replace("−", "-")
    for name in re.findall(r"T\(([^)]*)\)", text):
        symbol = "T_" + re.sub(r"\W", "_", name)
        named[symbol] = torques[name]
        text = text.replace(f"T({name})", symbol)
    text = re.sub(r"\d+\.\d+", lambda number: f"({Fraction(number[0])})", text)
    sides = [exact_value(side.strip(), named) for side in text.split(" = ")]
    sizes = [exact_value(side.strip().replace("-", "+").lstrip("+"), {k: abs(v) for k, v in named.items()}) for side in text.split(" = ")]  # fmt: skip
    assert len(sides) >= 2, formula
    for first, second in pairwise(sides):
        assert abs(first - second) <= PRINTED * max(sizes), formula


def teeth(layout: Layout) -> dict[str, Fraction]:
    """Return every tooth symbol with its value."""
    values: dict[str, Fraction] = {}
    for pset in layout.sets:
        suffix = symbol_suffixes(layout)[pset.name]
        sun, ring = pset.teeth
        values |= {f"S{suffix}": Fraction(sun), f"R{suffix}": Fraction(ring)}
        values |= {f"P{suffix}": Fraction(pset.sun_pinion_teeth or 1), f"Q{suffix}": Fraction(pset.ring_pinion_teeth or 1)}  # fmt: skip
    return values
