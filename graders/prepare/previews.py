"""A sheet as one learner will see it, and as the marker sees it: with right answers and what each slip looks like."""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.answers import marking
from gearkit.answers.variants import Variant, draw
from graders.prepare.notebook import task_text
from graders.prepare.sheets import Sheet


def for_learner(sheet: Sheet, learner: str, secret: bytes, *, answers: bool = False) -> str:
    """Return every task of a sheet with one learner's numbers, in Markdown.

    Args:
        sheet: the sheet.
        learner: identity, of the class or made up.
        secret: the course's secret, or any other for a trial.
        answers: whether right answers and named mistakes stand below each task, for the marker.
    """
    pieces = []
    for number, entry in enumerate(sheet.items, start=1):
        variant = draw(entry.item, secret=secret, sheet=sheet.name, learner=learner)
        pieces.append(task_text(number, entry.marks, variant))
        if answers:
            pieces.append("\n".join(_key(variant)))
    return "\n\n".join(pieces)


def _key(variant: Variant) -> Sequence[str]:
    lines = [f"Right: {_shown(marking.right_answer(variant))}"]
    seen: set[str] = set()
    for form in variant.key.wrong_forms:
        texts = marking.wrong_texts(variant, form)
        if form.code not in seen:
            seen.add(form.code)
            lines.append(f"{form.code}: {_shown(texts)}")
    return lines


def _shown(texts: dict[str, str]) -> str:
    if len(texts) == 1:
        return next(iter(texts.values()))
    return "; ".join(f"{part} = {text}" for part, text in texts.items())
