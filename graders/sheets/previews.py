"""A sheet as one learner will see it, and as the marker sees it: with right answers and what each slip looks like."""

from __future__ import annotations

import re
from collections.abc import Sequence

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.answers.mistakes import mistake
from gearkit.text.markdown import in_plain_text
from graders.course.course import Course
from graders.course.roster import Learner, read_class_list
from graders.sheets import first_page, notebook
from graders.sheets.notebook import Owner, Seen, hints_text, task_text
from graders.sheets.sheets import Sheet

TRIAL = b"trial secret, for looking at a sheet before there is a course"


def for_learner(sheet: Sheet, learner: str, secret: bytes, *, answers: bool = False, course: Course | None = None) -> str:
    """Return a sheet's rules and every task with one learner's numbers, in Markdown.

    Args:
        sheet: the sheet.
        learner: identity, of the class or made up.
        secret: the course's secret, or any other for a trial.
        answers: whether right answers, named mistakes and hints stand below each task, for the marker.
        course: the course, for its time zone, its rules and its class list; None where there is none yet.
    """
    known = read_class_list(course).find(learner) if course else None
    pieces = [f"# {sheet.title}", "\n".join(f"- {rule}" for rule in first_page.lines(sheet, course, known))]
    if answers:
        pieces += [f"For the marker: {words}" for words in sheet.rules.enforced(due=sheet.due is not None)]
    seen: Seen = {}
    for number, entry in enumerate(sheet.items, start=1):
        variant = sheet.variant(entry.item, secret=secret, learner=learner)
        pieces.append(
            task_text(number, entry.marks, variant, seen) + (hints_text(entry.item) if sheet.rules.hint_cost == 0 else "")
        )
        if answers:
            pieces.append("\n".join([*_key(variant), *_hints(sheet, variant)]))
    return "\n\n".join(pieces)


def in_terminal(preview: str) -> str:
    """Return a preview as a terminal shows it: formulas as they are typed, pictures by their words, titles without marks.

    Args:
        preview: from `for_learner`.
    """
    return re.sub(r"^#+ ", "", in_plain_text(preview), flags=re.MULTILINE)


def as_notebook(sheet: Sheet, learner: str, secret: bytes, course: Course | None = None) -> str:
    """Return the notebook that one learner would be handed, as the text of its file.

    Args:
        sheet: the sheet.
        learner: identity, of the class or made up.
        secret: the course's secret, or any other for a trial.
        course: the course; None where there is none yet.
    """
    known = (read_class_list(course).find(learner) if course else None) or Learner(learner, learner)
    variants = [sheet.variant(entry.item, secret=secret, learner=learner) for entry in sheet.items]
    return notebook.as_text(notebook.trial(sheet, Owner(known), variants, first_page.lines(sheet, course, known)))


def _hints(sheet: Sheet, variant: Variant) -> list[str]:
    return (
        [f"Hint {number}: {hint}" for number, hint in enumerate(variant.item.hints, start=1)] if sheet.rules.hint_cost else []
    )


def _key(variant: Variant) -> Sequence[str]:
    lines = [f"Right: {_shown(marking.right_answer(variant))}"]
    seen: set[str] = set()
    for form in variant.key.wrong_forms:
        texts = marking.wrong_texts(variant, form)
        if form.code not in seen:
            seen.add(form.code)
            lines.append(f"{form.code} ({mistake(form.code).name}): {_shown(texts)}")
    return lines


def _shown(texts: dict[str, str]) -> str:
    if len(texts) == 1:
        return next(iter(texts.values()))
    return "; ".join(f"{part} = {text}" for part, text in texts.items())
