"""Tooth-count designs: the learner's counts are tried against every demand, and each demand is marked by itself."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING

from gearkit.answers.formulas import condition
from gearkit.answers.items import Constraint
from gearkit.answers.mistakes import Mistake, mistake
from gearkit.answers.results import ItemResult, MarkVerdict, PartResult
from gearkit.answers.targets import Key, Reading, WrongForm
from gearkit.words.errors import AnswerError

if TYPE_CHECKING:
    from gearkit.answers.variants import Variant


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
    values = {**shown, **counts}
    parts = tuple(_demand(constraint, number, values) for number, constraint in enumerate(constraints, start=1))
    score = sum((part.score for part in parts), Fraction(0))
    full = sum((part.max for part in parts), Fraction(0))
    missing = [part.label or part.name for part in variant.parts if not texts[part.name]]
    if unread and not readings:
        return _told(variant, parts, MarkVerdict.UNREADABLE, (), _forms(unread), read_as)
    found = _slips(variant, values) if score < full else ()
    said = ["Right: every demand is met."] if score == full else [
        f"{sum(part.score == part.max for part in parts)} of {len(parts)} demands are met."]
    said += list(dict.fromkeys(slip.sentence for slip in found))
    said += [part.comment for part in parts if part.comment]
    said += [f"Still empty: {', '.join(missing)}."] if missing else []
    said += [_forms(unread)] if unread else []
    verdict = MarkVerdict.RIGHT if score == full else MarkVerdict.WRONG
    return ItemResult(variant.item.id, score, full, verdict, found, " ".join(said), read_as, parts)


def _forms(unread: Mapping[str, AnswerError]) -> str:
    return " ".join(f"{name}: {fault}" for name, fault in unread.items())


def _told(
    variant: Variant, parts: tuple[PartResult, ...], verdict: MarkVerdict, found: tuple[Mistake, ...], comment: str,
    read_as: Mapping[str, str],
) -> ItemResult:
    full = sum((part.max for part in parts), Fraction(0))
    return ItemResult(variant.item.id, Fraction(0), full, verdict, found, comment, read_as, parts)


def _demand(constraint: Constraint, number: int, values: Mapping[str, Fraction]) -> PartResult:
    marks = Fraction(constraint.marks)
    try:
        met = all(condition(text).holds(values) for text in constraint.conditions)
    except KeyError:
        return PartResult(f"demand_{number}", constraint.label, Fraction(0), marks, MarkVerdict.MISSING, "")
    except ZeroDivisionError:
        met = False
    verdict = MarkVerdict.RIGHT if met else MarkVerdict.WRONG
    comment = "" if met else f"Not met: {constraint.label}. {constraint.advice}"
    return PartResult(f"demand_{number}", constraint.label, marks if met else Fraction(0), marks, verdict, "", "", (),
                      comment)


def _slips(variant: Variant, values: Mapping[str, Fraction]) -> tuple[Mistake, ...]:
    found = []
    for form in variant.key.wrong_forms:
        try:
            if form.when and condition(form.when).holds(values):
                found.append(mistake(form.code, form.sentence))
        except (KeyError, ZeroDivisionError):
            continue
    return tuple(found)


def shows_slip(key: Key, form: WrongForm) -> bool:
    """Return whether a wrong form of a design fails a demand and is recognised by its condition.

    Args:
        key: the variant's key.
        form: one of its wrong forms.
    """
    values = {**key.values, **form.contents}
    fails = any(_demand(constraint, 0, values).verdict is not MarkVerdict.RIGHT for constraint in key.constraints)
    return fails and bool(form.when) and condition(form.when).holds(values)


def right_design(variant: Variant) -> dict[str, str]:
    """Return the hidden design that the demands were made from.

    Args:
        variant: the variant.
    """
    return {name: target.right_text() for name, target in variant.key.targets.items()}


def wrong_design(variant: Variant, form: WrongForm) -> dict[str, str]:
    """Return a design that shows a wrong form.

    Args:
        variant: the variant.
        form: one of its wrong forms.
    """
    texts = right_design(variant)
    for name, content in form.contents.items():
        texts[name] = variant.key.targets[name].wrong_text(content)
    return texts
