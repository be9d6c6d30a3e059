"""A learner's variant of an item as a QTI item: its question, its fields, its marks and what is said to named mistakes."""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from fractions import Fraction
from hashlib import sha256
from xml.etree import ElementTree as ET

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge.checkers import Part, WrongForm
from gearkit.answers.kinds.choices import labelled
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.mistakes import mistake
from gearkit.text.markdown import inline, to_html
from graders.packages.elements import element, page_part, value, variable
from graders.packages.questions import SIGN, NotForOtherSystemsError, Question, question

_SIGN = "The size is right, the sign is not: which way does it act or turn?"
_WHICH = "Which of these formulas is right?"
_WHOLE = "Write whole numbers."
_DECIMAL = (
    "These fields take decimals only: a point, at least four figures (3.667 for 11/3), and a minus in front where something "
    "turns or acts backward."
)

_SAID, _NOT_SAID = "said", "not-said"
# A common player keeps marks to three decimal places.
_PLAYERS_PLACES = 1000


def item_of(
    variant: Variant, identifier: str, title: str, picture: tuple[str, str] | None = None, marks: int | None = None
) -> ET.Element:
    """Return a variant as a QTI item, with the names of version 3.0.

    Args:
        variant: the variant; its answer is part of the item, as the standard has it.
        identifier: of the item in its package.
        title: for people.
        picture: address in the package and text alternative of a drawing; None for none.
        marks: marks that it carries; its own when left out.

    Raises:
        NotForOtherSystemsError: it asks what other systems cannot ask.
    """
    if variant.key.constraints:
        raise NotForOtherSystemsError("any tooth counts that meet the demands are right, which other systems cannot check")
    scale = Fraction(marks if marks is not None else variant.item.marks) / sum(part.marks for part in variant.parts)
    forms = variant.key.wrong_forms
    seed = int(sha256(identifier.encode()).hexdigest()[:8], 16)
    questions = [
        question(part, variant.key.checkers[part.name], forms, place, seed + place)
        for place, part in enumerate(variant.parts, start=1)
    ]
    most = sum((part.marks * scale for part in variant.parts), Fraction(0))
    told = _told(variant, questions, forms)
    return element(
        "qti-assessment-item",
        {"identifier": identifier, "title": title, "adaptive": "false", "time-dependent": "false", "xml:lang": "en"},
        *(each.declaration for each in questions),
        element(
            "qti-outcome-declaration",
            {
                "identifier": "SCORE",
                "cardinality": "single",
                "base-type": "float",
                "normal-maximum": _marks(most),
                "normal-minimum": "0",
            },
            element("qti-default-value", None, element("qti-value", text="0")),
        ),
        # One for each sentence: not every player keeps several in one, nor empties it before the next attempt.
        *(
            element("qti-outcome-declaration", {"identifier": name, "cardinality": "single", "base-type": "identifier"})
            for name in told
        ),
        _body(variant, questions, picture),
        _processing(variant.parts, questions, scale, told),
        *(_feedback(name, sentence) for name, (sentence, _) in told.items()),
    )


def _body(variant: Variant, questions: Sequence[Question], picture: tuple[str, str] | None) -> ET.Element:
    prompt = variant.prompt
    for part in variant.parts:
        # The options stand in the fields; the list with letters is for those who type.
        prompt = prompt.replace(labelled(part.options), "") if part.options else prompt
    parts = [*page_part(to_html(prompt))]
    if picture is not None:
        parts.append(element("p", None, element("img", {"src": picture[0], "alt": picture[1]})))
    typed = [
        part for part, asked in zip(variant.parts, questions, strict=True) if asked.fields.tag == "qti-text-entry-interaction"
    ]
    if typed:
        parts.append(element("p", text=_WHOLE if all(part.kind.traits.whole for part in typed) else _DECIMAL))
    for part, asked in zip(variant.parts, questions, strict=True):
        label = part.label if len(variant.parts) > 1 else ""
        if asked.fields.tag == "qti-text-entry-interaction":
            line = element("p", None, asked.fields, text=f"{label}: " if label else "Answer: ")
            asked.fields.tail = f" {part.unit}" if part.unit else None
            parts.append(line)
        else:
            # The task asks to write a formula, and a choice stands there.
            which = _WHICH if isinstance(variant.key.checkers[part.name], FormulaChecker) else ""
            if label or which:
                words = inline(": ".join(filter(None, (label, which))))
                asked.fields.insert(0, element("qti-prompt", None, *page_part(f"<span>{words}</span>")))
            parts.append(asked.fields)
    return element("qti-item-body", None, *parts)


def _processing(
    parts: Sequence[Part], questions: Sequence[Question], scale: Fraction, told: dict[str, tuple[str, ET.Element]]
) -> ET.Element:
    conditions = []
    for part, asked in zip(parts, questions, strict=True):
        branches = [element("qti-response-if", None, asked.right, _add(value(_marks(part.marks * scale))))]
        branches += [
            element("qti-response-else-if", None, condition, _add(value(_marks(part.marks * scale * share))))
            for condition, share in asked.score
        ]
        if asked.mapped:
            mapped = element("qti-map-response", {"identifier": asked.name})
            earned = element("qti-product", None, mapped, value(_marks(part.marks * scale)))
            branches.append(element("qti-response-else", None, _add(earned)))
        conditions.append(element("qti-response-condition", None, *branches))
    if any((part.marks * scale * _PLAYERS_PLACES).denominator > 1 for part in parts):
        # Parts of a third each would leave the whole a little short.
        all_right = element("qti-and", None, *(deepcopy(asked.right) for asked in questions))
        whole = _set("SCORE", value(_marks(sum((part.marks * scale for part in parts), Fraction(0)))))
        conditions.append(element("qti-response-condition", None, element("qti-response-if", None, all_right, whole)))
    for name, (_, condition) in told.items():
        say = element("qti-response-if", None, condition, _set(name, value(_SAID, "identifier")))
        keep_still = element("qti-response-else", None, _set(name, value(_NOT_SAID, "identifier")))
        conditions.append(element("qti-response-condition", None, say, keep_still))
    return element("qti-response-processing", None, *conditions)


def _add(marks: ET.Element) -> ET.Element:
    return _set("SCORE", element("qti-sum", None, variable("SCORE"), marks))


def _set(name: str, to: ET.Element) -> ET.Element:
    return element("qti-set-outcome-value", {"identifier": name}, to)


def _told(variant: Variant, questions: Sequence[Question], forms: Sequence[WrongForm]) -> dict[str, tuple[str, ET.Element]]:
    """Sentence and condition of each named mistake: every part that its form names is as the mistake predicts."""
    by_part = {part.name: asked for part, asked in zip(variant.parts, questions, strict=True)}
    told: dict[str, tuple[str, ET.Element]] = {}
    for place, form in enumerate(forms):
        asked = [by_part[name].wrong.get(place) for name in form.contents if name in by_part]
        seen = [condition for condition in asked if condition is not None]
        if seen and len(seen) == len(form.contents) and not form.needs:
            condition = seen[0] if len(seen) == 1 else element("qti-and", None, *seen)
            told[f"FEEDBACK{len(told) + 1}"] = (form.sentence or mistake(form.code).sentence, condition)
    if len(questions) == 1 and SIGN in questions[0].wrong:
        sentence = _SIGN if variant.parts[0].unit else mistake("SIGN").sentence
        told[f"FEEDBACK{len(told) + 1}"] = (sentence, questions[0].wrong[SIGN])
    return told


def _feedback(name: str, sentence: str) -> ET.Element:
    return element(
        "qti-modal-feedback",
        {"outcome-identifier": name, "show-hide": "show", "identifier": _SAID},
        element("qti-content-body", None, *page_part(to_html(sentence))),
    )


def _marks(marks: Fraction) -> str:
    return f"{float(marks):.4f}".rstrip("0").rstrip(".") or "0"


__all__ = ["NotForOtherSystemsError", "item_of"]
