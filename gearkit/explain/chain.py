"""The order in which speeds follow from one another, set by set.

A set of which two members are known gives the third. Where no set has two known members, the fewest sets that have as
many unknown shafts as there are sets are solved together: one unknown is called x, the others follow from it one by one,
and the last set comes last with an equation for x alone. Rarely two unknowns x and y are needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from gearkit.explain.formulas.forms import Form, imbalance, member_weights, solved_for
from gearkit.explain.shafts import Merged
from gearkit.solve.exact.linear import rank, solve
from gearkit.words.terms import MEMBERS

LETTERS = ("x", "y")


@dataclass(frozen=True)
class SetMove:
    """One set gives the speed of its third member.

    Args:
        set_name: the set.
        member: sun, carrier or ring: the one that is found.
        root: its shaft.
        speeds: sun, carrier and ring -> speed; the found one among them.
    """

    set_name: str
    member: str
    root: str
    speeds: dict[str, Form]

    @property
    def value(self) -> Form:
        """The speed that is found."""
        return self.speeds[self.member]


@dataclass(frozen=True)
class Closing:
    """A set whose three speeds are all expressed, so that its equation fixes an unknown.

    Args:
        set_name: the set.
        speeds: sun, carrier and ring -> speed.
        condition: its equation brought to one side; it has to be zero.
    """

    set_name: str
    speeds: dict[str, Form]
    condition: Form


@dataclass(frozen=True)
class Together:
    """Sets that have to be solved together.

    Args:
        sets: their names.
        unknown: the shafts whose speeds they fix.
        letters: letter -> the shaft whose speed it stands for; empty where they are solved without a letter.
        moves: the other speeds in terms of the letters, in order.
        closings: the equations for the letters.
        values: shaft -> speed, for every shaft found.
    """

    sets: tuple[str, ...]
    unknown: tuple[str, ...]
    letters: dict[str, str]
    moves: tuple[SetMove, ...]
    closings: tuple[Closing, ...]
    values: dict[str, Fraction]


Move = SetMove | Together


def derive(
    merged: Merged, known: Mapping[str, Fraction], sets: Iterable[str], goals: Iterable[str]
) -> tuple[list[Move], dict[str, Fraction]]:
    """Return the moves that lead from known speeds to the goals, and all speeds known then.

    Moves that lead nowhere needed are left out.

    Args:
        merged: the shafts.
        known: shaft -> speed at the start.
        sets: names of the sets that may be used.
        goals: shafts whose speeds are wanted; all that can be found where a goal is "".
    """
    wanted, speeds, moves = set(goals), dict(known), list[Move]()
    last = merged.input
    # A set that turns as a block, or all of whose speeds are known, has nothing to tell.
    open_sets = [name for name in sets if len(set(merged.roots(name).values())) == len(MEMBERS)]
    while not wanted <= speeds.keys():
        pending = [name for name in open_sets if _unknown(merged, [name], speeds)]
        if not pending:
            break
        move = _next_move(merged, speeds, pending, last, wanted)
        if move is None:
            break
        moves.append(move)
        given = values_of(move)
        speeds.update(given)
        last = next(iter(given))
    if "" not in wanted:
        moves = _needed(merged, moves, wanted)
        speeds = dict(known)
        for move in moves:
            speeds.update(values_of(move))
    return moves, speeds


def values_of(move: Move) -> dict[str, Fraction]:
    """Return the speeds that a move finds: shaft -> speed."""
    return {move.root: move.value.constant} if isinstance(move, SetMove) else move.values


def uses_of(merged: Merged, move: Move) -> set[str]:
    """Return the shafts whose speeds a move takes as known.

    Args:
        merged: the shafts.
        move: the move.
    """
    names = (move.set_name,) if isinstance(move, SetMove) else move.sets
    return {root for name in names for root in merged.roots(name).values()} - values_of(move).keys()


def _needed(merged: Merged, moves: Sequence[Move], wanted: set[str]) -> list[Move]:
    kept: list[Move] = []
    open_goals = set(wanted)
    for move in reversed(moves):
        if open_goals & values_of(move).keys():
            kept.append(move)
            open_goals = (open_goals - values_of(move).keys()) | uses_of(merged, move)
    return kept[::-1]


def _next_move(
    merged: Merged, speeds: Mapping[str, Fraction], pending: Sequence[str], last: str, wanted: set[str]
) -> Move | None:
    ready = [name for name in pending if len(_unknown(merged, [name], speeds)) == 1]
    if ready:
        # Go on from the shaft that was found last, so that the story follows the way through the train.
        name = min(ready, key=lambda n: (last not in merged.roots(n).values(), pending.index(n)))
        return _set_move(merged, name, {root: Form(value) for root, value in speeds.items()})
    for size in range(2, len(pending) + 1):
        blocks = [
            names for names in combinations(pending, size) if _can_be_solved(merged, names, speeds)
        ]  # fmt: skip
        if blocks:
            goal_first = min(blocks, key=lambda names: not wanted & set(_unknown(merged, names, speeds)))
            return _together(merged, goal_first, speeds, wanted)
    return _whatever_follows(merged, pending, speeds)


def _unknown(merged: Merged, names: Iterable[str], speeds: Mapping[str, object]) -> list[str]:
    roots = (root for name in names for root in merged.roots(name).values())
    return [root for root in dict.fromkeys(roots) if root not in speeds]


def _rows(merged: Merged, names: Sequence[str], unknown: Sequence[str]) -> list[list[int]]:
    rows = []
    for name in names:
        weights, roots = member_weights(merged.layout.set_named(name)), merged.roots(name)
        by_root = {roots[member]: weight for member, weight in weights.items()}
        rows.append([by_root.get(root, 0) for root in unknown])
    return rows


def _can_be_solved(merged: Merged, names: Sequence[str], speeds: Mapping[str, Fraction]) -> bool:
    unknown = _unknown(merged, names, speeds)
    return len(unknown) == len(names) and rank(_rows(merged, names, unknown)) == len(names)


def _set_move(merged: Merged, name: str, speeds: Mapping[str, Form]) -> SetMove:
    roots = merged.roots(name)
    (member,) = [member for member, root in roots.items() if root not in speeds]
    others = {other: speeds[root] for other, root in roots.items() if other != member}
    form = solved_for(merged.layout.set_named(name), member, others)
    return SetMove(name, member, roots[member], {**others, member: form})


def _together(merged: Merged, names: Sequence[str], speeds: Mapping[str, Fraction], wanted: set[str]) -> Together:
    unknown = _unknown(merged, names, speeds)
    values = _solution(merged, names, unknown, speeds)
    starts = sorted(unknown, key=lambda root: (root not in wanted, root != merged.output, unknown.index(root)))
    best: tuple[dict[str, str], list[SetMove], list[Closing]] | None = None
    for start in starts:
        tried = _by_letters(merged, names, speeds, start)
        if tried is not None and (best is None or _awkwardness(tried) < _awkwardness(best)):
            best = tried
    if best is None:
        return Together(tuple(names), tuple(unknown), {}, (), (), values)
    letters, moves, closings = best
    return Together(tuple(names), tuple(unknown), letters, tuple(moves), tuple(closings), values)


def _awkwardness(plan: tuple[dict[str, str], list[SetMove], list[Closing]]) -> tuple[int, int]:
    letters, moves, _ = plan
    return len(letters), sum(_is_mixed(move.value) for move in moves)


def _is_mixed(form: Form) -> bool:
    """A plain multiple of one unknown is easier to follow than a sum."""
    return len(form.parts) + bool(form.constant) > 1


def _by_letters(
    merged: Merged, names: Sequence[str], speeds: Mapping[str, Fraction], start: str
) -> tuple[dict[str, str], list[SetMove], list[Closing]] | None:
    """Express every shaft by the speed of one, or of two; None where that is not enough."""
    forms = {root: Form(value) for root, value in speeds.items()}
    letters, moves, closings = {LETTERS[0]: start}, list[SetMove](), list[Closing]()
    forms[start] = Form(Fraction(0), ((LETTERS[0], Fraction(1)),))
    pending = list(names)
    while pending:
        name = min(pending, key=lambda n: _how_open(merged, n, forms))
        open_roots = _unknown(merged, [name], forms)
        if len(open_roots) > 1:
            if len(letters) == len(LETTERS):
                return None
            letter = LETTERS[len(letters)]
            letters[letter] = open_roots[0]
            forms[open_roots[0]] = Form(Fraction(0), ((letter, Fraction(1)),))
            continue
        pending.remove(name)
        if open_roots:
            move = _set_move(merged, name, forms)
            moves.append(move)
            forms[move.root] = move.value
        else:
            own = {member: forms[root] for member, root in merged.roots(name).items()}
            closings.append(Closing(name, own, imbalance(merged.layout.set_named(name), own)))
    return (letters, moves, closings) if len(closings) == len(letters) else None


def _how_open(merged: Merged, name: str, forms: Mapping[str, Form]) -> tuple[int, bool]:
    """Sets with one open member come first, those that keep plain multiples before others, full circles last."""
    open_roots = _unknown(merged, [name], forms)
    if len(open_roots) == 1:
        return 1, _is_mixed(_set_move(merged, name, forms).value)
    return (len(open_roots) or 10), False


def _solution(
    merged: Merged, names: Sequence[str], unknown: Sequence[str], speeds: Mapping[str, Fraction]
) -> dict[str, Fraction]:
    """The speeds that the sets fix, by plain elimination."""
    sides = []
    for name in names:
        roots, weights = merged.roots(name), member_weights(merged.layout.set_named(name))
        sides.append(-sum((w * speeds[roots[m]] for m, w in weights.items() if roots[m] in speeds), Fraction(0)))
    solution = solve(_rows(merged, names, unknown), sides) or [None] * len(unknown)
    return {root: value for root, value in zip(unknown, solution, strict=True) if value is not None}


def _whatever_follows(merged: Merged, pending: Sequence[str], speeds: Mapping[str, Fraction]) -> Together | None:
    """Sets that leave some shafts open and yet fix others: solved together without a letter."""
    unknown = _unknown(merged, pending, speeds)
    values = _solution(merged, pending, unknown, speeds)
    return Together(tuple(pending), tuple(unknown), {}, (), (), values) if values else None
