"""Worked solutions, line by line; one line may be worked as a named mistake has it, and the lines after it go on from there."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from gearkit.answers.comparison.compare import shown
from gearkit.text.phrases import MINUS, localized
from gearkit.words.say import say

Values = Mapping[str, Fraction]
# The text of a line and the value that it gives, worked out from the values of the lines before it.
Working = Callable[[Values], tuple[str, Fraction]]


@dataclass(frozen=True)
class Stage:
    """One line of a solution.

    Args:
        gives: name of the value that it gives.
        does: what it works out, in words without numbers, such as "the speed of sun 3, from set 3".
        right: how it is worked.
        wrong: code of a mistake -> how the line is worked by whoever makes it.
        needs: names of the values of other lines that it uses.
        unit: unit of its value, if any.
    """

    gives: str
    does: str
    right: Working
    wrong: Mapping[str, Working] = field(default_factory=dict)
    needs: tuple[str, ...] = ()
    unit: str = ""


@dataclass(frozen=True)
class Problem:
    """A problem with its solution.

    Args:
        given: the problem in words, with its numbers.
        stages: the solution.
        start: values that are given.
    """

    given: str
    stages: tuple[Stage, ...]
    start: Values = field(default_factory=dict)


@dataclass(frozen=True)
class Line:
    """A line as it is read.

    Args:
        text: the line.
        value: the value that it gives.
    """

    text: str
    value: Fraction


def lines_of(problem: Problem, place: int = -1, code: str = "") -> tuple[Line, ...]:
    """Return the lines of a solution, all right or with one mistake.

    Args:
        problem: the problem.
        place: number of the line with the mistake, from 0; -1 for none.
        code: the mistake.

    Raises:
        ZeroDivisionError: a line has no value.
    """
    values, lines = dict(problem.start), []
    for number, stage in enumerate(problem.stages):
        working = stage.wrong[code] if number == place else stage.right
        text, value = working(values)
        # As one works by hand: the next line takes the number that stands here.
        values[stage.gives] = in_four_figures(value)
        lines.append(Line(text, value))
    return tuple(lines)


def exact_values(problem: Problem) -> tuple[Fraction, ...]:
    """Return the value of each line where nothing is rounded on the way.

    Args:
        problem: the problem.
    """
    values, exact = dict(problem.start), []
    for stage in problem.stages:
        _, values[stage.gives] = stage.right(values)
        exact.append(values[stage.gives])
    return tuple(exact)


def in_four_figures(value: Fraction) -> Fraction:
    """Return a value as it is written.

    Args:
        value: the value.
    """
    return Fraction(shown(value))


def numbered(lines: tuple[Line, ...]) -> str:
    """Return lines as a list with their numbers, in Markdown.

    Args:
        lines: the lines.
    """
    return "\n".join(
        say("- line {number}: {line}", number=number, line=line.text) for number, line in enumerate(lines, start=1)
    )


def differs(right: Fraction, wrong: Fraction) -> bool:
    """Whether two values are more than two percent apart, so that a rounded step does not bring one to the other.

    Args:
        right: the one.
        wrong: the other.
    """
    return abs(right - wrong) * 50 > max(abs(right), abs(wrong))


def order_is_settled(problem: Problem) -> bool:
    """Whether every line needs the one before it, so that they can come in one order only.

    Args:
        problem: the problem.
    """
    return all(before.gives in stage.needs for before, stage in zip(problem.stages, problem.stages[1:], strict=False))


def product(*terms: str) -> str:
    """Return terms with a times sign between."""
    return " × ".join(terms)


def told(value: Fraction, unit: str = "") -> str:
    """Return a value to four figures, with its unit.

    Args:
        value: the value.
        unit: its unit, or "".
    """
    text = shown(value)
    if "." in text and Fraction(text) == value:
        text = text.rstrip("0").rstrip(".")
    return f"{localized(text).replace('-', MINUS)} {say(unit)}".rstrip()


def bracketed(value: Fraction) -> str:
    """Return a value to four figures, in brackets where it has a minus sign.

    Args:
        value: the value.
    """
    return f"({told(value)})" if value < 0 else told(value)
