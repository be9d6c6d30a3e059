"""What a call in a notebook answers in words: as text, and as HTML where the notebook can show it."""

from __future__ import annotations

from html import escape

from gearkit.answers.judge.results import ItemResult
from gearkit.text.markdown import inline, to_html


class Message:
    """Words for the learner, shown as text or as HTML.

    Args:
        text: the words in the small Markdown of items.
        heading: a few words in front.
    """

    def __init__(self, text: str, heading: str = "") -> None:
        self.text = text
        self.heading = heading

    def __str__(self) -> str:
        return f"{self.heading}: {self.text}" if self.heading else self.text

    __repr__ = __str__

    def _repr_html_(self) -> str:
        heading = f"<strong>{escape(self.heading)}.</strong> " if self.heading else ""
        return f'<div role="status">{heading}{inline(self.text)}</div>'


class CheckResult:
    """The outcome of a check, shown as text or as HTML.

    Args:
        result: what marking found.
    """

    def __init__(self, result: ItemResult) -> None:
        self.result = result

    @property
    def right(self) -> bool:
        """Whether the answer earns full marks."""
        return self.result.verdict == "right"

    def __str__(self) -> str:
        sign = "✓" if self.right else "○"
        return f"{sign} {self.result.item}: {self.result.comment}"

    __repr__ = __str__

    def _repr_html_(self) -> str:
        sign = "✓" if self.right else "○"
        return f'<div role="status"><strong>{sign} {escape(self.result.item)}</strong> {to_html(self.result.comment)}</div>'


class Question(Message):
    """The question of an exercise.

    Args:
        prompt: its text.
        item: the exercise's id.
    """

    def __init__(self, prompt: str, item: str) -> None:
        super().__init__(prompt, item)

    def _repr_markdown_(self) -> str:
        return f"**{self.heading}.** {self.text}"

    def _repr_html_(self) -> str:
        return f"<p><strong>{escape(self.heading)}</strong></p>{to_html(self.text)}"
