"""Rules for items about problems, reasons and pictures: an item's option says which problem, its layout is the drawn one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from gearkit.answers.draw_numbers import pool
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import Item
from gearkit.answers.reasoning import (
    layout_problems,
    one_set_losses,
    one_set_problems,
    one_set_reasons,
    questions,
    reasons,
    sketches,
)
from gearkit.answers.reasoning.layout_rows import Row, Train, holding_of
from gearkit.answers.reasoning.reasons import Reasons
from gearkit.answers.reasoning.worked import Problem
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.answers.rules.trains import driving_ranges

_OF_ONE_SET: dict[str, Callable[[SeededRandom], Problem | None]] = {
    "third speed": one_set_problems.third_speed,
    "ratio of a case": one_set_problems.ratio_of_a_case,
    "gap of planets": one_set_problems.gap_of_planets,
    "efficiency of a set": one_set_losses.efficiency_of_a_set,
    "how much too fast": one_set_losses.slip_in_percent,
}
_REASONS: dict[str, Callable[[Train, SeededRandom], Reasons | None]] = {
    "set": reasons.why_a_set_does_what_it_does,
    "combination": reasons.why_a_combination_does_what_it_does,
    "stuck element": reasons.why_a_stuck_element_shows,
}
# A problem is drawn again where its numbers do not serve, before teeth are drawn anew.
_TRIES = 6


def _train(drawn: DrawnValues) -> Train | None:
    """The drawn layout, where there is one."""
    if not drawn.layout_name:
        return None
    like = pool.layout_named(drawn.layout_name)
    in_order = {named_range.name: tuple(named_range.engaged) for named_range in like.ranges}
    rows = tuple(
        Row(row.name, in_order[row.name], row.ratio, holding_of(like, in_order[row.name]))
        for row in driving_ranges(drawn.layout_name, drawn.teeth)
    )
    return Train(drawn.train, rows, like)


def _problem(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> Problem | None:
    name, train = item.option, _train(drawn)
    if name in _OF_ONE_SET:
        return _OF_ONE_SET[name](seeded)
    return layout_problems.OF_A_LAYOUT[name](train, seeded) if train is not None else None


def _about_a_problem(
    ask: Callable[[Problem, int, SeededRandom], BuiltItem | None],
) -> Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]:
    def rule(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
        for _ in range(_TRIES):
            problem = _problem(item, drawn, seeded)
            built = ask(problem, item.marks, seeded) if problem is not None else None
            if built is not None and built.is_clear(questions.TOLERANCE):
                return built
        return None

    return rule


def _own_lines(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The item's option names the problem and, behind the sign #, how many of its last lines are the learner's."""
    name, _, count = item.option.partition("#")
    for _ in range(_TRIES):
        problem = _problem(replace(item, option=name), drawn, seeded)
        built = questions.own_lines(problem, item.marks, int(count)) if problem is not None else None
        if built is not None:
            return built
    return None


def reason(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which statement explains what is shown.

    Args:
        item: its option names what is shown.
        drawn: the drawn layout, where there is one.
        seeded: what is shown, and which statements.
    """
    name, train = item.option, _train(drawn)

    def make(draws: SeededRandom) -> Reasons | None:
        if name == "assembly":
            return one_set_reasons.why_a_set_does_not_go_together(draws.pick(pool.pool()), draws)
        if name == "case":
            return one_set_reasons.why_a_ratio_is_as_it_is(draws)
        return _REASONS[name](train, draws) if train is not None else None

    tried = (reasons.built_item(make, item.marks, seeded) for _ in range(_TRIES))
    return next((built for built in tried if built is not None), None)


def picture(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which of four pictures shows what is asked.

    Args:
        item: its option names the kind of picture.
        drawn: the drawn layout, where there is one.
        seeded: what is asked, and the order of the pictures.
    """
    kind, train = item.option, _train(drawn)
    tried = (sketches.built_item(kind, train, item.marks, seeded) for _ in range(_TRIES))
    return next((built for built in tried if built is not None), None)


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "wrong_line": _about_a_problem(questions.wrong_line),
    "step_order": _about_a_problem(questions.step_order),
    "next_line": _about_a_problem(questions.next_line),
    "own_lines": _own_lines,
    "reason": reason,
    "picture": picture,
}
