"""What a rule gets and what it gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from gearkit.answers.items import Item
from gearkit.answers.kinds.numbers import NumberTarget
from gearkit.answers.targets import Key, Part
from gearkit.train.layout import Layout

# A rounding to three figures is off by half a percent at most; wrong answers keep twice that distance.
_CLEAR = Fraction(1, 100)


@dataclass(frozen=True)
class Facts:
    """What was drawn for one variant.

    Args:
        values: every drawn number, hidden ones too.
        visible: those that the learner may see.
        layout: the layout with drawn tooth counts, if the item has one.
    """

    values: Mapping[str, Fraction]
    visible: Mapping[str, Fraction]
    layout: Layout | None

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
            gap = max(_CLEAR, 2 * item.tolerance.relative) * max(abs(target.value), abs(content))
            return bool(abs(target.value - content) > max(gap, 2 * item.tolerance.absolute))
        return bool(target.wrong_text(content) != target.right_text())
