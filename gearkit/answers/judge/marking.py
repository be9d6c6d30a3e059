"""Marking one answer: read it, see whether it is right, and where not, which named mistake it is.

Order of work: read; right; the item's own wrong answers; general slips (sign, reciprocal, factor); else "not one of the
usual slips". What cannot be read costs nothing and is handed back with a sentence about its form. Two mistakes that
give the same answer are both named. The right answer is never in what a learner gets.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.answers.draw_numbers import designs
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.items import ONE_PART
from gearkit.answers.judge.carried import carried_share
from gearkit.answers.judge.results import ItemResult, MarkVerdict, PartResult, total
from gearkit.answers.judge.targets import Judgement, Key, Part, Reading, Target, WrongForm
from gearkit.answers.mistakes import Mistake, mistake
from gearkit.answers.read.split import split_answer
from gearkit.words.errors import AnswerError

_NOTHING = Fraction(0)
_NOT_USUAL = "Not right, and not one of the usual slips: have a look at hint 1."
_MISSING = "Nothing was handed in here. Try it: hint 1 is a good place to start."


def mark(variant: Variant, given: Mapping[str, str]) -> ItemResult:
    """Mark what a learner gave for one item.

    Args:
        variant: the learner's variant.
        given: texts by part name; for several parts also one text under "answer", such as ``sun = 12; planet = -3``.
    """
    texts, problem = split_answer(variant.parts, given)
    if problem is not None:
        return _unreadable(variant, given, problem)
    if not any(texts.values()):
        parts = tuple(PartResult(part.name, part.label, _NOTHING, part.marks, MarkVerdict.MISSING, "")
                      for part in variant.parts)
        return _result(variant, parts, (), _MISSING)
    readings, unread = _read_all(variant, texts)
    if variant.key.constraints:
        return designs.mark_design(variant, texts, readings, unread)
    judged = _judge_all(variant.key.targets, readings, unread)
    whole = _whole_form(variant, readings, judged)
    parts = tuple(_mark_part(variant, part, texts[part.name], readings, unread, judged, whole) for part in variant.parts)
    found = tuple(dict.fromkeys(slip for part in parts for slip in part.mistakes))
    return _result(variant, parts, found, "")


def _unreadable(variant: Variant, given: Mapping[str, str], problem: AnswerError) -> ItemResult:
    text = "; ".join(given.values())
    parts = tuple(PartResult(part.name, part.label, _NOTHING, part.marks, MarkVerdict.UNREADABLE, text)
                  for part in variant.parts)
    return _result(variant, parts, (), str(problem))


def _read_all(variant: Variant, texts: Mapping[str, str]) -> tuple[dict[str, Reading], dict[str, AnswerError]]:
    readings: dict[str, Reading] = {}
    unread: dict[str, AnswerError] = {}
    for part in variant.parts:
        if not texts[part.name]:
            continue
        try:
            readings[part.name] = variant.key.targets[part.name].read(texts[part.name])
        except AnswerError as fault:
            unread[part.name] = fault
    return readings, unread


def _judge_all(
    targets: Mapping[str, Target], readings: Mapping[str, Reading], unread: dict[str, AnswerError]
) -> dict[str, Judgement]:
    """Judge every part by itself; one that takes too long to compare joins `unread`, and the others feel nothing of it."""
    judged: dict[str, Judgement] = {}
    for name, reading in readings.items():
        try:
            judged[name] = targets[name].judge(reading)
        except AnswerError as fault:
            unread[name] = fault
    return judged


def _whole_form(
    variant: Variant, readings: Mapping[str, Reading], judged: Mapping[str, Judgement]
) -> tuple[WrongForm, ...]:
    """Return the wrong forms that explain every answered part of a table at once."""
    targets = variant.key.targets
    if len(judged) < 2:
        return ()
    if sum(not one.right for one in judged.values()) < 2:
        return ()
    return tuple(form for form in variant.key.wrong_forms
                 if len(form.contents) > 1 and _explains(form, targets, readings, judged))


def _explains(
    form: WrongForm, targets: Mapping[str, Target], readings: Mapping[str, Reading], judged: Mapping[str, Judgement],
) -> bool:
    seen = 0
    for name, judgement in judged.items():
        if name in form.contents and targets[name].agrees(readings[name], form.contents[name]):
            seen += not judgement.right
        elif not judgement.right:
            return False
    # One wrong part alone is told as that part's slip; two or more that fit make it the whole table's.
    return seen > 1


def _mark_part(
    variant: Variant, part: Part, text: str, readings: Mapping[str, Reading], unread: Mapping[str, AnswerError],
    judged: Mapping[str, Judgement], whole: tuple[WrongForm, ...],
) -> PartResult:
    reading = readings.get(part.name)
    if part.name in unread:
        return PartResult(part.name, part.label, _NOTHING, part.marks, MarkVerdict.UNREADABLE, text,
                          reading.read_as if reading else "", (), str(unread[part.name]))
    if reading is None:
        return PartResult(part.name, part.label, _NOTHING, part.marks, MarkVerdict.MISSING, text)
    found = judged[part.name]
    if found.right:
        return PartResult(part.name, part.label, part.marks, part.marks, MarkVerdict.RIGHT, text, reading.read_as, (),
                          found.remark)
    share, comment = found.share, found.remark
    slips = tuple(mistake(code) for code in found.codes)
    carried = carried_share(variant.key, part.name, readings)
    if carried > share:
        share, comment = carried, "This follows from your own other entries, so it earns part of its marks."
    elif not slips and not found.final:
        slips = tuple(_told(form) for form in whole) or _slips_of(variant.key, part.name, reading)
        comment = "" if slips else comment
    score = part.marks * share if share else _NOTHING
    return PartResult(part.name, part.label, score, part.marks, MarkVerdict.WRONG, text, reading.read_as, slips, comment)


def _slips_of(key: Key, name: str, reading: Reading) -> tuple[Mistake, ...]:
    target = key.targets[name]
    named = [form for form in key.wrong_forms if name in form.contents and target.agrees(reading, form.contents[name])]
    if named:
        return tuple({form.code: _told(form) for form in reversed(named)}.values())[::-1]
    return tuple(mistake(code, sentence) for code, sentence in target.patterns(reading))


def _told(form: WrongForm) -> Mistake:
    return mistake(form.code, form.sentence)


def _result(
    variant: Variant, parts: tuple[PartResult, ...], found: tuple[Mistake, ...], comment: str
) -> ItemResult:
    score, full = parts[0].score, parts[0].max
    if len(parts) > 1:
        score, full = total(part.score for part in parts), total(part.max for part in parts)
    verdict = verdict_of(parts, score == full)
    text = comment or comment_of(variant, parts, found, verdict)
    read_as = {part.name: part.read_as for part in parts if part.read_as}
    return ItemResult(variant.item.id, score, full, verdict, found, text, read_as, parts)


def verdict_of(parts: tuple[PartResult, ...], full_marks: bool) -> MarkVerdict:
    """Return the verdict on an item from those on its parts.

    Args:
        parts: the parts.
        full_marks: True when nothing is missing.
    """
    if full_marks:
        return MarkVerdict.RIGHT
    verdicts = {part.verdict for part in parts if part.verdict is not MarkVerdict.MISSING}
    if not verdicts:
        return MarkVerdict.MISSING
    return MarkVerdict.UNREADABLE if verdicts == {MarkVerdict.UNREADABLE} else MarkVerdict.WRONG


def comment_of(
    variant: Variant, parts: tuple[PartResult, ...], found: tuple[Mistake, ...], verdict: MarkVerdict
) -> str:
    """Return what the learner reads about the item.

    Args:
        variant: the variant.
        parts: the marked parts.
        found: the named mistakes.
        verdict: the verdict on the item.
    """
    single = len(parts) == 1
    if single and verdict is MarkVerdict.RIGHT and not found and not parts[0].comment:
        return "Right."
    said: list[str] = []
    if verdict is MarkVerdict.RIGHT:
        said.append("Right.")
    elif not single:
        right = sum(part.verdict is MarkVerdict.RIGHT for part in parts)
        said.append(f"{right} of {len(parts)} right.")
    said.extend(_sentences(found))
    for part in parts:
        if part.comment:
            said.append(part.comment if single else f"{part.label or part.name}: {part.comment}")
    missing = [part.label or part.name for part in parts if part.verdict is MarkVerdict.MISSING]
    if missing and not single:
        said.append(f"Still empty: {', '.join(missing)}.")
    if verdict is MarkVerdict.WRONG and not found and not any(part.comment for part in parts if _is_wrong(part)):
        said.append(_NOT_USUAL if single else "What is wrong is not one of the usual slips: have a look at hint 1.")
    return " ".join(dict.fromkeys(said))


def _is_wrong(part: PartResult) -> bool:
    return part.verdict in (MarkVerdict.WRONG, MarkVerdict.UNREADABLE)


def _sentences(found: tuple[Mistake, ...]) -> list[str]:
    sentences = list(dict.fromkeys(slip.sentence for slip in found))
    if len(sentences) == 2:
        return [f"Either: {sentences[0]} Or: {sentences[1]}"]
    return sentences


def right_answer(variant: Variant) -> dict[str, str]:
    """Return texts that earn full marks; for the marker's preview and tests only.

    Args:
        variant: a variant.
    """
    if variant.key.constraints:
        return designs.right_design(variant)
    return {part.name: variant.key.targets[part.name].right_text() for part in variant.parts}


def wrong_answer(variant: Variant, code: str) -> dict[str, str] | None:
    """Return texts that show a named mistake, or None where this variant has no wrong form of that name.

    Args:
        variant: a variant.
        code: such as "RECIP".
    """
    for form in variant.key.wrong_forms:
        if form.code == code:
            return wrong_texts(variant, form)
    return None


def wrong_texts(variant: Variant, form: WrongForm) -> dict[str, str]:
    """Return texts that show a wrong form.

    Args:
        variant: a variant.
        form: one of its wrong forms.
    """
    if variant.key.constraints:
        return designs.wrong_design(variant, form)
    texts = right_answer(variant)
    for name, content in form.contents.items():
        texts[name] = variant.key.targets[name].wrong_text(content)
    return texts


__all__ = ["ONE_PART", "mark", "right_answer", "wrong_answer", "wrong_texts"]
