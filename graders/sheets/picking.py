"""Picks items for a sheet by number, marks and kinds: "12 items, 30 marks, lessons 1 to 4, at least 3 kinds".

Every lesson gives as many items as the others, or one more, where that can be. Of all choices that fit, the one is taken
whose items come first when lessons and kinds of answer take turns; which item of a kind begins follows from the sheet's name. So
two sheets from the same lessons differ, and the same wish under the same name gives the same items.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from gearkit.answers.beliefs.known import all_beliefs
from gearkit.answers.beliefs.telling import most_telling, touched
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.listing import Entry
from gearkit.text.phrases import listed
from gearkit.words.errors import UsageError
from graders.sheets import blueprint
from graders.sheets.blueprint import Part

MOST_PICKED, MOST_MARKS = 100, 300
_LARGE = 60
# What was picked of some kinds: places in the pool, by (items, marks, kinds), with the sum of their turns.
_Choices = dict[tuple[int, int, int], tuple[int, tuple[int, ...]]]


@dataclass(frozen=True)
class Pick:
    """What is wished; 0 wherever nothing is.

    Args:
        items: number of items.
        marks: marks of all of them together.
        kinds: kinds of answer among them, at least.
        telling: True for the items that best tell misconceptions from slips and from each other.
        minutes: minutes that all of them take together, at most.
        subjects: what they may be about, as it was typed; none for anything.
        levels: the levels that they may have; none for any.
        blueprint: how many of which level and subject, as it was typed; none where any will do.
    """

    items: int = 0
    marks: int = 0
    kinds: int = 0
    telling: bool = False
    minutes: int = 0
    subjects: tuple[str, ...] = ()
    levels: tuple[str, ...] = ()
    blueprint: tuple[Part, ...] = ()

    def __bool__(self) -> bool:
        return self != Pick()

    def __str__(self) -> str:
        told = [f"{self.items} items"] if self.items else []
        told += [f"{self.marks} marks"] if self.marks else []
        told += [f"at least {self.kinds} kinds of answer"] if self.kinds else []
        return ", ".join([*told, f"at most {self.minutes} minutes"] if self.minutes else told)


def pick(
    pool: Sequence[Item],
    wish: Pick,
    marks: Mapping[str, int],
    about: Mapping[str, Entry] = MappingProxyType({}),
    name: str = "",
) -> tuple[Item, ...]:
    """Pick items from a pool.

    Args:
        pool: the items to pick from, in the order of the sheet.
        wish: what is wished.
        marks: marks of items that shall carry others than their own.
        about: each item as it is listed, by id; needed for wishes about subject, level or time.
        name: name of the sheet, which chooses among items that are as good.

    Raises:
        UsageError: a wish out of bounds, or one that no choice from the pool fulfils.
    """
    pool, parts = _about_what(pool, wish, about)
    _check(pool, wish)
    if wish.telling:
        return most_telling(pool, wish.items)
    turns = _turns(pool, name)
    if parts:
        return tuple(pool[place] for place in blueprint.fulfil(parts, pool, about, turns))
    places = _places(pool, wish, marks, about, turns)
    return tuple(pool[place] for place in sorted(places))


def asked_for(pool: Sequence[Item], wish: Pick, about: Mapping[str, Entry]) -> set[str]:
    """Return the ids of the items that a wish could take, by subject, level and blueprint.

    Args:
        pool: the items.
        wish: what is wished.
        about: each item as it is listed, by id.

    Raises:
        UsageError: the wish names a subject or a level that there is not.
    """
    fit, parts = _about_what(pool, wish, about)
    return {item.id for item in fit if not parts or any(part.fits(about[item.id]) for part in parts)}


def _about_what(pool: Sequence[Item], wish: Pick, about: Mapping[str, Entry]) -> tuple[Sequence[Item], tuple[Part, ...]]:
    """The items of the wished subjects and levels, and the blueprint with its subjects as the pool names them."""
    if not (wish.subjects or wish.levels or wish.blueprint):
        return pool, ()
    known = list(dict.fromkeys(about[item.id].subject for item in pool))
    subjects = [blueprint.subject_in(word, known, "--subject") for word in wish.subjects]
    levels = [blueprint.level_in(word) for word in wish.levels]
    fit = [
        item
        for item in pool
        if (not subjects or about[item.id].subject in subjects) and (not levels or about[item.id].level in levels)
    ]
    if not fit:
        raise UsageError(f"None of these {len(pool)} items is {listed(levels, 'or')} and about {listed(subjects, 'or')}.")
    parts = tuple(
        replace(part, subject=blueprint.subject_in(part.subject, known, "--blueprint")) if part.subject else part
        for part in wish.blueprint
    )
    return fit, parts


def _places(
    pool: Sequence[Item], wish: Pick, marks: Mapping[str, int], about: Mapping[str, Entry], turns: Sequence[int]
) -> Sequence[int]:
    """The places in the pool of a choice by items, marks, kinds and minutes."""
    minutes = [about[item.id].minutes for item in pool] if wish.minutes else []
    if not (wish.items or wish.marks or wish.kinds):
        return _that_fit(minutes, wish.minutes, turns) if wish.minutes else range(len(pool))
    if wish.minutes and not wish.marks:
        return _least(_all_choices(pool, minutes, turns, replace(wish, marks=0)), wish, len(pool))
    worth = [marks.get(item.id, item.marks) for item in pool]
    if len(pool) > _LARGE:
        _refuse_beyond(worth, wish)
    chosen = _by_turns(pool, worth, turns, wish) or _least(_all_choices(pool, worth, turns, wish), wish, len(pool))
    taken = sum(minutes[place] for place in chosen) if wish.minutes else 0
    if taken > wish.minutes:
        raise UsageError(
            f"{wish}: the items picked take about {taken} minutes. Wish for fewer marks, for more time, or leave the time out."
        )
    return chosen


def _that_fit(minutes: Sequence[int], most: int, turns: Sequence[int]) -> list[int]:
    """The places whose turn comes first, as long as there is time for them."""
    chosen: list[int] = []
    for place in sorted(range(len(minutes)), key=lambda place: turns[place]):
        if sum(minutes[taken] for taken in chosen) + minutes[place] <= most:
            chosen.append(place)
    if not chosen:
        raise UsageError(f"--time {most}: the shortest of these items takes about {min(minutes)} minutes.")
    return chosen


def _least(choices: _Choices, wish: Pick, count: int) -> tuple[int, ...]:
    """Of all choices that fulfil the wish the one with the earliest turns."""
    fits = {key: choice for key, choice in choices.items() if _is_enough(key, wish)}
    if not fits:
        raise UsageError(f"No {wish} can be picked from these {count} items. {_nearest(choices, wish)}")
    # Where no number was given, more items show more than fewer.
    best = min(fits, key=lambda key: (-key[0], fits[key][0], key[1]))
    return fits[best][1]


def told_by(items: Sequence[Item]) -> tuple[int, int]:
    """Return how many misconceptions show on three of a sheet's items or more, and how many on one or two.

    Args:
        items: the items.
    """
    counts = [sum(belief in touched(item) for item in items) for belief in all_beliefs()]
    return sum(count >= 3 for count in counts), sum(1 <= count < 3 for count in counts)


def _check(pool: Sequence[Item], wish: Pick) -> None:
    if wish.telling and (not wish.items or wish.marks or wish.kinds):
        raise UsageError(
            "Telling items are chosen by their number alone: give --items with --telling, and neither "
            "--total-marks nor --types."
        )
    if wish.blueprint and (wish.items or wish.marks or wish.kinds or wish.telling or wish.minutes):
        raise UsageError(
            "A blueprint says how many items there are: leave out --items, --total-marks, --types, --telling and --time. "
            "Other marks for an item are given with --marks ITEM=MARKS."
        )
    kinds = len({item.kind for item in pool})
    for what, number, most in (
        ("items", wish.items, min(MOST_PICKED, len(pool))),
        ("marks", wish.marks, MOST_MARKS),
        ("kinds of answer", wish.kinds, kinds),
    ):
        if not 0 <= number <= most:
            raise UsageError(f"{number} {what} cannot be picked from these {len(pool)} items; expected 1 to {most}.")


def _by_turns(pool: Sequence[Item], worth: Sequence[int], turns: Sequence[int], wish: Pick) -> tuple[int, ...]:
    """The places whose turns come first, exchanged for others of their lesson until the wish is met; empty where it is not."""
    order = sorted(range(len(pool)), key=lambda place: turns[place])
    sums = itertools.accumulate(worth[place] for place in order)
    for_marks = next((count for count, marks in enumerate(sums, start=1) if marks >= wish.marks > 0), len(pool))
    count = wish.items or min(MOST_PICKED, for_marks)
    chosen, left = order[:count], order[count:]

    def missing(places: Sequence[int]) -> tuple[int, int]:
        kinds = max(0, wish.kinds - len({pool[place].kind for place in places}))
        return kinds, abs(sum(worth[place] for place in places) - wish.marks) if wish.marks else 0

    while chosen and any(missing(chosen)):
        exchanges = (
            (missing([*chosen[:at], other, *chosen[at + 1 :]]), turns[other] - turns[chosen[at]], at, other)
            for at in range(len(chosen))
            for other in left
            if _lesson(pool[chosen[at]]) == _lesson(pool[other])
        )
        best = min(exchanges, default=None)
        if best is None or best[0] >= missing(chosen):
            return ()
        _, _, at, other = best
        left[left.index(other)], chosen[at] = chosen[at], other
    return tuple(chosen)


def _lesson(item: Item) -> str:
    return item.id.split("-")[0]


def _refuse_beyond(worth: Sequence[int], wish: Pick) -> None:
    """Refuse at once what no choice from a large pool can reach; going through all choices would take minutes."""
    if not (wish.items and wish.marks):
        return
    ranked = sorted(worth)
    least, most = sum(ranked[: wish.items]), sum(ranked[-wish.items :])
    if not least <= wish.marks <= most:
        raise UsageError(
            f"No {wish} can be picked from these {len(worth)} items: {wish.items} of them carry {least} to {most} marks together."
        )


def _turns(pool: Sequence[Item], name: str) -> list[int]:
    """For each item when its turn comes: from the lesson that had the fewest turns, of the kind that is furthest behind.

    A kind's share is the root of its number in the pool: with equal shares every sheet would be made of the rarest kinds.

    Args:
        pool: the items.
        name: name of the sheet, which settles what is left open.
    """
    ticket = SeededRandom(f"pick for {name}".encode()).shuffled(range(len(pool)))
    lessons, kinds = Counter[str](), Counter[AnswerKind]()
    left, turns = set(range(len(pool))), [0] * len(pool)
    lesson_of = [_lesson(item) for item in pool]
    share = {kind: math.sqrt(count) for kind, count in Counter(item.kind for item in pool).items()}
    for turn in range(len(pool)):
        place = min(
            left,
            key=lambda place: (
                lessons[lesson_of[place]],
                (kinds[pool[place].kind] + 1) / share[pool[place].kind],
                ticket[place],
            ),
        )
        left.remove(place)
        lessons[lesson_of[place]] += 1
        kinds[pool[place].kind] += 1
        turns[place] = turn
    return turns


def _all_choices(pool: Sequence[Item], worth: Sequence[int], turns: Sequence[int], wish: Pick) -> _Choices:
    """For each number of items, marks and kinds that can be reached, the choice with the earliest turns.

    The items are gone through kind by kind, so that it is enough to count the kinds; counts beyond the wish are kept
    as one where only a least number is wished.
    """
    most_items = wish.items or min(MOST_PICKED, len(pool))
    most_marks = wish.marks or wish.minutes or MOST_MARKS
    by_kind: dict[AnswerKind, list[int]] = {}
    for place, item in enumerate(pool):
        by_kind.setdefault(item.kind, []).append(place)
    known: _Choices = {(0, 0, 0): (0, ())}
    for places in by_kind.values():
        used: _Choices = {}
        for place in places:
            for (items, marks, kinds), (turn, chosen) in (*used.items(), *known.items()):
                first = not chosen or chosen[-1] not in places
                key = (items + 1, marks + worth[place], min(kinds + first, wish.kinds))
                if key[0] <= most_items and key[1] <= most_marks:
                    candidate = (turn + turns[place], (*chosen, place))
                    if key not in used or candidate < used[key]:
                        used[key] = candidate
        for key, choice in used.items():
            if key not in known or choice < known[key]:
                known[key] = choice
    return known


def _is_enough(key: tuple[int, int, int], wish: Pick) -> bool:
    items, marks, kinds = key
    return (
        (items == wish.items or not wish.items)
        and (marks == wish.marks or not wish.marks)
        and kinds >= wish.kinds
        and items > 0
    )


def _nearest(choices: _Choices, wish: Pick) -> str:
    """What can be had instead."""
    near = sorted(
        {marks for items, marks, kinds in choices if items == wish.items and kinds >= wish.kinds},
        key=lambda marks: (abs(marks - wish.marks), marks),
    )
    if wish.items and wish.marks and near:
        return f"With so many items and kinds, the nearest marks below that are {listed([str(figure) for figure in near[:2]])}."
    return "Wish for fewer items or kinds, name more lessons, or give items other marks (--marks ITEM=MARKS)."
