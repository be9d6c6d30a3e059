"""How an answer reads: its form, part by part, and nothing about whether it is right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge.checkers import Part
from gearkit.answers.read.commas import EITHER
from gearkit.answers.read.split import split_answer, with_commas_settled
from gearkit.words.errors import AnswerError


@dataclass(frozen=True)
class FormOfPart:
    """How one part reads.

    Args:
        part: the part.
        read_as: the answer as the kit understands it; empty where nothing is written or it cannot be read.
        trouble: what to mend; empty where it can be read.
        remark: what to know about how it was read, such as which side of an equation counts; mostly empty.
    """

    part: Part
    read_as: str = ""
    trouble: str = ""
    remark: str = ""

    @property
    def empty(self) -> bool:
        """Whether nothing was written for it."""
        return not self.read_as and not self.trouble


def form_of(variant: Variant, given: Mapping[str, str], comma: str = EITHER) -> tuple[FormOfPart, ...]:
    """Return how each part of an answer reads.

    Args:
        variant: any variant of the item; the numbers do not matter for the form.
        given: texts by part name, or one text for all parts under "answer".
        comma: what three digits after a comma are: "decimal", "thousands", or "either", which is told as having two meanings.
    """
    texts, faults = split_answer(variant.parts, given)
    if len(faults) == len(variant.parts):
        first, *others = variant.parts
        return (FormOfPart(first, trouble=str(faults[first.name])), *(FormOfPart(part) for part in others))
    return tuple(
        FormOfPart(part, trouble=str(faults[part.name]))
        if part.name in faults
        else _form(variant, part, with_commas_settled(part, texts[part.name], comma))
        for part in variant.parts
    )


def _form(variant: Variant, part: Part, text: str) -> FormOfPart:
    if not text:
        return FormOfPart(part)
    try:
        reading = variant.key.checkers[part.name].read(text)
        return FormOfPart(part, read_as=reading.read_as, remark=reading.remark)
    except AnswerError as fault:
        return FormOfPart(part, trouble=str(fault))
