"""Picks items for a sheet by number, marks and kinds: "12 items, 30 marks, lessons 1 to 4, at least 3 kinds".

Every lesson gives as many items as the others, or one more, where that can be. Of all choices that fit, the one is taken
whose items stand earliest in their lessons, because the first exercises of a lesson carry its ideas. The same wish gives
the same items.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from gearkit.answers.beliefs.belief import all_beliefs
from gearkit.answers.beliefs.telling import most_telling, touched
from gearkit.answers.items import AnswerKind, Item
from gearkit.text.phrases import listed
from gearkit.words.errors import UsageError

MOST_PICKED, MOST_MARKS = 60, 300
_ABREAST = 8
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
    """

    items: int = 0
    marks: int = 0
    kinds: int = 0
    telling: bool = False

    def __bool__(self) -> bool:
        return bool(self.items or self.marks or self.kinds or self.telling)

    def __str__(self) -> str:
        told = [f"{self.items} items"] if self.items else []
        told += [f"{self.marks} marks"] if self.marks else []
        return ", ".join([*told, f"at least {self.kinds} kinds of answer"] if self.kinds else told)


def pick(pool: Sequence[Item], wish: Pick, marks: Mapping[str, int]) -> tuple[Item, ...]:
    """Pick items from a pool.

    Args:
        pool: the items to pick from, in the order of the sheet.
        wish: what is wished.
        marks: marks of items that shall carry others than their own.

    Raises:
        UsageError: a wish out of bounds, or one that no choice from the pool fulfils.
    """
    _check(pool, wish)
    if wish.telling:
        return most_telling(pool, wish.items)
    worth = [marks.get(item.id, item.marks) for item in pool]
    turns = _turns(pool)
    evenly = _evenly(pool, worth, turns, wish)
    if evenly:
        return tuple(pool[place] for place in sorted(evenly))
    found = _all_choices(pool, worth, turns, wish)
    fits = {key: choice for key, choice in found.items() if _is_enough(key, wish)}
    if not fits:
        raise UsageError(f"No {wish} can be picked from these {len(pool)} items. {_nearest(found, wish)}")
    # Where no number was given, more items show more than fewer.
    best = min(fits, key=lambda key: (-key[0], fits[key][0], key[1]))
    return tuple(pool[place] for place in sorted(fits[best][1]))


def told_by(items: Sequence[Item]) -> tuple[int, int]:
    """Return how many misconceptions show on three of a sheet's items or more, and how many on one or two.

    Args:
        items: the items.
    """
    counts = [sum(one in touched(item) for item in items) for one in all_beliefs()]
    return sum(count >= 3 for count in counts), sum(1 <= count < 3 for count in counts)


def _check(pool: Sequence[Item], wish: Pick) -> None:
    if wish.telling and (not wish.items or wish.marks or wish.kinds):
        raise UsageError(
            "Telling items are chosen by their number alone: give --items with --telling, and neither "
            "--total-marks nor --types."
        )
    kinds = len({item.kind for item in pool})
    for what, number, most in (
        ("items", wish.items, min(MOST_PICKED, len(pool))),
        ("marks", wish.marks, MOST_MARKS),
        ("kinds of answer", wish.kinds, kinds),
    ):
        if not 0 <= number <= most:
            raise UsageError(f"{number} {what} cannot be picked from these {len(pool)} items; expected 1 to {most}.")


def _lessons(pool: Sequence[Item]) -> list[list[int]]:
    """The places in the pool, lesson by lesson."""
    lessons: dict[str, list[int]] = {}
    for place, item in enumerate(pool):
        lessons.setdefault(item.id.split("-")[0], []).append(place)
    return list(lessons.values())


def _evenly(pool: Sequence[Item], worth: Sequence[int], turns: Sequence[int], wish: Pick) -> tuple[int, ...]:
    """A choice with an even share of every lesson and early turns; empty where none was found."""
    lessons = _lessons(pool)
    if not wish.items or len(lessons) > wish.items:
        return ()
    share = wish.items // len(lessons)
    # Most wishes for kinds come true by themselves; the second time, choices with more kinds are kept.
    for abreast in (1, _ABREAST):
        known: dict[tuple[int, int], list[_Part]] = {(0, 0): [_Part(0, (), frozenset())]}
        for places in lessons:
            pieces = _pieces(
                pool, worth, turns, [chosen for count in (share, share + 1) for chosen in itertools.combinations(places, count)]
            )
            later: dict[tuple[int, int], list[_Part]] = {}
            for (items, marks), parts in known.items():
                for (count, more), piece in pieces:
                    key = (items + count, marks + more if wish.marks else 0)
                    if key[0] <= wish.items and key[1] <= (wish.marks or MOST_MARKS):
                        later.setdefault(key, []).extend(part.with_(piece) for part in parts)
            known = {key: _best(parts, wish.kinds, abreast) for key, parts in later.items()}
        fits = [part for part in known.get((wish.items, wish.marks), []) if len(part.kinds) >= wish.kinds]
        if fits:
            return min(fits, key=lambda part: (part.turn, part.places)).places
    return ()


@dataclass(frozen=True)
class _Part:
    """Some of a choice: the sum of its turns, its places in the pool, its kinds."""

    turn: int
    places: tuple[int, ...]
    kinds: frozenset[AnswerKind]

    def with_(self, other: _Part) -> _Part:
        return _Part(self.turn + other.turn, self.places + other.places, self.kinds | other.kinds)


def _pieces(
    pool: Sequence[Item], worth: Sequence[int], turns: Sequence[int], choices: Sequence[tuple[int, ...]]
) -> list[tuple[tuple[int, int], _Part]]:
    """What one lesson can give: of choices alike in number, marks and kinds the one with the earliest turns."""
    found: dict[tuple[int, int, frozenset[AnswerKind]], _Part] = {}
    for chosen in choices:
        part = _Part(sum(turns[place] for place in chosen), chosen, frozenset(pool[place].kind for place in chosen))
        key = (len(chosen), sum(worth[place] for place in chosen), part.kinds)
        if key not in found or part.turn < found[key].turn:
            found[key] = part
    return [((count, marks), part) for (count, marks, _), part in found.items()]


def _best(parts: Sequence[_Part], kinds: int, count: int) -> list[_Part]:
    order = (
        (lambda part: (part.turn, part.places))
        if count == 1
        else (lambda part: (-min(len(part.kinds), kinds), part.turn, part.places))
    )
    return sorted(parts, key=order)[:count]


def _turns(pool: Sequence[Item]) -> list[int]:
    """For each item when its turn comes, the lessons taking turns."""
    lessons = _lessons(pool)
    turns = [0] * len(pool)
    in_order = (place for round_ in itertools.zip_longest(*lessons) for place in round_ if place is not None)
    for turn, place in enumerate(in_order):
        turns[place] = turn
    return turns


def _all_choices(pool: Sequence[Item], worth: Sequence[int], turns: Sequence[int], wish: Pick) -> _Choices:
    """For each number of items, marks and kinds that can be reached, the choice with the earliest turns.

    The items are gone through kind by kind, so that it is enough to count the kinds; counts beyond the wish are kept
    as one where only a least number is wished.
    """
    most_items = wish.items or min(MOST_PICKED, len(pool))
    most_marks = wish.marks or MOST_MARKS
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


def _nearest(found: _Choices, wish: Pick) -> str:
    """What can be had instead."""
    near = sorted(
        {marks for items, marks, kinds in found if items == wish.items and kinds >= wish.kinds},
        key=lambda marks: (abs(marks - wish.marks), marks),
    )
    if wish.items and wish.marks and near:
        return f"With so many items and kinds, the nearest marks below that are {listed([str(one) for one in near[:2]])}."
    return "Wish for fewer items or kinds, name more lessons, or give items other marks (--marks ITEM=MARKS)."
