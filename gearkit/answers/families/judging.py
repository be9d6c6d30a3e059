"""Questions about worked solutions, reasons and levers of any layout, made as the lessons' own are.

Prompt, marks and hints come from the lessons' items (`reasoning.lessons`), the problems, reasons and pictures from the
same functions: nothing is told twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from functools import partial
from itertools import pairwise

from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.layouts.family import Ask, Case, Family
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.reasoning import layout_problems, lessons, questions, ratio_problem, reasons, sketches
from gearkit.answers.reasoning.layout_rows import Row
from gearkit.answers.reasoning.layout_rows import Train as RangesOf
from gearkit.answers.reasoning.worked import Problem, differs
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.train.layout import Layout
from gearkit.words.say import later, say

_OF_ITEM: dict[tuple[str, str], Item] = {(item.rule, item.option): item for item in lessons.ITEMS if item.draw.layout}
# A problem is drawn again where its numbers do not serve, before teeth are drawn anew.
_TRIES = 6
_MOST_RANGES = 3
_TO_DO = {
    "wrong_line": later("find the wrong line"),
    "step_order": later("order the steps"),
    "next_line": later("the next line"),
}
_ASK: dict[str, Callable[[Problem, int, SeededRandom], BuiltItem | None]] = {
    "wrong_line": questions.wrong_line,
    "step_order": questions.step_order,
    "next_line": questions.next_line,
}
_EASY, _MIDDLE, _DIRECT = 2, 3, Fraction(1)


def _rows(train: Train) -> tuple[Row, ...]:
    one_ways = set(train.one_ways)
    return tuple(Row(drive.name, drive.engaged, drive.ratio, frozenset(drive.engaged) & one_ways) for drive in train.drives)


def _ranges_of(ask: Ask) -> RangesOf:
    return RangesOf(ask.train.layout, _rows(ask.train), ask.own.layout)


def _row(train: RangesOf, name: str) -> Row:
    return next(row for row in train.rows if row.name == name)


def _level(item: Item) -> int:
    return 1 if item.marks <= _EASY else 2 if item.marks <= _MIDDLE else 3


def _case(item: Item, about: tuple[str, ...], title: str, asks: frozenset[str], tells: frozenset[str]) -> Case:
    return Case(about, title, item.prompt, item.marks, _level(item), item.hints, asks=asks, tells=tells)


# How a problem is made of the ranges' names that it is about.
_Make = Callable[[RangesOf, tuple[str, ...], SeededRandom], Problem | None]


def _ratio(train: RangesOf, about: tuple[str, ...], seeded: SeededRandom) -> Problem | None:
    return ratio_problem.ratio_set_by_set(train.layout, _row(train, about[0]))


def _of_a_range(
    make: Callable[[Layout, Row, SeededRandom], Problem | None],
) -> _Make:
    return lambda train, about, seeded: make(train.layout, _row(train, about[0]), seeded)


def _upshift(train: RangesOf, about: tuple[str, ...], seeded: SeededRandom) -> Problem | None:
    low, high = (_row(train, name) for name in about)
    return layout_problems.engine_speed_after_an_upshift(train.layout, low, high, seeded)


def _everything_of(train: Train, row: Drive) -> frozenset[str]:
    """What the lines of a ratio, worked set by set, print of a range."""
    facts = {f"ratio {row.name}", f"still {row.name}", f"sets {row.name}", f"fastest {row.name}", f"chart {row.name}"}
    return frozenset(facts | {f"{what} {row.name} {name}" for what in ("speed", "direction") for name in train.layout.members})


def _ratio_cases(rule: str, train: Train) -> Iterator[Case]:
    item, like = _OF_ITEM[rule, "ratio set by set"], train.layout
    count = 0
    for row, drive in zip(_rows(train), train.drives, strict=True):
        problem = ratio_problem.ratio_set_by_set(like, row) if drive in train.distinct else None
        # A single set and its ratio are a line each: nothing to order.
        if problem is None or len(problem.stages) < 3 or count == _MOST_RANGES:
            continue
        count += 1
        asks = frozenset({f"lines {row.name}"} | ({f"ratio {row.name}"} if rule == "next_line" else set()))
        yield _case(
            item,
            (row.name,),
            say("ratio of range {row}, set by set: {to_do}", row=row.name, to_do=say(_TO_DO[rule])),
            asks,
            _everything_of(train, drive),
        )


def _range_cases(rule: str, option: str, what: str, fact: str, train: Train) -> Iterator[Case]:
    """One forward range, and for the housing, where the signs differ, one backward: more would be the same with other numbers."""
    item = _OF_ITEM[rule, option]
    ways = (train.forward, train.reverse) if fact == "housing" else (train.forward,)
    for row in [row for rows in ways for row in [drive for drive in rows if differs(drive.ratio, _DIRECT)][:1]]:
        asks = frozenset({f"lines of {fact} {row.name}"} | ({f"{fact} {row.name}"} if rule == "next_line" else set()))
        tells = frozenset({f"chart {row.name}", f"ratio {row.name}", f"{fact} {row.name}"})
        if fact == "housing":
            tells |= {f"output torque {row.name}"}
        yield _case(
            item,
            (row.name,),
            say("{what} in range {row}: {to_do}", what=say(what), row=row.name, to_do=say(_TO_DO[rule])),
            asks,
            tells,
        )


def _upshift_cases(rule: str, train: Train) -> Iterator[Case]:
    item = _OF_ITEM[rule, "upshift"]
    shifts = [
        pair
        for pair in pairwise(train.forward)
        if all(differs(row.ratio, _DIRECT) for row in pair) and differs(*(row.ratio for row in pair))
    ]
    for low, high in shifts[:1]:
        names = f"{low.name} {high.name}"
        asks = frozenset({f"lines of shift {names}"} | ({f"speed after {names}"} if rule == "next_line" else set()))
        tells = frozenset({f"ratio {low.name}", f"ratio {high.name}", f"speed after {names}", f"step {names}"})
        yield _case(
            item,
            (low.name, high.name),
            say("upshift from {low} to {high}: {to_do}", low=low.name, high=high.name, to_do=say(_TO_DO[rule])),
            asks,
            tells,
        )


def _built(rule: str, make: _Make, ask: Ask) -> BuiltItem | None:
    train = _ranges_of(ask)
    for _ in range(_TRIES):
        problem = make(train, ask.about, ask.seeded)
        built = _ASK[rule](problem, ask.item.marks, ask.seeded) if problem is not None else None
        if built is not None and built.is_clear(questions.TOLERANCE):
            return built
    return None


def _lever_cases(train: Train) -> Iterator[Case]:
    item = _OF_ITEM["picture", "range"]
    for row in train.distinct[:_MOST_RANGES]:
        if not sketches.has_a_lever(train.layout, row.engaged):
            continue
        told = _everything_of(train, row) - {f"ratio {row.name}"}
        yield _case(
            item, (row.name,), say("choose the lever: range {row}", row=row.name), frozenset({f"lever {row.name}"}), told
        )


def _lever(ask: Ask) -> BuiltItem | None:
    train = _ranges_of(ask)
    one_row = replace(train, rows=(_row(train, ask.about[0]),))
    tried = (sketches.built_item("range", one_row, ask.item.marks, ask.seeded) for _ in range(_TRIES))
    return next((built for built in tried if built is not None), None)


def _reason_cases(option: str, title: str, asks: str, train: Train) -> Iterator[Case]:
    # What a one-way clutch does besides is no part of these reasons.
    if train.one_ways:
        return
    charts = frozenset(f"chart {row.name}" for row in train.drives) if option != "combination" else frozenset({"states"})
    yield _case(_OF_ITEM["reason", option], (), say(title), frozenset({asks}), charts)


def _reason(make: Callable[[RangesOf, SeededRandom], reasons.Reasons | None], ask: Ask) -> BuiltItem | None:
    train = _ranges_of(ask)
    tried = (reasons.built_item(partial(make, train), ask.item.marks, ask.seeded) for _ in range(_TRIES))
    return next((built for built in tried if built is not None), None)


_RULES = {"wrong-line": "wrong_line", "steps": "step_order", "next-line": "next_line"}
_KINDS = {"wrong_line": AnswerKind.WRONG_LINE, "step_order": AnswerKind.STEPS, "next_line": AnswerKind.NEXT_LINE}


def _problem_families() -> Iterator[Family]:
    made: dict[str, tuple[str, int, str, Callable[[str, Train], Iterator[Case]], _Make]] = {
        "ratio": ("ratio", 6, "ratio set by set", _ratio_cases, _ratio),
        "housing": (
            "torque",
            8,
            "torque of the housing",
            lambda rule, train: _range_cases(rule, "torque of the housing", later("torque of the housing"), "housing", train),
            _of_a_range(layout_problems.torque_of_housing),
        ),
        "road-speed": (
            "road",
            10,
            "road speed",
            lambda rule, train: _range_cases(rule, "road speed", later("how far in an hour"), "road speed", train),
            _of_a_range(layout_problems.road_speed),
        ),
        "upshift": ("shifting", 11, "upshift", _upshift_cases, _upshift),
    }
    for name, (subject, lesson, option, cases, make) in made.items():
        for word, rule in _RULES.items():
            if (rule, option) in _OF_ITEM:
                yield Family(f"{name}-{word}", subject, lesson, _KINDS[rule], partial(cases, rule), partial(_built, rule, make))


FAMILIES = (
    *_problem_families(),
    Family("lever", "speeds", 6, AnswerKind.PICTURE, _lever_cases, _lever),
    Family(
        "why-a-set",
        later("power path"),
        7,
        AnswerKind.REASON,
        partial(_reason_cases, "set", later("why a set works or not"), "reason of a set"),
        partial(_reason, reasons.why_a_set_does_what_it_does),
    ),
    Family(
        "why-a-combination",
        later("power path"),
        7,
        AnswerKind.REASON,
        partial(_reason_cases, "combination", later("why a combination drives or not"), "states"),
        partial(_reason, reasons.why_a_combination_does_what_it_does),
    ),
    Family(
        "why-a-fault",
        "faults",
        12,
        AnswerKind.REASON,
        partial(_reason_cases, "stuck element", later("why a stuck element does this"), "reason of a fault"),
        partial(_reason, reasons.why_a_stuck_element_shows),
    ),
)
