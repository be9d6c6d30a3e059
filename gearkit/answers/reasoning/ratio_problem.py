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
from gearkit.text.phrases import listed, member_words, sentence, set_words, sets_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say, say_n
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, PinionKind

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
            value = speed if direct else 1 / speed
            how = "" if direct else f"1 / {bracketed(speed)} = "
            return say(
                "the {goal} makes {told} turns for one of the {start}, so the ratio is {how}{told2}",
                goal=goal,
                told=told(speed),
                start=start,
                how=how,
                told2=told(value),
            ), value

        return work

    stages.append(
        Stage("ratio", say("the ratio: input speed over output speed"), ratio(False), {"RECIP": ratio(True)}, (last,))
    )
    at_start = _with(merged, merged.root(start), start)
    held = _with(merged, merged.ground, HOUSING)
    begin = say("Let the {start} make one turn.", start=start)
    if at_start:
        begin = say_n(
            "Let the {start} make one turn; {members} turns with it.",
            "Let the {start} make one turn; {members} turn with it.",
            len(at_start),
            start=start,
            members=listed(at_start),
        )
    if held:
        stand = say_n("{members} stands still.", "{members} stand still.", len(held), members=listed(held))
        begin += f" {sentence(stand)}"
    return Problem(
        say(
            "What is the ratio of {row}? {begin} Every set obeys $S\\,n_s + R\\,n_r = (S + R)\\,n_c${sets}.",
            row=row.words,
            begin=begin,
            sets=_double(sets),
        ),
        tuple(stages),
        {root: Fraction(value) for root, value in known.items()},
    )


def _double(sets: Sequence[PlanetarySet]) -> str:
    double = [pset.name for pset in sets if pset.pinions is PinionKind.DOUBLE]
    return " " + say("(a minus in front of every $R$ in {sets}: double pinions)", sets=sets_words(double)) if double else ""


def _with(merged: Merged, root: str, end: str) -> list[str]:
    return [member_words(member) for member in merged.members(root) if member not in (end, INPUT, OUTPUT)]


def _set_stage(merged: Merged, move: SetMove, pset: PlanetarySet) -> Stage:
    weights, roots = member_weights(pset), merged.roots(move.set_name)
    sun, ring = abs(weights["sun"]), abs(weights["ring"])
    others = [member for member in MEMBERS if member != move.member]
    mates = listed(_with(merged, move.root, f"{move.set_name}.{move.member}"))

    def working(a: int, b: int, c: int, zero: str = "") -> Working:
        taken = {"sun": a, "ring": b, "carrier": -c}

        def work(values: Values) -> tuple[str, Fraction]:
            speeds = {member: Fraction(0) if member == zero else values[roots[member]] for member in others}
            value = -sum((taken[member] * speeds[member] for member in others), Fraction(0)) / taken[move.member]
            shown = {member: bracketed(speeds[member]) for member in others} | {move.member: f"${_LETTER[move.member]}$"}
            left = f"{product(str(a), shown['sun'])} {'+' if b > 0 else '−'} {product(str(abs(b)), shown['ring'])}"
            also = say(", and {mates} with it", mates=mates) if mates else ""
            return (
                say(
                    "{set_name}: {left} = {product}, so {value} makes {told} turns{also}",
                    set_name=set_words(move.set_name),
                    left=left,
                    product=product(str(c), shown["carrier"]),
                    value=member_words(f"{move.set_name}.{move.member}"),
                    told=told(value),
                    also=also,
                ),
                value,
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
        say(
            "the speed of {value}, from {set_name}",
            value=member_words(f"{move.set_name}.{move.member}"),
            set_name=set_words(move.set_name),
        ),
        working(sun, sign * ring, sun + sign * ring),
        wrong,
        needs,
        "turns",
    )
