"""Compares what was planned for each learner with what was marked."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from graders.book.record import LearnerMarks, MarkSheet
from graders.demo.plan import PlannedSubmission


@dataclass(frozen=True)
class Check:
    """The outcome of the comparison.

    Args:
        agreed: learners whose marks are exactly those planned, who handed in nothing included.
        differences: one sentence for each learner whose marks are not.
    """

    agreed: tuple[str, ...]
    differences: tuple[str, ...]


def compare(plan: tuple[PlannedSubmission, ...], learners: tuple[str, ...], marks: MarkSheet) -> Check:
    """Compare the plan with the mark sheet, item by item, named mistakes and lateness included.

    Args:
        plan: what was handed in.
        learners: everybody on the class list.
        marks: what was marked.
    """
    planned = {planned_submission.learner: planned_submission for planned_submission in plan}
    marked = {learner_marks.learner: learner_marks for learner_marks in marks.learners}
    agreed, differences = [], []
    for learner in learners:
        words = _difference(planned.get(learner), marked.get(learner), learner in marks.absent)
        if words:
            differences.append(f"{learner}: {words}")
        else:
            agreed.append(learner)
    return Check(tuple(agreed), tuple(differences))


def _difference(plan: PlannedSubmission | None, marked: LearnerMarks | None, absent: bool) -> str:
    if plan is None:
        return "" if absent and marked is None else "planned to hand in nothing, but is not listed as missing"
    if marked is None:
        return f"planned {float(plan.earns):g} marks, but was not marked"
    by_item = {item.item: item for item in marked.items}
    wrong = []
    for answer in plan.answers:
        item = by_item.get(answer.item)
        if item is None or Fraction(item.score).limit_denominator(1000) != answer.earns:
            earned = "nothing" if item is None else f"{item.score:g}"
            wrong.append(f"{answer.item} ({answer.note}) planned {float(answer.earns):g}, marked {earned}")
        elif answer.mistake and answer.mistake not in item.mistakes:
            wrong.append(f"{answer.item} shows {answer.mistake}, found {', '.join(item.mistakes) or 'no named mistake'}")
    if (plan.hours_early < 0) != (marked.penalty > 0):
        wrong.append(f"lateness: handed in {plan.hours_early} hours before it was due, {marked.penalty:g} marks taken off")
    return "; ".join(wrong)
