"""Marking one answer: read it, see whether it is right, and where not, which named mistake it is.

Order of work: read; right; the item's own wrong answers; general mistakes (sign, reciprocal, factor); else "not one of the
usual mistakes". What cannot be read costs nothing and is handed back with a sentence about its form. Two mistakes that
give the same answer are both named. The right answer is never in what a learner gets.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from gearkit.answers.draw_numbers import designs
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import ONE_PART
from gearkit.answers.judge.carried import carried_share
from gearkit.answers.judge.checkers import Checker, Judgement, Key, Part, Pattern, Reading, WrongForm
from gearkit.answers.judge.claims import Claim, Relation, Said, joined
from gearkit.answers.judge.results import ItemResult, MarkVerdict, PartResult, total
from gearkit.answers.mistakes import Mistake, mistake
from gearkit.answers.read.commas import EITHER
from gearkit.answers.read.own_words import read_in_own_words
from gearkit.answers.read.split import split_answer, with_commas_settled
from gearkit.words.errors import AnswerError
from gearkit.words.say import later, say

_NOTHING = Fraction(0)
# A named mistake, and what its sentence says about the answer.
_Named = tuple[Mistake, tuple[Claim, ...]]
_NOT_USUAL = later("Not right, and not one of the usual mistakes: have a look at hint 1.")
_MISSING = later("Nothing was handed in here. Try it: hint 1 is a good place to start.")


def mark(variant: Variant, given: Mapping[str, str], *, strict: bool = False, comma: str = EITHER) -> ItemResult:
    """Mark what a learner gave for one item.

    Args:
        variant: the learner's variant.
        given: texts by part name; for several parts also one text under "answer", such as ``sun = 12; planet = -3``.
        strict: True where the sheet wants decimals rounded strictly: nothing is allowed for steps rounded on the way.
        comma: what three digits after a comma are: "decimal", "thousands", or "either", which hands them back.
    """
    texts, faults = split_answer(variant.parts, given)
    if len(faults) == len(variant.parts):
        return _unreadable(variant, given, next(iter(faults.values())))
    if not any(texts.values()) and not faults:
        parts = tuple(
            PartResult(part.name, part.label, _NOTHING, part.marks, MarkVerdict.MISSING, "") for part in variant.parts
        )
        return _result(variant, parts, (), Said(say(_MISSING), tuple(Claim(part.name, Relation.EMPTY) for part in parts)))
    readings, unread = _read_all(variant, texts, faults, comma)
    if variant.key.constraints:
        return designs.mark_design(variant, texts, readings, unread)
    judged = _judge_all(variant.key, readings, unread, strict)
    whole = _whole_form(variant, readings, judged)
    parts = tuple(_mark_part(variant, part, texts[part.name], readings, unread, judged, whole) for part in variant.parts)
    mistakes = tuple(dict.fromkeys(each for part in parts for each in part.mistakes))
    return _result(variant, parts, mistakes)


def _unreadable(variant: Variant, given: Mapping[str, str], problem: AnswerError) -> ItemResult:
    text = "; ".join(given.values())
    parts = tuple(
        PartResult(part.name, part.label, _NOTHING, part.marks, MarkVerdict.UNREADABLE, text) for part in variant.parts
    )
    return _result(variant, parts, (), Said(str(problem), (Claim("", Relation.UNREADABLE),)))


def _read_all(
    variant: Variant, texts: Mapping[str, str], faults: Mapping[str, AnswerError], comma: str
) -> tuple[dict[str, Reading], dict[str, AnswerError]]:
    readings: dict[str, Reading] = {}
    unread = dict(faults)
    for part in variant.parts:
        if not texts[part.name] or part.name in unread:
            continue
        try:
            text = with_commas_settled(part, texts[part.name], comma)
            readings[part.name] = read_in_own_words(variant.key.checkers[part.name].read, text)
        except AnswerError as fault:
            unread[part.name] = fault
    return readings, unread


def _judge_all(key: Key, readings: Mapping[str, Reading], unread: dict[str, AnswerError], strict: bool) -> dict[str, Judgement]:
    """Judge every part by itself; one that takes too long to compare joins `unread`, and the others feel nothing of it."""
    judged: dict[str, Judgement] = {}
    for name, reading in readings.items():
        try:
            judgement = key.checkers[name].judge(reading)
            if strict:
                judgement = judgement.strictly or judgement
            elif judgement.if_alone is not None and not _looks_wrong(key, name, reading):
                judgement = judgement.if_alone
            judged[name] = judgement
        except AnswerError as fault:
            unread[name] = fault
    return judged


def _looks_wrong(key: Key, name: str, reading: Reading) -> bool:
    """Whether a named or general wrong answer looks the same at the digits that were written."""
    checker = key.checkers[name]
    return bool(checker.patterns(reading)) or any(
        checker.agrees(reading, form.contents[name]) for form in key.wrong_forms if name in form.contents
    )


def _whole_form(variant: Variant, readings: Mapping[str, Reading], judged: Mapping[str, Judgement]) -> tuple[WrongForm, ...]:
    """Return the wrong forms that explain every answered part of a table at once."""
    checkers = variant.key.checkers
    if len(judged) < 2:
        return ()
    if sum(not judgement.right for judgement in judged.values()) < 2:
        return ()
    return tuple(
        form
        for form in variant.key.wrong_forms
        if len(form.contents) > 1
        and _explains(form, checkers, readings, judged)
        and _may_be_told(variant.key, form, readings, judged)
    )


def _explains(
    form: WrongForm,
    checkers: Mapping[str, Checker],
    readings: Mapping[str, Reading],
    judged: Mapping[str, Judgement],
) -> bool:
    seen = 0
    for name, judgement in judged.items():
        if name in form.contents and checkers[name].agrees(readings[name], form.contents[name]):
            seen += not judgement.right
        elif not judgement.right:
            return False
    # One wrong part alone is told as that part's named mistake; two or more that fit make it the whole table's.
    return seen > 1


def _mark_part(
    variant: Variant,
    part: Part,
    text: str,
    readings: Mapping[str, Reading],
    unread: Mapping[str, AnswerError],
    judged: Mapping[str, Judgement],
    whole: tuple[WrongForm, ...],
) -> PartResult:
    reading = readings.get(part.name)
    if part.name in unread:
        return PartResult(
            part.name,
            part.label,
            _NOTHING,
            part.marks,
            MarkVerdict.UNREADABLE,
            text,
            reading.read_as if reading else "",
            (),
            str(unread[part.name]),
        )
    if reading is None:
        return PartResult(part.name, part.label, _NOTHING, part.marks, MarkVerdict.MISSING, text)
    judgement = judged[part.name]
    how_read = tuple(Claim(part.name, relation) for relation in reading.says)
    if judgement.right:
        return PartResult(
            part.name,
            part.label,
            part.marks,
            part.marks,
            MarkVerdict.RIGHT,
            text,
            reading.read_as,
            (),
            f"{reading.remark} {say(judgement.remark)}".strip(),
            (*how_read, *(Claim(part.name, relation) for relation in judgement.says)),
        )
    share, comment = judgement.share, say(judgement.remark)
    told = [_general(part.name, each) for each in judgement.patterns_found]
    claims = tuple(Claim(part.name, relation) for relation in judgement.says)
    carried = carried_share(variant.key, part.name, readings, some_right=any(other.right for other in judged.values()))
    if carried > share:
        share, comment, told = carried, say("This follows from your own other entries, so it earns part of its marks."), []
        claims = (Claim(part.name, Relation.FOLLOWS),)
    elif not told and not judgement.final:
        told = [_told(variant.key, form, part.name) for form in whole]
        told = told or _mistakes_of(variant.key, part.name, readings, judged)
        comment = "" if told else comment
    comment, claims = f"{reading.remark} {comment}".strip(), (*how_read, *(claims if comment else ()))
    score = part.marks * share if share else _NOTHING
    return PartResult(
        part.name,
        part.label,
        score,
        part.marks,
        MarkVerdict.WRONG,
        text,
        reading.read_as,
        tuple(each for each, _ in told),
        comment,
        claims,
        tuple(says for _, says in told),
    )


def _mistakes_of(key: Key, name: str, readings: Mapping[str, Reading], judged: Mapping[str, Judgement]) -> list[_Named]:
    checker, reading = key.checkers[name], readings[name]
    named = [
        _told(key, form, name)
        for form in key.wrong_forms
        if name in form.contents and checker.agrees(reading, form.contents[name]) and _may_be_told(key, form, readings, judged)
    ]
    if named:
        # Two mistakes that give the same value are both told; one sentence is told once.
        return list({(each.code, each.sentence): (each, says) for each, says in reversed(named)}.values())[::-1]
    return [_general(name, pattern) for pattern in checker.patterns(reading)]


def _may_be_told(key: Key, form: WrongForm, readings: Mapping[str, Reading], judged: Mapping[str, Judgement]) -> bool:
    """Return whether all else that a form's sentence speaks of stands as it says."""
    if not all(need.part in judged and judged[need.part].right for need in form.needs):
        return False
    return not form.together or all(
        part in judged and key.checkers[part].agrees(readings[part], content) for part, content in form.contents.items()
    )


def _told(key: Key, form: WrongForm, name: str) -> _Named:
    named = mistake(form.code, form.sentence, form.says)
    parts = form.contents if form.together else (name,)
    predicted = [Claim(part, Relation.IS, key.checkers[part].wrong_text(form.contents[part])) for part in parts]
    return named, (*predicted, *(Claim(name, relation) for relation in named.says), *form.needs)


def _general(name: str, pattern: Pattern) -> _Named:
    return mistake(pattern.code, pattern.sentence), (Claim(name, pattern.relation, pattern.value),)


def _result(
    variant: Variant, parts: tuple[PartResult, ...], mistakes: tuple[Mistake, ...], comment: Said | None = None
) -> ItemResult:
    score, full = parts[0].score, parts[0].max
    if len(parts) > 1:
        score, full = total(part.score for part in parts), total(part.max for part in parts)
    verdict = verdict_of(parts, score == full)
    said = (comment,) if comment else said_of(parts, verdict)
    read_as = {part.name: part.read_as for part in parts if part.read_as}
    return ItemResult(variant.item.id, score, full, verdict, mistakes, joined(said), read_as, parts, said)


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


def said_of(parts: tuple[PartResult, ...], verdict: MarkVerdict) -> tuple[Said, ...]:
    """Return what the learner reads about the item, sentence by sentence.

    Args:
        parts: the marked parts.
        verdict: the verdict on the item.
    """
    if len(parts) == 1:
        return _said_of_one(parts[0])
    right = [part for part in parts if part.verdict is MarkVerdict.RIGHT]
    how_many = Claim("", Relation.PARTS_RIGHT, str(len(right)))
    said = [
        Said(
            say("Right.")
            if verdict is MarkVerdict.RIGHT
            else say("{right} of {parts} right.", right=len(right), parts=len(parts)),
            (how_many,),
        )
    ]
    said += _said_of_mistakes(parts)
    said += [Said(f"{part.label or part.name}: {part.comment}", _claims(part)) for part in parts if part.comment]
    missing = [part for part in parts if part.verdict is MarkVerdict.MISSING]
    if missing:
        said.append(
            Said(
                say("Still empty: {parts}.", parts=", ".join(part.label or part.name for part in missing)),
                tuple(Claim(part.name, Relation.EMPTY) for part in missing),
            )
        )
    wrong = [part for part in parts if part.verdict is MarkVerdict.WRONG]
    if wrong and not any(part.mistakes or part.comment for part in wrong):
        said.append(
            Said(say("What is wrong is not one of the usual mistakes: have a look at hint 1."), _no_named_mistake(wrong))
        )
    return tuple(said)


def _said_of_one(part: PartResult) -> tuple[Said, ...]:
    said = [Said(say("Right."), (Claim(part.name, Relation.RIGHT),))] if part.verdict is MarkVerdict.RIGHT else []
    said += [_sentence(part.mistakes, _both(part.mistake_claims))] if part.mistakes else []
    said += [Said(part.comment, _claims(part))] if part.comment else []
    return tuple(said) or (Said(say(_NOT_USUAL), _no_named_mistake([part])),)


def _said_of_mistakes(parts: tuple[PartResult, ...]) -> list[Said]:
    """Return the sentences about named mistakes; where parts differ in theirs, each begins with the parts it is about."""
    alike: dict[tuple[Mistake, ...], list[PartResult]] = {}
    for part in parts:
        if part.mistakes:
            alike.setdefault(part.mistakes, []).append(part)
    said = []
    for mistakes, shown in alike.items():
        sentence_ = _sentence(mistakes, tuple(claim for part in shown for claim in _both(part.mistake_claims)))
        if len(alike) > 1:
            sentence_ = sentence_._replace(text=f"{', '.join(part.label or part.name for part in shown)}: {sentence_.text}")
        said.append(sentence_)
    return said


def _sentence(mistakes: tuple[Mistake, ...], claims: tuple[Claim, ...]) -> Said:
    sentences = list(dict.fromkeys(each.sentence for each in mistakes))
    if len(sentences) == 1:
        return Said(sentences[0], claims)
    pieces = [
        say("Or: {sentence}", sentence=text) if number else say("Either: {sentence}", sentence=text)
        for number, text in enumerate(sentences)
    ]
    return Said(" ".join(pieces), claims)


def _both(claims_of_each: tuple[tuple[Claim, ...], ...]) -> tuple[Claim, ...]:
    return tuple(claim for claims in claims_of_each for claim in claims)


def _claims(part: PartResult) -> tuple[Claim, ...]:
    return part.claims or (Claim(part.name, Relation.UNREADABLE),)


def _no_named_mistake(wrong: Iterable[PartResult]) -> tuple[Claim, ...]:
    return tuple(Claim(part.name, relation) for part in wrong for relation in (Relation.WRONG, Relation.NO_NAMED_MISTAKE))


def right_answer(variant: Variant) -> dict[str, str]:
    """Return texts that earn full marks; for the marker's preview and tests only.

    Args:
        variant: a variant.
    """
    if variant.key.constraints:
        return designs.right_design(variant)
    return {part.name: variant.key.checkers[part.name].right_text() for part in variant.parts}


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
        texts[name] = variant.key.checkers[name].wrong_text(content)
    return texts


__all__ = ["ONE_PART", "mark", "right_answer", "wrong_answer", "wrong_texts"]
