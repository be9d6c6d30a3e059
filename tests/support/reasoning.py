"""The problem behind an exercise about a worked solution, drawn once more from what was drawn."""

from __future__ import annotations

from gearkit.answers.draw_numbers.seeded_random import Replay
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.reasoning import rules
from gearkit.answers.reasoning.worked import Problem


def problem_of(variant: Variant) -> Problem:
    """The problem whose text the learner reads; a draw that did not serve comes before it."""
    replay = Replay(variant.throws)
    for _ in range(50):
        problem = rules._problem(variant.item, variant.drawn, replay)
        if problem is not None and problem.given == variant.words["problem"]:
            return problem
        if problem is not None:
            _skip(variant, problem, replay)
    raise AssertionError("no such problem was drawn")


def _skip(variant: Variant, problem: Problem, replay: Replay) -> None:
    """Take away what the question drew about a problem that did not serve."""
    from gearkit.answers.reasoning import questions

    ask = {"wrong_line": questions.wrong_line, "step_order": questions.step_order, "next_line": questions.next_line}
    ask[variant.item.rule](problem, variant.item.marks, replay)
