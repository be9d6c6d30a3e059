"""Tooth-count designs: the learner's counts are tried against every demand, and each demand is marked by itself."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING

from gearkit.answers.comparison.formulas import Pairs, condition, pairs_of
from gearkit.answers.item import Constraint
from gearkit.answers.judge.checkers import Reading, WrongForm
from gearkit.answers.judge.claims import Claim, Relation, Said, joined
from gearkit.answers.judge.results import ItemResult, MarkVerdict, PartResult, total
from gearkit.answers.mistakes import Mistake, mistake
from gearkit.words.errors import AnswerError
from gearkit.words.say import kept_for_each_language, say

if TYPE_CHECKING:
    from gearkit.answers.draw_numbers.variants import Variant


def mark_design(
    variant: Variant, texts: Mapping[str, str], readings: Mapping[str, Reading], unread: Mapping[str, AnswerError]
) -> ItemResult:
    """Mark a design demand by demand; any design that meets them all is right.

    Args:
        variant: the variant.
        texts: what was written, by part.
        readings: what was read.
        unread: what could not be read.
    """
    read_as = {name: reading.read_as for name, reading in readings.items()}
    constraints = variant.key.constraints
    counts = {name: reading.content.in_item_unit for name, reading in readings.items()}
    # What was shown is given; a learner's own count stands before a hidden drawn one of the same letter.
    shown = {name: number for name, number in variant.key.values.items() if name not in variant.item.draw.hidden}
    pairs = pairs_of({**shown, **counts})
    parts = tuple(
        _judged(constraint, number, _is_met(constraint, pairs)) for number, constraint in enumerate(constraints, start=1)
    )
    score, full = total(part.score for part in parts), total(part.max for part in parts)
    missing = [part for part in variant.parts if not texts[part.name] and part.name not in unread]
    empty = Said(
        say("Still empty: {parts}.", parts=", ".join(part.label or part.name for part in missing)),
        tuple(Claim(part.name, Relation.EMPTY) for part in missing),
    )
    forms = Said(
        " ".join(f"{name}: {fault}" for name, fault in unread.items()),
        tuple(Claim(name, Relation.UNREADABLE) for name in unread),
    )
    if unread and not readings:
        return ItemResult(variant.item.id, Fraction(0), full, MarkVerdict.UNREADABLE, (), forms.text, read_as, parts, (forms,))
    met = sum(part.score == part.max for part in parts)
    how_many = (Claim("", Relation.PARTS_RIGHT, str(met)),)
    named_mistakes = _named_mistakes(variant, pairs) if score < full else ()
    said = [
        Said(
            say("Right: every demand is met.")
            if score == full
            else say("{met} of {parts} demands are met.", met=met, parts=len(parts)),
            how_many,
        )
    ]
    said += [Said(each_mistake.sentence, (Claim("", Relation.MEETS, when),)) for each_mistake, when in named_mistakes]
    said += [Said(part.comment, part.claims) for part in parts if part.comment]
    said += [
        Said(f"{name}: {reading.remark}", tuple(Claim(name, relation) for relation in reading.says))
        for name, reading in readings.items()
        if reading.remark
    ]
    said += [empty] if missing else []
    said += [forms] if unread else []
    verdict = MarkVerdict.RIGHT if score == full else MarkVerdict.WRONG
    return ItemResult(
        variant.item.id,
        score,
        full,
        verdict,
        tuple(dict.fromkeys(each_mistake for each_mistake, _ in named_mistakes)),
        joined(said),
        read_as,
        parts,
        tuple(said),
    )


@kept_for_each_language(512)
def _judged(constraint: Constraint, number: int, met: bool | None) -> PartResult:
    marks = Fraction(constraint.marks)
    if met is None:
        return PartResult(f"demand_{number}", say(constraint.label), Fraction(0), marks, MarkVerdict.MISSING, "")
    verdict = MarkVerdict.RIGHT if met else MarkVerdict.WRONG
    comment = "" if met else say("Not met: {label}. {advice}", label=say(constraint.label), advice=say(constraint.advice))
    return PartResult(
        f"demand_{number}",
        say(constraint.label),
        marks if met else Fraction(0),
        marks,
        verdict,
        "",
        "",
        (),
        comment,
        () if met else (Claim("", Relation.FAILS, " and ".join(constraint.conditions)),),
    )


def _is_met(constraint: Constraint, pairs: Pairs) -> bool | None:
    """Return whether a demand is met; None where a count is missing that it asks for."""
    try:
        return all(condition(text).holds(pairs) for text in constraint.conditions)
    except KeyError:
        return None
    except ZeroDivisionError:
        return False


def _named_mistakes(variant: Variant, pairs: Pairs) -> tuple[tuple[Mistake, str], ...]:
    """Return the named mistakes that a design shows, each with the condition that shows it."""
    shown = []
    for form in variant.key.wrong_forms:
        try:
            if form.when and condition(form.when).holds(pairs):
                shown.append((mistake(form.code, form.sentence), form.when))
        except (KeyError, ZeroDivisionError):
            continue
    return tuple(shown)


def shows_mistake(constraints: tuple[Constraint, ...], when: str, pairs: Pairs) -> bool:
    """Return whether a wrong design fails a demand and is recognised by its condition.

    Args:
        constraints: the demands.
        when: the condition.
        pairs: the drawn numbers, and the wrong counts.
    """
    fails = not all(_is_met(constraint, pairs) for constraint in constraints)
    return fails and bool(when) and condition(when).holds(pairs)


def right_design(variant: Variant) -> dict[str, str]:
    """Return the hidden design that the demands were made from.

    Args:
        variant: the variant.
    """
    return {name: checker.right_text() for name, checker in variant.key.checkers.items()}


def wrong_design(variant: Variant, form: WrongForm) -> dict[str, str]:
    """Return a design that shows a wrong form.

    Args:
        variant: the variant.
        form: one of its wrong forms.
    """
    texts = right_design(variant)
    for name, content in form.contents.items():
        texts[name] = variant.key.checkers[name].wrong_text(content)
    return texts
