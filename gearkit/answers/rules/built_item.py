"""What a rule gets and what it gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Any

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.comparison.formulas import Pairs
from gearkit.answers.draw_numbers.pool import Teeth, with_teeth
from gearkit.answers.item import AnswerKind
from gearkit.answers.judge.checkers import Key, Part
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.layouts import own_teeth
from gearkit.answers.read.expression import Pair
from gearkit.train.layout import Layout


@dataclass(frozen=True)
class DrawnValues:
    """What was drawn for one variant.

    Args:
        values: every drawn number, hidden ones too.
        pairs: the same as whole numbers (above, below), for formulas.
        visible: those that the learner may see.
        layout_name: the catalogue layout, or "".
        teeth: its drawn tooth counts, set by set.
        sets: the sets drawn from the pool, in the order of the item's suffixes.
        train_text: the text of a layout that is none of the catalogue, or "".
    """

    values: Mapping[str, Fraction]
    pairs: Pairs
    visible: Mapping[str, Fraction]
    layout_name: str = ""
    teeth: tuple[Teeth, ...] = ()
    sets: tuple[Teeth, ...] = ()
    train_text: str = ""

    @cached_property
    def layout(self) -> Layout | None:
        """The layout with drawn tooth counts; built only when something asks for it."""
        if self.train_text:
            return own_teeth.with_teeth(self.train_text, self.teeth)
        return with_teeth(self.layout_name, self.teeth) if self.layout_name else None

    @property
    def train(self) -> Layout:
        """The drawn layout, for a rule that needs one."""
        assert self.layout is not None
        return self.layout


@dataclass(frozen=True)
class BuiltItem:
    """What a variant asks and how it is judged.

    Args:
        parts: the parts to fill in.
        key: right and wrong answers.
        words: what stands in the prompt for ``<name>``.
    """

    parts: tuple[Part, ...]
    key: Key
    words: Mapping[str, str] = field(default_factory=dict)

    def is_clear(self, tolerance: Tolerance) -> bool:
        """Return whether every named wrong answer is clear of the right one in a part, and near it in none.

        Args:
            tolerance: the item's.
        """
        return all(
            any(self._apart(part, content, tolerance) for part, content in form.contents.items())
            and not any(self._near(part, content, tolerance) for part, content in form.contents.items())
            for form in self.key.wrong_forms
            if form.contents
        )

    def _apart(self, part: str, content: Any, tolerance: Tolerance) -> bool:
        checker = self.key.checkers[part]
        if isinstance(checker, NumberChecker):
            return apart(checker.value.as_integer_ratio(), content.as_integer_ratio(), tolerance)
        return bool(checker.wrong_text(content) != checker.right_text())

    def _near(self, part: str, content: Any, tolerance: Tolerance) -> bool:
        checker = self.key.checkers[part]
        return (
            isinstance(checker, NumberChecker)
            and checker.kind is not AnswerKind.INTEGER
            and near(checker.value.as_integer_ratio(), content.as_integer_ratio(), tolerance)
        )


def near(right: Pair, wrong: Pair, tolerance: Tolerance) -> bool:
    """Return whether a wrong number is not the right one and yet so near that a rounded step could make it so.

    Args:
        right: the right number.
        wrong: the wrong one.
        tolerance: what the item allows.
    """
    return right[0] * wrong[1] != wrong[0] * right[1] and not apart(right, wrong, tolerance)


def apart(right: Pair, wrong: Pair, tolerance: Tolerance) -> bool:
    """Return whether a wrong number is clear of the right one, with whole numbers only: a draw asks many times.

    Args:
        right: the right number.
        wrong: the wrong one.
        tolerance: what the item allows.
    """
    above, below = right[0] * wrong[1], wrong[0] * right[1]
    distance, (share, of, room, of_unit) = abs(above - below), tolerance.clear
    if distance * of <= share * max(abs(above), abs(below)):
        return False
    return distance * of_unit > room * right[1] * wrong[1]
