"""The ratio of a range of any layout, worked out set by set from end to end."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from gearkit.answers.reasoning.layout_rows import Row
from gearkit.answers.reasoning.worked import (
    Problem,
    Stage,
    Values,
    Working,
    bracketed,
    product,
    told,
)
from gearkit.explain.chain import SetMove, derive
from gearkit.explain.formulas.forms import member_weights
from gearkit.explain.shafts import Merged
from gearkit.text.phrases import listed, member_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import INPUT, MEMBERS, OUTPUT, PinionKind

_LETTER = {"sun": "n_s", "ring": "n_r", "carrier": "n_c"}


def ratio_set_by_set(layout: Layout, row: Row) -> Problem | None:
    """The ratio of a range, from end to end, one set after the other; None where sets have to be solved together.

    Args:
        layout: any layout of simple or double-pinion sets.
        row: one of its ranges.
    """
    merged = Merged(layout, row.engaged)
    every = [pset.name for pset in layout.sets]
    for start, goal in ((OUTPUT, INPUT), (INPUT, OUTPUT)):
        known = {merged.root(start): Fraction(1), merged.ground: Fraction(0)}
        moves, speeds = derive(merged, known, every, [merged.root(goal)])
        if moves and merged.root(goal) in speeds and all(isinstance(move, SetMove) for move in moves):
            break
    else:
        return None
    sets = [layout.set_named(move.set_name) for move in moves if isinstance(move, SetMove)]
    if any(pset.pinions not in (PinionKind.SINGLE, PinionKind.DOUBLE) or pset.sun_teeth is None for pset in sets):
        return None
    stages = [_set_stage(merged, move, pset) for move, pset in zip(moves, sets, strict=True) if isinstance(move, SetMove)]
    last = merged.root(goal)

    def ratio(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            speed = values[last]
            direct = (start == OUTPUT) != upside_down
            found = speed if direct else 1 / speed
            how = "" if direct else f"1 / {bracketed(speed)} = "
            return f"the {goal} makes {told(speed)} turns for one of the {start}, so the ratio is {how}{told(found)}", found

        return work

    stages.append(Stage("ratio", "the ratio: input speed over output speed", ratio(False), {"RECIP": ratio(True)}, (last,)))
    at_start = _with(merged, merged.root(start), start)
    held = _with(merged, merged.ground, "housing")
    begin = f"Let the {start} make one turn{f'; {at_start} turn{_s(at_start)} with it' if at_start else ''}."
    begin += f" {held[0].upper()}{held[1:]} stand{_s(held)} still." if held else ""
    return Problem(
        f"What is the ratio of {row.words}? {begin} Every set obeys $S\\,n_s + R\\,n_r = (S + R)\\,n_c${_double(sets)}.",
        tuple(stages),
        {root: Fraction(value) for root, value in known.items()},
    )


def _s(names: str) -> str:
    return "" if " and " in names else "s"


def _double(sets: Sequence[PlanetarySet]) -> str:
    names = [pset.name.removeprefix("P") for pset in sets if pset.pinions is PinionKind.DOUBLE]
    return f" (a minus in front of every $R$ in set {listed(names)}, which has double pinions)" if names else ""


def _with(merged: Merged, root: str, end: str) -> str:
    return listed([member_words(member) for member in merged.members(root) if member not in (end, INPUT, OUTPUT)])


def _set_stage(merged: Merged, move: SetMove, pset: PlanetarySet) -> Stage:
    weights, roots = member_weights(pset), merged.roots(move.set_name)
    number = move.set_name.removeprefix("P")
    sun, ring = abs(weights["sun"]), abs(weights["ring"])
    others = [member for member in MEMBERS if member != move.member]
    mates = _with(merged, move.root, f"{move.set_name}.{move.member}")

    def working(a: int, b: int, c: int, zero: str = "") -> Working:
        taken = {"sun": a, "ring": b, "carrier": -c}

        def work(values: Values) -> tuple[str, Fraction]:
            speeds = {member: Fraction(0) if member == zero else values[roots[member]] for member in others}
            found = -sum((taken[member] * speeds[member] for member in others), Fraction(0)) / taken[move.member]
            shown = {member: bracketed(speeds[member]) for member in others} | {move.member: f"${_LETTER[move.member]}$"}
            left = f"{product(str(a), shown['sun'])} {'+' if b > 0 else '−'} {product(str(abs(b)), shown['ring'])}"
            also = f", and {mates} with it" if mates else ""
            return (
                f"set {number}: {left} = {product(str(c), shown['carrier'])}, so {member_words(f'{move.set_name}.{move.member}')} makes "
                f"{told(found)} turns{also}",
                found,
            )

        return work

    sign = 1 if weights["ring"] > 0 else -1
    wrong = {
        "SWAP": working(ring, sign * sun, sun + ring if sign > 0 else sun - ring)
        if sign > 0
        else working(ring, -sun, ring - sun)
    }
    if sign > 0:
        wrong["SIGN"] = working(sun, -ring, sun + ring)
        wrong["DOUBLE"] = working(sun, ring, ring - sun)
    for member in others:
        if move.speeds[member].constant != 0:
            wrong["HELDMOVES"] = working(sun, sign * ring, sun + sign * ring, zero=member)
    needs = tuple(dict.fromkeys(roots[member] for member in others))
    return Stage(
        move.root,
        f"the speed of {member_words(f'{move.set_name}.{move.member}')}, from set {number}",
        working(sun, sign * ring, sun + sign * ring),
        wrong,
        needs,
        "turns",
    )
