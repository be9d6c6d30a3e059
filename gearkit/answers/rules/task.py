"""What a rule gets and what it gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Any

from gearkit.answers.compare import Tolerance
from gearkit.answers.items import Item
from gearkit.answers.kinds.numbers import NumberTarget
from gearkit.answers.pool import Teeth, with_teeth
from gearkit.answers.targets import Key, Part
from gearkit.train.layout import Layout


@dataclass(frozen=True)
class Facts:
    """What was drawn for one variant.

    Args:
        values: every drawn number, hidden ones too.
        visible: those that the learner may see.
        layout_name: the catalogue layout, or "".
        teeth: its drawn tooth counts, set by set.
    """

    values: Mapping[str, Fraction]
    visible: Mapping[str, Fraction]
    layout_name: str = ""
    teeth: tuple[Teeth, ...] = ()

    @cached_property
    def layout(self) -> Layout | None:
        """The layout with drawn tooth counts; built only when something asks for it."""
        return with_teeth(self.layout_name, self.teeth) if self.layout_name else None

    @property
    def train(self) -> Layout:
        """The drawn layout, for a rule that needs one."""
        assert self.layout is not None
        return self.layout


@dataclass(frozen=True)
class Task:
    """What a variant asks and how it is judged.

    Args:
        parts: the parts to fill in.
        key: right and wrong answers.
        words: what stands in the prompt for ``<name>``.
    """

    parts: tuple[Part, ...]
    key: Key
    words: Mapping[str, str] = field(default_factory=dict)

    def apart(self, part: str, content: Any, item: Item) -> bool:
        """Return whether a wrong content of a part is clear of the right one.

        Args:
            part: the part.
            content: the wrong content.
            item: the item, for its tolerance.
        """
        target = self.key.targets[part]
        if isinstance(target, NumberTarget):
            return _numbers_apart(target.value, content, item.tolerance)
        return bool(target.wrong_text(content) != target.right_text())


def _numbers_apart(right: Fraction, wrong: Fraction, tolerance: Tolerance) -> bool:
    """Compare with whole numbers only: a draw makes this comparison many times."""
    above, below = right.numerator * wrong.denominator, wrong.numerator * right.denominator
    distance, unit = abs(above - below), right.denominator * wrong.denominator
    share, of, room, of_unit = tolerance.clear
    if distance * of <= share * max(abs(above), abs(below)):
        return False
    return distance * of_unit > room * unit
